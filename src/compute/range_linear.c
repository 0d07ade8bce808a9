/* Signals that are sums of signals that do not vary, each times a number that does.
 *
 * A torque is inertia · acceleration + friction · sign(speed) + …, where only the factors are the parts' own. On a grid its mean
 * square would be as wide as the signal swings on each part. As a sum, the mean square is Σ factor · factor · mean(product), with
 * products that are worked out once; only the widths of the factors are left.
 *
 * Which signals a step is a sum of is found at opening; a run finds bounds of the factors. `slack` is what the evaluation's own
 * signal may be off the sum, added up along the way (see range_signal.c). */
#include <math.h>
#include <string.h>

#include "compute/range_internal.h"
#include "compute/signal_internal.h"

enum { TERM_LIMIT = 24, BASIS_LIMIT = 512 };

static const double fit = 1e-12, cut = 1e-9, summed = 1e-10; /* see range_signal.c */

/* ---- signals that do not vary ------------------------------------------------------------------------------------------ */

/* A little inside the piece, so that it is clear which piece is meant. */
static double inside_of(const Piece *piece, double time) {
    double margin = 1e-6 * (piece->end - piece->start);
    return lesser(greater(time, piece->start + margin), piece->end - margin);
}

/* Basis 0 is the constant 1; it stands first in every form. */
static uint32_t add_basis(Range *range, uint32_t kind, uint32_t a, uint32_t b, Signal signal) {
    for (uint32_t i = 0; i < signal.count; i++) {
        if (signal.pieces[i].size == 0) return BASIS_LIMIT;
    }
    if (range->basis_count == BASIS_LIMIT || signal.count == 0) return BASIS_LIMIT;
    RangeBasis *basis = &range->basis[range->basis_count];
    *basis = (RangeBasis){.kind = kind, .a = a, .b = b, .signal = signal};
    basis->mean = signal_mean(signal).value;
    Extreme maximum = signal_maximum(signal), minimum = signal_minimum(signal);
    basis->maximum = maximum.value;
    basis->minimum = minimum.value;
    basis->times[0] = inside_of(&signal.pieces[maximum.piece], maximum.time);
    basis->times[1] = inside_of(&signal.pieces[minimum.piece], minimum.time);
    return range->basis_count++;
}

enum { BASIS_GIVEN = 1000, BASIS_PRODUCT, BASIS_WHERE, BASIS_WHERE_NOT, BASIS_ABS, BASIS_SIGN, BASIS_LAG };

static bool find_basis(const Range *range, uint32_t kind, uint32_t a, uint32_t b, uint32_t *found) {
    for (uint32_t i = 1; i < range->basis_count; i++) {
        if (range->basis[i].kind != kind || range->basis[i].a != a || range->basis[i].b != b) continue;
        *found = i;
        return true;
    }
    return false;
}

/* `a` of two signals that are there, or of a signal and the constant; BASIS_LIMIT: it cannot be. */
static uint32_t product_of(Range *range, uint32_t a, uint32_t b) {
    uint32_t found;
    if (a == 0 || b == 0) return a + b;
    if (a > b) return product_of(range, b, a);
    if (find_basis(range, BASIS_PRODUCT, a, b, &found)) return found;
    return add_basis(range, BASIS_PRODUCT, a, b, signal_binary(range->arena, SIGNAL_MULTIPLY, range->basis[a].signal, range->basis[b].signal));
}

static uint32_t masked(Range *range, uint32_t a, uint32_t slot, bool yes) {
    uint32_t found, kind = yes ? BASIS_WHERE : BASIS_WHERE_NOT;
    if (find_basis(range, kind, a, slot, &found)) return found;
    Signal condition = range->signals[slot], zero = signal_constant(range->arena, signal_duration(condition), 0);
    Signal own = a ? range->basis[a].signal : signal_constant(range->arena, signal_duration(condition), 1);
    return add_basis(range, kind, a, slot, signal_choose(range->arena, condition, yes ? own : zero, yes ? zero : own));
}

static uint32_t changed_by(Range *range, uint32_t kind, uint32_t a, uint32_t slot) {
    uint32_t found;
    if (find_basis(range, kind, a, slot, &found)) return found;
    Signal own = range->basis[a].signal;
    Signal signal = kind == BASIS_LAG ? signal_lag(range->arena, own, range->slots[slot].low) : signal_unary(range->arena, kind == BASIS_ABS ? SIGNAL_ABS : SIGNAL_SIGN, own);
    return add_basis(range, kind, a, slot, signal);
}

/* ---- opening ------------------------------------------------------------------------------------------------------------- */

typedef struct FormMaker {
    Range *range;
    uint32_t basis[TERM_LIMIT + 1], count;
    bool full;
} FormMaker;

static FormMaker maker(Range *range) { return (FormMaker){.range = range, .count = 1}; }

static uint16_t place_of(FormMaker *form, uint32_t basis) {
    if (basis >= BASIS_LIMIT) form->full = true;
    for (uint32_t i = 0; i < form->count; i++) {
        if (form->basis[i] == basis) return (uint16_t)i;
    }
    if (form->full || form->count == TERM_LIMIT) {
        form->full = true;
        return 0;
    }
    form->basis[form->count] = basis;
    return (uint16_t)form->count++;
}

/* Of an operand: its form, or NULL. A number is a form of the constant alone. */
static const RangeForm *terms_of(const Range *range, uint32_t slot) {
    if (range->slots[slot].shape == SHAPE_NUMBER) return &range->constant_form;
    return range->forms[slot].count ? &range->forms[slot] : NULL;
}

static uint16_t *room_for(const Range *range, const RangeForm *form) { return arena_take(range->arena, form->count * sizeof(uint16_t)); }

static bool join_terms(FormMaker *to, const RangeForm *form, uint16_t *places, uint32_t condition, bool yes) {
    for (uint32_t i = 0; i < form->count; i++) places[i] = place_of(to, condition ? masked(to->range, form->basis[i], condition, yes) : form->basis[i]);
    return !to->full;
}

static bool change_terms(FormMaker *to, const RangeForm *form, uint16_t *places, uint32_t kind, uint32_t slot) {
    for (uint32_t i = 1; i < form->count; i++) places[i] = place_of(to, changed_by(to->range, kind, form->basis[i], slot));
    return !to->full;
}

static bool multiply_terms(FormMaker *to, const RangeForm *a, const RangeForm *b, uint16_t *places) {
    for (uint32_t i = 0; i < a->count && !to->full; i++) {
        for (uint32_t k = 0; k < b->count && !to->full; k++) places[i * b->count + k] = place_of(to, product_of(to->range, a->basis[i], b->basis[k]));
    }
    return !to->full;
}

static bool is_number(const Range *range, uint32_t slot) { return range->slots[slot].shape == SHAPE_NUMBER; }
static bool is_given(const Range *range, uint32_t slot) { return slot > range->op_count && range->slots[slot].flags & RANGE_VALUE; }

static bool make_unary(Range *range, const RangeOp *op, RangeForm *out, FormMaker *to, const RangeForm *a) {
    bool one = a->pure && a->count == 2;
    out->to_a = room_for(range, a);
    if (op->aux == SIGNAL_NEGATE) {
        out->pure = a->pure;
        return join_terms(to, a, out->to_a, 0, false);
    }
    if ((op->aux != SIGNAL_ABS && op->aux != SIGNAL_SIGN) || !one) return false;
    return change_terms(to, a, out->to_a, op->aux == SIGNAL_ABS ? BASIS_ABS : BASIS_SIGN, 0);
}

static bool make_product(Range *range, RangeForm *out, FormMaker *to, const RangeForm *a, const RangeForm *b) {
    out->product = true;
    out->to_a = arena_take(range->arena, a->count * b->count * sizeof(uint16_t));
    return multiply_terms(to, a, b, out->to_a);
}

static bool make_binary(Range *range, const RangeOp *op, RangeForm *out, FormMaker *to, const RangeForm *a, const RangeForm *b) {
    switch ((SignalBinary)op->aux) {
    case SIGNAL_ADD:
    case SIGNAL_SUBTRACT:
        out->to_a = room_for(range, a);
        out->to_b = room_for(range, b);
        return join_terms(to, a, out->to_a, 0, false) && join_terms(to, b, out->to_b, 0, false);
    case SIGNAL_MULTIPLY:
        out->pure = (a->pure && is_number(range, op->b)) || (b->pure && is_number(range, op->a));
        return make_product(range, out, to, a, b);
    case SIGNAL_DIVIDE:
        if (!is_number(range, op->b)) return false;
        out->pure = a->pure;
        out->to_a = room_for(range, a);
        return join_terms(to, a, out->to_a, 0, false);
    case SIGNAL_POWER: {
        const RangeSlot *exponent = &range->slots[op->b];
        if (op->b <= range->op_count || exponent->shape != SHAPE_NUMBER || exponent->flags != RANGE_NUMBER || exponent->low != 2) return false;
        return make_product(range, out, to, a, a);
    }
    default: return false;
    }
}

static bool make_choose(Range *range, const RangeOp *op, RangeForm *out, FormMaker *to) {
    const RangeForm *yes = terms_of(range, op->b), *no = terms_of(range, op->c);
    bool whole = is_number(range, op->a);
    if (yes == NULL || no == NULL || (!whole && (!is_given(range, op->a) || range->slots[op->a].holed))) return false;
    out->to_a = room_for(range, yes);
    out->to_b = room_for(range, no);
    return join_terms(to, yes, out->to_a, whole ? 0 : op->a, true) && join_terms(to, no, out->to_b, whole ? 0 : op->a, false);
}

static bool make_form(Range *range, const RangeOp *op, RangeForm *out, FormMaker *to) {
    const RangeForm *a = terms_of(range, op->a), *b = terms_of(range, op->b);
    switch ((StepKind)op->kind) {
    case STEP_UNARY: return a != NULL && make_unary(range, op, out, to, a);
    case STEP_BINARY: return a != NULL && b != NULL && make_binary(range, op, out, to, a, b);
    case STEP_CHOOSE: return make_choose(range, op, out, to);
    case STEP_NEEDS:
        if (a == NULL) return false;
        out->pure = a->pure;
        out->to_a = room_for(range, a);
        return join_terms(to, a, out->to_a, 0, false);
    case STEP_LAG:
        if (a == NULL || op->decay == NULL) return false;
        out->to_a = room_for(range, a);
        return change_terms(to, a, out->to_a, BASIS_LAG, op->b);
    default: return false;
    }
}

static void finish_form(Range *range, RangeForm *out, const FormMaker *to) {
    uint32_t *basis = ARENA_ARRAY(range->arena, uint32_t, to->count);
    memcpy(basis, to->basis, to->count * sizeof *basis);
    out->basis = basis;
    out->low = ARENA_ARRAY(range->arena, double, to->count);
    out->high = ARENA_ARRAY(range->arena, double, to->count);
    out->count = to->count;
}

static void make_given(Range *range, uint32_t slot) {
    FormMaker to = maker(range);
    RangeForm *out = &range->forms[slot];
    place_of(&to, add_basis(range, BASIS_GIVEN, slot, 0, range->signals[slot]));
    if (to.full) return;
    finish_form(range, out, &to);
    out->low[1] = out->high[1] = 1;
    out->known = out->pure = true;
}

static void make_gram(Range *range, RangeOp *op) {
    const RangeForm *form = terms_of(range, op->a);
    if (form == NULL || form->count > TERM_LIMIT / 2 || is_number(range, op->a)) return;
    double *gram = ARENA_ARRAY(range->arena, double, form->count * form->count);
    for (uint32_t i = 0; i < form->count; i++) {
        for (uint32_t k = 0; k <= i; k++) {
            uint32_t product = product_of(range, form->basis[i], form->basis[k]);
            if (product >= BASIS_LIMIT) return;
            gram[i * form->count + k] = gram[k * form->count + i] = product ? range->basis[product].mean : 1;
        }
    }
    op->gram = gram;
}

/* Whether an instant keeps clear of the breaks of all these signals: next to a break, one may have jumped and another not. */
static bool is_clear(const Range *range, const RangeForm *form, double time) {
    for (uint32_t i = 1; i < form->count; i++) {
        Signal signal = range->basis[form->basis[i]].signal;
        double near = 1e-10 * signal_duration(signal);
        for (uint32_t p = 0; p < signal.count; p++) {
            if (fabs(signal.pieces[p].start - time) < near || fabs(signal.pieces[p].end - time) < near) return false;
        }
    }
    return true;
}

/* The instants at which one of the signals is largest or smallest: the sum has its extremes near some of them. */
static void make_samples(Range *range, RangeOp *op) {
    const RangeForm *form = terms_of(range, op->a);
    if (form == NULL || form->count < 3 || is_number(range, op->a)) return;
    double *samples = ARENA_ARRAY(range->arena, double, 2 * form->count * form->count);
    for (uint32_t i = 2; i < 2 * form->count; i++) {
        double time = range->basis[form->basis[i / 2]].times[i % 2], *row = samples + op->sample_count * form->count;
        if (!is_clear(range, form, time)) continue;
        row[0] = 1;
        for (uint32_t k = 1; k < form->count; k++) row[k] = signal_at(range->basis[form->basis[k]].signal, time).value;
        op->sample_count++;
    }
    op->samples = samples;
}

void range_make_forms(Range *range) {
    range->basis = ARENA_ARRAY(range->arena, RangeBasis, BASIS_LIMIT);
    range->basis_count = 1;
    range->basis[0] = (RangeBasis){.mean = 1, .maximum = 1, .minimum = 1};
    range->forms = ARENA_ARRAY(range->arena, RangeForm, range->slot_count + 1);
    range->constant_form = (RangeForm){.count = 1, .basis = ARENA_ARRAY(range->arena, uint32_t, 1)};
    for (uint32_t slot = range->op_count + 1; slot <= range->slot_count; slot++) {
        if (range->slots[slot].shape == SHAPE_GRID && !range->slots[slot].holed && !range->slots[slot].rough) make_given(range, slot);
    }
    for (uint32_t i = 1; i <= range->op_count; i++) {
        RangeOp *op = &range->ops[i];
        FormMaker to = maker(range);
        RangeForm form = {0};
        if (op->kind == STEP_REDUCE && op->aux == REDUCE_RMS) make_gram(range, op);
        if (op->kind == STEP_REDUCE && (op->aux == REDUCE_PEAK || op->aux == REDUCE_MAXIMUM || op->aux == REDUCE_MINIMUM)) make_samples(range, op);
        if (range->slots[i].shape != SHAPE_GRID || op->loop != 0 || !make_form(range, op, &form, &to)) continue;
        finish_form(range, &form, &to);
        range->forms[i] = form;
    }
}

/* ---- running --------------------------------------------------------------------------------------------------------------- */

typedef struct Factors {
    const double *low, *high;
    uint32_t count;
    double slack, size;
} Factors;

/* Bounds of an operand's factors; false: it may be something else. */
static bool factors_of(const Range *range, uint32_t slot, Factors *factors) {
    const RangeSlot *value = &range->slots[slot];
    if (value->shape == SHAPE_NUMBER) {
        *factors = (Factors){&value->low, &value->high, 1, 0, interval_most(value->low, value->high)};
        return (value->flags & RANGE_VALUE) == RANGE_NUMBER && factors->size < INFINITY;
    }
    const RangeForm *form = &range->forms[slot];
    *factors = (Factors){form->low, form->high, form->count, form->slack, value->size};
    return form->known && (value->flags & RANGE_VALUE) == RANGE_SIGNAL;
}

static void put(RangeForm *out, const Factors *from, const uint16_t *places, bool negative) {
    for (uint32_t i = 0; i < from->count; i++) {
        out->low[places[i]] += negative ? -from->high[i] : from->low[i];
        out->high[places[i]] += negative ? -from->low[i] : from->high[i];
    }
}

static void put_products(RangeForm *out, const Factors *a, const Factors *b, bool same) {
    for (uint32_t i = 0; i < a->count; i++) {
        for (uint32_t k = 0; k < b->count; k++) {
            Interval product = interval_binary(SIGNAL_MULTIPLY, a->low[i], a->high[i], b->low[k], b->high[k], same && i == k);
            out->low[out->to_a[i * b->count + k]] += product.low;
            out->high[out->to_a[i * b->count + k]] += product.high;
        }
    }
}

static bool run_binary(const Range *range, const RangeOp *op, RangeForm *out) {
    Factors a, b;
    bool square = op->aux == SIGNAL_POWER;
    if (!factors_of(range, op->a, &a) || !factors_of(range, square ? op->a : op->b, &b)) return false;
    if (out->product) {
        put_products(out, &a, &b, square || op->a == op->b);
        out->slack = a.slack * b.size + b.slack * a.size + a.slack * b.slack + cut * a.size * b.size;
    } else if (op->aux == SIGNAL_DIVIDE) {
        double least = interval_least(b.low[0], b.high[0]);
        if (!(least > 0)) return false;
        for (uint32_t i = 0; i < a.count; i++) {
            Interval quotient = interval_binary(SIGNAL_DIVIDE, a.low[i], a.high[i], b.low[0], b.high[0], false);
            out->low[out->to_a[i]] += quotient.low;
            out->high[out->to_a[i]] += quotient.high;
        }
        out->slack = (a.slack + fit * a.size) / least;
    } else {
        put(out, &a, out->to_a, false);
        put(out, &b, out->to_b, op->aux == SIGNAL_SUBTRACT);
        out->slack = a.slack + b.slack + fit * (a.size + b.size);
    }
    return true;
}

static bool run_unary(const Range *range, const RangeOp *op, RangeForm *out) {
    Factors a;
    if (!factors_of(range, op->a, &a)) return false;
    out->slack = a.slack + cut * a.size;
    if (op->aux == SIGNAL_NEGATE) {
        put(out, &a, out->to_a, true);
    } else if (op->aux == SIGNAL_ABS) {
        out->low[out->to_a[1]] = interval_least(a.low[1], a.high[1]);
        out->high[out->to_a[1]] = interval_most(a.low[1], a.high[1]);
    } else {
        if (a.low[1] <= 0 && a.high[1] >= 0) return false;
        out->low[out->to_a[1]] = out->high[out->to_a[1]] = a.low[1] > 0 ? 1 : -1;
        out->slack = cut; /* at the instants of change */
    }
    return true;
}

static bool run_choose(const Range *range, const RangeOp *op, RangeForm *out) {
    const RangeSlot *when = &range->slots[op->a];
    Factors yes, no;
    bool whole = when->shape == SHAPE_NUMBER, take_yes = !whole || when->high > 0 || when->low < 0, take_no = !whole || (when->low <= 0 && when->high >= 0);
    if (!(when->flags & RANGE_VALUE)) return false;
    if ((take_yes && !factors_of(range, op->b, &yes)) || (take_no && !factors_of(range, op->c, &no))) return false;
    out->slack = greater(take_yes ? yes.slack + fit * yes.size : 0, take_no ? no.slack + fit * no.size : 0);
    if (!whole) {
        put(out, &yes, out->to_a, false);
        put(out, &no, out->to_b, false);
    } else if (take_yes != take_no) {
        put(out, take_yes ? &yes : &no, take_yes ? out->to_a : out->to_b, false);
    } else { /* one or the other: what only one has may also be nothing */
        double low[TERM_LIMIT + 1] = {0}, high[TERM_LIMIT + 1] = {0};
        put(out, &yes, out->to_a, false);
        for (uint32_t i = 0; i < no.count; i++) {
            low[out->to_b[i]] = no.low[i];
            high[out->to_b[i]] = no.high[i];
        }
        for (uint32_t i = 0; i < out->count; i++) {
            out->low[i] = lesser(out->low[i], low[i]);
            out->high[i] = greater(out->high[i], high[i]);
        }
    }
    return true;
}

void range_run_form(Range *range, uint32_t index) {
    const RangeOp *op = &range->ops[index];
    RangeForm *out = &range->forms[index];
    const RangeSlot *slot = &range->slots[index];
    Factors a;
    out->known = false;
    if (out->count == 0 || (slot->flags & RANGE_VALUE) != RANGE_SIGNAL || !(slot->size < INFINITY)) return;
    for (uint32_t i = 0; i < out->count; i++) out->low[i] = out->high[i] = 0;
    out->slack = 0;
    switch ((StepKind)op->kind) {
    case STEP_UNARY: out->known = run_unary(range, op, out); return;
    case STEP_BINARY: out->known = run_binary(range, op, out); return;
    case STEP_CHOOSE: out->known = run_choose(range, op, out); return;
    default: break;
    }
    out->known = factors_of(range, op->a, &a); /* NEEDS, LAG: of the constant, the constant */
    if (!out->known) return;
    put(out, &a, out->to_a, false);
    out->slack = a.slack + (op->kind == STEP_LAG ? summed * slot->size : 0);
}

/* ---- what it is good for ------------------------------------------------------------------------------------------------------ */

static Interval factor(const RangeForm *form, uint32_t i) { return (Interval){form->low[i], form->high[i], false}; }

bool range_form_mean(const Range *range, uint32_t slot, double *low, double *high) {
    const RangeForm *form = &range->forms[slot];
    double sum_low = 0, sum_high = 0, size = 0;
    if (range->slots[slot].shape != SHAPE_GRID || !form->known) return false;
    for (uint32_t i = 0; i < form->count; i++) {
        double mean = range->basis[form->basis[i]].mean;
        Interval part = interval_binary(SIGNAL_MULTIPLY, form->low[i], form->high[i], mean, mean, false);
        sum_low += part.low;
        sum_high += part.high;
        size += interval_most(part.low, part.high);
    }
    double slack = form->slack + summed * (range->slots[slot].size + size);
    *low = sum_low - slack;
    *high = sum_high + slack;
    return true;
}

/* Through the magnitude of each product, so that nothing is lost where they cancel. */
static bool mean_square(const RangeForm *form, const double *gram, Interval *rms) {
    double low = 0, high = 0, size = 0;
    for (uint32_t i = 0; i < form->count; i++) {
        for (uint32_t k = 0; k <= i; k++) {
            double weight = (i == k ? 1 : 2) * gram[i * form->count + k];
            Interval a = factor(form, i), b = factor(form, k), c = interval_binary(SIGNAL_MULTIPLY, a.low, a.high, b.low, b.high, i == k);
            double p = weight * c.low, q = weight * c.high;
            low += lesser(p, q);
            high += greater(p, q);
            size += greater(fabs(p), fabs(q));
        }
    }
    double slack = 1e-11 * size;
    rms->low = sqrt(greater(low - slack, 0));
    rms->high = sqrt(greater(high + slack, 0));
    return isfinite(size);
}

/* The largest value of one signal times a factor. */
static Interval largest_of_one(const RangeForm *form, const RangeBasis *basis) {
    double at_low = form->low[1] * (form->low[1] >= 0 ? basis->maximum : basis->minimum), at_high = form->high[1] * (form->high[1] >= 0 ? basis->maximum : basis->minimum);
    Interval out = {lesser(at_low, at_high), greater(at_low, at_high), false};
    if (form->low[1] < 0 && form->high[1] > 0) out = (Interval){lesser(out.low, 0), greater(out.high, 0), false};
    return (Interval){out.low + form->low[0], out.high + form->high[0], false};
}

static Interval smallest_of_one(const RangeForm *form, const RangeBasis *basis) {
    RangeBasis mirrored = {.maximum = -basis->minimum, .minimum = -basis->maximum};
    double low[2] = {-form->high[0], form->low[1]}, high[2] = {-form->low[0], form->high[1]};
    RangeForm turned = {.low = low, .high = high};
    Interval largest = largest_of_one(&turned, &mirrored);
    return (Interval){-largest.high, -largest.low, false};
}

/* The sum at some instants: an extreme is as far out at least. */
static Interval reach_of_samples(const RangeForm *form, const RangeOp *op) {
    Interval reach = {op->aux == REDUCE_PEAK ? 0 : -INFINITY, INFINITY, false};
    for (uint32_t j = 0; j < op->sample_count; j++) {
        const double *row = op->samples + j * form->count;
        double low = 0, high = 0;
        for (uint32_t i = 0; i < form->count; i++) {
            double p = form->low[i] * row[i], q = form->high[i] * row[i];
            low += lesser(p, q);
            high += greater(p, q);
        }
        if (op->aux == REDUCE_MAXIMUM) reach.low = greater(reach.low, low);
        else if (op->aux == REDUCE_MINIMUM) reach.high = lesser(reach.high, high);
        else reach.low = greater(reach.low, interval_least(low, high));
    }
    return reach;
}

bool range_form_reduce(const Range *range, const RangeOp *op, Interval *value) {
    const RangeForm *form = &range->forms[op->a];
    double slack = form->slack + summed * range->slots[op->a].size;
    if (!form->known) return false;
    if (op->aux == REDUCE_MEAN) return range_form_mean(range, op->a, &value->low, &value->high);
    if (op->aux == REDUCE_RMS) {
        if (op->gram == NULL || !mean_square(form, op->gram, value)) return false;
    } else if (op->samples != NULL) {
        *value = reach_of_samples(form, op);
    } else if (form->count == 2 && (op->aux == REDUCE_MAXIMUM || op->aux == REDUCE_MINIMUM || op->aux == REDUCE_PEAK)) {
        Interval largest = largest_of_one(form, &range->basis[form->basis[1]]), smallest = smallest_of_one(form, &range->basis[form->basis[1]]);
        if (op->aux == REDUCE_MAXIMUM) *value = largest;
        else if (op->aux == REDUCE_MINIMUM) *value = smallest;
        else value->low = greater(interval_least(largest.low, largest.high), interval_least(smallest.low, smallest.high)), value->high = greater(interval_most(largest.low, largest.high), interval_most(smallest.low, smallest.high));
    } else {
        return false;
    }
    value->low -= slack;
    value->high += slack;
    return true;
}
