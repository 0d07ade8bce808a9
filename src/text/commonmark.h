/* The one way into cmark-gfm, for what stands in this folder: documents are read with tables, and in a time that grows
 * with their size whatever they hold.
 *
 * Owns: the caller frees the tree with cmark_node_free. */
#ifndef TRUNNION_TEXT_COMMONMARK_H
#define TRUNNION_TEXT_COMMONMARK_H

#include <cmark-gfm.h>

#include "base/text.h"

/* The tree of a document. `options` are those of cmark. */
cmark_node *commonmark_parse(Arena *arena, Text bytes, int options);
/* Offset of the line after the one that holds `at`. Lines end with LF, CR LF or CR, as cmark counts them. */
size_t commonmark_next_line(Text bytes, size_t at);
/* The words of a node without their markup, line ends as spaces. */
void commonmark_words(TextBuilder *words, cmark_node *node);
/* Whether a code block is program text of ours, by the first word behind its opening fence. */
bool commonmark_is_program(cmark_node *code);

#endif
