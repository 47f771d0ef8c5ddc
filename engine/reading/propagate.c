#include "reading/propagate.h"

#include <math.h>

#define STEP 1e-4  /* of the uncertainty: small enough for a slope, large enough for the digits */

static double slope(rd_function *f, double *at, int n, int i, double u)
{
	double here = at[i], h = fmax(STEP * u, 1e-7 * fabs(here)), above, under;

	at[i] = here + h;
	above = f(at, n);
	at[i] = here - h;
	under = f(at, n);
	at[i] = here;
	return (above - under) / (2 * h);
}

struct rd_amount rd_propagate(rd_function *f, const struct rd_amount *x, int n, const double *r)
{
	double at[RD_FIGURES_MAX] = { 0 }, part[RD_FIGURES_MAX], square = 0;
	struct rd_amount out;

	for (int i = 0; i < n; i++)
		at[i] = x[i].value;
	out = (struct rd_amount){ f(at, n), 0 };
	if (!isfinite(out.value))
		return out;
	for (int i = 0; i < n; i++) {
		part[i] = x[i].u > 0 && isfinite(x[i].value) ? slope(f, at, n, i, x[i].u) * x[i].u : 0;
		square += part[i] * part[i];
	}
	for (int i = 0; r && i < n; i++)
		for (int j = 0; j < n; j++)
			if (i != j)
				square += part[i] * part[j] * r[i * n + j];
	out.u = sqrt(fmax(0, square));
	return out;
}

double rd_effective_freedom(const double *u, const double *freedom, int n)
{
	double sum = 0, fourth = 0;

	for (int i = 0; i < n; i++) {
		sum += u[i] * u[i];
		fourth += pow(u[i], 4) / freedom[i];
	}
	return fourth > 0 ? sum * sum / fourth : INFINITY;
}
