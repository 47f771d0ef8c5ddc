/* What is loaded, counted against the list of what must be there (tests/data/content.txt). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/file.h"
#include "base/mem.h"
#include "knowledge/knowledge.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

static const char *const machine_ids[] = { "four", "twin", "single", "generic-twin" };
#define MACHINES COUNT(machine_ids)
static struct kn_knowledge *machine[MACHINES];

static const char *in_root(const char *path)
{
	static char full[1024];
	const char *root = getenv("HALFSPLIT_ROOT");

	snprintf(full, sizeof full, "%s/%s", root ? root : ".", path);
	return full;
}

static int load(void **state)
{
	struct hs_err err = { 0 };

	(void)state;
	for (size_t m = 0; m < MACHINES; m++) {
		machine[m] = kn_load(in_root("trees"), machine_ids[m], &err);
		if (!machine[m])
			fail_msg("%s:%d: %s", err.file, err.line, err.text);
	}
	return 0;
}

static int unload(void **state)
{
	(void)state;
	for (size_t m = 0; m < MACHINES; m++)
		kn_free(machine[m]);
	return 0;
}

/* ---- is it there ---------------------------------------------------------------------------- */

static bool has_symptom(const char *id)
{
	int c = kn_check_by_id(machine[0], id);

	return c != KN_NONE && machine[0]->checks[c].kind == KN_SYMPTOM;
}

/* On one machine at least, it can be done there. */
static bool has_check(const char *id)
{
	for (size_t m = 0; m < MACHINES; m++) {
		int c = kn_check_by_id(machine[m], id);

		if (c != KN_NONE && machine[m]->checks[c].kind != KN_SYMPTOM &&
		    machine[m]->checks[c].offered)
			return true;
	}
	return false;
}

static bool has_gate(const char *id)
{
	for (int g = 0; g < machine[0]->ngates; g++)
		if (strcmp(machine[0]->gates[g].id, id) == 0)
			return true;
	return false;
}

/* PART.MODE, @one or @all behind it: some machine has such a fault and gives it weight. */
static bool has_cause(const char *ref)
{
	const char *at = strchr(ref, '@');
	char name[160];

	snprintf(name, sizeof name, "%.*s", (int)strcspn(ref, "@"), ref);
	for (size_t m = 0; m < MACHINES; m++)
		for (int f = 0; f < machine[m]->nfaults; f++) {
			const struct kn_fault *fault = &machine[m]->faults[f];

			if (machine[m]->something_else && f == 0)
				continue;
			if (strcmp(machine[m]->modes[fault->mode].ref, name) == 0 &&
			    fault->weight > 0 && (!at || fault->all == (strcmp(at, "@all") == 0)))
				return true;
		}
	return false;
}

static bool has_access(const char *id)
{
	for (size_t m = 0; m < MACHINES; m++) {
		int a = kn_access_by_id(machine[m], id);

		if (a != KN_NONE && machine[m]->accesses[a].reachable)
			return true;
	}
	return false;
}

static bool has_code(const char *of, const char *number)
{
	char id[40];

	snprintf(id, sizeof id, "code-%s", number);
	for (size_t m = 0; m < MACHINES; m++)
		if (strcmp(machine_ids[m], of) == 0) {
			int c = kn_check_by_id(machine[m], "lamp-code");

			return c != KN_NONE && machine[m]->checks[c].offered &&
			       kn_outcome_by_id(&machine[m]->checks[c], id) != KN_NONE;
		}
	return false;
}

static bool among(const int *list, int n, int wanted)
{
	for (int i = 0; i < n; i++)
		if (list[i] == wanted)
			return true;
	return false;
}

/* On every machine that has both, and on one at least. */
static bool has_batch(const char *state, const char *check)
{
	bool found = false;

	for (size_t m = 0; m < MACHINES; m++) {
		const struct kn_knowledge *kn = machine[m];
		int a = kn_access_by_id(kn, state), c = kn_check_by_id(kn, check);

		if (a == KN_NONE || c == KN_NONE || !kn->accesses[a].reachable || !kn->checks[c].offered)
			continue;
		if (!among(kn->accesses[a].batch, kn->accesses[a].nbatch, c))
			return false;
		found = true;
	}
	return found;
}

static bool has_one_way(const char *state)
{
	for (size_t m = 0; m < MACHINES; m++) {
		const struct kn_access *a = &machine[m]->accesses[kn_access_by_id(machine[m], state)];

		if (a->reachable && (strcmp(state, "bench") == 0 ? a->close_min < 1.4 * a->open_min
								 : !a->consumes || !(a->consumes_cost > 0)))
			return false;
	}
	return true;
}

/* Some remedy does it, the check is spoiled by it, and no other check says so. */
static bool has_spoiler(const char *work, const char *check)
{
	const struct kn_knowledge *kn = machine[0];
	uint32_t bit = 0;
	bool done = false;

	for (int i = 0; i < kn->nspoilers; i++)
		bit |= strcmp(kn->spoilers[i].id, work) == 0 ? (uint32_t)1 << i : 0;
	for (int r = 0; r < kn->nremedies; r++)
		done = done || kn->remedies[r].spoils & bit;
	return bit && done && kn->checks[kn_check_by_id(kn, check)].spoiled_by & bit;
}

static bool has_order(const char *first, const char *then)
{
	const struct kn_knowledge *kn = machine[0];
	int f = kn_check_by_id(kn, first), c = kn_check_by_id(kn, then), r = kn_remedy_by_id(kn, then);

	if (f == KN_NONE || (c == KN_NONE && r == KN_NONE))
		return false;
	return c != KN_NONE ? among(kn->checks[c].after, kn->checks[c].nafter, f)
			    : among(kn->remedies[r].after, kn->remedies[r].nafter, f);
}

static bool has_validity(const char *check, const char *circumstance)
{
	const struct kn_knowledge *kn = machine[0];
	int c = kn_check_by_id(kn, check), when = kn_circumstance_by_id(kn, circumstance);

	return c != KN_NONE && when != KN_NONE && kn->checks[c].only_when >> when & 1;
}

/* ---- the list ------------------------------------------------------------------------------- */

struct count { const char *kind; int must, listed; };
static struct count counts[] = {
	{ "symptom", 27, 0 }, { "condition", 31, 0 }, { "cause", 121, 0 }, { "check", 168, 0 },
	{ "setting", 12, 0 }, { "access", 12, 0 }, { "code", 25, 0 },
	{ "batch", 62, 0 }, { "one-way", 5, 0 }, { "spoils", 2, 0 }, { "order", 5, 0 },
	{ "valid", 5, 0 },
};

/* Kinds of things that two names say. */
static const struct { const char *kind; bool (*has)(const char *a, const char *b); } pairs[] = {
	{ "code", has_code }, { "batch", has_batch }, { "spoils", has_spoiler }, { "order", has_order },
	{ "valid", has_validity },
};

static bool is_there(const char *kind, char *names)
{
	bool there = true;

	for (size_t i = 0; i < COUNT(pairs); i++)
		if (strcmp(kind, pairs[i].kind) == 0) {
			char *a = strtok(names, " "), *b = strtok(NULL, " ");

			return a && b && pairs[i].has(a, b);
		}
	if (strcmp(kind, "one-way") == 0)
		return has_one_way(names);
	for (char *name = strtok(names, " "); name; name = strtok(NULL, " "))
		there = there && (strcmp(kind, "symptom") == 0	   ? has_symptom(name)
				  : strcmp(kind, "condition") == 0 ? has_gate(name)
				  : strcmp(kind, "cause") == 0	   ? has_cause(name)
				  : strcmp(kind, "check") == 0	   ? has_check(name)
				  : strcmp(kind, "setting") == 0
					  ? kn_setting_by_id(machine[0], name) != KN_NONE
					  : strcmp(kind, "access") == 0 && has_access(name));
	return there;
}

static int take_line(char *line)
{
	char *names, shown[200];

	line[strcspn(line, "\r\n")] = '\0';
	if (!*line || *line == '#')
		return 0;
	names = strchr(line, ' ');
	assert_non_null(names);
	*names++ = '\0';
	snprintf(shown, sizeof shown, "%s", names);
	for (size_t i = 0; i < COUNT(counts); i++)
		if (strcmp(counts[i].kind, line) == 0) {
			counts[i].listed++;
			if (is_there(line, names))
				return 0;
			print_error("missing: %s %s\n", line, shown);
			return 1;
		}
	fail_msg("no kind of thing: %s", line);
	return 1;
}

static void test_everything_listed_is_there_when_loaded(void **state)
{
	FILE *f = fopen(in_root("tests/data/content.txt"), "r");
	char line[256];
	int missing = 0;

	(void)state;
	assert_non_null(f);
	while (fgets(line, sizeof line, f))
		missing += take_line(line);
	fclose(f);
	for (size_t i = 0; i < COUNT(counts); i++)
		if (counts[i].listed != counts[i].must)
			fail_msg("%d of kind %s are listed, not %d", counts[i].listed,
				 counts[i].kind, counts[i].must);
	assert_int_equal(missing, 0);
}

static void test_symptoms_are_no_more_than_listed_when_counted(void **state)
{
	/* No lamp, heaters, electric starter or second cylinder on the single; no lamp on the
	 * generic one. */
	static const int symptoms[MACHINES] = { 27, 27, 23, 26 };

	(void)state;
	for (size_t m = 0; m < MACHINES; m++)
		assert_int_equal(machine[m]->nsymptoms, symptoms[m]);
	assert_int_equal(machine[0]->ngates, 31);
}

/* ---- every one complete --------------------------------------------------------------------- */

static void test_every_check_has_instruction_and_answers_in_words(void **state)
{
	(void)state;
	for (size_t m = 0; m < MACHINES; m++)
		for (int c = 0; c < machine[m]->nchecks; c++) {
			const struct kn_check *check = &machine[m]->checks[c];

			if (check->kind == KN_SYMPTOM || !check->offered)
				continue;
			if (!check->how || strlen(check->how) < 20)
				fail_msg("%s: %s: no instruction", machine_ids[m], check->id);
			for (int o = 0; o < check->noutcomes; o++)
				if (!check->outcomes[o].title || !*check->outcomes[o].title)
					fail_msg("%s: %s: an answer without words", machine_ids[m],
						 check->id);
		}
}

static void test_every_remedy_has_steps_proof_and_verification(void **state)
{
	(void)state;
	for (size_t m = 0; m < MACHINES; m++)
		for (int r = 0; r < machine[m]->nremedies; r++) {
			const struct kn_remedy *remedy = &machine[m]->remedies[r];
			bool verified = false;

			for (int i = 0; i < remedy->nverifies; i++)
				verified =
					verified || machine[m]->checks[remedy->verifies[i]].offered;
			if (!verified || !remedy->nsteps || !remedy->proof || remedy->nclears == 0)
				fail_msg("%s: %s lacks verification, steps, proof or a cause",
					 machine_ids[m], remedy->id);
		}
}

static void test_every_fault_has_a_remedy(void **state)
{
	(void)state;
	for (size_t m = 0; m < MACHINES; m++) {
		const struct kn_knowledge *kn = machine[m];

		for (int f = kn->something_else ? 1 : 0; f < kn->nfaults; f++) {
			bool cleared = false;

			for (int r = 0; r < kn->nremedies && !cleared; r++)
				for (int i = 0; i < kn->remedies[r].nclears; i++)
					cleared = cleared || kn->remedies[r].clears[i].fault == f;
			if (!cleared)
				fail_msg("%s: nothing clears %s", machine_ids[m],
					 kn->modes[kn->faults[f].mode].ref);
		}
	}
}

static void test_every_setting_says_how_and_is_recorded(void **state)
{
	const struct kn_knowledge *kn = machine[0];

	(void)state;
	for (int s = 0; s < kn->nsettings; s++) {
		bool recorded = false;

		assert_non_null(kn->settings[s].how);
		assert_non_null(kn->settings[s].restore);
		for (int r = 0; r < kn->nremedies && !recorded; r++)
			for (int i = 0; i < kn->remedies[r].nrecords; i++)
				recorded = recorded || kn->remedies[r].records[i] == s;
		if (!recorded)
			fail_msg("no remedy records %s", kn->settings[s].id);
	}
}

/* Work in whose name the word happens to stand leaves the evidence alone. */
static void test_only_work_that_says_so_spoils_evidence(void **state)
{
	static const char *const harmless[] = { "find-drain", "seal-bowl-drain", "clean-battery-terminals",
						"clean-earth-strap", "drain-airbox" };
	const struct kn_knowledge *kn = machine[0];

	(void)state;
	for (size_t i = 0; i < COUNT(harmless); i++) {
		assert_int_not_equal(kn_remedy_by_id(kn, harmless[i]), KN_NONE);
		assert_int_equal(kn->remedies[kn_remedy_by_id(kn, harmless[i])].spoils, 0);
	}
	assert_int_not_equal(kn->remedies[kn_remedy_by_id(kn, "clean-all-pilot-jets")].spoils, 0);
}

/* Work below these states spoils what the state says; the cost must be there. */
static void test_states_that_consume_something_say_so(void **state)
{
	static const char *const states[] = { "bowls-off", "bodies-split", "valve-cover-off",
					      "header-off" };

	(void)state;
	for (size_t m = 0; m < MACHINES; m++)
		for (size_t i = 0; i < COUNT(states); i++) {
			int a = kn_access_by_id(machine[m], states[i]);

			if (a == KN_NONE || !machine[m]->accesses[a].reachable)
				continue;
			if (!machine[m]->accesses[a].consumes ||
			    machine[m]->accesses[a].consumes_cost <= 0)
				fail_msg("%s: opening %s costs nothing", machine_ids[m], states[i]);
		}
}

/* Opening these lets petrol out or leaves hot metal to the hands: said with whatever is done there. */
static void test_opening_that_can_hurt_has_its_caution(void **state)
{
	static const struct { const char *state, *hazard; } opened[] = { { "tank-off", "petrol" },
		{ "bench", "petrol" }, { "bowls-off", "petrol" }, { "header-off", "burns" } };

	(void)state;
	for (size_t m = 0; m < MACHINES; m++)
		for (size_t i = 0; i < COUNT(opened); i++) {
			const struct kn_access *a = &machine[m]->accesses[kn_access_by_id(machine[m], opened[i].state)];

			if (a->ncautions != 1 || strcmp(a->cautions[0].hazard, opened[i].hazard) != 0)
				fail_msg("%s: opening %s has no caution", machine_ids[m], opened[i].state);
		}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_everything_listed_is_there_when_loaded),
		cmocka_unit_test(test_symptoms_are_no_more_than_listed_when_counted),
		cmocka_unit_test(test_every_check_has_instruction_and_answers_in_words),
		cmocka_unit_test(test_every_remedy_has_steps_proof_and_verification),
		cmocka_unit_test(test_every_fault_has_a_remedy),
		cmocka_unit_test(test_every_setting_says_how_and_is_recorded),
		cmocka_unit_test(test_only_work_that_says_so_spoils_evidence),
		cmocka_unit_test(test_opening_that_can_hurt_has_its_caution),
		cmocka_unit_test(test_states_that_consume_something_say_so),
	};

	return cmocka_run_group_tests(tests, load, unload);
}
