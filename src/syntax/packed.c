/* Fields with plain values, packed. */
#include "syntax/tree.h"

enum { PACKED_CHUNK_BITS = 15, PACKED_CHUNK = 1 << PACKED_CHUNK_BITS };

static Packed *packed_at(const Tree *tree, uint32_t index) {
    return &tree->packed_chunks.at[index >> PACKED_CHUNK_BITS][index & (PACKED_CHUNK - 1)];
}

/* ---- going through ----------------------------------------------------------------------------------------------- */

Fields fields_of(const Tree *tree, NodeId filled) { return (Fields){.tree = tree, .next = tree_node(tree, filled)->b}; }

static void next_packed(Fields *fields) {
    const Tree *tree = fields->tree;
    const Packed *packed = packed_at(tree, fields->run->a + fields->at++);
    PackedWords words = tree->packed_words.at[packed->words];
    uint32_t start = fields->position + packed->gap, value = start + packed->lead;
    if (fields->run->op == 0) value += words.length;
    fields->position = value + packed->length;
    fields->name = words.field;
    fields->span = (Span){start, fields->run->op ? fields->position : value - packed->lead};
    fields->value = 0;
    if (packed->kind == NODE_BROKEN) fields->unpacked = (Node){.kind = NODE_BROKEN, .span = fields->span};
    else fields->unpacked = (Node){.kind = packed->kind, .op = packed->op, .name = words.value, .span = {value, fields->position}, .number = packed->number};
    fields->node = &fields->unpacked;
}

bool fields_next(Fields *fields) {
    if (!fields->run && fields->next) {
        const Node *node = tree_node(fields->tree, fields->next);
        fields->next = node->next;
        if (node->kind == NODE_PACKED) {
            fields->run = node;
            fields->at = 0;
            fields->position = node->c;
        } else {
            fields->name = node->kind == NODE_FIELD ? node->name : 0;
            fields->span = node->span;
            fields->value = node->a;
            fields->node = node->a ? tree_node(fields->tree, node->a) : NULL;
            return true;
        }
    }
    if (!fields->run) return false;
    next_packed(fields);
    if (fields->at == fields->run->b) fields->run = NULL;
    return true;
}

/* ---- packing ----------------------------------------------------------------------------------------------------- */

bool tree_packs(const Tree *tree, const Source *source) {
    return source->origin == SOURCE_USED || (source->origin == SOURCE_NAMED && tree->packs);
}

/* False: there are too many different ones. Cards state the same fields in the same order, so it is most often the next. */
static bool find_words(Tree *tree, PackedWords words, uint32_t guess, uint16_t *index) {
    uint64_t key = (uint64_t)words.field << 32 | words.value;
    if (guess >= tree->packed_words.count || tree->packed_words.at[guess].field != words.field || tree->packed_words.at[guess].value != words.value)
        guess = map_get(&tree->words_of, key, tree->packed_words.count);
    if (guess > UINT16_MAX) return false;
    if (guess == tree->packed_words.count) {
        words.length = (uint32_t)symbol_text(tree->symbols, words.field).length;
        VECTOR_PUSH(tree->arena, &tree->packed_words, words);
        map_set(&tree->words_of, key, guess);
    }
    *index = (uint16_t)guess;
    return true;
}

/* Where the latest field of a run ends. */
static uint32_t end_of_run(const Tree *tree, const Node *run) {
    const Packed *latest = packed_at(tree, run->a + run->b - 1);
    return run->op ? run->span.end : run->span.end + latest->lead + latest->length;
}

static void add_packed(Tree *tree, Packed packed) {
    if (tree->packed_count >> PACKED_CHUNK_BITS == tree->packed_chunks.count)
        VECTOR_PUSH(tree->arena, &tree->packed_chunks, arena_take_raw(tree->arena, PACKED_CHUNK * sizeof(Packed)));
    *packed_at(tree, tree->packed_count++) = packed;
}

static bool is_plain(const Node *value) {
    return (value->kind == NODE_NUMBER || value->kind == NODE_NAME || value->kind == NODE_TRUTH) && value->flags == 0;
}

NodeId tree_pack(Tree *tree, NodeId last, NodeId field) {
    const Node *node = tree_node(tree, field), *value = tree_node(tree, node->a);
    Span name = node->span;
    if (node->kind != NODE_FIELD || !is_plain(value) || node->a + 1 != field || field + 1 != tree->count) return 0;
    bool table = name.start == value->span.start;
    uint32_t lead = table ? 0 : value->span.start - name.end, length = value->span.end - value->span.start, gap = 0;
    if (lead > UINT8_MAX || length > UINT8_MAX || (table && name.end != value->span.end)) return 0;
    Node *run = last ? tree_node(tree, last) : NULL;
    bool goes_on = run && run->kind == NODE_PACKED && run->op == table && run->a + run->b == tree->packed_count;
    if (goes_on) gap = name.start - end_of_run(tree, run);
    goes_on = goes_on && gap <= UINT16_MAX;
    Packed packed = {.number = value->number, .gap = goes_on ? (uint16_t)gap : 0, .lead = (uint8_t)lead, .length = (uint8_t)length,
                     .kind = value->kind, .op = value->op};
    uint32_t guess = tree->packed_count ? packed_at(tree, tree->packed_count - 1)->words + 1u : 0;
    if (!find_words(tree, (PackedWords){node->name, value->name, 0}, guess, &packed.words)) return 0;
    if (!table && name.end - name.start != tree->packed_words.at[packed.words].length) return 0; /* spelled otherwise */
    tree->count -= 2;
    if (!goes_on) {
        last = tree_add(tree, NODE_PACKED, name);
        run = tree_node(tree, last);
        run->op = table;
        run->a = tree->packed_count;
        run->c = name.start;
    }
    run->b++;
    run->span = name;
    add_packed(tree, packed);
    return last;
}

uint32_t tree_packed_end(const Tree *tree, NodeId run) {
    const Node *node = tree_node(tree, run);
    return packed_at(tree, node->a + node->b - 1)->kind == NODE_BROKEN ? node->span.end : end_of_run(tree, node);
}

void tree_spoil_packed(Tree *tree, NodeId run) {
    const Node *node = tree_node(tree, run);
    packed_at(tree, node->a + node->b - 1)->kind = NODE_BROKEN;
}

/* ---- unpacking --------------------------------------------------------------------------------------------------- */

NodeId tree_fields(Tree *tree, NodeId filled) {
    NodeId *link = &tree_node(tree, filled)->b; /* nodes never move */
    while (*link) {
        Node *node = tree_node(tree, *link);
        if (node->kind != NODE_PACKED) {
            link = &node->next;
            continue;
        }
        Fields fields = {.tree = tree, .run = node, .position = node->c};
        while (fields_next(&fields)) {
            NodeId value = tree_add(tree, (NodeKind)fields.unpacked.kind, fields.unpacked.span), field = tree_add(tree, NODE_FIELD, fields.span);
            *tree_node(tree, value) = fields.unpacked;
            Node *written = tree_node(tree, field);
            written->name = fields.name;
            written->a = value;
            *link = field;
            link = &written->next;
        }
        *link = node->next;
    }
    return tree_node(tree, filled)->b;
}
