/* What every expression came to, for those who explain values; and the path that somebody asks about. */
#include "plan/build.h"
#include "text/utf8.h"

enum { PATH_PARTS_MOST = 40 };

static uint64_t key_of(ObjectId owner, NodeId node) { return (uint64_t)owner << 32 | node; }

void note_resolution(Builder *builder, NodeId id, Operand operand) {
    Program *program = builder->program;
    if (program->objects.at[builder->owner].abstract) return;
    const Node *node = tree_node(builder->tree, id);
    Resolution resolution = {.operand = operand};
    bool named = node->kind == NODE_NAME || node->kind == NODE_MEMBER;
    bool whole = operand.class == OPERAND_OBJECT || operand.class == OPERAND_CYCLE; /* whatever was named, it is told by itself */
    if (named && !whole) {
        resolution.object = builder->target.object;
        resolution.slot = builder->target.slot;
    }
    map_set(&program->resolved, key_of(builder->owner, id), program->resolutions.count);
    VECTOR_PUSH(builder->arena, &program->resolutions, resolution);
}

const Resolution *program_resolution(const Program *program, ObjectId owner, NodeId node) {
    uint32_t index = map_get(&program->resolved, key_of(owner, node), 0);
    return index == 0 ? NULL : &program->resolutions.at[index];
}

/* The path as the tree would hold it; 0 when it cannot be a path. */
static NodeId path_node(Builder *builder, Text path) {
    NodeId node = 0;
    size_t start = 0, parts = 0;
    for (size_t i = 0; i <= path.length; i++) {
        if (i < path.length && path.at[i] != '.') continue;
        if (i == start || ++parts > PATH_PARTS_MOST) return 0;
        NodeId next = tree_add(builder->tree, node ? NODE_MEMBER : NODE_NAME, (Span){0, 0});
        Text part = utf8_normal(builder->arena, text_slice(path, start, i));
        tree_node(builder->tree, next)->name = symbol_of(builder->model->symbols, part);
        tree_node(builder->tree, next)->a = node;
        node = next;
        start = i + 1;
    }
    return node;
}

static void ask(Builder *builder, Text path) {
    const Scope top = {SCOPE_TOP, 0, UINT32_MAX};
    uint32_t said = builder->messages->list.count;
    Asked asked = {.path = path, .node = path_node(builder, path)};
    if (asked.node != 0) {
        Operand operand = compile_expression(builder, top, asked.node, NULL);
        /* A mistake of the path itself stands nowhere; one of a formula that it leads to stands in a file, and is told. */
        bool wrong = false;
        for (uint32_t i = said; i < builder->messages->list.count; i++) wrong = wrong || builder->messages->list.at[i].span.start == 0;
        if (wrong) messages_take_back(builder->messages, said, 0);
        asked.known = operand.class != OPERAND_BROKEN || !wrong;
    }
    VECTOR_PUSH(builder->arena, &builder->program->asked, asked);
}

void compile_asked(Builder *builder) {
    Program *program = builder->program;
    ObjectId before = program->objects.count;
    if (!program->request.explained) return;
    if (program->request.path.length > 0) {
        ask(builder, program->request.path);
    } else {
        for (uint32_t i = 0; i < program->named_values.count; i++) ask(builder, program->named_values.at[i].path);
        for (uint32_t i = 0; i < program->quotes.count; i++) {
            if (program->quotes.at[i].operand.class == OPERAND_VALUE) ask(builder, program->quotes.at[i].path);
        }
    }
    for (ObjectId id = before; id < program->objects.count; id++) program->objects.at[id].in_use = false;
}
