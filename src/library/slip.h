/* How a misprint may have come about: the number that stands there and the one that would agree, and what leads from one to
 * the other. A guess, and said to be one. */
#ifndef TRUNNION_LIBRARY_SLIP_H
#define TRUNNION_LIBRARY_SLIP_H

#include "quantity/quantity.h"

typedef enum SlipKind {
    SLIP_NONE,
    SLIP_POINT,      /* the decimal point: 10 or 100 times too large or small */
    SLIP_PREFIX,     /* 1000 times: a prefix such as m or k lost or put in */
    SLIP_UNIT,       /* the number is right in another unit */
    SLIP_RECIPROCAL, /* one over the right number: rpm/V for V/rpm */
    SLIP_DIGITS,     /* two neighbouring digits exchanged */
    SLIP_TURN,       /* a turn taken for a radian, or the reverse: 2π */
    SLIP_CURRENT     /* amplitude, effective value or direct current taken for each other: √2, √1.5, √3/2 */
} SlipKind;

typedef struct Slip {
    SlipKind kind;
    double number;  /* right number in the unit that is written; in SLIP_UNIT, of `unit` */
    double times;   /* stated over right, both in the unit that is written */
    UnitId unit;    /* SLIP_UNIT and SLIP_PREFIX: the unit that would be right with the number that stands there; 0: none has a name */
    const char *root; /* SLIP_CURRENT: "√2" */
} Slip;

/* A number as it stands on a card. */
typedef struct Written {
    double number;  /* in `unit` */
    UnitId unit;
    Text digits;    /* 45.3 */
    Measure measure; /* of the field */
    KindId kind;
} Written;

enum { SLIP_MOST = 64 };

/* Every slip that leads from the written number to one near `right` (SI), the likeliest first; how many there are. A power of
 * ten is recognised within a third, what is closer to one within an eighth, and of the roots, which lie closest, the nearest. */
uint32_t slips_of(Vocabulary *vocabulary, Symbols *symbols, Arena *arena, const Written *written, double right, Slip slips[SLIP_MOST]);
/* Whether a slip speaks for itself: a large factor that hardly comes about by chance. The others fit something or other now
 * and then. */
bool slip_is_strong(const Slip *slip);
/* The right number of a slip in SI. */
double slip_value(const Vocabulary *vocabulary, const Written *written, const Slip *slip);

#endif
