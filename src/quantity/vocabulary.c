#include "quantity/vocabulary.h"

#include <math.h>
#include <string.h>

#include "text/utf8.h"

Vocabulary *vocabulary_open(Arena *arena, Symbols *symbols, const Tree *tree, Messages *messages) {
    Vocabulary *v = ARENA_NEW(arena, Vocabulary);
    v->arena = arena;
    v->symbols = symbols;
    v->tree = tree;
    v->messages = messages;
    v->unit_names = map_open(arena);
    v->prefix_names = map_open(arena);
    v->kind_names = map_open(arena);
    v->texts = map_open(arena);
    v->bad_texts = map_open(arena);
    UnitRecord *number = ARENA_NEW(arena, UnitRecord);
    number->scale = (Scale){1, 1, 0};
    number->unit.factor = 1;
    VECTOR_PUSH(arena, &v->units, (DeclaredUnit){0});
    VECTOR_PUSH(arena, &v->prefixes, (DeclaredPrefix){0});
    VECTOR_PUSH(arena, &v->kinds, ARENA_NEW(arena, DeclaredKind));
    VECTOR_PUSH(arena, &v->records, number);
    VECTOR_PUSH(arena, &v->faults, (UnitFault){0});
    return v;
}

Symbol vocabulary_normal(Vocabulary *vocabulary, Symbol symbol) {
    Text text = symbol_text(vocabulary->symbols, symbol);
    for (size_t i = 0; i < text.length; i++)
        if ((unsigned char)text.at[i] >= 0x80)
            return symbol_of(vocabulary->symbols, utf8_normal(vocabulary->arena, text));
    return symbol;
}

/* ---- noting declarations ---- */

static NodeId declaration_of(const Vocabulary *v, const Map *names, uint32_t number) {
    return names == &v->unit_names     ? v->units.at[number].node
           : names == &v->prefix_names ? v->prefixes.at[number].node
                                       : v->kinds.at[number]->node;
}

static bool in_one_file(const Vocabulary *v, const Node *a, NodeId b) {
    return source_of(v->messages->sources, a->span.start) == source_of(v->messages->sources, tree_node(v->tree, b)->span.start);
}

/* Notes one name of a declaration; a name that is taken, or cannot be one, is reported. */
static void note_name(Vocabulary *v, Map *names, const char *what, const Node *named, uint32_t number) {
    if (named->name == 0) return;
    Symbol name = vocabulary_normal(v, named->name);
    Text text = symbol_text(v->symbols, name);
    if (names != &v->kind_names && !unit_text_is_name(text)) {
        SAY(v->messages, UNIT_NAME, named->span, text, text_from(what));
        return;
    }
    uint32_t taken = map_get(names, name, 0);
    if (taken != 0) {
        Span other = tree_node(v->tree, declaration_of(v, names, taken))->span;
        SAY(v->messages, DECLARED_TWICE, named->span, text_fill(v->arena, TEXT("the {0} {1}"), (Text[]){text_from(what), text}, 2),
            message_place(v->messages, other.start));
        return;
    }
    uint32_t prefix = 0, unit = 0, barred;
    if (names == &v->unit_names && unit_find(v, text, &prefix, &unit, &barred) && !in_one_file(v, named, v->units.at[unit].node)) {
        /* mN would be no millinewton from then on, anywhere; within a file the author means it: ft is no femtotonne */
        Text parts[3] = {text, symbol_text(v->symbols, v->prefixes.at[prefix].name), symbol_text(v->symbols, v->units.at[unit].name)};
        SAY(v->messages, DECLARED_TWICE, named->span, text_fill(v->arena, TEXT("the unit {0}, which is {1} before {2},"), parts, 3),
            message_place(v->messages, tree_node(v->tree, v->units.at[unit].node)->span.start));
        return;
    }
    map_set(names, name, number);
    if (names == &v->prefix_names && text.length > v->longest_prefix) v->longest_prefix = (uint32_t)text.length;
}

static void note_names(Vocabulary *v, Map *names, const char *what, NodeId declaration, uint32_t number) {
    const Node *node = tree_node(v->tree, declaration);
    note_name(v, names, what, node, number);
    if (node->kind == NODE_KIND) return; /* has one name */
    for (NodeId other = node->a; other; other = tree_node(v->tree, other)->next)
        note_name(v, names, what, tree_node(v->tree, other), number);
}

Span vocabulary_name_span(const Vocabulary *v, Span span, Symbol name) {
    Text text = symbol_text(v->symbols, name);
    if (text_ends(source_text(v->tree->sources, span), text)) span.start = span.end - (uint32_t)text.length;
    return span;
}

static void note_base(Vocabulary *v, NodeId declaration, const Node *option) {
    static const char *const words[DIMENSION_COUNT] = {
#define DIMENSION(id, word, symbol) word,
#include "quantity/dimension.def"
#undef DIMENSION
    };
    Text word = symbol_text(v->symbols, option->name);
    for (int i = 0; i < DIMENSION_COUNT; i++) {
        if (!text_is(word, words[i])) continue;
        if (v->base_units[i] == 0) {
            v->base_units[i] = declaration;
            return;
        }
        const Node *first = tree_node(v->tree, v->base_units[i]);
        SAY(v->messages, UNIT_BASE_TWICE, vocabulary_name_span(v, option->span, option->name), word, symbol_text(v->symbols, first->name),
            message_place(v->messages, first->span.start));
        return;
    }
    TextBuilder known = text_builder(v->arena);
    for (int i = 0; i < DIMENSION_COUNT; i++) {
        if (i > 0) text_add_string(&known, i + 1 < DIMENSION_COUNT ? ", " : " and ");
        text_add_string(&known, words[i]);
    }
    SAY(v->messages, UNIT_DIMENSION, vocabulary_name_span(v, option->span, option->name), word, text_built(&known));
}

static void declare_unit(Vocabulary *v, NodeId declaration) {
    DeclaredUnit unit = {.node = declaration, .name = vocabulary_normal(v, tree_node(v->tree, declaration)->name)};
    for (NodeId id = tree_node(v->tree, declaration)->c; id; id = tree_node(v->tree, id)->next) {
        const Node *option = tree_node(v->tree, id);
        if (option->op == OPTION_PREFIXES) unit.prefixes = true;
        if (option->op == OPTION_BASE) note_base(v, declaration, option);
    }
    uint32_t number = v->units.count;
    VECTOR_PUSH(v->arena, &v->units, unit);
    note_names(v, &v->unit_names, "unit", declaration, number);
}

static void declare_prefix(Vocabulary *v, NodeId declaration) {
    const Node *node = tree_node(v->tree, declaration);
    const Node *size = node->b ? tree_node(v->tree, node->b) : NULL;
    Text name = symbol_text(v->symbols, node->name);
    double number = size && size->kind == NODE_NUMBER ? size->number : 0;
    if (!(number > 0) || isinf(number) || size->name != 0) {
        if (!size || size->kind == NODE_NUMBER)
            SAY(v->messages, UNIT_SIZE, size ? size->span : node->span, text_from("prefix"), name);
        number = 1;
    }
    DeclaredPrefix prefix = {.name = vocabulary_normal(v, node->name), .node = declaration, .scale = scale_of(number)};
    VECTOR_PUSH(v->arena, &v->prefixes, prefix);
    note_names(v, &v->prefix_names, "prefix", declaration, v->prefixes.count - 1);
}

static void declare_kind(Vocabulary *v, NodeId declaration) {
    DeclaredKind *kind = ARENA_NEW(v->arena, DeclaredKind);
    kind->node = declaration;
    kind->kind.name = vocabulary_normal(v, tree_node(v->tree, declaration)->name);
    kind->kind.span = tree_node(v->tree, declaration)->span;
    VECTOR_PUSH(v->arena, &v->kinds, kind);
    note_names(v, &v->kind_names, "kind", declaration, v->kinds.count - 1);
}

void vocabulary_declare(Vocabulary *vocabulary, NodeId declaration) {
    if (declaration == 0) return;
    switch (tree_node(vocabulary->tree, declaration)->kind) {
    case NODE_UNIT: declare_unit(vocabulary, declaration); break;
    case NODE_PREFIX: declare_prefix(vocabulary, declaration); break;
    case NODE_KIND: declare_kind(vocabulary, declaration); break;
    default: break;
    }
}

/* The standard library's own units are checked by its tests, not in every run. */
static bool is_standard(const Vocabulary *v, NodeId node) {
    const Source *source = source_of(v->tree->sources, tree_node(v->tree, node)->span.start);
    return source && source->origin == SOURCE_STANDARD;
}

void vocabulary_finish(Vocabulary *vocabulary) {
    for (KindId kind = 1; kind < vocabulary->kinds.count; kind++) kind_resolve(vocabulary, kind);
    for (uint32_t i = 1; i < vocabulary->units.count; i++)
        if (!is_standard(vocabulary, vocabulary->units.at[i].node)) unit_resolve(vocabulary, i);
    for (uint32_t i = 1; i < vocabulary->units.count; i++) {
        const DeclaredUnit *unit = &vocabulary->units.at[i];
        if (unit->state != UNIT_GOOD || unit->kind == 0) continue;
        const Kind *kind = kind_of(vocabulary, unit->kind);
        if (kind->unit == 0 || kind_takes(vocabulary, kind, unit->dimension)) continue;
        SAY(vocabulary->messages, UNIT_KIND_DIFFERS, tree_node(vocabulary->tree, unit->node)->span,
            symbol_text(vocabulary->symbols, unit->name), symbol_text(vocabulary->symbols, kind->name),
            dimension_spell(vocabulary, vocabulary->arena, kind->dimension),
            dimension_spell(vocabulary, vocabulary->arena, unit->dimension));
    }
}

/* ---- looking up ---- */

/* Where in the sources a part of a unit's text stands: at the end of the span, when the span ends with the text as read. */
static Span part_span(const Vocabulary *v, Text text, Span span, const UnitFault *fault) {
    if (fault->end > text.length || fault->start >= fault->end) return span;
    if (!text_ends(source_text(v->tree->sources, span), text)) return span;
    uint32_t base = span.end - (uint32_t)text.length;
    return (Span){base + (uint32_t)fault->start, base + (uint32_t)fault->end};
}

static void say_fault(Vocabulary *v, Text text, Span span, const UnitFault *fault) {
    if (fault->silent) return;
    message_add(v->messages, fault->id, part_span(v, text, span, fault), fault->arguments, 4);
}

/* a/b·c: says how it is read, once for each such text. */
static void say_unclear(Vocabulary *v, Text text, Span span, size_t stroke) {
    size_t end = stroke + 1; /* of the divisor as read: up to the next operator outside parentheses */
    for (int depth = 0; end < text.length; end++) {
        char c = text.at[end];
        if (c == '(') depth++;
        if (c == ')') depth--;
        if (depth == 0 && (c == '*' || c == '/' || text_starts(text_slice(text, end, text.length), TEXT("·")))) break;
    }
    TextBuilder as_read = text_builder(v->arena), other = text_builder(v->arena);
    text_add(&as_read, text_slice(text, 0, stroke)); /* N·m/rad·s as read is N·m·s/rad */
    text_add(&as_read, text_slice(text, end, text.length));
    text_add(&as_read, text_slice(text, stroke, end));
    text_add(&other, text_slice(text, 0, stroke + 1));
    text_add_char(&other, '(');
    text_add(&other, text_slice(text, stroke + 1, text.length));
    text_add_char(&other, ')');
    SAY(v->messages, UNIT_UNCLEAR, span, text, text_built(&as_read), text_built(&other));
}

static UnitId read_text(Vocabulary *vocabulary, Symbol symbol, Span span, bool silent) {
    if (symbol == 0) return 0;
    UnitId known = map_get(&vocabulary->texts, symbol, 0);
    if (known) return known;
    Text text = symbol_text(vocabulary->symbols, symbol);
    uint32_t bad = map_get(&vocabulary->bad_texts, symbol, 0);
    if (bad) {
        UnitFault fault = vocabulary->faults.at[bad];
        if (!silent) say_fault(vocabulary, text, span, &fault);
        return 0;
    }
    Symbol normal = vocabulary_normal(vocabulary, symbol);
    if (normal != symbol) { /* µ and μ are one letter, and one unit */
        UnitId unit = read_text(vocabulary, normal, span, silent);
        if (unit) map_set(&vocabulary->texts, symbol, unit);
        return unit;
    }
    UnitRecord record = {0};
    UnitFault fault = {0};
    size_t unclear = 0;
    if (!unit_text_read(vocabulary, text, &record, &fault, &unclear)) {
        VECTOR_PUSH(vocabulary->arena, &vocabulary->faults, fault);
        map_set(&vocabulary->bad_texts, symbol, vocabulary->faults.count - 1);
        if (!silent) say_fault(vocabulary, text, span, &fault);
        return 0;
    }
    if (unclear && !silent) say_unclear(vocabulary, text, span, unclear);
    record.unit.text = symbol;
    UnitRecord *kept = ARENA_NEW(vocabulary->arena, UnitRecord);
    *kept = record;
    VECTOR_PUSH(vocabulary->arena, &vocabulary->records, kept);
    map_set(&vocabulary->texts, symbol, vocabulary->records.count - 1);
    return vocabulary->records.count - 1;
}

UnitId vocabulary_unit(Vocabulary *vocabulary, Symbol symbol, Span span) { return read_text(vocabulary, symbol, span, false); }

UnitId vocabulary_known_unit(Vocabulary *vocabulary, Symbol text) { return read_text(vocabulary, text, (Span){0, 0}, true); }

const UnitRecord *unit_record(const Vocabulary *vocabulary, UnitId unit) {
    return vocabulary->records.at[unit < vocabulary->records.count ? unit : 0];
}

const Unit *unit_of(const Vocabulary *vocabulary, UnitId unit) { return &unit_record(vocabulary, unit)->unit; }

KindId vocabulary_kind(const Vocabulary *vocabulary, Symbol name) { return map_get(&vocabulary->kind_names, name, 0); }

const Kind *kind_of(const Vocabulary *vocabulary, KindId kind) {
    return &vocabulary->kinds.at[kind < vocabulary->kinds.count ? kind : 0]->kind;
}

uint32_t vocabulary_kind_count(const Vocabulary *vocabulary) { return vocabulary->kinds.count - 1; }
