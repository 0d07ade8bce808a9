/* Differentiation by time, formula by formula: the rate of a step is again steps. So a motion law's speed, acceleration
 * and jerk, and an inductive voltage, are as exact as the position and the current they come from. */
#include "plan/build.h"

typedef struct Derivation {
    Builder *builder;
    Span span;
    StepId zero;
} Derivation;

static StepId binary(Derivation *d, SignalBinary operation, StepId a, StepId b) {
    return emit(d->builder, STEP_BINARY, operation, a, b, 0, d->span);
}

static StepId unary(Derivation *d, SignalUnary operation, StepId a) {
    return emit(d->builder, STEP_UNARY, operation, a, 0, 0, d->span);
}

static StepId constant(Derivation *d, double value) { return emit_constant(d->builder, value, d->span); }

/* Sums and products that leave out what is nought or one: the rate of a long formula would else be mostly zeros. */
static StepId plus(Derivation *d, StepId a, StepId b) {
    if (a == d->zero) return b;
    if (b == d->zero) return a;
    return binary(d, SIGNAL_ADD, a, b);
}

static StepId minus(Derivation *d, StepId a, StepId b) {
    if (b == d->zero) return a;
    if (a == d->zero) return unary(d, SIGNAL_NEGATE, b);
    return binary(d, SIGNAL_SUBTRACT, a, b);
}

static StepId times(Derivation *d, StepId a, StepId b) {
    double value;
    if (a == d->zero || b == d->zero) return d->zero;
    if (step_is_constant(d->builder, a, &value) && value == 1) return b;
    if (step_is_constant(d->builder, b, &value) && value == 1) return a;
    return binary(d, SIGNAL_MULTIPLY, a, b);
}

static StepId over(Derivation *d, StepId a, StepId b) { return a == d->zero ? a : binary(d, SIGNAL_DIVIDE, a, b); }

static StepId derive_unary(Derivation *d, StepId id, const Step *step) {
    StepId x = step->a, rate = derive(d->builder, x);
    if (rate == d->zero) return rate;
    StepId one = constant(d, 1), square;
    switch ((SignalUnary)step->aux) {
    case SIGNAL_NEGATE: return unary(d, SIGNAL_NEGATE, rate);
    case SIGNAL_ABS: return times(d, unary(d, SIGNAL_SIGN, x), rate);
    case SIGNAL_SIGN:
    case SIGNAL_FLOOR:
    case SIGNAL_ROUND:
    case SIGNAL_CEILING: return d->zero;
    case SIGNAL_SQRT: return over(d, rate, times(d, constant(d, 2), id));
    case SIGNAL_CBRT: return over(d, rate, times(d, constant(d, 3), times(d, id, id)));
    case SIGNAL_EXP: return times(d, id, rate);
    case SIGNAL_LN: return over(d, rate, x);
    case SIGNAL_SIN: return times(d, unary(d, SIGNAL_COS, x), rate);
    case SIGNAL_COS: return unary(d, SIGNAL_NEGATE, times(d, unary(d, SIGNAL_SIN, x), rate));
    case SIGNAL_TAN: return times(d, plus(d, one, times(d, id, id)), rate);
    case SIGNAL_ASIN:
    case SIGNAL_ACOS:
        square = unary(d, SIGNAL_SQRT, minus(d, one, times(d, x, x)));
        rate = over(d, rate, square);
        return step->aux == SIGNAL_ASIN ? rate : unary(d, SIGNAL_NEGATE, rate);
    case SIGNAL_ATAN: return over(d, rate, plus(d, one, times(d, x, x)));
    }
    return d->zero;
}

static StepId derive_power(Derivation *d, StepId id, const Step *step) {
    StepId x = step->a, e = step->b, x_rate = derive(d->builder, x), e_rate = derive(d->builder, e);
    double exponent;
    StepId part = d->zero;
    if (x_rate != d->zero) {
        StepId lower = step_is_constant(d->builder, e, &exponent) ? constant(d, exponent - 1) : minus(d, e, constant(d, 1));
        part = times(d, times(d, e, binary(d, SIGNAL_POWER, x, lower)), x_rate);
        if (step_is_constant(d->builder, e, &exponent) && exponent == 1) part = x_rate;
        if (step_is_constant(d->builder, e, &exponent) && exponent == 2) part = times(d, times(d, e, x), x_rate);
    }
    if (e_rate == d->zero) return part;
    return plus(d, part, times(d, times(d, id, unary(d, SIGNAL_LN, x)), e_rate));
}

static StepId derive_binary(Derivation *d, StepId id, const Step *step) {
    StepId a = step->a, b = step->b;
    if (step->aux == SIGNAL_POWER) return derive_power(d, id, step);
    StepId da = derive(d->builder, a), db = derive(d->builder, b);
    switch ((SignalBinary)step->aux) {
    case SIGNAL_ADD: return plus(d, da, db);
    case SIGNAL_SUBTRACT: return minus(d, da, db);
    case SIGNAL_MULTIPLY: return plus(d, times(d, da, b), times(d, a, db));
    case SIGNAL_DIVIDE: return minus(d, over(d, da, b), db == d->zero ? db : times(d, over(d, id, b), db));
    case SIGNAL_ATAN2:
        if (da == d->zero && db == d->zero) return d->zero;
        return over(d, minus(d, times(d, b, da), times(d, a, db)), plus(d, times(d, a, a), times(d, b, b)));
    case SIGNAL_LESSER:
    case SIGNAL_GREATER: {
        if (da == d->zero && db == d->zero) return d->zero;
        SignalCompare comparison = step->aux == SIGNAL_LESSER ? SIGNAL_AT_MOST : SIGNAL_AT_LEAST;
        StepId first = emit(d->builder, STEP_COMPARE, comparison, a, b, 0, d->span);
        return emit(d->builder, STEP_CHOOSE, 0, first, da, db, d->span);
    }
    case SIGNAL_POWER: break;
    }
    return d->zero;
}

StepId derive(Builder *builder, StepId id) {
    StepId known = map_get(&builder->derivatives, id, 0);
    if (known != 0) return known;
    const Step step = builder->program->steps.at[id];
    Derivation d = {builder, step.span, emit_constant(builder, 0, step.span)};
    StepId rate = d.zero;
    if (++builder->depth > PLAN_DERIVE_LIMIT) {
        builder->depth--;
        return emit_broken(builder, step.span);
    }
    switch ((StepKind)step.kind) {
    case STEP_MISSING:
    case STEP_BROKEN: rate = id; break;
    case STEP_LAW_TIME:
    case STEP_CYCLE_TIME: rate = constant(&d, 1); break;
    case STEP_UNARY: rate = derive_unary(&d, id, &step); break;
    case STEP_BINARY: rate = derive_binary(&d, id, &step); break;
    case STEP_CHOOSE: {
        StepId yes = derive(builder, step.b), no = derive(builder, step.c);
        rate = yes == no ? yes : emit(builder, STEP_CHOOSE, 0, step.a, yes, no, step.span);
        break;
    }
    case STEP_LOOK_UP: {
        StepId key = derive(builder, step.a);
        if (key != d.zero) rate = emit(builder, STEP_RATE, 0, id, 0, 0, step.span);
        break;
    }
    case STEP_NEEDS: {
        StepId inner = derive(builder, step.a);
        rate = inner == d.zero ? inner : emit(builder, STEP_NEEDS, 0, inner, step.b, 0, step.span);
        break;
    }
    case STEP_LAG: rate = over(&d, minus(&d, step.a, id), step.b); break;
    case STEP_ACCUMULATE: rate = step.a; break;
    case STEP_RATE: rate = emit(builder, STEP_RATE, 0, id, 0, 0, step.span); break;
    case STEP_CYCLE:
        if (step.aux >= 4) rate = emit(builder, STEP_RATE, 0, id, 0, 0, step.span);
        else rate = cycle_signal(builder, step.a, step.aux + 1u, step.span);
        break;
    default: break; /* constants, truths, reductions, inputs that hold for a segment: they do not change */
    }
    builder->depth--;
    map_set(&builder->derivatives, id, rate);
    return rate;
}
