/* Inside the verdict stage: how values came to be (verdict/account.h says what of it is shown).
 *
 * A formula is walked as it was written, and names are replaced by what they came to in that object: program_resolution
 * knows. What the formula names on that walk is what it depends on, so a branch that was not taken brings nothing in.
 * A signal has a number only at an instant: that of its own extreme, of the comparison that is tightest, or of the value
 * that is explained one step further up. Nothing is reported, and nothing is computed anew. */
#ifndef TRUNNION_VERDICT_WHY_H
#define TRUNNION_VERDICT_WHY_H

#include "verdict/account.h"
#include "verdict/judge.h"

typedef struct Instant {
    bool given;    /* false: what changes over the cycle is shown as a range */
    double time;   /* s */
    double inside; /* s; in the piece that is meant, where two meet at `time` */
} Instant;

typedef enum LeafKind {
    LEAF_MEMBER,  /* a member of an object */
    LEAF_CYCLE,   /* a fact or signal of a cycle, or of one of its segments */
    LEAF_READING  /* `measured` */
} LeafKind;

/* Something that a formula names. */
typedef struct Leaf {
    LeafKind kind;
    ObjectId object;  /* MEMBER */
    uint32_t slot;
    uint32_t cycle;   /* CYCLE */
    uint32_t segment; /* UINT32_MAX: the whole cycle */
    Symbol name;
    Operand operand;
    Text written;     /* as the formula calls it */
    Instant instant;
} Leaf;

typedef VECTOR(Leaf) LeafVector;

/* numbers.c */
/* The formula with its names replaced by values. What it names goes into `leaves`. */
Text numbers_of(Judge *judge, ObjectId owner, NodeId node, Instant instant, LeafVector *leaves);
/* The formula as it was written: on one line, without its comments. */
Text formula_of_node(Judge *judge, NodeId node);
/* What is named by a path, as a leaf; false: it names no value (a thing, a word of a choice). */
bool leaf_of_path(Judge *judge, ObjectId owner, NodeId node, Instant instant, Leaf *leaf);
/* The value at the instant; over the cycle when it is not given, or the value is not of that cycle. */
Text spell_there(Judge *judge, Operand operand, UnitId unit, Instant instant);
/* The number at the instant; false when there is none. */
bool number_there(Judge *judge, StepId step, Instant instant, double *number);
/* Where a reduction of a signal is taken: its peak, maximum or minimum; not given for all others and for constants. */
Instant instant_of(Judge *judge, Reduction reduction, StepId step);
/* The unit in which the author wrote it, or in which its member is shown; 0: by size. */
UnitId unit_of_member(Judge *judge, ObjectId object, uint32_t slot);
/* A number as written, with or without bounds. */
bool is_written_number(Judge *judge, NodeId node);

/* why.c: what the request of the plan asks for. After everything else is judged. */
void explain_all(Judge *judge);

/* why_value.c */
typedef struct Told {
    Leaf leaf;
    uint32_t depth; /* how far below it was told */
} Told;

typedef struct Telling { /* what has been told so far */
    Judge *judge;
    VECTOR(Told) told;
    const uint32_t *judged; /* by finding: its place in Program.judged, or UINT32_MAX */
} Telling;

/* `above` is the instant of the formula that names it. */
Account *account_of_leaf(Telling *telling, const Leaf *leaf, uint32_t depth, Instant above);
Account *account_open(Judge *judge, Text path);
/* "lift.trn.md:41"; of the standard library, which nobody has as a file, "slide of stdlib/mechanics.trn". */
void account_place(Judge *judge, Account *account, Span span, FormId form);
/* Without its ranges of validity. */
const Step *bare_step(Judge *judge, StepId step);
void account_line(Judge *judge, Account *account, const char *label, Text formula, Text numbers);
void account_remark(Judge *judge, Account *account, const char *pattern, Text a, Text b, Text c);
/* What it depends on: by name, and as far down as the depth allows. `own` (may be NULL) is not told of itself. */
void account_rests_on(Telling *telling, Account *account, const LeafVector *leaves, const Leaf *own, uint32_t depth, Instant instant);
bool leaf_equal(const Leaf *a, const Leaf *b);
bool instant_equal(Instant a, Instant b);
/* Says where (of a law, at which normalised time), when the value of `step` changes over a cycle; the instant is not told again when it is the one above. */
void account_instant(Judge *judge, Account *account, StepId step, Instant instant, Instant above, bool law);

/* why_motion.c: a fact or signal of a cycle: no formula of the author's or of a form, but what the segments say. */
void account_of_cycle(Judge *judge, Account *account, const Leaf *leaf, Instant instant, LeafVector *leaves);
/* "exchange.raise by cycloidal: position", of a motion law. */
Text law_member_name(Judge *judge, ObjectId law, uint32_t slot);
/* A cycle, or a segment of it: what can be asked of it. */
void leaves_of_cycle(Judge *judge, Operand cycle, LeafVector *leaves);
Text cycle_leaf_path(Judge *judge, const Leaf *leaf);
/* The segment that a step of a cycle's time axis is in at an instant; UINT32_MAX: none. */
uint32_t segment_index(Judge *judge, uint32_t cycle, Instant instant);

/* why_verdict.c */
Account *account_of_finding(Telling *telling, uint32_t finding, uint32_t depth);
/* A rule that does not apply, or a caution; NULL when none is called so. */
const Account *account_of_unjudged(Telling *telling, Text path, uint32_t depth);

#endif
