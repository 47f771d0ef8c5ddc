/* Events: writing them, finding those in force, taking back. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "talk/inner.h"

void talk_fail(struct talk *t, const struct hs_err *err)
{
	fflush(stdout);
	t->status = talk_complain(err);
	t->over = true;
}

int talk_record(struct talk *t, enum job_kind kind, const char *f0, const char *f1, const char *f2,
		const char *f3)
{
	struct job_event e = {.kind = kind, .field = {f0, f1, f2, f3}};
	struct hs_err err = {0};

	if (job_add(t->job, &e, &err) == 0)
		return 0;
	talk_fail(t, &err);
	return -1;
}

const struct job_view *talk_view(struct talk *t)
{
	struct hs_err err = {0};
	const struct job_view *v = job_view(t->job, &err);

	if (!v)
		talk_fail(t, &err);
	return v;
}

const struct pl_plan *talk_plan(struct talk *t)
{
	struct hs_err err = {0};
	const struct pl_plan *plan = job_plan(t->job, &err);

	if (!plan)
		talk_fail(t, &err);
	return plan;
}

const char *place_id(const struct kn_knowledge *kn, int kind, int place)
{
	return kind == KN_NONE || place == KN_NONE ? "" : kn->kinds[kind].places[place].id;
}

/* The later of taking back and putting back decides. */
bool record_in_force(const struct job *j, int event)
{
	long seq = job_event_at(j, event)->seq;
	bool in_force = true;

	for (int i = event + 1; i < job_nevents(j); i++) {
		const struct job_event *e = job_event_at(j, i);
		if (e->kind != JOB_TOOK_BACK && e->kind != JOB_PUT_BACK)
			continue;
		if (e->field[0] && strtol(e->field[0], NULL, 10) == seq)
			in_force = e->kind == JOB_PUT_BACK;
	}
	return in_force;
}

int record_last(const struct job *j, enum job_kind kind, const char *f0)
{
	for (int i = job_nevents(j) - 1; i >= 0; i--) {
		const struct job_event *e = job_event_at(j, i);
		if (e->kind != kind || (f0 && (!e->field[0] || strcmp(e->field[0], f0) != 0)))
			continue;
		if (record_in_force(j, i))
			return i;
	}
	return KN_NONE;
}

bool record_told(const struct job *j, const char *beginning)
{
	for (int i = 0; i < job_nevents(j); i++) {
		const struct job_event *e = job_event_at(j, i);
		if (e->kind == JOB_TOLD && strncmp(e->field[0], beginning, strlen(beginning)) == 0 &&
		    record_in_force(j, i))
			return true;
	}
	return false;
}

const char *record_value(const struct job *j, const char *fact)
{
	int i = record_last(j, JOB_TOLD, fact);

	return i == KN_NONE ? NULL : job_event_at(j, i)->field[1];
}

/* ---- taking back ------------------------------------------------------------------------------- */

static const struct job_event *by_seq(const struct job *j, long seq)
{
	for (int i = 0; i < job_nevents(j); i++)
		if (job_event_at(j, i)->seq == seq)
			return job_event_at(j, i);
	return NULL;
}

/* The event that the newest event took back or put back. */
static const struct job_event *undone(const struct job *j)
{
	const struct job_event *e = job_event_at(j, job_nevents(j) - 1);

	if (e->kind != JOB_TOOK_BACK && e->kind != JOB_PUT_BACK)
		return NULL;
	return by_seq(j, strtol(e->field[0], NULL, 10));
}

/* Facts told in one answer ("tool:a", "tool:b" ...) are taken back together. */
static size_t group_length(const struct job_event *e)
{
	const char *colon = e && e->kind == JOB_TOLD ? strchr(e->field[0], ':') : NULL;

	return colon ? (size_t)(colon - e->field[0]) + 1 : 0;
}

static bool same_group(const struct job_event *e, const char *group, size_t length)
{
	return e && length > 0 && group_length(e) == length &&
	       strncmp(e->field[0], group, length) == 0;
}

/* The newest event in force that a step back would take. */
static const struct job_event *next_back(const struct job *j)
{
	for (int i = job_nevents(j) - 1; i > 0; i--) {
		const struct job_event *e = job_event_at(j, i);
		if (e->kind != JOB_TOOK_BACK && e->kind != JOB_PUT_BACK && record_in_force(j, i))
			return e;
	}
	return NULL;
}

/* What was taken back is asked again first. */
static void ask_again(struct talk *t, const struct job_event *e)
{
	const struct kn_knowledge *kn = t->kn;
	struct talk_step s = {.chosen = true, .place = KN_NONE};
	int kind;

	if (e->kind == JOB_ANSWERED || e->kind == JOB_SKIPPED) {
		s.kind = PL_CHECK;
		s.index = kn_check_by_id(kn, e->field[0]);
		if (s.index == KN_NONE || kn->checks[s.index].kind == KN_SYMPTOM ||
		    kn->checks[s.index].leads_null)
			return;
		kind = kn->checks[s.index].per;
	} else if (e->kind == JOB_REPAIRED || e->kind == JOB_DECLINED) {
		s.kind = PL_REMEDY;
		s.index = kn_remedy_by_id(kn, e->field[0]);
		if (s.index == KN_NONE)
			return;
		kind = kn->remedies[s.index].per;
	} else {
		return;
	}
	if (kind != KN_NONE && e->field[1] && *e->field[1])
		s.place = kn_place_by_id(&kn->kinds[kind], e->field[1]);
	s.everywhere = s.place == KN_NONE;
	t->step = s;
}

/* One call of job_undo() or job_redo(); NULL when there is nothing or it failed. */
static const struct job_event *one(struct talk *t, bool back, struct text *what)
{
	struct hs_err err = {0};
	int result;

	text_clear(what);
	result = back ? job_undo(t->job, what, &err) : job_redo(t->job, what, &err);
	if (result == 0)
		return undone(t->job);
	if (err.code == HS_IO || err.code == HS_BAD_JOB)
		talk_fail(t, &err);
	return NULL;
}

/* What was told in a group, in one word; else what the job says. */
static void say_moved(struct talk *t, const char *done, const struct job_event *e,
		      const struct text *what)
{
	static const struct { const char *group, *words; } told[] = {
		{"tool:", "which tools there are"}, {"history:", "what was said of its history"},
		{"circumstance:", "what holds at this moment"},
	};
	const char *words = text_str(what);

	for (int i = 0; i < 3; i++)
		if (same_group(e, told[i].group, strlen(told[i].group)))
			words = told[i].words;
	out_say(&t->out, 0, 2, "%s: %s.", done, words);
}

void talk_back(struct talk *t)
{
	struct text what = {0};
	const struct job_event *e;
	bool said = false;

	step_drop(t);
	t->looked_past = 0;
	t->shown_any = false;
	do {
		e = one(t, true, &what);
		if (e && e->kind != JOB_ACCESS) {
			say_moved(t, "Taken back", e, &what);
			said = true;
			ask_again(t, e);
		}
	} while (e && e->kind == JOB_ACCESS);
	size_t length = group_length(e);
	if (length > 0) {
		char *group = mem_strdup(e->field[0]);
		while (e && same_group(next_back(t->job), group, length))
			e = one(t, true, &what);
		mem_free(group);
	}
	if (!said && !t->over)
		out_say(&t->out, 0, 2, "There is nothing left to take back.");
	text_free(&what);
}

/* The event that would be put back after this one. */
static const struct job_event *next_redo(struct talk *t, const struct job_event *last)
{
	const struct job_view *v = talk_view(t);
	const struct job *j = t->job;

	for (int i = 0; v && v->nredo > 0 && i < job_nevents(j); i++) {
		const struct job_event *e = job_event_at(j, i);
		if (e->seq > last->seq && e->kind != JOB_TOOK_BACK && e->kind != JOB_PUT_BACK &&
		    !record_in_force(j, i))
			return e;
	}
	return NULL;
}

/* What was opened for an answer comes back with it, and a group as a whole. */
static bool goes_along(const struct job_event *last, const struct job_event *next)
{
	if (!next)
		return false;
	return last->kind == JOB_ACCESS || same_group(next, last->field[0], group_length(last));
}

void talk_redo(struct talk *t)
{
	struct text what = {0};
	const struct job_event *e;

	step_drop(t);
	t->shown_any = false;
	e = one(t, false, &what);
	if (e)
		say_moved(t, "Put back", e, &what);
	else if (!t->over)
		out_say(&t->out, 0, 2, "There is nothing to put back.");
	while (e && !t->over && goes_along(e, next_redo(t, e))) {
		e = one(t, false, &what);
		if (e && group_length(e) == 0)
			say_moved(t, "Put back", e, &what);
	}
	text_free(&what);
}
