/* Why a step: one sentence, and what each answer would favour. */
#ifndef PLAN_WORDS_H
#define PLAN_WORDS_H

#include "plan/options.h"

void pl_words_check(struct pl_step *s, struct pl_options *o, const struct pl_situation *now,
		    int option);
void pl_words_remedy(struct pl_step *s, struct pl_options *o, const struct pl_situation *now,
		     int option);

#endif
