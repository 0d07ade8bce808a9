#include "text/link.h"

#include <string.h>

#include "text/commonmark.h"
#include "text/utf8.h"

enum { MISSED_MOST = 100, TICKS_MOST = 64 }; /* links of one block that were not found; back-ticks in a row */

typedef struct Bracket {
    size_t open, close; /* offsets of [ and ]; close 0: never closed */
    bool picture;
} Bracket;

typedef struct Collector {
    Arena *arena;
    Source *source;
    ProseLinks *links;
    size_t line, at;   /* a line, from 1, and where it begins; they only move forward */
    cmark_node *block; /* whose brackets these are */
    cmark_node *split; /* a table, when they are those of its head and of the paragraph that runs into it */
    VECTOR(Bracket) brackets;
    VECTOR(uint32_t) open; /* brackets not yet closed */
    uint32_t next, missed;
    size_t start, end; /* of the block */
    size_t row, row_end; /* the line that the latest table cell stands in, and where it ends */
} Collector;

static bool is_space(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

/* ---- brackets ----------------------------------------------------------------------------------------------------- */

static size_t run_of(Text bytes, size_t at, size_t end, char c) {
    size_t length = 0;
    while (at + length < end && bytes.at[at + length] == c) length++;
    return length;
}

/* Behind the code span that opens with `ticks` back-ticks at `at`; behind the ticks alone when none closes it. `none` says of
 * which lengths that is known already. */
static size_t after_code(Text bytes, size_t at, size_t end, size_t ticks, bool *none) {
    size_t behind = at + ticks;
    if (ticks >= TICKS_MOST || none[ticks]) return behind;
    for (size_t i = behind; i < end;) {
        size_t run = run_of(bytes, i, end, '`');
        if (run == ticks) return i + run;
        i += run ? run : 1;
    }
    none[ticks] = true;
    return behind;
}

static size_t after_comment(Text bytes, size_t at, size_t end) {
    for (size_t i = at + 4; i + 3 <= end; i++)
        if (memcmp(bytes.at + i, "-->", 3) == 0) return i + 3;
    return at + 1;
}

/* All pairs of brackets in the block, in the order in which they open. */
static void find_brackets(Collector *collector) {
    Text bytes = collector->source->bytes;
    bool none[TICKS_MOST] = {false}, comments = true;
    collector->brackets.count = collector->open.count = collector->next = collector->missed = 0;
    for (size_t at = collector->start; at < collector->end;) {
        char c = bytes.at[at];
        if (c == '\\' && at + 1 < collector->end) {
            at += 2;
        } else if (c == '`') {
            at = after_code(bytes, at, collector->end, run_of(bytes, at, collector->end, '`'), none);
        } else if (c == '<' && comments && at + 4 <= collector->end && memcmp(bytes.at + at, "<!--", 4) == 0) {
            size_t behind = after_comment(bytes, at, collector->end);
            comments = behind > at + 1;
            at = behind;
        } else if (c == '[' || (c == '!' && at + 1 < collector->end && bytes.at[at + 1] == '[')) {
            VECTOR_PUSH(collector->arena, &collector->open, collector->brackets.count);
            VECTOR_PUSH(collector->arena, &collector->brackets, (Bracket){.open = at + (c == '!'), .picture = c == '!'});
            at += c == '!' ? 2 : 1;
        } else {
            if (c == ']' && collector->open.count > 0) collector->brackets.at[collector->open.at[--collector->open.count]].close = at;
            at++;
        }
    }
}

/* ---- where a block stands ------------------------------------------------------------------------------------------ */

static void go_to_line(Collector *collector, int line) {
    Text bytes = collector->source->bytes;
    for (; collector->line < (size_t)line && collector->at < bytes.length; collector->line++)
        collector->at = commonmark_next_line(bytes, collector->at);
}

static size_t end_of_lines(const Collector *collector, int count) {
    size_t end = collector->at;
    for (; count > 0 && end < collector->source->bytes.length; count--) end = commonmark_next_line(collector->source->bytes, end);
    return end;
}

/* Each cell of a table has its brackets and back-ticks for itself. */
static void enter_cell(Collector *collector, cmark_node *cell) {
    int first = cmark_node_get_start_column(cell), last = cmark_node_get_end_column(cell);
    if (collector->row != collector->line) collector->row_end = end_of_lines(collector, 1);
    collector->row = collector->line;
    collector->start = collector->at + (size_t)(first > 0 ? first - 1 : 0);
    collector->end = collector->at + (size_t)(last > 0 ? last : 0);
    if (collector->start <= collector->end && collector->end <= collector->row_end) return;
    collector->start = collector->at;
    collector->end = collector->row_end;
}

static bool is_of_table(cmark_node *node, const char *type) { return node && strcmp(cmark_node_get_type_string(node), type) == 0; }

/* Where a table follows a paragraph without a blank line, cmark loses the place of the paragraph and of the table's head: the
 * table when `block` is one of those, else NULL. */
static cmark_node *split_table(cmark_node *block) {
    cmark_node *row = is_of_table(block, "table_cell") ? cmark_node_parent(block) : NULL;
    cmark_node *table = row ? cmark_node_parent(row) : cmark_node_next(block);
    if (!is_of_table(table, "table") || (row && cmark_node_first_child(table) != row)) return NULL;
    cmark_node *before = row ? cmark_node_previous(table) : block;
    return before && cmark_node_get_type(before) == CMARK_NODE_PARAGRAPH && cmark_node_get_start_line(before) == 0 ? table : NULL;
}

/* The line between the head and the rows: | --- | :-: | */
static bool is_rule(Text line) {
    bool dash = false;
    for (size_t i = 0; i < line.length; i++) {
        if (!is_space(line.at[i]) && (line.at[i] == '\0' || strchr("|-:>", line.at[i]) == NULL)) return false;
        dash = dash || line.at[i] == '-';
    }
    return dash;
}

/* Both are walked as one; their links stand in that order. */
static void enter_split(Collector *collector, cmark_node *table) {
    Text bytes = collector->source->bytes;
    if (table == collector->split) return;
    collector->split = table;
    go_to_line(collector, cmark_node_get_start_line(table));
    collector->start = collector->end = collector->at;
    while (collector->end < bytes.length) {
        size_t next = commonmark_next_line(bytes, collector->end);
        if (is_rule(text_slice(bytes, collector->end, next))) break;
        collector->end = next;
    }
    find_brackets(collector);
}

static void enter_block(Collector *collector, cmark_node *block) {
    collector->block = block;
    cmark_node *table = split_table(block);
    if (table) {
        enter_split(collector, table);
        return;
    }
    go_to_line(collector, cmark_node_get_start_line(block));
    if (is_of_table(block, "table_cell")) {
        enter_cell(collector, block);
    } else {
        collector->start = collector->at;
        collector->end = end_of_lines(collector, cmark_node_get_end_line(block) - cmark_node_get_start_line(block) + 1);
    }
    find_brackets(collector);
}

/* ---- one link ------------------------------------------------------------------------------------------------------ */

static bool is_markup(char c) { return is_space(c) || c == '*' || c == '_' || c == '`' || c == '\\' || c == '>'; }

/* Whether bytes of the file read as these words, whatever markup lies between. */
static bool reads_as(Text raw, Text words) {
    size_t i = 0, k = 0;
    while (true) {
        while (i < raw.length && is_markup(raw.at[i])) i++;
        while (k < words.length && is_markup(words.at[k])) k++;
        if (i == raw.length || k == words.length) return i == raw.length && k == words.length;
        if (raw.at[i++] != words.at[k++]) return false;
    }
}

/* Whether a pair of brackets is the link; `*target` then is the place of its target, if that stands behind it as it is. */
static bool is_link(const Collector *collector, const Bracket *bracket, Text address, Text words, Span *target) {
    Text bytes = collector->source->bytes, raw = text_slice(bytes, bracket->open + 1, bracket->close);
    size_t at = bracket->close + 1;
    *target = (Span){0, 0};
    if (bracket->picture || bracket->close == 0) return false;
    if (at >= collector->end || bytes.at[at] != '(') return reads_as(raw, words);
    for (at++; at < collector->end && (is_space(bytes.at[at]) || bytes.at[at] == '>'); at++) {}
    if (at < collector->end && bytes.at[at] == '<') at++;
    Text rest = text_slice(bytes, at, collector->end);
    size_t length = 0;
    while (length < rest.length && !is_space(rest.at[length]) && rest.at[length] != ')' && rest.at[length] != '>') length++;
    if (!text_starts(rest, address)) { /* written with an escape or an entity, or not this link */
        Text written = text_slice(rest, 0, length);
        bool other = memchr(written.at, '\\', written.length) != NULL || memchr(written.at, '&', written.length) != NULL;
        return written.length > 0 && other && reads_as(raw, words);
    }
    if (address.length < length || (memchr(raw.at, '&', raw.length) == NULL && !reads_as(raw, words))) return false;
    uint32_t start = collector->source->base + (uint32_t)at + 1;
    *target = (Span){start, start + (uint32_t)address.length - 1};
    return true;
}

static Span whole_link(const Collector *collector, const Bracket *bracket, Span target) {
    const Source *source = collector->source;
    size_t at = target.end - source->base;
    if (target.start == 0) return target;
    while (at < collector->end && (is_space(source->bytes.at[at]) || source->bytes.at[at] == '>')) at++;
    if (at >= collector->end || source->bytes.at[at] != ')') return (Span){0, 0};
    return (Span){source->base + (uint32_t)bracket->open, source->base + (uint32_t)at + 1};
}

static int digit_of(char c) {
    if (c >= '0' && c <= '9') return c - '0';
    if (c >= 'a' && c <= 'f') return c - 'a' + 10;
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

/* Percent-encoding undone, as an address may spell § or Ω. */
static Text decoded(Arena *arena, Text text) {
    TextBuilder out = text_builder(arena);
    for (size_t i = 0; i < text.length; i++) {
        int high = i + 2 < text.length && text.at[i] == '%' ? digit_of(text.at[i + 1]) : -1;
        int low = high >= 0 ? digit_of(text.at[i + 2]) : -1;
        if (low >= 0) i += 2;
        text_add_char(&out, low >= 0 ? (char)(high * 16 + low) : text.at[i]);
    }
    return text_built(&out);
}

static void take_link(Collector *collector, cmark_node *node) {
    Text address = text_from(cmark_node_get_url(node));
    if (address.length == 0 || address.at[0] != '#') return;
    cmark_node *block = cmark_node_parent(node);
    while (block && ((int)cmark_node_get_type(block) & CMARK_NODE_TYPE_MASK) == CMARK_NODE_TYPE_INLINE) block = cmark_node_parent(block);
    if (block == NULL) return;
    if (block != collector->block) enter_block(collector, block);
    TextBuilder words = text_builder(collector->arena);
    commonmark_words(&words, node);
    address = text_copy(collector->arena, address); /* the tree goes soon */
    uint32_t base = collector->source->base;
    ProseLink link = {.words = text_trim(text_built(&words)), .target = text_slice(address, 1, address.length)};
    for (uint32_t i = collector->next; i < collector->brackets.count && collector->missed < MISSED_MOST; i++) {
        const Bracket *bracket = &collector->brackets.at[i];
        if (!is_link(collector, bracket, address, link.words, &link.target_span)) continue;
        link.span = (Span){base + (uint32_t)bracket->open + 1, base + (uint32_t)bracket->close};
        link.whole = whole_link(collector, bracket, link.target_span);
        link.located = true;
        collector->next = i + 1;
        break;
    }
    if (!link.located) {
        collector->missed++;
        size_t end = collector->end;
        while (end > collector->start && is_space(collector->source->bytes.at[end - 1])) end--;
        link.span = (Span){base + (uint32_t)collector->start, base + (uint32_t)end};
    }
    Text plain = decoded(collector->arena, link.target);
    if (!text_equal(plain, link.target)) link.target_span = (Span){0, 0};
    link.target = plain;
    VECTOR_PUSH(collector->arena, &collector->links->list, link);
}

/* ---- anchors ------------------------------------------------------------------------------------------------------- */

static bool add_anchor(Collector *collector, Text name, uint32_t line) {
    ProseLinks *links = collector->links;
    if (links->names == NULL) {
        links->names = symbols_open(collector->arena);
        links->by_name = map_open(collector->arena);
    }
    Symbol symbol = symbol_of(links->names, name);
    if (map_get(&links->by_name, symbol, UINT32_MAX) != UINT32_MAX) return false;
    map_set(&links->by_name, symbol, links->anchors.count);
    VECTOR_PUSH(collector->arena, &links->anchors, (ProseAnchor){symbol_text(links->names, symbol), line});
    return true;
}

/* Headings of the same words are told apart as forges do it: notes, notes-1, notes-2. */
static void take_heading(Collector *collector, Map *times, cmark_node *node) {
    TextBuilder words = text_builder(collector->arena);
    commonmark_words(&words, node);
    Text name = utf8_anchor(collector->arena, text_built(&words));
    uint32_t line = (uint32_t)cmark_node_get_start_line(node);
    if (name.length == 0 || add_anchor(collector, name, line)) return;
    Symbol symbol = symbol_of(collector->links->names, name);
    for (uint32_t n = map_get(times, symbol, 0) + 1; n != 0; n++) {
        TextBuilder numbered = text_builder(collector->arena);
        text_add(&numbered, name);
        text_add_char(&numbered, '-');
        text_add_count(&numbered, n);
        map_set(times, symbol, n);
        if (add_anchor(collector, text_built(&numbered), line)) return;
    }
}

/* id="…" and name="…" of raw HTML. */
static void take_html(Collector *collector, const char *html) {
    Text text = text_from(html);
    for (size_t i = 1; i + 4 < text.length; i++) {
        if (!is_space(text.at[i - 1])) continue;
        Text rest = text_slice(text, i, text.length);
        size_t start = text_starts(rest, TEXT("id=\"")) ? 4 : text_starts(rest, TEXT("name=\"")) ? 6 : 0, end = start;
        if (start == 0) continue;
        while (end < rest.length && rest.at[end] != '"') end++;
        if (end < rest.length && end > start) add_anchor(collector, text_slice(rest, start, end), 0);
        i += end;
    }
}

const ProseAnchor *link_anchor(const ProseLinks *links, Text name) {
    if (links == NULL || links->names == NULL) return NULL;
    Symbol symbol = symbol_find(links->names, name);
    uint32_t index = symbol ? map_get(&links->by_name, symbol, UINT32_MAX) : UINT32_MAX;
    return index == UINT32_MAX ? NULL : &links->anchors.at[index];
}

void link_collect(Arena *arena, Source *source, struct cmark_node *document) {
    Collector collector = {.arena = arena, .source = source, .line = 1};
    Map times = map_open(arena);
    collector.links = source->links = ARENA_NEW(arena, ProseLinks);
    cmark_iter *iter = cmark_iter_new(document);
    while (cmark_iter_next(iter) != CMARK_EVENT_DONE) {
        cmark_node *node = cmark_iter_get_node(iter);
        cmark_node_type type = cmark_node_get_type(node);
        if (cmark_iter_get_event_type(iter) != CMARK_EVENT_ENTER) continue;
        if (type == CMARK_NODE_LINK) take_link(&collector, node);
        else if (type == CMARK_NODE_HEADING) take_heading(&collector, &times, node);
        else if (type == CMARK_NODE_HTML_BLOCK || type == CMARK_NODE_HTML_INLINE) take_html(&collector, cmark_node_get_literal(node));
    }
    cmark_iter_free(iter);
}
