/* Objects: filled-in forms at work. A slot is compiled when it is first asked for. */
#include "plan/build.h"

Text object_slot_path(const Program *program, Arena *arena, ObjectId object, uint32_t slot) {
    const Object *owner = &program->objects.at[object];
    const Form *form = &program->model->forms.at[owner->form];
    Text parts[2] = {owner->path, model_name(program->model, form->members.at[slot].name)};
    if (parts[0].length == 0) return parts[1];
    return text_fill(arena, TEXT("{0}.{1}"), parts, 2);
}

static FormId form_called(Builder *builder, Symbol name, Span span) {
    Model *model = builder->model;
    FormId form = model_form(model, name);
    if (form == 0) {
        Nearest nearest = nearest_to(model->symbols, name);
        for (uint32_t i = 1; i < model->forms.count; i++) nearest_try(&nearest, model->forms.at[i].name);
        SAY(builder->messages, UNKNOWN_FORM, span, model_name(model, name), model_advice(model, name, nearest_found(&nearest)));
        return 0;
    }
    form_of(model, form);
    return form;
}

FormId form_by_name(Builder *builder, NodeId name_node) {
    const Node *node = tree_node(builder->tree, name_node);
    return form_called(builder, node->name, node->span);
}

FormId form_of_filled(Builder *builder, NodeId filled) {
    return form_called(builder, tree_node(builder->tree, tree_node(builder->tree, filled)->a)->name, tree_form_span(builder->tree, filled));
}

Text advise_field(Builder *builder, const Form *form, Symbol wanted) { return form_advice(builder->model, form, wanted); }

/* ---- filling in -------------------------------------------------------------------------------------------------- */

static void say_unknown_field(Builder *builder, Object *object, const Node *field) {
    Model *model = builder->model;
    const Form *form = form_of(model, object->form);
    if (!form_is_whole(model, object->form)) return;
    Span span = {field->span.start, field->span.start + (uint32_t)model_name(model, field->name).length};
    SAY(builder->messages, UNKNOWN_FIELD, span, model_name(model, form->name), model_name(model, field->name),
        advise_field(builder, form, field->name));
    Nearest nearest = nearest_to(model->symbols, field->name);
    for (uint32_t i = 0; i < form->members.count; i++) nearest_try(&nearest, form->members.at[i].name);
    for (uint32_t i = 0; i < form->members.count; i++) {
        if (text_equal(nearest_found(&nearest), model_name(model, form->members.at[i].name))) object->slots[i].misspelt = true;
    }
}

static void fill_in(Builder *builder, Object *object, NodeId first_field) {
    Model *model = builder->model;
    const Form *form = form_of(model, object->form);
    for (NodeId id = first_field; id != 0; id = tree_node(builder->tree, id)->next) {
        const Node *field = tree_node(builder->tree, id);
        if (field->kind != NODE_FIELD) continue;
        uint32_t slot = form_slot(model, object->form, field->name);
        Span name_span = {field->span.start, field->span.start + (uint32_t)model_name(model, field->name).length};
        if (slot == UINT32_MAX) {
            say_unknown_field(builder, object, field);
        } else if (object->slots[slot].stated != 0) {
            SAY(builder->messages, FIELD_TWICE, name_span, model_name(model, field->name),
                message_place(builder->messages, object->slots[slot].stated_span.start));
        } else if (form->members.at[slot].class == NODE_LET) {
            SAY(builder->messages, DERIVED_STATED, name_span, model_name(model, field->name), model_name(model, form->name));
        } else {
            object->slots[slot].stated = field->a;
            object->slots[slot].stated_span = field->span;
        }
    }
}

static bool written_in_named_file(const Builder *builder, NodeId node) {
    const Source *source = node ? source_of(builder->tree->sources, tree_node(builder->tree, node)->span.start) : NULL;
    return source != NULL && source->origin == SOURCE_NAMED;
}

ObjectId object_open(Builder *builder, FormId form, NodeId node, Symbol name, Text path, ObjectId parent) {
    Object object = {.form = form, .node = node, .name = name, .path = path, .parent = parent, .in_use = true};
    object.named = written_in_named_file(builder, node);
    object.slots = ARENA_ARRAY(builder->arena, Slot, form_of(builder->model, form)->members.count);
    if (node != 0) fill_in(builder, &object, tree_fields(builder->tree, node));
    ObjectId id = builder->program->objects.count;
    VECTOR_PUSH(builder->arena, &builder->program->objects, object);
    return id;
}

ObjectId object_of_thing(Builder *builder, Symbol name) {
    uint32_t known = map_get(&builder->things, name, UINT32_MAX);
    if (known != UINT32_MAX) return known;
    NodeId node = model_thing(builder->model, name);
    if (node == 0 || tree_node(builder->tree, node)->kind != NODE_FILLED) return 0;
    FormId form = form_of_filled(builder, node);
    ObjectId object = form == 0 ? 0 : object_open(builder, form, node, name, model_name(builder->model, name), 0);
    map_set(&builder->things, name, object);
    return object;
}

/* ---- slots ------------------------------------------------------------------------------------------------------- */

static void say_circle(Builder *builder, ObjectId object, uint32_t slot, Span span) {
    TextBuilder circle = text_builder(builder->arena);
    uint32_t first = 0;
    for (uint32_t i = 0; i < builder->trail.count; i++) {
        if (builder->trail.at[i].object == object && builder->trail.at[i].slot == slot) first = i;
    }
    for (uint32_t i = first; i < builder->trail.count; i++) {
        Trail step = builder->trail.at[i];
        if (i - first == 8) {
            text_add(&circle, TEXT(" -> …"));
            break;
        }
        if (i > first) text_add(&circle, TEXT(" -> "));
        text_add(&circle, step.object ? object_slot_path(builder->program, builder->arena, step.object, step.slot)
                                      : model_name(builder->model, builder->program->cycles.at[step.slot].name));
    }
    text_add(&circle, TEXT(" -> "));
    text_add(&circle, object_slot_path(builder->program, builder->arena, object, slot));
    SAY(builder->messages, CIRCLE, span, text_built(&circle));
}

Operand slot_with_needs(Builder *builder, ObjectId object, uint32_t slot, Operand operand) {
    const Member *member = &form_of(builder->model, builder->program->objects.at[object].form)->members.at[slot];
    if (operand.class != OPERAND_VALUE && operand.class != OPERAND_TRUTH && operand.class != OPERAND_WORD) return operand;
    Scope scope = {SCOPE_FORM, object, UINT32_MAX};
    NodeId option = tree_node(builder->tree, member->node)->c;
    for (; option != 0; option = tree_node(builder->tree, option)->next) {
        const Node *node = tree_node(builder->tree, option);
        if (node->kind != NODE_OPTION || node->op != OPTION_NEEDS) continue;
        /* The condition sees the member itself, as it stands before this is judged. */
        Slot *own = &builder->program->objects.at[object].slots[slot];
        Slot before = *own;
        own->operand = operand;
        own->state = SLOT_DONE;
        StepId condition = compile_truth(builder, scope, node->a);
        builder->program->objects.at[object].slots[slot] = before;
        if (condition == 0) continue;
        operand.step = emit(builder, STEP_NEEDS, 0, operand.step, condition, 0, node->span);
    }
    return operand;
}

static Operand with_inputs(Builder *builder, ObjectId object, const Member *member, Operand operand) {
    if (member->varies == 0 || operand.class == OPERAND_BROKEN) return operand;
    Scope scope = {SCOPE_FORM, object, UINT32_MAX};
    Operand cycle = compile_expression(builder, scope, member->varies, NULL);
    if (cycle.class == OPERAND_BROKEN) return operand;
    if (cycle.class != OPERAND_CYCLE || operand.class != OPERAND_VALUE) {
        SAY(builder->messages, VARIES_WITH, tree_node(builder->tree, member->varies)->span, node_text(builder, member->varies),
            operand_words(builder, cycle));
        return operand;
    }
    if (cycle.index == 0) return operand;
    operand.step = cycle_input(builder, cycle.index, member->name, member->type, operand.step, tree_node(builder->tree, member->node)->span);
    return operand;
}

static Operand settled(Builder *builder, ObjectId object, uint32_t slot, const Member *member) {
    Model *model = builder->model;
    Scope scope = {SCOPE_FORM, object, UINT32_MAX};
    Text name = model_name(model, member->name);
    Span span = tree_node(builder->tree, member->node)->span;
    Operand guess = compile_as(builder, scope, member->settles, member->type, name);
    if (guess.class != OPERAND_VALUE) return operand_broken();
    StepId running = emit(builder, STEP_GUESS, 0, guess.step, 0, 0, span);
    Slot *own = &builder->program->objects.at[object].slots[slot];
    own->operand = operand_value(running, guess.measure);
    own->level = UINT32_MAX; /* the running value may be used at every level inside */
    builder->level++;
    Operand formula = compile_as(builder, scope, member->formula, member->type, name);
    builder->level--;
    if (formula.class != OPERAND_VALUE) return operand_broken();
    StepId settle = emit(builder, STEP_SETTLE, 0, running, formula.step, 0, span);
    builder->program->steps.at[running].b = settle;
    return operand_value(settle, formula.measure);
}

Operand slot_formula(Builder *builder, ObjectId object, uint32_t slot, const Member *member) {
    if (member->settles != 0) return settled(builder, object, slot, member);
    Scope scope = {SCOPE_FORM, object, UINT32_MAX};
    return compile_as(builder, scope, member->formula, member->type, model_name(builder->model, member->name));
}

static Span header_span(Builder *builder, const Object *object) {
    const Node *node = tree_node(builder->tree, object->node);
    Span form = tree_node(builder->tree, node->a)->span;
    Span span = form;
    if (source_of(builder->tree->sources, form.start) != source_of(builder->tree->sources, node->span.start)) return node->span; /* a row of a table */
    if (object->name != 0) span.end = node->span.start > form.start ? node->span.end : form.end;
    Text text = source_text(builder->tree->sources, span);
    for (uint32_t i = 0; i < text.length; i++) {
        if (text.at[i] == '\n' || text.at[i] == '{') {
            span.end = span.start + i;
            break;
        }
    }
    Text trimmed = text_trim(source_text(builder->tree->sources, span));
    span.end = span.start + (uint32_t)trimmed.length;
    return span;
}

static void say_missing_field(Builder *builder, ObjectId id, const Member *member) {
    const Object *object = &builder->program->objects.at[id];
    Model *model = builder->model;
    if (object->law) return; /* its segment says so */
    if (object->slots[form_slot(model, object->form, member->name)].misspelt) return; /* said of the wrong name */
    if (object->node && tree_node(builder->tree, object->node)->flags & NODE_INCOMPLETE) return; /* it may have been there */
    Text name = model_name(model, member->name);
    Span span = header_span(builder, object);
    Text parts[2] = {name, type_example(model, builder->arena, member->type, TEXT("1"))};
    Message *message = SAY(builder->messages, MISSING_FIELD, span, object->path, name, type_which(model, builder->arena, member->type, name), parts[1]);
    const Source *source = source_of(builder->tree->sources, span.start);
    if (source && source->table) message->advice = text_fill(builder->arena, TEXT("Right would be, for example, a column called {0}, and in its cell: {1}"), parts, 2);
}

static Operand without_value(Builder *builder, ObjectId object, uint32_t slot, const Member *member) {
    Model *model = builder->model;
    Span span = tree_node(builder->tree, member->node)->span;
    if (member->class == NODE_MAYBE) {
        return operand_absent(builder, member->type, object_slot_path(builder->program, builder->arena, object, slot), span);
    }
    if (member->class == NODE_GIVEN) {
        say_missing_field(builder, object, member);
    } else {
        const Object *owner = &builder->program->objects.at[object];
        if (!form_is_whole(model, owner->form)) return operand_broken();
        Text form = model_name(model, model->forms.at[owner->form].name);
        SAY(builder->messages, NOT_DERIVED, tree_node(builder->tree, model->forms.at[owner->form].node)->span, form,
            model_name(model, member->name), model_name(model, model->forms.at[member->owner].name));
    }
    return operand_broken();
}

/* A figure that somebody wants to change alone. */
static Operand figure_apart(Builder *builder, Operand operand) {
    if (builder->program->request.scope != PLAN_CARD || operand.class != OPERAND_VALUE) return operand;
    const Step step = builder->program->steps.at[operand.step];
    if (step.kind == STEP_CONSTANT) operand.step = emit_apart(builder, builder->program->constants.at[step.a], step.span);
    return operand;
}

static Operand slot_value(Builder *builder, ObjectId object, uint32_t slot, const Member *member) {
    Text name = model_name(builder->model, member->name);
    NodeId stated = builder->program->objects.at[object].slots[slot].stated;
    Operand operand;
    if (builder->program->objects.at[object].place != 0 && compile_place_slot(builder, object, slot, member, &operand)) {
        /* what the cards of a group state */
    } else if (stated != 0) {
        Scope scope = {SCOPE_FIELD, object, slot};
        operand = figure_apart(builder, compile_as(builder, scope, stated, member->type, name));
    } else if (member->formula != 0) {
        operand = slot_formula(builder, object, slot, member);
    } else {
        return without_value(builder, object, slot, member);
    }
    operand = with_inputs(builder, object, member, operand);
    return slot_with_needs(builder, object, slot, operand);
}

Operand compile_slot(Builder *builder, ObjectId object, uint32_t slot) {
    Slot *own = &builder->program->objects.at[object].slots[slot];
    const Member *member = &form_of(builder->model, builder->program->objects.at[object].form)->members.at[slot];
    if (own->state == SLOT_DONE) return own->operand;
    if (builder->program->objects.at[object].abstract) {
        own->operand = operand_absent(builder, member->type, TEXT(""), tree_node(builder->tree, member->node)->span);
        own->state = SLOT_DONE;
        return own->operand;
    }
    if (own->state == SLOT_UNDER_WAY) {
        if (own->level == UINT32_MAX) return own->operand;
        if (own->level >= builder->level) {
            say_circle(builder, object, slot, own->stated ? own->stated_span : tree_node(builder->tree, member->node)->span);
            own->operand = operand_broken();
            own->state = SLOT_DONE;
            return own->operand;
        }
    }
    own->state = SLOT_UNDER_WAY;
    own->level = builder->level;
    ObjectId owner = builder->owner;
    ReferenceVector *references = builder->references;
    builder->owner = object;
    builder->references = NULL;
    VECTOR_PUSH(builder->arena, &builder->trail, (Trail){object, slot});
    Operand operand = operand_broken();
    if (builder->trail.count < PLAN_CHAIN_LIMIT) operand = slot_value(builder, object, slot, member);
    else say_too_deep(builder, tree_node(builder->tree, own->stated ? own->stated : member->node)->span);
    builder->trail.count--;
    builder->owner = owner;
    builder->references = references;
    own = &builder->program->objects.at[object].slots[slot];
    if (own->state == SLOT_DONE && own->operand.class == OPERAND_BROKEN) return own->operand; /* part of a circle */
    own->operand = operand;
    own->state = SLOT_DONE;
    return operand;
}

void compile_all_slots(Builder *builder, ObjectId object) {
    uint32_t count = form_of(builder->model, builder->program->objects.at[object].form)->members.count;
    for (uint32_t slot = 0; slot < count; slot++) {
        compile_slot(builder, object, slot);
        compile_agreement(builder, object, slot);
    }
}

/* ---- a form by itself -------------------------------------------------------------------------------------------- */

static void check_member(Builder *builder, ObjectId object, const Member *member) {
    Scope scope = {SCOPE_FORM, object, UINT32_MAX};
    Text name = model_name(builder->model, member->name);
    Type number = {.class = TYPE_QUANTITY, .kind = member->type.kind};
    if (member->formula != 0) compile_as(builder, scope, member->formula, member->type, name);
    bool settles = member->type.class == TYPE_QUANTITY && member->formula != 0;
    if (member->settles != 0 && settles) compile_as(builder, scope, member->settles, number, name);
    if (member->within != 0) compile_expression(builder, scope, member->within, NULL);
    if (member->varies != 0) {
        Operand cycle = compile_expression(builder, scope, member->varies, NULL);
        if (cycle.class != OPERAND_BROKEN && cycle.class != OPERAND_CYCLE) {
            SAY(builder->messages, VARIES_WITH, tree_node(builder->tree, member->varies)->span, node_text(builder, member->varies),
                operand_words(builder, cycle));
        }
    }
    if (member->settles != 0 && !settles) {
        SAY(builder->messages, SETTLES_WHAT, tree_node(builder->tree, member->node)->span, name);
    }
    for (NodeId option = tree_node(builder->tree, member->node)->c; option != 0; option = tree_node(builder->tree, option)->next) {
        const Node *node = tree_node(builder->tree, option);
        if (node->kind == NODE_OPTION && node->op == OPTION_NEEDS) compile_truth(builder, scope, node->a);
    }
}

void check_form(Builder *builder, FormId id) {
    const Form *form = form_of(builder->model, id);
    ObjectId object = object_open(builder, id, 0, form->name, model_name(builder->model, form->name), 0);
    builder->program->objects.at[object].abstract = true;
    builder->program->objects.at[object].in_use = false;
    ObjectId owner = builder->owner;
    builder->owner = object;
    for (uint32_t i = 0; i < form->members.count; i++) {
        if (form->members.at[i].owner == id) check_member(builder, object, &form->members.at[i]);
    }
    compile_rules(builder, object);
    builder->owner = owner;
}
