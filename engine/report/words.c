#include "report/words.h"

const char *words_place(const struct kn_knowledge *kn, int kind, int place)
{
	return kind == KN_NONE || place == KN_NONE ? "" : kn->kinds[kind].places[place].id;
}

void words_line(struct text *t, const struct kn_knowledge *kn, const struct su_line *l)
{
	const struct kn_mode *m;
	const struct kn_part *p;

	if (l->mode == KN_NONE) {
		text_add(t, "something not on this list");
		return;
	}
	m = &kn->modes[l->mode];
	p = &kn->parts[m->part];
	text_addf(t, "%s: %s", p->title, m->title);
	if (p->kind == KN_NONE || l->nfaults < 2)
		return;
	if (l->undecided)
		text_addf(t, " (which %s: not known yet)", kn->kinds[p->kind].title);
	else if (l->all)
		text_add(t, " (all of them)");
	else
		text_addf(t, " (%s %s)", kn->kinds[p->kind].title, words_place(kn, p->kind, l->place));
}

#define SHARE_COLUMNS 7

void words_share(struct text *out, double p, const char *title)
{
	struct text lines = { 0 };

	text_wrap(&lines, title, 80, SHARE_COLUMNS, SHARE_COLUMNS);
	text_addf(out, "%3.0f %%  %s", 100 * p, text_str(&lines) + SHARE_COLUMNS);
	text_free(&lines);
}

enum rd_unit words_unit(const struct kn_reading *r, bool listed)
{
	enum rd_derive ratio = listed ? RD_EACH_OVER_HIGHEST : RD_LEAST_OVER_MOST;

	return r->derive == ratio ? RD_NO_UNIT : r->unit;
}

const char *words_step_id(const struct kn_knowledge *kn, const struct pl_step *s)
{
	return s->kind == PL_CHECK	? kn->checks[s->index].id
	       : s->kind == PL_REMEDY ? kn->remedies[s->index].id
				      : "hand-over";
}

const char *words_step_title(const struct kn_knowledge *kn, const struct pl_step *s)
{
	return s->kind == PL_CHECK	? kn->checks[s->index].title
	       : s->kind == PL_REMEDY ? kn->remedies[s->index].title
				      : "Hand it over";
}
