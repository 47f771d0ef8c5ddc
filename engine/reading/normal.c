#include "reading/normal.h"

#include <math.h>
#include <stdbool.h>

double normal_cdf(double z) { return .5 * erfc(-z * M_SQRT1_2); }

double normal_between(double lo, double hi)
{
	if (!(lo < hi))
		return 0;
	/* Both in the upper tail: take the difference where it does not cancel. */
	if (lo > 0)
		return normal_cdf(-lo) - normal_cdf(-hi);
	return normal_cdf(hi) - normal_cdf(lo);
}

double normal_density(double z)
{
	return exp(-.5 * z * z) * .39894228040143267794;
}

/* A rational start (Abramowitz and Stegun 26.2.23, |error| < 4.5e-4), then Newton steps on the
 * distribution itself, each in the tail where erfc keeps its digits. */
double normal_quantile(double p)
{
	double q = p < .5 ? p : 1 - p, t, z;

	if (!(p > 0))
		return -INFINITY;
	if (!(p < 1))
		return INFINITY;
	if (q < 1e-300)
		q = 1e-300;
	t = sqrt(-2 * log(q));
	z = -(t - (2.515517 + t * (.802853 + t * .010328)) /
		      (1 + t * (1.432788 + t * (.189269 + t * .001308))));
	for (int i = 0; i < 4; i++) {
		double f = (normal_cdf(z) - q) / normal_density(z);

		z -= f / (1 + .5 * z * f); /* Halley: the second derivative of the distribution is known */
	}
	return p < .5 ? z : -z;
}

/* Abramowitz and Stegun 1964, 26.7.3 and 26.7.4: finite sums in the angle. */
double student_within(double t, int freedom)
{
	double angle = atan(t / sqrt(freedom)), c = cos(angle), s = sin(angle);
	bool odd = freedom % 2;
	double term = odd ? c : 1, sum = freedom > 1 || !odd ? term : 0;

	for (int k = odd ? 3 : 2; k <= freedom - 2; k += 2) {
		term *= c * c * (k - 1) / k;
		sum += term;
	}
	return odd ? M_2_PI * (angle + s * sum) : s * sum;
}

double student_quantile(double within, int freedom)
{
	double low = 0, high = 1;

	while (student_within(high, freedom) < within && high < 1e9)
		high *= 2;
	for (int i = 0; i < 80; i++) {
		double mid = (low + high) / 2;

		*(student_within(mid, freedom) < within ? &low : &high) = mid;
	}
	return (low + high) / 2;
}
