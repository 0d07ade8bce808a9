/* Part cards as columns: the facts that many cards of one form state, side by side.
 *
 * In:   filled-in forms of libraries (FILLED nodes).
 * Out:  CardGroup: cards of one form that differ only in numbers, in yes and no, and in words of choices; each such fact is
 *       a column with a number for each card, in SI. What else they state (tables, other parts, cycles) is the same in all
 *       cards of a group. Cards that state something by a formula, that leave out what must be stated, or that hold a
 *       mistake are odd: they have to be looked at one by one.
 * Owns: columns and groups, in the arena passed. */
#ifndef TRUNNION_PLAN_CARD_H
#define TRUNNION_PLAN_CARD_H

#include "meaning/model.h"

#define CARD_WHOLE UINT32_MAX /* CardFact.word of a fact that is the field's whole value */

typedef struct CardFact {
    uint32_t slot;        /* of the form */
    uint32_t word;        /* of a field of several words: which word; the column then says whether the card has it */
    bool everywhere;      /* every card of the group states the field */
    const double *values; /* one for each card: SI; a word by its number; no and yes as 0 and 1; NaN: not stated */
} CardFact;

typedef VECTOR(CardFact) CardFactVector;

typedef struct CardGroup {
    FormId form;
    uint32_t count;
    NodeId *cards;        /* in the order in which they were given; the first is the pattern for what has no column */
    uint32_t *positions;  /* of each card in the list that was given */
    CardFactVector facts; /* rising by slot, then by word */
    uint32_t *first_fact; /* by slot: index of its first fact; UINT32_MAX: none */
} CardGroup;

typedef VECTOR(CardGroup *) CardGroupVector;

typedef struct Cards {
    CardGroupVector groups; /* in the order of their first cards */
    VECTOR(NodeId) odd;
} Cards;

/* Nothing is reported: what is wrong with an odd card shows when it is compiled by itself. */
Cards *cards_gather(Arena *arena, Model *model, const NodeId *cards, uint32_t count);

#endif
