#include "text/csv.h"

#include <string.h>

typedef VECTOR(CsvField) FieldVector;

struct CsvReader {
    Arena *arena, *texts; /* for the fields, and for those whose quotes are undone */
    const char *bytes;
    size_t length, at;
    uint32_t base;
    FieldVector fields;
    CsvFault fault;
    Span fault_span;
};
typedef CsvReader Reader;

static Span span_of(const Reader *reader, size_t start, size_t end) {
    return (Span){reader->base + (uint32_t)start, reader->base + (uint32_t)end};
}

static bool at_line_end(const Reader *reader) {
    if (reader->at >= reader->length) return true;
    char c = reader->bytes[reader->at];
    return c == '\n' || (c == '\r' && reader->at + 1 < reader->length && reader->bytes[reader->at + 1] == '\n');
}

static void fail(Reader *reader, CsvFault fault, size_t start, size_t end) {
    reader->fault = fault;
    reader->fault_span = span_of(reader, start, end);
}

/* The bytes between the quotes; only where one is doubled, they are copied. */
static bool read_quoted(Reader *reader, CsvField *field) {
    size_t start = reader->at++;
    bool doubled = false;
    for (;;) {
        const char *quote = memchr(reader->bytes + reader->at, '"', reader->length - reader->at);
        if (quote == NULL) {
            fail(reader, CSV_UNCLOSED, start, start + 1);
            return false;
        }
        reader->at = (size_t)(quote - reader->bytes) + 1;
        if (reader->at >= reader->length || reader->bytes[reader->at] != '"') break;
        reader->at++;
        doubled = true;
    }
    field->text = (Text){reader->bytes + start + 1, reader->at - start - 2};
    field->span = span_of(reader, start, reader->at);
    if (doubled) {
        TextBuilder text = text_builder(reader->texts);
        for (size_t i = 0; i < field->text.length; i++) {
            text_add_char(&text, field->text.at[i]);
            if (field->text.at[i] == '"') i++;
        }
        field->text = text_built(&text);
    }
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

static bool read_record(Reader *reader, CsvRecord *record) {
    size_t start = reader->at;
    reader->fields.count = 0;
    for (;;) {
        CsvField field;
        bool quoted = reader->at < reader->length && reader->bytes[reader->at] == '"';
        if (!(quoted ? read_quoted(reader, &field) : read_bare(reader, &field))) return false;
        VECTOR_PUSH(reader->arena, &reader->fields, field);
        if (at_line_end(reader)) break;
        reader->at++; /* the comma */
    }
    *record = (CsvRecord){reader->fields.at, reader->fields.count, span_of(reader, start, reader->at)};
    if (reader->at < reader->length) reader->at += reader->bytes[reader->at] == '\r' ? 2 : 1;
    return true;
}

bool csv_is_empty(const CsvRecord *record) { return record->count == 1 && text_trim(record->fields[0].text).length == 0; }

static Reader reader_on(Arena *arena, Arena *texts, const Source *source) {
    Reader reader = {.arena = arena, .texts = texts, .bytes = source->bytes.at, .length = source->bytes.length, .base = source->base};
    if (text_starts(source->bytes, TEXT("\xEF\xBB\xBF"))) reader.at = 3;
    return reader;
}

Csv csv_read(Arena *arena, const Source *source) {
    Csv csv = {0};
    Reader reader = reader_on(arena, arena, source);
    CsvRecord record;
    while (reader.at < reader.length && read_record(&reader, &record)) {
        VECTOR_PUSH(arena, &csv.records, record);
        reader.fields = (FieldVector){0}; /* this record keeps them */
    }
    csv.fault = reader.fault;
    csv.fault_span = reader.fault_span;
    while (csv.records.count > 0 && csv_is_empty(&csv.records.at[csv.records.count - 1])) csv.records.count--; /* at the end */
    return csv;
}

Reader *csv_open(Arena *arena, Arena *scratch, const Source *source) {
    Reader *reader = ARENA_NEW(arena, Reader);
    *reader = reader_on(arena, scratch, source);
    return reader;
}

bool csv_next(Reader *reader, CsvRecord *record, CsvFault *fault, Span *fault_span) {
    arena_clear(reader->texts);
    *fault = CSV_FINE;
    if (reader->at >= reader->length) return false;
    if (read_record(reader, record)) return true;
    *fault = reader->fault;
    *fault_span = reader->fault_span;
    const char *end = memchr(reader->bytes + reader->at, '\n', reader->length - reader->at);
    reader->at = end ? (size_t)(end - reader->bytes) + 1 : reader->length;
    return false;
}

void csv_add(TextBuilder *out, Text field) {
    bool quoted = text_trim(field).length != field.length;
    for (size_t i = 0; i < field.length && !quoted; i++) quoted = field.at[i] == ',' || field.at[i] == '"' || field.at[i] == '\n' || field.at[i] == '\r';
    if (!quoted) {
        text_add(out, field);
        return;
    }
    text_add_char(out, '"');
    for (size_t i = 0; i < field.length; i++) {
        if (field.at[i] == '"') text_add_char(out, '"');
        text_add_char(out, field.at[i]);
    }
    text_add_char(out, '"');
}
