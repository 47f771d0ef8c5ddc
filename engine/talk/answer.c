/* Recording answers to checks, in turn or out of turn, with what has to be asked on the way. */
#include <stdio.h>
#include <string.h>

#include "base/mem.h"
#include "talk/inner.h"

static int leads_check(const struct kn_knowledge *kn)
{
	for (int i = 0; i < kn->nchecks; i++)
		if (kn->checks[i].leads_null && kn->checks[i].offered)
			return i;
	return KN_NONE;
}

/* One reading of the leads. TALK_TEXT: recorded; TALK_DONT_KNOW: go on without. */
static enum talk_reply ask_leads(struct talk *t, int check)
{
	const struct kn_check *c = &t->kn->checks[check];
	struct talk_prompt p = {.question = "Probes held together, the meter shows",
				.allowed = "a figure in ohm, or `without`"};
	struct text line = {0};
	enum talk_reply reply;

	out_say(&t->out, 0, 2, "%s", c->how ? c->how : "Hold the probes together.");
	for (;;) {
		struct job_answer a = {.check = check, .place = KN_NONE};
		struct job_understood u = {0};
		struct hs_err err = {0};
		reply = talk_ask(t, &p, &line);
		if (reply == TALK_TEXT && text_same_word(text_str(&line), "without"))
			reply = TALK_DONT_KNOW;
		if (reply != TALK_TEXT)
			break;
		a.text = text_str(&line);
		if (job_answer(t->job, &a, &u, &err) == JOB_OK) {
			explain_understood(t, check, &u, true);
			break;
		}
		if (err.code == HS_IO) {
			talk_fail(t, &err);
			reply = TALK_OVER;
			break;
		}
		if (!talk_refuse(t, &line, "%s", err.text)) {
			reply = TALK_OVER;
			break;
		}
	}
	text_free(&line);
	return reply == TALK_CANNOT ? TALK_DONT_KNOW : reply;
}

enum talk_reply answer_leads(struct talk *t)
{
	int check = leads_check(t->kn);

	if (check == KN_NONE) {
		out_say(&t->out, 0, 2, "These trees know no measurement of the meter leads.");
		return TALK_MOVED;
	}
	return ask_leads(t, check);
}

/* `yes?`: an answer its giver is not sure of. The mark is taken off. */
static bool take_doubt(struct text *line)
{
	size_t n = line->len;

	if (n < 2 || line->s[n - 1] != '?')
		return false;
	line->s[--line->len] = '\0';
	while (line->len > 0 && line->s[line->len - 1] == ' ')
		line->s[--line->len] = '\0';
	return true;
}

/* Leads or an odd size asked about. TALK_TEXT: try again; TALK_DONT_KNOW: refused, why says it;
 * TALK_MOVED: the check is asked again. */
static enum talk_reply settle_doubt(struct talk *t, enum job_status status, int *flags,
				    struct hs_err *why)
{
	enum talk_reply reply;
	bool yes = false;

	if (status == JOB_ASK_LEADS) {
		out_say(&t->out, 0, 2, "%s", why->text[0] ? why->text :
			"A reading this low has the meter leads in it, and they are not measured yet.");
		reply = answer_leads(t);
		if (reply == TALK_DONT_KNOW || reply == TALK_MOVED) {
			*flags |= JOB_LEADS_WAIVED;
			reply = TALK_TEXT;
		}
		err_clear(why);
		return reply == TALK_BACK ? TALK_MOVED : reply;
	}
	out_say(&t->out, 0, 2, "%s", why->text);
	reply = talk_ask_yes(t, "Is that really what it shows", NULL, NULL, NULL, &yes);
	if (reply != TALK_TEXT)
		return reply == TALK_OVER ? TALK_OVER : TALK_MOVED;
	if (yes) {
		*flags |= JOB_SLIP_OK;
		err_clear(why);
		return TALK_TEXT;
	}
	err_clear(why);
	err_set(why, HS_BAD_INPUT, "Then once more, with its unit.");
	return TALK_DONT_KNOW;
}

/* The number of an answer means something on one screen only: what is kept is its name. */
static void name_outcome(const struct kn_knowledge *kn, const struct kn_check *c,
			 const struct job_understood *u, struct text *line)
{
	const struct kn_outcome *o;

	if (c->reading || u->number || u->nplaces > 0 || u->ncodes > 0 || u->outcome == KN_NONE)
		return;
	o = &c->outcomes[u->outcome];
	text_clear(line);
	text_add(line, o->id);
	if (u->outcome_place != KN_NONE)
		text_addf(line, " %s", place_id(kn, o->local_kind == KN_NONE ? c->per : o->local_kind,
						u->outcome_place));
}

enum talk_reply answer_check(struct talk *t, int check, int place, const char *typed,
			     struct hs_err *why)
{
	const struct talk_step *s = &t->step;
	bool changes = s->changes && s->kind == PL_CHECK && s->index == check && s->place == place;

	return answer_at(t, changes ? s->changes - 1 : KN_NONE, check, place, typed, why);
}

/* What makes the answer just given not valid as things are; NULL when it counts. */
static const char *why_not_counted(struct talk *t, int check)
{
	const struct job_view *v = talk_view(t);

	for (int i = v ? v->nfindings - 1 : -1; i >= 0; i--)
		if (v->findings[i].check == check)
			return !v->findings[i].counts && v->findings[i].why[0] ? v->findings[i].why : NULL;
	return NULL;
}

static void say_taken(struct talk *t, int check, const struct job_understood *u)
{
	const char *why = why_not_counted(t, check);

	if (t->kn->checks[check].kind != KN_SYMPTOM)
		explain_understood(t, check, u, !why);
	if (why)
		out_say(&t->out, 2, 4, "Noted, but it changes nothing: %s.", why);
}

enum talk_reply answer_at(struct talk *t, int event, int check, int place, const char *typed,
			  struct hs_err *why)
{
	const struct kn_check *c = &t->kn->checks[check];
	struct text line = {0};
	struct job_answer a = {.check = check, .place = place};
	struct job_understood u = {0};
	struct job *before;
	enum talk_reply reply = TALK_TEXT;

	text_add(&line, typed);
	if (take_doubt(&line)) {
		a.source = JOB_UNSURE;
		a.source_given = true;
	}
	a.text = text_str(&line);
	while (reply == TALK_TEXT) {
		enum job_status status = job_understand(t->job, &a, &u, why);
		if (status == JOB_OK)
			break;
		reply = status == JOB_REFUSED ? TALK_DONT_KNOW : settle_doubt(t, status, &a.flags, why);
	}
	if (reply == TALK_TEXT && u.ncodes)
		reply = codes_again(t, &a, &line, &u, why);
	if (reply == TALK_TEXT) {
		name_outcome(t->kn, c, &u, &line);
		a.text = text_str(&line);
	}
	if (reply == TALK_TEXT && c->kind != KN_SYMPTOM && event == KN_NONE &&
	    access_record(t, c->access, step_energy(t, check)) < 0)
		reply = TALK_OVER;
	before = reply == TALK_TEXT && event != KN_NONE ? change_begin(t) : NULL;
	if (reply == TALK_TEXT && job_answer_at(t->job, event, &a, &u, why) != JOB_OK) {
		talk_fail(t, why);
		reply = TALK_OVER;
	}
	if (reply == TALK_TEXT && !before)
		say_taken(t, check, &u);
	if (reply == TALK_TEXT && before && c->kind != KN_SYMPTOM)
		explain_understood(t, check, &u, true);
	if (reply == TALK_TEXT && before)
		change_end(t, before, event);
	job_close(before);
	text_free(&line);
	return reply;
}

/* ---- `tell` -------------------------------------------------------------------------------------- */

/* `tell air=18`, `tell stored=yes`, `tell engine-cold=no`. False when the name is no fact. */
static bool tell_fact(struct talk *t, const char *name, const char *value, struct hs_err *err,
		      int *result)
{
	struct text fact = {0};
	bool known = true, yes = text_same_word(value, "yes");

	if (text_same_word(name, "air") || text_same_word(name, "altitude")) {
		double number;
		*result = figure_parse(name, value, &number, err);
		if (*result == 0)
			*result = figure_record(t, name, number);
		return true;
	}
	if (kn_circumstance_by_id(t->kn, name) != KN_NONE)
		text_addf(&fact, "circumstance:%s", name);
	else if (kn_history_by_id(t->kn, name) != KN_NONE)
		text_addf(&fact, "history:%s", name);
	else if (kn_tool_by_id(t->kn, name) != KN_NONE)
		text_addf(&fact, "tool:%s", name);
	else
		known = false;
	if (known && !yes && !text_same_word(value, "no"))
		*result = err_set(err, HS_BAD_INPUT, "%s is told with yes or no.", name);
	else if (known)
		*result = talk_record(t, JOB_TOLD, text_str(&fact), yes ? "yes" : "no", NULL, NULL);
	text_free(&fact);
	return known;
}

static int tell_check(struct talk *t, const char *name, const char *value, struct hs_err *err,
		      enum talk_reply *reply)
{
	struct talk_step s;
	const struct kn_check *c;
	const char *argument;
	enum word w;

	if (step_parse(t->kn, name, false, &s, err) < 0)
		return -1;
	c = &t->kn->checks[s.index];
	w = word_of(value, &argument);
	if (w == WORD_DONT_KNOW || w == WORD_CANNOT)
		return talk_record(t, JOB_SKIPPED, c->id, place_id(t->kn, c->per, s.place),
				   w == WORD_CANNOT ? "cannot" : "dont-know", NULL);
	*reply = answer_check(t, s.index, s.place, value, err);
	if (*reply == TALK_DONT_KNOW)
		return -1;
	if (*reply == TALK_TEXT)
		explain_top(t);
	if (*reply != TALK_OVER)
		*reply = TALK_MOVED;
	return 0;
}

int answer_tell(struct talk *t, const char *argument, struct hs_err *err, enum talk_reply *reply)
{
	char *name = mem_strdup(argument), *value = strchr(name, '=');
	int result = 0;

	*reply = TALK_MOVED;
	if (!value) {
		result = err_set(err, HS_BAD_INPUT, "Tell it as CHECK[@PLACE]=ANSWER.");
	} else {
		char *end = value;
		*value++ = '\0';
		while (*value == ' ')
			value++;
		while (end > name && end[-1] == ' ')
			*--end = '\0';
		if (!tell_fact(t, name, value, err, &result))
			result = tell_check(t, name, value, err, reply);
	}
	mem_free(name);
	t->shown_any = false;
	return result;
}
