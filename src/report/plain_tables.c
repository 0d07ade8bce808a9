/* What stands behind the documents. Lists with hanging lines instead of ruled tables: they survive long texts. */
#include "report/layout.h"
#include "report/plain.h"
#include "report/wording.h"

static void add_part(TextBuilder *out, const char *title) {
    text_add_repeat(out, '-', PLAIN_WIDTH);
    text_add_char(out, '\n');
    text_add_string(out, title);
    text_add_string(out, "\n\n");
}

static void add_line(TextBuilder *out, uint32_t column, const char *before, Text text) {
    if (text.length == 0) return;
    text_add_repeat(out, ' ', column);
    TextBuilder line = text_builder(out->arena);
    text_add_string(&line, before);
    text_add(&line, text);
    layout_wrap(out, text_built(&line), column, column + 4, PLAIN_WIDTH);
}

/* A requirement in the matrix: its verdict, what decides it, and how it is shown. */
static void add_traced(TextBuilder *out, const Result *result, const Finding *finding) {
    Arena *arena = out->arena;
    TextBuilder means = text_builder(arena);
    plain_finding(out, result, finding, finding->id, 4);
    add_line(out, 8, "Because: ", finding->because);
    add_line(out, 8, "Decided by ", wording_list(arena, &finding->decides));
    add_line(out, 8, "Parts: ", wording_list(arena, &finding->parts));
    text_add(&means, finding->method);
    if (finding->evidence.length > 0) {
        text_add_string(&means, means.length > 0 ? ", evidence " : "evidence ");
        text_add(&means, finding->evidence);
    }
    add_line(out, 8, "Method: ", text_built(&means));
    add_line(out, 8, "Measured: ", finding->reading);
    add_line(out, 8, "Pinned by ", finding->digest);
}

static void add_clause(TextBuilder *out, const Outline *outline, const Clause *clause) {
    TextBuilder head = text_builder(out->arena);
    text_add(&head, clause->source);
    text_add_char(&head, ' ');
    text_add(&head, clause->id);
    text_add_string(&head, clause->text.length > 0 ? ": " : "");
    text_add(&head, clause->text);
    add_line(out, 0, "", text_built(&head));
    for (uint32_t i = 0; i < clause->requirements.count; i++) {
        uint32_t index = outline_finding(outline, clause->requirements.at[i]);
        if (index == OUTLINE_NONE) add_line(out, 4, "", clause->requirements.at[i]);
        else add_traced(out, outline->result, &outline->result->findings.at[index]);
    }
    add_line(out, 4, "left out: ", clause->left_out);
    if (clause->requirements.count == 0 && clause->left_out.length == 0)
        add_line(out, 4, "", clause->demanded ? TEXT("NOT COVERED") : TEXT("not covered, and not demanded here"));
    text_add_char(out, '\n');
}

static void add_matrix(TextBuilder *out, const Outline *outline) {
    const Result *result = outline->result;
    add_part(out, "Clauses and requirements");
    for (uint32_t i = 0; i < result->clauses.count; i++) {
        const Clause *clause = &result->clauses.at[i];
        if (i == 0 || !text_equal(clause->source, result->clauses.at[i - 1].source)) {
            TextBuilder head = text_builder(out->arena);
            text_add(&head, clause->source);
            text_add_string(&head, clause->source_title.length > 0 ? ": " : "");
            text_add(&head, clause->source_title);
            layout_heading(out, layout_cut(out->arena, text_built(&head), PLAIN_WIDTH), '-');
            text_add_char(out, '\n');
        }
        add_clause(out, outline, clause);
    }
    bool any = false;
    for (uint32_t i = 0; i < result->findings.count; i++) {
        const Finding *finding = &result->findings.at[i];
        if (finding->kind != FINDING_REQUIREMENT || finding->clauses.count > 0) continue;
        if (!any) text_add_string(out, "Without a clause of their own\n\n");
        any = true;
        add_traced(out, result, finding);
        if (finding->refines.length == 0 || finding->unsourced.length > 0)
            add_line(out, 8, "No source: ", finding->unsourced.length > 0 ? finding->unsourced : TEXT("NO REASON GIVEN"));
        text_add_char(out, '\n');
    }
}

/* Every requirement with bounds, and what else is tight: the worst case, and what leads there. */
static void add_margins(TextBuilder *out, const Result *result) {
    if (result->bounded == 0) return;
    add_part(out, "What eats the margin");
    for (uint32_t i = 0; i < result->findings.count; i++) {
        const Finding *finding = &result->findings.at[i];
        if (!wording_is_listed(finding)) continue;
        TextBuilder head = text_builder(out->arena);
        text_add(&head, finding->id);
        text_add_string(&head, ", ");
        text_add(&head, wording_verdict(out->arena, finding));
        text_add_string(&head, finding->margin.length > 0 ? ": nominal " : "");
        text_add(&head, wording_margin(out->arena, finding));
        text_add_string(&head, "; ");
        text_add(&head, wording_worst(out->arena, finding));
        add_line(out, 0, "", text_built(&head));
        TextVector eaters = wording_eaters(out->arena, finding, UINT32_MAX);
        for (uint32_t k = 0; k < eaters.count; k++) add_line(out, 4, "", eaters.at[k]);
        add_line(out, 4, "By ", wording_likely(out->arena, finding));
        text_add_char(out, '\n');
    }
}

static void add_concessions(TextBuilder *out, const Result *result) {
    if (result->concessions.count == 0) return;
    add_part(out, "Concessions");
    add_line(out, 0, "Judged on ", result->judged_on);
    text_add_char(out, '\n');
    for (uint32_t i = 0; i < result->concessions.count; i++) {
        const Concession *concession = &result->concessions.at[i];
        TextBuilder head = text_builder(out->arena);
        text_add(&head, concession->id);
        text_add_string(&head, concession->text.length > 0 ? ": " : "");
        text_add(&head, concession->text);
        add_line(out, 0, "", text_built(&head));
        add_line(out, 4, "Covers ", wording_list(out->arena, &concession->covers));
        add_line(out, 4, "Given by ", concession->by);
        add_line(out, 4, "Because: ", concession->because);
        add_line(out, 4, concession->lapsed ? "LAPSED on " : "In force until ", concession->until);
        if (concession->needless) add_line(out, 4, "", TEXT("NEEDLESS for some of what it covers"));
        text_add_char(out, '\n');
    }
}

static void add_coverage(TextBuilder *out, const Result *result) {
    TextVector gaps = wording_gaps(out->arena, result);
    bool left_out = false;
    add_part(out, "What is not covered, and what is left out");
    for (uint32_t i = 0; i < gaps.count; i++) add_line(out, 2, "", gaps.at[i]);
    if (gaps.count == 0)
        add_line(out, 2, "", result->clauses.count > 0 ? TEXT("Every clause is covered or left out with a reason.")
                                                       : TEXT("No source document is stated."));
    for (uint32_t i = 0; i < result->clauses.count; i++) {
        const Clause *clause = &result->clauses.at[i];
        if (clause->left_out.length == 0) continue;
        TextBuilder line = text_builder(out->arena);
        text_add(&line, clause->source);
        text_add_char(&line, ' ');
        text_add(&line, clause->id);
        text_add_string(&line, " is left out: ");
        text_add(&line, clause->left_out);
        if (!left_out && gaps.count > 0) text_add_char(out, '\n');
        left_out = true;
        add_line(out, 2, "", text_built(&line));
    }
    text_add_char(out, '\n');
}

static void add_rules(TextBuilder *out, const Outline *outline) {
    if (outline->groups_list.count == 0) return;
    add_part(out, "Rules and agreements by thing");
    for (uint32_t g = 0; g < outline->groups_list.count; g++) {
        const Group *group = &outline->groups_list.at[g];
        TextBuilder head = text_builder(out->arena);
        text_add(&head, group->path);
        if (group->thing != OUTLINE_NONE) {
            const Thing *thing = &outline->result->things.at[group->thing];
            text_add_string(&head, thing->form.length > 0 ? ", " : "");
            text_add(&head, thing->form);
            text_add_string(&head, thing->title.length > 0 ? ": " : "");
            text_add(&head, thing->title);
        }
        add_line(out, 0, "", text_built(&head));
        for (uint32_t k = 0; k < group->count; k++) {
            const Finding *finding = &outline->result->findings.at[outline->ordered.at[group->first + k]];
            plain_finding(out, outline->result, finding, outline_tail(finding->id, group->path), 4);
            add_line(out, 8, "Because: ", finding->because);
            add_line(out, 8, "Source: ", finding->cites);
        }
        text_add_char(out, '\n');
    }
}

static void add_elsewhere(TextBuilder *out, const Outline *outline) {
    if (outline->elsewhere.count == 0) return;
    add_part(out, "Values from libraries");
    for (uint32_t i = 0; i < outline->elsewhere.count; i++) {
        const Value *value = &outline->result->values.at[outline->elsewhere.at[i]];
        TextBuilder line = text_builder(out->arena);
        text_add(&line, value->path);
        text_add_string(&line, " = ");
        text_add(&line, value->shown);
        text_add_string(&line, value->is_signal ? ", over time" : "");
        text_add_string(&line, value->formula.length > 0 ? ", " : "");
        text_add(&line, wording_origin(out->arena, value));
        add_line(out, 2, "", text_built(&line));
        add_line(out, 6, "Source: ", value->cites);
    }
    text_add_char(out, '\n');
}

static void add_cautions(TextBuilder *out, const Result *result) {
    if (result->cautions.count == 0) return;
    add_part(out, "Cautions");
    for (uint32_t i = 0; i < result->cautions.count; i++) {
        const Caution *caution = &result->cautions.at[i];
        add_line(out, 0, "", caution->id);
        add_line(out, 4, "", caution->text);
        add_line(out, 4, "Source: ", caution->cites);
    }
    text_add_char(out, '\n');
}

void plain_tables(TextBuilder *out, const Outline *outline) {
    const Result *result = outline->result;
    add_matrix(out, outline);
    add_margins(out, result);
    add_concessions(out, result);
    add_coverage(out, result);
    add_rules(out, outline);
    add_elsewhere(out, outline);
    add_cautions(out, result);
    add_part(out, "What the calculation does not cover");
    TextVector limits = wording_limits(out->arena, result);
    for (uint32_t i = 0; i < limits.count; i++) {
        if (i > 0) text_add_char(out, '\n');
        layout_wrap(out, limits.at[i], 0, 0, PLAIN_WIDTH);
    }
    if (result->messages == NULL || result->messages->list.count == 0) return;
    text_add_char(out, '\n');
    add_part(out, "Messages");
    text_add(out, messages_render(out->arena, result->messages));
}
