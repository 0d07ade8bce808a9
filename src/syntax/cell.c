/* One cell of a table, read by the lexer and the parser as the value of a field. */
#include "syntax/cell.h"

#include <string.h>

#include "syntax/reader.h"
#include "text/utf8.h"

struct CellReader {
    Reader reader;
    char *bytes; /* the cell, and a line end: the lexer wants one */
    size_t room;
    uint32_t *places; /* of a cell with doubled quotes: the position of each byte, and of the end */
    size_t place_room;
    Run run;
};

CellReader *cell_open(Tree *tree, Source *source, Messages *messages) {
    if (!tree->cells) tree->cells = ARENA_NEW(tree->arena, CellReader);
    CellReader *cells = tree->cells;
    cells->reader = (Reader){.tree = tree, .source = source, .messages = messages, .parser = cells->reader.parser, .blocks = cells->reader.blocks};
    lexer_open(&cells->reader.lexer, tree, source, messages);
    cells->reader.lexer.runs = &cells->run;
    cells->reader.lexer.run_count = 1;
    return cells;
}

static void set_text(CellReader *cells, Text text, uint32_t position) {
    Lexer *lexer = &cells->reader.lexer;
    if (cells->room < text.length + 1) {
        cells->room = 2 * text.length + 64;
        cells->bytes = arena_take_raw(lexer->arena, cells->room);
    }
    memcpy(cells->bytes, text.at, text.length);
    cells->bytes[text.length] = '\n';
    cells->run = (Run){cells->bytes, cells->bytes + text.length + 1, position};
    lexer->bytes = (Text){cells->bytes, text.length};
    lexer->bytes_position = position;
    lexer->end = position + (uint32_t)text.length;
    lexer->slips = 0;
    lexer->in_cycle = false;
    /* As behind the '=' of a field. */
    LexerState begin = {.cursor = cells->bytes, .run = 0, .braces = 1, .last = TOKEN_EQUAL};
    lexer_return(lexer, &begin);
    lexer_next_run(lexer);
}

static bool feed(Reader *reader, int kind, Token token) {
    reader->failed = false;
    parser(reader->parser, kind, token);
    return !reader->failed;
}

static bool is_too_deep(const Reader *reader) {
    return reader->lexer.now.braces > SYNTAX_DEPTH_LIMIT || reader->lexer.now.parens > SYNTAX_DEPTH_LIMIT || parser_is_full(reader);
}

static NodeId read_tokens(Reader *reader, bool *said) {
    Token token = {{reader->lexer.bytes_position, reader->lexer.bytes_position}, 0};
    bool fine = feed(reader, TOKEN_CELL, token);
    while (fine) {
        int kind = lexer_next(&reader->lexer, &token);
        if (is_too_deep(reader)) {
            complain_depth(reader, token.span);
            fine = false;
            break;
        }
        fine = feed(reader, kind, token);
        if (kind == TOKEN_END) break;
    }
    *said = reader->errors > 0 || reader->lexer.slips > 0;
    while (!parser_is_empty(reader)) parser_pop(reader);
    return fine ? reader->items : 0;
}

/* The cell lost a quote of each two: gives back their places to what was read of it. */
static void put_back(CellReader *cells, NodeId first, uint32_t said, uint32_t position, uint32_t length) {
    Tree *tree = cells->reader.tree;
    for (NodeId id = first; id < tree->count; id++) {
        Node *node = tree_node(tree, id);
        uint32_t start = node->span.start - position, end = node->span.end - position;
        if (start > length || end > length) continue;
        node->span = (Span){cells->places[start], cells->places[end]};
        if (node->kind == NODE_TEXT) node->op = TEXT_QUOTED_TWICE;
    }
    Messages *messages = cells->reader.messages;
    for (uint32_t i = said; i < messages->list.count; i++) {
        Span *span = &messages->list.at[i].span;
        if (span->start - position > length || span->end - position > length) continue;
        *span = (Span){cells->places[span->start - position], cells->places[span->end - position]};
    }
}

static void note_places(CellReader *cells, Text raw, uint32_t position) {
    if (cells->place_room < raw.length + 1) {
        cells->place_room = 2 * raw.length + 64;
        cells->places = arena_take_raw(cells->reader.tree->arena, cells->place_room * sizeof(uint32_t));
    }
    size_t count = 0;
    for (size_t i = 0; i < raw.length; i++) {
        cells->places[count++] = position + (uint32_t)i;
        if (raw.at[i] == '"') i++;
    }
    cells->places[count] = position + (uint32_t)raw.length;
}

NodeId cell_read(CellReader *cells, Text text, Span span, bool *said) {
    Reader *reader = &cells->reader;
    Tree *tree = reader->tree;
    NodeId first = tree->count;
    uint32_t messages = reader->messages->list.count;
    bool doubled = span.end - span.start > text.length;
    parser_open(reader);
    reader->blocks.count = 0;
    reader->errors = 0;
    reader->items = 0;
    set_text(cells, text, span.start);
    NodeId value = read_tokens(reader, said);
    if (doubled) {
        const Source *source = reader->source;
        note_places(cells, text_slice(source->bytes, span.start - source->base, span.end - source->base), span.start);
        put_back(cells, first, messages, span.start, (uint32_t)text.length);
    }
    return value;
}

/* ---- what needs no parser ---- */

static bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
static bool is_digit(char c) { return c >= '0' && c <= '9'; }

bool cell_number(Text text, double *number) {
    static const double POWERS[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                    1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    size_t i = 0, after;
    bool negative = text.length > 0 && text.at[0] == '-';
    if (text.length > 0 && (text.at[0] == '-' || text.at[0] == '+')) i++;
    size_t start = i;
    uint64_t digits = 0;
    for (; i < text.length && is_digit(text.at[i]); i++) digits = digits * 10 + (uint64_t)(text.at[i] - '0');
    size_t count = i - start, scale = 0;
    if (count == 0) return false;
    if (i < text.length && text.at[i] == '.') {
        after = ++i;
        for (; i < text.length && is_digit(text.at[i]); i++) digits = digits * 10 + (uint64_t)(text.at[i] - '0');
        scale = i - after;
        if (scale == 0) return false;
    }
    /* Exact where a double holds the digits and the power of ten; with an exponent, or longer, the lexer is asked. */
    if (i < text.length || count + scale > 19 || digits > (uint64_t)1 << 53) return false;
    *number = (double)digits / POWERS[scale];
    if (negative && digits != 0) *number = -*number;
    return true;
}

/* None of them has more than four letters, and a table has many names. */
static bool is_reserved(Text word) { return word.length <= 4 && token_traits(token_of_word(word)) & RESERVED; }

Symbol cell_name(Tree *tree, Text text, Text *bad) {
    *bad = (Text){0};
    if (text.length == 0 || text.length > SYNTAX_NAME_LIMIT || is_reserved(text)) return 0;
    bool wide = false;
    if (is_digit(text.at[0]) || text.at[0] == '_' || text.at[0] == '-' || text.at[text.length - 1] == '-') return 0;
    for (size_t i = 0; i < text.length; i++) {
        char c = text.at[i];
        wide = wide || (unsigned char)c >= 0x80;
        if ((unsigned char)c >= 0x80 || is_letter(c) || is_digit(c) || c == '_') continue;
        if (c == '-' && i + 1 < text.length && text.at[i + 1] != '-') continue;
        *bad = text_slice(text, i, i + 1);
        return 0;
    }
    if (!wide) return symbol_of(tree->symbols, text);
    Text normal = utf8_normal(tree->arena, text);
    return utf8_is_name(normal, bad) ? symbol_of(tree->symbols, normal) : 0;
}
