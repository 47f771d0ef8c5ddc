/* The job as it stands, worked out afresh from its events in force. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "job/inner.h"

/* What an answer is worth by who gave it (knowledge 0.3). */
#define WORTH_INSTRUMENT 1.0
#define WORTH_EYES .85
#define WORTH_SURE .6
#define WORTH_UNSURE .3

struct making {
	struct job *j;
	struct job_view *v;
	struct arena *a;
	const struct kn_knowledge *kn;
	int last_repair;             /* event index, -1 */
	double leads_u;
	bool leads_known;
	int *answered_epoch;         /* [nchecks] epoch of the last whole answer, -1 */
	uint32_t *answered_places;   /* [nchecks] bit set in the last epoch answered */
	unsigned char *declined;     /* [nchecks] */
	int closed;                  /* last closing state, -1 */
	struct su_evidence *rows; int nrows, rows_cap;
};

static void add_row(struct making *m, const struct su_evidence *e)
{
	if (m->nrows == m->rows_cap) {
		m->rows_cap = m->rows_cap ? m->rows_cap * 2 : 64;
		m->rows = mem_resize_array(m->rows, (size_t)m->rows_cap, sizeof *m->rows);
	}
	m->rows[m->nrows++] = *e;
}

/* ---- first pass: facts that corrections and counting need ---------------------------------------- */

static bool says_yes(const char *s) { return text_same_word(s, "yes"); }

static void fact(struct making *m, const char *what, const char *value)
{
	const char *colon = strchr(what, ':'), *id = colon ? colon + 1 : "";
	uint64_t bit;
	int i;

	if (strncmp(what, "tool:", 5) == 0) {
		i = kn_tool_by_id(m->kn, id);
		m->v->tools_told = true;
		bit = i == KN_NONE ? 0 : (uint64_t)1 << i;
		m->v->tools = says_yes(value) ? m->v->tools | bit : m->v->tools & ~bit;
	} else if (strncmp(what, "history:", 8) == 0) {
		i = kn_history_by_id(m->kn, id);
		bit = i == KN_NONE ? 0 : (uint64_t)1 << i;
		if (says_yes(value))
			m->v->the_case.histories |= (uint32_t)bit;
		else
			m->v->the_case.histories &= ~(uint32_t)bit;
	} else if (strncmp(what, "circumstance:", 13) == 0) {
		i = kn_circumstance_by_id(m->kn, id);
		bit = i == KN_NONE ? 0 : (uint64_t)1 << i;
		m->v->circumstances_known |= (uint32_t)bit;
		m->v->circumstances = says_yes(value) ? m->v->circumstances | (uint32_t)bit
						      : m->v->circumstances & ~(uint32_t)bit;
	} else if (strncmp(what, "altitude", 8) == 0)
		m->v->altitude_m = strtod(value, NULL);
	else if (strncmp(what, "air", 3) == 0)
		m->v->air_degC = strtod(value, NULL);
}

/* The leads are what the last measurement of them said, whenever it was made. */
static void leads(struct making *m, const struct job_event *e, int check)
{
	struct job_facts none = { NAN, 0, NAN, NAN };
	struct job_answer a = { .check = check, .place = KN_NONE, .text = e->field[2], .flags = JOB_SLIP_OK };
	struct job_understood u;
	struct hs_err err = { 0 };

	if (job_make_sense(m->j, &none, &a, &u, &err) != JOB_OK || !u.number ||
	    u.reading.kind == RD_OPEN)
		return;
	m->v->leads = rd_unit_convert(u.reading.value, m->kn->checks[check].reading->unit, RD_OHM);
	m->leads_u = rd_unit_convert(u.reading.u, m->kn->checks[check].reading->unit, RD_OHM);
	m->leads_known = true;
}

static void first_pass(struct making *m)
{
	struct job_view *v = m->v;

	v->leads = v->altitude_m = v->air_degC = NAN;
	for (int i = 0; i < m->j->nevents; i++) {
		const struct job_event *e = &m->j->events[i];
		int c;

		if (!m->j->in_force[i])
			continue;
		if (e->kind == JOB_TOLD)
			fact(m, e->field[0], e->field[1]);
		else if (e->kind == JOB_ANSWERED && (c = kn_check_by_id(m->kn, e->field[0])) != KN_NONE &&
			 m->kn->checks[c].leads_null && m->kn->checks[c].reading)
			leads(m, e, c);
		else if (e->kind == JOB_BEGAN)
			v->the_case.no_complaint = strcmp(e->field[2], "bench") == 0;
	}
	if (!v->tools_told)
		v->tools = ~(uint64_t)0;
}

struct job_facts view_facts(const struct job_view *v)
{
	return (struct job_facts){ v->leads, v->leads_u, v->altitude_m, v->air_degC };
}

/* ---- second pass: what happened, in order ---------------------------------------------------------- */

static int place_of(const struct kn_knowledge *kn, int kind, const char *id)
{
	return kind == KN_NONE || !id || !*id ? KN_NONE : kn_place_by_id(&kn->kinds[kind], id);
}

static void trigger(struct making *m, int check, int outcome)
{
	struct job_view *v = m->v;

	for (int h = 0; h < m->kn->nholds; h++) {
		const struct kn_hold *hold = &m->kn->holds[h];
		bool on = false, off = false;
		int at = -1;

		for (int i = 0; i < v->nholds; i++)
			if (v->holds[i] == h)
				at = i;
		for (int i = 0; i < hold->ntriggers; i++)
			on = on || (hold->triggers[i].check == check && hold->triggers[i].outcome == outcome);
		for (int i = 0; i < hold->nsymptoms && outcome == 0; i++)
			on = on || hold->symptoms[i] == check;
		for (int i = 0; i < hold->nclears; i++)
			off = off || (hold->clears[i].check == check && hold->clears[i].outcome == outcome);
		if (on && at < 0 && v->nholds < (int)(sizeof v->holds / sizeof *v->holds))
			v->holds[v->nholds++] = h;
		if (off && at >= 0) {
			memmove(&v->holds[at], &v->holds[at + 1],
				sizeof(int) * (size_t)(v->nholds - at - 1));
			v->nholds--;
		}
	}
}

static void complained(struct making *m, int event, const char *id)
{
	struct job_view *v = m->v;
	int c = kn_check_by_id(m->kn, id);
	struct su_evidence e;

	(void)event;
	if (c == KN_NONE || m->kn->checks[c].kind != KN_SYMPTOM)
		return;
	for (int i = 0; i < v->ncomplaints; i++)
		if (v->complaints[i] == c)
			return;
	if (v->ncomplaints < (int)(sizeof v->complaints / sizeof *v->complaints))
		v->complaints[v->ncomplaints++] = c;
	memset(&e, 0, sizeof e);
	e.check = c;
	e.place = KN_NONE;
	e.epoch = v->nrepairs;
	e.exponent = m->kn->checks[c].exponent;
	e.ncells = m->kn->checks[c].noutcomes;
	for (int o = 0; o < e.ncells; o++)
		if (!m->kn->checks[c].outcomes[o].rest)
			e.share[o] = 1;
	add_row(m, &e);
	trigger(m, c, 0);
}

static double worth(const struct kn_check *c, const struct job_event *e)
{
	if (strcmp(e->field[3], "instrument") == 0)
		return WORTH_INSTRUMENT;
	if (strcmp(e->field[3], "eyes") == 0)
		return WORTH_EYES;
	if (strcmp(e->field[3], "sure") == 0)
		return WORTH_SURE;
	if (strcmp(e->field[3], "unsure") == 0)
		return fmin(WORTH_UNSURE, c->exponent);
	return c->exponent;
}

static int flags_of(const char *s)
{
	return (strstr(s, "leads-waived") ? JOB_LEADS_WAIVED : 0) | (strstr(s, "size-ok") ? JOB_SLIP_OK : 0);
}

/* Evidence that cleaning, draining ... has destroyed: a remedy whose name says that it did so. */
static bool spoiled(const struct making *m, const struct kn_check *c)
{
	const char *what = c->before;

	for (int i = 0; what && i < m->v->nrepairs; i++) {
		const char *id = m->kn->remedies[m->v->repairs[i].remedy].id;

		if ((strcmp(what, "cleaning") == 0 && strstr(id, "clean")) ||
		    (strcmp(what, "draining") == 0 && strstr(id, "drain")) || strstr(id, what))
			return true;
	}
	return false;
}

/* Does the answer count? Else why not. */
static bool counts(const struct making *m, const struct kn_check *c, struct job_finding *f)
{
	uint32_t wrong = c->only_when & m->v->circumstances_known & ~m->v->circumstances;

	for (int i = 0; i < m->kn->ncircumstances; i++)
		if (wrong >> i & 1) {
			snprintf(f->why, sizeof f->why, "counts only with: %.90s",
				 m->kn->circumstances[i].title);
			return false;
		}
	if (spoiled(m, c)) {
		snprintf(f->why, sizeof f->why, "%.60s has destroyed what this looks at", c->before);
		return false;
	}
	return true;
}

/* The same check and place answered before in this epoch: readings are pooled, words replaced. */
static struct job_finding *earlier(struct job_view *v, const struct job_finding *f)
{
	for (int i = v->nfindings - 1; i >= 0; i--)
		if (v->findings[i].check == f->check && v->findings[i].place == f->place &&
		    v->findings[i].epoch == f->epoch && v->findings[i].counts)
			return &v->findings[i];
	return NULL;
}

static void drop_rows(struct making *m, struct job_finding *old)
{
	for (int i = 0; i < old->nevidence; i++)
		m->rows[old->first_evidence + i].exponent = 0;
	old->counts = false;
}

static bool single_number(const struct job_understood *u)
{
	return u->number && !u->reading.nplaces && u->reading.kind == RD_NUMBER;
}

static void pool(struct making *m, struct job_finding *old, struct job_finding *f,
		 struct job_answer *a)
{
	struct job_facts facts = view_facts(m->v);
	struct job_understood both;
	struct hs_err err = { 0 };
	char *text;

	drop_rows(m, old);
	snprintf(old->why, sizeof old->why, "answered again later");
	if (!single_number(&old->understood) || !single_number(&f->understood))
		return;
	text = arena_printf(m->a, "%s %s", old->raw, f->raw);
	a->text = text;
	if (job_make_sense(m->j, &facts, a, &both, &err) == JOB_OK) {
		f->understood = both;
		f->raw = text;
		snprintf(old->why, sizeof old->why, "taken into the mean with the reading after it");
	}
}

static void mark_answered(struct making *m, int check, int place)
{
	const struct kn_check *c = &m->kn->checks[check];
	uint32_t all = c->per == KN_NONE ? 0 : (1u << m->kn->kinds[c->per].nplaces) - 1;

	if (m->answered_epoch[check] != m->v->nrepairs)
		m->answered_places[check] = 0;
	m->answered_epoch[check] = m->v->nrepairs;
	m->answered_places[check] |= place == KN_NONE ? all : 1u << place;
}

static void answered(struct making *m, int event)
{
	const struct job_event *e = &m->j->events[event];
	struct job_view *v = m->v;
	struct job_finding f = { .event = event, .check = kn_check_by_id(m->kn, e->field[0]) };
	struct job_facts facts = view_facts(v);
	struct job_answer a = { .text = e->field[2], .flags = flags_of(e->field[4]) };
	struct su_evidence rows[2 * RD_PLACES_MAX];
	struct job_finding *old;
	struct hs_err err = { 0 };
	const struct kn_check *c;
	double exponent;

	if (f.check == KN_NONE)
		return;
	c = &m->kn->checks[f.check];
	f.place = place_of(m->kn, c->per, e->field[1]);
	f.epoch = v->nrepairs;
	f.raw = e->field[2];
	a.check = f.check;
	a.place = f.place;
	if (job_make_sense(m->j, &facts, &a, &f.understood, &err) != JOB_OK) {
		if (!(a.flags & JOB_LEADS_WAIVED)) {
			a.flags |= JOB_LEADS_WAIVED | JOB_SLIP_OK; /* newer trees may ask what these did not */
			err_clear(&err);
		}
		if (job_make_sense(m->j, &facts, &a, &f.understood, &err) != JOB_OK)
			return;
	}
	f.counts = counts(m, c, &f);
	old = f.counts ? earlier(v, &f) : NULL;
	if (old)
		pool(m, old, &f, &a);
	exponent = worth(c, e);
	if (c->reading && c->reading->leads && !m->leads_known && exponent > WORTH_EYES)
		exponent = WORTH_EYES;
	f.first_evidence = m->nrows;
	if (f.counts)
		f.nevidence = job_evidence(m->j, &f, exponent, f.epoch, rows, 2 * RD_PLACES_MAX);
	for (int i = 0; i < f.nevidence; i++)
		add_row(m, &rows[i]);
	v->findings[v->nfindings++] = f;
	mark_answered(m, f.check, f.place);
	if (f.understood.outcome != KN_NONE)
		trigger(m, f.check, f.understood.outcome);
	for (int p = 0; p < f.understood.nplaces; p++)
		if (f.understood.at[p] != KN_NONE)
			trigger(m, f.check, f.understood.at[p]);
}

static void repaired(struct making *m, int event)
{
	const struct job_event *e = &m->j->events[event];
	struct job_view *v = m->v;
	int r = kn_remedy_by_id(m->kn, e->field[0]);

	if (r == KN_NONE)
		return;
	v->repair_event[v->nrepairs] = event;
	v->repairs[v->nrepairs++] = (struct su_repair){ r, place_of(m->kn, m->kn->remedies[r].per,
								     e->field[1]), 1 };
	v->remedy_done[r] = (unsigned char)(v->remedy_done[r] + (v->remedy_done[r] < 255));
	m->last_repair = event;
}

static void setting(struct making *m, const struct job_event *e)
{
	struct job_view *v = m->v;
	int s = kn_setting_by_id(m->kn, e->field[0]), place, at = 0;
	char *to;

	if (s == KN_NONE)
		return;
	place = place_of(m->kn, m->kn->settings[s].per, e->field[1]);
	while (at < v->nsettings && (v->settings[at].setting != s || v->settings[at].place != place))
		at++;
	if (at == v->nsettings)
		v->settings[v->nsettings++] = (struct job_setting){ .setting = s, .place = place };
	to = strcmp(e->field[2], "left") == 0 ? v->settings[at].left : v->settings[at].found;
	snprintf(to, sizeof v->settings[at].left, "%.63s", e->field[3]);
}

static void access(struct making *m, const struct job_event *e)
{
	int a = kn_access_by_id(m->kn, e->field[0]);

	if (a == KN_NONE || a >= 64)
		return;
	if (strcmp(e->field[1], "open") == 0)
		m->v->open |= (uint64_t)1 << a;
	else if (a > 0)
		m->v->open &= ~((uint64_t)1 << a);
}

static int closing_state(const char *word)
{
	static const struct { const char *word; enum job_state state; } states[] = {
		{ "proven", JOB_CLOSED_PROVEN }, { "watch", JOB_ON_WATCH },
		{ "parts-fitted", JOB_PARTS_FITTED }, { "handed-over", JOB_HANDED_OVER } };

	for (size_t i = 0; i < sizeof states / sizeof *states; i++)
		if (strcmp(word, states[i].word) == 0)
			return (int)states[i].state;
	return -1;
}

static void second_pass(struct making *m)
{
	for (int i = 0; i < m->j->nevents; i++) {
		const struct job_event *e = &m->j->events[i];
		int c;

		if (!m->j->in_force[i])
			continue;
		switch (e->kind) {
		case JOB_COMPLAINED: complained(m, i, e->field[0]); break;
		case JOB_ANSWERED: answered(m, i); break;
		case JOB_REPAIRED: repaired(m, i); break;
		case JOB_ACCESS: access(m, e); break;
		case JOB_SETTING: setting(m, e); break;
		case JOB_NOTED: m->v->notes[m->v->nnotes++] = e->field[0]; break;
		case JOB_CLOSED: m->closed = closing_state(e->field[0]); break;
		case JOB_SKIPPED:
			c = kn_check_by_id(m->kn, e->field[0]);
			if (c != KN_NONE)
				m->declined[c] = 1;
			break;
		default: break;
		}
	}
}

/* ---- what follows ------------------------------------------------------------------------------------- */

/* Has a repair since that answer touched anything the check would see? */
static bool worth_repeating(struct making *m, int check)
{
	struct su_table *t = NULL;

	for (int r = m->answered_epoch[check]; r < m->v->nrepairs; r++) {
		const struct kn_remedy *rem = &m->kn->remedies[m->v->repairs[r].remedy];

		if (!t)
			t = su_tables_get(m->j->tables, check, KN_NONE);
		for (int i = 0; t && i < rem->nclears; i++)
			if (su_table_bears(t, rem->clears[i].fault))
				return true;
	}
	return false;
}

static void mark_done(struct making *m)
{
	for (int c = 0; c < m->kn->nchecks; c++) {
		int per = m->kn->checks[c].per;
		uint32_t all = per == KN_NONE ? 0 : (1u << m->kn->kinds[per].nplaces) - 1;
		bool whole = m->answered_epoch[c] >= 0 && (m->answered_places[c] & all) == all;

		m->v->done[c] = m->declined[c] || (whole && !worth_repeating(m, c));
	}
}

static bool is_gone(const struct job_view *v, const struct making *m, int symptom)
{
	for (int i = v->nfindings - 1; i >= 0; i--)
		if (v->findings[i].check == symptom && v->findings[i].event > m->last_repair)
			return v->findings[i].understood.outcome != KN_NONE &&
			       m->kn->checks[symptom].outcomes[v->findings[i].understood.outcome].rest;
	return false;
}

static void find_state(struct making *m)
{
	struct job_view *v = m->v;

	v->complaint_gone = v->nrepairs > 0 && v->ncomplaints > 0;
	for (int i = 0; i < v->ncomplaints; i++)
		v->complaint_gone = v->complaint_gone && is_gone(v, m, v->complaints[i]);
	v->state = m->closed >= 0 ? (enum job_state)m->closed
		   : v->nrepairs > 0 && !v->complaint_gone ? JOB_TO_VERIFY : JOB_OPEN;
}

static void count_undo(struct making *m)
{
	for (int i = 1; i < m->j->nevents; i++)
		m->v->nundo += m->j->in_force[i];
	m->v->nredo = job_redo_depth(m->j);
}

static void allocate(struct making *m)
{
	size_t events = (size_t)m->j->nevents + 1, checks = (size_t)m->kn->nchecks + 1;
	struct job_view *v = m->v;

	v->kn = m->kn;
	v->open = 1;
	v->findings = arena_array(m->a, events, sizeof *v->findings);
	v->repairs = arena_array(m->a, events, sizeof *v->repairs);
	v->repair_event = arena_array(m->a, events, sizeof *v->repair_event);
	v->settings = arena_array(m->a, events, sizeof *v->settings);
	v->notes = arena_array(m->a, events, sizeof *v->notes);
	v->done = arena_array(m->a, checks, 1);
	v->remedy_done = arena_array(m->a, (size_t)m->kn->nremedies + 1, 1);
	m->answered_epoch = arena_array(m->a, checks, sizeof(int));
	m->answered_places = arena_array(m->a, checks, sizeof(uint32_t));
	m->declined = arena_array(m->a, checks, 1);
	for (size_t c = 0; c < checks; c++)
		m->answered_epoch[c] = -1;
}

struct job_view *view_make(struct job *j, struct hs_err *err)
{
	struct making m = { .j = j, .a = j->view_arena, .kn = j->kn, .last_repair = -1, .closed = -1 };
	struct job_view *v = m.v = arena_alloc(m.a, sizeof *v);
	struct su_evidence *rows;

	if (!j->tables)
		j->tables = su_tables_new(j->kn);
	allocate(&m);
	first_pass(&m);
	v->leads_u = m.leads_u;
	second_pass(&m);
	mark_done(&m);
	find_state(&m);
	count_undo(&m);
	rows = arena_array(m.a, (size_t)m.nrows + 1, sizeof *rows);
	if (m.nrows)
		memcpy(rows, m.rows, sizeof *rows * (size_t)m.nrows);
	mem_free(m.rows);
	v->the_case.nevidence = m.nrows;
	v->the_case.evidence = rows;
	v->the_case.nrepairs = v->nrepairs;
	v->the_case.repairs = v->repairs;
	v->suspects = su_weigh(j->kn, &v->the_case, NULL, err);
	return v->suspects ? v : NULL;
}
