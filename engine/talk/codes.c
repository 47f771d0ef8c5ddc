/* Lamp codes: a reading counts from the second that agrees, and a stored code is history. */
#include "base/mem.h"
#include "talk/inner.h"

static void help_again(struct talk *t, const void *about)
{
	(void)about;
	out_say(&t->out, 2, 2, "Watch the whole list a second time, from the long pause on, and write it down "
		"without looking at the first. Enter when it was the same; else type it: then both are read "
		"again. `don't know` when it does not come a second time.");
}

static void help_active(struct talk *t, const void *about)
{
	(void)about;
	out_say(&t->out, 2, 2, "Active: the lamp lights with the engine running. Stored: it comes in the "
		"read-out only; that is history, and counts half.");
}

/* The first reading and what was said of it, joined with more; understood anew. */
static enum talk_reply join(struct talk *t, struct job_answer *a, struct text *line, const char *between,
			    const char *more, struct job_understood *u, struct hs_err *why)
{
	char *added = mem_strdup(more);

	text_addf(line, "%s%s", between, added);
	mem_free(added);
	a->text = text_str(line);
	return job_understand(t->job, a, u, why) == JOB_OK ? TALK_TEXT : TALK_DONT_KNOW;
}

static enum talk_reply read_again(struct talk *t, struct job_answer *a, struct text *line,
				  struct job_understood *u, struct hs_err *why)
{
	struct talk_prompt p = {.question = "Read the lamp a second time: it shows", .by_default = "the same",
				.help = help_again};
	struct text second = {0};
	enum talk_reply reply = talk_ask(t, &p, &second);

	if (reply == TALK_DEFAULT || (reply == TALK_TEXT && text_same_word(text_str(&second), "the same")))
		reply = join(t, a, line, " / ", text_str(line), u, why);
	else if (reply == TALK_TEXT)
		reply = join(t, a, line, " / ", text_str(&second), u, why);
	else if (reply == TALK_DONT_KNOW || reply == TALK_CANNOT)
		reply = TALK_TEXT;
	text_free(&second);
	return reply;
}

static bool is_said(const struct job_understood *u)
{
	for (int i = 0; i < u->ncodes; i++)
		if (u->code_state[i] == RD_CODE_NOT_SAID)
			return false;
	return true;
}

static enum talk_reply ask_active(struct talk *t, struct job_answer *a, struct text *line,
				  struct job_understood *u, struct hs_err *why)
{
	static const struct talk_choice choices[] = {{"active", "active"}, {"stored", "stored"}};
	struct talk_prompt p = {.question = "Active with the engine running, or stored",
				.allowed = "active or stored", .by_default = "not known",
				.help = help_active, .choices = choices, .nchoices = 2};
	struct text said = {0};
	enum talk_reply reply = TALK_MOVED;
	int i = KN_NONE;

	while (reply == TALK_MOVED) {
		reply = talk_ask(t, &p, &said);
		i = reply == TALK_TEXT ? choose_one(choices, 2, text_str(&said)) : KN_NONE;
		if (reply == TALK_TEXT && i == KN_NONE)
			reply = talk_refuse(t, &said, "active or stored, please.") ? TALK_MOVED : TALK_OVER;
		else if (reply == TALK_MOVED)
			break;
	}
	text_free(&said);
	if (i != KN_NONE)
		return join(t, a, line, " ", choices[i].id, u, why);
	return reply == TALK_DEFAULT || reply == TALK_DONT_KNOW || reply == TALK_CANNOT ? TALK_TEXT : reply;
}

enum talk_reply codes_again(struct talk *t, struct job_answer *a, struct text *line, struct job_understood *u,
			    struct hs_err *why)
{
	enum talk_reply reply = u->code_readings < 2 ? read_again(t, a, line, u, why) : TALK_TEXT;

	if (reply == TALK_TEXT && !is_said(u))
		reply = ask_active(t, a, line, u, why);
	if (reply == TALK_BACK) /* the codes themselves are asked again */
		return TALK_MOVED;
	if (reply == TALK_TEXT && u->ncodes > 1)
		out_say(&t->out, 0, 2, "%d codes together: battery volts, supply and ground come before any "
			"sensor.", u->ncodes);
	return reply;
}
