/* Many jobs of self-play, on two processors, and their figures. Results go by job number: they are
 * the same however the work is split. */
#ifndef TESTS_PLAY_RUN_H
#define TESTS_PLAY_RUN_H

#include "play.h"

/* Jobs as they come, by all rules; runs of every cause alone, by the advice and the baseline, without
 * and with 5 % wrong answers. machine NULL: all. Prints `name = value unit` lines of the worst
 * machine, and the failures by cause as comments. Returns an exit status. */
int play_report(int jobs, int runs, const char *machine);

#endif
