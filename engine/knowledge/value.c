/* Attribute values: does the text fit its kind, and what to say when it does not. */
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "knowledge/inner.h"

bool value_word(const char **at, char *out, size_t size)
{
	size_t n, keep;

	*at += strspn(*at, " ");
	n = strcspn(*at, " ");
	if (n == 0)
		return false;
	keep = n < size ? n : size - 1;
	memcpy(out, *at, keep);
	out[keep] = '\0';
	*at += n;
	return true;
}

/* Digits, one point, an exponent: no blanks, hexadecimal, nan or inf. */
static bool plain_number(const char *s)
{
	size_t whole, part = 0;

	s += *s == '-' || *s == '+';
	whole = strspn(s, "0123456789");
	s += whole;
	if (*s == '.') {
		part = strspn(s + 1, "0123456789");
		s += 1 + part;
	}
	if (whole + part == 0)
		return false;
	if (*s == 'e' || *s == 'E') {
		s++;
		s += *s == '-' || *s == '+';
		if (strspn(s, "0123456789") == 0 || strspn(s, "0123456789") > 2)
			return false;
		s += strspn(s, "0123456789");
	}
	return *s == '\0';
}

bool value_number(const char *s, double *out)
{
	if (strlen(s) > 30 || !plain_number(s))
		return false;
	*out = strtod(s, NULL);
	return true;
}

static bool letters_only(const char *s, const char *more, size_t most)
{
	for (const char *p = s; *p; p++)
		if (!(*p >= 'a' && *p <= 'z') && !isdigit((unsigned char)*p) && !strchr(more, *p))
			return false;
	return *s && strlen(s) <= most;
}

static bool number_between(const char *s, double low, bool low_too, double high)
{
	double x;

	return value_number(s, &x) && (low_too ? x >= low : x > low) && x <= high;
}

static bool whole_between(const char *s, double low, double high)
{
	return strspn(s, "0123456789") == strlen(s) && number_between(s, low, true, high);
}

static bool among(const char *s, const char *const *words)
{
	for (; *words; words++)
		if (!strcmp(s, *words))
			return true;
	return false;
}

/* "part.mode", "part.mode@all", "part.mode@one" */
static bool mode_reference(const char *s)
{
	const char *dot = strchr(s, '.'), *at = strchr(s, '@');
	char part[ID_MAX + 2], mode[ID_MAX + 2];
	size_t n;

	if (!dot || (at && (at < dot || (strcmp(at, "@all") != 0 && strcmp(at, "@one") != 0))))
		return false;
	n = at ? (size_t)(at - dot - 1) : strlen(dot + 1);
	if ((size_t)(dot - s) > ID_MAX || n > ID_MAX)
		return false;
	memcpy(part, s, (size_t)(dot - s));
	part[dot - s] = '\0';
	memcpy(mode, dot + 1, n);
	mode[n] = '\0';
	return letters_only(part, "-", ID_MAX) && letters_only(mode, "-", ID_MAX);
}

static bool word_fits(const struct attr_rule *rule, const char *w)
{
	double x;

	switch (rule->kind) {
	case V_CHOICES: return among(w, rule->words);
	case V_NAMES: return letters_only(w, "-", ID_MAX);
	case V_MODES_OR_GATES: return mode_reference(w) || letters_only(w, "-", ID_MAX);
	case V_PROBABILITIES: return number_between(w, 0, true, 1);
	case V_BITS: return !strcmp(w, "0") || !strcmp(w, "1");
	case V_SITES: return whole_between(w, 1, 32);
	default: return value_number(w, &x);
	}
}

static bool words_fit(const struct attr_rule *rule, const char *value)
{
	char w[2 * ID_MAX + 16];
	const char *at = value;
	int n = 0;

	while (value_word(&at, w, sizeof w)) {
		if (!word_fits(rule, w))
			return false;
		n++;
	}
	return n > 0;
}

static bool fits(const struct attr_rule *rule, const char *s)
{
	enum rd_derive derive;
	enum rd_unit unit;
	double x;

	switch (rule->kind) {
	case V_ID:
	case V_NAME: return letters_only(s, rule->of == E_POSITIONS ? "-+" : "-", ID_MAX);
	case V_PLACE: return letters_only(s, "-+", 16);
	case V_AT: return letters_only(s, "-+", 16);
	case V_TEXT: return *s && strlen(s) <= 500;
	case V_NUMBER: return value_number(s, &x);
	case V_NOT_NEGATIVE: return number_between(s, 0, true, 1e12);
	case V_POSITIVE: return number_between(s, 0, false, 1e12);
	case V_PROBABILITY: return number_between(s, 0, true, 1);
	case V_COUNT: return whole_between(s, 1, 1000);
	case V_CHOICE: return among(s, rule->words);
	case V_UNIT: return !*s || rd_unit_by_name(s, &unit);
	case V_DERIVE: return rd_derive_by_name(s, &derive);
	case V_INSTRUMENT: return rd_instrument_by_id(s) != NULL;
	case V_MODE: return mode_reference(s);
	case V_CHOICES:
	case V_NAMES:
	case V_MODES_OR_GATES:
	case V_PROBABILITIES:
	case V_BITS:
	case V_SITES: return words_fit(rule, s);
	}
	return false;
}

static int listed(const struct attr_rule *rule, const char *names[64])
{
	int n = 0;

	if (rule->kind == V_CHOICE || rule->kind == V_CHOICES)
		while (n < 64 && rule->words[n]) {
			names[n] = rule->words[n];
			n++;
		}
	if (rule->kind == V_UNIT)
		for (int u = RD_NO_UNIT + 1; u < RD_UNIT_COUNT && n < 64; u++)
			names[n++] = rd_unit_name((enum rd_unit)u);
	if (rule->kind == V_DERIVE)
		for (int d = 0; d < RD_DERIVE_COUNT; d++)
			names[n++] = rd_derive_name((enum rd_derive)d);
	if (rule->kind == V_INSTRUMENT)
		for (int i = 0; i < rd_instrument_count() && n < 64; i++)
			names[n++] = rd_instrument_at(i)->id;
	return n;
}

static const char *expected(enum value_kind kind)
{
	switch (kind) {
	case V_ID:
	case V_NAME: return "is not a word of a-z, 0-9 and - (64 at most)";
	case V_PLACE: return "is not a word of a-z, 0-9, + and - (16 at most)";
	case V_AT: return "is not \"here\", \"all\" or a place";
	case V_TEXT: return "is empty or longer than 500 bytes";
	case V_NUMBER: return "is not a number (digits and a point)";
	case V_NOT_NEGATIVE: return "is not a number of 0 or more";
	case V_POSITIVE: return "is not a number above 0";
	case V_PROBABILITY: return "is not a probability (a number from 0 to 1)";
	case V_COUNT: return "is not a whole number from 1 to 1000";
	case V_MODE: return "is not a mode: PART.MODE, PART.MODE@all or PART.MODE@one";
	case V_NAMES: return "is not a list of words of a-z, 0-9 and -, separated by blanks";
	case V_MODES_OR_GATES: return "is not a list of gates and modes (PART.MODE), separated by blanks";
	case V_PROBABILITIES: return "is not a list of probabilities, separated by blanks";
	case V_BITS: return "is not a list of 0 and 1, separated by blanks";
	case V_SITES: return "is not a list of whole numbers from 1 to 32, separated by blanks";
	case V_CHOICE:
	case V_CHOICES: return "is not allowed";
	case V_UNIT: return "is not a unit";
	case V_DERIVE: return "is not a way to derive";
	case V_INSTRUMENT: return "is not an instrument";
	}
	return "is not allowed";
}

/* The first word of a list that is wrong; the whole value when it is no list. */
static const char *culprit(const struct attr_rule *rule, const char *value, char *w, size_t size)
{
	if (rule->kind == V_CHOICES)
		for (const char *at = value; value_word(&at, w, size);)
			if (!word_fits(rule, w))
				return w;
	return value;
}

bool value_fits(const struct attr_rule *rule, const char *value, struct text *why)
{
	const char *names[64];
	char w[100];
	int n;

	if (fits(rule, value))
		return true;
	text_add(why, expected(rule->kind));
	if ((n = listed(rule, names)) > 0)
		advise(why, culprit(rule, value, w, sizeof w), names, n, "allowed are");
	return false;
}
