/* The cells of one check at one place, and how a single fault votes for them (docs/method.md 2). */
#ifndef SUSPECTS_CELLS_H
#define SUSPECTS_CELLS_H

#include "suspects/evidence.h"

struct su_cells {
	int n;
	int outcome[SU_CELLS_MAX];
	int place[SU_CELLS_MAX];      /* KN_NONE when the outcome is not local here */
	double base[SU_CELLS_MAX];    /* unused for the rest cell */
	int rest;                     /* index, KN_NONE with tables */
	double floor;                 /* f, never above .2 / n */
};

/* 0, or -1 when the check has more cells than SU_CELLS_MAX. */
int su_cells_make(struct su_cells *c, const struct kn_knowledge *kn, int check, int place);

/* The fault's votes, NAN where it has none. Returns whether it has any. */
bool su_cells_votes(const struct su_cells *c, const struct kn_knowledge *kn, int check, int place,
		    int fault, double votes[SU_CELLS_MAX]);

/* Explicit values v -> the row: scaled, remainder, floor. In place. */
void su_cells_finish(const struct su_cells *c, double *v, double most);

#endif
