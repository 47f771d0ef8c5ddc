/* The talk itself, shared by the files of this room only.
 *
 * run.c is the conductor: it looks at the job, picks what to ask next and calls one asker.  An
 * asker asks one thing, records it and returns; it never calls the next one.  So taking back,
 * resuming and answering out of order need no code of their own in the askers. */
#ifndef TALK_INNER_H
#define TALK_INNER_H

#include "job/job.h"
#include "talk/input.h"
#include "talk/out.h"
#include "talk/talk.h"
#include "talk/words.h"

/* What came of asking.  Askers return TALK_MOVED when the conductor should look again. */
enum talk_reply {
	TALK_TEXT,         /* an answer, in *line */
	TALK_DEFAULT,      /* Enter alone, or `go` */
	TALK_BACK, TALK_DONT_KNOW, TALK_CANNOT,
	TALK_MOVED,        /* the job or the chosen step changed: look again */
	TALK_OVER          /* the conversation has ended; t->status is set */
};

/* A step somebody chose, before it is done. */
struct talk_step {
	bool chosen;       /* by a person; false: it is the plan's advice and may change */
	bool verifies;     /* asked after a repair, to prove it */
	enum pl_kind kind;
	int index, place;
	bool everywhere;   /* "all" was said: do not ask for a place */
	bool adjusts;      /* the check is a figure that something is set to: adjust.c */
	int changes;       /* the answer comes in the place of this event, counted from 1; 0: of none */
};

struct talk {
	const struct talk_options *options;
	struct talk_out out;
	struct input *in;
	struct kn_knowledge *kn;          /* NULL until the machine is known */
	struct job *job;                  /* NULL until the complaint is known */
	int nmachines;                    /* there are to choose from */
	struct talk_step step;
	struct text figures;              /* of the owner's manual that kn was loaded with */
	struct text history;              /* file of typed lines; the terminal borrows its name */
	struct text prefill;              /* stands in the next line, to be edited */
	bool refused_before;     /* how a refused line is mended has been said */
	struct text prompt, allowed;      /* the question being asked, for a script's error */
	int looked_past;                  /* the user goes on looking after so many repairs */
	/* Not known, or nothing to ask: not asked again in this conversation. */
	bool air_passed, altitude_passed, histories_passed, circumstances_passed;
	bool bench_passed;                /* the user looks on after the bench run */
	uint64_t holds_said;              /* bit set over kn->holds: shown in full already */
	struct talk_step shown;           /* the step described in full last */
	bool shown_any;
	int step_number;
	bool over;
	int status;
};

/* run.c: opens input and screen (0, or -1 with err); frees everything. */
int talk_begin(struct talk *t, struct hs_err *err);
void talk_end(struct talk *t);

/* ---- ask.c: one prompt ----------------------------------------------------------------------- */

struct talk_choice { const char *id, *title; };

struct talk_prompt {
	const char *question;     /* "Step", "Which machine" */
	const char *allowed;      /* "1 to 4" */
	const char *by_default;   /* what Enter means; NULL: Enter is refused */
	void (*help)(struct talk *t, const void *about);
	const void *about;        /* handed to help */
	const struct talk_choice *choices; /* completed and listed by help */
	int nchoices;
};

/* Asks until something comes that is not settled here.  `line` gets the trimmed answer. */
enum talk_reply talk_ask(struct talk *t, const struct talk_prompt *p, struct text *line);

/* The answer in `line` cannot be used: says why.  A person gets it back for editing and true is
 * returned; a script ends with status 2, and false. */
bool talk_refuse(struct talk *t, const struct text *line, const char *format, ...)
	__attribute__((format(printf, 3, 4)));

/* Yes or no. TALK_TEXT with *yes set, or another reply. by_default: "yes", "no" or NULL. */
enum talk_reply talk_ask_yes(struct talk *t, const char *question, const char *by_default,
			     void (*help)(struct talk *t, const void *about), const void *about,
			     bool *yes);

/* Several of p->choices, "none" or, with `all`, "all" and "all but ...". TALK_TEXT: picked is set;
 * TALK_DEFAULT leaves it alone. */
enum talk_reply talk_ask_several(struct talk *t, const struct talk_prompt *p, bool all, bool none,
				 bool *picked);
/* One place of a kind, or "all". TALK_TEXT: *place is set, KN_NONE for all. */
enum talk_reply talk_ask_place(struct talk *t, int kind, const char *question, bool all,
			       int *place);

/* ---- choose.c: numbers and names ------------------------------------------------------------- */

void choose_list(struct talk *t, const struct talk_choice *c, int n);
/* The one that is meant by number, id, title or an unambiguous beginning; KN_NONE. */
int choose_one(const struct talk_choice *c, int n, const char *typed);
/* Several, separated by commas or blanks: "1 3", "seat, airbox". Sets picked[i]; the piece that
 * was not understood goes to `odd` and -1 comes back. */
int choose_several(const struct talk_choice *c, int n, const char *typed, bool *picked,
		   struct text *odd);
/* A near miss among ids and titles, or NULL. */
const char *choose_near(const struct talk_choice *c, int n, const char *typed);

/* ---- record.c: events ------------------------------------------------------------------------ */

/* Adds an event; on failure says so, ends the talk and returns -1. Fields may be NULL at the end. */
int talk_record(struct talk *t, enum job_kind kind, const char *f0, const char *f1, const char *f2,
		const char *f3);
/* View and plan, or NULL with the talk ended. */
const struct job_view *talk_view(struct talk *t);
const struct pl_plan *talk_plan(struct talk *t);
void talk_fail(struct talk *t, const struct hs_err *err);
bool record_in_force(const struct job *j, int event);   /* not taken back */
/* The event in force that came last with this kind and first field (NULL: any); KN_NONE. */
int record_last(const struct job *j, enum job_kind kind, const char *f0);
/* Has anything been told whose fact begins with this? */
bool record_told(const struct job *j, const char *beginning);
/* What was told of it, or NULL. */
const char *record_value(const struct job *j, const char *fact);
void talk_back(struct talk *t);
void talk_redo(struct talk *t);
const char *place_id(const struct kn_knowledge *kn, int kind, int place); /* "" for KN_NONE */

/* ---- askers ------------------------------------------------------------------------------------ */

enum talk_reply ask_machine(struct talk *t);
enum talk_reply ask_complaint(struct talk *t);
enum talk_reply ask_tools(struct talk *t);
enum talk_reply ask_histories(struct talk *t);
enum talk_reply ask_circumstances(struct talk *t);
enum talk_reply ask_figure(struct talk *t, const char *fact);    /* "air", "altitude" */
enum talk_reply ask_circumstance(struct talk *t, int circumstance);
/* A typed figure in degC or metres; and recording it. 0 or -1. */
int figure_parse(const char *fact, const char *typed, double *out, struct hs_err *err);
int figure_record(struct talk *t, const char *fact, double value);
enum talk_reply ask_step(struct talk *t);       /* what was chosen, or else the advice */
enum talk_reply ask_check(struct talk *t);      /* t->step is a check */
bool several_places(const struct talk *t, int kind); /* more than one of the kind on this machine */
enum talk_reply ask_remedy(struct talk *t);     /* t->step is a remedy */
enum talk_reply ask_reopen(struct talk *t);     /* the job is closed */
/* What is still open after a repair: settings left, checks that verify it, the complaint. Sets
 * *nothing when there is nothing. */
enum talk_reply ask_after_repair(struct talk *t, bool *nothing);
enum talk_reply ask_finish(struct talk *t);

/* rates.c: `rates home`, 0 or -1 with err. */
int rates_tell(struct talk *t, const char *argument, struct hs_err *err);
/* timer.c: `timer 15 bath`, 0 or -1 with err; those that run or have rung unseen. */
int timer_start(struct talk *t, const char *typed, struct hs_err *err);
void timers_show(struct talk *t);
/* bath.c: the cleaning bath for the tank there is, which is asked for once. TALK_TEXT: told. */
enum talk_reply bath_guide(struct talk *t);

/* ---- adjust.c: something is set to a figure ---------------------------------------------------- */

/* `adjust CHECK[@PLACE]`: 0, or -1 with err. */
int adjust_choose(struct talk *t, const char *argument, struct hs_err *err);
enum talk_reply ask_adjust(struct talk *t);       /* t->step is that check */
/* What a remedy sets: a figure of a setting it takes down, read by a check that verifies it; KN_NONE. */
int adjust_of(const struct job_view *v, const struct kn_remedy *r);
void adjust_begin(struct talk *t, int check, int place);          /* says the band, and how to type */
/* One reading, typed with what was moved; with "2:" before it where the place is open. What it came to is
 * said. 0, or -1 with err. */
int adjust_take(struct talk *t, int check, int place, const char *typed, struct hs_err *err);
int adjust_since(const struct talk *t);           /* readings after this event belong to the work in hand */
void adjust_back(struct talk *t, const struct talk_step *step);   /* takes back; a reading of this step: asked again */
/* A remedy was recorded: its last readings since, when tight and inside, are the proof. */
enum talk_reply adjust_answers(struct talk *t, int check, int from);

/* ---- settings.c: noted before the step that disturbs them, put back after it ------------------ */

/* Asks for those a step disturbs that were not asked for yet: what opening `access` disturbs and the
 * step's own. TALK_TEXT: there is none left; else as from talk_ask(). */
enum talk_reply settings_before(struct talk *t, int access, const int *own, int nown, int per, int place);
bool settings_open(const struct job_view *v);   /* is one found and not yet noted as left? */
/* Was it asked for as found, at this place, or at each when it is KN_NONE? */
bool settings_asked(const struct job_view *v, int setting, int place);
/* Asks for the one to be put back first; *shown when it was the last and all were shown. */
enum talk_reply settings_after(struct talk *t, const struct job_view *v);
void settings_show(struct talk *t);             /* as found, as left, limit, side by side */

/* ---- bench.c: a bench run ------------------------------------------------------------------- */

bool bench_possible(const struct kn_knowledge *kn);
bool bench_running(const struct job_view *v);
int bench_begin(struct talk *t);                /* 0 or -1 with the talk ended */
/* The next check of it, or its end. *nothing: the user looks on after it. */
enum talk_reply ask_bench(struct talk *t, bool *nothing);

/* ---- answering --------------------------------------------------------------------------------- */

/* Records an answer to a check, asking for the leads or about an odd size where that is needed.
 * TALK_TEXT: recorded; TALK_DONT_KNOW: refused, `why` says so; else as from talk_ask(). */
enum talk_reply answer_check(struct talk *t, int check, int place, const char *text,
			     struct hs_err *why);
/* The same in the place of an event before; KN_NONE: as a new one. */
enum talk_reply answer_at(struct talk *t, int event, int check, int place, const char *text,
			  struct hs_err *why);
enum talk_reply answer_leads(struct talk *t);
/* change.c: `answers` lists what was said with its numbers; `change` puts something else in the place
 * of one of them: 0, or -1 with err. */
void change_list(struct talk *t);
int change_answer(struct talk *t, const char *argument, struct hs_err *err, enum talk_reply *reply);
/* A check in hand was answered, or left out, in the place of an event: says what that did. */
enum talk_reply change_skip(struct talk *t, const struct talk_step *s, const char *how);
struct job *change_begin(struct talk *t);
void change_end(struct talk *t, struct job *before, int event);
/* codes.c: lamp codes read once are read again, and asked whether they are active; `line` gets what is
 * recorded.  TALK_DONT_KNOW: the readings differ, `why` says it; else as from talk_ask(). */
enum talk_reply codes_again(struct talk *t, struct job_answer *a, struct text *line, struct job_understood *u,
			    struct hs_err *why);
/* `tell` and `do`: 0, or -1 with err. */
int answer_tell(struct talk *t, const char *argument, struct hs_err *err, enum talk_reply *reply);
int step_choose(struct talk *t, const char *argument, struct hs_err *err);
void step_set(struct talk *t, enum pl_kind kind, int index, int place);
void step_drop(struct talk *t);
/* The hold that forbids this much energy now; KN_NONE. */
int hold_on(const struct job_view *v, enum kn_energy energy);
/* "CHECK[@PLACE]" with ids, titles or unambiguous beginnings; `remedies` allows those too. */
int step_parse(const struct kn_knowledge *kn, const char *typed, bool remedies, struct talk_step *out,
	       struct hs_err *err);
/* Records that what a step needs is open and what it forbids is closed. */
int access_record(struct talk *t, int access, enum kn_energy energy);
/* Says what has to be opened and closed for it; nothing when nothing has. */
/* The cautions of opening what is not open yet, but of hazards that `said` has named already. */
void access_cautions(struct talk *t, int access, const struct kn_caution *said, int nsaid);
void access_say(struct talk *t, int access, enum kn_energy energy);
enum kn_energy check_energy(const struct kn_check *c);
/* The same for a check about to be answered: a proof is taken on a bike put together again. */
enum kn_energy step_energy(const struct talk *t, int check);
int access_depth(const struct kn_knowledge *kn, int access);  /* 1 for the root */
int access_told(struct talk *t, const char *argument, bool open, struct hs_err *err);
/* States that are open, innermost first, 64 at most; count. */
int access_open(const struct kn_knowledge *kn, uint64_t open, int *list);
/* Names what must be closed before something of this energy can be done there; false: nothing. */
bool access_names_closed(const struct kn_knowledge *kn, uint64_t open, int access, enum kn_energy energy,
			 struct text *out);
/* opened.c: the checks that are cheap while a state is open, and how each stands; KN_NONE: of all that
 * is open. */
void opened_show(struct talk *t, int state);
bool opened_has_list(const struct kn_knowledge *kn, int state);

/* learn.c: trees with what the shop has learned in force. */
struct kn_knowledge *talk_load(const char *trees, const char *machine, const char *job_dir,
			       struct hs_err *err);
struct kn_knowledge *talk_load_with(const char *trees, const char *machine, const char *job_dir,
				    const struct kn_figure *figures, int n, struct hs_err *err);

/* trees.c: prints and frees; a page goes out as it is. Returns an exit status. */
int talk_print(struct text *t, bool page);
/* A check of kind KN_SYMPTOM; KN_NONE with err. */
int talk_symptom_named(const struct kn_knowledge *kn, const char *symptom, struct hs_err *err);

/* order.c: names the checks that come before a step and are not done. */
void order_say(struct talk *t, const struct talk_step *s);

/* before.c: what was said or done before about the step; again: a check asked once more before a dear repair. */
void before_say(struct talk *t, const struct talk_step *s, bool again);

/* manual.c: figures of the owner's manual in a job.  The first puts the figures told into force: *kn
 * and the job are bound anew when they are others than `loaded` says, which is brought up to date.
 * 0, or -1 with err. */
int manual_apply(const char *trees, const char *job_dir, struct job *job, struct kn_knowledge **kn,
		 struct text *loaded, struct hs_err *err);
enum talk_reply manual_ask(struct talk *t, int finding);

/* ---- explaining ---------------------------------------------------------------------------------- */

void explain_words(struct talk *t, bool in_full);
void explain_why(struct talk *t);
void explain_rank(struct talk *t, int most);
void explain_top(struct talk *t);               /* one or two lines after an answer */
void explain_plan(struct talk *t);
void explain_firmness(struct talk *t);
void explain_step_firmness(struct talk *t);
void explain_fit(struct talk *t);
void explain_families(struct talk *t);
/* `what-if`: 0, or -1 with err. */
int answer_what_if(struct talk *t, const char *argument, struct hs_err *err);
void explain_others(struct talk *t, const struct pl_plan *plan);
/* ahead.c: what goes with the step on hand before closing up (planned: the plan's entry for it, or
 * NULL); the ways the job may go. */
void ahead_before_closing(struct talk *t, const struct pl_step *planned);
void ahead_ways(struct talk *t);
void explain_line(struct text *out, const struct kn_knowledge *kn, const struct su_line *line);
void explain_understood(struct talk *t, int check, const struct job_understood *u, bool means); /* what it means, too */
/* Title with its place: "Fuel level by clear tube, carburettor 3". */
void explain_title(struct text *out, const struct kn_knowledge *kn, const struct talk_step *step);
void explain_cautions(struct talk *t, const struct kn_caution *c, int n);
void explain_holds(struct talk *t, bool in_full);
void explain_report(struct talk *t);
/* Writes the job sheet beside the job, as text and as a page, and says where; -1 with the talk ended. */
int report_save(struct talk *t);

#endif
