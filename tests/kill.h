/* Killing a writer at random moments (docs/robustness.md): shared by the test and the long test. */
#ifndef TESTS_KILL_H
#define TESTS_KILL_H

struct kill_figures {
	long kills;             /* writers ended by SIGKILL */
	long acknowledged;      /* answers whose writing was acknowledged before the kill */
	long lost;              /* of those: not in the job opened after it */
	long invented;          /* in the job, but other than what was written, or more than one ahead */
	long in_flight;         /* kept although the writer died before it could say so */
	long torn;              /* kills that left a half-written line behind */
	long torn_bytes;        /* set aside */
	long unborn;            /* killed before the job had its first event */
	long broken;            /* opening failed, or the writer ended in another way */
	char why[300];          /* of the first that is wrong */
};

/* Jobs go into folder `dir`; trees: a file of them.  Every number but the moments follows from seed. */
void kill_writers(const char *dir, const char *trees, int kills, unsigned seed,
		  struct kill_figures *out);
void kill_print(const char *name, const struct kill_figures *f);

#endif
