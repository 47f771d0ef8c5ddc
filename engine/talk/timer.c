/* Timers: started with a word, shown until seen, never waited for. */
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/mem.h"
#include "talk/inner.h"

#define SHOWN_MOST 8

/* "15", "15 min", "1.5 h", "90 s" and behind it what for. Minutes, or -1. */
static double minutes_of(const char *typed, const char **what)
{
	static const struct { const char *unit; double minutes; } units[] = {
		{"minutes", 1}, {"min", 1}, {"m", 1}, {"hours", 60}, {"h", 60}, {"seconds", 1 / 60.},
		{"s", 1 / 60.},
	};
	char *end;
	double number = strtod(typed, &end);

	if (end == typed || !(number > 0))
		return -1;
	end += strspn(end, " ");
	for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
		size_t n = strlen(units[i].unit);

		if (strncasecmp(end, units[i].unit, n) == 0 && (end[n] == ' ' || !end[n])) {
			number *= units[i].minutes;
			end += n;
			break;
		}
	}
	*what = end + strspn(end, " ");
	return number;
}

int timer_start(struct talk *t, const char *typed, struct hs_err *err)
{
	const char *what;
	double minutes = minutes_of(typed, &what);
	struct text number = {0};
	int result;

	if (!(minutes > 0) || minutes > 7 * 24 * 60)
		return err_set(err, HS_BAD_INPUT, "A timer is a number of minutes, up to a week, and what it is "
			       "for: 15 bath.");
	text_json_number(&number, minutes);
	result = talk_record(t, JOB_TIMER, text_str(&number), *what ? what : "timer", NULL, NULL);
	text_free(&number);
	if (result == 0)
		timers_show(t);
	return 0;                       /* a failed write has ended the talk */
}

void timers_show(struct talk *t)
{
	struct job_timer timer[SHOWN_MOST];
	long long now = (long long)time(NULL);
	int n = job_timers(t->job, now, timer, SHOWN_MOST);

	for (int i = 0; i < n; i++) {
		long long left = timer[i].ends - now;
		struct text time = {0};

		out_minutes(&time, (double)(left < 0 ? -left : left) / 60);
		if (left > 0)
			out_say(&t->out, 0, 2, "Timer, %s: %s left.", timer[i].what, text_str(&time));
		else
			out_say(&t->out, 0, 2, "TIME IS UP, %s: since %s.", timer[i].what, text_str(&time));
		text_free(&time);
	}
}
