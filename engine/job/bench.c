/* A bench run: no complaint, the carburettors lie on the bench.  Which checks it has and in which
 * order: what needs least opened first, what work would destroy before the rest, then what is
 * likeliest to find something for its minutes; ties by index. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "job/inner.h"

struct entry { int check, access; double opening, worth; bool spoils; };

static bool below(const struct kn_knowledge *kn, int access, int state)
{
	for (; access != KN_NONE; access = kn->accesses[access].parent)
		if (access == state)
			return true;
	return false;
}

bool job_on_bench(const struct kn_knowledge *kn, int check)
{
	const struct kn_check *c = &kn->checks[check];
	int bench = kn_access_by_id(kn, JOB_BENCH);

	return bench != KN_NONE && c->offered && c->kind != KN_SYMPTOM && !c->leads_null &&
	       c->energy == KN_ENERGY_NONE && !c->needs_engine &&
	       (c->on_bench || below(kn, c->access, bench));
}

/* Minutes to open what is not open with the carburettors on the bench. */
static double opening(const struct kn_knowledge *kn, int access)
{
	int bench = kn_access_by_id(kn, JOB_BENCH);
	double minutes = 0;

	for (int a = access; a != KN_NONE && !below(kn, bench, a); a = kn->accesses[a].parent)
		minutes += kn->accesses[a].open_min;
	return minutes;
}

/* How many faults it is expected to bear on, for each minute it takes. */
static double worth(struct job *j, const struct job_view *v, int check)
{
	const struct kn_check *c = &j->kn->checks[check];
	struct su_table *t = su_tables_get(j->tables, check, KN_NONE);
	double minutes = c->minutes, expected = 0;

	if (c->minutes_for_one && c->per != KN_NONE)
		minutes *= j->kn->kinds[c->per].nplaces;
	for (int f = 0; t && f < j->kn->nfaults; f++)
		if (su_table_bears(t, f))
			expected += v->suspects->now[f];
	return expected / (minutes > .5 ? minutes : .5);
}

static int in_order(const void *a, const void *b)
{
	const struct entry *x = a, *y = b;

	if (x->opening < y->opening || x->opening > y->opening)
		return x->opening < y->opening ? -1 : 1;
	if (x->access != y->access && x->opening > 0)
		return x->access - y->access; /* one thing opened after the other */
	if (x->spoils != y->spoils)
		return x->spoils ? -1 : 1;
	if (x->worth < y->worth || x->worth > y->worth)
		return x->worth > y->worth ? -1 : 1;
	return x->check - y->check;
}

/* Can it be done with the tools there are, and as things are told to be? */
static bool can_be_done(const struct job_view *v, const struct kn_check *c)
{
	return (c->tools & ~v->tools) == 0 &&
	       (c->only_when & v->circumstances_known & ~v->circumstances) == 0;
}

int job_bench_checks(struct job *j, int **out, struct hs_err *err)
{
	const struct job_view *v = job_view(j, err);
	struct entry *list;
	int n = 0;

	*out = NULL;
	if (!v)
		return -1;
	list = mem_array((size_t)j->kn->nchecks + 1, sizeof *list);
	for (int c = 0; c < j->kn->nchecks; c++) {
		const struct kn_check *k = &j->kn->checks[c];

		if (!job_on_bench(j->kn, c) || v->done[c] || !can_be_done(v, k))
			continue;
		list[n++] = (struct entry){ c, k->access, opening(j->kn, k->access), worth(j, v, c),
					    k->before != NULL };
	}
	qsort(list, (size_t)n, sizeof *list, in_order);
	*out = mem_array((size_t)n + 1, sizeof **out);
	for (int i = 0; i < n; i++)
		(*out)[i] = list[i].check;
	mem_free(list);
	return n;
}

/* ---- what came of it ------------------------------------------------------------------------------ */

static enum job_verdict worse(enum job_verdict a, enum job_verdict b) { return a > b ? a : b; }

static enum job_verdict of_outcome(const struct kn_check *c, int outcome)
{
	if (outcome == KN_NONE)
		return JOB_AGAIN;
	return c->outcomes[outcome].rest ? JOB_PASSED : JOB_FAILED;
}

static enum job_verdict of_number(const struct kn_check *c, enum rd_verdict verdict, int outcome)
{
	return verdict == RD_INSIDE    ? JOB_PASSED
	       : verdict == RD_OUTSIDE ? JOB_FAILED
	       : verdict == RD_TOO_CLOSE ? JOB_AGAIN
					 : of_outcome(c, outcome);
}

static bool said_at(const struct job_understood *u, int place)
{
	if (u->number)
		return place < u->reading.nplaces && u->reading.at[place].given;
	return place < u->nplaces && u->at[place] != KN_NONE;
}

enum job_verdict job_verdict(const struct kn_check *c, const struct job_finding *f, int place)
{
	const struct job_understood *u = &f->understood;
	int places = u->number ? u->reading.nplaces : u->nplaces;
	enum job_verdict v = JOB_PASSED;

	if (!f->counts)
		return JOB_AGAIN;
	if (!places || c->compare)
		return u->number ? of_number(c, u->reading.verdict, job_finding_outcome(c, u, KN_NONE))
				 : of_outcome(c, u->outcome);
	for (int p = 0; p < places; p++)
		if (said_at(u, p) && (place == KN_NONE || place == p))
			v = worse(v, u->number ? of_number(c, u->reading.at[p].verdict,
							   job_finding_outcome(c, u, p))
					       : of_outcome(c, u->at[p]));
	return v;
}
