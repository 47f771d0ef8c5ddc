/* Figures of a fault tree, worked out exactly: minimal cut sets, probability of the top event,
 * importance.  Gates as in IEC 61025: at least k of the inputs (1: OR, all: AND); basic events are
 * independent.  No input is negated, so the tree is coherent.
 *
 * By binary decision diagrams (Bryant, IEEE Trans. Computers C-35, 1986); minimal cut sets from them
 * after Rauzy, Reliability Engineering and System Safety 40, 1993.  No rare-event approximation. */
#ifndef REPORT_CUTS_H
#define REPORT_CUTS_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"

struct cuts_gate { int k, n; const int *in; };  /* in: an event i, or gate g as ~g, g earlier */

struct cuts_tree {
	int nevents; const double *q;           /* probability of each event */
	int ngates; const struct cuts_gate *gates; /* the last one is the top event */
};

struct cuts_set { int n; int *event; double p; };

struct cuts {
	double top;                     /* probability of the top event */
	double nsets;                   /* minimal cut sets there are */
	int nshown; struct cuts_set *set; /* the likeliest of them, at most CUTS_SHOWN */
	/* [nevents].  Birnbaum: P(top | event) - P(top | not event).  Fussell-Vesely: share of the top
	 * event's probability in which a minimal cut set with the event in it has come about.
	 * Criticality: share that goes when the event can never happen. */
	double *birnbaum, *fussell_vesely, *criticality;
};

#define CUTS_SHOWN 50

/* 0, or -1 with err when the tree is too large. Freed with cuts_free() in both cases. */
int cuts_work_out(const struct cuts_tree *t, struct cuts *out, struct hs_err *err);
void cuts_free(struct cuts *c);

#endif
