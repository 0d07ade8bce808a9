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

/* Four sums at once, so that none has to wait for its own last addition. */
static void four_sums(const double *odd, unsigned half, unsigned step, unsigned k, double *out, unsigned stride) {
    double a = 0, b = 0, c = 0, d = 0;
    unsigned turn = step * (2 * k + 1), more = 2 * step, angle = 0, extra = 0;
    for (unsigned j = 0; j < half; j++, angle += turn, extra += more) {
        a += odd[j] * signal_cosines[angle & 127];
        b += odd[j] * signal_cosines[(angle + extra) & 127];
        c += odd[j] * signal_cosines[(angle + 2 * extra) & 127];
        d += odd[j] * signal_cosines[(angle + 3 * extra) & 127];
    }
    out[(2 * k + 1) * stride] = a;
    out[(2 * k + 3) * stride] = b;
    out[(2 * k + 5) * stride] = c;
    out[(2 * k + 7) * stride] = d;
}

/* Even k see only the sums of mirrored values, odd k only the differences; the sums are a transform of half the size. */
void signal_transform(const double *in, unsigned size, double *out) {
    double even[PIECE_SIZE_LIMIT], odd[PIECE_SIZE_LIMIT / 2 + 1];
    unsigned n = size - 1, stride = 1;
    memcpy(even, in, size * sizeof *in);
    for (; n > 4; n /= 2, stride *= 2) {
        unsigned half = n / 2, step = 64 / n;
        for (unsigned j = 0; j < half; j++) {
            odd[j] = even[j] - even[n - j];
            even[j] += even[n - j];
        }
        odd[0] *= 0.5;
        even[half] *= 2;
        for (unsigned k = 0; k < half; k += 4) four_sums(odd, half, step, k, out, stride);
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

void signal_resample(const Piece *piece, double start, double end, double near, unsigned size, double *out) {
    unsigned held = piece->size;
    if (held == 1) {
        for (unsigned j = 0; j < size; j++) out[j] = piece->values[0];
        return;
    }
    bool from_start = fabs(start - piece->start) <= near, to_end = fabs(end - piece->end) <= near;
    if (from_start && to_end && size <= held) {
        subsample(piece->values, held, size, out);
        return;
    }
    double length = piece->end - piece->start;
    double low = from_start ? 0 : (start - piece->start) / length, high = to_end ? 1 : (end - piece->start) / length;
    if (from_start && to_end) {
        unsigned stride = (size - 1) / (held - 1), each = 64 / (size - 1);
        for (unsigned j = 0; j < size; j++)
            out[j] = j % stride == 0 ? piece->values[j / stride] : signal_interpolate(piece->values, held, signal_points[j * each]);
        return;
    }
    for (unsigned j = 0; j < size; j++) {
        double u = signal_point(low, high, size, j);
        out[j] = signal_interpolate(piece->values, held, u < 0 ? 0 : u > 1 ? 1 : u);
    }
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
