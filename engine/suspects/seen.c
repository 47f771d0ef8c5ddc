#include "suspects/seen.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "reading/normal.h"
#include "suspects/circuit.h"

#define AGAIN_INSTRUMENT .95
#define AGAIN_RIDER .9
#define ANSWERS_MAX 12
#define NOTHING_WRONG .01       /* the floor of knowledge 0.4 */

struct kind_of_item { int class_no; unsigned present; };

struct su_seen {
	const struct su_prior *p;
	struct su_table *table;         /* NULL: whether anything is wrong; a state is the answers with
					 * something wrong at their time, one bit each */
	int n;                          /* answers */
	double still[SU_STILL_MAX];
	struct su_evidence e[ANSWERS_MAX];
	double again, log_scale, scale[ANSWERS_MAX];
	int *class_of;                  /* [nitems] */
	int nclasses, classes_cap; struct kind_of_item *kind;
	int nstates, states_cap;
	int *key;                       /* [nstates][n + 1]: table states, changed bits */
	double *likelihood, *bound;
	int *join;                      /* [nstates][nclasses] */
	int *hash, hash_size;  /* a power of two */
};

static int key_words(const struct su_seen *s) { return s->n + 1; }

static void grow(struct su_seen *s)
{
	size_t n = (size_t)(s->states_cap = s->states_cap ? s->states_cap * 2 : 32);

	if (s->n > 1) {
		s->key = mem_resize_array(s->key, n * (size_t)key_words(s), sizeof *s->key);
		s->join = mem_resize_array(s->join, n * (size_t)s->nclasses, sizeof(int));
	}
	s->likelihood = mem_resize_array(s->likelihood, n, sizeof(double));
	s->bound = mem_resize_array(s->bound, n, sizeof(double));
}

static unsigned hash_key(const int *key, int words)
{
	unsigned h = 2166136261u;

	for (int i = 0; i < words; i++)
		h = (h ^ (unsigned)key[i]) * 16777619u;
	return h ^ (h >> 13);
}

static void rehash(struct su_seen *s)
{
	int words = key_words(s);

	mem_free(s->hash);
	s->hash_size = s->hash_size ? 2 * s->hash_size : 64;
	s->hash = mem_array((size_t)s->hash_size, sizeof *s->hash);
	for (int i = 0; i < s->nstates; i++) {
		unsigned at = hash_key(s->key + (size_t)i * (size_t)words, words);

		while (s->hash[at & (unsigned)(s->hash_size - 1)])
			at++;
		s->hash[at & (unsigned)(s->hash_size - 1)] = i + 1;
	}
}

static int intern(struct su_seen *s, const int *key)
{
	size_t words = (size_t)key_words(s);
	unsigned at;
	int state;

	if (2 * s->nstates >= s->hash_size)
		rehash(s);
	for (at = hash_key(key, (int)words); (state = s->hash[at & (unsigned)(s->hash_size - 1)]); at++)
		if (!memcmp(s->key + (size_t)(state - 1) * words, key, words * sizeof *key))
			return state - 1;
	if (s->nstates == s->states_cap)
		grow(s);
	state = s->nstates++;
	memcpy(s->key + (size_t)state * words, key, words * sizeof *key);
	s->likelihood[state] = s->bound[state] = NAN;
	for (int c = 0; c < s->nclasses; c++)
		s->join[(size_t)state * (size_t)s->nclasses + (size_t)c] = c ? -1 : state;
	s->hash[at & (unsigned)(s->hash_size - 1)] = state + 1;
	return state;
}

/* ---- classes -------------------------------------------------------------------------------- */

static int class_with(struct su_seen *s, struct kind_of_item k)
{
	for (int i = 0; i < s->nclasses; i++)
		if (s->kind[i].class_no == k.class_no && s->kind[i].present == k.present)
			return i;
	if (s->nclasses == s->classes_cap) {
		s->classes_cap = s->classes_cap ? s->classes_cap * 2 : 16;
		s->kind = mem_resize_array(s->kind, (size_t)s->classes_cap, sizeof *s->kind);
	}
	s->kind[s->nclasses] = k;
	return s->nclasses++;
}

static void make_classes(struct su_seen *s)
{
	s->class_of = mem_array((size_t)s->p->nitems + 1, sizeof *s->class_of);
	class_with(s, (struct kind_of_item){ 0, 0 });
	for (int i = 0; i < s->p->nitems; i++) {
		const struct su_item *item = &s->p->item[i];
		struct kind_of_item k = { s->table ? su_table_class(s->table, item->fault) : 1, 0 };

		for (int a = 0; a < s->n; a++)
			if (su_item_present(item, s->e[a].epoch))
				k.present |= 1u << a;
		s->class_of[i] = k.class_no && k.present ? class_with(s, k) : 0;
	}
}

/* One answer: the table's states are the states. */
static int with_room(struct su_seen *s, int state)
{
	while (state >= s->nstates) {
		if (s->nstates == s->states_cap)
			grow(s);
		s->likelihood[s->nstates] = s->bound[s->nstates] = NAN;
		s->nstates++;
	}
	return state;
}

static int join_single(struct su_seen *s, int state, int class_no)
{
	return with_room(s, su_table_join_class(s->table, state, s->kind[class_no].class_no));
}

struct su_seen *su_seen_new(const struct su_prior *p, const struct su_evidence *const *e, int n)
{
	struct su_seen *s = mem_alloc(sizeof *s);
	const struct kn_check *c = &p->kn->checks[e[0]->check];
	int none[ANSWERS_MAX + 1] = { 0 };

	s->p = p;
	s->table = su_table_new(p->kn, e[0]->check, e[0]->place);
	if (!s->table) {
		mem_free(s);
		return NULL;
	}
	s->again = c->kind == KN_MEASUREMENT ? AGAIN_INSTRUMENT : AGAIN_RIDER;
	for (int i = n > ANSWERS_MAX ? n - ANSWERS_MAX : 0; i < n; i++) {
		struct su_evidence *own = &s->e[s->n];

		*own = *e[i];
		s->scale[s->n] = own->by_model && own->exponent > 0
					 ? pow(su_circuit_most(p->kn, own), own->exponent) : 1;
		s->log_scale += log(s->scale[s->n++]);
	}
	make_classes(s);
	if (s->n > 1)
		intern(s, none);
	else
		join_single(s, 0, 0);
	return s;
}

struct su_seen *su_seen_still_wrong(const struct su_prior *p, const int *epoch, const double *still, int n)
{
	struct su_seen *s = mem_alloc(sizeof *s);

	s->p = p;
	s->n = n;
	for (int i = 0; i < n; i++) {
		s->e[i].epoch = epoch[i];
		s->still[i] = still[i];
	}
	make_classes(s);
	return s;
}

void su_seen_free(struct su_seen *s)
{
	if (!s)
		return;
	su_table_free(s->table);
	mem_free(s->class_of);
	mem_free(s->kind);
	mem_free(s->key);
	mem_free(s->likelihood);
	mem_free(s->bound);
	mem_free(s->join);
	mem_free(s->hash);
	mem_free(s);
}

int su_seen_class(const struct su_seen *s, int item) { return s->class_of[item]; }
int su_seen_nclasses(const struct su_seen *s) { return s->nclasses; }
double su_seen_log_scale(const struct su_seen *s) { return s->log_scale; }

static void joined_key(struct su_seen *s, int state, int class_no, int *key)
{
	const struct kind_of_item *k = &s->kind[class_no];

	memcpy(key, s->key + (size_t)state * (size_t)key_words(s), sizeof(int) * (size_t)key_words(s));
	for (int a = 0; a < s->n; a++) {
		bool here = k->present & (1u << a), before = a && (k->present & (1u << (a - 1)));

		if (here)
			key[a] = su_table_join_class(s->table, key[a], k->class_no);
		if (a && here != before)
			key[s->n] |= 1 << a;
	}
}

static int join_chain(struct su_seen *s, int state, int class_no)
{
	size_t at = (size_t)state * (size_t)s->nclasses + (size_t)class_no;
	int key[ANSWERS_MAX + 1], joined = s->join[at];

	if (joined < 0) {
		joined_key(s, state, class_no, key);
		joined = intern(s, key);
		s->join[at] = joined;
	}
	return joined;
}

int su_seen_join(struct su_seen *s, int state, int class_no)
{
	if (!s->table)
		return state | (int)s->kind[class_no].present;
	if (s->n == 1)
		return join_single(s, state, class_no);
	return join_chain(s, state, class_no);
}

/* ---- likelihood ------------------------------------------------------------------------------- */

/* The same figure again, as far as two readings of one thing agree. */
static double same_number(const struct su_evidence *a, const struct su_evidence *b)
{
	double sd;

	if (a->kind != b->kind)
		return 0;
	if (a->kind != RD_NUMBER)
		return 1;
	sd = sqrt(a->u * a->u + b->u * b->u);
	return sd > 0 ? normal_density((a->value - b->value) / sd) / sd : a->value == b->value;
}

/* Chance of this answer when the one before was `old` and nothing has changed. */
static double persisting(struct su_seen *s, int state, int a)
{
	const struct su_evidence *old = &s->e[a - 1], *e = &s->e[a];
	double was[SU_CELLS_MAX], row[SU_CELLS_MAX], sum = 0, norm = 0, out = 0;
	int n = su_table_ncells(s->table);
	const double *plain;

	if (e->by_model)
		return s->again * fmin(same_number(old, e), s->scale[a]) +
		       (1 - s->again) * su_table_likelihood(s->table, state, e);
	plain = su_table_row(s->table, state);
	for (int i = 0; i < n; i++) {
		row[i] = e->exponent == 1 ? plain[i] : pow(plain[i], e->exponent);
		norm += row[i];
	}
	for (int i = 0; i < n; i++) {
		row[i] /= norm;
		was[i] = old->share[i] * row[i];
		sum += was[i];
	}
	if (!(sum > 0))
		return 0;
	for (int i = 0; i < n; i++) {
		double rest = 0;

		for (int o = 0; o < n; o++)
			if (o != i && row[o] < 1)
				rest += was[o] / sum / (1 - row[o]);
		out += e->share[i] * (s->again * was[i] / sum + (1 - s->again) * row[i] * rest);
	}
	return out;
}

static double likelihood_of_key(struct su_seen *s, const int *key)
{
	double out = 1;

	for (int a = 0; a < s->n; a++) {
		bool again = a && !(key[s->n] & (1 << a)) && s->e[a - 1].exponent > 0 &&
			     s->e[a].exponent > 0 && s->e[a].by_model == s->e[a - 1].by_model;

		out *= (again ? persisting(s, key[a], a)
			      : su_table_likelihood(s->table, key[a], &s->e[a])) /
		       s->scale[a];
	}
	return out;
}

static double still_likelihood(const struct su_seen *s, int state)
{
	double out = 1;

	for (int a = 0; a < s->n; a++)
		if (!(state >> a & 1))
			out *= 1 - (1 - NOTHING_WRONG) * s->still[a];
	return out;
}

double su_seen_likelihood(struct su_seen *s, int state)
{
	if (!s->table)
		return still_likelihood(s, state);
	if (isnan(s->likelihood[state]))
		s->likelihood[state] =
			s->n == 1 ? su_table_likelihood(s->table, state, &s->e[0]) / s->scale[0]
				  : likelihood_of_key(s, s->key + (size_t)state * (size_t)key_words(s));
	return s->likelihood[state];
}

double su_seen_likelihood_with(struct su_seen *s, int state, int class_no)
{
	int key[ANSWERS_MAX + 1];

	if (class_no == 0 || !s->table)
		return su_seen_likelihood(s, class_no ? su_seen_join(s, state, class_no) : state);
	if (s->n == 1 && su_table_by_votes(s->table))
		return su_table_likelihood_with(s->table, state, s->kind[class_no].class_no, &s->e[0]) /
		       s->scale[0];
	if (s->n == 1)
		return su_seen_likelihood(s, join_single(s, state, class_no));
	joined_key(s, state, class_no, key);
	return likelihood_of_key(s, key);
}

double su_seen_bound(struct su_seen *s, int state)
{
	if (!s->table)
		return 1;
	/* Persistence can only be bounded by the first answer alone. */
	if (isnan(s->bound[state]))
		s->bound[state] = su_table_bound(s->table, s->n == 1 ? state
				: s->key[(size_t)state * (size_t)key_words(s)], &s->e[0]) / s->scale[0];
	return s->bound[state];
}

/* The one cell an answer is about, KN_NONE when it is shared over several. */
static int only_cell(const struct su_evidence *e)
{
	int only = KN_NONE, n = 0;

	for (int i = 0; i < e->ncells; i++)
		if (e->share[i] > 0) {
			only = i;
			n++;
		}
	return n == 1 ? only : KN_NONE;
}

/* Of an item that was there at every answer: what persists has not changed. Words said again are .95
 * whatever is there; other words are not bounded here. */
static double rise_again(const struct su_seen *s, int a, int class_no)
{
	const struct su_evidence *old = &s->e[a - 1], *e = &s->e[a];
	int only = only_cell(e);

	if (!e->by_model && (only == KN_NONE || only != only_cell(old)))
		return INFINITY;
	return su_table_rise(s->table, class_no, e);
}

double su_seen_rise(const struct su_seen *s, int class_no)
{
	double out = 1;

	if (class_no == 0)
		return 1;
	if (!s->table || s->kind[class_no].present != (1u << s->n) - 1)
		return INFINITY;
	for (int a = 0; a < s->n; a++)
		out *= a ? rise_again(s, a, s->kind[class_no].class_no)
			 : su_table_rise(s->table, s->kind[class_no].class_no, &s->e[a]);
	return out;
}
