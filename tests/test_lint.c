/* Judging trees: the shipped ones, a sound one, and one thing made wrong in it after the other. */
#include <math.h>
#include <setjmp.h>
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
#include "report/apart.h"
#include "report/lint.h"
#include "report/show.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define SOUND "tests/data/lint/sound.xml"

static const char *in_root(const char *path)
{
	static char full[1024];
	const char *root = getenv("HALFSPLIT_ROOT");

	snprintf(full, sizeof full, "%s/%s", root ? root : ".", path);
	return full;
}

static char *whole(const char *path)
{
	struct hs_err err = { 0 };
	size_t size;
	char *all = file_read(in_root(path), 1 << 20, &size, &err);

	if (!all)
		fail_msg("%s", err.text);
	return all;
}

static struct kn_knowledge *load(const char *path, const char *machine)
{
	struct hs_err err = { 0 };
	struct kn_knowledge *kn = kn_load(in_root(path), machine, &err);

	if (!kn)
		fail_msg("%s:%d: %s", err.file, err.line, err.text);
	return kn;
}

/* ---- the shipped trees ---------------------------------------------------------------------- */

static void test_shipped_trees_lint_clean(void **state)
{
	static const char *const machines[] = { "four", "twin", "single", "generic-twin" };
	struct hs_err err = { 0 };
	struct text out = { 0 };
	int faults = report_lint(in_root("trees"), &out, &err);

	(void)state;
	if (faults)
		fail_msg("%d faults: %s%s", faults, text_str(&out), err.text);
	for (size_t i = 0; i < COUNT(machines); i++) {
		char line[80];

		snprintf(line, sizeof line, "\n%s: ", machines[i]);
		assert_non_null(strstr(text_str(&out), line));
	}
	text_free(&out);
}

static void test_figures_in_docs_are_current(void **state)
{
	struct hs_err err = { 0 };
	struct text out = { 0 };
	char *doc = whole("docs/diagnosability.md");

	(void)state;
	assert_int_equal(report_figures(in_root("trees"), &out, &err), 0);
	assert_true(out.len > 4000);
	if (!strstr(doc, text_str(&out)))
		fail_msg("docs/diagnosability.md is out of date: end it with `halfsplit lint "
			 "--figures`");
	mem_free(doc);
	text_free(&out);
}

/* ---- one thing wrong at a time -------------------------------------------------------------- */

static char made[256];

/* The sound tree with `what` replaced by `with`, linted; the number of faults. */
static int lint_with(const char *what, const char *with, struct text *out)
{
	char *all = whole(SOUND), *at = what ? strstr(all, what) : NULL;
	const char *tmp = getenv("TMPDIR");
	struct hs_err err = { 0 };
	int fd, faults;

	assert_true(!what || at);
	snprintf(made, sizeof made, "%s/halfsplit-lint-XXXXXX.xml",
		 tmp && strlen(tmp) < 200 ? tmp : "/tmp");
	fd = mkstemps(made, 4);
	assert_true(fd >= 0);
	if (at) {
		assert_int_equal(file_write_all(fd, all, (size_t)(at - all), &err), 0);
		assert_int_equal(file_write_all(fd, with, strlen(with), &err), 0);
		at += strlen(what);
	} else {
		at = all;
	}
	assert_int_equal(file_write_all(fd, at, strlen(at), &err), 0);
	close(fd);
	faults = report_lint(made, out, &err);
	if (faults < 0)
		fail_msg("%s instead of %s: line %d: %s", with, what, err.line, err.text);
	unlink(made);
	mem_free(all);
	return faults;
}

static void test_sound_tree_has_neither_fault_nor_remark(void **state)
{
	struct text out = { 0 };

	(void)state;
	assert_int_equal(lint_with(NULL, NULL, &out), 0);
	assert_string_equal(text_str(&out), "lamp: 1 symptoms, 0 faults to mend, 0 remarks.\n");
	text_free(&out);
}

struct wrong { const char *what, *with, *rule; int faults; };

static const struct wrong wrongs[] = {
	/* Its only cause is of a part that the machine does not have. */
	{ "<part id=\"cell\"",
	  "<option id=\"gas\" title=\"gas\"/><part id=\"mantle\" title=\"mantle\" "
	  "needs=\"gas\"><mode id=\"torn\" title=\"torn\" weight=\"1\"/></part><symptom id=\"dim\" "
	  "title=\"Dim\" base=\".01\"><branch title=\"Gas\"><cause mode=\"mantle.torn\" "
	  "p=\".5\"/></branch>"
	  "</symptom><part id=\"cell\"",
	  "no-cause", 1 },
	/* A vote too weak to find anything: then nothing tells the cell from a healthy lamp, and
	 * the check tells nothing apart. */
	{ "<when mode=\"cell.flat\" p=\".9\"/>", "<when mode=\"cell.flat\" p=\".2\"/>",
	  "not-reached", 2 },
	{ "<when mode=\"cell.flat\" p=\".9\"/>", "<when mode=\"cell.flat\" p=\".2\"/>",
	  "never-pays", 2 },
	{ "<clears mode=\"bulb.blown\"/>", "<clears mode=\"wire.broken\"/>", "no-remedy", 1 },
	/* The nominal figure in an answer that accuses. */
	{ "side=\"below\"", "from=\"12.5\" to=\"13\"", "band", 1 },
	{ "Overnight.", "Drain the bowl of petrol first.", "no-caution", 1 },
	{ "Hold the bulb against the light.", "Set the gap tester and look for sparks.",
	  "no-caution", 1 },
	{ "<check id=\"wire-pull\" title=\"Pull the wire\"",
	  "<check energy=\"running\" id=\"wire-pull\" title=\"Pull the wire\"", "no-caution", 1 },
	{ "title=\"loose\"",
	  "title=\"loose at one end or the other, or at both, as far as can be told\"", "too-long",
	  1 },
	{ "<verify check=\"volts\"/>", "", "no-verification", 1 },
	{ "<access id=", "<tool id=\"spade\" title=\"spade\"/><access id=", "unused", 1 },
	{ "<part id=\"cell\"", "<part id=\"fuse\" title=\"fuse\"/><part id=\"cell\"", "unused", 1 },
};

static void test_every_rule_speaks_when_broken(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(wrongs); i++) {
		struct text out = { 0 };
		char rule[40];
		int faults;

		faults = lint_with(wrongs[i].what, wrongs[i].with, &out);
		snprintf(rule, sizeof rule, "FAULT [%s]", wrongs[i].rule);
		if (faults != wrongs[i].faults || !strstr(text_str(&out), rule))
			fail_msg("%s: %d faults, %d expected:\n%s", wrongs[i].rule, faults,
				 wrongs[i].faults, text_str(&out));
		text_free(&out);
	}
}

/* Two more parts with one check and one remedy between them. */
static void test_family_is_named_when_nothing_splits_it(void **state)
{
	static const char more[] = "<part id=\"glass\" title=\"glass\"><mode id=\"dirty\" "
				   "title=\"dirty\" weight=\"2\"/></part>"
				   "<part id=\"lens\" title=\"lens\"><mode id=\"dull\" "
				   "title=\"dull\" weight=\"2\"/></part>"
				   "<check id=\"wipe\" title=\"Wipe it\" access=\"on-bike\" "
				   "minutes=\"1\"><how>Wipe.</how>"
				   "<outcome id=\"black\" title=\"black\" base=\".1\"><when "
				   "mode=\"glass.dirty\" p=\".9\"/>"
				   "<when mode=\"lens.dull\" p=\".8\"/></outcome><outcome "
				   "id=\"no\" title=\"no\" rest=\"yes\"/>"
				   "</check><remedy id=\"polish\" title=\"Polish\" minutes=\"1\" "
				   "access=\"on-bike\"><step>Both.</step>"
				   "<clears mode=\"glass.dirty\"/><clears "
				   "mode=\"lens.dull\"/><verify check=\"wipe\"/>"
				   "<proof>Light.</proof></remedy><part id=\"cell\"";
	struct text out = { 0 };

	(void)state;
	assert_int_equal(lint_with("<part id=\"cell\"", more, &out), 0);
	if (!strstr(text_str(&out), "remark [family] lamp: no check tells these 2 apart: "
				    "glass.dirty, lens.dull"))
		fail_msg("%s", text_str(&out));
	text_free(&out);
}

/* A torch without the figure of the lamp: its cell is not found, which is a fault; that nothing
 * verifies charging it comes of the figure, which is a remark. */
static void test_missing_figure_is_a_remark_when_another_machine_has_it(void **state)
{
	struct text out = { 0 };

	(void)state;
	assert_int_equal(lint_with("<part id=\"bulb\"",
				   "<machine id=\"torch\" title=\"a torch\"/><part id=\"bulb\"", &out),
			 1);
	assert_non_null(strstr(text_str(&out), "FAULT [not-reached] torch: "));
	assert_non_null(strstr(text_str(&out), "remark [no-verification] torch: remedy charge is "));
	text_free(&out);
}

/* ---- figures by hand ------------------------------------------------------------------------ */

/* The shares of black are .1 when nothing is wrong and .9 when the bulb is blown: they differ by
 * .8. */
static void test_difference_is_total_variation(void **state)
{
	struct kn_knowledge *kn = load(SOUND, NULL);
	struct apart a;

	(void)state;
	apart_make(&a, kn, APART_EVERY_CHECK);
	assert_int_equal(a.ncauses, 4);
	assert_true(fabs(apart_best(&a, 0, 1) - .8) < 1e-12);
	assert_true(fabs(apart_best(&a, 1, 2) - .8) < 1e-12);
	assert_true(fabs(a.cause[1].weight - 6) < 1e-12);
	apart_free(&a);
	kn_free(kn);
}

/* Weights 6, 3, 1 and .5 for all: shares .6, .3, .1.  Without tools and without the meter nothing
 * is lost here; then the wire is made to look like the cell by leaving only the meter to split
 * them. */
static void test_figures_by_hand(void **state)
{
	struct kn_knowledge *kn = load(SOUND, NULL);
	struct apart_figures f;
	struct apart a;
	int dark = kn_check_by_id(kn, "dark");

	(void)state;
	apart_make(&a, kn, APART_EVERY_CHECK);
	apart_figures(&a, dark, &f);
	assert_int_equal(f.ncauses, 3);
	assert_int_equal(f.largest, 1);
	assert_true(fabs(f.detected - 1) < 1e-12);
	assert_true(fabs(f.to_one - 1) < 1e-12);
	/* As if no check told wire and cell apart, nor the cell from nothing wrong. */
	a.best[2 * 4 + 3] = a.best[3 * 4 + 2] = .4;
	a.best[0 * 4 + 3] = .49;
	apart_figures(&a, dark, &f);
	assert_int_equal(f.largest, 2);
	assert_true(fabs(f.detected - .9) < 1e-12);
	assert_true(fabs(f.to_one - .6) < 1e-12);
	assert_true(fabs(f.to_three - 1) < 1e-12);
	apart_free(&a);
	kn_free(kn);
}

/* ---- show ----------------------------------------------------------------------------------- */

static void narrow(const char *text, const char *what)
{
	for (const char *end; (end = strchr(text, '\n')); text = end + 1)
		if (end - text > 80)
			fail_msg("%s: %.*s", what, (int)(end - text), text);
}

static void count_dot(const char *dot, int *quotes, int *braces)
{
	*quotes = *braces = 0;
	for (; *dot; dot++) {
		if (*dot == '\\' && dot[1])
			dot++;
		else if (*dot == '"')
			++*quotes;
		else if (*quotes % 2 == 0)
			*braces += *dot == '{' ? 1 : *dot == '}' ? -1 : 0;
	}
}

static void show_one(const struct kn_knowledge *kn, int symptom)
{
	const struct kn_check *c = &kn->checks[symptom];
	struct hs_err err = { 0 };
	struct text text = { 0 }, dot = { 0 };
	int quotes, braces, edges = 0, causes = 0;

	assert_int_equal(report_show(kn, symptom, NULL, SHOW_TEXT, &text, &err), 0);
	assert_int_equal(report_show(kn, symptom, NULL, SHOW_DOT, &dot, &err), 0);
	narrow(text_str(&text), c->id);
	assert_non_null(strstr(text_str(&text), c->title));
	count_dot(text_str(&dot), &quotes, &braces);
	assert_int_equal(quotes % 2, 0);
	assert_int_equal(braces, 0);
	for (int b = 0; b < c->nbranches; b++)
		causes += c->branches[b].nmodes;
	for (const char *at = strstr(text_str(&dot), "[label=\""); at; at = strstr(at + 1, "[label="
											   "\""))
		edges++;
	assert_int_equal(edges, causes);
	text_free(&text);
	text_free(&dot);
}

static void test_every_symptom_is_shown(void **state)
{
	static const char *const machines[] = { "four", "single" };

	(void)state;
	for (size_t m = 0; m < COUNT(machines); m++) {
		struct kn_knowledge *kn = load("trees", machines[m]);

		for (int s = 0; s < kn->nsymptoms; s++)
			show_one(kn, kn->symptoms[s]);
		kn_free(kn);
	}
}

static void test_small_tree_is_shown_whole(void **state)
{
	static const char *const lines[] = {
		"It is dark  [dark, lamp]\n", "any of\n|\n+- Everything (any of)\n",
		"   +- bulb: blown\n   |    6 per 1000 jobs, gives it 50 %, now ",
		"   |    looked at by: bulb-look\n", "   +- cell: flat\n",
	};
	struct kn_knowledge *kn = load(SOUND, NULL);
	struct hs_err err = { 0 };
	struct text out = { 0 };

	(void)state;
	assert_int_equal(report_show(kn, kn_check_by_id(kn, "dark"), NULL, SHOW_TEXT, &out, &err), 0);
	for (size_t i = 0; i < COUNT(lines); i++)
		if (!strstr(text_str(&out), lines[i]))
			fail_msg("not shown: %s\n%s", lines[i], text_str(&out));
	text_free(&out);
	kn_free(kn);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_shipped_trees_lint_clean),
		cmocka_unit_test(test_figures_in_docs_are_current),
		cmocka_unit_test(test_sound_tree_has_neither_fault_nor_remark),
		cmocka_unit_test(test_every_rule_speaks_when_broken),
		cmocka_unit_test(test_family_is_named_when_nothing_splits_it),
		cmocka_unit_test(test_missing_figure_is_a_remark_when_another_machine_has_it),
		cmocka_unit_test(test_difference_is_total_variation),
		cmocka_unit_test(test_figures_by_hand),
		cmocka_unit_test(test_every_symptom_is_shown),
		cmocka_unit_test(test_small_tree_is_shown_whole),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
