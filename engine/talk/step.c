/* The next step: the plan's advice, or what somebody chose with `do`. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "talk/inner.h"

void step_set(struct talk *t, enum pl_kind kind, int index, int place)
{
	t->step = (struct talk_step){.chosen = true, .kind = kind, .index = index, .place = place};
}

void step_drop(struct talk *t)
{
	t->step = (struct talk_step){.place = KN_NONE};
}

int hold_on(const struct job_view *v, enum kn_energy energy)
{
	for (int i = 0; i < v->nholds; i++) {
		const struct kn_hold *h = &v->kn->holds[v->holds[i]];
		if (h->blocks != KN_ENERGY_NONE && energy >= h->blocks)
			return v->holds[i];
	}
	return KN_NONE;
}

/* ---- naming a step --------------------------------------------------------------------------------- */

/* Checks first, then remedies when they are allowed. KN_NONE or an index into both. */
static int by_name(const struct kn_knowledge *kn, const char *typed, bool remedies, struct hs_err *err)
{
	int n = kn->nchecks + (remedies ? kn->nremedies : 0), found;
	struct talk_choice *c = mem_array((size_t)n + 1, sizeof *c);

	for (int i = 0; i < kn->nchecks; i++)
		c[i] = (struct talk_choice){kn->checks[i].id, kn->checks[i].title};
	for (int i = kn->nchecks; i < n; i++)
		c[i] = (struct talk_choice){kn->remedies[i - kn->nchecks].id,
					    kn->remedies[i - kn->nchecks].title};
	/* A number is a place in a list on the screen, never one in this list. */
	found = *typed >= '0' && *typed <= '9' ? KN_NONE : choose_one(c, n, typed);
	if (found == KN_NONE) {
		const char *near = choose_near(c, n, typed);
		err_set(err, HS_BAD_INPUT, "There is no %s \"%s\", or the name could be several.%s%s%s",
			remedies ? "check or repair" : "check", typed, near ? " Did you mean " : "",
			near ? near : "", near ? "?" : "");
	}
	mem_free(c);
	return found;
}

static int parse_place(const struct kn_knowledge *kn, int kind, const char *typed,
		       struct talk_step *out, struct hs_err *err)
{
	if (kind == KN_NONE)
		return err_set(err, HS_BAD_INPUT, "This is done once, not at a place: leave \"@%s\" away.",
			       typed);
	out->place = kn_place_by_id(&kn->kinds[kind], typed);
	out->everywhere = text_same_word(typed, "all");
	if (out->place == KN_NONE && !out->everywhere)
		return err_set(err, HS_BAD_INPUT, "There is no %s \"%s\".", kn->kinds[kind].title, typed);
	return 0;
}

int step_parse(const struct kn_knowledge *kn, const char *typed, bool remedies, struct talk_step *out,
	       struct hs_err *err)
{
	char *name = mem_strdup(typed), *at = strchr(name, '@');
	int found, kind, result = 0;

	*out = (struct talk_step){.chosen = true, .place = KN_NONE};
	if (at)
		*at++ = '\0';
	found = by_name(kn, name, remedies, err);
	if (found == KN_NONE) {
		result = -1;
	} else {
		bool remedy = found >= kn->nchecks;
		out->kind = remedy ? PL_REMEDY : PL_CHECK;
		out->index = remedy ? found - kn->nchecks : found;
		kind = remedy ? kn->remedies[out->index].per : kn->checks[out->index].per;
		if (at)
			result = parse_place(kn, kind, at, out, err);
	}
	mem_free(name);
	return result;
}

static bool blocked(struct talk *t, const struct talk_step *s, struct hs_err *err)
{
	const struct job_view *v = talk_view(t);
	enum kn_energy energy;
	int hold;

	if (!v)
		return true;
	energy = s->kind == PL_CHECK ? check_energy(&t->kn->checks[s->index])
				     : t->kn->remedies[s->index].energy;
	hold = hold_on(v, energy);
	if (hold == KN_NONE)
		return false;
	const struct kn_hold *h = &t->kn->holds[hold];
	err_set(err, HS_BAD_INPUT, "%s: %s. %s This step has to wait.", kn_signal_word(h->signal),
		h->title, h->say);
	return true;
}

/* "2": a line of the list of advice. */
static bool by_number(struct talk *t, const char *argument, struct talk_step *s)
{
	const struct pl_plan *plan;

	if (argument[0] < '1' || argument[0] > '9' || argument[1] != '\0')
		return false;
	plan = talk_plan(t);
	if (!plan || argument[0] - '0' > plan->nsteps)
		return false;
	const struct pl_step *p = &plan->step[argument[0] - '1'];
	*s = (struct talk_step){.chosen = true, .kind = p->kind, .index = p->index, .place = p->place};
	return true;
}

int step_choose(struct talk *t, const char *argument, struct hs_err *err)
{
	struct talk_step s;

	if (!by_number(t, argument, &s)) {
		if (t->over)
			return -1;
		if (step_parse(t->kn, argument, true, &s, err) < 0)
			return -1;
	}
	if (s.kind == PL_CHECK && !t->kn->checks[s.index].offered)
		return err_set(err, HS_BAD_INPUT, "%s: not possible on this machine.",
			       t->kn->checks[s.index].title);
	if (s.kind == PL_CHECK && t->kn->checks[s.index].kind == KN_SYMPTOM)
		return err_set(err, HS_BAD_INPUT, "That is a complaint, not a check: `tell %s=yes` says "
			       "that it does this too.", t->kn->checks[s.index].id);
	if (s.kind != PL_HAND_OVER && blocked(t, &s, err))
		return -1;
	t->step = s;
	return 0;
}

/* ---- showing ----------------------------------------------------------------------------------------- */

void explain_title(struct text *out, const struct kn_knowledge *kn, const struct talk_step *s)
{
	int per = s->kind == PL_CHECK ? kn->checks[s->index].per : kn->remedies[s->index].per;

	text_add(out, s->kind == PL_CHECK ? kn->checks[s->index].title : kn->remedies[s->index].title);
	if (per != KN_NONE && s->place != KN_NONE)
		text_addf(out, ", %s %s", kn->kinds[per].title, kn->kinds[per].places[s->place].id);
}

static bool same_step(const struct talk_step *a, const struct talk_step *b)
{
	return a->kind == b->kind && a->index == b->index && a->place == b->place &&
	       a->everywhere == b->everywhere;
}

/* The plan's entry for the step on hand, or NULL when it is none of those. */
static const struct pl_step *planned(const struct pl_plan *plan, const struct talk_step *s)
{
	for (int i = 0; i < plan->nsteps; i++)
		if (plan->step[i].kind == s->kind && plan->step[i].index == s->index)
			return &plan->step[i];
	return NULL;
}

static void add_money(struct text *out, double money)
{
	if (money >= .5)
		text_addf(out, ", parts about %.0f", money);
}

/* Where hours are charged: the whole bill of the step. */
static void add_labour(struct talk *t, struct text *out, double minutes, double money)
{
	const struct job_view *v = talk_view(t);
	struct pl_rates r;

	if (v && v->rates && pl_rates_named(v->rates, &r) && r.labour > 0)
		text_addf(out, ", about %.0f with the labour", minutes * r.labour + money);
}

static double step_minutes(struct talk *t, const struct talk_step *s, double *money)
{
	const struct job_view *v = talk_view(t);
	struct pl_situation now;

	*money = 0;
	if (!v)
		return 0;
	job_situation(v, &now);
	return s->kind == PL_CHECK ? pl_check_minutes(&now, s->index)
				   : pl_remedy_minutes(&now, s->index, s->place, money);
}

static void show_cost(struct talk *t, const struct pl_step *p, const struct talk_step *s)
{
	struct text line = {0};
	double money, minutes = step_minutes(t, s, &money);

	text_add(&line, "Takes ");
	out_minutes(&line, p ? p->minutes : minutes);
	add_money(&line, p ? p->money : money);
	add_labour(t, &line, p ? p->minutes : minutes, p ? p->money : money);
	if (p && p->saves >= 1 && isfinite(p->saves)) {
		text_add(&line, "; saves ");
		out_minutes(&line, p->saves);
		text_add(&line, " on average against the best way without it");
	} else if (p && p->saves <= -1) {
		text_add(&line, "; ");
		out_minutes(&line, -p->saves);
		text_add(&line, " more on average than the shortest way, to be surer before a long repair");
	}
	out_say(&t->out, 2, 2, "%s.", text_str(&line));
	if (p && p->why[0])
		out_say(&t->out, 2, 2, "Why: %s", p->why);
	text_free(&line);
}

static void show_how(struct talk *t, const struct talk_step *s)
{
	const struct kn_check *c = &t->kn->checks[s->index];
	const struct kn_remedy *r = &t->kn->remedies[s->index];

	if (s->kind == PL_CHECK) {
		access_say(t, c->access, step_energy(t, s->index));
		if (c->how && *c->how)
			out_say(&t->out, 2, 2, "How: %s", c->how);
		return;
	}
	access_say(t, r->access, r->energy);
	for (int i = 0; i < r->nsteps; i++)
		out_say(&t->out, 2, 5, "%d. %s", i + 1, r->steps[i]);
}

static void show_tools(struct talk *t, uint64_t tools)
{
	const struct job_view *v = talk_view(t);
	struct text names = {0};

	for (int i = 0; i < t->kn->ntools; i++)
		if (tools >> i & 1)
			text_addf(&names, "%s%s%s", names.len ? ", " : "", t->kn->tools[i].title,
				  !v || v->tools >> i & 1 ? "" : " (to be borrowed)");
	if (names.len)
		out_say(&t->out, 2, 2, "Tools: %s.", text_str(&names));
	text_free(&names);
}

/* Cautions come first: they must be read before anything is touched, and before it is opened. */
static void show_cautions(struct talk *t, const struct talk_step *s)
{
	const struct kn_check *c = &t->kn->checks[s->index];
	const struct kn_remedy *r = &t->kn->remedies[s->index];
	bool check = s->kind == PL_CHECK;
	const struct kn_caution *own = check ? c->cautions : r->cautions;
	int n = check ? c->ncautions : r->ncautions;

	explain_cautions(t, own, n);
	access_cautions(t, check ? c->access : r->access, own, n);
}

static void show_step(struct talk *t, const struct pl_plan *plan)
{
	const struct talk_step *s = &t->step;
	bool check = s->kind == PL_CHECK;
	struct text title = {0};

	out_blank(&t->out);
	explain_title(&title, t->kn, s);
	if (t->shown_any && same_step(s, &t->shown)) {
		out_say(&t->out, 0, 2, "Still step %d: %s", t->step_number, text_str(&title));
	} else {
		const struct pl_step *p = plan ? planned(plan, s) : NULL;

		out_say(&t->out, 0, 2, "%s %d%s: %s [%s]", s->verifies ? "Proof, step" :
			check ? "Step" : "Repair, step", ++t->step_number, p && p->again ? ", once more" : "",
			text_str(&title), check ? t->kn->checks[s->index].id : t->kn->remedies[s->index].id);
		show_cautions(t, s);
		order_say(t, s);
		show_how(t, s);
		show_tools(t, check ? t->kn->checks[s->index].tools : t->kn->remedies[s->index].tools);
		show_cost(t, p, s);
		before_say(t, s, p && p->again);
		ahead_before_closing(t, p);
		if (plan && !s->chosen)
			explain_others(t, plan);
	}
	t->shown = *s;
	t->shown_any = true;
	text_free(&title);
}

static enum talk_reply hand_over(struct talk *t, const struct pl_plan *plan)
{
	bool yes = false;
	enum talk_reply reply;

	out_blank(&t->out);
	out_say(&t->out, 0, 2, "Nothing that can be done here is worth more than handing it over.");
	if (plan->tool_wanted != KN_NONE)
		out_say(&t->out, 2, 2, "With this tool it would go on: %s (`tools` adds it).",
			t->kn->tools[plan->tool_wanted].title);
	if (plan->blocked_by != KN_NONE)
		out_say(&t->out, 2, 2, "Some steps wait until this is cleared: %s.",
			t->kn->holds[plan->blocked_by].title);
	explain_others(t, plan);
	reply = talk_ask_yes(t, "End the job here", NULL, NULL, NULL, &yes);
	if (reply == TALK_BACK) {
		talk_back(t);
		return TALK_MOVED;
	}
	if (reply != TALK_TEXT)
		return reply == TALK_OVER ? TALK_OVER : TALK_MOVED;
	if (yes)
		return ask_finish(t);
	out_say(&t->out, 0, 2, "Then name a step with `do STEP`, or tell more with `tell`, `tools`, "
		"`now`.");
	return TALK_MOVED;
}

enum talk_reply ask_step(struct talk *t)
{
	const struct pl_plan *plan = NULL;

	if (!t->step.chosen) {
		plan = talk_plan(t);
		if (!plan)
			return TALK_OVER;
		const struct pl_step *p = &plan->step[0];
		if (p->kind == PL_HAND_OVER)
			return hand_over(t, plan);
		t->step = (struct talk_step){.kind = p->kind, .index = p->index, .place = p->place};
	} else if (t->step.kind == PL_HAND_OVER) {
		step_drop(t);
		return ask_finish(t);
	}
	if (!t->step.adjusts)
		show_step(t, plan);
	if (t->over)
		return TALK_OVER;
	return t->step.adjusts ? ask_adjust(t) : t->step.kind == PL_CHECK ? ask_check(t) : ask_remedy(t);
}
