/* Fixed points: `settles from`.
 *
 * The formula is run again with its own result until it stands still. Steps that converge are taken further at a time
 * (secant); a formula whose slope stays at or above one runs away, and says so: no fixed point that it could never reach by
 * itself is ever offered. */
#ifndef TRUNNION_COMPUTE_SETTLE_H
#define TRUNNION_COMPUTE_SETTLE_H

#include "compute/evaluate.h"

enum { SETTLE_PASS_LIMIT = 200, SETTLE_GROWTH_LIMIT = 3 };

/* What a fixed point runs again and again: the steps between its guess and itself that rest on the guess, rising. */
typedef struct Loop {
    const StepId *steps;
    uint32_t count;
} Loop;
Loop loop_of(Arena *arena, const Program *program, StepId settle);

Computed run_settle(Evaluation *evaluation, StepId id, const Step *step);

#endif
