/* The next step: the one with the least expected cost from here to a bike that runs right.
 *
 * Steps are checks and remedies.  Cost is counted in minutes: hands, waiting at a tenth, opening
 * and closing along the access tree, parts and what opening consumes at one minute per currency
 * unit, and handing the bike over as the last resort.  Base plan: the best prefix of remedies in
 * the order of their efficiency with access shared, then hand over; on top of it a check is worth
 * what it lowers the expected cost of the base plan, looked one step ahead (docs/method.md).
 * Work is counted, never timed; ties go to the lower index, checks before remedies. */
#ifndef PLAN_PLAN_H
#define PLAN_PLAN_H

#include "suspects/suspects.h"
#include "suspects/tables.h"

/* Rates: what things cost in minutes (knowledge 0.5). */
struct pl_rates {
	double per_currency;    /* minutes one currency unit is worth */
	double waiting;         /* a waited minute, 0.1 */
	double handling;        /* per check, 3 */
	double hand_over;       /* 600 */
	double labour;          /* currency units a minute of hands is charged with; 0: not shown */
	const char *name;       /* "home", "workshop", "counter" */
};
struct pl_rates pl_rates_default(void);         /* the workshop's */
/* false, and the default, when there is none of that name. */
bool pl_rates_named(const char *name, struct pl_rates *out);

struct pl_situation {
	const struct su_suspects *suspects;
	const struct su_case *the_case;
	uint64_t tools;                 /* what the user owns */
	uint64_t open;                  /* bit set of access states open now (bit 0, on-bike, always) */
	uint32_t circumstances;         /* what holds now: engine cold, battery charged ... */
	uint32_t circumstances_known;   /* which of them have been asked */
	int nholds; const int *holds;   /* holds in force */
	/* per check: answered or declined, and so not to be asked again; [nchecks]; NULL: none */
	const unsigned char *done;
	const unsigned char *twice;     /* per check: had more than once, or not to be had again; NULL: none */
	const unsigned char *remedy_declined; /* [nremedies] cannot be done here */
	struct pl_rates rates;
	struct su_tables *tables;       /* kept between calls for speed; NULL: made for this one */
};

enum pl_kind { PL_CHECK, PL_REMEDY, PL_HAND_OVER };

#define PL_REASONS_MAX 4
struct pl_step {
	enum pl_kind kind;
	int index;                      /* check or remedy */
	int place;                      /* where first, when the suspects say; KN_NONE */
	bool again;                     /* answered before: once more before a dear repair */
	double minutes;                 /* of this step, opening included */
	double whole;                   /* repairs: with closing, and with all of also[] */
	double money;                   /* currency units */
	double expected_total;          /* expected minutes to a running bike if this is done next */
	double saves;                   /* the first: against the best of the other first steps, < 0 when
					 * it is a look before a long repair; others: against the first */
	int nalso, also[7];             /* remedies: to be done before closing up and trying, in order */
	char why[200];                  /* one sentence */
	/* which suspects each answer would favour: cell -> mode */
	int nreasons;
	struct pl_reason { int outcome, place; double p; int mode; double p_mode; } reason[PL_REASONS_MAX];
};

struct pl_plan {
	int nsteps;                     /* first is the advice, the others run up (3 at most, fewer if none) */
	struct pl_step step[5];
	bool any_as_good;               /* the first ones differ by less than a minute ... */
	int as_good;                    /* ... and how many of them (1: only the first) */
	double repair_only;             /* expected minutes without any more checks */
	double known_cost;              /* expected cost had the fault been known: a lower bound */
	int blocked_by;                 /* a hold that keeps better steps back; KN_NONE */
	int tool_wanted;                /* the one missing tool that would save most; KN_NONE */
	double tool_saves;
	long work;
};

int pl_next(const struct pl_situation *now, struct pl_plan *out, struct hs_err *err);

#define PL_AS_GOOD 1.0    /* minutes that are no difference: steps within them are as good, a check goes first */

/* Before a repair of more than PL_DEAR minutes, opening and closing included: the answer of this epoch (index in
 * the case) that the first suspect rests on most and that has been had but once; KN_NONE when none doubles its
 * odds.  rests: how much, in decibans, everything else as it is. */
#define PL_DEAR 60
int pl_again(const struct pl_situation *now, double *rests);

/* How far the frequency of the first suspect (or an answer's likelihood where it is present) would have
 * to be overrated before another step were advised: `factor`, and that step; just below it the advice
 * stays.  changes: false when it stays even at PL_FIRM_MOST.  The words are those of su_firm(). */
#define PL_FIRM_MOST 10.0
struct pl_firmness {
	int mode;
	double factor;
	enum pl_kind kind; int index, place;
	const char *word;
	bool changes;
};
void pl_firm(const struct pl_situation *now, struct pl_firmness *out);

/* Minutes and money of one step from the present access state, opening included. */
double pl_check_minutes(const struct pl_situation *now, int check);
double pl_remedy_minutes(const struct pl_situation *now, int remedy, int place, double *money);

#endif
