/* The air: standard atmosphere (ISO 2533, geopotential height, below 11 km) and what height does to
 * compression and mixture. */
#ifndef READING_AIR_H
#define READING_AIR_H

double rd_air_pressure(double altitude_m);       /* kPa */
double rd_air_pressure_ratio(double altitude_m); /* over sea level */
double rd_air_density(double altitude_m);        /* kg/m3 */
double rd_air_density_ratio(double altitude_m);

/* Gauge compression carried to sea level: with a fixed ratio and exponent it goes with the air. */
double rd_air_compression_at_sea_level(double shown, double altitude_m);

/* What a vacuum gauge shows up there when the pressure in the port is the same as it is down here. */
double rd_air_vacuum(double kpa_at_sea_level, double altitude_m);

/* A fixed jet flows with the root of its pressure drop, so fuel over air goes with 1 / sqrt(density):
 * percent richer than at sea level, and the jet (numbered by diameter) that sets it right. */
double rd_air_richer_percent(double altitude_m);
double rd_air_jet(double jet, double altitude_m);

/* Stoichiometric air to fuel by mass of petrol with `percent` ethanol by volume (EN 228: at most 10),
 * and by how many percent the same jet runs leaner than on petrol without. */
double rd_air_stoichiometric(double ethanol_percent);
double rd_air_leaner_percent(double ethanol_percent);

/* Air ratio: what was fed over what burns all of it; above 1 is lean. */
double rd_air_ratio(double air_to_fuel, double ethanol_percent);

#endif
