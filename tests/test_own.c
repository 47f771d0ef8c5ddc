/* A machine file written for a person: names, places, and the conversation at a terminal. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/text.h"
#include "fixture.h"
#include "knowledge/own.h"
#include "pty.h"

#define PATIENCE 20000 /* ms; a loaded machine is slow, and nothing waits this long otherwise */

static void is_named(const char *title, const char *want)
{
	char id[65];

	assert_true(kn_own_id(title, id));
	assert_string_equal(id, want);
}

static void test_name_is_made_of_title(void **state)
{
	char id[65];

	(void)state;
	is_named("My old twin", "my-old-twin");
	is_named("  500 (red!) ", "500-red");
	is_named("Stra\xc3\x9f" "e", "stra-e");
	is_named("a very long name that goes on and on and on and on", "a-very-long-name-that-goes-on-and-on-and");
	assert_false(kn_own_id("", id));
	assert_false(kn_own_id("\xc3\xa9 !", id));
}

static int places_of(const struct kn_knowledge *kn, const char *kind)
{
	for (int i = 0; i < kn->nkinds; i++)
		if (strcmp(kn->kinds[i].id, kind) == 0)
			return kn->kinds[i].nplaces;
	return 0;
}

/* Writes what `own` says into a file, loads it with the trees, and removes it. */
static struct kn_knowledge *loaded(const struct kn_own *own)
{
	char folder[64], path[128], below[256];
	struct text file = {0};
	struct kn_knowledge *kn;
	FILE *f;

	assert_int_equal(fixture_folder(folder), 0);
	snprintf(path, sizeof path, "%s/own.xml", folder);
	kn_own_write(own, &file);
	f = fopen(path, "w");
	assert_non_null(f);
	assert_int_equal(fwrite(text_str(&file), 1, file.len, f), file.len);
	assert_int_equal(fclose(f), 0);
	snprintf(below, sizeof below, "trees:%s", path);
	kn = fixture_trees(below, own->id);
	fixture_remove(folder);
	text_free(&file);
	return kn;
}

/* Like each machine there is, with no figures: same places, same access, loads. */
static void test_file_loads_when_like_any_machine(void **state)
{
	static const char *const like[] = {"four", "twin", "single", "generic-twin"};

	(void)state;
	for (int i = 0; i < 4; i++) {
		struct kn_knowledge *kn = fixture_trees("trees", like[i]), *mine;
		struct kn_own own = {.id = "mine", .title = "it's <mine> & \"yours\"", .like = kn};

		assert_non_null(kn);
		own.fitted = kn->fitted;
		own.ncylinders = places_of(kn, "cylinder");
		own.ncarburettors = places_of(kn, "carburettor");
		own.ncoils = places_of(kn, "coil");
		mine = loaded(&own);
		assert_non_null(mine);
		assert_string_equal(mine->machine_title, own.title);
		assert_int_equal(mine->fitted, kn->fitted);
		assert_int_equal(mine->nkinds, kn->nkinds);
		for (int k = 0; k < kn->nkinds; k++)
			assert_int_equal(places_of(mine, kn->kinds[k].id), kn->kinds[k].nplaces);
		for (int a = 0; a < kn->naccesses; a++) {
			assert_int_equal(mine->accesses[a].reachable, kn->accesses[a].reachable);
			fixture_near(kn_open_minutes(mine, a), kn_open_minutes(kn, a), 1e-9);
			fixture_near(kn_close_minutes(mine, a), kn_close_minutes(kn, a), 1e-9);
		}
		assert_int_equal(mine->nvalues, 0);
		kn_free(mine);
		kn_free(kn);
	}
}

static uint32_t sites_of(const struct kn_knowledge *kn, const char *kind, int place)
{
	for (int i = 0; i < kn->nkinds; i++)
		if (strcmp(kn->kinds[i].id, kind) == 0)
			return kn->kinds[i].places[place].sites;
	return 0;
}

/* Cylinders of a coil with two leads rise together: 1 and 4, 2 and 3 (common practice on fours). */
static void test_sites_when_parts_are_shared(void **state)
{
	struct kn_knowledge *kn = fixture_trees("trees", "generic-twin"), *mine;
	struct kn_own own = {.id = "mine", .title = "mine", .like = kn, .ncylinders = 4,
			     .ncarburettors = 1, .ncoils = 2};

	(void)state;
	assert_non_null(kn);
	for (int i = 0; i < kn->noptions; i++)
		if (strcmp(kn->options[i].id, "twin-ended-coils") == 0)
			own.fitted |= (uint64_t)1 << i;
	mine = loaded(&own);
	assert_non_null(mine);
	assert_int_equal(sites_of(mine, "carburettor", 0), 15);
	assert_int_equal(sites_of(mine, "coil", 0), 1 | 8);
	assert_int_equal(sites_of(mine, "coil", 1), 2 | 4);
	kn_free(mine);
	own.fitted = 0;
	own.ncarburettors = 8;
	mine = loaded(&own);
	assert_non_null(mine);
	assert_int_equal(sites_of(mine, "carburettor", 0), 1);
	assert_int_equal(sites_of(mine, "carburettor", 7), 8);
	assert_int_equal(sites_of(mine, "coil", 1), 4 | 8);
	kn_free(mine);
	kn_free(kn);
}

/* ---- figures before the machine's own ------------------------------------------------------------- */

static void test_figure_goes_before_the_band_when_loaded_with_it(void **state)
{
	struct kn_figure f = {"coil-primary", {4.2, 4, 4.4, 25, false}};
	struct hs_err err = {0};
	const char *root = getenv("HALFSPLIT_ROOT");
	char trees[4096];
	struct kn_knowledge *plain, *with;
	int check, value;

	(void)state;
	snprintf(trees, sizeof trees, "%s/trees", root ? root : ".");
	plain = kn_load(trees, "generic-twin", &err);
	with = kn_load_with(trees, "generic-twin", &f, 1, &err);
	assert_non_null(plain);
	assert_non_null(with);
	assert_string_equal(plain->digest, with->digest);
	assert_int_equal(plain->nfaults, with->nfaults);
	assert_int_equal(plain->nchecks, with->nchecks);
	value = kn_value_by_id(with, "coil-primary");
	assert_true(plain->values[value].generic);
	assert_false(with->values[value].generic);
	check = kn_check_by_id(with, "coil-primary");
	assert_true(kn_value_matters(with, value));
	fixture_near(with->checks[check].reading->low, 4, 1e-12);
	fixture_near(with->checks[check].reading->high, 4.4, 1e-12);
	fixture_near(with->checks[check].reading->reference_degC, 25, 1e-12);
	kn_free(plain);
	kn_free(with);
}

/* ---- at a terminal ---------------------------------------------------------------------------------- */

static void test_bike_is_described_at_a_terminal(void **state)
{
	const char *root = getenv("HALFSPLIT_ROOT"), *program = getenv("HALFSPLIT_PROGRAM");
	char trees[4096], folder[64], data[80], home[80], path[128];
	const char *argv[] = {program ? program : "build/halfsplit", "--trees", trees, "machine", "new", NULL};
	const char *const env[] = {data, home, NULL};
	struct pty *p;

	(void)state;
	snprintf(trees, sizeof trees, "%s/trees", root ? root : ".");
	assert_int_equal(fixture_folder(folder), 0);
	snprintf(data, sizeof data, "XDG_DATA_HOME=%s", folder);
	snprintf(home, sizeof home, "XDG_STATE_HOME=%s", folder);
	p = pty_start(&(struct pty_setup){.argv = argv, .env = env});
	if (!p)
		skip();
	assert_true(pty_wait(p, "What is the bike called", PATIENCE));
	pty_send(p, "twin\r");
	assert_true(pty_wait(p, "take another", PATIENCE));
	pty_send(p, "y\r"); /* what was refused stands in the line, to be edited: "twiny" */
	assert_true(pty_wait(p, "most like", PATIENCE));
	pty_send(p, "back\r");
	assert_true(pty_wait(p, "called", PATIENCE));
	pty_send(p, "Tested\r");
	assert_true(pty_wait(p, "most like", PATIENCE));
	pty_send(p, "\r");
	for (int i = 0; i < 3; i++) {
		assert_true(pty_wait(p, "How many", PATIENCE));
		pty_send(p, "\r");
	}
	assert_true(pty_wait(p, "What is fitted", PATIENCE));
	pty_send(p, "?\r");
	assert_true(pty_wait(p, "What is not fitted cannot fail", PATIENCE));
	pty_send(p, "\r");
	assert_true(pty_wait(p, "Hot idle", PATIENCE));
	pty_send(p, "1000 to 1200\r");
	assert_true(pty_wait(p, "Understood: 1000 to 1200 rpm.", PATIENCE));
	pty_send(p, "don't know\r");
	assert_true(pty_wait(p, "3 of", PATIENCE));
	pty_send(p, "can't\r");
	assert_true(pty_wait(p, "begins a job with it", PATIENCE));
	assert_int_equal(pty_end(p, PATIENCE), 0);
	pty_free(p);
	snprintf(path, sizeof path, "%s/halfsplit/machines/tested.xml", folder);
	assert_int_equal(access(path, R_OK), 0);
	fixture_remove(folder);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_name_is_made_of_title),
		cmocka_unit_test(test_file_loads_when_like_any_machine),
		cmocka_unit_test(test_sites_when_parts_are_shared),
		cmocka_unit_test(test_figure_goes_before_the_band_when_loaded_with_it),
		cmocka_unit_test(test_bike_is_described_at_a_terminal),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
