/* What the tests of units and kinds need: a vocabulary read from the standard library's file, from a text, or from both. */
#ifndef TRUNNION_TESTS_GIVEN_UNITS_H
#define TRUNNION_TESTS_GIVEN_UNITS_H

#include <math.h>
#include <stdio.h>

#include "given.h"
#include "quantity/quantity.h"

typedef struct Given {
    Arena *arena;
    Symbols *symbols;
    Sources *sources;
    Tree *tree;
    Messages *messages;
    Vocabulary *vocabulary;
    uint32_t written; /* messages so far, before which all is known */
} Given;

static inline void given_declare(Given *given, Text path, Text bytes) {
    Source *source = source_add(given->sources, path, path, bytes, SOURCE_NAMED);
    for (NodeId item = syntax_read(given->tree, source, given->messages); item; item = tree_node(given->tree, item)->next)
        vocabulary_declare(given->vocabulary, item);
}

static inline Text given_file(Arena *arena, const char *path) {
    FILE *file = fopen(path, "rb");
    cr_assert(file, "no %s; tests run in the top folder", path);
    TextBuilder builder = text_builder(arena);
    for (int c; (c = getc(file)) != EOF;) text_add_char(&builder, (char)c);
    fclose(file);
    return text_built(&builder);
}

static inline Given given_open(void) {
    Given given = {.arena = given_arena()};
    given.symbols = symbols_open(given.arena);
    given.sources = sources_open(given.arena);
    given.messages = messages_open(given.arena, given.sources);
    given.tree = tree_open(given.arena, given.symbols, given.sources);
    given.vocabulary = vocabulary_open(given.arena, given.symbols, given.tree, given.messages);
    return given;
}

/* The standard library's units, and those of `more`. */
static inline Given given_units(const char *more) {
    Given given = given_open();
    given_declare(&given, TEXT("vocabulary.trn"), given_file(given.arena, "stdlib/vocabulary.trn"));
    if (more[0]) given_declare(&given, TEXT("given.trn"), text_from(more));
    vocabulary_finish(given.vocabulary);
    return given;
}

/* The units of `text` alone. */
static inline Given given_only(const char *text) {
    Given given = given_open();
    given_declare(&given, TEXT("given.trn"), text_from(text));
    vocabulary_finish(given.vocabulary);
    return given;
}

static inline UnitId given_unit(Given *given, const char *text) {
    return vocabulary_unit(given->vocabulary, symbol_of(given->symbols, text_from(text)), (Span){0, 0});
}

/* A unit that must be readable. */
static inline const Unit *given_good(Given *given, const char *text) {
    UnitId unit = given_unit(given, text);
    if (unit == 0) {
        Text said = messages_render(given->arena, given->messages);
        cr_assert_fail("%s is not read: %.*s", text, (int)said.length, said.at);
    }
    return unit_of(given->vocabulary, unit);
}

static inline KindId given_kind(Given *given, const char *name) {
    KindId kind = vocabulary_kind(given->vocabulary, symbol_of(given->symbols, text_from(name)));
    cr_assert(kind != 0, "no kind %s", name);
    return kind;
}

static inline Measure given_measure(Given *given, const char *unit) {
    given_good(given, unit);
    return measure_of_unit(given->vocabulary, given_unit(given, unit));
}

static inline Measure given_of(Given *given, const char *kind) {
    return measure_of_kind(given->vocabulary, given_kind(given, kind));
}

static inline void given_silence(Given *given) {
    Text said = messages_render(given->arena, given->messages);
    cr_assert(said.length == 0, "said: %.*s", (int)said.length, said.at);
}

/* Everything said, sentence and advice, a line each. */
static inline Text given_said(Given *given) {
    TextBuilder builder = text_builder(given->arena);
    for (uint32_t i = 0; i < given->messages->list.count; i++) {
        const Message *message = &given->messages->list.at[i];
        text_add_string(&builder, message_name(message->id));
        text_add_string(&builder, ": ");
        text_add(&builder, message->sentence);
        text_add_string(&builder, ". ");
        text_add(&builder, message->advice);
        text_add_string(&builder, "\n");
    }
    return text_built(&builder);
}

#define cr_near(actual, expected, relative)                                                                       \
    do {                                                                                                          \
        double near_a = (actual), near_b = (expected);                                                            \
        cr_assert(fabs(near_a - near_b) <= (relative)*fabs(near_b), "is %.17g, not %.17g", near_a, near_b); \
    } while (0)

#endif
