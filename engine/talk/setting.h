/* What noting settings and putting them back share: settings.c and settings_back.c only. */
#ifndef TALK_SETTING_H
#define TALK_SETTING_H

#include "talk/inner.h"

#define SETTING_LONGEST (sizeof ((struct job_setting *)0)->found)

/* A line cut into a figure for each place. */
struct pieces { int n; char piece[RD_PLACES_MAX][SETTING_LONGEST]; };

/* At how many places it is taken; 0: once. */
int settings_places(const struct kn_knowledge *kn, int setting);
/* when: found or left. 0 or -1 with the talk ended. */
int settings_record(struct talk *t, int setting, int place, const char *when, const char *text);
void settings_name(struct text *out, const struct talk *t, int setting, int place);
/* The newest reading of what the setting must come to, taken after this event, as text. */
bool settings_measured(const struct job_view *v, int setting, int place, int after,
		       char out[SETTING_LONGEST]);
/* Cuts at semicolons, or at commas with a blank behind, or else at blanks. */
bool settings_cut(const char *typed, struct pieces *p);
/* "2:1 3/4" is that place's; the names stand in any order. */
bool settings_sort(struct pieces *p, const struct kn_kind *kind);

#endif
