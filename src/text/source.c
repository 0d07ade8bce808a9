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

/* ---- spans ---- */

Text source_text(const Sources *sources, Span span) {
    const Source *source = source_of(sources, span.start);
    if (!source || span.end <= span.start) return (Text){NULL, 0};
    return text_slice(source->bytes, span.start - source->base, span.end - source->base);
}

static bool is_nowhere(Span span) { return span.start == 0 && span.end == 0; }

Span span_join(Span a, Span b) {
    if (is_nowhere(a)) return b;
    if (is_nowhere(b)) return a;
    return (Span){a.start < b.start ? a.start : b.start, a.end > b.end ? a.end : b.end};
}
