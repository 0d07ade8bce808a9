/* Ranges against members: whatever a program computes for inputs from a box lies in the ranges that were found for the box. */
#include <stdlib.h>

#include "given_random_formulas.h"
#include "range_check.h"

static const char *const demo[] = {"lift", "carousel", "hatch", "gripper", "nozzle", "dish", "lift-warm", "supply"};

static double share_of(uint64_t *state) { return (double)(given_random(state) >> 11) / 9007199254740992.0; }

typedef struct Box {
    uint32_t *varied, count;
    double *lows, *highs;
    uint8_t *flags;
} Box;

/* Constants of the program that are written in a library or a named file, and not in the standard library. */
static Box box_of(Arena *arena, const Program *program, const Evaluation *base, bool (*takes)(const Program *, StepId)) {
    uint32_t constants = program->constants.count;
    Box box = {ARENA_ARRAY(arena, uint32_t, constants), 0, ARENA_ARRAY(arena, double, constants), ARENA_ARRAY(arena, double, constants), arena_take(arena, constants)};
    uint8_t *seen = arena_take(arena, constants);
    for (StepId id = 1; id < program->steps.count; id++) {
        const Step *step = &program->steps.at[id];
        if (step->kind != STEP_CONSTANT || seen[step->a] || isnan(base->inputs[step->a]) || !takes(program, id)) continue;
        seen[step->a] = 1;
        box.varied[box.count++] = step->a;
    }
    return box;
}

static bool of_part(const Program *program, StepId id) {
    ObjectId object = program->steps.at[id].owner;
    if (object == 0) return false;
    Text form = model_name(program->model, form_of(program->model, program->objects.at[object].form)->name);
    static const char *const kinds[] = {"motor", "gear", "drive"};
    for (size_t i = 0; i < 3; i++) {
        for (uint32_t k = 0; k + strlen(kinds[i]) <= form.length; k++) {
            if (memcmp(form.at + k, kinds[i], strlen(kinds[i])) == 0) return true;
        }
    }
    return false;
}

/* A box around the base: each value by up to `reach` of itself, wholly on one side now and then. */
static void draw_box(Box *box, const Evaluation *base, double reach, uint64_t *state, bool absent) {
    for (uint32_t i = 0; i < box->count; i++) {
        double nominal = base->inputs[box->varied[i]], size = reach * fabs(nominal);
        box->lows[i] = nominal - size * (given_random(state) % 3 == 0 ? 0 : share_of(state));
        box->highs[i] = nominal + size * (given_random(state) % 3 == 0 ? 0 : share_of(state));
        if (nominal == floor(nominal) && fabs(nominal) < 100) box->lows[i] = box->highs[i] = nominal; /* words and counts */
        box->flags[i] = RANGE_NUMBER;
        if (absent && given_random(state) % 12 == 0) box->flags[i] = given_random(state) % 3 ? RANGE_NUMBER | RANGE_UNKNOWN : RANGE_UNKNOWN;
    }
}

static void draw_member(Program *program, const Box *box, uint64_t *state) {
    for (uint32_t i = 0; i < box->count; i++) {
        double share = share_of(state);
        uint64_t corner = given_random(state) % 4;
        if (corner == 0) share = 0;
        if (corner == 1) share = 1;
        double value = fmin(fmax(box->lows[i] + share * (box->highs[i] - box->lows[i]), box->lows[i]), box->highs[i]);
        bool unstated = box->flags[i] == RANGE_UNKNOWN || (box->flags[i] & RANGE_UNKNOWN && given_random(state) % 2);
        program->constants.at[box->varied[i]].nominal = unstated ? NAN : value;
    }
}

typedef struct Trial {
    int boxes, members;
    double reach;      /* of the largest boxes */
    bool absent;       /* some values may be not stated */
    uint32_t pieces;
} Trial;

static void try_program(RangeCheck *check, GivenCheck *given, bool (*takes)(const Program *, StepId), Trial trial, uint64_t seed) {
    Program *program = given->program;
    Evaluation *base = given->evaluation;
    Box box = box_of(given->arena, program, base, takes);
    Constant *original = ARENA_ARRAY(given->arena, Constant, program->constants.count);
    memcpy(original, program->constants.at, program->constants.count * sizeof *original);
    Judge judge = {.arena = given->arena, .program = program, .model = program->model, .messages = given->messages};
    uint64_t state = seed * 2654435761u + 17;
    check->program = program;
    check->range = range_open(given->arena, base, box.varied, box.count, trial.pieces);
    for (int b = 0; b < trial.boxes; b++) {
        draw_box(&box, base, trial.reach * pow(share_of(&state), 3), &state, trial.absent);
        range_run(check->range, box.lows, box.highs, box.flags);
        for (int m = 0; m < trial.members; m++) {
            Arena *scratch = given_arena();
            draw_member(program, &box, &state);
            check->member = evaluate(scratch, program);
            judge.arena = scratch;
            range_check_conditions(check, &judge);
            range_check_steps(check);
            arena_close(scratch);
        }
    }
    memcpy(program->constants.at, original, program->constants.count * sizeof *original);
}

static void try_demo(const char *name, Trial trial) {
    GivenCheck given = {.arena = given_arena()};
    char path[80];
    snprintf(path, sizeof path, "examples/jar-handler/%s.trn.md", name);
    given_check_path(&given, path);
    RangeCheck check = {.what = path};
    try_program(&check, &given, of_part, trial, 7);
    cr_assert(check.numbers > 1000, "%s: %llu numbers", path, (unsigned long long)check.numbers);
    arena_close(given.arena);
}

Test(range, members_of_the_demo_lie_in_their_boxes, .timeout = 300) {
    for (size_t i = 0; i < sizeof demo / sizeof *demo; i++) {
        try_demo(demo[i], (Trial){.boxes = 6, .members = 3, .reach = 0.3, .absent = false, .pieces = 8});
        try_demo(demo[i], (Trial){.boxes = 6, .members = 3, .reach = 0.3, .absent = true, .pieces = 3});
    }
}

/* ---- specifications without order ------------------------------------------------------------------------------------- */

enum { SPECIFICATIONS = 400 };

static bool with_bounds(const Program *program, StepId id) {
    const Constant *constant = &program->constants.at[program->steps.at[id].a];
    return constant->low < constant->high;
}

Test(range, members_of_boxes_without_order_lie_in_them, .timeout = 600) {
    const char *more = getenv("SPECIFICATIONS"), *first = getenv("FIRST");
    uint64_t start = first ? strtoull(first, NULL, 10) : 1, last = start + (more ? strtoull(more, NULL, 10) : SPECIFICATIONS);
    uint64_t numbers = 0, signals = 0, bounded = 0, absent = 0;
    for (uint64_t seed = start; seed < last; seed++) {
        static const uint32_t pieces[] = {1, 2, 5, 8, 16, 32};
        GivenCheck given;
        Arena *arena = given_arena();
        const char *text = random_formulas(arena, seed);
        given_check_text(&given, arena, text);
        RangeCheck check = {.what = text};
        try_program(&check, &given, with_bounds, (Trial){.boxes = 4, .members = 4, .reach = 0.6, .absent = seed % 3 == 0, .pieces = pieces[seed % 6]}, seed);
        numbers += check.numbers;
        signals += check.signals;
        bounded += check.bounded;
        absent += check.absent;
        arena_close(arena);
    }
    fprintf(stderr, "numbers %llu signals %llu bounded %llu absent %llu\n", (unsigned long long)numbers, (unsigned long long)signals, (unsigned long long)bounded, (unsigned long long)absent);
}
