/* What may be wrong before anything was asked: weights of faults, of numbers of faults, of fates.
 *
 * An *item* is a fault with its fate: there from the start and cleared by repair r or never, or
 * brought by the work of repair r (docs/method.md 1 and 3).  A fault set is a set of items no two
 * of which exclude each other. */
#ifndef SUSPECTS_PRIOR_H
#define SUSPECTS_PRIOR_H

#include "suspects/suspects.h"

#define SU_NEVER 1000000
#define SU_BESIDE_BROUGHT 1   /* faults from the start beside one that work brought */

struct su_item {
	int fault;
	int brought_by;       /* KN_NONE: there from the start */
	int cleared_by;       /* SU_NEVER, or the repair that cleared it */
	double weight;        /* factor of the set's prior */
};

/* A fault that goes together with another, in that one's list. */
struct su_near { int fault; double times; struct su_near *next; };

struct su_prior {
	const struct kn_knowledge *kn;
	const struct su_case *c;
	int nitems; struct su_item *item;
	struct su_near **near;                 /* per fault: those it goes together with */
	int max_faults;                        /* from the start; one brought by work may come on top */
	double count[SU_SET_MAX + 1];          /* factor of a set with so many faults from the start */
	double raise;                          /* the largest `times` there is, at least 1 */
	struct arena *arena;
};

void su_prior_make(struct su_prior *p, const struct kn_knowledge *kn, const struct su_case *c);
void su_prior_free(struct su_prior *p);
/* The weight of a fault with the histories of the case; odds with independent priors. */
double su_fault_weight(const struct kn_knowledge *kn, uint32_t histories, int fault);
bool su_item_present(const struct su_item *i, int epoch);
/* The factor of two items that go together, 1 for others. */
double su_item_times(const struct su_prior *p, int a, int b);
bool su_items_exclude(const struct su_prior *p, int a, int b);

#endif
