#include "library/pair_lanes.h"

#include "compute/lanes.h"
#include "plan/mould.h"

/* Every column card against the row cards, LANE_COUNT of them at a time. */
typedef struct Run {
    const Program *program;
    Lanes *lanes;
    FormId form; /* of the pairs: rules of the cards themselves are not asked here */
    const CardGroup *rows, *columns;
    uint32_t column_count; /* of the whole table */
    Pair *pairs;
} Run;

/* The verdict that one rule leads to; PAIR_UNDECIDED: it has no value. */
static uint8_t verdict_of(uint8_t state, bool advice) {
    switch ((LaneState)state) {
    case LANE_FAILS: return advice ? PAIR_REMARK : PAIR_FAILS;
    case LANE_UNKNOWN: return advice ? PAIR_REMARK : PAIR_UNKNOWN;
    case LANE_UNCOMPUTED: return PAIR_UNDECIDED;
    case LANE_HOLDS:
    case LANE_IDLE: break;
    }
    return PAIR_WORKS;
}

static int rank_of(uint8_t verdict) {
    static const int rank[] = {[PAIR_WORKS] = 0, [PAIR_REMARK] = 1, [PAIR_UNKNOWN] = 2, [PAIR_FAILS] = 3};
    return verdict == PAIR_UNDECIDED ? 4 : rank[verdict];
}

static void judge_lanes(const Run *run, uint8_t verdicts[LANE_COUNT]) {
    for (int i = 0; i < LANE_COUNT; i++) verdicts[i] = PAIR_WORKS;
    for (uint32_t j = 0; j < run->program->judged.count; j++) {
        const Judged *judged = &run->program->judged.at[j];
        uint8_t states[LANE_COUNT];
        if (judged->kind != JUDGED_RULE || run->program->objects.at[judged->object].form != run->form) continue;
        lanes_judge(run->lanes, j, states);
        for (int i = 0; i < LANE_COUNT; i++) {
            uint8_t one = verdict_of(states[i], judged->advice);
            if (rank_of(one) > rank_of(verdicts[i])) verdicts[i] = one;
        }
    }
}

static void run_groups(const Run *run) {
    for (uint32_t first = 0; first < run->rows->count; first += LANE_COUNT) {
        uint32_t count = run->rows->count - first < LANE_COUNT ? run->rows->count - first : LANE_COUNT;
        lanes_put_row(run->lanes, 1, first, count);
        for (uint32_t c = 0; c < run->columns->count; c++) {
            uint8_t verdicts[LANE_COUNT];
            for (uint32_t i = 0; i < count; i++) lanes_put(run->lanes, i, 2, c);
            lanes_run(run->lanes);
            judge_lanes(run, verdicts);
            for (uint32_t i = 0; i < count; i++) {
                size_t pair = (size_t)run->rows->positions[first + i] * run->column_count + run->columns->positions[c];
                run->pairs[pair].verdict = verdicts[i];
            }
        }
    }
}

void pair_lanes(const Arena *beside, const PairPlan *plan, PairForm form, PairSide rows, PairSide columns, Pair *pairs) {
    Model *model = plan->model;
    const Form *declared = form_of(model, form.form);
    const Symbol fields[2] = {declared->members.at[form.row].name, declared->members.at[form.column].name};
    if (declared->cautions.count > 0) return;
    Arena *kept = arena_open_beside(beside), *arena = arena_open_beside(beside);
    const Cards *row_cards = cards_gather(kept, model, rows.cards, rows.count), *column_cards = cards_gather(kept, model, columns.cards, columns.count);
    for (uint32_t r = 0; r < row_cards->groups.count; r++) {
        for (uint32_t c = 0; c < column_cards->groups.count; c++) {
            const CardGroup *groups[2] = {row_cards->groups.at[r], column_cards->groups.at[c]};
            const Program *program = mould_of_holder(arena, plan->world, plan->sources, model, form.form, fields, groups, 2);
            Run run = {.program = program, .form = form.form, .rows = groups[0], .columns = groups[1], .column_count = columns.count, .pairs = pairs};
            if (program != NULL) run.lanes = lanes_open(arena, evaluate(arena, program));
            if (run.lanes != NULL) run_groups(&run);
            arena_clear(arena);
        }
    }
    arena_close(arena);
    arena_close(kept);
}
