#include "plan/program.h"

#include <math.h>

#include "plan/alike.h"
#include "plan/build.h"

static const char *const step_names[] = {
    "none",
#define STEP(id, spelling, operands) spelling,
#include "plan/step.def"
#undef STEP
};

const char *step_name(StepKind kind) { return step_names[kind]; }

static void add_number(TextBuilder *out, uint32_t number) {
    text_add_char(out, ' ');
    text_add_count(out, number);
}

static void dump_step(TextBuilder *out, Arena *arena, const Program *program, StepId id) {
    const Step *step = &program->steps.at[id];
    text_add_count(out, id);
    text_add_char(out, ' ');
    text_add_string(out, step_name((StepKind)step->kind));
    if (step->kind == STEP_UNARY || step->kind == STEP_BINARY || step->kind == STEP_COMPARE || step->kind == STEP_REDUCE || step->kind == STEP_CYCLE) {
        text_add_char(out, '/');
        text_add_count(out, step->aux);
    }
    if (step->kind == STEP_CONSTANT) {
        const Constant *constant = &program->constants.at[step->a];
        text_add_char(out, ' ');
        text_add(out, spell_number(arena, constant->nominal, 15));
        if (constant->low != constant->high) {
            text_add(out, TEXT(" within "));
            text_add(out, spell_number(arena, constant->low, 15));
            text_add(out, TEXT(" to "));
            text_add(out, spell_number(arena, constant->high, 15));
        }
    } else if (step->kind == STEP_MISSING) {
        text_add_char(out, ' ');
        text_add(out, program->texts.at[step->a]);
    } else {
        unsigned operands = step_operands((StepKind)step->kind);
        if (operands > 0) add_number(out, step->a);
        if (operands > 1 || step->kind == STEP_LOOK_UP || step->kind == STEP_CYCLE_INPUT) add_number(out, step->b);
        if (operands > 2) add_number(out, step->c);
        if (step->kind == STEP_CYCLE || step->kind == STEP_CYCLE_TIME) add_number(out, step->a);
    }
    text_add_char(out, '\n');
}

Text program_dump(Arena *arena, const Program *program) {
    TextBuilder out = text_builder(arena);
    for (StepId id = 1; id < program->steps.count; id++) dump_step(&out, arena, program, id);
    return text_built(&out);
}

/* ---- building ---------------------------------------------------------------------------------------------------- */

static void open_names(Builder *builder) {
    static const char *const functions[] = {
        NULL,
#define FUNCTION(id, name, fewest, most) name,
#include "plan/function.def"
#undef FUNCTION
    };
    Symbols *symbols = builder->model->symbols;
    builder->step_table = map_open(builder->arena);
    builder->things = map_open(builder->arena);
    builder->cycles = map_open(builder->arena);
    builder->functions = map_open(builder->arena);
    builder->derivatives = map_open(builder->arena);
    builder->compared = map_open(builder->arena);
    builder->stands = map_open(builder->arena);
    for (uint32_t i = 1; i < FUNCTION_KIND_COUNT; i++) map_set(&builder->functions, symbol_of(symbols, text_from(functions[i])), i);
    builder->measured = symbol_of(symbols, TEXT("measured"));
    builder->pi = symbol_of(symbols, TEXT("pi"));
    builder->law_form = symbol_of(symbols, TEXT("motion-law"));
    builder->law_time = symbol_of(symbols, TEXT("time"));
    builder->law_position = symbol_of(symbols, TEXT("position"));
    builder->law_t = symbol_of(symbols, TEXT("t"));
}

static Program *open_program(Arena *arena, Model *model) {
    Program *program = ARENA_NEW(arena, Program);
    program->arena = arena;
    program->model = model;
    VECTOR_PUSH(arena, &program->steps, (Step){0});
    VECTOR_PUSH(arena, &program->constants, (Constant){0});
    VECTOR_PUSH(arena, &program->objects, (Object){0});
    VECTOR_PUSH(arena, &program->places, (CardPlace){0});
    VECTOR_PUSH(arena, &program->cycles, (PlanCycle){0});
    VECTOR_PUSH(arena, &program->conditions, (Condition){0});
    VECTOR_PUSH(arena, &program->resolutions, (Resolution){0});
    program->resolved = map_open(arena);
    return program;
}

static void reach_item(Builder *builder, NodeId item) {
    const Node *node = tree_node(builder->tree, item);
    if (node->kind == NODE_FILLED) object_of_thing(builder, node->name);
    if (node->kind == NODE_CYCLE && model_thing(builder->model, node->name) == item) cycle_of_thing(builder, node->name);
}

static bool is_settled(const PlanRequest *request, NodeId item) { return request->settled != NULL && map_get(request->settled, item, 0); }

static void check_forms(Builder *builder, PlanScope scope) {
    Model *model = builder->model;
    for (FormId id = 1; id < model->forms.count; id++) {
        const Source *source = source_of(builder->tree->sources, tree_node(builder->tree, model->forms.at[id].node)->span.start);
        if (scope == PLAN_ALL || source->origin == SOURCE_NAMED) check_form(builder, id);
    }
}

/* What every report shows of a cycle. */
static void name_cycle_values(Builder *builder) {
    static const char *const facts[] = {"duration", "stroke", "speed", "acceleration"};
    for (uint32_t c = 1; c < builder->program->cycles.count; c++) {
        const PlanCycle *cycle = &builder->program->cycles.at[c];
        if (cycle->state != SLOT_DONE) continue;
        for (unsigned i = 0; i < sizeof facts / sizeof facts[0]; i++) {
            Text name = text_from(facts[i]), parts[2] = {model_name(builder->model, cycle->name), name};
            Operand operand = {.class = OPERAND_CYCLE, .index = c, .measure = builder->program->cycles.at[c].stroke};
            NodeId node = builder->program->cycles.at[c].node;
            operand = cycle_member(builder, operand, symbol_of(builder->model->symbols, name), node);
            NamedValue value = {text_fill(builder->arena, TEXT("{0}.{1}"), parts, 2), operand.step, operand.measure,
                                tree_node(builder->tree, node)->span};
            VECTOR_PUSH(builder->arena, &builder->program->named_values, value);
            cycle = &builder->program->cycles.at[c];
        }
    }
}

void builder_open(Builder *builder, PlanRequest request) {
    builder->program = open_program(builder->arena, builder->model);
    builder->program->request = request;
    open_names(builder);
}

/* Compiling an object can reach further ones; they come after it in the list. */
void compile_objects(Builder *builder) {
    for (ObjectId id = 1; id < builder->program->objects.count; id++) {
        if (builder->program->objects.at[id].abstract || builder->program->objects.at[id].law) continue;
        compile_all_slots(builder, id);
        compile_rules(builder, id);
    }
}

Program *plan_assembly(Arena *arena, const World *world, Sources *sources, Model *model, const Assembly *assembly, bool nominal) {
    Builder builder = {.arena = arena, .world = world, .sources = sources, .model = model, .tree = model->tree, .assembly = assembly};
    builder.messages = messages_open(arena, sources);
    builder.mould = nominal;
    builder.free = map_open(arena);
    uint32_t said = model->messages->list.count;
    builder_open(&builder, (PlanRequest){0});
    for (uint32_t i = 0; i < assembly->count; i++) reach_item(&builder, assembly->items[i]);
    for (uint32_t i = 0; i < assembly->count; i++) {
        if (tree_node(model->tree, assembly->items[i])->kind == NODE_REQUIREMENT) compile_requirement(&builder, assembly->items[i]);
    }
    compile_objects(&builder);
    check_cycle_inputs(&builder);
    name_cycle_values(&builder);
    for (uint32_t i = 0; i < builder.program->free_numbers.count && !nominal; i++) {
        if (tree_node(model->tree, builder.program->free_numbers.at[i].written)->kind == NODE_BOUNDED) return NULL;
    }
    if (builder.messages->list.count > 0 || model->messages->list.count > said) return NULL;
    for (uint32_t i = 0; i < builder.program->constants.count && !nominal; i++) {
        const Constant *constant = &builder.program->constants.at[i];
        if (constant->low < constant->high && constant->low > -INFINITY) return NULL;
    }
    return builder.program;
}

void compile_request(Builder *builder) {
    const Model *model = builder->model;
    const PlanRequest request = builder->program->request;
    if (request.scope == PLAN_CARD) {
        reach_item(builder, request.card);
        compile_objects(builder);
        check_cycle_inputs(builder);
        return;
    }
    check_forms(builder, request.scope);
    if (request.scope == PLAN_FORMS) return;
    for (uint32_t i = 0; i < model->loaded->files.count; i++) {
        const LoadedFile *file = &model->loaded->files.at[i];
        if (file->source->origin != SOURCE_NAMED) continue;
        for (NodeId item = file->first_item; item != 0; item = tree_node(model->tree, item)->next) {
            if (!is_settled(&request, item)) reach_item(builder, item);
        }
    }
    for (uint32_t i = 0; i < request.reached_count; i++) object_of_thing(builder, request.reached[i]);
    for (uint32_t i = 0; i < model->loaded->files.count; i++) {
        const LoadedFile *file = &model->loaded->files.at[i];
        if (file->source->origin != SOURCE_NAMED) continue;
        for (NodeId item = file->first_item; item != 0; item = tree_node(model->tree, item)->next) {
            if (tree_node(model->tree, item)->kind == NODE_REQUIREMENT && !is_settled(&request, item)) compile_requirement(builder, item);
        }
    }
    compile_objects(builder);
    check_cycle_inputs(builder);
    compile_opens(builder);
    if (!request.bare) name_cycle_values(builder);
    if (!request.bare) compile_quotes(builder);
    compile_asked(builder);
}

Program *plan_build(Arena *arena, const World *world, Sources *sources, Model *model, PlanRequest request) {
    Builder builder = {.arena = arena, .world = world, .sources = sources, .model = model, .tree = model->tree, .messages = model->messages};
    builder_open(&builder, request);
    compile_request(&builder);
    return builder.program;
}
