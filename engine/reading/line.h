/* A straight line through points by least squares, with what it is uncertain by (JCGM 100 H.3). */
#ifndef READING_LINE_H
#define READING_LINE_H

struct rd_line {
	int n;
	double at0, slope;        /* y = at0 + slope x */
	double u_at0, u_slope, r; /* standard uncertainties and their correlation; NAN below 3 points */
	double s;                 /* standard deviation of a point about the line; NAN below 3 points */
};

/* `u` > 0: the known standard uncertainty of each y, instead of the scatter about the line.
 * False with fewer than two different x. */
int rd_line_fit(const double *x, const double *y, int n, double u, struct rd_line *out);

double rd_line_at(const struct rd_line *l, double x);
double rd_line_u_at(const struct rd_line *l, double x);

#endif
