/* What it costs any plan to tell the suspects apart. */
#ifndef PLAN_TELLING_H
#define PLAN_TELLING_H

#include "plan/problem.h"

/* Expected minutes that no plan can do better than which asks each check at most once: the value of a
 * linear programme's dual at multipliers found in `rounds` rounds (docs/method.md 6).  Whatever the
 * multipliers, it is a bound; more rounds only raise it. */
double pl_telling_bound(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int rounds);

#endif
