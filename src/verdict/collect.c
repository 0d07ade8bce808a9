/* The values and things of a report, and the failures that nobody asked about. */
#include <math.h>
#include <string.h>

#include "verdict/judge.h"

/* An end of a range that is smaller than this share of the other is rounding. */
static const double rounding = 1e-12;

Text spell_step(Judge *judge, StepId step, Measure measure, UnitId unit) {
    const Computed *value = &judge->evaluation->values[step];
    Vocabulary *vocabulary = judge->model->vocabulary;
    if (value->state == COMPUTED_UNKNOWN) return TEXT("unknown");
    if (value->state == COMPUTED_FAILED) return TEXT("no value");
    if (value->state == COMPUTED_NUMBER) return spell_value(vocabulary, judge->arena, value->number, measure, unit, SPELL_DIGITS);
    Extreme low = signal_minimum(value->signal), high = signal_maximum(value->signal);
    if (low.fault != VOID_NONE) return low.fault == VOID_UNKNOWN ? TEXT("unknown") : TEXT("no value");
    double size = low.value < 0 && -low.value > high.value ? -low.value : high.value;
    if (unit == 0) unit = spell_unit(vocabulary, size, measure);
    if (fabs(low.value) <= rounding * fabs(size)) low.value = 0;
    if (fabs(high.value) <= rounding * fabs(size)) high.value = 0;
    Text parts[2] = {spell_value(vocabulary, judge->arena, low.value, measure, unit, SPELL_DIGITS),
                     spell_value(vocabulary, judge->arena, high.value, measure, unit, SPELL_DIGITS)};
    if (text_equal(parts[0], parts[1])) return parts[0];
    return text_fill(judge->arena, TEXT("{0} to {1}"), parts, 2);
}

static Text spell_word(Judge *judge, Operand operand) {
    const Computed *value = &judge->evaluation->values[operand.step];
    const Choice *choice = choice_of(judge->model, operand.choice);
    if (value->state == COMPUTED_NUMBER && value->number < choice->words.count) {
        return model_name(judge->model, choice->words.at[(uint32_t)value->number].name);
    }
    return value->state == COMPUTED_UNKNOWN ? TEXT("unknown") : TEXT("no value");
}

static Text spell_truth(Judge *judge, StepId step) {
    const Computed *value = &judge->evaluation->values[step];
    if (value->state == COMPUTED_NUMBER) return value->number != 0 ? TEXT("yes") : TEXT("no");
    if (value->state == COMPUTED_UNKNOWN) return TEXT("unknown");
    return value->state == COMPUTED_FAILED ? TEXT("no value") : TEXT("yes and no over the cycle");
}

Text spell_operand(Judge *judge, Operand operand, UnitId unit) {
    TextBuilder list;
    Text count;
    switch (operand.class) {
    case OPERAND_VALUE: return spell_step(judge, operand.step, operand.measure, unit);
    case OPERAND_TRUTH: return spell_truth(judge, operand.step);
    case OPERAND_WORD: return spell_word(judge, operand);
    case OPERAND_TEXT: return operand.missing ? TEXT("unknown") : operand.text;
    case OPERAND_OBJECT: return operand.object ? judge->program->objects.at[operand.object].path : TEXT("");
    case OPERAND_ABSENT: return operand.open ? TEXT("to be chosen") : TEXT("none");
    case OPERAND_CYCLE:
        return operand.index ? model_name(judge->model, judge->program->cycles.at[operand.index].name) : TEXT("unknown");
    case OPERAND_TABLE:
        if (operand.missing) return TEXT("unknown");
        list = text_builder(judge->arena);
        text_add_count(&list, judge->program->tables.at[operand.index].count);
        count = text_built(&list);
        return text_fill(judge->arena, TEXT("table of {0} rows"), &count, 1);
    case OPERAND_SEVERAL:
        if (operand.missing) return TEXT("unknown");
        list = text_builder(judge->arena);
        for (uint32_t i = 0; i < operand.count; i++) {
            if (i > 0) text_add(&list, TEXT(", "));
            text_add(&list, spell_operand(judge, operand.several[i], unit));
        }
        return text_built(&list);
    case OPERAND_SEGMENT: return TEXT("a segment");
    case OPERAND_BROKEN: break;
    }
    return TEXT("no value");
}

Text on_one_line(Judge *judge, Text text) {
    TextBuilder out = text_builder(judge->arena);
    bool space = false, quoted = false;
    for (size_t i = 0; i < text.length; i++) {
        char c = text.at[i];
        if (!quoted && c == '-' && i + 1 < text.length && text.at[i + 1] == '-') {
            while (i < text.length && text.at[i] != '\n') i++;
            c = '\n';
        }
        if (c == '"') quoted = !quoted;
        if (!quoted && (c == ' ' || c == '\t' || c == '\r' || c == '\n')) {
            space = out.length > 0;
            continue;
        }
        if (space) text_add_char(&out, ' ');
        space = false;
        text_add_char(&out, c);
    }
    return text_built(&out);
}

static Text node_on_one_line(Judge *judge, NodeId node) {
    return node == 0 ? (Text){0} : on_one_line(judge, source_text(judge->result->sources, tree_node(judge->model->tree, node)->span));
}

static Text member_text(Judge *judge, NodeId member, OptionKind wanted) {
    const Tree *tree = judge->model->tree;
    NodeId option = tree_option(tree, tree_node(tree, member)->c, wanted);
    return option ? tree_text(tree, judge->arena, tree_node(tree, option)->a) : (Text){0};
}

static bool is_plain_number(Judge *judge, NodeId node) {
    NodeKind kind = node ? (NodeKind)tree_node(judge->model->tree, node)->kind : NODE_NONE;
    return kind == NODE_NUMBER || kind == NODE_BOUNDED;
}

/* Reports why a value has none, on the whole cycle or a part of it. */
static void check_value(Judge *judge, StepId step) {
    const Computed *computed = &judge->evaluation->values[step];
    bool failed = computed->state == COMPUTED_FAILED, finding;
    for (uint32_t i = 0; computed->state == COMPUTED_SIGNAL && i < computed->signal.count && !failed; i++) {
        failed = computed->signal.pieces[i].size == 0 && computed->signal.pieces[i].void_reason != VOID_UNKNOWN;
    }
    if (failed) explain_failure(judge, step, &finding);
}

static void add_value(Judge *judge, ObjectId id, uint32_t slot_index) {
    const Object *object = &judge->program->objects.at[id];
    const Member *member = &form_of(judge->model, object->form)->members.at[slot_index];
    const Slot *slot = &object->slots[slot_index];
    Operand operand = slot->operand;
    bool has_step = operand.class == OPERAND_VALUE || operand.class == OPERAND_TRUTH || operand.class == OPERAND_WORD;
    Value value = {.path = object_slot_path(judge->program, judge->arena, id, slot_index)};
    if (has_step) check_value(judge, operand.step);
    if (judge->verdicts_only) {
        VECTOR_PUSH(judge->arena, &judge->result->values, value);
        return;
    }
    value.title = member_text(judge, member->node, OPTION_DOC);
    value.cites = member_text(judge, member->node, OPTION_CITES);
    value.declared = tree_node(judge->model->tree, member->node)->span;
    value.stated = slot->stated != 0;
    value.span = value.stated ? slot->stated_span : place_of_object(judge, id);
    if (!value.stated) value.formula = node_on_one_line(judge, member->formula);
    else if (!is_plain_number(judge, slot->stated)) value.formula = node_on_one_line(judge, slot->stated);
    value.shown = is_plain_number(judge, slot->stated) && operand.class == OPERAND_VALUE ? node_on_one_line(judge, slot->stated)
                                                                                       : spell_operand(judge, operand, member->shown);
    const Computed *computed = has_step ? &judge->evaluation->values[operand.step] : NULL;
    value.is_signal = computed && computed->state == COMPUTED_SIGNAL;
    value.unknown = (computed && computed->state == COMPUTED_UNKNOWN) || operand.missing || operand.class == OPERAND_ABSENT;
    if (value.is_signal) value.unknown = signal_minimum(computed->signal).fault == VOID_UNKNOWN;
    VECTOR_PUSH(judge->arena, &judge->result->values, value);
}

static Thing thing_of(Judge *judge, ObjectId id) {
    const Object *object = &judge->program->objects.at[id];
    const Form *form = form_of(judge->model, object->form);
    Thing thing = {.path = object->path, .form = model_name(judge->model, form->name)};
    thing.title = tree_title(judge->model->tree, judge->arena, object->node);
    thing.span = place_of_object(judge, id);
    thing.first_value = judge->result->values.count;
    return thing;
}

void judge_thing(Judge *judge, ObjectId id) {
    Thing thing = thing_of(judge, id);
    VECTOR_PUSH(judge->arena, &judge->result->things, thing);
}

static void add_thing(Judge *judge, ObjectId id) {
    uint32_t members = form_of(judge->model, judge->program->objects.at[id].form)->members.count;
    Thing thing = thing_of(judge, id);
    for (uint32_t i = 0; i < members; i++) add_value(judge, id, i);
    thing.value_count = judge->result->values.count - thing.first_value;
    VECTOR_PUSH(judge->arena, &judge->result->things, thing);
}

bool cycle_closes(Judge *judge, const PlanCycle *cycle, double *net) {
    double way = 0, stroke = 0;
    for (uint32_t i = 0; i < cycle->segments.count; i++) {
        const Computed *displacement = &judge->evaluation->values[cycle->segments.at[i].displacement];
        if (displacement->state != COMPUTED_NUMBER) return true;
        way += displacement->number;
        stroke += fabs(displacement->number);
    }
    if (net != NULL) *net = way;
    bool linear = cycle->stroke.dimension.sixths[DIMENSION_LENGTH] != 0;
    return !linear || cycle->progressive || fabs(way) <= 1e-9 * stroke;
}

static void check_closing(Judge *judge, const PlanCycle *cycle) {
    double net = 0;
    if (cycle_closes(judge, cycle, &net)) return;
    Text left = spell_value(judge->model->vocabulary, judge->arena, net, cycle->stroke, 0, SPELL_DIGITS);
    Span span = tree_node(judge->model->tree, cycle->node)->span, header = span;
    Text text = source_text(judge->result->sources, span);
    for (uint32_t i = 0; i < text.length; i++) {
        if (text.at[i] != '{' && text.at[i] != '\n') continue;
        header.end = span.start + i;
        break;
    }
    while (header.end > header.start + 1 && text.at[header.end - header.start - 1] == ' ') header.end--;
    SAY(judge->messages, CYCLE_OPEN, header, model_name(judge->model, cycle->name), left);
}

static void add_cycle(Judge *judge, uint32_t index) {
    const PlanCycle *cycle = &judge->program->cycles.at[index];
    Text name = model_name(judge->model, cycle->name);
    Thing thing = {.path = name, .form = TEXT("cycle"), .first_value = judge->result->values.count};
    thing.title = tree_title(judge->model->tree, judge->arena, cycle->node);
    thing.span = tree_node(judge->model->tree, cycle->node)->span;
    Text prefix = text_fill(judge->arena, TEXT("{0}."), &name, 1);
    for (uint32_t i = 0; i < judge->program->named_values.count; i++) {
        const NamedValue *named = &judge->program->named_values.at[i];
        if (!text_starts(named->path, prefix)) continue;
        bool known = false;
        for (uint32_t k = thing.first_value; k < judge->result->values.count; k++) {
            known = known || text_equal(judge->result->values.at[k].path, named->path);
        }
        if (known) continue;
        Value value = {.path = named->path, .span = thing.span, .declared = thing.span};
        const Computed *computed = &judge->evaluation->values[named->step];
        value.is_signal = computed->state == COMPUTED_SIGNAL;
        value.unknown = computed->state == COMPUTED_UNKNOWN;
        check_value(judge, named->step);
        if (!judge->verdicts_only) value.shown = spell_step(judge, named->step, named->measure, 0);
        VECTOR_PUSH(judge->arena, &judge->result->values, value);
    }
    thing.value_count = judge->result->values.count - thing.first_value;
    VECTOR_PUSH(judge->arena, &judge->result->things, thing);
    check_closing(judge, cycle);
}

/* Values that a requirement names by a path of its own and that no thing has listed: lift.load.speed.peak. */
static void add_named_values(Judge *judge) {
    Map listed = map_open(judge->arena);
    for (uint32_t k = 0; k < judge->result->values.count; k++) {
        map_set(&listed, symbol_of(judge->model->symbols, judge->result->values.at[k].path), 1);
    }
    for (uint32_t i = 0; i < judge->program->named_values.count; i++) {
        const NamedValue *named = &judge->program->named_values.at[i];
        Symbol path = symbol_of(judge->model->symbols, named->path);
        if (map_get(&listed, path, 0)) continue;
        map_set(&listed, path, 1);
        Value value = {.path = named->path, .span = named->span, .declared = named->span};
        if (!judge->verdicts_only) value.shown = spell_step(judge, named->step, named->measure, 0);
        value.is_signal = judge->evaluation->values[named->step].state == COMPUTED_SIGNAL;
        value.unknown = judge->evaluation->values[named->step].state == COMPUTED_UNKNOWN;
        VECTOR_PUSH(judge->arena, &judge->result->values, value);
    }
}

/* A move that its law cannot make is a mistake also where nothing else works with its cycle. */
static void check_law(Judge *judge, const Object *law) {
    uint32_t count = form_of(judge->model, law->form)->members.count;
    for (uint32_t i = 0; i < count; i++) { /* whatever else a law cannot do without a time follows from that */
        const Slot *slot = &law->slots[i];
        if (slot->state == SLOT_DONE && slot->operand.class == OPERAND_VALUE && map_get(&judge->said, slot->operand.step, 0)) return;
    }
    for (uint32_t i = 0; i < count; i++) {
        const Slot *slot = &law->slots[i];
        if (slot->state != SLOT_DONE || (slot->operand.class != OPERAND_VALUE && slot->operand.class != OPERAND_TRUTH)) continue;
        if (judge->evaluation->values[slot->operand.step].state != COMPUTED_FAILED) continue;
        bool finding;
        explain_failure(judge, slot->operand.step, &finding);
    }
}

static void check_lengths(Judge *judge, const PlanCycle *cycle) {
    for (uint32_t i = 0; i < cycle->segments.count; i++) {
        const PlanSegment *segment = &cycle->segments.at[i];
        const Computed *length = &judge->evaluation->values[segment->length];
        if (segment->length == 0 || length->state != COMPUTED_NUMBER || length->number > 0 || map_get(&judge->said, segment->length, 0)) continue;
        map_set(&judge->said, segment->length, 1);
        Text shown = spell_step(judge, segment->length, (Measure){.dimension = {{[DIMENSION_TIME] = 6}}}, 0);
        SAY(judge->messages, SEGMENT_TIME, tree_node(judge->model->tree, segment->node)->span, model_name(judge->model, cycle->name), shown, (Text){0});
    }
}

void collect_values(Judge *judge) {
    for (uint32_t i = 1; i < judge->program->cycles.count; i++) check_lengths(judge, &judge->program->cycles.at[i]);
    for (uint32_t i = 1; i < judge->program->cycles.count; i++) {
        if (judge->program->cycles.at[i].state == SLOT_DONE) add_cycle(judge, i);
    }
    for (ObjectId id = 1; id < judge->program->objects.count; id++) {
        const Object *object = &judge->program->objects.at[id];
        if (object->law) check_law(judge, object);
        else if (object->in_use && !object->abstract) add_thing(judge, id);
    }
    add_named_values(judge);
}
