#include "reading/fuel.h"

#include <math.h>

struct rd_float rd_float(double left, double right, double low, double high)
{
	struct rd_float f = { (left + right) / 2, fabs(left - right), false, false };

	f.height_good = f.height >= low && f.height <= high;
	f.twist_good = f.twist <= RD_FLOAT_TWIST_MM + 1e-9;
	return f;
}

double rd_float_height_change(double level, double wanted) { return (wanted - level) / RD_LEVEL_PER_HEIGHT; }

double rd_flow_per_minute(double ml, double seconds) { return seconds > 0 ? ml * 60 / seconds : NAN; }

double rd_flow_needed(double kilowatts) { return kilowatts * .34 / .74 / 60 * 1000; }

double rd_bowls_dry_s(double ml, double burnt_per_minute, double inflow_per_minute)
{
	double falls = burnt_per_minute - inflow_per_minute;

	return falls > 0 ? 60 * ml / falls : INFINITY;
}

double rd_jet_area_percent(double from, double to) { return 100 * (to / from * to / from - 1); }

double rd_fuel_head(double mm, double kg_per_m3) { return kg_per_m3 * 9.80665 * mm / 1000; }

double rd_economy_litres(double km_per_litre) { return 100 / km_per_litre; }

double rd_economy_change_percent(double km_per_litre_before, double km_per_litre_now)
{
	return 100 * (rd_economy_litres(km_per_litre_now) / rd_economy_litres(km_per_litre_before) - 1);
}
