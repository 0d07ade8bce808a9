/* A figure as prose quotes it: "38.4 rev/s", "−1.20 N·m", "2.5e-5", "88%". What its digits are, whether a number still
 * reads so, and how it would be written now in the same manner.
 *
 * Numbers are those of the unit written, not SI: see number_in. */
#ifndef TRUNNION_QUANTITY_FIGURE_H
#define TRUNNION_QUANTITY_FIGURE_H

#include "quantity/quantity.h"

typedef struct Figure {
    Text number;     /* with its sign: −38.40 */
    Text unit;       /* the word after it, without a mark that ends a sentence; empty when there is none */
    Text rest;       /* what follows the unit: words, or a tolerance; white space off */
    int decimals;    /* digits after the point */
    int significant; /* digits from the first that is not 0; 0 for zero */
    bool power;      /* a power of ten is written: 2.5e-5 */
    bool glued;      /* the word follows without a space: 320mm, but also 3D and 2nd */
    bool comma;      /* a comma stands among the digits, so its number is not to be told */
} Figure;

enum { FIGURE_DECIMALS_MOST = 15 };

/* Whether a text begins like a figure: with a number, after which it ends, or goes on behind a space, or with a letter, %, ‰
 * or °. So "4-pin" and "3–5 mm" are none. Spaces may be narrow or not breakable; a minus may be - or −. */
bool figure_read(Text text, Figure *figure);
/* Whether this number, rounded to the digits written, is the one written. A number that lies half-way, as far as a double can
 * tell, may be rounded either way. */
bool figure_agrees(Arena *arena, const Figure *figure, double number);
/* The number with as many decimals, the same minus sign, a power of ten where one is written. Where nothing but zeros
 * would be left of it, it gets as many significant digits instead. */
Text figure_spell(Arena *arena, const Figure *figure, double number);

#endif
