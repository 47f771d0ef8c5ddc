/* The slow, independent reading of docs/method.md: every fault set with every fate, one by one.
 * Shares no code with engine/suspects but the structures. */
#ifndef TESTS_ORACLE_H
#define TESTS_ORACLE_H

#include "suspects/suspects.h"

#define ORACLE_FAULTS 24

struct oracle {
	double now[ORACLE_FAULTS], was[ORACLE_FAULTS];
	double mode_now[ORACLE_FAULTS], mode_was[ORACLE_FAULTS];
	double number[4], total;
	long sets;
};
void oracle_weigh(const struct kn_knowledge *kn, const struct su_case *c, struct oracle *out);

#endif
