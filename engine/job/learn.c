/* Counting what was found in closed jobs. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "job/inner.h"
#include "job/learn.h"

#define CONFIRMED .5      /* repaired, the complaint gone, and at least this likely before */
#define LEAST .01         /* what is less likely is not written down */
#define FOUND_BYTES 3000  /* a field has 4095 */

void learned_free(struct learned *l)
{
	mem_free(l->modes);
	mem_free(l->keys);
	memset(l, 0, sizeof *l);
}

/* ---- what a job came to ------------------------------------------------------------------------- */

/* A repair that was proven cleared this mode. */
static bool cleared(const struct job_view *v, int mode)
{
	for (int r = 0; r < v->nrepairs; r++) {
		const struct kn_remedy *rem = &v->kn->remedies[v->repairs[r].remedy];

		for (int i = 0; i < rem->nclears; i++)
			if (v->kn->faults[rem->clears[i].fault].mode == mode)
				return true;
	}
	return false;
}

void job_found(const struct job_view *v, struct text *out)
{
	for (int m = 0; m < v->kn->nmodes && out->len < FOUND_BYTES; m++) {
		double p = v->suspects->mode_was[m];

		if (p < LEAST)
			continue;
		text_addf(out, "%s%s ", out->len ? " " : "", v->kn->modes[m].ref);
		if (v->complaint_gone && p >= CONFIRMED && cleared(v, m))
			text_add(out, "1");
		else
			text_addf(out, "%.3g", fmin(p, 1));
	}
}

/* ---- counts --------------------------------------------------------------------------------------- */

static void count_mode(struct learned *l, const char *ref, double share)
{
	int at = 0, order = 1;

	while (at < l->nmodes && (order = strcmp(l->modes[at].ref, ref)) < 0)
		at++;
	if (at == l->nmodes || order != 0) {
		l->modes = mem_resize_array(l->modes, (size_t)l->nmodes + 1, sizeof *l->modes);
		memmove(&l->modes[at + 1], &l->modes[at], (size_t)(l->nmodes - at) * sizeof *l->modes);
		memset(&l->modes[at], 0, sizeof *l->modes);
		snprintf(l->modes[at].ref, sizeof l->modes[at].ref, "%.130s", ref);
		l->nmodes++;
	}
	l->modes[at].count += share;
}

/* "REF SHARE REF SHARE ..."; shares outside 0 to 1 mean nothing. */
static bool count_found(struct learned *l, const char *found)
{
	char *copy = mem_strdup(found), *save = NULL, *share;
	bool any = false;

	for (char *ref = strtok_r(copy, " ", &save); ref; ref = strtok_r(NULL, " ", &save)) {
		double p;

		share = strtok_r(NULL, " ", &save);
		p = share ? strtod(share, NULL) : 0;
		if (!(p > 0 && p <= 1))
			continue;
		count_mode(l, ref, p);
		any = true;
	}
	mem_free(copy);
	return any;
}

/* ---- each job once ---------------------------------------------------------------------------------- */

/* When it began and the checksum of its first two lines: a copy under another name has the same. */
static bool key_of(const struct job *j, char key[26])
{
	struct text line = { 0 };
	unsigned crc = job_crc(0, JOB_HEADER, strlen(JOB_HEADER));

	if (j->nevents < 2)
		return false;
	for (int i = 0; i < 2; i++) {
		text_clear(&line);
		job_event_write(&line, &j->said[i], crc);
		crc = (unsigned)strtoul(text_str(&line), NULL, 16);
	}
	text_free(&line);
	snprintf(key, 26, "%llx-%08x", (unsigned long long)j->events[0].when & 0xffffffffffffffULL, crc);
	return true;
}

/* Where the key is or belongs. */
static int place_of_key(const struct learned *l, const char *key, bool *there)
{
	int low = 0, high = l->nkeys;

	while (low < high) {
		int middle = (low + high) / 2;

		if (strcmp(l->keys[middle].key, key) < 0)
			low = middle + 1;
		else
			high = middle;
	}
	*there = low < l->nkeys && strcmp(l->keys[low].key, key) == 0;
	return low;
}

static void add_key(struct learned *l, const char *key, int at)
{
	if ((l->nkeys & (l->nkeys - 1)) == 0) /* room doubles */
		l->keys = mem_resize_array(l->keys, l->nkeys ? (size_t)l->nkeys * 2 : 1, sizeof *l->keys);
	memmove(&l->keys[at + 1], &l->keys[at], (size_t)(l->nkeys - at) * sizeof *l->keys);
	memset(&l->keys[at], 0, sizeof *l->keys);
	snprintf(l->keys[at].key, sizeof l->keys[at].key, "%s", key);
	l->nkeys++;
}

/* The closing event in force; NULL: the job is open, or never had a complaint. */
static const struct job_event *closing(const struct job *j)
{
	const struct job_event *last = NULL;
	bool complaint = false;

	for (int i = 0; i < j->nevents; i++) {
		const struct job_event *e = &j->events[i];

		if (!j->in_force[i])
			continue;
		if (e->kind == JOB_COMPLAINED || e->kind == JOB_REPAIRED)
			last = NULL;
		complaint = complaint || e->kind == JOB_COMPLAINED;
		if (e->kind == JOB_CLOSED)
			last = strcmp(e->field[0], "reopened") == 0 ? NULL : e;
	}
	return complaint ? last : NULL;
}

bool learned_fold(struct learned *l, struct job *j)
{
	const struct job_event *end = closing(j);
	struct text found = { 0 };
	struct hs_err err = { 0 };
	char key[26];
	bool there, counted;
	int at;

	if (!end || !key_of(j, key))
		return false;
	at = place_of_key(l, key, &there);
	if (there)
		return false;
	text_add(&found, end->field[3] ? end->field[3] : "");
	if (!found.len && j->kn && job_view(j, &err))
		job_found(j->view, &found);
	counted = count_found(l, text_str(&found));
	text_free(&found);
	if (!counted)
		return false;
	add_key(l, key, at);
	l->njobs++;
	return true;
}

/* ---- frequencies --------------------------------------------------------------------------------------- */

static double count_of(const struct learned *l, const char *ref)
{
	for (int i = 0; i < l->nmodes; i++)
		if (strcmp(l->modes[i].ref, ref) == 0)
			return l->modes[i].count;
	return 0;
}

/* A mode's weight: of all its faults together. */
static double *mode_weights(const struct kn_knowledge *kn)
{
	double *w = mem_array((size_t)kn->nmodes + 1, sizeof *w);

	for (int f = 0; f < kn->nfaults; f++)
		w[kn->faults[f].mode] += kn->faults[f].weight;
	return w;
}

/* Counted shares (Dirichlet), or with an independent prior each by itself (Beta). */
static double after(const struct kn_knowledge *kn, double weight, double all, double count, double counts,
		    int njobs)
{
	if (kn->independent)
		return (LEARN_WORTH * weight + count) / (LEARN_WORTH + njobs);
	return all * (LEARN_WORTH * weight / all + count) / (LEARN_WORTH + counts);
}

int learned_changes(const struct learned *l, const struct kn_knowledge *kn, struct learned_change **out)
{
	double *weights = mode_weights(kn), all = 0, counts = 0;
	int n = 0;

	*out = mem_array((size_t)kn->nmodes + 1, sizeof **out);
	for (int m = 0; m < kn->nmodes; m++) {
		all += weights[m];
		counts += weights[m] > 0 ? count_of(l, kn->modes[m].ref) : 0;
	}
	for (int m = 0; m < kn->nmodes && l->njobs > 0; m++) {
		double count = count_of(l, kn->modes[m].ref);

		if (weights[m] > 0)
			(*out)[n++] = (struct learned_change){ m, count, weights[m],
				after(kn, weights[m], all, count, counts, l->njobs) };
	}
	mem_free(weights);
	return n;
}

void learned_apply(const struct learned *l, struct kn_knowledge *kn)
{
	struct learned_change *changes;
	int n = learned_changes(l, kn, &changes);

	for (int i = 0; i < n; i++)
		for (int f = 0; f < kn->nfaults; f++)
			if (kn->faults[f].mode == changes[i].mode)
				kn->faults[f].weight *= changes[i].after / changes[i].before;
	mem_free(changes);
}
