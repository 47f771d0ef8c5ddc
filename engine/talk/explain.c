/* Explaining: suspects, why, plan, what was understood. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "report/report.h"
#include "report/words.h"
#include "talk/inner.h"

static void name_words(struct talk *t)
{
	struct text names = {0};

	for (int w = WORD_HELP + 1; w < WORD_COUNT; w++)
		if (word_help((enum word)w, t->job))
			text_addf(&names, "%s%s", names.len ? ", " : "", word_entry((enum word)w)->name);
	out_say(&t->out, 0, 2, "At every question: %s. `help` tells what they do.", text_str(&names));
	text_free(&names);
}

void explain_words(struct talk *t, bool in_full)
{
	if (!in_full) {
		name_words(t);
		return;
	}
	out_say(&t->out, 0, 0, "These words work at every question:");
	for (int w = 0; w < WORD_COUNT; w++) {
		const struct word_entry *e = word_entry((enum word)w);
		struct text left = {0};

		if (!word_help((enum word)w, t->job))
			continue;
		text_addf(&left, "%s%s%s", e->name, e->argument ? " " : "",
			  e->argument ? e->argument : "");
		out_item(&t->out, 29, text_str(&left), "%s", word_help((enum word)w, t->job));
		text_free(&left);
	}
}

void explain_report(struct talk *t)
{
	struct text sheet = {0};
	struct hs_err err = {0};

	if (report_text(t->job, &sheet, &err) == 0)
		out_lines(&t->out, text_str(&sheet));
	else
		talk_fail(t, &err);
	text_free(&sheet);
}

void explain_cautions(struct talk *t, const struct kn_caution *c, int n)
{
	for (enum kn_signal s = KN_DANGER; s > KN_NO_SIGNAL; s--)
		for (int i = 0; i < n; i++)
			if (c[i].signal == s)
				out_say(&t->out, 2, 4, "%s: %s", kn_signal_word(s), c[i].text);
}

/* What is dangerous now: said once, or again `in_full`; and what is no longer. */
void explain_holds(struct talk *t, bool in_full)
{
	const struct job_view *v = talk_view(t);
	uint64_t now = 0;

	for (int i = 0; v && i < v->nholds; i++) {
		const struct kn_hold *h = &t->kn->holds[v->holds[i]];
		uint64_t bit = UINT64_C(1) << (v->holds[i] & 63);
		now |= bit;
		if ((t->holds_said & bit) && !in_full)
			continue;
		out_blank(&t->out);
		out_say(&t->out, 0, 2, "%s: %s. %s", kn_signal_word(h->signal), h->title, h->say);
	}
	for (int i = 0; v && i < t->kn->nholds && i < 64; i++)
		if ((t->holds_said & ~now) >> i & 1)
			out_say(&t->out, 0, 2, "Cleared: %s.", t->kn->holds[i].title);
	t->holds_said = now;
}

/* ---- suspects -------------------------------------------------------------------------------------- */

void explain_line(struct text *out, const struct kn_knowledge *kn, const struct su_line *line)
{
	if (kn_not_listed(kn, line->mode)) {
		kn_mode_title(out, kn, line->mode);
		return;
	}
	if (line->undecided) {
		kn_mode_title(out, kn, line->mode);
		text_add(out, ", ");
		words_which(out, kn, line);
		return;
	}
	kn_fault_title(out, kn, line->best_fault);
}

static void add_suspect(struct text *out, const struct kn_knowledge *kn, const struct su_line *line)
{
	explain_line(out, kn, line);
	text_add(out, " ");
	out_percent(out, line->p);
}

/* The first few that matter, on one or two lines. */
void explain_top(struct talk *t)
{
	const struct job_view *v = talk_view(t);
	struct su_line *lines = NULL;
	struct text out = {0};
	int n, shown = 0;

	if (!v)
		return;
	n = su_lines(v->suspects, &lines);
	if (v->suspects->p_none >= .5) {
		text_add(&out, "nothing wrong any more ");
		out_percent(&out, v->suspects->p_none);
		shown++;
	}
	for (int i = 0; i < n && shown < 3; i++) {
		if (lines[i].p < .02 && shown > 0)
			break;
		if (shown++ > 0)
			text_add(&out, "; ");
		add_suspect(&out, t->kn, &lines[i]);
	}
	out_say(&t->out, 0, 2, "Now: %s.", text_str(&out));
	mem_free(lines);
	text_free(&out);
}

/* Single places that are equally likely are told in one word. */
static void places(struct text *out, const struct kn_knowledge *kn, const struct su_line *line)
{
	int first = KN_NONE, n = 0;
	double low = 1, high = 0;

	for (int i = 0; i < line->nfaults; i++) {
		if (kn->faults[line->fault[i]].all)
			continue;
		if (first == KN_NONE)
			first = i;
		n++;
		low = fmin(low, line->by_fault[i]);
		high = fmax(high, line->by_fault[i]);
	}
	for (int i = 0; i < line->nfaults; i++) {
		const struct kn_fault *f = &kn->faults[line->fault[i]];
		bool alike = !f->all && n > 1 && high - low < .005;
		if (alike && i != first)
			continue;
		text_add(out, out->len ? ", " : "");
		if (alike)
			text_add(out, "each alike");
		else
			text_add(out, f->all ? "all of them"
					     : place_id(kn, kn->parts[f->part].kind, f->place));
		text_add(out, ": ");
		out_percent(out, line->by_fault[i]);
	}
}

void explain_rank(struct talk *t, int most)
{
	const struct job_view *v = talk_view(t);
	struct su_line *lines = NULL;
	int n;

	if (!v)
		return;
	n = su_lines(v->suspects, &lines);
	out_say(&t->out, 0, 2, "What may be wrong, likeliest first:");
	for (int i = 0; i < n && i < most; i++) {
		struct text name = {0}, share = {0}, where = {0}, label = {0};
		explain_line(&name, t->kn, &lines[i]);
		out_percent(&share, lines[i].p);
		if (lines[i].undecided)
			places(&where, t->kn, &lines[i]);
		text_addf(&label, "%2d  %s", i + 1, text_str(&share));
		out_item(&t->out, 18, text_str(&label), "%s%s%s%s", text_str(&name),
			 where.len ? " (" : "", text_str(&where), where.len ? ")" : "");
		text_free(&label);
		text_free(&name);
		text_free(&share);
		text_free(&where);
	}
	if (v->suspects->p_none >= .01) {
		struct text share = {0}, label = {0};
		out_percent(&share, v->suspects->p_none);
		text_addf(&label, "    %s", text_str(&share));
		out_item(&t->out, 18, text_str(&label), "nothing wrong any more");
		text_free(&label);
		text_free(&share);
	}
	out_say(&t->out, 2, 2, "Not looked at: at most %.2g %% of the weight.", 100 * v->suspects->left_out);
	explain_families(t);
	mem_free(lines);
}

/* ---- why ------------------------------------------------------------------------------------------- */

/* Words for decibans: 10 is ten to one. */
static const char *strength(double decibans)
{
	double d = fabs(decibans);

	return d >= 15 ? "very strongly" : d >= 10 ? "strongly" : d >= 5 ? "clearly" : "a little";
}

static const struct job_finding *finding_of(const struct job_view *v, int evidence)
{
	for (int i = 0; i < v->nfindings; i++) {
		const struct job_finding *f = &v->findings[i];
		if (evidence >= f->first_evidence && evidence < f->first_evidence + f->nevidence)
			return f;
	}
	return NULL;
}

static void say_finding(struct talk *t, const struct job_finding *f, double decibans)
{
	struct talk_step s = {.kind = PL_CHECK, .index = f->check, .place = f->place};
	struct text title = {0};

	explain_title(&title, t->kn, &s);
	out_say(&t->out, 4, 6, "%s %s: %s = %s (%+.0f dB)", strength(decibans),
		decibans > 0 ? "for it" : "against it", text_str(&title), f->raw, decibans);
	text_free(&title);
}

/* The answers that moved the suspect most, at most three, a deciban at least. */
static void say_moves(struct talk *t, const struct job_view *v, const double *moved)
{
	int n = v->the_case.nevidence;
	bool *said = mem_array((size_t)n + 1, sizeof *said);

	for (int k = 0; k < 3; k++) {
		int best = KN_NONE;
		for (int i = 0; i < n; i++)
			if (!said[i] && isfinite(moved[i]) && fabs(moved[i]) >= 1 &&
			    finding_of(v, i) &&
			    (best == KN_NONE || fabs(moved[i]) > fabs(moved[best])))
				best = i;
		const struct job_finding *f = best == KN_NONE ? NULL : finding_of(v, best);
		if (!f)
			break;
		said[best] = true;
		say_finding(t, f, moved[best]);
	}
	mem_free(said);
}

static void say_why_suspect(struct talk *t, const struct job_view *v, const struct su_line *line)
{
	struct su_settings settings = su_settings_default();
	double *moved = mem_array((size_t)v->the_case.nevidence + 1, sizeof *moved);
	struct text name = {0};
	struct hs_err err = {0};

	add_suspect(&name, t->kn, line);
	out_say(&t->out, 2, 4, "%s", text_str(&name));
	if (line->mode != KN_NONE &&
	    su_why(t->kn, &v->the_case, &settings, line->mode, moved, &err) == 0)
		say_moves(t, v, moved);
	text_free(&name);
	mem_free(moved);
}

static void say_reason(struct talk *t, const struct pl_step *p)
{
	const struct kn_check *c = &t->kn->checks[p->index];

	for (int i = 0; p->kind == PL_CHECK && i < p->nreasons; i++) {
		const struct pl_reason *r = &p->reason[i];
		struct text line = {0};
		text_addf(&line, "%s", c->outcomes[r->outcome].title);
		if (r->place != KN_NONE)
			text_addf(&line, " at %s", place_id(t->kn, c->outcomes[r->outcome].local_kind != KN_NONE
							    ? c->outcomes[r->outcome].local_kind : c->per,
							    r->place));
		text_add(&line, " (to be expected ");
		out_percent(&line, r->p);
		text_add(&line, ") would point to: ");
		kn_mode_title(&line, t->kn, r->mode);
		text_addc(&line, ' ');
		out_percent(&line, r->p_mode);
		out_say(&t->out, 4, 6, "%s", text_str(&line));
		text_free(&line);
	}
}

void explain_why(struct talk *t)
{
	const struct job_view *v = talk_view(t);
	const struct pl_plan *plan = v ? talk_plan(t) : NULL;
	struct su_line *lines = NULL;
	int n;

	if (!plan)
		return;
	for (int i = 0; i < plan->nsteps; i++) {
		const struct pl_step *p = &plan->step[i];
		if (p->kind == PL_HAND_OVER || p->kind != t->step.kind || p->index != t->step.index)
			continue;
		out_say(&t->out, 2, 4, "This step: %s", p->why);
		say_reason(t, p);
	}
	v = talk_view(t);
	if (!v)
		return;
	n = su_lines(v->suspects, &lines);
	out_say(&t->out, 2, 4, "What the answers say about the leading suspects:");
	for (int i = 0; i < n && i < 3; i++)
		say_why_suspect(t, v, &lines[i]);
	mem_free(lines);
	explain_firmness(t);
	explain_step_firmness(t);
	explain_fit(t);
}

/* ---- plan ------------------------------------------------------------------------------------------- */

static void plan_title(struct text *out, const struct talk *t, const struct pl_step *p)
{
	struct talk_step s = {.kind = p->kind, .index = p->index, .place = p->place};

	if (p->kind == PL_HAND_OVER)
		text_add(out, "Hand it over");
	else
		explain_title(out, t->kn, &s);
}

static void say_planned(struct talk *t, const struct pl_step *p, int number)
{
	struct text line = {0};
	char label[16];

	plan_title(&line, t, p);
	if (p->kind != PL_HAND_OVER)
		text_addf(&line, " [%s]", p->kind == PL_CHECK ? t->kn->checks[p->index].id
							       : t->kn->remedies[p->index].id);
	text_add(&line, ": ");
	out_minutes(&line, p->minutes);
	if (p->money >= .5)
		text_addf(&line, ", parts about %.0f", p->money);
	if (p->saves <= -1 && isfinite(p->saves)) {
		text_add(&line, "; ");
		out_minutes(&line, -p->saves);
		text_add(&line, " more on average");
	}
	snprintf(label, sizeof label, "%2d", number);
	out_item(&t->out, 6, label, "%s", text_str(&line));
	text_free(&line);
}

/* The runners-up: two at most, under the numbers that `do` takes. */
void explain_others(struct talk *t, const struct pl_plan *plan)
{
	int n = 0;

	if (plan->as_good > 1)
		out_say(&t->out, 2, 2, "%s is as good: they differ by less than a minute.",
			plan->as_good == 2 ? "Either of these two" : "Any of these three");
	for (int i = 0; i < plan->nsteps && n < 2; i++) {
		const struct pl_step *p = &plan->step[i];
		if (p->kind == PL_HAND_OVER || (p->kind == t->step.kind && p->index == t->step.index))
			continue;
		if (n++ == 0)
			out_say(&t->out, 2, 2, "Or, with `do` and its number:");
		say_planned(t, p, i + 1);
	}
}

void explain_plan(struct talk *t)
{
	const struct pl_plan *plan = talk_plan(t);
	struct text line = {0};

	if (!plan)
		return;
	out_say(&t->out, 0, 2, "What comes next, best first:");
	for (int i = 0; i < plan->nsteps; i++) {
		const struct pl_step *p = &plan->step[i];
		say_planned(t, p, i + 1);
		text_clear(&line);
		text_add(&line, "to a bike that runs right, on average ");
		out_minutes(&line, p->expected_total);
		if (p->why[0])
			text_addf(&line, "; %s", p->why);
		out_say(&t->out, 6, 6, "%s", text_str(&line));
	}
	if (plan->blocked_by != KN_NONE)
		out_say(&t->out, 2, 2, "Steps wait until this is cleared: %s.",
			t->kn->holds[plan->blocked_by].title);
	if (plan->tool_wanted != KN_NONE) {
		text_clear(&line);
		out_minutes(&line, plan->tool_saves);
		out_say(&t->out, 2, 2, "The tool that would save most: %s, %s on average.",
			t->kn->tools[plan->tool_wanted].title, text_str(&line));
	}
	ahead_ways(t);
	text_free(&line);
}

/* ---- what was understood ----------------------------------------------------------------------------- */

/* What the figure judged is in: one over another has no unit. */
static enum rd_unit judged_in(const struct kn_reading *r)
{
	return r->derive == RD_LEAST_OVER_MOST || r->derive == RD_EACH_OVER_HIGHEST ? RD_NO_UNIT : r->unit;
}

static void band_words(struct text *out, const struct kn_reading *r)
{
	const char *unit = rd_unit_name(judged_in(r)), *blank = *unit ? " " : "";

	if (isfinite(r->low) && isfinite(r->high))
		text_addf(out, "band %g to %g%s%s", r->low, r->high, blank, unit);
	else if (isfinite(r->low))
		text_addf(out, "at least %g%s%s", r->low, blank, unit);
	else if (isfinite(r->high))
		text_addf(out, "at most %g%s%s", r->high, blank, unit);
}

static void say_number(struct talk *t, const struct kn_reading *r, enum rd_kind kind, double raw,
		       double value, double u, enum rd_verdict verdict, const char *where)
{
	struct text line = {0};

	bool same = kind != RD_NUMBER || raw == value;

	text_add(&line, where);
	if (!same)
		text_add(&line, "shown ");
	rd_format(&line, kind, raw, u, r->unit);
	if (!same) {
		text_add(&line, ", taken as ");
		rd_format(&line, kind, value, u, judged_in(r));
	}
	if (kind == RD_NUMBER && u > 0)
		text_addf(&line, " (+/- %.2g)", 2 * u);
	if (verdict != RD_NO_BAND) {
		text_addf(&line, ": %s", rd_verdict_words(verdict));
		struct text band = {0};
		band_words(&band, r);
		if (band.len)
			text_addf(&line, " (%s)", text_str(&band));
		text_free(&band);
	}
	out_say(&t->out, 2, 4, "%s.", text_str(&line));
	text_free(&line);
}

void explain_understood(struct talk *t, int check, const struct job_understood *u, bool means)
{
	const struct kn_check *c = &t->kn->checks[check];
	const struct rd_result *r = &u->reading;

	if (u->echo[0])
		out_say(&t->out, 0, 2, "Understood: %s.", u->echo);
	if (u->number && c->reading) {
		for (int i = 0; i < r->nplaces; i++) {
			const struct rd_place_result *at = &r->at[i];
			struct text where = {0};
			text_addf(&where, "%s: ", c->per == KN_NONE ? "" : place_id(t->kn, c->per, i));
			if (at->given)
				say_number(t, c->reading, at->kind, at->raw, at->value, at->u, at->verdict,
					   text_str(&where));
			text_free(&where);
		}
		if (r->nplaces == 0 || c->reading->derive == RD_SPREAD ||
		    c->reading->derive == RD_LEAST_OVER_MOST)
			say_number(t, c->reading, r->kind, r->raw, r->value, r->u, r->verdict, "");
		for (int i = 0; i < r->nnotes; i++)
			out_say(&t->out, 2, 4, "%s.", r->note[i]);
	}
	if (means && u->outcome != KN_NONE && u->outcome < c->noutcomes && c->outcomes[u->outcome].means)
		out_say(&t->out, 2, 4, "%s", c->outcomes[u->outcome].means);
}
