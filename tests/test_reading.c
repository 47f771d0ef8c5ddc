/* The reading room: what was typed -> a figure, its uncertainty, a verdict.  Outside values name
 * their published source; "common practice, no source" marks facts of the trade. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "reading/normal.h"
#include "reading/parse.h"
#include "reading/reading.h"
#include "fixture.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

static struct rd_result good(const struct rd_setup *s, const char *text)
{
	struct rd_result r;
	struct hs_err err = { 0 };
	enum rd_status status = rd_read(s, text, &r, &err);

	if (status != RD_OK)
		fail_msg("\"%s\": status %d: %s", text, (int)status, err.text);
	return r;
}

static double read_as(enum rd_unit unit, const char *text)
{
	struct rd_setup s = fixture_setup(unit);

	return good(&s, text).value;
}

static void refused(const struct rd_setup *s, const char *text, const char *because)
{
	struct rd_result r;
	struct hs_err err = { 0 };

	if (rd_read(s, text, &r, &err) != RD_REFUSED)
		fail_msg("\"%s\" was taken as %g", text, r.value);
	if (!strstr(err.text, because))
		fail_msg("\"%s\" refused with \"%s\", not because \"%s\"", text, err.text, because);
}

/* ---- units ----------------------------------------------------------------------------------- */

/* NIST SP 811 (2008) App. B.8, seven digits; inch and bar exact. */
static void test_units_agree_with_sp811_when_converted(void **state)
{
	static const struct { enum rd_unit from, to; double factor; } sp811[] = {
		{ RD_PSI, RD_KPA, 6.894757 },    { RD_INHG, RD_KPA, 3.386389 },
		{ RD_MMHG, RD_KPA, .1333224 },   { RD_CMHG, RD_KPA, 1.333224 },
		{ RD_BAR, RD_KPA, 100 },         { RD_INCH, RD_MM, 25.4 },
		{ RD_LITRE, RD_ML, 1000 },       { RD_FLOZ, RD_ML, 29.57353 },
		{ RD_MINUTE, RD_SECOND, 60 },
	};

	(void)state;
	for (size_t i = 0; i < COUNT(sp811); i++)
		fixture_near(rd_unit_convert(1, sp811[i].from, sp811[i].to) / sp811[i].factor, 1, 1e-6);
}

/* The figures GNU units 2.22 prints for the same conversions, to its twelve digits. */
static void test_units_agree_with_gnu_units_when_converted(void **state)
{
	(void)state;
	fixture_near(rd_unit_convert(1, RD_PSI, RD_KPA), 6.89475729317, 1e-11);
	fixture_near(rd_unit_convert(1, RD_INHG, RD_KPA), 3.38638864034, 1e-11);
	fixture_near(rd_unit_convert(1, RD_CMHG, RD_KPA), 1.33322387415, 1e-11);
	fixture_near(rd_unit_convert(1, RD_FLOZ, RD_ML), 29.5735295625, 1e-10);
}

static void test_fahrenheit_has_its_zero_moved_when_converted(void **state)
{
	(void)state;
	fixture_near(read_as(RD_DEGC, "212 F"), 100, 1e-9);
	fixture_near(read_as(RD_DEGC, "68degF"), 20, 1e-9);
	fixture_near(read_as(RD_DEGC, "-40 degF"), -40, 1e-9);
	fixture_near(read_as(RD_DEGF, "105 C"), 221, 1e-9);
}

static void test_units_of_other_quantities_do_not_convert(void **state)
{
	struct rd_setup s = fixture_setup(RD_OHM);

	(void)state;
	assert_true(isnan(rd_unit_convert(1, RD_OHM, RD_VOLT)));
	refused(&s, "12 V", "not a unit for this");
	refused(&s, "12 furlongs", "not a unit this program knows");
}

static void test_every_unit_name_is_understood_when_typed(void **state)
{
	(void)state;
	for (int u = RD_NO_UNIT + 1; u < RD_UNIT_COUNT; u++) {
		enum rd_unit got = RD_NO_UNIT;

		assert_true(rd_unit_by_name(rd_unit_name((enum rd_unit)u), &got));
		assert_int_equal(got, u);
	}
}

/* ---- numbers --------------------------------------------------------------------------------- */

/* IEC 60062 letter codes: examples of its table; 5K25, 1M5 and 0R1 by the same rule. */
static void test_letter_codes_are_read_when_ohms_are_asked(void **state)
{
	static const struct { const char *code; double ohm; } table[] = {
		{ "R47", .47 },   { "4R7", 4.7 },   { "470R", 470 }, { "4K7", 4700 }, { "47K", 47e3 },
		{ "47K3", 47300 }, { "470K", 470e3 }, { "4M7", 4.7e6 }, { "R10", .1 }, { "R300", .3 },
		{ "1K0", 1000 },  { "2M2", 2.2e6 }, { "5K25", 5250 }, { "1M5", 1.5e6 }, { "0R1", .1 },
		{ "5k25", 5250 }, { "4r7", 4.7 },   { "5L6", .0056 },
	};

	(void)state;
	for (size_t i = 0; i < COUNT(table); i++)
		fixture_near(read_as(RD_OHM, table[i].code) / table[i].ohm, 1, 1e-12);
	fixture_near(read_as(RD_KILOHM, "5k25"), 5.25, 1e-12);
}

static void test_numbers_are_read_when_typed_in_every_way(void **state)
{
	static const struct { enum rd_unit unit; const char *text; double value; } as[] = {
		{ RD_OHM, "12.4", 12.4 },          { RD_OHM, "12,4", 12.4 },
		{ RD_OHM, " 12.4 ohm ", 12.4 },    { RD_OHM, "5.2k", 5200 },
		{ RD_OHM, "5.2 kohm", 5200 },      { RD_OHM, "1.5 M", 1.5e6 },
		{ RD_KILOHM, "5200 ohm", 5.2 },    { RD_VOLT, "120 mV", .12 },
		{ RD_VOLT, "12.6V", 12.6 },        { RD_AMPERE, "350 mA", .35 },
		{ RD_KPA, "10 bar", 1000 },        { RD_RPM, "1200", 1200 },
		{ RD_RPM, "1.2k", 1200 },          { RD_ML, "2 fl oz", 59.147059125 },
		{ RD_OHM, "12.4-0.3", 12.1 },      { RD_OHM, "8.1 8.0 8.2", 8.1 },
		{ RD_OHM, "8,1 8,0 8,2", 8.1 },    { RD_NO_UNIT, "1.30/5.02", 1.3 / 5.02 },
		{ RD_TURN, "2 3/8", 2.375 },       { RD_TURN, "3/8", .375 },
		{ RD_TURN, "2 turns 45 degrees", 2.125 }, { RD_TURN, "2 turns + 90 deg", 2.25 },
		{ RD_TURN, "just under 2 1/2", 2.4375 },  { RD_TURN, "just over 2", 2.0625 },
		{ RD_TURN, "about 2 1/4 turns", 2.25 },   { RD_DEGC, "-5", -5 },
		{ RD_MM, ".5", .5 },               { RD_MM, "0.028 in", .7112 },
	};

	(void)state;
	for (size_t i = 0; i < COUNT(as); i++) {
		double got = read_as(as[i].unit, as[i].text);

		if (!(fabs(got - as[i].value) < 1e-9))
			fail_msg("\"%s\" read as %.12g", as[i].text, got);
	}
}

static void test_open_and_short_are_read_when_typed(void **state)
{
	static const char *const open[] = { "OL", "open", "O.L", "infinite", "open circuit", "infinity" };
	struct rd_setup s = fixture_setup(RD_OHM);

	(void)state;
	for (size_t i = 0; i < COUNT(open); i++)
		assert_int_equal(good(&s, open[i]).kind, RD_OPEN);
	assert_int_equal(good(&s, "short").kind, RD_SHORT);
	assert_int_equal(good(&s, "short circuit").kind, RD_SHORT);
}

static void test_what_is_no_reading_is_refused_with_a_reason(void **state)
{
	struct rd_setup s = fixture_setup(RD_OHM);

	(void)state;
	refused(&s, "", "Nothing was typed");
	refused(&s, "   ", "Nothing was typed");
	refused(&s, "0x1F", "hexadecimal");
	refused(&s, "nan", "not a reading");
	refused(&s, "inf", "not a reading");
	refused(&s, "1,234.5", "two decimal marks");
	refused(&s, "1.234,5", "two decimal marks");
	refused(&s, "1'234", "decimal mark");
	refused(&s, "99999999999", "more than any meter shows");
	refused(&s, "hello", "not understood");
	refused(&s, "300 mohm", "thousandths or millions");
	refused(&s, "300m\xce\xa9", "thousandths or millions");
	fixture_near(good(&s, "300 Mohm").value, 300e6, 1);
	fixture_near(good(&s, "0.3 ohm").value, .3, 1e-12);
	refused(&s, "12.4 OL", "Open and a number");
}

/* ---- corrections ----------------------------------------------------------------------------- */

static struct rd_setup through_leads(double leads)
{
	struct rd_setup s = fixture_setup(RD_OHM);

	s.through_leads = true;
	s.leads = leads;
	return s;
}

/* The trade's own figures (common practice, no source): leads 4 ohm, two 8 ohm heaters. */
static void test_leads_are_taken_off_once_when_measured(void **state)
{
	struct rd_setup s = through_leads(4);
	struct rd_result r = good(&s, "12");

	(void)state;
	fixture_near(r.raw, 12, 0);
	fixture_near(r.value, 8, 1e-12);
	fixture_near(good(&s, "8").value, 4, 1e-12);
	fixture_near(good(&s, "16").value, 12, 1e-12);
	fixture_near(good(&s, "12-4").value, 8, 1e-12); /* typed as a difference: not again */
	fixture_near(good(&s, "5k").value, 5000, 0);    /* a few ohm of leads do not matter there */
}

static void test_leads_are_asked_for_when_unknown(void **state)
{
	struct rd_setup s = through_leads(NAN);
	struct rd_result r;
	struct hs_err err = { 0 };

	(void)state;
	assert_int_equal(rd_read(&s, "12", &r, &err), RD_ASK_LEADS);
	assert_int_equal(rd_read(&s, "12.4-0.3", &r, NULL), RD_OK);
	assert_int_equal(rd_read(&s, "OL", &r, NULL), RD_OK);
	s.leads_waived = true;
	assert_int_equal(rd_read(&s, "12", &r, NULL), RD_OK);
	fixture_near(r.value, 12, 0);
	assert_true(r.u >= .1); /* and it is worth less */
}

/* 0.65 +/- 0.02 less 0.20 +/- 0.02: 0.45, u = 0.02 sqrt 2 (JCGM 100 5.1.2; computed with
 * Debian's python3-uncertainties as well). */
static void test_uncertainty_of_leads_is_added_when_subtracted(void **state)
{
	struct rd_setup s = through_leads(.2);
	struct rd_result r;

	(void)state;
	s.leads_u = .02;
	s.repeatability = .02;
	r = good(&s, "0.65");
	fixture_near(r.value, .45, 1e-12);
	fixture_near(r.u, .028284271, 1e-9);
}

/* IEC 60028: 5.20 +/- 0.05 ohm at 35 +/- 2 degC is 4.910575139 ohm at 20 degC, u 0.059644609
 * (234.5 form; python3-uncertainties and OpenTURNS). */
static void test_copper_is_carried_to_reference_when_warm(void **state)
{
	struct rd_setup s = fixture_setup(RD_OHM);
	struct rd_result r;

	(void)state;
	s.repeatability = .05;
	s.part_degC = 35;
	s.part_degC_u = 2;
	s.reference_degC = 20;
	r = good(&s, "5.20");
	fixture_near(r.value, 4.910575139, 1e-9);
	fixture_near(r.u, .059644609, 1e-9);
}

/* A published table of factors for copper windings from 25 degC, printed to three decimals. */
static void test_copper_factors_agree_with_table_when_hot(void **state)
{
	static const double table[][2] = { { 40, 1.058 }, { 50, 1.096 }, { 60, 1.135 }, { 75, 1.193 },
					   { 80, 1.212 }, { 100, 1.289 }, { 125, 1.385 }, { 150, 1.482 } };
	struct rd_setup s = fixture_setup(RD_OHM);

	(void)state;
	s.part_degC = 25;
	for (size_t i = 0; i < COUNT(table); i++) {
		s.reference_degC = table[i][0];
		fixture_near(good(&s, "1.000").value, table[i][1], 5.1e-4);
	}
}

/* ISO 2533 standard atmosphere: pressure over that of sea level. */
static void test_pressure_is_carried_to_sea_level_when_high_up(void **state)
{
	static const double iso2533[][2] = { { 500, .942125 }, { 1000, .886993 }, { 1500, .834503 },
					     { 2000, .784557 }, { 2500, .737059 }, { 3000, .691917 } };
	struct rd_setup s = fixture_setup(RD_KPA);

	(void)state;
	for (size_t i = 0; i < COUNT(iso2533); i++) {
		s.altitude_m = iso2533[i][0];
		fixture_near(860 / good(&s, "860").value, iso2533[i][1], 2e-6);
	}
}

/* ---- uncertainty ----------------------------------------------------------------------------- */

/* Multimeters worked in published notes on meter specifications: percent of reading plus digits. */
static void test_percent_and_digits_make_a_rectangle(void **state)
{
	static const struct { double percent, digits, value, digit, u; } notes[] = {
		{ 2.5, 3, 32.00, .01, .479200723 },  { 2.5, 3, .09, .01, .018619546 },
		{ .08, 2, 2.000, .001, .002078461 }, { .8, 2, 100.0, .1, .577350269 },
	};

	(void)state;
	for (size_t i = 0; i < COUNT(notes); i++) {
		struct rd_instrument m = { "m", "m", notes[i].percent, notes[i].digits, notes[i].digit };

		fixture_near(rd_instrument_u(&m, notes[i].value, notes[i].digit, 0), notes[i].u, 1e-9);
	}
}

/* JCGM 100 4.3.7 example 2 and 5.1.5 (from memory, recomputed): a = 15 uV, u = 8.7 uV, with
 * s = 12 uV combined 15 uV. */
static void test_type_a_and_b_combine_when_both_are_known(void **state)
{
	struct rd_instrument m = { "m", "m", 14e-4, 1, 2e-6 };

	(void)state;
	fixture_near(rd_instrument_u(&m, .928571, 2e-6, 0), 8.7e-6, .05e-6);
	fixture_near(rd_instrument_u(&m, .928571, 2e-6, 12e-6), 14.8e-6, .05e-6);
}

/* JCGM 100 4.2: 1203 1198 1201 1205 1200 -> mean 1201.4, u = s / sqrt 5 = 1.208304597. */
static void test_repeats_give_type_a_when_pooled(void **state)
{
	struct rd_setup s = fixture_setup(RD_RPM);
	struct rd_result r = good(&s, "1203 1198 1201 1205 1200");

	(void)state;
	fixture_near(r.value, 1201.4, 1e-9);
	fixture_near(r.u, 1.208304597, 1e-9);
}

/* ---- verdict --------------------------------------------------------------------------------- */

static void judged(double low, double high, const char *text, double u, double p, double by,
		   enum rd_verdict v)
{
	struct rd_setup s = fixture_setup(RD_VOLT);
	struct rd_result r;

	s.low = low;
	s.high = high;
	s.repeatability = u;
	r = good(&s, text);
	fixture_near(r.p_inside, p, by);
	assert_int_equal(r.verdict, v);
}

/* JCGM 106: 7.3.3 examples 1 and 2, 7.4 (numbers from memory, recomputed). */
static void test_conformance_probability_agrees_with_jcgm106(void **state)
{
	(void)state;
	judged(-INFINITY, -5.40, "-5.47", .05, .919243, 1e-6, RD_TOO_CLOSE);
	judged(490, INFINITY, "509.7", 8.6, .98901, 1e-5, RD_INSIDE);
	judged(12.5, 16.3, "13.6", 1.8, .662630, 1e-6, RD_TOO_CLOSE);
}

/* ISO 14253-1: conform only inside limits shrunk by U, not conform only outside limits grown by
 * it; limits 0.10 and 0.15, U 0.01 = 2 u (the rule as quoted widely; values ours).  At U past the
 * limit the conformance probability is 2.3 %, so "outside" by our 5 % as well. */
static void test_verdict_agrees_with_iso14253_when_far_from_limits(void **state)
{
	(void)state;
	judged(.10, .15, "0.12", .005, 1, 1e-4, RD_INSIDE);
	judged(.10, .15, "0.105", .005, .841345, 1e-5, RD_TOO_CLOSE);
	judged(.10, .15, "0.095", .005, .158655, 1e-5, RD_TOO_CLOSE);
	judged(.10, .15, "0.09", .005, .022750, 1e-5, RD_OUTSIDE);
	judged(.10, .15, "0.16", .005, .022750, 1e-5, RD_OUTSIDE);
}

static void test_open_is_outside_when_band_has_a_top(void **state)
{
	struct rd_setup s = fixture_setup(RD_OHM);

	(void)state;
	s.low = 10.5;
	s.high = 13.5;
	assert_int_equal(good(&s, "OL").verdict, RD_OUTSIDE);
	assert_int_equal(good(&s, "short").verdict, RD_OUTSIDE);
	s.high = INFINITY;
	assert_int_equal(good(&s, "OL").verdict, RD_INSIDE);
	s.low = -INFINITY;
	assert_int_equal(good(&s, "OL").verdict, RD_NO_BAND);
}

/* Any table of the normal distribution; quantiles as in JCGM 106 table 1. */
static void test_normal_agrees_with_tables(void **state)
{
	static const double cdf[][2] = { { .5, .691462461 }, { 1, .841344746 }, { 1.5, .933192799 },
					 { 1.96, .975002105 }, { 2, .977249868 }, { 3, .998650102 } };
	static const double quantile[][2] = { { .80, .841621 }, { .90, 1.281552 }, { .95, 1.644854 },
					      { .99, 2.326348 }, { .999, 3.090232 } };

	(void)state;
	for (size_t i = 0; i < COUNT(cdf); i++) {
		fixture_near(normal_cdf(cdf[i][0]), cdf[i][1], 1e-9);
		fixture_near(normal_cdf(-cdf[i][0]), 1 - cdf[i][1], 1e-9);
	}
	for (size_t i = 0; i < COUNT(quantile); i++)
		fixture_near(normal_quantile(quantile[i][0]), quantile[i][1], 1e-6);
	for (double p = 1e-12; p < 1; p = p < .4 ? p * 3 : p + .07)
		fixture_near(normal_cdf(normal_quantile(p)) / p, 1, 1e-9);
}

/* ---- lists ----------------------------------------------------------------------------------- */

static struct rd_setup four(enum rd_unit unit, enum rd_derive derive)
{
	struct rd_setup s = fixture_setup(unit);
	static const char *const name[] = { "1", "2", "3", "4" };

	s.derive = derive;
	for (s.nplaces = 0; s.nplaces < 4; s.nplaces++)
		s.places[s.nplaces] = name[s.nplaces];
	return s;
}

static void test_list_is_read_when_labelled_in_any_order(void **state)
{
	struct rd_setup s = four(RD_DEGC, RD_EACH);
	struct rd_result r = good(&s, "2:61 1:98, 4:95 3:97");

	(void)state;
	assert_int_equal(r.nplaces, 4);
	fixture_near(r.at[0].value, 98, 0);
	fixture_near(r.at[1].value, 61, 0);
	fixture_near(r.at[2].value, 97, 0);
	fixture_near(r.at[3].value, 95, 0);
	r = good(&s, "98 61 97 95");
	fixture_near(r.at[1].value, 61, 0);
	r = good(&s, "3:97");
	assert_false(r.at[0].given);
	assert_true(r.at[2].given);
	refused(&s, "98 61 97", "3 numbers for 4 places");
	refused(&s, "7:98", "does not begin with the name of a place");
}

/* Common practice, no source: spread of vacuum, balance of compression, header temperatures. */
static void test_lists_are_derived_when_compared(void **state)
{
	struct rd_setup s = four(RD_MMHG, RD_SPREAD);
	struct rd_result r = good(&s, "205 210 198 207");

	(void)state;
	fixture_near(r.value, 12, 1e-12);
	s = four(RD_KPA, RD_LEAST_OVER_MOST);
	fixture_near(good(&s, "1010 1150 1100 1120").value, 1010.0 / 1150, 1e-12);
	s = four(RD_DEGC, RD_EACH_OVER_HIGHEST);
	s.ambient = 18;
	r = good(&s, "98 61 97 95");
	fixture_near(r.at[1].value, 43.0 / 80, 1e-12);
}

static void test_shared_gain_cancels_when_a_ratio_is_taken(void **state)
{
	struct rd_setup s = four(RD_KPA, RD_LEAST_OVER_MOST);
	struct rd_instrument gain_only = { "g", "g", 1, 0, 1 };

	(void)state;
	s.instrument = &gain_only;
	fixture_near(good(&s, "950 1100 1100 1100").u, 0, 1e-12);
}

/* ---- questions back -------------------------------------------------------------------------- */

static void test_slip_is_asked_about_when_a_thousand_times_off(void **state)
{
	struct rd_setup s = fixture_setup(RD_OHM);
	struct rd_result r;

	(void)state;
	s.typical = 5000;
	assert_int_equal(rd_read(&s, "5.25", &r, NULL), RD_ASK_SLIP);
	assert_int_equal(rd_read(&s, "5.25k", &r, NULL), RD_OK);
	assert_int_equal(rd_read(&s, "OL", &r, NULL), RD_OK);
	s.slip_confirmed = true;
	assert_int_equal(rd_read(&s, "5.25", &r, NULL), RD_OK);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_units_agree_with_sp811_when_converted),
		cmocka_unit_test(test_units_agree_with_gnu_units_when_converted),
		cmocka_unit_test(test_fahrenheit_has_its_zero_moved_when_converted),
		cmocka_unit_test(test_units_of_other_quantities_do_not_convert),
		cmocka_unit_test(test_every_unit_name_is_understood_when_typed),
		cmocka_unit_test(test_letter_codes_are_read_when_ohms_are_asked),
		cmocka_unit_test(test_numbers_are_read_when_typed_in_every_way),
		cmocka_unit_test(test_open_and_short_are_read_when_typed),
		cmocka_unit_test(test_what_is_no_reading_is_refused_with_a_reason),
		cmocka_unit_test(test_leads_are_taken_off_once_when_measured),
		cmocka_unit_test(test_leads_are_asked_for_when_unknown),
		cmocka_unit_test(test_uncertainty_of_leads_is_added_when_subtracted),
		cmocka_unit_test(test_copper_is_carried_to_reference_when_warm),
		cmocka_unit_test(test_copper_factors_agree_with_table_when_hot),
		cmocka_unit_test(test_pressure_is_carried_to_sea_level_when_high_up),
		cmocka_unit_test(test_percent_and_digits_make_a_rectangle),
		cmocka_unit_test(test_type_a_and_b_combine_when_both_are_known),
		cmocka_unit_test(test_repeats_give_type_a_when_pooled),
		cmocka_unit_test(test_conformance_probability_agrees_with_jcgm106),
		cmocka_unit_test(test_verdict_agrees_with_iso14253_when_far_from_limits),
		cmocka_unit_test(test_open_is_outside_when_band_has_a_top),
		cmocka_unit_test(test_normal_agrees_with_tables),
		cmocka_unit_test(test_list_is_read_when_labelled_in_any_order),
		cmocka_unit_test(test_lists_are_derived_when_compared),
		cmocka_unit_test(test_shared_gain_cancels_when_a_ratio_is_taken),
		cmocka_unit_test(test_slip_is_asked_about_when_a_thousand_times_off),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
