/* Figures of fault trees against published examples, and against trying out every combination. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"
#include "report/cuts.h"

static struct cuts work_out(const struct cuts_tree *t)
{
	struct cuts c;
	struct hs_err err = {0};

	if (cuts_work_out(t, &c, &err) != 0)
		fail_msg("%s", err.text);
	return c;
}

static void relative(double got, double want, double most)
{
	fixture_near(got, want, most * fabs(want));
}

/* Pressure tank of NUREG-0492 (Fault Tree Handbook) and its NASA edition of 2002, with the numbers of the
 * FFORT benchmark "pt".  Exact top event by enumeration in 40 digits; Birnbaum and criticality computed
 * from the same enumeration, to nine digits. */
static void test_pressure_tank_when_worked_out(void **state)
{
	enum { T, K2, S, S1, K1, R };
	static const double q[] = {5e-6, 3e-5, 1e-4, 3e-5, 5e-6, 1e-4};
	static const double birnbaum[] = {.999969987, .999994987, 1.34991625e-4, 9.99860004e-5,
					  9.99835008e-5, 9.99930002e-5};
	static const double criticality[] = {.142798391, .856811768, 3.8554331e-4, 8.56696113e-5,
					     1.42779116e-5, 2.85585363e-4};
	static const int k1_or_r[] = {K1, R}, s1_or[] = {S1, ~0}, s_and[] = {S, ~1}, k2_or[] = {K2, ~2},
			 top_or[] = {T, ~3};
	static const struct cuts_gate gates[] = {{1, 2, k1_or_r}, {1, 2, s1_or}, {2, 2, s_and}, {1, 2, k2_or},
						 {1, 2, top_or}};
	static const double set_p[] = {3e-5, 5e-6, 1e-8, 3e-9, 5e-10};
	struct cuts c = work_out(&(struct cuts_tree){6, q, 5, gates});

	(void)state;
	relative(c.top, 3.5013349162516e-5, 1e-12);
	relative(c.top, 3.5013348120867e-5, 1e-7); /* as FFORT prints it */
	fixture_near(c.nsets, 5, 0);
	assert_int_equal(c.nshown, 5);
	for (int i = 0; i < 5; i++)
		relative(c.set[i].p, set_p[i], 1e-12);
	assert_int_equal(c.set[0].event[0], K2);
	assert_int_equal(c.set[1].event[0], T);
	assert_true(c.set[2].n == 2 && c.set[2].event[0] == S && c.set[2].event[1] == R);
	for (int e = 0; e < 6; e++) {
		fixture_near(c.birnbaum[e], birnbaum[e], 1e-9);
		fixture_near(c.criticality[e], criticality[e], 1e-9);
	}
	/* A set of one event: its share is that event's. S is in three sets: S and one of the others. */
	relative(c.fussell_vesely[T], 5e-6 / 3.5013349162516e-5, 1e-12);
	relative(c.fussell_vesely[S], 1e-4 * (1 - (1 - 3e-5) * (1 - 5e-6) * (1 - 1e-4)) / 3.5013349162516e-5,
		 1e-9);
	cuts_free(&c);
}

/* FFORT benchmarks "csd" (seals) and "SMS_A1" (mooring; Mentes and Helvacioglu, 2011), and two of three. */
static void test_small_benchmarks_when_worked_out(void **state)
{
	static const double seals[] = {.1, 1e-5, 1e-3, 1e-3, 1e-3, 1e-3};
	static const int two[] = {0, 1}, four[] = {2, 3, 4, 5}, either[] = {~0, ~1};
	static const struct cuts_gate seal_gates[] = {{2, 2, two}, {4, 4, four}, {1, 2, either}};
	static const double mooring[] = {1.73e-5, 4.2e-3, 9.31e-3, 8.64e-3, 8.95e-6,
					 8.95e-6, 9.93e-5, 4.37e-5, 5.46e-8, 4.17e-3};
	static const int all[] = {0, 1, 2, 3, 4, 5, 6, 7, 8, 9};
	static const struct cuts_gate any = {1, 10, all}, two_of_three = {2, 3, all};
	static const double hundredth[] = {.01, .01, .01}, tenth[] = {.1, .1, .1};
	struct cuts c = work_out(&(struct cuts_tree){6, seals, 3, seal_gates});

	(void)state;
	relative(c.top, 1.000000999999e-6, 1e-12);
	fixture_near(c.nsets, 2, 0);
	cuts_free(&c);
	c = work_out(&(struct cuts_tree){10, mooring, 1, &any});
	relative(c.top, .026246389824230, 1e-12);
	fixture_near(c.nsets, 10, 0);
	cuts_free(&c);
	c = work_out(&(struct cuts_tree){3, hundredth, 1, &two_of_three});
	fixture_near(c.top, 2.98e-4, 1e-15);
	fixture_near(c.nsets, 3, 0);
	cuts_free(&c);
	c = work_out(&(struct cuts_tree){3, tenth, 1, &two_of_three});
	fixture_near(c.top, .028, 1e-15);
	cuts_free(&c);
}

/* Three-motor relay circuit of the Fault Tree Handbook, every event .02: twelve minimal cut sets and
 * P(top) = .0211538 as published with another program; importance by our own enumeration. */
static void test_three_motors_when_worked_out(void **state)
{
	enum { K5, S1, K1, T1, T2, KT1, T2I, KT2, T3I, KT3, T4I };
	static const double q[] = {.02, .02, .02, .02, .02, .02, .02, .02, .02, .02, .02};
	static const int a[] = {KT1, T2I}, b[] = {KT2, T3I}, c3[] = {KT3, T4I}, chain[] = {~0, ~1, ~2},
			 first[] = {S1, K1, T1, ~3}, both[] = {T2, ~4}, top[] = {K5, ~5};
	static const struct cuts_gate gates[] = {{1, 2, a}, {1, 2, b}, {1, 2, c3}, {3, 3, chain}, {1, 4, first},
						 {2, 2, both}, {1, 2, top}};
	struct cuts c = work_out(&(struct cuts_tree){11, q, 7, gates});

	(void)state;
	fixture_near(c.nsets, 12, 0);
	fixture_near(c.top, .0211538, 5e-8);
	fixture_near(c.birnbaum[K5], .998823, 5e-7);
	fixture_near(c.criticality[K5], .944344, 5e-7);
	fixture_near(c.birnbaum[T2], .0576891, 5e-8);
	fixture_near(c.criticality[T2], .0545426, 5e-8);
	fixture_near(c.birnbaum[S1], .0188227, 5e-8);
	fixture_near(c.birnbaum[KT1], 2.83498e-5, 5e-11);
	cuts_free(&c);
}

/* ---- every combination ------------------------------------------------------------------------------ */

#define EVENTS 9
#define GATES 5
#define INPUTS 4

struct random_tree {
	double q[EVENTS];
	int in[GATES][INPUTS];
	struct cuts_gate gates[GATES];
	struct cuts_tree tree;
};

static uint64_t random_state;

static unsigned rnd(unsigned below)
{
	random_state = random_state * 6364136223846793005u + 1442695040888963407u;
	return (unsigned)(random_state >> 33) % below;
}

static void plant(struct random_tree *t)
{
	t->tree = (struct cuts_tree){EVENTS, t->q, GATES, t->gates};
	for (int e = 0; e < EVENTS; e++)
		t->q[e] = (1 + rnd(97)) / 100.0;
	for (int g = 0; g < GATES; g++) {
		int n = 2 + (int)rnd(INPUTS - 1);

		for (int i = 0; i < n; i++)
			t->in[g][i] = g > 0 && rnd(2) ? ~(int)rnd((unsigned)g) : (int)rnd(EVENTS);
		t->gates[g] = (struct cuts_gate){1 + (int)rnd((unsigned)n), n, t->in[g]};
	}
}

static bool happens(const struct cuts_tree *t, unsigned present)
{
	bool is[GATES] = {false};

	for (int g = 0; g < t->ngates; g++) {
		int n = 0;

		for (int i = 0; i < t->gates[g].n; i++) {
			int in = t->gates[g].in[i];
			n += in >= 0 ? (int)(present >> in & 1) : is[~in];
		}
		is[g] = n >= t->gates[g].k;
	}
	return is[t->ngates - 1];
}

static bool is_minimal(const struct cuts_tree *t, unsigned set)
{
	if (!happens(t, set))
		return false;
	for (int e = 0; e < EVENTS; e++)
		if (set >> e & 1 && happens(t, set & ~(1u << e)))
			return false;
	return true;
}

static double chance_of(const struct cuts_tree *t, unsigned present, int but)
{
	double p = 1;

	for (int e = 0; e < EVENTS; e++)
		if (e != but)
			p *= present >> e & 1 ? t->q[e] : 1 - t->q[e];
	return p;
}

static void same_as_every_combination(const struct cuts_tree *t, const struct cuts *c)
{
	double top = 0, with[EVENTS] = {0}, never[EVENTS] = {0}, vesely[EVENTS] = {0};
	unsigned sets[1 << EVENTS];
	int nsets = 0;

	for (unsigned s = 0; s < 1u << EVENTS; s++)
		if (is_minimal(t, s))
			sets[nsets++] = s;
	for (unsigned s = 0; s < 1u << EVENTS; s++) {
		bool top_happens = happens(t, s);

		top += top_happens ? chance_of(t, s, -1) : 0;
		for (int e = 0; e < EVENTS; e++) {
			bool with_e = false;

			for (int i = 0; i < nsets; i++)
				with_e |= (sets[i] & ~s) == 0 && sets[i] >> e & 1;
			vesely[e] += with_e ? chance_of(t, s, -1) : 0;
			if (top_happens)
				*(s >> e & 1 ? &with[e] : &never[e]) += chance_of(t, s, e);
		}
	}
	fixture_near(c->top, top, 1e-12);
	fixture_near(c->nsets, nsets, 0);
	for (int i = 0; i < c->nshown; i++) {
		unsigned s = 0;

		for (int k = 0; k < c->set[i].n; k++)
			s |= 1u << c->set[i].event[k];
		assert_true(is_minimal(t, s));
		assert_true(i == 0 || c->set[i].p <= c->set[i - 1].p);
	}
	for (int e = 0; e < EVENTS; e++) {
		fixture_near(c->birnbaum[e], with[e] - never[e], 1e-12);
		fixture_near(c->criticality[e], (top - never[e]) / top, 1e-11);
		fixture_near(c->fussell_vesely[e], vesely[e] / top, 1e-11);
	}
}

static void test_figures_when_trees_are_random(void **state)
{
	(void)state;
	random_state = 20261125;
	for (int i = 0; i < 60; i++) {
		struct random_tree t;
		struct cuts c;

		plant(&t);
		c = work_out(&t.tree);
		same_as_every_combination(&t.tree, &c);
		cuts_free(&c);
	}
}

static void test_tree_is_refused_when_too_large(void **state)
{
	enum { MANY = 1600 };
	static double q[MANY];
	static int in[MANY];
	struct cuts_gate half = {MANY / 2, MANY, in};
	struct cuts c;
	struct hs_err err = {0};

	(void)state;
	for (int i = 0; i < MANY; i++) {
		q[i] = .1;
		in[i] = i;
	}
	assert_int_equal(cuts_work_out(&(struct cuts_tree){MANY, q, 1, &half}, &c, &err), -1);
	assert_int_equal(err.code, HS_LIMIT);
	cuts_free(&c);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_pressure_tank_when_worked_out),
		cmocka_unit_test(test_small_benchmarks_when_worked_out),
		cmocka_unit_test(test_three_motors_when_worked_out),
		cmocka_unit_test(test_figures_when_trees_are_random),
		cmocka_unit_test(test_tree_is_refused_when_too_large),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
