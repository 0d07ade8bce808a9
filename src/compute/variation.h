/* The same program again and again with other values of its constants, for one part of it (a cone: rising steps that hold
 * all they rest on, fixed points with their loops). Costs what the cone costs, not what the program does.
 * Owns: the values, in the arenas passed. */
#ifndef TRUNNION_COMPUTE_VARIATION_H
#define TRUNNION_COMPUTE_VARIATION_H

#include "compute/evaluate.h"

typedef struct Variation {
    const Evaluation *base;
    Evaluation *now;  /* the values at the latest inputs; outside the cone the base's */
    double *latest;   /* by constant: those inputs */
    uint8_t *changed; /* by step */
    const StepId *cone;
    uint32_t count;
    uint32_t *inputs; /* constants of the cone */
    uint32_t input_count;
} Variation;

Variation *variation_open(Arena *arena, const Evaluation *base);
enum { VARIATION_VALUES = 4 << 20, RECALL_VALUES = 32 << 20 }; /* bytes of values; then they are thrown away and made anew */
/* From now on values are kept beyond a cone, in `values` (see compute/recall.h), and taken from there where the same is asked again.
 * Every cone is taken with this arena then. Not for a variation that is run in parts. */
void variation_recall(Variation *variation, Arena *arena, Arena *values);
/* From now on for this cone. Signals are made in `values`, an arena of the variation's own that is cleared now and then; it must
 * outlive the cone. */
void variation_take(Variation *variation, Arena *values, const StepId *cone, uint32_t count);
/* Runs what rests on a constant whose value is not that of the latest run. `inputs` by constant. */
void variation_run(Variation *variation, const double *inputs);
/* The same in parts, for whoever may not need all of it: first what has changed is noted, then only the steps of a part are run
 * (rising, with all they rest on); others stay behind until a part asks for them. Not to be mixed with variation_run. */
void variation_note(Variation *variation, const double *inputs);
void variation_catch_up(Variation *variation, const StepId *part, uint32_t count);
/* Back to the base's values. */
void variation_release(Variation *variation);

#endif
