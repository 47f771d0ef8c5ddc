/* After a repair: what proves it, settings put back, the complaint repeated. */
#include <string.h>

#include "base/mem.h"
#include "talk/inner.h"

/* Was the check answered or declined after the last repair? */
static bool asked_since(struct talk *t, const struct job_view *v, int check)
{
	const struct job *j = t->job;
	int repaired = record_last(j, JOB_REPAIRED, NULL);

	for (int i = 0; i < v->nfindings; i++)
		if (v->findings[i].check == check && v->findings[i].event > repaired)
			return true;
	return record_last(j, JOB_SKIPPED, t->kn->checks[check].id) > repaired;
}

static bool can_be_done(const struct job_view *v, const struct kn_check *c)
{
	return c->offered && (!v->tools_told || (c->tools & ~v->tools) == 0) &&
	       (c->only_when & v->circumstances_known & ~v->circumstances) == 0 &&
	       hold_on(v, check_energy(c)) == KN_NONE;
}

/* What clears a hold that stands in the way comes first. */
static int clearing_check(struct talk *t, const struct job_view *v)
{
	for (int i = 0; i < v->nholds; i++) {
		const struct kn_hold *h = &t->kn->holds[v->holds[i]];
		for (int k = 0; h->blocks != KN_ENERGY_NONE && k < h->nclears; k++) {
			int check = h->clears[k].check;
			if (can_be_done(v, &t->kn->checks[check]) && !asked_since(t, v, check))
				return check;
		}
	}
	return KN_NONE;
}

/* From the inside out: what is open now is looked at before it is closed. What can be seen only while
 * the work is open comes first; the rest waits until the settings are back. */
static int next_proof(struct talk *t, const struct job_view *v, const struct kn_remedy *r,
		      bool while_open)
{
	int best = KN_NONE, deepest = while_open ? access_depth(t->kn, r->access) - 1 : 0;

	for (int i = 0; i < r->nverifies; i++) {
		const struct kn_check *c = &t->kn->checks[r->verifies[i]];
		int depth = access_depth(t->kn, c->access);
		if (c->kind == KN_SYMPTOM || depth <= deepest || !can_be_done(v, c) ||
		    asked_since(t, v, r->verifies[i]))
			continue;
		best = r->verifies[i];
		deepest = depth;
	}
	return best == KN_NONE && !while_open ? clearing_check(t, v) : best;
}

static enum talk_reply ask_proof(struct talk *t, int check, const struct su_repair *repair)
{
	const struct kn_check *c = &t->kn->checks[check];
	const struct kn_remedy *r = &t->kn->remedies[repair->remedy];
	bool here = c->per != KN_NONE && !c->compare && c->per == r->per && repair->place != KN_NONE;

	step_set(t, PL_CHECK, check, here ? repair->place : KN_NONE);
	t->step.everywhere = !here;
	t->step.verifies = true;
	return ask_step(t);
}

/* ---- the complaint repeated ---------------------------------------------------------------------- */

/* A complaint is a check of two outcomes; the one that takes the rest means "not there". */
static const char *outcome_for(const struct kn_check *c, bool there)
{
	for (int i = 0; i < c->noutcomes; i++)
		if (c->outcomes[i].rest != there)
			return c->outcomes[i].id;
	return there ? "yes" : "no";
}

static void help_repeat(struct talk *t, const void *about)
{
	const struct kn_check *c = about;

	out_say(&t->out, 2, 2, "A repair counts when the complaint was repeated and is gone: the same "
		"warmth, load and weather as when it did it.");
	if (c->says)
		out_say(&t->out, 2, 2, "It was: %s", c->says);
	out_say(&t->out, 2, 2, "`don't know` when it cannot be repeated now: the job can be left on "
		"watch.");
}

static enum talk_reply ask_repeated(struct talk *t, int symptom)
{
	const struct kn_check *c = &t->kn->checks[symptom];
	struct text question = {0};
	struct hs_err err = {0};
	bool there = false;
	enum talk_reply reply;

	out_blank(&t->out);
	out_say(&t->out, 0, 2, "Repeat what was complained of: %s.", c->title);
	explain_cautions(t, c->cautions, c->ncautions);
	access_say(t, c->access, KN_RIDING);
	text_addf(&question, "Is it still there");
	reply = talk_ask_yes(t, text_str(&question), NULL, help_repeat, c, &there);
	text_free(&question);
	if (reply == TALK_DONT_KNOW || reply == TALK_CANNOT) {
		if (talk_record(t, JOB_SKIPPED, c->id, "", "dont-know", NULL) < 0)
			return TALK_OVER;
		return TALK_MOVED;
	}
	if (reply == TALK_BACK)
		talk_back(t);
	if (reply != TALK_TEXT)
		return reply == TALK_OVER ? TALK_OVER : TALK_MOVED;
	if (!there && access_record(t, c->access, KN_RIDING) < 0)
		return TALK_OVER;
	reply = answer_check(t, symptom, KN_NONE, outcome_for(c, there), &err);
	if (reply == TALK_DONT_KNOW)
		talk_fail(t, &err);
	if (there && !t->over) {
		out_say(&t->out, 0, 2, "Still there: what was measured before the work describes the "
			"bike as it was then, and the search goes on.");
		explain_top(t);
	}
	return t->over ? TALK_OVER : TALK_MOVED;
}

static bool is_wrong(const struct kn_check *c, const struct job_understood *u)
{
	if (u->number)
		return u->reading.verdict == RD_OUTSIDE;
	for (int i = 0; i < u->nplaces; i++)
		if (u->at[i] != KN_NONE && !c->outcomes[u->at[i]].rest)
			return true;
	return u->outcome != KN_NONE && !c->outcomes[u->outcome].rest;
}

/* Was the same check answered again later? The newest answer is the one that holds. */
static bool answered_later(const struct job_view *v, const struct job_finding *f)
{
	for (int i = 0; i < v->nfindings; i++)
		if (v->findings[i].check == f->check && v->findings[i].place == f->place &&
		    v->findings[i].event > f->event)
			return true;
	return false;
}

/* A proof of this repair, or a complaint when r is NULL, that was looked at since and is not as it
 * should be; KN_NONE. */
static int still_wrong(struct talk *t, const struct job_view *v, const struct kn_remedy *r)
{
	int repaired = record_last(t->job, JOB_REPAIRED, NULL);

	for (int i = 0; i < v->nfindings; i++) {
		const struct job_finding *f = &v->findings[i];
		const struct kn_check *c = &t->kn->checks[f->check];
		bool meant = r ? kn_proves(r, f->check) && c->kind != KN_SYMPTOM : c->kind == KN_SYMPTOM;
		if (f->event > repaired && meant && !answered_later(v, f) &&
		    is_wrong(c, &f->understood))
			return f->check;
	}
	return KN_NONE;
}

static int next_complaint(struct talk *t, const struct job_view *v)
{
	for (int i = 0; i < v->ncomplaints; i++)
		if (!asked_since(t, v, v->complaints[i]))
			return v->complaints[i];
	return KN_NONE;
}

/* A proof that failed: the work is looked at again before anything is closed up. */
static enum talk_reply proof_failed(struct talk *t, const struct job_view *v, int check)
{
	out_say(&t->out, 0, 2, "%s: not as it should be after the work. The search goes on from here.",
		t->kn->checks[check].title);
	t->looked_past = v->nrepairs;
	return TALK_MOVED;
}

enum talk_reply ask_after_repair(struct talk *t, bool *nothing)
{
	const struct job_view *v = talk_view(t);
	int check;

	*nothing = false;
	if (!v)
		return TALK_OVER;
	*nothing = v->nrepairs == 0 || t->looked_past >= v->nrepairs;
	if (*nothing)
		return TALK_TEXT;
	const struct su_repair last = v->repairs[v->nrepairs - 1];
	check = still_wrong(t, v, &t->kn->remedies[last.remedy]);
	if (check != KN_NONE)
		return proof_failed(t, v, check);
	check = next_proof(t, v, &t->kn->remedies[last.remedy], true);
	if (check != KN_NONE)
		return ask_proof(t, check, &last);
	*nothing = bench_running(v);    /* the run goes on; settings at its end, and nothing runs there */
	if (*nothing)
		return TALK_TEXT;
	if (settings_open(v))
		return settings_after(t, v);
	check = next_proof(t, v, &t->kn->remedies[last.remedy], false);
	if (check != KN_NONE)
		return ask_proof(t, check, &last);
	check = next_complaint(t, v);
	if (check != KN_NONE)
		return ask_repeated(t, check);
	if (still_wrong(t, v, NULL) == KN_NONE)
		return ask_finish(t);
	*nothing = true;
	return TALK_TEXT;
}
