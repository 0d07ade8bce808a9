/* Pairings on a screen: one table a pairing, rows and columns counted; columns have numbers and a key where their names do not fit. */
#include "report/layout.h"
#include "report/pairing.h"
#include "report/wording.h"

enum {
    WIDTH = 80,
    GAP = 2,         /* before each column */
    MARK = 3,        /* "yes" */
    NAME_MOST = 30,  /* of a row; longer ones are cut */
    SUMS = 4         /* counts behind the last column: yes, but, no, ? */
};

static const char *const marks[SUMS] = {"yes", "but", "no", "?"};

typedef struct Frame { /* of one table */
    const PairTable *table;
    TextBuilder *out;
    uint32_t name;   /* width of the row names */
    uint32_t column; /* of a column, without the gap */
    uint32_t count;  /* of a count */
    bool numbered;
} Frame;

static uint32_t digits(uint32_t number) {
    uint32_t count = 1;
    while (number >= 10) number /= 10, count++;
    return count;
}

static Text number_text(Arena *arena, uint32_t number) {
    TextBuilder out = text_builder(arena);
    text_add_count(&out, number);
    return text_built(&out);
}

static uint32_t larger(uint32_t a, uint32_t b) { return a > b ? a : b; }

static Frame frame_of(TextBuilder *out, const PairTable *table) {
    Frame frame = {.table = table, .out = out, .name = MARK, .column = MARK, .count = MARK};
    for (uint32_t r = 0; r < table->rows.count; r++) frame.name = larger(frame.name, layout_columns(out->arena, table->rows.at[r].name));
    if (frame.name > NAME_MOST) frame.name = NAME_MOST;
    for (uint32_t c = 0; c < table->columns.count; c++) frame.column = larger(frame.column, layout_columns(out->arena, table->columns.at[c].name));
    frame.count = larger(frame.count, digits(larger(table->rows.count, table->columns.count)));
    uint64_t whole = 2 + frame.name + (uint64_t)table->columns.count * (GAP + frame.column) + SUMS * (GAP + frame.count);
    if (whole > WIDTH) {
        frame.numbered = true;
        frame.column = larger(MARK, larger(digits(table->columns.count), digits(table->rows.count)));
    }
    return frame;
}

static void end_line(TextBuilder *out) {
    while (out->length > 0 && out->at[out->length - 1] == ' ') out->length--;
    text_add_char(out, '\n');
}

static void add_right(const Frame *frame, Text text, uint32_t width) {
    text_add_repeat(frame->out, ' ', GAP);
    layout_right(frame->out, text, width);
}

static void add_row_name(const Frame *frame, Text name) {
    text_add_string(frame->out, "  ");
    layout_left(frame->out, layout_cut(frame->out->arena, name, frame->name), frame->name);
}

static void add_sums_head(const Frame *frame, bool last) {
    for (uint32_t k = 0; last && k < SUMS; k++) add_right(frame, text_from(marks[k]), frame->count);
}

/* The columns from `first` on, as many as there are in `count`; behind the last block the counts of the rows. */
static void add_block(const Frame *frame, uint32_t first, uint32_t count, bool last) {
    const PairTable *table = frame->table;
    TextBuilder *out = frame->out;
    add_row_name(frame, (Text){0});
    for (uint32_t c = first; c < first + count; c++) {
        add_right(frame, frame->numbered ? number_text(out->arena, c + 1) : table->columns.at[c].name, frame->column);
    }
    add_sums_head(frame, last);
    end_line(out);
    for (uint32_t r = 0; r < table->rows.count; r++) {
        add_row_name(frame, table->rows.at[r].name);
        for (uint32_t c = first; c < first + count; c++) add_right(frame, pairing_mark(pairing_at(table, r, c)), frame->column);
        for (uint32_t k = 0; last && k < SUMS; k++) add_right(frame, number_text(out->arena, table->rows.at[r].count[k]), frame->count);
        end_line(out);
    }
    text_add_char(out, '\n');
    for (uint32_t k = 0; k < SUMS; k++) {
        add_row_name(frame, text_from(marks[k]));
        for (uint32_t c = first; c < first + count; c++) add_right(frame, number_text(out->arena, table->columns.at[c].count[k]), frame->column);
        for (uint32_t i = 0; last && i < SUMS; i++) add_right(frame, i == k ? number_text(out->arena, table->count[k]) : (Text){0}, frame->count);
        end_line(out);
    }
    text_add_char(out, '\n');
}

static void add_blocks(const Frame *frame) {
    uint32_t columns = frame->table->columns.count, sums = SUMS * (GAP + frame->count);
    uint32_t room = (WIDTH - 2 - frame->name) / (GAP + frame->column), with_sums = (WIDTH - 2 - frame->name - sums) / (GAP + frame->column);
    if (room == 0) room = 1;
    for (uint32_t first = 0; first < columns;) {
        uint32_t left = columns - first;
        bool last = left <= with_sums || left == 1;
        uint32_t count = last ? left : left < room ? left : room;
        if (!last && count == left) count--; /* the counts need a block with a column of its own */
        add_block(frame, first, count, last);
        first += count;
    }
}

/* The names of the numbered columns, as many on a line as fit. */
static void add_key(const Frame *frame) {
    const PairTable *table = frame->table;
    TextBuilder *out = frame->out;
    uint32_t wide = 0, number = digits(table->columns.count);
    for (uint32_t c = 0; c < table->columns.count; c++) wide = larger(wide, layout_columns(out->arena, table->columns.at[c].name));
    uint32_t per_line = (WIDTH - 2) / (number + 1 + wide + GAP);
    if (per_line == 0) per_line = 1;
    uint32_t lines = (table->columns.count + per_line - 1) / per_line;
    for (uint32_t line = 0; line < lines; line++) {
        text_add_string(out, "  ");
        for (uint32_t c = line; c < table->columns.count; c += lines) {
            layout_right(out, number_text(out->arena, c + 1), number);
            text_add_char(out, ' ');
            layout_left(out, table->columns.at[c].name, wide + GAP);
        }
        end_line(out);
    }
    text_add_char(out, '\n');
}

/* ---- reasons ------------------------------------------------------------------------------------------------------ */

static void add_indented(TextBuilder *out, uint32_t column, Text text) {
    if (text.length == 0) return;
    text_add_repeat(out, ' ', column);
    layout_wrap(out, text, column, column + 2, WIDTH);
}

static void add_reason(TextBuilder *out, const PairTable *table, const PairReason *reason, bool whole) {
    enum { WORD = 9 };
    const PairRule *rule = &table->rules.at[reason->rule];
    Text title[2] = {rule->name, rule->text};
    text_add_string(out, "    ");
    layout_left(out, pairing_reason_word(table, reason), WORD);
    layout_wrap(out, text_fill(out->arena, TEXT("{0}: {1}"), title, 2), 4 + WORD, 6 + WORD, WIDTH);
    Text figures = pairing_figures(out->arena, reason);
    add_indented(out, 6 + WORD, figures.length > 0 || whole ? figures : rule->condition);
    if (reason->state == REASON_FAILS) add_indented(out, 6 + WORD, rule->because);
    if (!whole) return;
    Text whose[2] = {rule->owner, rule->cites};
    add_indented(out, 6 + WORD, rule->condition);
    add_indented(out, 6 + WORD, text_fill(out->arena, TEXT("{0}; {1}"), whose, 2));
}

static void add_pair(TextBuilder *out, const PairTable *table, uint32_t row, uint32_t column, bool whole) {
    const Pair *pair = pairing_at(table, row, column);
    if (pair->verdict == PAIR_LEFT_OUT || (!whole && pair->reasons.count == 0)) return;
    Text head[3] = {table->rows.at[row].name, table->columns.at[column].name, pair_verdict_words((PairVerdict)pair->verdict)};
    text_add_string(out, "  ");
    layout_wrap(out, text_fill(out->arena, TEXT("{0} with {1}: {2}"), head, 3), 2, 4, WIDTH);
    for (uint32_t i = 0; i < pair->reasons.count; i++) add_reason(out, table, &pair->reasons.at[i], whole);
    text_add_char(out, '\n');
}

static void add_reasons(TextBuilder *out, const PairTable *table, bool whole) {
    for (uint32_t r = 0; r < table->rows.count; r++) {
        for (uint32_t c = 0; c < table->columns.count; c++) add_pair(out, table, r, c, whole);
    }
}

/* ---- the whole ---------------------------------------------------------------------------------------------------- */

static void add_heading(TextBuilder *out, const PairTable *table) {
    TextBuilder line = text_builder(out->arena);
    text_add(&line, table->title.length > 0 ? table->title : table->form);
    if (table->title.length > 0) {
        text_add_string(&line, " (");
        text_add(&line, table->form);
        text_add_char(&line, ')');
    }
    layout_wrap(out, text_built(&line), 0, 4, WIDTH);
    text_add_char(out, '\n');
}

static void add_sentence(TextBuilder *out, Text text) {
    if (text.length > 0) layout_wrap(out, text, 0, 2, WIDTH);
}

static void add_table(TextBuilder *out, const PairTable *table, bool one, bool reasons) {
    add_heading(out, table);
    if (one) {
        add_reasons(out, table, true);
        add_sentence(out, pairing_left_out(out->arena, table));
        return;
    }
    Frame frame = frame_of(out, table);
    if (table->rows.count > 0) {
        add_blocks(&frame);
        if (frame.numbered) add_key(&frame);
    }
    if (reasons) add_reasons(out, table, false);
    add_sentence(out, pairing_sum(out->arena, table));
    add_sentence(out, pairing_left_out(out->arena, table));
    text_add_char(out, '\n');
}

Text pairing_text(Arena *arena, const Pairings *pairings, bool reasons) {
    TextBuilder out = text_builder(arena);
    for (uint32_t i = 0; i < pairings->tables.count; i++) add_table(&out, &pairings->tables.at[i], pairings->one, reasons);
    if (pairings->passed_over.count > 0) {
        Text list = wording_list(arena, &pairings->passed_over);
        add_sentence(&out, text_fill(arena, TEXT("Passed over, as a condition does not speak of it: {0}"), &list, 1));
        text_add_char(&out, '\n');
    }
    if (pairings->tables.count == 0 || pairings->one) return text_built(&out);
    add_sentence(&out, TEXT("yes: they work together. but: they do, with a remark. no: they do not. ?: a fact is missing. "
                            "Judged at nominal values."));
    if (!reasons) add_sentence(&out, TEXT("Why: --reasons ROW,COLUMN for one pair, --reasons all for what is against each."));
    return text_built(&out);
}
