/* Many cards at once: a mould whose values are numbers, run for a block of cards side by side, one after the other in memory,
 * so that the C compiler can use vector instructions.
 *
 * In:   a mould (plan/mould.h), evaluated for any one of its cards.
 * Out:  what each condition to judge comes to for each card of a block; exactly what evaluate() and the judge find for the
 *       card by itself, at the nominal values. Why something fails is not kept: look at that card by itself.
 * Owns: itself, in the arena passed. Two threads may run two Lanes of one program at a time. */
#ifndef TRUNNION_COMPUTE_LANES_H
#define TRUNNION_COMPUTE_LANES_H

#include "compute/evaluate.h"

enum { LANE_COUNT = 64 }; /* cards in a block */

/* Worst first. */
typedef enum LaneState {
    LANE_FAILS,
    LANE_UNCOMPUTED, /* something has no value: a division by zero, outside a range of validity … */
    LANE_UNKNOWN,    /* a fact is missing */
    LANE_HOLDS,
    LANE_IDLE        /* the rule does not apply */
} LaneState;

typedef struct Lanes Lanes;

/* NULL: what is to be judged rests on signals or fixed points. */
Lanes *lanes_open(Arena *arena, const Evaluation *base);
/* Puts a card of a place's group into a lane. */
void lanes_put(Lanes *lanes, uint32_t lane, uint32_t place, uint32_t card);
/* Puts `count` cards that follow one another into the lanes from 0 on. */
void lanes_put_row(Lanes *lanes, uint32_t place, uint32_t first_card, uint32_t count);
/* Runs all lanes. */
void lanes_run(Lanes *lanes);
/* LaneState of Program.judged[index] in each lane. */
void lanes_judge(const Lanes *lanes, uint32_t index, uint8_t states[LANE_COUNT]);
/* Whether a field's value could not be computed in a lane, though no condition may ask for it. `object` is of the program. */
void lanes_uncomputed(const Lanes *lanes, ObjectId object, uint8_t uncomputed[LANE_COUNT]);

#endif
