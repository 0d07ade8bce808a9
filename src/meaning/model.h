/* What a specification refers to: forms with their members, filled-in forms, cycles, sources and requirements, by name.
 *
 * In:   the loaded tree and the vocabulary.
 * Out:  Model. Forms are resolved (bases, members, types) when first asked for, so that a large library costs only what
 *       is used of it; everything declared in the named files is resolved and checked in any case.
 * Owns: everything in it, in the arena of the check. */
#ifndef TRUNNION_MEANING_MODEL_H
#define TRUNNION_MEANING_MODEL_H

#include "base/map.h"
#include "meaning/load.h"
#include "quantity/quantity.h"

typedef uint32_t FormId;   /* 0: none */
typedef uint32_t ChoiceId; /* 0: none */

typedef enum TypeClass {
    TYPE_BROKEN, /* already reported; silent from here on */
    TYPE_QUANTITY,
    TYPE_TRUTH,
    TYPE_TEXT,
    TYPE_CHOICE,
    TYPE_FORM,
    TYPE_CYCLE_OF,
    TYPE_TABLE_OF
} TypeClass;

typedef struct Type {
    TypeClass class;
    bool several;
    KindId kind;     /* QUANTITY: of the value; CYCLE_OF: of the stroke; TABLE_OF: of the values */
    KindId key_kind; /* TABLE_OF */
    FormId form;     /* FORM */
    ChoiceId choice; /* CHOICE */
} Type;

typedef struct Word {
    Symbol name;
    NodeId node;
} Word;

typedef struct Choice {
    Symbol name;
    NodeId node;
    VECTOR(Word) words;
} Choice;

typedef struct Member {
    Symbol name;
    NodeKind class; /* NODE_GIVEN, NODE_MAYBE, NODE_LET */
    NodeId node;
    FormId owner; /* the form that declares it last */
    Type type;
    NodeId formula;  /* default or formula; 0 none */
    UnitId shown;    /* `in U`; 0 none */
    NodeId within;   /* expr or 0 */
    NodeId varies;   /* path expr or 0 */
    NodeId settles;  /* expr or 0 */
} Member;

typedef struct FormRule {
    NodeId node; /* RULE or CAUTION */
    FormId owner;
} FormRule;

typedef enum FormState { FORM_UNRESOLVED, FORM_RESOLVING, FORM_RESOLVED } FormState;

typedef struct Form {
    Symbol name;
    NodeId node;
    FormState state;
    FormId base;
    VECTOR(Member) members; /* inherited first, in order of declaration; the index is the slot */
    VECTOR(FormRule) rules;
    VECTOR(FormRule) cautions;
    bool full;              /* it has more members than it may, and that is said */
} Form;

typedef struct Model {
    Arena *arena;
    Symbols *symbols;
    const Loaded *loaded;
    Tree *tree;
    Messages *messages;
    uint32_t searches; /* of the standard library, for unknown forms */
    bool unread; /* some item could not be read, so a name that is not found may be its */
    Vocabulary *vocabulary;
    VECTOR(Form) forms;     /* [0] unused */
    VECTOR(Choice) choices; /* [0] unused */
    Map types;              /* symbol -> FormId, or ChoiceId with MODEL_CHOICE set */
    VECTOR(NodeId) things;  /* by symbol: a FILLED, CYCLE, SOURCE or REQUIREMENT; 0, or beyond the end: none */
    Map slots;              /* form << 32 | symbol -> slot */
} Model;

#define MODEL_CHOICE 0x80000000u

enum { FORM_DEPTH_LIMIT = 50, FORM_MEMBER_LIMIT = 2000 };

/* Collects the declarations of all files, makes things of the rows of tables (their items are then in `loaded`), and reports
 * what is declared twice. */
Model *model_open(Arena *arena, Loaded *loaded, Symbols *symbols, Messages *messages);

/* Makes a FILLED, CYCLE, SOURCE … known by its name; false after saying that the name is taken. */
bool model_declare(Model *model, NodeId thing);
/* By name; 0 when there is none (nothing is reported). */
FormId model_form(const Model *model, Symbol name);
NodeId model_thing(const Model *model, Symbol name);
/* The form, resolved. Its mistakes are reported the first time. */
const Form *form_of(Model *model, FormId form);
/* UINT32_MAX: the form has no such member. The form must be resolved. */
uint32_t form_slot(const Model *model, FormId form, Symbol name);
/* The same for one card after the other, which all have the same fields: the latest answers are remembered in `memo`, which
 * begins as zeros. */
enum { SLOT_MEMO = 128 };
typedef struct SlotMemo {
    struct {
        FormId form;
        Symbol name;
        uint32_t slot;
    } at[SLOT_MEMO];
} SlotMemo;
uint32_t form_slot_again(const Model *model, SlotMemo *memo, FormId form, Symbol name);
/* Whether all its members are known: it and its bases could be read, and are there. Where not, a name that is not found may
 * have been there, and nothing is said. */
bool form_is_whole(Model *model, FormId form);
bool form_descends(Model *model, FormId form, FormId ancestor);
const Choice *choice_of(const Model *model, ChoiceId choice);
/* UINT32_MAX: no such word. */
uint32_t choice_word(const Choice *choice, Symbol name);

Text model_name(const Model *model, Symbol name);
/* "a length", "one of fieldbus", "a filled-in motor", … */
Text type_words(const Model *model, Arena *arena, Type type);
/* "stroke is a length", but of a field called like its kind: "a mass is due". */
Text type_due(const Model *model, Arena *arena, Type type, Text name);
/* ", which is a length"; empty for a field called like its kind. */
Text type_which(const Model *model, Arena *arena, Type type, Text name);
/* A value of the type, as it could be written; `number` for a quantity. */
Text type_example(const Model *model, Arena *arena, Type type, Text number);
/* What to do about a form or type that is not known: use the library that has it, or take the nearest; may be empty. */
Text model_advice(Model *model, Symbol wanted, Text nearest);
/* What to do about a field that the (resolved) form does not have: take the nearest, or one of those it has. */
Text form_advice(const Model *model, const Form *form, Symbol wanted);
/* The nearest of `count` names to a misspelt one ("", when none is near). */
typedef struct Nearest {
    const Symbols *symbols;
    Text wanted, best;
    unsigned distance;
} Nearest;
Nearest nearest_to(const Symbols *symbols, Symbol wanted);
void nearest_try(Nearest *nearest, Symbol candidate);
/* ` "Did you mean X?"` as the advice argument: the name, or empty. */
Text nearest_found(const Nearest *nearest);

#endif
