/* Plain text set in columns of a screen: wide letters count two, combining marks none.
 *
 * All texts given here are cleaned first, so nobody else has to. */
#ifndef TRUNNION_REPORT_LAYOUT_H
#define TRUNNION_REPORT_LAYOUT_H

#include "base/text.h"

/* The text, then spaces up to `columns`. A longer text is not cut. */
void layout_left(TextBuilder *out, Text text, uint32_t columns);
/* Spaces up to `columns` in front of the text. */
void layout_right(TextBuilder *out, Text text, uint32_t columns);
/* At most `columns` wide: what does not fit is replaced by one ellipsis, after a whole word when that
 * costs no more than eight bytes. */
Text layout_cut(Arena *arena, Text text, uint32_t columns);
/* Words of `text` from column `at` on (columns already filled on this line), a number with its unit as one word; further lines begin at column `indent`, and
 * none is wider than `width`, unless a single word would stand alone on it. Ends the line. An empty text only ends it. */
void layout_wrap(TextBuilder *out, Text text, uint32_t at, uint32_t indent, uint32_t width);
/* A line of `text`, underlined all along with `c` (a heading). */
void layout_heading(TextBuilder *out, Text text, char c);
/* Columns of a text after cleaning. */
uint32_t layout_columns(Arena *arena, Text text);

#endif
