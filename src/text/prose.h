/* The prose of a literate file as HTML, by cmark-gfm with tables, with program text set by somebody else.
 *
 * Raw HTML is left out, links that could run something are emptied, and pictures become links to them, so that the
 * page stays whole in one file and asks nothing of the network. Links may be defined anywhere in the file. Links to the file's
 * headings lead to the ids these get here, once source->links are collected. */
#ifndef TRUNNION_TEXT_PROSE_H
#define TRUNNION_TEXT_PROSE_H

#include "text/source.h"

/* Sets one block of program text: source->blocks.at[block]. What it returns stands in the HTML as it is. */
typedef Text ProseProgram(void *context, const Source *source, uint32_t block);

typedef struct ProseHeading {
    uint32_t level; /* 1 to 6 */
    Text text;      /* without markup */
    Text anchor;    /* the heading's id in the HTML: the prefix and its line */
} ProseHeading;

typedef struct Prose {
    Text html;
    VECTOR(ProseHeading) headings;
} Prose;

/* `prefix` stands before the line number in the ids of headings; it must be fit for an attribute. Linear. */
Prose prose_render(Arena *arena, const Source *source, Text prefix, ProseProgram *program, void *context);

#endif
