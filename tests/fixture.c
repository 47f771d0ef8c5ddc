#include "fixture.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>
#include <cmocka.h>

struct kn_knowledge *fixture_trees(const char *below_root, const char *machine)
{
	const char *root = getenv("HALFSPLIT_ROOT");
	struct hs_err err = { 0 };
	struct kn_knowledge *kn;
	char path[4096];

	snprintf(path, sizeof path, "%s/%s", root ? root : ".", below_root);
	kn = kn_load(path, machine, &err);
	if (!kn)
		fprintf(stderr, "%s:%d: %s\n", err.file, err.line, err.text);
	return kn;
}

int fixture_folder(char dir[64])
{
	snprintf(dir, 64, "%s/halfsplit-test-XXXXXX", access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
	return mkdtemp(dir) ? 0 : -1;
}

int fixture_remove(const char *dir)
{
	char command[128];

	snprintf(command, sizeof command, "rm -rf '%s'", dir);
	return system(command);
}

void fixture_near(double got, double want, double most)
{
	if (!(fabs(got - want) <= most))
		fail_msg("%.17g, not %.17g", got, want);
}

struct rd_setup fixture_setup(enum rd_unit unit)
{
	struct rd_setup s;

	rd_setup_init(&s);
	s.unit = unit;
	return s;
}

void fixture_event(struct job *j, enum job_kind kind, const char *a, const char *b, const char *c)
{
	struct job_event e = { .kind = kind, .field = { a, b, c } };
	struct hs_err err = { 0 };

	if (job_add(j, &e, &err) < 0)
		fail_msg("%s", err.text);
}

const struct pl_plan *fixture_plan(struct job *j)
{
	struct hs_err err = { 0 };
	const struct pl_plan *p = job_plan(j, &err);

	assert_non_null(p);
	return p;
}
