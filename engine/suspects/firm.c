/* How far a guess would have to be wrong before the first place changes.
 *
 * Let A1, A2 be the weight of the sets with the first and the second mode, A12 of those with both.
 * Multiplying the frequency of the first mode (or the likelihood of one answer where it is present)
 * by x multiplies A1 and A12 by x and nothing else, so the second overtakes at
 * x = (A2 - A12) / (A1 - A12).  The factor shown is 1/x.  (A quotient of linear functions: Coupe and
 * van der Gaag 2002; normalisation over the number of faults is left as it is.) */
#include <math.h>

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

void su_firm(const struct su_suspects *s, struct su_firmness *out)
{
	double a1 = 0, a2 = 0, a12 = 0;

	out->first = out->second = KN_NONE;
	for (int m = 0; m < s->kn->nmodes; m++) {
		if (out->first == KN_NONE || s->mode_now[m] > s->mode_now[out->first]) {
			out->second = out->first;
			out->first = m;
		} else if (out->second == KN_NONE || s->mode_now[m] > s->mode_now[out->second])
			out->second = m;
	}
	for (int i = 0; i < s->nsets && out->second != KN_NONE; i++) {
		bool one = has(s, &s->sets[i], out->first), two = has(s, &s->sets[i], out->second);

		a1 += one ? s->sets[i].weight : 0;
		a2 += two ? s->sets[i].weight : 0;
		a12 += one && two ? s->sets[i].weight : 0;
	}
	out->factor = a2 > a12 ? fmin(FACTOR_MOST, fmax(1, (a1 - a12) / (a2 - a12))) : FACTOR_MOST;
	out->word = out->factor >= FIRM ? "firm" : out->factor >= LEANING ? "leaning" : "open";
}
