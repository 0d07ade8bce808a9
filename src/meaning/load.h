/* Loading: the named files, what they `use`, and the standard library, each once, into one tree.
 *
 * A table (`use "motors.csv" as dc-motor`) is only opened: its rows become things when the forms are known, see table.h.
 *
 * In:   paths from the command line and folders of libraries.
 * Out:  Loaded: every file with its items, in order: standard library first, then each file after what it uses.
 * A `use` is looked for relative to the using file, then along the library folders, then in the standard library. A path
 * may not leave the root it is looked up in: the folder of the named file that (through others) asked for it, a library
 * folder, or the standard library. Links are resolved before that is judged. */
#ifndef TRUNNION_MEANING_LOAD_H
#define TRUNNION_MEANING_LOAD_H

#include "base/world.h"
#include "syntax/tree.h"

typedef struct LoadedFile {
    Source *source;
    NodeId first_item; /* list by next; 0: none */
    NodeId use;        /* of a table: the USE that asked for it first; else 0 */
} LoadedFile;

typedef struct Loaded {
    Tree *tree;
    VECTOR(LoadedFile) files;
} Loaded;

typedef struct LoadRequest {
    const Text *paths; /* named on the command line */
    uint32_t path_count;
    const Text *libraries; /* folders */
    uint32_t library_count;
    Text standard; /* one more file of the standard library, after all others and unless a file of this name is there: "pairings.trn"; or empty */
    bool cards;            /* the named files are libraries: their cards are packed (see tree.h), as those of used files are */
} LoadRequest;

enum { LOAD_FILE_LIMIT = 10000, LOAD_DEPTH_LIMIT = 100, LOAD_ENCODING_FAULT_LIMIT = 10 };

/* `sources` and `tree` are open and empty. Mistakes go to `messages`; what can be loaded is. */
Loaded *load_files(Arena *arena, const World *world, Sources *sources, Tree *tree, Messages *messages, LoadRequest request);

/* The folder part of a path ("." when there is none), and the path with "." and ".." taken out; false when ".." leads
 * above its start. Pure text, for use and for tests. */
Text path_folder(Text path);
bool path_tidy(Arena *arena, Text path, Text *tidy);
Text path_join(Arena *arena, Text folder, Text name);
/* Whether a resolved path lies in a resolved folder. */
bool path_inside(Text real, Text root);

#endif
