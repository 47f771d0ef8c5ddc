/* Shapes of a drawing inside an svg element: this room's html files only. */
#ifndef REPORT_HTML_SHAPES_H
#define REPORT_HTML_SHAPES_H

#include "report/html.h"

/* Drawings are 360 units wide and scaled to the width there is: a phone's, or a column of A4. */
#define SHAPES_WIDTH 360.0
#define SHAPES_LINE 13.0

/* measure: nothing is written, only y moves. */
struct shapes { struct html *h; double y; bool measure; };

void shape_text(struct shapes *d, double x, double y, const char *size, const char *weight, const char *s);
void shape_line(struct shapes *d, double x1, double y1, double x2, double y2);
void shape_box(struct shapes *d, double x, double y, double width, double height, const char *fill,
	       const char *stroke);
/* Words wrapped to the width that is left from x on; y moves down. */
void shape_words(struct shapes *d, double x, const char *size, const char *weight, const char *s);

/* An svg of the class as high as it turns out: `inside` is called twice, first to measure. */
void shapes_draw(struct html *h, const char *class_name, const char *label,
		 void (*inside)(struct shapes *d, const void *about), const void *about);

#endif
