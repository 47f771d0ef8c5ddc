/* What can be done next in a job: its checks and remedies as a planning problem. */
#ifndef PLAN_OPTIONS_H
#define PLAN_OPTIONS_H

#include "plan/plan.h"
#include "plan/problem.h"

struct pl_options {
	const struct kn_knowledge *kn;
	struct pl_problem problem;
	struct pl_belief belief;
	struct su_tables *tables;        /* the situation's, or its own */
	bool own_tables;
	int nblocked; int *blocked;      /* checks kept back by a hold alone */
	int blocked_by;                  /* that hold */
	int nwanting; int *wanting;      /* check options that miss exactly one tool; not in problem */
};

int pl_options_make(struct pl_options *o, const struct pl_situation *now);
void pl_options_free(struct pl_options *o);
/* Adds a check to the problem; false when it has too many answers for planning. */
bool pl_add_check(struct pl_options *o, const struct pl_situation *now, int check, int place);
/* Minutes of hands and waiting, nothing opened. */
double pl_check_work(const struct pl_situation *now, int check, int place);
double pl_remedy_work(const struct pl_situation *now, int remedy, int place, double *money);
/* Offered, reachable, not answered yet, nothing known against it; tools and holds aside. */
bool pl_possible(const struct pl_situation *now, int check);
/* Of remedies done together: hands and waiting, opening and closing; no parts. */
double pl_group_minutes(const struct pl_options *o, const struct pl_situation *now, const struct pl_group *g);
/* Offered and reachable, and nothing known against it: as pl_possible(), answered or not. */
bool pl_reachable(const struct pl_situation *now, int check);
enum kn_energy pl_energy(const struct kn_check *c);   /* what is live or hot while it is done */
bool pl_held_back(const struct pl_situation *now, enum kn_energy energy, int *by);

#define PL_ASKED_LEAST 4          /* answers had, or declined, before a bike is given up */
/* The step advised at this belief with this open, where `had` steps more than the situation knows of have been
 * done; false: handing over. */
bool pl_advised(struct pl_options *o, const struct pl_situation *now, const struct pl_belief *b, uint64_t open,
		int had, struct pl_choice *out);
/* With little asked yet: the check of a few minutes that tells most per minute, to be had before handing over. */
bool pl_ask_at_outset(struct pl_options *o, const struct pl_situation *now, const struct pl_belief *b,
		      uint64_t open, int had, struct pl_choice *out);

#endif
