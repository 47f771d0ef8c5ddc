/* The figures of the owner's manual: which are asked for, and the asking. */
#include <math.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "talk/figure.h"
#include "talk/own.h"
#include "talk/paths.h"

static int value_of(const struct kn_own *m, const char *id)
{
	for (int i = 0; i < m->nvalues; i++)
		if (strcmp(m->values[i].of->id, id) == 0)
			return i;
	return KN_NONE;
}

void own_collect_figures(struct own *o)
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

struct kn_knowledge *own_try_out(struct own *o, bool all, struct hs_err *err)
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

int own_choose_figures(struct own *o)
{
	struct hs_err err = {0};
	struct kn_knowledge *kn = own_try_out(o, true, &err);
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
	kn = own_try_out(trial->o, false, err);
	*trial->v = before;
	kn_free(kn);
	return kn ? 0 : -1;
}

enum talk_reply own_ask_figure(struct own *o)
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
