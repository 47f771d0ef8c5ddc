/* A model of the reading: elements over parts' values -> the distribution of what the meter shows.
 *
 * A model is a small tree of series / parallel / ratio / difference / sum / spread / highest /
 * lowest over leaves.  A leaf stands for one value of one part (the resistance of heater 2); who
 * supplies the leaf's distribution decides what state the part is in.  From the same tree comes
 * the likelihood of a number that was typed and the probability of an outcome's interval, for
 * every combination of states: nobody writes bands for "one of the two is open". */
#ifndef READING_MODEL_H
#define READING_MODEL_H

#include <stdbool.h>

#include "reading/reading.h"

enum rd_op {
	RD_OP_LEAF, RD_OP_CONSTANT, RD_OP_SERIES, RD_OP_PARALLEL, RD_OP_SUM, RD_OP_DIFFERENCE,
	RD_OP_RATIO, RD_OP_PRODUCT, RD_OP_SPREAD, RD_OP_HIGHEST, RD_OP_LOWEST
};

#define RD_LEAVES_MAX 12

struct rd_node {
	enum rd_op op;
	int leaf;                  /* RD_OP_LEAF */
	double constant;           /* RD_OP_CONSTANT */
	int nkids;
	const struct rd_node *const *kids;
};

enum rd_dist_kind { RD_DIST_POINT, RD_DIST_NORMAL, RD_DIST_UNIFORM, RD_DIST_LOG_UNIFORM,
		    RD_DIST_OPEN, RD_DIST_SHORT };
struct rd_dist {
	enum rd_dist_kind kind;
	double a, b; /* point a; normal mean a, sd b; uniform and log-uniform from a to b */
};

struct rd_meter {            /* how the figure is taken */
	const struct rd_instrument *instrument;
	double repeatability;  /* one standard deviation, same unit as the leaves */
	double range;          /* more than this shows as open; INFINITY: no limit */
	double short_below;    /* less than this (after leads) shows as short; 0: never */
};

/* Density of the number (per unit of the leaves), or probability of showing open or short.
 * `u` is the standard uncertainty of the typed figure (<= 0: from the meter). */
double rd_model_likelihood(const struct rd_node *root, const struct rd_dist *leaves, int nleaves,
			   const struct rd_meter *meter, enum rd_kind kind, double value, double u);

/* Probability that the meter shows a number in (low, high]; open and short not included. */
double rd_model_between(const struct rd_node *root, const struct rd_dist *leaves, int nleaves,
			const struct rd_meter *meter, double low, double high);
double rd_model_open(const struct rd_node *root, const struct rd_dist *leaves, int nleaves,
		     const struct rd_meter *meter);
double rd_model_short(const struct rd_node *root, const struct rd_dist *leaves, int nleaves,
		      const struct rd_meter *meter);

/* The figure when every leaf sits at its middle; INFINITY when open. */
double rd_model_middle(const struct rd_node *root, const struct rd_dist *leaves, int nleaves);

#endif
