/* Look-ups by id.  Lists are short and look-ups rare: a walk over the array is enough. */
#include <string.h>

#include "knowledge/knowledge.h"

/* The ids are the first field of elements of `size` bytes. */
static int find(const void *first, int n, size_t size, const char *id)
{
	const char *at = first;

	for (int i = 0; i < n; i++, at += size) {
		const char *own;

		memcpy(&own, at, sizeof own);
		if (!strcmp(own, id))
			return i;
	}
	return KN_NONE;
}

int kn_check_by_id(const struct kn_knowledge *kn, const char *id)
{
	return find(kn->checks, kn->nchecks, sizeof *kn->checks, id);
}

int kn_remedy_by_id(const struct kn_knowledge *kn, const char *id)
{
	return find(kn->remedies, kn->nremedies, sizeof *kn->remedies, id);
}

int kn_access_by_id(const struct kn_knowledge *kn, const char *id)
{
	return find(kn->accesses, kn->naccesses, sizeof *kn->accesses, id);
}

int kn_tool_by_id(const struct kn_knowledge *kn, const char *id)
{
	return find(kn->tools, kn->ntools, sizeof *kn->tools, id);
}

int kn_history_by_id(const struct kn_knowledge *kn, const char *id)
{
	return find(kn->histories, kn->nhistories, sizeof *kn->histories, id);
}

int kn_circumstance_by_id(const struct kn_knowledge *kn, const char *id)
{
	return find(kn->circumstances, kn->ncircumstances, sizeof *kn->circumstances, id);
}

int kn_value_by_id(const struct kn_knowledge *kn, const char *id)
{
	return find(kn->values, kn->nvalues, sizeof *kn->values, id);
}

int kn_setting_by_id(const struct kn_knowledge *kn, const char *id)
{
	return find(kn->settings, kn->nsettings, sizeof *kn->settings, id);
}

int kn_outcome_by_id(const struct kn_check *c, const char *id)
{
	return find(c->outcomes, c->noutcomes, sizeof *c->outcomes, id);
}

int kn_place_by_id(const struct kn_kind *k, const char *id)
{
	return find(k->places, k->nplaces, sizeof *k->places, id);
}

int kn_mode_by_ref(const struct kn_knowledge *kn, const char *ref)
{
	for (int i = 0; i < kn->nmodes; i++)
		if (!strcmp(kn->modes[i].ref, ref))
			return i;
	return KN_NONE;
}

const struct kn_kind *kn_check_kind_of(const struct kn_knowledge *kn, const struct kn_check *c)
{
	return c->per == KN_NONE ? NULL : &kn->kinds[c->per];
}

const char *kn_signal_word(enum kn_signal s)
{
	switch (s) {
	case KN_NOTICE: return "NOTICE";
	case KN_CAUTION: return "CAUTION";
	case KN_WARNING: return "WARNING";
	case KN_DANGER: return "DANGER";
	case KN_NO_SIGNAL: break;
	}
	return "";
}

static bool model_uses(const struct kn_knowledge *kn, const struct kn_model *m, int value)
{
	for (int i = 0; i < m->nleaves; i++)
		if (kn->parts[m->leaves[i].part].values[m->leaves[i].slot].value == value)
			return true;
	return false;
}

bool kn_value_matters(const struct kn_knowledge *kn, int value)
{
	for (int c = 0; c < kn->nchecks; c++) {
		const struct kn_check *check = &kn->checks[c];

		if (!check->offered || !check->reading)
			continue;
		if (check->reading->value == value)
			return true;
		for (int m = 0; m < check->nmodels; m++)
			if (model_uses(kn, &check->models[m], value))
				return true;
	}
	return false;
}

double kn_open_minutes(const struct kn_knowledge *kn, int access)
{
	double sum = 0;

	for (; access != KN_NONE; access = kn->accesses[access].parent)
		sum += kn->accesses[access].open_min;
	return sum;
}

double kn_close_minutes(const struct kn_knowledge *kn, int access)
{
	double sum = 0;

	for (; access != KN_NONE; access = kn->accesses[access].parent)
		sum += kn->accesses[access].close_min;
	return sum;
}
