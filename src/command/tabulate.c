#include "command/tabulate.h"

typedef struct Telling {
    Arena *arena;
    const World *world;
    Messages *messages;
    Text folder;
    TextBuilder out;
    bool unprinted;
} Telling;

static void print(Telling *telling, int stream, Text text) {
    if (text.length > 0 && telling->world->print(telling->world->context, stream, text) != WORLD_OK) telling->unprinted = true;
}

static Text path_of(const Telling *telling, const TabulatedTable *table) {
    Text file = text_fill(telling->arena, TEXT("{0}.csv"), &table->form, 1);
    return path_join(telling->arena, telling->folder, file);
}

static void say_not_written(Telling *telling, Text path, Text reason, Text advice) {
    SAY(telling->messages, NOT_WRITTEN, ((Span){0, 0}), reason, advice, TEXT("the table"))->path = path;
}

/* A table that is read here would be lost if writing it failed half-way through several. */
static bool is_read_here(const Telling *telling, const Sources *sources, Text path) {
    Text real;
    if (telling->world->resolve(telling->world->context, telling->arena, path, &real) != WORLD_OK) return false;
    for (uint32_t i = 0; i < sources->list.count; i++) {
        if (text_equal(sources->list.at[i]->real, real)) return true;
    }
    return false;
}

static bool may_write_all(Telling *telling, const Sources *sources, const Tabulated *tabulated) {
    bool fine = true;
    for (uint32_t i = 0; i < tabulated->tables.count; i++) {
        Text path = path_of(telling, &tabulated->tables.at[i]);
        if (!is_read_here(telling, sources, path)) continue;
        say_not_written(telling, path, TEXT("it is one of the files that are read"), TEXT("Name another folder."));
        fine = false;
    }
    return fine;
}

static bool write_table(Telling *telling, const TabulatedTable *table) {
    Text path = path_of(telling, table);
    WorldResult written = telling->world->write(telling->world->context, path, table->bytes);
    Text reason = world_reason(written), it = text_fill(telling->arena, TEXT("it {0}"), &reason, 1);
    if (written == WORLD_OK) return true;
    say_not_written(telling, path, written == WORLD_MISSING ? TEXT("its folder is not there") : it,
                    written == WORLD_MISSING     ? TEXT("Make the folder first.")
                    : written == WORLD_FORBIDDEN ? TEXT("Check the permissions of the folder.")
                                                 : TEXT(""));
    return false;
}

static void add_count(Telling *telling, uint32_t count, const char *one, const char *many) {
    text_add_count(&telling->out, count);
    text_add_char(&telling->out, ' ');
    text_add_string(&telling->out, count == 1 ? one : many);
}

static void tell_uses(Telling *telling, const Tabulated *tabulated) {
    text_add_string(&telling->out, "\nA library that reads ");
    text_add_string(&telling->out, tabulated->tables.count == 1 ? "it" : "them");
    text_add_string(&telling->out, " says, beside the tables:\n\n");
    bool other = false;
    for (uint32_t i = 0; i < tabulated->uses.count; i++) {
        other = other || !tabulated->uses.at[i].standard;
        text_add(&telling->out, text_fill(telling->arena, TEXT("    use \"{0}\"\n"), &tabulated->uses.at[i].path, 1));
    }
    for (uint32_t i = 0; i < tabulated->tables.count; i++)
        text_add(&telling->out, text_fill(telling->arena, TEXT("    use \"{0}.csv\" as {0}\n"), &tabulated->tables.at[i].form, 1));
    if (other) text_add_string(&telling->out, "\nWhat is not of the standard library has its path as it was; it may be another there.\n");
}

static void tell_rest(Telling *telling, const Tabulated *tabulated) {
    if (tabulated->rest.count == 0) return;
    text_add_string(&telling->out, "\nNo cards, and left where they are: ");
    for (uint32_t i = 0; i < tabulated->rest.count; i++) {
        if (i > 0) text_add_string(&telling->out, ", ");
        add_count(telling, tabulated->rest.at[i].count, tabulated->rest.at[i].word, tabulated->rest.at[i].words);
    }
    text_add_string(&telling->out, ".\n");
}

static void write_all(Telling *telling, const Tabulated *tabulated) {
    bool fine = true;
    for (uint32_t i = 0; i < tabulated->tables.count && fine; i++) {
        const TabulatedTable *table = &tabulated->tables.at[i];
        fine = write_table(telling, table);
        if (!fine) break;
        text_add(&telling->out, path_of(telling, table));
        text_add_string(&telling->out, ": ");
        add_count(telling, table->cards, "card", "cards");
        text_add_string(&telling->out, ", ");
        add_count(telling, table->columns, "column", "columns");
        text_add_char(&telling->out, '\n');
    }
    if (!fine) return;
    tell_uses(telling, tabulated);
    tell_rest(telling, tabulated);
}

int tabulate_files(Arena *arena, const World *world, LoadRequest load, Text folder) {
    TabulateCheck check = pipeline_tabulate(arena, world, load);
    Telling telling = {arena, world, check.messages, folder, text_builder(arena), false};
    if (check.messages->errors + check.messages->machine_errors == 0 && check.tabulated->tables.count == 0)
        SAY(check.messages, TABULATE_NOTHING, ((Span){0, 0}), TEXT(""));
    bool fine = check.messages->errors + check.messages->machine_errors == 0;
    if (fine && may_write_all(&telling, check.sources, check.tabulated)) write_all(&telling, check.tabulated);
    print(&telling, 2, messages_render(arena, check.messages));
    print(&telling, 1, text_built(&telling.out));
    if (telling.unprinted || check.messages->machine_errors > 0) return 3;
    return check.messages->errors > 0 ? 2 : 0;
}
