/* Process start to first question: the program with its trees, as somebody at a prompt waits for it,
 * against a bare XML parser (xmllint --noout) that reads the same files to their end.
 *
 * The machine is named, so that the whole knowledge has been read when the question stands there;
 * start.which_machine_ms is the wait of a newcomer who is asked for the machine first.  The program
 * has no answer to read and ends: its end is in the figure, as it is in xmllint's.  Runs are
 * interleaved, so that a busy machine hits both alike; the best of each counts. */
#include <fcntl.h>
#include <ftw.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "base/mem.h"

#define RUNS 20
#define WORDS_MAX 1000

extern char **environ;

static char *lint[WORDS_MAX + 1];
static int words;

static double now_ms(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

/* Starts a program with nothing to read and a pipe to write into. 0 or -1. */
static int start(char *const argv[], pid_t *pid, int *from)
{
	posix_spawn_file_actions_t actions;
	int out[2], failed;

	if (pipe2(out, O_CLOEXEC) < 0)
		return -1;
	posix_spawn_file_actions_init(&actions);
	posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
	posix_spawn_file_actions_adddup2(&actions, out[1], STDOUT_FILENO);
	posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
	failed = posix_spawnp(pid, argv[0], &actions, NULL, argv, environ);
	posix_spawn_file_actions_destroy(&actions);
	close(out[1]);
	*from = out[0];
	if (failed)
		close(out[0]);
	return failed ? -1 : 0;
}

/* Milliseconds of a run that asks `question` and, having no answer, ends; -1 when it never asks. */
static double until_asked(char *const argv[], const char *question)
{
	char said[16384] = "";
	size_t n = 0;
	double begun = now_ms(), took;
	ssize_t got;
	pid_t pid;
	int from;

	if (start(argv, &pid, &from) < 0)
		return -1;
	while ((got = read(from, said + n, sizeof said - 1 - n)) > 0)
		n += (size_t)got;
	waitpid(pid, NULL, 0);
	took = now_ms() - begun;
	close(from);
	return strstr(said, question) ? took : -1;
}

/* Milliseconds of a whole run; -1 when it cannot be run or finds fault. */
static double until_ended(char *const argv[])
{
	double begun = now_ms();
	pid_t pid;
	int status;

	if (posix_spawnp(&pid, argv[0], NULL, NULL, argv, environ) != 0 ||
	    waitpid(pid, &status, 0) < 0 || !WIFEXITED(status) || WEXITSTATUS(status) != 0)
		return -1;
	return now_ms() - begun;
}

static int take_file(const char *path, const struct stat *st, int type, struct FTW *ftw)
{
	size_t n = strlen(path);

	(void)st;
	(void)ftw;
	if (type == FTW_F && n > 4 && !strcmp(path + n - 4, ".xml") && words < WORDS_MAX)
		lint[words++] = mem_strdup(path);
	return 0;
}

static void keep_least(double *least, double value)
{
	if (value >= 0 && value < *least)
		*least = value;
}

int main(void)
{
	const char *root = getenv("HALFSPLIT_ROOT"), *program = getenv("HALFSPLIT_PROGRAM");
	char *own = mem_strdup(program ? program : "build/halfsplit");
	char trees[] = "--trees", folder[] = "trees", machine[] = "--machine", four[] = "four";
	char *named[] = {own, trees, folder, machine, four, NULL};
	char *plain[] = {own, trees, folder, NULL};
	double asked = 1e9, which = 1e9, linted = 1e9;

	if (root && chdir(root) < 0)
		return 1;
	lint[words++] = mem_strdup("xmllint");
	lint[words++] = mem_strdup("--noout");
	nftw("trees", take_file, 8, FTW_PHYS);
	for (int i = 0; i < RUNS; i++) {
		keep_least(&asked, until_asked(named, "What does it do wrong"));
		keep_least(&linted, until_ended(lint));
		keep_least(&which, until_asked(plain, "Which machine"));
	}
	if (asked < 1e9)
		printf("start.first_question_ms = %.2f ms\n", asked);
	if (which < 1e9)
		printf("start.which_machine_ms = %.2f ms\n", which);
	if (linted < 1e9)
		printf("start.xmllint_ms = %.2f ms\n", linted);
	else
		fprintf(stderr, "start.vs_xmllint: left out, xmllint could not be run\n");
	if (asked < 1e9 && linted < 1e9)
		printf("start.vs_xmllint = %.2f ratio\n", asked / linted);
	for (int i = 0; i < words; i++)
		mem_free(lint[i]);
	mem_free(own);
	return asked > 1e8 || which > 1e8;
}
