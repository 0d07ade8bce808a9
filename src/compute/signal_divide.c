/* Quotients, powers and the angle of two signals: operations with poles, branch points and jumps, which must lie on breaks
 * before anything is sampled. */
#include "compute/signal_internal.h"

#include <math.h>

enum { COMMON_FACTOR_LIMIT = 6, POWER_BY_PRODUCTS_LIMIT = 64 };

/* ---- quotient ---- */

/* Divides the polynomial by u (at the start) or by 1 - u (at the end), where it is zero. */
static void divide_out(double *values, unsigned size, bool at_start) {
    double c[PIECE_SIZE_LIMIT], q[PIECE_SIZE_LIMIT + 1] = {0};
    signal_coefficients(values, size, c);
    for (unsigned k = size - 1; k >= 1; k--) {
        q[k - 1] = at_start ? 2 * q[k] - q[k + 1] - 4 * c[k] : 4 * c[k] - 2 * q[k] - q[k + 1];
        if (k == 1) q[0] *= 0.5;
    }
    signal_values(q, size, values);
}

/* Zeros that both have at an end are no poles of the quotient; a torque that is power over speed has them at each
 * standstill. They are divided out of both. */
static void divide_common(double *x, unsigned *size_x, double *y, unsigned *size_y) {
    for (int side = 0; side < 2; side++) {
        double wide = SIGNAL_ZERO_BAND;
        for (int i = 0; i < COMMON_FACTOR_LIMIT && *size_x > 1 && *size_y > 1; i++) {
            double end_x = x[side ? *size_x - 1 : 0], end_y = y[side ? *size_y - 1 : 0];
            double scale_x = signal_magnitude(x, *size_x), scale_y = signal_magnitude(y, *size_y);
            if (fabs(end_x) > wide * scale_x || fabs(end_y) > wide * scale_y) break;
            divide_out(x, *size_x, side == 0);
            divide_out(y, *size_y, side == 0);
            unsigned largest = *size_x > *size_y ? *size_x : *size_y;
            wide = fmin(wide * (1 + (double)largest * largest), 1e-7);
        }
    }
}

static SignalVoid divide_sample(void *context, double x, double y, double *result) {
    const double *least = context;
    if (fabs(y) <= *least) return VOID_DIVISION;
    *result = x / y;
    return VOID_NONE;
}

static void shrink(double *values, unsigned *size) {
    unsigned held = signal_fit(values, *size, 2 * SIGNAL_EPSILON * signal_magnitude(values, *size));
    if (held == *size) return;
    Piece whole = {0, 1, (uint16_t)*size, VOID_NONE, values};
    double smaller[PIECE_SIZE_LIMIT];
    signal_resample(&whole, 0, 1, 0, held, smaller);
    for (unsigned j = 0; j < held; j++) values[j] = smaller[j];
    *size = held;
}

static void divide_between(SignalBuilder *builder, double start, double end, const Piece *x, const Piece *y) {
    double a[PIECE_SIZE_LIMIT], b[PIECE_SIZE_LIMIT];
    unsigned size_x = x->size, size_y = y->size;
    signal_resample(x, start, end, builder->near, size_x, a);
    signal_resample(y, start, end, builder->near, size_y, b);
    shrink(a, &size_x);
    shrink(b, &size_y);
    if (size_x == 1 && a[0] == 0) {
        signal_push(builder, start, end, a, 1, -1);
        return;
    }
    divide_common(a, &size_x, b, &size_y);
    shrink(a, &size_x);
    shrink(b, &size_y);
    double scale = signal_magnitude(b, size_y), least = SIGNAL_ZERO_BAND * scale;
    SignalSampler sampler = {divide_sample, &least, signal_magnitude(a, size_x), scale};
    Piece above = {start, end, (uint16_t)size_x, VOID_NONE, a}, below = {start, end, (uint16_t)size_y, VOID_NONE, b};
    signal_adapt(builder, &sampler, start, end, &above, &below);
}

void signal_divide_part(SignalBuilder *builder, double start, double end, const Piece *x, const Piece *y, double band_y) {
    double values[PIECE_SIZE_LIMIT], length = end - start;
    if (y->size == 1) {
        double divisor = y->values[0];
        if (divisor == 0 || fabs(divisor) <= band_y) {
            signal_push_void(builder, start, end, VOID_DIVISION);
            return;
        }
        signal_resample(x, start, end, builder->near, x->size, values);
        for (unsigned j = 0; j < x->size; j++) values[j] /= divisor;
        signal_push(builder, start, end, values, x->size, -1);
        return;
    }
    SignalSeries series;
    SignalCrossings cross;
    signal_resample(y, start, end, builder->near, y->size, values);
    signal_series(&series, values, y->size);
    signal_cross(&series, 0, band_y, builder->near / length, &cross);
    if (cross.first == 0) {
        signal_push_void(builder, start, end, VOID_DIVISION);
        return;
    }
    double from = start;
    for (uint32_t k = 0; k <= cross.count; k++) {
        double to = k < cross.count ? start + length * cross.u[k] : end;
        divide_between(builder, from, to, x, y);
        from = to;
    }
}

/* ---- power ---- */

typedef struct PowerContext {
    double band;
} PowerContext;

static SignalVoid power_sample(void *context, double x, double y, double *result) {
    const PowerContext *power = context;
    if (fabs(x) <= power->band) {
        if (y < 0) return VOID_DIVISION;
        if (y > 0) x = 0;
    }
    if (x < 0 && y != floor(y)) return VOID_DOMAIN;
    *result = pow(x, y);
    return VOID_NONE;
}

static double whole_power(double x, unsigned exponent) {
    double result = 1;
    for (; exponent; exponent >>= 1, x *= x)
        if (exponent & 1) result *= x;
    return result;
}

static bool power_by_products(SignalBuilder *builder, double start, double end, const Piece *x, double exponent) {
    if (exponent != floor(exponent) || exponent < 0 || exponent > POWER_BY_PRODUCTS_LIMIT) return false;
    unsigned whole = (unsigned)exponent, points = whole * (x->size - 1u) + 1;
    if (points > PIECE_SIZE_LIMIT) return false;
    double values[PIECE_SIZE_LIMIT];
    unsigned size = signal_ladder(points);
    signal_resample(x, start, end, builder->near, size, values);
    for (unsigned j = 0; j < size; j++) values[j] = whole_power(values[j], whole);
    signal_push(builder, start, end, values, size, 2 * SIGNAL_EPSILON * signal_magnitude(values, size));
    return true;
}

static SignalVoid power_fault(int sign, const Piece *y) {
    bool constant = y->size == 1, whole = constant && y->values[0] == floor(y->values[0]);
    if (sign > 0 || whole) return VOID_NONE;
    if (sign == 0 && constant) return y->values[0] < 0 ? VOID_DIVISION : VOID_NONE;
    return VOID_DOMAIN;
}

void signal_power_part(SignalBuilder *builder, double start, double end, const Piece *x, const Piece *y, double band_x) {
    bool constant = y->size == 1;
    if (constant && power_by_products(builder, start, end, x, y->values[0])) return;
    double values[PIECE_SIZE_LIMIT], length = end - start, from = start;
    SignalSeries series;
    SignalCrossings cross;
    signal_resample(x, start, end, builder->near, x->size, values);
    signal_series(&series, values, x->size);
    signal_cross(&series, 0, band_x, builder->near / length, &cross);
    PowerContext context = {band_x};
    double scale = signal_magnitude(x->values, x->size);
    SignalSampler sampler = {power_sample, &context, scale, signal_magnitude(y->values, y->size)};
    for (uint32_t k = 0; k <= cross.count; k++) {
        double to = k < cross.count ? start + length * cross.u[k] : end;
        SignalVoid fault = power_fault(signal_crossing_sign(&cross, k), y);
        if (fault != VOID_NONE)
            signal_push_void(builder, from, to, fault);
        else
            signal_adapt(builder, &sampler, from, to, x, y);
        from = to;
    }
}

/* ---- angle of two ---- */

typedef struct AngleContext {
    int sign; /* of the first operand throughout; 0: it is zero */
    double band;
} AngleContext;

static SignalVoid atan2_sample(void *context, double y, double x, double *result) {
    const AngleContext *angle = context;
    /* On a break the sign is that of the piece, so that the jump at the half turn stays outside. */
    if (fabs(y) <= angle->band) y = angle->sign < 0 ? -0.0 : 0.0;
    *result = atan2(y, x);
    return VOID_NONE;
}

void signal_atan2_part(SignalBuilder *builder, double start, double end, const Piece *y, const Piece *x, double band_y,
                       double band_x) {
    double values[PIECE_SIZE_LIMIT], length = end - start, from = start;
    SignalSeries series;
    SignalCrossings cross;
    (void)band_x;
    signal_resample(y, start, end, builder->near, y->size, values);
    signal_series(&series, values, y->size);
    signal_cross(&series, 0, band_y, builder->near / length, &cross);
    SignalSampler sampler = {atan2_sample, NULL, signal_magnitude(y->values, y->size), signal_magnitude(x->values, x->size)};
    for (uint32_t k = 0; k <= cross.count; k++) {
        double to = k < cross.count ? start + length * cross.u[k] : end;
        AngleContext context = {signal_crossing_sign(&cross, k), band_y};
        sampler.context = &context;
        signal_adapt(builder, &sampler, from, to, y, x);
        from = to;
    }
}
