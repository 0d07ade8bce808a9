/* Worst cases of several hundred random specifications: no point of the box that is tried without order is worse than the
 * one that was reported, and every value with bounds that a condition rests on has been varied. */
#include <math.h>
#include <stdlib.h>

#include "compute/step.h"
#include "given_check.h"
#include "given_random_axis.h"

enum { SPECIFICATIONS = 300, POINTS = 200 };

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

/* How many constants with bounds the condition's value really rests on, by the plainest search there is. */
static unsigned bounded_under(const Program *program, StepId id, uint8_t *seen) {
    const Step *step = &program->steps.at[id];
    unsigned operands = step_operands((StepKind)step->kind), count = 0;
    if (id == 0 || seen[id]) return 0;
    seen[id] = 1;
    if (step->kind == STEP_CONSTANT) return program->constants.at[step->a].low < program->constants.at[step->a].high;
    if (operands > 0) count += bounded_under(program, step->a, seen);
    if (operands > 1) count += bounded_under(program, step->b, seen);
    if (operands > 2) count += bounded_under(program, step->c, seen);
    if (step->kind == STEP_CYCLE || step->kind == STEP_CYCLE_TIME) {
        const PlanCycle *cycle = &program->cycles.at[step->a];
        for (uint32_t i = 0; i < cycle->segments.count; i++) {
            const PlanSegment *segment = &cycle->segments.at[i];
            count += bounded_under(program, segment->length, seen) + bounded_under(program, segment->displacement, seen);
            if (step->kind == STEP_CYCLE) count += bounded_under(program, segment->shape[step->aux], seen);
        }
    }
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
        uint8_t *seen = arena_take(arena, program->steps.count);
        unsigned bounded = bounded_under(program, program->conditions.at[judged->shall].truth, seen);
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
