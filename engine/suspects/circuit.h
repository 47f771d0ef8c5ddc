/* A check's model of the reading, asked for a fault set: which leaf is in which state. */
#ifndef SUSPECTS_CIRCUIT_H
#define SUSPECTS_CIRCUIT_H

#include "suspects/cells.h"

/* The model a check has at a place, NULL when it has none. */
const struct kn_model *su_circuit(const struct kn_knowledge *kn, int check, int place);
bool su_circuit_has(const struct kn_model *m, int fault);

/* P(cell) of the check's outcomes at one place given the present faults (ascending), as explicit
 * values before the floor. Faults outside the model that vote for an outcome take their share of
 * the probability first (a broken wire shows open whatever the part is). */
void su_circuit_cells(const struct kn_knowledge *kn, int check, int place, const int *faults, int n,
		      double *by_outcome);

/* Density (or probability of open / short) of what the meter showed; the wide 1 % included. */
double su_circuit_likelihood(const struct kn_knowledge *kn, const struct su_evidence *e,
			     const int *faults, int n);
/* No fault set can give more than this. */
double su_circuit_most(const struct kn_knowledge *kn, const struct su_evidence *e);

#endif
