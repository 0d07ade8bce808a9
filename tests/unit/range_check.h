/* Whether what a program computes for one member of a box lies in the ranges that were found for the box. */
#ifndef TRUNNION_TESTS_RANGE_CHECK_H
#define TRUNNION_TESTS_RANGE_CHECK_H

#include <math.h>
#include <stdio.h>

#include "compute/range.h"
#include "given_check.h"

typedef struct RangeCheck {
    const Program *program;
    Range *range;
    const Evaluation *member;
    const char *what;     /* for messages */
    uint64_t numbers, signals, absent, bounded; /* looked at; those of them with finite bounds */
    uint64_t verdicts[3]; /* by RangeVerdict */
} RangeCheck;

static inline void range_wrong(const RangeCheck *check, StepId id, RangeValue value, const char *how, double number, double time) {
    const Step *step = &check->program->steps.at[id];
    Text formula = source_text(check->program->model->tree->sources, step->span);
    cr_assert_fail("%s\nstep %u (%s/%u of %u %u %u) [%.*s]: %s %.17g at %.17g, in %.17g … %.17g, flags %u, parts %u", check->what, id, step_name((StepKind)step->kind), step->aux, step->a, step->b,
                   step->c, (int)(formula.length > 200 ? 200 : formula.length), formula.at, how, number, time, value.low, value.high, value.flags, value.parts);
}

static inline bool range_holds_at(RangeValue value, double number, double time) {
    if (value.parts == 0) return number >= value.low && number <= value.high;
    double near = 1e-9 * value.times[value.parts];
    for (uint32_t k = 0; k < value.parts; k++) {
        if (time < value.times[k] - near || time > value.times[k + 1] + near) continue;
        if (number >= value.lows[k] && number <= value.highs[k]) return true;
    }
    return false;
}

static inline void range_check_signal(RangeCheck *check, StepId id, RangeValue value, Signal signal) {
    check->signals++;
    check->bounded += isfinite(value.low) && isfinite(value.high);
    if (!(value.flags & RANGE_SIGNAL)) range_wrong(check, id, value, "a signal", 0, 0);
    for (uint32_t i = 0; i < signal.count; i++) {
        const Piece *piece = &signal.pieces[i];
        if (piece->size == 0) {
            int flag = piece->void_reason == VOID_UNKNOWN ? RANGE_UNKNOWN : RANGE_FAILED;
            if (!(value.flags & flag)) range_wrong(check, id, value, "a void", piece->void_reason, piece->start);
            continue;
        }
        for (int j = 0; j <= 6; j++) {
            double time = piece->start + j / 6.0 * (piece->end - piece->start), number = piece_at(piece, time);
            if (!range_holds_at(value, number, time)) range_wrong(check, id, value, "a signal of", number, time);
        }
    }
}

static inline void range_check_step(RangeCheck *check, StepId id) {
    const Computed *member = &check->member->values[id];
    RangeValue value = range_step(check->range, id);
    switch ((ComputedState)member->state) {
    case COMPUTED_NUMBER:
        check->numbers++;
        check->bounded += isfinite(value.low) && isfinite(value.high);
        if (!(value.flags & RANGE_NUMBER)) range_wrong(check, id, value, "the number", member->number, 0);
        if (!(member->number >= value.low && member->number <= value.high)) range_wrong(check, id, value, "the number", member->number, 0);
        return;
    case COMPUTED_SIGNAL: range_check_signal(check, id, value, member->signal); return;
    case COMPUTED_UNKNOWN:
        check->absent++;
        if (!(value.flags & RANGE_UNKNOWN)) range_wrong(check, id, value, "unknown", 0, 0);
        return;
    case COMPUTED_FAILED:
        check->absent++;
        if (!(value.flags & RANGE_FAILED)) range_wrong(check, id, value, "failed", member->failure, 0);
        return;
    }
}

static inline void range_check_steps(RangeCheck *check) {
    for (StepId id = 1; id < check->program->steps.count; id++) range_check_step(check, id);
}

/* What the judge says of the member, against what the ranges say of the box. */
static inline void range_check_conditions(RangeCheck *check, Judge *judge) {
    judge->evaluation = (Evaluation *)(uintptr_t)check->member;
    judge->silent = true;
    for (uint32_t i = 1; i < check->program->conditions.count; i++) {
        RangeAnswer answer = range_condition(check->range, i);
        Outcome outcome = judge_condition(judge, i);
        bool holds = outcome.state == OUTCOME_HOLDS;
        Text text = source_text(check->program->model->tree->sources, check->program->conditions.at[i].span);
        cr_assert(answer.verdict != RANGE_FAILS || !holds, "%s\ncondition %u [%.*s] holds, and the range says that none does", check->what, i, (int)text.length, text.at);
        cr_assert(answer.verdict != RANGE_HOLDS || holds, "%s\ncondition %u [%.*s] does not hold, and the range says that all do", check->what, i, (int)text.length, text.at);
        check->verdicts[answer.verdict]++;
        cr_assert(!holds || isnan(outcome.share) || outcome.share <= answer.share, "%s\ncondition %u [%.*s] has a margin of %.17g, and the range says %.17g at most", check->what, i, (int)text.length, text.at,
                  outcome.share, answer.share);
    }
}

#endif
