/* One step after the other: what each may be, given what its operands may be (see run_step in evaluate.c). */
#include <math.h>
#include <string.h>

#include "compute/range_internal.h"

static void set(RangeSlot *out, Interval value, uint8_t flags) {
    out->low = value.low;
    out->high = value.high;
    out->flags = flags;
    if (value.low > value.high) return;
    out->flags |= RANGE_NUMBER;
}

static void set_failing(RangeSlot *out, Interval value, uint8_t flags) { set(out, value, (uint8_t)(flags | (value.fails ? RANGE_FAILED : 0))); }

/* What is absent of two operands, when the result wants both: a failure goes before an unknown. */
static uint8_t absent_of(const RangeSlot *x, const RangeSlot *y) {
    uint8_t flags = (uint8_t)((x->flags | y->flags) & RANGE_ABSENT);
    bool surely_failed = x->flags == RANGE_FAILED || y->flags == RANGE_FAILED;
    return surely_failed ? RANGE_FAILED : flags;
}

static void number_unary(const RangeOp *op, const RangeSlot *x, RangeSlot *out) {
    if (x->flags & RANGE_NUMBER) set_failing(out, interval_unary((SignalUnary)op->aux, x->low, x->high), x->flags & RANGE_ABSENT);
    else out->flags = x->flags;
}

static void number_binary(const RangeOp *op, const RangeSlot *x, const RangeSlot *y, RangeSlot *out) {
    if (x->flags & y->flags & RANGE_NUMBER) {
        set_failing(out, interval_binary((SignalBinary)op->aux, x->low, x->high, y->low, y->high, op->a == op->b), (uint8_t)((x->flags | y->flags) & RANGE_ABSENT));
    } else {
        out->flags = absent_of(x, y);
    }
}

static void number_compare(const RangeOp *op, const RangeSlot *x, const RangeSlot *y, RangeSlot *out) {
    if (x->flags & y->flags & RANGE_NUMBER) {
        set(out, interval_compare((SignalCompare)op->aux, x->low, x->high, y->low, y->high), (uint8_t)((x->flags | y->flags) & RANGE_ABSENT));
    } else {
        out->flags = absent_of(x, y);
    }
}

/* and, or: what decides by itself decides, whatever the other is. */
static void number_logic(const RangeOp *op, const RangeSlot *x, const RangeSlot *y, RangeSlot *out) {
    bool both = op->kind == STEP_AND;
    bool x_no = x->flags & RANGE_NUMBER && x->low < 0.5, x_yes = x->flags & RANGE_NUMBER && x->high > 0.5;
    bool y_no = y->flags & RANGE_NUMBER && y->low < 0.5, y_yes = y->flags & RANGE_NUMBER && y->high > 0.5;
    bool no = both ? x_no || y_no : x_no && y_no, yes = both ? x_yes && y_yes : x_yes || y_yes;
    bool x_open = both ? x_yes : x_no, y_open = both ? y_yes : y_no; /* may it leave the decision to the other? */
    out->flags = 0;
    if (x->flags & RANGE_ABSENT && (y_open || y->flags & RANGE_ABSENT)) out->flags |= x->flags & RANGE_ABSENT;
    if (y->flags & RANGE_ABSENT && x_open) out->flags |= y->flags & RANGE_ABSENT;
    if (no || yes) out->flags |= RANGE_NUMBER;
    out->low = no ? 0 : 1;
    out->high = yes ? 1 : 0;
}

static void number_not(const RangeSlot *x, RangeSlot *out) {
    out->flags = x->flags;
    out->low = x->high > 0.5 ? 0 : 1;
    out->high = x->low > 0.5 ? 0 : 1;
}

static void number_choose(const RangeSlot *when, const RangeSlot *yes, const RangeSlot *no, RangeSlot *out) {
    bool take_yes = when->flags & RANGE_NUMBER && (when->high > 0 || when->low < 0), take_no = when->flags & RANGE_NUMBER && when->low <= 0 && when->high >= 0;
    uint8_t flags = when->flags & RANGE_ABSENT;
    double low = INFINITY, high = -INFINITY;
    if (take_yes) {
        flags |= yes->flags;
        if (yes->flags & RANGE_NUMBER) {
            low = yes->low;
            high = yes->high;
        }
    }
    if (take_no) {
        flags |= no->flags;
        if (no->flags & RANGE_NUMBER) {
            low = no->low < low ? no->low : low;
            high = no->high > high ? no->high : high;
        }
    }
    out->flags = flags;
    out->low = low;
    out->high = high;
}

/* Whether a condition may be, or surely is, false somewhere. */
static void look_for_false(const Range *range, const RangeSlot *condition, bool *may, bool *surely) {
    *may = *surely = false;
    if (condition->shape == SHAPE_NUMBER) {
        *may = condition->flags & RANGE_NUMBER && condition->low <= 0 && condition->high >= 0;
        *surely = condition->flags == RANGE_NUMBER && condition->low == 0 && condition->high == 0;
    } else if (condition->shape == SHAPE_WILD) {
        *may = true;
    } else {
        bool some = false;
        for (uint32_t k = 0; k < range_grid(range, condition)->count; k++) {
            *may = *may || condition->lows[k] < 0.5;
            some = some || condition->highs[k] < 0.5;
        }
        *surely = some && !condition->holed && !(condition->flags & RANGE_ABSENT);
    }
}

static void copy_value(const Range *range, const RangeSlot *from, RangeSlot *out) {
    out->flags = from->flags;
    out->low = from->low;
    out->high = from->high;
    if (out->shape != SHAPE_GRID) return;
    uint32_t count = range_grid(range, out)->count;
    memcpy(out->lows, from->lows, count * sizeof *out->lows);
    memcpy(out->highs, from->highs, count * sizeof *out->highs);
    out->holed = from->holed;
    out->rough = from->rough;
    if (from->holed) memcpy(out->holes, from->holes, count);
    out->size = from->size;
}

static void needs(Range *range, const RangeOp *op, RangeSlot *out) {
    bool may, surely;
    copy_value(range, &range->slots[op->a], out);
    look_for_false(range, &range->slots[op->b], &may, &surely);
    if (!(out->flags & RANGE_VALUE)) return;
    if (may) out->flags |= RANGE_FAILED;
    if (surely) out->flags &= (uint8_t)~RANGE_VALUE;
}

static void number_lag(const RangeSlot *x, const RangeSlot *tau, RangeSlot *out) {
    bool value = x->flags & RANGE_NUMBER && tau->flags & RANGE_VALUE;
    out->flags = (uint8_t)((x->flags | tau->flags) & RANGE_ABSENT);
    out->low = x->low;
    out->high = x->high;
    if (!value) return;
    if (tau->shape != SHAPE_NUMBER || tau->low <= 0) out->flags |= RANGE_FAILED;
    if (tau->shape != SHAPE_NUMBER || tau->high > 0) out->flags |= RANGE_NUMBER;
}

/* ---- tables ---------------------------------------------------------------------------------------------------------- */

/* The evaluation's own interpolation, by the lower or the upper ends of the table's values. */
static double table_at(const Range *range, const RangeOp *op, double key, bool upper) {
    uint32_t count = op->list_count / 2, low = 0, high = count - 1;
    const uint32_t *keys = op->list, *values = op->list + count;
    while (high - low > 1) {
        uint32_t middle = low + (high - low) / 2;
        if (range->slots[keys[middle]].low <= key) low = middle;
        else high = middle;
    }
    const RangeSlot *a = &range->slots[values[low]], *b = &range->slots[values[high]];
    double from = range->slots[keys[low]].low, share = (key - from) / (range->slots[keys[high]].low - from);
    double below = upper ? a->high : a->low, above = upper ? b->high : b->low;
    return below + share * (above - below);
}

/* Keys that vary: between the smallest and the largest value, as long as they surely rise. */
static Interval any_of_table(const Range *range, const RangeOp *op) {
    Interval all = {INFINITY, -INFINITY, true};
    uint32_t count = op->list_count / 2;
    for (uint32_t i = 0; i + 1 < count; i++) {
        double high = range->slots[op->list[i]].high, next = range->slots[op->list[i + 1]].low;
        if (!(next - high > 1e-3 * greater(fabs(range->slots[op->list[0]].low), fabs(range->slots[op->list[count - 1]].high)))) return (Interval){-INFINITY, INFINITY, true};
    }
    for (uint32_t i = 0; i < count; i++) {
        all.low = lesser(all.low, range->slots[op->list[count + i]].low);
        all.high = greater(all.high, range->slots[op->list[count + i]].high);
    }
    double slack = 1e-9 * greater(fabs(all.low), fabs(all.high));
    return (Interval){all.low - slack, all.high + slack, true};
}

Interval range_table(const Range *range, const RangeOp *op, double low, double high, double *slope) {
    uint32_t count = op->list_count / 2;
    bool fixed = count > 0;
    for (uint32_t i = 0; i < op->list_count; i++) {
        const RangeSlot *slot = &range->slots[op->list[i]];
        if (slot->shape != SHAPE_NUMBER || slot->flags != RANGE_NUMBER || isinf(slot->low) || isinf(slot->high)) return (Interval){-INFINITY, INFINITY, true};
        fixed = fixed && (i >= count || slot->low == slot->high);
    }
    *slope = INFINITY;
    if (!fixed) return any_of_table(range, op);
    double first = range->slots[op->list[0]].low, last = range->slots[op->list[count - 1]].low, slack = 1e-12 * greater(fabs(first), fabs(last));
    bool fails = !(low >= first - slack && high <= last + slack);
    if (count < 2 || low > last + slack || high < first - slack) return (Interval){INFINITY, -INFINITY, true};
    low = greater(low, first - slack);
    high = lesser(high, last + slack);
    Interval out = {lesser(table_at(range, op, low, false), table_at(range, op, high, false)), greater(table_at(range, op, low, true), table_at(range, op, high, true)), fails};
    double steepest = 0, size = 0;
    for (uint32_t i = 0; i < count; i++) {
        const RangeSlot *key = &range->slots[op->list[i]], *value = &range->slots[op->list[count + i]];
        size = greater(size, interval_most(value->low, value->high));
        if (key->low >= low && key->low <= high) {
            out.low = lesser(out.low, value->low);
            out.high = greater(out.high, value->high);
        }
        if (i + 1 == count || key->low > high || range->slots[op->list[i + 1]].low < low) continue;
        const RangeSlot *next = &range->slots[op->list[count + i + 1]];
        steepest = greater(steepest, greater(fabs(next->high - value->low), fabs(next->low - value->high)) / (range->slots[op->list[i + 1]].low - key->low));
    }
    out.low -= 4e-15 * size;
    out.high += 4e-15 * size;
    *slope = steepest;
    return out;
}

static void number_look_up(const Range *range, const RangeOp *op, RangeSlot *out) {
    const RangeSlot *key = &range->slots[op->a];
    double slope;
    if (key->flags & RANGE_NUMBER) set_failing(out, range_table(range, op, key->low, key->high, &slope), key->flags & RANGE_ABSENT);
    else out->flags = key->flags;
}

/* ---- all steps --------------------------------------------------------------------------------------------------------- */

static void run_number(Range *range, const RangeOp *op, RangeSlot *out) {
    const RangeSlot *a = &range->slots[op->a], *b = &range->slots[op->b], *c = &range->slots[op->c];
    switch ((StepKind)op->kind) {
    case STEP_UNARY: number_unary(op, a, out); return;
    case STEP_BINARY: number_binary(op, a, b, out); return;
    case STEP_COMPARE: number_compare(op, a, b, out); return;
    case STEP_AND:
    case STEP_OR: number_logic(op, a, b, out); return;
    case STEP_NOT: number_not(a, out); return;
    case STEP_STATED:
        out->flags = RANGE_NUMBER;
        out->low = a->flags & RANGE_UNKNOWN ? 0 : 1;
        out->high = a->flags & (RANGE_VALUE | RANGE_FAILED) ? 1 : 0;
        return;
    case STEP_CHOOSE: number_choose(a, b, c, out); return;
    case STEP_LOOK_UP: number_look_up(range, op, out); return;
    case STEP_NEEDS: needs(range, op, out); return;
    case STEP_LAG: number_lag(a, b, out); return;
    case STEP_ACCUMULATE: out->flags = (uint8_t)((a->flags & RANGE_ABSENT) | (a->flags & RANGE_NUMBER ? RANGE_FAILED : 0)); return;
    case STEP_RATE:
        out->flags = a->flags;
        out->low = out->high = 0;
        return;
    case STEP_REDUCE: range_reduce(range, op, out); return;
    case STEP_AT: range_at(range, op, out); return;
    case STEP_GUESS:
        copy_value(range, a, out);
        return;
    default: break;
    }
    set(out, (Interval){-INFINITY, INFINITY, true}, RANGE_ABSENT);
}

static void run_grid(Range *range, const RangeOp *op, RangeSlot *out) {
    switch ((StepKind)op->kind) {
    case STEP_UNARY: range_signal_unary(range, op, out); return;
    case STEP_BINARY: range_signal_binary(range, op, out); return;
    case STEP_COMPARE: range_signal_compare(range, op, out); return;
    case STEP_AND:
    case STEP_OR: range_signal_logic(range, op, out); return;
    case STEP_NOT: range_signal_not(range, op, out); return;
    case STEP_CHOOSE: range_signal_choose(range, op, out); return;
    case STEP_LOOK_UP: range_signal_look_up(range, op, out); return;
    case STEP_NEEDS: needs(range, op, out); return;
    case STEP_LAG: range_signal_lag(range, op, out); return;
    case STEP_ACCUMULATE: range_signal_accumulate(range, op, out); return;
    case STEP_CYCLE_INPUT: range_signal_input(range, op, out); return;
    default: break;
    }
    out->flags = range->slots[op->a].flags | RANGE_ABSENT; /* RATE */
    range_slot_top(out, range_grid(range, out)->count);
}

void range_run_op(Range *range, uint32_t index) {
    const RangeOp *op = &range->ops[index];
    RangeSlot *out = &range->slots[index];
    double low = out->low, high = out->high;
    uint8_t flags = out->flags;
    bool first = out->computed == 0;
    out->computed = range->run;
    if (op->kind == STEP_SETTLE) {
        range_settle(range, index);
    } else if (out->shape == SHAPE_NUMBER) {
        run_number(range, op, out);
        if (!first && out->low == low && out->high == high && out->flags == flags) return;
    } else {
        run_grid(range, op, out);
        range_run_form(range, index);
    }
    out->changed = range->run;
}

static bool is_stale(const Range *range, const RangeOp *op, uint32_t computed) {
    const RangeSlot *slots = range->slots;
    if (slots[op->a].changed > computed || slots[op->b].changed > computed || slots[op->c].changed > computed) return true;
    if (op->list_count == 0 || op->kind == STEP_SETTLE) return false;
    for (uint32_t i = 0; i < op->list_count; i++) {
        if (slots[op->list[i]].changed > computed) return true;
    }
    return false;
}

static bool loop_is_stale(const Range *range, const RangeOp *op, uint32_t computed) {
    if (is_stale(range, op, computed)) return true;
    for (uint32_t i = 0; i < op->list_count; i++) {
        if (is_stale(range, &range->ops[op->list[i]], computed)) return true;
    }
    return false;
}

static void bring_up_to_date(Range *range, uint32_t index) {
    const RangeOp *op = &range->ops[index];
    const RangeSlot *slot = &range->slots[index];
    if (op->loop != 0 || op->kind == STEP_CONSTANT || slot->shape == SHAPE_WILD) return;
    bool stale = op->kind == STEP_SETTLE ? loop_is_stale(range, op, slot->computed) : is_stale(range, op, slot->computed);
    if (slot->computed == 0 || stale) range_run_op(range, index);
}

void range_run_list(Range *range, const OpSet *list) {
    for (uint32_t word = 0; word < range->words; word++) {
        OpSet left = list[word] & range->stale[word];
        range->stale[word] &= ~left;
        for (; left != 0; left &= left - 1) bring_up_to_date(range, word * 64 + (uint32_t)__builtin_ctzll(left));
    }
}
