/* Lines from a pipe or a file, read one by one without line editing: readline on something that
 * is not a terminal echoes, interprets control characters and reads byte by byte.
 *
 * Empty lines and lines that begin with # are passed over, so that a script can be laid out and
 * commented; the word `go` stands for an empty answer.  What is read is echoed behind the prompt:
 * the output reads like the talk itself. */
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/mem.h"
#include "talk/input.h"

struct input {
	FILE *file;        /* NULL: a person */
	const char *name;
	long line;
};

static bool is_person(const char *path)
{
	return !path && isatty(STDIN_FILENO);
}

struct input *input_open(const char *path, const char *history, struct hs_err *err)
{
	struct input *in = mem_alloc(sizeof *in);

	if (path && strcmp(path, "-") == 0)
		path = NULL;
	in->name = path ? path : "standard input";
	if (path) {
		in->file = fopen(path, "re");
		if (!in->file) {
			err_set(err, HS_IO, "The script %s cannot be read: %s.", path,
				file_reason(errno));
			mem_free(in);
			return NULL;
		}
	} else if (!is_person(path)) {
		in->file = stdin;
	} else {
		terminal_open(history);
	}
	return in;
}

void input_close(struct input *in)
{
	if (!in)
		return;
	if (!in->file)
		terminal_close();
	else if (in->file != stdin)
		fclose(in->file);
	mem_free(in);
}

bool input_is_person(const struct input *in)
{
	return !in->file;
}

const char *input_name(const struct input *in)
{
	return in->name;
}

long input_line(const struct input *in)
{
	return in->line;
}

/* One line of any length, of which INPUT_LINE_MAX + 1 bytes are kept.  False at the end. */
static bool whole_line(struct input *in, struct text *line)
{
	int c = getc(in->file);

	text_clear(line);
	if (c == EOF)
		return false;
	in->line++;
	for (; c != EOF && c != '\n'; c = getc(in->file))
		if (line->len <= INPUT_LINE_MAX)
			text_addc(line, (char)c);
	if (line->len > 0 && line->s[line->len - 1] == '\r')
		line->s[--line->len] = '\0';
	return true;
}

static bool passed_over(const struct text *line)
{
	const char *s = text_str(line);

	s += strspn(s, " \t");
	return *s == '#' || (*s == '\0' && strlen(text_str(line)) == line->len);
}

static enum input_got checked(struct text *line, struct hs_err *why)
{
	if (line->len > INPUT_LINE_MAX) {
		err_set(why, HS_BAD_INPUT, "The line is longer than %d bytes.", INPUT_LINE_MAX);
		return INPUT_BAD;
	}
	if (strlen(text_str(line)) != line->len || !text_valid_utf8(text_str(line), line->len)) {
		err_set(why, HS_BAD_INPUT, "The line has bytes in it that are not text (UTF-8).");
		return INPUT_BAD;
	}
	return INPUT_LINE;
}

/* A paste of several lines arrives as one line with the ends inside. Its first line is kept. */
static enum input_got unpasted(struct text *line, struct hs_err *why)
{
	int lines = 1;
	char *end;

	while (line->len > 0 && (line->s[line->len - 1] == '\n' || line->s[line->len - 1] == '\r'))
		line->s[--line->len] = '\0';
	for (size_t i = 0; i < line->len; i++) {
		if (line->s[i] == '\r')
			line->s[i] = '\n';
		lines += line->s[i] == '\n';
	}
	end = line->s ? strchr(line->s, '\n') : NULL;
	if (!end)
		return checked(line, why);
	*end = '\0';
	line->len = (size_t)(end - line->s);
	err_set(why, HS_BAD_INPUT, "%d lines were pasted and an answer is one line: here is the first.",
		lines);
	return INPUT_BAD;
}

enum input_got input_read(struct input *in, const char *prompt, const char *prefill,
			  const char *const *names, int n, struct text *line, struct hs_err *why)
{
	if (!in->file) {
		enum input_got got = terminal_read(prompt, prefill, names, n, line);
		return got == INPUT_LINE ? unpasted(line, why) : got;
	}
	do {
		if (!whole_line(in, line)) {
			printf("%s\n", prompt);
			return INPUT_END;
		}
	} while (passed_over(line));
	fputs(prompt, stdout);
	enum input_got got = checked(line, why);
	if (got == INPUT_LINE) {
		struct text safe = {0};
		text_clean(&safe, text_str(line));
		puts(text_str(&safe));
		text_free(&safe);
	} else {
		putchar('\n');
	}
	return got;
}
