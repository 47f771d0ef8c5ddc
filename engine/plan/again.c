/* Measure twice, cut once.  Before a dear repair the answer that its suspect rests on most is had once more: a
 * slip of hand or ear costs minutes to find there and hours behind it.  The tables do not know of slips: they
 * hold the errors of checks, not those of people.  docs/method.md 6. */
#include <math.h>

#include "base/mem.h"
#include "plan/options.h"

#define RESTS_LEAST 3.0       /* decibans: the answer doubles the odds of the first suspect */

/* Exact enough to tell which answer matters most, at a fiftieth of the work. */
static const struct su_settings rough = { .1, 3000, 256 };

/* What was seen before a repair may not be there to be seen again. */
static bool may_be_had_again(const struct pl_situation *now, const struct su_evidence *e)
{
	const struct kn_check *c = &now->suspects->kn->checks[e->check];

	return c->kind != KN_SYMPTOM && e->exponent > 0 && e->epoch == now->the_case->nrepairs &&
	       !(now->twice && now->twice[e->check]) && pl_reachable(now, e->check) &&
	       !(c->tools & ~now->tools) && !pl_held_back(now, pl_energy(c), NULL);
}

int pl_again(const struct pl_situation *now, double *rests)
{
	const struct su_case *c = now->the_case;
	double *moved = mem_array((size_t)c->nevidence + 1, sizeof *moved);
	int at = KN_NONE;

	*rests = RESTS_LEAST;
	if (su_why(now->suspects->kn, c, &rough, su_likeliest(now->suspects), moved, NULL) == 0)
		for (int i = 0; i < c->nevidence; i++)
			if (may_be_had_again(now, &c->evidence[i]) && moved[i] > *rests) {
				*rests = moved[i];
				at = i;
			}
	mem_free(moved);
	return at;
}
