/* Simulated jobs: a fault set from the prior, answers from the tables, and what was said of it. */
#ifndef TESTS_CALIBRATE_H
#define TESTS_CALIBRATE_H

#include "random_knowledge.h"

/* By decile of what was said. */
struct calibration { long n[10]; double said[10], was[10]; };

/* Jobs on one knowledge: with a complaint the fault sets are those that give it. */
struct simulation;
struct simulation *simulation_new(const struct kn_knowledge *kn, bool complaints,
				  const struct su_settings *settings);
void simulation_free(struct simulation *s);

/* One job of at most `answers` answers; with probability `noise` one is replaced at random.  The checks
 * are chosen by what a rough weighing expects them to tell, a few at random considered, so that jobs come
 * to an end.  What is said of one bike hangs together, so a job gives every decile at most one entry.  A
 * step counts where the rough weighing has a suspect in a decile that still wants one and has fewer than
 * `wanted`: then all is weighed as it should be, and one suspect enters the table, chosen at random in the
 * decile with the fewest entries that has one.  Choices know what was said, never what is true. */
void simulate_job(struct simulation *s, struct rng *r, int answers, double noise, long wanted,
		  struct calibration *c);

/* Jobs on many pieces of random knowledge of about ten faults, the first made from `seed`, until every
 * decile has `wanted` entries. */
void calibrate_small(uint64_t seed, double noise, long wanted, struct calibration *c);

void calibration_add(struct calibration *sum, const struct calibration *c);
/* The smallest number of entries of a decile; the largest difference in points; the table, a line a
 * decile with `name` in front. */
long calibration_least(const struct calibration *c);
double calibration_worst(const struct calibration *c);
void calibration_print(const struct calibration *c, const char *name);

/* Single-mode causes with independent priors and m noisy-OR findings; link is [n][stride]. */
struct kn_knowledge *noisy_or_knowledge(struct rng *r, int n, int m, double *prior, double *link,
					double *leak, int stride);

#endif
