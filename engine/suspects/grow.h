/* Grows fault sets best first until a proven bound on all that was not looked at is small. */
#ifndef SUSPECTS_GROW_H
#define SUSPECTS_GROW_H

#include "suspects/seen.h"

struct su_kept { double weight; int n; int item[SU_SET_MAX + 1]; };

struct su_grown {
	double total;                 /* weight of everything looked at */
	double pending;               /* bound on the weight of everything else */
	double *item_weight;          /* [nitems] weight of the sets that hold it */
	double *mode_now, *mode_was;  /* [nmodes] weight of the sets with the mode, wherever */
	double by_number[4];          /* weight by the number of faults present at the end */
	int nkept; struct su_kept *kept;   /* the heaviest, by falling weight */
	long looked_at;
};

/* seen[0..n): all answers. */
void su_grow(const struct su_prior *p, struct su_seen *const *seen, int n,
	     const struct su_settings *settings, struct su_grown *out);
void su_grown_free(struct su_grown *g);

#endif
