#include "verdict/worst.h"

#include <math.h>
#include <stdlib.h>

enum { EATER_LIMIT = 8, TURNING_LIMIT = 3, TURNING_PASSES = 5 };

/* Turning points are looked for where the worst case leaves less than this of the limit. */
static const double turning_band = 0.25;

/* ---- names ------------------------------------------------------------------------------------------------------- */

static bool holds_span(Judge *judge, NodeId node, Span span) {
    if (node == 0) return false;
    Span whole = tree_node(judge->model->tree, node)->span;
    return whole.start <= span.start && span.end <= whole.end;
}

/* What of a segment a number was written for: exchange.press.thrust, exchange.lower.duration, exchange, segment 2, duration. */
static Text name_in_segment(Judge *judge, const PlanCycle *cycle, uint32_t index, Span span) {
    const Tree *tree = judge->model->tree;
    const PlanSegment *segment = &cycle->segments.at[index];
    const Node *node = tree_node(tree, segment->node);
    Text field = node->op == SEGMENT_MOVE ? TEXT("distance") : node->op == SEGMENT_HOLD ? TEXT("duration") : TEXT("speed");
    for (NodeId option = node->b; option != 0; option = tree_node(tree, option)->next) {
        if (!holds_span(judge, tree_node(tree, option)->a, span)) continue;
        OptionKind kind = (OptionKind)tree_node(tree, option)->op;
        field = kind == OPTION_SPEED ? TEXT("speed") : kind == OPTION_ACCELERATION ? TEXT("acceleration") : kind == OPTION_DECELERATION ? TEXT("deceleration")
              : kind == OPTION_JERK ? TEXT("jerk") : kind == OPTION_BY ? TEXT("law") : TEXT("duration");
    }
    for (NodeId input = node->c; input != 0; input = tree_node(tree, input)->next) {
        if (holds_span(judge, tree_node(tree, input)->a, span)) field = model_name(judge->model, tree_node(tree, input)->name);
    }
    TextBuilder number = text_builder(judge->arena);
    text_add_count(&number, index + 1);
    Text parts[3] = {model_name(judge->model, cycle->name), segment->label ? model_name(judge->model, segment->label) : text_built(&number), field};
    return text_fill(judge->arena, segment->label ? TEXT("{0}.{1}.{2}") : TEXT("{2} of segment {1} of {0}"), parts, 3);
}

static Text name_in_cycle(Judge *judge, Span span) {
    const Program *program = judge->program;
    for (uint32_t c = 1; c < program->cycles.count; c++) {
        const PlanCycle *cycle = &program->cycles.at[c];
        for (uint32_t i = 0; i < cycle->segments.count; i++) {
            NodeId input = cycle->segments.at[i].node ? tree_node(judge->model->tree, cycle->segments.at[i].node)->c : 0;
            while (input != 0 && !holds_span(judge, tree_node(judge->model->tree, input)->a, span)) input = tree_node(judge->model->tree, input)->next;
            if (input != 0 || holds_span(judge, cycle->segments.at[i].node, span)) return name_in_segment(judge, cycle, i, span);
        }
    }
    return (Text){0};
}

Text name_of_constant(Judge *judge, StepId id, Measure *measure, UnitId *unit) {
    const Step *step = &judge->program->steps.at[id];
    const Object *object = &judge->program->objects.at[step->owner];
    *measure = measure_number();
    *unit = 0;
    const Text written = source_text(judge->result->sources, step->span), in_cycle = name_in_cycle(judge, step->span);
    if (in_cycle.length > 0) return in_cycle;
    if (step->owner == 0) return written;
    const Form *form = form_of(judge->model, object->form);
    for (uint32_t i = 0; i < form->members.count; i++) {
        const Member *member = &form->members.at[i];
        NodeId from = object->slots[i].stated ? object->slots[i].stated : member->formula;
        Span span = from ? tree_node(judge->model->tree, from)->span : (Span){0, 0};
        if (from == 0 || span.start > step->span.start || step->span.end > span.end) continue;
        if (member->type.class == TYPE_QUANTITY) *measure = measure_of_kind(judge->model->vocabulary, member->type.kind);
        *unit = member->shown;
        return object_slot_path(judge->program, judge->arena, step->owner, i);
    }
    return object->path;
}

/* The unit the author wrote it in, so that 24 V +5/-10 % is shown in V. */
static UnitId unit_of_constant(Judge *judge, StepId id, UnitId otherwise) {
    Text text = source_text(judge->result->sources, judge->program->steps.at[id].span);
    size_t start = 0, end;
    while (start < text.length && text.at[start] != ' ') start++;
    while (start < text.length && text.at[start] == ' ') start++;
    for (end = start; end < text.length && text.at[end] != ' '; end++) continue;
    Symbol symbol = symbol_find(judge->model->symbols, text_slice(text, start, end));
    if (end == start || symbol == 0 || text_is(text_slice(text, start, end), "±")) return otherwise;
    uint32_t messages = judge->messages->list.count, errors = judge->messages->errors;
    UnitId unit = vocabulary_unit(judge->model->vocabulary, symbol, (Span){0, 0});
    judge->messages->list.count = messages;
    judge->messages->errors = errors;
    return unit ? unit : otherwise;
}

/* ---- shares and turning points ----------------------------------------------------------------------------------- */

static double turning_point(Search *search, uint32_t whole, uint32_t which, double margin) {
    Input *input = &search->inputs[which];
    double x0 = input->nominal, f0 = margin, x1 = input->nominal - margin / input->slope, width = input->high - input->low;
    for (uint32_t i = 0; i < search->count; i++) search->inputs[i].worst = search->inputs[i].nominal;
    for (int pass = 0; pass < TURNING_PASSES; pass++) {
        if (!isfinite(x1) || fabs(x1 - input->nominal) > 20 * width) return NAN;
        input->worst = x1;
        Outcome outcome = search_try(search, whole);
        double f1 = outcome.absolute;
        if (isnan(f1) || f1 == f0) return NAN;
        if (fabs(f1) <= 1e-9 * fabs(margin)) return x1;
        double x2 = x1 - f1 * (x1 - x0) / (f1 - f0);
        x0 = x1, f0 = f1, x1 = x2;
    }
    return fabs(f0) <= 1e-4 * fabs(margin) ? x1 : NAN;
}

typedef struct Loss {
    uint32_t input;
    double size;
} Loss;

static int by_loss(const void *a, const void *b) {
    const Loss *x = a, *y = b;
    if (x->size != y->size) return x->size > y->size ? -1 : 1;
    return x->input < y->input ? -1 : x->input > y->input;
}

static void add_eater(Search *search, Finding *finding, const Outcome *nominal, uint32_t which, double share, double turning) {
    Judge *judge = search->judge;
    const Input *input = &search->inputs[which];
    Vocabulary *vocabulary = judge->model->vocabulary;
    Measure measure;
    UnitId unit;
    Eater eater = {.path = name_of_constant(judge, input->step, &measure, &unit)};
    if (text_starts(eater.path, TEXT("reading"))) { /* of evidence: of the kind it is compared with */
        eater.path = TEXT("measured");
        measure = nominal->measure;
        unit = nominal->unit;
    }
    if (measure.kind == 0 && dimension_is_number(measure.dimension)) unit = 0;
    unit = unit_of_constant(judge, input->step, unit);
    if (measure.kind == 0 && unit != 0) measure = measure_of_unit(vocabulary, unit);
    eater.nominal = spell_value(vocabulary, judge->arena, input->nominal, measure, unit, SPELL_DIGITS);
    eater.worst = spell_value(vocabulary, judge->arena, search->best[which], measure, unit, SPELL_DIGITS);
    eater.inside = search->best[which] > input->low && search->best[which] < input->high;
    if (!isnan(share)) eater.share = spell_share(judge->arena, share);
    if (!isnan(turning)) eater.turning = spell_value(vocabulary, judge->arena, turning, measure, unit, SPELL_DIGITS);
    VECTOR_PUSH(judge->arena, &finding->eaters, eater);
}

/* Whether the comparison decides the whole by itself wherever it is tightest: nothing but `and` lies between them. */
static bool decides(const Program *program, uint32_t whole, uint32_t leaf) {
    const Condition *condition = &program->conditions.at[whole];
    bool found = whole == leaf;
    for (uint32_t i = 0; i < condition->child_count && condition->kind == CONDITION_ALL && !found; i++) found = decides(program, condition->children[i], leaf);
    return found;
}

/* The comparison that is worst, at the nominal values: another one may be tightest there. */
static Outcome nominal_of_worst(Search *search, const Outcome *nominal) {
    if (search->worst.leaf == nominal->leaf || search->worst.leaf == 0) return *nominal;
    for (uint32_t i = 0; i < search->count; i++) search->inputs[i].worst = search->inputs[i].nominal;
    return search_try(search, search->worst.leaf);
}

/* Of an `or`, slopes tell nothing: how much is won where one input alone is back at its nominal value. */
static void gains_by_return(Search *search, Loss *losses, uint32_t whole) {
    for (uint32_t i = 0; i < search->count; i++) search->inputs[i].worst = search->best[i];
    for (uint32_t i = 0; i < search->count; i++) {
        search->inputs[i].worst = search->inputs[i].nominal;
        Outcome there = search_try(search, whole);
        losses[i] = (Loss){i, isnan(there.share) || isnan(search->worst.share) ? 0 : there.share - search->worst.share};
        search->inputs[i].worst = search->best[i];
    }
}

/* Shares of the loss: the mean of an input's slope at the nominal values and at the corner, times how far it went. */
void name_eaters(Search *search, Finding *finding, const Outcome *nominal, uint32_t whole) {
    Loss *losses = ARENA_ARRAY(search->scratch, Loss, search->count);
    double total = 0, squares = 0;
    for (uint32_t i = 0; i < search->count; i++) {
        const Input *input = &search->inputs[i];
        double moved = search->best[i] - input->nominal;
        double slope = 0.5 * (input->slope + input->slope_there);
        losses[i] = (Loss){i, fmax(-slope * moved, 0)};
        total += losses[i].size;
        double down = input->slope > 0 ? input->nominal - input->low : input->high - input->nominal;
        squares += input->slope * down * input->slope * down;
    }
    Judge *judge = search->judge;
    Outcome own = nominal_of_worst(search, nominal);
    bool measured = !isnan(own.absolute) && decides(judge->program, whole, search->worst.leaf);
    if (!measured && !isnan(own.absolute)) gains_by_return(search, losses, whole);
    qsort(losses, search->count, sizeof *losses, by_loss);
    bool tight = finding->verdict != VERDICT_MET || isnan(finding->worst_share) || finding->worst_share < turning_band;
    for (uint32_t k = 0; k < search->count && k < EATER_LIMIT; k++) {
        uint32_t i = losses[k].input;
        if (search->best[i] == search->inputs[i].nominal) continue;
        if (measured && total > 0 && losses[k].size < 0.005 * total) continue;
        double share = measured && total > 0 ? losses[k].size / total : NAN, turning = NAN;
        if (measured && tight && k < TURNING_LIMIT && search->inputs[i].slope != 0) turning = turning_point(search, search->worst.leaf, i, own.absolute);
        add_eater(search, finding, nominal, i, share, turning);
    }
    if (!measured) return;
    double likely = own.absolute - sqrt(squares);
    double scale = isnan(own.share) || own.absolute == 0 ? NAN : own.share / own.absolute;
    finding->likely_margin = isnan(scale) ? spell_value(judge->model->vocabulary, judge->arena, likely, own.measure, own.unit, 3)
                                          : spell_share(judge->arena, likely * scale);
}
