/* A hash map from 64-bit keys to 32-bit values, in an arena. Keys are never removed. */
#ifndef TRUNNION_BASE_MAP_H
#define TRUNNION_BASE_MAP_H

#include <stdbool.h>

#include "base/arena.h"

typedef struct Map {
    Arena *arena;
    uint64_t *keys;   /* 0 marks an empty place, so keys are stored plus one */
    uint32_t *values;
    uint32_t count, room;
} Map;

Map map_open(Arena *arena);
/* The value of `key`, or `otherwise`. */
uint32_t map_get(const Map *map, uint64_t key, uint32_t otherwise);
/* Sets `key`, replacing what was there. `key` must not be UINT64_MAX. */
void map_set(Map *map, uint64_t key, uint32_t value);

#endif
