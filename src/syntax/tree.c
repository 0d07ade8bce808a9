#include "syntax/tree.h"

#include <assert.h>

Tree *tree_open(Arena *arena, Symbols *symbols, const Sources *sources) {
    Tree *tree = ARENA_NEW(arena, Tree);
    tree->arena = arena;
    tree->symbols = symbols;
    tree->sources = sources;
    tree->count = 1;
    tree->words_of = map_open(arena);
    VECTOR_PUSH(arena, &tree->chunks, arena_take_raw(arena, TREE_CHUNK * sizeof(Node)));
    *tree->chunks.at[0] = (Node){.kind = NODE_NONE};
    return tree;
}

NodeId tree_add(Tree *tree, NodeKind kind, Span span) {
    assert(tree->count < UINT32_MAX); /* 4 GiB of positions, and no token makes more than three nodes … of a byte each */
    NodeId id = tree->count++;
    if (id >> TREE_CHUNK_BITS == tree->chunks.count)
        VECTOR_PUSH(tree->arena, &tree->chunks, arena_take_raw(tree->arena, TREE_CHUNK * sizeof(Node)));
    *tree_node(tree, id) = (Node){.kind = (uint8_t)kind, .span = span};
    return id;
}

/* ---- texts ---- */

/* The bytes of one string, which begins at `start`: up to its closing quote, or its line end if that was forgotten. */
static void add_string(TextBuilder *builder, Text written) {
    if (!written.length) return;
    for (size_t i = 1; i < written.length && written.at[i] != '"' && written.at[i] != '\n'; i++) {
        if (written.at[i] == '\\' && i + 1 < written.length && (written.at[i + 1] == '"' || written.at[i + 1] == '\\')) i++;
        text_add_char(builder, written.at[i]);
    }
}

/* A single string without a backslash needs no copy. */
static bool is_plain(Text written) {
    if (written.length < 2 || written.at[written.length - 1] != '"') return false;
    for (size_t i = 1; i + 1 < written.length; i++)
        if (written.at[i] == '"' || written.at[i] == '\\' || written.at[i] == '\n') return false;
    return true;
}

/* A quote stands for each two of them: within a quoted cell of a table. */
static Text undoubled(Arena *arena, Text written) {
    TextBuilder builder = text_builder(arena);
    for (size_t i = 0; i < written.length; i++) {
        text_add_char(&builder, written.at[i]);
        if (written.at[i] == '"' && i + 1 < written.length && written.at[i + 1] == '"') i++;
    }
    return text_built(&builder);
}

/* A text of the language has no line end, so one in a cell is a space. */
static Text cell_text(Arena *arena, Text written) {
    bool quoted = written.length >= 2 && written.at[0] == '"', plain = true;
    Text inner = quoted ? text_slice(written, 1, written.length - 1) : written;
    for (size_t i = 0; i < inner.length && plain; i++) plain = inner.at[i] != '"' && inner.at[i] != '\n' && inner.at[i] != '\r';
    if (plain) return inner;
    if (quoted) inner = undoubled(arena, inner);
    TextBuilder builder = text_builder(arena);
    for (size_t i = 0; i < inner.length; i++) {
        bool end = inner.at[i] == '\n' || inner.at[i] == '\r';
        if (inner.at[i] == '\r' && i + 1 < inner.length && inner.at[i + 1] == '\n') i++;
        text_add_char(&builder, end ? ' ' : inner.at[i]);
    }
    return text_built(&builder);
}

/* What stands in the source, with the quotes of the language around it. */
static Text written_string(const Tree *tree, Arena *arena, NodeId text) {
    const Node *node = tree_node(tree, text);
    Text written = source_text(tree->sources, node->span);
    return node->op == TEXT_QUOTED_TWICE ? undoubled(arena, written) : written;
}

Text tree_text(const Tree *tree, Arena *arena, NodeId text) {
    if (!text) return TEXT("");
    const Node *node = tree_node(tree, text);
    if (node->kind != NODE_TEXT) return TEXT("");
    if (node->op == TEXT_CELL) return cell_text(arena, source_text(tree->sources, node->span));
    Text written = written_string(tree, arena, text);
    if (!node->a && is_plain(written)) return text_slice(written, 1, written.length - 1);
    TextBuilder builder = text_builder(arena);
    for (NodeId part = text; part; part = tree_node(tree, part)->a)
        add_string(&builder, written_string(tree, arena, part));
    return text_built(&builder);
}

/* ---- options ---- */

NodeId tree_option(const Tree *tree, NodeId first_option, OptionKind kind) {
    for (NodeId id = first_option; id; id = tree_node(tree, id)->next) {
        const Node *node = tree_node(tree, id);
        if (node->kind == NODE_OPTION && node->op == kind) return id;
    }
    return 0;
}

Text tree_title(const Tree *tree, Arena *arena, NodeId declaration) {
    return tree_text(tree, arena, tree_title_node(tree, declaration));
}

NodeId tree_title_node(const Tree *tree, NodeId declaration) {
    NodeId first = tree_node(tree, declaration)->c;
    if (first && tree_node(tree, first)->kind == NODE_TEXT) return first;
    NodeId title = tree_option(tree, first, OPTION_TITLE);
    return title ? tree_node(tree, title)->a : 0;
}

Span tree_form_span(const Tree *tree, NodeId filled) {
    const Node *node = tree_node(tree, filled), *form = tree_node(tree, node->a);
    if (node->op == 0) return form->span;
    uint32_t end = node->span.start - 1;
    return (Span){end - (uint32_t)symbol_text(tree->symbols, form->name).length, end};
}
