#include <math.h>

#include "quantity/vocabulary.h"

/* ---- units in terms of units ---- */

/* "a, b, a": the circle that closes with `number`, which is being resolved. Its members are all bad. */
static void report_circle(Vocabulary *v, uint32_t number) {
    uint32_t first = v->resolving.count;
    while (first > 0 && v->resolving.at[first - 1] != number) first--;
    TextBuilder circle = text_builder(v->arena);
    for (uint32_t i = first ? first - 1 : 0; i < v->resolving.count; i++) {
        text_add(&circle, symbol_text(v->symbols, v->units.at[v->resolving.at[i]].name));
        text_add_string(&circle, ", ");
    }
    Text name = symbol_text(v->symbols, v->units.at[number].name);
    text_add(&circle, name);
    SAY(v->messages, UNIT_CIRCULAR, tree_node(v->tree, v->units.at[number].node)->span, name, text_built(&circle));
}

static bool size_is_good(double size) { return size > 0 && !isinf(size); }

static bool bad_size(Vocabulary *v, Span span, Text name) {
    SAY(v->messages, UNIT_SIZE, span, text_from("unit"), name);
    return false;
}

static bool resolve_base(Vocabulary *v, DeclaredUnit *unit, Symbol dimension) {
    static const char *const words[DIMENSION_COUNT] = {
#define DIMENSION(id, word, symbol) word,
#include "quantity/dimension.def"
#undef DIMENSION
    };
    for (int i = 0; i < DIMENSION_COUNT; i++) {
        if (!text_is(symbol_text(v->symbols, dimension), words[i])) continue;
        unit->dimension.sixths[i] = 6;
        unit->scale = (Scale){1, 1, 0};
        return true;
    }
    return false; /* reported when it was declared */
}

static bool resolve_size(Vocabulary *v, DeclaredUnit *unit, NodeId size) {
    const Node *number = tree_node(v->tree, size);
    if (number->kind != NODE_NUMBER) return false; /* unread text, reported */
    if (!size_is_good(number->number)) return bad_size(v, number->span, symbol_text(v->symbols, unit->name));
    unit->scale = scale_of(number->number);
    if (number->name == 0) return true; /* 0.01: a pure number, like % */
    UnitId in = vocabulary_unit(v, number->name, number->span);
    if (in == 0) return false;
    const UnitRecord *record = unit_record(v, in);
    unit->dimension = record->unit.dimension;
    unit->scale = scale_multiply(unit->scale, record->scale);
    if (!size_is_good(scale_value(unit->scale))) return bad_size(v, number->span, symbol_text(v->symbols, unit->name));
    return true;
}

static bool resolve_zero(Vocabulary *v, DeclaredUnit *unit, const Node *option) {
    const Node *number = option->a ? tree_node(v->tree, option->a) : NULL;
    if (!number || number->kind != NODE_NUMBER) return false;
    Dimension temperature = {{0}};
    temperature.sixths[DIMENSION_TEMPERATURE] = 6;
    double zero = number->number;
    if (number->name) {
        UnitId in = vocabulary_unit(v, number->name, number->span);
        if (in == 0) return false;
        const Unit *kelvin = unit_of(v, in);
        zero = zero * kelvin->factor + kelvin->zero;
        if (!dimension_equal(kelvin->dimension, temperature)) zero = NAN;
    }
    if (!isfinite(zero) || !dimension_equal(unit->dimension, temperature)) {
        SAY(v->messages, UNIT_ZERO_POINT, option->span, symbol_text(v->symbols, unit->name));
        return false;
    }
    unit->zero = zero;
    unit->point = true;
    return true;
}

static bool resolve_kind(Vocabulary *v, DeclaredUnit *unit, const Node *option) {
    unit->kind = vocabulary_kind(v, option->name);
    if (unit->kind) return true;
    SAY(v->messages, UNKNOWN_KIND, vocabulary_name_span(v, option->span, option->name), symbol_text(v->symbols, option->name), kind_nearest(v, option->name));
    return true; /* the unit itself is good */
}

static bool resolve(Vocabulary *v, DeclaredUnit *unit) {
    const Node *node = tree_node(v->tree, unit->node);
    const Node *base = NULL, *above = NULL, *of = NULL;
    for (NodeId id = node->c; id; id = tree_node(v->tree, id)->next) {
        const Node *option = tree_node(v->tree, id);
        if (option->op == OPTION_BASE) base = option;
        if (option->op == OPTION_ABOVE) above = option;
        if (option->op == OPTION_OF) of = option;
    }
    if (node->b ? !resolve_size(v, unit, node->b) : !base || !resolve_base(v, unit, base->name)) return false;
    if (above && !resolve_zero(v, unit, above)) return false;
    return !of || resolve_kind(v, unit, of);
}

bool unit_resolve(Vocabulary *vocabulary, uint32_t number) {
    Vocabulary *v = vocabulary;
    switch (v->units.at[number].state) {
    case UNIT_GOOD: return true;
    case UNIT_BAD: return false;
    case UNIT_BEING_RESOLVED: report_circle(v, number); return false;
    case UNIT_NOTED: break;
    }
    if (v->resolving.count >= UNIT_CHAIN_LIMIT) {
        TextBuilder limit = text_builder(v->arena);
        text_add_count(&limit, UNIT_CHAIN_LIMIT);
        SAY(v->messages, UNIT_CHAIN, tree_node(v->tree, v->units.at[number].node)->span,
            symbol_text(v->symbols, v->units.at[number].name), text_built(&limit));
        v->units.at[number].state = UNIT_BAD;
        return false;
    }
    v->units.at[number].state = UNIT_BEING_RESOLVED;
    VECTOR_PUSH(v->arena, &v->resolving, number);
    DeclaredUnit unit = v->units.at[number];
    bool good = resolve(v, &unit);
    v->resolving.count--;
    unit.state = good ? UNIT_GOOD : UNIT_BAD;
    v->units.at[number] = unit;
    return good;
}
