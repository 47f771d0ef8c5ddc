/* The grammar under a storm of made-up answers: pieces that people type, in any order, with bytes
 * changed.  Seeded, so the same on every machine.  And properties that hold for every answer. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "reading/blink.h"
#include "reading/parse.h"
#include "reading/reading.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define ANSWERS 150000
#define TEXT 200

/* xorshift64* (Vigna 2016): small, seeded, the same everywhere. */
static uint64_t seed;

static uint64_t next(void)
{
	seed ^= seed >> 12;
	seed ^= seed << 25;
	seed ^= seed >> 27;
	return seed * 0x2545F4914F6CDD1DULL;
}

static int below(int n) { return (int)((next() >> 33) % (uint64_t)n); }

static const char *const piece[] = {
	"0", "1", "2", "12.4", "12,4", ".5", "5.", "0.3", "1e5", "99999999999", "1234567", "-3", "+7",
	"5k25", "4R7", "R47", "1M5", "4L7", "2M", "k", "M", "R", "0x1F", "nan", "inf", "1.234,5", "1'000",
	"OL", "open", "open circuit", "short", "infinite", "O.L", "~", "about", "just under", "just over",
	"3/8", "1/2", "7/3", "1/0", "2 3/8", "/", "-", "--", " - ", "+", "and", "plus", ":", "1:", "2:",
	"3: ", "4:", "5:", "x:", ",", ";", " ", "  ", "\t", "ohm", "ohms", "kohm", "V", "mV", "A", "mA", "mm",
	"in", "\"", "kPa", "bar", "psi", "mmHg", "inHg", "rpm", "s", "min", "mL", "fl oz", "fl", "oz", "C", "F",
	"degC", "\xc2\xb0\103", "degrees", "turns", "t", "%", "g", "day", "\xe2\x84\xa6", "\xce\xa9", "\xff",
	"\xe2\x88\x9e", "\xc3", "\x01", "long", "LLSSS", "the", "0.000000001", "1000000000",
	"0000000000000000000000000000000000000000000000000000000000000000000000000001",
};

static const char *const place[] = { "1", "2", "3", "4", "left", "right", "a", "b" };

static void any_pieces(char text[TEXT])
{
	int n = 1 + below(7);

	text[0] = '\0';
	for (int i = 0; i < n; i++) {
		const char *add = piece[below((int)COUNT(piece))];

		if (strlen(text) + strlen(add) + 2 > TEXT)
			break;
		strcat(text, add);
		if (below(2))
			strcat(text, " ");
	}
}

/* What somebody at the bike might mean: numbers with labels and units, a word now and then. */
static void any_sense(const struct rd_setup *s, char text[TEXT])
{
	static const char *const before[] = { "", "", "", "", "~", "about ", "just under ", "just over " };
	static const char *const behind[] = { "", "", "", " ", "-0.3", " - 0.2", "/5.02", " 3/8", "k", "M", "R5",
					      " and 30", " 45 degrees" };
	bool labels = s->nplaces && below(2);
	int n = s->nplaces && below(4) ? s->nplaces : 1 + below(4);

	text[0] = '\0';
	for (int i = 0; i < n && strlen(text) < TEXT - 60; i++) {
		char number[24];

		if (labels)
			strcat(strcat(text, s->places[below(s->nplaces)]), ":");
		snprintf(number, sizeof number, "%.*f", below(4), below(20000) / pow(10, below(4)));
		strcat(text, before[below((int)COUNT(before))]);
		strcat(text, below(30) ? number : piece[below((int)COUNT(piece) - 1)]);
		strcat(text, behind[below(3) ? 0 : below((int)COUNT(behind))]);
		if (below(3) == 0)
			strcat(strcat(text, " "), rd_unit_name(below(4) ? s->unit : (enum rd_unit)below(RD_UNIT_COUNT)));
		strcat(text, below(4) ? " " : ", ");
	}
}

static void make_up(const struct rd_setup *s, char text[TEXT])
{
	if (below(4))
		any_sense(s, text);
	else
		any_pieces(text);
	for (int change = below(8) ? 0 : 1 + below(3); change > 0 && *text; change--)
		text[below((int)strlen(text))] = (char)(1 + below(255));
}

static void any_setup(struct rd_setup *s)
{
	static const double bands[][2] = { { -INFINITY, INFINITY }, { 10, 14 }, { 5, INFINITY },
					   { -INFINITY, .85 }, { 0, 0 } };
	int band = below((int)COUNT(bands));

	rd_setup_init(s);
	s->unit = (enum rd_unit)below(RD_UNIT_COUNT);
	s->derive = (enum rd_derive)below(RD_DERIVE_COUNT);
	s->low = bands[band][0];
	s->high = bands[band][1];
	s->instrument = below(4) ? rd_instrument_at(below(rd_instrument_count())) : NULL;
	s->repeatability = below(2) ? 0 : .1 * below(20);
	s->through_leads = below(3) == 0;
	if (s->through_leads)
		s->unit = below(2) ? RD_OHM : RD_KILOHM;
	s->leads = below(2) ? NAN : .1 * below(10);
	s->leads_u = .05;
	s->leads_waived = below(2);
	s->typical = below(2) ? NAN : below(2) ? 12 : 5000;
	s->slip_confirmed = below(2);
	if (below(3) == 0) {
		s->part_degC = below(120) - 20;
		s->part_degC_u = 3;
		s->reference_degC = 20;
	}
	if (below(3) == 0)
		s->altitude_m = below(4000);
	if (below(3) == 0)
		s->ambient = below(40);
	if (s->derive != RD_AS_READ || below(3) == 0)
		for (s->nplaces = 0; s->nplaces < 1 + below(RD_PLACES_MAX); s->nplaces++)
			s->places[s->nplaces] = place[s->nplaces];
}

/* A number is finite, its uncertainty too and not negative, the verdict goes with the probability
 * (JCGM 106: 95 %). */
static bool sound(enum rd_kind kind, double raw, double value, double u, enum rd_verdict v, double p)
{
	if (kind == RD_NUMBER && !(isfinite(raw) && isfinite(value)))
		return false;
	if (!(isfinite(u) && u >= 0 && p >= 0 && p <= 1))
		return false;
	return v == RD_NO_BAND || v == (p >= .95 ? RD_INSIDE : p <= .05 ? RD_OUTSIDE : RD_TOO_CLOSE);
}

static bool all_sound(const struct rd_result *r)
{
	if (!sound(r->kind, r->raw, r->value, r->u, r->verdict, r->p_inside) ||
	    strncmp(r->echo, "read as ", 8) != 0 || !r->echo[8] || r->nnotes > RD_NOTES_MAX ||
	    r->nplaces < 0 || r->nplaces > RD_PLACES_MAX || !(r->u_random <= r->u * (1 + 1e-9)))
		return false;
	for (int i = 0; i < r->nplaces; i++)
		if (r->at[i].given && !sound(r->at[i].kind, r->at[i].raw, r->at[i].value, r->at[i].u,
					     r->at[i].verdict, r->at[i].p_inside))
			return false;
	return true;
}

static void show(const char *text, const struct rd_setup *s, const char *what)
{
	struct text t = { 0 };

	text_clean(&t, text);
	print_error("answer \"%s\" in %s, %s: ", text_str(&t), rd_unit_name(s->unit), rd_derive_name(s->derive));
	text_free(&t);
	fail_msg("%s", what);
}

static void test_any_answer_is_sound_or_refused_with_a_reason(void **state)
{
	long count[4] = { 0 };

	(void)state;
	seed = 20240229;
	for (long i = 0; i < ANSWERS; i++) {
		char text[TEXT];
		struct rd_setup s;
		struct rd_result r, mute;
		struct hs_err err = { 0 };
		enum rd_status status;

		any_setup(&s);
		make_up(&s, text);
		status = rd_read(&s, text, &r, &err);
		assert_in_range(status, RD_OK, RD_ASK_SLIP);
		count[status]++;
		if (status == RD_OK && !all_sound(&r))
			show(text, &s, r.echo);
		s.wordless = true;
		if (rd_read(&s, text, &mute, NULL) != status || *mute.echo || mute.nnotes ||
		    (status == RD_OK && (mute.value != r.value || mute.u != r.u || mute.p_inside != r.p_inside)))
			show(text, &s, "read otherwise without words");
		if (status == RD_OK && err.text[0])
			show(text, &s, "taken, and an error set");
		if (status != RD_OK && strlen(err.text) < 10)
			show(text, &s, "refused without a reason");
	}
	print_message("taken %ld, refused %ld, leads asked %ld, size asked %ld\n", count[RD_OK],
		      count[RD_REFUSED], count[RD_ASK_LEADS], count[RD_ASK_SLIP]);
	for (int i = 0; i < 4; i++) /* the storm reaches every way out */
		assert_true(count[i] > ANSWERS / 500);
}

/* parse(print(x)) = x, in every unit. */
static void test_what_is_shown_is_read_back(void **state)
{
	(void)state;
	seed = 20240301;
	for (int i = 0; i < 20000; i++) {
		enum rd_unit unit = (enum rd_unit)below(RD_UNIT_COUNT);
		int places = below(5);
		double x = below(100000) / pow(10, places), step = pow(10, -places);
		struct rd_setup s;
		struct rd_result r, again;
		char text[TEXT];

		rd_setup_init(&s);
		s.unit = unit;
		snprintf(text, sizeof text, "%.*f", places, x);
		assert_int_equal(rd_read(&s, text, &r, NULL), RD_OK);
		assert_true(r.raw == strtod(text, NULL)); /* to the last bit */
		if (rd_read(&s, r.echo + strlen("read as "), &again, NULL) != RD_OK ||
		    fabs(again.raw - x) > 1e-9 * step) {
			print_error("%s: ", r.echo);
			fail_msg("%s is not read back as %.10g", text, x);
		}
	}
}

/* The same reading in another unit is the same reading. */
static void test_units_agree_however_it_is_typed(void **state)
{
	(void)state;
	seed = 20240302;
	for (int i = 0; i < 20000; i++) {
		enum rd_unit a = (enum rd_unit)below(RD_UNIT_COUNT), b = (enum rd_unit)below(RD_UNIT_COUNT);
		double x = (1 + below(9999)) / 10.0, want;
		struct rd_setup s;
		struct rd_result r;
		struct hs_err err = { 0 };
		char text[TEXT];

		if (!*rd_unit_name(b))
			continue;
		rd_setup_init(&s);
		s.unit = a;
		snprintf(text, sizeof text, "%.1f %s", x, rd_unit_name(b));
		want = rd_unit_convert(x, b, a);
		if (rd_read(&s, text, &r, &err) == RD_OK) {
			assert_true(rd_unit_convertible(a, b));
			assert_true(fabs(r.raw - want) <= 1e-9 * (1 + fabs(want)));
		} else {
			assert_true(!rd_unit_convertible(a, b) || fabs(want) > 1e9);
		}
	}
}

static void test_any_flashes_are_codes_or_refused_with_a_reason(void **state)
{
	static const char *const lamp[] = { "L", "S", "l", "s", "-", ".", "_", "*", "1", "2", "3", "23", "41", "0",
					    "long", "short", "longs", "shorts", ",", ";", "/", "again", "then",
					    "and", "code", " ", "x", "\xff", "13 41 " };
	long taken = 0;

	(void)state;
	seed = 20240303;
	for (int i = 0; i < 60000; i++) {
		char text[TEXT] = "";
		struct rd_blink b, again;
		struct hs_err err = { 0 };
		struct text t = { 0 };

		for (int n = below(12); n >= 0; n--) {
			strcat(text, lamp[below((int)COUNT(lamp))]);
			if (below(2))
				strcat(text, " ");
		}
		if (rd_blink_read(text, &b, &err) < 0) {
			assert_true(strlen(err.text) > 10);
			continue;
		}
		taken++;
		assert_true(b.n >= 1 && b.n <= RD_CODES_MAX && b.readings >= 1);
		for (int k = 0; k < b.n; k++) {
			assert_in_range(b.code[k] / 10, 1, RD_LONGS_MAX);
			assert_in_range(b.code[k] % 10, 1, RD_SHORTS_MAX);
			text_addf(&t, "%d ", b.code[k]);
		}
		text_addf(&t, "/ %d", b.code[0]); /* a mark, so that the order is no sign of a second reading */
		if (b.n == 1) {
			assert_int_equal(rd_blink_read(text_str(&t), &again, NULL), 0);
			assert_int_equal(again.code[0], b.code[0]);
			assert_int_equal(again.readings, 2);
		}
		text_free(&t);
	}
	assert_true(taken > 500);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_any_answer_is_sound_or_refused_with_a_reason),
		cmocka_unit_test(test_what_is_shown_is_read_back),
		cmocka_unit_test(test_units_agree_however_it_is_typed),
		cmocka_unit_test(test_any_flashes_are_codes_or_refused_with_a_reason),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
