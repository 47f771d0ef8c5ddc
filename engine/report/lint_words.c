/* Texts: cautions where a hazard is named, and nothing too long for a screen. */
#include <ctype.h>
#include <string.h>

#include "report/lint.h"

/* ---- hazards -------------------------------------------------------------------------------- */

/* A word that names a hazard, at its beginning; what kind of caution or access carries it. */
struct hazard { const char *what; const char *words[8]; const char *cautions[6]; };

static const struct hazard hazards[] = {
	{ "petrol",
	  { "petrol", "fuel runs", "fuel hose off", "drain the bowl", "drain each bowl" },
	  { "petrol", "fumes", "spark-near-mist", "liquid-lock" } },
	{ "high voltage",
	  { "high voltage", "gap tester", "short each", "spark jumps" },
	  { "high-voltage", "electric", "petrol" } },
	{ "hot parts",
	  { "hot engine", "while hot", "header", "exhaust pipe", "hot water", "hot air" },
	  { "burns", "fumes", "moving", "petrol" } },
	{ "pressure",
	  { "compressed air", "pressure air", "blow dry air", "pump up", "700 kPa" },
	  { "pressure", "eyes", "moving", "fumes" } },
};

static bool names_word(const char *text, const char *word)
{
	for (const char *at = strcasestr(text, word); at; at = strcasestr(at + 1, word))
		if (at == text || !isalpha((unsigned char)at[-1]))
			return true;
	return false;
}

static bool names_hazard(const char *text, const struct hazard *h)
{
	for (size_t i = 0; i < sizeof h->words / sizeof *h->words && h->words[i]; i++)
		if (names_word(text, h->words[i]))
			return true;
	return false;
}

static bool carries(const struct kn_caution *cautions, int n, const char *const *kinds,
		    size_t nkinds)
{
	for (int c = 0; c < n; c++)
		for (size_t k = 0; k < nkinds && kinds[k]; k++)
			if (strcmp(cautions[c].hazard, kinds[k]) == 0)
				return true;
	return false;
}

static void need_caution(struct lint *l, const char *kind, const char *id, const char *text,
			 const struct kn_caution *cautions, int n)
{
	for (size_t i = 0; i < sizeof hazards / sizeof *hazards; i++)
		if (names_hazard(text, &hazards[i]) &&
		    !carries(cautions, n, hazards[i].cautions,
			     sizeof hazards[i].cautions / sizeof *hazards[i].cautions))
			lint_add(l, LINT_FAULT, "no-caution",
				 "%s %s names %s and has no caution for it", kind, id,
				 hazards[i].what);
}

/* An engine that runs or is ridden hurts by gas, moving parts, heat or traffic. */
static void need_running_caution(struct lint *l, const struct kn_check *c)
{
	static const char *const kinds[] = { "fumes",	     "moving",	 "burns",  "road",
					     "high-voltage", "throttle", "petrol", "electric" };

	if (c->energy >= KN_RUNNING && c->kind != KN_SYMPTOM &&
	    !carries(c->cautions, c->ncautions, kinds, sizeof kinds / sizeof *kinds))
		lint_add(l, LINT_FAULT, "no-caution",
			 "check %s has the engine running and no caution", c->id);
}

/* ---- lengths -------------------------------------------------------------------------------- */

/* Columns of 80: a title in one line with a figure behind it, an instruction in a third of a
 * screen. */
enum { TITLE = 64, ANSWER = 52, LINE = 160, INSTRUCTION = 620, STEP = 240, CAUTION = 240 };

static void fits(struct lint *l, const char *kind, const char *id, const char *what,
		 const char *text, int most)
{
	int width = text ? text_width(text) : 0;

	if (width > most)
		lint_add(l, LINT_FAULT, "too-long", "%s %s: %s of %d columns, %d at most", kind, id,
			 what, width, most);
}

static void check_fits(struct lint *l, const struct kn_check *c)
{
	const char *kind = c->kind == KN_SYMPTOM ? "symptom" : "check";

	fits(l, kind, c->id, "title", c->title, TITLE);
	fits(l, kind, c->id, "instruction", c->how, INSTRUCTION);
	for (int o = 0; o < c->noutcomes; o++) {
		fits(l, kind, c->id, "answer", c->outcomes[o].title, ANSWER);
		fits(l, kind, c->id, "meaning", c->outcomes[o].means, LINE);
	}
	for (int i = 0; i < c->nasks; i++)
		fits(l, kind, c->id, "question", c->asks[i], LINE);
	for (int i = 0; i < c->ncautions; i++)
		fits(l, kind, c->id, "caution", c->cautions[i].text, CAUTION);
}

static void remedy_fits(struct lint *l, const struct kn_remedy *r)
{
	fits(l, "remedy", r->id, "title", r->title, TITLE);
	for (int i = 0; i < r->nsteps; i++)
		fits(l, "remedy", r->id, "step", r->steps[i], STEP);
	for (int i = 0; i < r->ncautions; i++)
		fits(l, "remedy", r->id, "caution", r->cautions[i].text, CAUTION);
}

static void access_fits(struct lint *l, const struct kn_access *a)
{
	for (int i = 0; i < a->ncautions; i++)
		fits(l, "access", a->id, "caution", a->cautions[i].text, CAUTION);
}

void lint_words(struct lint *l, const struct kn_knowledge *kn)
{
	for (int i = 0; i < kn->nchecks; i++) {
		const struct kn_check *c = &kn->checks[i];

		if (!c->offered)
			continue;
		check_fits(l, c);
		if (c->kind == KN_SYMPTOM)
			continue;
		if (!c->how || !*c->how)
			lint_add(l, LINT_FAULT, "no-instruction", "check %s does not say how",
				 c->id);
		need_caution(l, "check", c->id, c->how, c->cautions, c->ncautions);
		need_running_caution(l, c);
	}
	for (int i = 0; i < kn->naccesses; i++)
		access_fits(l, &kn->accesses[i]);
	for (int i = 0; i < kn->nremedies; i++) {
		const struct kn_remedy *r = &kn->remedies[i];

		remedy_fits(l, r);
		if (!r->nsteps)
			lint_add(l, LINT_FAULT, "no-instruction", "remedy %s has no steps", r->id);
		if (!r->nverifies)
			lint_fault_about(l, "no-verification", r->id, "remedy", "is verified by nothing");
		for (int s = 0; s < r->nsteps; s++)
			need_caution(l, "remedy", r->id, r->steps[s], r->cautions, r->ncautions);
	}
}
