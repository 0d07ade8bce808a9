#include "quantity/figure.h"

#include <math.h>

#include "quantity/decimal.h"

enum { MORE_DECIMALS = 6 }; /* for a number that became so small; a smaller one is what rounding has left of nothing */

/* ---- reading ------------------------------------------------------------------------------------------------------- */

static bool is_digit(Text text, size_t at) { return at < text.length && text.at[at] >= '0' && text.at[at] <= '9'; }

static size_t digits_at(Text text, size_t at) {
    size_t end = at;
    while (is_digit(text, end)) end++;
    return end - at;
}

static bool has(Text text, size_t at, const char *what) { return text_starts(text_slice(text, at, text.length), text_from(what)); }

/* Bytes of a space: plain, not breakable, narrow or of a fixed width. */
static size_t space_at(Text text, size_t at) {
    if (at >= text.length) return 0;
    if (text.at[at] == ' ' || text.at[at] == '\t' || text.at[at] == '\n' || text.at[at] == '\r') return 1;
    if (has(text, at, "\xC2\xA0")) return 2;                                    /* U+00A0 */
    if (has(text, at, "\xE2\x80\xAF") || has(text, at, "\xE2\x81\x9F")) return 3; /* U+202F, U+205F */
    if (at + 2 < text.length && has(text, at, "\xE2\x80")) {                     /* U+2000 to U+200A */
        unsigned last = (unsigned char)text.at[at + 2];
        return last >= 0x80 && last <= 0x8A ? 3 : 0;
    }
    return 0;
}

static size_t skip_spaces(Text text, size_t at) {
    for (size_t length; (length = space_at(text, at)) > 0;) at += length;
    return at;
}

static size_t sign_at(Text text) {
    if (text.length > 0 && (text.at[0] == '-' || text.at[0] == '+')) return 1;
    return has(text, 0, "\xE2\x88\x92") ? 3 : 0; /* U+2212 */
}

/* The digits, point and power of ten; returns the end, or 0 when there is no number. */
static size_t read_number(Text text, Figure *figure) {
    size_t start = sign_at(text), at = start + digits_at(text, start);
    if (at == start) return 0;
    if (at < text.length && text.at[at] == '.' && is_digit(text, at + 1)) {
        size_t decimals = digits_at(text, at + 1);
        figure->decimals = decimals > 1000 ? 1000 : (int)decimals;
        at += 1 + decimals;
    }
    for (size_t i = start; i < at; i++) {
        if (text.at[i] == '.' || (text.at[i] == '0' && figure->significant == 0)) continue;
        if (figure->significant < 1000) figure->significant++;
    }
    if (at < text.length && text.at[at] == ',' && is_digit(text, at + 1)) {
        size_t last = digits_at(text, at + 1);
        figure->comma = true;
        figure->decimals = last == 3 || last > 1000 ? 0 : (int)last; /* 1,200 is in groups of three */
        figure->significant += last < 1000 ? (int)last : 1000;
        while (is_digit(text, at) || (at < text.length && (text.at[at] == ',' || text.at[at] == '.') && is_digit(text, at + 1))) at++;
    }
    if (at < text.length && (text.at[at] == 'e' || text.at[at] == 'E')) {
        size_t sign = at + 1 < text.length && (text.at[at + 1] == '-' || text.at[at + 1] == '+') ? 1 : 0;
        size_t digits = digits_at(text, at + 1 + sign);
        figure->power = digits > 0 && digits < 4;
        if (figure->power) at += 1 + sign + digits;
    }
    return at;
}

static bool is_stop(char c) { return c == '.' || c == ',' || c == ';' || c == ':' || c == '!' || c == '?'; }

static Text without_stop(Text word) {
    while (word.length > 0 && is_stop(word.at[word.length - 1])) word.length--;
    return word;
}

/* A letter of the alphabet, or any sign beyond ASCII but dashes and other punctuation (U+2010 to U+2027): 4.7µF, 3Ω. */
static bool is_letter(Text text, size_t at) {
    if (at >= text.length) return false;
    unsigned char c = (unsigned char)text.at[at];
    if (c < 0x80) return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
    if (!has(text, at, "\xE2\x80")) return true;
    unsigned char last = at + 2 < text.length ? (unsigned char)text.at[at + 2] : 0;
    return last > 0xA7;
}

bool figure_read(Text text, Figure *figure) {
    *figure = (Figure){0};
    text = text_slice(text, skip_spaces(text, 0), text.length);
    size_t end = read_number(text, figure);
    if (end == 0) return false;
    figure->number = text_slice(text, 0, end);
    size_t stops = end;
    while (stops < text.length && is_stop(text.at[stops])) stops++;
    bool ends = stops == text.length || space_at(text, stops) > 0;
    bool sign = has(text, end, "%") || has(text, end, "\xE2\x80\xB0") || has(text, end, "\xC2\xB0");
    figure->glued = !ends && !sign && is_letter(text, end);
    if (!ends && !sign && !figure->glued) return false;
    if (!ends) stops = end;
    size_t word = skip_spaces(text, stops), stop = word;
    while (stops == end && stop < text.length && space_at(text, stop) == 0) stop++; /* behind a comma is no unit */
    figure->unit = without_stop(text_slice(text, word, stop));
    figure->rest = text_trim(text_slice(text, skip_spaces(text, stop), text.length));
    return true;
}

/* ---- writing ------------------------------------------------------------------------------------------------------- */

/* As many significant digits as are written, with a power of ten. */
static Text spell_power(Arena *arena, const Figure *figure, double number) {
    Decimal decimal;
    decimal_significant(number, figure->significant > 0 ? figure->significant : 1, &decimal);
    TextBuilder out = text_builder(arena);
    if (decimal.negative && decimal.count > 0) text_add_char(&out, '-');
    for (int i = 0; i < decimal.count; i++) {
        if (i == 1) text_add_char(&out, '.');
        text_add_char(&out, decimal.digits[i]);
    }
    if (decimal.count == 0) text_add_char(&out, '0');
    text_add_char(&out, 'e');
    if (decimal.exponent < 0) text_add_char(&out, '-');
    text_add_count(&out, (uint64_t)(decimal.exponent < 0 ? -decimal.exponent : decimal.exponent));
    return text_built(&out);
}

static bool is_zero(Text number) {
    for (size_t i = 0; i < number.length; i++)
        if (number.at[i] >= '1' && number.at[i] <= '9') return false;
    return true;
}

static Text spell_plain(Arena *arena, const Figure *figure, double number) {
    return figure->power ? spell_power(arena, figure, number) : spell_fixed(arena, number, figure->decimals);
}

/* The number as spell_plain would write it: minus as -, no plus, no needless zeros in front, 2.5e-05 as 2.5e-5. */
static Text canonical(Arena *arena, const Figure *figure) {
    Text number = figure->number;
    size_t at = sign_at(number), point;
    TextBuilder out = text_builder(arena);
    if (figure->power) { /* through the number itself: 0.25e-3 is 2.5e-4 */
        Text mantissa = text_slice(number, at, number.length);
        int exponent = 0, first = 0;
        for (point = 0; is_digit(mantissa, point);) point++;
        size_t e = point;
        while (mantissa.at[e] != 'e' && mantissa.at[e] != 'E') e++;
        bool under = mantissa.at[e + 1] == '-';
        for (size_t i = e + 1; i < mantissa.length; i++)
            if (is_digit(mantissa, i)) exponent = exponent * 10 + (mantissa.at[i] - '0');
        exponent = under ? -exponent : exponent;
        TextBuilder digits = text_builder(arena);
        for (size_t i = 0; i < e; i++) {
            if (mantissa.at[i] == '.') continue;
            if (digits.length == 0 && mantissa.at[i] == '0') first--;
            else text_add_char(&digits, mantissa.at[i]);
        }
        exponent += (int)point - 1 + first;
        if (digits.length == 0) return TEXT("0e0");
        if (number.at[0] != '+' && at > 0) text_add_char(&out, '-');
        text_add_char(&out, digits.at[0]);
        if (digits.length > 1) text_add_char(&out, '.');
        text_add(&out, (Text){digits.at + 1, digits.length - 1});
        text_add_char(&out, 'e');
        if (exponent < 0) text_add_char(&out, '-');
        text_add_count(&out, (uint64_t)(exponent < 0 ? -exponent : exponent));
        return text_built(&out);
    }
    if (at > 0 && number.at[0] != '+' && !is_zero(number)) text_add_char(&out, '-');
    while (number.at[at] == '0' && is_digit(number, at + 1)) at++;
    text_add(&out, text_slice(number, at, number.length));
    return text_built(&out);
}

bool figure_agrees(Arena *arena, const Figure *figure, double number) {
    static const double nearly[3] = {1, 1 + 1e-12, 1 - 1e-12}; /* how exactly values are known here */
    if (!isfinite(number) || figure->comma || figure->decimals > FIGURE_DECIMALS_MOST || figure->significant > 17) return false;
    Text written = canonical(arena, figure);
    for (int i = 0; i < 3; i++)
        if (text_equal(written, spell_plain(arena, figure, number * nearly[i]))) return true;
    return false;
}

Text figure_spell(Arena *arena, const Figure *figure, double number) {
    Figure like = *figure;
    if (like.decimals > FIGURE_DECIMALS_MOST) like.decimals = FIGURE_DECIMALS_MOST;
    Text plain = spell_plain(arena, &like, number);
    if (isfinite(number) && number != 0 && is_zero(plain)) {
        Decimal decimal;
        int digits = like.significant < 1 ? 1 : like.significant;
        decimal_significant(number, digits, &decimal);
        int decimals = digits - 1 - decimal.exponent;
        if (decimals <= like.decimals + MORE_DECIMALS && decimals <= FIGURE_DECIMALS_MOST) {
            like.decimals = decimals;
            plain = spell_plain(arena, &like, number);
        }
    }
    size_t sign = sign_at(figure->number);
    TextBuilder out = text_builder(arena);
    if (plain.length > 0 && plain.at[0] == '-') {
        text_add(&out, sign == 3 ? text_slice(figure->number, 0, 3) : TEXT("-"));
        plain = text_slice(plain, 1, plain.length);
    } else if (sign == 1 && figure->number.at[0] == '+' && !is_zero(plain)) {
        text_add_char(&out, '+');
    }
    text_add(&out, plain);
    return text_built(&out);
}
