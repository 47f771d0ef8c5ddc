/* One setting: its places, its name, what was typed for each place, what a check has read of it. */
#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "talk/setting.h"

int settings_places(const struct kn_knowledge *kn, int setting)
{
	int per = kn->settings[setting].per;

	return per == KN_NONE ? 0 : kn->kinds[per].nplaces;
}

int settings_record(struct talk *t, int setting, int place, const char *when, const char *text)
{
	const struct kn_setting *s = &t->kn->settings[setting];

	return talk_record(t, JOB_SETTING, s->id, place_id(t->kn, s->per, place), when, text);
}

void settings_name(struct text *out, const struct talk *t, int setting, int place)
{
	const struct kn_setting *s = &t->kn->settings[setting];

	text_add(out, s->title);
	if (s->per != KN_NONE && place != KN_NONE)
		text_addf(out, ", %s %s", t->kn->kinds[s->per].title, place_id(t->kn, s->per, place));
}

/* ---- what a check has read already ----------------------------------------------------------- */

/* The reading of this finding at the place, as text; false when it has none. */
static bool read_at(const struct job_finding *f, int place, char out[SETTING_LONGEST])
{
	const struct rd_result *r = &f->understood.reading;
	bool listed = place != KN_NONE && f->place == KN_NONE && r->nplaces > 0;

	if (!f->understood.number || (listed ? place >= r->nplaces || !r->at[place].given ||
				      r->at[place].kind != RD_NUMBER
					     : r->nplaces > 0 || r->kind != RD_NUMBER || f->place != place))
		return false;
	snprintf(out, SETTING_LONGEST, "%.4g", listed ? r->at[place].value : r->value);
	return true;
}

bool settings_measured(const struct job_view *v, int setting, int place, int after, char out[SETTING_LONGEST])
{
	int value = v->kn->settings[setting].value;

	for (int i = v->nfindings - 1; value != KN_NONE && i >= 0; i--) {
		const struct job_finding *f = &v->findings[i];
		const struct kn_check *c = &v->kn->checks[f->check];

		if (f->event > after && c->reading && c->reading->value == value &&
		    c->reading->unit == v->kn->values[value].unit && read_at(f, place, out))
			return true;
	}
	return false;
}

/* ---- one line with a figure for each place ------------------------------------------------------ */

static bool fraction(const char *word) { return isdigit((unsigned char)*word) && strchr(word, '/'); }

static bool add_piece(struct pieces *p, const char *word, size_t n)
{
	char *last = p->n ? p->piece[p->n - 1] : NULL;

	while (n > 0 && isspace((unsigned char)word[n - 1]))
		n--;
	if (n == 0)
		return true;
	if (last && fraction(word) && !strchr(last, '/') && strlen(last) + n + 2 < SETTING_LONGEST) {
		strcat(last, " ");               /* "2 1/4" is one figure */
		strncat(last, word, n);
		return true;
	}
	if (p->n == RD_PLACES_MAX || n >= SETTING_LONGEST)
		return false;
	memcpy(p->piece[p->n], word, n);
	p->piece[p->n++][n] = '\0';
	return true;
}

bool settings_cut(const char *typed, struct pieces *p)
{
	const char *breaks = strchr(typed, ';') ? ";" : strstr(typed, ", ") ? "," : " ";

	for (p->n = 0; *typed;) {
		size_t n = strcspn(typed, breaks);

		while (*breaks == ',' && typed[n] == ',' && typed[n + 1] != ' ')
			n += 1 + strcspn(typed + n + 1, breaks); /* a decimal comma */
		if (!add_piece(p, typed, n))
			return false;
		typed += n;
		typed += strspn(typed, " ,;");
	}
	return true;
}

bool settings_sort(struct pieces *p, const struct kn_kind *kind)
{
	struct pieces sorted = {.n = p->n};
	uint32_t given = 0;

	for (int i = 0; i < p->n; i++) {
		char *colon = strchr(p->piece[i], ':');
		int place;

		if (!colon)
			return given == 0;       /* none has a name: they stand in order */
		*colon = '\0';
		place = kn_place_by_id(kind, p->piece[i]);
		if (place == KN_NONE || place >= p->n || (given >> place & 1))
			return false;
		given |= 1u << place;
		colon += 1 + strspn(colon + 1, " ");
		memcpy(sorted.piece[place], colon, strlen(colon) + 1);
	}
	*p = sorted;
	return true;
}
