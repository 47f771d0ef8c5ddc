/* 10,000 kill -9 at random moments; the number can be given as the first argument. */
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "kill.h"

int main(int argc, char **argv)
{
	const char *root = getenv("HALFSPLIT_ROOT");
	int kills = argc > 1 ? atoi(argv[1]) : 10000;
	char dir[64], trees[4200], command[100];
	struct kill_figures f;

	/* In memory where there is such a place: a kill does not ask how fast the disk is. */
	snprintf(dir, sizeof dir, "%s/halfsplit-kill-XXXXXX",
		 access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
	if (!mkdtemp(dir))
		return 1;
	snprintf(trees, sizeof trees, "%s/tests/data/job/small.xml", root ? root : ".");
	kill_writers(dir, trees, kills, 20261125, &f);
	snprintf(command, sizeof command, "rm -rf '%s'", dir);
	kill_print("kill", &f);
	printf("job.kills = %ld kills\njob.kill_lost = %ld answers\njob.kill_invented = %ld answers\n",
	       f.kills, f.lost, f.invented);
	if (f.why[0])
		fprintf(stderr, "%s\n", f.why);
	return system(command) != 0 || f.lost + f.invented + f.broken != 0 || f.kills != kills;
}
