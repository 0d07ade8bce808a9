#include "plan/pair.h"

#include "plan/build.h"

/* ---- forms and cards ---------------------------------------------------------------------------------------------- */

static bool has_descendant(Model *model, FormId form) {
    for (FormId id = 1; id < model->forms.count; id++) {
        if (id != form && form_of(model, id)->base == form) return true;
    }
    return false;
}

/* Fields that must be filled in: those that hold a form, and all others. The parts in the order of their declarations. */
typedef struct Parts {
    uint32_t count, others;
    uint32_t slots[2];
} Parts;

static Parts parts_of(const Form *form) {
    Parts parts = {0};
    for (uint32_t slot = 0; slot < form->members.count; slot++) {
        const Member *member = &form->members.at[slot];
        if (member->class != NODE_GIVEN || member->formula != 0) continue;
        if (member->type.class != TYPE_FORM || member->type.several) {
            parts.others += member->type.class != TYPE_BROKEN;
            continue;
        }
        if (parts.count < 2) parts.slots[parts.count] = slot;
        parts.count++;
    }
    if (parts.count < 2) return parts;
    if (form->members.at[parts.slots[0]].node > form->members.at[parts.slots[1]].node) {
        uint32_t first = parts.slots[0];
        parts.slots[0] = parts.slots[1];
        parts.slots[1] = first;
    }
    return parts;
}

static Text count_words(Arena *arena, uint32_t count, const char *one, const char *many) {
    TextBuilder out = text_builder(arena);
    if (count == 0) text_add_string(&out, "no");
    else text_add_count(&out, count);
    text_add_char(&out, ' ');
    text_add_string(&out, count == 1 ? one : many);
    return text_built(&out);
}

static void say_parts(Arena *arena, Model *model, FormId id, Parts parts) {
    Text holds = count_words(arena, parts.count, "part", "parts");
    if (parts.count == 2) holds = count_words(arena, parts.others, "other field that must be filled in", "other fields that must be filled in");
    SAY(model->messages, PAIRING_PARTS, tree_node(model->tree, model->forms.at[id].node)->span, model_name(model, model->forms.at[id].name), holds);
}

PairFormVector pair_forms(Arena *arena, Model *model) {
    PairFormVector forms = {0};
    FormId base = model_form(model, symbol_of(model->symbols, TEXT("pairing")));
    for (FormId id = 1; base != 0 && id < model->forms.count; id++) {
        form_of(model, id);
        if (id == base || !form_descends(model, id, base) || !form_is_whole(model, id)) continue;
        Parts parts = parts_of(&model->forms.at[id]);
        if (parts.count == 2 && parts.others == 0) VECTOR_PUSH(arena, &forms, (PairForm){id, parts.slots[0], parts.slots[1]});
        else if (!has_descendant(model, id)) say_parts(arena, model, id, parts);
    }
    return forms;
}

CardVector pair_cards(Arena *arena, Model *model, FormId form, uint32_t slot) {
    CardVector cards = {0};
    FormId wanted = form_of(model, form)->members.at[slot].type.form;
    for (uint32_t f = 0; f < model->loaded->files.count; f++) {
        const LoadedFile *file = &model->loaded->files.at[f];
        if (file->source->origin == SOURCE_STANDARD) continue;
        for (NodeId item = file->first_item; item != 0; item = tree_node(model->tree, item)->next) {
            const Node *node = tree_node(model->tree, item);
            if (node->kind != NODE_FILLED || model_thing(model, node->name) != item) continue;
            FormId own = model_form(model, tree_node(model->tree, node->a)->name);
            if (own != 0 && form_descends(model, own, wanted)) VECTOR_PUSH(arena, &cards, item);
        }
    }
    return cards;
}

/* ---- programs ----------------------------------------------------------------------------------------------------- */

static Builder open_pairs(Arena *arena, const PairPlan *plan) {
    Builder builder = {.arena = arena, .world = plan->world, .sources = plan->sources, .model = plan->model};
    builder.tree = plan->model->tree;
    builder.messages = plan->model->messages;
    builder_open(&builder, (PlanRequest){0});
    return builder;
}

/* Cards of a form that is not there would be passed over in silence. */
static void check_cards(Builder *builder) {
    Model *model = builder->model;
    for (uint32_t f = 0; f < model->loaded->files.count; f++) {
        const LoadedFile *file = &model->loaded->files.at[f];
        if (file->source->origin == SOURCE_STANDARD) continue;
        for (NodeId item = file->first_item; item != 0; item = tree_node(model->tree, item)->next) {
            const Node *node = tree_node(model->tree, item);
            if (node->kind == NODE_FILLED && model_form(model, tree_node(model->tree, node->a)->name) == 0) form_of_filled(builder, item);
        }
    }
}

void pair_check_forms(Arena *arena, const PairPlan *plan) {
    Builder builder = open_pairs(arena, plan);
    Model *model = plan->model;
    for (FormId id = 1; id < model->forms.count; id++) {
        const Source *source = source_of(plan->sources, tree_node(model->tree, model->forms.at[id].node)->span.start);
        if (source->origin == SOURCE_NAMED) check_form(&builder, id);
    }
    check_cards(&builder);
}

bool pair_where_fits(Arena *arena, const PairPlan *plan, FormId form, NodeId where, bool tell) {
    Builder builder = open_pairs(arena, plan);
    Messages *messages = plan->model->messages;
    uint32_t said = messages->list.count;
    ObjectId object = object_open(&builder, form, 0, 0, model_name(plan->model, plan->model->forms.at[form].name), 0);
    builder.program->objects.at[object].abstract = true;
    builder.owner = object;
    bool fits = compile_truth(&builder, (Scope){SCOPE_FORM, object, UINT32_MAX}, where) != 0;
    if (!tell) messages_take_back(messages, said, 0);
    return fits;
}

static StepId compile_wheres(Builder *builder, const PairPlan *plan, ObjectId pair) {
    StepId all = 0;
    for (uint32_t i = 0; i < plan->where_count; i++) {
        StepId one = compile_truth(builder, (Scope){SCOPE_FORM, pair, UINT32_MAX}, plan->wheres[i]);
        if (one != 0) all = all == 0 ? one : emit(builder, STEP_AND, 0, all, one, 0, tree_node(builder->tree, plan->wheres[i])->span);
    }
    return all;
}

static void put_card(Builder *builder, ObjectId pair, uint32_t slot, ObjectId card) {
    Slot *own = &builder->program->objects.at[pair].slots[slot];
    own->operand = (Operand){.class = OPERAND_OBJECT, .object = card, .form = builder->program->objects.at[card].form};
    own->state = SLOT_DONE;
}

static PairEntry compile_pair(Builder *builder, const PairPlan *plan, PairForm form, ObjectId row, ObjectId column) {
    Text names[2] = {builder->program->objects.at[row].path, builder->program->objects.at[column].path};
    ObjectId pair = object_open(builder, form.form, 0, 0, text_fill(builder->arena, TEXT("{0} with {1}"), names, 2), 0);
    put_card(builder, pair, form.row, row);
    put_card(builder, pair, form.column, column);
    PairEntry entry = {.first = builder->program->judged.count};
    builder->owner = pair;
    entry.where = compile_wheres(builder, plan, pair);
    compile_rules(builder, pair);
    builder->owner = 0;
    entry.count = builder->program->judged.count - entry.first;
    return entry;
}

static ObjectId *open_cards(Builder *builder, const NodeId *cards, uint32_t count) {
    ObjectId *objects = ARENA_ARRAY(builder->arena, ObjectId, count);
    for (uint32_t i = 0; i < count; i++) objects[i] = object_of_thing(builder, tree_node(builder->tree, cards[i])->name);
    return objects;
}

PairProgram pair_program(Arena *arena, const PairPlan *plan, PairForm form, const NodeId *rows, uint32_t row_count, const NodeId *columns,
                         uint32_t column_count, const bool *skip) {
    Builder builder = open_pairs(arena, plan);
    ObjectId *row_objects = open_cards(&builder, rows, row_count), *column_objects = open_cards(&builder, columns, column_count);
    PairEntry *entries = ARENA_ARRAY(arena, PairEntry, (size_t)row_count * column_count);
    for (uint32_t r = 0; r < row_count; r++) {
        for (uint32_t c = 0; c < column_count; c++) {
            if (skip != NULL && skip[(size_t)r * column_count + c]) continue;
            entries[(size_t)r * column_count + c] = compile_pair(&builder, plan, form, row_objects[r], column_objects[c]);
        }
    }
    return (PairProgram){builder.program, entries};
}
