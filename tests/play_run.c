#include "play_run.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/mem.h"

#define PROCESSES 2

struct play_plan {
	int jobs;           /* drawn as they come */
	int runs;           /* of each mode alone */
	int rules;          /* so many of them */
	double wrong;
};

/* Of one machine; se: standard error. */
struct figure { double value, se; };
struct play_figures {
	struct figure search_vs[PLAY_RULES], total_vs_baseline;
	struct figure right_pct, three_pct;   /* by weight when by mode */
};

struct played {
	struct play_job job;
	double weight;                     /* of the mode; 1 for jobs as they come */
	bool drawn;
	struct play_result by[PLAY_RULES];
};

struct playing {
	const struct kn_knowledge *kn;
	struct su_tables *tables;
	const struct play_plan *plan;
	bool by_mode;
	int n;
	struct played *played;             /* shared between the processes */
};

static struct kn_knowledge *load(const char *machine)
{
	const char *root = getenv("HALFSPLIT_ROOT");
	struct text dir = { 0 };
	struct kn_knowledge *kn;

	text_addf(&dir, "%s/trees", root ? root : ".");
	kn = kn_load(text_str(&dir), machine, NULL);
	text_free(&dir);
	return kn;
}

/* PLAY_TRACE=all shows every step, PLAY_TRACE=dear what went before the wrong dear remedies. */
static void trace(const char *text, const struct play_result *r)
{
	const char *how = getenv("PLAY_TRACE");

	if (how && (strcmp(how, "all") == 0 || (strcmp(how, "dear") == 0 && r->dear > r->right)))
		fputs(text, stderr);
}

static void one(struct playing *g, int i)
{
	struct played *d = &g->played[i];
	int mode = g->by_mode ? i / g->plan->runs : 0;

	if (g->by_mode) {
		d->drawn = !g->kn->modes[mode].consequence &&
			   play_draw_mode(g->kn, g->tables, mode, (uint64_t)(i % g->plan->runs), &d->job);
		for (int f = 0; f < g->kn->nfaults; f++)
			d->weight += g->kn->faults[f].mode == mode ? g->kn->faults[f].weight : 0;
	} else {
		play_draw(g->kn, g->tables, 1000 + (uint64_t)i, &d->job);
		d->drawn = true;
		d->weight = 1;
	}
	d->job.wrong = g->plan->wrong;
	for (int rule = 0; d->drawn && rule < g->plan->rules; rule++) {
		char *text = NULL;
		size_t size = 0;
		FILE *to = rule == 0 && getenv("PLAY_TRACE") ? open_memstream(&text, &size) : NULL;

		play_job(g->kn, g->tables, &d->job, (enum play_rule)rule, &d->by[rule], to);
		if (to) {
			fclose(to);
			trace(text, &d->by[rule]);
			free(text);
		}
	}
}

static int play_all(struct playing *g)
{
	pid_t child[PROCESSES];
	int failed = 0, status;

	fflush(NULL);
	for (int p = 0; p < PROCESSES; p++) {
		child[p] = fork();
		if (child[p] < 0)
			return -1;
		if (child[p] == 0) {
			for (int i = p; i < g->n; i += PROCESSES)
				one(g, i);
			_exit(0);
		}
	}
	for (int p = 0; p < PROCESSES; p++)
		failed |= waitpid(child[p], &status, 0) < 0 || !WIFEXITED(status) || WEXITSTATUS(status);
	return failed ? -1 : 0;
}

/* Ratio of two sums over jobs, and its standard error by the delta method. */
static struct figure ratio_of(const struct playing *g, double (*a)(const struct played *, int),
			      double (*b)(const struct played *, int), int rule, double unit)
{
	double sa = 0, sb = 0, sum = 0;
	struct figure out;

	for (int i = 0; i < g->n && rule < g->plan->rules; i++) {
		sa += g->played[i].weight * a(&g->played[i], PLAY_PLANNER);
		sb += g->played[i].weight * b(&g->played[i], rule);
	}
	if (!(sb > 0))
		return (struct figure){ NAN, NAN };
	out.value = unit * sa / sb;
	for (int i = 0; i < g->n; i++) {
		const struct played *d = &g->played[i];
		double off = d->weight * (a(d, PLAY_PLANNER) - sa / sb * b(d, rule));

		sum += off * off;
	}
	out.se = unit * sqrt(sum) / sb;
	return out;
}

static double dear(const struct played *d, int rule) { return d->by[rule].dear; }
static double right(const struct played *d, int rule) { return d->by[rule].right; }
static double three(const struct played *d, int rule) { return d->by[rule].three; }
static double total(const struct played *d, int rule) { return d->by[rule].cost; }
static double search(const struct played *d, int rule) { return d->by[rule].cost - d->by[rule].known; }

static struct play_figures figures(const struct playing *g)
{
	struct play_figures out = { .right_pct = ratio_of(g, right, dear, PLAY_PLANNER, 100),
		.three_pct = ratio_of(g, three, dear, PLAY_PLANNER, 100),
		.total_vs_baseline = ratio_of(g, total, total, PLAY_BASELINE, 1) };

	for (int rule = 0; rule < g->plan->rules; rule++)
		out.search_vs[rule] = ratio_of(g, search, search, rule, 1);
	return out;
}

/* Failures by what was really wrong (the first of the set): dear remedies, right, among three, and what they
 * take of the percentage of right ones. */
static void list_failures(const struct playing *g)
{
	double all = 0;

	for (int i = 0; i < g->n; i++)
		all += g->played[i].weight * g->played[i].by[0].dear;
	for (int m = 0; m < g->kn->nmodes; m++) {
		int n = 0, first = 0, among = 0;
		double lost = 0;

		for (int i = 0; i < g->n; i++) {
			const struct played *d = &g->played[i];

			if (!d->drawn || g->kn->faults[d->job.fault[0]].mode != m)
				continue;
			n += d->by[0].dear;
			first += d->by[0].right;
			among += d->by[0].three;
			lost += d->weight * (d->by[0].dear - d->by[0].right);
		}
		if (first < n)
			printf("#   %-40s %d dear, %d first, %d among three: %.1f %%\n", g->kn->modes[m].ref, n,
			       first, among, 100 * lost / all);
	}
}

/* PLAY_TRACE=each: what every job cost by every rule. */
static void list_jobs(const struct playing *g)
{
	const char *how = getenv("PLAY_TRACE");

	for (int i = 0; i < g->n && how && strcmp(how, "each") == 0; i++) {
		const struct played *d = &g->played[i];

		if (!d->drawn)
			continue;
		fprintf(stderr, "%llu %s known %.0f cost", (unsigned long long)d->job.seed,
			g->kn->checks[d->job.symptom].id, d->by[0].known);
		for (int rule = 0; rule < g->plan->rules; rule++)
			fprintf(stderr, " %.0f%s", d->by[rule].cost, d->by[rule].cured ? "" : "-");
		for (int f = 0; f < d->job.nfaults; f++)
			fprintf(stderr, " %s", g->kn->modes[g->kn->faults[d->job.fault[f]].mode].ref);
		fputc('\n', stderr);
	}
}

static void show_means(const struct playing *g, const char *machine)
{
	static const char *const names[] = { "advice", "baseline", "one step" };

	for (int rule = 0; rule < g->plan->rules; rule++) {
		double w = 0, cost = 0, extra = 0, checks = 0, repairs = 0, cured = 0;

		for (int i = 0; i < g->n; i++) {
			const struct played *d = &g->played[i];

			if (!d->drawn)
				continue;
			w += d->weight;
			cost += d->weight * d->by[rule].cost;
			extra += d->weight * search(d, rule);
			checks += d->weight * d->by[rule].checks;
			repairs += d->weight * d->by[rule].repairs;
			cured += d->weight * d->by[rule].cured;
		}
		printf("# %s %s, wrong %.0f %%: %s: %.0f min, beyond the known %.0f, checks %.1f, repairs %.1f, "
		       "cured %.0f %%\n", machine, g->by_mode ? "by cause" : "jobs", 100 * g->plan->wrong,
		       names[rule], cost / w, extra / w, checks / w, repairs / w, 100 * cured / w);
	}
}

static int play(const char *machine, const struct play_plan *plan, bool by_mode,
		struct play_figures *out)
{
	struct kn_knowledge *kn = load(machine);
	struct playing g = { kn, NULL, plan, by_mode, 0, NULL };
	size_t size;
	int failed;

	if (!kn)
		return -1;
	g.tables = su_tables_new(kn);
	g.n = by_mode ? kn->nmodes * plan->runs : plan->jobs;
	size = sizeof *g.played * (size_t)(g.n + 1);
	g.played = mmap(NULL, size, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
	failed = g.played == MAP_FAILED || play_all(&g) < 0;
	if (!failed) {
		*out = figures(&g);
		show_means(&g, machine);
		list_failures(&g);
		list_jobs(&g);
		fflush(stdout);
	}
	if (g.played != MAP_FAILED)
		munmap(g.played, size);
	su_tables_free(g.tables);
	kn_free(kn);
	return failed ? -1 : 0;
}

/* ---- the report ------------------------------------------------------------------------------------ */

static void keep_worst(struct figure *worst, struct figure f, bool higher_is_worse)
{
	if (isnan(f.value))
		return;
	if (isnan(worst->value) || (higher_is_worse ? f.value > worst->value : f.value < worst->value))
		*worst = f;
}

static void worst_of(struct play_figures *worst, const struct play_figures *f)
{
	keep_worst(&worst->right_pct, f->right_pct, false);
	keep_worst(&worst->three_pct, f->three_pct, false);
	keep_worst(&worst->total_vs_baseline, f->total_vs_baseline, true);
	for (int rule = 0; rule < PLAY_RULES; rule++)
		keep_worst(&worst->search_vs[rule], f->search_vs[rule], true);
}

static struct play_figures nothing(void)
{
	struct figure none = { NAN, NAN };
	struct play_figures out = { { none, none, none }, none, none, none };

	return out;
}

static void say(const char *name, struct figure f, const char *unit)
{
	if (!isnan(f.value))
		printf("%s = %.*f %s (standard error %.*f)\n", name, *unit == '%' ? 1 : 3, f.value, unit,
		       *unit == '%' ? 1 : 3, f.se);
}

int play_report(int jobs, int runs, const char *machine)
{
	static const char *const machines[] = { "four", "twin", "single", "generic-twin" };
	const bool quick = getenv("PLAY_QUICK"); /* the advice alone */
	const struct play_plan drawn = { jobs, 0, quick ? 1 : PLAY_RULES, 0 },
		alone = { 0, runs, quick ? 1 : PLAY_ONE_STEP, 0 }, noisy = { 0, runs, PLAY_BASELINE, .05 };
	struct play_figures worst[3] = { nothing(), nothing(), nothing() }, f;

	for (int m = 0; m < 4; m++) {
		if (machine && strcmp(machine, machines[m]) != 0)
			continue;
		for (int part = jobs ? 0 : 1; part < (runs ? 3 : 1); part++) {
			if (play(machines[m], part == 0 ? &drawn : part == 1 ? &alone : &noisy, part > 0, &f) < 0)
				return 1;
			worst_of(&worst[part], &f);
		}
	}
	say("plan.search_vs_baseline", worst[0].search_vs[PLAY_BASELINE], "ratio");
	say("plan.search_vs_one_step", worst[0].search_vs[PLAY_ONE_STEP], "ratio");
	say("plan.total_vs_baseline", worst[0].total_vs_baseline, "ratio");
	say("plan.first_right_pct", worst[0].right_pct, "%");
	say("plan.first_three_pct", worst[0].three_pct, "%");
	say("play.minutes_vs_baseline", worst[1].search_vs[PLAY_BASELINE], "ratio");
	say("play.first_right_pct", worst[1].right_pct, "%");
	say("play.first_three_pct", worst[1].three_pct, "%");
	say("play.first_right_noisy_pct", worst[2].right_pct, "%");
	say("play.first_three_noisy_pct", worst[2].three_pct, "%");
	return 0;
}
