#include "given_units.h"

/* ---- published factors ------------------------------------------------------------------------------------------------ */

/* NIST Special Publication 811 (2008), appendix B: a factor as printed (to seven digits, or exact), to SI. */
static const struct {
    const char *unit, *si;
    double factor;
    bool exact;
} factors[] = {
    /* torque, force, mass, inertia, power */
    {"ozf·in", "N·m", 7.061552e-3, false},
    {"lbf·ft", "N·m", 1.355818, false},
    {"kgf·m", "N·m", 9.80665, true},
    {"dyn·cm", "N·m", 1e-7, true},
    {"lbf", "N", 4.448222, false},
    {"kgf", "N", 9.80665, true},
    {"kip", "N", 4448.222, false},
    {"lb·ft²", "kg·m²", 4.214011e-2, false},
    {"slug", "kg", 14.59390, false},
    {"hp", "W", 745.6999, false},
    {"hp_metric", "W", 735.4988, false},
    {"hp_electric", "W", 746, true},
    {"ft·lbf/min", "W", 2.259697e-2, false},
    {"ft·lbf/s", "W", 1.355818, false},
    {"ft·pdl", "J", 4.214011e-2, false},
    /* angle, speed, pressure, length, field, temperature difference */
    {"deg", "rad", 1.745329e-2, false},
    {"°", "rad", 1.745329e-2, false},
    {"arcmin", "rad", 2.908882e-4, false},
    {"gon", "rad", 1.570796e-2, false},
    {"rev", "rad", 6.283185, false},
    {"r/min", "rad/s", 0.1047198, false},
    {"rpm", "rad/s", 0.1047198, false},
    {"ft/min", "m/s", 5.08e-3, true},
    {"mi/h", "m/s", 0.44704, true},
    {"psi", "Pa", 6894.757, false},
    {"bar", "Pa", 1e5, true},
    {"mil", "m", 2.54e-5, true},
    {"gauss", "T", 1e-4, true},
    {"°F/s", "K/s", 0.5555556, false},
};

Test(unit, factors_are_those_of_nist_sp_811) {
    Given given = given_units("");
    for (size_t i = 0; i < sizeof factors / sizeof factors[0]; i++) {
        const Unit *unit = given_good(&given, factors[i].unit), *si = given_good(&given, factors[i].si);
        cr_assert(dimension_equal(unit->dimension, si->dimension), "%s is not measured in %s", factors[i].unit, factors[i].si);
        cr_assert_eq(si->factor, 1.0);
        if (factors[i].exact) cr_assert_eq(unit->factor, factors[i].factor, "%s is %.17g", factors[i].unit, unit->factor);
        else cr_near(unit->factor, factors[i].factor, 5.1e-7); /* half a unit of the seventh digit, where that is a 1 */
    }
    given_silence(&given);
    arena_close(given.arena);
}

/* From the exact definitions (international yard and pound agreement, 1959; standard free fall, 3rd CGPM, 1901), worked out
 * in decimal; here the last bit counts. */
Test(unit, decimal_sizes_are_exact) {
    static const struct {
        const char *unit;
        double factor;
    } exact[] = {
        {"in", 0.0254},          {"in²", 0.00064516},     {"lb", 0.45359237},        {"lbf", 4.4482216152605},
        {"kgf·cm", 0.0980665},   {"g·cm²", 1e-7},         {"kg·cm²", 1e-4},          {"mN·m/A", 1e-3},
        {"µm", 1e-6},            {"um", 1e-6},            {"gf·cm", 9.80665e-5},     {"kN/mm", 1e6},
        {"mm²", 1e-6},           {"km/h", 1 / 3.6},       {"W·h", 3600},             {"kW·h", 3.6e6},
        {"A·h", 3600},           {"L/min", 1e-3 / 60},    {"g·mm²", 1e-9},           {"ozf·in", 0.00706155181422604375},
        {"mg·mm²", 1e-12},       {"Ω·mm²/m", 1e-6},       {"%/K", 0.01},             {"hp_metric", 735.49875},
        {"g·m²", 1e-3},          {"µN·m", 1e-6},          {"mΩ", 1e-3},              {"d", 86400},
    };
    Given given = given_units("");
    for (size_t i = 0; i < sizeof exact / sizeof exact[0]; i++)
        cr_assert_eq(given_good(&given, exact[i].unit)->factor, exact[i].factor, "%s is %.17g", exact[i].unit,
                     unit_of(given.vocabulary, given_unit(&given, exact[i].unit))->factor);
    arena_close(given.arena);
}

/* 2.74 lbf·ft is given as 3.715 N·m in the trade. */
Test(unit, converts_a_torque_as_the_trade_does) {
    Given given = given_units("");
    cr_near(2.74 * given_good(&given, "lbf·ft")->factor, 3.715, 5e-5);
    arena_close(given.arena);
}

/* One volt second per radian in other units: 1 N·m/A, 104.72 V/krpm, 9.5493 rpm/V, 141.61 ozf·in/A; follows from the SI. */
Test(unit, motor_constants_agree) {
    Given given = given_units("");
    cr_near(1 / given_good(&given, "V/krpm")->factor, 104.72, 2e-5);
    cr_near(1 / given_good(&given, "V/krpm")->factor, 100 * acos(-1) / 3, 1e-15);
    cr_near(1 / given_good(&given, "rpm/V")->factor, 9.5493, 2e-6);
    cr_near(1 / given_good(&given, "ozf·in/A")->factor, 141.6119, 5e-7);
    cr_assert(dimension_equal(given_good(&given, "V/(rad/s)")->dimension, given_good(&given, "N·m/(rad·A)")->dimension));
    cr_assert(dimension_equal(given_good(&given, "V/rpm")->dimension, given_good(&given, "V·s/rad")->dimension));
    arena_close(given.arena);
}

/* BIPM, SI Brochure, 9th edition, table 7; Resolution 3 of the 27th CGPM, 2022. */
Test(unit, prefixes_are_those_of_the_si) {
    static const struct {
        const char *prefix;
        double factor;
    } prefixes[] = {{"Q", 1e30},  {"R", 1e27},  {"Y", 1e24},  {"Z", 1e21},  {"E", 1e18},  {"P", 1e15},  {"T", 1e12},
                    {"G", 1e9},   {"M", 1e6},   {"k", 1e3},   {"h", 1e2},   {"da", 1e1},  {"d", 1e-1},  {"c", 1e-2},
                    {"m", 1e-3},  {"µ", 1e-6},  {"u", 1e-6},  {"n", 1e-9},  {"p", 1e-12}, {"f", 1e-15}, {"a", 1e-18},
                    {"z", 1e-21}, {"y", 1e-24}, {"r", 1e-27}, {"q", 1e-30}, {"μ", 1e-6}};
    Given given = given_units("");
    for (size_t i = 0; i < sizeof prefixes / sizeof prefixes[0]; i++) {
        char name[16];
        snprintf(name, sizeof name, "%sW", prefixes[i].prefix);
        cr_assert_eq(given_good(&given, name)->factor, prefixes[i].factor, "%s", name);
    }
    arena_close(given.arena);
}

/* ---- reading ------------------------------------------------------------------------------------------------------------------ */

/* Two texts for one unit. */
Test(unit, is_read_in_all_its_spellings) {
    static const char *const pairs[][2] = {
        {"N*m", "N·m"},         {"N⋅m", "N·m"},       {"m^2", "m²"},         {"m^-1", "1/m"},       {"s⁻¹", "1/s"},
        {"s⁻²", "1/s^2"},       {"m¹⁰", "m^10"},      {"m^0.5", "m^(1/2)"},  {"√W", "W^0.5"},       {"N·m/√W", "N·m/W^0.5"},
        {"V/(rad/s)", "V·s/rad"}, {"(m)", "m"},       {"m/s/s", "m/s²"},     {"(m/s)²", "m²/s²"},   {"m^+2", "m²"},
        {"um", "µm"},       {"\xc2\xb5m", "μm"},   {"Ohm", "Ω"},          {"\xe2\x84\xa6", "Ω"},
        {"kOhm", "kΩ"},         {"degC", "°C"},       {"deg", "°"},          {"arcsec", "″"},       {"1", "m/m"},
        {"1/1/s", "1/s"},       {"m·1", "m"},         {"((m)/(s))", "m/s"},  {"m^(-1)", "1/m"},     {"m^1.5", "m^(3/2)"},
        {"K⁺¹", "K"},
    };
    Given given = given_units("");
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        const Unit *a = given_good(&given, pairs[i][0]), *b = given_good(&given, pairs[i][1]);
        cr_assert(dimension_equal(a->dimension, b->dimension), "%s is not %s", pairs[i][0], pairs[i][1]);
        cr_assert_eq(a->factor, b->factor, "%s is not %s", pairs[i][0], pairs[i][1]);
    }
    given_silence(&given);
    arena_close(given.arena);
}

/* NIST SP 811 and the SI Brochure warn of the pairs that one letter confuses. */
Test(unit, whole_names_go_before_prefixes) {
    static const struct {
        const char *unit, *si;
        double factor;
    } traps[] = {{"min", "s", 60},      {"mm", "m", 1e-3},     {"m·N", "N·m", 1},     {"mN·m", "N·m", 1e-3}, {"dam", "m", 10},
                 {"dm", "m", 0.1},      {"T", "T", 1},         {"mT", "T", 1e-3},     {"TT", "T", 1e12},     {"cd", "cd", 1},
                 {"Pa", "Pa", 1},       {"kg", "kg", 1},       {"mg", "kg", 1e-6},    {"in", "m", 0.0254},   {"ft", "m", 0.3048},
                 {"hp", "W", 745.69987158227022}, {"h", "s", 3600}, {"d", "s", 86400}, {"mil", "m", 2.54e-5}, {"daN", "N", 10},
                 {"mmol", "mol", 1e-3}, {"mrad", "rad", 1e-3}, {"Gg", "kg", 1e6},     {"G", "T", 1e-4},      {"yd", "m", 0.9144},
                 {"uin", "m", 2.54e-8}, {"kt", "kg", 1e6},     {"g", "kg", 1e-3}};
    Given given = given_units("");
    for (size_t i = 0; i < sizeof traps / sizeof traps[0]; i++) {
        const Unit *unit = given_good(&given, traps[i].unit), *si = given_good(&given, traps[i].si);
        cr_assert(dimension_equal(unit->dimension, si->dimension), "%s is not measured in %s", traps[i].unit, traps[i].si);
        cr_near(unit->factor, traps[i].factor, 2.3e-16);
    }
    arena_close(given.arena);
}

/* NIST SP 811, appendix B: ft·pdl to J and lb·ft² to kg·m² have the same factor, and differ by seconds squared. */
Test(unit, equal_factors_are_not_equal_units) {
    Given given = given_units("");
    cr_assert_eq(given_good(&given, "ft·pdl")->factor, given_good(&given, "lb·ft²")->factor);
    cr_assert_not(dimension_equal(given_good(&given, "ft·pdl")->dimension, given_good(&given, "lb·ft²")->dimension));
    cr_assert_not(dimension_equal(given_good(&given, "rev/min")->dimension, given_good(&given, "1/min")->dimension));
    arena_close(given.arena);
}

Test(unit, knows_points_and_differences) {
    Given given = given_units("");
    const Unit *celsius = given_good(&given, "°C"), *fahrenheit = given_good(&given, "°F");
    cr_assert(celsius->is_point && fahrenheit->is_point);
    cr_assert_eq(25 * celsius->factor + celsius->zero, 298.15);
    cr_near(-40 * fahrenheit->factor + fahrenheit->zero, 233.15, 1e-15); /* −40 on both scales */
    cr_near(212 * fahrenheit->factor + fahrenheit->zero, 373.15, 1e-15); /* boiling water */
    cr_assert_not(given_good(&given, "K")->is_point);
    const Unit *per_watt = given_good(&given, "°C/W");
    cr_assert(!per_watt->is_point && per_watt->zero == 0 && per_watt->factor == 1);
    cr_assert_not(given_good(&given, "%/°C")->is_point);
    arena_close(given.arena);
}

Test(unit, has_a_kind_only_when_it_stands_alone) {
    Given given = given_units("");
    cr_assert_eq(given_good(&given, "J")->kind, given_kind(&given, "energy"));
    cr_assert_eq(given_good(&given, "kJ")->kind, given_kind(&given, "energy"));
    cr_assert_eq(given_good(&given, "J/rad")->kind, 0u);
    cr_assert_eq(given_good(&given, "W·h")->kind, 0u);
    cr_assert_eq(given_good(&given, "N·m")->kind, 0u);
    arena_close(given.arena);
}

Test(unit, knows_a_lever_arm) {
    static const char *const with[] = {"N·m", "kgf·cm", "kg·m²", "ozf·in", "m", "N·m/A", "rpm/(mN·m)", "lbf·ft"};
    static const char *const without[] = {"J", "W·h", "V·s", "Pa", "L", "Hz", "rad/s", "%", "eV"};
    Given given = given_units("");
    for (size_t i = 0; i < sizeof with / sizeof with[0]; i++)
        cr_assert(given_good(&given, with[i])->has_length, "%s", with[i]);
    for (size_t i = 0; i < sizeof without / sizeof without[0]; i++)
        cr_assert_not(given_good(&given, without[i])->has_length, "%s", without[i]);
    arena_close(given.arena);
}

Test(unit, is_read_once_for_each_text) {
    Given given = given_units("");
    UnitId first = given_unit(&given, "mN·m/A");
    cr_assert(first != 0);
    cr_assert_eq(given_unit(&given, "mN·m/A"), first);
    cr_text(symbol_text(given.symbols, unit_of(given.vocabulary, first)->text), "mN·m/A");
    cr_assert_eq(vocabulary_unit(given.vocabulary, 0, (Span){0, 0}), 0u);
    cr_assert_eq(unit_of(given.vocabulary, 0)->factor, 1.0);
    given_silence(&given);
    arena_close(given.arena);
}

/* ---- what it says ------------------------------------------------------------------------------------------------------------- */

/* A text that is no unit, and all that is said about it. */
static const struct {
    const char *text, *said;
} faults[] = {
    {"Nm", "unit-unknown: there is no unit called Nm. Write N·m.\n"},
    {"RPM", "unit-unknown: there is no unit called RPM. Write rpm.\n"},
    {"sec", "unit-unknown: there is no unit called sec. Write s.\n"},
    {"degrees", "unit-unknown: there is no unit called degrees. Write deg.\n"},
    {"℃", "unit-unknown: there is no unit called ℃. Write °C.\n"},
    {"rad/sec", "unit-unknown: there is no unit called sec. Write s.\n"},
    {"lbs", "unit-unknown: there is no unit called lbs. Write lb.\n"},
    {"KW", "unit-unknown: there is no unit called KW. Write kW.\n"},
    {"Volts", "unit-unknown: there is no unit called Volts. Write V.\n"},
    {"oz-in", "unit-unknown: there is no unit called oz-in. Write ozf·in.\n"},
    {"N-mm", "unit-unknown: there is no unit called N-mm. Factors are joined by · or *: N·mm.\n"},
    {"kWh", "unit-unknown: there is no unit called kWh. Factors are joined by · or *: kW·h.\n"},
    {"mNm/A", "unit-unknown: there is no unit called mNm. Factors are joined by · or *: mN·m.\n"},
    {"kg·m2", "unit-unknown: there is no unit called m2. A power has its sign: m^2.\n"},
    {"rpn", "unit-unknown: there is no unit called rpn. Did you mean rpm?\n"},
    {"zorkmid", "unit-unknown: there is no unit called zorkmid. A unit of your own is declared with its size: unit zorkmid \"…\" = …\n"},
    {"kmin", "unit-prefix: kmin puts the prefix k before min, which takes none. Put the size into the number, and write min alone.\n"},
    {"µkg", "unit-prefix: μkg puts the prefix μ before kg, which takes none. Put the size into the number, and write kg alone.\n"},
    {"m^0.4", "unit-power: ^0.4 is not a power that a unit can have, in m^0.4. Powers are whole numbers, halves, thirds or sixths, not 0, and at most 21.\n"},
    {"m⁰", "unit-power: ⁰ is not a power that a unit can have, in m⁰. Powers are whole numbers, halves, thirds or sixths, not 0, and at most 21.\n"},
    {"s^22", "unit-power: ^22 is not a power that a unit can have, in s^22. Powers are whole numbers, halves, thirds or sixths, not 0, and at most 21.\n"},
    {"m^(1/0)", "unit-power: ^(1/0) is not a power that a unit can have, in m^(1/0). Powers are whole numbers, halves, thirds or sixths, not 0, and at most 21.\n"},
    {"%^99999999999", "unit-power: ^99999999999 is not a power that a unit can have, in %^99999999999. Powers are whole numbers, halves, thirds or sixths, not 0, and at most 21.\n"},
    {"J/kg·K", "unit-unclear: J/kg·K can be taken in two ways, and is taken as J·K/kg. Write J·K/kg if that is meant, or J/(kg·K) if all that follows the stroke divides.\n"},
};

/* Texts that are not built like a unit, and what is said after "… cannot be read as a unit: ". */
static const struct {
    const char *text, *reason;
} malformed[] = {
    {"(m", "a parenthesis is not closed"},
    {"m)", "a parenthesis is closed that was not opened"},
    {"()", "a unit is missing here"},
    {"m//s", "a unit is missing here"},
    {"/s", "a unit is missing here"},
    {"²", "a unit is missing here"},
    {"m·", "something is missing at its end"},
    {"√", "something is missing at its end"},
    {"m(s)", "· or / is missing here"},
    {"m²^2", "· or / is missing here"},
    {"2m", "a number, a sign or a point has no place here"},
    {"2", "a number, a sign or a point has no place here"},
    {"-m", "a number, a sign or a point has no place here"},
    {"m^", "a power is written like ^2, ^-1, ^0.5 or ^(1/2)"},
    {"m^x", "a power is written like ^2, ^-1, ^0.5 or ^(1/2)"},
    {"m^(1/2", "a power is written like ^2, ^-1, ^0.5 or ^(1/2)"},
    {"m^1.", "a power is written like ^2, ^-1, ^0.5 or ^(1/2)"},
    {"m⁻", "a raised power is written like ² or ⁻¹"},
    {"m²⁻", "a raised power is written like ² or ⁻¹"},
    {"m^15·m^15", "its powers go beyond the 21st"},
    {"Qm^20", "its size is beyond what can be counted"},
    {"qm^20", "its size is beyond what can be counted"},
    {"(((((((((((((((((((((m)))))))))))))))))))))", "its parentheses are nested too deeply"},
    {"√√√√√√√√√√√√√√√√√√√√√m", "its roots are nested too deeply"},
};

Test(unit, says_what_is_wrong) {
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++) {
        Given given = given_units("");
        UnitId unit = given_unit(&given, faults[i].text);
        cr_assert((unit != 0) == (strncmp(faults[i].said, "unit-unclear", 12) == 0), "%s", faults[i].text);
        cr_text(given_said(&given), faults[i].said);
        arena_close(given.arena);
    }
}

Test(unit, says_what_is_malformed) {
    for (size_t i = 0; i < sizeof malformed / sizeof malformed[0]; i++) {
        Given given = given_units("");
        cr_assert_eq(given_unit(&given, malformed[i].text), 0u, "%s", malformed[i].text);
        char said[512];
        snprintf(said, sizeof said, "unit-malformed: %s cannot be read as a unit: %s. Units are built like m, rev/s, N·m/(rad/s), kg·m^2 or 1/s, without spaces.\n",
                 malformed[i].text, malformed[i].reason);
        cr_text(given_said(&given), said);
        arena_close(given.arena);
    }
}

Test(unit, says_it_again_at_each_place) {
    Given given = given_units("");
    Text line = TEXT("1 Nm/A 2 Nm/A");
    Source *source = source_add(given.sources, TEXT("a.trn"), TEXT("a.trn"), line, SOURCE_NAMED);
    Symbol unit = symbol_of(given.symbols, TEXT("Nm/A"));
    vocabulary_unit(given.vocabulary, unit, (Span){source->base, source->base + 6});
    vocabulary_unit(given.vocabulary, unit, (Span){source->base + 7, source->base + 13});
    cr_assert_eq(given.messages->list.count, 2u);
    cr_text(source_text(given.sources, given.messages->list.at[0].span), "Nm");
    cr_text(source_text(given.sources, given.messages->list.at[1].span), "Nm");
    cr_assert_eq(given.messages->list.at[1].span.start, source->base + 9);
    arena_close(given.arena);
}

Test(unit, survives_any_bytes) {
    static const char *const pieces[] = {"m", "s", "N", "rad", "1", "0", "2", "·", "*", "/", "^", "(", ")", "²", "⁻", "√", "°", "C",
                                         "%", "k", "µ", "\xc2", "\xe2", "\xe2\x81", "\xff", ".", "-", "+", "A", "Ω", "\x01", "W"};
    Given given = given_units("");
    uint64_t state = 7;
    for (int i = 0; i < 60000; i++) {
        char text[64] = "";
        size_t count = 1 + given_random(&state) % 9;
        for (size_t k = 0; k < count; k++) strcat(text, pieces[given_random(&state) % (sizeof pieces / sizeof pieces[0])]);
        uint32_t said = given.messages->list.count;
        UnitId unit = given_unit(&given, text);
        if (unit == 0) {
            cr_assert(given.messages->list.count == said + 1, "one mistake, one message: %s", text);
        } else {
            const Unit *read = unit_of(given.vocabulary, unit);
            cr_assert(read->factor > 0 && isfinite(read->factor), "%s", text);
        }
    }
    arena_close(given.arena);
}

/* ---- declarations -------------------------------------------------------------------------------------------------------------- */

Test(unit, order_of_declarations_does_not_matter) {
    Given given = given_only("unit kip = 1000 lbf\nunit lbf = 4.4482216152605 N\nunit N = 1 kg·m/s²\n"
                             "unit s base time\nunit m base length\nunit kg base mass\n");
    given_silence(&given);
    cr_assert_eq(given_good(&given, "kip")->factor, 4448.2216152605);
    arena_close(given.arena);
}

static const struct {
    const char *text, *said;
} declarations[] = {
    {"unit a = 2 b\nunit b = 3 c\nunit c = 4 a\n",
     "unit-circular: the unit a is defined in terms of itself: a, b, c, a. Define one of them in terms of a unit outside this circle.\n"},
    {"unit a = 2 a\n", "unit-circular: the unit a is defined in terms of itself: a, a. Define one of them in terms of a unit outside this circle.\n"},
    {"unit d = 1 a\nunit a = 2 a\n",
     "unit-circular: the unit a is defined in terms of itself: a, a. Define one of them in terms of a unit outside this circle.\n"},
    {"unit m base length\nunit m base time\n",
     "declared-twice: the unit m is declared a second time; the first is at given.trn:1. Give one of them another name, or remove it.\n"},
    {"unit m, m base length\n",
     "declared-twice: the unit m is declared a second time; the first is at given.trn:1. Give one of them another name, or remove it.\n"},
    {"prefix k = 1e3\nprefix k = 1e3\n",
     "declared-twice: the prefix k is declared a second time; the first is at given.trn:1. Give one of them another name, or remove it.\n"},
    {"unit m base length\nkind size in m\nkind size in m\n",
     "declared-twice: the kind size is declared a second time; the first is at given.trn:2. Give one of them another name, or remove it.\n"},
    {"unit m base lenght\n",
     "unit-dimension: there is no dimension called lenght. The dimensions are length, mass, time, current, temperature, amount, "
     "luminous-intensity and angle.\n"},
    {"unit m base length\nunit n base length\n",
     "unit-base-twice: length has its base unit already: m, at given.trn:1. Give this unit a size instead, such as = 1 m.\n"},
    {"unit x = 0\n", "unit-size: the size of the unit x must be above zero, and not beyond what a number can hold. Check the number after '='.\n"},
    {"prefix x = 0\n", "unit-size: the size of the prefix x must be above zero, and not beyond what a number can hold. Check the number after '='.\n"},
    {"unit m base length\nunit x = 1 m above 3\n",
     "unit-zero-point: x cannot have a zero point here. Only scales of temperature have one, and it is given in kelvin: = 1 K above 273.15 K\n"},
    {"unit m base length\nkind length in m\nunit x = 1 m of lenght\n",
     "unknown-kind: there is no kind of quantity called lenght. Did you mean length?\n"},
    {"unit m base length\nunit s base time\nkind length in m\nunit x = 1 s of length\n",
     "unit-kind-differs: x is said to be of the kind length, which is measured in m, but its size is in s. Check its definition, or name another kind.\n"},
    {"unit m base length\nunit s base time\nkind length in m also s\n",
     "kind-also: length cannot also be written in s, which differs from m by more than a power of angle. After 'also' stand units in which "
     "the trade leaves angle out, such as N·m for N·m/rad.\n"},
    {"unit m base length\nunit s base time\nkind length in m shown s\n",
     "kind-shown: length cannot be shown in s: it measures something else. After 'shown' stand units of this kind, from small to large.\n"},
    {"prefix k = 1e3\nunit m base length prefixes\nkind length in m shown km, m\n",
     "kind-shown: length cannot be shown in m: it is not larger than the one before it. After 'shown' stand units of this kind, from small to "
     "large.\n"},
    {"unit m base length\nkind length in m point\n",
     "kind-point: length cannot be measured in m, which has no zero point. A kind that is a 'point' is measured in a scale with a zero point, and "
     "no other kind is.\n"},
    {"unit K base temperature\nunit °C = 1 K above 273.15\nkind warmth in °C\n",
     "kind-point: warmth cannot be measured in °C, which is counted from a zero point. A kind that is a 'point' is measured in a scale with a "
     "zero point, and no other kind is.\n"},
    {"unit m base length\nkind length in metre\n", "unit-unknown: there is no unit called metre. A unit of your own is declared with its size: unit metre \"…\" = …\n"},
};

Test(unit, declarations_are_checked) {
    for (size_t i = 0; i < sizeof declarations / sizeof declarations[0]; i++) {
        Given given = given_only(declarations[i].text);
        cr_text(given_said(&given), declarations[i].said);
        arena_close(given.arena);
    }
}

Test(unit, a_long_chain_of_definitions_ends) {
    Given given = given_open();
    TextBuilder builder = text_builder(given.arena);
    text_add_string(&builder, "unit m base length\nunit u0 = 1 m\n");
    for (int i = 20000; i > 0; i--) { /* the last one first, so that the chain is followed from its end */
        char line[64];
        snprintf(line, sizeof line, "unit u%d = 1 u%d\n", i, i - 1);
        text_add_string(&builder, line);
    }
    given_declare(&given, TEXT("long.trn"), text_built(&builder));
    vocabulary_finish(given.vocabulary);
    cr_assert(given.messages->list.count > 0);
    cr_text(given.messages->list.at[0].sentence, "the unit u19900 lies more than 100 definitions deep");
    arena_close(given.arena);
}

Test(unit, many_unknown_units_cost_little) {
    Given given = given_units("");
    for (int i = 0; i < 20000; i++) {
        char text[32];
        snprintf(text, sizeof text, "zork%d", i);
        cr_assert_eq(given_unit(&given, text), 0u);
    }
    cr_assert_eq(given.messages->list.count, 20000u);
    arena_close(given.arena);
}

Test(unit, micro_and_ohm_signs_are_letters) {
    Given given = given_only("prefix \xc2\xb5 = 1e-6\nunit m base length prefixes\n");
    cr_assert_eq(given_good(&given, "\xce\xbcm")->factor, 1e-6);
    cr_assert_eq(given_good(&given, "\xc2\xb5m")->factor, 1e-6);
    arena_close(given.arena);
}
