/* Do the answers go together?
 *
 * Conflict of answers e1..en given the complaints C: ln [ product of P(ei | C) / P(e1..en | C) ]
 * (Jensen, Chamberlain, Nordahl and Jensen on data conflict, UAI 1990: the measure only).  Answers
 * from one fault support each other: the measure is below 0.  The odd one is the answer for which ln [ P(ei | C) P(others | C) / P(all | C) ] is largest. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "suspects/suspects.h"

#define ODD_LEAST 1.6   /* ln 5: an answer five times likelier without the others is worth repeating */

struct fitting {
	const struct kn_knowledge *kn;
	const struct su_case *c;
	struct su_settings settings;
	struct su_evidence *some;
	struct hs_err *err;
};

static bool is_complaint(const struct fitting *f, int i)
{
	return f->kn->checks[f->c->evidence[i].check].kind == KN_SYMPTOM;
}

/* ln P of the complaints and: one answer (`only`), all but one (`without`), or all (both -1);
 * -2 for `only`: none. */
static bool log_p(struct fitting *f, int only, int without, double *out)
{
	struct su_case part = *f->c;
	struct su_suspects *s;
	int n = 0;

	for (int i = 0; i < f->c->nevidence; i++)
		if (is_complaint(f, i) || (only == -1 ? i != without : i == only))
			f->some[n++] = f->c->evidence[i];
	part.evidence = f->some;
	part.nevidence = n;
	s = su_weigh(f->kn, &part, &f->settings, f->err);
	if (s)
		*out = s->log_evidence;
	su_free(s);
	return s != NULL;
}

int su_fits(const struct kn_knowledge *kn, const struct su_case *c, const struct su_settings *settings,
	    struct su_fit *out, struct hs_err *err)
{
	struct fitting f = { kn, c, settings ? *settings : su_settings_default(),
			     mem_array((size_t)c->nevidence + 1, sizeof(struct su_evidence)), err };
	double none, all, alone, rest;
	int answers = 0, result;

	*out = (struct su_fit){ 0, -INFINITY, KN_NONE, false };
	result = log_p(&f, -2, -1, &none) && log_p(&f, -1, -1, &all) ? 0 : -1;
	for (int i = 0; i < c->nevidence && !result; i++) {
		double odd;

		if (is_complaint(&f, i) || c->evidence[i].exponent <= 0)
			continue;
		answers++;
		if (!log_p(&f, i, -1, &alone) || !log_p(&f, -1, i, &rest)) {
			result = -1;
			break;
		}
		out->conflict += alone - none;
		odd = alone + rest - all - none;
		if (odd > out->odd_conflict) {
			out->odd_conflict = odd;
			out->odd = i;
		}
	}
	mem_free(f.some);
	if (answers < 2)
		*out = (struct su_fit){ 0, 0, KN_NONE, false };
	else
		out->conflict -= all - none;
	out->bad = out->odd != KN_NONE && out->odd_conflict > ODD_LEAST;
	return result;
}
