/* A specification in memory, through all stages. */
#ifndef TRUNNION_TESTS_GIVEN_CHECK_H
#define TRUNNION_TESTS_GIVEN_CHECK_H

#include <string.h>

#include "given.h"
#include "verdict/judge.h"

typedef struct GivenFile {
    const char *path;
    const char *bytes;
} GivenFile;

/* Files of a world in memory; the first is the one that is named. Ended by a path NULL. */
typedef struct GivenCheck {
    Arena *arena;
    const GivenFile *files;
    World world;
    PlanRequest plan; /* what is to be explained */
    Messages *messages;
    Program *program;
    Evaluation *evaluation;
    Result *result;
} GivenCheck;

static inline const GivenFile *given_file(const GivenCheck *check, Text path) {
    for (const GivenFile *file = check->files; file->path != NULL; file++) {
        if (text_is(path, file->path)) return file;
    }
    return NULL;
}

static inline WorldResult given_read(void *context, Arena *arena, Text path, Text *bytes) {
    const GivenFile *file = given_file(context, path);
    (void)arena;
    if (file == NULL) return WORLD_MISSING;
    *bytes = text_from(file->bytes);
    return WORLD_OK;
}

static inline WorldResult given_list(void *context, Arena *arena, Text folder, Text ending, Text **paths, uint32_t *count) {
    (void)context, (void)arena, (void)folder, (void)ending;
    *paths = NULL;
    *count = 0;
    return WORLD_OK;
}

static inline WorldResult given_write(void *context, Text path, Text bytes) {
    (void)context, (void)path, (void)bytes;
    return WORLD_FAILED;
}

static inline WorldResult given_resolve(void *context, Arena *arena, Text path, Text *real) {
    if (text_is(path, ".") || given_file(context, path) != NULL) {
        Text parts[1] = {path};
        *real = text_is(path, ".") ? TEXT("/") : text_fill(arena, TEXT("/{0}"), parts, 1);
        return WORLD_OK;
    }
    return WORLD_MISSING;
}

static inline WorldResult given_print(void *context, int stream, Text bytes) {
    (void)context, (void)stream, (void)bytes;
    return WORLD_FAILED;
}

static inline Text given_today(void *context, Arena *arena) {
    (void)context, (void)arena;
    return TEXT("2026-11-02");
}

static inline bool given_is_terminal(void *context, int stream) {
    (void)context, (void)stream;
    return false;
}

static inline double given_seconds(void *context) {
    (void)context;
    return 0;
}

static inline void given_hold_end(void *context, bool hold) { (void)context, (void)hold; }

static inline bool given_end_asked(void *context) {
    (void)context;
    return false;
}

static inline World given_world(void *context) {
    return (World){context, given_read, given_list, given_write, given_resolve, given_print, given_today, given_is_terminal, given_seconds, given_hold_end,
                   given_end_asked};
}

/* All stages on one named file of check->world, in check->arena. */
static inline void given_check_named(GivenCheck *check, Text path, const char *on) {
    Arena *arena = check->arena;
    JudgeOptions options = {.today = on ? text_from(on) : (Text){0}};
    LoadRequest request = {.paths = &path, .path_count = 1};
    Sources *sources = sources_open(arena);
    Symbols *symbols = symbols_open(arena);
    check->messages = messages_open(arena, sources);
    Tree *tree = tree_open(arena, symbols, sources);
    Loaded *loaded = load_files(arena, &check->world, sources, tree, check->messages, request);
    Model *model = model_open(arena, loaded, symbols, check->messages);
    check->program = plan_build(arena, &check->world, sources, model, check->plan);
    check->evaluation = evaluate(arena, check->program);
    check->result = judge_all(arena, &check->world, check->evaluation, check->messages, options);
}

/* Checks files[0], on the date `on`, or on the world's when it is NULL. */
static inline void given_check(GivenCheck *check, Arena *arena, const GivenFile *files, const char *on) {
    *check = (GivenCheck){.arena = arena, .files = files};
    check->world = given_world(check);
    given_check_named(check, text_from(files[0].path), on);
}

/* The same of one text, with an account of `path`; NULL: of everything. */
static inline void given_explained(GivenCheck *check, Arena *arena, const char *text, const char *path, uint32_t depth) {
    GivenFile *files = ARENA_ARRAY(arena, GivenFile, 2);
    files[0] = (GivenFile){"x.trn", text};
    *check = (GivenCheck){.arena = arena, .files = files};
    check->world = given_world(check);
    check->plan = (PlanRequest){.explained = true, .path = text_from(path), .depth = depth};
    given_check_named(check, TEXT("x.trn"), NULL);
}

/* A file of this repository, on a day when its concessions are in force. */
static inline void given_check_path(GivenCheck *check, const char *path) {
    check->world = world_of_system();
    given_check_named(check, text_from(path), "2026-11-02");
}

static inline void given_check_text(GivenCheck *check, Arena *arena, const char *text) {
    GivenFile *files = ARENA_ARRAY(arena, GivenFile, 2);
    files[0] = (GivenFile){"x.trn", text};
    given_check(check, arena, files, NULL);
}

static inline const Finding *given_finding(const GivenCheck *check, const char *id) {
    for (uint32_t i = 0; i < check->result->findings.count; i++) {
        if (text_is(check->result->findings.at[i].id, id)) return &check->result->findings.at[i];
    }
    cr_assert_fail("there is no finding %s", id);
    return NULL;
}

/* Fails with all messages when there is an error. */
static inline void given_no_errors(const GivenCheck *check) {
    Text said = messages_render(check->arena, check->messages);
    cr_assert_eq(check->messages->errors, 0u, "%.*s", (int)said.length, said.at);
}

#endif
