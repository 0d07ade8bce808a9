/* One check's result, free of any format: what verify prints and what every report writer walks.
 *
 * All texts are ready to show (numbers spelled, units chosen). All paths ("lift.screw.speed") are also anchors.
 * Owns: everything in it, in the arena of the check. Order everywhere is the order of the documents. */
#ifndef TRUNNION_VERDICT_RESULT_H
#define TRUNNION_VERDICT_RESULT_H

#include "base/vector.h"
#include "message/message.h"
#include "text/source.h"

typedef enum Verdict {
    VERDICT_MET,
    VERDICT_AT_RISK,
    VERDICT_NOT_MET,
    VERDICT_OPEN,
    VERDICT_CONCEDED,
    VERDICT_COUNT
} Verdict;

Text verdict_word(Verdict verdict); /* "met", "at risk", "not met", "open", "conceded" */

typedef VECTOR(Text) TextVector;

struct Account; /* verdict/account.h */

/* A value the check worked with. */
typedef struct Value {
    Text path;   /* lift.load.speed.peak, lift.motor.resistance; also the anchor */
    Text shown;  /* 38.4 rev/s;  8.2 Ω ± 8 %;  "unknown";  for a signal its range: "-1.2 N·m to 3.4 N·m" */
    Text title;  /* docstring of the field, or empty */
    Text formula; /* as written, for derived values; empty for stated ones */
    Text cites;  /* source of the formula, or empty */
    Span span;   /* where it is stated (or, derived, where its form is filled in) */
    Span declared; /* the member of the form that declares it */
    bool stated; /* the author wrote it; else derived or default */
    bool is_signal;
    bool unknown;
    bool quoted; /* here only because the prose quotes it by this path */
    const struct Account *account; /* how it came to be; NULL where nobody asked */
} Value;

typedef VECTOR(Value) ValueVector;

typedef enum FindingKind {
    FINDING_REQUIREMENT, /* the author's */
    FINDING_RULE,        /* of a form in use */
    FINDING_AGREEMENT,   /* a stated value against the formula of its `within` */
    FINDING_WHERE        /* what an open slot asks of the thing that fills it; only where JudgeOptions say so */
} FindingKind;

/* A toleranced value on the way from the nominal margin to the worst. */
typedef struct Eater {
    Text path;    /* supply.voltage */
    Text nominal; /* 24 V */
    Text worst;   /* 22.8 V: where it is in the worst case */
    Text share;   /* of the loss: "62 %"; empty when the margin is not a number */
    Text turning; /* the value of it at which the verdict would change, all others nominal; empty when there is none near */
    bool inside;  /* the worst case lies between its bounds */
} Eater;

/* One requirement, rule or agreement with its verdict. */
typedef struct Finding {
    FindingKind kind;
    Text id;       /* LIFT-4;  lift.speed-limit;  Rook-22.speed-constant */
    Text anchor;   /* same as id; unique */
    Text text;     /* its title */
    Verdict verdict;
    bool advice;   /* a `should`: reported, but never counts against the exit status */
    Text found;    /* 1.40 s; empty when there is none (truth values) */
    Text exact;    /* the same with all digits that count, for tests and dumps: 1.39999999997 s */
    Text limit;    /* at most 1.5 s;  at least 2;  housed */
    Text margin;   /* "6.7 %", "35 K", negative when not met: "-3.1 %"; empty when there is none */
    Text margin_absolute; /* 0.10 s; empty when there is none */
    double margin_share;  /* of the limit; 0.067; NaN when there is none. Smallest first is the usual order of concern */
    double margin_kelvin; /* of a temperature, which has no share; NaN: it is none */
    Text instant;  /* for signals: "at 0.700 s, in move 1 of exchange"; else empty */
    Text condition; /* the shall as written */
    Text reason;   /* for open and not met: one sentence; else empty */
    TextVector missing; /* paths of the facts that are missing */
    TextVector decides; /* paths of the values that decide it, nearest first */
    TextVector parts;   /* names of the filled-in forms those values belong to */
    TextVector clauses; /* "URS §2.1" */
    Text refines;   /* the requirement that this one refines, or empty */
    Span refines_span;
    TextVector refined_by; /* ids of those that refine this one */
    Text concession; /* the concession that names it, also one that has lapsed or is needless; or empty */
    bool conceding;  /* … which is complete and has not lapsed */
    Text unsourced; /* why it has no source; else empty */
    Text method;    /* analysis, inspection, demonstration, test; empty for rules */
    Text evidence;  /* path of the file, or empty */
    Text reading;   /* what is read in it: largest "deviation" within 0.02 mm; or empty */
    Text digest;    /* by which the file is pinned: sha256:…; or empty */
    Text cites;     /* whose rule it is */
    Text because;
    /* The worst case over the bounds of what it rests on: a corner that was evaluated. Empty and 0 where nothing it rests on
     * has bounds. */
    uint32_t bounded_inputs; /* how many toleranced values it rests on */
    Text worst_found, worst_limit, worst_margin, worst_margin_absolute, worst_instant;
    Text worst_exact;        /* worst_found with all digits that count */
    double worst_share;      /* of the limit; NaN when there is none */
    double worst_kelvin;
    Text worst_reason;       /* when it has no value there: why */
    VECTOR(Eater) eaters;    /* largest first: the corner, and what eats the margin on the way to it */
    Text likely_margin;      /* root sum of squares instead of the corner; empty when there is no margin */
    Span span;      /* its declaration (for rules: where the form is filled in) */
    Span shall_span; /* the condition itself */
    const struct Account *account; /* its condition with numbers put in; NULL where nobody asked */
} Finding;

typedef VECTOR(Finding) FindingVector;

typedef struct Caution {
    Text id;     /* lift.falling-load */
    Text text;
    Text cites;
    Span span;   /* where the form is filled in */
} Caution;

typedef struct Clause {
    Text source; /* URS */
    Text source_title;
    Text id;     /* §2.1 */
    Text text;
    Text left_out; /* the reason, or empty */
    TextVector requirements; /* ids of those that cover it */
    bool demanded; /* its source is in a file named on the command line, so a gap is a finding */
    Span span;
} Clause;

/* Permission to keep a violation. */
typedef struct Concession {
    Text id, text, by, because, until;
    TextVector covers; /* ids of requirements and rules */
    SpanVector cover_spans;
    bool lapsed, needless;
    Span span;
} Concession;

/* A filled-in form or a cycle that the author wrote. */
typedef struct Thing {
    Text path;   /* lift, lift.load, exchange */
    Text form;   /* screw, cycle */
    Text title;
    Span span;   /* its header line */
    uint32_t first_value, value_count;     /* in Result.values: all its fields, in the order of the form */
} Thing;

/* A quoted figure that is stale and can be put right in its file. */
typedef struct Requote {
    Span link; /* the link's words, of which the message speaks */
    Span span; /* the bytes to replace */
    Text now;
} Requote;

enum { VERDICTS_LISTED = 2000 }; /* findings; of more than these, verdicts list only what does not hold */

typedef struct Result {
    Arena *arena;
    const Sources *sources;
    const Messages *messages;
    ValueVector values;
    VECTOR(Thing) things;
    FindingVector findings;
    VECTOR(Caution) cautions;
    VECTOR(Clause) clauses;
    VECTOR(Concession) concessions;
    Text judged_on; /* the date that concessions were judged by; empty when there are none */
    VECTOR(Requote) requotes; /* in the order of the files, and of the places in each */
    VECTOR(const struct Account *) answers; /* to the path that was asked about, at most a value and its verdicts; none: nothing
                                             * is called so */
    Text near; /* then: what it was perhaps to be; may be empty */
    uint32_t count[VERDICT_COUNT]; /* findings by verdict, without advice */
    uint32_t advice_not_met;
    uint32_t not_applicable;       /* rules whose `when` is not fulfilled */
    uint32_t bounded;              /* findings that rest on toleranced values, and were judged over their bounds */
    bool brief;                    /* so many findings that those which hold are counted, and have no texts */
    bool nominal_only;             /* the bounds were left out, as asked */
} Result;

/* How to judge. */
typedef struct JudgeOptions {
    Text today;        /* 2027-03-31: the date that concessions are judged by; empty: the world's */
    bool nominal_only; /* leave the bounds out */
    bool choosing;     /* for a choice of parts: judge what open slots ask too, and name every missing fact of what is open */
    bool bare;         /* conditions and concessions only: no sources and evidence, no values, no prose */
    bool verdicts_only; /* nobody will look at the values, nor at which parts decide: spell and find none (what has no value is reported) */
} JudgeOptions;

/* Exit status of a result: 0, 1 or 2 (errors in messages); 3 is the machine's. */
typedef struct VerdictPolicy {
    bool accept_open, accept_at_risk;
} VerdictPolicy;
int result_status(const Result *result, VerdictPolicy policy);

#endif
