/* Crossing times, magnitudes, signs, steps, comparing and switching. */
#include "given_signals.h"

static Signal wave(Arena *arena, double turns) {
    return signal_unary(arena, SIGNAL_SIN, signal_scale(arena, signal_time(arena, 1), 2 * PI * turns, 0));
}

Test(signal_crossing, a_line_crosses_where_it_should) {
    Arena *arena = given_arena();
    double *times;
    cr_assert_eq(signal_crossings(arena, signal_scale(arena, signal_time(arena, 3), 2, -1), 0.4, &times), 1u);
    cr_near_scaled(times[0], 0.7, 1e-15, 1);
    cr_assert_eq(signal_crossings(arena, signal_time(arena, 3), 3, &times), 0u, "the end is not inside");
    arena_close(arena);
}

Test(signal_crossing, a_parabola_crosses_twice_touches_once_or_not_at_all) {
    Arena *arena = given_arena();
    double *times;
    Signal t = signal_time(arena, 1), x = signal_binary(arena, SIGNAL_MULTIPLY, t, signal_scale(arena, t, -4, 4));
    cr_assert_eq(signal_crossings(arena, x, 0.75, &times), 2u);
    cr_near_scaled(times[0], 0.25, 1e-15, 1);
    cr_near_scaled(times[1], 0.75, 1e-15, 1);
    cr_assert_eq(signal_crossings(arena, x, 1, &times), 1u);
    cr_near_scaled(times[0], 0.5, 1e-7, 1);
    cr_assert_eq(signal_crossings(arena, x, 1.001, &times), 0u);
    arena_close(arena);
}

Test(signal_crossing, every_root_of_a_wave) {
    Arena *arena = given_arena();
    double *times;
    for (int turns = 1; turns <= 12; turns++) {
        Signal x = wave(arena, turns + 0.25);
        uint32_t count = signal_crossings(arena, x, 0.5, &times);
        cr_assert_eq(count, (uint32_t)(2 * turns + 1), "%u crossings in %d turns", count, turns);
        for (uint32_t k = 0; k < count; k++) {
            double angle = k % 2 ? 2 * PI * (k / 2) + 5 * PI / 6 : 2 * PI * (k / 2) + PI / 6;
            cr_near_scaled(times[k], angle / (2 * PI * (turns + 0.25)), 1e-14, 1);
        }
    }
    arena_close(arena);
}

/* Chebyshev polynomials have all their roots inside, crowded at the ends. */
Test(signal_crossing, every_root_of_a_polynomial) {
    Arena *arena = given_arena();
    Signal x = signal_scale(arena, signal_time(arena, 1), 2, -1), before = signal_constant(arena, 1, 1), t = x;
    double *times;
    for (int degree = 2; degree <= 40; degree++) {
        Signal next = signal_binary(arena, SIGNAL_SUBTRACT, signal_scale(arena, signal_binary(arena, SIGNAL_MULTIPLY, x, t), 2, 0), before);
        before = t;
        t = next;
        cr_assert_eq(t.count, 1u);
        uint32_t count = signal_crossings(arena, t, 0, &times);
        cr_assert_eq(count, (uint32_t)degree, "%u roots of degree %d", count, degree);
        for (int k = 0; k < degree; k++) cr_near_scaled(times[k], 0.5 - 0.5 * cos(PI * (k + 0.5) / degree), 1e-12, 1);
    }
    arena_close(arena);
}

Test(signal_crossing, two_roots_between_the_points_are_found) {
    Arena *arena = given_arena();
    double *times, roots[4] = {0.301, 0.302, 0.61, 0.6101};
    Signal t = signal_time(arena, 1), x = signal_constant(arena, 1, 1);
    for (int i = 0; i < 4; i++) x = signal_binary(arena, SIGNAL_MULTIPLY, x, signal_scale(arena, t, 1, -roots[i]));
    cr_assert_eq(signal_crossings(arena, signal_scale(arena, x, 1e6, 0), 0, &times), 4u);
    for (int i = 0; i < 4; i++) cr_near_scaled(times[i], roots[i], 1e-10, 1);
    arena_close(arena);
}

Test(signal_crossing, a_root_on_a_break_counts_once_and_a_jump_across_counts) {
    Arena *arena = given_arena();
    double *times, at[] = {0, 1, 2, 3}, values[] = {-1, 1, 2};
    Signal t = signal_scale(arena, signal_time(arena, 1), 1, 0), parts[2] = {t, t};
    double scale[] = {1, 1}, offset[] = {-1, 0}, length[] = {1, 1};
    Signal line = signal_chain(arena, parts, scale, offset, length, 2);
    cr_assert_eq(signal_crossings(arena, line, 0, &times), 1u);
    cr_assert_eq(times[0], 1.0);
    cr_assert_eq(signal_crossings(arena, signal_steps(arena, at, values, 3), 0, &times), 1u);
    cr_assert_eq(times[0], 1.0);
    cr_assert_eq(signal_crossings(arena, signal_constant(arena, 1, 5), 5, &times), 0u, "level throughout has none");
    arena_close(arena);
}

Test(signal_crossing, magnitude_and_sign_of_a_wave) {
    Arena *arena = given_arena();
    Signal x = wave(arena, 1.5), magnitude = signal_unary(arena, SIGNAL_ABS, x), sign = signal_unary(arena, SIGNAL_SIGN, x);
    given_sound(magnitude, 1);
    cr_assert_eq(magnitude.count, 3u);
    cr_reduced(signal_mean(magnitude), 2 / PI);
    cr_assert_eq(sign.count, 3u);
    cr_near_scaled(sign.pieces[0].end, 1.0 / 3, 1e-15, 1);
    cr_near_scaled(sign.pieces[1].end, 2.0 / 3, 1e-15, 1);
    cr_assert_eq(sign.pieces[1].values[0], -1.0);
    cr_reduced(signal_mean(signal_binary(arena, SIGNAL_MULTIPLY, x, sign)), 2 / PI);
    arena_close(arena);
}

/* The speed of a smooth move is zero to high order at both ends; that must not look like crossings. */
Test(signal_crossing, a_standstill_at_the_end_is_no_crossing) {
    Arena *arena = given_arena();
    Signal turn = signal_scale(arena, signal_time(arena, 1), 2 * PI, 0);
    Signal v = signal_scale(arena, signal_unary(arena, SIGNAL_COS, turn), -1, 1);
    Signal noisy = signal_scale(arena, signal_scale(arena, v, 1 / 3.0, 1e-16), 3, 0);
    cr_assert_eq(signal_unary(arena, SIGNAL_ABS, v).count, 1u);
    cr_assert_eq(signal_unary(arena, SIGNAL_SIGN, noisy).count, 1u);
    cr_assert_eq(signal_unary(arena, SIGNAL_SIGN, signal_scale(arena, noisy, 1, -3e-16)).count, 1u);
    Signal zero = signal_constant(arena, 1, 0);
    cr_assert_eq(signal_unary(arena, SIGNAL_SIGN, zero).pieces[0].values[0], 0.0);
    Signal still = signal_compare(arena, SIGNAL_EQUAL, v, zero);
    cr_assert_eq(still.count, 1u);
    cr_assert_eq(still.pieces[0].values[0], 0.0);
    arena_close(arena);
}

Test(signal_crossing, comparisons_split_where_the_two_cross) {
    Arena *arena = given_arena();
    Signal x = wave(arena, 1), half = signal_constant(arena, 1, 0.5);
    Signal more = signal_compare(arena, SIGNAL_MORE, x, half);
    cr_assert_eq(more.count, 3u);
    cr_near_scaled(more.pieces[0].end, 1.0 / 12, 1e-15, 1);
    cr_near_scaled(more.pieces[1].end, 5.0 / 12, 1e-15, 1);
    cr_reduced(signal_share(more), 1.0 / 3);
    cr_reduced(signal_share(signal_compare(arena, SIGNAL_LESS, x, half)), 2.0 / 3);
    cr_reduced(signal_share(signal_not(arena, more)), 2.0 / 3);
    Signal less = signal_compare(arena, SIGNAL_LESS, signal_unary(arena, SIGNAL_ABS, x), half);
    cr_reduced(signal_share(less), 1.0 / 3);
    cr_reduced(signal_share(signal_and(arena, more, less)), 0);
    cr_reduced(signal_share(signal_or(arena, more, less)), 2.0 / 3);
    cr_assert_eq(signal_and(arena, more, less).count, 1u, "equal neighbours are joined");
    arena_close(arena);
}

Test(signal_crossing, equal_pieces_are_equal_to_rounding) {
    Arena *arena = given_arena();
    Signal t = signal_time(arena, 1), third = signal_scale(arena, t, 1 / 3.0, 0.1);
    Signal x = signal_binary(arena, SIGNAL_ADD, third, signal_binary(arena, SIGNAL_ADD, third, third));
    Signal y = signal_scale(arena, t, 1, 0.3);
    const struct { SignalCompare comparison; double holds; } rows[] = {
        {SIGNAL_LESS, 0}, {SIGNAL_AT_MOST, 1}, {SIGNAL_MORE, 0}, {SIGNAL_AT_LEAST, 1}, {SIGNAL_EQUAL, 1}, {SIGNAL_UNEQUAL, 0}};
    for (int i = 0; i < 6; i++) {
        Signal truth = signal_compare(arena, rows[i].comparison, x, y);
        cr_assert_eq(truth.count, 1u);
        cr_assert_eq(truth.pieces[0].values[0], rows[i].holds, "comparison %d", i);
    }
    arena_close(arena);
}

Test(signal_crossing, lesser_and_greater) {
    Arena *arena = given_arena();
    Signal x = wave(arena, 1), y = signal_unary(arena, SIGNAL_COS, signal_scale(arena, signal_time(arena, 1), 2 * PI, 0));
    Signal low = signal_binary(arena, SIGNAL_LESSER, x, y), high = signal_binary(arena, SIGNAL_GREATER, x, y);
    given_sound(low, 1);
    cr_assert_eq(low.count, 3u);
    cr_near_scaled(low.pieces[0].end, 0.125, 1e-15, 1);
    cr_reduced(signal_maximum(low), sqrt(0.5));
    cr_reduced(signal_minimum(high), -sqrt(0.5));
    cr_reduced(signal_mean(high), sqrt(2) / PI);
    cr_assert_lt(given_difference(signal_binary(arena, SIGNAL_ADD, low, high), signal_binary(arena, SIGNAL_ADD, x, y)), 1e-14);
    arena_close(arena);
}

Test(signal_crossing, floor_round_and_ceiling_step_on_time) {
    Arena *arena = given_arena();
    Signal x = signal_scale(arena, signal_time(arena, 1), 4, -1.5);
    Signal down = signal_unary(arena, SIGNAL_FLOOR, x), up = signal_unary(arena, SIGNAL_CEILING, x), near = signal_unary(arena, SIGNAL_ROUND, x);
    cr_assert_eq(down.count, 5u);
    cr_near_scaled(down.pieces[0].end, 0.125, 1e-15, 1);
    cr_assert_eq(down.pieces[0].values[0], -2.0);
    cr_assert_eq(down.pieces[4].values[0], 2.0);
    cr_assert_eq(up.pieces[0].values[0], -1.0);
    cr_assert_eq(near.count, 4u);
    cr_assert_eq(near.pieces[1].values[0], 0.0);
    cr_near(signal_mean(near).value, 0.5);
    Signal whole = signal_unary(arena, SIGNAL_FLOOR, signal_constant(arena, 1, 0.3 / 0.1));
    cr_assert_eq(whole.pieces[0].values[0], 3.0, "a rounding error below a whole number is whole");
    arena_close(arena);
}

Test(signal_crossing, choosing_takes_pieces_from_both_sides) {
    Arena *arena = given_arena();
    double times[] = {0, 0.5, 1}, truth[] = {1, 0};
    Signal t = signal_time(arena, 1), x = wave(arena, 1);
    Signal chosen = signal_choose(arena, signal_steps(arena, times, truth, 2), x, t);
    given_sound(chosen, 1);
    cr_assert_eq(chosen.count, 2u);
    cr_near(signal_at(chosen, 0.25).value, 1);
    cr_near(signal_at(chosen, 0.75).value, 0.75);
    cr_near(signal_integral(chosen).value, 1 / PI + 0.375);
    arena_close(arena);
}
