/* The one function that names every stage in order. src/README.md is the table of the stages. */
#ifndef TRUNNION_PIPELINE_H
#define TRUNNION_PIPELINE_H

#include "choose/shortlist.h"
#include "compute/evaluate.h"
#include "library/audit.h"
#include "meaning/load.h"
#include "plan/program.h"
#include "library/pairing.h"
#include "library/tabulate.h"
#include "verdict/result.h"

typedef enum Stage {
    STAGE_NONE,
    STAGE_TREE,   /* what was read, one line a node, of the named files */
    STAGE_PLAN,   /* the flat program */
    STAGE_VALUES, /* every value of the result, by path */
    STAGE_FINDINGS /* every requirement and rule: its verdict, what was found and its worst case, with 12 digits */
} Stage;

typedef struct Check {
    Messages *messages;
    Result *result;
    Text dump; /* of the stage asked for; else empty */
} Check;

/* Checks one set of files. Everything lives in `arena`; nothing is kept between two checks. `plan` says whether forms of
 * the libraries are checked for themselves too, and what is to be explained. */
Check pipeline_check(Arena *arena, const World *world, LoadRequest request, PlanRequest plan, JudgeOptions options, Stage dump);

typedef struct AuditCheck {
    Messages *messages;
    const Sources *sources;
    Audit *audit;
} AuditCheck;

/* Audits the cards of the named files; see library/audit.h. */
AuditCheck pipeline_audit(Arena *arena, const World *world, LoadRequest request, AuditRequest audit);

typedef struct PairingCheck {
    Messages *messages;
    const Sources *sources;
    const Pairings *pairings;
} PairingCheck;

/* Judges which cards of a set of files go together. The pairings of the standard library are brought in. */
PairingCheck pipeline_pairings(Arena *arena, const World *world, LoadRequest request, const PairingRequest *pairing);
typedef struct ChoiceCheck {
    Messages *messages;
    Shortlist *list;
} ChoiceCheck;

/* Loads files, and looks for things of their libraries for the open slots of one thing. */
ChoiceCheck pipeline_choose(Arena *arena, const World *world, LoadRequest request, ShortlistRequest choice);

typedef struct TabulateCheck {
    Messages *messages;
    const Sources *sources;
    const Tabulated *tabulated;
} TabulateCheck;

/* The cards of the named files as tables; see library/tabulate.h. Nothing is planned or judged. */
TabulateCheck pipeline_tabulate(Arena *arena, const World *world, LoadRequest request);

#endif
