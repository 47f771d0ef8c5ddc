/* A repair: settings noted as found, then the work, then "done". */
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
	out_say(&t->out, 2, 2, "`yes` when the work is done; `can't` when it cannot be done here.");
}

static void help_setting(struct talk *t, const void *about)
{
	const struct kn_setting *s = about;

	out_say(&t->out, 2, 2, "How to take it: %s", s->how ? s->how : s->title);
	if (s->restore)
		out_say(&t->out, 2, 2, "Put back later: %s", s->restore);
	out_say(&t->out, 2, 2, "Any words do; they are kept as typed and asked for after the work. "
		"`don't know` leaves this one out, `can't` all of them.");
}

static bool noted_as_found(const struct job_view *v, int setting)
{
	for (int i = 0; i < v->nsettings; i++)
		if (v->settings[i].setting == setting && v->settings[i].found[0])
			return true;
	return false;
}

/* A setting of the same kind as the repair is noted at its place, others for all places. */
static const char *setting_place(const struct talk *t, const struct kn_remedy *r, int setting)
{
	int per = t->kn->settings[setting].per;

	return per != KN_NONE && per == r->per ? place_id(t->kn, per, t->step.place) : "";
}

static enum talk_reply ask_setting(struct talk *t, const struct kn_remedy *r, int index)
{
	const struct kn_setting *s = &t->kn->settings[index];
	const char *place = setting_place(t, r, index), *unit = rd_unit_name(s->unit);
	struct text question = {0}, allowed = {0}, line = {0};
	struct talk_prompt p = {.help = help_setting, .about = s};
	enum talk_reply reply;

	text_addf(&question, "Note before the work: %s", s->title);
	if (*place)
		text_addf(&question, ", %s %s", t->kn->kinds[s->per].title, place);
	text_addf(&allowed, "as found%s%s", *unit ? ", in " : "", unit);
	if (s->per != KN_NONE && !*place)
		text_add(&allowed, ", one for each place");
	p.question = text_str(&question);
	p.allowed = text_str(&allowed);
	do {
		reply = talk_ask(t, &p, &line);
		if (reply != TALK_TEXT)
			break;
		if (line.len < sizeof ((struct job_setting *)0)->found) {
			if (talk_record(t, JOB_SETTING, s->id, place, "found", text_str(&line)) < 0)
				reply = TALK_OVER;
			break;
		}
		if (!talk_refuse(t, &line, "Shorter, please: at most %zu bytes.",
				 sizeof ((struct job_setting *)0)->found - 1))
			reply = TALK_OVER;
	} while (reply != TALK_OVER);
	if (reply == TALK_DONT_KNOW || reply == TALK_CANNOT) {
		t->settings_skipped |= reply == TALK_CANNOT ? UINT64_MAX : UINT64_C(1) << (index & 63);
		reply = TALK_TEXT;
	}
	text_free(&question);
	text_free(&allowed);
	text_free(&line);
	return reply;
}

static enum talk_reply ask_settings(struct talk *t, const struct kn_remedy *r)
{
	for (int i = 0; i < r->nrecords; i++) {
		const struct job_view *v = talk_view(t);
		if (!v)
			return TALK_OVER;
		if (noted_as_found(v, r->records[i]) ||
		    (t->settings_skipped >> (r->records[i] & 63) & 1))
			continue;
		enum talk_reply reply = ask_setting(t, r, r->records[i]);
		if (reply != TALK_TEXT)
			return reply;
	}
	return TALK_TEXT;
}

static enum talk_reply where(struct talk *t, const struct kn_remedy *r)
{
	struct text question = {0};
	enum talk_reply reply = TALK_TEXT;

	if (r->per != KN_NONE && t->step.place == KN_NONE && !t->step.everywhere) {
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

	if (access_record(t, r->access, r->energy) < 0 ||
	    talk_record(t, JOB_REPAIRED, r->id, place, NULL, NULL) < 0)
		return TALK_OVER;
	out_say(&t->out, 0, 2, "Noted as done. Now it has to be proven.");
	step_drop(t);
	t->settings_passed = 0;
	return TALK_MOVED;
}

/* Not yet done: asked again. One that cannot be done here is not advised again in this talk. */
static enum talk_reply not_done(struct talk *t, bool cannot)
{
	const struct pl_plan *plan;

	if (cannot) {
		t->declined[t->step.index] = 1;
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

enum talk_reply ask_remedy(struct talk *t)
{
	const struct kn_remedy *r = &t->kn->remedies[t->step.index];
	struct talk_step about;
	bool yes = false;
	enum talk_reply reply = where(t, r);

	if (reply == TALK_TEXT)
		reply = ask_settings(t, r);
	about = t->step;
	if (reply == TALK_TEXT)
		reply = talk_ask_yes(t, "Is the work done", NULL, help_remedy, &about, &yes);
	switch (reply) {
	case TALK_TEXT: return yes ? done(t, r) : not_done(t, false);
	case TALK_BACK: talk_back(t); return TALK_MOVED;
	case TALK_DONT_KNOW: return not_done(t, false);
	case TALK_CANNOT: return not_done(t, true);
	case TALK_OVER: return TALK_OVER;
	default: return TALK_MOVED;
	}
}
