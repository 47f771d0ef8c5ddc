/* One absorbed answer, as the suspects see it: which check, where, when, what it said, what it is
 * worth.  Made by the job from events; order within one epoch does not matter. */
#ifndef SUSPECTS_EVIDENCE_H
#define SUSPECTS_EVIDENCE_H

#include "knowledge/knowledge.h"

#define SU_CELLS_MAX 48

/* Cells are what can come out of one answer: outcome i of a check done once or at one place is cell
 * i; a comparison has one cell per local outcome and place besides.  su_cells() in table.h lists
 * them. */
struct su_evidence {
	int check;
	int place;              /* index in the check's kind; KN_NONE: once, or a comparison */
	int epoch;              /* how many remedies had been done before it */
	double exponent;        /* knowledge 0.3: 1, .85, .6, .3; 0 counts nothing */
	/* words, and numbers judged by bands: the share of each cell, summing to 1 */
	int ncells;
	double share[SU_CELLS_MAX];
	/* numbers on a check with a model: the density is asked from the model instead */
	bool by_model;
	enum rd_kind kind;
	double value, u;
};

/* A remedy done between two epochs. place: index in the remedy's kind, KN_NONE for all. */
struct su_repair { int remedy, place; double quality; /* 1; 0 when nothing was really changed */ };

struct su_case {
	int nevidence; const struct su_evidence *evidence;
	int nrepairs; const struct su_repair *repairs;  /* repair r separates epoch r and r+1 */
	uint32_t histories;     /* bit set: multipliers that apply */
	bool no_complaint;      /* bench run: "no fault" has its own share */
};

#endif
