/* A decision chart as a page: every step a box with its number, joined to the answer that leads to it;
 * a drawing each, so that a printer can break between them.  Plain shapes and lines, no scripts. */
#include <math.h>

#include "report/chart_words.h"
#include "report/html_shapes.h"

#define INDENT 11.0
#define DEEP 9                 /* steps are not moved further to the right than this */
#define PAD 6.0
#define CAUTIONS_MOST 8

static const char style[] =
	"svg.chart{display:block;max-width:34em;margin:0}svg.chart+svg.chart{margin-top:0}"
	"@media print{svg.chart{break-inside:avoid;max-width:130mm}}";

static int depth_of(const struct report_chart *c, int node)
{
	int depth = 0;

	for (int up = c->chart.node[node].parent; up >= 0; up = c->chart.node[up].parent)
		depth++;
	return depth < DEEP ? depth : DEEP;
}

static bool last_answer(const struct report_chart *c, int node)
{
	return c->chart.node[node].next < 0;
}

/* The lines of those above whose answers are not all drawn yet. */
static void trunks(struct shapes *d, const struct report_chart *c, int node, double top, double bottom)
{
	for (int n = node; n >= 0 && c->chart.node[n].parent >= 0; n = c->chart.node[n].parent) {
		double x = depth_of(c, c->chart.node[n].parent) * INDENT + PAD;

		if (n != node && !last_answer(c, n))
			shape_line(d, x, top, x, bottom);
	}
}

static void answer_line(struct shapes *d, const struct report_chart *c, int node, double x)
{
	struct text t = { 0 };

	if (c->chart.node[node].parent < 0)
		return;
	chart_answer(&t, c, node);
	shape_words(d, x + 2, "10", "bold", text_str(&t));
	d->y += 4;
	text_free(&t);
}

static void inside(struct shapes *d, const struct report_chart *c, int node, double x)
{
	const struct pl_chart_node *n = &c->chart.node[node];
	const struct kn_caution *caution[CAUTIONS_MOST];
	int ncautions = chart_cautions(c, node, caution, CAUTIONS_MOST);
	struct text t = { 0 };

	text_addf(&t, "%d  ", node + 1);
	chart_title(&t, c, node);
	shape_words(d, x, "11", n->kind == PL_CHART_CHECK ? "bold" : "normal", text_str(&t));
	text_clear(&t);
	chart_detail(&t, c, node);
	shape_words(d, x, "9", "normal", text_str(&t));
	for (int i = 0; i < ncautions; i++) {
		text_clear(&t);
		text_addf(&t, "%s: %s", kn_signal_word(caution[i]->signal), caution[i]->text);
		shape_words(d, x, "9", "bold", text_str(&t));
	}
	d->y += PAD;
	text_free(&t);
}

static void draw_step(struct shapes *d, const struct report_chart *c, int node)
{
	static const char *const fills[] = { "#eef3f8", "#f6efdd", "#f6efdd", "#eeeeee" };
	const struct pl_chart_node *n = &c->chart.node[node];
	double x = depth_of(c, node) * INDENT + 2, top;
	struct shapes size = *d;

	answer_line(d, c, node, x);
	top = d->y;
	size.measure = true;
	size.y = top;
	inside(&size, c, node, x + PAD);
	shape_box(d, x, top, SHAPES_WIDTH - x - 2, size.y - top, fills[n->kind], "#33557a");
	inside(d, c, node, x + PAD);
	d->y += 5;
	if (n->first >= 0)
		shape_line(d, x + PAD - 2, size.y, x + PAD - 2, d->y);
	if (n->parent >= 0) {
		double from = depth_of(c, n->parent) * INDENT + PAD;

		shape_line(d, from, 0, from, last_answer(c, node) ? top + 9 : d->y);
		if (from < x)
			shape_line(d, from, top + 9, x, top + 9);
	}
	trunks(d, c, node, 0, d->y);
}

struct one_step { const struct report_chart *chart; int node; };

static void inside_drawing(struct shapes *d, const void *about)
{
	const struct one_step *s = about;

	d->y = 2;
	draw_step(d, s->chart, s->node);
}

static void drawing(struct html *h, const struct report_chart *c, int node)
{
	struct text label = { 0 };

	text_addf(&label, "Step %d: ", node + 1);
	chart_title(&label, c, node);
	shapes_draw(h, "chart", text_str(&label), inside_drawing, &(struct one_step){ c, node });
	text_free(&label);
}

static void head(struct html *h, const struct report_chart *c)
{
	const struct kn_check *top = &c->kn->checks[c->symptom];
	struct text t = { 0 };

	text_addf(&t, "Machine: %s.", c->kn->machine_title);
	html_put_text(h, "p", NULL, &t);
	chart_promise(&t, c);
	html_put_text(h, "p", NULL, &t);
	for (int i = 0; i < top->ncautions; i++) {
		text_addf(&t, "%s: %s", kn_signal_word(top->cautions[i].signal), top->cautions[i].text);
		html_put_text(h, "p", "signal", &t);
	}
	for (int i = 0; i < c->nholds; i++) {
		const struct kn_hold *hold = &c->kn->holds[c->holds[i]];

		text_addf(&t, "%s: %s. %s What needs more waits for that and is not on this chart.",
			  kn_signal_word(hold->signal), hold->title, hold->say);
		html_put_text(h, "p", "signal", &t);
	}
	html_put(h, "p", "small", "Blue: look or measure. Yellow: repair, then try the bike. Grey: the end. The "
				  "words on the line above a box are the answer that leads to it.");
}

static int page(struct html *h, const void *about, struct hs_err *err)
{
	const struct report_chart *c = about;
	struct text title = { 0 };

	(void)err;
	text_addf(&title, "Decision chart: %s", c->kn->checks[c->symptom].title);
	html_head(h, text_str(&title), style);
	html_open(h, "body");
	html_put_text(h, "h1", NULL, &title);
	head(h, c);
	for (int i = 0; i < c->chart.nnodes; i++)
		drawing(h, c, i);
	html_close(h);
	return 0;
}

int report_chart_html(const struct report_chart *c, struct text *out, struct hs_err *err)
{
	return html_page(page, c, out, err);
}
