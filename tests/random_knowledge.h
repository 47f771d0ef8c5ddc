/* Small knowledge made at random, seeded, built in memory: for oracles and synthetic benches. */
#ifndef TESTS_RANDOM_KNOWLEDGE_H
#define TESTS_RANDOM_KNOWLEDGE_H

#include <stdint.h>

#include "suspects/suspects.h"

struct rng { uint64_t s; };
uint64_t rng_next(struct rng *r);
double rng_real(struct rng *r);               /* [0, 1) */
int rng_below(struct rng *r, int n);          /* 0 .. n-1 */

struct random_size {
	int faults;            /* about so many, never more */
	int checks;
	bool independent;
	bool repairs;
	double voters;         /* faults that vote on one outcome, on average; 0: half of all, with
				* gates, tables and noisy-OR mixed in */
};
struct kn_knowledge *random_knowledge(struct rng *r, const struct random_size *size);
/* A case on it: answers over all epochs. c->evidence and c->repairs are the caller's: free with
 * random_case_free(). */
void random_case(struct rng *r, const struct kn_knowledge *kn, int answers, bool repairs,
		 struct su_case *c);
void random_case_free(struct su_case *c);
void random_free(struct kn_knowledge *kn);

#endif
