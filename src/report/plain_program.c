/* The documents themselves, with findings beside or beneath each line. */
#include "report/clean.h"
#include "report/layout.h"
#include "report/plain.h"
#include "report/wording.h"
#include "text/link.h"
#include "text/utf8.h"
#include "verdict/account.h"

enum {
    COLUMN_CODE = 7 /* the line number stands before it */
};

/* A finding beneath its line, behind a rule in the margin that runs along all its lines. */
static void add_beneath(TextBuilder *out, Text text, uint32_t indent) {
    enum { RULE = COLUMN_CODE + 2 };
    TextBuilder body = text_builder(out->arena);
    layout_wrap(&body, text, indent, indent + 2, PLAIN_WIDTH - RULE - 2);
    Text rest = text_built(&body);
    for (bool first = true; rest.length > 0; first = false) {
        size_t end = 0;
        while (rest.at[end] != '\n') end++;
        text_add_repeat(out, ' ', RULE);
        text_add_string(out, "| ");
        if (first) text_add_repeat(out, ' ', indent);
        text_add(out, text_slice(rest, 0, end + 1));
        rest = text_slice(rest, end + 1, rest.length);
    }
}

static void add_case(TextBuilder *out, const Result *result, const Finding *finding) {
    TextVector told = wording_case(out->arena, result, finding);
    for (uint32_t i = 0; i < told.count; i++) add_beneath(out, told.at[i], 2);
}

/* What a note says in one line; empty when it says nothing new. */
static Text note_line(const Outline *outline, const Note *note, Text line) {
    Arena *arena = outline->arena;
    const Result *result = outline->result;
    TextBuilder out = text_builder(arena);
    if (note->kind == NOTE_THING) {
        uint32_t group = outline_group(outline, result->things.at[note->index].path);
        if (group == OUTLINE_NONE) return (Text){0};
        text_add(&out, wording_group(arena, &outline->groups_list.at[group]));
    } else if (note->kind == NOTE_CLAUSE) {
        const Clause *clause = &result->clauses.at[note->index];
        if (clause->requirements.count > 0) text_add_string(&out, "see ");
        else if (clause->left_out.length == 0) text_add_string(&out, "not covered");
        text_add(&out, wording_list(arena, &clause->requirements));
    } else if (note->kind == NOTE_VALUE) {
        const Value *value = &result->values.at[note->index];
        if (wording_is_literal(source_text(result->sources, value->span), line, value->shown)) return (Text){0};
        text_add_string(&out, "= ");
        text_add(&out, value->shown);
        if (value->is_signal) text_add_string(&out, ", over time");
    } else if (note->kind == NOTE_FINDING) {
        const Finding *finding = &result->findings.at[note->index];
        Text figures = wording_figures(arena, finding), margin = wording_margin(arena, finding);
        if (finding->kind != FINDING_REQUIREMENT) {
            text_add(&out, finding->id);
            text_add_string(&out, ", ");
        }
        text_add(&out, wording_verdict(arena, finding));
        text_add_string(&out, figures.length == 0                                                    ? ""
                              : finding->found.length > 0 || finding->verdict == VERDICT_MET ? ": "
                                                                                             : ", ");
        text_add(&out, figures);
        text_add_string(&out, margin.length > 0 ? "; margin " : "");
        text_add(&out, margin);
    } else if (note->kind == NOTE_CAUTION) {
        const Caution *caution = &result->cautions.at[note->index];
        text_add_string(&out, "Caution: ");
        text_add(&out, caution->text);
    }
    return text_built(&out);
}

static Text derived_name(const Outline *outline, uint32_t index) {
    uint32_t thing = outline->value_thing[index];
    return outline_tail(outline->result->values.at[index].path,
                        thing == OUTLINE_NONE ? (Text){0} : outline->result->things.at[thing].path);
}

static Text derived_shown(Arena *arena, const Value *value) {
    if (!value->is_signal) return value->shown;
    TextBuilder shown = text_builder(arena);
    text_add(&shown, value->shown);
    text_add_string(&shown, ", over time");
    return text_built(&shown);
}

/* The formula with numbers put in. */
static void add_numbers(TextBuilder *out, const Value *value) {
    TextBuilder line = text_builder(out->arena);
    if (value->account == NULL || value->account->lines.count == 0 || value->account->lines.at[0].numbers.length == 0) return;
    text_add_string(&line, "= ");
    text_add(&line, value->account->lines.at[0].numbers);
    if (value->account->instant.length > 0) {
        text_add_string(&line, ", ");
        text_add(&line, value->account->instant);
    }
    add_beneath(out, text_built(&line), 4);
}

/* Name, value and formula on one line; a formula that does not fit, and its source, beneath. */
static void add_derived_row(TextBuilder *out, const Outline *outline, uint32_t index, uint32_t name, uint32_t shown) {
    Arena *arena = outline->arena;
    const Value *value = &outline->result->values.at[index];
    TextBuilder row = text_builder(arena), from = text_builder(arena), whose = text_builder(arena);
    layout_left(&row, derived_name(outline, index), name);
    text_add_string(&row, " = ");
    layout_left(&row, derived_shown(arena, value), value->formula.length > 0 ? shown : 0);
    text_add_string(&from, value->formula.length > 0 ? "  " : "");
    text_add(&from, wording_origin(arena, value));
    uint32_t wide = layout_columns(arena, text_built(&row)) + layout_columns(arena, text_built(&from));
    bool fits = COLUMN_CODE + 4 + wide <= PLAIN_WIDTH;
    if (fits) text_add(&row, clean_line(arena, text_built(&from)));
    while (row.length > 0 && row.at[row.length - 1] == ' ') row.length--;
    text_add_repeat(out, ' ', COLUMN_CODE + 2);
    text_add_string(out, "| ");
    text_add(out, text_built(&row));
    text_add_char(out, '\n');
    if (!fits) add_beneath(out, text_trim(text_built(&from)), 4);
    add_numbers(out, value);
    if (value->cites.length == 0) return;
    text_add_string(&whose, "source: ");
    text_add(&whose, value->cites);
    add_beneath(out, text_built(&whose), 4);
}

static void add_derived(TextBuilder *out, const Outline *outline, const Note *notes, uint32_t count) {
    enum { NAME_MOST = 34, SHOWN_MOST = 26 };
    Arena *arena = outline->arena;
    uint32_t name = 0, shown = 0;
    for (uint32_t i = 0; i < count; i++) {
        uint32_t wide = layout_columns(arena, derived_name(outline, notes[i].index));
        if (wide > name && wide <= NAME_MOST) name = wide;
        wide = layout_columns(arena, derived_shown(arena, &outline->result->values.at[notes[i].index]));
        if (wide > shown && wide <= SHOWN_MOST) shown = wide;
    }
    for (uint32_t i = 0; i < count; i++) add_derived_row(out, outline, notes[i].index, name, shown);
}

/* Findings beside their lines begin at one of a few columns, so that neighbours line up. */
static uint32_t column_beside(uint32_t wide) {
    static const uint32_t STOPS[] = {56, 70, 80, 88};
    for (size_t i = 0; i < sizeof STOPS / sizeof *STOPS; i++)
        if (wide + 3 <= STOPS[i]) return STOPS[i];
    return wide + 3;
}

/* The line as it stands; a line that is too long goes on beneath, further in. Gives the columns filled at its end. */
static uint32_t add_code(TextBuilder *out, Text line) {
    Text code = clean_line(out->arena, line);
    uint32_t used = COLUMN_CODE, indent = 0;
    bool fresh = true; /* no word on this line yet */
    while (indent < code.length && code.at[indent] == ' ' && indent < PLAIN_WIDTH / 2) indent++;
    if (code.length > 0) text_add_string(out, "  ");
    for (size_t at = 0; at < code.length;) {
        size_t word = at, end;
        while (word < code.length && code.at[word] == ' ') word++;
        end = word;
        while (end < code.length && code.at[end] != ' ') end++;
        uint32_t wide = utf8_columns(text_slice(code, word, end)), gap = (uint32_t)(word - at);
        if (!fresh && wide > 0 && used + gap + wide > PLAIN_WIDTH) {
            text_add_char(out, '\n');
            text_add_repeat(out, ' ', COLUMN_CODE + indent + 4);
            used = COLUMN_CODE + indent + 4;
            at = word;
            gap = 0;
        }
        if (wide > 0) text_add(out, text_slice(code, at, end));
        if (wide > 0) used += gap + wide;
        fresh = fresh && wide == 0;
        at = end;
    }
    return used;
}

static void add_program_line(TextBuilder *out, const Outline *outline, const Line *line, uint32_t *cursor) {
    Arena *arena = outline->arena;
    uint32_t count, first = 0;
    const Note *notes = outline_notes(outline, cursor, line->span, &count);
    TextBuilder number = text_builder(arena);
    text_add_count(&number, line->number);
    layout_right(out, text_built(&number), COLUMN_CODE - 2);
    uint32_t wide = add_code(out, line->text);
    /* The first note stands beside the line when both are short. */
    if (count > 0 && notes[0].kind != NOTE_DERIVED) {
        Text said = note_line(outline, &notes[0], line->text);
        uint32_t column = column_beside(wide);
        if (said.length > 0 && column + layout_columns(arena, said) <= PLAIN_WIDTH) {
            text_add_repeat(out, ' ', column - wide);
            text_add(out, clean_line(arena, said));
            text_add_char(out, '\n');
            if (notes[0].kind == NOTE_FINDING) add_case(out, outline->result, &outline->result->findings.at[notes[0].index]);
            first = 1;
        }
    }
    if (first == 0) text_add_char(out, '\n');
    for (uint32_t i = first; i < count; i++) {
        if (notes[i].kind == NOTE_DERIVED) {
            add_derived(out, outline, &notes[i], count - i); /* derived values come last */
            break;
        }
        Text said = note_line(outline, &notes[i], line->text);
        if (said.length > 0) add_beneath(out, said, 0);
        if (notes[i].kind == NOTE_FINDING) add_case(out, outline->result, &outline->result->findings.at[notes[i].index]);
    }
}

static bool is_fence(Text line) {
    Text trimmed = text_trim(line);
    return text_starts(trimmed, TEXT("```")) || text_starts(trimmed, TEXT("~~~"));
}

/* A line of a plain paragraph, which may be broken elsewhere without changing what it means. */
static bool is_words(Text line) {
    if (line.length == 0 || text_ends(line, TEXT("  ")) || text_ends(line, TEXT("\\"))) return false;
    unsigned char c = (unsigned char)line.at[0];
    return c >= 0x80 || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '(' || c == '"';
}

static void add_lines(TextBuilder *out, Text lines) {
    while (lines.length > 0) {
        size_t end = 0;
        while (end < lines.length && lines.at[end] != '\n') end++;
        Text line = clean_line(out->arena, text_slice(lines, 0, end));
        while (line.length > 0 && (line.at[line.length - 1] == ' ')) line.length--;
        text_add(out, line);
        text_add_char(out, '\n');
        lines = text_slice(lines, end + 1, lines.length);
    }
}

/* Prose that waits to be written: a paragraph with a line that is too long is set anew, everything else stays as it is. */
typedef struct Waiting {
    size_t start, end; /* offsets in the file, without the last line end */
    bool any, words, wide;
} Waiting;

/* The bytes from `start` to `end`, of links to a name only the words. */
static Text plain_prose(Arena *arena, const Source *source, size_t start, size_t end) {
    const ProseLinks *links = source->links;
    uint32_t low = 0, high = links ? links->list.count : 0;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (links->list.at[middle].span.start - source->base < start) low = middle + 1;
        else high = middle;
    }
    if (links == NULL || low == links->list.count || links->list.at[low].span.start - source->base > end) return text_slice(source->bytes, start, end);
    TextBuilder out = text_builder(arena);
    for (; low < links->list.count && links->list.at[low].span.start - source->base < end; low++) {
        const ProseLink *link = &links->list.at[low];
        size_t from = link->whole.start - source->base, to = link->whole.end - source->base;
        if (link->whole.start == 0 || from < start || to > end) continue;
        text_add(&out, text_slice(source->bytes, start, from));
        text_add(&out, text_slice(source->bytes, link->span.start - source->base, link->span.end - source->base));
        start = to;
    }
    text_add(&out, text_slice(source->bytes, start, end));
    return text_built(&out);
}

static void flush(TextBuilder *out, const Source *source, Waiting *waiting) {
    Text lines = plain_prose(out->arena, source, waiting->start, waiting->end);
    if (waiting->any && waiting->words && waiting->wide) layout_wrap(out, lines, 0, 0, PLAIN_WIDTH);
    else if (waiting->any && lines.length == 0) text_add_char(out, '\n');
    else if (waiting->any) add_lines(out, lines);
    *waiting = (Waiting){0};
}

static void add_prose(TextBuilder *out, const Source *source, const Line *line, Waiting *waiting) {
    Text shown = plain_prose(out->arena, source, line->span.start - source->base, line->span.start - source->base + line->text.length);
    bool words = is_words(line->text) || (text_starts(line->text, TEXT("[")) && shown.length < line->text.length);
    if (!words || !waiting->words) flush(out, source, waiting);
    if (!waiting->any) *waiting = (Waiting){.start = line->span.start - source->base, .any = true, .words = words};
    waiting->end = line->span.start - source->base + line->text.length;
    if (layout_columns(out->arena, shown) > PLAIN_WIDTH) waiting->wide = true;
    if (!words) flush(out, source, waiting);
}

/* The fences around program text are left out: the line numbers show where it is. An opening fence is known as such only
 * when the line behind it is program text, so a fence waits for the next line. */
static void add_document(TextBuilder *out, const Outline *outline, const Source *source, uint32_t *cursor) {
    Line line = {0}, fence = {0};
    Waiting waiting = {0};
    uint32_t block = 0;
    bool program_before = false;
    while (outline_next_line(source, &line, &block)) {
        if (fence.number > 0 && !line.program) add_prose(out, source, &fence, &waiting);
        fence.number = 0;
        if (line.program) {
            flush(out, source, &waiting);
            add_program_line(out, outline, &line, cursor);
        } else if (source->literate && is_fence(line.text)) {
            if (!program_before) fence = line;
        } else {
            add_prose(out, source, &line, &waiting);
        }
        program_before = line.program;
    }
    if (fence.number > 0) add_prose(out, source, &fence, &waiting);
    flush(out, source, &waiting);
}

void plain_documents(TextBuilder *out, const Outline *outline) {
    const Sources *sources = outline->result->sources;
    uint32_t cursor = 0;
    for (uint32_t i = 0; sources != NULL && i < sources->list.count; i++) {
        const Source *source = sources->list.at[i];
        if (source->origin != SOURCE_NAMED) continue;
        text_add_repeat(out, '-', PLAIN_WIDTH);
        text_add_char(out, '\n');
        layout_wrap(out, source->path, 0, 0, PLAIN_WIDTH);
        text_add_repeat(out, '-', PLAIN_WIDTH);
        text_add_string(out, "\n\n");
        add_document(out, outline, source, &cursor);
        text_add_char(out, '\n');
    }
}
