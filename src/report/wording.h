/* Phrases that every writer uses, so that the same thing is said in the same words everywhere. */
#ifndef TRUNNION_REPORT_WORDING_H
#define TRUNNION_REPORT_WORDING_H

#include "report/outline.h"

/* "34 met, 1 not met, 2 open; smallest worst margin 3.1 % (lift.voltage)". No full stop. */
Text wording_sum(Arena *arena, const Result *result);
/* The finding whose margin is smallest among those that are met, in the worst case where there is one, or NULL: what it would
 * be wise to look at next. */
const Finding *wording_closest(const Result *result);
/* "1.40 s, at most 1.5 s"; "required: at least 2" where nothing was found and it does not hold; else what there is. */
Text wording_figures(Arena *arena, const Finding *finding);
/* "6.7 % (0.10 s)", "35 K", or empty. */
Text wording_margin(Arena *arena, const Finding *finding);
/* The same in the worst case; empty where nothing has bounds. */
Text wording_worst_margin(Arena *arena, const Finding *finding);
/* The verdict's word; for a `should` with "advice, " in front. */
Text wording_verdict(Arena *arena, const Finding *finding);
/* "5 rules: 3 met, 1 at risk, 1 recommendation not followed", "9 rules, all met". */
Text wording_group(Arena *arena, const Group *group);
/* "5: 3 met, 2 open", "9, all met", where `head` is what stands before the colon and `count` is the sum. */
Text wording_tallied(Arena *arena, Text head, uint64_t count, const uint32_t by_verdict[VERDICT_COUNT]);
/* What stands behind a value that was not stated: "from speed / lead", "by default", or empty. */
Text wording_origin(Arena *arena, const Value *value);
/* "8 met, 1 at risk". */
Text wording_tally(Arena *arena, const uint32_t by_verdict[VERDICT_COUNT]);
/* "1 rule", "9 rules". */
Text wording_count(Arena *arena, uint64_t count, const char *one, const char *many);
/* "a, b and c". */
Text wording_list(Arena *arena, const TextVector *texts);
/* The parts of a finding's case that are sentences: instant, reason, missing facts, worst case, concession, refinement; in
 * that order, none of them empty. */
TextVector wording_case(Arena *arena, const Result *result, const Finding *finding);
/* What eats its margin, at most so many. */
TextVector wording_eaters(Arena *arena, const Finding *finding, uint32_t most);
/* What the calculation does not cover: paragraphs, the same in every report, then those that depend on the result. */
TextVector wording_limits(Arena *arena, const Result *result);
/* What has no requirement, no source or no word about it: one sentence each. */
TextVector wording_gaps(Arena *arena, const Result *result);
/* The findings in trouble, without advice: not met, then at risk, then open. */
IndexVector wording_attention(Arena *arena, const Result *result);
/* The title of the whole document: the first heading of its first named file, else that file's path. */
Text wording_title(Arena *arena, const Result *result);
/* Whether a stated value was written as a plain literal, so that repeating it would tell the reader nothing.
 * `written` is the field as it stands in the file ("stroke = 320 mm" or only "320 mm"), `line` the whole line. */
bool wording_is_literal(Text written, Text line, Text shown);

/* "worst case 2.1 % (0.38 V): 17.9 V, at most 18.3 V"; empty where nothing has bounds. */
Text wording_worst(Arena *arena, const Finding *finding);
/* Whether a reader wants to know what eats the margin: it is gone within the bounds, or little of it is left. */
bool wording_is_tight(const Finding *finding);
/* With a capital letter: for words of ours, never for names. */
Text wording_capital(Arena *arena, Text text);
/* Whether it stands in the table of what eats the margin: every requirement with bounds, and rules as soon as they are tight. */
bool wording_is_listed(const Finding *finding);
/* "62 % by supply.voltage, from 24 V to 22.8 V; turns at 23.1 V". */
Text wording_eater(Arena *arena, const Eater *eater);
/* The statistical margin, with its name; empty when there is none. */
Text wording_likely(Arena *arena, const Finding *finding);
/* The concession that names the finding, or NULL. */
const Concession *wording_concession(const Result *result, const Finding *finding);
/* "conceded by the quality manager until 2027-03-31 (C-1)"; that it has lapsed; or empty. */
Text wording_conceded(Arena *arena, const Result *result, const Finding *finding);
/* "refines LIFT-12", "refined by A and B", or empty. */
Text wording_refinement(Arena *arena, const Finding *finding);

#endif
