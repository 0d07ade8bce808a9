/* Conditions: found value, limit, margin, and where over the cycle it is tightest. */
#include <math.h>

#include "compute/number.h"
#include "verdict/judge.h"

static bool wants_less(SignalCompare comparison) { return comparison == SIGNAL_LESS || comparison == SIGNAL_AT_MOST; }
static bool is_strict(SignalCompare comparison) { return comparison == SIGNAL_LESS || comparison == SIGNAL_MORE; }

Text words_of_limit(Arena *arena, SignalCompare comparison, Text limit) {
    static const char *const words[] = {
        [SIGNAL_LESS] = "less than {0}", [SIGNAL_AT_MOST] = "at most {0}",   [SIGNAL_MORE] = "more than {0}",
        [SIGNAL_AT_LEAST] = "at least {0}", [SIGNAL_EQUAL] = "equal to {0}", [SIGNAL_UNEQUAL] = "other than {0}"};
    if (limit.length == 0) return limit;
    return text_fill(arena, text_from(words[comparison]), &limit, 1);
}

static Text limit_words(Judge *judge, SignalCompare comparison, Text limit) { return words_of_limit(judge->arena, comparison, limit); }

static Text instant_words(Judge *judge, StepId left, StepId right, double time) {
    Text at = spell_value(judge->model->vocabulary, judge->arena, time, (Measure){.dimension = {{[DIMENSION_TIME] = 6}}},
                          vocabulary_unit(judge->model->vocabulary, symbol_of(judge->model->symbols, TEXT("s")), (Span){0, 0}), SPELL_DIGITS);
    Text where = segment_at(judge, judge->evaluation->values[left].state == COMPUTED_SIGNAL ? left : right, time);
    Text parts[2] = {at, where};
    return text_fill(judge->arena, where.length ? TEXT("at {0}{1}") : TEXT("at {0}"), parts, 2);
}

static Outcome absent(Judge *judge, const Condition *condition, StepId step) {
    const Computed *value = &judge->evaluation->values[step];
    OutcomeState state = value->state == COMPUTED_UNKNOWN ? OUTCOME_UNKNOWN : OUTCOME_UNCOMPUTED;
    return (Outcome){.state = state, .share = NAN, .absolute = NAN, .trouble = step, .unit = condition->unit};
}

static Text word_of(Judge *judge, const Condition *condition, StepId step) {
    const Computed *value = &judge->evaluation->values[step];
    if (value->state != COMPUTED_NUMBER) return (Text){0};
    if (condition->truths) return value->number != 0 ? TEXT("yes") : TEXT("no");
    const Choice *choice = choice_of(judge->model, condition->choice);
    return value->number < choice->words.count ? model_name(judge->model, choice->words.at[(uint32_t)value->number].name) : (Text){0};
}

static Outcome judge_truth(Judge *judge, const Condition *condition) {
    const Computed *value = &judge->evaluation->values[condition->truth];
    Outcome outcome = {.share = NAN, .absolute = NAN};
    if (condition->kind == CONDITION_COMPARE) {
        outcome.found = word_of(judge, condition, condition->left);
        outcome.limit = limit_words(judge, (SignalCompare)condition->compare, word_of(judge, condition, condition->right));
    }
    if (value->state == COMPUTED_UNKNOWN || value->state == COMPUTED_FAILED) {
        Outcome none = absent(judge, condition, condition->truth);
        none.found = outcome.found;
        none.limit = outcome.limit;
        return none;
    }
    if (value->state == COMPUTED_NUMBER) {
        outcome.state = value->number != 0 ? OUTCOME_HOLDS : OUTCOME_FAILS;
        return outcome;
    }
    Extreme least = signal_minimum(value->signal);
    if (least.fault != VOID_NONE) {
        outcome.state = least.fault == VOID_UNKNOWN ? OUTCOME_UNKNOWN : OUTCOME_UNCOMPUTED;
        outcome.trouble = condition->truth;
        return outcome;
    }
    outcome.state = least.value != 0 ? OUTCOME_HOLDS : OUTCOME_FAILS;
    if (outcome.state == OUTCOME_FAILS) outcome.instant = instant_words(judge, condition->truth, condition->truth, least.time);
    return outcome;
}

/* The two sides where they are tightest. */
typedef struct Tightest {
    double left, right, time;
    bool over_time;
    SignalVoid fault;
    Signal room;
    Extreme least;
} Tightest;

static Tightest tightest(Judge *judge, const Condition *condition) {
    const Computed *left = &judge->evaluation->values[condition->left], *right = &judge->evaluation->values[condition->right];
    if (left->state == COMPUTED_NUMBER && right->state == COMPUTED_NUMBER) return (Tightest){.left = left->number, .right = right->number};
    Tightest out = {.over_time = true};
    const Computed *sides[2] = {left, right};
    bool both = left->state == COMPUTED_SIGNAL && right->state == COMPUTED_SIGNAL;
    if (both && fabs(signal_duration(left->signal) - signal_duration(right->signal)) > 1e-9 * signal_duration(left->signal)) {
        out.fault = VOID_OVERFLOW;
        return out;
    }
    double sign = wants_less((SignalCompare)condition->compare) ? -1 : 1; /* of the left side in the room */
    Signal room;
    if (both) room = sign < 0 ? signal_binary(judge->arena, SIGNAL_SUBTRACT, right->signal, left->signal)
                              : signal_binary(judge->arena, SIGNAL_SUBTRACT, left->signal, right->signal);
    else if (left->state == COMPUTED_SIGNAL) room = signal_scale(judge->arena, left->signal, sign, -sign * right->number);
    else room = signal_scale(judge->arena, right->signal, -sign, sign * left->number);
    Extreme least = signal_minimum(room);
    out.fault = least.fault;
    out.time = least.time;
    out.room = room;
    out.least = least;
    if (out.fault != VOID_NONE) return out;
    /* At a jump the tight side may be the piece that ends there: take both sides from the piece that holds the minimum. */
    double inside = room.pieces[least.piece].start + 0.5 * (room.pieces[least.piece].end - room.pieces[least.piece].start);
    double values[2];
    for (int i = 0; i < 2; i++) {
        values[i] = sides[i]->number;
        if (sides[i]->state != COMPUTED_SIGNAL) continue;
        Signal side = sides[i]->signal;
        uint32_t p = 0;
        while (p + 1 < side.count && side.pieces[p].end <= inside) p++;
        values[i] = piece_at(&side.pieces[p], fmin(fmax(least.time, side.pieces[p].start), side.pieces[p].end));
    }
    out.left = values[0];
    out.right = values[1];
    return out;
}

static Outcome judge_order(Judge *judge, const Condition *condition) {
    SignalCompare comparison = (SignalCompare)condition->compare;
    Tightest at = tightest(judge, condition);
    if (at.fault != VOID_NONE) {
        Outcome outcome = absent(judge, condition, condition->truth);
        outcome.state = at.fault == VOID_UNKNOWN ? OUTCOME_UNKNOWN : OUTCOME_UNCOMPUTED;
        return outcome;
    }
    double room = number_room(wants_less(comparison), at.left, at.right);
    Outcome outcome = {.unit = condition->unit, .measure = condition->measure, .absolute = room, .share = NAN};
    outcome.state = room > 0 || (room == 0 && !is_strict(comparison)) ? OUTCOME_HOLDS : OUTCOME_FAILS;
    if (at.right != 0 && !condition->measure.point) outcome.share = room / fabs(at.right);
    if (condition->measure.point) { /* a margin in temperature is a difference */
        Symbol kelvin = symbol_of(judge->model->symbols, TEXT("K"));
        outcome.measure.point = false;
        outcome.measure.kind = 0;
        outcome.unit = vocabulary_unit(judge->model->vocabulary, kelvin, (Span){0, 0});
    }
    outcome.leaf = (uint32_t)(condition - judge->program->conditions.at);
    outcome.room = at.room;
    outcome.tight = at.least;
    if (judge->silent) return outcome;
    UnitId unit = condition->unit ? condition->unit : spell_unit(judge->model->vocabulary, at.right != 0 ? at.right : at.left, condition->measure);
    if (!condition->measure.point) outcome.unit = unit;
    Vocabulary *vocabulary = judge->model->vocabulary;
    outcome.found = spell_value(vocabulary, judge->arena, at.left, condition->measure, unit, SPELL_DIGITS);
    outcome.exact = spell_value(vocabulary, judge->arena, at.left, condition->measure, unit, SPELL_EXACT);
    outcome.limit = limit_words(judge, comparison, spell_value(vocabulary, judge->arena, at.right, condition->measure, unit, SPELL_DIGITS));
    if (at.over_time) outcome.instant = instant_words(judge, condition->left, condition->right, at.time);
    return outcome;
}

static Outcome judge_comparison(Judge *judge, const Condition *condition) {
    SignalCompare comparison = (SignalCompare)condition->compare;
    if (condition->choice != 0 || condition->truths) return judge_truth(judge, condition);
    const StepId sides[2] = {condition->left, condition->right};
    for (int i = 0; i < 2; i++) {
        const Computed *value = &judge->evaluation->values[sides[i]];
        if (value->state != COMPUTED_UNKNOWN && value->state != COMPUTED_FAILED) continue;
        Outcome outcome = absent(judge, condition, sides[i]);
        const Computed *other = &judge->evaluation->values[sides[1 - i]];
        if (other->state == COMPUTED_NUMBER) {
            Text shown = spell_value(judge->model->vocabulary, judge->arena, other->number, condition->measure, condition->unit, SPELL_DIGITS);
            if (i == 0) outcome.limit = limit_words(judge, comparison, shown);
            else outcome.found = shown;
        }
        return outcome;
    }
    if (comparison != SIGNAL_EQUAL && comparison != SIGNAL_UNEQUAL) return judge_order(judge, condition);
    Outcome outcome = judge_truth(judge, condition);
    outcome.found = spell_step(judge, condition->left, condition->measure, condition->unit);
    outcome.limit = limit_words(judge, comparison, spell_step(judge, condition->right, condition->measure, condition->unit));
    return outcome;
}

double outcome_kelvin(const Outcome *outcome) {
    bool temperature = isnan(outcome->share) && dimension_equal(outcome->measure.dimension, dimension_base(DIMENSION_TEMPERATURE));
    return temperature ? outcome->absolute : NAN;
}

/* The smaller margin is the graver; a condition without a margin is graver than any that holds. */
bool outcome_graver(const Outcome *a, const Outcome *b) {
    static const int rank[] = {[OUTCOME_FAILS] = 0, [OUTCOME_UNCOMPUTED] = 1, [OUTCOME_UNKNOWN] = 2, [OUTCOME_HOLDS] = 3};
    if (rank[a->state] != rank[b->state]) return rank[a->state] < rank[b->state];
    bool plain = isnan(a->share) && isnan(b->share) && !isnan(a->absolute) && !isnan(b->absolute);
    if (plain) return a->absolute < b->absolute; /* temperatures: margins in kelvin */
    if (isnan(a->share) || isnan(b->share)) return isnan(b->share) && !isnan(a->share);
    return a->share < b->share;
}

static Outcome judge_group(Judge *judge, const Condition *condition) {
    Outcome chosen = {0};
    for (uint32_t i = 0; i < condition->child_count; i++) {
        Outcome one = judge_condition(judge, condition->children[i]);
        bool take = condition->kind == CONDITION_ALL ? outcome_graver(&one, &chosen) : outcome_graver(&chosen, &one);
        if (condition->kind == CONDITION_ANY && (one.state == OUTCOME_UNKNOWN || one.state == OUTCOME_UNCOMPUTED)) {
            take = chosen.state == OUTCOME_FAILS; /* what is unknown could still hold */
        }
        if (i == 0 || take) chosen = one;
    }
    return chosen;
}

Outcome judge_condition(Judge *judge, uint32_t index) {
    const Condition *condition = &judge->program->conditions.at[index];
    switch (condition->kind) {
    case CONDITION_COMPARE: return judge_comparison(judge, condition);
    case CONDITION_ALL:
    case CONDITION_ANY: return judge_group(judge, condition);
    case CONDITION_TRUTH: return judge_truth(judge, condition);
    case CONDITION_BROKEN: break;
    }
    return (Outcome){.state = OUTCOME_UNCOMPUTED, .share = NAN, .absolute = NAN};
}
