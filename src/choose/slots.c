/* The open slots of an axis, and the cards that fit them by their form. */
#include "choose/choice.h"

/* The thing by name; 0 when there is none. */
static NodeId thing_called(const Choosing *choice, Text name) {
    Symbol symbol = symbol_find(choice->model->symbols, name);
    NodeId node = symbol ? model_thing(choice->model, symbol) : 0;
    return node && tree_node(choice->model->tree, node)->kind == NODE_FILLED ? node : 0;
}

static void say_unknown(const Choosing *choice) {
    const Model *model = choice->model;
    if (model->unread || model->messages->machine_errors > 0) return; /* it may be in what could not be read */
    Nearest nearest = nearest_to(model->symbols, symbol_of(model->symbols, choice->request.axis));
    for (Symbol name = 1; name < model->things.count; name++) {
        NodeId thing = model->things.at[name];
        if (thing != 0 && tree_node(model->tree, thing)->kind == NODE_FILLED) nearest_try(&nearest, name);
    }
    Text best = nearest_found(&nearest);
    SAY(model->messages, PATH_UNKNOWN, ((Span){0, 0}), choice->request.axis, best.length ? text_fill(choice->arena, TEXT("Did you mean {0}?"), &best, 1) : best);
}

/* The object of a top-level thing in a program. */
static ObjectId object_called(const Program *program, Symbol name) {
    for (ObjectId id = 1; id < program->objects.count; id++) {
        const Object *object = &program->objects.at[id];
        if (object->name == name && object->parent == 0 && !object->abstract) return id;
    }
    return 0;
}

/* What stands behind the last dot. */
static Text last_part(Text path) {
    size_t at = path.length;
    while (at > 0 && path.at[at - 1] != '.') at--;
    return text_slice(path, at, path.length);
}

Text choice_one_line(Arena *arena, Text text) {
    TextBuilder out = text_builder(arena);
    for (size_t i = 0; i < text.length; i++) {
        bool white = text.at[i] == ' ' || text.at[i] == '\t' || text.at[i] == '\r' || text.at[i] == '\n';
        if (!white) text_add_char(&out, text.at[i]);
        else if (out.length > 0 && out.at[out.length - 1] != ' ') text_add_char(&out, ' ');
    }
    return text_built(&out);
}

static void add_slot(Choosing *choice, const PlanOpen *open) {
    ChoiceSlot slot = {.any = open->any, .form = open->form};
    ShortlistSlot shown = {.path = text_copy(choice->arena, open->path), .span = tree_node(choice->model->tree, open->any)->span};
    shown.label = last_part(shown.path);
    shown.words = choice_one_line(choice->arena, source_text(choice->sources, shown.span));
    VECTOR_PUSH(choice->arena, &choice->slots, slot);
    VECTOR_PUSH(choice->arena, &choice->list->slots, shown);
}

/* By their places, whatever was compiled first. */
static void order_slots(Choosing *choice) {
    Shortlist *list = choice->list;
    for (uint32_t i = 1; i < list->slots.count; i++) {
        ShortlistSlot shown = list->slots.at[i];
        ChoiceSlot slot = choice->slots.at[i];
        uint32_t k = i;
        for (; k > 0 && list->slots.at[k - 1].span.start > shown.span.start; k--) {
            list->slots.at[k] = list->slots.at[k - 1];
            choice->slots.at[k] = choice->slots.at[k - 1];
        }
        list->slots.at[k] = shown;
        choice->slots.at[k] = slot;
    }
}

static void tell_labels_apart(Shortlist *list) {
    for (uint32_t i = 0; i < list->slots.count; i++) {
        for (uint32_t k = 0; k < i; k++) {
            ShortlistSlot *a = &list->slots.at[i], *b = &list->slots.at[k];
            if (!text_equal(last_part(a->path), last_part(b->path))) continue;
            a->label = a->path;
            b->label = b->path;
        }
    }
}

/* A thing that holds a slot which is to be filled cannot fill it. */
static bool *holders_of(const Choosing *choice, const Program *program, Arena *arena, const bool *held) {
    bool *holds = ARENA_ARRAY(arena, bool, choice->model->tree->count);
    bool *here = ARENA_ARRAY(arena, bool, program->opens.count);
    for (ObjectId id = 1; id < program->objects.count; id++) {
        const Object *object = &program->objects.at[id];
        if (!object->named || object->parent != 0 || object->abstract) continue;
        program_opens_of(program, arena, id, here);
        for (uint32_t i = 0; i < program->opens.count; i++) holds[object->node] = holds[object->node] || (here[i] && held[i]);
    }
    return holds;
}

/* Every top-level thing that has one of the forms, each into the slots that it fits. */
static void gather_cards(Choosing *choice, const bool *holds) {
    choice->candidates = map_open(choice->arena);
    Model *model = choice->model;
    const Loaded *loaded = model->loaded;
    for (uint32_t f = 0; f < loaded->files.count; f++) {
        for (NodeId item = loaded->files.at[f].first_item; item != 0; item = tree_node(model->tree, item)->next) {
            const Node *node = tree_node(model->tree, item);
            if (node->kind != NODE_FILLED || model_thing(model, node->name) != item || holds[item]) continue;
            FormId form = model_form(model, tree_node(model->tree, node->a)->name);
            for (uint32_t i = 0; form != 0 && i < choice->slots.count; i++) {
                if (!form_descends(model, form, choice->slots.at[i].form)) continue;
                VECTOR_PUSH(choice->arena, &choice->slots.at[i].cards, item);
                map_set(&choice->candidates, node->name, 1);
                choice->list->slots.at[i].cards++;
            }
        }
    }
}

static Program *open_plan(Choosing *choice, Arena *arena) {
    return plan_build(arena, choice->world, choice->sources, choice->model, (PlanRequest){.bare = true});
}

/* Which things have open slots, for the advice. */
static Text others_open(const Choosing *choice, const Program *program, Arena *arena) {
    bool *held = ARENA_ARRAY(arena, bool, program->opens.count);
    for (ObjectId id = 1; id < program->objects.count; id++) {
        const Object *object = &program->objects.at[id];
        if (!object->named || object->parent != 0 || object->abstract || program->opens.count == 0) continue;
        program_opens_of(program, arena, id, held);
        for (uint32_t i = 0; i < program->opens.count; i++) {
            if (held[i]) return text_fill(choice->arena, TEXT("One with open slots is {0}."), &object->path, 1);
        }
    }
    return TEXT("Leave one open: motor = any dc-motor");
}

bool choice_open(Choosing *choice) {
    Arena *arena = choice->for_set;
    arena_clear(arena);
    NodeId thing = thing_called(choice, choice->request.axis);
    if (thing == 0) {
        say_unknown(choice);
        return false;
    }
    Program *program = open_plan(choice, arena);
    ObjectId object = object_called(program, tree_node(choice->model->tree, thing)->name);
    bool *held = ARENA_ARRAY(arena, bool, program->opens.count);
    if (object != 0) program_opens_of(program, arena, object, held);
    for (uint32_t i = 0; i < program->opens.count; i++) {
        if (held[i]) add_slot(choice, &program->opens.at[i]);
    }
    order_slots(choice);
    if (choice->slots.count == 0) {
        SAY(choice->model->messages, NOTHING_OPEN, ((Span){0, 0}), choice->request.axis, others_open(choice, program, arena));
        return false;
    }
    tell_labels_apart(choice->list);
    gather_cards(choice, holders_of(choice, program, arena, held));
    choice->fillings = ARENA_ARRAY(choice->arena, PlanFilling, choice->slots.count);
    return true;
}

uint64_t choice_size(const Choosing *choice) {
    uint64_t size = 1;
    for (uint32_t i = 0; i < choice->slots.count; i++) {
        uint64_t count = choice->slots.at[i].cards.count;
        if (count == 0) return 0;
        size = size > UINT64_MAX / count ? UINT64_MAX : size * count;
    }
    return size;
}

void choice_take(Choosing *choice, uint64_t set) {
    for (uint32_t i = choice->slots.count; i-- > 0;) {
        const ChoiceSlot *slot = &choice->slots.at[i];
        choice->fillings[i] = (PlanFilling){.any = slot->any, .card = slot->cards.at[set % slot->cards.count]};
        set /= slot->cards.count;
    }
}

static Text card_name(const Choosing *choice, NodeId card) { return model_name(choice->model, tree_node(choice->model->tree, card)->name); }

const Text *choice_parts(const Choosing *choice) {
    Text *parts = ARENA_ARRAY(choice->arena, Text, choice->slots.count);
    for (uint32_t i = 0; i < choice->slots.count; i++) parts[i] = card_name(choice, choice->fillings[i].card);
    return parts;
}

Text choice_words(const Choosing *choice) {
    TextBuilder out = text_builder(choice->for_set);
    for (uint32_t i = 0; i < choice->slots.count; i++) {
        if (i > 0) text_add(&out, TEXT(", "));
        text_add(&out, card_name(choice, choice->fillings[i].card));
    }
    return text_built(&out);
}
