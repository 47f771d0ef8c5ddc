/* Figures of manuals: two numbers and what stands between them. */
#include "reading/figure.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "reading/parse.h"

#define PIECE 96

struct half { char text[PIECE]; double value; bool unit_given; char unit[24]; };

static int one_number(enum rd_unit unit, const char *text, struct half *out, struct hs_err *err)
{
	struct rd_setup setup;
	struct rd_typed typed;

	rd_setup_init(&setup);
	setup.unit = unit;
	if (rd_parse(&setup, text, &typed, err) < 0)
		return -1;
	if (typed.n != 1 || typed.item[0].kind != RD_NUMBER || typed.item[0].place >= 0 ||
	    typed.item[0].difference || typed.item[0].loose > 0)
		return err_set(err, HS_BAD_INPUT, "\"%s\" is not one plain number.", text);
	out->value = typed.item[0].value;
	out->unit_given = typed.item[0].unit_given;
	return 0;
}

static void trimmed(char out[PIECE], const char *from, size_t n)
{
	while (n > 0 && isspace((unsigned char)*from)) {
		from++;
		n--;
	}
	while (n > 0 && isspace((unsigned char)from[n - 1]))
		n--;
	snprintf(out, PIECE, "%.*s", (int)(n < PIECE - 1 ? n : PIECE - 1), from);
}

/* The letters at the end of "3.1 kohm". */
static const char *unit_of(const char *text)
{
	size_t n = strspn(text, "+-0123456789., ");

	return text + n;
}

/* Both, where a unit typed for one counts for the other. */
static int two_numbers(enum rd_unit unit, const char *a, const char *b, double *x, double *y,
		       struct hs_err *err)
{
	struct half first, second;
	char lent[2 * PIECE];

	if (one_number(unit, a, &first, err) < 0 || one_number(unit, b, &second, err) < 0)
		return -1;
	if (second.unit_given && !first.unit_given) {
		snprintf(lent, sizeof lent, "%s %s", a, unit_of(b));
		if (one_number(unit, lent, &first, err) < 0)
			return -1;
	} else if (first.unit_given && !second.unit_given) {
		snprintf(lent, sizeof lent, "%s %s", b, unit_of(a));
		if (one_number(unit, lent, &second, err) < 0)
			return -1;
	}
	*x = first.value;
	*y = second.value;
	return 0;
}

/* Where one of the words stands in `text`; *n: how long it is there. NULL: none does. */
static const char *find_word(const char *text, const char *const *words, size_t *n)
{
	for (; *words; words++) {
		const char *at = strcasestr(text, *words);

		if (at) {
			*n = strlen(*words);
			return at;
		}
	}
	return NULL;
}

static int with_tolerance(enum rd_unit unit, const char *a, const char *b, struct rd_figure *out,
			  struct hs_err *err)
{
	double spread;
	size_t n = strlen(b);

	if (n > 0 && b[n - 1] == '%' && unit != RD_PERCENT) {
		struct half share, nominal;
		char number[PIECE];

		trimmed(number, b, n - 1);
		if (one_number(unit, a, &nominal, err) < 0 || one_number(RD_NO_UNIT, number, &share, err) < 0)
			return -1;
		out->nominal = nominal.value;
		spread = fabs(nominal.value) * share.value / 100;
	} else if (two_numbers(unit, a, b, &out->nominal, &spread, err) < 0) {
		return -1;
	}
	if (!(spread > 0))
		return err_set(err, HS_BAD_INPUT, "\"%s\" is no tolerance: it is a number above 0.", b);
	out->low = out->nominal - spread;
	out->high = out->nominal + spread;
	return 0;
}

static int band(enum rd_unit unit, const char *a, const char *b, struct rd_figure *out,
		struct hs_err *err)
{
	if (two_numbers(unit, a, b, &out->low, &out->high, err) < 0)
		return -1;
	if (out->low > out->high)
		return err_set(err, HS_BAD_INPUT, "\"%s\" is above \"%s\": the lower one first.", a, b);
	return 0;
}

/* "at least 5", "5 or more", "> 5"; the same for the other side. */
static int limit(enum rd_unit unit, const char *text, double *out, const char *const *words,
		 bool *found, struct hs_err *err)
{
	size_t n = 0;
	const char *at = find_word(text, words, &n);
	char before[PIECE], behind[PIECE];
	struct half number;

	*found = at != NULL;
	if (!at)
		return 0;
	trimmed(before, text, (size_t)(at - text));
	trimmed(behind, at + n, strlen(at + n));
	if (*before && *behind)
		return err_set(err, HS_BAD_INPUT, "\"%s\": one limit needs one number.", text);
	if (one_number(unit, *before ? before : behind, &number, err) < 0)
		return -1;
	*out = number.value;
	return 0;
}

static int only_nominal(enum rd_unit unit, const char *text, struct rd_figure *out, struct hs_err *err)
{
	struct half number;

	if (one_number(unit, text, &number, err) < 0)
		return -1;
	if (!(fabs(number.value) > 0))
		return err_set(err, HS_BAD_INPUT, "0 needs a limit beside it: \"0 to 2\", \"at most 2\".");
	out->nominal = number.value;
	out->low = number.value - RD_FIGURE_ASSUMED * fabs(number.value);
	out->high = number.value + RD_FIGURE_ASSUMED * fabs(number.value);
	out->assumed = true;
	return 0;
}

/* A minus between two numbers that is not the sign of the second: "2.5-3.1", "2.5 - 3.1". */
static const char *dash(const char *text)
{
	for (const char *at = text + (*text != '\0'); *at; at++)
		if (*at == '-' && isdigit((unsigned char)at[-1]) != 0)
			return at;
		else if (*at == '-' && at[-1] == ' ' && at[1] == ' ')
			return at;
	return NULL;
}

static int figure(enum rd_unit unit, const char *text, struct rd_figure *out, struct hs_err *err)
{
	static const char *const spreads[] = {"+/-", "+-", "\xc2\xb1", "plus-minus", NULL};
	static const char *const tos[] = {" to ", "...", NULL};
	static const char *const least[] = {"at least", "or more", "minimum", "min.", "min ", ">=", ">", NULL};
	static const char *const most[] = {"at most", "or less", "maximum", "max.", "max ", "up to", "<=",
					   "<", NULL};
	size_t n = 0;
	char a[PIECE], b[PIECE];
	bool found;
	const char *at = find_word(text, spreads, &n);
	bool tolerance = at != NULL;

	if (!at)
		at = find_word(text, tos, &n);
	if (!at && (at = dash(text)))
		n = 1;
	if (at) {
		trimmed(a, text, (size_t)(at - text));
		trimmed(b, at + n, strlen(at + n));
		return tolerance ? with_tolerance(unit, a, b, out, err) : band(unit, a, b, out, err);
	}
	if (limit(unit, text, &out->low, least, &found, err) < 0 || found)
		return found && !isinf(out->low) ? 0 : -1;
	if (limit(unit, text, &out->high, most, &found, err) < 0 || found)
		return found && !isinf(out->high) ? 0 : -1;
	return only_nominal(unit, text, out, err);
}

/* " at 25 degC" at the end is cut off. 0 or -1. */
static int take_temperature(char *text, double *at_degC, struct hs_err *err)
{
	char *at = strcasestr(text, " at ");
	struct half number;

	if (!at || strncasecmp(at, " at least", 9) == 0 || strncasecmp(at, " at most", 8) == 0)
		return 0;
	*at = '\0';
	if (one_number(RD_DEGC, at + 4, &number, err) < 0)
		return -1;
	*at_degC = number.value;
	return 0;
}

int rd_figure_parse(enum rd_unit unit, const char *typed, struct rd_figure *out, struct hs_err *err)
{
	char text[PIECE];

	*out = (struct rd_figure){.nominal = NAN, .low = -INFINITY, .high = INFINITY, .at_degC = NAN};
	if (strlen(typed) >= PIECE)
		return err_set(err, HS_BAD_INPUT, "That is too long for a figure: 2.8 +- .3, or 2.5 to 3.1.");
	trimmed(text, typed, strlen(typed));
	if (take_temperature(text, &out->at_degC, err) < 0)
		return -1;
	return figure(unit, text, out, err);
}

static void number(struct text *t, double v)
{
	text_addf(t, "%.6g", v);
}

void rd_figure_format(struct text *t, const struct rd_figure *f, enum rd_unit unit)
{
	double spread = f->high - f->nominal;

	if (!isnan(f->nominal) && fabs(f->nominal - f->low - spread) <= 1e-9 * fabs(f->nominal)) {
		number(t, f->nominal);
		text_add(t, " +- ");
		number(t, spread);
	} else if (isinf(f->low) || isinf(f->high)) {
		text_add(t, isinf(f->low) ? "at most " : "at least ");
		number(t, isinf(f->low) ? f->high : f->low);
	} else {
		number(t, f->low);
		text_add(t, " to ");
		number(t, f->high);
	}
	if (*rd_unit_name(unit))
		text_addf(t, " %s", rd_unit_name(unit));
	if (!isnan(f->at_degC))
		text_addf(t, " at %.6g degC", f->at_degC);
}
