/* Fuel: float height, level, flow.  Millimetre, millilitre, minute.  Relations by volume and mass;
 * limits common practice, no source. */
#ifndef READING_FUEL_H
#define READING_FUEL_H

#include <stdbool.h>

#define RD_FLOAT_TWIST_MM .5
#define RD_LEVEL_PER_HEIGHT .9   /* mm of level for each mm of height; common practice, no source */

struct rd_float { double height, twist; bool height_good, twist_good; };
/* Both lobes of one float, mm from the gasket face, held upside down. */
struct rd_float rd_float(double left, double right, double low, double high);

/* Levels in mm BELOW the joint.  A float set higher (upside down) shuts earlier: the level falls.
 * What to add to the height to bring `level` to `wanted`; negative: reduce. */
double rd_float_height_change(double level, double wanted);

double rd_flow_per_minute(double ml, double seconds);
/* mL/min an engine burns at `kilowatts`: 0.34 kg/kWh, 0.74 kg/L (handbook values for spark ignition). */
double rd_flow_needed(double kilowatts);
/* Seconds of full load until `ml` in the bowls are gone; INFINITY when inflow keeps up. */
double rd_bowls_dry_s(double ml, double burnt_per_minute, double inflow_per_minute);

/* Percent more area of a jet numbered by its diameter. */
double rd_jet_area_percent(double from, double to);
/* Pascal under so many mm of petrol of `kg_per_m3`. */
double rd_fuel_head(double mm, double kg_per_m3);

/* Change of consumption in percent of litre per 100 km, from kilometres per litre. */
double rd_economy_litres(double km_per_litre);
double rd_economy_change_percent(double km_per_litre_before, double km_per_litre_now);

#endif
