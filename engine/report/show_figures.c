/* Fault-tree figures of a symptom: its tree handed to cuts.h, and what comes back as text.
 *
 * Basic event: the cause is there and gives the symptom; its probability is the frequency of the cause
 * (over 1000 jobs; over 1 where frequencies are probabilities) times how often it gives it. */
#include <stdio.h>
#include <string.h>

#include "base/mem.h"
#include "report/show_tree.h"

#define COLUMNS 80

struct ready { struct cuts_tree tree; double *q; int *in; struct cuts_gate *gates; };

static int needed(const struct kn_knowledge *kn, int gate, int n)
{
	int k = gate == KN_NONE || kn->gates[gate].op == KN_OR ? 1
		: kn->gates[gate].op == KN_AND		       ? n
							       : kn->gates[gate].k;

	return k < n ? k : n;
}

/* One gate a branch that has causes on this machine, and the top event over them. */
static void make_ready(struct ready *r, const struct show_tree *t)
{
	size_t n = (size_t)t->nleaves + (size_t)t->top->nbranches + 1;
	int at = 0, ngates = 0;
	double unit = t->kn->independent ? 1 : 1000;

	*r = (struct ready){ .q = mem_array(n, sizeof *r->q), .in = mem_array(n, sizeof *r->in),
			     .gates = mem_array(n, sizeof *r->gates) };
	for (int b = 0; b < t->top->nbranches; b++) {
		int from = at, nin;

		for (int i = t->first[b]; i < t->first[b + 1]; i++) {
			r->q[i] = t->leaf[i].weight / unit * t->leaf[i].p;
			r->in[at++] = i;
		}
		nin = at - from;
		if (nin)
			r->gates[ngates++] = (struct cuts_gate){ needed(t->kn, t->top->branches[b].gate, nin),
								 nin, r->in + from };
	}
	for (int g = 0; g < ngates; g++)
		r->in[at + g] = ~g;
	r->gates[ngates] = (struct cuts_gate){ 1, ngates, r->in + at };
	r->tree.nevents = t->nleaves;
	r->tree.q = r->q;
	r->tree.gates = r->gates;
	r->tree.ngates = ngates + 1;
}

static void free_ready(struct ready *r)
{
	mem_free(r->q);
	mem_free(r->in);
	mem_free(r->gates);
}

static void event_name(struct text *out, const struct show_tree *t, int event)
{
	const struct kn_mode *m = &t->kn->modes[t->leaf[event].mode];

	text_addf(out, "%s: %s", t->kn->parts[m->part].title, m->title);
}

static void write_sets(const struct show_tree *t, const struct cuts *c, struct text *out)
{
	text_addf(out, "Minimal cut sets: %.0f", c->nsets);
	if (c->nshown < c->nsets)
		text_addf(out, "; the likeliest %d", c->nshown);
	text_addc(out, '\n');
	for (int i = 0; i < c->nshown; i++) {
		struct text names = { 0 };
		char p[16];

		snprintf(p, sizeof p, "%9.3g  ", c->set[i].p);
		for (int k = 0; k < c->set[i].n; k++) {
			text_add(&names, k ? " + " : "");
			event_name(&names, t, c->set[i].event[k]);
		}
		show_hang(out, p, "           ", text_str(&names));
		text_free(&names);
	}
}

/* Most important first; ties by index. */
static int next_event(const struct ready *r, const struct cuts *c, const unsigned char *done)
{
	int best = -1;

	for (int e = 0; e < r->tree.nevents; e++)
		if (!done[e] && (best < 0 || c->fussell_vesely[e] > c->fussell_vesely[best]))
			best = e;
	return best;
}

static void write_importance(const struct show_tree *t, const struct ready *r, const struct cuts *c,
			     struct text *out)
{
	unsigned char *done = mem_array((size_t)r->tree.nevents + 1, 1);
	int e;

	text_add(out, "Importance, by Fussell-Vesely (F-V):\n"
		      "        p  Birnbaum     F-V  criticality\n");
	while ((e = next_event(r, c, done)) >= 0) {
		struct text name = { 0 };
		char figures[64];

		done[e] = 1;
		snprintf(figures, sizeof figures, "%9.3g  %8.4f  %6.4f  %11.4f  ", r->q[e], c->birnbaum[e],
			 c->fussell_vesely[e], c->criticality[e]);
		event_name(&name, t, e);
		show_hang(out, figures, "                                          ", text_str(&name));
		text_free(&name);
	}
	mem_free(done);
}

int show_figures(const struct show_tree *t, struct text *out, struct hs_err *err)
{
	struct ready r;
	struct cuts c;
	int result;

	make_ready(&r, t);
	result = cuts_work_out(&r.tree, &c, err);
	if (result == 0) {
		text_addf(out, "%s  [%s, %s]\n\n", t->top->title, t->top->id, t->kn->machine);
		text_addf(out, "Probability of the top event: %.6g of all jobs, by the causes below.\n\n", c.top);
		write_sets(t, &c, out);
		text_addc(out, '\n');
		write_importance(t, &r, &c, out);
		text_add(out, "\n");
		text_wrap(out, "Exact, causes taken as independent (IEC 61025; Fault Tree Handbook, NUREG-0492). "
			       "docs/method.md says what each figure is. The ranking of a job does not use them.",
			  COLUMNS, 0, 0);
	}
	cuts_free(&c);
	free_ready(&r);
	return result;
}
