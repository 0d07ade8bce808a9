#include "meaning/load.h"

#include <string.h>

#include "text/literate.h"
#include "text/standard.h"
#include "text/utf8.h"

typedef struct Loader {
    Arena *arena;
    const World *world;
    Sources *sources;
    Messages *messages;
    Loaded *loaded;
    LoadRequest request;
    uint32_t depth;
    bool full; /* a limit was reached and said */
    NodeId table; /* while a table is looked for: its USE */
} Loader;

/* Where a file was looked up: what its own `use` may reach. */
typedef struct Root {
    Text shown; /* folder as written; empty in the standard library */
    Text real;  /* resolved */
    bool standard;
} Root;

static void load_uses(Loader *loader, const Source *source, NodeId first_item, Root root);

/* ---- paths ------------------------------------------------------------------------------------------------------ */

Text path_folder(Text path) {
    for (size_t i = path.length; i > 0; i--) {
        if (path.at[i - 1] == '/') return text_slice(path, 0, i == 1 ? 1 : i - 1);
    }
    return TEXT(".");
}

bool path_tidy(Arena *arena, Text path, Text *tidy) {
    TextBuilder out = text_builder(arena);
    size_t depth = 0, start = 0;
    for (size_t i = 0; i <= path.length; i++) {
        if (i < path.length && path.at[i] != '/') continue;
        Text part = text_slice(path, start, i);
        start = i + 1;
        if (part.length == 0 || text_is(part, ".")) continue;
        if (text_is(part, "..")) {
            if (depth == 0) return false;
            depth--;
            while (out.length > 0 && out.at[out.length - 1] != '/') out.length--;
            if (out.length > 0) out.length--;
            continue;
        }
        if (depth++ > 0) text_add_char(&out, '/');
        text_add(&out, part);
    }
    *tidy = text_built(&out);
    return true;
}

Text path_join(Arena *arena, Text folder, Text name) {
    if (folder.length == 0 || text_is(folder, ".")) return name;
    TextBuilder out = text_builder(arena);
    text_add(&out, folder);
    if (folder.at[folder.length - 1] != '/') text_add_char(&out, '/');
    text_add(&out, name);
    return text_built(&out);
}

bool path_inside(Text real, Text root) {
    if (!text_starts(real, root)) return false;
    return real.length == root.length || root.length == 0 || root.at[root.length - 1] == '/' || real.at[root.length] == '/';
}

/* What to do about a file that cannot be read. */
static Text reason_advice(WorldResult result) {
    if (result == WORLD_MISSING) return TEXT("Check the path.");
    if (result == WORLD_FORBIDDEN) return TEXT("Check its permissions.");
    if (result == WORLD_NOT_FILE) return TEXT("Name a file in it, such as FOLDER/NAME.trn.");
    return (Text){0};
}

/* ---- one file --------------------------------------------------------------------------------------------------- */

/* The rows of a table are of one form. */
static void say_other_form(Loader *loader, const LoadedFile *file) {
    const Tree *tree = loader->loaded->tree;
    if (loader->table == 0 || file->use == 0) return;
    const Node *here = tree_node(tree, tree_node(tree, loader->table)->b), *there = tree_node(tree, tree_node(tree, file->use)->b);
    if (here->name == there->name) return;
    SAY(loader->messages, TABLE_TWO_FORMS, here->span, file->source->path, symbol_text(tree->symbols, here->name),
        symbol_text(tree->symbols, there->name), message_place(loader->messages, there->span.start));
}

static bool already_loaded(const Loader *loader, Text real) {
    for (uint32_t i = 0; i < loader->loaded->files.count; i++) {
        if (text_equal(loader->loaded->files.at[i].source->real, real)) return true;
    }
    return false;
}

/* Reports what is wrong with the encoding; false when the file cannot be read as text. */
static bool encoding_is_fine(Loader *loader, const Source *source) {
    size_t offset = 0, length = 0;
    bool fine = true;
    for (int faults = 0; faults < LOAD_ENCODING_FAULT_LIMIT; faults++) {
        Utf8Fault fault = utf8_check(source->bytes, &offset, &length);
        if (fault == UTF8_FINE) break;
        fine = false;
        uint32_t at = source->base + (uint32_t)offset;
        Span span = {at, at + (uint32_t)length};
        TextBuilder shown = text_builder(loader->arena);
        static const char digits[] = "0123456789ABCDEF";
        for (size_t i = 0; i < length; i++) {
            if (i > 0) text_add_char(&shown, ' ');
            unsigned char byte = (unsigned char)source->bytes.at[offset + i];
            text_add_char(&shown, digits[byte >> 4]);
            text_add_char(&shown, digits[byte & 15]);
        }
        if (fault == UTF8_INVALID) SAY(loader->messages, NOT_UTF8, span, text_built(&shown));
        else SAY(loader->messages, BIDIRECTIONAL, span, text_built(&shown));
        offset += length ? length : 1;
    }
    return fine;
}

static void read_source(Loader *loader, Source *source, Root root) {
    if (!encoding_is_fine(loader, source)) return;
    if (loader->table != 0 && text_ends(source->path, TEXT(".csv"))) {
        VECTOR_PUSH(loader->arena, &loader->loaded->files, (LoadedFile){source, 0, loader->table});
        return;
    }
    Span fence = {0, 0};
    uint32_t before = loader->messages->errors;
    if (source->literate) {
        LiterateFault fault = literate_split(loader->arena, source, &fence);
        if (fault == LITERATE_UNCLOSED) SAY(loader->messages, FENCE_UNCLOSED, fence, TEXT(""));
        if (fault == LITERATE_QUOTED) SAY(loader->messages, FENCE_QUOTED, fence, TEXT(""));
        if (fault != LITERATE_FINE && source->blocks.count == 0) return; /* why there is no program text has been said */
        if (fault != LITERATE_UNCLOSED) fence.start = 0;
    }
    if (source->literate && source->blocks.count == 0 && loader->messages->errors > before) return;
    uint32_t said = loader->messages->list.count;
    NodeId first = syntax_read(loader->loaded->tree, source, loader->messages);
    /* What follows an open fence is prose, read as program text. */
    if (fence.start != 0) messages_take_back(loader->messages, said, fence.start);
    load_uses(loader, source, first, root);
    VECTOR_PUSH(loader->arena, &loader->loaded->files, (LoadedFile){source, first, 0});
}

static void add_file(Loader *loader, Text shown, Text real, Text bytes, SourceOrigin origin, Root root, Span asked_by) {
    if (loader->full) return;
    Source *source = NULL;
    if (loader->loaded->files.count < LOAD_FILE_LIMIT) source = source_add(loader->sources, shown, real, bytes, origin);
    if (source == NULL || loader->depth >= LOAD_DEPTH_LIMIT) {
        loader->full = true;
        Text limit = loader->depth >= LOAD_DEPTH_LIMIT ? TEXT("files use one another more than 100 deep")
                     : source == NULL && loader->loaded->files.count < LOAD_FILE_LIMIT
                         ? TEXT("the files hold more than 4 GiB together")
                         : TEXT("more than 10000 files are used");
        bool deep = loader->depth >= LOAD_DEPTH_LIMIT;
        SAY(loader->messages, TOO_MANY_FILES, asked_by, limit, deep ? TEXT("Let a file nearer to the start use this one.") : TEXT("Use fewer files."));
        return;
    }
    loader->depth++;
    /* Marks the file as loaded before its own uses are followed, so that files may use one another. */
    uint32_t slot = loader->loaded->files.count;
    VECTOR_PUSH(loader->arena, &loader->loaded->files, (LoadedFile){source, 0, 0});
    read_source(loader, source, root);
    /* The file itself comes after what it uses: close the gap its mark has left. */
    uint32_t last = loader->loaded->files.count - 1;
    if (last > slot && loader->loaded->files.at[last].source == source) {
        memmove(&loader->loaded->files.at[slot], &loader->loaded->files.at[slot + 1],
                (last - slot) * sizeof(LoadedFile));
        loader->loaded->files.count = last;
    }
    loader->depth--;
}

static bool add_standard(Loader *loader, Text name, Span asked_by) {
    for (unsigned i = 0; i < standard_file_count; i++) {
        if (!text_is(name, standard_files[i].name)) continue;
        TextBuilder path = text_builder(loader->arena);
        text_add(&path, TEXT("stdlib/"));
        text_add(&path, name);
        TextBuilder real = text_builder(loader->arena);
        text_add(&real, TEXT("standard library:"));
        text_add(&real, name);
        if (already_loaded(loader, text_built(&real))) return true;
        Text bytes = {standard_files[i].bytes, standard_files[i].length};
        add_file(loader, text_built(&path), text_built(&real), bytes, SOURCE_STANDARD, (Root){.standard = true}, asked_by);
        return true;
    }
    return false;
}

/* ---- use -------------------------------------------------------------------------------------------------------- */

static Text root_words(Root root) { return text_is(root.shown, ".") ? TEXT("this folder") : root.shown; }

typedef enum Found { FOUND_YES, FOUND_NOT, FOUND_REFUSED } Found;

static Found open_used(Loader *loader, Text path, Root root, Span span) {
    Text real = {0}, bytes = {0};
    WorldResult result = loader->world->resolve(loader->world->context, loader->arena, path, &real);
    if (result == WORLD_MISSING) return FOUND_NOT;
    if (result == WORLD_OK && !path_inside(real, root.real)) {
        SAY(loader->messages, USE_OUTSIDE, span, path, root_words(root));
        return FOUND_REFUSED;
    }
    for (uint32_t i = 0; result == WORLD_OK && i < loader->loaded->files.count; i++) {
        if (!text_equal(loader->loaded->files.at[i].source->real, real)) continue;
        say_other_form(loader, &loader->loaded->files.at[i]);
        return FOUND_YES;
    }
    if (result == WORLD_OK) result = loader->world->read(loader->world->context, loader->arena, path, &bytes);
    if (result != WORLD_OK) {
        SAY(loader->messages, USE_UNREADABLE, span, path, world_reason(result), reason_advice(result));
        return FOUND_REFUSED;
    }
    add_file(loader, path, real, bytes, SOURCE_USED, root, span);
    return FOUND_YES;
}

/* `use "house/…*.trn"`: every file of the folder that fits, in the order of their names. */
static Found open_glob(Loader *loader, Text path, Root root, Span span) {
    Text folder = path_folder(path);
    Text last = text_slice(path, text_is(folder, ".") && !text_starts(path, TEXT("./")) ? 0 : folder.length + 1, path.length);
    size_t star = 0;
    while (star < last.length && last.at[star] != '*') star++;
    Text before = text_slice(last, 0, star), after = text_slice(last, star + 1, last.length);
    Text *names = NULL;
    uint32_t count = 0;
    WorldResult result = loader->world->list(loader->world->context, loader->arena, folder, after, &names, &count);
    if (result != WORLD_OK) return FOUND_NOT;
    Found found = FOUND_NOT;
    for (uint32_t i = 0; i < count; i++) {
        Text name = names[i];
        size_t cut = name.length;
        while (cut > 0 && name.at[cut - 1] != '/') cut--;
        Text leaf = text_slice(name, cut, name.length);
        if (!text_starts(leaf, before) || leaf.length < before.length + after.length) continue;
        Found one = open_used(loader, path_join(loader->arena, folder, leaf), root, span);
        if (one != FOUND_NOT) found = one == FOUND_REFUSED || found == FOUND_NOT ? one : found;
    }
    return found;
}

static Found look_in(Loader *loader, Text folder, Text wanted, Root root, Span span) {
    Text path = path_join(loader->arena, folder, wanted);
    bool glob = memchr(wanted.at, '*', wanted.length) != NULL;
    return glob ? open_glob(loader, path, root, span) : open_used(loader, path, root, span);
}

static Root root_of_folder(Loader *loader, Text folder) {
    Root root = {.shown = folder, .real = folder};
    Text real;
    if (loader->world->resolve(loader->world->context, loader->arena, folder, &real) == WORLD_OK) root.real = real;
    return root;
}

/* Whether `as FORM` stands where it has to, and only there. */
static bool form_is_well_said(Loader *loader, Text wanted, NodeId form, Span span) {
    bool table = text_ends(wanted, TEXT(".csv"));
    const Node *node = form ? tree_node(loader->loaded->tree, form) : NULL;
    if (table && form == 0) SAY(loader->messages, TABLE_WITHOUT_FORM, span, wanted);
    if (!table && form != 0) SAY(loader->messages, USE_AS_FORM, node->span, wanted, symbol_text(loader->loaded->tree->symbols, node->name));
    return table == (form != 0);
}

static bool use_is_well_formed(Loader *loader, Text wanted, Span span) {
    size_t stars = 0, last_star = 0, last_slash = 0;
    for (size_t i = 0; i < wanted.length; i++) {
        if (wanted.at[i] == '*') stars++, last_star = i;
        if (wanted.at[i] == '/') last_slash = i;
    }
    bool ending = text_ends(wanted, TEXT(".trn")) || text_ends(wanted, TEXT(".trn.md")) || text_ends(wanted, TEXT(".csv"));
    if (!ending || (wanted.length > 0 && wanted.at[0] == '/') || stars > 1 || (stars == 1 && last_star < last_slash)) {
        SAY(loader->messages, USE_MALFORMED, span, wanted);
        return false;
    }
    return true;
}

static void nearer(Text wanted, Text candidate, Text *best, unsigned *distance) {
    unsigned this = *distance > 0 ? text_distance(wanted, candidate, *distance - 1) : *distance;
    if (this >= *distance) return;
    *distance = this;
    *best = candidate;
}

/* "Did you mean …?" of a file in the same folder, or in the standard library; else empty. */
static Text nearest_file(Loader *loader, Text wanted, Root root) {
    Text ending = text_ends(wanted, TEXT(".csv")) ? TEXT(".csv") : TEXT(".trn");
    Text best = {0}, *paths = NULL, tidy;
    unsigned distance = 4;
    uint32_t count = 0;
    for (unsigned i = 0; i < standard_file_count; i++) nearer(wanted, text_from(standard_files[i].name), &best, &distance);
    if (path_tidy(loader->arena, wanted, &tidy)) {
        Text folder = path_folder(path_join(loader->arena, root.shown, tidy));
        Text inside = text_is(path_folder(tidy), ".") ? TEXT("") : path_folder(tidy);
        if (loader->world->list(loader->world->context, loader->arena, folder, ending, &paths, &count) != WORLD_OK) count = 0;
        for (uint32_t i = 0; i < count; i++) {
            size_t cut = paths[i].length;
            while (cut > 0 && paths[i].at[cut - 1] != '/') cut--;
            nearer(tidy, path_join(loader->arena, inside, text_slice(paths[i], cut, paths[i].length)), &best, &distance);
        }
    }
    return best.length ? text_fill(loader->arena, TEXT("Did you mean {0}?"), &best, 1) : TEXT("Check the path; it is relative to this file.");
}

static void load_use(Loader *loader, const Source *source, NodeId use, Root root) {
    Tree *tree = loader->loaded->tree;
    const Node *node = tree_node(tree, use);
    if (node->a == 0) return;
    Span span = tree_node(tree, node->a)->span;
    Text wanted = tree_text(tree, loader->arena, node->a), tidy;
    if (!use_is_well_formed(loader, wanted, span) || !form_is_well_said(loader, wanted, node->b, span)) return;
    loader->table = node->b ? use : 0;
    if (root.standard) {
        if (!add_standard(loader, wanted, span)) SAY(loader->messages, USE_MISSING, span, wanted, TEXT("in the standard library"), (Text){0});
        return;
    }
    /* Relative to the using file, and inside the root that brought it in. */
    Text folder = path_folder(source->path);
    Text inside = text_starts(folder, root.shown) && folder.length > root.shown.length
                      ? text_slice(folder, root.shown.length + 1, folder.length)
                      : TEXT("");
    if (text_is(root.shown, ".") && !text_is(folder, ".")) inside = folder;
    if (!path_tidy(loader->arena, path_join(loader->arena, inside, wanted), &tidy)) {
        SAY(loader->messages, USE_OUTSIDE, span, wanted, root_words(root));
        return;
    }
    Found found = look_in(loader, root.shown, tidy, root, span);
    for (uint32_t i = 0; found == FOUND_NOT && i < loader->request.library_count; i++) {
        Root library = root_of_folder(loader, loader->request.libraries[i]);
        if (!path_tidy(loader->arena, wanted, &tidy)) break;
        found = look_in(loader, library.shown, tidy, library, span);
    }
    if (found == FOUND_NOT && add_standard(loader, wanted, span)) found = FOUND_YES;
    if (found == FOUND_NOT) {
        Text where = loader->request.library_count ? TEXT("beside this file, in the library folders or in the standard library")
                                                   : TEXT("beside this file or in the standard library");
        bool glob = memchr(wanted.at, '*', wanted.length) != NULL;
        Text what = text_fill(loader->arena, glob ? TEXT("file like {0}") : TEXT("{0}"), &wanted, 1);
        SAY(loader->messages, USE_MISSING, span, what, where, glob ? TEXT("Check the path; it is relative to this file.") : nearest_file(loader, wanted, root));
    }
}

static void load_uses(Loader *loader, const Source *source, NodeId first_item, Root root) {
    for (NodeId item = first_item; item != 0; item = tree_node(loader->loaded->tree, item)->next) {
        if (tree_node(loader->loaded->tree, item)->kind == NODE_USE) load_use(loader, source, item, root);
    }
}

/* ---- the whole request ------------------------------------------------------------------------------------------ */

static void load_named(Loader *loader, Text path) {
    Text real = {0}, bytes = {0};
    if (!text_ends(path, TEXT(".trn")) && !text_ends(path, TEXT(".trn.md"))) {
        Message *message = SAY(loader->messages, FILE_NAME, ((Span){0, 0}), path);
        message->path = path;
        if (text_ends(path, TEXT(".csv"))) message->advice = TEXT("A table is read by a library that says: use \"NAME.csv\" as FORM. Name that library.");
        return;
    }
    WorldResult result = loader->world->resolve(loader->world->context, loader->arena, path, &real);
    if (result == WORLD_OK && already_loaded(loader, real)) {
        for (uint32_t i = 0; i < loader->loaded->files.count; i++) {
            Source *source = loader->loaded->files.at[i].source;
            if (text_equal(source->real, real)) source->origin = SOURCE_NAMED;
        }
        return;
    }
    if (result == WORLD_OK) result = loader->world->read(loader->world->context, loader->arena, path, &bytes);
    if (result != WORLD_OK) {
        SAY(loader->messages, FILE_MISSING, ((Span){0, 0}), world_reason(result), reason_advice(result))->path = path;
        return;
    }
    Root root = root_of_folder(loader, path_folder(path));
    add_file(loader, path, real, bytes, SOURCE_NAMED, root, (Span){0, 0});
}

/* Whether a file of this name is there already, as an author's own that stands for the standard library's. */
static bool has_own(const Loader *loader, Text name) {
    for (uint32_t i = 0; i < loader->loaded->files.count; i++) {
        Text path = loader->loaded->files.at[i].source->path, folder = path_folder(path);
        size_t start = text_is(folder, ".") && !text_starts(path, TEXT("./")) ? 0 : folder.length + 1;
        if (text_equal(text_slice(path, start, path.length), name)) return true;
    }
    return false;
}

/* The rows of a table count as written in the library that uses it. A specification uses tables to choose from. */
static void name_tables(Loaded *loaded, const Sources *sources) {
    for (uint32_t i = 0; i < loaded->files.count; i++) {
        const LoadedFile *file = &loaded->files.at[i];
        if (file->use == 0) continue;
        const Source *user = source_of(sources, tree_node(loaded->tree, file->use)->span.start);
        if (user->origin == SOURCE_NAMED && !user->literate) file->source->origin = SOURCE_NAMED;
    }
}

Loaded *load_files(Arena *arena, const World *world, Sources *sources, Tree *tree, Messages *messages, LoadRequest request) {
    Loaded *loaded = ARENA_NEW(arena, Loaded);
    loaded->tree = tree;
    tree->packs = request.cards;
    Loader loader = {arena, world, sources, messages, loaded, request, 0, false, 0};
    add_standard(&loader, TEXT("vocabulary.trn"), (Span){0, 0});
    add_standard(&loader, TEXT("motion.trn"), (Span){0, 0});
    for (uint32_t i = 0; i < request.path_count; i++) load_named(&loader, request.paths[i]);
    if (request.standard.length > 0 && !has_own(&loader, request.standard)) add_standard(&loader, request.standard, (Span){0, 0});
    name_tables(loaded, sources);
    return loaded;
}
