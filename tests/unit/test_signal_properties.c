/* Identities that hold for all signals, on many that nobody chose. */
#include "given_signals.h"

enum { ROUNDS = 200 };

typedef void Check(Arena *arena, Signal x, Signal y);

static void for_many(Check *check, uint64_t state) {
    for (int i = 0; i < ROUNDS; i++) {
        Arena *arena = given_arena();
        Signal x = given_signal(arena, &state), y = given_signal(arena, &state);
        /* y over the same duration as x */
        double scale = 1, offset = 0, length = signal_duration(x);
        y = signal_chain(arena, &y, &scale, &offset, &length, 1);
        given_sound(x, length);
        given_sound(y, length);
        check(arena, x, y);
        arena_close(arena);
    }
}

static void check_square(Arena *arena, Signal x, Signal y) {
    (void)y;
    double rms = signal_rms(x).value;
    cr_near_scaled(signal_mean(signal_binary(arena, SIGNAL_MULTIPLY, x, x)).value, rms * rms, 1e-13, 1);
}
Test(signal_properties, the_mean_of_the_square_is_the_rms_squared) { for_many(check_square, 1); }

static void check_accumulate(Arena *arena, Signal x, Signal y) {
    (void)y;
    Signal sum = signal_accumulate(arena, x);
    given_sound(sum, signal_duration(x));
    cr_near_scaled(signal_at(sum, signal_duration(x)).value, signal_integral(x).value, 1e-13, 1);
    cr_assert_eq(signal_at(sum, 0).value, 0.0);
    cr_assert_lt(given_difference(x, signal_rate(arena, sum)), 1e-11);
}
Test(signal_properties, the_running_integral_ends_at_the_integral) { for_many(check_accumulate, 2); }

static void check_abs(Arena *arena, Signal x, Signal y) {
    (void)y;
    Signal zero = signal_constant(arena, signal_duration(x), 0), negative = signal_unary(arena, SIGNAL_NEGATE, x);
    Signal chosen = signal_choose(arena, signal_compare(arena, SIGNAL_AT_LEAST, x, zero), x, negative);
    Signal magnitude = signal_unary(arena, SIGNAL_ABS, x);
    given_sound(magnitude, signal_duration(x));
    given_sound(chosen, signal_duration(x));
    cr_near_scaled(signal_integral(chosen).value, signal_integral(magnitude).value, 1e-13, 1);
    cr_near_scaled(signal_rms(magnitude).value, signal_rms(x).value, 1e-13, 1);
    cr_assert_geq(signal_minimum(magnitude).value, -1e-12);
    Signal product = signal_binary(arena, SIGNAL_MULTIPLY, x, signal_unary(arena, SIGNAL_SIGN, x));
    cr_near_scaled(signal_integral(product).value, signal_integral(magnitude).value, 1e-13, 1);
    cr_near_scaled(signal_integral(signal_binary(arena, SIGNAL_GREATER, x, negative)).value, signal_integral(magnitude).value, 1e-13, 1);
}
Test(signal_properties, switching_the_sign_is_the_magnitude) { for_many(check_abs, 3); }

/* Cutting a signal into pieces at arbitrary instants changes nothing. */
static void check_cut(Arena *arena, Signal x, Signal y) {
    double duration = signal_duration(x), times[] = {0, 0.137 * duration, 0.52 * duration, 0.521 * duration, duration}, zeros[4] = {0};
    (void)y;
    Signal cut = signal_binary(arena, SIGNAL_ADD, x, signal_steps(arena, times, zeros, 4));
    given_sound(cut, duration);
    cr_assert_geq(cut.count, x.count);
    cr_assert_lt(given_difference(cut, x), 1e-13);
    cr_near_scaled(signal_integral(cut).value, signal_integral(x).value, 1e-13, 1);
    cr_near_scaled(signal_rms(cut).value, signal_rms(x).value, 1e-13, 1);
    cr_near_scaled(signal_maximum(cut).value, signal_maximum(x).value, 1e-13, 1);
    cr_near_scaled(signal_minimum(cut).value, signal_minimum(x).value, 1e-13, 1);
    cr_near_scaled(signal_maximum(cut).time, signal_maximum(x).time, 1e-6, duration);
    Signal zero = signal_constant(arena, duration, 0.1);
    double share = signal_share(signal_compare(arena, SIGNAL_MORE, x, zero)).value;
    cr_near_scaled(signal_share(signal_compare(arena, SIGNAL_MORE, cut, zero)).value, share, 1e-9, 1);
}
Test(signal_properties, cutting_changes_nothing) { for_many(check_cut, 4); }

/* The largest value is reached, and no sample exceeds it. */
static void check_extremes(Arena *arena, Signal x, Signal y) {
    (void)y, (void)arena;
    Extreme most = signal_maximum(x), least = signal_minimum(x), peak = signal_peak(x);
    cr_near_scaled(piece_at(&x.pieces[most.piece], most.time), most.value, 1e-13, 1);
    cr_near_scaled(piece_at(&x.pieces[least.piece], least.time), least.value, 1e-13, 1);
    cr_near_scaled(peak.value, fmax(fabs(most.value), fabs(least.value)), 1e-14, 0);
    for (uint32_t i = 0; i < x.count; i++)
        for (int k = 0; k <= 200; k++) {
            double value = piece_at(&x.pieces[i], x.pieces[i].start + k / 200.0 * (x.pieces[i].end - x.pieces[i].start));
            cr_assert(value <= most.value + 1e-12 && value >= least.value - 1e-12);
        }
}
/* Pieces whose values at the points are 1 or -1, beside a piece that is almost as large: between their points they are larger,
 * which shows at none of them. */
Test(signal_properties, finds_extremes_between_points_that_are_all_alike) {
    Arena *arena = given_arena();
    for (unsigned signs = 0; signs < 1u << 9; signs++) {
        double values[9], largest = 0, least = INFINITY, most = -INFINITY;
        for (unsigned j = 0; j < 9; j++) values[j] = signs >> j & 1 ? 1 : -1;
        const double beside = 1.0000001;
        const Piece pieces[2] = {{0, 1, 1, 0, &beside}, {1, 2, 9, 0, values}};
        Signal x = {2, pieces};
        for (int k = 0; k <= 2000; k++) {
            double value = piece_at(&pieces[1], 1 + k / 2000.0);
            least = fmin(least, value), most = fmax(most, value), largest = fmax(largest, fabs(value));
        }
        cr_assert_geq(signal_maximum(x).value, fmax(most, beside));
        cr_assert_leq(signal_minimum(x).value, fmin(least, beside));
        cr_assert_geq(signal_peak(x).value, fmax(largest, beside), "%u: %.17g, and %.17g was seen", signs, signal_peak(x).value, largest);
    }
    arena_close(arena);
}

Test(signal_properties, no_sample_exceeds_the_extremes) { for_many(check_extremes, 5); }

static void check_algebra(Arena *arena, Signal x, Signal y) {
    Signal sum = signal_binary(arena, SIGNAL_ADD, x, y), difference = signal_binary(arena, SIGNAL_SUBTRACT, x, y);
    Signal product = signal_binary(arena, SIGNAL_MULTIPLY, sum, difference); /* x^2 - y^2 */
    double squares = pow(signal_rms(x).value, 2) - pow(signal_rms(y).value, 2);
    cr_near_scaled(signal_mean(product).value, squares, 1e-12, 10);
    Signal back = signal_scale(arena, signal_binary(arena, SIGNAL_ADD, sum, difference), 0.5, 0);
    cr_assert_lt(given_difference(back, x), 1e-13);
    Signal low = signal_binary(arena, SIGNAL_LESSER, x, y), high = signal_binary(arena, SIGNAL_GREATER, x, y);
    cr_near_scaled(signal_integral(low).value + signal_integral(high).value, signal_integral(sum).value, 1e-12, 1);
    Signal below = signal_compare(arena, SIGNAL_LESS, x, y), above = signal_compare(arena, SIGNAL_MORE, x, y);
    Signal same = signal_compare(arena, SIGNAL_EQUAL, x, y);
    cr_near(signal_share(below).value + signal_share(above).value + signal_share(same).value, 1);
    Signal offset = signal_scale(arena, signal_binary(arena, SIGNAL_MULTIPLY, y, y), 1, 1); /* never zero */
    Signal quotient = signal_binary(arena, SIGNAL_DIVIDE, x, offset);
    given_sound(quotient, signal_duration(x));
    cr_assert_lt(given_difference(signal_binary(arena, SIGNAL_MULTIPLY, quotient, offset), x), 1e-11);
    cr_near_scaled(signal_integral(signal_lag(arena, x, 0.3)).value, signal_integral(x).value, 1e-12, 1);
}
Test(signal_properties, sums_products_and_quotients_agree) { for_many(check_algebra, 6); }

static void check_functions(Arena *arena, Signal x, Signal y) {
    Signal sine = signal_unary(arena, SIGNAL_SIN, x), cosine = signal_unary(arena, SIGNAL_COS, x);
    Signal one = signal_binary(arena, SIGNAL_ADD, signal_binary(arena, SIGNAL_MULTIPLY, sine, sine), signal_binary(arena, SIGNAL_MULTIPLY, cosine, cosine));
    cr_near(signal_maximum(one).value, 1);
    cr_near(signal_minimum(one).value, 1);
    Signal power = signal_unary(arena, SIGNAL_EXP, y);
    cr_assert_lt(given_difference(signal_unary(arena, SIGNAL_LN, power), y), 1e-11);
    Signal square = signal_binary(arena, SIGNAL_MULTIPLY, power, power);
    cr_assert_lt(given_difference(signal_unary(arena, SIGNAL_SQRT, square), power), 1e-10);
    Signal three = signal_constant(arena, signal_duration(x), 3);
    Signal cube = signal_binary(arena, SIGNAL_POWER, x, three);
    cr_assert_lt(given_difference(cube, signal_binary(arena, SIGNAL_MULTIPLY, x, signal_binary(arena, SIGNAL_MULTIPLY, x, x))), 1e-12);
    Signal angle = signal_binary(arena, SIGNAL_ATAN2, sine, cosine); /* x, turns apart */
    cr_assert_lt(given_difference(signal_unary(arena, SIGNAL_SIN, angle), sine), 1e-10);
    Signal steps = signal_unary(arena, SIGNAL_FLOOR, x), rest = signal_binary(arena, SIGNAL_SUBTRACT, x, steps);
    cr_assert_geq(signal_minimum(rest).value, -1e-12);
    cr_assert_leq(signal_maximum(rest).value, 1 + 1e-12);
}
Test(signal_properties, functions_and_their_opposites) { for_many(check_functions, 7); }

/* ---- any operation on any signal ---- */

static SignalVoid wild(void *context, double x, double *y) {
    (void)context;
    if (x > 3) return VOID_TABLE;
    *y = x < 0.25 ? x * x : 1 / (x - 2);
    return VOID_NONE;
}

static Signal any_operation(Arena *arena, uint64_t *state, Signal x, Signal y, Signal z) {
    double breaks[] = {0.25, 2, 3}, number = given_number(state);
    Signal truth = signal_compare(arena, (SignalCompare)(given_random(state) % 6), x, y);
    switch (given_random(state) % 14) {
    case 0: case 1: return signal_unary(arena, (SignalUnary)(given_random(state) % (SIGNAL_CEILING + 1)), x);
    case 2: case 3: case 4: return signal_binary(arena, (SignalBinary)(given_random(state) % (SIGNAL_GREATER + 1)), x, y);
    case 5: return signal_scale(arena, x, 3 * number, given_number(state));
    case 6: return signal_map(arena, x, wild, NULL, breaks, number > 0 ? 3 : 0);
    case 7: return signal_choose(arena, signal_or(arena, truth, signal_not(arena, signal_and(arena, truth, truth))), y, z);
    case 8: case 9: return signal_choose(arena, truth, y, z);
    case 10: return signal_rate(arena, x);
    case 11: return signal_accumulate(arena, x);
    case 12: return signal_lag(arena, x, pow(10, 7 * number));
    default: return signal_lag_from(arena, x, pow(10, 7 * number), number);
    }
}

static void check_any(uint64_t state, int operations) {
    enum { POOL = 6 };
    const double extremes[] = {1e-300, 1e300, 1e-13, 1e16, 0, -1};
    Arena *arena = given_arena();
    Signal pool[POOL];
    for (int i = 0; i < operations; i++) {
        if (i % 40 == 0) {
            arena_close(arena);
            arena = given_arena();
            double scale = 1, offset = 0, length = 2;
            for (int k = 0; k < POOL; k++) {
                pool[k] = given_signal(arena, &state);
                if (given_random(&state) % 8 == 0) scale = extremes[given_random(&state) % 6];
                pool[k] = signal_chain(arena, &pool[k], &scale, &offset, &length, 1);
            }
        }
        Signal *to = &pool[given_random(&state) % POOL];
        Signal x = pool[given_random(&state) % POOL], y = pool[given_random(&state) % POOL], z = pool[given_random(&state) % POOL];
        Signal result = any_operation(arena, &state, x, y, z);
        given_sound(result, 2);
        Extreme most = signal_maximum(result), least = signal_minimum(result), mean = signal_mean(result), peak = signal_peak(result);
        if (most.fault == VOID_NONE && mean.fault == VOID_NONE) {
            double slack = 1e-9 * peak.value + 1e-300;
            cr_assert(least.value <= mean.value + slack && mean.value <= most.value + slack, "%g not in %g to %g", mean.value, least.value, most.value);
        }
        double *times;
        uint32_t count = signal_crossings(arena, result, 0.25, &times);
        for (uint32_t k = 0; k < count; k++) cr_assert(times[k] > (k ? times[k - 1] : 0) && times[k] < 2);
        if (result.count < 300) *to = result;
    }
    arena_close(arena);
}
Test(signal_properties, any_operation_on_any_signal_is_sound) {
    for (uint64_t seed = 1; seed <= 20; seed++) check_any(seed * 7919, 120);
}
