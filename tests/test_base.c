/* The base room: errors, memory, text, files. */
#include <errno.h>
#include <fcntl.h>
#include <float.h>
#include <locale.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#include <wchar.h>

#include <cmocka.h>

#include "base/err.h"
#include "base/file.h"
#include "base/mem.h"
#include "base/text.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

/* ---- errors ---------------------------------------------------------------------------- */

static void test_first_error_wins_when_two_are_set(void **state)
{
	struct hs_err err = {0};

	(void)state;
	assert_int_equal(err_at(&err, HS_BAD_TREE, "a.xml", 7, "unknown part \"%s\"", "x"), -1);
	assert_int_equal(err_set(&err, HS_IO, "vaguer"), -1);
	assert_int_equal(err.code, HS_BAD_TREE);
	assert_string_equal(err.file, "a.xml");
	assert_int_equal(err.line, 7);
	assert_string_equal(err.text, "unknown part \"x\"");
	err_clear(&err);
	assert_int_equal(err.code, HS_OK);
	err_set(&err, HS_LIMIT, "now this");
	assert_string_equal(err.text, "now this");
	assert_string_equal(err.file, "");
}

static void test_error_is_optional_when_null(void **state)
{
	(void)state;
	assert_int_equal(err_set(NULL, HS_IO, "nobody listens"), -1);
	assert_int_equal(err_at(NULL, HS_IO, "f", 1, "nobody listens"), -1);
	err_clear(NULL);
}

static void test_error_is_cut_between_characters_when_too_long(void **state)
{
	char many[2000];

	(void)state;
	/* Every shift puts the cut at another byte of the three-byte character. */
	for (size_t shift = 0; shift < 3; shift++) {
		struct hs_err err = {0};
		size_t n = 0;
		while (n < shift)
			many[n++] = 'x';
		for (; n + 4 < sizeof many; n += 3)
			memcpy(many + n, "\xE2\x89\xA4", 3);
		many[n] = '\0';
		err_at(&err, HS_IO, many, 1, "%s", many);
		assert_true(strlen(err.text) >= sizeof err.text - 3);
		assert_true(text_valid_utf8(err.text, strlen(err.text)));
		assert_true(strlen(err.file) >= sizeof err.file - 3);
		assert_true(text_valid_utf8(err.file, strlen(err.file)));
	}
}

/* ---- memory ---------------------------------------------------------------------------- */

static jmp_buf out_of_memory;

static void leave(void)
{
	longjmp(out_of_memory, 1);
}

static void test_memory_is_zeroed_when_allocated(void **state)
{
	unsigned long before = mem_count();
	unsigned char *p = mem_array(100, 3);

	(void)state;
	for (int i = 0; i < 300; i++)
		assert_int_equal(p[i], 0);
	p = mem_resize_array(p, 200, 3);
	mem_free(p);
	char *s = mem_strdup("abc");
	assert_string_equal(s, "abc");
	mem_free(s);
	void *nothing = mem_alloc(0);
	assert_non_null(nothing);
	mem_free(nothing);
	mem_free(NULL);
	assert_int_equal(mem_count() - before, 4);
}

/* Returns the number of requests that succeeded before the failing one. */
static int allocate_until_exhausted(unsigned long n)
{
	volatile int done = 0;

	mem_on_exhausted(leave);
	mem_fail_at(n);
	if (setjmp(out_of_memory) == 0)
		for (; done < 10; done++)
			mem_free(mem_alloc(8));
	mem_fail_at(0);
	mem_on_exhausted(NULL);
	return done;
}

static void test_memory_is_exhausted_when_nth_request_must_fail(void **state)
{
	(void)state;
	assert_int_equal(allocate_until_exhausted(1), 0);
	assert_int_equal(allocate_until_exhausted(4), 3);
	assert_int_equal(allocate_until_exhausted(10), 9);
	assert_int_equal(allocate_until_exhausted(11), 10);
	assert_int_equal(allocate_until_exhausted(0), 10);
}

static void expect_exhausted(void *(*allocate)(void))
{
	volatile int exhausted = 0;

	mem_on_exhausted(leave);
	if (setjmp(out_of_memory) == 0)
		mem_free(allocate());
	else
		exhausted = 1;
	mem_on_exhausted(NULL);
	assert_true(exhausted);
}

static void *overflowing_array(void)
{
	return mem_array(SIZE_MAX / 2, 3);
}

static void *overflowing_resize(void)
{
	return mem_resize_array(NULL, SIZE_MAX / 2, 3);
}

static void test_memory_is_exhausted_when_size_overflows(void **state)
{
	(void)state;
	expect_exhausted(overflowing_array);
	expect_exhausted(overflowing_resize);
}

static struct arena *shared_arena;

static void *overflowing_arena(void)
{
	return arena_array(shared_arena, SIZE_MAX / 2, 3);
}

static void *enormous_arena(void)
{
	return arena_alloc(shared_arena, SIZE_MAX - 4);
}

static void test_arena_is_exhausted_when_size_overflows(void **state)
{
	(void)state;
	shared_arena = arena_new();
	expect_exhausted(overflowing_arena);
	expect_exhausted(enormous_arena);
	arena_free(shared_arena);
}

static void test_arena_gives_aligned_zeroed_separate_memory(void **state)
{
	struct arena *a = arena_new();
	unsigned char *pieces[400];

	(void)state;
	for (size_t i = 0; i < COUNT(pieces); i++) {
		size_t size = i * 7 % 300;
		pieces[i] = arena_alloc(a, size);
		assert_int_equal((uintptr_t)pieces[i] % _Alignof(max_align_t), 0);
		for (size_t j = 0; j < size; j++)
			assert_int_equal(pieces[i][j], 0);
		memset(pieces[i], (int)(i % 255) + 1, size);
	}
	for (size_t i = 0; i < COUNT(pieces); i++)
		for (size_t j = 0; j < i * 7 % 300; j++)
			assert_int_equal(pieces[i][j], i % 255 + 1);
	unsigned char *large = arena_array(a, 1000, 1000);
	assert_int_equal(large[999999], 0);
	large[999999] = 1;
	assert_non_null(arena_alloc(a, 0));
	arena_free(a);
	arena_free(NULL);
}

static void test_arena_copies_strings(void **state)
{
	struct arena *a = arena_new();

	(void)state;
	assert_string_equal(arena_strdup(a, "needle"), "needle");
	assert_string_equal(arena_strndup(a, "needle", 3), "nee");
	assert_string_equal(arena_strndup(a, "ne", 9), "ne");
	assert_string_equal(arena_strndup(a, "", 0), "");
	assert_string_equal(arena_printf(a, "%s-%d", "jet", 42), "jet-42");
	assert_string_equal(arena_printf(a, "%s", ""), "");
	arena_free(a);
}

/* ---- the growing buffer ---------------------------------------------------------------- */

static void test_text_is_empty_string_when_nothing_was_added(void **state)
{
	struct text t = {0};

	(void)state;
	assert_string_equal(text_str(&t), "");
	text_clear(&t);
	text_add(&t, "abc");
	text_addn(&t, "defgh", 2);
	text_addc(&t, '!');
	text_addf(&t, " %d%s", 12, " V");
	assert_string_equal(t.s, "abcde! 12 V");
	assert_int_equal(t.len, strlen(t.s));
	text_clear(&t);
	assert_string_equal(text_str(&t), "");
	text_free(&t);
	assert_null(t.s);
	text_free(&t);
}

static void test_text_grows_when_much_is_added(void **state)
{
	struct text t = {0};
	char long_word[500];

	(void)state;
	memset(long_word, 'w', sizeof long_word - 1);
	long_word[sizeof long_word - 1] = '\0';
	for (int i = 0; i < 1000; i++)
		text_addf(&t, "%d,%s,", i, i % 100 == 0 ? long_word : "");
	assert_int_equal(t.len, strlen(t.s));
	assert_true(t.len < t.cap);
	assert_memory_equal(t.s, "0,www", 5);
	assert_string_equal(t.s + t.len - 5, "999,,");
	text_free(&t);
}

/* ---- UTF-8 and width ------------------------------------------------------------------- */

/* Well-formed and ill-formed sequences: The Unicode Standard, table 3-7, and RFC 3629. */
static void test_utf8_is_accepted_only_when_well_formed(void **state)
{
	static const char *const good[] = {
		"", "a", "\x7F", "\xC2\x80", "\xDF\xBF", "\xE0\xA0\x80", "\xED\x9F\xBF",
		"\xEE\x80\x80", "\xEF\xBF\xBF", "\xF0\x90\x80\x80", "\xF4\x8F\xBF\xBF",
	};
	static const char *const bad[] = {
		"\x80", "\xBF", "\xC0\x80", "\xC1\xBF", "\xC2", "\xC2\x41", "\xE0\x80\x80",
		"\xE0\x9F\xBF", "\xE2\x89", "\xED\xA0\x80", "\xED\xBF\xBF", "\xF0\x8F\xBF\xBF",
		"\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\xFE", "\xFF", "a\xC3", "\xF0\x90\x80",
	};

	(void)state;
	for (size_t i = 0; i < COUNT(good); i++)
		assert_true(text_valid_utf8(good[i], strlen(good[i])));
	for (size_t i = 0; i < COUNT(bad); i++)
		assert_false(text_valid_utf8(bad[i], strlen(bad[i])));
	uint32_t cp = 0;
	assert_int_equal(text_decode("\xE2\x84\xA6!", 4, &cp), 3);
	assert_int_equal(cp, 0x2126);
	assert_int_equal(text_decode("", 0, &cp), 0);
}

static void test_width_counts_columns_when_bytes_differ(void **state)
{
	(void)state;
	assert_int_equal(text_width(""), 0);
	assert_int_equal(text_width("12.4 V"), 6);
	assert_int_equal(text_width("20 \xC2\xB0" "C \xCE\xA9"), 7);
	assert_int_equal(text_width("e\xCC\x81"), 1);          /* e + combining acute */
	assert_int_equal(text_width("\xE6\xB2\xB9"), 2);        /* CJK */
	assert_int_equal(text_width("\xFF\xFE" "a"), 3);        /* invalid bytes count 1 */
	assert_int_equal(text_width("\xF0\x9F\x98\x80"), 2);    /* emoji */
}

/* Outside check: wcwidth() of the C library in its UTF-8 locale, block by block. */
static void test_width_agrees_with_c_library(void **state)
{
	static const struct { uint32_t first, last; } blocks[] = {
		{0x20, 0x7E}, {0xA0, 0xAC}, {0xAE, 0x36F}, {0x370, 0x482}, {0x48A, 0x52F},
		{0x2010, 0x2027}, {0x202F, 0x205E}, {0x20A0, 0x20BF}, {0x2100, 0x214F},
		{0x2153, 0x215E}, {0x2190, 0x21FF}, {0x2200, 0x22FF}, {0x2500, 0x25FF},
		{0x2713, 0x2718}, {0x3041, 0x3096}, {0x30A1, 0x30FA}, {0x4E00, 0x9FFC},
		{0xAC00, 0xD7A3}, {0xFE00, 0xFE0F}, {0xFF01, 0xFF5E}, {0x1F600, 0x1F64F},
	};

	(void)state;
	char *old = setlocale(LC_CTYPE, "C.UTF-8");
	if (!old)
		skip();
	for (size_t i = 0; i < COUNT(blocks); i++)
		for (uint32_t cp = blocks[i].first; cp <= blocks[i].last; cp++) {
			int theirs = wcwidth((wchar_t)cp);
			if (theirs >= 0 && theirs != text_point_width(cp))
				fail_msg("U+%04X: %d columns, not %d", (unsigned)cp, theirs,
					 text_point_width(cp));
		}
	setlocale(LC_CTYPE, "C");
}

/* ---- wrapping -------------------------------------------------------------------------- */

static void expect_wrapped(const char *s, int width, int first, int rest, const char *expected)
{
	struct text t = {0};

	text_wrap(&t, s, width, first, rest);
	assert_string_equal(text_str(&t), expected);
	text_free(&t);
}

static void test_wrap_breaks_between_words(void **state)
{
	(void)state;
	expect_wrapped("one two three", 7, 0, 0, "one two\nthree\n");
	expect_wrapped("one two three", 8, 0, 0, "one two\nthree\n");
	expect_wrapped("one two three", 6, 0, 0, "one\ntwo\nthree\n");
	expect_wrapped("vent 52 %; cap", 8, 0, 0, "vent\n52 %;\ncap\n");
	expect_wrapped("  one \t two\r\nthree ", 80, 0, 0, "one two\nthree\n");
	expect_wrapped("", 80, 2, 2, "");
	expect_wrapped("   ", 80, 2, 2, "");
	expect_wrapped("a\n\nb\n", 80, 1, 2, " a\n\n  b\n");
	expect_wrapped("\na", 80, 1, 2, "\n  a\n");
}

static void test_wrap_indents_first_line_and_others(void **state)
{
	(void)state;
	expect_wrapped("one two three four", 9, 0, 4, "one two\n    three\n    four\n");
	expect_wrapped("one two three", 9, 2, 0, "  one two\nthree\n");
}

static void test_wrap_cuts_words_longer_than_a_line(void **state)
{
	(void)state;
	expect_wrapped("abcdefghij", 4, 0, 0, "abcd\nefgh\nij\n");
	expect_wrapped("x abcdefghij y", 4, 0, 1, "x\n abc\n def\n ghi\n j y\n");
	expect_wrapped("ab", 1, 5, 5, "     a\n     b\n"); /* no room at all still ends */
	/* A mark is not cut from its letter; a wide character is not split. */
	expect_wrapped("abe\xCC\x81" "cd", 3, 0, 0, "abe\xCC\x81\ncd\n");
	expect_wrapped("\xE6\xB2\xB9\xE6\xB2\xB9", 3, 0, 0, "\xE6\xB2\xB9\n\xE6\xB2\xB9\n");
}

static unsigned next_random(unsigned *seed)
{
	*seed = *seed * 1664525u + 1013904223u;
	return *seed >> 16;
}

/* Property: no line is wider than asked, and nothing but white space is lost or added. */
static void test_wrap_keeps_every_character_when_text_is_random(void **state)
{
	static const char *const units[] = {"a", "bc", " ", "  ", "\n", "\xC2\xB0", "\xE2\x89\xA4",
					    "\xE6\xB2\xB9", "longerword", "\t", "e\xCC\x81"};
	unsigned seed = 1;

	(void)state;
	for (int round = 0; round < 2000; round++) {
		struct text in = {0}, out = {0}, left = {0}, right = {0};
		int width = 12 + (int)(next_random(&seed) % 40);
		int indent = (int)(next_random(&seed) % 8);
		for (unsigned n = next_random(&seed) % 40; n > 0; n--)
			text_add(&in, units[next_random(&seed) % COUNT(units)]);
		text_wrap(&out, text_str(&in), width, indent, indent);
		for (char *line = out.s ? out.s : NULL, *end; line && *line; line = end + 1) {
			end = strchr(line, '\n');
			assert_non_null(end);
			*end = '\0';
			assert_true(text_width(line) <= width);
			for (const char *p = line; *p; p++)
				if (*p != ' ')
					text_addc(&right, *p);
		}
		for (const char *p = text_str(&in); *p; p++)
			if (!strchr(" \t\n", *p))
				text_addc(&left, *p);
		assert_string_equal(text_str(&left), text_str(&right));
		text_free(&in);
		text_free(&out);
		text_free(&left);
		text_free(&right);
	}
}

/* ---- cleaning -------------------------------------------------------------------------- */

static void expect_clean(const char *s, const char *expected)
{
	struct text t = {0};

	text_clean(&t, s);
	assert_string_equal(text_str(&t), expected);
	text_free(&t);
}

static void test_clean_keeps_ordinary_text(void **state)
{
	(void)state;
	expect_clean("", "");
	expect_clean("12 \xCE\xA9, 20 \xC2\xB0" "C\nnext", "12 \xCE\xA9, 20 \xC2\xB0" "C\nnext");
	expect_clean("e\xCC\x81\xE6\xB2\xB9", "e\xCC\x81\xE6\xB2\xB9");
	expect_clean("a\tb", "a b");
}

static void test_clean_shows_escapes_when_text_would_drive_a_terminal(void **state)
{
	(void)state;
	expect_clean("\x1B[2J", "\\x1b[2J");
	expect_clean("\x1B]52;c;QQ==\x07", "\\x1b]52;c;QQ==\\x07");
	expect_clean("a\rb\bc\x7F", "a\\x0db\\x08c\\x7f");
	expect_clean("\xC2\x9B" "6n", "\\u009b6n");             /* 8-bit CSI as a character */
	expect_clean("\x9B" "6n", "\\x9b6n");                   /* and as a bare byte */
	expect_clean("\xE2\x80\xAE" "gpj", "\\u202egpj");       /* right-to-left override */
	expect_clean("\xE2\x81\xA6", "\\u2066");
	expect_clean("\xD8\x9C", "\\u061c");
	expect_clean("a\xE2\x80\x8B" "b", "a\\u200bb");         /* zero-width space */
	expect_clean("\xEF\xBB\xBF", "\\ufeff");
	expect_clean("\xE2\x80\xA8", "\\u2028");
	expect_clean("\xC0\xAF", "\\xc0\\xaf");
	expect_clean("\xF3\xA0\x80\x81", "\\ue0001");
	struct text t = {0};
	text_cleann(&t, "a\0b", 3);
	assert_string_equal(text_str(&t), "a\\x00b");
	text_free(&t);
}

/* Property over every code point and every byte: what comes out has nothing harmful in it. */
static void test_clean_leaves_nothing_harmful_when_any_character_is_given(void **state)
{
	struct text t = {0};
	char bytes[3] = "";

	(void)state;
	for (int high = 0; high < 256; high++)
		for (int low = 1; low < 256; low++) {
			bytes[0] = (char)low;
			bytes[1] = (char)high;
			text_clear(&t);
			text_cleann(&t, bytes, 2);
			assert_true(text_valid_utf8(t.s, t.len));
			for (const char *p = t.s; *p;) {
				uint32_t cp = 0;
				p += text_decode(p, strlen(p), &cp);
				assert_true(cp == '\n' || (cp >= 0x20 && cp < 0x7F) || cp >= 0xA0);
			}
		}
	text_free(&t);
}

static void test_html_escapes_markup_and_controls(void **state)
{
	struct text t = {0};

	(void)state;
	text_html(&t, "<b a=\"1\" c='2'>R&D</b>\x1B\xC2\x9B\xFF\n\xC2\xB0");
	assert_string_equal(text_str(&t), "&lt;b a=&quot;1&quot; c=&#39;2&#39;&gt;R&amp;D&lt;/b&gt;"
					  "\\x1b\\u009b\\xff\n\xC2\xB0");
	text_free(&t);
}

static void expect_ascii(const char *s, const char *expected)
{
	struct text t = {0};

	text_ascii(&t, s);
	assert_string_equal(text_str(&t), expected);
	text_free(&t);
}

static void test_ascii_keeps_the_meaning_of_units(void **state)
{
	(void)state;
	expect_ascii("20 \xC2\xB0" "C", "20  degC");
	expect_ascii("12 \xCE\xA9 12 \xE2\x84\xA6", "12 ohm 12 ohm");
	expect_ascii("47 \xC2\xB5" "F \xCE\xBC", "47 uF u");
	expect_ascii("2\xC2\xBD 2\xE2\x85\x9C", "2 1/2 2 3/8");
	expect_ascii("a\xE2\x80\x93" "b \xE2\x80\x94 \xE2\x88\x92" "3", "a-b - -3");
	expect_ascii("\xE2\x80\x9C" "x\xE2\x80\x9D \xE2\x80\x99", "\"x\" '");
	expect_ascii("\xE2\x86\x92 \xE2\x89\xA4 \xE2\x89\xA5 \xC2\xB1 \xC3\x97", "-> <= >= +/- x");
	expect_ascii("\xC3\x96l Gr\xC3\xB6\xC3\x9F" "e caf\xC3\xA9 \xC5\x81\xC3\xB3" "d\xC5\xBA",
		     "Oel Groesse cafe Lodz");
	expect_ascii("e\xCC\x81", "e");
	expect_ascii("\xE6\xB2\xB9 \xFF", "\\u6cb9 \\xff");
}

/* Property: for every code point the result is ASCII and not a question mark. */
static void test_ascii_never_answers_with_a_question_mark(void **state)
{
	struct text t = {0};

	(void)state;
	for (uint32_t cp = 0x80; cp < 0x3000; cp++) {
		char utf8[4] = {0};
		if (cp < 0x800) {
			utf8[0] = (char)(0xC0 | cp >> 6);
			utf8[1] = (char)(0x80 | (cp & 0x3F));
		} else {
			utf8[0] = (char)(0xE0 | cp >> 12);
			utf8[1] = (char)(0x80 | (cp >> 6 & 0x3F));
			utf8[2] = (char)(0x80 | (cp & 0x3F));
		}
		text_clear(&t);
		text_ascii(&t, utf8);
		for (const char *p = t.s; *p; p++)
			if (*p < 0x20 || *p > 0x7E || *p == '?' || *p == '_')
				fail_msg("U+%04X became \"%s\"", (unsigned)cp, t.s);
	}
	text_free(&t);
}

/* ---- words ----------------------------------------------------------------------------- */

static void test_words_are_compared_without_case(void **state)
{
	(void)state;
	assert_true(text_same_word("Open", "oPEN"));
	assert_false(text_same_word("open", "opens"));
	assert_false(text_same_word("opens", "open"));
	assert_true(text_same_word("", ""));
	assert_false(text_same_word("[", "{")); /* only letters fold */
	assert_true(text_starts_word("Flooding", "flo"));
	assert_true(text_starts_word("x", ""));
	assert_false(text_starts_word("flo", "flood"));
}

/* Distances: the pairs are the usual textbook ones (from memory); "ca"/"abc" = 2 is the pair that
 * tells the unrestricted distance from the restricted one, which gives 3. */
static void test_distance_counts_slips(void **state)
{
	char longest[300];

	(void)state;
	assert_int_equal(text_distance("", ""), 0);
	assert_int_equal(text_distance("kitten", "sitting"), 3);
	assert_int_equal(text_distance("saturday", "sunday"), 3);
	assert_int_equal(text_distance("ca", "abc"), 2);
	assert_int_equal(text_distance("teh", "the"), 1);
	assert_int_equal(text_distance("Worn", "wORN"), 0);
	assert_int_equal(text_distance("", "abc"), 3);
	assert_int_equal(text_distance("abcdefghijkl", ""), 9);
	assert_int_equal(text_distance("abcdefghijkl", "mnopqrstuvwx"), 9);
	memset(longest, 'a', sizeof longest - 1);
	longest[sizeof longest - 1] = '\0';
	assert_int_equal(text_distance(longest, longest), 0);
	assert_int_equal(text_distance(longest, longest + 1), 9);
}

/* Property: symmetric, zero only for the same word, triangle inequality. */
static void test_distance_is_a_metric_when_words_are_random(void **state)
{
	unsigned seed = 7;

	(void)state;
	for (int round = 0; round < 3000; round++) {
		char word[3][6];
		for (int i = 0; i < 3; i++) {
			size_t n = next_random(&seed) % 5;
			for (size_t j = 0; j < n; j++)
				word[i][j] = "ab"[next_random(&seed) % 2];
			word[i][n] = '\0';
		}
		int ab = text_distance(word[0], word[1]), ba = text_distance(word[1], word[0]);
		int bc = text_distance(word[1], word[2]), ac = text_distance(word[0], word[2]);
		assert_int_equal(ab, ba);
		assert_int_equal(ab == 0, strcmp(word[0], word[1]) == 0);
		assert_true(ac <= ab + bc);
	}
}

static void test_near_name_is_found_when_it_is_a_slip(void **state)
{
	static const char *const names[] = {"flooding", "fuel-drip", "hard-cold-start", "worn",
					    "open", "ok"};
	int n = (int)COUNT(names);

	(void)state;
	assert_string_equal(text_near("floding", names, n), "flooding");
	assert_string_equal(text_near("fuel_drip", names, n), "fuel-drip");
	assert_string_equal(text_near("OPNE", names, n), "open");
	assert_string_equal(text_near("hard", names, n), "hard-cold-start");
	assert_null(text_near("banana", names, n));
	assert_null(text_near("x", names, n));
	assert_null(text_near("", names, n));
	assert_null(text_near("open", NULL, 0));
}

/* ---- JSON ------------------------------------------------------------------------------ */

static void expect_json(const char *s, const char *expected)
{
	struct text t = {0};

	text_json(&t, s);
	assert_string_equal(text_str(&t), expected);
	text_free(&t);
}

/* RFC 8259 section 7; its own example of a pair of surrogates is U+1D11E, "\uD834\uDD1E". */
static void test_json_string_is_escaped(void **state)
{
	(void)state;
	expect_json("", "\"\"");
	expect_json("a\"b\\c/\n\t\r\b\f\x01", "\"a\\\"b\\\\c/\\n\\t\\r\\b\\f\\u0001\"");
	expect_json("\xC2\xB0\xF0\x9D\x84\x9E", "\"\xC2\xB0\xF0\x9D\x84\x9E\"");
	expect_json("\x1B\xC2\x9B\xE2\x80\xAE", "\"\\u001b\\u009b\\u202e\"");
	expect_json("\xF3\xA0\x80\x81", "\"\\udb40\\udc01\"");
	expect_json("a\xFFz", "\"a\xEF\xBF\xBDz\"");
}

static void expect_number(double x, const char *expected)
{
	struct text t = {0};

	text_json_number(&t, x);
	assert_string_equal(text_str(&t), expected);
	text_free(&t);
}

static void test_json_number_is_short_and_reads_back(void **state)
{
	unsigned seed = 3;

	(void)state;
	expect_number(0.1, "0.1");
	expect_number(12.4, "12.4");
	expect_number(100000, "100000");
	expect_number(0.1 + 0.2, "0.30000000000000004");
	expect_number(-0.0, "-0");
	expect_number(5e-324, "5e-324");
	expect_number(DBL_MAX, "1.7976931348623157e+308");
	expect_number((double)INFINITY, "null");
	expect_number((double)NAN, "null");
	for (int i = 0; i < 20000; i++) {
		uint64_t bits = 0;
		double x;
		struct text t = {0};
		for (int j = 0; j < 4; j++)
			bits = bits << 16 | (next_random(&seed) & 0xFFFF);
		memcpy(&x, &bits, sizeof x);
		if (!isfinite(x))
			continue;
		text_json_number(&t, x);
		double back = strtod(t.s, NULL);
		assert_memory_equal(&back, &x, sizeof x);
		text_free(&t);
	}
}

/* ---- files ----------------------------------------------------------------------------- */

static char folder[64];

static int make_folder(void **state)
{
	(void)state;
	snprintf(folder, sizeof folder, "/tmp/halfsplit-base-XXXXXX");
	return mkdtemp(folder) ? 0 : -1;
}

static int remove_folder(void **state)
{
	(void)state;
	return rmdir(folder);
}

static const char *path_of(const char *name)
{
	static char path[128];

	snprintf(path, sizeof path, "%s/%s", folder, name);
	return path;
}

static void write_file(const char *path, size_t size)
{
	FILE *f = fopen(path, "w");

	assert_non_null(f);
	for (size_t i = 0; i < size; i++)
		fputc('a' + (int)(i % 26), f);
	assert_int_equal(fclose(f), 0);
}

static void test_file_is_read_when_within_cap(void **state)
{
	const char *path = path_of("ordinary");
	struct hs_err err = {0};
	size_t size = 99;

	(void)state;
	write_file(path, 1000);
	/* limit - 1, limit, limit + 1 */
	assert_null(file_read(path, 999, &size, &err));
	assert_int_equal(err.code, HS_LIMIT);
	assert_string_equal(err.file, path);
	err_clear(&err);
	for (size_t cap = 1000; cap <= 1001; cap++) {
		char *data = file_read(path, cap, &size, &err);
		assert_non_null(data);
		assert_int_equal(size, 1000);
		assert_int_equal(strlen(data), 1000);
		assert_int_equal(data[27], 'b');
		mem_free(data);
	}
	write_file(path, 0);
	char *data = file_read(path, SIZE_MAX, &size, &err);
	assert_string_equal(data, "");
	assert_int_equal(size, 0);
	mem_free(data);
	assert_int_equal(err.code, HS_OK);
	unlink(path);
}

/* Files whose size is not known beforehand (the kernel's own) are still capped. */
static void test_file_of_unknown_size_is_capped(void **state)
{
	struct hs_err err = {0};
	size_t size;

	(void)state;
	if (access("/proc/self/maps", R_OK) != 0)
		skip();
	assert_null(file_read("/proc/self/maps", 10, &size, &err));
	assert_int_equal(err.code, HS_LIMIT);
	err_clear(&err);
	char *data = file_read("/proc/self/maps", 1 << 20, &size, &err);
	assert_non_null(data);
	assert_true(size > 10);
	mem_free(data);
}

static void expect_refused(const char *path, enum hs_code code, const char *word)
{
	struct hs_err err = {0};
	size_t size = 99;

	assert_null(file_read(path, 1000, &size, &err));
	assert_int_equal(size, 0);
	assert_int_equal(err.code, code);
	assert_non_null(strstr(err.text, word));
}

static void test_file_is_refused_when_not_regular(void **state)
{
	const char *path = path_of("pipe");

	(void)state;
	assert_int_equal(mkfifo(path, 0600), 0);
	expect_refused(path, HS_IO, "pipe"); /* must not wait for a writer */
	unlink(path);
	expect_refused(folder, HS_IO, "folder");
	expect_refused("/dev/zero", HS_IO, "device");
	expect_refused(path_of("missing"), HS_NOT_FOUND, "no such file");
	expect_refused(path_of("missing/below"), HS_NOT_FOUND, "no such file");
}

/* A write that takes at most three bytes and is interrupted every other time. */
static int write_calls;

static ssize_t reluctant_write(int fd, const void *data, size_t size)
{
	if (write_calls++ % 2 == 0) {
		errno = EINTR;
		return -1;
	}
	return write(fd, data, size < 3 ? size : 3);
}

static ssize_t full_write(int fd, const void *data, size_t size)
{
	if (write_calls++ == 0)
		return write(fd, data, size / 2);
	errno = ENOSPC;
	return -1;
}

static ssize_t idle_write(int fd, const void *data, size_t size)
{
	(void)fd;
	(void)data;
	(void)size;
	return 0;
}

static int write_with(ssize_t (*call)(int, const void *, size_t), struct hs_err *err)
{
	const char *path = path_of("written");
	int fd = file_real.open(AT_FDCWD, path, O_WRONLY | O_CREAT | O_TRUNC, 0600);

	assert_true(fd >= 0);
	write_calls = 0;
	file_calls.write = call;
	int result = file_write_all(fd, "0123456789", 10, err);
	file_calls = file_real;
	file_real.close(fd);
	return result;
}

static void expect_written(const char *expected)
{
	size_t size;
	char *data = file_read(path_of("written"), 100, &size, NULL);

	assert_string_equal(data, expected);
	mem_free(data);
	unlink(path_of("written"));
}

static void test_write_is_complete_when_short_and_interrupted(void **state)
{
	struct hs_err err = {0};

	(void)state;
	assert_int_equal(write_with(reluctant_write, &err), 0);
	expect_written("0123456789");
	assert_int_equal(err.code, HS_OK);
}

static void test_write_fails_in_plain_words_when_disk_is_full(void **state)
{
	struct hs_err err = {0};

	(void)state;
	assert_int_equal(write_with(full_write, &err), -1);
	expect_written("01234");
	assert_int_equal(err.code, HS_IO);
	assert_non_null(strstr(err.text, "no space is left on the disk"));
	err_clear(&err);
	assert_int_equal(write_with(idle_write, &err), -1); /* no progress must not loop */
	assert_int_equal(err.code, HS_IO);
	expect_written("");
}

static void test_reason_never_shows_a_number(void **state)
{
	(void)state;
	for (int e = 0; e < 200; e++) {
		const char *reason = file_reason(e);
		assert_true(strlen(reason) > 5);
		assert_null(strpbrk(reason, "0123456789"));
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_first_error_wins_when_two_are_set),
		cmocka_unit_test(test_error_is_optional_when_null),
		cmocka_unit_test(test_error_is_cut_between_characters_when_too_long),
		cmocka_unit_test(test_memory_is_zeroed_when_allocated),
		cmocka_unit_test(test_memory_is_exhausted_when_nth_request_must_fail),
		cmocka_unit_test(test_memory_is_exhausted_when_size_overflows),
		cmocka_unit_test(test_arena_is_exhausted_when_size_overflows),
		cmocka_unit_test(test_arena_gives_aligned_zeroed_separate_memory),
		cmocka_unit_test(test_arena_copies_strings),
		cmocka_unit_test(test_text_is_empty_string_when_nothing_was_added),
		cmocka_unit_test(test_text_grows_when_much_is_added),
		cmocka_unit_test(test_utf8_is_accepted_only_when_well_formed),
		cmocka_unit_test(test_width_counts_columns_when_bytes_differ),
		cmocka_unit_test(test_width_agrees_with_c_library),
		cmocka_unit_test(test_wrap_breaks_between_words),
		cmocka_unit_test(test_wrap_indents_first_line_and_others),
		cmocka_unit_test(test_wrap_cuts_words_longer_than_a_line),
		cmocka_unit_test(test_wrap_keeps_every_character_when_text_is_random),
		cmocka_unit_test(test_clean_keeps_ordinary_text),
		cmocka_unit_test(test_clean_shows_escapes_when_text_would_drive_a_terminal),
		cmocka_unit_test(test_clean_leaves_nothing_harmful_when_any_character_is_given),
		cmocka_unit_test(test_html_escapes_markup_and_controls),
		cmocka_unit_test(test_ascii_keeps_the_meaning_of_units),
		cmocka_unit_test(test_ascii_never_answers_with_a_question_mark),
		cmocka_unit_test(test_words_are_compared_without_case),
		cmocka_unit_test(test_distance_counts_slips),
		cmocka_unit_test(test_distance_is_a_metric_when_words_are_random),
		cmocka_unit_test(test_near_name_is_found_when_it_is_a_slip),
		cmocka_unit_test(test_json_string_is_escaped),
		cmocka_unit_test(test_json_number_is_short_and_reads_back),
		cmocka_unit_test(test_file_is_read_when_within_cap),
		cmocka_unit_test(test_file_of_unknown_size_is_capped),
		cmocka_unit_test(test_file_is_refused_when_not_regular),
		cmocka_unit_test(test_write_is_complete_when_short_and_interrupted),
		cmocka_unit_test(test_write_fails_in_plain_words_when_disk_is_full),
		cmocka_unit_test(test_reason_never_shows_a_number),
	};

	return cmocka_run_group_tests_name("base", tests, make_folder, remove_folder);
}
