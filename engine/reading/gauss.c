/* Nodes are the roots of the orthonormal polynomial of degree n, weights one over the sum of the
 * squares of the lower ones there (Abramowitz and Stegun 25.4.29, 25.4.46).  The recurrence is
 * x p[k] = b[k+1] p[k+1] + b[k] p[k-1]; roots of neighbouring degrees interlace, so each degree
 * brackets the next. */
#include "reading/gauss.h"

#include <math.h>
#include <stdbool.h>

#define NEGLIGIBLE 1e-9

typedef double recurrence(int k);

static double legendre(int k) { return k / sqrt(4.0 * k * k - 1); }
static double hermite(int k) { return sqrt(k); }

struct poly { double value, slope, squares; };

static struct poly poly_at(recurrence *b, int n, double x)
{
	double before = 0, p = 1, dbefore = 0, d = 0, squares = 0;

	for (int k = 0; k < n; k++) {
		double bk = k ? b(k) : 0, next = (x * p - bk * before) / b(k + 1);
		double dnext = (p + x * d - bk * dbefore) / b(k + 1);

		squares += p * p;
		before = p;
		p = next;
		dbefore = d;
		d = dnext;
	}
	return (struct poly){ p, d, squares };
}

/* The one root between lo and hi: Newton, halving where it would leave the bracket. */
static double root_between(recurrence *b, int n, double lo, double hi)
{
	bool rising = poly_at(b, n, hi).value > 0;
	double x = (lo + hi) / 2;

	for (int i = 0; i < 100; i++) {
		struct poly p = poly_at(b, n, x);
		double step = p.value / p.slope, next = x - step;

		if ((p.value > 0) == rising)
			hi = x;
		else
			lo = x;
		if (fabs(step) < 1e-15 * fmax(1, fabs(x)))
			break;
		x = next > lo && next < hi ? next : (lo + hi) / 2;
	}
	return x;
}

static void make(struct rd_gauss *g, recurrence *b, int n, double end)
{
	double old[RD_GAUSS_MAX + 2], x[RD_GAUSS_MAX + 2], sum = 0;

	old[0] = -end;
	old[1] = end;
	for (int degree = 1; degree <= n; degree++) {
		for (int i = 0; i < degree; i++)
			x[i + 1] = root_between(b, degree, old[i], old[i + 1]);
		for (int i = 1; i <= degree; i++)
			old[i] = x[i];
		old[degree + 1] = end;
	}
	g->n = 0;
	for (int i = 1; i <= n; i++) {
		double w = 1 / poly_at(b, n, x[i]).squares;

		if (w < NEGLIGIBLE)
			continue;
		g->x[g->n] = x[i];
		g->w[g->n++] = w;
		sum += w;
	}
	for (int i = 0; i < g->n; i++)
		g->w[i] /= sum;
}

static int fitting(int n) { return n < 1 ? 1 : n > RD_GAUSS_MAX ? RD_GAUSS_MAX : n; }

const struct rd_gauss *rd_gauss_uniform(int n)
{
	static struct rd_gauss made[RD_GAUSS_MAX + 1];
	struct rd_gauss *g = &made[fitting(n)];

	if (!g->n) {
		make(g, legendre, fitting(n), 1);
		for (int i = 0; i < g->n; i++)
			g->x[i] = (1 + g->x[i]) / 2;
	}
	return g;
}

const struct rd_gauss *rd_gauss_normal(int n)
{
	static struct rd_gauss made[RD_GAUSS_MAX + 1];
	struct rd_gauss *g = &made[fitting(n)];

	if (!g->n)
		make(g, hermite, fitting(n), sqrt(4.0 * fitting(n) + 2));
	return g;
}
