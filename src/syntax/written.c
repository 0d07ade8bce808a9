#include "syntax/written.h"

#include "text/utf8.h"

typedef struct Writer {
    const Tree *tree;
    TextBuilder out;
    bool broken;
    bool headed; /* numbers in `unit` leave it out */
    Symbol unit;
    bool point;
} Writer;

static void add_value(Writer *writer, NodeId id);

static void add_string(Writer *writer, const char *string) { text_add_string(&writer->out, string); }
static void add_name(Writer *writer, Symbol name) { text_add(&writer->out, symbol_text(writer->tree->symbols, name)); }

/* ---- numbers ----------------------------------------------------------------------------------------------------- */

/* The bytes where they stand: source_text would add the unit of a column. */
static Text raw_text(const Writer *writer, Span span) {
    const Source *source = source_of(writer->tree->sources, span.start);
    return source ? text_slice(source->bytes, span.start - source->base, span.end - source->base) : (Text){0};
}

static bool is_of_number(Text text, size_t i) {
    char c = text.at[i];
    if ((c >= '0' && c <= '9') || c == '.' || c == '/') return true;
    if ((c == 'e' || c == 'E') && i > 0 && i + 1 < text.length) {
        char next = text.at[i + 1];
        return (next >= '0' && next <= '9') || ((next == '-' || next == '+') && i + 2 < text.length && text.at[i + 2] >= '0' && text.at[i + 2] <= '9');
    }
    if ((unsigned char)c >= 0x80) { /* U+2212 */
        return text_starts(text_slice(text, i, text.length), TEXT("−")) || (i > 0 && text_starts(text_slice(text, i - 1, text.length), TEXT("−"))) ||
               (i > 1 && text_starts(text_slice(text, i - 2, text.length), TEXT("−")));
    }
    return c == '-' || c == '+';
}

/* What stands before the unit: digits, or +5/-10. */
static Text digits_of(Text text) {
    size_t end = 0;
    while (end < text.length && is_of_number(text, end)) end++;
    return text_slice(text, 0, end);
}

Text written_unit(const Tree *tree, Arena *arena, NodeId number) {
    const Node *node = tree_node(tree, number);
    if (node->name == 0) return (Text){0};
    Text text = source_text(tree->sources, node->span), unit = text_trim(text_slice(text, digits_of(text).length, text.length));
    /* A tolerance may have another unit than the head of its column. */
    bool same = unit.length > 0 && symbol_find(tree->symbols, utf8_normal(arena, unit)) == node->name;
    return same ? unit : symbol_text(tree->symbols, node->name);
}

/* With its unit, as written, or as the head of its column says. */
static void add_number(Writer *writer, NodeId number, bool bare) {
    const Node *node = tree_node(writer->tree, number);
    Text digits = digits_of(raw_text(writer, node->span));
    if (node->number >= 0 && text_starts(digits, TEXT("-"))) digits = text_slice(digits, 1, digits.length); /* -3 ^ 2 */
    text_add(&writer->out, digits);
    Text unit = bare ? (Text){0} : written_unit(writer->tree, writer->out.arena, number);
    if (unit.length == 0) return;
    text_add_char(&writer->out, ' ');
    text_add(&writer->out, unit);
}

static bool is_left_out(const Writer *writer, NodeId number) {
    return writer->headed && tree_node(writer->tree, number)->name == writer->unit;
}

static void add_bounded(Writer *writer, const Node *node) {
    bool between = node->op == BOUNDS_BETWEEN;
    add_number(writer, node->a, is_left_out(writer, node->a));
    if (node->op == BOUNDS_SKEWED) add_string(writer, " ");
    else add_string(writer, between ? " to " : " ± ");
    add_number(writer, node->b, is_left_out(writer, node->b) && (between || !writer->point));
    if (!between || node->c == 0) return;
    add_string(writer, " nominal ");
    add_number(writer, node->c, is_left_out(writer, node->c));
}

/* ---- the rest ---------------------------------------------------------------------------------------------------- */

static void add_quoted(TextBuilder *out, Text text) {
    text_add_char(out, '"');
    for (size_t i = 0; i < text.length; i++) {
        if (text.at[i] == '"' || text.at[i] == '\\') text_add_char(out, '\\');
        text_add_char(out, text.at[i]);
    }
    text_add_char(out, '"');
}

static void add_text(Writer *writer, NodeId id) { add_quoted(&writer->out, tree_text(writer->tree, writer->out.arena, id)); }

static void add_list(Writer *writer, NodeId first, const char *between) {
    for (NodeId id = first; id != 0; id = tree_node(writer->tree, id)->next) {
        if (id != first) add_string(writer, between);
        add_value(writer, id);
    }
}

static void add_operator(Writer *writer, unsigned operation) {
    static const char *const spellings[] = {
        [OPERATOR_NONE] = "",
#define OPERATOR(id, spelling, binding) [OPERATOR_##id] = spelling,
#include "syntax/operator.def"
#undef OPERATOR
    };
    add_string(writer, " ");
    add_string(writer, spellings[operation]);
    add_string(writer, " ");
}

static void add_rows(Writer *writer, const Node *table) {
    add_string(writer, "table ");
    if (table->b != 0) {
        add_text(writer, table->b);
        return;
    }
    add_string(writer, "{ ");
    for (NodeId id = table->a; id != 0; id = tree_node(writer->tree, id)->next) {
        const Node *row = tree_node(writer->tree, id);
        if (id != table->a) add_string(writer, "; ");
        if (row->kind != NODE_ROW) writer->broken = true;
        add_value(writer, row->a);
        add_string(writer, ": ");
        add_value(writer, row->b);
    }
    add_string(writer, " }");
}

/* A name behind it could be taken for a unit of its last number. */
static bool ends_openly(const Writer *writer, NodeId value) {
    NodeKind kind = (NodeKind)tree_node(writer->tree, value)->kind;
    return kind == NODE_BINARY || kind == NODE_UNARY || kind == NODE_CHAIN || kind == NODE_IF || kind == NODE_ANY;
}

static void add_filled(Writer *writer, const Node *filled) {
    NodeId option = tree_option(writer->tree, filled->c, OPTION_TITLE);
    add_name(writer, tree_node(writer->tree, filled->a)->name);
    if (option) {
        add_string(writer, " ");
        add_text(writer, tree_node(writer->tree, option)->a);
    }
    if (filled->flags & NODE_INCOMPLETE) writer->broken = true;
    add_string(writer, " {");
    bool open = false;
    for (NodeId id = filled->b; id != 0; id = tree_node(writer->tree, id)->next) {
        const Node *field = tree_node(writer->tree, id);
        add_string(writer, open ? "\n" : id == filled->b ? " " : "  ");
        add_name(writer, field->name);
        add_string(writer, " = ");
        add_value(writer, field->a);
        open = field->a != 0 && ends_openly(writer, field->a);
    }
    add_string(writer, " }");
}

static void add_inner(Writer *writer, NodeId id) {
    const Tree *tree = writer->tree;
    const Node *node = tree_node(tree, id);
    switch ((NodeKind)node->kind) {
    case NODE_NUMBER: add_number(writer, id, is_left_out(writer, id)); break;
    case NODE_BOUNDED: add_bounded(writer, node); break;
    case NODE_NAME: add_name(writer, node->name); break;
    case NODE_TEXT: add_text(writer, id); break;
    case NODE_TRUTH: add_string(writer, node->op ? "yes" : "no"); break;
    case NODE_MEMBER:
        add_value(writer, node->a);
        add_string(writer, ".");
        add_name(writer, node->name);
        break;
    case NODE_CALL:
        add_name(writer, node->name);
        add_string(writer, "(");
        add_list(writer, node->a, ", ");
        add_string(writer, ")");
        break;
    case NODE_UNARY: /* a sign right before a digit would be that of the number */
        add_string(writer, node->op == OPERATOR_NOT ? "not " : "- ");
        add_value(writer, node->a);
        break;
    case NODE_BINARY:
        add_value(writer, node->a);
        add_operator(writer, node->op);
        add_value(writer, node->b);
        break;
    case NODE_CHAIN: {
        const Node *low = tree_node(tree, node->a), *high = tree_node(tree, node->b);
        add_value(writer, low->a);
        add_operator(writer, low->op);
        add_value(writer, low->b);
        add_operator(writer, high->op);
        add_value(writer, high->b);
        break;
    }
    case NODE_IF:
        add_string(writer, "if ");
        add_value(writer, node->a);
        add_string(writer, " then ");
        add_value(writer, node->b);
        add_string(writer, " else ");
        add_value(writer, node->c);
        break;
    case NODE_TABLE: add_rows(writer, node); break;
    case NODE_LIST: add_list(writer, node->a, ", "); break;
    case NODE_FILLED: add_filled(writer, node); break;
    case NODE_ANY:
        add_string(writer, "any ");
        add_value(writer, node->a);
        if (node->b == 0) break;
        add_string(writer, " where ");
        add_value(writer, node->b);
        break;
    default: writer->broken = true; break;
    }
}

/* Recursion is bounded by SYNTAX_DEPTH_LIMIT. */
static void add_value(Writer *writer, NodeId id) {
    if (id == 0) {
        writer->broken = true;
        return;
    }
    bool parentheses = tree_node(writer->tree, id)->flags & NODE_IN_PARENTHESES;
    if (parentheses) add_string(writer, "(");
    add_inner(writer, id);
    if (parentheses) add_string(writer, ")");
}

Text written_value(const Tree *tree, Arena *arena, NodeId value) {
    Writer writer = {.tree = tree, .out = text_builder(arena)};
    add_value(&writer, value);
    return writer.broken ? (Text){0} : text_built(&writer.out);
}

/* Can the number do with the unit of the head? A tolerance may have another, which is then written. */
static bool is_in(const Tree *tree, NodeId id, Symbol unit) {
    const Node *node = tree_node(tree, id);
    return node->kind == NODE_NUMBER && node->name == unit && !(node->flags & NODE_IN_PARENTHESES);
}

static bool fits_head(const Tree *tree, NodeId id, Symbol unit) {
    const Node *node = tree_node(tree, id);
    if (node->kind == NODE_NUMBER) return is_in(tree, id, unit);
    if (node->kind == NODE_BOUNDED) {
        if (!is_in(tree, node->a, unit) || node->flags & NODE_IN_PARENTHESES || tree_node(tree, node->b)->name == 0) return false;
        return node->op != BOUNDS_BETWEEN || (is_in(tree, node->b, unit) && (node->c == 0 || is_in(tree, node->c, unit)));
    }
    if (node->kind != NODE_LIST) return false;
    for (NodeId one = node->a; one != 0; one = tree_node(tree, one)->next) {
        if (!fits_head(tree, one, unit)) return false;
    }
    return node->a != 0;
}

bool written_under_unit(const Tree *tree, Arena *arena, NodeId value, Symbol unit, bool point, Text *text) {
    if (!fits_head(tree, value, unit)) return false;
    Writer writer = {.tree = tree, .out = text_builder(arena), .headed = true, .unit = unit, .point = point};
    add_value(&writer, value);
    *text = text_built(&writer.out);
    return true;
}

Text written_text(Arena *arena, Text text) {
    TextBuilder out = text_builder(arena);
    add_quoted(&out, text);
    return text_built(&out);
}
