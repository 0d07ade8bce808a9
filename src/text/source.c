#include "text/source.h"

#include <string.h>

#include "text/utf8.h"

Sources *sources_open(Arena *arena) {
    Sources *sources = ARENA_NEW(arena, Sources);
    sources->arena = arena;
    sources->next_base = 1;
    return sources;
}

/* A file takes one position more than it has bytes, so that its end is a place too. */
Source *source_add(Sources *sources, Text path, Text real, Text bytes, SourceOrigin origin) {
    if (bytes.length >= (size_t)(UINT32_MAX - sources->next_base)) return NULL;
    Source *source = ARENA_NEW(sources->arena, Source);
    source->path = path;
    source->real = real;
    source->bytes = bytes;
    source->base = sources->next_base;
    source->origin = origin;
    source->literate = text_ends(path, TEXT(".trn.md"));
    sources->next_base += (uint32_t)bytes.length + 1;
    if (!source->literate) {
        Span all = {source->base, source->base + (uint32_t)bytes.length};
        VECTOR_PUSH(sources->arena, &source->blocks, all);
    }
    VECTOR_PUSH(sources->arena, &sources->list, source);
    return source;
}

void source_narrow(Source *source, size_t start, size_t length) {
    source->bytes = text_slice(source->bytes, start, start + length);
    source->base += (uint32_t)start;
    if (source->blocks.count > 0) source->blocks.at[0] = (Span){source->base, source->base + (uint32_t)source->bytes.length};
    source->line_starts = NULL;
}

Source *source_of(const Sources *sources, uint32_t position) {
    uint32_t low = 0, high = sources->list.count; /* the first source that begins after the position */
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (sources->list.at[middle]->base <= position)
            low = middle + 1;
        else
            high = middle;
    }
    if (low == 0) return NULL;
    Source *source = sources->list.at[low - 1];
    return position - source->base <= source->bytes.length ? source : NULL;
}

/* ---- lines ---- */

/* The offset after the line that holds `offset`, or `otherwise` when it is the last. */
static size_t next_line(Text bytes, size_t offset, size_t otherwise) {
    if (offset >= bytes.length) return otherwise;
    const char *end = memchr(bytes.at + offset, '\n', bytes.length - offset);
    return end ? (size_t)(end - bytes.at) + 1 : otherwise;
}

static void find_lines(Arena *arena, Source *source) {
    uint32_t count = 1;
    for (size_t at = 0; (at = next_line(source->bytes, at, SIZE_MAX)) != SIZE_MAX;) count++;
    uint32_t *starts = ARENA_ARRAY(arena, uint32_t, count);
    size_t at = 0;
    for (uint32_t i = 1; i < count; i++) {
        at = next_line(source->bytes, at, 0);
        starts[i] = (uint32_t)at;
    }
    source->line_starts = starts;
    source->line_count = count;
}

/* The line (from 0) that holds an offset. */
static uint32_t line_at(const Source *source, uint32_t offset) {
    uint32_t low = 0, high = source->line_count;
    while (high - low > 1) {
        uint32_t middle = low + (high - low) / 2;
        if (source->line_starts[middle] <= offset)
            low = middle;
        else
            high = middle;
    }
    return low;
}

Place source_place(const Sources *sources, uint32_t position) {
    Source *source = source_of(sources, position);
    if (!source) return (Place){NULL, 0, 0};
    if (!source->line_starts) find_lines(sources->arena, source);
    uint32_t offset = position - source->base, line = line_at(source, offset);
    uint32_t before = utf8_columns(text_slice(source->bytes, source->line_starts[line], offset));
    return (Place){source, line + 1, before + 1};
}

/* Start of a line (from 0) by walking, for when nobody has asked for a place yet; SIZE_MAX beyond the last. */
static size_t walk_to_line(Text bytes, uint32_t line) {
    size_t at = 0;
    while (line-- && at != SIZE_MAX) at = next_line(bytes, at, SIZE_MAX);
    return at;
}

Text source_line(Source *source, uint32_t line, Span *span) {
    *span = (Span){0, 0};
    if (line == 0) return (Text){NULL, 0};
    size_t start;
    if (source->line_starts)
        start = line <= source->line_count ? source->line_starts[line - 1] : SIZE_MAX;
    else
        start = walk_to_line(source->bytes, line - 1);
    if (start == SIZE_MAX) return (Text){NULL, 0};
    size_t end = next_line(source->bytes, start, source->bytes.length);
    if (end > start && source->bytes.at[end - 1] == '\n') end--;
    if (end > start && source->bytes.at[end - 1] == '\r') end--;
    *span = (Span){source->base + (uint32_t)start, source->base + (uint32_t)end};
    return text_slice(source->bytes, start, end);
}

/* ---- tables ---- */

/* The column of a table that a position lies in; its count of columns when there is none. */
static uint32_t column_at(const Source *source, uint32_t position) {
    const SourceTable *table = source->table;
    uint32_t low = 0, high = table->rows.count, column = 0;
    if (high == 0 || position < table->rows.at[0]) return table->column_count;
    while (high - low > 1) {
        uint32_t middle = low + (high - low) / 2;
        if (table->rows.at[middle] <= position) low = middle;
        else high = middle;
    }
    bool quoted = false;
    for (uint32_t at = table->rows.at[low]; at < position; at++) {
        char c = source->bytes.at[at - source->base];
        if (c == '"') quoted = !quoted;
        if (c == ',' && !quoted) column++;
    }
    return column < table->column_count ? column : table->column_count;
}

static bool is_digit(char c) { return c >= '0' && c <= '9'; }

/* Whether a number that ends here goes without a unit: what follows is the end, a tolerance, or another number. */
static bool is_bare(Text rest) {
    rest = text_trim(rest);
    if (rest.length == 0 || text_starts(rest, TEXT("±")) || text_starts(rest, TEXT("+")) || rest.at[0] == ',') return true;
    return text_starts(rest, TEXT("to ")) || text_starts(rest, TEXT("nominal "));
}

/* Only numbers, with their bounds and in lists, take the unit of a column: 8.2 ± 8 %, 20 to 28, 3, 4, 5. */
static Text with_units(Arena *arena, Text text, Text unit, Text tolerance) {
    size_t i = 0;
    bool bounds = false;
    if (unit.length == 0 || text.length == 0 || !(is_digit(text.at[0]) || text.at[0] == '-' || text.at[0] == '+')) return text;
    TextBuilder out = text_builder(arena);
    while (i < text.length) {
        bool number = is_digit(text.at[i]) && (i == 0 || strchr(" +-\t,", text.at[i - 1]) != NULL || (unsigned char)text.at[i - 1] >= 0x80);
        if (!number) {
            bounds = text.at[i] != ',' && (bounds || text_starts(text_slice(text, i, text.length), TEXT("±")) || (text.at[i] == '+' && i > 0));
            text_add_char(&out, text.at[i++]);
            continue;
        }
        size_t end = i;
        while (end < text.length && (is_digit(text.at[end]) || text.at[end] == '.' || (text.at[end] | 32) == 'e' ||
                                     text.at[end] == '/' || ((text.at[end] == '-' || text.at[end] == '+') && strchr("eE/", text.at[end - 1])))) end++;
        text_add(&out, text_slice(text, i, end));
        if (is_bare(text_slice(text, end, text.length))) {
            text_add_char(&out, ' ');
            text_add(&out, bounds ? tolerance : unit);
        }
        i = end;
    }
    return text_built(&out);
}

/* ---- spans ---- */

Text source_text(const Sources *sources, Span span) {
    const Source *source = source_of(sources, span.start);
    if (!source || span.end <= span.start) return (Text){NULL, 0};
    Text text = text_slice(source->bytes, span.start - source->base, span.end - source->base);
    if (source->table == NULL) return text;
    uint32_t column = column_at(source, span.start);
    if (column == source->table->column_count) return text;
    return with_units(sources->arena, text, source->table->units[column], source->table->tolerances[column]);
}

static bool is_nowhere(Span span) { return span.start == 0 && span.end == 0; }

Span span_join(Span a, Span b) {
    if (is_nowhere(a)) return b;
    if (is_nowhere(b)) return a;
    return (Span){a.start < b.start ? a.start : b.start, a.end > b.end ? a.end : b.end};
}
