/* Pairings for machines: one line a pair, fields as RFC 4180 has them. */
#include "report/pairing.h"

#include "text/csv.h"

static Text reasons_of(Arena *arena, const PairTable *table, const Pair *pair) {
    TextBuilder out = text_builder(arena);
    for (uint32_t i = 0; i < pair->reasons.count; i++) {
        const PairReason *reason = &pair->reasons.at[i];
        Text figures = pairing_figures(arena, reason);
        if (reason->state == REASON_HOLDS) continue;
        if (out.length > 0) text_add_string(&out, " | ");
        text_add(&out, table->rules.at[reason->rule].name);
        text_add_char(&out, ' ');
        text_add(&out, pairing_reason_word(table, reason));
        if (figures.length > 0) text_add_string(&out, ": ");
        text_add(&out, figures);
    }
    return text_built(&out);
}

static void add_pair(TextBuilder *out, const PairTable *table, uint32_t row, uint32_t column) {
    const Pair *pair = pairing_at(table, row, column);
    if (pair->verdict == PAIR_LEFT_OUT) return;
    const Text fields[] = {table->form,
                           table->rows.at[row].name,
                           table->columns.at[column].name,
                           pair_verdict_words((PairVerdict)pair->verdict),
                           reasons_of(out->arena, table, pair),
                           pair->margin,
                           pair->margin.length > 0 ? table->rules.at[pair->margin_rule].name : (Text){0}};
    for (size_t i = 0; i < sizeof fields / sizeof *fields; i++) {
        if (i > 0) text_add_char(out, ',');
        csv_add(out, fields[i]);
    }
    text_add_char(out, '\n');
}

Text pairing_csv(Arena *arena, const Pairings *pairings) {
    TextBuilder out = text_builder(arena);
    text_add_string(&out, "pairing,row,column,verdict,reasons,smallest margin,margin of\n");
    for (uint32_t i = 0; i < pairings->tables.count; i++) {
        const PairTable *table = &pairings->tables.at[i];
        for (uint32_t r = 0; r < table->rows.count; r++) {
            for (uint32_t c = 0; c < table->columns.count; c++) add_pair(&out, table, r, c);
        }
    }
    return text_built(&out);
}
