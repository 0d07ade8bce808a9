#include "text/commonmark.h"

#include <cmark-gfm-core-extensions.h>
#include <string.h>

static bool is_line_end(char c) { return c == '\n' || c == '\r'; }

size_t commonmark_next_line(Text bytes, size_t at) {
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
        size_t end = commonmark_next_line(bytes, at), bars = 0;
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
        size_t end = commonmark_next_line(copy, start);
        if (start_length(text_slice(copy, start, end)) > NESTING_COLUMNS) at[start + NESTING_COLUMNS] = 'x';
        start = end;
    }
    return copy;
}

cmark_node *commonmark_parse(Arena *arena, Text bytes, int options) {
    Shape shape = shape_of(bytes);
    if (shape.longest_start * shape.lines > NESTING_WORK) bytes = without_deep_nesting(arena, bytes);
    cmark_gfm_core_extensions_ensure_registered();
    cmark_parser *parser = cmark_parser_new(options);
    if (shape.longest_run <= TABLE_LINES && shape.most_bars * shape.lines <= TABLE_CELLS)
        cmark_parser_attach_syntax_extension(parser, cmark_find_syntax_extension("table"));
    cmark_parser_feed(parser, bytes.at, bytes.length);
    cmark_node *document = cmark_parser_finish(parser);
    cmark_parser_free(parser);
    return document;
}

/* ---- fences ---- */

bool commonmark_is_program(cmark_node *code) {
    const char *info = cmark_node_get_fence_info(code);
    static const char word[] = "trunnion";
    const size_t length = sizeof word - 1;
    if (!info || strncmp(info, word, length) != 0) return false;
    return info[length] == '\0' || info[length] == ' ' || info[length] == '\t';
}

/* ---- words ---- */

void commonmark_words(TextBuilder *words, cmark_node *node) {
    cmark_iter *iter = cmark_iter_new(node);
    while (cmark_iter_next(iter) != CMARK_EVENT_DONE) {
        cmark_node *inner = cmark_iter_get_node(iter);
        cmark_node_type type = cmark_node_get_type(inner);
        if (cmark_iter_get_event_type(iter) != CMARK_EVENT_ENTER) continue;
        if (type == CMARK_NODE_TEXT || type == CMARK_NODE_CODE) text_add_string(words, cmark_node_get_literal(inner));
        else if (type == CMARK_NODE_SOFTBREAK || type == CMARK_NODE_LINEBREAK) text_add_char(words, ' ');
    }
    cmark_iter_free(iter);
}
