#include "network.h"

#include <math.h>

#define PARENTS_MAX 16

/* Parents of a node: causes first, then gates; row bit i says whether parent i is there. */
struct parents { int nfaults, ngates, fault[PARENTS_MAX], gate[PARENTS_MAX]; };

static void parent_name(struct text *out, const struct parents *p, int i)
{
	if (i < p->nfaults)
		text_addf(out, "f%d", p->fault[i]);
	else
		text_addf(out, "g%d", p->gate[i - p->nfaults]);
}

static void begin(struct text *out, char kind, int index, const struct parents *p)
{
	text_addf(out, "\"%c%d\": {\"id\": \"%c%d\", \"parents\": [", kind, index, kind, index);
	for (int i = 0; i < p->nfaults + p->ngates; i++) {
		text_add(out, i ? ", \"" : "\"");
		parent_name(out, p, i);
		text_addc(out, '"');
	}
	text_add(out, "], ");
}

static void when(struct text *out, const struct parents *p, unsigned row)
{
	text_add(out, "{\"when\": {");
	for (int i = 0; i < p->nfaults + p->ngates; i++) {
		text_add(out, i ? ", \"" : "\"");
		parent_name(out, p, i);
		text_addf(out, "\": \"%s\"", row >> i & 1 ? "yes" : "no");
	}
	text_add(out, "}, \"then\": ");
}

static void yes_no(struct text *out, double p)
{
	text_add(out, "{\"yes\": ");
	text_json_number(out, p);
	text_add(out, ", \"no\": ");
	text_json_number(out, 1 - p);
	text_add(out, "}");
}

static void cause(struct text *out, const struct kn_knowledge *kn, int f)
{
	const struct parents none = { 0 };

	begin(out, 'f', f, &none);
	text_add(out, "\"states\": [\"yes\", \"no\"], \"cpt\": ");
	yes_no(out, kn->faults[f].weight);
	text_add(out, "}");
}

static void gate(struct text *out, const struct kn_gate *g, int index)
{
	struct parents p = { .nfaults = g->nfaults, .ngates = g->ngates };
	int n = g->nfaults + g->ngates, least = g->op == KN_AND ? n : g->op == KN_OR ? 1 : g->k;

	for (int i = 0; i < g->nfaults; i++)
		p.fault[i] = g->faults[i];
	for (int i = 0; i < g->ngates; i++)
		p.gate[i] = g->gates[i];
	begin(out, 'g', index, &p);
	text_add(out, "\"states\": [\"yes\", \"no\"], \"cpt\": [");
	for (unsigned row = 0; row < 1u << n; row++) {
		text_add(out, row ? ",\n" : "");
		when(out, &p, row);
		yes_no(out, __builtin_popcount(row) >= least);
		text_add(out, "}");
	}
	text_add(out, "]}");
}

/* ---- checks ------------------------------------------------------------------------------------ */

static struct parents over(const struct kn_knowledge *kn, const struct kn_check *c)
{
	struct parents p = { 0 };

	for (int i = 0; c->combine == KN_TABLE && i < c->table->nover; i++)
		if (c->table->over[i].gate != KN_NONE)
			p.gate[p.ngates++] = c->table->over[i].gate;
	for (int f = 0; f < kn->nfaults && p.nfaults < PARENTS_MAX; f++) {
		bool in = c->combine != KN_TABLE && !isnan(c->outcomes[0].vote[f]);

		for (int i = 0; c->combine == KN_TABLE && i < c->table->nover; i++)
			in = in || c->table->over[i].mode == kn->faults[f].mode;
		if (in)
			p.fault[p.nfaults++] = f;
	}
	return p;
}

/* The row of the file's table that a row over causes and gates is. */
static size_t row_of_table(const struct kn_knowledge *kn, const struct kn_table *t,
			   const struct parents *p, unsigned row)
{
	size_t at = 0;

	for (int i = 0; i < t->nover; i++)
		for (int k = 0; k < p->nfaults + p->ngates; k++) {
			bool same = k < p->nfaults ? kn->faults[p->fault[k]].mode == t->over[i].mode
						   : p->gate[k - p->nfaults] == t->over[i].gate;

			if (same && (row >> k & 1))
				at |= (size_t)1 << i;
		}
	return at;
}

/* Noisy-OR: the first outcome stays away with (1 - base) times (1 - vote) of each cause present. */
static double noisy_or(const struct kn_check *c, const struct parents *p, unsigned row)
{
	double stays = 1 - c->outcomes[0].base;

	for (int k = 0; k < p->nfaults; k++)
		if (row >> k & 1)
			stays *= 1 - c->outcomes[0].vote[p->fault[k]];
	return 1 - stays;
}

static void check(struct text *out, const struct kn_knowledge *kn, int index)
{
	const struct kn_check *c = &kn->checks[index];
	struct parents p = over(kn, c);

	begin(out, 'c', index, &p);
	text_add(out, "\"states\": [");
	for (int o = 0; o < c->noutcomes; o++)
		text_addf(out, "%s\"o%d\"", o ? ", " : "", o);
	text_add(out, "], \"cpt\": [");
	for (unsigned row = 0; row < 1u << (p.nfaults + p.ngates); row++) {
		text_add(out, row ? ",\n" : "");
		when(out, &p, row);
		for (int o = 0; o < c->noutcomes; o++) {
			double yes = c->combine == KN_TABLE
				? c->table->p[row_of_table(kn, c->table, &p, row) * (size_t)c->noutcomes +
					      (size_t)o]
				: o ? 1 - noisy_or(c, &p, row) : noisy_or(c, &p, row);

			text_addf(out, "%s\"o%d\": ", o ? ", " : "{", o);
			text_json_number(out, yes);
		}
		text_add(out, "}}");
	}
	text_add(out, "]}");
}

void network_json(struct text *out, const struct kn_knowledge *kn)
{
	text_add(out, "{");
	for (int f = 0; f < kn->nfaults; f++) {
		text_add(out, f ? ",\n" : "");
		cause(out, kn, f);
	}
	for (int g = 0; g < kn->ngates; g++) {
		text_add(out, ",\n");
		gate(out, &kn->gates[g], g);
	}
	for (int c = 0; c < kn->nchecks; c++) {
		text_add(out, ",\n");
		check(out, kn, c);
	}
	text_add(out, "}");
}
