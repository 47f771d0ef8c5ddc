/* What goes to the screen: paragraphs wrapped to the terminal, append-only, no colour.
 *
 * Every text passes text_clean() here, so nothing from a file or a keyboard can steer the
 * terminal; where the terminal has no UTF-8, text_ascii() as well. */
#ifndef TALK_OUT_H
#define TALK_OUT_H

#include <stdbool.h>
#include <stdio.h>

#include "base/text.h"

struct talk_out {
	FILE *file;
	int width;    /* columns: 40 to 80 */
	bool ascii;
};

void out_start(struct talk_out *o, FILE *file);
/* One paragraph; `first` and `rest` are the indents of its first and of its other lines. */
void out_say(struct talk_out *o, int first, int rest, const char *format, ...)
	__attribute__((format(printf, 4, 5)));
/* An entry of a list: `label` at column 2, the text from `column` on. */
void out_item(struct talk_out *o, int column, const char *label, const char *format, ...)
	__attribute__((format(printf, 4, 5)));
void out_blank(struct talk_out *o);
/* Lines that are laid out already (a report). */
void out_lines(struct talk_out *o, const char *lines);
/* Text made safe for this terminal, without wrapping: for prompts. */
void out_safe(const struct talk_out *o, struct text *t, const char *s);

/* "15 min", "1 h 25 min", "under a minute". */
void out_minutes(struct text *t, double minutes);
/* "62 %", "under 1 %". */
void out_percent(struct text *t, double p);

#endif
