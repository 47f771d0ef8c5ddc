#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "job_aid.h"

struct kn_knowledge *kn;

int set_up(void **state)
{
	(void)state;
	kn = fixture_trees("tests/data/job/small.xml", NULL);
	return kn ? 0 : -1;
}

int tear_down(void **state)
{
	(void)state;
	kn_free(kn);
	return 0;
}

int add_at(struct job *j, enum job_kind kind, long long when, const char *a, const char *b, const char *c,
	   const char *d)
{
	struct job_event e = { .kind = kind, .when = when, .field = { a, b, c, d } };
	struct hs_err err = { 0 };

	assert_int_equal(job_add(j, &e, &err), 0);
	return job_nevents(j) - 1;
}
