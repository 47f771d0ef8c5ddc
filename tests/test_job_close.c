/* When a job may be closed and how, the day of a recheck, lists and searches.
 *
 * Calendar: 2028 is a leap year and 2027 is not; 1764028800 s is 2025-11-25 00:00 UTC (date -u). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <cmocka.h>

#include "base/mem.h"
#include "report/report.h"
#include "fixture.h"

#define NOW 1764028800LL

static struct kn_knowledge *kn;
static char dir[64];

static int set_up(void **state)
{
	(void)state;
	kn = fixture_trees("trees", "four");
	return kn ? fixture_folder(dir) : -1;
}

static int tear_down(void **state)
{
	(void)state;
	kn_free(kn);
	return fixture_remove(dir);
}

static void add(struct job *j, enum job_kind kind, const char *a, const char *b, const char *c)
{
	struct job_event e = { .kind = kind, .when = NOW, .field = { a, b, c } };
	struct hs_err err = { 0 };

	assert_int_equal(job_add(j, &e, &err), 0);
}

static struct job *complained(void)
{
	struct job *j = job_new(kn);

	add(j, JOB_BEGAN, kn->machine, kn->digest, "complaint");
	add(j, JOB_COMPLAINED, "flooding", NULL, NULL);
	return j;
}

static bool may(struct job *j, const char *how, const char *again, const char *says)
{
	struct hs_err err = { 0 };
	const struct job_view *v = job_view(j, &err);
	int result = job_may_close(v, how, again, &err);

	if (says)
		assert_non_null(strstr(err.text, says));
	return result == 0;
}

static void test_proven_wants_the_complaint_repeated(void **state)
{
	struct job *j = complained();

	(void)state;
	assert_false(may(j, "proven", NULL, "not been repeated"));
	add(j, JOB_REPAIRED, "renew-float-needle", "3", NULL);
	assert_false(may(j, "proven", NULL, "not been repeated"));
	add(j, JOB_ANSWERED, "flooding", "", "yes");
	assert_false(may(j, "proven", NULL, "not been repeated"));
	add(j, JOB_ANSWERED, "flooding", "", "no");
	assert_true(may(j, "proven", NULL, NULL));
	assert_true(may(j, "parts-fitted", NULL, NULL));
	assert_true(may(j, "handed-over", NULL, NULL));
	assert_false(may(j, "checked", NULL, "Only a bench run"));
	job_close(j);
}

/* A flat battery and fouled plugs: knowledge of this trade, no source. */
static void test_consequence_never_closes_a_job(void **state)
{
	static const struct { const char *complaint, *check, *answer, *remedy; } follows[] = {
		{ "slow-crank", "battery-rest", "11.6", "charge-battery" },
		{ "rich-running", "plug-gap", "0.75 0.75 0.75 0.75", "renew-fouled-plugs" },
	};

	(void)state;
	for (size_t i = 0; i < sizeof follows / sizeof *follows; i++) {
		struct job *j = job_new(kn);

		assert_int_not_equal(kn_remedy_by_id(kn, follows[i].remedy), KN_NONE);
		add(j, JOB_BEGAN, kn->machine, kn->digest, "complaint");
		add(j, JOB_COMPLAINED, follows[i].complaint, NULL, NULL);
		add(j, JOB_ANSWERED, follows[i].check, "", follows[i].answer);
		add(j, JOB_REPAIRED, follows[i].remedy, "", NULL);
		add(j, JOB_ANSWERED, follows[i].complaint, "", "no");
		assert_false(may(j, "proven", NULL, "Why did it happen?"));
		assert_true(may(j, "watch", "2026-12-24", NULL));
		job_close(j);
	}
}

static void test_cause_found_after_a_consequence_closes_it(void **state)
{
	struct job *j = complained();

	(void)state;
	add(j, JOB_REPAIRED, "renew-fouled-plugs", "", NULL);
	add(j, JOB_ANSWERED, "flooding", "", "yes");
	add(j, JOB_ANSWERED, "needle-tip", "", "ringed 3");
	add(j, JOB_REPAIRED, "renew-float-needle", "3", NULL);
	add(j, JOB_ANSWERED, "flooding", "", "no");
	assert_true(may(j, "proven", NULL, NULL));
	job_close(j);
}

static void test_what_comes_and_goes_is_only_watched(void **state)
{
	struct job *j = complained();
	struct hs_err err = { 0 };

	(void)state;
	add(j, JOB_ANSWERED, "flooding", "", "no"); /* nothing done, and away */
	assert_true(job_view(j, &err)->intermittent);
	add(j, JOB_REPAIRED, "renew-float-needle", "3", NULL);
	add(j, JOB_ANSWERED, "flooding", "", "no");
	assert_false(may(j, "proven", NULL, "on watch"));
	assert_false(may(j, "watch", "", "needs the day"));
	assert_true(may(j, "watch", "2026-12-24", NULL));
	add(j, JOB_CLOSED, "watch", "wiggled, dry", "2026-12-24");
	assert_int_equal(job_view(j, &err)->state, JOB_ON_WATCH);
	assert_string_equal(job_view(j, &err)->recheck, "2026-12-24");
	add(j, JOB_CLOSED, "reopened", "", NULL);
	assert_string_equal(job_view(j, &err)->recheck, "");
	job_close(j);
}

static void test_days_of_a_recheck(void **state)
{
	static const struct { const char *typed, *day; } good[] = {
		{ "2025-11-25", "2025-11-25" }, { "2028-02-29", "2028-02-29" }, { "1", "2025-11-26" },
		{ "7 days", "2025-12-02" }, { "1 day", "2025-11-26" }, { "2 weeks", "2025-12-09" },
		{ "1 week", "2025-12-02" }, { "2 months", "2026-01-24" }, { "14", "2025-12-09" } };
	static const char *const bad[] = { "", "soon", "2025-11-24", "2027-02-29", "2026-13-01", "2026-06-31",
		"0", "-3", "7 miles", "2026-1-1", "2026-12-24x", "1001", "99999999999999999999" };
	char day[11];

	(void)state;
	for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
		struct hs_err err = { 0 };

		assert_int_equal(job_recheck_day(good[i].typed, NOW + 3600, day, &err), 0);
		assert_string_equal(day, good[i].day);
	}
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		struct hs_err err = { 0 };

		assert_int_equal(job_recheck_day(bad[i], NOW, day, &err), -1);
		assert_true(err.text[0] != '\0');
	}
	assert_int_equal(job_day_start("2025-11-25"), NOW);
}

static void write_job(const char *id, const char *note, const char *how, const char *again)
{
	struct hs_err err = { 0 };
	struct job *j = job_create(dir, id, kn, &err);

	assert_non_null(j);
	add(j, JOB_BEGAN, kn->machine, kn->digest, "complaint");
	add(j, JOB_COMPLAINED, "flooding", NULL, NULL);
	add(j, JOB_NOTED, note, NULL, NULL);
	add(j, JOB_NOTED, "taken back", NULL, NULL);
	add(j, JOB_TOOK_BACK, "4", NULL, NULL);
	if (how)
		add(j, JOB_CLOSED, how, "", again);
	job_close(j);
}

static void test_jobs_on_watch_have_their_day(void **state)
{
	struct hs_err err = { 0 };
	struct job_summary *jobs;
	int n;

	(void)state;
	write_job("watched", "The customer comes by tram", "watch", "2025-12-01");
	write_job("proven", "x", "proven", "");
	n = job_list(dir, &jobs, &err);
	assert_int_equal(n, 2);
	for (int i = 0; i < n; i++)
		assert_string_equal(jobs[i].due, strcmp(jobs[i].id, "watched") == 0 ? "2025-12-01" : "");
	mem_free(jobs);
}

static void test_search_looks_into_what_holds(void **state)
{
	struct hs_err err = { 0 };
	struct job *j = job_read(dir, "watched", NULL, &err);

	(void)state;
	assert_non_null(j);
	assert_true(job_mentions(j, "TRAM"));
	assert_true(job_mentions(j, "flood"));
	assert_true(job_mentions(j, "WATCHED"));
	assert_false(job_mentions(j, "taken back"));
	assert_false(job_mentions(j, "bus"));
	job_close(j);
	assert_null(job_read(dir, "none", NULL, &err));
	err_clear(&err);
	assert_null(job_read(dir, "../x", NULL, &err));
}

/* One line, whatever was typed; what was taken back is not in it. */
static void test_job_is_one_line_of_json(void **state)
{
	struct hs_err err = { 0 };
	struct text t = { 0 };
	struct job *j;

	(void)state;
	write_job("odd", "two\nlines \"quoted\" \x1b[2J", "watch", "2025-12-01");
	j = job_read(dir, "odd", NULL, &err);
	assert_non_null(j);
	report_job_line(j, &t);
	assert_ptr_equal(strchr(text_str(&t), '\n'), text_str(&t) + t.len - 1);
	assert_non_null(strstr(text_str(&t), "{\"text\": \"two\\nlines \\\"quoted\\\" \\u001b[2J\", "));
	assert_non_null(strstr(text_str(&t), "\"due\": \"2025-12-01\""));
	assert_non_null(strstr(text_str(&t), "\"complaints\": [{\"symptom\": \"flooding\", "));
	assert_null(strstr(text_str(&t), "taken back"));
	text_free(&t);
	job_close(j);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_proven_wants_the_complaint_repeated),
		cmocka_unit_test(test_consequence_never_closes_a_job),
		cmocka_unit_test(test_cause_found_after_a_consequence_closes_it),
		cmocka_unit_test(test_what_comes_and_goes_is_only_watched),
		cmocka_unit_test(test_days_of_a_recheck),
		cmocka_unit_test(test_jobs_on_watch_have_their_day),
		cmocka_unit_test(test_search_looks_into_what_holds),
		cmocka_unit_test(test_job_is_one_line_of_json),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
