/* Pieces: sizes, transforms between values and series, restriction; growing a signal; two signals side by side. */
#include "compute/signal_internal.h"

#include <math.h>
#include <string.h>

unsigned signal_ladder(unsigned points) {
    unsigned size = 1;
    if (points <= 1) return 1;
    for (size = 2; size < points && size < PIECE_SIZE_LIMIT; size = 2 * size - 1) {
    }
    return size;
}

/* So many sums side by side, in vectors as wide as the processor has. Each is added up in the same order everywhere. */
enum { PLACES = 8 };

#if defined(__x86_64__) && defined(__GLIBC__)
#define FOR_WIDE_PROCESSORS __attribute__((target_clones("avx2", "default")))
#else
#define FOR_WIDE_PROCESSORS
#endif

/* out[(2k + 1) stride] = sum over j < count of odd[j] cos(pi j (2k + 1) / n), for k < half = n / 2, a multiple of four. */
FOR_WIDE_PROCESSORS
static void odd_sums(const double *odd, unsigned count, unsigned half, double *out, unsigned stride) {
    unsigned step = 32 / half;
    for (unsigned first = 0; first < half; first += PLACES) {
        double sums[PLACES];
        for (unsigned p = 0; p < PLACES; p++) sums[p] = 0;
        for (unsigned j = 0; j < count; j++) {
            const double *cosines = &signal_odd_cosines[j * step][first];
            for (unsigned p = 0; p < PLACES; p++) sums[p] += odd[j] * cosines[p];
        }
        for (unsigned k = 0; k < PLACES && first + k < half; k++) out[(2 * (first + k) + 1) * stride] = sums[k];
    }
}

/* Even k see only the sums of mirrored values, odd k only the differences; the sums are a transform of half the size. */
void signal_transform(const double *in, unsigned size, double *out) {
    double even[PIECE_SIZE_LIMIT], odd[PIECE_SIZE_LIMIT / 2 + 1];
    unsigned n = size - 1, stride = 1;
    memcpy(even, in, size * sizeof *in);
    for (; n > 4; n /= 2, stride *= 2) {
        unsigned half = n / 2;
        for (unsigned j = 0; j < half; j++) {
            odd[j] = even[j] - even[n - j];
            even[j] += even[n - j];
        }
        odd[0] *= 0.5;
        even[half] *= 2;
        odd_sums(odd, half, half, out, stride);
    }
    if (n == 4) {
        double odd_0 = 0.5 * (even[0] - even[4]), odd_1 = signal_cosines[16] * (even[1] - even[3]);
        out[stride] = odd_0 + odd_1;
        out[3 * stride] = odd_0 - odd_1;
        even[0] += even[4];
        even[1] += even[3];
        even[2] *= 2;
        n = 2;
        stride *= 2;
    }
    if (n == 2) {
        out[stride] = 0.5 * (even[0] - even[2]);
        even[0] += even[2];
        even[1] *= 2;
        stride *= 2;
    }
    out[0] = 0.5 * (even[0] + even[1]);
    out[stride] = 0.5 * (even[0] - even[1]);
}

void signal_coefficients(const double *values, unsigned size, double *coefficients) {
    if (size == 1) {
        coefficients[0] = values[0];
        return;
    }
    signal_transform(values, size, coefficients);
    double scale = 2.0 / (size - 1);
    for (unsigned k = 0; k < size; k++) coefficients[k] *= scale;
    coefficients[0] *= 0.5;
    coefficients[size - 1] *= 0.5;
}

void signal_values(const double *coefficients, unsigned size, double *values) {
    double doubled[PIECE_SIZE_LIMIT];
    if (size == 1) {
        values[0] = coefficients[0];
        return;
    }
    memcpy(doubled, coefficients, size * sizeof *doubled);
    doubled[0] *= 2;
    doubled[size - 1] *= 2;
    signal_transform(doubled, size, values);
}

void signal_derivative(const double *coefficients, unsigned size, double *derivative) {
    double after = 0, later = 0; /* d_(k), d_(k+1) of the derivative over xi, k falling */
    derivative[size - 1] = 0;
    for (unsigned k = size - 1; k >= 1; k--) {
        double d = later + 2.0 * k * coefficients[k];
        later = after;
        after = d;
        derivative[k - 1] = -2 * (k == 1 ? 0.5 * d : d);
    }
}

double signal_sum_series(const double *coefficients, unsigned size, double xi) {
    double b1 = 0, b2 = 0;
    for (unsigned k = size - 1; k >= 1; k--) {
        double b = 2 * xi * b1 - b2 + coefficients[k];
        b2 = b1;
        b1 = b;
    }
    return xi * b1 - b2 + coefficients[0];
}

static double quadratic_at(const double *values, double u) {
    double slope = 4 * values[1] - 3 * values[0] - values[2], bend = 2 * values[0] - 4 * values[1] + 2 * values[2];
    if (u > 0.5) {
        double back = 1 - u, slope_back = 4 * values[1] - 3 * values[2] - values[0];
        return values[2] + back * (slope_back + back * bend);
    }
    return values[0] + u * (slope + u * bend);
}

double signal_interpolate(const double *values, unsigned size, double u) {
    if (size == 1) return values[0];
    if (size == 2) return u > 0.5 ? values[1] + (1 - u) * (values[0] - values[1]) : values[0] + u * (values[1] - values[0]);
    if (size == 3) return quadratic_at(values, u);
    unsigned stride = 64 / (size - 1);
    double above = 0, below = 0, weight = 0.5;
    for (unsigned j = 0; j < size; j++) {
        double distance = u - signal_points[j * stride];
        if (distance == 0) return values[j];
        if (j == size - 1) weight *= 0.5;
        double share = weight / distance;
        above += share * values[j];
        below += share;
        weight = j == 0 ? -2 * weight : -weight;
    }
    return above / below;
}

/* A place on a point makes its sums infinite, and is then looked at by itself. */
FOR_WIDE_PROCESSORS
static void interpolate_some(const double *values, unsigned size, const double *u, double *out) {
    double above[PLACES] = {0}, below[PLACES] = {0}, weight = 0.5;
    unsigned stride = 64 / (size - 1);
    for (unsigned j = 0; j < size; j++) {
        if (j == size - 1) weight *= 0.5;
        double point = signal_points[j * stride], value = values[j];
        for (unsigned p = 0; p < PLACES; p++) {
            double share = weight / (u[p] - point);
            above[p] += share * value;
            below[p] += share;
        }
        weight = j == 0 ? -2 * weight : -weight;
    }
    for (unsigned p = 0; p < PLACES; p++) out[p] = isfinite(below[p]) ? above[p] / below[p] : signal_interpolate(values, size, u[p]);
}

void signal_interpolate_all(const double *values, unsigned size, const double *u, unsigned count, double *out) {
    unsigned done = 0;
    if (size > 3) {
        for (; done + PLACES <= count; done += PLACES) interpolate_some(values, size, &u[done], &out[done]);
    }
    for (; done < count; done++) out[done] = signal_interpolate(values, size, u[done]);
}

double signal_magnitude(const double *values, unsigned size) {
    double largest = 0;
    for (unsigned j = 0; j < size; j++) {
        double magnitude = fabs(values[j]);
        if (magnitude > largest) largest = magnitude;
    }
    return largest;
}

double signal_scale_of(Signal x) {
    double largest = 0;
    for (uint32_t i = 0; i < x.count; i++) {
        double magnitude = signal_magnitude(x.pieces[i].values, x.pieces[i].size);
        if (magnitude > largest) largest = magnitude;
    }
    return largest;
}

/* One coefficient of the series, 0 < k < size - 1. */
static double coefficient(const double *values, unsigned size, unsigned k) {
    unsigned n = size - 1, step = 64 / n;
    double sum = 0.5 * (values[0] + (k % 2 ? -values[n] : values[n]));
    for (unsigned j = 1; j < n; j++) sum += values[j] * signal_cosines[j * k * step % 128];
    return 2 * sum / n;
}

unsigned signal_fit(const double *values, unsigned size, double tolerance) {
    if (size > 3) {
        unsigned n = size - 1, step = 64 / n;
        double last = 0.5 * (values[0] + values[n]), before = 0.5 * (values[0] - values[n]);
        for (unsigned j = 1; j < n; j++) {
            double value = j % 2 ? -values[j] : values[j];
            last += value;
            before += value * signal_cosines[j * step];
        }
        if (!(fabs(last) <= tolerance * n && fabs(before) <= 0.5 * tolerance * n)) return size;
        /* A smaller size needs all of the upper half to be nought; the largest of it most often begin it. */
        for (unsigned k = n / 2 + 1; n > 4 && k <= n / 2 + 2; k++) {
            if (fabs(coefficient(values, size, k)) > tolerance) return size;
        }
        double coefficients[PIECE_SIZE_LIMIT];
        signal_coefficients(values, size, coefficients);
        unsigned points = size;
        while (points > 1 && fabs(coefficients[points - 1]) <= tolerance) points--;
        return signal_ladder(points);
    }
    if (size == 3) {
        if (!(fabs(values[0] - 2 * values[1] + values[2]) <= 4 * tolerance)) return 3;
        return fabs(values[0] - values[2]) <= tolerance ? 1 : 2;
    }
    return size == 2 && fabs(values[0] - values[1]) <= tolerance ? 1 : size;
}

double signal_point(double start, double end, unsigned size, unsigned j) {
    if (size == 1) return start + 0.5 * (end - start);
    unsigned stride = 64 / (size - 1);
    if (2 * j < size) return start + (end - start) * signal_points[j * stride];
    return end - (end - start) * signal_points[64 - j * stride];
}

/* Picks every so-many-th value: the points of smaller sizes are among those of larger ones. */
static void subsample(const double *values, unsigned size, unsigned smaller, double *out) {
    if (smaller == 1) {
        out[0] = size == 1 ? values[0] : size == 2 ? 0.5 * (values[0] + values[1]) : values[(size - 1) / 2];
        return;
    }
    if (smaller == size) {
        memcpy(out, values, size * sizeof *out);
        return;
    }
    unsigned stride = (size - 1) / (smaller - 1);
    for (unsigned j = 0; j < smaller; j++) out[j] = values[j * stride];
}

static double within_piece(double u) { return u < 0 ? 0 : u > 1 ? 1 : u; }

/* The same polynomial at the points of a larger size. */
static void refine(const double *values, unsigned held, unsigned size, double *out) {
    double series[PIECE_SIZE_LIMIT];
    unsigned stride = (size - 1) / (held - 1);
    if (held >= 5) {
        signal_coefficients(values, held, series);
        for (unsigned half = held - 1; half < size - 1; half *= 2) { /* the last term is nought at the first half's places */
            odd_sums(series, held < half ? held : half, half, out, (size - 1) / (2 * half));
        }
    } else {
        for (unsigned j = 0; j < size; j++) out[j] = signal_interpolate(values, held, signal_points[j * (64 / (size - 1))]);
    }
    for (unsigned j = 0; j < held; j++) out[j * stride] = values[j];
}

void signal_resample(const Piece *piece, double start, double end, double near, unsigned size, double *out) {
    unsigned held = piece->size;
    if (held == 1) {
        for (unsigned j = 0; j < size; j++) out[j] = piece->values[0];
        return;
    }
    bool from_start = fabs(start - piece->start) <= near, to_end = fabs(end - piece->end) <= near;
    if (from_start && to_end) {
        if (size <= held) subsample(piece->values, held, size, out);
        else refine(piece->values, held, size, out);
        return;
    }
    double length = piece->end - piece->start, u[PIECE_SIZE_LIMIT], part[PIECE_SIZE_LIMIT];
    double low = from_start ? 0 : (start - piece->start) / length, high = to_end ? 1 : (end - piece->start) / length;
    unsigned enough = size < held ? size : held;
    for (unsigned j = 0; j < enough; j++) u[j] = within_piece(signal_point(low, high, enough, j));
    signal_interpolate_all(piece->values, held, u, enough, size > enough ? part : out);
    if (size > enough) refine(part, enough, size, out);
}

/* ---- growing a result ---- */

SignalBuilder signal_builder(Arena *arena, double duration, uint32_t room) {
    SignalBuilder builder = {arena, duration, SIGNAL_BREAK_TOLERANCE * duration, NULL, 0, room ? room : 1, false};
    builder.at = arena_take_raw(arena, builder.room * sizeof *builder.at);
    return builder;
}

static Piece *next_piece(SignalBuilder *builder) {
    if (builder->count >= SIGNAL_PIECE_LIMIT) {
        builder->full = true;
        return NULL;
    }
    if (builder->count == builder->room) {
        builder->at = arena_grow(builder->arena, builder->at, builder->room * sizeof *builder->at,
                                 2 * builder->room * sizeof *builder->at);
        builder->room *= 2;
    }
    return &builder->at[builder->count++];
}

void signal_push_void(SignalBuilder *builder, double start, double end, SignalVoid reason) {
    Piece *last = builder->count ? &builder->at[builder->count - 1] : NULL;
    if (last && last->size == 0 && last->void_reason == (uint16_t)reason) {
        last->end = end;
        return;
    }
    Piece *piece = next_piece(builder);
    if (piece) *piece = (Piece){start, end, 0, (uint16_t)reason, NULL};
}

void signal_push(SignalBuilder *builder, double start, double end, const double *values, unsigned size, double tolerance) {
    bool sound = true;
    for (unsigned j = 0; j < size; j++) sound &= fabs(values[j]) <= SIGNAL_LARGEST;
    if (!sound) {
        signal_push_void(builder, start, end, VOID_OVERFLOW);
        return;
    }
    unsigned held = tolerance < 0 ? size : signal_fit(values, size, tolerance);
    Piece *piece = next_piece(builder);
    if (!piece) return;
    double *copy = arena_take_raw(builder->arena, held * sizeof *copy);
    subsample(values, size, held, copy);
    *piece = (Piece){start, end, (uint16_t)held, VOID_NONE, copy};
}

void signal_push_joined(SignalBuilder *builder, double start, double end, double value) {
    Piece *last = builder->count ? &builder->at[builder->count - 1] : NULL;
    if (last && last->size == 1 && last->values[0] == value)
        last->end = end;
    else
        signal_push(builder, start, end, &value, 1, -1);
}

void signal_push_part(SignalBuilder *builder, double start, double end, const Piece *piece) {
    double values[PIECE_SIZE_LIMIT];
    if (piece->size == 0) {
        signal_push_void(builder, start, end, (SignalVoid)piece->void_reason);
        return;
    }
    bool whole = fabs(start - piece->start) <= builder->near && fabs(end - piece->end) <= builder->near;
    if (whole || piece->size == 1) {
        signal_push(builder, start, end, piece->values, piece->size, -1);
        return;
    }
    signal_resample(piece, start, end, builder->near, piece->size, values);
    signal_push(builder, start, end, values, piece->size,
                piece->size == 2 ? -1 : 2 * SIGNAL_EPSILON * signal_magnitude(values, piece->size));
}

Signal signal_finish(SignalBuilder *builder) {
    if (builder->full) return signal_void(builder->arena, builder->duration, VOID_PIECES);
    if (builder->count == 0) return signal_void(builder->arena, builder->duration, VOID_UNKNOWN);
    return (Signal){builder->count, builder->at};
}

/* ---- two signals side by side ---- */

SignalPair signal_pair(Signal x, Signal y) {
    SignalPair pair = {.x = x, .y = y};
    pair.end = signal_duration(x);
    pair.near = SIGNAL_BREAK_TOLERANCE * pair.end;
    return pair;
}

bool signal_pair_next(SignalPair *pair) {
    pair->start = pair->at;
    while (pair->i < pair->x.count && pair->j < pair->y.count) {
        pair->px = &pair->x.pieces[pair->i];
        pair->py = &pair->y.pieces[pair->j];
        bool last_x = pair->i + 1 == pair->x.count, last_y = pair->j + 1 == pair->y.count;
        double stop_x = last_x ? pair->end : pair->px->end, stop_y = last_y ? pair->end : pair->py->end;
        double stop = stop_x < stop_y ? stop_x : stop_y;
        if (fabs(stop_x - stop_y) <= pair->near) {
            stop = stop_x;
            if (last_x != last_y) stop = pair->end; /* a break next to the very end is the end */
            pair->i++;
            pair->j++;
        } else if (stop_x < stop_y) {
            pair->i++;
        } else {
            pair->j++;
        }
        if (stop - pair->start <= pair->near) continue;
        pair->stop = pair->at = stop;
        return true;
    }
    return false;
}

SignalVoid signal_pair_fault(const SignalPair *pair) {
    if (pair->px->size == 0) return (SignalVoid)pair->px->void_reason;
    return pair->py->size == 0 ? (SignalVoid)pair->py->void_reason : VOID_NONE;
}
