/* Measured values: what a file of evidence holds, for `measured` in the requirement it shows. */
#include <math.h>

#include <jansson.h>

#include "plan/data.h"
#include "syntax/number.h"
#include "text/utf8.h"

typedef struct Reading {
    double value; /* SI */
    Measure measure;
} Reading;

static Text option_text(Builder *builder, NodeId option) {
    return tree_text(builder->tree, builder->arena, tree_node(builder->tree, option)->a);
}

/* ---- CSV: one column, reduced ------------------------------------------------------------------------------------ */

/* Where HOW stands in `reading HOW "name"`. */
static Span word_span(Builder *builder, NodeId option, Text word) {
    Span span = tree_node(builder->tree, option)->span;
    Text text = source_text(builder->tree->sources, span);
    for (size_t i = 1; i + word.length <= text.length; i++) {
        if ((text.at[i - 1] != ' ' && text.at[i - 1] != '\t') || !text_starts(text_slice(text, i, text.length), word)) continue;
        return (Span){span.start + (uint32_t)i, span.start + (uint32_t)(i + word.length)};
    }
    return span;
}

static Span name_span(Builder *builder, NodeId option) { return tree_node(builder->tree, tree_node(builder->tree, option)->a)->span; }

static bool reduce_column(Builder *builder, NodeId option, const DataColumn *column, uint32_t rows, double *value) {
    Text how = symbol_text(builder->model->symbols, tree_node(builder->tree, option)->name);
    double least = INFINITY, most = -INFINITY, sum = 0;
    for (uint32_t i = 0; i < rows; i++) {
        least = fmin(least, column->values[i]);
        most = fmax(most, column->values[i]);
        sum += column->values[i];
    }
    if (text_is(how, "largest")) *value = most;
    else if (text_is(how, "smallest")) *value = least;
    else if (text_is(how, "mean")) *value = sum / rows;
    else if (text_is(how, "magnitude")) *value = fmax(fabs(least), fabs(most));
    else {
        SAY(builder->messages, READING_HOW, word_span(builder, option, how), how);
        return false;
    }
    return true;
}

static bool read_csv(Builder *builder, NodeId evidence, NodeId option, Source *source, Reading *reading) {
    DataTable table;
    Text wanted = option_text(builder, option);
    if (!data_parse(builder, source, evidence, wanted, &table)) return false;
    for (uint32_t i = 0; i < table.column_count; i++) {
        if (!text_equal(table.columns[i].name, wanted)) continue;
        reading->measure = table.columns[i].measure;
        return reduce_column(builder, option, &table.columns[i], table.row_count, &reading->value);
    }
    Nearest nearest = nearest_to(builder->model->symbols, symbol_of(builder->model->symbols, wanted));
    for (uint32_t i = 0; i < table.column_count; i++) nearest_try(&nearest, symbol_of(builder->model->symbols, table.columns[i].name));
    Text best = nearest_found(&nearest);
    SAY(builder->messages, READING_MISSING, name_span(builder, option), source->path, wanted,
        best.length ? text_fill(builder->arena, TEXT("Did you mean {0}?"), &best, 1) : TEXT("Name a column of its header, without the unit."));
    return false;
}

/* ---- JSON: one member, by its path ------------------------------------------------------------------------------- */

static const json_t *member_at(const json_t *value, Text path, Arena *arena) {
    size_t start = 0;
    for (size_t i = 0; i <= path.length && value != NULL; i++) {
        if (i < path.length && path.at[i] != '.') continue;
        value = json_object_get(value, text_zero_ended(arena, text_slice(path, start, i)));
        start = i + 1;
    }
    return value;
}

/* {"value": 0.21, "unit": "mm"}, or a bare number. */
static bool take_json(Builder *builder, const json_t *member, Span span, Reading *reading) {
    const json_t *number = json_is_object(member) ? json_object_get(member, "value") : member;
    const json_t *unit = json_is_object(member) ? json_object_get(member, "unit") : NULL;
    if (!json_is_number(number)) return false;
    reading->value = json_number_value(number);
    reading->measure = measure_number();
    if (!json_is_string(unit)) return unit == NULL && isfinite(reading->value);
    Text text = utf8_normal(builder->arena, text_copy(builder->arena, (Text){json_string_value(unit), json_string_length(unit)}));
    UnitId id = vocabulary_unit(builder->model->vocabulary, symbol_of(builder->model->symbols, text), span);
    if (id == 0) return false;
    const Unit *written = unit_of(builder->model->vocabulary, id);
    reading->value = reading->value * written->factor + written->zero;
    reading->measure = measure_of_unit(builder->model->vocabulary, id);
    return isfinite(reading->value);
}

static bool read_json(Builder *builder, NodeId option, const Source *source, Reading *reading) {
    json_error_t error;
    Span span = tree_node(builder->tree, option)->span;
    json_t *root = json_loadb(source->bytes.at, source->bytes.length, JSON_REJECT_DUPLICATES | JSON_DECODE_INT_AS_REAL, &error);
    if (root == NULL) {
        uint32_t at = source->base + (uint32_t)(error.position > 0 ? error.position - 1 : 0);
        SAY(builder->messages, DATA_TORN, ((Span){at, at + 1}), TEXT("this is not JSON"), TEXT("Save the file as JSON (RFC 8259) in UTF-8."));
        return false;
    }
    uint32_t before = builder->messages->errors;
    const json_t *member = member_at(root, option_text(builder, option), builder->arena);
    bool fine = member != NULL && take_json(builder, member, span, reading);
    if (!fine && builder->messages->errors == before) {
        SAY(builder->messages, READING_MISSING, name_span(builder, option), source->path, option_text(builder, option),
            TEXT("Name a member that is a number, or has a value and a unit; write the path with points: \"hatch.closed\"."));
    }
    json_decref(root);
    return fine;
}

/* ---- with its uncertainty ---------------------------------------------------------------------------------------- */

static bool uncertainty_of(Builder *builder, NodeId requirement, const Reading *reading, double *reach) {
    const Node *node = tree_node(builder->tree, requirement);
    NodeId option = tree_option(builder->tree, node->c, OPTION_WITHIN);
    Scope top = {SCOPE_TOP, 0, UINT32_MAX};
    Measure plain = reading->measure, ignored;
    *reach = 0;
    if (option == 0) return true;
    NodeId written = tree_node(builder->tree, option)->a;
    Operand operand = compile_expression(builder, top, written, NULL);
    plain.point = false;
    if (operand.class == OPERAND_BROKEN) return false;
    if (operand.class == OPERAND_VALUE && step_is_constant(builder, operand.step, reach) && *reach >= 0) {
        bool share = dimension_is_number(operand.measure.dimension) && !dimension_is_number(plain.dimension) && !reading->measure.point;
        if (share) *reach *= fabs(reading->value);
        if (share || measure_meet(builder->model->vocabulary, OPERATOR_EQUAL, plain, operand.measure, &ignored) == FIT_YES) return true;
    }
    SAY(builder->messages, READING_WITHIN, tree_node(builder->tree, written)->span, node_text(builder, written),
        measure_words(builder->model->vocabulary, builder->arena, plain));
    return false;
}

Operand compile_reading(Builder *builder, NodeId requirement) {
    const Node *node = tree_node(builder->tree, requirement);
    NodeId option = tree_option(builder->tree, node->c, OPTION_READING), file = tree_option(builder->tree, node->c, OPTION_EVIDENCE);
    Span span = tree_node(builder->tree, option)->span;
    Reading reading = {0};
    bool missing = false;
    double reach = 0;
    if (file == 0) {
        SAY(builder->messages, READING_WITHOUT_FILE, span, model_name(builder->model, node->name));
        return operand_broken();
    }
    NodeId evidence = tree_node(builder->tree, file)->a;
    Text path = tree_text(builder->tree, builder->arena, evidence);
    bool json = text_ends(path, TEXT(".json"));
    Source *source = data_open(builder, evidence, json ? ".json" : ".csv", &missing);
    if (missing) {
        Operand unread = operand_value(emit_missing(builder, path, span), measure_number());
        unread.missing = true;
        return unread;
    }
    if (source == NULL) return operand_broken();
    bool fine = json ? read_json(builder, option, source, &reading) : read_csv(builder, evidence, option, source, &reading);
    if (!fine || !uncertainty_of(builder, requirement, &reading, &reach)) return operand_broken();
    Constant constant = {reading.value, reading.value - reach, reading.value + reach};
    Operand operand = operand_value(emit_bounded(builder, constant, span), reading.measure);
    operand.measure.has_length = reading.measure.has_length;
    operand.measure.written = true; /* forgiven its angle like any written number */
    return operand;
}
