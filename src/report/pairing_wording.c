/* Phrases about pairs, the same in every shape. */
#include "report/pairing.h"
#include "report/wording.h"

Text pairing_mark(const Pair *pair) {
    static const char *const marks[] = {"yes", "but", "no", "?", ""};
    return text_from(marks[pair->verdict]);
}

const Pair *pairing_at(const PairTable *table, uint32_t row, uint32_t column) {
    return &table->pairs[(size_t)row * table->columns.count + column];
}

static void add_count(TextBuilder *out, uint32_t count, const char *before, const char *one, const char *many) {
    if (count == 0) return;
    text_add_string(out, before);
    text_add_count(out, count);
    text_add_char(out, ' ');
    text_add_string(out, count == 1 ? one : many);
}

Text pairing_sum(Arena *arena, const PairTable *table) {
    TextBuilder out = text_builder(arena);
    const uint32_t *count = table->count;
    uint32_t all = count[PAIR_WORKS] + count[PAIR_REMARK] + count[PAIR_FAILS] + count[PAIR_UNKNOWN];
    if (all == 0) text_add_string(&out, "no pair");
    add_count(&out, all, "", "pair", "pairs");
    add_count(&out, count[PAIR_WORKS], ": ", "works", "work");
    add_count(&out, count[PAIR_REMARK], count[PAIR_WORKS] ? ", " : ": ", "works with a remark", "work with a remark");
    add_count(&out, count[PAIR_FAILS], count[PAIR_WORKS] + count[PAIR_REMARK] ? ", " : ": ", "does not", "do not");
    add_count(&out, count[PAIR_UNKNOWN], all > count[PAIR_UNKNOWN] ? ", " : ": ", "is unknown", "are unknown");
    return text_built(&out);
}

Text pairing_left_out(Arena *arena, const PairTable *table) {
    TextBuilder out = text_builder(arena);
    uint32_t unknown = table->left_unknown;
    if (table->left_out + unknown == 0) return (Text){0};
    text_add_count(&out, table->left_out + unknown);
    text_add_string(&out, table->left_out + unknown == 1 ? " pair is left out by --where" : " pairs are left out by --where");
    if (unknown == 0) return text_built(&out);
    text_add_string(&out, ", ");
    text_add_count(&out, unknown);
    text_add_string(&out, " of them because a fact is missing");
    if (table->where_missing.count > 0) {
        text_add_string(&out, ": ");
        text_add(&out, wording_list(arena, &table->where_missing));
    }
    return text_built(&out);
}

Text pairing_figures(Arena *arena, const PairReason *reason) {
    TextBuilder out = text_builder(arena);
    if (reason->missing.count > 0) {
        text_add_string(&out, "missing: ");
        text_add(&out, wording_list(arena, &reason->missing));
        return text_built(&out);
    }
    if (reason->trouble.length > 0) return reason->trouble;
    text_add(&out, reason->found);
    if (reason->limit.length > 0) {
        text_add_string(&out, reason->found.length > 0 ? ", " : "required: ");
        text_add(&out, reason->limit);
    }
    if (reason->margin.length > 0) {
        text_add_string(&out, "; margin ");
        text_add(&out, reason->margin);
    }
    return text_built(&out);
}

Text pairing_reason_word(const PairTable *table, const PairReason *reason) {
    if (reason->state == REASON_HOLDS) return TEXT("holds");
    if (reason->state == REASON_UNKNOWN) return TEXT("unknown");
    if (table->rules.at[reason->rule].caution) return TEXT("caution");
    return table->rules.at[reason->rule].advice ? TEXT("remark") : TEXT("fails");
}
