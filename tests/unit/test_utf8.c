#include "text/utf8.h"

#include <string.h>

#include "given.h"

/* ---- checking ---- */

static void has_fault(Text bytes, Utf8Fault fault, size_t offset, size_t length) {
    size_t found = 0, size = 99;
    Utf8Fault result = utf8_check(bytes, &found, &size);
    cr_assert(result == fault && found == offset && size == length, "[%.*s] fault %d at %zu, %zu bytes", (int)bytes.length,
              bytes.at, (int)result, found, size);
}

static void is_fine(Text bytes) { has_fault(bytes, UTF8_FINE, bytes.length, 0); }

Test(utf8, good_text_is_fine) {
    is_fine((Text){NULL, 0});
    is_fine(TEXT("plain\0 and \x7F"));
    is_fine(TEXT("\xC2\x80 \xDF\xBF \xE0\xA0\x80 \xED\x9F\xBF \xEE\x80\x80 \xEF\xBF\xBF \xF0\x90\x80\x80 \xF4\x8F\xBF\xBF"));
    is_fine(TEXT("8.2 \xCE\xA9 \xC2\xB1 8 %, 22.4 mN\xC2\xB7m/A, \xC2\xA7" "4.1"));
    is_fine(TEXT("\xEF\xBB\xBF" "begins with a byte order mark"));
}

Test(utf8, torn_characters_are_faults) {
    has_fault(TEXT("ab\x80"), UTF8_INVALID, 2, 1);
    has_fault(TEXT("\xFF"), UTF8_INVALID, 0, 1);
    has_fault(TEXT("a\xC3"), UTF8_INVALID, 1, 1);
    has_fault(TEXT("\xC3(" ), UTF8_INVALID, 0, 1);
    has_fault(TEXT("\xE2\x82"), UTF8_INVALID, 0, 2);
    has_fault(TEXT("\xE2\x82x"), UTF8_INVALID, 0, 2);
    has_fault(TEXT("\xF0\x9F\x98"), UTF8_INVALID, 0, 3);
    has_fault(TEXT("ok \xF0\x9F\x98x"), UTF8_INVALID, 3, 3);
}

Test(utf8, false_spellings_are_faults) {
    has_fault(TEXT("\xC0\xAF"), UTF8_INVALID, 0, 1);         /* too long */
    has_fault(TEXT("\xC1\xBF"), UTF8_INVALID, 0, 1);
    has_fault(TEXT("\xE0\x9F\xBF"), UTF8_INVALID, 0, 1);
    has_fault(TEXT("\xF0\x8F\xBF\xBF"), UTF8_INVALID, 0, 1);
    has_fault(TEXT("\xED\xA0\x80"), UTF8_INVALID, 0, 1);     /* a surrogate */
    has_fault(TEXT("\xF4\x90\x80\x80"), UTF8_INVALID, 0, 1); /* beyond U+10FFFF */
    has_fault(TEXT("\xF5\x80\x80\x80"), UTF8_INVALID, 0, 1);
}

static void encode(char *at, uint32_t character, size_t *length) {
    if (character < 0x800) {
        at[0] = (char)(0xC0 | character >> 6);
        at[1] = (char)(0x80 | (character & 63));
        *length = 2;
    } else {
        at[0] = (char)(0xE0 | character >> 12);
        at[1] = (char)(0x80 | (character >> 6 & 63));
        at[2] = (char)(0x80 | (character & 63));
        *length = 3;
    }
}

static bool reorders(uint32_t c) {
    return c == 0x61C || c == 0x200E || c == 0x200F || (c >= 0x202A && c <= 0x202E) || (c >= 0x2066 && c <= 0x2069);
}

Test(utf8, exactly_the_reordering_controls_are_faults) {
    for (uint32_t character = 0x80; character < 0xD800; character++) {
        char bytes[4];
        size_t length;
        encode(bytes, character, &length);
        if (reorders(character))
            has_fault((Text){bytes, length}, UTF8_BIDIRECTIONAL, 0, length);
        else
            is_fine((Text){bytes, length});
    }
    has_fault(TEXT("limit \xE2\x80\xAE" "01"), UTF8_BIDIRECTIONAL, 6, 3);
}

Test(utf8, a_fault_is_found_at_every_offset) {
    char bytes[100];
    for (size_t length = 1; length <= sizeof bytes; length++)
        for (size_t i = 0; i < length; i++) {
            memset(bytes, 'a', length);
            bytes[i] = (char)0x80;
            has_fault((Text){bytes, length}, UTF8_INVALID, i, 1);
        }
}

Test(utf8, checking_goes_on_after_a_fault) {
    Text bytes = TEXT("a\xFF" "bc\xE2\x80\xAE" "d\xFE");
    size_t offset = 0, length;
    cr_assert_eq(utf8_check(bytes, &offset, &length), UTF8_INVALID);
    offset += length;
    cr_assert_eq(utf8_check(bytes, &offset, &length), UTF8_BIDIRECTIONAL);
    cr_assert_eq(offset, 4u);
    offset += length;
    cr_assert_eq(utf8_check(bytes, &offset, &length), UTF8_INVALID);
    cr_assert_eq(offset, 8u);
    offset += length;
    cr_assert_eq(utf8_check(bytes, &offset, &length), UTF8_FINE);
    offset = 500;
    cr_assert_eq(utf8_check(bytes, &offset, &length), UTF8_FINE);
    cr_assert_eq(offset, bytes.length);
}

/* The definition, written as slowly as possible: a character is valid when it is what its own number is spelled as. */
static size_t plain_length(const unsigned char *at, size_t left) {
    if (at[0] < 0x80) return 1;
    size_t length = at[0] >= 0xF0 ? 4 : at[0] >= 0xE0 ? 3 : 2;
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    if (at[0] < 0xC0 || at[0] > 0xF7 || length > left) return 0;
    uint32_t character = at[0] & (0x7Fu >> length);
    for (size_t i = 1; i < length; i++) {
        if ((at[i] & 0xC0) != 0x80) return 0;
        character = character << 6 | (at[i] & 0x3Fu);
    }
    if (character < least[length] || character > 0x10FFFF || (character >= 0xD800 && character < 0xE000)) return 0;
    return length;
}

/* Random bytes, made of what is likely to be nearly right. Each ends at the end of its block, so that a look beyond is seen. */
Test(utf8, agrees_with_the_definition_on_random_bytes) {
    Arena *arena = given_arena();
    static const unsigned char likely[] = {'a', 0x80, 0x8F, 0x90, 0x9F, 0xA0, 0xBF, 0xC1, 0xC2, 0xDF, 0xE0, 0xE1, 0xED, 0xEF, 0xF0, 0xF4, 0xF5};
    uint64_t random = 11;
    for (int round = 0; round < 100000; round++) {
        size_t length = 1 + given_random(&random) % 12;
        unsigned char *bytes = arena_take(arena, length);
        for (size_t i = 0; i < length; i++)
            bytes[i] = given_random(&random) % 4 ? likely[given_random(&random) % sizeof likely] : (unsigned char)given_random(&random);
        size_t expected = 0, size;
        while (expected < length && (size = plain_length(bytes + expected, length - expected))) expected += size;
        size_t offset = 0, fault_length;
        Utf8Fault fault = utf8_check((Text){(char *)bytes, length}, &offset, &fault_length);
        if (fault == UTF8_BIDIRECTIONAL) continue;
        cr_assert_eq(offset, expected);
        cr_assert_eq(fault == UTF8_FINE, expected == length);
        cr_assert(offset + fault_length <= length);
    }
    arena_close(arena);
}

Test(utf8, checking_all_faults_is_linear, .timeout = 10) {
    enum { SIZE = 8 << 20 };
    Arena *arena = given_arena();
    char *bytes = arena_take(arena, SIZE);
    memset(bytes, 0xE2, SIZE);
    size_t offset = 0, length, faults = 0;
    while (utf8_check((Text){bytes, SIZE}, &offset, &length) != UTF8_FINE) {
        offset += length;
        faults++;
    }
    cr_assert_eq(faults, (size_t)SIZE);
    arena_close(arena);
}

/* ---- names ---- */

Test(utf8, ascii_names_are_not_copied) {
    Arena *arena = given_arena();
    Text name = TEXT("Rook-38-24");
    cr_assert(utf8_normal(arena, name).at == name.at);
    cr_text(utf8_normal(arena, (Text){NULL, 0}), "");
    arena_close(arena);
}

Test(utf8, normal_form_is_composed) {
    Arena *arena = given_arena();
    cr_text(utf8_normal(arena, TEXT("e\xCC\x81tage")), "\xC3\xA9tage");
    cr_text(utf8_normal(arena, TEXT("\xC3\xA9tage")), "\xC3\xA9tage");
    cr_text(utf8_normal(arena, TEXT("\xC2\xB5m")), "\xCE\xBCm");     /* micro sign */
    cr_text(utf8_normal(arena, TEXT("\xE2\x84\xA6")), "\xCE\xA9");   /* ohm sign */
    cr_text(utf8_normal(arena, TEXT("\xE2\x84\xAB")), "\xC3\x85");   /* angstrom sign */
    cr_text(utf8_normal(arena, TEXT("a\xCC\xA3\xCC\x87")), "\xE1\xBA\xA1\xCC\x87");
    cr_text(utf8_normal(arena, TEXT("a\xCC\x87\xCC\xA3")), "\xE1\xBA\xA1\xCC\x87"); /* marks in the other order */
    cr_text(utf8_normal(arena, TEXT("x\xC2\xB2")), "x\xC2\xB2");     /* a superscript stays one */
    arena_close(arena);
}

Test(utf8, normal_form_survives_anything, .timeout = 10) {
    Arena *arena = given_arena();
    cr_text(utf8_normal(arena, TEXT("a\xFF")), "a\xFF");
    TextBuilder marks = text_builder(arena);
    for (int i = 0; i < 1000000; i++) text_add(&marks, i % 2 ? TEXT("\xCC\x87") : TEXT("\xCC\xA3"));
    Text many = text_built(&marks);
    cr_assert(text_equal(utf8_normal(arena, many), many), "beyond the length of a name it stays as it is");
    TextBuilder expanding = text_builder(arena);
    for (int i = 0; i < 341; i++) text_add(&expanding, TEXT("\xE1\xBE\x82")); /* each of four characters */
    Text normal = utf8_normal(arena, text_built(&expanding));
    cr_assert(text_equal(normal, text_built(&expanding)));
    arena_close(arena);
}

static void is_bad(Text name, const char *bad) {
    Text found;
    cr_assert_not(utf8_is_name(name, &found), "[%.*s]", (int)name.length, name.at);
    cr_text(found, bad);
}

Test(utf8, names_are_letters_digits_underscores_and_inner_hyphens) {
    Text bad;
    cr_assert(utf8_is_name(TEXT("LIFT-4"), &bad));
    cr_assert(utf8_is_name(TEXT("_a_1_"), &bad));
    cr_assert(utf8_is_name(TEXT("\xC3\xA9tage-\xCE\xA9"), &bad));
    cr_assert(utf8_is_name(TEXT("\xE8\xBB\xB8"), &bad));
    cr_assert(utf8_is_name(TEXT("x\xCC\x87"), &bad), "a mark that no composed letter has");
    is_bad(TEXT("-a"), "-");
    is_bad(TEXT("a-"), "-");
    is_bad(TEXT("a b"), " ");
    is_bad(TEXT("a\xC2\xB7" "b"), "\xC2\xB7");
    is_bad(TEXT("a\xE2\x80\x8B" "b"), "\xE2\x80\x8B"); /* no width, so not seen */
    is_bad(TEXT("a\xC2\xB2"), "\xC2\xB2");
    is_bad(TEXT("\xCC\x87x"), "\xCC\x87");
    is_bad(TEXT("a\xE2\x80"), "\xE2\x80");
    is_bad(TEXT(""), "");
}

/* ---- on a screen ---- */

Test(utf8, columns) {
    cr_assert_eq(utf8_columns((Text){NULL, 0}), 0u);
    cr_assert_eq(utf8_columns(TEXT("stroke\t")), 7u);
    cr_assert_eq(utf8_columns(TEXT("8.2 \xCE\xA9")), 5u);
    cr_assert_eq(utf8_columns(TEXT("\xE8\xBB\xB8\xE8\xBB\xB8")), 4u);
    cr_assert_eq(utf8_columns(TEXT("e\xCC\x81")), 1u);
    cr_assert_eq(utf8_columns(TEXT("\xFF\xFE")), 2u);
    cr_assert_eq(utf8_columns(TEXT("\xEF\xBB\xBF")), 0u);
}

Test(utf8, what_is_shown_cannot_command_a_terminal) {
    Arena *arena = given_arena();
    Text plain = TEXT("8.2 \xCE\xA9");
    cr_assert(utf8_visible(arena, plain).at == plain.at);
    cr_text(utf8_visible(arena, TEXT("\x1B[2Jx\ty\x7F")), "U+001B[2Jx yU+007F");
    cr_text(utf8_visible(arena, TEXT("\r\n")), "U+000DU+000A");
    cr_text(utf8_visible(arena, (Text){"\0", 1}), "U+0000");
    cr_text(utf8_visible(arena, TEXT("\xC2\x9B")), "U+009B");
    cr_text(utf8_visible(arena, TEXT("a\xE2\x80\xAE" "b")), "aU+202Eb");
    cr_text(utf8_visible(arena, TEXT("\xF3\xA0\x81\x81")), "U+E0041");
    cr_text(utf8_visible(arena, TEXT("a\xFF" "b\xE2\x80")), "a\xEF\xBF\xBD" "b\xEF\xBF\xBD");
    cr_text(utf8_visible(arena, (Text){NULL, 0}), "");
    arena_close(arena);
}

Test(utf8, no_control_byte_survives) {
    Arena *arena = given_arena();
    uint64_t random = 5;
    for (int round = 0; round < 20000; round++) {
        char bytes[16];
        for (size_t i = 0; i < sizeof bytes; i++) bytes[i] = (char)given_random(&random);
        Text shown = utf8_visible(arena, (Text){bytes, sizeof bytes});
        size_t offset = 0, length;
        cr_assert_eq(utf8_check(shown, &offset, &length), UTF8_FINE);
        for (size_t i = 0; i < shown.length; i++) cr_assert((unsigned char)shown.at[i] >= 0x20 && shown.at[i] != 0x7F);
    }
    arena_close(arena);
}

Test(utf8, cuts_fit) {
    Text text = TEXT("ab\xE8\xBB\xB8" "e\xCC\x81" "z"); /* a b wide é z: 6 columns */
    cr_text(utf8_first(text, 0), "");
    cr_text(utf8_first(text, 3), "ab");
    cr_text(utf8_first(text, 4), "ab\xE8\xBB\xB8");
    cr_text(utf8_first(text, 5), "ab\xE8\xBB\xB8" "e\xCC\x81");
    cr_text(utf8_first(text, 99), "ab\xE8\xBB\xB8" "e\xCC\x81" "z");
    cr_text(utf8_last(text, 0), "");
    cr_text(utf8_last(text, 2), "e\xCC\x81" "z");
    cr_text(utf8_last(text, 3), "e\xCC\x81" "z");
    cr_text(utf8_last(text, 4), "\xE8\xBB\xB8" "e\xCC\x81" "z");
    cr_text(utf8_last(text, 99), "ab\xE8\xBB\xB8" "e\xCC\x81" "z");
    cr_text(utf8_last(TEXT("\x80\x80\x80\x80\x80"), 3), "\x80\x80\x80");
    cr_text(utf8_last(TEXT("\xC3\xA9\x80"), 2), "\xC3\xA9\x80");
}
