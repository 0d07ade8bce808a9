/* Formulas with numbers put in. */
#include "verdict/why.h"

#include <math.h>

/* A value below this share of its signal's size is rounding. */
static const double rounding = 1e-12;

/* ---- values at an instant ------------------------------------------------------------------------------------------ */

static const Piece *piece_of(Signal signal, double inside) {
    uint32_t p = 0;
    while (p + 1 < signal.count && signal.pieces[p].end <= inside) p++;
    return &signal.pieces[p];
}

static bool is_of_cycle(Signal signal, Instant instant) { return instant.time <= signal_duration(signal) * (1 + 1e-9); }

bool number_there(Judge *judge, StepId step, Instant instant, double *number) {
    const Computed *value = &judge->evaluation->values[step];
    if (value->state == COMPUTED_NUMBER) {
        *number = value->number;
        return true;
    }
    if (value->state != COMPUTED_SIGNAL || !instant.given || !is_of_cycle(value->signal, instant)) return false;
    const Piece *piece = piece_of(value->signal, instant.inside);
    if (piece->size == 0) return false;
    *number = piece_at(piece, fmin(fmax(instant.time, piece->start), piece->end));
    if (fabs(*number) <= rounding * signal_peak(value->signal).value) *number = 0;
    return true;
}

Instant instant_of(Judge *judge, Reduction reduction, StepId step) {
    const Computed *value = &judge->evaluation->values[step];
    Extreme at;
    if (value->state != COMPUTED_SIGNAL) return (Instant){0};
    switch (reduction) {
    case REDUCE_PEAK: at = signal_peak(value->signal); break;
    case REDUCE_MAXIMUM: at = signal_maximum(value->signal); break;
    case REDUCE_MINIMUM: at = signal_minimum(value->signal); break;
    default: return (Instant){0};
    }
    if (at.fault != VOID_NONE) return (Instant){0};
    const Piece *piece = &value->signal.pieces[at.piece];
    double middle = piece->start + 0.5 * (piece->end - piece->start);
    /* Where it stays the same, any instant is as good, and none is less doubtful than the middle. */
    return (Instant){true, piece->size == 1 ? middle : at.time, middle};
}

static Text spell_several(Judge *judge, Operand operand, UnitId unit, Instant instant) {
    TextBuilder out = text_builder(judge->arena);
    text_add_char(&out, '(');
    for (uint32_t i = 0; i < operand.count; i++) {
        if (i > 0) text_add(&out, TEXT(", "));
        text_add(&out, spell_there(judge, operand.several[i], unit, instant));
    }
    text_add_char(&out, ')');
    return text_built(&out);
}

Text spell_there(Judge *judge, Operand operand, UnitId unit, Instant instant) {
    double number;
    bool stepped = operand.class == OPERAND_VALUE || operand.class == OPERAND_TRUTH || operand.class == OPERAND_WORD;
    bool signal = stepped && judge->evaluation->values[operand.step].state == COMPUTED_SIGNAL;
    if (operand.class == OPERAND_SEVERAL && !operand.missing) return spell_several(judge, operand, unit, instant);
    if (!signal || !instant.given || !is_of_cycle(judge->evaluation->values[operand.step].signal, instant)) {
        return spell_operand(judge, operand, unit);
    }
    if (!number_there(judge, operand.step, instant, &number)) return TEXT("no value");
    if (operand.class == OPERAND_VALUE) return spell_value(judge->model->vocabulary, judge->arena, number, operand.measure, unit, SPELL_DIGITS);
    if (operand.class == OPERAND_TRUTH) return number != 0 ? TEXT("yes") : TEXT("no");
    const Choice *choice = choice_of(judge->model, operand.choice);
    return number < choice->words.count ? model_name(judge->model, choice->words.at[(uint32_t)number].name) : TEXT("no value");
}

/* ---- as written ---------------------------------------------------------------------------------------------------- */

/* The rows of a table, the first of many. */
static Text table_as_written(Judge *judge, const Node *node) {
    enum { ROWS_MOST = 8 };
    TextBuilder out = text_builder(judge->arena);
    const Tree *tree = judge->model->tree;
    uint32_t count = 0;
    text_add(&out, TEXT("table "));
    if (node->b != 0) text_add(&out, formula_of_node(judge, node->b));
    for (NodeId row = node->a; row != 0 && count <= ROWS_MOST; row = tree_node(tree, row)->next, count++) {
        const Text sides[2] = {formula_of_node(judge, tree_node(tree, row)->a), formula_of_node(judge, tree_node(tree, row)->b)};
        text_add(&out, count == 0 ? TEXT("{ ") : TEXT("; "));
        text_add(&out, count == ROWS_MOST ? TEXT("…") : text_fill(judge->arena, TEXT("{0} : {1}"), sides, 2));
    }
    if (node->a != 0) text_add(&out, TEXT(" }"));
    return text_built(&out);
}

Text formula_of_node(Judge *judge, NodeId node) {
    if (node == 0) return (Text){0};
    const Node *written = tree_node(judge->model->tree, node);
    return written->kind == NODE_TABLE ? table_as_written(judge, written) : on_one_line(judge, source_text(judge->result->sources, written->span));
}

bool is_written_number(Judge *judge, NodeId node) {
    NodeKind kind = node ? (NodeKind)tree_node(judge->model->tree, node)->kind : NODE_NONE;
    return kind == NODE_NUMBER || kind == NODE_BOUNDED;
}

/* The number whose unit counts, of one with or without bounds. */
static NodeId nominal_node(Judge *judge, NodeId node) {
    const Node *written = tree_node(judge->model->tree, node);
    if (written->kind != NODE_BOUNDED) return node;
    return written->op == BOUNDS_BETWEEN && written->c ? written->c : written->a;
}

const Step *bare_step(Judge *judge, StepId id) {
    const Step *step = &judge->program->steps.at[id];
    while (step->kind == STEP_NEEDS) step = &judge->program->steps.at[step->a];
    return step;
}

static NodeId written_node(Judge *judge, ObjectId object, uint32_t slot) {
    const Object *owner = &judge->program->objects.at[object];
    NodeId stated = owner->slots[slot].stated;
    return stated ? stated : form_of(judge->model, owner->form)->members.at[slot].formula;
}

UnitId unit_of_member(Judge *judge, ObjectId object, uint32_t slot) {
    NodeId node = written_node(judge, object, slot);
    if (is_written_number(judge, node)) {
        Symbol unit = tree_node(judge->model->tree, nominal_node(judge, node))->name;
        UnitId known = unit && !judge->program->objects.at[object].law ? vocabulary_unit(judge->model->vocabulary, unit, (Span){0, 0}) : 0;
        if (known != 0) return known;
    }
    return form_of(judge->model, judge->program->objects.at[object].form)->members.at[slot].shown;
}

/* ---- what a path names --------------------------------------------------------------------------------------------- */

bool leaf_of_path(Judge *judge, ObjectId owner, NodeId id, Instant instant, Leaf *leaf) {
    const Node *node = tree_node(judge->model->tree, id);
    const Resolution *own = program_resolution(judge->program, owner, id);
    *leaf = (Leaf){.kind = LEAF_MEMBER, .written = formula_of_node(judge, id), .instant = instant, .segment = UINT32_MAX};
    if (own == NULL || (node->kind != NODE_NAME && node->kind != NODE_MEMBER)) return false;
    leaf->operand = own->operand;
    if (node->kind == NODE_MEMBER) {
        const Resolution *of = program_resolution(judge->program, owner, node->a);
        if (of == NULL) return false;
        if ((of->operand.class == OPERAND_CYCLE || of->operand.class == OPERAND_SEGMENT) && of->operand.index != 0) {
            leaf->kind = LEAF_CYCLE;
            leaf->cycle = of->operand.index;
            if (of->operand.class == OPERAND_SEGMENT) leaf->segment = of->operand.segment;
            leaf->name = node->name;
            return own->operand.class == OPERAND_VALUE;
        }
        if (of->operand.class == OPERAND_VALUE) { /* .peak, .mean: of what is before it */
            const Step *step = &judge->program->steps.at[own->operand.step];
            Instant there = step->kind == STEP_REDUCE ? instant_of(judge, (Reduction)step->aux, of->operand.step) : (Instant){0};
            return leaf_of_path(judge, owner, node->a, there, leaf);
        }
    } else if (own->object == 0) {
        leaf->kind = LEAF_READING;
        return own->operand.class == OPERAND_VALUE && text_is(model_name(judge->model, node->name), "measured");
    }
    leaf->object = own->object;
    leaf->slot = own->slot;
    return own->object != 0 && own->operand.class != OPERAND_OBJECT && own->operand.class != OPERAND_BROKEN;
}

/* ---- the walk ------------------------------------------------------------------------------------------------------ */

typedef enum Position { /* of a value among operators: where it needs parentheses */
    ALONE,    /* an argument, or all there is */
    COMPARED, /* beside a comparison, and, or */
    FIRST,   /* left of an operator */
    SECOND,  /* right of one */
    DIVISOR,
    POWERED  /* base or exponent */
} Position;

typedef struct Put {
    Judge *judge;
    ObjectId owner;
    Instant instant;
    TextBuilder *out;
    LeafVector *leaves;
} Put;

static void put(const Put *with, NodeId id, Position position);

static const Node *node_of(const Put *with, NodeId id) { return tree_node(with->judge->model->tree, id); }

static Operand operand_of(const Put *with, NodeId id) {
    const Resolution *resolution = program_resolution(with->judge->program, with->owner, id);
    return resolution ? resolution->operand : (Operand){.class = OPERAND_BROKEN};
}

static void put_as_written(const Put *with, NodeId id) { text_add(with->out, formula_of_node(with->judge, id)); }

static bool has(Text text, const char *part) {
    Text wanted = text_from(part);
    for (size_t i = 0; i + wanted.length <= text.length; i++) {
        if (text_starts(text_slice(text, i, text.length), wanted)) return true;
    }
    return false;
}

static void put_value(const Put *with, Text value, Position position) {
    bool unit = has(value, " "), enclosed = text_starts(value, TEXT("("));
    if (enclosed && position == ALONE && text_ends(value, TEXT(")"))) value = text_slice(value, 1, value.length - 1); /* several */
    bool needs = (position != ALONE && has(value, " to ")) || (position >= SECOND && text_starts(value, TEXT("-"))) ||
                 (position == POWERED && unit) || (position == DIVISOR && (has(value, "/") || has(value, "·")));
    if (needs && !enclosed) text_add_char(with->out, '(');
    text_add(with->out, value);
    if (needs && !enclosed) text_add_char(with->out, ')');
}

bool leaf_equal(const Leaf *a, const Leaf *b) {
    if (a->kind != b->kind || a->object != b->object || a->slot != b->slot) return false;
    if (a->cycle != b->cycle || a->segment != b->segment || a->name != b->name) return false;
    return a->instant.given == b->instant.given && a->instant.time == b->instant.time && a->instant.inside == b->instant.inside;
}

static void note_leaf(const Put *with, Leaf leaf) {
    for (uint32_t i = 0; i < with->leaves->count; i++) {
        if (leaf_equal(&with->leaves->at[i], &leaf)) return;
    }
    VECTOR_PUSH(with->judge->arena, with->leaves, leaf);
}

/* axes.power: the power of each; where it is reduced to a number (`whole`), each where that is taken. */
static void note_each(const Put *with, NodeId id, Operand several, Operand whole) {
    Judge *judge = with->judge;
    const Node *node = node_of(with, id);
    for (uint32_t i = 0; i < several.count; i++) {
        Operand one = several.several[i];
        Operand reduced = whole.class == OPERAND_SEVERAL && i < whole.count ? whole.several[i] : (Operand){0};
        if (one.class == OPERAND_SEVERAL) note_each(with, id, one, reduced);
        if (one.class != OPERAND_OBJECT || one.object == 0) continue;
        uint32_t slot = form_slot(judge->model, judge->program->objects.at[one.object].form, node->name);
        if (slot == UINT32_MAX) continue;
        Operand operand = judge->program->objects.at[one.object].slots[slot].operand;
        if (operand.class == OPERAND_OBJECT || operand.class == OPERAND_BROKEN) continue;
        Leaf leaf = {.object = one.object, .slot = slot, .segment = UINT32_MAX, .operand = operand,
                     .written = formula_of_node(judge, id), .instant = with->instant};
        const Step *step = reduced.class == OPERAND_VALUE ? &judge->program->steps.at[reduced.step] : NULL;
        if (step != NULL) leaf.instant = step->kind == STEP_REDUCE ? instant_of(judge, (Reduction)step->aux, operand.step) : (Instant){0};
        note_leaf(with, leaf);
    }
}

static bool note_path(const Put *with, NodeId id, Leaf *leaf) {
    const Node *node = node_of(with, id);
    Operand whole = {0};
    *leaf = (Leaf){0};
    if (node->kind == NODE_MEMBER) {
        Operand of = operand_of(with, node->a);
        if (of.class == OPERAND_SEVERAL && of.count > 0 && of.several[0].class == OPERAND_VALUE) { /* .peak, .mean of each */
            whole = operand_of(with, id);
            id = node->a;
            node = node_of(with, id);
            of = node->kind == NODE_MEMBER ? operand_of(with, node->a) : (Operand){0};
        }
        if (of.class == OPERAND_SEVERAL && of.count > 0 && (of.several[0].class == OPERAND_OBJECT || of.several[0].class == OPERAND_SEVERAL)) {
            note_each(with, id, of, whole);
            return true;
        }
    }
    if (!leaf_of_path(with->judge, with->owner, id, with->instant, leaf)) return false;
    note_leaf(with, *leaf);
    return true;
}

static void put_path(const Put *with, NodeId id, Position position) {
    Judge *judge = with->judge;
    Operand operand = operand_of(with, id);
    Leaf leaf;
    bool value = note_path(with, id, &leaf);
    if (!value || operand.class == OPERAND_TABLE || operand.class == OPERAND_CYCLE || operand.class == OPERAND_ABSENT) {
        put_as_written(with, id);
        return;
    }
    UnitId unit = leaf.object ? unit_of_member(judge, leaf.object, leaf.slot) : 0;
    if (leaf.object && operand.class == OPERAND_VALUE && bare_step(judge, operand.step)->kind == STEP_CONSTANT) {
        NodeId written = written_node(judge, leaf.object, leaf.slot);
        if (written && node_of(with, written)->kind == NODE_NUMBER && !judge->program->objects.at[leaf.object].law) {
            put_value(with, formula_of_node(judge, written), position);
            return;
        }
    }
    if (operand.class == OPERAND_TEXT && !operand.missing) {
        text_add_char(with->out, '"');
        text_add(with->out, operand.text);
        text_add_char(with->out, '"');
        return;
    }
    put_value(with, spell_there(judge, operand, unit, with->instant), position);
}

/* ---- functions ----------------------------------------------------------------------------------------------------- */

static bool is_path(const Put *with, NodeId id) {
    NodeKind kind = (NodeKind)node_of(with, id)->kind;
    return kind == NODE_NAME || kind == NODE_MEMBER;
}

static void put_arguments(const Put *with, NodeId id) {
    const Node *node = node_of(with, id);
    text_add(with->out, model_name(with->judge->model, node->name));
    text_add_char(with->out, '(');
    for (NodeId argument = node->a; argument != 0; argument = node_of(with, argument)->next) {
        if (argument != node->a) text_add(with->out, TEXT(", "));
        put(with, argument, ALONE);
    }
    text_add_char(with->out, ')');
}

/* peak(force): the number itself. peak(a * b): what is inside, at that instant. */
static void put_reduction(const Put *with, NodeId id, Operand operand, Position position) {
    Judge *judge = with->judge;
    NodeId argument = node_of(with, id)->a;
    Operand inner = operand_of(with, argument);
    const Step *step = &judge->program->steps.at[operand.step];
    Put there = *with;
    there.instant = inner.class == OPERAND_VALUE ? instant_of(judge, (Reduction)step->aux, inner.step) : (Instant){0};
    if (there.instant.given && !is_path(with, argument)) {
        put_arguments(&there, id);
        return;
    }
    TextBuilder unseen = text_builder(judge->arena); /* for what it names */
    there.out = &unseen;
    put(&there, argument, ALONE);
    Leaf leaf;
    UnitId unit = is_path(with, argument) && leaf_of_path(judge, with->owner, argument, there.instant, &leaf) && leaf.object
                      ? unit_of_member(judge, leaf.object, leaf.slot)
                      : 0;
    if (step->aux == REDUCE_INTEGRAL || step->aux == REDUCE_DURATION || step->aux == REDUCE_SHARE) unit = 0;
    put_value(with, spell_there(judge, operand, unit, with->instant), position);
}

static void put_call(const Put *with, NodeId id, Position position) {
    Operand operand = operand_of(with, id);
    Text name = model_name(with->judge->model, node_of(with, id)->name);
    if (operand.class == OPERAND_BROKEN) {
        put_as_written(with, id);
        return;
    }
    if (text_is(name, "stated")) { /* of a field, not of its value */
        put_value(with, spell_operand(with->judge, operand, 0), position);
        return;
    }
    bool value = operand.class == OPERAND_VALUE;
    StepKind kind = value ? (StepKind)with->judge->program->steps.at[operand.step].kind : STEP_NONE;
    if (kind == STEP_REDUCE) {
        put_reduction(with, id, operand, position);
        return;
    }
    Put over = *with; /* what these take is the whole signal, not one number of it */
    if (kind == STEP_LAG || kind == STEP_ACCUMULATE || text_is(name, "rate")) over.instant = (Instant){0};
    put_arguments(&over, id);
}

/* ---- operations ---------------------------------------------------------------------------------------------------- */

static Text sign_of(unsigned operation) {
    static const char *const spellings[] = {
        "",
#define OPERATOR(id, spelling, binding) spelling,
#include "syntax/operator.def"
#undef OPERATOR
    };
    return text_from(spellings[operation]);
}

static Position beside(unsigned operation, bool second) {
    if (operation == OPERATOR_POWER) return POWERED;
    if (operation >= OPERATOR_PLUS && operation <= OPERATOR_OVER) return !second ? FIRST : operation == OPERATOR_OVER ? DIVISOR : SECOND;
    return COMPARED;
}

static void put_operator(const Put *with, unsigned operation) {
    text_add_char(with->out, ' ');
    text_add(with->out, sign_of(operation));
    text_add_char(with->out, ' ');
}

/* x at t: what x is at that instant; a table is named, not shown. */
static void put_at(const Put *with, const Node *node) {
    Put there = *with;
    Operand instant = operand_of(with, node->b);
    double time;
    there.instant = (Instant){0};
    if (operand_of(with, node->a).class == OPERAND_VALUE && instant.class == OPERAND_VALUE &&
        number_there(with->judge, instant.step, with->instant, &time)) {
        there.instant = (Instant){true, time, time};
    }
    put(&there, node->a, SECOND);
    put_operator(with, OPERATOR_AT);
    put(with, node->b, SECOND);
}

static void put_binary(const Put *with, const Node *node, Position position) {
    Position first = beside(node->op, false);
    if (node->op == OPERATOR_AT) {
        put_at(with, node);
        return;
    }
    if (first == FIRST && position >= SECOND) first = SECOND; /* its sign would stand behind an operator */
    put(with, node->a, first);
    put_operator(with, node->op);
    put(with, node->b, beside(node->op, true));
}

/* Only the branch that was taken; both while the condition has no value. */
static void put_if(const Put *with, const Node *node) {
    double truth;
    Operand condition = operand_of(with, node->a);
    bool known = condition.class == OPERAND_TRUTH && number_there(with->judge, condition.step, with->instant, &truth);
    text_add(with->out, TEXT("if "));
    put(with, node->a, ALONE);
    text_add(with->out, TEXT(" then "));
    if (known && truth == 0) text_add(with->out, TEXT("…"));
    else put(with, node->b, ALONE);
    text_add(with->out, TEXT(" else "));
    if (known && truth != 0) text_add(with->out, TEXT("…"));
    else put(with, node->c, ALONE);
}

static void put_list(const Put *with, const Node *node) {
    for (NodeId item = node->a; item != 0; item = node_of(with, item)->next) {
        if (item != node->a) text_add(with->out, TEXT(", "));
        put(with, item, ALONE);
    }
}

static void put_chain(const Put *with, const Node *node) {
    const Node *low = node_of(with, node->a), *high = node_of(with, node->b);
    put_binary(with, low, COMPARED);
    put_operator(with, high->op);
    put(with, high->b, COMPARED);
}

static void put(const Put *with, NodeId id, Position position) {
    const Node *node = node_of(with, id);
    bool enclosed = node->flags & NODE_IN_PARENTHESES && node->kind != NODE_NUMBER && node->kind != NODE_NAME && node->kind != NODE_MEMBER;
    if (enclosed) text_add_char(with->out, '(');
    switch ((NodeKind)node->kind) {
    case NODE_NAME:
    case NODE_MEMBER: put_path(with, id, position); break;
    case NODE_CALL: put_call(with, id, enclosed ? ALONE : position); break;
    case NODE_UNARY:
        text_add(with->out, node->op == OPERATOR_NOT ? TEXT("not ") : TEXT("-"));
        put(with, node->a, SECOND);
        break;
    case NODE_BINARY: put_binary(with, node, enclosed ? ALONE : position); break;
    case NODE_CHAIN: put_chain(with, node); break;
    case NODE_IF: put_if(with, node); break;
    case NODE_LIST: put_list(with, node); break;
    default: put_as_written(with, id); break;
    }
    if (enclosed) text_add_char(with->out, ')');
}

Text numbers_of(Judge *judge, ObjectId owner, NodeId node, Instant instant, LeafVector *leaves) {
    TextBuilder out = text_builder(judge->arena);
    if (node == 0) return (Text){0};
    Put with = {judge, owner, instant, &out, leaves};
    put(&with, node, ALONE);
    return text_built(&out);
}
