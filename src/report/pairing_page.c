/* Pairings as a page: a table a pairing, whose cells open to their reasons. */
#include "report/page.h"
#include "report/pairing.h"
#include "report/wording.h"

/* What the sheet's own style lacks. An open cell lays its reasons over the rows beneath it, as wide as the table's part of the
 * page, so that a narrow column does not squeeze them; only one of a table is open at a time. */
static const char STYLE[] =
    ".pairs-part{position:relative}\n"
    ".scroll{overflow-x:auto;padding-bottom:.4rem}\n"
    ".pairs{border-collapse:collapse;font:.88rem/1.3 var(--sans)}\n"
    ".pairs :is(th,td){padding:.18rem .45rem;border-bottom:1px solid var(--line);text-align:center;font-weight:400;white-space:nowrap}\n"
    ".pairs th[scope=row]{position:sticky;left:0;z-index:1;background:var(--paper);text-align:left;padding-left:0;font-weight:600}\n"
    ".pairs thead th{vertical-align:bottom;border-bottom:1px solid var(--strong)}\n"
    ".pairs thead span{writing-mode:vertical-rl;transform:rotate(180deg);display:inline-block}\n"
    ".pairs .sum{color:var(--soft);font-variant-numeric:tabular-nums}\n"
    ".pairs tbody td:first-of-type,.pairs :is(thead,tfoot) :is(th,td):nth-child(2){padding-left:.8rem}\n"
    ".pairs .edge{border-left:1px solid var(--strong)}\n"
    ".pairs tfoot tr:first-child>*{border-top:2px solid var(--strong)}\n"
    ".pairs tfoot th{color:var(--soft);font-weight:400!important}\n"
    ".pairs details{font-size:inherit;text-align:center}\n"
    ".pairs summary{list-style:none;width:auto;text-underline-offset:.25em}\n"
    ".pairs summary::-webkit-details-marker{display:none}\n"
    ".mark.yes{color:var(--found);font-weight:700}\n"
    ".mark.but{color:var(--found);font-style:italic;text-decoration:underline dashed 1px}\n"
    ".mark.no{color:var(--soft)}\n"
    ".mark.open{color:var(--look);font-weight:600;text-decoration:underline dotted 2px}\n"
    ".pairs details[open]>summary{outline:1.5px solid var(--ink);outline-offset:2px}\n"
    ".pairs .reasons{position:absolute;left:0;right:0;z-index:2;margin-top:.45rem;max-width:46rem;padding:.6rem .9rem;"
    "background:var(--paper);border:1.5px solid var(--ink);text-align:left;white-space:normal;font-size:.92rem;line-height:1.45}\n"
    ".reasons p{margin:.1rem 0 .4rem}.reasons ul{margin:.2rem 0;padding-left:1.1rem}.reasons li{margin:.3rem 0}\n"
    ".reasons .fails{color:var(--look);font-weight:600}.reasons .figures{color:var(--found);font-weight:600}\n"
    ".legend .mark{display:inline-block;min-width:2rem}\n"
    "@media screen and (max-width:46rem){.pairs :is(th,td){padding:.25rem .35rem}.pairs .reasons{padding:.5rem .7rem}}\n"
    "@media print{.pairs details::details-content{content-visibility:hidden;display:none}.scroll{overflow:visible}}\n";

static const char *mark_class(PairVerdict verdict) {
    static const char *const classes[] = {"yes", "but", "no", "open", ""};
    return classes[verdict];
}

static void add_count(Page *page, uint32_t count) { text_add_count(page->out, count); }

/* ---- one cell ----------------------------------------------------------------------------------------------------- */

static void add_reason(Page *page, const PairTable *table, const PairReason *reason) {
    const PairRule *rule = &table->rules.at[reason->rule];
    Text figures = pairing_figures(page->arena, reason);
    markup_add(page, "<li><span class=\"");
    markup_add(page, reason->state == REASON_FAILS && !rule->advice && !rule->caution ? "fails" : "remark");
    markup_add(page, "\">");
    markup_text(page, wording_capital(page->arena, pairing_reason_word(table, reason)));
    markup_add(page, ":</span> ");
    markup_text(page, rule->text);
    markup_add(page, " <small>");
    markup_text(page, rule->name);
    markup_add(page, "</small><br>\n");
    if (figures.length > 0) markup_element(page, "span class=\"figures\"", figures);
    else if (rule->condition.length > 0) markup_element(page, "code", rule->condition);
    if (reason->state == REASON_FAILS && rule->because.length > 0) {
        markup_add(page, figures.length > 0 ? ". " : " ");
        markup_text(page, rule->because);
    }
    markup_add(page, " <cite>");
    markup_text(page, rule->cites);
    markup_add(page, "</cite></li>\n");
}

/* `whole`: what holds too. */
static void add_reasons(Page *page, const PairTable *table, const Pair *pair, const PairCard *row, const PairCard *column, bool whole) {
    markup_add(page, "<div class=\"reasons\"><p><b>");
    markup_text(page, row->name);
    markup_add(page, " with ");
    markup_text(page, column->name);
    markup_add(page, "</b>: ");
    markup_text(page, pair_verdict_words((PairVerdict)pair->verdict));
    markup_add(page, ". ");
    markup_text(page, wording_count(page->arena, pair->rules, "rule applies", "rules apply"));
    if (pair->margin.length > 0) {
        markup_add(page, "; of those that hold, the smallest margin is ");
        markup_text(page, pair->margin);
        markup_add(page, " (");
        markup_text(page, table->rules.at[pair->margin_rule].name);
        markup_add(page, ")");
    }
    markup_add(page, ".</p>\n");
    bool any = false;
    for (uint32_t i = 0; i < pair->reasons.count; i++) {
        if (!whole && pair->reasons.at[i].state == REASON_HOLDS) continue;
        if (!any) markup_add(page, "<ul>\n");
        any = true;
        add_reason(page, table, &pair->reasons.at[i]);
    }
    markup_add(page, any ? "</ul></div>" : "</div>");
}

static void add_cell(Page *page, const PairTable *table, uint32_t number, uint32_t row, uint32_t column, bool whole) {
    const Pair *pair = pairing_at(table, row, column);
    if (pair->verdict == PAIR_LEFT_OUT) {
        markup_add(page, "<td></td>");
        return;
    }
    markup_add(page, "<td><details name=\"pairs-");
    add_count(page, number);
    markup_add(page, whole ? "\" open><summary class=\"mark " : "\"><summary class=\"mark ");
    markup_add(page, mark_class((PairVerdict)pair->verdict));
    markup_add(page, "\">");
    markup_text(page, pairing_mark(pair));
    markup_add(page, "</summary>");
    add_reasons(page, table, pair, &table->rows.at[row], &table->columns.at[column], whole);
    markup_add(page, "</details></td>");
}

/* ---- one table ---------------------------------------------------------------------------------------------------- */

static void add_sum_cell(Page *page, uint32_t count, bool edge) {
    markup_add(page, edge ? "<td class=\"sum edge\">" : "<td class=\"sum\">");
    add_count(page, count);
    markup_add(page, "</td>");
}

static void add_mark(Page *page, const char *open, PairVerdict verdict, const char *close) {
    const Pair pair = {.verdict = (uint8_t)verdict};
    markup_add(page, open);
    markup_add(page, "<b class=\"mark ");
    markup_add(page, mark_class(verdict));
    markup_add(page, "\">");
    markup_text(page, pairing_mark(&pair));
    markup_add(page, "</b>");
    markup_add(page, close);
}

static void add_card_name(Page *page, const PairCard *card) {
    if (card->title.length > 0) {
        markup_add(page, " title=\"");
        markup_text(page, card->title);
        markup_add(page, "\"");
    }
    markup_add(page, ">");
}

static void add_head_row(Page *page, const PairTable *table) {
    markup_add(page, "<thead><tr><th scope=\"row\">");
    markup_text(page, table->row_field);
    markup_add(page, "</th>");
    for (uint32_t c = 0; c < table->columns.count; c++) {
        markup_add(page, "<th scope=\"col\"");
        add_card_name(page, &table->columns.at[c]);
        markup_element(page, "span", table->columns.at[c].name);
        markup_add(page, "</th>");
    }
    for (int k = 0; k < PAIR_VERDICT_COUNT; k++) add_mark(page, k == 0 ? "<th scope=\"col\" class=\"sum edge\">" : "<th scope=\"col\" class=\"sum\">", (PairVerdict)k, "</th>");
    markup_add(page, "</tr></thead>\n<tbody>\n");
}

static void add_foot(Page *page, const PairTable *table) {
    markup_add(page, "</tbody>\n<tfoot>\n");
    for (int k = 0; k < PAIR_VERDICT_COUNT; k++) {
        add_mark(page, "<tr><th scope=\"row\">", (PairVerdict)k, "</th>");
        for (uint32_t c = 0; c < table->columns.count; c++) add_sum_cell(page, table->columns.at[c].count[k], false);
        for (int i = 0; i < PAIR_VERDICT_COUNT; i++) {
            if (i == k) add_sum_cell(page, table->count[k], i == 0);
            else markup_add(page, i == 0 ? "<td class=\"edge\"></td>" : "<td></td>");
        }
        markup_add(page, "</tr>\n");
    }
    markup_add(page, "</tfoot></table></div>\n");
}

static void add_table(Page *page, const PairTable *table, uint32_t number, bool one) {
    markup_add(page, "<section class=\"part pairs-part\">\n<h2");
    markup_id(page, table->form);
    markup_add(page, ">");
    markup_text(page, table->title.length > 0 ? table->title : table->form);
    markup_add(page, " <small>");
    markup_text(page, table->form);
    markup_add(page, "</small></h2>\n<p>");
    markup_text(page, wording_capital(page->arena, pairing_sum(page->arena, table)));
    markup_add(page, ".");
    Text left = pairing_left_out(page->arena, table);
    if (left.length > 0) {
        markup_add(page, " ");
        markup_text(page, left);
        markup_add(page, ".");
    }
    markup_add(page, "</p>\n");
    if (table->rows.count > 0) {
        markup_add(page, "<div class=\"scroll\" tabindex=\"0\"><table class=\"pairs\">\n");
        add_head_row(page, table);
        for (uint32_t r = 0; r < table->rows.count; r++) {
            markup_add(page, "<tr><th scope=\"row\"");
            add_card_name(page, &table->rows.at[r]);
            markup_text(page, table->rows.at[r].name);
            markup_add(page, "</th>");
            for (uint32_t c = 0; c < table->columns.count; c++) add_cell(page, table, number, r, c, one);
            for (int k = 0; k < PAIR_VERDICT_COUNT; k++) add_sum_cell(page, table->rows.at[r].count[k], k == 0);
            markup_add(page, "</tr>\n");
        }
        add_foot(page, table);
    }
    markup_add(page, "</section>\n");
}

/* ---- the page ----------------------------------------------------------------------------------------------------- */

static void add_head(Page *page) {
    markup_add(page, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                     "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                     "<meta name=\"color-scheme\" content=\"light dark\">\n<title>Which part goes with which</title>\n<style>\n");
    for (size_t i = 0; PAGE_STYLE[i] != NULL; i++) markup_add(page, PAGE_STYLE[i]);
    markup_add(page, STYLE);
    markup_add(page, "</style>\n</head>\n<body>\n");
}

static void add_title_block(Page *page, const Pairings *pairings) {
    markup_add(page, "<header class=\"sheet\">\n<p class=\"kind\">Cards of libraries, judged in pairs</p>\n"
                     "<p class=\"name\">Which part goes with which</p>\n<dl>\n");
    for (uint32_t i = 0; i < pairings->tables.count; i++) {
        const PairTable *table = &pairings->tables.at[i];
        markup_add(page, "<div><dt>");
        markup_link(page, table->form, table->title.length > 0 ? table->title : table->form);
        markup_add(page, "</dt><dd>");
        markup_text(page, pairing_sum(page->arena, table));
        markup_add(page, "</dd></div>\n");
    }
    markup_add(page, "</dl>\n<p class=\"legend\">");
    add_mark(page, "", PAIR_WORKS, " they work together<br>");
    add_mark(page, "", PAIR_REMARK, " they do, with a remark<br>");
    add_mark(page, "", PAIR_FAILS, " they do not<br>");
    add_mark(page, "", PAIR_UNKNOWN, " a fact is missing</p>\n");
    markup_add(page, "<p class=\"limit\">Judged at nominal values, before anything moves: what a load asks of the pair is not known here. "
                     "Each cell opens to its reasons.");
    if (pairings->passed_over.count > 0) {
        markup_add(page, " Passed over, as a condition does not speak of it: ");
        markup_text(page, wording_list(page->arena, &pairings->passed_over));
        markup_add(page, ".");
    }
    markup_add(page, "</p>\n</header>\n<main>\n");
}

Text pairing_html(Arena *arena, const Pairings *pairings) {
    TextBuilder out = text_builder(arena);
    Page page = {.arena = arena, .out = &out, .used = symbols_open(arena)};
    add_head(&page);
    add_title_block(&page, pairings);
    for (uint32_t i = 0; i < pairings->tables.count; i++) add_table(&page, &pairings->tables.at[i], i + 1, pairings->one);
    markup_add(&page, "</main>\n</body>\n</html>\n");
    return text_built(&out);
}
