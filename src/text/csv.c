#include "text/csv.h"

typedef VECTOR(CsvField) FieldVector;

typedef struct Reader {
    Arena *arena;
    const char *bytes;
    size_t length, at;
    uint32_t base;
    Csv *csv;
} Reader;

static Span span_of(const Reader *reader, size_t start, size_t end) {
    return (Span){reader->base + (uint32_t)start, reader->base + (uint32_t)end};
}

static bool at_line_end(const Reader *reader) {
    if (reader->at >= reader->length) return true;
    char c = reader->bytes[reader->at];
    return c == '\n' || (c == '\r' && reader->at + 1 < reader->length && reader->bytes[reader->at + 1] == '\n');
}

static void fail(Reader *reader, CsvFault fault, size_t start, size_t end) {
    reader->csv->fault = fault;
    reader->csv->fault_span = span_of(reader, start, end);
}

static bool read_quoted(Reader *reader, CsvField *field) {
    size_t start = reader->at++;
    TextBuilder text = text_builder(reader->arena);
    for (;;) {
        if (reader->at >= reader->length) {
            fail(reader, CSV_UNCLOSED, start, start + 1);
            return false;
        }
        char c = reader->bytes[reader->at++];
        if (c != '"') {
            text_add_char(&text, c);
        } else if (reader->at < reader->length && reader->bytes[reader->at] == '"') {
            text_add_char(&text, '"');
            reader->at++;
        } else break;
    }
    field->text = text_built(&text);
    field->span = span_of(reader, start, reader->at);
    if (at_line_end(reader) || reader->bytes[reader->at] == ',') return true;
    fail(reader, CSV_QUOTE, reader->at, reader->at + 1);
    return false;
}

static bool read_bare(Reader *reader, CsvField *field) {
    size_t start = reader->at;
    while (!at_line_end(reader) && reader->bytes[reader->at] != ',') {
        if (reader->bytes[reader->at] == '"') {
            fail(reader, CSV_QUOTE, reader->at, reader->at + 1);
            return false;
        }
        reader->at++;
    }
    field->text = (Text){reader->bytes + start, reader->at - start};
    field->span = span_of(reader, start, reader->at);
    return true;
}

static bool read_record(Reader *reader) {
    FieldVector fields = {0};
    size_t start = reader->at;
    for (;;) {
        CsvField field;
        bool quoted = reader->at < reader->length && reader->bytes[reader->at] == '"';
        if (!(quoted ? read_quoted(reader, &field) : read_bare(reader, &field))) return false;
        VECTOR_PUSH(reader->arena, &fields, field);
        if (at_line_end(reader)) break;
        reader->at++; /* the comma */
    }
    CsvRecord record = {fields.at, fields.count, span_of(reader, start, reader->at)};
    VECTOR_PUSH(reader->arena, &reader->csv->records, record);
    if (reader->at < reader->length) reader->at += reader->bytes[reader->at] == '\r' ? 2 : 1;
    return true;
}

Csv csv_read(Arena *arena, const Source *source) {
    Csv csv = {0};
    Reader reader = {arena, source->bytes.at, source->bytes.length, 0, source->base, &csv};
    if (text_starts(source->bytes, TEXT("\xEF\xBB\xBF"))) reader.at = 3;
    while (reader.at < reader.length && read_record(&reader)) continue;
    while (csv.records.count > 0) { /* empty lines at the end */
        const CsvRecord *last = &csv.records.at[csv.records.count - 1];
        if (last->count != 1 || text_trim(last->fields[0].text).length > 0) break;
        csv.records.count--;
    }
    return csv;
}
