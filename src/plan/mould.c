#include "plan/mould.h"

#include <math.h>

#include "plan/build.h"

ObjectId object_of_place(Builder *builder, uint32_t number, Text path) {
    CardPlace *place = &builder->program->places.at[number];
    if (place->object != 0) return place->object;
    const CardGroup *group = place->group;
    NodeId pattern = group->cards[0];
    ObjectId id = object_open(builder, group->form, pattern, tree_node(builder->tree, pattern)->name, path, 0);
    builder->program->objects.at[id].place = number;
    builder->program->places.at[number].object = id;
    return id;
}

/* ---- fields ------------------------------------------------------------------------------------------------------- */

/* The constant of a fact; to begin with, that of the first card that states it. */
static StepId emit_fact(Builder *builder, uint32_t number, uint32_t fact, Span span) {
    Program *program = builder->program;
    const CardGroup *group = program->places.at[number].group;
    double value = group->facts.at[fact].values[0];
    PlacedFact entry = {number, fact, program->constants.count, program->steps.count};
    VECTOR_PUSH(builder->arena, &program->constants, (Constant){value, -INFINITY, INFINITY});
    VECTOR_PUSH(builder->arena, &program->place_facts, entry);
    VECTOR_PUSH(builder->arena, &program->steps, (Step){STEP_CONSTANT, 0, entry.constant, 0, 0, span, builder->owner});
    return entry.step;
}

static uint32_t first_fact(const Builder *builder, ObjectId object, uint32_t slot) {
    const Object *owner = &builder->program->objects.at[object];
    return builder->program->places.at[owner->place].group->first_fact[slot];
}

static Span member_span(const Builder *builder, const Member *member) { return tree_node(builder->tree, member->node)->span; }

/* Several words: each that some card has, or none. */
static Operand words_of_cards(Builder *builder, ObjectId object, uint32_t slot, const Member *member) {
    const Object *owner = &builder->program->objects.at[object];
    const CardGroup *group = builder->program->places.at[owner->place].group;
    uint32_t first = group->first_fact[slot], count = 0, place = owner->place;
    Span span = member_span(builder, member);
    while (first + count < group->facts.count && group->facts.at[first + count].slot == slot) count++;
    Operand *all = ARENA_ARRAY(builder->arena, Operand, count);
    StepId none = emit_constant(builder, -1, span);
    for (uint32_t i = 0; i < count; i++) {
        StepId has = emit_fact(builder, place, first + i, span);
        if (i == 0) builder->program->objects.at[object].slots[slot].fact = has;
        StepId word = emit_constant(builder, group->facts.at[first + i].word, span);
        all[i] = (Operand){.class = OPERAND_WORD, .choice = member->type.choice, .step = emit(builder, STEP_CHOOSE, 0, has, word, none, span)};
    }
    return (Operand){.class = OPERAND_SEVERAL, .several = all, .count = count, .loose = true};
}

StepId place_fact_step(Builder *builder, ObjectId object, uint32_t slot) {
    uint32_t fact = first_fact(builder, object, slot);
    Slot *own = &builder->program->objects.at[object].slots[slot];
    if (fact == UINT32_MAX || own->fact != 0) return own->fact;
    const Member *member = &form_of(builder->model, builder->program->objects.at[object].form)->members.at[slot];
    uint32_t place = builder->program->objects.at[object].place;
    const CardFact *facts = builder->program->places.at[place].group->facts.at;
    if (facts[fact].word != CARD_WHOLE) {
        Operand words = words_of_cards(builder, object, slot, member);
        Operand *kept = ARENA_NEW(builder->arena, Operand);
        *kept = words;
        builder->program->objects.at[object].slots[slot].words = kept;
    } else {
        StepId step = emit_fact(builder, place, fact, member_span(builder, member));
        builder->program->objects.at[object].slots[slot].fact = step;
    }
    return builder->program->objects.at[object].slots[slot].fact;
}

bool compile_place_slot(Builder *builder, ObjectId object, uint32_t slot, const Member *member, Operand *operand) {
    StepId fact = place_fact_step(builder, object, slot);
    if (fact == 0) return false;
    const Slot *own = &builder->program->objects.at[object].slots[slot];
    const CardGroup *group = builder->program->places.at[builder->program->objects.at[object].place].group;
    bool everywhere = group->facts.at[group->first_fact[slot]].everywhere;
    Operand stated = {.class = OPERAND_TRUTH, .step = fact};
    if (own->words != NULL) stated = *own->words;
    else if (member->type.class == TYPE_QUANTITY) stated = operand_value(fact, measure_of_kind(builder->model->vocabulary, member->type.kind));
    else if (member->type.class == TYPE_CHOICE) stated = (Operand){.class = OPERAND_WORD, .step = fact, .choice = member->type.choice};
    *operand = stated;
    if (everywhere || member->formula == 0) return true;
    Operand otherwise = slot_formula(builder, object, slot, member);
    if (otherwise.class != stated.class || stated.class == OPERAND_SEVERAL) {
        builder->unfit = true;
        return true;
    }
    Span span = member_span(builder, member);
    StepId known = emit(builder, STEP_STATED, 0, fact, 0, 0, span);
    operand->step = emit(builder, STEP_CHOOSE, 0, known, fact, otherwise.step, span);
    return true;
}

/* ---- whole programs ----------------------------------------------------------------------------------------------- */

static void open_mould(Builder *builder, Arena *arena, const World *world, Sources *sources, Model *model, PlanRequest request,
                       const CardGroup *const *groups, uint32_t count) {
    *builder = (Builder){.arena = arena, .world = world, .sources = sources, .model = model, .tree = model->tree};
    builder->messages = messages_open(arena, sources);
    builder->mould = true;
    builder_open(builder, request);
    for (uint32_t i = 0; i < count; i++) VECTOR_PUSH(arena, &builder->program->places, (CardPlace){groups[i], 0});
}

static Program *close_mould(Builder *builder) {
    compile_objects(builder);
    return builder->unfit || builder->messages->errors > 0 ? NULL : builder->program;
}

static Text name_of_card(const Builder *builder, const CardGroup *group) {
    return model_name(builder->model, tree_node(builder->tree, group->cards[0])->name);
}

Program *mould_of_cards(Arena *arena, const World *world, Sources *sources, Model *model, const CardGroup *group) {
    Builder builder;
    open_mould(&builder, arena, world, sources, model, (PlanRequest){0}, &group, 1);
    object_of_place(&builder, 1, name_of_card(&builder, group));
    return close_mould(&builder);
}

Program *mould_of_holder(Arena *arena, const World *world, Sources *sources, Model *model, FormId holder, const Symbol *fields,
                         const CardGroup *const *groups, uint32_t place_count) {
    Builder builder;
    open_mould(&builder, arena, world, sources, model, (PlanRequest){0}, groups, place_count);
    form_of(model, holder);
    ObjectId object = object_open(&builder, holder, 0, 0, model_name(model, model->forms.at[holder].name), 0);
    for (uint32_t i = 0; i < place_count; i++) {
        uint32_t slot = form_slot(model, holder, fields[i]);
        if (slot == UINT32_MAX) return NULL;
        ObjectId card = object_of_place(&builder, i + 1, name_of_card(&builder, groups[i]));
        Slot *own = &builder.program->objects.at[object].slots[slot];
        own->operand = (Operand){.class = OPERAND_OBJECT, .object = card, .form = groups[i]->form};
        own->state = SLOT_DONE;
    }
    return close_mould(&builder);
}

Program *mould_of_choice(Arena *arena, const World *world, Sources *sources, Model *model, PlanRequest request,
                         const CardGroup *const *groups, uint32_t place_count, uint32_t errors) {
    Builder builder;
    open_mould(&builder, arena, world, sources, model, request, groups, place_count);
    compile_request(&builder);
    return builder.unfit || builder.messages->errors > errors ? NULL : builder.program;
}

void mould_fill(const Program *program, double *inputs, uint32_t place, uint32_t card) {
    const CardGroup *group = program->places.at[place].group;
    for (uint32_t i = 0; i < program->place_facts.count; i++) {
        const PlacedFact *fact = &program->place_facts.at[i];
        if (fact->place == place) inputs[fact->constant] = group->facts.at[fact->fact].values[card];
    }
}
