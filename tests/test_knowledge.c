/* The knowledge room: what a file means once it is bound to a machine, and what is refused. */
#include <dirent.h>
#include <fcntl.h>
#include <math.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/file.h"
#include "base/mem.h"
#include "knowledge/knowledge.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

/* ---- aids ---------------------------------------------------------------------------------- */

static void assert_within(double found, double expected, double by)
{
	if (!(fabs(found - expected) <= by))
		fail_msg("%.15g is not %.15g", found, expected);
}

static void assert_near(double found, double expected)
{
	assert_within(found, expected, 1e-12);
}

static struct kn_knowledge *load(const char *path, const char *machine)
{
	struct hs_err err = { 0 };
	struct kn_knowledge *kn = kn_load(path, machine, &err);

	if (!kn)
		fail_msg("%s:%d: %s", err.file, err.line, err.text);
	return kn;
}

static struct kn_knowledge *pair, *thumper, *readings;
static char folder[400];        /* for files that are written here */

static int set_up(void **state)
{
	const char *tmp = getenv("TMPDIR");

	(void)state;
	pair = load("tests/data/good-trees/tiny.xml", "pair");
	thumper = load("tests/data/good-trees/tiny.xml", "thumper");
	readings = load("tests/data/good-trees/readings.xml", NULL);
	snprintf(folder, sizeof folder, "%s/halfsplit-knowledge-XXXXXX", tmp ? tmp : "/tmp");
	return mkdtemp(folder) ? 0 : -1;
}

static int take_down(void **state)
{
	char path[sizeof folder + 10];

	(void)state;
	kn_free(pair);
	kn_free(thumper);
	kn_free(readings);
	snprintf(path, sizeof path, "%s/x.xml", folder);
	unlink(path);
	return rmdir(folder);
}

/* Where a fault is: the id of its place, "all", or "" for a part that exists once. */
static const char *where(const struct kn_knowledge *kn, const struct kn_fault *f)
{
	if (f->all)
		return "all";
	return f->place == KN_NONE ? "" : kn->kinds[kn->parts[f->part].kind].places[f->place].id;
}

/* The fault of a mode there; KN_NONE when there is none. */
static int fault(const struct kn_knowledge *kn, const char *ref, const char *place)
{
	int mode = kn_mode_by_ref(kn, ref);

	assert_int_not_equal(mode, KN_NONE);
	for (int i = 0; i < kn->nfaults; i++)
		if (kn->faults[i].mode == mode && !strcmp(where(kn, &kn->faults[i]), place))
			return i;
	return KN_NONE;
}

static const struct kn_check *check(const struct kn_knowledge *kn, const char *id)
{
	int i = kn_check_by_id(kn, id);

	assert_int_not_equal(i, KN_NONE);
	return &kn->checks[i];
}

static const struct kn_outcome *outcome(const struct kn_knowledge *kn, const char *check_id,
					const char *id)
{
	const struct kn_check *c = check(kn, check_id);
	int i = kn_outcome_by_id(c, id);

	assert_int_not_equal(i, KN_NONE);
	return &c->outcomes[i];
}

static const struct kn_gate *gate(const struct kn_knowledge *kn, const char *id)
{
	for (int i = 0; i < kn->ngates; i++)
		if (!strcmp(kn->gates[i].id, id))
			return &kn->gates[i];
	fail_msg("no gate %s", id);
	return NULL;
}

static void assert_vote(const struct kn_knowledge *kn, const struct kn_outcome *o, const char *ref,
			const char *place, double p)
{
	int f = fault(kn, ref, place);

	assert_int_not_equal(f, KN_NONE);
	if (isnan(p))
		assert_true(isnan(o->vote[f]));
	else
		assert_near(o->vote[f], p);
}

static void assert_weight(const struct kn_knowledge *kn, const char *ref, const char *place, double w)
{
	int f = fault(kn, ref, place);

	assert_int_not_equal(f, KN_NONE);
	assert_near(kn->faults[f].weight, w);
}

/* ---- vocabulary, machine --------------------------------------------------------------------- */

static void test_prior_has_the_usual_shares_when_none_are_written(void **state)
{
	(void)state;
	assert_false(pair->independent);
	assert_near(pair->number_prior[0], .40);
	assert_near(pair->number_prior[1], .85);
	assert_near(pair->number_prior[2], .13);
	assert_near(pair->number_prior[3], .02);
	assert_true(pair->something_else);
	assert_int_equal(pair->max_faults, 3);
}

static void test_vocabulary_is_in_file_order_when_loaded(void **state)
{
	(void)state;
	assert_string_equal(pair->machine, "pair");
	assert_string_equal(pair->machine_title, "Two carburettors");
	assert_int_equal(kn_tool_by_id(pair, "multimeter"), 0);
	assert_int_equal(kn_tool_by_id(pair, "clear-tube"), 1);
	assert_int_equal(kn_tool_by_id(pair, "hammer"), KN_NONE);
	assert_int_equal(kn_circumstance_by_id(pair, "engine-cold"), 0);
	assert_string_equal(pair->circumstances[0].ask, "Has it stood for three hours?");
	assert_int_equal(kn_history_by_id(pair, "refitted"), 1);
	assert_near(pair->histories[0].times, 2.5);
}

static void test_figures_are_bands_when_bound(void **state)
{
	const struct kn_value *v = pair->values;

	(void)state;
	assert_int_equal(pair->nvalues, 4);
	assert_string_equal(v[0].id, "fuel-level");
	assert_true(isnan(v[0].nominal) && isnan(v[0].at_degC));
	assert_near(v[0].low, 4);
	assert_near(v[0].high, 6);
	assert_near(v[1].nominal, 12);
	assert_near(v[1].low, 10.5);
	assert_near(v[1].high, 13.5);
	assert_near(v[1].at_degC, 20);
	assert_int_equal(v[1].unit, RD_OHM);
	assert_int_equal(thumper->nvalues, 0);
}

static void test_access_is_a_tree_when_machine_reaches_it(void **state)
{
	int bowls = kn_access_by_id(pair, "bowls-off"), bench = kn_access_by_id(pair, "bench");

	(void)state;
	assert_int_equal(kn_access_by_id(pair, "on-bike"), 0);
	assert_true(pair->accesses[0].reachable);
	assert_int_equal(pair->accesses[0].parent, KN_NONE);
	assert_int_equal(pair->accesses[bowls].parent, bench);
	assert_near(kn_open_minutes(pair, bowls), 15 + 30 + 5);
	assert_near(kn_close_minutes(pair, bowls), 20 + 45 + 6);
	assert_near(kn_open_minutes(pair, 0), 0);
	assert_string_equal(pair->accesses[bowls].consumes, "bowl gaskets");
	assert_near(pair->accesses[bowls].consumes_cost, 3);
	assert_int_equal(pair->accesses[kn_access_by_id(pair, "tank-off")].runs, KN_RUNS_BOTTLE);
	assert_false(thumper->accesses[bowls].reachable);
}

/* ---- parts and faults --------------------------------------------------------------------- */

static void test_weight_is_shared_over_places_when_spread(void **state)
{
	(void)state;
	assert_weight(pair, "float-needle.worn", "1", 4);         /* both: half over two places */
	assert_weight(pair, "float-needle.worn", "2", 4);
	assert_weight(pair, "float-needle.worn", "all", 8);
	assert_weight(pair, "float-needle.dirty", "1", 4);        /* each */
	assert_int_equal(fault(pair, "float-needle.dirty", "all"), KN_NONE);
	assert_weight(pair, "pilot-jet.blocked", "2", 3);         /* weight-all */
	assert_weight(pair, "pilot-jet.blocked", "all", 24);
	assert_weight(pair, "heater.burnt", "all", 2);            /* all */
	assert_int_equal(fault(pair, "heater.burnt", "1"), KN_NONE);
	assert_weight(pair, "fuel-tap.shut", "", 1);
	assert_weight(pair, "fuel-tap.clogged", "", 10);        /* scaled by the machine */
	assert_int_equal(pair->nfaults, 17);
}

static void test_weight_is_whole_when_there_is_one_place(void **state)
{
	(void)state;
	assert_weight(thumper, "float-needle.worn", "1", 16);
	assert_weight(thumper, "pilot-jet.blocked", "1", 30);
	assert_int_equal(fault(thumper, "pilot-jet.blocked", "all"), KN_NONE);
	assert_weight(thumper, "fuel-tap.clogged", "", 5);
}

static void test_sites_follow_places_when_faults_are_made(void **state)
{
	(void)state;
	assert_int_equal(pair->faults[fault(pair, "spark-plug.fouled", "2")].sites, 2);
	assert_int_equal(pair->faults[fault(pair, "pilot-jet.blocked", "all")].sites, 3);
	assert_int_equal(pair->faults[fault(pair, "fuel-tap.shut", "")].sites, KN_ALL_SITES);
}

static void test_part_has_no_faults_when_not_fitted(void **state)
{
	int mode = kn_mode_by_ref(pair, "pump.dead");

	(void)state;
	assert_int_not_equal(mode, KN_NONE);
	assert_false(pair->parts[pair->modes[mode].part].fitted);
	for (int i = 0; i < pair->nfaults; i++)
		assert_int_not_equal(pair->faults[i].mode, mode);
	assert_weight(thumper, "pump.dead", "", 9);
	assert_int_equal(fault(thumper, "heater.open", "1"), KN_NONE);
}

static void test_modes_know_their_history_when_raised(void **state)
{
	const struct kn_mode *corroded = &pair->modes[kn_mode_by_ref(pair, "harness.corroded")];
	const struct kn_mode *blocked = &pair->modes[kn_mode_by_ref(pair, "pilot-jet.blocked")];

	(void)state;
	assert_int_equal(corroded->history, 3);
	assert_true(corroded->after_work);
	assert_int_equal(blocked->history, 1);
	assert_false(blocked->after_work);
	assert_true(pair->modes[kn_mode_by_ref(pair, "spark-plug.fouled")].consequence);
	assert_false(blocked->consequence);
}

static void test_healthy_part_has_95_percent_inside_when_plus_minus_is_given(void **state)
{
	int heater = pair->modes[kn_mode_by_ref(pair, "heater.open")].part;
	const struct rd_dist *d = &pair->parts[heater].values[0].healthy;

	(void)state;
	assert_int_equal(d->kind, RD_DIST_NORMAL);
	assert_near(d->a, 12);
	/* 97.5 % point of the standard normal: NIST/SEMATECH e-Handbook 1.3.6.7.1, 1.960. */
	assert_within(1.5 / d->b, 1.960, .0005);
}

static void test_modes_show_states_when_written(void **state)
{
	const struct kn_mode *open = &pair->modes[kn_mode_by_ref(pair, "heater.open")];
	const struct kn_mode *burnt = &pair->modes[kn_mode_by_ref(pair, "heater.burnt")];
	const struct kn_mode *corroded = &pair->modes[kn_mode_by_ref(pair, "harness.corroded")];

	(void)state;
	assert_int_equal(open->nshows, 1);
	assert_int_equal(open->shows[0].dist.kind, RD_DIST_OPEN);
	assert_int_equal(burnt->shows[0].dist.kind, RD_DIST_UNIFORM);
	assert_near(burnt->shows[0].dist.a, 14.4);
	assert_near(burnt->shows[0].dist.b, 36);
	assert_int_equal(corroded->shows[0].dist.kind, RD_DIST_LOG_UNIFORM);
}

static void assert_title(const struct kn_knowledge *kn, int f, const char *expected)
{
	struct text t = { 0 };

	kn_fault_title(&t, kn, f);
	assert_string_equal(text_str(&t), expected);
	text_free(&t);
}

static void test_fault_titles_name_the_place_when_there_are_several(void **state)
{
	(void)state;
	assert_title(pair, fault(pair, "float-needle.worn", "2"), "float needle worn, carburettor 2");
	assert_title(pair, fault(pair, "pilot-jet.blocked", "all"), "pilot jet blocked (all)");
	assert_title(pair, fault(pair, "fuel-tap.shut", ""), "fuel tap left shut");
	assert_title(thumper, fault(thumper, "pilot-jet.blocked", "1"), "pilot jet blocked");
	assert_title(pair, 0, "something not on this list");
}

static void test_faults_exclude_each_other_when_same_part_and_place(void **state)
{
	int worn1 = fault(pair, "float-needle.worn", "1"), dirty1 = fault(pair, "float-needle.dirty", "1");
	int dirty2 = fault(pair, "float-needle.dirty", "2"), all = fault(pair, "float-needle.worn", "all");

	(void)state;
	assert_true(kn_exclude(pair, worn1, dirty1));
	assert_false(kn_exclude(pair, worn1, dirty2));
	assert_true(kn_exclude(pair, all, dirty2));
	assert_true(kn_exclude(pair, worn1, all));
	assert_false(kn_exclude(pair, worn1, worn1));
	assert_true(kn_exclude(pair, fault(pair, "fuel-tap.shut", ""),
			       fault(pair, "fuel-tap.clogged", "")));
	assert_false(kn_exclude(pair, worn1, fault(pair, "pilot-jet.blocked", "all")));
	assert_false(kn_exclude(pair, 0, worn1));
}

static void test_together_joins_faults_when_their_sites_meet(void **state)
{
	int seen = 0;

	(void)state;
	/* worn 1 + plug 1, worn 2 + plug 2, worn all + either plug */
	assert_int_equal(pair->ntogether, 4);
	for (int i = 0; i < pair->ntogether; i++) {
		const struct kn_together *t = &pair->together[i];

		assert_true(t->fault_a < t->fault_b);
		assert_near(t->times, 5);
		assert_true(pair->faults[t->fault_a].sites & pair->faults[t->fault_b].sites);
		seen += t->fault_a == fault(pair, "float-needle.worn", "1") &&
			t->fault_b == fault(pair, "spark-plug.fouled", "1");
	}
	assert_int_equal(seen, 1);
}

/* ---- gates ---------------------------------------------------------------------------------- */

static void test_gates_come_after_their_members_when_bound(void **state)
{
	(void)state;
	for (int g = 0; g < pair->ngates; g++)
		for (int i = 0; i < pair->gates[g].ngates; i++)
			assert_true(pair->gates[g].gates[i] < g);
}

static void test_pure_or_reaches_all_faults_when_nested(void **state)
{
	const struct kn_gate *top = gate(pair, "overflow-cause");

	(void)state;
	assert_true(top->pure_or);
	assert_int_equal(top->nreach, 5);       /* worn 1, 2, all; dirty 1, 2 */
	for (int i = 1; i < top->nreach; i++)
		assert_true(top->reach[i - 1] < top->reach[i]);
	assert_int_equal(gate(pair, "no-fuel")->nreach, 2);
	assert_int_equal(gate(thumper, "no-fuel")->nreach, 3);
}

static void test_and_takes_a_mode_as_anywhere_when_it_has_places(void **state)
{
	const struct kn_gate *g = gate(pair, "both-ways");

	(void)state;
	assert_int_equal(g->op, KN_AND);
	assert_false(g->pure_or);
	assert_int_equal(g->nfaults, 1);        /* the tap */
	assert_int_equal(g->ngates, 2);         /* the level, and "a pilot jet somewhere" */
	assert_int_equal(pair->gates[g->gates[1]].op, KN_OR);
	assert_int_equal(pair->gates[g->gates[1]].nfaults, 3);
	assert_int_equal(gate(pair, "two-of-three")->k, 2);
}

static void test_member_stays_and_is_never_there_when_not_fitted(void **state)
{
	const struct kn_gate *g = gate(thumper, "two-of-three");

	(void)state;
	/* No harness on it: a member that is never present, so the other two are both needed. */
	assert_int_equal(g->nfaults + g->ngates, 3);
	assert_int_equal(g->op, KN_AT_LEAST);
}

/* ---- checks ---------------------------------------------------------------------------------- */

static void test_own_vote_beats_the_gate_when_both_are_there(void **state)
{
	const struct kn_outcome *high = outcome(pair, "fuel-level", "high");

	(void)state;
	assert_vote(pair, high, "float-needle.worn", "1", .9);
	assert_vote(pair, high, "float-needle.worn", "all", .9);
	assert_vote(pair, high, "float-needle.dirty", "2", .85);
	assert_vote(pair, high, "fuel-tap.clogged", "", NAN);
	assert_vote(pair, outcome(pair, "fuel-level", "low"), "fuel-tap.shut", "", .7);
	assert_true(isnan(high->vote[0]));
}

static void test_narrowed_vote_goes_where_it_says_when_places_differ(void **state)
{
	const struct kn_outcome *one = outcome(pair, "header-touch", "one-cold");
	const struct kn_outcome *all = outcome(pair, "header-touch", "all-cold");

	(void)state;
	assert_vote(pair, one, "pilot-jet.blocked", "1", .8);
	assert_vote(pair, one, "pilot-jet.blocked", "all", NAN);
	assert_vote(pair, all, "pilot-jet.blocked", "2", NAN);
	assert_vote(pair, all, "pilot-jet.blocked", "all", .5);
	/* The only one is one of them and all of them. */
	assert_vote(thumper, outcome(thumper, "header-touch", "one-cold"), "pilot-jet.blocked", "1", .8);
	assert_vote(thumper, outcome(thumper, "header-touch", "all-cold"), "pilot-jet.blocked", "1", .5);
}

static void test_narrower_vote_wins_when_two_fit(void **state)
{
	const struct kn_outcome *yes = outcome(pair, "will-not-idle", "yes");

	(void)state;
	assert_vote(pair, yes, "pilot-jet.blocked", "1", .4);
	assert_vote(pair, yes, "pilot-jet.blocked", "all", .9);
	assert_vote(thumper, outcome(thumper, "will-not-idle", "yes"), "pilot-jet.blocked", "1", .9);
}

static void test_gate_votes_for_itself_when_not_a_pure_or(void **state)
{
	const struct kn_outcome *strong = outcome(pair, "smell", "strong");

	(void)state;
	assert_int_equal(strong->ngate_votes, 1);
	assert_string_equal(pair->gates[strong->gate_votes[0].gate].id, "both-ways");
	assert_near(strong->gate_votes[0].p, .99);
	assert_vote(pair, strong, "float-needle.worn", "1", .7);
	assert_vote(pair, strong, "float-needle.worn", "all", .95);
	assert_vote(pair, strong, "pilot-jet.blocked", "1", NAN);
}

static void test_symptom_is_a_yes_no_check_when_bound(void **state)
{
	const struct kn_check *c = check(pair, "will-not-idle");

	(void)state;
	assert_int_equal(c->kind, KN_SYMPTOM);
	assert_int_equal(c->noutcomes, 2);
	assert_near(c->outcomes[0].base, .06);
	assert_true(c->outcomes[1].rest);
	assert_near(c->floor, .01);
	assert_int_equal(c->nbranches, 2);
	assert_int_equal(c->branches[0].nmodes, 2);
	assert_int_equal(c->branches[1].nmodes, 1);     /* the pump is not fitted */
	assert_int_equal(c->branches[0].gate, KN_NONE);
	assert_int_equal(pair->nsymptoms, 2);
	assert_ptr_equal(&pair->checks[pair->symptoms[1]], c);
	c = check(pair, "flooding");
	assert_string_equal(c->says, "Petrol is pouring out of a pipe under it.");
	assert_int_equal(c->nasks, 2);
	assert_int_equal(c->cautions[0].signal, KN_DANGER);
	assert_string_equal(kn_signal_word(c->cautions[0].signal), "DANGER");
	assert_string_equal(pair->gates[c->branches[0].gate].id, "level-too-high");
}

static void test_something_else_votes_the_average_when_a_symptom_is_asked(void **state)
{
	(void)state;
	/* blocked: 3 + 3 at .4, 24 at .9; tap clogged: 10 (scaled) at .3 */
	assert_near(outcome(pair, "will-not-idle", "yes")->vote[0],
			    (6 * .4 + 24 * .9 + 10 * .3) / 40);
	/* worn 16 at .7, dirty 8 at .6 */
	assert_near(outcome(pair, "flooding", "yes")->vote[0], (16 * .7 + 8 * .6) / 24);
	assert_true(isnan(outcome(pair, "smell", "strong")->vote[0]));
}

static void test_check_is_offered_when_machine_allows_it(void **state)
{
	(void)state;
	assert_true(check(pair, "fuel-level")->offered);
	assert_true(check(pair, "heaters-at-plug")->offered);
	assert_true(check(pair, "heater-itself")->offered);
	assert_true(check(pair, "lamp")->offered);
	assert_false(check(pair, "pump-hums")->offered);            /* option */
	assert_true(check(thumper, "pump-hums")->offered);
	assert_false(check(thumper, "fuel-level")->offered);        /* value */
	assert_false(check(thumper, "heater-itself")->offered);     /* access, part */
	assert_false(check(thumper, "lamp")->offered);              /* codes */
}

static void test_check_fields_follow_the_attributes_when_bound(void **state)
{
	const struct kn_check *level = check(pair, "fuel-level"), *touch = check(pair, "header-touch");

	(void)state;
	assert_int_equal(level->kind, KN_MEASUREMENT);
	assert_string_equal(kn_check_kind_of(pair, level)->id, "carburettor");
	assert_true(level->minutes_for_one);
	assert_false(level->compare);
	assert_int_equal(level->tools, 2);
	assert_string_equal(level->before, "draining");
	assert_near(level->exponent, 1);
	assert_near(level->floor, .01);
	assert_string_equal(level->how, "Hold the tube beside the joint.");
	assert_string_equal(level->outcomes[0].means, "Needle or float.");
	assert_true(touch->compare && touch->needs_engine);
	assert_int_equal(touch->energy, KN_RUNNING);
	assert_true(touch->outcomes[0].local);
	assert_int_equal(touch->outcomes[0].local_kind, KN_NONE);
	assert_false(touch->outcomes[1].local);
	assert_near(touch->exponent, .6);
	assert_near(check(pair, "heater-itself")->exponent, .9);
	assert_int_equal(touch->same_fact, check(pair, "smell")->same_fact);
	assert_int_not_equal(touch->same_fact, KN_NONE);
	assert_int_equal(level->same_fact, KN_NONE);
	assert_int_equal(check(pair, "smell")->combine, KN_NOISY_OR);
	assert_near(check(pair, "smell")->floor, 0);
	assert_true(check(pair, "leads")->leads_null);
	assert_int_equal(check(pair, "which-plug")->per, KN_NONE);
	assert_string_equal(pair->kinds[outcome(pair, "which-plug", "sooty")->local_kind].id, "cylinder");
	assert_null(kn_check_kind_of(pair, check(pair, "smell")));
}

static void test_table_rows_are_numbered_by_bits_when_out_of_order(void **state)
{
	const struct kn_check *c = check(pair, "both-sides");
	static const double expected[] = { .9, .1, .4, .6, .3, .7, .2, .8 };

	(void)state;
	assert_int_equal(c->combine, KN_TABLE);
	assert_int_equal(c->table->nover, 2);
	assert_int_equal(c->table->over[0].mode, kn_mode_by_ref(pair, "fuel-tap.clogged"));
	assert_int_equal(c->table->over[0].gate, KN_NONE);
	assert_string_equal(pair->gates[c->table->over[1].gate].id, "no-fuel");
	assert_int_equal(c->table->over[1].mode, KN_NONE);
	for (size_t i = 0; i < COUNT(expected); i++)
		assert_near(c->table->p[i], expected[i]);
}

static void test_lamp_codes_replace_the_outcome_when_machine_has_them(void **state)
{
	const struct kn_check *c = check(pair, "lamp");

	(void)state;
	assert_int_equal(c->noutcomes, 3);
	assert_string_equal(c->outcomes[0].id, "code-12");
	assert_string_equal(c->outcomes[0].title, "12: Heater circuit");
	assert_string_equal(c->outcomes[0].means, "no current flows");
	assert_near(c->outcomes[0].base, .02);
	assert_string_equal(c->outcomes[1].id, "code-31");
	assert_true(c->outcomes[2].rest);
	assert_vote(pair, &c->outcomes[0], "heater.open", "1", .3);
	assert_vote(pair, &c->outcomes[0], "harness.corroded", "", .5);
	assert_vote(pair, &c->outcomes[1], "harness.corroded", "", NAN);
}

/* ---- readings and models ------------------------------------------------------------------- */

static void test_bands_are_intervals_when_sides_are_given(void **state)
{
	const struct kn_check *c = check(pair, "fuel-level");
	const struct kn_outcome *high = &c->outcomes[0], *low = &c->outcomes[1], *ok = &c->outcomes[2];

	(void)state;
	assert_near(c->reading->low, 4);
	assert_near(c->reading->high, 6);
	assert_true(high->low[0] == -INFINITY);
	assert_near(high->high[0], 4);
	assert_near(low->low[0], 6);
	assert_true(low->high[0] == INFINITY);
	assert_true(ok->has_range);
	assert_near(ok->low[0], 4);
	assert_near(ok->high[0], 6);
	assert_false(ok->low[1] < ok->high[1]);
	/* Nobody named open and short: above and below take them. */
	assert_true(low->on_open && !high->on_open && !ok->on_open);
	assert_true(high->on_short && !low->on_short && !ok->on_short);
}

static void test_open_and_short_go_where_written_when_named(void **state)
{
	(void)state;
	assert_true(outcome(pair, "heater-itself", "open")->on_open);
	assert_false(outcome(pair, "heater-itself", "open")->on_short);
	assert_true(outcome(pair, "heater-itself", "low")->on_short);
	assert_true(outcome(pair, "leads", "high")->on_open);
	assert_true(outcome(pair, "leads", "ok")->on_short);
}

static void test_reading_takes_the_machines_value_when_named(void **state)
{
	const struct kn_reading *r = check(pair, "heaters-at-plug")->reading;

	(void)state;
	assert_int_equal(r->unit, RD_OHM);
	assert_near(r->nominal, 6);
	assert_near(r->low, 5.2);
	assert_near(r->reference_degC, 20);
	assert_string_equal(pair->values[r->value].id, "heater-pair");
	assert_string_equal(r->instrument->id, "good-meter");
	assert_near(r->repeatability, .1);
	assert_true(r->leads && !r->copper && !r->sea_level);
	assert_near(r->range, 2000);
	assert_near(r->short_below, .05);
	r = check(pair, "leads")->reading;
	assert_true(r->range == INFINITY && r->low == -INFINITY && isnan(r->nominal));
	assert_int_equal(check(pair, "fuel-level")->reading->derive, RD_EACH);
	assert_int_equal(r->derive, RD_AS_READ);
}

static void test_model_has_a_leaf_per_place_when_at_all(void **state)
{
	const struct kn_check *c = check(pair, "heaters-at-plug");
	const struct kn_model *m = c->models;

	(void)state;
	assert_int_equal(c->nmodels, 1);
	assert_int_equal(m->nleaves, 3);
	assert_int_equal(m->leaves[0].place, KN_NONE);
	assert_int_equal(m->leaves[1].place, 0);
	assert_int_equal(m->leaves[2].place, 1);
	assert_int_equal(m->root->op, RD_OP_SERIES);
	assert_int_equal(m->root->kids[1]->op, RD_OP_PARALLEL);
	assert_int_equal(m->root->kids[1]->nkids, 2);
	/* open 1, open 2, burnt all, corroded: ascending */
	assert_int_equal(m->nfaults, 4);
	assert_int_equal(m->faults[0], fault(pair, "heater.open", "1"));
	assert_int_equal(m->faults[2], fault(pair, "heater.burnt", "all"));
	assert_int_equal(m->faults[3], fault(pair, "harness.corroded", ""));
}

static void test_model_is_at_each_place_when_check_has_places(void **state)
{
	const struct kn_check *c = check(pair, "heater-itself");

	(void)state;
	assert_int_equal(c->nmodels, 2);
	assert_int_equal(c->models[1].nleaves, 1);
	assert_int_equal(c->models[1].leaves[0].place, 1);
	assert_int_equal(c->models[1].nfaults, 2);      /* open 2, burnt all */
	assert_int_equal(c->models[1].faults[0], fault(pair, "heater.open", "2"));
	assert_int_equal(c->models[1].root->kids[1]->op, RD_OP_CONSTANT);
	assert_near(c->models[1].root->kids[1]->constant, .1);
	assert_int_equal(check(thumper, "heater-itself")->nmodels, 0);
}

/* ---- readings in their variants ---------------------------------------------------------------- */

static void test_model_touches_the_places_here_when_kinds_differ(void **state)
{
	const struct kn_check *c = check(readings, "coil-and-caps");

	(void)state;
	assert_int_equal(c->nmodels, 2);
	assert_int_equal(c->models[0].nleaves, 3);
	assert_int_equal(c->models[0].leaves[0].place, 0);      /* coil 1+4 */
	assert_int_equal(c->models[0].leaves[1].place, 0);      /* caps 1 and 4 */
	assert_int_equal(c->models[0].leaves[2].place, 3);
	assert_int_equal(c->models[1].leaves[1].place, 1);
	assert_int_equal(c->models[1].leaves[2].place, 2);
	assert_int_equal(c->models[0].nfaults, 4);
	c = check(readings, "one-cap");
	assert_int_equal(c->models[0].nleaves, 1);
	assert_int_equal(c->models[0].leaves[0].place, 2);
	assert_int_equal(c->models[0].root->op, RD_OP_LEAF);
}

/* 5 kohm caps and a 14500 ohm coil in series are 24500 ohm: plain arithmetic. */
static void test_units_are_carried_to_the_readings_when_leaves_differ(void **state)
{
	const struct kn_check *c = check(readings, "coil-and-caps");
	const struct kn_model *m = c->models;
	struct rd_dist leaf[RD_LEAVES_MAX];

	(void)state;
	for (int i = 0; i < m->nleaves; i++)
		leaf[i] = readings->parts[m->leaves[i].part].values[m->leaves[i].slot].healthy;
	assert_within(rd_model_middle(m->root, leaf, m->nleaves), 24500, 1e-6);
	assert_near(c->reading->low, 20000);
	assert_near(c->reading->high, 29000);
	assert_near(check(readings, "battery")->reading->low, 12600);
}

/* 1175 ohm over 5 kohm is .235. */
static void test_ratio_is_a_plain_number_when_units_differ(void **state)
{
	const struct kn_check *c = check(readings, "ratio");
	const struct kn_model *m = c->models;
	struct rd_dist leaf[RD_LEAVES_MAX];

	(void)state;
	for (int i = 0; i < m->nleaves; i++)
		leaf[i] = readings->parts[m->leaves[i].part].values[m->leaves[i].slot].healthy;
	assert_within(rd_model_middle(m->root, leaf, m->nleaves), .235, 1e-9);
	assert_int_equal(c->reading->unit, RD_NO_UNIT);
	assert_near(c->reading->nominal, .235);
}

static void test_spec_stands_for_its_nominal_when_in_a_model(void **state)
{
	const struct rd_node *n = check(readings, "against-spec")->models[0].root;

	(void)state;
	assert_int_equal(n->op, RD_OP_DIFFERENCE);
	assert_int_equal(n->kids[1]->op, RD_OP_CONSTANT);
	assert_near(n->kids[1]->constant, 5);
}

/* 2 x 5, no spread among healthy caps, cap 1 of 5, the lower of 100 and 5 parallel to 5: 17.5 kohm. */
static void test_operators_and_shared_leaves_are_kept_when_bound(void **state)
{
	const struct kn_model *m = check(readings, "every-operator")->models;
	struct rd_dist leaf[RD_LEAVES_MAX];

	(void)state;
	assert_int_equal(m->nleaves, 5);        /* the track, and four caps */
	for (int i = 0; i < m->nleaves; i++)
		leaf[i] = readings->parts[m->leaves[i].part].values[m->leaves[i].slot].healthy;
	assert_within(rd_model_middle(m->root, leaf, m->nleaves), 17.5, 1e-9);
}

/* A divider of 3 ohm and 1 ohm on 12 V is 9 V: volts times a ratio of ohms, no machine's figure in it. */
static void test_product_has_a_unit_each_when_figures_are_the_parts_own(void **state)
{
	const struct kn_model *m = check(readings, "lamp-volts")->models;
	struct rd_dist leaf[RD_LEAVES_MAX];

	(void)state;
	assert_int_equal(m->nleaves, 2);
	assert_int_equal(m->nfaults, 1);
	for (int i = 0; i < m->nleaves; i++) {
		const struct kn_part *p = &readings->parts[m->leaves[i].part];
		assert_int_equal(p->values[m->leaves[i].slot].value, KN_NONE);
		leaf[i] = p->values[m->leaves[i].slot].healthy;
	}
	assert_within(rd_model_middle(m->root, leaf, m->nleaves), 9, 1e-9);
	assert_within(leaf[0].b, .5 / 1.96, 1e-4);
}

static void test_part_is_spread_about_its_nominal_when_one_limit_is_known(void **state)
{
	int part = readings->modes[kn_mode_by_ref(readings, "sensor.worn")].part;
	const struct kn_part *p = &readings->parts[part];

	(void)state;
	assert_near(p->values[0].healthy.a, 5);                 /* track, 4 to 6 */
	assert_within(1 / p->values[0].healthy.b, 1.96, .0005);
	assert_near(p->values[1].healthy.a, 1175);              /* closed, at least 1000 */
	assert_within(175 / p->values[1].healthy.b, 1.96, .0005);
	assert_int_equal(readings->modes[kn_mode_by_ref(readings, "sensor.worn")].shows[0].dist.kind,
			 RD_DIST_POINT);
}

static void assert_range(const struct kn_outcome *o, int i, double low, double high)
{
	assert_true(o->has_range);
	assert_true(o->low[i] == low);
	assert_true(o->high[i] == high);
}

static void test_outside_has_two_intervals_when_band_has_two_ends(void **state)
{
	const struct kn_outcome *off = outcome(readings, "one-cap", "off");

	(void)state;
	assert_range(off, 0, -INFINITY, 4.25);
	assert_range(off, 1, 5.75, INFINITY);
	assert_true(off->on_open && off->on_short);
	assert_range(outcome(readings, "one-cap", "ok"), 0, 4.25, 5.75);
	/* sides that touch are one interval */
	assert_range(outcome(readings, "ratio", "ok"), 0, -INFINITY, .25);
	/* one-sided band: all that is not below */
	assert_range(outcome(readings, "battery", "ok"), 0, 12600, INFINITY);
	assert_true(outcome(readings, "battery", "ok")->on_open);
}

static void test_rest_takes_what_is_left_when_intervals_are_in_numbers(void **state)
{
	const struct kn_outcome *odd = outcome(readings, "gap", "odd");

	(void)state;
	assert_range(odd, 0, .1, .6);
	assert_range(odd, 1, .8, INFINITY);
	assert_range(outcome(readings, "gap", "none"), 0, -INFINITY, .1);
	assert_true(outcome(readings, "gap", "none")->on_short);
	assert_true(odd->on_open && !odd->on_short);
}

/* ---- remedies, settings, holds -------------------------------------------------------------- */

static void test_remedy_clears_faults_when_bound(void **state)
{
	const struct kn_remedy *r = &pair->remedies[kn_remedy_by_id(pair, "renew-needle")];
	double p[64] = { 0 };

	(void)state;
	assert_int_equal(r->nclears, 5);
	for (int i = 0; i < r->nclears; i++)
		p[r->clears[i].fault] = r->clears[i].p;
	assert_near(p[fault(pair, "float-needle.worn", "1")], .95);
	assert_near(p[fault(pair, "float-needle.worn", "all")], .8);
	assert_near(p[fault(pair, "float-needle.dirty", "2")], .9);
	assert_near(r->minutes, 20);                    /* 40 for four, and there are two */
	assert_int_equal(r->cost_class, 'B');
	assert_near(r->cost, 12);
	assert_string_equal(r->parts, "needle");
	assert_string_equal(r->recheck, "50 km");
	assert_string_equal(r->proof, "Level right after a day.");
	assert_string_equal(pair->kinds[r->per].id, "carburettor");
	assert_true(r->bench_work);                     /* bowls-off lies beyond the bench */
	assert_int_equal(r->nsteps, 2);
	assert_int_equal(r->nrecords, 1);               /* no pump, no pump pressure */
	assert_int_equal(r->nverifies, 1);              /* the pump check is not offered */
	assert_int_equal(r->verifies[0], kn_check_by_id(pair, "fuel-level"));
	r = &pair->remedies[kn_remedy_by_id(pair, "open-tap")];
	assert_false(r->bench_work);
	assert_int_equal(r->cost_class, 0);
	assert_near(r->cost, 0);
}

static void test_remedy_is_left_out_when_it_has_nothing_to_do(void **state)
{
	(void)state;
	assert_int_equal(kn_remedy_by_id(pair, "renew-pump"), KN_NONE);
	assert_int_not_equal(kn_remedy_by_id(thumper, "renew-pump"), KN_NONE);
	assert_int_equal(kn_remedy_by_id(thumper, "renew-needle"), KN_NONE);    /* bowls not reached */
}

static void test_settings_and_holds_are_bound_when_machine_has_them(void **state)
{
	const struct kn_hold *h = pair->holds;

	(void)state;
	assert_int_equal(pair->nsettings, 1);
	assert_int_equal(pair->settings[0].unit, RD_TURN);
	assert_int_equal(pair->settings[0].order, 6);
	assert_int_equal(kn_setting_by_id(thumper, "pump-pressure"), 1);
	assert_int_equal(h->signal, KN_DANGER);
	assert_int_equal(h->blocks, KN_KEY_ON);
	assert_int_equal(h->nsymptoms, 1);
	assert_int_equal(h->symptoms[0], kn_check_by_id(pair, "flooding"));
	assert_int_equal(h->ntriggers, 1);
	assert_int_equal(h->triggers[0].outcome, 0);
	assert_int_equal(h->nclears, 1);
	assert_int_equal(h->clears[0].outcome, 1);
}

/* ---- other files ----------------------------------------------------------------------------- */

static void test_weights_are_probabilities_when_prior_is_independent(void **state)
{
	struct kn_knowledge *kn = load("tests/data/good-trees/independent.xml", NULL);

	(void)state;
	assert_true(kn->independent);
	assert_false(kn->something_else);
	assert_int_equal(kn->max_faults, 3);
	assert_near(kn->faults[0].weight, .25);
	assert_near(check(kn, "look")->floor, 0);
	assert_string_equal(check(kn, "look")->title, "Look & see <\"here\">");
	assert_string_equal(check(kn, "look")->how, "First this, & then <that> \xC3\xA9.");
	assert_string_equal(kn->accesses[0].id, "on-bike");
	kn_free(kn);
}

static void test_files_are_read_in_byte_order_when_in_folders(void **state)
{
	struct kn_knowledge *kn = load("tests/data/good-trees/split", NULL);
	struct kn_knowledge *slash = load("tests/data/good-trees/split/", "plain");

	(void)state;
	assert_int_equal(kn_check_by_id(kn, "first-check"), 0);
	assert_int_equal(kn_check_by_id(kn, "second-check"), 1);
	assert_near(outcome(kn, "second-check", "seen")->vote[1], .9);
	assert_string_equal(kn->digest, slash->digest);
	kn_free(kn);
	kn_free(slash);
}

static void test_machines_are_listed_when_asked(void **state)
{
	struct kn_machine_title *list;
	struct hs_err err = { 0 };

	(void)state;
	assert_int_equal(kn_machines("tests/data/good-trees/tiny.xml", &list, &err), 2);
	assert_string_equal(list[0].id, "pair");
	assert_string_equal(list[1].title, "One carburettor, no heaters");
	mem_free(list);
	assert_int_equal(kn_machines("tests/data/no-such-folder", &list, &err), -1);
	assert_int_equal(err.code, HS_BAD_TREE);
	assert_null(list);
}

static void test_machine_must_be_named_when_there_are_several(void **state)
{
	struct hs_err err = { 0 };

	(void)state;
	assert_null(kn_load("tests/data/good-trees/tiny.xml", NULL, &err));
	assert_int_equal(err.code, HS_NOT_FOUND);
	assert_string_equal(err.text, "which machine? there are pair, thumper");
	err_clear(&err);
	assert_null(kn_load("tests/data/good-trees/tiny.xml", "pear", &err));
	assert_string_equal(err.text, "there is no machine \"pear\"; did you mean \"pair\"? there are pair, "
				      "thumper");
	assert_null(kn_load("tests/data/good-trees/tiny.xml", "pear", NULL));
}

static void test_shipped_trees_load_when_bound_to_any_machine(void **state)
{
	struct kn_machine_title *list;
	struct hs_err err = { 0 };
	int n;

	(void)state;
	n = kn_machines("trees", &list, &err);
	if (n < 1)
		fail_msg("%s:%d: %s", err.file, err.line, err.text);
	for (int i = 0; i < n; i++) {
		struct kn_knowledge *kn = load("trees", list[i].id);

		assert_true(kn->nsymptoms > 0 && kn->nremedies > 0);
		kn_free(kn);
	}
	mem_free(list);
}

/* ---- digest ---------------------------------------------------------------------------------- */

static void write_file(const char *bytes, size_t size)
{
	char path[sizeof folder + 10];
	int fd;

	snprintf(path, sizeof path, "%s/x.xml", folder);
	fd = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
	assert_true(fd >= 0);
	assert_int_equal(file_write_all(fd, bytes, size, NULL), 0);
	close(fd);
}

static void test_digest_is_fnv_1a_when_file_is_known(void **state)
{
	static const char text[] = "<knowledge version='1'><machine id='m' title='t'/></knowledge>";
	struct hs_err err = { 0 };
	struct kn_knowledge *kn;

	(void)state;
	write_file(text, strlen(text));
	kn = kn_load(folder, NULL, &err);
	assert_non_null(kn);
	/* FNV-1a 64 of this text by an independent implementation (Python, from the algorithm in
	 * draft-eastlake-fnv). */
	assert_string_equal(kn->digest, "84358d278747c3e8");
	kn_free(kn);
}

/* ---- hostile files, made here ----------------------------------------------------------------- */

static void assert_refused(const char *bytes, size_t size, enum hs_code code, int line, const char *text)
{
	struct hs_err err = { 0 };

	write_file(bytes, size);
	assert_null(kn_load(folder, NULL, &err));
	assert_string_equal(err.text, text);
	assert_int_equal(err.line, line);
	assert_int_equal(err.code, code);
}

static void test_file_is_refused_when_too_large(void **state)
{
	size_t size = 2 * 1024 * 1024 + 1;
	struct hs_err err = { 0 };
	char *bytes = mem_alloc(size);

	(void)state;
	memset(bytes, ' ', size);
	write_file(bytes, size);
	assert_null(kn_load(folder, NULL, &err));
	assert_int_not_equal(err.code, HS_OK);
	assert_non_null(strstr(err.file, "x.xml"));
	mem_free(bytes);
}

static void test_deep_nesting_is_refused_when_no_rule_would_see_it(void **state)
{
	struct text t = { 0 };

	(void)state;
	for (int i = 0; i < 100000; i++)
		text_add(&t, "<knowledge>\n");
	assert_refused(t.s, t.len, HS_BAD_TREE, 33, "elements are more than 32 deep");
	text_free(&t);
}

static void test_long_tag_is_refused_when_full_of_attributes(void **state)
{
	struct text t = { 0 };

	(void)state;
	text_add(&t, "<knowledge");
	for (int i = 0; i < 100000; i++)
		text_addf(&t, " a%d='1'", i);
	text_add(&t, "/>");
	assert_refused(t.s, t.len, HS_BAD_TREE, 1, "a tag of more than 16384 bytes");
	text_free(&t);
}

static void test_bytes_are_refused_when_no_xml(void **state)
{
	static const char nul[] = "<knowledge version='1'>\n\0</knowledge>";
	static const char wide[] = "<\0k\0>\0";
	static const char big_endian[] = "\xFE\xFF\0<\0k";
	static const char mark[] = "\xEF\xBB\xBF<knowledge version='1'/>";
	static const char latin[] = "<knowledge version='1'>\n<!-- \xE9 -->\n</knowledge>";
	static const char escape[] = "<knowledge version='1'><!-- \x1B[2J --></knowledge>";

	(void)state;
	assert_refused(nul, sizeof nul - 1, HS_BAD_TREE, 2, "a NUL byte (0)");
	assert_refused(wide, sizeof wide - 1, HS_BAD_TREE, 1, "the file is not UTF-8 text");
	assert_refused(big_endian, sizeof big_endian - 1, HS_BAD_TREE, 1, "the file is not UTF-8 text");
	assert_refused(mark, sizeof mark - 1, HS_BAD_TREE, 1,
		       "the file begins with a byte order mark; save it without");
	assert_refused(latin, sizeof latin - 1, HS_BAD_TREE, 2, "these bytes are not UTF-8");
	assert_refused(escape, sizeof escape - 1, HS_BAD_TREE, 1, "a control character (byte 27)");
	assert_refused("", 0, HS_BAD_TREE, 1,
		       "the file has no element; the root is <knowledge version=\"1\">");
}

/* ---- limits: at the limit it loads, one more is refused ---------------------------------------- */

static void begin_file(struct text *t)
{
	text_clear(t);
	text_add(t, "<knowledge version='1'><machine id='m' title='m'/>\n");
}

static void assert_loads(struct text *t, bool expected, const char *refusal)
{
	struct hs_err err = { 0 };
	struct kn_knowledge *kn;

	text_add(t, "</knowledge>\n");
	write_file(t->s, t->len);
	kn = kn_load(folder, NULL, &err);
	if (!kn == expected)
		fail_msg("%d: %s", err.line, err.text);
	if (!expected) {
		assert_int_equal(err.code, HS_LIMIT);
		assert_string_equal(err.text, refusal);
	}
	kn_free(kn);
}

static void add_faults(struct text *t, int n)
{
	for (int i = 0; i < n; i += 100) {
		text_addf(t, "<part id='p%d' title='p'>", i);
		for (int k = i; k < n && k < i + 100; k++)
			text_addf(t, "<mode id='m%d' title='m' weight='1'/>", k);
		text_add(t, "</part>\n");
	}
}

static void test_limits_hold_when_reached_and_passed(void **state)
{
	struct text t = { 0 };

	(void)state;
	for (int over = 0; over < 2; over++) {
		begin_file(&t);
		add_faults(&t, 2000 - 1 + over); /* and something else */
		assert_loads(&t, !over, "more than 2000 faults");

		begin_file(&t);
		text_add(&t, "<part id='p' title='p'>");
		for (int i = 0; i < 300 + over; i++)
			text_addf(&t, "<mode id='m%d' title='m' weight='1'/>", i);
		text_add(&t, "</part>");
		assert_loads(&t, !over, "more than 300 elements inside another");

		begin_file(&t);
		for (int i = 0; i < 2000 + over; i++)
			text_addf(&t, "<symptom id='s%d' title='s' base='.1'/>", i);
		assert_loads(&t, !over, "more than 2000 checks and symptoms");

		begin_file(&t);
		for (int i = 0; i < 64 + over; i++)
			text_addf(&t, "<tool id='t%d' title='t'/>", i);
		assert_loads(&t, !over, "more than 64 tools");

		/* Chains of gates from the last to the first, and from the first to the last. */
		begin_file(&t);
		text_add(&t, "<part id='p' title='p'><mode id='m' title='m' weight='1'/></part>");
		for (int i = 0; i < 999 + over; i++)
			text_addf(&t, "<gate id='g%d' title='g'><of gate='g%d'/></gate>", i, i + 1);
		text_addf(&t, "<gate id='g%d' title='g'><of mode='p.m'/></gate>", 999 + over);
		assert_loads(&t, !over, "more than 1000 gates");
	}
	text_free(&t);
}

/* Gates that double at every step would take 2^40 looks. */
static void test_gates_are_refused_when_walking_them_never_ends(void **state)
{
	struct text t = { 0 };

	(void)state;
	begin_file(&t);
	text_add(&t, "<part id='p' title='p'><mode id='m' title='m' weight='1'/></part>");
	text_add(&t, "<gate id='a0' title='a'><of mode='p.m'/></gate>");
	text_add(&t, "<gate id='b0' title='b'><of mode='p.m'/></gate>");
	for (int i = 1; i < 40; i++)
		for (const char *c = "ab"; *c; c++)
			text_addf(&t, "<gate id='%c%d' title='g' kind='and'><of gate='a%d'/>"
				  "<of gate='b%d'/></gate>", *c, i, i - 1, i - 1);
	assert_loads(&t, false, "more than 10000 members below one gate");
	text_free(&t);
}

/* ---- memory ------------------------------------------------------------------------------------ */

/* Children end by SIGKILL, so that no leak checker looks at what they cannot free any more; how they
 * fared stands in memory they share with us. */
enum fate { DIED_OTHERWISE, SAID_SO, LOADED, REFUSED };
static volatile enum fate *fate;

static _Noreturn void leave(enum fate f)
{
	*fate = f;
	kill(getpid(), SIGKILL);
	_exit(1);
}

static _Noreturn void say_and_leave(void)
{
	leave(SAID_SO);
}

/* In a child: the n-th allocation from here fails. */
static enum fate load_with_failure(unsigned long n)
{
	struct hs_err err = { 0 };
	int status = -1;
	pid_t pid;

	*fate = DIED_OTHERWISE;
	pid = fork();
	if (pid == 0) {
		mem_on_exhausted(say_and_leave);
		mem_fail_at(n);
		leave(kn_load("tests/data/good-trees/tiny.xml", "pair", &err) ? LOADED : REFUSED);
	}
	assert_true(pid > 0);
	assert_int_equal(waitpid(pid, &status, 0), pid);
	assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
	return *fate;
}

/* libxml2 takes its memory from the same door: never a tree that is silently shorter. */
static void test_exhausted_memory_ends_in_the_handler_when_any_request_fails(void **state)
{
	void *shared = mmap(NULL, sizeof *fate, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
	unsigned long n = 1;
	enum fate f;

	(void)state;
	assert_ptr_not_equal(shared, MAP_FAILED);
	fate = shared;
	while ((f = load_with_failure(n)) == SAID_SO)
		n++;
	assert_int_equal(f, LOADED);
	assert_true(n > 40);
	munmap(shared, sizeof *fate);
}

/* Every prefix of a good file is refused or loads; nothing else happens (run it under ASan). */
static void test_cut_files_are_refused_when_cut_anywhere(void **state)
{
	size_t size = 0;
	char *whole = file_read("tests/data/good-trees/independent.xml", 1 << 20, &size, NULL);

	(void)state;
	assert_non_null(whole);
	for (size_t n = 0; n < size - 2; n++) {
		struct hs_err err = { 0 };

		write_file(whole, n);
		assert_null(kn_load(folder, NULL, &err));
		assert_int_equal(err.code, HS_BAD_TREE);
		assert_true(err.line >= 1);
		assert_true(*err.text);
	}
	mem_free(whole);
}

/* ---- the folder of broken trees --------------------------------------------------------------- */

#define BROKEN "tests/data/bad-trees"

/* Paths are named as from the folder of the case. */
static void assert_case(const char *name)
{
	struct hs_err err = { 0 };
	char dir[400], path[420], found[1200];
	size_t size = 0;
	char *expect;

	snprintf(dir, sizeof dir, BROKEN "/%.200s", name);
	snprintf(path, sizeof path, "%s/expect", dir);
	expect = file_read(path, 1 << 16, &size, &err);
	if (!expect)
		fail_msg("%s: no file `expect`", name);
	expect[strcspn(expect, "\n")] = '\0';
	if (kn_load(dir, NULL, &err))
		fail_msg("%s was loaded", name);
	snprintf(found, sizeof found, "%s%s:%d: %s", err.file, strcmp(err.file, dir) ? "" : "/", err.line,
		 err.text);
	for (char *at; (at = strstr(found, dir));)
		memmove(at, at + strlen(dir) + 1, strlen(at + strlen(dir) + 1) + 1);
	if (strcmp(found, expect) != 0)
		fail_msg("%s\nexpected %s\nfound    %s", name, expect, found);
	mem_free(expect);
}

static void test_broken_trees_are_refused_when_loaded(void **state)
{
	DIR *d = opendir(BROKEN);
	struct dirent *e;
	int cases = 0;

	(void)state;
	assert_non_null(d);
	while ((e = readdir(d))) {
		if (e->d_name[0] == '.')
			continue;
		assert_case(e->d_name);
		cases++;
	}
	closedir(d);
	assert_true(cases >= 50);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_prior_has_the_usual_shares_when_none_are_written),
		cmocka_unit_test(test_vocabulary_is_in_file_order_when_loaded),
		cmocka_unit_test(test_figures_are_bands_when_bound),
		cmocka_unit_test(test_access_is_a_tree_when_machine_reaches_it),
		cmocka_unit_test(test_weight_is_shared_over_places_when_spread),
		cmocka_unit_test(test_weight_is_whole_when_there_is_one_place),
		cmocka_unit_test(test_sites_follow_places_when_faults_are_made),
		cmocka_unit_test(test_part_has_no_faults_when_not_fitted),
		cmocka_unit_test(test_modes_know_their_history_when_raised),
		cmocka_unit_test(test_healthy_part_has_95_percent_inside_when_plus_minus_is_given),
		cmocka_unit_test(test_modes_show_states_when_written),
		cmocka_unit_test(test_fault_titles_name_the_place_when_there_are_several),
		cmocka_unit_test(test_faults_exclude_each_other_when_same_part_and_place),
		cmocka_unit_test(test_together_joins_faults_when_their_sites_meet),
		cmocka_unit_test(test_gates_come_after_their_members_when_bound),
		cmocka_unit_test(test_pure_or_reaches_all_faults_when_nested),
		cmocka_unit_test(test_and_takes_a_mode_as_anywhere_when_it_has_places),
		cmocka_unit_test(test_member_stays_and_is_never_there_when_not_fitted),
		cmocka_unit_test(test_own_vote_beats_the_gate_when_both_are_there),
		cmocka_unit_test(test_narrowed_vote_goes_where_it_says_when_places_differ),
		cmocka_unit_test(test_narrower_vote_wins_when_two_fit),
		cmocka_unit_test(test_gate_votes_for_itself_when_not_a_pure_or),
		cmocka_unit_test(test_symptom_is_a_yes_no_check_when_bound),
		cmocka_unit_test(test_something_else_votes_the_average_when_a_symptom_is_asked),
		cmocka_unit_test(test_check_is_offered_when_machine_allows_it),
		cmocka_unit_test(test_check_fields_follow_the_attributes_when_bound),
		cmocka_unit_test(test_table_rows_are_numbered_by_bits_when_out_of_order),
		cmocka_unit_test(test_lamp_codes_replace_the_outcome_when_machine_has_them),
		cmocka_unit_test(test_bands_are_intervals_when_sides_are_given),
		cmocka_unit_test(test_open_and_short_go_where_written_when_named),
		cmocka_unit_test(test_reading_takes_the_machines_value_when_named),
		cmocka_unit_test(test_model_has_a_leaf_per_place_when_at_all),
		cmocka_unit_test(test_model_is_at_each_place_when_check_has_places),
		cmocka_unit_test(test_model_touches_the_places_here_when_kinds_differ),
		cmocka_unit_test(test_units_are_carried_to_the_readings_when_leaves_differ),
		cmocka_unit_test(test_ratio_is_a_plain_number_when_units_differ),
		cmocka_unit_test(test_spec_stands_for_its_nominal_when_in_a_model),
		cmocka_unit_test(test_operators_and_shared_leaves_are_kept_when_bound),
		cmocka_unit_test(test_product_has_a_unit_each_when_figures_are_the_parts_own),
		cmocka_unit_test(test_part_is_spread_about_its_nominal_when_one_limit_is_known),
		cmocka_unit_test(test_outside_has_two_intervals_when_band_has_two_ends),
		cmocka_unit_test(test_rest_takes_what_is_left_when_intervals_are_in_numbers),
		cmocka_unit_test(test_remedy_clears_faults_when_bound),
		cmocka_unit_test(test_remedy_is_left_out_when_it_has_nothing_to_do),
		cmocka_unit_test(test_settings_and_holds_are_bound_when_machine_has_them),
		cmocka_unit_test(test_weights_are_probabilities_when_prior_is_independent),
		cmocka_unit_test(test_files_are_read_in_byte_order_when_in_folders),
		cmocka_unit_test(test_machines_are_listed_when_asked),
		cmocka_unit_test(test_machine_must_be_named_when_there_are_several),
		cmocka_unit_test(test_shipped_trees_load_when_bound_to_any_machine),
		cmocka_unit_test(test_digest_is_fnv_1a_when_file_is_known),
		cmocka_unit_test(test_file_is_refused_when_too_large),
		cmocka_unit_test(test_deep_nesting_is_refused_when_no_rule_would_see_it),
		cmocka_unit_test(test_long_tag_is_refused_when_full_of_attributes),
		cmocka_unit_test(test_bytes_are_refused_when_no_xml),
		cmocka_unit_test(test_limits_hold_when_reached_and_passed),
		cmocka_unit_test(test_gates_are_refused_when_walking_them_never_ends),
		cmocka_unit_test(test_exhausted_memory_ends_in_the_handler_when_any_request_fails),
		cmocka_unit_test(test_cut_files_are_refused_when_cut_anywhere),
		cmocka_unit_test(test_broken_trees_are_refused_when_loaded),
	};
	const char *root = getenv("HALFSPLIT_ROOT");

	if (root && chdir(root) < 0)
		return 1;
	return cmocka_run_group_tests(tests, set_up, take_down);
}
