/* The annotated document as one HTML file: a title block, what to look at first, the author's documents, tables. */
#include "report/page.h"

#include "report/report.h"
#include "report/wording.h"
#include "text/prose.h"

typedef VECTOR(ProseHeading) HeadingVector;

static Text set_program(void *context, const Source *source, uint32_t block) {
    Page *page = context;
    TextBuilder html = text_builder(page->arena), *before = page->out;
    page->out = &html;
    page_program(page, source, block);
    page->out = before;
    return text_built(&html);
}

/* The named files, in order. Their headings go into `headings`. */
static void add_documents(Page *page, HeadingVector *headings) {
    const Sources *sources = page->outline->result->sources;
    for (uint32_t i = 0; sources != NULL && i < sources->list.count; i++) {
        const Source *source = sources->list.at[i];
        if (source->origin != SOURCE_NAMED) continue;
        TextBuilder prefix = text_builder(page->arena);
        text_add_count(&prefix, i + 1);
        text_add_char(&prefix, ':');
        markup_add(page, "<article class=\"document\" aria-label=\"");
        markup_text(page, source->path);
        markup_add(page, "\">\n<p class=\"file\"");
        markup_id(page, text_built(&prefix));
        markup_add(page, ">");
        markup_text(page, source->path);
        markup_add(page, "</p>\n");
        VECTOR_PUSH(page->arena, headings, (ProseHeading){.level = 0, .text = source->path, .anchor = text_built(&prefix)});
        if (source->literate) {
            Prose prose = prose_render(page->arena, source, text_built(&prefix), set_program, page);
            text_add(page->out, prose.html);
            for (uint32_t h = 0; h < prose.headings.count; h++)
                VECTOR_PUSH(page->arena, headings, prose.headings.at[h]);
        } else {
            for (uint32_t b = 0; b < source->blocks.count; b++) page_program(page, source, b);
        }
        markup_add(page, "</article>\n");
    }
}

static void add_fact(Page *page, const char *term, Text text) {
    if (text.length == 0) return;
    markup_add(page, "<div><dt>");
    markup_add(page, term);
    markup_add(page, "</dt><dd>");
    markup_text(page, text);
    markup_add(page, "</dd></div>\n");
}

/* "12: 10 met, 2 open" of the requirements, or of the rules and agreements; advice is counted apart. */
static Text tally_of(Page *page, bool requirements) {
    const FindingVector *findings = &page->outline->result->findings;
    uint32_t by_verdict[VERDICT_COUNT] = {0}, count = 0;
    for (uint32_t i = 0; i < findings->count; i++) {
        const Finding *finding = &findings->at[i];
        if (finding->advice || finding->verdict >= VERDICT_COUNT) continue;
        if ((finding->kind == FINDING_REQUIREMENT) != requirements) continue;
        by_verdict[finding->verdict]++;
        count++;
    }
    if (count == 0) return (Text){0};
    TextBuilder out = text_builder(page->arena);
    text_add_count(&out, count);
    return wording_tallied(page->arena, text_built(&out), count, by_verdict);
}

/* "6, all followed" or "6: 1 not followed" of what is only recommended. */
static Text advice_of(Page *page) {
    const FindingVector *findings = &page->outline->result->findings;
    uint32_t count = 0, not_met = 0;
    for (uint32_t i = 0; i < findings->count; i++) {
        if (!findings->at[i].advice) continue;
        count++;
        if (findings->at[i].verdict != VERDICT_MET) not_met++;
    }
    if (count == 0) return (Text){0};
    TextBuilder out = text_builder(page->arena);
    text_add_count(&out, count);
    if (not_met == 0) {
        text_add_string(&out, count == 1 ? ", followed" : ", all followed");
    } else {
        text_add_string(&out, ": ");
        text_add_count(&out, not_met);
        text_add_string(&out, " not followed");
    }
    return text_built(&out);
}

static Text clauses_of(Page *page) {
    const Result *result = page->outline->result;
    uint32_t covered = 0, left_out = 0, gaps = 0;
    for (uint32_t i = 0; i < result->clauses.count; i++) {
        if (result->clauses.at[i].requirements.count > 0) covered++;
        else if (result->clauses.at[i].left_out.length > 0) left_out++;
        else gaps++;
    }
    if (result->clauses.count == 0) return (Text){0};
    TextBuilder out = text_builder(page->arena);
    text_add_count(&out, result->clauses.count);
    text_add_string(&out, ": ");
    text_add_count(&out, covered);
    text_add_string(&out, " covered");
    if (left_out > 0) {
        text_add_string(&out, ", ");
        text_add_count(&out, left_out);
        text_add_string(&out, " left out");
    }
    if (gaps > 0) {
        text_add_string(&out, ", ");
        text_add_count(&out, gaps);
        text_add_string(&out, " not covered");
    }
    return text_built(&out);
}

static void add_title_block(Page *page) {
    const Result *result = page->outline->result;
    const Finding *closest = wording_closest(result);
    markup_add(page, "<header class=\"sheet\">\n<p class=\"kind\">Axis specification with its calculation</p>\n");
    markup_element(page, "p class=\"name\"", wording_title(page->arena, result));
    markup_add(page, "<dl>\n");
    add_fact(page, "Requirements", tally_of(page, true));
    add_fact(page, "Rules and agreements", tally_of(page, false));
    add_fact(page, "Recommendations", advice_of(page));
    if (closest != NULL) {
        markup_add(page, result->bounded > 0 ? "<div><dt>Smallest worst margin</dt><dd>" : "<div><dt>Smallest margin</dt><dd>");
        markup_text(page, closest->bounded_inputs > 0 ? wording_worst_margin(page->arena, closest) : wording_margin(page->arena, closest));
        markup_add(page, ", ");
        markup_link(page, closest->anchor, closest->id);
        markup_add(page, "</dd></div>\n");
    }
    add_fact(page, "Clauses", clauses_of(page));
    if (result->concessions.count > 0) {
        markup_add(page, "<div><dt>Concessions</dt><dd><a href=\"#part:concessions\">");
        text_add_count(page->out, result->concessions.count);
        markup_add(page, ", judged on ");
        markup_text(page, result->judged_on);
        markup_add(page, "</a></dd></div>\n");
    }
    if (result->cautions.count > 0) {
        markup_add(page, "<div><dt>Cautions</dt><dd><a href=\"#part:cautions\">");
        markup_text(page, wording_count(page->arena, result->cautions.count, "applies", "apply"));
        markup_add(page, "</a></dd></div>\n");
    }
    if (result->messages != NULL && result->messages->errors > 0) {
        markup_add(page, "<div><dt>Messages</dt><dd><a href=\"#part:messages\">");
        markup_text(page, wording_count(page->arena, result->messages->errors, "error", "errors"));
        markup_add(page, "</a></dd></div>\n");
    }
    markup_add(page, "</dl>\n");
    markup_element(page, "p class=\"sum\"", wording_sum(page->arena, result));
    markup_add(page, "<p class=\"limit\">A verdict of this program is not a safety validation: see "
                     "<a href=\"#part:limits\">what the calculation does not cover</a>.</p>\n</header>\n");
}

static void add_content_link(Page *page, bool present, const char *id, const char *title) {
    if (!present) return;
    markup_add(page, "<li><a href=\"#part:");
    markup_add(page, id);
    markup_add(page, "\">");
    markup_add(page, title);
    markup_add(page, "</a></li>\n");
}

static void add_contents(Page *page, const HeadingVector *headings) {
    const Result *result = page->outline->result;
    markup_add(page, "<nav aria-label=\"Contents\"><ul>\n");
    for (uint32_t i = 0; i < headings->count; i++) {
        const ProseHeading *heading = &headings->at[i];
        bool titled = i + 1 < headings->count && headings->at[i + 1].level == 1; /* then the title stands for the file */
        if (heading->level > 2 || (heading->level == 0 && titled)) continue;
        markup_add(page, heading->level == 2 ? "<li class=\"inner\">" : "<li>");
        markup_link(page, heading->anchor, heading->text);
        markup_add(page, "</li>\n");
    }
    add_content_link(page, true, "trace", "Clauses and requirements");
    add_content_link(page, result->bounded > 0, "margins", "What eats the margin");
    add_content_link(page, result->concessions.count > 0, "concessions", "Concessions");
    add_content_link(page, true, "coverage", "What is not covered, and what is left out");
    add_content_link(page, page->outline->groups_list.count > 0, "rules", "Rules and agreements by thing");
    add_content_link(page, page->outline->elsewhere.count > 0, "libraries", "Values from libraries");
    add_content_link(page, result->cautions.count > 0, "cautions", "Cautions");
    add_content_link(page, true, "limits", "What the calculation does not cover");
    add_content_link(page, result->messages != NULL && result->messages->list.count > 0, "messages", "Messages");
    markup_add(page, "</ul></nav>\n");
}

static void add_head(Page *page) {
    markup_add(page, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                     "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                     "<meta name=\"color-scheme\" content=\"light dark\">\n<title>");
    markup_text(page, wording_title(page->arena, page->outline->result));
    markup_add(page, "</title>\n<style>\n");
    for (size_t i = 0; PAGE_STYLE[i] != NULL; i++) markup_add(page, PAGE_STYLE[i]);
    markup_add(page, "</style>\n</head>\n<body>\n");
}

Text report_html(Arena *arena, const Result *result) {
    TextBuilder out = text_builder(arena), documents = text_builder(arena);
    Page page = {.arena = arena, .outline = outline_of(arena, result), .out = &documents, .used = symbols_open(arena)};
    HeadingVector headings = {0};
    add_documents(&page, &headings); /* first: the ids of values belong where the author wrote them */
    page.out = &out;
    add_head(&page);
    add_title_block(&page);
    markup_add(&page, "<main>\n");
    page_attention(&page);
    add_contents(&page, &headings);
    text_add(&out, text_built(&documents));
    page_matrix(&page);
    page_margins(&page);
    page_concessions(&page);
    page_coverage(&page);
    page_rules(&page);
    page_libraries(&page);
    page_things(&page);
    page_cautions(&page);
    page_limits(&page);
    page_messages(&page);
    markup_add(&page, "</main>\n</body>\n</html>\n");
    return text_built(&out);
}
