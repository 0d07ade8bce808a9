#include <math.h>
#include <string.h>

#include "quantity/decimal.h"
#include "quantity/vocabulary.h"

enum { PLAIN_LEAST = -4, PLAIN_MOST = 5 }; /* exponents of ten written without an exponent */

static void add_digits(TextBuilder *builder, const Decimal *decimal, int from, int to) {
    for (int i = from; i < to; i++) text_add_char(builder, i < decimal->count && i >= 0 ? decimal->digits[i] : '0');
}

/* Not a number, or beyond all of them: nothing here has digits. True when that was it. */
static bool add_unusual(TextBuilder *builder, double number) {
    if (isnan(number)) text_add_string(builder, "not a number");
    else if (isinf(number)) text_add_string(builder, number < 0 ? "-infinity" : "infinity");
    else return false;
    return true;
}

static void add_exponent(TextBuilder *builder, int exponent) {
    text_add_char(builder, 'e');
    if (exponent < 0) text_add_char(builder, '-');
    text_add_count(builder, (uint64_t)(exponent < 0 ? -exponent : exponent));
}

static void add_number(TextBuilder *builder, double number, int digits) {
    if (add_unusual(builder, number)) return;
    Decimal decimal;
    decimal_significant(number, digits, &decimal);
    int count = decimal.count, exponent = decimal.exponent;
    while (count > 0 && decimal.digits[count - 1] == '0') count--;
    if (count == 0) {
        text_add_char(builder, '0');
        return;
    }
    if (decimal.negative) text_add_char(builder, '-');
    if (exponent < PLAIN_LEAST || exponent > PLAIN_MOST) {
        add_digits(builder, &decimal, 0, 1);
        if (count > 1) text_add_char(builder, '.');
        add_digits(builder, &decimal, 1, count);
        add_exponent(builder, exponent);
        return;
    }
    decimal.count = count;
    if (exponent >= 0) add_digits(builder, &decimal, 0, exponent + 1);
    else text_add_char(builder, '0');
    if (count > exponent + 1) text_add_char(builder, '.');
    add_digits(builder, &decimal, exponent + 1, count);
}

Text spell_number(Arena *arena, double number, int digits) {
    TextBuilder builder = text_builder(arena);
    add_number(&builder, number, digits);
    return text_built(&builder);
}

static void add_fixed(TextBuilder *builder, double number, int places) {
    if (add_unusual(builder, number)) return;
    if (places < 0) places = 0;
    if (places > DECIMAL_PLACES_MOST) places = DECIMAL_PLACES_MOST;
    Decimal decimal;
    decimal_fixed(number, places, &decimal);
    if (decimal.count == 0) decimal.exponent = 0;
    else if (decimal.negative) text_add_char(builder, '-');
    if (decimal.exponent < 0) text_add_char(builder, '0');
    add_digits(builder, &decimal, 0, decimal.exponent + 1);
    if (places > 0) text_add_char(builder, '.');
    add_digits(builder, &decimal, decimal.exponent + 1, decimal.exponent + 1 + places);
}

Text spell_fixed(Arena *arena, double number, int decimals) {
    TextBuilder builder = text_builder(arena);
    add_fixed(&builder, number, decimals);
    return text_built(&builder);
}

/* ---- values ---- */

/* The number of units in a value. The zero point is taken off first; what that subtraction leaves of rounding is no
 * temperature. */
static double number_in(const Unit *unit, double si, bool point) {
    if (!point) return si / unit->factor;
    double above = si - unit->zero;
    if (fabs(above) < 4e-16 * (fabs(si) + fabs(unit->zero))) above = 0;
    return above / unit->factor;
}

/* Whether it is spelled as 1 or more: 0.99996 at four digits is. */
static bool is_one_or_more(double number, int digits) {
    if (!isfinite(number)) return true;
    Decimal decimal;
    decimal_significant(number, digits, &decimal);
    return decimal.count > 0 && decimal.exponent >= 0;
}

static UnitId choose_unit(const Vocabulary *v, double si, Measure measure, int digits) {
    const Kind *kind = kind_of(v, kind_for(v, measure));
    if (kind->shown_count == 0) return measure.kind || kind->point ? kind->unit : 0;
    if (si == 0) return kind_usual_unit(kind); /* nothing has no size */
    for (uint32_t i = kind->shown_count; i-- > 1;)
        if (is_one_or_more(number_in(unit_of(v, kind->shown[i]), si, kind->point), digits)) return kind->shown[i];
    return kind->shown[0];
}

UnitId spell_unit(const Vocabulary *vocabulary, double si, Measure measure) {
    return choose_unit(vocabulary, si, measure, SPELL_DIGITS);
}

Text spell_value(const Vocabulary *vocabulary, Arena *arena, double si, Measure measure, UnitId unit, int digits) {
    if (unit == 0) unit = choose_unit(vocabulary, si, measure, digits);
    TextBuilder builder = text_builder(arena);
    const Unit *in = unit_of(vocabulary, unit);
    add_number(&builder, number_in(in, si, measure.point), digits);
    Text name = symbol_text(vocabulary->symbols, in->text);
    if (unit == 0) name = dimension_spell(vocabulary, arena, measure.dimension);
    if (!text_is(name, "1")) {
        text_add_char(&builder, ' ');
        text_add(&builder, name);
    }
    return text_built(&builder);
}

Text spell_share(Arena *arena, double share) {
    enum { DIGITS = 2 };
    TextBuilder builder = text_builder(arena);
    double percent = share * 100;
    Decimal decimal;
    decimal_significant(isfinite(percent) ? percent : 0, DIGITS, &decimal);
    if (fabs(percent) >= 1e6) {
        add_number(&builder, percent, SPELL_DIGITS);
    } else {
        int places = decimal.count == 0 ? 1 : DIGITS - 1 - decimal.exponent;
        add_fixed(&builder, percent, places > 0 ? places : 0);
    }
    text_add_string(&builder, " %");
    return text_built(&builder);
}
