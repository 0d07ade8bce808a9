/* Fixed points of a whole box.
 *
 * Let D be an interval in which, for every member of the box, the formula f has slopes between m and M < 1. Then f(x) - x falls
 * throughout, and where it is at some place c, its zero p lies in N = c + (f(c) - c) / (1 - [m, M]) as long as N is in D: each
 * member has exactly one fixed point in D, and all are in N.
 *
 * Does the evaluation (settle.c) end there? From x it goes to f(x), at first, and later to x + (f(x) - x) / (1 - s) with the slope
 * s of a chord between places it has seen. The distance to p becomes (t - s) / (1 - s) of what it was, t the slope of the chord
 * from p to x. When no member's slope changes by more than `turn` over D, that is at most turn / (1 - M). Where that is at
 * most 1, it never gets farther from p than it was after its first step; so it never leaves D, when D reaches that far beyond N. It ends where f(x) is within 1e-13 of x, which is as near to p but for a factor of
 * 1 / (1 - M). `noise` leaves room for what rounding makes of a chord's slope: places that are not at rest are 1e-13 apart.
 *
 * Slopes are found with the values: intervals of derivatives, front to back, and beside them how far one member's derivative
 * changes over D, which is much less than the interval when it is the box that makes it wide. Where a formula jumps, or its slope is not below one
 * for the whole box, nothing is claimed. */
#include <math.h>

#include "compute/range_internal.h"

static const double noise = 0.05;
static const double settling = 0.8; /* what a step leaves of the distance to p, so that it surely arrives in its passes */
static const Interval steep = {-INFINITY, INFINITY, false};

enum { TRIES = 8, REFINEMENTS = 2 };

/* ---- slopes ---------------------------------------------------------------------------------------------------------- */

static Interval times(Interval a, Interval b) { return interval_binary(SIGNAL_MULTIPLY, a.low, a.high, b.low, b.high, false); }
static Interval plus(Interval a, Interval b) { return interval_binary(SIGNAL_ADD, a.low, a.high, b.low, b.high, false); }
static Interval minus(Interval a, Interval b) { return interval_binary(SIGNAL_SUBTRACT, a.low, a.high, b.low, b.high, false); }
static Interval over(Interval a, Interval b) { return b.low <= 0 && b.high >= 0 ? steep : interval_binary(SIGNAL_DIVIDE, a.low, a.high, b.low, b.high, false); }
static Interval join(Interval a, Interval b) { return (Interval){lesser(a.low, b.low), greater(a.high, b.high), false}; }
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

/* ---- how slopes change --------------------------------------------------------------------------------------------------- */

static double most_of(Interval x) { return interval_most(x.low, x.high); }

static double turn_of(const Range *range, uint32_t loop, uint32_t slot) {
    return slot <= range->op_count && range->ops[slot].loop == loop ? range->turns[slot] : 0;
}

/* Of 1 / y, a bound of the slope's change: y'/y² changes with y' and with y. */
static double reciprocal_turn(Interval y, double slope, double turn, double width) {
    double least = interval_least(y.low, y.high);
    return turn / (least * least) + 2 * slope * slope * width / (least * least * least);
}

static double binary_turn(const Range *range, const RangeOp *op, double width) {
    Interval x = value_of(range, op->a), y = value_of(range, op->b);
    double slope_x = most_of(slope_of(range, op->loop, op->a)), slope_y = most_of(slope_of(range, op->loop, op->b));
    double turn_x = turn_of(range, op->loop, op->a), turn_y = turn_of(range, op->loop, op->b);
    switch ((SignalBinary)op->aux) {
    case SIGNAL_ADD:
    case SIGNAL_SUBTRACT: return turn_x + turn_y;
    case SIGNAL_MULTIPLY: return turn_x * most_of(y) + turn_y * most_of(x) + 2 * slope_x * slope_y * width;
    case SIGNAL_DIVIDE: {
        double least = interval_least(y.low, y.high);
        if (slope_y == 0) return turn_x / least;
        return turn_x / least + reciprocal_turn(y, slope_y, turn_y, width) * most_of(x) + 2 * slope_x * slope_y / (least * least) * width;
    }
    case SIGNAL_POWER:
        if (slope_y == 0 && y.low == 2 && y.high == 2) return 2 * (turn_x * most_of(x) + slope_x * slope_x * width);
        return INFINITY;
    default: return INFINITY;
    }
}

/* `width` of D. Never more than the interval of slopes is wide. */
static double turn_of_op(const Range *range, uint32_t index, double width) {
    const RangeOp *op = &range->ops[index];
    Interval slope = range->slopes[index], result = value_of(range, index);
    double most = slope.high - slope.low, turn = INFINITY, slope_a = most_of(slope_of(range, op->loop, op->a)), turn_a = turn_of(range, op->loop, op->a);
    if (op->kind == STEP_BINARY) turn = binary_turn(range, op, width);
    else if (op->kind == STEP_NEEDS) turn = turn_a;
    else if (op->kind == STEP_CHOOSE) turn = greater(turn_of(range, op->loop, op->b), turn_of(range, op->loop, op->c));
    else if (op->kind == STEP_UNARY && op->aux == SIGNAL_NEGATE) turn = turn_a;
    else if (op->kind == STEP_UNARY && op->aux == SIGNAL_EXP) turn = most_of(result) * (turn_a + slope_a * slope_a * width);
    else if (op->kind == STEP_UNARY && (op->aux == SIGNAL_SIN || op->aux == SIGNAL_COS)) turn = turn_a + slope_a * slope_a * width;
    return turn >= 0 && turn < most ? turn : most; /* the other way about where it is no number */
}

/* ---- the formula over an interval ---------------------------------------------------------------------------------------- */

typedef struct Loop {
    Range *range;
    const RangeOp *op;
    Interval value, slope; /* of the formula; the slope as of the latest run that found slopes */
    double turn;           /* how far one member's slope changes */
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
    if (sloped) {
        range->slopes[op->list[0]] = (Interval){1, 1, false};
        range->turns[op->list[0]] = 0;
    }
    for (uint32_t i = 1; i < op->list_count; i++) {
        range_run_op(range, op->list[i]);
        if (!sloped) continue;
        range->slopes[op->list[i]] = slope_of_op(range, op->list[i]);
        range->turns[op->list[i]] = turn_of_op(range, op->list[i], high - low);
    }
    loop->flags = range->slots[op->b].flags;
    loop->value = value_of(range, op->b);
    if (!sloped) return;
    uint32_t settle = (uint32_t)(op - range->ops);
    Interval slope = slope_of(range, settle, op->b);
    double slack = 1e-9 * greater(interval_most(slope.low, slope.high), 1e-3);
    loop->slope = (Interval){slope.low - slack, slope.high + slack, false};
    loop->turn = turn_of(range, settle, op->b) * (1 + 1e-9) + slack;
}

/* All places that the evaluation may see: the start x, and what is as near to p as the first step leads, |f(x) - p| being at most
 * `factor` times |x - p|. Over p and x these are lines between corners. */
static Interval places_of(Interval start, Interval fixed, double factor, double slack) {
    const double starts[2] = {start.low, start.high}, ends[2] = {fixed.low, fixed.high};
    Interval places = start;
    for (int i = 0; i < 4; i++) {
        double p = ends[i % 2], reach = factor * fabs(p - starts[i / 2]) * (1 + 1e-9) + slack;
        places.low = lesser(places.low, p - reach);
        places.high = greater(places.high, p + reach);
    }
    return places;
}

/* N for all of D, and all places that the evaluation may see if it is right. False: nothing can be said. */
static bool find_fixed(Loop *loop, Interval domain, double c, Interval start, Interval *fixed, Interval *needed) {
    run_loop(loop, domain.low, domain.high, RANGE_NUMBER, true);
    Interval slope = loop->slope;
    loop->flags_over = loop->flags;
    double left = (loop->turn + 2 * noise) / (1 - slope.high - noise);
    if (!(slope.high + noise < 1) || !(slope.low > -INFINITY) || !(left <= 1) || !(loop->flags & RANGE_NUMBER)) return false;
    run_loop(loop, c, c, RANGE_NUMBER, false);
    if (!(loop->flags & RANGE_NUMBER)) return false;
    Interval gap = minus(loop->value, (Interval){c, c, false});
    *fixed = plus((Interval){c, c, false}, over(gap, (Interval){1 - slope.high, 1 - slope.low, false}));
    double slack = 1e-14 * (fabs(c) + interval_most(fixed->low, fixed->high));
    fixed->low -= slack;
    fixed->high += slack;
    *needed = places_of(start, *fixed, most_of(slope), slack);
    return isfinite(needed->low) && isfinite(needed->high) && isfinite(fixed->low) && isfinite(fixed->high);
}

/* Looks for D, and leaves the loop's slope and flags as they are over it. */
static bool find_domain(Loop *loop, Interval start, Interval *domain, Interval *fixed) {
    Interval first = loop->value;
    double low = lesser(start.low, first.low), high = greater(start.high, first.high), width = high - low;
    *domain = (Interval){low - 0.1 * width, high + 0.3 * width, false};
    double c = 0.5 * (first.low + first.high);
    Interval needed;
    for (int i = 0; i < TRIES; i++) {
        if (!isfinite(domain->low) || !isfinite(domain->high)) return false;
        if (!find_fixed(loop, *domain, c, start, fixed, &needed)) return false;
        if (needed.low >= domain->low && needed.high <= domain->high) return true;
        c = 0.5 * (fixed->low + fixed->high);
        double room = 0.05 * (needed.high - needed.low);
        *domain = (Interval){needed.low - room, needed.high + room, false};
    }
    return false;
}

/* Fixed points of a smaller and smaller part of D. */
static void refine(Loop *loop, Interval *fixed) {
    for (int i = 0; i < REFINEMENTS; i++) {
        double c = 0.5 * (fixed->low + fixed->high), width = fixed->high - fixed->low;
        Interval next, places;
        if (width <= 1e-12 * fabs(c)) return;
        if (!find_fixed(loop, *fixed, c, *fixed, &next, &places)) return;
        next = (Interval){greater(next.low, fixed->low), lesser(next.high, fixed->high), false};
        if (!(next.low <= next.high)) return;
        bool done = next.high - next.low > 0.7 * width;
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
    double left = (loop.turn + 2 * noise) / (1 - slope.high - noise);
    uint8_t inside = loop.flags_over & RANGE_ABSENT;
    refine(&loop, &fixed);
    double slack = 4e-13 * interval_most(fixed.low, fixed.high) * (2 - slope.low) / (1 - slope.high);
    fixed = (Interval){fixed.low - slack, fixed.high + slack, false};
    bool arrives = left <= settling && (fixed.low > 0 || fixed.high < 0) && inside == 0;
    run_loop(&loop, fixed.low, fixed.high, RANGE_NUMBER, false);
    out->flags = (uint8_t)(absent | RANGE_NUMBER | inside | (arrives ? 0 : RANGE_FAILED));
    out->low = greater(fixed.low, loop.value.low);
    out->high = lesser(fixed.high, loop.value.high);
    if (absent == 0 && arrives) return;
    run_loop(&loop, domain.low, domain.high, (uint8_t)(RANGE_NUMBER | absent), false); /* it may have ended anywhere */
}
