/* Is it well-formed HTML: tags closed in the order they were opened, attributes quoted, ampersands spelled, ids given once,
 * and every link within the page leads somewhere. Says what is wrong, or nothing. */
#ifndef TRUNNION_TESTS_REPORT_CHECK_H
#define TRUNNION_TESTS_REPORT_CHECK_H

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/symbol.h"
#include "base/vector.h"

static inline bool check_holds(Text text, const char *part) {
    size_t length = strlen(part);
    for (size_t i = 0; i + length <= text.length; i++)
        if (memcmp(text.at + i, part, length) == 0) return true;
    return false;
}

static inline unsigned check_count(Text text, const char *part) {
    size_t length = strlen(part);
    unsigned count = 0;
    for (size_t i = 0; i + length <= text.length; i++)
        if (memcmp(text.at + i, part, length) == 0) count++;
    return count;
}

static inline bool check_is_void(Text tag) {
    static const char *const VOID[] = {"meta", "br", "hr", "img", "col", "input", "link"};
    for (size_t i = 0; i < sizeof VOID / sizeof *VOID; i++)
        if (text_is(tag, VOID[i])) return true;
    return false;
}

typedef struct Check {
    Arena *arena;
    Text html;
    size_t at;
    Symbols *ids;
    VECTOR(Text) open;
    VECTOR(Text) targets;
    const char *wrong; /* NULL so far */
} Check;

/* Percent signs and the entities a writer of ours uses, undone. */
static inline Text check_decoded(Arena *arena, Text text) {
    TextBuilder out = text_builder(arena);
    for (size_t i = 0; i < text.length; i++) {
        if (text.at[i] == '%' && i + 2 < text.length + 0 && isxdigit((unsigned char)text.at[i + 1])) {
            char hex[3] = {text.at[i + 1], text.at[i + 2], 0};
            text_add_char(&out, (char)strtol(hex, NULL, 16));
            i += 2;
        } else if (text.at[i] == '%' && i + 3 == text.length) {
            text_add_char(&out, '%');
        } else {
            text_add_char(&out, text.at[i]);
        }
    }
    return text_built(&out);
}

static inline void check_attribute(Check *check, Text name, Text value) {
    if (text_is(name, "id")) {
        if (value.length == 0 || memchr(value.at, ' ', value.length)) check->wrong = "an id that is empty or has spaces";
        if (symbol_find(check->ids, value)) check->wrong = "an id given twice";
        symbol_of(check->ids, value);
    } else if (text_is(name, "href") && value.length > 0 && value.at[0] == '#') {
        VECTOR_PUSH(check->arena, &check->targets, check_decoded(check->arena, text_slice(value, 1, value.length)));
    } else if (text_is(name, "src")) {
        if (!text_starts(value, TEXT("data:"))) check->wrong = "something to load";
    } else if (name.length > 1 && name.at[0] == 'o' && name.at[1] == 'n') {
        check->wrong = "an attribute that runs";
    }
}

static inline char check_peek(const Check *check) { return check->at < check->html.length ? check->html.at[check->at] : 0; }

static inline void check_tag(Check *check) {
    Text html = check->html;
    size_t start = ++check->at;
    bool closing = check_peek(check) == '/', empty = false;
    if (text_starts(text_slice(html, start, html.length), TEXT("!--"))) {
        while (check->at < html.length && !text_starts(text_slice(html, check->at, html.length), TEXT("-->"))) check->at++;
        check->at += 3;
        return;
    }
    if (closing || check_peek(check) == '!') start = ++check->at;
    while (isalnum((unsigned char)check_peek(check))) check->at++;
    Text tag = text_slice(html, start, check->at);
    if (tag.length == 0) check->wrong = "a bare <";
    while (!check->wrong && check_peek(check) && check_peek(check) != '>') {
        while (isspace((unsigned char)check_peek(check))) check->at++;
        size_t name = check->at;
        while (isalpha((unsigned char)check_peek(check)) || check_peek(check) == '-') check->at++;
        Text word = text_slice(html, name, check->at);
        if (check_peek(check) == '=') {
            if (html.at[++check->at] != '"') check->wrong = "an attribute without quotes";
            size_t value = ++check->at;
            while (check_peek(check) && check_peek(check) != '"') {
                if (check_peek(check) == '<') check->wrong = "< in an attribute";
                check->at++;
            }
            check_attribute(check, word, text_slice(html, value, check->at));
            check->at++;
        } else if (check_peek(check) == '/') {
            empty = true;
            check->at++;
        } else if (word.length == 0 && check_peek(check) != '>') {
            check->wrong = "a tag that is no tag";
        }
    }
    check->at++;
    if (text_is(tag, "DOCTYPE") || check_is_void(tag) || empty) return;
    if (!closing) {
        VECTOR_PUSH(check->arena, &check->open, tag);
        if (text_is(tag, "script") || text_is(tag, "iframe") || text_is(tag, "object")) check->wrong = "a script or frame";
        while (text_is(tag, "style") && check->at < html.length && html.at[check->at] != '<') check->at++;
    } else if (check->open.count == 0 || !text_equal(check->open.at[check->open.count - 1], tag)) {
        check->wrong = "a tag closed that was not the last one opened";
    } else {
        check->open.count--;
    }
}

static inline void check_entity(Check *check) {
    size_t end = check->at + 1;
    while (end < check->html.length && (isalnum((unsigned char)check->html.at[end]) || check->html.at[end] == '#')) end++;
    if (end == check->at + 1 || end >= check->html.length || check->html.at[end] != ';') check->wrong = "a bare &";
    check->at = end;
}

/* NULL, or what is wrong; then `near` is where. */
static inline const char *check_html(Arena *arena, Text html, Text *near) {
    Check check = {.arena = arena, .html = html, .ids = symbols_open(arena)};
    while (check.at < html.length && !check.wrong) {
        *near = text_slice(html, check.at > 80 ? check.at - 80 : 0, check.at + 80);
        unsigned char c = (unsigned char)html.at[check.at];
        if (c == '<') check_tag(&check);
        else if (c == '&') check_entity(&check);
        else if (c < 0x20 && c != '\n') check.wrong = "a control character";
        else check.at++;
    }
    if (!check.wrong && check.open.count > 0) check.wrong = "a tag that is never closed";
    for (uint32_t i = 0; i < check.targets.count && !check.wrong; i++) {
        *near = check.targets.at[i];
        if (!symbol_find(check.ids, check.targets.at[i])) check.wrong = "a link to nothing";
    }
    return check.wrong;
}

#define cr_html(arena, html)                                                                              \
    do {                                                                                                  \
        Text near_ = {0};                                                                                 \
        const char *wrong_ = check_html((arena), (html), &near_);                                         \
        cr_assert(wrong_ == NULL, "%s near [%.*s]", wrong_, (int)near_.length, near_.at);                 \
    } while (0)

/* The widest line, in columns. */
#define cr_widest(text, most)                                                                             \
    do {                                                                                                  \
        Text text_ = (text);                                                                              \
        for (size_t at_ = 0; at_ < text_.length;) {                                                       \
            size_t end_ = at_;                                                                            \
            while (end_ < text_.length && text_.at[end_] != '\n') end_++;                                 \
            Text line_ = text_slice(text_, at_, end_);                                                    \
            cr_assert(utf8_columns(line_) <= (most), "%u columns: %.*s", utf8_columns(line_),             \
                      (int)line_.length, line_.at);                                                       \
            cr_assert(line_.length == 0 || line_.at[line_.length - 1] != ' ', "space at the end: [%.*s]", \
                      (int)line_.length, line_.at);                                                       \
            at_ = end_ + 1;                                                                               \
        }                                                                                                 \
    } while (0)

#endif
