/* What `shortlist` prints: the sets of parts that work, in order, and what the others fell to. */
#ifndef TRUNNION_REPORT_SHORTLIST_H
#define TRUNNION_REPORT_SHORTLIST_H

#include "choose/shortlist.h"

/* For a screen of 80 columns. */
Text report_shortlist(Arena *arena, const Shortlist *list);
/* The sets that are shown, one line each (RFC 4180). */
Text report_shortlist_csv(Arena *arena, const Shortlist *list);

#endif
