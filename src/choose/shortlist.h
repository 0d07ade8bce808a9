/* Which things of the libraries fill the open slots of an axis: sets of parts with which everything that rests on the choice
 * is met, in order; and what the others fall to.
 *
 * In:   the model of loaded files, and the name of a filled-in form that holds open slots.
 * Out:  Shortlist. All texts are ready to show.
 * Owns: everything in it, in the arena passed. Things of libraries are called cards here. */
#ifndef TRUNNION_CHOOSE_SHORTLIST_H
#define TRUNNION_CHOOSE_SHORTLIST_H

#include "base/world.h"
#include "meaning/model.h"
#include "verdict/result.h"

/* Says how far it has come, in `what` ("cards", "sets", "sets over their bounds"); false: stop, what was found is enough. */
typedef bool ShortlistProgress(void *context, const char *what, uint64_t done, uint64_t all);

/* How to go through the sets: both ways find the same. */
typedef enum ShortlistWay {
    SHORTLIST_BY_SIZE,  /* one by one where there are few, else by boxes */
    SHORTLIST_ONE_BY_ONE,
    SHORTLIST_BY_BOXES
} ShortlistWay;

typedef struct ShortlistRequest {
    Text axis;
    Text by;        /* "margin", "mass", "length", "cost", "power" or an expression; empty: margin */
    uint32_t most;  /* rows to show */
    bool nominal_only;
    Text today;     /* as in JudgeOptions */
    ShortlistWay way;
    ShortlistProgress *progress; /* or NULL */
    void *context;
} ShortlistRequest;

/* A requirement, a rule or a `where` that sets or cards fell to. */
typedef struct Miss {
    Text id;        /* a rule of the card in a slot is called by the slot: lift.motor.size */
    Text condition; /* as written */
    uint64_t count; /* sets or cards that miss it */
    Text nearest;   /* the one that misses it by least */
    Text figures;   /* of that one: 3.2 N·m, at most 3 N·m */
    Text reason;    /* or why it could not be judged */
    Text short_by;  /* by how much it misses: 6.4 % of the limit, 5.6 K; may be empty */
    uint64_t unknown; /* of those that miss it: it could not be judged of them … */
    Text unknown_why; /* … and why, of the first */
    double share;   /* the same as a number, negative; see choice_share; NaN: none */
} Miss;

typedef VECTOR(Miss) MissVector;

typedef struct ShortlistSlot {
    Text path;  /* lift.motor */
    Text label; /* motor; or the path, where two are called so */
    Text words; /* any dc-motor where diameter <= 24 mm */
    Span span;  /* of those words */
    uint64_t cards, left; /* that fit it by their form; that no condition of their own rules out */
    uint64_t faulty;      /* that have a mistake of their own */
    Text faulty_one;
    MissVector misses;    /* what the others fell to, most first */
} ShortlistSlot;

typedef struct ShortlistSet {
    const Text *parts;   /* one for each slot */
    double margin;       /* the smallest share of a limit, over the bounds unless they were left out; NaN: none */
    Text margin_shown, tightest; /* whose it is */
    double criterion;    /* SI; NaN: the set has none */
    Text criterion_shown;
    TextVector remarks;  /* advice that is not followed */
    MissVector misses;   /* of a set that does not work */
    double violation;    /* then: the worst of them; NaN where one has no share */
} ShortlistSet;

typedef struct Shortlist {
    Arena *arena;
    const Result *base;  /* the specification with its slots open */
    Text axis;
    bool found;          /* there is such a thing with open slots; else that is said, and nothing else is filled in */
    Text by;             /* as asked */
    bool by_margin;
    uint64_t unranked;   /* working sets without a value of it */
    bool over_cycle;     /* it changes over the cycle, and so has not one value */
    VECTOR(ShortlistSlot) slots;
    VECTOR(Finding) fixed; /* not met whatever is chosen */
    uint64_t offered;    /* sets of all cards that fit by their forms; UINT64_MAX: more than can be counted */
    uint64_t all, done;  /* sets of those that are left; how many of them were judged */
    uint64_t working;    /* at the nominal values */
    uint64_t looked, held; /* of these, best first: looked at over their bounds, and those that hold there */
    bool nominal_only;
    uint32_t waiting;    /* requirements and rules that rest on open slots of another thing too, and so are not decided here */
    bool bounded;        /* some of those that were looked at rest on values with bounds */
    bool partial;        /* it was stopped */
    bool first_only;     /* of what a set falls to, only the first thing was looked for */
    VECTOR(ShortlistSet) best;
    VECTOR(ShortlistSet) nearest; /* of those that do not work */
    MissVector misses;   /* what sets fell to, most first */
} Shortlist;

enum { SHORTLIST_SET_LIMIT = 20000000, SHORTLIST_NEAREST = 3, SHORTLIST_FEW = 1000 /* cards and sets */ };

/* Mistakes go to the model's messages. */
Shortlist *shortlist_find(Arena *arena, const World *world, Sources *sources, Model *model, ShortlistRequest request);

/* 0: a set works and nothing else is wrong; 1: none does, or something is not met whatever is chosen, or it was stopped;
 * 2 and 3 as result_status. */
int shortlist_status(const Shortlist *shortlist, const Messages *messages);

#endif
