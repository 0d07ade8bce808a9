/* Making signals, and looking inside them. */
#include "compute/signal_internal.h"

#include <math.h>
#include <string.h>

/* A duration nobody can compute with gives a void of one second rather than a signal without pieces. */
static bool sound_duration(double duration) {
    return duration > 0 && isfinite(duration);
}

static Signal one_piece(Arena *arena, double duration, const double *values, unsigned size) {
    if (!sound_duration(duration)) return signal_void(arena, 1, VOID_OVERFLOW);
    SignalBuilder builder = signal_builder(arena, duration, 1);
    signal_push(&builder, 0, duration, values, size, -1);
    return signal_finish(&builder);
}

Signal signal_constant(Arena *arena, double duration, double value) {
    return one_piece(arena, duration, &value, 1);
}

Signal signal_time(Arena *arena, double duration) {
    double values[2] = {0, duration};
    return one_piece(arena, duration, values, 2);
}

Signal signal_steps(Arena *arena, const double *times, const double *values, uint32_t count) {
    if (count == 0 || !sound_duration(times[count] - times[0])) return signal_void(arena, 1, VOID_OVERFLOW);
    SignalBuilder builder = signal_builder(arena, times[count], count);
    for (uint32_t i = 0; i < count; i++)
        if (times[i + 1] > times[i]) signal_push(&builder, times[i], times[i + 1], &values[i], 1, -1);
    return signal_finish(&builder);
}

Signal signal_copy(Arena *arena, Signal x) {
    if (x.count == 0) return x;
    Piece *pieces = arena_take_raw(arena, x.count * sizeof *pieces);
    for (uint32_t i = 0; i < x.count; i++) {
        pieces[i] = x.pieces[i];
        if (pieces[i].size == 0) continue;
        double *values = arena_take_raw(arena, pieces[i].size * sizeof *values);
        memcpy(values, x.pieces[i].values, pieces[i].size * sizeof *values);
        pieces[i].values = values;
    }
    return (Signal){x.count, pieces};
}

Signal signal_void(Arena *arena, double duration, SignalVoid reason) {
    Piece *piece = ARENA_NEW(arena, Piece);
    *piece = (Piece){0, sound_duration(duration) ? duration : 1, 0, (uint16_t)reason, NULL};
    return (Signal){1, piece};
}

Signal signal_chain(Arena *arena, const Signal *parts, const double *scale, const double *offset, const double *length,
                    uint32_t count) {
    double duration = 0, base = 0, values[PIECE_SIZE_LIMIT];
    uint32_t pieces = 0;
    for (uint32_t i = 0; i < count; i++) {
        duration += length[i];
        pieces += parts[i].count;
    }
    if (!sound_duration(duration)) return signal_void(arena, 1, VOID_OVERFLOW);
    SignalBuilder builder = signal_builder(arena, duration, pieces);
    for (uint32_t i = 0; i < count; i++) {
        double own = signal_duration(parts[i]), start = base, stop = base + length[i];
        for (uint32_t k = 0; k < parts[i].count; k++) {
            const Piece *piece = &parts[i].pieces[k];
            double end = k + 1 == parts[i].count ? stop : base + length[i] * (piece->end / own);
            if (!(end > start)) continue;
            for (unsigned j = 0; j < piece->size; j++) values[j] = scale[i] * piece->values[j] + offset[i];
            if (piece->size == 0)
                signal_push_void(&builder, start, end, (SignalVoid)piece->void_reason);
            else
                signal_push(&builder, start, end, values, piece->size, -1);
            start = end;
        }
        base = stop;
    }
    return signal_finish(&builder);
}

double signal_duration(Signal x) {
    return x.count ? x.pieces[x.count - 1].end : 0;
}

void signal_breaks(Signal x, double *times) {
    for (uint32_t i = 0; i < x.count; i++) times[i] = x.pieces[i].start;
    times[x.count] = signal_duration(x);
}

double piece_at(const Piece *piece, double time) {
    if (piece->size == 0) return NAN;
    double u = (time - piece->start) / (piece->end - piece->start);
    if (2 * u > 1) u = 1 - (piece->end - time) / (piece->end - piece->start);
    return signal_interpolate(piece->values, piece->size, u < 0 ? 0 : u > 1 ? 1 : u);
}

Extreme signal_at(Signal x, double time) {
    uint32_t low = 0, high = x.count; /* the piece is in [low, high) */
    if (x.count == 0 || isnan(time)) return (Extreme){NAN, time, 0, VOID_UNKNOWN};
    while (high - low > 1) {
        uint32_t middle = low + (high - low) / 2;
        if (x.pieces[middle].start <= time)
            low = middle;
        else
            high = middle;
    }
    const Piece *piece = &x.pieces[low];
    return (Extreme){piece_at(piece, time), time, low, (SignalVoid)piece->void_reason};
}
