/* Text: a growing buffer, UTF-8, display width, wrapping, cleaning for a terminal, ASCII fallback.
 *
 * Everything shown to a person goes through a struct text.  text_clean() is the one place that
 * makes foreign bytes safe for a terminal (docs/robustness.md B5): C0 except newline, DEL, C1,
 * bidi controls, zero-width characters and invalid UTF-8 become visible escapes. */
#ifndef BASE_TEXT_H
#define BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct text {
	char *s;      /* always NUL-terminated once anything was added; NULL when empty */
	size_t len, cap;
};

void text_free(struct text *t);
void text_clear(struct text *t);
void text_add(struct text *t, const char *s);
void text_addn(struct text *t, const char *s, size_t n);
void text_addc(struct text *t, char c);
void text_addf(struct text *t, const char *format, ...) __attribute__((format(printf, 2, 3)));
const char *text_str(const struct text *t);   /* never NULL */

/* Adds `s` wrapped to `width` columns, a per cent sign kept with its figure.  The first line is
 * indented by `first` columns, the others by `rest`.  White space is folded; a newline in `s` is kept
 * as a line break.  No trailing newline is missing: every line ends in one.  Words longer than a line
 * are cut. */
void text_wrap(struct text *t, const char *s, int width, int first, int rest);

int text_width(const char *s);                /* columns; invalid bytes count 1 */
int text_point_width(uint32_t point);         /* 0, 1 or 2 columns, in every locale */

/* The first character of s[0..n): how many bytes it takes, 0 when they are not UTF-8. */
size_t text_decode(const char *s, size_t n, uint32_t *point);
bool text_valid_utf8(const char *s, size_t n);
bool text_point_harmful(uint32_t point);      /* what text_clean() makes visible */
void text_clean(struct text *t, const char *s); /* a tab becomes one space */
void text_cleann(struct text *t, const char *s, size_t n);

/* Own table: degree sign -> " deg", ohm -> "ohm", micro -> "u", dashes, quotes, arrows, fractions;
 * never "?" for a character used in our own texts. */
void text_ascii(struct text *t, const char *s);

/* Strings a person typed: ASCII-case-insensitive comparisons and near misses. */
bool text_same_word(const char *a, const char *b);
bool text_starts_word(const char *word, const char *prefix); /* case-insensitive prefix */
int text_distance(const char *a, const char *b);             /* Damerau-Levenshtein, capped at 9 */
/* The nearest of names[0..n) when it is near enough to be a slip, else NULL. */
const char *text_near(const char *typed, const char *const *names, int n);

/* JSON string with quotes; controls escaped, invalid UTF-8 replaced by U+FFFD. */
void text_json(struct text *t, const char *s);
void text_json_number(struct text *t, double x);  /* shortest that reads back; null if not finite */
void text_html(struct text *t, const char *s);    /* & < > " ' escaped, controls cleaned */

#endif
