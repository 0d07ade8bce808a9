/* What a number means: dimensions, units, prefixes, kinds, and whether two things may meet.
 *
 * Seven SI base dimensions and plane angle as an eighth. Which units, prefixes and kinds there are is declared in the
 * standard library (`unit`, `prefix`, `kind`) and read into a Vocabulary; C knows only the dimensions by name
 * (quantity/dimension.def), that angle may be forgiven, and that temperature has points and differences.
 *
 * Angle. A kind has one exact dimension, with its power of angle: torque is N·m/rad, moment of inertia kg·m²/rad²,
 * a torque constant N·m/(rad·A) — which is V/(rad/s) exactly. `also` lists the units in which the trade leaves angle out
 * (torque `also N·m`): a kind forgives the powers of angle of its `also` units, and only those.
 *   - A written number is forgiven when its unit has the dimension of an `also` unit and a length among its factors (the
 *     lever arm): N·m, kgf·cm, kg·m² yes; J, W·h, V·s no.
 *   - A computed value is forgiven when no kind is known for it (mass * radius ^ 2), never when it is known to be of
 *     another kind (a field of kind energy is no torque).
 * Forgiving changes no number, because 1 rad is 1 in SI.
 *
 * Points. `35 °C` is a point, `40 K` a difference; in a compound unit (K/W, °C/W) and with % the degree is an interval. */
#ifndef TRUNNION_QUANTITY_QUANTITY_H
#define TRUNNION_QUANTITY_QUANTITY_H

#include "syntax/tree.h"

typedef enum DimensionName {
#define DIMENSION(id, word, symbol) DIMENSION_##id,
#include "quantity/dimension.def"
#undef DIMENSION
    DIMENSION_COUNT /* 8 */
} DimensionName;

/* Powers in sixths, so that square and cube roots stay exact: a length is 6, its square root 3. */
typedef struct Dimension {
    int8_t sixths[8];
} Dimension;

/* Of a base unit: the first power of one of the eight. */
Dimension dimension_base(DimensionName name);
bool dimension_equal(Dimension a, Dimension b);
bool dimension_is_number(Dimension a);
/* False when a power leaves its range; the result is then not to be used. */
bool dimension_multiply(Dimension a, Dimension b, Dimension *out);
bool dimension_divide(Dimension a, Dimension b, Dimension *out);
bool dimension_power(Dimension a, int numerator, int denominator, Dimension *out);
/* Equal but for the power of angle. */
bool dimension_equal_but_angle(Dimension a, Dimension b);

typedef uint32_t KindId; /* 0: no kind known */
typedef uint32_t UnitId; /* 0: no unit (a bare number) */

/* A unit as written, read: value in SI = number * factor + zero. */
typedef struct Unit {
    Symbol text;
    Dimension dimension;
    double factor;
    double zero;    /* K; 273.15 for °C; 0 for all others */
    KindId kind;    /* the kind it belongs to (J: energy), or 0. Only when it stands alone, with or without prefix */
    bool has_length; /* a length is among its factors */
    bool is_point;  /* °C, °F alone */
} Unit;

typedef struct Kind {
    Symbol name;     /* torque */
    Text title;      /* Torque */
    Dimension dimension;
    UnitId unit;     /* the unit of its declaration */
    bool point;      /* a temperature point */
    uint32_t also_count;
    const UnitId *also;
    uint32_t shown_count;
    const UnitId *shown; /* rising in size; how results of this kind are shown when nobody says */
    Span span;
} Kind;

typedef struct Vocabulary Vocabulary;

Vocabulary *vocabulary_open(Arena *arena, Symbols *symbols, const Tree *tree, Messages *messages);
/* Declarations, in any order of files; each reports its own mistakes (defined twice, unknown dimension, a unit in its own
 * definition …). Units are resolved when they are first used, so order does not matter. */
void vocabulary_declare(Vocabulary *vocabulary, NodeId declaration); /* UNIT, PREFIX or KIND */
/* After all declarations: resolves and checks every kind; and every unit and prefix declared outside the standard library. */
void vocabulary_finish(Vocabulary *vocabulary);

/* Reads a unit's text, once for each different text. 0 after reporting at `span` (unknown unit, with the nearest known one;
 * malformed; prefix on a unit that takes none …). Reading the same bad text again reports again, at its own place. */
UnitId vocabulary_unit(Vocabulary *vocabulary, Symbol text, Span span);
/* The same, saying nothing: 0 when it is no unit's text. For prose, where the word after a number may be any. */
UnitId vocabulary_known_unit(Vocabulary *vocabulary, Symbol text);
const Unit *unit_of(const Vocabulary *vocabulary, UnitId unit);
/* The place of a name that stands at the end of a span: `length` of `base length`. */
Span vocabulary_name_span(const Vocabulary *vocabulary, Span span, Symbol name);
/* The one of the units a kind is shown in that examples use: the middle one, mm of µm, mm, m. */
UnitId kind_usual_unit(const Kind *kind);
KindId vocabulary_kind(const Vocabulary *vocabulary, Symbol name); /* 0: there is none */
const Kind *kind_of(const Vocabulary *vocabulary, KindId kind);
uint32_t vocabulary_kind_count(const Vocabulary *vocabulary); /* kinds are 1 … count */
/* For tests and --dump: the unit in base units, "kg·m²/s²"; ASCII never. */
Text dimension_spell(const Vocabulary *vocabulary, Arena *arena, Dimension dimension);

/* What is known about a value before it is computed. */
typedef struct Measure {
    Dimension dimension;
    KindId kind;      /* 0: not known */
    bool point;       /* a temperature point */
    bool has_length;  /* only for written numbers: the unit has a length among its factors */
    bool written;     /* a number with its unit, as written */
    bool zero;        /* only when written: the number is 0 … never accepted without its unit all the same */
} Measure;

Measure measure_number(void);                                       /* dimension one */
/* The kind to speak of when only a measure is known: its own, else the first declared one that suits it, else 0. */
KindId kind_for(const Vocabulary *vocabulary, Measure measure);
Measure measure_of_kind(const Vocabulary *vocabulary, KindId kind);
Measure measure_of_unit(const Vocabulary *vocabulary, UnitId unit); /* of a written number; unit 0: a bare number */

typedef enum Fit {
    FIT_YES,
    FIT_DIMENSION,  /* another dimension */
    FIT_ANGLE,      /* differs by a power of angle that is not forgiven: 50 Hz for a speed */
    FIT_OTHER_KIND, /* forgiven by dimension, but known to be of another kind: J for a torque */
    FIT_DIFFERENCE, /* a difference (40 K) where a point is due */
    FIT_POINT       /* a point where a difference is due */
} Fit;
/* May a value of this measure stand where this kind is due? Kinds of one exact dimension accept each other (ratio,
 * efficiency; frequency), and an unwritten dimension-one value fits any kind of dimension one. */
Fit measure_fits(const Vocabulary *vocabulary, Measure value, KindId kind);
/* Sum, difference, comparison, `if`, lesser … of two: FIT_YES and the common measure in *out (for MINUS of two points:
 * a difference; PLUS of two points: FIT_POINT). When they differ only by angle, a kind whose exact dimension is that of one
 * and which forgives the other's power reconciles them. `operation` is PLUS, MINUS, or any comparison for "meet as equals". */
Fit measure_meet(const Vocabulary *vocabulary, Operator operation, Measure a, Measure b, Measure *out);
/* Product, quotient, power. False: out of range, or a point where none may be. */
bool measure_multiply(Measure a, Measure b, Measure *out);
bool measure_divide(Measure a, Measure b, Measure *out);
bool measure_power(Measure a, int numerator, int denominator, Measure *out);

/* In a sentence: "a torque", "an energy", "a temperature difference", "a number"; without a kind, that of the first declared
 * kind with this dimension; else "a quantity in kg·m/s³". */
Text measure_words(const Vocabulary *vocabulary, Arena *arena, Measure measure);
/* An example for advice: "320 mm", "0.3 N·m", "35 °C": `number` (as written) with the kind's most usual unit. */
Text kind_example(const Vocabulary *vocabulary, Arena *arena, KindId kind, Text number);

/* ---- spelling numbers: the only place where numbers become text ---- */

enum { SPELL_DIGITS = 4, SPELL_EXACT = 12 }; /* significant digits of results; where every digit counts */

/* Shortest of `digits` significant digits, correctly rounded (ties to even on the exact binary value), trailing zeros
 * off: 0.05671, 38.4, 1200, 2.52e-5 (exponent form outside 1e-4 <= |x| < 1e6). Any locale. "-0" is "0". */
Text spell_number(Arena *arena, double number, int digits);
/* With exactly `decimals` decimals: 1.40. */
Text spell_fixed(Arena *arena, double number, int decimals);
/* How many of a unit a value in SI is; of a temperature point, above the unit's zero point. */
double number_in(const Unit *unit, double si, bool point);
/* A value in SI as "38.4 rev/s". unit 0: the largest of the kind's `shown` units in which the number is at least 1 (the
 * smallest when none; the middle one for 0), else base units. Points are shown as points (°C). */
Text spell_value(const Vocabulary *vocabulary, Arena *arena, double si, Measure measure, UnitId unit, int digits);
/* The unit that spell_value would choose for a number of this size; 0 for none. */
UnitId spell_unit(const Vocabulary *vocabulary, double si, Measure measure);
/* 0.067 as "6.7 %", two significant digits, at least one decimal below 10 %: margins. */
Text spell_share(Arena *arena, double share);

#endif
