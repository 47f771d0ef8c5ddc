/* Boxes, lines and words of a drawing. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/html_shapes.h"

#define LETTER 5.9      /* width of a letter of size 11 on average, with room */
#define BOLD 1.12       /* bold letters are so much wider */

void shape_text(struct shapes *d, double x, double y, const char *size, const char *weight, const char *s)
{
	if (d->measure)
		return;
	html_open(d->h, "text");
	html_figure(d->h, "x", x);
	html_figure(d->h, "y", y);
	html_attribute(d->h, "font-size", size);
	html_attribute(d->h, "font-weight", weight);
	html_text(d->h, s);
	html_close(d->h);
}

void shape_line(struct shapes *d, double x1, double y1, double x2, double y2)
{
	if (d->measure)
		return;
	html_open(d->h, "line");
	html_figure(d->h, "x1", x1);
	html_figure(d->h, "y1", y1);
	html_figure(d->h, "x2", x2);
	html_figure(d->h, "y2", y2);
	html_attribute(d->h, "stroke", "#33557a");
	html_close(d->h);
}

void shape_box(struct shapes *d, double x, double y, double width, double height, const char *fill,
		    const char *stroke)
{
	if (d->measure)
		return;
	html_open(d->h, "rect");
	html_figure(d->h, "x", x);
	html_figure(d->h, "y", y);
	html_figure(d->h, "width", width);
	html_figure(d->h, "height", height);
	html_attribute(d->h, "fill", fill);
	html_attribute(d->h, "stroke", stroke);
	html_close(d->h);
}

void shape_words(struct shapes *d, double x, const char *size, const char *weight, const char *s)
{
	double letter = LETTER * strtod(size, NULL) / 11 * (strcmp(weight, "bold") == 0 ? BOLD : 1);
	struct text lines = { 0 };
	const char *end;

	text_wrap(&lines, s, (int)((SHAPES_WIDTH - x - 4) / letter), 0, 0);
	for (const char *at = text_str(&lines); (end = strchr(at, '\n')); at = end + 1) {
		char line[128];

		snprintf(line, sizeof line, "%.*s", (int)(end - at), at);
		d->y += SHAPES_LINE;
		shape_text(d, x, d->y, size, weight, line);
	}
	text_free(&lines);
}

void shapes_draw(struct html *h, const char *class_name, const char *label,
		 void (*inside)(struct shapes *d, const void *about), const void *about)
{
	struct shapes measure = { h, 0, true }, d = { h, 0, false };
	struct text box = { 0 };

	inside(&measure, about);
	text_addf(&box, "0 0 %.0f %.2f", SHAPES_WIDTH, measure.y);
	html_open(h, "svg");
	html_attribute(h, "class", class_name);
	html_attribute(h, "viewBox", text_str(&box));
	html_attribute(h, "role", "img");
	html_attribute(h, "aria-label", label);
	inside(&d, about);
	html_close(h);
	text_free(&box);
}
