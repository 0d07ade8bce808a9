#include "compute/evaluate.h"

#include <math.h>

#include "compute/motion.h"
#include "compute/number.h"
#include "compute/settle.h"
#include "compute/step.h"

Failure failure_of_void(SignalVoid reason) {
    switch (reason) {
    case VOID_DIVISION: return FAILURE_DIVISION;
    case VOID_DOMAIN: return FAILURE_DOMAIN;
    case VOID_OVERFLOW: return FAILURE_OVERFLOW;
    case VOID_TABLE: return FAILURE_TABLE;
    case VOID_PIECES: return FAILURE_PIECES;
    case VOID_NONE:
    case VOID_UNKNOWN: break;
    }
    return FAILURE_NONE;
}

static SignalVoid void_of(const Computed *value) {
    if (value->state == COMPUTED_UNKNOWN) return VOID_UNKNOWN;
    switch ((Failure)value->failure) {
    case FAILURE_DIVISION: return VOID_DIVISION;
    case FAILURE_DOMAIN: return VOID_DOMAIN;
    case FAILURE_TABLE: return VOID_TABLE;
    case FAILURE_PIECES: return VOID_PIECES;
    case FAILURE_BROKEN: return VOID_UNKNOWN;
    default: return VOID_OVERFLOW;
    }
}

Computed computed_signal(Signal signal) { return (Computed){.state = COMPUTED_SIGNAL, .signal = signal}; }

Computed computed_failed(Failure failure, StepId origin) {
    return (Computed){.state = COMPUTED_FAILED, .failure = (uint8_t)failure, .origin = origin};
}

Computed computed_result(SignalVoid reason, double number, StepId origin) {
    if (reason == VOID_NONE) return computed_number(number);
    if (reason == VOID_UNKNOWN) return (Computed){.state = COMPUTED_UNKNOWN};
    return computed_failed(failure_of_void(reason), origin);
}

Signal computed_as_signal(Arena *arena, const Computed *value, double duration) {
    if (value->state == COMPUTED_SIGNAL) return value->signal;
    if (value->state == COMPUTED_NUMBER) return signal_constant(arena, duration, value->number);
    return signal_void(arena, duration, void_of(value));
}

/* The duration of the signals among these; 0 when there are none; negative when they differ. */
static double common_duration(const Computed *const *values, unsigned count) {
    double duration = 0;
    for (unsigned i = 0; i < count; i++) {
        if (values[i]->state != COMPUTED_SIGNAL) continue;
        double own = signal_duration(values[i]->signal);
        if (duration == 0) duration = own;
        else if (fabs(own - duration) > 1e-9 * duration) return -1;
    }
    return duration;
}

Computed computed_unary(Arena *arena, SignalUnary operation, const Computed *x, StepId id) {
    double result = 0;
    if (computed_is_absent(x)) return *x;
    if (x->state == COMPUTED_SIGNAL) return computed_signal(signal_unary(arena, operation, x->signal));
    SignalVoid reason = number_unary(operation, x->number, &result);
    return computed_result(reason, result, id);
}

/* A signal and a number: sums and products with a constant need no search for pieces. */
static bool run_scaled(Arena *arena, SignalBinary operation, const Computed *x, const Computed *y, Computed *out) {
    bool left = x->state == COMPUTED_SIGNAL && y->state == COMPUTED_NUMBER;
    bool right = x->state == COMPUTED_NUMBER && y->state == COMPUTED_SIGNAL;
    double factor = 1, offset = 0;
    if (!left && !right) return false;
    double number = left ? y->number : x->number;
    Signal signal = left ? x->signal : y->signal;
    switch (operation) {
    case SIGNAL_ADD: offset = number; break;
    case SIGNAL_SUBTRACT:
        factor = left ? 1 : -1;
        offset = left ? -number : number;
        break;
    case SIGNAL_MULTIPLY: factor = number; break;
    case SIGNAL_DIVIDE:
        if (!left || number == 0 || !isfinite(1 / number)) return false;
        factor = 1 / number;
        break;
    default: return false;
    }
    *out = computed_signal(signal_scale(arena, signal, factor, offset));
    return true;
}

Computed computed_binary(Arena *arena, SignalBinary operation, const Computed *x, const Computed *y, StepId id) {
    double result = 0;
    Computed scaled;
    if (x->state == COMPUTED_NUMBER && y->state == COMPUTED_NUMBER) {
        SignalVoid reason = number_binary(operation, x->number, y->number, &result);
        return computed_result(reason, result, id);
    }
    if (x->state == COMPUTED_FAILED) return *x;
    if (y->state == COMPUTED_FAILED) return *y;
    if (x->state == COMPUTED_UNKNOWN) return *x;
    if (y->state == COMPUTED_UNKNOWN) return *y;
    if (run_scaled(arena, operation, x, y, &scaled)) return scaled;
    double duration = common_duration((const Computed *const[]){x, y}, 2);
    if (duration < 0) return computed_failed(FAILURE_PERIODS, id);
    return computed_signal(signal_binary(arena, operation, computed_as_signal(arena, x, duration), computed_as_signal(arena, y, duration)));
}

Computed computed_compare(Arena *arena, SignalCompare comparison, const Computed *x, const Computed *y, StepId id) {
    if (x->state == COMPUTED_NUMBER && y->state == COMPUTED_NUMBER) {
        return computed_number(number_compare(comparison, x->number, y->number));
    }
    if (x->state == COMPUTED_FAILED) return *x;
    if (computed_is_absent(y)) return *y;
    if (computed_is_absent(x)) return *x;
    double duration = common_duration((const Computed *const[]){x, y}, 2);
    if (duration < 0) return computed_failed(FAILURE_PERIODS, id);
    return computed_signal(signal_compare(arena, comparison, computed_as_signal(arena, x, duration), computed_as_signal(arena, y, duration)));
}

/* and, or: what decides by itself decides, whatever the other is. */
static Computed run_logic(Evaluation *evaluation, StepId id, const Step *step, const Computed *x, const Computed *y) {
    double decisive = step->kind == STEP_AND ? 0 : 1;
    if (x->state == COMPUTED_NUMBER && x->number == decisive) return *x;
    if (y->state == COMPUTED_NUMBER && y->number == decisive) return *y;
    double duration = common_duration((const Computed *const[]){x, y}, 2);
    if (duration < 0) return computed_failed(FAILURE_PERIODS, id);
    if (duration == 0) return computed_is_absent(x) ? *x : computed_is_absent(y) ? *y : computed_number(1 - decisive);
    Signal a = computed_as_signal(evaluation->arena, x, duration), b = computed_as_signal(evaluation->arena, y, duration);
    return computed_signal(step->kind == STEP_AND ? signal_and(evaluation->arena, a, b) : signal_or(evaluation->arena, a, b));
}

Computed computed_choose(Arena *arena, const Computed *condition, const Computed *yes, const Computed *no, StepId id) {
    if (computed_is_absent(condition)) return *condition;
    if (condition->state == COMPUTED_NUMBER) return condition->number != 0 ? *yes : *no;
    double duration = common_duration((const Computed *const[]){condition, yes, no}, 3);
    if (duration < 0) return computed_failed(FAILURE_PERIODS, id);
    return computed_signal(signal_choose(arena, condition->signal, computed_as_signal(arena, yes, duration), computed_as_signal(arena, no, duration)));
}

static Computed run_needs(StepId id, const Computed *value, const Computed *condition) {
    if (computed_is_absent(value)) return *value;
    if (condition->state == COMPUTED_NUMBER) return condition->number != 0 ? *value : computed_failed(FAILURE_NEEDS, id);
    if (condition->state == COMPUTED_SIGNAL) {
        Extreme least = signal_minimum(condition->signal);
        if (least.fault == VOID_NONE && least.value == 0) return computed_failed(FAILURE_NEEDS, id);
    }
    return *value;
}

static Computed run_lag(Evaluation *evaluation, StepId id, const Computed *x, const Computed *tau) {
    if (computed_is_absent(x)) return *x;
    if (computed_is_absent(tau)) return *tau;
    if (tau->state == COMPUTED_SIGNAL) return computed_failed(FAILURE_SIGNAL, id);
    if (!(tau->number > 0)) return computed_failed(FAILURE_TAU, id);
    if (x->state == COMPUTED_NUMBER) return *x;
    return computed_signal(signal_lag(evaluation->arena, x->signal, tau->number));
}

static Extreme reduction_of_signal(Reduction reduction, Signal x) {
    switch (reduction) {
    case REDUCE_PEAK: return signal_peak(x);
    case REDUCE_MAXIMUM: return signal_maximum(x);
    case REDUCE_MINIMUM: return signal_minimum(x);
    case REDUCE_MEAN: return signal_mean(x);
    case REDUCE_RMS: return signal_rms(x);
    case REDUCE_INTEGRAL: return signal_integral(x);
    case REDUCE_DURATION: return (Extreme){.value = signal_duration(x)};
    case REDUCE_SHARE: return signal_share(x);
    }
    return (Extreme){.fault = VOID_UNKNOWN};
}

static Computed run_reduce(StepId id, const Step *step, const Computed *x) {
    if (computed_is_absent(x)) return *x;
    if (x->state == COMPUTED_SIGNAL) {
        Extreme extreme = reduction_of_signal((Reduction)step->aux, x->signal);
        return computed_result(extreme.fault, extreme.value, id);
    }
    switch ((Reduction)step->aux) {
    case REDUCE_PEAK:
    case REDUCE_RMS: return computed_number(fabs(x->number));
    case REDUCE_INTEGRAL:
    case REDUCE_DURATION: return computed_failed(FAILURE_NO_CYCLE, id);
    default: return *x;
    }
}

static Computed run_at(StepId id, const Computed *x, const Computed *instant) {
    if (computed_is_absent(x)) return *x;
    if (computed_is_absent(instant)) return *instant;
    if (x->state == COMPUTED_NUMBER) return *x;
    if (instant->state == COMPUTED_SIGNAL) return computed_failed(FAILURE_SIGNAL, id);
    double duration = signal_duration(x->signal);
    if (!(instant->number >= 0 && instant->number <= duration * (1 + 1e-12))) return computed_failed(FAILURE_INSTANT, id);
    Extreme value = signal_at(x->signal, fmin(instant->number, duration));
    return computed_result(value.fault, value.value, id);
}

/* ---- tables ------------------------------------------------------------------------------------------------------ */

typedef struct TableReader {
    const double *keys, *values;
    uint32_t count;
} TableReader;

static SignalVoid read_table(void *context, double x, double *y) {
    const TableReader *table = context;
    double slack = 1e-12 * fmax(fabs(table->keys[0]), fabs(table->keys[table->count - 1]));
    if (!(x >= table->keys[0] - slack && x <= table->keys[table->count - 1] + slack)) return VOID_TABLE;
    uint32_t low = 0, high = table->count - 1;
    while (high - low > 1) {
        uint32_t middle = low + (high - low) / 2;
        if (table->keys[middle] <= x) low = middle;
        else high = middle;
    }
    double share = (x - table->keys[low]) / (table->keys[high] - table->keys[low]);
    *y = table->values[low] + share * (table->values[high] - table->values[low]);
    return VOID_NONE;
}

static Computed run_look_up(Evaluation *evaluation, StepId id, const Step *step, const Computed *key) {
    if (computed_is_absent(key)) return *key;
    const PlanTable *table = &evaluation->program->tables.at[step->b];
    double *keys = ARENA_ARRAY(evaluation->arena, double, table->count), *values = ARENA_ARRAY(evaluation->arena, double, table->count);
    for (uint32_t i = 0; i < table->count; i++) {
        keys[i] = evaluation->values[table->keys[i]].number;
        values[i] = evaluation->values[table->values[i]].number;
    }
    TableReader reader = {keys, values, table->count};
    if (key->state == COMPUTED_SIGNAL) {
        return computed_signal(signal_map(evaluation->arena, key->signal, read_table, &reader, keys, table->count));
    }
    double result = 0;
    SignalVoid reason = read_table(&reader, key->number, &result);
    return computed_result(reason, result, id);
}

/* ---- all steps --------------------------------------------------------------------------------------------------- */

Computed run_step(Evaluation *evaluation, StepId id) {
    const Step *step = &evaluation->program->steps.at[id];
    const Computed *a = &evaluation->values[step->a], *b = &evaluation->values[step->b], *c = &evaluation->values[step->c];
    unsigned operands = step_operands((StepKind)step->kind);
    if (operands < 1) a = &evaluation->values[0];
    if (operands < 2) b = &evaluation->values[0];
    if (operands < 3) c = &evaluation->values[0];
    switch ((StepKind)step->kind) {
    case STEP_CONSTANT: {
        double input = evaluation->inputs[step->a];
        return isnan(input) ? (Computed){.state = COMPUTED_UNKNOWN} : computed_number(input);
    }
    case STEP_MISSING: return (Computed){.state = COMPUTED_UNKNOWN};
    case STEP_BROKEN: return computed_failed(FAILURE_BROKEN, id);
    case STEP_LAW_TIME: return computed_signal(signal_time(evaluation->arena, 1));
    case STEP_GUESS: return a->state == COMPUTED_SIGNAL ? computed_failed(FAILURE_SIGNAL, id) : *a;
    case STEP_UNARY: return computed_unary(evaluation->arena, (SignalUnary)step->aux, a, id);
    case STEP_BINARY: return computed_binary(evaluation->arena, (SignalBinary)step->aux, a, b, id);
    case STEP_COMPARE: return computed_compare(evaluation->arena, (SignalCompare)step->aux, a, b, id);
    case STEP_AND:
    case STEP_OR: return run_logic(evaluation, id, step, a, b);
    case STEP_NOT:
        if (computed_is_absent(a)) return *a;
        return a->state == COMPUTED_NUMBER ? computed_number(a->number == 0) : computed_signal(signal_not(evaluation->arena, a->signal));
    case STEP_STATED: return computed_number(a->state != COMPUTED_UNKNOWN);
    case STEP_CHOOSE: return computed_choose(evaluation->arena, a, b, c, id);
    case STEP_LOOK_UP: return run_look_up(evaluation, id, step, a);
    case STEP_NEEDS: return run_needs(id, a, b);
    case STEP_LAG: return run_lag(evaluation, id, a, b);
    case STEP_ACCUMULATE:
        if (computed_is_absent(a)) return *a;
        if (a->state == COMPUTED_NUMBER) return computed_failed(FAILURE_NO_CYCLE, id);
        return computed_signal(signal_accumulate(evaluation->arena, a->signal));
    case STEP_RATE:
        if (computed_is_absent(a)) return *a;
        return a->state == COMPUTED_NUMBER ? computed_number(0) : computed_signal(signal_rate(evaluation->arena, a->signal));
    case STEP_REDUCE: return run_reduce(id, step, a);
    case STEP_AT: return run_at(id, a, b);
    case STEP_CYCLE: return run_cycle(evaluation, id, step);
    case STEP_CYCLE_TIME: return run_cycle_time(evaluation, id, step);
    case STEP_CYCLE_INPUT: return run_cycle_input(evaluation, id, step);
    case STEP_SETTLE: return run_settle(evaluation, id, step);
    case STEP_NONE:
    case STEP_KIND_COUNT: break;
    }
    return computed_failed(FAILURE_BROKEN, id);
}

Evaluation *evaluation_open(Arena *arena, const Program *program, const double *inputs) {
    Evaluation *evaluation = ARENA_NEW(arena, Evaluation);
    evaluation->arena = arena;
    evaluation->program = program;
    evaluation->inputs = inputs;
    evaluation->values = ARENA_ARRAY(arena, Computed, program->steps.count);
    evaluation->seen = ARENA_ARRAY(arena, uint32_t, program->steps.count);
    evaluation->reached = ARENA_ARRAY(arena, StepId, program->steps.count);
    evaluation->values[0] = computed_failed(FAILURE_BROKEN, 0);
    return evaluation;
}

static uint8_t *find_bounded(Arena *arena, const Program *program) {
    uint8_t *bounded = arena_take(arena, program->steps.count);
    for (StepId id = 1; id < program->steps.count; id++) {
        const Step *step = &program->steps.at[id];
        const Constant *constant = step->kind == STEP_CONSTANT ? &program->constants.at[step->a] : NULL;
        bounded[id] = constant ? constant->low < constant->high : uses_marked(program, step, bounded);
        if (step->kind == STEP_SETTLE && bounded[id]) mark_loop(program, id, bounded);
    }
    return bounded;
}

Evaluation *evaluate(Arena *arena, const Program *program) {
    double *inputs = ARENA_ARRAY(arena, double, program->constants.count);
    for (uint32_t i = 0; i < program->constants.count; i++) inputs[i] = program->constants.at[i].nominal;
    Evaluation *evaluation = evaluation_open(arena, program, inputs);
    evaluation->bounded = find_bounded(arena, program);
    for (StepId id = 1; id < program->steps.count; id++) evaluation->values[id] = run_step(evaluation, id);
    return evaluation;
}
