/* The ranked list of what may be wrong: fault sets with weights, exact within a stated bound.
 *
 * weight(set) = prior(set) x product of the likelihoods of all answers.  Sets are grown best first
 * until a proven bound on the weight of everything not looked at is under the tolerance, or the
 * work limit stops it; either way `left_out` is that bound as a share of everything.  Computed
 * afresh from knowledge + case every time, answers taken in a canonical order, so taking an answer
 * back equals never having given it, bit for bit.  (Henrion 1991 is the idea; docs/method.md.) */
#ifndef SUSPECTS_SUSPECTS_H
#define SUSPECTS_SUSPECTS_H

#include "base/text.h"
#include "suspects/evidence.h"
#include "suspects/table.h"

#define SU_SET_MAX 16   /* faults in one set; tests go to 15 causes, the trade to 3 (+1 by work) */

struct su_settings {
	double tolerance;       /* left_out aimed at; 0: everything is enumerated */
	long work_limit;        /* sets looked at, counted, never timed */
	int keep;               /* sets listed, the heaviest; tolerance 0 lists all */
};
struct su_settings su_settings_default(void);   /* 1e-4, 60 million, 1024 */

/* One state of the world: what was wrong at the start is told apart from what is wrong now. */
struct su_set {
	double weight;          /* share of everything looked at */
	int nnow;               /* faults present now, ascending */
	const int *now;
	int nwas;               /* faults present at the start, ascending; owned by the suspects */
	const int *was;
};

struct su_suspects {
	const struct kn_knowledge *kn;
	int nsets; struct su_set *sets;         /* the heaviest, by falling weight; ties by faults */
	double listed;                          /* sum of their weights: 1 when all are listed */
	double left_out;
	double log_evidence;                    /* ln P(all answers), of what was looked at */
	double *now;                            /* [nfaults] P(present now) */
	double *was;                            /* [nfaults] P(present at the start) */
	double *mode_now, *mode_was;            /* [nmodes] the same for a mode, wherever it is */
	struct arena *arena;
	double p_none;                          /* P(nothing wrong now) */
	double number[4];                       /* P(0, 1, 2, 3 or more faults now) */
	long looked_at;                         /* sets evaluated */
};

struct su_suspects *su_weigh(const struct kn_knowledge *kn, const struct su_case *c,
			     const struct su_settings *settings, struct hs_err *err);
void su_free(struct su_suspects *s);

/* The chance that the repair clears the fault, by what it names and where it was done: what is wrong at all places
 * is not cleared at one. */
double su_clears(const struct kn_knowledge *kn, const struct su_repair *r, int fault);
/* Did the check's last answer speak for something that a repair since then clears? */
struct su_tables;
bool su_worth_repeating(const struct kn_knowledge *kn, const struct su_case *c, struct su_tables *tables,
			int check);

/* ---- what a person sees: one line per part and mode -------------------------------------- */

struct su_line {
	int mode;               /* index in kn->modes; KN_NONE: something not on this list */
	double p;               /* P(this mode is present now, wherever) */
	int place;              /* the fault's place when decided; else KN_NONE */
	bool all;               /* "all of them" leads */
	bool undecided;         /* the part has places and which one is not known yet */
	int best_fault;         /* most probable fault of this mode */
	int second_fault;       /* undecided: the one that decides it together with the best; else KN_NONE */
	int nfaults;            /* faults of this mode with their probabilities, in place order */
	int fault[10]; double by_fault[10];
};
/* The mode likeliest to be there now; ties to the lower index. */
int su_likeliest(const struct su_suspects *s);
/* Sorted by falling p, ties by index. *out is freed with mem_free(). A place counts as decided when
 * it holds at least .8 of the line's probability; two decide it together when they do,
 * the second is three times as likely as the next, and they are not all the places there are. */
int su_lines(const struct su_suspects *s, struct su_line **out);

/* ---- why ------------------------------------------------------------------------------------ */

/* What answer `e` did to the mode: weight of evidence in decibans, 10 log10 of the ratio of
 * P(answer | mode present) to P(answer | mode absent), everything else as weighed. NAN entries
 * never; +/-60 at most. out has c->nevidence numbers. */
int su_why(const struct kn_knowledge *kn, const struct su_case *c, const struct su_settings *settings,
	   int mode, double *out, struct hs_err *err);

/* ---- how firm, how well it fits ----------------------------------------------------------- */

/* By what factor the frequency of the first suspect, or the likelihood of one answer under it, would
 * have to be too high before `second` takes its place: closed form over the listed sets
 * (docs/method.md 5).  "firm" from 5, "leaning" from 2, else "open". */
struct su_firmness { int first, second; double factor; const char *word; };
void su_firm(const struct su_suspects *s, struct su_firmness *out);

/* Do the answers go together?  conflict: ln of (product of P(answer) over P(all answers)), given the
 * complaints, per docs/method.md 5; above 0 they contradict each other more than they support.
 * `odd` is the answer (index in c->evidence) that goes least with the rest, KN_NONE when there are
 * fewer than two; odd_conflict the same measure for it against all others. */
struct su_fit { double conflict, odd_conflict; int odd; bool bad; };
int su_fits(const struct kn_knowledge *kn, const struct su_case *c, const struct su_settings *settings,
	    struct su_fit *out, struct hs_err *err);

/* P(cell) of a check (at a place, or everywhere) as things stand now: predictive, ncells numbers. */
void su_predict(const struct su_suspects *s, struct su_table *t, double *cells);

#endif
