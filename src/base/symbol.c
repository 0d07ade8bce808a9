#include "base/symbol.h"

#include <string.h>

#include "base/vector.h"

typedef struct Name {
    const char *at;
    uint32_t length, hash;
} Name;

enum { ROOM_FIRST = 512, CHUNK_BITS = 10, CHUNK = 1 << CHUNK_BITS };

struct Symbols {
    Arena *arena;
    Symbol *slots; /* by hash; 0: empty */
    uint32_t room; /* a power of two; at most 5/8 full */
    uint32_t count;
    uint64_t seed; /* differs from run to run, so that nobody can prepare names that collide; numbers do not depend on it */
    VECTOR(Name *) chunks; /* names by symbol; they never move */
};

__extension__ typedef unsigned __int128 Wide;

static uint64_t mix(uint64_t a, uint64_t b) {
    Wide product = (Wide)a * b;
    return (uint64_t)product ^ (uint64_t)(product >> 64);
}

static uint64_t load8(const char *at) {
    uint64_t word;
    memcpy(&word, at, 8);
    return word;
}

static uint64_t load4(const char *at) {
    uint32_t word;
    memcpy(&word, at, 4);
    return word;
}

static const uint64_t ODD_A = 0x9E3779B97F4A7C15u, ODD_B = 0xD1B54A32D192ED03u;

/* One multiplication for names up to 16 bytes, one more for each further 16. */
static uint32_t hash_of(uint64_t seed, Text name) {
    const char *at = name.at;
    size_t left = name.length;
    uint64_t hash = seed ^ left * ODD_A, low, high;
    while (left > 16) {
        hash = mix(load8(at) ^ ODD_A, load8(at + 8) ^ hash);
        at += 16;
        left -= 16;
    }
    if (left >= 8) {
        low = load8(at);
        high = load8(at + left - 8);
    } else if (left >= 4) {
        low = load4(at);
        high = load4(at + left - 4);
    } else if (left) {
        low = (uint64_t)(unsigned char)at[0] << 16 | (uint64_t)(unsigned char)at[left >> 1] << 8 |
              (uint64_t)(unsigned char)at[left - 1];
        high = 0;
    } else {
        low = high = 0;
    }
    hash = mix(low ^ ODD_B, high ^ hash);
    return (uint32_t)(hash ^ hash >> 32);
}

static Name *name_at(const Symbols *symbols, Symbol symbol) {
    return &symbols->chunks.at[symbol >> CHUNK_BITS][symbol & (CHUNK - 1)];
}

static Symbol add_name(Symbols *symbols, Name name) {
    Symbol symbol = symbols->count++;
    if (symbol >> CHUNK_BITS == symbols->chunks.count)
        VECTOR_PUSH(symbols->arena, &symbols->chunks, arena_take_raw(symbols->arena, CHUNK * sizeof(Name)));
    *name_at(symbols, symbol) = name;
    return symbol;
}

Symbols *symbols_open(Arena *arena) {
    Symbols *symbols = ARENA_NEW(arena, Symbols);
    symbols->arena = arena;
    symbols->room = ROOM_FIRST;
    symbols->slots = ARENA_ARRAY(arena, Symbol, ROOM_FIRST);
    symbols->seed = mix((uint64_t)(uintptr_t)symbols ^ ODD_B, ODD_A);
    add_name(symbols, (Name){NULL, 0, 0});
    return symbols;
}

/* The slot that holds the name, or the empty one where it belongs. */
static Symbol *slot_of(const Symbols *symbols, Text name, uint32_t hash) {
    uint32_t mask = symbols->room - 1;
    for (uint32_t i = hash & mask;; i = (i + 1) & mask) {
        Symbol *slot = &symbols->slots[i];
        if (!*slot) return slot;
        const Name *held = name_at(symbols, *slot);
        if (held->hash != hash) continue;
        if (held->length == name.length && (name.length == 0 || memcmp(held->at, name.at, name.length) == 0)) return slot;
    }
}

static void grow(Symbols *symbols) {
    symbols->room = 4 * symbols->room;
    symbols->slots = ARENA_ARRAY(symbols->arena, Symbol, symbols->room);
    uint32_t mask = symbols->room - 1;
    for (Symbol symbol = 1; symbol < symbols->count; symbol++) {
        uint32_t i = name_at(symbols, symbol)->hash & mask;
        while (symbols->slots[i]) i = (i + 1) & mask;
        symbols->slots[i] = symbol;
    }
}

Symbol symbol_of(Symbols *symbols, Text name) {
    uint32_t hash = hash_of(symbols->seed, name);
    Symbol *slot = slot_of(symbols, name, hash);
    if (*slot) return *slot;
    Symbol symbol = *slot = add_name(symbols, (Name){text_copy(symbols->arena, name).at, (uint32_t)name.length, hash});
    if (symbols->count > symbols->room / 8 * 5) grow(symbols);
    return symbol;
}

Symbol symbol_find(const Symbols *symbols, Text name) {
    return *slot_of(symbols, name, hash_of(symbols->seed, name));
}

Text symbol_text(const Symbols *symbols, Symbol symbol) {
    if (symbol >= symbols->count) return (Text){NULL, 0};
    const Name *name = name_at(symbols, symbol);
    return (Text){name->at, name->length};
}

uint32_t symbols_count(const Symbols *symbols) { return symbols->count - 1; }
