/* Self-play on the shipped trees: a fault set from the prior given a complaint, answers from the
 * tables, the advice followed to the end; beside it the rule of a good mechanic without a computer
 * (most bits per minute with access, until one suspect has .85 or 25 checks, then remedies by chance
 * over cost).  Search cost is what the job cost beyond what it would have cost had the fault been
 * known.  Usage: bench_play [JOBS per machine]. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "plan/options.h"
#include "plan/plan.h"
#include "random_knowledge.h"

#define STEPS_MOST 60
#define SURE .85
#define CHECKS_MOST 25

struct play {
	const struct kn_knowledge *kn;
	struct su_tables *tables;
	struct rng rng;
	int nfaults, fault[8];                 /* what is really wrong now */
	struct su_evidence e[STEPS_MOST + 1];
	struct su_repair repairs[STEPS_MOST + 1];
	struct su_case c;
	uint64_t open;
	unsigned char *done, *remedy_done;
	double cost;
	int checks;
	bool dear_seen, first_right, first_three; /* at the first remedy of more than an hour */
};

static struct pl_situation situation(const struct play *p, const struct su_suspects *s)
{
	return (struct pl_situation){ .suspects = s, .the_case = &p->c, .tools = ~(uint64_t)0,
		.open = p->open, .done = p->done, .remedy_done = p->remedy_done,
		.rates = pl_rates_default(), .tables = p->tables };
}

static void add_answer(struct play *p, int check, int place)
{
	struct su_table *t = su_tables_get(p->tables, check, place);
	struct su_evidence *e = &p->e[p->c.nevidence++];
	int state = su_table_none(t), cell = 0;
	double norm = 0, at, row[SU_CELLS_MAX];

	memset(e, 0, sizeof *e);
	e->check = check;
	e->place = place;
	e->epoch = p->c.nrepairs;
	e->exponent = p->kn->checks[check].exponent;
	e->ncells = su_table_ncells(t);
	for (int i = 0; i < p->nfaults; i++)
		state = su_table_join(t, state, p->fault[i]);
	for (int i = 0; i < e->ncells; i++)
		norm += row[i] = pow(su_table_row(t, state)[i], e->exponent);
	at = rng_real(&p->rng) * norm;
	while (cell < e->ncells - 1 && (at -= row[cell]) > 0)
		cell++;
	e->share[cell] = 1;
	p->done[check] = 1;
}

/* The remedy on what is really wrong; returns whether the bike is cured. */
static bool repair(struct play *p, int remedy, int place)
{
	const struct kn_remedy *r = &p->kn->remedies[remedy];
	uint32_t sites = r->per == KN_NONE || place == KN_NONE ? KN_ALL_SITES
							       : p->kn->kinds[r->per].places[place].sites;
	int left = 0;

	for (int i = 0; i < p->nfaults; i++) {
		double clears = 0;

		for (int k = 0; k < r->nclears; k++)
			if (r->clears[k].fault == p->fault[i] &&
			    (p->kn->faults[p->fault[i]].sites & sites) &&
			    !(place != KN_NONE && p->kn->faults[p->fault[i]].all))
				clears = r->clears[k].p;
		if (rng_real(&p->rng) >= clears)
			p->fault[left++] = p->fault[i];
	}
	p->nfaults = left;
	p->repairs[p->c.nrepairs++] = (struct su_repair){ remedy, place, 1 };
	p->remedy_done[remedy]++;
	return left == 0;
}

static void still_there(struct play *p, int symptom)
{
	struct su_evidence *e = &p->e[p->c.nevidence++];

	memset(e, 0, sizeof *e);
	e->check = symptom;
	e->place = KN_NONE;
	e->epoch = p->c.nrepairs;
	e->exponent = 1;
	e->ncells = 2;
	e->share[p->kn->checks[symptom].outcomes[0].rest ? 1 : 0] = 1;
}

static void look_at_ranking(struct play *p, const struct su_suspects *s)
{
	struct su_line *lines;
	int n = su_lines(s, &lines);

	if (p->dear_seen)
		return;
	p->dear_seen = true;
	for (int k = 0; k < 3 && k < n; k++)
		for (int i = 0; i < p->nfaults; i++)
			if (p->kn->faults[p->fault[i]].mode == p->kn->faults[lines[k].best_fault].mode) {
				p->first_right = p->first_right || k == 0;
				p->first_three = true;
			}
	mem_free(lines);
}

/* The mechanic's rule on the same options: returns a choice. */
static bool by_rule(struct play *p, struct pl_options *o, const struct su_suspects *s,
		    struct pl_choice *out)
{
	struct pl_problem *q = &o->problem;
	double best = 0, top = 0;

	for (int m = 0; m < p->kn->nmodes; m++)
		top = fmax(top, s->mode_now[m]);
	memset(out, 0, sizeof *out);
	for (int c = 0; c < q->nchecks && top < SURE && p->checks < CHECKS_MOST; c++) {
		double rate = pl_information(q, &o->belief, c) / pl_check_cost(q, p->open, c);

		if (rate > best && pl_information(q, &o->belief, c) > 1e-3) {
			best = rate;
			out->check = true;
			out->option = c;
		}
	}
	if (out->check)
		return true;
	best = 0;
	for (int r = 0; r < q->nremedies; r++) {
		double gain = 0;

		for (int i = 0; i < q->remedy[r].nclears; i++)
			gain += s->now[q->remedy[r].clears[i].fault] * q->remedy[r].clears[i].p;
		if (gain / q->remedy[r].cost > best) {
			best = gain / q->remedy[r].cost;
			out->option = r;
			out->group = (struct pl_group){ .n = 1, .remedy = { r } };
		}
	}
	return best > 1e-7;
}

static bool by_planner(struct play *p, struct pl_options *o, struct pl_choice *out)
{
	double base;

	pl_limits(&o->problem);
	return pl_first_steps(&o->problem, &o->belief, p->open, out, 1, &base) == 1 &&
	       out->value < pl_belief_uncured(&o->belief) * o->problem.hand_over;
}

/* One job to its end; hand-over costs what it costs. */
static void run(struct play *p, int symptom, bool rule)
{
	for (int step = 0; step < STEPS_MOST - 2; step++) {
		struct su_suspects *s = su_weigh(p->kn, &p->c, NULL, NULL);
		struct pl_situation now;
		struct pl_options o;
		struct pl_choice c;
		bool cured = false, any;

		if (!s)
			break;
		now = situation(p, s);
		pl_options_make(&o, &now);
		any = rule ? by_rule(p, &o, s, &c) : by_planner(p, &o, &c);
		if (!any) {
			su_free(s);
			pl_options_free(&o);
			break;
		}
		if (getenv("PLAY_TRACE"))
			fprintf(stderr, "  %s %s value %.0f spent %.0f\n", rule ? "rule" : "planner",
				c.check ? p->kn->checks[o.problem.check[c.option].check].id
					: p->kn->remedies[o.problem.remedy[c.option].remedy].id,
				c.value, p->cost);
		if (c.check) {
			const struct pl_check_option *k = &o.problem.check[c.option];

			p->cost += pl_check_cost(&o.problem, p->open, c.option);
			p->open = pl_after_check(&o.problem, p->open, c.option);
			p->checks++;
			add_answer(p, k->check, k->place);
		} else {
			double cost = pl_group_cost(&o.problem, p->open, &c.group);

			if (cost > 60)
				look_at_ranking(p, s);
			p->cost += cost;
			for (int i = 0; i < c.group.n; i++) {
				const struct pl_remedy_option *r = &o.problem.remedy[c.group.remedy[i]];

				p->open = pl_after_remedy(&o.problem, p->open, c.group.remedy[i]);
				cured = repair(p, r->remedy, r->place);
			}
			if (!cured)
				still_there(p, symptom);
		}
		su_free(s);
		pl_options_free(&o);
		if (cured)
			return;
	}
	p->cost += pl_rates_default().hand_over;
	if (getenv("PLAY_TRACE"))
		fprintf(stderr, "  handed over at %.0f\n", p->cost);
}

static double known_cost(struct play *p, const struct su_suspects *s, const struct su_set *truth)
{
	struct pl_situation now = situation(p, s);
	struct pl_belief one = { 0 };
	struct pl_options o;
	double cost;

	pl_options_make(&o, &now);
	pl_belief_add(&one, pl_set_of(&o.problem, truth->now, truth->nnow), 1);
	cost = pl_base(&o.problem, &one, 1, NULL);
	pl_belief_free(&one);
	pl_options_free(&o);
	return cost;
}

struct totals { double cost, search; long dear, right, three; };

static void one_job(const struct kn_knowledge *kn, struct su_tables *tables, uint64_t seed,
		    struct totals t[2])
{
	struct rng r = { seed };
	int symptom = kn->symptoms[rng_below(&r, kn->nsymptoms)];

	for (int rule = 0; rule < 2; rule++) {
		struct play *p = mem_alloc(sizeof *p);
		struct su_suspects *s;
		const struct su_set *truth;
		double at, known;

		p->kn = kn;
		p->tables = tables;
		p->rng = (struct rng){ seed * 7919 };
		p->open = 1;
		p->done = mem_array((size_t)kn->nchecks + 1, 1);
		p->remedy_done = mem_array((size_t)kn->nremedies + 1, 1);
		p->c.evidence = p->e;
		p->c.repairs = p->repairs;
		still_there(p, symptom);
		s = su_weigh(kn, &p->c, NULL, NULL);
		at = rng_real(&p->rng) * s->listed;
		for (truth = s->sets; (at -= truth->weight) > 0 && truth < s->sets + s->nsets - 1; truth++)
			;
		p->nfaults = truth->nnow;
		memcpy(p->fault, truth->now, sizeof(int) * (size_t)truth->nnow);
		known = known_cost(p, s, truth);
		if (getenv("PLAY_TRACE"))
			fprintf(stderr, "job: %s, really %s, known %.0f\n", kn->checks[symptom].id,
				kn->modes[kn->faults[p->fault[0]].mode].ref, known);
		run(p, symptom, rule);
		t[rule].cost += p->cost;
		t[rule].search += p->cost - known;
		t[rule].dear += p->dear_seen;
		t[rule].right += p->first_right;
		t[rule].three += p->first_three;
		su_free(s);
		mem_free(p->done);
		mem_free(p->remedy_done);
		mem_free(p);
	}
}

int main(int argc, char **argv)
{
	static const char *const machines[] = { "four", "twin" };
	int jobs = argc > 1 ? atoi(argv[1]) : 8;
	double search = 0, total = 0, right = 100, three = 100;

	for (int m = 0; m < 2; m++) {
		const char *root = getenv("HALFSPLIT_ROOT");
		struct text dir = { 0 };
		struct kn_knowledge *kn;
		struct su_tables *tables;
		struct totals t[2] = { { 0 } };

		text_addf(&dir, "%s/trees", root ? root : ".");
		kn = kn_load(text_str(&dir), machines[m], NULL);
		text_free(&dir);
		if (!kn)
			return 1;
		tables = su_tables_new(kn);
		for (int i = 0; i < jobs; i++)
			one_job(kn, tables, 1000 + (uint64_t)i, t);
		printf("# %s: %d jobs, planner %.0f min (search %.0f), rule %.0f min (search %.0f), dear remedies "
		       "%ld and %ld\n", machines[m], jobs, t[0].cost / jobs, t[0].search / jobs,
		       t[1].cost / jobs, t[1].search / jobs, t[0].dear, t[1].dear);
		search = fmax(search, t[0].search / t[1].search);
		total = fmax(total, t[0].cost / t[1].cost);
		if (t[0].dear) {
			right = fmin(right, 100.0 * (double)t[0].right / (double)t[0].dear);
			three = fmin(three, 100.0 * (double)t[0].three / (double)t[0].dear);
		}
		su_tables_free(tables);
		kn_free(kn);
	}
	printf("plan.search_vs_baseline = %.2f ratio\n", search);
	printf("plan.total_vs_baseline = %.2f ratio\n", total);
	printf("plan.first_right_pct = %.0f %%\n", right);
	printf("plan.first_three_pct = %.0f %%\n", three);
	return 0;
}
