/* `halfsplit machine new`: a person's own bike, asked for and written as one file. */
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "knowledge/own.h"
#include "report/lint.h"
#include "talk/figure.h"
#include "talk/paths.h"

#define GENERIC "generic-twin"  /* whose figures stand in for what is not known */

enum step { NAME, LIKE, CYLINDERS, CARBURETTORS, COILS, FITTED, FIGURES, WRITE };

struct own {
	struct talk talk;
	const char *trees;              /* those that were installed: his own machines are not read */
	int nmachines;
	struct kn_machine_title *machines;
	struct kn_knowledge **all;      /* [nmachines] each machine; their figures are borrowed */
	struct kn_knowledge *generic;   /* one of them, or NULL */
	struct kn_own machine;
	char id[65];
	struct text title, path, draft;
	enum step step;
	int *asked, nasked, at;         /* indices of values that are asked for, and which is next */
};

/* ---- name, likeness, counts -------------------------------------------------------------------- */

static int machine_by_id(const struct own *o, const char *id)
{
	for (int i = 0; i < o->nmachines; i++)
		if (strcmp(o->machines[i].id, id) == 0)
			return i;
	return KN_NONE;
}

static void help_name(struct talk *t, const void *about)
{
	(void)about;
	out_say(&t->out, 2, 2, "How you call it: \"the old twin\". The name stands on job sheets and in "
		"the list of machines.");
}

static enum talk_reply ask_name(struct own *o)
{
	struct talk *t = &o->talk;
	struct talk_prompt p = {.question = "What is the bike called", .help = help_name,
				.allowed = "a name"};
	struct text line = {0};
	enum talk_reply reply;

	do {
		reply = talk_ask(t, &p, &line);
		if (reply != TALK_TEXT)
			break;
		if (kn_own_id(text_str(&line), o->id) && line.len <= 128 &&
		    machine_by_id(o, o->id) == KN_NONE)
			break;
		if (!talk_refuse(t, &line, "%s", o->id[0] && machine_by_id(o, o->id) != KN_NONE
				 ? "The trees have a machine of that name: take another."
				 : "A name has letters or digits in it, and 128 at most."))
			reply = TALK_OVER;
	} while (reply != TALK_OVER);
	if (reply == TALK_TEXT) {
		text_clear(&o->title);
		text_add(&o->title, text_str(&line));
		o->machine.title = text_str(&o->title);
		o->machine.id = o->id;
	}
	text_free(&line);
	return reply;
}

static int places_of(const struct kn_knowledge *kn, const char *kind)
{
	for (int i = 0; i < kn->nkinds; i++)
		if (strcmp(kn->kinds[i].id, kind) == 0)
			return kn->kinds[i].nplaces;
	return 0;
}

static void begin_like(struct own *o, const struct kn_knowledge *kn)
{
	o->machine.like = kn;
	o->machine.fitted = kn->fitted;
	o->machine.ncylinders = places_of(kn, "cylinder");
	o->machine.ncarburettors = places_of(kn, "carburettor");
	o->machine.ncoils = places_of(kn, "coil");
}

static enum talk_reply ask_like(struct own *o)
{
	struct talk *t = &o->talk;
	struct talk_choice *choices = mem_array((size_t)o->nmachines + 1, sizeof *choices);
	struct talk_prompt p = {.question = "Which one is it most like", .allowed = "a number or a name",
				.choices = choices, .nchoices = o->nmachines,
				.by_default = o->generic ? o->generic->machine : NULL};
	struct text line = {0};
	int picked = KN_NONE;
	enum talk_reply reply;

	for (int i = 0; i < o->nmachines; i++)
		choices[i] = (struct talk_choice){o->machines[i].id, o->machines[i].title};
	out_say(&t->out, 0, 0, "Where things are and how long it takes to get at them is copied from it; "
		"its figures are not.");
	choose_list(t, choices, o->nmachines);
	do {
		reply = talk_ask(t, &p, &line);
		if (reply == TALK_DEFAULT && p.by_default)
			picked = machine_by_id(o, p.by_default);
		if (reply != TALK_TEXT)
			break;
		picked = choose_one(choices, o->nmachines, text_str(&line));
		if (picked == KN_NONE && !talk_refuse(t, &line, "That is none of the machines listed."))
			reply = TALK_OVER;
	} while (reply == TALK_TEXT && picked == KN_NONE);
	if (picked != KN_NONE && o->machine.like != o->all[picked])
		begin_like(o, o->all[picked]);
	mem_free(choices);
	text_free(&line);
	return reply;
}

static enum talk_reply ask_count(struct own *o, const char *question, int least, int *count)
{
	struct talk *t = &o->talk;
	struct text before = {0}, allowed = {0}, line = {0};
	struct talk_prompt p = {.question = question};
	enum talk_reply reply;

	text_addf(&before, "%d", *count);
	text_addf(&allowed, "%d to %d", least, KN_OWN_CYLINDERS_MAX);
	p.by_default = text_str(&before);
	p.allowed = text_str(&allowed);
	do {
		char *end;
		long n;
		reply = talk_ask(t, &p, &line);
		if (reply != TALK_TEXT)
			break;
		n = strtol(text_str(&line), &end, 10);
		if (*end == '\0' && n >= least && n <= KN_OWN_CYLINDERS_MAX) {
			*count = (int)n;
			break;
		}
		if (!talk_refuse(t, &line, "A number from %d to %d.", least, KN_OWN_CYLINDERS_MAX))
			reply = TALK_OVER;
	} while (reply != TALK_OVER);
	text_free(&before);
	text_free(&allowed);
	text_free(&line);
	return reply;
}

/* Another number of cylinders than on the bike it is like: one carburettor and coil each, until said. */
static enum talk_reply ask_cylinders(struct own *o)
{
	struct kn_own *m = &o->machine;
	int before = m->ncylinders;
	enum talk_reply reply = ask_count(o, "How many cylinders", 1, &m->ncylinders);

	if (m->ncylinders != before)
		m->ncarburettors = m->ncoils = m->ncylinders;
	return reply;
}

/* ---- what is fitted ------------------------------------------------------------------------------ */

static void help_fitted(struct talk *t, const void *about)
{
	(void)about;
	out_say(&t->out, 2, 2, "What is not fitted cannot fail and is never asked about. Not sure of one: "
		"name it; its checks are answered with `can't` where it is not there. Lamp codes are "
		"written into the file by hand (docs/trees-howto.md).");
}

static void follow_counts(struct kn_own *m)
{
	for (int i = 0; i < m->like->noptions; i++) {
		bool fitted;
		if (kn_own_option_follows(m, m->like->options[i].id, &fitted))
			m->fitted = (m->fitted & ~((uint64_t)1 << i)) | (uint64_t)fitted << i;
	}
}

static void fitted_words(struct text *out, const struct kn_own *m, const int *option, int n)
{
	for (int i = 0; i < n; i++)
		if (m->fitted >> option[i] & 1)
			text_addf(out, "%s%d", out->len ? " " : "", i + 1);
	if (!out->len)
		text_add(out, "none");
}

static enum talk_reply ask_fitted(struct own *o)
{
	struct talk *t = &o->talk;
	struct kn_own *m = &o->machine;
	struct talk_choice choices[64];
	struct text before = {0};
	struct talk_prompt p = {.question = "What is fitted", .help = help_fitted,
				.allowed = "numbers or names, all, none", .choices = choices};
	int option[64], n = 0;
	bool picked[65] = {false}, ignored;
	enum talk_reply reply;

	for (int i = 0; i < m->like->noptions; i++)
		if (!kn_own_option_follows(m, m->like->options[i].id, &ignored)) {
			option[n] = i;
			choices[n++] = (struct talk_choice){m->like->options[i].id, m->like->options[i].title};
		}
	p.nchoices = n;
	fitted_words(&before, m, option, n);
	p.by_default = text_str(&before);
	choose_list(t, choices, n);
	reply = talk_ask_several(t, &p, true, true, picked);
	for (int i = 0; i < n && reply == TALK_TEXT; i++)
		m->fitted = (m->fitted & ~((uint64_t)1 << option[i])) | (uint64_t)picked[i] << option[i];
	follow_counts(m);
	text_free(&before);
	return reply;
}

/* ---- which figures ------------------------------------------------------------------------------- */

static int value_of(const struct kn_own *m, const char *id)
{
	for (int i = 0; i < m->nvalues; i++)
		if (strcmp(m->values[i].of->id, id) == 0)
			return i;
	return KN_NONE;
}

/* Every figure there is: the generic ones, and those of other machines, which are left out unless
 * they are given. */
static void collect_values(struct own *o)
{
	struct kn_own *m = &o->machine;
	size_t most = 1;

	for (int i = 0; i < o->nmachines; i++)
		most += (size_t)o->all[i]->nvalues;
	m->values = mem_array(most, sizeof *m->values);
	for (int i = -1; i < o->nmachines; i++) {
		const struct kn_knowledge *kn = i < 0 ? o->generic : o->all[i];
		for (int v = 0; kn && v < kn->nvalues; v++)
			if (value_of(m, kn->values[v].id) == KN_NONE)
				m->values[m->nvalues++] = (struct kn_own_value){
					.of = &kn->values[v], .left_out = kn != o->generic};
	}
}

/* The machine as it would be, bound; NULL with err. all: what is left out stands in for itself. */
static struct kn_knowledge *try_out(struct own *o, bool all, struct hs_err *err)
{
	struct kn_own m = o->machine;
	struct text file = {0}, trees = {0};
	struct kn_knowledge *kn = NULL;

	m.values = mem_array((size_t)m.nvalues + 1, sizeof *m.values);
	memcpy(m.values, o->machine.values, (size_t)m.nvalues * sizeof *m.values);
	for (int i = 0; all && i < m.nvalues; i++)
		m.values[i].left_out = false;
	kn_own_write(&m, &file);
	text_addf(&trees, "%s:%s", o->trees, text_str(&o->draft));
	if (paths_write(text_str(&o->draft), text_str(&file), file.len, err) == 0)
		kn = kn_load(text_str(&trees), m.id, err);
	unlink(text_str(&o->draft));
	mem_free(m.values);
	text_free(&file);
	text_free(&trees);
	return kn;
}

/* Those a check of this bike would judge by, and that differ from bike to bike. 0 or -1. */
static int choose_asked(struct own *o)
{
	struct hs_err err = {0};
	struct kn_knowledge *kn = try_out(o, true, &err);
	const struct kn_own *m = &o->machine;

	if (!kn) {
		talk_fail(&o->talk, &err);
		return -1;
	}
	mem_free(o->asked);
	o->asked = mem_array((size_t)m->nvalues + 1, sizeof *o->asked);
	o->nasked = o->at = 0;
	for (int i = 0; i < m->nvalues; i++)
		if ((m->values[i].left_out || m->values[i].of->generic || m->values[i].given) &&
		    kn_value_matters(kn, kn_value_by_id(kn, m->values[i].of->id)))
			o->asked[o->nasked++] = i;
	kn_free(kn);
	return 0;
}

struct trial { struct own *o; struct kn_own_value *v; };

static int figure_fits(void *with, const struct rd_figure *f, struct hs_err *err)
{
	struct trial *trial = with;
	struct kn_own_value before = *trial->v;
	struct kn_knowledge *kn;

	trial->v->given = true;
	trial->v->figure = *f;
	kn = try_out(trial->o, false, err);
	*trial->v = before;
	kn_free(kn);
	return kn ? 0 : -1;
}

static enum talk_reply ask_value(struct own *o)
{
	struct kn_own_value *v = &o->machine.values[o->asked[o->at]];
	struct trial trial = {o, v};
	struct text stays = {0}, question = {0};
	struct rd_figure f;
	enum talk_reply reply;

	if (o->at == 0)
		out_say(&o->talk.out, 0, 0, "Now %d figures of the owner's manual. Enter alone: not known, it "
			"stays as it is; `can't`: none of those that are left is known.", o->nasked);
	if (v->given)
		rd_figure_format(&stays, &v->figure, v->of->unit);
	else if (!v->left_out)
		figure_of_value(&stays, v->of);
	text_addf(&question, "%d of %d: %s", o->at + 1, o->nasked, v->of->title);
	if (!isnan(v->of->at_degC))
		text_addf(&question, ", at %g degC", v->of->at_degC);
	reply = figure_ask(&o->talk, text_str(&question), v->of,
			   stays.len ? text_str(&stays) : "left out, with its check", figure_fits, &trial, &f);
	if (reply == TALK_TEXT) {
		v->given = true;
		v->figure = f;
	}
	if (reply == TALK_CANNOT)
		o->at = o->nasked;
	text_free(&stays);
	text_free(&question);
	return reply;
}

/* ---- writing ------------------------------------------------------------------------------------- */

static void say_bands(struct own *o)
{
	struct talk_out *out = &o->talk.out;
	int n = 0;

	for (int i = 0; i < o->machine.nvalues; i++) {
		const struct kn_own_value *v = &o->machine.values[i];
		struct text now = {0}, before = {0};
		if (!v->given)
			continue;
		rd_figure_format(&now, &v->figure, v->of->unit);
		figure_of_value(&before, v->of);
		if (n++ == 0)
			out_say(out, 0, 2, "Judged by your figures:");
		out_say(out, 2, 4, "%s: %s%s%s%s", v->of->title, text_str(&now), v->left_out ? "" : " (was ",
			v->left_out ? "" : text_str(&before), v->left_out ? "" : ")");
		text_free(&now);
		text_free(&before);
	}
	if (n == 0)
		out_say(out, 0, 2, "No figure was given: all bands are common practice. The job asks for one "
			"where a verdict hangs on it.");
}

/* Checks that one machine offers and the other does not. */
static void say_checks(struct talk_out *out, const char *what, const struct kn_knowledge *here,
		       const struct kn_knowledge *there)
{
	struct text names = {0};
	int n = 0;

	for (int c = 0; c < here->nchecks; c++)
		if (here->checks[c].offered && here->checks[c].kind != KN_SYMPTOM &&
		    !there->checks[c].offered)
			text_addf(&names, "%s%s", n++ ? "; " : "", here->checks[c].title);
	if (n > 0)
		out_say(out, 0, 2, "%s: %s.", what, text_str(&names));
	text_free(&names);
}

static void say_faults(struct talk_out *out, const struct kn_knowledge *kn)
{
	struct lint l = {0};

	lint_machine(&l, kn);
	for (int i = 0; i < l.n; i++)
		if (l.finding[i].grade == LINT_FAULT && !l.finding[i].about)
			out_say(out, 0, 2, "To know: %s.", l.finding[i].text);
	lint_free(&l);
}

/* May it be written? TALK_TEXT: yes. */
static enum talk_reply may_write(struct own *o)
{
	struct text question = {0};
	bool yes = true;
	enum talk_reply reply = TALK_TEXT;

	if (access(text_str(&o->path), F_OK) == 0) {
		out_say(&o->talk.out, 0, 2, "There is %s already.", text_str(&o->path));
		reply = talk_ask_yes(&o->talk, "Write over it", "no", NULL, NULL, &yes);
	}
	if (reply == TALK_TEXT && !yes) {
		out_say(&o->talk.out, 0, 2, "Then it needs another name.");
		o->step = NAME;
		reply = TALK_MOVED;
	}
	text_free(&question);
	return reply;
}

static int set_paths(struct own *o, struct hs_err *err)
{
	text_clear(&o->path);
	text_clear(&o->draft);
	if (!paths_data("machines", true, &o->path))
		return err_set(err, HS_IO, "There is no folder for your machines: HOME is not set, or it cannot "
			       "be written to.");
	text_addf(&o->path, "/%s.xml", o->id);
	text_addf(&o->draft, "%s.draft", text_str(&o->path));
	return 0;
}

static enum talk_reply write_it(struct own *o)
{
	struct text file = {0};
	struct hs_err err = {0};
	struct kn_knowledge *kn;
	const struct kn_knowledge *base = o->generic ? o->generic : o->machine.like;
	enum talk_reply reply = may_write(o);

	if (reply != TALK_TEXT)
		return reply;
	kn = try_out(o, false, &err);
	kn_own_write(&o->machine, &file);
	if (!kn || paths_write(text_str(&o->path), text_str(&file), file.len, &err) < 0) {
		talk_fail(&o->talk, &err);
	} else {
		out_say(&o->talk.out, 0, 2, "Written and loaded: %s", text_str(&o->path));
		say_bands(o);
		out_say(&o->talk.out, 0, 2, "Against %s:", base->machine_title);
		say_checks(&o->talk.out, "Checks that apply now", kn, base);
		say_checks(&o->talk.out, "Checks that do not", base, kn);
		say_faults(&o->talk.out, kn);
		out_say(&o->talk.out, 0, 2, "`halfsplit --machine %s` begins a job with it.", o->id);
		o->talk.over = true;
	}
	kn_free(kn);
	text_free(&file);
	return TALK_OVER;
}

/* ---- the way through ------------------------------------------------------------------------------- */

static enum talk_reply ask_one(struct own *o)
{
	struct kn_own *m = &o->machine;
	struct hs_err err = {0};

	switch (o->step) {
	case NAME: return ask_name(o);
	case LIKE: return ask_like(o);
	case CYLINDERS: return ask_cylinders(o);
	case CARBURETTORS: return ask_count(o, "How many carburettors", 1, &m->ncarburettors);
	case COILS: return ask_count(o, "How many ignition coils", 0, &m->ncoils);
	case FITTED: return ask_fitted(o);
	case FIGURES:
		return o->nasked > 0 ? ask_value(o) : TALK_TEXT;
	case WRITE: break;
	}
	if (set_paths(o, &err) == 0)
		return write_it(o);
	talk_fail(&o->talk, &err);
	return TALK_OVER;
}

static void step_on(struct own *o)
{
	struct hs_err err = {0};

	if (o->step == FIGURES && ++o->at < o->nasked)
		return;
	o->step++;
	if (o->step != FIGURES)
		return;
	if (set_paths(o, &err) < 0)
		talk_fail(&o->talk, &err);
	else
		choose_asked(o);
}

static void step_back(struct own *o)
{
	if (o->step == FIGURES && o->at > 0)
		o->at--;
	else if (o->step == NAME)
		out_say(&o->talk.out, 0, 2, "There is nothing left to take back.");
	else
		o->step--;
	if (o->step == FIGURES && o->at >= o->nasked)
		o->at = o->nasked > 0 ? o->nasked - 1 : 0;
}

static void turn(struct own *o)
{
	enum talk_reply reply = ask_one(o);

	switch (reply) {
	case TALK_OVER: o->talk.over = true; break;
	case TALK_BACK: step_back(o); break;
	case TALK_MOVED: break;
	case TALK_DONT_KNOW: case TALK_CANNOT:
		if (o->step == NAME || (o->step == LIKE && !o->generic))
			out_say(&o->talk.out, 0, 2, "This one is needed.");
		else if (o->step == LIKE)
			begin_like(o, o->generic), step_on(o);
		else
			step_on(o);
		break;
	case TALK_TEXT: case TALK_DEFAULT: step_on(o); break;
	}
}

static int load_all(struct own *o, struct hs_err *err)
{
	o->nmachines = kn_machines(o->trees, &o->machines, err);
	if (o->nmachines < 0)
		return -1;
	o->all = mem_array((size_t)o->nmachines + 1, sizeof(struct kn_knowledge *));
	for (int i = 0; i < o->nmachines; i++) {
		o->all[i] = kn_load(o->trees, o->machines[i].id, err);
		if (!o->all[i])
			return -1;
		if (strcmp(o->machines[i].id, GENERIC) == 0)
			o->generic = o->all[i];
	}
	if (o->nmachines == 0)
		return err_set(err, HS_BAD_TREE, "No machine is described under %s.", o->trees);
	begin_like(o, o->generic ? o->generic : o->all[0]);
	collect_values(o);
	return 0;
}

static void end(struct own *o)
{
	for (int i = 0; i < o->nmachines && o->all; i++)
		kn_free(o->all[i]);
	mem_free(o->all);
	if (o->nmachines >= 0)
		mem_free(o->machines);
	mem_free(o->machine.values);
	mem_free(o->asked);
	text_free(&o->title);
	text_free(&o->path);
	text_free(&o->draft);
	talk_end(&o->talk);
}

int talk_machine_new(const struct talk_options *options)
{
	struct own o = {.talk = {.options = options, .step = {.place = KN_NONE}},
			.trees = options->installed};
	struct hs_err err = {0};
	int status;

	if (load_all(&o, &err) < 0 || talk_begin(&o.talk, &err) < 0) {
		end(&o);
		return talk_complain(&err);
	}
	out_say(&o.talk.out, 0, 0, "Your own bike, in one file. What you do not know stays common practice. "
		"`?` helps at every question, `back` goes back, `stop` leaves and writes nothing.");
	while (!o.talk.over)
		turn(&o);
	status = o.talk.status;
	end(&o);
	return status;
}
