/* Facts beside the checks: tools, history, what holds now, temperature and altitude. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/mem.h"
#include "suspects/table.h"
#include "talk/inner.h"
#include "talk/paths.h"

#define REMEMBERED_MAX 65536

/* Records "PREFIX:ID" yes or no for one thing, when that says anything new. */
static int tell(struct talk *t, const char *prefix, const char *id, bool yes)
{
	struct text fact = {0};
	const char *before;
	int result = 0;

	text_addf(&fact, "%s:%s", prefix, id);
	before = record_value(t->job, text_str(&fact));
	if (!before || strcmp(before, yes ? "yes" : "no") != 0)
		result = talk_record(t, JOB_TOLD, text_str(&fact), yes ? "yes" : "no", NULL, NULL);
	text_free(&fact);
	return result;
}

/* A list of things of which some are true; index[] are their positions in the knowledge. */
struct facts {
	const char *prefix;
	int n;
	int *index;
	struct talk_choice *choices;
	bool *picked;
};

static struct facts facts_new(const char *prefix, int most)
{
	size_t n = (size_t)most + 1;

	return (struct facts){prefix, 0, mem_array(n, sizeof(int)),
			      mem_array(n, sizeof(struct talk_choice)), mem_array(n, sizeof(bool))};
}

static void facts_free(struct facts *f)
{
	mem_free(f->index);
	mem_free(f->choices);
	mem_free(f->picked);
}

static void facts_add(struct facts *f, int index, const char *id, const char *title)
{
	f->index[f->n] = index;
	f->choices[f->n++] = (struct talk_choice){id, title};
}

static int facts_record(struct talk *t, const struct facts *f)
{
	for (int i = 0; i < f->n; i++)
		if (tell(t, f->prefix, f->choices[i].id, f->picked[i]) < 0)
			return -1;
	return 0;
}

static enum talk_reply facts_end(struct talk *t, struct facts *f, enum talk_reply reply)
{
	if (reply == TALK_TEXT && facts_record(t, f) < 0)
		reply = TALK_OVER;
	if (reply == TALK_BACK)
		talk_back(t);
	facts_free(f);
	t->shown_any = false;
	return reply == TALK_OVER ? TALK_OVER : TALK_MOVED;
}

/* ---- tools ------------------------------------------------------------------------------------- */

static void help_tools(struct talk *t, const void *about)
{
	const struct facts *f = about;

	choose_list(t, f->choices, f->n);
	out_say(&t->out, 2, 2, "Only checks and repairs that these tools allow are advised. They are "
		"remembered for the next job; `tools` asks again at any time. \"all but 3 5\" works too.");
}

/* Tools that something on this machine needs. */
static uint64_t tools_of_use(const struct kn_knowledge *kn)
{
	uint64_t use = 0;

	for (int i = 0; i < kn->nchecks; i++)
		if (kn->checks[i].offered)
			use |= kn->checks[i].tools;
	for (int i = 0; i < kn->nremedies; i++)
		use |= kn->remedies[i].tools;
	return use;
}

/* What was owned last time; false when nothing is remembered. */
static bool remembered(struct facts *f)
{
	struct text path = {0};
	size_t size;
	char *data = NULL, *rest, *line;

	if (paths_state("tools", &path))
		data = file_read(text_str(&path), REMEMBERED_MAX, &size, NULL);
	text_free(&path);
	if (!data)
		return false;
	for (rest = data; (line = strsep(&rest, "\n"));)
		for (int i = 0; i < f->n; i++)
			if (strcmp(line, f->choices[i].id) == 0)
				f->picked[i] = true;
	mem_free(data);
	return true;
}

/* Not being able to remember is no error: it is asked again next time. */
static void remember(const struct facts *f)
{
	struct text path = {0}, data = {0};

	for (int i = 0; i < f->n; i++)
		if (f->picked[i])
			text_addf(&data, "%s\n", f->choices[i].id);
	if (paths_state("tools", &path))
		paths_write(text_str(&path), text_str(&data), data.len, NULL);
	text_free(&path);
	text_free(&data);
}

/* "all but clamp meter, timing light", whichever is shorter. */
static void owned_words(struct text *out, const struct facts *f)
{
	int n = 0, named = 0;
	bool but;

	for (int i = 0; i < f->n; i++)
		n += f->picked[i];
	if (n == 0 || n == f->n) {
		text_add(out, n == 0 ? "none" : "all of them");
		return;
	}
	but = 2 * n > f->n;
	text_add(out, but ? "all but " : "");
	for (int i = 0; i < f->n; i++)
		if (f->picked[i] != but)
			text_addf(out, "%s%s", named++ ? ", " : "", f->choices[i].title);
}

/* The whole list only where there is nothing to go by, or something is to be changed. */
static void say_tools(struct talk *t, struct facts *f, struct talk_prompt *p)
{
	struct text owned = {0};

	out_blank(&t->out);
	if (!remembered(f)) {
		choose_list(t, f->choices, f->n);
		return;
	}
	p->by_default = "the same";
	if (record_told(t->job, "tool:"))
		choose_list(t, f->choices, f->n);
	owned_words(&owned, f);
	out_say(&t->out, 0, 2, "Tools last time: %s. `?` lists them with their numbers.", text_str(&owned));
	text_free(&owned);
}

enum talk_reply ask_tools(struct talk *t)
{
	struct facts f = facts_new("tool", t->kn->ntools);
	struct talk_prompt p = {.question = "Which tools are there", .help = help_tools,
				.allowed = "numbers or names, all, none"};
	uint64_t use = tools_of_use(t->kn);
	enum talk_reply reply;

	for (int i = 0; i < t->kn->ntools; i++)
		if (use >> i & 1)
			facts_add(&f, i, t->kn->tools[i].id, t->kn->tools[i].title);
	p.choices = f.choices;
	p.nchoices = f.n;
	p.about = &f;
	say_tools(t, &f, &p);
	reply = talk_ask_several(t, &p, true, true, f.picked);
	if (reply == TALK_DEFAULT || reply == TALK_DONT_KNOW || reply == TALK_CANNOT)
		reply = TALK_TEXT;
	if (reply == TALK_TEXT)
		remember(&f);
	return facts_end(t, &f, reply);
}

/* ---- history ------------------------------------------------------------------------------------- */

static void help_histories(struct talk *t, const void *about)
{
	const struct facts *f = about;

	for (int i = 0; i < f->n; i++) {
		const struct kn_history *h = &t->kn->histories[f->index[i]];
		if (h->ask)
			out_say(&t->out, 2, 6, "%s: %s", h->title, h->ask);
	}
	out_say(&t->out, 2, 2, "Each of these makes some causes likelier before anything is measured.");
}

/* Histories that raise a mode which gives one of the complaints; everything on a bench run. */
static uint32_t histories_that_matter(const struct job_view *v)
{
	const struct kn_knowledge *kn = v->kn;
	uint32_t matter = 0;

	for (int c = 0; c < v->ncomplaints; c++) {
		struct su_table *table = su_table_new(kn, v->complaints[c], KN_NONE);
		for (int f = 0; f < kn->nfaults; f++)
			if (kn->faults[f].mode != KN_NONE && su_table_bears(table, f))
				matter |= kn->modes[kn->faults[f].mode].history;
		su_table_free(table);
	}
	return v->ncomplaints > 0 ? matter : UINT32_MAX;
}

enum talk_reply ask_histories(struct talk *t)
{
	const struct job_view *v = talk_view(t);
	struct facts f = facts_new("history", t->kn->nhistories);
	struct talk_prompt p = {.question = "What is true of its history", .help = help_histories,
				.allowed = "numbers or names, none", .about = &f};
	uint32_t matter = v ? histories_that_matter(v) : 0;
	enum talk_reply reply = TALK_TEXT;

	for (int i = 0; i < t->kn->nhistories; i++)
		if (matter >> i & 1)
			facts_add(&f, i, t->kn->histories[i].id, t->kn->histories[i].title);
	p.choices = f.choices;
	p.nchoices = f.n;
	if (f.n == 0 || t->over) {
		facts_free(&f);
		t->histories_passed = true;
		return t->over ? TALK_OVER : TALK_MOVED;
	}
	out_blank(&t->out);
	choose_list(t, f.choices, f.n);
	reply = talk_ask_several(t, &p, false, true, f.picked);
	if (reply == TALK_DONT_KNOW || reply == TALK_CANNOT)
		t->histories_passed = true;
	return facts_end(t, &f, reply);
}

/* ---- circumstances ------------------------------------------------------------------------------- */

static void help_circumstances(struct talk *t, const void *about)
{
	const struct facts *f = about;

	for (int i = 0; i < f->n; i++) {
		const struct kn_named *c = &t->kn->circumstances[f->index[i]];
		out_say(&t->out, 2, 6, "%s: %s", c->title, c->ask ? c->ask : "");
	}
	out_say(&t->out, 2, 2, "Some checks say something only then. `now` asks again at any time.");
}

static uint32_t circumstances_of_use(const struct kn_knowledge *kn)
{
	uint32_t use = 0;

	for (int i = 0; i < kn->nchecks; i++)
		if (kn->checks[i].offered)
			use |= kn->checks[i].only_when;
	return use;
}

enum talk_reply ask_circumstances(struct talk *t)
{
	const struct job_view *v = talk_view(t);
	struct facts f = facts_new("circumstance", t->kn->ncircumstances);
	struct talk_prompt p = {.question = "What holds at this moment", .help = help_circumstances,
				.allowed = "numbers or names, none", .about = &f};
	uint32_t use = circumstances_of_use(t->kn);
	enum talk_reply reply = TALK_TEXT;

	for (int i = 0; v && i < t->kn->ncircumstances; i++)
		if (use >> i & 1)
			facts_add(&f, i, t->kn->circumstances[i].id, t->kn->circumstances[i].title);
	p.choices = f.choices;
	p.nchoices = f.n;
	if (f.n == 0 || t->over) {
		facts_free(&f);
		t->circumstances_passed = true;
		return t->over ? TALK_OVER : TALK_MOVED;
	}
	out_blank(&t->out);
	choose_list(t, f.choices, f.n);
	reply = talk_ask_several(t, &p, false, true, f.picked);
	if (reply == TALK_DONT_KNOW || reply == TALK_CANNOT)
		t->circumstances_passed = true;
	return facts_end(t, &f, reply);
}

enum talk_reply ask_circumstance(struct talk *t, int circumstance)
{
	const struct kn_named *c = &t->kn->circumstances[circumstance];
	bool yes = false;
	enum talk_reply reply = talk_ask_yes(t, c->ask ? c->ask : c->title, NULL, NULL, NULL, &yes);

	if (reply == TALK_DONT_KNOW || reply == TALK_CANNOT)
		reply = TALK_TEXT;
	if (reply == TALK_TEXT && tell(t, "circumstance", c->id, yes) < 0)
		return TALK_OVER;
	if (reply == TALK_BACK)
		talk_back(t);
	return reply == TALK_OVER ? TALK_OVER : TALK_MOVED;
}

/* ---- temperature and altitude ------------------------------------------------------------------------ */

struct figure { const char *fact, *question, *why; enum rd_unit unit; double low, high; };

/* Limits: the coldest and hottest air and the lowest and highest roads there are, with room. */
static const struct figure figures[] = {
	{"air", "Air temperature", "A winding or a heater measures more when it is warm; the figure is "
		"carried to the temperature the specification is given for.", RD_DEGC, -60, 60},
	{"altitude", "Altitude above the sea", "Thin air lowers every pressure; the figure is carried to "
		"sea level.", RD_METRE, -450, 6000},
};

static const struct figure *figure_of(const char *fact)
{
	return &figures[text_same_word(fact, "altitude")];
}

int figure_parse(const char *fact, const char *typed, double *out, struct hs_err *err)
{
	const struct figure *f = figure_of(fact);
	struct rd_setup setup;
	struct rd_result result;

	rd_setup_init(&setup);
	setup.unit = f->unit;
	if (rd_read(&setup, typed, &result, err) != RD_OK || result.kind != RD_NUMBER)
		return err_set(err, HS_BAD_INPUT, "\"%s\" is not a figure in %s.", typed,
			       rd_unit_name(f->unit));
	if (!(result.raw >= f->low && result.raw <= f->high))
		return err_set(err, HS_BAD_INPUT, "%s: from %.0f to %.0f %s.", f->question, f->low, f->high,
			       rd_unit_name(f->unit));
	*out = result.raw;
	return 0;
}

int figure_record(struct talk *t, const char *fact, double value)
{
	struct text number = {0};
	int result;

	text_json_number(&number, value);
	result = talk_record(t, JOB_TOLD, figure_of(fact)->fact, text_str(&number), NULL, NULL);
	text_free(&number);
	return result;
}

static void help_figure(struct talk *t, const void *about)
{
	const struct figure *f = about;

	out_say(&t->out, 2, 2, "%s", f->why);
}

enum talk_reply ask_figure(struct talk *t, const char *fact)
{
	const struct figure *f = figure_of(fact);
	struct text allowed = {0}, line = {0};
	struct talk_prompt p = {.question = f->question, .help = help_figure, .about = f};
	enum talk_reply reply;

	text_addf(&allowed, "in %s, or don't know", rd_unit_name(f->unit));
	p.allowed = text_str(&allowed);
	do {
		struct hs_err err = {0};
		double value;
		reply = talk_ask(t, &p, &line);
		if (reply != TALK_TEXT)
			break;
		if (figure_parse(fact, text_str(&line), &value, &err) == 0) {
			if (figure_record(t, fact, value) < 0)
				reply = TALK_OVER;
			break;
		}
		if (!talk_refuse(t, &line, "%s", err.text))
			reply = TALK_OVER;
	} while (reply != TALK_OVER);
	if (reply == TALK_DONT_KNOW || reply == TALK_CANNOT)
		*(f == &figures[0] ? &t->air_passed : &t->altitude_passed) = true;
	if (reply == TALK_BACK)
		talk_back(t);
	text_free(&allowed);
	text_free(&line);
	return reply == TALK_OVER ? TALK_OVER : TALK_MOVED;
}
