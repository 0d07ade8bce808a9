/* Gradients: how every value of a program changes with one of its inputs, by differentiating the program step by step
 * (forward mode), signals, fixed points, peaks, switches and lags included.
 *
 * The tangent of a signal is its derivative at a fixed instant, and beside it the *movers*: the instants at which the signal
 * may jump, with the speed at which each moves with the input. A jump that moves adds to integrals and lags what its height
 * and its movement sweep over; a switch moves as its condition demands; the end of a cycle moves with its times. An extreme
 * value needs only the tangent where it is (envelope theorem).
 * Where a value has none (unknown, failed), or a function has a kink just there, the tangent is nought.
 * Units: of the value over those of the input, SI. */
#ifndef TRUNNION_COMPUTE_TANGENT_H
#define TRUNNION_COMPUTE_TANGENT_H

#include "base/map.h"
#include "compute/settle.h"

typedef struct Mover {
    double time;  /* s */
    double speed; /* s per unit of the input */
} Mover;

typedef struct Tangent {
    Computed value;      /* number or signal */
    const Mover *movers; /* rising */
    uint32_t mover_count;
    bool some;           /* false: nought, and nothing moves */
    bool later;          /* not worked out yet: nobody has asked for more than one instant of it */
} Tangent;

/* What the derivatives of one step need of its operands, whatever the input. */
typedef struct TangentAid {
    uint32_t moment; /* at which it was worked out */
    Computed value;
    Extreme extreme;
} TangentAid;

/* Tangents at other inputs, as compute/recall.h keeps values. */
typedef struct KnownTangents {
    Arena *arena; /* of its own; NULL: none are kept */
    Map known;    /* print, step and input -> index into `kept` */
    VECTOR(Tangent) kept;
} KnownTangents;

enum { KNOWN_TANGENTS = 8 << 20 }; /* bytes; then they are thrown away and made anew */

typedef struct Gradient {
    Arena *arena;
    Arena *common;     /* what does not depend on the input */
    TangentAid *aids;  /* by step */
    uint32_t moment;
    const Evaluation *evaluation;
    Tangent *tangents; /* by step */
    bool *depends;     /* by step: rests on the input */
    const Loop *loops; /* by SETTLE */
    const bool *whole; /* by step: its whole course is wanted by another step */
    double *points;    /* by step: derivatives at the instant that was asked for last */
    uint32_t *seen, searches;
    const StepId *cone;
    uint32_t count;
    StepId input;
    KnownTangents before;
} Gradient;

/* Room for the gradients of one program; kept between runs. */
Gradient *gradient_open(Arena *arena, const Program *program);
/* From now on tangents are kept in `tangents`, and taken from there where an evaluation that recalls its values asks again for the
 * same. */
void gradient_recall(Gradient *gradient, Arena *tangents);
/* Before runs at other values than those before: what all of them share is kept in `common`, which must live as long as they. */
void gradient_begin(Gradient *gradient, Arena *common);
/* Derivatives of the steps of a cone (rising, closed as for a Variation) that rest on `input`, a CONSTANT step, at the values
 * of `evaluation`. `scale` multiplies all. Signals are made in `scratch`. What an earlier run found is gone.
 * `cone` and `scratch` must live until the next run or gradient_release. */
void gradient_run(Gradient *gradient, Arena *scratch, const Evaluation *evaluation, const StepId *cone, uint32_t count, StepId input,
                  double scale);
/* The latest run's tangents, copied to `arena`, and back again as if it had just been run. */
typedef struct KeptGradient {
    const StepId *steps; /* rising */
    const Tangent *tangents;
    uint32_t count;
} KeptGradient;
KeptGradient gradient_keep(const Gradient *gradient, Arena *arena);
/* Of a cone only: `in_cone` by step. */
void gradient_load(Gradient *gradient, Arena *scratch, const Evaluation *evaluation, const KeptGradient *kept, const uint8_t *in_cone);
/* Forgets the latest run, before its cone or scratch arena goes. */
void gradient_release(Gradient *gradient);
/* The derivative of a step's number (0 when it does not rest on the input, or is a signal). */
double gradient_number(const Gradient *gradient, StepId step);
/* The derivative of the smallest value of x − y over the cycle (of the difference itself, for numbers). `minimum` is where
 * that smallest value lies; its time and piece count only for signals. */
double gradient_at(Gradient *gradient, StepId x, StepId y, Signal difference, Extreme minimum);

#endif
