/* `halfsplit machine new`: what the questions about a bike share. */
#ifndef TALK_OWN_H
#define TALK_OWN_H

#include "knowledge/own.h"
#include "talk/inner.h"

enum own_step { OWN_NAME, OWN_LIKE, OWN_CYLINDERS, OWN_CARBURETTORS, OWN_COILS, OWN_FITTED, OWN_FIGURES, OWN_WRITE };

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
	enum own_step step;
	int *asked, nasked, at;         /* indices of values that are asked for, and which is next */
};

/* ---- own_bike.c: one question each, answered into o->machine ----------------------------------- */
enum talk_reply own_ask_name(struct own *o);
enum talk_reply own_ask_like(struct own *o);
enum talk_reply own_ask_cylinders(struct own *o);
/* *count stands for Enter alone, and takes the answer. */
enum talk_reply own_ask_count(struct own *o, const char *question, int least, int *count);
enum talk_reply own_ask_fitted(struct own *o);
/* Counts, access and what is fitted as on that machine. */
void own_begin_like(struct own *o, const struct kn_knowledge *kn);

/* ---- own_figures.c ----------------------------------------------------------------------------- */
/* Every figure there is: the generic ones, and those of other machines, which are left out unless
 * they are given. */
void own_collect_figures(struct own *o);
/* Those a check of this bike would judge by, and that differ from bike to bike. 0 or -1. */
int own_choose_figures(struct own *o);
enum talk_reply own_ask_figure(struct own *o);
/* The machine as it would be, bound; NULL with err. all: what is left out stands in for itself. The caller
 * frees. */
struct kn_knowledge *own_try_out(struct own *o, bool all, struct hs_err *err);

/* ---- own_write.c ------------------------------------------------------------------------------- */
int own_set_paths(struct own *o, struct hs_err *err);
/* Writes the file and tells what it changes. TALK_OVER when done or failed, TALK_MOVED when another name is
 * wanted. */
enum talk_reply own_write(struct own *o);

#endif
