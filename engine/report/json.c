/* The job sheet for other programs, and the pieces it is made of. */
#include <string.h>
#include <time.h>

#include "report/json.h"

void json_key(struct text *t, const char *name)
{
	text_json(t, name);
	text_add(t, ": ");
}

void json_string(struct text *t, const char *name, const char *value, const char *end)
{
	json_key(t, name);
	if (value && *value)
		text_json(t, value);
	else
		text_add(t, "null");
	text_add(t, end);
}

void json_number(struct text *t, const char *name, double value, const char *end)
{
	json_key(t, name);
	text_json_number(t, value);
	text_add(t, end);
}

void json_flag(struct text *t, const char *name, bool value, const char *end)
{
	json_key(t, name);
	text_add(t, value ? "true" : "false");
	text_add(t, end);
}

void json_time(struct text *t, const char *name, long long when, const char *end)
{
	time_t at = (time_t)when;
	struct tm utc;
	char words[40] = "";

	if (gmtime_r(&at, &utc))
		strftime(words, sizeof words, "%Y-%m-%dT%H:%M:%SZ", &utc);
	json_string(t, name, words, end);
}

/* ---- the sheet --------------------------------------------------------------------------------- */

static void head(struct text *t, const struct job *j, const struct job_view *v)
{
	int n = job_nevents(j);

	json_string(t, "job", job_id(j), ",\n  ");
	json_string(t, "machine", v->kn->machine, ",\n  ");
	json_string(t, "machine_title", v->kn->machine_title, ",\n  ");
	json_time(t, "begun", n ? job_event_at(j, 0)->when : 0, ",\n  ");
	json_time(t, "changed", n ? job_event_at(j, n - 1)->when : 0, ",\n  ");
	json_string(t, "state", job_state_words(v->state), ",\n  ");
	json_flag(t, "complaint_gone", v->complaint_gone, ",\n  ");
	json_string(t, "trees_then", n ? job_event_at(j, 0)->field[1] : NULL, ",\n  ");
	json_string(t, "trees_now", v->kn->digest, ",\n  ");
}

static void repairs(struct text *t, const struct job *j, const struct job_view *v)
{
	json_key(t, "repairs");
	text_add(t, "[");
	for (int i = 0; i < v->nrepairs; i++) {
		const struct kn_remedy *r = &v->kn->remedies[v->repairs[i].remedy];

		text_add(t, i ? ",\n    {" : "\n    {");
		json_string(t, "remedy", r->id, ", ");
		json_string(t, "title", r->title, ", ");
		json_string(t, "position", words_place(v->kn, r->per, v->repairs[i].place), ", ");
		json_string(t, "parts", r->parts, ", ");
		json_time(t, "when", job_event_at(j, v->repair_event[i])->when, "}");
	}
	text_add(t, v->nrepairs ? "\n  ],\n  " : "],\n  ");
}

static void settings(struct text *t, const struct job_view *v)
{
	json_key(t, "settings");
	text_add(t, "[");
	for (int i = 0; i < v->nsettings; i++) {
		const struct job_setting *s = &v->settings[i];
		const struct kn_setting *k = &v->kn->settings[s->setting];
		struct text limit = { 0 };

		text_add(t, i ? ",\n    {" : "\n    {");
		json_string(t, "setting", k->id, ", ");
		json_string(t, "title", k->title, ", ");
		json_string(t, "position", words_place(v->kn, k->per, s->place), ", ");
		json_string(t, "found", s->found, ", ");
		json_string(t, "left", s->left, ", ");
		words_setting_limit(&limit, v, s);
		json_string(t, "limit", limit.len ? text_str(&limit) : NULL, "}");
		text_free(&limit);
	}
	text_add(t, v->nsettings ? "\n  ],\n  " : "],\n  ");
}

static void verification(struct text *t, const struct job_view *v)
{
	const struct kn_remedy *r = v->nrepairs ? &v->kn->remedies[v->repairs[v->nrepairs - 1].remedy] : NULL;

	json_key(t, "verification");
	text_add(t, "[");
	for (int i = 0; r && i < r->nverifies; i++) {
		text_add(t, i ? ", {" : "{");
		json_string(t, "check", v->kn->checks[r->verifies[i]].id, ", ");
		json_flag(t, "done", words_answered_after(v, r->verifies[i],
							  v->repair_event[v->nrepairs - 1]), "}");
	}
	text_add(t, "],\n  ");
}

/* Opened, left out, closed, in order; and the notes. */
static void other_events(struct text *t, const struct job *j)
{
	int n = 0;

	json_key(t, "log");
	text_add(t, "[");
	for (int i = 0; i < job_nevents(j); i++) {
		const struct job_event *e = job_event_at(j, i);

		if (!job_in_force(j, i) || (e->kind != JOB_ACCESS && e->kind != JOB_SKIPPED &&
					    e->kind != JOB_DECLINED && e->kind != JOB_CLOSED && e->kind != JOB_NOTED))
			continue;
		text_add(t, n++ ? ",\n    {" : "\n    {");
		json_string(t, "kind", job_kind_name(e->kind), ", ");
		json_string(t, "what", e->field[0], ", ");
		json_string(t, "how", job_kind_fields(e->kind) > 1 ? e->field[job_kind_fields(e->kind) - 1]
								   : NULL, ", ");
		json_time(t, "when", e->when, "}");
	}
	text_add(t, n ? "\n  ],\n  " : "],\n  ");
}

static void opened(struct text *t, const struct job_view *v)
{
	int n = 0;

	json_key(t, "open");
	text_add(t, "[");
	for (int a = 1; a < v->kn->naccesses && a < 64; a++)
		if (v->open >> a & 1) {
			text_add(t, n++ ? ", " : "");
			text_json(t, v->kn->accesses[a].id);
		}
	text_add(t, "],\n  ");
}

static void next(struct text *t, struct job *j, const struct job_view *v)
{
	bool unfinished = v->state == JOB_OPEN || v->state == JOB_TO_VERIFY;
	struct hs_err ignored = { 0 };
	const struct pl_plan *plan = unfinished && !v->complaint_gone ? job_plan(j, &ignored) : NULL;

	json_key(t, "next");
	if (plan && plan->nsteps)
		json_step(t, v->kn, &plan->step[0]);
	else
		text_add(t, "null");
	text_add(t, "\n}\n");
}

int report_json(struct job *j, struct text *out, struct hs_err *err)
{
	const struct job_view *v = job_view(j, err);

	if (!v)
		return -1;
	text_add(out, "{\n  ");
	head(out, j, v);
	json_names(out, v, "complaints");
	json_names(out, v, "holds");
	json_evidence(out, v);
	json_suspects(out, v->suspects);
	json_number(out, "left_out", v->suspects->left_out, ",\n  ");
	json_number_of_faults(out, v->suspects);
	repairs(out, j, v);
	settings(out, v);
	verification(out, v);
	other_events(out, j);
	opened(out, v);
	next(out, j, v);
	return 0;
}

/* ---- one line a job -------------------------------------------------------------------------------- */

/* {"KEY": field, ...} of every event of a kind in force; names holds the keys, NULL: left out. */
static void events_of(struct text *t, const struct job *j, enum job_kind kind, const char *list,
		      const char *const *names)
{
	int n = 0;

	json_key(t, list);
	text_add(t, "[");
	for (int i = 0; i < job_nevents(j); i++) {
		const struct job_event *e = job_event_at(j, i);

		if (e->kind != kind || !job_in_force(j, i))
			continue;
		text_add(t, n++ ? ", {" : "{");
		for (int f = 0; f < job_kind_fields(kind); f++)
			if (names[f])
				json_string(t, names[f], e->field[f], ", ");
		json_time(t, "when", e->when, "}");
	}
	text_add(t, "], ");
}

void report_job_line(const struct job *j, struct text *out)
{
	static const char *const complaint[] = { "symptom" }, *const fact[] = { "fact", "value" },
		*const answer[] = { "check", "position", "answer", "source", NULL },
		*const skipped[] = { "check", "position", "why" }, *const repair[] = { "remedy", "position" },
		*const setting[] = { "setting", "position", "when_noted", "value" }, *const note[] = { "text" },
		*const closed[] = { "how", "text", "again", "found" };
	struct job_summary s;

	job_summarise(j, &s);
	text_add(out, "{");
	json_string(out, "job", s.id, ", ");
	json_string(out, "machine", s.machine, ", ");
	json_string(out, "state", s.state, ", ");
	json_string(out, "due", s.due, ", ");
	json_time(out, "begun", job_event_at(j, 0)->when, ", ");
	json_time(out, "changed", s.changed, ", ");
	events_of(out, j, JOB_COMPLAINED, "complaints", complaint);
	events_of(out, j, JOB_TOLD, "told", fact);
	events_of(out, j, JOB_ANSWERED, "answers", answer);
	events_of(out, j, JOB_SKIPPED, "left_out", skipped);
	events_of(out, j, JOB_REPAIRED, "repairs", repair);
	events_of(out, j, JOB_SETTING, "settings", setting);
	events_of(out, j, JOB_NOTED, "notes", note);
	events_of(out, j, JOB_CLOSED, "closings", closed);
	json_number(out, "events", s.nevents, "}\n");
}
