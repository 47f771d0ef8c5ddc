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
		const char *near = choose_near(p->choices, p->nchoices, text_str(&odd));
		if (!talk_refuse(t, &line, "\"%s\" is not in the list, or could be several of it.%s%s%s",
				 text_str(&odd), near ? " Did you mean " : "", near ? near : "",
				 near ? "?" : "")) {
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
