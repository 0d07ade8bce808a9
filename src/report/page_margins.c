/* What brings the margins down, and what was allowed to fall short. */
#include "report/page.h"
#include "report/wording.h"

static void open_part(Page *page, const char *id, const char *title) {
    markup_add(page, "<section class=\"part\" aria-labelledby=\"part:");
    markup_add(page, id);
    markup_add(page, "\">\n<h2 id=\"part:");
    markup_add(page, id);
    markup_add(page, "\">");
    markup_add(page, title);
    markup_add(page, "</h2>\n");
}

static void add_cell(Page *page, const char *label, Text text) {
    if (text.length == 0) {
        markup_add(page, "<td class=\"empty\"></td>");
        return;
    }
    markup_add(page, "<td data-label=\"");
    markup_add(page, label);
    markup_add(page, "\">");
    markup_text(page, text);
    markup_add(page, "</td>");
}

/* ---- what eats the margin ---- */

static void add_line(Page *page, const char *before, Text text) {
    if (text.length == 0) return;
    markup_add(page, "<span class=\"title\">");
    markup_add(page, before);
    markup_text(page, text);
    markup_add(page, "</span>");
}

/* The finding's own cell, beside all rows of its inputs. */
static void add_head(Page *page, const Finding *finding) {
    markup_add(page, "<th scope=\"rowgroup\"");
    if (finding->eaters.count > 1) {
        markup_add(page, " rowspan=\"");
        text_add_count(page->out, finding->eaters.count);
        markup_add(page, "\"");
    }
    markup_add(page, ">");
    markup_link(page, finding->anchor, finding->id);
    markup_add(page, " ");
    markup_verdict(page, finding);
    add_line(page, "", finding->text);
    add_line(page, "Nominal margin ", wording_margin(page->arena, finding));
    add_line(page, "", wording_capital(page->arena, wording_worst(page->arena, finding)));
    add_line(page, "By ", wording_likely(page->arena, finding));
    markup_add(page, "</th>");
}

static void add_eater(Page *page, const Eater *eater) {
    markup_add(page, "<td data-label=\"Input\">");
    markup_name(page, eater->path);
    markup_add(page, "</td>");
    add_cell(page, "Share of the loss", eater->share);
    add_cell(page, "Nominal", eater->nominal);
    markup_add(page, "<td data-label=\"In the worst case\">");
    markup_text(page, eater->worst);
    if (eater->inside) markup_add(page, " <small>between its bounds</small>");
    markup_add(page, "</td>");
    add_cell(page, "The verdict turns at", eater->turning);
}

void page_margins(Page *page) {
    const Result *result = page->outline->result;
    if (result->bounded == 0) return;
    open_part(page, "margins", "What eats the margin");
    markup_add(page, "<p>For every requirement that rests on values with bounds, and for every rule that they leave with less than a tenth of its "
                     "limit: what leads from the nominal margin to the worst. The worst case was found and then computed; the turning "
                     "point is where the verdict would change if this input alone were moved from its nominal value.</p>\n"
                     "<table class=\"matrix eaters\"><caption>Inputs by their share of the loss</caption>\n"
                     "<colgroup><col class=\"c34\"><col class=\"c22\"><col class=\"c9\"><col class=\"c12\"><col class=\"c12\"><col></colgroup>\n"
                     "<thead><tr><th scope=\"col\">Requirement or rule</th><th scope=\"col\">Input</th><th scope=\"col\">Share of the loss</th>"
                     "<th scope=\"col\">Nominal</th><th scope=\"col\">In the worst case</th><th scope=\"col\">The verdict turns at</th></tr></thead>\n");
    for (uint32_t i = 0; i < result->findings.count; i++) {
        const Finding *finding = &result->findings.at[i];
        if (!wording_is_listed(finding)) continue;
        markup_add(page, "<tbody>");
        for (uint32_t k = 0; k < finding->eaters.count; k++) {
            markup_add(page, "<tr>");
            if (k == 0) add_head(page, finding);
            add_eater(page, &finding->eaters.at[k]);
            markup_add(page, "</tr>\n");
        }
        markup_add(page, "</tbody>\n");
    }
    markup_add(page, "</table>\n</section>\n");
}

/* ---- concessions ---- */

static void add_concession(Page *page, const Concession *concession) {
    markup_add(page, concession->lapsed ? "<tbody class=\"gap\"><tr><th scope=\"row\"" : "<tbody><tr><th scope=\"row\"");
    markup_id(page, concession->id);
    markup_add(page, ">");
    markup_text(page, concession->id);
    add_line(page, "", concession->text);
    markup_add(page, "</th><td data-label=\"Covers\">");
    markup_names(page, &concession->covers);
    if (concession->needless) markup_add(page, " <b>needless for some of it</b>");
    markup_add(page, "</td>");
    add_cell(page, "Given by", concession->by);
    add_cell(page, "Because", concession->because);
    markup_add(page, "<td data-label=\"Until\">");
    markup_text(page, concession->until);
    if (concession->lapsed) markup_add(page, " <b>lapsed</b>");
    markup_add(page, "</td></tr></tbody>\n");
}

void page_concessions(Page *page) {
    const Result *result = page->outline->result;
    if (result->concessions.count == 0) return;
    open_part(page, "concessions", "Concessions");
    markup_add(page, "<table class=\"matrix\"><caption>What may fall short, by whom, and until when; judged on ");
    markup_text(page, result->judged_on);
    markup_add(page, "</caption>\n<colgroup><col class=\"c20\"><col class=\"c14\"><col class=\"c20\"><col class=\"c34\"><col></colgroup>\n"
                     "<thead><tr><th scope=\"col\">Concession</th><th scope=\"col\">Covers</th><th scope=\"col\">Given by</th>"
                     "<th scope=\"col\">Because</th><th scope=\"col\">Until</th></tr></thead>\n");
    for (uint32_t i = 0; i < result->concessions.count; i++) add_concession(page, &result->concessions.at[i]);
    markup_add(page, "</table>\n</section>\n");
}
