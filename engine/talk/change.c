/* An early answer changed in its place, by its number or its name.  Nothing that came after it is
 * asked again; what no longer counts is named. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "talk/inner.h"

#define VOIDED_MOST 32

/* ---- naming what was said --------------------------------------------------------------------- */

static const char *after_colon(const char *fact)
{
	const char *colon = strchr(fact, ':');

	return colon ? colon + 1 : fact;
}

static void title_at(struct text *out, const struct kn_knowledge *kn, const char *title, int kind,
		     const char *place)
{
	text_add(out, title);
	if (place && *place)
		text_addf(out, ", %s %s", kind == KN_NONE ? "at" : kn->kinds[kind].title, place);
}

/* "Fuel level by clear tube, carburettor 3" of any event that can be changed. */
static void name_event(struct text *out, const struct kn_knowledge *kn, const struct job_event *e)
{
	int i;

	switch (e->kind) {
	case JOB_ANSWERED: case JOB_SKIPPED: case JOB_COMPLAINED:
		i = kn_check_by_id(kn, e->field[0]);
		if (e->kind == JOB_COMPLAINED)
			text_addf(out, "Complaint");
		else if (i == KN_NONE)
			text_add(out, e->field[0]);
		else
			title_at(out, kn, kn->checks[i].title, kn->checks[i].per, e->field[1]);
		break;
	case JOB_SETTING:
		i = kn_setting_by_id(kn, e->field[0]);
		title_at(out, kn, i == KN_NONE ? e->field[0] : kn->settings[i].title,
			 i == KN_NONE ? KN_NONE : kn->settings[i].per, e->field[1]);
		text_addf(out, ", as %s", e->field[2]);
		break;
	case JOB_REPAIRED: text_add(out, "Done"); break;
	case JOB_NOTED: text_add(out, "Note"); break;
	default: text_add(out, after_colon(e->field[0])); break;
	}
}

/* What it says, as it can be typed again. */
static void say_event(struct text *out, const struct kn_knowledge *kn, const struct job_event *e)
{
	int i;

	switch (e->kind) {
	case JOB_ANSWERED: text_add(out, e->field[2]); break;
	case JOB_SKIPPED:
		text_add(out, strcmp(e->field[2], "cannot") == 0 ? "can't" : "don't know");
		break;
	case JOB_SETTING: text_add(out, *e->field[3] ? e->field[3] : "not noted"); break;
	case JOB_REPAIRED:
		i = kn_remedy_by_id(kn, e->field[0]);
		if (i == KN_NONE)
			text_add(out, e->field[0]);
		else
			title_at(out, kn, kn->remedies[i].title, kn->remedies[i].per, e->field[1]);
		break;
	case JOB_COMPLAINED: case JOB_NOTED: text_add(out, e->field[0]); break;
	default: text_add(out, e->field[1]); break;
	}
}

/* Tools and what is not so are many; they are changed by name. */
static bool listed(const struct job_event *e)
{
	return e->kind != JOB_TOLD || (strncmp(e->field[0], "tool:", 5) != 0 &&
				       (strncmp(e->field[0], "history:", 8) != 0 ||
					strcmp(e->field[1], "yes") == 0));
}

void change_list(struct talk *t)
{
	int shown = 0;

	for (int i = 0; i < job_nevents(t->job); i++) {
		const struct job_event *e = job_event_at(t->job, i);
		struct text name = {0}, said = {0};
		char number[16];

		if (!job_can_change(t->job, i) || !listed(e))
			continue;
		name_event(&name, t->kn, e);
		say_event(&said, t->kn, e);
		snprintf(number, sizeof number, "%3d", i + 1);
		out_item(&t->out, 7, number, "%s: %s", text_str(&name), text_str(&said));
		text_free(&name);
		text_free(&said);
		shown++;
	}
	if (shown == 0)
		out_say(&t->out, 0, 2, "Nothing was said yet.");
	else
		out_say(&t->out, 0, 2, "`change NUMBER` or `change NAME` asks one of them again, with "
			"=ANSWER at once; tools and history by their names too. What came after it stays.");
}

/* ---- finding it ------------------------------------------------------------------------------- */

/* Is this event what the name means? */
static bool meant(const struct talk *t, const struct job_event *e, const char *name,
		  const struct talk_step *check)
{
	switch (e->kind) {
	case JOB_ANSWERED: case JOB_SKIPPED:
		return check && strcmp(e->field[0], t->kn->checks[check->index].id) == 0 &&
		       (check->place == KN_NONE ||
			strcmp(e->field[1], place_id(t->kn, t->kn->checks[check->index].per,
						     check->place)) == 0);
	case JOB_COMPLAINED: return text_same_word(name, "complaint") || strcmp(e->field[0], name) == 0;
	case JOB_TOLD: return strcmp(after_colon(e->field[0]), name) == 0;
	case JOB_SETTING: case JOB_REPAIRED: return strcmp(e->field[0], name) == 0;
	default: return false;
	}
}

/* The event meant by "7" or by a name; KN_NONE with err. The last of several is meant. */
static int find_event(struct talk *t, const char *name, struct hs_err *err)
{
	char *end;
	long number = strtol(name, &end, 10);
	struct talk_step check;
	struct hs_err ignored = {0};
	bool is_check = step_parse(t->kn, name, false, &check, &ignored) == 0;

	if (end != name && *end == '\0') {
		if (number >= 1 && number <= job_nevents(t->job) &&
		    job_can_change(t->job, (int)number - 1))
			return (int)number - 1;
		err_set(err, HS_BAD_INPUT, "There is no answer %s that can be changed; `answers` lists them.",
			name);
		return KN_NONE;
	}
	for (int i = job_nevents(t->job) - 1; i >= 0; i--)
		if (job_can_change(t->job, i) &&
		    meant(t, job_event_at(t->job, i), name, is_check ? &check : NULL))
			return i;
	if (is_check || strstr(ignored.text, "Did you mean") == NULL)
		err_set(err, HS_BAD_INPUT, "\"%s\" was not said yet; `tell` says it, `answers` lists what was.",
			name);
	else
		*err = ignored;
	return KN_NONE;
}

/* ---- what it did ------------------------------------------------------------------------------ */

struct job *change_begin(struct talk *t)
{
	struct job *before = job_copy(t->job);

	job_view(before, NULL);
	return before;
}

static void say_voided(struct talk *t, const struct job_view *v, int event)
{
	struct text name = {0};

	name_event(&name, t->kn, job_event_at(t->job, event));
	for (int i = 0; i < v->nfindings; i++)
		if (v->findings[i].event == event && v->findings[i].why[0]) {
			out_say(&t->out, 2, 4, "%s: %s.", text_str(&name), v->findings[i].why);
			text_free(&name);
			return;
		}
	out_say(&t->out, 2, 4, "%s: it means nothing now.", text_str(&name));
	text_free(&name);
}

void change_end(struct talk *t, struct job *before, int event)
{
	struct hs_err err = {0};
	const struct job_view *was = job_view(before, &err), *v = talk_view(t);
	struct text name = {0}, old = {0}, now = {0};
	int voided[VOIDED_MOST], n;

	if (!was || !v)
		return;
	name_event(&name, t->kn, job_event_at(t->job, event));
	say_event(&old, t->kn, job_event_at(before, event));
	say_event(&now, t->kn, job_event_at(t->job, event));
	out_say(&t->out, 0, 2, "Changed: %s: %s (was: %s).", text_str(&name), text_str(&now), text_str(&old));
	n = job_voided(was, v, voided, VOIDED_MOST);
	if (n == 0 || (n == 1 && voided[0] == event))
		out_say(&t->out, 0, 2, "Everything said after it stands.");
	else
		out_say(&t->out, 0, 2, "Void by that, and kept in the job:");
	for (int i = 0; i < n; i++)
		if (voided[i] != event)
			say_voided(t, v, voided[i]);
	text_free(&name);
	text_free(&old);
	text_free(&now);
}

/* Records it and says what it did. 0, or -1 with err. */
static int put(struct talk *t, int event, const struct job_event *now, struct hs_err *err)
{
	struct job *before = change_begin(t);
	int result = job_change(t->job, event, now, err);

	if (result == 0)
		change_end(t, before, event);
	else if (err->code == HS_IO)
		talk_fail(t, err);
	job_close(before);
	return t->over ? 0 : result;
}

enum talk_reply change_skip(struct talk *t, const struct talk_step *s, const char *how)
{
	const struct kn_check *c = &t->kn->checks[s->index];
	struct job_event now = {.kind = JOB_SKIPPED,
				.field = {c->id, place_id(t->kn, c->per, s->place), how}};
	struct hs_err err = {0};

	if (put(t, s->changes - 1, &now, &err) < 0)
		talk_fail(t, &err);
	step_drop(t);
	return t->over ? TALK_OVER : TALK_MOVED;
}

/* ---- changing it ------------------------------------------------------------------------------ */

static int change_check(struct talk *t, int event, const char *value, struct hs_err *err,
			enum talk_reply *reply)
{
	const struct job_event *e = job_event_at(t->job, event);
	struct talk_step s = {.chosen = true, .kind = PL_CHECK, .place = KN_NONE, .changes = event + 1};
	const char *argument;
	enum word w;

	s.index = kn_check_by_id(t->kn, e->field[0]);
	if (s.index == KN_NONE)
		return err_set(err, HS_BAD_INPUT, "The trees no longer have that check.");
	if (t->kn->checks[s.index].per != KN_NONE && *e->field[1])
		s.place = kn_place_by_id(&t->kn->kinds[t->kn->checks[s.index].per], e->field[1]);
	s.everywhere = s.place == KN_NONE;
	if (!*value) {                  /* asked like any other step, what was said standing in the line */
		t->step = s;
		t->shown_any = false;
		text_clear(&t->prefill);
		if (e->kind == JOB_ANSWERED)
			text_add(&t->prefill, e->field[2]);
		return 0;
	}
	w = word_of(value, &argument);
	if (w == WORD_DONT_KNOW || w == WORD_CANNOT) {
		*reply = change_skip(t, &s, w == WORD_CANNOT ? "cannot" : "dont-know");
		return 0;
	}
	*reply = answer_at(t, event, s.index, s.place, value, err);
	if (*reply == TALK_DONT_KNOW)
		return -1;
	if (*reply == TALK_TEXT)
		explain_top(t);
	*reply = *reply == TALK_OVER ? TALK_OVER : TALK_MOVED;
	return 0;
}

/* The value of a fact as it is kept, in `out`. 0, or -1 with err. */
static int fact_value(const char *fact, const char *value, struct text *out, struct hs_err *err)
{
	bool figure = strcmp(fact, "air") == 0 || strcmp(fact, "altitude") == 0;
	double number;

	if (strncmp(fact, "figure:", 7) == 0)
		return err_set(err, HS_BAD_INPUT, "A figure of the manual is told anew: it replaces the old one.");
	if (figure) {
		if (figure_parse(fact, value, &number, err) < 0)
			return -1;
		text_json_number(out, number);
		return 0;
	}
	if (!text_same_word(value, "yes") && !text_same_word(value, "no"))
		return err_set(err, HS_BAD_INPUT, "%s is told with yes or no.", after_colon(fact));
	text_add(out, text_same_word(value, "yes") ? "yes" : "no");
	return 0;
}

/* Everything else: `now` gets the field that changes. 0, or -1 with err. */
static int new_event(struct talk *t, const struct job_event *e, const char *value, struct job_event *now,
		     struct text *kept, struct hs_err *err)
{
	int i;

	*now = *e;
	now->when = 0;
	text_add(kept, value);
	switch (e->kind) {
	case JOB_TOLD:
		text_clear(kept);
		if (fact_value(e->field[0], value, kept, err) < 0)
			return -1;
		now->field[1] = text_str(kept);
		return 0;
	case JOB_COMPLAINED:
		i = kn_check_by_id(t->kn, value);
		if (i == KN_NONE || t->kn->checks[i].kind != KN_SYMPTOM)
			return err_set(err, HS_BAD_INPUT, "There is no complaint \"%s\"; `halfsplit list "
				       "symptoms` has their names.", value);
		now->field[0] = t->kn->checks[i].id;
		return 0;
	case JOB_REPAIRED:
		i = kn_remedy_by_id(t->kn, e->field[0]);
		i = i == KN_NONE ? KN_NONE : t->kn->remedies[i].per;
		if (i == KN_NONE || (kn_place_by_id(&t->kn->kinds[i], value) == KN_NONE &&
				     !text_same_word(value, "all")))
			return err_set(err, HS_BAD_INPUT, "Of a repair only the place can be changed: its "
				       "name, or all. `back` takes the repair back.");
		now->field[1] = text_same_word(value, "all") ? "" : text_str(kept);
		return 0;
	case JOB_SETTING:
		if (kept->len >= sizeof ((struct job_setting *)0)->found)
			return err_set(err, HS_BAD_INPUT, "Shorter, please: at most %zu bytes.",
				       sizeof ((struct job_setting *)0)->found - 1);
		now->field[3] = text_str(kept);
		return 0;
	default: now->field[0] = text_str(kept); return 0;
	}
}

static void help_new(struct talk *t, const void *about)
{
	(void)about;
	out_say(&t->out, 2, 2, "What is typed comes in the place of what was said; what came after it stays. "
		"`back` leaves it as it was.");
}

/* Asks for what shall stand there. TALK_TEXT, or another reply. */
static enum talk_reply ask_new(struct talk *t, const struct job_event *e, struct text *line)
{
	struct text question = {0};
	struct talk_prompt p = {.allowed = "what it is instead", .help = help_new};
	enum talk_reply reply;

	name_event(&question, t->kn, e);
	text_clear(&t->prefill);
	say_event(&t->prefill, t->kn, e);
	p.question = text_str(&question);
	reply = talk_ask(t, &p, line);
	text_free(&question);
	return reply;
}

static int change_other(struct talk *t, int event, const char *value, struct hs_err *err,
			enum talk_reply *reply)
{
	const struct job_event e = *job_event_at(t->job, event);
	struct text typed = {0}, kept = {0};
	struct job_event now;
	int result = 0;

	text_add(&typed, value);
	if (typed.len == 0)
		*reply = ask_new(t, &e, &typed);
	else
		*reply = TALK_TEXT;
	if (*reply == TALK_TEXT) {
		result = new_event(t, &e, text_str(&typed), &now, &kept, err);
		if (result == 0)
			result = put(t, event, &now, err);
		if (result == 0 && !t->over)
			explain_top(t);
	}
	text_free(&typed);
	text_free(&kept);
	*reply = t->over || *reply == TALK_OVER ? TALK_OVER : TALK_MOVED;
	return result;
}

int change_answer(struct talk *t, const char *argument, struct hs_err *err, enum talk_reply *reply)
{
	char *name = mem_strdup(argument), *value = strchr(name, '='), *end;
	int event, result = -1;

	*reply = TALK_MOVED;
	end = value ? value : name + strlen(name);
	if (value)
		*value++ = '\0';
	while (value && *value == ' ')
		value++;
	while (end > name && end[-1] == ' ')
		*--end = '\0';
	event = find_event(t, name, err);
	if (event != KN_NONE) {
		enum job_kind kind = job_event_at(t->job, event)->kind;
		result = (kind == JOB_ANSWERED || kind == JOB_SKIPPED ? change_check : change_other)(
			t, event, value ? value : "", err, reply);
	}
	mem_free(name);
	return result;
}
