#include "given_units.h"

static Dimension of(int length, int mass, int time, int angle) {
    Dimension dimension = {{0}};
    dimension.sixths[DIMENSION_LENGTH] = (int8_t)length;
    dimension.sixths[DIMENSION_MASS] = (int8_t)mass;
    dimension.sixths[DIMENSION_TIME] = (int8_t)time;
    dimension.sixths[DIMENSION_ANGLE] = (int8_t)angle;
    return dimension;
}

Test(dimension, is_compared_power_by_power) {
    cr_assert(dimension_equal(of(6, 6, -12, 0), of(6, 6, -12, 0)));
    cr_assert_not(dimension_equal(of(6, 6, -12, 0), of(6, 6, -12, -6)));
    cr_assert(dimension_equal_but_angle(of(6, 6, -12, 0), of(6, 6, -12, -6)));
    cr_assert_not(dimension_equal_but_angle(of(6, 6, -12, 0), of(6, 6, -6, -6)));
    cr_assert(dimension_is_number(of(0, 0, 0, 0)));
    cr_assert_not(dimension_is_number(of(0, 0, 0, 6)), "an angle is no number");
}

Test(dimension, multiplies_divides_and_raises) {
    Dimension out;
    cr_assert(dimension_multiply(of(6, 6, -12, 0), of(6, 0, 0, -6), &out));
    cr_assert(dimension_equal(out, of(12, 6, -12, -6)));
    cr_assert(dimension_divide(out, of(0, 0, 6, 0), &out));
    cr_assert(dimension_equal(out, of(12, 6, -18, -6)));
    cr_assert(dimension_power(of(6, 0, -6, 0), 2, 1, &out));
    cr_assert(dimension_equal(out, of(12, 0, -12, 0)));
    cr_assert(dimension_power(of(12, 0, -6, 0), 1, 2, &out));
    cr_assert(dimension_equal(out, of(6, 0, -3, 0)), "half powers are kept");
    cr_assert(dimension_power(of(12, 0, -6, 0), -1, 3, &out));
    cr_assert(dimension_equal(out, of(-4, 0, 2, 0)));
}

Test(dimension, refuses_powers_out_of_its_range) {
    Dimension out;
    cr_assert(dimension_power(of(6, 0, 0, 0), 21, 1, &out), "the 21st power is the highest");
    cr_assert_not(dimension_power(of(6, 0, 0, 0), 22, 1, &out));
    cr_assert_not(dimension_power(of(6, 0, 0, 0), -22, 1, &out));
    cr_assert_not(dimension_power(of(6, 0, 0, 0), 2147483647, 1, &out));
    cr_assert_not(dimension_multiply(of(126, 0, 0, 0), of(1, 0, 0, 0), &out));
    cr_assert_not(dimension_divide(of(-126, 0, 0, 0), of(6, 0, 0, 0), &out));
    cr_assert_not(dimension_power(of(6, 0, 0, 0), 1, 4, &out), "a fourth root is no sixth");
    cr_assert_not(dimension_power(of(6, 0, 0, 0), 1, 0, &out));
    cr_assert(dimension_power(of(6, 0, 0, 0), 0, 5, &out) && dimension_is_number(out));
}

Test(dimension, is_spelled_in_base_units) {
    Given given = given_open();
    cr_text(dimension_spell(given.vocabulary, given.arena, of(12, 6, -12, 0)), "kg·m²/s²");
    cr_text(dimension_spell(given.vocabulary, given.arena, of(12, 6, -12, -6)), "kg·m²/(rad·s²)");
    cr_text(dimension_spell(given.vocabulary, given.arena, of(0, 0, -6, 0)), "1/s");
    cr_text(dimension_spell(given.vocabulary, given.arena, of(0, 0, 0, 0)), "1");
    cr_text(dimension_spell(given.vocabulary, given.arena, of(6, 3, -2, 0)), "kg^(1/2)·m/s^(1/3)");
    cr_text(dimension_spell(given.vocabulary, given.arena, of(126, 9, 0, 0)), "kg^(3/2)·m²¹");
    arena_close(given.arena);
}
