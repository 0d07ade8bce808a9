/* Verdicts: conditions with numbers put in, where they are tightest; and what the request of the plan asks for. */
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

/* ---- what was asked for -------------------------------------------------------------------------------------------- */

/* The thing that a finding is about, by its place in Program.judged. Both lists have one order; the one of findings leaves
 * some out. */
static bool is_finding_of(Judge *judge, const Judged *judged, const Finding *finding) {
    if (judged->kind == JUDGED_CAUTION || judged->advice != finding->advice) return false;
    bool requirement = judged->kind == JUDGED_REQUIREMENT;
    if (requirement != (finding->kind == FINDING_REQUIREMENT)) return false;
    if ((judged->kind == JUDGED_AGREEMENT) != (finding->kind == FINDING_AGREEMENT)) return false;
    Text name = model_name(judge->model, tree_node(judge->model->tree, judged->node)->name);
    if (requirement) return text_equal(name, finding->id);
    Text path = judge->program->objects.at[judged->object].path;
    if (finding->id.length != path.length + 1 + name.length) return false;
    return text_starts(finding->id, path) && finding->id.at[path.length] == '.' && text_ends(finding->id, name);
}

static const uint32_t *judged_of_findings(Judge *judge) {
    uint32_t *judged = ARENA_ARRAY(judge->arena, uint32_t, judge->result->findings.count), next = 0;
    for (uint32_t i = 0; i < judge->result->findings.count; i++) {
        uint32_t from = next;
        while (next < judge->program->judged.count && !is_finding_of(judge, &judge->program->judged.at[next], &judge->result->findings.at[i])) next++;
        judged[i] = next < judge->program->judged.count ? next++ : UINT32_MAX;
        if (judged[i] == UINT32_MAX) next = from;
    }
    return judged;
}

/* A rule that does not apply, or a caution: no verdict, but a condition. */
static void explain_unjudged(Telling *telling, Text path, uint32_t depth) {
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
        VECTOR_PUSH(judge->arena, &judge->result->answers, account);
        return;
    }
}

static void explain_values(Judge *judge) {
    uint32_t at = 0;
    ValueVector *values = &judge->result->values;
    for (uint32_t t = 0; t < judge->result->things.count; t++) {
        const Thing *thing = &judge->result->things.at[t];
        ObjectId object = 0;
        for (ObjectId id = at + 1; id < judge->program->objects.count && object == 0; id++) {
            const Object *one = &judge->program->objects.at[id];
            if (one->in_use && !one->abstract && !one->law && text_equal(one->path, thing->path)) object = id;
        }
        if (object == 0) continue; /* a cycle */
        at = object;
        for (uint32_t slot = 0; slot < thing->value_count; slot++) {
            const Operand operand = judge->program->objects.at[object].slots[slot].operand;
            if (operand.class == OPERAND_BROKEN || operand.class == OPERAND_OBJECT || operand.class == OPERAND_CYCLE) continue;
            Telling telling = {.judge = judge};
            Leaf leaf = {.object = object, .slot = slot, .segment = UINT32_MAX, .operand = operand};
            values->at[thing->first_value + slot].account = account_of_leaf(&telling, &leaf, 0, (Instant){0});
        }
    }
}

/* ---- a path -------------------------------------------------------------------------------------------------------- */

/* lift.load.speed.rms: a number that is made of a whole signal. */
static Account *account_of_reduction(Telling *telling, NodeId node, const Leaf *leaf, uint32_t depth) {
    Judge *judge = telling->judge;
    const Resolution *whole = program_resolution(judge->program, 0, node);
    Account *account = account_open(judge, judge->program->request.path);
    Text name = model_name(judge->model, tree_node(judge->model->tree, node)->name);
    UnitId unit = leaf->object ? unit_of_member(judge, leaf->object, leaf->slot) : 0;
    if (text_is(name, "integral") || text_is(name, "duration")) unit = 0;
    account->value = spell_there(judge, whole->operand, unit, (Instant){0});
    account_instant(judge, account, program_resolution(judge->program, 0, tree_node(judge->model->tree, node)->a)->operand.step, leaf->instant,
                    (Instant){0}, false);
    LeafVector leaves = {0};
    VECTOR_PUSH(judge->arena, &leaves, *leaf);
    if (account->instant.length == 0) account_remark(judge, account, "The {0} over the whole cycle.", name, (Text){0}, (Text){0});
    account_rests_on(telling, account, &leaves, NULL, depth > 0 ? depth : 1, leaf->instant);
    return account;
}

static void answer(Telling *telling, const Leaf *leaf, uint32_t depth) {
    VECTOR_PUSH(telling->judge->arena, &telling->judge->result->answers, account_of_leaf(telling, leaf, depth, (Instant){0}));
}

/* A whole thing: all its values, each by itself. */
static void explain_thing(Telling *telling, ObjectId id) {
    Judge *judge = telling->judge;
    const Object *object = &judge->program->objects.at[id];
    uint32_t count = form_of(judge->model, object->form)->members.count;
    for (uint32_t slot = 0; slot < count; slot++) {
        Operand operand = object->slots[slot].operand;
        if (operand.class == OPERAND_BROKEN || operand.class == OPERAND_ABSENT) continue;
        answer(telling, &(Leaf){.object = id, .slot = slot, .segment = UINT32_MAX, .operand = operand}, 0);
    }
}

static void explain_path(Telling *telling, NodeId node, uint32_t depth) {
    Judge *judge = telling->judge;
    const Tree *tree = judge->model->tree;
    const Resolution *own = program_resolution(judge->program, 0, node);
    if (!judge->program->asked.known || own == NULL) return;
    if (own->operand.class == OPERAND_OBJECT && own->operand.object != 0) explain_thing(telling, own->operand.object);
    if (own->operand.class == OPERAND_CYCLE || own->operand.class == OPERAND_SEGMENT) {
        LeafVector leaves = {0};
        if (own->operand.index != 0) leaves_of_cycle(judge, own->operand, &leaves);
        for (uint32_t i = 0; i < leaves.count; i++) answer(telling, &leaves.at[i], 0);
    }
    Leaf leaf;
    if (!leaf_of_path(judge, 0, node, (Instant){0}, &leaf)) return;
    const Resolution *of = tree_node(tree, node)->kind == NODE_MEMBER ? program_resolution(judge->program, 0, tree_node(tree, node)->a) : NULL;
    if (of != NULL && of->operand.class == OPERAND_VALUE) {
        VECTOR_PUSH(judge->arena, &judge->result->answers, account_of_reduction(telling, node, &leaf, depth));
    } else {
        answer(telling, &leaf, depth);
    }
}

typedef struct Nearby {
    Text wanted, best;
    unsigned distance;
} Nearby;

static void try_near(Nearby *nearby, Text candidate) {
    if (candidate.length == 0 || nearby->distance == 0) return;
    unsigned distance = text_distance(nearby->wanted, candidate, nearby->distance - 1);
    if (distance >= nearby->distance) return;
    nearby->distance = distance;
    nearby->best = candidate;
}

static void find_near(Judge *judge, Text path) {
    const Result *result = judge->result;
    static const char *const reductions[] = {"peak", "maximum", "minimum", "mean", "rms", "integral", "duration"};
    Nearby nearby = {.wanted = path, .distance = 1 + (unsigned)(path.length > 80 ? 14 : (path.length + 4) / 6)};
    for (uint32_t i = 0; i < result->findings.count; i++) try_near(&nearby, result->findings.at[i].id);
    for (uint32_t i = 0; i < result->values.count; i++) {
        Text parts[2] = {result->values.at[i].path};
        try_near(&nearby, parts[0]);
        if (!result->values.at[i].is_signal || !text_starts(path, parts[0])) continue;
        for (unsigned k = 0; k < sizeof reductions / sizeof reductions[0]; k++) {
            parts[1] = text_from(reductions[k]);
            try_near(&nearby, text_fill(judge->arena, TEXT("{0}.{1}"), parts, 2));
        }
    }
    for (uint32_t i = 0; i < result->things.count; i++) try_near(&nearby, result->things.at[i].path);
    judge->result->near = nearby.best;
}

void explain_all(Judge *judge) {
    const PlanRequest *request = &judge->program->request;
    FindingVector *findings = &judge->result->findings;
    if (!request->explained) return;
    Telling telling = {.judge = judge, .judged = judged_of_findings(judge)};
    if (request->path.length == 0) {
        explain_values(judge);
        for (uint32_t i = 0; i < findings->count; i++) findings->at[i].account = account_of_finding(&telling, i, 0);
        return;
    }
    if (judge->program->asked.node != 0) explain_path(&telling, judge->program->asked.node, request->depth);
    for (uint32_t i = 0; i < findings->count; i++) {
        if (!text_equal(findings->at[i].id, request->path)) continue;
        VECTOR_PUSH(judge->arena, &judge->result->answers, account_of_finding(&telling, i, request->depth));
    }
    if (judge->result->answers.count == 0) explain_unjudged(&telling, request->path, request->depth);
    if (judge->result->answers.count == 0) find_near(judge, request->path);
}
