/* The answers to one check at one place, over all epochs, ready for weighing.
 *
 * With one answer this is the check's table and no more.  Seen again after a repair, an answer
 * persists: where nothing that bears on the check has changed, the same comes again with .95 (what
 * a rider says: .9), the rest is shared over the other answers as the table has it; where something
 * changed, the table is used afresh (docs/method.md 3).  A fault set enters as a small state, as in
 * table.h: one table state per answer and what has changed between them. */
#ifndef SUSPECTS_SEEN_H
#define SUSPECTS_SEEN_H

#include "suspects/prior.h"

struct su_seen;

/* e[0..n): the answers, by epoch; check and place are the same in all; copied. NULL when the
 * check has too many cells. */
struct su_seen *su_seen_new(const struct su_prior *p, const struct su_evidence *const *e, int n);
/* The complaint was repeated after repairs and is still there: then something was wrong.  A set with
 * nothing wrong at the time of answer i counts 1 - .99 x still[i]; n at most SU_STILL_MAX. */
#define SU_STILL_MAX 10
struct su_seen *su_seen_still_wrong(const struct su_prior *p, const int *epoch, const double *still, int n);
void su_seen_free(struct su_seen *s);
int su_seen_class(const struct su_seen *s, int item);           /* 0: does not bear */
int su_seen_nclasses(const struct su_seen *s);
int su_seen_join(struct su_seen *s, int state, int class_no);   /* the empty set is state 0 */
double su_seen_likelihood(struct su_seen *s, int state);        /* in scale() units, at most 1 */
/* The likelihood with one more item of the class, without making that state. */
double su_seen_likelihood_with(struct su_seen *s, int state, int class_no);
/* One more item of the class multiplies no set's likelihood by more; INFINITY where that is not known. */
double su_seen_rise(const struct su_seen *s, int class_no);
/* No state reached by any further joins has more. */
double su_seen_bound(struct su_seen *s, int state);
double su_seen_log_scale(const struct su_seen *s);

#endif
