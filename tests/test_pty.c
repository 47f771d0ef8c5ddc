/* The driver itself, with programs whose behaviour on a terminal is known: cat, sh and stty. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "pty.h"

#define SOON 5000 /* ms; a limit for what takes a few */

static struct pty *start_shell(const char *script, const struct pty_setup *more)
{
	const char *argv[] = {"sh", "-c", script, NULL};
	struct pty_setup setup = {0};

	if (more)
		setup = *more;
	setup.argv = argv;
	struct pty *p = pty_start(&setup);
	if (!p)
		skip();
	return p;
}

static void test_line_comes_back_when_sent_to_cat(void **state)
{
	const char *argv[] = {"cat", NULL};
	struct pty *p = pty_start(&(struct pty_setup){.argv = argv});

	(void)state;
	if (!p)
		skip();
	pty_send(p, "needle\r");
	assert_true(pty_wait(p, "needle", SOON)); /* the terminal's echo */
	assert_true(pty_wait(p, "needle", SOON)); /* cat's line */
	assert_false(pty_wait(p, "needle", 100)); /* and no third */
	pty_send(p, "\004");
	assert_int_equal(pty_end(p, SOON), 0);
	assert_int_equal(pty_end(p, SOON), 0);
	assert_string_equal(pty_output(p, NULL), "needle\r\nneedle\r\n");
	pty_free(p);
}

static void test_program_sees_terminal_of_given_size_and_name(void **state)
{
	const char *const env[] = {"COLOUR=blue", "HOME", NULL};
	struct pty_setup setup = {.columns = 132, .rows = 50, .term = "vt100", .env = env,
				  .folder = "/"};
	struct pty *p = start_shell("stty size; echo $TERM ${COLOUR} ${HOME-none} $(pwd); "
				    "test -t 0 && test -t 1 && test -t 2 && echo all terminals",
				    &setup);

	(void)state;
	assert_int_equal(pty_end(p, SOON), 0);
	assert_non_null(strstr(pty_plain(p), "50 132\nvt100 blue none /\nall terminals\n"));
	pty_free(p);
}

static void test_term_is_unset_when_empty(void **state)
{
	struct pty *p = start_shell("env | grep -c ^TERM=", &(struct pty_setup){.term = ""});

	(void)state;
	pty_end(p, SOON);
	assert_string_equal(pty_plain(p), "0\n");
	pty_free(p);
}

static void test_exit_status_is_reported(void **state)
{
	struct pty *p = start_shell("exit 7", NULL);

	(void)state;
	assert_int_equal(pty_end(p, SOON), 7);
	pty_free(p);
	p = start_shell("kill -TERM $$", NULL);
	assert_int_equal(pty_end(p, SOON), 128 + SIGTERM);
	pty_free(p);
	const char *argv[] = {"/nonexistent/program", NULL};
	p = pty_start(&(struct pty_setup){.argv = argv});
	assert_int_equal(pty_end(p, SOON), 127);
	pty_free(p);
}

static void test_program_is_killed_when_it_does_not_end(void **state)
{
	struct pty *p = start_shell("sleep 100", NULL);

	(void)state;
	assert_int_equal(pty_end(p, 50), -1);
	pty_free(p);
	pty_free(NULL);
	p = start_shell("sleep 100", NULL);
	pid_t process = pty_process(p);
	pty_free(p);
	assert_int_equal(kill(process, 0), -1);
}

static void test_interrupt_key_reaches_the_program(void **state)
{
	struct pty *p = start_shell("trap 'echo caught; exit 3' INT; echo ready; "
				    "while :; do sleep 0.05; done",
				    NULL);

	(void)state;
	assert_true(pty_wait(p, "ready", SOON));
	pty_send(p, "\003");
	assert_true(pty_wait(p, "caught", SOON));
	assert_int_equal(pty_end(p, SOON), 3);
	pty_free(p);
}

static void test_signals_resizing_and_hanging_up_reach_the_program(void **state)
{
	static const char loop[] = "; echo ready; while :; do sleep 0.05; done";
	char script[200] = "trap 'stty size' WINCH; trap 'exit 4' USR1; trap 'exit 5' HUP";

	(void)state;
	strcat(script, loop);
	struct pty *p = start_shell(script, NULL);
	assert_true(pty_wait(p, "ready", SOON));
	pty_resize(p, 40, 10);
	assert_true(pty_wait(p, "10 40", SOON));
	pty_signal(p, SIGUSR1);
	assert_int_equal(pty_end(p, SOON), 4);
	pty_free(p);
	p = start_shell(script, NULL);
	assert_true(pty_wait(p, "ready", SOON));
	pty_hang_up(p);
	assert_int_equal(pty_end(p, SOON), 5);
	pty_free(p);
}

static void test_much_text_passes_both_ways(void **state)
{
	enum { LINES = 2000 };
	struct pty *p = start_shell("stty -echo; echo ready; cat", NULL);
	static char line[] = "0123456789012345678901234567890123456789\r";
	size_t size;

	(void)state;
	assert_true(pty_wait(p, "ready\r\n", SOON));
	for (int i = 0; i < LINES; i++)
		pty_send(p, line);
	pty_send(p, "\004");
	assert_int_equal(pty_end(p, 10000), 0);
	pty_output(p, &size);
	assert_int_equal(size, strlen("ready\r\n") + LINES * (sizeof line));
	pty_free(p);
}

static void test_plain_output_has_no_escapes(void **state)
{
	struct pty *p = start_shell("printf '\\033[?2004h\\033[1;31mred\\033[0m\\033]0;title\\007"
				    " \\033(Bx\\a\\r\\n'",
				    NULL);

	(void)state;
	pty_settle(p, 50);
	assert_int_equal(pty_end(p, SOON), 0);
	assert_string_equal(pty_plain(p), "red x\n");
	pty_free(p);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_line_comes_back_when_sent_to_cat),
		cmocka_unit_test(test_program_sees_terminal_of_given_size_and_name),
		cmocka_unit_test(test_term_is_unset_when_empty),
		cmocka_unit_test(test_exit_status_is_reported),
		cmocka_unit_test(test_program_is_killed_when_it_does_not_end),
		cmocka_unit_test(test_interrupt_key_reaches_the_program),
		cmocka_unit_test(test_signals_resizing_and_hanging_up_reach_the_program),
		cmocka_unit_test(test_much_text_passes_both_ways),
		cmocka_unit_test(test_plain_output_has_no_escapes),
	};

	return cmocka_run_group_tests_name("pty", tests, NULL, NULL);
}
