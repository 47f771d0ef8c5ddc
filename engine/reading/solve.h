/* A tree of elements forwards (the figure) and backwards (which values of one leaf make it). */
#ifndef READING_SOLVE_H
#define READING_SOLVE_H

#include <stdbool.h>

#include "reading/model.h"

/* One end of an interval, and how fast it moves when the figure asked for does. */
struct rd_end { double at, slope; };
struct rd_event { struct rd_end lo, hi; bool outside; };  /* lo < x <= hi, or its complement */

double rd_figure(const struct rd_node *n, const double *leaf);

/* The way from the root down to one leaf. */
#define RD_DEPTH_MAX 16
struct rd_path { int n; const struct rd_node *node[RD_DEPTH_MAX]; int kid[RD_DEPTH_MAX]; };

/* false when the leaf is in the tree more than once or never, or not in reach: only directly under
 * an element that compares (two ends carried further down are not needed by any tree). */
bool rd_path_to(const struct rd_node *root, int leaf, struct rd_path *out);

/* Values of the path's leaf for which the figure is at most y, the other leaves as they are. */
struct rd_event rd_at_most(const struct rd_path *path, double y, const double *leaf);
/* The same for a leaf that is in the tree more than once, by searching between lo and hi, where the
 * figure must rise or fall all the way. Moves leaf[leaf_no]. */
struct rd_event rd_search_at_most(const struct rd_node *root, int leaf_no, double lo, double hi, double y,
				  double *leaf);

bool rd_compares(const struct rd_node *n);   /* a highest, lowest or spread somewhere in it */

#endif
