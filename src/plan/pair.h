/* Pairs of cards: a thing of a pairing form whose two fields hold one card each.
 *
 * A pairing form is one that builds on `pairing` (stdlib/pairings.trn) and has two fields that hold forms and must be filled in;
 * whatever else it has, has a default or may be left out.
 * In:   the model; cards as FILLED nodes.
 * Out:  a Program that holds the pairs and as much of their cards as the rules of the pairs ask for. */
#ifndef TRUNNION_PLAN_PAIR_H
#define TRUNNION_PLAN_PAIR_H

#include "plan/program.h"

typedef struct PairForm {
    FormId form;
    uint32_t row, column; /* slots of its two parts, in the order in which they are declared */
} PairForm;

typedef VECTOR(PairForm) PairFormVector;
typedef VECTOR(NodeId) CardVector;

/* The pairing forms of all loaded files, in their order. Reports one that cannot hold two cards, unless others build on it. */
PairFormVector pair_forms(Arena *arena, Model *model);
/* The cards of all loaded files that can stand in a field, in their order; those of the standard library left out. */
CardVector pair_cards(Arena *arena, Model *model, FormId form, uint32_t slot);

/* What is the same for all pairs of a run. */
typedef struct PairPlan {
    const World *world;
    Sources *sources;
    Model *model;
    const NodeId *wheres; /* conditions in the scope of the pairing form; a pair for which one is false is not wanted */
    uint32_t where_count;
} PairPlan;

/* Checks the forms that the named files declare for themselves, as verify does. */
void pair_check_forms(Arena *arena, const PairPlan *plan);
/* Whether a condition makes sense for pairs of this form. Its mistakes are reported when `tell`. */
bool pair_where_fits(Arena *arena, const PairPlan *plan, FormId form, NodeId where, bool tell);

typedef struct PairEntry {
    uint32_t first, count; /* its rules: indices into Program.judged */
    StepId where;          /* truth; 0: always */
} PairEntry;

typedef struct PairProgram {
    Program *program;
    const PairEntry *entries; /* row by row */
} PairProgram;

/* Every card of `rows` with every card of `columns`, but those that `skip` names, row by row (NULL: none). Mistakes go to the
 * model's messages. */
PairProgram pair_program(Arena *arena, const PairPlan *plan, PairForm form, const NodeId *rows, uint32_t row_count, const NodeId *columns,
                         uint32_t column_count, const bool *skip);

#endif
