#include "reading/sensor.h"

#include <math.h>
#include <stddef.h>

int rd_sensor_ratio(struct rd_amount signal, struct rd_amount supply, struct rd_amount ground,
		    struct rd_amount *ratio, struct hs_err *err)
{
	double span = supply.value - ground.value, r;

	if (!(span > 0))
		return err_set(err, HS_BAD_INPUT, "The supply is not above the ground: %.2f and %.2f V. Check "
			       "where the probes were.", supply.value, ground.value);
	r = (signal.value - ground.value) / span;
	ratio->value = r;
	ratio->u = hypot(hypot(signal.u, r * supply.u), (r - 1) * ground.u) / span;
	return 0;
}

double rd_sensor_volts(double ratio, double supply, double ground)
{
	return ground + ratio * (supply - ground);
}

int rd_sweep(const double *value, const double *at, int n, struct rd_sweep *out, struct hs_err *err)
{
	double travel;

	*out = (struct rd_sweep){ 0, 0, 0, -1 };
	if (n < 3)
		return err_set(err, HS_BAD_INPUT, "A sweep needs three points or more: closed, some between, open.");
	travel = value[n - 1] - value[0];
	if (travel == 0)
		return err_set(err, HS_BAD_INPUT, "First and last point are the same: nothing was swept.");
	for (int i = 1; i < n; i++) {
		double share = at ? (at[i] - at[0]) / (at[n - 1] - at[0]) : (double)i / (n - 1);
		double off = 100 * (value[i] - value[0] - share * travel) / travel;

		if (at && !(at[i] > at[i - 1]))
			return err_set(err, HS_BAD_INPUT, "The positions of a sweep must rise from point to point.");
		if (fabs(off) > fabs(out->worst_percent)) {
			out->worst_percent = off;
			out->worst = i;
		}
		if ((value[i] - value[i - 1]) / travel < -RD_SWEEP_REVERSAL) {
			out->reversals++;
			if (out->first_reversal < 0)
				out->first_reversal = i;
		}
	}
	return 0;
}
