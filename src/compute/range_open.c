/* Opening: which steps rest on what varies, what shape their values have, and in which order they must be run. */
#include <math.h>

#include "compute/range_internal.h"
#include "compute/step.h"

typedef struct Opening {
    Range *range;
    const Evaluation *base;
    const Program *program;
    uint8_t *varies;   /* by step */
    uint8_t *wanted;   /* by step: does not vary, and is used by one that does, or by a condition */
    Signal *signals;   /* of those wanted, and of what takes inputs from a cycle */
    uint32_t signal_count;
} Opening;

static const PlanCycle *cycle_of(const Program *program, const Step *step) {
    return &program->cycles.at[step->kind == STEP_CYCLE_INPUT ? program->inputs.at[step->b].cycle : step->a];
}

/* ---- what varies ------------------------------------------------------------------------------------------------------ */

static void find_varying(Opening *opening, const uint8_t *constants) {
    const Program *program = opening->program;
    for (StepId id = 1; id < program->steps.count; id++) {
        const Step *step = &program->steps.at[id];
        opening->varies[id] |= step->kind == STEP_CONSTANT ? constants[step->a] : uses_marked(program, step, opening->varies);
        if (step->kind == STEP_SETTLE && opening->varies[id]) mark_loop(program, id, opening->varies);
    }
}

/* ---- what is wanted of what does not vary --------------------------------------------------------------------------------- */

static void want(Opening *opening, StepId step) {
    if (!opening->varies[step]) opening->wanted[step] = step != 0;
}

static void want_operand(void *context, StepId user, unsigned operand, StepId step) {
    (void)user, (void)operand;
    want(context, step);
}

static void want_all(Opening *opening) {
    const Program *program = opening->program;
    for (StepId id = 1; id < program->steps.count; id++) {
        if (opening->varies[id]) each_operand(program, id, want_operand, opening);
    }
    for (uint32_t i = 1; i < program->conditions.count; i++) {
        want(opening, program->conditions.at[i].left);
        want(opening, program->conditions.at[i].right);
        want(opening, program->conditions.at[i].truth);
    }
    for (uint32_t i = 0; i < program->judged.count; i++) {
        const Judged *judged = &program->judged.at[i];
        want(opening, judged->when);
        if (judged->kind == JUDGED_AGREEMENT) want(opening, program->objects.at[judged->object].slots[judged->slot].agreement);
    }
}

/* ---- grids ------------------------------------------------------------------------------------------------------------------ */

/* When the segments of the cycle that an input is taken from begin and end; false: that varies, or cannot be told. */
static bool segment_times(const Opening *opening, const Step *step, double *times) {
    const PlanCycle *cycle = cycle_of(opening->program, step);
    if (step->kind != STEP_CYCLE_INPUT || cycle->profile != NULL || cycle->segments.count == 0) return false;
    times[0] = 0;
    for (uint32_t i = 0; i < cycle->segments.count; i++) {
        const PlanSegment *segment = &cycle->segments.at[i];
        const Computed *length = &opening->base->values[segment->length], *displacement = &opening->base->values[segment->displacement];
        if (opening->varies[segment->length] || opening->varies[segment->displacement]) return false;
        if (length->state != COMPUTED_NUMBER || displacement->state != COMPUTED_NUMBER || !(length->number > 0) || !isfinite(length->number)) return false;
        times[i + 1] = times[i] + length->number;
    }
    return isfinite(times[cycle->segments.count]);
}

/* A signal that has the breaks of an input. */
static Signal staircase(Opening *opening, const Step *step) {
    uint32_t count = cycle_of(opening->program, step)->segments.count;
    double *times = ARENA_ARRAY(opening->range->arena, double, count + 1), *values = ARENA_ARRAY(opening->range->arena, double, count);
    if (!segment_times(opening, step, times)) return (Signal){0};
    for (uint32_t i = 0; i < count; i++) values[i] = i % 2;
    return signal_steps(opening->range->arena, times, values, count);
}

static void gather_signals(Opening *opening) {
    const Program *program = opening->program;
    opening->signals = ARENA_ARRAY(opening->range->arena, Signal, program->steps.count);
    for (StepId id = 1; id < program->steps.count; id++) {
        const Computed *value = &opening->base->values[id];
        Signal signal = {0};
        if (opening->wanted[id] && value->state == COMPUTED_SIGNAL) signal = value->signal;
        else if (opening->varies[id] && program->steps.at[id].kind == STEP_CYCLE_INPUT) signal = staircase(opening, &program->steps.at[id]);
        if (signal.count > 0) opening->signals[opening->signal_count++] = signal;
    }
}

static uint32_t grid_of(const Range *range, double duration) {
    uint32_t grid = 0;
    while (grid < range->grid_count && fabs(range->grids[grid].duration - duration) > 1e-12 * duration) grid++;
    return grid;
}

static void make_grids(Opening *opening) {
    Range *range = opening->range;
    enum { GRID_LIMIT = 255 };
    Signal *same = ARENA_ARRAY(range->arena, Signal, opening->signal_count);
    range->grids = ARENA_ARRAY(range->arena, RangeGrid, opening->signal_count < GRID_LIMIT ? opening->signal_count : GRID_LIMIT);
    for (uint32_t i = 0; i < opening->signal_count && range->grid_count < GRID_LIMIT; i++) {
        double duration = signal_duration(opening->signals[i]);
        uint32_t count = 0;
        if (grid_of(range, duration) < range->grid_count) continue;
        for (uint32_t k = i; k < opening->signal_count; k++) {
            if (fabs(signal_duration(opening->signals[k]) - duration) <= 1e-12 * duration) same[count++] = opening->signals[k];
        }
        range_make_grid(&range->grids[range->grid_count++], same, count, duration, range->pieces);
    }
}

/* ---- slots ------------------------------------------------------------------------------------------------------------------ */

static void make_room(Range *range, RangeSlot *slot) {
    if (slot->shape == SHAPE_WILD) {
        slot->low = -INFINITY;
        slot->high = INFINITY;
        slot->flags = RANGE_ANYTHING;
        slot->changed = 1;
    }
    if (slot->shape != SHAPE_GRID) return;
    uint32_t count = range_grid(range, slot)->count;
    slot->lows = ARENA_ARRAY(range->arena, double, count);
    slot->highs = ARENA_ARRAY(range->arena, double, count);
    slot->holes = arena_take(range->arena, count);
}

static void fill_from_base(Range *range, RangeSlot *slot, const Computed *value) {
    slot->shape = SHAPE_NUMBER;
    switch ((ComputedState)value->state) {
    case COMPUTED_NUMBER:
        slot->flags = RANGE_NUMBER;
        slot->low = slot->high = value->number;
        return;
    case COMPUTED_UNKNOWN: slot->flags = RANGE_UNKNOWN; return;
    case COMPUTED_FAILED: slot->flags = RANGE_FAILED; return;
    case COMPUTED_SIGNAL: break;
    }
    uint32_t grid = grid_of(range, signal_duration(value->signal));
    slot->flags = RANGE_SIGNAL;
    slot->shape = grid < range->grid_count ? SHAPE_GRID : SHAPE_WILD;
    slot->grid = (uint8_t)grid;
    make_room(range, slot);
    range->signals[slot - range->slots] = value->signal;
    if (slot->shape == SHAPE_GRID) range_fill_slot(slot, &range->grids[grid], value->signal);
}

/* The shape of a result that is a signal where any operand is one. */
static void join_shape(const Range *range, RangeSlot *out, uint32_t operand) {
    const RangeSlot *slot = &range->slots[operand];
    if (slot->shape == SHAPE_NUMBER || out->shape == SHAPE_WILD) return;
    bool clash = out->shape == SHAPE_GRID && (slot->shape == SHAPE_WILD || slot->grid != out->grid);
    out->shape = clash ? SHAPE_WILD : slot->shape;
    out->grid = slot->grid;
}

static void find_shape(const Opening *opening, const Step *step, const RangeOp *op, RangeSlot *out) {
    const Range *range = opening->range;
    out->shape = SHAPE_NUMBER;
    switch ((StepKind)step->kind) {
    case STEP_BINARY:
    case STEP_COMPARE:
    case STEP_AND:
    case STEP_OR:
    case STEP_CHOOSE:
        join_shape(range, out, op->a);
        join_shape(range, out, op->b);
        join_shape(range, out, op->c);
        return;
    case STEP_UNARY:
    case STEP_NOT:
    case STEP_LOOK_UP:
    case STEP_NEEDS:
    case STEP_LAG:
    case STEP_ACCUMULATE:
    case STEP_RATE: join_shape(range, out, op->a); return;
    case STEP_CONSTANT:
    case STEP_STATED:
    case STEP_REDUCE:
    case STEP_AT:
    case STEP_GUESS:
    case STEP_SETTLE: return;
    default: out->shape = SHAPE_WILD; return;
    }
}

static void list_table(Range *range, const Step *step, RangeOp *op) {
    const PlanTable *table = &range->program->tables.at[step->b];
    uint32_t *list = ARENA_ARRAY(range->arena, uint32_t, 2 * table->count);
    for (uint32_t i = 0; i < table->count; i++) {
        list[i] = range->slot_of[table->keys[i]];
        list[table->count + i] = range->slot_of[table->values[i]];
    }
    op->list = list;
    op->list_count = 2 * table->count;
}

static void list_input(const Opening *opening, const Step *step, RangeOp *op, RangeSlot *out) {
    Range *range = opening->range;
    const PlanInput *input = &opening->program->inputs.at[step->b];
    uint32_t count = cycle_of(opening->program, step)->segments.count;
    double *times = ARENA_ARRAY(range->arena, double, count + 1);
    if (!segment_times(opening, step, times)) return;
    uint32_t grid = grid_of(range, times[count]);
    if (grid == range->grid_count) return;
    const RangeGrid *parts = &range->grids[grid];
    uint32_t *list = ARENA_ARRAY(range->arena, uint32_t, count + 2 * parts->count);
    for (uint32_t i = 0; i < count; i++) list[i] = range->slot_of[input->steps[i] ? input->steps[i] : step->a];
    for (uint32_t k = 0; k < parts->count; k++) {
        uint32_t first = 0, last;
        while (first + 1 < count && times[first + 1] <= parts->times[k] + parts->near) first++;
        for (last = first; last + 1 < count && times[last + 1] < parts->times[k + 1] - parts->near;) last++;
        list[count + 2 * k] = first;
        list[count + 2 * k + 1] = last;
    }
    op->list = list;
    op->list_count = count;
    out->shape = SHAPE_GRID;
    out->grid = (uint8_t)grid;
}

static void precompute_lag(Range *range, const Opening *opening, const Step *step, RangeOp *op, const RangeSlot *out) {
    const Computed *tau = &opening->base->values[step->b];
    if (out->shape != SHAPE_GRID || opening->varies[step->b] || tau->state != COMPUTED_NUMBER || !(tau->number > 0)) return;
    const RangeGrid *grid = range_grid(range, out);
    op->decay = ARENA_ARRAY(range->arena, double, grid->count + 1);
    for (uint32_t k = 0; k < grid->count; k++) op->decay[k] = -expm1(-grid->lengths[k] / tau->number);
    op->decay[grid->count] = -expm1(-grid->duration / tau->number);
}

static void make_slots(Opening *opening) {
    Range *range = opening->range;
    const Program *program = opening->program;
    uint32_t ops = 0, others = 0;
    for (StepId id = 1; id < program->steps.count; id++) {
        ops += opening->varies[id];
        others += opening->wanted[id];
    }
    range->ops = ARENA_ARRAY(range->arena, RangeOp, ops + 1);
    range->slots = ARENA_ARRAY(range->arena, RangeSlot, ops + others + 1);
    range->signals = ARENA_ARRAY(range->arena, Signal, ops + others + 1);
    range->slopes = ARENA_ARRAY(range->arena, Interval, ops + 1);
    range->turns = ARENA_ARRAY(range->arena, double, ops + 1);
    range->words = ops / 64 + 1;
    range->slots[0].flags = RANGE_FAILED;
    range->slot_count = ops;
    for (StepId id = 1; id < program->steps.count; id++) {
        if (opening->varies[id]) range->slot_of[id] = ++range->op_count;
        if (!opening->wanted[id]) continue;
        range->slot_of[id] = ++range->slot_count;
        fill_from_base(range, &range->slots[range->slot_count], &opening->base->values[id]);
    }
}

static void make_ops(Opening *opening) {
    Range *range = opening->range;
    const Program *program = opening->program;
    for (StepId id = 1; id < program->steps.count; id++) {
        if (!opening->varies[id]) continue;
        const Step *step = &program->steps.at[id];
        RangeOp *op = &range->ops[range->slot_of[id]];
        RangeSlot *out = &range->slots[range->slot_of[id]];
        unsigned operands = step_operands((StepKind)step->kind);
        *op = (RangeOp){.kind = step->kind, .aux = step->aux, .step = id};
        op->a = operands > 0 ? range->slot_of[step->a] : 0;
        op->b = operands > 1 ? range->slot_of[step->b] : 0;
        op->c = operands > 2 ? range->slot_of[step->c] : 0;
        find_shape(opening, step, op, out);
        if (step->kind == STEP_LOOK_UP) list_table(range, step, op);
        if (step->kind == STEP_CYCLE_INPUT) list_input(opening, step, op, out);
        make_room(range, out);
        if (step->kind == STEP_LAG) precompute_lag(range, opening, step, op, out);
    }
}

/* ---- loops ------------------------------------------------------------------------------------------------------------------ */

static void make_loop(Opening *opening, StepId settle) {
    Range *range = opening->range;
    const Program *program = opening->program;
    StepId guess = program->steps.at[settle].a;
    uint8_t *depends = arena_take(range->arena, program->steps.count);
    uint32_t *list = ARENA_ARRAY(range->arena, uint32_t, settle - guess), index = range->slot_of[settle];
    RangeOp *op = &range->ops[index];
    depends[guess] = 1;
    for (StepId s = guess; s < settle; s++) {
        if (s != guess) depends[s] = uses_marked(program, &program->steps.at[s], depends);
        if (!depends[s]) continue;
        RangeOp *inner = &range->ops[range->slot_of[s]];
        list[op->list_count++] = range->slot_of[s];
        if (inner->loop != 0) {
            op->aux = 1;
            range->ops[inner->loop].aux = 1;
        }
        inner->loop = index;
    }
    op->list = list;
}

static void make_loops(Opening *opening) {
    const Program *program = opening->program;
    for (StepId id = 1; id < program->steps.count; id++) {
        if (program->steps.at[id].kind != STEP_SETTLE || !opening->varies[id]) continue;
        opening->range->ops[opening->range->slot_of[id]].aux = 0;
        make_loop(opening, id);
    }
}

/* ---- what must be run for a step ------------------------------------------------------------------------------------------------ */

static void mark_op(const Range *range, uint32_t slot, OpSet *set, uint32_t *stack, uint32_t *count) {
    if (slot == 0 || slot > range->op_count || op_set_has(set, slot)) return;
    op_set_add(set, slot);
    stack[(*count)++] = slot;
}

const OpSet *range_list_of(Range *range, StepId step) {
    if (range->lists[step] != NULL) return range->lists[step];
    OpSet *set = ARENA_ARRAY(range->arena, OpSet, range->words);
    uint32_t *stack = ARENA_ARRAY(range->arena, uint32_t, range->op_count + 1), count = 0;
    mark_op(range, range->slot_of[step], set, stack, &count);
    for (uint32_t i = 0; i < count; i++) {
        const RangeOp *op = &range->ops[stack[i]];
        mark_op(range, op->a, set, stack, &count);
        mark_op(range, op->b, set, stack, &count);
        mark_op(range, op->c, set, stack, &count);
        for (uint32_t k = 0; k < op->list_count; k++) mark_op(range, op->list[k], set, stack, &count);
        mark_op(range, op->loop, set, stack, &count);
    }
    range->lists[step] = set;
    return set;
}

static bool uses_any(const Range *range, const RangeOp *op, const OpSet *set) {
    const uint32_t operands[3] = {op->a, op->b, op->c};
    for (int i = 0; i < 3; i++) {
        if (operands[i] <= range->op_count && op_set_has(set, operands[i])) return true;
    }
    for (uint32_t i = 0; i < op->list_count; i++) {
        if (op->list[i] <= range->op_count && op_set_has(set, op->list[i])) return true;
    }
    return false;
}

/* Everything that rests on a varied constant; a loop as a whole. */
static void find_users(Range *range, uint32_t position) {
    OpSet *set = range->users[position] = ARENA_ARRAY(range->arena, OpSet, range->words);
    if (range->varied_slots[position] == 0) return;
    op_set_add(set, range->varied_slots[position]);
    for (uint32_t i = 1; i <= range->op_count; i++) {
        const RangeOp *op = &range->ops[i];
        if (!uses_any(range, op, set)) continue;
        op_set_add(set, i);
        for (uint32_t k = 0; op->kind == STEP_SETTLE && k < op->list_count; k++) op_set_add(set, op->list[k]);
    }
}

static void make_users(Range *range) {
    range->users = ARENA_ARRAY(range->arena, OpSet *, range->varied_count);
    for (uint32_t i = 0; i < range->varied_count; i++) find_users(range, i);
    range->stale = ARENA_ARRAY(range->arena, OpSet, range->words);
    for (uint32_t i = 1; i <= range->op_count; i++) op_set_add(range->stale, i);
}

static void make_lists(Range *range) {
    const Program *program = range->program;
    for (uint32_t i = 1; i < program->conditions.count; i++) {
        range_list_of(range, program->conditions.at[i].left);
        range_list_of(range, program->conditions.at[i].right);
        range_list_of(range, program->conditions.at[i].truth);
    }
    for (uint32_t i = 0; i < program->judged.count; i++) {
        const Judged *judged = &program->judged.at[i];
        range_list_of(range, judged->when);
        if (judged->kind == JUDGED_AGREEMENT) range_list_of(range, program->objects.at[judged->object].slots[judged->slot].agreement);
    }
}

/* ---- opening ---------------------------------------------------------------------------------------------------------------------- */

static void find_varied_slots(Opening *opening, const uint32_t *varied, uint32_t count) {
    Range *range = opening->range;
    const Program *program = opening->program;
    uint32_t *of_constant = ARENA_ARRAY(range->arena, uint32_t, program->constants.count);
    for (StepId id = 1; id < program->steps.count; id++) {
        const Step *step = &program->steps.at[id];
        if (step->kind == STEP_CONSTANT && opening->varies[id]) of_constant[step->a] = range->slot_of[id];
    }
    range->varied_slots = ARENA_ARRAY(range->arena, uint32_t, count);
    range->varied_count = count;
    for (uint32_t i = 0; i < count; i++) {
        range->varied_slots[i] = of_constant[varied[i]];
        RangeSlot *slot = &range->slots[range->varied_slots[i]];
        double value = range->base->inputs[varied[i]];
        if (range->varied_slots[i] == 0) continue;
        slot->flags = isnan(value) ? RANGE_UNKNOWN : RANGE_NUMBER;
        slot->low = slot->high = isnan(value) ? 0 : value;
        slot->changed = slot->computed = 1;
    }
}

Range *range_open(Arena *arena, const Evaluation *base, const uint32_t *varied, uint32_t count, uint32_t pieces) {
    const Program *program = base->program;
    Range *range = ARENA_NEW(arena, Range);
    range->arena = arena;
    range->program = program;
    range->base = base;
    range->run = 1;
    range->pieces = pieces < 1 ? 1 : pieces > RANGE_PIECE_LIMIT ? RANGE_PIECE_LIMIT : pieces;
    range->slot_of = ARENA_ARRAY(arena, uint32_t, program->steps.count);
    range->lists = ARENA_ARRAY(arena, OpSet *, program->steps.count);
    range->scratch = arena_take_array(arena, 3, sizeof *range->scratch);
    Opening opening = {.range = range, .base = base, .program = program};
    opening.varies = arena_take(arena, program->steps.count);
    opening.wanted = arena_take(arena, program->steps.count);
    uint8_t *constants = arena_take(arena, program->constants.count);
    for (uint32_t i = 0; i < count; i++) constants[varied[i]] = 1;
    find_varying(&opening, constants);
    want_all(&opening);
    gather_signals(&opening);
    make_grids(&opening);
    make_slots(&opening);
    make_ops(&opening);
    make_loops(&opening);
    range_make_forms(range);
    find_varied_slots(&opening, varied, count);
    make_users(range);
    make_lists(range);
    range_make_questions(range);
    return range;
}

void range_run(Range *range, const double *lows, const double *highs, const uint8_t *flags) {
    range->run++;
    for (uint32_t i = 0; i < range->varied_count; i++) {
        uint32_t index = range->varied_slots[i];
        uint8_t flag = flags ? flags[i] : RANGE_NUMBER;
        if (index == 0) continue;
        RangeSlot *slot = &range->slots[index];
        bool number = flag & RANGE_NUMBER, sound = number && lows[i] <= highs[i];
        double low = sound ? lows[i] : number ? -INFINITY : 0, high = sound ? highs[i] : number ? INFINITY : 0;
        if (slot->low == low && slot->high == high && slot->flags == flag) continue;
        slot->low = low;
        slot->high = high;
        slot->flags = flag;
        slot->changed = range->run;
        for (uint32_t word = 0; word < range->words; word++) range->stale[word] |= range->users[i][word];
        for (uint32_t word = 0; word < range->answer_words; word++) range->asked_anew[word] |= range->questions[i][word];
    }
}

uint32_t range_steps(const Range *range) { return range->op_count; }
