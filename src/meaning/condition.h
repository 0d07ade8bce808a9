/* A condition that stands on the command line, read as if it stood in a file.
 *
 * It gets a Source of its own, so that every message about it points into what was typed. */
#ifndef TRUNNION_MEANING_CONDITION_H
#define TRUNNION_MEANING_CONDITION_H

#include "syntax/tree.h"

/* The expression; 0 after reporting what is wrong. `option` is where it was typed: "--where". */
NodeId condition_read(Arena *arena, Sources *sources, Tree *tree, Messages *messages, Text option, Text words);

#endif
