/* Expressions: from the tree to steps, with kinds checked on the way. */
#include "plan/build.h"

#include <math.h>

#include "plan/data.h"

#define PI 3.14159265358979323846

static Operand compile_inner(Builder *builder, Scope scope, NodeId id, const Type *expected);

/* ---- numbers ----------------------------------------------------------------------------------------------------- */

typedef struct Written {
    bool fine;
    double value; /* SI */
    double number;
    Measure measure;
    UnitId unit;
} Written;

static Written read_number(Builder *builder, NodeId id) {
    const Node *node = tree_node(builder->tree, id);
    Vocabulary *vocabulary = builder->model->vocabulary;
    Written written = {.number = node->number, .value = node->number};
    if (node->name != 0) {
        Span span = node->span;
        Text text = symbol_text(builder->model->symbols, node->name);
        if (span.end - span.start > text.length) span.start = span.end - (uint32_t)text.length;
        written.unit = vocabulary_unit(vocabulary, node->name, span);
        if (written.unit == 0) return written;
        const Unit *unit = unit_of(vocabulary, written.unit);
        written.value = node->number * unit->factor + unit->zero;
    }
    written.measure = measure_of_unit(vocabulary, written.unit);
    written.measure.zero = node->number == 0;
    if (!isfinite(written.value)) {
        SAY(builder->messages, NUMBER_RANGE, node->span, node_text(builder, id));
        return written;
    }
    written.fine = true;
    return written;
}

static Operand number_operand(StepId step, Measure measure) {
    return (Operand){.class = OPERAND_VALUE, .step = step, .measure = measure};
}

/* How the number becomes SI, for what is alike. */
static FreeNumber free_of(const Builder *builder, NodeId id, Written written) {
    const Unit *unit = written.unit ? unit_of(builder->model->vocabulary, written.unit) : NULL;
    return (FreeNumber){.node = id, .factor = unit ? unit->factor : 1, .zero = unit ? unit->zero : 0};
}

static Operand compile_number(Builder *builder, NodeId id) {
    Written written = read_number(builder, id);
    if (!written.fine) return operand_broken();
    Constant constant = {written.value, written.value, written.value};
    return number_operand(emit_written(builder, constant, id, free_of(builder, id, written)), written.measure);
}

/* How far a tolerance reaches from the nominal value, in SI; false after reporting. */
static bool reach(Builder *builder, Written nominal, Written tolerance, NodeId tolerance_node, double *out) {
    Vocabulary *vocabulary = builder->model->vocabulary;
    Span span = tree_node(builder->tree, tolerance_node)->span;
    Text unit = tolerance.unit ? symbol_text(builder->model->symbols, unit_of(vocabulary, tolerance.unit)->text) : TEXT("");
    bool is_share = text_is(unit, "%") || text_is(unit, "‰");
    if (is_share && tolerance.unit != nominal.unit) {
        if (nominal.measure.point) {
            SAY(builder->messages, SHARE_OF_POINT, span, node_text(builder, tolerance_node));
            return false;
        }
        *out = fabs(nominal.value) * tolerance.value;
    } else if (nominal.measure.point) {
        if (tolerance.measure.point || !dimension_equal(tolerance.measure.dimension, nominal.measure.dimension)) {
            SAY(builder->messages, POINT_TOLERANCE, span, node_text(builder, tolerance_node));
            return false;
        }
        *out = tolerance.value;
    } else {
        if (!dimension_equal(tolerance.measure.dimension, nominal.measure.dimension)) {
            SAY(builder->messages, TOLERANCE_KIND, span, node_text(builder, tolerance_node),
                measure_words(vocabulary, builder->arena, tolerance.measure),
                measure_words(vocabulary, builder->arena, nominal.measure));
            return false;
        }
        *out = tolerance.value;
    }
    if (*out < 0) {
        SAY(builder->messages, TOLERANCE_NEGATIVE, span, node_text(builder, tolerance_node));
        return false;
    }
    return true;
}

static Operand compile_between(Builder *builder, NodeId id) {
    const Node *node = tree_node(builder->tree, id);
    Written low = read_number(builder, node->a), high = read_number(builder, node->b);
    Written nominal = node->c ? read_number(builder, node->c) : high;
    if (!low.fine || !high.fine || !nominal.fine) return operand_broken();
    if (!dimension_equal(low.measure.dimension, high.measure.dimension) || low.measure.point != high.measure.point ||
        !dimension_equal(low.measure.dimension, nominal.measure.dimension) || low.measure.point != nominal.measure.point) {
        Vocabulary *vocabulary = builder->model->vocabulary;
        bool same = dimension_equal(low.measure.dimension, high.measure.dimension) && low.measure.point == high.measure.point;
        Text high_words = measure_words(vocabulary, builder->arena, high.measure), advice = TEXT("Write the bounds in units of one kind.");
        Text parts[3] = {high_words, measure_words(vocabulary, builder->arena, nominal.measure), {0}};
        if (same) high_words = text_fill(builder->arena, TEXT("{0}, with {1} as nominal value"), parts, 2);
        if (low.unit == 0 && high.unit != 0) {
            Text written[3] = {node_text(builder, node->a), symbol_text(builder->model->symbols, unit_of(vocabulary, high.unit)->text),
                               node_text(builder, node->b)};
            advice = text_fill(builder->arena, TEXT("Right would be: {0} {1} to {2}"), written, 3);
        }
        SAY(builder->messages, BOUNDS_KIND, node->span, measure_words(vocabulary, builder->arena, low.measure), high_words, advice);
        return operand_broken();
    }
    double middle = node->c ? nominal.value : 0.5 * (low.value + high.value);
    if (!(low.value < high.value && low.value <= middle && middle <= high.value)) {
        SAY(builder->messages, BOUNDS_ORDER, node->span, node_text(builder, id));
        return operand_broken();
    }
    Constant constant = {middle, low.value, high.value};
    FreeNumber numbers = free_of(builder, node->c ? node->c : node->a, node->c ? nominal : low);
    if (node->c == 0) {
        FreeNumber other = free_of(builder, node->b, high);
        numbers.other = node->b;
        numbers.other_factor = other.factor;
        numbers.other_zero = other.zero;
    }
    return number_operand(emit_written(builder, constant, id, numbers), low.measure);
}

static Operand compile_bounded(Builder *builder, NodeId id) {
    const Node *node = tree_node(builder->tree, id);
    if (node->op == BOUNDS_BETWEEN) return compile_between(builder, id);
    NodeId minus_node = node->op == BOUNDS_SKEWED ? node->c : node->b;
    Written nominal = read_number(builder, node->a), plus = read_number(builder, node->b), minus = read_number(builder, minus_node);
    double up = 0, down = 0;
    if (!nominal.fine || !plus.fine || !minus.fine) return operand_broken();
    if (!reach(builder, nominal, plus, node->b, &up) || !reach(builder, nominal, minus, minus_node, &down)) return operand_broken();
    Constant constant = {nominal.value, nominal.value - down, nominal.value + up};
    return number_operand(emit_written(builder, constant, id, free_of(builder, node->a, nominal)), nominal.measure);
}

/* `table "derating.csv"`: the first column holds the keys, the second the values. */
static Operand compile_table_file(Builder *builder, NodeId id) {
    const Node *node = tree_node(builder->tree, id);
    DataTable data;
    if (!data_read(builder, node->b, &data)) return operand_broken();
    if (data.column_count != 2) {
        SAY(builder->messages, TABLE_COLUMNS, node->span, tree_text(builder->tree, builder->arena, node->b));
        return operand_broken();
    }
    PlanTable table = {.node = id, .count = data.row_count, .key = data.columns[0].measure, .value = data.columns[1].measure};
    table.keys = ARENA_ARRAY(builder->arena, StepId, table.count);
    table.values = ARENA_ARRAY(builder->arena, StepId, table.count);
    for (uint32_t i = 0; i < table.count; i++) {
        const DataColumn *keys = &data.columns[0];
        if (i > 0 && !(keys->values[i] > keys->values[i - 1])) {
            SAY(builder->messages, TABLE_ORDER, keys->spans[i], source_text(builder->tree->sources, keys->spans[i]));
            return operand_broken();
        }
        table.keys[i] = emit_constant(builder, keys->values[i], keys->spans[i]);
        table.values[i] = emit_constant(builder, data.columns[1].values[i], data.columns[1].spans[i]);
    }
    uint32_t index = builder->program->tables.count;
    VECTOR_PUSH(builder->arena, &builder->program->tables, table);
    return (Operand){.class = OPERAND_TABLE, .index = index, .measure = table.value, .key = table.key};
}

static Operand compile_table(Builder *builder, NodeId id) {
    const Node *node = tree_node(builder->tree, id);
    if (node->b != 0) return compile_table_file(builder, id);
    PlanTable table = {.node = id};
    for (NodeId row = node->a; row != 0; row = tree_node(builder->tree, row)->next) table.count++;
    table.keys = ARENA_ARRAY(builder->arena, StepId, table.count);
    table.values = ARENA_ARRAY(builder->arena, StepId, table.count);
    double last_key = -INFINITY;
    uint32_t i = 0;
    for (NodeId row = node->a; row != 0; row = tree_node(builder->tree, row)->next, i++) {
        NodeId sides[2] = {tree_node(builder->tree, row)->a, tree_node(builder->tree, row)->b};
        Measure *due[2] = {&table.key, &table.value};
        for (int side = 0; side < 2; side++) {
            const Node *written_node = tree_node(builder->tree, sides[side]);
            bool bounded = written_node->kind == NODE_BOUNDED && side == 1;
            if (written_node->kind != NODE_NUMBER && !bounded) {
                SAY(builder->messages, TABLE_NUMBER, written_node->span, node_text(builder, sides[side]));
                return operand_broken();
            }
            Operand operand = bounded ? compile_bounded(builder, sides[side]) : compile_number(builder, sides[side]);
            if (operand.class == OPERAND_BROKEN) return operand;
            if (i == 0) *due[side] = operand.measure;
            else if (!dimension_equal(due[side]->dimension, operand.measure.dimension) || due[side]->point != operand.measure.point) {
                SAY(builder->messages, TABLE_MIXED, written_node->span, node_text(builder, sides[side]),
                    measure_words(builder->model->vocabulary, builder->arena, operand.measure),
                    measure_words(builder->model->vocabulary, builder->arena, *due[side]));
                return operand_broken();
            }
            if (side == 0) table.keys[i] = operand.step;
            else table.values[i] = operand.step;
        }
        const Step *key = &builder->program->steps.at[table.keys[i]];
        double value = builder->program->constants.at[key->a].nominal;
        if (!(value > last_key)) {
            SAY(builder->messages, TABLE_ORDER, tree_node(builder->tree, sides[0])->span, node_text(builder, sides[0]));
            return operand_broken();
        }
        last_key = value;
    }
    if (table.count < 2) {
        SAY(builder->messages, TABLE_SHORT, node->span, TEXT(""));
        return operand_broken();
    }
    uint32_t index = builder->program->tables.count;
    VECTOR_PUSH(builder->arena, &builder->program->tables, table);
    return (Operand){.class = OPERAND_TABLE, .index = index, .measure = table.value, .key = table.key};
}

/* ---- names ------------------------------------------------------------------------------------------------------- */

static void note_reference(Builder *builder, Text path, ObjectId object, StepId step) {
    if (builder->references == NULL) return;
    for (uint32_t i = 0; i < builder->references->count; i++) {
        if (text_equal(builder->references->at[i].path, path)) return;
    }
    VECTOR_PUSH(builder->arena, builder->references, (Reference){path, object, step});
}

static Operand slot_operand(Builder *builder, ObjectId object, uint32_t slot) {
    Operand operand = compile_slot(builder, object, slot);
    if (builder->references && operand.class != OPERAND_OBJECT && operand.class != OPERAND_BROKEN) {
        note_reference(builder, object_slot_path(builder->program, builder->arena, object, slot), object, operand.step);
    }
    return operand;
}

static bool name_is_known(Builder *builder, Scope scope, const Node *node);

/* mass-lid, of two names that are known: "mass - lid". */
static Text as_difference(Builder *builder, Scope scope, const Node *node) {
    Text name = model_name(builder->model, node->name);
    for (size_t i = 1; i + 1 < name.length; i++) {
        if (name.at[i] != '-') continue;
        Text sides[2] = {text_slice(name, 0, i), text_slice(name, i + 1, name.length)};
        bool known = true;
        for (int side = 0; side < 2; side++) {
            Node one = *node;
            one.name = symbol_find(builder->model->symbols, sides[side]);
            known = known && one.name != 0 && name_is_known(builder, scope, &one);
        }
        if (known) return text_fill(builder->arena, TEXT("A minus has a space on both sides: {0} - {1}"), sides, 2);
    }
    return (Text){0};
}

static void say_unknown_name(Builder *builder, Scope scope, NodeId id, const Type *expected) {
    const Model *model = builder->model;
    const Node *node = tree_node(builder->tree, id);
    Nearest nearest = nearest_to(model->symbols, node->name);
    if (expected && expected->class == TYPE_CHOICE) {
        const Choice *choice = choice_of(model, expected->choice);
        for (uint32_t i = 0; i < choice->words.count; i++) nearest_try(&nearest, choice->words.at[i].name);
        Text best = nearest_found(&nearest);
        TextBuilder words = text_builder(builder->arena);
        for (uint32_t i = 0; i < choice->words.count && i < 12; i++) {
            if (i > 0) text_add(&words, TEXT(", "));
            text_add(&words, model_name(model, choice->words.at[i].name));
        }
        Text all = text_built(&words);
        Text advice = best.length ? text_fill(builder->arena, TEXT("Did you mean {0}?"), &best, 1)
                                  : text_fill(builder->arena, TEXT("Its words are: {0}"), &all, 1);
        SAY(builder->messages, UNKNOWN_WORD, node->span, model_name(model, node->name), model_name(model, choice->name), advice);
        return;
    }
    if (model->unread) return;
    if (scope.object) {
        const Form *form = form_of(builder->model, builder->program->objects.at[scope.object].form);
        if (!form_is_whole(builder->model, builder->program->objects.at[scope.object].form)) return;
        for (uint32_t i = 0; i < form->members.count; i++) nearest_try(&nearest, form->members.at[i].name);
    }
    for (Symbol name = 1; name < model->things.count; name++) {
        if (model->things.at[name] != 0) nearest_try(&nearest, name);
    }
    Text best = nearest_found(&nearest), advice = best.length ? text_fill(builder->arena, TEXT("Did you mean {0}?"), &best, 1) : (Text){0};
    Text difference = as_difference(builder, scope, node);
    SAY(builder->messages, UNKNOWN_NAME, node->span, model_name(model, node->name), difference.length ? difference : advice);
}

static bool thing_operand(Builder *builder, Symbol name, Span span, Operand *operand) {
    NodeId thing = model_thing(builder->model, name);
    if (thing == 0) return false;
    const Node *node = tree_node(builder->tree, thing);
    if (node->kind == NODE_CYCLE) {
        *operand = cycle_of_thing(builder, name);
    } else if (node->kind == NODE_FILLED) {
        ObjectId object = object_of_thing(builder, name);
        *operand = object == 0 ? operand_broken()
                               : (Operand){.class = OPERAND_OBJECT, .object = object, .form = builder->program->objects.at[object].form};
    } else {
        SAY(builder->messages, NOT_A_VALUE, span, model_name(builder->model, name),
            node->kind == NODE_SOURCE       ? TEXT("a source")
            : node->kind == NODE_CONCESSION ? TEXT("a concession")
                                            : TEXT("a requirement"));
        *operand = operand_broken();
    }
    return true;
}

static bool own_member(Builder *builder, Scope scope, Symbol name, Operand *operand) {
    if (scope.object == 0) return false;
    uint32_t slot = form_slot(builder->model, builder->program->objects.at[scope.object].form, name);
    if (slot == UINT32_MAX || slot == scope.slot) return false;
    *operand = slot_operand(builder, scope.object, slot);
    builder->target = (Target){scope.object, slot};
    return true;
}

static bool find_name(Builder *builder, Scope scope, const Node *node, Operand *operand) {
    if (scope.kind == SCOPE_FORM && own_member(builder, scope, node->name, operand)) return true;
    if (thing_operand(builder, node->name, node->span, operand)) return true;
    if (scope.kind == SCOPE_FIELD && own_member(builder, scope, node->name, operand)) return true;
    if (node->name == builder->measured && builder->reading != NULL) {
        *operand = *builder->reading;
        return true;
    }
    if (node->name == builder->pi) {
        *operand = operand_value(emit_constant(builder, PI, node->span), measure_number());
        return true;
    }
    return false;
}

static bool name_is_known(Builder *builder, Scope scope, const Node *node) {
    if (scope.object && form_slot(builder->model, builder->program->objects.at[scope.object].form, node->name) != UINT32_MAX) return true;
    return model_thing(builder->model, node->name) != 0 || node->name == builder->pi ||
           (node->name == builder->measured && builder->reading != NULL);
}

static Operand compile_name(Builder *builder, Scope scope, NodeId id, const Type *expected) {
    const Node *node = tree_node(builder->tree, id);
    Operand operand;
    if (expected && expected->class == TYPE_CHOICE) { /* a word wins over a thing of the same name */
        uint32_t word = choice_word(choice_of(builder->model, expected->choice), node->name);
        bool own = scope.kind == SCOPE_FORM && scope.object &&
                   form_slot(builder->model, builder->program->objects.at[scope.object].form, node->name) != UINT32_MAX;
        if (word != UINT32_MAX && !own) {
            return (Operand){.class = OPERAND_WORD, .step = emit_constant(builder, word, node->span), .choice = expected->choice};
        }
    }
    if (find_name(builder, scope, node, &operand)) return operand;
    say_unknown_name(builder, scope, id, expected);
    return operand_broken();
}

/* ---- operations -------------------------------------------------------------------------------------------------- */

static Operand several_of(Builder *builder, uint32_t count, Operand **all) {
    *all = ARENA_ARRAY(builder->arena, Operand, count);
    return (Operand){.class = OPERAND_SEVERAL, .several = *all, .count = count};
}

static SignalCompare comparison_of(Operator operation) {
    switch (operation) {
    case OPERATOR_LESS: return SIGNAL_LESS;
    case OPERATOR_AT_MOST: return SIGNAL_AT_MOST;
    case OPERATOR_MORE: return SIGNAL_MORE;
    case OPERATOR_AT_LEAST: return SIGNAL_AT_LEAST;
    case OPERATOR_UNEQUAL: return SIGNAL_UNEQUAL;
    default: return SIGNAL_EQUAL;
    }
}

static bool is_comparison(Operator operation) { return operation >= OPERATOR_LESS && operation <= OPERATOR_UNEQUAL; }

typedef struct Pair {
    Operand a, b;
    NodeId node, a_node, b_node;
    Operator operation;
} Pair;

static Operand say_wrong_operands(Builder *builder, const Pair *pair) {
    static const char *const verbs[OPERATOR_COUNT] = {
        [OPERATOR_PLUS] = "added", [OPERATOR_MINUS] = "subtracted", [OPERATOR_TIMES] = "multiplied", [OPERATOR_OVER] = "divided",
        [OPERATOR_POWER] = "raised to a power", [OPERATOR_AND] = "joined by 'and'", [OPERATOR_OR] = "joined by 'or'"};
    const char *verb = verbs[pair->operation];
    bool point = (pair->a.class == OPERAND_VALUE && pair->a.measure.point) || (pair->b.class == OPERAND_VALUE && pair->b.measure.point);
    bool logic = pair->operation == OPERATOR_AND || pair->operation == OPERATOR_OR;
    Text advice = logic   ? TEXT("Both sides have to be conditions, such as: speed <= 3000 rpm")
                  : point ? TEXT("A temperature on a scale has no multiples; take a difference first, such as: ambient - 20 °C")
                          : TEXT("Bring both to the same kind.");
    SAY(builder->messages, CANNOT_MEET, tree_node(builder->tree, pair->node)->span, node_text(builder, pair->a_node),
        operand_words(builder, pair->a), node_text(builder, pair->b_node), operand_words(builder, pair->b),
        text_from(verb ? verb : "compared"), advice);
    return operand_broken();
}

/* A comparison, with its sides remembered for whoever judges it. */
static Operand compare(Builder *builder, const Pair *pair) {
    Span span = tree_node(builder->tree, pair->node)->span;
    StepId step = emit(builder, STEP_COMPARE, comparison_of(pair->operation), pair->a.step, pair->b.step, 0, span);
    if (map_get(&builder->compared, step, UINT32_MAX) == UINT32_MAX) {
        map_set(&builder->compared, step, builder->sides.count);
        VECTOR_PUSH(builder->arena, &builder->sides, (Sides){pair->a, pair->b});
    }
    return operand_truth(step);
}

/* motor.rotor-inertia / 5 g·cm²: a written number that fits the kind it is divided by, or divides, is of that kind; so the angle
 * that the trade leaves out of its unit does not stay over. */
static void share_kind(Builder *builder, Measure *a, Measure *b) {
    Measure *known = a->kind && !a->written ? a : b->kind && !b->written ? b : NULL, *written = known == a ? b : a;
    if (known == NULL || !written->written || written->point || known->point) return;
    if (!dimension_equal_but_angle(known->dimension, written->dimension)) return;
    if (measure_fits(builder->model->vocabulary, *written, known->kind) == FIT_YES) *written = *known;
}

static Operand operate_values(Builder *builder, const Pair *pair) {
    static const uint8_t signal_operations[OPERATOR_COUNT] = {
        [OPERATOR_PLUS] = SIGNAL_ADD, [OPERATOR_MINUS] = SIGNAL_SUBTRACT, [OPERATOR_TIMES] = SIGNAL_MULTIPLY, [OPERATOR_OVER] = SIGNAL_DIVIDE};
    Span span = tree_node(builder->tree, pair->node)->span;
    Measure measure;
    if (pair->operation == OPERATOR_TIMES || pair->operation == OPERATOR_OVER) {
        bool times = pair->operation == OPERATOR_TIMES;
        Measure a = pair->a.measure, b = pair->b.measure;
        if (!times) share_kind(builder, &a, &b);
        bool fine = times ? measure_multiply(a, b, &measure) : measure_divide(a, b, &measure);
        if (!fine) return say_wrong_operands(builder, pair);
    } else {
        Fit how = measure_meet(builder->model->vocabulary, pair->operation, pair->a.measure, pair->b.measure, &measure);
        if (how != FIT_YES) {
            say_no_meeting(builder, how, pair->node, pair->operation, pair->a, pair->a_node, pair->b, pair->b_node);
            return operand_broken();
        }
    }
    if (is_comparison(pair->operation)) return compare(builder, pair);
    return operand_value(emit(builder, STEP_BINARY, signal_operations[pair->operation], pair->a.step, pair->b.step, 0, span), measure);
}

/* The exponent as a fraction in sixths, when it is a number known now. */
static bool static_number(Builder *builder, NodeId id, double *value) {
    const Node *node = tree_node(builder->tree, id);
    double a, b;
    if (node->kind == NODE_NUMBER && node->name == 0) {
        *value = node->number;
        return true;
    }
    if (node->kind == NODE_UNARY && node->op == OPERATOR_NEGATE && static_number(builder, node->a, &a)) {
        *value = -a;
        return true;
    }
    if (node->kind == NODE_BINARY && node->op == OPERATOR_OVER && static_number(builder, node->a, &a) &&
        static_number(builder, node->b, &b) && b != 0) {
        *value = a / b;
        return true;
    }
    return false;
}

static Operand operate_power(Builder *builder, const Pair *pair) {
    Span span = tree_node(builder->tree, pair->node)->span;
    Measure measure = measure_number();
    double exponent;
    if (!dimension_is_number(pair->b.measure.dimension) || pair->b.measure.point) {
        SAY(builder->messages, EXPONENT, tree_node(builder->tree, pair->b_node)->span, node_text(builder, pair->b_node));
        return operand_broken();
    }
    if (static_number(builder, pair->b_node, &exponent)) {
        double sixths = nearbyint(exponent * 6);
        bool exact = fabs(sixths - exponent * 6) < 1e-9 && fabs(sixths) <= 120;
        if (!dimension_is_number(pair->a.measure.dimension)) {
            if (!exact || !measure_power(pair->a.measure, (int)sixths, 6, &measure)) {
                SAY(builder->messages, EXPONENT, tree_node(builder->tree, pair->b_node)->span, node_text(builder, pair->b_node));
                return operand_broken();
            }
        } else if (pair->a.measure.point) return say_wrong_operands(builder, pair);
    } else if (!dimension_is_number(pair->a.measure.dimension)) {
        SAY(builder->messages, EXPONENT, tree_node(builder->tree, pair->b_node)->span, node_text(builder, pair->b_node));
        return operand_broken();
    }
    return operand_value(emit(builder, STEP_BINARY, SIGNAL_POWER, pair->a.step, pair->b.step, 0, span), measure);
}

static Operand operate(Builder *builder, const Pair *pair);

static Operand operate_several(Builder *builder, const Pair *pair) {
    builder->unfit = builder->unfit || pair->a.loose || pair->b.loose;
    bool left = pair->a.class == OPERAND_SEVERAL, right = pair->b.class == OPERAND_SEVERAL;
    Operand many = left ? pair->a : pair->b;
    bool missing = (left && pair->a.missing) || (right && pair->b.missing);
    if (left && right && !missing && pair->a.count != pair->b.count) return say_wrong_operands(builder, pair);
    uint32_t count = missing && many.count > 0 ? 1 : many.count;
    if (left && right && pair->b.count == 0) count = 0;
    Operand *all, result = several_of(builder, count, &all);
    result.missing = missing;
    if (missing) result.text = left && pair->a.missing ? pair->a.text : pair->b.text;
    for (uint32_t i = 0; i < count; i++) {
        Pair one = *pair;
        if (left) one.a = pair->a.several[i];
        if (right) one.b = pair->b.several[i];
        all[i] = operate(builder, &one);
        if (all[i].class == OPERAND_BROKEN) return all[i];
    }
    return result;
}

static Operand operate(Builder *builder, const Pair *pair) {
    Span span = tree_node(builder->tree, pair->node)->span;
    OperandClass a = pair->a.class, b = pair->b.class;
    if (a == OPERAND_BROKEN || b == OPERAND_BROKEN) return operand_broken();
    if (a == OPERAND_SEVERAL || b == OPERAND_SEVERAL) return operate_several(builder, pair);
    bool equality = pair->operation == OPERATOR_EQUAL || pair->operation == OPERATOR_UNEQUAL;
    if (pair->operation == OPERATOR_AND || pair->operation == OPERATOR_OR) {
        if (a != OPERAND_TRUTH || b != OPERAND_TRUTH) return say_wrong_operands(builder, pair);
        StepKind kind = pair->operation == OPERATOR_AND ? STEP_AND : STEP_OR;
        return operand_truth(emit(builder, kind, 0, pair->a.step, pair->b.step, 0, span));
    }
    if (a == OPERAND_VALUE && b == OPERAND_VALUE) {
        return pair->operation == OPERATOR_POWER ? operate_power(builder, pair) : operate_values(builder, pair);
    }
    if (equality && a == b && (a == OPERAND_TRUTH || (a == OPERAND_WORD && pair->a.choice == pair->b.choice))) {
        return compare(builder, pair);
    }
    if (equality && a == OPERAND_TEXT && b == OPERAND_TEXT) {
        if (pair->a.missing || pair->b.missing) {
            return operand_truth(emit_missing(builder, pair->a.missing ? pair->a.text : pair->b.text, span));
        }
        bool same = text_equal(pair->a.text, pair->b.text);
        return operand_truth(emit_constant(builder, same == (pair->operation == OPERATOR_EQUAL), span));
    }
    return say_wrong_operands(builder, pair);
}

/* `word in several`: whether one of them is that word; `several in several`: whether each is one of the others. */
static Operand operate_in(Builder *builder, const Pair *pair) {
    Span span = tree_node(builder->tree, pair->node)->span;
    if (pair->a.class == OPERAND_SEVERAL) {
        if (pair->a.missing) return operand_truth(emit_missing(builder, pair->a.text, span));
        StepId every = emit_constant(builder, 1, span);
        for (uint32_t i = 0; i < pair->a.count; i++) {
            Pair one = *pair;
            one.a = pair->a.several[i];
            Operand found = operate_in(builder, &one);
            if (found.class == OPERAND_BROKEN) return found;
            every = i == 0 ? found.step : emit(builder, STEP_AND, 0, every, found.step, 0, span);
        }
        return operand_truth(every);
    }
    if (pair->a.class == OPERAND_BROKEN || pair->b.class == OPERAND_BROKEN) return operand_broken();
    if (pair->b.class != OPERAND_SEVERAL) {
        Text parts[2] = {node_text(builder, pair->b_node), node_text(builder, pair->a_node)};
        Text advice = pair->b.class == OPERAND_WORD ? text_fill(builder->arena, TEXT("Right would be: {0} = {1}"), parts, 2)
                                                    : TEXT("Name a field that holds several words of a choice.");
        SAY(builder->messages, IN_NEEDS_SEVERAL, tree_node(builder->tree, pair->b_node)->span, node_text(builder, pair->b_node),
            operand_words(builder, pair->b), advice);
        return operand_broken();
    }
    if (pair->b.missing) return operand_truth(emit_missing(builder, pair->b.text, span));
    if (pair->b.count > 0 && pair->b.several[0].class == OPERAND_SEVERAL) { /* the words of each of several things */
        Operand *all, result = several_of(builder, pair->b.count, &all);
        for (uint32_t i = 0; i < pair->b.count; i++) {
            Pair one = *pair;
            one.b = pair->b.several[i];
            all[i] = operate_in(builder, &one);
            if (all[i].class == OPERAND_BROKEN) return all[i];
        }
        return result;
    }
    StepId any = emit_constant(builder, 0, span);
    for (uint32_t i = 0; i < pair->b.count; i++) {
        Pair one = *pair;
        one.operation = OPERATOR_EQUAL;
        one.b = pair->b.several[i];
        Operand same = operate(builder, &one);
        if (same.class == OPERAND_BROKEN) return same;
        any = i == 0 ? same.step : emit(builder, STEP_OR, 0, any, same.step, 0, span);
    }
    return operand_truth(any);
}

/* `x at t`: a signal at an instant, or a table at a key. */
static Operand operate_at(Builder *builder, const Pair *pair) {
    Span span = tree_node(builder->tree, pair->node)->span;
    Vocabulary *vocabulary = builder->model->vocabulary;
    if (pair->a.class == OPERAND_BROKEN || pair->b.class == OPERAND_BROKEN) return operand_broken();
    if (pair->b.class != OPERAND_VALUE || (pair->a.class != OPERAND_VALUE && pair->a.class != OPERAND_TABLE)) {
        SAY(builder->messages, AT_WHAT, span, node_text(builder, pair->a_node), operand_words(builder, pair->a));
        return operand_broken();
    }
    Measure due = pair->a.measure, ignored;
    if (pair->a.class == OPERAND_TABLE) due = pair->a.key;
    else {
        Dimension second = {{0}};
        second.sixths[DIMENSION_TIME] = 6;
        due = (Measure){.dimension = second};
    }
    Fit how = measure_meet(vocabulary, OPERATOR_EQUAL, pair->b.measure, due, &ignored);
    if (how != FIT_YES) {
        SAY(builder->messages, AT_KIND, tree_node(builder->tree, pair->b_node)->span, node_text(builder, pair->b_node),
            operand_words(builder, pair->b), measure_words(vocabulary, builder->arena, due),
            kind_example(vocabulary, builder->arena, kind_for(vocabulary, due), written_number(builder, pair->b_node)));
        return operand_broken();
    }
    if (pair->a.class == OPERAND_VALUE) {
        return operand_value(emit(builder, STEP_AT, 0, pair->a.step, pair->b.step, 0, span), pair->a.measure);
    }
    if (pair->a.missing) return operand_value(emit_missing(builder, pair->a.text, span), pair->a.measure);
    return operand_value(emit(builder, STEP_LOOK_UP, 0, pair->b.step, pair->a.index, 0, span), pair->a.measure);
}

static ChoiceId choice_of_operand(const Operand *operand) {
    while (operand->class == OPERAND_SEVERAL && operand->count > 0) operand = operand->several;
    return operand->class == OPERAND_WORD ? operand->choice : 0;
}

/* Words are known by the company they keep: in `mounting = housed` the field says of which choice `housed` is. */
static Operand compile_binary(Builder *builder, Scope scope, NodeId id) {
    const Node *node = tree_node(builder->tree, id);
    Pair pair = {.node = id, .a_node = node->a, .b_node = node->b, .operation = (Operator)node->op};
    const Node *a = tree_node(builder->tree, node->a), *b = tree_node(builder->tree, node->b);
    bool wordy = node->op == OPERATOR_EQUAL || node->op == OPERATOR_UNEQUAL || node->op == OPERATOR_IN;
    Type type = {.class = TYPE_CHOICE};
    if (wordy && a->kind == NODE_NAME && !name_is_known(builder, scope, a)) {
        pair.b = compile_inner(builder, scope, node->b, NULL);
        if (pair.b.class == OPERAND_BROKEN) return pair.b;
        type.choice = choice_of_operand(&pair.b);
        if (node->op == OPERATOR_IN && pair.b.class == OPERAND_SEVERAL && pair.b.missing) {
            return operand_truth(emit_missing(builder, pair.b.text, node->span));
        }
        pair.a = compile_inner(builder, scope, node->a, type.choice ? &type : NULL);
    } else {
        pair.a = compile_inner(builder, scope, node->a, NULL);
        type.choice = wordy && b->kind == NODE_NAME && !name_is_known(builder, scope, b) ? choice_of_operand(&pair.a) : 0;
        if (pair.a.class == OPERAND_BROKEN && wordy && b->kind == NODE_NAME) return pair.a;
        pair.b = compile_inner(builder, scope, node->b, type.choice ? &type : NULL);
    }
    if (node->op == OPERATOR_IN) return operate_in(builder, &pair);
    if (node->op == OPERATOR_AT) return operate_at(builder, &pair);
    return operate(builder, &pair);
}

static Operand operate_unary(Builder *builder, NodeId id, Operand a) {
    const Node *node = tree_node(builder->tree, id);
    if (a.class == OPERAND_BROKEN) return a;
    if (a.class == OPERAND_SEVERAL && !a.missing) {
        Operand *all, result = several_of(builder, a.count, &all);
        for (uint32_t i = 0; i < a.count; i++) {
            all[i] = operate_unary(builder, id, a.several[i]);
            if (all[i].class == OPERAND_BROKEN) return all[i];
        }
        return result;
    }
    if (node->op == OPERATOR_NOT && a.class == OPERAND_TRUTH) return operand_truth(emit(builder, STEP_NOT, 0, a.step, 0, 0, node->span));
    if (node->op == OPERATOR_NEGATE && a.class == OPERAND_VALUE && !a.measure.point) {
        return operand_value(emit(builder, STEP_UNARY, SIGNAL_NEGATE, a.step, 0, 0, node->span), a.measure);
    }
    if (a.class == OPERAND_SEVERAL) return a;
    SAY(builder->messages, UNARY_KIND, node->span, node_text(builder, node->a), operand_words(builder, a),
        node->op == OPERATOR_NOT ? TEXT("'not' takes a condition") : TEXT("cannot be negated"),
        node->op == OPERATOR_NOT                            ? TEXT("Right would be a comparison, or a field that is yes or no.")
        : a.class == OPERAND_VALUE && a.measure.point ? TEXT("Take a difference first, such as: 20 °C - ambient")
                                                            : (Text){0});
    return operand_broken();
}

static Operand compile_if(Builder *builder, Scope scope, NodeId id, const Type *expected) {
    const Node *node = tree_node(builder->tree, id);
    StepId condition = compile_truth(builder, scope, node->a);
    bool taken;
    if (condition != 0 && step_truth(builder, condition, &taken)) { /* the other side was checked with its form */
        return compile_inner(builder, scope, taken ? node->b : node->c, expected);
    }
    Operand yes = compile_inner(builder, scope, node->b, expected), no = compile_inner(builder, scope, node->c, expected);
    if (condition == 0 || yes.class == OPERAND_BROKEN || no.class == OPERAND_BROKEN) return operand_broken();
    bool steps = yes.class == no.class && (yes.class == OPERAND_TRUTH || (yes.class == OPERAND_WORD && yes.choice == no.choice));
    Measure measure = {0};
    if (yes.class == OPERAND_VALUE && no.class == OPERAND_VALUE) {
        Fit how = measure_meet(builder->model->vocabulary, OPERATOR_EQUAL, yes.measure, no.measure, &measure);
        if (how != FIT_YES) {
            SAY(builder->messages, BRANCHES_DIFFER, node->span, node_text(builder, node->b), operand_words(builder, yes),
                node_text(builder, node->c), operand_words(builder, no));
            return operand_broken();
        }
    } else if (!steps) {
        SAY(builder->messages, BRANCHES_DIFFER, node->span, node_text(builder, node->b), operand_words(builder, yes),
            node_text(builder, node->c), operand_words(builder, no));
        return operand_broken();
    }
    StepId step = emit(builder, STEP_CHOOSE, 0, condition, yes.step, no.step, node->span);
    if (yes.class == OPERAND_VALUE) return operand_value(step, measure);
    return yes.class == OPERAND_TRUTH ? operand_truth(step) : (Operand){.class = OPERAND_WORD, .step = step, .choice = yes.choice};
}

static Operand compile_chain(Builder *builder, Scope scope, NodeId id) {
    const Node *node = tree_node(builder->tree, id);
    Pair pair = {.node = id, .a_node = node->a, .b_node = node->b, .operation = OPERATOR_AND};
    pair.a = compile_inner(builder, scope, node->a, NULL);
    pair.b = compile_inner(builder, scope, node->b, NULL);
    return operate(builder, &pair);
}

static Operand compile_list(Builder *builder, Scope scope, NodeId id, const Type *expected) {
    const Node *node = tree_node(builder->tree, id);
    uint32_t count = 0, i = 0;
    for (NodeId item = node->a; item != 0; item = tree_node(builder->tree, item)->next) count++;
    Operand *all, result = several_of(builder, count, &all);
    for (NodeId item = node->a; item != 0; item = tree_node(builder->tree, item)->next) {
        all[i] = compile_inner(builder, scope, item, expected);
        if (all[i++].class == OPERAND_BROKEN) return operand_broken();
    }
    return result;
}

/* A form filled in where a value stands: a thing inside another. */
static Operand compile_filled(Builder *builder, Scope scope, NodeId id) {
    const Node *node = tree_node(builder->tree, id);
    if (scope.kind != SCOPE_FIELD || scope.object == 0) {
        SAY(builder->messages, FILLED_HERE, node->span, TEXT(""));
        return operand_broken();
    }
    FormId form = form_by_name(builder, node->a);
    if (form == 0) return operand_broken();
    Text path = object_slot_path(builder->program, builder->arena, scope.object, scope.slot);
    ObjectId object = object_open(builder, form, id, 0, path, scope.object);
    return (Operand){.class = OPERAND_OBJECT, .object = object, .form = form};
}

static Operand compile_node(Builder *builder, Scope scope, NodeId id, const Type *expected) {
    const Node *node = tree_node(builder->tree, id);
    switch ((NodeKind)node->kind) {
    case NODE_NUMBER: return compile_number(builder, id);
    case NODE_BOUNDED: return compile_bounded(builder, id);
    case NODE_NAME: return compile_name(builder, scope, id, expected);
    case NODE_MEMBER: return compile_member(builder, scope, id);
    case NODE_CALL: return compile_call(builder, scope, id);
    case NODE_UNARY: return operate_unary(builder, id, compile_inner(builder, scope, node->a, NULL));
    case NODE_BINARY: return compile_binary(builder, scope, id);
    case NODE_CHAIN: return compile_chain(builder, scope, id);
    case NODE_IF: return compile_if(builder, scope, id, expected);
    case NODE_TABLE: return compile_table(builder, id);
    case NODE_LIST: return compile_list(builder, scope, id, expected);
    case NODE_FILLED: return compile_filled(builder, scope, id);
    case NODE_ANY: return compile_any(builder, scope, id);
    case NODE_TEXT: return (Operand){.class = OPERAND_TEXT, .text = tree_text(builder->tree, builder->arena, id)};
    case NODE_TRUTH: return operand_truth(emit_constant(builder, node->op, node->span));
    default: return operand_broken();
    }
}

void say_too_deep(Builder *builder, Span span) {
    TextBuilder limit = text_builder(builder->arena);
    text_add_count(&limit, PLAN_CHAIN_LIMIT);
    if (!builder->too_deep) SAY(builder->messages, DEFINITION_TOO_DEEP, span, text_built(&limit));
    builder->too_deep = true;
}

static Operand compile_inner(Builder *builder, Scope scope, NodeId id, const Type *expected) {
    Operand operand = operand_broken();
    builder->target = (Target){0};
    if (++builder->depth > PLAN_DEPTH_LIMIT) say_too_deep(builder, tree_node(builder->tree, id)->span);
    else operand = compile_node(builder, scope, id, expected);
    builder->depth--;
    if (builder->program->request.explained) note_resolution(builder, id, operand);
    return operand;
}

Operand compile_expression(Builder *builder, Scope scope, NodeId node, const Type *expected) {
    return node == 0 ? operand_broken() : compile_inner(builder, scope, node, expected);
}

Operand compile_as(Builder *builder, Scope scope, NodeId node, Type type, Text name) {
    Type one = type;
    one.several = false;
    Operand operand = compile_expression(builder, scope, node, &one);
    return operand.class == OPERAND_BROKEN ? operand : fit(builder, operand, type, node, name);
}

StepId compile_truth(Builder *builder, Scope scope, NodeId node) {
    Operand operand = compile_expression(builder, scope, node, NULL);
    if (operand.class == OPERAND_TRUTH) return operand.step;
    if (operand.class != OPERAND_BROKEN) {
        SAY(builder->messages, NOT_A_CONDITION, tree_node(builder->tree, node)->span, node_text(builder, node), operand_words(builder, operand));
    }
    return 0;
}
