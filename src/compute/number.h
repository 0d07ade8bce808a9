/* The operations of signal.h on single numbers, with the same reasons for having no result. */
#ifndef TRUNNION_COMPUTE_NUMBER_H
#define TRUNNION_COMPUTE_NUMBER_H

#include "compute/signal.h"

SignalVoid number_unary(SignalUnary operation, double x, double *result);
SignalVoid number_binary(SignalBinary operation, double x, double y, double *result);
/* EQUAL and UNEQUAL take numbers as equal that differ by less than 1e-9 of the larger. */
bool number_compare(SignalCompare comparison, double x, double y);

#endif
