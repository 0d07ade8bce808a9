#include "library/rests.h"

typedef struct Walk {
    Arena *arena;
    Model *model;
    FormId form;
    const HeldPart *part;
    Symbol stated;
    Slots *own, *of_part; /* where to note what is named */
    Slots guarded, guarded_of_part; /* asked for by `stated` further up */
    bool asking; /* a rule */
} Walk;

static const Node *node_of(const Walk *w, NodeId id) { return tree_node(w->model->tree, id); }

/* The member of the held part that a node names; UINT32_MAX: none. */
static uint32_t part_slot(const Walk *w, const Node *node) {
    if (w->part == NULL || node->kind != NODE_MEMBER || node_of(w, node->a)->kind != NODE_NAME) return UINT32_MAX;
    uint32_t field = form_slot(w->model, w->form, node_of(w, node->a)->name);
    return field != UINT32_MAX && w->part->names[field] ? form_slot(w->model, w->part->form, node->name) : UINT32_MAX;
}

static bool holds(const Slots *slots, uint32_t slot) {
    for (uint32_t i = 0; i < slots->count; i++) {
        if (slots->at[i] == slot) return true;
    }
    return false;
}

static void note(Walk *w, NodeId id, Slots *own, Slots *of_part) {
    const Node *node = node_of(w, id);
    uint32_t slot = part_slot(w, node);
    if (slot != UINT32_MAX) {
        if (!holds(&w->guarded_of_part, slot)) VECTOR_PUSH(w->arena, of_part, slot);
        return;
    }
    while (node->kind == NODE_MEMBER) node = node_of(w, node->a);
    slot = node->kind == NODE_NAME ? form_slot(w->model, w->form, node->name) : UINT32_MAX;
    if (slot != UINT32_MAX && !holds(&w->guarded, slot)) VECTOR_PUSH(w->arena, own, slot);
}

/* What a condition asks `stated` for. */
static void note_stated(Walk *w, NodeId id, Slots *own, Slots *of_part) {
    const Node *node = id ? node_of(w, id) : NULL;
    if (node == NULL) return;
    if (node->kind == NODE_CALL && node->name == w->stated && node->a != 0) {
        note(w, node->a, own, of_part);
    } else if (node->kind == NODE_BINARY || node->kind == NODE_UNARY) {
        note_stated(w, node->a, own, of_part);
        if (node->kind == NODE_BINARY) note_stated(w, node->b, own, of_part);
    }
}

static void walk(Walk *w, NodeId id);

static void walk_list(Walk *w, NodeId id) {
    for (; id != 0; id = node_of(w, id)->next) walk(w, id);
}

static void walk(Walk *w, NodeId id) {
    const Node *node = id ? node_of(w, id) : NULL;
    if (node == NULL) return;
    uint32_t guards = w->guarded.count, part_guards = w->guarded_of_part.count;
    switch ((NodeKind)node->kind) {
    case NODE_NAME:
    case NODE_MEMBER: note(w, id, w->own, w->of_part); break;
    case NODE_UNARY: walk(w, node->a); break;
    case NODE_BINARY:
    case NODE_CHAIN:
        walk(w, node->a);
        walk(w, node->b);
        break;
    case NODE_IF:
        note_stated(w, node->a, &w->guarded, &w->guarded_of_part);
        walk(w, node->a);
        walk(w, node->b);
        walk(w, node->c);
        w->guarded.count = guards;
        w->guarded_of_part.count = part_guards;
        break;
    case NODE_CALL:
        if (node->name != w->stated) walk_list(w, node->a);
        else if (w->asking) note_stated(w, id, w->own, w->of_part);
        break;
    case NODE_LIST: walk_list(w, node->a); break;
    default: break;
    }
}

/* The word that a form gives a member once and for all: type = brushed; 0: it does not. */
static Symbol fixed_word(const Walk *w, NodeId id) {
    const Node *node = node_of(w, id);
    uint32_t slot = part_slot(w, node);
    FormId form = slot != UINT32_MAX ? w->part->form : w->form;
    if (slot == UINT32_MAX && node->kind == NODE_NAME) slot = form_slot(w->model, w->form, node->name);
    if (slot == UINT32_MAX) return 0;
    const Member *member = &w->model->forms.at[form].members.at[slot];
    const Node *formula = member->formula ? node_of(w, member->formula) : NULL;
    bool fixed = member->class == NODE_LET && member->type.class == TYPE_CHOICE && formula != NULL && formula->kind == NODE_NAME;
    return fixed && form_slot(w->model, form, formula->name) == UINT32_MAX ? formula->name : 0;
}

/* Whether a rule with this `when` can apply to no such part: `when motor.type = brushless`, of a motor with brushes. */
static bool never_holds(const Walk *w, NodeId id) {
    const Node *node = id ? node_of(w, id) : NULL;
    if (node == NULL || node->kind != NODE_BINARY) return false;
    if (node->op == OPERATOR_AND) return never_holds(w, node->a) || never_holds(w, node->b);
    if ((node->op != OPERATOR_EQUAL && node->op != OPERATOR_UNEQUAL) || node_of(w, node->b)->kind != NODE_NAME) return false;
    Symbol word = fixed_word(w, node->a);
    return word != 0 && (word == node_of(w, node->b)->name) == (node->op == OPERATOR_UNEQUAL);
}

Rests rests_of_form(Arena *arena, Model *model, FormId id, const HeldPart *part) {
    const Form *form = form_of(model, id);
    Rests rests = {.members = form->members.count, .rules = form->rules.count};
    uint32_t all = rests.members + rests.rules;
    rests.used_by = ARENA_ARRAY(arena, Slots, rests.members);
    rests.of_part = ARENA_ARRAY(arena, Slots, all);
    rests.marks = arena_take(arena, all);
    rests.queue = ARENA_ARRAY(arena, uint32_t, all + 1);
    Walk w = {.arena = arena, .model = model, .form = id, .part = part, .stated = symbol_of(model->symbols, TEXT("stated"))};
    for (uint32_t i = 0; i < all; i++) {
        Slots own = {0};
        w.own = &own;
        w.of_part = &rests.of_part[i];
        w.asking = i >= rests.members;
        if (!w.asking) walk(&w, form->members.at[i].formula);
        NodeId option = w.asking ? tree_node(model->tree, form->rules.at[i - rests.members].node)->c : 0;
        for (; option != 0; option = node_of(&w, option)->next) {
            OptionKind kind = (OptionKind)node_of(&w, option)->op;
            if (kind == OPTION_WHEN && never_holds(&w, node_of(&w, option)->a)) {
                own.count = rests.of_part[i].count = 0;
                break;
            }
            if (kind == OPTION_WHEN || kind == OPTION_SHALL || kind == OPTION_SHOULD) walk(&w, node_of(&w, option)->a);
        }
        for (uint32_t k = 0; k < own.count; k++) VECTOR_PUSH(arena, &rests.used_by[own.at[k]], i);
    }
    return rests;
}

void rests_begin(Rests *rests) {
    for (uint32_t i = 0; i < rests->members + rests->rules; i++) rests->marks[i] = 0;
}

void rests_mark(Rests *rests, uint32_t index, const uint32_t *halt, uint32_t halted) {
    uint32_t count = 0;
    if (rests->marks[index]) return;
    rests->marks[index] = 1;
    rests->queue[count++] = index;
    for (uint32_t next = 0; next < count; next++) {
        if (rests->queue[next] >= rests->members) continue;
        const Slots *users = &rests->used_by[rests->queue[next]];
        for (uint32_t k = 0; k < users->count; k++) {
            uint32_t user = users->at[k];
            if (rests->marks[user] || (halt != NULL && user < rests->members && halt[user] == halted)) continue;
            rests->marks[user] = 1;
            rests->queue[count++] = user;
        }
    }
}
