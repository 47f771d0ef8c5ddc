/* The tree of one symptom as it is shown; shared by the files show*.c of this room only. */
#ifndef REPORT_SHOW_TREE_H
#define REPORT_SHOW_TREE_H

#include "job/job.h"
#include "report/cuts.h"

#define SHOW_LOOKERS 3

struct show_looker { int check; double d; };
/* weight: all places together, per thousand jobs; p: how often it gives the symptom. */
struct show_leaf { int mode, fault; double weight, p, now; struct show_looker by[SHOW_LOOKERS]; };
struct show_tree {
	const struct kn_knowledge *kn;
	const struct kn_check *top;
	struct job *job;        /* whose weights `now` are; NULL: the complaint alone */
	int nleaves; struct show_leaf *leaf;
	int *first;             /* [nbranches + 1] leaves of branch b: first[b] .. first[b + 1] */
};

/* s wrapped, `first` in front of its first line and `rest`, as wide, in front of the others. */
void show_hang(struct text *out, const char *first, const char *rest, const char *s);
const char *show_joined(const struct kn_knowledge *kn, int gate); /* "any of", "all of", "several of" */
int show_html(const struct show_tree *t, struct text *out, struct hs_err *err);
int show_figures(const struct show_tree *t, struct text *out, struct hs_err *err);

#endif
