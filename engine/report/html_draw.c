/* Drawings: plain shapes with a line of text, no script, no style but attributes. */
#include <math.h>

#include "report/html.h"

/* In units of the drawing; it is scaled to the width there is. */
#define WIDTH 300.0
#define BAR_TOP 4.0
#define BAR_HEIGHT 10.0
#define TEXT_LINE 26.0
#define EDGE 6.0

struct scale { double from, to; };

static double x_of(const struct scale *s, double value)
{
	return EDGE + (WIDTH - 2 * EDGE) * (value - s->from) / (s->to - s->from);
}

static void take_in(struct scale *s, double value)
{
	if (!isfinite(value))
		return;
	s->from = fmin(s->from, value);
	s->to = fmax(s->to, value);
}

/* Room for the band, the reading and twice its uncertainty, and a tenth on both sides. */
static bool find_scale(const struct html_drawing *d, struct scale *s)
{
	double room;

	*s = (struct scale){ d->value, d->value };
	take_in(s, d->low);
	take_in(s, d->high);
	take_in(s, d->value - 2 * d->u);
	take_in(s, d->value + 2 * d->u);
	room = s->to - s->from;
	if (!(room > 0))
		room = fabs(d->value) > 0 ? fabs(d->value) : 1;
	s->from -= .1 * room;
	s->to += .1 * room;
	return isfinite(s->from) && isfinite(s->to) && s->to > s->from;
}

static void box(struct html *h, double left, double right, double top, double height,
		const char *fill)
{
	html_open(h, "rect");
	html_figure(h, "x", left);
	html_figure(h, "y", top);
	html_figure(h, "width", fmax(right - left, .5));
	html_figure(h, "height", height);
	html_attribute(h, "fill", fill);
	html_close(h);
}

static void words(struct html *h, double x, const char *anchor, const char *s)
{
	html_open(h, "text");
	html_figure(h, "x", x);
	html_figure(h, "y", TEXT_LINE);
	html_attribute(h, "text-anchor", anchor);
	html_attribute(h, "font-size", "9");
	html_attribute(h, "fill", "#333333");
	html_text(h, s);
	html_close(h);
}

static void limit(struct html *h, const struct scale *s, double value, bool low)
{
	struct text t = { 0 };

	if (!isfinite(value))
		return;
	text_addf(&t, "%g", value);
	words(h, x_of(s, value), low ? "start" : "end", text_str(&t));
	text_free(&t);
}

static void describe(struct text *t, const struct html_drawing *d)
{
	text_addf(t, "%.4g %s", d->value, d->unit);
	if (isfinite(d->low) && isfinite(d->high))
		text_addf(t, ", band %g to %g", d->low, d->high);
	else if (isfinite(d->high))
		text_addf(t, ", at most %g", d->high);
	else
		text_addf(t, ", at least %g", d->low);
}

void html_draw(struct html *h, const struct html_drawing *d)
{
	const char *colour = d->unsure ? "#7a4d00" : d->inside ? "#14532d" : "#a30000";
	struct scale s;
	struct text label = { 0 };

	if ((!isfinite(d->low) && !isfinite(d->high)) || !isfinite(d->value) || !find_scale(d, &s))
		return;
	describe(&label, d);
	html_open(h, "svg");
	html_attribute(h, "class", "reading");
	html_attribute(h, "viewBox", "0 0 300 30");
	html_attribute(h, "role", "img");
	html_attribute(h, "aria-label", text_str(&label));
	box(h, EDGE, WIDTH - EDGE, BAR_TOP, BAR_HEIGHT, "#e3e3e3");
	box(h, isfinite(d->low) ? x_of(&s, d->low) : EDGE,
	    isfinite(d->high) ? x_of(&s, d->high) : WIDTH - EDGE, BAR_TOP, BAR_HEIGHT, "#9ad1a4");
	box(h, x_of(&s, d->value - 2 * d->u), x_of(&s, d->value + 2 * d->u),
	    BAR_TOP + BAR_HEIGHT / 2 - 1, 2, colour);
	box(h, x_of(&s, d->value) - 1.5, x_of(&s, d->value) + 1.5, BAR_TOP - 3, BAR_HEIGHT + 6, colour);
	limit(h, &s, d->low, true);
	limit(h, &s, d->high, false);
	html_close(h);
	text_free(&label);
}

void html_share(struct html *h, double share)
{
	html_open(h, "svg");
	html_attribute(h, "class", "share");
	html_attribute(h, "viewBox", "0 0 100 8");
	html_attribute(h, "preserveAspectRatio", "none");
	html_attribute(h, "aria-hidden", "true");
	box(h, 0, 100, 0, 8, "#e3e3e3");
	box(h, 0, 100 * fmin(fmax(share, 0), 1), 0, 8, "#33557a");
	html_close(h);
}
