/* Where the values of a signal lie over a part of its cycle. */
#ifndef TRUNNION_COMPUTE_SIGNAL_BOUND_H
#define TRUNNION_COMPUTE_SIGNAL_BOUND_H

#include "compute/signal.h"

typedef struct SignalBounds {
    double low, high;   /* low > high: it is void all over the part */
    bool unknown, void_; /* somewhere in the part it is void: because something is unknown, for another reason */
} SignalBounds;

/* Over [from, to]: every value of the signal inside lies between low and high, rounding of its evaluation included. Pieces
 * that reach into the part by less than `near` seconds are left out. Rounding aside, the bounds are wider than the values by
 * about a thousandth of a piece's swing at most. */
SignalBounds signal_bound(Signal x, double from, double to, double near);

#endif
