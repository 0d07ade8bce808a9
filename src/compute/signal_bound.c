#include "compute/signal_bound.h"

#include <math.h>

#include "compute/signal_internal.h"

/* Cells over the angle: a series that bends by `bend` (sum of k² |c_k|) stays within width² · bend / 8 of the straight line
 * between two places, see signal_roots.c. */
static const double cell = 0.03; /* rad */

static void take(SignalBounds *bounds, double value, double slack) {
    bounds->low = fmin(bounds->low, value - slack);
    bounds->high = fmax(bounds->high, value + slack);
}

static double angle_of(double u) { return acos(fmin(fmax(1 - 2 * u, -1), 1)); }

/* u from 0 to 1 inside the piece. */
static void bound_piece(SignalBounds *bounds, const Piece *piece, double u_from, double u_to) {
    const double *v = piece->values;
    unsigned size = piece->size;
    double slack = 1e-14 * signal_magnitude(v, size);
    if (size == 1) {
        take(bounds, v[0], 0);
        return;
    }
    take(bounds, signal_interpolate(v, size, u_from), u_from == 0 ? 0 : slack);
    take(bounds, signal_interpolate(v, size, u_to), u_to == 1 ? 0 : slack);
    if (size == 2) return;
    if (size == 3) {
        double bend = v[0] - 2 * v[1] + v[2], slope = 4 * v[1] - 3 * v[0] - v[2], u = bend != 0 ? -slope / (4 * bend) : 0;
        if (u > u_from && u < u_to) take(bounds, signal_interpolate(v, size, u), slack);
        return;
    }
    double c[PIECE_SIZE_LIMIT], bend = 0, from = angle_of(u_from), to = angle_of(u_to);
    signal_coefficients(v, size, c);
    for (unsigned k = 1; k < size; k++) bend += (double)(k * k) * fabs(c[k]);
    unsigned cells = (unsigned)fmax(ceil((to - from) / cell), 1);
    double width = (to - from) / cells;
    slack = 1e-13 * signal_magnitude(v, size) + width * width * bend / 8;
    for (unsigned i = 0; i <= cells; i++) take(bounds, signal_sum_series(c, size, cos(from + i * width)), slack);
}

SignalBounds signal_bound(Signal x, double from, double to, double near) {
    SignalBounds bounds = {INFINITY, -INFINITY, false, false};
    for (uint32_t i = 0; i < x.count; i++) {
        const Piece *piece = &x.pieces[i];
        double start = fmax(piece->start, from), end = fmin(piece->end, to), length = piece->end - piece->start;
        bool inside = piece->start >= from && piece->end <= to;
        if (!(end > start) || (!inside && end - start <= near)) continue;
        if (piece->size == 0) {
            if (piece->void_reason == VOID_UNKNOWN) bounds.unknown = true;
            else bounds.void_ = true;
            continue;
        }
        double u_from = start - piece->start <= near ? 0 : (start - piece->start) / length;
        double u_to = piece->end - end <= near ? 1 : 1 - (piece->end - end) / length;
        bound_piece(&bounds, piece, u_from, u_to);
    }
    return bounds;
}
