#include "text/source.h"

#include <string.h>

#include "given.h"

static Source *add(Sources *sources, const char *path, const char *bytes) {
    return source_add(sources, text_from(path), text_from(path), text_from(bytes), SOURCE_NAMED);
}

Test(source, every_byte_has_one_position) {
    Arena *arena = given_arena();
    Sources *sources = sources_open(arena);
    Source *a = add(sources, "a.trn", "abc"), *empty = add(sources, "empty.trn", ""), *b = add(sources, "b.trn", "xy");
    cr_assert_eq(a->base, 1u);
    cr_assert_eq(empty->base, 5u);
    cr_assert_eq(b->base, 6u);
    cr_assert_null(source_of(sources, 0));
    cr_assert(source_of(sources, 1) == a && source_of(sources, 3) == a);
    cr_assert(source_of(sources, 4) == a, "its end is a place too");
    cr_assert(source_of(sources, 5) == empty);
    cr_assert(source_of(sources, 6) == b && source_of(sources, 8) == b);
    cr_assert_null(source_of(sources, 9));
    cr_assert_null(source_of(sources, UINT32_MAX));
    arena_close(arena);
}

Test(source, a_table_without_files_has_no_place) {
    Arena *arena = given_arena();
    Sources *sources = sources_open(arena);
    cr_assert_null(source_of(sources, 1));
    cr_assert_null(source_place(sources, 1).source);
    cr_text(source_text(sources, (Span){1, 5}), "");
    arena_close(arena);
}

Test(source, literate_files_wait_for_their_blocks) {
    Arena *arena = given_arena();
    Sources *sources = sources_open(arena);
    Source *plain = add(sources, "a.trn", "abc"), *prose = add(sources, "a.trn.md", "abc");
    cr_assert_not(plain->literate);
    cr_assert_eq(plain->blocks.count, 1u);
    cr_assert_eq(plain->blocks.at[0].start, plain->base);
    cr_assert_eq(plain->blocks.at[0].end, plain->base + 3);
    cr_assert(prose->literate);
    cr_assert_eq(prose->blocks.count, 0u);
    arena_close(arena);
}

Test(source, positions_run_out_without_wrapping) {
    Arena *arena = given_arena();
    Sources *sources = sources_open(arena);
    const Text half = {"", (size_t)1 << 31}; /* the bytes are not looked at */
    cr_assert_not_null(source_add(sources, TEXT("a.trn"), TEXT("a.trn"), half, SOURCE_NAMED));
    cr_assert_null(source_add(sources, TEXT("b.trn"), TEXT("b.trn"), half, SOURCE_NAMED));
    cr_assert_null(source_add(sources, TEXT("c.trn"), TEXT("c.trn"), (Text){"", SIZE_MAX}, SOURCE_NAMED));
    cr_assert_eq(sources->list.count, 1u);
    cr_assert_not_null(add(sources, "d.trn", "still fits"));
    arena_close(arena);
}

static void is_at(const Sources *sources, const Source *source, uint32_t offset, uint32_t line, uint32_t column) {
    Place place = source_place(sources, source->base + offset);
    cr_assert(place.source == source);
    cr_assert(place.line == line && place.column == column, "offset %u is at %u.%u, not %u.%u", offset, place.line,
              place.column, line, column);
}

Test(source, places_are_lines_and_columns) {
    Arena *arena = given_arena();
    Sources *sources = sources_open(arena);
    add(sources, "before.trn", "\n\n\n");
    const Source *source = add(sources, "a.trn", "ab\r\n\nc\td\n");
    is_at(sources, source, 0, 1, 1);
    is_at(sources, source, 1, 1, 2);
    is_at(sources, source, 3, 1, 4);
    is_at(sources, source, 4, 2, 1);
    is_at(sources, source, 5, 3, 1);
    is_at(sources, source, 7, 3, 3);
    is_at(sources, source, 9, 4, 1);
    cr_assert_eq(source->line_count, 4u);
    arena_close(arena);
}

Test(source, columns_are_what_a_screen_shows) {
    Arena *arena = given_arena();
    Sources *sources = sources_open(arena);
    /* ohm (2 bytes), a wide ideogram (3), e and a combining acute (2), a torn byte, x */
    const Source *source = add(sources, "a.trn", "\xCE\xA9\xE8\xBB\xB8" "e\xCC\x81\xFFx");
    is_at(sources, source, 2, 1, 2);
    is_at(sources, source, 5, 1, 4);
    is_at(sources, source, 8, 1, 5);
    is_at(sources, source, 9, 1, 6);
    arena_close(arena);
}

Test(source, lines_come_without_their_ends) {
    Arena *arena = given_arena();
    Sources *sources = sources_open(arena);
    Source *source = add(sources, "a.trn", "one\r\n\ntwo\rx\nlast");
    for (int round = 0; round < 2; round++) { /* before and after the lines are known */
        Span span;
        cr_text(source_line(source, 1, &span), "one");
        cr_assert(span.start == source->base && span.end == source->base + 3);
        cr_text(source_line(source, 2, &span), "");
        cr_assert(span.start == source->base + 5 && span.end == span.start);
        cr_text(source_line(source, 3, &span), "two\rx");
        cr_text(source_line(source, 4, &span), "last");
        cr_assert(span.end == source->base + source->bytes.length);
        cr_text(source_line(source, 5, &span), "");
        cr_assert(span.start == 0 && span.end == 0);
        cr_text(source_line(source, 0, &span), "");
        cr_text(source_line(source, UINT32_MAX, &span), "");
        cr_assert_eq(source_place(sources, source->base).line, 1u);
        cr_assert_not_null(source->line_starts);
    }
    arena_close(arena);
}

Test(source, spans_give_their_text) {
    Arena *arena = given_arena();
    Sources *sources = sources_open(arena);
    add(sources, "a.trn", "abc");
    Source *b = add(sources, "b.trn", "stroke");
    cr_text(source_text(sources, (Span){b->base, b->base + 3}), "str");
    cr_text(source_text(sources, (Span){b->base + 4, UINT32_MAX}), "ke");
    cr_text(source_text(sources, (Span){b->base + 4, b->base + 2}), "");
    cr_text(source_text(sources, (Span){0, 0}), "");
    cr_text(source_text(sources, (Span){500, 600}), "");
    arena_close(arena);
}

Test(source, joined_spans_cover_both) {
    Span none = {0, 0}, a = {5, 9}, b = {7, 20};
    Span joined = span_join(b, a);
    cr_assert(joined.start == 5 && joined.end == 20);
    joined = span_join(none, a);
    cr_assert(joined.start == 5 && joined.end == 9);
    joined = span_join(b, none);
    cr_assert(joined.start == 7 && joined.end == 20);
    joined = span_join(none, none);
    cr_assert(joined.start == 0 && joined.end == 0);
}

Test(source, places_in_a_big_file_take_no_time, .timeout = 20) {
    enum { LINES = 1000000 };
    Arena *arena = given_arena();
    Sources *sources = sources_open(arena);
    TextBuilder builder = text_builder(arena);
    for (int i = 0; i < LINES; i++) text_add(&builder, TEXT("a = 1\n"));
    const Source *source = source_add(sources, TEXT("a.trn"), TEXT("a.trn"), text_built(&builder), SOURCE_NAMED);
    for (uint32_t line = 0; line < LINES; line++) {
        Place place = source_place(sources, source->base + line * 6 + 4);
        cr_assert(place.line == line + 1 && place.column == 5);
    }
    arena_close(arena);
}
