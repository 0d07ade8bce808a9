#include "command/requote.h"

typedef struct Writing {
    Arena *arena;
    const World *world;
    const Result *result;
    TextBuilder told; /* the changes that were made */
    Messages left;    /* messages that are not about a figure put right */
    uint32_t next;    /* in the messages: those about stale figures come in the order of the figures */
    uint32_t figures, files;
    bool failed, unprinted;
} Writing;

static void print(Writing *writing, int stream, Text text) {
    if (text.length > 0 && writing->world->print(writing->world->context, stream, text) != WORLD_OK) writing->unprinted = true;
}

/* The link's words with `now` in the place of the span, on one line. */
static Text words_with(const Writing *writing, const Requote *requote, Text now) {
    const Sources *sources = writing->result->sources;
    Text raw = source_text(sources, requote->link), parts[3];
    parts[0] = text_slice(raw, 0, requote->span.start - requote->link.start);
    parts[1] = now;
    parts[2] = text_slice(raw, requote->span.end - requote->link.start, raw.length);
    Text all = text_fill(writing->arena, TEXT("{0}{1}{2}"), parts, 3);
    TextBuilder line = text_builder(writing->arena);
    for (size_t i = 0; i < all.length; i++) {
        bool white = all.at[i] == '\n' || all.at[i] == '\r' || all.at[i] == '\t' || all.at[i] == ' ';
        if (!white) text_add_char(&line, all.at[i]);
        else if (line.length > 0 && line.at[line.length - 1] != ' ') text_add_char(&line, ' ');
    }
    return text_built(&line);
}

static void tell(Writing *writing, const Requote *requote) {
    Place place = source_place(writing->result->sources, requote->link.start);
    text_add(&writing->told, place.source->path);
    text_add_char(&writing->told, ':');
    text_add_count(&writing->told, place.line);
    text_add_char(&writing->told, '.');
    text_add_count(&writing->told, place.column);
    text_add_string(&writing->told, ": ");
    text_add(&writing->told, words_with(writing, requote, source_text(writing->result->sources, requote->span)));
    text_add_string(&writing->told, " → ");
    text_add(&writing->told, words_with(writing, requote, requote->now));
    text_add_char(&writing->told, '\n');
}

/* Keeps the messages before the one about this figure; that one too, when the figure is left as it is. */
static void pass_message(Writing *writing, const Requote *requote, bool done) {
    const Messages *all = writing->result->messages;
    while (writing->next < all->list.count) {
        Message message = all->list.at[writing->next++];
        bool this = message.id == MESSAGE_STALE_FIGURE && message.span.start == requote->link.start;
        if (this && done) writing->left.errors--;
        else VECTOR_PUSH(writing->arena, &writing->left.list, message);
        if (this) return;
    }
}

/* One file: its figures are `first` to `last` - 1. */
static void write_file(Writing *writing, const Source *source, uint32_t first, uint32_t last) {
    const Result *result = writing->result;
    TextBuilder bytes = text_builder(writing->arena);
    size_t at = 0;
    for (uint32_t i = first; i < last; i++) {
        const Requote *requote = &result->requotes.at[i];
        text_add(&bytes, text_slice(source->bytes, at, requote->span.start - source->base));
        text_add(&bytes, requote->now);
        at = requote->span.end - source->base;
    }
    text_add(&bytes, text_slice(source->bytes, at, source->bytes.length));
    WorldResult written = writing->world->write(writing->world->context, source->path, text_built(&bytes));
    for (uint32_t i = first; i < last; i++) {
        pass_message(writing, &result->requotes.at[i], written == WORLD_OK);
        if (written == WORLD_OK) tell(writing, &result->requotes.at[i]);
    }
    if (written == WORLD_OK) {
        writing->figures += last - first;
        writing->files++;
        return;
    }
    writing->failed = true;
    Text reason = world_reason(written);
    SAY(&writing->left, NOT_WRITTEN, ((Span){0, 0}), text_fill(writing->arena, TEXT("it {0}"), &reason, 1), TEXT("Check the permissions of its folder."),
        TEXT("this file"))->path = source->path;
}

static void tell_sum(Writing *writing) {
    if (writing->figures == 0) {
        if (writing->left.errors == 0) text_add_string(&writing->told, "every quoted figure is fresh\n");
        return;
    }
    text_add_count(&writing->told, writing->figures);
    text_add_string(&writing->told, writing->figures == 1 ? " figure written anew in " : " figures written anew in ");
    text_add_count(&writing->told, writing->files);
    text_add_string(&writing->told, writing->files == 1 ? " file\n" : " files\n");
}

int requote_files(Arena *arena, const World *world, const Result *result) {
    Writing writing = {.arena = arena, .world = world, .result = result, .told = text_builder(arena), .left = *result->messages};
    writing.left.list.at = NULL;
    writing.left.list.count = writing.left.list.room = 0;
    for (uint32_t first = 0, last; first < result->requotes.count; first = last) {
        const Source *source = source_of(result->sources, result->requotes.at[first].span.start);
        last = first + 1;
        while (last < result->requotes.count && source_of(result->sources, result->requotes.at[last].span.start) == source) last++;
        write_file(&writing, source, first, last);
    }
    for (; writing.next < result->messages->list.count; writing.next++)
        VECTOR_PUSH(arena, &writing.left.list, result->messages->list.at[writing.next]);
    tell_sum(&writing);
    print(&writing, 1, text_built(&writing.told));
    print(&writing, 2, messages_render(arena, &writing.left));
    if (writing.failed || writing.unprinted || writing.left.machine_errors > 0) return 3;
    return writing.left.errors > 0 ? 2 : 0;
}
