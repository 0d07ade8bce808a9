#include "message/message.h"

#include <stdio.h>
#include <string.h>

#include "given.h"

/* Sentences may be reworded in the catalogue at any time, so what is expected is put together from the message itself;
 * everything around it is written out. */

typedef struct Said {
    Arena *arena;
    Sources *sources;
    Messages *messages;
} Said;

static Said open_with(const char *path, Text bytes) {
    Arena *arena = given_arena();
    Sources *sources = sources_open(arena);
    source_add(sources, text_from(path), text_from(path), bytes, SOURCE_NAMED);
    return (Said){arena, sources, messages_open(arena, sources)};
}

/* The span of the first `marked` in the first file. */
static Span span_of(const Said *said, const char *marked) {
    const Source *source = said->sources->list.at[0];
    size_t length = strlen(marked);
    for (size_t i = 0; i + length <= source->bytes.length; i++)
        if (memcmp(source->bytes.at + i, marked, length) == 0)
            return (Span){source->base + (uint32_t)i, source->base + (uint32_t)(i + length)};
    cr_assert_fail("%s is not in the file", marked);
    return (Span){0, 0};
}

static void says(const Said *said, const char *expected) { cr_text(messages_render(said->arena, said->messages), expected); }

/* A message with its own words, so that the rendered text is known whole. */
static Message *say(Said *said, MessageId id, Span span, const char *sentence, const char *advice) {
    const Text arguments[] = {TEXT("x"), TEXT("y"), TEXT("z")};
    Message *message = message_add(said->messages, id, span, arguments, 3);
    message->sentence = text_from(sentence);
    message->advice = text_from(advice);
    return message;
}

/* ---- the catalogue ---- */

static bool is_name(const char *name) {
    for (; *name; name++)
        if (!(*name >= 'a' && *name <= 'z') && !(*name >= '0' && *name <= '9') && *name != '-') return false;
    return true;
}

Test(message, names_are_unique_and_plain) {
    cr_assert_gt((int)MESSAGE_COUNT, 0);
    for (int i = 0; i < MESSAGE_COUNT; i++) {
        const char *name = message_name((MessageId)i);
        cr_assert(is_name(name), "%s", name);
        for (int j = 0; j < i; j++) cr_assert_str_neq(name, message_name((MessageId)j));
        MessageLevel level = message_level((MessageId)i);
        cr_assert(level >= LEVEL_NOTE && level <= LEVEL_MACHINE);
    }
    cr_assert_str_eq(message_name(MESSAGE_FILE_MISSING), "file-missing");
    cr_assert_eq(message_level(MESSAGE_FILE_MISSING), LEVEL_MACHINE);
}

/* ---- adding ---- */

Test(message, words_are_filled_in_and_levels_counted) {
    Said said = open_with("a.trn", TEXT("stroke = 320 N\n"));
    Message *message = SAY(said.messages, USE_UNREADABLE, ((Span){0, 0}), TEXT("a.trn"), TEXT("is not there"), TEXT("Check the path."));
    cr_text(message->sentence, "a.trn is not there");
    cr_assert_gt(message->advice.length, 0u);
    cr_assert_eq(said.messages->machine_errors, 1u);
    cr_assert_eq(said.messages->errors, 0u);
    SAY(said.messages, NOT_UTF8, ((Span){1, 2}), TEXT("FF"));
    cr_assert_eq(said.messages->errors, 1u);
    cr_assert_eq(said.messages->warnings, 0u);
    cr_assert_eq(said.messages->list.count, 2u);
    arena_close(said.arena);
}

Test(message, advice_without_its_arguments_is_left_out) {
    Said said = open_with("a.trn", TEXT("x"));
    /* "there is no … called {0}", "Did you mean {1}?" */
    Message *with = SAY(said.messages, UNKNOWN_LAW, ((Span){1, 2}), TEXT("scrw"), TEXT("screw"));
    cr_assert(text_ends(with->advice, TEXT("screw?")));
    Message *without = SAY(said.messages, UNKNOWN_LAW, ((Span){2, 3}), TEXT("scrw"), TEXT(""));
    cr_assert_eq(without->advice.length, 0u);
    Message *too_few = SAY(said.messages, UNKNOWN_LAW, ((Span){3, 4}), TEXT("scrw"));
    cr_assert_eq(too_few->advice.length, 0u);
    arena_close(said.arena);
}

Test(message, a_place_is_path_and_line) {
    Said said = open_with("lib/a.trn", TEXT("a\nb\n"));
    cr_text(message_place(said.messages, 3), "lib/a.trn:2");
    cr_text(message_place(said.messages, 0), "");
    cr_text(message_place(said.messages, 99), "");
    arena_close(said.arena);
}

/* ---- rendering ---- */

Test(message, is_a_header_a_marked_line_and_advice) {
    Said said = open_with("lift.trn.md", TEXT("# Lift\n\n```trunnion\n  stroke = 320 N\n```\n"));
    say(&said, MESSAGE_NOT_UTF8, span_of(&said, "320 N"), "stroke is a length, and 320 N is a force",
        "Right would be a length, such as 320 mm.");
    says(&said, "lift.trn.md:4.12-4.16: error: stroke is a length, and 320 N is a force (not-utf8)\n"
                "    stroke = \xC2\xAB" "320 N\xC2\xBB\n"
                "  Right would be a length, such as 320 mm.\n");
    arena_close(said.arena);
}

Test(message, no_messages_are_no_text) {
    Said said = open_with("a.trn", TEXT(""));
    says(&said, "");
    arena_close(said.arena);
}

Test(message, about_a_file_or_about_nothing) {
    Said said = open_with("a.trn", TEXT("x"));
    say(&said, MESSAGE_FILE_MISSING, (Span){0, 0}, "it is not there", "")->path = TEXT("jar.trn");
    say(&said, MESSAGE_FILE_MISSING, (Span){0, 0}, "memory is used up", "Close something.");
    says(&said, "jar.trn: error: it is not there (file-missing)\n"
                "error: memory is used up (file-missing)\n"
                "  Close something.\n");
    arena_close(said.arena);
}

Test(message, is_ordered_by_place_and_said_once) {
    Said said = open_with("b.trn", TEXT("one two\n"));
    Source *second = source_add(said.sources, TEXT("a.trn"), TEXT("a.trn"), TEXT("three"), SOURCE_USED);
    Span one = span_of(&said, "one"), two = span_of(&said, "two"), three = {second->base, second->base + 5};
    say(&said, MESSAGE_NOT_UTF8, three, "3", "");
    say(&said, MESSAGE_NOT_UTF8, two, "2", "");
    say(&said, MESSAGE_NOT_UTF8, one, "z comes first, for it was said first", "");
    say(&said, MESSAGE_NOT_UTF8, two, "2", "a repeat");
    say(&said, MESSAGE_NOT_UTF8, one, "1", "");
    say(&said, MESSAGE_FILE_MISSING, (Span){0, 0}, "0", "")->path = TEXT("x");
    say(&said, MESSAGE_FILE_MISSING, (Span){0, 0}, "0", "")->path = TEXT("y");
    say(&said, MESSAGE_BIDIRECTIONAL, two, "2", "");
    says(&said, "x: error: 0 (file-missing)\n"
                "y: error: 0 (file-missing)\n"
                "b.trn:1.1-1.3: error: z comes first, for it was said first (not-utf8)\n"
                "    \xC2\xABone\xC2\xBB two\n"
                "b.trn:1.1-1.3: error: 1 (not-utf8)\n"
                "    \xC2\xABone\xC2\xBB two\n"
                "b.trn:1.5-1.7: error: 2 (not-utf8)\n"
                "    one \xC2\xABtwo\xC2\xBB\n"
                "b.trn:1.5-1.7: error: 2 (bidirectional-control)\n"
                "    one \xC2\xABtwo\xC2\xBB\n"
                "a.trn:1.1-1.5: error: 3 (not-utf8)\n"
                "    \xC2\xABthree\xC2\xBB\n");
    arena_close(said.arena);
}

/* The header's place and the marked line of one message at offsets [start, end). */
static void shows(Text bytes, uint32_t start, uint32_t end, const char *place, const char *line) {
    Said said = open_with("a", bytes);
    say(&said, MESSAGE_NOT_UTF8, (Span){1 + start, 1 + end}, "s", "");
    TextBuilder expected = text_builder(said.arena);
    text_add_string(&expected, "a:");
    text_add_string(&expected, place);
    text_add_string(&expected, ": error: s (not-utf8)\n    ");
    text_add_string(&expected, line);
    text_add_string(&expected, "\n");
    says(&said, text_zero_ended(said.arena, text_built(&expected)));
    arena_close(said.arena);
}

#define OPEN "\xC2\xAB"
#define CLOSE "\xC2\xBB"

Test(message, marks_exactly_the_span) {
    shows(TEXT("  ab cd  "), 2, 4, "1.3-1.4", OPEN "ab" CLOSE " cd");
    shows(TEXT("ab cd"), 0, 5, "1.1-1.5", OPEN "ab cd" CLOSE);
    shows(TEXT("x\n\tab\n"), 3, 4, "2.2-2.2", OPEN "a" CLOSE "b");
    shows(TEXT("a = \xCE\xA9 b"), 4, 6, "1.5-1.5", "a = " OPEN "\xCE\xA9" CLOSE " b");
    shows(TEXT("\xE8\xBB\xB8 b"), 0, 3, "1.1-1.2", OPEN "\xE8\xBB\xB8" CLOSE " b");
    shows(TEXT("ab\r\ncd"), 0, 2, "1.1-1.2", OPEN "ab" CLOSE);
}

Test(message, an_empty_span_marks_a_gap) {
    shows(TEXT("ab"), 2, 2, "1.3-1.3", "ab" OPEN CLOSE);
    shows(TEXT("ab\n"), 3, 3, "2.1-2.1", OPEN CLOSE);
    shows(TEXT("ab\n"), 2, 3, "1.3-1.3", "ab" OPEN CLOSE);
    shows(TEXT(""), 0, 0, "1.1-1.1", OPEN CLOSE);
    shows(TEXT("a b"), 1, 1, "1.2-1.2", "a" OPEN CLOSE " b");
    shows(TEXT("ab   "), 4, 4, "1.5-1.5", "ab  " OPEN CLOSE);
    shows(TEXT("ab"), 1, 0, "1.2-1.2", "a" OPEN CLOSE "b"); /* ends before it starts */
}

Test(message, a_span_of_several_lines_is_marked_to_its_first_end) {
    shows(TEXT("ab {\n  cd\n}\n"), 3, 11, "1.4-3.1", "ab " OPEN "{" CLOSE);
    shows(TEXT("ab {  \r\n  cd\n}\n"), 3, 12, "1.4-2.4", "ab " OPEN "{" CLOSE);
    shows(TEXT("ab\ncd\n"), 0, 3, "1.1-1.2", OPEN "ab" CLOSE); /* with its line end */
    shows(TEXT("ab\ncd"), 0, 500, "1.1-2.2", OPEN "ab" CLOSE); /* beyond the file */
}

Test(message, a_span_may_begin_in_the_indentation) {
    shows(TEXT("    ab"), 0, 6, "1.1-1.6", OPEN "ab" CLOSE);
    shows(TEXT("    ab"), 2, 2, "1.3-1.3", OPEN CLOSE "  ab");
    shows(TEXT("     "), 1, 3, "1.2-1.3", OPEN "  " CLOSE);
}

Test(message, nothing_reaches_the_terminal_unseen) {
    shows(TEXT("a\x1B[2J\tb"), 0, 1, "1.1-1.1", OPEN "a" CLOSE "U+001B[2J b");
    shows(TEXT("a\xE2\x80\xAE" "b"), 1, 4, "1.2-1.2", "a" OPEN "U+202E" CLOSE "b");
    shows(TEXT("a\xFF" "b"), 1, 2, "1.2-1.2", "a" OPEN "\xEF\xBF\xBD" CLOSE "b");
    shows(TEXT("a\rb"), 0, 1, "1.1-1.1", OPEN "a" CLOSE "U+000Db");
    Said said = open_with("a\x1B", TEXT("x"));
    say(&said, MESSAGE_NOT_UTF8, (Span){1, 2}, "s\x1B", "t\nu");
    says(&said, "aU+001B:1.1-1.1: error: sU+001B (not-utf8)\n    " OPEN "x" CLOSE "\n  tU+000Au\n");
    arena_close(said.arena);
}

/* ---- long lines ---- */

static Text filled(Arena *arena, size_t before, size_t marked, size_t after) {
    TextBuilder builder = text_builder(arena);
    text_add_repeat(&builder, 'b', before);
    text_add_repeat(&builder, 'M', marked);
    text_add_repeat(&builder, 'a', after);
    return text_built(&builder);
}

/* What is left of a long line: as letters before, marked, after, with '<' and '>' for the mark and '.' for a cut. */
static void cut_is(size_t before, size_t marked, size_t after, const char *lead, size_t b, size_t m, const char *middle,
                   size_t a, const char *tail) {
    Arena *arena = given_arena();
    TextBuilder line = text_builder(arena);
    text_add_string(&line, lead);
    text_add_repeat(&line, 'b', b);
    text_add_string(&line, OPEN);
    text_add_repeat(&line, 'M', m);
    text_add_string(&line, middle);
    text_add_string(&line, CLOSE);
    text_add_repeat(&line, 'a', a);
    text_add_string(&line, tail);
    char place[64];
    snprintf(place, sizeof place, "1.%zu-1.%zu", before + 1, before + marked);
    shows(filled(arena, before, marked, after), (uint32_t)before, (uint32_t)(before + marked), place,
          text_zero_ended(arena, text_built(&line)));
    arena_close(arena);
}

#define CUT "\xE2\x80\xA6"

Test(message, long_lines_are_cut_around_the_mark) {
    cut_is(50, 18, 50, "", 50, 18, "", 50, "");                /* 120 with the mark: all of it */
    cut_is(50, 18, 51, "", 50, 18, "", 49, CUT);
    cut_is(51, 18, 50, CUT, 49, 18, "", 50, "");
    cut_is(500, 18, 500, CUT, 49, 18, "", 49, CUT);
    cut_is(0, 10, 500, "", 0, 10, "", 107, CUT);
    cut_is(500, 10, 0, CUT, 107, 10, "", 0, "");
    cut_is(10, 10, 500, "", 10, 10, "", 97, CUT);
    cut_is(500, 500, 500, CUT, 18, 79, CUT, 18, CUT);
    cut_is(0, 118, 0, "", 0, 118, "", 0, "");
    cut_is(0, 119, 0, "", 0, 79, CUT, 0, "");
    cut_is(3000, 10, 3000, CUT, 53, 10, "", 53, CUT);          /* longer than what is looked at */
    cut_is(3000, 3000, 3000, CUT, 18, 79, CUT, 18, CUT);
}

Test(message, random_spans_in_random_bytes_are_sound) {
    uint64_t random = 31;
    for (int round = 0; round < 3000; round++) {
        char bytes[400];
        static const char pieces[] = "  \t\n\n\rab=\x1B\x80\xC3\xA9\xE2\x80\xAE";
        for (size_t i = 0; i < sizeof bytes; i++) bytes[i] = pieces[given_random(&random) % sizeof pieces];
        Said said = open_with("a.trn", (Text){bytes, given_random(&random) % sizeof bytes});
        for (int i = 0; i < 20; i++) {
            Span span = {(uint32_t)(given_random(&random) % 450), (uint32_t)(given_random(&random) % 450)};
            if (i == 0) span.end = UINT32_MAX;
            say(&said, MESSAGE_NOT_UTF8, span, "s", "");
        }
        Text text = messages_render(said.arena, said.messages);
        cr_assert(text_ends(text, TEXT("\n")));
        size_t column = 0;
        for (size_t i = 0; i < text.length; i++) {
            column = text.at[i] == '\n' ? 0 : column + 1;
            cr_assert((unsigned char)text.at[i] >= 0x20 || text.at[i] == '\n');
            cr_assert(column < 400, "a line is too long");
        }
        arena_close(said.arena);
    }
}

Test(message, very_many_messages_are_sorted_soon, .timeout = 20) {
    Said said = open_with("a.trn", TEXT("a = 1\n"));
    for (uint32_t i = 0; i < 200000; i++) say(&said, MESSAGE_NOT_UTF8, (Span){0, 0}, i % 2 ? "one" : "two", "");
    for (uint32_t i = 0; i < 200000; i++) say(&said, MESSAGE_NOT_UTF8, (Span){6 - i % 6, 7}, "three", "");
    Text text = messages_render(said.arena, said.messages);
    size_t lines = 0;
    for (size_t i = 0; i < text.length; i++) lines += text.at[i] == '\n';
    cr_assert_eq(lines, 2 + 2 * 6u);
    arena_close(said.arena);
}

Test(message, only_so_many_messages_are_shown) {
    Said said = open_with("a.trn", TEXT("a = 1\n"));
    for (uint32_t i = 0; i < MESSAGE_SHOWN_LIMIT + 7u; i++) {
        TextBuilder name = text_builder(said.arena);
        text_add_count(&name, i);
        say(&said, MESSAGE_NOT_UTF8, (Span){0, 0}, text_zero_ended(said.arena, text_built(&name)), "");
    }
    Text text = messages_render(said.arena, said.messages);
    size_t lines = 0;
    for (size_t i = 0; i < text.length; i++) lines += text.at[i] == '\n';
    cr_assert_eq(lines, MESSAGE_SHOWN_LIMIT + 1u);
    cr_assert(text_ends(text, TEXT("\n7 more messages are not shown; mend these first.\n")));
    arena_close(said.arena);
}
