/* Inside the verdict stage: what the files of it share. Nothing outside src/verdict includes this but the
 * pipeline, and src/library, which judges cards without a Result. */
#ifndef TRUNNION_VERDICT_JUDGE_H
#define TRUNNION_VERDICT_JUDGE_H

#include "base/world.h"
#include "compute/evaluate.h"
#include "compute/tangent.h"
#include "compute/variation.h"
#include "verdict/result.h"

enum { SEARCH_SPOTS = 24 };

typedef struct Judge {
    Arena *arena;
    const World *world;
    const Program *program;
    Model *model;
    Evaluation *evaluation;
    bool untraced;     /* a requirement names a source or clause that is not there */
    Messages *messages;
    Result *result;
    Map said;          /* origin step -> 1: its failure has been reported */
    Text today;        /* the date that concessions are judged by */
    Map refined;       /* requirements that others refine */
    Map by_id;         /* symbol of a finding's name -> its index, advice left out; when all is judged */
    Map clauses;       /* symbols of source and clause -> index of the clause plus one */
    bool misdirected;  /* some refinement is of a requirement that is not there; another one may be meant */
    bool verdicts_only, choosing, bare; /* see JudgeOptions */
    bool settling;     /* all of it is known to hold at the nominal values */
    bool brief;        /* so much that nobody will look at what holds: no texts for it, but of the smallest margin */
    double smallest;   /* margin of which there is a text */
    bool silent;       /* outcomes are wanted without texts: while corners are looked for */
    Variation *variation; /* for corners; NULL until one is looked for */
    Gradient *gradient;
    double *inputs;    /* by constant, for corners */
    double *latest;    /* by constant: where it was for the latest worst case that it had a part in */
    struct KnownWorst *known; /* worst cases that were found, the latest first */
    Arena *for_search, *for_slopes; /* used again for each condition, each slope; NULL until then */
    Arena *for_values, *for_tangents; /* what is kept from condition to condition */
    const double *spots[SEARCH_SPOTS]; /* by constant: where the margins of all conditions are looked at; NULL until one is */
    Users *users;
    KeptGradient *kept; /* by constant: gradients at the nominal values, as they are asked for */
} Judge;

/* What came of one condition. */
typedef enum OutcomeState { OUTCOME_HOLDS, OUTCOME_FAILS, OUTCOME_UNKNOWN, OUTCOME_UNCOMPUTED } OutcomeState;

typedef struct Outcome {
    OutcomeState state;
    double share;      /* of the limit; NaN: none */
    double absolute;   /* in SI; NaN: none */
    Measure measure;   /* of the absolute margin */
    UnitId unit;
    Text found, limit, instant;
    Text exact;        /* the found number with SPELL_EXACT digits; empty when it is none */
    StepId trouble;    /* UNKNOWN, UNCOMPUTED: the step to ask why */
    uint32_t leaf;     /* the comparison that decided; 0: none that has a margin */
    Signal room;       /* of a comparison of signals: limit less found, or found less limit */
    Extreme tight;     /* where the room is smallest */
} Outcome;

/* condition.c */
Outcome judge_condition(Judge *judge, uint32_t condition);
/* "at most 1.5 s". */
Text words_of_limit(Arena *arena, SignalCompare comparison, Text limit);
/* The margin of a temperature; NaN: it is none, or has no margin. */
double outcome_kelvin(const Outcome *outcome);
/* Whether one outcome is worse than another. */
bool outcome_graver(const Outcome *a, const Outcome *b);

/* collect.c */
/* What stands in a source, on one line: without comments; runs of white space outside quoted text become one space. */
Text on_one_line(Judge *judge, Text text);

/* explain.c */
/* Paths of the facts whose absence makes `step` unknown. */
void missing_facts(Judge *judge, StepId step, TextVector *paths);
/* Why a value has none, as one sentence; an error has then been reported, except for what is a finding by itself
 * (runaway). *finding says which. */
Text explain_failure(Judge *judge, StepId step, bool *finding);
/* "it divides by zero". */
const char *failure_sentence(Failure failure);
/* The same sentence, and nothing reported. */
Text why_without_value(Judge *judge, StepId step);
/* A place in a named file for something that happened in a formula of an object. */
Span place_of_object(Judge *judge, ObjectId object);
/* "of exchange, in raise": which segment an instant of a signal lies in; empty when no cycle is known. */
Text segment_at(Judge *judge, StepId signal, double time);

/* worst.c: the worst case of one condition over the bounds it rests on; what eats its margin. `nominal` is its outcome at the
 * nominal values. Fills the finding, and makes `at risk` of what holds at the nominal values only. */
void find_worst(Judge *judge, Finding *finding, const Judged *judged, const Outcome *nominal);
/* Gives back what find_worst kept for the next condition. */
void close_worst(Judge *judge);
/* The field that a constant was written for: its path, and how to show it. */
Text name_of_constant(Judge *judge, StepId step, Measure *measure, UnitId *unit);

/* collect.c: the values and things of the report; reports what could not be computed. */
void collect_values(Judge *judge);
Text spell_operand(Judge *judge, Operand operand, UnitId unit);
Text spell_step(Judge *judge, StepId step, Measure measure, UnitId unit);

/* concede.c: after everything is judged. `today` as 2027-03-31; empty: ask the world. */
void concede_and_refine(Judge *judge, Text today);

/* trace.c: sources, clauses, requirements, methods and evidence. */
void trace_sources(Judge *judge);
void trace_requirement(Judge *judge, Finding *finding, NodeId requirement);
/* The first line of a declaration, up to its brace. */
Span place_of_item(Judge *judge, const Node *node);

/* quote.c: whether the prose still says what is so. After everything else is judged. */
void judge_quotes(Judge *judge);

/* Whether a cycle ends where it began, as it has to; else how far from there. `net` may be NULL. */
bool cycle_closes(Judge *judge, const PlanCycle *cycle, double *net);

/* What is done with before the rest is compiled. */
typedef struct Settled {
    Map items;      /* node of an item -> 1: it need not be compiled */
    VECTOR(Symbol) reached; /* what these items use, and do not hold */
} Settled;
/* alike.c: judges what is alike in the named files by one program for each shape. Only for a judge whose findings nobody will ask
 * the values of. */
void settle_alike(Judge *judge, Sources *sources, Settled *settled);
/* An object as a thing of the result, without its values. */
void judge_thing(Judge *judge, ObjectId object);
/* One thing to judge, whatever it is; its finding goes to the result. */
void judge_judged(Judge *judge, const Judged *judged);

/* One thing that is known to hold, or not to apply: counted, and the way of a requirement traced, without words. */
void judge_counted(Judge *judge, const Judged *judged, bool idle);

/* The stage in two steps: what comes before there is a program, and all the rest. */
Judge *judge_open(Arena *arena, const World *world, Model *model, Messages *messages, JudgeOptions options);
Result *judge_rest(Judge *judge, Evaluation *evaluation, JudgeOptions options);
/* Both. */
Result *judge_all(Arena *arena, const World *world, Evaluation *evaluation, Messages *messages, JudgeOptions options);

#endif
