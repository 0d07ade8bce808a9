#include "text/literate.h"

#include <string.h>

#include "given.h"

typedef struct Split {
    Sources *sources;
    Source *source;
    LiterateFault fault;
    Span fault_span;
} Split;

static Split split(Arena *arena, Text bytes) {
    Split result = {.sources = sources_open(arena)};
    source_add(result.sources, TEXT("before.trn"), TEXT("before.trn"), TEXT("12345"), SOURCE_NAMED); /* bases are not 1 */
    result.source = source_add(result.sources, TEXT("a.trn.md"), TEXT("a.trn.md"), bytes, SOURCE_NAMED);
    result.fault = literate_split(arena, result.source, &result.fault_span);
    return result;
}

/* The blocks of `bytes`, each followed by a bar; then the fault, and its fence. */
static Text blocks_of(Arena *arena, Text bytes) {
    Split result = split(arena, bytes);
    TextBuilder builder = text_builder(arena);
    for (uint32_t i = 0; i < result.source->blocks.count; i++) {
        text_add(&builder, source_text(result.sources, result.source->blocks.at[i]));
        text_add_char(&builder, '|');
    }
    if (result.fault == LITERATE_UNCLOSED) text_add(&builder, TEXT(" unclosed "));
    if (result.fault == LITERATE_QUOTED) text_add(&builder, TEXT(" quoted "));
    text_add(&builder, source_text(result.sources, result.fault_span));
    return text_built(&builder);
}

#define BLOCKS(bytes, expected) cr_text(blocks_of(arena, TEXT(bytes)), expected)

Test(literate, only_trunnion_blocks_are_program_text) {
    Arena *arena = given_arena();
    BLOCKS("", "");
    BLOCKS("Prose.\n\n```trunnion\na = 1\nb = 2\n```\n\nMore.\n\n~~~trunnion\nc = 3\n~~~\n", "a = 1\nb = 2\n|c = 3\n|");
    BLOCKS("```c\nint x;\n```\n\n    ```trunnion\n    indented code\n    ```\n", "");
    BLOCKS("```trunnion and more words\na\n```\n", "a\n|");
    BLOCKS("``` trunnion\na\n```\n", "a\n|");
    BLOCKS("```trunnions\na\n```\n```Trunnion\na\n```\n```\na\n```\n", "");
    BLOCKS("<!--\n```trunnion\nhidden\n```\n-->\n", "");
    BLOCKS("````trunnion\na\n```\nb\n````\n", "a\n```\nb\n|");
    BLOCKS("~~~ trunnion a~b `c`\na\n~~~~~~\n", "a\n|");
    BLOCKS("Paragraph\n```trunnion\na\n```\nparagraph\n", "a\n|");
    arena_close(arena);
}

Test(literate, blocks_are_the_bytes_of_the_file) {
    Arena *arena = given_arena();
    BLOCKS("```trunnion\n\ta\t=  1\n\n\n```", "\ta\t=  1\n\n\n|");
    BLOCKS("```trunnion\r\na\r\nb\r\n```\r\n", "a\r\nb\r\n|");
    BLOCKS("x\r\r```trunnion\ra\r\n```\rend", "a\r\n|");
    BLOCKS("\xEF\xBB\xBF```trunnion\na\n```\n", "a\n|");
    BLOCKS("\xFF\xFE```\n\n```trunnion\n\xFF\n```\n", "\xFF\n|");
    BLOCKS("```trunnion\n```\n", "|");
    Text zero = TEXT("a\0b\n\n```trunnion\nx\0y\n```\n");
    cr_assert(text_equal(blocks_of(arena, zero), TEXT("x\0y\n|")));
    arena_close(arena);
}

Test(literate, blocks_in_lists_keep_their_indentation) {
    Arena *arena = given_arena();
    BLOCKS("- item\n\n  ```trunnion\n  a\n\n  b\n  ```\n\nafter\n", "  a\n\n  b\n|");
    BLOCKS("1. ```trunnion\n   a\n   ```\n2. - ```trunnion\n     b\n     ```\n", "   a\n|     b\n|");
    BLOCKS("1. \t```trunnion\n\ta\n\t```\n", "\ta\n|");
    arena_close(arena);
}

/* After a table a list may begin with any number, after a paragraph only with 1. */
Test(literate, tables_are_known) {
    Arena *arena = given_arena();
    BLOCKS("| a | b |\n|---|---|\n| 1 | 2 |\n```trunnion\na\n```\n", "a\n|");
    BLOCKS("a | b\n--|--\n2. ```trunnion\n   c\n   ```\n", "   c\n|");
    BLOCKS("a | b\nc | d\n2. ```trunnion\n   c\n   ```\n", "");
    arena_close(arena);
}

Test(literate, a_missing_fence_is_found) {
    Arena *arena = given_arena();
    BLOCKS("```trunnion\na\n", "a\n| unclosed ```trunnion");
    BLOCKS("```trunnion\na", "a| unclosed ```trunnion");
    BLOCKS("x\n\n```trunnion one\n", "| unclosed ```trunnion one");
    BLOCKS("```trunnion", "| unclosed ```trunnion");
    BLOCKS("```trunnion\na\n~~~\n", "a\n~~~\n| unclosed ```trunnion");
    BLOCKS("````trunnion\na\n```\n", "a\n```\n| unclosed ````trunnion");
    BLOCKS("```trunnion\na\n    ```\n", "a\n    ```\n| unclosed ```trunnion");
    BLOCKS("```trunnion\na\n```x\n", "a\n| unclosed ```trunnion");
    BLOCKS("```trunnion\na\n\n\n", "a\n\n\n| unclosed ```trunnion");
    BLOCKS("```c\nx\n", "");
    arena_close(arena);
}

/* A list item ends where its indentation ends; the block in it ends with it. */
Test(literate, a_block_that_ends_with_its_list_is_not_closed) {
    Arena *arena = given_arena();
    BLOCKS("- ```trunnion\n  a\n\nprose\n", "  a\n\n| unclosed ```trunnion");
    BLOCKS("- ```trunnion\n  a\n```\nz\n```\n", "  a\n| unclosed ```trunnion");
    BLOCKS("- ```trunnion\n  a\n```trunnion\nz\n```\n", "  a\n|z\n| unclosed ```trunnion");
    BLOCKS("- ```trunnion\n  a\n  ```\n```trunnion\nz\n```\n", "  a\n|z\n|");
    arena_close(arena);
}

Test(literate, a_quoted_block_is_a_fault) {
    Arena *arena = given_arena();
    BLOCKS("> ```trunnion\n> a\n> ```\n\n```trunnion\nb\n```\n", "b\n| quoted ```trunnion");
    BLOCKS("- > - ```trunnion\n", " quoted ```trunnion");
    BLOCKS("> ```c\n> a\n> ```\n", "");
    BLOCKS("```trunnion\na\n```\n\n> ~~~ trunnion\n> b\n", "a\n| quoted ~~~ trunnion");
    BLOCKS("> ```trunnion\n\n```trunnion\nb\n", "b\n| quoted ```trunnion");
    arena_close(arena);
}

Test(literate, splitting_again_gives_the_same) {
    Arena *arena = given_arena();
    Split result = split(arena, TEXT("```trunnion\na\n```\n"));
    literate_split(arena, result.source, &result.fault_span);
    cr_assert_eq(result.source->blocks.count, 1u);
    arena_close(arena);
}

/* ---- torn files ---- */

static void blocks_are_sound(const Split *result) {
    uint32_t at = result->source->base, end = result->source->base + (uint32_t)result->source->bytes.length;
    for (uint32_t i = 0; i < result->source->blocks.count; i++) {
        Span block = result->source->blocks.at[i];
        cr_assert(block.start >= at && block.end >= block.start && block.end <= end, "blocks are in order, and in the file");
        at = block.end;
    }
    cr_assert((result->fault == LITERATE_FINE) == (result->fault_span.end == 0));
    if (result->fault != LITERATE_FINE) {
        Text fence = source_text(result->sources, result->fault_span);
        cr_assert(text_starts(fence, TEXT("```")) || text_starts(fence, TEXT("~~~")));
    }
}

static const char whole[] = "\xEF\xBB\xBF# Lift\r\n\n> - ```trunnion\n> x\n\n| a | b |\n|---|:-:|\n| 1 | [2](#x) |\n\n"
                            "1. ```trunnion\n\ta \xC2\xB1 1\n   ```\n   - > q\n\n<pre>\n```trunnion\n</pre>\n[r]: <u> \"t\"\n\n"
                            "~~~~trunnion\rlift\r~~~\r~~~~\n\n```trunnion\nscrew s { }\n```\n";

Test(literate, every_torn_copy_is_sound) {
    Text text = TEXT(whole);
    for (size_t length = 0; length <= text.length; length++) {
        Arena *arena = given_arena();
        Split result = split(arena, text_copy(arena, text_slice(text, 0, length)));
        blocks_are_sound(&result);
        arena_close(arena);
    }
}

Test(literate, random_changes_are_sound) {
    static const char pieces[] = "`~>-*+ \t\r\n|:#<[]()1.=&\\\0\xFF\xC2trunnion";
    uint64_t random = 17;
    for (int round = 0; round < 20000; round++) {
        Arena *arena = given_arena();
        char bytes[sizeof whole];
        memcpy(bytes, whole, sizeof whole);
        for (uint64_t changes = given_random(&random) % 30; changes > 0; changes--)
            bytes[given_random(&random) % sizeof bytes] = pieces[given_random(&random) % sizeof pieces];
        Split result = split(arena, (Text){bytes, given_random(&random) % sizeof bytes});
        blocks_are_sound(&result);
        arena_close(arena);
    }
}

Test(literate, random_fences_are_sound) {
    static const char *const pieces[] = {"```trunnion\n", "```\n", "- ", "  ", "> ", "a\n", "\n", "~~~trunnion\n", "~~~\n", "1. ", "    ", "\r"};
    uint64_t random = 23;
    for (int round = 0; round < 20000; round++) {
        Arena *arena = given_arena();
        TextBuilder builder = text_builder(arena);
        for (uint64_t i = given_random(&random) % 40; i > 0; i--)
            text_add_string(&builder, pieces[given_random(&random) % (sizeof pieces / sizeof *pieces)]);
        Split result = split(arena, text_built(&builder));
        blocks_are_sound(&result);
        arena_close(arena);
    }
}

/* ---- documents that would take for ever ---- */

static void repeat(TextBuilder *builder, const char *piece, int times) {
    for (int i = 0; i < times; i++) text_add_string(builder, piece);
}

static const char block[] = "\n\n```trunnion\na\n```\n";

static void ends_soon(const char *first, int first_times, const char *second, int second_times) {
    Arena *arena = given_arena();
    TextBuilder builder = text_builder(arena);
    text_add_string(&builder, block);
    repeat(&builder, first, first_times);
    text_add_char(&builder, '\n');
    repeat(&builder, second, second_times);
    Split result = split(arena, text_built(&builder));
    cr_assert_geq(result.source->blocks.count, 1u);
    cr_text(source_text(result.sources, result.source->blocks.at[0]), "a\n");
    blocks_are_sound(&result);
    arena_close(arena);
}

enum { MANY = 100000 };

Test(literate, nested_lists_end, .timeout = 20) { ends_soon("- ", MANY, "\n", MANY); }
Test(literate, nested_numbers_end, .timeout = 20) { ends_soon("1) ", MANY, "\n", MANY); }
Test(literate, nested_quotes_end, .timeout = 20) { ends_soon("> ", MANY, ">\n", MANY); }
Test(literate, wide_tables_end, .timeout = 20) { ends_soon("|a", MANY, "|-", MANY); }
Test(literate, long_tables_end, .timeout = 20) { ends_soon("|a|a|a|a\n|-|-|-|-\n", 1, "a\n", MANY); }
Test(literate, half_tables_end, .timeout = 20) { ends_soon("a|b|c\na\na\na\n-|-\n", MANY / 4, "", 0); }
Test(literate, brackets_end, .timeout = 20) { ends_soon("[", MANY, "](", MANY); }
Test(literate, fences_end, .timeout = 20) { ends_soon("```trunnion\n", MANY, "", 0); }
Test(literate, short_blocks_end, .timeout = 20) { ends_soon("```trunnion\na\n```\n", MANY, "", 0); }
