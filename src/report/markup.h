/* Words and anchors in HTML. Everything that comes from a file goes through here. */
#ifndef TRUNNION_REPORT_MARKUP_H
#define TRUNNION_REPORT_MARKUP_H

#include "report/outline.h"

/* What the parts of one page share. `out` is where markup goes now. */
typedef struct Page {
    Arena *arena;
    const Outline *outline;
    TextBuilder *out;
    Symbols *used;   /* ids that are on the page already: each is given once */
    uint32_t cursor; /* in the notes */
} Page;

/* Markup of our own, as it is. */
void markup_add(Page *page, const char *markup);
/* Text of any origin: cleaned and escaped, fit for content and for quoted attributes. */
void markup_text(Page *page, Text text);
/* ` id="…"`, unless that id is taken or empty. White space is left out of ids. */
void markup_id(Page *page, Text id);
/* Whether that id is on the page already, or can never be. */
bool markup_has_id(Page *page, Text id);
/* A link to an id of this page around the text. */
void markup_link(Page *page, Text id, Text text);
/* A link when a value, finding or thing of that name is on the page, else the text alone. */
void markup_name(Page *page, Text name);
/* Names, each a link where it can be, with commas. */
void markup_names(Page *page, const TextVector *names);
/* <tag>text</tag>, or nothing when the text is empty. `open` may carry attributes: "p class=\"x\"". */
void markup_element(Page *page, const char *open, Text text);
/* The verdict's word, set in its own way. */
void markup_verdict(Page *page, const Finding *finding);
/* "met", "risk", "not", "open", "conceded", "advice": the verdict as a class name. */
const char *markup_verdict_class(const Finding *finding);

#endif
