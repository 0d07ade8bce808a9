/* Writers: one result, several shapes. Each returns the whole document as text; the caller prints or stores it.
 *
 * Deterministic: no machine path, no locale, and no date but the one that concessions were judged on. */
#ifndef TRUNNION_REPORT_REPORT_H
#define TRUNNION_REPORT_REPORT_H

#include "verdict/result.h"

/* What `verify` prints after the messages: every requirement and rule, then the one-line sum. */
Text report_verdicts(Arena *arena, const Result *result);
/* The annotated document as plain text, 100 columns. */
Text report_text(Arena *arena, const Result *result);
/* The annotated document as one self-contained HTML file. */
Text report_html(Arena *arena, const Result *result);
/* What `why` prints: the answers of the result, plain text of 100 columns. Empty when there are none. */
Text report_why(Arena *arena, const Result *result);

typedef struct ReportFormat {
    const char *name; /* as in --format */
    const char *ending; /* of a file name: ".html" */
    Text (*write)(Arena *arena, const Result *result);
} ReportFormat;
/* The table of formats, ended by a row with name NULL. */
extern const ReportFormat report_formats[];

#endif
