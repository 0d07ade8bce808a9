/* Running a program: every step gets a value, front to back.
 *
 * Nothing is reported here. A value that cannot be computed is *failed*, carries its reason and the step it failed at, and
 * travels; whether that matters to anybody shows when a verdict or a report asks for it. A value that rests on a fact that
 * is not stated is *unknown*, and travels too.
 * Owns: the values, in the arena passed. */
#ifndef TRUNNION_COMPUTE_EVALUATE_H
#define TRUNNION_COMPUTE_EVALUATE_H

#include "compute/signal.h"
#include "plan/program.h"

typedef enum ComputedState { COMPUTED_NUMBER, COMPUTED_SIGNAL, COMPUTED_UNKNOWN, COMPUTED_FAILED } ComputedState;

typedef enum Failure {
    FAILURE_NONE,
    FAILURE_BROKEN,     /* its formula has been reported already */
    FAILURE_DIVISION,
    FAILURE_DOMAIN,     /* a root or logarithm of a negative number, … */
    FAILURE_OVERFLOW,
    FAILURE_TABLE,      /* outside a table */
    FAILURE_PIECES,
    FAILURE_NEEDS,      /* outside its range of validity */
    FAILURE_RUNAWAY,    /* a fixed point that grows without end */
    FAILURE_RESTLESS,   /* a fixed point that neither settles nor grows */
    FAILURE_NO_CYCLE,   /* an integral or duration of something that does not change over a cycle */
    FAILURE_SIGNAL,     /* a signal where a number is due */
    FAILURE_PERIODS,    /* two signals of different duration met */
    FAILURE_LENGTH,     /* a segment with a time that is not positive */
    FAILURE_LAW,        /* a motion law that does not go from 0 to 1 without a jump */
    FAILURE_INSTANT,    /* an instant outside the cycle */
    FAILURE_TAU         /* a time constant that is not positive */
} Failure;

typedef struct Computed {
    uint8_t state;   /* ComputedState */
    uint8_t failure; /* Failure, when failed */
    StepId origin;   /* the step that failed first */
    double number;   /* SI; truth: 0 or 1 */
    Signal signal;
} Computed;

typedef struct Recall Recall;

typedef struct Evaluation {
    Arena *arena;
    const Program *program;
    const double *inputs; /* by constant: the value used for it; nominal, or a corner of the bounds */
    const uint8_t *bounded; /* by step: rests on a constant with bounds; all others are the same at every corner */
    Computed *values; /* by step */
    uint32_t *seen;   /* by step: the number of the last search that reached it */
    uint32_t searches;
    StepId *reached;  /* room for all steps */
    Recall *recall;   /* what is known from other inputs; NULL: nothing is kept */
} Evaluation;

/* At the nominal values. */
Evaluation *evaluate(Arena *arena, const Program *program);
/* For every step the steps that use it, among those that rest on bounds and that one of the roots rests on (of a switch that
 * cannot differ, only the side that is taken); and all of these that rest on one step, rising, fixed points with their
 * loops. */
typedef struct Users {
    const Program *program;
    const uint32_t *first; /* by step: where its users begin in `list`; one more at the end */
    const StepId *list;
    uint32_t *seen;
    uint32_t searches;
} Users;
Users *users_open(Arena *arena, const Evaluation *evaluation, const StepId *roots, uint32_t root_count);
/* Whether a use can make a difference from corner to corner; operands count from 0. */
bool use_can_differ(const Evaluation *evaluation, StepId user, unsigned operand, StepId step);
/* In `arena`, rising. */
uint32_t users_all(Users *users, Arena *arena, StepId step, StepId **all);

/* Where a failure came from: the first step on which `step` rests that failed or has no value on part of the cycle. */
StepId evaluation_origin(Evaluation *evaluation, StepId step, Failure *failure);
/* Every step that a step rests on, itself included, in no particular order. `only` (may be NULL) says which of them to
 * follow further. The list lives until the next call. */
typedef struct Reach {
    const StepId *steps;
    uint32_t count;
} Reach;
typedef bool ReachFollow(const Evaluation *evaluation, StepId user, unsigned operand, StepId step);
Reach evaluation_reach(Evaluation *evaluation, StepId step, ReachFollow *only);
/* Marks, by step, everything that a step rests on, itself included; that a condition does; that one thing to judge does. */
void mark_reach(Evaluation *evaluation, StepId step, uint8_t *marks);
void mark_condition(Evaluation *evaluation, uint32_t condition, uint8_t *marks);
void mark_judged(Evaluation *evaluation, const Judged *judged, uint8_t *marks);
/* The reason of a void as a failure; FAILURE_NONE for VOID_NONE and VOID_UNKNOWN. */
Failure failure_of_void(SignalVoid reason);

#endif
