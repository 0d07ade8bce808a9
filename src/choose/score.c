/* One set of parts, judged: the specification compiled with the cards in their slots. */
#include "choose/choice.h"

#include <math.h>

#include "verdict/judge.h"

/* What stands before the first dot; 0: no name that is known. */
static Symbol thing_of(const Choosing *choice, const Finding *finding) {
    size_t dot = 0;
    while (dot < finding->id.length && finding->id.at[dot] != '.') dot++;
    return dot < finding->id.length ? symbol_find(choice->model->symbols, text_slice(finding->id, 0, dot)) : 0;
}

bool choice_is_of_card(const Choosing *choice, const Finding *finding) {
    Symbol thing = finding->kind == FINDING_REQUIREMENT ? 0 : thing_of(choice, finding);
    return thing != 0 && map_get(&choice->candidates, thing, 0) != 0;
}

bool choice_decides(const Choosing *choice, uint32_t count, const Finding *finding) {
    if (choice_is_of_card(choice, finding)) {
        Symbol thing = thing_of(choice, finding);
        for (uint32_t i = 0; i < count; i++) {
            if (tree_node(choice->model->tree, choice->fillings[i].card)->name == thing) return true;
        }
        return false;
    }
    Symbol id = symbol_find(choice->model->symbols, finding->id);
    return id == 0 || map_get(&choice->fixed, id, 0) == 0;
}

Text choice_name(const Choosing *choice, uint32_t count, const Finding *finding) {
    for (uint32_t i = 0; i < count; i++) {
        Text name = model_name(choice->model, tree_node(choice->model->tree, choice->fillings[i].card)->name);
        if (!text_starts(finding->id, name) || finding->id.length <= name.length || finding->id.at[name.length] != '.') continue;
        uint32_t slot = 0;
        while (choice->slots.at[slot].any != choice->fillings[i].any) slot++;
        Text parts[2] = {choice->list->slots.at[slot].path, text_slice(finding->id, name.length, finding->id.length)};
        return text_fill(choice->for_set, TEXT("{0}{1}"), parts, 2);
    }
    return finding->id;
}

/* Whether it is open because of a slot that nothing fills: one that is still to be filled, or one of another axis. */
static bool waits(const Program *program, const Finding *finding) {
    for (uint32_t k = 0; finding->verdict == VERDICT_OPEN && k < finding->missing.count; k++) {
        for (uint32_t i = 0; i < program->opens.count; i++) {
            if (program->opens.at[i].filled == 0 && text_equal(finding->missing.at[k], program->opens.at[i].path)) return true;
        }
    }
    return false;
}

double choice_share(const Finding *finding) {
    const double kelvin = 0.01;
    bool worst = finding->verdict == VERDICT_AT_RISK;
    if (finding->verdict == VERDICT_OPEN) return NAN;
    double share = worst ? finding->worst_share : finding->margin_share;
    return !isnan(share) ? share : kelvin * (worst ? finding->worst_kelvin : finding->margin_kelvin);
}

bool choice_unheeded(const Finding *finding) { return finding->advice && finding->verdict != VERDICT_MET && finding->verdict != VERDICT_OPEN; }

static void take_miss(Choosing *choice, Score *score, const Finding *finding) {
    double share = choice_share(finding);
    score->works = false;
    VECTOR_PUSH(choice->for_set, &score->misses, finding);
    if (isnan(share)) score->shareless++;
    else if (isnan(score->violation) || share < score->violation) score->violation = share;
}

static void take_finding(Choosing *choice, Score *score, const Program *program, uint32_t count, const Finding *finding) {
    if (!choice_decides(choice, count, finding)) return;
    if (finding->advice) {
        if (choice_unheeded(finding)) score->unheeded++;
        return;
    }
    if (waits(program, finding)) {
        score->waiting++;
        return;
    }
    if (finding->verdict != VERDICT_MET && finding->verdict != VERDICT_CONCEDED) {
        take_miss(choice, score, finding);
        return;
    }
    /* What a card says of itself has to hold; how far that is from its limit tells nothing of the axis. */
    bool of_axis = (finding->kind == FINDING_REQUIREMENT || finding->kind == FINDING_RULE) && choice_name(choice, count, finding).at == finding->id.at;
    if (!of_axis) return;
    double share = finding->bounded_inputs > 0 ? finding->worst_share : finding->margin_share;
    if (finding->verdict == VERDICT_CONCEDED || isnan(share) || (!isnan(score->margin) && share >= score->margin)) return;
    score->margin = share;
    score->tightest = finding;
}

static void take_criterion(Choosing *choice, Score *score, const Program *program, const Evaluation *evaluation) {
    score->criterion = NAN;
    if (choice->ranked == 0) {
        score->criterion = -score->margin;
        return;
    }
    if (program->ranked.class != OPERAND_VALUE) return;
    const Computed *value = &evaluation->values[program->ranked.step];
    if (value->state == COMPUTED_SIGNAL) choice->list->over_cycle = true;
    if (value->state != COMPUTED_NUMBER) return;
    score->criterion = value->number;
    score->criterion_shown = spell_value(choice->model->vocabulary, choice->for_set, value->number, program->ranked.measure, 0, SPELL_DIGITS);
}

Score choice_score(Choosing *choice, uint32_t count, bool nominal_only) {
    Model *model = choice->model;
    Messages *lasting = model->messages;
    arena_clear(choice->for_set);
    /* What is wrong with a card is no mistake of the specification. */
    Messages *messages = messages_open(choice->for_set, choice->sources);
    PlanRequest plan = {.bare = true, .fillings = choice->fillings, .filling_count = count, .ranked = choice->ranked, .ranked_of = choice->ranked_of};
    JudgeOptions options = {.today = choice->request.today, .nominal_only = nominal_only, .choosing = true, .bare = true};
    Score score = {.works = true, .margin = NAN, .violation = NAN, .criterion = NAN};
    model->messages = messages;
    Program *program = plan_build(choice->for_set, choice->world, choice->sources, model, plan);
    score.errors = messages->errors;
    score.faulty = score.errors > choice->errors;
    Evaluation *evaluation = evaluate(choice->for_set, program);
    score.result = judge_all(choice->for_set, choice->world, evaluation, messages, options);
    model->messages = lasting;
    if (score.faulty) score.works = false;
    for (uint32_t i = 0; i < score.result->findings.count; i++) take_finding(choice, &score, program, count, &score.result->findings.at[i]);
    take_criterion(choice, &score, program, evaluation);
    return score;
}
