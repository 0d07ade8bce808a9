/* Functions that are not polynomials: sampled at more and more points until the series is seen to end, and halved when 65
 * points do not do.
 *
 * The series has ended when its last coefficients are rounding error. What that is follows from the samples themselves:
 * the operands are known to a rounding error of their scale, and the function amplifies it by its slope. */
#include "compute/signal_internal.h"

#include <math.h>

typedef struct Sampling {
    SignalBuilder *builder;
    const SignalSampler *sampler;
    const Piece *x, *y;
    unsigned first;      /* size to begin with */
    double shortest;     /* s; shorter pieces are taken as they are */
    unsigned unresolved; /* how many were */
} Sampling;

/* A function has few places where it can't be resolved. One that has more than these has no shape at all, and is given up
 * as one that needs too many pieces. */
enum { UNRESOLVED_LIMIT = 64 };

typedef struct Samples {
    unsigned size, faults;
    SignalVoid fault; /* one of those met */
    double x[PIECE_SIZE_LIMIT], y[PIECE_SIZE_LIMIT], f[PIECE_SIZE_LIMIT];
    bool bad[PIECE_SIZE_LIMIT];
} Samples;

static SignalVoid call(const Sampling *sampling, double x, double y, double *result) {
    SignalVoid fault = sampling->sampler->function(sampling->sampler->context, x, y, result);
    if (fault == VOID_NONE && !(fabs(*result) <= SIGNAL_LARGEST)) fault = VOID_OVERFLOW;
    if (fault != VOID_NONE) *result = 0;
    return fault;
}

/* The operands as they are between the ends that are looked at. */
typedef struct Parts {
    Piece x, y;
    double x_values[PIECE_SIZE_LIMIT], y_values[PIECE_SIZE_LIMIT];
} Parts;

static Piece part_of(const Sampling *sampling, const Piece *piece, double start, double end, double *values) {
    signal_resample(piece, start, end, sampling->builder->near, piece->size, values);
    return (Piece){start, end, piece->size, VOID_NONE, values};
}

static void sample(const Sampling *sampling, const Parts *parts, Samples *samples, unsigned size) {
    unsigned stride = 0; /* between the samples we already have */
    if (samples->size > 1) {
        stride = (size - 1) / (samples->size - 1);
        for (unsigned j = samples->size; j-- > 1;) {
            samples->f[j * stride] = samples->f[j];
            samples->bad[j * stride] = samples->bad[j];
        }
    }
    signal_resample(&parts->x, parts->x.start, parts->x.end, 0, size, samples->x);
    if (sampling->y) signal_resample(&parts->y, parts->y.start, parts->y.end, 0, size, samples->y);
    for (unsigned j = 0; j < size; j++) {
        if (stride && j % stride == 0) continue;
        SignalVoid fault = call(sampling, samples->x[j], sampling->y ? samples->y[j] : 0, &samples->f[j]);
        samples->bad[j] = fault != VOID_NONE;
        if (fault != VOID_NONE) {
            samples->faults++;
            samples->fault = fault;
        }
    }
    samples->size = size;
}

static double tolerance_of(const Sampling *sampling, const Samples *samples, double scale) {
    double slope = 0;
    for (unsigned j = 1; j < samples->size; j++) {
        double change = fabs(samples->f[j] - samples->f[j - 1]);
        double moved = fabs(samples->x[j] - samples->x[j - 1]) / sampling->sampler->scale_x;
        if (!(moved >= 0)) moved = 0;
        if (sampling->y) {
            double moved_y = fabs(samples->y[j] - samples->y[j - 1]) / sampling->sampler->scale_y;
            if (moved_y > moved) moved = moved_y;
        }
        if (change > slope * moved && moved > 0) slope = change / moved;
    }
    double noise = 2 * SIGNAL_EPSILON * slope;
    if (noise > 1e-6 * scale) noise = 1e-6 * scale;
    return 1e-15 * scale + noise + 1e-290; /* the last keeps out of the numbers that lose digits */
}

/* Is the polynomial right between its points too? */
static bool holds_between(const Sampling *sampling, double start, double end, const Samples *samples, double tolerance) {
    static const double places[2] = {0.31830988618379067, 0.73575888234288464};
    for (int i = 0; i < 2; i++) {
        double x, y = 0, f, time = start + places[i] * (end - start);
        x = piece_at(sampling->x, time);
        if (sampling->y) y = piece_at(sampling->y, time);
        if (call(sampling, x, y, &f) != VOID_NONE) return false;
        if (!(fabs(f - signal_interpolate(samples->f, samples->size, places[i])) <= tolerance)) return false;
    }
    return true;
}

static bool series_ends(const double *coefficients, unsigned size, double tolerance) {
    unsigned last = size >= 17 ? 4 : size == 9 ? 3 : 2;
    for (unsigned k = size - last; k < size; k++)
        if (!(fabs(coefficients[k]) <= tolerance)) return false;
    return true;
}

/* Does the series fall so slowly that the largest size will not do by far? So it is where a root or a quotient has a branch
 * or a pole beside the piece: halving helps, more points do not. (What falls ever faster is given the benefit of the doubt.) */
static bool series_slow(const double *coefficients, unsigned size, double tolerance) {
    double early = 0, late = 0;
    unsigned half = (size - 1) / 2, quarter = half / 2;
    if (size < 17) return false;
    for (unsigned k = half; k < half + quarter; k++) early = fmax(early, fabs(coefficients[k]));
    for (unsigned k = half + quarter; k < size; k++) late = fmax(late, fabs(coefficients[k]));
    if (!(late < early)) return false;
    double fall = log(early / late) / quarter; /* a coefficient */
    return size + log(late / tolerance) / fall > 2 * PIECE_SIZE_LIMIT;
}

/* At the largest size: has the series run into a floor of rounding error, which halving would not lower? */
static bool series_flat(const double *coefficients, double scale, double *floor_level) {
    double early = 0, late = 0;
    for (unsigned k = 32; k < 48; k++) early = fmax(early, fabs(coefficients[k]));
    for (unsigned k = 49; k < PIECE_SIZE_LIMIT; k++) late = fmax(late, fabs(coefficients[k]));
    *floor_level = 2 * late;
    return late <= 1e-11 * scale && late > 0.2 * early;
}

static void adapt(Sampling *sampling, double start, double end, double scale) {
    SignalBuilder *builder = sampling->builder;
    Samples samples = {.size = 0};
    bool shortest = end - start <= sampling->shortest;
    double tolerance = 0, coefficients[PIECE_SIZE_LIMIT];
    if (builder->full) return;
    Parts parts;
    parts.x = part_of(sampling, sampling->x, start, end, parts.x_values);
    if (sampling->y) parts.y = part_of(sampling, sampling->y, start, end, parts.y_values);
    for (unsigned size = sampling->first;; size = 2 * size - 1) {
        sample(sampling, &parts, &samples, size);
        if (shortest && (samples.faults || size == PIECE_SIZE_LIMIT) && ++sampling->unresolved > UNRESOLVED_LIMIT) {
            builder->full = true;
            return;
        }
        unsigned inside = samples.faults - samples.bad[0] - samples.bad[size - 1];
        if (inside == size - 2 || (samples.faults && shortest)) {
            signal_push_void(builder, start, end, samples.fault);
            return;
        }
        if (samples.faults) break;
        double own = fmax(scale, signal_magnitude(samples.f, size));
        tolerance = tolerance_of(sampling, &samples, own);
        signal_coefficients(samples.f, size, coefficients);
        if (series_ends(coefficients, size, tolerance) && holds_between(sampling, start, end, &samples, 1e-12 * own + 8 * tolerance)) {
            signal_push(builder, start, end, samples.f, size, tolerance);
            return;
        }
        if (size == PIECE_SIZE_LIMIT) {
            double level;
            bool flat = series_flat(coefficients, own, &level);
            if (!flat && !shortest) {
                scale = own;
                break;
            }
            signal_push(builder, start, end, samples.f, size, flat ? level : tolerance);
            return;
        }
        if (!shortest && series_slow(coefficients, size, tolerance)) {
            scale = own;
            break;
        }
    }
    double middle = start + 0.5 * (end - start);
    adapt(sampling, start, middle, scale);
    adapt(sampling, middle, end, scale);
}

void signal_adapt(SignalBuilder *builder, const SignalSampler *sampler, double start, double end, const Piece *x,
                  const Piece *y) {
    unsigned first = x->size;
    if (y && y->size > first) first = y->size;
    Sampling sampling = {builder, sampler, x, y, first < 9 ? 9 : first, SIGNAL_SHORTEST * builder->duration, 0};
    if (first == 1) {
        double value;
        SignalVoid fault = call(&sampling, x->values[0], y ? y->values[0] : 0, &value);
        if (fault == VOID_NONE)
            signal_push(builder, start, end, &value, 1, -1);
        else
            signal_push_void(builder, start, end, fault);
        return;
    }
    adapt(&sampling, start, end, 0);
}
