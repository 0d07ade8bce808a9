#include "compute/spot.h"

#include <string.h>

#include "compute/step.h"

Spot *spot_open(Arena *arena, Arena *values, const Evaluation *base, const double *inputs) {
    uint32_t count = base->program->steps.count;
    Spot *spot = ARENA_NEW(arena, Spot);
    spot->base = base;
    spot->inputs = inputs;
    spot->there = arena_take(arena, count);
    spot->now = ARENA_NEW(arena, Evaluation);
    *spot->now = *base;
    spot->now->arena = values;
    spot->now->inputs = inputs;
    spot->now->values = ARENA_ARRAY(arena, Computed, count);
    spot->now->seen = ARENA_ARRAY(arena, uint32_t, count);
    spot->now->reached = ARENA_ARRAY(arena, StepId, count);
    spot->now->searches = 0;
    memcpy(spot->now->values, base->values, count * sizeof *base->values);
    return spot;
}

void spot_run(Spot *spot, const StepId *steps, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) {
        StepId id = steps[i];
        if (spot->there[id]) continue;
        spot->there[id] = 1;
        spot->now->values[id] = run_step(spot->now, id);
    }
}

/* What has been run is run again before anybody looks at it. */
void spot_forget(Spot *spot) { memset(spot->there, 0, spot->base->program->steps.count); }
