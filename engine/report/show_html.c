/* The fault tree of a symptom as a page with drawings: one for the top event and one for each branch, so
 * that a printer can break between them.  Plain shapes and lines of text, no scripts. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "report/html.h"
#include "report/html_shapes.h"
#include "report/show_tree.h"

#define WIDTH SHAPES_WIDTH
#define TRUNK 12.0      /* x of the line from the top event down */
#define BRANCH 26.0     /* x of a branch's box */
#define STEM 40.0       /* x of the line from a branch's gate down */
#define CAUSE 58.0      /* x of a cause's words */
#define LINE SHAPES_LINE
#define BAR 90.0

static const char style[] =
	"svg.tree{max-width:34em;margin:0}svg.tree+svg.tree{margin-top:0}"
	"@media print{svg.tree{break-inside:avoid;max-width:120mm}}";

/* ---- shapes -------------------------------------------------------------------------------------- */

/* Shapes of IEC 60617-12 and IEC 61025: a box with the sign of the function in it. */
static void put_gate(struct shapes *d, double x, double y, const char *sign)
{
	shape_box(d, x - 9, y, 18, 14, "#ffffff", "#33557a");
	if (d->measure)
		return;
	html_open(d->h, "text");
	html_figure(d->h, "x", x);
	html_figure(d->h, "y", y + 10.5);
	html_attribute(d->h, "text-anchor", "middle");
	html_attribute(d->h, "font-size", "9");
	html_text(d->h, sign);
	html_close(d->h);
}

static void put_circle(struct shapes *d, double x, double y)
{
	if (d->measure)
		return;
	html_open(d->h, "circle");
	html_figure(d->h, "cx", x);
	html_figure(d->h, "cy", y);
	html_attribute(d->h, "r", "5");
	html_attribute(d->h, "fill", "#ffffff");
	html_attribute(d->h, "stroke", "#33557a");
	html_close(d->h);
}

/* ---- the tree ------------------------------------------------------------------------------------ */

static const char *sign_of(const struct kn_knowledge *kn, int gate, char sign[16])
{
	if (gate == KN_NONE || kn->gates[gate].op == KN_OR)
		return "\xe2\x89\xa5" "1";
	if (kn->gates[gate].op == KN_AND)
		return "&";
	snprintf(sign, 16, "\xe2\x89\xa5%d", kn->gates[gate].k);
	return sign;
}

static void draw_top(struct shapes *d, const struct show_tree *t)
{
	struct shapes words = { d->h, 0, true };
	char sign[16];

	shape_words(&words, TRUNK, "13", "bold", t->top->title);
	shape_box(d, 2, 2, WIDTH - 4, words.y + 8, "#eef3f8", "#33557a");
	d->y = 2;
	shape_words(d, TRUNK, "13", "bold", t->top->title);
	d->y += 8;
	shape_line(d, TRUNK, d->y, TRUNK, d->y + 6);
	put_gate(d, TRUNK, d->y + 6, sign_of(t->kn, KN_NONE, sign));
	d->y += 20;
	shape_line(d, TRUNK, d->y, TRUNK, d->y + 6);
	d->y += 6;
}

static void draw_bar(struct shapes *d, double x, double share, const char *fill)
{
	shape_box(d, x, d->y - 7, BAR, 7, "#e3e3e3", "none");
	shape_box(d, x, d->y - 7, fmax(BAR * fmin(share, 1), .5), 7, fill, "none");
}

static void draw_leaf(struct shapes *d, const struct show_tree *t, const struct show_leaf *l, double largest)
{
	const struct kn_mode *m = &t->kn->modes[l->mode];
	struct text s = { 0 };
	double from = d->y;

	text_addf(&s, "%s: %s", t->kn->parts[m->part].title, m->title);
	shape_words(d, CAUSE, "11", "normal", text_str(&s));
	shape_line(d, STEM, from, STEM, from + LINE - 4);
	shape_line(d, STEM, from + LINE - 4, CAUSE - 12, from + LINE - 4);
	put_circle(d, CAUSE - 8, from + LINE - 4);
	text_clear(&s);
	d->y += LINE;
	draw_bar(d, CAUSE, l->weight / largest, "#8a8a8a");
	text_addf(&s, "%.3g per 1000 jobs, gives it %.0f %%", l->weight, 100 * l->p);
	shape_text(d, CAUSE + BAR + 6, d->y, "9", "normal", text_str(&s));
	text_clear(&s);
	d->y += LINE - 2;
	draw_bar(d, CAUSE, l->now, "#33557a");
	text_addf(&s, "now %.0f %%", 100 * l->now);
	shape_text(d, CAUSE + BAR + 6, d->y, "9", "bold", text_str(&s));
	text_clear(&s);
	for (int i = 0; i < SHOW_LOOKERS && l->by[i].check != KN_NONE; i++)
		text_addf(&s, "%s%s", i ? "; " : "Looked at by: ", t->kn->checks[l->by[i].check].title);
	if (s.len)
		shape_words(d, CAUSE, "9", "normal", text_str(&s));
	text_free(&s);
	d->y += 5;
}

static void draw_leaves(struct shapes *d, const struct show_tree *t, int b, double largest)
{
	for (int i = t->first[b]; i < t->first[b + 1]; i++) {
		double from = d->y;

		draw_leaf(d, t, &t->leaf[i], largest);
		if (i + 1 < t->first[b + 1])
			shape_line(d, STEM, from, STEM, d->y);
	}
}

static void draw_branch(struct shapes *d, const struct show_tree *t, int b, bool last, double largest)
{
	struct shapes words = { d->h, 0, true };
	double middle;
	char sign[16];

	shape_words(&words, BRANCH + 8, "11", "bold", t->top->branches[b].title);
	middle = 4 + (words.y + 7) / 2;
	shape_box(d, BRANCH, 4, WIDTH - BRANCH - 2, words.y + 7, "#f4f4f4", "#33557a");
	shape_line(d, TRUNK, middle, BRANCH, middle);
	d->y = 4;
	shape_words(d, BRANCH + 8, "11", "bold", t->top->branches[b].title);
	d->y += 7;
	put_gate(d, STEM, d->y, sign_of(t->kn, t->top->branches[b].gate, sign));
	d->y += 14;
	draw_leaves(d, t, b, largest);
	shape_line(d, TRUNK, 0, TRUNK, last ? middle : d->y);
}

/* ---- the page ------------------------------------------------------------------------------------- */

static double largest_weight(const struct show_tree *t)
{
	double largest = 0;

	for (int i = 0; i < t->nleaves; i++)
		largest = fmax(largest, t->leaf[i].weight);
	return largest > 0 ? largest : 1;
}

struct one_branch { const struct show_tree *t; int b; bool last; };

static void inside_drawing(struct shapes *d, const void *about)
{
	const struct one_branch *o = about;

	if (o->b < 0)
		draw_top(d, o->t);
	else
		draw_branch(d, o->t, o->b, o->last, largest_weight(o->t));
}

/* b -1: the top event. */
static void drawing(struct html *h, const struct show_tree *t, int b, bool last)
{
	shapes_draw(h, "tree", b < 0 ? t->top->title : t->top->branches[b].title, inside_drawing,
		    &(struct one_branch){ t, b, last });
}

static void legend(struct html *h, const struct show_tree *t)
{
	struct text s = { 0 };

	text_addf(&s, "Machine: %s. ", t->kn->machine_title);
	if (t->job)
		text_addf(&s, "Now: as job %s stands.", job_id(t->job));
	else
		text_add(&s, "Now: when nothing but the complaint is known.");
	html_put_text(h, "p", NULL, &s);
	if (t->top->says && *t->top->says) {
		text_addf(&s, "\"%s\"", t->top->says);
		html_put_text(h, "p", "typed", &s);
	}
	for (int i = 0; i < t->top->ncautions; i++) {
		text_addf(&s, "%s: %s", kn_signal_word(t->top->cautions[i].signal), t->top->cautions[i].text);
		html_put_text(h, "p", "signal", &s);
	}
	html_put(h, "p", "small",
		 "\xe2\x89\xa5" "1: any one of them gives it; &: all together; \xe2\x89\xa5k: at least k. Grey: how often "
		 "the cause is there, against the commonest here; blue: how likely it is now.");
}

static int page(struct html *h, const void *about, struct hs_err *err)
{
	const struct show_tree *t = about;
	struct text title = { 0 };
	int last = t->top->nbranches - 1;

	(void)err;
	text_addf(&title, "Fault tree: %s", t->top->title);
	html_head(h, text_str(&title), style);
	html_open(h, "body");
	html_put_text(h, "h1", NULL, &title);
	legend(h, t);
	drawing(h, t, -1, false);
	while (last >= 0 && t->first[last] == t->first[last + 1])
		last--;
	for (int b = 0; b <= last; b++)
		if (t->first[b] < t->first[b + 1])
			drawing(h, t, b, b == last);
	html_close(h);
	return 0;
}

int show_html(const struct show_tree *t, struct text *out, struct hs_err *err)
{
	return html_page(page, t, out, err);
}
