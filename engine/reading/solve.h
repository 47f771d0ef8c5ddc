/* A tree of elements forwards (the figure) and backwards (which values of one leaf make it). */
#ifndef READING_SOLVE_H
#define READING_SOLVE_H

#include <stdbool.h>

#include "reading/model.h"

/* One end of an interval, and how fast it moves when the figure asked for does. */
struct rd_end { double at, slope; };
struct rd_event { struct rd_end lo, hi; bool outside; };  /* lo < x <= hi, or its complement */

double rd_figure(const struct rd_node *n, const double *leaf);

/* Values of `leaf_no` for which the figure is at most y, the other leaves as they are.  Only for
 * leaves for which rd_may_be_solved(). */
struct rd_event rd_at_most(const struct rd_node *root, int leaf_no, double y, const double *leaf);
bool rd_may_be_solved(const struct rd_node *n, int leaf); /* once, and in reach */
bool rd_compares(const struct rd_node *n);   /* a highest, lowest or spread somewhere in it */

#endif
