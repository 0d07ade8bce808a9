/* The command `shortlist`: fills open slots, prints the sets that work, and writes one of them into the specification. */
#ifndef TRUNNION_COMMAND_SHORTLIST_H
#define TRUNNION_COMMAND_SHORTLIST_H

#include "choose/shortlist.h"
#include "meaning/load.h"

typedef struct ShortlistOrder {
    ShortlistRequest request; /* its progress is set by the command */
    bool csv;
    bool write;
    uint32_t pick; /* rank of the set to write, from 1 */
} ShortlistOrder;

/* Returns the exit status. Nothing is written when the search was stopped or the specification has a mistake, and never
 * into a library. */
int shortlist_command(Arena *arena, const World *world, LoadRequest load, ShortlistOrder order);

#endif
