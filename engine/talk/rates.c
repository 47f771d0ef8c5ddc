/* `rates`: what time and money are worth here; kept with the job. */
#include "plan/plan.h"
#include "talk/inner.h"

int rates_tell(struct talk *t, const char *argument, struct hs_err *err)
{
	struct pl_rates r;
	struct text line = {0};

	if (!pl_rates_named(argument, &r))
		return err_set(err, HS_BAD_INPUT, "The rates are home, workshop or counter, not \"%s\".",
			       argument);
	if (talk_record(t, JOB_TOLD, "rates", r.name, NULL, NULL) < 0)
		return -1;
	text_addf(&line, "Costs are now weighed as at %s: one of money is worth %.0f min, handing over ",
		  argument[0] == 'h' ? "home" : argument[0] == 'w' ? "a workshop" : "a counter", r.per_currency);
	out_minutes(&line, r.hand_over);
	out_say(&t->out, 0, 2, "%s.", text_str(&line));
	text_free(&line);
	return 0;
}
