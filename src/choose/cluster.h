/* Cards in a tree: those that are alike lie together, so that a whole branch can be judged at once by the least and the greatest
 * of what its cards state.
 *
 * Owns: the tree, in the arena passed. */
#ifndef TRUNNION_CHOOSE_CLUSTER_H
#define TRUNNION_CHOOSE_CLUSTER_H

#include "plan/card.h"

typedef struct Cluster {
    uint32_t first, count; /* in ClusterTree.order */
    uint32_t below;        /* index of the first of its two halves; 0: one card */
    double spread;         /* of the fact in which its cards differ most */
    const double *lows, *highs; /* by fact: of the cards that state it */
    const uint8_t *flags;  /* by fact: RANGE_NUMBER when some card states it, RANGE_UNKNOWN when some does not (compute/range.h) */
} Cluster;

typedef struct ClusterTree {
    uint32_t fact_count;
    uint32_t *order;       /* rows of the group */
    VECTOR(Cluster) clusters; /* [0] holds all; halves come in pairs */
} ClusterTree;

/* `rows`: of the group, those that are left; at least one. `facts`: indices into the group's facts, those that matter. */
ClusterTree *cluster_cards(Arena *arena, const CardGroup *group, const uint32_t *rows, uint32_t row_count, const uint32_t *facts, uint32_t fact_count);

#endif
