/* Worst cases of several hundred random specifications: no point of the box that is tried without order is worse than the
 * one that was reported, and every value with bounds that a condition rests on has been varied. */
#include <math.h>
#include <stdlib.h>

#include "compute/step.h"
#include "given_check.h"
#include "given_random_axis.h"

enum { SPECIFICATIONS = 800, POINTS = 200 };

/* The room of a comparison with its limit, as the values are now. NaN: none. */
static double room_of(Arena *arena, const Program *program, const Evaluation *evaluation, uint32_t index) {
    const Condition *condition = &program->conditions.at[index];
    bool less = condition->compare == SIGNAL_LESS || condition->compare == SIGNAL_AT_MOST;
    const Computed *left = &evaluation->values[condition->left], *right = &evaluation->values[condition->right];
    Computed room = less ? computed_binary(arena, SIGNAL_SUBTRACT, right, left, 0) : computed_binary(arena, SIGNAL_SUBTRACT, left, right, 0);
    if (room.state == COMPUTED_NUMBER) return room.number;
    if (room.state != COMPUTED_SIGNAL) return NAN;
    Extreme least = signal_minimum(room.signal);
    return least.fault == VOID_NONE ? least.value : NAN;
}

static void set_inputs(Program *program, const Constant *original, uint64_t *state) {
    for (uint32_t i = 1; i < program->constants.count; i++) {
        const Constant *bounds = &original[i];
        double share = (double)(given_random(state) >> 11) / 9007199254740992.0;
        unsigned corner = (unsigned)(given_random(state) % 8); /* now and then at a bound */
        if (corner == 0) share = 0;
        if (corner == 1) share = 1;
        program->constants.at[i].nominal = bounds->low < bounds->high ? bounds->low + share * (bounds->high - bounds->low) : bounds->nominal;
    }
}

/* How many constants with bounds a value really rests on, by the plainest search there is. Of a switch that no bounds can turn,
 * only the side that is taken. */
typedef struct Plain {
    const Program *program;
    const Evaluation *evaluation;
    uint8_t *seen;
} Plain;

static unsigned bounded_under(const Plain *plain, StepId id);

static unsigned bounded_in_cycle(const Plain *plain, const Step *step) {
    const Program *program = plain->program;
    const PlanInput *input = step->kind == STEP_CYCLE_INPUT ? &program->inputs.at[step->b] : NULL;
    const PlanCycle *cycle = &program->cycles.at[input ? input->cycle : step->a];
    unsigned count = 0;
    for (uint32_t i = 0; i < cycle->segments.count; i++) {
        const PlanSegment *segment = &cycle->segments.at[i];
        count += bounded_under(plain, segment->length);
        if (step->kind == STEP_CYCLE) count += bounded_under(plain, segment->displacement) + bounded_under(plain, segment->shape[step->aux]);
        if (input && input->steps) count += bounded_under(plain, input->steps[i]);
    }
    return count;
}

static bool rests_on_bounds(const Plain *plain, StepId id) {
    Arena *scratch = given_arena();
    Plain fresh = {plain->program, plain->evaluation, arena_take(scratch, plain->program->steps.count)};
    unsigned count = bounded_under(&fresh, id);
    arena_close(scratch);
    return count > 0;
}

static unsigned bounded_under(const Plain *plain, StepId id) {
    const Program *program = plain->program;
    const Step *step = &program->steps.at[id];
    unsigned operands = step_operands((StepKind)step->kind), count = 0;
    if (id == 0 || plain->seen[id]) return 0;
    plain->seen[id] = 1;
    if (step->kind == STEP_CONSTANT) return program->constants.at[step->a].low < program->constants.at[step->a].high;
    const Computed *condition = &plain->evaluation->values[step->a];
    if (step->kind == STEP_CHOOSE && condition->state == COMPUTED_NUMBER && !rests_on_bounds(plain, step->a)) {
        return bounded_under(plain, condition->number != 0 ? step->b : step->c);
    }
    if (operands > 0) count += bounded_under(plain, step->a);
    if (operands > 1) count += bounded_under(plain, step->b);
    if (operands > 2) count += bounded_under(plain, step->c);
    if (step->kind == STEP_GUESS) count += bounded_under(plain, step->b); /* it is where that settles */
    if (step->kind == STEP_CYCLE || step->kind == STEP_CYCLE_TIME || step->kind == STEP_CYCLE_INPUT) count += bounded_in_cycle(plain, step);
    if (step->kind == STEP_LOOK_UP) {
        const PlanTable *table = &program->tables.at[step->b];
        for (uint32_t i = 0; i < table->count; i++) count += bounded_under(plain, table->keys[i]) + bounded_under(plain, table->values[i]);
    }
    return count;
}

static unsigned bounded_of_condition(const Plain *plain, uint32_t index) {
    const Condition *condition = &plain->program->conditions.at[index];
    unsigned count = bounded_under(plain, condition->truth);
    for (uint32_t i = 0; i < condition->child_count; i++) count += bounded_of_condition(plain, condition->children[i]);
    return count;
}

static void check_one(uint64_t seed, uint64_t *points) {
    Arena *arena = given_arena();
    const char *text = random_axis(arena, seed, false);
    GivenCheck check;
    given_check_text(&check, arena, text);
    given_no_errors(&check);
    Program *program = check.program;
    const Result *result = check.result;
    double worst[8];
    uint32_t conditions[8], count = 0;
    for (uint32_t j = 0; j < program->judged.count && count < 8; j++) {
        const Judged *judged = &program->judged.at[j];
        if (judged->kind != JUDGED_REQUIREMENT || judged->shall == 0) continue;
        const Finding *finding = &result->findings.at[j];
        Plain plain = {program, check.evaluation, arena_take(arena, program->steps.count)};
        unsigned bounded = bounded_of_condition(&plain, judged->shall);
        cr_assert_eq(finding->bounded_inputs, bounded, "%.*s sees %u of %u bounds:\n%s", (int)finding->id.length, finding->id.at, finding->bounded_inputs, bounded, text);
        conditions[count] = judged->shall;
        worst[count++] = bounded == 0 ? 1000 * finding->margin_share : isnan(finding->worst_share) ? -INFINITY : 1000 * finding->worst_share;
    }
    cr_assert_eq(count, 3u);
    Constant *original = ARENA_ARRAY(arena, Constant, program->constants.count);
    memcpy(original, program->constants.at, program->constants.count * sizeof *original);
    uint64_t state = seed + 17;
    for (int point = 0; point < POINTS; point++) {
        Arena *scratch = given_arena();
        set_inputs(program, original, &state);
        Evaluation *evaluation = evaluate(scratch, program);
        for (uint32_t k = 0; k < count; k++) {
            double room = room_of(scratch, program, evaluation, conditions[k]), found = 1000 - room;
            if (isnan(room)) continue;
            ++*points;
            cr_assert(room >= worst[k] - 1e-6 * (1 + fabs(found)), "seed %llu, R-%u: %.12g is worse than the worst, %.12g\n%s",
                      (unsigned long long)seed, k + 1, 1000 - room, 1000 - worst[k], text);
        }
        arena_close(scratch);
    }
    arena_close(arena);
}

Test(worst_property, no_point_of_the_box_is_worse_than_the_worst, .timeout = 600) {
    const char *more = getenv("SPECIFICATIONS"), *first = getenv("FIRST");
    uint64_t points = 0, start = first ? strtoull(first, NULL, 10) : 1, last = start + (more ? strtoull(more, NULL, 10) : SPECIFICATIONS);
    for (uint64_t seed = start; seed < last; seed++) check_one(seed, &points);
    cr_assert(points > (last - start) * POINTS * 2, "most points have values: %llu", (unsigned long long)points);
}

/* Every requirement and rule of the demo sees every value with bounds that it rests on. */
static void check_file(const char *path) {
    GivenCheck check = {.arena = given_arena()};
    given_check_path(&check, path);
    given_no_errors(&check);
    unsigned bounded_findings = 0;
    for (uint32_t j = 0; j < check.program->judged.count; j++) {
        const Judged *judged = &check.program->judged.at[j];
        if (judged->shall == 0 || judged->kind == JUDGED_AGREEMENT || judged->kind == JUDGED_CAUTION) continue;
        Text name = tree_node(check.program->model->tree, judged->node)->name ? model_name(check.program->model, tree_node(check.program->model->tree, judged->node)->name) : (Text){0};
        Text parts[2] = {check.program->objects.at[judged->object].path, name};
        Text id = judged->kind == JUDGED_REQUIREMENT ? name : text_fill(check.arena, TEXT("{0}.{1}"), parts, 2);
        const Finding *finding = NULL;
        for (uint32_t i = 0; i < check.result->findings.count && !finding; i++) {
            const Finding *other = &check.result->findings.at[i];
            if (text_equal(other->id, id) && other->advice == judged->advice) finding = other;
        }
        if (finding == NULL || finding->verdict == VERDICT_OPEN) continue; /* it does not apply, or has no value */
        Plain plain = {check.program, check.evaluation, arena_take(check.arena, check.program->steps.count)};
        unsigned bounded = bounded_of_condition(&plain, judged->shall);
        cr_assert_eq(finding->bounded_inputs, bounded, "%s: %.*s sees %u of %u bounds", path, (int)id.length, id.at, finding->bounded_inputs, bounded);
        bounded_findings += bounded > 0;
    }
    cr_assert(bounded_findings >= 15, "%s: %u", path, bounded_findings);
    arena_close(check.arena);
}

Test(worst_property, the_demo_sees_all_its_bounds) {
    check_file("examples/jar-handler/lift.trn.md");
    check_file("examples/jar-handler/carousel.trn.md");
    check_file("examples/jar-handler/lift-warm.trn.md");
}
