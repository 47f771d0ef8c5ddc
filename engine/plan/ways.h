/* The ways a job may go from here: the advice followed on fault sets drawn from the belief. */
#ifndef PLAN_WAYS_H
#define PLAN_WAYS_H

#include "plan/plan.h"

#define PL_WAYS_MOST 4

struct pl_ways {
	int nruns;                      /* jobs looked through */
	double minutes, low, high;      /* of hands and waiting: mean, and what 8 in 10 are between */
	double money;                   /* mean, currency units */
	double over;                    /* share that ends by handing over, not in minutes and money */
	int n;
	struct pl_way {
		double share;           /* of the runs */
		int remedy, place;      /* what ends it; KN_NONE: handed over */
		double checks;          /* before it, mean */
		double minutes, money;  /* mean */
	} way[PL_WAYS_MOST];            /* likeliest first */
};

/* Counted work: the same on every machine. */
void pl_ways(const struct pl_situation *now, struct pl_ways *out);

#endif
