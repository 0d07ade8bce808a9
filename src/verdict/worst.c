/* Worst cases: where within the stated bounds a condition is tightest. */
#include "verdict/worst.h"

#include <math.h>

/* ---- the part of the program that matters ------------------------------------------------------------------------ */

/* Steps, each once. */
typedef struct StepSet {
    uint8_t *has; /* by step */
    uint32_t count;
} StepSet;

static void add_step(StepSet *set, StepId id) {
    set->count += !set->has[id];
    set->has[id] = 1;
}

static StepId *steps_of(Arena *arena, const StepSet *set) {
    StepId *steps = ARENA_ARRAY(arena, StepId, set->count);
    uint32_t count = 0;
    for (StepId id = 0; count < set->count; id++) {
        if (set->has[id]) steps[count++] = id;
    }
    return steps;
}

static void gather_from(Search *search, StepSet *set, StepId root) {
    Reach reach = evaluation_reach(search->judge->evaluation, root, use_can_differ);
    for (uint32_t i = 0; i < reach.count; i++) add_step(set, reach.steps[i]);
}

/* Of a comparison with a margin both sides are looked at, and not whether it holds. */
static bool has_sides(const Condition *condition) {
    return condition->kind == CONDITION_COMPARE && condition->choice == 0 && !condition->truths && condition->compare != SIGNAL_EQUAL && condition->compare != SIGNAL_UNEQUAL;
}

static void gather_cone(Search *search, StepSet *set, uint32_t index) {
    const Condition *condition = &search->judge->program->conditions.at[index];
    bool group = condition->kind == CONDITION_ALL || condition->kind == CONDITION_ANY;
    for (uint32_t i = 0; i < condition->child_count; i++) gather_cone(search, set, condition->children[i]);
    if (group || condition->truth == 0) return;
    if (has_sides(condition)) {
        gather_from(search, set, condition->left);
        gather_from(search, set, condition->right);
    } else {
        gather_from(search, set, condition->truth);
    }
}

static void find_cone(Search *search, uint32_t condition) {
    const Program *program = search->judge->program;
    const uint8_t *bounded = search->judge->evaluation->bounded;
    StepSet set = {arena_take(search->scratch, program->steps.count), 0};
    gather_cone(search, &set, condition);
    StepId *steps = steps_of(search->scratch, &set);
    uint32_t count = set.count;
    for (uint32_t i = 0; i < count; i++) { /* a fixed point runs its whole loop */
        const Step *step = &program->steps.at[steps[i]];
        for (StepId s = step->a; step->kind == STEP_SETTLE && s < steps[i]; s++) {
            if (bounded[s]) add_step(&set, s);
        }
    }
    search->cone = set.count == count ? steps : steps_of(search->scratch, &set);
    search->cone_count = set.count;
    search->in_cone = set.has;
    search->numbers = true;
    for (uint32_t i = 0; i < set.count; i++) {
        search->numbers = search->numbers && search->judge->evaluation->values[search->cone[i]].state != COMPUTED_SIGNAL;
    }
}

static void find_inputs(Search *search) {
    const Program *program = search->judge->program;
    search->inputs = ARENA_ARRAY(search->scratch, Input, search->cone_count);
    for (uint32_t i = 0; i < search->cone_count; i++) {
        const Step *step = &program->steps.at[search->cone[i]];
        if (step->kind != STEP_CONSTANT) continue;
        const Constant *constant = &program->constants.at[step->a];
        if (!(constant->low < constant->high)) continue;
        search->inputs[search->count++] = (Input){.step = search->cone[i], .constant = step->a, .nominal = constant->nominal,
                                                  .low = constant->low, .high = constant->high, .worst = constant->nominal};
    }
    search->best = ARENA_ARRAY(search->scratch, double, search->count);
    search->lowest_at = ARENA_ARRAY(search->scratch, double, search->count);
    search->slopes_at = ARENA_ARRAY(search->scratch, double, search->count);
    for (uint32_t i = 0; i < search->count; i++) search->best[i] = search->inputs[i].nominal;
}

/* ---- conditions that ask the same ---------------------------------------------------------------------------------- */

/* A limit that has no bounds moves the margin, and not the place where it is smallest. */
struct KnownWorst {
    StepId left, right; /* right: 0 for any number without bounds */
    bool less;
    bool sloped; /* `slope` and `slope_there` are those of this comparison, there */
    uint32_t count;
    const Input *inputs; /* with their slopes, and in `worst` where the smallest margin is */
    KnownWorst *before;
};

static KnownWorst question_of(const Search *search, uint32_t index) {
    const Condition *condition = &search->judge->program->conditions.at[index];
    const Evaluation *evaluation = search->judge->evaluation;
    if (condition->kind != CONDITION_COMPARE || condition->compare == SIGNAL_EQUAL || condition->compare == SIGNAL_UNEQUAL) return (KnownWorst){0};
    KnownWorst question = {.left = condition->left, .right = condition->right, .count = search->count};
    question.less = condition->compare == SIGNAL_LESS || condition->compare == SIGNAL_AT_MOST;
    if (evaluation->values[question.right].state == COMPUTED_NUMBER && !evaluation->bounded[question.right]) question.right = 0;
    return question;
}

static bool recall(Search *search, uint32_t index) {
    KnownWorst question = question_of(search, index);
    const KnownWorst *known = question.left != 0 ? search->judge->known : NULL;
    while (known && (known->left != question.left || known->right != question.right || known->less != question.less || known->count != question.count)) known = known->before;
    if (known == NULL) return false;
    for (uint32_t i = 0; i < search->count; i++) {
        if (known->inputs[i].step != search->inputs[i].step) return false;
    }
    for (uint32_t i = 0; i < search->count; i++) {
        search->inputs[i] = known->inputs[i];
        search->best[i] = search->slopes_at[i] = known->inputs[i].worst;
    }
    if (known->sloped) search->slopes_of = search->nominal_of = index;
    return true;
}

static void remember(Search *search, uint32_t index) {
    KnownWorst question = question_of(search, index);
    if (question.left == 0) return;
    Arena *arena = search->judge->result->arena;
    Input *inputs = ARENA_ARRAY(arena, Input, search->count);
    for (uint32_t i = 0; i < search->count; i++) {
        inputs[i] = search->inputs[i];
        inputs[i].worst = search->best[i];
    }
    question.inputs = inputs;
    question.sloped = search->nominal_of == index && search->slopes_of == index;
    for (uint32_t i = 0; i < search->count; i++) question.sloped = question.sloped && search->slopes_at[i] == search->best[i];
    question.before = search->judge->known;
    search->judge->known = ARENA_NEW(arena, KnownWorst);
    *search->judge->known = question;
}

/* ---- the answer -------------------------------------------------------------------------------------------------- */

static void take_worst(Search *search, Finding *finding, uint32_t whole) {
    Judge *judge = search->judge;
    if (search->worst.leaf != 0 && search->nominal_of != search->worst.leaf) { /* another part was looked at last */
        for (uint32_t i = 0; i < search->count; i++) search->inputs[i].worst = search->inputs[i].nominal;
        Outcome nominal = search_try(search, search->worst.leaf);
        if (nominal.leaf != 0) search_slopes(search, &nominal, judge->variation->now, true);
    }
    for (uint32_t i = 0; i < search->count; i++) search->inputs[i].worst = search->best[i];
    judge->silent = false;
    Outcome worst = search_try(search, whole);
    Evaluation *before = judge->evaluation;
    judge->evaluation = judge->variation->now;
    if (worst.leaf != 0) search_slopes(search, &worst, judge->variation->now, false);
    finding->worst_found = text_copy(judge->arena, worst.found);
    finding->worst_exact = text_copy(judge->arena, worst.exact);
    finding->worst_limit = worst.limit;
    finding->worst_instant = worst.instant;
    finding->worst_share = worst.share;
    finding->worst_kelvin = outcome_kelvin(&worst);
    if (!isnan(worst.absolute)) {
        finding->worst_margin_absolute = spell_value(judge->model->vocabulary, judge->arena, worst.absolute, worst.measure, worst.unit, 3);
    }
    finding->worst_margin = isnan(worst.share) ? finding->worst_margin_absolute : spell_share(judge->arena, worst.share);
    if (worst.state == OUTCOME_UNCOMPUTED && worst.trouble != 0) finding->worst_reason = why_without_value(judge, worst.trouble);
    judge->evaluation = before;
    judge->silent = true;
    if (finding->verdict == VERDICT_MET && worst.state != OUTCOME_HOLDS && worst.state != OUTCOME_UNKNOWN) finding->verdict = VERDICT_AT_RISK;
}

/* What all conditions together rest on. */
static Users *open_users(Judge *judge) {
    const Program *program = judge->program;
    StepId *roots = ARENA_ARRAY(judge->arena, StepId, 2 * program->conditions.count);
    uint32_t count = 0;
    for (uint32_t i = 1; i < program->conditions.count; i++) {
        const Condition *condition = &program->conditions.at[i];
        if (condition->truth == 0) continue;
        roots[count++] = has_sides(condition) ? condition->left : condition->truth;
        if (has_sides(condition)) roots[count++] = condition->right;
    }
    return users_open(judge->arena, judge->evaluation, roots, count);
}

void find_worst(Judge *judge, Finding *finding, const Judged *judged, const Outcome *nominal) {
    finding->worst_share = NAN;
    if (nominal->state != OUTCOME_HOLDS && nominal->state != OUTCOME_FAILS) return;
    if (judge->for_search == NULL) {
        judge->for_search = arena_open_beside(judge->arena);
        judge->for_values = arena_open_beside(judge->arena);
        judge->for_slopes = arena_open_beside(judge->arena);
        judge->for_tangents = arena_open_beside(judge->arena);
    }
    Search search = {.judge = judge, .scratch = judge->for_search, .worst = *nominal};
    find_cone(&search, judged->shall);
    find_inputs(&search);
    if (search.count > 0) {
        uint32_t constants = judge->program->constants.count;
        if (judge->variation == NULL) {
            judge->variation = variation_open(judge->arena, judge->evaluation);
            variation_recall(judge->variation, judge->arena, judge->for_values);
            judge->gradient = gradient_open(judge->arena, judge->program);
            gradient_recall(judge->gradient, judge->for_tangents);
            judge->inputs = ARENA_ARRAY(judge->arena, double, constants);
            judge->users = open_users(judge);
            judge->kept = ARENA_ARRAY(judge->arena, KeptGradient, constants);
            judge->latest = ARENA_ARRAY(judge->arena, double, constants);
            for (uint32_t i = 0; i < constants; i++) judge->latest[i] = judge->inputs[i] = judge->program->constants.at[i].nominal;
        }
        search.values = judge->inputs;
        variation_take(judge->variation, judge->for_values, search.cone, search.cone_count);
        Arena *lasting = judge->arena;
        judge->silent = true;
        judge->arena = search.scratch;
        bool known = recall(&search, judged->shall);
        if (!known) search_all(&search, judged->shall);
        judge->arena = lasting;
        finding->bounded_inputs = search.count;
        judge->result->bounded++;
        take_worst(&search, finding, judged->shall);
        if (!known) remember(&search, judged->shall);
        judge->silent = true;
        name_eaters(&search, finding, nominal, judged->shall);
        judge->silent = false;
        for (uint32_t i = 0; i < search.count; i++) {
            judge->inputs[search.inputs[i].constant] = search.inputs[i].nominal;
            if (search.best[i] != search.inputs[i].nominal) judge->latest[search.inputs[i].constant] = search.best[i];
        }
        gradient_release(judge->gradient); /* the cone goes with the scratch arena */
        variation_release(judge->variation);
    }
    arena_clear(judge->for_search);
}

void close_worst(Judge *judge) {
    arena_close(judge->for_search);
    arena_close(judge->for_values);
    arena_close(judge->for_slopes);
    arena_close(judge->for_tangents);
}
