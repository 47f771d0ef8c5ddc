/* The workshop's sums, one line in and one line out; and uncertainty carried through any of them. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "reading/propagate.h"
#include "reading/unit.h"
#include "reading/work.h"
#include "fixture.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

static void gives(const char *line, const char *want)
{
	struct text t = { 0 };
	struct hs_err err = { 0 };

	if (rd_work(line, &t, &err) < 0)
		fail_msg("\"%s\": %s", line, err.text);
	if (strcmp(text_str(&t), want))
		fail_msg("\"%s\" gives \"%s\", not \"%s\"", line, text_str(&t), want);
	text_free(&t);
}

static void refused(const char *line, const char *because)
{
	struct text t = { 0 };
	struct hs_err err = { 0 };

	if (rd_work(line, &t, &err) == 0)
		fail_msg("\"%s\" gives \"%s\"", line, text_str(&t));
	if (!strstr(err.text, because))
		fail_msg("\"%s\" refused with \"%s\"", line, err.text);
	assert_int_equal(t.len, 0);
	text_free(&t);
}

/* ---- through the prompt ------------------------------------------------------------------------- */

/* Worked numbers of the trade: common practice, no source; the air is ISO 2533, copper IEC 60028,
 * leak-down FAA AC 43.13-1B 8-14 (80 psi in, 60 held: 25 %). */
static void test_rules_of_the_trade_give_their_worked_numbers(void **state)
{
	static const char *const worked[][2] = {
		{ "leads 3.1 0.3", "2.8 ohm" },
		{ "leads 12 4", "8 ohm" },
		{ "leads 8 4", "4 ohm" },
		{ "leads 16 4", "12 ohm" },
		{ "copper 3.36 72", "2.79 ohm" },
		{ "copper 552 80", "446.7 ohm" },
		{ "parallel 8 8", "4 ohm" },
		{ "parallel 12 OL 12", "6 ohm" },
		{ "parallel OL OL", "open" },
		{ "branches 12 6.0", "2 good: that many show 6.00 ohm" },
		{ "branches 12 12", "1 good: that many show 12.00 ohm" },
		{ "current 12 4 11.4", "3.8 A" },
		{ "current 12 3 11.4", "2.85 A" },
		{ "secondary 24.8 5.1 5.0", "14.7 kohm" },
		{ "secondary 24k8 5k1 5k", "14.7 kohm" },
		{ "ratio 1.30 5.02 0.12", "0.2408" },
		{ "volts 0.235 4.94 0.01", "1.169 V" },
		{ "sweep 1.18 2.52 4.00", "worst -2.5 % off the line at point 2; never backward" },
		{ "float 13.2 13.8", "height 13.50 mm, twist 0.60 mm: more than 0.5 mm, straighten it" },
		{ "level 7 5", "-2.222 mm" },
		{ "sea-level 860 1500", "1031 kPa" },
		{ "balance 1010 1150", "0.8783" },
		{ "wet-gain 700 860", "22.9 %" },
		{ "leak-down 700 595", "15.0 %" },
		{ "leak-down 80 psi 60 psi", "25.0 %" },
		{ "leak-down 80 72", "10.0 %" },
		{ "leak-down 100 91", "9.0 %" },
		{ "spread 205 210 198 207", "12 mmHg" },
		{ "drops 12.6 12.1 0.2 0.3", "0.50 V in all, worst number 2; nothing missed" },
		{ "drops 12.6 12.1 0.2 0.1", "0.30 V in all, worst number 1; 0.20 V missed: a stretch was left out" },
		{ "drop 0.42 3.5", "0.12 ohm" },
		{ "parasitic 10 15", "13.89 day" },
		{ "sealed 12.65", "75.0 %" },
		{ "cranking 0", "9.2 V" },
		{ "star 0.62 0.61 0.63 0.2", "a 0.220 ohm, b 0.200 ohm, c 0.210 ohm" },
		{ "alternator 44 3600 5000", "61.11 V" },
		{ "turns 1 7/8 1/2", "2 3/8 turns" },
		{ "turns 2 3/8 -1/8", "2 1/4 turns" },
		{ "flow 200 30", "400 mL/min" },
		{ "mixture 2000", "10.3 %" },
		{ "jet 120 2000", "114.2" },
		{ "header 61 98 18", "0.5375" },
		{ "economy 20 14", "42.9 %" },
	};

	(void)state;
	for (size_t i = 0; i < COUNT(worked); i++)
		gives(worked[i][0], worked[i][1]);
}

/* NIST SP 811 (2008) App. B; 105 degC is 221 degF by definition. */
static void test_units_convert_when_asked(void **state)
{
	(void)state;
	gives("convert 150 psi kPa", "1034.214 kPa");
	gives("convert 29.92 inHg kPa", "101.3207 kPa");
	gives("convert 105 C F", "221 degF");
	gives("convert 1 in mm", "25.4 mm");
	gives("convert 2floz mL", "59.14706 mL");
	refused("convert 1 psi ohm", "does not convert");
	refused("convert 1", "Type it like");
}

static void test_lines_that_are_no_sum_are_refused(void **state)
{
	(void)state;
	refused("", "Nothing was typed");
	refused("guess 1 2", "no sum \"guess\"");
	refused("copper 3.36", "Type it like: copper OHM DEGC");
	refused("leads 0.2 0.3", "cannot be");
	refused("turns 2 8000000", "cannot be");
	refused("turns 2t 8000000t 63306022t 197006533t 8000000t 63306022t", "cannot be"); /* a fuzzer's */
	refused("seat OL 2", "cannot be");
	refused("drop 0.42 0.1", "cannot be");
	refused("leak-down 60 80", "cannot be");
	refused("ratio 1 0.1 0.2", "cannot be");
	refused("parallel 1 x", "not understood");
	refused("parallel 1 V", "not a unit for this");
	refused("parallel 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1", "Type it like");
	refused("parallel 1+-x", "not understood");
}

static void test_every_sum_is_listed(void **state)
{
	const char *name, *takes, *meaning;
	int n = 0;

	(void)state;
	while (rd_work_usage(n, &name, &takes, &meaning)) {
		assert_true(*name && *takes && *meaning);
		refused(name, "Type it like");
		n++;
	}
	assert_true(n > 30);
}

/* ---- uncertainty -------------------------------------------------------------------------------- */

/* python3-uncertainties 3.1.6 and OpenTURNS 1.20 of Debian 12 gave these, to nine digits. */
static void test_uncertainty_is_carried_when_figures_have_one(void **state)
{
	(void)state;
	gives("parallel 100+-1 150+-2", "60.0 ohm, u 0.48");             /* 0.481663783 */
	gives("parallel 100+-1 150+-2 330+/-5", "50.8 ohm, u 0.36");     /* 50.769230769, 0.364600385 */
	gives("unmask 60+-0.3 150+-1.5", "100.0 ohm, u 1.1");            /* 100, 1.067187373 */
	gives("leads 0.65\xc2\xb1" "0.02 0.20\xc2\xb1" "0.02", "0.45 ohm, u 0.028"); /* 0.028284271 */
	gives("balance 950+-20 1100+-20", "0.86, u 0.024");              /* 0.863636364, 0.024023871 */
	gives("leak-down 1100+-20 950+-20", "13.6 %, u 2.4");            /* 13.636363636, 2.402387083 */
	gives("drop 1.25+-0.01 0.5+-0.005", "2.50 ohm, u 0.032");        /* 2.5, 0.032015621 */
	gives("copper 5.20+-0.05 35+-2", "4.91 ohm, u 0.06");            /* 4.910575139, 0.059644609 */
}

static double side_by_side(const double *x, int n)
{
	double conductance = 0;

	for (int i = 0; i < n; i++)
		conductance += 1 / x[i];
	return 1 / conductance;
}

static double product_over_sum(const double *x, int n) { return n == 2 ? x[0] * x[1] / (x[0] + x[1]) : NAN; }

/* Both ways to write two in parallel agree: nothing is counted twice. */
static void test_both_forms_of_parallel_agree(void **state)
{
	static const struct rd_amount two[] = { { 100, 1 }, { 150, 2 } };
	static const struct rd_amount three[] = { { 100, 1 }, { 150, 2 }, { 330, 5 } };

	(void)state;
	fixture_near(rd_propagate(side_by_side, two, 2, NULL).u, .481663783, 1e-8);
	fixture_near(rd_propagate(product_over_sum, two, 2, NULL).u, .481663783, 1e-8);
	fixture_near(rd_propagate(side_by_side, three, 3, NULL).value, 50.769230769, 1e-9);
	fixture_near(rd_propagate(side_by_side, three, 3, NULL).u, .364600385, 1e-8);
}

static double real_part(const double *x, int n) { return n == 3 ? x[0] * cos(x[2]) / x[1] : NAN; }
static double imaginary_part(const double *x, int n) { return n == 3 ? x[0] * sin(x[2]) / x[1] : NAN; }
static double magnitude(const double *x, int n) { return n == 3 ? x[0] / x[1] : NAN; }

static double mean(const double *x)
{
	double sum = 0;

	for (int i = 0; i < 5; i++)
		sum += x[i];
	return sum / 5;
}

/* Covariance of two means of five. */
static double covariance(const double *x, const double *y)
{
	double sum = 0;

	for (int i = 0; i < 5; i++)
		sum += (x[i] - mean(x)) * (y[i] - mean(y));
	return sum / 20;
}

/* JCGM 100:2008 H.2: five readings of volts, amperes and phase taken together. */
static void test_correlated_figures_agree_with_jcgm100_h2(void **state)
{
	static const double data[3][5] = {
		{ 5.007, 4.994, 5.005, 4.990, 4.999 },
		{ 19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3 },
		{ 1.0456, 1.0438, 1.0468, 1.0428, 1.0433 },
	};
	struct rd_amount x[3], a;
	double r[9];

	(void)state;
	for (int i = 0; i < 3; i++)
		x[i] = (struct rd_amount){ mean(data[i]), sqrt(covariance(data[i], data[i])) };
	for (int i = 0; i < 9; i++)
		r[i] = covariance(data[i / 3], data[i % 3]) / (x[i / 3].u * x[i % 3].u);
	fixture_near(x[0].u, 3.20936131e-3, 1e-10);
	fixture_near(x[1].u, 9.47100839e-6, 1e-13);
	fixture_near(r[1], -.36, .005);
	fixture_near(r[2], .86, .005);
	fixture_near(r[5], -.65, .005);
	a = rd_propagate(real_part, x, 3, r);
	fixture_near(a.value, 127.732169928, 1e-8);
	fixture_near(a.u, .071071407, 1e-7);
	a = rd_propagate(imaginary_part, x, 3, r);
	fixture_near(a.value, 219.846511913, 1e-8);
	fixture_near(a.u, .295581677, 1e-7);
	a = rd_propagate(magnitude, x, 3, r);
	fixture_near(a.value, 254.259701948, 1e-8);
	fixture_near(a.u, .236336130, 1e-7);
}

static double over(const double *x, int n) { return n == 2 ? x[0] / x[1] : NAN; }

/* One gain error of 1 % in both (JCGM 100 5.2.2 note 1: fully correlated) cancels in the ratio. */
static void test_shared_gain_cancels_in_a_ratio(void **state)
{
	static const struct rd_amount x[] = { { 950, 9.5 }, { 1100, 11 } };
	static const double all[] = { 1, 1, 1, 1 };

	(void)state;
	fixture_near(rd_propagate(over, x, 2, all).u, 0, 1e-9);
	assert_true(rd_propagate(over, x, 2, NULL).u > .01);
}

static double total(const double *x, int n)
{
	double sum = 0;

	for (int i = 0; i < n; i++)
		sum += x[i];
	return sum;
}

/* NIST TN 1297 Table D.1: root sum of squares 33.81 nm; JCGM 100 H.1 without the second-order two:
 * 31.67 nm. */
static void test_long_budgets_agree_with_tn1297(void **state)
{
	static const double part[] = { 25, 5.8, 3.9, 6.7, 2.9, 16.6, 1.7, 10.2, 5.8 };
	struct rd_amount x[COUNT(part)] = { { 0, 0 } };

	(void)state;
	for (size_t i = 0; i < COUNT(part); i++)
		x[i].u = part[i];
	fixture_near(rd_propagate(total, x, 9, NULL).u, 33.812424, 1e-6);
	fixture_near(rd_propagate(total, x, 6, NULL).u, 31.67, .01);
}

/* ---- GNU units, where it is installed -------------------------------------------------------------- */

static double by_gnu_units(const char *from, const char *to)
{
	char command[100], line[100] = "";
	FILE *f;

	snprintf(command, sizeof command, "units -t -d 12 '%s' '%s' 2>/dev/null </dev/null", from, to);
	f = popen(command, "r");
	if (!f)
		return NAN;
	if (!fgets(line, sizeof line, f))
		*line = '\0';
	pclose(f);
	return *line ? strtod(line, NULL) : NAN;
}

static void test_units_agree_with_gnu_units_when_installed(void **state)
{
	static const struct { enum rd_unit from, to; const char *name_from, *name_to; } pair[] = {
		{ RD_PSI, RD_KPA, "psi", "kPa" },       { RD_INHG, RD_KPA, "inHg", "kPa" },
		{ RD_MMHG, RD_KPA, "mmHg", "kPa" },     { RD_CMHG, RD_KPA, "10 mmHg", "kPa" },
		{ RD_BAR, RD_KPA, "bar", "kPa" },       { RD_INCH, RD_MM, "inch", "mm" },
		{ RD_FLOZ, RD_ML, "usfloz", "mL" },     { RD_TURN, RD_DEGREE, "turn", "degree" },
		{ RD_KGF_PER_CM2, RD_KPA, "kgf/cm^2", "kPa" },
		{ RD_INH2O, RD_KPA, "inH2O", "kPa" },   { RD_MMH2O, RD_KPA, "mmH2O", "kPa" },
		{ RD_FOOT_POUND, RD_NEWTON_METRE, "ft lbf", "N m" },
		{ RD_INCH_POUND, RD_NEWTON_METRE, "in lbf", "N m" },
		{ RD_KGF_METRE, RD_NEWTON_METRE, "kgf m", "N m" },
		{ RD_DAY, RD_MINUTE, "day", "minute" }, { RD_MEGOHM, RD_OHM, "megaohm", "ohm" },
	};

	(void)state;
	if (isnan(by_gnu_units("inch", "mm")))
		skip();
	for (size_t i = 0; i < COUNT(pair); i++)
		fixture_near(rd_unit_convert(1, pair[i].from, pair[i].to) /
				by_gnu_units(pair[i].name_from, pair[i].name_to), 1, 1e-11);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_rules_of_the_trade_give_their_worked_numbers),
		cmocka_unit_test(test_units_convert_when_asked),
		cmocka_unit_test(test_lines_that_are_no_sum_are_refused),
		cmocka_unit_test(test_every_sum_is_listed),
		cmocka_unit_test(test_uncertainty_is_carried_when_figures_have_one),
		cmocka_unit_test(test_both_forms_of_parallel_agree),
		cmocka_unit_test(test_correlated_figures_agree_with_jcgm100_h2),
		cmocka_unit_test(test_shared_gain_cancels_in_a_ratio),
		cmocka_unit_test(test_long_budgets_agree_with_tn1297),
		cmocka_unit_test(test_units_agree_with_gnu_units_when_installed),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
