/* Nobody gives up on the first word.  Where handing over is near and dear things are far, the sums may give a bike
 * up with nothing asked yet (a caller at the counter, no tools).  What costs minutes and tells something is asked
 * first: the answers go with the bike.  docs/method.md 6. */
#include <math.h>

#include "plan/options.h"

#define ASKED_LEAST 4         /* answers had, or declined, before a bike is given up */
#define MINUTES_MOST 5.0      /* of a check with its opening */
#define BITS_LEAST .05        /* what tells less is no reason to ask */

static int asked(const struct pl_situation *now)
{
	const struct kn_knowledge *kn = now->suspects->kn;
	int n = 0;

	for (int i = 0; i < kn->nchecks; i++)
		n += kn->checks[i].kind != KN_SYMPTOM && now->done[i];
	return n;
}

bool pl_ask_at_outset(struct pl_options *o, const struct pl_situation *now, const struct pl_belief *b,
		      struct pl_choice *out)
{
	struct pl_problem *p = &o->problem;
	double most = 0;

	if (asked(now) >= ASKED_LEAST)
		return false;
	for (int i = 0; i < p->nchecks; i++) {
		double cost = pl_check_cost(p, now->open, i), bits = pl_information(p, b, i);

		if (cost - p->handling <= MINUTES_MOST && bits >= BITS_LEAST && bits / cost > most) {
			most = bits / cost;
			*out = (struct pl_choice){ .check = true, .option = i };
		}
	}
	if (most > 0)
		out->value = pl_check_value(p, b, now->open, out->option, 1, INFINITY);
	return most > 0;
}
