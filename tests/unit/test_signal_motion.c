/* Moves whose peak, mean and RMS every handbook of motion gives in closed form. */
#include "given_signals.h"

/* Speed of a trapezoidal move: up in `up`, steady in `steady`, down in `up` seconds. */
static Signal trapezoid(Arena *arena, double speed, double up, double steady) {
    Signal ramp = signal_time(arena, 1), one = signal_constant(arena, 1, 1);
    Signal parts[3] = {ramp, one, ramp};
    double scale[3] = {speed, speed, -speed}, offset[3] = {0, 0, speed}, length[3] = {up, steady, up};
    return signal_chain(arena, parts, scale, offset, length, 3);
}

Test(signal_motion, a_trapezoidal_move) {
    Arena *arena = given_arena();
    double stroke = 0.32, time = 1.4, speed = 1.5 * stroke / time; /* thirds */
    Signal v = trapezoid(arena, speed, time / 3, time / 3);
    cr_reduced(signal_integral(v), stroke);
    cr_reduced(signal_maximum(v), speed);
    cr_near(signal_maximum(v).time, time / 3);
    cr_assert_eq(signal_maximum(v).piece, 0u);
    cr_reduced(signal_rms(v), speed * sqrt(5.0 / 9));
    Signal a = signal_rate(arena, v);
    cr_reduced(signal_maximum(a), 4.5 * stroke / (time * time));
    cr_reduced(signal_minimum(a), -4.5 * stroke / (time * time));
    cr_reduced(signal_rms(a), 4.5 * stroke / (time * time) * sqrt(2.0 / 3));
    Signal position = signal_accumulate(arena, v);
    cr_reduced(signal_at(position, time / 2), stroke / 2);
    cr_reduced(signal_at(position, time), stroke);
    arena_close(arena);
}

Test(signal_motion, a_triangular_move) {
    Arena *arena = given_arena();
    Signal ramp = signal_time(arena, 1), parts[2] = {ramp, ramp};
    double scale[2] = {2, -2}, offset[2] = {0, 2}, length[2] = {0.5, 0.5};
    Signal v = signal_chain(arena, parts, scale, offset, length, 2);
    cr_reduced(signal_integral(v), 1);
    cr_reduced(signal_maximum(v), 2);
    cr_assert_eq(signal_maximum(v).time, 0.5);
    cr_reduced(signal_rms(v), 2 / sqrt(3));
    arena_close(arena);
}

/* s = h (u - sin(2 pi u) / 2 pi): speed 2 h / T at most, acceleration 2 pi h / T^2 at most. */
Test(signal_motion, a_cycloidal_move) {
    Arena *arena = given_arena();
    double stroke = 0.32, time = 1.4;
    Signal u = signal_scale(arena, signal_time(arena, time), 1 / time, 0), turn = signal_scale(arena, u, 2 * PI, 0);
    Signal v = signal_scale(arena, signal_unary(arena, SIGNAL_COS, turn), -stroke / time, stroke / time);
    Signal a = signal_scale(arena, signal_unary(arena, SIGNAL_SIN, turn), 2 * PI * stroke / (time * time), 0);
    cr_reduced(signal_integral(v), stroke);
    cr_reduced(signal_peak(v), 2 * stroke / time);
    cr_near(signal_peak(v).time, time / 2);
    cr_reduced(signal_rms(v), stroke / time * sqrt(1.5));
    cr_reduced(signal_maximum(a), 2 * PI * stroke / (time * time));
    cr_near(signal_maximum(a).time, time / 4);
    cr_near(signal_minimum(a).time, 0.75 * time);
    cr_near(signal_peak(a).time, time / 4);
    cr_reduced(signal_rms(a), sqrt(2) * PI * stroke / (time * time));
    cr_assert_lt(given_difference(signal_rate(arena, v), a), 1e-11);
    /* Power of an inertia peaks where cos(2 pi u) = -1/2, at a third of the move: 1.5 sqrt(3) pi m h^2 / T^3. */
    Signal power = signal_binary(arena, SIGNAL_MULTIPLY, v, a);
    cr_reduced(signal_maximum(power), 1.5 * sqrt(3) * PI * stroke * stroke / pow(time, 3));
    cr_near(signal_maximum(power).time, time / 3);
    cr_near(signal_mean(power).value, 0);
    arena_close(arena);
}

/* s = h (10 u^3 - 15 u^4 + 6 u^5): speed 15/8 h / T at most, acceleration 10/sqrt(3) h / T^2 at most. */
Test(signal_motion, a_3_4_5_move) {
    Arena *arena = given_arena();
    Signal u = signal_time(arena, 1), w = signal_scale(arena, u, -1, 1), uw = signal_binary(arena, SIGNAL_MULTIPLY, u, w);
    Signal v = signal_scale(arena, signal_binary(arena, SIGNAL_MULTIPLY, uw, uw), 30, 0), a = signal_rate(arena, v);
    cr_reduced(signal_integral(v), 1);
    cr_reduced(signal_maximum(v), 1.875);
    cr_near(signal_maximum(v).time, 0.5);
    cr_reduced(signal_maximum(a), 10 / sqrt(3));
    cr_near(signal_maximum(a).time, 0.5 - sqrt(3) / 6);
    cr_reduced(signal_rms(v), sqrt(10.0 / 7));
    cr_reduced(signal_rms(a), sqrt(120.0 / 7));
    arena_close(arena);
}

Test(signal_motion, rms_of_ramps_and_steps) {
    Arena *arena = given_arena();
    cr_reduced(signal_rms(signal_scale(arena, signal_time(arena, 4), 2, -3)), sqrt((5 * 5 * 5 + 3 * 3 * 3) / (3.0 * 2 * 4)));
    /* Torque 3, 1, -2, 0 for 0.1, 0.4, 0.1, 1.4 s. */
    double times[] = {0, 0.1, 0.5, 0.6, 2}, torque[] = {3, 1, -2, 0};
    Signal steps = signal_steps(arena, times, torque, 4);
    cr_reduced(signal_rms(steps), sqrt((0.9 + 0.4 + 0.4) / 2));
    cr_reduced(signal_peak(steps), 3);
    cr_assert_eq(signal_minimum(steps).piece, 2u);
    arena_close(arena);
}

Test(signal_motion, the_earliest_of_equal_peaks) {
    Arena *arena = given_arena();
    Signal x = signal_unary(arena, SIGNAL_SIN, signal_scale(arena, signal_time(arena, 1), 20 * PI, 0));
    cr_near(signal_maximum(x).time, 0.025);
    cr_near(signal_minimum(x).time, 0.075);
    cr_near(signal_peak(x).time, 0.025);
    Signal flat = signal_constant(arena, 2, -7);
    cr_assert_eq(signal_peak(flat).time, 0.0);
    cr_assert_eq(signal_peak(flat).value, 7.0);
    cr_assert_eq(signal_maximum(flat).value, -7.0);
    arena_close(arena);
}

/* Torque over a move from power over speed: both are zero at each standstill, and the quotient is not. */
Test(signal_motion, power_over_speed_is_force_at_standstill_too) {
    Arena *arena = given_arena();
    Signal u = signal_time(arena, 1), turn = signal_scale(arena, u, 2 * PI, 0);
    Signal v = signal_scale(arena, signal_unary(arena, SIGNAL_COS, turn), -1, 1);
    Signal force = signal_scale(arena, signal_unary(arena, SIGNAL_SIN, turn), 4, 10);
    Signal ratio = signal_binary(arena, SIGNAL_DIVIDE, signal_binary(arena, SIGNAL_MULTIPLY, force, v), v);
    given_sound(ratio, 1);
    cr_assert_lt(given_difference(ratio, force), 1e-8);
    cr_near_scaled(signal_maximum(ratio).value, 14, 1e-9, 1);
    Signal uw = signal_binary(arena, SIGNAL_MULTIPLY, u, signal_scale(arena, u, -1, 1));
    ratio = signal_binary(arena, SIGNAL_DIVIDE, signal_binary(arena, SIGNAL_MULTIPLY, uw, u), uw);
    cr_assert_eq(ratio.count, 1u);
    cr_assert_lt(given_difference(ratio, u), 1e-13);
    arena_close(arena);
}
