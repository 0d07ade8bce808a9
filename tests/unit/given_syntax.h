/* What the tests of the reader need: a text read in memory. */
#ifndef TRUNNION_TESTS_GIVEN_SYNTAX_H
#define TRUNNION_TESTS_GIVEN_SYNTAX_H

#include "given.h"
#include "syntax/tree.h"

typedef struct GivenText {
    Arena *arena;
    Sources *sources;
    Source *source;
    Messages *messages;
    Tree *tree;
    NodeId items;
} GivenText;

/* The bytes lie in a block of their own of the heap, so that a sanitizer sees a read past the end. */
static inline GivenText given_bytes(const char *path, const char *bytes, size_t length)
{
    GivenText given = {.arena = given_arena()};
    char *copy = malloc(length ? length : 1);
    if (length) memcpy(copy, bytes, length);
    given.sources = sources_open(given.arena);
    given.source = source_add(given.sources, text_from(path), text_from(path), (Text){copy, length}, SOURCE_NAMED);
    given.messages = messages_open(given.arena, given.sources);
    given.tree = tree_open(given.arena, symbols_open(given.arena), given.sources);
    return given;
}

static inline GivenText given_text(const char *text) { return given_bytes("a.trn", text, strlen(text)); }

static inline void given_read(GivenText *given) { given->items = syntax_read(given->tree, given->source, given->messages); }

static inline Text given_dump(const GivenText *given) { return tree_dump(given->tree, given->arena, given->items); }

static inline void given_end(GivenText *given)
{
    free((char *)(uintptr_t)given->source->bytes.at);
    arena_close(given->arena);
}

#endif
