/* What rests on what, in a program. */
#include "compute/evaluate.h"

#include "compute/step.h"

/* ---- marks --------------------------------------------------------------------------------------------------------- */

/* A cycle and a table name theirs in lists of their own. */
bool uses_marked(const Program *program, const Step *step, const uint8_t *marked) {
    unsigned operands = step_operands((StepKind)step->kind);
    if ((operands > 0 && marked[step->a]) || (operands > 1 && marked[step->b]) || (operands > 2 && marked[step->c])) return true;
    if (step->kind == STEP_LOOK_UP) {
        const PlanTable *table = &program->tables.at[step->b];
        for (uint32_t i = 0; i < table->count; i++) {
            if (marked[table->keys[i]] || marked[table->values[i]]) return true;
        }
    }
    if (step->kind != STEP_CYCLE && step->kind != STEP_CYCLE_TIME && step->kind != STEP_CYCLE_INPUT) return false;
    const PlanInput *input = step->kind == STEP_CYCLE_INPUT ? &program->inputs.at[step->b] : NULL;
    const PlanCycle *cycle = &program->cycles.at[input ? input->cycle : step->a];
    for (uint32_t i = 0; cycle->profile == NULL && i < cycle->segments.count; i++) {
        const PlanSegment *segment = &cycle->segments.at[i];
        StepId shape = step->kind == STEP_CYCLE ? segment->shape[step->aux] : 0, held = input ? input->steps[i] : 0;
        if (marked[segment->length] || marked[segment->displacement] || marked[shape] || marked[held]) return true;
    }
    return false;
}

void mark_loop(const Program *program, StepId settle, uint8_t *marked) {
    StepId guess = program->steps.at[settle].a;
    marked[guess] = 1;
    for (StepId s = guess + 1; s < settle; s++) {
        const Step *step = &program->steps.at[s];
        marked[s] |= uses_marked(program, step, marked);
        if (marked[s] && step->kind == STEP_SETTLE) mark_loop(program, s, marked); /* it runs anew as a whole */
    }
}

/* ---- everything below a step ----------------------------------------------------------------------------------------- */

typedef struct Search {
    Evaluation *evaluation;
    ReachFollow *only;
    StepId user;
    unsigned operand;
    uint32_t count;
} Search;

static void reach_one(Search *search, StepId id) {
    Evaluation *evaluation = search->evaluation;
    unsigned operand = search->operand++;
    if (id == 0 || evaluation->seen[id] == evaluation->searches) return;
    if (search->only != NULL && search->user != 0 && !search->only(evaluation, search->user, operand, id)) return;
    evaluation->seen[id] = evaluation->searches;
    evaluation->reached[search->count++] = id;
}

static void reach_operands(Search *search, StepId id) {
    const Program *program = search->evaluation->program;
    const Step *step = &program->steps.at[id];
    unsigned operands = step_operands((StepKind)step->kind);
    search->user = id;
    search->operand = 0;
    if (operands > 0) reach_one(search, step->a);
    if (operands > 1) reach_one(search, step->b);
    if (operands > 2) reach_one(search, step->c);
    if (step->kind == STEP_GUESS) reach_one(search, step->b); /* whoever looks at it from outside sees where it settled */
    if (step->kind == STEP_LOOK_UP) {
        const PlanTable *table = &program->tables.at[step->b];
        for (uint32_t i = 0; i < table->count; i++) {
            reach_one(search, table->keys[i]);
            reach_one(search, table->values[i]);
        }
    }
    if (step->kind != STEP_CYCLE && step->kind != STEP_CYCLE_TIME && step->kind != STEP_CYCLE_INPUT) return;
    uint32_t index = step->kind == STEP_CYCLE_INPUT ? program->inputs.at[step->b].cycle : step->a;
    const PlanCycle *cycle = &program->cycles.at[index];
    for (uint32_t i = 0; i < cycle->segments.count; i++) {
        const PlanSegment *segment = &cycle->segments.at[i];
        reach_one(search, segment->length);
        if (step->kind == STEP_CYCLE) reach_one(search, segment->displacement);
        if (step->kind == STEP_CYCLE) reach_one(search, segment->shape[step->aux]);
        if (step->kind == STEP_CYCLE_INPUT && cycle->profile == NULL) reach_one(search, program->inputs.at[step->b].steps[i]);
    }
}

Reach evaluation_reach(Evaluation *evaluation, StepId step, ReachFollow *only) {
    Search search = {.evaluation = evaluation, .only = only};
    evaluation->searches++;
    reach_one(&search, step);
    for (uint32_t i = 0; i < search.count; i++) reach_operands(&search, evaluation->reached[i]);
    return (Reach){evaluation->reached, search.count};
}

void mark_reach(Evaluation *evaluation, StepId step, uint8_t *marks) {
    if (step == 0 || marks[step]) return; /* all that it rests on is marked with it */
    Reach reach = evaluation_reach(evaluation, step, NULL);
    for (uint32_t i = 0; i < reach.count; i++) marks[reach.steps[i]] = 1;
}

void mark_condition(Evaluation *evaluation, uint32_t index, uint8_t *marks) {
    const Condition *condition = &evaluation->program->conditions.at[index];
    mark_reach(evaluation, condition->left, marks);
    mark_reach(evaluation, condition->right, marks);
    mark_reach(evaluation, condition->truth, marks);
    for (uint32_t i = 0; i < condition->child_count; i++) mark_condition(evaluation, condition->children[i], marks);
}

void mark_judged(Evaluation *evaluation, const Judged *judged, uint8_t *marks) {
    mark_reach(evaluation, judged->when, marks);
    if (judged->shall != 0) mark_condition(evaluation, judged->shall, marks);
    if (judged->kind != JUDGED_AGREEMENT) return;
    mark_reach(evaluation, evaluation->program->objects.at[judged->object].slots[judged->slot].agreement, marks);
}

/* ---- what uses what ---------------------------------------------------------------------------------------------- */

void each_operand(const Program *program, StepId id, EachOperand *visit, void *context) {
    const Step *step = &program->steps.at[id];
    unsigned operands = step_operands((StepKind)step->kind);
    if (operands > 0) visit(context, id, 0, step->a);
    if (operands > 1) visit(context, id, 1, step->b);
    if (operands > 2) visit(context, id, 2, step->c);
    if (step->kind == STEP_GUESS) visit(context, id, 1, step->b);
    if (step->kind == STEP_LOOK_UP) {
        const PlanTable *table = &program->tables.at[step->b];
        for (uint32_t i = 0; i < table->count; i++) {
            visit(context, id, 0, table->keys[i]);
            visit(context, id, 0, table->values[i]);
        }
    }
    if (step->kind != STEP_CYCLE && step->kind != STEP_CYCLE_TIME && step->kind != STEP_CYCLE_INPUT) return;
    const PlanInput *input = step->kind == STEP_CYCLE_INPUT ? &program->inputs.at[step->b] : NULL;
    const PlanCycle *cycle = &program->cycles.at[input ? input->cycle : step->a];
    for (uint32_t i = 0; cycle->profile == NULL && i < cycle->segments.count; i++) {
        const PlanSegment *segment = &cycle->segments.at[i];
        visit(context, id, 0, segment->length);
        visit(context, id, 0, segment->displacement);
        if (step->kind == STEP_CYCLE) visit(context, id, 0, segment->shape[step->aux]);
        if (input) visit(context, id, 0, input->steps[i]);
    }
}

bool use_can_differ(const Evaluation *evaluation, StepId user, unsigned operand, StepId step) {
    const Step *using = &evaluation->program->steps.at[user];
    if (!evaluation->bounded[step]) return false;
    if (using->kind != STEP_CHOOSE || operand == 0 || evaluation->bounded[using->a]) return true;
    const Computed *condition = &evaluation->values[using->a];
    return condition->state != COMPUTED_NUMBER || operand == (condition->number != 0 ? 1u : 2u);
}

typedef struct Wanting {
    const Evaluation *evaluation;
    uint8_t *wanted;
    StepId *stack;
    uint32_t count;
} Wanting;

static void want(void *context, StepId user, unsigned operand, StepId step) {
    Wanting *wanting = context;
    if (step == 0 || wanting->wanted[step] || !use_can_differ(wanting->evaluation, user, operand, step)) return;
    wanting->wanted[step] = 1;
    wanting->stack[wanting->count++] = step;
}

static const uint8_t *find_wanted(Arena *arena, const Evaluation *evaluation, const StepId *roots, uint32_t root_count) {
    uint32_t count = evaluation->program->steps.count;
    Wanting wanting = {evaluation, arena_take(arena, count), ARENA_ARRAY(arena, StepId, count), 0};
    for (uint32_t i = 0; i < root_count; i++) {
        if (!wanting.wanted[roots[i]]) wanting.stack[wanting.count++] = roots[i];
        wanting.wanted[roots[i]] = 1;
    }
    while (wanting.count > 0) each_operand(evaluation->program, wanting.stack[--wanting.count], want, &wanting);
    return wanting.wanted;
}

typedef struct Filling {
    const Evaluation *evaluation;
    const uint8_t *wanted;
    uint32_t *first;
    StepId *list; /* NULL: counting */
} Filling;

static void fill_user(void *context, StepId user, unsigned operand, StepId step) {
    Filling *filling = context;
    if (step == 0 || !use_can_differ(filling->evaluation, user, operand, step)) return;
    if (filling->list != NULL) filling->list[filling->first[step]] = user;
    filling->first[step]++;
}

Users *users_open(Arena *arena, const Evaluation *evaluation, const StepId *roots, uint32_t root_count) {
    const Program *program = evaluation->program;
    uint32_t count = program->steps.count;
    Filling filling = {evaluation, find_wanted(arena, evaluation, roots, root_count), ARENA_ARRAY(arena, uint32_t, count + 1), NULL};
    for (int pass = 0; pass < 2; pass++) {
        for (StepId id = 1; id < count; id++) {
            if (evaluation->bounded[id] && filling.wanted[id]) each_operand(program, id, fill_user, &filling);
        }
        /* From counts to places; after filling, each place stands where the next one began. */
        uint32_t sum = 0;
        for (StepId id = 0; pass == 0 && id <= count; id++) {
            uint32_t own = filling.first[id];
            filling.first[id] = sum;
            sum += own;
        }
        if (pass == 0) filling.list = ARENA_ARRAY(arena, StepId, sum);
    }
    for (StepId id = count; id > 0; id--) filling.first[id] = filling.first[id - 1];
    filling.first[0] = 0;
    Users *users = ARENA_NEW(arena, Users);
    *users = (Users){program, filling.first, filling.list, ARENA_ARRAY(arena, uint32_t, count), 0};
    return users;
}

uint32_t users_all(Users *users, Arena *arena, StepId step, StepId **all) {
    VECTOR(StepId) found = {0};
    uint32_t search = ++users->searches;
    users->seen[step] = search;
    VECTOR_PUSH(arena, &found, step);
    for (uint32_t i = 0; i < found.count; i++) {
        StepId id = found.at[i];
        for (uint32_t k = users->first[id]; k < users->first[id + 1]; k++) {
            if (users->seen[users->list[k]] == search) continue;
            users->seen[users->list[k]] = search;
            VECTOR_PUSH(arena, &found, users->list[k]);
        }
    }
    StepId last = step;
    for (uint32_t i = 0; i < found.count; i++) last = found.at[i] > last ? found.at[i] : last;
    uint32_t count = 0;
    for (StepId id = 1; id <= last; id++) { /* `step` need not be the lowest: a running value of a loop may be */
        if (users->seen[id] == search) found.at[count++] = id;
    }
    *all = found.at;
    return found.count;
}

static SignalVoid first_void(Signal signal) {
    for (uint32_t i = 0; i < signal.count; i++) {
        if (signal.pieces[i].size == 0 && signal.pieces[i].void_reason != VOID_UNKNOWN) return (SignalVoid)signal.pieces[i].void_reason;
    }
    return VOID_NONE;
}

StepId evaluation_origin(Evaluation *evaluation, StepId step, Failure *failure) {
    const Computed *value = &evaluation->values[step];
    *failure = (Failure)value->failure;
    if (value->state == COMPUTED_FAILED && value->origin != step) return value->origin;
    /* A signal that has no value on part of the cycle: the earliest step that has none is where it began. */
    Reach reach = evaluation_reach(evaluation, step, NULL);
    StepId first = 0;
    for (uint32_t i = 0; i < reach.count; i++) {
        StepId id = reach.steps[i];
        const Computed *part = &evaluation->values[id];
        bool failed = part->state == COMPUTED_FAILED && part->failure != FAILURE_BROKEN;
        SignalVoid reason = part->state == COMPUTED_SIGNAL ? first_void(part->signal) : VOID_NONE;
        if ((!failed && reason == VOID_NONE) || (first != 0 && id >= first)) continue;
        first = id;
        *failure = failed ? (Failure)part->failure : failure_of_void(reason);
    }
    return first != 0 ? first : value->state == COMPUTED_FAILED ? value->origin : 0;
}
