#include "plan/data.h"

#include <math.h>

#include "syntax/number.h"
#include "text/csv.h"
#include "text/utf8.h"

static bool is_number(Text text) {
    size_t i = 0, digits = 0;
    if (i < text.length && (text.at[i] == '-' || text.at[i] == '+')) i++;
    for (; i < text.length && text.at[i] >= '0' && text.at[i] <= '9'; i++) digits++;
    if (i < text.length && text.at[i] == '.') {
        for (i++; i < text.length && text.at[i] >= '0' && text.at[i] <= '9'; i++) digits++;
    }
    if (digits == 0) return false;
    if (i < text.length && (text.at[i] == 'e' || text.at[i] == 'E')) {
        i++;
        if (i < text.length && (text.at[i] == '-' || text.at[i] == '+')) i++;
        size_t exponent = i;
        while (i < text.length && text.at[i] >= '0' && text.at[i] <= '9') i++;
        if (exponent == i) return false;
    }
    return i == text.length;
}

static double read_signed(Text text) {
    bool minus = text.at[0] == '-', sign = minus || text.at[0] == '+';
    double number = number_read(text_slice(text, sign ? 1 : 0, text.length));
    return minus ? -number : number;
}

static bool is_wanted(const DataColumn *column, Text only) { return only.length == 0 || text_equal(column->name, only); }

static bool read_header(Builder *builder, const CsvRecord *record, Text only, DataTable *table) {
    bool fine = true;
    table->column_count = record->count;
    table->columns = ARENA_ARRAY(builder->arena, DataColumn, record->count);
    for (uint32_t i = 0; i < record->count; i++) {
        DataColumn *column = &table->columns[i];
        Text text = text_trim(record->fields[i].text);
        column->span = record->fields[i].span;
        size_t open = 0;
        while (open < text.length && text.at[open] != '[') open++;
        column->name = text_trim(text_slice(text, 0, open));
        if (!is_wanted(column, only)) continue;
        if (column->name.length == 0 || (open < text.length && text.at[text.length - 1] != ']')) {
            SAY(builder->messages, DATA_HEADER, column->span, text);
            fine = false;
            continue;
        }
        Text unit = open < text.length ? text_trim(text_slice(text, open + 1, text.length - 1)) : (Text){0};
        if (unit.length > 0) {
            Symbol symbol = symbol_of(builder->model->symbols, utf8_normal(builder->arena, unit));
            column->unit = vocabulary_unit(builder->model->vocabulary, symbol, column->span);
            fine = fine && column->unit != 0;
        }
        column->measure = measure_of_unit(builder->model->vocabulary, column->unit);
    }
    return fine;
}

static bool read_cell(Builder *builder, const CsvField *field, DataColumn *column, uint32_t row) {
    Text text = text_trim(field->text);
    if (text.length == 0 || !is_number(text)) {
        SAY(builder->messages, DATA_NUMBER, field->span, column->name,
            text.length ? text_fill(builder->arena, TEXT("{0} is none"), &text, 1) : TEXT("this field is empty"));
        return false;
    }
    double number = read_signed(text);
    const Unit *unit = column->unit ? unit_of(builder->model->vocabulary, column->unit) : NULL;
    column->values[row] = unit ? number * unit->factor + unit->zero : number;
    column->spans[row] = field->span;
    if (isfinite(column->values[row])) return true;
    SAY(builder->messages, NUMBER_RANGE, field->span, text);
    return false;
}

static bool read_rows(Builder *builder, const Csv *csv, Text only, DataTable *table) {
    bool fine = true;
    table->row_count = csv->records.count - 1;
    for (uint32_t c = 0; c < table->column_count; c++) {
        table->columns[c].values = ARENA_ARRAY(builder->arena, double, table->row_count);
        table->columns[c].spans = ARENA_ARRAY(builder->arena, Span, table->row_count);
    }
    for (uint32_t r = 0; r < table->row_count; r++) {
        const CsvRecord *record = &csv->records.at[r + 1];
        if (record->count != table->column_count) {
            TextBuilder due = text_builder(builder->arena), is = text_builder(builder->arena);
            text_add_count(&due, table->column_count);
            text_add_count(&is, record->count);
            text_add_string(&is, record->count == 1 ? " field" : " fields");
            SAY(builder->messages, DATA_WIDTH, record->span, text_built(&is), text_built(&due));
            fine = false;
            continue;
        }
        for (uint32_t c = 0; c < table->column_count; c++) {
            if (is_wanted(&table->columns[c], only)) fine = read_cell(builder, &record->fields[c], &table->columns[c], r) && fine;
        }
    }
    return fine;
}

Source *data_open(Builder *builder, NodeId text_node, const char *ending, bool *missing) {
    Span span = tree_node(builder->tree, text_node)->span;
    Text wanted = tree_text(builder->tree, builder->arena, text_node), tidy, real, root, bytes;
    const Source *asking = source_of(builder->tree->sources, span.start);
    if (missing != NULL) *missing = false;
    if (!text_ends(wanted, text_from(ending)) || wanted.at[0] == '/' || !path_tidy(builder->arena, wanted, &tidy)) {
        SAY(builder->messages, DATA_PATH, span, wanted, text_from(ending));
        return NULL;
    }
    Text folder = path_folder(asking->path), path = path_join(builder->arena, folder, tidy);
    const World *world = builder->world;
    WorldResult result = asking->origin == SOURCE_STANDARD ? WORLD_MISSING : world->resolve(world->context, builder->arena, path, &real);
    if (result == WORLD_OK && world->resolve(world->context, builder->arena, folder, &root) == WORLD_OK && !path_inside(real, root)) {
        SAY(builder->messages, DATA_PATH, span, wanted, text_from(ending));
        return NULL;
    }
    if (result == WORLD_OK) result = world->read(world->context, builder->sources->arena, path, &bytes);
    if (result == WORLD_MISSING && missing != NULL) {
        *missing = true;
        return NULL;
    }
    if (result != WORLD_OK) {
        SAY(builder->messages, DATA_MISSING, span, path, world_reason(result));
        return NULL;
    }
    /* The source lives as long as the table of sources, which may be longer than a plan. */
    Arena *arena = builder->sources->arena;
    return source_add(builder->sources, text_copy(arena, path), text_copy(arena, real), bytes, SOURCE_USED);
}

bool data_parse(Builder *builder, Source *source, NodeId text_node, Text only, DataTable *table) {
    const Text csv_advice = TEXT("Save the file as comma-separated values (RFC 4180) in UTF-8.");
    size_t offset = 0, length = 0;
    if (utf8_check(source->bytes, &offset, &length) != UTF8_FINE) {
        uint32_t at = source->base + (uint32_t)offset;
        SAY(builder->messages, DATA_TORN, ((Span){at, at + (uint32_t)length}), TEXT("these bytes are not UTF-8, or turn the text around"), csv_advice);
        return false;
    }
    Csv csv = csv_read(builder->arena, source);
    if (csv.fault != CSV_FINE) {
        SAY(builder->messages, DATA_TORN, csv.fault_span,
            csv.fault == CSV_UNCLOSED ? TEXT("this quoted field never ends") : TEXT("a quote stands where none can"), csv_advice);
        return false;
    }
    if (csv.records.count < 2 || csv.records.count > DATA_ROW_LIMIT || csv.records.at[0].count > DATA_COLUMN_LIMIT) {
        SAY(builder->messages, DATA_SIZE, tree_node(builder->tree, text_node)->span, source->path);
        return false;
    }
    return read_header(builder, &csv.records.at[0], only, table) && read_rows(builder, &csv, only, table);
}

bool data_read(Builder *builder, NodeId text_node, DataTable *table) {
    Source *source = data_open(builder, text_node, ".csv", NULL);
    return source != NULL && data_parse(builder, source, text_node, (Text){0}, table);
}
