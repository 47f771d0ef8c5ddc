#include "reading/parse.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define IMPOSSIBLE 1e9
#define PIECE 64

struct parser {
	const struct rd_setup *setup;
	const char *at;
	struct hs_err *err;
	struct rd_typed *out;
	double loose_by, loose;  /* "just under": moved by, half-width */
};

static int refuse(struct parser *p, const char *what, const char *advice)
{
	return err_set(p->err, HS_BAD_INPUT, "\"%s\" %s", what, advice);
}

/* ---- words ------------------------------------------------------------------------------------ */

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

/* ---- one number -------------------------------------------------------------------------------- */

static bool digit(char c) { return c >= '0' && c <= '9'; }

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
	*value = strtod(copy, NULL);
	*resolution = pow(10, -(double)places);
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
static bool fraction(const char **at, double *value)
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
	*at = end;
	return true;
}

static const char *skip_blanks(const char *s)
{
	while (*s == ' ' || *s == '\t')
		s++;
	return s;
}

/* A unit behind a number: letters, percent, degree sign, up to a blank. */
static size_t unit_length(const char *s)
{
	size_t n = 0;

	while (s[n] && !isspace((unsigned char)s[n]) && !digit(s[n]) && !strchr(",;:+", s[n]) &&
	       !(s[n] == '-' && digit(s[n + 1])) && n < PIECE - 1)
		n++;
	if (n && s[n - 1] == '/' )
		n--;
	return n;
}

/* Converts by a unit that follows, if one does. */
static int take_unit(struct parser *p, struct rd_item *item)
{
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
	if (p->setup->unit == RD_TURN && (text_same_word(name, "and") || text_same_word(name, "plus")))
		return 0;
	if (text_same_word(name, "k") && !rd_unit_convertible(RD_OHM, p->setup->unit)) {
		item->value *= 1000;
		item->resolution *= 1000;
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
	}
	p->at = s + n;
	return 0;
}

static int odd_number(struct parser *p)
{
	const char *s = p->at;
	char piece[PIECE];
	size_t n = strcspn(s, " \t;");

	snprintf(piece, sizeof piece, "%.*s", (int)(n < PIECE - 1 ? n : PIECE - 1), s);
	if (s[0] == '0' && (s[1] == 'x' || s[1] == 'X'))
		return refuse(p, piece, "looks like a hexadecimal number. Type it in plain digits.");
	if (strncasecmp(s, "nan", 3) == 0 || strncasecmp(s, "inf", 3) == 0)
		return refuse(p, piece, "is not a reading. If the meter shows OL, type OL.");
	return refuse(p, piece, "is not understood as a reading. Type a number as the meter shows it, like "
			 "12.4 or 5k25, or OL for open.");
}

/* A second decimal mark or a quote between digits: a thousands separator, or a slip. */
static bool thousands_follow(const char *s)
{
	return (*s == '.' || *s == ',' || *s == '\'') && digit(s[1]);
}

/* [0-9.]+ with unit; fractions and letter codes where they make sense. */
static int simple_value(struct parser *p, struct rd_item *item)
{
	double whole = 0, part = 0, resolution = 0;
	bool ohms = rd_unit_convertible(RD_OHM, p->setup->unit);
	const char *start = p->at;

	if (p->setup->unit == RD_TURN && fraction(&p->at, &part)) {
		item->value = part;
		item->resolution = .0625;
		return take_unit(p, item);
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
		return refuse(p, start, "has two decimal marks. Thousands are written without a mark; point or "
				 "comma is the decimal mark.");
	}
	item->value = whole;
	item->resolution = resolution;
	if (p->setup->unit == RD_TURN) {
		const char *next = skip_blanks(p->at);

		if (next != p->at && fraction(&next, &part)) {
			p->at = next;
			item->value += part;
			item->resolution = .0625;
		}
	}
	if (fabs(item->value) > IMPOSSIBLE)
		return refuse(p, start, "is more than any meter shows.");
	return take_unit(p, item);
}

/* value [- value]: a difference as the mechanic says it; value / value: a ratio. */
static int value(struct parser *p, struct rd_item *item)
{
	struct rd_item other = { .place = -1 };

	if (simple_value(p, item) < 0)
		return -1;
	if (*p->at == '-' && (digit(p->at[1]) || p->at[1] == '.')) {
		p->at++;
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

/* ---- items ----------------------------------------------------------------------------------------- */

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

	snprintf(out, PIECE, "%.*s", (int)(n < PIECE - 1 ? n : PIECE - 1), s);
	return s + n;
}

/* "about", "just under", "just over" before a number. */
static void looseness(struct parser *p)
{
	char a[PIECE], b[PIECE];
	const char *next = word_at(p->at, a), *after = word_at(skip_blanks(next), b);
	double step = p->setup->unit == RD_TURN ? 1.0 / 16 : 0;

	p->loose = p->loose_by = 0;
	if (*p->at == '~') {
		p->at = skip_blanks(p->at + 1);
		p->loose = step;
	} else if (text_same_word(a, "about") || text_same_word(a, "roughly")) {
		p->at = skip_blanks(next);
		p->loose = step;
	} else if (text_same_word(a, "just") && (text_same_word(b, "under") || text_same_word(b, "over"))) {
		p->loose = step;
		p->loose_by = text_same_word(b, "under") ? -step : step;
		p->at = skip_blanks(after);
	}
}

/* "2 turns 45 degrees": a second part of the same angle. */
static int more_angle(struct parser *p, struct rd_item *item)
{
	const char *back = p->at, *s = skip_blanks(p->at);
	struct rd_item more = { .place = -1 };
	char word[PIECE];

	if (p->setup->unit != RD_TURN || !item->unit_given)
		return 0;
	word_at(s, word);
	if (*s == '+' || text_same_word(word, "and") || text_same_word(word, "plus"))
		s = skip_blanks(s + (*s == '+' ? 1 : strlen(word)));
	if (!digit(*s))
		return 0;
	p->at = s;
	if (simple_value(p, &more) < 0 || !more.unit_given) {
		p->at = back; /* not the second part of an angle: an item of its own, or an error there */
		err_clear(p->err);
		return 0;
	}
	item->value += more.value;
	item->resolution = fmin(item->resolution, more.resolution);
	return 0;
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
		if (value(p, item) < 0 || more_angle(p, item) < 0)
			return -1;
		item->value += p->loose_by;
		item->loose = p->loose;
	}
	p->out->n++;
	return 0;
}

int rd_parse(const struct rd_setup *setup, const char *text, struct rd_typed *out, struct hs_err *err)
{
	struct parser p = { setup, skip_blanks(text), err, out, 0, 0 };

	out->n = 0;
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
