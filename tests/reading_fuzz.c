#include "reading_fuzz.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "reading/blink.h"
#include "reading/reading.h"
#include "reading/work.h"

#define TYPED_MAX 600

static struct rd_setup check_of(uint8_t a, uint8_t b)
{
	static const char *const place[] = { "1", "2", "3", "4" };
	struct rd_setup s;

	rd_setup_init(&s);
	s.unit = (enum rd_unit)(a % RD_UNIT_COUNT);
	s.derive = (enum rd_derive)(b % RD_DERIVE_COUNT);
	s.low = b & 8 ? -INFINITY : 5;
	s.high = b & 16 ? INFINITY : 12;
	s.instrument = b & 32 ? rd_instrument_at(a % rd_instrument_count()) : NULL;
	s.repeatability = b & 64 ? .1 : 0;
	s.through_leads = a & 64;
	s.leads = b & 128 ? .2 : NAN;
	s.leads_waived = a & 128;
	s.leads_u = .05;
	s.typical = a & 32 ? 10 : NAN;
	s.altitude_m = a & 16 ? 1500 : NAN;
	s.part_degC = b & 4 ? 12 : NAN;
	s.reference_degC = 20;
	for (s.nplaces = 0; s.nplaces < (b & 2 ? 4 : 0); s.nplaces++)
		s.places[s.nplaces] = place[s.nplaces];
	return s;
}

static int ended(const char *s, size_t room) { return memchr(s, 0, room) != NULL; }

static const char *verdict_of(enum rd_verdict v, double p, int kind, double value, double u)
{
	if (!(p >= 0 && p <= 1))
		return "conformance probability is none";
	if ((v == RD_INSIDE && p < .95) || (v == RD_OUTSIDE && p > .05) ||
	    (v == RD_TOO_CLOSE && (p >= .95 || p <= .05)))
		return "verdict and conformance probability disagree";
	if (kind == RD_NUMBER && !isfinite(value))
		return "a number that is none";
	if (kind == RD_NUMBER && !(u >= 0 && isfinite(u)))
		return "an uncertainty that is none";
	return NULL;
}

static const char *result_holds(const struct rd_result *r)
{
	const char *wrong = verdict_of(r->verdict, r->p_inside, (int)r->kind, r->value, r->u);

	for (int i = 0; i < r->nplaces && !wrong; i++)
		if (r->at[i].given)
			wrong = verdict_of(r->at[i].verdict, r->at[i].p_inside, (int)r->at[i].kind,
					   r->at[i].value, r->at[i].u);
	if (wrong)
		return wrong;
	if (r->nnotes < 0 || r->nnotes > RD_NOTES_MAX || r->nplaces < 0 || r->nplaces > RD_PLACES_MAX)
		return "more notes or places than there are";
	for (int i = 0; i < r->nnotes; i++)
		if (!ended(r->note[i], sizeof r->note[i]))
			return "a note without end";
	return ended(r->echo, sizeof r->echo) && *r->echo ? NULL : "no echo";
}

/* The same text as a sum of the workshop. */
static const char *work_holds(const char *typed)
{
	struct text t = { 0 };
	struct hs_err err = { 0 };
	int done = rd_work(typed, &t, &err);
	bool good = done == 0 ? t.len > 0 && !*err.text : t.len == 0 && *err.text;

	text_free(&t);
	return good ? NULL : "a sum with neither result nor reason, or both";
}

/* The same text as flashes of a lamp: codes that can be, and read back from their own numbers. */
static const char *blink_holds(const char *typed)
{
	struct rd_blink b, again;
	struct hs_err err = { 0 };
	struct text t = { 0 };
	const char *wrong = NULL;

	if (rd_blink_read(typed, &b, &err) < 0)
		return *err.text && ended(err.text, sizeof err.text) ? NULL : "flashes refused without a reason";
	if (b.n < 1 || b.n > RD_CODES_MAX || b.readings < 1)
		return "a list of codes of no length";
	for (int i = 0; i < b.n; i++) {
		if (b.code[i] / 10 < 1 || b.code[i] / 10 > RD_LONGS_MAX || b.code[i] % 10 < 1)
			wrong = "a code that no lamp sends";
		text_addf(&t, "%d ", b.code[i]);
	}
	text_add(&t, "/");
	for (int i = 0; i < b.n; i++)
		text_addf(&t, " %d", b.code[i]);
	if (!wrong && (rd_blink_read(text_str(&t), &again, NULL) < 0 || again.n != b.n || again.readings != 2 ||
		       memcmp(again.code, b.code, sizeof(int) * (size_t)b.n)))
		wrong = "codes not read back";
	text_free(&t);
	return wrong;
}

const char *reading_fuzz(const uint8_t *data, size_t n)
{
	char typed[TYPED_MAX];
	struct rd_setup s;
	struct rd_result r, again;
	struct hs_err err = { 0 };
	enum rd_status status;

	if (n < 2)
		return NULL;
	n = n - 2 < TYPED_MAX - 1 ? n - 2 : TYPED_MAX - 1;
	memcpy(typed, data + 2, n);
	typed[n] = '\0';
	if (work_holds(typed))
		return work_holds(typed);
	if (blink_holds(typed))
		return blink_holds(typed);
	s = check_of(data[0], data[1]);
	status = rd_read(&s, typed, &r, &err);
	if (status != rd_read(&s, typed, &again, NULL))
		return "another answer when asked again";
	if (status != RD_OK)
		return *err.text && ended(err.text, sizeof err.text) ? NULL : "refused without a reason";
	if (memcmp(&r.value, &again.value, sizeof r.value))
		return "another figure when asked again";
	return result_holds(&r);
}

void reading_fuzz_show(const char *wrong, const uint8_t *data, size_t n)
{
	struct text t = { 0 };

	text_cleann(&t, (const char *)data + 2, n - 2);
	fprintf(stderr, "check %d %d, typed \"%s\": %s\n", data[0], data[1], text_str(&t), wrong);
	text_free(&t);
}

/* For clang's libFuzzer (tests/soak_reading_guided.sh): a finding ends the run with its answer. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n)
{
	const char *wrong = reading_fuzz(data, n);

	if (wrong) {
		reading_fuzz_show(wrong, data, n);
		abort();
	}
	return 0;
}

/* ---- kept answers ---------------------------------------------------------------------------- */

static void take_line(const char *line, struct answer *a)
{
	unsigned byte;

	for (a->n = 0; a->n < ANSWER_MAX && sscanf(line + 2 * a->n, "%2x", &byte) == 1; a->n++)
		a->byte[a->n] = (uint8_t)byte;
}

int reading_kept(struct answer **out)
{
	const char *root = getenv("HALFSPLIT_ROOT");
	char path[1024], line[2 * ANSWER_MAX + 2];
	struct answer *all = NULL;
	FILE *f;
	int n = 0;

	snprintf(path, sizeof path, "%s/tests/data/reading/kept.hex", root ? root : ".");
	f = fopen(path, "r");
	if (!f)
		return -1;
	while (fgets(line, sizeof line, f)) {
		all = mem_resize_array(all, (size_t)n + 1, sizeof *all);
		take_line(line, &all[n]);
		n += all[n].n >= 2;
	}
	fclose(f);
	*out = all;
	return n;
}
