/* A lower bound on the expected cost of any plan: the cost had the fault been known, and at each of the
 * first steps the least that any step can do about not knowing (docs/method.md 6). */
#include <math.h>

#include "plan/bound.h"

/* Cheapest way to clear one fault, the others of the set left as they are: one try that succeeds. */
static double one_known(const struct pl_problem *p, int fault, uint64_t open)
{
	double least = INFINITY;

	for (int r = 0; r < p->nremedies; r++)
		for (int i = 0; i < p->remedy[r].nclears; i++)
			if (p->remedy[r].clears[i].fault == fault)
				least = fmin(least, p->remedy[r].cost +
						    pl_open_cost(p, open, p->remedy[r].access));
	return least + p->handling;
}

/* Cheapest pair of remedies that clears both, or one that does. */
static double two_known(const struct pl_problem *p, int a, int b, uint64_t open)
{
	double least = INFINITY;

	for (int r = 0; r < p->nremedies; r++)
		for (int q = 0; q < p->nremedies; q++) {
			bool clears_a = false, clears_b = false;
			uint64_t then = open | p->access[p->remedy[r].access].path;
			double cost = p->remedy[r].cost + pl_open_cost(p, open, p->remedy[r].access);

			for (int i = 0; i < p->remedy[r].nclears; i++)
				clears_a = clears_a || p->remedy[r].clears[i].fault == a;
			for (int i = 0; i < p->remedy[q].nclears && clears_a; i++)
				clears_b = clears_b || p->remedy[q].clears[i].fault == b;
			if (!clears_a || !clears_b)
				continue;
			if (q != r)
				cost += p->remedy[q].cost + pl_open_cost(p, then, p->remedy[q].access);
			least = fmin(least, cost);
		}
	return least + p->handling;
}

double pl_known_least(const struct pl_problem *p, int set, uint64_t open)
{
	const struct pl_set *s = &p->set[set];
	double most = 0;

	for (int i = 0; i < s->n; i++) {
		most = fmax(most, one_known(p, s->fault[i], open));
		for (int k = i + 1; k < s->n; k++)
			most = fmax(most, two_known(p, s->fault[i], s->fault[k], open));
	}
	return fmin(most, s->n ? p->hand_over : 0);
}

static double known(const struct pl_problem *p, const struct pl_belief *b, uint64_t open)
{
	double sum = 0;

	for (int i = 0; i < b->n; i++)
		sum += b->w[i] * pl_known_least(p, b->set[i], open);
	return sum;
}

/* A check first.  What is open then can only be more: access counts as if it were opened for nothing. */
static double after_check(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int check,
			  int depth)
{
	double sum = pl_check_cost(p, open, check) * pl_belief_uncured(b), kept = p->check[check].cost;
	uint64_t then = open | pl_after_check(p, open, check);
	struct pl_belief after = { 0 };

	if (depth <= 1) {
		pl_belief_free(&after);
		return sum + known(p, b, then);
	}
	p->check[check].cost = INFINITY;
	for (int o = 0; o < p->check[check].ncells; o++) {
		double share = pl_belief_cell(p, b, check, o, &after);

		sum += share > 0 ? share * pl_lower_bound(p, &after, then, depth - 1) : 0;
	}
	p->check[check].cost = kept;
	pl_belief_free(&after);
	return sum;
}

/* A remedy among the first ones done before the bike is tried: those it does not clear pay for it too. */
static double after_remedy(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int remedy)
{
	const struct pl_remedy_option *r = &p->remedy[remedy];
	uint64_t then = open | p->access[r->access].path;
	double opening = pl_open_cost(p, open, r->access), sum = 0;

	for (int i = 0; i < b->n; i++) {
		const struct pl_set *s = &p->set[b->set[i]];
		bool clears = false;

		for (int f = 0; f < s->n; f++)
			for (int c = 0; c < r->nclears; c++)
				clears = clears || r->clears[c].fault == s->fault[f];
		if (s->n == 0)
			continue;
		sum += b->w[i] * (clears ? fmax(pl_known_least(p, b->set[i], open),
						opening + r->cost + p->handling)
					 : opening + r->cost + pl_known_least(p, b->set[i], then));
	}
	return sum;
}

double pl_lower_bound(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int depth)
{
	double least = pl_belief_uncured(b) * p->hand_over, floor = known(p, b, open);

	if (depth <= 0 || least <= floor)
		return fmin(floor, least);
	for (int c = 0; c < p->nchecks; c++)
		if (p->check[c].cost < INFINITY)
			least = fmin(least, after_check(p, b, open, c, depth));
	for (int r = 0; r < p->nremedies; r++)
		least = fmin(least, after_remedy(p, b, open, r));
	return fmax(floor, least);
}
