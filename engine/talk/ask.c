/* One prompt: shows it, reads a line, settles the words that mean the same everywhere. */
#include <ctype.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "talk/inner.h"

#define NO_JOB "That works in a job, and none is under way here. `?` tells what works."

static void trim(struct text *line)
{
	size_t start = strspn(text_str(line), " \t");

	while (line->len > 0 && isspace((unsigned char)line->s[line->len - 1]))
		line->s[--line->len] = '\0';
	if (start > 0 && line->len >= start) {
		memmove(line->s, line->s + start, line->len - start + 1);
		line->len -= start;
	}
}

/* The typographic apostrophe of phones and word processors: "don't know" is a word here. */
static void plain_apostrophe(struct text *line)
{
	char *at;

	while (line->s && (at = strstr(line->s, "\xE2\x80\x99"))) {
		*at = '\'';
		memmove(at + 1, at + 3, strlen(at + 3) + 1);
		line->len -= 2;
	}
}

/* "Step (1 to 3; Enter = 1; ? = help): ", on a line of its own when it gets long. */
static void make_prompt(struct talk *t, const struct talk_prompt *p, struct text *prompt)
{
	struct text whole = {0};

	text_clear(&t->prompt);
	text_add(&t->prompt, p->question);
	text_clear(&t->allowed);
	text_add(&t->allowed, p->allowed ? p->allowed : "");
	text_addf(&whole, "%s (", p->question);
	if (p->allowed)
		text_addf(&whole, "%s; ", p->allowed);
	if (p->by_default)
		text_addf(&whole, "Enter = %s; ", p->by_default);
	text_add(&whole, "? = help)");
	if (text_width(text_str(&whole)) <= t->out.width - 14) {
		text_add(&whole, ": ");
		out_safe(&t->out, prompt, text_str(&whole));
	} else {
		out_say(&t->out, 0, 2, "%s", text_str(&whole));
		text_add(prompt, "> ");
	}
	text_free(&whole);
}

/* Names that TAB completes: words, choices, and behind `do` and `tell` checks and remedies. */
static int completions(const struct talk *t, const struct talk_prompt *p, const char ***out)
{
	int nchecks = t->kn ? t->kn->nchecks : 0, nremedies = t->kn ? t->kn->nremedies : 0, n = 0;
	size_t most = (size_t)(WORD_COUNT + p->nchoices + nchecks + nremedies);
	const char **names = mem_array(most, sizeof *names);

	for (int i = 0; i < p->nchoices; i++)
		names[n++] = p->choices[i].id;
	for (int w = WORD_WHY; w < WORD_COUNT; w++)
		if (word_help((enum word)w, t->job))
			names[n++] = word_entry((enum word)w)->name;
	for (int i = 0; i < nchecks; i++)
		names[n++] = t->kn->checks[i].id;
	for (int i = 0; i < nremedies; i++)
		names[n++] = t->kn->remedies[i].id;
	*out = names;
	return n;
}

static void end_talk(struct talk *t, int status)
{
	t->over = true;
	t->status = status;
}

static void say_where_saved(struct talk *t)
{
	if (t->job)
		out_say(&t->out, 0, 0, "Saved as %s. `halfsplit resume` goes on from here.",
			job_id(t->job));
}

/* `?` fits a small screen; `help` tells every word as well. */
static void show_help(struct talk *t, const struct talk_prompt *p, bool words)
{
	out_blank(&t->out);
	if (p->help)
		p->help(t, p->about);
	if (p->allowed)
		out_say(&t->out, 0, 2, "Answer: %s.", p->allowed);
	if (p->by_default)
		out_say(&t->out, 0, 2, "Enter alone: %s.", p->by_default);
	explain_words(t, words);
}

static void take_note(struct talk *t, const char *text)
{
	if (!t->job)
		out_say(&t->out, 0, 2, "%s", NO_JOB);
	else if (talk_record(t, JOB_NOTED, text, NULL, NULL, NULL) == 0)
		out_say(&t->out, 0, 2, "Noted.");
}

/* `opened`, `closed`, `do`, `tell`, `what-if`: words whose argument can be wrong. */
static enum talk_reply word_with_argument(struct talk *t, enum word w, const char *argument,
					  const struct text *line)
{
	struct hs_err err = {0};
	enum talk_reply reply = TALK_MOVED;
	int result;

	if (!t->job) {
		err_set(&err, HS_BAD_INPUT, "%s", NO_JOB);
		result = -1;
	} else if (w == WORD_DO) {
		result = step_choose(t, argument, &err);
	} else if (w == WORD_ADJUST) {
		result = adjust_choose(t, argument, &err);
	} else if (w == WORD_TELL) {
		result = answer_tell(t, argument, &err, &reply);
	} else if (w == WORD_CHANGE) {
		result = change_answer(t, argument, &err, &reply);
	} else if (w == WORD_TIMER) {
		result = timer_start(t, argument, &err);
		reply = TALK_TEXT;
	} else if (w == WORD_RATES) {
		result = rates_tell(t, argument, &err);
		reply = TALK_MOVED;
	} else if (w == WORD_WHAT_IF) {
		result = answer_what_if(t, argument, &err);
		reply = TALK_TEXT;
	} else if (!argument) {
		opened_show(t, KN_NONE);
		result = 0;
		reply = TALK_TEXT;
	} else {
		result = access_told(t, argument, w == WORD_OPENED, &err);
	}
	if (t->over)
		return TALK_OVER;
	if (result == 0)
		return reply;
	return talk_refuse(t, line, "%s", err.text) ? TALK_TEXT : TALK_OVER;
}

static enum talk_reply leave(struct talk *t)
{
	say_where_saved(t);
	end_talk(t, TALK_DONE);
	return TALK_OVER;
}

/* Settles a word. TALK_TEXT: ask the same again. */
static enum talk_reply settle(struct talk *t, const struct talk_prompt *p, enum word w,
			      const char *argument, const struct text *line)
{
	bool with_job = t->job != NULL;

	switch (w) {
	case WORD_HELP: show_help(t, p, text_same_word(text_str(line), "help")); break;
	case WORD_NOTE: take_note(t, argument); break;
	case WORD_WHY: with_job ? explain_why(t) : show_help(t, p, false); break;
	case WORD_DO: case WORD_ADJUST: case WORD_TELL: case WORD_CHANGE: case WORD_TIMER: case WORD_RATES:
	case WORD_WHAT_IF: case WORD_OPENED: case WORD_CLOSED:
		return word_with_argument(t, w, argument, line);
	case WORD_BACK: return TALK_BACK;
	case WORD_DONT_KNOW: return TALK_DONT_KNOW;
	case WORD_CANNOT: return TALK_CANNOT;
	case WORD_STOP: return leave(t);
	default:
		if (!with_job) {
			out_say(&t->out, 0, 2, "%s", NO_JOB);
			break;
		}
		switch (w) {
		case WORD_RANK: explain_rank(t, 10); break;
		case WORD_PLAN: explain_plan(t); break;
		case WORD_ANSWERS: change_list(t); break;
		case WORD_SETTINGS: settings_show(t); break;
		case WORD_REPORT: explain_report(t); break;
		case WORD_REDO: talk_redo(t); return TALK_MOVED;
		case WORD_LEADS: return answer_leads(t) == TALK_OVER ? TALK_OVER : TALK_MOVED;
		case WORD_NOW: return ask_circumstances(t) == TALK_OVER ? TALK_OVER : TALK_MOVED;
		case WORD_TOOLS: return ask_tools(t) == TALK_OVER ? TALK_OVER : TALK_MOVED;
		case WORD_FINISH: return ask_finish(t) == TALK_OVER ? TALK_OVER : TALK_MOVED;
		default: break;
		}
	}
	return t->over ? TALK_OVER : TALK_TEXT;
}

/* The input has ended. A person pressed Ctrl-D, which is leaving; a script ran out. */
static enum talk_reply input_ended(struct talk *t)
{
	say_where_saved(t);
	if (input_is_person(t->in)) {
		end_talk(t, TALK_DONE);
		return TALK_OVER;
	}
	fflush(stdout);
	fprintf(stderr, "halfsplit: %s ended after line %ld with a question open: %s\n",
		input_name(t->in), input_line(t->in), text_str(&t->prompt));
	end_talk(t, TALK_NO_ANSWER);
	return TALK_OVER;
}

/* Reads until there is a line. */
static enum talk_reply read_line(struct talk *t, const struct talk_prompt *p, struct text *line)
{
	struct text prompt = {0};
	struct hs_err why = {0};
	const char **names;
	int n = completions(t, p, &names);
	enum input_got got;
	enum talk_reply reply = TALK_TEXT;

	make_prompt(t, p, &prompt);
	got = input_read(t->in, text_str(&prompt), text_str(&t->prefill), names, n, line, &why);
	text_clear(&t->prefill);
	switch (got) {
	case INPUT_LINE: break;
	case INPUT_END: reply = input_ended(t); break;
	case INPUT_DROPPED:
		out_say(&t->out, 0, 2, "Line dropped. Ctrl-C once more leaves; everything answered is "
			"saved.");
		reply = TALK_MOVED;
		break;
	case INPUT_LEAVE:
		say_where_saved(t);
		end_talk(t, TALK_INTERRUPTED);
		reply = TALK_OVER;
		break;
	case INPUT_BAD: reply = talk_refuse(t, line, "%s", why.text) ? TALK_MOVED : TALK_OVER; break;
	}
	mem_free(names);
	text_free(&prompt);
	return reply;
}

enum talk_reply talk_ask(struct talk *t, const struct talk_prompt *p, struct text *line)
{
	for (;;) {
		const char *argument;
		enum talk_reply reply = read_line(t, p, line);
		if (reply == TALK_MOVED)
			continue;
		if (reply == TALK_OVER)
			return reply;
		trim(line);
		plain_apostrophe(line);
		enum word w = word_of(text_str(line), &argument);
		if (w == WORD_GO || line->len == 0) {
			if (p->by_default)
				return TALK_DEFAULT;
			if (!talk_refuse(t, line, "Enter alone means nothing here."))
				return TALK_OVER;
			continue;
		}
		if (w == WORD_NONE)
			return TALK_TEXT;
		reply = settle(t, p, w, argument, line);
		if (reply != TALK_TEXT)
			return reply;
	}
}

bool talk_refuse(struct talk *t, const struct text *line, const char *format, ...)
{
	char *reason = NULL;
	va_list args;

	va_start(args, format);
	if (vasprintf(&reason, format, args) < 0)
		reason = NULL;
	va_end(args);
	if (input_is_person(t->in)) {
		out_say(&t->out, 0, 2, "%s", reason ? reason : "Not understood.");
		if (!t->refused_before && line->len)
			out_say(&t->out, 2, 2, "Your line is back to be mended; Ctrl-U empties it.");
		t->refused_before = t->refused_before || line->len;
		text_clear(&t->prefill);
		text_add(&t->prefill, text_str(line));
	} else {
		struct text safe = {0};
		text_clean(&safe, text_str(line));
		fflush(stdout);
		fprintf(stderr, "halfsplit: %s, line %ld, \"%s\" at the question \"%s\": %s",
			input_name(t->in), input_line(t->in), text_str(&safe), text_str(&t->prompt),
			reason ? reason : "not understood.");
		if (t->allowed.len > 0)
			fprintf(stderr, " Allowed: %s.", text_str(&t->allowed));
		fputc('\n', stderr);
		say_where_saved(t);
		text_free(&safe);
		end_talk(t, TALK_USAGE);
	}
	free(reason);
	return !t->over;
}

enum talk_reply talk_ask_yes(struct talk *t, const char *question, const char *by_default,
			     void (*help)(struct talk *t, const void *about), const void *about,
			     bool *yes)
{
	static const struct talk_choice choices[] = {{"yes", "yes"}, {"no", "no"}};
	struct talk_prompt p = {.question = question, .allowed = "yes or no",
				.by_default = by_default, .help = help, .about = about,
				.choices = choices, .nchoices = 2};
	struct text line = {0};
	enum talk_reply reply;

	do {
		reply = talk_ask(t, &p, &line);
		if (reply == TALK_DEFAULT) {
			*yes = text_same_word(by_default, "yes");
			reply = TALK_TEXT;
			break;
		}
		if (reply != TALK_TEXT)
			break;
		int i = text_same_word(text_str(&line), "y") ? 0
		      : text_same_word(text_str(&line), "n") ? 1
		      : choose_one(choices, 2, text_str(&line));
		*yes = i == 0;
		if (i != KN_NONE)
			break;
		if (!talk_refuse(t, &line, "Please yes or no."))
			reply = TALK_OVER;
	} while (reply != TALK_OVER);
	text_free(&line);
	return reply;
}
