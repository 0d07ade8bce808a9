#include "report/wording.h"

Text wording_count(Arena *arena, uint64_t count, const char *one, const char *many) {
    TextBuilder out = text_builder(arena);
    text_add_count(&out, count);
    text_add_char(&out, ' ');
    text_add_string(&out, count == 1 ? one : many);
    return text_built(&out);
}

Text wording_list(Arena *arena, const TextVector *texts) {
    TextBuilder out = text_builder(arena);
    for (uint32_t i = 0; i < texts->count; i++) {
        if (i > 0) text_add_string(&out, i + 1 == texts->count ? " and " : ", ");
        text_add(&out, texts->at[i]);
    }
    return text_built(&out);
}

Text wording_tally(Arena *arena, const uint32_t by_verdict[VERDICT_COUNT]) {
    TextBuilder out = text_builder(arena);
    for (int v = 0; v < VERDICT_COUNT; v++) {
        if (by_verdict[v] == 0) continue;
        if (out.length > 0) text_add_string(&out, ", ");
        text_add_count(&out, by_verdict[v]);
        text_add_char(&out, ' ');
        text_add(&out, verdict_word((Verdict)v));
    }
    return text_built(&out);
}

Text wording_tallied(Arena *arena, Text head, uint64_t count, const uint32_t by_verdict[VERDICT_COUNT]) {
    TextBuilder out = text_builder(arena);
    text_add(&out, head);
    for (int v = 0; v < VERDICT_COUNT; v++) {
        if (count == 0 || by_verdict[v] != count) continue;
        text_add_string(&out, count == 1 ? ", " : ", all ");
        text_add(&out, verdict_word((Verdict)v));
        return text_built(&out);
    }
    text_add_string(&out, ": ");
    text_add(&out, wording_tally(arena, by_verdict));
    return text_built(&out);
}

Text wording_group(Arena *arena, const Group *group) {
    Text head = wording_count(arena, group->count, "rule", "rules");
    if (group->advice_not_met == 0) return wording_tallied(arena, head, group->count, group->by_verdict);
    TextBuilder out = text_builder(arena);
    Text tally = wording_tally(arena, group->by_verdict);
    text_add(&out, head);
    text_add_string(&out, ": ");
    text_add(&out, tally);
    text_add_string(&out, tally.length > 0 ? ", " : "");
    text_add(&out, wording_count(arena, group->advice_not_met, "recommendation not followed",
                                 "recommendations not followed"));
    return text_built(&out);
}

Text wording_origin(Arena *arena, const Value *value) {
    TextBuilder out = text_builder(arena);
    if (value->formula.length == 0) return (Text){0};
    bool literal = wording_is_literal(value->formula, (Text){0}, (Text){0});
    text_add_string(&out, literal && !value->stated ? "by default" : "from ");
    if (literal && !value->stated && text_equal(value->formula, value->shown)) return text_built(&out);
    text_add_string(&out, literal && !value->stated ? " " : "");
    text_add(&out, value->formula);
    return text_built(&out);
}

/* Of the limit: in the worst case where there is one. */
static double closeness(const Finding *finding) { return finding->bounded_inputs > 0 ? finding->worst_share : finding->margin_share; }

const Finding *wording_closest(const Result *result) {
    const Finding *closest = NULL;
    for (uint32_t i = 0; i < result->findings.count; i++) {
        const Finding *finding = &result->findings.at[i];
        if (finding->verdict != VERDICT_MET || finding->advice || finding->margin.length == 0) continue;
        if (closeness(finding) != closeness(finding)) continue; /* no number */
        if (closest == NULL || closeness(finding) < closeness(closest)) closest = finding;
    }
    return closest;
}

Text wording_sum(Arena *arena, const Result *result) {
    TextBuilder out = text_builder(arena);
    Text tally = wording_tally(arena, result->count);
    text_add(&out, tally.length > 0 ? tally : TEXT("nothing to judge"));
    if (result->advice_not_met > 0) {
        text_add_string(&out, ", ");
        text_add(&out, wording_count(arena, result->advice_not_met, "recommendation not followed",
                                     "recommendations not followed"));
    }
    if (result->not_applicable > 0) {
        text_add_string(&out, ", ");
        text_add_count(&out, result->not_applicable);
        text_add_string(&out, " not applicable");
    }
    const Finding *closest = wording_closest(result);
    if (closest != NULL) {
        text_add_string(&out, result->bounded > 0 ? "; smallest worst margin " : "; smallest margin ");
        text_add(&out, closest->bounded_inputs > 0 ? closest->worst_margin : closest->margin);
        text_add_string(&out, " (");
        text_add(&out, closest->id);
        text_add_char(&out, ')');
    }
    return text_built(&out);
}

Text wording_figures(Arena *arena, const Finding *finding) {
    bool found = finding->found.length > 0;
    if (!found && (finding->verdict == VERDICT_MET || finding->limit.length == 0)) return finding->limit;
    if (finding->limit.length == 0) return finding->found;
    TextBuilder out = text_builder(arena);
    text_add(&out, finding->found);
    text_add_string(&out, found ? ", " : "required: ");
    text_add(&out, finding->limit);
    return text_built(&out);
}

Text wording_verdict(Arena *arena, const Finding *finding) {
    Text word = verdict_word(finding->verdict);
    if (!finding->advice) return word;
    TextBuilder out = text_builder(arena);
    text_add_string(&out, "advice, ");
    text_add(&out, word);
    return text_built(&out);
}

/* "2.1 % (0.38 V)", or one of both. */
static Text both_margins(Arena *arena, Text share, Text absolute) {
    if (share.length == 0) return absolute;
    if (absolute.length == 0 || text_equal(share, absolute)) return share;
    TextBuilder out = text_builder(arena);
    text_add(&out, share);
    text_add_string(&out, " (");
    text_add(&out, absolute);
    text_add_char(&out, ')');
    return text_built(&out);
}

Text wording_margin(Arena *arena, const Finding *finding) { return both_margins(arena, finding->margin, finding->margin_absolute); }

Text wording_worst_margin(Arena *arena, const Finding *finding) {
    if (finding->bounded_inputs == 0) return (Text){0};
    return both_margins(arena, finding->worst_margin, finding->worst_margin_absolute);
}

Text wording_worst(Arena *arena, const Finding *finding) {
    TextBuilder out = text_builder(arena);
    if (finding->bounded_inputs == 0) return (Text){0};
    Text margin = wording_worst_margin(arena, finding);
    bool holds = finding->verdict == VERDICT_MET;
    text_add_string(&out, "worst case ");
    if (margin.length > 0) text_add(&out, margin);
    else if (finding->worst_reason.length > 0) text_add(&out, finding->worst_reason);
    else text_add_string(&out, holds ? "holds within all bounds tried" : "does not hold within all bounds");
    if (finding->worst_found.length == 0) return text_built(&out);
    text_add_string(&out, ": ");
    text_add(&out, finding->worst_found);
    if (finding->worst_limit.length > 0) {
        text_add_string(&out, ", ");
        text_add(&out, finding->worst_limit);
    }
    if (finding->worst_instant.length > 0 && !text_equal(finding->worst_instant, finding->instant)) {
        text_add_string(&out, "; ");
        text_add(&out, finding->worst_instant);
    }
    return text_built(&out);
}

bool wording_is_tight(const Finding *finding) {
    static const double tight = 0.1; /* of the limit */
    if (finding->bounded_inputs == 0) return false;
    return finding->verdict == VERDICT_NOT_MET || finding->verdict == VERDICT_AT_RISK || finding->verdict == VERDICT_CONCEDED ||
           finding->worst_share < tight;
}

bool wording_is_listed(const Finding *finding) {
    if (finding->bounded_inputs == 0 || finding->eaters.count == 0) return false;
    return finding->kind == FINDING_REQUIREMENT || (!finding->advice && wording_is_tight(finding));
}

Text wording_eater(Arena *arena, const Eater *eater) {
    TextBuilder out = text_builder(arena);
    if (eater->share.length > 0) {
        text_add(&out, eater->share);
        text_add_string(&out, " by ");
    }
    text_add(&out, eater->path);
    text_add_string(&out, ", from ");
    text_add(&out, eater->nominal);
    text_add_string(&out, " to ");
    text_add(&out, eater->worst);
    if (eater->inside) text_add_string(&out, " between its bounds");
    if (eater->turning.length > 0) {
        text_add_string(&out, "; turns at ");
        text_add(&out, eater->turning);
    }
    return text_built(&out);
}

Text wording_likely(Arena *arena, const Finding *finding) {
    if (finding->likely_margin.length == 0) return (Text){0};
    TextBuilder out = text_builder(arena);
    text_add_string(&out, "root sum of squares, if the inputs vary independently: ");
    text_add(&out, finding->likely_margin);
    return text_built(&out);
}

const Concession *wording_concession(const Result *result, const Finding *finding) {
    for (uint32_t i = 0; finding->concession.length > 0 && i < result->concessions.count; i++) {
        if (text_equal(result->concessions.at[i].id, finding->concession)) return &result->concessions.at[i];
    }
    return NULL;
}

Text wording_conceded(Arena *arena, const Result *result, const Finding *finding) {
    const Concession *concession = wording_concession(result, finding);
    if (concession == NULL || (finding->verdict != VERDICT_CONCEDED && !concession->lapsed)) return (Text){0};
    TextBuilder out = text_builder(arena);
    text_add_string(&out, concession->lapsed ? "the concession " : "conceded by ");
    text_add(&out, concession->lapsed ? concession->id : concession->by);
    text_add_string(&out, concession->lapsed ? " lapsed on " : " until ");
    text_add(&out, concession->until);
    if (!concession->lapsed) {
        text_add_string(&out, " (");
        text_add(&out, concession->id);
        text_add_char(&out, ')');
    }
    return text_built(&out);
}

Text wording_refinement(Arena *arena, const Finding *finding) {
    TextBuilder out = text_builder(arena);
    if (finding->refines.length > 0) {
        text_add_string(&out, "refines ");
        text_add(&out, finding->refines);
    }
    if (finding->refined_by.count == 0) return text_built(&out);
    text_add_string(&out, out.length > 0 ? "; refined by " : "refined by ");
    text_add(&out, wording_list(arena, &finding->refined_by));
    return text_built(&out);
}

static void add_sentence(Arena *arena, TextVector *list, const char *before, Text text) {
    if (text.length == 0) return;
    TextBuilder out = text_builder(arena);
    text_add_string(&out, before);
    text_add(&out, text);
    VECTOR_PUSH(arena, list, text_built(&out));
}

Text wording_capital(Arena *arena, Text text) {
    TextBuilder out = text_builder(arena);
    text_add(&out, text);
    if (out.length > 0 && out.at[0] >= 'a' && out.at[0] <= 'z') out.at[0] = (char)(out.at[0] - 'a' + 'A');
    return text_built(&out);
}

TextVector wording_eaters(Arena *arena, const Finding *finding, uint32_t most) {
    TextVector list = {0};
    for (uint32_t i = 0; i < finding->eaters.count && i < most; i++) add_sentence(arena, &list, "", wording_eater(arena, &finding->eaters.at[i]));
    return list;
}

TextVector wording_case(Arena *arena, const Result *result, const Finding *finding) {
    TextVector list = {0};
    add_sentence(arena, &list, finding->verdict == VERDICT_NOT_MET ? "Furthest short " : "Tightest ", finding->instant);
    add_sentence(arena, &list, "", finding->reason);
    add_sentence(arena, &list, finding->missing.count == 1 ? "Missing fact: " : "Missing facts: ",
                 wording_list(arena, &finding->missing));
    add_sentence(arena, &list, "", wording_capital(arena, wording_worst(arena, finding)));
    add_sentence(arena, &list, "", wording_capital(arena, wording_conceded(arena, result, finding)));
    add_sentence(arena, &list, "", wording_capital(arena, wording_refinement(arena, finding)));
    return list;
}

TextVector wording_limits(Arena *arena, const Result *result) {
    TextVector list = {0};
    VECTOR_PUSH(arena, &list,
                TEXT("A verdict of this program is not a safety validation. It compares the stated facts with the stated "
                     "limits by the formulas and rules named in this report, and knows nothing that is not stated."));
    VECTOR_PUSH(arena, &list,
                TEXT("Facts from data sheets and measurements are taken as they are written. The program has measured nothing, "
                     "and it does not judge whether a formula is used outside the range its source gives."));
    VECTOR_PUSH(arena, &list,
                TEXT("Not calculated: structural strength, fixings and guards; wear, corrosion and dirt; faulty assembly; "
                     "electromagnetic compatibility; faults of parts, wiring, control and software; and anybody who reaches into "
                     "the movement. Loads held up by an axis, stored energy, hot surfaces and pinch points can injure people "
                     "although every verdict is met."));
    VECTOR_PUSH(arena, &list,
                TEXT("Local codes, the risk assessment of the machine and the judgement of licensed or competent persons go before "
                     "every figure here. Safety functions are designed and validated by their own standards."));
    if (result->nominal_only)
        VECTOR_PUSH(arena, &list, TEXT("Bounds were left out, as asked: every verdict here holds at the nominal values only."));
    if (result->bounded > 0)
        VECTOR_PUSH(arena, &list,
                    TEXT("Worst cases are corners of the stated bounds, or points inside them, found by following gradients and "
                         "then evaluated; nothing was extrapolated. Only what is stated with bounds was varied; what is written "
                         "as one number was taken as exact. The root sum of squares is a statistical figure beside them: it "
                         "takes the bounds as equally far out and the inputs as independent and linear, and it decides no verdict."));
    if (result->not_applicable > 0) {
        TextBuilder out = text_builder(arena);
        text_add(&out, wording_count(arena, result->not_applicable, "rule does", "rules do"));
        text_add_string(&out, " not apply here: ");
        text_add_string(&out, result->not_applicable == 1 ? "its condition is" : "their conditions are");
        text_add_string(&out, " not fulfilled.");
        VECTOR_PUSH(arena, &list, text_built(&out));
    }
    if (result->messages != NULL && result->messages->errors > 0) {
        TextBuilder out = text_builder(arena);
        text_add_string(&out, "The specification has ");
        text_add(&out, wording_count(arena, result->messages->errors, "error", "errors"));
        text_add_string(&out, ". Only what does not depend on the faulty lines was judged.");
        VECTOR_PUSH(arena, &list, text_built(&out));
    }
    return list;
}

TextVector wording_gaps(Arena *arena, const Result *result) {
    TextVector list = {0};
    for (uint32_t i = 0; i < result->clauses.count; i++) {
        const Clause *clause = &result->clauses.at[i];
        if (!outline_gap(clause)) continue;
        TextBuilder out = text_builder(arena);
        text_add(&out, clause->source);
        text_add_char(&out, ' ');
        text_add(&out, clause->id);
        text_add_string(&out, " is covered by no requirement");
        if (clause->text.length > 0) {
            text_add_string(&out, ": ");
            text_add(&out, clause->text);
        }
        VECTOR_PUSH(arena, &list, text_built(&out));
    }
    for (uint32_t i = 0; i < result->findings.count; i++) {
        const Finding *finding = &result->findings.at[i];
        if (!outline_unsourced(finding)) continue;
        TextBuilder out = text_builder(arena);
        text_add(&out, finding->id);
        text_add_string(&out, " names no clause it comes from, and not why it has none");
        VECTOR_PUSH(arena, &list, text_built(&out));
    }
    return list;
}

IndexVector wording_attention(Arena *arena, const Result *result) {
    static const Verdict ORDER[] = {VERDICT_NOT_MET, VERDICT_AT_RISK, VERDICT_OPEN};
    IndexVector list = {0};
    for (size_t pass = 0; pass < sizeof ORDER / sizeof *ORDER; pass++)
        for (uint32_t i = 0; i < result->findings.count; i++)
            if (result->findings.at[i].verdict == ORDER[pass] && !result->findings.at[i].advice)
                VECTOR_PUSH(arena, &list, i);
    return list;
}

static const Source *first_named(const Result *result) {
    if (result->sources == NULL) return NULL;
    for (uint32_t i = 0; i < result->sources->list.count; i++)
        if (result->sources->list.at[i]->origin == SOURCE_NAMED) return result->sources->list.at[i];
    return NULL;
}

Text wording_title(Arena *arena, const Result *result) {
    (void)arena;
    const Source *source = first_named(result);
    if (source == NULL) return TEXT("Specification");
    size_t at = 0;
    while (source->literate && at < source->bytes.length) {
        size_t end = at;
        while (end < source->bytes.length && source->bytes.at[end] != '\n') end++;
        Text line = text_slice(source->bytes, at, end);
        if (text_starts(line, TEXT("# "))) return text_trim(text_slice(line, 2, line.length));
        if (text_starts(text_trim(line), TEXT("```"))) break;
        at = end + 1;
    }
    return source->path;
}

static bool holds(Text text, Text part) {
    for (size_t i = 0; part.length > 0 && i + part.length <= text.length; i++)
        if (text_equal(text_slice(text, i, i + part.length), part)) return true;
    return false;
}

bool wording_is_literal(Text written, Text line, Text shown) {
    enum { LINE_MOST = 1000 }; /* a longer line may hold thousands of values, and is not searched for each of them */
    static const char *const WORKING[] = {" + ", " - ", " * ", " / ", " · ", " × ", " ^ ", " at ", "if "};
    if (holds(line.length <= LINE_MOST ? line : written, shown)) return true;
    size_t start = 0;
    while (start < written.length && written.at[start] != '=') start++;
    Text value = text_trim(start < written.length ? text_slice(written, start + 1, written.length) : written);
    if (value.length == 0) return false;
    if (text_is(value, "yes") || text_is(value, "no") || value.at[0] == '"') return true;
    bool number = (value.at[0] >= '0' && value.at[0] <= '9') ||
                  (value.length > 1 && (value.at[0] == '-' || value.at[0] == '+') && value.at[1] >= '0' &&
                   value.at[1] <= '9');
    if (!number) return false;
    for (size_t i = 0; i < sizeof WORKING / sizeof *WORKING; i++)
        if (holds(value, text_from(WORKING[i]))) return false;
    return true;
}
