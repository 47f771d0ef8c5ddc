/* The uncertainty of any function of figures (JCGM 100 5.1.2 and 5.2.2). */
#ifndef READING_PROPAGATE_H
#define READING_PROPAGATE_H

#include "reading/amount.h"

#define RD_FIGURES_MAX 24

typedef double rd_function(const double *x, int n);

/* Sensitivities by small steps (5.1.3 note 2), first order.  `r` holds the correlation of figure i
 * with j at r[i * n + j]; NULL: none.  value is NAN where the function has none; the uncertainty is 0
 * when the result is open (INFINITY). */
struct rd_amount rd_propagate(rd_function *f, const struct rd_amount *x, int n, const double *r);

/* Effective degrees of freedom of a sum of n parts, each with its own (Welch and Satterthwaite; JCGM
 * 100 G.4.1); INFINITY for a part known outright. */
double rd_effective_freedom(const double *u, const double *freedom, int n);

#endif
