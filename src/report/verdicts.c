/* What `verify` prints. One ledger: verdict, margin, name, and then words, so that the margins stand in one column and a
 * narrow screen breaks only words. What holds stands on one line; trouble starts at the left edge, in capitals, and takes
 * the room it needs. */
#include "report/report.h"

#include "report/layout.h"
#include "report/wording.h"

enum {
    WIDTH_WORDS = 80,    /* sentences and titles end here */
    WIDTH_ROW = 100,     /* a row of a rule that holds is cut here */
    COLUMN_MARGIN = 10,  /* the verdict stands before it */
    COLUMN_NAME = 19,    /* the margin stands before it, set right */
    COLUMN_WORST = 9,    /* more, where the worst margin has a column of its own */
    NAME_BESIDE = 14,    /* a longer name has its title on the next line */
    EATERS = 3           /* as many are shown here; the report has more */
};

static Text in_capitals(Arena *arena, Text word) {
    TextBuilder out = text_builder(arena);
    for (size_t i = 0; i < word.length; i++)
        text_add_char(&out, word.at[i] >= 'a' && word.at[i] <= 'z' ? (char)(word.at[i] - 'a' + 'A') : word.at[i]);
    return text_built(&out);
}

/* The margins have two columns as soon as anything has bounds. */
static uint32_t column_worst(const Result *result) { return result->bounded > 0 ? COLUMN_WORST : 0; }

static void add_heads(TextBuilder *out, const Result *result) {
    if (column_worst(result) == 0) return;
    layout_right(out, TEXT("margin"), COLUMN_NAME - 2);
    layout_right(out, TEXT("worst"), COLUMN_WORST);
    text_add_char(out, '\n');
}

/* Verdict and margins, up to the column of names. */
static void add_ledger(TextBuilder *out, const Result *result, const Finding *finding) {
    Text word = verdict_word(finding->verdict);
    if (finding->advice && finding->verdict != VERDICT_MET) word = TEXT("advice");
    if (outline_trouble(finding) && !finding->advice) {
        layout_left(out, in_capitals(out->arena, word), COLUMN_MARGIN);
    } else {
        text_add_string(out, "  ");
        layout_left(out, word, COLUMN_MARGIN - 2);
    }
    layout_right(out, finding->margin, COLUMN_NAME - COLUMN_MARGIN - 2);
    if (column_worst(result) > 0) layout_right(out, finding->worst_margin, COLUMN_WORST);
    text_add_string(out, "  ");
}

static void add_sentence(TextBuilder *out, uint32_t column, Text text) {
    if (text.length == 0) return;
    text_add_repeat(out, ' ', column);
    layout_wrap(out, text, column, column + 2, column > COLUMN_NAME + COLUMN_WORST ? WIDTH_WORDS + COLUMN_WORST : WIDTH_WORDS);
}

static Text figures_at(Arena *arena, const Finding *finding, bool with_instant) {
    TextBuilder line = text_builder(arena);
    text_add(&line, wording_figures(arena, finding));
    if (finding->margin_absolute.length > 0) {
        if (line.length > 0) text_add_string(&line, "; ");
        text_add_string(&line, "margin ");
        text_add(&line, finding->margin_absolute);
    }
    if (with_instant && finding->instant.length > 0) {
        if (line.length > 0) text_add_string(&line, "; ");
        text_add(&line, finding->instant);
    }
    return text_built(&line);
}

/* The worst case, and for what is tight the inputs that make it so. */
static void add_worst(TextBuilder *out, uint32_t column, const Finding *finding) {
    Arena *arena = out->arena;
    add_sentence(out, column, wording_worst(arena, finding));
    if (!wording_is_tight(finding)) return;
    TextVector eaters = wording_eaters(arena, finding, EATERS);
    for (uint32_t i = 0; i < eaters.count; i++) add_sentence(out, column + 2, eaters.at[i]);
    if (finding->verdict != VERDICT_MET) add_sentence(out, column, wording_likely(arena, finding));
}

/* A finding in full: its name and title, its figures, and for trouble its whole case. */
static void add_full(TextBuilder *out, const Result *result, const Finding *finding) {
    Arena *arena = out->arena;
    uint32_t wide = layout_columns(arena, finding->id), column = COLUMN_NAME + column_worst(result);
    add_ledger(out, result, finding);
    layout_left(out, finding->id, 0);
    if (wide <= NAME_BESIDE) {
        column += wide + 2;
        text_add_string(out, finding->text.length > 0 ? "  " : "");
        layout_wrap(out, finding->text, column, column, WIDTH_WORDS + column_worst(result));
    } else {
        text_add_char(out, '\n');
        column += 2;
        add_sentence(out, column, finding->text);
    }
    add_sentence(out, column, figures_at(arena, finding, true));
    add_worst(out, column, finding);
    add_sentence(out, column, wording_conceded(arena, result, finding));
    add_sentence(out, column, wording_refinement(arena, finding));
    if (finding->verdict == VERDICT_MET) return;
    TextBuilder missing = text_builder(arena);
    if (finding->missing.count > 0) {
        text_add_string(&missing, "missing: ");
        text_add(&missing, wording_list(arena, &finding->missing));
    }
    add_sentence(out, column, finding->reason);
    add_sentence(out, column, text_built(&missing));
    if (finding->decides.count > 0) {
        TextBuilder decides = text_builder(arena);
        text_add_string(&decides, "decided by ");
        text_add(&decides, wording_list(arena, &finding->decides));
        add_sentence(out, column, text_built(&decides));
    }
}

/* Trouble has a blank line before and after it, but never two. */
static void add_gap(TextBuilder *out) {
    if (out->length >= 2 && out->at[out->length - 1] == '\n' && out->at[out->length - 2] != '\n')
        text_add_char(out, '\n');
}

static void add_with_room(TextBuilder *out, const Result *result, const Finding *finding) {
    if (outline_trouble(finding)) add_gap(out);
    add_full(out, result, finding);
    if (outline_trouble(finding)) add_gap(out);
}

/* Of very many findings only those that the reader must look at. */
static bool is_listed(const Result *result, const Finding *finding) {
    bool brief = result->brief || result->findings.count > VERDICTS_LISTED;
    return !brief || outline_trouble(finding) || (finding->advice && finding->verdict != VERDICT_MET);
}

static void add_requirements(TextBuilder *out, const Result *result) {
    bool any = false;
    for (uint32_t i = 0; i < result->findings.count; i++) {
        if (result->findings.at[i].kind != FINDING_REQUIREMENT || !is_listed(result, &result->findings.at[i])) continue;
        if (!any) text_add_string(out, "Requirements\n\n");
        any = true;
        add_with_room(out, result, &result->findings.at[i]);
    }
    if (any) add_gap(out);
}

/* Found value and limit in the least room: "1.40 s ≤ 1.5 s". */
static Text short_figures(Arena *arena, const Finding *finding) {
    static const struct { const char *words, *sign; } SIGNS[] = {{"at most ", " ≤ "}, {"at least ", " ≥ "}};
    for (size_t i = 0; i < sizeof SIGNS / sizeof *SIGNS && finding->found.length > 0; i++) {
        Text words = text_from(SIGNS[i].words);
        if (!text_starts(finding->limit, words)) continue;
        TextBuilder out = text_builder(arena);
        text_add(&out, finding->found);
        text_add_string(&out, SIGNS[i].sign);
        text_add(&out, text_slice(finding->limit, words.length, finding->limit.length));
        return text_built(&out);
    }
    return wording_figures(arena, finding);
}

/* The columns of names and figures of a group, so that its short rows stand under each other. */
static void measure(const Outline *outline, const Group *group, uint32_t *name, uint32_t *figures) {
    enum { NAME_MOST = 26, FIGURES_MOST = 30 };
    *name = *figures = 0;
    for (uint32_t k = 0; k < group->count; k++) {
        const Finding *finding = &outline->result->findings.at[outline->ordered.at[group->first + k]];
        if (finding->verdict != VERDICT_MET || !is_listed(outline->result, finding)) continue;
        uint32_t wide = layout_columns(outline->arena, outline_tail(finding->id, group->path));
        if (wide > *name && wide <= NAME_MOST) *name = wide;
        wide = layout_columns(outline->arena, short_figures(outline->arena, finding));
        if (wide > *figures && wide <= FIGURES_MOST) *figures = wide;
    }
}

/* A rule that holds: one line, its title last, because that may be cut. */
static void add_row(TextBuilder *out, const Result *result, const Finding *finding, Text of, uint32_t name, uint32_t figures) {
    enum { TITLE_LEAST = 12 };
    Arena *arena = out->arena;
    size_t start = out->length;
    add_ledger(out, result, finding);
    layout_left(out, outline_tail(finding->id, of), name);
    text_add_string(out, "  ");
    layout_left(out, short_figures(arena, finding), figures);
    uint32_t used = layout_columns(arena, text_slice(text_built(out), start, out->length));
    if (used + 2 + TITLE_LEAST <= WIDTH_ROW && finding->text.length > 0) {
        text_add_string(out, figures > 0 ? "  " : "");
        text_add(out, layout_cut(arena, finding->text, WIDTH_ROW - used - 2));
    }
    while (out->length > start && out->at[out->length - 1] == ' ') out->length--;
    text_add_char(out, '\n');
}

static void add_group(TextBuilder *out, const Outline *outline, const Group *group) {
    Arena *arena = out->arena;
    uint32_t name, figures, listed = 0;
    for (uint32_t k = 0; k < group->count; k++) listed += is_listed(outline->result, &outline->result->findings.at[outline->ordered.at[group->first + k]]);
    if (listed == 0) return;
    TextBuilder heading = text_builder(arena);
    text_add(&heading, group->path.length > 0 ? group->path : TEXT("Rules"));
    if (group->thing != OUTLINE_NONE) {
        const Thing *thing = &outline->result->things.at[group->thing];
        if (thing->form.length > 0) {
            text_add_string(&heading, ", ");
            text_add(&heading, thing->form);
        }
        if (thing->title.length > 0) {
            text_add_string(&heading, ": ");
            text_add(&heading, thing->title);
        }
    }
    layout_wrap(out, text_built(&heading), 0, 4, WIDTH_WORDS);
    text_add_char(out, '\n');
    measure(outline, group, &name, &figures);
    for (uint32_t k = 0; k < group->count; k++) {
        const Finding *finding = &outline->result->findings.at[outline->ordered.at[group->first + k]];
        if (!is_listed(outline->result, finding)) continue;
        if (finding->verdict == VERDICT_MET) add_row(out, outline->result, finding, group->path, name, figures);
        else add_with_room(out, outline->result, finding);
    }
    add_gap(out);
}

static void add_gaps(TextBuilder *out, const Result *result) {
    TextVector gaps = wording_gaps(out->arena, result);
    if (gaps.count == 0) return;
    text_add_string(out, "Not traced\n\n");
    for (uint32_t i = 0; i < gaps.count; i++) add_sentence(out, 2, gaps.at[i]);
    text_add_char(out, '\n');
}

static void add_remarks(TextBuilder *out, const Result *result) {
    Arena *arena = out->arena;
    TextBuilder line = text_builder(arena);
    if (result->cautions.count > 0) {
        text_add(&line, wording_count(arena, result->cautions.count, "caution applies;", "cautions apply;"));
        text_add_string(&line, " the report shows each at its place. ");
    }
    if (result->brief || result->findings.count > VERDICTS_LISTED) {
        text_add_string(&line, "What holds is counted and not listed, there is so much of it; the report shows it. ");
    }
    if (result->nominal_only) text_add_string(&line, "Bounds were left out: every verdict holds at the nominal values only. ");
    if (result->messages != NULL && result->messages->errors > 0) {
        text_add_string(&line, "The specification has ");
        text_add(&line, wording_count(arena, result->messages->errors, "error", "errors"));
        text_add_string(&line, "; only what does not depend on the faulty lines was judged.");
    }
    if (line.length == 0) return;
    layout_wrap(out, text_built(&line), 0, 0, WIDTH_WORDS);
    text_add_char(out, '\n');
}

Text report_verdicts(Arena *arena, const Result *result) {
    TextBuilder out = text_builder(arena);
    const Outline *outline = outline_of(arena, result);
    add_heads(&out, result);
    add_requirements(&out, result);
    for (uint32_t g = 0; g < outline->groups_list.count; g++) add_group(&out, outline, &outline->groups_list.at[g]);
    add_gaps(&out, result);
    add_remarks(&out, result);
    layout_wrap(&out, wording_sum(arena, result), 0, 0, WIDTH_ROW);
    return text_built(&out);
}
