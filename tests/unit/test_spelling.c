#include <float.h>
#include <locale.h>
#include <string.h>

#include "given_units.h"
#include "quantity/decimal.h"

/* ---- against the C library ----------------------------------------------------------------------------------------------- */

/* Any finite double above zero, small ones and large ones alike. */
static double any_double(uint64_t *state) {
    for (;;) {
        uint64_t bits = given_random(state) & 0x7fffffffffffffffull;
        double number;
        memcpy(&number, &bits, sizeof number);
        if (isfinite(number) && number > 0) return number;
    }
}

/* One as results have them: a few digits, a size people use, or close to a tie. */
static double usual_double(uint64_t *state) {
    double whole = (double)(given_random(state) % 2000000);
    static const double tens[] = {1e-9, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 1e-1, 1, 10, 1e3, 1e6, 1e9, 1e12, 3, 7, 1.0 / 1024};
    double number = (whole + (given_random(state) % 2 ? 0.5 : 0)) * tens[given_random(state) % 16];
    switch (given_random(state) % 4) {
    case 0: return nextafter(number, INFINITY);
    case 1: return nextafter(number, 0);
    default: return number;
    }
}

static void compare_significant(double number, int digits) {
    char expected[64];
    snprintf(expected, sizeof expected, "%.*e", digits - 1, number);
    Decimal decimal;
    decimal_significant(number, digits, &decimal);
    char actual[64] = "";
    if (decimal.count == 0) {
        cr_assert_eq(number, 0.0);
        return;
    }
    cr_assert_eq(decimal.count, digits);
    snprintf(actual, sizeof actual, "%s%c%s%.*se%c%02d", number < 0 ? "-" : "", decimal.digits[0], digits > 1 ? "." : "", digits - 1,
             decimal.digits + 1, decimal.exponent < 0 ? '-' : '+', decimal.exponent < 0 ? -decimal.exponent : decimal.exponent);
    cr_assert(strcmp(actual, expected) == 0, "%.17g at %d digits is %s, not %s", number, digits, actual, expected);
}

Test(spelling, digits_are_those_of_the_c_library) {
    uint64_t state = 42;
    for (int i = 0; i < 300000; i++) {
        compare_significant(usual_double(&state), 1 + (int)(given_random(&state) % 17));
        compare_significant(-usual_double(&state), 4);
        compare_significant(any_double(&state), 1 + (int)(given_random(&state) % 17));
    }
}

Test(spelling, the_ends_of_the_range_have_their_digits) {
    static const double ends[] = {DBL_MAX, DBL_MIN, 4.9406564584124654e-324, DBL_EPSILON, 2.2250738585072011e-308, 9.9999999999999995e22,
                                  1e22, 1e23, 9007199254740993.0, 0.5, 2.5, 1e15, 999999999999999.9, 0.1, 5e-324};
    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++)
        for (int digits = 1; digits <= 17; digits++) compare_significant(ends[i], digits);
}

Test(spelling, decimals_are_those_of_the_c_library) {
    uint64_t state = 4711;
    Arena *arena = given_arena();
    for (int i = 0; i < 200000; i++) {
        double number = i % 16 == 0 ? any_double(&state) : usual_double(&state);
        int places = (int)(given_random(&state) % 18);
        if (i % 2) number = -number;
        char expected[400];
        snprintf(expected, sizeof expected, "%.*f", places, number);
        bool is_zero = strspn(expected, "-0.") == strlen(expected);
        cr_text(spell_fixed(arena, number, places), is_zero && expected[0] == '-' ? expected + 1 : expected);
        if (i % 1000 == 0) arena_close(arena), arena = given_arena();
    }
    arena_close(arena);
}

/* ---- numbers as people read them --------------------------------------------------------------------------------------------- */

static const struct {
    double number;
    int digits;
    const char *spelled;
} numbers[] = {
    {0.05671, 4, "0.05671"}, {38.4, 4, "38.4"},       {1200, 4, "1200"},        {2.52e-5, 4, "2.52e-5"},  {0, 4, "0"},
    {-0.0, 4, "0"},          {1e6, 4, "1e6"},         {999999.9, 4, "1e6"},     {999949.9, 4, "999900"},  {123456.7, 4, "123500"},
    {1e-4, 4, "0.0001"},     {9.9999e-5, 4, "0.0001"}, {9.999e-5, 4, "9.999e-5"}, {-38.44, 3, "-38.4"},     {0.5, 1, "0.5"},
    {2.5, 1, "2"},           {3.5, 1, "4"},           {1e300, 4, "1e300"},      {1.2345e-300, 3, "1.23e-300"}, {100, 1, "100"},
    {99.95, 3, "100"},       {0.1, 17, "0.10000000000000001"}, {0.1, 16, "0.1"}, {1.0 / 3, 4, "0.3333"},  {5e-324, 3, "4.94e-324"},
    {INFINITY, 4, "infinity"}, {-INFINITY, 4, "-infinity"}, {NAN, 4, "not a number"}, {42, 99, "42"}, {42, 0, "40"},
};

Test(spelling, numbers_are_short) {
    Arena *arena = given_arena();
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
        cr_text(spell_number(arena, numbers[i].number, numbers[i].digits), numbers[i].spelled);
    arena_close(arena);
}

Test(spelling, fixed_keeps_its_zeros) {
    Arena *arena = given_arena();
    cr_text(spell_fixed(arena, 1.4, 2), "1.40");
    cr_text(spell_fixed(arena, 0.005, 2), "0.01"); /* the double is a little above the tie */
    cr_text(spell_fixed(arena, 0.125, 2), "0.12");
    cr_text(spell_fixed(arena, -0.001, 2), "0.00");
    cr_text(spell_fixed(arena, 0, 3), "0.000");
    cr_text(spell_fixed(arena, 999.96, 1), "1000.0");
    cr_text(spell_fixed(arena, 12, 0), "12");
    cr_text(spell_fixed(arena, 0.96, 0), "1");
    cr_text(spell_fixed(arena, INFINITY, 2), "infinity");
    arena_close(arena);
}

Test(spelling, does_not_follow_the_locale) {
    setlocale(LC_ALL, "de_DE.UTF-8");
    setlocale(LC_ALL, "de_DE");
    Arena *arena = given_arena();
    cr_text(spell_number(arena, 38.4, 4), "38.4");
    cr_text(spell_fixed(arena, 1234.5, 1), "1234.5");
    setlocale(LC_ALL, "C");
    arena_close(arena);
}

/* ---- values --------------------------------------------------------------------------------------------------------------------- */

static const struct {
    const char *kind, *unit;
    double si;
    const char *spelled;
} values[] = {
    {"length", "", 0.32, "320 mm"},
    {"length", "", 0.99996, "1 m"},
    {"length", "", 0.99994, "999.9 mm"},
    {"length", "", 1, "1 m"},
    {"length", "", -0.32, "-320 mm"},
    {"length", "", 2e-9, "0.002 μm"},
    {"length", "", 0, "0 mm"},
    {"length", "in", 0.0254, "1 in"},
    {"angular-velocity", "", 241.274315796, "2304 rpm"},
    {"angular-velocity", "rev/s", 241.274315796, "38.4 rev/s"},
    {"torque", "", 0.0567, "56.7 mN·m"},
    {"torque", "", 2, "2 N·m"},
    {"moment-of-inertia", "", 3.9e-7, "3.9 g·cm²"},
    {"moment-of-inertia", "", 3.9e-4, "3.9 kg·cm²"},
    {"current", "", 0.5, "500 mA"},
    {"time", "", 1.4, "1.4 s"},
    {"time", "", 84, "84 s"},
    {"power", "", 1234.5, "1.234 kW"},
    {"temperature", "", 308.15, "35 °C"},
    {"temperature", "", 273.15, "0 °C"},
    {"temperature", "", 233.15, "-40 °C"},
    {"temperature", "°F", 310.9277777777778, "100 °F"},
    {"temperature-difference", "", 40, "40 K"},
    {"temperature-coefficient", "", 0.00393, "0.393 %/K"},
    {"efficiency", "", 0.72, "72 %"},
    {"ratio", "", 14, "14"},
    {"ratio", "%", 0.14, "14 %"},
    {"lead", "", 0.01 / 6.283185307179586, "10 mm/rev"},
    {"torque-constant", "", 0.0224, "22.4 mN·m/A"},
    {"speed-constant", "", 1 / 0.0224, "426.3 rpm/V"},
    {"voltage-constant", "", 0.0224, "2.346 V/krpm"},
    {"angle", "", 0.001, "3.438 arcmin"},
    {"length", "", INFINITY, "infinity m"},
};

Test(spelling, values_come_in_the_unit_of_the_trade) {
    Given given = given_units("");
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        UnitId unit = values[i].unit[0] ? given_unit(&given, values[i].unit) : 0;
        cr_text(spell_value(given.vocabulary, given.arena, values[i].si, given_of(&given, values[i].kind), unit, SPELL_DIGITS), values[i].spelled);
    }
    arena_close(given.arena);
}

Test(spelling, values_without_a_kind) {
    Given given = given_units("");
    cr_text(spell_value(given.vocabulary, given.arena, 5, measure_number(), 0, 4), "5");
    Measure odd;
    cr_assert(measure_power(given_of(&given, "length"), 5, 1, &odd));
    cr_text(spell_value(given.vocabulary, given.arena, 5.25, odd, 0, 4), "5.25 m⁵");
    Measure force = given_of(&given, "force");
    force.kind = 0;
    cr_text(spell_value(given.vocabulary, given.arena, 5250, force, 0, 4), "5.25 kN");
    cr_text(symbol_text(given.symbols, unit_of(given.vocabulary, spell_unit(given.vocabulary, 5250, force))->text), "kN");
    cr_assert_eq(spell_unit(given.vocabulary, 1, odd), 0u);
    arena_close(given.arena);
}

Test(spelling, shares_are_margins) {
    static const struct {
        double share;
        const char *spelled;
    } shares[] = {{0.067, "6.7 %"},   {0.07, "7.0 %"},  {0.12345, "12 %"}, {0.0996, "10 %"},     {0.5, "50 %"},   {1.234, "123 %"},
                  {-0.031, "-3.1 %"}, {0.0043, "0.43 %"}, {0, "0.0 %"},    {1e-5, "0.0010 %"}, {0.0994, "9.9 %"}, {1e9, "1e11 %"},
                  {NAN, "not a number %"}};
    Arena *arena = given_arena();
    for (size_t i = 0; i < sizeof shares / sizeof shares[0]; i++) cr_text(spell_share(arena, shares[i].share), shares[i].spelled);
    arena_close(arena);
}
