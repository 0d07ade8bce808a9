#include "library/pairing.h"

#include <math.h>

#include "library/pair_lanes.h"
#include "meaning/condition.h"
#include "verdict/judge.h"

enum { BLOCK = 32, WHERE_MISSING_MOST = 4 }; /* so many rows and columns are compiled at once */

typedef struct Pairer {
    Arena *arena; /* of the check */
    Arena *block; /* used again for each block */
    PairPlan plan;
    const PairingRequest *request;
    PairTable *table;
    Map rules;    /* node of a rule, and whether it is advice -> index */
    Judge judge;  /* of the block under way */
} Pairer;

Text pair_verdict_words(PairVerdict verdict) {
    static const char *const words[] = {"works", "works with a remark", "does not work", "unknown", "left out"};
    return text_from(words[verdict]);
}

/* ---- one pair ----------------------------------------------------------------------------------------------------- */

static Text option_text(const Pairer *pairer, NodeId declaration, OptionKind kind) {
    const Tree *tree = pairer->plan.model->tree;
    NodeId option = tree_option(tree, tree_node(tree, declaration)->c, kind);
    return option && tree_node(tree, option)->a ? tree_text(tree, pairer->arena, tree_node(tree, option)->a) : (Text){0};
}

/* The form that declares a rule, as seen from the form of the pair. */
static Text owner_of(const Pairer *pairer, const Judged *judged) {
    const Model *model = pairer->plan.model;
    const Form *form = &model->forms.at[pairer->judge.program->objects.at[judged->object].form];
    bool caution = judged->kind == JUDGED_CAUTION;
    const FormRule *rules = caution ? form->cautions.at : form->rules.at;
    uint32_t count = caution ? form->cautions.count : form->rules.count;
    for (uint32_t i = 0; i < count; i++) {
        if (rules[i].node == judged->node) return model_name(model, model->forms.at[rules[i].owner].name);
    }
    return (Text){0};
}

static uint32_t rule_of(Pairer *pairer, const Judged *judged) {
    uint64_t key = (uint64_t)judged->node << 1 | judged->advice;
    uint32_t known = map_get(&pairer->rules, key, UINT32_MAX);
    if (known != UINT32_MAX) return known;
    const Model *model = pairer->plan.model;
    PairRule rule = {.advice = judged->advice, .caution = judged->kind == JUDGED_CAUTION};
    rule.name = model_name(model, tree_node(model->tree, judged->node)->name);
    rule.text = tree_title(model->tree, pairer->arena, judged->node);
    rule.owner = owner_of(pairer, judged);
    rule.cites = option_text(pairer, judged->node, OPTION_CITES);
    rule.because = option_text(pairer, judged->node, OPTION_BECAUSE);
    map_set(&pairer->rules, key, pairer->table->rules.count);
    if (rule.caution) {
        VECTOR_PUSH(pairer->arena, &pairer->table->rules, rule);
        return pairer->table->rules.count - 1;
    }
    Text condition = source_text(model->tree->sources, tree_node(model->tree, judged->shall_node)->span);
    rule.condition = text_copy(pairer->arena, on_one_line(&pairer->judge, condition));
    VECTOR_PUSH(pairer->arena, &pairer->table->rules, rule);
    return pairer->table->rules.count - 1;
}

static Text kept(const Pairer *pairer, Text text) { return text.length > 0 ? text_copy(pairer->arena, text) : (Text){0}; }

static void keep_missing(Pairer *pairer, StepId step, TextVector *out, uint32_t most) {
    TextVector paths = {0};
    missing_facts(&pairer->judge, step, &paths);
    for (uint32_t i = 0; i < paths.count; i++) {
        bool known = false;
        for (uint32_t k = 0; k < out->count; k++) known = known || text_equal(out->at[k], paths.at[i]);
        if (!known && out->count < most) VECTOR_PUSH(pairer->arena, out, text_copy(pairer->arena, paths.at[i]));
    }
}

static Text margin_of(Pairer *pairer, const Outcome *outcome) {
    if (!isnan(outcome->share)) return spell_share(pairer->arena, outcome->share);
    if (isnan(outcome->absolute)) return (Text){0};
    return spell_value(pairer->plan.model->vocabulary, pairer->arena, outcome->absolute, outcome->measure, outcome->unit, 3);
}

static void keep_reason(Pairer *pairer, Pair *pair, uint32_t rule, ReasonState state, Outcome outcome, Text trouble) {
    PairReason reason = {.rule = rule, .state = state, .found = kept(pairer, outcome.found), .limit = kept(pairer, outcome.limit)};
    reason.trouble = kept(pairer, trouble);
    if (state == REASON_UNKNOWN) keep_missing(pairer, outcome.trouble, &reason.missing, UINT32_MAX);
    else reason.margin = margin_of(pairer, &outcome);
    VECTOR_PUSH(pairer->arena, &pair->reasons, reason);
}

/* The outcome of one rule; false: it does not apply. */
static bool outcome_of(Pairer *pairer, const Judged *judged, Outcome *outcome) {
    const Computed *when = judged->when ? &pairer->judge.evaluation->values[judged->when] : NULL;
    if (when != NULL && when->state == COMPUTED_NUMBER && when->number == 0) return false;
    if (when != NULL && when->state != COMPUTED_NUMBER) {
        OutcomeState state = when->state == COMPUTED_UNKNOWN ? OUTCOME_UNKNOWN : OUTCOME_UNCOMPUTED;
        *outcome = (Outcome){.state = state, .share = NAN, .absolute = NAN, .trouble = judged->when};
        return true;
    }
    *outcome = judge_condition(&pairer->judge, judged->shall);
    return true;
}

static void note_margin(Pairer *pairer, Pair *pair, uint32_t rule, const Outcome *outcome) {
    if (isnan(outcome->share) || !(isnan(pair->margin_share) || outcome->share < pair->margin_share)) return;
    pair->margin_share = outcome->share;
    pair->margin_rule = rule;
    (void)pairer;
}

/* What is unknown is cautioned against. */
static void judge_caution(Pairer *pairer, Pair *pair, const Judged *judged) {
    const Computed *when = judged->when ? &pairer->judge.evaluation->values[judged->when] : NULL;
    if (when != NULL && when->state == COMPUTED_NUMBER && when->number == 0) return;
    if (pair->verdict == PAIR_WORKS) pair->verdict = PAIR_REMARK;
    pair->rules++;
    if (!pairer->request->reasons && pairer->request->row.length == 0) return;
    keep_reason(pairer, pair, rule_of(pairer, judged), REASON_FAILS, (Outcome){.share = NAN, .absolute = NAN}, (Text){0});
}

static void judge_rule(Pairer *pairer, Pair *pair, const Judged *judged) {
    Outcome outcome;
    if (judged->kind == JUDGED_CAUTION) judge_caution(pairer, pair, judged);
    if (judged->kind != JUDGED_RULE || !outcome_of(pairer, judged, &outcome)) return;
    uint32_t rule = rule_of(pairer, judged);
    ReasonState state = outcome.state == OUTCOME_HOLDS ? REASON_HOLDS : outcome.state == OUTCOME_FAILS ? REASON_FAILS : REASON_UNKNOWN;
    Text trouble = {0};
    bool finding = false;
    if (outcome.state == OUTCOME_UNCOMPUTED) {
        trouble = outcome.trouble ? explain_failure(&pairer->judge, outcome.trouble, &finding) : TEXT("its condition has a mistake that is reported");
    }
    static const PairVerdict of[2][3] = {{PAIR_WORKS, PAIR_FAILS, PAIR_UNKNOWN}, {PAIR_WORKS, PAIR_REMARK, PAIR_REMARK}};
    static const int rank[] = {[PAIR_WORKS] = 0, [PAIR_REMARK] = 1, [PAIR_UNKNOWN] = 2, [PAIR_FAILS] = 3};
    PairVerdict verdict = outcome.state == OUTCOME_UNCOMPUTED ? PAIR_UNKNOWN : of[judged->advice][state]; /* a card has a mistake */
    if (rank[verdict] > rank[pair->verdict]) pair->verdict = (uint8_t)verdict;
    pair->rules++;
    if (state == REASON_HOLDS) note_margin(pairer, pair, rule, &outcome);
    bool all = pairer->request->row.length > 0;
    if (all || (pairer->request->reasons && state != REASON_HOLDS)) keep_reason(pairer, pair, rule, state, outcome, trouble);
}

/* Whether the conditions let the pair through. */
static bool is_wanted(Pairer *pairer, const PairEntry *entry) {
    const Computed *where = entry->where ? &pairer->judge.evaluation->values[entry->where] : NULL;
    if (where == NULL || (where->state == COMPUTED_NUMBER && where->number != 0)) return true;
    PairTable *table = pairer->table;
    if (where->state == COMPUTED_NUMBER) {
        table->left_out++;
        return false;
    }
    table->left_unknown++;
    bool finding = false;
    if (where->state == COMPUTED_UNKNOWN) keep_missing(pairer, entry->where, &table->where_missing, WHERE_MISSING_MOST);
    else explain_failure(&pairer->judge, entry->where, &finding);
    return false;
}

static Pair judge_pair(Pairer *pairer, const PairEntry *entry) {
    Pair pair = {.verdict = PAIR_WORKS, .margin_share = NAN};
    if (!is_wanted(pairer, entry)) {
        pair.verdict = PAIR_LEFT_OUT;
        return pair;
    }
    for (uint32_t i = 0; i < entry->count; i++) judge_rule(pairer, &pair, &pairer->judge.program->judged.at[entry->first + i]);
    if (!isnan(pair.margin_share)) pair.margin = spell_share(pairer->arena, pair.margin_share);
    return pair;
}

/* ---- blocks of pairs ---------------------------------------------------------------------------------------------- */

typedef struct Cards2 { /* the cards of a table */
    CardVector rows, columns;
} Cards2;

/* Which pairs of a block have their verdicts; false when all have. */
static bool left_to_judge(const Pair *pairs, uint32_t row, uint32_t rows, uint32_t column, uint32_t columns, uint32_t all_columns, bool *skip) {
    bool any = false;
    for (uint32_t r = 0; r < rows; r++) {
        for (uint32_t c = 0; c < columns; c++) {
            skip[(size_t)r * columns + c] = pairs[(size_t)(row + r) * all_columns + column + c].verdict != PAIR_UNDECIDED;
            any = any || !skip[(size_t)r * columns + c];
        }
    }
    return any;
}

/* The plain way: compile the pairs of a block, run, judge. Nothing of it is kept but what goes into `pairs`. */
static void judge_block(Pairer *pairer, PairForm form, const Cards2 *cards, uint32_t row, uint32_t column, Pair *pairs) {
    uint32_t rows = cards->rows.count - row < BLOCK ? cards->rows.count - row : BLOCK;
    uint32_t columns = cards->columns.count - column < BLOCK ? cards->columns.count - column : BLOCK;
    bool skip[BLOCK * BLOCK];
    if (!left_to_judge(pairs, row, rows, column, columns, cards->columns.count, skip)) return;
    PairProgram compiled = pair_program(pairer->block, &pairer->plan, form, cards->rows.at + row, rows, cards->columns.at + column, columns, skip);
    Model *model = pairer->plan.model;
    pairer->judge = (Judge){.arena = pairer->block, .world = pairer->plan.world, .program = compiled.program, .model = model, .messages = model->messages};
    pairer->judge.evaluation = evaluate(pairer->block, compiled.program);
    pairer->judge.result = ARENA_NEW(pairer->block, Result);
    pairer->judge.result->sources = pairer->plan.sources;
    pairer->judge.result->nominal_only = true;
    pairer->judge.said = map_open(pairer->block);
    pairer->judge.silent = !pairer->request->reasons && pairer->request->row.length == 0;
    for (uint32_t r = 0; r < rows; r++) {
        for (uint32_t c = 0; c < columns; c++) {
            if (skip[(size_t)r * columns + c]) continue;
            pairs[(size_t)(row + r) * cards->columns.count + column + c] = judge_pair(pairer, &compiled.entries[(size_t)r * columns + c]);
        }
    }
    arena_clear(pairer->block);
}

static Pair *judge_pairs(Pairer *pairer, PairForm form, const Cards2 *cards) {
    size_t count = (size_t)cards->rows.count * cards->columns.count;
    Pair *pairs = ARENA_ARRAY(pairer->arena, Pair, count);
    bool verdicts_only = !pairer->request->reasons && pairer->request->row.length == 0 && pairer->plan.where_count == 0;
    for (size_t i = 0; i < count; i++) pairs[i] = (Pair){.verdict = PAIR_UNDECIDED, .margin_share = NAN};
    if (verdicts_only) {
        pair_lanes(pairer->arena, &pairer->plan, form, (PairSide){cards->rows.at, cards->rows.count},
                   (PairSide){cards->columns.at, cards->columns.count}, pairs);
    }
    for (uint32_t row = 0; row < cards->rows.count; row += BLOCK) {
        for (uint32_t column = 0; column < cards->columns.count; column += BLOCK) judge_block(pairer, form, cards, row, column, pairs);
    }
    return pairs;
}

/* ---- tables ------------------------------------------------------------------------------------------------------- */

static PairCard card_of(const Pairer *pairer, NodeId id) {
    const Model *model = pairer->plan.model;
    const Node *node = tree_node(model->tree, id);
    return (PairCard){.name = model_name(model, node->name), .form = model_name(model, tree_node(model->tree, node->a)->name),
                      .title = tree_title(model->tree, pairer->arena, id)};
}

/* Takes the cards of which no pair is left out of the table, and counts the rest. */
static void close_table(Pairer *pairer, PairTable *table, const Cards2 *cards, const Pair *pairs) {
    uint32_t rows = cards->rows.count, columns = cards->columns.count, row_count = 0;
    bool *row_in = ARENA_ARRAY(pairer->arena, bool, rows), *column_in = ARENA_ARRAY(pairer->arena, bool, columns);
    for (size_t i = 0; i < (size_t)rows * columns; i++) {
        if (pairs[i].verdict == PAIR_LEFT_OUT) continue;
        row_in[i / columns] = true;
        column_in[i % columns] = true;
    }
    for (uint32_t c = 0; c < columns; c++) {
        if (column_in[c]) VECTOR_PUSH(pairer->arena, &table->columns, card_of(pairer, cards->columns.at[c]));
    }
    for (uint32_t r = 0; r < rows; r++) row_count += row_in[r];
    table->pairs = ARENA_ARRAY(pairer->arena, Pair, (size_t)row_count * table->columns.count);
    Pair *next = table->pairs;
    for (uint32_t r = 0; r < rows; r++) {
        if (!row_in[r]) continue;
        PairCard row = card_of(pairer, cards->rows.at[r]);
        for (uint32_t c = 0, column = 0; c < columns; c++) {
            if (!column_in[c]) continue;
            *next = pairs[(size_t)r * columns + c];
            if (next->verdict < PAIR_VERDICT_COUNT) {
                row.count[next->verdict]++;
                table->columns.at[column].count[next->verdict]++;
                table->count[next->verdict]++;
            }
            next++;
            column++;
        }
        VECTOR_PUSH(pairer->arena, &table->rows, row);
    }
}

static void keep_named(CardVector *cards, const Model *model, Text name) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < cards->count; i++) {
        if (text_equal(model_name(model, tree_node(model->tree, cards->at[i])->name), name)) cards->at[count++] = cards->at[i];
    }
    cards->count = count;
}

static void add_table(Pairer *pairer, Pairings *out, PairForm form, Cards2 cards) {
    Model *model = pairer->plan.model;
    const Form *declared = form_of(model, form.form);
    PairTable table = {.form = model_name(model, declared->name), .title = tree_title(model->tree, pairer->arena, declared->node)};
    table.row_field = model_name(model, declared->members.at[form.row].name);
    table.column_field = model_name(model, declared->members.at[form.column].name);
    pairer->table = &table;
    pairer->rules = map_open(pairer->arena);
    const Pair *pairs = judge_pairs(pairer, form, &cards);
    close_table(pairer, &table, &cards, pairs);
    VECTOR_PUSH(pairer->arena, &out->tables, table);
}

/* More would be no table for anybody. */
static bool too_many(Pairer *pairer, PairForm form, const Cards2 *cards) {
    if ((uint64_t)cards->rows.count * cards->columns.count <= PAIRS_LIMIT) return false;
    TextBuilder limit = text_builder(pairer->arena);
    text_add_count(&limit, PAIRS_LIMIT);
    Model *model = pairer->plan.model;
    SAY(model->messages, TOO_MANY_PAIRS, ((Span){0, 0}), model_name(model, model->forms.at[form.form].name), text_built(&limit));
    return true;
}

/* ---- the request -------------------------------------------------------------------------------------------------- */

static bool applies(Pairer *pairer, FormId form) {
    for (uint32_t i = 0; i < pairer->plan.where_count; i++) {
        if (!pair_where_fits(pairer->block, &pairer->plan, form, pairer->plan.wheres[i], false)) return false;
    }
    return true;
}

/* The first word of a condition that could be a field. */
static Symbol first_name(const Tree *tree, NodeId id) {
    if (id == 0) return 0;
    const Node *node = tree_node(tree, id);
    if (node->kind == NODE_NAME) return node->name;
    if (node->kind == NODE_CALL || node->kind == NODE_MEMBER || node->kind == NODE_UNARY) return first_name(tree, node->a);
    if (node->kind != NODE_BINARY && node->kind != NODE_CHAIN) return 0;
    Symbol left = first_name(tree, node->a);
    return left ? left : first_name(tree, node->b);
}

/* No pairing has all that the conditions name: tells what is wrong, in the pairing that was most likely meant. */
static void tell_where(Pairer *pairer, const PairFormVector *forms) {
    Model *model = pairer->plan.model;
    for (uint32_t i = 0; i < pairer->plan.where_count; i++) {
        Symbol name = first_name(model->tree, pairer->plan.wheres[i]);
        FormId meant = forms->at[0].form;
        for (uint32_t f = forms->count; f > 0; f--) {
            if (form_slot(model, forms->at[f - 1].form, name) != UINT32_MAX) meant = forms->at[f - 1].form;
        }
        pair_where_fits(pairer->block, &pairer->plan, meant, pairer->plan.wheres[i], true);
    }
    if (model->messages->errors == 0) { /* each fits some pairing, and none fits all */
        SAY(model->messages, WHERE_APART, tree_node(model->tree, pairer->plan.wheres[0])->span, TEXT(""));
    }
}

static Text list_forms(Arena *arena, const Model *model, const PairFormVector *forms) {
    TextBuilder list = text_builder(arena);
    for (uint32_t i = 0; i < forms->count; i++) {
        if (i > 0) text_add_string(&list, ", ");
        text_add(&list, model_name(model, model->forms.at[forms->at[i].form].name));
    }
    return text_built(&list);
}

/* Leaves the one that is asked for; false after reporting that there is none. */
static bool choose_form(Pairer *pairer, PairFormVector *forms) {
    Model *model = pairer->plan.model;
    Text wanted = pairer->request->form;
    if (wanted.length == 0) return true;
    Nearest nearest = nearest_to(model->symbols, symbol_of(model->symbols, wanted));
    for (uint32_t i = 0; i < forms->count; i++) {
        Symbol name = model->forms.at[forms->at[i].form].name;
        nearest_try(&nearest, name);
        if (!text_equal(model_name(model, name), wanted)) continue;
        forms->at[0] = forms->at[i];
        forms->count = 1;
        return true;
    }
    Text best = nearest_found(&nearest), all = list_forms(pairer->arena, model, forms);
    SAY(model->messages, PAIRING_UNKNOWN, ((Span){0, 0}), wanted,
        best.length ? text_fill(pairer->arena, TEXT("Did you mean {0}?"), &best, 1) : text_fill(pairer->arena, TEXT("There are: {0}."), &all, 1));
    return false;
}

static void nearest_card(Nearest *nearest, const Model *model, const CardVector *cards) {
    for (uint32_t i = 0; i < cards->count; i++) nearest_try(nearest, tree_node(model->tree, cards->at[i])->name);
}

/* The pair that was asked for is not there. */
static void say_no_pair(Pairer *pairer, const PairFormVector *forms) {
    Model *model = pairer->plan.model;
    Text names[2] = {pairer->request->row, pairer->request->column}, advice = {0};
    for (int side = 0; side < 2 && advice.length == 0; side++) {
        Nearest nearest = nearest_to(model->symbols, symbol_of(model->symbols, names[side]));
        bool known = false;
        for (uint32_t i = 0; i < forms->count; i++) {
            CardVector cards = pair_cards(pairer->arena, model, forms->at[i].form, side == 0 ? forms->at[i].row : forms->at[i].column);
            nearest_card(&nearest, model, &cards);
            keep_named(&cards, model, names[side]);
            known = known || cards.count > 0;
        }
        Text best = nearest_found(&nearest);
        if (!known && best.length > 0) advice = text_fill(pairer->arena, TEXT("Did you mean {0}?"), &best, 1);
    }
    SAY(model->messages, PAIR_UNKNOWN, ((Span){0, 0}), names[0], names[1],
        advice.length ? advice : TEXT("Name a card of the rows and one of the columns, in this order, with a comma between."));
}

static void run(Pairer *pairer, Pairings *out, PairFormVector *forms) {
    Model *model = pairer->plan.model;
    PairFormVector tried = {0};
    bool fits = false;
    for (uint32_t i = 0; i < forms->count; i++) {
        const PairForm form = forms->at[i];
        Cards2 cards = {pair_cards(pairer->arena, model, form.form, form.row), pair_cards(pairer->arena, model, form.form, form.column)};
        if (out->one) {
            keep_named(&cards.rows, model, pairer->request->row);
            keep_named(&cards.columns, model, pairer->request->column);
        }
        if (cards.rows.count == 0 || cards.columns.count == 0) continue;
        VECTOR_PUSH(pairer->arena, &tried, form);
        if (too_many(pairer, form, &cards)) {
            fits = true;
            continue;
        }
        if (!applies(pairer, form.form)) {
            VECTOR_PUSH(pairer->arena, &out->passed_over, model_name(model, model->forms.at[form.form].name));
            continue;
        }
        fits = true;
        add_table(pairer, out, form, cards);
    }
    if (tried.count == 0 && out->one) say_no_pair(pairer, forms);
    else if (tried.count == 0 && model->messages->errors + model->messages->machine_errors == 0) SAY(model->messages, NO_PAIRS, ((Span){0, 0}), list_forms(pairer->arena, model, forms));
    else if (tried.count > 0 && !fits) tell_where(pairer, &tried);
}

Pairings *pairings_judge(Arena *arena, const World *world, Sources *sources, Model *model, const PairingRequest *request) {
    Pairings *out = ARENA_NEW(arena, Pairings);
    Pairer pairer = {.arena = arena, .block = arena_open_beside(arena), .request = request};
    pairer.plan = (PairPlan){.world = world, .sources = sources, .model = model};
    out->one = request->row.length > 0;
    NodeId *wheres = ARENA_ARRAY(arena, NodeId, request->where_count);
    bool fine = true;
    for (uint32_t i = 0; i < request->where_count; i++) {
        wheres[i] = condition_read(arena, sources, model->tree, model->messages, TEXT("--where"), request->wheres[i]);
        fine = fine && wheres[i] != 0;
    }
    pair_check_forms(pairer.block, &pairer.plan);
    PairFormVector forms = pair_forms(arena, model);
    pairer.plan.wheres = wheres;
    pairer.plan.where_count = request->where_count;
    if (choose_form(&pairer, &forms) && fine && forms.count > 0) run(&pairer, out, &forms);
    arena_close(pairer.block);
    return out;
}
