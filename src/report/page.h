/* Parts of the annotated document as HTML. */
#ifndef TRUNNION_REPORT_PAGE_H
#define TRUNNION_REPORT_PAGE_H

#include "report/markup.h"

/* The style sheet in pieces, ended by NULL. */
extern const char *const PAGE_STYLE[];

/* One block of program text: lines on the left, what was found on the right. */
void page_program(Page *page, const Source *source, uint32_t block);
/* Figures, margin and the whole case of a finding, as paragraphs. */
void page_case(Page *page, const Finding *finding);
/* Where a value comes from: its formula, that it is a default, and whose formula it is. */
void page_origin(Page *page, const Value *value);

/* How it came to be: `summary` (its formula, or some words; empty: what the account has), which opens to the rest. False where there is nothing to add, or
 * nobody asked; then nothing was set. */
bool page_account(Page *page, const struct Account *account, Text summary);

/* Parts behind and before the documents; each sets its own heading. */
void page_attention(Page *page);
void page_matrix(Page *page);
void page_margins(Page *page);
void page_concessions(Page *page);
void page_coverage(Page *page);
void page_rules(Page *page);
void page_libraries(Page *page);
void page_things(Page *page);
void page_cautions(Page *page);
void page_limits(Page *page);
void page_messages(Page *page);

#endif
