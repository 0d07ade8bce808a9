/* First-order lag: tau dy/dt + y = x.
 *
 * Over a part of length L, with s = L / (2 tau), the equation is tridiagonal in the Chebyshev coefficients once it is
 * integrated: -s y'(k-1) + 2k y(k) + s y(k+1) = -s (x'(k-1) - x(k+1)), where ' doubles the coefficient 0. Elimination from
 * the highest coefficient down gives continued fractions with positive denominators, sound for every s; the value at the
 * start then fixes the coefficient 0.
 *
 * A piece long compared with tau is cut at 4, 12 and 36 tau, so that the transient is short in every part. After 36 tau it
 * is below rounding, and what follows is settled. A jump of a signal whose tau is below the width of a break is a jump.
 *
 * The period maps its start value to its end value: end = A start + B, with A = exp(-duration / tau) and B what comes of a
 * start from 0. The periodic state starts from B / (1 - A), which keeps its accuracy when tau is much longer than the
 * period because B is summed from the changes only. */
#include "compute/signal_internal.h"

#include <math.h>

enum { SERIES_LIMIT = PIECE_SIZE_LIMIT - 1, HALVING_LIMIT = 6 };

typedef struct LagPart {
    double start, end;   /* s */
    double s;            /* half the length over tau */
    bool settled;        /* no transient is left of what was before the part */
    unsigned degree;     /* of y: 2 … 64, even */
    unsigned size;       /* of x */
    const double *series; /* x */
} LagPart;

typedef struct LagParts {
    Arena *arena;
    double tau, near, shortest; /* s; shorter parts are not halved */
    LagPart *at;
    uint32_t count, room;
} LagParts;

/* Degree that exp(-t / tau) needs, where it has already fallen to `left`. */
static unsigned transient_degree(double s, double left) {
    double term = left * exp(-s); /* times (s/2)^k / k! */
    for (unsigned k = 1; k < SERIES_LIMIT; k++) {
        term *= 0.5 * s / k;
        if (2 * term * exp(0.25 * s * s / (k + 1)) < 1e-17) return k;
    }
    return SERIES_LIMIT;
}

static void add_part(LagParts *parts, const Piece *piece, double start, double end, bool settled, int depth) {
    double values[PIECE_SIZE_LIMIT], *series = arena_take_raw(parts->arena, piece->size * sizeof *series);
    LagPart part = {start, end, 0.5 * (end - start) / parts->tau, settled, 0, piece->size, series};
    signal_resample(piece, start, end, parts->near, piece->size, values);
    signal_coefficients(values, piece->size, series);
    double scale = signal_magnitude(values, piece->size);
    unsigned degree = part.size - 1u;
    while (degree > 0 && fabs(series[degree]) <= 2 * SIGNAL_EPSILON * scale) degree--;
    if (!settled) degree += transient_degree(part.s, exp(-(start - piece->start) / parts->tau));
    if (degree > SERIES_LIMIT && !settled && depth < HALVING_LIMIT && end - start > parts->shortest) {
        double middle = start + 0.5 * (end - start);
        add_part(parts, piece, start, middle, false, depth + 1);
        add_part(parts, piece, middle, end, false, depth + 1);
        return;
    }
    part.degree = degree < 2 ? 2 : signal_ladder(degree + 1) - 1;
    if (parts->count == parts->room) {
        parts->at = arena_grow(parts->arena, parts->at, parts->room * sizeof part, 2 * parts->room * sizeof part);
        parts->room *= 2;
    }
    parts->at[parts->count++] = part;
}

static void add_piece(LagParts *parts, const Piece *piece) {
    static const double cuts[3] = {4, 12, 36};
    double tau = parts->tau, at = piece->start, ratio = (piece->end - piece->start) / tau;
    if (4 * tau <= parts->near) {
        add_part(parts, piece, piece->start, piece->end, true, 0);
        return;
    }
    int count = ratio > 100 ? 3 : ratio > 20 ? 2 : 0;
    for (int i = 0; i < count; i++) {
        double stop = piece->start + cuts[i] * tau;
        add_part(parts, piece, at, stop, false, 0);
        at = stop;
    }
    add_part(parts, piece, at, piece->end, count == 3, 0);
}

static double series_at(const LagPart *part, unsigned k) {
    return k < part->size ? part->series[k] : 0;
}

/* s so large that the equation is nearly y = x: solved from the highest coefficient down; there is no start value. */
static void solve_settled(const LagPart *part, double *y) {
    unsigned n = part->degree;
    double above = 0; /* y(k+1) */
    y[n] = series_at(part, n);
    for (unsigned k = n; k >= 1; k--) {
        double before = series_at(part, k - 1) * (k == 1 ? 2 : 1);
        y[k - 1] = before - series_at(part, k + 1) + above + 2.0 * k / part->s * y[k];
        above = y[k];
    }
    y[0] *= 0.5;
}

static void solve_from(const LagPart *part, double start, double *y) {
    double a[PIECE_SIZE_LIMIT + 1], b[PIECE_SIZE_LIMIT + 1], unit[PIECE_SIZE_LIMIT], s = part->s;
    unsigned n = part->degree;
    a[n + 1] = b[n + 1] = 0;
    for (unsigned k = n; k >= 1; k--) {
        double force = -s * (series_at(part, k - 1) * (k == 1 ? 2 : 1) - series_at(part, k + 1));
        double pivot = 2.0 * k + s * b[k + 1];
        b[k] = s / pivot;
        a[k] = (force - s * a[k + 1]) / pivot;
    }
    double sum = 0, sum_unit = 1;
    y[0] = 0;
    unit[0] = 1;
    for (unsigned k = 1; k <= n; k++) {
        double twice = k == 1 ? 2 : 1;
        y[k] = a[k] + b[k] * twice * y[k - 1];
        unit[k] = b[k] * twice * unit[k - 1];
        sum += y[k];
        sum_unit += unit[k];
    }
    double level = (start - sum) / sum_unit;
    for (unsigned k = 0; k <= n; k++) y[k] += level * unit[k];
}

static bool without_start(const LagPart *part) {
    return part->settled && part->s >= (double)part->degree * part->degree;
}

/* Solves the part from `start`, and returns y at its end. */
static double solve(const LagPart *part, double start, double *y) {
    double change = 0, end = 0;
    if (without_start(part)) {
        solve_settled(part, y);
        for (unsigned k = 0; k <= part->degree; k++) end += k % 2 ? -y[k] : y[k];
        return end;
    }
    solve_from(part, start, y);
    for (unsigned k = 1; k <= part->degree; k += 2) change -= 2 * y[k];
    return start + change;
}

static LagParts parts_of(Arena *arena, Signal x, double tau) {
    double duration = signal_duration(x);
    LagParts parts = {arena, tau, SIGNAL_BREAK_TOLERANCE * duration, SIGNAL_SHORTEST * duration, NULL, 0, x.count + 4};
    parts.at = arena_take_raw(arena, parts.room * sizeof *parts.at);
    for (uint32_t i = 0; i < x.count && parts.count <= SIGNAL_PIECE_LIMIT; i++) add_piece(&parts, &x.pieces[i]);
    return parts;
}

static Signal respond(Arena *arena, Signal x, const LagParts *parts, double start) {
    double y[PIECE_SIZE_LIMIT], values[PIECE_SIZE_LIMIT], scale = fmax(signal_scale_of(x), fabs(start));
    SignalBuilder builder = signal_builder(arena, signal_duration(x), parts->count);
    for (uint32_t i = 0; i < parts->count && !builder.full; i++) {
        const LagPart *part = &parts->at[i];
        double end = solve(part, start, y);
        signal_values(y, part->degree + 1, values);
        if (!without_start(part)) values[0] = start;
        values[part->degree] = end;
        signal_push(&builder, part->start, part->end, values, part->degree + 1, 2 * SIGNAL_EPSILON * scale);
        start = end;
    }
    return signal_finish(&builder);
}

/* Why there is no response: a void in x, or a time constant that is none. */
static SignalVoid fault_of(Signal x, double tau) {
    for (uint32_t i = 0; i < x.count; i++)
        if (x.pieces[i].size == 0) return (SignalVoid)x.pieces[i].void_reason;
    if (x.count == 0) return VOID_UNKNOWN;
    return tau > 0 && isfinite(tau) ? VOID_NONE : VOID_DOMAIN;
}

Signal signal_lag(Arena *arena, Signal x, double tau) {
    SignalVoid fault = fault_of(x, tau);
    double duration = signal_duration(x), gained = 0, y[PIECE_SIZE_LIMIT];
    if (fault != VOID_NONE) return signal_void(arena, duration, fault);
    LagParts parts = parts_of(arena, x, tau);
    if (parts.count > SIGNAL_PIECE_LIMIT) return signal_void(arena, duration, VOID_PIECES);
    for (uint32_t i = 0; i < parts.count; i++) gained = solve(&parts.at[i], gained, y);
    double start = gained / -expm1(-duration / tau);
    if (!isfinite(start)) return signal_void(arena, duration, VOID_OVERFLOW);
    return respond(arena, x, &parts, start);
}

Signal signal_lag_from(Arena *arena, Signal x, double tau, double start) {
    SignalVoid fault = fault_of(x, tau);
    if (fault == VOID_NONE && !isfinite(start)) fault = VOID_OVERFLOW;
    if (fault != VOID_NONE) return signal_void(arena, signal_duration(x), fault);
    LagParts parts = parts_of(arena, x, tau);
    if (parts.count > SIGNAL_PIECE_LIMIT) return signal_void(arena, signal_duration(x), VOID_PIECES);
    return respond(arena, x, &parts, start);
}
