/* `trunnion requote`: writes into the named files what their quoted figures should say.
 *
 * Only the bytes of stale figures change; each file is replaced at once. What cannot be put right stays, and is told. */
#ifndef TRUNNION_COMMAND_REQUOTE_H
#define TRUNNION_COMMAND_REQUOTE_H

#include "base/world.h"
#include "verdict/result.h"

/* Prints each change, then the messages that are left. Returns the exit status: 0 when no error is left, else 2 or 3. */
int requote_files(Arena *arena, const World *world, const Result *result);

#endif
