/* From a signal to one number. */
#include "compute/signal_internal.h"

#include <math.h>

static Extreme fault_of(Signal x) {
    if (x.count == 0) return (Extreme){NAN, 0, 0, VOID_UNKNOWN};
    for (uint32_t i = 0; i < x.count; i++)
        if (x.pieces[i].size == 0) return (Extreme){NAN, x.pieces[i].start, i, (SignalVoid)x.pieces[i].void_reason};
    return (Extreme){0, 0, 0, VOID_NONE};
}

/* ---- largest, smallest, peak ---- */

typedef enum ExtremeKind { KIND_MAXIMUM, KIND_MINIMUM, KIND_PEAK } ExtremeKind;

/* What is to be as large as possible. */
static double merit(ExtremeKind kind, double value) {
    return kind == KIND_MAXIMUM ? value : kind == KIND_MINIMUM ? -value : fabs(value);
}

/* Takes the candidate when it is larger by more than rounding: of equal ones the earliest stays. */
static void consider(Extreme *best, ExtremeKind kind, double value, double time, uint32_t piece) {
    double candidate = merit(kind, value);
    if (candidate > best->value + 4e-15 * fabs(best->value)) *best = (Extreme){candidate, time, piece, VOID_NONE};
}

static void consider_inside(Extreme *best, ExtremeKind kind, const Piece *piece, uint32_t index, const SignalSeries *series) {
    SignalSeries slopes;
    SignalCrossings turns;
    double slope[PIECE_SIZE_LIMIT], values[PIECE_SIZE_LIMIT], length = piece->end - piece->start;
    signal_derivative(series->coefficient, series->size, slope);
    signal_values(slope, series->size, values);
    signal_series(&slopes, values, series->size);
    signal_cross(&slopes, 0, 1e-14 * signal_magnitude(values, series->size), 1e-13, &turns);
    for (uint32_t k = 0; k < turns.count; k++)
        consider(best, kind, signal_interpolate(piece->values, piece->size, turns.u[k]), piece->start + length * turns.u[k], index);
}

typedef struct Reach {
    double least, most; /* at the points of a piece */
} Reach;

static Reach reach_of(const Piece *piece) {
    Reach reach = {INFINITY, -INFINITY};
    for (unsigned j = 0; j < piece->size; j++) {
        if (piece->values[j] < reach.least) reach.least = piece->values[j];
        if (piece->values[j] > reach.most) reach.most = piece->values[j];
    }
    return reach;
}

static double merit_at_points(ExtremeKind kind, Reach reach) { return fmax(merit(kind, reach.least), merit(kind, reach.most)); }

/* Between its points a polynomial goes no further from the middle than so many times as at them: the Lebesgue constant of
 * Chebyshev points is at most 1 + 2/π ln(n + 1) (Trefethen, Approximation Theory and Approximation Practice, theorem 15.2). */
static double merit_between(ExtremeKind kind, Reach reach, unsigned size) {
    double middle = 0.5 * (reach.least + reach.most), far = (1 + 2 / 3.14159265358979323846 * log(size)) * 0.5 * (reach.most - reach.least);
    return merit(kind, middle) + far;
}

static void consider_piece(Extreme *best, ExtremeKind kind, const Piece *piece, uint32_t index, double floor_level) {
    const double *v = piece->values;
    unsigned size = piece->size;
    consider(best, kind, v[0], piece->start, index);
    if (size == 3) {
        double bend = v[0] - 2 * v[1] + v[2], slope = 4 * v[1] - 3 * v[0] - v[2], u = bend != 0 ? -slope / (4 * bend) : 0;
        if (u > 0 && u < 1)
            consider(best, kind, signal_interpolate(v, 3, u), piece->start + u * (piece->end - piece->start), index);
    } else if (size > 3) {
        Reach reach = reach_of(piece);
        double h = 3.14159265358979323846 / (size - 1);
        if (merit_between(kind, reach, size) >= floor_level) {
            SignalSeries series;
            signal_series(&series, v, size);
            /* Nor can it rise higher than its bend lets it. */
            if (merit_at_points(kind, reach) + h * h * series.bend / 8 >= floor_level) consider_inside(best, kind, piece, index, &series);
        }
    }
    if (size > 1) consider(best, kind, v[size - 1], piece->end, index);
}

static Extreme extreme(Signal x, ExtremeKind kind) {
    Extreme best = fault_of(x);
    double floor_level = -INFINITY; /* the result is at least this */
    if (best.fault != VOID_NONE) return best;
    for (uint32_t i = 0; i < x.count; i++) floor_level = fmax(floor_level, merit_at_points(kind, reach_of(&x.pieces[i])));
    best = (Extreme){merit(kind, x.pieces[0].values[0]), x.pieces[0].start, 0, VOID_NONE};
    for (uint32_t i = 0; i < x.count; i++) consider_piece(&best, kind, &x.pieces[i], i, floor_level);
    if (kind == KIND_MINIMUM) best.value = -best.value;
    return best;
}

Extreme signal_maximum(Signal x) {
    return extreme(x, KIND_MAXIMUM);
}

Extreme signal_minimum(Signal x) {
    return extreme(x, KIND_MINIMUM);
}

Extreme signal_peak(Signal x) {
    return extreme(x, KIND_PEAK);
}

/* ---- means ---- */

static double mean_of_piece(const double *v, unsigned size) {
    double series[PIECE_SIZE_LIMIT], sum = 0;
    if (size == 1) return v[0];
    if (size == 2) return 0.5 * (v[0] + v[1]);
    if (size == 3) return (v[0] + 4 * v[1] + v[2]) / 6;
    signal_coefficients(v, size, series);
    for (unsigned k = (size - 1) & ~1u; k >= 2; k -= 2) sum -= series[k] / ((double)k * k - 1);
    return sum + series[0];
}

/* Exact: the mean of T_i T_j is half of 1/(1 - (i+j)^2) + 1/(1 - (i-j)^2) when i + j is even, else 0. */
static double mean_square_of_piece(const double *v, unsigned size) {
    double c[PIECE_SIZE_LIMIT], share[2 * PIECE_SIZE_LIMIT], sum = 0;
    if (size == 1) return v[0] * v[0];
    if (size == 2) return (v[0] * v[0] + v[0] * v[1] + v[1] * v[1]) / 3;
    signal_coefficients(v, size, c);
    for (unsigned m = 0; m <= 2 * (size - 1); m += 2) share[m] = 0.5 / (1 - (double)m * m);
    for (unsigned i = 0; i < size; i++) {
        double row = 0;
        for (unsigned j = i & 1; j < i; j += 2) row += c[j] * (share[i + j] + share[i - j]);
        sum += c[i] * (2 * row + c[i] * (share[2 * i] + share[0]));
    }
    return sum;
}

static Extreme summed(Signal x, double (*of_piece)(const double *, unsigned)) {
    Extreme result = fault_of(x);
    if (result.fault != VOID_NONE) return result;
    double sum = 0, lost = 0; /* what rounding takes is carried along */
    for (uint32_t i = 0; i < x.count; i++) {
        const Piece *piece = &x.pieces[i];
        double part = of_piece(piece->values, piece->size) * (piece->end - piece->start) - lost, next = sum + part;
        lost = (next - sum) - part;
        sum = next;
    }
    result.value = sum;
    if (!isfinite(sum)) result = (Extreme){NAN, 0, 0, VOID_OVERFLOW};
    return result;
}

Extreme signal_integral(Signal x) {
    return summed(x, mean_of_piece);
}

Extreme signal_mean(Signal x) {
    Extreme result = summed(x, mean_of_piece);
    if (result.fault == VOID_NONE) result.value /= signal_duration(x);
    return result;
}

Extreme signal_rms(Signal x) {
    Extreme result = summed(x, mean_square_of_piece);
    if (result.fault == VOID_NONE) result.value = sqrt(fmax(result.value / signal_duration(x), 0));
    return result;
}

Extreme signal_share(Signal condition) {
    Extreme result = signal_mean(condition);
    if (result.fault == VOID_NONE) result.value = fmin(fmax(result.value, 0), 1);
    return result;
}
