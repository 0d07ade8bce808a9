/* Verdicts of pairs without their reasons, many at once: one mould for each two groups of cards, run side by side. */
#ifndef TRUNNION_LIBRARY_PAIR_LANES_H
#define TRUNNION_LIBRARY_PAIR_LANES_H

#include "library/pairing.h"

enum { PAIR_UNDECIDED = 255 }; /* Pair.verdict before anybody judged it */

typedef struct PairSide { /* the cards of one part */
    const NodeId *cards;
    uint32_t count;
} PairSide;

/* Sets the verdicts of those pairs that moulds can judge, `pairs` row by row; all others stay as they are. Nothing is reported:
 * where something has no value, the pair is left for the plain way, which says so. */
void pair_lanes(const Arena *beside, const PairPlan *plan, PairForm form, PairSide rows, PairSide columns, Pair *pairs);

#endif
