/* One thing that happened.  Names in fields are ids, never indices, so that a job opens with newer
 * trees.  One table (event.c) drives writing, reading and checking. */
#ifndef JOB_EVENT_H
#define JOB_EVENT_H

#include <stdbool.h>

#include "base/err.h"
#include "base/text.h"

enum job_kind {
	JOB_BEGAN,        /* machine, digest, complaint-less? "bench" or "complaint" */
	JOB_COMPLAINED,   /* symptom */
	JOB_TOLD,         /* fact, value: tool NAME yes|no; history NAME yes|no; circumstance NAME
			   * yes|no; altitude METRES; air DEGC; as "tool:multimeter" "yes" */
	JOB_ANSWERED,     /* check, place or "", text, source or "", flags */
	JOB_SKIPPED,      /* check, place or "", dont-know | cannot | could-not-read */
	JOB_REPAIRED,     /* remedy, place or "" */
	JOB_DECLINED,     /* remedy that cannot be done here */
	JOB_ACCESS,       /* access, open | closed */
	JOB_SETTING,      /* setting, place or "", found | left, text */
	JOB_NOTED,        /* text */
	JOB_CLOSED,       /* proven | watch | parts-fitted | handed-over | checked | reopened, text,
			   * day of the recheck "2026-12-24" or "", what was found (job/learn.h) */
	JOB_TOOK_BACK,    /* sequence number of the event taken back */
	JOB_PUT_BACK,     /* sequence number of the event put back (redo) */
	JOB_CHANGED,      /* sequence number of an event, the kind and the fields that stand in its place */
	JOB_TIMER,        /* minutes, what for; runs from when the event was written */
	JOB_ADJUSTED,     /* check, place or "", reading with move or "tight", as typed: no evidence */
	JOB_UNKNOWN,      /* of a later version: kept in the file, means nothing here */
	JOB_KINDS
};

#define JOB_FIELDS_MAX 7
#define JOB_FIELD_BYTES 4096

struct job_event {
	enum job_kind kind;
	long seq;                             /* 1, 2, 3 ...; set by job_add() */
	long long when;                       /* seconds since 1970, UTC; set by job_add() when 0 */
	const char *field[JOB_FIELDS_MAX];    /* NULL-terminated use; owned by the job once added */
};

const char *job_kind_name(enum job_kind k);
int job_kind_fields(enum job_kind k);
/* One line of the journal for it, newline included; checksum chained over `previous`. */
void job_event_write(struct text *line, const struct job_event *e, unsigned previous);

#endif
