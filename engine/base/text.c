/* The growing buffer.  Invariant: when s is not NULL, s[len] is NUL and len < cap. */
#include "base/text.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/mem.h"

void text_free(struct text *t)
{
	mem_free(t->s);
	memset(t, 0, sizeof *t);
}

void text_clear(struct text *t)
{
	t->len = 0;
	if (t->s)
		t->s[0] = '\0';
}

/* Room for `extra` more bytes and the NUL; doubles, so that adding is linear over all. */
static void grow(struct text *t, size_t extra)
{
	if (extra > SIZE_MAX / 2 - t->len - 1) {
		/* Larger than memory: asking for it is how exhaustion is reported. */
		t->s = mem_resize(t->s, SIZE_MAX);
	}
	size_t need = t->len + extra + 1;
	if (need <= t->cap)
		return;
	size_t cap = t->cap < 32 ? 64 : t->cap * 2;
	if (cap < need)
		cap = need;
	t->s = mem_resize(t->s, cap);
	t->cap = cap;
}

void text_addn(struct text *t, const char *s, size_t n)
{
	grow(t, n);
	if (n)
		memcpy(t->s + t->len, s, n);
	t->len += n;
	t->s[t->len] = '\0';
}

void text_add(struct text *t, const char *s)
{
	text_addn(t, s, strlen(s));
}

void text_addc(struct text *t, char c)
{
	text_addn(t, &c, 1);
}

void text_addf(struct text *t, const char *format, ...)
{
	va_list args, again;

	va_start(args, format);
	va_copy(again, args);
	int len = vsnprintf(NULL, 0, format, args);
	if (len >= 0) {
		grow(t, (size_t)len);
		vsnprintf(t->s + t->len, (size_t)len + 1, format, again);
		t->len += (size_t)len;
	}
	va_end(again);
	va_end(args);
}

const char *text_str(const struct text *t)
{
	return t->s ? t->s : "";
}
