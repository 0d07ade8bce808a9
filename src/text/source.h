/* Source files and positions.
 *
 * Every byte of every file read in a session has one global 32-bit position. A Span is 8 bytes and needs no file
 * pointer; lines and columns are computed only when a message or a report asks. Position 0 is "nowhere".
 *
 * Owns: the Sources table, in the session's arena. */
#ifndef TRUNNION_TEXT_SOURCE_H
#define TRUNNION_TEXT_SOURCE_H

#include "base/text.h"
#include "base/vector.h"

typedef struct Span {
    uint32_t start, end; /* global; end is one past the last byte; both 0: nowhere */
} Span;

typedef VECTOR(Span) SpanVector;

typedef enum SourceOrigin {
    SOURCE_NAMED,   /* on the command line */
    SOURCE_USED,    /* brought in by `use` */
    SOURCE_STANDARD /* the standard library, inside the program */
} SourceOrigin;

/* What source_text needs to know of a table: where its rows begin, and the unit in the head of each column. */
typedef struct SourceTable {
    VECTOR(uint32_t) rows; /* global positions, rising */
    const Text *units;     /* by column; empty: none */
    const Text *tolerances; /* the same, of a tolerance: K where the unit is °C */
    uint32_t column_count;
} SourceTable;

typedef struct Source {
    Text path;  /* as shown to people; "stdlib/…" for the standard library */
    Text real;  /* resolved, for "loaded once" */
    Text bytes;
    uint32_t base; /* global position of the first byte; at least 1 */
    SourceOrigin origin;
    bool literate;     /* .trn.md */
    SpanVector blocks; /* program text: one span for each code block of a literate file, else one for all bytes */
    struct ProseLinks *links; /* what its prose links to by name, and what can be linked to; text/link.h; NULL: not read yet */
    SourceTable *table; /* of a table whose rows are parts; else NULL */
    uint32_t line_count;
    uint32_t *line_starts; /* offsets in `bytes`, built on first need by source_place */
} Source;

typedef struct Sources {
    Arena *arena;
    VECTOR(Source *) list;
    uint32_t next_base;
} Sources;

typedef struct Place {
    const Source *source;
    uint32_t line;   /* from 1 */
    uint32_t column; /* from 1, in display columns (wide letters count two, combining marks none) */
} Place;

Sources *sources_open(Arena *arena);
/* Adds a file. NULL when the global positions (4 GiB) are used up. `bytes` must outlive the sources. */
Source *source_add(Sources *sources, Text path, Text real, Text bytes, SourceOrigin origin);
/* From here on, nobody sees more of a source than these bytes of it: words of the command line that were read with others around
 * them. */
void source_narrow(Source *source, size_t start, size_t length);
/* The file that a global position lies in, or NULL. */
Source *source_of(const Sources *sources, uint32_t position);
Place source_place(const Sources *sources, uint32_t position);
/* The text of a span (empty when it is nowhere). In a table, numbers that leave their unit to the head of the column have it
 * behind them, so that it reads like a part card: "24 V". */
Text source_text(const Sources *sources, Span span);
/* Line number `line` (from 1) without its line end, and its global span. */
Text source_line(Source *source, uint32_t line, Span *span);
Span span_join(Span a, Span b); /* the smallest span that covers both; "nowhere" is neutral */

#endif
