#include "report/layout.h"

#include "report/clean.h"
#include "text/utf8.h"

uint32_t layout_columns(Arena *arena, Text text) { return utf8_columns(clean_line(arena, text)); }

void layout_left(TextBuilder *out, Text text, uint32_t columns) {
    Text fit = clean_line(out->arena, text);
    uint32_t wide = utf8_columns(fit);
    text_add(out, fit);
    if (wide < columns) text_add_repeat(out, ' ', columns - wide);
}

void layout_right(TextBuilder *out, Text text, uint32_t columns) {
    Text fit = clean_line(out->arena, text);
    uint32_t wide = utf8_columns(fit);
    if (wide < columns) text_add_repeat(out, ' ', columns - wide);
    text_add(out, fit);
}

/* The end of the character that begins at `at`. */
static size_t character_end(Text text, size_t at) {
    at++;
    while (at < text.length && ((unsigned char)text.at[at] & 0xC0) == 0x80) at++;
    return at;
}

/* How many bytes of a clean text fit into `columns`; combining marks stay with their letter. */
static size_t bytes_within(Text text, uint32_t columns) {
    size_t at = 0;
    uint32_t used = 0;
    while (at < text.length) {
        size_t end = character_end(text, at);
        uint32_t wide = utf8_columns(text_slice(text, at, end));
        if (used + wide > columns) break;
        used += wide;
        at = end;
    }
    return at;
}

enum { WORD_MOST = 8 };

Text layout_cut(Arena *arena, Text text, uint32_t columns) {
    Text fit = clean_line(arena, text);
    if (utf8_columns(fit) <= columns) return fit;
    if (columns == 0) return (Text){0};
    TextBuilder out = text_builder(arena);
    size_t end = bytes_within(fit, columns - 1), word = end;
    while (word > 0 && end - word < WORD_MOST && fit.at[word] != ' ') word--;
    if (word > 0 && fit.at[word] == ' ') end = word;
    text_add(&out, text_trim(text_slice(fit, 0, end)));
    text_add_string(&out, "…");
    return text_built(&out);
}

static bool is_digit(char c) { return c >= '0' && c <= '9'; }

/* The end of the first word; a number takes its unit with it. */
static size_t word_end(Text text) {
    size_t end = 0, next;
    while (end < text.length && text.at[end] != ' ') end++;
    bool number = end > 0 && is_digit(text.at[end - 1]) && end + 1 < text.length && text.at[end + 1] != ' ';
    if (!number || is_digit(text.at[end + 1]) || text.at[end + 1] == '(') return end;
    for (next = end + 1; next < text.length && text.at[next] != ' ';) next++;
    return next;
}

void layout_wrap(TextBuilder *out, Text text, uint32_t at, uint32_t indent, uint32_t width) {
    Text rest = text_trim(clean_line(out->arena, text));
    bool fresh = true; /* no word on this line yet */
    while (rest.length > 0) {
        size_t end = word_end(rest);
        Text word = text_slice(rest, 0, end);
        uint32_t wide = utf8_columns(word);
        if (at + (fresh ? 0u : 1u) + wide > width && !(fresh && at <= indent)) {
            text_add_char(out, '\n');
            text_add_repeat(out, ' ', indent);
            at = indent;
            fresh = true;
        }
        if (!fresh) {
            text_add_char(out, ' ');
            at++;
        }
        text_add(out, word);
        at += wide;
        fresh = false;
        while (end < rest.length && rest.at[end] == ' ') end++;
        rest = text_slice(rest, end, rest.length);
    }
    text_add_char(out, '\n');
}

void layout_heading(TextBuilder *out, Text text, char c) {
    Text fit = clean_line(out->arena, text);
    text_add(out, fit);
    text_add_char(out, '\n');
    text_add_repeat(out, c, utf8_columns(fit));
    text_add_char(out, '\n');
}
