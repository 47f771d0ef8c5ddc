/* Everything the program knows, after loading and after binding to one machine.
 *
 * Fixed after kn_load(): every other room borrows it as const.  One arena owns all of it.  The XML
 * behind it is described in docs/trees.md and docs/halfsplit.xsd; the struct fields below carry
 * the same names.  Ids are words; indices are positions in the arrays and stable for one loaded
 * knowledge (files are read in byte order of their names, elements in file order), so ties broken
 * by index are the same everywhere.
 *
 * Vocabulary: a *mode* is a way a part fails; a *fault* is a mode at one place (carburettor 3, or
 * "all of them", or simply there for single parts).  Suspects are made of faults. */
#ifndef KNOWLEDGE_KNOWLEDGE_H
#define KNOWLEDGE_KNOWLEDGE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "reading/figure.h"
#include "reading/model.h"
#include "reading/reading.h"

#define KN_NONE (-1)
#define KN_ALL_SITES 0xffffffffu

enum kn_signal { KN_NO_SIGNAL, KN_NOTICE, KN_CAUTION, KN_WARNING, KN_DANGER }; /* ANSI Z535 */
const char *kn_signal_word(enum kn_signal s);

struct kn_caution { enum kn_signal signal; const char *hazard; const char *text; };

/* Where things can be: kind "carburettor" has places "1".."4"; kind "coil" has "1+4", "2+3".
 * `sites` is a bit set of cylinders: two places bear on each other when their sites meet. */
struct kn_place { const char *id; uint32_t sites; };
struct kn_kind { const char *id, *title; int nplaces; struct kn_place *places; };

/* A figure of the machine: band, nominal, unit, reference temperature. */
struct kn_value {
	const char *id, *title;
	enum rd_unit unit;
	double nominal, low, high;      /* NAN nominal when only a band is given; +/-INFINITY one-sided */
	double at_degC;                 /* NAN when temperature does not matter */
	bool generic;                   /* common practice: the owner's manual would know better */
	bool manual;                    /* loaded with a figure of the owner's manual */
};

struct kn_named { const char *id, *title, *ask; }; /* tools, options, circumstances */
struct kn_history { const char *id, *title, *ask; double times; };

/* Access states form a tree by `parent` (KN_NONE for the root, which is state "on-bike"). */
enum kn_runs { KN_RUNS_NO, KN_RUNS_BOTTLE, KN_RUNS_YES };
struct kn_access {
	const char *id, *title;
	bool reachable;                 /* this machine has it */
	int parent;
	double open_min, close_min;     /* this step only */
	enum kn_runs runs;              /* can the engine run with this open */
	const char *consumes;           /* "bowl gaskets", or NULL */
	double consumes_cost;           /* expected, currency units */
	int nrecords; int *records;     /* settings that opening it disturbs */
	int ncautions; struct kn_caution *cautions; /* of opening it */
	int nbatch; int *batch;         /* checks that are cheap once there: all of them before closing */
};

/* What one part's value is in one state. */
struct kn_shows { int value_slot; struct rd_dist dist; };

struct kn_part {
	const char *id, *title;
	int kind;                       /* index in kinds, KN_NONE: there is one */
	bool fitted;                    /* on this machine */
	int nvalues;                    /* electrical or dimensional values the part has */
	struct kn_part_value {
		const char *of;
		struct rd_dist healthy;
		enum rd_unit unit;
		int value;              /* the machine's value it is taken from, KN_NONE: its own */
	} *values;
};

struct kn_mode {
	const char *id, *title;         /* "worn", "worn" */
	const char *ref;                /* "float-needle.worn" */
	int part;
	bool consequence;               /* never closes a job: ask why */
	bool after_work;                /* work at the bench can introduce it */
	uint32_t history;               /* bit set of histories that raise it */
	int nshows;
	struct kn_shows *shows;
};

struct kn_fault {
	int part, mode;
	int place;                      /* index in the part's kind; KN_NONE: all of them / the only one */
	bool all;                       /* "all of them" of a part that has places */
	uint32_t sites;
	double weight;                  /* share per thousand jobs; independent priors: probability */
};
/* Fault 0 is "something not on this list" when kn->something_else is true. */

/* Gates are deterministic (IEC 61025).  A pure OR of faults votes through its members; any other
 * gate votes as itself when it is true. */
enum kn_gate_op { KN_OR, KN_AND, KN_AT_LEAST };
struct kn_gate {
	const char *id, *title;
	enum kn_gate_op op;
	int k;
	int nfaults; int *faults;       /* direct members, as faults */
	int ngates; int *gates;         /* direct members, as gates; always earlier in the array */
	bool pure_or;                   /* all the way down */
	int nreach; int *reach;         /* pure OR: every fault under it */
};

/* ---- checks and symptoms: one likelihood structure -------------------------------------- */

enum kn_combine {
	KN_STRONGEST,                   /* knowledge of this trade: the strongest vote counts */
	KN_NOISY_OR,                    /* base is the leak, votes are links */
	KN_TABLE                        /* a whole table over a few conditions */
};

#define KN_OUTCOMES_MAX 20

struct kn_outcome {
	const char *id, *title, *means; /* means: one line for the mechanic, may be NULL */
	double base;                    /* P(outcome | nothing that bears on it); unused for `rest` */
	bool rest;                      /* takes the remainder; exactly one (not with tables) */
	bool local;                     /* answered with a place: `one-cold` of the comparison at 3 */
	int local_kind;                 /* index in kinds; KN_NONE: the check's own kind */
	bool has_range;                 /* a number falls into it ... */
	double low[2], high[2];         /* ... when in one of these intervals (low, high], unit of the check */
	bool on_open, on_short;         /* ... or when the meter shows open / short */
	/* Votes, expanded to faults: NAN where the fault has no vote. Own id beats gates; of several
	 * gates the largest if any is above base, otherwise the smallest. Length kn->nfaults. */
	double *vote;
	int ngate_votes;                /* gates that are not a pure OR */
	struct kn_gate_vote { int gate; double p; } *gate_votes;
};

struct kn_table {
	int nover;                      /* at most 8 */
	struct kn_over { int mode, gate; } *over; /* the one that is not KN_NONE */
	double *p;                      /* [1 << nover][noutcomes]; bit i of the row: over[i] present */
};

enum kn_energy { KN_ENERGY_NONE, KN_KEY_ON, KN_CRANKING, KN_RUNNING, KN_RIDING };

struct kn_reading {
	enum rd_unit unit;
	enum rd_derive derive;
	int value;                      /* machine value that gives the band; KN_NONE */
	double low, high;               /* the band itself */
	double nominal;                 /* NAN unknown; for the thousand-fold slip */
	const struct rd_instrument *instrument;
	double repeatability;
	bool leads;                     /* low-ohm: subtract the leads */
	bool copper;                    /* carry to reference_degC */
	double reference_degC;
	bool sea_level;                 /* pressure: carry to sea level */
	double range, short_below;      /* INFINITY, 0 when absent */
};

/* A model bound to one place of the check: leaves are (part value at place). */
struct kn_leaf { int part, slot, place; };
struct kn_model {
	const struct rd_node *root;
	int nleaves; struct kn_leaf leaves[RD_LEAVES_MAX];
	int nfaults; int *faults;       /* every fault that can change a leaf, ascending */
};

enum kn_check_kind { KN_QUESTION, KN_MEASUREMENT, KN_SYMPTOM };

struct kn_check {
	const char *id, *title, *how;
	enum kn_check_kind kind;
	bool offered;                   /* possible on this machine */
	int access;                     /* index in accesses */
	bool needs_engine;              /* engine runs during it (a remote bottle when the tank is off) */
	enum kn_energy energy;
	double minutes, wait;           /* hands; waiting */
	bool minutes_for_one;           /* per place; otherwise for all of them */
	int per;                        /* kind index: done at places of this kind; KN_NONE: once */
	bool compare;                   /* per is set: the places are compared, one distribution */
	uint64_t tools;                 /* bit set over kn->tools */
	uint32_t only_when;             /* bit set over kn->circumstances */
	double exponent;                /* what a plain answer is worth (instrument 1, eyes .85, words .6) */
	int same_fact;                  /* group number, KN_NONE */
	double floor;                   /* .01 for the trade's tables, 0 when the file says so */
	bool on_bench;                  /* goes as well with the part lying on the bench */
	bool leads_null;                /* this "check" is the measurement of the meter's leads */
	int ncautions; struct kn_caution *cautions;
	enum kn_combine combine;
	int noutcomes; struct kn_outcome *outcomes;
	struct kn_table *table;
	struct kn_reading *reading;     /* NULL for words */
	int nmodels; struct kn_model *models; /* one per place of `per` (or one); 0: bands only */
	const char *before;             /* title of the first of spoiled_by; NULL */
	int nrecords; int *records;     /* settings that doing it disturbs */
	int nafter; int *after;         /* checks that come before it, or it says little */
	uint32_t spoiled_by;            /* bit set over spoilers: what destroys what it looks at */
	/* symptoms only */
	const char *says;
	int nasks; const char **asks;
	int nbranches;
	struct kn_branch { const char *title; int gate; int nmodes; int *modes; double *p; } *branches;
};

struct kn_remedy {
	const char *id, *title, *parts;
	char cost_class;                /* 'A'..'E', 0: nothing bought */
	double cost;                    /* currency units */
	int access; double minutes, wait;
	enum kn_energy energy;
	int per;                        /* done at one place of this kind; KN_NONE: for all */
	uint64_t tools;
	int nsteps; const char **steps;
	int ncautions; struct kn_caution *cautions;
	int nclears; struct kn_clears { int fault; double p; } *clears; /* faults, all places */
	int nrecords; int *records;     /* settings */
	int nverifies; int *verifies;   /* checks */
	int nafter; int *after;         /* checks that come before it: it takes away what they look at */
	uint32_t spoils;                /* bit set over spoilers: what it does */
	const char *proof;              /* close-out: what must be seen beside the repeated complaint */
	const char *recheck;            /* "100 km", may be NULL */
	bool bath;                      /* parts go into a cleaning bath */
	bool bench_work;                /* at the bench or deeper: can introduce an after-work fault */
};

struct kn_setting {
	const char *id, *title, *how, *restore;
	int per; enum rd_unit unit;
	int order;                      /* in which settings are put back */
	int value;                      /* the machine's figure it must come to; KN_NONE */
};

/* A hold: something dangerous is going on; what must not be done until it is cleared. */
struct kn_hold {
	const char *id, *title, *say;
	enum kn_signal signal;
	enum kn_energy blocks;          /* this much energy and more is blocked; KN_ENERGY_NONE: only said */
	int nsymptoms; int *symptoms;   /* check indices */
	int ntriggers; struct kn_trigger { int check, outcome; } *triggers;
	int nclears; struct kn_trigger *clears;
};

struct kn_together { int fault_a, fault_b; double times; };

struct kn_knowledge {
	const char *machine, *machine_title;
	const char *digest;             /* 16 hex digits over every file read */
	bool independent;               /* independent priors instead of the number-of-faults prior */
	double number_prior[4];         /* none, one, two, three; as in the file */
	bool something_else;
	int max_faults;                 /* simultaneous faults considered (3; independent: all) */
	int nkinds; struct kn_kind *kinds;
	int nvalues; struct kn_value *values;
	int ntools; struct kn_named *tools;
	int noptions; struct kn_named *options;
	uint64_t fitted;                /* bit set over options: what this machine has */
	int ncircumstances; struct kn_named *circumstances;
	int nspoilers; struct kn_named *spoilers; /* what destroys evidence: cleaning, draining */
	int nhistories; struct kn_history *histories;
	int naccesses; struct kn_access *accesses;
	int nparts; struct kn_part *parts;
	int nmodes; struct kn_mode *modes;
	int nfaults; struct kn_fault *faults;
	int ngates; struct kn_gate *gates;
	int nchecks; struct kn_check *checks;     /* symptoms are among them */
	int nsymptoms; int *symptoms;             /* check indices; those of this machine */
	int nremedies; struct kn_remedy *remedies;
	int nsettings; struct kn_setting *settings;
	int nholds; struct kn_hold *holds;
	int ntogether; struct kn_together *together;
	struct arena *arena;
};

struct kn_machine_title { char id[65]; char title[129]; };

/* Loads every .xml under `dir` (recursively, byte order) and binds it to `machine`.  A single
 * file instead of a folder works too; it may hold everything.  Several of them are separated by
 * ":" (a name with a colon in it that exists is one).  machine NULL: the only one there is, else
 * an error naming those there are.  The caller frees with kn_free(). */
struct kn_knowledge *kn_load(const char *dir, const char *machine, struct hs_err *err);

/* A figure of the owner's manual that goes before the machine's value of the same id. */
struct kn_figure { const char *value; struct rd_figure figure; };
/* The same with figures in force; ids and indices are those of kn_load(), and so is the digest.
 * Figures of values that the machine does not have are passed over. */
struct kn_knowledge *kn_load_with(const char *dir, const char *machine,
				  const struct kn_figure *figures, int n, struct hs_err *err);
void kn_free(struct kn_knowledge *kn);

/* The machines described under `dir`; the caller frees *out with mem_free(). Count or -1. */
int kn_machines(const char *dir, struct kn_machine_title **out, struct hs_err *err);

/* The files that kn_load() reads, in its order. 0, or what `each` returned when not 0, or -1. */
int kn_files(const char *dir, int (*each)(void *with, const char *path, struct hs_err *err), void *with,
	     struct hs_err *err);

/* Look-ups by id; KN_NONE when not there. */
int kn_check_by_id(const struct kn_knowledge *kn, const char *id);   /* symptoms too */
int kn_remedy_by_id(const struct kn_knowledge *kn, const char *id);
int kn_access_by_id(const struct kn_knowledge *kn, const char *id);
int kn_tool_by_id(const struct kn_knowledge *kn, const char *id);
int kn_history_by_id(const struct kn_knowledge *kn, const char *id);
int kn_circumstance_by_id(const struct kn_knowledge *kn, const char *id);
int kn_mode_by_ref(const struct kn_knowledge *kn, const char *ref);
int kn_value_by_id(const struct kn_knowledge *kn, const char *id);
int kn_setting_by_id(const struct kn_knowledge *kn, const char *id);
int kn_outcome_by_id(const struct kn_check *c, const char *id);
int kn_place_by_id(const struct kn_kind *k, const char *id);
const struct kn_kind *kn_check_kind_of(const struct kn_knowledge *kn, const struct kn_check *c);

/* "float needle worn, carburettor 3", "pilot jets blocked (all)". */
void kn_fault_title(struct text *t, const struct kn_knowledge *kn, int fault);

/* "Something that is not on this list": a mode of its own in shipped trees, KN_NONE in a line of suspects. */
bool kn_not_listed(const struct kn_knowledge *kn, int mode);
/* "float needle worn", wherever it is; what is not listed as well. */
void kn_mode_title(struct text *t, const struct kn_knowledge *kn, int mode);

/* Two faults that cannot be present together: other modes of the same part at the same place, or
 * one of them "all of them". */
bool kn_exclude(const struct kn_knowledge *kn, int a, int b);

/* Is the check one of the proofs of the repair? */
bool kn_proves(const struct kn_remedy *r, int check);

/* Does a check that is offered judge by this value, by itself or by way of a part? */
bool kn_value_matters(const struct kn_knowledge *kn, int value);

/* Minutes from nothing open to this state, and from it back to a bike that can be ridden. */
double kn_open_minutes(const struct kn_knowledge *kn, int access);
double kn_close_minutes(const struct kn_knowledge *kn, int access);

#endif
