/* Specifications without order, but sound: random formulas over values with bounds, with signals, peaks, switches, lags and
 * fixed points. The same seed gives the same text. */
#ifndef TRUNNION_TESTS_GIVEN_RANDOM_AXIS_H
#define TRUNNION_TESTS_GIVEN_RANDOM_AXIS_H

#include <stdio.h>

#include "given.h"

typedef struct RandomAxis {
    uint64_t state;
    TextBuilder out;
    unsigned inputs;
    unsigned settled; /* how many fixed points there are to name */
    bool smooth;      /* no kinks and no switches between numbers */
} RandomAxis;

static inline unsigned axis_die(RandomAxis *axis, unsigned sides) { return (unsigned)(given_random(&axis->state) % sides); }

static inline double axis_between(RandomAxis *axis, double low, double high) {
    return low + (high - low) * (double)(given_random(&axis->state) >> 11) / 9007199254740992.0;
}

static inline void axis_say(RandomAxis *axis, const char *text) { text_add_string(&axis->out, text); }

static inline void axis_number(RandomAxis *axis, double low, double high) {
    char digits[32];
    snprintf(digits, sizeof digits, "%.4f", axis_between(axis, low, high));
    axis_say(axis, digits);
}

static inline void axis_scalar(RandomAxis *axis, unsigned depth);
static inline void axis_signal(RandomAxis *axis, unsigned depth);

static inline void axis_call(RandomAxis *axis, const char *name, void (*inner)(RandomAxis *, unsigned), unsigned depth) {
    axis_say(axis, name);
    axis_say(axis, "(");
    inner(axis, depth);
    axis_say(axis, ")");
}

static inline void axis_pair(RandomAxis *axis, const char *between, void (*a)(RandomAxis *, unsigned), void (*b)(RandomAxis *, unsigned), unsigned depth) {
    axis_say(axis, "(");
    a(axis, depth);
    axis_say(axis, between);
    b(axis, depth);
    axis_say(axis, ")");
}

static inline void axis_input(RandomAxis *axis) {
    char name[16];
    snprintf(name, sizeof name, "i%u", axis_die(axis, axis->inputs));
    axis_say(axis, name);
}

static inline void axis_reduction(RandomAxis *axis, unsigned depth) {
    static const char *const names[] = {"peak", "mean", "rms", "maximum", "minimum", "integral"};
    unsigned which = axis_die(axis, 6);
    axis_call(axis, names[which], axis_signal, depth);
    if (which == 5) axis_say(axis, " / 1 s");
}

/* A switch between numbers that does not jump: beyond a level, a second slope is added. */
static inline void axis_bend(RandomAxis *axis, unsigned depth) {
    char name[16], level[16];
    snprintf(name, sizeof name, "i%u", axis_die(axis, axis->inputs));
    snprintf(level, sizeof level, "%.3f", axis_between(axis, 0.8, 1.6));
    axis_say(axis, "(if ");
    axis_say(axis, name);
    axis_say(axis, " < ");
    axis_say(axis, level);
    axis_say(axis, " then 0 else ");
    axis_number(axis, -2, 2);
    axis_say(axis, " * (");
    axis_say(axis, name);
    axis_say(axis, " - ");
    axis_say(axis, level);
    axis_say(axis, ")) + ");
    axis_scalar(axis, depth);
}

static inline void axis_scalar(RandomAxis *axis, unsigned depth) {
    if (depth == 0) {
        if (axis_die(axis, 5) == 0) axis_number(axis, 0.5, 2);
        else axis_input(axis);
        return;
    }
    switch (axis_die(axis, axis->smooth ? 9 : 13)) {
    case 0: axis_pair(axis, " + ", axis_scalar, axis_scalar, depth - 1); break;
    case 1: axis_pair(axis, " - ", axis_scalar, axis_scalar, depth - 1); break;
    case 2: axis_pair(axis, " * ", axis_scalar, axis_scalar, depth - 1); break;
    case 3: axis_say(axis, "("), axis_scalar(axis, depth - 1), axis_say(axis, ") / (1 + "), axis_call(axis, "(", axis_scalar, depth - 1), axis_say(axis, ") ^ 2)"); break;
    case 4: axis_say(axis, "sqrt(0.5 + "), axis_call(axis, "(", axis_scalar, depth - 1), axis_say(axis, ") ^ 2)"); break;
    case 5: axis_call(axis, axis_die(axis, 2) ? "sin" : "cos", axis_scalar, depth - 1); break;
    case 6: axis_say(axis, "exp(-0.2 * "), axis_call(axis, "(", axis_scalar, depth - 1), axis_say(axis, ") ^ 2)"); break;
    case 7:
        if (axis->settled > 0) axis_say(axis, axis_die(axis, axis->settled) ? "y1" : "y0");
        else axis_input(axis);
        break;
    case 8: axis_reduction(axis, depth - 1); break;
    case 9: axis_say(axis, "abs("), axis_scalar(axis, depth - 1), axis_say(axis, " - "), axis_number(axis, 0.8, 1.4), axis_say(axis, ")"); break;
    case 10: axis_say(axis, "min"), axis_pair(axis, ", ", axis_scalar, axis_scalar, depth - 1); break;
    case 11: axis_say(axis, "max"), axis_pair(axis, ", ", axis_scalar, axis_scalar, depth - 1); break;
    case 12: axis_say(axis, "("), axis_bend(axis, depth - 1), axis_say(axis, ")"); break;
    }
}

static inline void axis_signal(RandomAxis *axis, unsigned depth) {
    static const char *const of_cycle[] = {"travel", "pace", "push"};
    if (depth == 0) {
        axis_say(axis, of_cycle[axis_die(axis, 3)]);
        return;
    }
    switch (axis_die(axis, 8)) {
    case 0: axis_pair(axis, " * ", axis_scalar, axis_signal, depth - 1); break;
    case 1: axis_pair(axis, " + ", axis_signal, axis_scalar, depth - 1); break;
    case 2: axis_pair(axis, " + ", axis_signal, axis_signal, depth - 1); break;
    case 3: axis_say(axis, "lag("), axis_signal(axis, depth - 1), axis_say(axis, ", 0.2 s * (0.5 + abs("), axis_scalar(axis, depth - 1), axis_say(axis, ")))"); break;
    case 4: axis_say(axis, "abs("), axis_signal(axis, depth - 1), axis_say(axis, " - "), axis_number(axis, 0.1, 0.6), axis_say(axis, ")"); break;
    case 5: axis_call(axis, "(", axis_signal, depth - 1), axis_say(axis, ") ^ 2"); break;
    case 6: axis_say(axis, "(if travel > "), axis_number(axis, 0.2, 0.8), axis_say(axis, " * "), axis_input(axis), axis_say(axis, " then "), axis_signal(axis, depth - 1), axis_say(axis, " else "), axis_scalar(axis, depth - 1), axis_say(axis, ")"); break;
    case 7: axis_say(axis, "accumulate("), axis_signal(axis, depth - 1), axis_say(axis, ") / 1 s"); break;
    }
}

/* A whole file: cycle walk, form part, thing p, and requirements R-1 (from above), R-2 (from below), R-3 (a signal). Each has a
 * limit of 1000, so that its worst case is an extreme value of what it asks for. */
static inline const char *random_axis(Arena *arena, uint64_t seed, bool smooth) {
    static const char *const laws[] = {"trapezoidal", "cycloidal", "polynomial-5", "simple-harmonic"};
    RandomAxis axis = {.state = seed * 2654435761u + 88172645463325252u, .out = text_builder(arena), .smooth = smooth};
    char line[160];
    for (int i = 0; i < 8; i++) given_random(&axis.state);
    axis.inputs = 2 + axis_die(&axis, 4);
    bool moves = axis_die(&axis, 2);
    const char *law = laws[axis_die(&axis, 2)];
    snprintf(line, sizeof line, "cycle walk {\n  move 100 mm in %s by %s\n  hold 0.4 s\n  move -100 mm in 0.8 s by %s\n  hold %s\n}\n",
             moves ? "1 s ± 0.05 s" : "1 s", law, law, moves ? "0.3 s ± 0.05 s" : "0.3 s");
    axis_say(&axis, line);
    axis_say(&axis, "form part \"A part\" {\n");
    for (unsigned i = 0; i < axis.inputs; i++) {
        snprintf(line, sizeof line, "  given i%u : ratio\n", i);
        axis_say(&axis, line);
    }
    axis_say(&axis, "  let travel : ratio = walk.position / 100 mm\n  let pace : ratio = walk.speed / 200 mm/s\n"
                    "  let push : ratio = walk.acceleration / 800 mm/s²\n");
    unsigned settled = axis_die(&axis, 3);
    for (unsigned i = 0; i < settled; i++) {
        snprintf(line, sizeof line, "  let y%u : ratio = 0.8 + 0.3 * sin(y%u) * cos(", i, i);
        axis_say(&axis, line);
        axis_scalar(&axis, 1);
        axis_say(&axis, ") settles from 1\n");
        axis.settled = i + 1;
    }
    axis_say(&axis, "  let out : ratio = ");
    axis_scalar(&axis, 3);
    axis_say(&axis, "\n  let over-time : ratio = ");
    axis_signal(&axis, 3);
    axis_say(&axis, "\n}\npart p {\n");
    for (unsigned i = 0; i < axis.inputs; i++) {
        double nominal = axis_between(&axis, 0.6, 1.8), reach = nominal * axis_between(&axis, 0.02, 0.3);
        bool lopsided = axis_die(&axis, 4) == 0;
        if (lopsided) snprintf(line, sizeof line, "  i%u = %.4f to %.4f nominal %.4f\n", i, nominal - reach, nominal + 0.3 * reach, nominal);
        else snprintf(line, sizeof line, "  i%u = %.4f ± %.4f\n", i, nominal, reach);
        axis_say(&axis, line);
    }
    axis_say(&axis, "}\nrequirement R-1 \"above\" { shall p.out <= 1000  from none \"a test\" }\n"
                    "requirement R-2 \"below\" { shall p.out >= -1000  from none \"a test\" }\n"
                    "requirement R-3 \"over time\" { shall p.over-time <= 1000  from none \"a test\" }\n");
    return text_zero_ended(arena, text_built(&axis.out));
}

#endif
