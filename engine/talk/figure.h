/* Asking for a figure of the owner's manual: in a job and when a bike is described. */
#ifndef TALK_FIGURE_H
#define TALK_FIGURE_H

#include "reading/figure.h"
#include "talk/inner.h"

/* A value's own figure: "1 to 5 ohm at 20 degC". */
void figure_of_value(struct text *out, const struct kn_value *v);

/* Asks with `question`. TALK_TEXT: *out is set; else as from talk_ask().  What looks like a slip of
 * size against v's own figure is asked about.  by_default NULL: Enter means nothing.  fits: NULL, or
 * whether the figure can be used; it sets err when not. */
enum talk_reply figure_ask(struct talk *t, const char *question, const struct kn_value *v,
			   const char *by_default,
			   int (*fits)(void *with, const struct rd_figure *f, struct hs_err *err),
			   void *with, struct rd_figure *out);

#endif
