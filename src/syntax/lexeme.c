#include "syntax/lexer.h"

#include <assert.h>
#include <string.h>

#include "text/utf8.h"

/* ---- the table of tokens ---- */

typedef struct TokenRow {
    const char *words;
    unsigned traits;
} TokenRow;

static const TokenRow ROWS[] = {
    [TOKEN_END] = {"the end of the file", 0},
#define TOKEN(id, words, traits) [TOKEN_##id] = {words, traits},
#include "grammar/tokens.def"
#undef TOKEN
};
enum { ROW_COUNT = sizeof ROWS / sizeof *ROWS };

unsigned token_traits(int kind) { return ROWS[kind].traits; }
const char *token_words(int kind) { return ROWS[kind].words; }

int token_of_word(Text word) {
    for (int i = 1; i < ROW_COUNT; i++)
        if ((ROWS[i].traits & (WORD | RESERVED)) && text_is(word, ROWS[i].words)) return i;
    return 0;
}

/* ---- runs ---- */

static const char NOTHING[] = "\n"; /* what is read after the last run */

static void add_run(Lexer *lexer, const char *at, size_t length, uint32_t position) {
    if (length) lexer->runs[lexer->run_count++] = (Run){at, at + length, position};
}

/* A block is read where it stands, up to its last line end; what comes after that is copied. */
static void add_block(Lexer *lexer, const Source *source, Span block) {
    const char *at = source->bytes.at + (block.start - source->base);
    size_t length = block.end - block.start, whole = length;
    while (whole && at[whole - 1] != '\n') whole--;
    add_run(lexer, at, whole, block.start);
    if (whole == length) return;
    char *copy = arena_take_raw(lexer->arena, length - whole + 1);
    memcpy(copy, at + whole, length - whole);
    copy[length - whole] = '\n';
    add_run(lexer, copy, length - whole + 1, block.start + (uint32_t)whole);
}

static const char BYTE_ORDER_MARK[] = "\xEF\xBB\xBF";

void lexer_open(Lexer *lexer, Tree *tree, const Source *source, Messages *messages) {
    if (!tree->lexer_memory) tree->lexer_memory = ARENA_NEW(tree->arena, struct LexerMemory);
    *lexer = (Lexer){.tree = tree, .messages = messages, .arena = tree->arena, .memory = tree->lexer_memory, .end = source->base,
                       .bytes = source->bytes, .bytes_position = source->base};
    uint32_t blocks = source->blocks.count;
    lexer->runs = ARENA_ARRAY(lexer->arena, Run, 2 * (size_t)blocks);
    for (uint32_t i = 0; i < blocks; i++) {
        Span block = source->blocks.at[i];
        if (block.start == source->base && text_starts(source->bytes, TEXT(BYTE_ORDER_MARK)) && block.end - block.start >= 3)
            block.start += 3;
        add_block(lexer, source, block);
        lexer->end = block.end;
    }
    lexer->base = lexer->now.cursor = NOTHING;
    lexer->limit = NOTHING + 1;
    lexer->base_position = lexer->end;
    lexer->now.fresh = true;
}

static void enter_run(Lexer *lexer, uint32_t index) {
    const Run *run = &lexer->runs[index];
    lexer->base = run->at;
    lexer->limit = run->end;
    lexer->base_position = run->position;
    lexer->now.run = index + 1;
}

bool lexer_next_run(Lexer *lexer) {
    if (lexer->now.run >= lexer->run_count) return false;
    enter_run(lexer, lexer->now.run);
    lexer->now.cursor = lexer->base;
    return true;
}

void lexer_return(Lexer *lexer, const LexerState *state) {
    lexer->now = *state;
    if (state->run) {
        enter_run(lexer, state->run - 1);
    } else {
        lexer->base = NOTHING;
        lexer->limit = NOTHING + 1;
        lexer->base_position = lexer->end;
    }
}

void lexer_go(Lexer *lexer, uint32_t position) {
    uint32_t index = lexer->now.run ? lexer->now.run - 1 : 0;
    while (index && lexer->runs[index].position > position) index--;
    enter_run(lexer, index);
    lexer->now = (LexerState){.cursor = lexer->base + (position - lexer->base_position),
                              .run = index + 1,
                              .braces = lexer->now.braces,
                              .last = TOKEN_BROKEN,
                              .fresh = true};
}

Text lexer_text(const Lexer *lexer, Span span) {
    return text_slice(lexer->bytes, span.start - lexer->bytes_position, span.end - lexer->bytes_position);
}

/* ---- names and units ---- */

enum { SHORT = 16 };

/* The bytes of a short word as two numbers; they may overlap. Of a long one its ends. */
static void key_of(Text text, uint64_t *low, uint64_t *high) {
    const char *at = text.at;
    size_t length = text.length;
    uint32_t half;
    if (length >= 8) {
        memcpy(low, at, 8);
        memcpy(high, at + length - 8, 8);
    } else if (length >= 4) {
        memcpy(&half, at, 4);
        *low = half;
        memcpy(&half, at + length - 4, 4);
        *high = half;
    } else {
        *low = (uint64_t)(unsigned char)at[0] << 16 | (uint64_t)(unsigned char)at[length >> 1] << 8 |
               (uint64_t)(unsigned char)at[length - 1];
        *high = 0;
    }
}

/* The place where this word is kept if it is. *known: it is there, or one of this length that begins and ends alike. */
static Recent *place_of(Recent *room, Text text, bool *known) {
    uint64_t low, high;
    key_of(text, &low, &high);
    uint64_t hash = (low ^ high * 0x9E3779B97F4A7C15u ^ text.length) * 0xD1B54A32D192ED03u;
    Recent *place = &room[hash >> (64 - RECENT_BITS)];
    *known = place->low == low && place->high == high && place->length == text.length;
    if (!*known) *place = (Recent){low, high, (uint32_t)text.length, 0};
    return place;
}

/* NULL when the word is too long to be told from others. */
static Recent *recent_of(Recent *room, Text text, bool *known) { return text.length > SHORT ? NULL : place_of(room, text, known); }

/* Text without the bytes that the limit forbids, reported once for each place. */
static Text limited(Lexer *lexer, Span span, Text text, bool is_unit) {
    if (text.length <= SYNTAX_NAME_LIMIT) return text;
    if (!lexer->quiet) {
        lexer->slips++;
        TextBuilder count = text_builder(lexer->arena), most = text_builder(lexer->arena);
        text_add_count(&count, text.length);
        text_add_count(&most, SYNTAX_NAME_LIMIT);
        SAY(lexer->messages, NAME_TOO_LONG, span, is_unit ? TEXT("unit") : TEXT("name"), text_built(&count), text_built(&most));
    }
    size_t length = SYNTAX_NAME_LIMIT;
    while (length && ((unsigned char)text.at[length] & 0xC0) == 0x80) length--;
    return text_slice(text, 0, length);
}

Symbol lexer_name(Lexer *lexer, Text text) {
    bool known = false;
    Recent *place = place_of(lexer->memory->names, text, &known);
    if (known && (text.length <= SHORT || text_equal(symbol_text(lexer->tree->symbols, place->symbol), text))) return place->symbol;
    uint32_t start = lexer->base_position + (uint32_t)(text.at - lexer->base);
    text = limited(lexer, (Span){start, start + (uint32_t)text.length}, text, false);
    return place->symbol = symbol_of(lexer->tree->symbols, text);
}

Symbol lexer_clause(Lexer *lexer, Text text) {
    uint32_t start = lexer->base_position + (uint32_t)(text.at - lexer->base);
    text = limited(lexer, (Span){start, start + (uint32_t)text.length}, text, false);
    return symbol_of(lexer->tree->symbols, utf8_normal(lexer->arena, text));
}

Symbol lexer_unit(Lexer *lexer, Span span, Text text) {
    bool known = false;
    Recent *place = recent_of(lexer->memory->units, text, &known);
    if (known) return place->symbol;
    Text normal = utf8_normal(lexer->arena, limited(lexer, span, text, true));
    Symbol symbol = symbol_of(lexer->tree->symbols, normal);
    if (place) place->symbol = symbol;
    return symbol;
}

/* What to do about a character that is in no name but looks as if it were meant; *shown: how to show it. */
static Text name_advice(Text bad, Text *shown) {
    static const struct {
        const char *bad, *shown, *advice;
    } KNOWN[] = {
        {"\xC2\xA0", "U+00A0", "Use an ordinary space; this one does not break a line."},
        {"\xE2\x80\xAF", "U+202F", "Use an ordinary space; this one does not break a line."},
        {"\xE2\x80\x89", "U+2009", "Use an ordinary space; this one is thin."},
        {"\xE2\x80\x9C", "", "A text stands in straight double quotes: \"…\"."},
        {"\xE2\x80\x9D", "", "A text stands in straight double quotes: \"…\"."},
        {"\xE2\x80\x9E", "", "A text stands in straight double quotes: \"…\"."},
        {"\xC2\xAB", "", "A text stands in straight double quotes: \"…\"."},
        {"\xC2\xBB", "", "A text stands in straight double quotes: \"…\"."},
        {"\xC2\xB2", "", "A power is written x ^ 2."},
        {"\xC2\xB3", "", "A power is written x ^ 3."},
        {"\xE2\x80\x93", "", "A hyphen and a minus are written -."},
        {"\xE2\x80\x94", "", "A hyphen and a minus are written -; a comment begins with --."},
        {"\xC3\xB7", "", "Division is written /."},
    };
    for (size_t i = 0; i < sizeof KNOWN / sizeof *KNOWN; i++) {
        if (!text_is(bad, KNOWN[i].bad)) continue;
        if (*KNOWN[i].shown) *shown = text_from(KNOWN[i].shown);
        return text_from(KNOWN[i].advice);
    }
    return TEXT("A name has letters, digits, _ and inner hyphens.");
}

static void say_bad_name(Lexer *lexer, Span span, Text name, Text bad) {
    if (lexer->quiet) return;
    lexer->slips++;
    Text shown = utf8_visible(lexer->arena, bad), advice = name_advice(bad, &shown);
    bool first = text_starts(name, bad); /* a quote in front of a word is no part of a name */
    if (first && text_starts(lexer_text(lexer, span), bad)) span.end = span.start + (uint32_t)bad.length;
    if (first) SAY(lexer->messages, STRAY_CHARACTER, span, shown, advice);
    else SAY(lexer->messages, NAME_CHARACTER, span, utf8_visible(lexer->arena, name), shown, advice);
}

int lexer_wide_name(Lexer *lexer, Span span, Token *token) {
    token->span = span;
    Text text = limited(lexer, span, lexer_text(lexer, span), false), bad = TEXT("");
    bool known = false;
    Recent *place = text.length ? recent_of(lexer->memory->names, text, &known) : NULL;
    if (known && place->symbol) {
        token->value = place->symbol;
        return TOKEN_NAME;
    }
    if (place) place->length = 0; /* not to be taken for an ASCII name before it is judged */
    Text normal = utf8_normal(lexer->arena, text);
    if (!utf8_is_name(normal, &bad)) {
        say_bad_name(lexer, span, normal, bad);
        return TOKEN_STRAY;
    }
    token->value = symbol_of(lexer->tree->symbols, normal);
    if (place) *place = (Recent){place->low, place->high, (uint32_t)text.length, token->value};
    return TOKEN_NAME;
}

/* ---- slips ---- */

/* The hint for a character that means nothing in the language, but means something in others. */
static Text stray_advice(Text part) {
    static const struct {
        const char *part, *advice;
    } KNOWN[] = {
        {"#", "A comment begins with --."},
        {"'", "A text stands in double quotes."},
        {"!", "Negation is written not, and unequal !=."},
        {"&", "Right would be: and."},
        {"|", "Right would be: or."},
        {"[", "Braces are { and }; a list is written with commas alone: a, b, c."},
        {"]", "Braces are { and }; a list is written with commas alone: a, b, c."},
        {"\\", ""},
    };
    for (size_t i = 0; i < sizeof KNOWN / sizeof *KNOWN; i++)
        if (text_is(part, KNOWN[i].part)) return text_from(KNOWN[i].advice);
    return TEXT("");
}

void lexer_slip(Lexer *lexer, Slip slip, Span span, Text part, Text rest) {
    if (lexer->quiet) return;
    lexer->slips++;
    Messages *say = lexer->messages;
    Text seen = utf8_visible(lexer->arena, part);
    switch (slip) {
        case SLIP_STRAY: SAY(say, STRAY_CHARACTER, span, seen, stray_advice(part)); break;
        case SLIP_TEXT_OPEN: SAY(say, TEXT_NOT_CLOSED, span, TEXT("")); break;
        case SLIP_TEXT_ESCAPE: SAY(say, TEXT_BACKSLASH, span, TEXT("")); break;
        case SLIP_NAME_START: SAY(say, NAME_START, span, seen); break;
        case SLIP_CLAUSE: SAY(say, CLAUSE_MISSING, span, TEXT("")); break;
        case SLIP_LARGE: SAY(say, NUMBER_TOO_LARGE, span, utf8_first(seen, 40)); break;
        case SLIP_SMALL: SAY(say, NUMBER_TOO_SMALL, span, utf8_first(seen, 40)); break;
        case SLIP_COMMA: SAY(say, DECIMAL_COMMA, span, seen, rest); break;
        case SLIP_POINT: SAY(say, NUMBER_POINT, span, seen, rest); break;
        case SLIP_UNIT_SPACE: SAY(say, UNIT_SPACE, span, seen, utf8_visible(lexer->arena, rest)); break;
        case SLIP_OPERATOR_SPACE: SAY(say, OPERATOR_SPACE, span, seen, TEXT("")); break;
        case SLIP_SIGN_SPACE: SAY(say, OPERATOR_SPACE, span, seen, TEXT(" A tolerance is written ± 8 % or +5/-10 %.")); break;
        case SLIP_SKEW_ORDER: SAY(say, TOLERANCE_ORDER, span, part, rest); break;
        case SLIP_EQUAL_TWICE: SAY(say, EQUAL_TWICE, span, TEXT("")); break;
    }
}
