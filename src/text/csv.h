/* Comma-separated values as RFC 4180 has them: fields in quotes may hold commas, quotes (doubled) and line ends; records end
 * with LF or CRLF. A byte-order mark at the beginning is passed over, and so are empty lines at the end.
 *
 * Owns: the records, in the arena passed. Unquoted fields are views into the source's bytes. */
#ifndef TRUNNION_TEXT_CSV_H
#define TRUNNION_TEXT_CSV_H

#include "text/source.h"

typedef struct CsvField {
    Text text; /* quotes off, doubled quotes undone, white space kept */
    Span span; /* global, quotes included */
} CsvField;

typedef struct CsvRecord {
    CsvField *fields;
    uint32_t count;
    Span span;
} CsvRecord;

typedef enum CsvFault {
    CSV_FINE,
    CSV_UNCLOSED, /* a quoted field that never ends */
    CSV_QUOTE     /* something other than a comma or line end after a closing quote, or a quote inside a bare field */
} CsvFault;

typedef struct Csv {
    VECTOR(CsvRecord) records;
    CsvFault fault;  /* the first; what came before it is kept */
    Span fault_span;
} Csv;

/* Writes one field, in quotes where it needs them; white space at its ends does, since not every reader keeps it. */
void csv_add(TextBuilder *out, Text field);
/* One field without anything in it. */
bool csv_is_empty(const CsvRecord *record);
Csv csv_read(Arena *arena, const Source *source);

/* Record by record, for large tables: what one holds is good until the next is read. `scratch` is cleared for each. */
typedef struct CsvReader CsvReader;
CsvReader *csv_open(Arena *arena, Arena *scratch, const Source *source);
/* False at the end, or at a fault: then *fault says which, and where. After CSV_QUOTE, reading can go on with the next line. */
bool csv_next(CsvReader *reader, CsvRecord *record, CsvFault *fault, Span *fault_span);

#endif
