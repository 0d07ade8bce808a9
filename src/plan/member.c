/* `object.name`: fields of filled-in forms, reductions of signals, what a cycle knows of itself. */
#include "plan/build.h"

static void reductions_try(Nearest *nearest) {
    static const char *const names[] = {"peak", "maximum", "minimum", "mean", "rms", "integral"};
    for (unsigned i = 0; i < sizeof names / sizeof names[0]; i++) {
        Symbol symbol = symbol_find(nearest->symbols, text_from(names[i]));
        if (symbol != 0) nearest_try(nearest, symbol);
    }
}

static void say_no_member(Builder *builder, NodeId id, Operand object) {
    const Model *model = builder->model;
    const Node *node = tree_node(builder->tree, id);
    Nearest nearest = nearest_to(model->symbols, node->name);
    Span span = node->span;
    Text name = model_name(model, node->name);
    if (span.end - span.start > name.length) span.start = span.end - (uint32_t)name.length;
    if (object.class == OPERAND_OBJECT || object.class == OPERAND_ABSENT) {
        const Form *form = form_of(builder->model, object.form);
        if (!form_is_whole(builder->model, object.form)) return;
        for (uint32_t i = 0; i < form->members.count; i++) nearest_try(&nearest, form->members.at[i].name);
    }
    if (object.class == OPERAND_VALUE) reductions_try(&nearest);
    SAY(builder->messages, UNKNOWN_MEMBER, span, node_text(builder, node->a), operand_words(builder, object), name, nearest_found(&nearest));
}

static void note_path(Builder *builder, NodeId id, Operand operand) {
    if (builder->references == NULL || operand.class == OPERAND_OBJECT || operand.class == OPERAND_BROKEN) return;
    Text path = node_text(builder, id);
    for (uint32_t i = 0; i < builder->references->count; i++) {
        if (text_equal(builder->references->at[i].path, path)) return;
    }
    VECTOR_PUSH(builder->arena, builder->references, (Reference){path, 0, operand.step});
    if (builder->owner == 0 && operand.class == OPERAND_VALUE) { /* a requirement's: the path is whole, and can be an anchor */
        NamedValue value = {path, operand.step, operand.measure, tree_node(builder->tree, id)->span};
        VECTOR_PUSH(builder->arena, &builder->program->named_values, value);
    }
}

static Operand member_of_object(Builder *builder, NodeId id, Operand object) {
    const Node *node = tree_node(builder->tree, id);
    FormId form = object.object ? builder->program->objects.at[object.object].form : object.form;
    form_of(builder->model, form);
    uint32_t slot = form_slot(builder->model, form, node->name);
    if (slot == UINT32_MAX) {
        say_no_member(builder, id, object);
        return operand_broken();
    }
    if (object.object != 0) {
        ReferenceVector *references = builder->references;
        Operand operand = compile_slot(builder, object.object, slot);
        builder->target = (Target){object.object, slot};
        if (references && operand.class != OPERAND_OBJECT && operand.class != OPERAND_BROKEN) {
            Text path = object_slot_path(builder->program, builder->arena, object.object, slot);
            bool known = false;
            for (uint32_t i = 0; i < references->count; i++) known = known || text_equal(references->at[i].path, path);
            if (!known) VECTOR_PUSH(builder->arena, references, (Reference){path, object.object, operand.step});
        }
        return operand;
    }
    Operand operand = operand_absent(builder, form_of(builder->model, form)->members.at[slot].type, object.text, node->span);
    operand.open = object.open && operand.class == OPERAND_ABSENT;
    return operand;
}

static Operand member_of_several(Builder *builder, NodeId id, Operand several);

static Operand member_of(Builder *builder, NodeId id, Operand object) {
    const Node *node = tree_node(builder->tree, id);
    Reduction reduction;
    Operand result;
    switch (object.class) {
    case OPERAND_BROKEN: return object;
    case OPERAND_OBJECT:
    case OPERAND_ABSENT: return member_of_object(builder, id, object);
    case OPERAND_SEVERAL: return member_of_several(builder, id, object);
    case OPERAND_CYCLE:
        result = cycle_member(builder, object, node->name, id);
        note_path(builder, id, result);
        return result;
    case OPERAND_SEGMENT:
        result = segment_member(builder, object, node->name, id);
        note_path(builder, id, result);
        return result;
    case OPERAND_VALUE:
        if (reduction_of(model_name(builder->model, node->name), &reduction)) {
            result = reduce(builder, reduction, object, node->span);
            if (builder->owner == 0) note_path(builder, id, result);
            return result;
        }
        break;
    default: break;
    }
    say_no_member(builder, id, object);
    return operand_broken();
}

static Operand member_of_several(Builder *builder, NodeId id, Operand several) {
    Operand *all = ARENA_ARRAY(builder->arena, Operand, several.count);
    for (uint32_t i = 0; i < several.count; i++) {
        all[i] = member_of(builder, id, several.several[i]);
        if (all[i].class == OPERAND_BROKEN) return all[i];
    }
    several.several = all;
    return several;
}

Operand compile_member(Builder *builder, Scope scope, NodeId id) {
    return member_of(builder, id, compile_expression(builder, scope, tree_node(builder->tree, id)->a, NULL));
}
