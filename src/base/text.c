#include "base/text.h"

#include <string.h>

Text text_from(const char *zero_ended) {
    if (!zero_ended) return (Text){NULL, 0};
    return (Text){zero_ended, strlen(zero_ended)};
}

bool text_equal(Text a, Text b) { return a.length == b.length && (a.length == 0 || memcmp(a.at, b.at, a.length) == 0); }

bool text_is(Text a, const char *zero_ended) { return text_equal(a, text_from(zero_ended)); }

int text_compare(Text a, Text b) {
    size_t common = a.length < b.length ? a.length : b.length;
    int order = common ? memcmp(a.at, b.at, common) : 0;
    if (order) return order;
    return (a.length > b.length) - (a.length < b.length);
}

bool text_starts(Text a, Text prefix) { return prefix.length <= a.length && text_equal(text_slice(a, 0, prefix.length), prefix); }

bool text_ends(Text a, Text suffix) {
    return suffix.length <= a.length && text_equal(text_slice(a, a.length - suffix.length, a.length), suffix);
}

Text text_slice(Text a, size_t start, size_t end) {
    if (end > a.length) end = a.length;
    if (start > end) start = end;
    return (Text){a.at ? a.at + start : NULL, end - start};
}

static bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; }

Text text_trim(Text a) {
    size_t start = 0, end = a.length;
    while (start < end && is_blank(a.at[start])) start++;
    while (end > start && is_blank(a.at[end - 1])) end--;
    return text_slice(a, start, end);
}

Text text_copy(Arena *arena, Text a) {
    char *copy = arena_take_raw(arena, a.length);
    if (a.length) memcpy(copy, a.at, a.length);
    return (Text){copy, a.length};
}

const char *text_zero_ended(Arena *arena, Text a) {
    char *copy = arena_take_raw(arena, a.length + 1);
    if (a.length) memcpy(copy, a.at, a.length);
    copy[a.length] = '\0';
    return copy;
}

/* ---- distance ---- */

enum { DISTANCE_LENGTH = 255 }; /* beyond, texts that differ count as far apart: names are not longer */

static unsigned lesser(unsigned a, unsigned b) { return a < b ? a : b; }

/* The rows of the table of distances between beginnings of `a` and `b`; only cells near the diagonal can be in the limit. */
static unsigned distance_by_table(Text a, Text b, unsigned limit) {
    unsigned rows[3][DISTANCE_LENGTH + 2];
    unsigned *before = rows[0], *above = rows[1], *row = rows[2];
    const unsigned far = limit + 1, width = (unsigned)b.length;
    for (unsigned j = 0; j <= width + 1; j++) {
        above[j] = lesser(j, far);
        before[j] = row[j] = far;
    }
    for (unsigned i = 1; i <= (unsigned)a.length; i++) {
        unsigned first = i > limit ? i - limit : 1;
        unsigned last = width - limit < width && i < width - limit ? i + limit : width;
        unsigned least = row[first - 1] = first == 1 ? lesser(i, far) : far;
        for (unsigned j = first; j <= last; j++) {
            bool same = a.at[i - 1] == b.at[j - 1];
            unsigned cost = above[j - 1] + !same;
            cost = lesser(cost, lesser(above[j], row[j - 1]) + 1);
            if (i > 1 && j > 1 && a.at[i - 1] == b.at[j - 2] && a.at[i - 2] == b.at[j - 1])
                cost = lesser(cost, before[j - 2] + 1);
            row[j] = lesser(cost, far);
            least = lesser(least, row[j]);
        }
        row[last + 1] = far;
        if (least == far) return far;
        unsigned *oldest = before;
        before = above;
        above = row;
        row = oldest;
    }
    return above[width];
}

unsigned text_distance(Text a, Text b, unsigned limit) {
    if (limit > DISTANCE_LENGTH) limit = DISTANCE_LENGTH;
    while (a.length && b.length && a.at[0] == b.at[0]) {
        a = text_slice(a, 1, a.length);
        b = text_slice(b, 1, b.length);
    }
    while (a.length && b.length && a.at[a.length - 1] == b.at[b.length - 1]) {
        a.length--;
        b.length--;
    }
    size_t difference = a.length > b.length ? a.length - b.length : b.length - a.length;
    if (difference > limit) return limit + 1;
    if (!a.length || !b.length) return (unsigned)difference;
    if (a.length > DISTANCE_LENGTH || b.length > DISTANCE_LENGTH) return limit + 1;
    return distance_by_table(a, b, limit);
}

/* ---- building ---- */

TextBuilder text_builder(Arena *arena) { return (TextBuilder){.arena = arena}; }

/* Room for `more` bytes at the end. */
static char *room_for(TextBuilder *builder, size_t more) {
    if (more > builder->room - builder->length) {
        size_t need = more > SIZE_MAX / 4 ? SIZE_MAX : builder->length + more; /* SIZE_MAX exhausts the arena */
        size_t room = builder->room ? 2 * builder->room : 64;
        if (room < need) room = need;
        builder->at = arena_grow(builder->arena, builder->at, builder->length, room);
        builder->room = room;
    }
    return builder->at + builder->length;
}

void text_add(TextBuilder *builder, Text text) {
    if (!text.length) return;
    memcpy(room_for(builder, text.length), text.at, text.length);
    builder->length += text.length;
}

void text_add_string(TextBuilder *builder, const char *zero_ended) { text_add(builder, text_from(zero_ended)); }

void text_add_char(TextBuilder *builder, char c) {
    *room_for(builder, 1) = c;
    builder->length++;
}

void text_add_count(TextBuilder *builder, uint64_t number) {
    char digits[20];
    size_t first = sizeof digits;
    do {
        digits[--first] = (char)('0' + number % 10);
        number /= 10;
    } while (number);
    text_add(builder, (Text){digits + first, sizeof digits - first});
}

void text_add_repeat(TextBuilder *builder, char c, size_t times) {
    if (!times) return;
    memset(room_for(builder, times), c, times);
    builder->length += times;
}

Text text_built(const TextBuilder *builder) { return (Text){builder->at, builder->length}; }

Text text_fill(Arena *arena, Text pattern, const Text *arguments, unsigned count) {
    TextBuilder builder = text_builder(arena);
    size_t plain = 0; /* start of what is not yet copied */
    for (size_t i = 0; i + 1 < pattern.length; i++) {
        if (pattern.at[i] != '{') continue;
        char next = pattern.at[i + 1];
        unsigned index = next >= '0' && next <= '9' ? (unsigned)(next - '0') : count;
        if (next == '{') {
            text_add(&builder, text_slice(pattern, plain, i + 1));
            plain = i + 2;
            i++;
        } else if (index < count && i + 2 < pattern.length && pattern.at[i + 2] == '}') {
            text_add(&builder, text_slice(pattern, plain, i));
            text_add(&builder, arguments[index]);
            plain = i + 3;
            i += 2;
        } /* anything else, also a number without an argument, stays as it is: it should be seen */
    }
    text_add(&builder, text_slice(pattern, plain, pattern.length));
    return text_built(&builder);
}
