#include "command/requote.h"

#include <string.h>

#include "command/command.h"
#include "given.h"
#include "quantity/quantity.h"

/* A world of three files in memory; those whose path begins with "kept" cannot be written. */
typedef struct Files {
    Arena *arena;
    Text paths[3], bytes[3];
    TextBuilder out, err;
    uint32_t writes;
} Files;

static int file_at(const Files *files, Text path) {
    for (int i = 0; i < 3; i++)
        if (text_equal(files->paths[i], path)) return i;
    return -1;
}

static WorldResult read_file(void *context, Arena *arena, Text path, Text *bytes) {
    Files *files = context;
    int at = file_at(files, path);
    if (at < 0) return WORLD_MISSING;
    *bytes = text_copy(arena, files->bytes[at]);
    return WORLD_OK;
}

static WorldResult list_files(void *context, Arena *arena, Text folder, Text ending, Text **paths, uint32_t *count) {
    (void)context, (void)arena, (void)folder, (void)ending;
    *paths = NULL;
    *count = 0;
    return WORLD_OK;
}

static WorldResult write_file(void *context, Text path, Text bytes) {
    Files *files = context;
    if (text_starts(path, TEXT("kept"))) return WORLD_FORBIDDEN;
    files->bytes[file_at(files, path)] = text_copy(files->arena, bytes);
    files->writes++;
    return WORLD_OK;
}

static WorldResult resolve(void *context, Arena *arena, Text path, Text *real) {
    *real = text_is(path, ".") ? TEXT("/") : text_fill(arena, TEXT("/{0}"), &path, 1);
    return text_is(path, ".") || file_at(context, path) >= 0 ? WORLD_OK : WORLD_MISSING;
}

static WorldResult print(void *context, int stream, Text bytes) {
    Files *files = context;
    text_add(stream == 1 ? &files->out : &files->err, bytes);
    return WORLD_OK;
}

#define CYCLE "```trunnion\ncycle knock { move 1 mm in 1 s  move -1 mm in 1 s }\n```\n"

static int requote(Arena *arena, Files *files, const char *a, const char *b) {
    World world = {.context = files, .read = read_file, .list = list_files, .write = write_file, .resolve = resolve, .print = print};
    Text arguments[4] = {TEXT("trunnion"), TEXT("requote"), text_from(a), text_from(b)};
    files->arena = arena;
    files->out = text_builder(arena);
    files->err = text_builder(arena);
    files->writes = 0;
    return command_run(arena, &world, arguments, b ? 4 : 3);
}

Test(requote, what_cannot_be_written_is_told_and_the_rest_is_done) {
    Arena *arena = given_arena();
    Files files = {.paths = {TEXT("kept.trn.md"), TEXT("b.trn.md"), TEXT("c.trn.md")},
                   .bytes = {TEXT("[3 s](#knock.duration)\n\n```trunnion\nuse \"c.trn.md\"\n```\n"), TEXT("[1 mm](#knock.stroke) [2 mm](#knock.stroke) [4 s](#knock.duration)"
                                                                            "\n\n```trunnion\nuse \"c.trn.md\"\n```\n"), TEXT(CYCLE)}};
    cr_assert_eq(requote(arena, &files, "kept.trn.md", "b.trn.md"), 3);
    cr_text(text_built(&files.out), "b.trn.md:1.24: 2 mm → 1 mm\nb.trn.md:1.46: 4 s → 2 s\n2 figures written anew in 1 file\n");
    cr_text(text_built(&files.err), "kept.trn.md: error: this file was not written: it may not be read or written (not-written)\n"
                                    "  Check the permissions of its folder.\n"
                                    "kept.trn.md:1.2-1.4: error: this says 3 s, and knock.duration is 2 s (stale-figure)\n"
                                    "    [«3 s»](#knock.duration)\n"
                                    "  Right would be [2 s](#knock.duration); trunnion requote writes it.\n");
    cr_text(files.bytes[1], "[1 mm](#knock.stroke) [1 mm](#knock.stroke) [2 s](#knock.duration)\n\n```trunnion\nuse \"c.trn.md\"\n```\n");
    cr_text(files.bytes[0], "[3 s](#knock.duration)\n\n```trunnion\nuse \"c.trn.md\"\n```\n");
    arena_close(arena);
}

Test(requote, a_fresh_file_is_not_touched) {
    Arena *arena = given_arena();
    Files files = {.paths = {TEXT("a.trn.md"), TEXT("b"), TEXT("c")}, .bytes = {TEXT("[2.0 s](#knock.duration)\n\n" CYCLE)}};
    cr_assert_eq(requote(arena, &files, "a.trn.md", NULL), 0);
    cr_assert_eq(files.writes, 0u);
    cr_text(text_built(&files.out), "every quoted figure is fresh\n");
    cr_text(text_built(&files.err), "");
    arena_close(arena);
}

/* Any number of figures with any digits in any order: afterwards all are fresh, and nothing else has changed. */
Test(requote, makes_anything_fresh) {
    static const char *const units[] = {"s", "ms", "min", "µs", "h"};
    static const char *const between[] = {" ", "\n", "\n\n", "\n- ", "\n> ", "\r\n", " `[1](#x)` ", " *and* ", "\n## ", "\n\n| a | b |\n|---|---|\n| "};
    Arena *arena = given_arena();
    uint64_t state = 3;
    for (int round = 0; round < 60; round++) {
        TextBuilder text = text_builder(arena), rest = text_builder(arena);
        for (int n = 0; n < 40; n++) {
            Text parts[3] = {spell_fixed(arena, (double)(given_random(&state) % 4000) / 1000, (int)(given_random(&state) % 8)),
                             text_from(units[given_random(&state) % 5]), text_from(between[given_random(&state) % 10])};
            text_add(&text, text_fill(arena, TEXT("{2}[{0} {1}](#knock.duration)"), parts, 3));
            text_add(&rest, text_fill(arena, TEXT("{2}[ {1}](#knock.duration)"), parts, 3));
        }
        text_add_string(&text, "\n\n" CYCLE);
        text_add_string(&rest, "\n\n" CYCLE);
        Files files = {.paths = {TEXT("a.trn.md"), TEXT("b"), TEXT("c")}, .bytes = {text_built(&text)}};
        cr_assert_eq(requote(arena, &files, "a.trn.md", NULL), 0, "%.*s", (int)files.err.length, files.err.at);
        cr_assert_eq(files.writes, 1u);
        TextBuilder left = text_builder(arena);
        Text now = files.bytes[0];
        for (size_t i = 0; i < now.length; i++) { /* digits behind a bracket go, but not those of code */
            text_add_char(&left, now.at[i]);
            if (now.at[i] != '[' || i == 0 || now.at[i - 1] == '`') continue;
            while (i + 1 < now.length && (now.at[i + 1] == '.' || (now.at[i + 1] >= '0' && now.at[i + 1] <= '9'))) i++;
        }
        cr_text(text_built(&left), text_zero_ended(arena, text_built(&rest)));
        cr_assert_eq(requote(arena, &files, "a.trn.md", NULL), 0);
        cr_assert_eq(files.writes, 0u);
    }
    arena_close(arena);
}
