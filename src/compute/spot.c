#include "compute/spot.h"

#include <string.h>

#include "compute/step.h"

Spots *spots_open(Arena *arena, Arena *signals, const Evaluation *base, uint32_t count) {
    uint32_t steps = base->program->steps.count;
    Spots *spots = ARENA_NEW(arena, Spots);
    *spots = (Spots){.base = base, .signals = signals, .count = count, .at = ARENA_ARRAY(arena, Spot, count)};
    uint32_t *order = ARENA_ARRAY(arena, uint32_t, steps);
    for (StepId id = 0; id < steps; id++) order[id] = base->bounded[id] ? spots->bounded++ : 0;
    spots->order = order;
    spots->now = ARENA_NEW(arena, Evaluation);
    *spots->now = *base;
    spots->now->arena = signals;
    spots->now->values = ARENA_ARRAY(arena, Computed, steps);
    spots->now->seen = ARENA_ARRAY(arena, uint32_t, steps);
    spots->now->reached = ARENA_ARRAY(arena, StepId, steps);
    spots->now->searches = 0;
    memcpy(spots->now->values, base->values, steps * sizeof *base->values);
    return spots;
}

void spots_set(Spots *spots, Arena *arena, uint32_t index, const double *inputs) {
    spots->at[index] = (Spot){inputs, ARENA_ARRAY(arena, Computed, spots->bounded), arena_take(arena, spots->bounded)};
}

void spots_look(Spots *spots, uint32_t index, const StepId *steps, uint32_t count) {
    Spot *spot = &spots->at[index];
    Evaluation *now = spots->now;
    now->inputs = spot->inputs;
    for (uint32_t i = 0; i < count; i++) {
        if (spot->there[spots->order[steps[i]]]) now->values[steps[i]] = spot->values[spots->order[steps[i]]];
    }
    for (uint32_t i = 0; i < count; i++) {
        if (!spot->there[spots->order[steps[i]]]) now->values[steps[i]] = run_step(now, steps[i]);
    }
    for (uint32_t i = 0; i < count; i++) { /* when all is run: a running value is settled now */
        spot->there[spots->order[steps[i]]] = 1;
        spot->values[spots->order[steps[i]]] = now->values[steps[i]];
    }
}

void spots_forget(Spots *spots) {
    for (uint32_t i = 0; i < spots->count; i++) {
        if (spots->at[i].there != NULL) memset(spots->at[i].there, 0, spots->bounded);
    }
    arena_clear(spots->signals);
}
