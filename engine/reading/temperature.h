/* Resistance and temperature: senders (thermistors), platinum, and how warm copper got. */
#ifndef READING_TEMPERATURE_H
#define READING_TEMPERATURE_H

#include "base/err.h"

/* NTC sender by its B value, kelvin (IEC 60539-1: B = ln(R1/R2) / (1/T1 - 1/T2)). */
double rd_ntc_ohm(double ohm25, double b, double degC);
double rd_ntc_degC(double ohm, double ohm25, double b);
double rd_ntc_b(double ohm1, double degC1, double ohm2, double degC2);

/* The same over a wide range (Steinhart and Hart 1968): 1/T = a + b ln R + c (ln R)^3. */
struct rd_steinhart { double a, b, c; };
/* Through three points; -1 when two are the same. */
int rd_steinhart_fit(const double ohm[3], const double degC[3], struct rd_steinhart *out,
		     struct hs_err *err);
double rd_steinhart_degC(const struct rd_steinhart *s, double ohm);

double rd_platinum_ohm(double degC);  /* 100 ohm at 0 degC, IEC 60751, -200 to 850 degC */

/* Kelvin a copper winding rose above the air, from its resistance before (at degC) and after. */
double rd_copper_rise(double ohm_before, double degC_before, double ohm_after, double air_after);

#endif
