/* Numbers made of numbers. */
#ifndef TRUNNION_BASE_HASH_H
#define TRUNNION_BASE_HASH_H

#include <stdint.h>

/* `hash` with one more value in it. The order counts. */
static inline uint64_t hash_mix(uint64_t hash, uint64_t value) {
    hash ^= value + 0x9e3779b97f4a7c15u + (hash << 6) + (hash >> 2);
    hash *= 0xff51afd7ed558ccdu;
    return hash ^ hash >> 33;
}

#endif
