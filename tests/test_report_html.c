/* The HTML job sheet: whole, well-formed in the judgement of xmllint, and harmless whatever was typed.
 *
 * 1700000000 s is 2023-11-14 22:13:20 UTC (date -u -d @1700000000). */
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
#include "job_aid.h"

static void add(struct job *j, enum job_kind kind, const char *a, const char *b, const char *c,
		const char *d)
{
	add_at(j, kind, 1700000000, a, b, c, d);
}

/* One job with every section of the page; `typed` stands wherever a person may type freely. */
static struct job *played(const char *typed)
{
	struct job *j = job_new(kn);

	add(j, JOB_BEGAN, kn->machine, typed, "complaint", NULL);
	add(j, JOB_COMPLAINED, "flooding", NULL, NULL, NULL);
	add(j, JOB_TOLD, "history:stored", "yes", NULL, NULL);
	add(j, JOB_TOLD, "air", typed, NULL, NULL);
	add(j, JOB_ANSWERED, "leads", "", "0.3", NULL);
	add(j, JOB_ANSWERED, "coil", "", "3.3", NULL);
	add(j, JOB_ANSWERED, "bowl-wet", "", "1:dry 2:wet", NULL);
	add(j, JOB_ANSWERED, "bowl-sample", "", typed, typed);
	add(j, JOB_SKIPPED, "bowl-sample", "", typed, NULL);
	add(j, JOB_SKIPPED, typed, typed, "cannot", NULL);
	add(j, JOB_ACCESS, "bench", "open", NULL, NULL);
	add(j, JOB_ACCESS, typed, typed, NULL, NULL);
	add(j, JOB_ANSWERED, "float-height", "", "1: 13.0 2: 15.5", NULL);
	add(j, JOB_SETTING, "mixture-screw", "2", "found", typed);
	add(j, JOB_SETTING, "mixture-screw", "1", "left", typed);
	add(j, JOB_NOTED, typed, NULL, NULL, NULL);
	add(j, JOB_REPAIRED, "renew-gasket", "2", NULL, NULL);
	add(j, JOB_REPAIRED, typed, typed, NULL, NULL);
	add(j, JOB_CLOSED, "watch", typed, NULL, NULL);
	return j;
}

static char *page_of(struct job *j)
{
	struct text t = { 0 };
	struct hs_err err = { 0 };

	assert_int_equal(report_html(j, &t, &err), 0);
	return t.s;
}

/* xmllint reads it as XML: the judgement of another program. */
static void assert_well_formed(const char *page)
{
	FILE *lint = popen("xmllint --nonet --noout - 2>&1", "w");

	assert_non_null(lint);
	assert_int_equal(fwrite(page, 1, strlen(page), lint), strlen(page));
	assert_int_equal(pclose(lint), 0);
}

static int count(const char *page, const char *what)
{
	int n = 0;

	for (const char *s = page; (s = strstr(s, what)); s++)
		n++;
	return n;
}

static void test_page_tells_the_whole_story(void **state)
{
	static const char *const words[] = { "<!DOCTYPE html>", "Two carburettors", "Fuel overflows",
		"stood for months", "typed &quot;3.3&quot;", "3.0 ohm corrected", "could not be read",
		"Opened: carburettors on the bench", "DANGER</strong>: Loose fuel", "Done: Renew bowl gasket",
		"Parts: gasket", "First suspect after each step", "What may still be wrong", "As found",
		"NOT NOTED YET", "Verified after the last repair", "Look again after: 50 km", "WARNING",
		"Open: carburettors on the bench", "CLOSED: watch", "2023-11-14 22:13 UTC", "width=device-width",
		"size:A4" };
	struct job *j = played("could-not-read");
	char *page = page_of(j);

	(void)state;
	for (size_t i = 0; i < sizeof words / sizeof *words; i++)
		if (!strstr(page, words[i]))
			fail_msg("missing: %s in\n%s", words[i], page);
	assert_well_formed(page);
	mem_free(page);
	job_close(j);
}

/* The leads, the coil and the two float heights; the height of 15.5 mm lies to the right of its band. */
static void test_readings_are_drawn_against_their_bands(void **state)
{
	struct job *j = played("x");
	char *page = page_of(j);

	(void)state;
	assert_int_equal(count(page, "<svg class=\"reading\""), 4);
	assert_non_null(strstr(page, "aria-label=\"3 ohm, band "));
	assert_non_null(strstr(page, "aria-label=\"15.5 mm, band "));
	assert_int_equal(count(page, "class=\"outside\""), 2); /* that height, and a setting not noted */
	mem_free(page);
	job_close(j);
}

/* What is typed comes out as text: as many elements and attributes as with a harmless word. */
static void test_hostile_text_is_only_text(void **state)
{
	static const char *const hostile[] = {
		"<script>alert(1)</script>", "\"><img src=x onerror=alert(1)>", "' onload='alert(1)",
		"</style><script>x</script>", "]]><!--", "-->", "&lt;b&gt;&#60;", "<?php ?>", "</svg></html>",
		"\x1b]0;owned\x07\x1b[2J", "\xc2\x9b" "31m", "\xe2\x80\xae" "gnp", "\xef\xbf\xbf\xef\xbf\xbe",
		"\xe2\x80\x8b\xef\xbb\xbf", "javascript:alert(1)", "a\tb\nc\rd", "%s%n%x", "\xf0\x9f\x94\xa7",
	};
	struct job *plain = played("plain");
	char *tame = page_of(plain);

	(void)state;
	for (size_t i = 0; i < sizeof hostile / sizeof *hostile; i++) {
		struct job *j = played(hostile[i]);
		char *page = page_of(j);

		assert_well_formed(page);
		assert_int_equal(count(page, "<"), count(tame, "<"));
		assert_int_equal(count(page, "=\""), count(tame, "=\""));
		assert_int_equal(count(page, "<script") + count(page, "<img") + count(page, "<?"), 0);
		for (const char *s = page; *s; s++)
			assert_true((unsigned char)*s >= 0x20 || *s == '\n');
		assert_null(strstr(page, "\xc2\x9b"));
		assert_null(strstr(page, "\xe2\x80\xae"));
		mem_free(page);
		job_close(j);
	}
	mem_free(tame);
	job_close(plain);
}

/* What each kind may hold in its fields; the hostile text takes the place of one after the other. */
static const struct job_event one_of_each[] = {
	{ .kind = JOB_COMPLAINED, .field = { "flooding" } },
	{ .kind = JOB_TOLD, .field = { "air", "12" } },
	{ .kind = JOB_TOLD, .field = { "history:stored", "yes" } },
	{ .kind = JOB_ANSWERED, .field = { "bowl-sample", "", "rust", "sure", "size-ok" } },
	{ .kind = JOB_ANSWERED, .field = { "coil", "", "3.3", "", "leads-waived" } },
	{ .kind = JOB_SKIPPED, .field = { "bowl-sample", "", "cannot" } },
	{ .kind = JOB_REPAIRED, .field = { "renew-gasket", "2" } },
	{ .kind = JOB_ACCESS, .field = { "bench", "open" } },
	{ .kind = JOB_SETTING, .field = { "mixture-screw", "2", "found", "1 7/8" } },
	{ .kind = JOB_SETTING, .field = { "mixture-screw", "2", "left", "2" } },
	{ .kind = JOB_NOTED, .field = { "a note" } },
	{ .kind = JOB_CLOSED, .field = { "watch", "later", "2026-12-24", "bowl-gasket.leaking 1" } },
	{ .kind = JOB_TOOK_BACK, .field = { "2" } },
	{ .kind = JOB_PUT_BACK, .field = { "2" } },
	{ .kind = JOB_CHANGED, .field = { "2", "answered", "bowl-sample", "", "rust", "sure", "size-ok" } },
	{ .kind = JOB_TIMER, .field = { "15", "bath" } },
};

static void test_hostile_text_in_every_field_of_every_kind(void **state)
{
	static const char *const hostile[] = { "\"><script>alert(1)</script><!--\x1b]0;o\x07\xe2\x80\xae",
					       "' onload='alert(1)' x=\"]]></style>&#60;<img src=x>" };
	struct hs_err err = { 0 };
	int pages = 0;

	(void)state;
	for (size_t k = 0; k < sizeof one_of_each / sizeof *one_of_each; k++)
		for (int f = 0; f < 2 * job_kind_fields(one_of_each[k].kind); f++) {
			struct job_event e = one_of_each[k];
			struct job *j = job_new(kn);
			char *page;

			add(j, JOB_BEGAN, kn->machine, "", "complaint", NULL);
			add(j, JOB_ANSWERED, "bowl-sample", "", "clear", NULL);
			add(j, JOB_SETTING, "mixture-screw", "1", "found", "2");
			e.field[f / 2] = hostile[f % 2];
			assert_int_equal(job_add(j, &e, &err), 0);
			page = page_of(j);
			assert_well_formed(page);
			assert_int_equal(count(page, "<script") + count(page, "<img") + count(page, "<!--"), 0);
			assert_int_equal(count(page, "<style"), count(page, "</style"));
			for (const char *s = page; *s; s++)
				assert_true((unsigned char)*s >= 0x20 || *s == '\n');
			assert_null(strstr(page, "\xe2\x80\xae"));
			mem_free(page);
			job_close(j);
			pages++;
		}
	printf("# %d pages, hostile text in one field each\n", pages);
}

/* Nothing that runs, nothing that is fetched. */
static void test_page_runs_and_fetches_nothing(void **state)
{
	struct job *j = played("x");
	char *page = page_of(j);

	(void)state;
	assert_non_null(strstr(page, "content=\"default-src 'none'; style-src 'unsafe-inline'\""));
	assert_int_equal(count(page, "<script") + count(page, "<link") + count(page, "<img") +
				 count(page, "<iframe") + count(page, "<object") + count(page, "<a ") +
				 count(page, " onload=") + count(page, " onclick="), 0);
	assert_int_equal(count(page, "http://") + count(page, "https://") + count(page, "url("), 0);
	mem_free(page);
	job_close(j);
}

static void test_empty_job_has_a_page(void **state)
{
	struct job *j = job_new(kn);
	char *page;

	(void)state;
	add(j, JOB_BEGAN, kn->machine, kn->digest, "bench", NULL);
	page = page_of(j);
	assert_non_null(strstr(page, "None: a bench run."));
	assert_well_formed(page);
	mem_free(page);
	job_close(j);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_page_tells_the_whole_story),
		cmocka_unit_test(test_readings_are_drawn_against_their_bands),
		cmocka_unit_test(test_hostile_text_is_only_text),
		cmocka_unit_test(test_hostile_text_in_every_field_of_every_kind),
		cmocka_unit_test(test_page_runs_and_fetches_nothing),
		cmocka_unit_test(test_empty_job_has_a_page),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
