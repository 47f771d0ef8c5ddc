/* Fault sets drawn at random from the prior of docs/method.md 1, without the weighing's help. */
#ifndef TESTS_DRAW_H
#define TESTS_DRAW_H

#include "random_knowledge.h"

struct draw;
struct draw *draw_new(const struct kn_knowledge *kn, bool no_complaint);
void draw_free(struct draw *d);
/* Faults present, ascending; returns how many. `out` has room for SU_SET_MAX. */
int draw_faults(struct draw *d, struct rng *r, int *out);

#endif
