/* A position sensor read against its own supply and ground, and its sweep. */
#ifndef READING_SENSOR_H
#define READING_SENSOR_H

#include "base/err.h"
#include "reading/amount.h"

/* Three volts to battery negative by one meter.  u of the three is what is independent (digits,
 * contact): an error of the meter's gain is in all three alike and cancels in the ratio (JCGM 100
 * 5.2, fully correlated: the three sensitivities to it add up to 0).  -1 when supply is not above
 * ground. */
int rd_sensor_ratio(struct rd_amount signal, struct rd_amount supply, struct rd_amount ground,
		    struct rd_amount *ratio, struct hs_err *err);

/* Volts to battery negative at which the signal sits when its ratio is `ratio`. */
double rd_sensor_volts(double ratio, double supply, double ground);

#define RD_SWEEP_REVERSAL .01   /* share of the travel; common practice, no source */
struct rd_sweep {
	double worst_percent;  /* largest deviation from the line between the ends, signed, of the travel */
	int worst;             /* index of that point */
	int reversals;         /* steps backward by more than RD_SWEEP_REVERSAL of the travel */
	int first_reversal;    /* index of the point after it; -1: none */
};
/* Points along the travel; at[] any measure of position, strictly rising; NULL: evenly spaced. */
int rd_sweep(const double *value, const double *at, int n, struct rd_sweep *out, struct hs_err *err);

#endif
