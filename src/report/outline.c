#include "report/outline.h"

#include <stdlib.h>

static uint32_t find(const Outline *outline, const Map *map, Text name) {
    Symbol symbol = symbol_find(outline->symbols, name);
    return symbol ? map_get(map, symbol, OUTLINE_NONE) : OUTLINE_NONE;
}

uint32_t outline_value(const Outline *outline, Text path) { return find(outline, &outline->values, path); }
uint32_t outline_finding(const Outline *outline, Text id) { return find(outline, &outline->findings, id); }
uint32_t outline_thing(const Outline *outline, Text path) { return find(outline, &outline->things, path); }
uint32_t outline_group(const Outline *outline, Text path) { return find(outline, &outline->groups, path); }

Text outline_parent(Text path) {
    size_t end = path.length;
    while (end > 0 && path.at[end - 1] != '.') end--;
    return end > 0 ? text_slice(path, 0, end - 1) : (Text){0};
}

Text outline_tail(Text path, Text of) {
    if (of.length > 0 && path.length > of.length + 1 && text_starts(path, of) && path.at[of.length] == '.')
        return text_slice(path, of.length + 1, path.length);
    return path;
}

bool outline_trouble(const Finding *finding) {
    return finding->verdict == VERDICT_NOT_MET || finding->verdict == VERDICT_AT_RISK ||
           finding->verdict == VERDICT_OPEN;
}

bool outline_gap(const Clause *clause) {
    return clause->demanded && clause->requirements.count == 0 && clause->left_out.length == 0;
}

bool outline_unsourced(const Finding *finding) {
    return finding->kind == FINDING_REQUIREMENT && finding->clauses.count == 0 && finding->unsourced.length == 0 &&
           finding->refines.length == 0;
}

/* The first of a name keeps it. */
static void enter(Outline *outline, Map *map, Text name, uint32_t index) {
    Symbol symbol = symbol_of(outline->symbols, name);
    if (name.length > 0 && map_get(map, symbol, OUTLINE_NONE) == OUTLINE_NONE) map_set(map, symbol, index);
}

static void enter_names(Outline *outline) {
    const Result *result = outline->result;
    outline->value_thing = ARENA_ARRAY(outline->arena, uint32_t, result->values.count);
    for (uint32_t i = 0; i < result->values.count; i++) {
        enter(outline, &outline->values, result->values.at[i].path, i);
        outline->value_thing[i] = OUTLINE_NONE;
    }
    for (uint32_t i = 0; i < result->findings.count; i++)
        enter(outline, &outline->findings, result->findings.at[i].id, i);
    for (uint32_t i = 0; i < result->things.count; i++) {
        const Thing *thing = &result->things.at[i];
        enter(outline, &outline->things, thing->path, i);
        for (uint32_t k = 0; k < thing->value_count && thing->first_value + k < result->values.count; k++)
            outline->value_thing[thing->first_value + k] = i;
    }
}

/* Rules and agreements by thing: count them first, then deal them out, so that the order stays that of the result. */
static void enter_groups(Outline *outline) {
    const FindingVector *findings = &outline->result->findings;
    uint32_t *group_of = ARENA_ARRAY(outline->arena, uint32_t, findings->count);
    uint32_t total = 0;
    for (uint32_t i = 0; i < findings->count; i++) {
        const Finding *finding = &findings->at[i];
        if (finding->kind == FINDING_REQUIREMENT) continue;
        Text path = outline_parent(finding->id);
        Symbol symbol = symbol_of(outline->symbols, path);
        uint32_t group = map_get(&outline->groups, symbol, OUTLINE_NONE);
        if (group == OUTLINE_NONE) {
            group = outline->groups_list.count;
            VECTOR_PUSH(outline->arena, &outline->groups_list,
                        (Group){.path = path, .thing = outline_thing(outline, path)});
            map_set(&outline->groups, symbol, group);
        }
        group_of[i] = group;
        outline->groups_list.at[group].count++;
        if (finding->advice && finding->verdict != VERDICT_MET) outline->groups_list.at[group].advice_not_met++;
        else if (finding->verdict < VERDICT_COUNT) outline->groups_list.at[group].by_verdict[finding->verdict]++;
        total++;
    }
    uint32_t first = 0;
    for (uint32_t g = 0; g < outline->groups_list.count; g++) {
        outline->groups_list.at[g].first = first;
        first += outline->groups_list.at[g].count;
        outline->groups_list.at[g].count = 0;
    }
    outline->ordered.at = ARENA_ARRAY(outline->arena, uint32_t, total);
    outline->ordered.count = outline->ordered.room = total;
    for (uint32_t i = 0; i < findings->count; i++) {
        if (findings->at[i].kind == FINDING_REQUIREMENT) continue;
        Group *group = &outline->groups_list.at[group_of[i]];
        outline->ordered.at[group->first + group->count++] = i;
    }
}

/* Whether a position lies in program text of a file named on the command line: only that is shown line by line. */
static bool is_shown(const Outline *outline, uint32_t position) {
    if (position == 0) return false;
    const Source *source = source_of(outline->result->sources, position);
    if (source == NULL || source->origin != SOURCE_NAMED) return false;
    uint32_t low = 0, high = source->blocks.count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (position < source->blocks.at[middle].end) high = middle;
        else low = middle + 1;
    }
    return low < source->blocks.count && position >= source->blocks.at[low].start;
}

static bool note(Outline *outline, NoteKind kind, uint32_t index, uint32_t position) {
    if (!is_shown(outline, position)) return false;
    VECTOR_PUSH(outline->arena, &outline->notes, (Note){.position = position, .kind = kind, .index = index});
    return true;
}

static void note_value(Outline *outline, uint32_t index) {
    const Value *value = &outline->result->values.at[index];
    NoteKind kind = value->stated ? NOTE_VALUE : NOTE_DERIVED;
    if (note(outline, kind, index, value->span.start)) return;
    uint32_t thing = outline->value_thing[index];
    if (!value->stated && thing != OUTLINE_NONE &&
        note(outline, kind, index, outline->result->things.at[thing].span.start))
        return;
    VECTOR_PUSH(outline->arena, &outline->elsewhere, index);
}

static void note_finding(Outline *outline, uint32_t index) {
    const Finding *finding = &outline->result->findings.at[index];
    if (finding->kind == FINDING_REQUIREMENT) {
        if (!note(outline, NOTE_FINDING, index, finding->shall_span.start))
            note(outline, NOTE_FINDING, index, finding->span.start);
    } else if (finding->kind == FINDING_AGREEMENT || outline_trouble(finding)) {
        note(outline, NOTE_FINDING, index, finding->span.start);
    }
}

static int by_place(const void *left, const void *right) {
    const Note *a = left, *b = right;
    if (a->position != b->position) return a->position < b->position ? -1 : 1;
    if (a->kind != b->kind) return a->kind < b->kind ? -1 : 1;
    return a->index < b->index ? -1 : a->index > b->index;
}

Outline *outline_of(Arena *arena, const Result *result) {
    Outline *outline = ARENA_NEW(arena, Outline);
    outline->result = result;
    outline->arena = arena;
    outline->symbols = symbols_open(arena);
    outline->values = map_open(arena);
    outline->findings = map_open(arena);
    outline->things = map_open(arena);
    outline->groups = map_open(arena);
    enter_names(outline);
    enter_groups(outline);
    for (uint32_t i = 0; i < result->things.count; i++) note(outline, NOTE_THING, i, result->things.at[i].span.start);
    for (uint32_t i = 0; i < result->clauses.count; i++)
        note(outline, NOTE_CLAUSE, i, result->clauses.at[i].span.start);
    for (uint32_t i = 0; i < result->values.count; i++) note_value(outline, i);
    for (uint32_t i = 0; i < result->findings.count; i++) note_finding(outline, i);
    for (uint32_t i = 0; i < result->cautions.count; i++)
        note(outline, NOTE_CAUTION, i, result->cautions.at[i].span.start);
    if (outline->notes.count > 0) qsort(outline->notes.at, outline->notes.count, sizeof(Note), by_place);
    return outline;
}

Note *outline_notes(const Outline *outline, uint32_t *cursor, Span line, uint32_t *count) {
    const NoteVector *notes = &outline->notes;
    while (*cursor < notes->count && notes->at[*cursor].position < line.start) ++*cursor;
    uint32_t first = *cursor;
    while (*cursor < notes->count && notes->at[*cursor].position <= line.end) ++*cursor;
    *count = *cursor - first;
    return *count > 0 ? &notes->at[first] : NULL;
}

bool outline_next_line(const Source *source, Line *line, uint32_t *block) {
    Text bytes = source->bytes;
    size_t at = 0;
    if (line->number > 0) {
        at = line->span.start - source->base + line->text.length;
        if (at < bytes.length && bytes.at[at] == '\r') at++;
        at++;
    }
    if (at >= bytes.length) return false;
    size_t end = at;
    while (end < bytes.length && bytes.at[end] != '\n') end++;
    if (end > at && end < bytes.length && bytes.at[end - 1] == '\r') end--;
    line->number++;
    line->text = text_slice(bytes, at, end);
    line->span = (Span){source->base + (uint32_t)at, source->base + (uint32_t)end};
    while (*block < source->blocks.count && source->blocks.at[*block].end <= line->span.start) ++*block;
    line->program = *block < source->blocks.count && source->blocks.at[*block].start <= line->span.end &&
                    source->blocks.at[*block].start < source->blocks.at[*block].end;
    return true;
}
