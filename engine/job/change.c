/* An early answer changed in its place.  The event says which one and what stands there now; the file
 * keeps both.  Everything that is worked out sees only what stands. */
#include <stdio.h>
#include <string.h>

#include "job/inner.h"

static bool is_answer(enum job_kind k) { return k == JOB_ANSWERED || k == JOB_SKIPPED; }

static bool may_replace(enum job_kind before, enum job_kind now)
{
	if (is_answer(before))
		return is_answer(now);
	return before == now && (now == JOB_COMPLAINED || now == JOB_TOLD || now == JOB_SETTING ||
				 now == JOB_NOTED || now == JOB_REPAIRED);
}

/* What the change says, in the place of `e`; a change that means nothing leaves it alone. */
static void apply(struct job_event *e, const struct job_event *change)
{
	int kind = job_kind_by_name(change->field[1], strlen(change->field[1]));

	if (!may_replace(e->kind, (enum job_kind)kind))
		return;
	e->kind = (enum job_kind)kind;
	for (int f = 0; f < JOB_FIELDS_MAX; f++)
		e->field[f] = f < job_kind_fields(e->kind) ? change->field[f + 2] : NULL;
}

void job_apply(struct job *j, const struct job_event *change)
{
	int event = job_index_of(j, change->field[0]);

	if (event >= 0 && event < change->seq - 1)
		apply(&j->events[event], change);
}

void job_stand(struct job *j, int event)
{
	if (event < 0)
		return;
	j->events[event] = j->said[event];
	for (int i = event + 1; i < j->nevents; i++)
		if (j->said[i].kind == JOB_CHANGED && j->in_force[i] &&
		    job_index_of(j, j->said[i].field[0]) == event)
			job_apply(j, &j->said[i]);
}

bool job_can_change(const struct job *j, int event)
{
	return event > 0 && event < j->nevents && j->in_force[event] &&
	       may_replace(j->events[event].kind, j->events[event].kind);
}

int job_change(struct job *j, int event, const struct job_event *now, struct hs_err *err)
{
	struct job_event e = { .kind = JOB_CHANGED, .when = now->when };
	char seq[24];

	if (!job_can_change(j, event) || !may_replace(j->events[event].kind, now->kind))
		return err_set(err, HS_BAD_INPUT, "That cannot be changed in its place.");
	snprintf(seq, sizeof seq, "%d", event + 1);
	e.field[0] = seq;
	e.field[1] = job_kind_name(now->kind);
	for (int f = 0; f < job_kind_fields(now->kind); f++)
		e.field[f + 2] = now->field[f];
	return job_add(j, &e, err);
}

static bool counts_in(const struct job_view *v, int event)
{
	for (int i = 0; i < v->nfindings; i++)
		if (v->findings[i].event == event)
			return v->findings[i].counts;
	return false;
}

int job_voided(const struct job_view *before, const struct job_view *after, int *events, int most)
{
	int n = 0;

	for (int i = 0; i < before->nfindings && n < most; i++)
		if (before->findings[i].counts && !counts_in(after, before->findings[i].event))
			events[n++] = before->findings[i].event;
	return n;
}
