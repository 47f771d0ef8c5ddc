/* Answers kept because a coverage-guided fuzzer (clang 14's libFuzzer with ASan and UBSan) found a
 * new way through the grammar with each.  What must hold for any answer holds for them. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "base/mem.h"
#include "reading_fuzz.h"

static void test_kept_answers_are_sound_when_replayed(void **state)
{
	struct answer *kept = NULL;
	int n = reading_kept(&kept), wrong = 0;

	(void)state;
	assert_true(n > 100);
	for (int i = 0; i < n; i++) {
		const char *what = reading_fuzz(kept[i].byte, kept[i].n);

		if (what)
			reading_fuzz_show(what, kept[i].byte, kept[i].n);
		wrong += what != NULL;
	}
	mem_free(kept);
	assert_int_equal(wrong, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(test_kept_answers_are_sound_when_replayed) };

	return cmocka_run_group_tests(tests, NULL, NULL);
}
