/* Growable arrays in an arena.
 *
 *   typedef VECTOR(Span) SpanVector;
 *   SpanVector v = {0};
 *   VECTOR_PUSH(arena, &v, span);        -- v.at[0 .. v.count - 1]
 *
 * Surprising: pushing may move `at`; keep indices, not pointers, across a push. */
#ifndef TRUNNION_BASE_VECTOR_H
#define TRUNNION_BASE_VECTOR_H

#include "base/arena.h"

#define VECTOR(Type)         \
    struct {                 \
        Type *at;            \
        uint32_t count, room; \
    }

#define VECTOR_PUSH(arena, vector, ...)                                                                             \
    do {                                                                                                            \
        if ((vector)->count == (vector)->room) {                                                                    \
            uint32_t room_ = (vector)->room ? 2u * (vector)->room : 8u;                                             \
            (vector)->at = arena_grow((arena), (vector)->at, (size_t)(vector)->room * sizeof *(vector)->at,         \
                                      (size_t)room_ * sizeof *(vector)->at);                                        \
            (vector)->room = room_;                                                                                 \
        }                                                                                                           \
        (vector)->at[(vector)->count++] = (__VA_ARGS__);                                                            \
    } while (0)

#endif
