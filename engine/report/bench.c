/* A bench run as lists: passed, failed, what to renew, what to measure again, what was not done. */
#include <stdio.h>
#include <string.h>

#include "base/mem.h"
#include "report/bench.h"

#define DECIDED .5        /* a suspect this likely is something to be done about */

const char *bench_heading(enum bench_list list)
{
	static const char *const headings[] = { "Passed", "Failed", "To renew or set right",
						"To measure again", "Not done" };

	return headings[list];
}

bool bench_is_one(const struct job_view *v)
{
	return v->the_case.no_complaint && v->ncomplaints == 0;
}

struct lines { void (*each)(void *to, const char *line); void *to; int n; };

static void give(struct lines *l, struct text *t)
{
	if (l->each)
		l->each(l->to, text_str(t));
	l->n++;
	text_free(t);
}

/* Does this answer say something of the place (KN_NONE: of the whole)? */
static bool covers(const struct kn_check *c, const struct job_finding *f, int place)
{
	const struct job_understood *u = &f->understood;
	int places = u->number ? u->reading.nplaces : u->nplaces;

	if (place == KN_NONE)
		return true;
	if (f->place != KN_NONE)
		return f->place == place;
	if (!places || c->compare)
		return u->outcome_place == KN_NONE || u->outcome_place == place ||
		       (u->outcome != KN_NONE && !c->outcomes[u->outcome].rest);
	return u->number ? place < places && u->reading.at[place].given
			 : place < places && u->at[place] != KN_NONE;
}

/* The newest answer to it; NULL when there is none. */
static const struct job_finding *newest(const struct job_view *v, int check, int place)
{
	for (int i = v->nfindings - 1; i >= 0; i--)
		if (v->findings[i].check == check && covers(&v->kn->checks[check], &v->findings[i], place))
			return &v->findings[i];
	return NULL;
}

/* "one is worn at 2" answered for all of them: the others are not said to be worn. */
static enum job_verdict verdict_at(const struct kn_check *c, const struct job_finding *f, int place)
{
	const struct job_understood *u = &f->understood;

	if (place != KN_NONE && f->place == KN_NONE && !u->number && !u->nplaces &&
	    u->outcome_place != KN_NONE && u->outcome_place != place)
		return JOB_PASSED;
	return job_verdict(c, f, place);
}

static void add_value(struct text *t, const struct kn_check *c, const struct job_finding *f, int place)
{
	const struct rd_result *r = &f->understood.reading;

	if (!f->understood.number) {
		int o = f->understood.nplaces && place != KN_NONE && place < f->understood.nplaces
				? f->understood.at[place] : f->understood.outcome;

		text_add(t, o == KN_NONE ? f->understood.echo : c->outcomes[o].title);
	} else if (place != KN_NONE && place < r->nplaces) {
		rd_format(t, r->at[place].kind, r->at[place].value, r->at[place].u,
			  words_unit(c->reading, true));
	} else {
		rd_format(t, r->kind, r->value, r->u, words_unit(c->reading, false));
	}
}

/* The places of a check as they are judged: one, KN_NONE, where it is done once. */
static int places_of(const struct kn_knowledge *kn, const struct kn_check *c)
{
	return c->per == KN_NONE || c->compare ? 0 : kn->kinds[c->per].nplaces;
}

static bool has_verdict(const struct job_view *v, int check, int place, enum job_verdict want)
{
	const struct job_finding *f = newest(v, check, place);

	return f && verdict_at(&v->kn->checks[check], f, place) == want;
}

/* Passed at every place, in words: they are the same words. */
static bool all_alike(const struct job_view *v, int check, int places)
{
	for (int p = 0; p < places; p++)
		if (!has_verdict(v, check, p, JOB_PASSED) || newest(v, check, p)->understood.number)
			return false;
	return places > 0;
}

/* One line for a check: the places that have this verdict, with what was found there. */
static void check_line(struct lines *l, const struct job_view *v, int check, enum job_verdict want)
{
	const struct kn_check *c = &v->kn->checks[check];
	int places = places_of(v->kn, c), n = 0;
	bool once = places == 0 || (want == JOB_PASSED && all_alike(v, check, places));
	struct text t = { 0 };

	text_addf(&t, "%s: ", c->title);
	for (int p = 0; p < (once ? 1 : places); p++) {
		int place = places ? p : KN_NONE;

		if (!has_verdict(v, check, place, want))
			continue;
		text_add(&t, n++ ? "; " : "");
		if (!once)
			text_addf(&t, "%s ", words_place(v->kn, c->per, place));
		add_value(&t, c, newest(v, check, place), place);
	}
	if (n && want != JOB_PASSED && c->reading)
		words_limit(&t, c->reading, places > 1);
	if (n)
		give(l, &t);
	text_free(&t);
}

static void not_done(struct lines *l, const struct job_view *v, int check)
{
	struct text t = { 0 };

	if (newest(v, check, KN_NONE))
		return;
	text_add(&t, v->kn->checks[check].title);
	give(l, &t);
}

/* The remedy that clears this fault of those that cost least; KN_NONE. */
static int remedy_for(const struct kn_knowledge *kn, int fault)
{
	int best = KN_NONE;

	for (int r = 0; r < kn->nremedies; r++)
		for (int i = 0; i < kn->remedies[r].nclears; i++)
			if (kn->remedies[r].clears[i].fault == fault &&
			    (best == KN_NONE || kn->remedies[r].cost + kn->remedies[r].minutes <
						kn->remedies[best].cost + kn->remedies[best].minutes))
				best = r;
	return best;
}

static void advise(struct lines *l, const struct kn_knowledge *kn, int fault, const char *because)
{
	int remedy = remedy_for(kn, fault);
	struct text t = { 0 };

	kn_fault_title(&t, kn, fault);
	text_addf(&t, " (%s)", because);
	if (remedy != KN_NONE)
		text_addf(&t, ": %s", kn->remedies[remedy].title);
	text_add(&t, ".");
	give(l, &t);
}

static uint32_t sites_of(const struct job_view *v, const struct kn_check *c, int place)
{
	return place == KN_NONE ? KN_ALL_SITES : v->kn->kinds[c->per].places[place].sites;
}

/* Of the faults that speak for this outcome at this place, the likeliest; KN_NONE. */
static int pointed_at(const struct job_view *v, const struct kn_check *c, int outcome, int place)
{
	const struct kn_outcome *o = &c->outcomes[outcome];
	uint32_t sites = sites_of(v, c, place);
	int best = KN_NONE;

	for (int f = 0; f < v->kn->nfaults; f++)
		if (o->vote && o->vote[f] > o->base && (v->kn->faults[f].sites & sites) &&
		    !v->kn->faults[f].all &&
		    (best == KN_NONE || v->suspects->now[f] > v->suspects->now[best]))
			best = f;
	return best;
}

/* Does this fault make the check come out otherwise than it should? */
static bool explains(const struct kn_check *c, int outcome, int fault)
{
	const struct kn_outcome *o = &c->outcomes[outcome];

	for (int m = 0; m < c->nmodels; m++)
		for (int i = 0; i < c->models[m].nfaults; i++)
			if (c->models[m].faults[i] == fault)
				return true;
	return o->vote && o->vote[fault] > o->base;
}

struct advised { unsigned char *fault; const struct job_view *v; struct lines *l; };

/* One fault is advised about once, by what says it first. */
static void advise_check(struct advised *a, int check, int place)
{
	const struct kn_check *c = &a->v->kn->checks[check];
	const struct job_finding *f = newest(a->v, check, place);
	int outcome, fault;

	if (!f || verdict_at(c, f, place) != JOB_FAILED)
		return;
	outcome = job_finding_outcome(c, &f->understood, f->place == KN_NONE &&
				      (f->understood.nplaces || f->understood.reading.nplaces)
				      ? place : KN_NONE);
	fault = outcome == KN_NONE ? KN_NONE : pointed_at(a->v, c, outcome, place);
	for (int m = 0; outcome != KN_NONE && m < a->v->kn->nfaults; m++)
		if (a->fault[m] && explains(c, outcome, m) &&
		    (sites_of(a->v, c, place) & a->v->kn->faults[m].sites))
			return; /* advised about already */
	if (fault == KN_NONE || a->fault[fault])
		return;
	a->fault[fault] = 1;
	advise(a->l, a->v->kn, fault, c->title);
}

/* What the suspects are sure of, then what a failed check points to by itself: what is measured on
 * the bench needs no complaint to be put right. */
static void renew(struct lines *l, const struct job_view *v)
{
	struct advised a = { mem_array((size_t)v->kn->nfaults + 1, 1), v, l };
	struct su_line *lines;
	char share[32];
	int n = su_lines(v->suspects, &lines);

	for (int i = 0; i < n && lines[i].p >= DECIDED; i++) {
		snprintf(share, sizeof share, "%.0f %%", 100 * lines[i].p);
		a.fault[lines[i].best_fault] = 1;
		advise(l, v->kn, lines[i].best_fault, share);
	}
	for (int c = 0; c < v->kn->nchecks; c++) {
		int places = places_of(v->kn, &v->kn->checks[c]);

		for (int p = 0; job_on_bench(v->kn, c) && p < (places ? places : 1); p++)
			advise_check(&a, c, places ? p : KN_NONE);
	}
	mem_free(lines);
	mem_free(a.fault);
}

int bench_lines(const struct job_view *v, enum bench_list list, void (*each)(void *to, const char *line),
		void *to)
{
	struct lines l = { each, to, 0 };

	if (list == BENCH_RENEW)
		renew(&l, v);
	for (int c = 0; c < v->kn->nchecks && list != BENCH_RENEW; c++) {
		if (!job_on_bench(v->kn, c))
			continue;
		if (list == BENCH_NOT_DONE)
			not_done(&l, v, c);
		else
			check_line(&l, v, c, list == BENCH_PASSED   ? JOB_PASSED
					     : list == BENCH_FAILED ? JOB_FAILED : JOB_AGAIN);
	}
	return l.n;
}

static void text_line(void *to, const char *line)
{
	struct text safe = { 0 };

	text_clean(&safe, line);
	text_wrap(to, text_str(&safe), 80, 2, 4);
	text_free(&safe);
}

int report_bench(struct job *j, struct text *out, struct hs_err *err)
{
	const struct job_view *v = job_view(j, err);

	if (!v)
		return -1;
	for (enum bench_list list = BENCH_PASSED; list < BENCH_LISTS; list++) {
		int n = bench_lines(v, list, NULL, NULL);

		if (n)
			text_addf(out, "%s (%d):\n", bench_heading(list), n);
		bench_lines(v, list, text_line, out);
	}
	return 0;
}
