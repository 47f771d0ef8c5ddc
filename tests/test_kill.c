/* 300 kill -9 at random moments: no acknowledged answer lost, none invented.  tests/soak_kill.c does
 * 10,000.  The bar is the one of docs/robustness.md. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>
#include <cmocka.h>

#include "kill.h"

#define KILLS 300

static void test_nothing_acknowledged_is_lost_when_killed(void **state)
{
	const char *root = getenv("HALFSPLIT_ROOT");
	char dir[64], trees[4200], command[100];
	struct kill_figures f;

	(void)state;
	/* In memory where there is such a place: a kill does not ask how fast the disk is. */
	snprintf(dir, sizeof dir, "%s/halfsplit-kill-XXXXXX",
		 access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
	assert_non_null(mkdtemp(dir));
	snprintf(trees, sizeof trees, "%s/tests/data/job/small.xml", root ? root : ".");
	kill_writers(dir, trees, KILLS, 1, &f);
	snprintf(command, sizeof command, "rm -rf '%s'", dir);
	assert_int_equal(system(command), 0);
	kill_print("kill", &f);
	if (f.why[0])
		fail_msg("%s", f.why);
	assert_int_equal(f.kills, KILLS);
	assert_int_equal(f.lost + f.invented + f.broken, 0);
	assert_true(f.acknowledged > KILLS); /* the writers did get to write */
	assert_true(f.torn > 0);             /* and some kills did fall into a line */
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_nothing_acknowledged_is_lost_when_killed),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
