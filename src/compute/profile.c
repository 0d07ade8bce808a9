#include "compute/profile.h"

/* Solves a tridiagonal system whose ends are joined, by Thomas's algorithm and the Sherman–Morrison formula.
 * lower[i]·x[i−1] + middle[i]·x[i] + upper[i]·x[i+1] = right[i], indices going round. `n` is at least 3. */
static void solve_round(Arena *arena, uint32_t n, const double *lower, const double *middle, const double *upper, const double *right, double *x) {
    double *diagonal = ARENA_ARRAY(arena, double, n), *ratio = ARENA_ARRAY(arena, double, n), *z = ARENA_ARRAY(arena, double, n);
    double gamma = -middle[0], corner_low = lower[0], corner_high = upper[n - 1];
    for (uint32_t i = 0; i < n; i++) diagonal[i] = middle[i];
    diagonal[0] -= gamma;
    diagonal[n - 1] -= corner_high * corner_low / gamma;
    for (int pass = 0; pass < 2; pass++) { /* once for the right side, once for the correction */
        double *out = pass == 0 ? x : z;
        double first = pass == 0 ? right[0] : gamma;
        double pivot = diagonal[0];
        out[0] = first / pivot;
        for (uint32_t i = 1; i < n; i++) {
            double own = pass == 0 ? right[i] : i == n - 1 ? corner_high : 0;
            ratio[i] = upper[i - 1] / pivot;
            pivot = diagonal[i] - lower[i] * ratio[i];
            out[i] = (own - lower[i] * out[i - 1]) / pivot;
        }
        for (uint32_t i = n - 1; i > 0; i--) out[i - 1] -= ratio[i] * out[i];
    }
    double share = (x[0] + corner_low * x[n - 1] / gamma) / (1 + z[0] + corner_low * z[n - 1] / gamma);
    for (uint32_t i = 0; i < n; i++) x[i] -= share * z[i];
}

Signal profile_signal(Arena *arena, const PlanProfile *profile, unsigned order) {
    uint32_t n = profile->count - 1; /* intervals, and unknowns: the end is the beginning */
    const double *t = profile->times, *y = profile->positions;
    if (order > 3) return signal_constant(arena, t[n], 0);
    double *lower = ARENA_ARRAY(arena, double, n), *middle = ARENA_ARRAY(arena, double, n), *upper = ARENA_ARRAY(arena, double, n);
    double *right = ARENA_ARRAY(arena, double, n), *bend = ARENA_ARRAY(arena, double, n), *jerk = ARENA_ARRAY(arena, double, n);
    for (uint32_t i = 0; i < n; i++) {
        uint32_t before = i == 0 ? n - 1 : i - 1;
        double h_before = t[before + 1] - t[before], h = t[i + 1] - t[i];
        lower[i] = h_before;
        middle[i] = 2 * (h_before + h);
        upper[i] = h;
        right[i] = 6 * ((y[i + 1] - y[i]) / h - (y[before + 1] - y[before]) / h_before);
    }
    solve_round(arena, n, lower, middle, upper, right, bend);
    for (uint32_t i = 0; i < n; i++) jerk[i] = (bend[i + 1 == n ? 0 : i + 1] - bend[i]) / (t[i + 1] - t[i]);
    Signal signal = signal_steps(arena, t, jerk, n);
    double h = t[1] - t[0], starts[3] = {y[0], (y[1] - y[0]) / h - h * (2 * bend[0] + bend[1]) / 6, bend[0]};
    for (unsigned o = 3; o > order; o--) signal = signal_scale(arena, signal_accumulate(arena, signal), 1, starts[o - 1]);
    return signal;
}
