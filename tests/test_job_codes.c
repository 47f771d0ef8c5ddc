/* Lamp codes as answers: typed as number, words, letters or strokes, they are the outcome of that
 * code.  The invented table of the four-cylinder demonstration machine. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "job/job.h"

static struct kn_knowledge *kn;
static struct job *job;

static int set_up(void **state)
{
	const char *root = getenv("HALFSPLIT_ROOT");
	struct hs_err err = { 0 };
	struct job_event began = { .kind = JOB_BEGAN };
	char path[4096];

	(void)state;
	snprintf(path, sizeof path, "%s/trees", root ? root : ".");
	kn = kn_load(path, "four", &err);
	if (!kn) {
		fprintf(stderr, "%s:%d: %s\n", err.file, err.line, err.text);
		return -1;
	}
	job = job_new(kn);
	began.field[0] = kn->machine;
	began.field[1] = kn->digest;
	began.field[2] = "fault-blink";
	return job_add(job, &began, &err);
}

static int tear_down(void **state)
{
	(void)state;
	job_close(job);
	kn_free(kn);
	return 0;
}

static enum job_status typed(const char *text, struct job_understood *u, struct hs_err *err)
{
	struct job_answer a = { .check = kn_check_by_id(kn, "lamp-code"), .place = KN_NONE, .text = text };

	return job_understand(job, &a, u, err);
}

static void means(const char *text, const char *outcome)
{
	struct job_understood u;
	struct hs_err err = { 0 };

	if (typed(text, &u, &err) != JOB_OK)
		fail_msg("\"%s\": %s", text, err.text);
	assert_string_equal(kn->checks[kn_check_by_id(kn, "lamp-code")].outcomes[u.outcome].id, outcome);
}

static void refused(const char *text, const char *because)
{
	struct job_understood u;
	struct hs_err err = { 0 };

	assert_int_equal(typed(text, &u, &err), JOB_REFUSED);
	if (!strstr(err.text, because))
		fail_msg("\"%s\" refused with \"%s\"", text, err.text);
}

static void test_flashes_are_the_outcome_of_their_code(void **state)
{
	static const char *const same[] = { "23", "2 long 3 short", "LLSSS", "- - . . .", "23 23", "code-23",
					    "LLSSS / LLSSS" };

	(void)state;
	for (size_t i = 0; i < sizeof same / sizeof *same; i++)
		means(same[i], "code-23");
}

/* A code is not the number of an outcome in the list: 11 is not the eleventh. */
static void test_a_code_goes_before_the_number_in_the_list(void **state)
{
	(void)state;
	means("11", "code-11");
	means("13", "code-13");
	means("15", "code-15");
	means("1", "code-11"); /* no code: the first of the list */
	means("none", "none");
}

static void test_what_is_no_code_of_this_lamp_is_refused(void **state)
{
	(void)state;
	refused("29", "not an answer here");
	refused("6 long 1 short", "five long");
	refused("13 / 14", "differ: 13 and 14");
	refused("13 41", "supply or ground");
	refused("blue", "not an answer here");
}

static void test_reading_twice_is_told(void **state)
{
	struct job_understood u;

	(void)state;
	assert_int_equal(typed("23 23", &u, NULL), JOB_OK);
	assert_non_null(strstr(u.echo, "read twice alike"));
	assert_int_equal(typed("23", &u, NULL), JOB_OK);
	assert_null(strstr(u.echo, "twice"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_flashes_are_the_outcome_of_their_code),
		cmocka_unit_test(test_a_code_goes_before_the_number_in_the_list),
		cmocka_unit_test(test_what_is_no_code_of_this_lamp_is_refused),
		cmocka_unit_test(test_reading_twice_is_told),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
