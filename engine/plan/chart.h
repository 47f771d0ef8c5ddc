/* The advice compiled beforehand: every answer followed to a repair, for a sheet on the wall. */
#ifndef PLAN_CHART_H
#define PLAN_CHART_H

#include "plan/plan.h"

#define PL_CHART_MODES 3
#define PL_CHART_REPAIRS 6

/* A check with an answer to follow, repairs after which the bike is tried, or the end. */
enum pl_chart_kind { PL_CHART_CHECK, PL_CHART_REPAIR, PL_CHART_LAST, PL_CHART_OVER };

struct pl_chart_node {
	enum pl_chart_kind kind;
	int index, place;               /* check, or first remedy */
	int nrepairs;                   /* REPAIR: done before the bike is tried; LAST: one after the other */
	struct pl_chart_repair { int remedy, place; } repair[PL_CHART_REPAIRS];
	bool more;                      /* LAST: there are more than fit */
	double reach;                   /* chance to come here */
	double minutes;                 /* of this step; LAST: expected, all of it */
	double expected;                /* expected minutes from here on, handing over included */
	double bound;                   /* no plan from here on does better */
	int parent, outcome, at;        /* the answer that leads here: outcome, place; a repair: not cured */
	int first, next;                /* first answer; next answer of the parent; -1 */
	int nmodes;                     /* what is likeliest here */
	struct pl_chart_mode { int mode; double p; } mode[PL_CHART_MODES];
};

struct pl_chart {
	int nnodes; struct pl_chart_node *node;  /* 0: the first step; parents before children */
	double expected, bound;
	double planned_over;            /* share of the fault sets that the figures are for */
	int suspects;                   /* modes of one in a hundred or more at the start */
	long work;
};

struct pl_chart_settings {
	int depth;                      /* steps below the first */
	double least;                   /* answers rarer than this, from the start, are not followed */
	void (*progress)(void *about, int steps, double share_done); /* NULL: not told */
	void *about;
};
struct pl_chart_settings pl_chart_settings_default(void);

/* Freed with pl_chart_free(). */
void pl_chart_make(const struct pl_situation *now, const struct pl_chart_settings *settings,
		   struct pl_chart *out);
void pl_chart_free(struct pl_chart *c);

#endif
