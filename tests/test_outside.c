/* The weighing against published worked examples, each a small knowledge file through the real
 * loader.  Sources are named beside each; the tolerance is half a unit of the last digit given. */
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
#include "suspects/suspects.h"
#include "fixture.h"

static struct kn_knowledge *load(const char *name)
{
	const char *root = getenv("HALFSPLIT_ROOT");
	struct hs_err err = { 0 };
	struct kn_knowledge *kn;
	char path[512];

	snprintf(path, sizeof path, "%s/tests/data/outside/%s.xml", root ? root : ".", name);
	kn = kn_load(path, name, &err);
	if (!kn)
		fail_msg("%s:%d: %s", err.file, err.line, err.text);
	return kn;
}

struct said { const char *check, *outcome; };

/* Weighs everything; tolerance 0, so all sets are listed. */
static struct su_suspects *weigh(const struct kn_knowledge *kn, const struct said *said, int n)
{
	struct su_settings all = { 0, 100000000, 4096 };
	struct su_evidence e[6];
	struct su_case c = { n, e, 0, NULL, 0, true };
	struct hs_err err = { 0 };
	struct su_suspects *s;

	memset(e, 0, sizeof e);
	for (int i = 0; i < n; i++) {
		int check = kn_check_by_id(kn, said[i].check), outcome;

		assert_int_not_equal(check, KN_NONE);
		outcome = kn_outcome_by_id(&kn->checks[check], said[i].outcome);
		assert_int_not_equal(outcome, KN_NONE);
		e[i].check = check;
		e[i].place = KN_NONE;
		e[i].exponent = 1;
		e[i].ncells = kn->checks[check].noutcomes;
		e[i].share[outcome] = 1;
	}
	s = su_weigh(kn, &c, &all, &err);
	if (!s)
		fail_msg("%s", err.text);
	return s;
}

/* P(answers) against a value and P(mode | answers) against another, for modes a..; NULL ends. */
struct expected { const char *mode; double p; };

static void check_all(const char *name, const struct said *said, int n, double p_answers, double rel,
		      const struct expected *x, double within)
{
	struct kn_knowledge *kn = load(name);
	struct su_suspects *s = weigh(kn, said, n);

	if (p_answers > 0)
		fixture_near(exp(s->log_evidence) / p_answers, 1, rel);
	for (; x && x->mode; x++) {
		int mode = kn_mode_by_ref(kn, x->mode);

		assert_int_not_equal(mode, KN_NONE);
		fixture_near(s->mode_now[mode], x->p, within);
	}
	su_free(s);
	kn_free(kn);
}

static const struct said top[] = { { "top-event", "yes" } };

/* NASA Fault Tree Handbook with Aerospace Applications (2002) / NUREG-0492: exact top event by
 * enumeration in 40 digits; FFORT prints 3.5013348120867e-5 (off by 3e-8 of it). */
static void test_pressure_tank(void **state)
{
	const struct expected x[] = { { "tank.ruptures", .142802677 }, { "relay-k2.stuck", .856816064 },
		{ "pressure-switch.stuck", 4.85504755e-4 }, { "timer.stuck", 3.85556804e-4 }, { 0 } };

	(void)state;
	check_all("pressure-tank", top, 1, 3.5013349162516e-5, 1e-12, x, 1e-9);
	check_all("pressure-tank", top, 1, 3.5013348120867e-5, 1e-7, NULL, 0);
}

static double p_top_with(const struct su_suspects *s, const struct kn_knowledge *kn, int mode, bool on)
{
	double with = 0, sum = 0;

	for (int i = 0; i < s->nsets; i++) {
		bool has = false;

		for (int f = 0; f < s->sets[i].nnow; f++)
			has = has || kn->faults[s->sets[i].now[f]].mode == mode;
		sum += s->sets[i].weight;
		with += has == on ? s->sets[i].weight : 0;
	}
	return with / sum;
}

/* The same tree: minimal cut sets are the minimal listed sets; Birnbaum P(top | event) - P(top |
 * not event) and criticality (Q - Q0) / Q from the posterior (items 6.1, 6.3 to 6.5). */
static void test_pressure_tank_importance(void **state)
{
	const struct { const char *mode; double p, birnbaum, criticality; } x[] = {
		{ "tank.ruptures", 5e-6, .999969987, .142798391 },
		{ "relay-k2.stuck", 3e-5, .999994987, .856811768 },
		{ "pressure-switch.stuck", 1e-4, 1.34991625e-4, 3.8554331e-4 },
		{ "switch-s1.stuck", 3e-5, 9.99860004e-5, 8.56696113e-5 },
		{ "relay-k1.stuck", 5e-6, 9.99835008e-5, 1.42779116e-5 },
		{ "timer.stuck", 1e-4, 9.99930002e-5, 2.85585363e-4 },
	};
	struct kn_knowledge *kn = load("pressure-tank");
	struct su_suspects *s = weigh(kn, top, 1);
	double q = exp(s->log_evidence), rare = 0, not_any = 1;
	int cuts = 0;

	(void)state;
	for (size_t i = 0; i < sizeof x / sizeof *x; i++) {
		int mode = kn_mode_by_ref(kn, x[i].mode);
		double with = p_top_with(s, kn, mode, true) * q / x[i].p;
		double without = p_top_with(s, kn, mode, false) * q / (1 - x[i].p);

		fixture_near(with - without, x[i].birnbaum, 1e-9);
		fixture_near((q - without) / q, x[i].criticality, 1e-9);
	}
	for (int i = 0; i < s->nsets; i++) {
		bool minimal = s->sets[i].weight > 0;
		double p = 1;

		for (int k = 0; k < s->nsets && minimal; k++) {
			int common = 0;

			for (int a = 0; a < s->sets[i].nnow; a++)
				for (int b = 0; b < s->sets[k].nnow; b++)
					common += s->sets[i].now[a] == s->sets[k].now[b];
			minimal = !(s->sets[k].weight > 0 && common == s->sets[k].nnow &&
				    s->sets[k].nnow < s->sets[i].nnow);
		}
		for (int a = 0; a < s->sets[i].nnow; a++)
			p *= kn->faults[s->sets[i].now[a]].weight;
		if (minimal) {
			cuts++;
			rare += p;
			not_any *= 1 - p;
		}
	}
	assert_int_equal(cuts, 5);
	fixture_near(rare / 3.50135e-5, 1, 1e-9);
	fixture_near((1 - not_any) / 3.501334952749e-5, 1, 1e-9);
	su_free(s);
	kn_free(kn);
}

/* FFORT "csd" (NASA handbook) and "SMS_A1" (Mentes and Helvacioglu 2011); binomial for 2 of 3. */
static void test_seals_mooring_two_of_three(void **state)
{
	(void)state;
	check_all("seals", top, 1, 1.000000999999e-6, 1e-9, NULL, 0);
	check_all("mooring", top, 1, .026246389824230, 1e-12, NULL, 0);
	check_all("two-of-three", top, 1, .028, 1e-12, NULL, 0);
}

/* Bishop, PRML 8.2.2, eqs 8.30 to 8.32; .307692308 by hand. */
static void test_fuel_gauge(void **state)
{
	const struct said gauge[] = { { "gauge", "empty" }, { "battery-seen", "flat" } };
	const struct said good[] = { { "gauge", "empty" }, { "battery-seen", "good" } };
	const struct expected a[] = { { "tank.empty", .257142857 }, { 0 } };
	const struct expected b[] = { { "tank.empty", .111111111 }, { 0 } };
	const struct expected c[] = { { "tank.empty", .307692308 }, { 0 } };

	(void)state;
	check_all("fuel-gauge", gauge, 1, .315, 1e-12, a, 5e-10);
	check_all("fuel-gauge", gauge, 2, 0, 0, b, 5e-10);
	check_all("fuel-gauge", good, 2, 0, 0, c, 5e-10);
}

/* Fenton, QMUL Bayesian network pages: .47, .13, .41, .54 (truncated), .44; full digits computed. */
static void test_train_strike(void **state)
{
	const struct said norman[] = { { "norman-late", "late" }, { "martin-late", "late" } };
	const struct expected n[] = { { "drivers.strike", .470588235 }, { 0 } };
	const struct expected m[] = { { "drivers.strike", .131274131 }, { "doors.late", .409266409 }, { 0 } };
	const struct expected both[] = { { "drivers.strike", .547283702 }, { "doors.late", .438631791 }, { 0 } };

	(void)state;
	check_all("train-strike", norman, 1, .17, 1e-12, n, 5e-10);
	check_all("train-strike", norman + 1, 1, 0, 0, m, 5e-10);
	check_all("train-strike", norman, 2, 0, 0, both, 5e-10);
}

/* Stanford probabilistic graphical models exercise: .1449, .35, .14. */
static void test_accident(void **state)
{
	const struct said jam[] = { { "traffic", "jam" }, { "president-seen", "yes" } };
	const struct expected a[] = { { "road.accident", .347826087 }, { 0 } };
	const struct expected b[] = { { "road.accident", .142857143 }, { 0 } };

	(void)state;
	check_all("accident", jam, 1, .1449, 1e-12, a, 5e-10);
	check_all("accident", jam, 2, 0, 0, b, 5e-10);
}

/* AIMA ch. 14: P(burglary | both call) .284, P(earthquake | both call) .176. */
static void test_burglary(void **state)
{
	const struct said both[] = { { "both-call", "both" } };
	const struct expected x[] = { { "house.burglary", .284171835 },
				      { "ground.earthquake", .176066838 }, { 0 } };

	(void)state;
	check_all("burglary", both, 1, .002084100239, 1e-9, x, 5e-10);
}

/* AIMA fig. 14.10 with priors of our own (values by enumeration with a general library); MacKay,
 * ITILA p. 293 (table read, posteriors computed). */
static void test_noisy_or(void **state)
{
	const struct said fever[] = { { "fever", "yes" }, { "flu-seen", "yes" } };
	const struct said none[] = { { "fever", "no" } };
	const struct expected a[] = { { "patient-cold.present", .722001502 },
		{ "patient-flu.present", .347024292 }, { "patient-malaria.present", .007752718 }, { 0 } };
	const struct expected b[] = { { "patient-cold.present", .215668977 }, { 0 } };
	const struct expected c[] = { { "patient-cold.present", .130434783 },
				      { "patient-flu.present", .010416667 }, { 0 } };
	const struct said alarm[] = { { "alarm", "yes" }, { "earthquake-felt", "yes" } };
	const struct expected d[] = { { "house.burglary", .495255127 }, { 0 } };
	const struct expected e[] = { { "house.burglary", .082722030 }, { 0 } };

	(void)state;
	check_all("fever", fever, 1, .117594880, 5e-9, a, 5e-10);
	check_all("fever", fever, 2, 0, 0, b, 5e-10);
	check_all("fever", none, 1, 0, 0, c, 5e-10);
	check_all("alarm", alarm, 1, .001998990, 5e-7, d, 5e-10);
	check_all("alarm", alarm, 2, 0, 0, e, 5e-10);
}

/* Jensen, Bayesian Networks and Decision Graphs ch. 1: numbers from memory, recomputed. */
static void test_start_problem(void **state)
{
	const struct said start[] = { { "start", "no" }, { "meter", "half" } };
	const struct expected a[] = { { "fuel.missing", 1 - .706813651 },
				      { "spark-plugs.dirty", 1 - .419373754 }, { 0 } };
	const struct expected b[] = { { "fuel.missing", 1 - .999309144 },
				      { "spark-plugs.dirty", 1 - .195650372 }, { 0 } };

	(void)state;
	check_all("start-problem", start, 1, .068216, 1e-9, a, 5e-10);
	check_all("start-problem", start, 2, 0, 0, b, 5e-10);
}

/* Lauritzen and Spiegelhalter (1988); table read, posteriors by three exact engines of a general
 * library.  Order: asia, smoking, x-ray, dyspnoea. */
static double gate_probability(const struct kn_knowledge *kn, const struct su_suspects *s,
			       const char *const *any, const char *const *both)
{
	double p = 0, sum = 0;

	for (int i = 0; i < s->nsets; i++) {
		bool on = false, a = false, b = false;

		for (int f = 0; f < s->sets[i].nnow; f++) {
			const char *ref = kn->modes[kn->faults[s->sets[i].now[f]].mode].ref;

			on = on || !strcmp(ref, any[0]);
			a = a || !strcmp(ref, both[0]);
			b = b || !strcmp(ref, both[1]);
		}
		sum += s->sets[i].weight;
		p += on || (a && b) ? s->sets[i].weight : 0;
	}
	return p / sum;
}

static void clinic(const struct said *said, int n, double t, double l, double b)
{
	static const char *const any[3][1] = { { "tuberculosis.by-itself" }, { "cancer.by-itself" },
					       { "bronchitis.by-itself" } };
	static const char *const both[3][2] = { { "asia.visited", "tuberculosis-link.holds" },
		{ "smoking.smokes", "cancer-link.holds" }, { "smoking.smokes", "bronchitis-link.holds" } };
	struct kn_knowledge *kn = load("chest-clinic");
	struct su_suspects *s = weigh(kn, said, n);

	fixture_near(gate_probability(kn, s, any[0], both[0]), t, 5e-10);
	fixture_near(gate_probability(kn, s, any[1], both[1]), l, 5e-10);
	fixture_near(gate_probability(kn, s, any[2], both[2]), b, 5e-10);
	su_free(s);
	kn_free(kn);
}

static void test_chest_clinic(void **state)
{
	const struct said ad[] = { { "asia", "yes" }, { "dyspnoea", "yes" }, { "smoking", "yes" } };
	const struct said normal[] = { { "asia", "yes" }, { "dyspnoea", "yes" }, { "x-ray", "normal" } };
	const struct said x[] = { { "asia", "yes" }, { "dyspnoea", "yes" }, { "x-ray", "abnormal" } };

	(void)state;
	clinic(NULL, 0, .010400000, .055000000, .450000000);
	clinic(ad, 2, .087750965, .099525145, .811402072);
	clinic(ad, 3, .072759539, .145519077, .867258208);
	clinic(normal, 3, .002248695, .002550419, .862760773);
	clinic(x, 3, .391711720, .444270508, .628821776);
	clinic(x + 2, 1, .092410883, .488711401, .506326156);
	clinic(x + 1, 1, .018845307, .102759223, .833967336);
	clinic(x + 1, 2, .113933325, .621252797, .681868538);
}

/* Polybox (structure and outputs of de Kleer and Williams 1987; minimal diagnoses published, the
 * probabilities by enumeration). */
static void test_polybox(void **state)
{
	const struct said seen[] = { { "outputs", "seen" } }, x6[] = { { "with-x-six", "seen" } };
	const struct said x4[] = { { "with-x-four", "seen" } }, y4[] = { { "with-y-four", "seen" } };
	const struct expected a[] = { { "a-one.faulty", .497635 }, { "m-one.faulty", .497635 },
		{ "m-two.faulty", .019609 }, { "m-three.faulty", .014780 }, { "a-two.faulty", .014780 }, { 0 } };
	const struct expected b[] = { { "a-one.faulty", .980680 }, { "m-one.faulty", .010000 },
		{ "m-two.faulty", .029127 }, { "m-three.faulty", .019516 }, { "a-two.faulty", .019516 }, { 0 } };
	const struct expected c[] = { { "m-one.faulty", 1 }, { "a-one.faulty", .01 }, { 0 } };
	const struct expected d[] = { { "m-two.faulty", 1 }, { "m-three.faulty", .502513 },
		{ "a-two.faulty", .502513 }, { "m-one.faulty", .01 }, { 0 } };

	(void)state;
	check_all("polybox", seen, 1, .0200950399, 1e-8, a, 5e-7);
	check_all("polybox", x6, 1, 0, 0, b, 5e-7);
	check_all("polybox", x4, 1, 0, 0, c, 5e-7);
	check_all("polybox", y4, 1, 0, 0, d, 5e-7);
}

/* Inverter chain: numbers by enumeration. */
static void test_inverters(void **state)
{
	const struct said coin[] = { { "coin", "wrong" } }, always[] = { { "always", "wrong" } };
	const struct expected a[] = { { "stage-one.faulty", .253781 }, { "stage-four.faulty", .253781 }, { 0 } };
	const struct expected b[] = { { "stage-two.faulty", .250051 }, { 0 } };

	(void)state;
	check_all("inverters", coin, 1, .019702, 2e-5, a, 5e-7);
	check_all("inverters", always, 1, .03881592, 1e-9, b, 5e-7);
}

/* Worked by hand from the noisy-OR formula. */
static void test_two_findings(void **state)
{
	const struct said both[] = { { "first", "yes" }, { "second", "no" } };
	const struct expected a[] = { { "cause-one.present", .349074 }, { "cause-two.present", .620954 }, { 0 } };
	const struct expected b[] = { { "cause-one.present", .211441 }, { "cause-two.present", .747654 }, { 0 } };

	(void)state;
	check_all("two-findings", both, 1, .025831144, 2e-8, a, 5e-7);
	check_all("two-findings", both, 2, .021109425, 5e-8, b, 5e-7);
}

/* Three-motor circuit: printed .0211538, full digits by enumeration; two trains .7225 by hand. */
static void test_motors_and_trains(void **state)
{
	const struct expected a[] = { { "k-five.fails", .945457 }, { "t-two.fails", .0734518 },
		{ "s-one.fails", .0374401 }, { "t-three-i.fails", .0200263 }, { 0 } };
	const struct expected b[] = { { "pump-a.fails", .823529 }, { "valve-b.fails", .588235 }, { 0 } };

	(void)state;
	check_all("three-motors", top, 1, .021153782, 5e-8, a, 5e-7);
	check_all("two-trains", top, 1, .7225, 1e-12, b, 5e-7);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_pressure_tank),
		cmocka_unit_test(test_pressure_tank_importance),
		cmocka_unit_test(test_seals_mooring_two_of_three),
		cmocka_unit_test(test_fuel_gauge),
		cmocka_unit_test(test_train_strike),
		cmocka_unit_test(test_accident),
		cmocka_unit_test(test_burglary),
		cmocka_unit_test(test_noisy_or),
		cmocka_unit_test(test_start_problem),
		cmocka_unit_test(test_chest_clinic),
		cmocka_unit_test(test_polybox),
		cmocka_unit_test(test_inverters),
		cmocka_unit_test(test_two_findings),
		cmocka_unit_test(test_motors_and_trains),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
