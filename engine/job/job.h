/* A job is a list of events; everything else is computed from knowledge + events.
 *
 * job_add() is the only way to change a job, live or replayed: check, append to the file, sync,
 * then apply.  Taking back is an event too.  What the talk and the reports show comes from
 * job_view(), made afresh after every change.  The file format is specified in docs/job-file.md. */
#ifndef JOB_JOB_H
#define JOB_JOB_H

#include "job/event.h"
#include "plan/plan.h"
#include "reading/blink.h"
#include "suspects/suspects.h"

struct job;

/* A job in memory only (rank, what-if, tests). Borrows kn. */
struct job *job_new(const struct kn_knowledge *kn);
/* A new job file `id`.job in folder `dir` (made 0700 if missing); refuses an id that exists. */
struct job *job_create(const char *dir, const char *id, const struct kn_knowledge *kn,
		       struct hs_err *err);
/* Opens and replays. The machine it needs is in its first event: see job_peek(). recovered: bytes
 * set aside as ID.job.bad because they were torn or damaged (0 when none). */
struct job *job_open(const char *dir, const char *id, const struct kn_knowledge *kn,
		     long *recovered, struct hs_err *err);
void job_close(struct job *j);                 /* frees; NULL is fine */

/* Machine and digest of a job without knowledge at hand. */
int job_peek(const char *dir, const char *id, char machine[65], char digest[17], struct hs_err *err);

/* Jobs in a folder, newest first: id, machine, complaint, state, last change; due: the day on which a
 * job on watch is to be looked at again, else "". */
struct job_summary { char id[65], machine[65], complaint[129], state[33], due[11]; long long changed; int nevents; };
int job_list(const char *dir, struct job_summary **out, struct hs_err *err); /* count or -1; mem_free */
/* The events of a job without lock or recovery: for lists and exports.  kn NULL: no view of it.  Freed
 * with job_close(). */
struct job *job_read(const char *dir, const char *id, const struct kn_knowledge *kn, struct hs_err *err);
void job_summarise(const struct job *j, struct job_summary *out);
/* Does any field of its events have this in it, or its name? ASCII case does not count. */
bool job_mentions(const struct job *j, const char *word);
void job_default_dir(char *out, int size);     /* $XDG_DATA_HOME/halfsplit/jobs or ~/.local/share/... */
void job_fresh_id(const char *dir, const char *machine, char out[65]); /* "four-2026-11-25-1" */

/* Appends, syncs, applies. On an I/O failure nothing is applied and err says so. */
int job_add(struct job *j, const struct job_event *e, struct hs_err *err);
int job_nevents(const struct job *j);
const struct job_event *job_event_at(const struct job *j, int i);
bool job_in_force(const struct job *j, int i);  /* not taken back, and of a kind that can be */
const struct kn_knowledge *job_knowledge(const struct job *j);
const char *job_id(const struct job *j);        /* "" in memory */

/* ---- answering ------------------------------------------------------------------------- */

enum job_status { JOB_OK, JOB_REFUSED, JOB_ASK_LEADS, JOB_ASK_SLIP };
enum job_source { JOB_INSTRUMENT, JOB_EYES, JOB_SURE, JOB_UNSURE };  /* knowledge 0.3 */

/* What an answer would be understood as, without recording it. text: an outcome by number, id,
 * title or unique prefix (local outcomes with a place: "one-cold 3"), or a reading. flags:
 * JOB_LEADS_WAIVED, JOB_SLIP_OK. */
#define JOB_LEADS_WAIVED 1
#define JOB_SLIP_OK 2
struct job_answer {
	int check, place;
	const char *text;
	enum job_source source;
	bool source_given;              /* else the check's own exponent */
	int flags;
};
struct job_understood {
	int outcome, outcome_place;     /* words; KN_NONE for numbers */
	bool number;
	struct rd_result reading;       /* numbers */
	int ncodes;                     /* lamp codes of one reading, and how often it was read alike */
	int code_outcome[RD_CODES_MAX];
	enum rd_code_state code_state[RD_CODES_MAX];
	int code_readings;
	int nplaces;                    /* words given as a list, "1:dry 2:wet": */
	int at[RD_PLACES_MAX];          /* the outcome at each place, KN_NONE where not said */
	char echo[200];
};
enum job_status job_understand(struct job *j, const struct job_answer *a,
			       struct job_understood *out, struct hs_err *err);
/* The same, recorded. */
enum job_status job_answer(struct job *j, const struct job_answer *a, struct job_understood *out,
			   struct hs_err *err);
/* The same, in the place of an event before (job_change() below); KN_NONE: recorded as a new one. */
enum job_status job_answer_at(struct job *j, int event, const struct job_answer *a,
			      struct job_understood *out, struct hs_err *err);

/* ---- the view ---------------------------------------------------------------------------- */

struct job_finding {                    /* one answer in force */
	int event;                      /* index of its event */
	int check, place, epoch;
	struct job_understood understood;
	const char *raw;
	bool counts;                    /* false: not valid now; why says it */
	char why[120];
	int first_evidence, nevidence;  /* its rows in the_case.evidence */
};

/* The outcome an answer came to, as a whole (place KN_NONE) or at one place of a list; KN_NONE when
 * it came to none. */
int job_finding_outcome(const struct kn_check *c, const struct job_understood *u, int place);

enum job_state { JOB_OPEN, JOB_TO_VERIFY, JOB_CLOSED_PROVEN, JOB_ON_WATCH, JOB_PARTS_FITTED,
		 JOB_HANDED_OVER, JOB_CHECKED };
const char *job_state_words(enum job_state s);

/* Asked for and not noted: the text is empty. */
struct job_setting { int setting, place; bool found_asked, left_asked; char found[64], left[64]; };

struct job_view {
	const struct kn_knowledge *kn;
	struct su_case the_case;
	struct su_suspects *suspects;
	int nfindings; struct job_finding *findings;
	int ncomplaints; int complaints[8];     /* check indices */
	uint64_t tools; bool tools_told;
	const char *rates;                      /* as told; NULL: the default */
	uint64_t open;
	uint32_t circumstances, circumstances_known;
	int nholds; int holds[16];
	unsigned char *done;                    /* [nchecks] */
	unsigned char *twice;                   /* [nchecks] answered more than once at one place, left out, or
						 * what it looks at is gone */
	unsigned char *answered;                /* [nchecks] 0: not yet; 1: at some of its places; 2: whole */
	uint32_t *places_said;                  /* [nchecks] of those, the places of its last answers: bit set */
	unsigned char *remedy_done, *remedy_declined; /* [nremedies] */
	int nrepairs; struct su_repair *repairs;
	int *repair_event;                      /* [nrepairs] index of the event */
	int nsettings; struct job_setting *settings;
	double leads, leads_u;                  /* ohm; NAN: not measured */
	double altitude_m, air_degC;            /* NAN: not known */
	enum job_state state;
	bool intermittent;                      /* was away before anything was repaired */
	char recheck[11];                       /* on watch: the day, else "" */
	bool complaint_gone;                    /* repeated after the last repair and not there */
	int nnotes; const char **notes;
	int nundo, nredo;                       /* how many steps each way are possible */
};
/* The current view; owned by the job, valid until the next job_add(). NULL with err on failure. */
const struct job_view *job_view(struct job *j, struct hs_err *err);
/* The next step for it; computed on first asking, kept until the next change. */
const struct pl_plan *job_plan(struct job *j, struct hs_err *err);
void job_situation(const struct job_view *v, struct pl_situation *out);

/* ---- figures of the owner's manual (figures.c) ---------------------------------------------- */

/* Those told and in force, at most one of a value; count; *out is freed with mem_free() and borrows
 * from the job.  They are used by binding the job to knowledge loaded with them. */
int job_figures(const struct job *j, struct kn_figure **out);
/* The same trees and machine, loaded with other figures. */
void job_rebind(struct job *j, const struct kn_knowledge *kn);
/* The first finding whose verdict hangs on a common-practice band: its reading lies within a quarter
 * of the band from an end, and nobody was asked for the manual's figure yet.  KN_NONE. */
int job_figure_wanted(const struct job *j, const struct job_view *v);

/* A copy in memory, to try something out: nothing is written. */
struct job *job_copy(const struct job *j);

/* ---- closing (close.c) ------------------------------------------------------------------- */

/* What was repaired most likely only follows from something else. */
bool job_only_consequences(const struct job_view *v);
/* May it be closed like that? 0, or -1 with err saying why not. `again`: day of the recheck. */
int job_may_close(const struct job_view *v, const char *how, const char *again, struct hs_err *err);
/* "2026-12-24", "7 days", "2 weeks", "10" -> "2026-12-24"; days are those of UTC. 0 or -1 with err. */
int job_recheck_day(const char *typed, long long now, char out[11], struct hs_err *err);
long long job_day_start(const char *day);       /* seconds since 1970; -1: no day */

/* ---- a bench run (bench.c) ------------------------------------------------------------------ */

#define JOB_BENCH "bench"                       /* the access state where it takes place */
bool job_on_bench(const struct kn_knowledge *kn, int check);
/* What is left to be done of it, best first; count or -1; *out is freed with mem_free(). */
int job_bench_checks(struct job *j, int **out, struct hs_err *err);
enum job_verdict { JOB_PASSED, JOB_AGAIN, JOB_FAILED };
/* What an answer says of the part: at one place of a list, or the worst of it (place KN_NONE). */
enum job_verdict job_verdict(const struct kn_check *c, const struct job_finding *f, int place);

/* ---- what is cheap while something is open (batch.c) ----------------------------------------- */

enum job_batch {
	JOB_BATCH_TO_DO, JOB_BATCH_SOME,        /* at no place yet; at some */
	JOB_BATCH_AGAIN,                        /* what it looks at was repaired since */
	JOB_BATCH_DONE, JOB_BATCH_LEFT_OUT,     /* nobody knew, or could */
	JOB_BATCH_GONE,                         /* work has destroyed what it looks at */
	JOB_BATCH_NO_TOOL, JOB_BATCH_NOT_NOW    /* something it counts only with does not hold */
};
/* How a check of the list of an access state stands. */
enum job_batch job_batch(const struct job_view *v, int check);
/* Has work done before destroyed what it looks at? */
bool job_spoiled(const struct job_view *v, const struct kn_check *c);

/* ---- changing an early answer (change.c) ----------------------------------------------------- */

/* May this event be changed in its place?  An answer or one left out, a complaint, a fact, a setting, a
 * note, what was repaired. */
bool job_can_change(const struct job *j, int event);
/* Puts `now` in the place of the event: everything after it stays, and is judged as if `now` had been
 * said there.  An answer and one left out may take each other's place; else the kind stays.
 * -1 with err when that makes no sense, or writing failed; then nothing is changed. */
int job_change(struct job *j, int event, const struct job_event *now, struct hs_err *err);
/* Findings that counted in `before`, and do not in `after`, by event; count, at most `most`. */
int job_voided(const struct job_view *before, const struct job_view *after, int *events, int most);

/* ---- timers (timer.c) ---------------------------------------------------------------------------- */

/* Timers in force; ends: seconds since 1970.  One that has rung is listed until something is said
 * after its end, so that it is not overlooked.  Count, the soonest first. */
struct job_timer { int event; const char *what; long long ends; };
int job_timers(const struct job *j, long long now, struct job_timer *out, int most);

/* One step back or forward; 0, or -1 when there is none. `what` gets words for what was undone. */
int job_undo(struct job *j, struct text *what, struct hs_err *err);
int job_redo(struct job *j, struct text *what, struct hs_err *err);

#endif
