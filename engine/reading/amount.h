/* A figure and what it is uncertain by, handed through the small formulas of this room. */
#ifndef READING_AMOUNT_H
#define READING_AMOUNT_H

struct rd_amount {
	double value; /* in the unit the function names */
	double u;     /* standard uncertainty, same unit (JCGM 100 2.3.1); 0: taken as exact */
};

#endif
