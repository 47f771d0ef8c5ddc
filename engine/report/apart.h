/* Which causes the checks of a machine can tell apart, and the figures made of it.
 *
 * A cause is a mode at one place, or "all of them", or simply there.  A check tells two causes
 * apart when the shares of its answers under the one and under the other differ by APART_ENOUGH or
 * more (total variation, half the sum of the absolute differences): of two causes equally likely
 * before, one answer then points to the right one three times out of four.  Definitions and sources
 * are in docs/diagnosability.md. */
#ifndef REPORT_APART_H
#define REPORT_APART_H

#include "base/text.h"
#include "suspects/table.h"

#define APART_ENOUGH .5
#define APART_SAYS_SOMETHING .2   /* a check that never differs by this is not worth asking */

struct apart_cause {
	int mode, fault;       /* the fault that stands for it: the first place, or "all" */
	bool all;
	double weight;         /* of all its faults */
};

/* Cause 0 is "nothing wrong". */
struct apart {
	const struct kn_knowledge *kn;
	int ncauses; struct apart_cause *cause;
	double *best; /* [ncauses][ncauses] the most any check differs; comparable pairs only */
	/* Per check: it tells something apart, and no other check that takes no longer tells every
	 * pair apart as well; the check that does, or itself when it tells nothing apart. */
	int *better;           /* [nchecks] KN_NONE: it pays */
};

enum apart_checks {
	APART_EVERY_CHECK,
	APART_BARE_HANDS
}; /* nothing opened, no tool, engine off or on */

void apart_make(struct apart *a, const struct kn_knowledge *kn, enum apart_checks which);
void apart_free(struct apart *a);
double apart_best(const struct apart *a, int i, int j);
/* Could be meant by the same words: one with one, "all" with "all", a single part with both. */
bool apart_comparable(const struct apart *a, int i, int j);

/* The table of a check where the faults that stand for their causes are; the caller frees. NULL:
 * too many cells. */
struct su_table *apart_table(const struct kn_knowledge *kn, int check);
double apart_differ(const double *p, const double *q, int n);  /* total variation */

/* Figures of one symptom: shares of the weight of its causes. */
struct apart_figures { int ncauses; double detected, to_one, to_three; int largest; };
void apart_figures(const struct apart *a, int symptom, struct apart_figures *out);

/* What docs/diagnosability.md says below its definitions, for all machines under dir. */
int report_figures(const char *dir, struct text *out, struct hs_err *err);

#endif
