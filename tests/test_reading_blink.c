/* Lamp codes as they are typed.  Encoding and limits are common practice, no source. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "reading/blink.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

static struct rd_blink good(const char *text)
{
	struct rd_blink b;
	struct hs_err err = { 0 };

	if (rd_blink_read(text, &b, &err) < 0)
		fail_msg("\"%s\": %s", text, err.text);
	return b;
}

static void refused(const char *text, const char *because)
{
	struct rd_blink b;
	struct hs_err err = { 0 };

	if (rd_blink_read(text, &b, &err) == 0)
		fail_msg("\"%s\" was taken as %d", text, b.code[0]);
	if (!strstr(err.text, because))
		fail_msg("\"%s\" refused with \"%s\", not because \"%s\"", text, err.text, because);
}

static void test_one_code_is_read_in_every_form(void **state)
{
	static const struct { const char *text; int code; } as[] = {
		{ "23", 23 }, { " 23 ", 23 }, { "2 long 3 short", 23 }, { "2 longs, 3 shorts", 23 },
		{ "2 long and 3 short", 23 }, { "2long 3short", 23 }, { "2L 3S", 23 }, { "2l3s", 23 },
		{ "2 long then 3 short", 23 }, { "2 long flashes 3 short flashes", 23 },
		{ "long long short short short", 23 }, { "long,long,short", 21 },
		{ "LLSSS", 23 }, { "llsss", 23 }, { "L L S S S", 23 }, { "- - . . .", 23 }, { "--...", 23 },
		{ "--- .", 31 }, { "_ _ _ *", 31 }, { "code 11", 11 }, { "1 long 1 short", 11 },
		{ "5 long 9 short", 59 }, { "LL SSS", 23 },
	};

	(void)state;
	for (size_t i = 0; i < COUNT(as); i++) {
		struct rd_blink b = good(as[i].text);

		if (b.n != 1 || b.code[0] != as[i].code || b.readings != 1)
			fail_msg("\"%s\": %d codes, first %d, read %d times", as[i].text, b.n, b.code[0],
				 b.readings);
	}
}

static void test_several_codes_are_one_reading_when_they_rise(void **state)
{
	static const char *const same[] = { "13 41", "13, 41", "13 then 41", "LSSS LLLLS",
					    "1 long 3 short 4 long 1 short", "1 long 3 short, 4 long 1 short",
					    "- . . . - - - - .", "13 and 41" };

	(void)state;
	for (size_t i = 0; i < COUNT(same); i++) {
		struct rd_blink b = good(same[i]);

		if (b.n != 2 || b.code[0] != 13 || b.code[1] != 41 || b.readings != 1)
			fail_msg("\"%s\": %d codes %d %d, read %d times", same[i], b.n, b.code[0], b.code[1],
				 b.readings);
	}
}

static void test_two_readings_agree_when_the_list_comes_again(void **state)
{
	static const struct { const char *text; int n, readings; } as[] = {
		{ "13 41 13 41", 2, 2 }, { "13 41 / 13 41", 2, 2 }, { "23 23", 1, 2 }, { "23 again 23", 1, 2 },
		{ "LLSSS LLSSS LLSSS", 1, 3 }, { "2 long 3 short, 2 long 3 short", 1, 2 },
		{ "41 13 / 41 13", 2, 2 }, { "11 12 13 11 12 13", 3, 2 },
	};

	(void)state;
	for (size_t i = 0; i < COUNT(as); i++) {
		struct rd_blink b = good(as[i].text);

		if (b.n != as[i].n || b.readings != as[i].readings)
			fail_msg("\"%s\": %d codes read %d times", as[i].text, b.n, b.readings);
	}
}

static void test_readings_that_differ_are_refused(void **state)
{
	(void)state;
	refused("13 41 14", "differ: 13, 41 and 14");
	refused("13 / 14", "differ: 13 and 14");
	refused("13 41 13", "differ");
	refused("LLSSS / LLSS", "differ: 23 and 22");
}

static void test_what_no_lamp_sends_is_refused_with_a_reason(void **state)
{
	(void)state;
	refused("", "No flash");
	refused("   ,", "No flash");
	refused("SSS", "begins with long");
	refused("3 short", "begins with long");
	refused("0 long 3 short", "begins with long");
	refused("3", "begins with long");
	refused("2 long", "ends with short");
	refused("20", "ends with short");
	refused("LL", "ends with short");
	refused("6 long 1 short", "more than five");
	refused("61", "more than five");
	refused("1 long 12 short", "more than nine");
	refused("123", "two digits");
	refused("2.5", "begins with long");
	refused("blue", "\"blue\" is not understood");
	refused("11 12 13 14 15 21 22 23 24", "more codes");
}

static void test_a_flash_is_told_by_its_seconds(void **state)
{
	(void)state;
	assert_int_equal(rd_flash(.3), RD_FLASH_SHORT);
	assert_int_equal(rd_flash(.5), RD_FLASH_SHORT);
	assert_int_equal(rd_flash(.6), RD_FLASH_UNCLEAR);
	assert_int_equal(rd_flash(.89), RD_FLASH_UNCLEAR);
	assert_int_equal(rd_flash(.9), RD_FLASH_LONG);
	assert_int_equal(rd_flash(1.5), RD_FLASH_LONG);
	assert_int_equal(rd_flash(2), RD_FLASH_LAMP_TEST);
}

static void test_a_code_is_worth_less_when_stored_or_invented(void **state)
{
	(void)state;
	assert_true(rd_blink_worth(true, NAN) == 1);
	assert_true(rd_blink_worth(false, NAN) == .5);
	assert_true(rd_blink_worth(true, 9.4) == 0);
	assert_true(rd_blink_worth(true, 9.5) == 1);
}

static void test_a_list_is_shown_with_how_often_it_was_read(void **state)
{
	struct rd_blink b = good("13 41 13 41");
	struct text t = { 0 };

	(void)state;
	rd_blink_format(&t, &b);
	assert_string_equal(text_str(&t), "13, 41 (read twice)");
	text_free(&t);
}

/* What is shown is understood again: every list of one or two codes, in numbers and in letters. */
static void test_every_code_is_read_back(void **state)
{
	(void)state;
	for (int code = 11; code < 60; code++) {
		struct text t = { 0 };

		if (code % 10 == 0)
			continue;
		for (int i = 0; i < code / 10; i++)
			text_add(&t, "L");
		for (int i = 0; i < code % 10; i++)
			text_add(&t, "S");
		assert_int_equal(good(text_str(&t)).code[0], code);
		text_clear(&t);
		text_addf(&t, "%d", code);
		assert_int_equal(good(text_str(&t)).code[0], code);
		text_free(&t);
	}
}

/* A word behind codes is about all of them since the last such word. */
static void test_stored_and_active_are_said_behind_codes(void **state)
{
	struct rd_blink b = good("13 active 21 41 stored");

	(void)state;
	assert_int_equal(b.n, 3);
	assert_int_equal(b.state[0], RD_CODE_ACTIVE);
	assert_int_equal(b.state[1], RD_CODE_STORED);
	assert_int_equal(b.state[2], RD_CODE_STORED);
	b = good("13 41 / 13 stored 41 active");
	assert_int_equal(b.readings, 2);
	assert_int_equal(b.state[0], RD_CODE_STORED);
	assert_int_equal(b.state[1], RD_CODE_ACTIVE);
	assert_int_equal(good("LLSSS stored").state[0], RD_CODE_STORED);
	assert_int_equal(good("13").state[0], RD_CODE_NOT_SAID);
	refused("stored 13", "stands before");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_stored_and_active_are_said_behind_codes),
		cmocka_unit_test(test_one_code_is_read_in_every_form),
		cmocka_unit_test(test_several_codes_are_one_reading_when_they_rise),
		cmocka_unit_test(test_two_readings_agree_when_the_list_comes_again),
		cmocka_unit_test(test_readings_that_differ_are_refused),
		cmocka_unit_test(test_what_no_lamp_sends_is_refused_with_a_reason),
		cmocka_unit_test(test_a_flash_is_told_by_its_seconds),
		cmocka_unit_test(test_a_code_is_worth_less_when_stored_or_invented),
		cmocka_unit_test(test_a_list_is_shown_with_how_often_it_was_read),
		cmocka_unit_test(test_every_code_is_read_back),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
