/* Functions of one signal. Where a function has a kink, a jump or the end of its domain, the piece is cut there first. */
#include "compute/signal_internal.h"

#include <math.h>
#include <stdlib.h>

#define HALF_TURN 3.14159265358979323846

/* ---- cutting a piece where it crosses levels ---- */

typedef struct Cuts {
    Arena *arena;
    double *u;
    uint32_t count, room;
} Cuts;

static int compare_doubles(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

static void add_cut(Cuts *cuts, double u) {
    if (cuts->count == cuts->room) {
        uint32_t room = cuts->room ? 2 * cuts->room : 16;
        cuts->u = arena_grow(cuts->arena, cuts->u, cuts->room * sizeof *cuts->u, room * sizeof *cuts->u);
        cuts->room = room;
    }
    cuts->u[cuts->count++] = u;
}

/* `touches`: also where the level is only touched. */
static void cut_at(Cuts *cuts, SignalSeries *series, double level, double band, double margin, bool touches) {
    SignalCrossings cross;
    signal_cross(series, level, band, margin, &cross);
    for (uint32_t k = 0; k < cross.count; k++) add_cut(cuts, cross.u[k]);
    for (uint32_t k = 0; k < cross.touches && touches; k++) add_cut(cuts, cross.touch[k]);
}

/* Range that the piece can't leave. */
static void bound(const SignalSeries *series, double *low, double *high) {
    *low = *high = series->value[0];
    for (unsigned j = 1; j < series->size; j++) {
        *low = fmin(*low, series->value[j]);
        *high = fmax(*high, series->value[j]);
    }
    if (series->size == 3) { /* a parabola overshoots its points by an eighth at most */
        double over = 0.25 * fabs(series->value[0] - 2 * series->value[1] + series->value[2]);
        *low -= over;
        *high += over;
    } else if (series->size > 3) {
        *low = fmax(*low - series->bend, series->coefficient[0] - series->swing);
        *high = fmin(*high + series->bend, series->coefficient[0] + series->swing);
    }
}

/* Sorts the cuts, and drops those that coincide. */
static void sort_cuts(Cuts *cuts, double margin) {
    uint32_t kept = 0;
    if (cuts->count > 1) qsort(cuts->u, cuts->count, sizeof *cuts->u, compare_doubles);
    for (uint32_t k = 0; k < cuts->count; k++)
        if (kept == 0 || cuts->u[k] - cuts->u[kept - 1] > margin) cuts->u[kept++] = cuts->u[k];
    cuts->count = kept;
}

static double cut_time(const Piece *piece, const Cuts *cuts, uint32_t k) {
    return k < cuts->count ? piece->start + (piece->end - piece->start) * cuts->u[k] : piece->end;
}

/* A value typical of what lies between two cuts: of three places, because one may be where a level is only touched. */
static double value_between(const Piece *piece, double from, double to) {
    double a = piece_at(piece, from + 0.31 * (to - from)), b = piece_at(piece, from + 0.5 * (to - from));
    double c = piece_at(piece, from + 0.73 * (to - from));
    return fmax(fmin(a, b), fmin(fmax(a, b), c));
}

/* ---- functions with a domain ---- */

typedef struct UnaryContext {
    SignalUnary operation;
    double band;
} UnaryContext;

static SignalVoid unary_sample(void *context, double x, double y, double *result) {
    const UnaryContext *unary = context;
    (void)y;
    switch (unary->operation) {
    case SIGNAL_SQRT:
        if (x < -unary->band) return VOID_DOMAIN;
        *result = x > 0 ? sqrt(x) : 0;
        break;
    case SIGNAL_CBRT: *result = cbrt(x); break;
    case SIGNAL_EXP: *result = exp(x); break;
    case SIGNAL_LN:
        if (x <= unary->band) return VOID_DOMAIN;
        *result = log(x);
        break;
    case SIGNAL_SIN: *result = sin(x); break;
    case SIGNAL_COS: *result = cos(x); break;
    case SIGNAL_TAN:
        if (fabs(cos(x)) <= SIGNAL_ZERO_BAND * fmax(1, fabs(x))) return VOID_DIVISION;
        *result = tan(x);
        break;
    case SIGNAL_ASIN:
    case SIGNAL_ACOS:
        if (fabs(x) > 1 + SIGNAL_ZERO_BAND) return VOID_DOMAIN;
        if (fabs(x) > 1 - 8 * SIGNAL_EPSILON) x = copysign(1, x); /* the slope there would make much of a rounding error */
        *result = unary->operation == SIGNAL_ASIN ? asin(x) : acos(x);
        break;
    case SIGNAL_ATAN: *result = atan(x); break;
    default: return VOID_UNKNOWN;
    }
    return VOID_NONE;
}

static void cut_domain(Cuts *cuts, SignalSeries *series, SignalUnary operation, double band, double margin) {
    double low, high;
    switch (operation) {
    case SIGNAL_SQRT:
    case SIGNAL_CBRT:
    case SIGNAL_LN: cut_at(cuts, series, 0, band, margin, true); break;
    case SIGNAL_ASIN:
    case SIGNAL_ACOS:
        cut_at(cuts, series, 1, SIGNAL_ZERO_BAND, margin, true);
        cut_at(cuts, series, -1, SIGNAL_ZERO_BAND, margin, true);
        break;
    case SIGNAL_TAN:
        bound(series, &low, &high);
        if (high - low > HALF_TURN * SIGNAL_PIECE_LIMIT) break; /* sampling will find it too long as well */
        for (double k = ceil(low / HALF_TURN - 0.5); (k + 0.5) * HALF_TURN <= high; k++)
            cut_at(cuts, series, (k + 0.5) * HALF_TURN, band, margin, true);
        break;
    default: break;
    }
}

static void smooth_piece(SignalBuilder *builder, const Piece *piece, SignalUnary operation, double band) {
    Cuts cuts = {.arena = builder->arena};
    double margin = builder->near / (piece->end - piece->start);
    UnaryContext context = {operation, band};
    SignalSampler sampler = {unary_sample, &context, signal_magnitude(piece->values, piece->size), 1};
    bool everywhere = operation == SIGNAL_EXP || operation == SIGNAL_SIN || operation == SIGNAL_COS || operation == SIGNAL_ATAN;
    if (piece->size > 1 && !everywhere) {
        SignalSeries series;
        signal_series(&series, piece->values, piece->size);
        cut_domain(&cuts, &series, operation, band, margin);
        sort_cuts(&cuts, margin);
    }
    double from = piece->start;
    for (uint32_t k = 0; k <= cuts.count && !builder->full; k++) {
        double to = cut_time(piece, &cuts, k);
        signal_adapt(builder, &sampler, from, to, piece, NULL);
        from = to;
    }
}

/* ---- magnitude, sign, steps ---- */

static void sign_piece(SignalBuilder *builder, const Piece *piece, bool magnitude, double band) {
    SignalSeries series;
    SignalCrossings cross;
    double length = piece->end - piece->start, from = piece->start, values[PIECE_SIZE_LIMIT];
    signal_series(&series, piece->values, piece->size);
    signal_cross(&series, 0, band, builder->near / length, &cross);
    for (uint32_t k = 0; k <= cross.count; k++) {
        double to = k < cross.count ? piece->start + length * cross.u[k] : piece->end;
        int sign = signal_crossing_sign(&cross, k);
        if (!magnitude) {
            signal_push_joined(builder, from, to, sign);
        } else if (sign > 0) {
            signal_push_part(builder, from, to, piece);
        } else if (sign == 0 && piece->size == 1) {
            double value = fabs(piece->values[0]);
            signal_push(builder, from, to, &value, 1, -1);
        } else {
            signal_resample(piece, from, to, builder->near, piece->size, values);
            double tolerance = cross.count && piece->size > 2 ? 2 * SIGNAL_EPSILON * signal_magnitude(values, piece->size) : -1;
            for (unsigned j = 0; j < piece->size; j++) values[j] = sign == 0 ? 0 : -values[j];
            signal_push(builder, from, to, values, piece->size, sign == 0 ? 0 : tolerance);
        }
        from = to;
    }
}

/* Numbers a rounding error below a whole number count as whole. */
static double step_of(SignalUnary operation, double x) {
    double slack = SIGNAL_ZERO_BAND * fmax(1, fabs(x)), nearest = round(x);
    if (operation == SIGNAL_ROUND) return fabs(fabs(x - trunc(x)) - 0.5) <= slack ? round(x + copysign(slack, x)) : nearest;
    if (fabs(x - nearest) <= slack) return nearest;
    return operation == SIGNAL_FLOOR ? floor(x) : ceil(x);
}

static void step_piece(SignalBuilder *builder, const Piece *piece, SignalUnary operation, double band) {
    SignalSeries series;
    double low, high, shift = operation == SIGNAL_ROUND ? 0.5 : 0, from = piece->start;
    double margin = builder->near / (piece->end - piece->start);
    Cuts cuts = {.arena = builder->arena};
    signal_series(&series, piece->values, piece->size);
    bound(&series, &low, &high);
    if (!(high - low < SIGNAL_PIECE_LIMIT)) {
        builder->full = true;
        return;
    }
    if (piece->size > 1)
        for (double level = ceil(low - shift); level + shift <= high; level++) {
            cut_at(&cuts, &series, level + shift, band, margin, false);
            if (cuts.count > SIGNAL_PIECE_LIMIT) builder->full = true;
            if (builder->full) return;
        }
    sort_cuts(&cuts, margin);
    for (uint32_t k = 0; k <= cuts.count; k++) {
        double to = cut_time(piece, &cuts, k);
        signal_push_joined(builder, from, to, step_of(operation, value_between(piece, from, to)));
        from = to;
    }
}

Signal signal_unary(Arena *arena, SignalUnary operation, Signal x) {
    if (operation == SIGNAL_NEGATE) return signal_scale(arena, x, -1, 0);
    SignalBuilder builder = signal_builder(arena, signal_duration(x), x.count);
    double band = SIGNAL_ZERO_BAND * signal_scale_of(x);
    for (uint32_t i = 0; i < x.count && !builder.full; i++) {
        const Piece *piece = &x.pieces[i];
        if (piece->size == 0) {
            signal_push_void(&builder, piece->start, piece->end, (SignalVoid)piece->void_reason);
            continue;
        }
        switch (operation) {
        case SIGNAL_ABS:
        case SIGNAL_SIGN: sign_piece(&builder, piece, operation == SIGNAL_ABS, band); break;
        case SIGNAL_FLOOR:
        case SIGNAL_ROUND:
        case SIGNAL_CEILING: step_piece(&builder, piece, operation, band); break;
        default: smooth_piece(&builder, piece, operation, band); break;
        }
    }
    return signal_finish(&builder);
}

/* ---- any function ---- */

typedef struct MapContext {
    SignalFunction *function;
    void *context;
    double low, high;   /* between these breaks: a value on a break is kept on this side of it */
} MapContext;

static SignalVoid map_sample(void *context, double x, double y, double *result) {
    const MapContext *map = context;
    (void)y;
    return map->function(map->context, fmin(fmax(x, map->low), map->high), result);
}

static void map_piece(SignalBuilder *builder, const Piece *piece, MapContext *map, const double *breaks, uint32_t break_count,
                      double band) {
    double low, high, margin = builder->near / (piece->end - piece->start), from = piece->start;
    Cuts cuts = {.arena = builder->arena};
    SignalSampler sampler = {map_sample, map, signal_magnitude(piece->values, piece->size), 1};
    if (piece->size > 1 && break_count) {
        SignalSeries series;
        signal_series(&series, piece->values, piece->size);
        bound(&series, &low, &high);
        for (uint32_t i = 0; i < break_count; i++)
            if (breaks[i] >= low && breaks[i] <= high)
                cut_at(&cuts, &series, breaks[i], fmax(band, SIGNAL_ZERO_BAND * fabs(breaks[i])), margin, false);
        sort_cuts(&cuts, margin);
    }
    for (uint32_t k = 0; k <= cuts.count && !builder->full; k++) {
        double to = cut_time(piece, &cuts, k), typical = value_between(piece, from, to);
        map->low = -INFINITY;
        map->high = INFINITY;
        for (uint32_t i = 0; i < break_count && piece->size > 1; i++) {
            if (breaks[i] <= typical) map->low = breaks[i];
            if (breaks[i] > typical && breaks[i] < map->high) map->high = breaks[i];
        }
        signal_adapt(builder, &sampler, from, to, piece, NULL);
        from = to;
    }
}

Signal signal_map(Arena *arena, Signal x, SignalFunction *function, void *context, const double *breaks, uint32_t break_count) {
    SignalBuilder builder = signal_builder(arena, signal_duration(x), x.count);
    MapContext map = {function, context, -INFINITY, INFINITY};
    double band = SIGNAL_ZERO_BAND * signal_scale_of(x);
    for (uint32_t i = 0; i < x.count && !builder.full; i++) {
        const Piece *piece = &x.pieces[i];
        if (piece->size == 0)
            signal_push_void(&builder, piece->start, piece->end, (SignalVoid)piece->void_reason);
        else
            map_piece(&builder, piece, &map, breaks, break_count, band);
    }
    return signal_finish(&builder);
}
