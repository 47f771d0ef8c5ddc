#include "reading/air.h"

#include <math.h>

/* ISO 2533: T0 288.15 K, lapse 6.5 K/km, p0 101.325 kPa, g0 / (lapse R) = 5.25588, R 287.05287. */
#define SEA_KELVIN 288.15
#define LAPSE .0065
#define SEA_KPA 101.325
#define EXPONENT 5.255880
#define GAS 287.05287

static double kelvin(double altitude_m) { return SEA_KELVIN - LAPSE * altitude_m; }

double rd_air_pressure_ratio(double altitude_m) { return pow(kelvin(altitude_m) / SEA_KELVIN, EXPONENT); }

double rd_air_pressure(double altitude_m) { return SEA_KPA * rd_air_pressure_ratio(altitude_m); }

double rd_air_density(double altitude_m)
{
	return 1000 * rd_air_pressure(altitude_m) / (GAS * kelvin(altitude_m));
}

double rd_air_density_ratio(double altitude_m) { return rd_air_density(altitude_m) / rd_air_density(0); }

double rd_air_compression_at_sea_level(double shown, double altitude_m)
{
	return shown / rd_air_pressure_ratio(altitude_m);
}

double rd_air_vacuum(double kpa_at_sea_level, double altitude_m)
{
	return kpa_at_sea_level - (SEA_KPA - rd_air_pressure(altitude_m));
}

double rd_air_richer_percent(double altitude_m)
{
	return 100 * (1 / sqrt(rd_air_density_ratio(altitude_m)) - 1);
}

/* Area goes with sqrt(density), diameter with the root of that. */
double rd_air_jet(double jet, double altitude_m) { return jet * pow(rd_air_density_ratio(altitude_m), .25); }

/* Air over fuel 14.7 for petrol and 9.0 for ethanol; densities 0.745 and 0.789 kg/L (handbook
 * values; petrol of EN 228 lies between 0.720 and 0.775). */
double rd_air_stoichiometric(double ethanol_percent)
{
	double ethanol = ethanol_percent / 100 * .789, petrol = (1 - ethanol_percent / 100) * .745;

	return (14.7 * petrol + 9.0 * ethanol) / (petrol + ethanol);
}

double rd_air_leaner_percent(double ethanol_percent)
{
	return 100 * (rd_air_stoichiometric(0) / rd_air_stoichiometric(ethanol_percent) - 1);
}

double rd_air_ratio(double air_to_fuel, double ethanol_percent)
{
	return air_to_fuel / rd_air_stoichiometric(ethanol_percent);
}
