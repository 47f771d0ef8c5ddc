#include <math.h>
#include <string.h>
#include <time.h>

#include "report/words.h"

const char *words_place(const struct kn_knowledge *kn, int kind, int place)
{
	const struct kn_kind *k;

	if (kind == KN_NONE || place == KN_NONE)
		return "";
	k = &kn->kinds[kind];
	return place < k->nplaces ? k->places[place].id : "";
}

void words_which(struct text *t, const struct kn_knowledge *kn, const struct su_line *l)
{
	const struct kn_fault *a = &kn->faults[l->best_fault], *b, *swap;
	const struct kn_kind *k = &kn->kinds[kn->parts[a->part].kind];

	if (l->second_fault == KN_NONE) {
		text_addf(t, "which %s: not known yet", k->title);
		return;
	}
	b = &kn->faults[l->second_fault];
	if (a->all || (!b->all && b->place < a->place)) {
		swap = a;
		a = b;
		b = swap;
	}
	text_addf(t, "%s %s or %s", k->title, k->places[a->place].id, b->all ? "all of them" : k->places[b->place].id);
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
	if (l->undecided) {
		text_add(t, " (");
		words_which(t, kn, l);
		text_add(t, ")");
	} else if (l->all)
		text_add(t, " (all of them)");
	else
		text_addf(t, " (%s %s)", kn->kinds[p->kind].title, words_place(kn, p->kind, l->place));
}

#define SHARE_COLUMNS 7

void words_not_examined(struct text *out, double left_out)
{
	if (left_out > 0 && left_out < 1e-4)
		text_add(out, "Not examined: less than 0.01 %.");
	else
		text_addf(out, "Not examined: at most %.2g %%.", 100 * left_out);
}

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

void words_at(struct text *t, const struct kn_knowledge *kn, int kind, int place)
{
	if (kind != KN_NONE && place != KN_NONE)
		text_addf(t, ", %s %s", kn->kinds[kind].title, words_place(kn, kind, place));
}

void words_day(struct text *t, long long when)
{
	time_t at = (time_t)when;
	struct tm utc;
	char words[40];

	gmtime_r(&at, &utc);
	strftime(words, sizeof words, "%Y-%m-%d %H:%M UTC", &utc);
	text_add(t, words);
}

/* ---- what was said and read ------------------------------------------------------------ */

void words_told(struct text *t, const struct job_view *v)
{
	const struct kn_knowledge *kn = v->kn;
	size_t start = t->len;

	for (int i = 0; i < kn->nhistories; i++)
		if (v->the_case.histories >> i & 1)
			text_addf(t, "%s%s", t->len > start ? "; " : "Told: ", kn->histories[i].title);
	for (int i = 0; i < kn->ncircumstances; i++)
		if (v->circumstances_known >> i & 1)
			text_addf(t, "%s%s: %s", t->len > start ? "; " : "Told: ", kn->circumstances[i].title,
				  v->circumstances >> i & 1 ? "yes" : "no");
	if (isfinite(v->air_degC))
		text_addf(t, "%sair %g degC", t->len > start ? "; " : "Told: ", v->air_degC);
	if (isfinite(v->altitude_m))
		text_addf(t, "%s%g m above the sea", t->len > start ? "; " : "Told: ", v->altitude_m);
	for (int i = 0; i < kn->nvalues; i++)
		if (kn->values[i].manual) {
			const struct kn_value *m = &kn->values[i];
			struct rd_figure f = { .nominal = m->nominal, .low = m->low, .high = m->high,
					       .at_degC = m->at_degC };

			text_addf(t, "%s%s by the owner's manual ", t->len > start ? "; " : "Told: ",
				  m->title);
			rd_figure_format(t, &f, m->unit);
		}
	if (t->len > start)
		text_add(t, ".");
}

void words_value(struct text *t, enum rd_kind kind, double raw, double value, double u,
		 enum rd_verdict verdict, double p_inside, enum rd_unit unit)
{
	rd_format(t, kind, raw, 0, unit);
	if (kind == RD_NUMBER && fabs(value - raw) > 1e-9 * fabs(raw)) {
		text_add(t, " as shown, ");
		rd_format(t, kind, value, u, unit);
		text_add(t, " corrected");
	}
	if (kind == RD_NUMBER && u > 0) {
		text_add(t, " (u ");
		text_addf(t, "%.2g", u);
		text_add(t, ")");
	}
	if (verdict != RD_NO_BAND)
		text_addf(t, ": %s", rd_verdict_words(verdict));
	if (verdict == RD_TOO_CLOSE)
		text_addf(t, " (%.0f %% inside)", 100 * p_inside);
}

void words_limit(struct text *t, const struct kn_reading *r, bool listed)
{
	if (isinf(r->low) && isinf(r->high))
		return;
	text_add(t, "; limit ");
	if (isinf(r->low))
		text_addf(t, "at most %g", r->high);
	else if (isinf(r->high))
		text_addf(t, "at least %g", r->low);
	else
		text_addf(t, "%g to %g", r->low, r->high);
	if (*rd_unit_name(words_unit(r, listed)))
		text_addf(t, " %s", rd_unit_name(words_unit(r, listed)));
}

/* Opened and closed, left out, closed: what is neither an answer nor a repair. */
void words_event(struct text *t, const struct kn_knowledge *kn, const struct job_event *e)
{
	int i;

	if (e->kind == JOB_ACCESS) {
		i = kn_access_by_id(kn, e->field[0]);
		text_addf(t, "%s: %s.", strcmp(e->field[1], "open") == 0 ? "Opened" : "Closed again",
			  i == KN_NONE ? e->field[0] : kn->accesses[i].title);
	} else if (e->kind == JOB_SKIPPED) {
		i = kn_check_by_id(kn, e->field[0]);
		text_addf(t, "%s: left out (%s).", i == KN_NONE ? e->field[0] : kn->checks[i].title,
			  strcmp(e->field[2], "cannot") == 0 ? "could not be done"
			  : strcmp(e->field[2], "could-not-read") == 0 ? "could not be read" : "not known");
	} else if (e->kind == JOB_DECLINED) {
		i = kn_remedy_by_id(kn, e->field[0]);
		text_addf(t, "%s: cannot be done here.", i == KN_NONE ? e->field[0] : kn->remedies[i].title);
	} else if (e->kind == JOB_CLOSED) {
		text_addf(t, "CLOSED: %s%s%s", e->field[0], *e->field[1] ? ": " : "", e->field[1]);
	}
}

bool words_answered_after(const struct job_view *v, int check, int event)
{
	for (int i = 0; i < v->nfindings; i++)
		if (v->findings[i].check == check && v->findings[i].event > event)
			return true;
	return false;
}

int words_add_cautions(const struct kn_caution *list, int nlist, const struct kn_caution **out, int n,
		       int most)
{
	for (int i = 0; i < nlist && n < most; i++) {
		bool said = false;

		for (int k = 0; k < n; k++)
			said = said || strcmp(out[k]->text, list[i].text) == 0;
		if (!said)
			out[n++] = &list[i];
	}
	return n;
}

int words_add_path(const struct kn_knowledge *kn, int access, const struct kn_caution **out, int n, int most)
{
	for (int a = access; a != KN_NONE; a = kn->accesses[a].parent)
		n = words_add_cautions(kn->accesses[a].cautions, kn->accesses[a].ncautions, out, n, most);
	return n;
}

void words_sort_cautions(const struct kn_caution **out, int n)
{
	for (int i = 1; i < n; i++)
		for (int k = i; k > 0 && out[k]->signal > out[k - 1]->signal; k--) {
			const struct kn_caution *kept = out[k];

			out[k] = out[k - 1];
			out[k - 1] = kept;
		}
}

int words_cautions(const struct job_view *v, const struct kn_caution **out, int most)
{
	int n = 0;

	for (int r = 0; r < v->kn->nremedies; r++)
		if (v->remedy_done[r]) {
			const struct kn_remedy *m = &v->kn->remedies[r];

			n = words_add_cautions(m->cautions, m->ncautions, out, n, most);
			n = words_add_path(v->kn, m->access, out, n, most);
		}
	words_sort_cautions(out, n);
	return n;
}
