/* What cards leave out, and what stating it would unlock: the values whose formulas rest on it, and the rules that ask for it
 * or rest on those values. That is a matter of the form, so it is worked out once for each, from its formulas as written; a
 * name that stands behind `if stated(name)` holds nothing up. */
#include <stdlib.h>

#include "library/audit_card.h"
#include "library/missing_pairs.h"
#include "library/rests.h"

typedef struct FormFacts {
    FormId form;
    Rests rests;
    uint32_t *fact;  /* by member: index into `facts` plus one; 0: it is no fact that unlocks anything */
    uint32_t *stated; /* by member: number of the latest card that states it */
} FormFacts;

struct MissingFacts {
    Audit *audit;
    AuditRequest request;
    Arena *scratch;
    VECTOR(FormFacts) forms;
    Map by_form;
    PairRules *pairs;
    VECTOR(AuditMissing) facts;
    uint32_t cards;
    SlotMemo memo;
};

MissingFacts *missing_open(Audit *audit, const World *world, AuditRequest request) {
    MissingFacts *missing = ARENA_NEW(audit->arena, MissingFacts);
    missing->audit = audit;
    missing->request = request;
    missing->scratch = arena_open_beside(audit->arena);
    missing->by_form = map_open(missing->scratch);
    missing->pairs = pair_rules_open(audit->arena, world);
    return missing;
}

/* ---- facts of a form ------------------------------------------------------------------------------------------------ */

/* The form itself or the nearest that it builds on, that is the standard library's; 0: none is. */
static FormId standard_form(const Model *model, FormId form) {
    for (; form != 0; form = model->forms.at[form].base) {
        const Source *source = source_of(model->tree->sources, tree_node(model->tree, model->forms.at[form].node)->span.start);
        if (source != NULL && source->origin == SOURCE_STANDARD) return form;
    }
    return 0;
}

static void add_fact(MissingFacts *missing, FormFacts *facts, const Form *form, uint32_t slot) {
    AuditMissing fact = {.form = facts->form, .slot = slot};
    rests_begin(&facts->rests);
    rests_mark(&facts->rests, slot, NULL, 0);
    for (uint32_t i = 0; i < form->members.count; i++) {
        if (facts->rests.marks[i] && i != slot) VECTOR_PUSH(missing->audit->arena, &fact.unlocks, (AuditUnlocked){.form = facts->form, .slot = i});
    }
    for (uint32_t i = 0; i < facts->rests.rules; i++) {
        if (facts->rests.marks[form->members.count + i]) {
            VECTOR_PUSH(missing->audit->arena, &fact.unlocks, (AuditUnlocked){.form = facts->form, .slot = UINT32_MAX, .rule = form->rules.at[i].node, .index = i});
        }
    }
    const Model *model = missing->audit->model;
    FormId standard = standard_form(model, facts->form);
    if (standard != 0) fact.pairs = pair_rules_of(missing->pairs, model_name(model, model->forms.at[standard].name), model_name(model, form->members.at[slot].name));
    if (fact.unlocks.count == 0 && fact.pairs.count == 0) return;
    VECTOR_PUSH(missing->audit->arena, &missing->facts, fact);
    facts->fact[slot] = missing->facts.count;
}

static FormFacts *facts_of(MissingFacts *missing, FormId id) {
    uint32_t known = map_get(&missing->by_form, id, UINT32_MAX);
    if (known != UINT32_MAX) return &missing->forms.at[known];
    const Form *form = form_of(missing->audit->model, id);
    FormFacts facts = {.form = id};
    facts.fact = ARENA_ARRAY(missing->scratch, uint32_t, form->members.count);
    facts.stated = ARENA_ARRAY(missing->scratch, uint32_t, form->members.count);
    facts.rests = rests_of_form(missing->scratch, missing->audit->model, id, NULL);
    for (uint32_t i = 0; i < form->members.count; i++) {
        if (form->members.at[i].class == NODE_MAYBE && form->members.at[i].formula == 0) add_fact(missing, &facts, form, i);
    }
    map_set(&missing->by_form, id, missing->forms.count);
    VECTOR_PUSH(missing->scratch, &missing->forms, facts);
    return &missing->forms.at[missing->forms.count - 1];
}

/* ---- counting ------------------------------------------------------------------------------------------------------ */

/* What stating the fact would give to one card. */
static void count_unlocked(FormFacts *facts, uint32_t members, AuditMissing *fact, uint32_t card) {
    bool some_stated = false;
    fact->worth += fact->pairs.count;
    for (uint32_t k = 0; k < fact->unlocks.count; k++) {
        uint32_t slot = fact->unlocks.at[k].slot;
        some_stated = some_stated || (slot != UINT32_MAX && facts->stated[slot] == card);
    }
    if (some_stated) rests_begin(&facts->rests);
    if (some_stated) rests_mark(&facts->rests, fact->slot, facts->stated, card);
    for (uint32_t k = 0; k < fact->unlocks.count; k++) {
        AuditUnlocked *one = &fact->unlocks.at[k];
        uint32_t index = one->slot != UINT32_MAX ? one->slot : members + one->index;
        if (some_stated && !facts->rests.marks[index]) continue;
        one->cards++;
        fact->worth++;
    }
}

bool missing_count(MissingFacts *missing, NodeId card, FormId id) {
    const Model *model = missing->audit->model;
    FormFacts *facts = facts_of(missing, id);
    const Form *form = form_of(missing->audit->model, id);
    uint32_t number = ++missing->cards;
    bool lacking = false;
    for (Fields fields = fields_of(model->tree, card); fields_next(&fields);) {
        uint32_t slot = fields.name ? form_slot_again(model, &missing->memo, id, fields.name) : UINT32_MAX;
        if (slot != UINT32_MAX) facts->stated[slot] = number;
    }
    for (uint32_t i = 0; i < form->members.count; i++) {
        if (facts->stated[i] == number) continue;
        if (facts->fact[i] == 0) continue;
        AuditMissing *fact = &missing->facts.at[facts->fact[i] - 1];
        uint64_t before = fact->worth;
        count_unlocked(facts, form->members.count, fact, number);
        if (fact->worth == before) continue;
        fact->cards++;
        lacking = true;
        if (missing->request.list_missing) VECTOR_PUSH(missing->audit->arena, &fact->of, card);
    }
    return lacking;
}

static int by_worth(const void *left, const void *right) {
    const AuditMissing *a = left, *b = right;
    if (a->worth != b->worth) return a->worth > b->worth ? -1 : 1;
    if (a->form != b->form) return a->form < b->form ? -1 : 1;
    return (a->slot > b->slot) - (a->slot < b->slot);
}

void missing_close(MissingFacts *missing) {
    for (uint32_t i = 0; i < missing->facts.count; i++) {
        if (missing->facts.at[i].cards > 0) VECTOR_PUSH(missing->audit->arena, &missing->audit->missing, missing->facts.at[i]);
    }
    if (missing->audit->missing.count > 0) qsort(missing->audit->missing.at, missing->audit->missing.count, sizeof *missing->audit->missing.at, by_worth);
    arena_close(missing->scratch);
}
