/* Rate and running integral, piece by piece in the series. */
#include "compute/signal_internal.h"

#include <math.h>

Signal signal_rate(Arena *arena, Signal x) {
    double series[PIECE_SIZE_LIMIT], slope[PIECE_SIZE_LIMIT], values[PIECE_SIZE_LIMIT];
    SignalBuilder builder = signal_builder(arena, signal_duration(x), x.count);
    for (uint32_t i = 0; i < x.count; i++) {
        const Piece *piece = &x.pieces[i];
        unsigned size = piece->size;
        double length = piece->end - piece->start;
        if (size == 0) {
            signal_push_void(&builder, piece->start, piece->end, (SignalVoid)piece->void_reason);
            continue;
        }
        if (size <= 2) {
            values[0] = size == 2 ? (piece->values[1] - piece->values[0]) / length : 0;
            signal_push(&builder, piece->start, piece->end, values, 1, -1);
            continue;
        }
        signal_coefficients(piece->values, size, series);
        signal_derivative(series, size, slope);
        for (unsigned k = 0; k < size; k++) slope[k] /= length;
        signal_values(slope, size, values);
        signal_push(&builder, piece->start, piece->end, values, size, 4 * SIGNAL_EPSILON * signal_magnitude(values, size));
    }
    return signal_finish(&builder);
}

/* The integral over u of the series, 0 at the start: one coefficient more. */
static void integrate(const double *series, unsigned size, double *integral) {
    double at_start = 0;
    for (unsigned k = 1; k <= size; k++) {
        double before = series[k - 1] * (k == 1 ? 2 : 1), after = k + 1 < size ? series[k + 1] : 0;
        integral[k] = -0.25 * (before - after) / k;
        at_start += integral[k];
    }
    integral[0] = -at_start;
}

/* Pushes `base` plus the integral over the piece from `start` to `end`, and returns its value at `end`. */
static double accumulate_part(SignalBuilder *builder, const Piece *piece, double start, double end, double base, int depth) {
    double values[PIECE_SIZE_LIMIT], series[PIECE_SIZE_LIMIT], integral[PIECE_SIZE_LIMIT + 1];
    double length = end - start;
    unsigned size = piece->size;
    signal_resample(piece, start, end, builder->near, size, values);
    if (size == 1) {
        double line[2] = {base, base + values[0] * length};
        signal_push(builder, start, end, line, values[0] == 0 ? 1 : 2, -1);
        return line[1];
    }
    signal_coefficients(values, size, series);
    integrate(series, size, integral);
    bool may_halve = size == PIECE_SIZE_LIMIT && depth < 6 && length > SIGNAL_SHORTEST * builder->duration;
    if (may_halve && fabs(integral[size]) > 1e-15 * signal_magnitude(values, size)) {
        double middle = start + 0.5 * length;
        base = accumulate_part(builder, piece, start, middle, base, depth + 1);
        return accumulate_part(builder, piece, middle, end, base, depth + 1);
    }
    unsigned room = signal_ladder(size + 1);
    double whole[PIECE_SIZE_LIMIT] = {0}, total = 0;
    for (unsigned k = 0; k < room && k <= size; k++) whole[k] = integral[k] * length;
    for (unsigned k = 1; k <= size; k += 2) total -= 2 * length * integral[k];
    whole[0] += base;
    signal_values(whole, room, values);
    values[0] = base;
    values[room - 1] = base + total;
    signal_push(builder, start, end, values, room, SIGNAL_EPSILON * signal_magnitude(values, room));
    return base + total;
}

Signal signal_accumulate(Arena *arena, Signal x) {
    double base = 0;
    SignalBuilder builder = signal_builder(arena, signal_duration(x), x.count);
    SignalVoid lost = VOID_NONE; /* after a void the integral is not known any more */
    for (uint32_t i = 0; i < x.count && !builder.full; i++) {
        const Piece *piece = &x.pieces[i];
        if (piece->size == 0 && lost == VOID_NONE) lost = (SignalVoid)piece->void_reason;
        if (lost != VOID_NONE)
            signal_push_void(&builder, piece->start, piece->end, lost);
        else
            base = accumulate_part(&builder, piece, piece->start, piece->end, base, 0);
    }
    return signal_finish(&builder);
}
