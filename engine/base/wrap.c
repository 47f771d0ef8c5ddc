/* Wrapping to columns, greedy, word by word. */
#include <string.h>

#include "base/text.h"

#define BLANKS " \t\r\v\f\n"

struct wrap {
	struct text *out;
	int width, rest;
	int column;       /* columns used on the current line, its indentation included */
	int indent;       /* owed before the next word when the line is still empty */
	bool line_empty;  /* no word on this line yet */
};

static void end_line(struct wrap *w)
{
	text_addc(w->out, '\n');
	w->indent = w->rest;
	w->column = 0;
	w->line_empty = true;
}

/* Indentation is written with the first word only: an empty line carries no blanks. */
static void begin_line(struct wrap *w)
{
	for (int i = 0; i < w->indent; i++)
		text_addc(w->out, ' ');
	w->column = w->indent;
	w->line_empty = false;
}

/* The longest start of s[0..n) that fits `room` columns, at least one character; marks stay with
 * the character they belong to. */
static size_t fitting(const char *s, size_t n, int room, int *columns)
{
	size_t used = 0;

	*columns = 0;
	while (used < n) {
		uint32_t cp = '?';
		size_t len = text_decode(s + used, n - used, &cp);
		int wide = text_point_width(cp);
		if (used > 0 && *columns + wide > room)
			break;
		*columns += wide;
		used += len ? len : 1;
	}
	return used;
}

static void add_word(struct wrap *w, const char *s, size_t n)
{
	int columns;
	size_t fits = fitting(s, n, w->width - w->column - 1, &columns);

	if (!w->line_empty) {
		if (fits == n && w->column + 1 + columns <= w->width) {
			text_addc(w->out, ' ');
			text_addn(w->out, s, n);
			w->column += 1 + columns;
			return;
		}
		end_line(w);
	}
	while (n > 0) {
		if (!w->line_empty)
			end_line(w);
		begin_line(w);
		fits = fitting(s, n, w->width - w->indent, &columns);
		text_addn(w->out, s, fits);
		w->column += columns;
		s += fits;
		n -= fits;
	}
}

/* Bytes of the word s begins with; a per cent sign stays with its figure. */
static size_t word_length(const char *s)
{
	size_t n = strcspn(s, BLANKS);

	if (n > 0 && s[n] == ' ' && s[n + 1] == '%')
		n += 1 + strcspn(s + n + 1, BLANKS);
	return n;
}

void text_wrap(struct text *t, const char *s, int width, int first, int rest)
{
	struct wrap w = {.out = t, .width = width, .rest = rest, .indent = first,
			 .line_empty = true};

	while (*s) {
		size_t n = word_length(s);

		if (n > 0)
			add_word(&w, s, n);
		else if (*s == '\n')
			end_line(&w);
		s += n ? n : 1;
	}
	if (!w.line_empty)
		end_line(&w);
}
