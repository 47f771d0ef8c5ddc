/* The fault tree of a symptom as a page, and its figures. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <libxml/parser.h>

#include "fixture.h"
#include "report/show.h"

static struct text shown(const struct kn_knowledge *kn, int symptom, struct job *j, enum show_form form)
{
	struct text out = {0};
	struct hs_err err = {0};

	if (report_show(kn, symptom, j, form, &out, &err) != 0)
		fail_msg("%s", err.text);
	return out;
}

static void has(const struct text *t, const char *what)
{
	if (!strstr(text_str(t), what))
		fail_msg("not there: %s\n%s", what, text_str(t));
}

/* By hand.  a .1 and b .2: .02.  Two of e .2, c .3, d .2: .06 + .04 + .06 - 2 * .012 = .136.
 * Either: 1 - .98 * .864 = .15328. */
static void test_figures_when_branches_are_joined_in_three_ways(void **state)
{
	struct kn_knowledge *kn = fixture_trees("tests/data/show/gates.xml", NULL);
	struct text t;

	(void)state;
	assert_non_null(kn);
	t = shown(kn, kn_check_by_id(kn, "stops"), NULL, SHOW_FIGURES);
	has(&t, "Probability of the top event: 0.15328 of all jobs");
	has(&t, "Minimal cut sets: 4\n");
	has(&t, "     0.06  e: fifth + c: third\n");
	has(&t, "     0.02  a: first <of> \"all\" + b: second\n");
	/* Birnbaum of b: .1 * .864; its one set: .02 / .15328; without it .136 is left. */
	has(&t, "      0.2    0.0864  0.1305       0.1127  b: second\n");
	text_free(&t);
	kn_free(kn);
}

/* All branches of the shipped trees are OR: 1 - product of (1 - q). */
static double any_of(const struct kn_knowledge *kn, const struct kn_check *c)
{
	double none = 1;

	for (int b = 0; b < c->nbranches; b++)
		for (int i = 0; i < c->branches[b].nmodes; i++) {
			double weight = 0;

			for (int f = 1; f < kn->nfaults; f++)
				if (kn->faults[f].mode == c->branches[b].modes[i])
					weight += kn->faults[f].weight;
			none *= 1 - weight / 1000 * c->branches[b].p[i];
		}
	return 1 - none;
}

static void page_is_sound(const struct text *page, const struct kn_knowledge *kn, const struct kn_check *c)
{
	xmlDocPtr doc = xmlReadMemory(text_str(page), (int)page->len, "page", NULL,
				      XML_PARSE_NONET | XML_PARSE_NOERROR);

	if (!doc)
		fail_msg("%s: not well-formed", c->id);
	xmlFreeDoc(doc);
	assert_null(strstr(text_str(page), "<script"));
	assert_null(strstr(text_str(page), "http://"));
	assert_null(strstr(text_str(page), "https://"));
	assert_null(strstr(text_str(page), "nan"));
	for (int b = 0; b < c->nbranches; b++)
		for (int i = 0; i < c->branches[b].nmodes; i++) {
			const char *part = kn->parts[kn->modes[c->branches[b].modes[i]].part].title;
			char word[16];

			snprintf(word, sizeof word, "%.*s", (int)strcspn(part, " "), part);
			has(page, word);
		}
}

static void test_page_and_figures_when_any_symptom_is_shown(void **state)
{
	static const char *const machines[] = {"four", "twin", "single", "generic-twin"};

	(void)state;
	for (int m = 0; m < 4; m++) {
		struct kn_knowledge *kn = fixture_trees("trees", machines[m]);

		assert_non_null(kn);
		for (int s = 0; s < kn->nsymptoms; s++) {
			const struct kn_check *c = &kn->checks[kn->symptoms[s]];
			struct text page = shown(kn, kn->symptoms[s], NULL, SHOW_HTML),
				    figures = shown(kn, kn->symptoms[s], NULL, SHOW_FIGURES);
			double top = strtod(strstr(text_str(&figures), "event: ") + 7, NULL);

			page_is_sound(&page, kn, c);
			fixture_near(top, any_of(kn, c), 1e-5 * top);
			text_free(&page);
			text_free(&figures);
		}
		kn_free(kn);
	}
}

static void test_text_is_escaped_when_it_looks_like_a_tag(void **state)
{
	struct kn_knowledge *kn = fixture_trees("tests/data/show/gates.xml", NULL);
	struct text page;

	(void)state;
	assert_non_null(kn);
	page = shown(kn, kn_check_by_id(kn, "stops"), NULL, SHOW_HTML);
	has(&page, "a: first &lt;of&gt;");
	has(&page, ">&amp;<");                  /* all of */
	has(&page, ">\xe2\x89\xa5" "2<");       /* at least two */
	text_free(&page);
	kn_free(kn);
}

static void test_weights_are_the_jobs_when_one_is_given(void **state)
{
	struct kn_knowledge *kn = fixture_trees("trees", "four");
	struct job *j;
	struct hs_err err = {0};
	struct job_understood u;
	struct text page, text;

	(void)state;
	assert_non_null(kn);
	j = job_new(kn);
	job_add(j, &(struct job_event){.kind = JOB_BEGAN, .field = {"four", kn->digest, "complaint"}}, &err);
	job_add(j, &(struct job_event){.kind = JOB_COMPLAINED, .field = {"runs-out-recovers"}}, &err);
	assert_int_equal(job_answer(j, &(struct job_answer){.check = kn_check_by_id(kn, "cap-at-failure"),
							    .place = KN_NONE, .text = "1"}, &u, &err), JOB_OK);
	page = shown(kn, kn_check_by_id(kn, "runs-out-recovers"), j, SHOW_HTML);
	text = shown(kn, kn_check_by_id(kn, "runs-out-recovers"), j, SHOW_TEXT);
	has(&page, "Now: as job");
	has(&text, "+- tank vent: blocked, or its hose kinked\n|  |    9 per 1000 jobs, gives it 85 %, now 4");
	text_free(&page);
	text_free(&text);
	job_close(j);
	kn_free(kn);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_figures_when_branches_are_joined_in_three_ways),
		cmocka_unit_test(test_page_and_figures_when_any_symptom_is_shown),
		cmocka_unit_test(test_text_is_escaped_when_it_looks_like_a_tag),
		cmocka_unit_test(test_weights_are_the_jobs_when_one_is_given),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
