/* The only user of utf8proc: is it UTF-8, what is a name's normal form, how wide is it on a screen. */
#ifndef TRUNNION_TEXT_UTF8_H
#define TRUNNION_TEXT_UTF8_H

#include "base/text.h"

typedef enum Utf8Fault {
    UTF8_FINE,
    UTF8_INVALID,      /* bytes that are not UTF-8 */
    UTF8_BIDIRECTIONAL /* a control character that makes text read in another order than it is compiled */
} Utf8Fault;

/* The first fault at or after *offset; sets *offset to it and *length to its bytes. Linear, fast over ASCII. */
Utf8Fault utf8_check(Text bytes, size_t *offset, size_t *length);
/* NFC, with the micro sign as Greek mu and the ohm sign as Greek omega. ASCII comes back as it is, not copied. */
Text utf8_normal(Arena *arena, Text name);
/* Whether every character of a name is a letter, digit, inner hyphen or underscore; false sets *bad to the first that
 * is not (its bytes). */
bool utf8_is_name(Text name, Text *bad);
/* Display columns of a text. Every ASCII character counts one, also a tab. */
uint32_t utf8_columns(Text text);
/* The text as a terminal may show it: control and format characters by their code (U+001B), a tab as a space, bytes that
 * are not UTF-8 as U+FFFD. Plain text comes back as it is, not copied. */
Text utf8_visible(Arena *arena, Text text);
/* The name by which a heading can be linked to, as forges make it: small letters, digits, hyphens and underscores stay,
 * spaces become hyphens, all else goes. */
Text utf8_anchor(Arena *arena, Text heading);
/* The longest beginning, or ending, that is at most so many columns wide. They look only at the bytes they need. */
Text utf8_first(Text text, uint32_t columns);
Text utf8_last(Text text, uint32_t columns);

#endif
