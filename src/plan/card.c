#include "plan/card.h"

#include <math.h>
#include <string.h>

typedef struct Gatherer {
    Arena *arena;
    Model *model;
    Tree *tree;
    Cards *cards;
    Map by_form;    /* form -> group, of cards without anything but facts */
    Map by_key;     /* symbol of the key -> group */
    Map fits;       /* unit << 32 | kind -> 1 fits, 2 does not */
    TextBuilder key;
    SlotMemo *memo;
    uint32_t latest; /* fact that was filled in */
    Map columns;    /* group, slot and word -> index into facts, while columns are filled */
} Gatherer;

typedef enum FactKind { FACT_NONE, FACT_NUMBER, FACT_TRUTH, FACT_WORD, FACT_WORDS, FACT_OTHER } FactKind;

static FactKind fact_kind(const Gatherer *gatherer, const Member *member) {
    enum { MOST_WORDS = 1000 };
    bool several = member->type.several;
    if (member->varies != 0) return FACT_OTHER; /* belongs to a cycle */
    switch (member->type.class) {
    case TYPE_QUANTITY: return several ? FACT_OTHER : FACT_NUMBER;
    case TYPE_TRUTH: return several ? FACT_OTHER : FACT_TRUTH;
    case TYPE_CHOICE:
        if (!several) return FACT_WORD;
        return choice_of(gatherer->model, member->type.choice)->words.count < MOST_WORDS ? FACT_WORDS : FACT_OTHER;
    case TYPE_BROKEN: return FACT_NONE;
    default: return FACT_OTHER;
    }
}

static bool unit_fits(Gatherer *gatherer, UnitId unit, KindId kind) {
    uint64_t key = (uint64_t)unit << 32 | kind;
    uint32_t known = map_get(&gatherer->fits, key, 0);
    if (known == 0) {
        const Vocabulary *vocabulary = gatherer->model->vocabulary;
        known = measure_fits(vocabulary, measure_of_unit(vocabulary, unit), kind) == FIT_YES ? 1 : 2;
        map_set(&gatherer->fits, key, known);
    }
    return known == 1;
}

/* A written number in SI; false when it is none, or does not fit. Of bounds the nominal value. */
static bool read_fact_number(Gatherer *gatherer, const Node *node, KindId kind, double *value) {
    const Tree *tree = gatherer->tree;
    if (node->kind == NODE_BOUNDED) {
        double low, high;
        if (node->op != BOUNDS_BETWEEN) return read_fact_number(gatherer, tree_node(tree, node->a), kind, value);
        if (node->c != 0) return read_fact_number(gatherer, tree_node(tree, node->c), kind, value);
        if (!read_fact_number(gatherer, tree_node(tree, node->a), kind, &low) || !read_fact_number(gatherer, tree_node(tree, node->b), kind, &high)) return false;
        *value = 0.5 * (low + high);
        return true;
    }
    if (node->kind != NODE_NUMBER) return false;
    UnitId unit = node->name ? vocabulary_known_unit(gatherer->model->vocabulary, node->name) : 0;
    if ((node->name != 0 && unit == 0) || !unit_fits(gatherer, unit, kind)) return false;
    const Unit *size = unit ? unit_of(gatherer->model->vocabulary, unit) : NULL;
    *value = size ? node->number * size->factor + size->zero : node->number;
    return isfinite(*value);
}

static bool read_word(const Gatherer *gatherer, const Node *node, ChoiceId choice, uint32_t *word) {
    *word = node->kind == NODE_NAME ? choice_word(choice_of(gatherer->model, choice), node->name) : UINT32_MAX;
    return *word != UINT32_MAX;
}

/* One fact of a card; false when it is odd. */
static bool read_fact(Gatherer *gatherer, FactKind kind, const Member *member, const Node *node, double *fact) {
    uint32_t word;
    switch (kind) {
    case FACT_NUMBER: return read_fact_number(gatherer, node, member->type.kind, fact);
    case FACT_TRUTH: *fact = node->op; return node->kind == NODE_TRUTH;
    case FACT_WORD:
        if (!read_word(gatherer, node, member->type.choice, &word)) return false;
        *fact = word;
        return true;
    default: return false;
    }
}

/* ---- which group -------------------------------------------------------------------------------------------------- */

static void add_to_key(Gatherer *gatherer, const Node *node);

static void add_list_to_key(Gatherer *gatherer, NodeId id) {
    for (; id != 0; id = tree_node(gatherer->tree, id)->next) add_to_key(gatherer, tree_node(gatherer->tree, id));
}

/* What the value is, apart from where it stands. */
static void add_to_key(Gatherer *gatherer, const Node *node) {
    TextBuilder *key = &gatherer->key;
    text_add_char(key, (char)('0' + node->kind % 64));
    text_add_count(key, node->kind == NODE_TEXT ? 0 : node->name);
    text_add_char(key, (char)('0' + node->op));
    if (node->kind == NODE_NUMBER) {
        text_add(key, source_text(gatherer->tree->sources, node->span));
        return;
    }
    if (node->kind == NODE_TEXT) return;
    text_add_char(key, '(');
    add_list_to_key(gatherer, node->a);
    text_add_char(key, ',');
    add_list_to_key(gatherer, node->b);
    text_add_char(key, ',');
    if (node->kind != NODE_FILLED) add_list_to_key(gatherer, node->c);
    text_add_char(key, ')');
}

/* Whether all that must be stated is. `stated` by slot. */
static bool is_complete(const Form *form, const uint32_t *stated, uint32_t mark) {
    for (uint32_t i = 0; i < form->members.count; i++) {
        const Member *member = &form->members.at[i];
        if (member->class == NODE_GIVEN && member->formula == 0 && stated[i] != mark) return false;
        if (member->class == NODE_LET && member->formula == 0) return false;
    }
    return true;
}

/* The words of a field; false when one is none, or stands twice. */
static bool words_are_fine(const Gatherer *gatherer, const Member *member, const Node *list) {
    uint32_t word;
    if (list->kind != NODE_LIST) return read_word(gatherer, list, member->type.choice, &word);
    for (NodeId item = list->a; item != 0; item = tree_node(gatherer->tree, item)->next) {
        if (!read_word(gatherer, tree_node(gatherer->tree, item), member->type.choice, &word)) return false;
    }
    return list->a != 0;
}

typedef struct Marks {
    uint32_t *at; /* by slot: the number of the latest card that states it */
    uint32_t room, mark;
} Marks;

static uint32_t group_of(Gatherer *gatherer, FormId form_id) {
    uint32_t found;
    Symbol key = 0;
    if (gatherer->key.length == 0) {
        found = map_get(&gatherer->by_form, form_id, UINT32_MAX);
    } else {
        text_add_char(&gatherer->key, '#');
        text_add_count(&gatherer->key, form_id);
        key = symbol_of(gatherer->model->symbols, (Text){gatherer->key.at, gatherer->key.length});
        found = map_get(&gatherer->by_key, key, UINT32_MAX);
    }
    if (found != UINT32_MAX) return found;
    CardGroup *group = ARENA_NEW(gatherer->arena, CardGroup);
    group->form = form_id;
    found = gatherer->cards->groups.count;
    VECTOR_PUSH(gatherer->arena, &gatherer->cards->groups, group);
    if (key == 0) map_set(&gatherer->by_form, form_id, found);
    else map_set(&gatherer->by_key, key, found);
    return found;
}

/* The number of the card's group; UINT32_MAX: it is odd. */
static uint32_t sort_card(Gatherer *gatherer, NodeId card, Marks *marks) {
    Model *model = gatherer->model;
    const Node *node = tree_node(gatherer->tree, card);
    FormId form_id = node->kind == NODE_FILLED && node->a ? model_form(model, tree_node(gatherer->tree, node->a)->name) : 0;
    if (form_id == 0 || node->flags & NODE_INCOMPLETE) return UINT32_MAX;
    const Form *form = form_of(model, form_id);
    if (!form_is_whole(model, form_id)) return UINT32_MAX;
    if (form->members.count > marks->room) {
        marks->room = form->members.count;
        marks->at = ARENA_ARRAY(gatherer->arena, uint32_t, marks->room);
    }
    marks->mark++;
    gatherer->key.length = 0;
    for (Fields fields = fields_of(gatherer->tree, card); fields_next(&fields);) {
        const Node *value = fields.node;
        uint32_t slot = fields.name ? form_slot_again(model, gatherer->memo, form_id, fields.name) : UINT32_MAX;
        if (slot == UINT32_MAX || marks->at[slot] == marks->mark || value == NULL || value->kind == NODE_BROKEN) return UINT32_MAX;
        const Member *member = &form->members.at[slot];
        FactKind kind = fact_kind(gatherer, member);
        double ignored;
        marks->at[slot] = marks->mark;
        if (member->class == NODE_LET || kind == FACT_NONE) return UINT32_MAX;
        if (kind == FACT_WORDS && !words_are_fine(gatherer, member, value)) return UINT32_MAX;
        if (kind != FACT_WORDS && kind != FACT_OTHER && !read_fact(gatherer, kind, member, value, &ignored)) return UINT32_MAX;
        if (kind == FACT_OTHER) {
            text_add_char(&gatherer->key, '@');
            text_add_count(&gatherer->key, slot);
            add_to_key(gatherer, value);
        }
    }
    return is_complete(form, marks->at, marks->mark) ? group_of(gatherer, form_id) : UINT32_MAX;
}

/* ---- columns ------------------------------------------------------------------------------------------------------ */

static double *column_of(Gatherer *gatherer, uint32_t number, uint32_t slot, uint32_t word) {
    CardGroup *group = gatherer->cards->groups.at[number];
    uint32_t next = gatherer->latest + 1; /* most often, as in the card before */
    if (next < group->facts.count && group->facts.at[next].slot == slot && group->facts.at[next].word == word) {
        gatherer->latest = next;
        return (double *)group->facts.at[next].values;
    }
    uint64_t key = ((uint64_t)number << 32 | slot << 10 | (word == CARD_WHOLE ? 1023 : word & 1023)) + 1;
    uint32_t found = map_get(&gatherer->columns, key, UINT32_MAX);
    if (found == UINT32_MAX) {
        double *values = arena_take_raw(gatherer->arena, group->count * sizeof *values);
        for (uint32_t i = 0; i < group->count; i++) values[i] = NAN;
        found = group->facts.count;
        VECTOR_PUSH(gatherer->arena, &group->facts, (CardFact){slot, word, false, values});
        map_set(&gatherer->columns, key, found);
    }
    gatherer->latest = found;
    return (double *)group->facts.at[found].values;
}

static void fill_words(Gatherer *gatherer, uint32_t number, uint32_t row, const Member *member, uint32_t slot, const Node *value) {
    const Tree *tree = gatherer->tree;
    bool list = value->kind == NODE_LIST;
    uint32_t word = 0;
    const Node *item = list ? tree_node(tree, value->a) : value;
    for (; item != NULL; item = list && item->next ? tree_node(tree, item->next) : NULL) {
        if (read_word(gatherer, item, member->type.choice, &word)) column_of(gatherer, number, slot, word)[row] = 1;
    }
}

static void fill_row(Gatherer *gatherer, uint32_t number, uint32_t row, NodeId card) {
    CardGroup *group = gatherer->cards->groups.at[number];
    const Form *form = form_of(gatherer->model, group->form);
    gatherer->latest = UINT32_MAX;
    for (Fields fields = fields_of(gatherer->tree, card); fields_next(&fields);) {
        uint32_t slot = form_slot_again(gatherer->model, gatherer->memo, group->form, fields.name);
        const Member *member = &form->members.at[slot];
        FactKind kind = fact_kind(gatherer, member);
        double fact = 0;
        if (kind == FACT_OTHER) continue;
        if (kind == FACT_WORDS) fill_words(gatherer, number, row, member, slot, fields.node);
        else if (read_fact(gatherer, kind, member, fields.node, &fact)) column_of(gatherer, number, slot, CARD_WHOLE)[row] = fact;
    }
}

static bool comes_before(const CardFact *a, const CardFact *b) { return a->slot < b->slot || (a->slot == b->slot && a->word < b->word); }

/* Where a card states some words of a field, those it does not state are told to be missing: no, not "not stated". */
static void complete_words(CardGroup *group, uint32_t first, uint32_t end) {
    for (uint32_t row = 0; row < group->count; row++) {
        bool stated = false;
        for (uint32_t i = first; i < end; i++) stated = stated || !isnan(group->facts.at[i].values[row]);
        for (uint32_t i = first; stated && i < end; i++) {
            double *values = (double *)group->facts.at[i].values;
            if (isnan(values[row])) values[row] = 0;
        }
    }
}

static void finish_group(Gatherer *gatherer, CardGroup *group) {
    uint32_t members = form_of(gatherer->model, group->form)->members.count;
    group->first_fact = arena_take_raw(gatherer->arena, (members + 1) * sizeof *group->first_fact);
    for (uint32_t i = 0; i <= members; i++) group->first_fact[i] = UINT32_MAX;
    for (uint32_t i = 1; i < group->facts.count; i++) { /* few, and nearly in order */
        CardFact fact = group->facts.at[i];
        uint32_t k = i;
        for (; k > 0 && comes_before(&fact, &group->facts.at[k - 1]); k--) group->facts.at[k] = group->facts.at[k - 1];
        group->facts.at[k] = fact;
    }
    for (uint32_t i = group->facts.count; i-- > 0;) group->first_fact[group->facts.at[i].slot] = i;
    for (uint32_t i = 0; i < group->facts.count;) {
        uint32_t end = i + 1;
        while (end < group->facts.count && group->facts.at[end].slot == group->facts.at[i].slot) end++;
        if (group->facts.at[i].word != CARD_WHOLE) complete_words(group, i, end);
        bool everywhere = true;
        for (uint32_t row = 0; row < group->count && everywhere; row++) everywhere = !isnan(group->facts.at[i].values[row]);
        for (; i < end; i++) group->facts.at[i].everywhere = everywhere;
    }
}

Cards *cards_gather(Arena *arena, Model *model, const NodeId *cards, uint32_t count) {
    Gatherer gatherer = {.arena = arena, .model = model, .tree = model->tree, .cards = ARENA_NEW(arena, Cards)};
    gatherer.by_form = map_open(arena);
    gatherer.by_key = map_open(arena);
    gatherer.fits = map_open(arena);
    gatherer.columns = map_open(arena);
    gatherer.key = text_builder(arena);
    gatherer.memo = ARENA_NEW(arena, SlotMemo);
    Marks marks = {0};
    uint32_t *numbers = arena_take_raw(arena, count * sizeof *numbers);
    for (uint32_t i = 0; i < count; i++) {
        numbers[i] = sort_card(&gatherer, cards[i], &marks);
        if (numbers[i] == UINT32_MAX) VECTOR_PUSH(arena, &gatherer.cards->odd, cards[i]);
        else gatherer.cards->groups.at[numbers[i]]->count++;
    }
    for (uint32_t g = 0; g < gatherer.cards->groups.count; g++) {
        CardGroup *group = gatherer.cards->groups.at[g];
        group->cards = arena_take_raw(arena, group->count * sizeof *group->cards);
        group->positions = arena_take_raw(arena, group->count * sizeof *group->positions);
    }
    uint32_t *filled = ARENA_ARRAY(arena, uint32_t, gatherer.cards->groups.count);
    for (uint32_t i = 0; i < count; i++) {
        if (numbers[i] == UINT32_MAX) continue;
        uint32_t row = filled[numbers[i]]++;
        gatherer.cards->groups.at[numbers[i]]->cards[row] = cards[i];
        gatherer.cards->groups.at[numbers[i]]->positions[row] = i;
        fill_row(&gatherer, numbers[i], row, cards[i]);
    }
    for (uint32_t g = 0; g < gatherer.cards->groups.count; g++) finish_group(&gatherer, gatherer.cards->groups.at[g]);
    return gatherer.cards;
}
