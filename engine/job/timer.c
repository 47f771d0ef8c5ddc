/* Timers: minutes from the moment they were started.  They are events, so they run on while the
 * program does not. */
#include <stdlib.h>

#include "job/inner.h"

#define MINUTES_MOST (7 * 24 * 60.0)

/* Was anything said after it had rung? */
static bool seen(const struct job *j, int event, long long ends)
{
	for (int i = event + 1; i < j->nevents; i++)
		if (j->said[i].when > ends)
			return true;
	return false;
}

static void put(struct job_timer *out, int n, struct job_timer t)
{
	int at = n;

	for (; at > 0 && out[at - 1].ends > t.ends; at--)
		out[at] = out[at - 1];
	out[at] = t;
}

int job_timers(const struct job *j, long long now, struct job_timer *out, int most)
{
	int n = 0;

	for (int i = 0; i < j->nevents && n < most; i++) {
		double minutes = j->events[i].kind == JOB_TIMER && j->in_force[i]
					 ? strtod(j->events[i].field[0], NULL) : 0;
		long long ends = j->events[i].when;

		if (!(minutes > 0) || minutes > MINUTES_MOST)
			continue;
		ends += (long long)(60 * minutes + .5);
		if (ends > now || !seen(j, i, ends))
			put(out, n++, (struct job_timer){ i, j->events[i].field[1], ends });
	}
	return n;
}
