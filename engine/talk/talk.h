/* The conversation: asks, shows, records.  The same words from a person at a terminal, from a pipe
 * or from a file; readline is seen in this room and nowhere else.
 *
 * What to ask next is always worked out from the job's events, so a fresh job, one that is
 * resumed and one where an answer was taken back take the same path. */
#ifndef TALK_TALK_H
#define TALK_TALK_H

#include <stdbool.h>

#include "base/err.h"

/* Exit statuses, as in the manual page. */
enum talk_exit {
	TALK_DONE = 0,
	TALK_NO_ANSWER = 1,      /* ended without an answer: handed over, or the input ran out */
	TALK_USAGE = 2,          /* command line or script line not understood */
	TALK_BAD_TREE = 3,
	TALK_BAD_JOB = 4,
	TALK_IO = 5,
	TALK_INTERRUPTED = 130   /* Ctrl-C twice */
};
int talk_exit_for(enum hs_code code);

struct talk_options {
	const char *trees;       /* folder (or file) of the knowledge, with the user's own machines */
	const char *installed;   /* the same without them */
	const char *job_dir;     /* folder of the jobs */
	const char *machine;     /* NULL: ask */
	const char *script;      /* NULL: standard input; "-" too */
	const char *rates;       /* home, workshop or counter, for a new job; NULL: the workshop's */
	const char *resume;      /* id of a job; NULL: a new one */
	const char **complaints; /* ids, for a new job; ncomplaints 0: ask */
	int ncomplaints;
};

/* Runs one conversation to its end; prints; returns an exit status. */
int talk_run(const struct talk_options *options);

/* own.c: asks for the figures of the user's own bike and writes them as a machine. */
int talk_machine_new(const struct talk_options *options);

/* ---- commands without conversation (command.c) ------------------------------------------------ */

#define TALK_MANY 128        /* options of one kind on a command line */

struct talk_rank {
	const char *trees, *machine;
	int ncomplaints, nanswers, ntools, nhistories, ncircumstances;
	const char *complaints[TALK_MANY];
	const char *answers[TALK_MANY];        /* CHECK[@POSITION]=VALUE */
	const char *tools[TALK_MANY];
	const char *histories[TALK_MANY];      /* ID or ID=no */
	const char *circumstances[TALK_MANY];  /* ID or ID=no */
	bool leads_unmeasured;                 /* take low-ohm readings as they are */
	bool size_is_right;                    /* take readings a thousand times off as they are */
	bool json;
};
int talk_rank(const struct talk_rank *r);
int talk_list(const char *what, const char *trees, const char *machine, bool json);
/* trees.c: faults in the trees end with TALK_NO_ANSWER */
/* The workshop's sums: words make one line; none: lines from standard input; `list`: what there is. */
int talk_work(char **words, int n);
int talk_lint(const char *path, bool figures);
enum talk_drawing { TALK_DRAWN, TALK_DOT, TALK_PAGE, TALK_FIGURES };
/* job: id of one whose weights are shown, and whose machine it is; NULL: none */
int talk_show(const char *symptom, const char *job, const struct talk_options *o, enum talk_drawing form);
/* chart.c: depth, least: as typed, NULL for the usual */
struct talk_chart { const char *symptom, *depth, *least; bool html; };
int talk_chart(const struct talk_chart *c, const struct talk_options *o);
/* word: only jobs that mention it (NULL: all); due: only those on watch whose day has come. */
int talk_jobs(const char *dir, const char *word, bool due, bool json);
enum talk_form { TALK_TEXT_FORM, TALK_HTML, TALK_JSON };
/* id NULL: the newest */
int talk_report(const char *trees, const char *dir, const char *id, enum talk_form form);

/* learn.c: counts closed jobs into the frequencies; machine: shows only that one */
int talk_learn(const char *trees, const char *dir, const char *machine);

/* Prints err to standard error as "halfsplit: FILE:LINE: text"; returns its exit status. */
int talk_complain(const struct hs_err *err);

#endif
