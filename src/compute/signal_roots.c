/* Where a signal crosses a level.
 *
 * Pieces of size 2 and 3 have closed forms. For larger ones the angle phi (xi = cos phi) is walked through in cells; a
 * cell of width h, in which the function bends by at most M, stays within h^2 M / 8 of the straight line between its ends,
 * which settles most cells at once, and the rest after being halved a few times. A root is then bracketed by two points
 * that are clearly on opposite sides, and refined by Newton's method kept inside the bracket. */
#include "compute/signal_internal.h"

#include <math.h>
#include <string.h>

enum { HALVING_LIMIT = 26, REFINING_LIMIT = 100 };

void signal_series(SignalSeries *series, const double *values, unsigned size) {
    series->size = size;
    series->prepared = false;
    series->swing = series->bend = 0;
    memcpy(series->value, values, size * sizeof *values);
    if (size <= 3) return;
    signal_coefficients(values, size, series->coefficient);
    for (unsigned k = 0; k < size; k++) {
        series->curvature[k] = (double)(k * k) * series->coefficient[k];
        series->bend += fabs(series->curvature[k]);
        if (k) series->swing += fabs(series->coefficient[k]);
    }
}

typedef struct Walk {
    const SignalSeries *series;
    double level, band;
    int sign;            /* of the last point clearly off the level; 0: none yet */
    double u, value;     /* that point */
    double zero_u, zero; /* the point nearest to the level since then; zero < 0: none */
    SignalCrossings *out;
} Walk;

static int sign_of(const Walk *walk, double value) {
    return value > walk->band ? 1 : value < -walk->band ? -1 : 0;
}

/* Value and slope over u of the series less the level. */
static double slope_at(const Walk *walk, double u, double *slope) {
    const double *c = walk->series->coefficient;
    double xi = 1 - 2 * u, b1 = 0, b2 = 0, d1 = 0, d2 = 0;
    for (unsigned k = walk->series->size - 1; k >= 1; k--) {
        double d = 2 * xi * d1 - d2 + 2 * b1, b = 2 * xi * b1 - b2 + c[k];
        d2 = d1;
        d1 = d;
        b2 = b1;
        b1 = b;
    }
    *slope = -2 * (b1 + xi * d1 - d2);
    return xi * b1 - b2 + c[0] - walk->level;
}

static double refine(const Walk *walk, double low, double at_low, double high, double at_high) {
    double u = low + (high - low) * (at_low / (at_low - at_high)), width = high - low;
    for (int i = 0; i < REFINING_LIMIT; i++) {
        double slope, value, next;
        if (!(u > low && u < high)) u = 0.5 * (low + high);
        value = slope_at(walk, u, &slope);
        if (value == 0) return u;
        if ((value > 0) == (at_low > 0))
            low = u;
        else
            high = u;
        next = u - value / slope;
        if (fabs(next - u) <= SIGNAL_EPSILON * u && next >= low && next <= high) return next;
        if (high - low <= SIGNAL_EPSILON * high) break;
        /* Newton's method that does not halve the bracket in three steps is helped by a bisection. */
        if (i % 3 == 2 && high - low > 0.5 * width) next = 0.5 * (low + high);
        if (i % 3 == 2) width = high - low;
        u = next;
    }
    return 0.5 * (low + high);
}

static double root_between(const Walk *walk, double u, double value) {
    unsigned size = walk->series->size;
    if (size == 2) return walk->u + (u - walk->u) * (walk->value / (walk->value - value));
    if (size == 3) {
        const double *v = walk->series->value;
        double a = 2 * v[0] - 4 * v[1] + 2 * v[2], b = 4 * v[1] - 3 * v[0] - v[2], c = v[0] - walk->level;
        double root = sqrt(fmax(b * b - 4 * a * c, 0)), q = -0.5 * (b + (b < 0 ? -root : root));
        double one = q != 0 ? c / q : 0, other = a != 0 ? q / a : one, middle = 0.5 * (walk->u + u);
        double best = fabs(one - middle) <= fabs(other - middle) ? one : other;
        return fmin(fmax(best, walk->u), u);
    }
    return refine(walk, walk->u, walk->value, u, value);
}

/* Where the series turns back, between two points on the same side of the level. */
static double turn_between(const Walk *walk, double high, int sign) {
    double low = walk->u, slope;
    if (walk->series->size <= 3) return walk->zero_u;
    for (int i = 0; i < 60 && high - low > SIGNAL_EPSILON * high; i++) {
        double middle = 0.5 * (low + high);
        slope_at(walk, middle, &slope);
        if (slope * sign < 0)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

static void visit(Walk *walk, double u, double value) {
    SignalCrossings *out = walk->out;
    int sign = sign_of(walk, value);
    if (sign == 0) {
        if (walk->sign && (walk->zero < 0 || fabs(value) < walk->zero)) {
            walk->zero = fabs(value);
            walk->zero_u = u;
        }
        return;
    }
    if (walk->sign == 0)
        out->first = sign;
    else if (sign != walk->sign && out->count < CROSSING_LIMIT)
        out->u[out->count++] = root_between(walk, u, value);
    else if (sign == walk->sign && walk->zero >= 0 && out->touches < CROSSING_LIMIT)
        out->touch[out->touches++] = turn_between(walk, u, sign);
    walk->sign = sign;
    walk->u = u;
    walk->value = value;
    walk->zero = -1;
}

typedef struct CellEnd {
    double phi, value, curvature;
} CellEnd;

static CellEnd evaluate(const Walk *walk, double phi) {
    const double *c = walk->series->coefficient, *d = walk->series->curvature;
    double xi = cos(phi), b1 = 0, b2 = 0, d1 = 0, d2 = 0;
    for (unsigned k = walk->series->size - 1; k >= 1; k--) {
        double b = 2 * xi * b1 - b2 + c[k], e = 2 * xi * d1 - d2 + d[k];
        b2 = b1;
        b1 = b;
        d2 = d1;
        d1 = e;
    }
    return (CellEnd){phi, xi * b1 - b2 + c[0] - walk->level, fabs(xi * d1 - d2 + d[0])};
}

/* How the series leaves one of its ends, over x = the square of the angle from there: f = f(0) + at[0] x + at[1] x^2 + at[2] x^3,
 * and no more than at[3] x^4 from that. (A cosine series has no odd powers.) */
typedef struct EndShape {
    double at[4];
    bool last; /* of the two ends */
} EndShape;

static EndShape shape_at_end(const SignalSeries *series, bool last) {
    EndShape shape = {.last = last};
    for (unsigned k = 1; k < series->size; k++) {
        double c = last && k % 2 ? -series->coefficient[k] : series->coefficient[k], square = (double)k * k, fourth = square * square;
        shape.at[0] -= square * c / 2;
        shape.at[1] += fourth * c / 24;
        shape.at[2] -= fourth * square * c / 720;
        shape.at[3] += fourth * fourth * fabs(c) / 40320;
    }
    return shape;
}

/* From an end that lies on the level, the series moves away in the direction `sign` and does not turn back, up to `angle`: the
 * first power that counts for anything outweighs what the later ones can take from its slope. */
static bool leaves_for_good(const Walk *walk, const EndShape *shape, double angle, int sign) {
    double x = angle * angle, power = x, moved[3];
    for (int i = 0; i < 3; i++, power *= x) moved[i] = sign * shape->at[i] * power;
    double rest = 4 * shape->at[3] * power;
    int first = 0;
    while (first < 3 && fabs(moved[first]) <= 0.125 * walk->band) first++;
    if (first == 3) return false;
    for (int i = first + 1; i < 3; i++) rest += moved[i] < 0 ? -(i + 1) * moved[i] : 0;
    return (first + 1) * moved[first] > rest;
}

/* Visits enough points between the two ends that no crossing is missed. `bend` bounds the curvature. `shape`: when one of the
 * ends is an end of the series, and lies on the level; halving would come near it only step by step. */
static void walk_cell(Walk *walk, const CellEnd *a, const CellEnd *b, double bend, const EndShape *shape, int depth) {
    double h = b->phi - a->phi, reach = h * h * bend / 8;
    int sign = sign_of(walk, a->value);
    if (sign && sign == sign_of(walk, b->value) && fmin(fabs(a->value), fabs(b->value)) > reach) return;
    if (fabs(b->value - a->value) > 4 * reach) return; /* rises or falls throughout */
    if (!(reach > 0.25 * walk->band) || depth >= HALVING_LIMIT) return;
    if (shape != NULL) {
        int away = shape->last ? sign : sign_of(walk, b->value);
        if (away != 0 && leaves_for_good(walk, shape, h, away)) return;
    }
    CellEnd middle = evaluate(walk, a->phi + 0.5 * h);
    double half = sin(0.5 * middle.phi);
    double left = fmin(bend, fmax(2 * fmax(a->curvature, middle.curvature), 0.25 * bend));
    double right = fmin(bend, fmax(2 * fmax(b->curvature, middle.curvature), 0.25 * bend));
    walk_cell(walk, a, &middle, left, shape && !shape->last ? shape : NULL, depth + 1);
    visit(walk, half * half, middle.value);
    walk_cell(walk, &middle, b, right, shape && shape->last ? shape : NULL, depth + 1);
}

static void walk_series(Walk *walk, SignalSeries *series) {
    unsigned n = series->size - 1, stride = 64 / n;
    double h = 3.14159265358979323846 / n, nearest = INFINITY;
    bool above = false, below = false;
    for (unsigned j = 0; j <= n; j++) {
        double value = series->value[j] - walk->level;
        nearest = fmin(nearest, fabs(value));
        above |= value > 0;
        below |= value < 0;
    }
    walk->u = 0;
    visit(walk, 0, series->value[0] - walk->level);
    if (above != below && nearest > walk->band && nearest > h * h * series->bend / 8) return;
    if (!series->prepared) {
        signal_values(series->curvature, series->size, series->curvature_value);
        series->prepared = true;
    }
    const double *curvature = series->curvature_value;
    for (unsigned j = 0; j < n; j++) {
        CellEnd a = {h * j, series->value[j] - walk->level, fabs(curvature[j])};
        CellEnd b = {h * (j + 1), series->value[j + 1] - walk->level, fabs(curvature[j + 1])};
        double around = fmax(fmax(a.curvature, b.curvature),
                             fmax(fabs(curvature[j ? j - 1 : 1]), fabs(curvature[j + 2 <= n ? j + 2 : n - 1])));
        bool on_level = (j == 0 && sign_of(walk, a.value) == 0) || (j + 1 == n && sign_of(walk, b.value) == 0);
        EndShape shape;
        if (on_level) shape = shape_at_end(series, j + 1 == n);
        walk_cell(walk, &a, &b, fmin(series->bend, 3 * around + 0.05 * series->bend), on_level ? &shape : NULL, 0);
        visit(walk, signal_points[(j + 1) * stride], b.value);
    }
}

/* Roots next to an end are the end, and two that coincide are none. */
static void drop_near(SignalCrossings *crossings, double margin) {
    uint32_t kept = 0, first = 0, count = crossings->count;
    while (first < count && crossings->u[first] <= margin) {
        first++;
        crossings->first = -crossings->first;
    }
    while (count > first && crossings->u[count - 1] >= 1 - margin) count--;
    for (uint32_t i = first; i < count; i++) {
        if (kept && crossings->u[i] - crossings->u[kept - 1] <= margin)
            kept--;
        else
            crossings->u[kept++] = crossings->u[i];
    }
    crossings->count = kept;
    kept = 0;
    for (uint32_t i = 0; i < crossings->touches; i++)
        if (crossings->touch[i] > margin && crossings->touch[i] < 1 - margin) crossings->touch[kept++] = crossings->touch[i];
    crossings->touches = kept;
}

void signal_cross(SignalSeries *series, double level, double band, double margin, SignalCrossings *crossings) {
    const double *v = series->value;
    Walk walk = {.series = series, .level = level, .zero = -1, .out = crossings};
    walk.band = fmax(band, 4 * SIGNAL_EPSILON * signal_magnitude(v, series->size)); /* below that it is all rounding */
    crossings->first = 0;
    crossings->count = crossings->touches = 0;
    if (series->size > 3) {
        walk_series(&walk, series);
    } else {
        visit(&walk, 0, v[0] - level);
        if (series->size == 3) {
            double bend = v[0] - 2 * v[1] + v[2], slope = 4 * v[1] - 3 * v[0] - v[2];
            double u = bend != 0 ? -slope / (4 * bend) : 0;
            if (u > 0 && u < 1) visit(&walk, u, signal_interpolate(v, 3, u) - level);
        }
        if (series->size > 1) visit(&walk, 1, v[series->size - 1] - level);
    }
    drop_near(crossings, margin);
}

/* ---- crossings of a whole signal ---- */

typedef struct CrossingList {
    Arena *arena;
    double *times;
    uint32_t count, room;
    double near;
} CrossingList;

static void add_time(CrossingList *list, double time) {
    if (list->count && time - list->times[list->count - 1] <= list->near) return;
    if (list->count == list->room) {
        list->times = arena_grow(list->arena, list->times, list->room * sizeof *list->times, 2 * list->room * sizeof *list->times);
        list->room *= 2;
    }
    list->times[list->count++] = time;
}

/* Side on which a piece meets a break: its sign there, 0 on the level; 2 when the piece has none, being void or level. */
static int side_at(const Piece *piece, bool at_start, double level, double band) {
    if (piece->size == 0) return 2;
    bool flat = true;
    for (unsigned j = 0; j < piece->size; j++) flat &= fabs(piece->values[j] - level) <= band;
    if (flat) return 2;
    double value = piece->values[at_start ? 0 : piece->size - 1] - level;
    return value > band ? 1 : value < -band ? -1 : 0;
}

uint32_t signal_crossings(Arena *arena, Signal x, double level, double **times) {
    double duration = signal_duration(x), band = SIGNAL_ZERO_BAND * fmax(signal_scale_of(x), fabs(level));
    CrossingList list = {arena, arena_take_raw(arena, 16 * sizeof(double)), 0, 16, SIGNAL_BREAK_TOLERANCE * duration};
    for (uint32_t i = 0; i < x.count; i++) {
        const Piece *piece = &x.pieces[i];
        double length = piece->end - piece->start;
        if (i) {
            int before = side_at(piece - 1, false, level, band), after = side_at(piece, true, level, band);
            if (before != 2 && after != 2 && (before * after < 0 || before == 0 || after == 0)) add_time(&list, piece->start);
        }
        if (piece->size < 2) continue;
        SignalSeries series;
        SignalCrossings found;
        signal_series(&series, piece->values, piece->size);
        signal_cross(&series, level, band, list.near / length, &found);
        for (uint32_t a = 0, b = 0; a < found.count || b < found.touches;) {
            bool cross = b == found.touches || (a < found.count && found.u[a] < found.touch[b]);
            add_time(&list, piece->start + length * (cross ? found.u[a++] : found.touch[b++]));
        }
    }
    *times = list.times;
    return list.count;
}
