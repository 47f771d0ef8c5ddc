/* Filling in a struct hs_err.  The first error wins; long texts are cut between characters. */
#include "base/err.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Removes a UTF-8 sequence that the end of the buffer cut in two. */
static void drop_cut_character(char *s, size_t len)
{
	size_t start = len;

	while (start > 0 && ((unsigned char)s[start - 1] & 0xC0) == 0x80)
		start--;
	if (start == 0)
		return;
	unsigned char lead = (unsigned char)s[start - 1];
	size_t need = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : lead >= 0xC0 ? 2 : 1;
	if (len - (start - 1) < need)
		s[start - 1] = '\0';
}

static void copy_cut(char *to, size_t size, const char *from)
{
	size_t len = strlen(from);

	if (len >= size)
		len = size - 1;
	memcpy(to, from, len);
	to[len] = '\0';
	if (from[len] != '\0')
		drop_cut_character(to, len);
}

__attribute__((format(printf, 5, 0)))
static int fill(struct hs_err *err, enum hs_code code, const char *file, int line,
		const char *format, va_list args)
{
	if (!err || err->code != HS_OK)
		return -1;
	err->code = code;
	err->line = line;
	copy_cut(err->file, sizeof err->file, file ? file : "");
	int len = vsnprintf(err->text, sizeof err->text, format, args);
	if (len < 0)
		err->text[0] = '\0';
	else if ((size_t)len >= sizeof err->text)
		drop_cut_character(err->text, sizeof err->text - 1);
	return -1;
}

int err_set(struct hs_err *err, enum hs_code code, const char *format, ...)
{
	va_list args;

	va_start(args, format);
	fill(err, code, NULL, 0, format, args);
	va_end(args);
	return -1;
}

int err_at(struct hs_err *err, enum hs_code code, const char *file, int line, const char *format,
	   ...)
{
	va_list args;

	va_start(args, format);
	fill(err, code, file, line, format, args);
	va_end(args);
	return -1;
}

void err_clear(struct hs_err *err)
{
	if (err)
		memset(err, 0, sizeof *err);
}
