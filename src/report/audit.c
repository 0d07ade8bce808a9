#include "report/audit.h"

#include "library/audit_words.h"
#include "report/layout.h"
#include "report/wording.h"
#include "text/csv.h"

enum { WIDTH = 80, COLUMN_LINE = 7, COLUMN_NAME = 9, COLUMN_MORE = 11 };

static Text count_text(Arena *arena, uint64_t count) {
    TextBuilder out = text_builder(arena);
    text_add_count(&out, count);
    return text_built(&out);
}

/* ---- findings ------------------------------------------------------------------------------------------------------ */

static void add_card(TextBuilder *out, Arena *scratch, const AuditWords *words, bool first) {
    Text line = count_text(scratch, words->card_line), parts[4] = {words->path, line, words->card, words->form};
    if (!first) text_add_char(out, '\n');
    layout_wrap(out, text_fill(scratch, TEXT("{0}:{1}  {2}, {3}"), parts, 4), 0, 4, WIDTH);
}

static void add_finding(TextBuilder *out, Arena *scratch, const AuditFinding *finding, const AuditWords *words) {
    Text parts[2] = {words->name, finding->follows ? words->brief : words->sentence};
    bool remark = finding->kind == AUDIT_REMARK;
    layout_right(out, count_text(scratch, words->line), COLUMN_LINE);
    text_add_string(out, "  ");
    layout_wrap(out, text_fill(scratch, remark ? TEXT("remark, {0}: {1}") : TEXT("{0}: {1}"), parts, 2), COLUMN_NAME, COLUMN_MORE, WIDTH);
    if (words->cites.length == 0 || finding->follows) return;
    text_add_repeat(out, ' ', COLUMN_MORE);
    layout_wrap(out, text_fill(scratch, TEXT("by {0}"), &words->cites, 1), COLUMN_MORE, COLUMN_MORE, WIDTH);
}

static void add_findings(TextBuilder *out, Arena *scratch, const Audit *audit) {
    NodeId card = 0;
    uint32_t shown = 0, count = audit->findings.count;
    for (; shown < count && shown < AUDIT_SHOWN_LIMIT; shown++) {
        const AuditFinding *finding = &audit->findings.at[shown];
        arena_clear(scratch);
        AuditWords words = audit_words(scratch, audit, finding);
        if (finding->card != card) add_card(out, scratch, &words, card == 0);
        card = finding->card;
        add_finding(out, scratch, finding, &words);
    }
    if (shown < count) {
        Text more = count_text(scratch, count - shown);
        text_add_char(out, '\n');
        layout_wrap(out, text_fill(scratch, TEXT("{0} more are not shown here; --format csv has them all."), &more, 1), 0, 0, WIDTH);
    }
    if (count > 0) text_add_char(out, '\n');
}

/* ---- forms --------------------------------------------------------------------------------------------------------- */

static void add_row(TextBuilder *out, Arena *scratch, Text name, uint32_t wide, const uint32_t counts[6]) {
    layout_left(out, layout_cut(scratch, name, wide), wide);
    for (int i = 0; i < 6; i++) layout_right(out, counts[i] || i == 0 ? count_text(scratch, counts[i]) : TEXT("-"), i == 0 ? 8 : 10);
    text_add_char(out, '\n');
}

static void add_forms(TextBuilder *out, Arena *scratch, const Audit *audit) {
    static const char *const heads[6] = {"cards", "clean", "findings", "remarks", "mistakes", "lacking"};
    enum { WIDE_MOST = 22 };
    uint32_t wide = 4, sum[6] = {0};
    if (audit->cards == 0) return;
    for (uint32_t i = 0; i < audit->forms.count; i++) {
        uint32_t own = layout_columns(scratch, audit_form_name(audit, audit->forms.at[i].form));
        if (own > wide) wide = own < WIDE_MOST ? own : WIDE_MOST;
    }
    layout_left(out, TEXT("form"), wide);
    for (int i = 0; i < 6; i++) layout_right(out, text_from(heads[i]), i == 0 ? 8 : 10);
    text_add_char(out, '\n');
    for (uint32_t i = 0; i < audit->forms.count; i++) {
        const AuditForm *form = &audit->forms.at[i];
        const uint32_t counts[6] = {form->cards, form->clean, form->found, form->remarked, form->mistaken, form->lacking};
        for (int k = 0; k < 6; k++) sum[k] += counts[k];
        add_row(out, scratch, audit_form_name(audit, form->form), wide, counts);
    }
    if (audit->forms.count > 1) add_row(out, scratch, TEXT("all"), wide, sum);
    text_add_char(out, '\n');
}

/* ---- what is left out ---------------------------------------------------------------------------------------------- */

static void add_part(TextBuilder *line, const char **between, const char *head, Text names) {
    if (names.length == 0) return;
    text_add_string(line, *between);
    text_add_string(line, head);
    text_add(line, names);
    *between = "; ";
}

static void add_fact(TextBuilder *out, Arena *scratch, const Audit *audit, const AuditMissing *fact, bool whole) {
    AuditMissingWords words = audit_missing_words(scratch, audit, fact);
    TextBuilder line = text_builder(scratch);
    Text parts[2] = {words.form, words.name};
    text_add(&line, text_fill(scratch, TEXT("{0}.{1}"), parts, 2));
    const char *between = ": ";
    add_part(&line, &between, words.rule_count == 1 ? "rule " : "rules ", words.rules);
    add_part(&line, &between, "", words.values);
    add_part(&line, &between, "pairings: ", words.pairs);
    layout_right(out, count_text(scratch, fact->cards), COLUMN_LINE);
    text_add_string(out, "  ");
    if (whole) layout_wrap(out, text_built(&line), COLUMN_NAME, COLUMN_MORE, WIDTH);
    else layout_wrap(out, layout_cut(scratch, text_built(&line), WIDTH - COLUMN_NAME), COLUMN_NAME, COLUMN_MORE, 2 * WIDTH);
}

static void add_lacking_cards(TextBuilder *out, Arena *scratch, const Audit *audit, const AuditMissing *fact) {
    enum { CARDS_MOST = 100 };
    TextBuilder line = text_builder(scratch);
    for (uint32_t i = 0; i < fact->of.count && i < CARDS_MOST; i++) {
        if (i > 0) text_add_string(&line, ", ");
        text_add(&line, model_name(audit->model, tree_node(audit->model->tree, fact->of.at[i])->name));
    }
    if (fact->of.count > CARDS_MOST) {
        text_add_string(&line, " and ");
        text_add_count(&line, fact->of.count - CARDS_MOST);
        text_add_string(&line, " more");
    }
    text_add_repeat(out, ' ', COLUMN_MORE);
    layout_wrap(out, text_built(&line), COLUMN_MORE, COLUMN_MORE, WIDTH);
}

static void add_missing(TextBuilder *out, Arena *scratch, const Audit *audit, bool all) {
    uint32_t count = audit->missing.count, shown = all || count < AUDIT_FACTS_SHOWN ? count : AUDIT_FACTS_SHOWN;
    if (count == 0) return;
    text_add_string(out, "Left out, on how many cards, and what stating it would unlock\n\n");
    for (uint32_t i = 0; i < shown; i++) {
        arena_clear(scratch);
        add_fact(out, scratch, audit, &audit->missing.at[i], all);
        if (all) add_lacking_cards(out, scratch, audit, &audit->missing.at[i]);
    }
    if (shown < count) {
        Text more = count_text(scratch, count - shown);
        text_add_repeat(out, ' ', COLUMN_NAME);
        layout_wrap(out, text_fill(scratch, TEXT("and {0} more; --missing lists them all, with their cards"), &more, 1), COLUMN_NAME, COLUMN_MORE, WIDTH);
    }
    text_add_char(out, '\n');
}

/* ---- the whole ----------------------------------------------------------------------------------------------------- */

static void add_sum(TextBuilder *out, Arena *scratch, const Audit *audit) {
    uint32_t clean = 0, found = 0, mistaken = 0;
    for (uint32_t i = 0; i < audit->forms.count; i++) {
        clean += audit->forms.at[i].clean;
        found += audit->forms.at[i].found;
        mistaken += audit->forms.at[i].mistaken;
    }
    TextBuilder line = text_builder(scratch);
    if (audit->cards == 0) text_add_string(&line, "no cards");
    else text_add(&line, wording_count(scratch, audit->cards, "card", "cards"));
    if (audit->cards > 0) {
        text_add_string(&line, ": ");
        text_add_count(&line, clean);
        text_add_string(&line, " clean");
    }
    if (found > 0) {
        text_add_string(&line, ", ");
        text_add_count(&line, found);
        text_add_string(&line, " with findings");
    }
    if (mistaken > 0) {
        text_add_string(&line, ", ");
        text_add_count(&line, mistaken);
        text_add_string(&line, " with mistakes");
    }
    layout_wrap(out, text_built(&line), 0, 0, WIDTH);
}

Text report_audit(Arena *arena, const Audit *audit, bool missing) {
    TextBuilder out = text_builder(arena);
    Arena *scratch = arena_open_beside(arena);
    if (!missing) add_findings(&out, scratch, audit);
    if (!missing) add_forms(&out, scratch, audit);
    add_missing(&out, scratch, audit, missing);
    add_sum(&out, scratch, audit);
    arena_close(scratch);
    return text_built(&out);
}

/* ---- CSV ----------------------------------------------------------------------------------------------------------- */

static void add_field(TextBuilder *out, Text text, bool last) {
    csv_add(out, text);
    text_add_string(out, last ? "\r\n" : ",");
}

static void add_missing_rows(TextBuilder *out, Arena *scratch, const Audit *audit) {
    text_add_string(out, "file,line,card,form,fact,rules,values,pairings\r\n");
    for (uint32_t i = 0; i < audit->missing.count; i++) {
        const AuditMissing *fact = &audit->missing.at[i];
        arena_clear(scratch);
        AuditMissingWords words = audit_missing_words(scratch, audit, fact);
        for (uint32_t k = 0; k < fact->of.count; k++) {
            Text path;
            uint32_t line;
            Text card = audit_card_place(audit, fact->of.at[k], &path, &line);
            const Text fields[8] = {path, count_text(scratch, line), card, words.form, words.name, words.rules, words.values, words.pairs};
            for (int f = 0; f < 8; f++) add_field(out, fields[f], f == 7);
        }
    }
}

Text report_audit_csv(Arena *arena, const Audit *audit, bool missing) {
    TextBuilder out = text_builder(arena);
    Arena *scratch = arena_open_beside(arena);
    if (missing) {
        add_missing_rows(&out, scratch, audit);
    } else {
        text_add_string(&out, "file,line,card,form,kind,name,found,due,differs by,likely,text,by\r\n");
        for (uint32_t i = 0; i < audit->findings.count; i++) {
            arena_clear(scratch);
            AuditWords words = audit_words(scratch, audit, &audit->findings.at[i]);
            const Text fields[12] = {words.path, count_text(scratch, words.line), words.card, words.form, words.kind, words.name,
                                     words.found, words.due, words.differ, words.slip, words.sentence, words.cites};
            for (int f = 0; f < 12; f++) add_field(&out, fields[f], f == 11);
        }
    }
    arena_close(scratch);
    return text_built(&out);
}
