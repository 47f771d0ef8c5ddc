/* Looking ahead over checks and remedies on top of the base plan. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "plan/problem.h"

#define PL_DEEPER_MOST 16
#define DEEPER_COSTS 4
#define REPAIRS_DEEPER 2     /* repairs among the steps looked at further */
#define FIRST_REMEDIES 5
#define REMEDIES_INSIDE 2  /* single ones, and as many groups, behind the first step */

#define WORK_LIMIT 250000     /* sets and remedies gone through per advice; counted, never timed */
#define FIRST_WIDTH 40        /* checks weighed as the first step */
#define WIDTH 4               /* checks weighed behind it, and first steps looked at again */
#define DEPTH 5

void pl_limits(struct pl_problem *p)
{
	p->work_limit = WORK_LIMIT;
	p->first_width = FIRST_WIDTH;
	p->width = WIDTH;
	p->depth = DEPTH;
}

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
		double bits = p->check[i].asked || p->check[i].far ? 0 : pl_information(p, b, i);

		if (bits > 1e-4)
			c[n++] = (struct candidate){ bits / (pl_check_cost(p, open, i) + 2), i };
	}
	qsort(c, (size_t)n, sizeof *c, by_score);
	return n < most ? n : most;
}

/* Behind the first step only what is promising as a first step is looked at. */
static int first_checks(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
			struct candidate *c)
{
	int n;

	for (int i = 0; i < p->nchecks; i++)
		p->check[i].far = false;
	n = promising_checks(p, b, open, c, p->first_width);
	for (int i = 0; i < p->nchecks; i++)
		p->check[i].far = true;
	for (int i = 0; i < n; i++)
		p->check[c[i].option].far = false;
	return n;
}

static struct pl_group alone(int remedy)
{
	return (struct pl_group){ .n = 1, .remedy = { remedy } };
}

/* Single remedies by what they cure per minute, and the best group behind every access state. */
static int promising_groups(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
			    struct pl_group *out, int most)
{
	struct candidate *c = mem_array((size_t)p->nremedies + 1, sizeof *c);
	double *mass = mem_array((size_t)p->nfaults + 1, sizeof *mass);
	int n = 0, singles, total;

	for (int i = 0; i < b->n; i++)
		for (int f = 0; f < p->set[b->set[i]].n; f++)
			mass[p->set[b->set[i]].fault[f]] += b->w[i] / p->set[b->set[i]].n;
	for (int r = 0; r < p->nremedies; r++) {
		struct pl_group one = alone(r);
		double gain = 0;

		for (int i = 0; i < p->remedy[r].nclears; i++)
			gain += mass[p->remedy[r].clears[i].fault] * p->remedy[r].clears[i].p;
		if (gain > 1e-4)
			c[n++] = (struct candidate){ gain / pl_group_cost(p, open, &one), r };
	}
	qsort(c, (size_t)n, sizeof *c, by_score);
	singles = n < most ? n : most;
	for (int i = 0; i < singles; i++)
		out[i] = alone(c[i].option);
	total = singles + pl_groups(p, b, open, out + singles, most);
	for (int i = singles; i < total;) {
		if (out[i].n < 2)
			out[i] = out[--total]; /* a single one is there already, or too poor */
		else
			i++;
	}
	mem_free(mass);
	mem_free(c);
	return total;
}

double pl_check_value(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int check,
		      int depth, double limit)
{
	double value = pl_check_cost(p, open, check) * pl_belief_uncured(b);
	uint64_t then = pl_after_check(p, open, check);
	struct pl_belief after = { 0 };

	pl_check_mark(p, check, true);
	for (int o = 0; o < p->check[check].ncells && value < limit; o++) {
		double share = pl_belief_cell(p, b, check, o, &after);

		if (share > 1e-9)
			value += share * pl_value(p, &after, then, depth - 1);
	}
	pl_check_mark(p, check, false);
	pl_belief_free(&after);
	return value;
}

static double group_value(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
			  const struct pl_group *g, int depth)
{
	double value = pl_group_cost(p, open, g) * pl_belief_uncured(b), left;
	struct pl_belief after = { 0 };
	uint64_t then = open;

	for (int i = 0; i < g->n; i++)
		then = pl_after_remedy(p, then | p->access[p->remedy[g->remedy[i]].access].path,
				       g->remedy[i]);
	left = pl_belief_repaired(p, b, g, &after);
	if (left > 1e-9)
		value += left * pl_value(p, &after, then, depth - 1);
	pl_belief_free(&after);
	return value;
}

double pl_value(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int depth)
{
	double best = fmin(pl_base(p, b, open, NULL), pl_hope(p, b, open));
	struct candidate *c;
	struct pl_group g[2 * REMEDIES_INSIDE];
	int n;

	if (depth <= 0 || p->work >= p->work_limit || best < 2 * p->handling)
		return best;
	c = mem_array((size_t)p->nchecks + 1, sizeof *c);
	n = promising_checks(p, b, open, c, p->width);
	for (int i = 0; i < n && p->work < p->work_limit; i++)
		best = fmin(best, pl_check_value(p, b, open, c[i].option, depth, best));
	mem_free(c);
	n = depth > 1 ? promising_groups(p, b, open, g, REMEDIES_INSIDE) : 0;
	for (int i = 0; i < n && p->work < p->work_limit; i++)
		best = fmin(best, group_value(p, b, open, &g[i], depth));
	return best;
}

/* ---- the first step ------------------------------------------------------------------------------ */

double pl_weighed(const struct pl_choice *c)
{
	return c->value + c->charge;
}

/* To a millionth of a minute: this before that, or that before this, costs the same but for rounding, and
 * rounding decides nothing. */
static int by_value(const void *a, const void *b)
{
	const struct pl_choice *x = a, *y = b;

	double a_value = nearbyint(1e6 * pl_weighed(x)), b_value = nearbyint(1e6 * pl_weighed(y));

	if (a_value != b_value)
		return a_value < b_value ? -1 : 1;
	if (x->check != y->check)
		return x->check ? -1 : 1;
	return x->option - y->option;
}

/* One more step of look-ahead for all of c[0..n), or for none: values of different depth are not
 * compared. False when the work ran out. */
static bool one_deeper(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
		       struct pl_choice *c, int n, int depth)
{
	double value[PL_DEEPER_MOST];

	for (int i = 0; i < n; i++) {
		value[i] = c[i].check ? pl_check_value(p, b, open, c[i].option, depth, INFINITY)
				      : group_value(p, b, open, &c[i].group, depth);
		if (p->work >= p->work_limit)
			return false;
	}
	for (int i = 0; i < n; i++)
		c[i].value = fmin(c[i].value, value[i]);
	return true;
}

/* Brings the best checks and the best repairs to the front, some of both: what is looked at further
 * must not be all of one kind. Returns how many. */
static int some_of_both(struct pl_problem *p, struct pl_choice *c, int n)
{
	int checks = 0, repairs = 0, front = 0;

	for (int i = 0; i < n; i++) {
		int *taken = c[i].check ? &checks : &repairs;
		struct pl_choice x = c[i];

		if (*taken >= (x.check ? p->width - 1 : REPAIRS_DEEPER))
			continue;
		(*taken)++;
		for (int k = i; k > front; k--)
			c[k] = c[k - 1];
		c[front++] = x;
	}
	return front;
}

/* The best few again and again, looked further, as long as the work lasts. */
static void look_further(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
			 struct pl_choice *c, int n)
{
	int again = some_of_both(p, c, n);
	long before = p->work, pass = 0;

	for (int depth = 2; depth <= p->depth; depth++, before = p->work) {
		/* A pass takes several times the work of the one before: not begun in vain. */
		if (DEEPER_COSTS * pass > p->work_limit - p->work)
			return;
		if (!one_deeper(p, b, open, c, again, depth))
			return;
		pass = p->work - before;
		qsort(c, (size_t)again, sizeof *c, by_value);
	}
}

/* Where a check is as good as the repair that is first, it is the check. */
static void check_before_repair(const struct pl_problem *p, struct pl_choice *c, int n)
{
	for (int i = 0; i < n && pl_weighed(&c[i]) - pl_weighed(&c[0]) < p->even; i++)
		if (c[i].check) {
			struct pl_choice check = c[i];

			memmove(c + 1, c, (size_t)i * sizeof *c);
			c[0] = check;
			return;
		}
}

int pl_first_steps(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
		   struct pl_choice *out, int most, double *base)
{
	size_t cap = (size_t)p->nchecks + 2 * FIRST_REMEDIES + 2 + PL_LOOK_BEFORE + (size_t)p->naccesses;
	struct candidate *c = mem_array(cap, sizeof *c);
	struct pl_choice *all = mem_array(cap, sizeof *all);
	struct pl_group g[2 * FIRST_REMEDIES];
	int n, nall = 0, first;

	*base = pl_base(p, b, open, &first);
	pl_prepare(p);
	pl_price_of_bits(p, b, open);
	n = first_checks(p, b, open, c);
	for (int i = 0; i < n; i++)
		all[nall++] = (struct pl_choice){ .check = true, .option = c[i].option,
			.value = pl_check_value(p, b, open, c[i].option, 1, INFINITY) };
	n = promising_groups(p, b, open, g, FIRST_REMEDIES);
	for (int i = 0; i < n; i++)
		all[nall++] = (struct pl_choice){ .option = g[i].remedy[0], .group = g[i],
			.value = group_value(p, b, open, &g[i], 1) };
	if (first >= 0 && nall == 0)
		all[nall++] = (struct pl_choice){ .option = first, .group = alone(first), .value = *base };
	qsort(all, (size_t)nall, sizeof *all, by_value);
	look_further(p, b, open, all, nall);
	qsort(all, (size_t)nall, sizeof *all, by_value);
	nall = pl_look_onward(p, b, open, all, nall);
	qsort(all, (size_t)nall, sizeof *all, by_value);
	nall = pl_look_before(p, b, open, all, nall);
	qsort(all, (size_t)nall, sizeof *all, by_value);
	check_before_repair(p, all, nall);
	n = nall < most ? nall : most;
	memcpy(out, all, (size_t)n * sizeof *out);
	mem_free(c);
	mem_free(all);
	return n;
}
