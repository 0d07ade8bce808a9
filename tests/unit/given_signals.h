/* Signals that several tests of the signal engine need, and how results are compared. */
#ifndef TRUNNION_TESTS_GIVEN_SIGNALS_H
#define TRUNNION_TESTS_GIVEN_SIGNALS_H

#include <math.h>

#include "compute/signal.h"
#include "given.h"

#define PI 3.14159265358979323846

/* Within `relative` of the larger of the expected value and `least`. */
#define cr_near_scaled(actual, expected, relative, least)                                                        \
    do {                                                                                                         \
        double actual_ = (actual), expected_ = (expected);                                                       \
        double limit_ = (relative) * fmax(fabs(expected_), (least));                                             \
        cr_assert(fabs(actual_ - expected_) <= limit_, "is %.17g, not %.17g: off by %.3g, limit %.3g", actual_,  \
                  expected_, actual_ - expected_, limit_);                                                       \
    } while (0)
#define cr_near(actual, expected) cr_near_scaled(actual, expected, 1e-10, 1e-2)
#define cr_reduced(extreme, expected)                                                        \
    do {                                                                                     \
        Extreme extreme_ = (extreme);                                                        \
        cr_assert_eq(extreme_.fault, VOID_NONE, "void for reason %d", (int)extreme_.fault);  \
        cr_near(extreme_.value, (expected));                                                 \
    } while (0)

/* The pieces cover [0, duration] without gaps, and each holds what it promises. */
static inline void given_sound(Signal x, double duration) {
    cr_assert_gt(x.count, 0u);
    cr_assert_eq(x.pieces[0].start, 0.0);
    cr_assert_eq(x.pieces[x.count - 1].end, duration);
    for (uint32_t i = 0; i < x.count; i++) {
        const Piece *piece = &x.pieces[i];
        cr_assert(piece->start < piece->end, "piece %u runs from %.17g to %.17g", i, piece->start, piece->end);
        if (i) cr_assert_eq(piece->start, piece[-1].end, "a gap before piece %u", i);
        cr_assert(piece->size <= 2 || (piece->size <= PIECE_SIZE_LIMIT && ((piece->size - 1) & (piece->size - 2)) == 0));
        cr_assert_eq(piece->size == 0, piece->void_reason != VOID_NONE);
        for (unsigned j = 0; j < piece->size; j++) cr_assert(isfinite(piece->values[j]));
    }
}

/* Largest difference of two signals, looked for at 23 instants in each piece of the first. */
static inline double given_difference(Signal x, Signal y) {
    double largest = 0;
    for (uint32_t i = 0; i < x.count; i++)
        for (int k = 0; k < 23; k++) {
            double time = x.pieces[i].start + (k + 0.5) / 23 * (x.pieces[i].end - x.pieces[i].start);
            Extreme a = signal_at(x, time), b = signal_at(y, time);
            if (a.fault != b.fault) return INFINITY;
            if (a.fault == VOID_NONE) largest = fmax(largest, fabs(a.value - b.value));
        }
    return largest;
}

/* A cubic through four values at 0, 1/3, 2/3 and 1 of the duration, from products and sums. */
static inline Signal given_cubic(Arena *arena, double duration, const double *at) {
    Signal u = signal_scale(arena, signal_time(arena, duration), 1 / duration, 0);
    double d1 = at[1] - at[0], d2 = at[2] - 2 * at[1] + at[0], d3 = at[3] - 3 * at[2] + 3 * at[1] - at[0];
    Signal sum = signal_scale(arena, u, 3 * d3 / 6 , d2 / 2 - 2 * d3 / 6); /* d2/2 + (3u - 2) d3/6 */
    sum = signal_binary(arena, SIGNAL_MULTIPLY, sum, signal_scale(arena, u, 3, -1));
    sum = signal_scale(arena, sum, 1, d1);
    sum = signal_binary(arena, SIGNAL_MULTIPLY, sum, signal_scale(arena, u, 3, 0));
    return signal_scale(arena, sum, 1, at[0]);
}

/* Between -1 and 1. */
static inline double given_number(uint64_t *state) { return (double)(given_random(state) >> 11) / 4503599627370496.0 - 1; }

/* Constants, lines, parabolas, cubics and waves one after the other, with jumps between them. */
static inline Signal given_signal(Arena *arena, uint64_t *state) {
    enum { PARTS = 6 };
    Signal parts[PARTS];
    double scale[PARTS], offset[PARTS], length[PARTS];
    for (int i = 0; i < PARTS; i++) {
        double at[4] = {given_number(state), given_number(state), given_number(state), given_number(state)};
        Signal t = signal_time(arena, 1);
        switch (given_random(state) % 5) {
        case 0: parts[i] = signal_constant(arena, 1, at[0]); break;
        case 1: parts[i] = signal_scale(arena, t, at[0], at[1]); break;
        case 2: parts[i] = signal_binary(arena, SIGNAL_MULTIPLY, signal_scale(arena, t, 2 * at[0], at[1]), t); break;
        case 3: parts[i] = given_cubic(arena, 1, at); break;
        default: parts[i] = signal_unary(arena, SIGNAL_SIN, signal_scale(arena, t, 9 * at[0], 3 * at[1])); break;
        }
        scale[i] = 2;
        offset[i] = i % 2 ? 0.25 : 0;
        length[i] = 0.2 + 0.1 * (double)(given_random(state) % 4);
    }
    Signal chain = signal_chain(arena, parts, scale, offset, length, PARTS);
    return chain;
}

#endif
