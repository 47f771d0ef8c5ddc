/* HTML through libxml2's writer, shared by the files html*.c of this room only.
 *
 * Every text goes out through html_text() or html_attribute(): made harmless first (base/text.h),
 * then escaped by the writer.  The page is both well-formed XML and HTML: elements are always
 * closed by a tag of their own, except where HTML has none (html_void). */
#ifndef REPORT_HTML_H
#define REPORT_HTML_H

#include <libxml/xmlwriter.h>

#include "report/words.h"

struct html {
	xmlTextWriterPtr writer;
	xmlBufferPtr page;
	bool failed;             /* a call of the writer failed: there is no memory left */
};

/* A document: `inside` writes head and body, 0 or -1 with err. */
int html_page(int (*inside)(struct html *h, const void *about, struct hs_err *err), const void *about,
	      struct text *out, struct hs_err *err);
/* Its head: title, and the style all pages share before what this one has more. */
void html_head(struct html *h, const char *title, const char *more_style);
void html_open(struct html *h, const char *element);
void html_close(struct html *h);
void html_void(struct html *h);            /* closes an element that has no closing tag */
void html_attribute(struct html *h, const char *name, const char *value);
void html_figure(struct html *h, const char *name, double value); /* two decimals, for drawings */
void html_text(struct html *h, const char *s);
/* A whole element with a class (NULL: none) and a text. */
void html_put(struct html *h, const char *element, const char *class_name, const char *s);
/* The same with what is in t, which is emptied. */
void html_put_text(struct html *h, const char *element, const char *class_name, struct text *t);

/* html_draw.c: one reading as a bar against its band. Nothing when there is nothing to draw. */
struct html_drawing { double low, high, value, u; bool inside, unsure; const char *unit; };
void html_draw(struct html *h, const struct html_drawing *d);
/* A share, 0 to 1, as a bar. */
void html_share(struct html *h, double share);

/* html_moves.c: the first suspect after each thing that changed them. */
int html_moves(struct html *h, struct job *j, struct hs_err *err);

#endif
