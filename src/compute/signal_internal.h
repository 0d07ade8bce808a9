/* What the files of the signal engine share; nothing outside signal*.c and range_*.c includes it.
 *
 * Inside a piece, u runs from 0 (start) to 1 (end). The points of size n = N + 1 are u_j = (1 - cos(pi j / N)) / 2, and
 * the same polynomial as a Chebyshev series is the sum of c_k T_k(xi), xi = 1 - 2u: so xi is +1 at the start.
 * Values are kept, series are computed where needed. */
#ifndef TRUNNION_COMPUTE_SIGNAL_INTERNAL_H
#define TRUNNION_COMPUTE_SIGNAL_INTERNAL_H

#include "compute/signal.h"

extern const double signal_cosines[128];
extern const double signal_points[65];
extern const double signal_odd_cosines[32][32];

#define SIGNAL_EPSILON 2.220446049250313e-16
#define SIGNAL_BREAK_TOLERANCE 1e-12 /* of the duration: breaks nearer than this are one */
#define SIGNAL_ZERO_BAND 1e-13       /* of the scale: what stays inside is zero */
#define SIGNAL_LARGEST 1e150         /* what is larger is no number: so squares and transforms stay finite */
#define SIGNAL_SHORTEST 1e-9         /* of the duration: shorter pieces are not split to resolve a function */

/* ---- sizes, points, transforms (signal_piece.c) ---- */

/* The smallest size of the ladder that is at least `points`; PIECE_SIZE_LIMIT when none is. */
unsigned signal_ladder(unsigned points);
/* out[k] = sum over j of in[j] cos(pi j k / N), first and last halved; size = N + 1 >= 2. */
void signal_transform(const double *in, unsigned size, double *out);
void signal_coefficients(const double *values, unsigned size, double *coefficients);
void signal_values(const double *coefficients, unsigned size, double *values);
/* Series of the derivative over u: as many coefficients, the last one 0. */
void signal_derivative(const double *coefficients, unsigned size, double *derivative);
double signal_sum_series(const double *coefficients, unsigned size, double xi);
/* The polynomial through `values`, at u. */
double signal_interpolate(const double *values, unsigned size, double u);
/* The same at many places at once, to the last bit. */
void signal_interpolate_all(const double *values, unsigned size, const double *u, unsigned count, double *out);
/* The largest magnitude. */
double signal_magnitude(const double *values, unsigned size);
double signal_scale_of(Signal x);
/* The smallest size that holds the values to `tolerance` (absolute). */
unsigned signal_fit(const double *values, unsigned size, double tolerance);
/* Values at the points of another size on [start, end] inside the piece; within `near` (s) of the piece's ends counts as
 * the end. The piece must not be void. */
void signal_resample(const Piece *piece, double start, double end, double near, unsigned size, double *out);
double signal_point(double start, double end, unsigned size, unsigned j);

/* ---- growing a result (signal_piece.c) ---- */

typedef struct SignalBuilder {
    Arena *arena;
    double duration, near; /* s; near: breaks closer than this are one */
    Piece *at;
    uint32_t count, room;
    bool full; /* too many pieces */
} SignalBuilder;

SignalBuilder signal_builder(Arena *arena, double duration, uint32_t room);
/* Copies the values, reduced to the smallest size that holds them to `tolerance` (negative: as they are). Values that are
 * not finite, or beyond SIGNAL_LARGEST, make the piece void. */
void signal_push(SignalBuilder *builder, double start, double end, const double *values, unsigned size, double tolerance);
void signal_push_void(SignalBuilder *builder, double start, double end, SignalVoid reason);
/* A constant that joins the piece before when that holds the same. */
void signal_push_joined(SignalBuilder *builder, double start, double end, double value);
/* The part [start, end] of a piece, also of a void one. */
void signal_push_part(SignalBuilder *builder, double start, double end, const Piece *piece);
Signal signal_finish(SignalBuilder *builder);

/* ---- two signals side by side (signal_piece.c) ---- */

typedef struct SignalPair {
    Signal x, y;
    uint32_t i, j;       /* next pieces */
    double at, end, near;
    const Piece *px, *py; /* the pieces of the present interval */
    double start, stop;  /* the present interval */
} SignalPair;

SignalPair signal_pair(Signal x, Signal y);
/* Goes to the next interval in which neither has a break; false at the end. */
bool signal_pair_next(SignalPair *pair);
/* The void that the present interval must be, or VOID_NONE. */
SignalVoid signal_pair_fault(const SignalPair *pair);

/* ---- crossings (signal_roots.c) ---- */

enum { CROSSING_LIMIT = 128 };

typedef struct SignalSeries {
    unsigned size;
    double value[PIECE_SIZE_LIMIT], coefficient[PIECE_SIZE_LIMIT];
    double curvature[PIECE_SIZE_LIMIT];       /* coefficients of the second derivative over the angle, negated */
    double curvature_value[PIECE_SIZE_LIMIT];
    double swing, bend;                        /* sum of |c_k|, k > 0; sum of k^2 |c_k| */
    bool prepared;                             /* curvature_value is computed */
} SignalSeries;

typedef struct SignalCrossings {
    int first; /* sign before the first root: -1 or +1; 0: equal to the level throughout */
    uint32_t count, touches;
    double u[CROSSING_LIMIT];       /* where the sign changes, rising */
    double touch[CROSSING_LIMIT];   /* where the level is touched and not crossed */
} SignalCrossings;

void signal_series(SignalSeries *series, const double *values, unsigned size);
/* Crossings of the level. Less than `band` from it counts as on it; roots less than `margin` (in u) from an end count as
 * the end, and roots that close together cancel. */
void signal_cross(SignalSeries *series, double level, double band, double margin, SignalCrossings *crossings);
/* Sign in the k-th interval between the roots. */
static inline int signal_crossing_sign(const SignalCrossings *crossings, uint32_t k) {
    return k % 2 ? -crossings->first : crossings->first;
}

/* ---- functions resolved by sampling (signal_adapt.c) ---- */

typedef SignalVoid SignalSample(void *context, double x, double y, double *result);

typedef struct SignalSampler {
    SignalSample *function;
    void *context;
    double scale_x, scale_y; /* magnitudes that the operands' rounding errors go by */
} SignalSampler;

/* Pushes function(x, y) over [start, end]; y may be NULL. Neither may be void. */
void signal_adapt(SignalBuilder *builder, const SignalSampler *sampler, double start, double end, const Piece *x,
                  const Piece *y);

/* ---- the longer operations, each over one interval of a pair ---- */

void signal_divide_part(SignalBuilder *builder, double start, double end, const Piece *x, const Piece *y, double band_y);
void signal_power_part(SignalBuilder *builder, double start, double end, const Piece *x, const Piece *y, double band_x);
void signal_atan2_part(SignalBuilder *builder, double start, double end, const Piece *y, const Piece *x, double band_y,
                       double band_x);

#endif
