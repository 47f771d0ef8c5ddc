/* `halfsplit learn`: closed jobs counted into the frequencies, shown before and after. */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "job/learn.h"
#include "talk/inner.h"

#define EVERY 500         /* jobs between two words of progress */
#define SHOWN_MOST 30

struct kn_knowledge *talk_load(const char *trees, const char *machine, const char *job_dir,
			       struct hs_err *err)
{
	return talk_load_with(trees, machine, job_dir, NULL, 0, err);
}

struct kn_knowledge *talk_load_with(const char *trees, const char *machine, const char *job_dir,
				    const struct kn_figure *figures, int n, struct hs_err *err)
{
	struct kn_knowledge *kn = kn_load_with(trees, machine, figures, n, err);
	struct learned l = {0};
	struct text path = {0};

	learned_path(job_dir, &path);
	if (kn && learned_read(&l, text_str(&path), err) < 0) {
		kn_free(kn);
		kn = NULL;
	}
	if (kn && l.njobs > 0)
		learned_apply(&l, kn);
	learned_free(&l);
	text_free(&path);
	return kn;
}

/* ---- counting ---------------------------------------------------------------------------------- */

static void progress(int done, int all)
{
	if (!isatty(STDERR_FILENO) || (done % EVERY && done < all) || all < EVERY)
		return;
	fprintf(stderr, "\r%d of %d jobs%s", done, all, done == all ? "\n" : "");
	fflush(stderr);
}

/* Jobs say what was found when they were closed; older ones are weighed with the trees. */
static void fold(struct learned *l, const char *dir, const char *id, const struct kn_knowledge *kn)
{
	struct job *j = job_read(dir, id, kn, NULL);

	if (j)
		learned_fold(l, j);
	job_close(j);
}

/* The trees bound to a machine, loaded once; NULL: there is no such machine any more. */
struct shelf { int n; struct { char machine[65]; struct kn_knowledge *kn; } *of; };

static const struct kn_knowledge *take(struct shelf *s, const char *trees, const char *machine)
{
	struct hs_err ignored = {0};

	for (int i = 0; i < s->n; i++)
		if (strcmp(s->of[i].machine, machine) == 0)
			return s->of[i].kn;
	s->of = mem_resize_array(s->of, (size_t)s->n + 1, sizeof *s->of);
	snprintf(s->of[s->n].machine, sizeof s->of[s->n].machine, "%s", machine);
	s->of[s->n].kn = kn_load(trees, machine, &ignored);
	return s->of[s->n++].kn;
}

static int count_jobs(struct learned *l, const char *trees, const char *dir, struct hs_err *err)
{
	struct shelf shelf = {0};
	struct job_summary *jobs;
	int n = job_list(dir, &jobs, err);

	for (int i = n - 1; i >= 0; i--) { /* the oldest first */
		fold(l, dir, jobs[i].id, take(&shelf, trees, jobs[i].machine));
		progress(n - i, n);
	}
	for (int i = 0; i < shelf.n; i++)
		kn_free(shelf.of[i].kn);
	mem_free(shelf.of);
	mem_free(jobs);
	return n < 0 ? -1 : 0;
}

/* ---- showing ------------------------------------------------------------------------------------ */

static double moved(const struct learned_change *c)
{
	return c->count > 0 ? fabs(log(c->after / c->before)) : -1;
}

/* The one that moved most of those not shown yet; KN_NONE. */
static int next_shown(const struct learned_change *c, int n, const bool *shown)
{
	int best = KN_NONE;

	for (int i = 0; i < n; i++)
		if (!shown[i] && c[i].count >= .05 && (best == KN_NONE || moved(&c[i]) > moved(&c[best])))
			best = i;
	return best;
}

static void show_change(struct talk_out *out, const struct kn_knowledge *kn, const struct learned_change *c)
{
	const struct kn_mode *m = &kn->modes[c->mode];

	out_say(out, 2, 6, "%s: %s: %.3g before, %.3g now; %.1f job%s.", kn->parts[m->part].title, m->title,
		c->before, c->after, c->count, c->count > .95 && c->count < 1.05 ? "" : "s");
}

static int show_machine(struct talk_out *out, const struct learned *l, const char *trees,
			const char *machine, struct hs_err *err)
{
	struct kn_knowledge *kn = kn_load(trees, machine, err);
	struct learned_change *changes;
	bool *shown;
	int n;

	if (!kn)
		return -1;
	n = learned_changes(l, kn, &changes);
	shown = mem_array((size_t)n + 1, sizeof *shown);
	out_say(out, 0, 2, "%s: frequencies%s that moved most:", kn->machine_title,
		kn->independent ? "" : ", in shares of the trees,");
	for (int i = 0; i < SHOWN_MOST; i++) {
		int best = next_shown(changes, n, shown);
		if (best == KN_NONE)
			break;
		shown[best] = true;
		show_change(out, kn, &changes[best]);
	}
	mem_free(shown);
	mem_free(changes);
	kn_free(kn);
	return 0;
}

static int show(const struct learned *l, int before, const char *trees, const char *machine, const char *path,
		struct hs_err *err)
{
	struct kn_machine_title *machines;
	struct talk_out out;
	int n = kn_machines(trees, &machines, err), result = n < 0 ? -1 : 0;

	out_start(&out, stdout);
	out_say(&out, 0, 2, "%d job%s counted, %d of them now.", l->njobs, l->njobs == 1 ? "" : "s",
		l->njobs - before);
	for (int i = 0; i < n && l->njobs > 0 && result == 0; i++)
		if (!machine || strcmp(machine, machines[i].id) == 0)
			result = show_machine(&out, l, trees, machines[i].id, err);
	if (n >= 0)
		mem_free(machines);
	if (result == 0 && l->njobs > 0)
		out_say(&out, 0, 2, "Kept in %s; delete it to forget. The trees are as they were.", path);
	return result;
}

int talk_learn(const char *trees, const char *dir, const char *machine)
{
	char folder[4096];
	struct learned l = {0};
	struct hs_err err = {0};
	struct text path = {0};
	int before, result = -1;

	if (!dir) {
		job_default_dir(folder, sizeof folder);
		dir = folder;
	}
	learned_path(dir, &path);
	if (learned_read(&l, text_str(&path), &err) == 0) {
		before = l.njobs;
		result = count_jobs(&l, trees, dir, &err);
		if (result == 0 && l.njobs > before)
			result = learned_write(&l, text_str(&path), &err);
		if (result == 0)
			result = show(&l, before, trees, machine, text_str(&path), &err);
	}
	learned_free(&l);
	text_free(&path);
	return result < 0 ? talk_complain(&err) : TALK_DONE;
}
