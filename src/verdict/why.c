/* What the request of the plan asks for: one path, or an account of everything that a report shows. */
#include "verdict/why.h"

/* The thing that a finding is about, by its place in Program.judged. Both lists have one order; the one of findings leaves
 * some out. */
static bool is_finding_of(Judge *judge, const Judged *judged, const Finding *finding) {
    if (judged->kind == JUDGED_CAUTION || judged->kind == JUDGED_WHERE || judged->advice != finding->advice) return false;
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

/* ---- a path -------------------------------------------------------------------------------------------------------- */

/* lift.load.speed.rms: a number that is made of a whole signal. */
static Account *account_of_reduction(Telling *telling, Text path, NodeId node, const Leaf *leaf, uint32_t depth) {
    Judge *judge = telling->judge;
    const Resolution *whole = program_resolution(judge->program, 0, node);
    Account *account = account_open(judge, path);
    Text name = model_name(judge->model, tree_node(judge->model->tree, node)->name);
    UnitId unit = leaf->object ? unit_of_member(judge, leaf->object, leaf->slot) : 0;
    if (text_is(name, "integral") || text_is(name, "duration")) unit = 0;
    account->value = spell_there(judge, whole->operand, unit, (Instant){0});
    account_instant(judge, account, program_resolution(judge->program, 0, tree_node(judge->model->tree, node)->a)->operand.step, leaf->instant,
                    (Instant){0}, false);
    LeafVector leaves = {0};
    VECTOR_PUSH(judge->arena, &leaves, *leaf);
    if (account->instant.length == 0) account_remark(judge, account, "The {0} over the whole cycle.", name, (Text){0}, (Text){0});
    account_rests_on(telling, account, &leaves, NULL, depth, leaf->instant);
    return account;
}

/* A path as a requirement would write it; NULL when it names no value. */
static const Account *account_of_path(Telling *telling, Text path, NodeId node, uint32_t depth) {
    Judge *judge = telling->judge;
    const Node *last = tree_node(judge->model->tree, node);
    Leaf leaf;
    if (!leaf_of_path(judge, 0, node, (Instant){0}, &leaf)) return NULL;
    const Resolution *of = last->kind == NODE_MEMBER ? program_resolution(judge->program, 0, last->a) : NULL;
    if (of == NULL || of->operand.class != OPERAND_VALUE) return account_of_leaf(telling, &leaf, depth, (Instant){0});
    return account_of_reduction(telling, path, node, &leaf, depth);
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

static void explain_path(Telling *telling, uint32_t depth) {
    Judge *judge = telling->judge;
    const Asked asked = judge->program->asked.at[0];
    NodeId node = asked.node;
    const Resolution *own = program_resolution(judge->program, 0, node);
    if (!asked.known || own == NULL) return;
    if (own->operand.class == OPERAND_OBJECT && own->operand.object != 0) explain_thing(telling, own->operand.object);
    if (own->operand.class == OPERAND_CYCLE || own->operand.class == OPERAND_SEGMENT) {
        LeafVector leaves = {0};
        if (own->operand.index != 0) leaves_of_cycle(judge, own->operand, &leaves);
        for (uint32_t i = 0; i < leaves.count; i++) answer(telling, &leaves.at[i], 0);
    }
    /* A figure of a signal says little without its signal. */
    bool reduced = own->operand.class == OPERAND_VALUE && judge->program->steps.at[own->operand.step].kind == STEP_REDUCE;
    const Account *account = account_of_path(telling, asked.path, node, reduced && depth == 0 ? 1 : depth);
    if (account != NULL) VECTOR_PUSH(judge->arena, &judge->result->answers, account);
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
    /* Facts of cycles, and figures that a requirement or the prose names by a path of its own. */
    Map asked = map_open(judge->arena);
    for (uint32_t i = 0; i < judge->program->asked.count; i++) {
        map_set(&asked, symbol_of(judge->model->symbols, judge->program->asked.at[i].path), i + 1);
    }
    for (uint32_t i = 0; i < values->count; i++) {
        if (values->at[i].account != NULL) continue;
        uint32_t index = map_get(&asked, symbol_of(judge->model->symbols, values->at[i].path), 0);
        if (index == 0 || !judge->program->asked.at[index - 1].known) continue;
        Telling telling = {.judge = judge};
        values->at[i].account = account_of_path(&telling, values->at[i].path, judge->program->asked.at[index - 1].node, 0);
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
    explain_path(&telling, request->depth);
    for (uint32_t i = 0; i < findings->count; i++) {
        if (!text_equal(findings->at[i].id, request->path)) continue;
        VECTOR_PUSH(judge->arena, &judge->result->answers, account_of_finding(&telling, i, request->depth));
    }
    if (judge->result->answers.count == 0) {
        const Account *account = account_of_unjudged(&telling, request->path, request->depth);
        if (account != NULL) VECTOR_PUSH(judge->arena, &judge->result->answers, account);
    }
    if (judge->result->answers.count == 0) find_near(judge, request->path);
}
