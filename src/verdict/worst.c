/* Worst cases: where within the stated bounds a condition is tightest, and what eats its margin.
 *
 * The search goes to the corner that the gradient at the nominal values points to, evaluates it, and goes on with the
 * gradient there until no input would be moved any more. Inputs whose gradient turns on the way, or is nought, are searched
 * inside their bounds as well. What is reported has been evaluated; nothing is extrapolated. */
#include <math.h>
#include <stdlib.h>

#include "verdict/judge.h"

enum { CORNER_PASS_LIMIT = 12, INSIDE_SAMPLES = 9, INSIDE_PASSES = 20, ROUND_LIMIT = 12, STRIDE_LIMIT = 1 << 12, ALL_CORNERS = 4, PROBES = 8, PROBES_ROUGH = 24, EATER_LIMIT = 8, TURNING_LIMIT = 3, TURNING_PASSES = 5 };

/* Turning points are looked for where the worst case leaves less than this of the limit. */
static const double turning_band = 0.25;

typedef struct KnownWorst KnownWorst;

typedef struct Input {
    StepId step;
    uint32_t constant;
    double nominal, low, high;
    double worst;     /* where the search has put it */
    double slope;     /* of the margin, at the nominal values */
    double slope_there;
    bool turns;       /* its slope changes sign, or is nought somewhere */
    bool idle;        /* it was found to have no part here */
    bool held;        /* it is at its lowest inside */
} Input;

typedef struct Search {
    Judge *judge;
    Arena *scratch;
    Input *inputs;
    uint32_t count;
    StepId *cone;
    uint32_t cone_count;
    double *values;   /* by constant */
    Outcome worst;    /* of the whole condition */
    double *best;     /* by input: where the worst was found */
    double lowest;    /* score of the part, and by input where it was found */
    double *lowest_at;
    double *slopes_at; /* by input: where slope_there was found, for this leaf; 0: nowhere yet */
    uint32_t slopes_of;
    uint32_t nominal_of; /* the leaf whose slopes at the nominal values are in `slope` */
} Search;

/* ---- the part of the program that matters ------------------------------------------------------------------------ */

static int by_number(const void *a, const void *b) {
    StepId x = *(const StepId *)a, y = *(const StepId *)b;
    return x < y ? -1 : x > y;
}

typedef VECTOR(StepId) StepVector;

static void gather_cone(Search *search, StepVector *steps, uint32_t index) {
    const Condition *condition = &search->judge->program->conditions.at[index];
    for (uint32_t i = 0; i < condition->child_count; i++) gather_cone(search, steps, condition->children[i]);
    if (condition->truth == 0) return;
    Reach reach = evaluation_reach(search->judge->evaluation, condition->truth, use_can_differ);
    for (uint32_t i = 0; i < reach.count; i++) VECTOR_PUSH(search->scratch, steps, reach.steps[i]);
}

static uint32_t sort_once(StepVector *steps) {
    qsort(steps->at, steps->count, sizeof *steps->at, by_number);
    uint32_t used = 0;
    for (uint32_t i = 0; i < steps->count; i++) {
        if (used == 0 || steps->at[used - 1] != steps->at[i]) steps->at[used++] = steps->at[i];
    }
    steps->count = used;
    return used;
}

static void find_cone(Search *search, uint32_t condition) {
    const Program *program = search->judge->program;
    StepVector steps = {0};
    gather_cone(search, &steps, condition);
    uint32_t count = sort_once(&steps);
    for (uint32_t i = 0; i < count; i++) { /* a fixed point runs its whole loop */
        const Step *step = &program->steps.at[steps.at[i]];
        if (step->kind != STEP_SETTLE) continue;
        for (StepId s = step->a; s < steps.at[i]; s++) {
            if (search->judge->evaluation->bounded[s]) VECTOR_PUSH(search->scratch, &steps, s);
        }
    }
    search->cone_count = sort_once(&steps);
    search->cone = steps.at;
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

/* ---- trying ------------------------------------------------------------------------------------------------------ */

/* Outcome of a condition with the inputs where `worst` puts them. Where they have not moved since the last try, the values
 * are still there. */
static Outcome try_out(Search *search, uint32_t condition) {
    Judge *judge = search->judge;
    bool moved = false;
    for (uint32_t i = 0; i < search->count; i++) {
        double *value = &search->values[search->inputs[i].constant];
        moved = moved || *value != search->inputs[i].worst;
        *value = search->inputs[i].worst;
    }
    if (moved) variation_run(judge->variation, search->values);
    Evaluation *before = judge->evaluation;
    judge->evaluation = judge->variation->now;
    Outcome outcome = judge_condition(judge, condition);
    judge->evaluation = before;
    return outcome;
}

/* Tries the whole condition there, and keeps it when it is the worst so far. */
static Outcome try_whole(Search *search, uint32_t whole) {
    Outcome outcome = try_out(search, whole);
    if (outcome_graver(&outcome, &search->worst)) {
        search->worst = outcome;
        for (uint32_t i = 0; i < search->count; i++) search->best[i] = search->inputs[i].worst;
    }
    return outcome;
}

/* The gradient at the nominal values serves every condition that the input has a part in, and is found once. */
static void take_nominal(Judge *judge, Arena *scratch, const Input *input) {
    KeptGradient *kept = &judge->kept[input->constant];
    if (kept->count == 0) {
        StepId *all;
        uint32_t count = users_all(judge->users, judge->result->arena, input->step, &all);
        gradient_run(judge->gradient, judge->result->arena, judge->variation->base, all, count, input->step, 1);
        *kept = gradient_keep(judge->gradient, judge->result->arena);
    }
    gradient_load(judge->gradient, scratch, judge->variation->base, kept);
}

/* Slope of the margin of the comparison that decided, for each input, at the values of the latest try (or the nominal ones).
 * In SI, per SI unit of the input. */
static void find_slopes(Search *search, const Outcome *outcome, const Evaluation *evaluation, bool at_nominal) {
    Judge *judge = search->judge;
    const Condition *leaf = &judge->program->conditions.at[outcome->leaf];
    bool less = leaf->compare == SIGNAL_LESS || leaf->compare == SIGNAL_AT_MOST;
    StepId x = less ? leaf->right : leaf->left, y = less ? leaf->left : leaf->right;
    bool known = search->slopes_of == outcome->leaf;
    for (uint32_t i = 0; i < search->count && known; i++) known = search->slopes_at[i] == search->inputs[i].worst;
    if (known) return;
    search->slopes_of = outcome->leaf;
    if (at_nominal) search->nominal_of = outcome->leaf;
    for (uint32_t i = 0; i < search->count; i++) search->slopes_at[i] = search->inputs[i].worst;
    for (uint32_t i = 0; i < search->count; i++) {
        Input *input = &search->inputs[i];
        arena_clear(judge->for_slopes);
        if (at_nominal) take_nominal(judge, judge->for_slopes, input);
        else gradient_run(judge->gradient, judge->for_slopes, evaluation, search->cone, search->cone_count, input->step, 1);
        double slope = gradient_at(judge->gradient, x, y, outcome->room, outcome->tight);
        if (!isfinite(slope)) slope = 0;
        if (at_nominal) input->slope = slope;
        input->slope_there = slope;
    }
}

/* The bound that makes the margin smaller; where the slope is nought the input stays. */
static bool go_down(Search *search) {
    bool moved = false;
    for (uint32_t i = 0; i < search->count; i++) {
        Input *input = &search->inputs[i];
        if (input->held) continue;
        double to = input->slope_there > 0 ? input->low : input->slope_there < 0 ? input->high : input->worst;
        if ((input->slope > 0) != (input->slope_there > 0) || (input->slope < 0) != (input->slope_there < 0)) input->turns = true;
        if (to != input->worst) moved = true;
        input->worst = to;
    }
    return moved;
}

static double score(const Outcome *outcome) {
    if (outcome->state == OUTCOME_UNCOMPUTED || outcome->state == OUTCOME_UNKNOWN) return -INFINITY;
    if (!isnan(outcome->absolute)) return outcome->absolute;
    return outcome->state == OUTCOME_HOLDS ? 1 : -1;
}

static double score_at(Search *search, uint32_t part, uint32_t whole, Input *input, double value) {
    input->worst = value;
    Outcome outcome = try_out(search, part);
    if (part == whole && outcome_graver(&outcome, &search->worst)) {
        search->worst = outcome;
        for (uint32_t i = 0; i < search->count; i++) search->best[i] = search->inputs[i].worst;
    }
    return score(&outcome);
}

/* The part there, and the whole condition with it. */
static Outcome try_whole_and_part(Search *search, uint32_t part, uint32_t whole) {
    if (part == whole) return try_whole(search, whole);
    Outcome here = try_out(search, part);
    try_whole(search, whole);
    return here;
}

static void keep_lowest(Search *search, double now) {
    if (!(now < search->lowest)) return;
    search->lowest = now;
    for (uint32_t i = 0; i < search->count; i++) search->lowest_at[i] = search->inputs[i].worst;
}

static void go_to_lowest(Search *search) {
    for (uint32_t i = 0; i < search->count; i++) search->inputs[i].worst = search->lowest_at[i];
}

/* One input inside its bounds, the others where they are: samples, then golden sections around the lowest. */
static void search_inside(Search *search, uint32_t part, uint32_t whole, Input *input) {
    static const double golden = 0.6180339887498949;
    double width = input->high - input->low, lowest = INFINITY, at = input->worst, values[INSIDE_SAMPLES];
    int lowest_index = 0;
    Outcome here = try_out(search, part);
    bool flat = true; /* most inputs whose slope is nought have no part in it at all */
    for (int k = 0; k < 4 && flat; k++) flat = score_at(search, part, whole, input, input->low + width * k / 3) == score(&here);
    input->worst = at;
    input->idle = flat;
    if (flat) return;
    for (int k = 0; k < INSIDE_SAMPLES; k++) {
        double value = input->low + width * k / (INSIDE_SAMPLES - 1);
        values[k] = score_at(search, part, whole, input, value);
        if (values[k] < lowest) lowest = values[k], at = value, lowest_index = k;
    }
    double step = width / (INSIDE_SAMPLES - 1), a = fmax(at - step, input->low), b = fmin(at + step, input->high);
    if (isfinite(lowest) && (lowest_index == 0 || lowest_index == INSIDE_SAMPLES - 1)) { /* does it fall from the bound inwards? */
        double near = lowest_index == 0 ? input->low + 1e-3 * step : input->high - 1e-3 * step;
        if (score_at(search, part, whole, input, near) >= lowest) a = b;
    }
    if (isfinite(lowest) && a < b) {
        double c = b - golden * (b - a), d = a + golden * (b - a);
        double fc = score_at(search, part, whole, input, c), fd = score_at(search, part, whole, input, d);
        for (int pass = 0; pass < INSIDE_PASSES; pass++) {
            if (fc < fd) {
                b = d, d = c, fd = fc;
                c = b - golden * (b - a);
                fc = score_at(search, part, whole, input, c);
            } else {
                a = c, c = d, fc = fd;
                d = a + golden * (b - a);
                fd = score_at(search, part, whole, input, d);
            }
        }
        if (fc < lowest) lowest = fc, at = c;
        if (fd < lowest) at = d;
    }
    input->worst = at;
    input->held = at > input->low && at < input->high;
}

/* Each input by itself at its bounds: for conditions that have no margin to follow. */
static void try_each_bound(Search *search, uint32_t whole) {
    for (uint32_t i = 0; i < search->count; i++) {
        for (int side = 0; side < 2; side++) {
            search->inputs[i].worst = side ? search->inputs[i].high : search->inputs[i].low;
            try_whole(search, whole);
        }
        search->inputs[i].worst = search->inputs[i].nominal;
    }
    for (int side = 0; side < 2; side++) {
        for (uint32_t i = 0; i < search->count; i++) search->inputs[i].worst = side ? search->inputs[i].high : search->inputs[i].low;
        try_whole(search, whole);
    }
}

/* Downhill from where the inputs are, corner by corner. False where it came upon a place without a value, which is the
 * worst there is. */
static bool descend(Search *search, uint32_t part, uint32_t whole, Outcome here) {
    double lowest = score(&here);
    for (int pass = 0; pass < CORNER_PASS_LIMIT && go_down(search); pass++) {
        here = try_whole_and_part(search, part, whole);
        double now = score(&here);
        if (here.leaf == 0 || !isfinite(now)) return false;
        keep_lowest(search, now);
        if (now >= lowest && pass > 0) break;
        lowest = fmin(lowest, now);
        find_slopes(search, &here, search->judge->variation->now, false);
    }
    return true;
}

/* Most inputs whose slope is nought have no part in the condition where the others are now. Moved all at once, to their bounds
 * and between them, they would show it. */
static void find_idle(Search *search, uint32_t part, uint32_t whole) {
    static const double shares[3][2] = {{0, 1}, {1, 0}, {0.3, 0.7}};
    uint32_t suspects = 0;
    bool idle = true;
    for (uint32_t i = 0; i < search->count; i++) {
        Input *input = &search->inputs[i];
        input->idle = input->turns && input->slope_there == 0;
        suspects += input->idle;
    }
    if (suspects == 0) return;
    Outcome here = try_out(search, part);
    for (int k = 0; k < 3 && idle; k++) {
        for (uint32_t i = 0; i < search->count; i++) {
            Input *input = &search->inputs[i];
            if (input->idle) input->worst = input->low + shares[k][i % 2] * (input->high - input->low);
        }
        Outcome there = try_whole_and_part(search, part, whole);
        keep_lowest(search, score(&there));
        idle = score(&there) == score(&here);
    }
    go_to_lowest(search);
    for (uint32_t i = 0; i < search->count && !idle; i++) search->inputs[i].idle = false;
}

/* On in the direction of the latest round, in longer and longer strides: one input after another goes down a valley that lies
 * across them only in small steps. */
static void stride(Search *search, uint32_t part, uint32_t whole, const double *from) {
    double *direction = ARENA_ARRAY(search->scratch, double, search->count), *start = ARENA_ARRAY(search->scratch, double, search->count);
    uint32_t moving = 0;
    for (uint32_t i = 0; i < search->count; i++) {
        start[i] = search->lowest_at[i];
        direction[i] = start[i] - from[i];
        moving += direction[i] != 0;
    }
    for (double length = 1; moving > 1 && length < STRIDE_LIMIT; length *= 2) {
        double before = search->lowest;
        for (uint32_t i = 0; i < search->count; i++) {
            Input *input = &search->inputs[i];
            input->worst = fmin(fmax(start[i] + length * direction[i], input->low), input->high);
        }
        Outcome here = try_whole_and_part(search, part, whole);
        keep_lowest(search, score(&here));
        if (!(search->lowest < before)) break;
    }
    go_to_lowest(search);
}

/* From where the inputs are: downhill, then inside for those that turn, and again while that finds anything lower. */
static void search_from(Search *search, uint32_t part, uint32_t whole, Outcome here) {
    double *from = ARENA_ARRAY(search->scratch, double, search->count);
    for (uint32_t i = 0; i < search->count; i++) search->inputs[i].held = false;
    for (int round = 0; round < ROUND_LIMIT; round++) {
        if (!descend(search, part, whole, here)) return;
        go_to_lowest(search);
        double before = search->lowest;
        for (uint32_t i = 0; i < search->count; i++) from[i] = search->lowest_at[i];
        find_idle(search, part, whole);
        for (uint32_t i = 0; i < search->count; i++) {
            if (search->inputs[i].turns && !search->inputs[i].idle) search_inside(search, part, whole, &search->inputs[i]);
        }
        here = try_whole_and_part(search, part, whole);
        keep_lowest(search, score(&here));
        if (search->lowest < before && isfinite(search->lowest)) {
            stride(search, part, whole, from);
            here = try_whole_and_part(search, part, whole);
        }
        if (here.leaf == 0 || !isfinite(score(&here))) return;
        keep_lowest(search, score(&here));
        if (!(search->lowest < before - 1e-9 * fabs(before))) return;
        find_slopes(search, &here, search->judge->variation->now, false);
    }
}

/* A corner, or now and then (`inside`: often) a point inside, without order but the same in every run. */
static void go_anywhere(Search *search, uint64_t *state, bool inside) {
    for (uint32_t i = 0; i < search->count; i++) {
        Input *input = &search->inputs[i];
        *state ^= *state << 13, *state ^= *state >> 7, *state ^= *state << 17;
        double share = (double)(*state >> 11) / 9007199254740992.0;
        if (*state % (inside ? 2 : 4) != 0) share = *state >> 8 & 1 ? 1 : 0;
        input->worst = input->low + share * (input->high - input->low);
    }
}

static void go_to_corner(Search *search, uint32_t corner) {
    for (uint32_t i = 0; i < search->count; i++) search->inputs[i].worst = corner >> i & 1 ? search->inputs[i].high : search->inputs[i].low;
}

/* Goes down from elsewhere too, where it is lower there than all that was found: a largest or smallest of several things has
 * several lowest corners. Of few inputs all corners are looked at; where the margin turns, more places inside as well. */
static void search_elsewhere(Search *search, uint32_t part, uint32_t whole) {
    uint64_t state = 88172645463325252u;
    uint32_t corners = search->count <= ALL_CORNERS ? 1u << search->count : 0, places = corners > 0 ? corners : PROBES;
    bool rough = false;
    for (uint32_t i = 0; i < search->count; i++) rough = rough || (search->inputs[i].turns && !search->inputs[i].idle);
    if (rough) places = corners + PROBES_ROUGH;
    for (uint32_t place = 0; place < places; place++) {
        if (place < corners) go_to_corner(search, place);
        else go_anywhere(search, &state, rough);
        Outcome here = try_whole_and_part(search, part, whole);
        double now = score(&here);
        if (here.leaf == 0 || !isfinite(now)) return;
        if (!(now < search->lowest - 1e-9 * fabs(search->lowest))) continue;
        keep_lowest(search, now);
        find_slopes(search, &here, search->judge->variation->now, false);
        search_from(search, part, whole, here);
    }
}

/* Follows one part of the condition (a comparison, or an `or` of several) downhill. */
static void search_part(Search *search, uint32_t part, uint32_t whole) {
    Judge *judge = search->judge;
    for (uint32_t i = 0; i < search->count; i++) {
        search->inputs[i].worst = search->inputs[i].nominal;
        search->inputs[i].turns = search->inputs[i].idle = false;
    }
    Outcome here = try_out(search, part);
    if (here.leaf == 0 || (here.state != OUTCOME_HOLDS && here.state != OUTCOME_FAILS)) {
        try_each_bound(search, whole);
        return;
    }
    find_slopes(search, &here, judge->variation->now, true);
    for (uint32_t i = 0; i < search->count; i++) search->inputs[i].turns = search->inputs[i].slope == 0;
    search->lowest = INFINITY;
    keep_lowest(search, score(&here));
    search_from(search, part, whole, here);
    search_elsewhere(search, part, whole);
}

static void search_parts(Search *search, uint32_t index, uint32_t whole) {
    const Condition *condition = &search->judge->program->conditions.at[index];
    if (condition->kind == CONDITION_ALL) {
        for (uint32_t i = 0; i < condition->child_count; i++) search_parts(search, condition->children[i], whole);
    } else {
        search_part(search, index, whole);
    }
}

/* ---- conditions that ask the same ---------------------------------------------------------------------------------- */

/* A limit that has no bounds moves the margin, and not the place where it is smallest. */
struct KnownWorst {
    StepId left, right; /* right: 0 for any number without bounds */
    bool less;
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
        search->best[i] = known->inputs[i].worst;
    }
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
    question.before = search->judge->known;
    search->judge->known = ARENA_NEW(arena, KnownWorst);
    *search->judge->known = question;
}

/* ---- what to say of it ------------------------------------------------------------------------------------------- */

static bool holds_span(Judge *judge, NodeId node, Span span) {
    if (node == 0) return false;
    Span whole = tree_node(judge->model->tree, node)->span;
    return whole.start <= span.start && span.end <= whole.end;
}

/* What of a segment a number was written for: exchange.press.thrust, exchange.lower.duration, exchange, segment 2, duration. */
static Text name_in_segment(Judge *judge, const PlanCycle *cycle, uint32_t index, Span span) {
    const Tree *tree = judge->model->tree;
    const PlanSegment *segment = &cycle->segments.at[index];
    const Node *node = tree_node(tree, segment->node);
    Text field = node->op == SEGMENT_MOVE ? TEXT("distance") : node->op == SEGMENT_HOLD ? TEXT("duration") : TEXT("speed");
    for (NodeId option = node->b; option != 0; option = tree_node(tree, option)->next) {
        if (!holds_span(judge, tree_node(tree, option)->a, span)) continue;
        OptionKind kind = (OptionKind)tree_node(tree, option)->op;
        field = kind == OPTION_SPEED ? TEXT("speed") : kind == OPTION_ACCELERATION ? TEXT("acceleration") : kind == OPTION_DECELERATION ? TEXT("deceleration")
              : kind == OPTION_JERK ? TEXT("jerk") : kind == OPTION_BY ? TEXT("law") : TEXT("duration");
    }
    for (NodeId input = node->c; input != 0; input = tree_node(tree, input)->next) {
        if (holds_span(judge, tree_node(tree, input)->a, span)) field = model_name(judge->model, tree_node(tree, input)->name);
    }
    TextBuilder number = text_builder(judge->arena);
    text_add_count(&number, index + 1);
    Text parts[3] = {model_name(judge->model, cycle->name), segment->label ? model_name(judge->model, segment->label) : text_built(&number), field};
    return text_fill(judge->arena, segment->label ? TEXT("{0}.{1}.{2}") : TEXT("{2} of segment {1} of {0}"), parts, 3);
}

static Text name_in_cycle(Judge *judge, Span span) {
    const Program *program = judge->program;
    for (uint32_t c = 1; c < program->cycles.count; c++) {
        const PlanCycle *cycle = &program->cycles.at[c];
        for (uint32_t i = 0; i < cycle->segments.count; i++) {
            NodeId input = cycle->segments.at[i].node ? tree_node(judge->model->tree, cycle->segments.at[i].node)->c : 0;
            while (input != 0 && !holds_span(judge, tree_node(judge->model->tree, input)->a, span)) input = tree_node(judge->model->tree, input)->next;
            if (input != 0 || holds_span(judge, cycle->segments.at[i].node, span)) return name_in_segment(judge, cycle, i, span);
        }
    }
    return (Text){0};
}

Text name_of_constant(Judge *judge, StepId id, Measure *measure, UnitId *unit) {
    const Step *step = &judge->program->steps.at[id];
    const Object *object = &judge->program->objects.at[step->owner];
    *measure = measure_number();
    *unit = 0;
    const Text written = source_text(judge->result->sources, step->span), in_cycle = name_in_cycle(judge, step->span);
    if (in_cycle.length > 0) return in_cycle;
    if (step->owner == 0) return written;
    const Form *form = form_of(judge->model, object->form);
    for (uint32_t i = 0; i < form->members.count; i++) {
        const Member *member = &form->members.at[i];
        NodeId from = object->slots[i].stated ? object->slots[i].stated : member->formula;
        Span span = from ? tree_node(judge->model->tree, from)->span : (Span){0, 0};
        if (from == 0 || span.start > step->span.start || step->span.end > span.end) continue;
        if (member->type.class == TYPE_QUANTITY) *measure = measure_of_kind(judge->model->vocabulary, member->type.kind);
        *unit = member->shown;
        return object_slot_path(judge->program, judge->arena, step->owner, i);
    }
    return object->path;
}

/* The unit the author wrote it in, so that 24 V +5/-10 % is shown in V. */
static UnitId unit_of_constant(Judge *judge, StepId id, UnitId otherwise) {
    Text text = source_text(judge->result->sources, judge->program->steps.at[id].span);
    size_t start = 0, end;
    while (start < text.length && text.at[start] != ' ') start++;
    while (start < text.length && text.at[start] == ' ') start++;
    for (end = start; end < text.length && text.at[end] != ' '; end++) continue;
    Symbol symbol = symbol_find(judge->model->symbols, text_slice(text, start, end));
    if (end == start || symbol == 0 || text_is(text_slice(text, start, end), "±")) return otherwise;
    uint32_t messages = judge->messages->list.count, errors = judge->messages->errors;
    UnitId unit = vocabulary_unit(judge->model->vocabulary, symbol, (Span){0, 0});
    judge->messages->list.count = messages;
    judge->messages->errors = errors;
    return unit ? unit : otherwise;
}

static double turning_point(Search *search, uint32_t whole, uint32_t which, double margin) {
    Input *input = &search->inputs[which];
    double x0 = input->nominal, f0 = margin, x1 = input->nominal - margin / input->slope, width = input->high - input->low;
    for (uint32_t i = 0; i < search->count; i++) search->inputs[i].worst = search->inputs[i].nominal;
    for (int pass = 0; pass < TURNING_PASSES; pass++) {
        if (!isfinite(x1) || fabs(x1 - input->nominal) > 20 * width) return NAN;
        input->worst = x1;
        Outcome outcome = try_out(search, whole);
        double f1 = outcome.absolute;
        if (isnan(f1) || f1 == f0) return NAN;
        if (fabs(f1) <= 1e-9 * fabs(margin)) return x1;
        double x2 = x1 - f1 * (x1 - x0) / (f1 - f0);
        x0 = x1, f0 = f1, x1 = x2;
    }
    return fabs(f0) <= 1e-4 * fabs(margin) ? x1 : NAN;
}

typedef struct Loss {
    uint32_t input;
    double size;
} Loss;

static int by_loss(const void *a, const void *b) {
    const Loss *x = a, *y = b;
    if (x->size != y->size) return x->size > y->size ? -1 : 1;
    return x->input < y->input ? -1 : x->input > y->input;
}

static void add_eater(Search *search, Finding *finding, const Outcome *nominal, uint32_t which, double share, double turning) {
    Judge *judge = search->judge;
    const Input *input = &search->inputs[which];
    Vocabulary *vocabulary = judge->model->vocabulary;
    Measure measure;
    UnitId unit;
    Eater eater = {.path = name_of_constant(judge, input->step, &measure, &unit)};
    if (text_starts(eater.path, TEXT("reading"))) { /* of evidence: of the kind it is compared with */
        eater.path = TEXT("measured");
        measure = nominal->measure;
        unit = nominal->unit;
    }
    if (measure.kind == 0 && dimension_is_number(measure.dimension)) unit = 0;
    unit = unit_of_constant(judge, input->step, unit);
    if (measure.kind == 0 && unit != 0) measure = measure_of_unit(vocabulary, unit);
    eater.nominal = spell_value(vocabulary, judge->arena, input->nominal, measure, unit, SPELL_DIGITS);
    eater.worst = spell_value(vocabulary, judge->arena, search->best[which], measure, unit, SPELL_DIGITS);
    eater.inside = search->best[which] > input->low && search->best[which] < input->high;
    if (!isnan(share)) eater.share = spell_share(judge->arena, share);
    if (!isnan(turning)) eater.turning = spell_value(vocabulary, judge->arena, turning, measure, unit, SPELL_DIGITS);
    VECTOR_PUSH(judge->arena, &finding->eaters, eater);
}

/* Shares of the loss: the mean of an input's slope at the nominal values and at the corner, times how far it went. */
static void name_eaters(Search *search, Finding *finding, const Outcome *nominal, uint32_t whole) {
    Loss *losses = ARENA_ARRAY(search->scratch, Loss, search->count);
    double total = 0, squares = 0;
    for (uint32_t i = 0; i < search->count; i++) {
        const Input *input = &search->inputs[i];
        double moved = search->best[i] - input->nominal;
        double slope = 0.5 * (input->slope + input->slope_there);
        losses[i] = (Loss){i, fmax(-slope * moved, 0)};
        total += losses[i].size;
        double down = input->slope > 0 ? input->nominal - input->low : input->high - input->nominal;
        squares += input->slope * down * input->slope * down;
    }
    qsort(losses, search->count, sizeof *losses, by_loss);
    bool measured = !isnan(nominal->absolute);
    bool tight = finding->verdict != VERDICT_MET || isnan(finding->worst_share) || finding->worst_share < turning_band;
    for (uint32_t k = 0; k < search->count && k < EATER_LIMIT; k++) {
        uint32_t i = losses[k].input;
        if (search->best[i] == search->inputs[i].nominal) continue;
        if (measured && total > 0 && losses[k].size < 0.005 * total) continue;
        double share = measured && total > 0 ? losses[k].size / total : NAN, turning = NAN;
        if (measured && tight && k < TURNING_LIMIT && search->inputs[i].slope != 0) turning = turning_point(search, whole, i, nominal->absolute);
        add_eater(search, finding, nominal, i, share, turning);
    }
    if (!measured) return;
    Judge *judge = search->judge;
    double likely = nominal->absolute - sqrt(squares);
    double scale = isnan(nominal->share) || nominal->absolute == 0 ? NAN : nominal->share / nominal->absolute;
    finding->likely_margin = isnan(scale) ? spell_value(judge->model->vocabulary, judge->arena, likely, nominal->measure, nominal->unit, 3)
                                          : spell_share(judge->arena, likely * scale);
}

static void take_worst(Search *search, Finding *finding, uint32_t whole) {
    Judge *judge = search->judge;
    if (search->worst.leaf != 0 && search->nominal_of != search->worst.leaf) { /* another part was looked at last */
        for (uint32_t i = 0; i < search->count; i++) search->inputs[i].worst = search->inputs[i].nominal;
        Outcome nominal = try_out(search, search->worst.leaf);
        if (nominal.leaf != 0) find_slopes(search, &nominal, judge->variation->now, true);
    }
    for (uint32_t i = 0; i < search->count; i++) search->inputs[i].worst = search->best[i];
    judge->silent = false;
    Outcome worst = try_out(search, whole);
    Evaluation *before = judge->evaluation;
    judge->evaluation = judge->variation->now;
    if (worst.leaf != 0) find_slopes(search, &worst, judge->variation->now, false);
    finding->worst_found = text_copy(judge->arena, worst.found);
    finding->worst_exact = text_copy(judge->arena, worst.exact);
    finding->worst_limit = worst.limit;
    finding->worst_instant = worst.instant;
    finding->worst_share = worst.share;
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
    StepId *roots = ARENA_ARRAY(judge->arena, StepId, program->conditions.count);
    uint32_t count = 0;
    for (uint32_t i = 1; i < program->conditions.count; i++) {
        if (program->conditions.at[i].truth != 0) roots[count++] = program->conditions.at[i].truth;
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
    }
    Search search = {.judge = judge, .scratch = judge->for_search, .worst = *nominal};
    find_cone(&search, judged->shall);
    find_inputs(&search);
    if (search.count > 0) {
        uint32_t constants = judge->program->constants.count;
        if (judge->variation == NULL) {
            judge->variation = variation_open(judge->arena, judge->evaluation);
            judge->gradient = gradient_open(judge->arena, judge->program);
            judge->inputs = ARENA_ARRAY(judge->arena, double, constants);
            judge->users = open_users(judge);
            judge->kept = ARENA_ARRAY(judge->arena, KeptGradient, constants);
            for (uint32_t i = 0; i < constants; i++) judge->inputs[i] = judge->program->constants.at[i].nominal;
        }
        search.values = judge->inputs;
        variation_take(judge->variation, judge->for_values, search.cone, search.cone_count);
        Arena *lasting = judge->arena;
        judge->silent = true;
        judge->arena = search.scratch;
        if (!recall(&search, judged->shall)) {
            search_parts(&search, judged->shall, judged->shall);
            remember(&search, judged->shall);
        }
        judge->arena = lasting;
        finding->bounded_inputs = search.count;
        judge->result->bounded++;
        take_worst(&search, finding, judged->shall);
        judge->silent = true;
        name_eaters(&search, finding, nominal, judged->shall);
        judge->silent = false;
        for (uint32_t i = 0; i < search.count; i++) judge->inputs[search.inputs[i].constant] = search.inputs[i].nominal;
        gradient_release(judge->gradient); /* the cone goes with the scratch arena */
        variation_release(judge->variation);
    }
    arena_clear(judge->for_search);
}

void close_worst(Judge *judge) {
    arena_close(judge->for_search);
    arena_close(judge->for_values);
    arena_close(judge->for_slopes);
}
