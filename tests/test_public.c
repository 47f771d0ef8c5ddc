/* The library as its users see it: this file includes halfsplit.h and nothing else of ours. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include <halfsplit.h>

static const char *tiny(void)
{
	static char path[4096];
	const char *root = getenv("HALFSPLIT_ROOT");

	snprintf(path, sizeof path, "%s/tests/data/good-trees/tiny.xml", root ? root : ".");
	return path;
}

/* The first title among the suspects. */
static void leader(const char *json, char out[120])
{
	const char *s = strstr(json, "\"suspects\"");

	s = s ? strstr(s, "\"title\":") : NULL;
	s = s ? strchr(s + 8, '"') : NULL;
	assert_non_null(s);
	snprintf(out, 120, "%.*s", (int)strcspn(s + 1, "\""), s + 1);
}

static void test_short_job_end_to_end(void **state)
{
	struct hs *h = hs_open(tiny(), "pair");
	char title[120];
	const char *sheet, *json, *next;

	(void)state;
	assert_null(hs_error(h));
	assert_int_equal(hs_complain(h, "flooding"), 0);
	assert_int_equal(hs_tell(h, "air", "20"), 0);
	assert_int_equal(hs_answer(h, "fuel-level", NULL, "1.5 5", 0), 0);
	assert_int_equal(hs_answer(h, "smell", NULL, "strong", 0), 0);
	json = hs_rank_json(h);
	leader(json, title);
	assert_non_null(strstr(title, "float needle"));
	next = strstr(json, "\"next\"");
	assert_non_null(next);
	/* The needle is over an hour with its opening and closing: what it rests on is read twice. */
	assert_memory_equal(strstr(next, "\"id\""), "\"id\": \"fuel-level\"", 18);
	assert_memory_equal(strstr(next, "\"once_more\""), "\"once_more\": true", 17);
	assert_int_equal(hs_answer(h, "fuel-level", NULL, "1.5 5", 0), 0);
	next = strstr(hs_rank_json(h), "\"next\"");
	assert_non_null(next);
	assert_memory_equal(strstr(next, "\"id\""), "\"id\": \"renew-needle\"", 20);
	assert_memory_equal(strstr(next, "\"once_more\""), "\"once_more\": false", 18);
	assert_memory_equal(strstr(next, "\"position\""), "\"position\": null", 16); /* both, while it is open */
	assert_int_equal(hs_repaired(h, "renew-needle", NULL), 0);
	assert_int_equal(hs_answer(h, "flooding", NULL, "no", 0), 0);
	sheet = hs_report(h);
	assert_non_null(sheet);
	assert_non_null(strstr(sheet, "Renew float needle"));
	sheet = hs_report_html(h);
	assert_non_null(sheet);
	assert_memory_equal(sheet, "<!DOCTYPE html>", 15);
	assert_non_null(strstr(sheet, "Renew float needle"));
	sheet = hs_report_json(h);
	assert_non_null(sheet);
	assert_non_null(strstr(sheet, "\"remedy\": \"renew-needle\""));
	hs_free(h);
}

static void test_undo_brings_the_old_ranking_back(void **state)
{
	struct hs *h = hs_open(tiny(), "pair");
	char *before;

	(void)state;
	assert_int_equal(hs_complain(h, "will-not-idle"), 0);
	before = strdup(hs_rank_json(h));
	assert_int_equal(hs_answer(h, "header-touch", NULL, "one-cold 2", 0), 0);
	assert_string_not_equal(hs_rank_json(h), before);
	assert_int_equal(hs_undo(h), 0);
	assert_string_equal(hs_rank_json(h), before);
	assert_int_equal(hs_redo(h), 0);
	assert_string_not_equal(hs_rank_json(h), before);
	assert_int_equal(hs_redo(h), -1);
	free(before);
	hs_free(h);
}

static void refused(struct hs *h, int result, const char *word)
{
	assert_int_equal(result, -1);
	assert_non_null(hs_error(h));
	assert_non_null(strstr(hs_error(h), word));
}

static void test_nonsense_is_refused_in_words(void **state)
{
	struct hs *h = hs_open(tiny(), "pair");
	char *before = strdup(hs_rank_json(h));

	(void)state;
	refused(h, hs_complain(h, "smell"), "smell");
	refused(h, hs_complain(h, NULL), "complaint");
	refused(h, hs_answer(h, "no-such", NULL, "1", 0), "no-such");
	refused(h, hs_answer(h, "fuel-level", "9", "1", 0), "9");
	refused(h, hs_answer(h, "smell", "1", "strong", 0), "1");
	refused(h, hs_answer(h, "smell", NULL, "purple", 0), "purple");
	refused(h, hs_answer(h, "smell", NULL, NULL, 0), "");
	refused(h, hs_answer(h, "heaters-at-plug", NULL, "6.3", 0), "leads");
	refused(h, hs_tell(h, "tool:no-such", "yes"), "no-such");
	refused(h, hs_tell(h, "tool:multimeter", "perhaps"), "yes or no");
	refused(h, hs_tell(h, "air", "warm"), "number");
	refused(h, hs_repaired(h, "no-such", NULL), "no-such");
	refused(h, hs_skip(h, "no-such"), "no-such");
	refused(h, hs_undo(h), "nothing");
	assert_string_equal(hs_rank_json(h), before);
	assert_null(hs_error(h));
	assert_int_equal(hs_answer(h, "heaters-at-plug", NULL, "6.3", HS_LEADS_UNMEASURED), 0);
	assert_int_equal(hs_skip(h, "smell"), 0);
	free(before);
	hs_free(h);
}

static void test_trees_that_do_not_load(void **state)
{
	struct hs *h = hs_open("/no/such/folder", "pair");

	(void)state;
	assert_non_null(hs_error(h));
	assert_int_equal(hs_complain(h, "flooding"), -1);
	assert_non_null(hs_error(h));
	assert_null(hs_rank_json(h));
	assert_null(hs_report(h));
	assert_null(hs_report_html(h));
	hs_free(h);
	h = hs_open(tiny(), "no-such-machine");
	assert_non_null(strstr(hs_error(h), "no-such-machine"));
	hs_free(h);
	h = hs_open(NULL, NULL);
	assert_non_null(hs_error(h));
	hs_free(h);
	hs_free(NULL);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_short_job_end_to_end),
		cmocka_unit_test(test_undo_brings_the_old_ranking_back),
		cmocka_unit_test(test_nonsense_is_refused_in_words),
		cmocka_unit_test(test_trees_that_do_not_load),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
