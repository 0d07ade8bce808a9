/* Writers of pairings: which card goes with which, as a table for people and as lines for machines. */
#ifndef TRUNNION_REPORT_PAIRING_H
#define TRUNNION_REPORT_PAIRING_H

#include "library/pairing.h"

/* Tables of at most 80 columns; with `reasons`, or for one pair, what is against each pair too. */
Text pairing_text(Arena *arena, const Pairings *pairings, bool reasons);
/* One line a pair, RFC 4180. */
Text pairing_csv(Arena *arena, const Pairings *pairings);
/* One self-contained page; each pair opens to its reasons. */
Text pairing_html(Arena *arena, const Pairings *pairings);

/* ---- wording, the same in all of them */

/* "yes", "but", "no", "?": what stands in a table; empty for what is left out. */
Text pairing_mark(const Pair *pair);
/* "18 pairs: 5 work, 3 with a remark, 10 do not, 0 unknown". */
Text pairing_sum(Arena *arena, const PairTable *table);
/* "2 more pairs are left out by --where; 1 because a fact is missing: Wren-12.diameter"; or empty. */
Text pairing_left_out(Arena *arena, const PairTable *table);
/* "2.5 A, at least 3 A (margin -17 %)", "missing: Rook-22.inductance", or empty. */
Text pairing_figures(Arena *arena, const PairReason *reason);
/* "holds", "does not hold", "advice not followed", "unknown". */
Text pairing_reason_word(const PairTable *table, const PairReason *reason);
/* "Rotary motors at drives" with the name of the form behind it. */
const Pair *pairing_at(const PairTable *table, uint32_t row, uint32_t column);

#endif
