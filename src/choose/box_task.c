#include "choose/box_task.h"

#include <math.h>
#include <string.h>

enum { COARSE_PIECES = 12, FINE_PIECES = 40 };

/* How one thing stands with the values as they are. */
typedef enum Standing { STANDS, IDLE, MISSED } Standing;

static Standing standing_of(Judge *judge, const Judged *judged, Outcome *outcome) {
    const Computed *values = judge->evaluation->values, *when = judged->when ? &values[judged->when] : NULL;
    *outcome = (Outcome){.state = OUTCOME_UNKNOWN, .share = NAN, .absolute = NAN};
    if (judged->kind == JUDGED_AGREEMENT) {
        StepId formula = judge->program->objects.at[judged->object].slots[judged->slot].agreement;
        if (values[formula].state == COMPUTED_UNKNOWN) return IDLE;
    }
    if (when && when->state != COMPUTED_NUMBER) return MISSED;
    if (when && when->number == 0) return IDLE;
    *outcome = judge_condition(judge, judged->shall);
    return outcome->state == OUTCOME_HOLDS ? STANDS : MISSED;
}

/* By how much it is missed, as a share of the limit, negative; NaN: that cannot be said. */
static double violation_of(const Program *program, const Outcome *outcome) {
    const double kelvin = 0.01; /* of temperatures, a kelvin counts as a hundredth */
    if (outcome->state != OUTCOME_FAILS) return NAN;
    return program->conditions.at[outcome->leaf].measure.point ? kelvin * outcome->absolute : outcome->share;
}

/* ---- what has to hold ---------------------------------------------------------------------------------------------- */

static Text text_of(const BoxTask *task, Text path, NodeId node) {
    Text parts[2] = {path, model_name(task->program->model, tree_node(task->program->model->tree, node)->name)};
    return path.length ? text_fill(task->program->arena, TEXT("{0}.{1}"), parts, 2) : parts[1];
}

/* The slot in whose card something is judged; UINT32_MAX: in none. */
static uint32_t slot_of_object(const BoxTask *task, ObjectId object) {
    const Program *program = task->program;
    while (object != 0 && program->objects.at[object].parent != 0) object = program->objects.at[object].parent;
    for (uint32_t i = 0; object != 0 && i < task->request->slot_count; i++) {
        if (task->places[i] != 0 ? program->objects.at[object].place == task->places[i] : program->objects.at[object].node == task->alternatives[i]->card) return i;
    }
    return UINT32_MAX;
}

static uint32_t miss_of(Arena *arena, BoxResult *result, Text id, NodeId shall) {
    for (uint32_t i = 0; i < result->misses.count; i++) {
        if (text_equal(result->misses.at[i].id, id)) return i;
    }
    VECTOR_PUSH(arena, &result->misses, ((BoxMiss){.id = text_copy(arena, id), .shall = shall}));
    return result->misses.count - 1;
}

/* What waits for an open slot of another axis cannot be decided here. */
static bool waits(const BoxTask *task, const Judged *judged) {
    const Program *program = task->program;
    const StepId roots[2] = {judged->when, program->conditions.at[judged->shall].truth};
    for (uint32_t i = 0; i < program->opens.count; i++) {
        for (uint32_t k = 0; program->opens.at[i].filled == 0 && k < 2; k++) {
            Reach reach = roots[k] ? evaluation_reach(task->base, roots[k], NULL) : (Reach){0};
            for (uint32_t r = 0; r < reach.count; r++) {
                const Step *step = &program->steps.at[reach.steps[r]];
                if (step->kind == STEP_MISSING && text_equal(program->texts.at[step->a], program->opens.at[i].path)) return true;
            }
        }
    }
    return false;
}

/* Requirements that are conceded may fail. Such a set has to be judged by somebody who knows of concessions. */
static bool is_conceded(const BoxTask *task, Text id) {
    const Model *model = task->program->model;
    const Tree *tree = model->tree;
    for (uint32_t f = 0; f < model->loaded->files.count; f++) {
        for (NodeId item = model->loaded->files.at[f].first_item; item != 0; item = tree_node(tree, item)->next) {
            const Node *node = tree_node(tree, item);
            NodeId covers = node->kind == NODE_CONCESSION ? tree_option(tree, node->c, OPTION_COVERS) : 0;
            for (NodeId one = covers ? tree_node(tree, covers)->a : 0; one != 0; one = tree_node(tree, one)->next) {
                if (text_equal(source_text(tree->sources, tree_node(tree, one)->span), id)) return true;
            }
        }
    }
    return false;
}

static bool rests_on_place(const BoxTask *task, uint32_t index) {
    const Condition *condition = &task->program->conditions.at[index];
    const uint8_t *bounded = task->base->bounded;
    if (bounded[condition->left] || bounded[condition->right] || bounded[condition->truth]) return true;
    for (uint32_t i = 0; i < condition->child_count; i++) {
        if (rests_on_place(task, condition->children[i])) return true;
    }
    return false;
}

static Standing standing_now(Arena *arena, const BoxTask *task, const Judged *judged, Outcome *outcome) {
    Judge judge = {.arena = arena, .program = task->program, .model = task->program->model, .evaluation = task->base, .silent = true};
    return standing_of(&judge, judged, outcome);
}

static Text path_of_open(const BoxTask *task, NodeId any) {
    for (uint32_t i = 0; i < task->program->opens.count; i++) {
        if (task->program->opens.at[i].any == any) return task->program->opens.at[i].path;
    }
    return (Text){0};
}

static Text id_of(const BoxTask *task, const Judged *judged, uint32_t slot) {
    const Program *program = task->program;
    Text path = judged->object ? program->objects.at[judged->object].path : (Text){0};
    if (judged->kind == JUDGED_WHERE) {
        path = path_of_open(task, judged->node);
        return text_fill(program->arena, TEXT("{0}.where"), &path, 1);
    }
    if (slot != UINT32_MAX && task->places[slot] == 0) { /* a single card has its own name */
        size_t name = program->objects.at[judged->object].path.length;
        for (size_t i = 0; i < name; i++) {
            if (path.at[i] == '.') name = i;
        }
        Text parts[2] = {path_of_open(task, task->request->slots[slot].any), text_slice(path, name, path.length)};
        path = text_fill(program->arena, TEXT("{0}{1}"), parts, 2);
    }
    return text_of(task, path, judged->node);
}

static void find_demands(Arena *arena, BoxTask *task, BoxResult *result) {
    const Program *program = task->program;
    for (uint32_t i = 0; i < program->judged.count; i++) {
        const Judged *judged = &program->judged.at[i];
        if (judged->kind == JUDGED_CAUTION || judged->shall == 0) continue;
        bool rests = rests_on_place(task, judged->shall) || (judged->when && task->base->bounded[judged->when]);
        if (!rests && !task->singles && task->request->decides == NULL) continue;
        uint32_t slot = slot_of_object(task, judged->object);
        Text id = id_of(task, judged, slot);
        bool decided = task->request->decides == NULL || task->request->decides(task->request->context, id);
        if (judged->kind != JUDGED_WHERE && slot == UINT32_MAX && (!decided || is_conceded(task, id) || waits(task, judged))) continue;
        Demand demand = {.judged = i, .miss = miss_of(arena, result, id, judged->shall_node ? judged->shall_node : judged->node)};
        demand.of_axis = slot == UINT32_MAX && (judged->kind == JUDGED_RULE || judged->kind == JUDGED_REQUIREMENT);
        if (!rests) { /* of a card that is in no group, or of a fact that no card of a group states: the same for all sets */
            Outcome outcome;
            bool missed = standing_now(arena, task, judged, &outcome) == MISSED;
            if (judged->advice) task->unheeded += missed && outcome.state == OUTCOME_FAILS;
            else if (missed && task->failed == UINT32_MAX) task->failed = demand.miss;
            else if (!missed && demand.of_axis && !isnan(outcome.share)) task->margin = isnan(task->margin) ? outcome.share : fmin(task->margin, outcome.share);
        } else if (judged->advice) VECTOR_PUSH(arena, &task->advice, demand);
        else VECTOR_PUSH(arena, &task->demands, demand);
    }
}

/* ---- what is needed for that --------------------------------------------------------------------------------------- */

static uint8_t *find_wanted(Arena *arena, const BoxTask *task) {
    const Program *program = task->program;
    uint8_t *wanted = arena_take(arena, program->steps.count);
    for (uint32_t i = 0; i < task->demands.count; i++) mark_judged(task->base, &program->judged.at[task->demands.at[i].judged], wanted);
    for (uint32_t i = 0; i < task->advice.count; i++) mark_judged(task->base, &program->judged.at[task->advice.at[i].judged], wanted);
    if (program->ranked.class == OPERAND_VALUE) mark_reach(task->base, program->ranked.step, wanted);
    return wanted;
}

/* Which slots each demand rests on, and by which steps. */
static void find_slots(Arena *arena, BoxTask *task) {
    const Program *program = task->program;
    uint64_t *slots = ARENA_ARRAY(arena, uint64_t, program->steps.count); /* by step: of a fact, its slot */
    uint8_t *marks = arena_take(arena, program->steps.count);
    StepId *cone = ARENA_ARRAY(arena, StepId, program->steps.count);
    for (uint32_t k = 0; k < program->place_facts.count; k++) {
        for (uint32_t i = 0; i < task->request->slot_count; i++) {
            if (task->places[i] == program->place_facts.at[k].place) slots[program->place_facts.at[k].step] = (uint64_t)1 << i;
        }
    }
    for (uint32_t i = 0; i < task->demands.count; i++) {
        Demand *demand = &task->demands.at[i];
        memset(marks, 0, program->steps.count);
        mark_judged(task->base, &program->judged.at[demand->judged], marks);
        for (StepId id = 1; id < program->steps.count; id++) {
            if (!marks[id] || !task->base->bounded[id]) continue;
            demand->slots |= slots[id];
            cone[demand->cone_count++] = id;
        }
        StepId *own = ARENA_ARRAY(arena, StepId, demand->cone_count);
        memcpy(own, cone, demand->cone_count * sizeof *own);
        demand->cone = own;
    }
}

static void find_cone(Arena *arena, BoxTask *task, const uint8_t *wanted) {
    StepId *cone = ARENA_ARRAY(arena, StepId, task->program->steps.count);
    for (StepId id = 1; id < task->program->steps.count; id++) {
        if (wanted[id] && task->base->bounded[id]) cone[task->cone_count++] = id;
    }
    task->cone = cone;
}

/* A slot's facts that matter, as varied constants. */
static void find_varied(Arena *arena, BoxTask *task, const uint8_t *wanted) {
    const Program *program = task->program;
    task->varied = ARENA_ARRAY(arena, uint32_t, program->place_facts.count);
    task->facts = ARENA_ARRAY(arena, uint32_t, program->place_facts.count);
    for (uint32_t i = 0; i < task->request->slot_count; i++) {
        task->first_varied[i] = task->varied_count;
        for (uint32_t k = 0; task->places[i] != 0 && k < program->place_facts.count; k++) {
            const PlacedFact *fact = &program->place_facts.at[k];
            if (fact->place != task->places[i] || !wanted[fact->step]) continue;
            task->facts[task->varied_count] = fact->fact;
            task->varied[task->varied_count++] = fact->constant;
        }
    }
    task->first_varied[task->request->slot_count] = task->varied_count;
}

static void plant_tree(Arena *arena, BoxTask *task, uint32_t slot, const uint32_t *rows, uint32_t count) {
    uint32_t first = task->first_varied[slot];
    task->trees[slot] = cluster_cards(arena, task->alternatives[slot]->group, rows, count, task->facts + first, task->first_varied[slot + 1] - first);
}

static void drop(Arena *arena, BoxTask *task, BoxHand *hand, uint32_t slot, const uint32_t *clusters, const BoxAnswer *answer) {
    const Cluster *cluster = &task->trees[slot]->clusters.at[clusters[slot]];
    const Demand *demand = &task->demands.at[answer->demand];
    TaskDrop dropped = {.slot = slot, .miss = demand->miss, .example = box_example(task, clusters)};
    for (uint32_t k = 0; k < cluster->count; k++) {
        uint32_t row = task->trees[slot]->order[cluster->first + k];
        Outcome outcome;
        dropped.position = task->alternatives[slot]->positions[row];
        arena_clear(hand->rooms);
        mould_fill(task->program, hand->inputs, task->places[slot], row);
        variation_note(hand->variation, hand->inputs);
        variation_catch_up(hand->variation, demand->cone, demand->cone_count);
        standing_of(&hand->judge, &task->program->judged.at[demand->judged], &outcome);
        dropped.share = violation_of(task->program, &outcome);
        VECTOR_PUSH(arena, &task->drops, dropped);
    }
    task->left[slot] -= cluster->count;
}

static void miss_box(BoxResult *result, const BoxTask *task, const uint32_t *clusters, uint32_t miss, uint64_t sets) {
    BoxMiss *entry = &result->misses.at[miss];
    if (entry->sets == 0) entry->example = box_example(task, clusters);
    entry->sets += sets;
}

uint64_t box_example(const BoxTask *task, const uint32_t *clusters) {
    uint64_t set = 0;
    for (uint32_t i = 0; i < task->request->slot_count; i++) {
        uint32_t row = task->places[i] ? task->trees[i]->order[task->trees[i]->clusters.at[clusters[i]].first] : 0;
        set = set * task->request->slots[i].count + task->alternatives[i]->positions[row];
    }
    return set;
}

/* Cards that no others can save: each alone, against all of the other slots. Twice, since what is left narrows the others. */
/* One pass over the cards of a slot; `own`: only by what rests on no other slot. */
static void sift_slot(Arena *arena, BoxTask *task, BoxHand *hand, uint32_t slot, bool own, BoxResult *result) {
    const ClusterTree *tree = task->trees[slot];
    uint32_t slots = task->request->slot_count, left = 0;
    uint32_t *clusters = ARENA_ARRAY(arena, uint32_t, slots), *rows = ARENA_ARRAY(arena, uint32_t, tree->clusters.at[0].count);
    uint8_t *open = arena_take(arena, task->demands.count);
    uint64_t others = 1;
    for (uint32_t k = 0; k < slots; k++) others *= k != slot && task->places[k] ? task->trees[k]->clusters.at[0].count : 1;
    for (uint32_t c = 0; c < tree->clusters.count; c++) {
        const Cluster *cluster = &tree->clusters.at[c];
        if (cluster->below != 0) continue;
        clusters[slot] = c;
        for (uint32_t k = 0; k < task->demands.count; k++) open[k] = !own || task->demands.at[k].slots == (uint64_t)1 << slot;
        BoxAnswer answer = box_ask(hand, clusters, open, (uint64_t)1 << slot, false);
        if (!answer.out) {
            for (uint32_t k = 0; k < cluster->count; k++) rows[left++] = tree->order[cluster->first + k];
        } else if (own) {
            drop(arena, task, hand, slot, clusters, &answer);
        } else {
            miss_box(result, task, clusters, task->demands.at[answer.demand].miss, cluster->count * others);
            result->covered += cluster->count * others;
        }
    }
    task->empty = task->empty || left == 0;
    if (left > 0 && left < tree->clusters.at[0].count) plant_tree(arena, task, slot, rows, left);
}

/* Cards that no others can save: first by themselves, then against all that is left in the other slots. */
static void sift(Arena *arena, BoxTask *task, BoxResult *result) {
    Arena *own = arena_open_beside(arena);
    BoxHand *hand = box_hand_open(own, task);
    for (uint32_t i = 0; i < task->request->slot_count; i++) {
        if (task->places[i]) sift_slot(arena, task, hand, i, true, result);
    }
    for (uint32_t i = 0; i < task->request->slot_count && task->failed == UINT32_MAX && !task->empty; i++) {
        if (task->places[i]) sift_slot(arena, task, hand, i, false, result);
    }
    box_hand_close(hand);
    arena_close(own);
}

bool box_task_open(Arena *arena, BoxTask *task, const BoxRequest *request, const Alternative *const *alternatives, BoxResult *result) {
    *task = (BoxTask){.request = request, .alternatives = alternatives, .failed = UINT32_MAX, .margin = NAN};
    task->places = ARENA_ARRAY(arena, uint32_t, request->slot_count);
    task->first_varied = ARENA_ARRAY(arena, uint32_t, request->slot_count + 1);
    task->trees = ARENA_ARRAY(arena, ClusterTree *, request->slot_count);
    PlanFilling *fillings = ARENA_ARRAY(arena, PlanFilling, request->slot_count);
    const CardGroup **groups = ARENA_ARRAY(arena, const CardGroup *, request->slot_count);
    uint32_t place_count = 0;
    for (uint32_t i = 0; i < request->slot_count; i++) {
        fillings[i] = (PlanFilling){.any = request->slots[i].any, .card = alternatives[i]->card};
        task->singles = task->singles || alternatives[i]->group == NULL;
        if (alternatives[i]->group == NULL) continue;
        groups[place_count] = alternatives[i]->group;
        task->places[i] = fillings[i].place = ++place_count;
    }
    PlanRequest plan = request->plan;
    plan.fillings = fillings;
    plan.filling_count = request->slot_count;
    task->program = mould_of_choice(arena, request->world, request->sources, request->model, plan, groups, place_count, request->errors);
    if (task->program == NULL) return false;
    for (uint32_t i = 1; i <= place_count; i++) {
        if (task->program->places.at[i].object == 0) return false; /* nothing asks for what stands there */
    }
    task->base = evaluate(arena, task->program);
    find_demands(arena, task, result);
    uint8_t *wanted = find_wanted(arena, task);
    find_slots(arena, task);
    find_cone(arena, task, wanted);
    find_varied(arena, task, wanted);
    for (uint32_t i = 0; i < request->slot_count; i++) {
        if (task->places[i] == 0) continue;
        uint32_t *rows = ARENA_ARRAY(arena, uint32_t, alternatives[i]->count);
        for (uint32_t k = 0; k < alternatives[i]->count; k++) rows[k] = k;
        plant_tree(arena, task, i, rows, alternatives[i]->count);
    }
    task->left = ARENA_ARRAY(arena, uint64_t, request->slot_count);
    for (uint32_t i = 0; i < request->slot_count; i++) task->left[i] = alternatives[i]->count;
    sift(arena, task, result);
    if (task->failed != UINT32_MAX && !task->empty) {
        uint32_t *whole = ARENA_ARRAY(arena, uint32_t, request->slot_count);
        uint64_t sets = 1;
        for (uint32_t i = 0; i < request->slot_count; i++) sets *= task->places[i] ? task->trees[i]->clusters.at[0].count : 1;
        miss_box(result, task, whole, task->failed, sets);
        result->covered += sets;
        task->empty = true;
    }
    return true;
}

/* ---- at work ------------------------------------------------------------------------------------------------------- */

BoxHand *box_hand_open(Arena *arena, const BoxTask *task) {
    const Program *program = task->program;
    BoxHand *hand = ARENA_NEW(arena, BoxHand);
    hand->task = task;
    hand->arena = arena;
    hand->values = arena_open_beside(arena);
    hand->rooms = arena_open_beside(arena);
    hand->base = *task->base;
    hand->base.seen = ARENA_ARRAY(arena, uint32_t, program->steps.count);
    hand->base.reached = ARENA_ARRAY(arena, StepId, program->steps.count);
    hand->base.searches = 0;
    hand->coarse = range_open(arena, &hand->base, task->varied, task->varied_count, COARSE_PIECES);
    hand->fine = range_open(arena, &hand->base, task->varied, task->varied_count, FINE_PIECES);
    hand->variation = variation_open(arena, &hand->base);
    variation_take(hand->variation, hand->values, task->cone, task->cone_count);
    hand->inputs = ARENA_ARRAY(arena, double, program->constants.count);
    memcpy(hand->inputs, task->base->inputs, program->constants.count * sizeof *hand->inputs);
    hand->lows = ARENA_ARRAY(arena, double, task->varied_count);
    hand->highs = ARENA_ARRAY(arena, double, task->varied_count);
    hand->flags = arena_take(arena, task->varied_count);
    hand->order = ARENA_ARRAY(arena, uint32_t, task->demands.count);
    hand->judge_order = ARENA_ARRAY(arena, uint32_t, task->demands.count);
    box_hand_forget(hand);
    hand->judge = (Judge){.arena = hand->rooms, .program = program, .model = program->model, .evaluation = hand->variation->now, .silent = true};
    return hand;
}

void box_hand_forget(BoxHand *hand) {
    for (uint32_t i = 0; i < hand->task->demands.count; i++) hand->order[i] = hand->judge_order[i] = i;
}

void box_hand_close(BoxHand *hand) {
    arena_close(hand->values);
    arena_close(hand->rooms);
}

static void take_box(BoxHand *hand, const uint32_t *clusters) {
    const BoxTask *task = hand->task;
    for (uint32_t i = 0; i < task->request->slot_count; i++) {
        if (task->places[i] == 0) continue;
        const Cluster *cluster = &task->trees[i]->clusters.at[clusters[i]];
        uint32_t first = task->first_varied[i], count = task->trees[i]->fact_count;
        memcpy(hand->lows + first, cluster->lows, count * sizeof *hand->lows);
        memcpy(hand->highs + first, cluster->highs, count * sizeof *hand->highs);
        memcpy(hand->flags + first, cluster->flags, count);
    }
}

BoxAnswer box_ask(BoxHand *hand, const uint32_t *clusters, uint8_t *open, uint64_t changed, bool fine) {
    const BoxTask *task = hand->task;
    Range *range = fine ? hand->fine : hand->coarse;
    take_box(hand, clusters);
    range_run(range, hand->lows, hand->highs, hand->flags);
    double share = INFINITY;
    for (uint32_t k = 0; k < task->demands.count; k++) {
        uint32_t demand = hand->order[k];
        if (!open[demand] || !(task->demands.at[demand].slots & changed)) continue;
        RangeAnswer answer = range_judged(range, task->demands.at[demand].judged);
        open[demand] = answer.verdict == RANGE_MAYBE;
        if (answer.verdict == RANGE_MAYBE) share = fmin(share, answer.share);
        if (answer.verdict != RANGE_FAILS) continue;
        memmove(hand->order + 1, hand->order, k * sizeof *hand->order);
        hand->order[0] = demand;
        return (BoxAnswer){true, demand, answer.share};
    }
    return (BoxAnswer){false, 0, share};
}

/* ---- one set, exactly ----------------------------------------------------------------------------------------------- */

static void take_miss(BoxVerdict *verdict, double share) {
    bool first = verdict->works;
    verdict->works = false;
    verdict->misses++;
    if (isnan(share)) verdict->violation = NAN;
    else if (first || share < verdict->violation) verdict->violation = share;
}

BoxVerdict box_judge(BoxHand *hand, const uint32_t *rows, double enough) {
    const BoxTask *task = hand->task;
    const Program *program = task->program;
    BoxVerdict verdict = {.works = true, .margin = task->margin, .criterion = NAN, .unheeded = task->unheeded};
    for (uint32_t i = 0; i < task->request->slot_count; i++) {
        if (task->places[i] != 0) mould_fill(program, hand->inputs, task->places[i], rows[i]);
    }
    arena_clear(hand->rooms);
    variation_note(hand->variation, hand->inputs);
    for (uint32_t k = 0; k < task->demands.count; k++) {
        uint32_t number = hand->judge_order[k];
        const Demand *demand = &task->demands.at[number];
        Outcome outcome;
        variation_catch_up(hand->variation, demand->cone, demand->cone_count);
        Standing standing = standing_of(&hand->judge, &program->judged.at[demand->judged], &outcome);
        if (standing == STANDS && demand->of_axis && !isnan(outcome.share)) {
            verdict.margin = isnan(verdict.margin) ? outcome.share : fmin(verdict.margin, outcome.share);
        }
        if (standing != MISSED) continue;
        if (verdict.works) verdict.demand = number;
        take_miss(&verdict, violation_of(program, &outcome));
        if (verdict.violation >= enough) continue;
        memmove(hand->judge_order + 1, hand->judge_order, k * sizeof *hand->judge_order);
        hand->judge_order[0] = number;
        return verdict;
    }
    if (!verdict.works) return verdict;
    variation_catch_up(hand->variation, task->cone, task->cone_count);
    for (uint32_t k = 0; k < task->advice.count; k++) {
        Outcome outcome;
        if (standing_of(&hand->judge, &program->judged.at[task->advice.at[k].judged], &outcome) == MISSED && outcome.state == OUTCOME_FAILS) verdict.unheeded++;
    }
    const Computed *ranked = program->ranked.class == OPERAND_VALUE ? &hand->variation->now->values[program->ranked.step] : NULL;
    if (ranked != NULL && ranked->state == COMPUTED_NUMBER) verdict.criterion = ranked->number;
    return verdict;
}
