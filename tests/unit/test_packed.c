/* What is packed in a card is read as if it were not: the same messages, the same tree, the same places. */
#include <stdio.h>
#include <string.h>

#include "given_syntax.h"

static const char cards[] =
    "pump Heron-1 \"First\" {\n"
    "  flow = 12.5 L/min\n"
    "  head   =   3 m   -- as measured\n"
    "  sealed = yes\n"
    "  drive = belt, gear\n"
    "  mount = foot\n"
    "  mass = 2 kg ± 5 %\n"
    "  power = (5 W)\n"
    "  speed = -1.5e3 rpm  ratio = 1 / 3\n"
    "}\n"
    "pump Heron-2 { flow = 9 L/min  head = 2 * 3 m  motor = motor { mass = 3 kg  sealed = no }  gr\xC3\xB6\xC3\x9F" "e = 4 mm  x = 5 }\n"
    "pump  Heron-3 \"Two\" \" parts\" { }\n"
    "form pump { given flow : flow-rate = 3 L/min }\n"
    "tank Heron-4 \"Third\" { volume = 7 L }\n";

static GivenText read_bytes(const char *bytes, size_t length, bool packs) {
    GivenText given = given_bytes("a.trn", bytes, length);
    given.tree->packs = packs;
    given_read(&given);
    return given;
}

static void check_same_node(const Tree *a, const Node *x, const Tree *b, const Node *y) {
    cr_assert(x->kind == y->kind && x->op == y->op && x->flags == y->flags);
    cr_assert(x->span.start == y->span.start && x->span.end == y->span.end, "%u…%u and %u…%u", x->span.start, x->span.end, y->span.start, y->span.end);
    cr_assert(text_equal(symbol_text(a->symbols, x->name), symbol_text(b->symbols, y->name)));
    if (x->kind == NODE_NUMBER) cr_assert(x->number == y->number);
}

/* `b` has nothing packed. */
static void check_same_card(Tree *a, NodeId x, Tree *b, NodeId y) {
    Span form = tree_form_span(a, x), own = tree_form_span(b, y);
    cr_assert(form.start == own.start && form.end == own.end);
    Fields fields = fields_of(a, x);
    for (NodeId id = tree_node(b, y)->b; id; id = tree_node(b, id)->next) {
        const Node *field = tree_node(b, id);
        cr_assert(fields_next(&fields));
        cr_assert(text_equal(symbol_text(a->symbols, fields.name), symbol_text(b->symbols, field->name)));
        cr_assert(fields.span.start == field->span.start && fields.span.end == field->span.end);
        check_same_node(a, fields.node, b, tree_node(b, field->a));
    }
    cr_assert(!fields_next(&fields));
    NodeId left = tree_fields(a, x), right = tree_node(b, y)->b;
    for (; left && right; left = tree_node(a, left)->next, right = tree_node(b, right)->next) {
        check_same_node(a, tree_node(a, left), b, tree_node(b, right));
        check_same_node(a, tree_node(a, tree_node(a, left)->a), b, tree_node(b, tree_node(b, right)->a));
    }
    cr_assert(!left && !right);
}

static void check_same(const char *bytes, size_t length) {
    GivenText packed = read_bytes(bytes, length, true), plain = read_bytes(bytes, length, false);
    cr_assert(text_equal(messages_render(packed.arena, packed.messages), messages_render(plain.arena, plain.messages)), "of %.*s", (int)length, bytes);
    Text dump = given_dump(&packed), expected = given_dump(&plain);
    cr_assert(text_equal(dump, expected), "%.*s\nand not\n%.*s", (int)dump.length, dump.at, (int)expected.length, expected.at);
    NodeId x = packed.items, y = plain.items;
    for (; x && y; x = tree_node(packed.tree, x)->next, y = tree_node(plain.tree, y)->next) {
        check_same_node(packed.tree, tree_node(packed.tree, x), plain.tree, &(Node){
            .kind = tree_node(plain.tree, y)->kind, .op = tree_node(packed.tree, x)->op, .flags = tree_node(plain.tree, y)->flags,
            .name = tree_node(plain.tree, y)->name, .span = tree_node(plain.tree, y)->span});
        if (tree_node(plain.tree, y)->kind == NODE_FILLED) check_same_card(packed.tree, x, plain.tree, y);
    }
    cr_assert(!x && !y);
    cr_assert(text_equal(given_dump(&packed), expected), "unpacked");
    given_end(&packed);
    given_end(&plain);
}

Test(packed, cards_are_read_as_if_they_were_not) {
    GivenText given = read_bytes(cards, sizeof cards - 1, true);
    cr_text(messages_render(given.arena, given.messages), "");
    const Node *first = tree_node(given.tree, given.items);
    cr_assert_eq(tree_node(given.tree, first->b)->kind, NODE_PACKED);
    cr_assert_eq(tree_node(given.tree, first->b)->b, 3u, "flow, head and sealed");
    cr_assert_eq(tree_node(given.tree, first->c)->kind, NODE_TEXT);
    cr_text(tree_title(given.tree, given.arena, given.items), "First");
    cr_assert_eq(tree_node(given.tree, first->next)->op, 1u, "Heron-2 shares the name of its form");
    cr_assert_eq(tree_node(given.tree, tree_node(given.tree, first->next)->next)->op, 0u, "two spaces");
    given_end(&given);
    check_same(cards, sizeof cards - 1);
}

Test(packed, so_is_every_beginning_of_them) {
    for (size_t length = 0; length < sizeof cards; length++) check_same(cards, length);
}

/* Mistakes of all kinds: among them such that take back a value that was read. */
Test(packed, and_every_slip_in_them) {
    static const char *const slips[] = {"", " ", "\n", "=", "{", "}", ",", "\"", " x ", " 5 ", " mm", "(", "+", "--", "\n}\n"};
    char bytes[sizeof cards + 8];
    for (size_t at = 0; at + 1 < sizeof cards; at++) {
        for (size_t i = 0; i < sizeof slips / sizeof *slips; i++) {
            size_t length = strlen(slips[i]);
            memcpy(bytes, cards, at);
            memcpy(bytes + at, slips[i], length);
            memcpy(bytes + at + length, cards + at + 1, sizeof cards - at - 2);
            check_same(bytes, sizeof cards - 2 + length);
        }
    }
}

/* More different names and units than a packed field can tell apart, long gaps, and chunks that are full. */
Test(packed, what_does_not_fit_stays_a_field) {
    enum { FIELDS = 70000 };
    size_t room = FIELDS * 24 + 70000, length = 0;
    char *bytes = malloc(room);
    length += (size_t)snprintf(bytes, room, "pump Heron-1 {\n");
    for (int i = 0; i < FIELDS; i++) {
        length += (size_t)snprintf(bytes + length, room - length, "f%d = %d mm\n", i, i);
        if (i == 5) {
            memset(bytes + length, ' ', 66000);
            length += 66000;
        }
        if (i == 6) length += (size_t)snprintf(bytes + length, room - length, "g =%300s5 mm\n", "");
    }
    length += (size_t)snprintf(bytes + length, room - length, "}\n");
    check_same(bytes, length);
    free(bytes);
}
