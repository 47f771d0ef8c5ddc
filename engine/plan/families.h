/* Suspects that no check possible now can tell apart, and the check that could. */
#ifndef PLAN_FAMILIES_H
#define PLAN_FAMILIES_H

#include "plan/plan.h"

#define PL_FAMILY_MODES 8

struct pl_family {
	int nmodes, mode[PL_FAMILY_MODES];   /* likeliest first */
	double p;                            /* sum of their probabilities */
	int split;                           /* check that would tell the first two apart; KN_NONE */
	int tool;                            /* the one tool it needs and that is missing; KN_NONE */
};

/* Families of two and more among the leading suspects, likeliest first; returns how many. */
int pl_families(const struct pl_situation *now, struct pl_family *out, int most);

#endif
