/* Conditions over a box, as verdict/condition.c judges them for one member. */
#include <math.h>

#include "compute/range_internal.h"
#include "compute/signal_bound.h"

static const double rounding = 1e-9;  /* differences below this share of what is compared count as none, see number_room() */
static const double fit = 1e-11;      /* of the magnitude: what a difference of signals and its least value may be off */

static const RangeSlot *value_of(Range *range, StepId step) {
    range_run_list(range, range_list_of(range, step));
    return &range->slots[range->slot_of[step]];
}

static RangeAnswer fails(void) { return (RangeAnswer){RANGE_FAILS, -INFINITY}; }

/* ---- truths ---------------------------------------------------------------------------------------------------------- */

static RangeAnswer judge_truth(Range *range, StepId step) {
    const RangeSlot *slot = value_of(range, step);
    bool may_hold = true, may_fail = (slot->flags & RANGE_ABSENT) != 0;
    if (!(slot->flags & RANGE_VALUE)) return fails();
    if (slot->shape == SHAPE_NUMBER) {
        may_hold = slot->high > 0 || slot->low < 0;
        may_fail = may_fail || (slot->low <= 0 && slot->high >= 0);
    } else if (slot->shape == SHAPE_GRID) {
        may_fail = may_fail || slot->holed;
        for (uint32_t k = 0; k < range_grid(range, slot)->count; k++) {
            may_hold = may_hold && slot->highs[k] > 0.5;
            may_fail = may_fail || slot->lows[k] < 0.5;
        }
    } else {
        may_fail = true;
    }
    if (!may_hold) return fails();
    return (RangeAnswer){may_fail ? RANGE_MAYBE : RANGE_HOLDS, INFINITY};
}

/* ---- comparisons ------------------------------------------------------------------------------------------------------- */

/* The largest (limit - found) / |limit|, or (found - limit) / |limit|, found and limit in their ranges. */
static double largest_share(bool less, double found_low, double found_high, double limit_low, double limit_high) {
    if (limit_low <= 0 && limit_high >= 0) return INFINITY;
    if (!less) { /* the mirror image */
        double low = found_low;
        found_low = -found_high;
        found_high = -low;
        low = limit_low;
        limit_low = -limit_high;
        limit_high = -low;
    }
    double least = interval_least(limit_low, limit_high), most = interval_most(limit_low, limit_high), sign = limit_low > 0 ? 1 : -1;
    double share = sign - found_low / (found_low >= 0 ? most : least); /* limit / |limit| - found / |limit| */
    if (isnan(share)) return INFINITY;
    return share + 4e-15 * (1 + fabs(share));
}

typedef struct Room {
    bool may_hold, may_fail;
    double share; /* at most, of those that meet it */
} Room;

/* `slack`: what the evaluation may be off. */
static void judge_room(Room *room, bool less, bool strict, double found_low, double found_high, double limit_low, double limit_high, double slack, double size) {
    double above = less ? limit_high - found_low : found_high - limit_low, below = less ? limit_low - found_high : found_low - limit_high;
    double band = rounding * size * (1 + 1e-9);
    if (strict ? above <= -slack : above < -band - slack) room->may_hold = false;
    if (!(strict ? below > band + slack : below >= slack)) room->may_fail = true;
}

static void judge_over_time(Range *range, Room *room, const RangeSlot *left, const RangeSlot *right, bool less, bool strict) {
    const RangeGrid *grid = range_grid(range, left->shape == SHAPE_GRID ? left : right);
    RangeView found = range_view(range, left, grid->count, 0), limit = range_view(range, right, grid->count, 1);
    double size = greater(found.size, limit.size), slack = fit * (found.size + limit.size), lowest = INFINITY, least = INFINITY, most = 0;
    for (uint32_t k = 0; k < grid->count; k++) {
        judge_room(room, less, strict, found.low[k], found.high[k], limit.low[k], limit.high[k], slack, size);
        lowest = lesser(lowest, less ? limit.high[k] - found.low[k] : found.high[k] - limit.low[k]);
        least = lesser(least, interval_least(limit.low[k], limit.high[k]));
        most = greater(most, interval_most(limit.low[k], limit.high[k]));
    }
    lowest += slack;
    if (!(least > 0)) return; /* where the limit is nothing there is no share */
    room->share = lowest / (lowest >= 0 ? least : most);
    if (isnan(room->share)) room->share = INFINITY;
    if (right->shape != SHAPE_NUMBER) return;
    for (uint32_t k = 0; k < grid->count; k++) { /* one limit all the time: each instant's share is as large at least */
        room->share = lesser(room->share, largest_share(less, found.low[k] - slack, found.high[k] + slack, right->low, right->high));
    }
}

static RangeAnswer judge_order(Range *range, const Condition *condition) {
    const RangeSlot *left = value_of(range, condition->left), *right = value_of(range, condition->right);
    bool less = condition->compare == SIGNAL_LESS || condition->compare == SIGNAL_AT_MOST;
    bool strict = condition->compare == SIGNAL_LESS || condition->compare == SIGNAL_MORE;
    Room room = {true, ((left->flags | right->flags) & RANGE_ABSENT) != 0, INFINITY};
    if (!(left->flags & RANGE_VALUE) || !(right->flags & RANGE_VALUE)) return fails();
    if (left->shape == SHAPE_WILD || right->shape == SHAPE_WILD) return (RangeAnswer){RANGE_MAYBE, INFINITY};
    if (left->shape == SHAPE_NUMBER && right->shape == SHAPE_NUMBER) {
        double size = greater(interval_most(left->low, left->high), interval_most(right->low, right->high));
        judge_room(&room, less, strict, left->low, left->high, right->low, right->high, 0, size);
        room.share = largest_share(less, left->low, left->high, right->low, right->high);
    } else if (left->shape == SHAPE_GRID && right->shape == SHAPE_GRID && left->grid != right->grid) {
        return (RangeAnswer){RANGE_MAYBE, INFINITY};
    } else {
        room.may_fail = room.may_fail || (left->shape == SHAPE_GRID && left->holed) || (right->shape == SHAPE_GRID && right->holed);
        judge_over_time(range, &room, left, right, less, strict);
    }
    if (room.share < 0 && room.share > -2 * rounding) room.share = 0; /* a little less than nothing counts as nothing */
    if (!room.may_hold) return fails();
    return (RangeAnswer){room.may_fail ? RANGE_MAYBE : RANGE_HOLDS, condition->measure.point ? INFINITY : room.share};
}

static RangeAnswer judge_comparison(Range *range, const Condition *condition) {
    bool words = condition->choice != 0 || condition->truths, equality = condition->compare == SIGNAL_EQUAL || condition->compare == SIGNAL_UNEQUAL;
    if (!words && !equality) return judge_order(range, condition);
    return judge_truth(range, condition->truth);
}

/* ---- several ------------------------------------------------------------------------------------------------------------- */

static RangeAnswer judge_group(Range *range, const Condition *condition) {
    bool all = condition->kind == CONDITION_ALL;
    RangeAnswer answer = {all ? RANGE_HOLDS : RANGE_FAILS, all ? INFINITY : -INFINITY};
    RangeVerdict decides = all ? RANGE_FAILS : RANGE_HOLDS;
    if (condition->child_count == 0) return fails();
    for (uint32_t i = 0; i < condition->child_count; i++) {
        RangeAnswer one = range_condition(range, condition->children[i]);
        answer.share = all ? lesser(answer.share, one.share) : greater(answer.share, one.share);
        if (one.verdict == RANGE_MAYBE && answer.verdict != decides) answer.verdict = RANGE_MAYBE;
        if (one.verdict == decides) answer.verdict = decides;
        if (all && answer.verdict == RANGE_FAILS) return fails();
    }
    return answer;
}

/* The latest answer, where nothing has changed since. */
static bool is_known(const Range *range, uint32_t question, RangeAnswer *answer) {
    *answer = range->answers[question];
    return !op_set_has(range->asked_anew, question);
}

static RangeAnswer keep(Range *range, uint32_t question, RangeAnswer answer) {
    range->asked_anew[question / 64] &= ~((OpSet)1 << question % 64);
    return range->answers[question] = answer;
}

static RangeAnswer find_condition(Range *range, uint32_t index) {
    const Condition *condition = &range->program->conditions.at[index];
    switch (condition->kind) {
    case CONDITION_COMPARE: return judge_comparison(range, condition);
    case CONDITION_ALL:
    case CONDITION_ANY: return judge_group(range, condition);
    case CONDITION_TRUTH: return judge_truth(range, condition->truth);
    case CONDITION_BROKEN: break;
    }
    return fails();
}

RangeAnswer range_condition(Range *range, uint32_t index) {
    RangeAnswer answer;
    if (is_known(range, index, &answer)) return answer;
    return keep(range, index, find_condition(range, index));
}

/* Whether a rule may apply, may be left out, may be open because that is not known. */
typedef struct Application {
    bool applies, idle, open;
} Application;

static Application application_of(Range *range, const Judged *judged) {
    if (judged->when == 0) return (Application){true, false, false};
    const RangeSlot *when = value_of(range, judged->when);
    bool number = when->flags & RANGE_NUMBER && when->shape == SHAPE_NUMBER, open = (when->flags & (RANGE_ABSENT | RANGE_SIGNAL)) != 0;
    if (when->shape != SHAPE_NUMBER) return (Application){(when->flags & RANGE_NUMBER) != 0, (when->flags & RANGE_NUMBER) != 0, open};
    return (Application){number && (when->high > 0 || when->low < 0), number && when->low <= 0 && when->high >= 0, open};
}

static RangeAnswer find_judged(Range *range, uint32_t index) {
    const Judged *judged = &range->program->judged.at[index];
    Application application = application_of(range, judged);
    if (judged->kind == JUDGED_CAUTION) return (RangeAnswer){RANGE_HOLDS, INFINITY};
    if (judged->kind == JUDGED_AGREEMENT) { /* idle while what it is to agree with is not known */
        const RangeSlot *formula = value_of(range, range->program->objects.at[judged->object].slots[judged->slot].agreement);
        application.idle = application.idle || formula->flags & RANGE_UNKNOWN;
        if (!(formula->flags & ~RANGE_UNKNOWN)) application.applies = application.open = false;
    }
    if (!application.applies && !application.open) return (RangeAnswer){RANGE_HOLDS, INFINITY};
    if (!application.applies && !application.idle) return fails();
    RangeAnswer answer = {RANGE_MAYBE, INFINITY};
    if (judged->shall != 0) answer = range_condition(range, judged->shall);
    else if (judged->shall_node != 0) answer = fails();
    if (!application.applies) return (RangeAnswer){RANGE_MAYBE, INFINITY};
    if (application.idle) {
        answer.share = INFINITY;
        if (answer.verdict == RANGE_FAILS) answer.verdict = RANGE_MAYBE;
    }
    if (application.open && answer.verdict == RANGE_HOLDS) answer.verdict = RANGE_MAYBE;
    return answer;
}

RangeAnswer range_judged(Range *range, uint32_t index) {
    RangeAnswer answer;
    uint32_t question = range->program->conditions.count + index;
    if (is_known(range, question, &answer)) return answer;
    return keep(range, question, find_judged(range, index));
}

/* ---- which questions rest on what --------------------------------------------------------------------------------------------- */

static void add_step(Range *range, StepId step, OpSet *set) {
    if (step == 0) return;
    const OpSet *list = range_list_of(range, step);
    for (uint32_t word = 0; word < range->words; word++) set[word] |= list[word];
}

static void add_condition(Range *range, uint32_t index, OpSet *set) {
    const Condition *condition = &range->program->conditions.at[index];
    add_step(range, condition->left, set);
    add_step(range, condition->right, set);
    add_step(range, condition->truth, set);
    for (uint32_t i = 0; i < condition->child_count; i++) add_condition(range, condition->children[i], set);
}

static void add_judged(Range *range, const Judged *judged, OpSet *set) {
    add_step(range, judged->when, set);
    if (judged->shall != 0) add_condition(range, judged->shall, set);
    if (judged->kind == JUDGED_AGREEMENT) add_step(range, range->program->objects.at[judged->object].slots[judged->slot].agreement, set);
}

void range_make_questions(Range *range) {
    const Program *program = range->program;
    uint32_t count = program->conditions.count + program->judged.count;
    range->answer_words = count / 64 + 1;
    range->answers = ARENA_ARRAY(range->arena, RangeAnswer, count);
    range->asked_anew = ARENA_ARRAY(range->arena, OpSet, range->answer_words);
    range->questions = ARENA_ARRAY(range->arena, OpSet *, range->varied_count);
    for (uint32_t i = 0; i < range->varied_count; i++) range->questions[i] = ARENA_ARRAY(range->arena, OpSet, range->answer_words);
    OpSet *set = ARENA_ARRAY(range->arena, OpSet, range->words);
    for (uint32_t question = 0; question < count; question++) {
        op_set_add(range->asked_anew, question);
        if (question == 0 && program->conditions.count > 0) continue; /* there is no condition 0 */
        for (uint32_t word = 0; word < range->words; word++) set[word] = 0;
        if (question < program->conditions.count) add_condition(range, question, set);
        else add_judged(range, &program->judged.at[question - program->conditions.count], set);
        for (uint32_t i = 0; i < range->varied_count; i++) {
            uint32_t slot = range->varied_slots[i];
            if (slot != 0 && op_set_has(set, slot)) op_set_add(range->questions[i], question);
        }
    }
}

/* ---- one value -------------------------------------------------------------------------------------------------------------- */

static RangeValue value_of_base(const Range *range, StepId step) {
    const Computed *value = &range->base->values[step];
    switch ((ComputedState)value->state) {
    case COMPUTED_NUMBER: return (RangeValue){.low = value->number, .high = value->number, .flags = RANGE_NUMBER};
    case COMPUTED_UNKNOWN: return (RangeValue){.flags = RANGE_UNKNOWN};
    case COMPUTED_FAILED: return (RangeValue){.flags = RANGE_FAILED};
    case COMPUTED_SIGNAL: break;
    }
    double duration = signal_duration(value->signal);
    SignalBounds bounds = signal_bound(value->signal, 0, duration, 0);
    return (RangeValue){.low = bounds.low, .high = bounds.high, .flags = (uint8_t)(RANGE_SIGNAL | (bounds.unknown ? RANGE_UNKNOWN : 0) | (bounds.void_ ? RANGE_FAILED : 0))};
}

RangeValue range_step(Range *range, StepId step) {
    if (range->slot_of[step] == 0) return value_of_base(range, step);
    const RangeSlot *slot = value_of(range, step);
    RangeValue value = {.low = slot->low, .high = slot->high, .flags = slot->flags};
    if (slot->shape != SHAPE_GRID || !(slot->flags & RANGE_VALUE)) return value;
    const RangeGrid *grid = range_grid(range, slot);
    value.parts = grid->count;
    value.times = grid->times;
    value.lows = slot->lows;
    value.highs = slot->highs;
    value.low = INFINITY;
    value.high = -INFINITY;
    for (uint32_t k = 0; k < grid->count; k++) {
        value.low = lesser(value.low, slot->lows[k]);
        value.high = greater(value.high, slot->highs[k]);
        if (slot->holed) value.flags |= slot->holes[k];
    }
    return value;
}
