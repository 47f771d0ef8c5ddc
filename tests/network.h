/* Knowledge with independent causes as a Bayesian network in JSON, for other engines to read. */
#ifndef TESTS_NETWORK_H
#define TESTS_NETWORK_H

#include "base/text.h"
#include "knowledge/knowledge.h"

/* {"f0": {"id": "f0", "states": ["yes", "no"], "parents": [], "cpt": ...}, ...}: causes are f0.., gates
 * g0.., checks c0.. with the outcomes o0..; tables are written from the knowledge itself, not from
 * what the weighing makes of it. */
void network_json(struct text *out, const struct kn_knowledge *kn);

#endif
