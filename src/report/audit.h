/* What `audit` shows: findings card by card, then what became of the cards of each form, then the facts that are left out.
 * Both are made in one pass over the findings; only the text stops after so many of them, and says how many more there are. */
#ifndef TRUNNION_REPORT_AUDIT_H
#define TRUNNION_REPORT_AUDIT_H

#include "library/audit.h"

enum { AUDIT_SHOWN_LIMIT = 1000, AUDIT_FACTS_SHOWN = 10 };

/* 80 columns. With `missing`, the cards that leave out each fact instead of the findings. */
Text report_audit(Arena *arena, const Audit *audit, bool missing);
/* RFC 4180, with a header; a row for each finding, or with `missing` for each card and fact that it leaves out. */
Text report_audit_csv(Arena *arena, const Audit *audit, bool missing);

#endif
