/* From what was typed to what it says: an outcome by word, or a reading. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "job/inner.h"
#include "reading/blink.h"
#include "reading/unit.h"

bool job_is_reading(const struct kn_check *c) { return c->reading != NULL; }

/* ---- words -------------------------------------------------------------------------------------- */

static int outcome_by_number(const struct kn_check *c, const char *word)
{
	char *end;
	long n = strtol(word, &end, 10);

	return *word && !*end && n >= 1 && n <= c->noutcomes ? (int)n - 1 : KN_NONE;
}

/* Number, id, title, or the only one that begins so. */
static int outcome_by_word(const struct kn_check *c, const char *word, bool numbers)
{
	int found = KN_NONE, hits = 0;

	if (numbers && outcome_by_number(c, word) != KN_NONE)
		return outcome_by_number(c, word);
	for (int o = 0; o < c->noutcomes; o++)
		if (text_same_word(word, c->outcomes[o].id) || text_same_word(word, c->outcomes[o].title))
			return o;
	for (int o = 0; o < c->noutcomes; o++)
		if (text_starts_word(c->outcomes[o].id, word) ||
		    text_starts_word(c->outcomes[o].title, word)) {
			found = o;
			hits++;
		}
	return hits == 1 ? found : KN_NONE;
}

static const struct kn_kind *kind_of_outcome(const struct kn_knowledge *kn, const struct kn_check *c,
					     const struct kn_outcome *o)
{
	if (!o->local)
		return NULL;
	if (o->local_kind != KN_NONE)
		return &kn->kinds[o->local_kind];
	return c->per == KN_NONE ? NULL : &kn->kinds[c->per];
}

/* Is the answer about one place of several, so that an outcome needs one? */
static const struct kn_kind *place_wanted(const struct kn_knowledge *kn, const struct kn_check *c,
					  int place, const struct kn_outcome *o)
{
	if (o->rest)
		return NULL;
	if (c->per != KN_NONE && !c->compare)
		return place == KN_NONE ? &kn->kinds[c->per] : NULL;
	return kind_of_outcome(kn, c, o);
}

static void list_outcomes(struct text *t, const struct kn_check *c)
{
	for (int o = 0; o < c->noutcomes; o++)
		text_addf(t, "%s%d %s", o ? "; " : "", o + 1, c->outcomes[o].title);
}

static enum job_status not_an_outcome(const struct kn_check *c, const char *word, struct hs_err *err)
{
	const char *names[KN_OUTCOMES_MAX], *near;
	struct text allowed = { 0 };

	for (int o = 0; o < c->noutcomes; o++)
		names[o] = c->outcomes[o].id;
	near = text_near(word, names, c->noutcomes);
	list_outcomes(&allowed, c);
	err_set(err, HS_BAD_INPUT, "\"%s\" is not an answer here. Answers are: %s.%s%s%s", word,
		text_str(&allowed), near ? " Did you mean " : "", near ? near : "", near ? "?" : "");
	text_free(&allowed);
	return JOB_REFUSED;
}

static void echo_outcome(struct job_understood *u, const struct kn_check *c, const struct kn_kind *k)
{
	const char *at = u->outcome_place == KN_NONE || !k ? "" : k->places[u->outcome_place].id;

	snprintf(u->echo, sizeof u->echo, "%.140s%s%s%s%s", c->outcomes[u->outcome].title,
		 *at ? ", " : "", *at ? k->title : "", *at ? " " : "", at);
}

/* "one-cold 3", "one-cold at 3": the last word may be the place. */
static enum job_status one_word(const struct kn_knowledge *kn, const struct kn_check *c, int place,
				const char *text, struct job_understood *out, struct hs_err *err)
{
	char word[256];
	const struct kn_kind *kind;
	const char *last = strrchr(text, ' ');

	snprintf(word, sizeof word, "%s", text);
	out->outcome = outcome_by_word(c, text, true);
	out->outcome_place = KN_NONE;
	if (out->outcome == KN_NONE && last) {
		size_t n = (size_t)(last - text);

		snprintf(word, sizeof word, "%.*s", (int)(n < 250 ? n : 250), text);
		if (strlen(word) > 3 && text_same_word(word + strlen(word) - 3, " at"))
			word[strlen(word) - 3] = '\0';
		out->outcome = outcome_by_word(c, word, true);
		if (out->outcome == KN_NONE)
			return not_an_outcome(c, text, err);
		kind = place_wanted(kn, c, place, &c->outcomes[out->outcome]);
		out->outcome_place = kind ? kn_place_by_id(kind, last + 1) : KN_NONE;
		if (out->outcome_place == KN_NONE) {
			err_set(err, HS_BAD_INPUT, kind ? "\"%s\" is not the name of a %s."
							: "\"%s\" is not understood behind the answer%s.",
				last + 1, kind ? kind->title : "");
			return JOB_REFUSED;
		}
	}
	if (out->outcome == KN_NONE)
		return not_an_outcome(c, text, err);
	kind = place_wanted(kn, c, place, &c->outcomes[out->outcome]);
	if (kind && out->outcome_place == KN_NONE && kind->nplaces == 1)
		out->outcome_place = 0;
	if (kind && out->outcome_place == KN_NONE) {
		err_set(err, HS_BAD_INPUT, "Which %s? Type it behind the answer, like %s %s.", kind->title,
			c->outcomes[out->outcome].id, kind->places[0].id);
		return JOB_REFUSED;
	}
	echo_outcome(out, c, kind);
	return JOB_OK;
}

/* ---- lamp codes ------------------------------------------------------------------------------------ */

static bool lists_codes(const struct kn_check *c)
{
	for (int o = 0; o < c->noutcomes; o++)
		if (strncmp(c->outcomes[o].id, "code-", 5) == 0)
			return true;
	return false;
}

static int outcome_of_code(const struct kn_check *c, int code)
{
	char id[16];

	snprintf(id, sizeof id, "code-%d", code);
	for (int o = 0; o < c->noutcomes; o++)
		if (strcmp(c->outcomes[o].id, id) == 0)
			return o;
	return KN_NONE;
}

/* Each code of the list as its outcome.  Several together point to what they share; one alone is named. */
static bool codes_of(const struct kn_check *c, const struct rd_blink *b, struct job_understood *out,
		     struct hs_err *err)
{
	struct text echo = { 0 };

	for (int i = 0; i < b->n; i++) {
		int outcome = outcome_of_code(c, b->code[i]);

		if (outcome == KN_NONE) {
			if (b->n > 1)
				err_set(err, HS_BAD_INPUT, "%d is no code of this machine's lamp.", b->code[i]);
			text_free(&echo);
			return false;
		}
		out->code_outcome[i] = outcome;
		out->code_state[i] = b->state[i];
		text_addf(&echo, "%s%s%s", i ? "; " : "", c->outcomes[outcome].title,
			  b->state[i] == RD_CODE_STORED ? ", stored" : b->state[i] == RD_CODE_ACTIVE ? ", active" : "");
	}
	out->ncodes = b->n;
	out->code_readings = b->readings;
	out->outcome = out->code_outcome[0];
	snprintf(out->echo, sizeof out->echo, "%.170s%s", text_str(&echo),
		 b->readings > 1 ? ", read twice alike" : "");
	text_free(&echo);
	return true;
}

/* "23", "2 long 3 short", "LLSSS LLSSS", "13 41 stored".  false: these are no flashes, but words of the check. */
static bool lamp_code(const struct kn_check *c, const char *text, struct job_understood *out,
		      enum job_status *status, struct hs_err *err)
{
	bool word = outcome_by_word(c, text, true) != KN_NONE;
	struct hs_err why = { 0 };
	struct rd_blink b;

	*status = JOB_REFUSED;
	if (rd_blink_read(text, &b, &why) < 0) {
		if (word || !strpbrk(text, "-.0123456789"))
			return false;
		err_set(err, HS_BAD_INPUT, "%s", why.text);
		return true;
	}
	if (!codes_of(c, &b, out, err))
		return b.n > 1; /* one may be a number of the list of answers */
	*status = JOB_OK;
	return true;
}

/* "1:dry 2:wet": one outcome for each place; places not named are not answered. */
static enum job_status word_list(const struct kn_knowledge *kn, const struct kn_check *c,
				 const char *text, struct job_understood *out, struct hs_err *err)
{
	const struct kn_kind *kind = &kn->kinds[c->per];
	char copy[512], *save = NULL;
	struct text echo = { 0 };

	snprintf(copy, sizeof copy, "%s", text);
	out->outcome = out->outcome_place = KN_NONE;
	out->nplaces = kind->nplaces;
	for (int p = 0; p < RD_PLACES_MAX; p++)
		out->at[p] = KN_NONE;
	for (char *w = strtok_r(copy, " ,;", &save); w; w = strtok_r(NULL, " ,;", &save)) {
		char *colon = strchr(w, ':');
		int place, outcome;

		if (colon)
			*colon++ = '\0';
		place = colon ? kn_place_by_id(kind, w) : KN_NONE;
		outcome = colon ? outcome_by_word(c, colon, false) : KN_NONE;
		if (place == KN_NONE || outcome == KN_NONE || place >= RD_PLACES_MAX) {
			text_free(&echo);
			return not_an_outcome(c, colon ? colon : w, err);
		}
		out->at[place] = outcome;
		text_addf(&echo, "%s%s: %s", echo.len ? ", " : "", kind->places[place].id,
			  c->outcomes[outcome].title);
	}
	snprintf(out->echo, sizeof out->echo, "%.199s", text_str(&echo));
	text_free(&echo);
	return JOB_OK;
}

/* ---- numbers --------------------------------------------------------------------------------------- */

static void set_up(struct rd_setup *s, const struct kn_knowledge *kn, const struct kn_check *c,
		   int place, const struct job_facts *f, int flags)
{
	const struct kn_reading *r = c->reading;

	rd_setup_init(s);
	s->unit = r->unit;
	s->derive = r->derive;
	s->low = r->low;
	s->high = r->high;
	s->instrument = r->instrument;
	s->repeatability = r->repeatability;
	s->typical = r->nominal;
	s->through_leads = r->leads && !c->leads_null;
	s->leads = f->leads;
	s->leads_u = f->leads_u;
	s->leads_waived = flags & JOB_LEADS_WAIVED;
	s->slip_confirmed = flags & JOB_SLIP_OK;
	if (r->copper && !isnan(f->air_degC)) {
		s->part_degC = f->air_degC; /* a cold part has the temperature of the air */
		s->part_degC_u = 3;
		s->reference_degC = isnan(r->reference_degC) ? 20 : r->reference_degC;
	}
	if (r->sea_level)
		s->altitude_m = f->altitude_m;
	if (r->value != KN_NONE && r->value == kn_value_by_id(kn, "battery-cranking"))
		s->cranking_degC = f->air_degC;
	if (r->unit == RD_DEGC)
		s->ambient = f->air_degC;
	if (c->per != KN_NONE && place == KN_NONE) {
		const struct kn_kind *k = &kn->kinds[c->per];

		if (s->derive == RD_AS_READ && !c->compare)
			s->derive = RD_EACH;
		for (; s->nplaces < k->nplaces && s->nplaces < RD_PLACES_MAX; s->nplaces++)
			s->places[s->nplaces] = k->places[s->nplaces].id;
	}
	if (place != KN_NONE && s->derive != RD_AS_READ)
		s->derive = RD_AS_READ;
}

static void echo_reading(struct job_understood *u, const struct kn_check *c)
{
	const struct rd_result *r = &u->reading;
	struct text t = { 0 };

	text_addf(&t, "%s", r->echo);
	if (r->kind == RD_NUMBER && !r->nplaces && r->nnotes && r->value != r->raw) {
		text_addf(&t, "; ");
		rd_format(&t, r->kind, r->value, r->u, c->reading->unit);
		text_addf(&t, " corrected");
	}
	snprintf(u->echo, sizeof u->echo, "%.199s", text_str(&t));
	text_free(&t);
}

static enum job_status read_number(const struct kn_knowledge *kn, const struct job_facts *f,
				   const struct job_answer *a, struct job_understood *out,
				   struct hs_err *err)
{
	const struct kn_check *c = &kn->checks[a->check];
	struct rd_setup s;

	set_up(&s, kn, c, a->place, f, a->flags);
	switch (rd_read(&s, a->text, &out->reading, err)) {
	case RD_OK: break;
	case RD_ASK_LEADS: return JOB_ASK_LEADS;
	case RD_ASK_SLIP: return JOB_ASK_SLIP;
	default: return JOB_REFUSED;
	}
	out->number = true;
	out->outcome = c->leads_null || out->reading.nplaces ? KN_NONE : job_outcome_of(c, &out->reading);
	echo_reading(out, c);
	return JOB_OK;
}

/* ---- both -------------------------------------------------------------------------------------------- */

enum job_status job_make_sense(const struct job *j, const struct job_facts *f,
			       const struct job_answer *a, struct job_understood *out,
			       struct hs_err *err)
{
	const struct kn_check *c = &j->kn->checks[a->check];
	const char *s = a->text;
	enum job_status status;

	memset(out, 0, sizeof *out);
	out->outcome = out->outcome_place = KN_NONE;
	while (*s == ' ')
		s++;
	if (!*s) {
		err_set(err, HS_BAD_INPUT, "Nothing was answered.");
		return JOB_REFUSED;
	}
	if (job_is_reading(c)) {
		/* A word that names an outcome is an answer too: the mechanic may only know "too low". */
		if (!c->leads_null && !strpbrk(s, "0123456789") &&
		    outcome_by_word(c, s, false) != KN_NONE && !text_same_word(s, "open") &&
		    !text_same_word(s, "short"))
			return one_word(j->kn, c, a->place, s, out, err);
		status = read_number(j->kn, f, a, out, err);
		if (status == JOB_REFUSED && !c->leads_null) {
			struct hs_err other = { 0 };

			if (one_word(j->kn, c, a->place, s, out, &other) == JOB_OK &&
			    !outcome_by_number(c, s)) {
				err_clear(err);
				return JOB_OK;
			}
		}
		return status;
	}
	if (lists_codes(c) && lamp_code(c, s, out, &status, err))
		return status;
	if (c->per != KN_NONE && !c->compare && a->place == KN_NONE && strchr(s, ':'))
		return word_list(j->kn, c, s, out, err);
	return one_word(j->kn, c, a->place, s, out, err);
}
