/* The normal distribution, accurate in both tails (erfc). */
#ifndef READING_NORMAL_H
#define READING_NORMAL_H

double normal_cdf(double z);                 /* P(Z <= z) */
double normal_between(double lo, double hi); /* P(lo < Z <= hi), no cancellation in the tails */
double normal_density(double z);
double normal_quantile(double p);            /* inverse of normal_cdf, |error| < 1e-9 */

/* Student's t with a whole number of degrees of freedom: P(-t < T <= t), and the t that has it. */
double student_within(double t, int freedom);
double student_quantile(double within, int freedom);

#endif
