/* Self-play: a job with a hidden fault set, answered from the tables, followed to its end by a
 * rule.  The same job gives the same answers to every rule: what a check says depends on the job's
 * seed, the check, its place and the number of repairs before it, on nothing else. */
#ifndef TESTS_PLAY_H
#define TESTS_PLAY_H

#include <stdio.h>

#include "plan/options.h"
#include "random_knowledge.h"

#define PLAY_FAULTS 4

struct play_job {
	uint64_t seed;
	int symptom;
	int nfaults, fault[PLAY_FAULTS];   /* ascending */
	double wrong;                      /* share of the answers replaced by any other at random */
};

enum play_rule {
	PLAY_PLANNER,       /* the advice of the program */
	PLAY_BASELINE,      /* a good mechanic without a computer: docs/measures.md */
	PLAY_ONE_STEP,      /* one check looked ahead, every repair paying its own opening */
	PLAY_RULES
};

struct play_result {
	double cost;        /* minutes, money in minutes; handing over when not cured */
	double known;       /* the same had the fault been known from the start */
	bool cured;
	int checks, repairs;
	/* Each choice of a remedy (or of several done together) of more than an hour, opening and closing
	 * included, parts not: was a mode really present first, among the first three of the ranking? */
	int dear, right, three;
};

/* A job as it comes: complaint and fault set in proportion to prior x P(complaint | set), complaints that
 * no fault of the set is known for left out. */
void play_draw(const struct kn_knowledge *kn, struct su_tables *tables, uint64_t seed,
	       struct play_job *out);
/* The same with this mode alone; false when no complaint of this machine shows it. */
bool play_draw_mode(const struct kn_knowledge *kn, struct su_tables *tables, int mode, uint64_t seed,
		    struct play_job *out);
/* trace: what was done and, at dear remedies, the ranking; may be NULL. */
void play_job(const struct kn_knowledge *kn, struct su_tables *tables, const struct play_job *job,
	      enum play_rule rule, struct play_result *out, FILE *trace);

#endif
