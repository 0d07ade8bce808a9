/* The rules by which bytes become tokens. What is not a rule is in src/syntax/lexeme.c. */
#include "syntax/lexer.h"

#include <string.h>

/*!re2c
    re2c:yyfill:enable = 0;
    re2c:flags:b = 1;
    re2c:sentinel = 10; // every run ends with a line end, and no token holds one
    re2c:define:YYCTYPE = "unsigned char";
    re2c:define:YYCURSOR = cursor;
    re2c:define:YYMARKER = marker;

    blank   = [ \t\r];
    digit   = [0-9];
    letter  = [A-Za-z];
    high    = [\x80-\xFF];               // a byte of a character from U+0080 up; which one it is, C looks at

    name    = letter (letter | digit | "_" | "-" (letter | digit | "_" | high))*;

    decimal = digit+ ("." digit+)?;
    clause  = (letter | digit | high) ((letter | digit | high | [._-])* (letter | digit | high))?;
    counted = digit ([A-Za-z0-9._-]* [A-Za-z0-9])? | [A-Z] ("." digit+)+;

    // A unit has no spaces inside: mN·m/A, V/(rad/s), 1/s, m^2, W^0.5, s⁻¹. A word in it may hold and end with ·.
    uword   = (letter | "%" | high) (letter | digit | "_" | "%" | high | "-" (letter | digit))*;
    upower  = "^" [+-]? (decimal | "(" [+-]? digit+ ("/" digit+)? ")");
    uitem   = (uword | "1") upower?;
    ugroup  = "(" uitem ([*/]? uitem)* ")" upower?;
    ugroups = "(" (uitem | ugroup) ([*/]? (uitem | ugroup))* ")" upower?;
    unit    = uword upower? ([*/] (uitem | ugroups) | ugroups | high uitem)*
            | "1" ([*/] (uitem | ugroups) | high uitem)+;

    // All words of the language but `in`, which after a number is the inch.
    word    = "or" | "and" | "not" | "at" | "if" | "then" | "else" | "to" | "yes" | "no" | "use" | "unit" | "prefix"
            | "kind" | "choice" | "form" | "cycle" | "source" | "requirement" | "concession" | "base" | "above" | "of" | "prefixes"
            | "also" | "shown" | "point" | "given" | "maybe" | "let" | "rule" | "caution" | "several" | "table" | "over"
            | "within" | "varies" | "with" | "settles" | "from" | "needs" | "cites" | "valid" | "when" | "shall"
            | "should" | "because" | "none" | "method" | "evidence" | "refines" | "reading" | "digest" | "covers" | "until"
            | "left" | "out" | "progressive" | "move" | "hold" | "run" | "for" | "speed" | "acceleration" | "deceleration" | "jerk" | "by" | "as" | "nominal"
            | "any" | "where";
*/

typedef const char *Cursor;

/* The signs of the language that are not ASCII. All other characters from U+0080 up are taken into names and units, and
 * judged there. */
static const struct {
    const char *bytes;
    int length, kind;
} SIGNS[] = {
    {"\xC2\xB7", 2, TOKEN_TIMES},       /* · */
    {"\xC2\xB1", 2, TOKEN_AROUND},      /* ± */
    {"\xC3\x97", 2, TOKEN_TIMES},       /* × */
    {"\xE2\x88\x92", 3, TOKEN_MINUS},   /* − */
    {"\xE2\x89\xA4", 3, TOKEN_AT_MOST}, /* ≤ */
    {"\xE2\x89\xA5", 3, TOKEN_AT_LEAST}, /* ≥ */
    {"\xE2\x89\xA0", 3, TOKEN_UNEQUAL}, /* ≠ */
    {"\xC2\xA7", 2, TOKEN_CLAUSE},      /* § */
};
enum { SIGN_COUNT = sizeof SIGNS / sizeof *SIGNS, SIGN_NONE = SIGN_COUNT };

/* Which sign begins here. Never looks past the line end, which is not in any sign. */
static unsigned sign_at(Cursor at) {
    if (*at != '\xC2' && *at != '\xC3' && *at != '\xE2') return SIGN_NONE;
    for (unsigned i = 0; i < SIGN_COUNT; i++) {
        const char *bytes = SIGNS[i].bytes;
        if (at[0] == bytes[0] && at[1] == bytes[1] && (SIGNS[i].length == 2 || at[2] == bytes[2])) return i;
    }
    return SIGN_NONE;
}

static bool is_digit(char c) { return c >= '0' && c <= '9'; }
static bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\r'; }
static bool is_space(char c) { return is_blank(c) || c == '\n'; }

/* ---- units ---------------------------------------------------------------------------------------------------------- */

/* Can a unit begin here? Quick, and now and then wrongly yes. */
static bool may_be_unit(Cursor at) {
    unsigned char c = (unsigned char)*at;
    return (unsigned char)((c | 32) - 'a') < 26 || c == '%' || c >= 0x80 || (c == '1' && (at[1] == '/' || at[1] == '*' || at[1] == '\xC2'));
}

/* The end of the unit at the cursor, or NULL. Where a unit is `due`, a word of the language is one as well, and 1. */
static Cursor unit_end(Cursor cursor, bool due) {
    Cursor marker;
    Cursor start = cursor;
    /*!re2c
        word { return due ? cursor : NULL; }
        "1"  { return due ? cursor : NULL; }
        unit { goto found; }
        *    { return NULL; }
    */
found:
    for (Cursor at = start; at < cursor; at++) { /* 8.2 Ω±8 %: a unit ends before every sign, but goes on after · */
        if ((unsigned char)*at < 0x80) continue;
        unsigned sign = sign_at(at);
        if (sign != SIGN_NONE && (SIGNS[sign].kind != TOKEN_TIMES || *at != '\xC2' || at == start)) return at == start ? NULL : at;
    }
    return cursor;
}

static Span span_of(const Lexer *lexer, Cursor start, Cursor end) {
    uint32_t position = lexer->base_position + (uint32_t)(start - lexer->base);
    return (Span){position, position + (uint32_t)(end - start)};
}

static Symbol unit_of_text(Lexer *lexer, Cursor start, Cursor end) {
    return lexer_unit(lexer, span_of(lexer, start, end), (Text){start, (size_t)(end - start)});
}

/* What runs on after a unit without a space, 3 N·m/(rad/s and 80 cm^x, is to be read as a part of it, and refused as one. */
static Cursor unit_run(Cursor end) {
    if ((*end != '/' && *end != '(' && *end != '^' && *end != '*') || is_space(end[1])) return end;
    for (int depth = 0; !is_space(*end) && !strchr(",;{}\"", *end); end++) {
        depth += *end == '(' ? 1 : *end == ')' ? -1 : 0;
        if (depth < 0) break;
    }
    return end;
}

/* After the last token a name follows, and no value: form, given, or the form of a thing. */
static bool name_is_due(const Lexer *lexer) {
    int last = lexer->now.last;
    if (last == TOKEN_NAME) return lexer->now.braces == 0;
    return (last >= TOKEN_CHOICE && last <= TOKEN_CONCESSION) || (last >= TOKEN_GIVEN && last <= TOKEN_CAUTION) || last == TOKEN_AS;
}

/* teeth = 20  pitch = 3 mm: where a unit could stand, the next field begins. So it does behind bounds, and in a list. */
static bool begins_field(const Lexer *lexer, Cursor end) {
    int last = lexer->now.last; /* NUMBER: the number is that of +5/-10 */
    bool compared = (last >= TOKEN_LESS && last <= TOKEN_AT_LEAST) || last == TOKEN_UNEQUAL; /* any motor where poles > 4  next = … */
    if (!compared && last != TOKEN_EQUAL && last != TOKEN_COMMA && last != TOKEN_TO && last != TOKEN_AROUND && last != TOKEN_NOMINAL && last != TOKEN_NUMBER) return false;
    while (is_blank(*end)) end++;
    return *end == '=';
}

/* The unit after a number: after blanks on the same line. Moves the cursor past it; 0 when there is none. */
static Symbol unit_after(Lexer *lexer, Cursor number, Cursor *cursor) {
    Cursor at = *cursor;
    while (is_blank(*at)) at++;
    if (!may_be_unit(at)) return 0;
    Cursor end = unit_end(at, false);
    if (!end || (at > *cursor && begins_field(lexer, end))) return 0;
    end = unit_run(end);
    if (at == *cursor && name_is_due(lexer))
        lexer_slip(lexer, SLIP_NAME_START, span_of(lexer, number, end), (Text){number, (size_t)(end - number)}, TEXT(""));
    else if (at == *cursor)
        lexer_slip(lexer, SLIP_UNIT_SPACE, span_of(lexer, number, end), (Text){number, (size_t)(at - number)}, (Text){at, (size_t)(end - at)});
    *cursor = end;
    return unit_of_text(lexer, at, end);
}

/* Where a unit is due (after `unit`, `shown`, …): takes it. From a next line only within a list. */
static bool take_due_unit(Lexer *lexer, Token *token, bool *first) {
    Cursor at = lexer->now.cursor;
    bool over_lines = lexer->now.last == TOKEN_COMMA;
    while (is_blank(*at) || (over_lines && *at == '\n')) {
        *first |= *at == '\n';
        if (++at < lexer->limit) continue;
        if (!lexer_next_run(lexer)) return false;
        at = lexer->now.cursor;
    }
    if (!may_be_unit(at) && *at != '1') return false;
    Cursor end = unit_end(at, true);
    if (!end) return false;
    *token = (Token){span_of(lexer, at, end), unit_of_text(lexer, at, end)};
    lexer->now.cursor = end;
    return true;
}

/* ---- numbers -------------------------------------------------------------------------------------------------------- */

static const double POWERS[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

/* digits, point and digits, exponent; no sign before. Exact where a double holds the digits and the power of ten;
 * otherwise number_read is asked. */
static double decimal_at(Cursor *cursor, bool *is_zero) {
    Cursor start = *cursor, at = start;
    uint64_t digits = 0;
    int scale = 0;
    while (is_digit(*at)) digits = digits * 10 + (uint64_t)(*at++ - '0');
    Cursor last = at;
    if (*at == '.' && is_digit(at[1])) {
        at++;
        while (is_digit(*at)) digits = digits * 10 + (uint64_t)(*at++ - '0');
        scale = (int)(last + 1 - at);
        last = at - 1; /* the point is no digit */
    }
    bool fits = last - start <= 19 && digits <= (uint64_t)1 << 53;
    Cursor mantissa_end = at;
    if ((*at | 32) == 'e' && (is_digit(at[1]) || ((at[1] == '-' || at[1] == '+') && is_digit(at[2])))) {
        bool down = at[1] == '-';
        int exponent = 0;
        at += at[1] == '-' || at[1] == '+' ? 2 : 1;
        for (; is_digit(*at); at++)
            if (exponent < 10000) exponent = exponent * 10 + (*at - '0');
        scale += down ? -exponent : exponent;
    }
    *cursor = at;
    if (fits && scale >= -22 && scale <= 22) {
        *is_zero = digits == 0;
        return scale < 0 ? (double)digits / POWERS[-scale] : (double)digits * POWERS[scale];
    }
    *is_zero = true;
    for (Cursor c = start; c < mantissa_end; c++)
        if (*c >= '1' && *c <= '9') *is_zero = false;
    return *is_zero ? 0 : number_read((Text){start, (size_t)(at - start)});
}

/* What may be wrong right behind a number: 0,5 and 1.2.3 and 5. */
static Cursor after_number(Lexer *lexer, Cursor start, Cursor cursor) {
    bool comma = *cursor == ',' && is_digit(cursor[1]);
    if (!comma && (*cursor != '.' || cursor[1] == '.')) return cursor;
    Cursor mark = cursor++;
    while (is_digit(*cursor) || (*cursor == '.' && is_digit(cursor[1]))) cursor++;
    lexer_slip(lexer, comma ? SLIP_COMMA : SLIP_POINT, span_of(lexer, start, cursor), (Text){start, (size_t)(mark - start)},
               (Text){mark + 1, (size_t)(cursor - mark - 1)});
    return cursor;
}

/* A number and its unit; the cursor is on its first digit, `start` on its sign or also on the digit. */
static int number_token(Lexer *lexer, Cursor start, Cursor cursor, bool negative, Token *token) {
    Cursor digits = cursor;
    bool is_zero;
    double number = decimal_at(&cursor, &is_zero);
    Cursor end = cursor;
    if (*cursor == ',' || *cursor == '.') cursor = after_number(lexer, digits, cursor);
    Symbol unit = unit_after(lexer, start, &cursor);
    token->span = span_of(lexer, start, cursor);
    lexer->now.cursor = cursor;
    if ((number == 0 && !is_zero) || number > 1.7976931348623157e308) {
        lexer_slip(lexer, number == 0 ? SLIP_SMALL : SLIP_LARGE, span_of(lexer, start, end),
                   (Text){start, (size_t)(end - start)}, TEXT(""));
        return TOKEN_STRAY;
    }
    token->value = tree_add(lexer->tree, NODE_NUMBER, token->span);
    Node *node = tree_node(lexer->tree, token->value);
    node->number = negative && !is_zero ? -number : number;
    node->name = unit;
    return TOKEN_NUMBER;
}

static Cursor past_sign(Cursor at) { return *at == '-' || *at == '+' ? at + 1 : at + 3; /* U+2212 */ }

/* +5/-10 %, and by a slip -10/+5 %. */
static int skew_token(Lexer *lexer, Cursor start, Token *token) {
    bool is_zero, turned = *start != '+';
    Cursor at = past_sign(start);
    double one = decimal_at(&at, &is_zero);
    at = past_sign(at + 1);
    double other = decimal_at(&at, &is_zero);
    Cursor end = at;
    Symbol unit = unit_after(lexer, start, &at);
    token->span = span_of(lexer, start, at);
    lexer->now.cursor = at;
    if (turned) {
        Cursor slash = memchr(start, '/', (size_t)(end - start));
        Cursor low = past_sign(start);
        lexer_slip(lexer, SLIP_SKEW_ORDER, token->span, (Text){slash + 2, (size_t)(end - slash - 2)}, (Text){low, (size_t)(slash - low)});
    }
    NodeId bounds = tree_add(lexer->tree, NODE_BOUNDED, token->span);
    NodeId above = tree_add(lexer->tree, NODE_NUMBER, token->span), below = tree_add(lexer->tree, NODE_NUMBER, token->span);
    Node *node = tree_node(lexer->tree, bounds);
    node->op = BOUNDS_SKEWED;
    node->b = above;
    node->c = below;
    tree_node(lexer->tree, above)->number = turned ? other : one;
    tree_node(lexer->tree, below)->number = turned ? one : other;
    tree_node(lexer->tree, above)->name = tree_node(lexer->tree, below)->name = unit;
    token->value = bounds;
    return TOKEN_SKEW;
}

/* ---- texts, operators ------------------------------------------------------------------------------------------------ */

static int text_token(Lexer *lexer, Cursor start, Cursor cursor, Token *token) {
    token->span = span_of(lexer, start, cursor);
    token->value = tree_add(lexer->tree, NODE_TEXT, token->span);
    lexer->now.cursor = cursor;
    return TOKEN_TEXT;
}

/* The first backslash of a text that stands before anything else than a quote or a backslash; there is one. */
static Cursor bad_escape(Cursor at) {
    while (*at != '\\' || at[1] == '"' || at[1] == '\\') at += *at == '\\' ? 2 : 1;
    return at;
}

/* A text that has no end on its line. Without a brace at the very end: that was hardly meant to be in it. */
static int open_text(Lexer *lexer, Cursor start, Token *token) {
    Cursor end = start;
    while (*end != '\n') end++;
    while (is_blank(end[-1])) end--;
    lexer_slip(lexer, SLIP_TEXT_OPEN, span_of(lexer, start, end), TEXT(""), TEXT(""));
    while (end - 1 > start && (end[-1] == '{' || end[-1] == '}' || is_blank(end[-1]))) end--;
    return text_token(lexer, start, end, token);
}

/* + - * / after a value: with a space on both sides, because a-b is one name and m/s one unit. */
static int operator_token(Lexer *lexer, int kind, Cursor start, Cursor cursor, Token *token) {
    token->span = span_of(lexer, start, cursor);
    lexer->now.cursor = cursor;
    if (!(token_traits(lexer->now.last) & OPERAND)) return kind;
    if (start > lexer->base && is_space(start[-1]) && is_space(*cursor)) return kind;
    bool sign = (kind == TOKEN_PLUS || kind == TOKEN_MINUS) && is_digit(*cursor);
    lexer_slip(lexer, sign ? SLIP_SIGN_SPACE : SLIP_OPERATOR_SPACE, token->span, (Text){start, (size_t)(cursor - start)}, TEXT(""));
    return kind;
}

/* A sign: of a number, when a digit follows at once and no value stands before; else an operator. */
static int sign_token(Lexer *lexer, int kind, Cursor start, Cursor cursor, Token *token) {
    if (is_digit(*cursor) && !(token_traits(lexer->now.last) & OPERAND))
        return number_token(lexer, start, cursor, kind == TOKEN_MINUS, token);
    return operator_token(lexer, kind, start, cursor, token);
}

/* §4.1 and clause 4.1; `mark` is the end of the sign or word. */
static int clause_token(Lexer *lexer, Cursor start, Cursor mark, Cursor cursor, Token *token) {
    while (is_blank(*mark)) mark++;
    token->span = span_of(lexer, start, cursor);
    token->value = lexer_clause(lexer, (Text){mark, (size_t)(cursor - mark)});
    lexer->now.cursor = cursor;
    return TOKEN_CLAUSE;
}

/* A character that means nothing; with all its bytes. */
static int stray_token(Lexer *lexer, Slip slip, Cursor start, Cursor cursor, Token *token) {
    while (((unsigned char)*cursor & 0xC0) == 0x80) cursor++;
    token->span = span_of(lexer, start, cursor);
    lexer->now.cursor = cursor;
    lexer_slip(lexer, slip, token->span, (Text){start, (size_t)(cursor - start)}, TEXT(""));
    return TOKEN_STRAY;
}

static bool is_in_name(Cursor at) {
    unsigned char c = (unsigned char)*at;
    return (unsigned char)((c | 32) - 'a') < 26 || is_digit(*at) || c == '_' || (c >= 0x80 && sign_at(at) == SIGN_NONE);
}

/* The end of the name that begins here, other letters than ASCII included. */
static Cursor name_end(Cursor at) {
    while (is_in_name(at) || (*at == '-' && is_in_name(at + 1))) at++;
    return at;
}

static bool is_equal_sign(Cursor at) {
    while (is_blank(*at)) at++;
    return *at == '=';
}

/* Does a name follow on the same line that is not the next field's? */
static bool begins_name(Cursor at) {
    while (is_blank(*at)) at++;
    if (!is_in_name(at) || is_digit(*at) || *at == '_') return false;
    Cursor end = name_end(at);
    Text word = {at, (size_t)(end - at)};
    int kind = token_of_word(word);
    return !(token_traits(kind) & RESERVED) && !is_equal_sign(end);
}

static int wide_name(Lexer *lexer, Cursor start, Token *token) {
    Cursor end = name_end(start);
    lexer->now.cursor = end;
    return lexer_wide_name(lexer, span_of(lexer, start, end), token);
}

/* A token that begins with a character from U+0080 up. */
static int high_token(Lexer *lexer, Cursor start, Token *token) {
    unsigned sign = sign_at(start);
    if (sign == SIGN_NONE) return wide_name(lexer, start, token);
    Cursor end = start + SIGNS[sign].length;
    switch (SIGNS[sign].kind) {
        case TOKEN_TIMES: return operator_token(lexer, TOKEN_TIMES, start, end, token);
        case TOKEN_MINUS: return sign_token(lexer, TOKEN_MINUS, start, end, token);
        case TOKEN_CLAUSE: return stray_token(lexer, SLIP_CLAUSE, start, end, token);
        default: break;
    }
    token->span = span_of(lexer, start, end);
    lexer->now.cursor = end;
    return SIGNS[sign].kind;
}

/* ---- the tokens ------------------------------------------------------------------------------------------------------- */

#define RETURN(kind_)                                     \
    do {                                                  \
        token->span = span_of(lexer, start, cursor);      \
        now->cursor = cursor;                             \
        return kind_;                                     \
    } while (0)

static int next_token(Lexer *lexer, Token *token) {
    LexerState *now = &lexer->now;
    Cursor cursor = now->cursor, marker, start;
    token->value = 0;
again:
    start = cursor;
    /*!re2c
        blank+ { goto again; }
        "\n" {
            now->first = true;
            if (cursor < lexer->limit) goto again;
            if (lexer_next_run(lexer)) {
                cursor = now->cursor;
                goto again;
            }
            now->cursor = start; /* the same again */
            token->span = (Span){lexer->end, lexer->end};
            return TOKEN_END;
        }
        "--" [^\n]* { goto again; }

        digit   { return number_token(lexer, start, start, false, token); }
        "+"     { return sign_token(lexer, TOKEN_PLUS, start, cursor, token); }
        "-"     { return sign_token(lexer, TOKEN_MINUS, start, cursor, token); }
        "+" decimal "/" ("-" | "\xE2\x88\x92") decimal { return skew_token(lexer, start, token); }
        "-" decimal "/+" decimal      { return skew_token(lexer, start, token); }
        "." digit {
            lexer_slip(lexer, SLIP_POINT, span_of(lexer, start, cursor), TEXT("0"), (Text){start + 1, 1});
            return number_token(lexer, start, start + 1, false, token);
        }

        ["] ([^"\\\n] | "\\" ["\\])* ["]    { return text_token(lexer, start, cursor, token); }
        ["] ([^"\\\n] | "\\" [^\n])* ["] {
            Cursor bad = bad_escape(start + 1);
            lexer_slip(lexer, SLIP_TEXT_ESCAPE, span_of(lexer, bad, bad + 1), TEXT(""), TEXT(""));
            return text_token(lexer, start, cursor, token);
        }
        ["]     { return open_text(lexer, start, token); }

        "\xC2\xA7" blank* clause     { return clause_token(lexer, start, start + 2, cursor, token); } // §
        "clause" blank+ counted       { return clause_token(lexer, start, start + 6, cursor, token); }

        "{"     { now->braces++; now->parens = 0; now->in_takes_unit = now->member = false; RETURN(TOKEN_LBRACE); }
        "}"     { now->braces -= now->braces > 0; now->parens = 0; now->in_takes_unit = now->member = false; RETURN(TOKEN_RBRACE); }
        "("     { now->parens++; RETURN(TOKEN_LPAREN); }
        ")"     { now->parens -= now->parens > 0; RETURN(TOKEN_RPAREN); }
        ","     { now->unit_due = now->unit_list && now->last == TOKEN_UNIT_TEXT; RETURN(TOKEN_COMMA); }
        ":"     { now->in_takes_unit |= now->member; now->member = false; RETURN(TOKEN_COLON); }
        ";"     { RETURN(TOKEN_SEMICOLON); }
        "."     { RETURN(TOKEN_DOT); }
        "="     { now->in_takes_unit = now->member = false; RETURN(TOKEN_EQUAL); }
        "=="    { lexer_slip(lexer, SLIP_EQUAL_TWICE, span_of(lexer, start, cursor), TEXT(""), TEXT("")); RETURN(TOKEN_EQUAL); }
        "<"     { RETURN(TOKEN_LESS); }
        "<="    { RETURN(TOKEN_AT_MOST); }
        ">"     { RETURN(TOKEN_MORE); }
        ">="    { RETURN(TOKEN_AT_LEAST); }
        "!="    { RETURN(TOKEN_UNEQUAL); }
        "*"     { return operator_token(lexer, TOKEN_TIMES, start, cursor, token); }
        "/"     { return operator_token(lexer, TOKEN_OVER, start, cursor, token); }
        "^"     { RETURN(TOKEN_POWER); }
        "+-"    { RETURN(TOKEN_AROUND); }

        "or"    { RETURN(TOKEN_OR); }
        "and"   { RETURN(TOKEN_AND); }
        "not"   { RETURN(TOKEN_NOT); }
        "at"    { RETURN(TOKEN_AT); }
        "if"    { RETURN(TOKEN_IF); }
        "then"  { RETURN(TOKEN_THEN); }
        "else"  { RETURN(TOKEN_ELSE); }
        "to"    { RETURN(TOKEN_TO); }
        "yes"   { RETURN(TOKEN_YES); }
        "no"    { RETURN(TOKEN_NO); }
        "in" {
            if (now->in_takes_unit) {
                now->in_takes_unit = now->unit_list = false;
                now->unit_due = true;
                RETURN(TOKEN_IN_UNIT);
            }
            if (lexer->in_cycle && !now->parens) RETURN(TOKEN_IN_TIME);
            RETURN(TOKEN_IN);
        }

        "use"   { RETURN(TOKEN_USE); }
        "unit"  { now->unit_due = now->unit_list = now->first && !now->braces; RETURN(TOKEN_UNIT); }
        "prefix" { now->unit_due = now->unit_list = now->first && !now->braces; RETURN(TOKEN_PREFIX); }
        "kind"  { now->in_takes_unit = now->first && !now->braces; RETURN(TOKEN_KIND); }
        "choice" { RETURN(TOKEN_CHOICE); }
        "form"  { RETURN(TOKEN_FORM); }
        "cycle" { RETURN(TOKEN_CYCLE); }
        "source" { RETURN(TOKEN_SOURCE); }
        "requirement" { RETURN(TOKEN_REQUIREMENT); }
        "concession" { RETURN(TOKEN_CONCESSION); }

        "base"  { RETURN(TOKEN_BASE); }
        "above" { RETURN(TOKEN_ABOVE); }
        "of"    { RETURN(TOKEN_OF); }
        "prefixes" { RETURN(TOKEN_PREFIXES); }
        "also"  { now->unit_due = now->last == TOKEN_UNIT_TEXT; now->unit_list = false; RETURN(TOKEN_ALSO); }
        "shown" { now->unit_due = now->unit_list = now->last == TOKEN_UNIT_TEXT; RETURN(TOKEN_SHOWN); }
        "point" { RETURN(TOKEN_POINT); }
        "given" { now->member = true; RETURN(TOKEN_GIVEN); }
        "maybe" { now->member = true; RETURN(TOKEN_MAYBE); }
        "let"   { now->member = true; RETURN(TOKEN_LET); }
        "rule"  { RETURN(TOKEN_RULE); }
        "caution" { RETURN(TOKEN_CAUTION); }
        "several" { RETURN(TOKEN_SEVERAL); }
        "table" { RETURN(TOKEN_TABLE); }
        "over"  { RETURN(TOKEN_OVER_WORD); }
        "within" { now->in_takes_unit = false; RETURN(TOKEN_WITHIN); }
        "varies" { now->in_takes_unit = false; RETURN(TOKEN_VARIES); }
        "with"  { RETURN(TOKEN_WITH); }
        "settles" { now->in_takes_unit = false; RETURN(TOKEN_SETTLES); }
        "from"  { RETURN(TOKEN_FROM); }
        "needs" { now->in_takes_unit = false; RETURN(TOKEN_NEEDS); }
        "cites" { RETURN(TOKEN_CITES); }
        "valid" { RETURN(TOKEN_VALID); }
        "when"  { RETURN(TOKEN_WHEN); }
        "shall" { RETURN(TOKEN_SHALL); }
        "should" { RETURN(TOKEN_SHOULD); }
        "because" { RETURN(TOKEN_BECAUSE); }
        "none"  { RETURN(TOKEN_NONE); }
        "method" { RETURN(TOKEN_METHOD); }
        "evidence" { RETURN(TOKEN_EVIDENCE); }
        "refines" { RETURN(TOKEN_REFINES); }
        "reading" { RETURN(TOKEN_READING); }
        "digest" { RETURN(TOKEN_DIGEST); }
        "covers" { RETURN(TOKEN_COVERS); }
        "until" { RETURN(TOKEN_UNTIL); }
        "left"  { RETURN(TOKEN_LEFT); }
        "out"   { RETURN(TOKEN_OUT); }
        "progressive" { RETURN(TOKEN_PROGRESSIVE); }
        "move"  { RETURN(TOKEN_MOVE); }
        "hold"  { RETURN(TOKEN_HOLD); }
        "run"   { RETURN(TOKEN_RUN); }
        "for"   { RETURN(TOKEN_FOR); }
        "speed" { RETURN(TOKEN_SPEED); }
        "acceleration" { RETURN(TOKEN_ACCELERATION); }
        "deceleration" { RETURN(TOKEN_DECELERATION); }
        "jerk"  { RETURN(TOKEN_JERK); }
        "by"    { RETURN(TOKEN_BY); }
        "as"    { RETURN(TOKEN_AS); }
        // `x = 20 V to 28 V` may be followed by a field called nominal
        "nominal" { RETURN(now->first ? TOKEN_NAME : TOKEN_NOMINAL); }
        // `motor = any` may be followed by another field; a field may be called where
        "any"   { RETURN(begins_name(cursor) ? TOKEN_ANY : TOKEN_NAME); }
        "where" { RETURN(is_equal_sign(cursor) ? TOKEN_NAME : TOKEN_WHERE); }

        name    { token->value = lexer_name(lexer, (Text){start, (size_t)(cursor - start)}); RETURN(TOKEN_NAME); }
        high    { return high_token(lexer, start, token); }
        "_"     { return stray_token(lexer, SLIP_NAME_START, start, name_end(start), token); }

        *       { return stray_token(lexer, SLIP_STRAY, start, cursor, token); }
    */
}

int lexer_next(Lexer *lexer, Token *token) {
    LexerState *now = &lexer->now;
    now->first = now->fresh;
    now->fresh = false;
    if (now->unit_due) {
        now->unit_due = false;
        if (take_due_unit(lexer, token, &now->first)) return now->last = TOKEN_UNIT_TEXT;
    }
    int kind = next_token(lexer, token);
    /* A name that begins in ASCII and goes on otherwise: größe. */
    if ((unsigned char)*now->cursor >= 0x80 && (kind == TOKEN_NAME || kind >= TOKEN_OR) && sign_at(now->cursor) == SIGN_NONE) {
        now->unit_due = now->in_takes_unit = now->member = false;
        kind = wide_name(lexer, now->cursor - (token->span.end - token->span.start), token);
    }
    return now->last = kind;
}
