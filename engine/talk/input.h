/* Where answers come from: a person at a terminal (terminal.c) or a pipe or file (stream.c). */
#ifndef TALK_INPUT_H
#define TALK_INPUT_H

#include <stdbool.h>

#include "base/err.h"
#include "base/text.h"

#define INPUT_LINE_MAX 4000   /* bytes of one answer */

enum input_got {
	INPUT_LINE,
	INPUT_END,      /* end of the file, or Ctrl-D on an empty line */
	INPUT_DROPPED,  /* Ctrl-C: the line is gone, ask again */
	INPUT_LEAVE,    /* Ctrl-C twice with no key between */
	INPUT_BAD       /* not an answer (too long, not UTF-8, several lines pasted); why says it */
};

struct input;

/* NULL with err when the script cannot be opened. path NULL: standard input, at a terminal with
 * line editing.  history: file to keep typed lines in, NULL for none. */
struct input *input_open(const char *path, const char *history, struct hs_err *err);
void input_close(struct input *in);
bool input_is_person(const struct input *in);
const char *input_name(const struct input *in);     /* "standard input", or the script's path */
long input_line(const struct input *in);            /* number of the line read last */

/* Shows `prompt`, reads one line without its end into `line`.  `prefill` (NULL for none) stands in
 * the line already, for a person to edit.  names[0..n) are what TAB completes. */
enum input_got input_read(struct input *in, const char *prompt, const char *prefill,
			  const char *const *names, int n, struct text *line, struct hs_err *why);

/* The terminal's side of it; stream.c chooses. */
enum input_got terminal_read(const char *prompt, const char *prefill, const char *const *names,
			     int n, struct text *line);
void terminal_open(const char *history);
void terminal_close(void);

#endif
