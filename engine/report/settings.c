/* Settings side by side: as found before the work, as left after it, and what it must come to. */
#include <math.h>
#include <string.h>

#include "report/report.h"
#include "report/words.h"

#define TITLE_COLUMNS 32
#define VALUE_COLUMNS 14

static const struct kn_value *value_of(const struct job_view *v, const struct job_setting *s)
{
	int value = v->kn->settings[s->setting].value;

	return value == KN_NONE ? NULL : &v->kn->values[value];
}

void words_setting_limit(struct text *t, const struct job_view *v, const struct job_setting *s)
{
	const struct kn_value *m = value_of(v, s);

	if (!m || (isinf(m->low) && isinf(m->high)))
		return;
	if (isinf(m->low))
		text_addf(t, "at most %g", m->high);
	else if (isinf(m->high))
		text_addf(t, "at least %g", m->low);
	else
		text_addf(t, "%g to %g", m->low, m->high);
	if (*rd_unit_name(m->unit))
		text_addf(t, " %s", rd_unit_name(m->unit));
}

/* Words and several figures are not judged: they stand as they were typed. */
enum rd_verdict words_setting_verdict(const struct job_view *v, const struct job_setting *s,
				      const char *typed)
{
	const struct kn_value *m = value_of(v, s);
	struct rd_setup setup;
	struct rd_result r;
	struct hs_err err = { 0 };

	if (!m || !*typed)
		return RD_NO_BAND;
	rd_setup_init(&setup);
	setup.unit = m->unit;
	if (rd_read(&setup, typed, &r, &err) != RD_OK || r.kind != RD_NUMBER)
		return RD_NO_BAND;
	return r.raw >= m->low && r.raw <= m->high ? RD_INSIDE : RD_OUTSIDE;
}

const char *words_setting(const char *text, bool asked, const char *never)
{
	return *text ? text : asked ? "not noted" : never;
}

static void pad(struct text *t, int columns, const char *s)
{
	int n = columns - text_width(s);

	text_add(t, s);
	for (; n > 0; n--)
		text_addc(t, ' ');
}

static void row(struct text *out, const char *const cell[4], const char *judged)
{
	bool fits = text_width(cell[0]) < TITLE_COLUMNS && text_width(cell[1]) < VALUE_COLUMNS &&
		    text_width(cell[2]) < VALUE_COLUMNS;
	struct text t = { 0 }, safe = { 0 };

	if (fits) {
		pad(&t, TITLE_COLUMNS, cell[0]);
		pad(&t, VALUE_COLUMNS, cell[1]);
		pad(&t, VALUE_COLUMNS, cell[2]);
		text_addf(&t, "%s%s", cell[3], judged);
		text_clean(&safe, text_str(&t));
		while (safe.len > 0 && safe.s[safe.len - 1] == ' ')
			safe.s[--safe.len] = '\0';
		text_addf(out, "%s\n", text_str(&safe));
	} else {
		text_addf(&t, "%s: as found: %s; as left: %s%s%s%s", cell[0], cell[1], cell[2],
			  *cell[3] ? "; limit " : "", cell[3], judged);
		text_clean(&safe, text_str(&t));
		text_wrap(out, text_str(&safe), 80, 0, 4);
	}
	text_free(&t);
	text_free(&safe);
}

void report_settings(const struct job_view *v, struct text *out)
{
	static const char *const heads[4] = { "Setting", "As found", "As left", "Limit" };

	if (v->nsettings)
		row(out, heads, "");
	for (int i = 0; i < v->nsettings; i++) {
		const struct job_setting *s = &v->settings[i];
		const struct kn_setting *k = &v->kn->settings[s->setting];
		struct text title = { 0 }, limit = { 0 };
		const char *cell[4] = { NULL, words_setting(s->found, s->found_asked, "-"),
					words_setting(s->left, s->left_asked,
						      s->found[0] ? "NOT YET" : "-"), NULL };

		text_add(&title, k->title);
		words_at(&title, v->kn, k->per, s->place);
		words_setting_limit(&limit, v, s);
		cell[0] = text_str(&title);
		cell[3] = text_str(&limit);
		row(out, cell, words_setting_verdict(v, s, s->left) == RD_OUTSIDE ? "  OUTSIDE" : "");
		text_free(&title);
		text_free(&limit);
	}
}
