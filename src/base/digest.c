#include "base/digest.h"

#include <sys/types.h>

#include <sha2.h>

Text digest_sha256(Arena *arena, Text bytes) {
    char *hex = arena_take(arena, SHA256_DIGEST_STRING_LENGTH);
    SHA256Data((const uint8_t *)(bytes.length ? bytes.at : ""), bytes.length, hex);
    return text_from(hex);
}
