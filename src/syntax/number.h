/* Decimal text to a number; see quantity/spelling for the way back. */
#ifndef TRUNNION_SYNTAX_NUMBER_H
#define TRUNNION_SYNTAX_NUMBER_H

#include "base/text.h"

/* The number in a decimal text of digits, point and exponent, without sign, correctly rounded; infinite when too large. */
double number_read(Text text);

#endif
