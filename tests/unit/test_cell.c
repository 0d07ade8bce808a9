#include "syntax/cell.h"

#include "given_syntax.h"
#include "syntax/written.h"

/* The cell is all of the source. */
static NodeId read_all(GivenText *given, bool *said) {
    CellReader *cells = cell_open(given->tree, given->source, given->messages);
    Text bytes = given->source->bytes;
    return cell_read(cells, bytes, (Span){given->source->base, given->source->base + (uint32_t)bytes.length}, said);
}

/* Read as a cell, written, and read as the field of a card: the same nodes. */
static void comes_back(const char *bytes, const char *written) {
    bool said;
    GivenText given = given_text(bytes);
    given.items = read_all(&given, &said);
    cr_assert(given.items != 0 && !said, "%s is not read", bytes);
    Text text = written_value(given.tree, given.arena, given.items), parts[1] = {text};
    cr_text(text, written);
    GivenText card = given_text(text_zero_ended(given.arena, text_fill(given.arena, TEXT("a b {{ c = {0} }"), parts, 1)));
    given_read(&card);
    card.items = tree_node(card.tree, tree_node(card.tree, card.items)->b)->a;
    cr_text(given_dump(&card), text_zero_ended(given.arena, given_dump(&given)));
    given_end(&card);
    given_end(&given);
}

Test(cell, values_come_back) {
    comes_back("5", "5");
    comes_back("5 mm", "5 mm");
    comes_back("  5   mm", "5 mm");
    comes_back("-5.20e-3 V/(rad/s)", "-5.20e-3 V/(rad/s)");
    comes_back("5 in", "5 in");
    comes_back("5 1/s", "5 1/s");
    comes_back("8.2 Ω ± 8 %", "8.2 Ω ± 8 %");
    comes_back("8.2 Ω+-8 %", "8.2 Ω ± 8 %");
    comes_back("24 V +5/-10 %", "24 V +5/-10 %");
    comes_back("20 V to 28 V nominal 24 V", "20 V to 28 V nominal 24 V");
    comes_back("yes", "yes");
    comes_back("nominal", "nominal");
    comes_back("CANopen, EtherCAT", "CANopen, EtherCAT");
    comes_back("\"a \\\"b\\\"\" \"c\"", "\"a \\\"b\\\"c\"");
    comes_back("table { 40 °C: 100 %; 60 °C: 55 %; }", "table { 40 °C: 100 %; 60 °C: 55 % }");
    comes_back("table \"a.csv\"", "table \"a.csv\"");
    comes_back("any motor where mass <= 3 kg", "any motor where mass <= 3 kg");
    comes_back("disc { mass = 60 g  diameter = a - 2 * 3\n inner = x }", "disc { mass = 60 g  diameter = a - 2 * 3\ninner = x }");
    comes_back("disc \"A \\\"lid\\\"\" { }", "disc \"A \\\"lid\\\"\" { }");
}

Test(cell, formulas_come_back) {
    comes_back("(a) + b", "(a) + b");
    comes_back("((a + b)) * c ^ 2", "(a + b) * c ^ 2");
    comes_back("-3 ^ 2", "- 3 ^ 2");
    comes_back("- 3 * -x", "- 3 * - x");
    comes_back("-(3 mm)", "- (3 mm)");
    comes_back("a.b.c + min(1 mm, 2 * d)", "a.b.c + min(1 mm, 2 * d)");
    comes_back("1 mm <= x <= 2 mm", "1 mm <= x <= 2 mm");
    comes_back("not a and (b or c)", "not a and (b or c)");
    comes_back("if a > 2 then 3 mm else if b then 4 mm else 5 mm", "if a > 2 then 3 mm else if b then 4 mm else 5 mm");
    comes_back("derating at 40 °C", "derating at 40 °C");
    comes_back("x in buses", "x in buses");
}

Test(cell, what_is_no_value) {
    static const char *const wrong[] = {"", "5 mm 6", "a b", "a =", "= 5", "5 }", "{ 5 }", "table { 1: }", "3,", ",", "form x { }", "a { b = 1", "1 ±"};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        bool said;
        GivenText given = given_text(wrong[i]);
        cr_assert_eq(read_all(&given, &said), 0, "%s is read", wrong[i]);
        cr_assert_not(said, "of %s something is said", wrong[i]);
        given_end(&given);
    }
}

Test(cell, slips_are_said_and_read) {
    bool said;
    GivenText given = given_text("5mm");
    cr_assert(read_all(&given, &said) != 0 && said);
    cr_text(text_from(message_name(given.messages->list.at[0].id)), "unit-space");
    given_end(&given);
}

Test(cell, doubled_quotes_keep_their_places) {
    GivenText given = given_text("x,\"\"\"a\"\" \"\"b\"\", 5 mm\"");
    CellReader *cells = cell_open(given.tree, given.source, given.messages);
    uint32_t base = given.source->base;
    bool said;
    NodeId list = cell_read(cells, TEXT("\"a\" \"b\", 5 mm"), (Span){base + 3, base + 21}, &said);
    cr_assert(list != 0 && !said);
    NodeId text = tree_node(given.tree, list)->a, number = tree_node(given.tree, text)->next;
    cr_text(tree_text(given.tree, given.arena, text), "ab");
    cr_text(source_text(given.sources, tree_node(given.tree, number)->span), "5 mm");
    given_end(&given);
}

Test(cell, numbers_are_those_of_the_lexer) {
    uint64_t state = 5;
    for (int i = 0; i < 3000; i++) {
        char digits[64];
        int length = 0, whole = 1 + (int)(given_random(&state) % 12), decimals = (int)(given_random(&state) % 12);
        if (given_random(&state) % 3 == 0) digits[length++] = '-';
        for (int k = 0; k < whole; k++) digits[length++] = (char)('0' + given_random(&state) % 10);
        if (decimals) digits[length++] = '.';
        for (int k = 0; k < decimals; k++) digits[length++] = (char)('0' + given_random(&state) % 10);
        digits[length] = '\0';
        double number;
        if (!cell_number(text_from(digits), &number)) continue;
        GivenText given = given_text(digits);
        bool said;
        NodeId value = read_all(&given, &said);
        cr_assert(value != 0 && memcmp(&tree_node(given.tree, value)->number, &number, sizeof number) == 0, "%s", digits);
        given_end(&given);
    }
    double number;
    static const char *const none[] = {"", "-", ".5", "5.", "1e3", "1 ", "1,5", "1.2.3", "12345678901234567890", "0x1", "1-"};
    for (size_t i = 0; i < sizeof none / sizeof *none; i++) cr_assert_not(cell_number(text_from(none[i]), &number), "%s", none[i]);
}

Test(cell, names) {
    GivenText given = given_text("");
    Text bad;
    static const char *const names[] = {"Rook-22", "a", "a_b", "größe", "speed", "nominal"};
    for (size_t i = 0; i < 6; i++) cr_assert(cell_name(given.tree, text_from(names[i]), &bad) != 0, "%s", names[i]);
    static const char *const none[] = {"", "2a", "-a", "_a", "a-", "a--b", "a b", "yes", "else", "a.b", "a±b"};
    for (size_t i = 0; i < sizeof none / sizeof *none; i++) cr_assert_eq(cell_name(given.tree, text_from(none[i]), &bad), 0, "%s", none[i]);
    cr_assert_eq(cell_name(given.tree, TEXT("a b"), &bad), 0);
    cr_text(bad, " ");
    given_end(&given);
}

Test(cell, under_the_unit_of_a_column) {
    bool said;
    Text text;
    GivenText given = given_text("3 mm, 4 mm ± 5 %, 6 mm ± 1 mm, 7 mm to 8 mm, 9 mm +1/-2 mm");
    NodeId list = read_all(&given, &said);
    Symbol mm = symbol_of(given.tree->symbols, TEXT("mm"));
    cr_assert(written_under_unit(given.tree, given.arena, list, mm, false, &text));
    cr_text(text, "3, 4 ± 5 %, 6 ± 1, 7 to 8, 9 +1/-2");
    cr_assert(written_under_unit(given.tree, given.arena, list, mm, true, &text)); /* were it a temperature */
    cr_text(text, "3, 4 ± 5 %, 6 ± 1 mm, 7 to 8, 9 +1/-2 mm");
    cr_assert_not(written_under_unit(given.tree, given.arena, list, symbol_of(given.tree->symbols, TEXT("cm")), false, &text));
    given_end(&given);
    static const char *const none[] = {"(3 mm)", "3", "2 * 3 mm", "3 mm ± 0.1", "3 mm to 0.4 cm", "x", "3 mm, 4"};
    for (size_t i = 0; i < sizeof none / sizeof *none; i++) {
        given = given_text(none[i]);
        mm = symbol_of(given.tree->symbols, TEXT("mm"));
        cr_assert_not(written_under_unit(given.tree, given.arena, read_all(&given, &said), mm, false, &text), "%s", none[i]);
        given_end(&given);
    }
}
