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

static void sample(const Sampling *sampling, double start, double end, Samples *samples, unsigned size) {
    unsigned stride = 0; /* between the samples we already have */
    if (samples->size > 1) {
        stride = (size - 1) / (samples->size - 1);
        for (unsigned j = samples->size; j-- > 1;) {
            samples->f[j * stride] = samples->f[j];
            samples->bad[j * stride] = samples->bad[j];
        }
    }
    signal_resample(sampling->x, start, end, sampling->builder->near, size, samples->x);
    if (sampling->y) signal_resample(sampling->y, start, end, sampling->builder->near, size, samples->y);
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

static bool series_ends(const Samples *samples, double tolerance) {
    unsigned size = samples->size, last = size >= 17 ? 4 : size == 9 ? 3 : 2;
    double coefficients[PIECE_SIZE_LIMIT];
    signal_coefficients(samples->f, size, coefficients);
    for (unsigned k = size - last; k < size; k++)
        if (!(fabs(coefficients[k]) <= tolerance)) return false;
    return true;
}

/* At the largest size: has the series run into a floor of rounding error, which halving would not lower? */
static bool series_flat(const Samples *samples, double scale, double *floor_level) {
    double coefficients[PIECE_SIZE_LIMIT], early = 0, late = 0;
    signal_coefficients(samples->f, PIECE_SIZE_LIMIT, coefficients);
    for (unsigned k = 32; k < 48; k++) early = fmax(early, fabs(coefficients[k]));
    for (unsigned k = 49; k < PIECE_SIZE_LIMIT; k++) late = fmax(late, fabs(coefficients[k]));
    *floor_level = 2 * late;
    return late <= 1e-11 * scale && late > 0.2 * early;
}

static void adapt(Sampling *sampling, double start, double end, double scale) {
    SignalBuilder *builder = sampling->builder;
    Samples samples = {.size = 0};
    bool shortest = end - start <= sampling->shortest;
    double tolerance = 0;
    if (builder->full) return;
    for (unsigned size = sampling->first;; size = 2 * size - 1) {
        sample(sampling, start, end, &samples, size);
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
        if (series_ends(&samples, tolerance) && holds_between(sampling, start, end, &samples, 1e-12 * own + 8 * tolerance)) {
            signal_push(builder, start, end, samples.f, size, tolerance);
            return;
        }
        if (size == PIECE_SIZE_LIMIT) {
            double level;
            bool flat = series_flat(&samples, own, &level);
            if (!flat && !shortest) {
                scale = own;
                break;
            }
            signal_push(builder, start, end, samples.f, size, flat ? level : tolerance);
            return;
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
