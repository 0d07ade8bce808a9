#include "choose/cluster.h"

#include <math.h>
#include <stdlib.h>

#include "compute/range.h"

typedef struct Planter {
    Arena *arena;
    const CardGroup *group;
    const uint32_t *facts;
    ClusterTree *tree;
    struct Keyed { /* room to sort */
        double value;
        uint32_t row;
    } *keyed;
} Planter;

static double fact_of(const Planter *planter, uint32_t fact, uint32_t row) { return planter->group->facts.at[planter->facts[fact]].values[row]; }

/* How much a range of values is: the logarithm of their ratio; of values of both signs, and of none, as if that were large. */
static double spread_of(double low, double high, uint8_t flags) {
    const double mixed = 3;
    if (flags == (RANGE_NUMBER | RANGE_UNKNOWN)) return mixed;
    if (flags == RANGE_UNKNOWN || low == high) return 0;
    if (low > 0) return log(high / low);
    if (high < 0) return log(low / high);
    return mixed;
}

/* Fills in what the cards of a cluster state; returns the fact in which they differ most. */
static uint32_t measure(Planter *planter, Cluster *cluster) {
    uint32_t count = planter->tree->fact_count, widest = 0;
    double *lows = ARENA_ARRAY(planter->arena, double, count), *highs = ARENA_ARRAY(planter->arena, double, count);
    uint8_t *flags = arena_take(planter->arena, count);
    cluster->spread = 0;
    for (uint32_t f = 0; f < count; f++) {
        lows[f] = INFINITY;
        highs[f] = -INFINITY;
        for (uint32_t i = 0; i < cluster->count; i++) {
            double value = fact_of(planter, f, planter->tree->order[cluster->first + i]);
            flags[f] |= isnan(value) ? RANGE_UNKNOWN : RANGE_NUMBER;
            if (isnan(value)) continue;
            lows[f] = fmin(lows[f], value);
            highs[f] = fmax(highs[f], value);
        }
        double spread = spread_of(lows[f], highs[f], flags[f]);
        if (spread > cluster->spread) cluster->spread = spread, widest = f;
    }
    cluster->lows = lows;
    cluster->highs = highs;
    cluster->flags = flags;
    return widest;
}

static int by_value(const void *a, const void *b) {
    const struct Keyed *x = a, *y = b;
    bool x_none = isnan(x->value), y_none = isnan(y->value);
    if (x_none != y_none) return x_none ? -1 : 1;
    if (!x_none && x->value != y->value) return x->value < y->value ? -1 : 1;
    return x->row < y->row ? -1 : x->row > y->row;
}

/* Where to halve a sorted cluster: at the widest gap near its middle, so that equal cards stay together. */
static uint32_t cut_of(const struct Keyed *keyed, uint32_t count) {
    uint32_t best = count / 2, least = count / 4, most = count - count / 4;
    double widest = -1;
    for (uint32_t i = least > 0 ? least : 1; i < most || (i == 1 && count == 2); i++) {
        double gap = isnan(keyed[i - 1].value) != isnan(keyed[i].value) ? INFINITY : spread_of(keyed[i - 1].value, keyed[i].value, RANGE_NUMBER);
        if (!(gap > widest)) continue;
        widest = gap;
        best = i;
    }
    return best > 0 ? best : 1;
}

static void halve(Planter *planter, uint32_t index) {
    ClusterTree *tree = planter->tree;
    Cluster whole = tree->clusters.at[index];
    uint32_t widest = measure(planter, &whole);
    if (whole.count > 1) {
        for (uint32_t i = 0; i < whole.count; i++) {
            uint32_t row = tree->order[whole.first + i];
            planter->keyed[i].row = row;
            planter->keyed[i].value = tree->fact_count ? fact_of(planter, widest, row) : 0;
        }
        qsort(planter->keyed, whole.count, sizeof *planter->keyed, by_value);
        for (uint32_t i = 0; i < whole.count; i++) tree->order[whole.first + i] = planter->keyed[i].row;
        uint32_t cut = cut_of(planter->keyed, whole.count);
        whole.below = tree->clusters.count;
        VECTOR_PUSH(planter->arena, &tree->clusters, (Cluster){.first = whole.first, .count = cut});
        VECTOR_PUSH(planter->arena, &tree->clusters, (Cluster){.first = whole.first + cut, .count = whole.count - cut});
    }
    tree->clusters.at[index] = whole;
}

ClusterTree *cluster_cards(Arena *arena, const CardGroup *group, const uint32_t *rows, uint32_t row_count, const uint32_t *facts, uint32_t fact_count) {
    ClusterTree *tree = ARENA_NEW(arena, ClusterTree);
    Planter planter = {arena, group, facts, tree, arena_take_raw(arena, row_count * sizeof *planter.keyed)};
    tree->fact_count = fact_count;
    tree->order = arena_take_raw(arena, row_count * sizeof *tree->order);
    for (uint32_t i = 0; i < row_count; i++) tree->order[i] = rows[i];
    VECTOR_PUSH(arena, &tree->clusters, (Cluster){.count = row_count});
    for (uint32_t i = 0; i < tree->clusters.count; i++) halve(&planter, i);
    return tree;
}
