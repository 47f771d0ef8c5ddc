/* What a check would say, given what is wrong: P(cell | fault set), for weighing and planning.
 *
 * A compiled table knows one check at one place.  A fault set enters as a small state number:
 * start with su_table_none(), join one fault after the other.  States with the same answer to the
 * check are one state, so joins are look-ups and there are few of them (knowledge 0.4: the
 * strongest vote counts; noisy-OR, whole tables, gates that are not a pure OR and models of the
 * reading are other ways to fill the same table). */
#ifndef SUSPECTS_TABLE_H
#define SUSPECTS_TABLE_H

#include "suspects/evidence.h"

struct su_table;

/* place KN_NONE on a check with positions that is not a comparison: "looked at everywhere", as a
 * list; its cells then are (outcome, place) pairs as for a comparison. */
struct su_table *su_table_new(const struct kn_knowledge *kn, int check, int place);
void su_table_free(struct su_table *t);

int su_table_none(const struct su_table *t);                 /* state of the empty fault set */
int su_table_join(struct su_table *t, int state, int fault); /* state with one more fault present */
int su_table_states(const struct su_table *t);               /* how many states exist by now */
int su_table_ncells(const struct su_table *t);
/* The cell's outcome, and its place (KN_NONE when the outcome is not local). */
int su_table_cell_outcome(const struct su_table *t, int cell);
int su_table_cell_place(const struct su_table *t, int cell);
int su_table_cell(const struct su_table *t, int outcome, int place); /* KN_NONE when there is none */
/* P(cell | state), floor and scaling applied, exponent not; ncells numbers summing to 1. */
const double *su_table_row(struct su_table *t, int state);
/* Faults with the same votes are one class; class 0 does not bear on the check at all. */
int su_table_nclasses(const struct su_table *t);
int su_table_class(const struct su_table *t, int fault);
int su_table_join_class(struct su_table *t, int state, int class_no);
/* States are winning votes: any number of them; else sets of faults that bear. */
bool su_table_by_votes(const struct su_table *t);
/* Does this fault bear on the check at all? */
bool su_table_bears(const struct su_table *t, int fault);

/* Likelihood of one answer in one state, exponent applied: shares over cells, or the model. */
double su_table_likelihood(struct su_table *t, int state, const struct su_evidence *e);

/* The same for the state with one more class of faults, without making that state. */
double su_table_likelihood_with(struct su_table *t, int state, int class_no,
				const struct su_evidence *e);

/* Joining the class multiplies the likelihood of no state by more than this; INFINITY where that takes
 * more to know. */
double su_table_rise(const struct su_table *t, int class_no, const struct su_evidence *e);

/* No state reached from this one by further joins can have a likelihood above this. */
double su_table_bound(struct su_table *t, int state, const struct su_evidence *e);

#endif
