/* How long loading the shipped trees takes, against an XML parser that only looks whether the same
 * files are well-formed: xmllint --noout, process and all. */
#include <ftw.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "base/mem.h"
#include "knowledge/knowledge.h"

#define RUNS 25
#define FILES_MAX 1000

extern char **environ;

static char *command[FILES_MAX + 3];
static int words;

static double now_ms(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

static int take_file(const char *path, const struct stat *st, int type, struct FTW *ftw)
{
	size_t n = strlen(path);

	(void)st;
	(void)ftw;
	if (type == FTW_F && n > 4 && !strcmp(path + n - 4, ".xml") && words < FILES_MAX)
		command[words++] = mem_strdup(path);
	return 0;
}

/* Milliseconds of one run, or -1 when it cannot be run. */
static double run_xmllint(void)
{
	double start = now_ms();
	pid_t pid;
	int status;

	if (posix_spawnp(&pid, command[0], NULL, NULL, command, environ) != 0)
		return -1;
	if (waitpid(pid, &status, 0) < 0 || !WIFEXITED(status) || WEXITSTATUS(status) != 0)
		return -1;
	return now_ms() - start;
}

static double run_load(const char *machine)
{
	struct hs_err err = { 0 };
	double start = now_ms();
	struct kn_knowledge *kn = kn_load("trees", machine, &err);
	double took = now_ms() - start;

	if (!kn)
		fprintf(stderr, "%s:%d: %s\n", err.file, err.line, err.text);
	kn_free(kn);
	return kn ? took : -1;
}

int main(void)
{
	const char *root = getenv("HALFSPLIT_ROOT");
	double load = 1e9, lint = 1e9;
	struct kn_machine_title *list;

	if (root && chdir(root) < 0)
		return 1;
	if (kn_machines("trees", &list, NULL) < 1)
		return 1;
	command[words++] = mem_strdup("xmllint");
	command[words++] = mem_strdup("--noout");
	nftw("trees", take_file, 8, FTW_PHYS);
	for (int i = 0; i < RUNS; i++) {
		double a = run_load(list[0].id), b = run_xmllint();

		load = a < load ? a : load;
		lint = b < lint ? b : lint;
	}
	if (load >= 0)
		printf("knowledge.load = %.2f ms\n", load);
	if (load >= 0 && lint > 0)
		printf("knowledge.load_vs_xmllint = %.2f ratio\n", load / lint);
	else
		fprintf(stderr, "xmllint could not be run\n");
	for (int i = 0; i < words; i++)
		mem_free(command[i]);
	mem_free(list);
	return load < 0;
}
