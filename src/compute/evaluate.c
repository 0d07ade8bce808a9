#include "compute/evaluate.h"

#include <math.h>
#include <string.h>

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

static Evaluation *open_evaluation(Arena *arena, const Program *program, const double *inputs) {
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

/* Whether a step uses one that is marked; a cycle and a table name theirs in lists of their own. */
static bool uses_marked(const Program *program, const Step *step, const uint8_t *marked) {
    unsigned operands = step_operands((StepKind)step->kind);
    if ((operands > 0 && marked[step->a]) || (operands > 1 && marked[step->b]) || (operands > 2 && marked[step->c])) return true;
    if (step->kind == STEP_LOOK_UP) {
        const PlanTable *table = &program->tables.at[step->b];
        for (uint32_t i = 0; i < table->count; i++) {
            if (marked[table->keys[i]] || marked[table->values[i]]) return true;
        }
    }
    if (step->kind != STEP_CYCLE && step->kind != STEP_CYCLE_TIME && step->kind != STEP_CYCLE_INPUT) return false;
    const PlanInput *input = step->kind == STEP_CYCLE_INPUT ? &program->inputs.at[step->b] : NULL;
    const PlanCycle *cycle = &program->cycles.at[input ? input->cycle : step->a];
    for (uint32_t i = 0; cycle->profile == NULL && i < cycle->segments.count; i++) {
        const PlanSegment *segment = &cycle->segments.at[i];
        StepId shape = step->kind == STEP_CYCLE ? segment->shape[step->aux] : 0, held = input ? input->steps[i] : 0;
        if (marked[segment->length] || marked[segment->displacement] || marked[shape] || marked[held]) return true;
    }
    return false;
}

/* Everything of a loop that rests on its guess. */
static void mark_loop(const Program *program, StepId settle, uint8_t *marked) {
    StepId guess = program->steps.at[settle].a;
    marked[guess] = 1;
    for (StepId s = guess + 1; s < settle; s++) {
        const Step *step = &program->steps.at[s];
        marked[s] |= uses_marked(program, step, marked);
        if (marked[s] && step->kind == STEP_SETTLE) mark_loop(program, s, marked); /* it runs anew as a whole */
    }
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
    Evaluation *evaluation = open_evaluation(arena, program, inputs);
    evaluation->bounded = find_bounded(arena, program);
    for (StepId id = 1; id < program->steps.count; id++) evaluation->values[id] = run_step(evaluation, id);
    return evaluation;
}

Variation *variation_open(Arena *arena, const Evaluation *base) {
    Variation *variation = ARENA_NEW(arena, Variation);
    variation->base = base;
    variation->latest = ARENA_ARRAY(arena, double, base->program->constants.count);
    memcpy(variation->latest, base->inputs, base->program->constants.count * sizeof *base->inputs);
    variation->now = open_evaluation(arena, base->program, variation->latest);
    variation->now->bounded = base->bounded;
    memcpy(variation->now->values, base->values, base->program->steps.count * sizeof *base->values);
    variation->changed = arena_take(arena, base->program->steps.count);
    return variation;
}

void variation_take(Variation *variation, Arena *values, const StepId *cone, uint32_t count) {
    variation->now->arena = values;
    variation->cone = cone;
    variation->count = count;
}

/* Back to the base's values. */
static void return_to_base(Variation *variation) {
    const Program *program = variation->base->program;
    for (uint32_t i = 0; i < variation->count; i++) {
        StepId id = variation->cone[i];
        const Step *step = &program->steps.at[id];
        variation->now->values[id] = variation->base->values[id];
        if (step->kind == STEP_CONSTANT) variation->latest[step->a] = variation->base->inputs[step->a];
    }
}

/* Whether more constants have moved since the latest run than differ from the base. */
static bool nearer_to_base(const Variation *variation, const double *inputs) {
    const Program *program = variation->base->program;
    uint32_t from_latest = 0, from_base = 0;
    for (uint32_t i = 0; i < variation->count; i++) {
        const Step *step = &program->steps.at[variation->cone[i]];
        if (step->kind != STEP_CONSTANT) continue;
        from_latest += inputs[step->a] != variation->latest[step->a];
        from_base += inputs[step->a] != variation->base->inputs[step->a];
    }
    return from_base < from_latest;
}

/* Marks what rests on a constant that is not what it was. A loop is run as a whole, from its first guess. */
static void mark_changed(Variation *variation, const double *inputs) {
    const Program *program = variation->base->program;
    for (uint32_t i = 0; i < variation->count; i++) variation->changed[variation->cone[i]] = 0;
    for (uint32_t i = 0; i < variation->count; i++) {
        StepId id = variation->cone[i];
        const Step *step = &program->steps.at[id];
        if (variation->changed[id]) continue;
        if (step->kind == STEP_CONSTANT) {
            variation->changed[id] = inputs[step->a] != variation->latest[step->a];
            variation->latest[step->a] = inputs[step->a];
        } else {
            variation->changed[id] = uses_marked(program, step, variation->changed);
            if (variation->changed[id] && step->kind == STEP_SETTLE) mark_loop(program, id, variation->changed);
        }
    }
}

void variation_run(Variation *variation, const double *inputs) {
    bool full = arena_used(variation->now->arena) > VARIATION_VALUES;
    if (full || nearer_to_base(variation, inputs)) return_to_base(variation);
    if (full) arena_clear(variation->now->arena);
    mark_changed(variation, inputs);
    for (uint32_t i = 0; i < variation->count; i++) {
        StepId id = variation->cone[i];
        if (variation->changed[id]) variation->now->values[id] = run_step(variation->now, id);
    }
}

void variation_note(Variation *variation, const double *inputs) {
    const Program *program = variation->base->program;
    bool again = arena_used(variation->now->arena) > VARIATION_VALUES;
    if (again) return_to_base(variation);
    if (again) arena_clear(variation->now->arena);
    for (uint32_t i = 0; i < variation->count; i++) {
        StepId id = variation->cone[i];
        const Step *step = &program->steps.at[id];
        if (again) variation->changed[id] = 0;
        if (step->kind == STEP_CONSTANT) {
            variation->changed[id] = inputs[step->a] != variation->latest[step->a] && !(isnan(inputs[step->a]) && isnan(variation->latest[step->a]));
            variation->latest[step->a] = inputs[step->a];
        } else if (!variation->changed[id] && uses_marked(program, step, variation->changed)) {
            variation->changed[id] = 1;
            if (step->kind == STEP_SETTLE) mark_loop(program, id, variation->changed);
        }
    }
    for (uint32_t i = 0; i < variation->count; i++) {
        StepId id = variation->cone[i];
        if (program->steps.at[id].kind != STEP_CONSTANT || !variation->changed[id]) continue;
        variation->now->values[id] = run_step(variation->now, id);
        variation->changed[id] = 0;
    }
}

void variation_catch_up(Variation *variation, const StepId *part, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) {
        if (!variation->changed[part[i]]) continue;
        variation->now->values[part[i]] = run_step(variation->now, part[i]);
        variation->changed[part[i]] = 0;
    }
}

void variation_release(Variation *variation) {
    return_to_base(variation);
    arena_clear(variation->now->arena);
    for (uint32_t i = 0; i < variation->count; i++) variation->changed[variation->cone[i]] = 0;
    variation->count = 0;
}

/* ---- what rests on what ------------------------------------------------------------------------------------------ */

typedef struct Search {
    Evaluation *evaluation;
    ReachFollow *only;
    StepId user;
    unsigned operand;
    uint32_t count;
} Search;

static void reach_one(Search *search, StepId id) {
    Evaluation *evaluation = search->evaluation;
    unsigned operand = search->operand++;
    if (id == 0 || evaluation->seen[id] == evaluation->searches) return;
    if (search->only != NULL && search->user != 0 && !search->only(evaluation, search->user, operand, id)) return;
    evaluation->seen[id] = evaluation->searches;
    evaluation->reached[search->count++] = id;
}

static void reach_operands(Search *search, StepId id) {
    const Program *program = search->evaluation->program;
    const Step *step = &program->steps.at[id];
    unsigned operands = step_operands((StepKind)step->kind);
    search->user = id;
    search->operand = 0;
    if (operands > 0) reach_one(search, step->a);
    if (operands > 1) reach_one(search, step->b);
    if (operands > 2) reach_one(search, step->c);
    if (step->kind == STEP_GUESS) reach_one(search, step->b); /* whoever looks at it from outside sees where it settled */
    if (step->kind == STEP_LOOK_UP) {
        const PlanTable *table = &program->tables.at[step->b];
        for (uint32_t i = 0; i < table->count; i++) {
            reach_one(search, table->keys[i]);
            reach_one(search, table->values[i]);
        }
    }
    if (step->kind != STEP_CYCLE && step->kind != STEP_CYCLE_TIME && step->kind != STEP_CYCLE_INPUT) return;
    uint32_t index = step->kind == STEP_CYCLE_INPUT ? program->inputs.at[step->b].cycle : step->a;
    const PlanCycle *cycle = &program->cycles.at[index];
    for (uint32_t i = 0; i < cycle->segments.count; i++) {
        const PlanSegment *segment = &cycle->segments.at[i];
        reach_one(search, segment->length);
        if (step->kind == STEP_CYCLE) reach_one(search, segment->displacement);
        if (step->kind == STEP_CYCLE) reach_one(search, segment->shape[step->aux]);
        if (step->kind == STEP_CYCLE_INPUT && cycle->profile == NULL) reach_one(search, program->inputs.at[step->b].steps[i]);
    }
}

Reach evaluation_reach(Evaluation *evaluation, StepId step, ReachFollow *only) {
    Search search = {.evaluation = evaluation, .only = only};
    evaluation->searches++;
    reach_one(&search, step);
    for (uint32_t i = 0; i < search.count; i++) reach_operands(&search, evaluation->reached[i]);
    return (Reach){evaluation->reached, search.count};
}

void mark_reach(Evaluation *evaluation, StepId step, uint8_t *marks) {
    if (step == 0 || marks[step]) return; /* all that it rests on is marked with it */
    Reach reach = evaluation_reach(evaluation, step, NULL);
    for (uint32_t i = 0; i < reach.count; i++) marks[reach.steps[i]] = 1;
}

void mark_condition(Evaluation *evaluation, uint32_t index, uint8_t *marks) {
    const Condition *condition = &evaluation->program->conditions.at[index];
    mark_reach(evaluation, condition->left, marks);
    mark_reach(evaluation, condition->right, marks);
    mark_reach(evaluation, condition->truth, marks);
    for (uint32_t i = 0; i < condition->child_count; i++) mark_condition(evaluation, condition->children[i], marks);
}

void mark_judged(Evaluation *evaluation, const Judged *judged, uint8_t *marks) {
    mark_reach(evaluation, judged->when, marks);
    if (judged->shall != 0) mark_condition(evaluation, judged->shall, marks);
    if (judged->kind != JUDGED_AGREEMENT) return;
    mark_reach(evaluation, evaluation->program->objects.at[judged->object].slots[judged->slot].agreement, marks);
}

/* ---- what uses what ---------------------------------------------------------------------------------------------- */

typedef void EachOperand(void *context, StepId user, unsigned operand, StepId step);

/* Every step that `id` names, also in the lists of cycles and tables; of a running value where it settles. */
static void each_operand(const Program *program, StepId id, EachOperand *visit, void *context) {
    const Step *step = &program->steps.at[id];
    unsigned operands = step_operands((StepKind)step->kind);
    if (operands > 0) visit(context, id, 0, step->a);
    if (operands > 1) visit(context, id, 1, step->b);
    if (operands > 2) visit(context, id, 2, step->c);
    if (step->kind == STEP_GUESS) visit(context, id, 1, step->b);
    if (step->kind == STEP_LOOK_UP) {
        const PlanTable *table = &program->tables.at[step->b];
        for (uint32_t i = 0; i < table->count; i++) visit(context, id, 0, table->values[i]);
    }
    if (step->kind != STEP_CYCLE && step->kind != STEP_CYCLE_TIME && step->kind != STEP_CYCLE_INPUT) return;
    const PlanInput *input = step->kind == STEP_CYCLE_INPUT ? &program->inputs.at[step->b] : NULL;
    const PlanCycle *cycle = &program->cycles.at[input ? input->cycle : step->a];
    for (uint32_t i = 0; cycle->profile == NULL && i < cycle->segments.count; i++) {
        const PlanSegment *segment = &cycle->segments.at[i];
        visit(context, id, 0, segment->length);
        visit(context, id, 0, segment->displacement);
        if (step->kind == STEP_CYCLE) visit(context, id, 0, segment->shape[step->aux]);
        if (input) visit(context, id, 0, input->steps[i]);
    }
}

bool use_can_differ(const Evaluation *evaluation, StepId user, unsigned operand, StepId step) {
    const Step *using = &evaluation->program->steps.at[user];
    if (!evaluation->bounded[step]) return false;
    if (using->kind != STEP_CHOOSE || operand == 0 || evaluation->bounded[using->a]) return true;
    const Computed *condition = &evaluation->values[using->a];
    return condition->state != COMPUTED_NUMBER || operand == (condition->number != 0 ? 1u : 2u);
}

typedef struct Wanting {
    const Evaluation *evaluation;
    uint8_t *wanted;
    StepId *stack;
    uint32_t count;
} Wanting;

static void want(void *context, StepId user, unsigned operand, StepId step) {
    Wanting *wanting = context;
    if (step == 0 || wanting->wanted[step] || !use_can_differ(wanting->evaluation, user, operand, step)) return;
    wanting->wanted[step] = 1;
    wanting->stack[wanting->count++] = step;
}

static const uint8_t *find_wanted(Arena *arena, const Evaluation *evaluation, const StepId *roots, uint32_t root_count) {
    uint32_t count = evaluation->program->steps.count;
    Wanting wanting = {evaluation, arena_take(arena, count), ARENA_ARRAY(arena, StepId, count), 0};
    for (uint32_t i = 0; i < root_count; i++) {
        if (!wanting.wanted[roots[i]]) wanting.stack[wanting.count++] = roots[i];
        wanting.wanted[roots[i]] = 1;
    }
    while (wanting.count > 0) each_operand(evaluation->program, wanting.stack[--wanting.count], want, &wanting);
    return wanting.wanted;
}

typedef struct Filling {
    const Evaluation *evaluation;
    const uint8_t *wanted;
    uint32_t *first;
    StepId *list; /* NULL: counting */
} Filling;

static void fill_user(void *context, StepId user, unsigned operand, StepId step) {
    Filling *filling = context;
    if (step == 0 || !use_can_differ(filling->evaluation, user, operand, step)) return;
    if (filling->list != NULL) filling->list[filling->first[step]] = user;
    filling->first[step]++;
}

Users *users_open(Arena *arena, const Evaluation *evaluation, const StepId *roots, uint32_t root_count) {
    const Program *program = evaluation->program;
    uint32_t count = program->steps.count;
    Filling filling = {evaluation, find_wanted(arena, evaluation, roots, root_count), ARENA_ARRAY(arena, uint32_t, count + 1), NULL};
    for (int pass = 0; pass < 2; pass++) {
        for (StepId id = 1; id < count; id++) {
            if (evaluation->bounded[id] && filling.wanted[id]) each_operand(program, id, fill_user, &filling);
        }
        /* From counts to places; after filling, each place stands where the next one began. */
        uint32_t sum = 0;
        for (StepId id = 0; pass == 0 && id <= count; id++) {
            uint32_t own = filling.first[id];
            filling.first[id] = sum;
            sum += own;
        }
        if (pass == 0) filling.list = ARENA_ARRAY(arena, StepId, sum);
    }
    for (StepId id = count; id > 0; id--) filling.first[id] = filling.first[id - 1];
    filling.first[0] = 0;
    Users *users = ARENA_NEW(arena, Users);
    *users = (Users){program, filling.first, filling.list, ARENA_ARRAY(arena, uint32_t, count), 0};
    return users;
}

uint32_t users_all(Users *users, Arena *arena, StepId step, StepId **all) {
    VECTOR(StepId) found = {0};
    uint32_t search = ++users->searches;
    users->seen[step] = search;
    VECTOR_PUSH(arena, &found, step);
    for (uint32_t i = 0; i < found.count; i++) {
        StepId id = found.at[i];
        for (uint32_t k = users->first[id]; k < users->first[id + 1]; k++) {
            if (users->seen[users->list[k]] == search) continue;
            users->seen[users->list[k]] = search;
            VECTOR_PUSH(arena, &found, users->list[k]);
        }
    }
    StepId last = step;
    for (uint32_t i = 0; i < found.count; i++) last = found.at[i] > last ? found.at[i] : last;
    uint32_t count = 0;
    for (StepId id = 1; id <= last; id++) { /* `step` need not be the lowest: a running value of a loop may be */
        if (users->seen[id] == search) found.at[count++] = id;
    }
    *all = found.at;
    return found.count;
}

static SignalVoid first_void(Signal signal) {
    for (uint32_t i = 0; i < signal.count; i++) {
        if (signal.pieces[i].size == 0 && signal.pieces[i].void_reason != VOID_UNKNOWN) return (SignalVoid)signal.pieces[i].void_reason;
    }
    return VOID_NONE;
}

StepId evaluation_origin(Evaluation *evaluation, StepId step, Failure *failure) {
    const Computed *value = &evaluation->values[step];
    *failure = (Failure)value->failure;
    if (value->state == COMPUTED_FAILED && value->origin != step) return value->origin;
    /* A signal that has no value on part of the cycle: the earliest step that has none is where it began. */
    Reach reach = evaluation_reach(evaluation, step, NULL);
    StepId first = 0;
    for (uint32_t i = 0; i < reach.count; i++) {
        StepId id = reach.steps[i];
        const Computed *part = &evaluation->values[id];
        bool failed = part->state == COMPUTED_FAILED && part->failure != FAILURE_BROKEN;
        SignalVoid reason = part->state == COMPUTED_SIGNAL ? first_void(part->signal) : VOID_NONE;
        if ((!failed && reason == VOID_NONE) || (first != 0 && id >= first)) continue;
        first = id;
        *failure = failed ? (Failure)part->failure : failure_of_void(reason);
    }
    return first != 0 ? first : value->state == COMPUTED_FAILED ? value->origin : 0;
}
