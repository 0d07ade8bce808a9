/* Inside the choice: what its files share. Nothing outside src/choose includes this. */
#ifndef TRUNNION_CHOOSE_CHOICE_H
#define TRUNNION_CHOOSE_CHOICE_H

#include "choose/shortlist.h"
#include "compute/evaluate.h"

typedef VECTOR(NodeId) CardVector;

typedef struct ChoiceSlot {
    NodeId any;
    FormId form;
    CardVector cards; /* first all that fit by their form, then those that are left */
} ChoiceSlot;

typedef struct Choosing {
    Arena *arena;
    const World *world;
    Sources *sources;
    Model *model;
    ShortlistRequest request;
    Shortlist *list;
    VECTOR(ChoiceSlot) slots; /* as in list->slots */
    PlanFilling *fillings;    /* room for one of each slot */
    NodeId ranked;            /* what sets are ranked by; 0: their margin */
    Symbol ranked_of;
    Map fixed;                /* symbols of the findings that rest on no slot of the axis */
    Map candidates;           /* symbols of all cards that fit some slot */
    uint32_t errors;          /* that the plan has with every slot open */
    Arena *for_set;           /* cleared for each set */
} Choosing;

/* One set, or a part of one, judged. Everything in it goes when the next is judged. */
typedef struct Score {
    bool works;
    bool faulty;            /* a card has a mistake */
    uint32_t errors;        /* of the plan */
    uint32_t unheeded;      /* advice that is not followed */
    uint32_t waiting;       /* findings that rest on a slot which nothing fills */
    double margin;          /* smallest share of a limit; NaN */
    const Finding *tightest;
    double criterion;       /* NaN: none */
    Text criterion_shown;
    VECTOR(const Finding *) misses;
    uint32_t shareless;     /* misses that have no share */
    double violation;       /* the worst share among the others */
    Result *result;
} Score;

/* slots.c: the slots that the axis holds, with the cards that fit; false: there are none, which is said. */
bool choice_open(Choosing *choice);
/* The number of sets, one card for each slot; UINT64_MAX: more than can be counted. */
uint64_t choice_size(const Choosing *choice);
/* Puts set number `set` into the fillings. The last slot changes fastest. */
void choice_take(Choosing *choice, uint64_t set);
const Text *choice_parts(const Choosing *choice);
/* Runs of white space become one space. */
Text choice_one_line(Arena *arena, Text text);
Text choice_words(const Choosing *choice); /* "Rook-26, Fen-26" */

/* score.c: judges what the first `count` fillings make of it. */
Score choice_score(Choosing *choice, uint32_t count, bool nominal_only);
/* Whether a finding is one that the choice of the first `count` fillings decides: of a card that is not among them nothing counts. */
bool choice_decides(const Choosing *choice, uint32_t count, const Finding *finding);
/* Whether a finding is about a card that may fill a slot. */
bool choice_is_of_card(const Choosing *choice, const Finding *finding);
/* By how much it misses, as a share of its limit, negative; of temperatures, a kelvin counts as a hundredth. NaN: that cannot
 * be said. */
double choice_share(const Finding *finding);
/* Whether it is advice that is not followed. */
bool choice_unheeded(const Finding *finding);
/* The finding's name; of a rule of a card that of its slot. In the arena of the set. */
Text choice_name(const Choosing *choice, uint32_t count, const Finding *finding);

/* tally.c */
typedef struct Tally {
    Map known; /* symbol of the name -> index in the list plus one */
    MissVector *list;
} Tally;
Tally tally_open(Choosing *choice, MissVector *list);
void tally_add(Choosing *choice, Tally *tally, const Score *score, uint32_t count, Text which);
void tally_sort(MissVector *list); /* most first */
Miss miss_of(const Choosing *choice, const Finding *finding, Text name);
/* Keeps the set in the fillings among the nearest, if it is one of them. */
void nearest_add(Choosing *choice, const Score *score);

/* search.c: goes through all sets at their nominal values. */
typedef struct Working {
    uint64_t set;
    double margin, criterion; /* NaN: none */
    uint32_t unheeded;        /* advice that is not followed */
} Working;
typedef VECTOR(Working) WorkingVector;
/* Leaves out the cards that nothing in the other slots can save. */
void choice_sift(Choosing *choice);
bool choice_goes_on(Choosing *choice, const char *what, uint64_t done, uint64_t all); /* false: stopped; the list is partial */
/* One card in its slot, all others open: what is decided against it now, no other card can mend. */
bool choice_card_stays(Choosing *choice, ShortlistSlot *shown, Tally *tally, NodeId any, NodeId card);
/* Only these sets, the plain way. */
void choice_try(Choosing *choice, const uint64_t *sets, uint32_t count, WorkingVector *working);
void choice_say_too_many(Choosing *choice, Text sets, uint64_t most);
/* quick.c: all sets, by boxes of them (choose/box.h); cards by themselves too. What a set falls to is then counted only for the
 * first thing that rules it out. */
void choice_search_boxes(Choosing *choice, WorkingVector *working);
/* Every set, one after the other. The plain way: slow, and what a quicker one is measured against. */
void choice_search(Choosing *choice, WorkingVector *working);

#endif
