/* Worst cases whose answer is known: published ones, closed forms, and what may not be mistaken. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "given_check.h"

static double number_of(Text text) {
    char digits[64];
    snprintf(digits, sizeof digits, "%.*s", (int)text.length, text.at);
    return strtod(digits, NULL);
}

static const Eater *eater_of(const Finding *finding, const char *path) {
    for (uint32_t i = 0; i < finding->eaters.count; i++) {
        if (text_is(finding->eaters.at[i].path, path)) return &finding->eaters.at[i];
    }
    cr_assert_fail("%s eats nothing of %.*s", path, (int)finding->id.length, finding->id.at);
    return NULL;
}

#define cr_near(actual, expected, tolerance) cr_assert_float_eq((actual), (expected), (tolerance), "%.12g is not %.12g", (double)(actual), (double)(expected))

/* amosborne/worstcase, README of an open worst-case analysis package: speed of a car, nominal 20.1 m/s, 17.98 to 21.09 m/s. */
Test(worst, a_published_closed_form) {
    Arena *arena = given_arena();
    GivenCheck check;
    given_check_text(&check, arena,
                     "form car \"A car\" { given first : velocity  given way : length  let speed : velocity = sqrt(first ^ 2 + 2 * 0.2 m/s² * way) }\n"
                     "car c { first = 2 m/s ± 10 %  way = 0.8 km to 1.1 km nominal 1 km }\n"
                     "requirement W-1 \"low\"  { shall c.speed >= 15 m/s  from none \"a test\" }\n"
                     "requirement W-2 \"high\" { shall c.speed <= 25 m/s  from none \"a test\" }\n");
    given_no_errors(&check);
    const Finding *low = given_finding(&check, "W-1"), *high = given_finding(&check, "W-2");
    cr_near(number_of(low->exact), 20.0998, 5e-5);
    cr_near(number_of(low->worst_exact), 17.9789, 5e-5);
    cr_near(number_of(high->worst_exact), 21.0912, 5e-5);
    cr_assert_eq(low->bounded_inputs, 2u);
    cr_assert_eq(low->verdict, VERDICT_MET);
    cr_text(eater_of(low, "c.way")->worst, "0.8 km");
    cr_text(eater_of(high, "c.first")->worst, "2.2 m/s");
    arena_close(arena);
}

/* The same source: a current-sense amplifier, 5.045 V, from 3.647 V to 6.387 V, and -1.193 V to 1.642 V at 50 mA. */
Test(worst, a_published_amplifier) {
    Arena *arena = given_arena();
    GivenCheck check;
    given_check_text(&check, arena,
                     "form amplifier \"An amplifier\" {\n"
                     "  given current : current\n"
                     "  given R1 : resistance = 100 mΩ ± 1 %\n  given R2 : resistance = 1.001 kΩ ± 1 %\n  given R3 : resistance = 50.5 kΩ ± 1 %\n"
                     "  given R4 : resistance = 1.001 kΩ ± 1 %\n  given R5 : resistance = 50.5 kΩ ± 1 %\n"
                     "  given offset : voltage = -150 µV to 150 µV nominal 0 V\n"
                     "  let out : voltage = 36 V * R5 / (R4 + R5) * (1 + R3 / R2) - (36 V - current * R1) * R3 / R2 + offset * (1 + R3 / R2)\n}\n"
                     "amplifier one { current = 1 A }\namplifier small { current = 50 mA }\n"
                     "requirement A-1 \"low\"  { shall one.out >= -100 V  from none \"a test\" }\n"
                     "requirement A-2 \"high\" { shall one.out <= 100 V  from none \"a test\" }\n"
                     "requirement A-3 \"low\"  { shall small.out >= -100 V  from none \"a test\" }\n"
                     "requirement A-4 \"high\" { shall small.out <= 100 V  from none \"a test\" }\n");
    given_no_errors(&check);
    cr_near(number_of(given_finding(&check, "A-1")->exact), 5.044955, 5e-7);
    cr_near(number_of(given_finding(&check, "A-1")->worst_exact), 3.647419, 5e-7);
    cr_near(number_of(given_finding(&check, "A-2")->worst_exact), 6.386795, 5e-7);
    cr_near(number_of(given_finding(&check, "A-3")->worst_exact), -1.193216, 5e-7);
    cr_near(number_of(given_finding(&check, "A-4")->worst_exact), 1.642015, 5e-7);
    cr_assert_eq(given_finding(&check, "A-1")->bounded_inputs, 6u);
    arena_close(arena);
}

/* A chain of n equal contributions ±t: n·t in the worst case, t·√n as root sum of squares. */
Test(worst, a_chain_of_equal_contributions) {
    Arena *arena = given_arena();
    GivenCheck check;
    given_check_text(&check, arena,
                     "form chain \"A chain\" { given a : length given b : length given c : length given d : length  let sum : length = a + b + c + d }\n"
                     "chain c { a = 1 mm ± 0.1 mm  b = 1 mm ± 0.1 mm  c = 1 mm ± 0.1 mm  d = 1 mm ± 0.1 mm }\n"
                     "requirement C-1 \"short\" { shall c.sum <= 5 mm  from none \"a test\" }\n");
    given_no_errors(&check);
    const Finding *finding = given_finding(&check, "C-1");
    cr_near(number_of(finding->worst_exact), 4.4, 1e-12);
    cr_text(finding->margin, "20 %");
    cr_text(finding->worst_margin, "12 %");
    cr_text(finding->likely_margin, "16 %"); /* (1 - 0.2) / 5 */
    cr_assert_eq(finding->eaters.count, 4u);
    for (uint32_t i = 0; i < 4; i++) cr_text(finding->eaters.at[i].share, "25 %");
    arena_close(arena);
}

Test(worst, one_value_used_twice_is_one_value) {
    Arena *arena = given_arena();
    GivenCheck check;
    given_check_text(&check, arena,
                     "form pair \"A pair\" { given r : resistance  given other : resistance  let ratio : ratio = r / (r + 3 * r)  let free : ratio = r / (other + 3 * r) }\n"
                     "pair p { r = 10 Ω ± 10 %  other = 10 Ω ± 10 % }\n"
                     "requirement S-1 \"it cancels\"    { shall p.ratio <= 0.26  from none \"a test\" }\n"
                     "requirement S-2 \"it does not\"   { shall p.free <= 0.26  from none \"a test\" }\n");
    given_no_errors(&check);
    const Finding *same = given_finding(&check, "S-1"), *free = given_finding(&check, "S-2");
    cr_near(number_of(same->worst_exact), 0.25, 1e-12);
    cr_assert_eq(same->bounded_inputs, 1u);
    cr_near(number_of(free->worst_exact), 11.0 / (9 + 33), 1e-12);
    cr_assert_eq(free->verdict, VERDICT_AT_RISK);
    arena_close(arena);
}

/* A load takes most from a source of its own resistance: v² / 4r at that point. */
Test(worst, the_worst_may_lie_between_the_bounds) {
    Arena *arena = given_arena();
    GivenCheck check;
    given_check_text(&check, arena,
                     "form load \"A load\" { given inner : resistance  given outer : resistance  let power : power = (12 V) ^ 2 * outer / (inner + outer) ^ 2 }\n"
                     "load l { inner = 2 Ω  outer = 1 Ω to 5 Ω nominal 4 Ω }\n"
                     "requirement L-1 \"cool\" { shall l.power <= 17 W  from none \"a test\" }\n");
    given_no_errors(&check);
    const Finding *finding = given_finding(&check, "L-1");
    cr_near(number_of(finding->worst_exact), 18, 1e-9);
    cr_assert_eq(finding->verdict, VERDICT_AT_RISK);
    cr_assert(finding->eaters.at[0].inside);
    cr_near(number_of(finding->eaters.at[0].worst), 2, 1e-4);
    arena_close(arena);
}

/* The verdict turns where u² / r = 70 W: u = √560 V, r = 576/70 Ω. */
Test(worst, turning_points_have_a_closed_form) {
    Arena *arena = given_arena();
    GivenCheck check;
    given_check_text(&check, arena,
                     "form heater \"A heater\" { given u : voltage  given r : resistance  let power : power = u ^ 2 / r }\n"
                     "heater h { u = 24 V ± 10 %  r = 8 Ω ± 5 % }\n"
                     "requirement H-1 \"it heats\" { shall h.power >= 70 W  from none \"a test\" }\n"
                     "requirement H-2 \"it is held\" { shall h.power >= 80 W  from none \"a test\" }\n");
    given_no_errors(&check);
    const Finding *risk = given_finding(&check, "H-1"), *not_met = given_finding(&check, "H-2");
    cr_near(number_of(eater_of(risk, "h.u")->turning), sqrt(560), 5e-3);
    cr_near(number_of(eater_of(risk, "h.r")->turning), 576.0 / 70, 5e-4);
    cr_near(number_of(eater_of(not_met, "h.u")->turning), sqrt(640), 5e-3);
    cr_assert_eq(risk->verdict, VERDICT_AT_RISK);
    cr_assert_eq(not_met->verdict, VERDICT_NOT_MET);
    arena_close(arena);
}

Test(worst, a_largest_of_two_has_two_lowest_corners) {
    Arena *arena = given_arena();
    GivenCheck check;
    given_check_text(&check, arena,
                     "form two \"Two\" { given a : ratio  let out : ratio = max(a, 3.5 - 1.5 * a) }\n"
                     "two t { a = 0.5 to 3 nominal 2 }\n"
                     "requirement T-1 \"above\" { shall t.out <= 2.9  from none \"a test\" }\n"
                     "two u { a = 0.2 to 3 nominal 2 }\n"
                     "requirement T-2 \"above\" { shall u.out <= 3.1  from none \"a test\" }\n");
    given_no_errors(&check);
    cr_near(number_of(given_finding(&check, "T-1")->worst_exact), 3, 1e-12);
    cr_near(number_of(given_finding(&check, "T-2")->worst_exact), 3.2, 1e-12);
    arena_close(arena);
}

Test(worst, a_value_that_is_gone_at_a_corner_is_at_risk) {
    Arena *arena = given_arena();
    GivenCheck check;
    given_check_text(&check, arena,
                     "form root \"A root\" { given a : ratio  let out : ratio = sqrt(a - 1) }\n"
                     "root r { a = 1.1 ± 0.2 }\n"
                     "requirement R-1 \"small\" { shall r.out <= 1  from none \"a test\" }\n");
    given_no_errors(&check);
    const Finding *finding = given_finding(&check, "R-1");
    cr_assert_eq(finding->verdict, VERDICT_AT_RISK);
    cr_assert(finding->worst_reason.length > 0);
    arena_close(arena);
}

Test(worst, words_and_truths_are_tried_at_their_bounds) {
    Arena *arena = given_arena();
    GivenCheck check;
    given_check_text(&check, arena,
                     "form switch \"A switch\" { given a : ratio  given b : ratio  let high : truth = a + b > 2.15 }\n"
                     "switch s { a = 1 ± 0.1\n b = 1 ± 0.1 }\n"
                     "requirement S-1 \"never high\" { shall not s.high  from none \"a test\" }\n"
                     "switch t { a = 1 ± 0.05\n b = 1 ± 0.05 }\n"
                     "requirement S-2 \"never high\" { shall not t.high  from none \"a test\" }\n");
    given_no_errors(&check);
    cr_assert_eq(given_finding(&check, "S-1")->verdict, VERDICT_AT_RISK);
    cr_assert_eq(given_finding(&check, "S-2")->verdict, VERDICT_MET);
    cr_assert_eq(given_finding(&check, "S-2")->bounded_inputs, 2u);
    arena_close(arena);
}

/* A value inside the loop of a fixed point follows it to where it settles, also for one who looks at that value only. */
Test(worst, what_rests_on_a_fixed_point_settles_with_it) {
    Arena *arena = given_arena();
    GivenCheck check;
    given_check_text(&check, arena,
                     "form coil \"A coil\" {\n  given current : current\n  given cold : resistance\n  given warming : thermal-resistance\n"
                     "  let rise : temperature-difference = resistance * current ^ 2 * warming settles from 0 K\n"
                     "  let resistance : resistance = cold * (1 + 0.004 1/K * rise)\n  let drop : voltage = resistance * current\n}\n"
                     "coil c { current = 2 A  cold = 5 Ω  warming = 4 K/W ± 25 % }\n"
                     "requirement S-1 \"cool\" { shall c.rise <= 300 K  from none \"a test\" }\n"
                     "requirement S-2 \"low\"  { shall c.drop <= 30 V  from none \"a test\" }\n");
    given_no_errors(&check);
    const Finding *rise = given_finding(&check, "S-1"), *drop = given_finding(&check, "S-2");
    cr_near(number_of(rise->worst_exact), 20 * 5 / (1 - 0.4), 1e-8); /* rise = 20 W · warming · (1 + 0.004/K · rise) */
    cr_assert_eq(drop->bounded_inputs, 1u);
    cr_near(number_of(drop->worst_exact), 10 * (1 + 0.004 * 100 / 0.6), 1e-9);
    arena_close(arena);
}

/* Nothing happens at the nominal values, nor when one value alone is elsewhere: it begins where another condition is worst. */
Test(worst, a_flat_margin_is_looked_at_where_another_is_worst) {
    Arena *arena = given_arena();
    GivenCheck check;
    given_check_text(&check, arena,
                     "form six \"Six\" { given a : ratio given b : ratio given c : ratio given d : ratio given e : ratio given f : ratio\n"
                     "  let sum : ratio = a - b + c - d + e - f  let over : ratio = max(sum - 0.45, 0) }\n"
                     "six s { a = 1 ± 0.1  b = 1 ± 0.1  c = 1 ± 0.1  d = 1 ± 0.1  e = 1 ± 0.1  f = 1 ± 0.1 }\n"
                     "requirement F-1 \"small\" { shall s.sum <= 2  from none \"a test\" }\n"
                     "requirement F-2 \"below\" { shall s.over <= 0.1  from none \"a test\" }\n");
    given_no_errors(&check);
    cr_near(number_of(given_finding(&check, "F-1")->worst_exact), 0.6, 1e-12);
    cr_near(number_of(given_finding(&check, "F-2")->worst_exact), 0.15, 1e-12);
    cr_assert_eq(given_finding(&check, "F-2")->verdict, VERDICT_AT_RISK);
    arena_close(arena);
}

/* Two troughs, the deeper one away from where downhill leads; and a pit in a plane, beside a slope. */
Test(worst, a_second_trough_of_few_values_is_found) {
    Arena *arena = given_arena();
    GivenCheck check;
    given_check_text(&check, arena,
                     "form wave \"A wave\" { given a : ratio  let out : ratio = 0.79 * sin(2 * a) }\n"
                     "wave w { a = -1.409 to 2.2 nominal 1.635 }\n"
                     "requirement W-1 \"above\" { shall w.out >= -0.95  from none \"a test\" }\n"
                     "form plane \"A plane\" { given a : ratio  given b : ratio\n"
                     "  let out : ratio = 0.1 * (a + b) - exp(-20 * ((a - 0.3) ^ 2 + (b - 0.3) ^ 2)) }\n"
                     "plane p { a = -1 to 1 nominal -0.9  b = -1 to 1 nominal -0.9 }\n"
                     "requirement P-1 \"above\" { shall p.out >= -0.5  from none \"a test\" }\n");
    given_no_errors(&check);
    cr_near(number_of(given_finding(&check, "W-1")->worst_exact), -0.79, 1e-9);
    cr_assert_eq(given_finding(&check, "P-1")->verdict, VERDICT_AT_RISK);
    cr_near(number_of(given_finding(&check, "P-1")->worst_exact), -0.94, 1e-3);
    arena_close(arena);
}

/* Bounds in a cycle, in what a segment holds, in a table of a form and in a requirement: all are seen, and named. */
Test(worst, bounds_are_seen_wherever_they_stand) {
    Arena *arena = given_arena();
    GivenCheck check;
    given_check_text(&check, arena,
                     "cycle walk { move 100 mm in 1 s ± 0.05 s as out  hold 0.3 s ± 10 %  move -100 mm in 1 s }\n"
                     "form cart \"A cart\" {\n  given motion : cycle of length\n  given load : mass = 0 kg varies with motion\n"
                     "  given share : table of ratio over mass = table { 0 kg: 1; 5 kg: 0.8 ± 0.1 }\n"
                     "  let weight : mass = load\n  let left : ratio = share at peak(load)\n}\n"
                     "cycle fetch { move 100 mm in 1 s as out { load = 2 kg ± 0.2 kg }  move -100 mm in 1 s }\n"
                     "cart c { motion = fetch }\n"
                     "requirement B-1 \"in time\" { shall walk.duration <= 2.5 s  from none \"a test\" }\n"
                     "requirement B-2 \"light\"   { shall peak(c.weight) <= 3 kg  from none \"a test\" }\n"
                     "requirement B-3 \"enough\"  { shall c.left >= 0.5  from none \"a test\" }\n"
                     "requirement B-4 \"limit\"   { shall 3 mm <= 4 mm ± 0.5 mm  from none \"a test\" }\n");
    given_no_errors(&check);
    const Finding *time = given_finding(&check, "B-1"), *light = given_finding(&check, "B-2"), *left = given_finding(&check, "B-3");
    cr_assert_eq(time->bounded_inputs, 2u);
    cr_near(number_of(time->worst_exact), 2.38, 1e-12);
    eater_of(time, "walk.out.duration");
    eater_of(time, "duration of segment 2 of walk");
    cr_near(number_of(light->worst_exact), 2.2, 1e-12);
    eater_of(light, "fetch.out.load");
    cr_assert_eq(left->bounded_inputs, 2u);
    cr_near(number_of(left->worst_exact), 1 - 0.3 * 2.2 / 5, 1e-12);
    cr_assert_eq(given_finding(&check, "B-4")->bounded_inputs, 1u);
    arena_close(arena);
}

/* The same question with another limit has the same worst case, and its own margin. */
Test(worst, two_limits_of_one_value_agree) {
    Arena *arena = given_arena();
    GivenCheck check;
    given_check_text(&check, arena,
                     "form heater \"A heater\" { given u : voltage  given r : resistance  let power : power = u ^ 2 / r }\n"
                     "heater h { u = 24 V ± 10 %  r = 8 Ω ± 5 % }\n"
                     "requirement H-1 \"a\" { shall h.power <= 100 W  from none \"a test\" }\n"
                     "requirement H-2 \"b\" { shall h.power <= 90 W  from none \"a test\" }\n"
                     "requirement H-3 \"c\" { shall h.power >= 50 W  from none \"a test\" }\n");
    given_no_errors(&check);
    double worst = 26.4 * 26.4 / 7.6;
    cr_near(number_of(given_finding(&check, "H-1")->worst_exact), worst, 1e-9);
    cr_near(number_of(given_finding(&check, "H-2")->worst_exact), worst, 1e-9);
    cr_near(given_finding(&check, "H-1")->worst_share, 1 - worst / 100, 1e-12);
    cr_near(given_finding(&check, "H-2")->worst_share, 1 - worst / 90, 1e-12);
    cr_assert_eq(given_finding(&check, "H-1")->verdict, VERDICT_MET);
    cr_assert_eq(given_finding(&check, "H-2")->verdict, VERDICT_AT_RISK);
    cr_near(number_of(given_finding(&check, "H-3")->worst_exact), 21.6 * 21.6 / 8.4, 1e-9);
    arena_close(arena);
}

Test(worst, several_conditions_are_at_their_worst_in_different_corners) {
    Arena *arena = given_arena();
    GivenCheck check;
    given_check_text(&check, arena,
                     "form rod \"A rod\" { given a : length }\nrod r { a = 10 mm ± 1 mm }\n"
                     "requirement D-1 \"between\" { shall 8 mm <= r.a <= 10.5 mm  from none \"a test\" }\n"
                     "requirement D-2 \"either\"  { shall r.a <= 9.5 mm or r.a >= 9.2 mm  from none \"a test\" }\n");
    given_no_errors(&check);
    cr_assert_eq(given_finding(&check, "D-1")->verdict, VERDICT_AT_RISK);
    cr_near(number_of(given_finding(&check, "D-1")->worst_exact), 11, 1e-12);
    cr_assert_eq(given_finding(&check, "D-2")->verdict, VERDICT_MET);
    arena_close(arena);
}

/* Of v = abc (2 + sin k) and w = ab/c: k at the trough and c at 28 mm leave max((0.9 - x/28)/0.9, (28 x - 1000)/1000) of x = ab, in
 * mm. Both sides are equal where x (1/25.2 + 0.028) = 2, inside the box, and from there no input alone leads further down. */
Test(worst, alternatives_of_different_kinds_are_at_their_worst_together) {
    Arena *arena = given_arena();
    GivenCheck check;
    given_check_text(&check, arena,
                     "form box \"A box\" { given a : length  given b : length  given c : length  given k : ratio\n"
                     "  let v : volume = a * b * c * (2 + sin(k))  let w : length = a * b / c }\n"
                     "box q { a = 10 mm ± 10 %  b = 2 mm to 4 mm  c = 30 mm +1/-2 mm  k = 0 to 10 nominal 1 }\n"
                     "requirement D-3 \"either\" { shall q.w <= 0.9 mm or q.v >= 1000 mm³  from none \"a test\" }\n");
    given_no_errors(&check);
    const Finding *finding = given_finding(&check, "D-3");
    cr_assert_eq(finding->verdict, VERDICT_AT_RISK);
    cr_near(finding->worst_share, 28 * (2 / (1 / 25.2 + 0.028)) / 1000 - 1, 1e-3);
    cr_assert_eq(finding->likely_margin.length, 0, "slopes of one alternative say nothing of both");
    cr_assert(text_equal(finding->eaters.at[0].path, TEXT("q.k")), "at any other k the second alternative holds");
    arena_close(arena);
}
