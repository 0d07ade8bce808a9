/* The operations of signal.h on single numbers, with the same reasons for having no result. */
#ifndef TRUNNION_COMPUTE_NUMBER_H
#define TRUNNION_COMPUTE_NUMBER_H

#include <math.h>

#include "compute/signal.h"

SignalVoid number_unary(SignalUnary operation, double x, double *result);
SignalVoid number_binary(SignalBinary operation, double x, double y, double *result);
/* EQUAL and UNEQUAL take numbers as equal that differ by less than 1e-9 of the larger. */
bool number_compare(SignalCompare comparison, double x, double y);
/* How far the left side of a comparison is on the right side of its limit: what it falls below the right one (`less`) or
 * exceeds it. Less than 1e-9 of the larger is rounding, and 0. */
static inline double number_room(bool less, double left, double right) {
    double room = less ? right - left : left - right, scale = fmax(fabs(left), fabs(right));
    return fabs(room) <= 1e-9 * scale ? 0 : room;
}

#endif
