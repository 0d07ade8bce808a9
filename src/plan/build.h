/* Inside the plan stage: the builder that its files share. Nothing outside src/plan includes this.
 *
 * A member of an object is compiled when something first asks for it; its slot remembers the outcome. So definitions have
 * no order, and a definition that asks for itself is a circle, unless a `settles from` lies between. */
#ifndef TRUNNION_PLAN_BUILD_H
#define TRUNNION_PLAN_BUILD_H

#include "compute/signal.h"
#include "plan/program.h"

typedef enum Function {
    FUNCTION_NONE,
#define FUNCTION(id, name, fewest, most) FUNCTION_##id,
#include "plan/function.def"
#undef FUNCTION
    FUNCTION_KIND_COUNT
} Function;

typedef struct Trail { /* what is under way, innermost last */
    ObjectId object; /* 0: a cycle */
    uint32_t slot;   /* or cycle */
} Trail;

typedef struct Target { /* the member that a name or path ends at */
    ObjectId object; /* 0: none */
    uint32_t slot;
} Target;

typedef struct Sides { /* of a comparison, as they were compiled */
    Operand left, right;
} Sides;

typedef struct Builder {
    Arena *arena;
    Model *model;
    Program *program;
    const World *world; /* for data files */
    Sources *sources;
    Tree *tree;
    Messages *messages;
    Map step_table;    /* hash -> StepId, so that equal steps are one */
    Map things;        /* symbol -> ObjectId of a top-level thing */
    Map cycles;        /* symbol -> cycle */
    Map functions;     /* symbol -> Function */
    Map derivatives;   /* StepId -> StepId */
    Map compared;      /* COMPARE step -> index of its sides */
    Map stands;        /* form -> ObjectId that stands for all things of it, where conditions of open slots are checked */
    VECTOR(Sides) sides;
    VECTOR(Trail) trail;
    uint32_t level;    /* fixed points under way */
    uint32_t depth;    /* of expressions and members, against runaway recursion */
    bool too_deep;     /* said once: what rests on the first too long chain would say it again */
    ObjectId owner;    /* whose formula is being compiled */
    Target target;     /* of the latest name or path */
    ReferenceVector *references; /* where to note what a condition names, or NULL */
    bool mould;        /* for groups of cards: all that has bounds is at its nominal value */
    const struct Assembly *assembly; /* whose numbers are to be replaceable; or NULL */
    Map free;          /* node -> index into Program.free_numbers */
    bool unfit;        /* something was met that a mould cannot do */
    const Operand *reading; /* what `measured` is, while a requirement with a reading is compiled; else NULL */
    Symbol measured, pi, law_form, law_time, law_position, law_t;
} Builder;

/* Compiling is recursive: these keep it within a stack of 8 MiB, with a sanitizer too. */
enum {
    PLAN_CHAIN_LIMIT = 400,   /* members under way at once */
    PLAN_DEPTH_LIMIT = 1000,  /* expressions under way at once */
    PLAN_DERIVE_LIMIT = 3000, /* steps whose rate is under way at once */
    PLAN_STEP_LIMIT = 20000000
};

/* Where a name in an expression is looked up. */
typedef enum ScopeKind {
    SCOPE_TOP,  /* requirements, segments: top-level things */
    SCOPE_FORM, /* formulas: members of the object, then top-level things */
    SCOPE_FIELD /* values an author fills in: top-level things, then the other fields of the object */
} ScopeKind;

typedef struct Scope {
    ScopeKind kind;
    ObjectId object;
    uint32_t slot; /* FIELD: the field being filled in, which its own value does not see; else UINT32_MAX */
} Scope;

/* resolve.c: remembers what an expression came to, when the request explains. */
void note_resolution(Builder *builder, NodeId node, Operand operand);
/* Compiles the path that the request asks about, or else those that values of a report have; says nothing. After everything
 * else: it brings nothing into the check. */
void compile_asked(Builder *builder);

/* emit.c */
StepId emit(Builder *builder, StepKind kind, unsigned aux, StepId a, StepId b, StepId c, Span span);
StepId emit_constant(Builder *builder, double value, Span span);
StepId emit_bounded(Builder *builder, Constant constant, Span span);
/* A constant that is no other's, also where an equal one is there. */
StepId emit_apart(Builder *builder, Constant constant, Span span);
StepId emit_missing(Builder *builder, Text path, Span span);
StepId emit_broken(Builder *builder, Span span);
/* The program is then compiled for just this value. */
bool step_is_constant(Builder *builder, StepId step, double *value);
/* Whether it is a written 0; things that are alike agree in that. */
bool step_is_nought(const Builder *builder, StepId step);
/* A written number; with bounds, `other` may be the second node that its nominal value is the middle of. */
StepId emit_written(Builder *builder, Constant constant, NodeId written, FreeNumber numbers);
/* Whether a truth is known before anything runs: `stated(…)`, comparisons of words that are filled in, and what follows. */
bool step_truth(Builder *builder, StepId step, bool *truth);

/* derive.c: the step that computes the time derivative of a step's formula. */
StepId derive(Builder *builder, StepId step);

/* expression.c */
Operand compile_expression(Builder *builder, Scope scope, NodeId node, const Type *expected);
/* Compiles and fits to a type; `name` is what the value is for, in messages. */
Operand compile_as(Builder *builder, Scope scope, NodeId node, Type type, Text name);
/* Reports that definitions are nested too deep; once. */
void say_too_deep(Builder *builder, Span span);
/* A truth value (a step); reports when it is something else. */
StepId compile_truth(Builder *builder, Scope scope, NodeId node);
/* member.c: `object.name`. */
Operand compile_member(Builder *builder, Scope scope, NodeId node);
/* call.c */
Operand compile_call(Builder *builder, Scope scope, NodeId node);
Operand reduce(Builder *builder, Reduction reduction, Operand value, Span span);
bool reduction_of(Text name, Reduction *reduction);

/* fit.c: does an operand fit a type? */
Operand fit(Builder *builder, Operand operand, Type type, NodeId node, Text name);
Operand operand_broken(void);
Operand operand_value(StepId step, Measure measure);
Operand operand_truth(StepId step);
/* A value of this type that is not there: because a fact is missing (path not empty), or because a form is being checked
 * for itself. */
Operand operand_absent(Builder *builder, Type type, Text path, Span span);
/* "a force", "a text", "a filled-in screw", … */
Text operand_words(Builder *builder, Operand operand);
Text node_text(Builder *builder, NodeId node);
/* The number as written in front of a unit, for "right would be 320 mm"; "1" when the node is not a plain number. */
Text written_number(Builder *builder, NodeId node);
/* Reports that two measures cannot meet. */
void say_no_meeting(Builder *builder, Fit fit, NodeId node, Operator operation, Operand a, NodeId a_node, Operand b, NodeId b_node);

/* mould.c */
/* The field of an object that stands for a group of cards; false: no card of the group states it. */
bool compile_place_slot(Builder *builder, ObjectId object, uint32_t slot, const Member *member, Operand *operand);
/* The constant that tells whether the card states a field (of several words, that of the first); 0: no card does. */
StepId place_fact_step(Builder *builder, ObjectId object, uint32_t slot);
/* The object that stands for a place; opened at the first call. */
ObjectId object_of_place(Builder *builder, uint32_t place, Text path);

/* program.c */
void builder_open(Builder *builder, PlanRequest request);
/* Compiles all that the request is about. */
void compile_request(Builder *builder);
/* Compiles what the objects opened so far hold and reach. */
void compile_objects(Builder *builder);

/* object.c */
Operand slot_formula(Builder *builder, ObjectId object, uint32_t slot, const Member *member);
ObjectId object_of_thing(Builder *builder, Symbol name); /* 0 when there is none, or it is broken */
ObjectId object_open(Builder *builder, FormId form, NodeId node, Symbol name, Text path, ObjectId parent);
/* What may have been meant by the name of a field that the form does not have: the nearest, else all of them. */
Text advise_field(Builder *builder, const Form *form, Symbol wanted);
/* The form named by a NAME node or by a FILLED; reports when there is none. */
FormId form_by_name(Builder *builder, NodeId name_node);
FormId form_of_filled(Builder *builder, NodeId filled);
Operand compile_slot(Builder *builder, ObjectId object, uint32_t slot);
/* The value of a slot, which has none where its member's `needs` are not met. */
Operand slot_with_needs(Builder *builder, ObjectId object, uint32_t slot, Operand operand);
void compile_all_slots(Builder *builder, ObjectId object);
/* Compiles every formula, rule and caution of a form with fields that have types and no values. */
void check_form(Builder *builder, FormId form);

/* open.c: `any FORM where …` as the value of a field. */
Operand compile_any(Builder *builder, Scope scope, NodeId node);
/* Compiles what the open slots ask of the things that fill them, and says which slots are open. After the requirements. */
void compile_opens(Builder *builder);

/* reading.c: the measured value that a requirement's evidence holds, with its uncertainty as bounds. */
Operand compile_reading(Builder *builder, NodeId requirement);

/* motion.c */
Operand cycle_of_thing(Builder *builder, Symbol name);
Operand cycle_member(Builder *builder, Operand cycle, Symbol name, NodeId node);
/* Position (order 0) or one of its time derivatives, over the whole cycle. */
StepId cycle_signal(Builder *builder, uint32_t cycle, unsigned order, Span span);
Operand segment_member(Builder *builder, Operand segment, Symbol name, NodeId node);
/* The value of a `varies with` input: what segments set, else `otherwise`. */
StepId cycle_input(Builder *builder, uint32_t cycle, Symbol name, Type type, StepId otherwise, Span span);
void check_cycle_inputs(Builder *builder);

/* judged.c */
void compile_rules(Builder *builder, ObjectId object);
void compile_requirement(Builder *builder, NodeId requirement);
void compile_agreement(Builder *builder, ObjectId object, uint32_t slot);
uint32_t compile_condition(Builder *builder, Scope scope, NodeId node);

/* quote.c: what the links of the prose lead to. After everything else: it brings nothing into the check. */
void compile_quotes(Builder *builder);

#endif
