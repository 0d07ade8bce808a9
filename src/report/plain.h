/* Parts of the annotated document as plain text, 100 columns. */
#ifndef TRUNNION_REPORT_PLAIN_H
#define TRUNNION_REPORT_PLAIN_H

#include "report/outline.h"

enum { PLAIN_WIDTH = 100 };

/* The files named on the command line: prose as it was written, program text with what was found for each line. */
void plain_documents(TextBuilder *out, const Outline *outline);
/* Everything behind the documents: clauses, gaps, rules, values of libraries, cautions, limits. */
void plain_tables(TextBuilder *out, const Outline *outline);
/* What is not met, at risk or open, first of all. */
void plain_attention(TextBuilder *out, const Outline *outline);

/* One finding: verdict, figures and margin on the first line, then its title and its case, from column `indent` on. */
void plain_finding(TextBuilder *out, const Result *result, const Finding *finding, Text name, uint32_t indent);

#endif
