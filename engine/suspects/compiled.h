/* A compiled table's insides, shared by table.c (states and their rows) and likelihood.c (what an answer
 * makes of them) only. */
#ifndef SUSPECTS_COMPILED_H
#define SUSPECTS_COMPILED_H

#include "base/mem.h"
#include "suspects/cells.h"
#include "suspects/table.h"

typedef unsigned short code;           /* which vote of a cell wins; 0: nobody votes */

struct su_table {
	const struct kn_knowledge *kn;
	const struct kn_check *c;
	int check, place;
	struct su_cells cells;
	bool by_votes;                 /* states are winning votes; else sets of faults */
	int *class_of;                 /* [nfaults] */
	int nclasses, classes_cap;
	double *class_votes;           /* by votes: [nclasses][cells.n] */
	int *class_fault;              /* by sets: the fault itself */
	double most[SU_CELLS_MAX], least[SU_CELLS_MAX]; /* extremes over all classes, base included */
	double *value[SU_CELLS_MAX];   /* by votes: per cell, the vote of a code; 0: the base */
	code first_high[SU_CELLS_MAX]; /* codes from here on are above the base */
	code *class_code;              /* by votes: [nclasses][cells.n] */
	int words;                     /* codes (votes) or ints (sets) per state key */
	int nstates, states_cap;
	code *key;                     /* by votes: [nstates][cells.n] */
	int *set;                      /* by sets: [nstates][1 + SU_SET_KEY]: count, faults */
	double *row;                   /* [nstates][n], NAN first when not yet made */
	int **join;                    /* [nstates], made when first joined: [nclasses], -1 unknown */
	int *hash; int hash_size;      /* a power of two */
	/* By votes, where a key is one number of 62 bits, sum of stride x code: likelihoods of one answer by
	 * number + 1, for the same few hundred keys come again and again. */
	bool numbered;
	int nvalues[SU_CELLS_MAX];     /* codes of a cell */
	uint64_t stride[SU_CELLS_MAX], *number; /* [nstates] */
	struct vote { int cell; code code; } *votes;
	int *first_vote;               /* [nclasses + 1]: in votes[] */
	struct quick { uint64_t number; double likelihood; } *quick;
	double *powered[SU_CELLS_MAX]; /* a vote's share to the answer's exponent, by code, where none is scaled */
	const struct su_evidence *quick_for;   /* of this answer */
	struct power { double x, e, y; } *powers;
	struct arena *arena;
};

#define SU_SET_KEY 16
#define EXPLICIT_MOST .97              /* of the cells with votes together; the rest keeps what is left */

/* The key of a state joined with a class; the row of a key, floor and scaling applied. */
void su_joined_votes(const struct su_table *t, int state, int class_no, code key[SU_CELLS_MAX]);
void su_row_of_votes(const struct su_table *t, const code *key, double *row);
bool su_has_gate_votes(const struct kn_check *c);

#endif
