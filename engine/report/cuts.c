/* Decision diagrams small enough for the trees of one symptom.
 *
 * One table of nodes serves both readings: as a function (high: event present) and, after minimal(),
 * as a family of sets (high: sets with the event).  Node 0 is false, or no set; node 1 is true, or the
 * empty set.  Nodes are never changed, equal ones are one. */
#include "report/cuts.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"

#define NODES_MAX 200000
#define SETS_WALKED_MAX 100000
#define BUCKETS (1 << 18)

struct node { int event, high, low, next; };
struct memo { int a, b, kind, result, next; };

struct work {
	const struct cuts_tree *tree;
	int nnodes; struct node *node;
	int *bucket;                    /* [BUCKETS] first node, -1 */
	int nmemos, memos_cap; struct memo *memo;
	int *memo_bucket;               /* [BUCKETS] */
	bool full;
};

enum { AND, OR, WITHOUT, MINIMAL, WITH_EVENT };

static unsigned mix(unsigned a, unsigned b, unsigned c)
{
	unsigned h = a * 2654435761u ^ b * 2246822519u ^ c * 3266489917u;

	return (h ^ h >> 15) & (BUCKETS - 1);
}

/* families: a set with a member that never comes is none, so a high of 0 is left out; functions: a
 * choice between equals is none. */
static int make(struct work *w, int event, int high, int low, bool family)
{
	unsigned h = mix((unsigned)event, (unsigned)high, (unsigned)low);

	if (family ? high == 0 : high == low)
		return low;
	for (int i = w->bucket[h]; i >= 0; i = w->node[i].next)
		if (w->node[i].event == event && w->node[i].high == high && w->node[i].low == low)
			return i;
	if (w->nnodes == NODES_MAX) {
		w->full = true;
		return low;
	}
	w->node[w->nnodes] = (struct node){ event, high, low, w->bucket[h] };
	w->bucket[h] = w->nnodes;
	return w->nnodes++;
}

static bool known(const struct work *w, int kind, int a, int b, int *result)
{
	for (int i = w->memo_bucket[mix((unsigned)a, (unsigned)b, (unsigned)kind)]; i >= 0;
	     i = w->memo[i].next)
		if (w->memo[i].a == a && w->memo[i].b == b && w->memo[i].kind == kind) {
			*result = w->memo[i].result;
			return true;
		}
	return false;
}

static int keep(struct work *w, int kind, int a, int b, int result)
{
	unsigned h = mix((unsigned)a, (unsigned)b, (unsigned)kind);

	if (w->nmemos == w->memos_cap) {
		w->memos_cap = w->memos_cap ? 2 * w->memos_cap : 1024;
		w->memo = mem_resize_array(w->memo, (size_t)w->memos_cap, sizeof *w->memo);
	}
	w->memo[w->nmemos] = (struct memo){ a, b, kind, result, w->memo_bucket[h] };
	w->memo_bucket[h] = w->nmemos++;
	return result;
}

static int event_of(const struct work *w, int f) { return w->node[f].event; }
static int high_of(const struct work *w, int f, int event)
{
	return event_of(w, f) == event ? w->node[f].high : f;
}
static int low_of(const struct work *w, int f, int event)
{
	return event_of(w, f) == event ? w->node[f].low : f;
}

/* f AND g, f OR g. */
static int joined(struct work *w, int kind, int f, int g)
{
	int neutral = kind == AND ? 1 : 0, event, high, low, result;

	if (f == neutral || f == g)
		return g;
	if (g == neutral)
		return f;
	if (f < 2 || g < 2)
		return 1 - neutral;
	if (known(w, kind, f, g, &result))
		return result;
	event = event_of(w, f) < event_of(w, g) ? event_of(w, f) : event_of(w, g);
	high = joined(w, kind, high_of(w, f, event), high_of(w, g, event));
	low = joined(w, kind, low_of(w, f, event), low_of(w, g, event));
	return keep(w, kind, f, g, make(w, event, high, low, false));
}

/* At least k of the inputs; function[g] is that of gate g. */
static int at_least(struct work *w, const struct cuts_gate *gate, const int *function)
{
	int *row = mem_array((size_t)gate->n + 2, sizeof *row), result;

	/* row[j]: at least j of the inputs gone through; the last input first. */
	row[0] = 1;
	for (int i = gate->n - 1; i >= 0; i--) {
		int in = gate->in[i] >= 0 ? make(w, gate->in[i], 1, 0, false) : function[~gate->in[i]];

		for (int j = gate->k; j >= 1; j--)
			row[j] = joined(w, OR, joined(w, AND, in, row[j - 1]), row[j]);
	}
	result = row[gate->k];
	mem_free(row);
	return result;
}

static double probability(const struct work *w, int f, double *done)
{
	const struct node *n = &w->node[f];
	double q;

	if (f < 2)
		return f;
	if (!isnan(done[f]))
		return done[f];
	q = w->tree->q[n->event];
	return done[f] = q * probability(w, n->high, done) + (1 - q) * probability(w, n->low, done);
}

/* given: an event taken as present (1) or absent (0) in q, or none (-1). */
static double chance(struct work *w, int f, int event, double as)
{
	double *done = mem_array((size_t)w->nnodes, sizeof *done), *q, p;
	const struct cuts_tree *before = w->tree;
	struct cuts_tree fixed = *before;

	for (int i = 0; i < w->nnodes; i++)
		done[i] = NAN;
	q = mem_array((size_t)before->nevents + 1, sizeof *q);
	memcpy(q, before->q, (size_t)before->nevents * sizeof *q);
	if (event >= 0)
		q[event] = as;
	fixed.q = q;
	w->tree = &fixed;
	p = probability(w, f, done);
	w->tree = before;
	mem_free(q);
	mem_free(done);
	return p;
}

/* ---- minimal cut sets --------------------------------------------------------------------------- */

/* The sets of f that have no set of g inside them. */
static int without(struct work *w, int f, int g)
{
	int a, b, high, low, result;

	if (f == 0 || g == 1 || f == g)
		return 0;
	if (g == 0 || f == 1)
		return f;
	if (known(w, WITHOUT, f, g, &result))
		return result;
	a = event_of(w, f);
	b = event_of(w, g);
	if (a > b)
		return keep(w, WITHOUT, f, g, without(w, f, w->node[g].low));
	high = w->node[f].high;
	low = w->node[f].low;
	if (a == b)
		high = without(w, without(w, high, w->node[g].high), w->node[g].low);
	else
		high = without(w, high, g);
	low = without(w, low, a == b ? w->node[g].low : g);
	return keep(w, WITHOUT, f, g, make(w, a, high, low, true));
}

static int minimal(struct work *w, int f)
{
	int high, low, result;

	if (f < 2)
		return f;
	if (known(w, MINIMAL, f, 0, &result))
		return result;
	low = minimal(w, w->node[f].low);
	high = without(w, minimal(w, w->node[f].high), low);
	return keep(w, MINIMAL, f, 0, make(w, w->node[f].event, high, low, true));
}

/* The function "one of these sets has come about". */
static int function_of(struct work *w, int sets)
{
	int high, low, result;

	if (sets < 2)
		return sets;
	if (known(w, WITH_EVENT, sets, -1, &result))
		return result;
	high = function_of(w, w->node[sets].high);
	low = function_of(w, w->node[sets].low);
	high = joined(w, AND, make(w, w->node[sets].event, 1, 0, false), high);
	return keep(w, WITH_EVENT, sets, -1, joined(w, OR, high, low));
}

/* The sets with the event in them. */
static int having(struct work *w, int sets, int event)
{
	int high, low, result;

	if (sets < 2 || event_of(w, sets) > event)
		return 0;
	if (event_of(w, sets) == event)
		return make(w, event, w->node[sets].high, 0, true);
	if (known(w, WITH_EVENT, sets, event, &result))
		return result;
	high = having(w, w->node[sets].high, event);
	low = having(w, w->node[sets].low, event);
	return keep(w, WITH_EVENT, sets, event, make(w, event_of(w, sets), high, low, true));
}

static double count(const struct work *w, int sets, double *done)
{
	if (sets < 2)
		return sets;
	if (isnan(done[sets]))
		done[sets] = count(w, w->node[sets].high, done) + count(w, w->node[sets].low, done);
	return done[sets];
}

/* ---- the likeliest of them ------------------------------------------------------------------------ */

struct walk { const struct work *w; struct cuts *out; int *member; int n; long walked; };

static void take(struct walk *k, double p)
{
	struct cuts *c = k->out;
	int at = c->nshown;

	if (at == CUTS_SHOWN && !(p > c->set[at - 1].p))
		return;
	if (at == CUTS_SHOWN)
		mem_free(c->set[--at].event);
	else
		c->nshown++;
	for (; at > 0 && p > c->set[at - 1].p; at--)
		c->set[at] = c->set[at - 1];
	c->set[at] = (struct cuts_set){ k->n, mem_array((size_t)k->n + 1, sizeof(int)), p };
	memcpy(c->set[at].event, k->member, (size_t)k->n * sizeof(int));
}

static void walk_sets(struct walk *k, int sets, double p)
{
	const struct node *n = &k->w->node[sets];

	if (sets == 0 || k->walked >= SETS_WALKED_MAX)
		return;
	if (sets == 1) {
		k->walked++;
		take(k, p);
		return;
	}
	k->member[k->n++] = n->event;
	walk_sets(k, n->high, p * k->w->tree->q[n->event]);
	k->n--;
	walk_sets(k, n->low, p);
}

/* ---- all of it ------------------------------------------------------------------------------------- */

static void importance(struct work *w, int top, int sets, struct cuts *out)
{
	for (int e = 0; e < w->tree->nevents && !w->full; e++) {
		double with = chance(w, top, e, 1), never = chance(w, top, e, 0);

		out->birnbaum[e] = with - never;
		if (out->top > 0) {
			out->criticality[e] = (out->top - never) / out->top;
			out->fussell_vesely[e] =
				chance(w, function_of(w, having(w, sets, e)), -1, 0) / out->top;
		}
	}
}

static void begin(struct work *w, const struct cuts_tree *t)
{
	w->tree = t;
	w->node = mem_array(NODES_MAX, sizeof *w->node);
	w->bucket = mem_array(BUCKETS, sizeof *w->bucket);
	w->memo_bucket = mem_array(BUCKETS, sizeof *w->memo_bucket);
	memset(w->bucket, 0xff, BUCKETS * sizeof *w->bucket);
	memset(w->memo_bucket, 0xff, BUCKETS * sizeof *w->memo_bucket);
	w->node[0] = w->node[1] = (struct node){ t->nevents, 0, 0, -1 };
	w->nnodes = 2;
}

int cuts_work_out(const struct cuts_tree *t, struct cuts *out, struct hs_err *err)
{
	struct work w = { 0 };
	int *function = mem_array((size_t)t->ngates + 1, sizeof *function), top = 0, sets;
	struct walk walk = { .w = &w, .out = out };
	double *done;

	*out = (struct cuts){ .set = mem_array(CUTS_SHOWN, sizeof *out->set),
			      .birnbaum = mem_array((size_t)t->nevents + 1, sizeof(double)),
			      .fussell_vesely = mem_array((size_t)t->nevents + 1, sizeof(double)),
			      .criticality = mem_array((size_t)t->nevents + 1, sizeof(double)) };
	begin(&w, t);
	for (int g = 0; g < t->ngates; g++)
		top = function[g] = at_least(&w, &t->gates[g], function);
	out->top = chance(&w, top, -1, 0);
	sets = minimal(&w, top);
	done = mem_array(NODES_MAX, sizeof *done);
	for (int i = 0; i < NODES_MAX; i++)
		done[i] = NAN;
	out->nsets = count(&w, sets, done);
	walk.member = mem_array((size_t)t->nevents + 1, sizeof *walk.member);
	walk_sets(&walk, sets, 1);
	importance(&w, top, sets, out);
	mem_free(walk.member);
	mem_free(done);
	mem_free(function);
	mem_free(w.node);
	mem_free(w.bucket);
	mem_free(w.memo);
	mem_free(w.memo_bucket);
	return w.full ? err_set(err, HS_LIMIT, "This fault tree is too large for its figures.") : 0;
}

void cuts_free(struct cuts *c)
{
	for (int i = 0; i < c->nshown; i++)
		mem_free(c->set[i].event);
	mem_free(c->set);
	mem_free(c->birnbaum);
	mem_free(c->fussell_vesely);
	mem_free(c->criticality);
	memset(c, 0, sizeof *c);
}
