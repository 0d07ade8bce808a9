/* Making signals, arithmetic, calculus, and what is held in the pieces. */
#include "given_signals.h"

Test(signal_values, constants_are_one_number_and_lines_are_two) {
    Arena *arena = given_arena();
    Signal four = signal_constant(arena, 3, 4), t = signal_time(arena, 3);
    cr_assert_eq(four.count, 1u);
    cr_assert_eq(four.pieces[0].size, 1);
    cr_assert_eq(t.pieces[0].size, 2);
    Signal line = signal_binary(arena, SIGNAL_ADD, signal_binary(arena, SIGNAL_MULTIPLY, t, four), four);
    cr_assert_eq(line.pieces[0].size, 2);
    cr_assert_eq(signal_at(line, 0).value, 4.0);
    cr_assert_eq(signal_at(line, 3).value, 16.0);
    Signal flat = signal_binary(arena, SIGNAL_SUBTRACT, line, signal_scale(arena, t, 4, 0));
    cr_assert_eq(flat.pieces[0].size, 1, "a difference of parallels is constant");
    cr_near(signal_at(flat, 1).value, 4);
    arena_close(arena);
}

Test(signal_values, products_take_the_size_their_degree_needs) {
    Arena *arena = given_arena();
    Signal t = signal_time(arena, 2), power = t;
    const unsigned sizes[] = {3, 5, 5, 9, 9, 9, 9, 17};
    for (int i = 0; i < 8; i++) {
        power = signal_binary(arena, SIGNAL_MULTIPLY, power, t);
        cr_assert_eq(power.pieces[0].size, sizes[i], "t^%d has size %u", i + 2, power.pieces[0].size);
        cr_near(signal_integral(power).value, pow(2, i + 3) / (i + 3));
    }
    arena_close(arena);
}

Test(signal_values, a_product_too_large_for_one_piece_is_split) {
    Arena *arena = given_arena();
    Signal t = signal_time(arena, 1);
    Signal a = signal_unary(arena, SIGNAL_SIN, signal_scale(arena, t, 60, 0)), b = signal_unary(arena, SIGNAL_COS, signal_scale(arena, t, 60, 0));
    Signal product = signal_binary(arena, SIGNAL_MULTIPLY, a, b);
    Signal expected = signal_scale(arena, signal_unary(arena, SIGNAL_SIN, signal_scale(arena, t, 120, 0)), 0.5, 0);
    given_sound(product, 1);
    cr_assert_lt(given_difference(product, expected), 1e-12);
    cr_near(signal_integral(product).value, sin(60) * sin(60) / 120);
    arena_close(arena);
}

Test(signal_values, steps_and_their_breaks) {
    Arena *arena = given_arena();
    double times[] = {0, 1, 1.5, 4}, values[] = {2, -1, 0.5}, breaks[4];
    Signal steps = signal_steps(arena, times, values, 3);
    given_sound(steps, 4);
    signal_breaks(steps, breaks);
    for (int i = 0; i < 4; i++) cr_assert_eq(breaks[i], times[i]);
    cr_assert_eq(signal_at(steps, 1).value, -1.0, "at a break, the piece that begins there");
    cr_assert_eq(signal_at(steps, 4).value, 0.5, "at the very end, the last piece");
    cr_assert_eq(signal_at(steps, 1.5).piece, 2u);
    cr_near(signal_mean(steps).value, (2 - 0.5 + 1.25) / 4);
    cr_near(signal_rms(steps).value, sqrt((4 + 0.5 + 0.25 * 2.5) / 4));
    arena_close(arena);
}

Test(signal_values, a_chain_stretches_scales_and_shifts_its_parts) {
    Arena *arena = given_arena();
    Signal t = signal_time(arena, 1), parts[3] = {t, signal_constant(arena, 5, 1), signal_binary(arena, SIGNAL_MULTIPLY, t, t)};
    double scale[] = {3, 3, -3}, offset[] = {0, 0, 3}, length[] = {0.5, 2, 1.5};
    Signal chain = signal_chain(arena, parts, scale, offset, length, 3);
    given_sound(chain, 4);
    cr_assert_eq(chain.count, 3u);
    cr_near(signal_at(chain, 0.25).value, 1.5);
    cr_near(signal_at(chain, 1).value, 3);
    cr_near(signal_at(chain, 3.25).value, 3 - 3 * 0.25);
    cr_near(signal_integral(chain).value, 0.75 + 6 + 1.5 * (3 - 1));
    arena_close(arena);
}

Test(signal_values, breaks_a_rounding_error_apart_are_one) {
    Arena *arena = given_arena();
    double one[] = {0, 0.3, 1}, other[] = {0, 0.1 + 0.2, 1}, values[] = {1, 2};
    Signal sum = signal_binary(arena, SIGNAL_ADD, signal_steps(arena, one, values, 2), signal_steps(arena, other, values, 2));
    given_sound(sum, 1);
    cr_assert_eq(sum.count, 2u);
    arena_close(arena);
}

Test(signal_values, signals_on_different_breaks_meet_on_all_of_them) {
    Arena *arena = given_arena();
    double one[] = {0, 0.25, 0.5, 1}, other[] = {0, 0.4, 0.5, 0.9, 1}, values[] = {1, 2, 4, 8}, breaks[16];
    Signal product = signal_binary(arena, SIGNAL_MULTIPLY, signal_steps(arena, one, values, 3), signal_steps(arena, other, values, 4));
    given_sound(product, 1);
    cr_assert_eq(product.count, 5u);
    signal_breaks(product, breaks);
    cr_assert_eq(breaks[2], 0.4);
    cr_assert_eq(signal_at(product, 0.45).value, 4.0);
    cr_assert_eq(signal_at(product, 0.95).value, 32.0);
    arena_close(arena);
}

Test(signal_values, a_cubic_rate_and_its_integral_come_back) {
    Arena *arena = given_arena();
    double at[4] = {1, -2, 3, 0.5};
    Signal cubic = given_cubic(arena, 3, at);
    for (int i = 0; i < 4; i++) cr_near(signal_at(cubic, i).value, at[i]);
    Signal back = signal_scale(arena, signal_accumulate(arena, signal_rate(arena, cubic)), 1, at[0]);
    cr_assert_lt(given_difference(cubic, back), 1e-13);
    arena_close(arena);
}

Test(signal_values, the_rate_of_a_wave_is_the_wave_a_quarter_on) {
    Arena *arena = given_arena();
    Signal angle = signal_scale(arena, signal_time(arena, 2), 3 * PI, 0.3);
    Signal rate = signal_rate(arena, signal_unary(arena, SIGNAL_SIN, angle));
    Signal expected = signal_scale(arena, signal_unary(arena, SIGNAL_COS, angle), 3 * PI, 0);
    cr_assert_lt(given_difference(rate, expected), 1e-10);
    arena_close(arena);
}

Test(signal_values, the_integral_of_a_full_size_piece_keeps_its_accuracy) {
    Arena *arena = given_arena();
    Signal t = signal_scale(arena, signal_time(arena, 2), 1, -1), power = t;
    for (int i = 0; i < 6; i++) power = signal_binary(arena, SIGNAL_MULTIPLY, power, power); /* t^64 */
    given_sound(power, 2);
    cr_near(signal_integral(power).value, 2.0 / 65);
    Signal sum = signal_accumulate(arena, power);
    given_sound(sum, 2);
    cr_near(signal_at(sum, 2).value, 2.0 / 65);
    cr_near(signal_at(sum, 1.9).value, (1 + pow(0.9, 65)) / 65);
    arena_close(arena);
}
