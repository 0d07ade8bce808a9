/* Inside the quick search: one tuple of card groups, one for each slot, with the program that serves all their sets. */
#ifndef TRUNNION_CHOOSE_BOX_TASK_H
#define TRUNNION_CHOOSE_BOX_TASK_H

#include "choose/box.h"
#include "choose/cluster.h"
#include "compute/range.h"
#include "verdict/judge.h"

typedef struct Alternative { /* of a slot: a group of cards, or one that is in no group */
    const CardGroup *group;
    NodeId card;
    const uint32_t *positions; /* among the slot's cards */
    uint32_t count;
} Alternative;

typedef struct Demand { /* something that the choice decides, and that has to hold */
    uint32_t judged;       /* Program.judged */
    uint64_t slots;        /* that it rests on, a bit for each */
    bool of_axis;          /* its margin counts */
    uint32_t miss;         /* BoxResult.misses */
    const StepId *cone;    /* the steps it needs that rest on the choice, rising */
    uint32_t cone_count;
} Demand;

typedef struct TaskDrop { /* a card that nothing else in the tuple can save */
    uint32_t slot, position, miss;
    uint64_t example;
    double share;          /* by which it misses that, negative; NaN: that cannot be said */
} TaskDrop;

typedef struct BoxTask {
    const BoxRequest *request;
    const Alternative *const *alternatives; /* by slot */
    uint32_t *places;      /* by slot: its place in the program; 0: a single card */
    Program *program;
    Evaluation *base;
    VECTOR(Demand) demands;
    VECTOR(Demand) advice; /* what may be followed or not */
    bool singles;          /* some card of it is in no group */
    uint32_t failed;       /* of BoxResult.misses: what none of its sets meets, whatever stands in the places; UINT32_MAX: none */
    double margin;         /* the least of what is the same for all its sets; NaN: none */
    uint32_t unheeded;     /* advice that none of its sets follows */
    VECTOR(TaskDrop) drops; /* by things that rest on no other slot */
    uint64_t *left;        /* by slot: cards without these */
    bool empty;            /* nothing is left to try */
    uint32_t *facts;       /* by varied constant: index into the facts of its group */
    uint32_t *varied;      /* constants; those of a place stand together, in the order of its facts */
    uint32_t varied_count;
    uint32_t *first_varied; /* by slot, and the end */
    ClusterTree **trees;   /* by slot; NULL: a single card */
    const StepId *cone;    /* the steps that a set needs, rising */
    uint32_t cone_count;
} BoxTask;

/* False: no program serves them. */
/* … and takes out cards that can be in no set, whatever else is chosen. */
bool box_task_open(Arena *arena, BoxTask *task, const BoxRequest *request, const Alternative *const *alternatives, BoxResult *result);

/* The number of one set of a box. */
uint64_t box_example(const BoxTask *task, const uint32_t *clusters);

/* One thread at work on a task. */
typedef struct BoxHand {
    const BoxTask *task;
    Arena *arena, *values, *rooms;
    Evaluation base;       /* a copy with room of its own */
    Range *coarse, *fine;
    Variation *variation;
    double *inputs, *lows, *highs;
    uint8_t *flags;
    uint32_t *order;       /* of demands: those that rule out most come first */
    uint32_t *judge_order; /* the same, of sets by themselves */
    Judge judge;
} BoxHand;

BoxHand *box_hand_open(Arena *arena, const BoxTask *task);
/* Back to the first order of demands: what comes of a box is to depend on it alone, and not on what was done before. */
void box_hand_forget(BoxHand *hand);
void box_hand_close(BoxHand *hand);

typedef struct BoxAnswer {
    bool out;              /* no set of the box works */
    uint32_t demand;       /* that rules it out */
    double share;          /* else: the least bound of a margin among what is open */
} BoxAnswer;

/* `clusters` by slot. `open`, by demand: not known to hold throughout; what is known of a box is true of each part of it. Only
 * demands that rest on one of `changed` (a bit for each slot) are asked anew. `fine`: as closely as ranges can. */
BoxAnswer box_ask(BoxHand *hand, const uint32_t *clusters, uint8_t *open, uint64_t changed, bool fine);

typedef struct BoxVerdict {
    bool works;
    double margin, criterion, violation;
    uint32_t misses, demand; /* the first that is missed */
    uint32_t unheeded;
} BoxVerdict;

/* One set, exactly. `rows` by slot: of the group. A set that does not work is left alone once it misses something by more than
 * `enough` (a negative share; NaN: as soon as it misses anything); its other misses are then not counted. */
BoxVerdict box_judge(BoxHand *hand, const uint32_t *rows, double enough);

#endif
