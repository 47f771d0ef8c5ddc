/* Asking on: a check, behind its likeliest answer the next one, and so on.  The look-ahead of look.c sees all
 * answers a few steps deep; what it takes to open a bike for pays only by the eighth thing found in order
 * behind it, and before giving up it is the long way that counts.  docs/method.md 6. */
#include <math.h>

#include "plan/problem.h"

#define STEPS 10              /* checks in a row */
#define FIRST 6               /* checks that would be first, looked along */
#define LEAST_BITS .01        /* what tells less is no next step */
#define WORK_SHARE 3          /* all of it: so much of the work of the look-ahead */

static double go_on(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int steps);

/* Behind the answers that are not the likeliest nothing more is asked. */
static double ask_on(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int check, int steps)
{
	double value = pl_check_cost(p, open, check) * pl_belief_uncured(b), most = 0;
	uint64_t then = pl_after_check(p, open, check);
	struct pl_belief after = { 0 }, likeliest = { 0 };

	pl_check_mark(p, check, true);
	for (int o = 0; o < p->check[check].ncells; o++) {
		double share = pl_belief_cell(p, b, check, o, &after);

		if (share > most) {
			struct pl_belief before = likeliest;
			double less = most;

			likeliest = after;
			most = share;
			after = before;
			share = less;
		}
		if (share > 1e-9)
			value += share * pl_value(p, &after, then, 0);
	}
	value += most * go_on(p, &likeliest, then, steps - 1);
	pl_check_mark(p, check, false);
	pl_belief_free(&after);
	pl_belief_free(&likeliest);
	return value;
}

static bool is_open(const struct pl_problem *p, uint64_t open, int access)
{
	return access > 0 && !(pl_open_cost(p, open, access) > 0);
}

/* Bits per minute; 0: too few to ask for. */
static double rate(struct pl_problem *p, const struct pl_belief *b, int check, double minutes)
{
	double bits = pl_information(p, b, check);

	return bits > LEAST_BITS ? bits / (minutes + 1) : 0;
}

/* What tells most per minute behind the access state once that is open (0: of all that is promising as a first
 * step, or lies open now); -1: nothing does. */
static int most_telling(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int behind)
{
	double most = 0;
	int best = -1;

	for (int i = 0; i < p->nchecks; i++) {
		const struct pl_check_option *c = &p->check[i];
		double here;

		if (c->asked || !(c->cost < INFINITY) ||
		    (behind ? c->access != behind : c->far && !is_open(p, open, c->access)))
			continue;
		here = rate(p, b, i, behind ? c->cost : pl_check_cost(p, open, i));
		if (here > most) {
			most = here;
			best = i;
		}
	}
	return best;
}

static double go_on(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int steps)
{
	double best = pl_value(p, b, open, 0);
	int next = -1;

	if (steps > 0 && p->work < p->work_limit && best >= 2 * p->handling)
		next = most_telling(p, b, open, 0);
	return next < 0 ? best : fmin(best, ask_on(p, b, open, next, steps));
}

static bool among(const struct pl_choice *c, int n, int check)
{
	for (int i = 0; i < n; i++)
		if (c[i].check && c[i].option == check)
			return true;
	return false;
}

int pl_look_onward(struct pl_problem *p, const struct pl_belief *b, uint64_t open, struct pl_choice *c, int n)
{
	long limit = p->work_limit;
	int looked = 0;

	p->work_limit = p->work + limit / WORK_SHARE;
	for (int i = 0; i < n && looked < FIRST; i++)
		if (c[i].check) {
			c[i].value = fmin(c[i].value, ask_on(p, b, open, c[i].option, STEPS));
			looked++;
		}
	for (int a = 1; a < p->naccesses && p->work < p->work_limit; a++) {
		int first = open >> a & 1 ? -1 : most_telling(p, b, open, a);

		if (first >= 0 && !among(c, n, first))
			c[n++] = (struct pl_choice){ .check = true, .option = first,
				.value = ask_on(p, b, open, first, STEPS) };
	}
	p->work_limit = limit;
	return n;
}
