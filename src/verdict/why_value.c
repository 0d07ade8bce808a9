/* Values: where each one comes from. */
#include "verdict/why.h"

#include <math.h>

/* ---- parts of an account ------------------------------------------------------------------------------------------- */

Account *account_open(Judge *judge, Text path) {
    Account *account = ARENA_NEW(judge->arena, Account);
    account->path = path;
    return account;
}

void account_place(Judge *judge, Account *account, Span span, FormId form) {
    const Source *source = source_of(judge->result->sources, span.start);
    if (span.start == 0 || source == NULL) return;
    if (source->origin == SOURCE_STANDARD && form != 0) {
        Text parts[2] = {model_name(judge->model, judge->model->forms.at[form].name), source->path};
        account->place = text_fill(judge->arena, TEXT("{0} of {1}"), parts, 2);
    } else {
        account->place = message_place(judge->messages, span.start);
    }
}

void account_line(Judge *judge, Account *account, const char *label, Text formula, Text numbers) {
    AccountLine line = {.label = text_from(label), .formula = formula};
    bool known = text_equal(numbers, formula) || text_equal(numbers, account->value) || text_equal(numbers, account->there);
    if (!known) line.numbers = numbers;
    VECTOR_PUSH(judge->arena, &account->lines, line);
}

void account_remark(Judge *judge, Account *account, const char *pattern, Text a, Text b, Text c) {
    const Text parts[3] = {a, b, c};
    VECTOR_PUSH(judge->arena, &account->remarks, text_fill(judge->arena, text_from(pattern), parts, 3));
}

bool instant_equal(Instant a, Instant b) { return a.given == b.given && a.time == b.time && a.inside == b.inside; }

/* The same at all times: no instant is worth a word. */
static bool is_flat(Signal signal) {
    for (uint32_t i = 0; i < signal.count; i++) {
        const Piece *piece = &signal.pieces[i];
        if (piece->size != 1 || piece->values[0] != signal.pieces[0].values[0]) return false;
    }
    return signal.count > 0;
}

void account_instant(Judge *judge, Account *account, StepId step, Instant instant, Instant above, bool law) {
    static const struct { Reduction reduction; const char *word; } extremes[] = {
        {REDUCE_PEAK, "peak"}, {REDUCE_MAXIMUM, "maximum"}, {REDUCE_MINIMUM, "minimum"}};
    if (!instant.given || judge->evaluation->values[step].state != COMPUTED_SIGNAL || instant_equal(instant, above)) return;
    if (is_flat(judge->evaluation->values[step].signal)) return;
    for (unsigned i = 0; i < sizeof extremes / sizeof extremes[0] && account->extreme.length == 0; i++) {
        if (instant_equal(instant_of(judge, extremes[i].reduction, step), instant)) account->extreme = text_from(extremes[i].word);
    }
    if (law) {
        Text time = spell_number(judge->arena, instant.time, SPELL_DIGITS);
        account->instant = text_fill(judge->arena, TEXT("at t = {0}"), &time, 1);
        return;
    }
    UnitId second = vocabulary_unit(judge->model->vocabulary, symbol_of(judge->model->symbols, TEXT("s")), (Span){0, 0});
    Measure time = {.dimension = {{[DIMENSION_TIME] = 6}}};
    Text parts[2] = {spell_value(judge->model->vocabulary, judge->arena, instant.time, time, second, SPELL_DIGITS),
                     segment_at(judge, step, instant.inside)};
    account->instant = text_fill(judge->arena, TEXT("at {0}{1}"), parts, 2);
}

/* What changes is shown as a range, with its value at one instant beside it. */
static void note_range(Judge *judge, Account *account, Text there, bool law) {
    bool same = text_equal(account->value, there);
    account->value = text_fill(judge->arena, law ? TEXT("{0} over the move") : TEXT("{0} over the cycle"), &account->value, 1);
    if (!same) account->there = there;
}

/* Path and value alone. */
static Account *name_of_leaf(Judge *judge, const Leaf *leaf) {
    if (leaf->kind == LEAF_CYCLE) {
        Account *account = account_open(judge, cycle_leaf_path(judge, leaf));
        account->value = spell_there(judge, leaf->operand, 0, leaf->instant);
        return account;
    }
    if (leaf->kind == LEAF_READING) {
        Account *account = account_open(judge, TEXT("measured"));
        account->value = spell_there(judge, leaf->operand, 0, leaf->instant);
        return account;
    }
    bool law = judge->program->objects.at[leaf->object].law;
    Account *account = account_open(judge, law ? law_member_name(judge, leaf->object, leaf->slot)
                                               : object_slot_path(judge->program, judge->arena, leaf->object, leaf->slot));
    const Slot *slot = &judge->program->objects.at[leaf->object].slots[leaf->slot];
    if (is_written_number(judge, slot->stated) && slot->operand.class == OPERAND_VALUE &&
        judge->program->steps.at[slot->operand.step].kind != STEP_CYCLE_INPUT && !law) {
        account->value = formula_of_node(judge, slot->stated);
    } else {
        Text value = spell_there(judge, slot->operand, unit_of_member(judge, leaf->object, leaf->slot), leaf->instant);
        bool several = slot->operand.class == OPERAND_SEVERAL && text_starts(value, TEXT("(")) && text_ends(value, TEXT(")"));
        account->value = several ? text_slice(value, 1, value.length - 1) : value;
    }
    return account;
}

/* What the formula above calls it, when its path does not end in that. */
static void note_written(Account *account, const Leaf *leaf) {
    Text path = account->path, written = leaf->written;
    bool ends = text_ends(path, written) &&
                (path.length == written.length || path.at[path.length - written.length - 1] == '.' || path.at[path.length - written.length - 1] == ' ');
    if (written.length > 0 && !ends) account->written = written;
}

/* ---- a member ------------------------------------------------------------------------------------------------------ */

static Text option_text(Judge *judge, const Member *member, OptionKind kind) {
    const Tree *tree = judge->model->tree;
    NodeId option = tree_option(tree, tree_node(tree, member->node)->c, kind);
    return option ? tree_text(tree, judge->arena, tree_node(tree, option)->a) : (Text){0};
}

static void note_bounds(Judge *judge, Account *account, const Step *step, Operand operand, UnitId unit) {
    if (step->kind == STEP_CYCLE_INPUT) step = bare_step(judge, step->a);
    if (step->kind != STEP_CONSTANT) return;
    const Constant *constant = &judge->program->constants.at[step->a];
    if (constant->low == constant->high) return;
    Vocabulary *vocabulary = judge->model->vocabulary;
    Text ends[2] = {spell_value(vocabulary, judge->arena, constant->low, operand.measure, unit, SPELL_DIGITS),
                    spell_value(vocabulary, judge->arena, constant->high, operand.measure, unit, SPELL_DIGITS)};
    account->bounds = text_fill(judge->arena, TEXT("{0} to {1}"), ends, 2);
}

/* What the segments of a cycle put in the place of a given value. */
static void note_cycle_input(Judge *judge, Account *account, const Step *step, const Member *member, Instant instant) {
    const PlanInput *input = &judge->program->inputs.at[step->b];
    const PlanCycle *cycle = &judge->program->cycles.at[input->cycle];
    Text name = model_name(judge->model, cycle->name);
    if (input->values != NULL) {
        account_remark(judge, account, "The column {0} of the table of {1} sets it.", model_name(judge->model, member->name), name, (Text){0});
        return;
    }
    const Tree *tree = judge->model->tree;
    uint32_t at = instant.given ? segment_index(judge, input->cycle, instant) : UINT32_MAX;
    bool any = false;
    for (uint32_t i = 0; i < cycle->segments.count; i++) {
        if (input->steps[i] == 0 || (at != UINT32_MAX && i != at)) continue;
        for (NodeId field = tree_node(tree, cycle->segments.at[i].node)->c; field != 0; field = tree_node(tree, field)->next) {
            if (tree_node(tree, field)->name != member->name) continue;
            Symbol label = cycle->segments.at[i].label;
            Text whole[2] = {label ? model_name(judge->model, label) : TEXT("A segment"), name};
            account_remark(judge, account, "{0} sets it to {1} ({2}).", text_fill(judge->arena, TEXT("{0} of {1}"), whole, 2),
                           formula_of_node(judge, tree_node(tree, field)->a),
                           message_place(judge->messages, tree_node(tree, field)->span.start));
            any = true;
        }
    }
    if (!any && at != UINT32_MAX) account_remark(judge, account, "The segment of {0} at this instant does not set it.", name, (Text){0}, (Text){0});
}

/* A fixed point: from where, and how exactly the formula gives it back. */
static void note_settling(Judge *judge, Account *account, const Step *step, const Member *member, Operand operand, UnitId unit) {
    const Computed *running = &judge->evaluation->values[step->a], *formula = &judge->evaluation->values[step->b];
    Text guess = formula_of_node(judge, member->settles);
    if (running->state != COMPUTED_NUMBER || formula->state != COMPUTED_NUMBER) {
        account_remark(judge, account, "It is looked for as a fixed point, from {0}, and none was found.", guess, (Text){0}, (Text){0});
        return;
    }
    Measure gap = operand.measure;
    gap.point = false;
    if (operand.measure.point) gap.kind = 0, unit = 0;
    Text residual = spell_value(judge->model->vocabulary, judge->arena, fabs(formula->number - running->number), gap, unit, 2);
    bool exact = formula->number == running->number;
    account_remark(judge, account, exact ? "A fixed point, looked for from {0}: its formula gives it back exactly."
                                         : "A fixed point, looked for from {0}: its formula gives it back, to within {1}.",
                   guess, residual, (Text){0});
}

static void note_needs(Judge *judge, Account *account, ObjectId object, const Member *member, Instant instant, LeafVector *leaves) {
    const Tree *tree = judge->model->tree;
    for (NodeId option = tree_node(tree, member->node)->c; option != 0; option = tree_node(tree, option)->next) {
        const Node *node = tree_node(tree, option);
        if (node->kind != NODE_OPTION || node->op != OPTION_NEEDS) continue;
        const Resolution *condition = program_resolution(judge->program, object, node->a);
        if (condition == NULL || condition->operand.class != OPERAND_TRUTH) continue;
        const Computed *truth = &judge->evaluation->values[condition->operand.step];
        bool fails = truth->state == COMPUTED_NUMBER ? truth->number == 0
                     : truth->state == COMPUTED_SIGNAL && signal_minimum(truth->signal).value == 0;
        if (fails) account_line(judge, account, "needs", formula_of_node(judge, node->a), numbers_of(judge, object, node->a, instant, leaves));
    }
}

/* Unknown or failed: which facts, and why. */
static void note_absence(Judge *judge, Account *account, Operand operand) {

    if (operand.class == OPERAND_BROKEN) {
        account_remark(judge, account, "It has no value: its formula has a mistake that is reported above.", (Text){0}, (Text){0}, (Text){0});
        return;
    }
    if (operand.missing && operand.text.length > 0) VECTOR_PUSH(judge->arena, &account->missing, operand.text);
    if (operand.class != OPERAND_VALUE && operand.class != OPERAND_TRUTH && operand.class != OPERAND_WORD) return;
    const Computed *value = &judge->evaluation->values[operand.step];
    bool lacks = value->state == COMPUTED_UNKNOWN, fails = value->state == COMPUTED_FAILED;
    if (value->state == COMPUTED_SIGNAL) {
        SignalVoid fault = signal_minimum(value->signal).fault;
        lacks = fault == VOID_UNKNOWN;
        fails = fault != VOID_NONE && !lacks;
    }
    if (lacks) missing_facts(judge, operand.step, &account->missing);
    if (!fails) return;
    Failure failure;
    StepId origin = evaluation_origin(judge->evaluation, operand.step, &failure);
    Text why = why_without_value(judge, operand.step);
    Span span = origin ? judge->program->steps.at[origin].span : (Span){0, 0};
    if (span.start == 0 || failure == FAILURE_BROKEN) {
        account_remark(judge, account, "{0}.", why, (Text){0}, (Text){0});
    } else {
        account_remark(judge, account, "{0}, in: {1} ({2}).", why, text_trim(source_text(judge->result->sources, span)),
                       message_place(judge->messages, span.start));
    }
}

/* A field that its author filled in. */
static void tell_stated(Judge *judge, Account *account, const Leaf *leaf, const Slot *slot, const Member *member, Instant instant, LeafVector *leaves) {
    const Object *object = &judge->program->objects.at[leaf->object];
    Text written = formula_of_node(judge, slot->stated);
    NodeKind kind = (NodeKind)tree_node(judge->model->tree, slot->stated)->kind;
    account_place(judge, account, slot->stated_span, 0);
    bool plain = kind == NODE_NUMBER || kind == NODE_BOUNDED || kind == NODE_TEXT || kind == NODE_TRUTH || kind == NODE_TABLE ||
                 kind == NODE_FILLED || kind == NODE_ANY || object->law;
    if (plain || slot->operand.class == OPERAND_OBJECT || slot->operand.class == OPERAND_CYCLE || slot->operand.class == OPERAND_WORD) {
        account->stated = kind == NODE_FILLED || kind == NODE_SEGMENT ? (Text){0} : written;
    } else {
        account_line(judge, account, "stated", written, numbers_of(judge, leaf->object, slot->stated, instant, leaves));
    }
    if (slot->agreement == 0) return;
    LeafVector unused = {0}; /* the formula is only a check of what is stated */
    Operand formula = slot->operand;
    formula.step = slot->agreement;
    account_line(judge, account, "checked", formula_of_node(judge, member->formula),
                 numbers_of(judge, leaf->object, member->formula, instant, &unused));
    account_remark(judge, account, "The stated value counts; the formula gives {0}.",
                   spell_operand(judge, formula, unit_of_member(judge, leaf->object, leaf->slot)), (Text){0}, (Text){0});
}

static void tell_formula(Judge *judge, Account *account, const Leaf *leaf, const Member *member, Instant instant, LeafVector *leaves) {
    account_place(judge, account, tree_node(judge->model->tree, member->node)->span, member->owner);
    Text formula = formula_of_node(judge, member->formula);
    const char *label = member->class == NODE_LET ? "formula" : "default";
    account_line(judge, account, label, formula, numbers_of(judge, leaf->object, member->formula, instant, leaves));
}

static void tell_member(Judge *judge, Account *account, const Leaf *leaf, Instant above, Instant *at, LeafVector *leaves) {
    const Object *object = &judge->program->objects.at[leaf->object];
    const Member *member = &form_of(judge->model, object->form)->members.at[leaf->slot];
    const Slot *slot = &object->slots[leaf->slot];
    Operand operand = slot->operand;
    UnitId unit = unit_of_member(judge, leaf->object, leaf->slot);
    bool quantity = operand.class == OPERAND_VALUE;
    Instant instant = leaf->instant;
    account->value = name_of_leaf(judge, leaf)->value;
    if (quantity && judge->evaluation->values[operand.step].state == COMPUTED_SIGNAL) {
        if (!instant.given) {
            instant = instant_of(judge, operand.measure.point ? REDUCE_MAXIMUM : REDUCE_PEAK, operand.step);
            if (instant.given) note_range(judge, account, spell_there(judge, operand, unit, instant), object->law);
        }
        account_instant(judge, account, operand.step, instant, above, object->law);
    } else if (quantity) {
        instant = (Instant){0};
    }
    *at = instant;
    account->title = option_text(judge, member, OPTION_DOC);
    account->cites = option_text(judge, member, OPTION_CITES);
    account->valid = option_text(judge, member, OPTION_VALID);
    if (slot->stated != 0) {
        tell_stated(judge, account, leaf, slot, member, instant, leaves);
        account->cites = slot->agreement ? account->cites : (Text){0}; /* that of the formula, which is not used */
    } else if (member->formula != 0) {
        tell_formula(judge, account, leaf, member, instant, leaves);
    } else {
        account_place(judge, account, tree_node(judge->model->tree, member->node)->span, member->owner);
        account_remark(judge, account, "It is not stated.", (Text){0}, (Text){0}, (Text){0});
        return;
    }
    if (quantity) {
        const Step *step = bare_step(judge, operand.step);
        NodeId from = slot->stated ? slot->stated : member->formula;
        if (from && tree_node(judge->model->tree, from)->kind == NODE_BOUNDED) note_bounds(judge, account, step, operand, unit);
        if (step->kind == STEP_CYCLE_INPUT) note_cycle_input(judge, account, step, member, leaf->instant);
        if (step->kind == STEP_SETTLE && slot->stated == 0) note_settling(judge, account, step, member, operand, unit);
    }
    note_needs(judge, account, leaf->object, member, instant, leaves);
    note_absence(judge, account, operand);
}

/* ---- a measured value ---------------------------------------------------------------------------------------------- */

static void tell_reading(Judge *judge, Account *account, const Leaf *leaf) {
    const Tree *tree = judge->model->tree;
    account->value = spell_there(judge, leaf->operand, 0, leaf->instant);
    note_bounds(judge, account, &judge->program->steps.at[leaf->operand.step], leaf->operand, 0);
    note_absence(judge, account, leaf->operand);
    for (uint32_t i = 0; i < judge->program->judged.count; i++) {
        const Judged *judged = &judge->program->judged.at[i];
        if (judged->kind != JUDGED_REQUIREMENT) continue;
        NodeId options = tree_node(tree, judged->node)->c;
        NodeId reading = tree_option(tree, options, OPTION_READING), file = tree_option(tree, options, OPTION_EVIDENCE);
        Span span = judge->program->steps.at[leaf->operand.step].span;
        if (reading == 0 || file == 0 || tree_node(tree, reading)->span.start != span.start) continue;
        account->stated = formula_of_node(judge, reading);
        account_place(judge, account, span, 0);
        account_remark(judge, account, "Read from {0}.", tree_text(tree, judge->arena, tree_node(tree, file)->a), (Text){0}, (Text){0});
        return;
    }
}

/* ---- one thing that a formula names -------------------------------------------------------------------------------- */

void account_rests_on(Telling *telling, Account *account, const LeafVector *leaves, const Leaf *own, uint32_t depth, Instant instant) {
    Judge *judge = telling->judge;
    if (own != NULL && own->kind == LEAF_CYCLE) instant = (Instant){0}; /* a law has a time of its own */
    for (uint32_t i = 0; i < leaves->count; i++) {
        const Leaf *leaf = &leaves->at[i];
        bool itself = own != NULL && leaf->kind == LEAF_MEMBER && own->kind == LEAF_MEMBER && leaf->object == own->object && leaf->slot == own->slot;
        if (itself) continue;
        VECTOR_PUSH(judge->arena, &account->names, name_of_leaf(judge, leaf));
        if (depth > 0) VECTOR_PUSH(judge->arena, &account->rests_on, account_of_leaf(telling, leaf, depth - 1, instant));
    }
}

static bool is_told(Telling *telling, const Leaf *leaf, uint32_t depth) {
    for (uint32_t i = 0; i < telling->told.count; i++) {
        Told *told = &telling->told.at[i];
        if (!leaf_equal(&told->leaf, leaf)) continue;
        if (told->depth >= depth) return true;
        told->depth = depth;
        return false;
    }
    VECTOR_PUSH(telling->judge->arena, &telling->told, (Told){*leaf, depth});
    return false;
}

Account *account_of_leaf(Telling *telling, const Leaf *leaf, uint32_t depth, Instant above) {
    Judge *judge = telling->judge;
    Account *account = name_of_leaf(judge, leaf);
    LeafVector leaves = {0};
    Instant instant = leaf->instant;
    note_written(account, leaf);
    if (is_told(telling, leaf, depth)) {
        account->repeated = true;
        return account;
    }
    switch (leaf->kind) {
    case LEAF_MEMBER: tell_member(judge, account, leaf, above, &instant, &leaves); break;
    case LEAF_READING: tell_reading(judge, account, leaf); break;
    case LEAF_CYCLE:
        if (judge->evaluation->values[leaf->operand.step].state != COMPUTED_SIGNAL) {
            instant = (Instant){0};
        } else if (!instant.given) {
            instant = instant_of(judge, REDUCE_PEAK, leaf->operand.step);
            if (instant.given) note_range(judge, account, spell_there(judge, leaf->operand, 0, instant), false);
        }
        account_instant(judge, account, leaf->operand.step, instant, above, false);
        account_of_cycle(judge, account, leaf, instant, &leaves);
        note_absence(judge, account, leaf->operand);
        break;
    }
    account_rests_on(telling, account, &leaves, leaf, depth, instant);
    return account;
}
