#include "reading/blink.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#define WORD 96

/* One code as it is being counted; readings as lists of codes. */
struct counting {
	const char *at;
	struct hs_err *err;
	int longs, shorts;      /* flashes of the code begun; both 0: none begun */
	bool restart;           /* a "/" stood here: a new reading begins */
	bool marked;            /* readings are parted by "/": the order says nothing then */
	int n, code[4 * RD_CODES_MAX];
	bool first[4 * RD_CODES_MAX];
	enum rd_code_state state[4 * RD_CODES_MAX];
	int said;               /* states are said of the codes before this one */
};

static int refuse(struct counting *c, const char *why)
{
	return err_set(c->err, HS_BAD_INPUT, "%s Type a code like 23, 2 long 3 short, LLSSS or --... .", why);
}

static int keep(struct counting *c, int number)
{
	if (c->n == 4 * RD_CODES_MAX)
		return refuse(c, "That is more codes than a lamp sends.");
	c->first[c->n] = c->restart || c->n == 0;
	c->state[c->n] = RD_CODE_NOT_SAID;
	c->code[c->n++] = number;
	c->restart = false;
	return 0;
}

/* The flashes counted so far are a code. */
static int end_code(struct counting *c)
{
	int longs = c->longs, shorts = c->shorts;

	c->longs = c->shorts = 0;
	if (!longs && !shorts)
		return 0;
	if (!longs)
		return refuse(c, "A code begins with long flashes: without one they were missed.");
	if (!shorts)
		return refuse(c, "A code ends with short flashes: without one they were missed.");
	if (longs > RD_LONGS_MAX)
		return refuse(c, "No code has more than five long flashes.");
	if (shorts > RD_SHORTS_MAX)
		return refuse(c, "No code has more than nine short flashes.");
	return keep(c, 10 * longs + shorts);
}

/* A long flash behind a short one begins the next code. */
static int flashes(struct counting *c, bool is_long, int n)
{
	if (is_long && c->shorts && end_code(c) < 0)
		return -1;
	if (n > 99)
		return refuse(c, "Nobody counts that many flashes.");
	*(is_long ? &c->longs : &c->shorts) += n;
	return 0;
}

static bool is_stroke(const char *s) { return *s == '-' || *s == '.' || *s == '_' || *s == '*'; }

/* A run of strokes or of L and S; false when the word is something else. */
static bool run_of_flashes(const char *word)
{
	for (const char *s = word; *s; s++)
		if (!is_stroke(s) && !strchr("LlSs", *s))
			return false;
	return true;
}

static int count_run(struct counting *c, const char *word)
{
	for (; *word; word++)
		if (flashes(c, strchr("-_Ll", *word) != NULL, 1) < 0)
			return -1;
	return 0;
}

/* 1: a word for long, -1: one for short, 0: neither. */
static int named_flash(const char *word)
{
	static const char *const longs[] = { "long", "longs" }, *const shorts[] = { "short", "shorts" };

	for (int i = 0; i < 2; i++) {
		if (text_same_word(word, longs[i]))
			return 1;
		if (text_same_word(word, shorts[i]))
			return -1;
	}
	return 0;
}

/* Up to a separator, and either digits alone or no digit. */
static size_t take_word(const char *s, char word[WORD])
{
	size_t n = 0;
	bool number = isdigit((unsigned char)*s);

	while (s[n] && !strchr(" \t,;:/+", s[n]) && number == (isdigit((unsigned char)s[n]) != 0))
		n++;
	memcpy(word, s, n < WORD ? n : WORD - 1);
	word[n < WORD ? n : WORD - 1] = '\0';
	return n;
}

static void skip_blanks(struct counting *c)
{
	while (*c->at == ' ' || *c->at == '\t')
		c->at++;
}

/* A number before a name counts its flashes; alone it is a code. */
static int count_number(struct counting *c, const char *digits)
{
	char word[WORD];
	int number = 0, name;
	size_t n;

	if (strlen(digits) > 2)
		return refuse(c, "A code has two digits.");
	for (; *digits; digits++)
		number = 10 * number + (*digits - '0');
	skip_blanks(c);
	n = take_word(c->at, word);
	name = named_flash(word);
	if (!name && n == 1)
		name = *word == 'L' || *word == 'l' ? 1 : *word == 'S' || *word == 's' ? -1 : 0;
	if (name) {
		c->at += n;
		if (!number && name > 0)
			return refuse(c, "A code begins with long flashes: without one they were missed.");
		return flashes(c, name > 0, number);
	}
	if (end_code(c) < 0)
		return -1;
	c->longs = number / 10;
	c->shorts = number % 10;
	return end_code(c);
}

static bool says_nothing(const char *word)
{
	return text_same_word(word, "code") || text_same_word(word, "codes") || text_same_word(word, "flash") ||
	       text_same_word(word, "flashes");
}

static int new_reading(struct counting *c)
{
	if (end_code(c) < 0)
		return -1;
	c->restart = c->marked = true;
	return 0;
}

/* "stored", "active": of the codes since the last such word. */
static enum rd_code_state named_state(const char *word)
{
	return text_same_word(word, "stored") ? RD_CODE_STORED : text_same_word(word, "active") ? RD_CODE_ACTIVE
												 : RD_CODE_NOT_SAID;
}

static int say_state(struct counting *c, enum rd_code_state state)
{
	if (end_code(c) < 0)
		return -1;
	if (c->said == c->n)
		return refuse(c, "Which code is stored or active stands before that word.");
	while (c->said < c->n)
		c->state[c->said++] = state;
	return 0;
}

static int count_word(struct counting *c)
{
	char word[WORD];
	size_t n = take_word(c->at, word);

	c->at += n;
	if (n >= WORD)
		return refuse(c, "That is longer than any list of codes.");
	if (isdigit((unsigned char)*word))
		return count_number(c, word);
	if (run_of_flashes(word))
		return count_run(c, word);
	if (named_flash(word))
		return flashes(c, named_flash(word) > 0, 1);
	if (named_state(word) != RD_CODE_NOT_SAID)
		return say_state(c, named_state(word));
	if (text_same_word(word, "again"))
		return new_reading(c);
	if (text_same_word(word, "then") || text_same_word(word, "and"))
		return c->longs && !c->shorts ? 0 : end_code(c); /* "2 long and 3 short" is one code */
	if (says_nothing(word))
		return 0;
	return err_set(c->err, HS_BAD_INPUT, "\"%s\" is not understood as flashes of a lamp. Type a code like "
		       "23, 2 long 3 short, LLSSS or --... .", word);
}

/* Commas part codes, except between flashes of one: "long, long, short". */
static int count_all(struct counting *c)
{
	while (skip_blanks(c), *c->at) {
		if (*c->at == '/') {
			c->at++;
			if (new_reading(c) < 0)
				return -1;
		} else if (strchr(",;:+", *c->at)) {
			c->at++;
		} else if (count_word(c) < 0) {
			return -1;
		}
	}
	return end_code(c);
}

/* ---- readings -------------------------------------------------------------------------------- */

/* Where the list begins again. */
static void part_readings(struct counting *c)
{
	for (int i = 1; !c->marked && i < c->n; i++)
		c->first[i] = c->code[i] <= c->code[i - 1];
}

static void add_codes(struct text *t, const int *code, int n)
{
	for (int i = 0; i < n; i++)
		text_addf(t, "%s%d", i ? ", " : "", code[i]);
}

static int differ(struct counting *c, int a, int na, int b, int nb)
{
	struct text t = { 0 };

	add_codes(&t, c->code + a, na);
	text_add(&t, " and ");
	add_codes(&t, c->code + b, nb);
	err_set(c->err, HS_BAD_INPUT, "The readings differ: %s. Read the lamp again until two agree.",
		text_str(&t));
	text_free(&t);
	return -1;
}

static int list_length(const struct counting *c, int from)
{
	int n = 1;

	while (from + n < c->n && !c->first[from + n])
		n++;
	return n;
}

static int compare(struct counting *c, struct rd_blink *out)
{
	int length = list_length(c, 0);

	if (length > RD_CODES_MAX)
		return refuse(c, "That is more codes than a lamp sends.");
	for (int at = length; at < c->n; at += list_length(c, at)) {
		int other = list_length(c, at);

		if (other != length || memcmp(c->code, c->code + at, sizeof(int) * (size_t)length) != 0)
			return differ(c, 0, length, at, other);
		for (int i = 0; i < length; i++)
			if (c->state[at + i] != RD_CODE_NOT_SAID)
				c->state[i] = c->state[at + i];
		out->readings++;
	}
	out->readings++;
	out->n = length;
	memcpy(out->code, c->code, sizeof(int) * (size_t)length);
	memcpy(out->state, c->state, sizeof out->state[0] * (size_t)length);
	return 0;
}

int rd_blink_read(const char *text, struct rd_blink *out, struct hs_err *err)
{
	struct counting c = { .at = text, .err = err };

	memset(out, 0, sizeof *out);
	if (count_all(&c) < 0)
		return -1;
	if (!c.n)
		return refuse(&c, "No flash was typed.");
	part_readings(&c);
	return compare(&c, out);
}

void rd_blink_format(struct text *t, const struct rd_blink *b)
{
	add_codes(t, b->code, b->n);
	if (b->readings < 2)
		text_add(t, " (read once)");
	else if (b->readings == 2)
		text_add(t, " (read twice)");
	else
		text_addf(t, " (read %d times)", b->readings);
}

/* Short 0.4 +/- 0.1 s, long 1.2 +/- 0.3 s, the lamp test about 2 s. */
enum rd_flash rd_flash(double seconds)
{
	return seconds < .6 ? RD_FLASH_SHORT : seconds < .9 ? RD_FLASH_UNCLEAR
		: seconds < 1.75 ? RD_FLASH_LONG : RD_FLASH_LAMP_TEST;
}

double rd_blink_worth(bool active, double cranking_volts)
{
	if (cranking_volts < RD_BLINK_VOLTS)
		return 0;
	return active ? 1 : .5;
}
