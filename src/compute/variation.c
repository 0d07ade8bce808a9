#include "compute/variation.h"

#include <math.h>
#include <string.h>

#include "compute/recall.h"
#include "compute/step.h"

Variation *variation_open(Arena *arena, const Evaluation *base) {
    Variation *variation = ARENA_NEW(arena, Variation);
    variation->base = base;
    variation->latest = ARENA_ARRAY(arena, double, base->program->constants.count);
    memcpy(variation->latest, base->inputs, base->program->constants.count * sizeof *base->inputs);
    variation->now = evaluation_open(arena, base->program, variation->latest);
    variation->now->bounded = base->bounded;
    memcpy(variation->now->values, base->values, base->program->steps.count * sizeof *base->values);
    variation->changed = arena_take(arena, base->program->steps.count);
    variation->inputs = ARENA_ARRAY(arena, uint32_t, base->program->constants.count);
    return variation;
}

void variation_recall(Variation *variation, Arena *arena, Arena *values) {
    variation->now->recall = recall_open(arena, values, variation->base);
}

void variation_take(Variation *variation, Arena *values, const StepId *cone, uint32_t count) {
    variation->now->arena = values;
    variation->cone = cone;
    variation->count = count;
    variation->input_count = 0;
    for (uint32_t i = 0; i < count; i++) {
        const Step *step = &variation->base->program->steps.at[cone[i]];
        if (step->kind == STEP_CONSTANT) variation->inputs[variation->input_count++] = step->a;
    }
}

/* Back to the base's values. */
static void return_to_base(Variation *variation) {
    const Program *program = variation->base->program;
    Recall *recall = variation->now->recall;
    for (uint32_t i = 0; i < variation->count; i++) {
        StepId id = variation->cone[i];
        const Step *step = &program->steps.at[id];
        variation->now->values[id] = variation->base->values[id];
        if (recall) recall_return(recall, id);
        if (step->kind == STEP_CONSTANT) variation->latest[step->a] = variation->base->inputs[step->a];
    }
}

/* Whether more constants have moved since the latest run than differ from the base. */
static bool nearer_to_base(const Variation *variation, const double *inputs) {
    uint32_t from_latest = 0, from_base = 0;
    for (uint32_t i = 0; i < variation->input_count; i++) {
        uint32_t constant = variation->inputs[i];
        from_latest += inputs[constant] != variation->latest[constant];
        from_base += inputs[constant] != variation->base->inputs[constant];
    }
    return from_base < from_latest;
}

/* Marks what rests on a constant that is not what it was. A loop is run as a whole, from its first guess. */
static void mark_changed(Variation *variation, const double *inputs) {
    const Program *program = variation->base->program;
    Recall *recall = variation->now->recall;
    for (uint32_t i = 0; i < variation->count; i++) {
        StepId id = variation->cone[i];
        const Step *step = &program->steps.at[id];
        if (step->kind == STEP_CONSTANT) {
            variation->changed[id] = inputs[step->a] != variation->latest[step->a];
            variation->latest[step->a] = inputs[step->a];
        } else {
            variation->changed[id] = uses_marked(program, step, variation->changed);
            if (variation->changed[id] && step->kind == STEP_SETTLE) mark_loop(program, id, variation->changed);
        }
        if (recall && variation->changed[id]) recall_print(recall, id, inputs);
    }
}

/* Room for values: all that is known goes at once. */
static void make_room(Variation *variation) {
    Recall *recall = variation->now->recall;
    if (arena_used(variation->now->arena) <= (recall ? RECALL_VALUES : VARIATION_VALUES)) return;
    return_to_base(variation);
    if (recall) recall_forget(recall);
    else arena_clear(variation->now->arena);
}

static Computed run_or_recall(Evaluation *now, StepId id) {
    Computed value;
    if (now->recall == NULL || !now->recall->worth[id]) return run_step(now, id);
    if (recall_value(now->recall, id, &value)) return value;
    value = run_step(now, id);
    recall_keep(now->recall, id, value);
    return value;
}

void variation_run(Variation *variation, const double *inputs) {
    make_room(variation);
    if (nearer_to_base(variation, inputs)) return_to_base(variation);
    mark_changed(variation, inputs);
    for (uint32_t i = 0; i < variation->count; i++) {
        StepId id = variation->cone[i];
        if (variation->changed[id]) variation->now->values[id] = run_or_recall(variation->now, id);
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
    if (!variation->now->recall) arena_clear(variation->now->arena);
    for (uint32_t i = 0; i < variation->count; i++) variation->changed[variation->cone[i]] = 0;
    variation->count = 0;
}
