/* The flat program a specification compiles to.
 *
 * One array of steps, each naming earlier steps only, so that running it front to back computes everything; there is no
 * tree at run time. Equal steps are one step. Whether a step's value is a number or a signal shows when it is computed.
 *
 * Beside it: what the judge needs (conditions, rules, requirements, agreements) and what the report shows (objects with
 * their members), all as numbers of steps.
 * Owns: itself, in the arena of the check. It refers to the model and the tree for names and texts. */
#ifndef TRUNNION_PLAN_PROGRAM_H
#define TRUNNION_PLAN_PROGRAM_H

#include "base/world.h"
#include "plan/card.h"

typedef uint32_t StepId;   /* 0: none */
typedef uint32_t ObjectId; /* 0: none */

typedef enum StepKind {
    STEP_NONE,
#define STEP(id, spelling, operands) STEP_##id,
#include "plan/step.def"
#undef STEP
    STEP_KIND_COUNT
} StepKind;

typedef enum Reduction {
    REDUCE_PEAK,    /* the largest magnitude */
    REDUCE_MAXIMUM,
    REDUCE_MINIMUM,
    REDUCE_MEAN,
    REDUCE_RMS,
    REDUCE_INTEGRAL,
    REDUCE_DURATION,
    REDUCE_SHARE
} Reduction;

typedef struct Step {
    uint8_t kind; /* StepKind */
    uint8_t aux;
    StepId a, b, c;
    Span span;       /* the formula it comes from */
    ObjectId owner;  /* whose formula */
} Step;

typedef struct Constant {
    double nominal, low, high; /* SI; low = high = nominal when there are no bounds */
} Constant;

/* What an expression came to while it was compiled. */
typedef enum OperandClass {
    OPERAND_BROKEN, /* already reported */
    OPERAND_VALUE,  /* quantity: step, measure */
    OPERAND_TRUTH,  /* step */
    OPERAND_WORD,   /* step (the word's number), choice */
    OPERAND_TEXT,
    OPERAND_OBJECT, /* a filled-in form */
    OPERAND_ABSENT, /* a form that is not filled in: everything of it is unknown */
    OPERAND_CYCLE,
    OPERAND_SEGMENT, /* of a cycle: index */
    OPERAND_TABLE,
    OPERAND_SEVERAL
} OperandClass;

typedef struct Operand Operand;
struct Operand {
    OperandClass class;
    StepId step;
    Measure measure;    /* VALUE; CYCLE and SEGMENT: of the stroke; TABLE: of the values */
    Measure key;        /* TABLE: of the keys */
    ChoiceId choice;
    Text text;
    FormId form;        /* OBJECT and ABSENT: the form it is known to be */
    ObjectId object;    /* OBJECT; 0 while a form is checked for itself */
    uint32_t index;     /* CYCLE, SEGMENT: cycle; TABLE: table */
    uint32_t segment;
    const Operand *several;
    uint32_t count;
    bool missing;       /* TEXT, TABLE, CYCLE, SEVERAL: not stated; the path of the fact is in `text` */
    bool loose;         /* SEVERAL words of a group of cards: some may not be there, so only `in` can look at them */
    bool open;          /* ABSENT: of an open slot, so still to be chosen; whether its facts are stated is unknown */
};

typedef enum SlotState { SLOT_OPEN, SLOT_UNDER_WAY, SLOT_DONE } SlotState;

typedef struct Slot {
    Operand operand;
    NodeId stated;    /* the value the author wrote, or 0 */
    Span stated_span; /* of the field */
    uint8_t state;    /* SlotState */
    bool misspelt;    /* the author most likely meant it by a name that is no field's */
    uint32_t level;   /* nesting of fixed points it is under way in */
    StepId agreement; /* for `within`: the formula's value, when a value is stated too; else 0 */
    StepId fact;      /* of an object that stands for a group of cards: what the card states, unknown where it does not; else 0 */
    const Operand *words; /* … of a field of several words; else NULL */
} Slot;

typedef struct Object {
    FormId form;
    NodeId node;      /* FILLED; 0 for a motion law's or a form checked for itself */
    Symbol name;      /* 0 for one written inside another */
    Text path;        /* lift.load */
    ObjectId parent;  /* that it was written inside of, or 0 */
    Slot *slots;      /* one for each member of the form */
    bool in_use;      /* reached from a named file */
    bool named;       /* written in a named file */
    bool law;         /* made for a segment */
    bool abstract;    /* a form checked for itself: fields have types but no values */
    uint32_t place;   /* it stands for a group of cards: index into Program.places; 0: it is one thing */
} Object;

/* Where the cards of a group can stand, one at a time. */
typedef struct CardPlace {
    const CardGroup *group;
    ObjectId object;
} CardPlace;

/* A constant whose value is a fact of the card at a place. */
typedef struct PlacedFact {
    uint32_t place;
    uint32_t fact; /* index into the group's facts */
    uint32_t constant;
    StepId step;
} PlacedFact;

typedef struct PlanSegment {
    NodeId node;
    Symbol label;
    StepId length;       /* s */
    StepId displacement; /* signed; 0 for a hold */
    StepId start;        /* s */
    ObjectId law;        /* 0 for hold and run */
    StepId shape[5];     /* position over normalised time and its derivatives, as asked for */
} PlanSegment;

/* Positions over time from a table, joined by the smoothest cubic curve that repeats: position, speed and acceleration are
 * continuous, also from the end back to the beginning. */
typedef struct PlanProfile {
    uint32_t count;   /* rows; the last is the end of the cycle */
    const double *times;     /* s; the first is 0 */
    const double *positions; /* SI */
} PlanProfile;

typedef struct PlanCycle {
    NodeId node;
    const PlanProfile *profile; /* of a cycle from a table; else NULL */
    const struct DataTable *data; /* all its columns; else NULL */
    Symbol name;
    Measure stroke;       /* length or angle */
    bool progressive;
    uint8_t state;        /* SlotState */
    VECTOR(PlanSegment) segments;
    StepId duration;      /* s */
    StepId signal[5];     /* CYCLE steps by order, 0 while nobody asked */
    VECTOR(Symbol) inputs_taken; /* names of inputs that some form takes from it */
    bool in_use;
} PlanCycle;

typedef struct PlanInput { /* values of one input over one cycle */
    uint32_t cycle;
    StepId *steps; /* one for each segment; 0: as elsewhere */
    const double *values; /* of a cycle from a table: one for each row, in force from it to the next; else NULL */
} PlanInput;

typedef struct PlanTable {
    NodeId node;
    uint32_t count;
    StepId *keys, *values; /* constants, keys rising */
    Measure key, value;
} PlanTable;

/* A condition to judge, as a small tree in one array: children come before their parent. */
typedef enum ConditionKind { CONDITION_COMPARE, CONDITION_ALL, CONDITION_ANY, CONDITION_TRUTH, CONDITION_BROKEN } ConditionKind;

typedef struct Condition {
    ConditionKind kind;
    uint8_t compare;      /* SignalCompare */
    StepId left, right;   /* COMPARE: found and limit */
    Measure measure;      /* COMPARE: of both */
    UnitId unit;          /* COMPARE: in which to show them; 0: by size */
    StepId truth;         /* COMPARE and TRUTH */
    const uint32_t *children; /* ALL, ANY */
    uint32_t child_count;
    ChoiceId choice;      /* COMPARE of words: of which choice; else 0 */
    bool truths;          /* COMPARE of yes and no */
    Span span;
} Condition;

typedef struct Reference { /* a value that a condition names */
    Text path;
    ObjectId object; /* or 0 for a cycle */
    StepId step;
} Reference;

typedef VECTOR(Reference) ReferenceVector;

typedef enum JudgedKind {
    JUDGED_REQUIREMENT,
    JUDGED_RULE,
    JUDGED_AGREEMENT,
    JUDGED_CAUTION,
    JUDGED_WHERE /* what an open slot asks of the thing that fills it; no finding of a check */
} JudgedKind;

typedef struct Judged {
    JudgedKind kind;
    NodeId node;      /* REQUIREMENT, RULE, CAUTION; for agreements the GIVEN; for WHERE the ANY */
    ObjectId object;  /* whose rule; for WHERE the thing that fills the slot; 0 for requirements */
    uint32_t slot;    /* agreements */
    StepId when;      /* truth; 0: always */
    uint32_t shall;   /* index into conditions; 0: none (a requirement shown by other methods) */
    bool advice;      /* `should` */
    NodeId shall_node;
    ReferenceVector references;
} Judged;

/* A value that a requirement or rule names by a path of its own: lift.load.speed.peak. */
typedef struct NamedValue {
    Text path;
    StepId step;
    Measure measure;
    Span span;
} NamedValue;

/* A link of the prose that leads to a value, a requirement or a rule, so that its words may quote it. */
typedef struct Quote {
    const struct ProseLink *link;
    Text path;       /* lift.screw.speed.peak, LIFT-4 */
    Operand operand; /* BROKEN where nothing but a verdict can be quoted, or a mistake is reported already */
    Text words;      /* "a length" */
    NodeId stated;   /* the value as its author wrote it, or 0 */
    UnitId shown;    /* in which its member is shown, or 0 */
    Span thing;      /* what the path begins with */
} Quote;
/* What one expression came to, in the formula of one object. Kept only for a request that explains: judging needs none. */
typedef struct Resolution {
    Operand operand;
    ObjectId object; /* a name or path that ends at a member: whose; else 0 */
    uint32_t slot;
} Resolution;

typedef enum PlanScope {
    PLAN_NAMED, /* forms declared in named files are checked for themselves */
    PLAN_ALL,   /* so are all others, the standard library's included */
    PLAN_FORMS, /* forms declared in named files, and nothing that is filled in */
    PLAN_CARD   /* one filled-in form and what it refers to; each figure that a card states is a constant of its own, so that it
                 * can be changed alone */
} PlanScope;

/* A thing of a library in the place of an open slot; in a mould (plan/mould.h) also any one of a group. */
typedef struct PlanFilling {
    NodeId any;  /* the ANY node */
    NodeId card; /* the FILLED node of the thing, a top-level one; 0: */
    uint32_t place; /* index into Program.places */
} PlanFilling;

typedef struct PlanRequest {
    PlanScope scope;
    NodeId card;    /* PLAN_CARD: a FILLED at the top of a file */
    bool explained; /* keep what every expression came to, so that values can be accounted for */
    Text path;      /* the value, requirement or rule that is asked about by name; empty: none */
    uint32_t depth; /* how far down what it depends on is told */
    const PlanFilling *fillings; /* of open slots; the others stay open */
    uint32_t filling_count;
    bool bare;      /* only what is judged: no links of the prose, no values that reports show of a cycle */
    const Map *settled; /* items of named files that are done with already; NULL: none */
    const Symbol *reached; /* things that those use, which are to be judged all the same */
    uint32_t reached_count;
    NodeId ranked;  /* an expression by which a choice is ranked, compiled as a requirement names things; or 0 */
    Symbol ranked_of; /* the thing whose fields it sees by their own names too; or 0 */
} PlanRequest;

/* A field whose author wrote `any FORM where …`. */
typedef struct PlanOpen {
    NodeId any;
    ObjectId object; /* whose field */
    uint32_t slot;
    FormId form;     /* that the thing must have, or build on */
    ObjectId filled; /* the thing that stands in for it; 0: it is open */
    Text path;       /* lift.motor */
} PlanOpen;

/* A path compiled as a requirement would name it: the one that is asked about, or those of values that a report shows. */
typedef struct Asked {
    Text path;
    NodeId node;   /* 0: the path cannot be one */
    bool known;    /* such a value is there (it may be broken) */
} Asked;

/* A written number as a constant that can be replaced, see plan/alike.h. */
typedef struct FreeNumber {
    uint32_t constant;
    StepId step;
    NodeId written;      /* the number, with its bounds if it has any */
    NodeId node, other;  /* other: it is the middle of the two; else 0 */
    double factor, zero, other_factor, other_zero; /* to SI */
    bool frozen;         /* the program was compiled for just this number */
} FreeNumber;

typedef struct Program {
    Arena *arena;
    Model *model;
    PlanRequest request;
    VECTOR(Asked) asked;        /* only for a request that explains */
    VECTOR(Resolution) resolutions; /* [0] unused */
    Map resolved;               /* object and node -> index; see program_resolution */
    VECTOR(Step) steps;         /* [0] unused */
    VECTOR(Constant) constants; /* [0] unused */
    VECTOR(Text) texts;
    VECTOR(Object) objects;     /* [0] unused */
    VECTOR(CardPlace) places;       /* [0] unused; more only in a mould, see plan/mould.h */
    VECTOR(PlacedFact) place_facts;
    VECTOR(FreeNumber) free_numbers; /* only in a program that serves alike things */
    VECTOR(PlanCycle) cycles;   /* [0] unused */
    VECTOR(PlanInput) inputs;
    VECTOR(PlanTable) tables;
    VECTOR(Condition) conditions; /* [0] unused */
    VECTOR(Judged) judged;
    VECTOR(PlanOpen) opens;
    Operand ranked;             /* what PlanRequest.ranked came to; BROKEN when nothing was asked */
    VECTOR(NamedValue) named_values;
    VECTOR(Quote) quotes;       /* of the named files, in their order */
} Program;

const char *step_name(StepKind kind);
/* How many of a, b, c are steps. */
static inline unsigned step_operands(StepKind kind) {
    static const uint8_t counts[] = {
        0,
#define STEP(id, spelling, operands) operands,
#include "plan/step.def"
#undef STEP
    };
    return counts[kind];
}
/* One line a step, for --dump plan. */
Text program_dump(Arena *arena, const Program *program);
/* "lift.load.lead" for a slot of an object. */
Text object_slot_path(const Program *program, Arena *arena, ObjectId object, uint32_t slot);

/* What an expression came to in the formula of `owner` (0: in a requirement), or NULL: it was not compiled there, or the
 * request did not explain. */
const Resolution *program_resolution(const Program *program, ObjectId owner, NodeId node);

/* The open slots that a thing holds, its parts included: marks them in `held`, one for each of program->opens. */
void program_opens_of(const Program *program, Arena *arena, ObjectId object, bool *held);

/* Compiles everything that the named files declare and reach. Mistakes go to the model's messages. */
/* `world` and `sources` are for the data files (CSV) that the specification names. */
Program *plan_build(Arena *arena, const World *world, Sources *sources, Model *model, PlanRequest request);

#endif
