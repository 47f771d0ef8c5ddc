/* A decision chart as text: numbered steps, each answer says where to go on. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "report/chart_words.h"

#define CAUTIONS_MOST 8

/* ---- making ---------------------------------------------------------------------------------------- */

static int holds_of(const struct kn_knowledge *kn, int symptom, int *out)
{
	int n = 0;

	for (int h = 0; h < kn->nholds; h++)
		for (int i = 0; i < kn->holds[h].nsymptoms; i++)
			if (kn->holds[h].symptoms[i] == symptom && (n == 0 || out[n - 1] != h))
				out[n++] = h;
	return n;
}

int report_chart_make(const struct kn_knowledge *kn, int symptom, const char *rates,
		      const struct pl_chart_settings *settings, struct report_chart *out,
		      struct hs_err *err)
{
	struct su_evidence said = { .check = symptom, .place = KN_NONE,
		.exponent = kn->checks[symptom].exponent, .ncells = 2 };
	struct su_case only = { .nevidence = 1, .evidence = &said };
	int *holds = mem_array((size_t)kn->nholds + 1, sizeof *holds);
	struct pl_situation now = { .the_case = &only, .tools = ~(uint64_t)0, .open = 1 };
	struct su_suspects *s;

	memset(out, 0, sizeof *out);
	said.share[kn->checks[symptom].outcomes[0].rest ? 1 : 0] = 1;
	s = su_weigh(kn, &only, NULL, err);
	if (!s) {
		mem_free(holds);
		return -1;
	}
	out->kn = kn;
	out->symptom = symptom;
	out->nholds = holds_of(kn, symptom, holds);
	out->holds = now.holds = holds;
	now.suspects = s;
	now.nholds = out->nholds;
	if (!rates || !pl_rates_named(rates, &now.rates))
		now.rates = pl_rates_default();
	out->rates = now.rates.name;
	pl_chart_make(&now, settings, &out->chart);
	su_free(s);
	return 0;
}

void report_chart_free(struct report_chart *c)
{
	pl_chart_free(&c->chart);
	mem_free((void *)(uintptr_t)c->holds);
	c->holds = NULL;
}

/* ---- words ------------------------------------------------------------------------------------------ */

void chart_minutes(struct text *t, double minutes)
{
	long whole = lround(minutes);

	if (whole < 60)
		text_addf(t, "%ld min", whole);
	else
		text_addf(t, "%ld h %02ld min", whole / 60, whole % 60);
}

void chart_promise(struct text *t, const struct report_chart *c)
{
	const struct pl_chart *p = &c->chart;

	text_add(t, "Who follows it needs ");
	chart_minutes(t, p->expected);
	text_add(t, " on average to a bike that runs right, parts and handing over counted as minutes; no plan "
		    "can need less than ");
	chart_minutes(t, p->bound);
	text_addf(t, ", so none is better by more than %.0f %% of this one.",
		  100 * (p->expected - p->bound) / fmax(p->expected, 1e-9));
	text_addf(t, " Suspects of one in a hundred or more: %d. All tools; costs as in a %s; only the complaint "
		     "is known.", p->suspects, c->rates);
}

static void repair_words(struct text *t, const struct report_chart *c, const struct pl_chart_repair *r)
{
	const struct kn_remedy *m = &c->kn->remedies[r->remedy];

	text_add(t, m->title);
	words_at(t, c->kn, m->per, r->place);
}

void chart_title(struct text *t, const struct report_chart *c, int node)
{
	const struct pl_chart_node *n = &c->chart.node[node];

	if (n->kind == PL_CHART_CHECK) {
		text_add(t, c->kn->checks[n->index].title);
		words_at(t, c->kn, c->kn->checks[n->index].per, n->place);
		return;
	}
	for (int i = 0; i < n->nrepairs; i++) {
		if (i)
			text_add(t, n->kind == PL_CHART_REPAIR ? " and, before it is tried, " : "; then ");
		repair_words(t, c, &n->repair[i]);
	}
	if (n->kind == PL_CHART_OVER)
		text_add(t, "Hand it over, with what was found");
	else if (n->kind == PL_CHART_LAST)
		text_add(t, n->more ? "; then ask the program" : "; then hand it over");
}

static void tool_words(struct text *t, const struct kn_knowledge *kn, uint64_t tools)
{
	bool any = false;

	for (int i = 0; i < kn->ntools; i++)
		if (tools >> i & 1) {
			text_addf(t, "%s%s", any ? ", " : " Needs: ", kn->tools[i].title);
			any = true;
		}
	text_add(t, any ? "." : "");
}

void chart_detail(struct text *t, const struct report_chart *c, int node)
{
	const struct pl_chart_node *n = &c->chart.node[node];

	text_add(t, n->kind == PL_CHART_LAST ? "All of it, on average: " : "");
	chart_minutes(t, n->minutes);
	text_add(t, ".");
	if (n->kind == PL_CHART_CHECK)
		tool_words(t, c->kn, c->kn->checks[n->index].tools);
	text_add(t, n->nmodes ? " Likeliest here: " : "");
	for (int i = 0; i < n->nmodes; i++) {
		const struct kn_mode *m = &c->kn->modes[n->mode[i].mode];

		const char *part = c->kn->parts[m->part].title;

		/* A part whose mode says it all again is named once. */
		text_addf(t, "%s%s%s%s %.0f %%", i ? "; " : "",
			  text_starts_word(m->title, part) ? "" : part,
			  text_starts_word(m->title, part) ? "" : " ", m->title, 100 * n->mode[i].p);
	}
	text_add(t, n->nmodes ? "." : "");
}

void chart_answer(struct text *t, const struct report_chart *c, int node)
{
	const struct pl_chart_node *n = &c->chart.node[node];
	const struct kn_check *k;

	if (n->outcome == KN_NONE) {
		text_addf(t, "still there after it (%.2g %%)",
			  100 * n->reach / fmax(c->chart.node[n->parent].reach, 1e-12));
		return;
	}
	k = &c->kn->checks[c->chart.node[n->parent].index];
	text_add(t, k->outcomes[n->outcome].title);
	if (n->at != KN_NONE)
		words_at(t, c->kn, k->outcomes[n->outcome].local_kind != KN_NONE
					   ? k->outcomes[n->outcome].local_kind : k->per, n->at);
	text_addf(t, " (%.2g %%)", 100 * n->reach / fmax(c->chart.node[n->parent].reach, 1e-12));
}

int chart_cautions(const struct report_chart *c, int node, const struct kn_caution **out, int most)
{
	const struct pl_chart_node *n = &c->chart.node[node];
	int found = 0;

	if (n->kind == PL_CHART_CHECK) {
		const struct kn_check *k = &c->kn->checks[n->index];

		found = words_add_cautions(k->cautions, k->ncautions, out, 0, most);
		found = words_add_path(c->kn, k->access, out, found, most);
	}
	for (int i = 0; i < n->nrepairs; i++) {
		const struct kn_remedy *r = &c->kn->remedies[n->repair[i].remedy];

		found = words_add_cautions(r->cautions, r->ncautions, out, found, most);
		found = words_add_path(c->kn, r->access, out, found, most);
	}
	words_sort_cautions(out, found);
	return found;
}

/* ---- text ------------------------------------------------------------------------------------------ */

static void paragraph(struct text *out, struct text *t, int first, int rest)
{
	text_wrap(out, text_str(t), 80, first, rest);
	text_clear(t);
}

static void head(const struct report_chart *c, struct text *out, struct text *t)
{
	const struct kn_check *top = &c->kn->checks[c->symptom];

	text_addf(t, "%s: decision chart for %s", top->title, c->kn->machine_title);
	paragraph(out, t, 0, 2);
	chart_promise(t, c);
	paragraph(out, t, 0, 0);
	for (int i = 0; i < top->ncautions; i++) {
		text_addf(t, "%s: %s", kn_signal_word(top->cautions[i].signal), top->cautions[i].text);
		paragraph(out, t, 2, 4);
	}
	for (int i = 0; i < c->nholds; i++) {
		const struct kn_hold *h = &c->kn->holds[c->holds[i]];

		text_addf(t, "%s: %s. %s What needs more waits for that and is not on this chart.",
			  kn_signal_word(h->signal), h->title, h->say);
		paragraph(out, t, 2, 4);
	}
}

static void step(const struct report_chart *c, int node, struct text *out, struct text *t)
{
	static const char *const kinds[] = { "CHECK", "REPAIR", "REPAIR", "END" };
	const struct pl_chart_node *n = &c->chart.node[node];
	const struct kn_caution *caution[CAUTIONS_MOST];
	int ncautions = chart_cautions(c, node, caution, CAUTIONS_MOST);

	text_addf(t, "%d %s: ", node + 1, kinds[n->kind]);
	chart_title(t, c, node);
	text_addc(out, '\n');
	paragraph(out, t, node < 9 ? 2 : node < 99 ? 1 : 0, 5);
	chart_detail(t, c, node);
	paragraph(out, t, 5, 5);
	for (int i = 0; i < ncautions; i++) {
		text_addf(t, "%s: %s", kn_signal_word(caution[i]->signal), caution[i]->text);
		paragraph(out, t, 5, 7);
	}
	for (int i = n->first; i >= 0; i = c->chart.node[i].next) {
		chart_answer(t, c, i);
		text_addf(t, ": go on at %d", i + 1);
		paragraph(out, t, 7, 9);
	}
}

void report_chart_text(const struct report_chart *c, struct text *out)
{
	struct text t = { 0 };

	head(c, out, &t);
	for (int i = 0; i < c->chart.nnodes; i++)
		step(c, i, out, &t);
	text_free(&t);
}
