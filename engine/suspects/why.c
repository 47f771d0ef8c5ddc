/* Weight of evidence: what one answer did to one suspect, everything else as it is. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "suspects/suspects.h"

#define DECIBANS_MOST 60.0

static double log_odds(double p)
{
	return 10 * log10(fmax(p, 1e-300) / fmax(1 - p, 1e-300));
}

int su_why(const struct kn_knowledge *kn, const struct su_case *c, const struct su_settings *settings,
	   int mode, double *out, struct hs_err *err)
{
	struct su_evidence *rest = mem_array((size_t)c->nevidence + 1, sizeof *rest);
	struct su_suspects *with = su_weigh(kn, c, settings, err), *without;
	struct su_case less = *c;
	int result = with ? 0 : -1;

	less.evidence = rest;
	less.nevidence = c->nevidence - 1;
	for (int i = 0; i < c->nevidence && !result; i++) {
		for (int k = 0, at = 0; k < c->nevidence; k++)
			if (k != i)
				rest[at++] = c->evidence[k];
		without = su_weigh(kn, &less, settings, err);
		if (without)
			out[i] = fmax(-DECIBANS_MOST, fmin(DECIBANS_MOST,
				log_odds(with->mode_was[mode]) - log_odds(without->mode_was[mode])));
		else
			result = -1;
		su_free(without);
	}
	su_free(with);
	mem_free(rest);
	return result;
}
