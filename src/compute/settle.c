#include "compute/settle.h"

#include <math.h>

#include "compute/step.h"

static const double settled_share = 1e-13; /* of the value */

typedef struct Finding {
    const Program *program;
    StepId guess;
    const uint8_t *depends; /* by step, from the guess on: rests on it */
} Finding;

/* What stands before the guess does not rest on it. */
static bool rests(const Finding *finding, StepId on, StepId user) {
    return on >= finding->guess && on < user && finding->depends[on - finding->guess];
}

/* A cycle names its segments' steps in a list of its own. */
static bool cycle_rests(const Finding *finding, const Step *step, StepId user) {
    const Program *program = finding->program;
    uint32_t index = step->kind == STEP_CYCLE_INPUT ? program->inputs.at[step->b].cycle : step->a;
    const PlanCycle *cycle = &program->cycles.at[index];
    if (cycle->profile != NULL) return false;
    for (uint32_t i = 0; i < cycle->segments.count; i++) {
        const PlanSegment *segment = &cycle->segments.at[i];
        StepId shape = step->kind == STEP_CYCLE ? segment->shape[step->aux] : 0;
        StepId input = step->kind == STEP_CYCLE_INPUT ? program->inputs.at[step->b].steps[i] : 0;
        if (rests(finding, segment->length, user) || rests(finding, shape, user) || rests(finding, input, user)) return true;
        if (step->kind == STEP_CYCLE && rests(finding, segment->displacement, user)) return true;
    }
    return false;
}

static bool step_rests(const Finding *finding, StepId id) {
    const Step *step = &finding->program->steps.at[id];
    unsigned operands = step_operands((StepKind)step->kind);
    if ((operands > 0 && rests(finding, step->a, id)) || (operands > 1 && rests(finding, step->b, id)) || (operands > 2 && rests(finding, step->c, id))) return true;
    if (step->kind == STEP_LOOK_UP) {
        const PlanTable *table = &finding->program->tables.at[step->b];
        for (uint32_t i = 0; i < table->count; i++) {
            if (rests(finding, table->keys[i], id) || rests(finding, table->values[i], id)) return true;
        }
    }
    bool cycle = step->kind == STEP_CYCLE || step->kind == STEP_CYCLE_TIME || step->kind == STEP_CYCLE_INPUT;
    return cycle && cycle_rests(finding, step, id);
}

Loop loop_of(Arena *arena, const Program *program, StepId settle) {
    StepId guess = program->steps.at[settle].a;
    uint8_t *depends = arena_take(arena, settle - guess + 1u);
    StepId *steps = ARENA_ARRAY(arena, StepId, settle - guess);
    Finding finding = {program, guess, depends};
    uint32_t count = 0;
    depends[0] = 1;
    for (StepId s = guess + 1; s < settle; s++) {
        depends[s - guess] = step_rests(&finding, s);
        if (depends[s - guess]) steps[count++] = s;
    }
    return (Loop){steps, count};
}

Computed run_settle(Evaluation *evaluation, StepId id, const Step *step) {
    StepId guess = step->a, formula = step->b;
    Loop loop = loop_of(evaluation->arena, evaluation->program, id);
    double x = evaluation->values[guess].number, x_before = 0, y_before = 0;
    int growth = 0;
    if (computed_is_absent(&evaluation->values[guess])) return evaluation->values[guess];
    for (int pass = 0; pass < SETTLE_PASS_LIMIT; pass++) {
        const Computed result = evaluation->values[formula];
        if (computed_is_absent(&result)) return result;
        if (result.state == COMPUTED_SIGNAL) return computed_failed(FAILURE_SIGNAL, id);
        double y = result.number, gap = y - x, next = y;
        if (fabs(gap) <= settled_share * fmax(fabs(x), fabs(y))) return computed_number(y);
        if (pass > 0 && x != x_before) {
            double slope = (y - y_before) / (x - x_before);
            if (slope >= 1) growth++;
            else next = x + gap / (1 - slope);
            if (growth >= SETTLE_GROWTH_LIMIT) return computed_failed(FAILURE_RUNAWAY, id);
        }
        if (!isfinite(next)) return computed_failed(FAILURE_RUNAWAY, id);
        if (next == x) return computed_number(y); /* as still as the numbers allow */
        x_before = x;
        y_before = y;
        x = next;
        evaluation->values[guess] = computed_number(x);
        for (uint32_t i = 0; i < loop.count; i++) evaluation->values[loop.steps[i]] = run_step(evaluation, loop.steps[i]);
    }
    return computed_failed(FAILURE_RESTLESS, id);
}
