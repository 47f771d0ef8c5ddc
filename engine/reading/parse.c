#include "reading/parse.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define IMPOSSIBLE 1e9          /* in the check's unit: no meter shows more */
#define COLDEST_DEGC (-273.15)
#define PIECE 64

struct parser {
	const struct rd_setup *setup;
	const char *at;
	struct hs_err *err;
	struct rd_typed *out;
	double loose_by, loose;  /* "just under": moved by, half-width, in steps */
};

static int refuse(struct parser *p, const char *what, const char *advice)
{
	return err_set(p->err, HS_BAD_INPUT, "\"%s\" %s", what, advice);
}

/* The same, naming only the word that begins at `s`. */
static int refuse_piece(struct parser *p, const char *s, const char *advice)
{
	char piece[PIECE];
	size_t n = strcspn(s, " \t;");

	snprintf(piece, sizeof piece, "%.*s", (int)(n < PIECE - 1 ? n : PIECE - 1), s);
	return refuse(p, piece, advice);
}

/* ---- words ----------------------------------------------------------------------------------- */

static bool is_word_of(const char *word, const char *const *list)
{
	for (; *list; list++)
		if (text_same_word(word, *list))
			return true;
	return false;
}

static bool means_open(const char *word)
{
	static const char *const list[] = { "ol", "o.l", "o.l.", "open", "open-circuit", "infinite", "infinity",
					    "oo", "\xe2\x88\x9e", "overload", "over", NULL };

	return is_word_of(word, list);
}

static bool means_short(const char *word)
{
	static const char *const list[] = { "short", "shorted", "short-circuit", NULL };

	return is_word_of(word, list);
}

/* ---- one number ------------------------------------------------------------------------------ */

static bool digit(char c) { return c >= '0' && c <= '9'; }

static const double ten_to[] = { 1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13,
				 1e14, 1e15 };

/* What strtod would give: up to 15 digits and powers of ten are exact, so one division rounds once. */
static double exact(const char *digits, size_t places)
{
	bool minus = *digits == '-';
	double whole = 0;

	for (; *digits; digits++)
		if (digit(*digits))
			whole = 10 * whole + (*digits - '0');
	whole /= ten_to[places];
	return minus ? -whole : whole;
}

/* Digits with at most one decimal mark, point or comma. Advances; false when there is none. */
static bool plain_number(const char **at, double *value, double *resolution)
{
	const char *s = *at;
	char copy[PIECE];
	size_t n = 0, digits = 0, places = 0;
	bool mark = false;

	if (*s == '-' || *s == '+')
		copy[n++] = *s++;
	for (; digit(*s) || ((*s == '.' || *s == ',') && !mark && (digit(s[1]) || digits)); s++) {
		if (n + 2 > sizeof copy)
			return false;
		if (digit(*s)) {
			digits++;
			places += mark;
			copy[n++] = *s;
		} else if (*s == ',' && !digit(s[1])) {
			break; /* a comma that ends an item of a list */
		} else {
			mark = true;
			copy[n++] = '.';
		}
	}
	if (!digits)
		return false;
	copy[n] = '\0';
	*value = digits <= 15 ? exact(copy, places) : strtod(copy, NULL);
	*resolution = places <= 15 ? 1 / ten_to[places] : pow(10, -(double)places);
	*at = s;
	return true;
}

/* The multiplier a letter of IEC 60062 stands for; 0 for any other character. */
static double letter_times(char c)
{
	switch (c) {
	case 'L': return 1e-3;
	case 'R': case 'r': return 1;
	case 'K': case 'k': return 1e3;
	case 'M': return 1e6;
	default: return 0;
	}
}

/* IEC 60062: the letter stands where the decimal mark would: 4R7, 5k25, 1M5, R47. */
static bool letter_code(const char **at, double *ohms, double *resolution)
{
	const char *s = *at, *mark;
	double times, part = 0, step = 1;

	while (digit(*s))
		s++;
	mark = s;
	times = letter_times(*mark);
	if (times <= 0 || !digit(mark[1]))
		return false;
	for (s = mark + 1; digit(*s); s++) {
		step /= 10;
		part += step * (*s - '0');
	}
	if (isalpha((unsigned char)*s) || *s == '.' || *s == ',')
		return false;
	*ohms = ((mark > *at ? strtod(*at, NULL) : 0) + part) * times;
	*resolution = step * times;
	*at = s;
	return true;
}

/* "3/8": eighths of a turn and the like. */
static bool fraction(const char **at, double *value, double *step)
{
	const char *s = *at;
	char *end;
	long top, bottom;

	if (!digit(*s))
		return false;
	top = strtol(s, &end, 10);
	if (*end != '/' || !digit(end[1]))
		return false;
	bottom = strtol(end + 1, &end, 10);
	if (bottom <= 0 || bottom > 64 || top < 0 || top >= bottom || digit(*end))
		return false;
	*value = (double)top / (double)bottom;
	*step = .5 / (double)bottom; /* read to half a mark */
	*at = end;
	return true;
}

static const char *skip_blanks(const char *s)
{
	while (*s == ' ' || *s == '\t')
		s++;
	return s;
}

/* The digit of cm2, cm3 and H2O belongs to the unit it stands in; any other begins the next figure. */
static bool digit_of_unit(const char *unit, size_t n)
{
	const char *s = unit + n;

	if (n >= 2 && (*s == '2' || *s == '3') && strncasecmp(s - 2, "cm", 2) == 0)
		return s[1] == '\0' || isspace((unsigned char)s[1]);
	return n >= 3 && strncasecmp(s - 1, "h2o", 3) == 0;
}

/* A unit behind a number: letters, percent, degree sign, up to a blank. */
static size_t unit_length(const char *s)
{
	size_t n = 0;

	while (s[n] && !isspace((unsigned char)s[n]) && !strchr(",;:+", s[n]) &&
	       (!digit(s[n]) || digit_of_unit(s, n)) &&
	       !((s[n] == '-' || s[n] == '.') && digit(s[n + 1])) && n < PIECE - 1)
		n++;
	if (n && s[n - 1] == '/' )
		n--;
	return n;
}

/* A second word of one unit: "5 k ohm", "5 M ohms". */
static const char *past_ohm(const struct parser *p, const char *name, const char *s)
{
	const char *next = skip_blanks(s);
	enum rd_unit u;
	char word[PIECE];
	size_t n = unit_length(next);

	if (strlen(name) != 1 || !n || !rd_unit_convertible(RD_OHM, p->setup->unit))
		return s;
	memcpy(word, next, n);
	word[n] = '\0';
	return rd_unit_by_name(word, &u) && u == RD_OHM ? next + n : s;
}

/* A small m before the ohm: somebody in a hurry writes megohms so, and thousandths are written so. */
static bool milli_or_mega(const char *name)
{
	return *name == 'm' && (text_same_word(name, "mohm") || text_same_word(name, "mohms") ||
				strcmp(name, "m\xce\xa9") == 0 || strcmp(name, "m\xe2\x84\xa6") == 0);
}

/* Converts by a unit that follows, if one does. */
static int take_unit(struct parser *p, struct rd_item *item)
{
	static const char *const no_unit[] = { "and", "plus", "about", "roughly", "just", NULL };
	const char *s = skip_blanks(p->at);
	char name[PIECE];
	enum rd_unit u;
	size_t n = unit_length(s);

	if (n == 2 && strncasecmp(s, "fl", 2) == 0 && strncasecmp(skip_blanks(s + 2), "oz", 2) == 0) {
		s = skip_blanks(s + 2) - 1;
		n = 3; /* " oz" */
		strcpy(name, "floz");
	} else {
		memcpy(name, s, n);
		name[n] = '\0';
	}
	if (!n || (n == 1 && (*s == '-' || *s == '/')) || means_open(name) || means_short(name))
		return 0;
	if (*s == '~' || is_word_of(name, no_unit))
		return 0;
	if (text_same_word(name, "k") && !rd_unit_convertible(RD_OHM, p->setup->unit)) {
		item->value *= 1000;
		item->resolution *= 1000;
	} else if (milli_or_mega(name)) {
		return refuse(p, name, "may be thousandths or millions of an ohm. Type it like 0.3 ohm or 300 Mohm.");
	} else if (!rd_unit_by_name(name, &u)) {
		return refuse(p, name, "is not a unit this program knows. Type the number with or without a "
				       "unit, like 12.4 or 5.2k.");
	} else if (!rd_unit_convertible(u, p->setup->unit)) {
		return err_set(p->err, HS_BAD_INPUT, "%s is not a unit for this: it is read in %s.", name,
			       p->setup->unit == RD_NO_UNIT ? "plain numbers"
							    : rd_unit_name(p->setup->unit));
	} else {
		double zero = rd_unit_convert(0, u, p->setup->unit);

		item->value = rd_unit_convert(item->value, u, p->setup->unit);
		item->resolution = fabs(rd_unit_convert(item->resolution, u, p->setup->unit) - zero);
		item->unit_given = true;
		item->unit = u;
	}
	p->at = past_ohm(p, name, s + n);
	return 0;
}

static int odd_number(struct parser *p)
{
	const char *s = p->at;

	if (s[0] == '0' && (s[1] == 'x' || s[1] == 'X'))
		return refuse_piece(p, s, "looks like a hexadecimal number. Type it in plain digits.");
	if (strncasecmp(s, "nan", 3) == 0 || strncasecmp(s, "inf", 3) == 0)
		return refuse_piece(p, s, "is not a reading. If the meter shows OL, type OL.");
	return refuse_piece(p, s, "is not understood as a reading. Type a number as the meter shows it, like "
				  "12.4 or 5k25, or OL for open.");
}

/* A second decimal mark or a quote between digits: a thousands separator, or a slip. */
static bool thousands_follow(const char *s)
{
	return (*s == '.' || *s == ',' || *s == '\'') && digit(s[1]);
}

static bool is_angle(enum rd_unit u) { return rd_unit_convertible(u, RD_TURN); }

static bool takes_fractions(enum rd_unit u) { return is_angle(u) || rd_unit_convertible(u, RD_INCH); }

/* Turns may go without a unit; 3/8 mm is nothing anybody measures. */
static int unit_of_fraction(struct parser *p, struct rd_item *item, const char *start)
{
	bool length = rd_unit_convertible(p->setup->unit, RD_INCH);

	if (take_unit(p, item) < 0)
		return -1;
	if (length && item->unit != RD_INCH && p->setup->unit != RD_INCH)
		return refuse_piece(p, start, "is a fraction without a unit. Type it like 3/8 in, or in decimals.");
	return 0;
}

/* [0-9.]+ with unit; fractions and letter codes where they make sense. */
static int simple_value(struct parser *p, struct rd_item *item)
{
	double whole = 0, part = 0, resolution = 0, step = 0;
	bool ohms = rd_unit_convertible(RD_OHM, p->setup->unit);
	bool fractions = takes_fractions(p->setup->unit);
	const char *start = p->at;

	if (fractions && fraction(&p->at, &part, &step)) {
		item->value = part;
		item->resolution = step;
		return unit_of_fraction(p, item, start);
	}
	if (p->at[0] == '0' && (p->at[1] == 'x' || p->at[1] == 'X'))
		return odd_number(p);
	if (ohms && letter_code(&p->at, &whole, &resolution)) {
		item->value = rd_unit_convert(whole, RD_OHM, p->setup->unit);
		item->resolution = rd_unit_convert(resolution, RD_OHM, p->setup->unit);
		item->unit_given = true;
		return take_unit(p, item);
	}
	if (!plain_number(&p->at, &whole, &resolution))
		return odd_number(p);
	if (thousands_follow(p->at)) {
		p->at = start;
		return refuse_piece(p, start, "has two decimal marks. Thousands are written without a mark; point or "
				 "comma is the decimal mark.");
	}
	item->value = whole;
	item->resolution = resolution;
	if (fractions) {
		const char *next = skip_blanks(p->at);

		if (next != p->at && fraction(&next, &part, &step)) {
			p->at = next;
			item->value += part;
			item->resolution = step;
			return unit_of_fraction(p, item, start);
		}
	}
	return take_unit(p, item);
}

/* "12.4-0.3", "12.4 - 0.3"; but "5 -3" are two readings.  Behind the minus, or NULL. */
static const char *minus_follows(const char *s)
{
	const char *minus = skip_blanks(s);

	if (*minus != '-' || (minus != s && minus[1] != ' '))
		return NULL;
	s = skip_blanks(minus + 1);
	return digit(*s) || (*s == '.' && digit(s[1])) ? s : NULL;
}

/* value [- value]: a difference as the mechanic says it; value / value: a ratio. */
static int value(struct parser *p, struct rd_item *item)
{
	struct rd_item other = { .place = -1 };
	const char *minus;

	if (simple_value(p, item) < 0)
		return -1;
	minus = minus_follows(p->at);
	if (minus) {
		p->at = minus;
		if (simple_value(p, &other) < 0)
			return -1;
		item->value -= other.value;
		item->resolution = hypot(item->resolution, other.resolution);
		item->difference = true;
	} else if (*p->at == '/' && rd_unit_convertible(p->setup->unit, RD_NO_UNIT)) {
		p->at++;
		if (simple_value(p, &other) < 0)
			return -1;
		if (other.value == 0)
			return refuse(p, "/0", "cannot be: nothing is divided by 0.");
		item->resolution = fabs(item->value / other.value) *
				   hypot(item->resolution / (item->value != 0 ? item->value : 1),
					 other.resolution / other.value);
		item->value /= other.value;
	}
	return 0;
}

/* ---- items ----------------------------------------------------------------------------------- */

/* "3:" before a value; which of the places it names, -1 when there is no label, -2 an unknown one. */
static int label(struct parser *p)
{
	size_t n = strcspn(p->at, ": \t;");

	if (p->at[n] != ':' || n == 0)
		return -1;
	for (int i = 0; i < p->setup->nplaces; i++)
		if (strlen(p->setup->places[i]) == n && strncasecmp(p->setup->places[i], p->at, n) == 0) {
			p->at = skip_blanks(p->at + n + 1);
			return i;
		}
	return -2;
}

static const char *word_at(const char *s, char *out)
{
	size_t n = strcspn(s, " \t;,");

	memcpy(out, s, n < PIECE ? n : PIECE - 1);
	out[n < PIECE ? n : PIECE - 1] = '\0';
	return s + n;
}

/* "about", "just under", "just over" before a number. */
static void looseness(struct parser *p)
{
	char a[PIECE], b[PIECE];
	const char *next = word_at(p->at, a), *after = word_at(skip_blanks(next), b);

	p->loose = p->loose_by = 0;
	if (*p->at == '~') {
		p->at = skip_blanks(p->at + 1);
		p->loose = 1;
	} else if (text_same_word(a, "about") || text_same_word(a, "roughly")) {
		p->at = skip_blanks(next);
		p->loose = 1;
	} else if (text_same_word(a, "just") && (text_same_word(b, "under") || text_same_word(b, "over"))) {
		p->loose = 1;
		p->loose_by = text_same_word(b, "under") ? -1 : 1;
		p->at = skip_blanks(after);
	}
}

/* "2 turns 45 degrees", "1 min 30 s", "1 min 30": a second, smaller part of the same figure. */
static int more_of_it(struct parser *p, struct rd_item *item)
{
	const char *back = p->at, *s = skip_blanks(p->at);
	bool minutes = item->unit == RD_MINUTE && rd_unit_convertible(p->setup->unit, RD_SECOND);
	struct rd_item more = { .place = -1 };
	char word[PIECE];

	if (!item->unit_given || !(minutes || (is_angle(p->setup->unit) && item->unit == RD_TURN)))
		return 0;
	word_at(s, word);
	if (*s == '+' || text_same_word(word, "and") || text_same_word(word, "plus"))
		s = skip_blanks(s + (*s == '+' ? 1 : strlen(word)));
	if (!digit(*s))
		return 0;
	p->at = s;
	if (simple_value(p, &more) < 0 || more.unit == item->unit || (!more.unit_given && !minutes)) {
		p->at = back; /* not the second part: an item of its own, or an error there */
		err_clear(p->err);
		return 0;
	}
	if (!more.unit_given) {
		more.value = rd_unit_convert(more.value, RD_SECOND, p->setup->unit);
		more.resolution = rd_unit_convert(more.resolution, RD_SECOND, p->setup->unit);
	}
	item->value += more.value;
	item->resolution = fmin(item->resolution, more.resolution);
	return 0;
}

/* Quantities that are never below nothing. */
static bool never_negative(enum rd_unit u)
{
	static const enum rd_unit kind[] = { RD_OHM, RD_RPM, RD_SECOND, RD_ML, RD_ML_PER_MIN, RD_GRAM };

	for (size_t i = 0; i < sizeof kind / sizeof *kind; i++)
		if (rd_unit_convertible(u, kind[i]))
			return true;
	return false;
}

static int possible(struct parser *p, const struct rd_item *item, const char *start)
{
	enum rd_unit u = p->setup->unit;

	if (!(fabs(item->value) <= IMPOSSIBLE))
		return refuse_piece(p, start, "is more than any meter shows.");
	if (item->value < 0 && never_negative(u))
		return refuse_piece(p, start, "would be less than nothing. If it is a difference, the larger "
					      "number comes first.");
	if (rd_unit_convertible(u, RD_DEGC) &&
	    rd_unit_convert(item->value, u, RD_DEGC) < COLDEST_DEGC - 1e-9)
		return refuse_piece(p, start, "is colder than anything can be.");
	return 0;
}

/* "about" and "just under" where no marks are counted: by one of the last digit typed. */
static void loosen(struct parser *p, struct rd_item *item)
{
	double step = is_angle(p->setup->unit) ? rd_unit_convert(1.0 / 16, RD_TURN, p->setup->unit)
					       : item->resolution;

	item->value += p->loose_by * step;
	item->loose = p->loose * step;
}

static int one_item(struct parser *p)
{
	struct rd_item *item = &p->out->item[p->out->n];
	char word[PIECE];
	const char *after;

	memset(item, 0, sizeof *item);
	item->place = label(p);
	if (item->place == -2) {
		word_at(p->at, word);
		return refuse(p, word, "does not begin with the name of a place of this check.");
	}
	after = word_at(p->at, word);
	if (means_open(word) || means_short(word)) {
		item->kind = means_open(word) ? RD_OPEN : RD_SHORT;
		item->value = means_open(word) ? INFINITY : 0;
		p->at = after;
		if (text_same_word(word, "open") || text_same_word(word, "short")) {
			const char *next = word_at(skip_blanks(after), word);

			if (text_same_word(word, "circuit"))
				p->at = next;
		}
	} else {
		looseness(p);
		after = p->at;
		if (value(p, item) < 0 || more_of_it(p, item) < 0)
			return -1;
		loosen(p, item);
		if (possible(p, item, after) < 0)
			return -1;
	}
	p->out->n++;
	return 0;
}

int rd_parse(const struct rd_setup *setup, const char *text, struct rd_typed *out, struct hs_err *err)
{
	struct parser p = { setup, text + strspn(text, " \t;,"), err, NULL, 0, 0 };

	out->n = 0;
	p.out = out;
	if (!*p.at)
		return err_set(err, HS_BAD_INPUT, "Nothing was typed.");
	while (*p.at) {
		if (out->n == RD_ITEMS_MAX)
			return err_set(err, HS_BAD_INPUT, "More than %d numbers in one answer.", RD_ITEMS_MAX);
		if (one_item(&p) < 0)
			return -1;
		if (*p.at && !strchr(" \t;,", *p.at))
			return odd_number(&p);
		while (*p.at && strchr(" \t;,", *p.at))
			p.at++;
	}
	return 0;
}
