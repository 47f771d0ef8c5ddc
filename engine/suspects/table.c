/* P(cell | fault set) of one check at one place, as a small automaton over fault sets.
 *
 * In the strongest-vote world a set matters only through, per cell, the vote that wins: the largest
 * above the base, else the smallest at or below it; sets with the same winners are one state.  The
 * votes of a cell are numbered so that of two the larger number wins.  Every other kind
 * of check (noisy-OR, whole table, gates that are not a pure OR, a model of the reading) keeps the
 * set of faults that bear on it as its state.  States are interned; joins are remembered. */
#include "suspects/compiled.h"

#include <math.h>
#include <string.h>

#include "suspects/circuit.h"

#define NO_HIGH (-1.0)
#define NO_LOW 2.0

static unsigned long hash_bytes(const void *data, size_t size)
{
	const unsigned char *p = data;
	unsigned long h = 1469598103934665603ul;

	for (size_t i = 0; i < size; i += 2) /* both kinds of key have an even number of bytes */
		h = (h ^ (unsigned long)(p[i] | p[i + 1] << 8)) * 1099511628211ul;
	return h ^ (h >> 29);
}

static const void *state_key(const struct su_table *t, int state, size_t *size)
{
	if (t->by_votes) {
		*size = sizeof(code) * (size_t)t->words;
		return t->key + (size_t)state * (size_t)t->words;
	}
	*size = sizeof(int) * (size_t)t->words;
	return t->set + (size_t)state * (size_t)t->words;
}

static void grow_states(struct su_table *t)
{
	int cap = t->states_cap ? t->states_cap * 2 : 32;
	size_t words = (size_t)t->words, n = (size_t)cap;

	if (t->by_votes)
		t->key = mem_resize_array(t->key, n * words, sizeof(code));
	else
		t->set = mem_resize_array(t->set, n * words, sizeof(int));
	if (t->numbered)
		t->number = mem_resize_array(t->number, n, sizeof *t->number);
	t->row = mem_resize_array(t->row, n * (size_t)t->cells.n, sizeof(double));
	t->join = mem_resize_array(t->join, n, sizeof *t->join);
	t->states_cap = cap;
}

static void rehash(struct su_table *t)
{
	int size = t->hash_size ? t->hash_size * 2 : 64;

	mem_free(t->hash);
	t->hash = mem_array((size_t)size, sizeof(int));
	t->hash_size = size;
	for (int s = 0; s < t->nstates; s++) {
		size_t bytes;
		const void *key = state_key(t, s, &bytes);
		unsigned long at = hash_bytes(key, bytes);

		while (t->hash[at % (unsigned long)size])
			at++;
		t->hash[at % (unsigned long)size] = s + 1;
	}
}

/* Where the state with this key is kept, plus one; 0 there when it is new. */
static int *place_of(struct su_table *t, const void *key)
{
	size_t bytes = (t->by_votes ? sizeof(code) : sizeof(int)) * (size_t)t->words, other_bytes;
	unsigned long at;
	int *place;

	if (t->nstates * 2 >= t->hash_size)
		rehash(t);
	for (at = hash_bytes(key, bytes);; at++) {
		place = &t->hash[at & (unsigned long)(t->hash_size - 1)];
		if (!*place || !memcmp(state_key(t, *place - 1, &other_bytes), key, bytes))
			return place;
	}
}

static uint64_t number_of(const struct su_table *t, const code *key)
{
	uint64_t sum = 0;

	for (int i = 0; i < t->cells.n; i++)
		sum += t->stride[i] * key[i];
	return sum;
}

/* The state with this key; made when it is new. */
static int intern(struct su_table *t, const void *key)
{
	int *place = place_of(t, key);
	int state;

	if (*place)
		return *place - 1;
	if (t->nstates == t->states_cap)
		grow_states(t);
	state = t->nstates++;
	*place = t->nstates;
	t->row[(size_t)state * (size_t)t->cells.n] = NAN;
	t->join[state] = NULL;
	if (t->numbered)
		t->number[state] = number_of(t, key);
	if (t->by_votes)
		memcpy(t->key + (size_t)state * (size_t)t->words, key, sizeof(code) * (size_t)t->words);
	else
		memcpy(t->set + (size_t)state * (size_t)t->words, key, sizeof(int) * (size_t)t->words);
	return state;
}

/* ---- which faults bear, and as which class ------------------------------------------------ */

static void mark_gate(const struct kn_knowledge *kn, int gate, bool *bears)
{
	const struct kn_gate *g = &kn->gates[gate];

	for (int i = 0; i < g->nfaults; i++)
		bears[g->faults[i]] = true;
	for (int i = 0; i < g->ngates; i++)
		mark_gate(kn, g->gates[i], bears);
}

bool su_has_gate_votes(const struct kn_check *c)
{
	for (int o = 0; o < c->noutcomes; o++)
		if (c->outcomes[o].ngate_votes)
			return true;
	return false;
}

static void mark_special(struct su_table *t, bool *bears)
{
	const struct kn_knowledge *kn = t->kn;
	const struct kn_check *c = t->c;

	for (int o = 0; o < c->noutcomes; o++)
		for (int i = 0; i < c->outcomes[o].ngate_votes; i++)
			mark_gate(kn, c->outcomes[o].gate_votes[i].gate, bears);
	for (int i = 0; c->combine == KN_TABLE && i < c->table->nover; i++) {
		if (c->table->over[i].gate != KN_NONE)
			mark_gate(kn, c->table->over[i].gate, bears);
		for (int f = 0; c->table->over[i].mode != KN_NONE && f < kn->nfaults; f++)
			bears[f] = bears[f] || kn->faults[f].mode == c->table->over[i].mode;
	}
	for (int m = 0; m < c->nmodels; m++)
		if (c->per == KN_NONE || t->place == KN_NONE || t->place == m)
			for (int i = 0; i < c->models[m].nfaults; i++)
				bears[c->models[m].faults[i]] = true;
}

static void add_class(struct su_table *t, int fault, const double *votes)
{
	if (t->nclasses == t->classes_cap) {
		t->classes_cap = t->classes_cap ? t->classes_cap * 2 : 16;
		t->class_votes = mem_resize_array(t->class_votes,
						  (size_t)t->classes_cap * (size_t)t->cells.n,
						  sizeof(double));
		t->class_fault = mem_resize_array(t->class_fault, (size_t)t->classes_cap, sizeof(int));
	}
	for (int i = 0; i < t->cells.n; i++)
		t->class_votes[(size_t)t->nclasses * (size_t)t->cells.n + (size_t)i] =
			votes ? votes[i] : NAN;
	t->class_fault[t->nclasses++] = fault;
}

static bool same_votes(const double *a, const double *b, int n)
{
	for (int i = 0; i < n; i++)
		if (!(a[i] == b[i] || (isnan(a[i]) && isnan(b[i]))))
			return false;
	return true;
}

static int class_with(struct su_table *t, int fault, const double *votes)
{
	if (t->by_votes)
		for (int k = 1; k < t->nclasses; k++)
			if (same_votes(votes, t->class_votes + (size_t)k * (size_t)t->cells.n,
				       t->cells.n))
				return k;
	add_class(t, fault, votes);
	return t->nclasses - 1;
}

static void make_classes(struct su_table *t)
{
	const struct kn_knowledge *kn = t->kn;
	bool *bears = mem_array((size_t)kn->nfaults + 1, sizeof(bool));
	double votes[SU_CELLS_MAX];

	t->class_of = mem_array((size_t)kn->nfaults + 1, sizeof(int));
	add_class(t, KN_NONE, NULL);
	mark_special(t, bears);
	for (int i = 0; i < t->cells.n; i++)
		t->most[i] = t->least[i] = t->cells.base[i];
	for (int f = 0; f < kn->nfaults; f++) {
		bool any = t->c->combine != KN_TABLE &&
			   su_cells_votes(&t->cells, kn, t->check, t->place, f, votes);

		if (!any && !bears[f])
			continue;
		t->class_of[f] = class_with(t, f, any ? votes : NULL);
		for (int i = 0; any && i < t->cells.n; i++)
			if (!isnan(votes[i])) {
				t->most[i] = fmax(t->most[i], votes[i]);
				t->least[i] = fmin(t->least[i], votes[i]);
			}
	}
	mem_free(bears);
}

/* ---- votes by number ---------------------------------------------------------------------------- */

/* Does vote a lose to vote b, both of one cell? */
static bool loses(double base, double a, double b)
{
	if ((a > base) != (b > base))
		return b > base;
	return a > base ? a < b : a > b;
}

static void number_votes(struct su_table *t, int cell)
{
	size_t n = (size_t)t->cells.n;
	double base = t->cells.base[cell];
	double *value = t->value[cell] = arena_array(t->arena, (size_t)t->nclasses + 1, sizeof *value);
	int nvalues = 1;

	value[0] = base;
	for (int c = 1; c < t->nclasses; c++) {
		double vote = t->class_votes[(size_t)c * n + (size_t)cell];
		int at = nvalues;

		if (isnan(vote))
			continue;
		while (at > 1 && loses(base, vote, value[at - 1]))
			at--;
		if (at > 1 && value[at - 1] == vote)
			continue;
		memmove(value + at + 1, value + at, sizeof *value * (size_t)(nvalues++ - at));
		value[at] = vote;
	}
	for (t->first_high[cell] = 1; t->first_high[cell] < nvalues; t->first_high[cell]++)
		if (value[t->first_high[cell]] > base)
			break;
	for (int c = 1; c < t->nclasses; c++)
		for (code k = 1; k < nvalues; k++)
			if (value[k] == t->class_votes[(size_t)c * n + (size_t)cell])
				t->class_code[(size_t)c * n + (size_t)cell] = k;
	t->nvalues[cell] = nvalues;
}

static void number_keys(struct su_table *t)
{
	int n = t->cells.n, votes = 0;
	double keys = 1;

	t->votes = arena_array(t->arena, (size_t)t->nclasses * (size_t)n, sizeof *t->votes);
	t->first_vote = arena_array(t->arena, (size_t)t->nclasses + 1, sizeof(int));
	for (int c = 0; c < t->nclasses; c++) {
		for (int i = 0; i < n; i++)
			if (t->class_code[c * n + i])
				t->votes[votes++] = (struct vote){ i, t->class_code[c * n + i] };
		t->first_vote[c + 1] = votes;
	}
	for (int i = 0; i < n && keys < 0x1p62; keys *= t->nvalues[i++])
		t->stride[i] = (uint64_t)keys;
	t->numbered = keys < 0x1p62;
}

struct su_table *su_table_new(const struct kn_knowledge *kn, int check, int place)
{
	struct su_table *t = mem_alloc(sizeof *t);
	int none[SU_CELLS_MAX] = { 0 };

	t->kn = kn;
	t->c = &kn->checks[check];
	t->check = check;
	t->place = place;
	if (su_cells_make(&t->cells, kn, check, place) < 0) {
		mem_free(t);
		return NULL;
	}
	t->by_votes = t->c->combine == KN_STRONGEST && !t->c->nmodels && !su_has_gate_votes(t->c);
	t->words = t->by_votes ? t->cells.n : 1 + SU_SET_KEY;
	t->arena = arena_new();
	make_classes(t);
	if (t->by_votes) {
		t->class_code = arena_array(t->arena, (size_t)t->nclasses * (size_t)t->cells.n,
					    sizeof(code));
		for (int i = 0; i < t->cells.n; i++)
			number_votes(t, i);
		number_keys(t);
	}
	intern(t, none);
	return t;
}

void su_table_free(struct su_table *t)
{
	if (!t)
		return;
	mem_free(t->class_of);
	mem_free(t->class_votes);
	mem_free(t->class_fault);
	mem_free(t->key);
	mem_free(t->set);
	mem_free(t->row);
	mem_free(t->join);
	mem_free(t->hash);
	mem_free(t->powers);
	mem_free(t->quick);
	mem_free(t->powered[0]);
	mem_free(t->number);
	arena_free(t->arena);
	mem_free(t);
}

/* ---- joining -------------------------------------------------------------------------------- */

void su_joined_votes(const struct su_table *t, int state, int class_no, code key[SU_CELLS_MAX])
{
	const code *vote = t->class_code + (size_t)class_no * (size_t)t->cells.n;
	const code *old = t->key + (size_t)state * (size_t)t->words;

	for (int i = 0; i < t->cells.n; i++)
		key[i] = vote[i] > old[i] ? vote[i] : old[i];
}

static int join_votes(struct su_table *t, int state, int class_no)
{
	code key[SU_CELLS_MAX] = { 0 };

	su_joined_votes(t, state, class_no, key);
	return intern(t, key);
}

static int join_set(struct su_table *t, int state, int class_no)
{
	int key[1 + SU_SET_KEY], fault = t->class_fault[class_no], at;

	memcpy(key, t->set + (size_t)state * (size_t)t->words, sizeof key);
	for (at = 1; at <= key[0] && key[at] < fault; at++)
		;
	if ((at <= key[0] && key[at] == fault) || key[0] == SU_SET_KEY)
		return state;
	memmove(key + at + 1, key + at, sizeof(int) * (size_t)(key[0] + 1 - at));
	key[at] = fault;
	key[0]++;
	return intern(t, key);
}

int su_table_join_class(struct su_table *t, int state, int class_no)
{
	int *join = t->join[state];

	if (class_no == 0)
		return state;
	if (!join) {
		join = t->join[state] = arena_alloc(t->arena, sizeof(int) * (size_t)t->nclasses);
		memset(join, -1, sizeof(int) * (size_t)t->nclasses);
	}
	if (join[class_no] < 0)
		join[class_no] = t->by_votes ? join_votes(t, state, class_no)
					     : join_set(t, state, class_no);
	return join[class_no];
}

bool su_table_by_votes(const struct su_table *t) { return t->by_votes; }

int su_table_none(const struct su_table *t)
{
	(void)t;
	return 0;
}

int su_table_join(struct su_table *t, int state, int fault)
{
	return su_table_join_class(t, state, t->class_of[fault]);
}

int su_table_states(const struct su_table *t) { return t->nstates; }
int su_table_ncells(const struct su_table *t) { return t->cells.n; }
int su_table_cell_outcome(const struct su_table *t, int cell) { return t->cells.outcome[cell]; }
int su_table_cell_place(const struct su_table *t, int cell) { return t->cells.place[cell]; }
int su_table_nclasses(const struct su_table *t) { return t->nclasses; }
int su_table_class(const struct su_table *t, int fault) { return t->class_of[fault]; }
bool su_table_bears(const struct su_table *t, int fault) { return t->class_of[fault] != 0; }

int su_table_cell(const struct su_table *t, int outcome, int place)
{
	for (int i = 0; i < t->cells.n; i++)
		if (t->cells.outcome[i] == outcome && t->cells.place[i] == place)
			return i;
	return KN_NONE;
}

/* ---- rows ----------------------------------------------------------------------------------- */

static bool gate_true(const struct kn_knowledge *kn, int gate, const int *faults, int n)
{
	const struct kn_gate *g = &kn->gates[gate];
	int have = 0, of = g->nfaults + g->ngates;

	for (int i = 0; i < g->nfaults; i++)
		for (int k = 0; k < n; k++)
			have += g->faults[i] == faults[k];
	for (int i = 0; i < g->ngates; i++)
		have += gate_true(kn, g->gates[i], faults, n);
	return have >= (g->op == KN_AND ? of : g->op == KN_OR ? 1 : g->k) && of > 0;
}

static void vote_in(const struct su_cells *cells, int i, double vote, double *high, double *low)
{
	if (vote > cells->base[i])
		high[i] = fmax(high[i], vote);
	else
		low[i] = fmin(low[i], vote);
}

/* Strongest votes of a set, gate votes included. */
static void strongest(const struct su_table *t, const int *faults, int n, double *v)
{
	double high[SU_CELLS_MAX], low[SU_CELLS_MAX];

	for (int i = 0; i < t->cells.n; i++) {
		high[i] = NO_HIGH;
		low[i] = NO_LOW;
	}
	for (int k = 0; k < n; k++) {
		const double *vote = t->class_votes +
				     (size_t)t->class_of[faults[k]] * (size_t)t->cells.n;

		for (int i = 0; i < t->cells.n; i++)
			if (!isnan(vote[i]))
				vote_in(&t->cells, i, vote[i], high, low);
	}
	for (int i = 0; i < t->cells.n; i++) {
		const struct kn_outcome *o = &t->c->outcomes[t->cells.outcome[i]];

		for (int g = 0; g < o->ngate_votes; g++)
			if (gate_true(t->kn, o->gate_votes[g].gate, faults, n))
				vote_in(&t->cells, i, o->gate_votes[g].p, high, low);
	}
	for (int i = 0; i < t->cells.n; i++)
		v[i] = high[i] > NO_HIGH ? high[i] : low[i] < NO_LOW ? low[i] : t->cells.base[i];
}

static void noisy_or(const struct su_table *t, const int *faults, int n, double *v)
{
	for (int i = 0; i < t->cells.n; i++) {
		const struct kn_outcome *o = &t->c->outcomes[t->cells.outcome[i]];
		double stay = 1 - t->cells.base[i];

		for (int k = 0; k < n; k++) {
			double vote = t->class_votes[(size_t)t->class_of[faults[k]] *
							     (size_t)t->cells.n + (size_t)i];

			if (!isnan(vote))
				stay *= 1 - vote;
		}
		for (int g = 0; g < o->ngate_votes; g++)
			if (gate_true(t->kn, o->gate_votes[g].gate, faults, n))
				stay *= 1 - o->gate_votes[g].p;
		v[i] = 1 - stay;
	}
}

static void table_row(const struct su_table *t, const int *faults, int n, double *v)
{
	const struct kn_table *tab = t->c->table;
	size_t at = 0;

	for (int i = 0; i < tab->nover; i++) {
		bool present = tab->over[i].gate != KN_NONE &&
			       gate_true(t->kn, tab->over[i].gate, faults, n);

		for (int k = 0; tab->over[i].mode != KN_NONE && k < n; k++)
			present = present || t->kn->faults[faults[k]].mode == tab->over[i].mode;
		if (present)
			at |= (size_t)1 << i;
	}
	memcpy(v, tab->p + at * (size_t)t->c->noutcomes, sizeof(double) * (size_t)t->cells.n);
}

/* A list over all places of a check with a model: P(nothing abnormal anywhere) is exact; the rest is
 * shared over (outcome, place) by the odds of being the only one. */
static void circuits_everywhere(const struct su_table *t, const int *faults, int n, double *v)
{
	double by_outcome[KN_OUTCOMES_MAX], all_well = 1, sum = 0;
	int rest = t->cells.outcome[t->cells.rest];

	for (int p = 0; p < t->c->nmodels; p++) {
		su_circuit_cells(t->kn, t->check, p, faults, n, by_outcome);
		all_well *= by_outcome[rest];
		for (int i = 0; i < t->cells.n; i++)
			if (t->cells.place[i] == p) {
				v[i] = by_outcome[t->cells.outcome[i]] /
				       fmax(by_outcome[rest], 1e-9);
				sum += v[i];
			}
	}
	for (int i = 0; i < t->cells.n; i++)
		if (i != t->cells.rest)
			v[i] = sum > 0 ? v[i] * (1 - all_well) / sum : 0;
}

void su_row_of_votes(const struct su_table *t, const code *key, double *row)
{
	for (int i = 0; i < t->cells.n; i++)
		row[i] = t->value[i][key[i]];
	su_cells_finish(&t->cells, row, EXPLICIT_MOST);
}

static void make_row(struct su_table *t, int state, double *row)
{
	if (t->by_votes) {
		su_row_of_votes(t, t->key + (size_t)state * (size_t)t->words, row);
		return;
	}
	const int *set = t->set + (size_t)state * (size_t)t->words;

	if (t->c->nmodels && (t->c->per == KN_NONE || t->place != KN_NONE)) {
		su_circuit_cells(t->kn, t->check, t->place, set + 1, set[0], row);
		su_cells_finish(&t->cells, row, 1);
	} else if (t->c->nmodels) {
		circuits_everywhere(t, set + 1, set[0], row);
		su_cells_finish(&t->cells, row, 1);
	} else if (t->c->combine == KN_TABLE) {
		table_row(t, set + 1, set[0], row);
		su_cells_finish(&t->cells, row, 1);
	} else if (t->c->combine == KN_NOISY_OR) {
		noisy_or(t, set + 1, set[0], row);
		su_cells_finish(&t->cells, row, 1);
	} else {
		strongest(t, set + 1, set[0], row);
		su_cells_finish(&t->cells, row, EXPLICIT_MOST);
	}
}

const double *su_table_row(struct su_table *t, int state)
{
	double *row = t->row + (size_t)state * (size_t)t->cells.n;

	if (isnan(row[0]))
		make_row(t, state, row);
	return row;
}
