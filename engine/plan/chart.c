#include "plan/chart.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "plan/bound.h"
#include "plan/options.h"
#include "plan/telling.h"

#define WORK 12000            /* per step: less than for the advice itself */
#define WIDTH 10
#define LIGHT 1e-4            /* fault sets lighter than that are dropped on the way */
#define BOUND_DEPTH 1
#define BOUND_ROUNDS 400
#define SUSPECT .01

struct chart_making {
	struct pl_options *o;
	const struct pl_situation *now;
	const struct pl_chart_settings *settings;
	struct pl_chart *out;
	int cap;
	double done;                    /* share of the jobs whose end is on the chart */
	double *mass;                   /* [nlabels] */
};

struct pl_chart_settings pl_chart_settings_default(void)
{
	return (struct pl_chart_settings){ .depth = 6, .least = .05 };
}

static int new_node(struct chart_making *m, int parent, int outcome, int at, double reach)
{
	struct pl_chart *c = m->out;

	if (c->nnodes == m->cap) {
		m->cap = m->cap ? 2 * m->cap : 64;
		c->node = mem_resize_array(c->node, (size_t)m->cap, sizeof *c->node);
	}
	c->node[c->nnodes] = (struct pl_chart_node){ .parent = parent, .outcome = outcome, .at = at,
		.reach = reach, .first = -1, .next = -1, .index = KN_NONE, .place = KN_NONE };
	return c->nnodes++;
}

/* The likeliest modes, each counted once in a set. */
static void likeliest(struct chart_making *m, const struct pl_belief *b, int node)
{
	const struct pl_problem *p = &m->o->problem;
	struct pl_chart_node *n = &m->out->node[node];

	pl_belief_labels(p, b, m->mass);
	for (n->nmodes = 0; n->nmodes < PL_CHART_MODES; n->nmodes++) {
		int best = -1;

		for (int l = 0; l < p->nlabels; l++)
			if (m->mass[l] > 0 && (best < 0 || m->mass[l] > m->mass[best]))
				best = l;
		if (best < 0 || (n->nmodes && m->mass[best] < .05))
			break;
		n->mode[n->nmodes] = (struct pl_chart_mode){ best, m->mass[best] };
		m->mass[best] = 0;
	}
}

/* Where the chart ends: the base plan, one repair after the other. */
static void last_repairs(struct chart_making *m, const struct pl_belief *b, uint64_t open, int node)
{
	struct pl_problem *p = &m->o->problem;
	struct pl_group group[PL_GROUPS_MAX];
	struct pl_chart_node *n = &m->out->node[node];
	int groups = 0;

	n->expected = n->minutes = pl_base_groups(p, b, open, group, &groups);
	n->kind = groups ? PL_CHART_LAST : PL_CHART_OVER;
	for (int g = 0; g < groups; g++)
		for (int i = 0; i < group[g].n; i++) {
			const struct pl_remedy_option *r = &p->remedy[group[g].remedy[i]];

			if (n->nrepairs == PL_CHART_REPAIRS) {
				n->more = true;
				return;
			}
			n->repair[n->nrepairs++] = (struct pl_chart_repair){ r->remedy, r->place };
		}
}

static double follow(struct chart_making *m, const struct pl_belief *b, uint64_t open, int node, int depth);

static void link_child(struct pl_chart *c, int parent, int child, int *last)
{
	if (*last < 0)
		c->node[parent].first = child;
	else
		c->node[*last].next = child;
	*last = child;
}

/* Every answer in turn; the check is not asked again below, at none of its places. */
static double follow_answers(struct chart_making *m, const struct pl_belief *b, uint64_t open, int node,
			     int option, int depth)
{
	struct pl_problem *p = &m->o->problem;
	struct su_table *t = su_tables_get(m->o->tables, p->check[option].check, p->check[option].place);
	double *kept = mem_array((size_t)p->nchecks, sizeof *kept);
	double sum = m->out->node[node].minutes * pl_belief_uncured(b), reach = m->out->node[node].reach;
	struct pl_belief after = { 0 };
	int last = -1;

	for (int i = 0; i < p->nchecks; i++)
		kept[i] = p->check[i].cost;
	pl_check_spend(p, option);
	for (int o = 0; o < p->check[option].ncells; o++) {
		double share = pl_belief_cell(p, b, option, o, &after);
		int child;

		if (!(share > 1e-9))
			continue;
		child = new_node(m, node, su_table_cell_outcome(t, o), su_table_cell_place(t, o),
				 reach * share);
		link_child(m->out, node, child, &last);
		sum += share * follow(m, &after, pl_after_check(p, open, option), child, depth - 1);
	}
	for (int i = 0; i < p->nchecks; i++)
		p->check[i].cost = kept[i];
	mem_free(kept);
	pl_belief_free(&after);
	return sum;
}

static double follow_repair(struct chart_making *m, const struct pl_belief *b, uint64_t open, int node,
			    const struct pl_group *g, int depth)
{
	struct pl_problem *p = &m->o->problem;
	double sum = m->out->node[node].minutes * pl_belief_uncured(b), left;
	struct pl_belief after = { 0 };
	uint64_t then = open;
	int child, last = -1;

	for (int i = 0; i < g->n; i++) {
		const struct pl_remedy_option *r = &p->remedy[g->remedy[i]];

		m->out->node[node].repair[i] = (struct pl_chart_repair){ r->remedy, r->place };
		then = pl_after_remedy(p, then | p->access[r->access].path, g->remedy[i]);
	}
	m->out->node[node].nrepairs = g->n < PL_CHART_REPAIRS ? g->n : PL_CHART_REPAIRS;
	left = pl_belief_repaired(p, b, g, &after);
	m->done += m->out->node[node].reach * (1 - left);
	if (left > 1e-9) {
		child = new_node(m, node, KN_NONE, KN_NONE, m->out->node[node].reach * left);
		link_child(m->out, node, child, &last);
		sum += left * follow(m, &after, then, child, depth - 1);
	}
	pl_belief_free(&after);
	return sum;
}

static void fill(struct chart_making *m, const struct pl_choice *c, uint64_t open, int node)
{
	struct pl_problem *p = &m->o->problem;
	struct pl_chart_node *n = &m->out->node[node];

	n->kind = c->check ? PL_CHART_CHECK : PL_CHART_REPAIR;
	n->index = c->check ? p->check[c->option].check : p->remedy[c->option].remedy;
	n->place = c->check ? p->check[c->option].place : p->remedy[c->option].place;
	n->minutes = c->check ? pl_check_cost(p, open, c->option) : pl_group_cost(p, open, &c->group);
}

/* Fills the node and all below it; returns the expected minutes from here. */
static double follow(struct chart_making *m, const struct pl_belief *before, uint64_t open, int node,
		     int depth)
{
	struct pl_problem *p = &m->o->problem;
	struct pl_belief b = { 0 };
	struct pl_choice c;
	double expected;
	int had = node == 0 ? 0 : PL_ASKED_LEAST; /* boxes for what pays, but no chart that only hands over */

	for (int i = 0; i < before->n; i++)
		pl_belief_add(&b, before->set[i], before->w[i]);
	pl_belief_drop_light(&b, LIGHT);
	likeliest(m, &b, node);
	last_repairs(m, &b, open, node);
	p->work = 0;
	if (depth <= 0 || m->out->node[node].reach < m->settings->least ||
	    !pl_advised(m->o, m->now, &b, open, had, &c)) {
		m->done += m->out->node[node].reach;
		expected = m->out->node[node].expected;
	} else {
		m->out->node[node].nrepairs = 0;
		m->out->node[node].more = false;
		fill(m, &c, open, node);
		expected = c.check ? follow_answers(m, &b, open, node, c.option, depth)
				   : follow_repair(m, &b, open, node, &c.group, depth);
	}
	m->out->node[node].expected = expected;
	if (m->settings->progress)
		m->settings->progress(m->settings->about, m->out->nnodes, fmin(1, m->done));
	pl_belief_free(&b);
	return expected;
}

void pl_chart_make(const struct pl_situation *now, const struct pl_chart_settings *settings,
		   struct pl_chart *out)
{
	struct chart_making m = { .now = now, .settings = settings, .out = out };
	struct pl_options o;

	memset(out, 0, sizeof *out);
	pl_options_make(&o, now);
	m.o = &o;
	pl_limits(&o.problem);
	o.problem.work_limit = WORK;
	o.problem.first_width = WIDTH;
	o.problem.look = 0; /* a chart has room for so many boxes: none for what decides nothing */
	m.mass = mem_array((size_t)o.problem.nlabels + 1, sizeof *m.mass);
	out->expected = follow(&m, &o.belief, now->open, new_node(&m, -1, KN_NONE, KN_NONE, 1),
			       settings->depth);
	out->bound = fmax(pl_lower_bound(&o.problem, &o.belief, now->open, BOUND_DEPTH),
			  pl_telling_bound(&o.problem, &o.belief, now->open, BOUND_ROUNDS));
	for (int i = 0; i < now->suspects->kn->nmodes; i++)
		out->suspects += now->suspects->mode_now[i] >= SUSPECT;
	for (int i = 0; i < o.belief.n; i++)
		out->planned_over += now->suspects->sets[i].weight;
	mem_free(m.mass);
	pl_options_free(&o);
}

void pl_chart_free(struct pl_chart *c)
{
	mem_free(c->node);
	c->node = NULL;
}
