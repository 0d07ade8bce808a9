/* The search goes to the corner that the gradient at the nominal values points to, evaluates it, and goes on with the gradient
 * there until no input would be moved any more. Inputs whose gradient turns on the way, or is nought, are searched inside their
 * bounds as well, and a few other places are tried in case it is worse there. What is reported has been evaluated; nothing is
 * extrapolated. */
#include "verdict/worst.h"

#include <math.h>

enum {
    CORNER_PASS_LIMIT = 12,
    INSIDE_SAMPLES = 9,
    INSIDE_PASSES = 20,   /* of the golden section */
    ROUND_LIMIT = 12,
    STRIDE_LIMIT = 1 << 12,
    ALL_CORNERS = 4,      /* inputs */
    PROBES = 8,           /* of the spots that all conditions share; where the margin turns, all */
    MANY_INPUTS = 48,     /* among so many, some spots more tell nothing */
    LINE_PLACES = 65,     /* of one input */
    LINE_ROUGH = 8,       /* every so-many-th first */
    GRID_PLACES = 9,      /* along each of two */
    WANDER_STARTS = 5,
    WANDER_TRIES = 80,    /* from each start, for each input */
    WANDER_INPUTS = 5
};

/* Where they have not moved since the last try, the values are still there. */
Outcome search_try(Search *search, uint32_t condition) {
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

static void keep_gravest(Search *search, const Outcome *outcome) {
    if (!outcome_graver(outcome, &search->worst)) return;
    search->worst = *outcome;
    for (uint32_t i = 0; i < search->count; i++) search->best[i] = search->inputs[i].worst;
}

/* Tries the whole condition there, and keeps it when it is the worst so far. */
static Outcome try_whole(Search *search, uint32_t whole) {
    Outcome outcome = search_try(search, whole);
    keep_gravest(search, &outcome);
    return outcome;
}

/* The gradient at the nominal values serves every condition that the input has a part in, and is found once. */
static const KeptGradient *kept_of(Judge *judge, const Input *input) {
    KeptGradient *kept = &judge->kept[input->constant];
    if (kept->count == 0) {
        StepId *all;
        gradient_release(judge->gradient);
        arena_clear(judge->for_slopes);
        uint32_t count = users_all(judge->users, judge->for_slopes, input->step, &all);
        gradient_run(judge->gradient, judge->for_slopes, judge->variation->base, all, count, input->step, 1);
        *kept = gradient_keep(judge->gradient, judge->result->arena);
        gradient_release(judge->gradient); /* its steps go with the arena */
    }
    return kept;
}

/* Elsewhere only what the condition rests on is run; and of that, what rests on the input. */
static void take_here(Search *search, const Evaluation *evaluation, const Input *input) {
    Judge *judge = search->judge;
    const KeptGradient *kept = kept_of(judge, input);
    StepId *steps = ARENA_ARRAY(judge->for_slopes, StepId, kept->count);
    uint32_t count = 0;
    for (uint32_t i = 0; i < kept->count; i++) {
        if (search->in_cone[kept->steps[i]]) steps[count++] = kept->steps[i];
    }
    gradient_run(judge->gradient, judge->for_slopes, evaluation, steps, count, input->step, 1);
}

void search_slopes(Search *search, const Outcome *outcome, const Evaluation *evaluation, bool at_nominal) {
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
    gradient_begin(judge->gradient, search->scratch);
    if (!at_nominal) {
        for (uint32_t i = 0; i < search->count; i++) kept_of(judge, &search->inputs[i]);
        gradient_begin(judge->gradient, search->scratch);
    }
    for (uint32_t i = 0; i < search->count; i++) {
        Input *input = &search->inputs[i];
        gradient_release(judge->gradient);
        arena_clear(judge->for_slopes);
        if (at_nominal) gradient_load(judge->gradient, judge->for_slopes, judge->variation->base, kept_of(judge, input), search->in_cone);
        else take_here(search, evaluation, input);
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
        if ((input->slope_first > 0) != (input->slope_there > 0) || (input->slope_first < 0) != (input->slope_there < 0)) input->turns = true;
        if (to != input->worst) moved = true;
        input->worst = to;
    }
    return moved;
}

/* Of two comparisons the verdict weighs the shares, see outcome_graver(): so does the search where it goes from one to the other. */
static double score(const Search *search, const Outcome *outcome) {
    if (outcome->state == OUTCOME_UNCOMPUTED || outcome->state == OUTCOME_UNKNOWN) return -INFINITY;
    if (search->by_share && !isnan(outcome->share)) return outcome->share;
    if (!isnan(outcome->absolute)) return outcome->absolute;
    return outcome->state == OUTCOME_HOLDS ? 1 : -1;
}

static double score_at(Search *search, uint32_t part, uint32_t whole, Input *input, double value) {
    input->worst = value;
    Outcome outcome = search_try(search, part);
    if (part == whole) keep_gravest(search, &outcome);
    return score(search, &outcome);
}

/* The part there, and the whole condition with it. */
static Outcome try_whole_and_part(Search *search, uint32_t part, uint32_t whole) {
    if (part == whole) return try_whole(search, whole);
    Outcome here = search_try(search, part);
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

/* One input between a and b, towards the lowest in between. */
static void golden_sections(Search *search, uint32_t part, uint32_t whole, Input *input, double a, double b, double *lowest, double *at) {
    static const double golden = 0.6180339887498949;
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
    if (fc < *lowest) *lowest = fc, *at = c;
    if (fd < *lowest) *lowest = fd, *at = d;
}

/* One input inside its bounds, the others where they are: samples, then golden sections around the lowest. */
static void search_inside(Search *search, uint32_t part, uint32_t whole, Input *input) {
    double width = input->high - input->low, lowest = INFINITY, at = input->worst, values[INSIDE_SAMPLES];
    int lowest_index = 0;
    Outcome here = search_try(search, part);
    bool flat = true; /* most inputs whose slope is nought have no part in it at all */
    for (int k = 0; k < 4 && flat; k++) flat = score_at(search, part, whole, input, input->low + width * k / 3) == score(search, &here);
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
    if (isfinite(lowest) && a < b) golden_sections(search, part, whole, input, a, b, &lowest, &at);
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
    double lowest = score(search, &here);
    for (int pass = 0; pass < CORNER_PASS_LIMIT && go_down(search); pass++) {
        here = try_whole_and_part(search, part, whole);
        double now = score(search, &here);
        if (here.leaf == 0 || !isfinite(now)) return false;
        keep_lowest(search, now);
        if (now >= lowest && pass > 0) break;
        lowest = fmin(lowest, now);
        search_slopes(search, &here, search->judge->variation->now, false);
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
    Outcome here = search_try(search, part);
    for (int k = 0; k < 3 && idle; k++) {
        for (uint32_t i = 0; i < search->count; i++) {
            Input *input = &search->inputs[i];
            if (input->idle) input->worst = input->low + shares[k][i % 2] * (input->high - input->low);
        }
        Outcome there = try_whole_and_part(search, part, whole);
        keep_lowest(search, score(search, &there));
        idle = score(search, &there) == score(search, &here);
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
        keep_lowest(search, score(search, &here));
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
        keep_lowest(search, score(search, &here));
        if (search->lowest < before && isfinite(search->lowest)) {
            stride(search, part, whole, from);
            here = try_whole_and_part(search, part, whole);
        }
        if (here.leaf == 0 || !isfinite(score(search, &here))) return;
        keep_lowest(search, score(search, &here));
        if (!(search->lowest < before - 1e-9 * fabs(before))) return;
        search_slopes(search, &here, search->judge->variation->now, false);
    }
}

/* From 0 to 1, without order but the same in every run. */
static double next_share(uint64_t *state) {
    *state ^= *state << 13, *state ^= *state >> 7, *state ^= *state << 17;
    return (double)(*state >> 11) / 9007199254740992.0;
}

/* At one of the bounds, or now and then (`inside`: often) between them. */
static double anywhere(uint64_t *state, double low, double high, bool inside) {
    double share = next_share(state);
    if (*state % (inside ? 2 : 4) != 0) share = *state >> 8 & 1 ? 1 : 0;
    return low + share * (high - low);
}

static void go_anywhere(Search *search, uint64_t *state) {
    for (uint32_t i = 0; i < search->count; i++) search->inputs[i].worst = anywhere(state, search->inputs[i].low, search->inputs[i].high, true);
}

/* Where the margins of an `or` are equal there is an edge: each input alone leads uphill from it, several together lead down
 * along it. So it goes on in steps without order, longer after a step that led down and shorter after one that did not. */
static void wander(Search *search, uint32_t part, uint32_t whole, uint64_t *state) {
    uint32_t tries = WANDER_TRIES * (search->count < WANDER_INPUTS ? search->count : WANDER_INPUTS);
    double reach = 0.5;
    for (uint32_t k = 0; k < tries; k++) {
        go_to_lowest(search);
        for (uint32_t i = 0; i < search->count; i++) {
            Input *input = &search->inputs[i];
            double step = 2 * next_share(state) - 1;
            if (*state % 2 == 0) input->worst = fmin(fmax(input->worst + reach * step * (input->high - input->low), input->low), input->high);
        }
        Outcome here = try_whole_and_part(search, part, whole);
        double now = score(search, &here);
        if (here.leaf == 0 || !isfinite(now)) return;
        reach = now < search->lowest ? fmin(2 * reach, 1) : 0.9 * reach;
        if (reach < 1e-6) return;
        keep_lowest(search, now);
    }
}

/* From the lowest place that was found, and from elsewhere. What is found is kept with the whole condition. */
static void wander_from_several(Search *search, uint32_t part, uint32_t whole) {
    uint64_t state = 88172645463325252u;
    for (int start = 0; start < WANDER_STARTS; start++) {
        if (start > 0) {
            go_anywhere(search, &state);
            Outcome here = try_whole_and_part(search, part, whole);
            search->lowest = INFINITY;
            keep_lowest(search, score(search, &here));
            if (here.leaf == 0 || !isfinite(search->lowest)) return;
        }
        wander(search, part, whole, &state);
    }
}

static void go_to_corner(Search *search, uint32_t corner) {
    for (uint32_t i = 0; i < search->count; i++) search->inputs[i].worst = corner >> i & 1 ? search->inputs[i].high : search->inputs[i].low;
}

/* The spots are the same for all conditions: each value with bounds is at one of them, and now and then (at the later spots:
 * often) between. */
static const double *inputs_of_spot(Judge *judge, uint32_t index) {
    const Program *program = judge->program;
    Arena *lasting = judge->result->arena;
    double *inputs = ARENA_ARRAY(lasting, double, program->constants.count);
    uint64_t state = 88172645463325252u + 0x9e3779b97f4a7c15u * index;
    for (uint32_t i = 0; i < 8; i++) next_share(&state);
    for (uint32_t i = 0; i < program->constants.count; i++) {
        const Constant *constant = &program->constants.at[i];
        inputs[i] = constant->low < constant->high ? anywhere(&state, constant->low, constant->high, index >= PROBES) : constant->nominal;
    }
    return inputs;
}

/* The part and the whole at one of the spots. */
static Outcome look_there(Search *search, uint32_t index, uint32_t part, uint32_t whole) {
    Judge *judge = search->judge;
    if (judge->spots[index] == NULL) judge->spots[index] = inputs_of_spot(judge, index);
    for (uint32_t i = 0; i < search->count; i++) search->inputs[i].worst = judge->spots[index][search->inputs[i].constant];
    return try_whole_and_part(search, part, whole);
}

/* On from a place where it may be lower than anywhere so far. False where there is no value, which is the worst there is. */
/* (`flat`: away from a margin that was flat, where the slopes begin anew.) */
static bool go_on_from(Search *search, uint32_t part, uint32_t whole, Outcome here, bool flat) {
    double now = score(search, &here);
    if (here.leaf == 0 || !isfinite(now)) return false;
    if (!(now < search->lowest - 1e-9 * fabs(search->lowest))) return true;
    here = try_whole_and_part(search, part, whole);
    keep_lowest(search, now);
    search_slopes(search, &here, search->judge->variation->now, false);
    for (uint32_t i = 0; i < search->count && flat; i++) {
        Input *input = &search->inputs[i];
        input->slope_first = input->slope_there;
        input->turns = input->slope_there == 0;
    }
    search_from(search, part, whole, here);
    return true;
}

/* Goes down from elsewhere too, where it is lower there than all that was found: a largest or smallest of several things has
 * several lowest corners. Of few inputs all corners are looked at; where the margin turns, more places inside as well. */
static void search_elsewhere(Search *search, uint32_t part, uint32_t whole) {
    uint32_t corners = search->count <= ALL_CORNERS ? 1u << search->count : 0, spots = corners > 0 ? 0 : PROBES;
    for (uint32_t i = 0; i < search->count && search->count <= MANY_INPUTS; i++) {
        if (search->inputs[i].turns && !search->inputs[i].idle && spots < SEARCH_SPOTS) spots += PROBES;
    }
    bool flat = true;
    for (uint32_t i = 0; i < search->count; i++) flat = flat && search->inputs[i].slope == 0;
    if (flat) { /* what is nought up to a point, as what is above a limit: where others are worst, it may have begun */
        for (uint32_t i = 0; i < search->count; i++) search->inputs[i].worst = search->judge->latest[search->inputs[i].constant];
        if (!go_on_from(search, part, whole, try_whole_and_part(search, part, whole), true)) return;
    }
    for (uint32_t corner = 0; corner < corners; corner++) {
        go_to_corner(search, corner);
        if (!go_on_from(search, part, whole, try_whole_and_part(search, part, whole), false)) return;
    }
    for (uint32_t spot = 0; spot < spots; spot++) {
        if (!go_on_from(search, part, whole, look_there(search, spot, part, whole), false)) return;
    }
}

/* ---- one or two inputs and nothing but numbers: everywhere --------------------------------------------------------- */

typedef struct Grid {
    uint32_t sides[2], count; /* places along each input, and altogether */
    double *scores;
} Grid;

static void go_to_place(Search *search, const Grid *grid, uint32_t place) {
    uint32_t along[2] = {place % grid->sides[0], place / grid->sides[0]};
    for (uint32_t i = 0; i < search->count; i++) {
        Input *input = &search->inputs[i];
        input->worst = input->low + (input->high - input->low) * along[i] / (grid->sides[i] - 1);
    }
}

/* Every `step`-th place along the first input. False: there is one without a value. */
static bool fill_grid(Search *search, uint32_t part, uint32_t whole, Grid *grid, uint32_t step) {
    for (uint32_t place = 0; place < grid->count; place += step) {
        go_to_place(search, grid, place);
        Outcome here = try_whole_and_part(search, part, whole);
        grid->scores[place] = score(search, &here);
        if (here.leaf == 0 || !isfinite(grid->scores[place])) return false;
        keep_lowest(search, grid->scores[place]);
    }
    return true;
}

static bool rises_or_falls(const Grid *grid, uint32_t step) {
    bool rises = true, falls = true;
    for (uint32_t place = step; place < grid->count; place += step) {
        rises = rises && grid->scores[place] > grid->scores[place - step];
        falls = falls && grid->scores[place] < grid->scores[place - step];
    }
    return rises || falls;
}

/* Is it lower there than around, and could what lies between go below all that was found? */
static bool promises(const Search *search, const Grid *grid, uint32_t place) {
    uint32_t x = place % grid->sides[0], y = place / grid->sides[0];
    double own = grid->scores[place], drop = 0;
    for (int side = 0; side < 4; side++) {
        if (side == 0 ? x == 0 : side == 1 ? x + 1 == grid->sides[0] : side == 2 ? y == 0 : y + 1 == grid->sides[1]) continue;
        uint32_t other = side == 0 ? place - 1 : side == 1 ? place + 1 : side == 2 ? place - grid->sides[0] : place + grid->sides[0];
        if (grid->scores[other] < own) return false;
        drop = fmax(drop, grid->scores[other] - own);
    }
    return own - drop < search->lowest - 1e-9 * fabs(search->lowest);
}

static void refine_place(Search *search, uint32_t part, uint32_t whole, const Grid *grid, uint32_t place) {
    go_to_place(search, grid, place);
    double lowest = grid->scores[place];
    for (uint32_t round = 0; round < search->count * search->count; round++) {
        Input *input = &search->inputs[round % search->count];
        double step = (input->high - input->low) / (grid->sides[round % search->count] - 1), at = input->worst;
        golden_sections(search, part, whole, input, fmax(at - step, input->low), fmin(at + step, input->high), &lowest, &at);
        input->worst = at;
    }
    Outcome here = try_whole_and_part(search, part, whole);
    keep_lowest(search, score(search, &here));
}

static void search_grid(Search *search, uint32_t part, uint32_t whole) {
    if (search->count > 2 || !search->numbers) return;
    bool line = search->count == 1;
    Grid grid = {.sides = {line ? LINE_PLACES : GRID_PLACES, line ? 1 : GRID_PLACES}};
    grid.count = grid.sides[0] * grid.sides[1];
    grid.scores = ARENA_ARRAY(search->scratch, double, grid.count);
    if (line && (!fill_grid(search, part, whole, &grid, LINE_ROUGH) || rises_or_falls(&grid, LINE_ROUGH))) return;
    if (!fill_grid(search, part, whole, &grid, 1)) return;
    for (uint32_t place = 0; place < grid.count; place++) {
        if (promises(search, &grid, place)) refine_place(search, part, whole, &grid, place);
    }
}

/* Follows one part of the condition (a comparison, or an `or` of several) downhill. */
static void search_part(Search *search, uint32_t part, uint32_t whole) {
    Judge *judge = search->judge;
    for (uint32_t i = 0; i < search->count; i++) {
        search->inputs[i].worst = search->inputs[i].nominal;
        search->inputs[i].turns = search->inputs[i].idle = false;
    }
    Outcome here = search_try(search, part);
    if (here.leaf == 0 || (here.state != OUTCOME_HOLDS && here.state != OUTCOME_FAILS)) {
        try_each_bound(search, whole);
        return;
    }
    search->by_share = judge->program->conditions.at[part].kind == CONDITION_ANY;
    search_slopes(search, &here, judge->variation->now, true);
    for (uint32_t i = 0; i < search->count; i++) {
        search->inputs[i].slope_first = search->inputs[i].slope;
        search->inputs[i].turns = search->inputs[i].slope == 0;
    }
    search->lowest = INFINITY;
    keep_lowest(search, score(search, &here));
    search_from(search, part, whole, here);
    search_elsewhere(search, part, whole);
    search_grid(search, part, whole);
    if (search->by_share) wander_from_several(search, part, whole);
}

static void search_parts(Search *search, uint32_t index, uint32_t whole) {
    const Condition *condition = &search->judge->program->conditions.at[index];
    if (condition->kind == CONDITION_ALL) {
        for (uint32_t i = 0; i < condition->child_count; i++) search_parts(search, condition->children[i], whole);
    } else {
        search_part(search, index, whole);
    }
}

void search_all(Search *search, uint32_t whole) { search_parts(search, whole, whole); }
