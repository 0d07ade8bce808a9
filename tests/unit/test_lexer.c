#include "syntax/lexer.h"
#include "given_syntax.h"
#include "syntax/reader.h"

#include <math.h>
#include <stdio.h>

/* The kinds of all tokens of a text, by their words, each with what it holds. */
static Text tokens(GivenText *given)
{
    Lexer *lexer = ARENA_NEW(given->arena, Lexer);
    TextBuilder out = text_builder(given->arena);
    Token token;
    int kind;
    lexer_open(lexer, given->tree, given->source, given->messages);
    while ((kind = lexer_next(lexer, &token)) != TOKEN_END) {
        text_add_string(&out, out.length ? " | " : "");
        text_add_string(&out, token_words(kind));
        bool is_symbol = kind == TOKEN_NAME || kind == TOKEN_UNIT_TEXT || kind == TOKEN_CLAUSE;
        Symbol symbol = is_symbol ? token.value : kind == TOKEN_NUMBER ? tree_node(given->tree, token.value)->name : 0;
        if (symbol) text_add_char(&out, ' ');
        text_add(&out, symbol_text(given->tree->symbols, symbol));
    }
    cr_assert_eq(lexer_next(lexer, &token), TOKEN_END, "the end stays the end");
    return text_built(&out);
}

static void check(const char *text, const char *expected)
{
    GivenText given = given_text(text);
    cr_text(tokens(&given), expected);
    cr_text(messages_render(given.arena, given.messages), "");
    given_end(&given);
}

Test(lexer, every_token_has_a_row)
{
    for (int kind = 0; kind < parser_token_count(); kind++) cr_assert_not_null(token_words(kind), "token %d", kind);
}

/* tokens.def, lexer.re and parser.y have the same words, and the same words can be names. */
Test(lexer, words_are_the_same_in_all_files)
{
    unsigned words = 0;
    for (int kind = 1; kind < parser_token_count(); kind++) {
        unsigned traits = token_traits(kind);
        cr_assert_eq(parser_is_name(kind), kind == TOKEN_NAME || (traits & WORD) != 0, "%s", token_words(kind));
        if (!(traits & (WORD | RESERVED))) continue;
        words++;
        GivenText given = given_text(token_words(kind));
        Lexer *lexer = ARENA_NEW(given.arena, Lexer);
        Token token;
        lexer_open(lexer, given.tree, given.source, given.messages);
        int found = lexer_next(lexer, &token);
        cr_assert_eq(found, kind == TOKEN_NOMINAL || kind == TOKEN_ANY ? TOKEN_NAME : kind, "%s", token_words(kind));
        cr_assert_eq(token_of_word(text_from(token_words(kind))), kind, "%s", token_words(kind));
        given_end(&given);

        char after_number[64];
        snprintf(after_number, sizeof after_number, "5 %s", token_words(kind));
        given = given_text(after_number);
        lexer = ARENA_NEW(given.arena, Lexer);
        lexer_open(lexer, given.tree, given.source, given.messages);
        lexer_next(lexer, &token);
        bool is_unit = tree_node(given.tree, token.value)->name != 0;
        cr_assert_eq(is_unit, kind == TOKEN_IN, "%s after a number", token_words(kind));
        given_end(&given);
    }
    cr_assert(words > 60);
}

Test(lexer, names)
{
    check("LIFT-4 Rook-38-24 a_b a--remark\nb", "a name LIFT-4 | a name Rook-38-24 | a name a_b | a name a | a name b");
    check("gr\u00F6\u00DFe \u00FCber unit\u00E4t in\u00DF \u03BC", "a name gr\u00F6\u00DFe | a name \u00FCber | a name unit\u00E4t | a name in\u00DF | a name \u03BC");
    check("a\u2264b", "a name a | '<=' | a name b");
}

Test(lexer, units)
{
    check("22.4 mN\u00B7m/A", "a number mN\u00B7m/A");
    check("5 V/(rad/s) 3 1/s 8 m^2 1 s^-1 2 s\u207B\u00B9 7 W^0.5 4 m^(1/2)",
          "a number V/(rad/s) | a number 1/s | a number m^2 | a number s^-1 | a number s\u207B\u00B9 | a number W^0.5 | a number m^(1/2)");
    check("5 N\u00B7(m/s) 6 kg\u00B7m\u00B2 7 m^2\u00B7K 8 %/K", "a number N\u00B7(m/s) | a number kg\u00B7m\u00B2 | a number m^2\u00B7K | a number %/K");
    check("5 in 6 in/s 7 in\u00B7lbf", "a number in | a number in/s | a number in\u00B7lbf");
    check("5\nmm", "a number | a name mm");
    check("8.2 \u2126\u00B18 %", "a number \u03A9 | '+-' | a number %");
    check("40 \u00B0C: 100 %; 5 mm, 6 mm) 7 mm}", "a number \u00B0C | ':' | a number % | ';' | a number mm | ',' | a number mm | ')' | a number mm | '}'");
    check("24 V / resistance", "a number V | '/' | a name resistance");
    check("24 V/resistance", "a number V/resistance");
    check("5 \u00B7 x", "a number | '*' | a name x");
    check("unit m, in,\n to \"x\"", "unit | a unit m | ',' | a unit in | ',' | a unit to | a text in double quotes");
    check("kind x in 1 shown %, in also in", "kind | a name x | in | a unit 1 | shown | a unit % | ',' | a unit in | also | a unit in");
}

Test(lexer, signs)
{
    check("-320 mm", "a number mm");
    check("\u2212320 mm", "a number mm");
    check("= -3 ( -3 , +3 < -3", "'=' | a number | '(' | a number | ',' | a number | '<' | a number");
    check("a - 3", "a name a | '-' | a number");
    check("- a", "'-' | a name a");
    check("24 V +5/-10 % +5/\u221210 mm", "a number V | '+5/-10 %' | '+5/-10 %'");
    check("5 +- 3 \u00B1 2", "a number | '+-' | a number | '+-' | a number");
    check("\u2264 \u2265 \u2260 <= >= != < > \u00D7 \u00B7 * ^", "'<=' | '>=' | '!=' | '<=' | '>=' | '!=' | '<' | '>' | '*' | '*' | '*' | '^'");
}

Test(lexer, clauses)
{
    check("\u00A74.1 \u00A7 A.3-b clause 4.1 clause A.1 clause x \u00A71.",
          "a clause such as \u00A74.1 4.1 | a clause such as \u00A74.1 A.3-b | a clause such as \u00A74.1 4.1 | a clause such as \u00A74.1 A.1 | "
          "a name clause | a name x | a clause such as \u00A74.1 1 | '.'");
}

static double read_number(const char *text)
{
    GivenText given = given_text(text);
    Lexer *lexer = ARENA_NEW(given.arena, Lexer);
    Token token;
    lexer_open(lexer, given.tree, given.source, given.messages);
    int kind = lexer_next(lexer, &token);
    double number = kind == TOKEN_NUMBER ? tree_node(given.tree, token.value)->number : NAN;
    cr_assert_eq(token.span.end - token.span.start, strlen(text), "%s", text);
    given_end(&given);
    return number;
}

Test(lexer, numbers_are_rounded_correctly)
{
    static const char *const hard[] = {
        "0", "-0", "0.0e5", "1", "8.2", "1e22", "1e23", "9007199254740993", "9007199254740992.5", "123456789012345678901234567890",
        "2.2250738585072011e-308", "2.2250738585072014e-308", "4.9e-324", "1.7976931348623157e308", "179769313486231580793e288",
        "0.000000000000000000000000000000000000000000000000000000000001", "1.00000000000000011102230246251565404236316680908203125",
        "1.00000000000000011102230246251565404236316680908203124", "1.00000000000000011102230246251565404236316680908203126",
        "3.5e-5", "0.1", "0.3", "1e-22", "1e-23", "99999999999999999999e-3", "1e+5", "1E5", "18446744073709551616", "36893488147419103232e-1"};
    for (size_t i = 0; i < sizeof hard / sizeof *hard; i++) cr_expect_eq(read_number(hard[i]), strtod(hard[i], NULL), "%s", hard[i]);
    cr_assert_not(signbit(read_number("-0")));
}

Test(lexer, random_numbers_are_rounded_correctly)
{
    uint64_t state = 4711;
    for (unsigned round = 0; round < 20000; round++) {
        char text[128];
        size_t length = 0, digits = 1 + given_random(&state) % (round % 10 ? 20 : 60), point = given_random(&state) % (digits + 1);
        for (size_t i = 0; i < digits; i++) {
            if (i == point && i) text[length++] = '.';
            text[length++] = (char)('0' + given_random(&state) % 10);
        }
        int exponent = (int)(given_random(&state) % 600) - 300;
        if (round % 3) snprintf(text + length, sizeof text - length, "e%d", round % 3 == 1 ? exponent : exponent / 12);
        else text[length] = '\0';
        double right = strtod(text, NULL);
        if (isinf(right) || right == 0) continue;
        cr_assert_eq(read_number(text), right, "%s", text);
    }
}

/* More digits than are kept: what is left out decides a tie. */
Test(lexer, thousands_of_digits_are_rounded_correctly)
{
    Arena *arena = given_arena();
    const char *tie = "1.00000000000000011102230246251565404236316680908203125";
    for (unsigned last = 0; last < 2; last++) {
        TextBuilder text = text_builder(arena);
        text_add_string(&text, tie);
        text_add_repeat(&text, '0', 3000);
        text_add_char(&text, (char)('0' + last));
        cr_assert_eq(number_read(text_built(&text)), last ? 1.0000000000000002 : 1.0);
    }
    TextBuilder zeros = text_builder(arena);
    text_add_string(&zeros, "0.");
    text_add_repeat(&zeros, '0', 100000);
    text_add_string(&zeros, "25e100001");
    cr_assert_eq(number_read(text_built(&zeros)), 2.5);
    TextBuilder large = text_builder(arena);
    text_add_repeat(&large, '9', 100000);
    cr_assert(isinf(number_read(text_built(&large))));
    text_add_string(&large, "e-99999");
    cr_assert_eq(number_read(text_built(&large)), 10.0);
    cr_assert_eq(number_read(TEXT("1e-99999999999999999999999")), 0.0);
    arena_close(arena);
}
