/* The inside of a Vocabulary, for this folder alone.
 *
 * A declaration is only noted (its node, by name); a unit is worked out when a text first uses it. Texts are remembered by
 * symbol, good and bad, so each different one is read once. */
#ifndef TRUNNION_QUANTITY_VOCABULARY_H
#define TRUNNION_QUANTITY_VOCABULARY_H

#include "base/map.h"
#include "quantity/quantity.h"

/* The size of a unit as over / under * 10^tens. Decimal sizes stay whole numbers until the very end, while they fit into the
 * 53 bits of a double, so that g·cm² is 1e-7 kg·m² to the last bit and a value meets its own conversion exactly. */
typedef struct Scale {
    double over, under;
    int tens;
} Scale;

Scale scale_of(double number);
Scale scale_multiply(Scale a, Scale b);
Scale scale_power(Scale a, int sixths);
double scale_value(Scale a); /* may be 0 or infinite when out of range */

typedef struct DeclaredUnit {
    Symbol name;
    NodeId node;
    enum { UNIT_NOTED, UNIT_BEING_RESOLVED, UNIT_GOOD, UNIT_BAD } state;
    bool prefixes;
    /* from here on set when GOOD */
    bool point;
    Scale scale;
    double zero; /* K */
    Dimension dimension;
    KindId kind;
} DeclaredUnit;

typedef struct DeclaredPrefix {
    Symbol name;
    NodeId node;
    Scale scale;
} DeclaredPrefix;

typedef struct DeclaredKind {
    Kind kind;
    NodeId node;
} DeclaredKind;

/* A unit as given out, with its size before the last rounding. */
typedef struct UnitRecord {
    Unit unit;
    Scale scale;
} UnitRecord;

/* Why a unit's text could not be read. */
typedef struct UnitFault {
    MessageId id;
    bool silent;       /* a declaration it rests on has been reported already */
    size_t start, end; /* bytes of the text it is about */
    Text arguments[4];
} UnitFault;

struct Vocabulary {
    Arena *arena;
    Symbols *symbols;
    const Tree *tree;
    Messages *messages;
    VECTOR(DeclaredUnit) units;      /* number 0 is unused, here and below */
    VECTOR(DeclaredPrefix) prefixes;
    VECTOR(DeclaredKind *) kinds;
    VECTOR(UnitRecord *) records;    /* by UnitId */
    VECTOR(UnitFault) faults;
    Map unit_names, prefix_names, kind_names; /* symbol → number of the declaration */
    Map texts;       /* symbol of a unit's text → UnitId */
    Map bad_texts;   /* symbol of a unit's text → number of its fault */
    VECTOR(uint32_t) resolving; /* declared units, each in the definition of the one before */
    NodeId base_units[DIMENSION_COUNT];
    uint32_t longest_prefix; /* bytes */
    uint32_t searches;       /* for a nearest unit, so far */
};

enum {
    UNIT_CHAIN_LIMIT = 100,   /* units defined by units defined by units … */
    UNIT_NESTING_LIMIT = 20,  /* parentheses in a unit */
    UNIT_SEARCH_LIMIT = 200,  /* different unknown units for which the nearest known one is looked for */
    UNIT_POWER_SIXTHS = 126   /* the 21st power is the highest */
};

/* ---- unit.c ---- */

/* Works a declared unit out, if that is still to do. False when it is bad, which has then been reported. */
bool unit_resolve(Vocabulary *vocabulary, uint32_t number);
/* The record behind a UnitId. */
const UnitRecord *unit_record(const Vocabulary *vocabulary, UnitId unit);

/* ---- unit_text.c ---- */

/* A unit name without operators, split into prefix (0: none) and unit. False: there is none; *barred is then the prefix of
 * a unit that takes none, with that unit in *unit, or 0. */
bool unit_find(const Vocabulary *vocabulary, Text name, uint32_t *prefix, uint32_t *unit, uint32_t *barred);
/* Reads a whole text. False with *fault set. *unclear: the offset of a division after which it multiplies without
 * parentheses, else 0. */
bool unit_text_read(Vocabulary *vocabulary, Text text, UnitRecord *out, UnitFault *fault, size_t *unclear);
/* Whether a text could name a unit: not empty, and read as one name. */
bool unit_text_is_name(Text text);

/* ---- unit_advice.c ---- */

/* A sentence that says what was probably meant by an unknown unit name, or the empty text. */
Text unit_advice(Vocabulary *vocabulary, Text name);
/* The unit with the same letters in another case, with its prefix (mH for mh); empty when there is none. */
Text unit_in_another_case(Vocabulary *vocabulary, Text name);

/* ---- kind.c ---- */

/* Fills in a kind's units and checks them. */
void kind_resolve(Vocabulary *vocabulary, KindId kind);
/* The dimension is the kind's own, or that of one of its `also` units. */
bool kind_takes(const Vocabulary *vocabulary, const Kind *kind, Dimension dimension);

/* The declared kind with the nearest name, or the empty text. */
Text kind_nearest(const Vocabulary *vocabulary, Symbol name);

/* ---- vocabulary.c ---- */

/* The symbol of the normal form (NFC, one micro, one ohm) of a symbol's text. */
Symbol vocabulary_normal(Vocabulary *vocabulary, Symbol symbol);

#endif
