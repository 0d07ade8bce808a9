/* Inside the audit: one card at work. audit.c goes through the cards, side_by_side.c tells which are in order, card.c judges one
 * of the others, culprit.c looks for the figure that is wrong, missing.c weighs what is left out. */
#ifndef TRUNNION_LIBRARY_AUDIT_CARD_H
#define TRUNNION_LIBRARY_AUDIT_CARD_H

#include "library/audit.h"
#include "verdict/judge.h"

typedef VECTOR(AuditFinding) AuditFindings;
typedef VECTOR(NodeId) AuditList;

/* side_by_side.c: by position in the list, the form of a card with nothing to say about; 0: it has to be looked at by itself. */
FormId *cards_that_are_well(Arena *arena, const World *world, Sources *sources, Model *model, const AuditList *list);

/* One card, compiled and computed. Everything in it lives in `scratch`, which is cleared for the next card. */
typedef struct CardAtWork {
    Arena *scratch;
    Audit *audit;
    NodeId card;
    Program *program;
    Evaluation *evaluation;
    Judge judge;      /* silent */
    ObjectId *objects; /* the card and what is written inside it */
    uint32_t object_count;
    bool *owned;      /* by object: it is one of them */
    Map told;         /* origin of a failure -> 1 */
    bool mistaken;    /* something of it could not be compiled, which has been said, of it or of what it rests on */
} CardAtWork;

/* How one thing to judge stands with the values as they are now. */
typedef enum Standing {
    STANDING_HOLDS,
    STANDING_FAILS,
    STANDING_IDLE,      /* it does not apply, or rests on facts that are not stated */
    STANDING_UNCOMPUTED
} Standing;
Standing card_standing(CardAtWork *work, const Judged *judged, Outcome *outcome);
/* Whether a thing to judge is the card's own: not that of another card it refers to. */
bool card_owns(const CardAtWork *work, ObjectId object);

/* card.c: what is wrong with the card, into `findings`, from validity over agreements and rules to remarks. */
void card_judge(CardAtWork *work, AuditFindings *findings);
/* culprit.c: figures of the card each of which, changed alone, would mend every disagreement and break nothing. */
void card_culprits(CardAtWork *work, AuditFindings *culprits);
/* missing.c: what the card leaves out, counted for its form. */
typedef struct MissingFacts MissingFacts;
MissingFacts *missing_open(Audit *audit, const World *world, AuditRequest request);
bool missing_count(MissingFacts *missing, NodeId card, FormId form); /* whether it leaves out anything that counts */
void missing_close(MissingFacts *missing); /* into the audit, in order of worth */

#endif
