/* Making foreign bytes safe for a terminal, an ASCII terminal and HTML.
 *
 * What may do harm: control characters (they move the cursor, set the title, write the clipboard,
 * type into the terminal), among them the 8-bit ones U+0080..9F that XML allows; bidirectional
 * overrides and characters without width (they make a text read differently from what it is). */
#include <string.h>

#include "base/text.h"

bool text_point_harmful(uint32_t cp)
{
	return (cp < 0x20 && cp != '\n') || (cp >= 0x7F && cp <= 0x9F) || cp == 0x00AD ||
	       cp == 0x061C || cp == 0x180E || (cp >= 0x200B && cp <= 0x200F) ||
	       (cp >= 0x2028 && cp <= 0x202E) || (cp >= 0x2060 && cp <= 0x206F) || cp == 0xFEFF ||
	       (cp >= 0xFFF9 && cp <= 0xFFFB) || (cp & 0xFFFE) == 0xFFFE ||
	       (cp >= 0xE0000 && cp <= 0xE007F);
}

static void add_escape(struct text *t, uint32_t cp)
{
	if (cp < 0x80)
		text_addf(t, "\\x%02x", (unsigned)cp);
	else
		text_addf(t, "\\u%04x", (unsigned)cp);
}

/* Adds the safe form of the character at s[0..n); returns the bytes used. */
static size_t add_clean(struct text *t, const char *s, size_t n)
{
	uint32_t cp;
	size_t len = text_decode(s, n, &cp);

	if (len == 0) {
		text_addf(t, "\\x%02x", (unsigned)(unsigned char)*s);
		return 1;
	}
	if (cp == '\t')
		text_addc(t, ' ');
	else if (text_point_harmful(cp))
		add_escape(t, cp);
	else
		text_addn(t, s, len);
	return len;
}

void text_cleann(struct text *t, const char *s, size_t n)
{
	text_addn(t, "", 0);
	while (n > 0) {
		size_t used = add_clean(t, s, n);
		s += used;
		n -= used;
	}
}

void text_clean(struct text *t, const char *s)
{
	text_cleann(t, s, strlen(s));
}

void text_html(struct text *t, const char *s)
{
	size_t n = strlen(s);

	text_addn(t, "", 0);
	while (n > 0) {
		const char *entity = *s == '&'  ? "&amp;"
				     : *s == '<'  ? "&lt;"
				     : *s == '>'  ? "&gt;"
				     : *s == '"'  ? "&quot;"
				     : *s == '\'' ? "&#39;"
						  : NULL;
		size_t used = 1;
		if (entity)
			text_add(t, entity);
		else
			used = add_clean(t, s, n);
		s += used;
		n -= used;
	}
}
