#include "plan/alike.h"
#include "plan/build.h"

#include <math.h>
#include <string.h>

#include "base/hash.h"

static bool same_step(const Step *step, StepKind kind, unsigned aux, StepId a, StepId b, StepId c) {
    return step->kind == kind && step->aux == aux && step->a == a && step->b == b && step->c == c;
}

/* Whether such a step can fail by itself. Equal steps are one, but these only within one object: a message has to name the
 * object whose formula it was. (Equal moves of a cycle are one mistake.) */
static bool can_fail(const Builder *builder, StepKind kind, unsigned aux) {
    if (builder->program->objects.at[builder->owner].law) return false;
    switch (kind) {
    case STEP_UNARY: return aux == SIGNAL_SQRT || aux == SIGNAL_LN || aux == SIGNAL_ASIN || aux == SIGNAL_ACOS;
    case STEP_BINARY: return aux == SIGNAL_DIVIDE || aux == SIGNAL_POWER;
    case STEP_LOOK_UP:
    case STEP_NEEDS:
    case STEP_LAG:
    case STEP_ACCUMULATE:
    case STEP_REDUCE:
    case STEP_AT: return true;
    default: return false;
    }
}

StepId emit(Builder *builder, StepKind kind, unsigned aux, StepId a, StepId b, StepId c, Span span) {
    Program *program = builder->program;
    uint64_t hash = hash_mix(hash_mix(hash_mix(hash_mix(hash_mix(1, kind), aux), a), b), c) & ~(uint64_t)1; /* never the map's forbidden key */
    bool shared = kind != STEP_GUESS, own = can_fail(builder, kind, aux);
    if (own) hash = hash_mix(hash, builder->owner) & ~(uint64_t)1;
    if (shared) {
        StepId found = map_get(&builder->step_table, hash, 0);
        const Step *equal = &program->steps.at[found];
        if (found != 0 && same_step(equal, kind, aux, a, b, c) && (!own || equal->owner == builder->owner)) return found;
    }
    Step step = {(uint8_t)kind, (uint8_t)aux, a, b, c, span, builder->owner};
    StepId id = program->steps.count;
    VECTOR_PUSH(builder->arena, &program->steps, step);
    if (shared) map_set(&builder->step_table, hash, id);
    return id;
}

StepId emit_apart(Builder *builder, Constant constant, Span span) {
    Program *program = builder->program;
    uint32_t index = program->constants.count;
    VECTOR_PUSH(builder->arena, &program->constants, constant);
    StepId id = program->steps.count;
    VECTOR_PUSH(builder->arena, &program->steps, (Step){STEP_CONSTANT, 0, index, 0, 0, span, builder->owner});
    return id;
}

StepId emit_bounded(Builder *builder, Constant constant, Span span) {
    Program *program = builder->program;
    uint64_t bits[3];
    if (builder->mould) constant.low = constant.high = constant.nominal;
    memcpy(bits, &constant, sizeof bits);
    uint64_t hash = hash_mix(hash_mix(hash_mix(2, bits[0]), bits[1]), bits[2]) | 1;
    if (hash == UINT64_MAX) hash = 1;
    bool exact = constant.low == constant.high;
    /* Equal numbers are one step; two toleranced values are two, even when written alike: they vary by themselves. */
    StepId found = exact ? map_get(&builder->step_table, hash, 0) : 0;
    if (found != 0 && memcmp(&program->constants.at[program->steps.at[found].a], &constant, sizeof constant) == 0) return found;
    StepId id = emit_apart(builder, constant, span);
    if (exact) map_set(&builder->step_table, hash, id);
    return id;
}

StepId emit_constant(Builder *builder, double value, Span span) {
    return emit_bounded(builder, (Constant){value, value, value}, span);
}

StepId emit_missing(Builder *builder, Text path, Span span) {
    uint32_t index = builder->program->texts.count;
    VECTOR_PUSH(builder->arena, &builder->program->texts, path);
    return emit(builder, STEP_MISSING, 0, index, 0, 0, span);
}

StepId emit_broken(Builder *builder, Span span) { return emit(builder, STEP_BROKEN, 0, 0, 0, 0, span); }

/* In steps that are alike but for a number, the number is a step of its own, also where it equals another. */
StepId emit_written(Builder *builder, Constant constant, NodeId written, FreeNumber numbers) {
    Program *program = builder->program;
    Span span = tree_node(builder->tree, written)->span;
    if (builder->assembly == NULL || !alike_holds(builder->assembly, written)) return emit_bounded(builder, constant, span);
    uint32_t known = map_get(&builder->free, written, UINT32_MAX);
    if (known != UINT32_MAX) return program->free_numbers.at[known].step;
    numbers.written = written;
    numbers.constant = program->constants.count;
    numbers.step = program->steps.count;
    map_set(&builder->free, written, program->free_numbers.count);
    VECTOR_PUSH(builder->arena, &program->free_numbers, numbers);
    VECTOR_PUSH(builder->arena, &program->constants, (Constant){constant.nominal, -INFINITY, INFINITY});
    VECTOR_PUSH(builder->arena, &program->steps, (Step){STEP_CONSTANT, 0, numbers.constant, 0, 0, span, builder->owner});
    return numbers.step;
}

static FreeNumber *free_number(const Builder *builder, uint32_t constant) {
    if (builder->assembly == NULL) return NULL;
    for (uint32_t i = 0; i < builder->program->free_numbers.count; i++) {
        if (builder->program->free_numbers.at[i].constant == constant) return &builder->program->free_numbers.at[i];
    }
    return NULL;
}

bool step_is_constant(Builder *builder, StepId id, double *value) {
    const Step *step = &builder->program->steps.at[id];
    if (step->kind != STEP_CONSTANT) return false;
    const Constant *constant = &builder->program->constants.at[step->a];
    FreeNumber *free = free_number(builder, step->a);
    *value = constant->nominal;
    if (free != NULL) free->frozen = true;
    return free != NULL || constant->low == constant->high;
}

bool step_is_nought(const Builder *builder, StepId id) {
    const Step *step = &builder->program->steps.at[id];
    const Constant *constant = step->kind == STEP_CONSTANT ? &builder->program->constants.at[step->a] : NULL;
    return constant != NULL && constant->nominal == 0 && (constant->low == 0 || free_number(builder, step->a) != NULL) &&
           (constant->high == 0 || free_number(builder, step->a) != NULL);
}

bool step_truth(Builder *builder, StepId id, bool *truth) {
    const Step *step = &builder->program->steps.at[id];
    bool a = false, b = false, a_known, b_known;
    double x, y;
    switch ((StepKind)step->kind) {
    case STEP_CONSTANT:
        if (!step_is_constant(builder, id, &x)) return false;
        *truth = x != 0;
        return true;
    case STEP_COMPARE: /* of words, and of yes and no: these are counted, and so exact */
        if (step->aux != SIGNAL_EQUAL && step->aux != SIGNAL_UNEQUAL) return false;
        if (!step_is_constant(builder, step->a, &x) || !step_is_constant(builder, step->b, &y)) return false;
        *truth = (x == y) == (step->aux == SIGNAL_EQUAL);
        return x == floor(x) && y == floor(y);
    case STEP_NOT:
        a_known = step_truth(builder, step->a, &a);
        *truth = !a;
        return a_known;
    case STEP_AND:
    case STEP_OR: {
        bool decisive = step->kind == STEP_OR;
        a_known = step_truth(builder, step->a, &a);
        b_known = step_truth(builder, step->b, &b);
        *truth = (a_known && a == decisive) || (b_known && b == decisive) ? decisive : !decisive;
        return *truth == decisive || (a_known && b_known);
    }
    default: return false;
    }
}
