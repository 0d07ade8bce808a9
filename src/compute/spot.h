/* A program at several spots within its bounds, for whoever looks there: at each of them a step is run when it is first asked
 * for, and its value stays.
 *
 * Many conditions that are looked at in the same few spots share most of what they rest on.
 * Owns: the values, in the arenas passed. */
#ifndef TRUNNION_COMPUTE_SPOT_H
#define TRUNNION_COMPUTE_SPOT_H

#include "compute/evaluate.h"

typedef struct Spot {
    const double *inputs; /* by constant; NULL: nobody has been there */
    Computed *values;     /* of the steps that bounds can change, in their order */
    uint8_t *there;       /* of these: it has been run */
} Spot;

typedef struct Spots {
    const Evaluation *base;
    Evaluation *now;       /* as it is at the spot that was looked at last */
    const uint32_t *order; /* by step: which of those that bounds can change */
    uint32_t bounded;
    Spot *at;
    uint32_t count;
    Arena *signals;
} Spots;

/* `signals`: an arena of their own. */
Spots *spots_open(Arena *arena, Arena *signals, const Evaluation *base, uint32_t count);
void spots_set(Spots *spots, Arena *arena, uint32_t index, const double *inputs);
/* In `now` afterwards: some steps as they are at a spot that has been set; rising, with all they rest on that bounds can change,
 * and nothing that rests on anything else. */
void spots_look(Spots *spots, uint32_t index, const StepId *steps, uint32_t count);
/* Makes room: what has been run is run again before anybody looks at it. */
void spots_forget(Spots *spots);

#endif
