/* Which card goes with which: every pair of two kinds of cards, judged by the rules of its pairing form.
 *
 * In:   the model of the loaded files; which pairings, conditions and reasons are asked for.
 * Out:  Pairings: one table for each pairing form that has cards for both of its parts, all texts ready to show.
 * Owns: everything in it, in the arena of the check.
 * Judged at nominal values: bounds of the cards are left out. */
#ifndef TRUNNION_LIBRARY_PAIRING_H
#define TRUNNION_LIBRARY_PAIRING_H

#include "plan/pair.h"
#include "verdict/result.h"

typedef enum PairVerdict {
    PAIR_WORKS,
    PAIR_REMARK,   /* every `shall` holds, and a `should` does not, or cannot be judged; or a caution applies */
    PAIR_FAILS,    /* a `shall` fails */
    PAIR_UNKNOWN,  /* none fails, and one cannot be judged; or a rule, also a `should`, has no value, as a card has a mistake */
    PAIR_VERDICT_COUNT,
    PAIR_LEFT_OUT = PAIR_VERDICT_COUNT /* by a condition */
} PairVerdict;

enum { PAIRS_LIMIT = 1000000 }; /* of one pairing */

typedef struct PairRule {
    Text name, text, condition, cites, because;
    Text owner; /* the form that declares it */
    bool advice;
    bool caution; /* a caution of the form; where it applies, it is a remark */
} PairRule;

typedef enum ReasonState { REASON_HOLDS, REASON_FAILS, REASON_UNKNOWN } ReasonState;

typedef struct PairReason {
    uint32_t rule; /* index into PairTable.rules */
    ReasonState state;
    Text found, limit, margin, trouble; /* any may be empty */
    TextVector missing; /* facts whose absence makes it unknown */
} PairReason;

typedef struct Pair {
    uint8_t verdict;       /* PairVerdict */
    uint32_t rules;        /* how many applied */
    double margin_share;   /* the smallest margin of what holds, as a share of its limit; NaN: none */
    uint32_t margin_rule;  /* whose */
    Text margin;
    VECTOR(PairReason) reasons; /* as asked for: what is against it, or every rule; in the order of the form */
} Pair;

typedef struct PairCard {
    Text name, form, title;
    uint32_t count[PAIR_VERDICT_COUNT];
} PairCard;

typedef struct PairTable {
    Text form, title;
    Text row_field, column_field;
    VECTOR(PairCard) rows, columns;
    Pair *pairs; /* row by row */
    uint32_t count[PAIR_VERDICT_COUNT];
    uint32_t left_out;       /* by conditions that are false */
    uint32_t left_unknown;   /* by conditions that cannot be judged */
    TextVector where_missing; /* for which facts, the first few */
    VECTOR(PairRule) rules;
} PairTable;

typedef struct Pairings {
    VECTOR(PairTable) tables;
    TextVector passed_over; /* pairing forms to which a condition does not apply */
    bool one;  /* one pair is asked for: `tables` has it alone, with every rule */
} Pairings;

typedef struct PairingRequest {
    Text form;            /* only this pairing; empty: all */
    const Text *wheres;
    uint32_t where_count;
    Text row, column;     /* only this pair, with every rule; empty: all */
    bool reasons;         /* keep what is against each pair */
} PairingRequest;

/* Mistakes go to the model's messages. */
Pairings *pairings_judge(Arena *arena, const World *world, Sources *sources, Model *model, const PairingRequest *request);

/* "works", "works with a remark", "does not work", "unknown". */
Text pair_verdict_words(PairVerdict verdict);

#endif
