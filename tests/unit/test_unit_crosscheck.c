/* Our units against those of UDUNITS-2 (Unidata), a library with a database of its own. Where the two spell a unit
 * differently, its spelling stands beside ours; "=" means the same. Its ounce, slug and poundal are rounded to seven digits,
 * so these are compared with their definitions in its pounds.
 *
 * UDUNITS takes the radian for a number, so only factors are compared; dimensions have tests of their own. */
#include <udunits2.h>

#include "given_units.h"

static const struct {
    const char *ours, *theirs, *si; /* si: the unit that a factor of 1 stands for, in their spelling */
} units[] = {
    /* length, area, volume */
    {"m", "=", "m"}, {"mm", "=", "m"}, {"µm", "um", "m"}, {"nm", "=", "m"}, {"km", "=", "m"}, {"cm", "=", "m"}, {"dm", "=", "m"},
    {"in", "=", "m"}, {"ft", "=", "m"}, {"yd", "yard", "m"}, {"mi", "mile", "m"}, {"mil", "=", "m"}, {"µin", "microinch", "m"},
    {"mm²", "mm2", "m2"}, {"cm²", "cm2", "m2"}, {"in²", "in2", "m2"}, {"ft²", "ft2", "m2"}, {"mm³", "mm3", "m3"}, {"cm³", "cm3", "m3"},
    {"in³", "in3", "m3"}, {"L", "=", "m3"}, {"mL", "=", "m3"}, {"mm⁴", "mm4", "m4"}, {"cm⁴", "cm4", "m4"}, {"in⁴", "in4", "m4"},
    /* time and motion */
    {"s", "=", "s"}, {"ms", "=", "s"}, {"µs", "us", "s"}, {"min", "=", "s"}, {"h", "=", "s"}, {"d", "=", "s"}, {"Hz", "=", "1/s"},
    {"kHz", "=", "1/s"}, {"MHz", "=", "1/s"}, {"1/min", "=", "1/s"}, {"m/s", "=", "m/s"}, {"mm/s", "=", "m/s"}, {"m/min", "=", "m/s"},
    {"km/h", "=", "m/s"}, {"in/s", "=", "m/s"}, {"ft/s", "=", "m/s"}, {"ft/min", "=", "m/s"}, {"mi/h", "mile/h", "m/s"},
    {"in/min", "=", "m/s"}, {"m/s²", "m/s2", "m/s2"}, {"mm/s²", "mm/s2", "m/s2"}, {"ft/s²", "ft/s2", "m/s2"}, {"in/s²", "in/s2", "m/s2"},
    {"g_n", "standard_free_fall", "m/s2"}, {"m/s³", "m/s3", "m/s3"}, {"mm/s³", "mm/s3", "m/s3"},
    /* angle and turning */
    {"rad", "=", "rad"}, {"mrad", "=", "rad"}, {"deg", "degree", "rad"}, {"arcmin", "arc_minute", "rad"}, {"arcsec", "arc_second", "rad"},
    {"gon", "pi/200 rad", "rad"}, {"rev", "2 pi rad", "rad"}, {"rpm", "2 pi rad/min", "rad/s"}, {"rev/s", "2 pi rad/s", "rad/s"},
    {"r/min", "2 pi rad/min", "rad/s"}, {"krpm", "2000 pi rad/min", "rad/s"}, {"deg/s", "degree/s", "rad/s"}, {"rad/s", "=", "rad/s"},
    {"rev/s²", "2 pi rad/s2", "rad/s2"}, {"rpm/s", "2 pi rad/min/s", "rad/s2"}, {"deg/s²", "degree/s2", "rad/s2"},
    {"mm/rev", "mm/(2 pi rad)", "m/rad"}, {"in/rev", "in/(2 pi rad)", "m/rad"}, {"mm/deg", "mm/degree", "m/rad"},
    /* mass, density, inertia */
    {"kg", "=", "kg"}, {"g", "=", "kg"}, {"mg", "=", "kg"}, {"t", "=", "kg"}, {"lb", "=", "kg"}, {"oz", "lb/16", "kg"}, {"slug", "lbf.s2/ft", "kg"},
    {"kg/m³", "kg/m3", "kg/m3"}, {"g/cm³", "g/cm3", "kg/m3"}, {"lb/in³", "lb/in3", "kg/m3"}, {"lb/ft³", "lb/ft3", "kg/m3"},
    {"kg/m", "=", "kg/m"}, {"g/mm", "=", "kg/m"}, {"lb/ft", "=", "kg/m"}, {"kg/h", "=", "kg/s"}, {"g·mm", "g.mm", "kg.m"},
    {"kg·m²", "kg.m2", "kg.m2"}, {"g·cm²", "g.cm2", "kg.m2"}, {"kg·cm²", "kg.cm2", "kg.m2"}, {"g·mm²", "g.mm2", "kg.m2"},
    {"lb·in²", "lb.in2", "kg.m2"}, {"lb·ft²", "lb.ft2", "kg.m2"}, {"oz·in²", "(lb/16).in2", "kg.m2"}, {"ozf·in·s²", "(lbf/16).in.s2", "kg.m2"},
    {"lbf·in·s²", "lbf.in.s2", "kg.m2"}, {"slug·ft²", "(lbf.s2/ft).ft2", "kg.m2"},
    /* force, torque, stiffness, damping */
    {"N", "=", "N"}, {"kN", "=", "N"}, {"mN", "=", "N"}, {"kgf", "=", "N"}, {"gf", "=", "N"}, {"lbf", "=", "N"}, {"ozf", "(lbf/16)", "N"},
    {"kip", "=", "N"}, {"dyn", "dyne", "N"}, {"pdl", "lb.ft/s2", "N"}, {"N·m", "N.m", "N.m"}, {"mN·m", "mN.m", "N.m"},
    {"µN·m", "uN.m", "N.m"}, {"kN·m", "kN.m", "N.m"}, {"N·cm", "N.cm", "N.m"}, {"kgf·m", "kgf.m", "N.m"}, {"kgf·cm", "kgf.cm", "N.m"},
    {"gf·cm", "gf.cm", "N.m"}, {"lbf·ft", "lbf.ft", "N.m"}, {"lbf·in", "lbf.in", "N.m"}, {"ozf·in", "(lbf/16).in", "N.m"},
    {"dyn·cm", "dyne.cm", "N.m"}, {"N/m", "=", "N/m"}, {"N/mm", "=", "N/m"}, {"N/µm", "N/um", "N/m"}, {"lbf/in", "=", "N/m"},
    {"N·m/rad", "N.m/rad", "N.m/rad"}, {"N·m/deg", "N.m/degree", "N.m/rad"}, {"N·m/arcmin", "N.m/arc_minute", "N.m/rad"},
    {"lbf·in/deg", "lbf.in/degree", "N.m/rad"}, {"N·s/m", "N.s/m", "N.s/m"}, {"lbf·s/in", "lbf.s/in", "N.s/m"},
    {"N·m/(rad/s)", "N.m/(rad/s)", "N.m.s"}, {"mN·m/krpm", "mN.m/(2000 pi rad/min)", "N.m.s"}, {"N·m·s", "N.m.s", "N.m.s"},
    /* pressure, energy, power */
    {"Pa", "=", "Pa"}, {"kPa", "=", "Pa"}, {"MPa", "=", "Pa"}, {"GPa", "=", "Pa"}, {"bar", "=", "Pa"}, {"mbar", "=", "Pa"}, {"psi", "=", "Pa"},
    {"atm", "=", "Pa"}, {"N/mm²", "N/mm2", "Pa"}, {"kgf/cm²", "kgf/cm2", "Pa"}, {"lbf/ft²", "lbf/ft2", "Pa"}, {"J", "=", "J"}, {"kJ", "=", "J"},
    {"mJ", "=", "J"}, {"W·h", "W.h", "J"}, {"kW·h", "kW.h", "J"}, {"W·s", "W.s", "J"}, {"ft·lbf", "ft.lbf", "J"}, {"erg", "=", "J"}, {"eV", "1.602176634e-19 J", "J"},
    {"W", "=", "W"}, {"mW", "=", "W"}, {"kW", "=", "W"}, {"hp", "550 ft.lbf/s", "W"}, {"hp_metric", "75 kgf.m/s", "W"},
    {"hp_electric", "746 W", "W"}, {"ft·lbf/min", "ft.lbf/min", "W"}, {"ft·lbf/s", "ft.lbf/s", "W"}, {"W/s", "=", "W/s"},
    {"MPa·m/s", "MPa.m/s", "Pa.m/s"}, {"L/min", "=", "m3/s"},
    /* electricity and magnetism */
    {"A", "=", "A"}, {"mA", "=", "A"}, {"µA", "uA", "A"}, {"V", "=", "V"}, {"mV", "=", "V"}, {"kV", "=", "V"}, {"Ω", "ohm", "ohm"},
    {"mΩ", "milliohm", "ohm"}, {"kΩ", "kiloohm", "ohm"}, {"S", "=", "S"}, {"C", "=", "C"}, {"A·h", "A.h", "C"}, {"F", "=", "F"},
    {"µF", "uF", "F"}, {"nF", "=", "F"}, {"pF", "=", "F"}, {"H", "=", "H"}, {"mH", "=", "H"}, {"µH", "uH", "H"}, {"Wb", "=", "Wb"},
    {"mWb", "=", "Wb"}, {"T", "=", "T"}, {"mT", "=", "T"}, {"gauss", "=", "T"}, {"V·s", "V.s", "Wb"}, {"Ω/km", "ohm/km", "ohm/m"},
    {"Ω·mm²/m", "ohm.mm2/m", "ohm.m"}, {"A/mm²", "A/mm2", "A/m2"}, {"A²·s", "A2.s", "A2.s"}, {"A/ms", "=", "A/s"}, {"V/ns", "=", "V/s"},
    /* what turns current into force */
    {"N·m/A", "N.m/A", "N.m/A"}, {"mN·m/A", "mN.m/A", "N.m/A"}, {"ozf·in/A", "(lbf/16).in/A", "N.m/A"}, {"lbf·ft/A", "lbf.ft/A", "N.m/A"},
    {"V/(rad/s)", "V/(rad/s)", "V.s"}, {"V/rpm", "V/(2 pi rad/min)", "V.s"}, {"V/krpm", "V/(2000 pi rad/min)", "V.s"},
    {"mV/rpm", "mV/(2 pi rad/min)", "V.s"}, {"rpm/V", "2 pi rad/min/V", "1/(V.s)"}, {"rpm/(mN·m)", "2 pi rad/min/(mN.m)", "1/(N.m.s)"},
    {"rpm/(ozf·in)", "2 pi rad/min/((lbf/16).in)", "1/(N.m.s)"}, {"N/A", "=", "N/A"}, {"V/(m/s)", "=", "N/A"}, {"lbf/A", "=", "N/A"},
    {"N²/W", "N2/W", "N2/W"},
    /* heat, and parts of one */
    {"K", "=", "K"}, {"mK", "=", "K"}, {"K/W", "=", "K/W"}, {"°C/W", "K/W", "K/W"}, {"°F/W", "degR/W", "K/W"}, {"W/K", "=", "W/K"},
    {"W/(m·K)", "W/(m.K)", "W/(m.K)"}, {"W/(m²·K)", "W/(m2.K)", "W/(m2.K)"}, {"J/K", "=", "J/K"}, {"kJ/K", "=", "J/K"},
    {"J/(kg·K)", "J/(kg.K)", "J/(kg.K)"}, {"%/K", "percent/K", "1/K"}, {"ppm/K", "ppm/K", "1/K"}, {"%", "percent", "1"}, {"ppm", "=", "1"},
    {"mol", "=", "mol"}, {"cd", "=", "cd"},
};

static ut_unit *their_unit(ut_system *system, const char *text) {
    ut_unit *unit = ut_parse(system, text, UT_UTF8);
    cr_assert(unit, "UDUNITS does not know %s", text);
    return unit;
}

Test(unit, sizes_are_those_of_udunits) {
    ut_set_error_message_handler(ut_ignore);
    ut_system *system = ut_read_xml(NULL);
    cr_assert(system, "no database of UDUNITS");
    Given given = given_units("");
    size_t count = sizeof units / sizeof units[0];
    cr_assert(count >= 150);
    for (size_t i = 0; i < count; i++) {
        const char *theirs = units[i].theirs[0] == '=' ? units[i].ours : units[i].theirs;
        ut_unit *from = their_unit(system, theirs), *to = their_unit(system, units[i].si);
        cv_converter *converter = ut_get_converter(from, to);
        cr_assert(converter, "UDUNITS has no way from %s to %s", theirs, units[i].si);
        cr_near(given_good(&given, units[i].ours)->factor, cv_convert_double(converter, 1), 1e-12);
        cv_free(converter);
        ut_free(from);
        ut_free(to);
    }
    given_silence(&given);
    ut_free_system(system);
    arena_close(given.arena);
}

Test(unit, temperatures_are_those_of_udunits) {
    ut_set_error_message_handler(ut_ignore);
    ut_system *system = ut_read_xml(NULL);
    Given given = given_units("");
    static const char *const pairs[][2] = {{"°C", "degC"}, {"°F", "degF"}};
    for (size_t i = 0; i < 2; i++) {
        ut_unit *from = their_unit(system, pairs[i][1]), *kelvin = their_unit(system, "K");
        cv_converter *converter = ut_get_converter(from, kelvin);
        const Unit *ours = given_good(&given, pairs[i][0]);
        for (int degrees = -200; degrees <= 400; degrees += 25)
            cr_near(degrees * ours->factor + ours->zero, cv_convert_double(converter, degrees), 1e-12);
        cv_free(converter);
        ut_free(from);
        ut_free(kelvin);
    }
    ut_free_system(system);
    arena_close(given.arena);
}
