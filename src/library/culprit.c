/* Which figure is wrong? A card whose figures disagree says the same thing twice, and differently; where it says it three
 * times, the odd one out can be told. For each stated figure: is there a value that brings all of the card into agreement
 * when nothing else is changed, and breaks no rule? The value comes from solving each disagreement for that figure; the
 * whole card is then judged anew with it. */
#include <math.h>

#include "compute/step.h"
#include "library/audit_card.h"

enum {
    CULPRIT_MOST = 3,   /* if more figures would do, none is named: nothing is known then */
    SOLVE_PASSES = 24,
    STEPS_MOST = 2000000 /* figures times steps: a card is small, and what is larger is not searched */
};

typedef struct Figure {
    ObjectId object;
    uint32_t slot;
    StepId step; /* the constant's */
    Written written;
} Figure;

typedef struct Trial {
    CardAtWork *work;
    double *inputs;
    VECTOR(uint32_t) disagreeing; /* in Program.judged, at the values as stated */
    uint8_t *before;              /* by judged: Standing as stated */
    uint32_t failed_before, broken_before;
    uint32_t broken, remarks;     /* of the latest mended() */
} Trial;

static void run_with(Trial *trial, StepId constant, double value) {
    CardAtWork *work = trial->work;
    uint32_t index = work->program->steps.at[constant].a;
    double stated = trial->inputs[index];
    trial->inputs[index] = value;
    for (StepId id = constant; id < work->program->steps.count; id++) work->evaluation->values[id] = run_step(work->evaluation, id);
    trial->inputs[index] = stated;
}

static uint32_t count_failed(const CardAtWork *work) {
    uint32_t failed = 0;
    for (uint32_t o = 0; o < work->object_count; o++) {
        const Object *object = &work->program->objects.at[work->objects[o]];
        uint32_t count = form_of(work->program->model, object->form)->members.count;
        for (uint32_t i = 0; i < count; i++) failed += work->evaluation->values[object->slots[i].operand.step].state == COMPUTED_FAILED;
    }
    return failed;
}

static const Judged *own_judged(const Trial *trial, uint32_t index) {
    const Judged *judged = &trial->work->program->judged.at[index];
    bool fits = judged->kind == JUDGED_RULE || judged->kind == JUDGED_AGREEMENT;
    return fits && card_owns(trial->work, judged->object) ? judged : NULL;
}

/* With the values as they are now: nothing disagrees, and nothing is broken that was not. */
static bool mended(Trial *trial) {
    Outcome outcome;
    trial->broken = trial->remarks = 0;
    for (uint32_t k = 0; k < trial->disagreeing.count; k++) { /* the quickest no */
        Standing now = card_standing(trial->work, own_judged(trial, trial->disagreeing.at[k]), &outcome);
        if (now != STANDING_HOLDS && now != STANDING_IDLE) return false;
    }
    for (uint32_t i = 0; i < trial->work->program->judged.count; i++) {
        const Judged *judged = own_judged(trial, i);
        if (judged == NULL) continue;
        Standing now = card_standing(trial->work, judged, &outcome);
        bool bad = now == STANDING_FAILS || now == STANDING_UNCOMPUTED, was = trial->before[i] == STANDING_FAILS || trial->before[i] == STANDING_UNCOMPUTED;
        if (judged->advice) trial->remarks += bad;
        else trial->broken += bad;
        if (bad && !judged->advice && (!was || judged->kind == JUDGED_AGREEMENT)) return false;
    }
    return count_failed(trial->work) <= trial->failed_before;
}

static bool try_value(Trial *trial, const Figure *figure, double value) {
    if (!isfinite(value)) return false;
    run_with(trial, figure->step, value);
    return mended(trial);
}

/* ---- the figures --------------------------------------------------------------------------------------------------- */

static bool figure_of(CardAtWork *work, ObjectId object, uint32_t slot, Figure *figure) {
    const Object *owner = &work->program->objects.at[object];
    const Slot *own = &owner->slots[slot];
    const Tree *tree = work->program->model->tree;
    if (own->stated == 0 || own->operand.class != OPERAND_VALUE) return false;
    const Node *node = tree_node(tree, own->stated);
    if (node->kind == NODE_BOUNDED) node = tree_node(tree, node->c ? node->c : node->a);
    if (node->kind != NODE_NUMBER) return false;
    StepId step = own->operand.step;
    while (work->program->steps.at[step].kind == STEP_NEEDS) step = work->program->steps.at[step].a;
    if (work->program->steps.at[step].kind != STEP_CONSTANT) return false;
    const Member *member = &form_of(work->program->model, owner->form)->members.at[slot];
    *figure = (Figure){.object = object, .slot = slot, .step = step};
    figure->written = (Written){.number = node->number, .measure = own->operand.measure, .kind = member->type.kind};
    if (node->name != 0) figure->written.unit = vocabulary_known_unit(work->program->model->vocabulary, node->name);
    Text text = source_text(tree->sources, node->span);
    size_t end = 0;
    while (end < text.length && ((text.at[end] >= '0' && text.at[end] <= '9') || text.at[end] == '.')) end++;
    figure->written.digits = text_slice(text, 0, end);
    return true;
}

/* ---- solving ------------------------------------------------------------------------------------------------------- */

/* How far stated and formula of an agreement are apart, as a logarithm; NaN where they have none. */
static double apart(const Trial *trial, uint32_t judged_index) {
    const Judged *judged = own_judged(trial, judged_index);
    const Slot *slot = &trial->work->program->objects.at[judged->object].slots[judged->slot];
    const Computed *stated = &trial->work->evaluation->values[slot->operand.step], *formula = &trial->work->evaluation->values[slot->agreement];
    if (stated->state != COMPUTED_NUMBER || formula->state != COMPUTED_NUMBER || !(stated->number / formula->number > 0)) return NAN;
    return log(stated->number / formula->number);
}

/* The value of a figure at which one agreement holds exactly; NaN: none is found. Most formulas are products of powers, for
 * which the second step is the last; others bend, so no step goes far, and one that leads where there is no value is halved. */
static double solve(Trial *trial, const Figure *figure, uint32_t judged_index) {
    const double step_most = 3; /* of a logarithm: twenty times */
    double stated = trial->inputs[trial->work->program->steps.at[figure->step].a];
    if (!(stated > 0)) return NAN;
    double x0 = log(stated), x1 = x0 + 0.01;
    run_with(trial, figure->step, stated);
    double y0 = apart(trial, judged_index);
    if (!isfinite(y0)) return NAN;
    for (int pass = 0; pass < SOLVE_PASSES; pass++) {
        run_with(trial, figure->step, exp(x1));
        double y1 = apart(trial, judged_index);
        if (isfinite(y1) && fabs(y1) < 1e-6) return exp(x1);
        if (!isfinite(y1)) {
            x1 = 0.5 * (x0 + x1);
            continue;
        }
        if (y1 == y0) return NAN;
        double step = -y1 * (x1 - x0) / (y1 - y0);
        if (!isfinite(step)) return NAN;
        x0 = x1, y0 = y1, x1 += fmin(fmax(step, -step_most), step_most);
    }
    return NAN;
}

/* What an agreement is about, as one number that changes with either side. */
static double sides_of(const Trial *trial, uint32_t judged_index) {
    const Judged *judged = own_judged(trial, judged_index);
    const Slot *slot = &trial->work->program->objects.at[judged->object].slots[judged->slot];
    const Computed *stated = &trial->work->evaluation->values[slot->operand.step], *formula = &trial->work->evaluation->values[slot->agreement];
    if (stated->state != COMPUTED_NUMBER || formula->state != COMPUTED_NUMBER) return NAN;
    return stated->number - formula->number;
}

/* Whether all disagreements rest on the figure: else it alone cannot mend them. */
static bool touches_all(Trial *trial, const Figure *figure) {
    const Program *program = trial->work->program;
    double stated = trial->inputs[program->steps.at[figure->step].a], *before = ARENA_ARRAY(trial->work->scratch, double, trial->disagreeing.count);
    run_with(trial, figure->step, stated);
    for (uint32_t k = 0; k < trial->disagreeing.count; k++) before[k] = sides_of(trial, trial->disagreeing.at[k]);
    run_with(trial, figure->step, stated != 0 ? stated * 1.01 : 1);
    for (uint32_t k = 0; k < trial->disagreeing.count; k++) {
        double now = sides_of(trial, trial->disagreeing.at[k]);
        if (now == before[k] || (isnan(now) && isnan(before[k]))) return false;
    }
    return true;
}

/* ---- one figure ---------------------------------------------------------------------------------------------------- */

/* A figure that has but little part in what it is in may be far off before a disagreement shows, and no value of it makes
 * that good exactly. */
static double try_tens(Trial *trial, const Figure *figure) {
    static const double tens[] = {0.1, 10, 0.01, 100, 0.001, 1000};
    Slip slip = {.kind = SLIP_POINT};
    for (size_t i = 0; i < sizeof tens / sizeof *tens; i++) {
        slip.number = figure->written.number * tens[i];
        double value = slip_value(trial->work->program->model->vocabulary, &figure->written, &slip);
        if (try_value(trial, figure, value)) return value;
    }
    return NAN;
}

/* A value of the figure that mends the card; NaN: none. Where a formula has come to the wrong sign, the others have to tell. */
static double find_right(Trial *trial, const Figure *figure) {
    double sum = 0, *values = ARENA_ARRAY(trial->work->scratch, double, trial->disagreeing.count);
    uint32_t count = 0;
    for (uint32_t k = 0; k < trial->disagreeing.count; k++) {
        double value = solve(trial, figure, trial->disagreeing.at[k]);
        if (!isfinite(value) || value <= 0) continue;
        values[count++] = value;
        sum += log(value);
    }
    double mean = count > 0 ? exp(sum / count) : NAN;
    if (try_value(trial, figure, mean)) return mean;
    for (uint32_t k = 0; k < count; k++) {
        if (try_value(trial, figure, values[k])) return values[k];
    }
    return try_tens(trial, figure);
}

static AuditFinding culprit_of(Trial *trial, const Figure *figure, double right) {
    const Program *program = trial->work->program;
    const Object *owner = &program->objects.at[figure->object];
    const Member *member = &form_of(program->model, owner->form)->members.at[figure->slot];
    AuditFinding culprit = {.kind = AUDIT_CULPRIT, .card = trial->work->card, .filled = owner->node, .form = owner->form,
                            .slot = figure->slot, .node = member->node, .leaf = {.kind = CONDITION_BROKEN, .measure = figure->written.measure}};
    culprit.place = owner->slots[figure->slot].stated_span.start;
    culprit.found = trial->inputs[program->steps.at[figure->step].a];
    culprit.limit = right;
    culprit.allowed = NAN;
    Slip slips[SLIP_MOST];
    uint32_t count = slips_of(program->model->vocabulary, program->model->symbols, trial->work->scratch, &figure->written, right, slips);
    for (uint32_t i = 0; i < count; i++) {
        double value = slip_value(program->model->vocabulary, &figure->written, &slips[i]);
        if (!try_value(trial, figure, value)) continue;
        culprit.slip = slips[i];
        culprit.limit = value;
        break;
    }
    if (culprit.slip.kind == SLIP_NONE) try_value(trial, figure, right);
    culprit.mends = trial->broken_before - trial->broken;
    return culprit;
}

/* ---- the card ------------------------------------------------------------------------------------------------------ */

static void open_trial(Trial *trial, CardAtWork *work) {
    trial->work = work;
    trial->inputs = ARENA_ARRAY(work->scratch, double, work->program->constants.count);
    trial->before = ARENA_ARRAY(work->scratch, uint8_t, work->program->judged.count);
    for (uint32_t i = 0; i < work->program->constants.count; i++) trial->inputs[i] = work->program->constants.at[i].nominal;
    work->evaluation->inputs = trial->inputs;
    trial->failed_before = count_failed(work);
    for (uint32_t i = 0; i < work->program->judged.count; i++) {
        const Judged *judged = own_judged(trial, i);
        if (judged == NULL) continue;
        Outcome outcome;
        trial->before[i] = (uint8_t)card_standing(work, judged, &outcome);
        if (trial->before[i] != STANDING_FAILS) continue;
        trial->broken_before += !judged->advice;
        if (judged->kind == JUDGED_AGREEMENT) VECTOR_PUSH(work->scratch, &trial->disagreeing, i);
    }
}

/* Whether some figures are so far apart that a small change cannot be behind it. */
static bool far_apart(Trial *trial) {
    const double twice = 0.6931471805599453; /* ln 2 */
    double most = 0;
    for (uint32_t k = 0; k < trial->disagreeing.count; k++) {
        double one = fabs(apart(trial, trial->disagreeing.at[k]));
        if (isnan(one)) return true; /* of another sign, or nought */
        most = fmax(most, one);
    }
    return most >= twice;
}

/* What can be told apart: the fewest remarks; and where figures are far apart, a slip that speaks for itself before all others.
 * A small disagreement may come from a large slip in a figure that has but little part in it, or from a small one elsewhere. */
static void keep_best(const AuditFindings *all, const uint32_t *remarks, bool far, Arena *arena, AuditFindings *culprits) {
    uint32_t least = UINT32_MAX;
    bool strong = false;
    for (uint32_t i = 0; i < all->count; i++) least = remarks[i] < least ? remarks[i] : least;
    for (uint32_t i = 0; i < all->count; i++) strong = strong || (far && remarks[i] == least && slip_is_strong(&all->at[i].slip));
    for (uint32_t i = 0; i < all->count; i++) {
        if (remarks[i] != least || (strong && !slip_is_strong(&all->at[i].slip))) continue;
        VECTOR_PUSH(arena, culprits, all->at[i]);
    }
    if (culprits->count > CULPRIT_MOST) culprits->count = 0;
    for (uint32_t i = 0; i < culprits->count; i++) culprits->at[i].alone = culprits->count == 1;
}

/* Small enough, and without signals, which take long to compute again and again. */
static bool can_be_searched(const CardAtWork *work) {
    uint64_t figures = 0;
    for (uint32_t o = 0; o < work->object_count; o++) {
        figures += form_of(work->program->model, work->program->objects.at[work->objects[o]].form)->members.count;
    }
    if (figures * work->program->steps.count > STEPS_MOST) return false;
    for (StepId id = 1; id < work->program->steps.count; id++) {
        if (work->evaluation->values[id].state == COMPUTED_SIGNAL) return false;
    }
    return true;
}

void card_culprits(CardAtWork *work, AuditFindings *culprits) {
    if (!can_be_searched(work)) return;
    Trial trial = {0};
    AuditFindings all = {0};
    VECTOR(uint32_t) remarks = {0};
    open_trial(&trial, work);
    bool far = far_apart(&trial);
    for (uint32_t o = 0; o < work->object_count; o++) {
        ObjectId object = work->objects[o];
        uint32_t count = form_of(work->program->model, work->program->objects.at[object].form)->members.count;
        for (uint32_t slot = 0; slot < count; slot++) {
            Figure figure;
            if (!figure_of(work, object, slot, &figure)) continue;
            double stated = trial.inputs[work->program->steps.at[figure.step].a];
            if (touches_all(&trial, &figure)) {
                double right = find_right(&trial, &figure);
                if (isfinite(right)) {
                    VECTOR_PUSH(work->scratch, &all, culprit_of(&trial, &figure, right));
                    VECTOR_PUSH(work->scratch, &remarks, trial.remarks);
                }
            }
            run_with(&trial, figure.step, stated);
        }
    }
    keep_best(&all, remarks.at, far, work->audit->arena, culprits);
}
