#include "reading/line.h"

#include <math.h>

static double scatter(const struct rd_line *l, const double *x, const double *y)
{
	double square = 0;

	for (int i = 0; i < l->n; i++) {
		double off = y[i] - l->at0 - l->slope * x[i];

		square += off * off;
	}
	return l->n > 2 ? sqrt(square / (l->n - 2)) : NAN;
}

int rd_line_fit(const double *x, const double *y, int n, double u, struct rd_line *out)
{
	double mean_x = 0, mean_y = 0, xx = 0, xy = 0, squares = 0, s;

	*out = (struct rd_line){ n, NAN, NAN, NAN, NAN, NAN, NAN };
	for (int i = 0; i < n; i++) {
		mean_x += x[i] / n;
		mean_y += y[i] / n;
		squares += x[i] * x[i];
	}
	for (int i = 0; i < n; i++) {
		xx += (x[i] - mean_x) * (x[i] - mean_x);
		xy += (x[i] - mean_x) * (y[i] - mean_y);
	}
	if (n < 2 || !(xx > 0))
		return 0;
	out->slope = xy / xx;
	out->at0 = mean_y - out->slope * mean_x;
	out->s = scatter(out, x, y);
	s = u > 0 ? u : out->s;
	out->u_slope = s / sqrt(xx);
	out->u_at0 = s * sqrt(squares / (n * xx));
	out->r = -mean_x * sqrt(n / squares);
	return 1;
}

double rd_line_at(const struct rd_line *l, double x) { return l->at0 + l->slope * x; }

double rd_line_u_at(const struct rd_line *l, double x)
{
	return sqrt(l->u_at0 * l->u_at0 + x * x * l->u_slope * l->u_slope +
		    2 * x * l->u_at0 * l->u_slope * l->r);
}
