#define _DEFAULT_SOURCE /* MAP_ANONYMOUS, madvise */

#include "base/arena.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>

#if defined(__SANITIZE_ADDRESS__)
#define ARENA_WATCHED 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define ARENA_WATCHED 1
#endif
#endif

/* Under AddressSanitizer the chunks come from the heap, so that a lost arena counts as a leak, and between two blocks
 * lies a forbidden gap, so that a write past a block is seen. */
#ifdef ARENA_WATCHED
#include <sanitizer/asan_interface.h>
#define FORBID(at, size) ASAN_POISON_MEMORY_REGION((at), (size))
#define ALLOW(at, size) ASAN_UNPOISON_MEMORY_REGION((at), (size))
enum { GAP = 16 };
#else
#define FORBID(at, size) ((void)(at), (void)(size))
#define ALLOW(at, size) ((void)(at), (void)(size))
enum { GAP = 0 };
#endif

enum {
    ALIGNMENT = 16,
    PAGE = 4096,
    CHUNK_FIRST = 64 << 10, /* small: a short run should not pay for memory it never touches */
    CHUNK_LAST = 64 << 20,
    CHUNK_HUGE = 2 << 20    /* from here on, whole huge pages: first touch costs a quarter */
};

_Static_assert(_Alignof(max_align_t) <= ALIGNMENT, "blocks are aligned for any type");

typedef struct Chunk {
    struct Chunk *before;
    size_t size;
} Chunk;

/* Lies in its own first chunk. Chunks come from the system as zeros and no byte is handed out twice, so a fresh block
 * is zero without being set. */
struct Arena {
    Chunk *chunks; /* the latest first */
    char *next;    /* free bytes of the current chunk */
    char *end;
    char *latest;  /* the block that ends at `next`, or NULL */
    size_t chunk_size; /* of the next chunk */
    size_t used;
    ArenaExhausted *exhausted;
    void *context;
};

static _Noreturn void give_up(ArenaExhausted *exhausted, void *context) {
    if (exhausted) exhausted(context);
    abort();
}

static size_t rounded(size_t size, size_t step) { return (size + step - 1) & ~(step - 1); }

#ifdef ARENA_WATCHED

static void *memory_get(size_t size) { return calloc(1, size); }
static void memory_return(void *at, size_t size) {
    ALLOW(at, size);
    free(at);
}

#else

static void *memory_get_pages(size_t size) {
    void *at = mmap(NULL, size, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    return at == MAP_FAILED ? NULL : at;
}

/* Huge pages need an address that is a multiple of their size: map more, and return the two ends. */
static void *memory_get_huge(size_t size) {
    if (size > SIZE_MAX - CHUNK_HUGE) return NULL;
    char *wide = memory_get_pages(size + CHUNK_HUGE);
    if (!wide) return NULL;
    size_t lead = (CHUNK_HUGE - ((uintptr_t)wide & (CHUNK_HUGE - 1))) & (CHUNK_HUGE - 1);
    if (lead) munmap(wide, lead);
    munmap(wide + lead + size, CHUNK_HUGE - lead);
    madvise(wide + lead, size, MADV_HUGEPAGE); /* a wish: small pages are as right, only slower */
    return wide + lead;
}

static void *memory_get(size_t size) { return size >= CHUNK_HUGE ? memory_get_huge(size) : memory_get_pages(size); }
static void memory_return(void *at, size_t size) { munmap(at, size); }

#endif

/* A chunk with room for `need` bytes after its header, or NULL. */
static Chunk *chunk_open(size_t chunk_size, size_t need) {
    if (need > SIZE_MAX / 2) return NULL;
    size_t size = rounded(sizeof(Chunk), ALIGNMENT) + need;
    size = size < chunk_size ? chunk_size : rounded(size, PAGE);
    Chunk *chunk = memory_get(size);
    if (!chunk) return NULL;
    chunk->before = NULL;
    chunk->size = size;
    return chunk;
}

static char *chunk_room(Chunk *chunk) { return (char *)chunk + rounded(sizeof(Chunk), ALIGNMENT); }
static char *chunk_end(Chunk *chunk) { return (char *)chunk + chunk->size; }

Arena *arena_open(ArenaExhausted *exhausted, void *context) {
    Chunk *chunk = chunk_open(CHUNK_FIRST, 0);
    if (!chunk) give_up(exhausted, context);
    Arena *arena = (Arena *)(void *)chunk_room(chunk);
    *arena = (Arena){
        .chunks = chunk,
        .next = chunk_room(chunk) + rounded(sizeof(Arena), ALIGNMENT),
        .end = chunk_end(chunk),
        .chunk_size = 2 * CHUNK_FIRST,
        .exhausted = exhausted,
        .context = context,
    };
    FORBID(arena->next, (size_t)(arena->end - arena->next));
    return arena;
}

Arena *arena_open_beside(const Arena *other) { return arena_open(other->exhausted, other->context); }

void arena_clear(Arena *arena) {
    Chunk *kept = NULL, *first = NULL;
    for (Chunk *chunk = arena->chunks, *before; chunk; chunk = before) {
        before = chunk->before;
        if (!before) first = chunk;
        else if (chunk_end(chunk) == arena->end) kept = chunk;
        else memory_return(chunk, chunk->size);
    }
    char *own = chunk_room(first) + rounded(sizeof(Arena), ALIGNMENT);
    char *start = kept ? chunk_room(kept) : own;
    if (kept) kept->before = first;
    arena->chunks = kept ? kept : first;
    ALLOW(start, (size_t)(arena->next - start));
    memset(start, 0, (size_t)(arena->next - start)); /* as it came from the system */
    FORBID(start, (size_t)(arena->end - start));
    arena->next = start;
    arena->latest = NULL;
    arena->used = 0;
}

void arena_close(Arena *arena) {
    if (!arena) return;
    Chunk *chunk = arena->chunks;
    while (chunk) {
        Chunk *before = chunk->before; /* the arena itself lies in the last one */
        memory_return(chunk, chunk->size);
        chunk = before;
    }
}

/* A block that does not fit into the current chunk. `room` is its rounded size with the gap. */
static void *take_from_new_chunk(Arena *arena, size_t size, size_t room) {
    Chunk *chunk = chunk_open(arena->chunk_size, room);
    if (!chunk) give_up(arena->exhausted, arena->context);
    if (arena->chunk_size < CHUNK_LAST) arena->chunk_size *= 2;
    chunk->before = arena->chunks;
    arena->chunks = chunk;
    char *block = chunk_room(chunk);
    FORBID(block, (size_t)(chunk_end(chunk) - block));
    ALLOW(block, size);
    if (chunk_end(chunk) - block - (ptrdiff_t)room >= arena->end - arena->next) {
        arena->next = block + room;
        arena->end = chunk_end(chunk);
        arena->latest = block;
    } else {
        arena->latest = NULL; /* a big block with a chunk of its own: the old chunk has more room left */
    }
    arena->used += size;
    return block;
}

void *arena_take_raw(Arena *arena, size_t size) {
    if (size > SIZE_MAX / 4) give_up(arena->exhausted, arena->context);
    size_t room = rounded(size ? size : 1, ALIGNMENT) + GAP;
    if (room > (size_t)(arena->end - arena->next)) return take_from_new_chunk(arena, size, room);
    char *block = arena->next;
    ALLOW(block, size);
    arena->next = block + room;
    arena->latest = block;
    arena->used += size;
    return block;
}

void *arena_take(Arena *arena, size_t size) { return arena_take_raw(arena, size); }

void *arena_take_array(Arena *arena, size_t count, size_t size) {
    if (size && count > SIZE_MAX / size) give_up(arena->exhausted, arena->context);
    return arena_take(arena, count * size);
}

void *arena_grow(Arena *arena, void *old, size_t old_size, size_t new_size) {
    if (!old) return arena_take_raw(arena, new_size);
    if (new_size <= old_size) return old;
    if (new_size > SIZE_MAX / 4) give_up(arena->exhausted, arena->context);
    size_t room = rounded(new_size, ALIGNMENT) + GAP;
    if (old == arena->latest && room <= (size_t)(arena->end - arena->latest)) {
        ALLOW(arena->latest, new_size);
        arena->next = arena->latest + room;
        arena->used += new_size - old_size;
        return old;
    }
    void *block = arena_take_raw(arena, new_size);
    if (old_size) memcpy(block, old, old_size);
    return block;
}

size_t arena_used(const Arena *arena) { return arena->used; }
