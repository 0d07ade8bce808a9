#include "compute/recall.h"

#include <string.h>

#include "base/hash.h"
#include "compute/step.h"

/* ---- prints -------------------------------------------------------------------------------------------------------- */

typedef struct Printing {
    const uint64_t *prints;
    uint64_t sum;
} Printing;

static void add_print(void *context, StepId user, unsigned operand, StepId step) {
    (void)user, (void)operand;
    Printing *printing = context;
    printing->sum = hash_mix(printing->sum, printing->prints[step]);
}

static uint64_t print_of_loop(const Recall *recall, const PrintedLoop *loop) {
    uint64_t sum = 1;
    for (uint32_t i = 0; i < loop->outside_count; i++) sum = hash_mix(sum, recall->prints[loop->outside[i]]);
    return sum;
}

void recall_print(Recall *recall, StepId id, const double *inputs) {
    const Step *step = &recall->program->steps.at[id];
    uint64_t *prints = recall->prints, sum = 3;
    switch ((StepKind)step->kind) {
    case STEP_CONSTANT:
        memcpy(&sum, &inputs[step->a], sizeof sum);
        sum = hash_mix(2, sum);
        break;
    case STEP_SETTLE: {
        const PrintedLoop *loop = recall->loops[id];
        sum = print_of_loop(recall, loop);
        for (uint32_t i = 0; i < loop->step_count; i++) prints[loop->steps[i]] = sum;
        break;
    }
    case STEP_LOOK_UP:
    case STEP_CYCLE:
    case STEP_CYCLE_TIME:
    case STEP_CYCLE_INPUT: { /* these have lists */
        Printing printing = {prints, sum};
        each_operand(recall->program, id, add_print, &printing);
        sum = printing.sum;
        break;
    }
    default: {
        unsigned operands = step_operands((StepKind)step->kind);
        if (operands > 0) sum = hash_mix(sum, prints[step->a]);
        if (operands > 1) sum = hash_mix(sum, prints[step->b]);
        if (operands > 2) sum = hash_mix(sum, prints[step->c]);
        break;
    }
    }
    prints[id] = sum;
}

void recall_return(Recall *recall, StepId step) { recall->prints[step] = recall->at_base[step]; }

/* ---- loops --------------------------------------------------------------------------------------------------------- */

typedef struct Gathering {
    Arena *arena;
    const uint8_t *bounded;
    uint8_t *marked; /* by step: 1: of the loop; 2: outside, and already in the list */
    VECTOR(StepId) outside;
} Gathering;

static void gather_outside(void *context, StepId user, unsigned operand, StepId step) {
    (void)user, (void)operand;
    Gathering *gathering = context;
    if (!gathering->bounded[step] || gathering->marked[step]) return;
    gathering->marked[step] = 2;
    VECTOR_PUSH(gathering->arena, &gathering->outside, step);
}

/* `marked`: all nought, and left so. */
static const PrintedLoop *find_loop(const Recall *recall, Arena *arena, StepId settle, uint8_t *marked) {
    const Program *program = recall->program;
    StepId guess = program->steps.at[settle].a;
    VECTOR(StepId) steps = {0};
    Gathering gathering = {arena, recall->bounded, marked, {0}};
    mark_loop(program, settle, marked);
    marked[settle] = 1;
    for (StepId s = guess; s < settle; s++) {
        if (marked[s] == 1) VECTOR_PUSH(arena, &steps, s);
    }
    for (uint32_t i = 0; i < steps.count; i++) each_operand(program, steps.at[i], gather_outside, &gathering);
    each_operand(program, settle, gather_outside, &gathering);
    for (uint32_t i = 0; i < steps.count; i++) marked[steps.at[i]] = 0;
    for (uint32_t i = 0; i < gathering.outside.count; i++) marked[gathering.outside.at[i]] = 0;
    marked[settle] = 0;
    PrintedLoop *loop = ARENA_NEW(arena, PrintedLoop);
    *loop = (PrintedLoop){steps.at, gathering.outside.at, steps.count, gathering.outside.count};
    return loop;
}

/* ---- what is kept -------------------------------------------------------------------------------------------------- */

/* Steps of a loop are run several times with the same inputs. */
static const uint8_t *find_worth(const Recall *recall, Arena *arena, const Evaluation *base) {
    const Program *program = recall->program;
    uint8_t *worth = arena_take(arena, program->steps.count);
    for (StepId id = 1; id < program->steps.count; id++) {
        const Step *step = &program->steps.at[id];
        bool read = step->kind == STEP_REDUCE || step->kind == STEP_AT;
        worth[id] = base->bounded[id] && (base->values[id].state == COMPUTED_SIGNAL || read);
    }
    for (StepId id = 1; id < program->steps.count; id++) {
        for (uint32_t i = 0; recall->loops[id] != NULL && i < recall->loops[id]->step_count; i++) worth[recall->loops[id]->steps[i]] = 0;
    }
    return worth;
}

Recall *recall_open(Arena *arena, Arena *values, const Evaluation *base) {
    const Program *program = base->program;
    uint32_t count = program->steps.count;
    Recall *recall = ARENA_NEW(arena, Recall);
    uint8_t *marked = arena_take(arena, count);
    *recall = (Recall){.program = program, .bounded = base->bounded, .values = values, .known = map_open(values)};
    recall->loops = ARENA_ARRAY(arena, const PrintedLoop *, count);
    recall->prints = ARENA_ARRAY(arena, uint64_t, count);
    for (StepId id = 1; id < count; id++) {
        if (!base->bounded[id]) continue;
        if (program->steps.at[id].kind == STEP_SETTLE) recall->loops[id] = find_loop(recall, arena, id, marked);
        recall_print(recall, id, base->inputs);
    }
    uint64_t *at_base = ARENA_ARRAY(arena, uint64_t, count);
    memcpy(at_base, recall->prints, count * sizeof *at_base);
    recall->at_base = at_base;
    recall->worth = find_worth(recall, arena, base);
    return recall;
}

uint64_t recall_key(const Recall *recall, StepId step, StepId of) {
    uint64_t key = hash_mix(hash_mix(recall->prints[step], step), of);
    return key == UINT64_MAX ? 0 : key; /* the map's forbidden key */
}

bool recall_value(const Recall *recall, StepId step, Computed *value) {
    uint32_t index = map_get(&recall->known, recall_key(recall, step, 0), UINT32_MAX);
    if (index != UINT32_MAX) *value = recall->kept.at[index];
    return index != UINT32_MAX;
}

void recall_keep(Recall *recall, StepId step, Computed value) {
    map_set(&recall->known, recall_key(recall, step, 0), recall->kept.count);
    VECTOR_PUSH(recall->values, &recall->kept, value);
}

void recall_forget(Recall *recall) {
    recall->known = map_open(recall->values);
    recall->kept.at = NULL;
    recall->kept.count = recall->kept.room = 0;
    arena_clear(recall->values);
}
