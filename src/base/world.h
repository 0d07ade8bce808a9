/* The outside world, as few replaceable functions. Nothing else opens a file, prints or looks at the clock.
 *
 * `world_of_system` is the real one; tests and the fuzzer make their own in memory. */
#ifndef TRUNNION_BASE_WORLD_H
#define TRUNNION_BASE_WORLD_H

#include "base/text.h"

typedef enum WorldResult {
    WORLD_OK,
    WORLD_MISSING,   /* no such file or folder */
    WORLD_FORBIDDEN, /* permission denied */
    WORLD_NOT_FILE,  /* a folder, a device */
    WORLD_TOO_LARGE, /* over WORLD_FILE_LIMIT bytes */
    WORLD_FAILED     /* any other error: disk full, input/output error */
} WorldResult;

enum { WORLD_FILE_LIMIT = 1 << 30 }; /* bytes */

typedef struct World {
    void *context;
    /* Whole file at `path` into the arena. */
    WorldResult (*read)(void *context, Arena *arena, Text path, Text *bytes);
    /* Paths in `folder` whose last part ends with `ending`, sorted by bytes, each as folder/name. */
    WorldResult (*list)(void *context, Arena *arena, Text folder, Text ending, Text **paths, uint32_t *count);
    /* Replaces the file at `path` at once: written beside it under a temporary name, then renamed. On failure the old
     * file stands and nothing is left behind. */
    WorldResult (*write)(void *context, Text path, Text bytes);
    /* The real path, links resolved, for keeping `use` inside its roots; WORLD_MISSING when there is none. */
    WorldResult (*resolve)(void *context, Arena *arena, Text path, Text *real);
    /* To the standard streams: 1 out, 2 error. */
    WorldResult (*print)(void *context, int stream, Text bytes);
    /* Today's date (UTC) as 2027-03-31; only asked for where a concession has to lapse. */
    Text (*today)(void *context, Arena *arena);
    /* Whether a standard stream (1 out, 2 error) is shown on a terminal, so that a line may be written over. */
    bool (*is_terminal)(void *context, int stream);
    /* Seconds since some instant; for how long something takes. */
    double (*seconds)(void *context);
    /* Holds back the signals that ask the program to end (SIGINT, SIGTERM), or lets them through again. */
    void (*hold_end)(void *context, bool hold);
    /* Whether one was held back since the last question; it is then done with. */
    bool (*end_asked)(void *context);
} World;

World world_of_system(void);
/* "is not there", "may not be read", … in the words of a message. */
Text world_reason(WorldResult result);

#endif
