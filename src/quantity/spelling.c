#include <math.h>
#include <string.h>

#include "quantity/decimal.h"
#include "quantity/vocabulary.h"

enum { PLAIN_LEAST = -4, PLAIN_MOST = 5 }; /* exponents of ten written without an exponent */

/* A number being spelled, in a room that holds the longest. */
typedef struct Spelled {
    size_t length;
    char at[DECIMAL_ROOM + 16];
} Spelled;

static void put(Spelled *out, const char *zero_ended) {
    size_t length = strlen(zero_ended);
    memcpy(out->at + out->length, zero_ended, length);
    out->length += length;
}

/* Digits `from` to `to` - 1 of a decimal; before and after those that it has are zeros. */
static void put_digits(Spelled *out, const Decimal *decimal, int from, int to) {
    for (int i = from; i < to; i++) out->at[out->length++] = i >= 0 && i < decimal->count ? decimal->digits[i] : '0';
}

/* Not a number, or beyond all of them: nothing here has digits. True when that was it. */
static bool put_unusual(Spelled *out, double number) {
    if (isfinite(number)) return false;
    put(out, isnan(number) ? "not a number" : number < 0 ? "-infinity" : "infinity");
    return true;
}

static void put_exponent(Spelled *out, int exponent) {
    put(out, exponent < 0 ? "e-" : "e");
    int size = exponent < 0 ? -exponent : exponent;
    if (size >= 100) out->at[out->length++] = (char)('0' + size / 100);
    if (size >= 10) out->at[out->length++] = (char)('0' + size / 10 % 10);
    out->at[out->length++] = (char)('0' + size % 10);
}

static void put_number(Spelled *out, double number, int digits) {
    if (put_unusual(out, number)) return;
    Decimal decimal;
    decimal_significant(number, digits, &decimal);
    while (decimal.count > 0 && decimal.digits[decimal.count - 1] == '0') decimal.count--;
    int count = decimal.count, exponent = decimal.exponent;
    if (count == 0) {
        put(out, "0");
        return;
    }
    if (decimal.negative) put(out, "-");
    if (exponent < PLAIN_LEAST || exponent > PLAIN_MOST) {
        put_digits(out, &decimal, 0, 1);
        if (count > 1) put(out, ".");
        put_digits(out, &decimal, 1, count);
        put_exponent(out, exponent);
        return;
    }
    if (exponent < 0) put(out, "0");
    put_digits(out, &decimal, 0, exponent + 1);
    if (count > exponent + 1) put(out, ".");
    put_digits(out, &decimal, exponent + 1, count);
}

static void put_fixed(Spelled *out, double number, int places) {
    if (put_unusual(out, number)) return;
    if (places < 0) places = 0;
    if (places > DECIMAL_PLACES_MOST) places = DECIMAL_PLACES_MOST;
    Decimal decimal;
    decimal_fixed(number, places, &decimal);
    if (decimal.count == 0) decimal.exponent = 0;
    else if (decimal.negative) put(out, "-");
    if (decimal.exponent < 0) put(out, "0");
    put_digits(out, &decimal, 0, decimal.exponent + 1);
    if (places > 0) put(out, ".");
    put_digits(out, &decimal, decimal.exponent + 1, decimal.exponent + 1 + places);
}

Text spell_number(Arena *arena, double number, int digits) {
    Spelled spelled;
    spelled.length = 0;
    put_number(&spelled, number, digits);
    return text_copy(arena, (Text){spelled.at, spelled.length});
}

Text spell_fixed(Arena *arena, double number, int decimals) {
    Spelled spelled;
    spelled.length = 0;
    put_fixed(&spelled, number, decimals);
    return text_copy(arena, (Text){spelled.at, spelled.length});
}

/* ---- values ---- */

/* The number of units in a value. The zero point is taken off first; what that subtraction leaves of rounding is no
 * temperature. */
double number_in(const Unit *unit, double si, bool point) {
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
    const Unit *in = unit_of(vocabulary, unit);
    Spelled spelled;
    spelled.length = 0;
    put_number(&spelled, number_in(in, si, measure.point), digits);
    Text number = {spelled.at, spelled.length}, name = symbol_text(vocabulary->symbols, in->text);
    if (unit == 0) name = dimension_spell(vocabulary, arena, measure.dimension);
    if (text_is(name, "1")) return text_copy(arena, number);
    char *at = arena_take_raw(arena, number.length + 1 + name.length);
    memcpy(at, number.at, number.length);
    at[number.length] = ' ';
    memcpy(at + number.length + 1, name.at, name.length);
    return (Text){at, number.length + 1 + name.length};
}

Text spell_share(Arena *arena, double share) {
    enum { DIGITS = 2 };
    Spelled spelled;
    spelled.length = 0;
    double percent = share * 100;
    Decimal decimal;
    decimal_significant(isfinite(percent) ? percent : 0, DIGITS, &decimal);
    if (fabs(percent) >= 1e6) {
        put_number(&spelled, percent, SPELL_DIGITS);
    } else {
        int places = decimal.count == 0 ? 1 : DIGITS - 1 - decimal.exponent;
        put_fixed(&spelled, percent, places > 0 ? places : 0);
    }
    put(&spelled, " %");
    return text_copy(arena, (Text){spelled.at, spelled.length});
}
