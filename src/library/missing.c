/* What cards leave out, and what stating it would unlock: the values whose formulas rest on it, and the rules that ask for it
 * or rest on those values. That is a matter of the form, so it is worked out once for each, from its formulas as written; a
 * name that stands behind `if stated(name)` holds nothing up. */
#include <stdlib.h>

#include "library/audit_card.h"

typedef VECTOR(uint32_t) Slots;

typedef struct FormFacts {
    FormId form;
    Slots *rests_on; /* by member, then by rule: the members that it cannot do without */
    Slots *used_by;  /* by member: what rests on it */
    uint8_t *marks;  /* by member, then by rule: room for one search */
    uint32_t *queue;
    uint32_t *fact;  /* by member: index into `facts` plus one; 0: it is no fact that unlocks anything */
    uint32_t *stated; /* by member: number of the latest card that states it */
    uint32_t rule_count;
} FormFacts;

struct MissingFacts {
    Audit *audit;
    AuditRequest request;
    Arena *scratch;
    Symbol stated;
    VECTOR(FormFacts) forms;
    Map by_form;
    VECTOR(AuditMissing) facts;
    uint32_t cards;
};

MissingFacts *missing_open(Audit *audit, AuditRequest request) {
    MissingFacts *missing = ARENA_NEW(audit->arena, MissingFacts);
    missing->audit = audit;
    missing->request = request;
    missing->scratch = arena_open_beside(audit->arena);
    missing->stated = symbol_of(audit->model->symbols, TEXT("stated"));
    missing->by_form = map_open(missing->scratch);
    return missing;
}

/* ---- what rests on what ------------------------------------------------------------------------------------------- */

typedef struct Walk {
    MissingFacts *missing;
    FormId form;
    Slots *found;
    Slots guarded; /* members asked for by `stated` further up */
    bool asking;   /* a rule: what it asks `stated` for counts, because it applies then */
} Walk;

static void walk(Walk *w, NodeId id);

static void walk_list(Walk *w, NodeId id) {
    for (; id != 0; id = tree_node(w->missing->audit->model->tree, id)->next) walk(w, id);
}

/* The members that a condition asks `stated` for. */
static void note_stated(Walk *w, NodeId id, Slots *slots) {
    const Tree *tree = w->missing->audit->model->tree;
    const Node *node = id ? tree_node(tree, id) : NULL;
    if (node == NULL || node->kind == NODE_NUMBER || node->kind == NODE_NAME || node->kind == NODE_TEXT) return;
    if (node->kind == NODE_CALL && node->name == w->missing->stated && node->a != 0) {
        uint32_t slot = form_slot(w->missing->audit->model, w->form, tree_node(tree, node->a)->name);
        if (tree_node(tree, node->a)->kind == NODE_NAME && slot != UINT32_MAX) VECTOR_PUSH(w->missing->scratch, slots, slot);
    } else if (node->kind == NODE_BINARY || node->kind == NODE_UNARY) {
        note_stated(w, node->a, slots);
        if (node->kind == NODE_BINARY) note_stated(w, node->b, slots);
    }
}

static void walk_name(Walk *w, Symbol name) {
    uint32_t slot = form_slot(w->missing->audit->model, w->form, name);
    if (slot == UINT32_MAX) return;
    for (uint32_t i = 0; i < w->guarded.count; i++) {
        if (w->guarded.at[i] == slot) return;
    }
    VECTOR_PUSH(w->missing->scratch, w->found, slot);
}

static void walk(Walk *w, NodeId id) {
    const Node *node = id ? tree_node(w->missing->audit->model->tree, id) : NULL;
    if (node == NULL) return;
    uint32_t guards = w->guarded.count;
    switch ((NodeKind)node->kind) {
    case NODE_NAME: walk_name(w, node->name); break;
    case NODE_MEMBER: walk(w, node->a); break;
    case NODE_UNARY: walk(w, node->a); break;
    case NODE_BINARY:
    case NODE_CHAIN:
        walk(w, node->a);
        walk(w, node->b);
        break;
    case NODE_IF:
        note_stated(w, node->a, &w->guarded);
        walk(w, node->a);
        walk(w, node->b);
        walk(w, node->c);
        w->guarded.count = guards;
        break;
    case NODE_CALL:
        if (node->name == w->missing->stated) {
            if (w->asking) note_stated(w, id, w->found);
        } else {
            walk_list(w, node->a);
        }
        break;
    case NODE_LIST: walk_list(w, node->a); break;
    default: break;
    }
}

static void find_rests(MissingFacts *missing, FormFacts *facts, const Form *form) {
    const Tree *tree = missing->audit->model->tree;
    facts->rule_count = form->rules.count;
    facts->rests_on = ARENA_ARRAY(missing->scratch, Slots, form->members.count + form->rules.count);
    for (uint32_t i = 0; i < form->members.count; i++) {
        Walk w = {.missing = missing, .form = facts->form, .found = &facts->rests_on[i]};
        if (form->members.at[i].formula != 0) walk(&w, form->members.at[i].formula);
    }
    for (uint32_t i = 0; i < form->rules.count; i++) {
        Walk w = {.missing = missing, .form = facts->form, .found = &facts->rests_on[form->members.count + i], .asking = true};
        for (NodeId id = tree_node(tree, form->rules.at[i].node)->c; id != 0; id = tree_node(tree, id)->next) {
            OptionKind kind = (OptionKind)tree_node(tree, id)->op;
            if (kind == OPTION_WHEN || kind == OPTION_SHALL || kind == OPTION_SHOULD) walk(&w, tree_node(tree, id)->a);
        }
    }
}

/* The reverse: by member, what rests on it. */
static void turn_round(MissingFacts *missing, FormFacts *facts, uint32_t members) {
    facts->used_by = ARENA_ARRAY(missing->scratch, Slots, members);
    facts->marks = arena_take(missing->scratch, members + facts->rule_count);
    facts->queue = ARENA_ARRAY(missing->scratch, uint32_t, members + facts->rule_count + 1);
    for (uint32_t i = 0; i < members + facts->rule_count; i++) {
        for (uint32_t k = 0; k < facts->rests_on[i].count; k++) {
            VECTOR_PUSH(missing->scratch, &facts->used_by[facts->rests_on[i].at[k]], i);
        }
    }
}

/* Everything that rests on one member, through others too: marks by member and rule. Members that `card` states, do not;
 * card 0 states none. */
static void mark_unlocked(FormFacts *facts, uint32_t members, uint32_t slot, uint32_t card) {
    uint32_t count = 1;
    for (uint32_t i = 0; i < members + facts->rule_count; i++) facts->marks[i] = 0;
    facts->marks[slot] = 1;
    facts->queue[0] = slot;
    for (uint32_t next = 0; next < count; next++) {
        if (facts->queue[next] >= members) continue;
        const Slots *users = &facts->used_by[facts->queue[next]];
        for (uint32_t k = 0; k < users->count; k++) {
            uint32_t user = users->at[k];
            if (facts->marks[user] || (card != 0 && user < members && facts->stated[user] == card)) continue;
            facts->marks[user] = 1;
            facts->queue[count++] = user;
        }
    }
}

static void add_fact(MissingFacts *missing, FormFacts *facts, const Form *form, uint32_t slot) {
    AuditMissing fact = {.form = facts->form, .slot = slot};
    mark_unlocked(facts, form->members.count, slot, 0);
    for (uint32_t i = 0; i < form->members.count; i++) {
        if (facts->marks[i] && i != slot) VECTOR_PUSH(missing->audit->arena, &fact.unlocks, (AuditUnlocked){.form = facts->form, .slot = i});
    }
    for (uint32_t i = 0; i < facts->rule_count; i++) {
        if (facts->marks[form->members.count + i]) {
            VECTOR_PUSH(missing->audit->arena, &fact.unlocks, (AuditUnlocked){.form = facts->form, .slot = UINT32_MAX, .rule = form->rules.at[i].node, .index = i});
        }
    }
    if (fact.unlocks.count == 0) return;
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
    find_rests(missing, &facts, form);
    turn_round(missing, &facts, form->members.count);
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
    for (uint32_t k = 0; k < fact->unlocks.count; k++) {
        uint32_t slot = fact->unlocks.at[k].slot;
        some_stated = some_stated || (slot != UINT32_MAX && facts->stated[slot] == card);
    }
    if (some_stated) mark_unlocked(facts, members, fact->slot, card);
    for (uint32_t k = 0; k < fact->unlocks.count; k++) {
        AuditUnlocked *one = &fact->unlocks.at[k];
        uint32_t index = one->slot != UINT32_MAX ? one->slot : members + one->index;
        if (some_stated && !facts->marks[index]) continue;
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
    for (NodeId field = tree_node(model->tree, card)->b; field != 0; field = tree_node(model->tree, field)->next) {
        uint32_t slot = tree_node(model->tree, field)->kind == NODE_FIELD ? form_slot(model, id, tree_node(model->tree, field)->name) : UINT32_MAX;
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
