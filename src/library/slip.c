#include "library/slip.h"

#include <math.h>

#include "syntax/number.h"

/* How far, as a logarithm, the right number may be from what the slip makes of the written one. */
static const double near_tens = 0.3, near_others = 0.12, near_roots = 0.03;

typedef struct Hunt {
    Vocabulary *vocabulary;
    Symbols *symbols;
    Arena *arena;
    const Written *written;
    double right; /* in the written unit */
    Slip *slips;
    uint32_t count;
} Hunt;

double slip_value(const Vocabulary *vocabulary, const Written *written, const Slip *slip) {
    UnitId id = slip->kind == SLIP_UNIT ? slip->unit : written->unit;
    if (id == 0) return slip->number;
    const Unit *unit = unit_of(vocabulary, id);
    return slip->number * unit->factor + (written->measure.point ? unit->zero : 0);
}

bool slip_is_strong(const Slip *slip) {
    bool large = fabs(log(slip->times)) > 2;
    return large && (slip->kind == SLIP_POINT || slip->kind == SLIP_PREFIX || slip->kind == SLIP_UNIT || slip->kind == SLIP_RECIPROCAL);
}

static double distance(double a, double b) { return a / b > 0 ? fabs(log(a / b)) : INFINITY; }

/* `number` in the written unit. */
static void offer(Hunt *hunt, Slip slip, double number, double near) {
    if (hunt->count == SLIP_MOST || !isfinite(number) || !(distance(number, hunt->right) <= near)) return;
    slip.times = hunt->written->number / number;
    if (slip.kind != SLIP_UNIT) slip.number = number;
    hunt->slips[hunt->count++] = slip;
}

/* ---- another unit ------------------------------------------------------------------------------------------------ */

static double factor_of(const Hunt *hunt, UnitId unit) { return unit ? unit_of(hunt->vocabulary, unit)->factor : 1; }

static bool is_thousands(double times) {
    double thousands = log10(times) / 3;
    return fabs(thousands - round(thousands)) < 1e-9;
}

static void offer_unit(Hunt *hunt, UnitId unit) {
    if (unit == 0 || unit == hunt->written->unit) return;
    const Unit *other = unit_of(hunt->vocabulary, unit);
    Dimension own = hunt->written->unit ? unit_of(hunt->vocabulary, hunt->written->unit)->dimension : measure_number().dimension;
    if (!dimension_equal_but_angle(other->dimension, own) || other->is_point != hunt->written->measure.point) return;
    double times = factor_of(hunt, hunt->written->unit) / other->factor;
    if (fabs(times - 1) < 1e-9) return;
    for (uint32_t i = 0; i < hunt->count; i++) {
        if (hunt->slips[i].unit != 0 && fabs(hunt->slips[i].times / times - 1) < 1e-9) return; /* the same by another name */
    }
    Slip slip = {.kind = is_thousands(times) ? SLIP_PREFIX : SLIP_UNIT, .unit = unit, .number = hunt->written->number};
    offer(hunt, slip, hunt->written->number / times, fabs(log(times)) > 2 ? near_tens : near_others);
}

static void offer_named(Hunt *hunt, Text name) {
    offer_unit(hunt, vocabulary_known_unit(hunt->vocabulary, symbol_of(hunt->symbols, name)));
}

static void offer_units(Hunt *hunt) {
    static const char *const prefixes[] = {"m", "k", "µ", "M"};
    const Kind *kind = hunt->written->kind ? kind_of(hunt->vocabulary, hunt->written->kind) : NULL;
    Text own = hunt->written->unit ? symbol_text(hunt->symbols, unit_of(hunt->vocabulary, hunt->written->unit)->text) : (Text){0};
    for (size_t i = 0; own.length > 0 && i < sizeof prefixes / sizeof *prefixes; i++) {
        Text parts[2] = {text_from(prefixes[i]), own};
        offer_named(hunt, text_fill(hunt->arena, TEXT("{0}{1}"), parts, 2));
        if (!text_starts(own, parts[0])) continue;
        Text bare = text_slice(own, parts[0].length, own.length);
        offer_named(hunt, bare);
        for (size_t k = 0; k < sizeof prefixes / sizeof *prefixes; k++) {
            Text other[2] = {text_from(prefixes[k]), bare};
            offer_named(hunt, text_fill(hunt->arena, TEXT("{0}{1}"), other, 2));
        }
    }
    if (kind != NULL) offer_unit(hunt, kind->unit);
    for (uint32_t i = 0; kind != NULL && i < kind->shown_count; i++) offer_unit(hunt, kind->shown[i]);
    for (uint32_t i = 0; kind != NULL && i < kind->also_count; i++) offer_unit(hunt, kind->also[i]);
}

/* ---- digits ------------------------------------------------------------------------------------------------------ */

static void offer_digits(Hunt *hunt) {
    Text digits = hunt->written->digits;
    if (digits.length > 20) return;
    for (size_t i = 0; i < digits.length; i++) {
        size_t k = i + 1;
        if (k < digits.length && digits.at[k] == '.') k++;
        if (k >= digits.length || digits.at[i] < '0' || digits.at[i] > '9' || digits.at[k] < '0' || digits.at[k] > '9') continue;
        if (digits.at[i] == digits.at[k] || digits.at[i] == '0') continue;
        char exchanged[24];
        for (size_t c = 0; c < digits.length; c++) exchanged[c] = digits.at[c];
        exchanged[i] = digits.at[k];
        exchanged[k] = digits.at[i];
        offer(hunt, (Slip){.kind = SLIP_DIGITS}, number_read((Text){exchanged, digits.length}), near_others);
    }
}

/* ---- conventions of current --------------------------------------------------------------------------------------- */

enum { ROOTS = 8 };

/* They lie close together: the nearest only. */
static void offer_root(Hunt *hunt) {
    static const struct { double times; const char *name; } roots[ROOTS] = {
        {1.4142135623730951, "√2"}, {0.7071067811865476, "1/√2"}, {1.7320508075688772, "√3"}, {0.5773502691896258, "1/√3"},
        {1.224744871391589, "√1.5"}, {0.816496580927726, "1/√1.5"}, {1.1547005383792517, "2/√3"}, {0.8660254037844386, "√3/2"}};
    const int8_t *sixths = hunt->written->measure.dimension.sixths;
    if (sixths[DIMENSION_CURRENT] == 0 && sixths[DIMENSION_MASS] % 6 == 0) return; /* torque per root of power has none */
    uint32_t best = 0;
    for (uint32_t i = 1; i < ROOTS; i++) {
        double n = hunt->written->number;
        if (distance(n / roots[i].times, hunt->right) < distance(n / roots[best].times, hunt->right)) best = i;
    }
    offer(hunt, (Slip){.kind = SLIP_CURRENT, .root = roots[best].name}, hunt->written->number / roots[best].times, near_roots);
}

uint32_t slips_of(Vocabulary *vocabulary, Symbols *symbols, Arena *arena, const Written *written, double right, Slip slips[SLIP_MOST]) {
    static const double tens[] = {10, 0.1, 100, 0.01}, thousands[] = {1e3, 1e-3, 1e6, 1e-6}, turn = 6.283185307179586;
    Hunt hunt = {.vocabulary = vocabulary, .symbols = symbols, .arena = arena, .written = written, .slips = slips};
    const Unit *unit = written->unit ? unit_of(vocabulary, written->unit) : NULL;
    hunt.right = unit ? number_in(unit, right, written->measure.point) : right;
    double number = written->number;
    if (number == 0 || hunt.right == 0 || !isfinite(hunt.right)) return 0;
    offer_units(&hunt);
    bool named = hunt.count > 0;
    for (size_t i = 0; i < 4; i++) offer(&hunt, (Slip){.kind = SLIP_POINT}, number / tens[i], near_tens);
    for (size_t i = 0; i < 4 && !named; i++) offer(&hunt, (Slip){.kind = SLIP_PREFIX}, number / thousands[i], near_tens);
    Text name = unit != NULL ? symbol_text(symbols, unit->text) : (Text){0};
    bool divided = false; /* rpm/V, and not Ω: nobody writes siemens for ohm */
    for (size_t i = 0; i < name.length; i++) divided = divided || name.at[i] == '/';
    if (divided && distance(number, 1) > 0.5) offer(&hunt, (Slip){.kind = SLIP_RECIPROCAL}, 1 / number, near_others);
    offer(&hunt, (Slip){.kind = SLIP_TURN}, number / turn, near_others);
    offer(&hunt, (Slip){.kind = SLIP_TURN}, number * turn, near_others);
    offer_digits(&hunt);
    offer_root(&hunt);
    return hunt.count;
}
