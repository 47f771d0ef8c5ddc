/* The engine itself: compression, leak-down, headers, balance, and readings that are no reading.
 * Definitions; limits common practice, no source. */
#ifndef READING_ENGINE_H
#define READING_ENGINE_H

#include <stdbool.h>

#include "reading/reading.h"

#define RD_CRANK_LEAST_RPM 250  /* slower, and compression reads low in all cylinders */
#define RD_COLD_WITHIN_K 3      /* a part is cold when its body is this near to the air */
#define RD_COLD_MINUTES 60      /* ... which takes this long after running */

bool rd_compression_counts(double cranking_rpm, bool throttle_open);
double rd_balance_ratio(const double *value, int n);       /* least over most; altitude cancels */
double rd_wet_gain_percent(double dry, double wet);
double rd_leakdown_percent(double in, double held);        /* FAA AC 43.13-1B 8-14: 80 in, 60 held = 25 % */
double rd_header_ratio(double header, double hottest, double ambient);
/* Shim to put in for the one there: wider clearance wanted, thinner shim (bucket above the shim). */
double rd_shim(double there, double measured, double wanted);
double rd_spread(const double *value, int n);              /* most less least, not from the mean */

/* Four in line with a screw between 1-2, one between 3-4 and one in the middle: which is next? */
enum rd_screw_next { RD_SYNC_12, RD_SYNC_34, RD_SYNC_MIDDLE, RD_SYNC_DONE };
enum rd_screw_next rd_sync_next(const double vacuum[4], double set_within);
/* The screw was turned and the difference did not move: a leak or a valve, not the screw. Stop. */
bool rd_sync_stuck(double difference_before, double difference_after, double repeatability);

bool rd_reads_cold(double part_degC, double air_degC);
bool rd_cold_by_time(double minutes_since_running);

/* Can this instrument catch the short pulses of a pickup?  A plain meter averages them away: what it
 * shows while cranking condemns nothing. */
bool rd_sees_pulses(const struct rd_instrument *m);

#endif
