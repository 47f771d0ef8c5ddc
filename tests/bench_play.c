/* Self-play on the shipped trees at a size that ends in some minutes; the full size is soak_play.c.
 * Usage: bench_play [JOBS a machine [RUNS a cause [MACHINE]]]. */
#include <stdlib.h>

#include "play_run.h"

int main(int argc, char **argv)
{
	int jobs = argc > 1 ? atoi(argv[1]) : 16, runs = argc > 2 ? atoi(argv[2]) : 0;

	return play_report(jobs, runs, argc > 3 ? argv[3] : NULL);
}
