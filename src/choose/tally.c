/* What sets and cards fell to, and which of them were near to working. */
#include "choose/choice.h"

#include <math.h>
#include <stdlib.h>

Tally tally_open(Choosing *choice, MissVector *list) { return (Tally){map_open(choice->arena), list}; }

static Text figures_of(Arena *arena, const Finding *finding) {
    bool worst = finding->verdict == VERDICT_AT_RISK && finding->worst_found.length > 0;
    Text parts[2] = {worst ? finding->worst_found : finding->found, worst ? finding->worst_limit : finding->limit};
    if (parts[0].length == 0) return parts[1].length ? text_fill(arena, TEXT("required: {1}"), parts, 2) : (Text){0};
    return parts[1].length ? text_fill(arena, TEXT("{0}, {1}"), parts, 2) : text_copy(arena, parts[0]);
}

static Text reason_of(Arena *arena, const Finding *finding) {
    Text reason = finding->verdict == VERDICT_AT_RISK ? finding->worst_reason : finding->reason;
    if (finding->verdict == VERDICT_OPEN && finding->missing.count > 0) {
        TextBuilder out = text_builder(arena);
        for (uint32_t i = 0; i < finding->missing.count && i < 3; i++) {
            if (i > 0) text_add(&out, TEXT(", "));
            text_add(&out, finding->missing.at[i]);
        }
        text_add(&out, finding->missing.count == 1 ? TEXT(" is not stated") : TEXT(" are not stated"));
        return text_built(&out);
    }
    return text_copy(arena, reason);
}

/* "6.4 %", "5.6 K" */
static Text short_of(Arena *arena, const Finding *finding) {
    bool worst = finding->verdict == VERDICT_AT_RISK;
    Text margin = worst ? finding->worst_margin : finding->margin;
    if (finding->verdict == VERDICT_OPEN || !text_starts(margin, TEXT("-"))) return (Text){0};
    return text_copy(arena, text_slice(margin, 1, margin.length));
}

Miss miss_of(const Choosing *choice, const Finding *finding, Text name) {
    Miss miss = {.id = text_copy(choice->arena, name), .condition = text_copy(choice->arena, finding->condition), .share = choice_share(finding)};
    miss.figures = figures_of(choice->arena, finding);
    miss.short_by = short_of(choice->arena, finding);
    miss.reason = reason_of(choice->arena, finding);
    return miss;
}

void tally_add(Choosing *choice, Tally *tally, const Score *score, uint32_t count, Text which) {
    for (uint32_t i = 0; i < score->misses.count; i++) {
        const Finding *finding = score->misses.at[i];
        Text name = choice_name(choice, count, finding);
        Symbol symbol = symbol_of(choice->model->symbols, name);
        uint32_t index = map_get(&tally->known, symbol, 0);
        double share = choice_share(finding);
        if (index == 0) {
            VECTOR_PUSH(choice->arena, tally->list, ((Miss){.share = NAN}));
            index = tally->list->count;
            map_set(&tally->known, symbol, index);
        }
        Miss *miss = &tally->list->at[index - 1];
        if (miss->count == 0 || (!isnan(share) && (isnan(miss->share) || share > miss->share))) {
            Miss before = *miss;
            *miss = miss_of(choice, finding, name);
            miss->nearest = text_copy(choice->arena, which);
            miss->count = before.count;
            miss->unknown = before.unknown;
            miss->unknown_why = before.unknown_why;
        }
        miss->count++;
        if (finding->verdict == VERDICT_OPEN && miss->unknown++ == 0) miss->unknown_why = reason_of(choice->arena, finding);
    }
}

void tally_sort(MissVector *list) {
    for (uint32_t i = 1; i < list->count; i++) { /* few, and in order already where they are equal */
        Miss miss = list->at[i];
        uint32_t k = i;
        for (; k > 0 && list->at[k - 1].count < miss.count; k--) list->at[k] = list->at[k - 1];
        list->at[k] = miss;
    }
}

/* Whether the score is nearer to working than a set that is kept. */
static bool is_nearer(const Score *score, const ShortlistSet *kept) {
    uint32_t shareless = 0;
    for (uint32_t i = 0; i < kept->misses.count; i++) shareless += isnan(kept->misses.at[i].share) ? 1 : 0;
    if (score->shareless != shareless) return score->shareless < shareless;
    if (isnan(score->violation) || isnan(kept->violation)) return isnan(score->violation) && !isnan(kept->violation);
    return score->violation > kept->violation;
}

void nearest_add(Choosing *choice, const Score *score) {
    Shortlist *list = choice->list;
    uint32_t at = list->nearest.count;
    while (at > 0 && is_nearer(score, &list->nearest.at[at - 1])) at--;
    if (at == SHORTLIST_NEAREST || score->misses.count == 0) return;
    ShortlistSet set = {.parts = choice_parts(choice), .margin = NAN, .criterion = NAN, .violation = score->violation};
    for (uint32_t i = 0; i < score->misses.count; i++) {
        VECTOR_PUSH(choice->arena, &set.misses, miss_of(choice, score->misses.at[i], choice_name(choice, choice->slots.count, score->misses.at[i])));
    }
    if (list->nearest.count < SHORTLIST_NEAREST) VECTOR_PUSH(choice->arena, &list->nearest, set);
    for (uint32_t i = list->nearest.count - 1; i > at; i--) list->nearest.at[i] = list->nearest.at[i - 1];
    list->nearest.at[at] = set;
}
