#include "reading/temperature.h"

#include <math.h>

#define ZERO_KELVIN 273.15
#define COPPER_ZERO 234.5 /* IEC 60028 */

static double kelvin(double degC) { return degC + ZERO_KELVIN; }

double rd_ntc_ohm(double ohm25, double b, double degC)
{
	return ohm25 * exp(b * (1 / kelvin(degC) - 1 / kelvin(25)));
}

double rd_ntc_degC(double ohm, double ohm25, double b)
{
	return 1 / (1 / kelvin(25) + log(ohm / ohm25) / b) - ZERO_KELVIN;
}

double rd_ntc_b(double ohm1, double degC1, double ohm2, double degC2)
{
	return log(ohm1 / ohm2) / (1 / kelvin(degC1) - 1 / kelvin(degC2));
}

/* Divided differences of 1/T over ln R. */
int rd_steinhart_fit(const double ohm[3], const double degC[3], struct rd_steinhart *out,
		     struct hs_err *err)
{
	double l[3], y[3], g2, g3;

	for (int i = 0; i < 3; i++) {
		l[i] = log(ohm[i]);
		y[i] = 1 / kelvin(degC[i]);
	}
	if (!(ohm[0] > 0 && ohm[1] > 0 && ohm[2] > 0) || l[0] == l[1] || l[1] == l[2] || l[0] == l[2])
		return err_set(err, HS_BAD_INPUT, "Three different resistances are needed to fit a sender.");
	g2 = (y[1] - y[0]) / (l[1] - l[0]);
	g3 = (y[2] - y[0]) / (l[2] - l[0]);
	out->c = (g3 - g2) / (l[2] - l[1]) / (l[0] + l[1] + l[2]);
	out->b = g2 - out->c * (l[0] * l[0] + l[0] * l[1] + l[1] * l[1]);
	out->a = y[0] - (out->b + l[0] * l[0] * out->c) * l[0];
	return 0;
}

double rd_steinhart_degC(const struct rd_steinhart *s, double ohm)
{
	double l = log(ohm);

	return 1 / (s->a + l * (s->b + s->c * l * l)) - ZERO_KELVIN;
}

double rd_platinum_ohm(double degC)
{
	double below = degC < 0 ? -4.183e-12 * (degC - 100) * degC * degC * degC : 0;

	return 100 * (1 + degC * (3.9083e-3 - 5.775e-7 * degC) + below);
}

double rd_copper_rise(double ohm_before, double degC_before, double ohm_after, double air_after)
{
	return ohm_after / ohm_before * (COPPER_ZERO + degC_before) - (COPPER_ZERO + air_after);
}
