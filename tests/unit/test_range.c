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

Test(range, members_of_the_demo_lie_in_their_boxes) {
    for (size_t i = 0; i < sizeof demo / sizeof *demo; i++) {
        try_demo(demo[i], (Trial){.boxes = 6, .members = 3, .reach = 0.3, .absent = false, .pieces = 8});
        try_demo(demo[i], (Trial){.boxes = 6, .members = 3, .reach = 0.3, .absent = true, .pieces = 3});
    }
}

Test(range, where_nothing_varies_the_answers_are_the_judge_s) {
    GivenCheck given = {.arena = given_arena()};
    given_check_path(&given, "examples/jar-handler/lift.trn.md");
    Judge judge = {.arena = given.arena, .program = given.program, .model = given.program->model, .messages = given.messages};
    RangeCheck check = {.what = "lift", .program = given.program, .member = given.evaluation, .range = range_open(given.arena, given.evaluation, NULL, 0, 8)};
    cr_assert_eq(range_steps(check.range), 0u);
    range_run(check.range, NULL, NULL, NULL);
    range_check_conditions(&check, &judge);
    range_check_steps(&check);
    cr_assert(check.verdicts[RANGE_HOLDS] > 100 && check.verdicts[RANGE_MAYBE] < 5, "%llu hold, %llu may", (unsigned long long)check.verdicts[RANGE_HOLDS], (unsigned long long)check.verdicts[RANGE_MAYBE]);
    arena_close(given.arena);
}

/* ---- specifications without order ------------------------------------------------------------------------------------- */

enum { SPECIFICATIONS = 250 };

static bool with_bounds(const Program *program, StepId id) {
    const Constant *constant = &program->constants.at[program->steps.at[id].a];
    return constant->low < constant->high;
}

/* The numbers of tables too, which have no bounds of their own. */
static bool with_bounds_or_in_table(const Program *program, StepId id) {
    for (uint32_t t = 0; t < program->tables.count; t++) {
        const PlanTable *table = &program->tables.at[t];
        for (uint32_t i = 0; i < table->count; i++) {
            if (table->keys[i] == id || table->values[i] == id) return true;
        }
    }
    return with_bounds(program, id);
}

Test(range, members_of_boxes_without_order_lie_in_them) {
    const char *more = getenv("SPECIFICATIONS"), *first = getenv("FIRST");
    uint64_t start = first ? strtoull(first, NULL, 10) : 1, last = start + (more ? strtoull(more, NULL, 10) : SPECIFICATIONS);
    uint64_t numbers = 0, signals = 0, bounded = 0, absent = 0, verdicts[3] = {0};
    for (uint64_t seed = start; seed < last; seed++) {
        static const uint32_t pieces[] = {1, 2, 5, 8, 16, 32};
        GivenCheck given;
        Arena *arena = given_arena();
        const char *text = seed % 5 == 0 ? random_axis(arena, seed, false) : random_formulas(arena, seed);
        given_check_text(&given, arena, text);
        RangeCheck check = {.what = text};
        try_program(&check, &given, seed % 2 ? with_bounds : with_bounds_or_in_table, (Trial){.boxes = 4, .members = 4, .reach = 0.6, .absent = seed % 3 == 0, .pieces = pieces[seed % 6]}, seed);
        numbers += check.numbers;
        signals += check.signals;
        bounded += check.bounded;
        absent += check.absent;
        for (int i = 0; i < 3; i++) verdicts[i] += check.verdicts[i];
        arena_close(arena);
    }
    cr_assert(bounded > (numbers + signals) / 2, "ranges without bounds prove nothing: %llu of %llu have some", (unsigned long long)bounded, (unsigned long long)(numbers + signals));
    cr_assert(absent > 0 && signals > 0);
    for (int i = 0; i < 3; i++) cr_assert(verdicts[i] > 0, "verdict %d is never given", i);
}

/* ---- how narrow --------------------------------------------------------------------------------------------------------- */

typedef struct Known {
    GivenCheck given;
    Range *range;
    Box box;
} Known;

static Known known_text(Arena *arena, const char *text, uint32_t pieces) {
    Known known;
    given_check_text(&known.given, arena, text);
    given_no_errors(&known.given);
    known.box = box_of(known.given.arena, known.given.program, known.given.evaluation, with_bounds);
    known.range = range_open(known.given.arena, known.given.evaluation, known.box.varied, known.box.count, pieces);
    for (uint32_t i = 0; i < known.box.count; i++) known.box.flags[i] = RANGE_NUMBER;
    return known;
}

/* All varied values from `low` to `high` of what they are. */
static void run_known(Known *known, double low, double high) {
    for (uint32_t i = 0; i < known->box.count; i++) {
        double value = known->given.evaluation->inputs[known->box.varied[i]];
        known->box.lows[i] = low * value;
        known->box.highs[i] = high * value;
    }
    range_run(known->range, known->box.lows, known->box.highs, known->box.flags);
}

/* What the first requirement asks for: found. */
static RangeValue found_by(Known *known) {
    return range_step(known->range, known->given.program->conditions.at[known->given.program->judged.at[0].shall].left);
}

static const char torque_text[] =
    "cycle walk {\n  move 100 mm in 1 s by cycloidal\n  hold 0.4 s\n  move -100 mm in 0.8 s by trapezoidal\n  hold 0.3 s\n}\n"
    "form part \"A part\" {\n  given inertia : ratio\n  given drag : ratio\n  given gain : ratio\n"
    "  let push : ratio = walk.acceleration / 800 mm/s²\n  let pace : ratio = walk.speed / 200 mm/s\n"
    "  let current : ratio = (inertia * push + drag * sign(pace) + 0.1) / gain\n"
    "  let heat : ratio = rms(current)\n  let warm : ratio = 0.3 * (1 + 0.4 * warm) * heat ^ 2 / (1 - 0.05 * warm) ^ 2 settles from 0\n}\n"
    "part p {\n  inertia = 1.2 ± 0.1\n  drag = 0.3 ± 0.1\n  gain = 0.8 ± 0.1\n}\n"
    "requirement R-1 \"asked\" { shall p.";

static Known known_torque(const char *asked, uint32_t pieces) {
    Arena *arena = given_arena();
    Text parts[2] = {text_from(torque_text), text_from(asked)};
    return known_text(arena, text_zero_ended(arena, text_fill(arena, TEXT("{0}{1} from none \"a test\" }\n"), parts, 2)), pieces);
}

/* A sum of signals by their factors, in all that such sums are good for. */
Test(range, members_lie_in_boxes_of_sums) {
    static const char *const sums[] = {
        "gain * push - drag * pace + 0.2", "(push + drag * abs(pace)) / gain", "gain * (if push * pace > 0 then push / drag else push * drag) + 0.1 * sign(gain * pace)",
        "lag(gain * push ^ 2 + drag, 2 s) - drag * pace", "(gain * push + drag * sign(pace)) ^ 2", "if gain > 0.8 then drag * push else pace + gain", "lag(gain * push - drag * abs(pace), 7 s * gain)",
        "-(gain * push * pace - drag) * 0.3", "(gain * push + 1) * (drag - pace)"};
    for (uint64_t seed = 0; seed < 3 * sizeof sums / sizeof *sums; seed++) {
        static const char text[] =
            "cycle walk {\n  move 100 mm in 1 s by {1}\n  hold 0.4 s\n  move -100 mm in 0.8 s by {2}\n  hold 0.3 s\n}\n"
            "form part \"A part\" {\n  given drag : ratio\n  given gain : ratio\n  let push : ratio = walk.acceleration / 800 mm/s²\n  let pace : ratio = walk.speed / 200 mm/s\n"
            "  let sum : ratio = {0}\n}\npart p {\n  drag = 0.3 ± 0.1\n  gain = 0.8 ± 0.2\n}\n"
            "requirement R-1 \"asked\" { shall peak(p.sum) <= 1 and maximum(p.sum) <= 0.9 and minimum(p.sum) >= -1 and mean(p.sum) >= 0 and rms(p.sum) < 0.5 and p.sum <= 1.2 from none \"a test\" }\n";
        static const char *const laws[] = {"cycloidal", "trapezoidal", "harmonic"};
        GivenCheck given;
        Arena *arena = given_arena();
        Text parts[3] = {text_from(sums[seed / 3]), text_from(laws[seed % 3]), text_from(laws[seed % 2])};
        const char *whole = text_zero_ended(arena, text_fill(arena, text_from(text), parts, 3));
        given_check_text(&given, arena, whole);
        given_no_errors(&given);
        RangeCheck check = {.what = whole};
        try_program(&check, &given, with_bounds, (Trial){.boxes = 12, .members = 4, .reach = seed % 2 ? 0.1 : 1.5, .pieces = 1 + seed % 9}, seed);
        cr_assert_eq(check.bounded, check.numbers + check.signals, "%s: %llu of %llu have bounds", whole, (unsigned long long)check.bounded, (unsigned long long)(check.numbers + check.signals));
        arena_close(arena);
    }
}

Test(range, a_box_of_one_has_the_numbers_of_the_one) {
    static const char *const asked[] = {"heat <= 2", "warm <= 2", "inertia / p.gain <= 2"};
    for (size_t i = 0; i < 3; i++) {
        Known known = known_torque(asked[i], 1);
        run_known(&known, 1.02, 1.02);
        RangeValue value = found_by(&known);
        cr_assert_eq(value.flags, RANGE_NUMBER, "%s: %u", asked[i], value.flags);
        cr_assert(value.high - value.low < 1e-7 * value.high, "%s: %.17g … %.17g", asked[i], value.low, value.high);
        arena_close(known.given.arena);
    }
}

Test(range, a_fixed_point_stays_bounded_in_a_box) {
    Known known = known_torque("warm <= 2", 8);
    run_known(&known, 0.98, 1.02);
    RangeValue value = found_by(&known);
    cr_assert_eq(value.flags, RANGE_NUMBER);
    cr_assert(value.low > 0 && value.high < 2 * value.low, "%.6g … %.6g", value.low, value.high);
    arena_close(known.given.arena);
}

Test(range, a_condition_is_answered_for_the_box) {
    static const struct {
        const char *asked;
        double low, high;
        RangeVerdict verdict;
    } cases[] = {
        {"inertia <= 1.3", 0.9, 1, RANGE_HOLDS},   {"inertia <= 1.3", 0.9, 1.2, RANGE_MAYBE},        {"inertia <= 1.3", 1.1, 1.2, RANGE_FAILS},          {"inertia < 1.2", 1, 1.1, RANGE_FAILS},
        {"inertia <= 1.2", 1, 1.1, RANGE_MAYBE},   {"current <= 0.2", 0.9, 1.1, RANGE_FAILS},        {"current <= 20", 0.9, 1.1, RANGE_HOLDS},           {"inertia <= 1.3 or p.drag > 0.5", 1.1, 1.2, RANGE_FAILS},
        {"inertia <= 1.3 or p.drag > 0.1", 1.1, 1.2, RANGE_HOLDS}, {"inertia > 1 and p.drag > 0.5", 1.1, 1.2, RANGE_FAILS}, {"inertia / (p.drag - 0.31) < -5", 0.9, 1.1, RANGE_MAYBE}, {"inertia = 1.2", 1.1, 1.2, RANGE_FAILS},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Known known = known_torque(cases[i].asked, 8);
        run_known(&known, cases[i].low, cases[i].high);
        RangeAnswer answer = range_judged(known.range, 0);
        cr_assert_eq(answer.verdict, cases[i].verdict, "%s from %g to %g: %d", cases[i].asked, cases[i].low, cases[i].high, answer.verdict);
        cr_assert((answer.verdict == RANGE_FAILS) == (answer.share == -INFINITY), "%s: %g", cases[i].asked, answer.share);
        arena_close(known.given.arena);
    }
}

Test(range, the_largest_margin_is_told) {
    Known known = known_torque("inertia <= 1.5", 8);
    run_known(&known, 1, 1.1);
    cr_assert_float_eq(range_judged(known.range, 0).share, 0.2, 1e-9);
    run_known(&known, 0.5, 1.1);
    cr_assert_float_eq(range_judged(known.range, 0).share, 0.6, 1e-9);
    arena_close(known.given.arena);
}

Test(range, what_none_states_is_met_by_none) {
    Known known = known_torque("inertia <= 1.5", 8);
    run_known(&known, 1, 1.1);
    cr_assert_eq(range_judged(known.range, 0).verdict, RANGE_HOLDS);
    for (uint32_t i = 0; i < known.box.count; i++) known.box.flags[i] = RANGE_NUMBER | RANGE_UNKNOWN;
    run_known(&known, 1, 1.1);
    cr_assert_eq(range_judged(known.range, 0).verdict, RANGE_MAYBE);
    for (uint32_t i = 0; i < known.box.count; i++) known.box.flags[i] = RANGE_UNKNOWN;
    run_known(&known, 1, 1.1);
    cr_assert_eq(range_judged(known.range, 0).verdict, RANGE_FAILS);
    for (uint32_t i = 0; i < known.box.count; i++) known.box.flags[i] = RANGE_NUMBER;
    run_known(&known, 1, 1.1);
    cr_assert_eq(range_judged(known.range, 0).verdict, RANGE_HOLDS);
    arena_close(known.given.arena);
}
