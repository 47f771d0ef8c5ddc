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
	const struct job *events;    /* the job, as far as its events go */
	struct job *j;               /* the same, for its tables; NULL when only facts are wanted */
	struct job_view *v;
	struct arena *a;
	const struct kn_knowledge *kn;
	int last_repair;             /* event index, -1 */
	double leads_u;
	bool leads_known;
	uint32_t circumstances, circumstances_known; /* as told up to the event looked at */
	int complained_at[8];        /* the last event of each complaint */
	int *answered_epoch;         /* [nchecks] epoch of the last whole answer, -1 */
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
	} else if (strcmp(what, "rates") == 0)
		m->v->rates = value;
	else if (strncmp(what, "altitude", 8) == 0)
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

	if (job_make_sense(m->events, &none, &a, &u, &err) != JOB_OK || !u.number ||
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
	for (int i = 0; i < m->events->nevents; i++) {
		const struct job_event *e = &m->events->events[i];
		int c;

		if (!m->events->in_force[i])
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

static struct job_facts facts_of(const struct making *m)
{
	return (struct job_facts){ m->v->leads, m->leads_u, m->v->altitude_m, m->v->air_degC };
}

struct job_facts facts_now(const struct job *j)
{
	struct job_view v = { .kn = j->kn };
	struct making m = { .events = j, .v = &v, .kn = j->kn };

	first_pass(&m);
	return facts_of(&m);
}

/* ---- second pass: what happened, in order ---------------------------------------------------------- */

/* false: there is no such place (any more), and the event means nothing. */
static bool place_of(const struct kn_knowledge *kn, int kind, const char *id, int *place)
{
	*place = kind == KN_NONE || !*id ? KN_NONE : kn_place_by_id(&kn->kinds[kind], id);
	return *place != KN_NONE || !*id;
}

static bool among(const struct kn_trigger *t, int n, int check, int outcome)
{
	for (int i = 0; i < n; i++)
		if (t[i].check == check && t[i].outcome == outcome)
			return true;
	return false;
}

static bool complaint_triggers(const struct kn_hold *h, const struct kn_check *c, int check, int outcome)
{
	for (int i = 0; i < h->nsymptoms; i++)
		if (h->symptoms[i] == check && !c->outcomes[outcome].rest)
			return true;
	return false;
}

static void put_hold(struct job_view *v, int hold, bool on)
{
	int at = 0;

	while (at < v->nholds && v->holds[at] != hold)
		at++;
	if (on && at == v->nholds && at < (int)(sizeof v->holds / sizeof *v->holds))
		v->holds[v->nholds++] = hold;
	if (!on && at < v->nholds) {
		memmove(&v->holds[at], &v->holds[at + 1], sizeof(int) * (size_t)(v->nholds - at - 1));
		v->nholds--;
	}
}

/* One answer's outcomes: any of them puts a hold in force, only all of them together end it. */
static void holds(struct making *m, int check, const int *outcome, int n)
{
	const struct kn_check *c = &m->kn->checks[check];

	for (int h = 0; h < m->kn->nholds; h++) {
		const struct kn_hold *hold = &m->kn->holds[h];
		bool on = false, off = n > 0;

		for (int i = 0; i < n; i++) {
			on = on || among(hold->triggers, hold->ntriggers, check, outcome[i]) ||
			     complaint_triggers(hold, c, check, outcome[i]);
			off = off && among(hold->clears, hold->nclears, check, outcome[i]);
		}
		if (on || off)
			put_hold(m->v, h, on);
	}
}

static bool overlap(const struct su_evidence *a, const struct su_evidence *b)
{
	return a->check == b->check && a->epoch == b->epoch &&
	       (a->place == b->place || a->place == KN_NONE || b->place == KN_NONE);
}

/* Within one epoch the last word on a check at a place is the one that counts. */
static void replace_rows(struct making *m, int first)
{
	for (int i = 0; i < first; i++)
		for (int k = first; k < m->nrows; k++)
			if (overlap(&m->rows[i], &m->rows[k]))
				m->rows[i].exponent = 0;
}

static int yes_of(const struct kn_check *symptom)
{
	int o = 0;

	while (o < symptom->noutcomes - 1 && symptom->outcomes[o].rest)
		o++;
	return o;
}

static void complained(struct making *m, int event, const char *id)
{
	struct job_view *v = m->v;
	int c = kn_check_by_id(m->kn, id), first = m->nrows, at = 0, yes;
	struct su_evidence e;

	if (c == KN_NONE || m->kn->checks[c].kind != KN_SYMPTOM)
		return;
	while (at < v->ncomplaints && v->complaints[at] != c)
		at++;
	if (at == (int)(sizeof v->complaints / sizeof *v->complaints))
		return;
	v->complaints[at] = c;
	v->ncomplaints += at == v->ncomplaints;
	m->complained_at[at] = event;
	m->closed = -1;
	yes = yes_of(&m->kn->checks[c]);
	memset(&e, 0, sizeof e);
	e.check = c;
	e.place = KN_NONE;
	e.epoch = v->nrepairs;
	e.exponent = m->kn->checks[c].exponent;
	e.ncells = m->kn->checks[c].noutcomes;
	e.share[yes] = 1;
	add_row(m, &e);
	replace_rows(m, first);
	holds(m, c, &yes, 1);
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

/* Does the answer count? Else why not.  What held when it was given is what matters. */
static bool counts(const struct making *m, const struct kn_check *c, struct job_finding *f)
{
	uint32_t wrong = c->only_when & m->circumstances_known & ~m->circumstances;

	for (int i = 0; i < m->kn->ncircumstances; i++)
		if (wrong >> i & 1) {
			snprintf(f->why, sizeof f->why, "counts only with: %.90s",
				 m->kn->circumstances[i].title);
			return false;
		}
	if (job_spoiled(m->v, c)) {
		snprintf(f->why, sizeof f->why, "%.60s has destroyed what this looks at", c->before);
		return false;
	}
	return true;
}

static bool single_number(const struct job_understood *u)
{
	return u->number && !u->reading.nplaces && u->reading.kind == RD_NUMBER;
}

/* The same thing read before in this epoch: the readings are pooled. */
static struct job_finding *earlier(struct job_view *v, const struct job_finding *f)
{
	for (int i = (int)(f - v->findings) - 1; i >= 0 && single_number(&f->understood); i--)
		if (v->findings[i].check == f->check && v->findings[i].place == f->place &&
		    v->findings[i].epoch == f->epoch && v->findings[i].counts)
			return single_number(&v->findings[i].understood) ? &v->findings[i] : NULL;
	return NULL;
}

static void pool(struct making *m, struct job_finding *old, struct job_finding *f,
		 struct job_answer *a)
{
	struct job_facts facts = facts_of(m);
	struct job_understood both;
	struct hs_err err = { 0 };

	a->text = arena_printf(m->a, "%s %s", old->raw, f->raw);
	if (job_make_sense(m->events, &facts, a, &both, &err) != JOB_OK || !single_number(&both))
		return;
	f->understood = both;
	f->raw = a->text;
	snprintf(old->why, sizeof old->why, "taken into the mean with the reading after it");
}

/* Findings all of whose rows were replaced count no longer. */
static void retire(struct making *m)
{
	for (int i = 0; i < m->v->nfindings; i++) {
		struct job_finding *f = &m->v->findings[i];
		bool left = false;

		for (int k = 0; k < f->nevidence; k++)
			left = left || m->rows[f->first_evidence + k].exponent > 0;
		if (left || !f->counts || f->nevidence == 0)
			continue;
		f->counts = false;
		if (!f->why[0])
			snprintf(f->why, sizeof f->why, "answered again later");
	}
}

/* Volts shown while cranking, last measured in this epoch: the figure a machine calls battery-cranking. */
static double cranking_volts(const struct making *m, int epoch)
{
	int value = kn_value_by_id(m->kn, "battery-cranking");

	for (int i = m->v->nfindings - 1; value != KN_NONE && i >= 0; i--) {
		const struct job_finding *f = &m->v->findings[i];
		const struct kn_reading *r = m->kn->checks[f->check].reading;

		if (f->counts && f->epoch == epoch && r && r->value == value && single_number(&f->understood))
			return rd_unit_convert(f->understood.reading.raw, r->unit, RD_VOLT);
	}
	return NAN;
}

/* With a low battery the box invents codes: none counts, whichever was read first. */
static void doubt_codes(struct making *m)
{
	for (int i = 0; i < m->v->nfindings; i++) {
		struct job_finding *f = &m->v->findings[i];

		if (!f->counts || !f->understood.ncodes ||
		    rd_blink_worth(true, cranking_volts(m, f->epoch)) > 0)
			continue;
		for (int k = 0; k < f->nevidence; k++)
			m->rows[f->first_evidence + k].exponent = 0;
		f->counts = false;
		snprintf(f->why, sizeof f->why, "below %.1f V while cranking the box invents codes: charge, read again",
			 RD_BLINK_VOLTS);
	}
}

/* The outcomes of an answer, each place of a list by itself. */
static int outcomes_of(const struct kn_check *c, const struct job_understood *u, int out[RD_PLACES_MAX])
{
	int places = u->number ? u->reading.nplaces : u->nplaces, n = 0;

	for (int p = 0; p < places && !c->compare; p++)
		if ((out[n] = job_finding_outcome(c, u, p)) != KN_NONE)
			n++;
	if (n == 0 && (out[0] = job_finding_outcome(c, u, KN_NONE)) != KN_NONE)
		n = 1;
	return n;
}

static uint32_t places_said(const struct making *m, const struct job_finding *f)
{
	const struct kn_check *c = &m->kn->checks[f->check];
	const struct job_understood *u = &f->understood;
	uint32_t said = 0;

	if (c->per == KN_NONE)
		return 0;
	if (f->place != KN_NONE)
		return 1u << f->place;
	for (int p = 0; p < RD_PLACES_MAX && !c->compare; p++)
		if (u->number ? p < u->reading.nplaces && u->reading.at[p].given
			      : p < u->nplaces && u->at[p] != KN_NONE)
			said |= 1u << p;
	return said ? said : (1u << m->kn->kinds[c->per].nplaces) - 1;
}

static void mark_answered(struct making *m, const struct job_finding *f)
{
	if (m->answered_epoch[f->check] != m->v->nrepairs)
		m->v->places_said[f->check] = 0;
	m->answered_epoch[f->check] = m->v->nrepairs;
	m->v->places_said[f->check] |= places_said(m, f);
}

/* Understood as when it was typed.  Newer trees may ask what these did not: then it is taken as
 * it stands. false: it means nothing now. */
static bool understand(struct making *m, struct job_answer *a, struct job_finding *f)
{
	struct job_facts facts = facts_of(m);
	struct hs_err err = { 0 };
	enum job_status status = job_make_sense(m->events, &facts, a, &f->understood, &err);

	if (status == JOB_ASK_LEADS || status == JOB_ASK_SLIP) {
		a->flags |= JOB_LEADS_WAIVED | JOB_SLIP_OK;
		err_clear(&err);
		status = job_make_sense(m->events, &facts, a, &f->understood, &err);
	}
	if (status != JOB_OK)
		snprintf(f->why, sizeof f->why, "%.119s", err.text);
	return status == JOB_OK;
}

static void take_rows(struct making *m, struct job_finding *f, const struct job_event *e)
{
	const struct kn_check *c = &m->kn->checks[f->check];
	struct su_evidence rows[2 * RD_PLACES_MAX];
	double exponent = worth(c, e);

	if (c->reading && c->reading->leads && !m->leads_known && exponent > WORTH_EYES)
		exponent = WORTH_EYES;
	f->first_evidence = m->nrows;
	f->nevidence = job_evidence(m->j, f, exponent, f->epoch, rows, 2 * RD_PLACES_MAX);
	for (int i = 0; i < f->nevidence; i++)
		add_row(m, &rows[i]);
	replace_rows(m, f->first_evidence);
}

static void answered(struct making *m, int event)
{
	const struct job_event *e = &m->events->events[event];
	struct job_view *v = m->v;
	struct job_finding *f = &v->findings[v->nfindings], *old;
	struct job_answer a = { .text = e->field[2], .flags = flags_of(e->field[4]) };
	int outcome[RD_PLACES_MAX];

	*f = (struct job_finding){ .event = event, .check = kn_check_by_id(m->kn, e->field[0]),
				   .epoch = v->nrepairs, .raw = e->field[2] };
	if (f->check == KN_NONE || !place_of(m->kn, m->kn->checks[f->check].per, e->field[1], &f->place))
		return;
	a.check = f->check;
	a.place = f->place;
	v->nfindings++;
	if (!understand(m, &a, f))
		return;
	f->counts = counts(m, &m->kn->checks[f->check], f);
	old = f->counts ? earlier(v, f) : NULL;
	if (old)
		pool(m, old, f, &a);
	if (f->counts)
		take_rows(m, f, e);
	retire(m);
	doubt_codes(m);
	mark_answered(m, f);
	holds(m, f->check, outcome, outcomes_of(&m->kn->checks[f->check], &f->understood, outcome));
}

static bool in_list(const int *list, int n, int what)
{
	for (int i = 0; i < n; i++)
		if (list[i] == what)
			return true;
	return false;
}

/* Settings put back before are to be put back again after a repair that disturbs them. */
static void disturb_again(struct making *m, const struct kn_remedy *r)
{
	for (int i = 0; i < m->v->nsettings; i++) {
		struct job_setting *s = &m->v->settings[i];
		bool disturbed = in_list(r->records, r->nrecords, s->setting);

		for (int a = r->access; a != KN_NONE; a = m->kn->accesses[a].parent)
			disturbed = disturbed || in_list(m->kn->accesses[a].records,
							 m->kn->accesses[a].nrecords, s->setting);
		if (disturbed && s->left_asked) {
			s->left_asked = false;
			s->left[0] = '\0';
		}
	}
}

static void repaired(struct making *m, int event)
{
	const struct job_event *e = &m->j->events[event];
	struct job_view *v = m->v;
	int r = kn_remedy_by_id(m->kn, e->field[0]), place;

	if (r == KN_NONE || !place_of(m->kn, m->kn->remedies[r].per, e->field[1], &place))
		return;
	v->repair_event[v->nrepairs] = event;
	v->repairs[v->nrepairs++] = (struct su_repair){ r, place, 1 };
	v->remedy_done[r] = (unsigned char)(v->remedy_done[r] + (v->remedy_done[r] < 255));
	m->last_repair = event;
	m->closed = -1;
	disturb_again(m, &m->kn->remedies[r]);
}

/* Where this setting at this place stands or belongs: in the order of the final set-up, then by place. */
static int setting_at(const struct job_view *v, int setting, int place, bool *there)
{
	int at = 0, order = v->kn->settings[setting].order;

	for (; at < v->nsettings; at++) {
		const struct job_setting *s = &v->settings[at];
		int before = v->kn->settings[s->setting].order;

		if (before > order || (before == order && s->setting > setting) ||
		    (s->setting == setting && s->place >= place))
			break;
	}
	*there = at < v->nsettings && v->settings[at].setting == setting && v->settings[at].place == place;
	return at;
}

static void setting(struct making *m, const struct job_event *e)
{
	struct job_view *v = m->v;
	int s = kn_setting_by_id(m->kn, e->field[0]), place, at;
	bool there, left = strcmp(e->field[2], "left") == 0;

	if (s == KN_NONE || !place_of(m->kn, m->kn->settings[s].per, e->field[1], &place))
		return;
	at = setting_at(v, s, place, &there);
	if (!there) {
		memmove(&v->settings[at + 1], &v->settings[at],
			sizeof *v->settings * (size_t)(v->nsettings++ - at));
		v->settings[at] = (struct job_setting){ .setting = s, .place = place };
	}
	*(left ? &v->settings[at].left_asked : &v->settings[at].found_asked) = true;
	snprintf(left ? v->settings[at].left : v->settings[at].found, sizeof v->settings[at].left, "%.63s",
		 e->field[3]);
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
		{ "parts-fitted", JOB_PARTS_FITTED }, { "handed-over", JOB_HANDED_OVER },
		{ "checked", JOB_CHECKED } };

	for (size_t i = 0; i < sizeof states / sizeof *states; i++)
		if (strcmp(word, states[i].word) == 0)
			return (int)states[i].state;
	return -1;
}

static void circumstance(struct making *m, const struct job_event *e)
{
	int i = strncmp(e->field[0], "circumstance:", 13) == 0
			? kn_circumstance_by_id(m->kn, e->field[0] + 13) : KN_NONE;

	if (i == KN_NONE)
		return;
	m->circumstances_known |= 1u << i;
	m->circumstances &= ~(1u << i);
	m->circumstances |= (uint32_t)says_yes(e->field[1]) << i;
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
		case JOB_TOLD: circumstance(m, e); break;
		case JOB_REPAIRED: repaired(m, i); break;
		case JOB_ACCESS: access(m, e); break;
		case JOB_SETTING: setting(m, e); break;
		case JOB_NOTED: m->v->notes[m->v->nnotes++] = e->field[0]; break;
		case JOB_CLOSED:
			m->closed = closing_state(e->field[0]);
			snprintf(m->v->recheck, sizeof m->v->recheck, "%.10s", e->field[2]);
			break;
		case JOB_SKIPPED:
			c = kn_check_by_id(m->kn, e->field[0]);
			if (c != KN_NONE)
				m->declined[c] = 1;
			break;
		case JOB_DECLINED:
			c = kn_remedy_by_id(m->kn, e->field[0]);
			if (c != KN_NONE)
				m->v->remedy_declined[c] = 1;
			break;
		default: break;
		}
	}
}

/* ---- what follows ------------------------------------------------------------------------------------- */

/* Both were valid when they were given. */
static bool had_again(const struct job_finding *before, const struct job_finding *f)
{
	return before->check == f->check && before->place == f->place && before->nevidence && f->nevidence;
}

static void mark_done(struct making *m)
{
	const struct su_case so_far = { m->nrows, m->rows, m->v->nrepairs, m->v->repairs, 0, false };

	for (int c = 0; c < m->kn->nchecks; c++) {
		int per = m->kn->checks[c].per;
		uint32_t all = per == KN_NONE ? 0 : (1u << m->kn->kinds[per].nplaces) - 1;
		bool whole = m->answered_epoch[c] >= 0 && (m->v->places_said[c] & all) == all;

		m->v->answered[c] = m->answered_epoch[c] < 0 ? 0 : whole ? 2 : 1;
		m->v->done[c] = m->declined[c] || (whole && !su_worth_repeating(m->kn, &so_far, m->j->tables, c));
		m->v->twice[c] = m->declined[c] || job_spoiled(m->v, &m->kn->checks[c]);
	}
	for (int i = 0; i < m->v->nfindings; i++)
		for (int k = 0; k < i; k++)
			if (had_again(&m->v->findings[k], &m->v->findings[i]))
				m->v->twice[m->v->findings[i].check] = 1;
}

/* Looked for after the last repair, and after it was last complained of, and not there. */
static bool is_gone(const struct making *m, int complaint)
{
	const struct job_view *v = m->v;
	int symptom = v->complaints[complaint];

	for (int i = v->nfindings - 1; i >= 0; i--) {
		const struct job_finding *f = &v->findings[i];

		if (f->check == symptom && f->event > m->last_repair &&
		    f->event > m->complained_at[complaint])
			return f->understood.outcome != KN_NONE &&
			       m->kn->checks[symptom].outcomes[f->understood.outcome].rest;
	}
	return false;
}

/* A complaint looked for and not there, when nothing had been repaired yet. */
static bool away_by_itself(const struct job_view *v, const struct job_finding *f)
{
	const struct kn_check *c = &v->kn->checks[f->check];

	if (f->epoch > 0 || c->kind != KN_SYMPTOM || f->understood.outcome == KN_NONE ||
	    !c->outcomes[f->understood.outcome].rest)
		return false;
	for (int i = 0; i < v->ncomplaints; i++)
		if (v->complaints[i] == f->check)
			return true;
	return false;
}

static void find_state(struct making *m)
{
	struct job_view *v = m->v;

	v->complaint_gone = v->nrepairs > 0 && v->ncomplaints > 0;
	for (int i = 0; i < v->ncomplaints; i++)
		v->complaint_gone = v->complaint_gone && is_gone(m, i);
	for (int i = 0; i < v->nfindings; i++)
		v->intermittent = v->intermittent || away_by_itself(v, &v->findings[i]);
	if (m->closed != JOB_ON_WATCH)
		v->recheck[0] = '\0';
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
	v->twice = arena_array(m->a, checks, 1);
	v->remedy_done = arena_array(m->a, (size_t)m->kn->nremedies + 1, 1);
	v->remedy_declined = arena_array(m->a, (size_t)m->kn->nremedies + 1, 1);
	m->answered_epoch = arena_array(m->a, checks, sizeof(int));
	v->places_said = arena_array(m->a, checks, sizeof(uint32_t));
	v->answered = arena_array(m->a, checks, 1);
	m->declined = arena_array(m->a, checks, 1);
	for (size_t c = 0; c < checks; c++)
		m->answered_epoch[c] = -1;
}

/* Rows that were replaced are not evidence; the findings' indices follow. */
static void compact(struct making *m, struct su_evidence *to)
{
	int n = 0, done = 0;

	for (int i = 0; i < m->v->nfindings; i++) {
		struct job_finding *f = &m->v->findings[i];
		int first, end = f->first_evidence + f->nevidence;

		for (; f->nevidence && done < f->first_evidence; done++)
			if (m->rows[done].exponent > 0)
				to[n++] = m->rows[done];
		first = n;
		for (; f->nevidence && done < end; done++)
			if (m->rows[done].exponent > 0)
				to[n++] = m->rows[done];
		f->first_evidence = first;
		f->nevidence = n - first;
	}
	for (; done < m->nrows; done++)
		if (m->rows[done].exponent > 0)
			to[n++] = m->rows[done];
	m->v->the_case.nevidence = n;
	m->v->the_case.evidence = to;
}

struct job_view *view_make(struct job *j, struct hs_err *err)
{
	struct making m = { .events = j, .j = j, .a = j->view_arena, .kn = j->kn, .last_repair = -1,
			    .closed = -1 };
	struct job_view *v = m.v = arena_alloc(m.a, sizeof *v);
	struct su_evidence *rows;

	if (!j->tables)
		j->tables = su_tables_new(j->kn);
	allocate(&m);
	first_pass(&m);
	v->leads_u = m.leads_u;
	second_pass(&m);
	v->the_case.no_complaint = v->the_case.no_complaint && v->ncomplaints == 0;
	mark_done(&m);
	find_state(&m);
	count_undo(&m);
	rows = arena_array(m.a, (size_t)m.nrows + 1, sizeof *rows);
	compact(&m, rows);
	mem_free(m.rows);
	v->the_case.nrepairs = v->nrepairs;
	v->the_case.repairs = v->repairs;
	v->suspects = su_weigh(j->kn, &v->the_case, NULL, err);
	return v->suspects ? v : NULL;
}
