/* The words every prompt takes.  One table drives parsing, help, completion and the test that the
 * manual page names them all. */
#ifndef TALK_WORDS_H
#define TALK_WORDS_H

#include <stdbool.h>

enum word {
	WORD_NONE = -1,
	WORD_HELP, WORD_WHY, WORD_RANK, WORD_PLAN, WORD_BACK, WORD_REDO, WORD_ANSWERS, WORD_CHANGE, WORD_DONT_KNOW, WORD_CANNOT,
	WORD_GO, WORD_DO, WORD_ADJUST, WORD_TELL, WORD_WHAT_IF, WORD_SETTINGS, WORD_LEADS, WORD_NOW, WORD_TOOLS, WORD_OPENED, WORD_CLOSED,
	WORD_TIMER, WORD_RATES, WORD_NOTE, WORD_REPORT, WORD_FINISH, WORD_STOP,
	WORD_COUNT
};

#define WORD_SHORTS 5

struct word_entry {
	const char *name;
	const char *shorts[WORD_SHORTS]; /* other ways to type it; NULL-terminated use */
	const char *argument;            /* NULL: takes none */
	const char *help;                /* one line */
	const char *without_job;         /* what it does where no job is under way; NULL: nothing */
};
const struct word_entry *word_entry(enum word w);
/* What the word does, with a job under way or without; NULL: nothing. */
const char *word_help(enum word w, bool in_job);

/* The word a line is, WORD_NONE when it is an answer.  A word that takes an argument is one only
 * when something follows, or when its argument stands in brackets; *argument is set to it (into `line`)
 * or to NULL. */
enum word word_of(const char *line, const char **argument);

#endif
