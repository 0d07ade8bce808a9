#include "base/symbol.h"

#include <string.h>

#include "base/vector.h"

/* The place of a name in the table; symbol 0: empty. */
typedef struct Slot {
    uint32_t hash;
    Symbol symbol;
} Slot;

struct Symbols {
    Arena *arena;
    Slot *slots;
    uint32_t room; /* a power of two; at most 5/8 full */
    uint64_t seed; /* differs from run to run, so that nobody can prepare names that collide; numbers do not depend on it */
    VECTOR(Text) names; /* by symbol */
};

enum { ROOM_FIRST = 512 };

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

Symbols *symbols_open(Arena *arena) {
    Symbols *symbols = ARENA_NEW(arena, Symbols);
    symbols->arena = arena;
    symbols->room = ROOM_FIRST;
    symbols->slots = ARENA_ARRAY(arena, Slot, ROOM_FIRST);
    symbols->seed = mix((uint64_t)(uintptr_t)symbols ^ ODD_B, ODD_A);
    VECTOR_PUSH(arena, &symbols->names, (Text){NULL, 0});
    return symbols;
}

/* The slot that holds the name, or the empty one where it belongs. */
static Slot *slot_of(const Symbols *symbols, Text name, uint32_t hash) {
    uint32_t mask = symbols->room - 1;
    for (uint32_t i = hash & mask;; i = (i + 1) & mask) {
        Slot *slot = &symbols->slots[i];
        if (!slot->symbol) return slot;
        if (slot->hash != hash) continue;
        Text held = symbols->names.at[slot->symbol];
        if (held.length == name.length && (name.length == 0 || memcmp(held.at, name.at, name.length) == 0)) return slot;
    }
}

static void grow(Symbols *symbols) {
    uint32_t old_room = symbols->room;
    const Slot *old = symbols->slots;
    symbols->room = 4 * old_room;
    symbols->slots = ARENA_ARRAY(symbols->arena, Slot, symbols->room);
    uint32_t mask = symbols->room - 1;
    for (uint32_t i = 0; i < old_room; i++) {
        if (!old[i].symbol) continue;
        uint32_t j = old[i].hash & mask;
        while (symbols->slots[j].symbol) j = (j + 1) & mask;
        symbols->slots[j] = old[i];
    }
}

Symbol symbol_of(Symbols *symbols, Text name) {
    uint32_t hash = hash_of(symbols->seed, name);
    Slot *slot = slot_of(symbols, name, hash);
    if (slot->symbol) return slot->symbol;
    Symbol symbol = symbols->names.count;
    *slot = (Slot){hash, symbol};
    VECTOR_PUSH(symbols->arena, &symbols->names, text_copy(symbols->arena, name));
    if (symbols->names.count > symbols->room / 8 * 5) grow(symbols);
    return symbol;
}

Symbol symbol_find(const Symbols *symbols, Text name) {
    return slot_of(symbols, name, hash_of(symbols->seed, name))->symbol;
}

Text symbol_text(const Symbols *symbols, Symbol symbol) {
    return symbol < symbols->names.count ? symbols->names.at[symbol] : (Text){NULL, 0};
}

uint32_t symbols_count(const Symbols *symbols) { return symbols->names.count - 1; }
