/* What many test programs set up: trees of the tests, a folder of their own, numbers compared. */
#ifndef TESTS_FIXTURE_H
#define TESTS_FIXTURE_H

#include "job/job.h"

/* Loads trees named below the root of the project; NULL with the reason on standard error. */
struct kn_knowledge *fixture_trees(const char *below_root, const char *machine);

/* A fresh folder, in memory where there is such a place; 0 or -1.  Removed with all that is in it. */
int fixture_folder(char dir[64]);
int fixture_remove(const char *dir);

/* Adds an event that must be accepted; fields that its kind does not have: NULL. */
void fixture_event(struct job *j, enum job_kind kind, const char *a, const char *b, const char *c);

/* The advice, which there must be; the job's until it changes. */
const struct pl_plan *fixture_plan(struct job *j);

/* A reading in this unit, nothing else known. */
struct rd_setup fixture_setup(enum rd_unit unit);

/* cmocka compares floats; these are doubles. */
void fixture_near(double got, double want, double most);

#endif
