/* The shortlist as plain text. First what no choice changes, then the sets that work, one line each; then what stands in the
 * way of the others, the nearest of them first. */
#include "report/shortlist.h"

#include "report/layout.h"
#include "report/wording.h"
#include "text/csv.h"

enum {
    WIDTH = 80,
    COLUMN_RANK = 4,    /* ranks are set right before it */
    COLUMN_MARGIN = 10, /* width of a margin, set right */
    GAP = 2,
    REASONS = 6,        /* as many are listed of what cards or sets fell to */
    COLUMN_COUNT = 10   /* counts are set right before it */
};

static Text number(Arena *arena, uint64_t count) {
    TextBuilder out = text_builder(arena);
    text_add_count(&out, count);
    return text_built(&out);
}

static void add_paragraph(TextBuilder *out, Text text) {
    layout_wrap(out, text, 0, 0, WIDTH);
    text_add_char(out, '\n');
}

static void add_line(TextBuilder *out, uint32_t indent, Text text) {
    text_add_repeat(out, ' ', indent);
    layout_wrap(out, text, indent, indent + 2, WIDTH);
}

/* ---- the first lines --------------------------------------------------------------------------------------------- */

static void add_fixed(TextBuilder *out, const Shortlist *list) {
    if (list->fixed.count == 0) return;
    text_add_string(out, "Whatever is chosen\n\n");
    for (uint32_t i = 0; i < list->fixed.count; i++) {
        const Finding *finding = &list->fixed.at[i];
        Text parts[3] = {verdict_word(finding->verdict), finding->id, finding->text};
        text_add_string(out, "  ");
        layout_left(out, parts[0], 9);
        layout_wrap(out, text_fill(out->arena, parts[2].length ? TEXT("{1}: {2}") : TEXT("{1}"), parts, 3), 11, 13, WIDTH);
    }
    text_add_char(out, '\n');
}

static Text count_of_sets(Arena *arena, uint64_t count) { return wording_count(arena, count, "set", "sets"); }

static void add_sum(TextBuilder *out, const Shortlist *list) {
    Arena *arena = out->arena;
    TextBuilder line = text_builder(arena);
    Text parts[3] = {list->axis, wording_count(arena, list->slots.count, "open slot", "open slots"),
                     list->offered == UINT64_MAX ? TEXT("more sets of parts than can be counted") : wording_count(arena, list->offered, "set of parts", "sets of parts")};
    text_add(&line, text_fill(arena, TEXT("{0} has {1}, and its libraries have {2} for it. "), parts, 3));
    if (list->all != list->offered && !(list->partial && list->all == 0)) {
        parts[0] = count_of_sets(arena, list->all);
        text_add(&line, text_fill(arena, list->all == 0 ? TEXT("Of cards that can be used at all there is none. ")
                                         : TEXT("Leaving out cards that cannot be used makes that {0}. "), parts, 1));
    }
    if (list->partial) {
        parts[0] = number(arena, list->done);
        parts[1] = count_of_sets(arena, list->all);
        text_add(&line, list->all > 0 ? text_fill(arena, TEXT("STOPPED: this is a part of the answer, after {0} of {1}. "), parts, 2)
                                      : TEXT("STOPPED before any set was judged. "));
    }
    parts[0] = count_of_sets(arena, list->working);
    parts[1] = number(arena, list->looked);
    parts[2] = number(arena, list->held);
    bool one = list->working == 1;
    if (!list->bounded && !list->nominal_only && list->working > 0) {
        text_add(&line, text_fill(arena, one ? TEXT("{0} works.") : TEXT("{0} work."), parts, 1));
    } else if (list->nominal_only) {
        text_add(&line, text_fill(arena, one ? TEXT("{0} works, at nominal values; bounds were left out.") : TEXT("{0} work, at nominal values; bounds were left out."), parts, 1));
    } else if (list->working == 0) {
        text_add(&line, TEXT("No set works."));
    } else if (list->looked == list->working) {
        text_add(&line, text_fill(arena, one ? TEXT("{0} works at nominal values, and ") : TEXT("{0} work at nominal values, and "), parts, 1));
        text_add(&line, text_fill(arena, list->held == 0 ? TEXT("none does over all bounds.") : TEXT("{2} over all bounds."), parts, 3));
    } else {
        text_add(&line, text_fill(arena, TEXT("{0} work at nominal values; the first {1} of them were judged over their bounds, and {2} hold there."), parts, 3));
    }
    layout_wrap(out, text_built(&line), 0, 0, WIDTH);
    text_add_char(out, '\n');
}

/* ---- the sets that work ------------------------------------------------------------------------------------------ */

typedef struct Columns {
    uint32_t *parts;   /* width of each slot's column */
    uint32_t criterion, tightest;
    bool fits;
} Columns;

static uint32_t widest(uint32_t a, uint32_t b) { return a > b ? a : b; }

static Text by_label(const Shortlist *list) { return list->by_margin ? (Text){0} : list->by; }

static Columns measure(Arena *arena, const Shortlist *list) {
    Columns columns = {.parts = ARENA_ARRAY(arena, uint32_t, list->slots.count), .criterion = 0};
    uint32_t all = COLUMN_RANK + COLUMN_MARGIN + 2 * GAP;
    for (uint32_t i = 0; i < list->slots.count; i++) {
        columns.parts[i] = layout_columns(arena, list->slots.at[i].label);
        for (uint32_t k = 0; k < list->best.count; k++) columns.parts[i] = widest(columns.parts[i], layout_columns(arena, list->best.at[k].parts[i]));
        all += columns.parts[i] + GAP;
    }
    if (!list->by_margin) columns.criterion = layout_columns(arena, layout_cut(arena, by_label(list), 20));
    columns.tightest = layout_columns(arena, TEXT("where it is smallest"));
    for (uint32_t k = 0; k < list->best.count; k++) {
        if (!list->by_margin) columns.criterion = widest(columns.criterion, layout_columns(arena, list->best.at[k].criterion_shown));
        columns.tightest = widest(columns.tightest, layout_columns(arena, list->best.at[k].tightest));
    }
    all += columns.tightest + (list->by_margin ? 0 : columns.criterion + GAP);
    columns.fits = all <= WIDTH;
    return columns;
}

static void add_gap(TextBuilder *out) { text_add_repeat(out, ' ', GAP); }

static Text rank_of(Arena *arena, uint32_t index) { return number(arena, (uint64_t)index + 1); }

/* Trailing spaces would be all that is left of an empty last column. */
static void end_line(TextBuilder *out) {
    while (out->length > 0 && out->at[out->length - 1] == ' ') out->length--;
    text_add_char(out, '\n');
}

static void add_row_in_columns(TextBuilder *out, const Shortlist *list, const Columns *columns, Text rank, const Text *parts, const ShortlistSet *set) {
    layout_right(out, rank, COLUMN_RANK - 1);
    for (uint32_t i = 0; i < list->slots.count; i++) {
        add_gap(out);
        layout_left(out, parts ? parts[i] : list->slots.at[i].label, columns->parts[i]);
    }
    if (!list->by_margin) {
        add_gap(out);
        layout_right(out, set ? (set->criterion_shown.length ? set->criterion_shown : TEXT("none")) : layout_cut(out->arena, by_label(list), 20), columns->criterion);
    }
    add_gap(out);
    layout_right(out, set ? (set->margin_shown.length ? set->margin_shown : TEXT("none")) : TEXT("margin"), COLUMN_MARGIN - GAP);
    add_gap(out);
    layout_left(out, set ? set->tightest : TEXT("where it is smallest"), columns->tightest);
    end_line(out);
}

/* Where the columns have no room: the parts in the order of the slots, and the figures on a line of their own. */
static void add_set_in_lines(TextBuilder *out, const Shortlist *list, Text rank, const ShortlistSet *set) {
    Arena *arena = out->arena;
    TextBuilder line = text_builder(arena);
    layout_right(out, rank, COLUMN_RANK - 1);
    add_gap(out);
    for (uint32_t i = 0; i < list->slots.count; i++) {
        if (i > 0) text_add(&line, TEXT(", "));
        text_add(&line, set ? set->parts[i] : list->slots.at[i].label);
    }
    layout_wrap(out, text_built(&line), COLUMN_RANK - 1 + GAP, COLUMN_RANK + 1 + GAP, WIDTH);
    if (set == NULL) return;
    Text parts[4] = {set->margin_shown, set->tightest, list->by, set->criterion_shown.length ? set->criterion_shown : TEXT("none")};
    Text words = set->margin_shown.length ? text_fill(arena, TEXT("margin {0}, {1}"), parts, 2) : TEXT("no margin");
    if (!list->by_margin) {
        Text both[2] = {text_fill(arena, TEXT("{2} {3}"), parts, 4), words};
        words = text_fill(arena, TEXT("{0}; {1}"), both, 2);
    }
    add_line(out, COLUMN_RANK + 1 + GAP, words);
}

static void add_best(TextBuilder *out, const Shortlist *list) {
    if (list->best.count == 0) return;
    Columns columns = measure(out->arena, list);
    if (columns.fits) add_row_in_columns(out, list, &columns, (Text){0}, NULL, NULL);
    else add_set_in_lines(out, list, (Text){0}, NULL);
    for (uint32_t k = 0; k < list->best.count; k++) {
        const ShortlistSet *set = &list->best.at[k];
        Text rank = rank_of(out->arena, k);
        if (columns.fits) add_row_in_columns(out, list, &columns, rank, set->parts, set);
        else add_set_in_lines(out, list, rank, set);
    }
    text_add_char(out, '\n');
}

static void add_remarks(TextBuilder *out, const Shortlist *list) {
    bool any = false;
    for (uint32_t k = 0; k < list->best.count; k++) {
        const ShortlistSet *set = &list->best.at[k];
        if (set->remarks.count == 0) continue;
        if (!any) text_add_string(out, "Advice that is not followed\n\n");
        any = true;
        layout_right(out, rank_of(out->arena, k), COLUMN_RANK - 1);
        add_gap(out);
        layout_wrap(out, wording_list(out->arena, &set->remarks), COLUMN_RANK - 1 + GAP, COLUMN_RANK + 1 + GAP, WIDTH);
    }
    if (any) text_add_char(out, '\n');
    if (list->waiting > 0) {
        Text count = wording_count(out->arena, list->waiting, "requirement or rule rests", "requirements and rules rest");
        add_paragraph(out, text_fill(out->arena, TEXT("{0} on open slots of other things too, and can only be judged when those are filled."), &count, 1));
    }
    if (list->unranked == 0) return;
    Text parts[2] = {count_of_sets(out->arena, list->unranked), list->by};
    if (list->over_cycle) {
        add_paragraph(out, text_fill(out->arena, TEXT("{1} changes over the cycle, and ranks nothing; what would is peak({1}), mean({1}) or rms({1})."), parts, 2));
        return;
    }
    add_paragraph(out, text_fill(out->arena, list->unranked == 1 ? TEXT("{0} that works has no value for {1}, and comes last.") : TEXT("{0} that work have no value for {1}, and come last."), parts, 2));
}

/* ---- the others -------------------------------------------------------------------------------------------------- */

/* "3.2 N·m, at most 3 N·m; off by 6.4 %" */
static Text words_of_miss(Arena *arena, const Miss *miss) {
    TextBuilder line = text_builder(arena);
    if (miss->figures.length > 0) text_add(&line, miss->figures);
    else if (miss->reason.length == 0) text_add(&line, miss->condition);
    if (miss->reason.length > 0) {
        if (line.length > 0) text_add(&line, TEXT("; "));
        text_add(&line, miss->reason);
    }
    if (miss->short_by.length > 0) text_add(&line, text_fill(arena, TEXT("; off by {0}"), &miss->short_by, 1));
    return text_built(&line);
}

/* `ruled_out`: most of those that miss it were ruled out together, so that the one that is named need not be the nearest. */
static void add_misses(TextBuilder *out, const MissVector *misses, bool first_only, bool ruled_out) {
    Arena *arena = out->arena;
    for (uint32_t i = 0; i < misses->count && i < REASONS; i++) {
        const Miss *miss = &misses->at[i];
        layout_right(out, number(arena, miss->count), COLUMN_COUNT - GAP);
        add_gap(out);
        layout_wrap(out, miss->id, COLUMN_COUNT, COLUMN_COUNT + 2, WIDTH);
        Text parts[2] = {miss->nearest, words_of_miss(arena, miss)};
        Text pattern = first_only && miss->figures.length == 0 && miss->reason.length == 0 ? TEXT("{1}; {0}, for one")
                       : ruled_out && miss->count > 1                                                          ? TEXT("{0}, for one: {1}")
                                                                                                               : TEXT("nearest {0}: {1}");
        if (miss->nearest.length == 0) pattern = TEXT("{1}");
        add_line(out, COLUMN_COUNT + 2, text_fill(arena, pattern, parts, 2));
        if (miss->unknown == 0 || (miss->unknown == miss->count && (miss->count == 1 || text_equal(miss->reason, miss->unknown_why)))) continue;
        Text open[2] = {number(arena, miss->unknown), miss->unknown_why};
        add_line(out, COLUMN_COUNT + 2, text_fill(arena, open[1].length ? TEXT("not known of {0}: {1}") : TEXT("not known of {0}"), open, 2));
    }
    if (misses->count > REASONS) {
        Text more = wording_count(arena, misses->count - REASONS, "other condition", "other conditions");
        add_line(out, COLUMN_COUNT, text_fill(arena, TEXT("and {0}"), &more, 1));
    }
}

static void add_slots(TextBuilder *out, const Shortlist *list) {
    Arena *arena = out->arena;
    bool any = false;
    for (uint32_t i = 0; i < list->slots.count; i++) {
        const ShortlistSlot *slot = &list->slots.at[i];
        bool stopped = list->partial && list->all == 0;
        if (slot->cards > 0 && (slot->left == slot->cards || stopped)) continue;
        if (!any) text_add_string(out, "Cards that cannot be used\n\n");
        any = true;
        Text parts[4] = {slot->path, slot->words, number(arena, slot->cards - slot->left), number(arena, slot->cards)};
        add_line(out, 2, text_fill(arena, slot->cards == 0 ? TEXT("{0}: no card fits {1}") : TEXT("{0}, {1}: {2} of {3}"), parts, 4));
        add_misses(out, &slot->misses, list->first_only, false);
        if (slot->faulty == 0) continue;
        layout_right(out, number(arena, slot->faulty), COLUMN_COUNT - GAP);
        add_gap(out);
        Text first[1] = {slot->faulty_one};
        layout_wrap(out, text_fill(arena, TEXT("with mistakes of their own, {0} the first"), first, 1), COLUMN_COUNT, COLUMN_COUNT + 2, WIDTH);
    }
    if (any) text_add_char(out, '\n');
}

static void add_sets_missed(TextBuilder *out, const Shortlist *list) {
    if (list->misses.count == 0) return;
    text_add_string(out, list->first_only ? "What sets fall to; each is counted with the first that was found\n\n"
                                          : "What sets fall to; one set can fall to several\n\n");
    add_misses(out, &list->misses, list->first_only, list->first_only);
    text_add_char(out, '\n');
}

static void add_nearest(TextBuilder *out, const Shortlist *list) {
    if (list->nearest.count == 0) return;
    Arena *arena = out->arena;
    text_add_string(out, list->first_only ? "Near to working, of those that were looked at closely\n\n" : "Nearest to working\n\n");
    enum { SHOWN = 3 };
    for (uint32_t k = 0; k < list->nearest.count; k++) {
        const ShortlistSet *set = &list->nearest.at[k];
        TextVector parts = {0};
        for (uint32_t i = 0; i < list->slots.count; i++) VECTOR_PUSH(arena, &parts, set->parts[i]);
        add_line(out, 2, wording_list(arena, &parts));
        for (uint32_t i = 0; i < set->misses.count && i < SHOWN; i++) {
            Text words[2] = {set->misses.at[i].id, words_of_miss(arena, &set->misses.at[i])};
            add_line(out, 4, text_fill(arena, TEXT("{0}: {1}"), words, 2));
        }
        if (set->misses.count <= SHOWN) continue;
        Text more = number(arena, set->misses.count - SHOWN);
        add_line(out, 4, text_fill(arena, TEXT("and {0} more"), &more, 1));
    }
    text_add_char(out, '\n');
}

Text report_shortlist(Arena *arena, const Shortlist *list) {
    TextBuilder out = text_builder(arena);
    if (!list->found) return (Text){0};
    add_fixed(&out, list);
    add_sum(&out, list);
    add_best(&out, list);
    add_remarks(&out, list);
    add_slots(&out, list);
    add_sets_missed(&out, list);
    add_nearest(&out, list);
    while (out.length > 1 && out.at[out.length - 1] == '\n' && out.at[out.length - 2] == '\n') out.length--;
    return text_built(&out);
}

/* ---- as a table for other programs ------------------------------------------------------------------------------- */

static void add_field(TextBuilder *out, Text text, bool last) {
    csv_add(out, text);
    text_add_string(out, last ? "\r\n" : ",");
}

Text report_shortlist_csv(Arena *arena, const Shortlist *list) {
    TextBuilder out = text_builder(arena);
    if (!list->found) return (Text){0};
    add_field(&out, TEXT("rank"), false);
    for (uint32_t i = 0; i < list->slots.count; i++) add_field(&out, list->slots.at[i].path, false);
    if (!list->by_margin) add_field(&out, list->by, false);
    add_field(&out, TEXT("margin"), false);
    add_field(&out, TEXT("where it is smallest"), true);
    for (uint32_t k = 0; k < list->best.count; k++) {
        const ShortlistSet *set = &list->best.at[k];
        add_field(&out, rank_of(arena, k), false);
        for (uint32_t i = 0; i < list->slots.count; i++) add_field(&out, set->parts[i], false);
        if (!list->by_margin) add_field(&out, set->criterion_shown, false);
        add_field(&out, set->margin_shown, false);
        add_field(&out, set->tightest, true);
    }
    return text_built(&out);
}
