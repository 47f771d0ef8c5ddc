/* The ASCII form of a text, for terminals that show nothing else.
 *
 * The C library's transliteration turns the degree sign and ohm into "?", which is dangerous in
 * front of a reading, so the table is our own.  Whatever it does not know becomes a visible
 * escape, never a "?". */
#include <string.h>

#include "base/text.h"

static const struct {
	uint32_t cp;
	const char *ascii;
} table[] = {
	{0x00A0, " "}, {0x00A3, "GBP"}, {0x00A7, "section "}, {0x00A9, "(c)"}, {0x00AB, "\""},
	{0x00AE, "(R)"}, {0x00B0, " deg"}, {0x00B1, "+/-"}, {0x00B2, "^2"}, {0x00B3, "^3"},
	{0x00B4, "'"}, {0x00B5, "u"}, {0x00B7, "*"}, {0x00BB, "\""}, {0x00BC, " 1/4"},
	{0x00BD, " 1/2"}, {0x00BE, " 3/4"}, {0x00C4, "Ae"}, {0x00D6, "Oe"}, {0x00DC, "Ue"},
	{0x00C5, "Aa"}, {0x00C6, "Ae"}, {0x00D7, "x"}, {0x00D8, "Oe"}, {0x00DF, "ss"},
	{0x00E4, "ae"}, {0x00E5, "aa"}, {0x00E6, "ae"}, {0x00F6, "oe"}, {0x00F7, "/"},
	{0x00F8, "oe"}, {0x00FC, "ue"}, {0x0152, "Oe"}, {0x0153, "oe"}, {0x0394, "delta "},
	{0x03A9, "ohm"}, {0x03B1, "alpha"}, {0x03BB, "lambda"}, {0x03BC, "u"}, {0x03C0, "pi"},
	{0x03C3, "sigma"}, {0x2009, " "}, {0x2010, "-"}, {0x2011, "-"}, {0x2012, "-"},
	{0x2013, "-"}, {0x2014, "-"}, {0x2015, "-"}, {0x2018, "'"}, {0x2019, "'"},
	{0x201A, ","}, {0x201C, "\""}, {0x201D, "\""}, {0x201E, "\""}, {0x2022, "*"},
	{0x2026, "..."}, {0x202F, " "}, {0x2030, " per mille"}, {0x2032, "'"}, {0x2033, "\""},
	{0x2044, "/"}, {0x20AC, "EUR"}, {0x2103, " deg C"}, {0x2109, " deg F"}, {0x2126, "ohm"},
	{0x2153, " 1/3"}, {0x2154, " 2/3"}, {0x215B, " 1/8"}, {0x215C, " 3/8"}, {0x215D, " 5/8"},
	{0x215E, " 7/8"}, {0x2190, "<-"}, {0x2191, "^"}, {0x2192, "->"}, {0x2193, "v"},
	{0x2194, "<->"}, {0x21D2, "=>"}, {0x2212, "-"}, {0x221A, "sqrt"}, {0x221E, "infinite"},
	{0x2225, "||"}, {0x2248, "~"}, {0x2260, "!="}, {0x2264, "<="}, {0x2265, ">="},
	{0x2500, "-"}, {0x2502, "|"}, {0x250C, "+"}, {0x2510, "+"}, {0x2514, "+"}, {0x2518, "+"},
	{0x251C, "+"}, {0x2524, "+"}, {0x252C, "+"}, {0x2534, "+"}, {0x253C, "+"},
	{0x2588, "#"}, {0x2591, "."}, {0x25A0, "#"}, {0x25A1, "o"}, {0x25B2, "^"}, {0x25BC, "v"},
	{0x25CB, "o"}, {0x25CF, "*"}, {0x26A0, "!"}, {0x2713, "ok"}, {0x2714, "ok"},
	{0x2717, "x"}, {0x2718, "x"},
};

/* Letters of Latin-1 and Latin Extended-A without their accents, U+00C0 and U+0100 onward; '_'
 * stands for one that the table above has, or for none. */
static const char latin1[] = "AAAA__ACEEEEIIIIDNOOOO__OUUUUYTs"
			     "aaaa__aceeeeiiiidnoooo__ouuuuyty";
static const char latin_a[] = "AaAaAaCcCcCcCcDdDdEeEeEeEeEeGgGgGgGgHhHhIiIiIiIiIiJjJjKkkLlLlLlLlLl"
			      "NnNnNnnNnOoOoOo__RrRrRrSsSsSsSsTtTtTtUuUuUuUuUuUuWwYyYZzZzZzs";

static char plain_letter(uint32_t cp)
{
	char c = '_';

	if (cp >= 0xC0 && cp < 0x100)
		c = latin1[cp - 0xC0];
	else if (cp >= 0x100 && cp < 0x180)
		c = latin_a[cp - 0x100];
	return c == '_' ? '\0' : c;
}

static void add_ascii(struct text *t, uint32_t cp)
{
	char letter;

	for (size_t i = 0; i < sizeof table / sizeof *table; i++)
		if (table[i].cp == cp) {
			text_add(t, table[i].ascii);
			return;
		}
	letter = plain_letter(cp);
	if (letter)
		text_addc(t, letter);
	else if (text_point_width(cp) > 0 || text_point_harmful(cp))
		text_addf(t, "\\u%04x", (unsigned)cp);
}

void text_ascii(struct text *t, const char *s)
{
	size_t n = strlen(s);

	text_addn(t, "", 0);
	while (n > 0) {
		uint32_t cp;
		size_t len = text_decode(s, n, &cp);
		if (len == 1)
			text_addc(t, *s);
		else if (len == 0)
			text_addf(t, "\\x%02x", (unsigned)(unsigned char)*s);
		else
			add_ascii(t, cp);
		s += len ? len : 1;
		n -= len ? len : 1;
	}
}
