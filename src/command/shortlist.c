#include "command/shortlist.h"

#include "pipeline.h"
#include "report/shortlist.h"

/* ---- how far it has come ----------------------------------------------------------------------------------------- */

static const double patience = 1.0, pause = 0.2; /* s: before the first line, and between two */

typedef struct Watch {
    const World *world;
    Arena *arena;
    double begun, shown;
    bool told;       /* on a terminal */
    size_t written;  /* columns of the line that stands there */
} Watch;

/* One line, written over the one before. */
static void show(Watch *watch, Text line) {
    arena_clear(watch->arena);
    TextBuilder out = text_builder(watch->arena);
    text_add_char(&out, '\r');
    text_add(&out, line);
    if (watch->written > line.length) text_add_repeat(&out, ' ', watch->written - line.length);
    if (line.length == 0) text_add_char(&out, '\r');
    watch->written = line.length;
    watch->world->print(watch->world->context, 2, text_built(&out));
}

static bool on_progress(void *context, const char *what, uint64_t done, uint64_t all) {
    Watch *watch = context;
    const World *world = watch->world;
    if (world->end_asked(world->context)) {
        world->hold_end(world->context, false); /* whoever asks again means at once */
        return false;
    }
    if (!watch->told) return true;
    double now = world->seconds(world->context);
    if (now - watch->begun < patience || now - watch->shown < pause) return true;
    watch->shown = now;
    char line[96];
    size_t length = 0;
    uint64_t counts[2] = {done, all};
    for (int i = 0; i < 2; i++) {
        char digits[24];
        int n = 0;
        do digits[n++] = (char)('0' + counts[i] % 10); while ((counts[i] /= 10) > 0);
        while (n > 0) line[length++] = digits[--n];
        for (const char *c = i == 0 ? " of " : " "; *c; c++) line[length++] = *c;
    }
    for (const char *c = what; *c && length < sizeof line; c++) line[length++] = *c;
    show(watch, (Text){line, length});
    return true;
}

/* ---- writing it down --------------------------------------------------------------------------------------------- */

typedef struct Writing {
    Arena *arena;
    const World *world;
    const Shortlist *list;
    const ShortlistSet *set;
    Messages *messages;
    TextBuilder told;
} Writing;

static void refuse(Writing *writing, Text path, Text reason, Text advice) {
    SAY(writing->messages, NOT_WRITTEN, ((Span){0, 0}), reason, advice, TEXT("the choice"))->path = path;
}

static Source *source_of_slot(const Writing *writing, uint32_t slot) { return source_of(writing->list->base->sources, writing->list->slots.at[slot].span.start); }

/* Whether all slots stand in files that may be written, and are as they were read. */
static bool may_write(Writing *writing) {
    for (uint32_t i = 0; i < writing->list->slots.count; i++) {
        const Source *source = source_of_slot(writing, i);
        Text now, path = writing->list->slots.at[i].path;
        if (source->origin != SOURCE_NAMED) {
            refuse(writing, source->path, text_fill(writing->arena, TEXT("{0} stands in a library"), &path, 1), TEXT("Name the card there yourself, or name that file among those to be searched."));
            return false;
        }
        WorldResult read = writing->world->read(writing->world->context, writing->arena, source->path, &now);
        if (read == WORLD_OK && text_equal(now, source->bytes)) continue;
        Text reason = read == WORLD_OK ? TEXT("has changed while the search went on") : world_reason(read);
        refuse(writing, source->path, text_fill(writing->arena, TEXT("the file {0}"), &reason, 1), read == WORLD_OK ? TEXT("Search again.") : (Text){0});
        return false;
    }
    return true;
}

static void tell(Writing *writing, uint32_t slot) {
    Place place = source_place(writing->list->base->sources, writing->list->slots.at[slot].span.start);
    text_add(&writing->told, place.source->path);
    text_add_char(&writing->told, ':');
    text_add_count(&writing->told, place.line);
    text_add_string(&writing->told, ": ");
    text_add(&writing->told, writing->list->slots.at[slot].path);
    text_add_string(&writing->told, " = ");
    text_add(&writing->told, writing->set->parts[slot]);
    text_add_char(&writing->told, '\n');
}

/* All slots of one file, in the order of their places: only their own bytes are replaced. */
static bool write_file(Writing *writing, const Source *source) {
    TextBuilder bytes = text_builder(writing->arena);
    size_t at = 0;
    for (;;) {
        uint32_t next = UINT32_MAX;
        for (uint32_t i = 0; i < writing->list->slots.count; i++) {
            Span span = writing->list->slots.at[i].span;
            if (source_of_slot(writing, i) != source || span.start - source->base < at) continue;
            if (next == UINT32_MAX || span.start < writing->list->slots.at[next].span.start) next = i;
        }
        if (next == UINT32_MAX) break;
        Span span = writing->list->slots.at[next].span;
        text_add(&bytes, text_slice(source->bytes, at, span.start - source->base));
        text_add(&bytes, writing->set->parts[next]);
        at = span.end - source->base;
    }
    text_add(&bytes, text_slice(source->bytes, at, source->bytes.length));
    WorldResult written = writing->world->write(writing->world->context, source->path, text_built(&bytes));
    Text reason = world_reason(written);
    if (written != WORLD_OK) refuse(writing, source->path, text_fill(writing->arena, TEXT("the file {0}"), &reason, 1), TEXT("Check the permissions of its folder."));
    return written == WORLD_OK;
}

static void write_choice(Writing *writing) {
    if (!may_write(writing)) return;
    for (uint32_t i = 0; i < writing->list->slots.count; i++) {
        const Source *source = source_of_slot(writing, i);
        uint32_t first = 0;
        while (source_of_slot(writing, first) != source) first++;
        if (first == i && !write_file(writing, source)) return;
        tell(writing, i);
    }
}

/* Which set is to be written; NULL: none, and that is said. */
static const ShortlistSet *picked(Arena *arena, const ShortlistOrder *order, const Shortlist *list, Messages *messages) {
    if (list->partial || messages->errors > 0 || list->best.count == 0) {
        SAY(messages, NOTHING_CHOSEN, ((Span){0, 0}), list->partial ? TEXT("the search was stopped") : messages->errors > 0 ? TEXT("the specification has mistakes") : TEXT("no set of parts works"));
        return NULL;
    }
    if (order->pick <= list->best.count) return &list->best.at[order->pick - 1];
    TextBuilder due = text_builder(arena), given = text_builder(arena);
    text_add_string(&due, "the rank of a set that is shown, at most ");
    text_add_count(&due, list->best.count);
    text_add_count(&given, order->pick);
    SAY(messages, OPTION_VALUE, ((Span){0, 0}), TEXT("--pick"), text_built(&due), text_built(&given));
    return NULL;
}

int shortlist_command(Arena *arena, const World *world, LoadRequest load, ShortlistOrder order) {
    Watch watch = {.world = world, .arena = arena_open_beside(arena), .told = world->is_terminal(world->context, 2)};
    watch.begun = world->seconds(world->context);
    order.request.progress = on_progress;
    order.request.context = &watch;
    world->hold_end(world->context, true);
    ChoiceCheck check = pipeline_choose(arena, world, load, order.request);
    if (watch.written > 0) show(&watch, (Text){0});
    world->hold_end(world->context, false);
    arena_close(watch.arena);
    const Shortlist *list = check.list;
    Writing writing = {arena, world, list, NULL, check.messages, text_builder(arena)};
    if (order.write && list->found) writing.set = picked(arena, &order, list, check.messages);
    if (writing.set) write_choice(&writing);
    Text text = order.csv ? report_shortlist_csv(arena, list) : report_shortlist(arena, list), told = text_built(&writing.told);
    WorldResult printed[3] = {WORLD_OK, WORLD_OK, WORLD_OK};
    if (text.length > 0) printed[0] = world->print(world->context, 1, text);
    if (told.length > 0) printed[1] = world->print(world->context, order.csv ? 2 : 1, text_fill(arena, order.csv ? TEXT("{0}") : TEXT("\n{0}"), &told, 1));
    Text said = messages_render(arena, check.messages);
    if (said.length > 0) printed[2] = world->print(world->context, 2, said);
    if (printed[0] != WORLD_OK || printed[1] != WORLD_OK || printed[2] != WORLD_OK) return 3;
    return shortlist_status(list, check.messages);
}
