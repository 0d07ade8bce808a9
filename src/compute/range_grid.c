/* The parts of a cycle on which signals are bounded, and the bounds of signals that do not vary.
 *
 * Parts begin and end at breaks of these signals where there are enough of them; then the part on which the signals swing most
 * is cut again and again. */
#include <math.h>

#include "compute/range_internal.h"
#include "compute/signal_bound.h"
#include "compute/signal_internal.h"

static const double shortest = 1e-6; /* of the cycle: no part is shorter */

typedef struct Cutting {
    const Signal *signals;
    uint32_t count;
    RangeGrid *grid;
    double scale[RANGE_PIECE_LIMIT];
    double cost[RANGE_PIECE_LIMIT];
} Cutting;

/* How much the signals swing on a part, the more the longer it is. */
static double cost_of(const Cutting *cutting, double from, double to) {
    double sum = 0;
    for (uint32_t i = 0; i < cutting->count; i++) {
        SignalBounds bounds = signal_bound(cutting->signals[i], from, to, 0.5 * cutting->grid->near);
        if (bounds.low < bounds.high && cutting->scale[i] > 0) sum += (bounds.high - bounds.low) / cutting->scale[i];
    }
    return sum < 1e-6 ? 0 : sum * sqrt((to - from) / cutting->grid->duration); /* what is flat but for slack is not cut */
}

/* The break nearest to the middle; the middle itself when there is none inside. */
static double place_to_cut(const Cutting *cutting, double from, double to) {
    double middle = 0.5 * (from + to), margin = shortest * cutting->grid->duration, best = middle, nearest = INFINITY;
    for (uint32_t i = 0; i < cutting->count; i++) {
        const Signal *signal = &cutting->signals[i];
        for (uint32_t p = 1; p < signal->count; p++) {
            double at = signal->pieces[p].start, distance = fabs(at - middle);
            if (at < from + margin || at > to - margin || distance >= nearest) continue;
            nearest = distance;
            best = at;
        }
    }
    return best;
}

static bool cut_dearest(Cutting *cutting) {
    RangeGrid *grid = cutting->grid;
    uint32_t dearest = 0;
    for (uint32_t k = 1; k < grid->count; k++) {
        if (cutting->cost[k] > cutting->cost[dearest]) dearest = k;
    }
    double from = grid->times[dearest], to = grid->times[dearest + 1];
    if (!(cutting->cost[dearest] > 0)) return false;
    if (to - from < 4 * shortest * grid->duration) {
        cutting->cost[dearest] = 0;
        return true;
    }
    double at = place_to_cut(cutting, from, to);
    for (uint32_t k = grid->count; k > dearest; k--) {
        grid->times[k + 1] = grid->times[k];
        cutting->cost[k] = cutting->cost[k - 1];
    }
    grid->times[dearest + 1] = at;
    grid->count++;
    cutting->cost[dearest] = cost_of(cutting, from, at);
    cutting->cost[dearest + 1] = cost_of(cutting, at, to);
    return true;
}

void range_make_grid(RangeGrid *grid, const Signal *signals, uint32_t count, double duration, uint32_t pieces) {
    if (count > RANGE_PIECE_LIMIT) count = RANGE_PIECE_LIMIT; /* enough to see where things happen */
    *grid = (RangeGrid){.count = 1, .duration = duration, .near = SIGNAL_BREAK_TOLERANCE * duration};
    grid->times[1] = duration;
    Cutting cutting = {.signals = signals, .count = count, .grid = grid};
    for (uint32_t i = 0; i < count; i++) cutting.scale[i] = signal_scale_of(signals[i]);
    cutting.cost[0] = cost_of(&cutting, 0, duration);
    while (grid->count < pieces && cut_dearest(&cutting)) {
    }
    for (uint32_t k = 0; k < grid->count; k++) grid->lengths[k] = grid->times[k + 1] - grid->times[k];
}

void range_fill_slot(RangeSlot *slot, const RangeGrid *grid, Signal signal) {
    slot->size = 0;
    slot->holed = slot->rough = false;
    for (uint32_t i = 0; i < signal.count; i++) slot->rough = slot->rough || signal.pieces[i].end - signal.pieces[i].start < shortest * grid->duration;
    for (uint32_t k = 0; k < grid->count; k++) {
        SignalBounds bounds = signal_bound(signal, grid->times[k], grid->times[k + 1], 0.5 * grid->near);
        bool empty = bounds.low > bounds.high;
        slot->lows[k] = empty ? 1 : bounds.low;
        slot->highs[k] = empty ? 0 : bounds.high;
        slot->holes[k] = (uint8_t)((bounds.unknown ? RANGE_UNKNOWN : 0) | (bounds.void_ ? RANGE_FAILED : 0));
        slot->holed = slot->holed || slot->holes[k] != 0;
        slot->size = fmax(slot->size, fmax(fabs(slot->lows[k]), fabs(slot->highs[k])));
    }
}
