/* Going through the cards. Those that are found well side by side are counted; each of the others is compiled and judged by itself,
 * in memory that is used again for the next. */
#include "library/audit.h"

#include "library/audit_card.h"

typedef struct Auditor {
    Audit *audit;
    const World *world;
    Sources *sources;
    Model *model;
    Arena *scratch;
    MissingFacts *missing;
    Map by_form;
    uint8_t *units; /* by symbol: 1 for a unit that was met on a card without findings */
    uint32_t unit_count;
} Auditor;

static AuditList list_cards(Arena *arena, const Model *model) {
    AuditList list = {0};
    for (uint32_t f = 0; f < model->loaded->files.count; f++) {
        const LoadedFile *file = &model->loaded->files.at[f];
        if (file->source->origin != SOURCE_NAMED) continue;
        for (NodeId item = file->first_item; item != 0; item = tree_node(model->tree, item)->next) {
            const Node *node = tree_node(model->tree, item);
            if (node->kind == NODE_FILLED && model_thing(model, node->name) == item) VECTOR_PUSH(arena, &list, item);
        }
    }
    return list;
}

static AuditForm *tally_of(Auditor *auditor, FormId form) {
    Audit *audit = auditor->audit;
    uint32_t index = map_get(&auditor->by_form, form, UINT32_MAX);
    if (index == UINT32_MAX) {
        index = audit->forms.count;
        map_set(&auditor->by_form, form, index);
        VECTOR_PUSH(audit->arena, &audit->forms, (AuditForm){.form = form});
    }
    return &audit->forms.at[index];
}

/* The card, and the forms that are filled in inside it: not those it refers to by name, nor the laws of a cycle. */
static void note_objects(CardAtWork *work) {
    const Program *program = work->program;
    work->objects = ARENA_ARRAY(work->scratch, ObjectId, program->objects.count);
    work->owned = ARENA_ARRAY(work->scratch, bool, program->objects.count);
    for (ObjectId id = 1; id < program->objects.count; id++) {
        ObjectId top = id;
        while (program->objects.at[top].parent != 0) top = program->objects.at[top].parent;
        work->owned[id] = program->objects.at[top].node == work->card && !program->objects.at[id].law;
        if (work->owned[id]) work->objects[work->object_count++] = id;
    }
}

static void take_findings(Auditor *auditor, const AuditFindings *findings, AuditForm *tally, bool mistaken) {
    bool found = false, remarked = false;
    for (uint32_t i = 0; i < findings->count; i++) {
        AuditKind kind = findings->at[i].kind;
        auditor->audit->count[kind]++;
        if (kind == AUDIT_REMARK) remarked = true;
        else found = true;
    }
    tally->cards++;
    tally->mistaken += mistaken;
    tally->found += found;
    tally->remarked += remarked;
    tally->clean += !mistaken && !found && !remarked;
    auditor->audit->cards++;
}

/* Who is to blame for the disagreements, in front of them. One that is at odds with the others all by itself is told in one. */
static void find_culprits(CardAtWork *work, AuditFindings *findings) {
    Audit *audit = work->audit;
    AuditFinding *first = NULL;
    uint32_t disagreements = 0;
    for (uint32_t i = 0; i < findings->count; i++) {
        if (findings->at[i].kind != AUDIT_AGREEMENT) continue;
        if (disagreements++ == 0) first = &findings->at[i];
    }
    if (disagreements == 0) return;
    AuditFindings culprits = {0};
    card_culprits(work, &culprits);
    if (culprits.count == 1 && disagreements == 1 && culprits.at[0].slot == first->slot && culprits.at[0].filled == first->filled) {
        first->alone = true;
        first->slip = culprits.at[0].slip;
        return;
    }
    for (uint32_t i = 0; i < findings->count; i++) findings->at[i].follows = culprits.count == 1 && findings->at[i].kind == AUDIT_AGREEMENT;
    for (uint32_t k = 0; k < culprits.count; k++) VECTOR_PUSH(audit->arena, &audit->findings, culprits.at[k]);
    audit->count[AUDIT_CULPRIT] += culprits.count;
}

static void audit_card(Auditor *auditor, NodeId item) {
    Audit *audit = auditor->audit;
    const Node *node = tree_node(auditor->model->tree, item);
    uint32_t errors = auditor->model->messages->errors;
    arena_clear(auditor->scratch);
    CardAtWork work = {.scratch = auditor->scratch, .audit = audit, .card = item, .told = map_open(auditor->scratch)};
    work.program = plan_build(work.scratch, auditor->world, auditor->sources, auditor->model, (PlanRequest){.scope = PLAN_CARD, .card = item});
    work.evaluation = evaluate(work.scratch, work.program);
    work.judge = (Judge){.arena = work.scratch, .world = auditor->world, .program = work.program, .model = auditor->model,
                         .evaluation = work.evaluation, .messages = auditor->model->messages, .silent = true};
    note_objects(&work);
    FormId form = work.object_count > 0 ? work.program->objects.at[work.objects[0]].form : 0;
    AuditFindings findings = {0};
    card_judge(&work, &findings);
    find_culprits(&work, &findings);
    for (uint32_t i = 0; i < findings.count; i++) VECTOR_PUSH(audit->arena, &audit->findings, findings.at[i]);
    AuditForm *tally = tally_of(auditor, form);
    bool mistaken = work.mistaken || auditor->model->messages->errors > errors || form == 0 || (node->flags & NODE_INCOMPLETE) != 0;
    take_findings(auditor, &findings, tally, mistaken);
    if (form != 0) tally->lacking += missing_count(auditor->missing, item, form);
}

/* Units that can be read in two ways are said to be so, the first time each is met. */
static void say_units(Auditor *auditor, NodeId card) {
    const Tree *tree = auditor->model->tree;
    for (Fields fields = fields_of(tree, card); fields_next(&fields);) {
        const Node *value = fields.node;
        if (value->kind == NODE_BOUNDED) value = tree_node(tree, value->a);
        if (value->kind != NODE_NUMBER || value->name == 0 || value->name >= auditor->unit_count || auditor->units[value->name]) continue;
        auditor->units[value->name] = 1;
        vocabulary_unit(auditor->model->vocabulary, value->name, value->span);
    }
}

/* A card with nothing to say about. */
static void pass_card(Auditor *auditor, NodeId item, FormId form) {
    AuditForm *tally = tally_of(auditor, form);
    say_units(auditor, item);
    take_findings(auditor, &(AuditFindings){0}, tally, false);
    tally->lacking += missing_count(auditor->missing, item, form);
}

Audit *audit_cards(Arena *arena, const World *world, Sources *sources, Model *model, AuditRequest request) {
    Audit *audit = ARENA_NEW(arena, Audit);
    audit->arena = arena;
    audit->model = model;
    Auditor auditor = {.audit = audit, .world = world, .sources = sources, .model = model, .scratch = arena_open_beside(arena)};
    auditor.by_form = map_open(arena);
    auditor.missing = missing_open(audit, world, request);
    auditor.unit_count = symbols_count(model->symbols) + 1;
    auditor.units = arena_take(arena, auditor.unit_count);
    plan_build(auditor.scratch, world, sources, model, (PlanRequest){.scope = PLAN_FORMS});
    AuditList list = list_cards(arena, model);
    FormId *well = request.one_by_one ? NULL : cards_that_are_well(arena, world, sources, model, &list);
    for (uint32_t i = 0; i < list.count; i++) {
        if (well != NULL && well[i] != 0) pass_card(&auditor, list.at[i], well[i]);
        else audit_card(&auditor, list.at[i]);
    }
    missing_close(auditor.missing);
    arena_close(auditor.scratch);
    return audit;
}

int audit_status(const Audit *audit) {
    const Messages *messages = audit->model->messages;
    if (messages->machine_errors > 0) return 3;
    if (messages->errors > 0) return 2;
    for (int kind = AUDIT_AGREEMENT; kind < AUDIT_REMARK; kind++) {
        if (audit->count[kind] > 0) return 1;
    }
    return 0;
}
