/* A result made by hand: the jar handler of a seed bank, with every kind of verdict. For the tests of the writers. */
#ifndef TRUNNION_TESTS_REPORT_DEMO_H
#define TRUNNION_TESTS_REPORT_DEMO_H

#include "verdict/result.h"

/* A result without anything in it but its sources and messages, which are empty. */
Result *demo_empty(Arena *arena);
/* The jar handler. */
Result *demo_jar_handler(Arena *arena);
/* A literate source for `result`, named on the command line. */
Source *demo_source(Result *result, const char *path, const char *bytes);
/* The span of the `nth` (from 0) place where `words` stand in the source; nowhere when there is none. */
Span demo_span(const Source *source, const char *words, unsigned nth);
TextVector demo_list(Arena *arena, const char *a, const char *b, const char *c);
/* Adds and returns a zeroed finding with a title and a condition that holds by 10 %. Counts it. */
Finding *demo_finding(Result *result, FindingKind kind, Verdict verdict, const char *id, const char *text);
Value *demo_value(Result *result, const char *path, const char *shown, const char *formula, Span span);

#endif
