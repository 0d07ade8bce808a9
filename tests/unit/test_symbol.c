#include "base/symbol.h"

#include <stdio.h>
#include <string.h>

#include "given.h"

Test(symbol, equal_text_equal_number) {
    Arena *arena = given_arena();
    Symbols *symbols = symbols_open(arena);
    char bytes[] = "stroke";
    Symbol stroke = symbol_of(symbols, (Text){bytes, 6});
    bytes[0] = 'X';
    cr_assert_eq(stroke, 1u);
    cr_assert_eq(symbol_of(symbols, TEXT("stroke")), stroke, "the table has its own copy");
    cr_assert_eq(symbol_of(symbols, TEXT("strokes")), 2u);
    cr_assert_eq(symbols_count(symbols), 2u);
    cr_text(symbol_text(symbols, stroke), "stroke");
    arena_close(arena);
}

Test(symbol, finding_does_not_intern) {
    Arena *arena = given_arena();
    Symbols *symbols = symbols_open(arena);
    cr_assert_eq(symbol_find(symbols, TEXT("jar")), 0u);
    cr_assert_eq(symbols_count(symbols), 0u);
    Symbol jar = symbol_of(symbols, TEXT("jar"));
    cr_assert_eq(symbol_find(symbols, TEXT("jar")), jar);
    cr_text(symbol_text(symbols, 0), "");
    cr_text(symbol_text(symbols, 77), "");
    arena_close(arena);
}

Test(symbol, the_empty_name_and_zero_bytes_are_names) {
    Arena *arena = given_arena();
    Symbols *symbols = symbols_open(arena);
    Symbol empty = symbol_of(symbols, (Text){NULL, 0});
    Symbol zero = symbol_of(symbols, (Text){"\0", 1}), zeros = symbol_of(symbols, (Text){"\0\0", 2});
    cr_assert(empty && zero && zeros);
    cr_assert(empty != zero && zero != zeros && empty != zeros);
    cr_assert_eq(symbol_of(symbols, TEXT("")), empty);
    arena_close(arena);
}

/* Each length has its own way through the hash: all must tell apart texts that differ in one byte, at any place. */
Test(symbol, every_byte_of_every_length_counts) {
    Arena *arena = given_arena();
    Symbols *symbols = symbols_open(arena);
    uint32_t expected = 0;
    char name[80];
    for (size_t length = 1; length <= sizeof name; length++) {
        memset(name, 'a', sizeof name);
        cr_assert_eq(symbol_of(symbols, (Text){name, length}), ++expected);
        for (size_t i = 0; i < length; i++) {
            name[i] = 'b';
            cr_assert_eq(symbol_of(symbols, (Text){name, length}), ++expected);
            name[i] = 'a';
        }
    }
    cr_assert_eq(symbols_count(symbols), expected);
    arena_close(arena);
}

Test(symbol, holds_a_million_names) {
    Arena *arena = given_arena();
    Symbols *symbols = symbols_open(arena);
    char name[32];
    for (uint32_t i = 0; i < 1000000; i++) {
        int length = snprintf(name, sizeof name, "Rook-%u", i);
        cr_assert(symbol_of(symbols, (Text){name, (size_t)length}) == i + 1);
    }
    for (uint32_t i = 0; i < 1000000; i += 7) {
        int length = snprintf(name, sizeof name, "Rook-%u", i);
        cr_assert(symbol_find(symbols, (Text){name, (size_t)length}) == i + 1);
        cr_assert(text_equal(symbol_text(symbols, i + 1), (Text){name, (size_t)length}));
    }
    arena_close(arena);
}
