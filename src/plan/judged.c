/* What is to be judged: requirements, rules, agreements and cautions, with their conditions kept in a shape that shows
 * what was found and what the limit is. */
#include "plan/build.h"

static uint32_t add_condition(Builder *builder, Condition condition) {
    uint32_t index = builder->program->conditions.count;
    VECTOR_PUSH(builder->arena, &builder->program->conditions, condition);
    return index;
}

static uint32_t broken_condition(Builder *builder, Span span) {
    return add_condition(builder, (Condition){.kind = CONDITION_BROKEN, .span = span});
}

static uint32_t truth_condition(Builder *builder, StepId truth, Span span) {
    if (truth == 0) return broken_condition(builder, span);
    return add_condition(builder, (Condition){.kind = CONDITION_TRUTH, .truth = truth, .span = span});
}

static uint32_t group(Builder *builder, ConditionKind kind, const uint32_t *members, uint32_t count, Span span) {
    uint32_t *children = ARENA_ARRAY(builder->arena, uint32_t, count);
    for (uint32_t i = 0; i < count; i++) children[i] = members[i];
    return add_condition(builder, (Condition){.kind = kind, .children = children, .child_count = count, .span = span});
}

static SignalCompare opposite(SignalCompare comparison) {
    switch (comparison) {
    case SIGNAL_LESS: return SIGNAL_AT_LEAST;
    case SIGNAL_AT_MOST: return SIGNAL_MORE;
    case SIGNAL_MORE: return SIGNAL_AT_MOST;
    case SIGNAL_AT_LEAST: return SIGNAL_LESS;
    case SIGNAL_EQUAL: return SIGNAL_UNEQUAL;
    case SIGNAL_UNEQUAL: return SIGNAL_EQUAL;
    }
    return comparison;
}

/* The same comparison with its sides exchanged. */
static SignalCompare turned(SignalCompare comparison) {
    switch (comparison) {
    case SIGNAL_LESS: return SIGNAL_MORE;
    case SIGNAL_AT_MOST: return SIGNAL_AT_LEAST;
    case SIGNAL_MORE: return SIGNAL_LESS;
    case SIGNAL_AT_LEAST: return SIGNAL_AT_MOST;
    case SIGNAL_EQUAL:
    case SIGNAL_UNEQUAL: break;
    }
    return comparison;
}

static bool is_written(Builder *builder, NodeId id) {
    NodeKind kind = (NodeKind)tree_node(builder->tree, id)->kind;
    return kind == NODE_NUMBER || kind == NODE_BOUNDED;
}

/* The unit written in a number, directly or within bounds; 0 when there is none. */
static UnitId written_unit(Builder *builder, NodeId id) {
    const Node *node = tree_node(builder->tree, id);
    if (node->kind == NODE_BOUNDED) return written_unit(builder, node->a);
    if (node->kind != NODE_NUMBER || node->name == 0) return 0;
    return vocabulary_unit(builder->model->vocabulary, node->name, node->span);
}

/* The unit a member asks to be shown in, when the node names one. */
static UnitId member_unit(Builder *builder, Scope scope, NodeId id) {
    const Node *node = tree_node(builder->tree, id);
    FormId form = 0;
    if (node->kind == NODE_NAME && scope.object != 0) form = builder->program->objects.at[scope.object].form;
    if (form == 0) return 0;
    uint32_t slot = form_slot(builder->model, form, node->name);
    return slot == UINT32_MAX ? 0 : form_of(builder->model, form)->members.at[slot].shown;
}

static bool is_order(Operator operation) { return operation >= OPERATOR_LESS && operation <= OPERATOR_UNEQUAL; }

/* The condition of one COMPARE step, with the sides it was compiled from. */
static Condition condition_of(Builder *builder, Scope scope, StepId step, const Node *node) {
    Condition condition = {.kind = CONDITION_TRUTH, .truth = step, .span = node->span};
    uint32_t index = map_get(&builder->compared, step, UINT32_MAX);
    if (index == UINT32_MAX) return condition;
    const Sides *sides = &builder->sides.at[index];
    const Step *compare = &builder->program->steps.at[step];
    condition.kind = CONDITION_COMPARE;
    condition.compare = compare->aux;
    condition.left = compare->a;
    condition.right = compare->b;
    condition.choice = sides->left.class == OPERAND_WORD ? sides->left.choice : 0;
    condition.truths = sides->left.class == OPERAND_TRUTH;
    if (sides->left.class != OPERAND_VALUE) return condition;
    if (is_written(builder, node->a) && !is_written(builder, node->b)) { /* 3 mm <= x: x is what is judged */
        condition.compare = (uint8_t)turned((SignalCompare)compare->aux);
        condition.left = compare->b;
        condition.right = compare->a;
    }
    condition.measure = sides->left.measure.kind ? sides->left.measure : sides->right.measure;
    condition.measure.written = false;
    condition.unit = written_unit(builder, node->b);
    if (condition.unit == 0) condition.unit = written_unit(builder, node->a);
    if (condition.unit == 0) condition.unit = member_unit(builder, scope, node->a);
    return condition;
}

/* One comparison, its two sides kept apart. */
static uint32_t compile_comparison(Builder *builder, Scope scope, NodeId id, bool negated) {
    const Node *node = tree_node(builder->tree, id);
    StepId truth = compile_truth(builder, scope, id);
    if (truth == 0) return broken_condition(builder, node->span);
    Condition condition = condition_of(builder, scope, truth, node);
    if (negated) {
        condition.compare = (uint8_t)opposite((SignalCompare)condition.compare);
        condition.truth = emit(builder, STEP_NOT, 0, truth, 0, 0, node->span);
    }
    return add_condition(builder, condition);
}

/* every(...) and some(...) over several comparisons: each is judged, so that the worst can be named. */
static uint32_t compile_over_several(Builder *builder, Scope scope, NodeId id, bool every) {
    const Node *node = tree_node(builder->tree, id), *inner = tree_node(builder->tree, node->a);
    StepId truth = compile_truth(builder, scope, id);
    if (truth == 0) return broken_condition(builder, node->span);
    ReferenceVector *references = builder->references;
    builder->references = NULL;
    Operand several = compile_expression(builder, scope, node->a, NULL);
    builder->references = references;
    if (several.class != OPERAND_SEVERAL || several.missing || several.count == 0) return truth_condition(builder, truth, node->span);
    uint32_t *children = ARENA_ARRAY(builder->arena, uint32_t, several.count);
    for (uint32_t i = 0; i < several.count; i++) {
        Condition one = {.kind = CONDITION_TRUTH, .truth = several.several[i].step, .span = inner->span};
        if (inner->kind == NODE_BINARY && is_order((Operator)inner->op)) one = condition_of(builder, scope, several.several[i].step, inner);
        children[i] = add_condition(builder, one);
    }
    Condition all = {.kind = every ? CONDITION_ALL : CONDITION_ANY, .children = children, .child_count = several.count, .span = node->span};
    return add_condition(builder, all);
}

static uint32_t compile_part(Builder *builder, Scope scope, NodeId id, bool negated) {
    const Node *node = tree_node(builder->tree, id);
    bool joined = node->kind == NODE_BINARY && (node->op == OPERATOR_AND || node->op == OPERATOR_OR);
    if (joined || node->kind == NODE_CHAIN) {
        uint32_t sides[2] = {compile_part(builder, scope, node->a, negated), compile_part(builder, scope, node->b, negated)};
        bool all = (node->kind == NODE_CHAIN || node->op == OPERATOR_AND) != negated;
        return group(builder, all ? CONDITION_ALL : CONDITION_ANY, sides, 2, node->span);
    }
    if (node->kind == NODE_UNARY && node->op == OPERATOR_NOT) return compile_part(builder, scope, node->a, !negated);
    if (node->kind == NODE_BINARY && is_order((Operator)node->op)) return compile_comparison(builder, scope, id, negated);
    if (node->kind == NODE_CALL && !negated) {
        Function function = (Function)map_get(&builder->functions, node->name, FUNCTION_NONE);
        if (function == FUNCTION_EVERY || function == FUNCTION_SOME) return compile_over_several(builder, scope, id, function == FUNCTION_EVERY);
    }
    StepId truth = compile_truth(builder, scope, id);
    if (truth != 0 && negated) truth = emit(builder, STEP_NOT, 0, truth, 0, 0, node->span);
    return truth_condition(builder, truth, node->span);
}

uint32_t compile_condition(Builder *builder, Scope scope, NodeId node) { return compile_part(builder, scope, node, false); }

/* ---- rules, cautions, requirements, agreements ------------------------------------------------------------------- */

/* All `when` of a declaration together; 0: always. Sets *fine to false when one is broken. */
static StepId compile_when(Builder *builder, Scope scope, NodeId options, bool *fine) {
    StepId when = 0;
    for (NodeId id = options; id != 0; id = tree_node(builder->tree, id)->next) {
        const Node *option = tree_node(builder->tree, id);
        if (option->op != OPTION_WHEN) continue;
        StepId one = compile_truth(builder, scope, option->a);
        if (one == 0) *fine = false;
        else when = when == 0 ? one : emit(builder, STEP_AND, 0, when, one, 0, option->span);
    }
    return when;
}

/* All shall of a declaration are judged together, and so are all should. Returns how many there are. */
static uint32_t compile_shalls(Builder *builder, Scope scope, const Judged *pattern, NodeId options) {
    static const OptionKind kinds[2] = {OPTION_SHALL, OPTION_SHOULD};
    bool abstract = scope.object && builder->program->objects.at[scope.object].abstract;
    bool fine = true;
    uint32_t total = 0;
    StepId when = compile_when(builder, scope, options, &fine);
    for (int k = 0; k < 2; k++) {
        VECTOR(uint32_t) parts = {0};
        Judged judged = *pattern;
        judged.when = when;
        judged.advice = kinds[k] == OPTION_SHOULD;
        builder->references = &judged.references;
        for (NodeId id = options; id != 0; id = tree_node(builder->tree, id)->next) {
            const Node *option = tree_node(builder->tree, id);
            if (option->op != kinds[k]) continue;
            if (judged.shall_node == 0) judged.shall_node = option->a;
            /* Of what a missing file would hold, not even the kind is known. */
            bool unread = builder->reading != NULL && builder->reading->missing;
            uint32_t condition = unread ? truth_condition(builder, builder->reading->step, tree_node(builder->tree, option->a)->span)
                                        : compile_condition(builder, scope, option->a);
            VECTOR_PUSH(builder->arena, &parts, condition);
        }
        builder->references = NULL;
        total += parts.count;
        if (parts.count == 0 || abstract || !fine) continue;
        judged.shall = parts.count == 1 ? parts.at[0]
                                        : group(builder, CONDITION_ALL, parts.at, parts.count, tree_node(builder->tree, judged.shall_node)->span);
        VECTOR_PUSH(builder->arena, &builder->program->judged, judged);
    }
    return total;
}

void compile_rules(Builder *builder, ObjectId id) {
    const Object object = builder->program->objects.at[id];
    const Form *form = form_of(builder->model, object.form);
    Scope scope = {SCOPE_FORM, id, UINT32_MAX};
    ObjectId owner = builder->owner;
    builder->owner = id;
    for (uint32_t i = 0; i < form->rules.count; i++) {
        const FormRule rule = form->rules.at[i];
        if (object.abstract && rule.owner != object.form) continue;
        const Node *node = tree_node(builder->tree, rule.node);
        Judged pattern = {.kind = JUDGED_RULE, .node = rule.node, .object = id};
        uint32_t shalls = compile_shalls(builder, scope, &pattern, node->c);
        if (!object.abstract) continue;
        if (shalls == 0) SAY(builder->messages, RULE_WITHOUT_SHALL, node->span, model_name(builder->model, node->name));
        if (tree_option(builder->tree, node->c, OPTION_CITES) == 0) {
            SAY(builder->messages, RULE_WITHOUT_SOURCE, node->span, model_name(builder->model, node->name));
        }
    }
    for (uint32_t i = 0; i < form->cautions.count; i++) {
        const FormRule caution = form->cautions.at[i];
        if (object.abstract && caution.owner != object.form) continue;
        bool fine = true;
        Judged judged = {.kind = JUDGED_CAUTION, .node = caution.node, .object = id};
        judged.when = compile_when(builder, scope, tree_node(builder->tree, caution.node)->c, &fine);
        if (!object.abstract && fine) VECTOR_PUSH(builder->arena, &builder->program->judged, judged);
    }
    builder->owner = owner;
}

void compile_requirement(Builder *builder, NodeId id) {
    const Node *node = tree_node(builder->tree, id);
    Scope top = {SCOPE_TOP, 0, UINT32_MAX};
    Judged pattern = {.kind = JUDGED_REQUIREMENT, .node = id};
    uint32_t before = builder->program->judged.count;
    Operand reading;
    if (tree_option(builder->tree, node->c, OPTION_READING)) {
        reading = compile_reading(builder, id);
        builder->reading = &reading;
    }
    uint32_t shalls = compile_shalls(builder, top, &pattern, node->c);
    if (shalls == 0) {
        bool fine = true;
        pattern.when = compile_when(builder, top, node->c, &fine);
        VECTOR_PUSH(builder->arena, &builder->program->judged, pattern);
    } else if (builder->program->judged.count == before) {
        VECTOR_PUSH(builder->arena, &builder->program->judged, pattern); /* its condition is broken; it stays in the list */
    }
    builder->reading = NULL;
}

/* The deviation as a share of what the formula gives; where that is nothing, nothing agrees with it and all else is off by all. */
static StepId share_of_formula(Builder *builder, StepId deviation, StepId stated, StepId formula, Span span) {
    StepId nothing = emit_constant(builder, 0, span), all = emit_constant(builder, 1, span);
    StepId both = emit(builder, STEP_COMPARE, SIGNAL_EQUAL, stated, nothing, 0, span);
    StepId none = emit(builder, STEP_COMPARE, SIGNAL_EQUAL, formula, nothing, 0, span);
    StepId share = emit(builder, STEP_BINARY, SIGNAL_DIVIDE, deviation, formula, 0, span);
    return emit(builder, STEP_CHOOSE, 0, none, emit(builder, STEP_CHOOSE, 0, both, nothing, all, span), share, span);
}

void compile_agreement(Builder *builder, ObjectId object, uint32_t slot) {
    const Object *owner = &builder->program->objects.at[object];
    const Member *member = &form_of(builder->model, owner->form)->members.at[slot];
    if (member->within == 0 || member->formula == 0) return;
    StepId fact = owner->place != 0 ? place_fact_step(builder, object, slot) : 0;
    if (fact == 0 && owner->slots[slot].stated == 0) return;
    Operand stated = compile_slot(builder, object, slot);
    if (stated.class != OPERAND_VALUE) return;
    Scope scope = {SCOPE_FORM, object, UINT32_MAX};
    Text name = model_name(builder->model, member->name);
    Span span = builder->program->objects.at[object].slots[slot].stated_span;
    ObjectId before = builder->owner;
    builder->owner = object;
    Operand formula = compile_as(builder, scope, member->formula, member->type, name);
    Operand within = compile_expression(builder, scope, member->within, NULL);
    builder->owner = before;
    if (formula.class != OPERAND_VALUE || within.class == OPERAND_BROKEN) return;
    StepId deviation = emit(builder, STEP_BINARY, SIGNAL_SUBTRACT, stated.step, formula.step, 0, span);
    Measure measure = measure_number();
    Fit how = FIT_DIMENSION;
    UnitId unit = vocabulary_unit(builder->model->vocabulary, symbol_of(builder->model->symbols, TEXT("%")), span);
    if (within.class == OPERAND_VALUE && dimension_is_number(within.measure.dimension)) {
        how = FIT_YES;
        deviation = share_of_formula(builder, deviation, stated.step, formula.step, span);
    } else if (within.class == OPERAND_VALUE) {
        Measure plain = stated.measure;
        if (plain.point) plain = (Measure){.dimension = plain.dimension}; /* two temperatures differ by kelvins */
        how = measure_meet(builder->model->vocabulary, OPERATOR_EQUAL, plain, within.measure, &measure);
        unit = written_unit(builder, member->within);
    }
    if (how != FIT_YES) {
        SAY(builder->messages, WITHIN_KIND, tree_node(builder->tree, member->within)->span, node_text(builder, member->within),
            operand_words(builder, within), operand_words(builder, stated));
        return;
    }
    deviation = emit(builder, STEP_UNARY, SIGNAL_ABS, deviation, 0, 0, span);
    StepId truth = emit(builder, STEP_COMPARE, SIGNAL_AT_MOST, deviation, within.step, 0, span);
    Condition condition = {.kind = CONDITION_COMPARE, .compare = SIGNAL_AT_MOST, .left = deviation, .right = within.step,
                           .measure = measure, .unit = unit, .truth = truth, .span = span};
    Judged judged = {.kind = JUDGED_AGREEMENT, .node = member->node, .object = object, .slot = slot};
    judged.shall = add_condition(builder, condition);
    if (fact != 0) judged.when = emit(builder, STEP_STATED, 0, fact, 0, 0, span);
    builder->program->objects.at[object].slots[slot].agreement = formula.step;
    VECTOR_PUSH(builder->arena, &judged.references,
                (Reference){object_slot_path(builder->program, builder->arena, object, slot), object, stated.step});
    VECTOR_PUSH(builder->arena, &builder->program->judged, judged);
}
