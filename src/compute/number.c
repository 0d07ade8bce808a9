#include "compute/number.h"

#include <math.h>

static SignalVoid finite(double value, double *result) {
    *result = value;
    return isfinite(value) ? VOID_NONE : VOID_OVERFLOW;
}

/* A quarter turn has no exact radian: what its cosine leaves over is rounding, not a slope. */
static double without_rounding(double value, double angle) { return fabs(value) <= 4e-16 * fmax(1, fabs(angle)) ? 0 : value; }

SignalVoid number_unary(SignalUnary operation, double x, double *result) {
    switch (operation) {
    case SIGNAL_NEGATE: return finite(-x, result);
    case SIGNAL_ABS: return finite(fabs(x), result);
    case SIGNAL_SIGN: return finite(x > 0 ? 1 : x < 0 ? -1 : 0, result);
    case SIGNAL_SQRT: return x < 0 ? VOID_DOMAIN : finite(sqrt(x), result);
    case SIGNAL_CBRT: return finite(cbrt(x), result);
    case SIGNAL_EXP: return finite(exp(x), result);
    case SIGNAL_LN: return x <= 0 ? VOID_DOMAIN : finite(log(x), result);
    case SIGNAL_SIN: return finite(without_rounding(sin(x), x), result);
    case SIGNAL_COS: return finite(without_rounding(cos(x), x), result);
    case SIGNAL_TAN: return finite(tan(x), result);
    case SIGNAL_ASIN: return fabs(x) > 1 ? VOID_DOMAIN : finite(asin(x), result);
    case SIGNAL_ACOS: return fabs(x) > 1 ? VOID_DOMAIN : finite(acos(x), result);
    case SIGNAL_ATAN: return finite(atan(x), result);
    case SIGNAL_FLOOR: return finite(floor(x), result);
    case SIGNAL_ROUND: return finite(round(x), result);
    case SIGNAL_CEILING: return finite(ceil(x), result);
    }
    return VOID_DOMAIN;
}

static SignalVoid number_power(double x, double y, double *result) {
    if (x == 0 && y < 0) return VOID_DIVISION;
    if (x < 0 && floor(y) != y) {
        /* An odd root of a negative number is real: (-8) ^ (1 / 3) is -2. */
        double thirds = y * 3;
        if (fabs(thirds - nearbyint(thirds)) > 1e-12 || fmod(fabs(nearbyint(thirds)), 2) == 0) return VOID_DOMAIN;
        return finite(-pow(-x, y), result);
    }
    if (y == 2) return finite(x * x, result);
    return finite(pow(x, y), result);
}

SignalVoid number_binary(SignalBinary operation, double x, double y, double *result) {
    switch (operation) {
    case SIGNAL_ADD: return finite(x + y, result);
    case SIGNAL_SUBTRACT: return finite(x - y, result);
    case SIGNAL_MULTIPLY: return finite(x * y, result);
    case SIGNAL_DIVIDE: return y == 0 ? VOID_DIVISION : finite(x / y, result);
    case SIGNAL_POWER: return number_power(x, y, result);
    case SIGNAL_ATAN2: return finite(atan2(x, y), result);
    case SIGNAL_LESSER: return finite(x < y ? x : y, result);
    case SIGNAL_GREATER: return finite(x > y ? x : y, result);
    }
    return VOID_DOMAIN;
}

bool number_compare(SignalCompare comparison, double x, double y) {
    bool equal = fabs(x - y) <= 1e-9 * fmax(fabs(x), fabs(y));
    switch (comparison) {
    case SIGNAL_LESS: return x < y;
    case SIGNAL_AT_MOST: return x <= y;
    case SIGNAL_MORE: return x > y;
    case SIGNAL_AT_LEAST: return x >= y;
    case SIGNAL_EQUAL: return equal;
    case SIGNAL_UNEQUAL: return !equal;
    }
    return false;
}
