/* Specifications without order, with every built-in function: formulas that may divide by nothing, leave a table or a domain, and
 * that rest on signals, switches, lags, fixed points and conditions of validity. The same seed gives the same text. */
#ifndef TRUNNION_TESTS_GIVEN_RANDOM_FORMULAS_H
#define TRUNNION_TESTS_GIVEN_RANDOM_FORMULAS_H

#include "given_random_axis.h"

static inline void formula_scalar(RandomAxis *axis, unsigned depth);
static inline void formula_signal(RandomAxis *axis, unsigned depth);

static inline void formula_condition(RandomAxis *axis, unsigned depth, void (*side)(RandomAxis *, unsigned)) {
    static const char *const orders[] = {" < ", " <= ", " > ", " >= "};
    unsigned which = depth == 0 ? 0 : axis_die(axis, 7);
    switch (which) {
    case 1:
    case 2:
        axis_say(axis, "(");
        formula_condition(axis, depth - 1, side);
        axis_say(axis, which == 1 ? " and " : " or ");
        formula_condition(axis, depth - 1, side);
        axis_say(axis, ")");
        return;
    case 3:
        axis_say(axis, "(not ");
        formula_condition(axis, depth - 1, side);
        axis_say(axis, ")");
        return;
    case 4:
        axis_say(axis, "(");
        axis_number(axis, -1, 1);
        axis_say(axis, " <= ");
        side(axis, depth - 1);
        axis_say(axis, " <= ");
        formula_scalar(axis, depth - 1);
        axis_say(axis, ")");
        return;
    default: break;
    }
    axis_say(axis, "(");
    side(axis, depth > 0 ? depth - 1 : 0);
    axis_say(axis, orders[axis_die(axis, 4)]);
    formula_scalar(axis, depth > 0 ? depth - 1 : 0);
    axis_say(axis, ")");
}

static inline void formula_choice(RandomAxis *axis, unsigned depth, void (*side)(RandomAxis *, unsigned), void (*one)(RandomAxis *, unsigned), void (*other)(RandomAxis *, unsigned)) {
    axis_say(axis, "(if ");
    formula_condition(axis, depth, side);
    axis_say(axis, " then ");
    one(axis, depth);
    axis_say(axis, " else ");
    other(axis, depth);
    axis_say(axis, ")");
}

/* A function of one number: with its factor, so that its domain is left now and then only. */
static inline void formula_function(RandomAxis *axis, unsigned depth, void (*inner)(RandomAxis *, unsigned)) {
    static const char *const wrapped[][2] = {{"abs(", ")"}, {"sign(", ")"}, {"sqrt(", ")"}, {"cbrt(", ")"}, {"exp(0.3 * ", ")"}, {"ln(1.5 + ", ")"}, {"sin(", ")"}, {"cos(", ")"},
                                             {"tan(0.4 * ", ")"}, {"(asin(0.3 * ", ") / 1 rad)"}, {"(acos(0.3 * ", ") / 1 rad)"}, {"(atan(", ") / 1 rad)"}, {"floor(2 * ", ")"},
                                             {"round(3 * ", ")"}, {"ceiling(", ")"}, {"(-", ")"}, {"(", ") ^ 2"}, {"(", ") ^ 3"}, {"(1 + ", ") ^ -1"}, {"(", ") ^ 0.5"}, {"(curve at ", ")"},
                                             {"(slope at 0.5 * ", ")"}};
    unsigned which = axis_die(axis, (unsigned)(sizeof wrapped / sizeof *wrapped));
    axis_say(axis, "(");
    axis_say(axis, wrapped[which][0]);
    inner(axis, depth);
    axis_say(axis, wrapped[which][1]);
    axis_say(axis, ")");
}

static inline void formula_of_two(RandomAxis *axis, unsigned depth, void (*a)(RandomAxis *, unsigned), void (*b)(RandomAxis *, unsigned)) {
    static const char *const between[] = {" + ", " - ", " * ", " / ", ", "};
    unsigned which = axis_die(axis, 8);
    if (which == 5) axis_say(axis, "min");
    if (which == 6) axis_say(axis, "max");
    if (which == 7) axis_say(axis, "(atan2");
    axis_pair(axis, between[which > 4 ? 4 : which == 4 ? 2 : which], a, b, depth);
    if (which == 7) axis_say(axis, " / 1 rad)");
}

static inline void formula_reduction(RandomAxis *axis, unsigned depth) {
    static const char *const names[] = {"peak", "mean", "rms", "maximum", "minimum", "integral", "share", "at"};
    unsigned which = axis_die(axis, 8);
    if (which < 6) {
        axis_call(axis, names[which], formula_signal, depth);
        if (which == 5) axis_say(axis, " / 1 s");
    } else if (which == 6) {
        axis_say(axis, "share(");
        formula_condition(axis, depth, formula_signal);
        axis_say(axis, ")");
    } else {
        axis_say(axis, "(");
        formula_signal(axis, depth);
        unsigned when = axis_die(axis, 4);
        if (when == 0) axis_say(axis, " at (1 s * "), formula_scalar(axis, depth), axis_say(axis, "))");
        else if (when == 1) axis_say(axis, " at 0 s)");
        else axis_say(axis, " at "), axis_number(axis, 0, 2.6), axis_say(axis, " s)");
    }
}

static inline void formula_scalar(RandomAxis *axis, unsigned depth) {
    char name[16];
    if (depth == 0) {
        unsigned which = axis_die(axis, 6);
        if (which == 0) {
            axis_number(axis, -0.5, 2);
        } else if (which == 1 && axis->settled > 0) {
            snprintf(name, sizeof name, "a%u", axis_die(axis, axis->settled));
            axis_say(axis, name);
        } else {
            axis_input(axis);
        }
        return;
    }
    switch (axis_die(axis, 9)) {
    case 0:
    case 1: formula_function(axis, depth - 1, formula_scalar); break;
    case 2: formula_choice(axis, depth - 1, formula_scalar, formula_scalar, formula_scalar); break;
    case 3:
    case 4: formula_reduction(axis, depth - 1); break;
    default: formula_of_two(axis, depth - 1, formula_scalar, formula_scalar); break;
    }
}

static inline void formula_signal(RandomAxis *axis, unsigned depth) {
    static const char *const of_cycle[] = {"travel", "pace", "push", "load"};
    if (depth == 0) {
        axis_say(axis, of_cycle[axis_die(axis, 4)]);
        return;
    }
    switch (axis_die(axis, 12)) {
    case 0: axis_say(axis, "lag("), formula_signal(axis, depth - 1), axis_say(axis, ", 0.2 s * (0.3 + "), formula_scalar(axis, depth - 1), axis_say(axis, "))"); break;
    case 1: axis_say(axis, "lag("), formula_signal(axis, depth - 1), axis_say(axis, ", "), axis_number(axis, 0.05, 30), axis_say(axis, " s)"); break;
    case 2: axis_say(axis, "(accumulate("), formula_signal(axis, depth - 1), axis_say(axis, ") / 1 s)"); break;
    case 3: axis_say(axis, "(rate("), formula_signal(axis, depth - 1), axis_say(axis, ") * 0.1 s)"); break;
    case 4: formula_choice(axis, depth - 1, formula_signal, formula_signal, axis_die(axis, 2) ? formula_signal : formula_scalar); break;
    case 5: formula_choice(axis, depth - 1, formula_scalar, formula_signal, axis_die(axis, 2) ? formula_signal : formula_scalar); break;
    case 6:
    case 7: formula_function(axis, depth - 1, formula_signal); break;
    case 8: formula_of_two(axis, depth - 1, formula_signal, formula_signal); break;
    case 9: formula_of_two(axis, depth - 1, formula_scalar, formula_signal); break;
    default: formula_of_two(axis, depth - 1, formula_signal, formula_scalar); break;
    }
}

/* A fixed point: of a formula that is flat enough, or of any. */
static inline void formula_settles(RandomAxis *axis, unsigned index) {
    char line[96];
    bool gentle = axis_die(axis, 3) > 0;
    snprintf(line, sizeof line, gentle ? "  let a%u : ratio = 0.8 + 0.3 * sin(a%u) * cos(" : "  let a%u : ratio = 0.5 * a%u + 0.2 * (", index, index);
    axis_say(axis, line);
    formula_scalar(axis, 1);
    snprintf(line, sizeof line, gentle ? ")" : ") * (1 + 0.1 * a%u ^ 2)", index);
    axis_say(axis, line);
    axis_say(axis, axis_die(axis, 4) ? " settles from 1\n" : " settles from i0\n");
}

static inline void formula_members(RandomAxis *axis, unsigned count) {
    char line[64];
    for (unsigned i = 0; i < count; i++) {
        if (axis_die(axis, 3) == 0) {
            formula_settles(axis, i);
        } else {
            snprintf(line, sizeof line, "  let a%u : ratio = ", i);
            axis_say(axis, line);
            formula_scalar(axis, 2);
            if (axis_die(axis, 3) == 0) axis_say(axis, " needs "), formula_condition(axis, 1, axis_die(axis, 2) ? formula_scalar : formula_signal);
            axis_say(axis, "\n");
        }
        axis->settled = i + 1;
    }
}

static inline void formula_requirement(RandomAxis *axis, unsigned index) {
    static const char *const named[] = {"p.out", "p.over-time", "p.again"};
    char line[160];
    snprintf(line, sizeof line, "requirement R-%u \"asked\" { shall %s %s %.3f%s from none \"a test\" }\n", index, named[axis_die(axis, 3)], axis_die(axis, 2) ? "<=" : ">", axis_between(axis, -1, 3),
             axis_die(axis, 3) ? "" : axis_die(axis, 2) ? " and p.again >= 0.2" : " or p.out < p.again");
    axis_say(axis, line);
}

static inline const char *random_formulas(Arena *arena, uint64_t seed) {
    static const char *const laws[] = {"trapezoidal", "cycloidal", "harmonic", "jerk-limited"};
    RandomAxis axis = {.state = seed * 2654435761u + 88172645463325252u, .out = text_builder(arena)};
    char line[240];
    for (int i = 0; i < 8; i++) given_random(&axis.state);
    axis.inputs = 3 + axis_die(&axis, 3);
    const char *law = laws[axis_die(&axis, 4)];
    snprintf(line, sizeof line, "cycle walk {\n  move 100 mm in 1 s by %s\n  hold 0.4 s { load = %s }\n  move -100 mm in 0.8 s by %s { load = 0.7 ± 0.2 }\n  hold 0.3 s\n}\n", law,
             axis_die(&axis, 2) ? "0.5" : "-0.3 ± 0.1", law);
    axis_say(&axis, line);
    axis_say(&axis, "form part \"A part\" {\n  given motion : cycle of length\n  given load : ratio = 0.2 ± 0.05 varies with motion\n");
    for (unsigned i = 0; i < axis.inputs; i++) {
        snprintf(line, sizeof line, "  given i%u : ratio\n", i);
        axis_say(&axis, line);
    }
    axis_say(&axis, "  given curve : table of ratio over ratio\n  given slope : table of ratio over ratio\n");
    axis_say(&axis, "  let travel : ratio = motion.position / 100 mm\n  let pace : ratio = motion.speed / 200 mm/s\n"
                    "  let push : ratio = motion.acceleration / 800 mm/s²\n");
    formula_members(&axis, 1 + axis_die(&axis, 3));
    axis_say(&axis, "  let out : ratio = ");
    formula_scalar(&axis, 3);
    axis_say(&axis, "\n  let again : ratio = ");
    formula_scalar(&axis, 3);
    axis_say(&axis, "\n  let over-time : ratio = ");
    formula_signal(&axis, 3);
    axis_say(&axis, "\n}\npart p {\n  motion = walk\n  curve = table { -1: 0.5; 0: 0.1; 0.7: 1.3; 2.1: 0.9; 4: 1 }\n  slope = table { -3: -1.1; 0: 0.2; 3: 1.5 }\n");
    for (unsigned i = 0; i < axis.inputs; i++) {
        double nominal = axis_between(&axis, -0.4, 1.8), reach = axis_between(&axis, 0.02, 0.4);
        snprintf(line, sizeof line, "  i%u = %.4f ± %.4f\n", i, nominal, reach);
        axis_say(&axis, line);
    }
    axis_say(&axis, "}\n");
    for (unsigned i = 1; i <= 3; i++) formula_requirement(&axis, i);
    return text_zero_ended(arena, text_built(&axis.out));
}

#endif
