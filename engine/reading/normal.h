/* The normal distribution, accurate in both tails (erfc). */
#ifndef READING_NORMAL_H
#define READING_NORMAL_H

double normal_cdf(double z);                 /* P(Z <= z) */
double normal_between(double lo, double hi); /* P(lo < Z <= hi), no cancellation in the tails */
double normal_density(double z);
double normal_quantile(double p);            /* inverse of normal_cdf, |error| < 1e-9 */

#endif
