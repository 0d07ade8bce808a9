/* The audit of a library: is every card fit to be trusted? Each is checked against its own form: figures that the form can
 * work out from the others (`within`), rules, ranges of validity; and what it leaves out is weighed by what stating it would
 * unlock.
 *
 * In:   the model, with everything loaded; the cards are those of the named files.
 * Out:  the Audit: findings as data, not as text, since a library may have a hundred thousand cards. Numbers are SI.
 *       audit_words.h makes the texts of one finding when somebody wants to show it.
 * What is found is a matter of the card alone: it is judged at nominal values, and requirements, cautions, concessions and
 * the prose are not looked at. Mistakes (a missing field, a wrong kind) go to the model's messages.
 * Owns: everything in it, in the arena passed. */
#ifndef TRUNNION_LIBRARY_AUDIT_H
#define TRUNNION_LIBRARY_AUDIT_H

#include "compute/evaluate.h"
#include "library/slip.h"
#include "verdict/result.h"

typedef enum AuditKind {
    AUDIT_CULPRIT,   /* the one figure, or one of few, that would bring the whole card into agreement */
    AUDIT_AGREEMENT, /* a stated figure and the formula of its `within` */
    AUDIT_RULE,      /* a `shall` */
    AUDIT_VALIDITY,  /* a `needs` */
    AUDIT_NO_VALUE,  /* a formula that comes to nothing with these figures: it divides by zero, … */
    AUDIT_REMARK     /* a `should` */
} AuditKind;

/* One thing that is wrong with a card. */
typedef struct AuditFinding {
    AuditKind kind;
    NodeId card;    /* FILLED, at the top of its file */
    NodeId filled;  /* FILLED whose form is meant: the card, or one written inside it */
    FormId form;    /* of `filled` */
    uint32_t place; /* global position of the field that states it, else of `filled` */
    uint32_t slot;  /* the member of `form` that is meant; UINT32_MAX: none (rules) */
    NodeId node;    /* RULE of rules and remarks, OPTION of a validity, else the member */
    Condition leaf; /* of rules and remarks: the comparison that decided; kind BROKEN where none did by itself */
    double found;   /* what is stated, or the left side of `leaf`; NaN: none */
    double limit;   /* what the other figures give, or the right side of `leaf`; of a culprit the value that mends all; NaN: none */
    double allowed; /* agreements: the most that the two may differ: a share of `limit`, or by `allowed_unit` an amount */
    bool allowed_is_amount;
    Failure failure; /* NO_VALUE */
    uint32_t mends; /* culprits: how many disagreements and broken rules of the card would be gone */
    bool alone;     /* culprits: no other figure would do. Agreements: the stated figure is such a culprit, and has no finding
                     * of its own as one */
    bool follows;   /* agreements: a culprit further up, alone, would mend it */
    Slip slip;      /* culprits, and agreements that are alone: how it may have come about */
} AuditFinding;

/* What became of the cards of one form. A card may have findings and remarks; it is clean when it has neither, and no
 * mistake. */
typedef struct AuditForm {
    FormId form; /* 0: cards whose form is not known */
    uint32_t cards, clean, found, remarked, mistaken;
    uint32_t lacking; /* cards that leave out a fact of `missing` */
} AuditForm;

typedef struct AuditUnlocked {
    FormId form;
    uint32_t slot; /* a value that stating it would give; UINT32_MAX: */
    NodeId rule;   /* a rule that could then be judged */
    uint32_t index; /* of the rule, in its form */
    uint32_t cards; /* on how many cards: not where the value is stated anyway */
} AuditUnlocked;

/* A fact that cards may leave out (`maybe`). */
typedef struct AuditMissing {
    FormId form;
    uint32_t slot;
    uint32_t cards; /* that leave it out, and would gain by it */
    uint64_t worth; /* what they would gain, counted */
    VECTOR(AuditUnlocked) unlocks; /* values first, in the order of the form, then rules */
    TextVector pairs; /* names of rules of the standard library's pairings that could then be judged */
    VECTOR(NodeId) of; /* those cards; only when asked for */
} AuditMissing;

typedef struct Audit {
    Arena *arena;
    Model *model;
    VECTOR(AuditFinding) findings; /* card by card, in the order of the files */
    VECTOR(AuditForm) forms;       /* in the order of their first cards */
    VECTOR(AuditMissing) missing;  /* what unlocks most for most cards comes first; facts that unlock nothing are left out */
    uint32_t cards;
    uint32_t count[AUDIT_REMARK + 1]; /* findings by kind */
} Audit;

typedef struct AuditRequest {
    bool list_missing; /* for each missing fact, the cards that leave it out */
    bool one_by_one;   /* take no short cut for cards that are in order; the outcome is the same */
} AuditRequest;

/* `world` is for data files (CSV) that cards name. */
Audit *audit_cards(Arena *arena, const World *world, Sources *sources, Model *model, AuditRequest request);

/* Exit status: 0 nothing found, 1 findings, 2 mistakes in the files, 3 the machine. Remarks and missing facts do not count. */
int audit_status(const Audit *audit);

#endif
