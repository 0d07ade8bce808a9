/* What we say: every message to the user, by name, with the place it speaks of.
 *
 * A message has a row in catalogue.def (name, level, sentence, advice), a page in docs/messages/NAME.md and tests.
 * Stages report and go on; nobody prints. Rendering sorts by place and drops exact repeats.
 *
 * Owns: the collected messages, in the arena of the check. */
#ifndef TRUNNION_MESSAGE_MESSAGE_H
#define TRUNNION_MESSAGE_MESSAGE_H

#include "base/map.h"
#include "text/source.h"

typedef enum MessageId {
#define MESSAGE(id, name, level, sentence, advice) MESSAGE_##id,
#include "message/catalogue.def"
#undef MESSAGE
    MESSAGE_COUNT
} MessageId;

typedef enum MessageLevel {
    LEVEL_NOTE,    /* worth knowing; exit status untouched */
    LEVEL_WARNING, /* likely a slip; exit status untouched */
    LEVEL_ERROR,   /* the specification is wrong: exit status 2 */
    LEVEL_MACHINE  /* file, memory, disk: exit status 3 */
} MessageLevel;

typedef struct Message {
    MessageId id;
    Span span;     /* what it speaks of; nowhere for messages about a whole run */
    Text sentence; /* filled in */
    Text advice;   /* what would be right; may be empty */
    Text path;     /* for a message about a file that could not be read: its path, instead of a span */
} Message;

typedef struct Messages {
    Arena *arena;
    const Sources *sources;
    VECTOR(Message) list; /* without exact repeats */
    Map known;            /* hash of a message with a place -> its index + 1 */
    uint32_t errors, machine_errors, warnings;
} Messages;

Messages *messages_open(Arena *arena, const Sources *sources);
/* Adds a message. The row's sentence and advice are filled with `arguments` ({0}, {1}, …). When every argument that the
 * advice uses is empty, the advice is left out. Returns the message, so that a caller can replace the advice. */
Message *message_add(Messages *messages, MessageId id, Span span, const Text *arguments, unsigned count);
/* Takes back what was said since the list had `count` messages, of places from `position` on: what only follows from a
 * mistake that is said already. */
void messages_take_back(Messages *messages, uint32_t count, uint32_t position);
/* Whether all that was said since the list had `count` messages is of places within a span. */
bool messages_inside(const Messages *messages, uint32_t count, Span span);
/* "path:line" of a place, for use as an argument ("first at …"). */
Text message_place(Messages *messages, uint32_t position);

#define SAY(messages, id, span, ...)                                                                  \
    message_add((messages), MESSAGE_##id, (span), (const Text[]){__VA_ARGS__},                        \
                (unsigned)(sizeof((const Text[]){__VA_ARGS__}) / sizeof(Text)))

const char *message_name(MessageId id);
MessageLevel message_level(MessageId id);
enum { MESSAGE_SHOWN_LIMIT = 1000 }; /* in one run */

/* All messages as text, in order of place, up to the limit:
 *   lift.trn.md:41.12-41.17: error: stroke is a length, and 320 N is a force (wrong-kind)
 *       stroke = «320 N»
 *     Right would be a length, such as 320 mm.
 */
Text messages_render(Arena *arena, const Messages *messages);

#endif
