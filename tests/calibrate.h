/* Simulated jobs: a fault set from the prior, answers from the tables, and what was said of it. */
#ifndef TESTS_CALIBRATE_H
#define TESTS_CALIBRATE_H

#include "random_knowledge.h"

struct calibration { long n[10]; double said[10], was[10]; };  /* by decile of what was said */

/* One job of `answers` random checks; with probability `noise` an answer is replaced at random.
 * After each answer one suspect, chosen at random, enters the table. */
void calibrate_job(struct rng *r, const struct kn_knowledge *kn, int answers, double noise,
		   struct calibration *c);

/* Single-mode causes with independent priors and m noisy-OR findings; link is [n][stride]. */
struct kn_knowledge *noisy_or_knowledge(struct rng *r, int n, int m, double *prior, double *link,
					double *leak, int stride);

#endif
