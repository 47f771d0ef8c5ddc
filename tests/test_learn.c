/* Learning: conjugate counts, each job once, a file of its own; and that it helps.
 *
 * Outside value: the mean of a Dirichlet after counts is (a_i + n_i) / (sum a + sum n) (Gelman et al.,
 * Bayesian Data Analysis, 3rd ed., 3.4, from memory). */
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

#include "base/mem.h"
#include "job/learn.h"
#include "fixture.h"

static struct kn_knowledge *kn;
static char dir[64];

static const char *small_trees(void)
{
	static char path[4096];
	const char *root = getenv("HALFSPLIT_ROOT");

	snprintf(path, sizeof path, "%s/tests/data/job/small.xml", root ? root : ".");
	return path;
}

static int set_up(void **state)
{
	struct hs_err err = { 0 };

	(void)state;
	kn = kn_load(small_trees(), NULL, &err);
	return kn ? fixture_folder(dir) : -1;
}

static int tear_down(void **state)
{
	(void)state;
	kn_free(kn);
	return fixture_remove(dir);
}

static void add(struct job *j, enum job_kind kind, long long when, const char *a, const char *b, const char *c,
		const char *d)
{
	struct job_event e = { .kind = kind, .when = when, .field = { a, b, c, d } };
	struct hs_err err = { 0 };

	assert_int_equal(job_add(j, &e, &err), 0);
}

static struct job *closed_job(long long when, const char *how, const char *found)
{
	struct job *j = job_new(kn);

	add(j, JOB_BEGAN, when, kn->machine, kn->digest, "complaint", NULL);
	add(j, JOB_COMPLAINED, when, "flooding", NULL, NULL, NULL);
	if (how)
		add(j, JOB_CLOSED, when, how, "", "", found);
	return j;
}

static bool fold(struct learned *l, long long when, const char *how, const char *found)
{
	struct job *j = closed_job(when, how, found);
	bool counted = learned_fold(l, j);

	job_close(j);
	return counted;
}

static void test_counts_are_conjugate(void **state)
{
	struct learned l = { 0 };
	struct learned_change *c;
	double all = 0, before[64] = { 0 }, after = 0, count = 0;
	int n, needle = kn_mode_by_ref(kn, "float-needle.worn");

	(void)state;
	assert_true(fold(&l, 1000, "proven", "float-needle.worn 1 gasket.split 0.25"));
	assert_true(fold(&l, 2000, "handed-over", "float-needle.worn 0.5"));
	assert_int_equal(l.njobs, 2);
	for (int f = 0; f < kn->nfaults; f++) {
		all += kn->faults[f].weight;
		before[kn->faults[f].mode] += kn->faults[f].weight;
	}
	n = learned_changes(&l, kn, &c);
	for (int i = 0; i < n; i++) {
		double want = c[i].mode == needle ? 1.5 : 0;

		if (strcmp(kn->modes[c[i].mode].ref, "gasket.split") == 0)
			want = .25;
		assert_true(fabs(c[i].count - want) < 1e-12);
		assert_true(fabs(c[i].before - before[c[i].mode]) < 1e-12);
		assert_true(fabs(c[i].after - all * (100 * c[i].before / all + want) / 101.75) < 1e-9);
		after += c[i].after;
		count += c[i].count;
	}
	assert_true(fabs(after - all) < 1e-9); /* shares stay shares */
	assert_true(fabs(count - 1.75) < 1e-12);
	mem_free(c);
	learned_free(&l);
}

static void test_job_counts_once_and_only_when_closed(void **state)
{
	struct learned l = { 0 };
	struct job *j = closed_job(1000, "proven", "gasket.split 1"), *bench = job_new(kn);

	(void)state;
	assert_false(fold(&l, 500, NULL, NULL));
	assert_true(learned_fold(&l, j));
	assert_false(learned_fold(&l, j));
	add(j, JOB_CLOSED, 3000, "reopened", "", NULL, NULL);
	add(j, JOB_CLOSED, 4000, "proven", "", "", "float-needle.worn 1");
	assert_false(learned_fold(&l, j));       /* it has been counted */
	assert_false(fold(&l, 1000, "proven", "gasket.split 1")); /* a copy */
	add(bench, JOB_BEGAN, 1, kn->machine, kn->digest, "bench", NULL);
	add(bench, JOB_CLOSED, 2, "checked", "", "", "gasket.split 1");
	assert_false(learned_fold(&l, bench));
	assert_int_equal(l.njobs, 1);
	assert_int_equal(l.nmodes, 1);
	job_close(bench);
	job_close(j);
	learned_free(&l);
}

static void test_taken_back_and_reopened_do_not_count(void **state)
{
	struct learned l = { 0 };
	struct hs_err err = { 0 };
	struct job *j = closed_job(1000, "proven", "gasket.split 1");

	(void)state;
	assert_int_equal(job_undo(j, NULL, &err), 0);
	assert_false(learned_fold(&l, j));
	assert_int_equal(job_redo(j, NULL, &err), 0);
	add(j, JOB_CLOSED, 3000, "reopened", "", NULL, NULL);
	assert_false(learned_fold(&l, j));
	job_close(j);
	learned_free(&l);
}

/* Of an older version, or closed by another program: weighed with the trees. */
static void test_job_without_a_word_is_weighed(void **state)
{
	struct learned l = { 0 };
	struct hs_err err = { 0 };
	struct job *j = closed_job(1000, NULL, NULL);
	double sum = 0, expected = 0;

	(void)state;
	add(j, JOB_REPAIRED, 1001, "renew-gasket", "2", NULL, NULL);
	add(j, JOB_CLOSED, 1002, "parts-fitted", "", NULL, NULL);
	for (int m = 0; m < kn->nmodes; m++)
		if (job_view(j, &err)->suspects->mode_was[m] >= .01)
			expected += job_view(j, &err)->suspects->mode_was[m];
	assert_true(learned_fold(&l, j));
	for (int i = 0; i < l.nmodes; i++)
		sum += l.modes[i].count;
	assert_true(fabs(sum - expected) < .005 * (double)l.nmodes);
	job_close(j);
	learned_free(&l);
}

static void test_confirmed_counts_whole(void **state)
{
	struct hs_err err = { 0 };
	struct text t = { 0 };
	struct job *j = closed_job(1000, NULL, NULL);

	(void)state;
	add(j, JOB_ANSWERED, 1001, "bowl-wet", "2", "wet", "instrument");
	add(j, JOB_REPAIRED, 1002, "renew-gasket", "2", NULL, NULL);
	job_found(job_view(j, &err), &t);
	assert_null(strstr(text_str(&t), "gasket.split 1 "));
	text_clear(&t);
	add(j, JOB_ANSWERED, 1003, "flooding", "", "no", NULL);
	job_found(job_view(j, &err), &t);
	text_addc(&t, ' ');
	assert_non_null(strstr(text_str(&t), "gasket.split 1 "));
	text_free(&t);
	job_close(j);
}

static const char *path_of(const char *name)
{
	static char path[200];

	snprintf(path, sizeof path, "%s/%s", dir, name);
	return path;
}

static void test_file_comes_back_as_it_was(void **state)
{
	struct learned l = { 0 }, again;
	struct hs_err err = { 0 };

	(void)state;
	for (int i = 0; i < 40; i++)
		assert_true(fold(&l, 1000 + i * 7919, "proven", i % 2 ? "gasket.split 1" : "coil.open 0.123"));
	assert_int_equal(learned_write(&l, path_of("learned"), &err), 0);
	assert_int_equal(learned_read(&again, path_of("learned"), &err), 0);
	assert_int_equal(again.njobs, 40);
	assert_int_equal(again.nmodes, l.nmodes);
	for (int i = 0; i < l.nmodes; i++) {
		assert_string_equal(again.modes[i].ref, l.modes[i].ref);
		assert_true(fabs(again.modes[i].count - l.modes[i].count) < 1e-4);
	}
	assert_false(fold(&again, 1000, "proven", "gasket.split 1"));
	learned_free(&l);
	learned_free(&again);
	assert_int_equal(learned_read(&again, path_of("none"), &err), 0);
	assert_int_equal(again.njobs, 0);
}

static void test_spoiled_file_is_refused_with_its_line(void **state)
{
	static const char *const bad[] = { "", "something else\n", "halfsplit-learned 1\nmode x\n",
		"halfsplit-learned 1\nmode x.y -1\n", "halfsplit-learned 1\nmode x.y 1 2\n",
		"halfsplit-learned 1\njobs many\n", "halfsplit-learned 1\nmode b.b 1\nmode a.a 1\n",
		"halfsplit-learned 1\nmode x.y nan\n", "halfsplit-learned 1\njob \n" };

	(void)state;
	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		struct hs_err err = { 0 };
		struct learned l;
		FILE *f = fopen(path_of("bad"), "w");

		assert_non_null(f);
		assert_true(fputs(bad[i], f) >= 0);
		assert_int_equal(fclose(f), 0);
		assert_int_equal(learned_read(&l, path_of("bad"), &err), -1);
		assert_int_equal(err.code, HS_BAD_JOB);
		assert_true(err.line >= 1);
	}
}

/* ---- does it help? -------------------------------------------------------------------------------------- */

static uint64_t dice = 88172645463325252u;

static double roll(void) /* xorshift64 (Marsaglia 2003) */
{
	dice ^= dice << 13;
	dice ^= dice >> 7;
	dice ^= dice << 17;
	return (double)(dice >> 11) / 9007199254740992.0;
}

static int draw(const double *weight, int n)
{
	double sum = 0, x;

	for (int i = 0; i < n; i++)
		sum += weight[i];
	x = roll() * sum;
	for (int i = 0; i < n - 1; i++)
		if ((x -= weight[i]) < 0)
			return i;
	return n - 1;
}

/* How often the mode of a fault makes the symptom, as the trees say. */
static double complains(int fault)
{
	const struct kn_check *c = &kn->checks[kn_check_by_id(kn, "flooding")];

	for (int o = 0; o < c->noutcomes; o++)
		if (!c->outcomes[o].rest)
			return isnan(c->outcomes[o].vote[fault]) ? c->outcomes[o].base : c->outcomes[o].vote[fault];
	return 0;
}

/* An answer to a word check as this fault gives it. */
static const char *answer_of(int check, int fault)
{
	const struct kn_check *c = &kn->checks[check];
	double p[KN_OUTCOMES_MAX], rest = 1;
	int at = 0;

	for (int o = 0; o < c->noutcomes; o++) {
		const struct kn_outcome *out = &c->outcomes[o];

		p[o] = out->rest ? 0 : out->vote && !isnan(out->vote[fault]) ? out->vote[fault] : out->base;
		rest -= p[o];
		at = out->rest ? o : at;
	}
	p[at] = rest;
	return c->outcomes[draw(p, c->noutcomes)].id;
}

/* A new job of the shop: its fault, and the complaint and two answers it gives. */
static struct job *simulate(const double *truth, long long when, int *fault)
{
	struct job *j = closed_job(when, NULL, NULL);

	do
		*fault = draw(truth, kn->nfaults);
	while (roll() > complains(*fault));
	add(j, JOB_ANSWERED, when, "cold-start", "", answer_of(kn_check_by_id(kn, "cold-start"), *fault), NULL);
	add(j, JOB_ANSWERED, when, "bowl-sample", "",
	    answer_of(kn_check_by_id(kn, "bowl-sample"), *fault), NULL);
	return j;
}

/* Mean ln P(the mode that it was) over new jobs, judged by `with`. */
static double log_score(const struct kn_knowledge *with, const double *truth, int jobs)
{
	double sum = 0;

	for (int i = 0; i < jobs; i++) {
		struct hs_err err = { 0 };
		int fault;
		struct job *j = simulate(truth, 5000000 + i, &fault), *judged = job_new(with);

		for (int e = 0; e < job_nevents(j); e++)
			assert_int_equal(job_add(judged, job_event_at(j, e), &err), 0);
		sum += log(fmax(job_view(judged, &err)->suspects->mode_was[kn->faults[fault].mode], 1e-9));
		job_close(judged);
		job_close(j);
	}
	return sum / jobs;
}

/* A shop in which needles hardly wear and coils often break: after 200 jobs, of which a third were only
 * inferred, the learned frequencies foresee new jobs better than the shipped ones. */
static void test_learned_beats_shipped_after_200_jobs(void **state)
{
	struct hs_err err = { 0 };
	struct kn_knowledge *own = kn_load(small_trees(), NULL, &err);
	double truth[64] = { 0 }, shipped, learned;
	struct learned l = { 0 };

	(void)state;
	assert_true(kn->nfaults <= 64);
	for (int f = 1; f < kn->nfaults; f++)
		truth[f] = strcmp(kn->modes[kn->faults[f].mode].ref, "coil.open") == 0	  ? 60
			   : strcmp(kn->modes[kn->faults[f].mode].ref, "gasket.split") == 0 ? 9 : 1;
	for (int i = 0; i < 200; i++) {
		int fault;
		struct job *j = simulate(truth, 1000 + i, &fault);
		struct text found = { 0 };

		if (i % 3)
			text_addf(&found, "%s 1", kn->modes[kn->faults[fault].mode].ref);
		else
			job_found(job_view(j, &err), &found);
		add(j, JOB_CLOSED, 1000 + i, "proven", "", "", text_str(&found));
		assert_true(learned_fold(&l, j));
		text_free(&found);
		job_close(j);
	}
	learned_apply(&l, own);
	dice = 424242;
	shipped = log_score(kn, truth, 300);
	dice = 424242;
	learned = log_score(own, truth, 300);
	printf("# log score of new jobs: shipped %.3f, learned from 200 jobs %.3f\n", shipped, learned);
	assert_true(learned > shipped + .05);
	learned_free(&l);
	kn_free(own);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_counts_are_conjugate),
		cmocka_unit_test(test_job_counts_once_and_only_when_closed),
		cmocka_unit_test(test_taken_back_and_reopened_do_not_count),
		cmocka_unit_test(test_job_without_a_word_is_weighed),
		cmocka_unit_test(test_confirmed_counts_whole),
		cmocka_unit_test(test_file_comes_back_as_it_was),
		cmocka_unit_test(test_spoiled_file_is_refused_with_its_line),
		cmocka_unit_test(test_learned_beats_shipped_after_200_jobs),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
