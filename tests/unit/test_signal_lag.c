/* First-order lags against their closed forms, from time constants far below the period to far above it. */
#include "given_signals.h"

static Signal pulse(Arena *arena, double height, double on, double off) {
    double times[] = {0, on, on + off}, values[] = {height, 0};
    return signal_steps(arena, times, values, 2);
}

/* On for t1, off for t2, again and again: the top is h (1 - e^(-t1/tau)) / (1 - e^(-(t1+t2)/tau)). */
Test(signal_lag, a_square_wave_in_the_periodic_state) {
    Arena *arena = given_arena();
    double height = 85, on = 3, off = 7;
    Signal x = pulse(arena, height, on, off);
    for (double tau = 1e-5; tau < 2e7; tau *= 10) {
        Signal y = signal_lag(arena, x, tau);
        double top = height * -expm1(-on / tau) / -expm1(-(on + off) / tau), bottom = top * exp(-off / tau);
        given_sound(y, 10);
        cr_near_scaled(signal_maximum(y).value, top, 1e-13, 0);
        cr_near_scaled(signal_minimum(y).value, bottom, 1e-12, 1e-2);
        cr_near_scaled(signal_at(y, 0).value, bottom, 1e-12, 1e-2);
        cr_near_scaled(signal_mean(y).value, height * on / (on + off), 1e-13, 0);
        for (int i = 1; i < 60; i++) {
            double t = on * i / 60;
            cr_near_scaled(signal_at(y, t).value, height + (bottom - height) * exp(-t / tau), 1e-12, height);
            t = i < 30 ? tau * i : off * (i - 29) / 31;
            if (t < off) cr_near_scaled(signal_at(y, on + t).value, top * exp(-t / tau), 1e-12 + 1e-15 * on / tau, height); /* the instant is rounded */
        }
    }
    arena_close(arena);
}

/* The ripple of a slow winding is small, and must still be right. */
Test(signal_lag, the_ripple_of_a_slow_lag) {
    Arena *arena = given_arena();
    Signal x = pulse(arena, 1, 0.4, 0.6);
    for (double tau = 10; tau < 1e7; tau *= 10) {
        Signal y = signal_lag(arena, x, tau);
        double top = -expm1(-0.4 / tau) / -expm1(-1 / tau), ripple = top * -expm1(-0.6 / tau);
        cr_near_scaled(signal_maximum(y).value - signal_minimum(y).value, ripple, 1e-15 * tau + 1e-12, 0);
    }
    arena_close(arena);
}

/* A sine comes out smaller by sqrt(1 + (w tau)^2), and later by atan(w tau). */
Test(signal_lag, a_sine_is_damped_and_delayed) {
    Arena *arena = given_arena();
    Signal t = signal_time(arena, 1);
    for (double tau = 1e-6; tau < 2e6; tau *= 10) {
        double w = 2 * PI * 3, gain = 1 / sqrt(1 + w * tau * w * tau);
        Signal y = signal_lag(arena, signal_unary(arena, SIGNAL_SIN, signal_scale(arena, t, w, 0)), tau);
        Signal expected = signal_scale(arena, signal_unary(arena, SIGNAL_SIN, signal_scale(arena, t, w, -atan(w * tau))), gain, 0);
        double off = given_difference(y, expected);
        cr_assert_lt(off, 1e-13 + 1e-12 * gain, "tau %g: off by %g", tau, off);
    }
    arena_close(arena);
}

/* A ramp of slope k is followed tau late, once the transient is gone: y = k (t - tau) + k tau e^(-t/tau) + y0 e^(-t/tau). */
Test(signal_lag, a_ramp_from_a_given_start) {
    Arena *arena = given_arena();
    Signal x = signal_scale(arena, signal_time(arena, 2), 3, 0);
    for (double tau = 1e-6; tau < 2e6; tau *= 10) {
        Signal y = signal_lag_from(arena, x, tau, 5);
        for (int i = 0; i <= 40; i++) {
            double t = 2 * i / 40.0;
            double expected = t / tau < 1e-3 ? 5 * exp(-t / tau) + 1.5 * t * t / tau * (1 - t / tau / 3 + t * t / tau / tau / 12)
                                             : 3 * t + 3 * tau * expm1(-t / tau) + 5 * exp(-t / tau);
            cr_near_scaled(signal_at(y, t).value, expected, 1e-12, 5);
        }
    }
    arena_close(arena);
}

Test(signal_lag, a_constant_stays) {
    Arena *arena = given_arena();
    for (double tau = 1e-9; tau < 1e10; tau *= 7) {
        Signal y = signal_lag(arena, signal_constant(arena, 3, 0.1), tau);
        cr_near_scaled(signal_minimum(y).value, 0.1, 1e-14, 0);
        cr_near_scaled(signal_maximum(y).value, 0.1, 1e-14, 0);
    }
    arena_close(arena);
}

Test(signal_lag, a_lag_within_the_width_of_a_break_is_a_jump) {
    Arena *arena = given_arena();
    Signal x = pulse(arena, 4, 0.5, 0.5), y = signal_lag(arena, x, 1e-300);
    cr_assert_eq(y.count, 2u);
    cr_assert_lt(given_difference(x, y), 1e-12);
    arena_close(arena);
}

/* tau dy/dt + y = x, checked in the pieces of y. */
Test(signal_lag, the_response_solves_the_equation) {
    Arena *arena = given_arena();
    uint64_t state = 41;
    for (int round = 0; round < 60; round++) {
        Signal x = given_signal(arena, &state);
        double duration = signal_duration(x), tau = duration * pow(10, 3 * given_number(&state));
        Signal y = signal_lag(arena, x, tau);
        given_sound(y, duration);
        Signal rest = signal_binary(arena, SIGNAL_SUBTRACT, signal_binary(arena, SIGNAL_ADD, signal_scale(arena, signal_rate(arena, y), tau, 0), y), x);
        double steep = 1 + tau / duration; /* what the rate makes of a rounding error */
        cr_assert_lt(signal_peak(rest).value, 1e-10 * steep, "tau %g: %g", tau, signal_peak(rest).value);
        cr_near_scaled(signal_at(y, 0).value, signal_at(y, duration).value, 1e-12, 1);
        for (uint32_t i = 1; i < y.count; i++) /* without jumps */
            cr_near_scaled(y.pieces[i].values[0], y.pieces[i - 1].values[y.pieces[i - 1].size - 1], 1e-12, 1);
        cr_near_scaled(signal_mean(y).value, signal_mean(x).value, 1e-12, 1);
    }
    arena_close(arena);
}
