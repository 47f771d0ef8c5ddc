/* What there is: machines, symptoms, checks, suspects. */
#include <string.h>

#include "base/mem.h"
#include "report/words.h"

struct listing { struct text *out; bool json; int n; };

static void item(struct listing *l, const char *id, const char *title, const char *extra_key,
		 const char *extra)
{
	if (!l->json) {
		text_addf(l->out, "%-28s %s\n", id, title);
		l->n++;
		return;
	}
	text_add(l->out, l->n++ ? ",\n  {\"id\": " : "\n  {\"id\": ");
	text_json(l->out, id);
	text_add(l->out, ", \"title\": ");
	text_json(l->out, title);
	if (extra_key) {
		text_add(l->out, ", ");
		text_json(l->out, extra_key);
		text_add(l->out, ": ");
		text_json(l->out, extra ? extra : "");
	}
	text_add(l->out, "}");
}

static int machines(struct listing *l, const char *dir, struct hs_err *err)
{
	struct kn_machine_title *m;
	int n = kn_machines(dir, &m, err);

	for (int i = 0; i < n; i++)
		item(l, m[i].id, m[i].title, NULL, NULL);
	if (n >= 0)
		mem_free(m);
	return n < 0 ? -1 : 0;
}

static void checks(struct listing *l, const struct kn_knowledge *kn)
{
	for (int c = 0; c < kn->nchecks; c++)
		if (kn->checks[c].kind != KN_SYMPTOM && kn->checks[c].offered)
			item(l, kn->checks[c].id, kn->checks[c].title, "unit",
			     kn->checks[c].reading ? rd_unit_name(kn->checks[c].reading->unit) : "");
}

static void suspects(struct listing *l, const struct kn_knowledge *kn)
{
	for (int m = 0; m < kn->nmodes; m++) {
		struct text title = { 0 };
		bool there = false;

		for (int f = 0; f < kn->nfaults && !there; f++)
			there = kn->faults[f].mode == m;
		if (!there)
			continue;
		text_addf(&title, "%s: %s", kn->parts[kn->modes[m].part].title, kn->modes[m].title);
		item(l, kn->modes[m].ref, text_str(&title), "part", kn->parts[kn->modes[m].part].id);
		text_free(&title);
	}
}

int report_list(enum report_list what, const struct kn_knowledge *kn, const char *dir, bool json,
		struct text *out, struct hs_err *err)
{
	struct listing l = { out, json, 0 };
	int result = 0;

	if (json)
		text_add(out, "[");
	if (what == REPORT_MACHINES)
		result = machines(&l, dir, err);
	else if (what == REPORT_SYMPTOMS)
		for (int i = 0; i < kn->nsymptoms; i++)
			item(&l, kn->checks[kn->symptoms[i]].id, kn->checks[kn->symptoms[i]].title, "says",
			     kn->checks[kn->symptoms[i]].says ? kn->checks[kn->symptoms[i]].says : "");
	else if (what == REPORT_CHECKS)
		checks(&l, kn);
	else
		suspects(&l, kn);
	if (json)
		text_add(out, "\n]\n");
	return result;
}
