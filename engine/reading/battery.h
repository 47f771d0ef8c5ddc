/* Battery, starter, charging.  Limits are common practice, no source; 12 V, six cells. */
#ifndef READING_BATTERY_H
#define READING_BATTERY_H

#include <stdbool.h>

enum rd_battery { RD_BATTERY_SEALED, RD_BATTERY_FLOODED };

#define RD_BATTERY_REST_HOURS 2   /* or the surface charge taken off, before rest volts mean anything */

/* Share of full charge (0 to 1) at rest and 25 degC; u_share from u_volts by the slope there. */
double rd_battery_charge(double volts, enum rd_battery type);
double rd_battery_charge_u(double volts, double u_volts, enum rd_battery type);
bool rd_battery_rested(double hours, bool surface_charge_off);

/* Least volts while cranking at this temperature of the battery. */
double rd_cranking_limit(double degC);

/* Days until half of `ampere_hours` is gone at `milliamperes` of standing draw. */
double rd_parasitic_days(double ampere_hours, double milliamperes);

/* Charging judged at the posts; a low figure there is the path's when the regulator's is good. */
enum rd_charging { RD_CHARGING_GOOD, RD_CHARGING_PATH, RD_CHARGING_SOURCE, RD_CHARGING_HIGH };
enum rd_charging rd_charging(double at_posts, double at_regulator, double low, double high, double *lost);

/* Unloaded alternator volts go with speed: carried from `rpm` to `to_rpm`. */
double rd_alternator_at(double volts, double rpm, double to_rpm);

#endif
