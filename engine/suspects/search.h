/* The search's insides, shared by grow.c, ranks.c, rise.c and last.c only. */
#ifndef SUSPECTS_SEARCH_H
#define SUSPECTS_SEARCH_H

#include "base/mem.h"
#include "suspects/grow.h"

#define BUCKETS 800           /* powers of two told apart; 0: zero, and what is hardly more */

struct node {
	double prior, below;      /* product of weights; bound on everything below */
	double raised;            /* sum of search.raised over its members */
	int parent, item;         /* index of the node, rank of the item added */
	int next;                 /* in its bucket */
	short count, depth;       /* faults from the start; all items */
	bool brought, tightened;  /* tightened: `below` is already what rise.c makes of it */
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
	double pending, dropped, counted; /* counted: pending when it was last added up */
	int kept_cap; double kept_least;
	double *prior, *like, *most; /* children of the node being opened, by rank */
	double like_all, most_all;   /* factors all children share */
	double **rise;               /* per answer and class: one more such item raises it no more */
	double *cap;                 /* per answer: nothing more raises it by more, beside the node */
	double node_weight;          /* the node's own but for the number of faults */
	double *sig_gain;            /* by signature: product of the lesser of rise and cap */
	double *gain, *gain_tail;    /* by rank: that times the prior weight, and summed from k on */
	struct slots *rows, *rows_last, *ratios; /* per answer: by state, made when first met */
	/* For the last two levels, over the ranks [first, n): those there from the start. */
	int first;
	int **bears, *nbears;        /* per rank: the answers it bears on */
	struct apart **apart; int *napart;   /* per rank: those it cannot be lumped beside */
	bool *is_now, any_cleared;   /* by rank: never cleared */
	/* Items that no answer tells apart: same class everywhere, same fate at the end; by falling
	 * last rank, so that those with members behind a rank come first. */
	int nsigs, *sig_of;          /* by rank */
	int *sig_first, *sig_next, *sig_last;   /* ranks of a signature, rising */
	double *after;               /* by rank: weight of those of its signature behind it */
	bool *sig_now;               /* never cleared */
	double *sig_most;            /* largest weight in it */
	struct bearing *sig;         /* per answer: the signatures that bear on it */
	/* the node and the child being opened */
	int *state; double *base;    /* per answer: beside the node */
	double *sig_base, *sig_like; /* likelihoods beside the node, beside the child */
	double *sig_weight, *sig_sum, *minus; /* behind the child; found per unit of weight; by rank: not its */
	struct apart *alone; int nalone, *alone_at;
};

/* The signatures that bear on one answer, rising; their classes numbered as they come, so that a
 * prefix of the signatures has a prefix of the classes. */
struct bearing {
	int n, *sig, *class_of;      /* class_of: number of the class */
	int *nclasses;               /* [n + 1]: classes of the first i signatures */
	int *class_no;               /* by number: what su_seen calls it */
	double *inverse;             /* one over the ratio beside the node */
};

/* Items that exclude each other, go together, or are one mode at two places. */
struct apart { int rank; double times, was; };

/* ranks.c */
void ranks_make(struct search *s);
struct slots { int n; void **at; };
void **slot(struct slots *s, int at);   /* NULL in it when first met */
/* One answer's likelihoods and bounds over the classes, from one state, as ratios to class 0. */
struct rows { double base, base_most; bool zero; double *like, *most; };
const struct rows *rows_from(struct search *s, int answer, int state, bool may_grow);
/* One answer's likelihoods over its classes by number, from one state, as ratios to its own; 0 where not
 * asked for yet. */
struct ratios { double *ratio; int n; };

/* rise.c */
void rise_make(struct search *s);
/* A bound on everything below a node whose children start at `from` >= first; fills gain[] and the rest. */
double rise_below(struct search *s, int node, int from);
/* After it: a bound on all sets of the node with a child of likelihood `like` and one item more. */
double rise_below_child(struct search *s, int node, int child, double like);

/* grow.c */
void search_children_priors(struct search *s, int node, int from);
/* Gives up what weighs at most `below` when that is light: all together at most a share of the tolerance. */
bool search_drop(struct search *s, double below, double share);
int search_room(const struct search *s, const struct node *n); /* faults from the start it may still get */
int search_state(struct search *s, int answer, int node);
/* A set with the mode of `rank`, which counts once: unless one of `above` has it already. */
void search_count_modes(struct search *s, int rank, const int *above, int n, double weight);
/* Lists the set of a node with one or two ranks more; -1 for none. */
void search_keep(struct search *s, double weight, int node, int rank, int other);

/* last.c: everything below the children of a node whose children may get one item more. */
void last_two_levels(struct search *s, int node, int from, int now);

#endif
