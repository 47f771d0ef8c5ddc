/* Line editing for a person, by readline.
 *
 * readline's own signal handling keeps half-typed text after Ctrl-C and eats keys, so keys come
 * through a function of ours over ppoll(): all signals we care about are blocked except while we
 * wait there, their handlers only set flags, and what they mean is done in one place.  Ctrl-C
 * drops the line; a second one with no key in between leaves. */
#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <readline/history.h>
#include <readline/readline.h>

#include "base/mem.h"
#include "talk/input.h"

#define HISTORY_LINES 500

static const int watched[] = {SIGINT, SIGWINCH, SIGTSTP, SIGTERM, SIGHUP};
#define NWATCHED ((int)(sizeof watched / sizeof *watched))

static volatile sig_atomic_t came[NSIG];
static sigset_t while_waiting;
static bool dropped;           /* this line was ended by Ctrl-C */
static bool key_between;       /* a key came since the last Ctrl-C */
static const char *prefilled;
static const char *const *offered;
static int noffered;
static const char *history_file;

static void on_signal(int number)
{
	came[number] = 1;
}

/* The terminal is put right before the program is stopped or ended. */
static void give_up_terminal(int number)
{
	came[number] = 0;
	rl_deprep_terminal();
	if (number == SIGTSTP) {
		kill(getpid(), SIGSTOP);
		rl_prep_terminal(1);
		rl_forced_update_display();
		return;
	}
	signal(number, SIG_DFL);
	raise(number);
	sigprocmask(SIG_SETMASK, &while_waiting, NULL);
	_exit(128 + number);
}

/* True when the line being typed is over. */
static bool act_on_signals(void)
{
	if (came[SIGTERM] || came[SIGHUP])
		give_up_terminal(came[SIGTERM] ? SIGTERM : SIGHUP);
	if (came[SIGTSTP])
		give_up_terminal(SIGTSTP);
	if (came[SIGWINCH]) {
		came[SIGWINCH] = 0;
		rl_resize_terminal();
	}
	if (!came[SIGINT])
		return false;
	came[SIGINT] = 0;
	dropped = true;
	rl_done = 1;
	return true;
}

static int next_key(FILE *file)
{
	struct pollfd one = {.fd = fileno(file), .events = POLLIN};
	unsigned char c;

	for (;;) {
		if (act_on_signals())
			return '\n';
		if (ppoll(&one, 1, NULL, &while_waiting) < 0) {
			if (errno == EINTR)
				continue;
			return EOF;
		}
		ssize_t n = read(one.fd, &c, 1);
		if (n == 1) {
			key_between = true;
			return c;
		}
		if (n == 0 || errno != EINTR)
			return EOF;
	}
}

static int put_prefill(void)
{
	if (prefilled)
		rl_insert_text(prefilled);
	return 0;
}

static char *next_match(const char *typed, int state)
{
	static int at;
	size_t n = strlen(typed);

	if (state == 0)
		at = 0;
	while (at < noffered) {
		const char *name = offered[at++];
		if (strncasecmp(name, typed, n) == 0)
			return strdup(name);   /* readline frees it */
	}
	return NULL;
}

static char **complete(const char *typed, int start, int end)
{
	(void)start;
	(void)end;
	rl_attempted_completion_over = 1;
	return rl_completion_matches(typed, next_match);
}

static void watch_signals(void)
{
	struct sigaction action = {.sa_handler = on_signal};
	sigset_t block;

	sigemptyset(&block);
	sigemptyset(&action.sa_mask);
	for (int i = 0; i < NWATCHED; i++) {
		struct sigaction old;
		sigaction(watched[i], NULL, &old);
		if (old.sa_handler == SIG_IGN)
			continue;      /* nohup and the like */
		sigaddset(&block, watched[i]);
		sigaction(watched[i], &action, NULL);
	}
	sigprocmask(SIG_BLOCK, &block, &while_waiting);
	for (int i = 0; i < NWATCHED; i++)
		sigdelset(&while_waiting, watched[i]);
}

void terminal_open(const char *history)
{
	static char break_characters[] = " \t=@,";

	rl_readline_name = "halfsplit";
	rl_catch_signals = 0;
	rl_catch_sigwinch = 0;
	rl_getc_function = next_key;
	rl_startup_hook = put_prefill;
	rl_attempted_completion_function = complete;
	rl_completer_word_break_characters = break_characters;
	rl_outstream = isatty(STDOUT_FILENO) ? stdout : stderr;
	using_history();
	stifle_history(HISTORY_LINES);
	history_file = history;
	if (history)
		read_history(history);
	watch_signals();
}

void terminal_close(void)
{
	mode_t old = umask(0077);

	if (history_file)
		write_history(history_file);
	umask(old);
	clear_history();
}

static void remember(const char *line)
{
	HIST_ENTRY *last = history_length > 0 ? history_get(history_base + history_length - 1) : NULL;

	if (*line && !strchr(line, '\n') && (!last || strcmp(last->line, line) != 0))
		add_history(line);
}

enum input_got terminal_read(const char *prompt, const char *prefill, const char *const *names,
			     int n, struct text *line)
{
	char *typed;
	bool again = dropped && !key_between;

	fflush(stdout);
	prefilled = prefill;
	offered = names;
	noffered = n;
	dropped = false;
	typed = readline(prompt);
	prefilled = NULL;
	text_clear(line);
	if (dropped) {
		/* The first Ctrl-C may come after keys; only keys after it count as "between". */
		bool leave = again && !key_between;
		key_between = false;
		free(typed);
		return leave ? INPUT_LEAVE : INPUT_DROPPED;
	}
	if (!typed) {
		fputc('\n', rl_outstream);
		return INPUT_END;
	}
	remember(typed);
	text_add(line, typed);
	free(typed);
	return INPUT_LINE;
}
