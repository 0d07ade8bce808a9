/* A motion from a table: the cubic spline through its rows that repeats with the cycle.
 *
 * Of all curves through the rows whose speed and acceleration are continuous it is the one that bends least; its jerk is
 * constant between rows. Source: C. de Boor, A Practical Guide to Splines, chapter IV (periodic end conditions). */
#ifndef TRUNNION_COMPUTE_PROFILE_H
#define TRUNNION_COMPUTE_PROFILE_H

#include "compute/signal.h"
#include "plan/program.h"

/* Position (order 0), speed, acceleration, jerk; zero above. At least 4 rows. Linear in their number. */
Signal profile_signal(Arena *arena, const PlanProfile *profile, unsigned order);

#endif
