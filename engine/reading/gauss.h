/* Gauss quadrature for expectations: nodes and weights for a uniform and a normal quantity. */
#ifndef READING_GAUSS_H
#define READING_GAUSS_H

#define RD_GAUSS_MAX 48

struct rd_gauss { int n; double x[RD_GAUSS_MAX], w[RD_GAUSS_MAX]; }; /* weights sum to 1 */

/* n is brought into 1 .. RD_GAUSS_MAX; made at first use and kept. */
const struct rd_gauss *rd_gauss_uniform(int n);  /* on (0, 1) */
const struct rd_gauss *rd_gauss_normal(int n);   /* standard normal; weights below 1e-9 left out */

#endif
