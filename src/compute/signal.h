/* Signals: functions of time over one period of a cycle, exact in pieces.
 *
 * A signal is a row of pieces that cover [0, duration] without gaps. Inside a piece the function is a polynomial held by
 * its values at Chebyshev–Lobatto points, of a size from a fixed ladder (1, 2, 3, 5, 9, 17, 33, 65); a piece whose function
 * needs more is split. Between pieces a signal may jump. A signal repeats: what follows `duration` is its beginning.
 *
 * Pieces may be void: there the signal has no value (division by zero, outside a table, unknown). Voids travel through
 * operations, and vanish when a switch does not choose them.
 *
 * Units: SI, and seconds, throughout; nothing here knows a dimension.
 * Accuracy: peaks, means, RMS and integrals of smooth functions agree with closed forms to 1e-10 relative or better.
 * Owns: nothing; every result is new, in the arena passed (lifetime: one evaluation). Signals are never changed. */
#ifndef TRUNNION_COMPUTE_SIGNAL_H
#define TRUNNION_COMPUTE_SIGNAL_H

#include <stdbool.h>
#include <stdint.h>

#include "base/arena.h"

enum { PIECE_SIZE_LIMIT = 65, SIGNAL_PIECE_LIMIT = 20000 };

typedef struct Piece {
    double start, end;    /* s; start < end */
    uint16_t size;        /* number of points; 0: void */
    uint16_t void_reason; /* only when void: one of SignalVoid */
    const double *values; /* at the points, first = value at start, last = value at end; one for a constant */
} Piece;

typedef enum SignalVoid {
    VOID_NONE,
    VOID_UNKNOWN,       /* an operand is unknown */
    VOID_DIVISION,      /* division by zero */
    VOID_DOMAIN,        /* square root of a negative number, logarithm, arc sine … outside its domain */
    VOID_OVERFLOW,      /* not a finite number, or one beyond 1e150 */
    VOID_TABLE,         /* outside a table */
    VOID_PIECES         /* more than SIGNAL_PIECE_LIMIT pieces */
} SignalVoid;

typedef struct Signal {
    uint32_t count;
    const Piece *pieces;
} Signal;

/* ---- making ---- */
Signal signal_constant(Arena *arena, double duration, double value);
/* The time itself: t over [0, duration]. */
Signal signal_time(Arena *arena, double duration);
/* `count` constant pieces; times[0 .. count] rising. */
Signal signal_steps(Arena *arena, const double *times, const double *values, uint32_t count);
/* The same in another arena. */
Signal signal_copy(Arena *arena, Signal x);
/* All void, for one reason. */
Signal signal_void(Arena *arena, double duration, SignalVoid reason);
/* One after the other: parts[i] (each over its own [0, d_i]) with its values times scale[i] plus offset[i], its time
 * stretched so that it lasts length[i] seconds. Lengths > 0. */
Signal signal_chain(Arena *arena, const Signal *parts, const double *scale, const double *offset, const double *length,
                    uint32_t count);

/* ---- at each instant ---- */
typedef enum SignalUnary {
    SIGNAL_NEGATE, SIGNAL_ABS, SIGNAL_SIGN, SIGNAL_SQRT, SIGNAL_CBRT, SIGNAL_EXP, SIGNAL_LN, SIGNAL_SIN, SIGNAL_COS, SIGNAL_TAN,
    SIGNAL_ASIN, SIGNAL_ACOS, SIGNAL_ATAN, SIGNAL_FLOOR, SIGNAL_ROUND, SIGNAL_CEILING
} SignalUnary;
typedef enum SignalBinary {
    SIGNAL_ADD, SIGNAL_SUBTRACT, SIGNAL_MULTIPLY, SIGNAL_DIVIDE, SIGNAL_POWER, SIGNAL_ATAN2, SIGNAL_LESSER, SIGNAL_GREATER
} SignalBinary;

/* abs and sign split at the roots; sign of a piece that is zero throughout is 0. floor … split at the steps. */
Signal signal_unary(Arena *arena, SignalUnary operation, Signal x);
/* lesser/greater split where the two cross. Both must have the same duration (to 1e-12 relative).
 * power: exponent constant for a negative or zero base (else void by VOID_DOMAIN). */
Signal signal_binary(Arena *arena, SignalBinary operation, Signal x, Signal y);
/* x·factor + offset, cheaper than the general operations. */
Signal signal_scale(Arena *arena, Signal x, double factor, double offset);
/* Any smooth function of one variable, resolved by sampling: `function(context, x, &y)` returns a SignalVoid. `breaks`
 * (may be NULL) are the x values where it has a kink, rising: the pieces are split where x crosses them. */
typedef SignalVoid SignalFunction(void *context, double x, double *y);
Signal signal_map(Arena *arena, Signal x, SignalFunction *function, void *context, const double *breaks, uint32_t break_count);

/* ---- comparing and switching ---- */
/* A truth signal is a Signal whose pieces are constants 1 (true) or 0 (false). */
typedef enum SignalCompare { SIGNAL_LESS, SIGNAL_AT_MOST, SIGNAL_MORE, SIGNAL_AT_LEAST, SIGNAL_EQUAL, SIGNAL_UNEQUAL } SignalCompare;
/* Splits at the exact crossings. Where x − y is zero throughout a piece (to 1e-13 of their scale), they are equal there.
 * EQUAL is true only on such pieces. */
Signal signal_compare(Arena *arena, SignalCompare comparison, Signal x, Signal y);
Signal signal_and(Arena *arena, Signal a, Signal b); /* false and void is false */
Signal signal_or(Arena *arena, Signal a, Signal b);  /* true or void is true */
Signal signal_not(Arena *arena, Signal a);
/* On each piece of `condition`: the pieces of `yes` where it is 1, of `no` where it is 0, void where it is void. */
Signal signal_choose(Arena *arena, Signal condition, Signal yes, Signal no);

/* ---- calculus ---- */
/* Derivative inside the pieces (jumps between pieces are not differentiated). For signals that are known only as values;
 * the compiler differentiates formulas itself. */
Signal signal_rate(Arena *arena, Signal x);
/* The running integral from 0, starting at 0. */
Signal signal_accumulate(Arena *arena, Signal x);
/* Periodic steady state of tau·dy/dt + y = x. tau > 0 in seconds, constant. Exact also when tau is much shorter or much
 * longer than the pieces (it splits where the transient needs it). Void anywhere in x makes all of y void. */
Signal signal_lag(Arena *arena, Signal x, double tau);
/* The same from a given start value instead of the periodic state: first period only. */
Signal signal_lag_from(Arena *arena, Signal x, double tau, double start);

/* ---- reducing ---- */
typedef struct Extreme {
    double value;
    double time;     /* s; the earliest instant of it */
    uint32_t piece;
    SignalVoid fault; /* VOID_NONE, or why there is none: the first void piece's reason */
} Extreme;

Extreme signal_maximum(Signal x);
Extreme signal_minimum(Signal x);
Extreme signal_peak(Signal x); /* the largest magnitude; value is the magnitude */
/* Integral over the period. */
Extreme signal_integral(Signal x); /* value only; time and piece 0 */
double signal_duration(Signal x);
Extreme signal_mean(Signal x);
Extreme signal_rms(Signal x);
/* Value at an instant in [0, duration]; at a break, the value of the piece that begins there (at the very end, of the last). */
Extreme signal_at(Signal x, double time);
/* Share of the period for which a truth signal is 1; 0 … 1. */
Extreme signal_share(Signal condition);

/* ---- looking inside (for the compiler and for plotting) ---- */
/* All breaks of the signal: start of each piece, and the end; into `times` (room for count + 1). */
void signal_breaks(Signal x, double *times);
/* Value of one piece at time t (start <= t <= end), void gives NaN. */
double piece_at(const Piece *piece, double time);
/* All roots of x − level inside (0, duration), rising, into the arena; a piece that equals the level throughout has none. */
uint32_t signal_crossings(Arena *arena, Signal x, double level, double **times);

#endif
