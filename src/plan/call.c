/* Built-in functions: what they take, what they give. */
#include "plan/build.h"

typedef struct FunctionRow {
    const char *name;
    uint8_t fewest, most;
} FunctionRow;

static const FunctionRow rows[] = {
    {NULL, 0, 0},
#define FUNCTION(id, name, fewest, most) {name, fewest, most},
#include "plan/function.def"
#undef FUNCTION
};

typedef struct Call {
    Function function;
    NodeId node;
    NodeId argument_nodes[9];
    Operand arguments[9];
    uint32_t count;
} Call;

bool reduction_of(Text name, Reduction *reduction) {
    static const char *const names[] = {"peak", "maximum", "minimum", "mean", "rms", "integral", "duration", "share"};
    for (unsigned i = 0; i <= REDUCE_INTEGRAL; i++) {
        if (!text_is(name, names[i])) continue;
        *reduction = (Reduction)i;
        return true;
    }
    return false;
}

static Operand say_argument(Builder *builder, const Call *call, uint32_t index, const char *due) {
    SAY(builder->messages, ARGUMENT_KIND, tree_node(builder->tree, call->argument_nodes[index])->span,
        text_from(rows[call->function].name), text_from(due), node_text(builder, call->argument_nodes[index]),
        operand_words(builder, call->arguments[index]));
    return operand_broken();
}

Operand reduce(Builder *builder, Reduction reduction, Operand value, Span span) {
    Measure measure = value.measure, seconds = {.dimension = dimension_base(DIMENSION_TIME)};
    if (reduction == REDUCE_PEAK && measure.point) reduction = REDUCE_MAXIMUM; /* a temperature has no magnitude */
    StepId step = emit(builder, STEP_REDUCE, reduction, value.step, 0, 0, span);
    if (reduction == REDUCE_SHARE) return operand_value(step, measure_number());
    if (reduction == REDUCE_DURATION) return operand_value(step, seconds);
    if (reduction == REDUCE_INTEGRAL && !measure_multiply(measure, seconds, &measure)) return operand_broken();
    return operand_value(step, measure);
}

static Operand call_reduction(Builder *builder, const Call *call, Reduction reduction) {
    Operand value = call->arguments[0];
    Span span = tree_node(builder->tree, call->node)->span;
    if (reduction == REDUCE_SHARE) {
        if (value.class != OPERAND_TRUTH) return say_argument(builder, call, 0, "a condition");
        return reduce(builder, reduction, value, span);
    }
    if (value.class != OPERAND_VALUE) return say_argument(builder, call, 0, "a quantity");
    if (value.measure.point && (reduction == REDUCE_RMS || reduction == REDUCE_INTEGRAL)) {
        return say_argument(builder, call, 0, "a quantity that is no temperature on a scale");
    }
    return reduce(builder, reduction, value, span);
}

static Operand unary_step(Builder *builder, const Call *call, SignalUnary operation, Measure measure) {
    Span span = tree_node(builder->tree, call->node)->span;
    return operand_value(emit(builder, STEP_UNARY, operation, call->arguments[0].step, 0, 0, span), measure);
}

static Operand call_unary(Builder *builder, const Call *call) {
    Operand x = call->arguments[0];
    Measure angle = {.dimension = dimension_base(DIMENSION_ANGLE)}, measure = x.measure;
    if (x.class != OPERAND_VALUE || x.measure.point) return say_argument(builder, call, 0, "a quantity");
    bool number = dimension_is_number(x.measure.dimension);
    switch (call->function) {
    case FUNCTION_ABS: return unary_step(builder, call, SIGNAL_ABS, measure);
    case FUNCTION_SIGN: return unary_step(builder, call, SIGNAL_SIGN, measure_number());
    case FUNCTION_SQRT:
        if (!measure_power(x.measure, 1, 2, &measure)) return say_argument(builder, call, 0, "a quantity with a root");
        return unary_step(builder, call, SIGNAL_SQRT, measure);
    case FUNCTION_CBRT:
        if (!measure_power(x.measure, 1, 3, &measure)) return say_argument(builder, call, 0, "a quantity with a root");
        return unary_step(builder, call, SIGNAL_CBRT, measure);
    case FUNCTION_SIN:
    case FUNCTION_COS:
    case FUNCTION_TAN:
        if (!number && !dimension_equal(x.measure.dimension, angle.dimension)) return say_argument(builder, call, 0, "an angle");
        return unary_step(builder, call,
                          call->function == FUNCTION_SIN   ? SIGNAL_SIN
                          : call->function == FUNCTION_COS ? SIGNAL_COS
                                                           : SIGNAL_TAN,
                          measure_number());
    default: break;
    }
    if (!number) return say_argument(builder, call, 0, "a number without a unit");
    switch (call->function) {
    case FUNCTION_EXP: return unary_step(builder, call, SIGNAL_EXP, measure_number());
    case FUNCTION_LN: return unary_step(builder, call, SIGNAL_LN, measure_number());
    case FUNCTION_ASIN: return unary_step(builder, call, SIGNAL_ASIN, angle);
    case FUNCTION_ACOS: return unary_step(builder, call, SIGNAL_ACOS, angle);
    case FUNCTION_ATAN: return unary_step(builder, call, SIGNAL_ATAN, angle);
    case FUNCTION_FLOOR: return unary_step(builder, call, SIGNAL_FLOOR, measure_number());
    case FUNCTION_ROUND: return unary_step(builder, call, SIGNAL_ROUND, measure_number());
    default: return unary_step(builder, call, SIGNAL_CEILING, measure_number());
    }
}

/* min, max, atan2: values of one kind, folded from the left. */
static Operand fold(Builder *builder, const Call *call, SignalBinary operation, const Operand *values, const NodeId *nodes, uint32_t count) {
    Span span = tree_node(builder->tree, call->node)->span;
    Operand all = values[0];
    for (uint32_t i = 0; i < count; i++) {
        if (values[i].class != OPERAND_VALUE) return say_argument(builder, call, i < call->count ? i : 0, "quantities of one kind");
        if (i == 0) continue;
        Operator meeting = operation == SIGNAL_ADD ? OPERATOR_PLUS : OPERATOR_EQUAL;
        Measure measure;
        Fit how = measure_meet(builder->model->vocabulary, meeting, all.measure, values[i].measure, &measure);
        if (how != FIT_YES) {
            say_no_meeting(builder, how, call->node, meeting, all, nodes ? nodes[0] : call->argument_nodes[0], values[i],
                           nodes ? nodes[i] : call->argument_nodes[0]);
            return operand_broken();
        }
        all = operand_value(emit(builder, STEP_BINARY, operation, all.step, values[i].step, 0, span), measure);
    }
    if (operation == SIGNAL_ATAN2) all.measure = (Measure){.dimension = dimension_base(DIMENSION_ANGLE)};
    return all;
}

static Operand call_lag(Builder *builder, const Call *call) {
    Operand x = call->arguments[0], tau = call->arguments[1];
    if (x.class != OPERAND_VALUE) return say_argument(builder, call, 0, "a signal");
    if (tau.class != OPERAND_VALUE || !dimension_equal(tau.measure.dimension, dimension_base(DIMENSION_TIME))) {
        return say_argument(builder, call, 1, "a time");
    }
    Span span = tree_node(builder->tree, call->node)->span;
    return operand_value(emit(builder, STEP_LAG, 0, x.step, tau.step, 0, span), x.measure);
}

static Operand call_calculus(Builder *builder, const Call *call) {
    Operand x = call->arguments[0];
    Measure seconds = {.dimension = dimension_base(DIMENSION_TIME)}, measure = x.measure;
    if (x.class != OPERAND_VALUE) return say_argument(builder, call, 0, "a signal");
    measure.point = false; /* the rate of a temperature is a difference per time */
    if (call->function == FUNCTION_RATE) {
        if (!measure_divide(measure, seconds, &measure)) return say_argument(builder, call, 0, "a signal");
        return operand_value(derive(builder, x.step), measure);
    }
    if (x.measure.point || !measure_multiply(measure, seconds, &measure)) {
        return say_argument(builder, call, 0, "a quantity that is no temperature on a scale");
    }
    Span span = tree_node(builder->tree, call->node)->span;
    return operand_value(emit(builder, STEP_ACCUMULATE, 0, x.step, 0, 0, span), measure);
}

/* sum, largest, smallest, count, every, some: over several. */
static Operand call_several(Builder *builder, const Call *call) {
    Operand several = call->arguments[0];
    Span span = tree_node(builder->tree, call->node)->span;
    if (several.class != OPERAND_SEVERAL) return say_argument(builder, call, 0, "several things");
    bool truth = call->function == FUNCTION_EVERY || call->function == FUNCTION_SOME;
    if (several.missing) {
        StepId step = emit_missing(builder, several.text, span);
        bool quantity = call->function != FUNCTION_COUNT && several.count > 0 && several.several[0].class == OPERAND_VALUE;
        return truth ? operand_truth(step) : operand_value(step, quantity ? several.several[0].measure : measure_number());
    }
    if (call->function == FUNCTION_COUNT) return operand_value(emit_constant(builder, several.count, span), measure_number());
    if (several.count == 0) return truth ? operand_truth(emit_constant(builder, call->function == FUNCTION_EVERY, span)) : say_argument(builder, call, 0, "at least one thing");
    if (!truth) {
        SignalBinary operation = call->function == FUNCTION_SUM ? SIGNAL_ADD : call->function == FUNCTION_LARGEST ? SIGNAL_GREATER : SIGNAL_LESSER;
        return fold(builder, call, operation, several.several, NULL, several.count);
    }
    StepId all = 0;
    for (uint32_t i = 0; i < several.count; i++) {
        if (several.several[i].class != OPERAND_TRUTH) return say_argument(builder, call, 0, "conditions");
        StepKind kind = call->function == FUNCTION_EVERY ? STEP_AND : STEP_OR;
        all = i == 0 ? several.several[i].step : emit(builder, kind, 0, all, several.several[i].step, 0, span);
    }
    return operand_truth(all);
}

/* stated(x): whether the author filled the field in. It asks about the field, not its value. */
static Operand call_stated(Builder *builder, Scope scope, const Call *call) {
    NodeId id = call->argument_nodes[0];
    const Node *node = tree_node(builder->tree, id);
    Span span = tree_node(builder->tree, call->node)->span;
    ObjectId object = 0;
    FormId form = 0;
    if (node->kind == NODE_NAME && scope.object != 0) {
        object = scope.object;
        form = builder->program->objects.at[object].form;
    } else if (node->kind == NODE_MEMBER) {
        ReferenceVector *references = builder->references;
        builder->references = NULL;
        Operand owner = compile_expression(builder, scope, node->a, NULL);
        builder->references = references;
        if (owner.class == OPERAND_BROKEN) return owner;
        if (owner.class == OPERAND_ABSENT && owner.open) return operand_truth(emit_missing(builder, owner.text, span));
        if (owner.class == OPERAND_ABSENT) return operand_truth(emit_constant(builder, 0, span));
        if (owner.class == OPERAND_OBJECT) {
            object = owner.object;
            form = object ? builder->program->objects.at[object].form : owner.form;
        }
    }
    if (form != 0) form_of(builder->model, form);
    uint32_t slot = form == 0 ? UINT32_MAX : form_slot(builder->model, form, node->name);
    if (slot == UINT32_MAX) {
        Nearest nearest = nearest_to(builder->model->symbols, node->name);
        for (uint32_t i = 0; form != 0 && i < form_of(builder->model, form)->members.count; i++) nearest_try(&nearest, form_of(builder->model, form)->members.at[i].name);
        Text best = form == 0 ? (Text){0} : nearest_found(&nearest);
        SAY(builder->messages, STATED_WHAT, node->span, node_text(builder, id),
            best.length ? text_fill(builder->arena, TEXT("Did you mean {0}?"), &best, 1) : TEXT("Right would be, for example: stated(brake)"));
        return operand_broken();
    }
    if (object == 0 || builder->program->objects.at[object].abstract) return operand_truth(emit_missing(builder, TEXT(""), span));
    StepId fact = builder->program->objects.at[object].place != 0 ? place_fact_step(builder, object, slot) : 0;
    if (fact != 0) return operand_truth(emit(builder, STEP_STATED, 0, fact, 0, 0, span));
    return operand_truth(emit_constant(builder, builder->program->objects.at[object].slots[slot].stated != 0, span));
}

static Operand dispatch(Builder *builder, const Call *call) {
    for (uint32_t i = 0; i < call->count; i++) builder->unfit = builder->unfit || call->arguments[i].loose;
    switch (call->function) {
    case FUNCTION_PEAK: return call_reduction(builder, call, REDUCE_PEAK);
    case FUNCTION_MAXIMUM: return call_reduction(builder, call, REDUCE_MAXIMUM);
    case FUNCTION_MINIMUM: return call_reduction(builder, call, REDUCE_MINIMUM);
    case FUNCTION_MEAN: return call_reduction(builder, call, REDUCE_MEAN);
    case FUNCTION_RMS: return call_reduction(builder, call, REDUCE_RMS);
    case FUNCTION_INTEGRAL: return call_reduction(builder, call, REDUCE_INTEGRAL);
    case FUNCTION_DURATION: return call_reduction(builder, call, REDUCE_DURATION);
    case FUNCTION_SHARE: return call_reduction(builder, call, REDUCE_SHARE);
    case FUNCTION_MIN: return fold(builder, call, SIGNAL_LESSER, call->arguments, call->argument_nodes, call->count);
    case FUNCTION_MAX: return fold(builder, call, SIGNAL_GREATER, call->arguments, call->argument_nodes, call->count);
    case FUNCTION_ATAN2: return fold(builder, call, SIGNAL_ATAN2, call->arguments, call->argument_nodes, call->count);
    case FUNCTION_LAG: return call_lag(builder, call);
    case FUNCTION_RATE:
    case FUNCTION_ACCUMULATE: return call_calculus(builder, call);
    case FUNCTION_SUM:
    case FUNCTION_LARGEST:
    case FUNCTION_SMALLEST:
    case FUNCTION_COUNT:
    case FUNCTION_EVERY:
    case FUNCTION_SOME: return call_several(builder, call);
    default: return call_unary(builder, call);
    }
}

/* A function of one quantity, given several, works on each. */
static Operand broadcast(Builder *builder, const Call *call) {
    Operand several = call->arguments[0];
    Operand *all = ARENA_ARRAY(builder->arena, Operand, several.count);
    for (uint32_t i = 0; i < several.count; i++) {
        Call one = *call;
        one.arguments[0] = several.several[i];
        all[i] = dispatch(builder, &one);
        if (all[i].class == OPERAND_BROKEN) return all[i];
    }
    several.several = all;
    return several;
}

static void say_unknown_function(Builder *builder, Scope scope, const Node *node) {
    const Model *model = builder->model;
    Nearest nearest = nearest_to(model->symbols, node->name);
    for (unsigned i = 1; i < FUNCTION_KIND_COUNT; i++) nearest_try(&nearest, symbol_find(model->symbols, text_from(rows[i].name)));
    Span span = node->span;
    span.end = span.start + (uint32_t)model_name(model, node->name).length;
    Text best = nearest_found(&nearest), name = model_name(model, node->name), advice = {0};
    bool field = scope.object && form_slot(model, builder->program->objects.at[scope.object].form, node->name) != UINT32_MAX;
    if (field || model_thing(model, node->name) != 0) advice = text_fill(builder->arena, TEXT("{0} is a value; a product is written with a sign: {0} * 2"), &name, 1);
    else if (best.length) advice = text_fill(builder->arena, TEXT("Did you mean {0}?"), &best, 1);
    SAY(builder->messages, UNKNOWN_FUNCTION, span, name, advice);
}

Operand compile_call(Builder *builder, Scope scope, NodeId id) {
    const Node *node = tree_node(builder->tree, id);
    Call call = {.function = (Function)map_get(&builder->functions, node->name, FUNCTION_NONE), .node = id};
    if (call.function == FUNCTION_NONE) {
        say_unknown_function(builder, scope, node);
        return operand_broken();
    }
    uint32_t given = 0;
    for (NodeId argument = node->a; argument != 0; argument = tree_node(builder->tree, argument)->next, given++) {
        if (given < 9) call.argument_nodes[given] = argument;
    }
    const FunctionRow *row = &rows[call.function];
    if (given < row->fewest || given > row->most) {
        TextBuilder due = text_builder(builder->arena), is = text_builder(builder->arena);
        text_add_count(&due, row->fewest);
        if (row->most != row->fewest) {
            text_add(&due, TEXT(" to "));
            text_add_count(&due, row->most);
        }
        text_add(&due, row->most == 1 ? TEXT(" value") : TEXT(" values"));
        text_add_count(&is, given);
        SAY(builder->messages, ARGUMENT_COUNT, node->span, text_from(row->name), text_built(&due), text_built(&is));
        return operand_broken();
    }
    call.count = given;
    if (call.function == FUNCTION_STATED) return call_stated(builder, scope, &call);
    for (uint32_t i = 0; i < given; i++) {
        call.arguments[i] = compile_expression(builder, scope, call.argument_nodes[i], NULL);
        if (call.arguments[i].class == OPERAND_BROKEN) return operand_broken();
    }
    bool takes_several = call.function >= FUNCTION_SUM && call.function <= FUNCTION_SOME;
    if (given == 1 && !takes_several && call.arguments[0].class == OPERAND_SEVERAL) return broadcast(builder, &call);
    return dispatch(builder, &call);
}
