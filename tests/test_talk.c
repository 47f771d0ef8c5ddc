/* The talk room: words, choices, lines from a pipe, and the program on a pseudo-terminal. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "pty.h"
#include "talk/inner.h"
#include "talk/paths.h"

#define PATIENCE 20000 /* ms; a loaded machine is slow, and nothing waits this long otherwise */

/* ---- words ------------------------------------------------------------------------------------- */

static void test_words_are_known_by_every_spelling(void **state)
{
	const char *argument;

	(void)state;
	for (int w = 0; w < WORD_COUNT; w++) {
		const struct word_entry *e = word_entry((enum word)w);
		if (e->argument)
			continue;
		assert_int_equal(word_of(e->name, &argument), w);
		for (int i = 0; i < WORD_SHORTS && e->shorts[i]; i++)
			assert_int_equal(word_of(e->shorts[i], &argument), w);
	}
	assert_int_equal(word_of("DK", &argument), WORD_DONT_KNOW);
	assert_int_equal(word_of("Can't", &argument), WORD_CANNOT);
}

static void test_words_with_an_argument_need_one(void **state)
{
	const char *argument;

	(void)state;
	assert_int_equal(word_of("note", &argument), WORD_NONE);
	assert_int_equal(word_of("note  sits on the side stand", &argument), WORD_NOTE);
	assert_string_equal(argument, "sits on the side stand");
	assert_int_equal(word_of("tell fuel-level@2=7", &argument), WORD_TELL);
	assert_string_equal(argument, "fuel-level@2=7");
	assert_int_equal(word_of("closed", &argument), WORD_NONE);
	assert_int_equal(word_of("opened bench", &argument), WORD_OPENED);
	assert_string_equal(argument, "bench");
	assert_int_equal(word_of("Opened", &argument), WORD_OPENED);   /* may do without */
	assert_null(argument);
	assert_int_equal(word_of("doubtful", &argument), WORD_NONE);
	assert_int_equal(word_of("12.4", &argument), WORD_NONE);
	assert_int_equal(word_of("back to front", &argument), WORD_NONE);
}

/* ---- choices ----------------------------------------------------------------------------------- */

static const struct talk_choice fruit[] = {
	{"apple", "an apple"}, {"apricot", "an apricot"}, {"pear", "a pear"}, {"none-of-them", "none"},
};

static void test_choice_by_number_name_and_beginning(void **state)
{
	(void)state;
	assert_int_equal(choose_one(fruit, 4, "2"), 1);
	assert_int_equal(choose_one(fruit, 4, "PEAR"), 2);
	assert_int_equal(choose_one(fruit, 4, "a pear"), 2);
	assert_int_equal(choose_one(fruit, 4, "apr"), 1);
}

static void test_choice_that_is_not_clear_is_no_choice(void **state)
{
	(void)state;
	assert_int_equal(choose_one(fruit, 4, "ap"), KN_NONE);
	assert_int_equal(choose_one(fruit, 4, "a"), KN_NONE);
	assert_int_equal(choose_one(fruit, 4, "0"), KN_NONE);
	assert_int_equal(choose_one(fruit, 4, "5"), KN_NONE);
	assert_int_equal(choose_one(fruit, 4, "1x"), KN_NONE);
	assert_int_equal(choose_one(fruit, 4, "99999999999999999999"), KN_NONE);
	assert_int_equal(choose_one(fruit, 4, ""), KN_NONE);
	assert_string_equal(choose_near(fruit, 4, "aple"), "apple");
}

static void test_several_choices_by_commas_blanks_and_titles(void **state)
{
	bool picked[4];
	struct text odd = {0};

	(void)state;
	assert_int_equal(choose_several(fruit, 4, "1 3", picked, &odd), 0);
	assert_true(picked[0] && !picked[1] && picked[2] && !picked[3]);
	assert_int_equal(choose_several(fruit, 4, "a pear, 2", picked, &odd), 0);
	assert_true(!picked[0] && picked[1] && picked[2]);
	assert_int_equal(choose_several(fruit, 4, "apple and pear", picked, &odd), 0);
	assert_true(picked[0] && picked[2]);
	assert_int_equal(choose_several(fruit, 4, "apple, plum", picked, &odd), -1);
	assert_string_equal(text_str(&odd), "plum");
	text_free(&odd);
}

/* ---- lines from a file ------------------------------------------------------------------------- */

static struct input *input_of(const char *bytes, size_t n, char path[64])
{
	struct hs_err err = {0};
	struct input *in;
	FILE *f;

	snprintf(path, 64, "/tmp/halfsplit-talk-%ld", (long)getpid());
	f = fopen(path, "w");
	assert_non_null(f);
	assert_int_equal(fwrite(bytes, 1, n, f), n);
	fclose(f);
	in = input_open(path, NULL, &err);
	assert_non_null(in);
	return in;
}

static void test_file_lines_skip_comments_and_keep_numbers(void **state)
{
	static const char script[] = "# a comment\n\n   \nfour\r\n  # another\n12,4\nlast";
	char path[64];
	struct input *in = input_of(script, sizeof script - 1, path);
	struct text line = {0};
	struct hs_err why = {0};

	(void)state;
	assert_false(input_is_person(in));
	assert_int_equal(input_read(in, "", NULL, NULL, 0, &line, &why), INPUT_LINE);
	assert_string_equal(text_str(&line), "four");
	assert_int_equal(input_line(in), 4);
	assert_int_equal(input_read(in, "", NULL, NULL, 0, &line, &why), INPUT_LINE);
	assert_string_equal(text_str(&line), "12,4");
	assert_int_equal(input_read(in, "", NULL, NULL, 0, &line, &why), INPUT_LINE);
	assert_string_equal(text_str(&line), "last");
	assert_int_equal(input_line(in), 7);
	assert_int_equal(input_read(in, "", NULL, NULL, 0, &line, &why), INPUT_END);
	input_close(in);
	unlink(path);
	text_free(&line);
}

static void test_file_line_that_is_no_text_is_refused(void **state)
{
	static const char *const bad[] = {"a\0b\n", "\xff\xfe\n", "\xc3\n"};
	static const size_t length[] = {4, 3, 2};
	char path[64];

	(void)state;
	for (int i = 0; i < 3; i++) {
		struct input *in = input_of(bad[i], length[i], path);
		struct text line = {0};
		struct hs_err why = {0};
		assert_int_equal(input_read(in, "", NULL, NULL, 0, &line, &why), INPUT_BAD);
		assert_true(why.text[0] != '\0');
		input_close(in);
		text_free(&line);
	}
	unlink(path);
}

static void test_file_line_of_a_megabyte_is_refused_and_the_next_is_read(void **state)
{
	size_t n = 1 << 20;
	char *bytes = malloc(n + 4), path[64];
	struct text line = {0};
	struct hs_err why = {0};
	struct input *in;

	(void)state;
	assert_non_null(bytes);
	memset(bytes, 'x', n);
	memcpy(bytes + n, "\nyes", 4);
	in = input_of(bytes, n + 4, path);
	assert_int_equal(input_read(in, "", NULL, NULL, 0, &line, &why), INPUT_BAD);
	assert_int_equal(input_read(in, "", NULL, NULL, 0, &line, &why), INPUT_LINE);
	assert_string_equal(text_str(&line), "yes");
	input_close(in);
	unlink(path);
	free(bytes);
	text_free(&line);
}

/* ---- folders ----------------------------------------------------------------------------------- */

/* XDG Base Directory Specification 0.8: a relative value is ignored. */
static void test_state_folder_ignores_relative_values(void **state)
{
	char home[] = "/tmp/halfsplit-home-XXXXXX";
	struct text path = {0}, wanted = {0};

	(void)state;
	assert_non_null(mkdtemp(home));
	setenv("HOME", home, 1);
	setenv("XDG_STATE_HOME", "somewhere", 1);
	assert_true(paths_state("tools", &path));
	text_addf(&wanted, "%s/.local/state/halfsplit/tools", home);
	assert_string_equal(text_str(&path), text_str(&wanted));
	text_clear(&path);
	setenv("HOME", "nowhere", 1);
	assert_false(paths_state("tools", &path));
	text_free(&path);
	text_free(&wanted);
}

/* ---- a person at a terminal --------------------------------------------------------------------- */

struct place { char trees[4096], jobs[64]; };

static struct pty *start(struct place *p, const char *const *more)
{
	const char *root = getenv("HALFSPLIT_ROOT"), *program = getenv("HALFSPLIT_PROGRAM");
	const char *argv[16] = {program ? program : "build/halfsplit", "--trees", p->trees,
				"--job-dir", p->jobs};
	int n = 5;

	snprintf(p->trees, sizeof p->trees, "%s/trees", root ? root : ".");
	if (!p->jobs[0]) {
		strcpy(p->jobs, "/tmp/halfsplit-jobs-XXXXXX");
		assert_non_null(mkdtemp(p->jobs));
		setenv("XDG_STATE_HOME", p->jobs, 1);
	}
	while (more && *more && n < 15)
		argv[n++] = *more++;
	argv[n] = NULL;
	return pty_start(&(struct pty_setup){.argv = argv});
}

static void clear(const struct place *p)
{
	char command[128];

	snprintf(command, sizeof command, "rm -rf '%s'", p->jobs);
	assert_int_equal(system(command), 0);
}

/* Skips where there are no pseudo-terminals (a chroot without /dev/pts). */
#define START(p, place, ...) \
	struct pty *p = start(&(place), (const char *const[]){__VA_ARGS__, NULL}); \
	if (!(p)) \
		skip()

static void test_terminal_refused_answer_stands_in_the_line_again(void **state)
{
	struct place place = {0};

	(void)state;
	START(p, place, NULL);
	assert_true(pty_wait(p, "Which machine", PATIENCE));
	pty_send(p, "zeppelin\r");
	assert_true(pty_wait(p, "none of the machines", PATIENCE));
	assert_true(pty_wait(p, "Which machine", PATIENCE));
	assert_true(pty_wait(p, "zeppelin", PATIENCE));
	pty_send(p, "\025twin\r");              /* Ctrl-U empties the line */
	assert_true(pty_wait(p, "What does it do wrong", PATIENCE));
	pty_send(p, "\004");
	assert_int_equal(pty_end(p, PATIENCE), 0);
	pty_free(p);
	clear(&place);
}

static void test_terminal_ctrl_c_drops_the_line_and_twice_leaves(void **state)
{
	struct place place = {0};

	(void)state;
	START(p, place, NULL);
	assert_true(pty_wait(p, "Which machine", PATIENCE));
	pty_send(p, "half typed\003");
	assert_true(pty_wait(p, "Line dropped", PATIENCE));
	assert_true(pty_wait(p, "Which machine", PATIENCE));
	pty_send(p, "four\r");
	assert_true(pty_wait(p, "What does it do wrong", PATIENCE));
	pty_send(p, "\003");
	assert_true(pty_wait(p, "Line dropped", PATIENCE));
	assert_true(pty_wait(p, "What does it do wrong", PATIENCE));
	pty_send(p, "\003");
	assert_int_equal(pty_end(p, PATIENCE), 130);
	pty_free(p);
	clear(&place);
}

static void test_terminal_back_before_there_is_a_job_asks_the_machine_again(void **state)
{
	struct place place = {0};

	(void)state;
	START(p, place, NULL);
	assert_true(pty_wait(p, "Which machine", PATIENCE));
	pty_send(p, "four\r");
	assert_true(pty_wait(p, "What does it do wrong", PATIENCE));
	pty_send(p, "back\r");
	assert_true(pty_wait(p, "Which machine", PATIENCE));
	pty_send(p, "stop\r");
	assert_int_equal(pty_end(p, PATIENCE), 0);
	pty_free(p);
	clear(&place);
}

/* Killed with no chance to say good-bye, at the first prompt after an answer was taken. */
static void test_terminal_killed_job_resumes_with_what_was_answered(void **state)
{
	struct place place = {0};

	(void)state;
	START(p, place, "--machine", "four");
	assert_true(pty_wait(p, "What does it do wrong", PATIENCE));
	pty_send(p, "flooding\r");
	assert_true(pty_wait(p, "Which tools", PATIENCE));
	pty_send(p, "none\r");
	assert_true(pty_wait(p, "history", PATIENCE));
	pty_signal(p, 9);
	assert_int_equal(pty_end(p, PATIENCE), 128 + 9);
	pty_free(p);
	p = start(&place, (const char *const[]){"resume", NULL});
	assert_non_null(p);
	assert_true(pty_wait(p, "Complaint:", PATIENCE));
	assert_true(pty_wait(p, "history", PATIENCE));
	assert_null(strstr(pty_plain(p), "Which tools"));
	pty_send(p, "back\r");
	assert_true(pty_wait(p, "Taken back", PATIENCE));
	assert_true(pty_wait(p, "Which tools", PATIENCE));
	pty_send(p, "redo\r");
	assert_true(pty_wait(p, "Put back", PATIENCE));
	assert_true(pty_wait(p, "history", PATIENCE));
	pty_send(p, "stop\r");
	assert_int_equal(pty_end(p, PATIENCE), 0);
	pty_free(p);
	clear(&place);
}

/* A paste of three lines must not answer three questions (measured: robustness finding 2). */
static void test_terminal_paste_of_lines_answers_one_question_at_most(void **state)
{
	struct place place = {0};

	(void)state;
	START(p, place, NULL);
	assert_true(pty_wait(p, "Which machine", PATIENCE));
	pty_send(p, "\033[200~four\nflooding\nnone\n\033[201~\r");
	assert_true(pty_wait(p, "lines were pasted", PATIENCE));
	assert_true(pty_wait(p, "Which machine", PATIENCE));
	assert_null(strstr(pty_plain(p), "What does it do wrong"));
	pty_send(p, "\r");
	assert_true(pty_wait(p, "What does it do wrong", PATIENCE));
	pty_send(p, "stop\r");
	assert_int_equal(pty_end(p, PATIENCE), 0);
	pty_free(p);
	clear(&place);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_words_are_known_by_every_spelling),
		cmocka_unit_test(test_words_with_an_argument_need_one),
		cmocka_unit_test(test_choice_by_number_name_and_beginning),
		cmocka_unit_test(test_choice_that_is_not_clear_is_no_choice),
		cmocka_unit_test(test_several_choices_by_commas_blanks_and_titles),
		cmocka_unit_test(test_file_lines_skip_comments_and_keep_numbers),
		cmocka_unit_test(test_file_line_that_is_no_text_is_refused),
		cmocka_unit_test(test_file_line_of_a_megabyte_is_refused_and_the_next_is_read),
		cmocka_unit_test(test_terminal_refused_answer_stands_in_the_line_again),
		cmocka_unit_test(test_terminal_ctrl_c_drops_the_line_and_twice_leaves),
		cmocka_unit_test(test_terminal_back_before_there_is_a_job_asks_the_machine_again),
		cmocka_unit_test(test_terminal_killed_job_resumes_with_what_was_answered),
		cmocka_unit_test(test_terminal_paste_of_lines_answers_one_question_at_most),
		cmocka_unit_test(test_state_folder_ignores_relative_values),
	};

	return cmocka_run_group_tests_name("talk", tests, NULL, NULL);
}
