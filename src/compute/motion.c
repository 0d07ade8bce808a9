#include "compute/motion.h"

#include <math.h>

#include "compute/profile.h"
#include "compute/step.h"

static const double law_slack = 1e-9; /* of the stroke */

static bool law_has_gaps(Signal shape) {
    for (uint32_t i = 0; i < shape.count; i++) {
        if (shape.pieces[i].size == 0) return true;
    }
    return false;
}

/* A law must carry the load from 0 to 1 without a jump. */
static bool law_is_whole(Signal shape) {
    double last = 0;
    for (uint32_t i = 0; i < shape.count; i++) {
        const Piece *piece = &shape.pieces[i];
        if (fabs(piece->values[0] - last) > law_slack) return false;
        last = piece->values[piece->size - 1];
    }
    return fabs(last - 1) <= law_slack;
}

/* What keeps a cycle from being strung together: the first segment value that is no number, or no time. */
static bool segment_is_fine(const Evaluation *evaluation, StepId id, const PlanSegment *segment, Computed *trouble) {
    const Computed *length = &evaluation->values[segment->length], *displacement = &evaluation->values[segment->displacement];
    const Computed *both[2] = {length, displacement};
    for (int i = 0; i < 2; i++) {
        if (both[i]->state == COMPUTED_SIGNAL) {
            *trouble = computed_failed(FAILURE_SIGNAL, id);
            return false;
        }
        if (computed_is_absent(both[i])) {
            *trouble = *both[i];
            return false;
        }
    }
    if (!(length->number > 0) || !isfinite(length->number)) {
        *trouble = computed_failed(FAILURE_LENGTH, segment->length);
        return false;
    }
    return true;
}

Computed run_cycle(Evaluation *evaluation, StepId id, const Step *step) {
    const PlanCycle *cycle = &evaluation->program->cycles.at[step->a];
    if (cycle->profile != NULL) return computed_signal(profile_signal(evaluation->arena, cycle->profile, step->aux));
    uint32_t count = cycle->segments.count;
    unsigned order = step->aux;
    Arena *arena = evaluation->arena;
    Signal *parts = ARENA_ARRAY(arena, Signal, count);
    double *scale = ARENA_ARRAY(arena, double, count), *offset = ARENA_ARRAY(arena, double, count), *length = ARENA_ARRAY(arena, double, count);
    double position = 0;
    Computed trouble;
    for (uint32_t i = 0; i < count; i++) {
        const PlanSegment *segment = &cycle->segments.at[i];
        if (!segment_is_fine(evaluation, id, segment, &trouble)) return trouble;
        double displacement = evaluation->values[segment->displacement].number;
        length[i] = evaluation->values[segment->length].number;
        offset[i] = order == 0 ? position : 0;
        scale[i] = displacement / pow(length[i], order);
        position += displacement;
        if (segment->shape[0] == 0) {
            parts[i] = signal_constant(arena, 1, 0);
            continue;
        }
        const Computed *shape = &evaluation->values[segment->shape[order]];
        if (computed_is_absent(shape)) return *shape;
        parts[i] = computed_as_signal(arena, shape, 1);
        if (law_has_gaps(parts[i])) {
            Failure failure;
            StepId origin = evaluation_origin(evaluation, segment->shape[order], &failure);
            return computed_failed(failure, origin);
        }
        if (order == 0 && !law_is_whole(parts[i])) return computed_failed(FAILURE_LAW, segment->shape[0]);
    }
    return computed_signal(signal_chain(arena, parts, scale, offset, length, count));
}

static bool cycle_times(const Evaluation *evaluation, StepId id, const PlanCycle *cycle, double *times, Computed *trouble) {
    times[0] = 0;
    for (uint32_t i = 0; i < cycle->segments.count; i++) {
        if (!segment_is_fine(evaluation, id, &cycle->segments.at[i], trouble)) return false;
        times[i + 1] = times[i] + evaluation->values[cycle->segments.at[i].length].number;
    }
    return true;
}

Computed run_cycle_time(Evaluation *evaluation, StepId id, const Step *step) {
    const PlanCycle *cycle = &evaluation->program->cycles.at[step->a];
    double *times = ARENA_ARRAY(evaluation->arena, double, cycle->segments.count + 1);
    Computed trouble;
    if (!cycle_times(evaluation, id, cycle, times, &trouble)) return trouble;
    return computed_signal(signal_time(evaluation->arena, times[cycle->segments.count]));
}

Computed run_cycle_input(Evaluation *evaluation, StepId id, const Step *step) {
    const PlanInput *input = &evaluation->program->inputs.at[step->b];
    const PlanCycle *cycle = &evaluation->program->cycles.at[input->cycle];
    if (cycle->profile != NULL) {
        return computed_signal(signal_steps(evaluation->arena, cycle->profile->times, input->values, cycle->profile->count - 1));
    }
    uint32_t count = cycle->segments.count;
    double *times = ARENA_ARRAY(evaluation->arena, double, count + 1), *values = ARENA_ARRAY(evaluation->arena, double, count);
    Computed trouble;
    if (!cycle_times(evaluation, id, cycle, times, &trouble)) return trouble;
    for (uint32_t i = 0; i < count; i++) {
        const Computed *value = &evaluation->values[input->steps[i] ? input->steps[i] : step->a];
        if (value->state == COMPUTED_SIGNAL) return computed_failed(FAILURE_SIGNAL, id);
        if (computed_is_absent(value)) return *value;
        values[i] = value->number;
    }
    return computed_signal(signal_steps(evaluation->arena, times, values, count));
}
