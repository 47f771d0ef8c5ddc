#include "reading/battery.h"

#include <math.h>
#include <stddef.h>

struct corner { double x, y; };

/* Straight between corners; held at the ends. */
static double between(const struct corner *c, int n, double x)
{
	if (x <= c[0].x)
		return c[0].y;
	for (int i = 1; i < n; i++)
		if (x <= c[i].x)
			return c[i - 1].y + (c[i].y - c[i - 1].y) * (x - c[i - 1].x) / (c[i].x - c[i - 1].x);
	return c[n - 1].y;
}

/* Sealed at 25 degC; the lowest corner carries the last slope on to empty. */
static const struct corner rest[] = { { 11.65, 0 }, { 12.0, .25 }, { 12.35, .5 }, { 12.65, .75 }, { 12.85, 1 } };

#define FLOODED_LOWER .175 /* volt: flooded cells sit 0.15 to 0.2 lower */

static double sealed_volts(double volts, enum rd_battery type)
{
	return type == RD_BATTERY_FLOODED ? volts + FLOODED_LOWER : volts;
}

double rd_battery_charge(double volts, enum rd_battery type)
{
	return between(rest, (int)(sizeof rest / sizeof *rest), sealed_volts(volts, type));
}

double rd_battery_charge_u(double volts, double u_volts, enum rd_battery type)
{
	double more = rd_battery_charge(volts + u_volts, type), less = rd_battery_charge(volts - u_volts, type);

	return (more - less) / 2;
}

bool rd_battery_rested(double hours, bool surface_charge_off)
{
	return surface_charge_off || hours >= RD_BATTERY_REST_HOURS;
}

double rd_cranking_limit(double degC)
{
	static const struct corner limit[] = { { -7, 8.9 }, { 0, 9.2 }, { 10, 9.4 }, { 20, 9.6 } };

	return between(limit, (int)(sizeof limit / sizeof *limit), degC);
}

double rd_parasitic_days(double ampere_hours, double milliamperes)
{
	return milliamperes > 0 ? .5 * ampere_hours * 1000 / (24 * milliamperes) : INFINITY;
}

enum rd_charging rd_charging(double at_posts, double at_regulator, double low, double high, double *lost)
{
	if (lost)
		*lost = at_regulator - at_posts;
	if (at_posts > high)
		return RD_CHARGING_HIGH;
	if (at_posts >= low)
		return RD_CHARGING_GOOD;
	return at_regulator >= low ? RD_CHARGING_PATH : RD_CHARGING_SOURCE;
}

double rd_alternator_at(double volts, double rpm, double to_rpm)
{
	return rpm > 0 ? volts * to_rpm / rpm : NAN;
}
