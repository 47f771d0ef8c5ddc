/* A machine file written for a person: his own bike, like one that is there.
 *
 * Where things are and how long it takes to get at them come from the machine it is like; counts,
 * what is fitted and figures are his.  What he does not know is taken from the generic machine and
 * marked so, or left out. */
#ifndef KNOWLEDGE_OWN_H
#define KNOWLEDGE_OWN_H

#include "base/text.h"
#include "knowledge/knowledge.h"

#define KN_OWN_CYLINDERS_MAX RD_PLACES_MAX

struct kn_own_value {
	const struct kn_value *of;      /* id, title, unit; its figures where none is given */
	bool given;
	struct rd_figure figure;
	bool left_out;                  /* not given, and nothing generic to take */
};

struct kn_own {
	const char *id, *title;
	const struct kn_knowledge *like;
	int ncylinders, ncarburettors, ncoils;
	uint64_t fitted;                /* over like->options */
	int nvalues; struct kn_own_value *values;
};

/* "My old twin" -> "my-old-twin"; at most 40 letters. False when nothing is left of it. */
bool kn_own_id(const char *title, char id[65]);
/* Options that follow from the counts and are not asked for. */
bool kn_own_option_follows(const struct kn_own *o, const char *option, bool *fitted);
/* The whole file. */
void kn_own_write(const struct kn_own *o, struct text *out);

#endif
