/* Whole jobs through a terminal, as a person works: several sittings, a kill in the middle, a mistake
 * changed later.  Those in tests/data/stories are played; a line of one is
 *
 *     ask TEXT     wait until the program asks this
 *     see TEXT     wait until it says this
 *     say LINE     type it
 *     stop         type `stop` and wait for the end
 *     kill         kill -9, and wait until it is gone
 *     start ...    begin again with these words behind the options
 *     end STATUS   wait for the end with this status
 *     sheet TEXT   the job sheet beside the job has this, blanks counted as one
 *     page TEXT    and the page has it
 *
 * Text is looked for behind what was seen last, so the order counts. */
#include <dirent.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/file.h"
#include "base/mem.h"
#include "pty.h"

#define QUIET 20
#define PATIENCE 5000 /* ms; a limit for what takes a few hundred */

struct stage { struct pty *p; char trees[4096], jobs[64]; const char *story; long line, says, sittings, kills; size_t seen; };

static const char *root(void)
{
	const char *r = getenv("HALFSPLIT_ROOT");

	return r ? r : ".";
}

static void begin(struct stage *s, char *words)
{
	const char *program = getenv("HALFSPLIT_PROGRAM");
	const char *argv[16] = {program ? program : "build/halfsplit", "--trees", s->trees,
				"--job-dir", s->jobs};
	char *rest = words;
	int n = 5;

	while (n < 15 && (argv[n] = strtok_r(rest, " ", &rest)))
		n++;
	argv[n] = NULL;
	s->p = pty_start(&(struct pty_setup){.argv = argv, .columns = 250, .rows = 50});
	s->seen = 0;
	s->sittings++;
}

static void fail_at(struct stage *s, const char *why, const char *text)
{
	const char *plain = pty_plain(s->p);
	size_t n = strlen(plain);

	fprintf(stderr, "%s:%ld: %s: %s\nThe screen ended:\n%s\n", s->story, s->line, why, text,
		plain + (n > 1500 ? n - 1500 : 0));
	fail();
}

/* Every run of blanks and line ends as one blank, in place. */
static char *squeeze(char *data)
{
	char *to = data;

	for (const char *at = data; *at; at++) {
		char c = *at == '\n' ? ' ' : *at;

		if (c != ' ' || to == data || to[-1] != ' ')
			*to++ = c;
	}
	*to = '\0';
	return data;
}

/* Lines break where they must: what is looked for may be broken too. */
static void wait_for(struct stage *s, const char *text)
{
	for (int waited = 0; waited < PATIENCE; waited += QUIET) {
		char *screen, *found;

		pty_settle(s->p, QUIET);
		screen = squeeze(mem_strdup(pty_plain(s->p)));
		found = strlen(screen) >= s->seen ? strstr(screen + s->seen, text) : NULL;
		if (found)
			s->seen = (size_t)(found - screen) + strlen(text);
		mem_free(screen);
		if (found)
			return;
	}
	fail_at(s, "never came", text);
}

static void end(struct stage *s, int wanted)
{
	char words[40];
	int status = pty_end(s->p, PATIENCE);

	snprintf(words, sizeof words, "%d instead of %d", status, wanted);
	if (status != wanted)
		fail_at(s, "ended with", words);
	pty_free(s->p);
	s->p = NULL;
}

/* The newest file of the job folder with this ending, blanks squeezed; freed with mem_free(). */
static char *beside(struct stage *s, const char *ending)
{
	char command[256], path[512] = "", *data;
	struct hs_err err = {0};
	size_t size;
	FILE *list;

	snprintf(command, sizeof command, "ls -t '%s'/*.%s", s->jobs, ending);
	list = popen(command, "r");
	assert_non_null(list);
	assert_non_null(fgets(path, sizeof path, list));
	pclose(list);
	path[strcspn(path, "\n")] = '\0';
	data = file_read(path, 1 << 20, &size, &err);
	assert_non_null(data);
	return squeeze(data);
}

static void has(struct stage *s, const char *ending, const char *text)
{
	char *data = beside(s, ending);

	if (!strstr(data, text)) {
		fprintf(stderr, "%s:%ld: the .%s has no: %s\n%s\n", s->story, s->line, ending, text, data);
		fail();
	}
	mem_free(data);
}

static void perform(struct stage *s, char *line)
{
	char *rest = line + strcspn(line, " ");

	if (*rest)
		*rest++ = '\0';
	if (strcmp(line, "start") == 0) {
		begin(s, rest);
		if (!s->p)
			skip();
	} else if (strcmp(line, "ask") == 0 || strcmp(line, "see") == 0) {
		wait_for(s, rest);
		if (*line == 'a')
			wait_for(s, "? = help)");
	} else if (strcmp(line, "say") == 0) {
		pty_send(s->p, rest);
		pty_send(s->p, "\r");
		s->says++;
	} else if (strcmp(line, "stop") == 0) {
		pty_send(s->p, "stop\r");
		end(s, 0);
	} else if (strcmp(line, "kill") == 0) {
		pty_signal(s->p, SIGKILL);
		end(s, 128 + SIGKILL);
		s->kills++;
	} else if (strcmp(line, "end") == 0) {
		end(s, atoi(rest));
	} else if (strcmp(line, "sheet") == 0 || strcmp(line, "page") == 0) {
		has(s, *line == 's' ? "txt" : "html", rest);
	} else {
		fprintf(stderr, "%s:%ld: no such thing: %s\n", s->story, s->line, line);
		fail();
	}
}

static void play(const char *name)
{
	struct stage s = {.story = name, .jobs = "/tmp/halfsplit-story-XXXXXX"};
	char path[4200], line[1024], command[128];
	FILE *f;

	snprintf(s.trees, sizeof s.trees, "%s/trees", root());
	snprintf(path, sizeof path, "%s/tests/data/stories/%s", root(), name);
	assert_non_null(mkdtemp(s.jobs));
	setenv("XDG_STATE_HOME", s.jobs, 1);
	f = fopen(path, "r");
	assert_non_null(f);
	while (fgets(line, sizeof line, f)) {
		s.line++;
		line[strcspn(line, "\n")] = '\0';
		if (*line && *line != '#')
			perform(&s, line);
	}
	fclose(f);
	assert_null(s.p);
	printf("# %s: %ld lines typed, %ld sittings, %ld of them killed\n", name, s.says, s.sittings, s.kills);
	snprintf(command, sizeof command, "rm -rf '%s'", s.jobs);
	assert_int_equal(system(command), 0);
}

static void test_bench_run_of_the_twin(void **state)
{
	(void)state;
	play("twin-bench-run.story");
}

static void test_flooding_over_three_sittings_with_a_wrong_part(void **state)
{
	(void)state;
	play("four-flooding-wrong-part.story");
}

static void test_lean_idle_with_two_faults(void **state)
{
	(void)state;
	play("twin-lean-idle-two-faults.story");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_bench_run_of_the_twin),
		cmocka_unit_test(test_flooding_over_three_sittings_with_a_wrong_part),
		cmocka_unit_test(test_lean_idle_with_two_faults),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
