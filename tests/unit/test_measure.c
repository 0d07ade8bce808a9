#include "given_units.h"

static Fit fits(Given *given, Measure value, const char *kind) {
    return measure_fits(given->vocabulary, value, given_kind(given, kind));
}

/* ---- a written number for a kind -------------------------------------------------------------------------------------- */

static const struct {
    const char *unit, *kind;
    Fit fit;
} written[] = {
    {"N·m", "torque", FIT_YES},
    {"N·m/rad", "torque", FIT_YES},
    {"kgf·cm", "torque", FIT_YES},
    {"ozf·in", "torque", FIT_YES},
    {"J", "torque", FIT_OTHER_KIND},
    {"kJ", "torque", FIT_OTHER_KIND},
    {"W·h", "torque", FIT_OTHER_KIND},
    {"J/rad", "torque", FIT_YES},
    {"N", "torque", FIT_DIMENSION},
    {"kg·m²", "moment-of-inertia", FIT_YES},
    {"g·cm²", "moment-of-inertia", FIT_YES},
    {"kg·m²/rad²", "moment-of-inertia", FIT_YES},
    {"N·m·s²", "moment-of-inertia", FIT_YES},
    {"J·s²", "moment-of-inertia", FIT_OTHER_KIND},
    {"kg·m", "moment-of-inertia", FIT_DIMENSION},
    {"J", "energy", FIT_YES},
    {"W·h", "energy", FIT_YES},
    {"N·m", "energy", FIT_YES},
    {"N·m/rad", "energy", FIT_ANGLE},
    {"rpm", "angular-velocity", FIT_YES},
    {"rev/s", "angular-velocity", FIT_YES},
    {"deg/s", "angular-velocity", FIT_YES},
    {"Hz", "angular-velocity", FIT_ANGLE},
    {"1/s", "angular-velocity", FIT_ANGLE},
    {"count/s", "angular-velocity", FIT_ANGLE},
    {"m/s", "angular-velocity", FIT_DIMENSION},
    {"Hz", "frequency", FIT_YES},
    {"rev/s", "frequency", FIT_ANGLE},
    {"1/s²", "angular-acceleration", FIT_ANGLE},
    {"N·m/A", "torque-constant", FIT_YES},
    {"V/(rad/s)", "torque-constant", FIT_YES},
    {"V/rpm", "torque-constant", FIT_YES},
    {"V/rpm", "voltage-constant", FIT_YES},
    {"mN·m/A", "voltage-constant", FIT_YES},
    {"V·s", "torque-constant", FIT_OTHER_KIND},
    {"Wb", "torque-constant", FIT_OTHER_KIND},
    {"V/Hz", "torque-constant", FIT_OTHER_KIND},
    {"rpm/V", "speed-constant", FIT_YES},
    {"1/(V·s)", "speed-constant", FIT_OTHER_KIND},
    {"rpm/(mN·m)", "speed-torque-slope", FIT_YES},
    {"mm/rev", "lead", FIT_YES},
    {"mm", "lead", FIT_ANGLE},
    {"mm/rev", "length", FIT_ANGLE},
    {"mm", "length", FIT_YES},
    {"N", "length", FIT_DIMENSION},
    {"N·m/rad", "torsional-stiffness", FIT_YES},
    {"N·m/arcmin", "torsional-stiffness", FIT_YES},
    {"N·m", "torsional-stiffness", FIT_ANGLE},
    {"N·m·s/rad", "rotary-damping", FIT_YES},
    {"N·m/(rad/s)", "rotary-damping", FIT_YES},
    {"N·m/√W", "motor-constant", FIT_YES},
    {"N·m/W^(1/2)", "motor-constant", FIT_YES},
    {"%", "efficiency", FIT_YES},
    {"%", "ratio", FIT_YES},
    {"m", "ratio", FIT_DIMENSION},
    {"deg", "ratio", FIT_ANGLE},
    {"deg", "angle", FIT_YES},
    {"arcmin", "angle", FIT_YES},
    {"%", "angle", FIT_ANGLE},
    {"%/K", "temperature-coefficient", FIT_YES},
    {"°C/W", "thermal-resistance", FIT_YES},
    {"°C", "temperature", FIT_YES},
    {"°F", "temperature", FIT_YES},
    {"K", "temperature", FIT_DIFFERENCE},
    {"°C", "temperature-difference", FIT_POINT},
    {"K", "temperature-difference", FIT_YES},
    {"°C", "length", FIT_DIMENSION},
    {"Pa", "energy", FIT_DIMENSION},
};

Test(measure, a_written_number_fits_its_kind) {
    Given given = given_units("");
    for (size_t i = 0; i < sizeof written / sizeof written[0]; i++) {
        Fit fit = fits(&given, given_measure(&given, written[i].unit), written[i].kind);
        cr_assert_eq(fit, written[i].fit, "%s for a %s is %d, not %d", written[i].unit, written[i].kind, (int)fit, (int)written[i].fit);
    }
    arena_close(given.arena);
}

Test(measure, a_bare_number_is_a_number) {
    Given given = given_units("");
    Measure bare = measure_of_unit(given.vocabulary, 0);
    cr_assert(bare.written && dimension_is_number(bare.dimension));
    cr_assert_eq(fits(&given, bare, "ratio"), FIT_YES);
    cr_assert_eq(fits(&given, bare, "count"), FIT_YES);
    cr_assert_eq(fits(&given, bare, "length"), FIT_DIMENSION);
    cr_assert_eq(fits(&given, bare, "angle"), FIT_ANGLE, "5 is no angle");
    bare.zero = true;
    cr_assert_eq(fits(&given, bare, "force"), FIT_DIMENSION, "0 neither");
    arena_close(given.arena);
}

/* ---- a computed value for a kind ----------------------------------------------------------------------------------------- */

static Measure times(Measure a, Measure b) {
    Measure out;
    cr_assert(measure_multiply(a, b, &out));
    return out;
}

static Measure over(Measure a, Measure b) {
    Measure out;
    cr_assert(measure_divide(a, b, &out));
    return out;
}

static Measure to(Measure a, int numerator, int denominator) {
    Measure out;
    cr_assert(measure_power(a, numerator, denominator, &out));
    return out;
}

Test(measure, formulas_of_the_trade_fit) {
    Given given = given_units("");
    Measure mass = given_of(&given, "mass"), radius = given_of(&given, "length"), force = given_of(&given, "force");
    Measure torque = given_of(&given, "torque"), speed = given_of(&given, "angular-velocity"), lead = given_of(&given, "lead");
    Measure inertia = given_of(&given, "moment-of-inertia"), rise = given_of(&given, "angular-acceleration");
    Measure current = given_of(&given, "current"), voltage = given_of(&given, "voltage"), power = given_of(&given, "power");
    Measure constant = given_of(&given, "torque-constant"), resistance = given_of(&given, "resistance");
    Measure velocity = given_of(&given, "velocity"), angle = given_of(&given, "angle");
    const struct {
        Measure value;
        const char *kind;
    } cases[] = {
        {times(mass, to(radius, 2, 1)), "moment-of-inertia"},
        {times(mass, to(lead, 2, 1)), "moment-of-inertia"},
        {times(inertia, rise), "torque"},
        {times(force, radius), "torque"},
        {times(force, lead), "torque"},
        {times(torque, speed), "power"},
        {times(torque, angle), "energy"},
        {times(inertia, to(speed, 2, 1)), "energy"},
        {over(torque, radius), "force"},
        {over(torque, lead), "force"},
        {times(lead, speed), "velocity"},
        {times(radius, speed), "velocity"},
        {over(velocity, radius), "angular-velocity"},
        {over(velocity, lead), "angular-velocity"},
        {times(radius, to(speed, 2, 1)), "acceleration"},
        {times(mass, times(radius, to(speed, 2, 1))), "force"},
        {times(radius, angle), "length"},
        {over(radius, radius), "angle"},
        {times(constant, current), "torque"},
        {times(constant, speed), "voltage"},
        {over(measure_number(), constant), "speed-constant"},
        {over(resistance, to(constant, 2, 1)), "speed-torque-slope"},
        {over(constant, to(resistance, 1, 2)), "motor-constant"},
        {over(voltage, constant), "angular-velocity"},
        {over(over(torque, angle), measure_number()), "torsional-stiffness"},
        {to(over(given_of(&given, "torsional-stiffness"), inertia), 1, 2), "frequency"},
        {over(power, speed), "torque"},
        {over(to(torque, 2, 1), inertia), "power-rate"},
        {times(to(current, 2, 1), resistance), "power"},
        {times(given_measure(&given, "N·m/A"), current), "torque"},
        {times(given_measure(&given, "N·m"), angle), "energy"},
        {times(given_measure(&given, "N·m"), speed), "power"},
        {over(given_measure(&given, "N·m"), inertia), "angular-acceleration"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        cr_assert_eq(fits(&given, cases[i].value, cases[i].kind), FIT_YES, "case %zu, %s", i, cases[i].kind);
    arena_close(given.arena);
}

Test(measure, known_kinds_are_not_mistaken) {
    Given given = given_units("");
    cr_assert_eq(fits(&given, given_of(&given, "energy"), "torque"), FIT_OTHER_KIND);
    cr_assert_eq(fits(&given, given_of(&given, "torque"), "energy"), FIT_ANGLE);
    cr_assert_eq(fits(&given, given_of(&given, "frequency"), "angular-velocity"), FIT_ANGLE);
    cr_assert_eq(fits(&given, given_of(&given, "length"), "lead"), FIT_ANGLE);
    cr_assert_eq(fits(&given, given_of(&given, "ratio"), "angle"), FIT_ANGLE);
    /* kinds of one dimension stand for each other */
    cr_assert_eq(fits(&given, given_of(&given, "ratio"), "efficiency"), FIT_YES);
    cr_assert_eq(fits(&given, given_of(&given, "torque-constant"), "voltage-constant"), FIT_YES);
    cr_assert_eq(fits(&given, given_of(&given, "voltage-constant"), "torque-constant"), FIT_YES);
    /* and a number times a kind is of that kind still */
    Measure doubled = times(measure_of_unit(given.vocabulary, 0), given_of(&given, "energy"));
    cr_assert_eq(doubled.kind, given_kind(&given, "energy"));
    cr_assert_eq(fits(&given, doubled, "torque"), FIT_OTHER_KIND);
    cr_assert_eq(fits(&given, times(given_of(&given, "energy"), given_of(&given, "efficiency")), "torque"), FIT_OTHER_KIND);
    cr_assert_eq(fits(&given, over(given_of(&given, "energy"), given_of(&given, "efficiency")), "torque"), FIT_OTHER_KIND);
    Measure two = times(measure_of_unit(given.vocabulary, 0), measure_of_unit(given.vocabulary, 0));
    cr_assert_eq(fits(&given, two, "angle"), FIT_ANGLE, "2 * 3 is no angle either");
    arena_close(given.arena);
}

Test(measure, a_unit_of_a_kind_fits_that_kind) {
    Given given = given_units("unit inlb = 1 lbf·in of torque\n");
    given_silence(&given);
    cr_assert_eq(fits(&given, given_measure(&given, "inlb"), "torque"), FIT_YES);
    arena_close(given.arena);
}

/* ---- two that meet ----------------------------------------------------------------------------------------------------------- */

static Fit meet(Given *given, Operator operation, Measure a, Measure b, Measure *out) {
    return measure_meet(given->vocabulary, operation, a, b, out);
}

Test(measure, two_that_meet_agree) {
    Given given = given_units("");
    Measure out;
    Measure torque = given_of(&given, "torque");
    cr_assert_eq(meet(&given, OPERATOR_PLUS, torque, given_measure(&given, "N·m"), &out), FIT_YES);
    cr_assert_eq(out.kind, given_kind(&given, "torque"));
    cr_assert(dimension_equal(out.dimension, torque.dimension) && !out.written);
    cr_assert_eq(meet(&given, OPERATOR_AT_MOST, given_measure(&given, "N·m"), torque, &out), FIT_YES);
    cr_assert_eq(out.kind, given_kind(&given, "torque"));
    cr_assert_eq(meet(&given, OPERATOR_PLUS, torque, given_measure(&given, "J"), &out), FIT_OTHER_KIND);
    cr_assert_eq(meet(&given, OPERATOR_PLUS, torque, given_of(&given, "energy"), &out), FIT_OTHER_KIND);
    cr_assert_eq(meet(&given, OPERATOR_PLUS, torque, times(given_of(&given, "force"), given_of(&given, "length")), &out), FIT_YES);
    cr_assert_eq(meet(&given, OPERATOR_LESS, given_of(&given, "angular-velocity"), given_measure(&given, "Hz"), &out), FIT_ANGLE);
    cr_assert_eq(meet(&given, OPERATOR_LESS, given_measure(&given, "rev/s"), given_measure(&given, "Hz"), &out), FIT_ANGLE);
    cr_assert_eq(meet(&given, OPERATOR_LESS, given_of(&given, "length"), given_measure(&given, "N"), &out), FIT_DIMENSION);
    cr_assert_eq(meet(&given, OPERATOR_EQUAL, given_of(&given, "torque-constant"), given_of(&given, "voltage-constant"), &out), FIT_YES);
    cr_assert_eq(meet(&given, OPERATOR_EQUAL, given_of(&given, "voltage-constant"), given_measure(&given, "N·m/A"), &out), FIT_YES);
    cr_assert_eq(meet(&given, OPERATOR_PLUS, given_measure(&given, "J"), given_measure(&given, "N·m"), &out), FIT_YES);
    cr_assert_eq(out.kind, given_kind(&given, "energy"));
    cr_assert_eq(meet(&given, OPERATOR_PLUS, given_of(&given, "length"), given_measure(&given, "mm"), &out), FIT_YES);
    cr_assert_eq(out.kind, given_kind(&given, "length"));
    cr_assert_eq(meet(&given, OPERATOR_LESS, given_of(&given, "length"), measure_of_unit(given.vocabulary, 0), &out), FIT_DIMENSION);
    arena_close(given.arena);
}

Test(measure, points_and_differences) {
    Given given = given_units("");
    Measure point = given_of(&given, "temperature"), difference = given_of(&given, "temperature-difference"), out;
    cr_assert(point.point && !difference.point);
    cr_assert_eq(meet(&given, OPERATOR_MINUS, point, given_measure(&given, "°C"), &out), FIT_YES);
    cr_assert(!out.point, "a point less a point is a difference");
    cr_assert_eq(fits(&given, out, "temperature-difference"), FIT_YES);
    cr_assert_eq(fits(&given, out, "temperature"), FIT_DIFFERENCE);
    cr_assert_eq(meet(&given, OPERATOR_PLUS, point, point, &out), FIT_POINT);
    cr_assert_eq(meet(&given, OPERATOR_PLUS, point, difference, &out), FIT_YES);
    cr_assert(out.point && out.kind == given_kind(&given, "temperature"));
    cr_assert_eq(meet(&given, OPERATOR_PLUS, given_measure(&given, "K"), point, &out), FIT_YES);
    cr_assert(out.point && out.kind == given_kind(&given, "temperature"));
    cr_assert_eq(meet(&given, OPERATOR_MINUS, point, difference, &out), FIT_YES);
    cr_assert(out.point);
    cr_assert_eq(meet(&given, OPERATOR_MINUS, difference, point, &out), FIT_POINT);
    cr_assert_eq(meet(&given, OPERATOR_AT_MOST, point, given_measure(&given, "°F"), &out), FIT_YES);
    cr_assert(out.point);
    cr_assert_eq(meet(&given, OPERATOR_AT_MOST, point, given_measure(&given, "K"), &out), FIT_DIFFERENCE);
    cr_assert_eq(meet(&given, OPERATOR_PLUS, difference, difference, &out), FIT_YES);
    cr_assert(!out.point);
    cr_assert_not(measure_multiply(point, measure_number(), &out));
    cr_assert_not(measure_divide(measure_number(), point, &out));
    cr_assert_not(measure_power(point, 2, 1, &out));
    cr_assert(measure_multiply(difference, given_of(&given, "temperature-coefficient"), &out));
    cr_assert(dimension_is_number(out.dimension));
    arena_close(given.arena);
}

Test(measure, products_out_of_range_are_refused) {
    Given given = given_units("");
    Measure length = given_of(&given, "length"), high, out;
    cr_assert(measure_power(length, 21, 1, &high));
    cr_assert_not(measure_multiply(high, length, &out));
    cr_assert_not(measure_power(length, 1, 4, &out));
    cr_assert_not(measure_divide(to(length, -21, 1), length, &out));
    arena_close(given.arena);
}

/* ---- in words ------------------------------------------------------------------------------------------------------------------- */

Test(measure, is_named_in_a_sentence) {
    Given given = given_units("");
    const struct {
        Measure measure;
        const char *words;
    } cases[] = {
        {given_of(&given, "torque"), "a torque"},
        {given_of(&given, "energy"), "an energy"},
        {given_of(&given, "moment-of-inertia"), "a moment of inertia"},
        {given_measure(&given, "N"), "a force"},
        {given_measure(&given, "N·m"), "a torque"},
        {given_measure(&given, "J"), "an energy"},
        {given_measure(&given, "W·h"), "an energy"},
        {given_measure(&given, "mm"), "a length"},
        {given_measure(&given, "kg·m²"), "a moment of inertia"},
        {given_measure(&given, "V·s"), "a magnetic flux"},
        {given_measure(&given, "Hz"), "a frequency"},
        {given_measure(&given, "°C"), "a temperature"},
        {given_measure(&given, "K"), "a temperature difference"},
        {given_measure(&given, "m⁵"), "a quantity in m⁵"},
        {given_measure(&given, "%"), "a number"},
        {measure_number(), "a number"},
        {times(given_of(&given, "force"), given_of(&given, "force")), "a quantity in kg²·m²/s⁴"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        cr_text(measure_words(given.vocabulary, given.arena, cases[i].measure), cases[i].words);
    arena_close(given.arena);
}

Test(measure, gives_an_example) {
    static const char *const examples[][2] = {{"length", "320 mm"},  {"torque", "320 N·m"},   {"temperature", "320 °C"},
                                              {"time", "320 s"},     {"angle", "320 deg"},    {"angular-velocity", "320 rpm"},
                                              {"ratio", "320"},      {"efficiency", "320 %"}, {"frequency", "320 Hz"},
                                              {"current", "320 A"},  {"moment-of-inertia", "320 kg·cm²"}};
    Given given = given_units("kind bulge in m⁵\n");
    for (size_t i = 0; i < sizeof examples / sizeof examples[0]; i++)
        cr_text(kind_example(given.vocabulary, given.arena, given_kind(&given, examples[i][0]), TEXT("320")), examples[i][1]);
    cr_text(kind_example(given.vocabulary, given.arena, given_kind(&given, "bulge"), TEXT("0.3")), "0.3 m⁵");
    arena_close(given.arena);
}

Test(measure, every_kind_of_the_standard_library_holds_together) {
    Given given = given_units("");
    given_silence(&given);
    for (KindId id = 1; id <= vocabulary_kind_count(given.vocabulary); id++) {
        const Kind *kind = kind_of(given.vocabulary, id);
        Text name = symbol_text(given.symbols, kind->name);
        cr_assert(kind->title.length > 0, "%.*s has no title", (int)name.length, name.at);
        cr_assert(kind->shown_count > 0, "%.*s is shown in nothing", (int)name.length, name.at);
        cr_assert_eq(measure_fits(given.vocabulary, measure_of_kind(given.vocabulary, id), id), FIT_YES);
        for (uint32_t i = 0; i < kind->shown_count; i++) /* what is shown can be written again */
            cr_assert_eq(measure_fits(given.vocabulary, measure_of_unit(given.vocabulary, kind->shown[i]), id), FIT_YES, "%.*s",
                         (int)name.length, name.at);
    }
    cr_assert_eq(vocabulary_kind(given.vocabulary, symbol_of(given.symbols, TEXT("warmth"))), 0u);
    arena_close(given.arena);
}
