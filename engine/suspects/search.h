/* The search's insides, shared by grow.c, ranks.c and last.c only. */
#ifndef SUSPECTS_SEARCH_H
#define SUSPECTS_SEARCH_H

#include "base/mem.h"
#include "suspects/grow.h"

#define BUCKETS 2200          /* powers of two of a double, and zero */

struct node {
	double prior, below;      /* product of weights; bound on everything below */
	double raised;            /* sum of search.raised over its members */
	int parent, item;         /* index of the node, rank of the item added */
	int next;                 /* in its bucket */
	short count, depth;       /* faults from the start; all items */
	bool brought;
};

struct search {
	const struct su_prior *p;
	struct su_seen *const *seen;
	int nseen;
	const struct su_settings *settings;
	struct su_grown *out;
	struct arena *arena;
	int n;                    /* items */
	int *by_rank;             /* item of a rank */
	double *weight;           /* by rank */
	bool *brought;            /* by rank */
	int *part_head, *part_next, *fault_head, *fault_next; /* ranks of a part, of a fault */
	int **bearing, *nbearing, **class_of;  /* per answer: ranks that bear, class by rank */
	double *tail, *tail_brought, *tail_all; /* sums over the ranks from k on */
	double *raised;           /* what the ranks behind k weigh more beside k */
	double *raised_tail;      /* weight of all such pairs from k on */
	struct node *nodes; int nnodes, nodes_cap;
	int head[BUCKETS]; int top;
	double pending, dropped;
	int kept_cap; double kept_least;
	double *prior, *like, *most; /* children of the node being opened, by rank */
	double like_all, most_all;   /* factors all children share */
	struct rows ***rows; int *nrows_kept; /* per answer: by state, made when first met */
	/* items that no answer tells apart: same class everywhere, same fate at the end */
	int nsigs, *sig_of;          /* by rank */
	int *sig_first, *sig_next;   /* ranks of a signature, rising */
	bool *sig_now, *sig_brought;
	double *sig_most;            /* largest weight in it */
	int **sig_class, **sig_bearing, *nsig_bearing; /* per answer */
	double *sig_tail;            /* [n + 1][nsigs] weight of the ranks from k on */
	double *sig_sum;             /* [n + 1][nsigs] weight found per unit, for nodes that open at k */
	double *sig_like, *sig_weight;
	int *alone; int nalone;      /* ranks not lumped at the node being opened */
};

/* ranks.c */
void ranks_make(struct search *s);
/* One answer's likelihoods and bounds over the classes, from one state, as ratios to class 0. */
struct rows { double base, base_most; bool zero; double *like, *most; };
/* What for: children that cannot grow, that may get one more item, or more. */
enum rows_for { ROWS_LAST, ROWS_ONE, ROWS_MANY };
const struct rows *rows_from(struct search *s, int answer, int state, enum rows_for what);

/* grow.c */
int search_state(struct search *s, int answer, int node);
void search_count_modes(struct search *s, int item, int above, double weight);
void search_keep(struct search *s, double weight, int node, int rank);

/* last.c: every child of a node whose children cannot grow, lumped by signature. */
void last_level(struct search *s, int node, int from, int now);

#endif
