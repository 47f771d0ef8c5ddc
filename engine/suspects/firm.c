/* How far a guess would have to be wrong before the first place changes.
 *
 * Let A1, A2 be the weight of the sets with the first and with another mode, A12 of those with both.
 * Multiplying the frequency of the first mode (or the likelihood of one answer where it is present)
 * by x multiplies A1 and A12 by x and nothing else, so the other overtakes at
 * x = (A2 - A12) / (A1 - A12).  The factor shown is 1/x of the one that overtakes first, which need not
 * be the second of the list: what is there together with the first falls with it.  (A quotient of
 * linear functions: Coupe and van der Gaag 2002; normalisation over the number of faults is left as it
 * is.) */
#include <math.h>

#include "base/mem.h"
#include "suspects/suspects.h"

#define FIRM 5.0
#define LEANING 2.0
#define FACTOR_MOST 1000.0

static bool has(const struct su_suspects *s, const struct su_set *set, int mode)
{
	for (int i = 0; i < set->nnow; i++)
		if (s->kn->faults[set->now[i]].mode == mode)
			return true;
	return false;
}

/* Weight of the listed sets with each mode, and of those with the first mode as well. */
static void weights(const struct su_suspects *s, int first, double *with, double *both)
{
	for (int i = 0; i < s->nsets; i++) {
		const struct su_set *set = &s->sets[i];
		bool one = has(s, set, first);

		for (int k = 0; k < set->nnow; k++) {
			int mode = s->kn->faults[set->now[k]].mode;
			bool again = false;

			for (int b = 0; b < k; b++)
				again = again || s->kn->faults[set->now[b]].mode == mode;
			if (again)
				continue;
			with[mode] += set->weight;
			both[mode] += one ? set->weight : 0;
		}
	}
}

void su_firm(const struct su_suspects *s, struct su_firmness *out)
{
	double *with = mem_array(2 * (size_t)s->kn->nmodes + 1, sizeof *with);
	double *both = with + s->kn->nmodes, least = INFINITY;

	*out = (struct su_firmness){ KN_NONE, KN_NONE, FACTOR_MOST, "firm" };
	for (int m = 0; m < s->kn->nmodes; m++)
		if (out->first == KN_NONE || s->mode_now[m] > s->mode_now[out->first])
			out->first = m;
	if (out->first != KN_NONE)
		weights(s, out->first, with, both);
	for (int m = 0; m < s->kn->nmodes; m++) {
		double factor = with[m] > both[m] ? (with[out->first] - both[m]) / (with[m] - both[m])
						  : FACTOR_MOST;

		if (m == out->first || factor >= least)
			continue;
		least = factor;
		out->second = m;
	}
	mem_free(with);
	out->factor = fmin(FACTOR_MOST, fmax(1, least));
	out->word = out->factor >= FIRM ? "firm" : out->factor >= LEANING ? "leaning" : "open";
}
