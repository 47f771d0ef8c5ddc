/* Before closing up: what is nearly free while an access state is open and dear once it is closed. */
#ifndef PLAN_CLOSING_H
#define PLAN_CLOSING_H

#include "plan/plan.h"

#define PL_SPARE_MOST 4
#define PL_BITS_LEAST .03       /* a check that tells less of the suspects is not worth its minutes */

struct pl_closing {
	uint64_t closes;                /* states the step closes: bit set */
	int n;
	struct pl_spare {
		enum pl_kind kind;      /* check or remedy */
		int index, place;
		double now_minutes;     /* while it is open */
		double later_minutes;   /* the same once it is closed */
		double chance;          /* a remedy: that it clears a fault there is; a check: bits */
	} spare[PL_SPARE_MOST];         /* by falling chance x saving */
	int nlost, lost[PL_SPARE_MOST]; /* checks whose evidence the step's work destroys */
};

/* What goes with `step` before the bike is put together; n and nlost 0: nothing to be said. */
void pl_before_closing(const struct pl_situation *now, const struct pl_step *step, struct pl_closing *out);
/* bits[nchecks]: what each would tell of the suspects at its best place; 0 where it cannot be done now. */
void pl_check_bits(const struct pl_situation *now, double *bits);

#endif
