#include <string.h>

#include "quantity/quantity.h"

enum { SIXTHS_MOST = 126 }; /* 21 whole powers, either way */

Dimension dimension_base(DimensionName name) {
    Dimension dimension = {{0}};
    dimension.sixths[name] = 6;
    return dimension;
}

bool dimension_equal(Dimension a, Dimension b) { return memcmp(a.sixths, b.sixths, sizeof a.sixths) == 0; }

bool dimension_is_number(Dimension a) { return dimension_equal(a, (Dimension){{0}}); }

bool dimension_equal_but_angle(Dimension a, Dimension b) {
    a.sixths[DIMENSION_ANGLE] = b.sixths[DIMENSION_ANGLE] = 0;
    return dimension_equal(a, b);
}

static bool set_power(Dimension *out, int name, int64_t sixths) {
    if (sixths < -SIXTHS_MOST || sixths > SIXTHS_MOST) return false;
    out->sixths[name] = (int8_t)sixths;
    return true;
}

bool dimension_multiply(Dimension a, Dimension b, Dimension *out) {
    for (int i = 0; i < DIMENSION_COUNT; i++)
        if (!set_power(out, i, a.sixths[i] + b.sixths[i])) return false;
    return true;
}

bool dimension_divide(Dimension a, Dimension b, Dimension *out) {
    for (int i = 0; i < DIMENSION_COUNT; i++)
        if (!set_power(out, i, a.sixths[i] - b.sixths[i])) return false;
    return true;
}

bool dimension_power(Dimension a, int numerator, int denominator, Dimension *out) {
    if (denominator == 0) return false;
    for (int i = 0; i < DIMENSION_COUNT; i++) {
        int64_t product = (int64_t)a.sixths[i] * numerator;
        if (product % denominator != 0) return false;
        if (!set_power(out, i, product / denominator)) return false;
    }
    return true;
}

/* ---- in base units ---- */

static const char *const base_units[DIMENSION_COUNT] = {
#define DIMENSION(id, word, symbol) symbol,
#include "quantity/dimension.def"
#undef DIMENSION
};

/* The order people write them in: kg·m²/s², not m²·kg/s². */
static const int written_order[DIMENSION_COUNT] = {
    DIMENSION_MASS,        DIMENSION_LENGTH, DIMENSION_ANGLE,  DIMENSION_TIME,
    DIMENSION_CURRENT,     DIMENSION_TEMPERATURE, DIMENSION_AMOUNT, DIMENSION_LUMINOUS_INTENSITY};

static void add_power(TextBuilder *builder, unsigned sixths) {
    static const char *const raised[10] = {"⁰", "¹", "²", "³", "⁴", "⁵", "⁶", "⁷", "⁸", "⁹"};
    if (sixths == 6) return;
    if (sixths % 6 == 0) {
        unsigned whole = sixths / 6;
        if (whole >= 10) text_add_string(builder, raised[whole / 10]);
        text_add_string(builder, raised[whole % 10]);
        return;
    }
    unsigned common = sixths % 3 == 0 ? 3 : sixths % 2 == 0 ? 2 : 1;
    text_add_string(builder, "^(");
    text_add_count(builder, sixths / common);
    text_add_char(builder, '/');
    text_add_count(builder, 6 / common);
    text_add_char(builder, ')');
}

/* The factors whose power has this sign; returns how many. */
static unsigned add_factors(TextBuilder *builder, Dimension dimension, int sign) {
    unsigned count = 0;
    for (int i = 0; i < DIMENSION_COUNT; i++) {
        int sixths = dimension.sixths[written_order[i]] * sign;
        if (sixths <= 0) continue;
        if (count++ > 0) text_add_string(builder, "·");
        text_add_string(builder, base_units[written_order[i]]);
        add_power(builder, (unsigned)sixths);
    }
    return count;
}

Text dimension_spell(const Vocabulary *vocabulary, Arena *arena, Dimension dimension) {
    (void)vocabulary; /* base units are named by dimension.def */
    TextBuilder builder = text_builder(arena), below = text_builder(arena);
    if (add_factors(&builder, dimension, 1) == 0) text_add_char(&builder, '1');
    unsigned divisors = add_factors(&below, dimension, -1);
    if (divisors > 0) text_add_char(&builder, '/');
    if (divisors > 1) text_add_char(&builder, '(');
    text_add(&builder, text_built(&below));
    if (divisors > 1) text_add_char(&builder, ')');
    return text_built(&builder);
}
