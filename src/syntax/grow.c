#include "syntax/reader.h"

#include <assert.h>

/* ---- lists ---- */

void list_add(Reader *reader, List *list, NodeId node) {
    if (!node) return;
    if (list->last) reader_node(reader, list->last)->next = node;
    else list->first = node;
    list->last = node;
}

List list_join(Reader *reader, List first, List second) {
    if (!first.first) return second;
    if (!second.first) return first;
    reader_node(reader, first.last)->next = second.first;
    return (List){first.first, second.last};
}

void grow_field(Reader *reader, List *fields, NodeId field) {
    if (!field) return;
    NodeId run = 0;
    if (reader->packs && reader->blocks.count == 1 && reader_node(reader, reader->blocks.at[0].owner)->kind == NODE_FILLED)
        run = tree_pack(reader->tree, fields->last, field);
    if (run && reader->latest == field) reader->latest = run;
    if (!run || run != fields->last) list_add(reader, fields, run ? run : field);
}

/* ---- nodes ---- */

Symbol grow_name(Reader *reader, Token token) {
    return token.value ? token.value : symbol_of(reader->tree->symbols, lexer_text(&reader->lexer, token.span));
}

NodeId grow_node(Reader *reader, NodeKind kind, Span span, Symbol name, NodeId a, NodeId b, NodeId c) {
    NodeId id = tree_add(reader->tree, kind, span);
    Node *node = reader_node(reader, id);
    node->name = name;
    node->a = a;
    node->b = b;
    node->c = c;
    return id;
}

NodeId grow_option(Reader *reader, OptionKind option, Span span, Symbol name, NodeId a) {
    if (a) span = span_join(span, reader_node(reader, a)->span);
    NodeId id = grow_node(reader, NODE_OPTION, span, name, a, 0, 0);
    reader_node(reader, id)->op = (uint8_t)option;
    return id;
}

NodeId grow_number(Reader *reader, Span span, double number, Symbol unit) {
    NodeId id = tree_add(reader->tree, NODE_NUMBER, span);
    Node *node = reader_node(reader, id);
    node->number = number;
    node->name = unit;
    return id;
}

NodeId grow_title(Reader *reader, NodeId text) {
    return text ? grow_option(reader, OPTION_TITLE, reader_node(reader, text)->span, 0, text) : 0;
}

NodeId grow_bounds(Reader *reader, BoundsKind bounds, NodeId a, NodeId b, NodeId c) {
    Span span = span_join(reader_node(reader, a)->span, reader_node(reader, c ? c : b)->span);
    NodeId id = grow_node(reader, NODE_BOUNDED, span, 0, a, b, c);
    reader_node(reader, id)->op = (uint8_t)bounds;
    return id;
}

NodeId grow_filled(Reader *reader, Token form, Token name, NodeId title) {
    Tree *tree = reader->tree;
    Symbol of = grow_name(reader, form);
    if (reader->packs && title && title + 1 == tree->count) { /* the OPTION around the TEXT says no more than it does */
        title = reader_node(reader, title)->a;
        tree->count--;
    }
    bool close = reader->packs && form.span.end + 1 == name.span.start && form.span.end - form.span.start == symbol_text(tree->symbols, of).length;
    bool shared = close && reader->form && reader_node(reader, reader->form)->name == of;
    if (!shared) reader->form = grow_node(reader, NODE_NAME, form.span, of, 0, 0, 0);
    NodeId id = grow_node(reader, NODE_FILLED, name.span, grow_name(reader, name), reader->form, 0, title);
    reader_node(reader, id)->op = shared;
    return id;
}

NodeId grow_broken(Reader *reader, Token token) {
    if (!reader->blocks.count) return tree_add(reader->tree, NODE_BROKEN, token.span);
    reader_node(reader, reader->blocks.at[reader->blocks.count - 1].owner)->flags |= NODE_INCOMPLETE;
    return 0;
}

/* `as NAME` comes in the list of what limits the motion; it becomes the segment's name. */
NodeId grow_segment(Reader *reader, NodeId segment, SegmentKind kind) {
    Node *node = reader_node(reader, segment);
    node->op = (uint8_t)kind;
    node->span = span_join(node->span, reader_node(reader, node->a)->span);
    List limits = {0, 0};
    for (NodeId id = node->b, next; id; id = next) {
        Node *limit = reader_node(reader, id);
        next = limit->next;
        limit->next = 0;
        node->span = span_join(node->span, limit->span);
        if (limit->kind == NODE_NAME) node->name = limit->name;
        else list_add(reader, &limits, id);
    }
    node->b = limits.first;
    return segment;
}

/* ---- expressions ---- */

Expression grow_leaf(NodeId node) { return (Expression){node, 1}; }

enum { UNREAD = 1 << 30 }; /* the depth of an expression that is unread text, and of all that it is taken into */

static Expression unread(Reader *reader, NodeId id) {
    Node *node = reader_node(reader, id);
    *node = (Node){.kind = NODE_BROKEN, .span = node->span};
    return (Expression){id, UNREAD};
}

/* The node as an expression that is so deep; too deep, it becomes unread text. */
static Expression grown(Reader *reader, NodeId id, uint32_t depth) {
    if (depth <= SYNTAX_DEPTH_LIMIT) return (Expression){id, depth};
    if (depth <= UNREAD) complain_depth(reader, reader_node(reader, id)->span);
    return unread(reader, id);
}

static uint32_t deeper(uint32_t a, uint32_t b) { return (a > b ? a : b) + 1; }

Expression grow_unary(Reader *reader, Operator operation, Token sign, Expression a) {
    NodeId id = grow_node(reader, NODE_UNARY, span_join(sign.span, reader_node(reader, a.id)->span), 0, a.id, 0, 0);
    reader_node(reader, id)->op = (uint8_t)operation;
    return grown(reader, id, a.depth + 1);
}

static bool is_comparison(unsigned operation) { return operation >= OPERATOR_LESS && operation <= OPERATOR_IN; }

static bool is_bare(const Node *node, NodeKind kind) { return node->kind == kind && !(node->flags & NODE_IN_PARENTHESES); }

static bool is_rising(unsigned operation) { return operation == OPERATOR_LESS || operation == OPERATOR_AT_MOST; }

/* a <= x <= b; what else looks like it is a slip. */
static Expression grow_chain(Reader *reader, Operator operation, Token sign, Expression a, Expression b) {
    const Node *left = reader_node(reader, a.id);
    Span span = span_join(left->span, reader_node(reader, b.id)->span);
    if (left->kind == NODE_CHAIN || !is_rising(left->op) || !is_rising(operation)) {
        SAY(reader->messages, COMPARISON_CHAIN, sign.span, TEXT(""));
        reader->errors++;
        return unread(reader, tree_add(reader->tree, NODE_BROKEN, span));
    }
    NodeId middle = left->b;
    NodeId second = grow_node(reader, NODE_BINARY, span_join(reader_node(reader, middle)->span, reader_node(reader, b.id)->span), 0,
                              middle, b.id, 0);
    reader_node(reader, second)->op = (uint8_t)operation;
    return grown(reader, grow_node(reader, NODE_CHAIN, span, 0, a.id, second, 0), deeper(a.depth, b.depth + 1));
}

Expression grow_binary(Reader *reader, Operator operation, Token sign, Expression a, Expression b) {
    Node *left = reader_node(reader, a.id);
    if (is_comparison(operation) && ((is_bare(left, NODE_BINARY) && is_comparison(left->op)) || is_bare(left, NODE_CHAIN)))
        return grow_chain(reader, operation, sign, a, b);
    bool negative = operation == OPERATOR_POWER && is_bare(left, NODE_NUMBER) && left->number < 0;
    if (negative) left->number = -left->number; /* -3 ^ 2 is -(3 ^ 2) */
    NodeId id = grow_node(reader, NODE_BINARY, span_join(left->span, reader_node(reader, b.id)->span), 0, a.id, b.id, 0);
    reader_node(reader, id)->op = (uint8_t)operation;
    Expression power = grown(reader, id, deeper(a.depth, b.depth));
    return negative ? grow_unary(reader, OPERATOR_NEGATE, (Token){left->span, 0}, power) : power;
}

Expression grow_if(Reader *reader, Token word, Expression condition, Expression then, Expression otherwise) {
    Span span = span_join(word.span, reader_node(reader, otherwise.id)->span);
    NodeId id = grow_node(reader, NODE_IF, span, 0, condition.id, then.id, otherwise.id);
    return grown(reader, id, deeper(condition.depth, deeper(then.depth, otherwise.depth) - 1));
}

Expression grow_call(Reader *reader, Token name, Token end, List arguments, uint32_t depth) {
    NodeId id = grow_node(reader, NODE_CALL, span_join(name.span, end.span), grow_name(reader, name), arguments.first, 0, 0);
    return grown(reader, id, depth + 1);
}

Expression grow_member(Reader *reader, Expression object, Token name) {
    Span span = span_join(reader_node(reader, object.id)->span, name.span);
    NodeId id = grow_node(reader, NODE_MEMBER, span, grow_name(reader, name), object.id, 0, 0);
    return grown(reader, id, object.depth + 1);
}

Expression grow_any(Reader *reader, Token word, Token form, Expression condition) {
    Span whole = word.span;
    bool read = condition.id && reader_node(reader, condition.id)->kind != NODE_BROKEN;
    whole.end = read ? reader->before.token.span.end : form.span.end; /* with the parentheses of the condition */
    NodeId name = grow_node(reader, NODE_NAME, form.span, grow_name(reader, form), 0, 0, 0);
    return grow_leaf(grow_node(reader, NODE_ANY, whole, 0, name, condition.id, 0));
}

/* A formula is quoted by its span, so what is in parentheses has them within it: "(a + b) * c", not "a + b) * c". A name or
 * a path keeps its own: its end is of use to others. */
Expression grow_parentheses(Reader *reader, Token open, Token close, Expression inner) {
    Node *node = reader_node(reader, inner.id);
    node->flags |= NODE_IN_PARENTHESES;
    if (node->kind == NODE_BINARY || node->kind == NODE_CHAIN || node->kind == NODE_IF || node->kind == NODE_UNARY)
        node->span = span_join(open.span, close.span);
    return grown(reader, inner.id, inner.depth + 1);
}

/* ---- braces ---- */

void block_open(Reader *reader, Token brace) {
    assert(reader->head);
    VECTOR_PUSH(reader->tree->arena, &reader->blocks, (Block){reader->head, brace.span.start});
    reader->lexer.in_cycle = reader_node(reader, reader->head)->kind == NODE_CYCLE;
}

void block_close(Reader *reader) {
    assert(reader->blocks.count);
    reader->blocks.count--;
    NodeId owner = reader->blocks.count ? reader->blocks.at[reader->blocks.count - 1].owner : 0;
    reader->lexer.in_cycle = owner && reader_node(reader, owner)->kind == NODE_CYCLE;
}
