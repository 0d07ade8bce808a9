/* Where a signal has no value, and why. */
#include "given_signals.h"

#define cr_void(extreme, reason)                                                                                \
    do {                                                                                                        \
        Extreme extreme_ = (extreme);                                                                           \
        cr_assert_eq(extreme_.fault, (reason), "fault %d, not %d", (int)extreme_.fault, (int)(reason));         \
        cr_assert(isnan(extreme_.value));                                                                       \
    } while (0)

Test(signal_faults, numbers_that_are_none) {
    Arena *arena = given_arena();
    cr_void(signal_mean(signal_constant(arena, 1, NAN)), VOID_OVERFLOW);
    cr_void(signal_peak(signal_constant(arena, 1, INFINITY)), VOID_OVERFLOW);
    cr_void(signal_mean(signal_constant(arena, NAN, 1)), VOID_OVERFLOW);
    cr_void(signal_mean(signal_time(arena, 0)), VOID_OVERFLOW);
    cr_void(signal_mean(signal_time(arena, -1)), VOID_OVERFLOW);
    cr_void(signal_mean(signal_scale(arena, signal_time(arena, 1), NAN, 0)), VOID_OVERFLOW);
    Signal huge = signal_constant(arena, 1, 1e100);
    cr_void(signal_mean(signal_binary(arena, SIGNAL_MULTIPLY, huge, huge)), VOID_OVERFLOW);
    cr_near_scaled(signal_rms(signal_constant(arena, 1, 1e150)).value, 1e150, 1e-15, 0);
    cr_void(signal_rms(signal_constant(arena, 1, 1.1e150)), VOID_OVERFLOW);
    cr_void(signal_maximum(signal_unary(arena, SIGNAL_EXP, huge)), VOID_OVERFLOW);
    cr_void(signal_at(signal_time(arena, 1), NAN), VOID_UNKNOWN);
    double times[] = {0, 1, 2}, values[] = {3, NAN};
    Signal steps = signal_steps(arena, times, values, 2);
    cr_void(signal_maximum(steps), VOID_OVERFLOW);
    cr_assert_eq(signal_maximum(steps).piece, 1u);
    cr_assert_eq(signal_at(steps, 0.5).value, 3.0);
    cr_assert(isnan(piece_at(&steps.pieces[1], 1.5)));
    arena_close(arena);
}

Test(signal_faults, division_by_zero) {
    Arena *arena = given_arena();
    Signal t = signal_time(arena, 1), one = signal_constant(arena, 1, 1), zero = signal_constant(arena, 1, 0);
    cr_void(signal_mean(signal_binary(arena, SIGNAL_DIVIDE, one, zero)), VOID_DIVISION);
    Signal pole = signal_binary(arena, SIGNAL_DIVIDE, one, signal_scale(arena, t, 3, -1));
    given_sound(pole, 1);
    cr_void(signal_maximum(pole), VOID_DIVISION);
    cr_near(signal_at(pole, 0.5).value, 2);
    cr_near(signal_at(pole, 0.3333).value, 1 / (3 * 0.3333 - 1));
    /* void only next to the pole, so that a switch can leave it out */
    Signal away = signal_compare(arena, SIGNAL_MORE, t, signal_constant(arena, 1, 0.34));
    Signal guarded = signal_choose(arena, away, pole, zero);
    cr_reduced(signal_maximum(guarded), 50);
    cr_reduced(signal_integral(guarded), log(2 / 0.02) / 3);
    arena_close(arena);
}

Test(signal_faults, outside_the_domain) {
    Arena *arena = given_arena();
    Signal t = signal_scale(arena, signal_time(arena, 1), 4, -1);
    Signal root = signal_unary(arena, SIGNAL_SQRT, t);
    given_sound(root, 1);
    cr_void(signal_mean(root), VOID_DOMAIN);
    cr_assert_eq(signal_at(root, 0.2).fault, VOID_DOMAIN);
    cr_near(signal_at(root, 0.5).value, 1);
    cr_near_scaled(root.pieces[0].end, 0.25, 1e-12, 1);
    Signal logarithm = signal_unary(arena, SIGNAL_LN, t);
    cr_void(signal_mean(logarithm), VOID_DOMAIN);
    cr_near(signal_at(logarithm, 0.75).value, log(2));
    cr_void(signal_mean(signal_unary(arena, SIGNAL_ASIN, t)), VOID_DOMAIN);
    cr_near(signal_at(signal_unary(arena, SIGNAL_ASIN, t), 0.3).value, asin(0.2));
    cr_near(signal_at(signal_unary(arena, SIGNAL_ACOS, t), 0.3).value, acos(0.2));
    cr_void(signal_mean(signal_binary(arena, SIGNAL_POWER, t, signal_constant(arena, 1, 0.5))), VOID_DOMAIN);
    cr_void(signal_mean(signal_binary(arena, SIGNAL_POWER, t, t)), VOID_DOMAIN);
    cr_void(signal_mean(signal_binary(arena, SIGNAL_POWER, t, signal_constant(arena, 1, -1))), VOID_DIVISION);
    cr_void(signal_mean(signal_unary(arena, SIGNAL_TAN, t)), VOID_DIVISION);
    cr_near(signal_at(signal_unary(arena, SIGNAL_TAN, t), 0.6).value, tan(1.4));
    arena_close(arena);
}

Test(signal_faults, voids_travel) {
    Arena *arena = given_arena();
    Signal unknown = signal_void(arena, 1, VOID_UNKNOWN), one = signal_constant(arena, 1, 1), t = signal_time(arena, 1);
    for (int i = SIGNAL_ADD; i <= SIGNAL_GREATER; i++) {
        cr_void(signal_mean(signal_binary(arena, (SignalBinary)i, unknown, one)), VOID_UNKNOWN);
        cr_void(signal_mean(signal_binary(arena, (SignalBinary)i, one, unknown)), VOID_UNKNOWN);
    }
    for (int i = SIGNAL_NEGATE; i <= SIGNAL_CEILING; i++) cr_void(signal_mean(signal_unary(arena, (SignalUnary)i, unknown)), VOID_UNKNOWN);
    cr_void(signal_mean(signal_scale(arena, unknown, 2, 1)), VOID_UNKNOWN);
    cr_void(signal_mean(signal_rate(arena, unknown)), VOID_UNKNOWN);
    cr_void(signal_mean(signal_lag(arena, unknown, 1)), VOID_UNKNOWN);
    cr_void(signal_share(signal_compare(arena, SIGNAL_LESS, unknown, one)), VOID_UNKNOWN);
    cr_void(signal_share(signal_not(arena, unknown)), VOID_UNKNOWN);
    double times[] = {0, 0.5, 1}, values[] = {1, NAN};
    Signal half = signal_steps(arena, times, values, 2), sum = signal_accumulate(arena, half);
    cr_near(signal_at(sum, 0.4).value, 0.4);
    cr_assert_eq(signal_at(sum, 0.7).fault, VOID_OVERFLOW);
    cr_void(signal_mean(signal_lag(arena, half, 1)), VOID_OVERFLOW);
    cr_assert_eq(signal_at(signal_binary(arena, SIGNAL_ADD, half, t), 0.25).value, 1.25);
    arena_close(arena);
}

Test(signal_faults, truth_decides_where_it_can) {
    Arena *arena = given_arena();
    Signal unknown = signal_void(arena, 1, VOID_UNKNOWN), yes = signal_constant(arena, 1, 1), no = signal_constant(arena, 1, 0);
    cr_reduced(signal_share(signal_and(arena, no, unknown)), 0);
    cr_reduced(signal_share(signal_and(arena, unknown, no)), 0);
    cr_reduced(signal_share(signal_or(arena, yes, unknown)), 1);
    cr_reduced(signal_share(signal_or(arena, unknown, yes)), 1);
    cr_void(signal_share(signal_and(arena, yes, unknown)), VOID_UNKNOWN);
    cr_void(signal_share(signal_or(arena, unknown, no)), VOID_UNKNOWN);
    cr_reduced(signal_mean(signal_choose(arena, yes, signal_constant(arena, 1, 7), unknown)), 7);
    cr_void(signal_mean(signal_choose(arena, no, yes, unknown)), VOID_UNKNOWN);
    cr_void(signal_mean(signal_choose(arena, unknown, yes, yes)), VOID_UNKNOWN);
    arena_close(arena);
}

Test(signal_faults, a_lag_without_a_time_constant) {
    Arena *arena = given_arena();
    Signal one = signal_constant(arena, 1, 1);
    cr_void(signal_mean(signal_lag(arena, one, 0)), VOID_DOMAIN);
    cr_void(signal_mean(signal_lag(arena, one, -1)), VOID_DOMAIN);
    cr_void(signal_mean(signal_lag(arena, one, NAN)), VOID_DOMAIN);
    cr_void(signal_mean(signal_lag_from(arena, one, 1, NAN)), VOID_OVERFLOW);
    arena_close(arena);
}

Test(signal_faults, more_pieces_than_are_allowed) {
    Arena *arena = given_arena();
    Signal t = signal_time(arena, 1);
    cr_void(signal_mean(signal_unary(arena, SIGNAL_FLOOR, signal_scale(arena, t, 1e5, 0))), VOID_PIECES);
    cr_void(signal_mean(signal_unary(arena, SIGNAL_SIN, signal_scale(arena, t, 1e7, 0))), VOID_PIECES);
    cr_void(signal_mean(signal_unary(arena, SIGNAL_TAN, signal_scale(arena, t, 1e12, 0))), VOID_PIECES);
    Signal many = signal_unary(arena, SIGNAL_FLOOR, signal_scale(arena, t, SIGNAL_PIECE_LIMIT - 2, 0));
    cr_reduced(signal_maximum(many), SIGNAL_PIECE_LIMIT - 3);
    cr_assert_eq(many.count, (uint32_t)SIGNAL_PIECE_LIMIT - 2);
    arena_close(arena);
}

/* ---- functions of one's own ---- */

static SignalVoid table(void *context, double x, double *y) {
    const double *ends = context;
    if (x < ends[0] || x > ends[1]) return VOID_TABLE;
    *y = x < 0.5 ? 2 * x : 1.5 - x; /* a kink at 0.5 */
    return VOID_NONE;
}

Test(signal_faults, a_table_with_a_kink_and_two_ends) {
    Arena *arena = given_arena();
    double ends[2] = {0, 1}, breaks[3] = {0, 0.5, 1};
    Signal x = signal_time(arena, 1), y = signal_map(arena, x, table, ends, breaks, 3);
    cr_assert_eq(y.count, 2u);
    cr_assert_eq(y.pieces[0].size, 2);
    cr_reduced(signal_maximum(y), 1);
    cr_reduced(signal_integral(y), 0.25 + 0.375);
    Signal wide = signal_map(arena, signal_scale(arena, x, 2, -0.5), table, ends, breaks, 3);
    given_sound(wide, 1);
    cr_assert_eq(wide.count, 4u);
    cr_void(signal_mean(wide), VOID_TABLE);
    cr_assert_eq(signal_maximum(wide).piece, 0u);
    cr_assert_eq(signal_at(wide, 0.9).fault, VOID_TABLE);
    cr_near(signal_at(wide, 0.7).value, 0.6);
    cr_near_scaled(wide.pieces[0].end, 0.25, 1e-14, 1);
    cr_void(signal_mean(signal_map(arena, signal_constant(arena, 1, 2), table, ends, breaks, 3)), VOID_TABLE);
    arena_close(arena);
}

/* The argument turns back exactly on the kink, in the middle of its piece, from either side. */
Test(signal_faults, a_kink_that_is_only_touched) {
    Arena *arena = given_arena();
    double ends[2] = {0, 1}, breaks[3] = {0, 0.5, 1};
    Signal t = signal_time(arena, 1), dip = signal_binary(arena, SIGNAL_MULTIPLY, t, signal_scale(arena, t, -1, 1));
    Signal below = signal_map(arena, signal_scale(arena, dip, 2, 0), table, ends, breaks, 3);
    cr_near(signal_integral(below).value, 2.0 / 3);
    Signal above = signal_map(arena, signal_scale(arena, dip, -2, 1), table, ends, breaks, 3);
    cr_near(signal_integral(above).value, 0.5 + 1.0 / 3);
    Signal floor = signal_unary(arena, SIGNAL_FLOOR, signal_scale(arena, dip, 4, 0));
    cr_reduced(signal_mean(floor), 0);
    arena_close(arena);
}

Test(signal_faults, an_undeclared_kink_is_closed_in_on) {
    Arena *arena = given_arena();
    double ends[2] = {0, 1};
    Signal y = signal_map(arena, signal_scale(arena, signal_time(arena, 1), 0.9, 0.03), table, ends, NULL, 0);
    given_sound(y, 1);
    cr_assert_lt(y.count, 100u);
    cr_near(signal_integral(y).value, (0.5 * 0.5 - 0.03 * 0.03 + 1.5 * 0.43 - 0.5 * (0.93 * 0.93 - 0.25)) / 0.9);
    arena_close(arena);
}

static SignalVoid noise(void *context, double x, double *y) {
    uint64_t *state = context;
    *y = x + 1e-3 * given_number(state);
    return VOID_NONE;
}

Test(signal_faults, a_function_without_any_smoothness_ends_too) {
    Arena *arena = given_arena();
    uint64_t state = 9;
    Signal y = signal_map(arena, signal_time(arena, 1), noise, &state, NULL, 0);
    cr_void(signal_mean(y), VOID_PIECES);
    arena_close(arena);
}

Test(signal_faults, singular_at_an_end) {
    Arena *arena = given_arena();
    Signal t = signal_time(arena, 1);
    cr_near(signal_integral(signal_unary(arena, SIGNAL_SQRT, t)).value, 2.0 / 3);
    cr_near(signal_integral(signal_unary(arena, SIGNAL_CBRT, signal_scale(arena, t, 2, -1))).value, 0);
    cr_near_scaled(signal_integral(signal_unary(arena, SIGNAL_ASIN, t)).value, PI / 2 - 1, 1e-10, 1);
    cr_near(signal_integral(signal_binary(arena, SIGNAL_POWER, t, signal_constant(arena, 1, 1.5))).value, 0.4);
    cr_near(signal_integral(signal_binary(arena, SIGNAL_POWER, t, signal_constant(arena, 1, 2.5))).value, 1 / 3.5);
    Signal base = signal_scale(arena, t, 1, 1); /* (1 + t)^t; reference by adaptive quadrature */
    cr_near(signal_at(signal_binary(arena, SIGNAL_POWER, base, t), 0.5).value, sqrt(1.5));
    Signal folded = signal_unary(arena, SIGNAL_ACOS, signal_unary(arena, SIGNAL_COS, signal_scale(arena, t, 3 * PI, 0)));
    cr_near_scaled(signal_integral(folded).value, PI / 2, 1e-9, 1);
    arena_close(arena);
}
