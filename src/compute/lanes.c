#include "compute/lanes.h"

#include <math.h>
#include <string.h>

#include "compute/number.h"

/* States of a value. The larger one wins where two meet. */
enum { VALUE_NUMBER, VALUE_UNKNOWN, VALUE_FAILED };

typedef struct Row {
    double numbers[LANE_COUNT];
    uint8_t states[LANE_COUNT];
} Row;

struct Lanes {
    const Program *program;
    Row **rows;         /* by step; of those that are run or read */
    const StepId *cone; /* the steps to run, rising */
    uint32_t count;
};

/* ---- opening ------------------------------------------------------------------------------------------------------ */

/* What is to be judged rests on it, or a field of a card does. */
static uint8_t *find_wanted(Arena *arena, Evaluation *evaluation) {
    const Program *program = evaluation->program;
    uint8_t *wanted = arena_take(arena, program->steps.count);
    for (uint32_t i = 0; i < program->judged.count; i++) {
        if (program->judged.at[i].kind != JUDGED_CAUTION) mark_judged(evaluation, &program->judged.at[i], wanted);
    }
    for (ObjectId id = 1; id < program->objects.count; id++) {
        const Object *object = &program->objects.at[id];
        uint32_t slots = object->place ? program->model->forms.at[object->form].members.count : 0;
        for (uint32_t slot = 0; slot < slots; slot++) mark_reach(evaluation, object->slots[slot].operand.step, wanted);
    }
    return wanted;
}

static bool can_run(StepKind kind) {
    switch (kind) {
    case STEP_CONSTANT:
    case STEP_MISSING:
    case STEP_BROKEN:
    case STEP_UNARY:
    case STEP_BINARY:
    case STEP_COMPARE:
    case STEP_AND:
    case STEP_OR:
    case STEP_NOT:
    case STEP_STATED:
    case STEP_CHOOSE:
    case STEP_LOOK_UP:
    case STEP_NEEDS: return true;
    default: return false;
    }
}

static void fill_row(Row *row, const Computed *value) {
    bool number = value->state == COMPUTED_NUMBER;
    for (int i = 0; i < LANE_COUNT; i++) {
        row->numbers[i] = number ? value->number : 0;
        row->states[i] = number ? VALUE_NUMBER : value->state == COMPUTED_UNKNOWN ? VALUE_UNKNOWN : VALUE_FAILED;
    }
}

Lanes *lanes_open(Arena *arena, const Evaluation *base) {
    const Program *program = base->program;
    Evaluation own = *base; /* with room of its own to search in */
    own.seen = ARENA_ARRAY(arena, uint32_t, program->steps.count);
    own.reached = ARENA_ARRAY(arena, StepId, program->steps.count);
    own.searches = 0;
    const uint8_t *wanted = find_wanted(arena, &own);
    Lanes *lanes = ARENA_NEW(arena, Lanes);
    lanes->program = program;
    lanes->rows = ARENA_ARRAY(arena, Row *, program->steps.count);
    StepId *cone = ARENA_ARRAY(arena, StepId, program->steps.count);
    for (StepId id = 1; id < program->steps.count; id++) {
        if (!wanted[id]) continue;
        if (base->values[id].state == COMPUTED_SIGNAL || (base->bounded[id] && !can_run((StepKind)program->steps.at[id].kind))) return NULL;
        lanes->rows[id] = ARENA_NEW(arena, Row);
        fill_row(lanes->rows[id], &base->values[id]);
        if (base->bounded[id] && program->steps.at[id].kind != STEP_CONSTANT) cone[lanes->count++] = id;
    }
    lanes->cone = cone;
    return lanes;
}

/* The constant of a fact, as a row; NULL: nothing that is judged rests on it. */
static Row *row_of_fact(const Lanes *lanes, const PlacedFact *fact) { return lanes->rows[fact->step]; }

void lanes_put(Lanes *lanes, uint32_t lane, uint32_t place, uint32_t card) {
    const CardFact *facts = lanes->program->places.at[place].group->facts.at;
    for (uint32_t i = 0; i < lanes->program->place_facts.count; i++) {
        const PlacedFact *fact = &lanes->program->place_facts.at[i];
        Row *row = fact->place == place ? row_of_fact(lanes, fact) : NULL;
        if (row == NULL) continue;
        double value = facts[fact->fact].values[card];
        row->numbers[lane] = value;
        row->states[lane] = (uint8_t)(isnan(value) ? VALUE_UNKNOWN : VALUE_NUMBER);
    }
}

void lanes_put_row(Lanes *lanes, uint32_t place, uint32_t first_card, uint32_t count) {
    const CardFact *facts = lanes->program->places.at[place].group->facts.at;
    for (uint32_t i = 0; i < lanes->program->place_facts.count; i++) {
        const PlacedFact *fact = &lanes->program->place_facts.at[i];
        Row *row = fact->place == place ? row_of_fact(lanes, fact) : NULL;
        if (row == NULL) continue;
        memcpy(row->numbers, facts[fact->fact].values + first_card, count * sizeof *row->numbers);
        for (uint32_t k = 0; k < count; k++) row->states[k] = (uint8_t)(isnan(row->numbers[k]) ? VALUE_UNKNOWN : VALUE_NUMBER);
    }
}

/* ---- running ------------------------------------------------------------------------------------------------------ */

static uint8_t worse(uint8_t a, uint8_t b) { return a > b ? a : b; }

/* What is not finite has failed. */
static void close_row(Row *row) {
    for (int i = 0; i < LANE_COUNT; i++) {
        uint8_t failed = fabs(row->numbers[i]) <= 1.7976931348623157e308 ? VALUE_NUMBER : VALUE_FAILED;
        row->states[i] = row->states[i] == VALUE_NUMBER ? failed : row->states[i];
    }
}

static void run_unary(Row *restrict out, SignalUnary operation, const Row *restrict x) {
    memcpy(out->states, x->states, sizeof out->states);
    switch (operation) {
    case SIGNAL_NEGATE:
        for (int i = 0; i < LANE_COUNT; i++) out->numbers[i] = -x->numbers[i];
        return;
    case SIGNAL_ABS:
        for (int i = 0; i < LANE_COUNT; i++) out->numbers[i] = fabs(x->numbers[i]);
        return;
    case SIGNAL_SQRT: /* of a negative number: not a number, and so failed */
        for (int i = 0; i < LANE_COUNT; i++) out->numbers[i] = sqrt(x->numbers[i]);
        break;
    default:
        for (int i = 0; i < LANE_COUNT; i++) {
            if (out->states[i] == VALUE_NUMBER && number_unary(operation, x->numbers[i], &out->numbers[i]) != VOID_NONE) out->states[i] = VALUE_FAILED;
        }
        return;
    }
    close_row(out);
}

static void run_binary(Row *restrict out, SignalBinary operation, const Row *restrict x, const Row *restrict y) {
    for (int i = 0; i < LANE_COUNT; i++) out->states[i] = worse(x->states[i], y->states[i]);
    switch (operation) {
    case SIGNAL_ADD:
        for (int i = 0; i < LANE_COUNT; i++) out->numbers[i] = x->numbers[i] + y->numbers[i];
        break;
    case SIGNAL_SUBTRACT:
        for (int i = 0; i < LANE_COUNT; i++) out->numbers[i] = x->numbers[i] - y->numbers[i];
        break;
    case SIGNAL_MULTIPLY:
        for (int i = 0; i < LANE_COUNT; i++) out->numbers[i] = x->numbers[i] * y->numbers[i];
        break;
    case SIGNAL_DIVIDE: /* by zero: not finite, or not a number */
        for (int i = 0; i < LANE_COUNT; i++) out->numbers[i] = x->numbers[i] / y->numbers[i];
        break;
    case SIGNAL_LESSER:
        for (int i = 0; i < LANE_COUNT; i++) out->numbers[i] = x->numbers[i] < y->numbers[i] ? x->numbers[i] : y->numbers[i];
        break;
    case SIGNAL_GREATER:
        for (int i = 0; i < LANE_COUNT; i++) out->numbers[i] = x->numbers[i] > y->numbers[i] ? x->numbers[i] : y->numbers[i];
        break;
    case SIGNAL_POWER:
    case SIGNAL_ATAN2:
        for (int i = 0; i < LANE_COUNT; i++) {
            if (out->states[i] == VALUE_NUMBER && number_binary(operation, x->numbers[i], y->numbers[i], &out->numbers[i]) != VOID_NONE) {
                out->states[i] = VALUE_FAILED;
            }
        }
        return;
    }
    close_row(out);
}

static void run_compare(Row *restrict out, SignalCompare comparison, const Row *restrict x, const Row *restrict y) {
    for (int i = 0; i < LANE_COUNT; i++) out->states[i] = worse(x->states[i], y->states[i]);
    switch (comparison) {
    case SIGNAL_LESS:
        for (int i = 0; i < LANE_COUNT; i++) out->numbers[i] = x->numbers[i] < y->numbers[i];
        break;
    case SIGNAL_AT_MOST:
        for (int i = 0; i < LANE_COUNT; i++) out->numbers[i] = x->numbers[i] <= y->numbers[i];
        break;
    case SIGNAL_MORE:
        for (int i = 0; i < LANE_COUNT; i++) out->numbers[i] = x->numbers[i] > y->numbers[i];
        break;
    case SIGNAL_AT_LEAST:
        for (int i = 0; i < LANE_COUNT; i++) out->numbers[i] = x->numbers[i] >= y->numbers[i];
        break;
    case SIGNAL_EQUAL:
    case SIGNAL_UNEQUAL:
        for (int i = 0; i < LANE_COUNT; i++) out->numbers[i] = number_compare(comparison, x->numbers[i], y->numbers[i]);
        break;
    }
}

static void run_logic(Row *restrict out, double decisive, const Row *restrict x, const Row *restrict y) {
    for (int i = 0; i < LANE_COUNT; i++) {
        bool x_number = x->states[i] == VALUE_NUMBER, y_number = y->states[i] == VALUE_NUMBER;
        bool decided = (x_number && x->numbers[i] == decisive) || (y_number && y->numbers[i] == decisive);
        out->numbers[i] = decided ? decisive : 1 - decisive;
        out->states[i] = decided ? VALUE_NUMBER : x_number ? y->states[i] : x->states[i];
    }
}

static void run_choose(Row *restrict out, const Row *restrict condition, const Row *restrict yes, const Row *restrict no) {
    for (int i = 0; i < LANE_COUNT; i++) {
        bool taken = condition->numbers[i] != 0;
        out->numbers[i] = taken ? yes->numbers[i] : no->numbers[i];
        out->states[i] = condition->states[i] != VALUE_NUMBER ? condition->states[i] : taken ? yes->states[i] : no->states[i];
    }
}

static void run_needs(Row *restrict out, const Row *restrict value, const Row *restrict condition) {
    for (int i = 0; i < LANE_COUNT; i++) {
        bool violated = value->states[i] == VALUE_NUMBER && condition->states[i] == VALUE_NUMBER && condition->numbers[i] == 0;
        out->numbers[i] = value->numbers[i];
        out->states[i] = violated ? VALUE_FAILED : value->states[i];
    }
}

static void run_look_up(const Lanes *lanes, Row *out, const PlanTable *table, const Row *key) {
    for (int i = 0; i < LANE_COUNT; i++) {
        double x = key->numbers[i];
        out->states[i] = key->states[i];
        if (key->states[i] != VALUE_NUMBER) continue;
        double first = lanes->rows[table->keys[0]]->numbers[i], last = lanes->rows[table->keys[table->count - 1]]->numbers[i];
        double slack = 1e-12 * fmax(fabs(first), fabs(last));
        if (!(x >= first - slack && x <= last + slack)) {
            out->states[i] = VALUE_FAILED;
            continue;
        }
        uint32_t low = 0;
        while (low + 2 < table->count && lanes->rows[table->keys[low + 1]]->numbers[i] <= x) low++;
        double from = lanes->rows[table->keys[low]]->numbers[i], to = lanes->rows[table->keys[low + 1]]->numbers[i];
        double share = (x - from) / (to - from), at_low = lanes->rows[table->values[low]]->numbers[i];
        out->numbers[i] = at_low + share * (lanes->rows[table->values[low + 1]]->numbers[i] - at_low);
    }
}

static void run_row(const Lanes *lanes, StepId id) {
    const Step *step = &lanes->program->steps.at[id];
    Row *out = lanes->rows[id];
    const Row *a = lanes->rows[step->a], *b = step_operands((StepKind)step->kind) > 1 ? lanes->rows[step->b] : NULL;
    switch ((StepKind)step->kind) {
    case STEP_UNARY: run_unary(out, (SignalUnary)step->aux, a); break;
    case STEP_BINARY: run_binary(out, (SignalBinary)step->aux, a, b); break;
    case STEP_COMPARE: run_compare(out, (SignalCompare)step->aux, a, b); break;
    case STEP_AND: run_logic(out, 0, a, b); break;
    case STEP_OR: run_logic(out, 1, a, b); break;
    case STEP_NOT:
        memcpy(out->states, a->states, sizeof out->states);
        for (int i = 0; i < LANE_COUNT; i++) out->numbers[i] = a->numbers[i] == 0;
        break;
    case STEP_STATED:
        for (int i = 0; i < LANE_COUNT; i++) {
            out->numbers[i] = a->states[i] != VALUE_UNKNOWN;
            out->states[i] = VALUE_NUMBER;
        }
        break;
    case STEP_CHOOSE: run_choose(out, a, b, lanes->rows[step->c]); break;
    case STEP_NEEDS: run_needs(out, a, b); break;
    case STEP_LOOK_UP: run_look_up(lanes, out, &lanes->program->tables.at[step->b], a); break;
    default: break;
    }
}

void lanes_run(Lanes *lanes) {
    for (uint32_t i = 0; i < lanes->count; i++) run_row(lanes, lanes->cone[i]);
}

/* ---- judging ------------------------------------------------------------------------------------------------------ */

static uint8_t lane_of_value(uint8_t state) { return state == VALUE_UNKNOWN ? LANE_UNKNOWN : LANE_UNCOMPUTED; }

static void judge_truth(const Row *truth, uint8_t *restrict states) {
    for (int i = 0; i < LANE_COUNT; i++) {
        states[i] = truth->states[i] != VALUE_NUMBER ? lane_of_value(truth->states[i]) : truth->numbers[i] != 0 ? LANE_HOLDS : LANE_FAILS;
    }
}

static void judge_comparison(const Lanes *lanes, const Condition *condition, uint8_t *restrict states) {
    const Row *left = lanes->rows[condition->left], *right = lanes->rows[condition->right];
    SignalCompare comparison = (SignalCompare)condition->compare;
    bool less = comparison == SIGNAL_LESS || comparison == SIGNAL_AT_MOST, strict = comparison == SIGNAL_LESS || comparison == SIGNAL_MORE;
    if (condition->choice != 0 || condition->truths || comparison == SIGNAL_EQUAL || comparison == SIGNAL_UNEQUAL) {
        judge_truth(lanes->rows[condition->truth], states);
    } else {
        for (int i = 0; i < LANE_COUNT; i++) {
            double room = number_room(less, left->numbers[i], right->numbers[i]);
            states[i] = room > 0 || (room == 0 && !strict) ? LANE_HOLDS : LANE_FAILS;
        }
    }
    if (condition->choice != 0 || condition->truths) return;
    for (int i = 0; i < LANE_COUNT; i++) {
        uint8_t absent = left->states[i] != VALUE_NUMBER ? left->states[i] : right->states[i];
        if (absent != VALUE_NUMBER) states[i] = lane_of_value(absent);
    }
}

static void judge_condition(const Lanes *lanes, uint32_t index, uint8_t *restrict states);

/* As the judge does: of all the gravest, of any the best; but what is unknown could still hold. */
static void judge_group(const Lanes *lanes, const Condition *condition, uint8_t *restrict states) {
    uint8_t one[LANE_COUNT];
    for (uint32_t k = 0; k < condition->child_count; k++) {
        judge_condition(lanes, condition->children[k], k == 0 ? states : one);
        for (int i = 0; k > 0 && i < LANE_COUNT; i++) {
            bool absent = one[i] == LANE_UNKNOWN || one[i] == LANE_UNCOMPUTED;
            bool better = absent ? states[i] == LANE_FAILS : states[i] < one[i];
            bool take = condition->kind == CONDITION_ALL ? one[i] < states[i] : better;
            if (take) states[i] = one[i];
        }
    }
}

static void judge_condition(const Lanes *lanes, uint32_t index, uint8_t *restrict states) {
    const Condition *condition = &lanes->program->conditions.at[index];
    switch (condition->kind) {
    case CONDITION_COMPARE: judge_comparison(lanes, condition, states); break;
    case CONDITION_TRUTH: judge_truth(lanes->rows[condition->truth], states); break;
    case CONDITION_ALL:
    case CONDITION_ANY: judge_group(lanes, condition, states); break;
    case CONDITION_BROKEN: memset(states, LANE_UNCOMPUTED, LANE_COUNT); break;
    }
}

void lanes_judge(const Lanes *lanes, uint32_t index, uint8_t states[LANE_COUNT]) {
    const Judged *judged = &lanes->program->judged.at[index];
    if (judged->shall == 0) {
        memset(states, LANE_IDLE, LANE_COUNT);
        return;
    }
    judge_condition(lanes, judged->shall, states);
    const Row *when = judged->when ? lanes->rows[judged->when] : NULL;
    for (int i = 0; when != NULL && i < LANE_COUNT; i++) {
        if (when->states[i] != VALUE_NUMBER) states[i] = lane_of_value(when->states[i]);
        else if (when->numbers[i] == 0) states[i] = LANE_IDLE;
    }
    if (judged->kind != JUDGED_AGREEMENT) return;
    const Row *formula = lanes->rows[lanes->program->objects.at[judged->object].slots[judged->slot].agreement];
    for (int i = 0; i < LANE_COUNT; i++) {
        if (formula->states[i] == VALUE_UNKNOWN) states[i] = LANE_IDLE;
    }
}

void lanes_uncomputed(const Lanes *lanes, ObjectId object, uint8_t uncomputed[LANE_COUNT]) {
    const Object *own = &lanes->program->objects.at[object];
    uint32_t slots = lanes->program->model->forms.at[own->form].members.count;
    memset(uncomputed, 0, LANE_COUNT);
    for (uint32_t slot = 0; slot < slots; slot++) {
        const Operand *operand = &own->slots[slot].operand;
        const Row *row = operand->class == OPERAND_VALUE || operand->class == OPERAND_TRUTH || operand->class == OPERAND_WORD ? lanes->rows[operand->step] : NULL;
        for (int i = 0; row != NULL && i < LANE_COUNT; i++) uncomputed[i] |= row->states[i] == VALUE_FAILED;
    }
}
