/* Does a value fit where it is to stand? The messages about kinds are all here. */
#include "plan/build.h"

Operand operand_broken(void) { return (Operand){.class = OPERAND_BROKEN}; }

Operand operand_value(StepId step, Measure measure) {
    measure.written = false;
    measure.has_length = false;
    measure.zero = false;
    return (Operand){.class = OPERAND_VALUE, .step = step, .measure = measure};
}

Operand operand_truth(StepId step) { return (Operand){.class = OPERAND_TRUTH, .step = step}; }

Text node_text(Builder *builder, NodeId node) {
    return source_text(builder->tree->sources, tree_node(builder->tree, node)->span);
}

Operand operand_absent(Builder *builder, Type type, Text path, Span span) {
    Operand operand = {.text = path, .missing = true};
    switch (type.class) {
    case TYPE_BROKEN: return operand_broken();
    case TYPE_QUANTITY: operand = operand_value(emit_missing(builder, path, span), measure_of_kind(builder->model->vocabulary, type.kind)); break;
    case TYPE_TRUTH: operand = operand_truth(emit_missing(builder, path, span)); break;
    case TYPE_CHOICE:
        operand = (Operand){.class = OPERAND_WORD, .step = emit_missing(builder, path, span), .choice = type.choice};
        break;
    case TYPE_TEXT: operand.class = OPERAND_TEXT; break;
    case TYPE_FORM:
        operand.class = path.length > 0 ? OPERAND_ABSENT : OPERAND_OBJECT;
        operand.form = type.form;
        break;
    case TYPE_CYCLE_OF:
        operand.class = OPERAND_CYCLE;
        operand.measure = measure_of_kind(builder->model->vocabulary, type.kind);
        break;
    case TYPE_TABLE_OF:
        operand.class = OPERAND_TABLE;
        operand.measure = measure_of_kind(builder->model->vocabulary, type.kind);
        operand.key = measure_of_kind(builder->model->vocabulary, type.key_kind);
        break;
    }
    if (type.several) { /* one stands for all: in a form checked for itself, and to know the kind of what is missing */
        Operand *one = ARENA_NEW(builder->arena, Operand);
        *one = operand;
        operand = (Operand){.class = OPERAND_SEVERAL, .several = one, .count = 1, .text = path, .missing = path.length > 0};
    }
    return operand;
}

/* A number, or one base quantity: a length, a time. */
static bool dimension_is_simple(Dimension dimension) {
    int size = 0;
    for (int i = 0; i < DIMENSION_COUNT; i++) size += dimension.sixths[i] == 6 ? 1 : dimension.sixths[i] == 0 ? 0 : 2;
    return size <= 1;
}

Text operand_words(Builder *builder, Operand operand) {
    const Model *model = builder->model;
    Text name;
    switch (operand.class) {
    case OPERAND_BROKEN: return TEXT("something unreadable");
    case OPERAND_VALUE:
        if (operand.measure.kind == 0 && !operand.measure.written && !dimension_is_simple(operand.measure.dimension)) {
            /* The product of a formula: to name it after some kind of its dimension would be a guess. */
            name = dimension_spell(model->vocabulary, builder->arena, operand.measure.dimension);
            return text_fill(builder->arena, TEXT("a quantity in {0}"), &name, 1);
        }
        return measure_words(model->vocabulary, builder->arena, operand.measure);
    case OPERAND_TRUTH: return TEXT("yes or no");
    case OPERAND_WORD:
        name = model_name(model, choice_of(model, operand.choice)->name);
        return text_fill(builder->arena, TEXT("a word of {0}"), &name, 1);
    case OPERAND_TEXT: return TEXT("a text");
    case OPERAND_OBJECT:
    case OPERAND_ABSENT:
        name = model_name(model, model->forms.at[operand.form].name);
        return text_fill(builder->arena, TEXT("a filled-in {0}"), &name, 1);
    case OPERAND_CYCLE: return TEXT("a cycle");
    case OPERAND_SEGMENT: return TEXT("a segment of a cycle");
    case OPERAND_TABLE: return TEXT("a table");
    case OPERAND_SEVERAL: return TEXT("several things");
    }
    return TEXT("");
}

Text written_number(Builder *builder, NodeId id) {
    const Node *node = tree_node(builder->tree, id);
    if (node->kind == NODE_BOUNDED && node->a != 0) return written_number(builder, node->a);
    if (node->kind != NODE_NUMBER) return TEXT("1");
    Text text = node_text(builder, id);
    size_t end = 0;
    while (end < text.length && text.at[end] != ' ' && text.at[end] != '\t') end++;
    return text_slice(text, 0, end);
}

/* A number without its angle, as turns: 50 rev/s for 50 Hz or 50 1/s. Empty where turns are not what is missing. */
static Text in_turns(Builder *builder, NodeId id, Type type) {
    const Node *node = tree_node(builder->tree, id);
    const Vocabulary *vocabulary = builder->model->vocabulary;
    if (node->kind != NODE_NUMBER || node->name == 0) return (Text){0};
    const Unit *unit = unit_of(vocabulary, vocabulary_unit(builder->model->vocabulary, node->name, node->span));
    Dimension turning = unit->dimension, frequency = {{[DIMENSION_TIME] = -6}};
    turning.sixths[DIMENSION_ANGLE] = (int8_t)(turning.sixths[DIMENSION_ANGLE] + 6);
    Text written = symbol_text(builder->model->symbols, node->name), parts[2];
    if (!dimension_equal(turning, kind_of(vocabulary, type.kind)->dimension)) return (Text){0};
    if (text_starts(written, TEXT("1/"))) {
        parts[0] = written_number(builder, id);
        parts[1] = text_slice(written, 1, written.length);
        return text_fill(builder->arena, TEXT("{0} rev{1}"), parts, 2);
    }
    if (!dimension_equal(unit->dimension, frequency)) return (Text){0};
    parts[0] = spell_number(builder->arena, node->number * unit->factor, 12);
    return text_fill(builder->arena, TEXT("{0} rev/s"), parts, 1);
}

static int magnitude(int number) { return number < 0 ? -number : number; }

/* 10 mm for a lead: the value has less of the angle than the kind. */
static bool angle_is_missing(Measure measure, Dimension kind) {
    return magnitude(measure.dimension.sixths[DIMENSION_ANGLE]) < magnitude(kind.sixths[DIMENSION_ANGLE]);
}

static void say_misfit(Builder *builder, Fit how, Operand operand, Type type, NodeId node, Text name) {
    const Model *model = builder->model;
    Span span = tree_node(builder->tree, node)->span;
    NodeKind written = (NodeKind)tree_node(builder->tree, node)->kind;
    bool number = written == NODE_NUMBER || written == NODE_BOUNDED; /* of a formula there is no example */
    Text example = number ? kind_example(model->vocabulary, builder->arena, type.kind, written_number(builder, node)) : (Text){0};
    Text due = type_due(model, builder->arena, type, name), is = operand_words(builder, operand), text = node_text(builder, node);
    bool angle_lost = angle_is_missing(operand.measure, kind_of(model->vocabulary, type.kind)->dimension);
    if (how == FIT_OTHER_KIND && kind_for(model->vocabulary, operand.measure) == type.kind) how = FIT_ANGLE;
    if (how == FIT_ANGLE && !angle_lost && kind_for(model->vocabulary, operand.measure) != 0) how = FIT_OTHER_KIND;
    Text turns = how == FIT_ANGLE ? in_turns(builder, node, type) : (Text){0};
    if (turns.length > 0) example = turns;
    switch (how) {
    case FIT_YES: break;
    case FIT_DIMENSION: SAY(builder->messages, WRONG_KIND, span, due, text, is, example); break;
    case FIT_ANGLE:
        SAY(builder->messages, ANGLE_MISSING, span, due, text, angle_lost ? TEXT("leaves the angle out") : TEXT("has an angle too many"), example);
        break;
    case FIT_OTHER_KIND: SAY(builder->messages, OTHER_KIND, span, due, text, is, example); break;
    case FIT_DIFFERENCE: SAY(builder->messages, DIFFERENCE_FOR_POINT, span, due, text, example); break;
    case FIT_POINT: SAY(builder->messages, POINT_FOR_DIFFERENCE, span, due, text, example); break;
    }
}

static bool table_fits(Builder *builder, Operand *operand, Type type, NodeId node, Text name) {
    Vocabulary *vocabulary = builder->model->vocabulary;
    Type value = {.class = TYPE_QUANTITY, .kind = type.kind}, key = {.class = TYPE_QUANTITY, .kind = type.key_kind};
    Fit value_fit = measure_fits(vocabulary, operand->measure, type.kind);
    Fit key_fit = measure_fits(vocabulary, operand->key, type.key_kind);
    Operand shown = operand_value(0, value_fit != FIT_YES ? operand->measure : operand->key);
    shown.measure.written = true;
    const Node *table = tree_node(builder->tree, node);
    const Node *row = table->kind == NODE_TABLE && table->a != 0 ? tree_node(builder->tree, table->a) : NULL; /* the first */
    if (table->kind == NODE_TABLE && table->a == 0 && (value_fit != FIT_YES || key_fit != FIT_YES)) {
        Text file = tree_text(builder->tree, builder->arena, table->b), which = text_from(value_fit != FIT_YES ? "the second column of {0}" : "the first column of {0}");
        SAY(builder->messages, WRONG_KIND, table->span,
            type_due(builder->model, builder->arena, value_fit != FIT_YES ? value : key,
                     text_fill(builder->arena, value_fit != FIT_YES ? TEXT("a value of {0}") : TEXT("a key of {0}"), &name, 1)),
            text_fill(builder->arena, which, &file, 1), operand_words(builder, shown), (Text){0});
    } else if (value_fit != FIT_YES) {
        say_misfit(builder, value_fit, shown, value, row ? row->b : node, text_fill(builder->arena, TEXT("a value of {0}"), &name, 1));
    } else if (key_fit != FIT_YES) {
        say_misfit(builder, key_fit, shown, key, row ? row->a : node, text_fill(builder->arena, TEXT("a key of {0}"), &name, 1));
    } else {
        operand->measure = measure_of_kind(vocabulary, type.kind);
        operand->key = measure_of_kind(vocabulary, type.key_kind);
    }
    return value_fit == FIT_YES && key_fit == FIT_YES;
}

static Operand fit_several(Builder *builder, Operand operand, Type type, NodeId node, Text name) {
    Type one = type;
    one.several = false;
    if (operand.class != OPERAND_SEVERAL) {
        Operand *only = ARENA_NEW(builder->arena, Operand);
        *only = fit(builder, operand, one, node, name);
        if (only->class == OPERAND_BROKEN) return *only;
        return (Operand){.class = OPERAND_SEVERAL, .several = only, .count = 1};
    }
    const Node *list = tree_node(builder->tree, node);
    NodeId item = list->kind == NODE_LIST ? list->a : 0;
    Operand *all = ARENA_ARRAY(builder->arena, Operand, operand.count);
    for (uint32_t i = 0; i < operand.count; i++) {
        all[i] = fit(builder, operand.several[i], one, item ? item : node, name);
        if (all[i].class == OPERAND_BROKEN) return all[i];
        if (item) item = tree_node(builder->tree, item)->next;
    }
    operand.several = all;
    return operand;
}

Operand fit(Builder *builder, Operand operand, Type type, NodeId node, Text name) {
    Model *model = builder->model;
    Span span = tree_node(builder->tree, node)->span;
    if (operand.class == OPERAND_BROKEN || type.class == TYPE_BROKEN) return operand_broken();
    if (type.several) return fit_several(builder, operand, type, node, name);
    if (operand.class == OPERAND_SEVERAL) {
        Text reduce = type.class == TYPE_QUANTITY ? TEXT("Leave one of them, or reduce them with sum, largest or smallest.")
                                                  : TEXT("Leave one of them.");
        SAY(builder->messages, ONE_WANTED, span, name, type_words(model, builder->arena, type), reduce);
        return operand_broken();
    }
    bool fine = false;
    switch (type.class) {
    case TYPE_BROKEN: break;
    case TYPE_QUANTITY:
        if (operand.class == OPERAND_VALUE) {
            Fit how = measure_fits(model->vocabulary, operand.measure, type.kind);
            if (how == FIT_YES) return operand_value(operand.step, measure_of_kind(model->vocabulary, type.kind));
            say_misfit(builder, how, operand, type, node, name);
            return operand_broken();
        }
        break;
    case TYPE_TRUTH: fine = operand.class == OPERAND_TRUTH; break;
    case TYPE_TEXT: fine = operand.class == OPERAND_TEXT; break;
    case TYPE_CHOICE: fine = operand.class == OPERAND_WORD && operand.choice == type.choice; break;
    case TYPE_FORM:
        if (operand.class == OPERAND_OBJECT || operand.class == OPERAND_ABSENT) {
            if (form_descends(model, operand.form, type.form)) return operand;
            SAY(builder->messages, WRONG_FORM, span, name, type_words(model, builder->arena, type), node_text(builder, node),
                operand_words(builder, operand));
            return operand_broken();
        }
        break;
    case TYPE_CYCLE_OF:
        if (operand.class == OPERAND_CYCLE) {
            Measure due = measure_of_kind(model->vocabulary, type.kind);
            if (dimension_equal(operand.measure.dimension, due.dimension)) return operand;
            Operand is = operand_value(0, operand.measure), wanted = operand_value(0, due);
            SAY(builder->messages, WRONG_CYCLE, span, name, operand_words(builder, wanted), node_text(builder, node),
                operand_words(builder, is));
            return operand_broken();
        }
        break;
    case TYPE_TABLE_OF:
        if (operand.class == OPERAND_TABLE) return table_fits(builder, &operand, type, node, name) ? operand : operand_broken();
        break;
    }
    if (fine) return operand;
    SAY(builder->messages, WRONG_KIND, span, type_due(model, builder->arena, type, name), node_text(builder, node),
        operand_words(builder, operand), type_example(model, builder->arena, type, written_number(builder, node)));
    return operand_broken();
}

void say_no_meeting(Builder *builder, Fit how, NodeId node, Operator operation, Operand a, NodeId a_node, Operand b, NodeId b_node) {
    static const char *const verbs[OPERATOR_COUNT] = {[OPERATOR_PLUS] = "added", [OPERATOR_MINUS] = "subtracted"};
    Span span = tree_node(builder->tree, node)->span;
    Text verb = text_from(verbs[operation] ? verbs[operation] : "compared");
    Text a_text = node_text(builder, a_node), b_text = node_text(builder, b_node);
    Text a_words = operand_words(builder, a), b_words = operand_words(builder, b);
    if (how == FIT_POINT && operation == OPERATOR_PLUS) SAY(builder->messages, POINTS_ADDED, span, a_text, b_text);
    else if (how == FIT_POINT || how == FIT_DIFFERENCE) {
        SAY(builder->messages, POINT_MEETS_DIFFERENCE, span, a_text, a_words, b_text, b_words, verb);
    } else SAY(builder->messages, CANNOT_MEET, span, a_text, a_words, b_text, b_words, verb, TEXT("Bring both to the same kind."));
}
