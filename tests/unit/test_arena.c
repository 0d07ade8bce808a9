#include "base/arena.h"

#include <setjmp.h>
#include <string.h>

#include "base/vector.h"
#include "given.h"

static bool all_zero(const unsigned char *at, size_t size) {
    for (size_t i = 0; i < size; i++)
        if (at[i]) return false;
    return true;
}

Test(arena, gives_zeroed_aligned_blocks_that_do_not_overlap) {
    Arena *arena = given_arena();
    enum { COUNT = 4000 };
    unsigned char *blocks[COUNT];
    size_t sizes[COUNT];
    uint64_t random = 7;
    for (int i = 0; i < COUNT; i++) {
        sizes[i] = given_random(&random) % 300;
        if (i % 500 == 499) sizes[i] = 3u << 20;
        blocks[i] = arena_take(arena, sizes[i]);
        cr_assert((uintptr_t)blocks[i] % _Alignof(max_align_t) == 0);
        cr_assert(all_zero(blocks[i], sizes[i]));
        memset(blocks[i], i & 255, sizes[i]);
    }
    for (int i = 0; i < COUNT; i++)
        for (size_t j = 0; j < sizes[i]; j++) cr_assert(blocks[i][j] == (i & 255), "block %d is overwritten", i);
    arena_close(arena);
}

Test(arena, an_empty_block_is_a_pointer_of_its_own) {
    Arena *arena = given_arena();
    void *a = arena_take(arena, 0), *b = arena_take_raw(arena, 0), *c = arena_take_array(arena, 0, 8);
    cr_assert(a && b && c);
    cr_assert(a != b && b != c);
    arena_close(arena);
}

Test(arena, grows_the_latest_block_in_place) {
    Arena *arena = given_arena();
    char *a = arena_take(arena, 10);
    memcpy(a, "0123456789", 10);
    char *b = arena_grow(arena, a, 10, 1000);
    cr_assert(a == b);
    memset(b + 10, 'x', 990);
    char *c = arena_take(arena, 1);
    cr_assert(c >= b + 1000);
    cr_assert(*c == 0);
    char *d = arena_grow(arena, b, 1000, 2000);
    cr_assert(d != b);
    cr_assert(memcmp(d, "0123456789xxx", 13) == 0);
    cr_assert(d[999] == 'x');
    arena_close(arena);
}

Test(arena, a_cleared_one_gives_zeroed_blocks_again) {
    Arena *arena = given_arena();
    arena_clear(arena);
    uint64_t random = 11;
    for (int round = 0; round < 20; round++) {
        for (int i = 0; i < 400; i++) {
            size_t size = given_random(&random) % 3000;
            if (i % 100 == 99) size = (size_t)round << 18;
            unsigned char *block = arena_take(arena, size);
            cr_assert(all_zero(block, size));
            memset(block, 0xA5, size);
        }
        cr_assert(arena_used(arena) > 0);
        arena_clear(arena);
        cr_assert_eq(arena_used(arena), 0u);
    }
    arena_close(arena);
}

Test(arena, grows_nothing_and_never_shrinks) {
    Arena *arena = given_arena();
    char *a = arena_grow(arena, NULL, 0, 40);
    cr_assert_not_null(a);
    memset(a, 'y', 40);
    cr_assert(arena_grow(arena, a, 40, 8) == a);
    char *zero = arena_take(arena, 32);
    cr_assert(all_zero((unsigned char *)zero, 32));
    cr_assert(a[39] == 'y');
    arena_close(arena);
}

Test(arena, a_vector_keeps_its_elements_across_chunks) {
    Arena *arena = given_arena();
    VECTOR(uint64_t) numbers = {0};
    for (uint64_t i = 0; i < 1000000; i++) VECTOR_PUSH(arena, &numbers, i * i);
    cr_assert_eq(numbers.count, 1000000u);
    for (uint64_t i = 0; i < 1000000; i++) cr_assert(numbers.at[i] == i * i);
    arena_close(arena);
}

Test(arena, small_blocks_go_on_beside_a_big_one) {
    Arena *arena = given_arena();
    char *a = arena_take(arena, 100);
    char *big = arena_take(arena, 100u << 20);
    big[0] = big[(100u << 20) - 1] = 1;
    char *b = arena_take(arena, 100);
    memset(b, 2, 100);
    cr_assert(big[0] == 1 && big[(100u << 20) - 1] == 1);
    cr_assert(b - a > 0 && b - a < 65536, "the first chunk has room left, and is used");
    arena_close(arena);
}

Test(arena, counts_what_is_taken) {
    Arena *arena = given_arena();
    size_t before = arena_used(arena);
    arena_take(arena, 100);
    char *block = arena_take(arena, 50);
    arena_grow(arena, block, 50, 80);
    cr_assert_eq(arena_used(arena) - before, 180u);
    arena_close(arena);
}

Test(arena, closing_nothing_is_allowed) { arena_close(NULL); }

static void jump(void *context) { longjmp(*(jmp_buf *)context, 1); }

static bool is_exhausted_by(size_t count, size_t size, bool grow) {
    jmp_buf back;
    Arena *volatile arena = arena_open(jump, &back);
    bool volatile exhausted = false;
    if (setjmp(back) == 0) {
        if (grow)
            arena_grow(arena, arena_take(arena, 16), 16, count);
        else
            arena_take_array(arena, count, size);
    } else {
        exhausted = true;
        memset(arena_take(arena, 100), 1, 100); /* it is still good for what fits */
    }
    arena_close(arena);
    return exhausted;
}

Test(arena, what_cannot_be_had_calls_the_function) {
    cr_assert(is_exhausted_by(SIZE_MAX, 1, false));
    cr_assert(is_exhausted_by(SIZE_MAX - 8, 1, false));
    cr_assert(is_exhausted_by(SIZE_MAX / 2, 1, false));
    cr_assert(is_exhausted_by(SIZE_MAX / 2 + 1, 2, false), "the product overflows to 0");
    cr_assert(is_exhausted_by((size_t)1 << 60, 16, false), "the product overflows to 0");
    cr_assert(is_exhausted_by(SIZE_MAX - 1, 1, true));
    cr_assert_not(is_exhausted_by(1000, 8, false));
    cr_assert_not(is_exhausted_by(1000, 1, true));
}
