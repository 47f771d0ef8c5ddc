/* Figures of the owner's manual told in a job: which are in force, and where one is wanted. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "job/inner.h"

#define PREFIX "figure:"
#define NEAR .25        /* of a band's width, or of a single limit */

static const char *value_told(const struct job *j, int event)
{
	const struct job_event *e = job_event_at(j, event);

	if (e->kind != JOB_TOLD || !job_in_force(j, event) || strncmp(e->field[0], PREFIX, strlen(PREFIX)))
		return NULL;
	return e->field[0] + strlen(PREFIX);
}

static bool told(const struct job *j, const char *value)
{
	for (int i = 0; i < job_nevents(j); i++) {
		const char *id = value_told(j, i);

		if (id && strcmp(id, value) == 0)
			return true;
	}
	return false;
}

/* Replaces an earlier one of the same value; "unknown" takes it away. */
static int put(struct kn_figure *list, int n, const char *id, const struct rd_figure *figure)
{
	int at = 0;

	while (at < n && strcmp(list[at].value, id) != 0)
		at++;
	if (figure) {
		list[at] = (struct kn_figure){id, *figure};
		return at == n ? n + 1 : n;
	}
	if (at == n)
		return n;
	list[at] = list[n - 1];
	return n - 1;
}

int job_figures(const struct job *j, struct kn_figure **out)
{
	const struct kn_knowledge *kn = j->kn;
	int n = 0;

	*out = mem_array((size_t)job_nevents(j) + 1, sizeof **out);
	for (int i = 0; i < job_nevents(j); i++) {
		const char *id = value_told(j, i);
		int value = id ? kn_value_by_id(kn, id) : KN_NONE;
		struct hs_err ignored = { 0 };
		struct rd_figure f;

		if (value == KN_NONE)
			continue;
		if (rd_figure_parse(kn->values[value].unit, job_event_at(j, i)->field[1], &f, &ignored) == 0)
			n = put(*out, n, id, &f);
		else
			n = put(*out, n, id, NULL);
	}
	return n;
}

void job_rebind(struct job *j, const struct kn_knowledge *kn)
{
	job_forget(j);
	j->kn = kn;
}

/* ---- where one is wanted ------------------------------------------------------------------------- */

static bool close_to(double x, double limit, double margin)
{
	return isfinite(limit) && fabs(limit) > 0 && fabs(x - limit) <= margin;
}

static bool near_an_end(const struct kn_reading *r, enum rd_kind kind, double x)
{
	bool band = isfinite(r->low) && isfinite(r->high);

	if (kind != RD_NUMBER)
		return false;
	return close_to(x, r->low, NEAR * (band ? r->high - r->low : fabs(r->low))) ||
	       close_to(x, r->high, NEAR * (band ? r->high - r->low : fabs(r->high)));
}

static bool hangs(const struct kn_check *c, const struct job_understood *u)
{
	const struct rd_result *r = &u->reading;

	if (!u->number)
		return false;
	for (int i = 0; i < r->nplaces; i++)
		if (r->at[i].given && near_an_end(c->reading, r->at[i].kind, r->at[i].value))
			return true;
	return r->nplaces == 0 && near_an_end(c->reading, r->kind, r->value);
}

int job_figure_wanted(const struct job *j, const struct job_view *v)
{
	for (int i = 0; i < v->nfindings; i++) {
		const struct job_finding *f = &v->findings[i];
		const struct kn_check *c = &j->kn->checks[f->check];
		const struct kn_value *value;

		if (!f->counts || !c->reading || c->reading->value == KN_NONE)
			continue;
		value = &j->kn->values[c->reading->value];
		if (value->generic && hangs(c, &f->understood) && !told(j, value->id))
			return i;
	}
	return KN_NONE;
}
