/* Looking ahead over checks and remedies on top of the base plan. */
#include <math.h>
#include <stdlib.h>

#include "plan/problem.h"

#define FIRST_REMEDIES 5

struct candidate { double score; int option; };

static int by_score(const void *a, const void *b)
{
	const struct candidate *x = a, *y = b;

	return x->score > y->score ? -1 : x->score < y->score ? 1 : x->option - y->option;
}

/* The checks that tell most per minute; information only orders them, the value decides. */
static int promising_checks(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
			    struct candidate *c, int most)
{
	int n = 0;

	for (int i = 0; i < p->nchecks; i++) {
		double bits = pl_information(p, b, i);

		if (bits > 1e-4)
			c[n++] = (struct candidate){ bits / (pl_check_cost(p, open, i) + 2), i };
	}
	qsort(c, (size_t)n, sizeof *c, by_score);
	return n < most ? n : most;
}

static int promising_remedies(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
			      struct candidate *c, int most)
{
	double *mass = mem_array((size_t)p->nfaults + 1, sizeof *mass);
	int n = 0;

	for (int i = 0; i < b->n; i++)
		for (int f = 0; f < p->set[b->set[i]].n; f++)
			mass[p->set[b->set[i]].fault[f]] += b->w[i] / p->set[b->set[i]].n;
	for (int r = 0; r < p->nremedies; r++) {
		double gain = 0;

		for (int i = 0; i < p->remedy[r].nclears; i++)
			gain += mass[p->remedy[r].clears[i].fault] * p->remedy[r].clears[i].p;
		if (gain > 1e-4)
			c[n++] = (struct candidate){ gain / pl_remedy_cost(p, open, r), r };
	}
	mem_free(mass);
	qsort(c, (size_t)n, sizeof *c, by_score);
	return n < most ? n : most;
}

static double check_value(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int check,
			  int depth, double limit)
{
	double value = pl_check_cost(p, open, check) * pl_belief_uncured(b);
	uint64_t then = pl_after_check(p, open, check);
	struct pl_belief after = { 0 };

	for (int o = 0; o < p->check[check].ncells && value < limit; o++) {
		double share = pl_belief_cell(p, b, check, o, &after);

		if (share > 1e-9)
			value += share * pl_value(p, &after, then, depth - 1);
	}
	pl_belief_free(&after);
	return value;
}

static double remedy_value(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
			   int remedy, int depth)
{
	double value = pl_remedy_cost(p, open, remedy) + p->handling, left;
	struct pl_belief after = { 0 };

	value *= pl_belief_uncured(b);
	left = pl_belief_repaired(p, b, remedy, &after);
	if (left > 1e-9)
		value += left * pl_value(p, &after, pl_after_remedy(p, open, remedy), depth - 1);
	pl_belief_free(&after);
	return value;
}

double pl_value(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int depth)
{
	double best = pl_base(p, b, open, NULL);
	struct candidate *c;
	int n;

	if (depth <= 0 || p->work >= p->work_limit || best < 2 * p->handling)
		return best;
	c = mem_array((size_t)(p->nchecks + p->nremedies) + 1, sizeof *c);
	n = promising_checks(p, b, open, c, p->width);
	for (int i = 0; i < n && p->work < p->work_limit; i++)
		best = fmin(best, check_value(p, b, open, c[i].option, depth, best));
	n = promising_remedies(p, b, open, c, 1);
	for (int i = 0; i < n && depth > 1 && p->work < p->work_limit; i++)
		best = fmin(best, remedy_value(p, b, open, c[i].option, depth));
	mem_free(c);
	return best;
}

/* ---- the first step ------------------------------------------------------------------------------ */

static int by_value(const void *a, const void *b)
{
	const struct pl_choice *x = a, *y = b;

	if (x->value != y->value)
		return x->value < y->value ? -1 : 1;
	if (x->check != y->check)
		return x->check ? -1 : 1;
	return x->option - y->option;
}

/* The best few again, looked one step further. */
static void look_further(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
			 struct pl_choice *c, int n)
{
	int again = n < p->width ? n : p->width;

	if (p->depth < 2)
		return;
	for (int i = 0; i < again; i++) {
		if (p->work >= p->work_limit)
			again = i;
		else if (c[i].check)
			c[i].value = check_value(p, b, open, c[i].option, p->depth, INFINITY);
		else
			c[i].value = fmin(c[i].value, remedy_value(p, b, open, c[i].option, p->depth));
	}
	qsort(c, (size_t)again, sizeof *c, by_value);
}

int pl_first_steps(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
		   struct pl_choice *out, int most, double *base)
{
	size_t cap = (size_t)(p->nchecks + p->nremedies) + 2;
	struct candidate *c = mem_array(cap, sizeof *c);
	struct pl_choice *all = mem_array(cap, sizeof *all);
	int n, nall = 0, first;
	bool found = false;

	*base = pl_base(p, b, open, &first);
	n = promising_checks(p, b, open, c, p->first_width);
	for (int i = 0; i < n; i++)
		all[nall++] = (struct pl_choice){ true, c[i].option,
			check_value(p, b, open, c[i].option, 1, INFINITY) };
	n = promising_remedies(p, b, open, c, FIRST_REMEDIES);
	for (int i = 0; i < n; i++) {
		double value = remedy_value(p, b, open, c[i].option, 2);

		/* Several remedies done before the bike is tried can be better than one. */
		all[nall++] = (struct pl_choice){ false, c[i].option,
			c[i].option == first ? fmin(value, *base) : value };
		found = found || c[i].option == first;
	}
	if (first >= 0 && !found)
		all[nall++] = (struct pl_choice){ false, first, *base };
	qsort(all, (size_t)nall, sizeof *all, by_value);
	look_further(p, b, open, all, nall);
	for (n = 0; n < nall && n < most; n++)
		out[n] = all[n];
	mem_free(c);
	mem_free(all);
	return n;
}
