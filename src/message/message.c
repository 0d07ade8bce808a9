#include "message/message.h"

#include <assert.h>
#include <stdlib.h>

#include "text/utf8.h"

typedef struct Row {
    const char *name;
    MessageLevel level;
    Text sentence, advice;
} Row;

static const Row rows[MESSAGE_COUNT] = {
#define MESSAGE(id, name, level, sentence, advice) {name, LEVEL_##level, {sentence, sizeof(sentence) - 1}, {advice, sizeof(advice) - 1}},
#include "message/catalogue.def"
#undef MESSAGE
};

const char *message_name(MessageId id) { return rows[id].name; }

MessageLevel message_level(MessageId id) { return rows[id].level; }

/* ---- collecting ---- */

Messages *messages_open(Arena *arena, const Sources *sources) {
    Messages *messages = ARENA_NEW(arena, Messages);
    messages->arena = arena;
    messages->known = map_open(arena);
    messages->sources = sources;
    return messages;
}

/* Whether the advice names arguments and all of them are empty: then there is nothing to advise. */
static bool advice_is_empty(Text advice, const Text *arguments, unsigned count) {
    bool named = false;
    for (size_t i = 0; i + 2 < advice.length; i++) {
        if (advice.at[i] != '{') continue;
        if (advice.at[i + 1] == '{') {
            i++;
            continue;
        }
        unsigned index = (unsigned)(advice.at[i + 1] - '0');
        if (index > 9 || advice.at[i + 2] != '}') continue;
        named = true;
        if (index < count && arguments[index].length) return false;
    }
    return named;
}

static uint64_t key_of(const Message *message) {
    uint64_t key = 0xCBF29CE484222325u; /* FNV-1a */
    const uint32_t words[3] = {message->span.start, message->span.end, (uint32_t)message->id};
    for (unsigned i = 0; i < 3; i++) key = (key ^ words[i]) * 0x100000001B3u;
    for (size_t i = 0; i < message->sentence.length; i++) key = (key ^ (unsigned char)message->sentence.at[i]) * 0x100000001B3u;
    return key >> 1; /* never the one that the map forbids */
}

/* The same said of the same place before; notes this one when there is none. A form and what is filled in by it are both
 * checked, and would say it twice. Without a place, the path that is set afterwards may differ. */
static Message *find_repeat(Messages *messages, const Message *message) {
    if (message->span.start == 0) return NULL;
    uint64_t key = key_of(message);
    uint32_t known = map_get(&messages->known, key, 0);
    if (known != 0 && known <= messages->list.count) {
        Message *before = &messages->list.at[known - 1];
        bool same = before->id == message->id && before->span.start == message->span.start && before->span.end == message->span.end;
        if (same && text_equal(before->sentence, message->sentence)) return before;
    }
    map_set(&messages->known, key, messages->list.count + 1);
    return NULL;
}

static uint32_t *counter_of(Messages *messages, MessageLevel level) {
    if (level == LEVEL_WARNING) return &messages->warnings;
    if (level == LEVEL_ERROR) return &messages->errors;
    return level == LEVEL_MACHINE ? &messages->machine_errors : NULL;
}

Message *message_add(Messages *messages, MessageId id, Span span, const Text *arguments, unsigned count) {
    assert(id < MESSAGE_COUNT);
    const Row *row = &rows[id];
    Message message = {.id = id, .span = span};
    message.sentence = text_fill(messages->arena, row->sentence, arguments, count);
    if (!advice_is_empty(row->advice, arguments, count))
        message.advice = text_fill(messages->arena, row->advice, arguments, count);
    Message *before = find_repeat(messages, &message);
    if (before != NULL) return before;
    VECTOR_PUSH(messages->arena, &messages->list, message);
    uint32_t *counter = counter_of(messages, row->level);
    if (counter) ++*counter;
    return &messages->list.at[messages->list.count - 1];
}

void messages_take_back(Messages *messages, uint32_t count, uint32_t position) {
    uint32_t kept = count;
    for (uint32_t i = count; i < messages->list.count; i++) {
        const Message message = messages->list.at[i];
        uint32_t *counter = counter_of(messages, message_level(message.id));
        if (message.span.start < position) messages->list.at[kept++] = message;
        else if (counter) --*counter;
    }
    messages->list.count = kept;
    /* Those that have moved; what is known of the others leads nowhere, and is told by looking at the message. */
    for (uint32_t i = count; i < kept; i++) map_set(&messages->known, key_of(&messages->list.at[i]), i + 1);
}

bool messages_inside(const Messages *messages, uint32_t count, Span span) {
    for (uint32_t i = count; i < messages->list.count; i++) {
        Span said = messages->list.at[i].span;
        if (said.start < span.start || said.start >= span.end || said.end > span.end) return false;
    }
    return true;
}

Text message_place(Messages *messages, uint32_t position) {
    Place place = source_place(messages->sources, position);
    TextBuilder builder = text_builder(messages->arena);
    if (place.source) {
        text_add(&builder, place.source->path);
        text_add_char(&builder, ':');
        text_add_count(&builder, place.line);
    }
    return text_built(&builder);
}

/* ---- order ---- */

typedef struct Entry {
    const Message *message;
    uint32_t index; /* in order of arrival */
} Entry;

static int compare_numbers(uint32_t a, uint32_t b) { return (a > b) - (a < b); }

/* Global positions rise from file to file, and "nowhere" is 0: so this is the order of the files, and first of all what
 * has no place. */
static int compare_places(const void *a, const void *b) {
    const Entry *left = a, *right = b;
    int order = compare_numbers(left->message->span.start, right->message->span.start);
    return order ? order : compare_numbers(left->index, right->index);
}

static int compare_contents(const Message *a, const Message *b) {
    int order = compare_numbers(a->span.start, b->span.start);
    if (!order) order = compare_numbers(a->span.end, b->span.end);
    if (!order) order = compare_numbers(a->id, b->id);
    if (!order) order = text_compare(a->sentence, b->sentence);
    return order ? order : text_compare(a->path, b->path);
}

static int compare_entries(const void *a, const void *b) {
    const Entry *left = a, *right = b;
    int order = compare_contents(left->message, right->message);
    return order ? order : compare_numbers(left->index, right->index);
}

/* The messages to show, in order; of equal ones the first. */
static uint32_t sort(Arena *arena, const Messages *messages, Entry **sorted) {
    uint32_t all = messages->list.count, kept = 0;
    Entry *entries = ARENA_ARRAY(arena, Entry, all);
    for (uint32_t i = 0; i < all; i++) entries[i] = (Entry){&messages->list.at[i], i};
    qsort(entries, all, sizeof *entries, compare_entries);
    for (uint32_t i = 0; i < all; i++)
        if (kept == 0 || compare_contents(entries[kept - 1].message, entries[i].message) != 0) entries[kept++] = entries[i];
    qsort(entries, kept, sizeof *entries, compare_places);
    *sorted = entries;
    return kept;
}

/* ---- the line that a message speaks of ---- */

enum {
    LINE_COLUMNS = 120, /* at most, with mark and cuts */
    MARK_COLUMNS = 80,  /* at most, of what is marked */
    LOOK_BYTES = 2048   /* of a longer piece of a line, only so much is looked at */
};

#define CUT TEXT("\xE2\x80\xA6") /* … */

/* The three pieces of a line: before, inside and after the mark. */
typedef struct Excerpt {
    Text before, marked, after;
} Excerpt;

static size_t lesser(size_t a, size_t b) { return a < b ? a : b; }
static size_t greater(size_t a, size_t b) { return a > b ? a : b; }

static Excerpt excerpt_of(const Source *source, Span line, Span span) {
    Text bytes = text_slice(source->bytes, line.start - source->base, line.end - source->base);
    size_t start = lesser(span.start - line.start, bytes.length);
    size_t end = lesser(greater(span.end, span.start) - line.start, bytes.length);
    size_t first = (size_t)(text_trim(bytes).at - bytes.at), last = first + text_trim(bytes).length;
    if (last == first) first = last = start; /* a blank line: only the mark */
    first = lesser(first, greater(start, end));
    start = greater(start, first);
    end = greater(end, start);
    if (span.end > line.end) end = greater(start, lesser(end, last)); /* it goes on: blanks at the end tell nothing */
    last = greater(last, end);
    return (Excerpt){text_slice(bytes, first, start), text_slice(bytes, start, end), text_slice(bytes, end, last)};
}

/* A beginning, or ending, of a piece that is sure to hold as many columns as a line may have. */
static Text near_start(Text piece) { return text_slice(piece, 0, lesser(piece.length, LOOK_BYTES)); }
static Text near_end(Text piece) { return text_slice(piece, piece.length - lesser(piece.length, LOOK_BYTES), piece.length); }

/* A piece made fit to show; `room` is its budget of columns. What it must not show is taken off at the end, or when
 * `from_end` at the start. */
static void add_piece(Arena *arena, TextBuilder *builder, Text piece, uint32_t room, bool from_end) {
    Text look = from_end ? near_end(piece) : near_start(piece);
    Text shown = utf8_visible(arena, look);
    if (look.length == piece.length && utf8_columns(shown) <= room) {
        text_add(builder, shown);
        return;
    }
    Text cut = from_end ? utf8_last(shown, room - 1) : utf8_first(shown, room - 1);
    if (from_end) text_add(builder, CUT);
    text_add(builder, cut);
    if (!from_end) text_add(builder, CUT);
}

static uint32_t columns_of(Arena *arena, Text piece) {
    uint32_t columns = utf8_columns(utf8_visible(arena, near_start(piece)));
    return piece.length > LOOK_BYTES ? UINT32_MAX / 4 : columns;
}

static void add_excerpt(Arena *arena, TextBuilder *builder, Excerpt excerpt) {
    uint32_t before = columns_of(arena, excerpt.before), after = columns_of(arena, excerpt.after);
    uint32_t marked = columns_of(arena, excerpt.marked);
    if (marked > MARK_COLUMNS && before + marked + after + 2 > LINE_COLUMNS) marked = MARK_COLUMNS;
    uint32_t left = LINE_COLUMNS - 2 - (marked < LINE_COLUMNS - 2 ? marked : LINE_COLUMNS - 2), half = left / 2;
    uint32_t room_before = before <= half ? before : after <= half ? left - after : half;
    uint32_t room_after = left - (before < room_before ? before : room_before);
    text_add(builder, TEXT("    "));
    if (before) add_piece(arena, builder, excerpt.before, room_before, true);
    text_add(builder, TEXT("\xC2\xAB")); /* « */
    add_piece(arena, builder, excerpt.marked, marked, false);
    text_add(builder, TEXT("\xC2\xBB")); /* » */
    if (after) add_piece(arena, builder, excerpt.after, room_after, false);
    text_add_char(builder, '\n');
}

/* ---- rendering ---- */

static Text level_word(MessageLevel level) {
    switch (level) {
        case LEVEL_NOTE: return TEXT("note");
        case LEVEL_WARNING: return TEXT("warning");
        case LEVEL_ERROR:
        case LEVEL_MACHINE: break;
    }
    return TEXT("error");
}

static void add_line_column(TextBuilder *builder, uint32_t line, uint32_t column) {
    text_add_count(builder, line);
    text_add_char(builder, '.');
    text_add_count(builder, column);
}

/* "41.12-41.17", both ends included. A span that ends with a line end is said to end with the line's last column. */
static void add_range(TextBuilder *builder, const Sources *sources, Span span, Place first) {
    Span line;
    uint32_t end = span.end > span.start ? span.end - 1 : span.start; /* the last byte */
    uint32_t limit = first.source->base + (uint32_t)first.source->bytes.length;
    Place last = source_place(sources, end < limit ? end : limit);
    Source *source = source_of(sources, span.start);
    Text text = source_line(source, last.line, &line);
    uint32_t column = utf8_columns(text_slice(text, 0, span.end > line.start ? span.end - line.start : 0));
    if (column == 0) column = 1;
    if (last.line == first.line && column < first.column) column = first.column;
    add_line_column(builder, first.line, first.column);
    text_add_char(builder, '-');
    add_line_column(builder, last.line, column);
}

static void add_message(Arena *arena, TextBuilder *builder, const Sources *sources, const Message *message) {
    Source *source = sources && message->span.start ? source_of(sources, message->span.start) : NULL;
    Place place = {NULL, 0, 0};
    if (source) {
        place = source_place(sources, message->span.start);
        text_add(builder, utf8_visible(arena, source->path));
        text_add_char(builder, ':');
        add_range(builder, sources, message->span, place);
        text_add(builder, TEXT(": "));
    } else if (message->path.length) {
        text_add(builder, utf8_visible(arena, message->path));
        text_add(builder, TEXT(": "));
    }
    text_add(builder, level_word(message_level(message->id)));
    text_add(builder, TEXT(": "));
    text_add(builder, utf8_visible(arena, message->sentence));
    text_add(builder, TEXT(" ("));
    text_add_string(builder, message_name(message->id));
    text_add(builder, TEXT(")\n"));
    if (source) {
        Span line;
        source_line(source, place.line, &line);
        add_excerpt(arena, builder, excerpt_of(source, line, message->span));
    }
    if (message->advice.length) {
        text_add(builder, TEXT("  "));
        text_add(builder, utf8_visible(arena, message->advice));
        text_add_char(builder, '\n');
    }
}

Text messages_render(Arena *arena, const Messages *messages) {
    Entry *entries;
    uint32_t count = sort(arena, messages, &entries);
    TextBuilder builder = text_builder(arena);
    uint32_t shown = count < MESSAGE_SHOWN_LIMIT ? count : MESSAGE_SHOWN_LIMIT;
    for (uint32_t i = 0; i < shown; i++) add_message(arena, &builder, messages->sources, entries[i].message);
    if (shown < count) {
        text_add_count(&builder, count - shown);
        text_add_string(&builder, " more messages are not shown; mend these first.\n");
    }
    return text_built(&builder);
}
