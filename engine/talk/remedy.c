/* A repair: what it disturbs is noted, then the work, then "done". */
#include <string.h>

#include "talk/inner.h"

static void help_remedy(struct talk *t, const void *about)
{
	const struct talk_step *s = about;
	const struct kn_remedy *r = &t->kn->remedies[s->index];

	explain_cautions(t, r->cautions, r->ncautions);
	for (int i = 0; i < r->nsteps; i++)
		out_say(&t->out, 2, 5, "%d. %s", i + 1, r->steps[i]);
	if (r->parts)
		out_say(&t->out, 2, 2, "Parts: %s.", r->parts);
	if (r->wait > 0)
		out_say(&t->out, 2, 2, "It waits %.0f minutes by itself: `timer %.0f` shows when.", r->wait, r->wait);
	out_say(&t->out, 2, 2, "`yes` when the work is done; `can't` when it cannot be done here.");
}

static enum talk_reply where(struct talk *t, const struct kn_remedy *r)
{
	struct text question = {0};
	enum talk_reply reply = TALK_TEXT;

	if (several_places(t, r->per) && t->step.place == KN_NONE && !t->step.everywhere) {
		text_addf(&question, "At which %s", t->kn->kinds[r->per].title);
		reply = talk_ask_place(t, r->per, text_str(&question), true, &t->step.place);
		t->step.everywhere = t->step.place == KN_NONE;
	}
	text_free(&question);
	return reply;
}

static enum talk_reply done(struct talk *t, const struct kn_remedy *r)
{
	const char *place = place_id(t->kn, r->per, t->step.place);
	const struct job_view *v = talk_view(t);
	int set = v ? adjust_of(v, r) : KN_NONE, from = adjust_since(t);

	if (access_record(t, r->access, r->energy) < 0 ||
	    talk_record(t, JOB_REPAIRED, r->id, place, NULL, NULL) < 0)
		return TALK_OVER;
	out_say(&t->out, 0, 2, "Noted as done. Now it has to be proven.");
	step_drop(t);
	return set == KN_NONE ? TALK_MOVED : adjust_answers(t, set, from);
}

/* Not yet done: asked again. One that cannot be done here is not advised again. */
static enum talk_reply not_done(struct talk *t, bool cannot)
{
	const struct pl_plan *plan;

	if (cannot) {
		if (talk_record(t, JOB_DECLINED, t->kn->remedies[t->step.index].id, NULL, NULL, NULL) < 0)
			return TALK_OVER;
		step_drop(t);
		out_say(&t->out, 0, 2, "Then something else.");
		return TALK_MOVED;
	}
	plan = talk_plan(t);
	if (!plan)
		return TALK_OVER;
	out_say(&t->out, 0, 2, "Not done yet. `can't` looks for something else, `do STEP` takes another "
		"step, `finish` ends the job.");
	explain_others(t, plan);
	return TALK_MOVED;
}

static bool is_yes_or_no(const char *typed, bool *yes)
{
	*yes = text_same_word(typed, "yes") || text_same_word(typed, "y");
	return *yes || text_same_word(typed, "no") || text_same_word(typed, "n");
}

/* Done or not; where the work sets something, its readings too, one after another. */
static enum talk_reply ask_done(struct talk *t, const struct talk_step *about, bool *yes)
{
	const struct job_view *v = talk_view(t);
	int set = v ? adjust_of(v, &t->kn->remedies[about->index]) : KN_NONE;
	static const struct talk_choice choices[] = {{"yes", "yes"}, {"no", "no"}};
	struct talk_prompt p = {.question = "Is the work done, or what does it read now",
				.allowed = "yes, no, or a reading", .help = help_remedy, .about = about,
				.choices = choices, .nchoices = 2};
	struct text line = {0};
	enum talk_reply reply = TALK_TEXT;

	if (!v || set == KN_NONE)
		return v ? talk_ask_yes(t, "Is the work done", NULL, help_remedy, about, yes) : TALK_OVER;
	adjust_begin(t, set, about->place);
	while (reply == TALK_TEXT) {
		struct hs_err err = {0};
		reply = talk_ask(t, &p, &line);
		if (reply != TALK_TEXT || is_yes_or_no(text_str(&line), yes))
			break;
		if (adjust_take(t, set, about->place, text_str(&line), &err) < 0)
			talk_refuse(t, &line, "%s", err.text);
		if (t->over)
			reply = TALK_OVER;
	}
	text_free(&line);
	return reply;
}

enum talk_reply ask_remedy(struct talk *t)
{
	const struct kn_remedy *r = &t->kn->remedies[t->step.index];
	struct talk_step about;
	bool yes = false;
	enum talk_reply reply = where(t, r);

	if (reply == TALK_TEXT)
		reply = settings_before(t, r->access, r->records, r->nrecords, r->per, t->step.place);
	about = t->step;
	if (reply == TALK_TEXT && r->bath)
		reply = bath_guide(t);
	if (reply == TALK_TEXT)
		reply = ask_done(t, &about, &yes);
	switch (reply) {
	case TALK_TEXT: return yes ? done(t, r) : not_done(t, false);
	case TALK_BACK: adjust_back(t, &about); return TALK_MOVED;
	case TALK_DONT_KNOW: return not_done(t, false);
	case TALK_CANNOT: return not_done(t, true);
	case TALK_OVER: return TALK_OVER;
	default: return TALK_MOVED;
	}
}
