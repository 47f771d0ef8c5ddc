/* Resistances as they are met on a loom: in parallel, masked by a neighbour, in a star, behind
 * plug caps, as a stack of voltage drops.  Ohm's and Kirchhoff's laws; uncertainties by JCGM 100
 * 5.1.2 (first order, inputs independent unless said otherwise). */
#ifndef READING_CIRCUIT_H
#define READING_CIRCUIT_H

#include <stdbool.h>

#include "base/err.h"
#include "reading/amount.h"

#define RD_STAR_WHOLE (-1)    /* no phase is open */
#define RD_STAR_SEVERAL 3     /* two phases or all three */

/* Ohm.  An open branch is INFINITY and adds nothing; a branch of 0 shorts all. */
struct rd_amount rd_parallel(const struct rd_amount *branch, int n);

/* One branch of two, from the pair's resistance and the other branch alone.  value is INFINITY
 * when the pair is no lower than the other branch: this one is open. */
struct rd_amount rd_unmask(struct rd_amount pair, struct rd_amount other);

/* How many like branches of `each` ohm carry current when `shown` ohm (leads off) is measured. */
int rd_branches_good(double each, double shown);
/* Resistance of n good ones of `each` ohm. */
double rd_branches(double each, int n);
/* Ampere drawn by n branches of `each` ohm at `volts`: the band goes with the voltage measured. */
double rd_branches_current(double each, int n, double volts);

/* A winding measured through the two caps of its leads, caps measured alone; one unit for all. */
struct rd_amount rd_without_caps(struct rd_amount shown, struct rd_amount cap1, struct rd_amount cap2);

/* Three phases a, b, c joined in a star, measured pairwise through leads of `leads` ohm. */
struct rd_star {
	int open;          /* 0, 1, 2: that phase; RD_STAR_WHOLE; RD_STAR_SEVERAL */
	double pair[3];    /* ab, bc, ca without leads; INFINITY: open */
	double phase[3];   /* a, b, c in ohm; NAN where an open phase hides it */
	double u_phase;    /* from `u` of each pair, leads' error shared by all three */
};
/* -1: no star can read so (one open pair alone, a phase below nothing by more than 3 u). */
int rd_star(const double shown[3], double leads, double u, double u_leads, struct rd_star *out,
	    struct hs_err *err);

/* Drops along a path, volt.  They must add up to what is lost from end to end. */
#define RD_DROP_CLOSES_V .05   /* common practice, no source */
#define RD_DROP_LEAST_A .5     /* with less flowing, a bad joint shows nothing */
struct rd_drops { double sum, missed; bool complete; int worst; };
struct rd_drops rd_drops(const double *segment, int n, double battery, double end);
/* Ohm of a joint from its drop; -1 and why, when too little flows to tell. */
int rd_drop_ohm(double volts, double amperes, double *ohm, struct hs_err *err);

#endif
