/* Answers: how they are understood, what they count for, what follows from them.  All expectations are
 * worked by hand from tests/data/job/small.xml; weights of answers as in docs/method.md. */
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
#include "job/job.h"
#include "job_aid.h"

static void add(struct job *j, enum job_kind kind, const char *a, const char *b, const char *c)
{
	add_at(j, kind, 0, a, b, c, NULL);
}

static struct job *begun(const char *what)
{
	struct job *j = job_new(kn);

	add(j, JOB_BEGAN, kn->machine, kn->digest, what);
	return j;
}

static enum job_status try(struct job *j, const char *check, int place, const char *text,
			   struct job_understood *u)
{
	struct job_answer a = { .check = kn_check_by_id(kn, check), .place = place, .text = text };
	struct hs_err err = { 0 };

	assert_int_not_equal(a.check, KN_NONE);
	return job_answer(j, &a, u, &err);
}

static void say(struct job *j, const char *check, int place, const char *text)
{
	struct job_understood u;

	assert_int_equal(try(j, check, place, text, &u), JOB_OK);
}

static const struct job_view *view(struct job *j)
{
	struct hs_err err = { 0 };
	const struct job_view *v = job_view(j, &err);

	assert_non_null(v);
	return v;
}

static const struct su_evidence *last_row(struct job *j)
{
	const struct job_view *v = view(j);

	assert_true(v->the_case.nevidence > 0);
	return &v->the_case.evidence[v->the_case.nevidence - 1];
}

/* ---- understanding ------------------------------------------------------------------------------------ */

static void test_outcome_by_number_id_title_and_prefix(void **state)
{
	static const char *const ways[] = { "2", "damp", "Damp At The Joint", "da", " damp" };
	struct job *j = begun("complaint");
	struct job_understood u;

	(void)state;
	for (size_t i = 0; i < sizeof ways / sizeof *ways; i++) {
		assert_int_equal(try(j, "bowl-wet", 0, ways[i], &u), JOB_OK);
		assert_int_equal(u.outcome, 1);
		assert_false(u.number);
	}
	assert_int_equal(try(j, "bowl-wet", 0, "d", &u), JOB_REFUSED);  /* damp or dry? */
	assert_int_equal(try(j, "bowl-wet", 0, "4", &u), JOB_REFUSED);
	assert_int_equal(try(j, "bowl-wet", 0, "0", &u), JOB_REFUSED);
	assert_int_equal(try(j, "bowl-wet", 0, "  ", &u), JOB_REFUSED);
	job_close(j);
}

static void test_refusal_names_the_near_miss(void **state)
{
	struct job *j = begun("complaint");
	struct job_answer a = { .check = kn_check_by_id(kn, "bowl-sample"), .place = KN_NONE,
				.text = "rsut" };
	struct job_understood u;
	struct hs_err err = { 0 };

	(void)state;
	assert_int_equal(job_understand(j, &a, &u, &err), JOB_REFUSED);
	assert_non_null(strstr(err.text, "Did you mean rust?"));
	assert_int_equal(job_nevents(j), 1);
	job_close(j);
}

static void test_outcome_with_its_place_behind_it(void **state)
{
	struct job *j = begun("complaint");
	struct job_understood u;

	(void)state;
	assert_int_equal(try(j, "bowl-wet", KN_NONE, "wet 2", &u), JOB_OK);
	assert_int_equal(u.outcome, 0);
	assert_int_equal(u.outcome_place, 1);
	assert_int_equal(try(j, "bowl-wet", KN_NONE, "wet 3", &u), JOB_REFUSED);
	assert_int_equal(try(j, "bowl-wet", KN_NONE, "wet", &u), JOB_REFUSED); /* where? */
	assert_int_equal(try(j, "bowl-wet", KN_NONE, "dry", &u), JOB_OK);      /* everywhere */
	job_close(j);
}

static void test_word_list_is_one_row_a_place(void **state)
{
	struct job *j = begun("complaint");
	const struct job_view *v;

	(void)state;
	say(j, "bowl-wet", KN_NONE, "1:dry 2:wet");
	v = view(j);
	assert_int_equal(v->nfindings, 1);
	assert_int_equal(v->the_case.nevidence, 2);
	assert_int_equal(v->the_case.evidence[0].place, 0);
	assert_int_equal(v->the_case.evidence[1].place, 1);
	fixture_near(v->the_case.evidence[0].share[2], 1, 0);
	fixture_near(v->the_case.evidence[1].share[0], 1, 0);
	assert_int_equal(job_finding_outcome(&kn->checks[v->findings[0].check],
					     &v->findings[0].understood, 1), 0);
	job_close(j);
}

/* ---- readings ------------------------------------------------------------------------------------------ */

static void test_leads_are_asked_for_then_taken_off(void **state)
{
	struct job *j = begun("complaint");
	struct job_understood u;
	const struct su_evidence *e;

	(void)state;
	assert_int_equal(try(j, "coil", KN_NONE, "3.3", &u), JOB_ASK_LEADS);
	assert_int_equal(job_nevents(j), 1);
	say(j, "leads", KN_NONE, "0.3");
	fixture_near(view(j)->leads, .3, 1e-12);
	assert_int_equal(view(j)->the_case.nevidence, 0); /* leads say nothing about the bike */
	say(j, "coil", KN_NONE, "3.3");
	e = last_row(j);
	assert_true(e->by_model);
	fixture_near(e->value, 3, 1e-12);
	fixture_near(e->exponent, 1, 0);
	job_close(j);
}

static void test_reading_without_leads_counts_less(void **state)
{
	struct job *j = begun("complaint");
	struct job_answer a = { .check = kn_check_by_id(kn, "coil"), .place = KN_NONE, .text = "3.3",
				.flags = JOB_LEADS_WAIVED };
	struct job_understood u;
	struct hs_err err = { 0 };

	(void)state;
	assert_int_equal(job_answer(j, &a, &u, &err), JOB_OK);
	fixture_near(last_row(j)->exponent, .85, 0); /* instrument, no zero check */
	fixture_near(last_row(j)->value, 3.3, 1e-12);
	job_close(j);
}

static void test_open_and_odd_sizes(void **state)
{
	struct job *j = begun("complaint");
	struct job_understood u;

	(void)state;
	say(j, "leads", KN_NONE, "0.2");
	say(j, "coil", KN_NONE, "OL");
	assert_int_equal(last_row(j)->kind, RD_OPEN);
	assert_int_equal(try(j, "coil", KN_NONE, "3200 ohm", &u), JOB_ASK_SLIP);
	job_close(j);
}

/* The mean of 3.2 and 3.4 less leads of 0.3. */
static void test_repeated_reading_is_pooled(void **state)
{
	struct job *j = begun("complaint");
	const struct job_view *v;

	(void)state;
	say(j, "leads", KN_NONE, "0.3");
	say(j, "coil", KN_NONE, "3.2");
	say(j, "coil", KN_NONE, "3.4");
	v = view(j);
	assert_int_equal(v->the_case.nevidence, 1);
	fixture_near(v->the_case.evidence[0].value, 3, 1e-9);
	assert_false(v->findings[1].counts);
	assert_true(v->findings[2].counts);
	job_close(j);
}

/* 14.2 with a repeatability of .2 lies outside 12 to 14 for the most part, not wholly. */
static void test_band_edge_is_shared(void **state)
{
	struct job *j = begun("complaint");
	const struct su_evidence *e;
	double u;

	(void)state;
	say(j, "float-height", 0, "14.2");
	e = last_row(j);
	assert_false(e->by_model);
	assert_int_equal(e->ncells, 3);
	assert_true(e->share[1] > .6 && e->share[1] < .95);
	fixture_near(e->share[0] + e->share[1] + e->share[2], 1, 1e-12);
	u = view(j)->findings[0].understood.reading.u;
	assert_true(u > .2);
	fixture_near(e->share[1], .5 * erfc((14 - 14.2) / u / sqrt(2)), 1e-9);
	job_close(j);
}

static void test_word_for_a_reading_is_taken(void **state)
{
	struct job *j = begun("complaint");

	(void)state;
	say(j, "float-height", 0, "too high");
	fixture_near(last_row(j)->share[1], 1, 0);
	job_close(j);
}

/* ---- what counts ---------------------------------------------------------------------------------------- */

static void test_sources_have_their_weights(void **state)
{
	static const struct { enum job_source source; double exponent; } want[] = {
		{ JOB_INSTRUMENT, 1 }, { JOB_EYES, .85 }, { JOB_SURE, .6 }, { JOB_UNSURE, .3 } };
	struct hs_err err = { 0 };

	(void)state;
	for (int i = 0; i < 4; i++) {
		struct job *j = begun("complaint");
		struct job_answer a = { .check = kn_check_by_id(kn, "bowl-sample"), .place = KN_NONE,
					.text = "rust", .source = want[i].source, .source_given = true };
		struct job_understood u;

		assert_int_equal(job_answer(j, &a, &u, &err), JOB_OK);
		fixture_near(last_row(j)->exponent, want[i].exponent, 0);
		job_close(j);
	}
}

static void test_later_answer_replaces_only_its_place(void **state)
{
	struct job *j = begun("complaint");
	const struct job_view *v;

	(void)state;
	say(j, "bowl-wet", KN_NONE, "1:dry 2:wet");
	say(j, "bowl-wet", 1, "dry");
	v = view(j);
	assert_int_equal(v->the_case.nevidence, 2);
	assert_int_equal(v->findings[0].nevidence, 1);
	assert_true(v->findings[0].counts);
	say(j, "bowl-wet", 0, "damp");
	v = view(j);
	assert_int_equal(v->the_case.nevidence, 2);
	assert_false(v->findings[0].counts);
	assert_string_equal(v->findings[0].why, "answered again later");
	for (int i = 1; i < 3; i++)
		assert_int_equal(v->the_case.evidence[v->findings[i].first_evidence].place, 2 - i);
	job_close(j);
}

static void test_circumstance_counts_as_it_was(void **state)
{
	struct job *j = begun("complaint");
	const struct job_view *v;

	(void)state;
	add(j, JOB_TOLD, "circumstance:engine-cold", "yes", NULL);
	say(j, "cold-start", KN_NONE, "no");
	add(j, JOB_TOLD, "circumstance:engine-cold", "no", NULL);
	assert_true(view(j)->findings[0].counts);
	assert_int_equal(view(j)->circumstances, 0);
	say(j, "cold-start", KN_NONE, "yes");
	v = view(j);
	assert_true(v->findings[0].counts);
	assert_false(v->findings[1].counts);
	assert_non_null(strstr(v->findings[1].why, "engine cold"));
	assert_int_equal(v->the_case.nevidence, 1);
	job_close(j);
}

static void test_spoiled_evidence_does_not_count(void **state)
{
	struct job *j = begun("complaint");

	(void)state;
	say(j, "bowl-sample", KN_NONE, "clean");
	add(j, JOB_REPAIRED, "drain-and-renew-needle", "", NULL);
	assert_true(view(j)->findings[0].counts);
	say(j, "bowl-sample", KN_NONE, "rust");
	assert_true(view(j)->findings[0].counts);
	assert_false(view(j)->findings[1].counts);
	job_close(j);
}

static void test_epoch_is_the_number_of_repairs(void **state)
{
	struct job *j = begun("complaint");

	(void)state;
	add(j, JOB_COMPLAINED, "flooding", NULL, NULL);
	say(j, "bowl-wet", 0, "wet");
	add(j, JOB_REPAIRED, "renew-gasket", "1", NULL);
	say(j, "bowl-wet", 0, "dry");
	assert_int_equal(view(j)->the_case.nevidence, 3);
	assert_int_equal(last_row(j)->epoch, 1);
	assert_int_equal(view(j)->the_case.nrepairs, 1);
	assert_int_equal(view(j)->repairs[0].place, 0);
	/* As one would think: the gasket was it, and is it no more. */
	assert_true(view(j)->suspects->mode_was[kn_mode_by_ref(kn, "gasket.split")] > .8);
	assert_true(view(j)->suspects->mode_now[kn_mode_by_ref(kn, "gasket.split")] < .3);
	job_close(j);
}

static void test_names_that_are_gone_mean_nothing(void **state)
{
	struct job *j = begun("complaint"), *k = begun("complaint");

	(void)state;
	add(k, JOB_COMPLAINED, "flooding", NULL, NULL);
	add(j, JOB_COMPLAINED, "flooding", NULL, NULL);
	add(j, JOB_COMPLAINED, "no-such", NULL, NULL);
	add(j, JOB_REPAIRED, "renew-gasket", "9", NULL); /* not: everywhere */
	add(j, JOB_REPAIRED, "no-such", "", NULL);
	add(j, JOB_ANSWERED, "bowl-wet", "9", "dry");
	add(j, JOB_ANSWERED, "no-such", "", "dry");
	add(j, JOB_TOLD, "history:no-such", "yes", NULL);
	assert_int_equal(view(j)->nrepairs, 0);
	assert_int_equal(view(j)->nfindings, 0);
	fixture_near(view(j)->suspects->log_evidence, view(k)->suspects->log_evidence, 0);
	add(j, JOB_ANSWERED, "bowl-sample", "", "mud"); /* shown, but without meaning */
	assert_int_equal(view(j)->nfindings, 1);
	assert_false(view(j)->findings[0].counts);
	assert_int_equal(view(j)->the_case.nevidence, 1);
	job_close(j);
	job_close(k);
}

/* ---- what follows ---------------------------------------------------------------------------------------- */

static void test_hold_ends_when_every_place_is_clear(void **state)
{
	struct job *j = begun("complaint");

	(void)state;
	assert_int_equal(view(j)->nholds, 0);
	add(j, JOB_COMPLAINED, "flooding", NULL, NULL);
	assert_int_equal(view(j)->nholds, 1);
	say(j, "bowl-wet", KN_NONE, "1:wet 2:dry");
	assert_int_equal(view(j)->nholds, 1);
	say(j, "bowl-wet", KN_NONE, "1:damp 2:dry");
	assert_int_equal(view(j)->nholds, 1);
	say(j, "bowl-wet", KN_NONE, "1:dry 2:dry");
	assert_int_equal(view(j)->nholds, 0);
	say(j, "bowl-wet", KN_NONE, "wet 1");
	assert_int_equal(view(j)->nholds, 1);
	job_close(j);
}

static void test_states_of_a_job(void **state)
{
	struct job *j = begun("complaint");

	(void)state;
	add(j, JOB_COMPLAINED, "flooding", NULL, NULL);
	assert_int_equal(view(j)->state, JOB_OPEN);
	say(j, "flooding", KN_NONE, "no");              /* before any repair this proves nothing */
	assert_false(view(j)->complaint_gone);
	add(j, JOB_REPAIRED, "renew-gasket", "1", NULL);
	assert_int_equal(view(j)->state, JOB_TO_VERIFY);
	assert_false(view(j)->complaint_gone);
	say(j, "flooding", KN_NONE, "yes");
	assert_false(view(j)->complaint_gone);
	add(j, JOB_REPAIRED, "drain-and-renew-needle", "", NULL);
	say(j, "flooding", KN_NONE, "no");
	assert_true(view(j)->complaint_gone);
	add(j, JOB_CLOSED, "proven", "dry", NULL);
	assert_int_equal(view(j)->state, JOB_CLOSED_PROVEN);
	add(j, JOB_COMPLAINED, "flooding", NULL, NULL);  /* it does it again */
	assert_int_equal(view(j)->state, JOB_TO_VERIFY);
	assert_false(view(j)->complaint_gone);
	add(j, JOB_CLOSED, "watch", "", NULL);
	assert_int_equal(view(j)->state, JOB_ON_WATCH);
	add(j, JOB_CLOSED, "reopened", "", NULL);
	assert_int_equal(view(j)->state, JOB_TO_VERIFY);
	job_close(j);
}

static void test_bench_run_can_find_nothing(void **state)
{
	struct job *j = begun("bench");

	(void)state;
	assert_true(view(j)->suspects->p_none > .39); /* knowledge 0.4: .40 of bench runs */
	add(j, JOB_COMPLAINED, "flooding", NULL, NULL);
	fixture_near(view(j)->suspects->p_none, 0, 1e-12);
	job_close(j);
}

static void test_tools_access_settings_and_done(void **state)
{
	struct job *j = begun("complaint");
	const struct job_view *v = view(j);
	int sample = kn_check_by_id(kn, "bowl-sample"), wet = kn_check_by_id(kn, "bowl-wet");

	(void)state;
	assert_true(v->tools & 1 && !v->tools_told);
	assert_int_equal(v->open, 1);
	add(j, JOB_TOLD, "tool:multimeter", "no", NULL);
	add(j, JOB_ACCESS, "bench", "open", NULL);
	add(j, JOB_SETTING, "mixture-screw", "2", "found");
	add(j, JOB_SKIPPED, "bowl-sample", "", "dont-know");
	say(j, "bowl-wet", KN_NONE, "2:wet");
	v = view(j);
	assert_true(!(v->tools & 1) && v->tools_told);
	assert_int_equal(v->open, 3);
	assert_int_equal(v->nsettings, 1);
	assert_int_equal(v->settings[0].place, 1);
	assert_true(v->done[sample]);
	assert_false(v->done[wet]);       /* half of it is still to be looked at */
	say(j, "bowl-wet", KN_NONE, "1:dry");
	assert_true(view(j)->done[wet]);
	add(j, JOB_REPAIRED, "renew-gasket", "", NULL);
	assert_false(view(j)->done[wet]); /* it spoke for what was repaired: worth another look */
	assert_int_equal(view(j)->remedy_done[kn_remedy_by_id(kn, "renew-gasket")], 1);
	say(j, "bowl-wet", KN_NONE, "2:dry");
	say(j, "bowl-wet", KN_NONE, "1:dry");
	add(j, JOB_REPAIRED, "renew-gasket", "", NULL);
	assert_true(view(j)->done[wet]);  /* dry spoke for nothing: nothing to look for */
	add(j, JOB_ACCESS, "bench", "closed", NULL);
	assert_int_equal(view(j)->open, 1);
	job_close(j);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_outcome_by_number_id_title_and_prefix),
		cmocka_unit_test(test_refusal_names_the_near_miss),
		cmocka_unit_test(test_outcome_with_its_place_behind_it),
		cmocka_unit_test(test_word_list_is_one_row_a_place),
		cmocka_unit_test(test_leads_are_asked_for_then_taken_off),
		cmocka_unit_test(test_reading_without_leads_counts_less),
		cmocka_unit_test(test_open_and_odd_sizes),
		cmocka_unit_test(test_repeated_reading_is_pooled),
		cmocka_unit_test(test_band_edge_is_shared),
		cmocka_unit_test(test_word_for_a_reading_is_taken),
		cmocka_unit_test(test_sources_have_their_weights),
		cmocka_unit_test(test_later_answer_replaces_only_its_place),
		cmocka_unit_test(test_circumstance_counts_as_it_was),
		cmocka_unit_test(test_spoiled_evidence_does_not_count),
		cmocka_unit_test(test_epoch_is_the_number_of_repairs),
		cmocka_unit_test(test_names_that_are_gone_mean_nothing),
		cmocka_unit_test(test_hold_ends_when_every_place_is_clear),
		cmocka_unit_test(test_states_of_a_job),
		cmocka_unit_test(test_bench_run_can_find_nothing),
		cmocka_unit_test(test_tools_access_settings_and_done),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
