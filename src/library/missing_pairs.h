/* What a fact of a part is good for beside other parts: the rules of the standard library's pairings that rest on it.
 *
 * The pairings are loaded beside the library that is audited, into a model of their own, so that none of their names can get
 * into its way; parts are found again by the names of their forms. */
#ifndef TRUNNION_LIBRARY_MISSING_PAIRS_H
#define TRUNNION_LIBRARY_MISSING_PAIRS_H

#include "meaning/model.h"
#include "verdict/result.h"

typedef struct PairRules PairRules;

/* Nothing is loaded before something is asked for. */
PairRules *pair_rules_open(Arena *arena, const World *world);
/* Names of rules that rest on the field `fact` of a part of the standard library's form `form`, each once. */
TextVector pair_rules_of(PairRules *pairs, Text form, Text fact);

#endif
