/* What time and money are worth to whoever works: one setting.  Own judgement, no source; the workshop's
 * is knowledge 0.5. */
#include <string.h>

#include "plan/plan.h"

static const struct pl_rates rates[] = {
	/* At home hours are free and parts are paid from the pocket; someone else's bill is dear. */
	{ .name = "home", .per_currency = 3, .waiting = .1, .handling = 3, .hand_over = 1200 },
	{ .name = "workshop", .per_currency = 1, .waiting = .1, .handling = 3, .hand_over = 600, .labour = 1 },
	/* Across a counter every check is explained first and a workshop is near. */
	{ .name = "counter", .per_currency = 2, .waiting = .1, .handling = 6, .hand_over = 400 },
};

struct pl_rates pl_rates_default(void)
{
	return rates[1];
}

bool pl_rates_named(const char *name, struct pl_rates *out)
{
	for (size_t i = 0; name && i < sizeof rates / sizeof *rates; i++)
		if (strcmp(rates[i].name, name) == 0) {
			*out = rates[i];
			return true;
		}
	*out = pl_rates_default();
	return false;
}
