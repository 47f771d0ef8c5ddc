/* Prompts that several askers share: several of a list, and one place. */
#include <string.h>

#include "base/mem.h"
#include "talk/inner.h"

/* The rest of the line behind "all but " or "all except ", or NULL. */
static const char *all_but(const char *typed)
{
	static const char *const begins[] = {"all but ", "all except "};

	for (int i = 0; i < 2; i++)
		if (strncasecmp(typed, begins[i], strlen(begins[i])) == 0)
			return typed + strlen(begins[i]);
	return NULL;
}

static void pick_all(bool *picked, int n, bool value)
{
	for (int i = 0; i < n; i++)
		picked[i] = value;
}

/* 0, or -1 with the odd piece. */
static int pick(const struct talk_prompt *p, bool all, bool none, const char *typed, bool *picked,
		struct text *odd)
{
	const char *rest = all ? all_but(typed) : NULL;

	if (all && text_same_word(typed, "all")) {
		pick_all(picked, p->nchoices, true);
		return 0;
	}
	if (none && (text_same_word(typed, "none") || text_same_word(typed, "no"))) {
		pick_all(picked, p->nchoices, false);
		return 0;
	}
	if (choose_several(p->choices, p->nchoices, rest ? rest : typed, picked, odd) < 0)
		return -1;
	for (int i = 0; rest && i < p->nchoices; i++)
		picked[i] = !picked[i];
	return 0;
}

/* How many of the words typed, three letters and more, stand in the title. */
static int words_shared(const char *typed, const char *title)
{
	char *copy = mem_strdup(typed), *rest = copy, *word;
	int n = 0;

	while ((word = strtok_r(rest, " ,;", &rest)))
		n += strlen(word) >= 3 && strcasestr(title, word);
	mem_free(copy);
	return n;
}

/* "wont idle": the entries that share most words with it, when those are few. */
static void suggest(struct text *out, const struct talk_prompt *p, const char *typed)
{
	int most = 1, n = 0;

	for (int i = 0; i < p->nchoices; i++)
		most = words_shared(typed, p->choices[i].title) > most
			       ? words_shared(typed, p->choices[i].title) : most;
	for (int i = 0; i < p->nchoices; i++)
		n += words_shared(typed, p->choices[i].title) == most;
	for (int i = 0; n > 0 && n <= 4 && i < p->nchoices; i++)
		if (words_shared(typed, p->choices[i].title) == most)
			text_addf(out, "%s %d (%s)", out->len ? "," : " Perhaps", i + 1,
				  p->choices[i].title);
	if (out->len)
		text_addc(out, '?');
}

/* Says what of it was not understood and what may have been meant. False: a script has ended. */
static bool refuse(struct talk *t, const struct talk_prompt *p, const struct text *line,
		   const struct text *odd)
{
	const char *near = choose_near(p->choices, p->nchoices, text_str(odd));
	struct text perhaps = {0};
	bool again;

	if (near)
		text_addf(&perhaps, " Did you mean %s?", near);
	else
		suggest(&perhaps, p, text_str(line));
	again = talk_refuse(t, line, "\"%s\" is not in the list, or could be several of it.%s",
			    text_str(odd), text_str(&perhaps));
	text_free(&perhaps);
	return again;
}

enum talk_reply talk_ask_several(struct talk *t, const struct talk_prompt *p, bool all, bool none,
				 bool *picked)
{
	bool *trial = mem_array((size_t)p->nchoices + 1, sizeof *trial);
	struct text line = {0}, odd = {0};
	enum talk_reply reply;

	for (;;) {
		reply = talk_ask(t, p, &line);
		if (reply != TALK_TEXT)
			break;
		if (pick(p, all, none, text_str(&line), trial, &odd) == 0) {
			memcpy(picked, trial, (size_t)p->nchoices * sizeof *picked);
			break;
		}
		if (!refuse(t, p, &line, &odd)) {
			reply = TALK_OVER;
			break;
		}
	}
	mem_free(trial);
	text_free(&line);
	text_free(&odd);
	return reply;
}

static void allowed_places(struct text *out, const struct kn_kind *kind, bool all)
{
	for (int i = 0; i < kind->nplaces; i++)
		text_addf(out, "%s%s", i ? " " : "", kind->places[i].id);
	if (all)
		text_add(out, ", or all");
}

enum talk_reply talk_ask_place(struct talk *t, int kind_index, const char *question, bool all,
			       int *place)
{
	const struct kn_kind *kind = &t->kn->kinds[kind_index];
	struct text line = {0}, allowed = {0};
	struct talk_prompt p = {.question = question};
	enum talk_reply reply;

	allowed_places(&allowed, kind, all);
	p.allowed = text_str(&allowed);
	do {
		reply = talk_ask(t, &p, &line);
		if (reply != TALK_TEXT)
			break;
		*place = kn_place_by_id(kind, text_str(&line));
		if (*place != KN_NONE || (all && text_same_word(text_str(&line), "all")))
			break;
		if (!talk_refuse(t, &line, "There is no %s \"%s\".", kind->title, text_str(&line)))
			reply = TALK_OVER;
	} while (reply != TALK_OVER);
	text_free(&line);
	text_free(&allowed);
	return reply;
}
