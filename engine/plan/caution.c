/* Look before you fit.  A repair of over an hour begun on the wrong suspect costs more than its own
 * minutes: parts that do not go back, work nobody pays for.  So where such a repair would be next, the
 * checks behind its access states are weighed too, which bits per minute from here would not have
 * offered; all that is weighed is charged with the doubt about the first suspect, and a check is credited
 * with what it takes away of that doubt.  The doubt counts even where the repair clears the second suspect
 * too: whoever strips a carburettor on a poor suspect has not found out yet.  One that is likelier absent than
 * there is hardly ever reason enough, as long as there is something left to ask.
 *
 * Where the first suspect turns out likelier absent than there the repair is not begun, so more doubt than that
 * is not worse: a look that may clear the first suspect is credited, even if no other is as likely then. */
#include <math.h>

#include "plan/problem.h"

#define BEHIND_MOST PL_LOOK_BEFORE
#define BITS_LEAST .02
#define LESS_LEAST 1e-3     /* a look that takes less off the doubt is none */
#define WORTH_ASKING .05    /* where none takes as much, there is nothing left to ask */
#define EVEN .5             /* more doubt, and the first suspect is likelier absent than there */

/* P(the likeliest label is among what is wrong). */
static double surest(const struct pl_problem *p, const struct pl_belief *b, double *mass)
{
	double most = 0;

	pl_belief_labels(p, b, mass);
	for (int l = 0; l < p->nlabels; l++)
		most = fmax(most, mass[l]);
	return most;
}

/* Expected doubt behind the check, none of it counted beyond `most`. */
static double doubt_after(struct pl_problem *p, const struct pl_belief *b, int check, double most, double *mass)
{
	struct pl_belief after = { 0 };
	double sum = 0;

	for (int o = 0; o < p->check[check].ncells; o++) {
		double share = pl_belief_cell(p, b, check, o, &after);

		sum += share > 0 ? share * fmin(1 - surest(p, &after, mass), most) : 0;
	}
	pl_belief_free(&after);
	return sum;
}

static uint64_t path_of(const struct pl_problem *p, const struct pl_group *g)
{
	uint64_t path = 1;

	for (int i = 0; i < g->n; i++)
		path |= p->access[p->remedy[g->remedy[i]].access].path;
	return path;
}

static bool listed(const struct pl_choice *c, int n, int check)
{
	for (int i = 0; i < n; i++)
		if (c[i].check && c[i].option == check)
			return true;
	return false;
}

/* The checks that tell most among those the repair's opening makes cheap; returns the new n. */
static int behind(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
		  const struct pl_group *g, struct pl_choice *c, int n)
{
	uint64_t path = path_of(p, g) | open;
	double bits[BEHIND_MOST];
	int at[BEHIND_MOST], found = 0;

	for (int i = 0; i < p->nchecks; i++) {
		double x;
		int to;

		if ((p->access[p->check[i].access].path & ~path) || p->check[i].engine || listed(c, n, i))
			continue;
		x = pl_information(p, b, i);
		for (to = found; to > 0 && bits[to - 1] < x; to--)
			if (to < BEHIND_MOST) {
				bits[to] = bits[to - 1];
				at[to] = at[to - 1];
			}
		if (x < BITS_LEAST || to == BEHIND_MOST)
			continue;
		bits[to] = x;
		at[to] = i;
		found += found < BEHIND_MOST;
	}
	for (int i = 0; i < found; i++)
		c[n++] = (struct pl_choice){ .check = true, .option = at[i],
			.value = pl_check_value(p, b, open, at[i], 1, INFINITY) };
	return n;
}

/* Asking and then repairing whatever is answered costs the check and no more, less what it has opened for
 * the repair.  A look-ahead of so many steps forgets that: behind a check it sees the repair one step less. */
static double as_if_ignored(const struct pl_problem *p, const struct pl_belief *b, uint64_t open, int check,
			    const struct pl_choice *repair)
{
	double cost = pl_check_cost(p, open, check) - pl_group_cost(p, open, &repair->group) +
		      pl_group_cost(p, pl_after_check(p, open, check), &repair->group);

	return repair->value + pl_belief_uncured(b) * cost;
}

/* Minutes that choosing c comes dearer by than it costs: the doubt, less what c itself takes off it. */
static double charge(struct pl_problem *p, uint64_t open, const struct pl_choice *c, double cost, double doubt,
		     double less, bool worth_asking)
{
	double out = p->doubt * cost * doubt - p->look * cost * less;

	if (!c->check && doubt > EVEN && worth_asking && pl_group_cost(p, open, &c->group) > p->dear)
		out += p->unlikely * cost;
	return out;
}

int pl_look_before(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
		   struct pl_choice *c, int n)
{
	double cost = n && !c[0].check ? pl_group_cost(p, open, &c[0].group) : 0;
	double doubt, *mass, *less, most = 0;

	if (!(p->doubt > 0 || p->look > 0) || cost <= p->dear)
		return n;
	mass = mem_array((size_t)p->nlabels + 1, sizeof *mass);
	doubt = 1 - surest(p, b, mass);
	if (p->look > 0)
		n = behind(p, b, open, &c[0].group, c, n);
	less = mem_array((size_t)n + 1, sizeof *less);
	for (int i = 0; i < n; i++) {
		if (c[i].check && p->look > 0)
			less[i] = fmax(0, doubt - doubt_after(p, b, c[i].option, fmax(EVEN, doubt), mass));
		most = fmax(most, less[i]);
	}
	for (int i = 0; i < n; i++) {
		c[i].charge = charge(p, open, &c[i], cost, doubt, less[i], most >= WORTH_ASKING);
		if (less[i] > LESS_LEAST)
			c[i].value = fmin(c[i].value, as_if_ignored(p, b, open, c[i].option, &c[0]));
	}
	mem_free(less);
	mem_free(mass);
	return n;
}
