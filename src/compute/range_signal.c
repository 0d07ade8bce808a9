/* Operations on bounds of signals, part by part.
 *
 * The evaluation holds signals as polynomials that fit to a tolerance, and takes what lies within a band of a level as on it.
 * Both go by the largest magnitude of the signals, so ranges are widened by shares of that: see docs/design/ranges.md. A signal
 * without bounds somewhere is without bounds everywhere, for then nothing is known of its magnitude. */
#include <math.h>
#include <string.h>

#include "compute/range_internal.h"
#include "compute/signal_internal.h"

static const double fit = 1e-12;      /* sums and products of polynomials */
static const double cut = 1e-9;       /* what is cut at crossings, or sampled */
static const double band = 2e-13;     /* twice what counts as on a level */
static const double noise_most = 1e-6; /* see tolerance_of() in signal_adapt.c */

void range_slot_top(RangeSlot *slot, uint32_t count) {
    for (uint32_t k = 0; k < count; k++) {
        slot->lows[k] = -INFINITY;
        slot->highs[k] = INFINITY;
        slot->holes[k] = RANGE_ABSENT;
    }
    slot->size = INFINITY;
    slot->holed = true;
    if (slot->flags & RANGE_NUMBER) slot->flags |= RANGE_FAILED;
}

void range_slot_widen(RangeSlot *slot, uint32_t count, double slack) {
    double *lows = slot->lows, *highs = slot->highs, size = 0;
    for (uint32_t k = 0; k < count; k++) {
        lows[k] -= slack;
        highs[k] += slack;
    }
    for (uint32_t k = 0; k < count; k++) {
        double most = -lows[k] > highs[k] ? -lows[k] : highs[k];
        size = most > size ? most : size;
    }
    slot->size = size;
    if (!(size < 0.5 * SIGNAL_LARGEST)) range_slot_top(slot, count);
}

RangeView range_view(Range *range, const RangeSlot *slot, uint32_t count, unsigned number) {
    if (slot->shape == SHAPE_GRID) return (RangeView){slot->lows, slot->highs, slot->holed ? slot->holes : NULL, slot->size, slot->flags, slot->rough};
    double *lows = range->scratch[number][0], *highs = range->scratch[number][1];
    bool some = slot->flags & RANGE_VALUE;
    double low = some ? slot->low : 1, high = some ? slot->high : 0;
    for (uint32_t k = 0; k < count; k++) {
        lows[k] = low;
        highs[k] = high;
    }
    return (RangeView){lows, highs, NULL, interval_most(low, high), slot->flags, false};
}

/* Holes of a result that has one where either operand has. */
static void join_holes(RangeSlot *out, uint32_t count, const RangeView *x, const RangeView *y) {
    out->holed = x->holes || y->holes;
    if (!out->holed) return;
    for (uint32_t k = 0; k < count; k++) out->holes[k] = (uint8_t)((x->holes ? x->holes[k] : 0) | (y->holes ? y->holes[k] : 0));
}

static void add_holes(RangeSlot *out, uint32_t count, uint8_t hole) {
    if (!out->holed) memset(out->holes, 0, count);
    for (uint32_t k = 0; k < count; k++) out->holes[k] |= hole;
    out->holed = true;
    if (out->flags & RANGE_NUMBER) out->flags |= RANGE_FAILED;
}

/* What a sampled function may be off: its rounding, by how steep it is over the magnitude of its operands. */
static double sampled(RangeSlot *out, double steepness, double size) {
    double noise = 2 * SIGNAL_EPSILON * steepness;
    if (!(noise < noise_most * size)) {
        noise = noise_most * size;
        out->rough = true;
    }
    return cut * size + 128 * noise;
}

/* Where a function is too steep to be resolved even on the shortest piece, the polynomial through its samples is taken as it is.
 * It leaves their range by no more than the Lebesgue constant of 65 points allows. The piece may lie across two parts. */
static void overshoot(RangeSlot *out, uint32_t count) {
    static const double lebesgue = 3.8;
    double before_low = out->lows[0], before_high = out->highs[0];
    for (uint32_t k = 0; k < count; k++) {
        double own_low = out->lows[k], own_high = out->highs[k];
        double low = lesser(before_low, own_low), high = greater(before_high, own_high);
        if (k + 1 < count) {
            low = lesser(low, out->lows[k + 1]);
            high = greater(high, out->highs[k + 1]);
        }
        double middle = 0.5 * (low + high), reach = 0.5 * lebesgue * (high - low);
        out->lows[k] = middle - reach;
        out->highs[k] = middle + reach;
        before_low = own_low;
        before_high = own_high;
    }
}

static double largest_of(const RangeSlot *slot, uint32_t count) {
    double size = 0;
    for (uint32_t k = 0; k < count; k++) size = greater(size, interval_most(slot->lows[k], slot->highs[k]));
    return size;
}

static double least_of(const RangeView *x, uint32_t count) {
    double least = INFINITY;
    for (uint32_t k = 0; k < count; k++) least = lesser(least, interval_least(x->low[k], x->high[k]));
    return least;
}

/* State of a result of one operand; false: it has no value. */
static bool begin_unary(RangeSlot *out, const RangeView *x, uint32_t count) {
    out->flags = x->flags;
    out->holed = false;
    out->rough = x->rough;
    out->size = 0;
    if (x->flags & RANGE_VALUE) {
        join_holes(out, count, x, x);
        if (x->size < INFINITY) return true;
        range_slot_top(out, count);
        return false;
    }
    return false;
}

/* ---- one operand --------------------------------------------------------------------------------------------------- */

static void slow_unary(const RangeOp *op, RangeSlot *out, const RangeView *x, uint32_t count) {
    SignalUnary operation = (SignalUnary)op->aux;
    bool fails = false;
    for (uint32_t k = 0; k < count; k++) {
        if (x->low[k] > x->high[k]) {
            out->lows[k] = 1;
            out->highs[k] = 0;
            continue;
        }
        Interval y = interval_unary(operation, x->low[k], x->high[k]);
        fails = fails || y.fails || (operation == SIGNAL_LN && x->low[k] <= band * x->size);
        if (y.low > y.high) y = operation == SIGNAL_SQRT ? (Interval){0, 0, true} : (Interval){-INFINITY, INFINITY, true};
        out->lows[k] = y.low;
        out->highs[k] = y.high;
    }
    if (fails) add_holes(out, count, RANGE_FAILED);
    if (!(largest_of(out, count) < INFINITY)) range_slot_top(out, count);
}

/* How steep a function is where its operand lies, times the operand's magnitude. */
static double steepness_of(SignalUnary operation, const RangeView *x, uint32_t count, const RangeSlot *out) {
    double least = least_of(x, count), size = largest_of(out, count);
    switch (operation) {
    case SIGNAL_SIN:
    case SIGNAL_COS:
    case SIGNAL_ATAN: return x->size;
    case SIGNAL_EXP: return size * x->size;
    case SIGNAL_LN: return least > 0 ? x->size / least : INFINITY;
    case SIGNAL_SQRT: return least > 0 ? x->size / sqrt(least) : INFINITY;
    case SIGNAL_CBRT: return least > 0 ? x->size / cbrt(least * least) : INFINITY;
    case SIGNAL_TAN: return x->size * (1 + size * size);
    default: break;
    }
    return x->size < 1 - 1e-6 ? x->size / sqrt(1 - x->size * x->size) : INFINITY; /* arcs */
}

static void fast_unary(SignalUnary operation, RangeSlot *restrict out, const double *restrict low, const double *restrict high, uint32_t count) {
    double *restrict lows = out->lows, *restrict highs = out->highs;
    if (operation == SIGNAL_NEGATE) {
        for (uint32_t k = 0; k < count; k++) {
            lows[k] = -high[k];
            highs[k] = -low[k];
        }
        return;
    }
    for (uint32_t k = 0; k < count; k++) {
        double below = low[k] > -high[k] ? low[k] : -high[k];
        lows[k] = below > 0 ? below : 0;
        highs[k] = -low[k] > high[k] ? -low[k] : high[k];
    }
}

/* Numbers a rounding error off a whole one count as whole, and signs within the band as none. */
static void stepped_unary(SignalUnary operation, RangeSlot *out, const RangeView *x, uint32_t count) {
    double slack = operation == SIGNAL_SIGN ? band * x->size : band * greater(1, x->size);
    for (uint32_t k = 0; k < count; k++) {
        out->lows[k] = interval_unary(operation, x->low[k] - slack, x->low[k] - slack).low;
        out->highs[k] = interval_unary(operation, x->high[k] + slack, x->high[k] + slack).high;
    }
    if (operation == SIGNAL_SIGN) return;
    if (largest_of(out, count) > SIGNAL_PIECE_LIMIT / 4) add_holes(out, count, RANGE_FAILED);
}

void range_signal_unary(Range *range, const RangeOp *op, RangeSlot *out) {
    SignalUnary operation = (SignalUnary)op->aux;
    uint32_t count = range_grid(range, out)->count;
    RangeView x = range_view(range, &range->slots[op->a], count, 0);
    if (!begin_unary(out, &x, count)) return;
    switch (operation) {
    case SIGNAL_NEGATE:
    case SIGNAL_ABS:
        fast_unary(operation, out, x.low, x.high, count);
        for (uint32_t k = 0; k < count && x.rough && operation == SIGNAL_ABS; k++) {
            if (x.low[k] < 0 && x.high[k] > 0) out->lows[k] = -out->highs[k];
        }
        range_slot_widen(out, count, operation == SIGNAL_ABS ? fit * x.size : 0);
        return;
    case SIGNAL_SIGN:
    case SIGNAL_FLOOR:
    case SIGNAL_ROUND:
    case SIGNAL_CEILING:
        stepped_unary(operation, out, &x, count);
        range_slot_widen(out, count, 0);
        return;
    default: break;
    }
    slow_unary(op, out, &x, count);
    if (!(out->size < INFINITY)) return;
    bool root = operation == SIGNAL_SQRT || operation == SIGNAL_CBRT || operation == SIGNAL_ASIN || operation == SIGNAL_ACOS;
    double slack = sampled(out, steepness_of(operation, &x, count, out), largest_of(out, count));
    if (out->rough && !(root && !x.rough)) overshoot(out, count); /* near the end of a root not much is left to overshoot */
    range_slot_widen(out, count, slack);
}

/* ---- two operands -------------------------------------------------------------------------------------------------- */

/* State of a result of two operands; false: it has no value, or one without bounds. */
static bool begin_binary(RangeSlot *out, const RangeView *x, const RangeView *y, uint32_t count) {
    uint8_t x_value = x->flags & RANGE_VALUE, y_value = y->flags & RANGE_VALUE;
    out->flags = (uint8_t)((x->flags | y->flags) & RANGE_ABSENT);
    out->holed = false;
    out->rough = x->rough || y->rough;
    out->size = 0;
    if (!x_value || !y_value) return false;
    out->flags |= x_value & y_value & RANGE_NUMBER;
    out->flags |= (uint8_t)((x_value | y_value) & RANGE_SIGNAL);
    join_holes(out, count, x, y);
    if (x->size < INFINITY && y->size < INFINITY) return true;
    range_slot_top(out, count);
    return false;
}

static void add(RangeSlot *restrict out, const RangeView *x, const RangeView *y, uint32_t count) {
    double *restrict lows = out->lows, *restrict highs = out->highs;
    const double *a = x->low, *b = x->high, *c = y->low, *d = y->high;
    for (uint32_t k = 0; k < count; k++) {
        lows[k] = a[k] + c[k];
        highs[k] = b[k] + d[k];
    }
}

static void subtract(RangeSlot *restrict out, const RangeView *x, const RangeView *y, uint32_t count) {
    double *restrict lows = out->lows, *restrict highs = out->highs;
    const double *a = x->low, *b = x->high, *c = y->low, *d = y->high;
    for (uint32_t k = 0; k < count; k++) {
        lows[k] = a[k] - d[k];
        highs[k] = b[k] - c[k];
    }
}

static void multiply(RangeSlot *restrict out, const RangeView *x, const RangeView *y, uint32_t count, bool same) {
    double *restrict lows = out->lows, *restrict highs = out->highs;
    const double *a = x->low, *b = x->high, *c = y->low, *d = y->high;
    if (same) {
        for (uint32_t k = 0; k < count; k++) {
            double below = greater(greater(a[k], -b[k]), 0), above = greater(-a[k], b[k]);
            lows[k] = below * below;
            highs[k] = above * above;
        }
        return;
    }
    for (uint32_t k = 0; k < count; k++) {
        double p = a[k] * c[k], q = a[k] * d[k], r = b[k] * c[k], s = b[k] * d[k];
        lows[k] = lesser(lesser(p, q), lesser(r, s));
        highs[k] = greater(greater(p, q), greater(r, s));
    }
}

/* The divisor keeps clear of zero. */
static void divide(RangeSlot *restrict out, const RangeView *x, const RangeView *y, uint32_t count) {
    double *restrict lows = out->lows, *restrict highs = out->highs;
    const double *a = x->low, *b = x->high, *c = y->low, *d = y->high;
    for (uint32_t k = 0; k < count; k++) {
        double p = a[k] / c[k], q = a[k] / d[k], r = b[k] / c[k], s = b[k] / d[k];
        lows[k] = lesser(lesser(p, q), lesser(r, s));
        highs[k] = greater(greater(p, q), greater(r, s));
    }
}

static void select_one(RangeSlot *restrict out, const RangeView *x, const RangeView *y, uint32_t count, bool larger) {
    double *restrict lows = out->lows, *restrict highs = out->highs;
    const double *a = x->low, *b = x->high, *c = y->low, *d = y->high;
    for (uint32_t k = 0; k < count; k++) {
        lows[k] = larger ? greater(a[k], c[k]) : lesser(a[k], c[k]);
        highs[k] = larger ? greater(b[k], d[k]) : lesser(b[k], d[k]);
    }
}

static double divide_slack(RangeSlot *out, const RangeView *x, const RangeView *y, double least, bool over_time) {
    if (!over_time) return fit * x->size / least;
    return sampled(out, x->size / least + x->size * y->size / (least * least), x->size / least);
}

/* Powers that are neither products nor surely of positive numbers are as for numbers, but that a signal has no odd roots. */
static double power(RangeSlot *out, const RangeView *x, const RangeView *y, uint32_t count) {
    bool fails = false, constant = true;
    double lowest = INFINITY, exponent = y->low[0], steepest = interval_most(y->low[0], y->high[0]);
    for (uint32_t k = 0; k < count; k++) constant = constant && y->low[k] == exponent && y->high[k] == exponent;
    bool whole = constant && exponent == floor(exponent);
    for (uint32_t k = 0; k < count; k++) {
        double low = x->low[k], high = x->high[k];
        if (low > high) {
            out->lows[k] = 1;
            out->highs[k] = 0;
            continue;
        }
        lowest = lesser(lowest, whole ? interval_least(low, high) : low);
        if (!whole && low < 0) {
            fails = true;
            low = 0; /* within the band of zero it counts as zero */
            high = greater(high, 0);
        }
        Interval z = interval_binary(SIGNAL_POWER, low, high, y->low[k], y->high[k], false);
        fails = fails || z.fails;
        out->lows[k] = z.low <= z.high ? z.low : -INFINITY;
        out->highs[k] = z.low <= z.high ? z.high : INFINITY;
        steepest = greater(steepest, interval_most(y->low[k], y->high[k]));
    }
    if (fails) add_holes(out, count, RANGE_FAILED);
    double size = largest_of(out, count);
    if (!(size < INFINITY) || (fails && out->flags & RANGE_NUMBER)) return INFINITY;
    if (whole && exponent >= 0) return sampled(out, exponent * size, size);
    if (!(lowest > band * x->size)) return constant && exponent > 0 ? sampled(out, INFINITY, size) : INFINITY;
    double logarithm = greater(fabs(log(lowest)), fabs(log(x->size)));
    return sampled(out, size * (steepest * x->size / lowest + (constant ? 0 : logarithm * y->size)), size);
}

static double angle(RangeSlot *out, const RangeView *x, const RangeView *y, uint32_t count) {
    double nearest = INFINITY;
    for (uint32_t k = 0; k < count; k++) {
        double slack_x = band * x->size, slack_y = band * y->size;
        Interval z = interval_binary(SIGNAL_ATAN2, x->low[k] - slack_x, x->high[k] + slack_x, y->low[k] - slack_y, y->high[k] + slack_y, false);
        out->lows[k] = z.low;
        out->highs[k] = z.high;
        nearest = lesser(nearest, greater(interval_least(x->low[k], x->high[k]), interval_least(y->low[k], y->high[k])));
    }
    return sampled(out, nearest > 0 ? (x->size + y->size) / nearest : INFINITY, 4);
}

void range_signal_binary(Range *range, const RangeOp *op, RangeSlot *out) {
    uint32_t count = range_grid(range, out)->count;
    const RangeSlot *a = &range->slots[op->a], *b = &range->slots[op->b];
    RangeView x = range_view(range, a, count, 0), y = range_view(range, b, count, 1);
    bool same = op->a == op->b;
    double slack = 0;
    if (!begin_binary(out, &x, &y, count)) return;
    switch ((SignalBinary)op->aux) {
    case SIGNAL_ADD:
        add(out, &x, &y, count);
        slack = fit * (x.size + y.size);
        break;
    case SIGNAL_SUBTRACT:
        subtract(out, &x, &y, count);
        slack = fit * (x.size + y.size);
        break;
    case SIGNAL_MULTIPLY:
        multiply(out, &x, &y, count, same);
        slack = cut * x.size * y.size;
        break;
    case SIGNAL_DIVIDE: {
        double least = least_of(&y, count);
        if (!(least > band * y.size)) {
            add_holes(out, count, RANGE_FAILED);
            slack = INFINITY;
            break;
        }
        divide(out, &x, &y, count);
        slack = divide_slack(out, &x, &y, least, b->shape == SHAPE_GRID);
        break;
    }
    case SIGNAL_POWER: slack = power(out, &x, &y, count); break;
    case SIGNAL_ATAN2: slack = angle(out, &x, &y, count); break;
    case SIGNAL_LESSER:
    case SIGNAL_GREATER:
        select_one(out, &x, &y, count, op->aux == SIGNAL_GREATER);
        for (uint32_t k = 0; k < count && out->rough; k++) {
            if (x.low[k] > y.high[k] || y.low[k] > x.high[k]) continue;
            out->lows[k] = lesser(x.low[k], y.low[k]);
            out->highs[k] = greater(x.high[k], y.high[k]);
        }
        slack = cut * (x.size + y.size);
        break;
    }
    bool sampling = op->aux == SIGNAL_MULTIPLY || op->aux == SIGNAL_DIVIDE || op->aux == SIGNAL_POWER || op->aux == SIGNAL_ATAN2;
    if (slack < INFINITY && out->rough && sampling) overshoot(out, count);
    if (slack < INFINITY) range_slot_widen(out, count, slack);
    else range_slot_top(out, count);
}

/* ---- truths ---------------------------------------------------------------------------------------------------------- */

void range_signal_compare(Range *range, const RangeOp *op, RangeSlot *out) {
    uint32_t count = range_grid(range, out)->count;
    RangeView x = range_view(range, &range->slots[op->a], count, 0), y = range_view(range, &range->slots[op->b], count, 1);
    SignalCompare comparison = (SignalCompare)op->aux;
    if (!begin_binary(out, &x, &y, count)) {
        if (!(out->flags & RANGE_VALUE)) return;
        for (uint32_t k = 0; k < count; k++) {
            out->lows[k] = 0;
            out->highs[k] = 1;
        }
        out->size = 1;
        return;
    }
    double slack = band * greater(x.size, y.size);
    bool rising = comparison == SIGNAL_LESS || comparison == SIGNAL_AT_MOST, strict = comparison == SIGNAL_LESS || comparison == SIGNAL_MORE;
    bool equality = comparison == SIGNAL_EQUAL || comparison == SIGNAL_UNEQUAL;
    if (equality) slack = greater(slack, 2e-9 * greater(x.size, y.size)); /* numbers are equal from farther */
    for (uint32_t k = 0; k < count; k++) {
        double below = rising || equality ? y.low[k] - x.high[k] : x.low[k] - y.high[k]; /* room is at least this */
        double above = rising || equality ? y.high[k] - x.low[k] : x.high[k] - y.low[k]; /* … and at most this */
        if (equality) {
            bool apart = below > slack || above < -slack, one = x.low[k] == x.high[k] && y.low[k] == y.high[k] && x.low[k] == y.low[k];
            out->lows[k] = comparison == SIGNAL_EQUAL ? one : apart;
            out->highs[k] = comparison == SIGNAL_EQUAL ? !apart : !one;
        } else {
            out->lows[k] = strict ? below > slack : below >= 0;
            out->highs[k] = strict ? above > 0 : above >= -slack;
        }
    }
    out->size = 1;
}

void range_signal_not(Range *range, const RangeOp *op, RangeSlot *out) {
    uint32_t count = range_grid(range, out)->count;
    RangeView x = range_view(range, &range->slots[op->a], count, 0);
    if (!begin_unary(out, &x, count)) return;
    for (uint32_t k = 0; k < count; k++) {
        out->lows[k] = x.high[k] <= 0.5;
        out->highs[k] = x.low[k] <= 0.5;
    }
    out->size = 1;
}

/* What is absent as a whole is void throughout where a signal is wanted; a mistake counts as unknown there. */
static uint8_t hole_of(uint8_t flags) {
    return (uint8_t)((flags & RANGE_ABSENT) | (flags & RANGE_FAILED ? RANGE_UNKNOWN : 0));
}

void range_signal_logic(Range *range, const RangeOp *op, RangeSlot *out) {
    uint32_t count = range_grid(range, out)->count;
    RangeView x = range_view(range, &range->slots[op->a], count, 0), y = range_view(range, &range->slots[op->b], count, 1);
    bool both = op->kind == STEP_AND;
    uint8_t holes = 0, x_hole = hole_of(x.flags), y_hole = hole_of(y.flags);
    out->flags = (uint8_t)((x.flags | y.flags) & RANGE_VALUE);
    if (y.flags & ~RANGE_SIGNAL) out->flags |= x.flags & RANGE_ABSENT;
    if (x.flags & ~RANGE_SIGNAL) out->flags |= y.flags & RANGE_ABSENT;
    for (uint32_t k = 0; k < count; k++) {
        bool x_low = x.low[k] > 0.5, x_high = x.high[k] > 0.5, y_low = y.low[k] > 0.5, y_high = y.high[k] > 0.5;
        uint8_t hole_x = (uint8_t)(x_hole | (x.holes ? x.holes[k] : 0)), hole_y = (uint8_t)(y_hole | (y.holes ? y.holes[k] : 0));
        bool decided = both ? (!x_high && !x_low && !hole_x) || (!y_high && !y_low && !hole_y) : (x_low && x_high && !hole_x) || (y_low && y_high && !hole_y);
        out->lows[k] = both ? x_low && y_low : x_low || y_low;
        out->highs[k] = both ? x_high && y_high : x_high || y_high;
        out->holes[k] = decided ? 0 : hole_x | hole_y;
        holes |= out->holes[k];
    }
    out->holed = holes != 0;
    out->size = 1;
}

/* ---- switches and tables ----------------------------------------------------------------------------------------------- */

void range_signal_choose(Range *range, const RangeOp *op, RangeSlot *out) {
    uint32_t count = range_grid(range, out)->count;
    const RangeSlot *condition = &range->slots[op->a];
    RangeView when = range_view(range, condition, count, 0), yes = range_view(range, &range->slots[op->b], count, 1), no = range_view(range, &range->slots[op->c], count, 2);
    uint8_t yes_hole = hole_of(yes.flags), no_hole = hole_of(no.flags), holes = 0;
    bool some_yes = false, some_no = false, whole = (when.flags & RANGE_VALUE) == RANGE_NUMBER;
    for (uint32_t k = 0; k < count; k++) {
        bool take_yes = when.high[k] > 0.5, take_no = when.low[k] < 0.5;
        double low = 1, high = 0;
        uint8_t hole = when.holes ? when.holes[k] : 0;
        if (take_yes) {
            low = yes.low[k];
            high = yes.high[k];
            hole |= (uint8_t)((yes.holes ? yes.holes[k] : 0) | (whole ? 0 : yes_hole));
        }
        if (take_no) {
            bool empty = low > high;
            low = empty ? no.low[k] : no.low[k] <= no.high[k] ? lesser(low, no.low[k]) : low;
            high = empty ? no.high[k] : no.low[k] <= no.high[k] ? greater(high, no.high[k]) : high;
            hole |= (uint8_t)((no.holes ? no.holes[k] : 0) | (whole ? 0 : no_hole));
        }
        some_yes = some_yes || take_yes;
        some_no = some_no || take_no;
        out->lows[k] = low;
        out->highs[k] = high;
        out->holes[k] = hole;
        holes |= hole;
    }
    out->flags = when.flags & RANGE_ABSENT;
    if (when.flags & RANGE_SIGNAL) out->flags |= RANGE_SIGNAL;
    if (when.flags & RANGE_NUMBER) out->flags |= (uint8_t)((some_yes ? yes.flags : 0) | (some_no ? no.flags : 0));
    out->holed = holes != 0;
    out->rough = yes.rough || no.rough;
    double size = greater(some_yes && yes.flags & RANGE_VALUE ? yes.size : 0, some_no && no.flags & RANGE_VALUE ? no.size : 0);
    out->size = size;
    if (!(out->flags & RANGE_VALUE)) return;
    if (size < INFINITY) range_slot_widen(out, count, when.flags & RANGE_SIGNAL ? fit * size : 0);
    else range_slot_top(out, count);
}

void range_signal_look_up(Range *range, const RangeOp *op, RangeSlot *out) {
    uint32_t count = range_grid(range, out)->count;
    RangeView key = range_view(range, &range->slots[op->a], count, 0);
    if (!begin_unary(out, &key, count)) return;
    double steepest = 0;
    bool fails = false;
    for (uint32_t k = 0; k < count; k++) {
        double slope = 0;
        Interval y = key.low[k] <= key.high[k] ? range_table(range, op, key.low[k], key.high[k], &slope) : (Interval){1, 0, false};
        fails = fails || y.fails;
        steepest = greater(steepest, slope);
        out->lows[k] = y.low <= y.high ? y.low : 1;
        out->highs[k] = y.low <= y.high ? y.high : 0;
    }
    if (fails) add_holes(out, count, RANGE_FAILED);
    double size = largest_of(out, count);
    double slack = size < INFINITY ? sampled(out, steepest * key.size, size) : 0;
    if (size < INFINITY && out->rough) overshoot(out, count);
    if (size < INFINITY) range_slot_widen(out, count, slack);
    else range_slot_top(out, count);
}
