#include "base/map.h"

#include "given.h"

Test(map, an_empty_map_has_nothing) {
    Arena *arena = given_arena();
    Map map = map_open(arena);
    cr_assert_eq(map_get(&map, 0, 42), 42u);
    cr_assert_eq(map_get(&map, UINT64_MAX - 1, 0), 0u);
    arena_close(arena);
}

Test(map, keeps_and_replaces) {
    Arena *arena = given_arena();
    Map map = map_open(arena);
    map_set(&map, 0, 7);
    map_set(&map, UINT64_MAX - 1, 8);
    cr_assert_eq(map_get(&map, 0, 1), 7u);
    cr_assert_eq(map_get(&map, UINT64_MAX - 1, 1), 8u);
    cr_assert_eq(map_get(&map, 1, 1), 1u);
    map_set(&map, 0, 0);
    cr_assert_eq(map_get(&map, 0, 1), 0u);
    cr_assert_eq(map.count, 2u);
    arena_close(arena);
}

/* Keys as the compiler makes them: small numbers, pairs of small numbers, multiples of a power of two. */
static void holds(uint64_t (*key)(uint64_t)) {
    Arena *arena = given_arena();
    Map map = map_open(arena);
    enum { COUNT = 200000 };
    for (uint32_t i = 0; i < COUNT; i++) map_set(&map, key(i), i ^ 5);
    cr_assert_eq(map.count, (uint32_t)COUNT);
    for (uint32_t i = 0; i < COUNT; i++) cr_assert(map_get(&map, key(i), UINT32_MAX) == (i ^ 5));
    for (uint32_t i = COUNT; i < 2 * COUNT; i++) cr_assert(map_get(&map, key(i), UINT32_MAX) == UINT32_MAX);
    arena_close(arena);
}

static uint64_t small(uint64_t i) { return i; }
static uint64_t pair(uint64_t i) { return (i / 500) << 32 | i % 500; }
static uint64_t far(uint64_t i) { return i << 40; }
static uint64_t mixed(uint64_t i) { return i * 0x9E3779B97F4A7C15u; }

Test(map, holds_small_keys, .timeout = 10) { holds(small); }
Test(map, holds_pairs, .timeout = 10) { holds(pair); }
Test(map, holds_far_keys, .timeout = 10) { holds(far); }
Test(map, holds_mixed_keys, .timeout = 10) { holds(mixed); }
