/* The decimal digits of a double, correctly rounded: the ground under spelling.c.
 *
 * In:  any finite double and where to round it. Out: digits without sign, and the power of ten of the first.
 * Ties go to the even digit, judged on the exact binary value, as C's printf does under the usual rounding. */
#ifndef TRUNNION_QUANTITY_DECIMAL_H
#define TRUNNION_QUANTITY_DECIMAL_H

#include <stdbool.h>

enum {
    DECIMAL_DIGITS_MOST = 17,   /* significant digits that can be asked for */
    DECIMAL_PLACES_MOST = 17,   /* decimals that can be asked for */
    DECIMAL_ROOM = 309 + DECIMAL_PLACES_MOST + 1
};

typedef struct Decimal {
    bool negative;
    int exponent; /* of the first digit: 38.4 is 384, exponent 1 */
    int count;    /* digits; 0 for zero */
    char digits[DECIMAL_ROOM];
} Decimal;

/* Rounded to `digits` significant digits (1 … DECIMAL_DIGITS_MOST); exactly that many come back, unless it is zero. */
void decimal_significant(double number, int digits, Decimal *out);
/* Rounded to a multiple of 10^-places (0 … DECIMAL_PLACES_MOST); no digits when that gives zero. */
void decimal_fixed(double number, int places, Decimal *out);

#endif
