/* Places compared with each other, repeats, odd ways of typing: what is taken, what comes back with
 * a reason.  All expectations are worked by hand unless a source is named. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "reading/reading.h"
#include "fixture.h"

static struct rd_setup four(enum rd_unit unit, enum rd_derive derive)
{
	struct rd_setup s = fixture_setup(unit);
	static const char *const name[] = { "1", "2", "3", "4" };

	s.derive = derive;
	for (s.nplaces = 0; s.nplaces < 4; s.nplaces++)
		s.places[s.nplaces] = name[s.nplaces];
	return s;
}

static struct rd_result good(const struct rd_setup *s, const char *text)
{
	struct rd_result r;
	struct hs_err err = { 0 };

	if (rd_read(s, text, &r, &err) != RD_OK)
		fail_msg("\"%s\": %s", text, err.text);
	return r;
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

static double read_as(enum rd_unit unit, const char *text)
{
	struct rd_setup s = fixture_setup(unit);

	return good(&s, text).value;
}

static void test_differences_may_have_blanks(void **state)
{
	struct rd_setup t = fixture_setup(RD_DEGC);

	(void)state;
	fixture_near(read_as(RD_OHM, "12.4 - 0.3"), 12.1, 1e-12);
	fixture_near(read_as(RD_OHM, "12.4 ohm - 0.3 ohm"), 12.1, 1e-12);
	fixture_near(good(&t, "5 -3").value, 1, 1e-12); /* two readings of a temperature */
}

static void test_words_of_one_unit_may_be_apart(void **state)
{
	(void)state;
	fixture_near(read_as(RD_OHM, "5 k ohm"), 5000, 1e-9);
	fixture_near(read_as(RD_OHM, "1.5 M ohms"), 1.5e6, 1e-6);
	fixture_near(read_as(RD_ML, "2 fl oz"), 59.147059125, 1e-9);
}

static void test_minutes_and_seconds_are_one_time(void **state)
{
	(void)state;
	fixture_near(read_as(RD_SECOND, "1 min 30 s"), 90, 1e-9);
	fixture_near(read_as(RD_SECOND, "1 min 30"), 90, 1e-9);
	fixture_near(read_as(RD_MINUTE, "1 min 30 s"), 1.5, 1e-9);
	fixture_near(read_as(RD_SECOND, "1 min 1 min"), 60, 1e-9); /* twice the same: two readings */
}

static void test_inches_may_be_fractions(void **state)
{
	struct rd_setup s = fixture_setup(RD_MM);

	(void)state;
	fixture_near(good(&s, "3/8 in").value, 9.525, 1e-9);
	fixture_near(good(&s, "1 1/2 inch").value, 38.1, 1e-9);
	fixture_near(read_as(RD_INCH, "3/8"), .375, 1e-12);
	refused(&s, "3/8", "fraction without a unit");
}

static void test_about_widens_by_the_last_digit(void **state)
{
	struct rd_setup s = fixture_setup(RD_VOLT);

	(void)state;
	fixture_near(good(&s, "about 12.4").value, 12.4, 1e-12);
	fixture_near(good(&s, "about 12.4").u, .1 / sqrt(3), 1e-9);
	fixture_near(good(&s, "just under 12.4").value, 12.3, 1e-12);
	fixture_near(good(&s, "~12").u, 1 / sqrt(3), 1e-9);
	fixture_near(good(&s, "12.3 about 12.5").value, 12.4, 1e-12);
	fixture_near(good(&s, "12.3 ~12.5 just over 12.4").value, (12.3 + 12.5 + 12.5) / 3, 1e-12);
	refused(&s, " ;,", "Nothing was typed");
}

static void test_the_impossible_is_refused(void **state)
{
	struct rd_setup ohm = fixture_setup(RD_OHM), degc = fixture_setup(RD_DEGC), rpm = fixture_setup(RD_RPM);

	(void)state;
	refused(&ohm, "-5", "less than nothing");
	refused(&ohm, "0.3-12.4", "less than nothing");
	refused(&ohm, "999999 M", "more than any meter");
	refused(&ohm, "9999M9", "more than any meter");
	refused(&rpm, "-100", "less than nothing");
	refused(&degc, "-300", "colder");
	fixture_near(good(&degc, "-273.15").value, -273.15, 0); /* ITS-90 */
	fixture_near(read_as(RD_VOLT, "-0.3"), -.3, 1e-12);
}

static void test_a_blank_among_thousands_is_refused(void **state)
{
	struct rd_setup s = fixture_setup(RD_OHM);

	(void)state;
	refused(&s, "1 234", "tenfold");
	refused(&s, "12 345 678", "tenfold");
	fixture_near(good(&s, "8.1 8.0 8.2").value, 8.1, 1e-12);
	assert_int_equal(good(&s, "8.1 8.0 8.2").repeats, 3);
}

static void test_labels_are_for_all_or_for_none(void **state)
{
	struct rd_setup s = four(RD_DEGC, RD_EACH);

	(void)state;
	refused(&s, "98 2:61 97 95", "some have not");
	refused(&s, "1:1 1:2 1:3 1:4 1:5 1:6 1:7 1:8 1:9", "for one place");
	fixture_near(good(&s, "1:98 97 2:61").at[0].value, 97.5, 1e-12); /* repeats behind one label */
}

static void test_places_are_compared_only_when_there_are_two(void **state)
{
	struct rd_setup s = four(RD_KPA, RD_LEAST_OVER_MOST);

	(void)state;
	refused(&s, "1:1010", "two or more");
	refused(&s, "0 0 0 0", "nothing to compare");
	refused(&s, "1010 OL 1100 1120", "cannot be compared");
	fixture_near(good(&s, "2:1150 1:1010").value, 1010.0 / 1150, 1e-12);
	s = four(RD_DEGC, RD_EACH_OVER_HIGHEST);
	s.ambient = 30;
	refused(&s, "20 21 22 23", "not above 30");
}

/* JCGM 100 5.2: 950 +/- 20 over 1100 +/- 20 is 0.863636364, u 0.024023871 (python3-uncertainties,
 * OpenTURNS), and the gain they share adds nothing. */
static void test_ratio_carries_what_is_independent_only(void **state)
{
	struct rd_setup s = four(RD_KPA, RD_LEAST_OVER_MOST);
	struct rd_instrument gain = { "g", "g", 1, 0, 1 };
	struct rd_result r;

	(void)state;
	s.repeatability = 20;
	s.instrument = &gain;
	r = good(&s, "950 1100 1000 1000");
	fixture_near(r.value, .863636364, 1e-9);
	fixture_near(r.u, .024023871, 1e-9);
}

/* By hand: u of a spread is sqrt 2 times that of one, and the gain of 3 % counts on the difference. */
static void test_spread_has_the_gain_on_the_difference_only(void **state)
{
	struct rd_setup s = four(RD_MMHG, RD_SPREAD);
	struct rd_instrument gain = { "g", "g", 3, 0, 1 };

	(void)state;
	s.instrument = &gain;
	fixture_near(good(&s, "205 210 198 207").u, .03 * 12 / sqrt(3), 1e-12);
	s.repeatability = 3;
	fixture_near(good(&s, "205 210 198 207").u, hypot(3 * sqrt(2), .36 / sqrt(3)), 1e-12);
}

static void test_highest_over_itself_is_certain(void **state)
{
	struct rd_setup s = four(RD_DEGC, RD_EACH_OVER_HIGHEST);
	struct rd_result r;

	(void)state;
	s.repeatability = 8;
	s.ambient = 18;
	r = good(&s, "98 61 97 95");
	fixture_near(r.at[0].value, 1, 0);
	fixture_near(r.at[0].u, 0, 0);
	fixture_near(r.at[1].u, hypot(8, 43.0 / 80 * 8) / 80, 1e-12);
}

static void test_echo_shows_the_digits_typed(void **state)
{
	static const struct { enum rd_unit unit; const char *typed, *echo; } as[] = {
		{ RD_VOLT, "1.234", "read as 1.234 V" },   { RD_VOLT, "12,60", "read as 12.60 V" },
		{ RD_OHM, "0.005", "read as 0.005 ohm" },  { RD_OHM, "5k25", "read as 5250 ohm" },
		{ RD_OHM, "OL", "read as open" },          { RD_RPM, "1200", "read as 1200 rpm" },
		{ RD_OHM, "8.1 8.0 8.3", "read as 8.13 ohm" },
	};

	(void)state;
	for (size_t i = 0; i < sizeof as / sizeof *as; i++) {
		struct rd_setup s = fixture_setup(as[i].unit);

		assert_string_equal(good(&s, as[i].typed).echo, as[i].echo);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_differences_may_have_blanks),
		cmocka_unit_test(test_words_of_one_unit_may_be_apart),
		cmocka_unit_test(test_minutes_and_seconds_are_one_time),
		cmocka_unit_test(test_inches_may_be_fractions),
		cmocka_unit_test(test_about_widens_by_the_last_digit),
		cmocka_unit_test(test_the_impossible_is_refused),
		cmocka_unit_test(test_a_blank_among_thousands_is_refused),
		cmocka_unit_test(test_labels_are_for_all_or_for_none),
		cmocka_unit_test(test_places_are_compared_only_when_there_are_two),
		cmocka_unit_test(test_ratio_carries_what_is_independent_only),
		cmocka_unit_test(test_spread_has_the_gain_on_the_difference_only),
		cmocka_unit_test(test_highest_over_itself_is_certain),
		cmocka_unit_test(test_echo_shows_the_digits_typed),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
