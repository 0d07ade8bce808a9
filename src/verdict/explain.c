/* Why: missing facts, failed formulas, and where in a cycle something happens. */
#include "verdict/judge.h"

/* ---- missing facts ----------------------------------------------------------------------------------------------- */

static bool lacks_something(const Computed *value) {
    if (value->state == COMPUTED_UNKNOWN) return true;
    if (value->state != COMPUTED_SIGNAL) return false;
    for (uint32_t i = 0; i < value->signal.count; i++) {
        if (value->signal.pieces[i].size == 0 && value->signal.pieces[i].void_reason == VOID_UNKNOWN) return true;
    }
    return false;
}

/* Follows only what lacks a value, and of a switch only the side that was taken. */
static bool leads_to_missing(const Evaluation *evaluation, StepId user, unsigned operand, StepId step) {
    const Step *using = &evaluation->program->steps.at[user];
    const Computed *condition = &evaluation->values[using->a];
    if (using->kind == STEP_CHOOSE && operand > 0 && condition->state == COMPUTED_NUMBER) {
        if (operand == (condition->number != 0 ? 2u : 1u)) return false;
    }
    return lacks_something(&evaluation->values[step]);
}

void missing_facts(Judge *judge, StepId step, TextVector *paths) {
    if (step == 0) return;
    Reach reach = evaluation_reach(judge->evaluation, step, leads_to_missing);
    for (uint32_t i = 0; i < reach.count; i++) {
        const Step *one = &judge->program->steps.at[reach.steps[i]];
        if (one->kind != STEP_MISSING) continue;
        Text path = judge->program->texts.at[one->a];
        bool known = path.length == 0;
        for (uint32_t k = 0; k < paths->count; k++) known = known || text_equal(paths->at[k], path);
        if (!known) VECTOR_PUSH(judge->arena, paths, path);
    }
}

/* ---- places ------------------------------------------------------------------------------------------------------ */

static bool in_named_file(Judge *judge, Span span) {
    const Source *source = source_of(judge->result->sources, span.start);
    return source != NULL && source->origin == SOURCE_NAMED;
}

Span place_of_object(Judge *judge, ObjectId id) {
    const Program *program = judge->program;
    const Object *object = &program->objects.at[id];
    if (object->law) {
        const Form *form = form_of(judge->model, object->form);
        for (uint32_t i = 0; i < form->members.count; i++) {
            const Slot *slot = &object->slots[i];
            if (text_is(model_name(judge->model, form->members.at[i].name), "t") && slot->stated) return slot->stated_span;
        }
    }
    if (object->node == 0) return (Span){0, 0};
    const Node *node = tree_node(judge->model->tree, object->node);
    Span span = tree_node(judge->model->tree, node->a)->span, whole = node->span;
    const Sources *sources = judge->result->sources;
    if (source_of(sources, span.start) != source_of(sources, whole.start)) return whole; /* a row of a table */
    if (whole.start < span.start) span.start = whole.start;
    Text line = source_text(judge->result->sources, (Span){span.start, whole.end > span.start ? whole.end : span.end});
    size_t end = 0;
    while (end < line.length && line.at[end] != '{' && line.at[end] != '\n') end++;
    while (end > 0 && (line.at[end - 1] == ' ' || line.at[end - 1] == '\r')) end--;
    span.end = span.start + (uint32_t)end;
    return span;
}

/* The slot whose own value a step is, so that a failure can be told of the author's line. */
static bool slot_of_step(Judge *judge, ObjectId id, StepId step, uint32_t *slot) {
    const Object *object = &judge->program->objects.at[id];
    uint32_t count = form_of(judge->model, object->form)->members.count;
    for (uint32_t i = 0; i < count; i++) {
        const Slot *own = &object->slots[i];
        if (own->state != SLOT_DONE || own->operand.step != step || own->operand.class == OPERAND_BROKEN) continue;
        *slot = i;
        return true;
    }
    return false;
}

/* ---- failures ---------------------------------------------------------------------------------------------------- */

static Text text_after_needs(Judge *judge, Span needs_span) {
    /* What follows `needs` directly (valid "…") says it in the form's own words. */
    const Tree *tree = judge->model->tree;
    for (FormId f = 1; f < judge->model->forms.count; f++) {
        const Form *form = &judge->model->forms.at[f];
        if (form->state != FORM_RESOLVED) continue;
        for (uint32_t m = 0; m < form->members.count; m++) {
            for (NodeId id = tree_node(tree, form->members.at[m].node)->c; id != 0; id = tree_node(tree, id)->next) {
                const Node *option = tree_node(tree, id);
                if (option->op != OPTION_NEEDS || option->span.start != needs_span.start) continue;
                const Node *after = tree_node(tree, option->next);
                return option->next != 0 && after->op == OPTION_VALID ? tree_text(tree, judge->arena, after->a) : (Text){0};
            }
        }
    }
    return (Text){0};
}

static Text needs_condition(Judge *judge, const Step *step) {
    const Step *condition = &judge->program->steps.at[step->b];
    Text text = source_text(judge->result->sources, step->span);
    if (text_starts(text, TEXT("needs"))) text = text_trim(text_slice(text, 5, text.length));
    if (text.length == 0) text = source_text(judge->result->sources, condition->span);
    size_t quote = 0;
    while (quote < text.length && text.at[quote] != '"') quote++;
    return text_trim(text_slice(text, 0, quote));
}

/* A truth that must hold is a sentence about several values (duration and speed contradict); any other value is out of its
 * range of validity. */
static void say_needs(Judge *judge, StepId origin, const Step *step, Span span, Text path) {
    bool truth = false;
    Text own = text_after_needs(judge, step->span), condition = needs_condition(judge, step);
    Text value = {0};
    uint32_t slot;
    if (step->owner != 0 && slot_of_step(judge, step->owner, origin, &slot)) {
        const Object *object = &judge->program->objects.at[step->owner];
        Operand raw = object->slots[slot].operand;
        truth = raw.class == OPERAND_TRUTH;
        raw.step = step->a;
        path = object_slot_path(judge->program, judge->arena, step->owner, slot);
        const Member *member = &form_of(judge->model, object->form)->members.at[slot];
        value = spell_operand(judge, raw, member->shown);
        if (object->slots[slot].stated != 0 && !object->law) {
            span = tree_node(judge->model->tree, object->slots[slot].stated)->span;
            Text written = text_trim(source_text(judge->result->sources, tree_node(judge->model->tree, object->slots[slot].stated)->span));
            if (written.length > 0 && written.length < 40) value = written;
        }
    }
    Text whose = step->owner ? judge->program->objects.at[step->owner].path : path;
    if (truth && own.length > 0) SAY(judge->messages, NEEDS_SAID, span, whose, own);
    else SAY(judge->messages, NEEDS, span, path, value, condition, own);
}

typedef struct FailureWords {
    MessageId message;
    const char *sentence; /* {0}: the object's path */
} FailureWords;

static FailureWords words_of(Failure failure) {
    switch (failure) {
    case FAILURE_DIVISION: return (FailureWords){MESSAGE_DIVISION, "it divides by zero"};
    case FAILURE_DOMAIN: return (FailureWords){MESSAGE_DOMAIN, "a function is given a number outside its domain"};
    case FAILURE_OVERFLOW: return (FailureWords){MESSAGE_OVERFLOW, "its value is beyond what a number can hold"};
    case FAILURE_TABLE: return (FailureWords){MESSAGE_TABLE_RANGE, "a table is read outside its range"};
    case FAILURE_PIECES: return (FailureWords){MESSAGE_TOO_MANY_PIECES, "a signal breaks into too many pieces"};
    case FAILURE_NEEDS: return (FailureWords){MESSAGE_NEEDS, "a value is outside its range of validity"};
    case FAILURE_NO_CYCLE: return (FailureWords){MESSAGE_NO_CYCLE, "it asks for an integral of something that does not change over a cycle"};
    case FAILURE_SIGNAL: return (FailureWords){MESSAGE_SIGNAL_FOR_NUMBER, "a signal stands where one number is due"};
    case FAILURE_PERIODS: return (FailureWords){MESSAGE_PERIODS, "two cycles of different duration meet"};
    case FAILURE_LENGTH: return (FailureWords){MESSAGE_SEGMENT_TIME, "a segment's time is not positive"};
    case FAILURE_LAW: return (FailureWords){MESSAGE_LAW_JUMPS, "its motion law does not lead from 0 to 1 without a jump"};
    case FAILURE_INSTANT: return (FailureWords){MESSAGE_INSTANT, "an instant lies outside the cycle"};
    case FAILURE_TAU: return (FailureWords){MESSAGE_TIME_CONSTANT, "a time constant is not positive"};
    case FAILURE_RUNAWAY: return (FailureWords){MESSAGE_COUNT, "each pass raises it further (runaway)"};
    case FAILURE_RESTLESS: return (FailureWords){MESSAGE_COUNT, "it does not settle"};
    case FAILURE_NONE:
    case FAILURE_BROKEN: break;
    }
    return (FailureWords){MESSAGE_COUNT, "its formula has a mistake that is reported above"};
}

const char *failure_sentence(Failure failure) { return words_of(failure).sentence; }

static ObjectId owner_in_use(const Program *program, ObjectId id) {
    while (id != 0 && program->objects.at[id].parent != 0 && program->objects.at[id].node == 0 && !program->objects.at[id].law) {
        id = program->objects.at[id].parent;
    }
    return id;
}

/* Whose value it is that is missing. */
static Text failed_path(Judge *judge, StepId origin) {
    const Step *step = &judge->program->steps.at[origin];
    ObjectId owner = owner_in_use(judge->program, step->owner);
    uint32_t slot;
    if (step->owner != 0 && slot_of_step(judge, step->owner, origin, &slot)) {
        return object_slot_path(judge->program, judge->arena, step->owner, slot);
    }
    return owner ? judge->program->objects.at[owner].path : source_text(judge->result->sources, step->span);
}

/* What a function was given that it has no value for. */
static Text domain_words(const Step *step) {
    if (step->kind == STEP_BINARY && step->aux == SIGNAL_POWER) return TEXT("it raises zero or a negative number to a power that it has not");
    if (step->kind != STEP_UNARY) return TEXT("a function is given a number outside its domain");
    switch ((SignalUnary)step->aux) {
    case SIGNAL_SQRT: return TEXT("it takes the root of a negative number");
    case SIGNAL_LN: return TEXT("it takes the logarithm of zero or a negative number");
    case SIGNAL_ASIN:
    case SIGNAL_ACOS: return TEXT("it takes the angle of a number outside -1 to 1");
    default: return TEXT("a function is given a number outside its domain");
    }
}

static Text number_words(const Step *step) {
    switch ((StepKind)step->kind) {
    case STEP_LAG: return TEXT("the time constant of ");
    case STEP_AT: return TEXT("the instant of ");
    case STEP_GUESS: return TEXT("the guess of ");
    case STEP_CYCLE:
    case STEP_CYCLE_TIME:
    case STEP_CYCLE_INPUT: return TEXT("a time, stroke or input of the cycle behind ");
    default: return (Text){0};
    }
}

static Text seconds(Judge *judge, double time) {
    return spell_value(judge->model->vocabulary, judge->arena, time, (Measure){.dimension = {{[DIMENSION_TIME] = 6}}}, 0, SPELL_DIGITS);
}

/* What a message about this failure says beyond its formula: {3} of its row. */
static Text failure_details(Judge *judge, Failure failure, const Step *step) {
    const Computed *a = &judge->evaluation->values[step->a], *b = &judge->evaluation->values[step->b];
    Text parts[3] = {{0}};
    if (failure == FAILURE_DOMAIN) return domain_words(step);
    if (failure == FAILURE_SIGNAL) return number_words(step);
    if (failure == FAILURE_INSTANT && a->state == COMPUTED_SIGNAL) return seconds(judge, signal_duration(a->signal));
    bool pair = step->kind == STEP_BINARY || step->kind == STEP_COMPARE || step->kind == STEP_AND || step->kind == STEP_OR;
    if (failure == FAILURE_PERIODS && pair && a->state == COMPUTED_SIGNAL && b->state == COMPUTED_SIGNAL) {
        parts[0] = seconds(judge, signal_duration(a->signal));
        parts[1] = seconds(judge, signal_duration(b->signal));
        return text_fill(judge->arena, TEXT(": {0} and {1}"), parts, 2);
    }
    if (failure == FAILURE_TABLE && step->kind == STEP_LOOK_UP) {
        const PlanTable *table = &judge->program->tables.at[step->b];
        parts[0] = spell_step(judge, step->a, table->key, 0);
        parts[1] = spell_step(judge, table->keys[0], table->key, 0);
        parts[2] = spell_step(judge, table->keys[table->count - 1], table->key, 0);
        return text_fill(judge->arena, TEXT(": {0}, where they go from {1} to {2}"), parts, 3);
    }
    return (Text){0};
}

Text why_without_value(Judge *judge, StepId asked) {
    Failure failure;
    StepId origin = evaluation_origin(judge->evaluation, asked, &failure);
    Text parts[2] = {failed_path(judge, origin), text_from(words_of(failure).sentence)};
    return text_fill(judge->arena, TEXT("{0} has no value: {1}"), parts, 2);
}

/* The cycle behind a step, when it breaks into too many pieces by itself. */
static const PlanCycle *cycle_too_long(Judge *judge, StepId origin) {
    Reach reach = evaluation_reach(judge->evaluation, origin, NULL);
    for (uint32_t i = 0; i < reach.count; i++) {
        const Step *step = &judge->program->steps.at[reach.steps[i]];
        const Computed *value = &judge->evaluation->values[reach.steps[i]];
        if (step->kind != STEP_CYCLE || value->state != COMPUTED_SIGNAL || value->signal.count == 0) continue;
        const Piece *first = &value->signal.pieces[0];
        if (first->size == 0 && first->void_reason == VOID_PIECES) return &judge->program->cycles.at[step->a];
    }
    return NULL;
}

Text explain_failure(Judge *judge, StepId asked, bool *finding) {
    Failure failure;
    StepId origin = evaluation_origin(judge->evaluation, asked, &failure);
    *finding = failure == FAILURE_RUNAWAY || failure == FAILURE_RESTLESS;
    FailureWords words = words_of(failure);
    const Step *step = &judge->program->steps.at[origin];
    ObjectId owner = owner_in_use(judge->program, step->owner);
    Text path = failed_path(judge, origin), sentence = why_without_value(judge, asked);
    if (words.message == MESSAGE_COUNT || origin == 0 || map_get(&judge->said, origin, 0)) return sentence;
    map_set(&judge->said, origin, 1);
    const PlanCycle *cycle = failure == FAILURE_PIECES ? cycle_too_long(judge, origin) : NULL;
    if (cycle != NULL) { /* whoever asks */
        Text name = model_name(judge->model, cycle->name);
        SAY(judge->messages, TOO_MANY_PIECES, tree_node(judge->model->tree, cycle->node)->span, (Text){0}, text_fill(judge->arena, TEXT("the cycle {0}"), &name, 1), (Text){0});
        return sentence;
    }
    Text formula = on_one_line(judge, source_text(judge->result->sources, step->span));
    bool named = in_named_file(judge, step->span);
    Span span = named ? step->span : owner ? place_of_object(judge, owner) : step->span;
    if (failure == FAILURE_NEEDS) {
        say_needs(judge, origin, step, span, path);
        return sentence;
    }
    Text place = named ? (Text){0} : message_place(judge->messages, step->span.start);
    Text where = named ? (Text){0} : text_fill(judge->arena, TEXT(" ({0})"), &place, 1);
    Text whose = owner ? text_fill(judge->arena, TEXT("{0}: "), &path, 1) : (Text){0};
    const Text arguments[4] = {whose, formula, where, failure_details(judge, failure, step)};
    message_add(judge->messages, words.message, span, arguments, 4);
    return sentence;
}

/* ---- segments ---------------------------------------------------------------------------------------------------- */

Text segment_at(Judge *judge, StepId signal, double time) {
    Reach reach = evaluation_reach(judge->evaluation, signal, NULL);
    StepId first = 0;
    for (uint32_t i = 0; i < reach.count; i++) {
        StepKind kind = (StepKind)judge->program->steps.at[reach.steps[i]].kind;
        bool moves = kind == STEP_CYCLE || kind == STEP_CYCLE_TIME || kind == STEP_CYCLE_INPUT;
        if (moves && (first == 0 || reach.steps[i] < first)) first = reach.steps[i];
    }
    if (first == 0) return (Text){0};
    const Step *step = &judge->program->steps.at[first];
    uint32_t index = step->kind == STEP_CYCLE_INPUT ? judge->program->inputs.at[step->b].cycle : step->a;
    const PlanCycle *cycle = &judge->program->cycles.at[index];
    double elapsed = 0;
    uint32_t i = 0;
    for (; i + 1 < cycle->segments.count; i++) {
        elapsed += judge->evaluation->values[cycle->segments.at[i].length].number;
        if (time <= elapsed * (1 + 1e-12)) break;
    }
    Text parts[2] = {model_name(judge->model, cycle->name), {0}};
    if (cycle->segments.at[i].label != 0) {
        parts[1] = model_name(judge->model, cycle->segments.at[i].label);
        return text_fill(judge->arena, TEXT(" of {0}, in {1}"), parts, 2);
    }
    TextBuilder number = text_builder(judge->arena);
    text_add_count(&number, i + 1);
    parts[1] = text_built(&number);
    return text_fill(judge->arena, TEXT(" of {0}, in segment {1}"), parts, 2);
}
