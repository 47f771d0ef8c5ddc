/* Numbered choices: shown one a line, meant by number, id, title or an unambiguous beginning.
 * What is not understood stays not understood: no choice is ever a fallback. */
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "talk/inner.h"

void choose_list(struct talk *t, const struct talk_choice *c, int n)
{
	char number[16];

	for (int i = 0; i < n; i++) {
		snprintf(number, sizeof number, "%2d", i + 1);
		out_item(&t->out, 6, number, "%s", c[i].title);
	}
}

static int by_number(int n, const char *typed)
{
	char *end;
	long number;

	if (!isdigit((unsigned char)*typed))
		return KN_NONE;
	number = strtol(typed, &end, 10);
	return *end == '\0' && number >= 1 && number <= n ? (int)number - 1 : KN_NONE;
}

static bool begins(const struct talk_choice *c, const char *typed)
{
	return text_starts_word(c->id, typed) || text_starts_word(c->title, typed);
}

int choose_one(const struct talk_choice *c, int n, const char *typed)
{
	int found = by_number(n, typed);

	for (int i = 0; found == KN_NONE && i < n; i++)
		if (text_same_word(c[i].id, typed) || text_same_word(c[i].title, typed))
			found = i;
	if (found != KN_NONE || strlen(typed) < 2 || isdigit((unsigned char)*typed))
		return found;
	for (int i = 0; i < n; i++) {
		if (!begins(&c[i], typed))
			continue;
		if (found != KN_NONE)
			return KN_NONE;
		found = i;
	}
	return found;
}

const char *choose_near(const struct talk_choice *c, int n, const char *typed)
{
	const char **names = mem_array((size_t)n * 2 + 1, sizeof *names);
	const char *near;

	for (int i = 0; i < n; i++) {
		names[2 * i] = c[i].id;
		names[2 * i + 1] = c[i].title;
	}
	near = text_near(typed, names, 2 * n);
	mem_free(names);
	return near;
}

/* Tries the pieces between `separators`; all must be understood. */
static bool all_pieces(const struct talk_choice *c, int n, const char *typed, const char *separators,
		       bool *picked, struct text *odd)
{
	char *copy = mem_strdup(typed), *rest = copy, *piece;
	bool good = true;

	while (good && (piece = strtok_r(rest, separators, &rest))) {
		while (isspace((unsigned char)*piece))
			piece++;
		for (size_t len = strlen(piece); len > 0 && isspace((unsigned char)piece[len - 1]);)
			piece[--len] = '\0';
		if (*piece == '\0' || text_same_word(piece, "and"))
			continue;
		int i = choose_one(c, n, piece);
		if (i == KN_NONE) {
			text_clear(odd);
			text_add(odd, piece);
			good = false;
		} else {
			picked[i] = true;
		}
	}
	mem_free(copy);
	return good;
}

int choose_several(const struct talk_choice *c, int n, const char *typed, bool *picked,
		   struct text *odd)
{
	static const char *const separators[] = {"", ",;+", ",;+ \t"};
	bool any = false;

	for (int s = 0; s < 3 && !any; s++) {
		memset(picked, 0, (size_t)n * sizeof *picked);
		any = all_pieces(c, n, typed, separators[s], picked, odd);
	}
	return any ? 0 : -1;
}
