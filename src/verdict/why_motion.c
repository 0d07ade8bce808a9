/* Facts and signals of cycles: what the segments and their laws say. */
#include "verdict/why.h"

#include <math.h>

enum { SEGMENTS_SHOWN_MOST = 12 };

/* A position below this share of a stroke is rounding. */
static const double rounding = 1e-12;

static Text segment_name(Judge *judge, uint32_t cycle, uint32_t index) {
    const PlanSegment *segment = &judge->program->cycles.at[cycle].segments.at[index];
    if (segment->label != 0) return model_name(judge->model, segment->label);
    TextBuilder out = text_builder(judge->arena);
    text_add(&out, TEXT("segment-"));
    text_add_count(&out, index + 1);
    return text_built(&out);
}

static Measure seconds(void) { return (Measure){.dimension = {{[DIMENSION_TIME] = 6}}}; }

Text cycle_leaf_path(Judge *judge, const Leaf *leaf) {
    Text parts[3] = {model_name(judge->model, judge->program->cycles.at[leaf->cycle].name), model_name(judge->model, leaf->name)};
    if (leaf->segment == UINT32_MAX) return text_fill(judge->arena, TEXT("{0}.{1}"), parts, 2);
    parts[2] = segment_name(judge, leaf->cycle, leaf->segment);
    return text_fill(judge->arena, TEXT("{0}.{2}.{1}"), parts, 3);
}

static bool number_of(Judge *judge, StepId step, double *number) {
    return step != 0 && number_there(judge, step, (Instant){0}, number);
}

uint32_t segment_index(Judge *judge, uint32_t index, Instant instant) {
    const PlanCycle *cycle = &judge->program->cycles.at[index];
    double elapsed = 0, length;
    for (uint32_t i = 0; i < cycle->segments.count; i++) {
        if (!number_of(judge, cycle->segments.at[i].length, &length)) return UINT32_MAX;
        elapsed += length;
        if (instant.inside <= elapsed) return i;
    }
    return cycle->segments.count - 1;
}

static Text spell_as(Judge *judge, StepId step, Measure measure) {
    return spell_there(judge, (Operand){.class = OPERAND_VALUE, .step = step, .measure = measure}, 0, (Instant){0});
}

/* The segment as written, up to the inputs it sets. */
static void add_segment(Judge *judge, Account *account, uint32_t cycle, uint32_t index) {
    NodeId node = judge->program->cycles.at[cycle].segments.at[index].node;
    Text text = formula_of_node(judge, node);
    size_t brace = 0;
    while (brace < text.length && text.at[brace] != '{') brace++;
    account_line(judge, account, "segment", text_trim(text_slice(text, 0, brace)), (Text){0});
    account_place(judge, account, tree_node(judge->model->tree, node)->span, 0);
}

static void note_law(Judge *judge, const PlanSegment *segment, const char *member, Instant instant, LeafVector *leaves) {
    if (segment->law == 0) return;
    const Object *law = &judge->program->objects.at[segment->law];
    uint32_t slot = form_slot(judge->model, law->form, symbol_of(judge->model->symbols, text_from(member)));
    if (slot == UINT32_MAX || law->slots[slot].state != SLOT_DONE) return;
    Leaf leaf = {.kind = LEAF_MEMBER, .object = segment->law, .slot = slot, .segment = UINT32_MAX, .operand = law->slots[slot].operand, .instant = instant};
    VECTOR_PUSH(judge->arena, leaves, leaf);
}

static Text law_name(Judge *judge, const PlanSegment *segment) {
    return model_name(judge->model, form_of(judge->model, judge->program->objects.at[segment->law].form)->name);
}

Text law_member_name(Judge *judge, ObjectId id, uint32_t slot) {
    const Form *form = form_of(judge->model, judge->program->objects.at[id].form);
    Text parts[4] = {judge->program->objects.at[id].path, {0}, model_name(judge->model, form->name), model_name(judge->model, form->members.at[slot].name)};
    for (uint32_t c = 1; c < judge->program->cycles.count; c++) {
        const PlanCycle *cycle = &judge->program->cycles.at[c];
        for (uint32_t i = 0; i < cycle->segments.count; i++) {
            if (cycle->segments.at[i].law != id) continue;
            parts[0] = model_name(judge->model, cycle->name);
            parts[1] = segment_name(judge, c, i);
            return text_fill(judge->arena, TEXT("{0}.{1} by {2}: {3}"), parts, 4);
        }
    }
    return text_fill(judge->arena, TEXT("{0} by {2}: {3}"), parts, 4);
}

void leaves_of_cycle(Judge *judge, Operand operand, LeafVector *leaves) {
    const PlanCycle *cycle = &judge->program->cycles.at[operand.index];
    Text name = model_name(judge->model, cycle->name);
    if (operand.class == OPERAND_SEGMENT) {
        const PlanSegment *segment = &cycle->segments.at[operand.segment];
        const char *const facts[] = {"duration", "distance", "start"};
        const StepId steps[] = {segment->length, segment->displacement, segment->start};
        for (unsigned i = 0; i < 3; i++) {
            Leaf leaf = {.kind = LEAF_CYCLE, .cycle = operand.index, .segment = operand.segment};
            leaf.name = symbol_of(judge->model->symbols, text_from(facts[i]));
            leaf.operand = (Operand){.class = OPERAND_VALUE, .step = steps[i], .measure = i == 1 ? cycle->stroke : seconds()};
            VECTOR_PUSH(judge->arena, leaves, leaf);
        }
        return;
    }
    for (uint32_t i = 0; i < judge->program->named_values.count; i++) {
        const NamedValue *named = &judge->program->named_values.at[i];
        Leaf leaf = {.kind = LEAF_CYCLE, .cycle = operand.index, .segment = UINT32_MAX};
        if (!text_starts(named->path, name) || named->path.length <= name.length + 1 || named->path.at[name.length] != '.') continue;
        Text fact = text_slice(named->path, name.length + 1, named->path.length);
        for (size_t k = 0; k < fact.length; k++) leaf.cycle = fact.at[k] == '.' ? 0 : leaf.cycle;
        leaf.name = symbol_of(judge->model->symbols, fact);
        leaf.operand = (Operand){.class = OPERAND_VALUE, .step = named->step, .measure = named->measure};
        bool known = leaf.cycle == 0;
        for (uint32_t k = 0; k < leaves->count; k++) known = known || leaf_equal(&leaves->at[k], &leaf);
        if (!known) VECTOR_PUSH(judge->arena, leaves, leaf);
    }
}

/* ---- signals ------------------------------------------------------------------------------------------------------- */

static void tell_law(Judge *judge, Account *account, const Leaf *leaf, const PlanSegment *segment, unsigned order, Instant instant,
                     bool size, LeafVector *leaves) {
    static const char *const formulas[] = {"start + stroke * share", "stroke * rate / duration", "stroke * rate / duration ^ 2",
                                           "stroke * rate / duration ^ 3"};
    static const char *const patterns[] = {"{0} + {1} * {2}", "{1} * {2} / {3}", "{1} * {2} / ({3}) ^ 2", "{1} * {2} / ({3}) ^ 3"};
    static const char *const told[] = {
        "The law is {0}; share is its position at the normalised time {1}.",
        "The law is {0}; rate is the derivative of its position at the normalised time {1}.",
        "The law is {0}; rate is the second derivative of its position at the normalised time {1}.",
        "The law is {0}; rate is the third derivative of its position at the normalised time {1}."};
    const PlanCycle *cycle = &judge->program->cycles.at[leaf->cycle];
    double start, length, rate, begun = 0, part;
    if (!number_of(judge, segment->start, &start) || !number_of(judge, segment->length, &length) || !(length > 0)) return;
    Instant within = {true, fmin(fmax((instant.time - start) / length, 0), 1), (instant.inside - start) / length};
    if (segment->shape[order] == 0 || !number_there(judge, segment->shape[order], within, &rate)) return;
    for (const PlanSegment *before = cycle->segments.at; before < segment; before++) {
        if (!number_of(judge, before->displacement, &part)) continue;
        begun += part;
        if (fabs(begun) <= rounding * fabs(part)) begun = 0;
    }
    Vocabulary *vocabulary = judge->model->vocabulary;
    Text parts[4] = {spell_value(vocabulary, judge->arena, begun, cycle->stroke, 0, SPELL_DIGITS),
                     spell_as(judge, segment->displacement, cycle->stroke), spell_number(judge->arena, rate, SPELL_DIGITS),
                     spell_as(judge, segment->length, seconds())};
    if (rate < 0) parts[2] = text_fill(judge->arena, TEXT("({0})"), &parts[2], 1);
    Text formula = text_from(formulas[order]), numbers = text_fill(judge->arena, text_from(patterns[order]), parts, 4);
    if (size) formula = text_fill(judge->arena, TEXT("abs({0})"), &formula, 1);
    if (size) numbers = text_fill(judge->arena, TEXT("abs({0})"), &numbers, 1);
    account_line(judge, account, "formula", formula, numbers);
    account_remark(judge, account, told[order], law_name(judge, segment), spell_number(judge->arena, within.time, SPELL_DIGITS), (Text){0});
    note_law(judge, segment, "position", within, leaves);
    note_law(judge, segment, "time", (Instant){0}, leaves);
}

static void tell_signal(Judge *judge, Account *account, const Leaf *leaf, unsigned order, Instant instant, LeafVector *leaves) {
    const PlanCycle *cycle = &judge->program->cycles.at[leaf->cycle];
    account_place(judge, account, tree_node(judge->model->tree, cycle->node)->span, 0);
    if (cycle->profile != NULL) {
        account_remark(judge, account, "It follows the smoothest curve through the rows of its table.", (Text){0}, (Text){0}, (Text){0});
        return;
    }
    uint32_t index = instant.given ? segment_index(judge, leaf->cycle, instant) : UINT32_MAX;
    if (index == UINT32_MAX) return;
    const PlanSegment *segment = &cycle->segments.at[index];
    add_segment(judge, account, leaf->cycle, index);
    if (segment->law != 0) {
        tell_law(judge, account, leaf, segment, order, instant, false, leaves);
    } else if (segment->shape[0] == 0) {
        account_remark(judge, account, "It stands still in {0}.", segment_name(judge, leaf->cycle, index), (Text){0}, (Text){0});
    } else {
        account_remark(judge, account, "The speed is constant in {0}.", segment_name(judge, leaf->cycle, index), (Text){0}, (Text){0});
    }
}

/* ---- facts --------------------------------------------------------------------------------------------------------- */

/* lower.duration + press.duration + …, of the segments before `end`. */
static void tell_sum(Judge *judge, Account *account, const Leaf *leaf, const char *fact, uint32_t end, LeafVector *leaves) {
    const PlanCycle *cycle = &judge->program->cycles.at[leaf->cycle];
    TextBuilder formula = text_builder(judge->arena), numbers = text_builder(judge->arena);
    bool duration = text_is(text_from(fact), "duration");
    account_place(judge, account, tree_node(judge->model->tree, cycle->node)->span, 0);
    if (cycle->profile != NULL) {
        account_remark(judge, account, "It is read from the table of the cycle.", (Text){0}, (Text){0}, (Text){0});
        return;
    }
    for (uint32_t i = 0; i < end && i < SEGMENTS_SHOWN_MOST; i++) {
        const PlanSegment *segment = &cycle->segments.at[i];
        Leaf one = {.kind = LEAF_CYCLE, .cycle = leaf->cycle, .segment = i, .name = symbol_of(judge->model->symbols, text_from(fact))};
        one.operand = (Operand){.class = OPERAND_VALUE, .step = duration ? segment->length : segment->displacement,
                                .measure = duration ? seconds() : cycle->stroke};
        Text parts[2] = {segment_name(judge, leaf->cycle, i), text_from(fact)}, value = spell_as(judge, one.operand.step, one.operand.measure);
        if (i > 0) text_add(&formula, TEXT(" + "));
        if (i > 0) text_add(&numbers, TEXT(" + "));
        text_add(&formula, text_fill(judge->arena, TEXT("{0}.{1}"), parts, 2));
        text_add(&numbers, i > 0 && text_starts(value, TEXT("-")) ? text_fill(judge->arena, TEXT("({0})"), &value, 1) : value);
        VECTOR_PUSH(judge->arena, leaves, one);
    }
    if (end > SEGMENTS_SHOWN_MOST) {
        text_add(&formula, TEXT(" + …"));
        text_add(&numbers, TEXT(" + …"));
    }
    if (end > 0) account_line(judge, account, "formula", text_built(&formula), text_built(&numbers));
}

static void tell_stroke(Judge *judge, Account *account, const Leaf *leaf) {
    const PlanCycle *cycle = &judge->program->cycles.at[leaf->cycle];
    StepId position = cycle->signal[0];
    account_place(judge, account, tree_node(judge->model->tree, cycle->node)->span, 0);
    if (position == 0 || judge->evaluation->values[position].state != COMPUTED_SIGNAL) return;
    Signal signal = judge->evaluation->values[position].signal;
    Extreme ends[2] = {signal_maximum(signal), signal_minimum(signal)};
    Text parts[2];
    double size = fmax(fabs(ends[0].value), fabs(ends[1].value));
    for (int i = 0; i < 2; i++) {
        if (ends[i].fault != VOID_NONE) return;
        if (fabs(ends[i].value) <= rounding * size) ends[i].value = 0;
        parts[i] = spell_value(judge->model->vocabulary, judge->arena, ends[i].value, cycle->stroke, 0, SPELL_DIGITS);
    }
    account_line(judge, account, "formula", TEXT("largest position - smallest position"),
                 text_fill(judge->arena, text_starts(parts[1], TEXT("-")) ? TEXT("{0} - ({1})") : TEXT("{0} - {1}"), parts, 2));
}

/* The magnitude of a derivative where it is greatest within one segment. */
static void tell_peak(Judge *judge, Account *account, const Leaf *leaf, Text name, LeafVector *leaves) {
    const PlanSegment *segment = &judge->program->cycles.at[leaf->cycle].segments.at[leaf->segment];
    unsigned order = text_is(name, "peak-speed") ? 1 : text_is(name, "peak-acceleration") ? 2 : 3;
    double start, length;
    if (segment->law == 0 || segment->shape[order] == 0) return;
    Instant within = instant_of(judge, REDUCE_PEAK, segment->shape[order]);
    if (!within.given || !number_of(judge, segment->start, &start) || !number_of(judge, segment->length, &length)) return;
    Instant instant = {true, start + within.time * length, start + within.inside * length};
    tell_law(judge, account, leaf, segment, order, instant, true, leaves);
}

static void tell_segment_fact(Judge *judge, Account *account, const Leaf *leaf, Text name, LeafVector *leaves) {
    const PlanSegment *segment = &judge->program->cycles.at[leaf->cycle].segments.at[leaf->segment];
    add_segment(judge, account, leaf->cycle, leaf->segment);
    if (text_is(name, "start")) {
        tell_sum(judge, account, leaf, "duration", leaf->segment, leaves);
    } else if (text_is(name, "duration")) {
        note_law(judge, segment, "time", (Instant){0}, leaves);
    } else if (text_starts(name, TEXT("peak-"))) {
        tell_peak(judge, account, leaf, name, leaves);
    }
}

void account_of_cycle(Judge *judge, Account *account, const Leaf *leaf, Instant instant, LeafVector *leaves) {
    static const char *const orders[] = {"position", "speed", "acceleration", "jerk"};
    const PlanCycle *cycle = &judge->program->cycles.at[leaf->cycle];
    Text name = model_name(judge->model, leaf->name);
    if (leaf->segment == UINT32_MAX) account->title = tree_title(judge->model->tree, judge->arena, cycle->node);
    if (leaf->segment != UINT32_MAX) {
        if (cycle->profile == NULL) tell_segment_fact(judge, account, leaf, name, leaves);
        else account_place(judge, account, tree_node(judge->model->tree, cycle->node)->span, 0);
        return;
    }
    for (unsigned order = 0; order < 4; order++) {
        if (!text_is(name, orders[order])) continue;
        tell_signal(judge, account, leaf, order, instant, leaves);
        return;
    }
    if (text_is(name, "duration")) tell_sum(judge, account, leaf, "duration", cycle->segments.count, leaves);
    else if (text_is(name, "net")) tell_sum(judge, account, leaf, "distance", cycle->segments.count, leaves);
    else if (text_is(name, "stroke")) tell_stroke(judge, account, leaf);
    else account_place(judge, account, tree_node(judge->model->tree, cycle->node)->span, 0);
}
