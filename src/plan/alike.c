#include "plan/alike.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/hash.h"

typedef struct Item {
    NodeId node;
    NodeId first, last; /* its nodes lie between these; else only such that the reader needed for a moment */
    uint32_t above;   /* of the items that hang together: one of them, nearer to the one that stands for all */
    uint32_t users;
    uint32_t user;    /* the latest that was counted */
    uint32_t number;  /* within its assembly */
    bool odd;         /* has something that no program can serve twice */
} Item;

typedef struct Finder {
    Arena *arena;
    Model *model;
    const Tree *tree;
    VECTOR(Item) items;
    Map by_thing; /* node -> index into items */
} Finder;

/* ---- items -------------------------------------------------------------------------------------------------------- */

static bool has_children(const Node *node) { return node->kind != NODE_NUMBER; }

static bool option_is_odd(const Node *node) {
    switch ((OptionKind)node->op) {
    case OPTION_WHEN:
    case OPTION_EVIDENCE:
    case OPTION_READING:
    case OPTION_DIGEST:
    case OPTION_REFINES: return true;
    default: return false;
    }
}

static bool node_is_odd(const Node *node) {
    if (node->kind == NODE_BROKEN || node->kind == NODE_ANY || node->kind == NODE_PACKED || node->flags & NODE_INCOMPLETE) return true;
    if (node->kind == NODE_FILLED && node->op != 0) return true; /* packed too */
    return (node->kind == NODE_OPTION && option_is_odd(node)) || (node->kind == NODE_TABLE && node->b != 0);
}

typedef struct Extent {
    NodeId first, last;
    bool odd;
} Extent;

/* Goes through a node, what hangs on it, and those that follow it in its list. */
static void measure_nodes(const Tree *tree, NodeId id, unsigned depth, Extent *extent) {
    if (depth > SYNTAX_DEPTH_LIMIT) extent->odd = true;
    for (; id != 0 && !extent->odd; id = tree_node(tree, id)->next) {
        const Node *node = tree_node(tree, id);
        if (id < extent->first) extent->first = id;
        if (id > extent->last) extent->last = id;
        extent->odd = node_is_odd(node);
        if (has_children(node)) {
            measure_nodes(tree, node->a, depth + 1, extent);
            if (node->kind != NODE_CHAIN) measure_nodes(tree, node->b, depth + 1, extent);
            else extent->odd = true; /* two comparisons share a node */
        }
        measure_nodes(tree, node->c, depth + 1, extent);
    }
}

static void measure_item(const Finder *finder, Item *item) {
    const Node *top = tree_node(finder->tree, item->node);
    Extent extent = {item->node, item->node, node_is_odd(top) || (top->kind == NODE_CYCLE && top->a != 0)};
    measure_nodes(finder->tree, top->a, 1, &extent);
    measure_nodes(finder->tree, top->b, 1, &extent);
    measure_nodes(finder->tree, top->c, 1, &extent);
    item->first = extent.first;
    item->last = extent.last;
    item->odd = extent.odd;
}

static void collect_items(Finder *finder) {
    const Loaded *loaded = finder->model->loaded;
    for (uint32_t f = 0; f < loaded->files.count; f++) {
        const LoadedFile *file = &loaded->files.at[f];
        if (file->source->origin != SOURCE_NAMED || file->source->literate) continue;
        for (NodeId id = file->first_item; id != 0; id = tree_node(finder->tree, id)->next) {
            const Node *node = tree_node(finder->tree, id);
            if (node->kind != NODE_FILLED && node->kind != NODE_CYCLE && node->kind != NODE_REQUIREMENT) continue;
            if (model_thing(finder->model, node->name) != id) continue;
            Item item = {.node = id, .above = finder->items.count, .user = UINT32_MAX};
            measure_item(finder, &item);
            map_set(&finder->by_thing, id, finder->items.count);
            VECTOR_PUSH(finder->arena, &finder->items, item);
        }
    }
}

/* The item that a node of another one names, or UINT32_MAX. The names of forms are no things. */
static uint32_t named_item(const Finder *finder, const Node *node) {
    NodeId thing = node->kind == NODE_NAME ? model_thing(finder->model, node->name) : 0;
    return thing ? map_get(&finder->by_thing, thing, UINT32_MAX) : UINT32_MAX;
}

static uint32_t root_of(Finder *finder, uint32_t index) {
    while (finder->items.at[index].above != index) {
        uint32_t above = finder->items.at[index].above;
        finder->items.at[index].above = finder->items.at[above].above;
        index = above;
    }
    return index;
}

static bool is_shared(const Finder *finder, uint32_t index) { return finder->items.at[index].users >= ALIKE_SHARED; }

static void join_items(Finder *finder) {
    for (uint32_t i = 0; i < finder->items.count; i++) {
        const Item *item = &finder->items.at[i];
        if (item->odd || tree_node(finder->tree, item->node)->kind == NODE_REQUIREMENT) continue;
        for (NodeId id = item->first; id <= item->last; id++) {
            uint32_t other = named_item(finder, tree_node(finder->tree, id));
            if (other == UINT32_MAX || finder->items.at[other].user == i) continue;
            finder->items.at[other].user = i;
            finder->items.at[other].users++;
        }
    }
    for (uint32_t i = 0; i < finder->items.count; i++) {
        const Item item = finder->items.at[i];
        if (item.odd || is_shared(finder, i)) continue;
        for (NodeId id = item.first; id <= item.last; id++) {
            uint32_t other = named_item(finder, tree_node(finder->tree, id));
            if (other != UINT32_MAX && !is_shared(finder, other)) finder->items.at[root_of(finder, i)].above = root_of(finder, other);
        }
    }
}

/* ---- shapes ------------------------------------------------------------------------------------------------------- */

/* What a name stands for: the number of an item of this assembly, or itself. */
static uint64_t name_mark(Finder *finder, const Node *node, uint32_t root) {
    uint32_t other = named_item(finder, node);
    bool own = other != UINT32_MAX && !is_shared(finder, other) && root_of(finder, other) == root;
    return own ? (uint64_t)1 << 32 | finder->items.at[other].number : node->name;
}

static uint64_t number_mark(const Node *node, bool fixed) {
    uint64_t bits;
    memcpy(&bits, &node->number, sizeof bits);
    return fixed ? bits : node->number == 0 ? 0 : node->number > 0 ? 1 : 2;
}

/* Exponents and the rows of tables are part of the shape. */
static void fix_nodes(const Tree *tree, NodeId id, NodeId first, uint8_t *fixed) {
    for (; id != 0; id = tree_node(tree, id)->next) {
        const Node *node = tree_node(tree, id);
        fixed[id - first] = 1;
        if (!has_children(node)) continue;
        fix_nodes(tree, node->a, first, fixed);
        fix_nodes(tree, node->b, first, fixed);
        fix_nodes(tree, node->c, first, fixed);
    }
}

static uint64_t place_mark(NodeId id, const Item *item) { return id == 0 ? 0 : id - item->first + 1; }

static uint64_t shape_of(Finder *finder, const Item *item, uint32_t root, uint8_t *fixed) {
    const Tree *tree = finder->tree;
    uint64_t hash = 7;
    memset(fixed, 0, item->last - item->first + 1u);
    for (NodeId id = item->first; id <= item->last; id++) {
        const Node *node = tree_node(tree, id);
        if (node->kind == NODE_BINARY && node->op == OPERATOR_POWER) fix_nodes(tree, node->b, item->first, fixed);
        if (node->kind == NODE_TABLE) fix_nodes(tree, node->a, item->first, fixed);
    }
    for (NodeId id = item->first; id <= item->last; id++) {
        const Node *node = tree_node(tree, id);
        bool top = id == item->node;
        hash = hash_mix(hash, (uint64_t)node->kind << 32 | (uint64_t)node->op << 16 | node->flags);
        if (!top && node->kind != NODE_CLAUSE) hash = hash_mix(hash, name_mark(finder, node, root));
        if (node->kind == NODE_NUMBER) hash = hash_mix(hash, number_mark(node, fixed[id - item->first] != 0));
        else hash = hash_mix(hash, place_mark(node->a, item) << 32 | place_mark(node->b, item));
        hash = hash_mix(hash, place_mark(node->c, item) << 32 | (top ? 0 : place_mark(node->next, item)));
    }
    return hash;
}

typedef struct Sorted {
    uint64_t shape;
    uint32_t root;
} Sorted;

static int by_shape(const void *a, const void *b) {
    const Sorted *x = a, *y = b;
    if (x->shape != y->shape) return x->shape < y->shape ? -1 : 1;
    return x->root < y->root ? -1 : x->root > y->root;
}

typedef struct Members {
    uint32_t *first; /* by root: where its items begin in `list` */
    uint32_t *count;
    uint32_t *list;
} Members;

/* The items of each assembly, in their order. */
static Members members_of(Finder *finder) {
    uint32_t count = finder->items.count, sum = 0;
    Members members = {ARENA_ARRAY(finder->arena, uint32_t, count + 1), ARENA_ARRAY(finder->arena, uint32_t, count + 1), ARENA_ARRAY(finder->arena, uint32_t, count + 1)};
    for (uint32_t i = 0; i < count; i++) members.count[root_of(finder, i)]++;
    for (uint32_t i = 0; i < count; i++) {
        members.first[i] = sum;
        sum += members.count[i];
        members.count[i] = 0;
    }
    for (uint32_t i = 0; i < count; i++) {
        uint32_t root = root_of(finder, i);
        finder->items.at[i].number = members.count[root];
        members.list[members.first[root] + members.count[root]++] = i;
    }
    return members;
}

/* False: something of it is odd. */
static bool assembly_shape(Finder *finder, const Members *members, uint32_t root, uint8_t **fixed, uint32_t *room, uint64_t *shape) {
    *shape = 11;
    for (uint32_t k = 0; k < members->count[root]; k++) {
        const Item *item = &finder->items.at[members->list[members->first[root] + k]];
        uint32_t size = item->last - item->first + 1;
        if (item->odd || is_shared(finder, members->list[members->first[root] + k])) return false;
        if (size > *room) {
            *room = 2 * size;
            *fixed = arena_take_raw(finder->arena, *room);
        }
        *shape = hash_mix(*shape, shape_of(finder, item, root, *fixed));
    }
    return members->count[root] > 0;
}

static Assembly assembly_of(Finder *finder, const Members *members, uint32_t root) {
    uint32_t count = members->count[root];
    NodeId *items = ARENA_ARRAY(finder->arena, NodeId, count), *firsts = ARENA_ARRAY(finder->arena, NodeId, count);
    NodeId *lasts = ARENA_ARRAY(finder->arena, NodeId, count);
    for (uint32_t k = 0; k < count; k++) {
        const Item *item = &finder->items.at[members->list[members->first[root] + k]];
        items[k] = item->node;
        firsts[k] = item->first;
        lasts[k] = item->last;
    }
    return (Assembly){items, firsts, lasts, count};
}

AlikeGroupVector alike_find(Arena *arena, Model *model) {
    Finder finder = {.arena = arena, .model = model, .tree = model->tree, .by_thing = map_open(arena)};
    AlikeGroupVector groups = {0};
    collect_items(&finder);
    if (finder.items.count < ALIKE_LEAST) return groups;
    join_items(&finder);
    Members members = members_of(&finder);
    Sorted *sorted = ARENA_ARRAY(arena, Sorted, finder.items.count);
    uint32_t count = 0, room = 0;
    uint8_t *fixed = NULL;
    for (uint32_t i = 0; i < finder.items.count; i++) {
        Sorted one = {0, i};
        if (members.count[i] > 0 && assembly_shape(&finder, &members, i, &fixed, &room, &one.shape)) sorted[count++] = one;
    }
    qsort(sorted, count, sizeof *sorted, by_shape);
    for (uint32_t i = 0, end; i < count; i = end) {
        for (end = i + 1; end < count && sorted[end].shape == sorted[i].shape;) end++;
        if (end - i < ALIKE_LEAST) continue;
        Assembly *assemblies = ARENA_ARRAY(arena, Assembly, end - i);
        for (uint32_t k = i; k < end; k++) assemblies[k - i] = assembly_of(&finder, &members, sorted[k].root);
        VECTOR_PUSH(arena, &groups, (AlikeGroup){assemblies, end - i});
    }
    return groups;
}

/* ---- serving another ---------------------------------------------------------------------------------------------- */

static uint32_t item_with(const Assembly *assembly, NodeId node) {
    for (uint32_t i = 0; i < assembly->count; i++) {
        if (node >= assembly->firsts[i] && node <= assembly->lasts[i]) return i;
    }
    return UINT32_MAX;
}

bool alike_holds(const Assembly *assembly, NodeId node) { return item_with(assembly, node) != UINT32_MAX; }

NodeId alike_node(const Assembly *pattern, const Assembly *assembly, NodeId node) {
    uint32_t item = node ? item_with(pattern, node) : UINT32_MAX;
    return item == UINT32_MAX ? node : node - pattern->firsts[item] + assembly->firsts[item];
}

bool alike_inputs(const Program *program, const Assembly *pattern, const Assembly *assembly, double *inputs) {
    const Tree *tree = program->model->tree;
    for (uint32_t i = 0; i < program->free_numbers.count; i++) {
        const FreeNumber *free = &program->free_numbers.at[i];
        double value = tree_node(tree, alike_node(pattern, assembly, free->node))->number * free->factor + free->zero;
        if (free->other) {
            double other = tree_node(tree, alike_node(pattern, assembly, free->other))->number * free->other_factor + free->other_zero;
            value = 0.5 * (value + other);
        }
        if (!isfinite(value) || (free->frozen && value != program->constants.at[free->constant].nominal)) return false;
        inputs[free->constant] = value;
    }
    return true;
}
