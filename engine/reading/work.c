#include "reading/work.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "reading/adjust.h"
#include "reading/parse.h"
#include "reading/sums.h"

#define WORD 64
#define WORDS_MAX (2 * RD_FIGURES_MAX + 2)

struct words { int n; char word[WORDS_MAX][WORD]; };

static bool is_unit(const char *word)
{
	enum rd_unit u;

	return !isdigit((unsigned char)*word) && rd_unit_by_name(word, &u);
}

static bool all_digits(const char *s) { return *s && s[strspn(s, "0123456789")] == '\0'; }

/* Does this word belong to the one before? A unit standing alone does, and "3/8" behind "2". */
static bool goes_with(const char *before, const char *word)
{
	static const char *const leading[] = { "just", "just under", "just over", "about" };

	for (size_t i = 0; i < sizeof leading / sizeof *leading; i++)
		if (text_same_word(before, leading[i]))
			return true;
	if (strncasecmp(before, "just ", 5) == 0)
		before = strrchr(before, ' ') + 1;
	return is_unit(word) || (all_digits(before) && isdigit((unsigned char)*word) && strchr(word, '/'));
}

/* Words between blanks. */
static int split(const char *line, struct words *w, struct hs_err *err)
{
	for (w->n = 0;;) {
		size_t n;
		char *last = w->n > 1 ? w->word[w->n - 1] : NULL, *word = w->word[w->n];

		line += strspn(line, " \t");
		n = strcspn(line, " \t");
		if (!n)
			return 0;
		if (w->n == WORDS_MAX - 1 || n >= WORD)
			return err_set(err, HS_BAD_INPUT, "That line is too long.");
		memcpy(word, line, n);
		word[n] = '\0';
		line += n;
		if (last && strlen(last) + n + 2 < WORD && goes_with(last, word))
			strcat(strcat(last, " "), word);
		else
			w->n++;
	}
}

/* "100+-1", "100+/-1" or with the sign itself: cuts the word there. NULL when there is none. */
static char *cut_uncertainty(char *word)
{
	static const char *const marks[] = { "+/-", "+-", "\xc2\xb1" };

	for (size_t i = 0; i < sizeof marks / sizeof *marks; i++) {
		char *at = strstr(word, marks[i]);

		if (at) {
			*at = '\0';
			return at + strlen(marks[i]);
		}
	}
	return NULL;
}

static int one_number(enum rd_unit unit, const char *word, double *out, struct hs_err *err)
{
	struct rd_setup s;
	struct rd_typed typed;
	bool minus = *word == '-' && strchr(word, '/'); /* "-1/8": turned in */

	word += minus;
	rd_setup_init(&s);
	s.unit = unit;
	if (rd_parse(&s, word, &typed, err) < 0)
		return -1;
	if (typed.n != 1)
		return err_set(err, HS_BAD_INPUT, "\"%s\" is more than one figure.", word);
	*out = minus ? -typed.item[0].value : typed.item[0].value;
	return 0;
}

static int figure(enum rd_unit unit, char *word, struct rd_amount *out, struct hs_err *err)
{
	char *u = cut_uncertainty(word);

	out->u = 0;
	if (one_number(unit, word, &out->value, err) < 0 || (u && one_number(unit, u, &out->u, err) < 0))
		return -1;
	if (!(out->u >= 0) || isinf(out->u))
		return err_set(err, HS_BAD_INPUT, "\"%s\" is no uncertainty.", u);
	return 0;
}

static enum rd_unit unit_of(const struct rd_sum *s, int i)
{
	int k = i < RD_SUM_UNITS ? i : RD_SUM_UNITS - 1;

	while (k > 0 && s->unit[k] == RD_NO_UNIT)
		k--;
	return s->unit[k];
}

static void say_number(struct text *t, struct rd_amount a, enum rd_unit unit)
{
	const char *name = rd_unit_name(unit);

	if (isinf(a.value)) {
		text_add(t, "open");
		return;
	}
	if (unit == RD_PERCENT) /* sums give percent, the unit's own factor is a hundredth */
		text_addf(t, "%.*f %%", a.u > 0 && a.u < .1 ? 2 : 1, a.value);
	else if (a.u > 0)
		rd_format(t, RD_NUMBER, a.value, a.u / 2, unit);
	else
		text_addf(t, "%.4g%s%s", a.value, *name ? " " : "", name);
	if (a.u > 0)
		text_addf(t, ", u %.2g", a.u);
}

static int do_sum(const struct rd_sum *s, struct words *w, struct text *out, struct hs_err *err)
{
	struct rd_amount x[RD_FIGURES_MAX] = { { 0, 0 } };
	double value[RD_FIGURES_MAX];
	int n = w->n - 1;

	if (n < s->least || n > s->most)
		return err_set(err, HS_BAD_INPUT, "Type it like: %s %s (%s).", s->name, s->takes, s->meaning);
	for (int i = 0; i < n; i++) {
		if (figure(unit_of(s, i), w->word[i + 1], &x[i], err) < 0)
			return -1;
		value[i] = x[i].value;
	}
	if (s->sense && s->sense(value, n) == 0)
		return err_set(err, HS_BAD_INPUT, "These figures cannot be: %s %s (%s).", s->name, s->takes,
			       s->meaning);
	if (s->say && !(s->number && n == s->least)) {
		s->say(out, value, n);
		return 0;
	}
	x[0] = rd_propagate(s->number, x, n, NULL);
	if (isnan(x[0].value))
		return err_set(err, HS_BAD_INPUT, "That has no result.");
	say_number(out, x[0], s->out);
	return 0;
}

/* convert 150 psi kPa */
static int convert(struct words *w, struct text *out, struct hs_err *err)
{
	enum rd_unit from, to;
	char *blank = w->n == 2 ? strrchr(w->word[1], ' ') : NULL, *unit;
	double value;

	if (!blank || !rd_unit_by_name(blank + 1, &to))
		return err_set(err, HS_BAD_INPUT, "Type it like: convert 150 psi kPa.");
	*blank = '\0';
	unit = strrchr(w->word[1], ' ');
	unit = unit ? unit + 1 : w->word[1] + strspn(w->word[1], "0123456789.,-+");
	if (!rd_unit_by_name(unit, &from) || !rd_unit_convertible(from, to))
		return err_set(err, HS_BAD_INPUT, "\"%s\" does not convert to %s.", w->word[1], rd_unit_name(to));
	if (one_number(to, w->word[1], &value, err) < 0)
		return -1;
	text_addf(out, "%.7g %s", value, rd_unit_name(to));
	return 0;
}

/* adjust 650 750 940 840 +1/4 830 730 tight: the loop of reading/adjust.h in one line. */
static int adjust(struct words *w, struct text *out, struct hs_err *err)
{
	struct rd_aim aim = { .target = NAN, .unit = RD_NO_UNIT };
	struct rd_adjusted step[RD_ADJUST_MAX];
	struct rd_adjust a;
	int n = 0;

	if (w->n < 4)
		return err_set(err, HS_BAD_INPUT, "Type it like: adjust LOW HIGH READING [+MOVE] READING [tight] ...");
	if (one_number(aim.unit, w->word[1], &aim.low, err) < 0 || one_number(aim.unit, w->word[2], &aim.high, err) < 0)
		return -1;
	rd_adjust_measure(&aim);
	for (int i = 3; i < w->n; n++) {
		struct text typed = { 0 }, reading = { 0 };
		int result;

		text_add(&typed, w->word[i++]);
		if (i < w->n && (strchr("+-", *w->word[i]) || strncasecmp(w->word[i], "tight", 5) == 0))
			text_addf(&typed, " %s", w->word[i++]);
		result = n == RD_ADJUST_MAX ? err_set(err, HS_BAD_INPUT, "That line is too long.")
					    : rd_adjust_split(text_str(&typed), &reading, &step[n], err);
		if (result == 0)
			result = one_number(aim.unit, text_str(&reading), &step[n].value, err);
		text_free(&typed);
		text_free(&reading);
		if (result < 0)
			return -1;
	}
	step[0].moved = 0;
	if (rd_adjust(&aim, step, n, &a, err) < 0)
		return -1;
	rd_adjust_say(out, &aim, &step[n - 1], &a);
	return 0;
}

int rd_work(const char *line, struct text *out, struct hs_err *err)
{
	struct words w;
	const struct rd_sum *s;

	if (split(line, &w, err) < 0)
		return -1;
	if (w.n == 0)
		return err_set(err, HS_BAD_INPUT, "Nothing was typed.");
	if (text_same_word(w.word[0], "convert"))
		return convert(&w, out, err);
	if (text_same_word(w.word[0], "adjust"))
		return adjust(&w, out, err);
	s = rd_sum_by_name(w.word[0]);
	if (s)
		return do_sum(s, &w, out, err);
	return err_set(err, HS_BAD_INPUT, "There is no sum \"%s\".", w.word[0]);
}

bool rd_work_usage(int i, const char **name, const char **takes, const char **meaning)
{
	const struct rd_sum *s = rd_sum_at(i);

	if (!s)
		return false;
	*name = s->name;
	*takes = s->takes;
	*meaning = s->meaning;
	return true;
}
