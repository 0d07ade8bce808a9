/* The tree as lines of text, for people and for tests. */
#include "syntax/tree.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const KINDS[] = {
    [NODE_NONE] = "none",
#define NODE(kind, words) [NODE_##kind] = #kind,
#include "syntax/node.def"
#undef NODE
};

static const char *const OPTIONS[] = {
    [OPTION_NONE] = "none",
#define OPTION(kind) [OPTION_##kind] = #kind,
#include "syntax/option.def"
#undef OPTION
};

static const char *const OPERATORS[] = {
    [OPERATOR_NONE] = "none",
#define OPERATOR(id, spelling, binding) [OPERATOR_##id] = spelling,
#include "syntax/operator.def"
#undef OPERATOR
};

static const char *const BOUNDS[] = {
    [BOUNDS_NONE] = "none", [BOUNDS_AROUND] = "around", [BOUNDS_SKEWED] = "skewed", [BOUNDS_BETWEEN] = "between"};
static const char *const SEGMENTS[] = {[SEGMENT_MOVE] = "move", [SEGMENT_HOLD] = "hold", [SEGMENT_RUN] = "run"};
static const char *const SHAPES[] = {[TYPE_PLAIN] = "", [TYPE_CYCLE] = "cycle", [TYPE_TABLE] = "table"};

typedef struct Dump {
    const Tree *tree;
    Arena *arena;
    TextBuilder out;
} Dump;

/* In small letters, with spaces for underlines. */
static void add_words(Dump *dump, const char *words) {
    for (; *words; words++) {
        char c = *words == '_' ? ' ' : *words;
        text_add_char(&dump->out, c >= 'A' && c <= 'Z' ? (char)(c + 32) : c);
    }
}

/* A word behind a space, if there is one. */
static void add_word(Dump *dump, const char *word) {
    if (*word) text_add_char(&dump->out, ' ');
    text_add_string(&dump->out, word);
}

/* The shortest digits that read back as the same number, as digits × 10^exponent's first digit: 8.2, 1e-09. Of what
 * printf writes only digits, sign and exponent are used, because the point depends on the locale. */
static void add_number(Dump *dump, double number) {
    char written[64];
    int precision = 0;
    do snprintf(written, sizeof written, "%.*e", precision, number);
    while (strtod(written, NULL) != number && ++precision < 17);
    char digits[32], *mark = strchr(written, 'e');
    size_t count = 0;
    for (const char *at = written; mark && at < mark; at++)
        if (*at >= '0' && *at <= '9') digits[count++] = *at;
    long exponent = mark ? strtol(mark + 1, NULL, 10) : 0;
    text_add_char(&dump->out, ' ');
    if (written[0] == '-') text_add_char(&dump->out, '-');
    if (exponent < -5 || exponent > 15) {
        text_add(&dump->out, (Text){digits, 1});
        if (count > 1) text_add_char(&dump->out, '.');
        text_add(&dump->out, (Text){digits + 1, count - 1});
        snprintf(written, sizeof written, "e%ld", exponent);
        text_add_string(&dump->out, written);
        return;
    }
    if (exponent < 0) {
        text_add_string(&dump->out, "0.");
        text_add_repeat(&dump->out, '0', (size_t)(-exponent - 1));
    }
    size_t whole = exponent < 0 ? 0 : (size_t)exponent + 1;
    for (size_t i = 0; i < count || i < whole; i++) {
        if (i == whole && whole) text_add_char(&dump->out, '.');
        text_add_char(&dump->out, i < count ? digits[i] : '0');
    }
}

static void add_text(Dump *dump, NodeId text) {
    Text bytes = tree_text(dump->tree, dump->arena, text);
    text_add_string(&dump->out, " \"");
    for (size_t i = 0; i < bytes.length; i++) {
        if (bytes.at[i] == '"' || bytes.at[i] == '\\') text_add_char(&dump->out, '\\');
        text_add_char(&dump->out, bytes.at[i]);
    }
    text_add_char(&dump->out, '"');
}

/* What distinguishes the node, behind its kind; `id` is that of a TEXT. */
static void add_details(Dump *dump, const Node *node, NodeId id) {
    switch (node->kind) {
        case NODE_OPTION: text_add_char(&dump->out, ' '); add_words(dump, OPTIONS[node->op]); break;
        case NODE_UNARY:
        case NODE_BINARY: add_word(dump, OPERATORS[node->op]); break;
        case NODE_BOUNDED: add_word(dump, BOUNDS[node->op]); break;
        case NODE_SEGMENT: add_word(dump, SEGMENTS[node->op]); break;
        case NODE_TYPE: add_word(dump, SHAPES[node->op]); break;
        case NODE_TRUTH: add_word(dump, node->op ? "yes" : "no"); break;
        case NODE_NUMBER: add_number(dump, node->number); break;
        case NODE_TEXT: add_text(dump, id); break;
        default: break;
    }
    if (node->name) {
        text_add_char(&dump->out, ' ');
        text_add(&dump->out, symbol_text(dump->tree->symbols, node->name));
    }
    if (node->kind == NODE_TYPE && (node->flags & TYPE_SEVERAL)) add_word(dump, "several");
    if (node->kind != NODE_TYPE && (node->flags & NODE_IN_PARENTHESES)) add_word(dump, "in parentheses");
    if (node->flags & NODE_INCOMPLETE) add_word(dump, "incomplete");
}

static void add_line(Dump *dump, size_t indent, const Node *node, NodeId id) {
    text_add_repeat(&dump->out, ' ', indent);
    add_words(dump, KINDS[node->kind]);
    add_details(dump, node, id);
    text_add_char(&dump->out, '\n');
}

/* As the nodes that they stand for. */
static void add_packed(Dump *dump, const Node *run, size_t indent) {
    for (Fields fields = {.tree = dump->tree, .run = run, .position = run->c}; fields_next(&fields);) {
        add_line(dump, indent, &(Node){.kind = NODE_FIELD, .name = fields.name}, 0);
        add_line(dump, indent + 2, fields.node, 0);
    }
}

/* Recursion is bounded by SYNTAX_DEPTH_LIMIT, lists are walked. The second and third side of a node are told apart by
 * the kinds of their nodes; only where a first is missing, a line says so. */
static void add_list(Dump *dump, NodeId first, size_t indent) {
    for (NodeId id = first; id; id = tree_node(dump->tree, id)->next) {
        const Node *node = tree_node(dump->tree, id);
        if (node->kind == NODE_PACKED) {
            add_packed(dump, node, indent);
            continue;
        }
        add_line(dump, indent, node, id);
        if (node->kind == NODE_NUMBER || node->kind == NODE_TEXT) continue;
        add_list(dump, node->a, indent + 2);
        add_list(dump, node->b, indent + 2);
        bool title = node->kind == NODE_FILLED && node->c && tree_node(dump->tree, node->c)->kind == NODE_TEXT;
        if (title) add_line(dump, indent + 2, &(Node){.kind = NODE_OPTION, .op = OPTION_TITLE}, 0);
        add_list(dump, node->c, title ? indent + 4 : indent + 2);
    }
}

Text tree_dump(const Tree *tree, Arena *arena, NodeId first_item) {
    Dump dump = {tree, arena, text_builder(arena)};
    add_list(&dump, first_item, 0);
    return text_built(&dump.out);
}
