/* Operations on two signals. Sums and products of polynomials are polynomials, so their size is known beforehand. */
#include "compute/signal_internal.h"

#include <math.h>

Signal signal_scale(Arena *arena, Signal x, double factor, double offset) {
    double values[PIECE_SIZE_LIMIT];
    SignalBuilder builder = signal_builder(arena, signal_duration(x), x.count);
    for (uint32_t i = 0; i < x.count; i++) {
        const Piece *piece = &x.pieces[i];
        if (piece->size == 0) {
            signal_push_void(&builder, piece->start, piece->end, (SignalVoid)piece->void_reason);
            continue;
        }
        for (unsigned j = 0; j < piece->size; j++) values[j] = piece->values[j] * factor + offset;
        signal_push(&builder, piece->start, piece->end, values, factor == 0 ? 1 : piece->size, -1);
    }
    return signal_finish(&builder);
}

/* x + sign y, over the present interval. */
static void add_part(SignalBuilder *builder, const SignalPair *pair, double sign) {
    double a[PIECE_SIZE_LIMIT], b[PIECE_SIZE_LIMIT];
    unsigned size = pair->px->size > pair->py->size ? pair->px->size : pair->py->size;
    signal_resample(pair->px, pair->start, pair->stop, pair->near, size, a);
    signal_resample(pair->py, pair->start, pair->stop, pair->near, size, b);
    double scale = 0, largest = 0;
    for (unsigned j = 0; j < size; j++) {
        if (fabs(a[j]) > scale) scale = fabs(a[j]);
        if (fabs(b[j]) > scale) scale = fabs(b[j]);
        a[j] += sign * b[j];
        if (fabs(a[j]) > largest) largest = fabs(a[j]);
    }
    if (size > 1 && largest <= 4 * SIGNAL_EPSILON * scale) { /* nothing but rounding error is left */
        a[0] = 0;
        size = 1;
    }
    signal_push(builder, pair->start, pair->stop, a, size, 2 * SIGNAL_EPSILON * scale);
}

static SignalVoid multiply_sample(void *context, double x, double y, double *result) {
    (void)context;
    *result = x * y;
    return VOID_NONE;
}

static void multiply_part(SignalBuilder *builder, const SignalPair *pair) {
    double a[PIECE_SIZE_LIMIT], b[PIECE_SIZE_LIMIT];
    unsigned points = pair->px->size + pair->py->size - 1u;
    double scale_x = signal_magnitude(pair->px->values, pair->px->size);
    double scale_y = signal_magnitude(pair->py->values, pair->py->size);
    if (points > PIECE_SIZE_LIMIT) {
        SignalSampler sampler = {multiply_sample, NULL, scale_x, scale_y};
        signal_adapt(builder, &sampler, pair->start, pair->stop, pair->px, pair->py);
        return;
    }
    unsigned size = signal_ladder(points);
    signal_resample(pair->px, pair->start, pair->stop, pair->near, size, a);
    signal_resample(pair->py, pair->start, pair->stop, pair->near, size, b);
    for (unsigned j = 0; j < size; j++) a[j] *= b[j];
    signal_push(builder, pair->start, pair->stop, a, size, SIGNAL_EPSILON * scale_x * scale_y);
}

static void difference(const SignalPair *pair, SignalSeries *series) {
    double a[PIECE_SIZE_LIMIT], b[PIECE_SIZE_LIMIT];
    unsigned size = pair->px->size > pair->py->size ? pair->px->size : pair->py->size;
    signal_resample(pair->px, pair->start, pair->stop, pair->near, size, a);
    signal_resample(pair->py, pair->start, pair->stop, pair->near, size, b);
    for (unsigned j = 0; j < size; j++) a[j] -= b[j];
    signal_series(series, a, size);
}

/* The lesser (sign -1) or the greater (+1) of the two. */
static void select_part(SignalBuilder *builder, const SignalPair *pair, double band, int greater) {
    SignalSeries series;
    SignalCrossings cross;
    double length = pair->stop - pair->start;
    difference(pair, &series);
    signal_cross(&series, 0, band, pair->near / length, &cross);
    double start = pair->start;
    for (uint32_t k = 0; k <= cross.count; k++) {
        double stop = k < cross.count ? pair->start + length * cross.u[k] : pair->stop;
        signal_push_part(builder, start, stop, signal_crossing_sign(&cross, k) * greater >= 0 ? pair->px : pair->py);
        start = stop;
    }
}

Signal signal_binary(Arena *arena, SignalBinary operation, Signal x, Signal y) {
    SignalPair pair = signal_pair(x, y);
    SignalBuilder builder = signal_builder(arena, pair.end, x.count + y.count);
    double band_x = 0, band_y = 0;
    if (operation > SIGNAL_MULTIPLY) {
        band_x = SIGNAL_ZERO_BAND * signal_scale_of(x);
        band_y = SIGNAL_ZERO_BAND * signal_scale_of(y);
    }
    while (!builder.full && signal_pair_next(&pair)) {
        SignalVoid fault = signal_pair_fault(&pair);
        if (fault != VOID_NONE) {
            signal_push_void(&builder, pair.start, pair.stop, fault);
            continue;
        }
        switch (operation) {
        case SIGNAL_ADD: add_part(&builder, &pair, 1); break;
        case SIGNAL_SUBTRACT: add_part(&builder, &pair, -1); break;
        case SIGNAL_MULTIPLY: multiply_part(&builder, &pair); break;
        case SIGNAL_DIVIDE: signal_divide_part(&builder, pair.start, pair.stop, pair.px, pair.py, band_y); break;
        case SIGNAL_POWER: signal_power_part(&builder, pair.start, pair.stop, pair.px, pair.py, band_x); break;
        case SIGNAL_ATAN2: signal_atan2_part(&builder, pair.start, pair.stop, pair.px, pair.py, band_x, band_y); break;
        case SIGNAL_LESSER: select_part(&builder, &pair, fmax(band_x, band_y), -1); break;
        case SIGNAL_GREATER: select_part(&builder, &pair, fmax(band_x, band_y), 1); break;
        }
    }
    return signal_finish(&builder);
}
