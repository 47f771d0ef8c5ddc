/* Small helpers of binding, and the vocabulary that is the same for every machine. */
#include <math.h>
#include <string.h>

#include "knowledge/inner.h"

struct el *top_after(const struct bind *b, int *at, enum el_kind kind)
{
	while (*at < b->load->ntops) {
		struct el *e = b->load->tops[(*at)++];

		if (e->kind == kind)
			return e;
	}
	return NULL;
}

int top_count(const struct bind *b, enum el_kind kind)
{
	int n = 0;

	for (int i = 0; top_after(b, &i, kind);)
		n++;
	return n;
}

bool option_fitted(const struct bind *b, const char *option)
{
	if (!option)
		return true;
	for (struct el *k = el_kid(b->machine, E_FITTED); k; k = el_next(k, E_FITTED))
		if (!strcmp(el_attr(k, "option"), option))
			return true;
	return false;
}

int kind_index(const struct bind *b, const char *id)
{
	for (int i = 0; id && i < b->kn->nkinds; i++)
		if (!strcmp(b->kn->kinds[i].id, id))
			return i;
	return KN_NONE;
}

int value_index(const struct bind *b, const char *id)
{
	for (int i = 0; id && i < b->kn->nvalues; i++)
		if (!strcmp(b->kn->values[i].id, id))
			return i;
	return KN_NONE;
}

/* A list of names as a bit set; the names exist, their number is limited where they are bound. */
uint64_t name_bits(const struct bind *b, const struct el *e, const char *attr, enum el_kind kind)
{
	const char *at = el_attr(e, attr);
	char w[ID_MAX + 1];
	uint64_t bits = 0;

	while (at && value_word(&at, w, sizeof w))
		bits |= (uint64_t)1 << names_find(b->load, kind, w)->index;
	return bits;
}

int bind_cautions(struct bind *b, const struct el *e, struct kn_caution **out)
{
	int n = 0;

	*out = arena_array(b->arena, (size_t)el_count(e, E_CAUTION), sizeof **out);
	for (struct el *k = el_kid(e, E_CAUTION); k; k = el_next(k, E_CAUTION)) {
		struct kn_caution *c = &(*out)[n++];

		c->signal = (enum kn_signal)el_choice(k, "signal", signals, KN_NO_SIGNAL);
		c->hazard = el_attr(k, "hazard");
		c->text = k->text;
	}
	return n;
}

/* ---- vocabulary -------------------------------------------------------------------------- */

/* Tools, options, circumstances and spoilers. */
static int bind_named(struct bind *b, enum el_kind kind, int most, int *n, struct kn_named **out)
{
	struct el *e;

	*out = arena_array(b->arena, (size_t)top_count(b, kind), sizeof **out);
	for (int i = 0; (e = top_after(b, &i, kind));) {
		struct kn_named *t = &(*out)[*n];

		if (*n == most)
			return el_too_many(b->load, e, most,
					   kind == E_TOOL     ? "tools"
					   : kind == E_OPTION ? "options"
					   : kind == E_SPOILER ? "spoilers"
							      : "circumstances");
		e->index = (*n)++;
		t->id = el_id(e);
		t->title = el_attr(e, "title");
		t->ask = el_attr(e, "ask");
	}
	return 0;
}

static int bind_histories(struct bind *b)
{
	struct kn_knowledge *kn = b->kn;
	struct el *e;

	kn->histories = arena_array(b->arena, (size_t)top_count(b, E_HISTORY), sizeof *kn->histories);
	for (int i = 0; (e = top_after(b, &i, E_HISTORY));) {
		struct kn_history *h = &kn->histories[kn->nhistories];

		if (kn->nhistories == 32)
			return el_too_many(b->load, e, 32, "histories");
		e->index = kn->nhistories++;
		h->id = el_id(e);
		h->title = el_attr(e, "title");
		h->ask = el_attr(e, "ask");
		h->times = el_number(e, "times", 1);
	}
	return 0;
}

/* Knowledge 0.4: 85 % one fault, 13 % two, 2 % three; 25 of about 1000 jobs something else. */
static int bind_prior(struct bind *b)
{
	static const char *const shares[] = { "none", "one", "two", "three" };
	static const double usual[] = { .40, .85, .13, .02 };
	struct kn_knowledge *kn = b->kn;
	struct el *e = NULL, *again;
	int i = 0;

	e = top_after(b, &i, E_PRIOR);
	again = e ? top_after(b, &i, E_PRIOR) : NULL;
	if (again)
		return el_err(b->load, again, NULL, "a second <prior>; the first one is %s:%d",
			      e->source->path, e->tag->line);
	kn->independent = e && !strcmp(el_attr(e, "kind"), "independent");
	b->floor = e ? el_number(e, "floor", kn->independent ? 0 : .01) : .01;
	for (int k = 0; k < COUNT(shares); k++) {
		if (kn->independent && el_attr(e, shares[k]))
			return el_err(b->load, e, shares[k],
				      "an independent prior has no share for \"%s\"", shares[k]);
		kn->number_prior[k] = e ? el_number(e, shares[k], usual[k]) : usual[k];
	}
	if (!kn->independent &&
	    kn->number_prior[1] + kn->number_prior[2] + kn->number_prior[3] <= 0)
		return el_err(b->load, e, NULL, "one, two and three are all 0");
	kn->something_else = (e ? el_number(e, "something-else", kn->independent ? 0 : 25) : 25) > 0;
	return 0;
}

int bind_vocabulary(struct bind *b)
{
	struct kn_knowledge *kn = b->kn;

	if (bind_prior(b) < 0 || bind_named(b, E_TOOL, 64, &kn->ntools, &kn->tools) < 0 ||
	    bind_named(b, E_SPOILER, 32, &kn->nspoilers, &kn->spoilers) < 0 ||
	    bind_named(b, E_OPTION, 64, &kn->noptions, &kn->options) < 0 ||
	    bind_named(b, E_CIRCUMSTANCE, 32, &kn->ncircumstances, &kn->circumstances) < 0)
		return -1;
	for (int i = 0; i < kn->noptions; i++)
		kn->fitted |= (uint64_t)option_fitted(b, kn->options[i].id) << i;
	return bind_histories(b);
}
