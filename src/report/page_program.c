/* Program text line by line. The author's lines are on the left; what the compiler found for a line begins on the right
 * beside it and may run on beside the lines after it, as far as these have nothing of their own and belong to the same
 * paragraph. In the file it comes right behind its line, and there a narrow screen shows it. */
#include "report/clean.h"
#include "report/page.h"
#include "report/wording.h"

/* A line of code: its comment is set back, nothing else is coloured. */
static void add_code(Page *page, Text line) {
    bool quoted = false;
    size_t comment = line.length;
    for (size_t i = 0; i < line.length; i++) {
        if (line.at[i] == '\\' && quoted) i++;
        else if (line.at[i] == '"') quoted = !quoted;
        else if (!quoted && line.at[i] == '-' && i + 1 < line.length && line.at[i + 1] == '-') {
            comment = i;
            break;
        }
    }
    markup_text(page, text_slice(line, 0, comment));
    markup_element(page, "i", text_slice(line, comment, line.length));
}

static void add_shown(Page *page, const Value *value) {
    markup_text(page, value->shown);
    if (value->is_signal) markup_add(page, " <small>over time</small>");
}

void page_case(Page *page, const Finding *finding) {
    TextVector told = wording_case(page->arena, page->outline->result, finding);
    for (uint32_t i = 0; i < told.count; i++) markup_element(page, "p", told.at[i]);
}

static void add_figures(Page *page, const Finding *finding) {
    Text figures = wording_figures(page->arena, finding), margin = wording_margin(page->arena, finding);
    if (figures.length > 0) {
        markup_add(page, finding->found.length > 0 || finding->verdict == VERDICT_MET ? ": " : ", ");
        markup_text(page, figures);
    }
    if (margin.length > 0) {
        markup_add(page, "; margin ");
        markup_text(page, margin);
    }
}

static void add_finding(Page *page, const Finding *finding) {
    markup_add(page, "<div class=\"finding ");
    markup_add(page, markup_verdict_class(finding));
    markup_add(page, "\"");
    if (finding->kind == FINDING_REQUIREMENT) markup_id(page, finding->anchor);
    markup_add(page, "><p>");
    markup_verdict(page, finding);
    add_figures(page, finding);
    markup_add(page, "</p>");
    if (finding->kind != FINDING_REQUIREMENT) {
        markup_add(page, "<p>");
        markup_link(page, finding->anchor, finding->id);
        if (finding->text.length > 0) {
            markup_add(page, ": ");
            markup_text(page, finding->text);
        }
        markup_add(page, "</p>");
    }
    page_case(page, finding);
    page_account(page, finding->account, TEXT("with numbers"));
    markup_add(page, "</div>");
}

static void add_thing(Page *page, const Thing *thing) {
    uint32_t index = outline_group(page->outline, thing->path);
    if (index == OUTLINE_NONE) return;
    const Group *group = &page->outline->groups_list.at[index];
    TextBuilder anchor = text_builder(page->arena), said = text_builder(page->arena);
    text_add_string(&anchor, "rules:");
    text_add(&anchor, thing->path);
    text_add(&said, wording_group(page->arena, group));
    markup_add(page, "<p>");
    markup_link(page, text_built(&anchor), text_built(&said));
    markup_add(page, "</p>");
}

static void add_clause(Page *page, const Clause *clause) {
    TextBuilder id = text_builder(page->arena);
    text_add(&id, clause->source);
    text_add(&id, clause->id);
    markup_add(page, outline_gap(clause) ? "<p class=\"gap\"" : "<p");
    markup_id(page, text_built(&id));
    markup_add(page, ">");
    if (clause->requirements.count > 0) {
        markup_add(page, "see ");
        markup_names(page, &clause->requirements);
    } else if (clause->left_out.length > 0) {
        markup_add(page, "left out");
    } else {
        markup_add(page, "not covered");
    }
    markup_add(page, "</p>");
}

static void add_value(Page *page, const Value *value) {
    markup_add(page, "<p class=\"value\"");
    markup_id(page, value->path);
    markup_add(page, ">= ");
    add_shown(page, value);
    markup_add(page, "</p>");
    page_account(page, value->account, TEXT("with numbers"));
}

static void add_caution(Page *page, const Caution *caution) {
    markup_add(page, "<p class=\"caution\"><b>Caution.</b> ");
    markup_text(page, caution->text);
    if (caution->cites.length > 0) {
        markup_add(page, " <cite>");
        markup_text(page, caution->cites);
        markup_add(page, "</cite>");
    }
    markup_add(page, "</p>");
}

static bool is_plain(const Page *page, const Value *value, Text line) {
    return wording_is_literal(source_text(page->outline->result->sources, value->span), line, value->shown);
}

typedef struct Row {
    Line line;
    const Note *notes;
    uint32_t count;
    bool noted;
} Row;

typedef VECTOR(Row) RowVector;

/* Whether anything stands beside the line; a literal would only repeat itself. */
static bool is_noted(const Page *page, const Row *row) {
    const Result *result = page->outline->result;
    for (uint32_t i = 0; i < row->count; i++) {
        const Note *note = &row->notes[i];
        if (note->kind == NOTE_VALUE && is_plain(page, &result->values.at[note->index], row->line.text)) continue;
        if (note->kind == NOTE_THING &&
            outline_group(page->outline, result->things.at[note->index].path) == OUTLINE_NONE)
            continue;
        return true;
    }
    return false;
}

static void add_note(Page *page, const Note *note, Text line) {
    const Result *result = page->outline->result;
    switch (note->kind) {
    case NOTE_THING: add_thing(page, &result->things.at[note->index]); break;
    case NOTE_CLAUSE: add_clause(page, &result->clauses.at[note->index]); break;
    case NOTE_VALUE:
        if (!is_plain(page, &result->values.at[note->index], line)) add_value(page, &result->values.at[note->index]);
        break;
    case NOTE_FINDING: add_finding(page, &result->findings.at[note->index]); break;
    case NOTE_CAUTION: add_caution(page, &result->cautions.at[note->index]); break;
    case NOTE_DERIVED: break;
    }
}

void page_origin(Page *page, const Value *value) {
    Text origin = wording_origin(page->arena, value);
    bool formula = text_starts(origin, TEXT("from "));
    if (page_account(page, value->account, formula ? value->formula : origin)) formula = false;
    else if (formula) markup_element(page, "code", value->formula);
    else markup_text(page, origin);
    markup_element(page, "cite", value->cites);
}

static void add_derived_row(Page *page, uint32_t index) {
    const Value *value = &page->outline->result->values.at[index];
    uint32_t thing = page->outline->value_thing[index];
    Text of = thing == OUTLINE_NONE ? (Text){0} : page->outline->result->things.at[thing].path;
    markup_add(page, "<tr");
    markup_id(page, value->path);
    markup_add(page, "><th scope=\"row\">");
    markup_text(page, outline_tail(value->path, of));
    markup_element(page, "small", value->title);
    markup_add(page, value->unknown ? "</th><td class=\"unknown\">" : "</th><td>");
    add_shown(page, value);
    markup_add(page, "</td><td>");
    page_origin(page, value);
    markup_add(page, "</td></tr>\n");
}

/* All of one thing that follows from its facts; further things on the same line have their own. */
static uint32_t add_derived(Page *page, const Note *notes, uint32_t count) {
    const Outline *outline = page->outline;
    uint32_t thing = outline->value_thing[notes[0].index], length = 0;
    Text path = thing == OUTLINE_NONE ? (Text){0} : outline->result->things.at[thing].path;
    while (length < count && outline->value_thing[notes[length].index] == thing) length++;
    markup_add(page, "<details><summary>");
    markup_text(page, wording_count(page->arena, length, "derived value", "derived values"));
    markup_add(page, path.length > 0 ? " of " : "");
    markup_text(page, path);
    markup_add(page, "</summary>\n<table class=\"values\"><caption>What follows from the facts");
    markup_add(page, path.length > 0 ? " of " : "");
    markup_text(page, path);
    markup_add(page, "</caption><thead><tr><th scope=\"col\">Value</th><th scope=\"col\">Found</th>"
                     "<th scope=\"col\">Follows from</th></tr></thead><tbody>\n");
    for (uint32_t i = 0; i < length; i++) add_derived_row(page, notes[i].index);
    markup_add(page, "</tbody></table></details>\n");
    return length;
}

/* Anchors of what has no note of its own. */
static void add_anchors(Page *page, const Row *row) {
    const Result *result = page->outline->result;
    for (uint32_t i = 0; i < row->count; i++) {
        const Note *note = &row->notes[i];
        Text id = {0};
        if (note->kind == NOTE_THING) id = result->things.at[note->index].path;
        if (note->kind == NOTE_VALUE && is_plain(page, &result->values.at[note->index], row->line.text))
            id = result->values.at[note->index].path;
        if (id.length == 0) continue;
        markup_add(page, "<span");
        markup_id(page, id);
        markup_add(page, "></span>");
    }
}

static void add_line(Page *page, const Row *row) {
    markup_add(page, "<code><span class=\"number\">");
    text_add_count(page->out, row->line.number);
    markup_add(page, "</span>");
    add_anchors(page, row);
    markup_add(page, "<span class=\"text\">");
    add_code(page, row->line.text);
    markup_add(page, "</span></code>\n");
    if (!row->noted) return;
    markup_add(page, "<div class=\"note\">");
    for (uint32_t i = 0; i < row->count;) {
        if (row->notes[i].kind == NOTE_DERIVED) {
            i += add_derived(page, &row->notes[i], row->count - i);
        } else {
            add_note(page, &row->notes[i], row->line.text);
            i++;
        }
    }
    markup_add(page, "</div>\n");
}

static RowVector rows_of(Page *page, const Source *source, Span block) {
    RowVector rows = {0};
    Text text = text_slice(source->bytes, block.start - source->base, block.end - source->base);
    uint32_t number = source_place(page->outline->result->sources, block.start).line;
    for (size_t at = 0; at < text.length; number++) {
        Row row = {0};
        size_t end = at;
        while (end < text.length && text.at[end] != '\n') end++;
        row.line.number = number;
        row.line.text = text_slice(text, at, end);
        row.line.span = (Span){block.start + (uint32_t)at, block.start + (uint32_t)end};
        if (text_ends(row.line.text, TEXT("\r"))) row.line.text.length--;
        row.notes = outline_notes(page->outline, &page->cursor, row.line.span, &row.count);
        row.noted = is_noted(page, &row);
        VECTOR_PUSH(page->arena, &rows, row);
        at = end + 1;
    }
    return rows;
}

void page_program(Page *page, const Source *source, uint32_t block) {
    RowVector rows = rows_of(page, source, source->blocks.at[block]);
    if (rows.count == 0) return;
    markup_add(page, "<div class=\"program\" role=\"group\" aria-label=\"Program text from line ");
    text_add_count(page->out, rows.at[0].line.number);
    markup_add(page, "\">\n");
    for (uint32_t i = 0; i < rows.count;) {
        uint32_t end = i + 1;
        while (end < rows.count && !rows.at[end].noted && text_trim(rows.at[end - 1].line.text).length > 0) end++;
        markup_add(page, "<div class=\"row\"");
        if (rows.at[i].noted) { /* the note spans all lines; a row behind them takes what is longer */
            markup_add(page, " style=\"grid-template-rows:repeat(");
            text_add_count(page->out, end - i);
            markup_add(page, ",auto) 1fr\"");
        }
        markup_add(page, ">\n");
        for (; i < end; i++) add_line(page, &rows.at[i]);
        markup_add(page, "</div>\n");
    }
    markup_add(page, "</div>\n");
}
