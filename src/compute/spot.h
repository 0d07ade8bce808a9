/* A program at one spot within its bounds, for whoever looks there: a step is run when it is first asked for, and stays.
 *
 * Many conditions looked at in the same few spots share most of what they rest on.
 * Owns: nothing; the values lie in the arena passed. */
#ifndef TRUNNION_COMPUTE_SPOT_H
#define TRUNNION_COMPUTE_SPOT_H

#include "compute/evaluate.h"

typedef struct Spot {
    const Evaluation *base;
    Evaluation *now;
    const double *inputs; /* by constant */
    uint8_t *there;       /* by step: it has been run */
} Spot;

/* `values` may be cleared when spot_forget has been called for all spots that use it. */
Spot *spot_open(Arena *arena, Arena *values, const Evaluation *base, const double *inputs);
/* Runs those of some steps that have not been run here: rising, with all they rest on that bounds can change, and nothing that
 * rests on anything else. */
void spot_run(Spot *spot, const StepId *steps, uint32_t count);
void spot_forget(Spot *spot);

#endif
