/* Asking for the answer to one check. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "talk/inner.h"

static void help_check(struct talk *t, const void *about)
{
	const struct talk_step *s = about;
	const struct kn_check *c = &t->kn->checks[s->index];

	explain_cautions(t, c->cautions, c->ncautions);
	if (c->how && *c->how)
		out_say(&t->out, 2, 2, "How: %s", c->how);
	for (int i = 0; i < c->noutcomes; i++) {
		const struct kn_outcome *o = &c->outcomes[i];
		out_say(&t->out, 2, 6, "%s (%s)%s%s", o->title, o->id, o->means ? ": " : "",
			o->means ? o->means : "");
	}
	if (c->reading)
		out_say(&t->out, 2, 2, "Type what the meter shows: 12.4 or 12,4, with or without %s; "
			"`open` or `OL` when it shows no reading.",
			*rd_unit_name(c->reading->unit) ? rd_unit_name(c->reading->unit) : "a unit");
	if (!c->reading && c->per != KN_NONE && !c->compare && s->place == KN_NONE)
		out_say(&t->out, 2, 2, "Several places at once: `%s:%s %s:%s` and so on.",
			t->kn->kinds[c->per].places[0].id, c->outcomes[0].id,
			t->kn->kinds[c->per].places[t->kn->kinds[c->per].nplaces - 1].id,
			c->outcomes[c->noutcomes - 1].id);
	out_say(&t->out, 2, 2, "A ? behind an answer (`yes?`) says that you are not sure of it.");
}

static bool yes_no(const struct kn_check *c)
{
	return c->noutcomes == 2 && (strcmp(c->outcomes[0].id, "yes") == 0 ||
				     strcmp(c->outcomes[1].id, "yes") == 0) &&
	       (strcmp(c->outcomes[0].id, "no") == 0 || strcmp(c->outcomes[1].id, "no") == 0);
}

/* Is the figure one of each place, typed as a list? */
static bool list_of_places(const struct kn_check *c, int place)
{
	return c->reading && c->per != KN_NONE && place == KN_NONE;
}

/* An outcome of a measurement that no figure falls into: it is seen, not read. */
static bool only_in_words(const struct kn_outcome *o)
{
	return !o->has_range && !o->on_open && !o->on_short && !o->rest;
}

static void allowed_answers(struct text *out, const struct kn_knowledge *kn, const struct kn_check *c,
			    int place)
{
	const char *unit = c->reading ? rd_unit_name(c->reading->unit) : "";
	bool figures = c->reading != NULL;

	if (list_of_places(c, place) && kn->kinds[c->per].nplaces > 1) {
		text_add(out, "one figure each for");
		for (int i = 0; i < kn->kinds[c->per].nplaces; i++)
			text_addf(out, " %s", kn->kinds[c->per].places[i].id);
		text_addf(out, "%s%s", *unit ? ", in " : "", unit);
	} else if (c->reading) {
		text_addf(out, "%s%s", *unit ? "a figure in " : "a figure", unit);
	} else if (yes_no(c)) {
		text_add(out, "yes or no");
	} else {
		text_addf(out, "1 to %d", c->noutcomes);
	}
	for (int i = 0; figures && i < c->noutcomes; i++)
		if (only_in_words(&c->outcomes[i]))
			text_addf(out, ", or `%s`", c->outcomes[i].id);
}

static struct talk_choice *outcome_choices(const struct kn_check *c)
{
	struct talk_choice *choices = mem_array((size_t)c->noutcomes + 1, sizeof *choices);

	for (int i = 0; i < c->noutcomes; i++)
		choices[i] = (struct talk_choice){c->outcomes[i].id, c->outcomes[i].title};
	return choices;
}

static int local_kind(const struct kn_check *c, int outcome)
{
	int kind = c->outcomes[outcome].local_kind;

	return kind == KN_NONE ? c->per : kind;
}

/* With one carburettor there is nothing to ask about which. */
bool several_places(const struct talk *t, int kind)
{
	return kind != KN_NONE && t->kn->kinds[kind].nplaces > 1;
}

/* Is the outcome one of a place, so that it has to be said which? */
static bool needs_place(const struct kn_check *c, int outcome, int place)
{
	const struct kn_outcome *o = &c->outcomes[outcome];

	if (c->reading)
		return false;
	return o->local || (c->per != KN_NONE && !c->compare && place == KN_NONE && !o->rest);
}

/* An outcome that needs a place was named without one: asks which. TALK_TEXT when the answer in
 * `line` is whole; TALK_MOVED when the check is asked again. */
static enum talk_reply complete_place(struct talk *t, const struct talk_step *s,
				      const struct talk_choice *choices, struct text *line)
{
	const struct kn_check *c = &t->kn->checks[s->index];
	int outcome = choose_one(choices, c->noutcomes, text_str(line));
	int place = KN_NONE, kind;
	struct text question = {0};
	enum talk_reply reply;

	if (outcome == KN_NONE || !needs_place(c, outcome, s->place))
		return TALK_TEXT;
	kind = local_kind(c, outcome);
	if (!several_places(t, kind))
		return TALK_TEXT;
	text_addf(&question, "Which %s", t->kn->kinds[kind].title);
	reply = talk_ask_place(t, kind, text_str(&question), false, &place);
	if (reply == TALK_TEXT) {
		text_clear(line);
		text_addf(line, "%s %s", c->outcomes[outcome].id, place_id(t->kn, kind, place));
	}
	text_free(&question);
	return reply == TALK_TEXT || reply == TALK_OVER ? reply : TALK_MOVED;
}

/* Where it is done, when nobody has said so. */
static enum talk_reply where(struct talk *t, struct talk_step *s)
{
	const struct kn_check *c = &t->kn->checks[s->index];
	struct text question = {0};
	enum talk_reply reply;

	if (c->per == KN_NONE || c->compare || s->place != KN_NONE || s->everywhere ||
	    !c->minutes_for_one)
		return TALK_TEXT;
	if (!several_places(t, c->per)) {
		s->place = 0;
		return TALK_TEXT;
	}
	text_addf(&question, "At which %s", t->kn->kinds[c->per].title);
	reply = talk_ask_place(t, c->per, text_str(&question), true, &s->place);
	s->everywhere = s->place == KN_NONE;
	text_free(&question);
	return reply;
}

static void list_outcomes(struct talk *t, const struct kn_check *c, int place)
{
	if (c->reading || yes_no(c))
		return;
	out_say(&t->out, 2, 2, "Answers:");
	for (int i = 0; i < c->noutcomes; i++) {
		const struct kn_outcome *o = &c->outcomes[i];
		int kind = needs_place(c, i, place) ? local_kind(c, i) : KN_NONE;
		char number[16];

		kind = several_places(t, kind) ? kind : KN_NONE;
		snprintf(number, sizeof number, "%2d", i + 1);
		out_item(&t->out, 6, number, "%s%s%s%s", o->title,
			 kind == KN_NONE ? "" : " (say which ",
			 kind == KN_NONE ? "" : t->kn->kinds[kind].title,
			 kind == KN_NONE ? "" : ")");
	}
}

static enum talk_reply skip(struct talk *t, const struct talk_step *s, const char *how)
{
	const struct kn_check *c = &t->kn->checks[s->index];

	if (s->changes)
		return change_skip(t, s, how);
	if (talk_record(t, JOB_SKIPPED, c->id, place_id(t->kn, c->per, s->place), how, NULL) < 0)
		return TALK_OVER;
	out_say(&t->out, 0, 2, "Noted; it is not asked again.");
	step_drop(t);
	return TALK_MOVED;
}

/* Prompts until the answer is recorded or something else was said. */
static enum talk_reply ask_answer(struct talk *t, const struct talk_step *s, struct talk_prompt *p)
{
	struct text line = {0};
	enum talk_reply reply;

	for (;;) {
		struct hs_err why = {0};
		reply = talk_ask(t, p, &line);
		if (reply == TALK_TEXT)
			reply = complete_place(t, s, p->choices, &line);
		if (reply != TALK_TEXT)
			break;
		reply = answer_check(t, s->index, s->place, text_str(&line), &why);
		if (reply != TALK_DONT_KNOW)
			break;
		if (!talk_refuse(t, &line, "%s", why.text)) {
			reply = TALK_OVER;
			break;
		}
	}
	text_free(&line);
	return reply;
}

/* Facts without which this figure could not be judged. */
static enum talk_reply figures_for(struct talk *t, const struct kn_check *c)
{
	const struct kn_reading *r = c->reading;

	if (!r)
		return TALK_TEXT;
	if ((r->copper || (r->derive == RD_EACH_OVER_HIGHEST && r->unit == RD_DEGC)) &&
	    !t->air_passed && !record_told(t->job, "air"))
		return ask_figure(t, "air");
	if (r->sea_level && !t->altitude_passed && !record_told(t->job, "altitude"))
		return ask_figure(t, "altitude");
	return TALK_TEXT;
}

/* A circumstance the check needs and nobody has told: asked first, and it may void the step. */
static enum talk_reply circumstances_for(struct talk *t, const struct kn_check *c)
{
	const struct job_view *v = talk_view(t);
	uint32_t open;

	if (!v)
		return TALK_OVER;
	open = c->only_when & ~v->circumstances_known;
	for (int i = 0; i < t->kn->ncircumstances; i++)
		if (open >> i & 1)
			return ask_circumstance(t, i);
	return TALK_TEXT;
}

enum talk_reply ask_check(struct talk *t)
{
	struct talk_step s = t->step;
	const struct kn_check *c = &t->kn->checks[s.index];
	struct text title = {0}, allowed = {0};
	struct talk_choice *choices;
	struct talk_prompt p = {.help = help_check, .about = &s};
	enum talk_reply reply = circumstances_for(t, c);

	if (reply == TALK_TEXT)
		reply = figures_for(t, c);
	if (reply == TALK_TEXT)
		reply = where(t, &s);
	if (reply == TALK_TEXT && !s.changes)
		reply = settings_before(t, c->access, c->records, c->nrecords, c->per, s.place);
	if (reply == TALK_TEXT) {
		choices = outcome_choices(c);
		explain_title(&title, t->kn, &s);
		allowed_answers(&allowed, t->kn, c, s.place);
		p.question = text_str(&title);
		p.allowed = text_str(&allowed);
		p.choices = choices;
		p.nchoices = c->noutcomes;
		list_outcomes(t, c, s.place);
		reply = ask_answer(t, &s, &p);
		mem_free(choices);
	}
	text_free(&title);
	text_free(&allowed);
	switch (reply) {
	case TALK_TEXT: step_drop(t); explain_top(t); return TALK_MOVED;
	case TALK_BACK: talk_back(t); return TALK_MOVED;
	case TALK_DONT_KNOW: return skip(t, &s, "dont-know");
	case TALK_CANNOT: return skip(t, &s, "cannot");
	case TALK_OVER: return TALK_OVER;
	default: return TALK_MOVED;
	}
}
