/* What several unit tests need: an arena that fails the test when memory runs out, texts compared as texts, and a source
 * of bytes that is the same in every run. */
#ifndef TRUNNION_TESTS_GIVEN_H
#define TRUNNION_TESTS_GIVEN_H

#include <criterion/criterion.h>

#include "base/text.h"

static inline void given_no_memory(void *context) {
    (void)context;
    cr_assert_fail("the arena is exhausted");
}

static inline Arena *given_arena(void) { return arena_open(given_no_memory, NULL); }

#define cr_text(actual, expected)                                                                            \
    do {                                                                                                     \
        Text actual_ = (actual), expected_ = text_from(expected);                                            \
        cr_assert(text_equal(actual_, expected_), "is  [%.*s]\nnot [%.*s]", (int)actual_.length, actual_.at, \
                  (int)expected_.length, expected_.at);                                                      \
    } while (0)

/* Numbers without order (xorshift64). `state` is not 0. */
static inline uint64_t given_random(uint64_t *state) {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    return *state;
}

#endif
