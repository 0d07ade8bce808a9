/* Text: a view of bytes owned by somebody else (a source file, an arena, a literal). Not ended by a zero byte.
 *
 * Also the one way to build text: TextBuilder, growing in an arena. */
#ifndef TRUNNION_BASE_TEXT_H
#define TRUNNION_BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"

typedef struct Text {
    const char *at; /* may be NULL when length is 0 */
    size_t length;  /* bytes */
} Text;

#define TEXT(literal) ((Text){(literal), sizeof(literal) - 1})

Text text_from(const char *zero_ended); /* NULL gives the empty text */
bool text_equal(Text a, Text b);
bool text_is(Text a, const char *zero_ended);
int text_compare(Text a, Text b); /* by bytes; <0, 0, >0 */
bool text_starts(Text a, Text prefix);
bool text_ends(Text a, Text suffix);
Text text_slice(Text a, size_t start, size_t end); /* clamped */
Text text_trim(Text a);                            /* spaces, tabs, CR and LF off both ends */
Text text_copy(Arena *arena, Text a);
const char *text_zero_ended(Arena *arena, Text a);
/* Edit distance (insert, delete, replace, swap of neighbours), in bytes; at most `limit` + 1. For "did you mean". */
unsigned text_distance(Text a, Text b, unsigned limit);

typedef struct TextBuilder {
    Arena *arena;
    char *at;
    size_t length, room;
} TextBuilder;

TextBuilder text_builder(Arena *arena);
void text_add(TextBuilder *builder, Text text);
void text_add_string(TextBuilder *builder, const char *zero_ended);
void text_add_char(TextBuilder *builder, char c);
void text_add_count(TextBuilder *builder, uint64_t number); /* decimal digits */
void text_add_repeat(TextBuilder *builder, char c, size_t times);
Text text_built(const TextBuilder *builder);
/* `pattern` with {0} … {9} replaced by arguments[0] … ; "{{" is a brace. */
Text text_fill(Arena *arena, Text pattern, const Text *arguments, unsigned count);

#endif
