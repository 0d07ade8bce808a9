/* Literate files: which bytes of a .trn.md are program text.
 *
 * CommonMark (with tables, by cmark-gfm) decides where fenced blocks begin and end; the bytes between the fences are
 * lexed as they stand in the file. A block counts when the first word of its info string is `trunnion`. */
#ifndef TRUNNION_TEXT_LITERATE_H
#define TRUNNION_TEXT_LITERATE_H

#include "text/source.h"

typedef enum LiterateFault {
    LITERATE_FINE,
    LITERATE_UNCLOSED, /* a trunnion block whose closing fence is missing */
    LITERATE_QUOTED    /* a trunnion block inside a block quote, where each line starts with '>' */
} LiterateFault;

/* Fills source->blocks and source->links. On a fault, *fault_span is the opening fence of the first one; the blocks found are kept. */
LiterateFault literate_split(Arena *arena, Source *source, Span *fault_span);

#endif
