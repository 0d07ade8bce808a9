#include "quantity/figure.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "given.h"

/* "number|unit|rest|decimals,significant" with the flags behind; "none" for what is no figure. */
static Text read_of(Arena *arena, const char *text) {
    Figure figure;
    if (!figure_read(text_from(text), &figure)) return TEXT("none");
    char numbers[64];
    snprintf(numbers, sizeof numbers, "%d,%d%s%s%s", figure.decimals, figure.significant, figure.power ? " power" : "", figure.glued ? " glued" : "",
             figure.comma ? " comma" : "");
    Text parts[4] = {figure.number, figure.unit, figure.rest, text_from(numbers)};
    return text_fill(arena, TEXT("{0}|{1}|{2}|{3}"), parts, 4);
}

#define READS(text, expected) cr_text(read_of(arena, text), expected)

Test(figure, is_read_with_its_unit) {
    Arena *arena = given_arena();
    READS("38.4 rev/s", "38.4|rev/s||1,3");
    READS("  -0.050 N·m in the middle", "-0.050|N·m|in the middle|3,2");
    READS("−5 °C", "−5|°C||0,1");
    READS("+5 K.", "+5|K||0,1");
    READS("1200", "1200|||0,4");
    READS("0.00", "0.00|||2,0");
    READS("10, all told", "10||all told|0,2");
    READS("10.", "10|||0,2");
    READS("8.2 Ω ± 8 %", "8.2|Ω|± 8 %|1,2");
    READS("2.50e-5 kg", "2.50e-5|kg||2,3 power");
    READS("3E2 kg", "3E2|kg||0,1 power");
    arena_close(arena);
}

Test(figure, may_have_any_space_before_its_unit) {
    Arena *arena = given_arena();
    READS("3\xC2\xA0mm", "3|mm||0,1");
    READS("3\xE2\x80\xAFmm", "3|mm||0,1");
    READS("3\xE2\x80\x89mm", "3|mm||0,1");
    READS("88%", "88|%||0,2");
    READS("88 %, then", "88|%|then|0,2");
    READS("35°C", "35|°C||0,2");
    READS("320mm wide", "320|mm|wide|0,3 glued");
    READS("4.7µF", "4.7|µF||1,2 glued");
    READS("3D", "3|D||0,1 glued");
    READS("3e", "3|e||0,1 glued");
    arena_close(arena);
}

Test(figure, other_words_are_none) {
    Arena *arena = given_arena();
    static const char *const none[] = {"", " ", "the motor", "about 3 mm", "§4.1", "4-pin plug", "3–5 mm", "1/2", "3:1", "(3 mm)", ".5", "-", "−", "1_0", "≈ 3"};
    for (unsigned i = 0; i < sizeof none / sizeof none[0]; i++) READS(none[i], "none");
    READS("1,200 rpm", "1,200|rpm||0,4 comma");
    READS("38,4 rev/s", "38,4|rev/s||1,3 comma");
    READS("1,234.5 rpm", "1,234.5|rpm||0,4 comma");
    arena_close(arena);
}

static Figure figure_of(const char *text) {
    Figure figure;
    cr_assert(figure_read(text_from(text), &figure), "%s", text);
    return figure;
}

#define AGREES(text, number, expected)                                            \
    do {                                                                          \
        Figure figure_ = figure_of(text);                                         \
        cr_assert_eq(figure_agrees(arena, &figure_, number), expected, "%s", text); \
    } while (0)

Test(figure, agrees_when_rounded_to_the_digits_written) {
    Arena *arena = given_arena();
    AGREES("38.4", 38.4, true);
    AGREES("38.4", 38.44999, true);
    AGREES("38.4", 38.35001, true);
    AGREES("38.4", 38.46, false);
    AGREES("38.40", 38.44, false);
    AGREES("1200", 1234, false);
    AGREES("038.4", 38.4, true);
    AGREES("-3.5", -3.52, true);
    AGREES("−3.5", -3.52, true);
    AGREES("3.5", -3.5, false);
    AGREES("0.0", -0.04, true);
    AGREES("-0.0", 0.04, true);
    AGREES("+3", 3, true);
    AGREES("1.40", 1.39999999997, true);
    AGREES("0.3", 0.25, true); /* half-way: either */
    AGREES("0.2", 0.25, true);
    AGREES("2.50e-5", 2.503e-5, true);
    AGREES("2.50e-5", 2.506e-5, false);
    AGREES("0.25e-4", 2.503e-5, true);
    AGREES("25.0e-6", 2.503e-5, true);
    AGREES("2.5e3", 2460, true);
    AGREES("2.5e3", 2440, false);
    AGREES("2.5E+03", 2460, true);
    AGREES("0", NAN, false);
    AGREES("1", INFINITY, false);
    AGREES("38,4", 38.4, false);
    AGREES("1.0000000000000000", 1, false); /* more digits than anybody knows */
    arena_close(arena);
}

static Text spelled(Arena *arena, const char *text, double number) {
    Figure figure = figure_of(text);
    return figure_spell(arena, &figure, number);
}

Test(figure, is_written_in_the_manner_of_the_old_one) {
    Arena *arena = given_arena();
    cr_text(spelled(arena, "38.40 rev/s", 39.126), "39.13");
    cr_text(spelled(arena, "38", 1234.5678), "1235");
    cr_text(spelled(arena, "-3.5", -4.04), "-4.0");
    cr_text(spelled(arena, "−3.5", -4.04), "−4.0");
    cr_text(spelled(arena, "−3.5", 4.04), "4.0");
    cr_text(spelled(arena, "3.5", -4.04), "-4.0");
    cr_text(spelled(arena, "+3.5", 4.04), "+4.0");
    cr_text(spelled(arena, "+3.5", -4.04), "-4.0");
    cr_text(spelled(arena, "+3.5", 0), "0.0");
    cr_text(spelled(arena, "2.50e-5", 1.23456e-3), "1.23e-3");
    cr_text(spelled(arena, "2e5", -9.6e5), "-1e6");
    cr_text(spelled(arena, "2e5", 0), "0e0");
    cr_text(spelled(arena, "0.05", 0.00034), "0.0003"); /* 0.00 would say nothing */
    cr_text(spelled(arena, "0.05", 3e-17), "0.00");
    cr_text(spelled(arena, "5.0", 0.0346), "0.035");
    cr_text(spelled(arena, "50", 0.0346), "0.035");
    cr_text(spelled(arena, "0.0", 0.0346), "0.03");
    cr_text(spelled(arena, "1,200", 1234.5), "1234");
    arena_close(arena);
}

/* What is written anew agrees, reads as before, and lies within half a unit of the last digit. */
Test(figure, what_is_written_agrees_and_is_near) {
    Arena *arena = given_arena();
    uint64_t state = 11;
    for (int round = 0; round < 200000; round++) {
        char text[64];
        int decimals = (int)(given_random(&state) % 7);
        double old = ((double)(given_random(&state) % 2000001) - 1e6) * pow(10, -(double)(given_random(&state) % 6));
        bool power = given_random(&state) % 4 == 0;
        snprintf(text, sizeof text, power ? "%.*e N" : "%.*f N", decimals, old);
        double number = ((double)(given_random(&state) % 2000001) - 1e6) * pow(10, -(double)(given_random(&state) % 8));
        Figure figure = figure_of(text);
        double written = strtod(text, NULL), unit = pow(10, -decimals);
        if (power && number != 0) unit = pow(10, floor(log10(fabs(number)) + 1e-12) - figure.significant + 1);
        /* By the definition, away from the half where a rounding may go either way. */
        double off = fabs(number - written) / unit;
        if (!power && fabs(off - 0.5) > 1e-6) cr_assert_eq(figure_agrees(arena, &figure, number), off < 0.5, "%s %.17g", text, number);
        Text now = figure_spell(arena, &figure, number), parts[1] = {now};
        Figure again = figure_of(text_zero_ended(arena, text_fill(arena, TEXT("{0} N"), parts, 1)));
        cr_assert(figure_agrees(arena, &again, number), "%s %.17g %.*s", text, number, (int)now.length, now.at);
        cr_assert_eq(again.power, figure.power);
        if (!power && fabs(number) >= 0.5 * unit) cr_assert_eq(again.decimals, figure.decimals);
        double told = strtod(text_zero_ended(arena, now), NULL);
        if (!power || figure.significant > 0) cr_assert(fabs(told - number) <= 0.5 * unit * (1 + 1e-6) + 1e-12 * fabs(number), "%s %.17g %.*s", text, number, (int)now.length, now.at);
    }
    arena_close(arena);
}

Test(figure, any_bytes_can_be_read) {
    Arena *arena = given_arena();
    uint64_t state = 5;
    static const char letters[] = "0123456789.,e+-E %x\xC2\xA0\xE2\x80\x89\xB0\x88\x92";
    for (int round = 0; round < 200000; round++) {
        char text[24];
        size_t length = (size_t)(given_random(&state) % sizeof text);
        for (size_t i = 0; i < length; i++) text[i] = letters[given_random(&state) % (sizeof letters - 1)];
        Figure figure;
        if (!figure_read((Text){text, length}, &figure)) continue;
        figure_agrees(arena, &figure, 1.5);
        cr_assert_gt(figure_spell(arena, &figure, 1.5).length, 0u);
    }
    arena_close(arena);
}
