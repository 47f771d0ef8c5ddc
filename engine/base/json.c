/* JSON strings and numbers (RFC 8259). */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"

static void add_unit(struct text *t, uint32_t unit)
{
	text_addf(t, "\\u%04x", (unsigned)unit);
}

/* Beyond U+FFFF an escape is a pair of surrogates. */
static void add_escaped(struct text *t, uint32_t cp)
{
	if (cp < 0x10000) {
		add_unit(t, cp);
		return;
	}
	add_unit(t, 0xD800 + ((cp - 0x10000) >> 10));
	add_unit(t, 0xDC00 + ((cp - 0x10000) & 0x3FF));
}

static void add_point(struct text *t, uint32_t cp, const char *bytes, size_t len)
{
	static const char named[] = "\"\"\\\\\nn\tt\rr\bb\ff"; /* character, letter, ... */

	for (size_t i = 0; named[i]; i += 2)
		if (cp == (unsigned char)named[i]) {
			text_addc(t, '\\');
			text_addc(t, named[i + 1]);
			return;
		}
	/* Escaping what is harmful on a terminal, too, keeps `--json` safe to look at. */
	if (text_point_harmful(cp))
		add_escaped(t, cp);
	else
		text_addn(t, bytes, len);
}

void text_json(struct text *t, const char *s)
{
	size_t n = strlen(s);

	text_addc(t, '"');
	while (n > 0) {
		uint32_t cp;
		size_t len = text_decode(s, n, &cp);
		if (len == 0) {
			text_add(t, "\xEF\xBF\xBD");
			len = 1;
		} else {
			add_point(t, cp, s, len);
		}
		s += len;
		n -= len;
	}
	text_addc(t, '"');
}

/* Fifteen digits always name a normal double written with fifteen or fewer, and %g drops the
 * zeros; the few subnormals have fewer and are searched from one. */
void text_json_number(struct text *t, double x)
{
	char digits[40];

	if (!isfinite(x)) {
		text_add(t, "null");
		return;
	}
	for (int precision = fpclassify(x) == FP_SUBNORMAL ? 1 : 15; precision <= 17; precision++) {
		snprintf(digits, sizeof digits, "%.*g", precision, x);
		if (strtod(digits, NULL) == x)
			break;
	}
	text_add(t, digits);
}
