/* Fixed points of a whole box.
 *
 * Let D be an interval in which, for every member of the box, the formula f has slopes between m and M < 1. Then f(x) - x falls
 * throughout, and where it is at some place c, its zero p lies in N = c + (f(c) - c) / (1 - [m, M]) as long as N is in D: each
 * member has exactly one fixed point in D, and all are in N.
 *
 * Does the evaluation (settle.c) end there? From x it goes to f(x), at first, and later to x + (f(x) - x) / (1 - s) with the slope
 * s of a chord between places it has seen. Inside D that s lies in [m, M] too, and the step leaves of the distance to p at most
 * (M - m) / (1 - M). Where that is at most 1, it never gets farther from p than it was after its first step; so it never
 * leaves D, when D reaches that far beyond N. It ends where f(x) is within 1e-13 of x, which is as near to p but for a factor of
 * 1 / (1 - M). `noise` leaves room for what rounding makes of a chord's slope: places that are not at rest are 1e-13 apart.
 *
 * Slopes are found with the values: intervals of derivatives, front to back. Where a formula jumps, or its slope is not below one
 * for the whole box, nothing is claimed. */
#include <math.h>

#include "compute/range_internal.h"

static const double noise = 0.05;
static const double settling = 0.8; /* what a step leaves of the distance to p, so that it surely arrives in its passes */
static const Interval steep = {-INFINITY, INFINITY, false};

enum { TRIES = 8, REFINEMENTS = 3 };

/* ---- slopes ---------------------------------------------------------------------------------------------------------- */

static Interval times(Interval a, Interval b) { return interval_binary(SIGNAL_MULTIPLY, a.low, a.high, b.low, b.high, false); }
static Interval plus(Interval a, Interval b) { return interval_binary(SIGNAL_ADD, a.low, a.high, b.low, b.high, false); }
static Interval minus(Interval a, Interval b) { return interval_binary(SIGNAL_SUBTRACT, a.low, a.high, b.low, b.high, false); }
static Interval over(Interval a, Interval b) { return b.low <= 0 && b.high >= 0 ? steep : interval_binary(SIGNAL_DIVIDE, a.low, a.high, b.low, b.high, false); }
static Interval join(Interval a, Interval b) { return (Interval){fmin(a.low, b.low), fmax(a.high, b.high), false}; }
static Interval opposite(Interval a) { return (Interval){-a.high, -a.low, false}; }
static bool is_flat(Interval a) { return a.low == 0 && a.high == 0; }

static Interval value_of(const Range *range, uint32_t slot) { return (Interval){range->slots[slot].low, range->slots[slot].high, false}; }

static Interval slope_of(const Range *range, uint32_t loop, uint32_t slot) {
    return slot <= range->op_count && range->ops[slot].loop == loop ? range->slopes[slot] : (Interval){0, 0, false};
}

static Interval magnitude_slope(Interval x, Interval slope) {
    return x.low >= 0 ? slope : x.high <= 0 ? opposite(slope) : join(slope, opposite(slope));
}

/* 1 / sqrt(1 - x²) or 1 / (1 + x²). */
static Interval arc_slope(SignalUnary operation, Interval x, Interval slope) {
    double least = interval_least(x.low, x.high), most = interval_most(x.low, x.high);
    if (operation == SIGNAL_ATAN) return times(slope, (Interval){1 / (1 + most * most), 1 / (1 + least * least), false});
    if (!(most < 1)) return steep;
    slope = times(slope, (Interval){1 / sqrt(1 - least * least), 1 / sqrt(1 - most * most), false});
    return operation == SIGNAL_ASIN ? slope : opposite(slope);
}

static Interval unary_slope(SignalUnary operation, Interval x, Interval result, Interval slope) {
    switch (operation) {
    case SIGNAL_NEGATE: return opposite(slope);
    case SIGNAL_ABS: return magnitude_slope(x, slope);
    case SIGNAL_SQRT: return x.low > 0 ? over(slope, (Interval){2 * result.low, 2 * result.high, false}) : steep;
    case SIGNAL_CBRT: return x.low > 0 || x.high < 0 ? over(slope, times((Interval){3, 3, false}, interval_binary(SIGNAL_MULTIPLY, result.low, result.high, 0, 0, true))) : steep;
    case SIGNAL_EXP: return times(slope, result);
    case SIGNAL_LN: return x.low > 0 ? over(slope, x) : steep;
    case SIGNAL_SIN: return times(slope, interval_unary(SIGNAL_COS, x.low, x.high));
    case SIGNAL_COS: return times(slope, opposite(interval_unary(SIGNAL_SIN, x.low, x.high)));
    case SIGNAL_TAN: return times(slope, plus((Interval){1, 1, false}, interval_binary(SIGNAL_MULTIPLY, result.low, result.high, 0, 0, true)));
    case SIGNAL_ASIN:
    case SIGNAL_ACOS:
    case SIGNAL_ATAN: return arc_slope(operation, x, slope);
    case SIGNAL_SIGN:
    case SIGNAL_FLOOR:
    case SIGNAL_ROUND:
    case SIGNAL_CEILING: return result.low == result.high ? (Interval){0, 0, false} : steep;
    }
    return steep;
}

static Interval power_slope(Interval x, Interval y, Interval result, Interval slope_x, Interval slope_y) {
    if (is_flat(slope_y) && y.low == y.high) {
        if (y.low == 0) return (Interval){0, 0, false};
        if (!(x.low > 0) && !(y.low >= 1 && floor(y.low) == y.low)) return steep;
        Interval less = interval_binary(SIGNAL_POWER, x.low, x.high, y.low - 1, y.low - 1, false);
        return times(times(y, less), slope_x);
    }
    if (!(x.low > 0)) return steep;
    return times(result, plus(times(slope_y, interval_unary(SIGNAL_LN, x.low, x.high)), times(y, over(slope_x, x))));
}

static Interval binary_slope(const Range *range, const RangeOp *op, Interval result) {
    Interval x = value_of(range, op->a), y = value_of(range, op->b);
    Interval slope_x = slope_of(range, op->loop, op->a), slope_y = slope_of(range, op->loop, op->b);
    bool same = op->a == op->b;
    switch ((SignalBinary)op->aux) {
    case SIGNAL_ADD: return plus(slope_x, slope_y);
    case SIGNAL_SUBTRACT: return same ? (Interval){0, 0, false} : minus(slope_x, slope_y);
    case SIGNAL_MULTIPLY: return same ? times((Interval){2, 2, false}, times(x, slope_x)) : plus(times(slope_x, y), times(x, slope_y));
    case SIGNAL_DIVIDE: return same ? (Interval){0, 0, false} : over(minus(slope_x, times(result, slope_y)), y);
    case SIGNAL_POWER: return power_slope(x, y, result, slope_x, slope_y);
    case SIGNAL_LESSER: return x.high < y.low ? slope_x : y.high < x.low ? slope_y : join(slope_x, slope_y);
    case SIGNAL_GREATER: return x.low > y.high ? slope_x : y.low > x.high ? slope_y : join(slope_x, slope_y);
    case SIGNAL_ATAN2: break;
    }
    return is_flat(slope_x) && is_flat(slope_y) ? (Interval){0, 0, false} : steep;
}

static Interval choose_slope(const Range *range, const RangeOp *op) {
    Interval when = value_of(range, op->a);
    if (!(range->slots[op->a].flags & RANGE_NUMBER)) return (Interval){0, 0, false};
    if (when.low > 0 || when.high < 0) return slope_of(range, op->loop, op->b);
    if (when.low == 0 && when.high == 0) return slope_of(range, op->loop, op->c);
    if (op->a <= range->op_count && range->ops[op->a].loop == op->loop) return steep;
    return join(slope_of(range, op->loop, op->b), slope_of(range, op->loop, op->c)); /* one or the other all the way */
}

static Interval slope_of_op(const Range *range, uint32_t index) {
    const RangeOp *op = &range->ops[index];
    Interval result = value_of(range, index), slope = slope_of(range, op->loop, op->a);
    if (!(range->slots[index].flags & RANGE_NUMBER)) return (Interval){0, 0, false};
    switch ((StepKind)op->kind) {
    case STEP_GUESS: return (Interval){1, 1, false};
    case STEP_UNARY: return unary_slope((SignalUnary)op->aux, value_of(range, op->a), result, slope);
    case STEP_BINARY: return binary_slope(range, op, result);
    case STEP_COMPARE:
    case STEP_AND:
    case STEP_OR:
    case STEP_NOT:
    case STEP_STATED: return result.low == result.high ? (Interval){0, 0, false} : steep;
    case STEP_CHOOSE: return choose_slope(range, op);
    case STEP_NEEDS:
    case STEP_LAG:
    case STEP_AT: return slope;
    case STEP_REDUCE: return op->aux == REDUCE_PEAK || op->aux == REDUCE_RMS ? magnitude_slope(value_of(range, op->a), slope) : slope;
    case STEP_RATE: return (Interval){0, 0, false};
    case STEP_LOOK_UP: {
        double steepest = INFINITY;
        range_table(range, op, range->slots[op->a].low, range->slots[op->a].high, &steepest);
        return times(slope, (Interval){-steepest, steepest, false});
    }
    default: return steep;
    }
}

/* ---- the formula over an interval ---------------------------------------------------------------------------------------- */

typedef struct Loop {
    Range *range;
    const RangeOp *op;
    Interval value, slope; /* of the formula; the slope as of the latest run that found slopes */
    uint8_t flags, flags_over; /* of the formula; over the latest domain */
} Loop;

static void run_loop(Loop *loop, double low, double high, uint8_t flags, bool sloped) {
    Range *range = loop->range;
    const RangeOp *op = loop->op;
    RangeSlot *guess = &range->slots[op->list[0]];
    guess->low = low;
    guess->high = high;
    guess->flags = flags;
    guess->changed = guess->computed = range->run;
    if (sloped) range->slopes[op->list[0]] = (Interval){1, 1, false};
    for (uint32_t i = 1; i < op->list_count; i++) {
        range_run_op(range, op->list[i]);
        if (sloped) range->slopes[op->list[i]] = slope_of_op(range, op->list[i]);
    }
    loop->flags = range->slots[op->b].flags;
    loop->value = value_of(range, op->b);
    if (!sloped) return;
    uint32_t settle = (uint32_t)(op - range->ops);
    Interval slope = slope_of(range, settle, op->b);
    double slack = 1e-9 * fmax(interval_most(slope.low, slope.high), 1e-3);
    loop->slope = (Interval){slope.low - slack, slope.high + slack, false};
}

/* N for all of D, and how far the evaluation may go from it. False: nothing can be said. */
static bool find_fixed(Loop *loop, Interval domain, double c, Interval start, Interval *fixed, double *reach) {
    run_loop(loop, domain.low, domain.high, RANGE_NUMBER, true);
    Interval slope = loop->slope;
    loop->flags_over = loop->flags;
    double left = (slope.high - slope.low + 2 * noise) / (1 - slope.high - noise);
    if (!(slope.high + noise < 1) || !(slope.low > -INFINITY) || !(left <= 1) || !(loop->flags & RANGE_NUMBER)) return false;
    run_loop(loop, c, c, RANGE_NUMBER, false);
    if (!(loop->flags & RANGE_NUMBER)) return false;
    Interval gap = minus(loop->value, (Interval){c, c, false});
    *fixed = plus((Interval){c, c, false}, over(gap, (Interval){1 - slope.high, 1 - slope.low, false}));
    double slack = 1e-14 * (fabs(c) + interval_most(fixed->low, fixed->high));
    fixed->low -= slack;
    fixed->high += slack;
    double factor = fmax(1, fmax(fabs(slope.low), fabs(slope.high)));
    *reach = factor * fmax(fixed->high - start.low, start.high - fixed->low) * (1 + 1e-9) + slack;
    return isfinite(*reach) && isfinite(fixed->low) && isfinite(fixed->high);
}

/* Looks for D, and leaves the loop's slope and flags as they are over it. */
static bool find_domain(Loop *loop, Interval start, Interval *domain, Interval *fixed) {
    Interval first = loop->value;
    double low = fmin(start.low, first.low), high = fmax(start.high, first.high), width = high - low;
    *domain = (Interval){low - 0.6 * width, high + 0.6 * width, false};
    double c = 0.5 * (first.low + first.high), reach;
    for (int i = 0; i < TRIES; i++) {
        if (!isfinite(domain->low) || !isfinite(domain->high)) return false;
        if (!find_fixed(loop, *domain, c, start, fixed, &reach)) return false;
        double from = fixed->low - reach, to = fixed->high + reach;
        if (from >= domain->low && to <= domain->high) return true;
        c = 0.5 * (fixed->low + fixed->high);
        double room = 0.1 * (to - from);
        *domain = (Interval){from - room, to + room, false};
    }
    return false;
}

/* Fixed points of a smaller and smaller part of D. */
static void refine(Loop *loop, Interval *fixed) {
    for (int i = 0; i < REFINEMENTS; i++) {
        double c = 0.5 * (fixed->low + fixed->high), width = fixed->high - fixed->low, reach;
        Interval next;
        if (width <= 1e-12 * fabs(c)) return;
        if (!find_fixed(loop, *fixed, c, *fixed, &next, &reach)) return;
        next = (Interval){fmax(next.low, fixed->low), fmin(next.high, fixed->high), false};
        if (!(next.low <= next.high)) return;
        bool done = next.high - next.low > 0.9 * width;
        *fixed = next;
        if (done) return;
    }
}

static bool is_plain(const Range *range, const RangeOp *op) {
    if (op->aux != 0) return false; /* steps of it are in another loop as well */
    for (uint32_t i = 0; i < op->list_count; i++) {
        const RangeOp *inner = &range->ops[op->list[i]];
        const RangeSlot *slot = &range->slots[op->list[i]];
        if (slot->shape != SHAPE_NUMBER || inner->kind == STEP_SETTLE) return false;
    }
    return range->slots[op->b].shape == SHAPE_NUMBER;
}

static void give_up(Loop *loop, RangeSlot *out) {
    run_loop(loop, -INFINITY, INFINITY, RANGE_NUMBER | RANGE_ABSENT, false);
    out->flags = RANGE_NUMBER | RANGE_ABSENT;
    out->low = -INFINITY;
    out->high = INFINITY;
}

void range_settle(Range *range, uint32_t index) {
    const RangeOp *op = &range->ops[index];
    RangeSlot *out = &range->slots[index];
    const RangeSlot *first = &range->slots[range->ops[op->list[0]].a];
    Loop loop = {.range = range, .op = op};
    if (!is_plain(range, op) || first->shape != SHAPE_NUMBER) {
        give_up(&loop, out);
        return;
    }
    uint8_t absent = first->flags & RANGE_ABSENT;
    Interval start = {first->low, first->high, false}, domain, fixed;
    run_loop(&loop, start.low, start.high, first->flags, false);
    out->flags = absent;
    if (!(first->flags & RANGE_NUMBER)) return;
    if (!(loop.flags & RANGE_NUMBER)) { /* no member has a value at its first guess already */
        out->flags |= loop.flags;
        return;
    }
    if (absent != 0) run_loop(&loop, start.low, start.high, RANGE_NUMBER, false);
    if (!find_domain(&loop, start, &domain, &fixed)) {
        give_up(&loop, out);
        return;
    }
    Interval slope = loop.slope;
    uint8_t inside = loop.flags_over & RANGE_ABSENT;
    refine(&loop, &fixed);
    double slack = 4e-13 * interval_most(fixed.low, fixed.high) * (2 - slope.low) / (1 - slope.high);
    fixed = (Interval){fixed.low - slack, fixed.high + slack, false};
    double left = (slope.high - slope.low + 2 * noise) / (1 - slope.high - noise);
    bool arrives = left <= settling && (fixed.low > 0 || fixed.high < 0) && inside == 0;
    run_loop(&loop, fixed.low, fixed.high, RANGE_NUMBER, false);
    out->flags = (uint8_t)(absent | RANGE_NUMBER | inside | (arrives ? 0 : RANGE_FAILED));
    out->low = fmax(fixed.low, loop.value.low);
    out->high = fmin(fixed.high, loop.value.high);
    if (absent == 0 && arrives) return;
    run_loop(&loop, domain.low, domain.high, (uint8_t)(RANGE_NUMBER | absent), false); /* it may have ended anywhere */
}
