#include "base/text.h"

#include <string.h>

#include "given.h"

Test(text, compares_by_bytes) {
    cr_assert(text_equal(TEXT("screw"), text_from("screw")));
    cr_assert_not(text_equal(TEXT("screw"), TEXT("screws")));
    cr_assert(text_equal((Text){NULL, 0}, TEXT("")));
    cr_assert_eq(text_from(NULL).length, 0u);
    cr_assert(text_is(TEXT("lift"), "lift"));
    cr_assert_not(text_is(TEXT("a\0b"), "a"));
    cr_assert(text_compare(TEXT("a"), TEXT("b")) < 0);
    cr_assert(text_compare(TEXT("ab"), TEXT("a")) > 0);
    cr_assert(text_compare(TEXT(""), (Text){NULL, 0}) == 0);
    cr_assert(text_compare(TEXT("\x80"), TEXT("a")) > 0, "bytes are not signed");
}

Test(text, knows_beginnings_and_ends) {
    cr_assert(text_starts(TEXT("lift.trn.md"), TEXT("lift")));
    cr_assert(text_starts(TEXT("lift"), TEXT("")));
    cr_assert_not(text_starts(TEXT("li"), TEXT("lift")));
    cr_assert(text_ends(TEXT("lift.trn.md"), TEXT(".trn.md")));
    cr_assert_not(text_ends(TEXT("lift.trn"), TEXT(".trn.md")));
    cr_assert_not(text_ends(TEXT("d"), TEXT(".md")));
    cr_assert(text_ends((Text){NULL, 0}, TEXT("")));
}

Test(text, slices_are_clamped) {
    cr_text(text_slice(TEXT("stroke"), 1, 3), "tr");
    cr_text(text_slice(TEXT("stroke"), 4, 100), "ke");
    cr_text(text_slice(TEXT("stroke"), 100, 200), "");
    cr_text(text_slice(TEXT("stroke"), 3, 1), "");
    cr_text(text_slice((Text){NULL, 0}, 0, 5), "");
}

Test(text, trims_both_ends) {
    cr_text(text_trim(TEXT(" \t\r\n a b \n")), "a b");
    cr_text(text_trim(TEXT(" \n ")), "");
    cr_text(text_trim(TEXT("\v")), "\v");
    cr_text(text_trim((Text){NULL, 0}), "");
}

Test(text, copies_own_their_bytes) {
    Arena *arena = given_arena();
    char bytes[] = "jar";
    Text copy = text_copy(arena, (Text){bytes, 3});
    const char *string = text_zero_ended(arena, (Text){bytes, 2});
    bytes[0] = 'b';
    cr_text(copy, "jar");
    cr_assert_str_eq(string, "ja");
    cr_assert_str_eq(text_zero_ended(arena, (Text){NULL, 0}), "");
    arena_close(arena);
}

/* ---- distance ---- */

Test(text, distance_counts_edits) {
    cr_assert_eq(text_distance(TEXT("stroke"), TEXT("stroke"), 3), 0u);
    cr_assert_eq(text_distance(TEXT("stroke"), TEXT("strok"), 3), 1u);
    cr_assert_eq(text_distance(TEXT("stroke"), TEXT("storke"), 3), 1u, "neighbours swapped");
    cr_assert_eq(text_distance(TEXT("stroke"), TEXT("strike"), 3), 1u);
    cr_assert_eq(text_distance(TEXT("kitten"), TEXT("sitting"), 9), 3u);
    cr_assert_eq(text_distance(TEXT("kitten"), TEXT("sitting"), 2), 3u, "limit and one");
    cr_assert_eq(text_distance(TEXT(""), TEXT("abc"), 5), 3u);
    cr_assert_eq(text_distance(TEXT("abc"), TEXT(""), 1), 2u);
    cr_assert_eq(text_distance(TEXT(""), TEXT(""), 0), 0u);
    cr_assert_eq(text_distance(TEXT("a"), TEXT("b"), 0), 1u);
    cr_assert_eq(text_distance(TEXT("abcdef"), TEXT("uvwxyz"), 1000), 6u);
}

/* The plain table, without bands: what the fast one must agree with. */
static unsigned plain_distance(Text a, Text b) {
    unsigned table[16][16];
    for (unsigned i = 0; i <= a.length; i++)
        for (unsigned j = 0; j <= b.length; j++) {
            if (!i || !j) {
                table[i][j] = i + j;
                continue;
            }
            unsigned best = table[i - 1][j - 1] + (a.at[i - 1] != b.at[j - 1]);
            if (table[i - 1][j] + 1 < best) best = table[i - 1][j] + 1;
            if (table[i][j - 1] + 1 < best) best = table[i][j - 1] + 1;
            if (i > 1 && j > 1 && a.at[i - 1] == b.at[j - 2] && a.at[i - 2] == b.at[j - 1] && table[i - 2][j - 2] + 1 < best)
                best = table[i - 2][j - 2] + 1;
            table[i][j] = best;
        }
    return table[a.length][b.length];
}

Test(text, distance_agrees_with_the_plain_table) {
    uint64_t random = 99;
    for (int round = 0; round < 20000; round++) {
        char a[12], b[12];
        Text left = {a, given_random(&random) % 12}, right = {b, given_random(&random) % 12};
        for (int i = 0; i < 12; i++) {
            a[i] = (char)('a' + given_random(&random) % 3);
            b[i] = (char)('a' + given_random(&random) % 3);
        }
        unsigned limit = (unsigned)(given_random(&random) % 14), exact = plain_distance(left, right);
        unsigned expected = exact > limit ? limit + 1 : exact;
        cr_assert_eq(text_distance(left, right, limit), expected, "[%.*s] [%.*s] limit %u: %u", (int)left.length, a,
                     (int)right.length, b, limit, expected);
    }
}

Test(text, distance_of_very_long_texts_ends_at_once) {
    enum { LONG = 1 << 20 };
    Arena *arena = given_arena();
    char *a = arena_take(arena, LONG), *b = arena_take(arena, LONG);
    memset(a, 'a', LONG);
    memset(b, 'a', LONG);
    cr_assert_eq(text_distance((Text){a, LONG}, (Text){b, LONG}, 2), 0u);
    b[LONG / 2] = 'b';
    cr_assert_eq(text_distance((Text){a, LONG}, (Text){b, LONG}, 2), 1u);
    memset(b, 'b', LONG);
    cr_assert_eq(text_distance((Text){a, LONG}, (Text){b, LONG}, 2), 3u);
    arena_close(arena);
}

/* ---- building ---- */

Test(text, builds_piece_by_piece) {
    Arena *arena = given_arena();
    TextBuilder builder = text_builder(arena);
    cr_text(text_built(&builder), "");
    text_add(&builder, TEXT("n = "));
    text_add_count(&builder, 0);
    text_add_char(&builder, ' ');
    text_add_count(&builder, UINT64_MAX);
    text_add_string(&builder, "; ");
    text_add_repeat(&builder, '-', 3);
    text_add_repeat(&builder, '-', 0);
    text_add(&builder, (Text){NULL, 0});
    text_add_string(&builder, NULL);
    cr_text(text_built(&builder), "n = 0 18446744073709551615; ---");
    arena_close(arena);
}

Test(text, builders_may_grow_side_by_side) {
    Arena *arena = given_arena();
    TextBuilder a = text_builder(arena), b = text_builder(arena);
    for (int i = 0; i < 100000; i++) {
        text_add_char(&a, 'a');
        text_add_char(&b, 'b');
    }
    Text left = text_built(&a), right = text_built(&b);
    cr_assert_eq(left.length, 100000u);
    cr_assert_eq(right.length, 100000u);
    for (size_t i = 0; i < left.length; i++) cr_assert(left.at[i] == 'a' && right.at[i] == 'b');
    arena_close(arena);
}

Test(text, fills_patterns) {
    Arena *arena = given_arena();
    const Text words[] = {TEXT("zero"), TEXT("one"), TEXT("")};
    cr_text(text_fill(arena, TEXT("{0}, {1}{2}; {0}"), words, 3), "zero, one; zero");
    cr_text(text_fill(arena, TEXT("plain"), NULL, 0), "plain");
    cr_text(text_fill(arena, TEXT(""), NULL, 0), "");
    cr_text(text_fill(arena, TEXT("{{0} { } {x} {0"), words, 1), "{0} { } {x} {0");
    cr_text(text_fill(arena, TEXT("{{{0}"), words, 1), "{zero");
    cr_text(text_fill(arena, TEXT("{5}"), words, 3), "{5}");
    const Text braces[] = {TEXT("{1}"), TEXT("no")};
    cr_text(text_fill(arena, TEXT("{0}"), braces, 2), "{1}");
    arena_close(arena);
}
