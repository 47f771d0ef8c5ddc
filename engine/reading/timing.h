/* Ignition timing: angle, time, piston. */
#ifndef READING_TIMING_H
#define READING_TIMING_H

double rd_degrees_per_ms(double rpm);
/* Millimetres the piston stands below the top, crank `degrees` from it (slider and crank). */
double rd_piston_below_top(double stroke, double rod, double degrees);

#endif
