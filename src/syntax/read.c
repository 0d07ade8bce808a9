/* The driver: feeds the parser with tokens, and when it cannot take one, reports that and finds a place to go on. */
#include "syntax/reader.h"

#include <assert.h>

static uint32_t errors(const Reader *reader) { return reader->errors + reader->lexer.slips; }

/* Gives the parser a token. False: it has no use for it, and waits for something else. */
static bool feed(Reader *reader, int kind, Token token) {
    bool is_name = kind >= TOKEN_USE && !parser_takes(reader, kind);
    reader->failed = false;
    parser(reader->parser, kind, token);
    if (reader->failed) return false;
    reader->earlier = reader->before;
    reader->before = (Seen){kind, is_name, token};
    return true;
}

/* Does something have to follow? */
static bool is_asking(Seen seen) { return !seen.is_name && (token_traits(seen.kind) & ASKING); }

/* A token that is not in the text: `kind` at the end of what was read last. */
static void feed_made(Reader *reader, int kind) {
    uint32_t at = reader->before.token.span.end;
    bool taken = feed(reader, kind, (Token){{at, at}, 0});
    assert(taken);
    (void)taken;
}

/* Keeps what is needed to come back to this line, and to this item. */
static void begin_line(Reader *reader, int kind, Token token) {
    reader->above = reader->line;
    reader->line = (Seen){kind, false, token};
    reader->above_slips = reader->line_slips;
    reader->line_slips = reader->lexer.slips;
    if (reader->lexer.now.braces || !(kind == TOKEN_NAME || (kind >= TOKEN_USE && kind <= TOKEN_CONCESSION))) return;
    reader->item = reader->line;
    reader->item_errors = errors(reader);
}

/* ---- where we are ---- */

static NodeKind block_kind(const Reader *reader) {
    if (!reader->blocks.count) return NODE_NONE;
    return (NodeKind)reader_node(reader, reader->blocks.at[reader->blocks.count - 1].owner)->kind;
}

/* Between two declarations: what comes next begins one, or ends the braces. */
bool reader_at_rest(const Reader *reader) {
    return parser_takes(reader, TOKEN_BROKEN) && parser_takes(reader, reader->blocks.count ? TOKEN_RBRACE : TOKEN_END);
}

static bool is_filled(NodeKind kind) { return kind == NODE_FILLED || kind == NODE_SEGMENT; }

/* The column, in bytes, of the first token on the line of this position. */
static uint32_t indentation(const Reader *reader, uint32_t position) {
    Text bytes = reader->source->bytes;
    size_t at = position - reader->source->base, start = at, blanks;
    while (start && bytes.at[start - 1] != '\n') start--;
    for (blanks = start; blanks < at && (bytes.at[blanks] == ' ' || bytes.at[blanks] == '\t'); blanks++) {}
    return (uint32_t)(blanks - start);
}

/* The kind of the token after the current one. */
static int peek(Reader *reader) {
    Lexer *lexer = &reader->lexer;
    LexerState here = lexer->now;
    bool quiet = lexer->quiet;
    Token token;
    lexer->quiet = true;
    int kind = lexer_next(lexer, &token);
    lexer->quiet = quiet;
    lexer_return(lexer, &here);
    return kind;
}

/* Is the line indented as much as that of the declaration that was finished last? */
static bool stands_like_latest(const Reader *reader) {
    if (!reader->latest) return false;
    uint32_t latest = reader_node(reader, reader->latest)->span.start;
    return indentation(reader, latest) == indentation(reader, reader->line.token.span.start);
}

/* Does a declaration begin with this token, the latest that was read? */
static bool can_begin(Reader *reader, int kind) {
    NodeKind block = block_kind(reader);
    if (is_filled(block)) return parser_is_name(kind) && (peek(reader) == TOKEN_EQUAL || stands_like_latest(reader));
    if (block == NODE_CHOICE) return parser_is_name(kind);
    if (block != NODE_NONE) return parser_takes(reader, kind);
    return (kind >= TOKEN_USE && kind <= TOKEN_CONCESSION) || (parser_is_name(kind) && parser_is_name(peek(reader)));
}

/* Is this token, first on its line, the beginning of the next item, though braces are still open? Then it stands no
 * further right than the item that is open. */
static bool begins_next_item(Reader *reader, const Seen *seen) {
    if (!reader->blocks.count) return false;
    bool word = seen->kind >= TOKEN_USE && seen->kind <= TOKEN_CONCESSION;
    if (!word && seen->kind != TOKEN_NAME) return false;
    return seen->token.span.start > reader->blocks.at[0].brace &&
           indentation(reader, seen->token.span.start) <= indentation(reader, reader->blocks.at[0].brace);
}

/* ---- ways to go on ---- */

/* The lexer goes back to a position in the text, which stands in so many braces. */
static void go_back(Reader *reader, uint32_t position, uint32_t braces) {
    Lexer *lexer = &reader->lexer;
    lexer_go(lexer, position);
    lexer->now.braces = braces;
    reader->before = (Seen){TOKEN_BROKEN, false, {{position, position}, 0}};
}

/* Takes off the stack what cannot be finished, and puts a BROKEN in its place. */
static void unwind(Reader *reader, Token token) {
    while (!parser_awaits(reader, TOKEN_BROKEN)) parser_pop(reader);
    bool taken = feed(reader, TOKEN_BROKEN, (Token){token.span, 0});
    assert(taken);
    (void)taken;
}

/* The declaration that was finished last was not understood after all: its value becomes unread text. */
static void spoil(Reader *reader) {
    Node *node = reader_node(reader, reader->latest);
    if (node->kind == NODE_PACKED) {
        tree_spoil_packed(reader->tree, reader->latest);
        return;
    }
    NodeId broken = grow_node(reader, NODE_BROKEN, node->span, 0, 0, 0, 0);
    if (node->kind == NODE_LET || node->kind == NODE_GIVEN || node->kind == NODE_MAYBE) node->b = broken;
    else node->a = broken;
}

/* Did the declaration that was finished last begin on this line? */
static bool is_latest_here(const Reader *reader) {
    return reader->latest && reader_node(reader, reader->latest)->span.start >= reader->line.token.span.start;
}

/* Closes all braces, as if their '}' stood here. */
static void close_all(Reader *reader) {
    while (reader->blocks.count) {
        uint32_t open = reader->blocks.count;
        while (!parser_awaits(reader, TOKEN_RBRACE) && !parser_awaits(reader, TOKEN_BROKEN) && reader->blocks.count == open)
            parser_pop(reader);
        if (reader->blocks.count != open) continue;
        if (!parser_awaits(reader, TOKEN_RBRACE)) feed_made(reader, TOKEN_BROKEN);
        while (!parser_takes(reader, TOKEN_RBRACE) && reader->blocks.count == open) parser_pop(reader);
        if (reader->blocks.count != open) continue;
        feed_made(reader, TOKEN_RBRACE);
        if (reader->blocks.count == open) feed(reader, TOKEN_STRAY, reader->before.token); /* finishes the rule */
    }
}

/* Something in the braces that are open was not read. */
static void mark_incomplete(Reader *reader) {
    if (reader->blocks.count) reader_node(reader, reader->blocks.at[reader->blocks.count - 1].owner)->flags |= NODE_INCOMPLETE;
}

/* Skips from this token on to where something can begin: a token that is first on its line, or the end of the block.
 * `extra`: braces that are open in the text before this token, and that the parser does not know of. */
static int skip(Reader *reader, int kind, Token *token, uint32_t extra) {
    Lexer *lexer = &reader->lexer;
    lexer->quiet = true;
    for (;; kind = lexer_next(lexer, token)) {
        if (kind == TOKEN_END) break;
        if (lexer->now.first) {
            begin_line(reader, kind, *token);
            if (extra == 0 && can_begin(reader, kind)) break;
            if (begins_next_item(reader, &reader->line)) {
                close_all(reader);
                lexer->now.braces = 0;
                break;
            }
        }
        if (kind == TOKEN_RBRACE) {
            if (extra == 0) break;
            extra--;
        }
        if (kind == TOKEN_LBRACE) extra++;
        if (kind == TOKEN_EQUAL || token_traits(kind) & WORD) mark_incomplete(reader);
        if (kind == TOKEN_SEMICOLON && extra == 0 && block_kind(reader) == NODE_TABLE) break;
    }
    lexer->quiet = false;
    lexer->now.parens = 0;
    return kind;
}

/* How many braces were open in the text before this token. */
static uint32_t braces_before(const Reader *reader, int kind) {
    uint32_t braces = reader->lexer.now.braces;
    return kind == TOKEN_LBRACE ? braces - 1 : kind == TOKEN_RBRACE ? braces + 1 : braces;
}

/* The head of an item has a mistake: when its '{' is on the same line, what is in the braces can be read all the same. */
static bool skip_to_brace(Reader *reader, int *kind, Token *token) {
    if (!parser_takes(reader, TOKEN_LBRACE) || reader->lexer.now.first) return false;
    Lexer *lexer = &reader->lexer;
    LexerState here = lexer->now;
    Token next = *token;
    int found = *kind;
    lexer->quiet = true;
    while (found != TOKEN_END && found != TOKEN_LBRACE && found != TOKEN_RBRACE && !lexer->now.first) found = lexer_next(lexer, &next);
    lexer->quiet = false;
    if (found == TOKEN_LBRACE && !lexer->now.first) {
        *kind = found;
        *token = next;
        return true;
    }
    lexer_return(lexer, &here);
    return false;
}

/* ---- mending ---- */

static bool is_of_name(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '_';
}

/* A word of an item was misspelt, and so was taken for the name of a form: `requirment LIFT-4 "…" { shall …`. When the
 * first mistake of an item is in its head or right behind its '{', and looks like it, the item is read again. */
static bool mend_item_word(Reader *reader, int kind) {
    if (reader->item.kind != TOKEN_NAME || errors(reader) != reader->item_errors || reader->blocks.count > 1) return false;
    Text word = lexer_text(&reader->lexer, reader->item.token.span);
    int meant = nearest_item(word);
    if (!meant || meant == token_of_word(word)) return false;
    if (reader->blocks.count == 1) {
        NodeId owner = reader->blocks.at[0].owner;
        bool begun = reader->latest > owner; /* a field was read */
        Text first = lexer_text(&reader->lexer, reader->before.token.span);
        if (reader_node(reader, owner)->kind != NODE_FILLED || begun || !looks_inside(meant, first, kind)) return false;
    }
    complain_misspelt(reader, reader->item.token, meant);
    while (!parser_is_empty(reader)) parser_pop(reader);
    go_back(reader, reader->item.token.span.end, 0);
    LexerState *now = &reader->lexer.now;
    now->fresh = false;
    now->last = meant;
    now->unit_due = now->unit_list = meant == TOKEN_UNIT || meant == TOKEN_PREFIX;
    now->in_takes_unit = meant == TOKEN_KIND;
    feed(reader, meant, reader->item.token);
    return true;
}

/* 4-LIFT where a name is due: it is taken for one. */
static bool mend_name_start(Reader *reader, int kind, Token token) {
    Lexer *lexer = &reader->lexer;
    if (kind != TOKEN_NUMBER || reader_at_rest(reader) || !parser_takes(reader, TOKEN_NAME) || parser_takes(reader, TOKEN_NUMBER)) return false;
    Text bytes = lexer_text(lexer, (Span){token.span.start, reader->source->base + (uint32_t)reader->source->bytes.length});
    size_t length = 0;
    while (length < bytes.length && length < SYNTAX_NAME_LIMIT && is_of_name(bytes.at[length])) length++;
    if (length == 0) return false;
    token.span.end = token.span.start + (uint32_t)length;
    complain_name_start(reader, token);
    token.value = symbol_of(reader->tree->symbols, text_slice(bytes, 0, length));
    lexer->now.cursor = lexer->base + (token.span.end - lexer->base_position);
    lexer->now.last = TOKEN_NAME;
    return feed(reader, TOKEN_NAME, token);
}

/* A name where one word of the language is due that is spelled nearly like it; also another word of the language. */
static bool mend_word(Reader *reader, int kind, Token token) {
    bool item = kind >= TOKEN_USE && kind <= TOKEN_CONCESSION && begins_next_item(reader, &reader->line);
    if (kind != TOKEN_NAME && (!(token_traits(kind) & WORD) || item)) return false;
    int meant = nearest_word(reader, lexer_text(&reader->lexer, token.span));
    if (!meant) return false;
    complain_misspelt(reader, token, meant);
    reader->lexer.now.member = meant == TOKEN_GIVEN || meant == TOKEN_MAYBE || meant == TOKEN_LET;
    if (meant == TOKEN_WITHIN || meant == TOKEN_VARIES || meant == TOKEN_SETTLES || meant == TOKEN_NEEDS)
        reader->lexer.now.in_takes_unit = false;
    return feed(reader, meant, token);
}

/* `x = 5 mm mm`: the second was taken for the name of another field, and what comes after it, on the next line, is no '='.
 * Reports the name, and takes it off again. */
static bool mend_extra_name(Reader *reader, int kind) {
    Seen name = reader->before;
    if (!is_filled(block_kind(reader)) || !parser_is_name(name.kind) || !parser_takes(reader, TOKEN_EQUAL)) return false;
    if (!(reader->lexer.now.first || kind == TOKEN_RBRACE) || parser_takes(reader, TOKEN_NUMBER) || !reader->latest) return false;
    Seen start = reader->lexer.now.first ? reader->above : reader->line;
    if (name.token.span.start == start.token.span.start || reader->earlier.kind == TOKEN_LBRACE) return false;
    reader->before = reader->earlier;
    parser_pop(reader);
    complain(reader, name.kind, name.token, false);
    spoil(reader);
    return true;
}

/* Braces were not closed, and the line begins another item. */
static bool mend_open_braces(Reader *reader, int kind, Token token) {
    Seen start = reader->line;
    if (kind == TOKEN_END) start = (Seen){kind, false, token};
    else if (!begins_next_item(reader, &start)) return false;
    if (!reader->blocks.count) return false;
    complain_brace_open(reader, &reader->blocks.at[reader->blocks.count - 1], start.kind, start.token);
    close_all(reader);
    if (kind != TOKEN_END) go_back(reader, start.token.span.start, 0);
    reader->lexer.now.braces = 0;
    return true;
}

/* The '{' of an item is missing. Whether the lines that follow are its content shows by how far they stand to the right. */
static bool mend_missing_brace(Reader *reader, int kind, Token token) {
    if (!parser_takes(reader, TOKEN_LBRACE) || !(reader->lexer.now.first || kind == TOKEN_END)) return false;
    complain_brace_missing(reader);
    uint32_t head = reader_node(reader, reader->head)->span.start;
    bool empty = kind == TOKEN_END || (kind != TOKEN_RBRACE && indentation(reader, token.span.start) <= indentation(reader, head));
    feed_made(reader, TOKEN_LBRACE);
    if (empty) {
        feed(reader, TOKEN_STRAY, reader->before.token); /* finishes the rule, so that the braces count as open */
        close_all(reader);
    } else {
        reader->lexer.now.braces++;
        if (kind == TOKEN_RBRACE) reader->lexer.now.braces--;
    }
    return true;
}

/* A value is due, and what follows begins or ends something else. A word of the language can also be a name, so the parser
 * may have taken it for the value, and only now does not know what to do: `shall a <=` and on the next line `from URS`. */
static bool mend_missing_value(Reader *reader, int kind) {
    bool now = (reader->lexer.now.first || kind == TOKEN_END || kind == TOKEN_RBRACE) && is_asking(reader->before);
    bool type_due = reader->before.kind == TOKEN_COLON && parser_takes(reader, TOKEN_TABLE);
    if (now && (type_due || parser_takes(reader, TOKEN_NUMBER))) {
        complain_value_missing(reader, reader->before);
        return true;
    }
    Seen word = reader->before;
    if (!is_asking(reader->earlier) || !parser_is_name(word.kind)) return false;
    bool field = is_filled(block_kind(reader)) && kind == TOKEN_EQUAL;
    bool again = word.kind != TOKEN_NAME && parser_takes(reader, word.kind);
    bool motion = word.kind >= TOKEN_FOR && word.kind <= TOKEN_AS && block_kind(reader) == NODE_CYCLE;
    if (!field && !again && !motion) return false;
    complain_value_missing(reader, reader->earlier);
    if (!field && !again) return true;
    if (parser_takes(reader, TOKEN_NUMBER)) unwind(reader, word.token);
    else if (reader->latest) spoil(reader);
    go_back(reader, word.token.span.start, braces_before(reader, kind));
    reader->lexer.now.fresh = word.token.span.start == reader->line.token.span.start;
    return true;
}

/* The parser has no use for this token. Afterwards, *kind and *token are what comes next; false: the next token is to be
 * read. */
static bool mend(Reader *reader, int *kind, Token *token) {
    uint32_t slips = reader->lexer.slips; /* said already, most likely? */
    bool known = *kind == TOKEN_STRAY || slips > reader->line_slips || (reader->lexer.now.first && slips > reader->above_slips);
    bool at_rest = reader_at_rest(reader);
    uint32_t braces = braces_before(reader, *kind);
    if (!known) {
        if (mend_item_word(reader, *kind)) return false;
        if (mend_word(reader, *kind, *token) || mend_name_start(reader, *kind, *token)) return false;
        if ((token_traits(*kind) & RESERVED) && parser_takes(reader, TOKEN_NAME) && !parser_takes(reader, TOKEN_NUMBER)) {
            complain_reserved(reader, *kind, *token);
            *kind = TOKEN_NAME;
            return true;
        }
    }
    if (*kind != TOKEN_END && mend_open_braces(reader, *kind, *token)) return false;
    if (mend_missing_brace(reader, *kind, *token)) return true;
    if (!known && mend_extra_name(reader, *kind)) return true;
    if (!known && mend_missing_value(reader, *kind)) {
        if (reader->before.kind == TOKEN_BROKEN) return false; /* back at the beginning of the line */
    } else if (*kind == TOKEN_END && mend_open_braces(reader, *kind, *token)) {
        return true;
    } else if (*kind == TOKEN_RBRACE && !reader->blocks.count && at_rest) {
        reader->errors++;
        SAY(reader->messages, BRACE_TOO_MANY, token->span, TEXT(""));
        return false;
    } else if (!known) {
        int meant = *kind == TOKEN_NAME && at_rest && !reader->lexer.now.first
                        ? nearest_going_on(reader, lexer_text(&reader->lexer, token->span)) : 0;
        if (meant) complain_misspelt(reader, *token, meant);
        else complain(reader, *kind, *token, reader->lexer.now.first);
    }
    if (skip_to_brace(reader, kind, token)) return true;
    if (at_rest && !reader->lexer.now.first && reader->before.kind != TOKEN_LBRACE && is_latest_here(reader)) spoil(reader);
    else unwind(reader, *token);
    uint32_t extra = braces > reader->blocks.count ? braces - reader->blocks.count : 0;
    *kind = skip(reader, *kind, token, extra);
    while (!parser_takes(reader, *kind) && !(parser_is_name(*kind) && reader_at_rest(reader)) && !parser_is_empty(reader)) {
        mark_incomplete(reader);
        parser_pop(reader);
    }
    return true;
}

/* In braces with fields, `x =` and on the next line `y =`: not a comparison. */
static bool is_value_missing(const Reader *reader, int kind) {
    return kind == TOKEN_EQUAL && is_asking(reader->earlier) &&
           reader->before.token.span.start == reader->line.token.span.start && !reader->lexer.now.parens &&
           is_filled(block_kind(reader));
}

static bool is_too_deep(const Reader *reader) {
    return reader->lexer.now.braces > SYNTAX_DEPTH_LIMIT || reader->lexer.now.parens > SYNTAX_DEPTH_LIMIT || parser_is_full(reader);
}

/* One token that came from the text, until the parser has taken it or it is passed over. */
static void take(Reader *reader, int kind, Token token) {
    bool again = true;
    while (again && errors(reader) < SYNTAX_ERROR_LIMIT) {
        bool simple = kind == TOKEN_NAME || kind == TOKEN_NUMBER || kind == TOKEN_EQUAL;
        if (!simple && is_too_deep(reader)) {
            complain_depth(reader, token.span);
            uint32_t braces = braces_before(reader, kind);
            if (kind == TOKEN_LBRACE) parser_pop(reader); /* whose braces they are */
            unwind(reader, token);
            kind = skip(reader, kind, &token, braces > reader->blocks.count ? braces - reader->blocks.count : 0);
        }
        if (is_value_missing(reader, kind)) {
            feed(reader, TOKEN_STRAY, token); /* finishes the field that it was taken into */
        } else if (feed(reader, kind, token)) {
            return;
        }
        again = mend(reader, &kind, &token);
    }
}

/* Brings the parser to the end, whatever is still open. */
static void finish(Reader *reader, Token token) {
    feed(reader, TOKEN_STRAY, token);
    close_all(reader);
    while (!parser_takes(reader, TOKEN_END)) parser_pop(reader);
    feed(reader, TOKEN_END, token);
}

static Reader *reader_open(Tree *tree, Source *source, Messages *messages) {
    if (!tree->reader) tree->reader = ARENA_NEW(tree->arena, Reader);
    Reader *reader = tree->reader;
    *reader = (Reader){.tree = tree, .source = source, .messages = messages, .parser = reader->parser, .blocks = reader->blocks,
                       .packs = tree_packs(tree, source)};
    reader->blocks.count = 0;
    parser_open(reader);
    lexer_open(&reader->lexer, tree, source, messages);
    return reader;
}

NodeId syntax_read(Tree *tree, Source *source, Messages *messages) {
    Reader *reader = reader_open(tree, source, messages);
    Lexer *lexer = &reader->lexer;
    Token token;
    int kind;
    do {
        kind = lexer_next(lexer, &token);
        if (lexer->now.first) begin_line(reader, kind, token);
        take(reader, kind, token);
    } while (lexer->now.last != TOKEN_END && errors(reader) < SYNTAX_ERROR_LIMIT);
    if (errors(reader) >= SYNTAX_ERROR_LIMIT) {
        if (lexer->now.last != TOKEN_END) complain_many(reader, token.span);
        finish(reader, token);
    }
    if (!reader->items && !errors(reader)) complain_empty(reader);
    return reader->items;
}
