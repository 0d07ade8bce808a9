/* Operations a second of the signal engine, on the signals of an axis: a cycle of moves and holds with twelve pieces. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "compute/signal.h"

static void no_memory(void *context) {
    (void)context;
    exit(3);
}

static double now(void) {
    struct timespec time;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time); /* others may be working here too */
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

typedef struct Axis {
    Signal speed, acceleration, torque, current, limit;
} Axis;

/* Four moves and holds; a trapezoidal move is three pieces, a cycloidal one is one. */
static Signal speed_of(Arena *arena) {
    enum { PARTS = 12 };
    Signal t = signal_time(arena, 1), one = signal_constant(arena, 1, 1);
    Signal smooth = signal_scale(arena, signal_unary(arena, SIGNAL_COS, signal_scale(arena, t, 6.283185307179586, 0)), -1, 1);
    Signal parts[PARTS] = {smooth, one, smooth, one, t, one, t, one, t, one, t, one};
    double scale[PARTS] = {1, 0, -1, 0, 2, 2, -2, 0, -2, -2, 2, 0};
    double offset[PARTS] = {0, 0, 0, 0, 0, 0, 2, 0, 0, 0, -2, 0};
    double length[PARTS] = {1.4, 2, 1.4, 3, 0.3, 0.4, 0.3, 1, 0.3, 0.4, 0.3, 2};
    return signal_chain(arena, parts, scale, offset, length, PARTS);
}

static Axis axis_of(Arena *arena) {
    Axis axis;
    axis.speed = speed_of(arena);
    axis.acceleration = signal_rate(arena, axis.speed);
    Signal friction = signal_scale(arena, signal_unary(arena, SIGNAL_SIGN, axis.speed), 0.2, 0.5);
    axis.torque = signal_binary(arena, SIGNAL_ADD, signal_scale(arena, axis.acceleration, 0.1, 0), friction);
    axis.current = signal_scale(arena, axis.torque, 4, 0.1);
    axis.limit = signal_constant(arena, signal_duration(axis.speed), 2.5);
    return axis;
}

static volatile double kept; /* so that nothing is left out as unused */

/* clang-format off */
#define ROWS(ROW) \
    ROW("scale",            kept = (double)signal_scale(arena, a->speed, 2, 1).count) \
    ROW("add",              kept = (double)signal_binary(arena, SIGNAL_ADD, a->speed, a->torque).count) \
    ROW("multiply",         kept = (double)signal_binary(arena, SIGNAL_MULTIPLY, a->speed, a->torque).count) \
    ROW("divide",           kept = (double)signal_binary(arena, SIGNAL_DIVIDE, a->torque, a->limit).count) \
    ROW("absolute",         kept = (double)signal_unary(arena, SIGNAL_ABS, a->torque).count) \
    ROW("sign",             kept = (double)signal_unary(arena, SIGNAL_SIGN, a->speed).count) \
    ROW("sine",             kept = (double)signal_unary(arena, SIGNAL_SIN, a->speed).count) \
    ROW("compare",          kept = (double)signal_compare(arena, SIGNAL_AT_MOST, a->current, a->limit).count) \
    ROW("rate",             kept = (double)signal_rate(arena, a->speed).count) \
    ROW("accumulate",       kept = (double)signal_accumulate(arena, a->speed).count) \
    ROW("slow lag",         kept = (double)signal_lag(arena, a->current, 600).count) \
    ROW("fast lag",         kept = (double)signal_lag(arena, a->current, 1e-3).count) \
    ROW("peak",             kept = signal_peak(a->torque).value) \
    ROW("mean",             kept = signal_mean(a->torque).value) \
    ROW("rms",              kept = signal_rms(a->torque).value)
/* clang-format on */

#define MEASURE(name, operation)                                                                           \
    {                                                                                                      \
        enum { AT_ONCE = 200 };                                                                            \
        double start = now(), spent = 0;                                                                   \
        long done = 0;                                                                                     \
        while ((spent = now() - start) < 0.1) {                                                            \
            Arena *arena = arena_open(no_memory, NULL);                                                    \
            for (int i = 0; i < AT_ONCE; i++) operation;                                                   \
            arena_close(arena);                                                                            \
            done += AT_ONCE;                                                                               \
        }                                                                                                  \
        printf("%-28s %12.0f a second   %8.2f us each\n", "signal " name, (double)done / spent, 1e6 * spent / (double)done); \
    }

/* A torque chain, a thermal chain and the reductions of one axis: about sixty operations. */
static void whole_axis(void) {
    Arena *arena = arena_open(no_memory, NULL);
    Axis axis = axis_of(arena), *a = &axis;
    for (int i = 0; i < 4; i++) {
        Signal power = signal_binary(arena, SIGNAL_MULTIPLY, a->speed, a->torque);
        Signal heat = signal_scale(arena, signal_binary(arena, SIGNAL_MULTIPLY, a->current, a->current), 8.2, 0);
        Signal voltage = signal_binary(arena, SIGNAL_ADD, signal_scale(arena, a->current, 8.2, 0), signal_scale(arena, a->speed, 3, 0));
        Signal warm = signal_lag(arena, heat, 20), fits = signal_compare(arena, SIGNAL_AT_MOST, signal_unary(arena, SIGNAL_ABS, a->current), a->limit);
        Signal braking = signal_choose(arena, signal_compare(arena, SIGNAL_LESS, power, signal_constant(arena, signal_duration(power), 0)), power, signal_scale(arena, power, 0, 0));
        kept = signal_peak(power).value + signal_mean(heat).value + signal_maximum(warm).value + signal_share(fits).value;
        kept = signal_integral(braking).value + signal_rms(a->current).value + signal_peak(voltage).value + signal_peak(a->speed).value;
    }
    arena_close(arena);
}

int main(void) {
    Arena *own = arena_open(no_memory, NULL);
    Axis axis = axis_of(own), *a = &axis;
    ROWS(MEASURE)
    double start = now(), spent = 0;
    long done = 0;
    for (; (spent = now() - start) < 0.3; done++) whole_axis();
    printf("%-28s %12.0f a second   %8.2f us each\n", "axis of 70 operations", (double)done / spent, 1e6 * spent / (double)done);
    arena_close(own);
    return 0;
}
