/* The shipped trees: they load for every machine, and nothing that was promised is missing. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/file.h"
#include "base/mem.h"
#include "knowledge/knowledge.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define OWN_BIKE "tests/data/good-trees/own-bike"

static const char *const machine_ids[] = { "four", "twin", "single", "generic-twin" };

static const char *in_root(const char *path)
{
	static char full[1024];
	const char *root = getenv("HALFSPLIT_ROOT");

	snprintf(full, sizeof full, "%s/%s", root ? root : ".", path);
	return full;
}

static struct kn_knowledge *load(const char *folder, const char *machine)
{
	struct hs_err err = { 0 };
	struct kn_knowledge *kn = kn_load(folder, machine, &err);

	if (!kn)
		fail_msg("%s:%d: %s", err.file, err.line, err.text);
	return kn;
}

static struct kn_knowledge *shipped[COUNT(machine_ids)];

static int load_shipped(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(machine_ids); i++)
		shipped[i] = load(in_root("trees"), machine_ids[i]);
	return 0;
}

static int free_shipped(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(machine_ids); i++)
		kn_free(shipped[i]);
	return 0;
}

static void test_symptoms_are_there_when_shipped(void **state)
{
	static const char *const ids[] = {
		"flooding", "drip-at-rest", "hard-cold-start", "hard-hot-start", "cranks-never-fires",
		"slow-crank", "will-not-idle", "hanging-idle", "surging", "off-idle-hesitation",
		"mid-range-flat-spot", "rich-running", "poor-economy", "popping-on-overrun",
		"spits-back", "one-cylinder-weak", "misfire-under-load", "no-power-high-revs",
		"runs-out-recovers", "stalls-hot", "fault-blink", "icing", "poor-charging",
		"sudden-cut-out", "blue-smoke", "rough-idle", "oil-level-rising",
	};

	(void)state;
	for (size_t m = 0; m < COUNT(machine_ids); m++)
		for (size_t i = 0; i < COUNT(ids); i++) {
			int c = kn_check_by_id(shipped[m], ids[i]);

			if (c == KN_NONE || shipped[m]->checks[c].kind != KN_SYMPTOM)
				fail_msg("%s: no symptom %s", machine_ids[m], ids[i]);
			assert_non_null(shipped[m]->checks[c].says);
			assert_true(shipped[m]->checks[c].nasks > 0);
			assert_true(!shipped[m]->checks[c].offered || shipped[m]->checks[c].nbranches > 0);
		}
}

/* Something moves it: a vote of an offered check, or the model of a reading. */
static bool is_looked_at(const struct kn_knowledge *kn, int fault)
{
	for (int c = 0; c < kn->nchecks; c++) {
		const struct kn_check *check = &kn->checks[c];

		if (!check->offered || check->kind == KN_SYMPTOM)
			continue;
		for (int o = 0; o < check->noutcomes; o++)
			if (check->outcomes[o].vote && check->outcomes[o].vote[fault] >= .3)
				return true;
		for (int m = 0; m < check->nmodels; m++)
			for (int i = 0; i < check->models[m].nfaults; i++)
				if (check->models[m].faults[i] == fault)
					return true;
	}
	return false;
}

static bool is_cleared(const struct kn_knowledge *kn, int fault)
{
	for (int r = 0; r < kn->nremedies; r++)
		for (int i = 0; i < kn->remedies[r].nclears; i++)
			if (kn->remedies[r].clears[i].fault == fault)
				return true;
	return false;
}

static void test_every_fault_is_looked_at_and_cleared_when_shipped(void **state)
{
	(void)state;
	for (size_t m = 0; m < COUNT(machine_ids); m++) {
		const struct kn_knowledge *kn = shipped[m];

		for (int f = kn->something_else ? 1 : 0; f < kn->nfaults; f++) {
			const char *ref = kn->modes[kn->faults[f].mode].ref;

			if (!is_looked_at(kn, f))
				fail_msg("%s: no check looks at %s", machine_ids[m], ref);
			if (!is_cleared(kn, f))
				fail_msg("%s: no remedy clears %s", machine_ids[m], ref);
		}
	}
}

static void test_every_check_says_how_when_shipped(void **state)
{
	(void)state;
	for (size_t m = 0; m < COUNT(machine_ids); m++)
		for (int c = 0; c < shipped[m]->nchecks; c++) {
			const struct kn_check *check = &shipped[m]->checks[c];

			if (check->kind != KN_SYMPTOM && (!check->how || strlen(check->how) < 20))
				fail_msg("%s: %s does not say how", machine_ids[m], check->id);
			if (check->reading && !check->reading->instrument)
				fail_msg("%s: %s has no instrument", machine_ids[m], check->id);
			if (check->reading && !(check->reading->repeatability > 0))
				fail_msg("%s: %s has no repeatability", machine_ids[m], check->id);
		}
}

static void test_every_remedy_is_verified_when_shipped(void **state)
{
	(void)state;
	for (size_t m = 0; m < COUNT(machine_ids); m++)
		for (int r = 0; r < shipped[m]->nremedies; r++) {
			const struct kn_remedy *remedy = &shipped[m]->remedies[r];
			bool offered = false;

			for (int i = 0; i < remedy->nverifies; i++)
				offered = offered || shipped[m]->checks[remedy->verifies[i]].offered;
			if (!offered)
				fail_msg("%s: nothing verifies %s", machine_ids[m], remedy->id);
			if (!remedy->nsteps || !remedy->proof)
				fail_msg("%s: %s has no steps or no proof", machine_ids[m], remedy->id);
		}
}

/* Petrol that must be caught and sparks that must be kept off are said where they arise. */
static void test_danger_is_said_when_fuel_is_opened(void **state)
{
	static const char *const open[] = { "bowl-sample", "bowl-volume", "fuel-level", "gravity-flow",
					    "where-wet", "wet-with-tap-off", "overflow-on-prime" };

	(void)state;
	for (size_t i = 0; i < COUNT(open); i++) {
		const struct kn_check *c =
			&shipped[0]->checks[kn_check_by_id(shipped[0], open[i])];

		assert_true(c->ncautions > 0);
		assert_int_equal(c->cautions[0].signal, KN_DANGER);
	}
}

static void test_twin_reads_its_heaters_in_parallel_when_bound(void **state)
{
	const struct kn_knowledge *kn = shipped[1];
	const struct kn_check *c = &kn->checks[kn_check_by_id(kn, "heaters-at-plug")];

	(void)state;
	assert_true(c->offered);
	assert_int_equal(c->nmodels, 1);
	assert_int_equal(c->models[0].nleaves, 4);
	assert_int_equal(c->models[0].nfaults, 4);
	assert_true(c->reading->leads);
	assert_false(kn->checks[kn_check_by_id(kn, "heater-pair")].offered);
}

static void test_codes_are_the_machines_own_when_bound(void **state)
{
	(void)state;
	for (size_t m = 0; m < COUNT(machine_ids); m++) {
		const struct kn_check *c =
			&shipped[m]->checks[kn_check_by_id(shipped[m], "lamp-code")];

		/* The single has no lamp; whose lamp the generic twin has nobody knows. */
		assert_int_equal(c->offered, m < 2);
		if (m >= 2)
			continue;
		assert_true(c->noutcomes > 8);
		assert_true(c->outcomes[c->noutcomes - 1].rest);
	}
}

/* ---- the example of docs/trees-howto.md ------------------------------------------------------ */

static char own[128];

static int copy_trees(void **state)
{
	char command[3300], root[1024];
	const char *tmp = getenv("TMPDIR");

	(void)state;
	snprintf(root, sizeof root, "%s", in_root("."));
	snprintf(own, sizeof own, "%s/halfsplit-trees-XXXXXX", tmp && strlen(tmp) < 90 ? tmp : "/tmp");
	if (!mkdtemp(own))
		return -1;
	snprintf(command, sizeof command, "cp -r '%s/trees/.' '%s' && cp '%s/" OWN_BIKE "'/*.xml '%s'",
		 root, own, root, own);
	return system(command) == 0 ? 0 : -1;
}

static int remove_copy(void **state)
{
	char command[200];

	(void)state;
	snprintf(command, sizeof command, "rm -r '%s'", own);
	return system(command) == 0 ? 0 : -1;
}

static void test_own_bike_and_symptom_load_when_added(void **state)
{
	struct kn_knowledge *kn = load(own, "my-single");
	int symptom = kn_check_by_id(kn, "kicks-back"), check = kn_check_by_id(kn, "advance-by-hand");
	int mode = kn_mode_by_ref(kn, "advance-weights.stuck");
	int remedy = kn_remedy_by_id(kn, "free-advance-weights");

	(void)state;
	assert_int_not_equal(symptom, KN_NONE);
	assert_int_not_equal(mode, KN_NONE);
	assert_int_not_equal(remedy, KN_NONE);
	assert_true(kn->checks[check].offered);
	assert_true(kn->checks[kn_check_by_id(kn, "coil-primary")].offered);
	assert_false(kn->checks[kn_check_by_id(kn, "heater-alone")].offered);
	assert_false(kn->checks[kn_check_by_id(kn, "lamp-code")].offered);
	kn_free(kn);
}

/* The guide shows the files as they are: every line of theirs stands in it, in order. */
static void test_guide_shows_the_files_when_read(void **state)
{
	static const char *const files[] = { "own-bike.xml", "kicks-back.xml" };
	struct hs_err err = { 0 };
	size_t size;
	char *guide = file_read(in_root("docs/trees-howto.md"), 1 << 20, &size, &err);

	(void)state;
	if (!guide)
		fail_msg("%s", err.text);
	for (size_t i = 0; i < COUNT(files); i++) {
		const char *at = guide;
		char path[128], line[512];
		FILE *f;

		snprintf(path, sizeof path, OWN_BIKE "/%s", files[i]);
		f = fopen(in_root(path), "r");
		assert_non_null(f);
		while (fgets(line, sizeof line, f)) {
			char *words = line + strspn(line, "\t\n");
			const char *found;

			words[strcspn(words, "\n")] = '\0';
			found = strstr(at, words);
			if (!found)
				fail_msg("the guide does not show: %s", words);
			at = found;
		}
		fclose(f);
	}
	mem_free(guide);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_symptoms_are_there_when_shipped),
		cmocka_unit_test(test_every_fault_is_looked_at_and_cleared_when_shipped),
		cmocka_unit_test(test_every_check_says_how_when_shipped),
		cmocka_unit_test(test_every_remedy_is_verified_when_shipped),
		cmocka_unit_test(test_danger_is_said_when_fuel_is_opened),
		cmocka_unit_test(test_twin_reads_its_heaters_in_parallel_when_bound),
		cmocka_unit_test(test_codes_are_the_machines_own_when_bound),
		cmocka_unit_test_setup_teardown(test_own_bike_and_symptom_load_when_added, copy_trees,
						remove_copy),
		cmocka_unit_test(test_guide_shows_the_files_when_read),
	};

	return cmocka_run_group_tests(tests, load_shipped, free_shipped);
}
