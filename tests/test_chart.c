/* Charts: what they promise against the exact optimum and against jobs played by hand. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "base/file.h"
#include "fixture.h"
#include "plan/bound.h"
#include "plan_oracle.h"
#include "report/chart.h"

static int symptom_named(const struct kn_knowledge *kn, const char *id)
{
	for (int i = 0; i < kn->nsymptoms; i++)
		if (!strcmp(kn->checks[kn->symptoms[i]].id, id))
			return kn->symptoms[i];
	fail_msg("no symptom %s", id);
	return KN_NONE;
}

/* bound <= optimum <= what the planner costs, on every problem and at every depth; optimum by dynamic
 * programming. */
static void test_bound_is_below_the_optimum_always(void **state)
{
	double tight[3] = { 0 };
	int n = 100;

	(void)state;
	for (int i = 0; i < n; i++) {
		struct rng r = { 71000 + (uint64_t)i };
		struct po_problem q;
		double optimum, before = 0;

		po_random(&r, 4 + i % 2, 4, 3, i % 3 ? .3 : 0, &q);
		optimum = po_optimum(&q);
		assert_true(po_cost(&q, PO_PLANNER) >= optimum * (1 - 1e-9));
		for (int depth = 0; depth < 3; depth++) {
			struct pl_belief b = { 0 };
			struct pl_problem p;
			double bound;

			po_planning(&q, &p, &b);
			bound = pl_lower_bound(&p, &b, 1, depth);
			if (bound > optimum * (1 + 1e-9))
				fail_msg("problem %d depth %d: bound %g, optimum %g", i, depth, bound, optimum);
			assert_true(bound >= before - 1e-9);
			before = bound;
			tight[depth] += bound / optimum / n;
			pl_belief_free(&b);
			pl_problem_free(&p);
		}
	}
	print_message("bound over optimum, mean of %d: known fault %.3f, one step %.3f, two %.3f\n",
		      n, tight[0], tight[1], tight[2]);
	assert_true(tight[2] > tight[0]);
}

/* ---- a chart followed by hand ------------------------------------------------------------------- */

static int outcome_cell(const struct kn_knowledge *kn, const struct pl_chart_node *n, const int *faults,
			int nfaults, struct su_tables *tables, struct rng *r)
{
	struct su_table *t = su_tables_get(tables, n->index, n->place);
	double e = kn->checks[n->index].exponent < 1 ? kn->checks[n->index].exponent : 1, sum = 0, at;
	int s = su_table_none(t), cell = 0, ncells = su_table_ncells(t);

	for (int i = 0; i < nfaults; i++)
		s = su_table_join(t, s, faults[i]);
	for (int i = 0; i < ncells; i++)
		sum += pow(su_table_row(t, s)[i], e);
	at = rng_real(r) * sum;
	while (cell < ncells - 1 && (at -= pow(su_table_row(t, s)[cell], e)) > 0)
		cell++;
	return cell;
}

static int repair(const struct kn_knowledge *kn, const struct pl_chart_node *n, int *faults, int nfaults,
		  struct rng *r)
{
	for (int i = 0; i < n->nrepairs; i++) {
		const struct su_repair done = { n->repair[i].remedy, n->repair[i].place, 1 };
		int left = 0;

		for (int f = 0; f < nfaults; f++)
			if (rng_real(r) >= su_clears(kn, &done, faults[f]))
				faults[left++] = faults[f];
		nfaults = left;
	}
	return nfaults;
}

/* Minutes of one job; from the end of the chart on what the chart expects there. */
static double follow(const struct report_chart *c, const struct su_set *set, struct su_tables *tables,
		     struct rng *r)
{
	int faults[SU_SET_MAX], nfaults = set->nnow, at = 0;
	double minutes = 0;

	memcpy(faults, set->now, sizeof(int) * (size_t)nfaults);
	for (;;) {
		const struct pl_chart_node *n = &c->chart.node[at];
		int next = n->first;

		if (n->kind == PL_CHART_LAST || n->kind == PL_CHART_OVER)
			return minutes + n->expected;
		minutes += n->minutes;
		if (n->kind == PL_CHART_CHECK) {
			struct su_table *t = su_tables_get(tables, n->index, n->place);
			int cell = outcome_cell(c->kn, n, faults, nfaults, tables, r);

			while (next >= 0 &&
			       (c->chart.node[next].outcome != su_table_cell_outcome(t, cell) ||
				c->chart.node[next].at != su_table_cell_place(t, cell)))
				next = c->chart.node[next].next;
		} else {
			nfaults = repair(c->kn, n, faults, nfaults, r);
			if (nfaults == 0)
				return minutes;
		}
		assert_true(next >= 0);
		at = next;
	}
}

static const struct su_set *draw(const struct su_suspects *s, struct rng *r)
{
	int n = s->nsets < 320 ? s->nsets : 320, i = 0;
	double sum = 0, at;

	for (int k = 0; k < n; k++)
		sum += s->sets[k].weight;
	at = rng_real(r) * sum;
	while (i < n - 1 && (at -= s->sets[i].weight) > 0)
		i++;
	return &s->sets[i];
}

static void test_expected_minutes_are_what_followers_need(void **state)
{
	struct pl_chart_settings few = { .depth = 5, .least = .03 };
	struct kn_knowledge *kn = fixture_trees("trees", "twin");
	struct su_tables *tables = su_tables_new(kn);
	struct rng r = { 72000 };
	struct hs_err err = { 0 };
	struct report_chart c;
	double sum = 0, squares = 0, mean, se;
	int symptom, jobs = 20000;

	(void)state;
	symptom = symptom_named(kn, "flooding");
	struct su_evidence said = { .check = symptom, .place = KN_NONE,
		.exponent = kn->checks[symptom].exponent, .ncells = 2 };
	struct su_case only = { .nevidence = 1, .evidence = &said };
	struct su_suspects *s;

	said.share[kn->checks[symptom].outcomes[0].rest ? 1 : 0] = 1;
	s = su_weigh(kn, &only, NULL, &err);
	assert_int_equal(report_chart_make(kn, symptom, NULL, &few, &c, &err), 0);
	assert_true(c.chart.bound <= c.chart.expected);
	for (int i = 0; i < jobs; i++) {
		double minutes = follow(&c, draw(s, &r), tables, &r);

		sum += minutes;
		squares += minutes * minutes;
	}
	mean = sum / jobs;
	se = sqrt((squares / jobs - mean * mean) / jobs);
	print_message("flooding: chart says %.1f, %d followers need %.1f (se %.1f)\n", c.chart.expected, jobs,
		      mean, se);
	assert_true(fabs(mean - c.chart.expected) < 4 * se + .5); /* .5: sets dropped as too light */
	report_chart_free(&c);
	su_free(s);
	su_tables_free(tables);
	kn_free(kn);
}

static void same_as_file(const char *path, const char *found)
{
	struct hs_err err = { 0 };
	size_t size;
	char *whole = file_read(path, 1 << 22, &size, &err);

	assert_non_null(whole);
	if (strlen(found) != size || memcmp(whole, found, size) != 0)
		fail_msg("%s is not what the program makes now: sh tests/chart.sh update", path);
	mem_free(whole);
}

static void test_charts_in_docs_are_current(void **state)
{
	static const char *const symptoms[] = { "flooding", "hard-cold-start", "rough-idle", "fault-blink",
						 "icing" };
	struct pl_chart_settings usual = pl_chart_settings_default();
	struct kn_knowledge *kn = fixture_trees("trees", "twin");
	const char *root = getenv("HALFSPLIT_ROOT");

	(void)state;
	for (size_t i = 0; i < sizeof symptoms / sizeof *symptoms; i++) {
		struct text t = { 0 };
		struct hs_err err = { 0 };
		struct report_chart c;
		char path[512];

		assert_int_equal(report_chart_make(kn, symptom_named(kn, symptoms[i]), NULL, &usual, &c, &err), 0);
		assert_true(c.chart.suspects >= 10);
		assert_true(c.chart.bound <= c.chart.expected);
		report_chart_text(&c, &t);
		snprintf(path, sizeof path, "%s/docs/charts/%s.txt", root ? root : ".", symptoms[i]);
		same_as_file(path, text_str(&t));
		text_clear(&t);
		assert_int_equal(report_chart_html(&c, &t, &err), 0);
		snprintf(path, sizeof path, "%s/docs/charts/%s.html", root ? root : ".", symptoms[i]);
		same_as_file(path, text_str(&t));
		text_free(&t);
		report_chart_free(&c);
	}
	kn_free(kn);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_bound_is_below_the_optimum_always),
		cmocka_unit_test(test_expected_minutes_are_what_followers_need),
		cmocka_unit_test(test_charts_in_docs_are_current),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
