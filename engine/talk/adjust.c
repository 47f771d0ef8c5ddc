/* Setting something to its figure: read, move, read, until it is right and stays right when tight.
 * Every reading is an event, so a run goes on after `stop` or a broken line where it was. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "reading/adjust.h"
#include "talk/inner.h"

/* Readings of one check at one place, in order. */
struct run {
	struct rd_aim aim;
	int n;
	struct rd_adjusted step[RD_ADJUST_MAX];
	const char *last;         /* as typed */
};

static bool has_band(const struct kn_check *c)
{
	return c->offered && c->reading && (isfinite(c->reading->low) || isfinite(c->reading->high));
}

static bool takes_down(const struct kn_knowledge *kn, const struct kn_remedy *r, int value)
{
	for (int i = 0; i < r->nrecords; i++)
		if (kn->settings[r->records[i]].value == value)
			return true;
	return false;
}

int adjust_of(const struct job_view *v, const struct kn_remedy *r)
{
	for (int i = 0; i < r->nverifies; i++) {
		const struct kn_check *c = &v->kn->checks[r->verifies[i]];

		if (has_band(c) && c->reading->value != KN_NONE && takes_down(v->kn, r, c->reading->value) &&
		    (!v->tools_told || (c->tools & ~v->tools) == 0))
			return r->verifies[i];
	}
	return KN_NONE;
}

int adjust_since(const struct talk *t) { return record_last(t->job, JOB_REPAIRED, NULL); }

/* Where the run in hand begins: behind the last repair, and the last answer to the check there. */
static int run_begins(const struct talk *t, const char *check, const char *place, int from)
{
	for (int i = job_nevents(t->job) - 1; i > from; i--) {
		const struct job_event *e = job_event_at(t->job, i);

		if (e->kind == JOB_ANSWERED && strcmp(e->field[0], check) == 0 &&
		    strcmp(e->field[1], place) == 0 && job_in_force(t->job, i))
			return i;
	}
	return from;
}

/* The reading without its move, as an answer to the check would be understood. */
static int understand(struct talk *t, int check, int place, const char *typed, struct rd_adjusted *step,
		      struct rd_result *r, struct hs_err *err)
{
	struct text reading = {0};
	struct job_understood u = {0};
	struct job_answer a = {.check = check, .place = place, .flags = JOB_LEADS_WAIVED};
	int result = rd_adjust_split(typed, &reading, step, err);
	enum job_status status;

	a.text = text_str(&reading);
	if (result == 0) {
		status = job_understand(t->job, &a, &u, err);
		*r = u.reading;
		step->value = r->value;
		if (status != JOB_OK)
			result = -1;
		else if (!u.number || r->kind != RD_NUMBER)
			result = err_set(err, HS_BAD_INPUT, "A figure is needed to set something to it.");
	}
	text_free(&reading);
	return result;
}

static void gather(struct talk *t, int check, int place, int from, struct run *run)
{
	const struct kn_check *c = &t->kn->checks[check];
	const char *at = place_id(t->kn, c->per, place);

	*run = (struct run){.aim = {.low = c->reading->low, .high = c->reading->high, .target = NAN,
				    .unit = c->reading->unit}};
	rd_adjust_measure(&run->aim);
	for (int i = run_begins(t, c->id, at, from) + 1; i < job_nevents(t->job); i++) {
		const struct job_event *e = job_event_at(t->job, i);
		struct rd_adjusted step;
		struct rd_result r;

		if (e->kind != JOB_ADJUSTED || strcmp(e->field[0], c->id) != 0 ||
		    strcmp(e->field[1], at) != 0 || !job_in_force(t->job, i) ||
		    understand(t, check, place, e->field[2], &step, &r, NULL) < 0)
			continue;
		if (run->n == RD_ADJUST_MAX) /* the newest count */
			memmove(run->step, run->step + 1, sizeof run->step[0] * (size_t)--run->n);
		run->step[run->n++] = step;
		run->aim.u = r.u;
		run->last = e->field[2];
	}
	run->step[0].moved = run->n ? 0 : NAN;
}

static void say_band(struct text *t, const struct kn_reading *r)
{
	bool low = isfinite(r->low), high = isfinite(r->high);

	if (low)
		text_addf(t, "%s%.4g", high ? "" : "at least ", r->low);
	if (high)
		text_addf(t, "%s%.4g", low ? " to " : "at most ", r->high);
	text_addf(t, "%s%s", *rd_unit_name(r->unit) ? " " : "", rd_unit_name(r->unit));
}

void adjust_begin(struct talk *t, int check, int place)
{
	const struct kn_check *c = &t->kn->checks[check];
	bool listed = c->per != KN_NONE && !c->compare && place == KN_NONE;
	struct text band = {0};
	struct run run;

	gather(t, check, place, adjust_since(t), &run);
	say_band(&band, c->reading);
	if (run.n > 0)
		out_say(&t->out, 0, 2, "%s: to be %s, last reading %s.", c->title, text_str(&band), run.last);
	else
		out_say(&t->out, 0, 2, "%s: to be %s. Type reading after reading%s; behind it what was moved "
			"since (+1/4, -.1), or `tight`.", c->title, text_str(&band),
			listed ? ", each with its place (2: 13.2)" : "");
	text_free(&band);
}

/* "2: 13.2" where the place is open: *place, and what stands behind it; NULL when there is none. */
static const char *take_place(const struct talk *t, const struct kn_check *c, const char *typed, int *place,
			      struct hs_err *err)
{
	const char *colon = strchr(typed, ':');
	const struct kn_kind *kind = &t->kn->kinds[c->per];
	char *id;

	if (colon) {
		id = mem_strdup(typed);
		id[colon - typed] = '\0';
		*place = kn_place_by_id(kind, id);
		mem_free(id);
	}
	if (!colon || *place == KN_NONE) {
		err_set(err, HS_BAD_INPUT, "Say which %s: %s: and the reading.", kind->title,
			kind->places[0].id);
		return NULL;
	}
	return colon + 1 + strspn(colon + 1, " ");
}

static int say_where_it_is(struct talk *t, const struct run *run, struct hs_err *err)
{
	struct rd_adjust a;
	struct text words = {0};
	int result = rd_adjust(&run->aim, run->step, run->n, &a, err);

	if (result == 0) {
		rd_adjust_say(&words, &run->aim, &run->step[run->n - 1], &a);
		out_say(&t->out, 0, 2, "%s", text_str(&words));
	}
	text_free(&words);
	return result;
}

int adjust_take(struct talk *t, int check, int place, const char *typed, struct hs_err *err)
{
	const struct kn_check *c = &t->kn->checks[check];
	struct rd_adjusted step;
	struct rd_result r;
	struct run run;

	if (c->per != KN_NONE && !c->compare && place == KN_NONE) {
		typed = take_place(t, c, typed, &place, err);
		if (!typed)
			return -1;
	}
	if (understand(t, check, place, typed, &step, &r, err) < 0)
		return -1;
	if (talk_record(t, JOB_ADJUSTED, c->id, place_id(t->kn, c->per, place), typed, NULL) < 0)
		return 0;
	gather(t, check, place, adjust_since(t), &run);
	return run.n ? say_where_it_is(t, &run, err) : 0;
}

/* Is the run at its end, inside and tight? Its last reading then is an answer. */
static bool at_end(const struct run *run)
{
	struct rd_adjust a;

	return run->n > 0 && rd_adjust(&run->aim, run->step, run->n, &a, NULL) == 0 &&
	       a.next == RD_ADJUST_DONE;
}

static enum talk_reply answer_with(struct talk *t, int check, int place, const char *typed)
{
	struct text reading = {0};
	struct rd_adjusted step;
	struct hs_err err = {0};
	enum talk_reply reply;

	rd_adjust_split(typed, &reading, &step, NULL);
	reply = answer_check(t, check, place, text_str(&reading), &err);
	text_free(&reading);
	return reply == TALK_OVER ? TALK_OVER : TALK_MOVED;
}

enum talk_reply adjust_answers(struct talk *t, int check, int from)
{
	const struct kn_check *c = &t->kn->checks[check];
	int places = c->per == KN_NONE || c->compare ? 1 : t->kn->kinds[c->per].nplaces;
	enum talk_reply reply = TALK_MOVED;

	for (int i = 0; i < places && reply != TALK_OVER; i++) {
		int place = c->per == KN_NONE || c->compare ? KN_NONE : i;
		struct run run;

		gather(t, check, place, from, &run);
		if (at_end(&run))
			reply = answer_with(t, check, place, run.last);
	}
	return reply;
}

static int readings(const struct talk *t)
{
	int n = 0;

	for (int i = 0; i < job_nevents(t->job); i++)
		n += job_event_at(t->job, i)->kind == JOB_ADJUSTED && job_in_force(t->job, i);
	return n;
}

void adjust_back(struct talk *t, const struct talk_step *step)
{
	const struct talk_step again = *step;
	int before = readings(t);

	talk_back(t);
	if (readings(t) == before || t->over)
		return;
	t->step = again;
	t->step.chosen = true;
}

/* ---- by itself ------------------------------------------------------------------------------------ */

int adjust_choose(struct talk *t, const char *argument, struct hs_err *err)
{
	struct talk_step s;

	if (step_parse(t->kn, argument, false, &s, err) < 0)
		return -1;
	if (!has_band(&t->kn->checks[s.index]))
		return err_set(err, HS_BAD_INPUT, "%s has no figure on this machine that it could be set to.",
			       t->kn->checks[s.index].title);
	s.adjusts = true;
	t->step = s;
	return 0;
}

static bool run_at_end(struct talk *t, const struct talk_step *s, struct run *run)
{
	gather(t, s->index, s->place, adjust_since(t), run);
	return at_end(run);
}

enum talk_reply ask_adjust(struct talk *t)
{
	const struct talk_step s = t->step;
	struct talk_prompt p = {.question = "It reads now", .allowed = "a reading, with what was moved behind it",
				.by_default = "leave it as it is"};
	struct text line = {0};
	struct run run = {.n = 0};
	enum talk_reply reply = TALK_TEXT;

	adjust_begin(t, s.index, s.place);
	while (reply == TALK_TEXT && !run_at_end(t, &s, &run)) {
		struct hs_err err = {0};
		reply = talk_ask(t, &p, &line);
		if (reply == TALK_TEXT && adjust_take(t, s.index, s.place, text_str(&line), &err) < 0)
			talk_refuse(t, &line, "%s", err.text);
		if (t->over)
			reply = TALK_OVER;
	}
	text_free(&line);
	if (reply == TALK_BACK)
		adjust_back(t, &s);
	if (reply == TALK_BACK || reply == TALK_MOVED || reply == TALK_OVER)
		return t->over ? TALK_OVER : TALK_MOVED;
	step_drop(t);
	return reply == TALK_TEXT ? answer_with(t, s.index, s.place, run.last) : TALK_MOVED;
}
