#include "text/literate.h"

#include <string.h>

#include "text/commonmark.h"
#include "text/link.h"

/* cmark strips the indentation of containers and expands tabs, so it is only asked for line numbers: where a block opens
 * and how many lines it holds. Its lines end with LF, CR LF or CR. */

/* ---- blocks ---- */

typedef struct Split {
    Arena *arena;
    Source *source;
    size_t line; /* from 1; the cursor only moves forward */
    size_t at;   /* offset of its start */
    LiterateFault fault;
    Span fault_span;
    /* A block whose closing fence was seen, unless the next block turns out to open with that fence. */
    size_t doubtful_line;
    Span doubtful_span;
} Split;

static void move_to_line(Split *split, size_t line) {
    while (split->line < line && split->at < split->source->bytes.length) {
        split->at = commonmark_next_line(split->source->bytes, split->at);
        split->line++;
    }
}

static void report(Split *split, LiterateFault fault, Span span) {
    if (split->fault != LITERATE_FINE) return;
    split->fault = fault;
    split->fault_span = span;
}

static Span span_of(const Split *split, size_t start, size_t end) {
    return (Span){split->source->base + (uint32_t)start, split->source->base + (uint32_t)end};
}

/* The opening fence, with its info string. cmark's column is only a hint: it counts some bytes otherwise. */
static Span opening_span(const Split *split, char mark) {
    Text bytes = split->source->bytes;
    Text line = text_slice(bytes, split->at, commonmark_next_line(bytes, split->at));
    const char fence[3] = {mark, mark, mark};
    size_t start = 0;
    while (start < line.length && !text_starts(text_slice(line, start, line.length), (Text){fence, 3})) start++;
    if (start == line.length) start = 0;
    size_t length = text_trim(text_slice(line, start, line.length)).length;
    return span_of(split, split->at + start, split->at + start + length);
}

static bool is_closing_fence(Text line, char mark, int least) {
    line = text_trim(line);
    for (size_t i = 0; i < line.length; i++)
        if (line.at[i] != mark) return false;
    return line.length >= (size_t)least;
}

static size_t count_lines(const char *literal) {
    size_t count = 0;
    while ((literal = strchr(literal, '\n'))) {
        count++;
        literal++;
    }
    return count;
}

static bool is_quoted(cmark_node *node) {
    while ((node = cmark_node_parent(node)))
        if (cmark_node_get_type(node) == CMARK_NODE_BLOCK_QUOTE) return true;
    return false;
}

/* Where a line of the block is the opening fence of another: the block was not closed before it. */
static size_t fence_inside(Text bytes, size_t start, size_t end, char mark, int least) {
    for (; start < end; start = commonmark_next_line(bytes, start)) {
        Text line = text_slice(bytes, start, commonmark_next_line(bytes, start));
        size_t indent = 0, length = 0;
        while (indent < line.length && line.at[indent] == ' ') indent++;
        while (indent + length < line.length && line.at[indent + length] == mark) length++;
        if (indent < 4 && length >= (size_t)least) return start;
    }
    return end;
}

static void take_program(Split *split, cmark_node *node, char mark, int fence_length) {
    size_t line = (size_t)cmark_node_get_start_line(node), lines = count_lines(cmark_node_get_literal(node));
    Text bytes = split->source->bytes;
    move_to_line(split, line);
    Span opening = opening_span(split, mark);
    if (is_quoted(node)) {
        report(split, LITERATE_QUOTED, opening);
        return;
    }
    move_to_line(split, line + 1);
    size_t start = split->at;
    move_to_line(split, line + 1 + lines);
    size_t end = fence_inside(bytes, start, split->at, mark, fence_length);
    VECTOR_PUSH(split->arena, &split->source->blocks, span_of(split, start, end));
    if (end < split->at) report(split, LITERATE_UNCLOSED, opening);
    Text closing = text_slice(bytes, split->at, commonmark_next_line(bytes, split->at));
    if (!is_closing_fence(closing, mark, fence_length)) {
        report(split, LITERATE_UNCLOSED, opening);
        return;
    }
    split->doubtful_line = line + 1 + lines;
    split->doubtful_span = opening;
}

static void take_code(Split *split, cmark_node *node) {
    int fence_length, fence_offset;
    char mark;
    if (!cmark_node_get_fenced(node, &fence_length, &fence_offset, &mark)) return;
    /* In a list, the block ends with its item; then what looks like its closing fence opens another block. */
    if (split->doubtful_line && split->doubtful_line == (size_t)cmark_node_get_start_line(node))
        report(split, LITERATE_UNCLOSED, split->doubtful_span);
    split->doubtful_line = 0;
    if (commonmark_is_program(node)) take_program(split, node, mark, fence_length);
}

static bool holds_blocks(cmark_node *node) {
    cmark_node_type type = cmark_node_get_type(node);
    return type == CMARK_NODE_DOCUMENT || type == CMARK_NODE_BLOCK_QUOTE || type == CMARK_NODE_LIST ||
           type == CMARK_NODE_ITEM;
}

/* The block after `node` in the order of the document, without a look into paragraphs. */
static cmark_node *next_block(cmark_node *node) {
    if (holds_blocks(node)) {
        cmark_node *child = cmark_node_first_child(node);
        if (child) return child;
    }
    while (node && !cmark_node_next(node)) node = cmark_node_parent(node);
    return node ? cmark_node_next(node) : NULL;
}

LiterateFault literate_split(Arena *arena, Source *source, Span *fault_span) {
    Split split = {.arena = arena, .source = source, .line = 1, .fault = LITERATE_FINE};
    source->blocks.count = 0;
    cmark_node *document = commonmark_parse(arena, source->bytes, CMARK_OPT_DEFAULT);
    for (cmark_node *node = document; node; node = next_block(node))
        if (cmark_node_get_type(node) == CMARK_NODE_CODE_BLOCK) take_code(&split, node);
    link_collect(arena, source, document);
    cmark_node_free(document);
    *fault_span = split.fault_span;
    return split.fault;
}
