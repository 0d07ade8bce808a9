/* What of a form rests on what, from its formulas and rules as they are written: nothing is compiled. A name behind
 * `if stated(name)` holds nothing up; a rule rests on what it asks `stated` for, because it applies only then,
 * and on nothing when its `when` rules out the form for good. */
#ifndef TRUNNION_LIBRARY_RESTS_H
#define TRUNNION_LIBRARY_RESTS_H

#include "meaning/model.h"

typedef VECTOR(uint32_t) Slots;

/* The fields of a form that hold one part, by whichever name: a field, and members that are but another name for it. */
typedef struct HeldPart {
    FormId form;          /* of the part */
    const uint8_t *names; /* by member of the holding form: 1 for such a name */
} HeldPart;

typedef struct Rests {
    uint32_t members, rules;
    Slots *used_by; /* by member: what rests on it; members by their slot, rules after them */
    Slots *of_part; /* by member, then by rule: the members of the held part that it names */
    uint8_t *marks; /* by member, then by rule: the outcome of the latest search */
    uint32_t *queue;
} Rests;

/* `part` may be NULL. The form must be resolved. */
Rests rests_of_form(Arena *arena, Model *model, FormId form, const HeldPart *part);
/* Begins a search: nothing is marked. */
void rests_begin(Rests *rests);
/* Marks a member or rule, and everything that rests on it, through others too. Members that `halt` (may be NULL) has at `halted`
 * are not marked, nor what rests on them alone. */
void rests_mark(Rests *rests, uint32_t index, const uint32_t *halt, uint32_t halted);

#endif
