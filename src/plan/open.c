/* Open slots: fields that say which things may stand there, and leave open which one does.
 *
 * An open slot that nothing fills is a value that is absent: what rests on it is unknown, and the missing fact is the slot
 * itself. One that is filled compiles as if the name of the thing stood there. */
#include "plan/build.h"

/* The thing that the request puts into this slot; 0: it stays open. */
static ObjectId filling_of(Builder *builder, NodeId any, Text path) {
    const PlanRequest *request = &builder->program->request;
    for (uint32_t i = 0; i < request->filling_count; i++) {
        const PlanFilling *filling = &request->fillings[i];
        if (filling->any != any) continue;
        if (filling->card == 0) return object_of_place(builder, filling->place, path);
        return object_of_thing(builder, tree_node(builder->tree, filling->card)->name);
    }
    return 0;
}

Operand compile_any(Builder *builder, Scope scope, NodeId id) {
    const Node *node = tree_node(builder->tree, id);
    if (scope.kind != SCOPE_FIELD || scope.object == 0) {
        SAY(builder->messages, OPEN_HERE, node->span, TEXT(""));
        return operand_broken();
    }
    const Object *owner = &builder->program->objects.at[scope.object];
    const Member *member = &form_of(builder->model, owner->form)->members.at[scope.slot];
    Text name = model_name(builder->model, member->name);
    if (member->type.several) {
        SAY(builder->messages, OPEN_SEVERAL, node->span, name, type_words(builder->model, builder->arena, member->type));
        return operand_broken();
    }
    FormId form = form_by_name(builder, node->a);
    if (form == 0) return operand_broken();
    Operand absent = {.class = OPERAND_ABSENT, .form = form, .missing = true, .open = true};
    absent.text = object_slot_path(builder->program, builder->arena, scope.object, scope.slot);
    bool fits = member->type.class == TYPE_FORM && form_descends(builder->model, form, member->type.form);
    if (!fits) return absent; /* which is told where it is fitted in */
    PlanOpen open = {.any = id, .object = scope.object, .slot = scope.slot, .form = form};
    open.path = absent.text;
    open.filled = filling_of(builder, id, open.path);
    VECTOR_PUSH(builder->arena, &builder->program->opens, open);
    if (open.filled == 0) return absent;
    return (Operand){.class = OPERAND_OBJECT, .object = open.filled, .form = builder->program->objects.at[open.filled].form};
}

/* ---- what a slot asks of what fills it --------------------------------------------------------------------------- */

/* A thing of the form without values, for the kinds of a condition; one for all slots of that form. */
static ObjectId stand_in(Builder *builder, FormId form) {
    ObjectId object = map_get(&builder->stands, form, 0);
    if (object != 0) return object;
    Symbol name = builder->model->forms.at[form].name;
    object = object_open(builder, form, 0, name, model_name(builder->model, name), 0);
    builder->program->objects.at[object].abstract = true;
    builder->program->objects.at[object].in_use = false;
    map_set(&builder->stands, form, object);
    return object;
}

static void compile_where(Builder *builder, const PlanOpen *open) {
    const Node *node = tree_node(builder->tree, open->any);
    if (node->b == 0) return;
    ObjectId before = builder->owner;
    Judged judged = {.kind = JUDGED_WHERE, .node = open->any, .shall_node = node->b};
    judged.object = open->filled ? open->filled : stand_in(builder, open->form);
    builder->owner = judged.object;
    judged.shall = compile_condition(builder, (Scope){SCOPE_FORM, judged.object, UINT32_MAX}, node->b);
    builder->owner = before;
    if (open->filled != 0) VECTOR_PUSH(builder->arena, &builder->program->judged, judged);
}

/* ---- which slots are open ---------------------------------------------------------------------------------------- */

typedef struct Walk {
    const Program *program;
    bool *passed;              /* by object */
    VECTOR(ObjectId) waiting;
    Arena *arena;
} Walk;

static void wait_for(Walk *walk, Operand operand) {
    for (uint32_t i = 0; operand.class == OPERAND_SEVERAL && !operand.missing && i < operand.count; i++) wait_for(walk, operand.several[i]);
    if (operand.class != OPERAND_OBJECT || operand.object == 0 || walk->passed[operand.object]) return;
    walk->passed[operand.object] = true;
    VECTOR_PUSH(walk->arena, &walk->waiting, operand.object);
}

static void walk_from(Walk *walk, ObjectId object) {
    wait_for(walk, (Operand){.class = OPERAND_OBJECT, .object = object});
    while (walk->waiting.count > 0) {
        const Object *one = &walk->program->objects.at[walk->waiting.at[--walk->waiting.count]];
        uint32_t count = walk->program->model->forms.at[one->form].members.count;
        for (uint32_t slot = 0; slot < count; slot++) {
            if (one->slots[slot].state == SLOT_DONE) wait_for(walk, one->slots[slot].operand);
        }
    }
}

void program_opens_of(const Program *program, Arena *arena, ObjectId object, bool *held) {
    Walk walk = {.program = program, .passed = ARENA_ARRAY(arena, bool, program->objects.count), .arena = arena};
    walk_from(&walk, object);
    for (uint32_t i = 0; i < program->opens.count; i++) held[i] = walk.passed[program->opens.at[i].object];
}

/* Things that no other thing holds, as an axis. */
static bool *find_roots(Builder *builder) {
    const Program *program = builder->program;
    bool *held = ARENA_ARRAY(builder->arena, bool, program->objects.count);
    for (ObjectId id = 1; id < program->objects.count; id++) {
        const Object *object = &program->objects.at[id];
        if (object->abstract || object->law || object->parent != 0) held[id] = true;
        Walk direct = {.program = program, .passed = held, .arena = builder->arena};
        uint32_t count = builder->model->forms.at[object->form].members.count;
        for (uint32_t slot = 0; slot < count && !object->abstract; slot++) {
            const Operand *operand = &object->slots[slot].operand;
            if (operand->class != OPERAND_OBJECT || operand->object != id) wait_for(&direct, *operand);
        }
    }
    return held;
}

/* Each open slot is named once, with the first thing that nothing else holds and that holds it. */
static void say_open(Builder *builder) {
    Program *program = builder->program;
    bool *said = ARENA_ARRAY(builder->arena, bool, program->opens.count), *held = ARENA_ARRAY(builder->arena, bool, program->opens.count);
    bool *not_root = find_roots(builder);
    for (ObjectId id = 1; id < program->objects.count; id++) {
        const Object *object = &program->objects.at[id];
        if (not_root[id] || !object->named) continue;
        program_opens_of(program, builder->arena, id, held);
        TextBuilder paths = text_builder(builder->arena);
        uint32_t count = 0;
        Span span = {0, 0};
        for (uint32_t i = 0; i < program->opens.count; i++) {
            if (!held[i] || said[i]) continue;
            said[i] = true;
            if (count++ > 0) text_add(&paths, TEXT(", "));
            else span = tree_node(builder->tree, program->opens.at[i].any)->span;
            text_add(&paths, program->opens.at[i].path);
        }
        if (count == 0) continue;
        const Source *source = source_of(builder->tree->sources, tree_node(builder->tree, object->node)->span.start);
        SAY(builder->messages, SLOTS_OPEN, span, object->path, text_built(&paths), source->path);
    }
}

static void compile_ranked(Builder *builder) {
    const PlanRequest *request = &builder->program->request;
    if (request->ranked == 0) return;
    Scope scope = {SCOPE_TOP, 0, UINT32_MAX};
    ObjectId object = request->ranked_of ? object_of_thing(builder, request->ranked_of) : 0;
    if (object != 0) scope = (Scope){SCOPE_FORM, object, UINT32_MAX};
    Operand operand = compile_expression(builder, scope, request->ranked, NULL);
    if (operand.class != OPERAND_VALUE && operand.class != OPERAND_BROKEN) {
        SAY(builder->messages, RANKED_BY, tree_node(builder->tree, request->ranked)->span, node_text(builder, request->ranked), operand_words(builder, operand));
        operand = operand_broken();
    }
    builder->program->ranked = operand;
}

void compile_opens(Builder *builder) {
    Program *program = builder->program;
    bool open = false;
    ObjectId known = program->objects.count;
    for (uint32_t i = 0; i < program->opens.count; i++) {
        compile_where(builder, &program->opens.at[i]);
        open = open || program->opens.at[i].filled == 0;
    }
    compile_ranked(builder);
    /* What only a condition speaks of is not used for anything. */
    for (ObjectId id = known; id < program->objects.count; id++) program->objects.at[id].in_use = false;
    if (open && !program->request.bare) say_open(builder);
}
