#include <math.h>

#include "quantity/vocabulary.h"

/* product = factor (("·" | "*" | "/") factor)*          divides what stands to the left, whatever follows
 * factor  = ("(" product ")" | "√" factor | NAME | "1") power?
 * power   = "^" sign? digits ("." digits)? | "^" "(" sign? digits ("/" digits)? ")" | raised sign and digits */

typedef struct Reader {
    Vocabulary *vocabulary;
    Text text;
    size_t at;
    UnitFault *fault;
    size_t unclear;
} Reader;

typedef struct Part {
    Scale scale;
    Dimension dimension;
    bool has_length;
} Part;

/* ---- signs ---- */

typedef enum Sign { SIGN_END, SIGN_NAME, SIGN_TIMES, SIGN_OVER, SIGN_POWER, SIGN_OPEN, SIGN_CLOSE, SIGN_ROOT, SIGN_RAISED } Sign;

/* What stands at an offset, and its bytes. For SIGN_RAISED, *value is the digit, or '+' or '-'. */
static Sign sign_at(Text text, size_t at, size_t *length, char *value) {
    *length = 1;
    if (at >= text.length) return *length = 0, SIGN_END;
    const unsigned char *byte = (const unsigned char *)text.at + at;
    size_t left = text.length - at;
    switch (byte[0]) {
    case '*': return SIGN_TIMES;
    case '/': return SIGN_OVER;
    case '^': return SIGN_POWER;
    case '(': return SIGN_OPEN;
    case ')': return SIGN_CLOSE;
    case 0xC2:
        if (left < 2) return SIGN_NAME;
        *length = 2;
        if (byte[1] == 0xB7) return SIGN_TIMES;
        *value = byte[1] == 0xB9 ? '1' : byte[1] == 0xB2 ? '2' : byte[1] == 0xB3 ? '3' : 0;
        return *value ? SIGN_RAISED : SIGN_NAME;
    case 0xE2:
        if (left < 3) return SIGN_NAME;
        *length = 3;
        if (byte[1] == 0x88 && byte[2] == 0x9A) return SIGN_ROOT;
        if (byte[1] == 0x8B && byte[2] == 0x85) return SIGN_TIMES; /* the dot operator */
        if (byte[1] != 0x81) return SIGN_NAME;
        *value = byte[2] == 0xBA ? '+' : byte[2] == 0xBB ? '-' : 0;
        if (byte[2] == 0xB0 || (byte[2] >= 0xB4 && byte[2] <= 0xB9)) *value = (char)('0' + (byte[2] - 0xB0));
        return *value ? SIGN_RAISED : SIGN_NAME;
    default: return SIGN_NAME;
    }
}

static Sign sign_now(const Reader *reader, size_t *length) {
    char value;
    return sign_at(reader->text, reader->at, length, &value);
}

/* The end of the name that begins at an offset (the offset itself when there is none). */
static size_t name_end(Text text, size_t at) {
    size_t length;
    char value;
    while (sign_at(text, at, &length, &value) == SIGN_NAME) at += length;
    return at;
}

static bool is_digit(char c) { return c >= '0' && c <= '9'; }

static bool begins_name(char c) { return !is_digit(c) && c != '+' && c != '-' && c != '.'; }

bool unit_text_is_name(Text text) {
    return text.length > 0 && begins_name(text.at[0]) && name_end(text, 0) == text.length;
}

/* ---- faults ---- */

static bool fail(Reader *reader, MessageId id, size_t start, size_t end, Text a, Text b) {
    *reader->fault = (UnitFault){.id = id, .start = start, .end = end, .arguments = {reader->text, a, b}};
    return false;
}

static bool malformed(Reader *reader, size_t start, const char *reason) {
    size_t end = start < reader->text.length ? reader->text.length : start;
    if (start == end) start = 0;
    return fail(reader, MESSAGE_UNIT_MALFORMED, start, end, text_from(reason), (Text){0});
}

/* ---- names ---- */

bool unit_find(const Vocabulary *vocabulary, Text name, uint32_t *prefix, uint32_t *unit, uint32_t *barred) {
    *prefix = *barred = 0;
    Symbol whole = symbol_find(vocabulary->symbols, name);
    *unit = whole ? map_get(&vocabulary->unit_names, whole, 0) : 0;
    if (*unit) return true;
    uint32_t barred_unit = 0;
    size_t longest = name.length ? name.length - 1 : 0;
    if (longest > vocabulary->longest_prefix) longest = vocabulary->longest_prefix;
    for (size_t length = longest; length > 0; length--) {
        Symbol front = symbol_find(vocabulary->symbols, text_slice(name, 0, length));
        uint32_t found = front ? map_get(&vocabulary->prefix_names, front, 0) : 0;
        if (!found) continue;
        Symbol back = symbol_find(vocabulary->symbols, text_slice(name, length, name.length));
        uint32_t rest = back ? map_get(&vocabulary->unit_names, back, 0) : 0;
        if (!rest) continue;
        if (vocabulary->units.at[rest].prefixes) {
            *prefix = found;
            *unit = rest;
            *barred = 0;
            return true;
        }
        if (!*barred) *barred = found, barred_unit = rest;
    }
    *unit = barred_unit;
    return false;
}

/* m, mm, kg: a length to the first power, in which a lever arm may be given. */
static bool is_length(Dimension dimension) {
    Dimension length = {{0}};
    length.sixths[DIMENSION_LENGTH] = 6;
    return dimension_equal(dimension, length);
}

static bool no_such_unit(Reader *reader, Text name, uint32_t barred, uint32_t unit) {
    Vocabulary *v = reader->vocabulary;
    size_t start = reader->at, end = start + name.length;
    if (barred) {
        fail(reader, MESSAGE_UNIT_PREFIX, start, end, symbol_text(v->symbols, v->prefixes.at[barred].name),
             symbol_text(v->symbols, v->units.at[unit].name));
        Text same = unit_in_another_case(v, name);
        if (same.length) reader->fault->arguments[3] = text_fill(v->arena, TEXT(", or {0} if that is meant"), &same, 1);
    } else {
        fail(reader, MESSAGE_UNIT_UNKNOWN, start, end, unit_advice(v, name), (Text){0});
    }
    reader->fault->arguments[0] = name;
    return false;
}

static bool read_name(Reader *reader, Part *out) {
    Vocabulary *v = reader->vocabulary;
    size_t end = name_end(reader->text, reader->at);
    Text name = text_slice(reader->text, reader->at, end);
    if (text_is(name, "1")) {
        *out = (Part){.scale = {1, 1, 0}};
        reader->at = end;
        return true;
    }
    if (!begins_name(name.at[0])) return malformed(reader, reader->at, "a number, a sign or a point has no place here");
    uint32_t prefix, number, barred;
    if (!unit_find(v, name, &prefix, &number, &barred)) return no_such_unit(reader, name, barred, number);
    if (!unit_resolve(v, number)) {
        *reader->fault = (UnitFault){.silent = true};
        return false;
    }
    const DeclaredUnit *unit = &v->units.at[number];
    *out = (Part){.scale = unit->scale, .dimension = unit->dimension, .has_length = is_length(unit->dimension)};
    if (prefix) out->scale = scale_multiply(v->prefixes.at[prefix].scale, out->scale);
    reader->at = end;
    return true;
}

/* ---- powers ---- */

/* Digits from the current place; capped, as no power is that large. */
static bool read_digits(Reader *reader, int *number, int *places) {
    size_t start = reader->at;
    int value = 0;
    for (; reader->at < reader->text.length && is_digit(reader->text.at[reader->at]); reader->at++) {
        if (value < 1000000) value = value * 10 + (reader->text.at[reader->at] - '0');
        if (places) ++*places;
    }
    *number = value;
    return reader->at > start;
}

static bool accept(Reader *reader, char c) {
    if (reader->at >= reader->text.length || reader->text.at[reader->at] != c) return false;
    reader->at++;
    return true;
}

/* After "^": the power as numerator / denominator. */
static bool read_written_power(Reader *reader, int *numerator, int *denominator) {
    bool open = accept(reader, '(');
    bool minus = accept(reader, '-');
    if (!minus) accept(reader, '+');
    *denominator = 1;
    if (!read_digits(reader, numerator, NULL)) return false;
    if (accept(reader, '.')) {
        int part, places = 0;
        if (!read_digits(reader, &part, &places) || places > 3) return false;
        for (; places > 0; places--) *denominator *= 10;
        if (*numerator > 1000) *numerator = 1000; /* past every limit already */
        *numerator = *numerator * *denominator + part;
    } else if (open && accept(reader, '/')) {
        if (!read_digits(reader, denominator, NULL)) return false;
    }
    if (minus) *numerator = -*numerator;
    return !open || accept(reader, ')');
}

static bool read_raised_power(Reader *reader, int *numerator) {
    size_t length;
    char value;
    bool minus = false, digits = false;
    *numerator = 0;
    for (bool first = true; sign_at(reader->text, reader->at, &length, &value) == SIGN_RAISED; first = false) {
        if (!is_digit(value)) {
            if (!first) return false;
            minus = value == '-';
        } else {
            digits = true;
            if (*numerator < 1000000) *numerator = *numerator * 10 + (value - '0');
        }
        reader->at += length;
    }
    if (minus) *numerator = -*numerator;
    return digits;
}

static bool raise(Reader *reader, Part *part, size_t start, int numerator, int denominator) {
    Text power = text_slice(reader->text, start, reader->at);
    int64_t sixths = denominator ? (int64_t)numerator * 6 / denominator : 0;
    bool exact = denominator && (int64_t)numerator * 6 % denominator == 0;
    if (!exact || sixths == 0 || sixths > UNIT_POWER_SIXTHS || sixths < -UNIT_POWER_SIXTHS ||
        !dimension_power(part->dimension, (int)sixths, 6, &part->dimension))
        return fail(reader, MESSAGE_UNIT_POWER, start, reader->at, power, (Text){0});
    part->scale = scale_power(part->scale, (int)sixths);
    return true;
}

static bool read_power(Reader *reader, Part *part) {
    size_t start = reader->at, length;
    int numerator = 0, denominator = 1;
    switch (sign_now(reader, &length)) {
    case SIGN_POWER:
        reader->at += length;
        if (!read_written_power(reader, &numerator, &denominator))
            return malformed(reader, start, "a power is written like ^2, ^-1, ^0.5 or ^(1/2)");
        break;
    case SIGN_RAISED:
        if (!read_raised_power(reader, &numerator)) return malformed(reader, start, "a raised power is written like ² or ⁻¹");
        break;
    default: return true;
    }
    return raise(reader, part, start, numerator, denominator);
}

/* ---- factors and products ---- */

static bool read_product(Reader *reader, Part *out, int nesting);

static bool read_group(Reader *reader, Part *out, int nesting) {
    size_t open = reader->at++;
    if (nesting >= UNIT_NESTING_LIMIT) return malformed(reader, open, "its parentheses are nested too deeply");
    if (!read_product(reader, out, nesting + 1)) return false;
    if (!accept(reader, ')')) return malformed(reader, open, "a parenthesis is not closed");
    return true;
}

static bool read_factor(Reader *reader, Part *out, int nesting) {
    size_t length, start = reader->at;
    switch (sign_now(reader, &length)) {
    case SIGN_NAME:
        if (!read_name(reader, out)) return false;
        break;
    case SIGN_OPEN:
        if (!read_group(reader, out, nesting)) return false;
        break;
    case SIGN_ROOT:
        reader->at += length;
        if (nesting >= UNIT_NESTING_LIMIT) return malformed(reader, start, "its roots are nested too deeply");
        return read_factor(reader, out, nesting + 1) && raise(reader, out, start, 1, 2);
    case SIGN_END: return malformed(reader, start, "something is missing at its end");
    default: return malformed(reader, start, "a unit is missing here");
    }
    return read_power(reader, out);
}

static bool combine(Reader *reader, Part *left, Part right, bool over) {
    if (over) right.scale = scale_power(right.scale, -6);
    left->scale = scale_multiply(left->scale, right.scale);
    left->has_length |= right.has_length;
    bool fine = over ? dimension_divide(left->dimension, right.dimension, &left->dimension)
                     : dimension_multiply(left->dimension, right.dimension, &left->dimension);
    return fine || malformed(reader, 0, "its powers go beyond the 21st");
}

static bool read_product(Reader *reader, Part *out, int nesting) {
    if (!read_factor(reader, out, nesting)) return false;
    size_t stroke = 0;
    for (;;) {
        size_t length, start = reader->at;
        Sign sign = sign_now(reader, &length);
        if (sign == SIGN_END || sign == SIGN_CLOSE) return true;
        if (sign != SIGN_TIMES && sign != SIGN_OVER) return malformed(reader, start, "· or / is missing here");
        if (sign == SIGN_OVER) stroke = start;
        if (sign == SIGN_TIMES && stroke && nesting == 0) reader->unclear = stroke;
        reader->at += length;
        Part right = {0};
        if (!read_factor(reader, &right, nesting)) return false;
        if (!combine(reader, out, right, sign == SIGN_OVER)) return false;
    }
}

/* The kind and the zero point of a declared unit hold only for the unit by itself. */
static void stand_alone(const Vocabulary *v, Text text, Unit *out) {
    uint32_t prefix, number, barred;
    if (!unit_text_is_name(text) || !unit_find(v, text, &prefix, &number, &barred)) return;
    const DeclaredUnit *unit = &v->units.at[number];
    out->kind = unit->kind;
    if (prefix) return;
    out->zero = unit->zero;
    out->is_point = unit->point;
}

bool unit_text_read(Vocabulary *vocabulary, Text text, UnitRecord *out, UnitFault *fault, size_t *unclear) {
    Reader reader = {.vocabulary = vocabulary, .text = text, .fault = fault};
    Part part = {0};
    if (text.length == 0) return malformed(&reader, 0, "nothing is written");
    if (!read_product(&reader, &part, 0)) return false;
    if (reader.at < text.length) return malformed(&reader, reader.at, "a parenthesis is closed that was not opened");
    double factor = scale_value(part.scale);
    if (!(factor > 0) || isinf(factor)) return malformed(&reader, 0, "its size is beyond what can be counted");
    *unclear = reader.unclear;
    out->scale = part.scale;
    out->unit = (Unit){.dimension = part.dimension, .factor = factor, .has_length = part.has_length};
    stand_alone(vocabulary, text, &out->unit);
    return true;
}
