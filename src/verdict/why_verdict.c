/* Verdicts: conditions with numbers put in, where they are tightest. */
#include "verdict/why.h"

/* The instant of the comparison that decides. */
static Instant tightest_instant(const Outcome *outcome) {
    if (outcome->room.count == 0 || outcome->tight.fault != VOID_NONE) return (Instant){0};
    const Piece *piece = &outcome->room.pieces[outcome->tight.piece];
    return (Instant){true, outcome->tight.time, piece->start + 0.5 * (piece->end - piece->start)};
}

static Outcome outcome_of(Judge *judge, uint32_t condition) {
    bool silent = judge->silent;
    judge->silent = false; /* with its instant in words */
    Outcome outcome = judge_condition(judge, condition);
    judge->silent = silent;
    return outcome;
}

/* Each `shall` (or `should`) by itself, where it is tightest. Returns that instant, when there is but one. */
static Instant tell_conditions(Judge *judge, Account *account, const Judged *judged, LeafVector *leaves) {
    const Tree *tree = judge->model->tree;
    OptionKind wanted = judged->advice ? OPTION_SHOULD : OPTION_SHALL;
    uint32_t count = 0, at = 0;
    Instant instant = {0};
    for (NodeId id = tree_node(tree, judged->node)->c; id != 0; id = tree_node(tree, id)->next) count += tree_node(tree, id)->op == wanted;
    const Condition *whole = &judge->program->conditions.at[judged->shall];
    for (NodeId id = tree_node(tree, judged->node)->c; id != 0; id = tree_node(tree, id)->next) {
        const Node *option = tree_node(tree, id);
        if (option->op != wanted) continue;
        uint32_t condition = count > 1 && at < whole->child_count ? whole->children[at] : judged->shall;
        at++;
        Outcome outcome = judged->shall ? outcome_of(judge, condition) : (Outcome){0};
        instant = tightest_instant(&outcome);
        Text formula = formula_of_node(judge, option->a), numbers = numbers_of(judge, judged->object, option->a, instant, leaves);
        account_line(judge, account, judged->advice ? "should" : "shall", formula, numbers);
        account->lines.at[account->lines.count - 1].instant = outcome.instant;
    }
    return count == 1 ? instant : (Instant){0};
}

static void tell_when(Judge *judge, Account *account, const Judged *judged, LeafVector *leaves) {
    const Tree *tree = judge->model->tree;
    for (NodeId id = tree_node(tree, judged->node)->c; id != 0; id = tree_node(tree, id)->next) {
        const Node *option = tree_node(tree, id);
        if (option->op != OPTION_WHEN) continue;
        account_line(judge, account, "when", formula_of_node(judge, option->a), numbers_of(judge, judged->object, option->a, (Instant){0}, leaves));
    }
}

/* The form that declares a rule, caution or member; 0 for a requirement. */
static FormId owner_of_rule(Judge *judge, const Judged *judged) {
    if (judged->object == 0) return 0;
    const Form *form = form_of(judge->model, judge->program->objects.at[judged->object].form);
    if (judged->kind == JUDGED_AGREEMENT) return form->members.at[judged->slot].owner;
    for (uint32_t i = 0; i < form->rules.count; i++) {
        if (form->rules.at[i].node == judged->node) return form->rules.at[i].owner;
    }
    for (uint32_t i = 0; i < form->cautions.count; i++) {
        if (form->cautions.at[i].node == judged->node) return form->cautions.at[i].owner;
    }
    return 0;
}

/* A requirement whose verdict follows from those that refine it. */
static void tell_refined(Telling *telling, Account *account, const Finding *finding, uint32_t depth) {
    const Result *result = telling->judge->result;
    for (uint32_t i = 0; i < finding->refined_by.count && depth > 0; i++) {
        for (uint32_t k = 0; k < result->findings.count; k++) {
            if (!text_equal(result->findings.at[k].id, finding->refined_by.at[i])) continue;
            VECTOR_PUSH(telling->judge->arena, &account->rests_on, account_of_finding(telling, k, depth - 1));
        }
    }
}

Account *account_of_finding(Telling *telling, uint32_t which, uint32_t depth) {
    Judge *judge = telling->judge;
    const Finding *finding = &judge->result->findings.at[which];
    Account *account = account_open(judge, finding->id);
    LeafVector leaves = {0};
    Instant instant = {0};
    account->finding = finding;
    account->title = finding->text;
    account->cites = finding->cites;
    if (telling->judged[which] == UINT32_MAX) return account;
    const Judged *judged = &judge->program->judged.at[telling->judged[which]];
    account_place(judge, account, tree_node(judge->model->tree, judged->node)->span, owner_of_rule(judge, judged));
    if (judged->kind == JUDGED_AGREEMENT) {
        const Slot *slot = &judge->program->objects.at[judged->object].slots[judged->slot];
        Leaf leaf = {.object = judged->object, .slot = judged->slot, .segment = UINT32_MAX, .operand = slot->operand};
        VECTOR_PUSH(judge->arena, &leaves, leaf);
    } else {
        tell_when(judge, account, judged, &leaves);
        leaves = (LeafVector){0}; /* of what is judged; not of when */
        instant = tell_conditions(judge, account, judged, &leaves);
    }
    account_rests_on(telling, account, &leaves, NULL, depth, instant);
    tell_refined(telling, account, finding, depth);
    return account;
}

/* A rule that does not apply, or a caution: no verdict, but a condition. */
const Account *account_of_unjudged(Telling *telling, Text path, uint32_t depth) {
    Judge *judge = telling->judge;
    for (uint32_t i = 0; i < judge->program->judged.count; i++) {
        const Judged *judged = &judge->program->judged.at[i];
        if (judged->kind != JUDGED_RULE && judged->kind != JUDGED_CAUTION) continue;
        const Node *node = tree_node(judge->model->tree, judged->node);
        Text parts[2] = {judge->program->objects.at[judged->object].path, model_name(judge->model, node->name)};
        if (!text_equal(path, text_fill(judge->arena, TEXT("{0}.{1}"), parts, 2))) continue;
        Account *account = account_open(judge, path);
        LeafVector leaves = {0};
        const Computed *when = judged->when ? &judge->evaluation->values[judged->when] : NULL;
        account->verdict = when && when->state == COMPUTED_NUMBER && when->number == 0 ? TEXT("does not apply") : TEXT("applies");
        account->title = tree_title(judge->model->tree, judge->arena, judged->node);
        account_place(judge, account, node->span, owner_of_rule(judge, judged));
        tell_when(judge, account, judged, &leaves);
        account_rests_on(telling, account, &leaves, NULL, depth, (Instant){0});
        return account;
    }
    return NULL;
}
