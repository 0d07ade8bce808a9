#include "report/clean.h"

#include "text/utf8.h"

/* One byte below 0x80, or a C1 control (two bytes from 0xC2 0x80); returns how many bytes were taken. */
static size_t add_one(TextBuilder *out, Text text, size_t at) {
    unsigned char c = (unsigned char)text.at[at];
    if (c == '\t') text_add_string(out, "    ");
    else if (c == '\r' && at + 1 < text.length && text.at[at + 1] == '\n') return 1;
    else if (c == '\n' || c == '\r') text_add_char(out, ' ');
    else if (c < 0x20 || c == 0x7F) text_add_string(out, "\xEF\xBF\xBD");
    else if (c == 0xC2 && at + 1 < text.length && (unsigned char)text.at[at + 1] < 0xA0) {
        text_add_string(out, "\xEF\xBF\xBD");
        return 2;
    } else text_add_char(out, (char)c);
    return 1;
}

static bool is_plain(Text text) {
    for (size_t i = 0; i < text.length; i++)
        if ((unsigned char)text.at[i] < 0x20 || (unsigned char)text.at[i] >= 0x7F) return false;
    return true;
}

Text clean_line(Arena *arena, Text text) {
    if (is_plain(text)) return text;
    TextBuilder out = text_builder(arena);
    size_t at = 0;
    while (at < text.length) {
        size_t fault = at, bad = 0;
        bool fine = utf8_check(text, &fault, &bad) == UTF8_FINE;
        size_t end = fine || fault > text.length ? text.length : fault;
        while (at < end) at += add_one(&out, text, at);
        if (fine) break;
        text_add_string(&out, "\xEF\xBF\xBD");
        at = end + (bad > 0 ? bad : 1);
    }
    return text_built(&out);
}
