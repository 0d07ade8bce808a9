/* Bounds of signals that look over the whole cycle, and of numbers that are taken from signals. */
#include <math.h>
#include <string.h>

#include "compute/range_internal.h"

static const double fit = 1e-12, summed = 1e-10; /* of the magnitude: see range_signal.c; what reductions and lags promise */

static uint8_t all_holes(const RangeView *x, uint32_t count) {
    uint8_t holes = 0;
    for (uint32_t k = 0; k < count && x->holes; k++) holes |= x->holes[k];
    return holes;
}

/* ---- lag ------------------------------------------------------------------------------------------------------------- */

/* The answer to a signal that is constant on each part, from part to part: it runs towards the part's value and never past it, so
 * it stays between its values at both ends. The lag of a larger signal is larger, as all its weights are positive. */
static void respond(const RangeGrid *grid, const double *x, const double *decay, bool upper, double *out) {
    double y = 0;
    for (uint32_t k = 0; k < grid->count; k++) y += (x[k] - y) * decay[k];
    y /= decay[grid->count]; /* the start that the cycle comes back to */
    for (uint32_t k = 0; k < grid->count; k++) {
        double next = y + (x[k] - y) * decay[k];
        out[k] = upper == (next > y) ? next : y;
        y = next;
    }
}

static void find_decay(const RangeGrid *grid, double tau, double *decay) {
    for (uint32_t k = 0; k < grid->count; k++) decay[k] = -expm1(-grid->lengths[k] / tau);
    decay[grid->count] = -expm1(-grid->duration / tau);
}

/* How far the weights of a lag over one cycle are from even ones, in sum: what the answer can be off the mean of a signal is
 * half of that, times how far the signal swings. It falls with tau, since the weights of a longer tau lie between. */
static double unevenness(double duration, double tau) {
    double r = duration / tau;
    if (r < 1e-3) return 0.51 * r;
    double lost = -expm1(-r);
    return lesser(2 * (1 / lost - 1 / r - log(r / lost) / r) + 1e-11, 2);
}

static void lag_between(const Range *range, uint32_t slot, const RangeGrid *grid, const RangeView *x, double least_tau, RangeSlot *out) {
    double low = INFINITY, high = -INFINITY, mean_low = 0, mean_high = 0;
    for (uint32_t k = 0; k < grid->count; k++) {
        low = lesser(low, x->low[k]);
        high = greater(high, x->high[k]);
        mean_low += grid->lengths[k] * x->low[k];
        mean_high += grid->lengths[k] * x->high[k];
    }
    mean_low /= grid->duration;
    mean_high /= grid->duration;
    double summed_low, summed_high;
    if (range_form_mean(range, slot, &summed_low, &summed_high)) {
        mean_low = greater(mean_low, summed_low);
        mean_high = lesser(mean_high, summed_high);
    }
    double reach = least_tau > 0 ? 0.5 * unevenness(grid->duration, least_tau) * (high - low) : INFINITY;
    low = greater(low, mean_low - reach);
    high = lesser(high, mean_high + reach);
    for (uint32_t k = 0; k < grid->count; k++) {
        out->lows[k] = low;
        out->highs[k] = high;
    }
}

void range_signal_lag(Range *range, const RangeOp *op, RangeSlot *out) {
    const RangeGrid *grid = range_grid(range, out);
    const RangeSlot *tau = &range->slots[op->b];
    RangeView x = range_view(range, &range->slots[op->a], grid->count, 0);
    uint8_t holes = all_holes(&x, grid->count);
    double decay[RANGE_PIECE_LIMIT + 1];
    out->flags = (uint8_t)((x.flags | tau->flags) & RANGE_ABSENT);
    out->size = 0;
    out->holed = false;
    if (!(x.flags & RANGE_VALUE) || !(tau->flags & RANGE_VALUE)) return;
    if (tau->shape != SHAPE_NUMBER || tau->low <= 0) out->flags |= RANGE_FAILED;
    if (tau->shape != SHAPE_NUMBER || tau->high <= 0) return;
    out->flags |= x.flags & RANGE_VALUE;
    memset(out->holes, holes, grid->count);
    out->holed = holes != 0;
    if (!(x.size < INFINITY)) {
        range_slot_top(out, grid->count);
        return;
    }
    if (tau->low == tau->high) {
        const double *known = op->decay;
        if (known == NULL) find_decay(grid, tau->low, decay);
        respond(grid, x.low, known ? known : decay, false, out->lows);
        respond(grid, x.high, known ? known : decay, true, out->highs);
    } else {
        lag_between(range, op->a, grid, &x, tau->low, out);
    }
    range_slot_widen(out, grid->count, summed * x.size);
}

/* ---- integral, inputs of segments ---------------------------------------------------------------------------------------- */

void range_signal_accumulate(Range *range, const RangeOp *op, RangeSlot *out) {
    const RangeGrid *grid = range_grid(range, out);
    RangeView x = range_view(range, &range->slots[op->a], grid->count, 0);
    double low = 0, high = 0;
    uint8_t lost = 0; /* after a void the integral is not known any more */
    out->flags = (uint8_t)(x.flags & (RANGE_ABSENT | RANGE_SIGNAL));
    if (x.flags & RANGE_NUMBER) out->flags |= RANGE_FAILED;
    for (uint32_t k = 0; k < grid->count; k++) {
        double gain_low = x.low[k] * grid->lengths[k], gain_high = x.high[k] * grid->lengths[k];
        out->lows[k] = low + (gain_low < 0 ? gain_low : 0);
        out->highs[k] = high + (gain_high > 0 ? gain_high : 0);
        low += gain_low;
        high += gain_high;
        lost |= x.holes ? x.holes[k] : 0;
        out->holes[k] = lost;
    }
    out->holed = lost != 0;
    if (x.size < INFINITY) range_slot_widen(out, grid->count, fit * grid->duration * x.size);
    else range_slot_top(out, grid->count);
}

/* The list: slots of the segments' values; then for each part the first and the last segment that it holds. */
void range_signal_input(Range *range, const RangeOp *op, RangeSlot *out) {
    const RangeGrid *grid = range_grid(range, out);
    const uint32_t *between = op->list + op->list_count;
    uint8_t flags = RANGE_SIGNAL;
    double size = 0;
    bool known = true;
    for (uint32_t i = 0; i < op->list_count; i++) {
        const RangeSlot *value = &range->slots[op->list[i]];
        flags |= value->flags & RANGE_ABSENT;
        known = known && value->shape == SHAPE_NUMBER;
        if (!(value->flags & RANGE_NUMBER)) flags &= (uint8_t)~RANGE_SIGNAL;
    }
    out->flags = known ? flags : flags | RANGE_SIGNAL | RANGE_FAILED;
    out->holed = false;
    for (uint32_t k = 0; k < grid->count && known; k++) {
        double low = INFINITY, high = -INFINITY;
        for (uint32_t i = between[2 * k]; i <= between[2 * k + 1]; i++) {
            low = lesser(low, range->slots[op->list[i]].low);
            high = greater(high, range->slots[op->list[i]].high);
        }
        out->lows[k] = low;
        out->highs[k] = high;
        size = greater(size, interval_most(low, high));
    }
    out->size = size;
    if (!known || (flags & RANGE_SIGNAL && !(size < INFINITY))) range_slot_top(out, grid->count);
    else if (!(flags & RANGE_SIGNAL)) out->size = 0;
    else range_slot_widen(out, grid->count, 0);
}

/* ---- numbers --------------------------------------------------------------------------------------------------------------- */

static Interval reduce_signal(Reduction reduction, const RangeGrid *grid, const RangeView *x) {
    double low = -INFINITY, high = -INFINITY, sum_low = 0, sum_high = 0;
    const double *a = x->low, *b = x->high, *lengths = grid->lengths;
    switch (reduction) {
    case REDUCE_MAXIMUM:
        for (uint32_t k = 0; k < grid->count; k++) {
            low = a[k] > low ? a[k] : low;
            high = b[k] > high ? b[k] : high;
        }
        return (Interval){low, high, false};
    case REDUCE_MINIMUM:
        low = high = INFINITY;
        for (uint32_t k = 0; k < grid->count; k++) {
            low = a[k] < low ? a[k] : low;
            high = b[k] < high ? b[k] : high;
        }
        return (Interval){low, high, false};
    case REDUCE_PEAK:
        low = high = 0;
        for (uint32_t k = 0; k < grid->count; k++) {
            double least = interval_least(a[k], b[k]), most = interval_most(a[k], b[k]);
            low = least > low ? least : low;
            high = most > high ? most : high;
        }
        return (Interval){low, high, false};
    case REDUCE_RMS:
        for (uint32_t k = 0; k < grid->count; k++) {
            double least = interval_least(a[k], b[k]), most = interval_most(a[k], b[k]);
            sum_low += lengths[k] * least * least;
            sum_high += lengths[k] * most * most;
        }
        return (Interval){sqrt(sum_low / grid->duration), sqrt(sum_high / grid->duration), false};
    case REDUCE_DURATION: return (Interval){grid->duration, grid->duration, false};
    case REDUCE_MEAN:
    case REDUCE_SHARE:
    case REDUCE_INTEGRAL: break;
    }
    for (uint32_t k = 0; k < grid->count; k++) {
        sum_low += lengths[k] * a[k];
        sum_high += lengths[k] * b[k];
    }
    double over = reduction == REDUCE_INTEGRAL ? 1 : grid->duration;
    return (Interval){sum_low / over, sum_high / over, false};
}

static bool needs_cycle(Reduction reduction) { return reduction == REDUCE_INTEGRAL || reduction == REDUCE_DURATION; }

static void reduce_number(const RangeSlot *x, Reduction reduction, RangeSlot *out) {
    bool magnitude = reduction == REDUCE_PEAK || reduction == REDUCE_RMS;
    out->flags = x->flags;
    if (needs_cycle(reduction) && x->flags & RANGE_NUMBER) out->flags = (uint8_t)((x->flags & RANGE_ABSENT) | RANGE_FAILED);
    out->low = magnitude ? interval_least(x->low, x->high) : x->low;
    out->high = magnitude ? interval_most(x->low, x->high) : x->high;
}

void range_reduce(Range *range, const RangeOp *op, RangeSlot *out) {
    const RangeSlot *slot = &range->slots[op->a];
    Reduction reduction = (Reduction)op->aux;
    if (slot->shape == SHAPE_NUMBER) {
        reduce_number(slot, reduction, out);
        return;
    }
    if (slot->shape == SHAPE_WILD) {
        *out = (RangeSlot){.low = reduction == REDUCE_PEAK || reduction == REDUCE_RMS ? 0 : -INFINITY, .high = INFINITY,
                           .flags = RANGE_NUMBER | RANGE_ABSENT, .shape = SHAPE_NUMBER, .changed = out->changed, .computed = out->computed};
        return;
    }
    const RangeGrid *grid = range_grid(range, slot);
    RangeView x = range_view(range, slot, grid->count, 0);
    out->flags = (uint8_t)((x.flags & RANGE_ABSENT) | all_holes(&x, grid->count));
    out->low = out->high = 0;
    if (!(x.flags & RANGE_VALUE)) return;
    if (x.flags & RANGE_SIGNAL || !needs_cycle(reduction)) out->flags |= RANGE_NUMBER;
    if (x.flags & RANGE_NUMBER && needs_cycle(reduction)) out->flags |= RANGE_FAILED;
    Interval value = reduce_signal(reduction, grid, &x);
    double slack = reduction == REDUCE_DURATION ? 4e-12 * grid->duration : summed * (reduction == REDUCE_INTEGRAL ? grid->duration : 1) * x.size;
    out->low = lesser(value.low, value.high) - slack;
    out->high = greater(value.low, value.high) + slack;
    Interval sum;
    if (slot->shape == SHAPE_GRID && (x.flags & RANGE_VALUE) == RANGE_SIGNAL && range_form_reduce(range, op, &sum)) {
        out->low = greater(out->low, sum.low);
        out->high = lesser(out->high, sum.high);
    }
    if (!(x.size < INFINITY) && reduction != REDUCE_DURATION) {
        out->low = -INFINITY;
        out->high = INFINITY;
        out->flags |= RANGE_FAILED;
    }
    if (reduction == REDUCE_PEAK || reduction == REDUCE_RMS) out->low = greater(out->low, 0);
    if (reduction == REDUCE_SHARE) {
        out->low = greater(out->low, 0);
        out->high = lesser(out->high, 1);
    }
}

void range_at(Range *range, const RangeOp *op, RangeSlot *out) {
    const RangeSlot *slot = &range->slots[op->a], *instant = &range->slots[op->b];
    out->flags = (uint8_t)((slot->flags | instant->flags) & RANGE_ABSENT);
    out->low = -INFINITY;
    out->high = INFINITY;
    if (!(slot->flags & RANGE_VALUE) || !(instant->flags & RANGE_VALUE)) return;
    if (slot->shape == SHAPE_NUMBER) {
        out->flags |= RANGE_NUMBER;
        out->low = slot->low;
        out->high = slot->high;
        return;
    }
    out->flags |= RANGE_NUMBER;
    if (slot->shape == SHAPE_WILD || instant->shape != SHAPE_NUMBER) {
        out->flags |= RANGE_ABSENT;
        return;
    }
    const RangeGrid *grid = range_grid(range, slot);
    double from = instant->low - 2 * grid->near, to = instant->high + 2 * grid->near, low = INFINITY, high = -INFINITY;
    if (instant->low < 0 || instant->high > grid->duration) out->flags |= RANGE_FAILED;
    for (uint32_t k = 0; k < grid->count; k++) {
        if (grid->times[k + 1] < from || grid->times[k] > to) continue;
        low = lesser(low, slot->lows[k]);
        high = greater(high, slot->highs[k]);
        if (slot->holed) out->flags |= slot->holes[k];
    }
    if (low > high) { /* outside the cycle, or nowhere a value */
        if (!(slot->flags & RANGE_NUMBER)) out->flags &= (uint8_t)~RANGE_NUMBER;
        return;
    }
    out->low = low - fit * slot->size;
    out->high = high + fit * slot->size;
}
