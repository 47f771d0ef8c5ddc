/* Self-play at full size: 2,000 jobs a machine by all rules, 6 runs a cause without and with 5 % wrong
 * answers; hours on two processors. Usage: soak_play [JOBS a machine [RUNS a cause [MACHINE]]]. */
#include <stdlib.h>

#include "play_run.h"

int main(int argc, char **argv)
{
	return play_report(argc > 1 ? atoi(argv[1]) : 2000, argc > 2 ? atoi(argv[2]) : 6,
			   argc > 3 ? argv[3] : NULL);
}
