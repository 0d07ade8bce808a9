/* How a value came to be, folded away behind its formula; what it depends on is a link to where that stands. */
#include "report/page.h"
#include "verdict/account.h"

static void add_paragraph(Page *page, const char *label, Text text) {
    if (text.length == 0) return;
    markup_add(page, "<p>");
    markup_add(page, label);
    markup_text(page, text);
    markup_add(page, "</p>");
}

static void add_lines(Page *page, const Account *account, bool first) {
    for (uint32_t i = 0; i < account->lines.count; i++) {
        const AccountLine *line = &account->lines.at[i];
        if (i > 0 || first) {
            markup_add(page, "<p>");
            markup_text(page, line->label);
            markup_add(page, " ");
            markup_element(page, "code", line->formula);
            markup_add(page, "</p>");
        }
        if (line->numbers.length == 0) continue;
        markup_add(page, "<p>");
        markup_add(page, account->finding != NULL ? "" : "= ");
        markup_element(page, "code", line->numbers);
        markup_add(page, "</p>");
    }
}

static void add_names(Page *page, const Account *account) {
    for (uint32_t i = 0; i < account->names.count; i++) {
        const Account *name = account->names.at[i];
        markup_add(page, i == 0 ? "<ul>" : "");
        markup_add(page, "<li>");
        markup_name(page, name->path);
        markup_add(page, " = ");
        markup_text(page, name->value);
        markup_add(page, "</li>");
    }
    markup_add(page, account->names.count > 0 ? "</ul>" : "");
}

static void add_inside(Page *page, const Account *account, bool first) {
    if (account->instant.length > 0) {
        markup_add(page, "<p>");
        markup_text(page, account->extreme.length > 0 ? account->extreme : TEXT("instant"));
        markup_add(page, " ");
        markup_text(page, account->there);
        markup_add(page, account->there.length > 0 ? " " : "");
        markup_text(page, account->instant);
        markup_add(page, "</p>");
    }
    add_lines(page, account, first);
    add_paragraph(page, "bounds ", account->bounds);
    for (uint32_t i = 0; i < account->remarks.count; i++) add_paragraph(page, "", account->remarks.at[i]);
    for (uint32_t i = 0; i < account->missing.count; i++) add_paragraph(page, "missing ", account->missing.at[i]);
    add_paragraph(page, "valid ", account->valid);
    add_names(page, account);
}

static bool is_worth_it(const Account *account) {
    bool numbers = false;
    if (account->lines.count == 0 && account->names.count == 0 && account->bounds.length == 0) return false; /* not stated */
    for (uint32_t i = 0; i < account->lines.count; i++) numbers = numbers || account->lines.at[i].numbers.length > 0;
    return numbers || account->names.count > 0 || account->remarks.count > 0 || account->missing.count > 0 || account->bounds.length > 0;
}

bool page_account(Page *page, const Account *account, Text summary) {
    if (account == NULL || !is_worth_it(account)) return false;
    if (summary.length == 0) summary = account->lines.count > 0 ? account->lines.at[0].formula : TEXT("how it comes to be");
    bool formula = account->lines.count > 0 && text_equal(account->lines.at[0].formula, summary);
    markup_add(page, "<details class=\"why\"><summary>");
    if (formula) markup_element(page, "code", summary);
    else markup_text(page, summary);
    markup_add(page, "</summary>");
    add_inside(page, account, !formula);
    markup_add(page, "</details>");
    return true;
}
