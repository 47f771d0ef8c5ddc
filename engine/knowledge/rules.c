/* What may stand where: docs/trees.md as one table. docs/halfsplit.xsd says the same for editors,
 * and tests/xsd.sh holds the two against each other. */
#include "knowledge/inner.h"

#define MANY INT_MAX

const char *const yes_no[] = { "no", "yes", NULL };
const char *const energies[] = { "none", "key-on", "cranking", "running", "riding", NULL };
const char *const signals[] = { "none", "NOTICE", "CAUTION", "WARNING", "DANGER", NULL };
static const char *const signals_written[] = { "NOTICE", "CAUTION", "WARNING", "DANGER", NULL };
const char *const sides[] = { "inside", "below", "above", "outside", "open", "short", NULL };
const char *const runs[] = { "no", "bottle", "yes", NULL };
const char *const spreads[] = { "both", "each", "all", NULL };
const char *const combines[] = { "strongest", "noisy-or", NULL };
const char *const cost_classes[] = { "A", "B", "C", "D", "E", NULL };
const char *const gate_kinds[] = { "or", "and", "at-least", NULL };
static const char *const prior_kinds[] = { "count", "independent", NULL };
static const char *const versions[] = { "1", NULL };
static const char *const one_all[] = { "all", "one", NULL };
static const char *const open_short[] = { "open", "short", NULL };
static const char *const running_off[] = { "running", "off", NULL };

#define ID       { "id", V_ID, true, 0, NULL }
#define TITLE    { "title", V_TEXT, true, 0, NULL }
#define NEEDS    { "needs", V_NAME, false, E_OPTION, NULL }
#define PER      { "per", V_NAME, false, E_POSITIONS, NULL }
#define TOOLS    { "tools", V_NAMES, false, E_TOOL, NULL }
#define ENERGY   { "energy", V_CHOICE, false, 0, energies }
#define ACCESS   { "access", V_NAME, true, E_ACCESS, NULL }
#define MINUTES  { "minutes", V_NOT_NEGATIVE, true, 0, NULL }
#define WAIT     { "wait", V_NOT_NEGATIVE, false, 0, NULL }
#define MODE     { "mode", V_MODE, true, 0, NULL }
#define AFTER    { "after", V_NAMES, false, E_CHECK, NULL }
#define NUMBER(n) { n, V_NUMBER, false, 0, NULL }

static const struct attr_rule knowledge_attrs[] = { { "version", V_CHOICE, true, 0, versions } };
static const struct attr_rule prior_attrs[] = {
	{ "kind", V_CHOICE, true, 0, prior_kinds },
	{ "none", V_PROBABILITY, false, 0, NULL }, { "one", V_PROBABILITY, false, 0, NULL },
	{ "two", V_PROBABILITY, false, 0, NULL }, { "three", V_PROBABILITY, false, 0, NULL },
	{ "something-else", V_NOT_NEGATIVE, false, 0, NULL },
	{ "floor", V_PROBABILITY, false, 0, NULL },
};
static const struct attr_rule named_attrs[] = { ID, TITLE };
static const struct attr_rule access_attrs[] = {
	ID, TITLE, { "batch", V_NAMES, false, E_CHECK, NULL },
};
static const struct attr_rule asked_attrs[] = { ID, TITLE, { "ask", V_TEXT, true, 0, NULL } };
static const struct attr_rule history_attrs[] = {
	ID, TITLE, { "ask", V_TEXT, true, 0, NULL }, { "times", V_POSITIVE, true, 0, NULL },
};
static const struct attr_rule together_attrs[] = {
	{ "a", V_MODE, true, 0, NULL }, { "b", V_MODE, true, 0, NULL },
	{ "times", V_POSITIVE, true, 0, NULL },
};
static const struct attr_rule setting_attrs[] = {
	ID, TITLE, PER, { "unit", V_UNIT, false, 0, NULL }, { "order", V_COUNT, true, 0, NULL },
	{ "values", V_NAMES, false, E_VALUE, NULL }, NEEDS,
};
static const struct attr_rule hold_attrs[] = {
	ID, TITLE, { "signal", V_CHOICE, true, 0, signals_written },
	{ "blocks", V_CHOICE, true, 0, energies },
};
static const struct attr_rule trigger_attrs[] = {
	{ "symptom", V_NAME, false, E_SYMPTOM, NULL }, { "check", V_NAME, false, E_CHECK, NULL },
	{ "outcome", V_ID, false, 0, NULL },
};
static const struct attr_rule cleared_attrs[] = {
	{ "check", V_NAME, true, E_CHECK, NULL }, { "outcome", V_ID, true, 0, NULL },
};
static const struct attr_rule part_attrs[] = { ID, TITLE, PER, NEEDS };
static const struct attr_rule part_value_attrs[] = {
	{ "of", V_ID, true, 0, NULL }, { "spec", V_NAME, false, E_VALUE, NULL },
	{ "unit", V_UNIT, false, 0, NULL }, NUMBER("nominal"),
	{ "plus-minus", V_POSITIVE, false, 0, NULL },
};
static const struct attr_rule mode_attrs[] = {
	ID, TITLE, { "weight", V_NOT_NEGATIVE, true, 0, NULL },
	{ "weight-all", V_NOT_NEGATIVE, false, 0, NULL }, { "spread", V_CHOICE, false, 0, spreads },
	{ "raised-by", V_NAMES, false, E_HISTORY, NULL },
	{ "consequence", V_CHOICE, false, 0, yes_no }, { "basis", V_TEXT, false, 0, NULL },
};
static const struct attr_rule shows_attrs[] = {
	{ "of", V_ID, true, 0, NULL }, { "as", V_CHOICE, false, 0, open_short }, NUMBER("low"),
	NUMBER("high"), { "times-low", V_NOT_NEGATIVE, false, 0, NULL },
	{ "times-high", V_NOT_NEGATIVE, false, 0, NULL },
};
static const struct attr_rule gate_attrs[] = {
	ID, TITLE, { "kind", V_CHOICE, false, 0, gate_kinds }, { "k", V_COUNT, false, 0, NULL },
};
static const struct attr_rule mode_or_gate_attrs[] = {
	{ "mode", V_MODE, false, 0, NULL }, { "gate", V_NAME, false, E_GATE, NULL },
};
static const struct attr_rule symptom_attrs[] = { ID, TITLE, { "base", V_PROBABILITY, true, 0, NULL },
						NEEDS };
static const struct attr_rule branch_attrs[] = { TITLE, { "gate", V_NAME, false, E_GATE, NULL } };
static const struct attr_rule cause_attrs[] = { MODE, { "p", V_PROBABILITY, true, 0, NULL } };
static const struct attr_rule check_attrs[] = {
	ID, TITLE, ACCESS, MINUTES, WAIT, { "minutes-for", V_CHOICE, false, 0, one_all }, PER,
	{ "compare", V_CHOICE, false, 0, yes_no }, TOOLS, ENERGY,
	{ "engine", V_CHOICE, false, 0, running_off },
	{ "only-when", V_NAMES, false, E_CIRCUMSTANCE, NULL }, NEEDS,
	{ "worth", V_PROBABILITY, false, 0, NULL }, { "same-fact", V_ID, false, 0, NULL },
	{ "combine", V_CHOICE, false, 0, combines }, { "floor", V_PROBABILITY, false, 0, NULL },
	{ "spoiled-by", V_NAMES, false, E_SPOILER, NULL }, AFTER, { "leads-null", V_CHOICE, false, 0, yes_no },
	{ "codes", V_CHOICE, false, 0, yes_no }, { "on-bench", V_CHOICE, false, 0, yes_no },
};
static const struct attr_rule reading_attrs[] = {
	{ "unit", V_UNIT, false, 0, NULL }, { "derive", V_DERIVE, false, 0, NULL },
	{ "value", V_NAME, false, E_VALUE, NULL }, NUMBER("low"), NUMBER("high"), NUMBER("nominal"),
	{ "instrument", V_INSTRUMENT, false, 0, NULL },
	{ "repeatability", V_NOT_NEGATIVE, false, 0, NULL },
	{ "leads", V_CHOICE, false, 0, yes_no }, { "copper", V_CHOICE, false, 0, yes_no }, NUMBER("at"),
	{ "sea-level", V_CHOICE, false, 0, yes_no }, { "range", V_POSITIVE, false, 0, NULL },
	{ "short-below", V_NOT_NEGATIVE, false, 0, NULL },
};
static const struct attr_rule outcome_attrs[] = {
	ID, TITLE, { "base", V_PROBABILITY, false, 0, NULL }, { "side", V_CHOICES, false, 0, sides },
	NUMBER("from"), NUMBER("to"), { "local", V_CHOICE, false, 0, yes_no },
	{ "local-kind", V_NAME, false, E_POSITIONS, NULL }, { "rest", V_CHOICE, false, 0, yes_no },
};
static const struct attr_rule when_attrs[] = {
	{ "mode", V_MODE, false, 0, NULL }, { "gate", V_NAME, false, E_GATE, NULL },
	{ "p", V_PROBABILITY, true, 0, NULL },
};
static const struct attr_rule table_attrs[] = { { "over", V_MODES_OR_GATES, true, 0, NULL } };
static const struct attr_rule row_attrs[] = {
	{ "when", V_BITS, true, 0, NULL }, { "p", V_PROBABILITIES, true, 0, NULL },
};
static const struct attr_rule leaf_attrs[] = {
	{ "part", V_NAME, true, E_PART, NULL }, { "value", V_ID, true, 0, NULL },
	{ "at", V_AT, false, 0, NULL },
};
static const struct attr_rule constant_attrs[] = { { "is", V_NUMBER, true, 0, NULL } };
static const struct attr_rule spec_attrs[] = { { "value", V_NAME, true, E_VALUE, NULL } };
static const struct attr_rule remedy_attrs[] = {
	ID, TITLE, MINUTES, WAIT, ACCESS, PER, { "cost", V_CHOICE, false, 0, cost_classes },
	{ "parts", V_TEXT, false, 0, NULL }, TOOLS, ENERGY, NEEDS,
	{ "recheck", V_TEXT, false, 0, NULL }, { "bath", V_CHOICE, false, 0, yes_no },
	AFTER, { "spoils", V_NAMES, false, E_SPOILER, NULL },
	{ "minutes-for", V_COUNT, false, 0, NULL },
};
static const struct attr_rule clears_attrs[] = { MODE, { "p", V_PROBABILITY, false, 0, NULL } };
static const struct attr_rule record_attrs[] = { { "setting", V_NAME, true, E_SETTING, NULL } };
static const struct attr_rule verify_attrs[] = { { "check", V_NAME, true, E_CHECK, NULL } };
static const struct attr_rule caution_attrs[] = {
	{ "signal", V_CHOICE, true, 0, signals_written }, { "hazard", V_TEXT, true, 0, NULL },
};
static const struct attr_rule positions_attrs[] = { { "kind", V_ID, true, 0, NULL }, TITLE };
static const struct attr_rule position_attrs[] = {
	{ "id", V_PLACE, true, 0, NULL }, { "sites", V_SITES, true, 0, NULL },
};
static const struct attr_rule fitted_attrs[] = { { "option", V_NAME, true, E_OPTION, NULL } };
static const struct attr_rule value_attrs[] = {
	ID, TITLE, { "unit", V_UNIT, false, 0, NULL }, NUMBER("nominal"),
	{ "plus-minus", V_POSITIVE, false, 0, NULL }, NUMBER("low"), NUMBER("high"), NUMBER("at"),
	{ "generic", V_CHOICE, false, 0, yes_no },
};
static const struct attr_rule reach_attrs[] = {
	ACCESS, { "parent", V_NAME, true, E_ACCESS, NULL }, { "open", V_NOT_NEGATIVE, true, 0, NULL },
	{ "close", V_NOT_NEGATIVE, true, 0, NULL }, { "consumes", V_TEXT, false, 0, NULL },
	{ "consumes-cost", V_NOT_NEGATIVE, false, 0, NULL }, { "runs", V_CHOICE, false, 0, runs },
};
static const struct attr_rule code_attrs[] = {
	{ "number", V_ID, true, 0, NULL }, TITLE, { "sets-when", V_TEXT, false, 0, NULL },
};
static const struct attr_rule scale_attrs[] = { MODE, { "times", V_POSITIVE, true, 0, NULL } };

static const struct kid_rule knowledge_kids[] = {
	{ E_PRIOR, 0, MANY }, { E_TOOL, 0, MANY }, { E_OPTION, 0, MANY }, { E_CIRCUMSTANCE, 0, MANY },
	{ E_HISTORY, 0, MANY }, { E_ACCESS, 0, MANY }, { E_TOGETHER, 0, MANY }, { E_SETTING, 0, MANY },
	{ E_HOLD, 0, MANY }, { E_PART, 0, MANY }, { E_GATE, 0, MANY }, { E_SYMPTOM, 0, MANY },
	{ E_CHECK, 0, MANY }, { E_REMEDY, 0, MANY }, { E_MACHINE, 0, MANY },
	{ E_SPOILER, 0, MANY },
};
static const struct kid_rule access_kids[] = { { E_CAUTION, 0, MANY }, { E_RECORD, 0, MANY } };
static const struct kid_rule setting_kids[] = { { E_HOW, 0, 1 }, { E_RESTORE, 0, 1 } };
static const struct kid_rule hold_kids[] = { { E_SAY, 1, 1 }, { E_TRIGGER, 1, MANY },
					     { E_CLEARED, 0, MANY } };
static const struct kid_rule part_kids[] = { { E_PART_VALUE, 0, MANY }, { E_MODE, 0, MANY } };
static const struct kid_rule mode_kids[] = { { E_SHOWS, 0, MANY } };
static const struct kid_rule gate_kids[] = { { E_GATE_OF, 1, MANY } };
static const struct kid_rule symptom_kids[] = { { E_SAYS, 0, 1 }, { E_ASK, 0, MANY },
						{ E_CAUTION, 0, MANY }, { E_BRANCH, 0, MANY } };
static const struct kid_rule cause_kids[] = { { E_CAUSE, 1, MANY } };
static const struct kid_rule check_kids[] = { { E_HOW, 0, 1 }, { E_CAUTION, 0, MANY },
					      { E_READING, 0, 1 }, { E_OUTCOME, 2, MANY },
					      { E_TABLE, 0, 1 }, { E_RECORD, 0, MANY } };
static const struct kid_rule reading_kids[] = { { E_MODEL, 0, 1 } };
static const struct kid_rule model_kids[] = {
	{ E_SERIES, 0, MANY }, { E_PARALLEL, 0, MANY }, { E_SUM, 0, MANY }, { E_DIFFERENCE, 0, MANY },
	{ E_RATIO, 0, MANY }, { E_PRODUCT, 0, MANY }, { E_SPREAD, 0, MANY }, { E_HIGHEST, 0, MANY },
	{ E_LOWEST, 0, MANY }, { E_LEAF, 0, MANY }, { E_CONSTANT, 0, MANY }, { E_SPEC, 0, MANY },
};
static const struct kid_rule outcome_kids[] = { { E_MEANS, 0, 1 }, { E_WHEN, 0, MANY } };
static const struct kid_rule table_kids[] = { { E_ROW, 2, MANY } };
static const struct kid_rule remedy_kids[] = { { E_STEP, 0, MANY }, { E_CAUTION, 0, MANY },
					       { E_CLEARS, 0, MANY }, { E_RECORD, 0, MANY },
					       { E_VERIFY, 0, MANY }, { E_PROOF, 0, 1 } };
static const struct kid_rule machine_kids[] = {
	{ E_POSITIONS, 0, MANY }, { E_FITTED, 0, MANY }, { E_VALUE, 0, MANY }, { E_REACH, 0, MANY },
	{ E_CODE, 0, MANY }, { E_SCALE, 0, MANY },
};
static const struct kid_rule positions_kids[] = { { E_POSITION, 1, MANY } };

#define LIST(a) COUNT(a), a
#define NO_LIST 0, NULL
#define ONLY_TEXT(name) { name, NO_LIST, NO_LIST, true, NULL, NULL }
#define OPERATOR(name) { name, NO_LIST, LIST(model_kids), false, NULL, NULL }
#define PLAIN(name, attrs, kids) { name, attrs, kids, false, NULL, NULL }

const struct el_rule el_rules[E_COUNT] = {
	[E_KNOWLEDGE] = PLAIN("knowledge", LIST(knowledge_attrs), LIST(knowledge_kids)),
	[E_PRIOR] = PLAIN("prior", LIST(prior_attrs), NO_LIST),
	[E_TOOL] = PLAIN("tool", LIST(named_attrs), NO_LIST),
	[E_OPTION] = PLAIN("option", LIST(named_attrs), NO_LIST),
	[E_CIRCUMSTANCE] = PLAIN("circumstance", LIST(asked_attrs), NO_LIST),
	[E_HISTORY] = PLAIN("history", LIST(history_attrs), NO_LIST),
	[E_ACCESS] = PLAIN("access", LIST(access_attrs), LIST(access_kids)),
	[E_TOGETHER] = PLAIN("together", LIST(together_attrs), NO_LIST),
	[E_SETTING] = PLAIN("setting", LIST(setting_attrs), LIST(setting_kids)),
	[E_HOLD] = PLAIN("hold", LIST(hold_attrs), LIST(hold_kids)),
	[E_PART] = PLAIN("part", LIST(part_attrs), LIST(part_kids)),
	[E_GATE] = PLAIN("gate", LIST(gate_attrs), LIST(gate_kids)),
	[E_SYMPTOM] = PLAIN("symptom", LIST(symptom_attrs), LIST(symptom_kids)),
	[E_CHECK] = PLAIN("check", LIST(check_attrs), LIST(check_kids)),
	[E_REMEDY] = PLAIN("remedy", LIST(remedy_attrs), LIST(remedy_kids)),
	[E_MACHINE] = PLAIN("machine", LIST(named_attrs), LIST(machine_kids)),
	[E_SPOILER] = PLAIN("spoiler", LIST(named_attrs), NO_LIST),
	[E_CAUTION] = { "caution", LIST(caution_attrs), NO_LIST, true, NULL, NULL },
	[E_CAUSE] = PLAIN("cause", LIST(cause_attrs), NO_LIST),
	[E_HOW] = ONLY_TEXT("how"),
	[E_RESTORE] = ONLY_TEXT("restore"),
	[E_SAY] = ONLY_TEXT("say"),
	[E_TRIGGER] = { "trigger", LIST(trigger_attrs), NO_LIST, false, "symptom", "check" },
	[E_CLEARED] = PLAIN("cleared", LIST(cleared_attrs), NO_LIST),
	[E_PART_VALUE] = PLAIN("value", LIST(part_value_attrs), NO_LIST),
	[E_MODE] = PLAIN("mode", LIST(mode_attrs), LIST(mode_kids)),
	[E_SHOWS] = PLAIN("shows", LIST(shows_attrs), NO_LIST),
	[E_GATE_OF] = { "of", LIST(mode_or_gate_attrs), NO_LIST, false, "mode", "gate" },
	[E_SAYS] = ONLY_TEXT("says"),
	[E_ASK] = ONLY_TEXT("ask"),
	[E_BRANCH] = PLAIN("branch", LIST(branch_attrs), LIST(cause_kids)),
	[E_READING] = PLAIN("reading", LIST(reading_attrs), LIST(reading_kids)),
	[E_MODEL] = OPERATOR("model"),
	[E_OUTCOME] = PLAIN("outcome", LIST(outcome_attrs), LIST(outcome_kids)),
	[E_MEANS] = ONLY_TEXT("means"),
	[E_WHEN] = { "when", LIST(when_attrs), NO_LIST, false, "mode", "gate" },
	[E_TABLE] = PLAIN("table", LIST(table_attrs), LIST(table_kids)),
	[E_ROW] = PLAIN("row", LIST(row_attrs), NO_LIST),
	[E_SERIES] = OPERATOR("series"),
	[E_PARALLEL] = OPERATOR("parallel"),
	[E_SUM] = OPERATOR("sum"),
	[E_DIFFERENCE] = OPERATOR("difference"),
	[E_RATIO] = OPERATOR("ratio"),
	[E_PRODUCT] = OPERATOR("product"),
	[E_SPREAD] = OPERATOR("spread"),
	[E_HIGHEST] = OPERATOR("highest"),
	[E_LOWEST] = OPERATOR("lowest"),
	[E_LEAF] = PLAIN("of", LIST(leaf_attrs), NO_LIST),
	[E_CONSTANT] = PLAIN("constant", LIST(constant_attrs), NO_LIST),
	[E_SPEC] = PLAIN("spec", LIST(spec_attrs), NO_LIST),
	[E_STEP] = ONLY_TEXT("step"),
	[E_CLEARS] = PLAIN("clears", LIST(clears_attrs), NO_LIST),
	[E_RECORD] = PLAIN("record", LIST(record_attrs), NO_LIST),
	[E_VERIFY] = PLAIN("verify", LIST(verify_attrs), NO_LIST),
	[E_PROOF] = ONLY_TEXT("proof"),
	[E_POSITIONS] = PLAIN("positions", LIST(positions_attrs), LIST(positions_kids)),
	[E_POSITION] = PLAIN("position", LIST(position_attrs), NO_LIST),
	[E_FITTED] = PLAIN("fitted", LIST(fitted_attrs), NO_LIST),
	[E_VALUE] = PLAIN("value", LIST(value_attrs), NO_LIST),
	[E_REACH] = PLAIN("reach", LIST(reach_attrs), NO_LIST),
	[E_CODE] = PLAIN("code", LIST(code_attrs), LIST(cause_kids)),
	[E_SCALE] = PLAIN("scale", LIST(scale_attrs), NO_LIST),
};
