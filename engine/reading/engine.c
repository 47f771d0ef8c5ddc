#include "reading/engine.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

bool rd_compression_counts(double cranking_rpm, bool throttle_open)
{
	return throttle_open && cranking_rpm >= RD_CRANK_LEAST_RPM;
}

static void ends(const double *value, int n, double *low, double *high)
{
	*low = INFINITY;
	*high = -INFINITY;
	for (int i = 0; i < n; i++) {
		*low = fmin(*low, value[i]);
		*high = fmax(*high, value[i]);
	}
}

double rd_balance_ratio(const double *value, int n)
{
	double low, high;

	ends(value, n, &low, &high);
	return low / high;
}

double rd_spread(const double *value, int n)
{
	double low, high;

	ends(value, n, &low, &high);
	return high - low;
}

double rd_shim(double there, double measured, double wanted) { return there + measured - wanted; }

double rd_wet_gain_percent(double dry, double wet) { return 100 * (wet - dry) / dry; }

double rd_leakdown_percent(double in, double held) { return 100 * (in - held) / in; }

double rd_header_ratio(double header, double hottest, double ambient)
{
	return (header - ambient) / (hottest - ambient);
}

/* Pairs first: the middle screw moves two cylinders at once, so it comes when each pair agrees. */
enum rd_screw_next rd_sync_next(const double v[4], double set_within)
{
	if (fabs(v[0] - v[1]) > set_within)
		return RD_SYNC_12;
	if (fabs(v[2] - v[3]) > set_within)
		return RD_SYNC_34;
	return rd_spread(v, 4) > set_within ? RD_SYNC_MIDDLE : RD_SYNC_DONE;
}

/* Two readings each with the repeatability differ by less than 2 sqrt 2 of it by chance (95 %). */
bool rd_sync_stuck(double difference_before, double difference_after, double repeatability)
{
	return fabs(difference_after - difference_before) <= 2 * sqrt(2) * repeatability;
}

bool rd_reads_cold(double part_degC, double air_degC) { return fabs(part_degC - air_degC) <= RD_COLD_WITHIN_K; }

bool rd_cold_by_time(double minutes_since_running) { return minutes_since_running >= RD_COLD_MINUTES; }

bool rd_sees_pulses(const struct rd_instrument *m) { return m && strcmp(m->id, "peak-adaptor") == 0; }
