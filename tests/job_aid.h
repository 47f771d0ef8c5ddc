/* What tests of jobs share: the small knowledge of tests/data/job/small.xml, loaded once for a group. */
#ifndef TESTS_JOB_AID_H
#define TESTS_JOB_AID_H

#include "fixture.h"
#include "job/job.h"

extern struct kn_knowledge *kn;
int set_up(void **state);
int tear_down(void **state);

/* Adds an event that must be accepted; fields that a kind does not have: NULL.  Returns its index. */
int add_at(struct job *j, enum job_kind kind, long long when, const char *a, const char *b, const char *c,
	   const char *d);

#endif
