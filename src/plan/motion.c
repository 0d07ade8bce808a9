/* Cycles: segments with their lengths, strokes and laws, and the signals that come of them. */
#include "plan/build.h"

#include <math.h>

#include "plan/data.h"

static StepId binary(Builder *builder, SignalBinary operation, StepId a, StepId b, Span span) {
    return emit(builder, STEP_BINARY, operation, a, b, 0, span);
}

/* The stroke's kind divided by time `order` times: velocity, acceleration, jerk. */
static Measure rate_measure(Measure stroke, unsigned order) {
    Measure measure = stroke, seconds = {.dimension = dimension_base(DIMENSION_TIME)};
    measure.kind = 0;
    for (unsigned i = 0; i < order; i++) measure_divide(measure, seconds, &measure);
    return measure;
}

/* An expression that must have one measure; 0 after reporting. */
static StepId compile_measured(Builder *builder, NodeId node, Measure due, const char *name) {
    Scope top = {SCOPE_TOP, 0, UINT32_MAX};
    Operand operand = compile_expression(builder, top, node, NULL);
    Measure ignored;
    if (operand.class == OPERAND_BROKEN) return 0;
    if (operand.class == OPERAND_VALUE && measure_meet(builder->model->vocabulary, OPERATOR_EQUAL, operand.measure, due, &ignored) == FIT_YES) {
        return operand.step;
    }
    SAY(builder->messages, MOTION_KIND, tree_node(builder->tree, node)->span, text_from(name),
        measure_words(builder->model->vocabulary, builder->arena, due), node_text(builder, node), operand_words(builder, operand),
        kind_example(builder->model->vocabulary, builder->arena, kind_for(builder->model->vocabulary, due), written_number(builder, node)));
    return 0;
}

/* ---- laws -------------------------------------------------------------------------------------------------------- */

typedef struct MotionOption {
    OptionKind option;
    const char *field; /* of motion-law */
    const char *after; /* in a message */
    unsigned order;    /* of the derivative it limits */
} MotionOption;

static const MotionOption motion_options[] = {
    {OPTION_IN, "duration", "after in", 0},
    {OPTION_SPEED, "speed", "after speed", 1},
    {OPTION_ACCELERATION, "acceleration", "after acceleration", 2},
    {OPTION_DECELERATION, "deceleration", "after deceleration", 2},
    {OPTION_JERK, "jerk", "after jerk", 3},
};

enum { MOTION_OPTION_COUNT = sizeof motion_options / sizeof motion_options[0] };

static void set_slot(Object *object, uint32_t slot, Operand operand, NodeId stated, Span span) {
    object->slots[slot].operand = operand;
    object->slots[slot].state = SLOT_DONE;
    object->slots[slot].stated = stated;
    object->slots[slot].stated_span = span;
}

/* What the segment states goes into the law's fields, divided by the stroke: a law works on a stroke of one. */
static bool state_motion(Builder *builder, ObjectId law, const Node *segment, StepId size, Measure stroke) {
    bool fine = true, law_named = false;
    for (NodeId id = segment->b; id != 0; id = tree_node(builder->tree, id)->next) {
        const Node *option = tree_node(builder->tree, id);
        if (option->op == OPTION_BY && law_named) {
            SAY(builder->messages, MOTION_TWICE, option->span, TEXT("law"));
            fine = false;
        }
        law_named = law_named || option->op == OPTION_BY;
        for (unsigned i = 0; i < MOTION_OPTION_COUNT; i++) {
            const MotionOption *row = &motion_options[i];
            if (option->op != row->option) continue;
            Measure due = row->order ? rate_measure(stroke, row->order) : (Measure){.dimension = dimension_base(DIMENSION_TIME)};
            StepId step = compile_measured(builder, option->a, due, row->after);
            Object *object = &builder->program->objects.at[law];
            uint32_t slot = form_slot(builder->model, object->form, symbol_of(builder->model->symbols, text_from(row->field)));
            if (step == 0 || slot == UINT32_MAX) {
                fine = false;
                continue;
            }
            if (object->slots[slot].stated != 0) {
                SAY(builder->messages, MOTION_TWICE, option->span, text_from(row->field));
                fine = false;
                continue;
            }
            Measure measure = measure_of_kind(builder->model->vocabulary, form_of(builder->model, object->form)->members.at[slot].type.kind);
            if (row->order) step = binary(builder, SIGNAL_DIVIDE, step, size, option->span);
            set_slot(object, slot, operand_value(step, measure), option->a, option->span);
        }
    }
    /* Ranges may look at what the other options state. */
    ObjectId owner = builder->owner;
    builder->owner = law;
    for (unsigned i = 0; i < MOTION_OPTION_COUNT; i++) {
        uint32_t slot = form_slot(builder->model, builder->program->objects.at[law].form,
                                  symbol_of(builder->model->symbols, text_from(motion_options[i].field)));
        if (slot == UINT32_MAX || builder->program->objects.at[law].slots[slot].state != SLOT_DONE) continue;
        Operand judged = slot_with_needs(builder, law, slot, builder->program->objects.at[law].slots[slot].operand);
        builder->program->objects.at[law].slots[slot].operand = judged;
    }
    builder->owner = owner;
    return fine;
}

static FormId law_of(Builder *builder, const Node *segment, NodeId *by) {
    Model *model = builder->model;
    *by = tree_option(builder->tree, segment->b, OPTION_BY);
    FormId base = model_form(model, builder->law_form);
    Symbol name = *by ? tree_node(builder->tree, *by)->name : symbol_of(model->symbols, TEXT("trapezoidal"));
    Span span = *by ? tree_node(builder->tree, *by)->span : segment->span;
    FormId law = model_form(model, name);
    if (law != 0 && base != 0 && form_descends(model, law, base)) return law;
    Nearest nearest = nearest_to(model->symbols, name);
    for (uint32_t i = 1; i < model->forms.count; i++) {
        if (base != 0 && i != base && form_descends(model, i, base)) nearest_try(&nearest, model->forms.at[i].name);
    }
    SAY(builder->messages, UNKNOWN_LAW, span, model_name(model, name), nearest_found(&nearest));
    return 0;
}

static Text segment_path(Builder *builder, const PlanCycle *cycle, uint32_t index) {
    TextBuilder number = text_builder(builder->arena);
    text_add_count(&number, index + 1);
    Text parts[2] = {model_name(builder->model, cycle->name), text_built(&number)};
    return text_fill(builder->arena, TEXT("{0}.segment-{1}"), parts, 2);
}

static StepId law_step(Builder *builder, ObjectId law, Symbol name) {
    uint32_t slot = form_slot(builder->model, builder->program->objects.at[law].form, name);
    Operand operand = slot == UINT32_MAX ? operand_broken() : compile_slot(builder, law, slot);
    return operand.class == OPERAND_VALUE ? operand.step : 0;
}

static bool open_move(Builder *builder, uint32_t cycle, uint32_t index, PlanSegment *segment, Measure stroke) {
    const Node *node = tree_node(builder->tree, segment->node);
    NodeId by;
    FormId form = law_of(builder, node, &by);
    StepId size = emit(builder, STEP_UNARY, SIGNAL_ABS, segment->displacement, 0, 0, node->span);
    if (form == 0) return false;
    Text path = segment_path(builder, &builder->program->cycles.at[cycle], index);
    ObjectId law = object_open(builder, form, 0, 0, path, 0);
    builder->program->objects.at[law].law = true;
    if (by != 0) {
        const Node *option = tree_node(builder->tree, by);
        Object *object = &builder->program->objects.at[law];
        for (NodeId field = option->a; field != 0; field = tree_node(builder->tree, field)->next) {
            const Node *argument = tree_node(builder->tree, field);
            uint32_t slot = form_slot(builder->model, form, argument->name);
            if (slot == UINT32_MAX || form_of(builder->model, form)->members.at[slot].class == NODE_LET) {
                SAY(builder->messages, UNKNOWN_FIELD, argument->span, model_name(builder->model, form_of(builder->model, form)->name),
                    model_name(builder->model, argument->name), advise_field(builder, form_of(builder->model, form), argument->name));
                continue;
            }
            if (object->slots[slot].stated != 0) {
                SAY(builder->messages, FIELD_TWICE, argument->span, model_name(builder->model, argument->name),
                    message_place(builder->messages, object->slots[slot].stated_span.start));
                continue;
            }
            object->slots[slot].stated = argument->a;
            object->slots[slot].stated_span = argument->span;
        }
    }
    bool fine = state_motion(builder, law, node, size, stroke);
    uint32_t t = form_slot(builder->model, form, builder->law_t);
    StepId time = emit(builder, STEP_LAW_TIME, 0, 0, 0, 0, node->span);
    if (t != UINT32_MAX) set_slot(&builder->program->objects.at[law], t, operand_value(time, measure_number()), segment->node, node->span);
    segment->law = law;
    if (!fine) return false;
    segment->length = law_step(builder, law, builder->law_time);
    segment->shape[0] = law_step(builder, law, builder->law_position);
    return segment->length != 0 && segment->shape[0] != 0;
}

/* ---- segments ---------------------------------------------------------------------------------------------------- */

static bool refuse_options(Builder *builder, const Node *node, const char *what) {
    bool fine = true;
    for (NodeId id = node->b; id != 0; id = tree_node(builder->tree, id)->next) {
        const Node *option = tree_node(builder->tree, id);
        if (option->op == OPTION_FOR) continue;
        Text words = node_text(builder, id);
        if (option->op == OPTION_BY) words = text_fill(builder->arena, TEXT("by {0}"), &words, 1);
        SAY(builder->messages, MOTION_NO_USE, option->span, words, text_from(what));
        fine = false;
    }
    return fine;
}

static Operand stroke_of(Builder *builder, NodeId node) {
    Scope top = {SCOPE_TOP, 0, UINT32_MAX};
    Operand operand = compile_expression(builder, top, node, NULL);
    if (operand.class == OPERAND_BROKEN) return operand;
    bool linear = operand.class == OPERAND_VALUE && dimension_equal(operand.measure.dimension, dimension_base(DIMENSION_LENGTH));
    bool rotary = operand.class == OPERAND_VALUE && dimension_equal(operand.measure.dimension, dimension_base(DIMENSION_ANGLE));
    if (linear || rotary) return operand;
    SAY(builder->messages, STROKE_KIND, tree_node(builder->tree, node)->span, node_text(builder, node), operand_words(builder, operand));
    return operand_broken();
}

static bool set_stroke(Builder *builder, uint32_t cycle, Measure stroke, Span span) {
    PlanCycle *plan = &builder->program->cycles.at[cycle];
    KindId kind = vocabulary_kind(builder->model->vocabulary,
                                  symbol_find(builder->model->symbols, dimension_equal(stroke.dimension, dimension_base(DIMENSION_LENGTH))
                                                                           ? TEXT("length")
                                                                           : TEXT("angle")));
    Measure due = kind ? measure_of_kind(builder->model->vocabulary, kind) : stroke;
    if (dimension_is_number(plan->stroke.dimension)) plan->stroke = due;
    if (dimension_equal(plan->stroke.dimension, stroke.dimension)) return true;
    SAY(builder->messages, STROKES_MIXED, span, model_name(builder->model, plan->name));
    return false;
}

static bool open_segment(Builder *builder, uint32_t cycle, uint32_t index, PlanSegment *segment) {
    const Node *node = tree_node(builder->tree, segment->node);
    Measure seconds = {.dimension = dimension_base(DIMENSION_TIME)};
    if (node->op == SEGMENT_HOLD) {
        segment->displacement = emit_constant(builder, 0, node->span);
        segment->length = compile_measured(builder, node->a, seconds, "after hold");
        return refuse_options(builder, node, "a hold") && segment->length != 0;
    }
    if (node->op == SEGMENT_RUN) {
        NodeId time = tree_option(builder->tree, node->b, OPTION_FOR);
        Scope top = {SCOPE_TOP, 0, UINT32_MAX};
        Operand speed = compile_expression(builder, top, node->a, NULL);
        Measure stroke;
        segment->length = time ? compile_measured(builder, tree_node(builder->tree, time)->a, seconds, "after for") : 0;
        if (speed.class != OPERAND_VALUE || segment->length == 0) {
            if (speed.class != OPERAND_VALUE && speed.class != OPERAND_BROKEN) {
                SAY(builder->messages, STROKE_KIND, node->span, node_text(builder, node->a), operand_words(builder, speed));
            }
            return false;
        }
        if (!measure_multiply(speed.measure, seconds, &stroke) ||
            (!dimension_equal(stroke.dimension, dimension_base(DIMENSION_LENGTH)) && !dimension_equal(stroke.dimension, dimension_base(DIMENSION_ANGLE)))) {
            SAY(builder->messages, RUN_KIND, tree_node(builder->tree, node->a)->span, node_text(builder, node->a), operand_words(builder, speed));
            return false;
        }
        segment->displacement = binary(builder, SIGNAL_MULTIPLY, speed.step, segment->length, node->span);
        segment->shape[0] = emit(builder, STEP_LAW_TIME, 0, 0, 0, 0, node->span);
        return set_stroke(builder, cycle, stroke, node->span) && refuse_options(builder, node, "a run");
    }
    Operand stroke = stroke_of(builder, node->a);
    if (stroke.class == OPERAND_BROKEN || !set_stroke(builder, cycle, stroke.measure, node->span)) return false;
    segment->displacement = stroke.step;
    if (step_is_nought(builder, stroke.step)) {
        SAY(builder->messages, MOVE_OF_NOTHING, tree_node(builder->tree, node->a)->span, node_text(builder, node->a));
        return false;
    }
    return open_move(builder, cycle, index, segment, builder->program->cycles.at[cycle].stroke);
}

/* Where `as NAME` has its name. */
static Span label_span(Builder *builder, const Node *segment) {
    Text text = source_text(builder->tree->sources, segment->span), label = model_name(builder->model, segment->name);
    for (size_t i = text.length; i >= label.length + 4; i--) {
        size_t start = i - label.length;
        if (!text_starts(text_slice(text, start, text.length), label) || !text_starts(text_slice(text, start - 3, start), TEXT("as "))) continue;
        return (Span){segment->span.start + (uint32_t)start, segment->span.start + (uint32_t)i};
    }
    return segment->span;
}

static bool label_is_taken(Builder *builder, const PlanCycle *cycle, const Node *node) {
    for (uint32_t i = 0; node->name != 0 && i < cycle->segments.count; i++) {
        if (cycle->segments.at[i].label != node->name) continue;
        SAY(builder->messages, DECLARED_TWICE, label_span(builder, node), model_name(builder->model, node->name),
            message_place(builder->messages, tree_node(builder->tree, cycle->segments.at[i].node)->span.start));
        return true;
    }
    return false;
}

/* ---- cycles from a table ----------------------------------------------------------------------------------------- */

enum { PROFILE_ROWS_LEAST = 4 };

static const DataColumn *column_of(const DataTable *table, const char *name) {
    for (uint32_t i = 0; i < table->column_count; i++) {
        if (text_is(table->columns[i].name, name)) return &table->columns[i];
    }
    return NULL;
}

static bool check_profile(Builder *builder, NodeId node, const DataTable *table, const DataColumn *time, const DataColumn *position) {
    Span span = tree_node(builder->tree, node)->span;
    bool linear = position && dimension_equal(position->measure.dimension, dimension_base(DIMENSION_LENGTH));
    bool rotary = position && dimension_equal(position->measure.dimension, dimension_base(DIMENSION_ANGLE));
    if (time == NULL || !dimension_equal(time->measure.dimension, dimension_base(DIMENSION_TIME)) || (!linear && !rotary)) {
        SAY(builder->messages, PROFILE_COLUMNS, time && position ? (linear || rotary ? time : position)->span : span, tree_text(builder->tree, builder->arena, node));
        return false;
    }
    if (table->row_count < PROFILE_ROWS_LEAST) {
        SAY(builder->messages, PROFILE_ROWS, span, tree_text(builder->tree, builder->arena, node));
        return false;
    }
    for (uint32_t i = 1; i < table->row_count; i++) {
        if (time->values[i] > time->values[i - 1]) continue;
        SAY(builder->messages, PROFILE_ORDER, time->spans[i], source_text(builder->tree->sources, time->spans[i]));
        return false;
    }
    return true;
}

static bool open_profile(Builder *builder, uint32_t index, NodeId text_node) {
    DataTable *table = ARENA_NEW(builder->arena, DataTable);
    Span span = tree_node(builder->tree, text_node)->span;
    if (!data_read(builder, text_node, table)) return false;
    const DataColumn *time = column_of(table, "time"), *position = column_of(table, "position");
    if (!check_profile(builder, text_node, table, time, position)) return false;
    uint32_t rows = table->row_count;
    double *times = ARENA_ARRAY(builder->arena, double, rows);
    for (uint32_t i = 0; i < rows; i++) times[i] = time->values[i] - time->values[0];
    PlanProfile *profile = ARENA_NEW(builder->arena, PlanProfile);
    *profile = (PlanProfile){rows, times, position->values};
    PlanSegment segment = {.node = builder->program->cycles.at[index].node, .start = emit_constant(builder, 0, span)};
    segment.length = emit_constant(builder, times[rows - 1], span);
    segment.displacement = emit_constant(builder, position->values[rows - 1] - position->values[0], span);
    PlanCycle *cycle = &builder->program->cycles.at[index];
    cycle->profile = profile;
    cycle->data = table;
    cycle->duration = segment.length;
    VECTOR_PUSH(builder->arena, &cycle->segments, segment);
    return set_stroke(builder, index, position->measure, span);
}

static bool open_cycle(Builder *builder, uint32_t index) {
    const Node *node = tree_node(builder->tree, builder->program->cycles.at[index].node);
    StepId elapsed = emit_constant(builder, 0, node->span);
    bool fine = true;
    if (node->a != 0) return open_profile(builder, index, node->a);
    for (NodeId id = node->b; id != 0; id = tree_node(builder->tree, id)->next) {
        const Node *written = tree_node(builder->tree, id);
        if (written->kind != NODE_SEGMENT) continue;
        PlanSegment segment = {.node = id, .label = written->name, .start = elapsed};
        label_is_taken(builder, &builder->program->cycles.at[index], written);
        bool opened = open_segment(builder, index, builder->program->cycles.at[index].segments.count, &segment);
        fine = fine && opened;
        if (opened) elapsed = binary(builder, SIGNAL_ADD, elapsed, segment.length, written->span);
        VECTOR_PUSH(builder->arena, &builder->program->cycles.at[index].segments, segment);
    }
    PlanCycle *cycle = &builder->program->cycles.at[index];
    cycle->duration = elapsed;
    if (node->flags & NODE_INCOMPLETE) return false; /* some segments could not be read */
    if (fine && cycle->segments.count == 0) {
        SAY(builder->messages, CYCLE_EMPTY, node->span, model_name(builder->model, cycle->name));
        return false;
    }
    if (fine && dimension_is_number(cycle->stroke.dimension)) {
        SAY(builder->messages, CYCLE_STANDS, node->span, model_name(builder->model, cycle->name));
        return false;
    }
    return fine;
}

Operand cycle_of_thing(Builder *builder, Symbol name) {
    uint32_t index = map_get(&builder->cycles, name, UINT32_MAX);
    if (index == UINT32_MAX) {
        NodeId node = model_thing(builder->model, name);
        index = builder->program->cycles.count;
        PlanCycle cycle = {.node = node, .name = name, .state = SLOT_UNDER_WAY, .in_use = true};
        cycle.progressive = tree_option(builder->tree, tree_node(builder->tree, node)->c, OPTION_PROGRESSIVE) != 0;
        VECTOR_PUSH(builder->arena, &builder->program->cycles, cycle);
        map_set(&builder->cycles, name, index);
        VECTOR_PUSH(builder->arena, &builder->trail, (Trail){0, index});
        ReferenceVector *references = builder->references;
        builder->references = NULL;
        bool fine = open_cycle(builder, index);
        builder->references = references;
        builder->trail.count--;
        builder->program->cycles.at[index].state = fine ? SLOT_DONE : SLOT_OPEN;
    }
    PlanCycle *cycle = &builder->program->cycles.at[index];
    if (cycle->state == SLOT_UNDER_WAY) {
        SAY(builder->messages, CYCLE_CIRCLE, tree_node(builder->tree, cycle->node)->span, model_name(builder->model, name));
        cycle->state = SLOT_OPEN;
    }
    if (cycle->state == SLOT_OPEN) return operand_broken();
    return (Operand){.class = OPERAND_CYCLE, .index = index, .measure = cycle->stroke};
}

/* ---- signals and facts of a cycle -------------------------------------------------------------------------------- */

StepId cycle_signal(Builder *builder, uint32_t index, unsigned order, Span span) {
    uint32_t count = builder->program->cycles.at[index].segments.count;
    for (uint32_t i = 0; i < count; i++) {
        PlanSegment *segment = &builder->program->cycles.at[index].segments.at[i];
        for (unsigned o = 1; segment->shape[0] != 0 && o <= order; o++) {
            if (segment->shape[o] != 0) continue;
            StepId rate = derive(builder, segment->shape[o - 1]);
            segment = &builder->program->cycles.at[index].segments.at[i];
            segment->shape[o] = rate;
        }
    }
    StepId step = emit(builder, STEP_CYCLE, order, index, 0, 0, span);
    builder->program->cycles.at[index].signal[order] = step;
    return step;
}

static const char *const order_names[] = {"position", "speed", "acceleration", "jerk"};
static const char *const linear_kinds[] = {"length", "velocity", "acceleration", "jerk"};
static const char *const rotary_kinds[] = {"angle", "angular-velocity", "angular-acceleration", "angular-jerk"};

static Measure order_measure(Builder *builder, Measure stroke, unsigned order) {
    bool linear = dimension_equal(stroke.dimension, dimension_base(DIMENSION_LENGTH));
    Symbol name = symbol_find(builder->model->symbols, text_from((linear ? linear_kinds : rotary_kinds)[order]));
    KindId kind = vocabulary_kind(builder->model->vocabulary, name);
    return kind ? measure_of_kind(builder->model->vocabulary, kind) : rate_measure(stroke, order);
}

static Operand unknown_member(Builder *builder, Operand owner, Symbol name, NodeId id) {
    static const char *const known[] = {"position", "speed", "acceleration", "jerk", "time", "duration", "stroke", "net", "first", "last",
                                        "distance", "start", "peak-speed", "peak-acceleration", "peak-jerk"};
    Nearest nearest = nearest_to(builder->model->symbols, name);
    for (unsigned i = 0; i < sizeof known / sizeof known[0]; i++) nearest_try(&nearest, symbol_of(builder->model->symbols, text_from(known[i])));
    if (owner.class == OPERAND_CYCLE && owner.index != 0) {
        const PlanCycle *cycle = &builder->program->cycles.at[owner.index];
        for (uint32_t i = 0; i < cycle->segments.count; i++) {
            if (cycle->segments.at[i].label) nearest_try(&nearest, cycle->segments.at[i].label);
        }
    }
    const Node *node = tree_node(builder->tree, id);
    SAY(builder->messages, UNKNOWN_MEMBER, vocabulary_name_span(builder->model->vocabulary, node->span, name), node_text(builder, node->a), operand_words(builder, owner),
        model_name(builder->model, name), nearest_found(&nearest));
    return operand_broken();
}

static Operand reduced_position(Builder *builder, Operand cycle, Reduction high, Span span) {
    StepId position = cycle_signal(builder, cycle.index, 0, span);
    StepId top = emit(builder, STEP_REDUCE, high, position, 0, 0, span);
    StepId bottom = emit(builder, STEP_REDUCE, REDUCE_MINIMUM, position, 0, 0, span);
    return operand_value(binary(builder, SIGNAL_SUBTRACT, top, bottom, span), cycle.measure);
}

static StepId net_of(Builder *builder, uint32_t index, Span span) {
    StepId net = 0;
    for (uint32_t i = 0; i < builder->program->cycles.at[index].segments.count; i++) {
        StepId displacement = builder->program->cycles.at[index].segments.at[i].displacement;
        net = net == 0 ? displacement : binary(builder, SIGNAL_ADD, net, displacement, span);
    }
    return net;
}

/* A fact of a cycle that is not there (`maybe`), or of none in particular (a form checked for itself). */
static Operand absent_member(Builder *builder, Operand cycle, Measure measure, Span span) {
    return operand_value(emit_missing(builder, cycle.text, span), measure);
}

Operand cycle_member(Builder *builder, Operand cycle, Symbol name, NodeId id) {
    Text text = model_name(builder->model, name);
    Span span = tree_node(builder->tree, id)->span;
    Measure seconds = {.dimension = dimension_base(DIMENSION_TIME)};
    for (unsigned order = 0; order < 4; order++) {
        if (!text_is(text, order_names[order])) continue;
        Measure measure = order_measure(builder, cycle.measure, order);
        if (cycle.index == 0) return absent_member(builder, cycle, measure, span);
        return operand_value(cycle_signal(builder, cycle.index, order, span), measure);
    }
    if (text_is(text, "time") || text_is(text, "duration")) {
        if (cycle.index == 0) return absent_member(builder, cycle, seconds, span);
        if (text_is(text, "duration")) return operand_value(builder->program->cycles.at[cycle.index].duration, seconds);
        return operand_value(emit(builder, STEP_CYCLE_TIME, 0, cycle.index, 0, 0, span), seconds);
    }
    if (text_is(text, "stroke") || text_is(text, "net")) {
        if (cycle.index == 0) return absent_member(builder, cycle, cycle.measure, span);
        if (text_is(text, "stroke")) return reduced_position(builder, cycle, REDUCE_MAXIMUM, span);
        return operand_value(net_of(builder, cycle.index, span), cycle.measure);
    }
    Operand segment = {.class = OPERAND_SEGMENT, .index = cycle.index, .measure = cycle.measure, .text = cycle.text};
    if (text_is(text, "first")) return segment;
    if (cycle.index == 0) {
        if (text_is(text, "last")) return segment;
        return unknown_member(builder, cycle, name, id);
    }
    const PlanCycle *plan = &builder->program->cycles.at[cycle.index];
    if (text_is(text, "last")) {
        segment.segment = plan->segments.count - 1;
        return segment;
    }
    for (uint32_t i = 0; i < plan->segments.count; i++) {
        if (plan->segments.at[i].label != name) continue;
        segment.segment = i;
        return segment;
    }
    return unknown_member(builder, cycle, name, id);
}

/* Peak of a derivative within one segment: |displacement| · peak of the law's derivative / length^order. */
static StepId segment_peak(Builder *builder, Operand operand, unsigned order, Span span) {
    StepId signal = cycle_signal(builder, operand.index, order, span);
    if (builder->program->cycles.at[operand.index].profile) return emit(builder, STEP_REDUCE, REDUCE_PEAK, signal, 0, 0, span);
    const PlanSegment segment = builder->program->cycles.at[operand.index].segments.at[operand.segment];
    if (segment.shape[0] == 0) return emit_constant(builder, 0, span);
    StepId peak = emit(builder, STEP_REDUCE, REDUCE_PEAK, segment.shape[order], 0, 0, span);
    StepId size = emit(builder, STEP_UNARY, SIGNAL_ABS, segment.displacement, 0, 0, span);
    peak = binary(builder, SIGNAL_MULTIPLY, peak, size, span);
    for (unsigned i = 0; i < order; i++) peak = binary(builder, SIGNAL_DIVIDE, peak, segment.length, span);
    return peak;
}

Operand segment_member(Builder *builder, Operand operand, Symbol name, NodeId id) {
    static const char *const peaks[] = {"", "peak-speed", "peak-acceleration", "peak-jerk"};
    Text text = model_name(builder->model, name);
    Span span = tree_node(builder->tree, id)->span;
    Measure seconds = {.dimension = dimension_base(DIMENSION_TIME)};
    bool known = operand.index != 0;
    const PlanSegment *segment = known ? &builder->program->cycles.at[operand.index].segments.at[operand.segment] : NULL;
    if (text_is(text, "duration")) return known ? operand_value(segment->length, seconds) : absent_member(builder, operand, seconds, span);
    if (text_is(text, "start")) return known ? operand_value(segment->start, seconds) : absent_member(builder, operand, seconds, span);
    if (text_is(text, "distance")) {
        return known ? operand_value(segment->displacement, operand.measure) : absent_member(builder, operand, operand.measure, span);
    }
    for (unsigned order = 1; order < 4; order++) {
        if (!text_is(text, peaks[order])) continue;
        Measure measure = order_measure(builder, operand.measure, order);
        return known ? operand_value(segment_peak(builder, operand, order, span), measure) : absent_member(builder, operand, measure, span);
    }
    return unknown_member(builder, operand, name, id);
}

/* ---- inputs ------------------------------------------------------------------------------------------------------ */

/* An input of a cycle from a table is one more column of it. */
static StepId profile_input(Builder *builder, uint32_t index, Symbol name, Type type, StepId otherwise, Span span) {
    const DataTable *table = builder->program->cycles.at[index].data;
    for (uint32_t i = 0; i < table->column_count; i++) {
        const DataColumn *column = &table->columns[i];
        if (!text_equal(column->name, model_name(builder->model, name)) || type.class != TYPE_QUANTITY) continue;
        Measure measure = column->measure;
        Fit how = measure_fits(builder->model->vocabulary, measure, type.kind);
        if (how != FIT_YES) {
            SAY(builder->messages, WRONG_KIND, column->span, type_due(builder->model, builder->arena, type, column->name), TEXT("this column"), measure_words(builder->model->vocabulary, builder->arena, measure), (Text){0});
            return otherwise;
        }
        uint32_t id = builder->program->inputs.count;
        VECTOR_PUSH(builder->arena, &builder->program->inputs, (PlanInput){.cycle = index, .values = column->values});
        return emit(builder, STEP_CYCLE_INPUT, 0, otherwise, id, 0, span);
    }
    return otherwise;
}

StepId cycle_input(Builder *builder, uint32_t index, Symbol name, Type type, StepId otherwise, Span span) {
    uint32_t count = builder->program->cycles.at[index].segments.count;
    PlanInput input = {.cycle = index, .steps = ARENA_ARRAY(builder->arena, StepId, count)};
    Scope top = {SCOPE_TOP, 0, UINT32_MAX};
    bool any = false;
    for (uint32_t i = 0; i < count; i++) {
        const Node *segment = tree_node(builder->tree, builder->program->cycles.at[index].segments.at[i].node);
        for (NodeId field = segment->c; field != 0; field = tree_node(builder->tree, field)->next) {
            const Node *node = tree_node(builder->tree, field);
            if (node->kind != NODE_FIELD || node->name != name) continue;
            if (input.steps[i] != 0) {
                SAY(builder->messages, FIELD_TWICE, node->span, model_name(builder->model, name),
                    message_place(builder->messages, segment->span.start));
                continue;
            }
            Operand operand = compile_as(builder, top, node->a, type, model_name(builder->model, name));
            if (operand.class == OPERAND_VALUE) input.steps[i] = operand.step;
            any = true;
        }
    }
    VECTOR_PUSH(builder->arena, &builder->program->cycles.at[index].inputs_taken, name);
    if (builder->program->cycles.at[index].profile) return profile_input(builder, index, name, type, otherwise, span);
    if (!any) return otherwise;
    uint32_t id = builder->program->inputs.count;
    VECTOR_PUSH(builder->arena, &builder->program->inputs, input);
    return emit(builder, STEP_CYCLE_INPUT, 0, otherwise, id, 0, span);
}

static void check_input_name(Builder *builder, const PlanCycle *cycle, Symbol name, Span span) {
    Nearest nearest = nearest_to(builder->model->symbols, name);
    for (uint32_t k = 0; k < cycle->inputs_taken.count; k++) {
        if (cycle->inputs_taken.at[k] == name) return;
        nearest_try(&nearest, cycle->inputs_taken.at[k]);
    }
    SAY(builder->messages, INPUT_UNUSED, span, model_name(builder->model, name), model_name(builder->model, cycle->name), nearest_found(&nearest));
}

void check_cycle_inputs(Builder *builder) {
    for (uint32_t c = 1; c < builder->program->cycles.count; c++) {
        const PlanCycle *cycle = &builder->program->cycles.at[c];
        for (uint32_t i = 0; cycle->data != NULL && i < cycle->data->column_count; i++) {
            const DataColumn *column = &cycle->data->columns[i];
            if (text_is(column->name, "time") || text_is(column->name, "position")) continue;
            check_input_name(builder, cycle, symbol_of(builder->model->symbols, column->name), column->span);
        }
        for (uint32_t i = 0; cycle->data == NULL && i < cycle->segments.count; i++) {
            NodeId field = tree_node(builder->tree, cycle->segments.at[i].node)->c;
            for (; field != 0; field = tree_node(builder->tree, field)->next) {
                const Node *node = tree_node(builder->tree, field);
                check_input_name(builder, cycle, node->name, node->span);
            }
        }
    }
}
