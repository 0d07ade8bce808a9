/* Tables behind the documents. Each cell carries its column's name, which a narrow screen shows in front of it. */
#include "report/page.h"
#include "report/wording.h"

/* The worst margin has a column as soon as anything has bounds. */
static bool has_worst(const Page *page) { return page->outline->result->bounded > 0; }

static void open_part(Page *page, const char *id, const char *title) {
    markup_add(page, "<section class=\"part\" aria-labelledby=\"part:");
    markup_add(page, id);
    markup_add(page, "\">\n<h2 id=\"part:");
    markup_add(page, id);
    markup_add(page, "\">");
    markup_add(page, title);
    markup_add(page, "</h2>\n");
}

static void close_part(Page *page) { markup_add(page, "</section>\n"); }

static void open_cell(Page *page, const char *label) {
    markup_add(page, "<td data-label=\"");
    markup_add(page, label);
    markup_add(page, "\">");
}

static void add_cell(Page *page, const char *label, Text text) {
    if (text.length == 0) {
        markup_add(page, "<td class=\"empty\"></td>");
        return;
    }
    open_cell(page, label);
    markup_text(page, text);
    markup_add(page, "</td>");
}

/* The share of the limit, and the quantity beneath it. */
static void add_margin(Page *page, const char *label, Text share, Text absolute) {
    if (share.length == 0) {
        add_cell(page, label, absolute);
        return;
    }
    open_cell(page, label);
    markup_text(page, share);
    if (!text_equal(share, absolute)) markup_element(page, "span class=\"title\"", absolute);
    markup_add(page, "</td>");
}

static void add_margins(Page *page, const Finding *finding) {
    add_margin(page, "Margin", finding->margin, finding->margin_absolute);
    if (has_worst(page)) add_margin(page, "Worst margin", finding->worst_margin, finding->worst_margin_absolute);
}

/* ---- findings in a table: trouble first of all, and the rules ---- */

static void open_findings(Page *page, const char *column, bool sources) {
    bool worst = has_worst(page);
    markup_add(page, "<colgroup><col class=\"c12\"><col class=\"");
    markup_add(page, sources ? (worst ? "c28" : "c34") : (worst ? "c34" : "c46"));
    markup_add(page, "\"><col class=\"c12\"><col class=\"c14\">");
    markup_add(page, worst ? "<col class=\"c12\">" : "");
    markup_add(page, sources ? "<col class=\"c12\"><col></colgroup>\n" : "<col></colgroup>\n");
    markup_add(page, "<thead><tr><th scope=\"col\">Verdict</th><th scope=\"col\">");
    markup_add(page, column);
    markup_add(page, "</th><th scope=\"col\">Found</th><th scope=\"col\">Limit</th><th scope=\"col\">Margin</th>");
    if (worst) markup_add(page, "<th scope=\"col\">Worst margin</th>");
    if (sources) markup_add(page, "<th scope=\"col\">Whose rule</th>");
    markup_add(page, "</tr></thead>\n<tbody>\n");
}

static void add_finding_row(Page *page, const Finding *finding, Text of, bool home, bool sources) {
    markup_add(page, "<tr class=\"");
    markup_add(page, markup_verdict_class(finding));
    markup_add(page, "\"");
    if (home) markup_id(page, finding->anchor);
    markup_add(page, "><td>");
    markup_verdict(page, finding);
    markup_add(page, "</td><th scope=\"row\">");
    if (home) markup_text(page, outline_tail(finding->id, of));
    else markup_link(page, finding->anchor, finding->id);
    markup_element(page, "span class=\"title\"", finding->text);
    if (finding->verdict != VERDICT_MET) {
        markup_add(page, "<div class=\"case\">");
        page_case(page, finding);
        markup_add(page, "</div>");
    }
    if (home) page_account(page, finding->account, TEXT("with numbers"));
    if (home && finding->because.length > 0) {
        markup_add(page, "<div class=\"case\"><p>Because: ");
        markup_text(page, finding->because);
        markup_add(page, "</p></div>");
    }
    markup_add(page, "</th>");
    if (finding->found.length > 0) {
        open_cell(page, "Found");
        markup_text(page, finding->found);
        if (finding->verdict == VERDICT_MET) markup_element(page, "small", finding->instant);
        markup_add(page, "</td>");
    } else {
        add_cell(page, "Found", (Text){0});
    }
    add_cell(page, "Limit", finding->limit);
    add_margins(page, finding);
    if (sources) add_cell(page, "Whose rule", finding->cites);
    markup_add(page, "</tr>\n");
}

void page_attention(Page *page) {
    IndexVector first = wording_attention(page->arena, page->outline->result);
    if (first.count == 0) return;
    open_part(page, "first", "To be looked at first");
    markup_add(page, "<table class=\"findings\"><caption>What is not met, at risk or open</caption>\n");
    open_findings(page, "Requirement or rule", false);
    for (uint32_t i = 0; i < first.count; i++)
        add_finding_row(page, &page->outline->result->findings.at[first.at[i]], (Text){0}, false, false);
    markup_add(page, "</tbody></table>\n");
    close_part(page);
}

static void add_group(Page *page, const Group *group) {
    const Outline *outline = page->outline;
    TextBuilder anchor = text_builder(page->arena);
    text_add_string(&anchor, "rules:");
    text_add(&anchor, group->path);
    markup_add(page, "<table class=\"findings\"");
    markup_id(page, text_built(&anchor));
    markup_add(page, "><caption><b>");
    markup_name(page, group->path);
    markup_add(page, "</b>");
    if (group->thing != OUTLINE_NONE) {
        const Thing *thing = &outline->result->things.at[group->thing];
        markup_add(page, " ");
        markup_text(page, thing->form);
        if (thing->title.length > 0) {
            markup_add(page, ": ");
            markup_text(page, thing->title);
        }
    }
    markup_add(page, "</caption>\n");
    open_findings(page, "Rule", true);
    for (uint32_t k = 0; k < group->count; k++)
        add_finding_row(page, &outline->result->findings.at[outline->ordered.at[group->first + k]], group->path, true, true);
    markup_add(page, "</tbody></table>\n");
}

void page_rules(Page *page) {
    const GroupVector *groups = &page->outline->groups_list;
    if (groups->count == 0) return;
    open_part(page, "rules", "Rules and agreements by thing");
    for (uint32_t g = 0; g < groups->count; g++) add_group(page, &groups->at[g]);
    close_part(page);
}

/* ---- clauses and requirements ---- */

static void add_refinement(Page *page, const Finding *finding) {
    if (finding->refined_by.count == 0) return;
    markup_add(page, "<span class=\"title\">Refined by ");
    markup_names(page, &finding->refined_by);
    markup_add(page, "</span>");
}

/* Everything of a requirement behind its clause's cell; `finding` may be NULL for an id that nothing has. */
static void add_traced(Page *page, Text id, const Finding *finding) {
    markup_add(page, "<td data-label=\"Requirement\"");
    markup_id(page, id); /* when it stands in no document */
    markup_add(page, ">");
    markup_name(page, id);
    if (finding == NULL) {
        markup_add(page, "</td>");
        for (int i = has_worst(page) ? 0 : 1; i < 5; i++) markup_add(page, "<td class=\"empty\"></td>");
        return;
    }
    markup_element(page, "span class=\"title\"", finding->text);
    if (finding->because.length > 0) {
        markup_add(page, "<span class=\"title\">Because: ");
        markup_text(page, finding->because);
        markup_add(page, "</span>");
    }
    add_refinement(page, finding);
    markup_add(page, "</td><td data-label=\"Verdict\">");
    markup_verdict(page, finding);
    markup_element(page, "span class=\"title\"", wording_figures(page->arena, finding));
    markup_add(page, "</td>");
    add_margins(page, finding);
    markup_add(page, finding->decides.count + finding->parts.count > 0 ? "<td data-label=\"Decided by\">" : "<td class=\"empty\">");
    markup_names(page, &finding->decides);
    if (finding->parts.count > 0) {
        markup_add(page, "<span class=\"title\">in ");
        markup_names(page, &finding->parts);
        markup_add(page, "</span>");
    }
    markup_add(page, finding->method.length + finding->evidence.length > 0 ? "</td><td data-label=\"Method\">"
                                                                             : "</td><td class=\"empty\">");
    markup_text(page, finding->method);
    markup_element(page, "span class=\"title\"", finding->evidence);
    markup_element(page, "span class=\"title\"", finding->reading);
    markup_element(page, "span class=\"title digest\"", finding->digest);
    markup_add(page, "</td>");
}

static void open_clause(Page *page, const Clause *clause, uint32_t rows) {
    TextBuilder id = text_builder(page->arena);
    text_add(&id, clause->source);
    text_add(&id, clause->id);
    markup_add(page, outline_gap(clause) ? "<tbody class=\"gap\"><tr><th scope=\"rowgroup\"" : "<tbody><tr><th scope=\"rowgroup\"");
    if (rows > 1) {
        markup_add(page, " rowspan=\"");
        text_add_count(page->out, rows);
        markup_add(page, "\"");
    }
    markup_id(page, text_built(&id));
    markup_add(page, ">");
    markup_text(page, clause->source);
    markup_add(page, " ");
    markup_text(page, clause->id);
    markup_element(page, "span class=\"title\"", clause->text);
    markup_add(page, "</th>");
}

static void add_clause(Page *page, const Clause *clause) {
    const Outline *outline = page->outline;
    open_clause(page, clause, clause->requirements.count);
    for (uint32_t i = 0; i < clause->requirements.count; i++) {
        uint32_t index = outline_finding(outline, clause->requirements.at[i]);
        if (i > 0) markup_add(page, "<tr>");
        add_traced(page, clause->requirements.at[i],
                   index == OUTLINE_NONE ? NULL : &outline->result->findings.at[index]);
        markup_add(page, "</tr>\n");
    }
    if (clause->requirements.count == 0) {
        markup_add(page, has_worst(page) ? "<td colspan=\"6\">" : "<td colspan=\"5\">");
        if (clause->left_out.length > 0) {
            markup_add(page, "Left out: ");
            markup_text(page, clause->left_out);
        } else {
            markup_add(page, clause->demanded ? "<b>Not covered</b>" : "Not covered, and not demanded here");
        }
        markup_add(page, "</td></tr>\n");
    }
    markup_add(page, "</tbody>\n");
}

static void add_unsourced(Page *page) {
    const FindingVector *findings = &page->outline->result->findings;
    for (uint32_t i = 0; i < findings->count; i++) {
        const Finding *finding = &findings->at[i];
        if (finding->kind != FINDING_REQUIREMENT || finding->clauses.count > 0) continue;
        markup_add(page, outline_unsourced(finding) ? "<tbody class=\"gap\"><tr>" : "<tbody><tr>");
        if (finding->refines.length > 0) {
            markup_add(page, "<th scope=\"row\">Part of ");
            markup_name(page, finding->refines);
            markup_add(page, "</th>");
        } else {
            markup_add(page, "<th scope=\"row\">No clause<span class=\"title\">");
            if (finding->unsourced.length > 0) markup_text(page, finding->unsourced);
            else markup_add(page, "and no reason given");
            markup_add(page, "</span></th>");
        }
        add_traced(page, finding->id, finding);
        markup_add(page, "</tr></tbody>\n");
    }
}

void page_matrix(Page *page) {
    const Result *result = page->outline->result;
    open_part(page, "trace", "Clauses and requirements");
    markup_add(page, "<table class=\"matrix\"><caption>From each clause to what shows it");
    for (uint32_t i = 0; i < result->clauses.count; i++) {
        const Clause *clause = &result->clauses.at[i];
        if (clause->source_title.length == 0) continue;
        if (i > 0 && text_equal(clause->source, result->clauses.at[i - 1].source)) continue;
        markup_add(page, ". ");
        markup_text(page, clause->source);
        markup_add(page, ": ");
        markup_text(page, clause->source_title);
    }
    markup_add(page, has_worst(page) ? "</caption>\n<colgroup><col class=\"c20\"><col class=\"c22\"><col class=\"c14\"><col class=\"c9\">"
                                       "<col class=\"c9\"><col class=\"c14\"><col></colgroup>\n"
                                     : "</caption>\n<colgroup><col class=\"c20\"><col class=\"c22\"><col class=\"c14\"><col class=\"c12\">"
                                       "<col class=\"c20\"><col></colgroup>\n");
    markup_add(page, "<thead><tr><th scope=\"col\">Clause</th><th scope=\"col\">Requirement</th><th scope=\"col\">Verdict</th>"
                     "<th scope=\"col\">Margin</th>");
    markup_add(page, has_worst(page) ? "<th scope=\"col\">Worst margin</th>" : "");
    markup_add(page, "<th scope=\"col\">Decided by</th><th scope=\"col\">Method</th></tr></thead>\n");
    for (uint32_t i = 0; i < result->clauses.count; i++) add_clause(page, &result->clauses.at[i]);
    add_unsourced(page);
    markup_add(page, "</table>\n");
    close_part(page);
}

void page_coverage(Page *page) {
    const Result *result = page->outline->result;
    TextVector gaps = wording_gaps(page->arena, result);
    open_part(page, "coverage", "What is not covered, and what is left out");
    if (gaps.count > 0) markup_add(page, "<ul class=\"gap\">\n");
    for (uint32_t i = 0; i < gaps.count; i++) markup_element(page, "li", gaps.at[i]);
    markup_add(page, gaps.count > 0               ? "</ul>\n"
                     : result->clauses.count > 0 ? "<p>Every clause is covered or left out with a reason.</p>\n"
                                                 : "<p>No source document is stated.</p>\n");
    bool any = false;
    for (uint32_t i = 0; i < result->clauses.count; i++) {
        const Clause *clause = &result->clauses.at[i];
        if (clause->left_out.length == 0) continue;
        markup_add(page, any ? "" : "<dl>\n");
        any = true;
        markup_add(page, "<dt>");
        markup_text(page, clause->source);
        markup_add(page, " ");
        markup_text(page, clause->id);
        markup_element(page, "span class=\"title\"", clause->text);
        markup_add(page, "</dt><dd>Left out: ");
        markup_text(page, clause->left_out);
        markup_add(page, "</dd>\n");
    }
    markup_add(page, any ? "</dl>\n" : "");
    close_part(page);
}

/* ---- values of libraries, cautions, limits, messages ---- */

static void add_library_row(Page *page, const Value *value, Text of) {
    markup_add(page, "<tr");
    markup_id(page, value->path);
    markup_add(page, "><th scope=\"row\">");
    markup_text(page, outline_tail(value->path, of));
    markup_element(page, "small", value->title);
    markup_add(page, value->unknown ? "</th><td class=\"unknown\">" : "</th><td>");
    markup_text(page, value->shown);
    if (value->is_signal) markup_add(page, " <small>over time</small>");
    markup_add(page, "</td><td>");
    page_origin(page, value);
    markup_add(page, "</td></tr>\n");
}

static Text thing_path(const Outline *outline, uint32_t value) {
    uint32_t thing = outline->value_thing[value];
    if (thing != OUTLINE_NONE) return outline->result->things.at[thing].path;
    return outline_parent(outline->result->values.at[value].path);
}

void page_libraries(Page *page) {
    const Outline *outline = page->outline;
    const IndexVector *values = &outline->elsewhere;
    if (values->count == 0) return;
    open_part(page, "libraries", "Values from libraries");
    for (uint32_t i = 0; i < values->count;) {
        Text of = thing_path(outline, values->at[i]);
        uint32_t end = i;
        while (end < values->count && text_equal(thing_path(outline, values->at[end]), of)) end++;
        markup_add(page, "<details");
        markup_id(page, of);
        markup_add(page, "><summary>");
        markup_text(page, of.length > 0 ? of : TEXT("Others"));
        markup_add(page, ", ");
        markup_text(page, wording_count(page->arena, end - i, "value", "values"));
        markup_add(page, "</summary>\n<table class=\"values\"><caption>Values of ");
        markup_text(page, of.length > 0 ? of : TEXT("others"));
        markup_add(page, "</caption><thead><tr><th scope=\"col\">Value</th><th scope=\"col\">Stated or found</th>"
                         "<th scope=\"col\">Follows from</th></tr></thead><tbody>\n");
        for (; i < end; i++) add_library_row(page, &outline->result->values.at[values->at[i]], of);
        markup_add(page, "</tbody></table></details>\n");
    }
    close_part(page);
}

/* A thing of a library may have no value to show; a link to it then leads to where it would be. */
void page_things(Page *page) {
    const Result *result = page->outline->result;
    for (uint32_t i = 0; i < result->things.count; i++) {
        if (markup_has_id(page, result->things.at[i].path)) continue;
        markup_add(page, "<span");
        markup_id(page, result->things.at[i].path);
        markup_add(page, "></span>\n");
    }
}

void page_cautions(Page *page) {
    const Result *result = page->outline->result;
    if (result->cautions.count == 0) return;
    open_part(page, "cautions", "Cautions");
    markup_add(page, "<dl class=\"cautions\">\n");
    for (uint32_t i = 0; i < result->cautions.count; i++) {
        const Caution *caution = &result->cautions.at[i];
        markup_add(page, "<dt>");
        markup_text(page, caution->id);
        markup_add(page, "</dt><dd>");
        markup_text(page, caution->text);
        if (caution->cites.length > 0) markup_add(page, " ");
        markup_element(page, "cite", caution->cites);
        markup_add(page, "</dd>\n");
    }
    markup_add(page, "</dl>\n");
    close_part(page);
}

void page_limits(Page *page) {
    TextVector limits = wording_limits(page->arena, page->outline->result);
    open_part(page, "limits", "What the calculation does not cover");
    for (uint32_t i = 0; i < limits.count; i++) {
        markup_element(page, "p", limits.at[i]);
        markup_add(page, "\n");
    }
    close_part(page);
}

void page_messages(Page *page) {
    const Messages *messages = page->outline->result->messages;
    if (messages == NULL || messages->list.count == 0) return;
    open_part(page, "messages", "Messages");
    Text all = messages_render(page->arena, messages);
    markup_add(page, "<pre class=\"messages\">");
    for (size_t at = 0; at < all.length;) {
        size_t end = at;
        while (end < all.length && all.at[end] != '\n') end++;
        markup_text(page, text_slice(all, at, end));
        markup_add(page, "\n");
        at = end + 1;
    }
    markup_add(page, "</pre>\n");
    close_part(page);
}
