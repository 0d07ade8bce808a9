/* The quick search: whole boxes of sets are judged at once, and only what may work is looked at more closely.
 *
 * A box is a cluster of cards for each open slot. compute/range.h tells what no set of a box can meet; such a box is left out
 * with all its sets, any other is halved, down to single sets, which are judged exactly, at the nominal values, by the one
 * program that serves them all. So what is found is what trying every set finds.
 * Two threads share the boxes; what is found, and in which order, does not depend on them.
 *
 * In:   open slots with their cards.
 * Out:  BoxResult. */
#ifndef TRUNNION_CHOOSE_BOX_H
#define TRUNNION_CHOOSE_BOX_H

#include "plan/mould.h"

typedef struct BoxSlot {
    NodeId any;
    const NodeId *cards;
    uint32_t count;
} BoxSlot;

/* Says how many sets are covered; false: stop. Called now and then, by one thread. */
typedef bool BoxProgress(void *context, uint64_t covered);
/* Whether a finding of this name is one that the choice decides, and has to be met. */
typedef bool BoxDecides(void *context, Text id);

typedef struct BoxRequest {
    const World *world;
    Sources *sources;
    Model *model;
    const BoxSlot *slots;
    uint32_t slot_count;
    PlanRequest plan;    /* without fillings */
    uint32_t errors;     /* that it has with its slots open */
    BoxDecides *decides;
    BoxProgress *progress;
    void *context;
} BoxRequest;

typedef struct BoxFound {
    uint64_t set;        /* the last slot's cards change fastest */
    double margin;       /* smallest share of a limit over what is the axis's own; NaN: none */
    double criterion;    /* what PlanRequest.ranked came to; NaN: none */
    uint32_t unheeded;   /* advice that is not followed */
} BoxFound;

/* What sets fell to, each counted with the first thing that rules it out. */
typedef struct BoxMiss {
    Text id;             /* a rule of the card in a slot is called by the slot: lift.motor.size */
    NodeId shall;        /* its condition */
    uint64_t sets;       /* of cards that are left */
    uint64_t example;    /* one of them */
} BoxMiss;

/* Cards that nothing in the other slots can save. */
typedef struct BoxDrop {
    uint32_t slot, miss; /* miss: index into BoxResult.misses */
    uint64_t cards;
    uint32_t nearest;    /* that misses it by least: among the slot's cards */
    double share;        /* of that one, negative */
} BoxDrop;

typedef struct BoxNear { /* a set that was judged by itself and does not work */
    uint64_t set;
    uint32_t misses;
    double violation;    /* the worst share; NaN: one has none */
} BoxNear;

typedef struct BoxResult {
    VECTOR(BoxFound) found; /* rising by set */
    VECTOR(BoxMiss) misses;
    VECTOR(BoxDrop) drops;
    uint8_t **dropped;      /* by slot and card */
    VECTOR(BoxNear) near;   /* nearest first; a few */
    uint64_t covered;       /* sets that are decided */
    uint64_t boxes, judged; /* boxes looked at; sets judged by themselves */
    VECTOR(uint64_t) left;  /* sets that it cannot do, and that have to be tried one by one, rising */
    bool stopped;
    bool overfull;          /* more than BOX_FOUND_LIMIT sets work; it was stopped */
} BoxResult;

enum { BOX_NEAR = 8, BOX_FOUND_LIMIT = 1000000 };

BoxResult *box_search(Arena *arena, BoxRequest request);

#endif
