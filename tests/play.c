#include "play.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"

#define STEPS_MOST 60
#define SURE .85            /* where the baseline stops asking: P(first), or so many checks */
#define CHECKS_MOST 25
#define SAME_INSTRUMENT .95 /* an answer persists, docs/method.md 3 */
#define SAME_RIDER .9

struct play {
	const struct kn_knowledge *kn;
	struct su_tables *tables;
	const struct play_job *job;
	struct play_result *out;
	FILE *trace;
	int nfaults, fault[PLAY_FAULTS];   /* what is wrong now */
	struct su_evidence e[STEPS_MOST + 2];
	unsigned there[STEPS_MOST + 2];    /* at each answer: which faults of the job, a bit each ... */
	int shown[STEPS_MOST + 2];         /* ... and the cell the bike showed, slip or no slip */
	struct su_repair repairs[STEPS_MOST * PL_GROUP_MAX];
	struct su_case c;
	uint64_t open;
	int nholds, hold[8];
	unsigned char *done, *twice, *remedy_done;
};

/* ---- chance: the same for every rule --------------------------------------------------------- */

static double drawn(const struct play_job *job, int what, int which, int where, int when)
{
	struct rng r = { job->seed * 1000003 };

	r.s ^= rng_next(&r) + (uint64_t)what;
	r.s ^= rng_next(&r) + (uint64_t)which;
	r.s ^= rng_next(&r) + (uint64_t)(where + 1);
	r.s ^= rng_next(&r) + (uint64_t)when;
	rng_next(&r);
	return rng_real(&r);
}

enum what { ANSWER, WRONG, WRONG_CELL, CLEARED, STILL, PERSISTS };

static int state_of(struct su_table *t, const int *fault, int n)
{
	int state = su_table_none(t);

	for (int i = 0; i < n; i++)
		state = su_table_join(t, state, fault[i]);
	return state;
}

static double shows(const struct kn_knowledge *kn, struct su_tables *tables, int symptom,
		    const int *fault, int n)
{
	struct su_table *t = su_tables_get(tables, symptom, KN_NONE);

	return su_table_row(t, state_of(t, fault, n))[kn->checks[symptom].outcomes[0].rest ? 1 : 0];
}

/* Brought in with this complaint? A bike may show anything for reasons of its own (the base share), but
 * then it is not this job's fault that is complained of. */
static bool brings(struct rng *r, const struct kn_knowledge *kn, struct su_tables *tables,
		   const struct play_job *job)
{
	double p = shows(kn, tables, job->symptom, job->fault, job->nfaults);

	return p > shows(kn, tables, job->symptom, NULL, 0) * 1.001 && rng_real(r) < p;
}

/* ---- drawing a job ----------------------------------------------------------------------------- */

static int by_weight(struct rng *r, const struct kn_knowledge *kn, double all)
{
	double at = rng_real(r) * all;
	int f = 0;

	while (f < kn->nfaults - 1 && (at -= kn->faults[f].weight) > 0)
		f++;
	return f;
}

static double together(const struct kn_knowledge *kn, int a, int b)
{
	for (int i = 0; i < kn->ntogether; i++) {
		const struct kn_together *t = &kn->together[i];

		if ((t->fault_a == a && t->fault_b == b) || (t->fault_a == b && t->fault_b == a))
			return t->times;
	}
	return 1;
}

/* So many faults in proportion to the products of their weights, raised pairs more, by rejection. */
static void draw_set(struct rng *r, const struct kn_knowledge *kn, int n, struct play_job *out)
{
	double all = 0, most = 1, keep;
	bool good;

	for (int f = 0; f < kn->nfaults; f++)
		all += kn->faults[f].weight;
	for (int i = 0; i < kn->ntogether; i++)
		most = fmax(most, kn->together[i].times);
	do {
		keep = 1;
		good = true;
		out->nfaults = 0;
		for (int i = 0; i < n && good; i++) {
			int f = by_weight(r, kn, all), at = i;

			for (int k = 0; k < i; k++) {
				good = good && f != out->fault[k] && !kn_exclude(kn, f, out->fault[k]);
				keep *= together(kn, f, out->fault[k]) / most;
			}
			for (; at > 0 && out->fault[at - 1] > f; at--)
				out->fault[at] = out->fault[at - 1];
			out->fault[at] = f;
			out->nfaults++;
		}
	} while (!good || rng_real(r) >= keep);
}

void play_draw(const struct kn_knowledge *kn, struct su_tables *tables, uint64_t seed,
	       struct play_job *out)
{
	struct rng r = { seed * 7919 + 17 };
	const double *p = kn->number_prior;

	*out = (struct play_job){ .seed = seed };
	do {
		double at = rng_real(&r) * (p[1] + p[2] + p[3]);

		draw_set(&r, kn, at < p[1] ? 1 : at < p[1] + p[2] ? 2 : 3, out);
		out->symptom = kn->symptoms[rng_below(&r, kn->nsymptoms)];
	} while (!brings(&r, kn, tables, out));
}

bool play_draw_mode(const struct kn_knowledge *kn, struct su_tables *tables, int mode, uint64_t seed,
		    struct play_job *out)
{
	struct rng r = { seed * 104729 + (uint64_t)mode };
	double all = 0, at;

	*out = (struct play_job){ .seed = seed * 1009 + (uint64_t)mode, .nfaults = 1 };
	for (int f = 0; f < kn->nfaults; f++)
		all += kn->faults[f].mode == mode ? kn->faults[f].weight : 0;
	if (!(all > 0))
		return false;
	at = rng_real(&r) * all;
	for (int f = 0; f < kn->nfaults; f++)
		if (kn->faults[f].mode == mode) {
			out->fault[0] = f;
			if ((at -= kn->faults[f].weight) <= 0)
				break;
		}
	for (int tries = 0; tries < 100000; tries++) {
		out->symptom = kn->symptoms[rng_below(&r, kn->nsymptoms)];
		if (brings(&r, kn, tables, out))
			return true;
	}
	return false;
}

/* ---- what happens -------------------------------------------------------------------------------- */

static bool names(const struct kn_trigger *t, int n, int check, int outcome)
{
	for (int i = 0; i < n; i++)
		if (t[i].check == check && t[i].outcome == outcome)
			return true;
	return false;
}

static void put_hold(struct play *p, int hold, bool on)
{
	int at = 0;

	while (at < p->nholds && p->hold[at] != hold)
		at++;
	if (on && at == p->nholds && at < 8)
		p->hold[p->nholds++] = hold;
	if (!on && at < p->nholds)
		p->hold[at] = p->hold[--p->nholds];
}

static void holds(struct play *p, int check, int outcome)
{
	for (int h = 0; h < p->kn->nholds; h++) {
		const struct kn_hold *hold = &p->kn->holds[h];
		bool on = names(hold->triggers, hold->ntriggers, check, outcome);

		for (int i = 0; i < hold->nsymptoms; i++)
			on = on || (hold->symptoms[i] == check && !p->kn->checks[check].outcomes[outcome].rest);
		if (on || names(hold->clears, hold->nclears, check, outcome))
			put_hold(p, h, on);
	}
}

/* Which faults of the job are there now and bear on the check, a bit each. */
static unsigned bearing(const struct play *p, const struct su_table *t)
{
	unsigned out = 0;

	for (int i = 0; i < p->nfaults; i++)
		for (int k = 0; k < p->job->nfaults; k++)
			if (p->job->fault[k] == p->fault[i] && su_table_bears(t, p->fault[i]))
				out |= 1u << k;
	return out;
}

/* The cell shown in an earlier epoch, if nothing that bears on it has changed since; else KN_NONE. */
static int as_before(const struct play *p, const struct su_evidence *e, unsigned there)
{
	for (int i = p->c.nevidence - 1; i >= 0; i--)
		if (p->e[i].check == e->check && p->e[i].place == e->place && p->e[i].epoch < e->epoch)
			return p->there[i] == there ? p->shown[i] : KN_NONE;
	return KN_NONE;
}

static int one_of(const double *row, int n, double chance)
{
	double norm = 0, at;
	int cell = 0;

	for (int o = 0; o < n; o++)
		norm += row[o];
	at = chance * norm;
	while (cell < n - 1 && (at -= row[cell]) > 0)
		cell++;
	return cell;
}

/* What the bike shows is drawn once per check, place and epoch, and stays what it was with the chance of
 * docs/method.md 3 while nothing that bears on it changes; a slip is drawn each time it is had. */
static int shown(const struct play *p, struct su_table *t, const struct su_evidence *e, unsigned there)
{
	bool instrument = p->kn->checks[e->check].kind == KN_MEASUREMENT;
	double row[SU_CELLS_MAX], rest = 0;
	int state = state_of(t, p->fault, p->nfaults), was = as_before(p, e, there);

	for (int o = 0; o < e->ncells; o++) {
		row[o] = pow(su_table_row(t, state)[o], e->exponent);
		rest += o == was ? 0 : row[o];
	}
	if (was != KN_NONE && (!(rest > 0) || drawn(p->job, PERSISTS, e->check, e->place, e->epoch) <
						      (instrument ? SAME_INSTRUMENT : SAME_RIDER)))
		return was;
	if (was != KN_NONE)
		row[was] = 0;
	return one_of(row, e->ncells, drawn(p->job, ANSWER, e->check, e->place, e->epoch));
}

static void draw_answer(struct play *p, int at, int times_had)
{
	struct su_evidence *e = &p->e[at];
	struct su_table *t = su_tables_get(p->tables, e->check, e->place);
	int cell, slip = e->epoch + 1000 * times_had;

	p->there[at] = bearing(p, t);
	cell = p->shown[at] = shown(p, t, e, p->there[at]);
	if (drawn(p->job, WRONG, e->check, e->place, slip) < p->job->wrong)
		cell = (int)(drawn(p->job, WRONG_CELL, e->check, e->place, slip) * e->ncells);
	memset(e->share, 0, sizeof e->share);
	e->share[cell] = 1;
	holds(p, e->check, su_table_cell_outcome(t, cell));
	if (p->trace)
		fprintf(p->trace, " = %s", p->kn->checks[e->check].outcomes[su_table_cell_outcome(t, cell)].id);
}

static void add_answer(struct play *p, int check, int place)
{
	int at = p->c.nevidence++;

	p->e[at] = (struct su_evidence){ .check = check, .place = place, .epoch = p->c.nrepairs,
		.exponent = p->kn->checks[check].exponent,
		.ncells = su_table_ncells(su_tables_get(p->tables, check, place)) };
	draw_answer(p, at, 0);
	p->done[check] = 1;
}

static void complain(struct play *p)
{
	int symptom = p->job->symptom, yes = p->kn->checks[symptom].outcomes[0].rest ? 1 : 0;
	struct su_evidence *e = &p->e[p->c.nevidence++];

	*e = (struct su_evidence){ .check = symptom, .place = KN_NONE, .epoch = p->c.nrepairs,
		.exponent = 1, .ncells = 2 };
	e->share[yes] = 1;
	holds(p, symptom, yes);
}

static void repair(struct play *p, int remedy, int place)
{
	const struct su_repair done = { remedy, place, 1 };
	int left = 0;

	for (int i = 0; i < p->nfaults; i++)
		if (drawn(p->job, CLEARED, remedy, p->fault[i], p->remedy_done[remedy]) >=
		    su_clears(p->kn, &done, p->fault[i]))
			p->fault[left++] = p->fault[i];
	p->nfaults = left;
	p->repairs[p->c.nrepairs++] = done;
	p->remedy_done[remedy]++;
	for (int c = 0; c < p->kn->nchecks; c++)
		if (p->done[c] && su_worth_repeating(p->kn, &p->c, p->tables, c))
			p->done[c] = 0;
}

/* Tried after a repair.  What is left shows the complaint as it did before, by the share it has in it:
 * a second fault that never showed it does not keep the job going. */
static bool still_there(struct play *p, double before)
{
	double now = p->nfaults ? shows(p->kn, p->tables, p->job->symptom, p->fault, p->nfaults) : 0;

	return drawn(p->job, STILL, 0, 0, p->nfaults) * before < now;
}

/* ---- the rules ------------------------------------------------------------------------------------ */

static void open_for_each(struct pl_problem *q, uint64_t open)
{
	for (int c = 0; c < q->nchecks; c++) {
		q->check[c].cost = pl_check_cost(q, open, c);
		q->check[c].access = 0;
	}
	for (int r = 0; r < q->nremedies; r++) {
		q->remedy[r].cost += pl_open_cost(q, open, q->remedy[r].access);
		q->remedy[r].access = 0;
	}
}

/* One check on top of a repair plan in which every step pays its own opening. */
static bool one_step(struct pl_problem *q, const struct pl_belief *b, uint64_t open,
		     struct pl_choice *out)
{
	double uncured = pl_belief_uncured(b), best;
	struct pl_belief after = { 0 };
	int first;

	open_for_each(q, open);
	best = pl_base(q, b, 1, &first);
	memset(out, 0, sizeof *out);
	out->option = first;
	out->group = (struct pl_group){ .n = 1, .remedy = { first } };
	for (int c = 0; c < q->nchecks; c++) {
		double value = q->check[c].cost * uncured;

		for (int o = 0; o < q->check[c].ncells && value < best; o++) {
			double share = pl_belief_cell(q, b, c, o, &after);

			value += share > 1e-9 ? share * pl_base(q, &after, 1, NULL) : 0;
		}
		if (value < best - 1e-9) {
			best = value;
			out->check = true;
			out->option = c;
		}
	}
	pl_belief_free(&after);
	out->value = best;
	return out->option >= 0;
}

/* Most bits per minute with all of opening and closing, until sure; then remedies by chance over
 * cost. */
static bool baseline(const struct play *p, struct pl_options *o, const struct su_suspects *s,
		     struct pl_choice *out)
{
	struct pl_problem *q = &o->problem;
	double best = 0, top = 0;

	for (int m = 0; m < p->kn->nmodes; m++)
		top = fmax(top, s->mode_now[m]);
	memset(out, 0, sizeof *out);
	for (int c = 0; c < q->nchecks && top < SURE && p->out->checks < CHECKS_MOST; c++) {
		double bits = pl_information(q, &o->belief, c);

		if (bits > 1e-3 && bits / pl_check_cost(q, p->open, c) > best) {
			best = bits / pl_check_cost(q, p->open, c);
			out->check = true;
			out->option = c;
		}
	}
	if (out->check)
		return true;
	for (int r = 0; r < q->nremedies; r++) {
		double gain = 0, cost = q->remedy[r].cost + pl_open_cost(q, p->open, q->remedy[r].access);

		for (int i = 0; i < q->remedy[r].nclears; i++)
			gain += s->now[q->remedy[r].clears[i].fault] * q->remedy[r].clears[i].p;
		if (gain / cost > best) {
			best = gain / cost;
			out->option = r;
			out->group = (struct pl_group){ .n = 1, .remedy = { r } };
		}
	}
	return best > 1e-7;
}

static bool planner(struct pl_options *o, const struct pl_situation *now, struct pl_choice *out)
{
	pl_limits(&o->problem);
	return pl_advised(o, now, &o->belief, now->open, 0, out);
}

static bool choose(struct play *p, struct pl_options *o, const struct pl_situation *now,
		   enum play_rule rule, struct pl_choice *out)
{
	return rule == PLAY_BASELINE ? baseline(p, o, now->suspects, out)
	     : rule == PLAY_ONE_STEP ? one_step(&o->problem, &o->belief, p->open, out)
				     : planner(o, now, out);
}

/* ---- one job ---------------------------------------------------------------------------------------- */

static bool present(const struct play *p, int mode)
{
	for (int i = 0; i < p->nfaults; i++)
		if (p->kn->faults[p->fault[i]].mode == mode)
			return true;
	return false;
}

static void show_ranking(const struct play *p, const char *what, const struct su_line *lines, int n)
{
	fprintf(p->trace, "\n    %s:", what);
	for (int i = 0; i < n && i < 5; i++)
		fprintf(p->trace, " %s %.2f", p->kn->modes[p->kn->faults[lines[i].best_fault].mode].ref,
			lines[i].p);
}

static void look_at_ranking(struct play *p, const struct su_suspects *s)
{
	struct su_line *lines;
	int n = su_lines(s, &lines), rank = 0;

	while (rank < n && !(lines[rank].mode != KN_NONE ? present(p, lines[rank].mode)
			     : p->nfaults && present(p, p->kn->faults[lines[rank].best_fault].mode)))
		rank++;
	p->out->dear++;
	p->out->right += rank == 0;
	p->out->three += rank < 3;
	if (p->trace)
		show_ranking(p, rank == 0 ? "dear remedy, right" : rank < 3 ? "dear remedy, among three"
			     : "dear remedy, wrong", lines, n);
	mem_free(lines);
}

static void do_check(struct play *p, struct pl_options *o, int option)
{
	const struct pl_check_option *k = &o->problem.check[option];

	p->out->cost += pl_check_cost(&o->problem, p->open, option);
	p->open = pl_after_check(&o->problem, p->open, option);
	p->out->checks++;
	add_answer(p, k->check, k->place);
}

/* Before a dear repair the program asks again for what it rests on: has it anything to ask? */
static bool once_more(struct play *p, struct pl_options *o, const struct pl_situation *now)
{
	double rests;
	int at = pl_again(now, &rests);
	const struct kn_check *k;
	struct su_evidence *e;

	if (at == KN_NONE)
		return false;
	e = &p->e[at];
	k = &p->kn->checks[e->check];
	if (p->trace)
		fprintf(p->trace, "\n  %4.0f %s once more (%.0f dB)", p->out->cost, k->id, rests);
	p->out->cost += pl_check_work(now, e->check, e->place) + o->problem.handling +
			pl_open_cost(&o->problem, p->open, k->access);
	p->open |= o->problem.access[k->access].path;
	p->out->checks++;
	p->twice[e->check] = 1;
	draw_answer(p, at, 1);
	return true;
}

/* Returns whether the job is over. */
static bool do_group(struct play *p, struct pl_options *o, const struct pl_group *g)
{
	double before = shows(p->kn, p->tables, p->job->symptom, p->fault, p->nfaults);

	p->out->cost += pl_group_cost(&o->problem, p->open, g);
	for (int i = 0; i < g->n; i++) {
		const struct pl_remedy_option *r = &o->problem.remedy[g->remedy[i]];

		p->open = pl_after_remedy(&o->problem, p->open, g->remedy[i]);
		repair(p, r->remedy, r->place);
	}
	p->out->repairs += g->n;
	if (!still_there(p, before))
		return true;
	complain(p);
	return false;
}

static struct pl_situation situation(const struct play *p, const struct su_suspects *s)
{
	return (struct pl_situation){ .suspects = s, .the_case = &p->c, .tools = ~(uint64_t)0,
		.open = p->open, .nholds = p->nholds, .holds = p->hold, .done = p->done,
		.twice = p->twice, .rates = pl_rates_default(), .tables = p->tables };
}

static void given_up(const struct play *p, const struct su_suspects *s)
{
	struct su_line *lines;
	int n;

	if (!p->trace)
		return;
	n = su_lines(s, &lines);
	show_ranking(p, "given up", lines, n);
	mem_free(lines);
}

/* What is chosen; the costs to choose by may be other than those of the bike. */
static bool chosen(struct play *p, const struct su_suspects *s, enum play_rule rule,
		   struct pl_choice *out)
{
	struct pl_situation now = situation(p, s);
	struct pl_options o;
	bool any;

	pl_options_make(&o, &now);
	any = choose(p, &o, &now, rule, out);
	pl_options_free(&o);
	if (!any)
		given_up(p, s);
	return any;
}

static void show_step(const struct play *p, const struct pl_options *o, const struct pl_choice *c)
{
	if (!p->trace)
		return;
	fprintf(p->trace, "\n  %4.0f %s", p->out->cost,
		c->check ? p->kn->checks[o->problem.check[c->option].check].id : "repair");
	for (int i = 0; !c->check && i < c->group.n; i++)
		fprintf(p->trace, " %s", p->kn->remedies[o->problem.remedy[c->group.remedy[i]].remedy].id);
	fprintf(p->trace, " (%.0f)", c->value);
}

/* One step by the rule; false when it has none. *over: the bike is cured. */
static bool step(struct play *p, const struct su_suspects *s, enum play_rule rule, bool *over)
{
	struct pl_situation now = situation(p, s);
	struct pl_options o;
	struct pl_choice c;
	bool dear, again;

	if (!chosen(p, s, rule, &c))
		return false;
	pl_options_make(&o, &now);
	dear = !c.check && pl_group_minutes(&o, &now, &c.group) > PL_DEAR;
	again = dear && rule == PLAY_PLANNER && once_more(p, &o, &now);
	if (!again)
		show_step(p, &o, &c);
	if (c.check)
		do_check(p, &o, c.option);
	else if (!again) {
		if (dear)
			look_at_ranking(p, s);
		*over = do_group(p, &o, &c.group);
	}
	pl_options_free(&o);
	return true;
}

static double known_cost(const struct play *p)
{
	struct su_set truth = { 1, p->nfaults, p->fault, p->nfaults, p->fault };
	struct su_suspects sure = { .kn = p->kn, .nsets = 1, .sets = &truth, .listed = 1 };
	struct pl_situation now = situation(p, &sure);
	struct pl_options o;
	double cost;

	pl_options_make(&o, &now);
	cost = pl_base(&o.problem, &o.belief, 1, NULL);
	pl_options_free(&o);
	return cost;
}

static void run(struct play *p, enum play_rule rule)
{
	bool over = false, any = true;

	complain(p);
	for (int i = 0; i < STEPS_MOST && any && !over && p->c.nevidence < STEPS_MOST; i++) {
		struct su_suspects *s = su_weigh(p->kn, &p->c, NULL, NULL);

		if (!s)
			break;
		any = step(p, s, rule, &over);
		su_free(s);
	}
	p->out->cured = over;
	p->out->cost += over ? 0 : pl_rates_default().hand_over;
}

void play_job(const struct kn_knowledge *kn, struct su_tables *tables, const struct play_job *job,
	      enum play_rule rule, struct play_result *out, FILE *trace)
{
	struct play *p = mem_alloc(sizeof *p);

	memset(out, 0, sizeof *out);
	p->kn = kn;
	p->tables = tables;
	p->job = job;
	p->out = out;
	p->trace = trace;
	p->open = 1;
	p->nfaults = job->nfaults;
	memcpy(p->fault, job->fault, sizeof p->fault);
	p->done = mem_array((size_t)kn->nchecks + 1, 1);
	p->twice = mem_array((size_t)kn->nchecks + 1, 1);
	p->remedy_done = mem_array((size_t)kn->nremedies + 1, 1);
	p->c.evidence = p->e;
	p->c.repairs = p->repairs;
	out->known = known_cost(p);
	if (trace) {
		fprintf(trace, "job %llu: %s, really", (unsigned long long)job->seed, kn->checks[job->symptom].id);
		for (int i = 0; i < job->nfaults; i++)
			fprintf(trace, " %s", kn->modes[kn->faults[job->fault[i]].mode].ref);
		fprintf(trace, ", known %.0f", out->known);
	}
	run(p, rule);
	if (trace)
		fprintf(trace, "\n  %4.0f %s\n", out->cost, out->cured ? "cured" : "handed over");
	mem_free(p->done);
	mem_free(p->twice);
	mem_free(p->remedy_done);
	mem_free(p);
}
