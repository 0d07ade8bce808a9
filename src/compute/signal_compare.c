/* Comparing signals, and switching between them. Truth signals are pieces of 1 and 0; equal neighbours are joined. */
#include "compute/signal_internal.h"

#include <math.h>

static bool holds(SignalCompare comparison, int sign) {
    switch (comparison) {
    case SIGNAL_LESS: return sign < 0;
    case SIGNAL_AT_MOST: return sign <= 0;
    case SIGNAL_MORE: return sign > 0;
    case SIGNAL_AT_LEAST: return sign >= 0;
    case SIGNAL_EQUAL: return sign == 0;
    case SIGNAL_UNEQUAL: return sign != 0;
    }
    return false;
}

static void compare_part(SignalBuilder *builder, const SignalPair *pair, SignalCompare comparison, double band) {
    double a[PIECE_SIZE_LIMIT], b[PIECE_SIZE_LIMIT], length = pair->stop - pair->start, from = pair->start;
    unsigned size = pair->px->size > pair->py->size ? pair->px->size : pair->py->size;
    signal_resample(pair->px, pair->start, pair->stop, pair->near, size, a);
    signal_resample(pair->py, pair->start, pair->stop, pair->near, size, b);
    for (unsigned j = 0; j < size; j++) a[j] -= b[j];
    SignalSeries series;
    SignalCrossings cross;
    signal_series(&series, a, size);
    signal_cross(&series, 0, band, pair->near / length, &cross);
    for (uint32_t k = 0; k <= cross.count; k++) {
        double to = k < cross.count ? pair->start + length * cross.u[k] : pair->stop;
        signal_push_joined(builder, from, to, holds(comparison, signal_crossing_sign(&cross, k)) ? 1 : 0);
        from = to;
    }
}

Signal signal_compare(Arena *arena, SignalCompare comparison, Signal x, Signal y) {
    SignalPair pair = signal_pair(x, y);
    SignalBuilder builder = signal_builder(arena, pair.end, x.count + y.count);
    double band = SIGNAL_ZERO_BAND * fmax(signal_scale_of(x), signal_scale_of(y));
    while (!builder.full && signal_pair_next(&pair)) {
        SignalVoid fault = signal_pair_fault(&pair);
        if (fault != VOID_NONE)
            signal_push_void(&builder, pair.start, pair.stop, fault);
        else
            compare_part(&builder, &pair, comparison, band);
    }
    return signal_finish(&builder);
}

/* 1, 0, or -1 for void. A truth piece is a constant; its first value is the truth. */
static int truth_of(const Piece *piece) {
    return piece->size == 0 ? -1 : piece->values[0] >= 0.5;
}

/* `decisive` decides alone: 0 for and, 1 for or. */
static Signal combine(Arena *arena, Signal a, Signal b, int decisive) {
    SignalPair pair = signal_pair(a, b);
    SignalBuilder builder = signal_builder(arena, pair.end, a.count + b.count);
    while (!builder.full && signal_pair_next(&pair)) {
        int x = truth_of(pair.px), y = truth_of(pair.py);
        if (x == decisive || y == decisive)
            signal_push_joined(&builder, pair.start, pair.stop, decisive);
        else if (x < 0 || y < 0)
            signal_push_void(&builder, pair.start, pair.stop, signal_pair_fault(&pair));
        else
            signal_push_joined(&builder, pair.start, pair.stop, !decisive);
    }
    return signal_finish(&builder);
}

Signal signal_and(Arena *arena, Signal a, Signal b) {
    return combine(arena, a, b, 0);
}

Signal signal_or(Arena *arena, Signal a, Signal b) {
    return combine(arena, a, b, 1);
}

Signal signal_not(Arena *arena, Signal a) {
    SignalBuilder builder = signal_builder(arena, signal_duration(a), a.count);
    for (uint32_t i = 0; i < a.count; i++) {
        const Piece *piece = &a.pieces[i];
        int truth = truth_of(piece);
        if (truth < 0)
            signal_push_void(&builder, piece->start, piece->end, (SignalVoid)piece->void_reason);
        else
            signal_push_joined(&builder, piece->start, piece->end, !truth);
    }
    return signal_finish(&builder);
}

/* Pushes x over [start, end]; *i is the piece where the search begins, and moves on with it. */
static void push_range(SignalBuilder *builder, Signal x, uint32_t *i, double start, double end) {
    double at = start;
    while (*i + 1 < x.count && x.pieces[*i].end <= start + builder->near) ++*i;
    for (uint32_t k = *i; k < x.count && end - at > builder->near; k++) {
        const Piece *piece = &x.pieces[k];
        double stop = k + 1 == x.count || piece->end > end - builder->near ? end : piece->end;
        if (stop - at <= builder->near) continue;
        signal_push_part(builder, at, stop, piece);
        at = stop;
    }
}

Signal signal_choose(Arena *arena, Signal condition, Signal yes, Signal no) {
    uint32_t at_yes = 0, at_no = 0;
    SignalBuilder builder = signal_builder(arena, signal_duration(condition), condition.count + yes.count + no.count);
    for (uint32_t i = 0, next; i < condition.count && !builder.full; i = next) {
        const Piece *piece = &condition.pieces[i];
        int truth = truth_of(piece);
        for (next = i + 1; next < condition.count && truth >= 0 && truth_of(&condition.pieces[next]) == truth;) next++;
        double end = condition.pieces[next - 1].end;
        if (truth < 0)
            signal_push_void(&builder, piece->start, end, (SignalVoid)piece->void_reason);
        else if (truth)
            push_range(&builder, yes, &at_yes, piece->start, end);
        else
            push_range(&builder, no, &at_no, piece->start, end);
    }
    return signal_finish(&builder);
}
