/* The verdict stage: everything that is to be judged, judged; everything a report shows, collected. */
#include "verdict/judge.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "verdict/why.h"

static const Node *node_of(const Judge *judge, NodeId id) { return tree_node(judge->model->tree, id); }

static Text option_text(Judge *judge, NodeId declaration, OptionKind kind) {
    NodeId option = tree_option(judge->model->tree, node_of(judge, declaration)->c, kind);
    return option && node_of(judge, option)->a ? tree_text(judge->model->tree, judge->arena, node_of(judge, option)->a) : (Text){0};
}

/* ---- what decides ------------------------------------------------------------------------------------------------ */

static Text top_name(const Judge *judge, ObjectId id) {
    while (id != 0 && judge->program->objects.at[id].parent != 0) id = judge->program->objects.at[id].parent;
    const Object *object = &judge->program->objects.at[id];
    return id != 0 && !object->abstract && !object->law ? object->path : (Text){0};
}

static void add_once(Judge *judge, TextVector *list, Text text) {
    if (text.length == 0) return;
    for (uint32_t i = 0; i < list->count; i++) {
        if (text_equal(list->at[i], text)) return;
    }
    VECTOR_PUSH(judge->arena, list, text);
}

static void note_what_decides(Judge *judge, Finding *finding, const Judged *judged) {
    for (uint32_t i = 0; i < judged->references.count; i++) {
        const Reference *reference = &judged->references.at[i];
        add_once(judge, &finding->decides, reference->path);
        if (judge->verdicts_only) continue;
        add_once(judge, &finding->parts, top_name(judge, reference->object));
        if (reference->step == 0) continue;
        Reach reach = evaluation_reach(judge->evaluation, reference->step, NULL);
        for (uint32_t k = 0; k < reach.count; k++) {
            const Step *step = &judge->program->steps.at[reach.steps[k]];
            if (step->kind == STEP_CONSTANT) add_once(judge, &finding->parts, top_name(judge, step->owner));
        }
    }
}

/* ---- one thing to judge ------------------------------------------------------------------------------------------ */

static void take_outcome(Judge *judge, Finding *finding, const Outcome *outcome) {
    finding->found = outcome->found;
    finding->exact = outcome->exact;
    finding->limit = outcome->limit;
    finding->instant = outcome->instant;
    finding->margin_share = outcome->share;
    finding->margin_kelvin = outcome_kelvin(outcome);
    if (outcome->state == OUTCOME_HOLDS || outcome->state == OUTCOME_FAILS) {
        finding->verdict = outcome->state == OUTCOME_HOLDS ? VERDICT_MET : VERDICT_NOT_MET;
        if (judge->brief && !(outcome->share < judge->smallest)) return;
        if (judge->brief) judge->smallest = outcome->share;
        if (!isnan(outcome->absolute)) {
            finding->margin_absolute = spell_value(judge->model->vocabulary, judge->arena, outcome->absolute, outcome->measure, outcome->unit, 3);
        }
        finding->margin = isnan(outcome->share) ? finding->margin_absolute : spell_share(judge->arena, outcome->share);
        return;
    }
    finding->verdict = VERDICT_OPEN;
    if (outcome->state == OUTCOME_UNKNOWN) {
        missing_facts(judge, outcome->trouble, &finding->missing);
        finding->reason = finding->missing.count == 1 ? TEXT("a fact is missing") : TEXT("facts are missing");
        return;
    }
    bool is_finding = false;
    if (outcome->trouble == 0) finding->reason = TEXT("its condition has a mistake that is reported above");
    else finding->reason = explain_failure(judge, outcome->trouble, &is_finding);
    if (is_finding) finding->verdict = VERDICT_NOT_MET;
}

static void count_finding(Result *result, const Finding *finding) {
    if (finding->advice) result->advice_not_met += finding->verdict == VERDICT_NOT_MET;
    else result->count[finding->verdict]++;
}

/* What its declaration says. */
static void take_words(Judge *judge, Finding *finding, const Judged *judged) {
    const Node *node = node_of(judge, judged->node);
    if (judged->advice && tree_option(judge->model->tree, node->c, OPTION_SHALL)) {
        finding->anchor = text_fill(judge->arena, TEXT("{0}.advice"), &finding->id, 1);
    }
    finding->text = tree_title(judge->model->tree, judge->arena, judged->node);
    finding->cites = option_text(judge, judged->node, OPTION_CITES);
    finding->because = option_text(judge, judged->node, OPTION_BECAUSE);
    if (judged->shall_node != 0) {
        finding->shall_span = node_of(judge, judged->shall_node)->span;
        finding->condition = on_one_line(judge, source_text(judge->result->sources, finding->shall_span));
    }
}

/* All facts that are missing where a condition is open: each of its parts may be decided by another. */
static void gather_missing(Judge *judge, uint32_t index, TextVector *paths) {
    const Condition *condition = &judge->program->conditions.at[index];
    for (uint32_t i = 0; i < condition->child_count; i++) gather_missing(judge, condition->children[i], paths);
    missing_facts(judge, condition->truth, paths);
}

/* The field that is filled by what a slot asks this of. */
static Text path_of_slot(const Judge *judge, const Judged *judged) {
    for (uint32_t i = 0; i < judge->program->opens.count; i++) {
        if (judge->program->opens.at[i].any == judged->node) return judge->program->opens.at[i].path;
    }
    return (Text){0};
}

static void judge_one(Judge *judge, const Judged *judged) {
    Finding finding = {.verdict = VERDICT_MET, .advice = judged->advice, .margin_share = NAN, .margin_kelvin = NAN, .worst_kelvin = NAN};
    const Node *node = node_of(judge, judged->node);
    const Object *object = &judge->program->objects.at[judged->object];
    Text name = model_name(judge->model, node->name), parts[2] = {object->path, name};
    if (judged->kind == JUDGED_REQUIREMENT) {
        finding.kind = FINDING_REQUIREMENT;
        finding.id = name;
        finding.span = node->span;
    } else if (judged->kind == JUDGED_WHERE) {
        Text path = path_of_slot(judge, judged);
        finding.kind = FINDING_WHERE;
        finding.id = text_fill(judge->arena, TEXT("{0}.where"), &path, 1);
        finding.span = node->span;
    } else {
        finding.kind = judged->kind == JUDGED_RULE ? FINDING_RULE : FINDING_AGREEMENT;
        finding.id = text_fill(judge->arena, TEXT("{0}.{1}"), parts, 2);
        finding.span = judged->kind == JUDGED_RULE ? place_of_object(judge, judged->object) : object->slots[judged->slot].stated_span;
    }
    finding.anchor = finding.id;
    if (!judge->brief) take_words(judge, &finding, judged);
    const Computed *when = judged->when ? &judge->evaluation->values[judged->when] : NULL;
    bool idle = judged->kind == JUDGED_AGREEMENT &&
                judge->evaluation->values[object->slots[judged->slot].agreement].state == COMPUTED_UNKNOWN;
    if (idle) { /* what it is to agree with rests on facts that this part does not state */
        judge->result->not_applicable++;
        return;
    }
    if (when && when->state == COMPUTED_NUMBER && when->number == 0) {
        if (judged->kind != JUDGED_REQUIREMENT) {
            judge->result->not_applicable++;
            return;
        }
        finding.reason = TEXT("its condition for applying is not fulfilled");
    } else if (when && when->state != COMPUTED_NUMBER) {
        Outcome outcome = {.state = when->state == COMPUTED_UNKNOWN ? OUTCOME_UNKNOWN : OUTCOME_UNCOMPUTED,
                           .share = NAN, .absolute = NAN, .trouble = judged->when};
        take_outcome(judge, &finding, &outcome);
    } else if (judged->shall != 0) {
        judge->silent = judge->brief;
        Outcome outcome = judge_condition(judge, judged->shall);
        judge->silent = false;
        take_outcome(judge, &finding, &outcome);
        if (judge->choosing && finding.verdict == VERDICT_OPEN) gather_missing(judge, judged->shall, &finding.missing);
        bool by_card = judged->kind == JUDGED_AGREEMENT || judged->kind == JUDGED_WHERE;
        if (!judge->settling || finding.verdict != VERDICT_MET) note_what_decides(judge, &finding, judged);
        if (!judge->settling && !by_card && !judge->result->nominal_only) find_worst(judge, &finding, judged, &outcome);
    } else if (judged->shall_node != 0 || tree_option(judge->model->tree, node->c, OPTION_SHALL)) {
        finding.verdict = VERDICT_OPEN;
        finding.reason = TEXT("its condition has a mistake that is reported above");
    }
    if (judged->kind == JUDGED_REQUIREMENT && !judge->bare) trace_requirement(judge, &finding, judged->node);
    if (judged->kind == JUDGED_AGREEMENT) {
        Operand formula = object->slots[judged->slot].operand;
        formula.step = object->slots[judged->slot].agreement;
        const Member *member = &form_of(judge->model, object->form)->members.at[judged->slot];
        Text stated = on_one_line(judge, source_text(judge->result->sources, node_of(judge, object->slots[judged->slot].stated)->span));
        UnitId unit = member->shown ? member->shown : spell_unit(judge->model->vocabulary, judge->evaluation->values[formula.step].number, formula.measure);
        Text both[2] = {stated, spell_operand(judge, formula, unit)};
        finding.text = text_fill(judge->arena, TEXT("Stated {0}, and its formula gives {1}"), both, 2);
        finding.condition = on_one_line(judge, source_text(judge->result->sources, node_of(judge, member->formula)->span));
        if (finding.cites.length == 0) finding.cites = TEXT("agreement within the part card");
    }
    if (judge->brief && finding.margin.length == 0) count_finding(judge->result, &finding);
    else VECTOR_PUSH(judge->arena, &judge->result->findings, finding);
}

static void judge_caution(Judge *judge, const Judged *judged) {
    const Computed *when = judged->when ? &judge->evaluation->values[judged->when] : NULL;
    if (when && when->state == COMPUTED_NUMBER && when->number == 0) return; /* what is unknown is cautioned against */
    Text parts[2] = {judge->program->objects.at[judged->object].path, model_name(judge->model, node_of(judge, judged->node)->name)};
    Caution caution = {.id = text_fill(judge->arena, TEXT("{0}.{1}"), parts, 2)};
    caution.text = tree_title(judge->model->tree, judge->arena, judged->node);
    caution.cites = option_text(judge, judged->node, OPTION_CITES);
    caution.span = place_of_object(judge, judged->object);
    VECTOR_PUSH(judge->arena, &judge->result->cautions, caution);
}

/* Could an unread requirement, or one that names no clause that is there, cover a clause? */
static bool may_cover(const Judge *judge) {
    const Loaded *loaded = judge->model->loaded;
    for (uint32_t f = 0; f < loaded->files.count; f++) {
        if (loaded->files.at[f].source->origin != SOURCE_NAMED) continue;
        for (NodeId item = loaded->files.at[f].first_item; item != 0; item = node_of(judge, item)->next) {
            const Node *node = node_of(judge, item);
            if (node->kind == NODE_BROKEN || (node->kind == NODE_REQUIREMENT && node->flags & NODE_INCOMPLETE)) return true;
        }
    }
    return judge->untraced;
}

static void report_gaps(Judge *judge) {
    if (may_cover(judge)) return; /* to be said when those are mended */
    for (uint32_t i = 0; i < judge->result->clauses.count; i++) {
        const Clause *clause = &judge->result->clauses.at[i];
        if (!clause->demanded || clause->requirements.count > 0 || clause->left_out.length > 0) continue;
        SAY(judge->messages, CLAUSE_UNCOVERED, clause->span, clause->source, clause->id);
    }
}

/* Which requirements others refine: those may leave what they demand to them. */
static void note_refined(Judge *judge) {
    const Loaded *loaded = judge->model->loaded;
    judge->refined = map_open(judge->arena);
    for (uint32_t f = 0; f < loaded->files.count; f++) {
        for (NodeId item = loaded->files.at[f].first_item; item != 0; item = node_of(judge, item)->next) {
            if (node_of(judge, item)->kind != NODE_REQUIREMENT) continue;
            NodeId refines = tree_option(judge->model->tree, node_of(judge, item)->c, OPTION_REFINES);
            if (refines == 0) continue;
            Symbol parent = node_of(judge, refines)->name;
            NodeId known = model_thing(judge->model, parent);
            map_set(&judge->refined, parent, 1);
            if (known == 0 || node_of(judge, known)->kind != NODE_REQUIREMENT) judge->misdirected = true;
        }
    }
}

typedef struct Ordered {
    int group;
    uint32_t place, index;
} Ordered;

static int by_order(const void *a, const void *b) {
    const Ordered *x = a, *y = b;
    if (x->group != y->group) return x->group - y->group;
    if (x->place != y->place) return x->place < y->place ? -1 : 1;
    return x->index < y->index ? -1 : x->index > y->index;
}

static void count_verdicts(Result *result) {
    for (uint32_t i = 0; i < result->findings.count; i++) count_finding(result, &result->findings.at[i]);
}

/* In the order of the documents again, after some were judged before the others: requirements, then rules and agreements, those of
 * libraries last. */
static void order_findings(Judge *judge) {
    FindingVector *findings = &judge->result->findings;
    Finding *copy = arena_take_raw(judge->arena, findings->count * sizeof *copy);
    Ordered *ordered = ARENA_ARRAY(judge->arena, Ordered, findings->count);
    memcpy(copy, findings->at, findings->count * sizeof *copy);
    for (uint32_t i = 0; i < findings->count; i++) {
        const Source *source = source_of(judge->result->sources, copy[i].span.start);
        bool named = source != NULL && source->origin == SOURCE_NAMED;
        ordered[i] = (Ordered){copy[i].kind != FINDING_REQUIREMENT, named ? copy[i].span.start : UINT32_MAX, i};
    }
    qsort(ordered, findings->count, sizeof *ordered, by_order);
    for (uint32_t i = 0; i < findings->count; i++) findings->at[i] = copy[ordered[i].index];
}

void judge_counted(Judge *judge, const Judged *judged, bool idle) {
    Finding finding = {.verdict = VERDICT_MET, .advice = judged->advice};
    if (idle) {
        judge->result->not_applicable++;
        return;
    }
    if (judged->kind == JUDGED_REQUIREMENT) {
        const Node *node = node_of(judge, judged->node);
        finding.kind = FINDING_REQUIREMENT;
        finding.id = model_name(judge->model, node->name);
        finding.span = node->span;
        trace_requirement(judge, &finding, judged->node);
    }
    count_finding(judge->result, &finding);
}

void judge_judged(Judge *judge, const Judged *judged) {
    if (judged->kind == JUDGED_CAUTION) judge_caution(judge, judged);
    else if (judged->kind != JUDGED_WHERE || judge->choosing) judge_one(judge, judged);
}

Judge *judge_open(Arena *arena, const World *world, Model *model, Messages *messages, JudgeOptions options) {
    Judge *judge = ARENA_NEW(arena, Judge);
    *judge = (Judge){.arena = arena, .world = world, .model = model, .messages = messages};
    judge->result = ARENA_NEW(arena, Result);
    judge->result->arena = arena;
    judge->result->sources = messages->sources;
    judge->result->messages = messages;
    judge->result->nominal_only = options.nominal_only;
    judge->verdicts_only = options.verdicts_only;
    judge->choosing = options.choosing;
    judge->bare = options.bare;
    judge->said = map_open(arena);
    judge->smallest = INFINITY;
    if (!options.bare) trace_sources(judge);
    note_refined(judge);
    return judge;
}

Result *judge_rest(Judge *judge, Evaluation *evaluation, JudgeOptions options) {
    const Program *program = evaluation->program;
    uint32_t settled = judge->result->findings.count;
    judge->program = program;
    judge->evaluation = evaluation;
    for (uint32_t i = 0; i < program->judged.count; i++) judge_judged(judge, &program->judged.at[i]);
    close_worst(judge);
    if (settled > 0) order_findings(judge);
    concede_and_refine(judge, options.today);
    count_verdicts(judge->result);
    if (judge->bare) return judge->result;
    report_gaps(judge);
    collect_values(judge);
    judge_quotes(judge);
    explain_all(judge);
    return judge->result;
}

Result *judge_all(Arena *arena, const World *world, Evaluation *evaluation, Messages *messages, JudgeOptions options) {
    return judge_rest(judge_open(arena, world, evaluation->program->model, messages, options), evaluation, options);
}
