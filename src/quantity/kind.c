#include "quantity/vocabulary.h"

bool kind_takes(const Vocabulary *vocabulary, const Kind *kind, Dimension dimension) {
    if (dimension_equal(kind->dimension, dimension)) return true;
    for (uint32_t i = 0; i < kind->also_count; i++)
        if (dimension_equal(unit_of(vocabulary, kind->also[i])->dimension, dimension)) return true;
    return false;
}

Text kind_nearest(const Vocabulary *vocabulary, Symbol name) {
    Text wanted = symbol_text(vocabulary->symbols, name), nearest = {0};
    unsigned distance = 4; /* farther away it is another word */
    for (KindId id = 1; id < vocabulary->kinds.count; id++) {
        Text kind = symbol_text(vocabulary->symbols, vocabulary->kinds.at[id]->kind.name);
        unsigned this = distance > 0 ? text_distance(wanted, kind, distance) : 1;
        if (this < distance) distance = this, nearest = kind;
    }
    return nearest;
}

/* The units after ALSO or SHOWN; those that cannot be read have been reported and are left out. */
static UnitId *units_of_options(Vocabulary *v, NodeId first, OptionKind op, uint32_t *count) {
    uint32_t most = 0;
    for (NodeId id = first; id; id = tree_node(v->tree, id)->next) most += tree_node(v->tree, id)->op == op;
    *count = 0;
    if (most == 0) return NULL;
    UnitId *units = ARENA_ARRAY(v->arena, UnitId, most);
    for (NodeId id = first; id; id = tree_node(v->tree, id)->next) {
        const Node *option = tree_node(v->tree, id);
        if (option->op != op) continue;
        UnitId unit = vocabulary_unit(v, option->name, option->span);
        if (unit) units[(*count)++] = unit;
    }
    return units;
}

static Span span_of_option(const Vocabulary *v, NodeId first, OptionKind op, Symbol unit) {
    for (NodeId id = first; id; id = tree_node(v->tree, id)->next) {
        const Node *option = tree_node(v->tree, id);
        if (option->op == op && option->name == unit) return option->span;
    }
    return (Span){0, 0};
}

static void check_also(Vocabulary *v, const Kind *kind, NodeId options) {
    for (uint32_t i = 0; i < kind->also_count; i++) {
        const Unit *also = unit_of(v, kind->also[i]);
        if (dimension_equal_but_angle(also->dimension, kind->dimension)) continue;
        SAY(v->messages, KIND_ALSO, span_of_option(v, options, OPTION_ALSO, also->text), symbol_text(v->symbols, kind->name),
            symbol_text(v->symbols, also->text), symbol_text(v->symbols, unit_of(v, kind->unit)->text));
    }
}

static void check_shown(Vocabulary *v, const Kind *kind, NodeId options) {
    double before = 0;
    for (uint32_t i = 0; i < kind->shown_count; i++) {
        const Unit *shown = unit_of(v, kind->shown[i]);
        const char *reason = NULL;
        if (!kind_takes(v, kind, shown->dimension)) reason = "it measures something else";
        else if (shown->is_point != kind->point) reason = kind->point ? "it measures a difference" : "it measures a point";
        else if (!(shown->factor > before)) reason = "it is not larger than the one before it";
        before = shown->factor;
        if (!reason) continue;
        SAY(v->messages, KIND_SHOWN, span_of_option(v, options, OPTION_SHOWN, shown->text),
            symbol_text(v->symbols, kind->name), symbol_text(v->symbols, shown->text), text_from(reason));
    }
}

void kind_resolve(Vocabulary *vocabulary, KindId id) {
    Vocabulary *v = vocabulary;
    Kind *kind = &v->kinds.at[id]->kind;
    const Node *node = tree_node(v->tree, v->kinds.at[id]->node);
    kind->title = tree_title(v->tree, v->arena, v->kinds.at[id]->node);
    const Node *unit = node->b ? tree_node(v->tree, node->b) : NULL;
    if (!unit || unit->kind != NODE_NUMBER) return; /* unread text, reported */
    /* A kind without a unit (`in 1`, or none) counts in numbers. */
    kind->unit = unit->name ? vocabulary_unit(v, unit->name, unit->span) : 0;
    if (unit->name && kind->unit == 0) return;
    const Unit *in = unit_of(v, kind->unit);
    kind->dimension = in->dimension;
    kind->point = tree_option(v->tree, node->c, OPTION_POINT) != 0;
    if (kind->point != in->is_point)
        SAY(v->messages, KIND_POINT, unit->span, symbol_text(v->symbols, kind->name), symbol_text(v->symbols, in->text),
            text_from(kind->point ? "has no zero point" : "is counted from a zero point"));
    kind->point = in->is_point;
    kind->also = units_of_options(v, node->c, OPTION_ALSO, &kind->also_count);
    kind->shown = units_of_options(v, node->c, OPTION_SHOWN, &kind->shown_count);
    check_also(v, kind, node->c);
    check_shown(v, kind, node->c);
}

/* A written number with a lever arm (N·m) is more likely meant to be of a kind that leaves angle out than of one that has
 * this dimension itself. */
static KindId first_kind(const Vocabulary *v, Measure measure, bool by_also) {
    for (KindId id = 1; id < v->kinds.count; id++) {
        const Kind *kind = &v->kinds.at[id]->kind;
        if (kind->point != measure.point) continue;
        if (by_also ? !dimension_equal(kind->dimension, measure.dimension) && kind_takes(v, kind, measure.dimension)
                    : dimension_equal(kind->dimension, measure.dimension))
            return id;
    }
    return 0;
}

UnitId kind_usual_unit(const Kind *kind) {
    return kind->shown_count ? kind->shown[kind->shown_count / 2] : kind->unit;
}

KindId kind_for(const Vocabulary *vocabulary, Measure measure) {
    if (measure.kind) return measure.kind;
    if (dimension_is_number(measure.dimension)) return 0;
    bool also_first = measure.written && measure.has_length && measure.dimension.sixths[DIMENSION_ANGLE] == 0;
    KindId kind = first_kind(vocabulary, measure, also_first);
    return kind ? kind : first_kind(vocabulary, measure, !also_first);
}
