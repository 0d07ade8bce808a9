/* SHA-256 (FIPS 180-4), by libmd. */
#ifndef TRUNNION_BASE_DIGEST_H
#define TRUNNION_BASE_DIGEST_H

#include "base/text.h"

/* 64 lower-case hexadecimal digits. */
Text digest_sha256(Arena *arena, Text bytes);

#endif
