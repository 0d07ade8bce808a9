#include "text/utf8.h"

#include <string.h>
#include <utf8proc.h>

static const uint64_t HIGH_BITS = 0x8080808080808080u;

static uint64_t load8(const char *at) {
    uint64_t word;
    memcpy(&word, at, 8);
    return word;
}

/* The first byte from `at` on that is not ASCII. */
static size_t skip_ascii(Text bytes, size_t at) {
    while (bytes.length - at >= 32) {
        const char *p = bytes.at + at;
        if ((load8(p) | load8(p + 8) | load8(p + 16) | load8(p + 24)) & HIGH_BITS) break;
        at += 32;
    }
    while (bytes.length - at >= 8 && !(load8(bytes.at + at) & HIGH_BITS)) at += 8;
    while (at < bytes.length && (unsigned char)bytes.at[at] < 0x80) at++;
    return at;
}

/* ---- checking ---- */

static bool follows(Text bytes, size_t at, unsigned low, unsigned high) {
    if (at >= bytes.length) return false;
    unsigned byte = (unsigned char)bytes.at[at];
    return byte >= low && byte <= high;
}

/* Length of the character at `at`; *valid says whether it is one, otherwise the length is that of the torn beginning.
 * The second byte's range rules out what is spelled too long, surrogates, and what lies beyond U+10FFFF (Unicode,
 * table 3-7). */
static size_t character_length(Text bytes, size_t at, bool *valid) {
    unsigned first = (unsigned char)bytes.at[at];
    unsigned low = 0x80, high = 0xBF;
    size_t more;
    *valid = false;
    if (first < 0x80) {
        *valid = true;
        return 1;
    }
    if (first < 0xC2 || first > 0xF4) return 1;
    if (first < 0xE0) {
        more = 1;
    } else if (first < 0xF0) {
        more = 2;
        if (first == 0xE0) low = 0xA0;
        if (first == 0xED) high = 0x9F;
    } else {
        more = 3;
        if (first == 0xF0) low = 0x90;
        if (first == 0xF4) high = 0x8F;
    }
    for (size_t i = 1; i <= more; i++) {
        if (!follows(bytes, at + i, low, high)) return i;
        low = 0x80;
        high = 0xBF;
    }
    *valid = true;
    return more + 1;
}

/* U+061C, U+200E, U+200F, U+202A … U+202E, U+2066 … U+2069, by their bytes. */
static bool is_bidirectional(const char *at, size_t length) {
    const unsigned char *byte = (const unsigned char *)at;
    if (length == 2) return byte[0] == 0xD8 && byte[1] == 0x9C;
    if (length != 3 || byte[0] != 0xE2) return false;
    if (byte[1] == 0x80) return byte[2] == 0x8E || byte[2] == 0x8F || (byte[2] >= 0xAA && byte[2] <= 0xAE);
    return byte[1] == 0x81 && byte[2] >= 0xA6 && byte[2] <= 0xA9;
}

Utf8Fault utf8_check(Text bytes, size_t *offset, size_t *length) {
    size_t at = *offset < bytes.length ? *offset : bytes.length;
    *length = 0;
    while ((at = skip_ascii(bytes, at)) < bytes.length) {
        do {
            bool valid;
            size_t size = character_length(bytes, at, &valid);
            if (!valid || is_bidirectional(bytes.at + at, size)) {
                *offset = at;
                *length = size;
                return valid ? UTF8_BIDIRECTIONAL : UTF8_INVALID;
            }
            at += size;
        } while (at < bytes.length && (unsigned char)bytes.at[at] >= 0x80);
    }
    *offset = bytes.length;
    return UTF8_FINE;
}

/* ---- characters ---- */

enum { NOT_A_CHARACTER = -1 };

/* The character at the start of `text` (not empty) and its bytes; a byte that is none is NOT_A_CHARACTER. */
static int32_t next_character(Text text, size_t *length) {
    bool valid;
    *length = character_length(text, 0, &valid);
    utf8proc_int32_t character;
    if (!valid || utf8proc_iterate((const utf8proc_uint8_t *)text.at, (utf8proc_ssize_t)*length, &character) < 0)
        return NOT_A_CHARACTER;
    return character;
}

static Text after(Text text, size_t length) { return (Text){text.at + length, text.length - length}; }

/* ---- names ---- */

/* Beyond, a name is not brought to normal form: putting marks in order takes the square of their number. */
enum { NORMAL_LENGTH = 1024 };

static int32_t plain_character(int32_t character) { return character == 0xB5 ? 0x3BC : character; }

Text utf8_normal(Arena *arena, Text name) {
    if (skip_ascii(name, 0) == name.length || name.length > NORMAL_LENGTH) return name;
    utf8proc_int32_t characters[4 * NORMAL_LENGTH]; /* one character becomes at most four */
    const utf8proc_option_t options = UTF8PROC_STABLE | UTF8PROC_COMPOSE;
    utf8proc_ssize_t count = utf8proc_decompose((const utf8proc_uint8_t *)name.at, (utf8proc_ssize_t)name.length, characters,
                                                (utf8proc_ssize_t)(sizeof characters / sizeof *characters), options);
    if (count < 0 || (size_t)count > sizeof characters / sizeof *characters) return name;
    count = utf8proc_normalize_utf32(characters, count, options);
    if (count < 0) return name;
    char *bytes = arena_take_raw(arena, (size_t)count * 4);
    size_t length = 0;
    for (utf8proc_ssize_t i = 0; i < count; i++)
        length += (size_t)utf8proc_encode_char(plain_character(characters[i]), (utf8proc_uint8_t *)bytes + length);
    return (Text){bytes, length};
}

static bool is_in_name(int32_t character, bool first, bool last) {
    if (character == NOT_A_CHARACTER) return false;
    if (character == '-') return !first && !last;
    if (character == '_' || (character >= '0' && character <= '9')) return true;
    switch (utf8proc_category(character)) {
        case UTF8PROC_CATEGORY_LU:
        case UTF8PROC_CATEGORY_LL:
        case UTF8PROC_CATEGORY_LT:
        case UTF8PROC_CATEGORY_LM:
        case UTF8PROC_CATEGORY_LO: return true;
        case UTF8PROC_CATEGORY_MN:
        case UTF8PROC_CATEGORY_MC: return !first; /* marks that have no composed letter */
        default: return false;
    }
}

bool utf8_is_name(Text name, Text *bad) {
    Text rest = name;
    while (rest.length) {
        size_t length;
        int32_t character = next_character(rest, &length);
        if (!is_in_name(character, rest.at == name.at, length == rest.length)) {
            *bad = text_slice(rest, 0, length);
            return false;
        }
        rest = after(rest, length);
    }
    *bad = rest;
    return name.length > 0;
}

/* ---- on a screen ---- */

static uint32_t width_of(int32_t character) {
    if (character < 0x80) return 1; /* NOT_A_CHARACTER too */
    if (utf8proc_category(character) == UTF8PROC_CATEGORY_CC) return 1;
    return (uint32_t)utf8proc_charwidth(character);
}

uint32_t utf8_columns(Text text) {
    uint32_t columns = 0;
    while (text.length) {
        size_t plain = skip_ascii(text, 0);
        columns += (uint32_t)plain;
        text = after(text, plain);
        while (text.length && (unsigned char)text.at[0] >= 0x80) {
            size_t length;
            columns += width_of(next_character(text, &length));
            text = after(text, length);
        }
    }
    return columns;
}

static bool is_visible(int32_t character) {
    if (character == NOT_A_CHARACTER) return false;
    if (character < 0x7F) return character >= 0x20;
    switch (utf8proc_category(character)) {
        case UTF8PROC_CATEGORY_CC:
        case UTF8PROC_CATEGORY_CF:
        case UTF8PROC_CATEGORY_ZL:
        case UTF8PROC_CATEGORY_ZP: return false;
        default: return true;
    }
}

static void add_code(TextBuilder *builder, int32_t character) {
    static const char digits[] = "0123456789ABCDEF";
    text_add(builder, TEXT("U+"));
    for (int shift = character > 0xFFFF ? 20 : 12; shift >= 0; shift -= 4) {
        unsigned digit = (unsigned)character >> shift & 15;
        if (shift > 12 && !((unsigned)character >> shift)) continue;
        text_add_char(builder, digits[digit]);
    }
}

Text utf8_visible(Arena *arena, Text text) {
    TextBuilder builder = text_builder(arena);
    Text rest = text, plain = {text.at, 0}; /* `plain` is not yet copied */
    bool changed = false;
    while (rest.length) {
        size_t length;
        int32_t character = next_character(rest, &length);
        rest = after(rest, length);
        if (is_visible(character)) {
            plain.length += length;
            continue;
        }
        changed = true;
        text_add(&builder, plain);
        if (character == NOT_A_CHARACTER) {
            text_add(&builder, TEXT("\xEF\xBF\xBD"));
        } else if (character == '\t') {
            text_add_char(&builder, ' ');
        } else {
            add_code(&builder, character);
        }
        plain = (Text){rest.at, 0};
    }
    if (!changed) return text;
    text_add(&builder, plain);
    return text_built(&builder);
}

/* What `\w` is in the rule of the forges, and the hyphen. */
static bool is_of_anchor(int32_t character) {
    if (character == '-') return true;
    switch (utf8proc_category(character)) {
    case UTF8PROC_CATEGORY_LU:
    case UTF8PROC_CATEGORY_LL:
    case UTF8PROC_CATEGORY_LT:
    case UTF8PROC_CATEGORY_LM:
    case UTF8PROC_CATEGORY_LO:
    case UTF8PROC_CATEGORY_MN:
    case UTF8PROC_CATEGORY_MC:
    case UTF8PROC_CATEGORY_ME:
    case UTF8PROC_CATEGORY_ND:
    case UTF8PROC_CATEGORY_NL:
    case UTF8PROC_CATEGORY_PC: return true;
    default: return false;
    }
}

Text utf8_anchor(Arena *arena, Text heading) {
    TextBuilder out = text_builder(arena);
    Text rest = text_trim(heading);
    while (rest.length) {
        size_t length;
        int32_t character = next_character(rest, &length);
        rest = after(rest, length);
        if (character == ' ') text_add_char(&out, '-');
        if (character == NOT_A_CHARACTER || !is_of_anchor(character)) continue;
        uint8_t bytes[4];
        utf8proc_ssize_t count = utf8proc_encode_char(utf8proc_tolower(character), bytes);
        for (utf8proc_ssize_t i = 0; i < count; i++) text_add_char(&out, (char)bytes[i]);
    }
    return text_built(&out);
}

Text utf8_first(Text text, uint32_t columns) {
    Text rest = text;
    while (rest.length) {
        size_t length;
        uint32_t width = width_of(next_character(rest, &length));
        if (width > columns) break;
        columns -= width;
        rest = after(rest, length);
    }
    return text_slice(text, 0, text.length - rest.length);
}

Text utf8_last(Text text, uint32_t columns) {
    size_t start = text.length;
    while (start > 0) {
        size_t begin = start - 1, length;
        while (begin > 0 && start - begin < 4 && ((unsigned char)text.at[begin] & 0xC0) == 0x80) begin--;
        int32_t character = next_character(text_slice(text, begin, start), &length);
        if (begin + length != start) { /* stray bytes: one at a time */
            begin = start - 1;
            character = NOT_A_CHARACTER;
        }
        uint32_t width = width_of(character);
        if (width > columns) break;
        columns -= width;
        start = begin;
    }
    return text_slice(text, start, text.length);
}
