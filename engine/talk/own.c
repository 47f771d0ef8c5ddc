/* `halfsplit machine new`: a person's own bike, asked for and written as one file. */
#include <string.h>

#include "base/mem.h"
#include "talk/own.h"
#include "talk/paths.h"

#define GENERIC "generic-twin"  /* whose figures stand in for what is not known */

static enum talk_reply ask_one(struct own *o)
{
	struct kn_own *m = &o->machine;
	struct hs_err err = {0};

	switch (o->step) {
	case OWN_NAME: return own_ask_name(o);
	case OWN_LIKE: return own_ask_like(o);
	case OWN_CYLINDERS: return own_ask_cylinders(o);
	case OWN_CARBURETTORS: return own_ask_count(o, "How many carburettors", 1, &m->ncarburettors);
	case OWN_COILS: return own_ask_count(o, "How many ignition coils", 0, &m->ncoils);
	case OWN_FITTED: return own_ask_fitted(o);
	case OWN_FIGURES:
		return o->nasked > 0 ? own_ask_figure(o) : TALK_TEXT;
	case OWN_WRITE: break;
	}
	if (own_set_paths(o, &err) == 0)
		return own_write(o);
	talk_fail(&o->talk, &err);
	return TALK_OVER;
}

static void step_on(struct own *o)
{
	struct hs_err err = {0};

	if (o->step == OWN_FIGURES && ++o->at < o->nasked)
		return;
	o->step++;
	if (o->step != OWN_FIGURES)
		return;
	if (own_set_paths(o, &err) < 0)
		talk_fail(&o->talk, &err);
	else
		own_choose_figures(o);
}

static void step_back(struct own *o)
{
	if (o->step == OWN_FIGURES && o->at > 0)
		o->at--;
	else if (o->step == OWN_NAME)
		out_say(&o->talk.out, 0, 2, "There is nothing left to take back.");
	else
		o->step--;
	if (o->step == OWN_FIGURES && o->at >= o->nasked)
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
		if (o->step == OWN_NAME || (o->step == OWN_LIKE && !o->generic))
			out_say(&o->talk.out, 0, 2, "This one is needed.");
		else if (o->step == OWN_LIKE)
			own_begin_like(o, o->generic), step_on(o);
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
	own_begin_like(o, o->generic ? o->generic : o->all[0]);
	own_collect_figures(o);
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
