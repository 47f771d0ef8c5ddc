#include "reading/timing.h"

#include <math.h>

double rd_degrees_per_ms(double rpm) { return 360 * rpm / 60000; }

double rd_piston_below_top(double stroke, double rod, double degrees)
{
	double r = stroke / 2, angle = degrees * M_PI / 180, side = r * sin(angle);

	return r * (1 - cos(angle)) + rod - sqrt(rod * rod - side * side);
}
