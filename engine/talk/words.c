/* The table of words. */
#include <ctype.h>
#include <string.h>

#include "base/text.h"
#include "talk/words.h"

static const struct word_entry table[WORD_COUNT] = {
	[WORD_HELP] = {"?", {"h", "help"}, NULL,
		"what is asked, how to find it out, what may be answered; `help` all this",
		"what is asked and what may be answered"},
	[WORD_WHY] = {"why", {"w"}, NULL,
		"why this step, and what speaks for and against the leading suspects", NULL},
	[WORD_RANK] = {"rank", {"r"}, NULL, "what may be wrong, likeliest first", NULL},
	[WORD_PLAN] = {"plan", {"p"}, NULL, "the next steps with their minutes", NULL},
	[WORD_BACK] = {"back", {"b", "undo"}, NULL,
		"take the last answer back and be asked again; as often as you like",
		"the question before"},
	[WORD_REDO] = {"redo", {NULL}, NULL, "put back what was taken back", NULL},
	[WORD_ANSWERS] = {"answers", {"said"}, NULL, "everything said so far, with its numbers", NULL},
	[WORD_CHANGE] = {"change", {NULL}, "NUMBER|CHECK[@PLACE][=ANSWER]",
		"change an early answer; what came after it stays", NULL},
	[WORD_DONT_KNOW] = {"don't know", {"dk", "dont know", "dunno", "x", "unknown"}, NULL,
		"a full answer: it is not asked again and counts neither way",
		"a full answer"},
	[WORD_CANNOT] = {"can't", {"cant", "cannot", "can't do that"}, NULL,
		"this cannot be done here; something else is looked for",
		"this cannot be found out"},
	[WORD_GO] = {"go", {NULL}, NULL, "the same as Enter alone, where Enter means something",
		"the same as Enter alone, where Enter means something"},
	[WORD_DO] = {"do", {NULL}, "STEP[@PLACE]", "do this check or repair next", NULL},
	[WORD_ADJUST] = {"adjust", {NULL}, "CHECK[@PLACE]",
		"set something to its figure: read, move, read, until it is right and tight", NULL},
	[WORD_TELL] = {"tell", {NULL}, "CHECK[@PLACE]=ANSWER",
		"answer a check that is not being asked", NULL},
	[WORD_WHAT_IF] = {"what-if", {NULL}, "CHECK[@PLACE]=ANSWER",
		"how the ranking would be after that answer; nothing is recorded", NULL},
	[WORD_SETTINGS] = {"settings", {NULL}, NULL, "settings as found, as left, and their limits", NULL},
	[WORD_LEADS] = {"leads", {NULL}, NULL, "measure the meter leads", NULL},
	[WORD_NOW] = {"now", {NULL}, NULL, "say again what holds at this moment", NULL},
	[WORD_TOOLS] = {"tools", {NULL}, NULL, "say again which tools there are", NULL},
	[WORD_OPENED] = {"opened", {NULL}, "[STATE]",
		"what is open and cheap there; with STATE: that it is open though not asked for", NULL},
	[WORD_CLOSED] = {"closed", {NULL}, "STATE", "something is closed again (or: closed all)", NULL},
	[WORD_TIMER] = {"timer", {NULL}, "MINUTES [WHAT]", "a timer: shown, never waited for; runs on when you leave", NULL},
	[WORD_RATES] = {"rates", {NULL}, "home|workshop|counter", "what time and money are worth here", NULL},
	[WORD_NOTE] = {"note", {NULL}, "TEXT", "write a note into the job", NULL},
	[WORD_REPORT] = {"report", {NULL}, NULL, "the job sheet as it stands", NULL},
	[WORD_FINISH] = {"finish", {NULL}, NULL, "end the job: proven, on watch, handed over ...", NULL},
	[WORD_STOP] = {"stop", {"quit", "q", "exit", "bye"}, NULL,
		"leave; every answer is saved and `halfsplit resume` goes on",
		"leave"},
};

const struct word_entry *word_entry(enum word w)
{
	return &table[w];
}

const char *word_help(enum word w, bool in_job)
{
	return in_job ? table[w].help : table[w].without_job;
}

/* The rest of `line` behind `word` and blanks; NULL when the line does not begin with the word. */
static const char *behind(const char *line, const char *word)
{
	size_t n = strlen(word);

	if (strncasecmp(line, word, n) != 0)
		return NULL;
	if (line[n] == '\0')
		return line + n;
	if (line[n] == ':')
		n++;
	else if (!isspace((unsigned char)line[n]))
		return NULL;
	while (isspace((unsigned char)line[n]))
		n++;
	return line + n;
}

static bool is_entry(const struct word_entry *e, const char *line, const char **argument)
{
	if (e->argument) {
		const char *rest = behind(line, e->name);
		bool may_miss = e->argument[0] == '[';
		if (rest && *rest)
			*argument = rest;
		return rest && (*rest || may_miss);
	}
	if (text_same_word(line, e->name))
		return true;
	for (int i = 0; i < WORD_SHORTS && e->shorts[i]; i++)
		if (text_same_word(line, e->shorts[i]))
			return true;
	return false;
}

enum word word_of(const char *line, const char **argument)
{
	*argument = NULL;
	for (int w = 0; w < WORD_COUNT; w++)
		if (is_entry(&table[w], line, argument))
			return (enum word)w;
	return WORD_NONE;
}
