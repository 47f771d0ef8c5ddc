/* UTF-8 (RFC 3629) and the columns a character takes on a terminal.
 *
 * The width table is our own and coarse, by blocks, because wcwidth() depends on the locale and
 * answers -1 for everything but ASCII in the C locale.  tests/test_base.c holds it against the
 * C library's for the blocks that matter. */
#include <string.h>

#include "base/text.h"

/* The lead byte says how many bytes follow and the least code point that needs so many. */
static size_t sequence_length(unsigned char lead, uint32_t *bits, uint32_t *least)
{
	if (lead < 0x80) {
		*bits = lead;
		*least = 0;
		return 1;
	}
	if (lead >= 0xC2 && lead <= 0xDF) {
		*bits = lead & 0x1FU;
		*least = 0x80;
		return 2;
	}
	if (lead >= 0xE0 && lead <= 0xEF) {
		*bits = lead & 0x0FU;
		*least = 0x800;
		return 3;
	}
	if (lead >= 0xF0 && lead <= 0xF4) {
		*bits = lead & 0x07U;
		*least = 0x10000;
		return 4;
	}
	return 0;
}

size_t text_decode(const char *s, size_t n, uint32_t *point)
{
	uint32_t cp = 0, least = 0;

	if (n == 0)
		return 0;
	size_t len = sequence_length((unsigned char)s[0], &cp, &least);
	if (len == 0 || len > n)
		return 0;
	for (size_t i = 1; i < len; i++) {
		unsigned char c = (unsigned char)s[i];
		if ((c & 0xC0) != 0x80)
			return 0;
		cp = cp << 6 | (c & 0x3FU);
	}
	if (cp < least || cp > 0x10FFFF || (cp >= 0xD800 && cp <= 0xDFFF))
		return 0;
	*point = cp;
	return len;
}

bool text_valid_utf8(const char *s, size_t n)
{
	while (n > 0) {
		uint32_t cp;
		size_t len = text_decode(s, n, &cp);
		if (len == 0)
			return false;
		s += len;
		n -= len;
	}
	return true;
}

struct range {
	uint32_t first, last;
};

static bool is_in(uint32_t cp, const struct range *ranges, size_t count)
{
	for (size_t i = 0; i < count; i++)
		if (cp >= ranges[i].first && cp <= ranges[i].last)
			return true;
	return false;
}

/* Combining marks and format characters. */
static const struct range no_width[] = {
	{0x0300, 0x036F}, {0x0483, 0x0489}, {0x0591, 0x05BD}, {0x0610, 0x061A}, {0x061C, 0x061C},
	{0x064B, 0x065F}, {0x0E34, 0x0E3A}, {0x0E47, 0x0E4E}, {0x1AB0, 0x1ACE}, {0x1DC0, 0x1DFF},
	{0x200B, 0x200F}, {0x2028, 0x202E}, {0x2060, 0x206F}, {0x20D0, 0x20F0}, {0xFE00, 0xFE0F},
	{0xFE20, 0xFE2F}, {0xFEFF, 0xFEFF}, {0xE0001, 0xE01EF},
};

/* East Asian wide and the emoji blocks. */
static const struct range two_columns[] = {
	{0x1100, 0x115F}, {0x231A, 0x231B}, {0x23E9, 0x23EC}, {0x25FD, 0x25FE}, {0x2614, 0x2615},
	{0x2648, 0x2653}, {0x26A1, 0x26A1}, {0x26D4, 0x26D4}, {0x26FD, 0x26FD}, {0x2705, 0x2705},
	{0x274C, 0x274C}, {0x2753, 0x2755}, {0x2757, 0x2757}, {0x2E80, 0x303E}, {0x3041, 0x33FF},
	{0x3400, 0x4DBF}, {0x4E00, 0x9FFF}, {0xA000, 0xA4CF}, {0xA960, 0xA97F}, {0xAC00, 0xD7A3},
	{0xF900, 0xFAFF}, {0xFE30, 0xFE6F}, {0xFF01, 0xFF60}, {0xFFE0, 0xFFE6}, {0x1F300, 0x1F320},
	{0x1F330, 0x1F335}, {0x1F345, 0x1F37C}, {0x1F400, 0x1F43E}, {0x1F5FB, 0x1F64F},
	{0x1F680, 0x1F6C5}, {0x1F900, 0x1F9FF}, {0x20000, 0x3FFFD},
};

int text_point_width(uint32_t cp)
{
	if (cp < 0x0300)
		return 1;
	if (is_in(cp, no_width, sizeof no_width / sizeof *no_width))
		return 0;
	return is_in(cp, two_columns, sizeof two_columns / sizeof *two_columns) ? 2 : 1;
}

int text_width(const char *s)
{
	size_t n = strlen(s);
	int width = 0;

	while (n > 0) {
		uint32_t cp = '?';
		size_t len = text_decode(s, n, &cp);
		if (len == 0)
			len = 1;
		width += text_point_width(cp);
		s += len;
		n -= len;
	}
	return width;
}
