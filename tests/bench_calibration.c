/* Of everything given 70 to 80 %, 70 to 80 % must be true: 5,000 entries a decile on random knowledge of
 * the size of a small bike. The trees of the machines take longer: tests/soak_calibration.c. */
#include <stdio.h>

#include "calibrate.h"

int main(void)
{
	struct calibration c = { 0 };

	calibrate_small(80000, 0, 5000, &c);
	calibration_print(&c, "small");
	printf("suspects.calibration_worst_pct = %.2f %%\n", calibration_worst(&c));
	return 0;
}
