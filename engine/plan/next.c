#include <math.h>
#include <stdio.h>
#include <string.h>

#include "plan/options.h"
#include "plan/words.h"

#define WANTED_MOST 6         /* checks with a missing tool that are weighed */

static double opening_minutes(const struct pl_situation *now, int access)
{
	const struct kn_knowledge *kn = now->suspects->kn;
	double sum = 0;

	for (; access != KN_NONE; access = kn->accesses[access].parent)
		if (kn->accesses[access].parent != KN_NONE && !(now->open >> access & 1))
			sum += kn->accesses[access].open_min;
	return sum;
}

static double check_minutes(const struct pl_situation *now, int check, int place)
{
	return pl_check_work(now, check, place) +
	       opening_minutes(now, now->suspects->kn->checks[check].access);
}

double pl_check_minutes(const struct pl_situation *now, int check)
{
	return check_minutes(now, check, KN_NONE);
}

double pl_remedy_minutes(const struct pl_situation *now, int remedy, int place, double *money)
{
	return pl_remedy_work(now, remedy, place, money) +
	       opening_minutes(now, now->suspects->kn->remedies[remedy].access);
}

static void fill_step(struct pl_step *s, struct pl_options *o, const struct pl_situation *now,
		      const struct pl_choice *c)
{
	memset(s, 0, sizeof *s);
	s->kind = c->check ? PL_CHECK : PL_REMEDY;
	s->expected_total = c->value;
	if (c->check) {
		const struct pl_check_option *k = &o->problem.check[c->option];

		s->index = k->check;
		s->place = k->place;
		s->minutes = check_minutes(now, k->check, k->place);
		pl_words_check(s, o, now, c->option);
	} else {
		const struct pl_remedy_option *r = &o->problem.remedy[c->option];

		s->index = r->remedy;
		s->place = r->place;
		s->minutes = pl_remedy_minutes(now, r->remedy, r->place, &s->money);
		s->whole = pl_group_minutes(o, now, &c->group);
		for (int i = 1; i < c->group.n; i++)
			s->also[s->nalso++] = o->problem.remedy[c->group.remedy[i]].remedy;
		pl_words_remedy(s, o, now, c->option);
	}
}

/* One line per check and remedy: of a check's places the best is enough. */
static bool already_there(const struct pl_plan *out, const struct pl_options *o,
			  const struct pl_choice *c)
{
	for (int i = 0; i < out->nsteps; i++)
		if (c->check ? out->step[i].kind == PL_CHECK &&
				       out->step[i].index == o->problem.check[c->option].check
			     : out->step[i].kind == PL_REMEDY &&
				       out->step[i].index == o->problem.remedy[c->option].remedy)
			return true;
	return false;
}

/* Expected cost had the fault been known: for each set, remedies and nothing else. */
static double known_cost(struct pl_problem *p, const struct pl_belief *b, uint64_t open)
{
	double sum = 0;

	for (int i = 0; i < b->n; i++) {
		struct pl_belief one = { 0 };

		pl_belief_add(&one, b->set[i], 1);
		sum += b->w[i] * pl_base(p, &one, open, NULL);
		pl_belief_free(&one);
	}
	return sum;
}

/* What a check would tell and cost if it were possible, looked at with one step. */
struct if_possible { int check; double bits, value; };

static struct if_possible look_at(struct pl_options *o, const struct pl_situation *now, int check, bool value)
{
	struct pl_problem *p = &o->problem;
	struct if_possible out = { check, 0, INFINITY };
	int at = p->nchecks;

	if (!pl_add_check(o, now, check, KN_NONE))
		return out;
	out.bits = pl_information(p, &o->belief, at);
	if (value)
		out.value = pl_check_value(p, &o->belief, now->open, at, 1, INFINITY);
	mem_free(p->check[at].rows);
	p->nchecks--;
	return out;
}

/* Those that tell most of checks[0..n), at most WANTED_MOST, with their values; returns how many. */
static int most_telling(struct pl_options *o, const struct pl_situation *now, const int *checks, int n,
			struct if_possible out[WANTED_MOST])
{
	int found = 0;

	for (int i = 0; i < n; i++) {
		struct if_possible x = look_at(o, now, checks[i], false);
		int at = found;

		while (at > 0 && out[at - 1].bits < x.bits)
			at--;
		if (at == WANTED_MOST)
			continue;
		found += found < WANTED_MOST;
		for (int k = found - 1; k > at; k--)
			out[k] = out[k - 1];
		out[at] = x;
	}
	for (int i = 0; i < found; i++)
		out[i] = look_at(o, now, out[i].check, true);
	return found;
}

static void tool_that_would_help(struct pl_options *o, const struct pl_situation *now,
				 struct pl_plan *out)
{
	const struct kn_knowledge *kn = now->suspects->kn;
	double best = out->nsteps ? out->step[0].expected_total : INFINITY;
	struct if_possible wanted[WANTED_MOST];
	int n = most_telling(o, now, o->wanting, o->nwanting, wanted);

	for (int i = 0; i < n; i++) {
		uint64_t missing = kn->checks[wanted[i].check].tools & ~now->tools;

		if (wanted[i].value >= best - PL_AS_GOOD || best - wanted[i].value <= out->tool_saves)
			continue;
		for (int t = 0; t < kn->ntools; t++)
			if (missing >> t & 1)
				out->tool_wanted = t;
		out->tool_saves = best - wanted[i].value;
	}
}

static void hold_in_the_way(struct pl_options *o, const struct pl_situation *now, struct pl_plan *out)
{
	double best = out->nsteps ? out->step[0].expected_total : INFINITY;
	struct if_possible blocked[WANTED_MOST];
	int n = most_telling(o, now, o->blocked, o->nblocked, blocked);

	for (int i = 0; i < n && out->blocked_by == KN_NONE; i++)
		if (blocked[i].value < best - PL_AS_GOOD)
			out->blocked_by = o->blocked_by;
}

static void hand_over_step(struct pl_plan *out, double value)
{
	struct pl_step *s = &out->step[out->nsteps++];

	memset(s, 0, sizeof *s);
	s->kind = PL_HAND_OVER;
	s->index = s->place = KN_NONE;
	s->expected_total = value;
	strcpy(s->why, "No check or repair left here is likely to pay for itself.");
}

/* Instead of handing over a bike that nothing has been asked about. */
static bool outset_step(struct pl_options *o, const struct pl_situation *now, struct pl_plan *out)
{
	struct pl_choice c;

	if (!pl_ask_at_outset(o, now, &o->belief, now->open, 0, &c))
		return false;
	fill_step(&out->step[out->nsteps++], o, now, &c);
	strcpy(out->step[0].why, "Little has been asked yet. The sums say hand the bike over; this takes minutes and may "
	       "say otherwise.");
	out->as_good = 1;
	return true;
}

static void fill_plan(struct pl_options *o, const struct pl_situation *now, struct pl_plan *out)
{
	struct pl_choice c[24];
	double over = pl_belief_uncured(&o->belief) * now->rates.hand_over;
	int n = pl_first_steps(&o->problem, &o->belief, now->open, c, 24, &out->repair_only);
	double weighed[3] = { over };

	for (int i = 0; i < n && out->nsteps < 3; i++) {
		if (out->nsteps == 0 && pl_weighed(&c[i]) >= over)
			break;
		if (already_there(out, o, &c[i]))
			continue;
		weighed[out->nsteps] = pl_weighed(&c[i]);
		fill_step(&out->step[out->nsteps++], o, now, &c[i]);
	}
	if (out->nsteps == 0 && outset_step(o, now, out))
		return;
	if (out->nsteps == 0)
		hand_over_step(out, over);
	for (int i = 0; i < out->nsteps; i++) {
		double other = i ? out->step[0].expected_total
				 : out->nsteps > 1 ? out->step[1].expected_total : out->repair_only;

		out->step[i].saves = other - out->step[i].expected_total;
		out->as_good += i == 0 || weighed[i] - weighed[0] < PL_AS_GOOD;
	}
	out->any_as_good = out->as_good > 1;
}

/* A dear repair is next: before it, the answer that it rests on is had again. */
static void once_more(const struct pl_situation *now, double uncured, struct pl_plan *out)
{
	const struct kn_knowledge *kn = now->suspects->kn;
	struct pl_step s = { .kind = PL_CHECK, .again = true };
	double rests;
	int at = out->step[0].kind == PL_REMEDY && out->step[0].whole > PL_DEAR ? pl_again(now, &rests) : KN_NONE;

	if (at == KN_NONE)
		return;
	s.index = now->the_case->evidence[at].check;
	s.place = now->the_case->evidence[at].place;
	s.minutes = check_minutes(now, s.index, s.place);
	s.saves = -(s.minutes + now->rates.handling) * uncured;
	s.expected_total = out->step[0].expected_total - s.saves;
	snprintf(s.why, sizeof s.why, "The next repair, %.60s, takes over an hour and rests on this answer more than "
		 "on any other (%.0f dB): once more before it is begun.", kn->remedies[out->step[0].index].title, rests);
	memmove(out->step + 1, out->step, 2 * sizeof s);
	out->step[0] = s;
	out->nsteps += out->nsteps < 3;
	out->as_good = 1;
	out->any_as_good = false;
}

int pl_next(const struct pl_situation *now, struct pl_plan *out, struct hs_err *err)
{
	struct pl_options o;

	(void)err;
	memset(out, 0, sizeof *out);
	out->blocked_by = out->tool_wanted = KN_NONE;
	pl_options_make(&o, now);
	pl_limits(&o.problem);
	fill_plan(&o, now, out);
	tool_that_would_help(&o, now, out);
	hold_in_the_way(&o, now, out);
	once_more(now, pl_belief_uncured(&o.belief), out);
	out->known_cost = known_cost(&o.problem, &o.belief, now->open);
	out->work = o.problem.work;
	pl_options_free(&o);
	return 0;
}
