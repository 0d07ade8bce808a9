#include "base/map.h"

#include <assert.h>

enum { ROOM_FIRST = 16 };

Map map_open(Arena *arena) { return (Map){.arena = arena}; }

/* Where the search for a key begins: the upper half of a product depends on all its bits. */
static uint32_t home_of(uint64_t key, uint32_t mask) {
    key = (key ^ key >> 32) * 0x9E3779B97F4A7C15u;
    return (uint32_t)(key >> 32 ^ key >> 48) & mask;
}

/* The place of a stored key (plus one), or the empty one where it belongs. */
static uint32_t place_of(const Map *map, uint64_t stored) {
    uint32_t mask = map->room - 1, i = home_of(stored, mask);
    while (map->keys[i] && map->keys[i] != stored) i = (i + 1) & mask;
    return i;
}

uint32_t map_get(const Map *map, uint64_t key, uint32_t otherwise) {
    if (!map->room) return otherwise;
    uint32_t i = place_of(map, key + 1);
    return map->keys[i] ? map->values[i] : otherwise;
}

static void grow(Map *map) {
    Map old = *map;
    map->room = old.room ? 2 * old.room : ROOM_FIRST;
    map->keys = ARENA_ARRAY(map->arena, uint64_t, map->room);
    map->values = ARENA_ARRAY(map->arena, uint32_t, map->room);
    for (uint32_t i = 0; i < old.room; i++) {
        if (!old.keys[i]) continue;
        uint32_t j = place_of(map, old.keys[i]);
        map->keys[j] = old.keys[i];
        map->values[j] = old.values[i];
    }
}

void map_set(Map *map, uint64_t key, uint32_t value) {
    assert(key != UINT64_MAX);
    if (map->count >= map->room / 4 * 3) grow(map);
    uint32_t i = place_of(map, key + 1);
    if (!map->keys[i]) {
        map->keys[i] = key + 1;
        map->count++;
    }
    map->values[i] = value;
}
