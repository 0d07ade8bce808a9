/* Operations on intervals of numbers.
 *
 * Sums, products, quotients, roots and whole steps are rounded by the evaluation to the nearest number, and that rounding rises
 * with what is rounded. So where the exact function rises, so does the computed one, and its values at the ends of the interval
 * enclose all others: nothing need be added. The rounding of other functions is not known to rise: they are widened. */
#include <math.h>

#include "compute/range_internal.h"

#define HALF_TURN 3.14159265358979323846

static const double rounding = 4e-15; /* of the value: some units of the last place */

static const Interval everything = {-INFINITY, INFINITY, true};
static const Interval nothing = {INFINITY, -INFINITY, true};

static Interval widened(Interval x, double least) {
    x.low -= fmax(rounding * fabs(x.low), least);
    x.high += fmax(rounding * fabs(x.high), least);
    return x;
}

/* What is not finite has no value. */
static Interval finite(double low, double high) {
    if (low > -INFINITY && high < INFINITY) return (Interval){low, high, false};
    Interval x = {isnan(low) ? -INFINITY : low, isnan(high) ? INFINITY : high, false};
    if (x.low == INFINITY || x.high == -INFINITY) return nothing;
    x.fails = isinf(x.low) || isinf(x.high);
    return x;
}

/* Whether level + n · period lies in [low, high] for some whole n; places so near that rounding could decide count. */
static bool holds_one(double low, double high, double level, double period) {
    double slack = 1e-9 + 1e-15 * fmax(fabs(low), fabs(high));
    return floor((high + slack - level) / period) * period + level >= low - slack;
}

static Interval wave(double low, double high, double (*function)(double), double crest) {
    Interval x = {-1, 1, false};
    double most = interval_most(low, high);
    if (!(high - low < 2 * HALF_TURN) || most > 1e6) return x;
    double a = function(low), b = function(high);
    if (!holds_one(low, high, crest, 2 * HALF_TURN)) x.high = fmax(a, b);
    if (!holds_one(low, high, crest + HALF_TURN, 2 * HALF_TURN)) x.low = fmin(a, b);
    x = widened(x, 2e-15 * fmax(1, most)); /* what is next to nothing is set to nothing */
    return (Interval){fmax(x.low, -1), fmin(x.high, 1), false};
}

static Interval rising(double low, double high, double (*function)(double)) {
    return widened(finite(function(low), function(high)), 0);
}

static Interval arc(SignalUnary operation, double low, double high) {
    if (high < -1 || low > 1) return nothing;
    bool fails = low < -1 || high > 1;
    low = fmax(low, -1);
    high = fmin(high, 1);
    Interval x = operation == SIGNAL_ASIN ? (Interval){asin(low), asin(high), false} : (Interval){acos(high), acos(low), false};
    x = widened(x, 0);
    x.fails = fails;
    return x;
}

static Interval logarithm(double low, double high) {
    if (high <= 0) return nothing;
    bool fails = low <= 0;
    Interval x = rising(fmax(low, 5e-324), high, log);
    x.fails = x.fails || fails;
    x.low -= 1e-300;
    return x;
}

static Interval tangent(double low, double high) {
    if (!(high - low < HALF_TURN) || interval_most(low, high) > 1e3 || holds_one(low, high, 0.5 * HALF_TURN, HALF_TURN)) return everything;
    return rising(low, high, tan);
}

Interval interval_unary(SignalUnary operation, double low, double high) {
    switch (operation) {
    case SIGNAL_NEGATE: return finite(-high, -low);
    case SIGNAL_ABS: return finite(interval_least(low, high), interval_most(low, high));
    case SIGNAL_SIGN: return (Interval){low > 0 ? 1 : low < 0 ? -1 : 0, high > 0 ? 1 : high < 0 ? -1 : 0, false};
    case SIGNAL_SQRT: {
        if (high < 0) return nothing;
        Interval x = finite(low > 0 ? sqrt(low) : 0, sqrt(high));
        x.fails = x.fails || low < 0;
        return x;
    }
    case SIGNAL_CBRT: return rising(low, high, cbrt);
    case SIGNAL_EXP: {
        Interval x = rising(low, high, exp);
        x.low = fmax(x.low, 0);
        return x;
    }
    case SIGNAL_LN: return logarithm(low, high);
    case SIGNAL_SIN: return wave(low, high, sin, 0.5 * HALF_TURN);
    case SIGNAL_COS: return wave(low, high, cos, 0);
    case SIGNAL_TAN: return tangent(low, high);
    case SIGNAL_ASIN:
    case SIGNAL_ACOS: return arc(operation, low, high);
    case SIGNAL_ATAN: return rising(low, high, atan);
    case SIGNAL_FLOOR: return finite(floor(low), floor(high));
    case SIGNAL_ROUND: return finite(round(low), round(high));
    case SIGNAL_CEILING: return finite(ceil(low), ceil(high));
    }
    return everything;
}

/* ---- two operands ------------------------------------------------------------------------------------------------ */

/* Nothing times anything is nothing, for values are finite. */
static double product(double x, double y) {
    double p = x * y;
    return isnan(p) ? 0 : p;
}

static double quotient(double x, double y) {
    double q = x / y;
    return isnan(q) ? 0 : q;
}

static Interval hull_of(double a, double b, double c, double d) { return finite(lesser(lesser(a, b), lesser(c, d)), greater(greater(a, b), greater(c, d))); }

static Interval multiply(double x_low, double x_high, double y_low, double y_high, bool same) {
    if (same) {
        double least = interval_least(x_low, x_high), most = interval_most(x_low, x_high);
        return finite(least * least, most * most);
    }
    return hull_of(product(x_low, y_low), product(x_low, y_high), product(x_high, y_low), product(x_high, y_high));
}

static Interval divide(double x_low, double x_high, double y_low, double y_high, bool same) {
    if (y_low == 0 && y_high == 0) return nothing;
    bool fails = y_low <= 0 && y_high >= 0;
    Interval out;
    if (same) out = (Interval){1, 1, false};
    else if (!fails) out = hull_of(quotient(x_low, y_low), quotient(x_low, y_high), quotient(x_high, y_low), quotient(x_high, y_high));
    else if (x_low == 0 && x_high == 0) out = (Interval){0, 0, false};
    else if (y_low == 0 && x_low >= 0) out = finite(quotient(x_low, y_high), INFINITY);
    else if (y_low == 0 && x_high <= 0) out = finite(-INFINITY, quotient(x_high, y_high));
    else if (y_high == 0 && x_low >= 0) out = finite(-INFINITY, quotient(x_low, y_low));
    else if (y_high == 0 && x_high <= 0) out = finite(quotient(x_high, y_low), INFINITY);
    else out = everything;
    out.fails = out.fails || fails;
    return out;
}

/* An odd root of a negative number is real, see number.c. */
static bool is_odd_root(double exponent) {
    double thirds = exponent * 3;
    return fabs(thirds - nearbyint(thirds)) <= 1e-12 && fmod(fabs(nearbyint(thirds)), 2) != 0;
}

static Interval ordered(double a, double b) { return widened(finite(fmin(a, b), fmax(a, b)), 0); }

static Interval whole_power(double low, double high, double exponent) {
    bool even = fmod(exponent, 2) == 0;
    if (exponent < 0 && low <= 0 && high >= 0) {
        if (low == 0 && high > 0) return (Interval){pow(high, exponent) * (1 - rounding), INFINITY, true};
        return everything;
    }
    if (!even || low >= 0 || high <= 0) return ordered(pow(low, exponent), pow(high, exponent));
    return ordered(0, pow(interval_most(low, high), exponent));
}

static Interval power_of(double low, double high, double exponent) {
    if (exponent == 0) return (Interval){1, 1, false};
    if (exponent == 1) return finite(low, high);
    if (exponent == 2) return multiply(low, high, low, high, true);
    if (floor(exponent) == exponent) return whole_power(low, high, exponent);
    if (low < 0 && is_odd_root(exponent)) {
        if (exponent < 0) return everything;
        return ordered(-pow(-low, exponent), high < 0 ? -pow(-high, exponent) : pow(high, exponent));
    }
    if (high < 0) return nothing;
    bool fails = low < 0 || (exponent < 0 && low <= 0);
    low = fmax(low, 0);
    Interval out = ordered(pow(low, exponent), pow(high, exponent));
    out.low = fmax(out.low, 0);
    out.fails = out.fails || fails;
    return out;
}

static Interval power(double x_low, double x_high, double y_low, double y_high) {
    if (y_low == y_high) return power_of(x_low, x_high, y_low);
    if (!(x_low > 0 || (x_low == 0 && y_low > 0))) return everything;
    return widened(hull_of(pow(x_low, y_low), pow(x_low, y_high), pow(x_high, y_low), pow(x_high, y_high)), 0);
}

/* The angle jumps by a turn where y passes nothing with x below: there it is anything. */
static Interval angle(double y_low, double y_high, double x_low, double x_high) {
    bool all = (y_low <= 0 && y_high >= 0 && x_low <= 0) || isinf(y_low) || isinf(y_high) || isinf(x_low) || isinf(x_high);
    if (all) return (Interval){-HALF_TURN * (1 + rounding), HALF_TURN * (1 + rounding), false};
    return widened(hull_of(atan2(y_low, x_low), atan2(y_low, x_high), atan2(y_high, x_low), atan2(y_high, x_high)), 0);
}

Interval interval_binary(SignalBinary operation, double x_low, double x_high, double y_low, double y_high, bool same) {
    switch (operation) {
    case SIGNAL_ADD: return finite(x_low + y_low, x_high + y_high);
    case SIGNAL_SUBTRACT: return same ? (Interval){0, 0, false} : finite(x_low - y_high, x_high - y_low);
    case SIGNAL_MULTIPLY: return multiply(x_low, x_high, y_low, y_high, same);
    case SIGNAL_DIVIDE: return divide(x_low, x_high, y_low, y_high, same);
    case SIGNAL_POWER: return power(x_low, x_high, y_low, y_high);
    case SIGNAL_ATAN2: return angle(x_low, x_high, y_low, y_high);
    case SIGNAL_LESSER: return (Interval){lesser(x_low, y_low), lesser(x_high, y_high), false};
    case SIGNAL_GREATER: return (Interval){greater(x_low, y_low), greater(x_high, y_high), false};
    }
    return everything;
}

static Interval truth(bool surely, bool never) { return (Interval){surely, !never, false}; }

/* Numbers count as equal that differ by less than 1e-9 of the larger; taken twice as far, whatever is rounded. */
static Interval equal(double x_low, double x_high, double y_low, double y_high) {
    double farthest = fmax(x_high - y_low, y_high - x_low), nearest = fmax(y_low - x_high, x_low - y_high);
    bool surely = farthest <= 0.5e-9 * fmax(interval_least(x_low, x_high), interval_least(y_low, y_high)) || (x_low == x_high && y_low == y_high && x_low == y_low);
    return truth(surely, nearest > 2e-9 * fmax(interval_most(x_low, x_high), interval_most(y_low, y_high)));
}

Interval interval_compare(SignalCompare comparison, double x_low, double x_high, double y_low, double y_high) {
    switch (comparison) {
    case SIGNAL_LESS: return truth(x_high < y_low, x_low >= y_high);
    case SIGNAL_AT_MOST: return truth(x_high <= y_low, x_low > y_high);
    case SIGNAL_MORE: return truth(x_low > y_high, x_high <= y_low);
    case SIGNAL_AT_LEAST: return truth(x_low >= y_high, x_high < y_low);
    case SIGNAL_EQUAL: return equal(x_low, x_high, y_low, y_high);
    case SIGNAL_UNEQUAL: {
        Interval same = equal(x_low, x_high, y_low, y_high);
        return (Interval){1 - same.high, 1 - same.low, false};
    }
    }
    return (Interval){0, 1, false};
}
