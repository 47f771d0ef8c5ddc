/* The job's insides, shared by the files of this room only. */
#ifndef JOB_INNER_H
#define JOB_INNER_H

#include "job/job.h"
#include "suspects/tables.h"

#define JOB_HEADER "halfsplit-job 1\n"
#define JOB_EVENTS_MAX 100000

struct job {
	const struct kn_knowledge *kn;
	char id[65], dir[4096];
	int fd, dir_fd;              /* -1: in memory only */
	unsigned crc;                /* of the last line */
	long long size;              /* good bytes of the file */
	bool broken;                 /* a write failed half-way and could not be cut back */
	struct job_event *events; int nevents, cap; /* as they stand now, changes made */
	struct job_event *said;      /* [nevents]; as they are in the file */
	bool *in_force;              /* [nevents]; not taken back */
	struct arena *arena;         /* the events' fields */
	struct job_view *view; struct arena *view_arena;
	struct pl_plan plan; bool have_plan;
	struct su_tables *tables;
};

/* job.c: drops everything worked out from the knowledge. */
void job_forget(struct job *j);

/* crc.c */
unsigned job_crc(unsigned start, const void *data, size_t size);

/* event.c */
int job_kind_by_name(const char *name, size_t n);         /* JOB_UNKNOWN when there is none */
/* Reads one line (without its end); fields are taken from the arena. 0, or -1: not a whole line of
 * this job. *crc gets the line's own checksum. */
int job_event_read(const char *line, size_t n, unsigned previous, long seq, struct arena *arena,
		   struct job_event *out, unsigned *crc);

/* journal.c */
int journal_create(struct job *j, struct hs_err *err);
int journal_open(struct job *j, long *recovered, struct hs_err *err);
int journal_append(struct job *j, const char *line, size_t n, struct hs_err *err);
void journal_close(struct job *j);
bool journal_id_good(const char *id);

/* job.c */
void job_take(struct job *j, const struct job_event *e);   /* no file, no check */
int job_redo_depth(const struct job *j);
int job_index_of(const struct job *j, const char *seq);    /* -1 */

/* change.c: what a change says comes to stand in its place; or the event is made anew out of what was
 * said and the changes of it in force. */
void job_apply(struct job *j, const struct job_event *change);
void job_stand(struct job *j, int event);

/* understand.c: an answer without its evidence. `v` may still be without suspects. */
struct job_facts {               /* what corrections need */
	double leads, leads_u, altitude_m, air_degC;
};
enum job_status job_make_sense(const struct job *j, const struct job_facts *f,
			       const struct job_answer *a, struct job_understood *out,
			       struct hs_err *err);
bool job_is_reading(const struct kn_check *c);

/* evidence.c: what an understood answer says, as rows; returns how many were added. */
int job_evidence(struct job *j, const struct job_finding *f, double exponent, int epoch,
		 struct su_evidence *out, int most);
/* The outcome a number fell into, KN_NONE. */
int job_outcome_of(const struct kn_check *c, const struct rd_result *r);

/* view.c */
struct job_view *view_make(struct job *j, struct hs_err *err);
struct job_facts facts_now(const struct job *j);          /* needs no view */

#endif
