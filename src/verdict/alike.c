/* Alike assemblies, judged by one program: those of which everything that has to hold does, and everything has a value, are done
 * with; all others are left to the usual way, which says what is wrong with them. Advice need not be followed. */
#include <math.h>
#include <string.h>

#include "plan/alike.h"
#include "verdict/judge.h"

typedef struct Fleet {
    Judge *judge;
    Program *program;
    const Assembly *pattern;
    VECTOR(uint32_t) judged;  /* of Program.judged: what belongs to the assembly */
    VECTOR(StepId) steps;     /* that must have a value */
    VECTOR(ObjectId) objects; /* of the assembly */
    VECTOR(Text) paths;       /* theirs, in the pattern */
    VECTOR(NodeId) nodes;
    VECTOR(Judged) originals;
    VECTOR(NodeId) stated;    /* by judged: of an agreement, the value that was stated */
    VECTOR(NodeId) cycles;    /* by cycle */
    Arena *rooms;             /* for what judging makes, cleared for each assembly */
    double *shares;           /* by judged: the margin it holds with, of its limit; NaN: none */
    bool *idle;               /* by judged: it does not apply */
    bool *unheeded;           /* by judged: advice that is not followed */
} Fleet;

static bool belongs(const Fleet *fleet, ObjectId id) {
    const Object *object = &fleet->program->objects.at[id];
    while (object->parent != 0) object = &fleet->program->objects.at[object->parent];
    return object->node != 0 && alike_holds(fleet->pattern, object->node);
}

static void take_slots(Fleet *fleet, const Object *object) {
    uint32_t count = fleet->program->model->forms.at[object->form].members.count;
    for (uint32_t slot = 0; slot < count; slot++) {
        const Operand *operand = &object->slots[slot].operand;
        bool has_step = operand->class == OPERAND_VALUE || operand->class == OPERAND_TRUTH || operand->class == OPERAND_WORD;
        if (object->slots[slot].state == SLOT_DONE && has_step && operand->step) VECTOR_PUSH(fleet->judge->arena, &fleet->steps, operand->step);
    }
}

static void open_fleet(Fleet *fleet, Settled *settled) {
    Arena *arena = fleet->judge->arena;
    const Program *program = fleet->program;
    for (ObjectId id = 1; id < program->objects.count; id++) {
        const Object *object = &program->objects.at[id];
        if (object->law) take_slots(fleet, object);
        if (object->law || object->abstract) continue;
        if (!belongs(fleet, id)) {
            if (object->parent == 0 && object->name != 0) VECTOR_PUSH(arena, &settled->reached, object->name);
            continue;
        }
        take_slots(fleet, object);
        VECTOR_PUSH(arena, &fleet->objects, id);
        VECTOR_PUSH(arena, &fleet->paths, object->path);
        VECTOR_PUSH(arena, &fleet->nodes, object->node);
    }
    for (uint32_t i = 0; i < program->named_values.count; i++) VECTOR_PUSH(arena, &fleet->steps, program->named_values.at[i].step);
    for (uint32_t i = 0; i < program->judged.count; i++) {
        if (program->judged.at[i].object != 0 && !belongs(fleet, program->judged.at[i].object)) continue;
        const Judged *judged = &program->judged.at[i];
        VECTOR_PUSH(arena, &fleet->judged, i);
        VECTOR_PUSH(arena, &fleet->originals, *judged);
        VECTOR_PUSH(arena, &fleet->stated, judged->kind == JUDGED_AGREEMENT ? program->objects.at[judged->object].slots[judged->slot].stated : 0);
    }
    for (uint32_t c = 0; c < program->cycles.count; c++) VECTOR_PUSH(arena, &fleet->cycles, program->cycles.at[c].node);
}

/* ---- is all of it well? ------------------------------------------------------------------------------------------- */

static bool has_value(const Computed *value) {
    if (value->state == COMPUTED_FAILED) return false;
    for (uint32_t i = 0; value->state == COMPUTED_SIGNAL && i < value->signal.count; i++) {
        const Piece *piece = &value->signal.pieces[i];
        if (piece->size == 0 && piece->void_reason != VOID_UNKNOWN) return false;
    }
    return true;
}

static bool cycles_are_well(const Fleet *fleet) {
    const Computed *values = fleet->judge->evaluation->values;
    for (uint32_t c = 1; c < fleet->program->cycles.count; c++) {
        const PlanCycle *cycle = &fleet->program->cycles.at[c];
        for (uint32_t i = 0; i < cycle->segments.count; i++) {
            const Computed *length = &values[cycle->segments.at[i].length];
            if (cycle->profile == NULL && !(length->state == COMPUTED_NUMBER && length->number > 0)) return false;
        }
        if (!cycle_closes(fleet->judge, cycle, NULL)) return false;
    }
    return true;
}

static bool holds(Judge *judge, const Judged *judged, double *share, bool *idle, bool *unheeded) {
    const Computed *values = judge->evaluation->values, *when = judged->when ? &values[judged->when] : NULL;
    *share = NAN;
    *unheeded = false;
    *idle = when && when->state == COMPUTED_NUMBER && when->number == 0;
    if (judged->kind == JUDGED_CAUTION) return true;
    if (judged->kind == JUDGED_AGREEMENT) {
        const Object *object = &judge->program->objects.at[judged->object];
        *idle = *idle || values[object->slots[judged->slot].agreement].state == COMPUTED_UNKNOWN;
    }
    if (*idle) return true;
    if ((when && when->state != COMPUTED_NUMBER) || judged->shall == 0) return false;
    Outcome outcome = judge_condition(judge, judged->shall);
    *share = outcome.share;
    *unheeded = judged->advice && outcome.state == OUTCOME_FAILS;
    return outcome.state == OUTCOME_HOLDS || *unheeded;
}

static bool is_well(Fleet *fleet) {
    Judge *judge = fleet->judge;
    Arena *lasting = judge->arena;
    for (uint32_t i = 0; i < fleet->steps.count; i++) {
        if (!has_value(&judge->evaluation->values[fleet->steps.at[i]])) return false;
    }
    if (!cycles_are_well(fleet)) return false;
    arena_clear(fleet->rooms);
    judge->arena = fleet->rooms;
    judge->silent = true;
    bool well = true;
    for (uint32_t i = 0; i < fleet->judged.count && well; i++) {
        well = holds(judge, &judge->program->judged.at[fleet->judged.at[i]], &fleet->shares[i], &fleet->idle[i], &fleet->unheeded[i]);
    }
    judge->silent = false;
    judge->arena = lasting;
    return well;
}

/* ---- another's names ---------------------------------------------------------------------------------------------- */

/* lift.load of the pattern: carousel.load of the assembly. */
static Text renamed(const Fleet *fleet, Text path, Text name) {
    size_t dot = 0;
    while (dot < path.length && path.at[dot] != '.') dot++;
    if (dot == path.length) return name;
    Text parts[2] = {name, text_slice(path, dot, path.length)};
    return text_fill(fleet->judge->arena, TEXT("{0}{1}"), parts, 2);
}

static void take_names(Fleet *fleet, const Assembly *assembly) {
    const Tree *tree = fleet->program->model->tree;
    for (uint32_t i = 0; i < fleet->objects.count; i++) {
        Object *object = &fleet->program->objects.at[fleet->objects.at[i]], *top = object;
        object->node = alike_node(fleet->pattern, assembly, fleet->nodes.at[i]);
        while (top->parent != 0) top = &fleet->program->objects.at[top->parent];
        object->path = renamed(fleet, fleet->paths.at[i], model_name(fleet->program->model, tree_node(tree, top->node)->name));
        if (object == top) object->name = tree_node(tree, object->node)->name;
    }
    for (uint32_t i = 0; i < fleet->judged.count; i++) {
        Judged *judged = &fleet->program->judged.at[fleet->judged.at[i]];
        judged->node = alike_node(fleet->pattern, assembly, fleet->originals.at[i].node);
        judged->shall_node = alike_node(fleet->pattern, assembly, fleet->originals.at[i].shall_node);
    }
    for (uint32_t i = 0; i < fleet->judged.count; i++) {
        if (fleet->stated.at[i] == 0) continue;
        const Judged *judged = &fleet->program->judged.at[fleet->judged.at[i]];
        Slot *slot = &fleet->program->objects.at[judged->object].slots[judged->slot];
        slot->stated = alike_node(fleet->pattern, assembly, fleet->stated.at[i]);
        slot->stated_span = tree_node(tree, slot->stated)->span;
    }
    for (uint32_t c = 1; c < fleet->program->cycles.count; c++) {
        PlanCycle *cycle = &fleet->program->cycles.at[c];
        cycle->node = alike_node(fleet->pattern, assembly, fleet->cycles.at[c]);
        cycle->name = tree_node(tree, cycle->node)->name;
    }
}

/* These look at what holds, too: a concession of it is needless. */
static bool has_concessions(const Model *model) {
    for (uint32_t f = 0; f < model->loaded->files.count; f++) {
        for (NodeId item = model->loaded->files.at[f].first_item; item != 0; item = tree_node(model->tree, item)->next) {
            if (tree_node(model->tree, item)->kind == NODE_CONCESSION) return true;
        }
    }
    return false;
}

/* What judging a condition asks for: of an order only its two sides, not where over the cycle it holds. */
static void need_condition(Fleet *fleet, Evaluation *base, uint32_t index, uint8_t *needed) {
    const Condition *condition = &fleet->program->conditions.at[index];
    bool order = condition->kind == CONDITION_COMPARE && condition->choice == 0 && !condition->truths && condition->compare != SIGNAL_EQUAL && condition->compare != SIGNAL_UNEQUAL;
    mark_reach(base, condition->left, needed);
    mark_reach(base, condition->right, needed);
    if (!order) mark_reach(base, condition->truth, needed);
    for (uint32_t i = 0; i < condition->child_count; i++) need_condition(fleet, base, condition->children[i], needed);
}

static const StepId *find_cone(Fleet *fleet, Evaluation *base, uint32_t *count) {
    const Program *program = fleet->program;
    uint8_t *needed = arena_take(fleet->judge->arena, program->steps.count);
    StepId *cone = ARENA_ARRAY(fleet->judge->arena, StepId, program->steps.count);
    for (uint32_t i = 0; i < fleet->steps.count; i++) mark_reach(base, fleet->steps.at[i], needed);
    for (uint32_t c = 1; c < program->cycles.count; c++) {
        for (uint32_t i = 0; i < program->cycles.at[c].segments.count; i++) {
            mark_reach(base, program->cycles.at[c].segments.at[i].length, needed);
            mark_reach(base, program->cycles.at[c].segments.at[i].displacement, needed);
        }
    }
    for (uint32_t i = 0; i < fleet->judged.count; i++) {
        const Judged *judged = &program->judged.at[fleet->judged.at[i]];
        mark_reach(base, judged->when, needed);
        if (judged->shall != 0) need_condition(fleet, base, judged->shall, needed);
        if (judged->kind == JUDGED_AGREEMENT) mark_reach(base, program->objects.at[judged->object].slots[judged->slot].agreement, needed);
    }
    for (StepId id = 1; id < program->steps.count; id++) {
        if (needed[id] && base->bounded[id]) cone[(*count)++] = id;
    }
    return cone;
}

/* ---- all of them -------------------------------------------------------------------------------------------------- */

/* What a judged thing names, by the names of the assembly. */
static ReferenceVector renamed_references(const Fleet *fleet, const Assembly *assembly, const ReferenceVector *references) {
    const Model *model = fleet->program->model;
    ReferenceVector out = {0};
    for (uint32_t i = 0; i < references->count; i++) {
        Reference one = references->at[i];
        size_t dot = 0;
        while (dot < one.path.length && one.path.at[dot] != '.') dot++;
        Text first = text_slice(one.path, 0, dot);
        for (uint32_t k = 0; k < assembly->count; k++) {
            if (!text_equal(first, model_name(model, tree_node(model->tree, fleet->pattern->items[k])->name))) continue;
            one.path = renamed(fleet, one.path, model_name(model, tree_node(model->tree, assembly->items[k])->name));
            break;
        }
        VECTOR_PUSH(fleet->judge->arena, &out, one);
    }
    return out;
}

/* Advice that is not followed is told in full, however much there is. */
static void tell_unheeded(const Fleet *fleet, const Assembly *assembly, uint32_t index) {
    Judge *judge = fleet->judge;
    Judged judged = fleet->program->judged.at[fleet->judged.at[index]];
    bool brief = judge->brief;
    judged.references = renamed_references(fleet, assembly, &judged.references);
    judge->brief = false;
    judge_judged(judge, &judged);
    judge->brief = brief;
}

/* What is known to hold is judged once more for its words, or, where nobody will read those, counted. */
static void settle_one(const Fleet *fleet, const Assembly *assembly, uint32_t index) {
    Judge *judge = fleet->judge;
    if (fleet->unheeded[index]) {
        tell_unheeded(fleet, assembly, index);
        return;
    }
    const Judged *judged = &fleet->program->judged.at[fleet->judged.at[index]];
    bool counted = judge->brief && judged->kind != JUDGED_CAUTION && !(fleet->shares[index] < judge->smallest);
    if (counted && (!fleet->idle[index] || judged->kind != JUDGED_REQUIREMENT)) judge_counted(judge, judged, fleet->idle[index]);
    else judge_judged(judge, judged);
}

static void settle_group(Judge *judge, const AlikeGroup *group, Sources *sources, Settled *settled, bool conceding) {
    Arena *scratch = arena_open_beside(judge->arena);
    Fleet fleet = {.judge = judge, .pattern = &group->assemblies[0], .rooms = arena_open_beside(judge->arena)};
    fleet.program = plan_assembly(judge->arena, judge->world, sources, judge->model, fleet.pattern, judge->result->nominal_only);
    if (fleet.program != NULL) {
        const Program *program = fleet.program;
        Evaluation *base = evaluate(judge->arena, program);
        open_fleet(&fleet, settled);
        fleet.shares = ARENA_ARRAY(judge->arena, double, fleet.judged.count);
        fleet.idle = ARENA_ARRAY(judge->arena, bool, fleet.judged.count);
        fleet.unheeded = ARENA_ARRAY(judge->arena, bool, fleet.judged.count);
        judge->brief = group->count * fleet.judged.count > VERDICTS_LISTED && !conceding;
        judge->result->brief = judge->result->brief || judge->brief;
        uint32_t cone_count = 0;
        const StepId *cone = find_cone(&fleet, base, &cone_count);
        Variation *variation = variation_open(judge->arena, base);
        variation_take(variation, scratch, cone, cone_count);
        double *inputs = ARENA_ARRAY(judge->arena, double, program->constants.count);
        memcpy(inputs, base->inputs, program->constants.count * sizeof *inputs);
        judge->program = program;
        judge->evaluation = variation->now;
        for (uint32_t i = 0; i < group->count; i++) {
            if (!alike_inputs(program, fleet.pattern, &group->assemblies[i], inputs)) continue;
            variation_run(variation, inputs);
            if (!is_well(&fleet)) continue;
            take_names(&fleet, &group->assemblies[i]);
            for (uint32_t k = 0; k < fleet.judged.count; k++) settle_one(&fleet, &group->assemblies[i], k);
            for (uint32_t k = 0; k < fleet.objects.count && !judge->brief; k++) judge_thing(judge, fleet.objects.at[k]);
            for (uint32_t k = 0; k < group->assemblies[i].count; k++) map_set(&settled->items, group->assemblies[i].items[k], 1);
        }
    }
    arena_close(fleet.rooms);
    arena_close(scratch);
}

void settle_alike(Judge *judge, Sources *sources, Settled *settled) {
    AlikeGroupVector groups = alike_find(judge->arena, judge->model);
    settled->items = map_open(judge->arena);
    bool conceding = groups.count > 0 && has_concessions(judge->model);
    judge->settling = true;
    for (uint32_t i = 0; i < groups.count; i++) settle_group(judge, &groups.at[i], sources, settled, conceding);
    judge->settling = judge->brief = false;
    judge->program = NULL;
    judge->evaluation = NULL;
}
