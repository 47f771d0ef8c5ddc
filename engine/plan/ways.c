#include "plan/ways.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "plan/options.h"

#define RUNS 24
#define STEPS_MOST 25
#define WORK 12000            /* per step: less than for the advice itself */
#define WIDTH 10
#define LIGHT 1e-4            /* fault sets lighter than that are dropped on the way */

struct run { int remedy, place, checks; double minutes, money; };

/* Points spread evenly over (0, 1) in every coordinate: golden-ratio and prime-root steps. */
static double spread(int run, int step)
{
	double x = .5 + (run + 1) * .6180339887498949 + step * (run + 1) * .7548776662466927 +
		   step * .3819660112501051;

	return x - floor(x);
}

static int draw_set(const struct pl_belief *b, double at)
{
	int i = 0;

	while (i < b->n - 1 && (at -= b->w[i]) > 0)
		i++;
	return b->set[i];
}

static void swap(struct pl_belief *a, struct pl_belief *b)
{
	struct pl_belief kept = *a;

	*a = *b;
	*b = kept;
}

/* A check of the run is not had twice, at none of its places. */
static void do_check(struct pl_problem *p, struct pl_belief *b, int option, int truth, double at,
		     struct pl_belief *after)
{
	const double *row = pl_row(p, option, truth);
	int cell = 0;

	while (cell < p->check[option].ncells - 1 && (at -= row[cell]) > 0)
		cell++;
	pl_belief_cell(p, b, option, cell, after);
	swap(b, after);
	pl_check_spend(p, option);
}

/* What of the truth the group leaves. */
static int repaired(struct pl_problem *p, const struct pl_group *g, int truth, int run, int step)
{
	for (int i = 0; i < g->n; i++) {
		const struct pl_remedy_option *r = &p->remedy[g->remedy[i]];
		struct pl_set s = p->set[truth];
		int left[PL_SET_FAULTS], n = 0;

		for (int f = 0; f < s.n; f++) {
			double clears = 0;

			for (int k = 0; k < r->nclears; k++)
				if (r->clears[k].fault == s.fault[f])
					clears = r->clears[k].p;
			if (spread(run, step + 7 * (f + 1)) >= clears)
				left[n++] = s.fault[f];
		}
		truth = pl_set_of(p, left, n);
	}
	return truth;
}

static double money_of(const struct pl_situation *now, const struct pl_problem *p, const struct pl_group *g)
{
	double sum = 0, money;

	for (int i = 0; i < g->n; i++) {
		pl_remedy_work(now, p->remedy[g->remedy[i]].remedy, p->remedy[g->remedy[i]].place, &money);
		sum += money;
	}
	return sum;
}

static void go(struct pl_options *o, const struct pl_situation *now, int run, struct run *out)
{
	struct pl_problem *p = &o->problem;
	struct pl_belief b = { 0 }, after = { 0 };
	uint64_t open = now->open;
	int truth = draw_set(&o->belief, (run + .5) / RUNS);

	for (int i = 0; i < o->belief.n; i++)
		pl_belief_add(&b, o->belief.set[i], o->belief.w[i]);
	for (int step = 0; step < STEPS_MOST && truth; step++) {
		struct pl_choice c;

		pl_belief_drop_light(&b, LIGHT);
		p->work = 0;
		if (!pl_advised(o, now, &b, open, step, &c))
			break;
		if (c.check) {
			out->checks++;
			out->minutes += pl_check_cost(p, open, c.option);
			open = pl_after_check(p, open, c.option);
			do_check(p, &b, c.option, truth, spread(run, step + 1), &after);
			continue;
		}
		out->money += money_of(now, p, &c.group);
		out->minutes += pl_group_cost(p, open, &c.group) -
				money_of(now, p, &c.group) * now->rates.per_currency;
		for (int i = 0; i < c.group.n; i++)
			open = pl_after_remedy(p, open, c.group.remedy[i]);
		truth = repaired(p, &c.group, truth, run, step);
		out->remedy = p->remedy[c.group.remedy[0]].remedy;
		out->place = p->remedy[c.group.remedy[0]].place;
		pl_belief_repaired(p, &b, &c.group, &after);
		swap(&b, &after);
	}
	if (truth)
		out->remedy = KN_NONE;
	pl_belief_free(&b);
	pl_belief_free(&after);
}

static int by_minutes(const void *a, const void *b)
{
	const struct run *x = a, *y = b;

	return (x->minutes > y->minutes) - (x->minutes < y->minutes);
}

/* Runs that end with the same remedy are one way. */
static void gather(const struct run *r, struct pl_ways *out)
{
	bool taken[RUNS] = { false };

	for (;;) {
		struct pl_way best = { 0 };
		int most = 0, first = -1;

		for (int i = 0; i < RUNS; i++) {
			int n = 0;

			for (int k = i; k < RUNS && !taken[i]; k++)
				n += !taken[k] && r[k].remedy == r[i].remedy;
			if (n > most) {
				most = n;
				first = i;
			}
		}
		if (first < 0 || out->n == PL_WAYS_MOST)
			return;
		best = (struct pl_way){ (double)most / RUNS, r[first].remedy, r[first].place, 0, 0, 0 };
		for (int i = 0; i < RUNS; i++)
			if (!taken[i] && r[i].remedy == r[first].remedy) {
				taken[i] = true;
				best.checks += r[i].checks / (double)most;
				best.minutes += r[i].minutes / most;
				best.money += r[i].money / most;
				best.place = r[i].place == best.place ? best.place : KN_NONE;
			}
		out->way[out->n++] = best;
	}
}

void pl_ways(const struct pl_situation *now, struct pl_ways *out)
{
	struct run r[RUNS];
	struct pl_options o;
	double *cost;

	memset(out, 0, sizeof *out);
	memset(r, 0, sizeof r);
	pl_options_make(&o, now);
	pl_limits(&o.problem);
	o.problem.work_limit = WORK;
	o.problem.first_width = WIDTH;
	cost = mem_array((size_t)o.problem.nchecks + 1, sizeof *cost);
	for (int c = 0; c < o.problem.nchecks; c++)
		cost[c] = o.problem.check[c].cost;
	for (int i = 0; i < RUNS; i++) {
		r[i].remedy = r[i].place = KN_NONE;
		go(&o, now, i, &r[i]);
		for (int c = 0; c < o.problem.nchecks; c++)
			o.problem.check[c].cost = cost[c];
	}
	mem_free(cost);
	pl_options_free(&o);
	gather(r, out);
	qsort(r, RUNS, sizeof *r, by_minutes);
	out->nruns = RUNS;
	for (int i = 0; i < RUNS; i++) {
		out->minutes += r[i].minutes / RUNS;
		out->money += r[i].money / RUNS;
		out->over += r[i].remedy == KN_NONE ? 1.0 / RUNS : 0;
	}
	out->low = r[RUNS / 10].minutes;
	out->high = r[RUNS - 1 - RUNS / 10].minutes;
}
