/* Ranges: a program for a whole box of inputs at once, in proved bounds.
 *
 * Some constants of the program (those that candidates replace) are given as ranges, each with a word on whether it may be not
 * stated; all others are what they are in the base evaluation. Every answer holds for every member of the box: whatever
 * evaluate() computes with inputs from the box lies in the range that is found here.
 *
 * In:   an evaluation of the program at any one set of inputs (the base), and which constants vary.
 * Out:  for each condition whether all members, no member or some may meet it, and a margin that none of them passes.
 * Owns: itself, in the arena passed; runs take no memory. Two threads may open and run two Range of one base at a time.
 *
 * Promised: a range is never too narrow. Numbers are computed with the operations that the evaluation uses, whose rounding
 * rises with its operands, so nothing is added; where a function's rounding need not (sine, power …), a few units of the last
 * place are. Signals are bounded on a grid of instants, and widened by what the evaluation's own fit and its instants of
 * crossing may be off (docs/design/ranges.md). That the evaluation resolves its signals within the limit of pieces is taken
 * for granted.
 * Not promised: that a range is narrow. What is not supported is without bounds, and may be anything. */
#ifndef TRUNNION_COMPUTE_RANGE_H
#define TRUNNION_COMPUTE_RANGE_H

#include "compute/evaluate.h"

enum { RANGE_PIECE_LIMIT = 64 };

/* What a value may be: any of these, for some member of the box. */
enum {
    RANGE_NUMBER = 1,
    RANGE_SIGNAL = 2,
    RANGE_UNKNOWN = 4, /* of a signal also: on part of the cycle */
    RANGE_FAILED = 8   /* … likewise */
};

typedef struct Range Range;

/* `varied`: `count` indices into Program.constants, none twice. Signals are bounded on up to `pieces` parts of their cycle
 * (1 … RANGE_PIECE_LIMIT). Until the first run the box holds nothing but the base. */
Range *range_open(Arena *arena, const Evaluation *base, const uint32_t *varied, uint32_t count, uint32_t pieces);

/* The next box. By position in `varied`: the bounds of the value, and RANGE_NUMBER (stated, by all members), RANGE_UNKNOWN
 * (by none) or both. `flags` may be NULL: all state all. Bounds of what is not stated are not read. Costs next to nothing:
 * values are found when they are asked for, and only those that rest on a constant that has changed. */
void range_run(Range *range, const double *lows, const double *highs, const uint8_t *flags);

typedef enum RangeVerdict {
    RANGE_FAILS, /* no member meets it: it does not hold, or has no value, for each */
    RANGE_HOLDS, /* every member meets it */
    RANGE_MAYBE
} RangeVerdict;

typedef struct RangeAnswer {
    RangeVerdict verdict;
    double share; /* no member that meets it has a larger margin, as a share of the limit; infinite when there is no such bound or
                   * no such share, and -infinite when none meets it */
} RangeAnswer;

/* Condition of Program.conditions, as the judge takes it (verdict/condition.c). */
RangeAnswer range_condition(Range *range, uint32_t condition);
/* Program.judged[index]: a rule that does not apply is met. */
RangeAnswer range_judged(Range *range, uint32_t index);

/* One step, for tests and for whoever wants a value: over the whole cycle when it is a signal. */
typedef struct RangeValue {
    double low, high; /* meaningless without RANGE_NUMBER or RANGE_SIGNAL */
    uint8_t flags;
    uint32_t parts;   /* of a signal: how many parts its cycle has; 0: a number, or a signal whose cycle is not known */
    const double *times, *lows, *highs; /* of a signal with parts: times[0 … parts], and the range on each part */
} RangeValue;

RangeValue range_step(Range *range, StepId step);
/* How many steps rest on what varies, for benchmarks. */
uint32_t range_steps(const Range *range);

#endif
