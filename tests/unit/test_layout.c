#include "report/layout.h"

#include "given.h"
#include "report/clean.h"
#include "text/utf8.h"

static Text wrapped(Arena *arena, const char *text, uint32_t at, uint32_t indent, uint32_t width) {
    TextBuilder out = text_builder(arena);
    layout_wrap(&out, text_from(text), at, indent, width);
    return text_built(&out);
}

Test(layout, words_break_at_the_width_and_hang) {
    Arena *arena = given_arena();
    cr_text(wrapped(arena, "one two three", 0, 0, 20), "one two three\n");
    cr_text(wrapped(arena, "one two three", 0, 0, 13), "one two three\n");
    cr_text(wrapped(arena, "one two three", 0, 0, 12), "one two\nthree\n");
    cr_text(wrapped(arena, "one two three", 4, 6, 12), "one two\n      three\n");
    cr_text(wrapped(arena, "one", 12, 2, 12), "\n  one\n");
    cr_text(wrapped(arena, "", 4, 4, 10), "\n");
    cr_text(wrapped(arena, "   ", 4, 4, 10), "\n");
    cr_text(wrapped(arena, "a  b\n c", 0, 0, 10), "a b c\n");
    arena_close(arena);
}

Test(layout, a_number_keeps_its_unit) {
    Arena *arena = given_arena();
    cr_text(wrapped(arena, "turns at 23.7 V", 0, 0, 13), "turns at\n23.7 V\n");
    cr_text(wrapped(arena, "at 3.2 s of 5", 0, 0, 8), "at 3.2 s\nof 5\n");
    cr_text(wrapped(arena, "1 2 3", 0, 0, 3), "1 2\n3\n");
    cr_text(wrapped(arena, "until 2031 (C)", 0, 0, 11), "until 2031\n(C)\n");
    arena_close(arena);
}

Test(layout, a_word_that_fits_nowhere_stands_alone) {
    Arena *arena = given_arena();
    cr_text(wrapped(arena, "a overlong b", 0, 0, 4), "a\noverlong\nb\n");
    cr_text(wrapped(arena, "overlong", 2, 2, 4), "overlong\n");
    arena_close(arena);
}

Test(layout, wide_letters_count_two_and_combining_marks_none) {
    Arena *arena = given_arena();
    TextBuilder out = text_builder(arena);
    cr_assert_eq(layout_columns(arena, TEXT("種子")), 4u);
    cr_assert_eq(layout_columns(arena, TEXT("e\xCC\x81")), 1u);
    layout_left(&out, TEXT("種子"), 6);
    text_add_char(&out, '|');
    layout_right(&out, TEXT("Ω"), 3);
    text_add_char(&out, '|');
    layout_left(&out, TEXT("longer"), 3);
    cr_text(text_built(&out), "種子  |  Ω|longer");
    cr_text(wrapped(arena, "種子 銀行", 0, 0, 9), "種子 銀行\n");
    cr_text(wrapped(arena, "種子 銀行", 0, 0, 8), "種子\n銀行\n");
    arena_close(arena);
}

Test(layout, what_is_cut_says_so_and_keeps_whole_letters) {
    Arena *arena = given_arena();
    cr_text(layout_cut(arena, TEXT("screw"), 5), "screw");
    cr_text(layout_cut(arena, TEXT("critical"), 5), "crit…");
    cr_text(layout_cut(arena, TEXT("the screw stays"), 12), "the screw…");
    cr_text(layout_cut(arena, TEXT("種子銀行"), 6), "種子…");
    cr_text(layout_cut(arena, TEXT("種子銀行"), 5), "種子…");
    cr_text(layout_cut(arena, TEXT("種子銀行"), 4), "種…");
    cr_text(layout_cut(arena, TEXT("e\xCC\x81" "e\xCC\x81" "e\xCC\x81"), 2), "e\xCC\x81…");
    cr_text(layout_cut(arena, TEXT("x"), 0), "");
    arena_close(arena);
}

Test(clean, fit_text_is_not_copied) {
    Arena *arena = given_arena();
    Text text = TEXT("shall <= 1.5 s & \"more\"");
    cr_assert_eq(clean_line(arena, text).at, text.at);
    cr_text(clean_line(arena, TEXT("8.2 Ω ± 8 %")), "8.2 Ω ± 8 %");
    cr_text(clean_line(arena, (Text){NULL, 0}), "");
    arena_close(arena);
}

Test(clean, nothing_steers_a_terminal) {
    Arena *arena = given_arena();
    cr_text(clean_line(arena, TEXT("a\x1B[31mb")), "a\uFFFD[31mb");
    cr_text(clean_line(arena, TEXT("a\0b")), "a\uFFFDb");
    cr_text(clean_line(arena, TEXT("a\x7F\xC2\x9B" "b")), "a\uFFFD\uFFFDb");
    cr_text(clean_line(arena, TEXT("a\tb\r\nc\nd\re")), "a    b c d e");
    cr_text(clean_line(arena, TEXT("x\xE2\x80\xAEy")), "x\uFFFDy");
    arena_close(arena);
}

Test(clean, bytes_that_are_no_text_are_shown_as_such) {
    Arena *arena = given_arena();
    Text fit = clean_line(arena, TEXT("\xFF\xC3(\xE2\x82 end\xF0"));
    size_t offset = 0, length = 0;
    cr_assert_eq(utf8_check(fit, &offset, &length), UTF8_FINE);
    cr_assert(text_ends(text_slice(fit, 0, fit.length - 3), TEXT(" end")));
    uint64_t state = 7;
    for (int round = 0; round < 2000; round++) {
        char bytes[24];
        for (size_t i = 0; i < sizeof bytes; i++) bytes[i] = (char)given_random(&state);
        fit = clean_line(arena, (Text){bytes, sizeof bytes});
        offset = 0;
        cr_assert_eq(utf8_check(fit, &offset, &length), UTF8_FINE);
        for (size_t i = 0; i < fit.length; i++) cr_assert((unsigned char)fit.at[i] >= 0x20);
    }
    arena_close(arena);
}
