/* Paragraphs for a terminal. */
#include <langinfo.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "base/mem.h"
#include "talk/out.h"

/* COLUMNS when it is set, else what the terminal says; 80 at most because long lines are hard
 * to read, 40 at least because tables need them. */
static int columns(FILE *file)
{
	const char *told = getenv("COLUMNS");
	struct winsize size;
	int n = 80;

	if (told && atoi(told) > 0)
		n = atoi(told);
	else if (ioctl(fileno(file), TIOCGWINSZ, &size) == 0 && size.ws_col > 0)
		n = size.ws_col;
	return n < 40 ? 40 : n > 80 ? 80 : n;
}

void out_start(struct talk_out *o, FILE *file)
{
	o->file = file;
	o->width = columns(file);
	o->ascii = strcmp(nl_langinfo(CODESET), "UTF-8") != 0;
}

void out_safe(const struct talk_out *o, struct text *t, const char *s)
{
	struct text clean = {0};

	text_clean(&clean, s);
	if (o->ascii)
		text_ascii(t, text_str(&clean));
	else
		text_add(t, text_str(&clean));
	text_free(&clean);
}

static void wrapped(const struct talk_out *o, struct text *lines, int first, int rest,
		    const char *format, va_list args) __attribute__((format(printf, 5, 0)));
static void wrapped(const struct talk_out *o, struct text *lines, int first, int rest,
		    const char *format, va_list args)
{
	char *made = NULL;
	struct text safe = {0};

	if (vasprintf(&made, format, args) < 0)
		return;
	out_safe(o, &safe, made);
	text_wrap(lines, text_str(&safe), o->width, first, rest);
	text_free(&safe);
	free(made);
}

void out_say(struct talk_out *o, int first, int rest, const char *format, ...)
{
	struct text lines = {0};
	va_list args;

	va_start(args, format);
	wrapped(o, &lines, first, rest, format, args);
	va_end(args);
	fputs(text_str(&lines), o->file);
	text_free(&lines);
}

/* Wrapping folds blanks, so the label is put into the indent afterwards. One that is too long has
 * a line of its own. */
void out_item(struct talk_out *o, int column, const char *label, const char *format, ...)
{
	struct text lines = {0}, safe = {0};
	va_list args;
	int width;

	va_start(args, format);
	wrapped(o, &lines, column, column, format, args);
	va_end(args);
	out_safe(o, &safe, label);
	width = text_width(text_str(&safe)) + 2;
	fprintf(o->file, "  %s", text_str(&safe));
	if (width < column)
		fprintf(o->file, "%*s%s", column - width, "", text_str(&lines) + column);
	else
		fprintf(o->file, "\n%s", text_str(&lines));
	text_free(&lines);
	text_free(&safe);
}

void out_blank(struct talk_out *o)
{
	fputc('\n', o->file);
}

void out_lines(struct talk_out *o, const char *lines)
{
	struct text safe = {0};

	out_safe(o, &safe, lines);
	fputs(text_str(&safe), o->file);
	text_free(&safe);
}

void out_minutes(struct text *t, double minutes)
{
	long whole = lround(minutes);

	if (minutes < 1)
		text_add(t, "under a minute");
	else if (whole < 60)
		text_addf(t, "%ld min", whole);
	else if (whole % 60 == 0)
		text_addf(t, "%ld h", whole / 60);
	else
		text_addf(t, "%ld h %ld min", whole / 60, whole % 60);
}

void out_percent(struct text *t, double p)
{
	if (p < .01)
		text_add(t, "under 1 %");
	else if (p > .99)
		text_add(t, "over 99 %");
	else
		text_addf(t, "%.0f %%", 100 * p);
}
