/* Memory with a named lifetime: everything taken from an arena lives until the arena ends.
 *
 * Owns:       its chunks. Nothing taken from it is freed singly.
 * Surprising: it never returns NULL. When the machine has no more memory it calls the `exhausted` function it was
 *             opened with, which must not return (main prints one line and ends with status 3). */
#ifndef TRUNNION_BASE_ARENA_H
#define TRUNNION_BASE_ARENA_H

#include <stddef.h>
#include <stdint.h>

typedef struct Arena Arena;
typedef void ArenaExhausted(void *context);

/* A new arena. `exhausted` is called with `context` when memory runs out, here and in every later take. */
Arena *arena_open(ArenaExhausted *exhausted, void *context);
/* A new arena with the same `exhausted` and context as another. */
Arena *arena_open_beside(const Arena *other);
/* Takes everything back; the latest memory stays for what comes. For work that is done again and again. */
void arena_clear(Arena *arena);
/* Ends the arena and everything in it. NULL is allowed. */
void arena_close(Arena *arena);

/* `size` bytes, set to zero, aligned for any type. A size of 0 gives a valid pointer. */
void *arena_take(Arena *arena, size_t size);
/* `size` bytes, aligned for any type, not set. */
void *arena_take_raw(Arena *arena, size_t size);
/* Room for `count` elements of `size` bytes, set to zero; a product that overflows is exhaustion. */
void *arena_take_array(Arena *arena, size_t count, size_t size);
/* Grows the block `old` from `old_size` to `new_size` bytes; the old contents are copied, the rest is not set.
 * Grows in place when `old` was the latest block taken. */
void *arena_grow(Arena *arena, void *old, size_t old_size, size_t new_size);
/* Bytes taken so far, for the benchmark. */
size_t arena_used(const Arena *arena);

#define ARENA_NEW(arena, Type) ((Type *)arena_take((arena), sizeof(Type)))
#define ARENA_ARRAY(arena, Type, count) ((Type *)arena_take_array((arena), (count), sizeof(Type)))

#endif
