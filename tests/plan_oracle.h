/* Small troubleshooting problems solved exactly, and what a planning rule costs on them.
 *
 * One fault of n, each cleared for certain by one remedy; T noisy checks with two answers, each to
 * be had once; access states that must be closed to try the bike.  Actions: a check; any set of
 * remedies, then close and try.  The optimum is by dynamic programming over (answers, remedies done,
 * what is open); a rule's cost by following it through every answer. */
#ifndef TESTS_PLAN_ORACLE_H
#define TESTS_PLAN_ORACLE_H

#include "plan/problem.h"
#include "random_knowledge.h"

#define PO_FAULTS 7
#define PO_CHECKS 7
#define PO_ACCESSES 5

struct po_problem {
	int faults, checks, accesses;
	double prior[PO_FAULTS], repair[PO_FAULTS];
	int repair_access[PO_FAULTS];
	double check[PO_CHECKS];
	int check_access[PO_CHECKS];
	double yes[PO_CHECKS][PO_FAULTS];   /* P(yes | fault) */
	double open[PO_ACCESSES];           /* 0 for the root */
};

enum po_rule { PO_PLANNER, PO_GAIN, PO_BLIND };

void po_random(struct rng *r, int faults, int checks, int accesses, double noise, struct po_problem *out);
double po_optimum(const struct po_problem *q);
/* The problem as the planner has it, at its start; about points to q.  Freed by the caller. */
void po_planning(const struct po_problem *q, struct pl_problem *p, struct pl_belief *b);
double po_cost(const struct po_problem *q, enum po_rule rule);

#endif
