/* What leaves the program: JSON that a strict reader accepts, sheets of 80 columns, nothing that a
 * terminal could trip over.
 *
 * The reader below follows the grammar of RFC 8259 and accepts nothing else; it is checked against
 * samples of that RFC (section 13) and wrong ones first. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "base/mem.h"
#include "report/report.h"
#include "job_aid.h"

/* ---- a strict reader of JSON ---------------------------------------------------------------------- */

static const char *value(const char *s);

static const char *blank(const char *s)
{
	while (s && *s && strchr(" \t\n\r", *s))
		s++;
	return s;
}

static const char *string(const char *s)
{
	if (*s++ != '"')
		return NULL;
	for (; *s != '"'; s++) {
		if ((unsigned char)*s < 0x20)
			return NULL;
		if (*s != '\\')
			continue;
		s++;
		if (*s == 'u') {
			if (strspn(s + 1, "0123456789abcdefABCDEF") < 4)
				return NULL;
			s += 4;
		} else if (!*s || !strchr("\"\\/bfnrt", *s)) {
			return NULL;
		}
	}
	return s + 1;
}

static const char *digits(const char *s)
{
	size_t n = strspn(s, "0123456789");

	return n ? s + n : NULL;
}

static const char *number(const char *s)
{
	s += *s == '-';
	s = *s == '0' ? s + 1 : digits(s);
	if (s && *s == '.')
		s = digits(s + 1);
	if (s && (*s == 'e' || *s == 'E')) {
		s++;
		s = digits(s + (*s == '+' || *s == '-'));
	}
	return s;
}

static const char *members(const char *s, char end, bool keys)
{
	s = blank(s + 1);
	if (*s == end)
		return s + 1;
	for (;;) {
		if (keys) {
			s = blank(string(blank(s)));
			if (!s || *s++ != ':')
				return NULL;
		}
		s = blank(value(s));
		if (!s || (*s != ',' && *s != end))
			return NULL;
		if (*s++ == end)
			return s;
	}
}

static const char *value(const char *s)
{
	s = blank(s);
	if (!s)
		return NULL;
	if (*s == '{')
		return members(s, '}', true);
	if (*s == '[')
		return members(s, ']', false);
	if (*s == '"')
		return string(s);
	if (strncmp(s, "null", 4) == 0 || strncmp(s, "true", 4) == 0)
		return s + 4;
	return strncmp(s, "false", 5) == 0 ? s + 5 : number(s);
}

static bool well_formed(const char *s)
{
	s = blank(value(s));
	return s && !*s;
}

static void test_reader_is_strict(void **state)
{
	static const char *const good[] = { "{\"Image\":{\"Width\":800,\"IDs\":[116,943],\"Animated\":false}}",
		"[37.7668, -122.3959, 0, 1e5, -0.1E-2, \"\\u00e9\", null]", "\"\"", " [ ] ", "{}" };
	static const char *const bad[] = { "[1,]", "{\"a\":1,}", "{a:1}", "[01]", "[1.]", "[.5]", "[nan]", "",
		"\"\t\"", "\"\\x\"", "[1 2]", "{\"a\" 1}", "[", "1 1", "'a'", "[+1]" };

	(void)state;
	for (size_t i = 0; i < sizeof good / sizeof *good; i++)
		assert_true(well_formed(good[i]));
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		assert_false(well_formed(bad[i]));
}

/* The number behind "key": from `from` on; *from moves behind it. NAN when there is none. */
static double next_number(const char **from, const char *key)
{
	char quoted[64];
	const char *at;

	snprintf(quoted, sizeof quoted, "\"%s\":", key);
	at = *from ? strstr(*from, quoted) : NULL;
	*from = at ? at + strlen(quoted) : NULL;
	return at ? strtod(*from, NULL) : NAN;
}

/* ---- a job to report on ------------------------------------------------------------------------------ */

static void add(struct job *j, enum job_kind kind, const char *a, const char *b, const char *c,
		const char *d)
{
	add_at(j, kind, 1700000000, a, b, c, d);
}

static struct job *played(const char *note)
{
	struct job *j = job_new(kn);

	add(j, JOB_BEGAN, kn->machine, kn->digest, "complaint", NULL);
	add(j, JOB_COMPLAINED, "flooding", NULL, NULL, NULL);
	add(j, JOB_TOLD, "history:stored", "yes", NULL, NULL);
	add(j, JOB_ANSWERED, "leads", "", "0.3", NULL);
	add(j, JOB_ANSWERED, "coil", "", "3.3", NULL);
	add(j, JOB_ANSWERED, "bowl-wet", "", "1:dry 2:wet", NULL);
	add(j, JOB_SKIPPED, "bowl-sample", "", "cannot", NULL);
	add(j, JOB_ACCESS, "bench", "open", NULL, NULL);
	add(j, JOB_ANSWERED, "float-height", "", "1: 13.0 2: 15.5", NULL);
	add(j, JOB_SETTING, "mixture-screw", "2", "found", "1 7/8 turns");
	add(j, JOB_NOTED, note, NULL, NULL, NULL);
	return j;
}

static char *json_of(struct job *j)
{
	struct text t = { 0 };
	struct hs_err err = { 0 };

	assert_int_equal(report_rank_json(j, &t, &err), 0);
	assert_true(well_formed(text_str(&t)));
	return t.s;
}

static char *sheet_of(struct job *j)
{
	struct text t = { 0 };
	struct hs_err err = { 0 };

	assert_int_equal(report_text(j, &t, &err), 0);
	return t.s;
}

/* ---- ranking -------------------------------------------------------------------------------------------- */

static void test_rank_json_has_what_was_promised(void **state)
{
	static const char *const keys[] = { "suspects", "part", "mode", "position", "title", "probability",
		"by_position", "left_out", "evidence", "check", "raw", "value", "unit", "u", "verdict", "outcome",
		"counts", "next", "others", "kind", "id", "minutes", "expected_total", "saves", "once_more",
		"why", "machine",
		"complaints", "holds", "number_of_faults" };
	struct job *j = played("a note");
	char *json = json_of(j), quoted[64];

	(void)state;
	for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
		snprintf(quoted, sizeof quoted, "\"%s\": ", keys[i]);
		assert_non_null(strstr(json, quoted));
	}
	assert_non_null(strstr(json, "\"complaints\": [\"flooding\"]"));
	assert_non_null(strstr(json, "\"holds\": [\"fuel-loose\"]"));
	mem_free(json);
	job_close(j);
}

/* The numbers agree with the suspects they come from, and with each other. */
static void test_rank_json_numbers_add_up(void **state)
{
	struct job *j = played("a note");
	struct hs_err err = { 0 };
	char *json = json_of(j);
	const char *at = json, *evidence = strstr(json, "\"evidence\"");
	double last = 1, sum = 0, expected = 0, p;
	int n = 0;

	(void)state;
	while (p = next_number(&at, "probability"), at && at < evidence) {
		assert_true(p >= 0 && p <= last);
		last = p;
		sum += p;
		n++;
	}
	assert_true(n >= 3);
	for (int m = 0; m < kn->nmodes; m++)
		expected += job_view(j, &err)->suspects->mode_now[m];
	assert_true(fabs(sum - expected) < n * 5e-4 + 1e-9); /* the least are left out */
	at = strstr(json, "\"number_of_faults\"");
	sum = next_number(&at, "none");
	sum += next_number(&at, "one");
	sum += next_number(&at, "two");
	sum += next_number(&at, "three_or_more");
	assert_true(fabs(sum - 1) < 1e-9);
	at = json;
	p = next_number(&at, "left_out");
	assert_true(p >= 0 && p <= 1e-4);
	mem_free(json);
	job_close(j);
}

static void test_rank_json_shows_raw_and_corrected(void **state)
{
	struct job *j = played("a note");
	char *json = json_of(j);
	const char *coil = strstr(json, "\"check\": \"coil\""), *height, *at = coil;

	(void)state;
	assert_non_null(coil);
	assert_memory_equal(strstr(coil, "\"raw\""), "\"raw\": \"3.3\"", 12);
	assert_true(fabs(next_number(&at, "value") - 3) < 1e-12); /* 3.3 less leads of 0.3 */
	assert_memory_equal(strstr(coil, "\"unit\""), "\"unit\": \"ohm\"", 13);
	assert_memory_equal(strstr(coil, "\"verdict\""), "\"verdict\": \"inside\"", 19);
	height = strstr(json, "\"check\": \"float-height\"");
	height = strstr(height + 1, "\"check\": \"float-height\"");
	assert_non_null(height); /* one object a place */
	assert_memory_equal(strstr(height, "\"position\""), "\"position\": \"2\"", 15);
	assert_memory_equal(strstr(height, "\"verdict\""), "\"verdict\": \"outside\"", 20);
	assert_memory_equal(strstr(height, "\"outcome\""), "\"outcome\": \"high\"", 17);
	mem_free(json);
	job_close(j);
}

/* ---- the sheet -------------------------------------------------------------------------------------------- */

static void assert_eighty_columns(const char *s)
{
	while (*s) {
		size_t n = strcspn(s, "\n");
		char line[1000];

		assert_true(n < sizeof line);
		snprintf(line, sizeof line, "%.*s", (int)n, s);
		assert_true(text_width(line) <= 80);
		s += n + (s[n] == '\n');
	}
}

static void test_sheet_tells_the_whole_story(void **state)
{
	static const char *const words[] = { "Two carburettors", "Fuel overflows", "stood for months",
		"typed \"3.3\"", "3.30 ohm as shown", "3.0 ohm corrected", "inside", "outside",
		"could not be done", "Opened: carburettors on the bench", "1 7/8 turns   NOT YET",
		"What may be wrong", "DANGER: Loose fuel", "Note: a note", "Next step:",
		"Open: carburettors on the bench" };
	struct job *j = played("a note");
	char *sheet = sheet_of(j);

	(void)state;
	for (size_t i = 0; i < sizeof words / sizeof *words; i++)
		if (!strstr(sheet, words[i]))
			fail_msg("missing: %s in\n%s", words[i], sheet);
	assert_eighty_columns(sheet);
	mem_free(sheet);
	add(j, JOB_REPAIRED, "renew-gasket", "2", NULL, NULL);
	add(j, JOB_ANSWERED, "bowl-wet", "2", "dry", NULL);
	add(j, JOB_ANSWERED, "flooding", "", "no", NULL);
	add(j, JOB_CLOSED, "proven", "dry for an hour", NULL, NULL);
	sheet = sheet_of(j);
	assert_non_null(strstr(sheet, "DONE: Renew bowl gasket, carburettor 2. Parts: gasket."));
	assert_non_null(strstr(sheet, "CLOSED: proven: dry for an hour"));
	assert_non_null(strstr(sheet, "Complaint repeated: yes, and it is gone."));
	assert_non_null(strstr(sheet, "WARNING: No flames."));
	assert_non_null(strstr(sheet, "Look again after: 50 km."));
	assert_null(strstr(sheet, "Next step:"));
	assert_eighty_columns(sheet);
	mem_free(sheet);
	job_close(j);
}

static void test_taken_back_is_not_on_the_sheet(void **state)
{
	struct job *j = played("a note");
	struct hs_err err = { 0 };
	char *sheet;

	(void)state;
	add(j, JOB_ACCESS, "bench", "closed", NULL, NULL);
	assert_int_equal(job_undo(j, NULL, &err), 0);
	assert_int_equal(job_undo(j, NULL, &err), 0);
	sheet = sheet_of(j);
	assert_null(strstr(sheet, "Closed again"));
	assert_null(strstr(sheet, "a note"));
	mem_free(sheet);
	job_close(j);
}

/* Escape sequences, controls, a line turned round, broken tags: nothing of it reaches the reader raw. */
static void test_hostile_text_is_made_harmless(void **state)
{
	struct job *j = played("\x1b]0;owned\x07 \x1b[2J \xe2\x80\xae tnirp \xc2\x9b \"}],<script>\x7f");
	char *sheet = sheet_of(j), *json;

	(void)state;
	for (const char *s = sheet; *s; s++)
		assert_true((unsigned char)*s >= 0x20 || *s == '\n');
	assert_null(strstr(sheet, "\xe2\x80\xae"));
	assert_null(strstr(sheet, "\xc2\x9b"));
	assert_null(strchr(sheet, 0x7f));
	assert_eighty_columns(sheet);
	mem_free(sheet);
	add(j, JOB_ANSWERED, "bowl-sample", "", "\x1b[31m\"rust\\", NULL);
	json = json_of(j);
	assert_null(strchr(json, 0x1b));
	mem_free(json);
	job_close(j);
}

static void test_other_trees_are_said(void **state)
{
	struct job *j = job_new(kn);
	char *sheet;

	(void)state;
	add(j, JOB_BEGAN, kn->machine, "0000000000000000", "bench", NULL);
	sheet = sheet_of(j);
	assert_non_null(strstr(sheet, "The trees have changed"));
	assert_non_null(strstr(sheet, "bench run"));
	mem_free(sheet);
	job_close(j);
}

static void test_rank_for_a_person_is_eighty_columns(void **state)
{
	struct job *j = played("a note");
	struct text t = { 0 };
	struct hs_err err = { 0 };

	(void)state;
	assert_int_equal(report_rank_text(j, &t, &err), 0);
	assert_non_null(strstr(text_str(&t), "Next: "));
	assert_non_null(strstr(text_str(&t), "bowl gasket"));
	assert_eighty_columns(text_str(&t));
	text_free(&t);
	job_close(j);
}

static void test_report_json_has_the_whole_job(void **state)
{
	static const char *const keys[] = { "job", "machine", "begun", "changed", "state", "complaints", "evidence",
		"suspects", "left_out", "repairs", "settings", "verification", "log", "open", "next", "trees_now" };
	struct job *j = played("note \x1b\"}");
	struct text t = { 0 };
	struct hs_err err = { 0 };
	char quoted[64];

	(void)state;
	add(j, JOB_REPAIRED, "renew-gasket", "2", NULL, NULL);
	assert_int_equal(report_json(j, &t, &err), 0);
	assert_true(well_formed(text_str(&t)));
	for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
		snprintf(quoted, sizeof quoted, "\"%s\": ", keys[i]);
		if (!strstr(text_str(&t), quoted))
			fail_msg("no %s in\n%s", keys[i], text_str(&t));
	}
	assert_non_null(strstr(text_str(&t), "\"remedy\": \"renew-gasket\""));
	assert_non_null(strstr(text_str(&t), "\"found\": \"1 7/8 turns\", \"left\": null"));
	assert_non_null(strstr(text_str(&t), "\"begun\": \"2023-11-14T22:13:20Z\""));
	assert_null(strchr(text_str(&t), 0x1b));
	text_free(&t);
	job_close(j);
}

/* ---- lists ------------------------------------------------------------------------------------------------- */

static void test_lists_are_arrays_with_id_and_title(void **state)
{
	static const char *const first[] = { "\"id\": \"pair\", \"title\": \"Two carburettors\"",
		"\"id\": \"flooding\", \"title\": \"Fuel overflows\"", "\"id\": \"bowl-wet\"",
		"\"id\": \"float-needle.worn\"" };
	const char *root = getenv("HALFSPLIT_ROOT");
	struct hs_err err = { 0 };
	char path[4096];

	(void)state;
	snprintf(path, sizeof path, "%s/tests/data/job/small.xml", root ? root : ".");
	for (int what = REPORT_MACHINES; what <= REPORT_SUSPECTS; what++) {
		struct text t = { 0 };

		assert_int_equal(report_list((enum report_list)what, kn, path, true, &t, &err), 0);
		assert_true(well_formed(text_str(&t)));
		assert_int_equal(text_str(&t)[0], '[');
		assert_non_null(strstr(text_str(&t), first[what]));
		text_clear(&t);
		assert_int_equal(report_list((enum report_list)what, kn, path, false, &t, &err), 0);
		assert_eighty_columns(text_str(&t));
		text_free(&t);
	}
}

static void test_list_of_machines_that_cannot_be_read(void **state)
{
	struct text t = { 0 };
	struct hs_err err = { 0 };

	(void)state;
	assert_int_equal(report_list(REPORT_MACHINES, NULL, "/no/such/folder", true, &t, &err), -1);
	assert_int_not_equal(err.code, HS_OK);
	text_free(&t);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_reader_is_strict),
		cmocka_unit_test(test_rank_json_has_what_was_promised),
		cmocka_unit_test(test_rank_json_numbers_add_up),
		cmocka_unit_test(test_rank_json_shows_raw_and_corrected),
		cmocka_unit_test(test_sheet_tells_the_whole_story),
		cmocka_unit_test(test_taken_back_is_not_on_the_sheet),
		cmocka_unit_test(test_hostile_text_is_made_harmless),
		cmocka_unit_test(test_other_trees_are_said),
		cmocka_unit_test(test_rank_for_a_person_is_eighty_columns),
		cmocka_unit_test(test_report_json_has_the_whole_job),
		cmocka_unit_test(test_lists_are_arrays_with_id_and_title),
		cmocka_unit_test(test_list_of_machines_that_cannot_be_read),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
