/* What was worked out before, for whoever runs one program at many values of its inputs.
 *
 * Every step has a *print*: a number made of the values of the inputs that it rests on. As long as a print is the same, so is
 * the value, to the last bit, and so is the derivative with respect to one input; both are then taken from here. (Two
 * different sets of values share a print of 64 bits by a chance of 2⁻⁶⁴.) Only what rests on bounds and costs something is
 * kept: signals, and what is read off them.
 * Owns: prints and values, in the arenas passed; tangents are kept by the Gradient (compute/tangent.h). */
#ifndef TRUNNION_COMPUTE_RECALL_H
#define TRUNNION_COMPUTE_RECALL_H

#include "base/map.h"
#include "compute/evaluate.h"

/* What a fixed point and its running value rest on, by the prints of what lies outside. */
typedef struct PrintedLoop {
    const StepId *steps;   /* that rest on the guess, the guess first; and of loops in the loop */
    const StepId *outside; /* that these name */
    uint32_t step_count, outside_count;
} PrintedLoop;

struct Recall {
    const Program *program;
    const uint8_t *bounded;
    const uint8_t *worth;      /* by step: is kept */
    const PrintedLoop **loops; /* by SETTLE that rests on bounds */
    uint64_t *prints;          /* by step, as its inputs are now; 0 where bounds change nothing */
    const uint64_t *at_base;   /* the same at the nominal values */
    Arena *values;
    Map known;                 /* print and step -> index into `kept` */
    VECTOR(Computed) kept;
};

/* `values`: an arena of its own, also for all signals that are made while it is there. */
Recall *recall_open(Arena *arena, Arena *values, const Evaluation *base);
/* To be told of every step of which something has changed, rising: takes its print anew, at these inputs (by constant). */
void recall_print(Recall *recall, StepId step, const double *inputs);
/* Back to the print at the nominal values. */
void recall_return(Recall *recall, StepId step);
/* The value of a step as its inputs are now. False: it has not been kept. */
bool recall_value(const Recall *recall, StepId step, Computed *value);
void recall_keep(Recall *recall, StepId step, Computed value);
/* Forgets all values and clears their arena. */
void recall_forget(Recall *recall);
/* The key of what is known of a step as its inputs are now; `of`: 0, or with respect to which input. */
uint64_t recall_key(const Recall *recall, StepId step, StepId of);

#endif
