/* The ranking without a conversation, for programs and for people. */
#include <math.h>

#include "base/mem.h"
#include "report/json.h"

#define SHOWN_LEAST 5e-4   /* suspects below this are not worth a line of JSON */
#define TEXT_LINES 12

/* ---- suspects ---------------------------------------------------------------------------------- */

static void by_position(struct text *t, const struct kn_knowledge *kn, const struct su_line *l, int kind)
{
	json_key(t, "by_position");
	text_add(t, "{");
	for (int i = 0; i < l->nfaults; i++) {
		const struct kn_fault *f = &kn->faults[l->fault[i]];

		text_add(t, i ? ", " : "");
		text_json(t, f->all || f->place == KN_NONE ? "all" : words_place(kn, kind, f->place));
		text_add(t, ": ");
		text_json_number(t, l->by_fault[i]);
	}
	text_add(t, "}");
}

static void suspect(struct text *t, const struct kn_knowledge *kn, const struct su_line *l)
{
	const struct kn_mode *m = &kn->modes[l->mode == KN_NONE ? kn->faults[0].mode : l->mode];
	const struct kn_part *p = &kn->parts[m->part];
	struct text title = { 0 };
	bool places = p->kind != KN_NONE && l->nfaults > 1;

	words_line(&title, kn, l);
	text_add(t, "{");
	json_string(t, "part", p->id, ", ");
	json_string(t, "mode", m->id, ", ");
	json_string(t, "position", places && !l->undecided ? (l->all ? "all" : words_place(kn, p->kind, l->place))
						      : NULL, ", ");
	json_string(t, "title", text_str(&title), ", ");
	json_number(t, "probability", l->p, "");
	if (places) {
		text_add(t, ", ");
		by_position(t, kn, l, p->kind);
	}
	text_add(t, "}");
	text_free(&title);
}

void json_suspects(struct text *t, const struct su_suspects *s)
{
	struct su_line *lines;
	int n = su_lines(s, &lines);

	json_key(t, "suspects");
	text_add(t, "[");
	for (int i = 0; i < n && (i == 0 || lines[i].p >= SHOWN_LEAST); i++) {
		text_add(t, i ? ",\n    " : "\n    ");
		suspect(t, s->kn, &lines[i]);
	}
	text_add(t, "\n  ],\n  ");
	mem_free(lines);
}

void json_number_of_faults(struct text *t, const struct su_suspects *s)
{
	json_key(t, "number_of_faults");
	text_add(t, "{");
	json_number(t, "none", s->number[0], ", ");
	json_number(t, "one", s->number[1], ", ");
	json_number(t, "two", s->number[2], ", ");
	json_number(t, "three_or_more", s->number[3], "},\n  ");
}

/* ---- evidence ----------------------------------------------------------------------------------- */

struct row { const struct kn_check *c; const char *position, *raw, *outcome; double value, u, p_inside;
	     enum rd_kind kind; enum rd_verdict verdict; bool number, listed, counts;
	     const char *why; };

static void evidence_row(struct text *t, const struct row *r, bool first)
{
	text_add(t, first ? "\n    {" : ",\n    {");
	json_string(t, "check", r->c->id, ", ");
	json_string(t, "position", r->position, ", ");
	json_string(t, "raw", r->raw, ", ");
	if (r->number && r->kind == RD_NUMBER)
		json_number(t, "value", r->value, ", ");
	else
		json_string(t, "value", r->number ? (r->kind == RD_OPEN ? "open" : "short") : NULL, ", ");
	json_string(t, "unit", r->number ? rd_unit_name(words_unit(r->c->reading, r->listed)) : NULL, ", ");
	json_number(t, "u", r->number && r->kind == RD_NUMBER ? r->u : NAN, ", ");
	json_string(t, "verdict", r->number ? rd_verdict_words(r->verdict) : NULL, ", ");
	json_string(t, "outcome", r->outcome, ", ");
	json_key(t, "counts");
	text_add(t, r->counts ? "true" : "false");
	if (!r->counts && r->why[0]) {
		text_add(t, ", ");
		json_string(t, "why", r->why, "");
	}
	text_add(t, "}");
}

static const char *outcome_id(const struct kn_check *c, int outcome)
{
	return outcome == KN_NONE ? NULL : c->outcomes[outcome].id;
}

static void finding(struct text *t, const struct kn_knowledge *kn, const struct job_finding *f, int *n)
{
	const struct kn_check *c = &kn->checks[f->check];
	const struct job_understood *u = &f->understood;
	struct row r = { .c = c, .raw = f->raw, .counts = f->counts, .why = f->why, .number = u->number,
			 .kind = u->reading.kind, .value = u->reading.value, .u = u->reading.u,
			 .verdict = u->reading.verdict, .position = words_place(kn, c->per, f->place) };
	struct text raw = { 0 };
	int places = u->number ? u->reading.nplaces : u->nplaces;

	r.outcome = outcome_id(c, job_finding_outcome(c, u, KN_NONE));
	if (u->outcome_place != KN_NONE && u->outcome != KN_NONE) {
		int kind = c->outcomes[u->outcome].local_kind;

		r.position = words_place(kn, kind == KN_NONE ? c->per : kind, u->outcome_place);
	}
	if (!places || c->compare) {
		evidence_row(t, &r, (*n)++ == 0);
		return;
	}
	for (int p = 0; p < places; p++) {
		const struct rd_place_result *at = &u->reading.at[p];

		if (u->number ? !at->given : u->at[p] == KN_NONE)
			continue;
		r.position = words_place(kn, c->per, p);
		r.outcome = outcome_id(c, job_finding_outcome(c, u, p));
		r.listed = u->number;
		if (u->number) {
			text_clear(&raw);
			rd_format(&raw, at->kind, at->raw, 0, RD_NO_UNIT);
			r.raw = text_str(&raw);
		}
		r.kind = at->kind;
		r.value = at->value;
		r.u = at->u;
		r.verdict = at->verdict;
		evidence_row(t, &r, (*n)++ == 0);
	}
	text_free(&raw);
}

void json_evidence(struct text *t, const struct job_view *v)
{
	int n = 0;

	json_key(t, "evidence");
	text_add(t, "[");
	for (int i = 0; i < v->nfindings; i++)
		finding(t, v->kn, &v->findings[i], &n);
	text_add(t, n ? "\n  ],\n  " : "],\n  ");
}

/* ---- steps ----------------------------------------------------------------------------------------- */

void json_step(struct text *t, const struct kn_knowledge *kn, const struct pl_step *s)
{
	int per = s->kind == PL_CHECK ? kn->checks[s->index].per
		  : s->kind == PL_REMEDY ? kn->remedies[s->index].per : KN_NONE;

	text_add(t, "{");
	json_string(t, "kind", s->kind == PL_CHECK ? "check" : s->kind == PL_REMEDY ? "remedy" : "hand-over", ", ");
	json_string(t, "id", words_step_id(kn, s), ", ");
	json_string(t, "title", words_step_title(kn, s), ", ");
	json_string(t, "position", words_place(kn, per, s->place), ", ");
	json_number(t, "minutes", s->minutes, ", ");
	json_number(t, "expected_total", s->expected_total, ", ");
	json_number(t, "saves", s->saves, ", ");
	json_flag(t, "once_more", s->again, ", ");
	json_string(t, "why", s->why, "}");
}

/* The ids of the complaints, or of the holds in force. */
void json_names(struct text *t, const struct job_view *v, const char *which)
{
	bool holds = which[0] == 'h';
	int n = holds ? v->nholds : v->ncomplaints;

	json_key(t, which);
	text_add(t, "[");
	for (int i = 0; i < n; i++) {
		text_add(t, i ? ", " : "");
		text_json(t, holds ? v->kn->holds[v->holds[i]].id : v->kn->checks[v->complaints[i]].id);
	}
	text_add(t, "],\n  ");
}

int report_rank_json(struct job *j, struct text *out, struct hs_err *err)
{
	const struct job_view *v = job_view(j, err);
	const struct pl_plan *plan = v ? job_plan(j, err) : NULL;

	if (!plan)
		return -1;
	text_add(out, "{\n  ");
	json_string(out, "machine", v->kn->machine, ",\n  ");
	json_names(out, v, "complaints");
	json_names(out, v, "holds");
	json_suspects(out, v->suspects);
	json_number(out, "left_out", v->suspects->left_out, ",\n  ");
	json_number_of_faults(out, v->suspects);
	json_evidence(out, v);
	json_key(out, "next");
	json_step(out, v->kn, &plan->step[0]);
	text_add(out, ",\n  ");
	json_key(out, "others");
	text_add(out, "[");
	for (int i = 1; i < plan->nsteps; i++) {
		text_add(out, i > 1 ? ",\n    " : "\n    ");
		json_step(out, v->kn, &plan->step[i]);
	}
	text_add(out, plan->nsteps > 1 ? "\n  ]\n}\n" : "]\n}\n");
	return 0;
}

/* ---- for a person ------------------------------------------------------------------------------------- */

static void text_step(struct text *out, const struct kn_knowledge *kn, const struct pl_step *s,
		      const char *lead)
{
	struct text t = { 0 };

	text_addf(&t, "%s%s: %.0f min. %s", lead, words_step_title(kn, s), s->minutes, s->why);
	text_wrap(out, text_str(&t), 80, 0, 2);
	text_free(&t);
}

int report_rank_text(struct job *j, struct text *out, struct hs_err *err)
{
	const struct job_view *v = job_view(j, err);
	const struct pl_plan *plan = v ? job_plan(j, err) : NULL;
	struct su_line *lines;
	int n;

	if (!plan)
		return -1;
	n = su_lines(v->suspects, &lines);
	for (int i = 0; i < n && i < TEXT_LINES && lines[i].p >= .005; i++) {
		struct text t = { 0 };

		words_line(&t, v->kn, &lines[i]);
		words_share(out, lines[i].p, text_str(&t));
		text_free(&t);
	}
	mem_free(lines);
	words_not_examined(out, v->suspects->left_out);
	text_add(out, "\n");
	text_step(out, v->kn, &plan->step[0], "Next: ");
	for (int i = 1; i < plan->nsteps; i++)
		text_step(out, v->kn, &plan->step[i], "Or:   ");
	return 0;
}
