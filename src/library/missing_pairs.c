#include "library/missing_pairs.h"

#include "library/rests.h"

/* One pairing, with the part in one of its two fields. */
typedef struct Seat {
    FormId pairing;
    Rests rests;
} Seat;

typedef struct Part {
    FormId form;
    Rests rests;
    uint32_t *given; /* by member: 1 for what cards may state, which then rests on nothing */
    VECTOR(Seat) seats;
} Part;

struct PairRules {
    Arena *arena;
    const World *world;
    Model *model; /* NULL until something is asked for */
    VECTOR(Part) parts;
    Map by_form;
};

PairRules *pair_rules_open(Arena *arena, const World *world) {
    PairRules *pairs = ARENA_NEW(arena, PairRules);
    pairs->arena = arena;
    pairs->world = world;
    pairs->by_form = map_open(arena);
    return pairs;
}

static void load(PairRules *pairs) {
    Sources *sources = sources_open(pairs->arena);
    Symbols *symbols = symbols_open(pairs->arena);
    Messages *messages = messages_open(pairs->arena, sources);
    Tree *tree = tree_open(pairs->arena, symbols, sources);
    Loaded *loaded = load_files(pairs->arena, pairs->world, sources, tree, messages, (LoadRequest){.standard = TEXT("pairings.trn")});
    pairs->model = model_open(pairs->arena, loaded, symbols, messages);
}

/* A pairing that leaves to its descendants what a part is, is none itself. */
static bool is_complete(const Form *form) {
    for (uint32_t i = 0; i < form->members.count; i++) {
        if (form->members.at[i].class == NODE_LET && form->members.at[i].formula == 0) return false;
    }
    return true;
}

/* The field, and members whose formula is nothing but its name. */
static const uint8_t *names_of_field(PairRules *pairs, const Form *form, uint32_t field) {
    uint8_t *names = arena_take(pairs->arena, form->members.count);
    names[field] = 1;
    for (uint32_t i = 0; i < form->members.count; i++) {
        const Member *member = &form->members.at[i];
        const Node *formula = member->formula ? tree_node(pairs->model->tree, member->formula) : NULL;
        if (formula != NULL && formula->kind == NODE_NAME && formula->name == form->members.at[field].name) names[i] = 1;
    }
    return names;
}

static void find_seats(PairRules *pairs, Part *part) {
    Model *model = pairs->model;
    FormId base = model_form(model, symbol_of(model->symbols, TEXT("pairing")));
    for (FormId id = 1; id < model->forms.count; id++) {
        if (id == base || !form_descends(model, id, base)) continue;
        const Form *form = form_of(model, id);
        for (uint32_t i = 0; is_complete(form) && i < form->members.count; i++) {
            const Member *member = &form->members.at[i];
            if (member->class != NODE_GIVEN || member->type.class != TYPE_FORM || !form_descends(model, part->form, member->type.form)) continue;
            HeldPart held = {part->form, names_of_field(pairs, form, i)};
            VECTOR_PUSH(pairs->arena, &part->seats, (Seat){id, rests_of_form(pairs->arena, model, id, &held)});
        }
    }
}

static Part *part_of(PairRules *pairs, FormId id) {
    uint32_t known = map_get(&pairs->by_form, id, UINT32_MAX);
    if (known != UINT32_MAX) return &pairs->parts.at[known];
    const Form *form = form_of(pairs->model, id);
    Part part = {.form = id, .rests = rests_of_form(pairs->arena, pairs->model, id, NULL)};
    part.given = ARENA_ARRAY(pairs->arena, uint32_t, form->members.count);
    for (uint32_t i = 0; i < form->members.count; i++) part.given[i] = form->members.at[i].class != NODE_LET;
    find_seats(pairs, &part);
    map_set(&pairs->by_form, id, pairs->parts.count);
    VECTOR_PUSH(pairs->arena, &pairs->parts, part);
    return &pairs->parts.at[pairs->parts.count - 1];
}

static void add_once(Arena *arena, TextVector *list, Text text) {
    for (uint32_t i = 0; i < list->count; i++) {
        if (text_equal(list->at[i], text)) return;
    }
    VECTOR_PUSH(arena, list, text);
}

TextVector pair_rules_of(PairRules *pairs, Text form_name, Text fact) {
    TextVector names = {0};
    if (pairs->model == NULL) load(pairs);
    Model *model = pairs->model;
    FormId id = model_form(model, symbol_of(model->symbols, form_name));
    if (id == 0) return names;
    Part *part = part_of(pairs, id);
    uint32_t slot = form_slot(model, id, symbol_of(model->symbols, fact));
    if (slot == UINT32_MAX) return names;
    rests_begin(&part->rests);
    rests_mark(&part->rests, slot, part->given, 1);
    for (uint32_t s = 0; s < part->seats.count; s++) {
        Rests *rests = &part->seats.at[s].rests;
        rests_begin(rests);
        for (uint32_t i = 0; i < rests->members + rests->rules; i++) {
            for (uint32_t k = 0; k < rests->of_part[i].count; k++) {
                if (part->rests.marks[rests->of_part[i].at[k]]) rests_mark(rests, i, NULL, 0);
            }
        }
        const Form *form = form_of(model, part->seats.at[s].pairing);
        for (uint32_t r = 0; r < rests->rules; r++) {
            if (rests->marks[rests->members + r]) add_once(pairs->arena, &names, model_name(model, tree_node(model->tree, form->rules.at[r].node)->name));
        }
    }
    return names;
}
