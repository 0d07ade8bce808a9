/* What `why` prints: an account of a value or a verdict, then those of what it depends on, each set further in. */
#include "report/layout.h"
#include "report/plain.h"
#include "report/report.h"
#include "report/wording.h"
#include "verdict/account.h"

enum {
    INDENT = 4,       /* of each step further down */
    INDENT_MOST = 40, /* deeper ones stand no further in */
    BESIDE = 10       /* columns of the labels */
};

static uint32_t column_of(uint32_t level) { return level * INDENT < INDENT_MOST ? level * INDENT : INDENT_MOST; }

static void add_field(TextBuilder *out, uint32_t column, Text label, Text text) {
    if (text.length == 0) return;
    text_add_repeat(out, ' ', column + 2);
    layout_left(out, label, BESIDE);
    layout_wrap(out, text, column + 2 + BESIDE, column + 4 + BESIDE, PLAIN_WIDTH);
}

static void add_words(TextBuilder *out, uint32_t column, Text text) {
    if (text.length == 0) return;
    text_add_repeat(out, ' ', column + 2);
    layout_wrap(out, text, column + 2, column + 4, PLAIN_WIDTH);
}

static Text joined(Arena *arena, Text a, const char *between, Text b) {
    if (a.length == 0) return b;
    if (b.length == 0) return a;
    TextBuilder out = text_builder(arena);
    text_add(&out, a);
    text_add_string(&out, between);
    text_add(&out, b);
    return text_built(&out);
}

static void add_head(TextBuilder *out, const Account *account, uint32_t column) {
    TextBuilder head = text_builder(out->arena);
    text_add(&head, account->path);
    if (account->written.length > 0) {
        text_add_string(&head, ", here ");
        text_add(&head, account->written);
    }
    if (account->finding != NULL) {
        Text figures = wording_figures(out->arena, account->finding), margin = wording_margin(out->arena, account->finding);
        text_add_string(&head, ": ");
        text_add(&head, wording_verdict(out->arena, account->finding));
        text_add_string(&head, figures.length > 0 ? "; " : "");
        text_add(&head, figures);
        text_add_string(&head, margin.length > 0 ? "; margin " : "");
        text_add(&head, margin);
    } else if (account->verdict.length > 0) {
        text_add_string(&head, " ");
        text_add(&head, account->verdict);
    } else {
        text_add_string(&head, " = ");
        text_add(&head, account->value);
        text_add_string(&head, account->repeated ? ", told above" : "");
    }
    text_add_repeat(out, ' ', column);
    layout_wrap(out, text_built(&head), column, column + 4, PLAIN_WIDTH);
}

static void add_eater(TextBuilder *out, const Eater *eater, uint32_t column, bool first) {
    TextBuilder line = text_builder(out->arena);
    text_add(&line, eater->path);
    text_add_string(&line, " at ");
    text_add(&line, eater->worst);
    text_add_string(&line, " instead of ");
    text_add(&line, eater->nominal);
    if (eater->share.length > 0) {
        text_add_string(&line, ": ");
        text_add(&line, eater->share);
        text_add_string(&line, " of the loss");
    }
    if (eater->turning.length > 0) {
        text_add_string(&line, "; the verdict turns at ");
        text_add(&line, eater->turning);
    }
    add_field(out, column, first ? TEXT("eaten by") : (Text){0}, text_built(&line));
}

static void add_worst(TextBuilder *out, const Finding *finding, uint32_t column) {
    if (finding->bounded_inputs == 0) return;
    Text margin = finding->worst_margin.length > 0 ? finding->worst_margin : finding->worst_reason;
    Text figures = joined(out->arena, finding->worst_found, ", ", finding->worst_limit);
    if (!text_equal(finding->worst_margin, finding->worst_margin_absolute)) margin = joined(out->arena, margin, ", ", finding->worst_margin_absolute);
    Text all = joined(out->arena, margin, "; ", figures);
    if (!text_equal(finding->worst_instant, finding->instant)) all = joined(out->arena, all, "; ", finding->worst_instant);
    add_field(out, column, TEXT("worst"), all);
    for (uint32_t i = 0; i < finding->eaters.count; i++) add_eater(out, &finding->eaters.at[i], column, i == 0);
    add_field(out, column, TEXT("likely"), joined(out->arena, finding->likely_margin, ", ",
                                                  finding->likely_margin.length > 0 ? TEXT("as a root sum of squares") : (Text){0}));
}

/* What is told in one line tells at once where it stands. */
static bool is_short(const Account *account) {
    if (account->finding != NULL || account->place.length == 0) return false;
    if (account->lines.count == 0) return account->stated.length > 0;
    return account->lines.count == 1 && account->stated.length == 0 && account->lines.at[0].numbers.length == 0;
}

static void add_short(TextBuilder *out, const Account *account, uint32_t column) {
    bool stated = account->stated.length > 0;
    Text words = stated ? account->stated : account->lines.at[0].formula;
    bool formula = !stated && text_is(account->lines.at[0].label, "formula");
    if (!formula && text_equal(words, account->value)) words = (Text){0};
    TextBuilder place = text_builder(out->arena);
    text_add_string(&place, "in ");
    text_add(&place, account->place);
    add_field(out, column, stated ? TEXT("stated") : account->lines.at[0].label, joined(out->arena, words, ", ", text_built(&place)));
}

static void add_lines(TextBuilder *out, const Account *account, uint32_t column) {
    for (uint32_t i = 0; i < account->lines.count; i++) {
        const AccountLine *line = &account->lines.at[i];
        add_field(out, column, line->label, line->formula);
        add_field(out, column, TEXT("numbers"), line->numbers);
        add_field(out, column, TEXT("tightest"), line->instant);
    }
}

static void add_account(TextBuilder *out, const Account *account, uint32_t level) {
    uint32_t column = column_of(level);
    Arena *arena = out->arena;
    add_head(out, account, column);
    if (account->repeated) return;
    add_words(out, column, account->title);
    if (account->instant.length > 0) {
        add_field(out, column, account->extreme.length > 0 ? account->extreme : TEXT("instant"), joined(arena, account->there, " ", account->instant));
    }
    bool brief = is_short(account);
    if (brief) add_short(out, account, column);
    else add_lines(out, account, column);
    if (!brief) add_field(out, column, TEXT("stated"), account->stated);
    add_field(out, column, TEXT("bounds"), account->bounds);
    if (account->finding != NULL) add_worst(out, account->finding, column);
    add_field(out, column, TEXT("source"), account->cites);
    add_field(out, column, TEXT("valid"), account->valid);
    if (!brief) add_field(out, column, TEXT("in"), account->place);
    if (account->finding != NULL) {
        Text refined = wording_list(arena, &account->finding->refined_by);
        add_field(out, column, TEXT("refined"), refined.length > 0 ? joined(arena, TEXT("by"), " ", refined) : refined);
        if (account->finding->verdict == VERDICT_CONCEDED) add_field(out, column, TEXT("conceded"), account->finding->concession);
        add_field(out, column, TEXT("because"), account->finding->because);
        add_words(out, column, account->finding->reason);
        add_field(out, column, TEXT("missing"), wording_list(arena, &account->finding->missing));
    }
    for (uint32_t i = 0; i < account->remarks.count; i++) add_words(out, column, account->remarks.at[i]);
    add_field(out, column, TEXT("missing"), wording_list(arena, &account->missing));
    for (uint32_t i = 0; i < account->rests_on.count; i++) {
        bool close = account->rests_on.at[i]->repeated && i > 0 && account->rests_on.at[i - 1]->repeated;
        if (!close) text_add_char(out, '\n');
        add_account(out, account->rests_on.at[i], level + 1);
    }
}

Text report_why(Arena *arena, const Result *result) {
    TextBuilder out = text_builder(arena);
    for (uint32_t i = 0; i < result->answers.count; i++) {
        if (i > 0) text_add_char(&out, '\n');
        add_account(&out, result->answers.at[i], 0);
    }
    return text_built(&out);
}
