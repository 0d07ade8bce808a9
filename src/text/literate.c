#include "text/literate.h"

#include <cmark-gfm-core-extensions.h>
#include <cmark-gfm.h>
#include <string.h>

/* cmark strips the indentation of containers and expands tabs, so it is only asked for line numbers: where a block opens
 * and how many lines it holds. Its lines end with LF, CR LF or CR. */

static bool is_line_end(char c) { return c == '\n' || c == '\r'; }

static size_t next_line(Text bytes, size_t at) {
    while (at < bytes.length && !is_line_end(bytes.at[at])) at++;
    if (at < bytes.length) at += bytes.at[at] == '\r' && at + 1 < bytes.length && bytes.at[at + 1] == '\n' ? 2 : 1;
    return at;
}

/* ---- documents no person wrote ----
 *
 * cmark takes a time that grows with the square of the size for containers nested without end, and for tables of
 * very many columns. Neither occurs in a document a person wrote, so there we look away before it hurts. */

enum {
    NESTING_COLUMNS = 100,      /* container marks and indentation at the start of a line, when there is too much */
    NESTING_WORK = 10000000,    /* what is too much: longest such start, times lines */
    TABLE_LINES = 256,          /* longest run of lines without a blank one, for tables */
    TABLE_CELLS = 500000        /* most bars in a line, times lines */
};

typedef struct Shape {
    size_t lines, longest_start, most_bars, longest_run;
} Shape;

/* How many bytes at the start of a line can be indentation and the marks of lists and quotes. */
static size_t start_length(Text line) {
    size_t at = 0;
    while (at < line.length && line.at[at] && strchr(" \t->*+.)0123456789", line.at[at])) at++;
    return at;
}

static Shape shape_of(Text bytes) {
    Shape shape = {0, 0, 0, 0};
    size_t run = 0;
    for (size_t at = 0; at < bytes.length;) {
        size_t end = next_line(bytes, at), bars = 0;
        Text line = text_slice(bytes, at, end);
        for (size_t i = 0; i < line.length; i++) bars += line.at[i] == '|';
        size_t start = start_length(line);
        run = text_trim(line).length ? run + 1 : 0;
        shape.lines++;
        if (start > shape.longest_start) shape.longest_start = start;
        if (bars > shape.most_bars) shape.most_bars = bars;
        if (run > shape.longest_run) shape.longest_run = run;
        at = end;
    }
    return shape;
}

/* A copy in which no line opens more containers than fit into NESTING_COLUMNS. Lines stay where they are. */
static Text without_deep_nesting(Arena *arena, Text bytes) {
    Text copy = text_copy(arena, bytes);
    char *at = (char *)(uintptr_t)copy.at; /* our own copy */
    for (size_t start = 0; start < copy.length;) {
        size_t end = next_line(copy, start);
        if (start_length(text_slice(copy, start, end)) > NESTING_COLUMNS) at[start + NESTING_COLUMNS] = 'x';
        start = end;
    }
    return copy;
}

static cmark_node *document_of(Arena *arena, Text bytes) {
    Shape shape = shape_of(bytes);
    if (shape.longest_start * shape.lines > NESTING_WORK) bytes = without_deep_nesting(arena, bytes);
    cmark_gfm_core_extensions_ensure_registered();
    cmark_parser *parser = cmark_parser_new(CMARK_OPT_DEFAULT);
    if (shape.longest_run <= TABLE_LINES && shape.most_bars * shape.lines <= TABLE_CELLS)
        cmark_parser_attach_syntax_extension(parser, cmark_find_syntax_extension("table"));
    cmark_parser_feed(parser, bytes.at, bytes.length);
    cmark_node *document = cmark_parser_finish(parser);
    cmark_parser_free(parser);
    return document;
}

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
        split->at = next_line(split->source->bytes, split->at);
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
    Text line = text_slice(bytes, split->at, next_line(bytes, split->at));
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

static bool is_program(const char *info) {
    static const char word[] = "trunnion";
    const size_t length = sizeof word - 1;
    if (!info || strncmp(info, word, length) != 0) return false;
    return info[length] == '\0' || info[length] == ' ' || info[length] == '\t';
}

static bool is_quoted(cmark_node *node) {
    while ((node = cmark_node_parent(node)))
        if (cmark_node_get_type(node) == CMARK_NODE_BLOCK_QUOTE) return true;
    return false;
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
    VECTOR_PUSH(split->arena, &split->source->blocks, span_of(split, start, split->at));
    Text closing = text_slice(bytes, split->at, next_line(bytes, split->at));
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
    if (is_program(cmark_node_get_fence_info(node))) take_program(split, node, mark, fence_length);
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
    cmark_node *document = document_of(arena, source->bytes);
    for (cmark_node *node = document; node; node = next_block(node))
        if (cmark_node_get_type(node) == CMARK_NODE_CODE_BLOCK) take_code(&split, node);
    cmark_node_free(document);
    *fault_span = split.fault_span;
    return split.fault;
}
