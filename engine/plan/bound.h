/* What no plan can do without. */
#ifndef PLAN_BOUND_H
#define PLAN_BOUND_H

#include "plan/problem.h"

/* Minutes any plan needs for a set that is known: the cheapest remedies that clear it, each succeeding at
 * the first try, or handing over. */
double pl_known_least(const struct pl_problem *p, int set, uint64_t open);
/* Expected minutes no plan can do better than, looked `depth` steps ahead over every step there is. */
double pl_lower_bound(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int depth);

#endif
