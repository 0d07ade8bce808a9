/* The links of a literate file's prose that lead to a name (#lift.screw.speed), and the headings they can lead to.
 *
 * CommonMark decides what is a link and what its reader sees; where its words stand among the bytes is found by walking
 * the brackets of the same paragraph, heading or table cell in order, because the columns that cmark tells are only right
 * where every line of a paragraph is indented alike.
 * Owns: everything in it, in the arena passed. Linear. */
#ifndef TRUNNION_TEXT_LINK_H
#define TRUNNION_TEXT_LINK_H

#include "base/map.h"
#include "base/symbol.h"
#include "text/source.h"

struct cmark_node;

typedef struct ProseLink {
    Text words;  /* what the reader sees, without markup; a line end is a space */
    Text target; /* without the #, percent-encoding undone */
    Span span;   /* the words with their markup, between the brackets; or the line of the paragraph, when not `located` */
    Span target_span; /* of the target as written, without the #; nowhere when it stands elsewhere or is written otherwise */
    Span whole; /* from the opening bracket to behind the closing parenthesis; nowhere when it isn't written so */
    bool located;
} ProseLink;

typedef struct ProseAnchor {
    Text name;     /* how-it-moves */
    uint32_t line; /* of the heading, from 1; 0: an id in raw HTML */
} ProseAnchor;

typedef struct ProseLinks {
    VECTOR(ProseLink) list;       /* in the order of the document */
    VECTOR(ProseAnchor) anchors;
    Symbols *names;               /* of the anchors; NULL while there is none */
    Map by_name;                  /* symbol -> index of the anchor */
} ProseLinks;

/* Fills source->links from the file's tree. */
void link_collect(Arena *arena, Source *source, struct cmark_node *document);
/* The anchor of that name in the file, or NULL. */
const ProseAnchor *link_anchor(const ProseLinks *links, Text name);

#endif
