/* Gradients against central differences: of every number that a program computes, with every number that it rests on. */
#include "compute/tangent.h"

#include <math.h>
#include <stdio.h>

#include "given_check.h"
#include "given_random_axis.h"

static const double tolerance = 1e-5; /* of the value over the input, or of the derivative, whichever is larger */

typedef struct Compared {
    uint32_t values, kinks;
    char first[400]; /* what was wrong first; empty so far */
} Compared;

static double number_at(const Evaluation *evaluation, StepId step) {
    const Computed *value = &evaluation->values[step];
    return value->state == COMPUTED_NUMBER ? value->number : NAN;
}

static Evaluation *moved(Arena *arena, Program *program, uint32_t constant, double value) {
    double before = program->constants.at[constant].nominal;
    program->constants.at[constant].nominal = value;
    Evaluation *evaluation = evaluate(arena, program);
    program->constants.at[constant].nominal = before;
    return evaluation;
}

static StepId *all_steps(Arena *arena, const Program *program) {
    StepId *steps = ARENA_ARRAY(arena, StepId, program->steps.count);
    for (StepId id = 1; id < program->steps.count; id++) steps[id - 1] = id;
    return steps;
}

/* A function bends just there when its two one-sided slopes differ by more than its curvature can make of them. */
static bool is_kink(double below, double here, double above, double scale, double step) {
    return fabs((above - here) - (here - below)) > 2e-3 * scale * step;
}

static void compare_one(Compared *compared, Program *program, const Evaluation *base, Gradient *gradient, const StepId *steps, StepId input) {
    uint32_t constant = program->steps.at[input].a;
    double x = program->constants.at[constant].nominal, h = fabs(x) * 1e-5;
    if (x == 0) return;
    Arena *arena = given_arena();
    Evaluation *above = moved(arena, program, constant, x + h), *below = moved(arena, program, constant, x - h);
    gradient_run(gradient, arena, base, steps, program->steps.count - 1, input, 1);
    for (StepId s = 1; s < program->steps.count; s++) {
        double here = number_at(base, s), up = number_at(above, s), down = number_at(below, s);
        if (isnan(here) || isnan(up) || isnan(down)) continue;
        double slope = (up - down) / (2 * h), found = gradient_number(gradient, s), scale = fmax(fabs(here / x), fabs(slope));
        compared->values++;
        if (fabs(slope - found) <= tolerance * scale + 1e-12) continue;
        if (is_kink(down, here, up, scale, h)) {
            compared->kinks++;
            continue;
        }
        if (compared->first[0]) continue;
        Text formula = source_text(program->model->tree->sources, program->steps.at[s].span), from = source_text(program->model->tree->sources, program->steps.at[input].span);
        snprintf(compared->first, sizeof compared->first, "step %u (%s) of [%.80s] by [%.40s]: %.12g, and by differences %.12g; value %.6g, input %.6g", s,
                 step_name((StepKind)program->steps.at[s].kind), text_zero_ended(arena, formula), text_zero_ended(arena, from), found, slope, here, x);
    }
    gradient_release(gradient);
    arena_close(arena);
}

/* Equal numbers without bounds are one step, so that a key of a table may be a value elsewhere; keys have no derivative. */
static bool is_key(const Program *program, StepId id) {
    for (uint32_t t = 0; t < program->tables.count; t++) {
        for (uint32_t i = 0; i < program->tables.at[t].count; i++) {
            if (program->tables.at[t].keys[i] == id) return true;
        }
    }
    return false;
}

/* With every constant that was written in a named file or in a library beside it, or with those that have bounds. */
static void compare_all(Compared *compared, Arena *arena, Program *program, const Evaluation *base, bool bounded) {
    Gradient *gradient = gradient_open(arena, program);
    StepId *steps = all_steps(arena, program);
    for (StepId id = 1; id < program->steps.count; id++) {
        const Step *step = &program->steps.at[id];
        if (step->kind != STEP_CONSTANT || is_key(program, id)) continue;
        const Constant *constant = &program->constants.at[step->a];
        const Source *source = source_of(program->model->tree->sources, step->span.start);
        if (bounded ? !(constant->low < constant->high) : source == NULL || source->origin == SOURCE_STANDARD) continue;
        compare_one(compared, program, base, gradient, steps, id);
    }
}

static void compare_file(Compared *compared, const char *path) {
    Arena *arena = given_arena();
    World world = world_of_system();
    Text named = text_from(path);
    LoadRequest request = {.paths = &named, .path_count = 1};
    Sources *sources = sources_open(arena);
    Symbols *symbols = symbols_open(arena);
    Messages *messages = messages_open(arena, sources);
    Tree *tree = tree_open(arena, symbols, sources);
    Model *model = model_open(arena, load_files(arena, &world, sources, tree, messages, request), symbols, messages);
    Program *program = plan_build(arena, &world, sources, model, (PlanRequest){.scope = PLAN_NAMED});
    cr_assert_eq(messages->errors, 0u, "%s", path);
    compare_all(compared, arena, program, evaluate(arena, program), false);
    arena_close(arena);
}

#define cr_compared(compared, least)                                                                                    \
    do {                                                                                                                \
        cr_assert((compared).first[0] == 0, "%s", (compared).first);                                                    \
        cr_assert((compared).values >= (least), "only %u values were compared", (compared).values);                     \
        cr_assert((compared).kinks * 100 <= (compared).values, "%u kinks in %u values", (compared).kinks, (compared).values); \
    } while (0)

Test(tangent, agrees_with_differences_in_the_demo, .timeout = 300) {
    static const char *const paths[] = {"examples/jar-handler/lift.trn.md", "examples/jar-handler/carousel.trn.md", "examples/jar-handler/lift-warm.trn.md"};
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        Compared compared = {0};
        compare_file(&compared, paths[i]);
        cr_compared(compared, 50000u);
    }
}

Test(tangent, agrees_with_differences_in_random_specifications, .timeout = 300) {
    Compared compared = {0};
    for (uint64_t seed = 1; seed <= 200; seed++) {
        Arena *arena = given_arena();
        GivenCheck check;
        const char *text = random_axis(arena, seed, seed % 2);
        given_check_text(&check, arena, text);
        compare_all(&compared, arena, check.program, check.evaluation, true);
        cr_assert(compared.first[0] == 0, "seed %llu: %s\n%s", (unsigned long long)seed, compared.first, text);
        arena_close(arena);
    }
    cr_compared(compared, 20000u);
}
