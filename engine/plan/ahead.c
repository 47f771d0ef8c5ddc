/* What may be hoped for from here on: the cost had the fault been known, and minutes for every bit
 * still missing.  The base plan repairs without asking any more; where that is hopeless (it hands
 * over) it cannot tell a state where two cheap questions would settle the matter from one where
 * nothing will.  docs/method.md 6. */
#include <math.h>

#include "plan/problem.h"

#define HARDER_LATER 2        /* the best bits are asked for first: later ones cost this much more */
#define NOT_SEARCHED_FOR 2    /* bits' worth of minutes spent on the unlikely before handing over */
#define BEST_CHECKS 4         /* minutes per bit are taken from so many of the best checks */

/* The remedy that clears a fault for least, per fault; -1 when none does. */
void pl_prepare(struct pl_problem *p)
{
	double *least = mem_array((size_t)p->nfaults + 1, sizeof *least);

	p->cure = arena_array(p->arena, (size_t)p->nfaults + 1, sizeof *p->cure);
	for (int f = 0; f < p->nfaults; f++) {
		p->cure[f] = -1;
		least[f] = INFINITY;
	}
	for (int r = 0; r < p->nremedies; r++)
		for (int i = 0; i < p->remedy[r].nclears; i++) {
			const struct pl_clear *c = &p->remedy[r].clears[i];
			double cost = (p->remedy[r].cost + pl_open_cost(p, 1, p->remedy[r].access)) / c->p;

			if (cost < least[c->fault]) {
				least[c->fault] = cost;
				p->cure[c->fault] = r;
			}
		}
	mem_free(least);
}

/* Minutes to clear the set if it were known, every remedy once; *label stands for what is done. */
static double known(const struct pl_problem *p, const struct pl_set *s, uint64_t open, int *label)
{
	double cost = p->handling;

	*label = 0;
	for (int i = 0; i < s->n; i++) {
		int r = p->cure[s->fault[i]];
		bool again = false;

		if (r < 0)
			return p->hand_over;
		for (int k = 0; k < i; k++)
			again = again || p->cure[s->fault[k]] == r;
		if (again)
			continue;
		*label = *label * 31 + r + 1;
		cost += p->remedy[r].cost + pl_open_cost(p, open, p->remedy[r].access);
		open |= p->access[p->remedy[r].access].path;
	}
	return cost;
}

/* Shares by label, summed where they fall in a small table: no sorting, the same order everywhere. */
#define LABELS 1024

struct share { int label; double w, cost; };

static void add_share(struct share *s, int label, double w, double cost)
{
	unsigned at = (unsigned)label * 2654435761u >> 22;

	for (int tries = 0; tries < LABELS; tries++, at = (at + 1) % LABELS)
		if (s[at].w <= 0 || s[at].label == label) {
			s[at].label = label;
			s[at].w += w;
			s[at].cost += w * cost;
			return;
		}
}

/* What is unlikely takes many bits to find: nobody goes on for it beyond what handing over costs. */
double pl_hope(struct pl_problem *p, const struct pl_belief *b, uint64_t open)
{
	struct share s[LABELS] = { { 0 } };
	double sum = 0, uncured = pl_belief_uncured(b);
	double most = p->hand_over + NOT_SEARCHED_FOR * p->minutes_per_bit;

	if (!(p->minutes_per_bit > 0) || !(uncured > 0))
		return INFINITY;
	for (int i = 0; i < b->n; i++) {
		int label;
		double cost;

		if (!b->set[i])
			continue;
		cost = known(p, &p->set[b->set[i]], open, &label);
		add_share(s, label, b->w[i], cost);
	}
	for (int i = 0; i < LABELS; i++)
		if (s[i].w > 0)
			sum += fmin(s[i].cost - s[i].w * log2(s[i].w / uncured) * p->minutes_per_bit,
				    s[i].w * most);
	return sum;
}

/* From the checks there are: what a bit costs now, and rather more later. */
void pl_price_of_bits(struct pl_problem *p, const struct pl_belief *b, uint64_t open)
{
	double best[BEST_CHECKS] = { 0 }, sum = 0;

	p->minutes_per_bit = 0;
	for (int c = 0; c < p->nchecks; c++) {
		double rate = pl_information(p, b, c) / (pl_check_cost(p, open, c) + 1);

		for (int i = 0; i < BEST_CHECKS; i++)
			if (rate > best[i]) {
				double t = best[i];

				best[i] = rate;
				rate = t;
			}
	}
	for (int i = 0; i < BEST_CHECKS; i++)
		sum += best[i] / BEST_CHECKS;
	if (sum > 0)
		p->minutes_per_bit = HARDER_LATER / sum;
}
