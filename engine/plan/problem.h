/* A planning problem: fault sets with weights, checks with rows, remedies, access states.
 *
 * The planner proper (belief.c, base.c, look.c) knows only this; options.c makes one from a job's
 * situation, the tests make small ones of their own.  All costs are minutes, everything included
 * but access, which is counted along the access tree. */
#ifndef PLAN_PROBLEM_H
#define PLAN_PROBLEM_H

#include <stdbool.h>
#include <stdint.h>

#include "base/mem.h"

#define PL_SET_FAULTS 6
#define PL_CELLS_MAX 48     /* as SU_CELLS_MAX */
#define PL_GROUPS_MAX 24    /* steps of a base plan */

/* Opening is charged with the closing that must follow; closing to run the engine is then paid. */
struct pl_access { int parent; double cost; bool runs; uint64_t path; };

struct pl_set { int n; int fault[PL_SET_FAULTS]; };

struct pl_check_option {
	int check, place;
	double cost;
	int access;
	bool engine;            /* what cannot run must be closed first */
	int ncells;
	bool asked;             /* on the way that is being looked along */
	bool far;               /* too poor as a first step to be looked at behind one */
	double *rows; int rows_cap;  /* [nsets][ncells + 1], NAN first while not asked */
};

struct pl_remedy_option {
	int remedy, place;
	double cost;
	int access;
	int nclears; struct pl_clear { int fault; double p; } *clears;
};

struct pl_problem {
	int naccesses; struct pl_access *access;    /* 0: the root, always open */
	int nfaults;
	int nsets, sets_cap; struct pl_set *set;    /* pool; 0: the empty set */
	int *hash, hash_size;
	int nchecks; struct pl_check_option *check;
	int nremedies; struct pl_remedy_option *remedy;
	double handling, hand_over;
	double even;            /* minutes within which a check goes before a repair: it disturbs nothing */
	/* Fills ncells probabilities of check option c for a set of the pool. */
	void (*row)(void *about, const struct pl_check_option *c, const struct pl_set *s, double *out);
	void *about;
	long work, work_limit;                      /* base plans evaluated */
	int width, depth;                           /* of the look-ahead behind the first step */
	int first_width;                            /* checks weighed as the first step */
	double minutes_per_bit;                     /* for pl_hope(); 0: not used */
	/* A repair of more than `dear` minutes on a wrong suspect: charged at `doubt` minutes a minute of it, a
	 * look that takes off the doubt about the first suspect credited at `look`; 0: neither.  Faults with the same
	 * label are one suspect.  A first suspect likelier absent than there charges the repair itself with
	 * `unlikely` as well. */
	double doubt, look, unlikely, dear;
	int nlabels; const int *label;              /* [nfaults] */
	int *cure;                                  /* [nfaults] cheapest remedy option; pl_prepare() */
	/* Made by pl_relations(): per remedy those that clear a fault it clears, a bit each; per access state
	 * itself and those behind it; states the bike can be tried in as they are; per fault, does any remedy
	 * clear it. */
	int remedy_words; uint64_t *touches, *behind, inside;
	bool *curable;
	struct arena *arena;
};

/* Remedies done one after the other behind one access state before the bike is tried. */
#define PL_GROUP_MAX 8
struct pl_group { int n, access; int remedy[PL_GROUP_MAX]; double gain, cost, ratio; };

/* Weights over sets of the pool; they sum to 1 (cured sets included). */
struct pl_belief { int n, cap; int *set; double *w; };

void pl_problem_start(struct pl_problem *p);           /* pool with the empty set */
void pl_problem_free(struct pl_problem *p);
/* The limits of the job's advice: how wide and deep to look, how much work. */
void pl_limits(struct pl_problem *p);
int pl_set_of(struct pl_problem *p, const int *faults, int n);  /* sorted; interned */
const double *pl_row(struct pl_problem *p, int check, int set);

void pl_belief_add(struct pl_belief *b, int set, double w);
void pl_belief_free(struct pl_belief *b);
double pl_belief_uncured(const struct pl_belief *b);
/* Without the sets lighter than that; the rest sums to 1 again. */
void pl_belief_drop_light(struct pl_belief *b, double least);
/* P(a fault of the label is there), for each; mass has nlabels numbers. */
void pl_belief_labels(const struct pl_problem *p, const struct pl_belief *b, double *mass);
/* A check that has been had is not had again, at none of its places: its cost becomes infinite. */
void pl_check_spend(struct pl_problem *p, int option);
/* On the way that is being looked along: not asked again behind itself, at none of its places, as in the job
 * (else a check that errs now and then looks as good as an unerring one, asked three times). */
void pl_check_mark(struct pl_problem *p, int option, bool asked);
/* P(cell), and the belief after it. */
double pl_belief_cell(struct pl_problem *p, const struct pl_belief *b, int check, int cell,
		      struct pl_belief *out);
/* After the remedies of a group, given the bike is not cured; returns the probability of that. */
double pl_belief_repaired(struct pl_problem *p, const struct pl_belief *b, const struct pl_group *g,
			  struct pl_belief *out);
/* Expected information of the check in bits. */
double pl_information(struct pl_problem *p, const struct pl_belief *b, int check);

/* Minutes to get to an access state from what is open; what is open then. */
double pl_open_cost(const struct pl_problem *p, uint64_t open, int access);
uint64_t pl_after_check(const struct pl_problem *p, uint64_t open, int check);
uint64_t pl_after_remedy(const struct pl_problem *p, uint64_t open, int remedy);
double pl_check_cost(const struct pl_problem *p, uint64_t open, int check);
double pl_group_cost(const struct pl_problem *p, uint64_t open, const struct pl_group *g);

void pl_relations(struct pl_problem *p);               /* by the first base plan, when all is there */
/* Expected minutes by the best prefix of remedies, access shared, then handing over.  first: the
 * remedy it begins with (-1: hand over at once), may be NULL. */
double pl_base(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int *first);
/* The same, with its groups; the last may be done only in part where the bike is tried in between. */
double pl_base_groups(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
		      struct pl_group groups[PL_GROUPS_MAX], int *ngroups);

/* The best group of every access state that has one, by falling cure per minute; at most `most`. */
int pl_groups(struct pl_problem *p, const struct pl_belief *b, uint64_t open, struct pl_group *out,
	      int most);

/* Once, when the remedies are there; then the price of a bit at the first belief. */
void pl_prepare(struct pl_problem *p);
void pl_price_of_bits(struct pl_problem *p, const struct pl_belief *b, uint64_t open);
/* Cost had the fault been known plus the price of the bits still missing; no bound, an estimate. */
double pl_hope(struct pl_problem *p, const struct pl_belief *b, uint64_t open);

/* value: expected minutes; charge: what caution adds to choose by, see pl_look_before(). */
struct pl_choice { bool check; int option; struct pl_group group; double value, charge; };
double pl_weighed(const struct pl_choice *c);
/* Of one check, looked `depth` ahead; given up once it passes the limit. */
double pl_check_value(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int check,
		      int depth, double limit);
/* Of c[0..n), sorted: values the checks that would be first with a long row of checks behind them, and adds the
 * first check behind every access state that has one.  Returns n and what was added (at most naccesses); not
 * sorted. */
int pl_look_onward(struct pl_problem *p, const struct pl_belief *b, uint64_t open, struct pl_choice *c, int n);
#define PL_LOOK_BEFORE 6     /* checks pl_look_before() may add */
/* Of c[0..n), sorted: where a dear repair is next, adds the checks behind its access states, charges all
 * with the chance that the first suspect is not there, and credits every check that is expected to take off
 * that chance with what it takes (beyond even it counts no more: the repair is not begun then), valued no dearer
 * than asking and repairing whatever it says.
 * Returns n and what was added; not sorted. */
int pl_look_before(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
		   struct pl_choice *c, int n);
/* Expected minutes with `depth` checks or remedies looked ahead. */
double pl_value(struct pl_problem *p, const struct pl_belief *b, uint64_t open, int depth);
/* First steps by rising pl_weighed(); returns how many are in out (at most `most`). */
int pl_first_steps(struct pl_problem *p, const struct pl_belief *b, uint64_t open,
		   struct pl_choice *out, int most, double *base);

#endif
