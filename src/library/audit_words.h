/* What the audit found, in words: texts ready to show, made for one finding at a time, since a library may have very many. */
#ifndef TRUNNION_LIBRARY_AUDIT_WORDS_H
#define TRUNNION_LIBRARY_AUDIT_WORDS_H

#include "library/audit.h"

typedef struct AuditWords {
    Text path;     /* of the file */
    uint32_t line; /* of the field, or of the card where no field is meant */
    uint32_t card_line;
    Text card;     /* Rook-22 */
    Text form;     /* of the card: dc-motor */
    Text kind;     /* "culprit", or "suspect" where it is one of several, "agreement", "rule", "validity", "no value", "remark" */
    Text name;     /* stall-current; of a rule its name; seat.stall-current inside a form written inside the card */
    Text found;    /* as written on the card, where it stands there: 45 A */
    Text due;      /* 4.48 A; of a rule: "at most 60 W" */
    Text differ;   /* agreements: "905 %": how far off it is, of what is due */
    Text slip;     /* culprits, and agreements that are their own: how it may have come about; may be empty */
    Text brief;    /* agreements: the two figures only */
    Text sentence; /* what is wrong, all of it */
    Text cites;    /* whose formula or rule; may be empty */
} AuditWords;

AuditWords audit_words(Arena *arena, const Audit *audit, const AuditFinding *finding);

typedef struct AuditMissingWords {
    Text form, name, title;
    Text values, rules, pairs; /* names, with commas; may be empty. `pairs`: rules of pairings */
    uint32_t value_count, rule_count;
} AuditMissingWords;

AuditMissingWords audit_missing_words(Arena *arena, const Audit *audit, const AuditMissing *missing);
/* "dc-motor"; "unknown form" for 0. */
Text audit_form_name(const Audit *audit, FormId form);
/* Name and place of a card. */
Text audit_card_place(const Audit *audit, NodeId card, Text *path, uint32_t *line);

#endif
