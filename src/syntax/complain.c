/* What is said when the parser cannot take a token: what is due, after what, and what stands there instead. */
#include "syntax/reader.h"

#include "text/utf8.h"

enum { SHOWN_COLUMNS = 40 }; /* of a word, number or text in a message */

static Text quoted(Reader *reader, Text text) {
    Arena *arena = reader->messages->arena;
    Text seen = utf8_visible(arena, text), start = utf8_first(seen, SHOWN_COLUMNS);
    TextBuilder builder = text_builder(arena);
    bool string = text_starts(text, TEXT("\""));
    if (!string) text_add_char(&builder, '\'');
    text_add(&builder, start);
    if (start.length < seen.length) text_add_string(&builder, string ? "…\"" : "…");
    if (!string) text_add_char(&builder, '\'');
    return text_built(&builder);
}

static Text found(Reader *reader, int kind, Token token) {
    if (kind == TOKEN_END) return text_from(token_words(kind));
    return quoted(reader, lexer_text(&reader->lexer, token.span));
}

static NodeKind block_kind(const Reader *reader) {
    if (!reader->blocks.count) return NODE_NONE;
    return (NodeKind)reader_node(reader, reader->blocks.at[reader->blocks.count - 1].owner)->kind;
}

/* ---- what is due ---- */

/* What can begin in these braces. */
static const char *due_in_block(NodeKind block) {
    switch (block) {
        case NODE_FORM: return "given, maybe, let, rule, caution or '}'";
        case NODE_RULE:
        case NODE_CAUTION: return "when, shall, should, cites, because or '}'";
        case NODE_REQUIREMENT: return "when, shall, should, from, method, because, evidence, reading, within, digest, refines, cites or '}'";
        case NODE_CONCESSION: return "covers, by, because, until or '}'";
        case NODE_CHOICE: return "a word of the choice or '}'";
        case NODE_CYCLE: return "move, hold, run or '}'";
        case NODE_SOURCE: return "a clause such as §4.1, or '}',";
        case NODE_TABLE: return "a row (key: value)";
        case NODE_FILLED:
        case NODE_SEGMENT: return "a field (name = value) or '}'";
        default: return "an item";
    }
}

static bool is_sign_of_value(int kind) {
    return kind == TOKEN_EQUAL || (kind >= TOKEN_LESS && kind <= TOKEN_POWER) || kind == TOKEN_DOT || kind == TOKEN_OR ||
           kind == TOKEN_AND || kind == TOKEN_IN || kind == TOKEN_AT;
}

/* The tokens that would do, by name: "',' or ')'". Of operators only if there is nothing else. */
static Text due_tokens(Reader *reader) {
    enum { MOST = 6 };
    int kinds[MOST], count = 0;
    bool operators = parser_takes(reader, TOKEN_PLUS);
    for (int kind = 1; kind < parser_token_count() && count < MOST; kind++) {
        if (kind == TOKEN_BROKEN || (operators && is_sign_of_value(kind)) || !parser_takes(reader, kind)) continue;
        kinds[count++] = kind;
    }
    if (!count) return operators ? TEXT("an operator") : TEXT("something else");
    TextBuilder builder = text_builder(reader->messages->arena);
    for (int i = 0; i < count; i++) {
        const char *quote = token_traits(kinds[i]) & (WORD | RESERVED) || kinds[i] == TOKEN_IN_UNIT ? "'" : "";
        if (i) text_add_string(&builder, i + 1 == count ? " or " : ", ");
        text_add_string(&builder, quote);
        text_add_string(&builder, token_words(kinds[i]));
        text_add_string(&builder, quote);
    }
    return text_built(&builder);
}

/* Does the declaration that was finished last end with an expression, which could go on? */
static bool ends_with_expression(const Reader *reader) {
    if (!reader->latest || !(token_traits(reader->before.kind) & OPERAND)) return false;
    const Node *latest = reader_node(reader, reader->latest);
    bool member = latest->kind == NODE_LET || latest->kind == NODE_GIVEN || latest->kind == NODE_MAYBE;
    if (latest->kind == NODE_PACKED)
        return tree_packed_end(reader->tree, reader->latest) == reader->before.token.span.end || reader->before.kind == TOKEN_RPAREN;
    NodeId value = member ? latest->b : latest->a;
    if (!value) return false;
    if (reader_node(reader, value)->kind == NODE_LIST)
        for (value = reader_node(reader, value)->a; reader_node(reader, value)->next;) value = reader_node(reader, value)->next;
    return reader_node(reader, value)->span.end == reader->before.token.span.end || reader->before.kind == TOKEN_RPAREN;
}

static Text due(Reader *reader, bool first) {
    int before = reader->before.kind;
    if (parser_takes(reader, TOKEN_NUMBER))
        return before == TOKEN_SHALL || before == TOKEN_SHOULD || before == TOKEN_WHEN || before == TOKEN_IF ? TEXT("a condition")
                                                                                                             : TEXT("a value");
    if (parser_takes(reader, TOKEN_UNIT_TEXT)) return TEXT("a unit");
    if (!reader_at_rest(reader)) return due_tokens(reader);
    NodeKind block = block_kind(reader);
    if (first || before == TOKEN_LBRACE || before == TOKEN_BROKEN || before == TOKEN_END || block == NODE_CHOICE || block == NODE_SOURCE)
        return text_from(due_in_block(block));
    return ends_with_expression(reader) ? TEXT("an operator or a new line") : TEXT("a new line");
}

static Text after(Reader *reader) {
    Seen before = reader->before;
    if (before.kind == TOKEN_END || before.kind == TOKEN_BROKEN) return TEXT("here");
    TextBuilder builder = text_builder(reader->messages->arena);
    text_add_string(&builder, "after ");
    text_add(&builder, found(reader, before.kind, before.token));
    return text_built(&builder);
}

/* ---- messages ---- */

static Text advice(const Reader *reader, int kind) {
    NodeKind block = block_kind(reader);
    switch (kind) {
        case TOKEN_AROUND: return TEXT("A tolerance stands between two numbers: 8.2 Ω ± 8 %.");
        case TOKEN_SKEW: return TEXT("A tolerance stands after a number: 24 V +5/-10 %.");
        case TOKEN_TO: return TEXT("A range stands between two numbers: 20 V to 28 V.");
        case TOKEN_SEMICOLON: return block == NODE_TABLE ? TEXT("") : TEXT("A new line stands between two fields; no sign is needed.");
        case TOKEN_COLON: return block == NODE_FILLED || block == NODE_SEGMENT ? TEXT("Right would be: name = value.") : TEXT("");
        case TOKEN_CLAUSE: return reader->before.kind == TOKEN_CLAUSE ? TEXT("A comma stands between two clauses: from URS §4.1, §4.2.") : TEXT("");
        default: break;
    }
    if (kind == TOKEN_NUMBER && block == NODE_CYCLE && text_ends(lexer_text(&reader->lexer, reader->before.token.span), TEXT(" in")))
        return TEXT("After a bare number, 'in' is the inch; a stroke has its unit first: 320 mm in 1.4 s.");
    if (kind == TOKEN_NAME && reader->before.kind == TOKEN_NAME && parser_takes(reader, TOKEN_LBRACE)) return TEXT("A title stands in double quotes.");
    if (block == NODE_NONE && parser_is_empty(reader))
        return TEXT("An item begins with use, unit, prefix, kind, choice, form, cycle, source or requirement, or with the name of a form.");
    return TEXT("");
}

void complain(Reader *reader, int kind, Token token, bool first) {
    reader->errors++;
    SAY(reader->messages, UNEXPECTED, token.span, due(reader, first), after(reader), found(reader, kind, token),
        advice(reader, kind));
}

void complain_value_missing(Reader *reader, Seen before) {
    reader->errors++;
    bool condition = before.kind == TOKEN_SHALL || before.kind == TOKEN_SHOULD || before.kind == TOKEN_WHEN;
    Text what = condition ? TEXT("condition") : before.kind == TOKEN_COLON && block_kind(reader) == NODE_FORM ? TEXT("type") : TEXT("value");
    SAY(reader->messages, VALUE_MISSING, before.token.span, what, found(reader, before.kind, before.token),
        before.kind == TOKEN_COMMA ? TEXT(", or take it away") : TEXT(""));
}

/* "axis lift", "rule energy", "table". */
static Text block_words(Reader *reader, NodeId owner) {
    static const char *const WORDS[] = {
        [NODE_NONE] = "",
#define NODE(kind, words) [NODE_##kind] = words,
#include "syntax/node.def"
#undef NODE
    };
    const Node *node = reader_node(reader, owner);
    TextBuilder builder = text_builder(reader->messages->arena);
    if (node->kind == NODE_FILLED) text_add(&builder, symbol_text(reader->tree->symbols, reader_node(reader, node->a)->name));
    else text_add_string(&builder, WORDS[node->kind]);
    if (node->name) {
        text_add_char(&builder, ' ');
        text_add(&builder, symbol_text(reader->tree->symbols, node->name));
    }
    return text_built(&builder);
}

void complain_brace_open(Reader *reader, const Block *block, int kind, Token here) {
    reader->errors++;
    TextBuilder line = text_builder(reader->messages->arena);
    text_add_count(&line, source_place(reader->tree->sources, here.span.start).line);
    SAY(reader->messages, BRACE_NOT_CLOSED, ((Span){block->brace, block->brace + 1}), block_words(reader, block->owner),
        text_built(&line), found(reader, kind, here));
}

void complain_brace_missing(Reader *reader) {
    reader->errors++;
    SAY(reader->messages, BRACE_MISSING, reader_node(reader, reader->head)->span, block_words(reader, reader->head));
}

void complain_misspelt(Reader *reader, Token token, int meant) {
    reader->errors++;
    bool word = token_of_word(lexer_text(&reader->lexer, token.span)) != 0;
    SAY(reader->messages, MISSPELT_WORD, token.span, found(reader, TOKEN_NAME, token), text_from(token_words(meant)),
        word ? TEXT("has no place here") : TEXT("is not a word of the language"));
}

void complain_name_start(Reader *reader, Token token) {
    reader->errors++;
    SAY(reader->messages, NAME_START, token.span, lexer_text(&reader->lexer, token.span));
}

void complain_reserved(Reader *reader, int kind, Token token) {
    reader->errors++;
    SAY(reader->messages, RESERVED_WORD, token.span, text_from(token_words(kind)));
}

void complain_depth(Reader *reader, Span span) {
    reader->errors++;
    TextBuilder limit = text_builder(reader->messages->arena);
    text_add_count(&limit, SYNTAX_DEPTH_LIMIT);
    SAY(reader->messages, NESTING_TOO_DEEP, span, text_built(&limit));
}

void complain_empty(Reader *reader) {
    Text advice = reader->source->literate ? TEXT("Program text stands in blocks that begin with a line ```trunnion.") : TEXT("");
    SAY(reader->messages, NO_PROGRAM, ((Span){0, 0}), advice)->path = reader->source->path;
}

void complain_many(Reader *reader, Span span) {
    TextBuilder limit = text_builder(reader->messages->arena);
    text_add_count(&limit, SYNTAX_ERROR_LIMIT);
    SAY(reader->messages, TOO_MANY_ERRORS, span, text_built(&limit), reader->source->path);
}

/* ---- misspelt words ---- */

/* How far a word may be from the one that was meant. */
static unsigned slip_limit(Text meant) { return meant.length < 3 ? 0 : meant.length < 6 ? 1 : 2; }

static void consider(Text word, int kind, int *best, unsigned *least) {
    Text meant = text_from(token_words(kind));
    unsigned limit = slip_limit(meant), distance = text_distance(word, meant, limit);
    if (distance <= limit && distance < *least) {
        *best = kind;
        *least = distance;
    }
}

int nearest_word(const Reader *reader, Text word) {
    int best = 0;
    unsigned least = 100;
    for (int kind = 1; kind < parser_token_count(); kind++)
        if ((token_traits(kind) & WORD) && parser_takes(reader, kind)) consider(word, kind, &best, &least);
    return best;
}

int nearest_going_on(const Reader *reader, Text word) {
    NodeKind block = block_kind(reader);
    int best = 0;
    unsigned least = 100;
    for (int kind = TOKEN_OR; kind <= TOKEN_TO; kind++) consider(word, kind, &best, &least);
    for (int kind = TOKEN_WITHIN; kind <= TOKEN_VALID && block == NODE_FORM; kind++) consider(word, kind, &best, &least);
    for (int kind = TOKEN_FOR; kind <= TOKEN_AS && block == NODE_CYCLE; kind++) consider(word, kind, &best, &least);
    for (int kind = TOKEN_BASE; kind <= TOKEN_POINT && block == NODE_NONE; kind++) consider(word, kind, &best, &least);
    if (block == NODE_FORM) consider(word, TOKEN_SEVERAL, &best, &least);
    return best;
}

/* The words with which a declaration in the braces of this item begins: from one token to another. */
static void words_inside(int item, int *from, int *to) {
    *from = item == TOKEN_FORM ? TOKEN_GIVEN : item == TOKEN_CYCLE ? TOKEN_MOVE : TOKEN_WHEN;
    *to = item == TOKEN_FORM ? TOKEN_CAUTION : item == TOKEN_CYCLE ? TOKEN_RUN : TOKEN_DIGEST;
}

bool looks_inside(int item, Text word, int next) {
    if (item == TOKEN_CHOICE) return next == TOKEN_TEXT;
    if (item == TOKEN_SOURCE) return next == TOKEN_CLAUSE;
    if (item != TOKEN_FORM && item != TOKEN_CYCLE && item != TOKEN_REQUIREMENT) return false;
    int from, to, best = 0;
    unsigned least = 100;
    words_inside(item, &from, &to);
    for (int kind = from; kind <= to; kind++) consider(word, kind, &best, &least);
    if (item == TOKEN_REQUIREMENT) consider(word, TOKEN_FROM, &best, &least);
    return best != 0;
}

int nearest_item(Text word) {
    int best = 0;
    unsigned least = 100;
    for (int kind = TOKEN_USE; kind <= TOKEN_CONCESSION; kind++) consider(word, kind, &best, &least);
    return best;
}
