/* Nobody gives up on the first word.  Where handing over is near and dear things are far, the sums may give a bike
 * up with nothing asked yet (a caller at the counter, no tools).  What costs minutes and tells something is asked
 * first: the answers go with the bike.  Whoever asks for the advice at a belief, pl_advised(), gets it with that.
 * docs/method.md 6. */
#include <math.h>

#include "plan/options.h"

#define MINUTES_MOST 5.0      /* of a check with its opening */
#define BITS_LEAST .05        /* what tells less is no reason to ask */

static int asked(const struct pl_situation *now)
{
	const struct kn_knowledge *kn = now->suspects->kn;
	int n = 0;

	for (int i = 0; i < kn->nchecks; i++)
		n += now->done && now->done[i] && kn->checks[i].kind != KN_SYMPTOM;
	return n;
}

bool pl_ask_at_outset(struct pl_options *o, const struct pl_situation *now, const struct pl_belief *b,
		      uint64_t open, int had, struct pl_choice *out)
{
	struct pl_problem *p = &o->problem;
	double most = 0;

	if (asked(now) + had >= PL_ASKED_LEAST)
		return false;
	for (int i = 0; i < p->nchecks; i++) {
		double cost = pl_check_cost(p, open, i), bits = pl_information(p, b, i);

		if (cost - p->handling <= MINUTES_MOST && bits >= BITS_LEAST && bits / cost > most) {
			most = bits / cost;
			*out = (struct pl_choice){ .check = true, .option = i };
		}
	}
	if (most > 0)
		out->value = pl_check_value(p, b, open, out->option, 1, INFINITY);
	return most > 0;
}

bool pl_advised(struct pl_options *o, const struct pl_situation *now, const struct pl_belief *b, uint64_t open,
		int had, struct pl_choice *out)
{
	struct pl_problem *p = &o->problem;
	double base;

	return (pl_first_steps(p, b, open, out, 1, &base) == 1 &&
		pl_weighed(out) < pl_belief_uncured(b) * p->hand_over) ||
	       pl_ask_at_outset(o, now, b, open, had, out);
}
