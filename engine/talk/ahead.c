/* Looking ahead on the screen: what goes with a step before closing up, and the ways a job may go. */
#include <math.h>

#include "plan/closing.h"
#include "plan/ways.h"
#include "talk/inner.h"

#define HOPELESS .5           /* share of the ways that end by handing over */
#define HELPS .1              /* fewer of them with every tool */

static void name_spare(struct text *out, const struct talk *t, enum pl_kind kind, int index, int place)
{
	struct talk_step s = {.kind = kind, .index = index, .place = place};

	explain_title(out, t->kn, &s);
	text_addf(out, " [%s]", kind == PL_CHECK ? t->kn->checks[index].id : t->kn->remedies[index].id);
}

static void say_spare(struct talk *t, const struct pl_spare *x)
{
	struct text line = {0};

	name_spare(&line, t, x->kind, x->index, x->place);
	text_add(&line, ": ");
	out_minutes(&line, x->now_minutes);
	text_add(&line, " now, ");
	out_minutes(&line, x->later_minutes);
	text_add(&line, " once it is closed");
	if (x->kind == PL_REMEDY) {
		text_add(&line, "; it would be needed in ");
		out_percent(&line, x->chance);
	}
	out_say(&t->out, 4, 6, "%s.", text_str(&line));
	text_free(&line);
}

static void name_closing(struct text *out, const struct kn_knowledge *kn, uint64_t closes)
{
	int n = 0;

	for (int a = 0; a < kn->naccesses; a++)
		if (closes >> a & 1)
			text_addf(out, "%s%s", n++ ? ", " : "", kn->accesses[a].title);
}

void ahead_before_closing(struct talk *t, const struct pl_step *planned)
{
	const struct job_view *v = talk_view(t);
	struct pl_step chosen = {.kind = t->step.kind, .index = t->step.index, .place = t->step.place};
	const struct pl_step *p = planned ? planned : &chosen;
	struct pl_situation now;
	struct pl_closing closing;
	struct text names = {0};

	if (!v || !v->suspects)
		return;
	job_situation(v, &now);
	pl_before_closing(&now, p, &closing);
	for (int i = 0; i < closing.nlost; i++) {
		text_clear(&names);
		name_spare(&names, t, PL_CHECK, closing.lost[i], KN_NONE);
		out_say(&t->out, 2, 2, "Look first, while it is still there to be seen: %s.", text_str(&names));
	}
	text_clear(&names);
	name_closing(&names, t->kn, closing.closes);
	if (closing.n > 0)
		out_say(&t->out, 2, 2, "Before closing up (%s), nearly free now:", text_str(&names));
	for (int i = 0; i < closing.n; i++)
		say_spare(t, &closing.spare[i]);
	text_free(&names);
}

/* So many jobs say no more than a count: "22 of 24". */
static void add_count(struct text *out, const struct pl_ways *ways, double share)
{
	text_addf(out, "%.0f of %d", share * ways->nruns, ways->nruns);
}

static void say_way(struct talk *t, const struct pl_ways *ways, const struct pl_way *w)
{
	struct text line = {0};

	text_add(&line, "In ");
	add_count(&line, ways, w->share);
	text_addf(&line, ": %.0f check%s, then ", w->checks, fabs(w->checks - 1) < .5 ? "" : "s");
	if (w->remedy == KN_NONE)
		text_add(&line, "it is handed over");
	else
		name_spare(&line, t, PL_REMEDY, w->remedy, w->place);
	text_add(&line, "; ");
	out_minutes(&line, w->minutes);
	if (w->money >= .5)
		text_addf(&line, ", parts about %.0f", w->money);
	out_say(&t->out, 4, 6, "%s.", text_str(&line));
	text_free(&line);
}

/* Where most ways end by handing over: why, and whether tools would help. */
static void say_hopeless(struct talk *t, struct pl_situation now, double over)
{
	struct text line = {0};
	struct pl_ways ways;

	if (over < HOPELESS)
		return;
	text_add(&line, "Handing over counts as ");
	out_minutes(&line, now.rates.hand_over);
	text_add(&line, " here: going on would cost more than that");
	if (now.rates.labour > 0)
		text_add(&line, "; `rates home` counts it dearer");
	out_say(&t->out, 2, 2, "%s.", text_str(&line));
	text_free(&line);
	if (!talk_view(t)->tools_told)
		return;
	now.tools = ~(uint64_t)0;
	pl_ways(&now, &ways);
	if (over - ways.over >= HELPS) {
		text_add(&line, "With every tool it would be handed over in ");
		add_count(&line, &ways, ways.over);
		text_add(&line, " instead of ");
		add_count(&line, &ways, over);
		out_say(&t->out, 2, 2, "%s. What can be borrowed is told with `tools`.", text_str(&line));
	}
	text_free(&line);
}

void ahead_ways(struct talk *t)
{
	const struct job_view *v = talk_view(t);
	struct pl_situation now;
	struct pl_ways ways;
	struct text line = {0};

	if (!v || !v->suspects)
		return;
	job_situation(v, &now);
	pl_ways(&now, &ways);
	out_say(&t->out, 2, 2, "How it may go from here, by %d jobs drawn from the suspects:", ways.nruns);
	for (int i = 0; i < ways.n; i++)
		say_way(t, &ways, &ways.way[i]);
	text_add(&line, "On average ");
	out_minutes(&line, ways.minutes);
	if (ways.money >= .5)
		text_addf(&line, " and parts about %.0f", ways.money);
	text_add(&line, "; 8 jobs in 10 between ");
	out_minutes(&line, ways.low);
	text_add(&line, " and ");
	out_minutes(&line, ways.high);
	if (ways.over >= .005) {
		text_add(&line, "; not counting what comes after handing over, ");
		add_count(&line, &ways, ways.over);
	}
	out_say(&t->out, 2, 2, "%s.", text_str(&line));
	text_free(&line);
	say_hopeless(t, now, ways.over);
}
