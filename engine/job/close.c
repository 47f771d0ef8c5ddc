/* How a job may be closed.  "Proven" claims something, and has conditions: the complaint was repeated
 * and is gone; what was repaired was a cause and not only what follows from one; and the complaint
 * does not come and go by itself, for then its absence proves nothing. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "job/inner.h"

#define DAY 86400LL

/* New plugs clear worn ones as well as fouled ones: of what the repairs can have cleared, was it
 * likelier something that follows from something else? */
bool job_only_consequences(const struct job_view *v)
{
	double follows = 0, causes = 0;
	int n = 0;

	for (int r = 0; r < v->nrepairs; r++) {
		const struct kn_remedy *rem = &v->kn->remedies[v->repairs[r].remedy];

		for (int i = 0; i < rem->nclears; i++) {
			int fault = rem->clears[i].fault;

			if (v->kn->modes[v->kn->faults[fault].mode].consequence) {
				follows = fmax(follows, v->suspects->was[fault]);
				n++;
			} else {
				causes = fmax(causes, v->suspects->was[fault]);
			}
		}
	}
	return n > 0 && follows > causes;
}

static bool settings_back(const struct job_view *v)
{
	for (int i = 0; i < v->nsettings; i++)
		if (v->settings[i].found[0] && !v->settings[i].left_asked)
			return false;
	return true;
}

int job_may_close(const struct job_view *v, const char *how, const char *again, struct hs_err *err)
{
	if (strcmp(how, "watch") == 0 && (!again || !*again))
		return err_set(err, HS_BAD_INPUT, "On watch needs the day on which it is looked at again.");
	if (strcmp(how, "checked") == 0 && v->ncomplaints > 0)
		return err_set(err, HS_BAD_INPUT, "Only a bench run ends as checked: here is a complaint.");
	if (strcmp(how, "proven") != 0)
		return 0;
	if (!v->complaint_gone)
		return err_set(err, HS_BAD_INPUT, "Not proven: the complaint has not been repeated after "
			       "the work and found gone.");
	if (job_only_consequences(v))
		return err_set(err, HS_BAD_INPUT, "Not proven: what was repaired only follows from something "
			       "else. Why did it happen? It comes back unless that is found.");
	if (!settings_back(v))
		return err_set(err, HS_BAD_INPUT, "Not proven: settings noted before the work have not been put back; "
			       "`settings` shows which.");
	if (v->intermittent)
		return err_set(err, HS_BAD_INPUT, "Not proven: it was away once before anything was "
			       "repaired, so that it is away now proves nothing. Put it on watch.");
	return 0;
}

/* ---- the day of the recheck ------------------------------------------------------------------------ */

static void write_day(long long when, char out[11])
{
	time_t at = (time_t)when;
	struct tm day;

	gmtime_r(&at, &day);
	strftime(out, 11, "%Y-%m-%d", &day);
}

long long job_day_start(const char *day)
{
	int year, month, date, used = 0;
	struct tm tm = { 0 };
	char again[11];
	long long when;

	if (strlen(day) != 10 || sscanf(day, "%4d-%2d-%2d%n", &year, &month, &date, &used) != 3 ||
	    used != 10 || year < 1970 || month < 1 || month > 12 || date < 1 || date > 31)
		return -1;
	tm.tm_year = year - 1900;
	tm.tm_mon = month - 1;
	tm.tm_mday = date;
	when = (long long)timegm(&tm);
	write_day(when, again);
	return strcmp(again, day) == 0 ? when : -1; /* the 31st of June is the 1st of July */
}

int job_recheck_day(const char *typed, long long now, char out[11], struct hs_err *err)
{
	char *end;
	long n = strtol(typed, &end, 10);
	long long day = job_day_start(typed);

	end += strspn(end, " ");
	if (day >= 0 && day >= now - now % DAY) {
		snprintf(out, 11, "%s", typed);
		return 0;
	}
	if (day >= 0)
		return err_set(err, HS_BAD_INPUT, "%s is past.", typed);
	n *= text_starts_word(end, "w") ? 7 : text_starts_word(end, "m") ? 30 : 1;
	if (end == typed || n < 1 || n > 1000 ||
	    (*end && !text_same_word(end, "day") && !text_same_word(end, "days") &&
	     !text_same_word(end, "week") && !text_same_word(end, "weeks") &&
	     !text_same_word(end, "month") && !text_same_word(end, "months")))
		return err_set(err, HS_BAD_INPUT, "A day like 2026-12-24, or 7 days, 2 weeks.");
	write_day(now + n * DAY, out);
	return 0;
}
