/* What the shop has seen: closed jobs folded into the frequencies of the trees, each job once.
 *
 * Conjugate counts: the shipped frequencies count as LEARN_WORTH jobs, every job closed here as one; a
 * mode that was confirmed counts whole, one that was inferred by its posterior (docs/method.md).  The
 * counts are a readable file of their own; the trees are never written.  Deleting it forgets. */
#ifndef JOB_LEARN_H
#define JOB_LEARN_H

#include "job/job.h"

#define LEARN_WORTH 100.0

struct learned {
	int njobs;                                            /* counted */
	int nmodes; struct learned_mode { char ref[131]; double count; } *modes; /* by name */
	int nkeys; struct learned_key { char key[26]; } *keys; /* of the jobs counted, sorted */
};

/* The file that goes with a job folder: beside the default one, else in it. */
void learned_path(const char *job_dir, struct text *out);
/* No file is no counts, and no error. */
int learned_read(struct learned *l, const char *path, struct hs_err *err);
int learned_write(const struct learned *l, const char *path, struct hs_err *err);
void learned_free(struct learned *l);

/* What a job came to, as its closing event keeps it: "float-needle.worn 1 seat-o-ring.hard 0.93". */
void job_found(const struct job_view *v, struct text *out);
/* Counts a closed job: true when it was counted now; false: open, a bench run, or counted before. A job
 * closed without a word of what was found is weighed when it has knowledge, else not counted. */
bool learned_fold(struct learned *l, struct job *j);

/* The weight of a mode, in the units of the trees, before and after; `kn` as it was loaded. */
struct learned_change { int mode; double count, before, after; };
int learned_changes(const struct learned *l, const struct kn_knowledge *kn, struct learned_change **out);
/* Puts them in force: for this knowledge in memory. */
void learned_apply(const struct learned *l, struct kn_knowledge *kn);

#endif
