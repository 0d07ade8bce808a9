/* What ranges cost: the demo's axes with the values of motor, gearhead and drive varied, at several numbers of parts of the cycle. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "compute/range.h"
#include "pipeline.h"

enum { BOXES = 2000 };

static void no_memory(void *context) {
    (void)context;
    exit(3);
}

static double now(void) {
    struct timespec time;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time); /* others may be working here too */
    return 1e9 * (double)time.tv_sec + (double)time.tv_nsec;
}

static Program *program_of(Arena *arena, const char *path) {
    World *world = ARENA_NEW(arena, World);
    Text *named = ARENA_NEW(arena, Text);
    *world = world_of_system();
    *named = text_from(path);
    LoadRequest request = {.paths = named, .path_count = 1};
    Sources *sources = sources_open(arena);
    Symbols *symbols = symbols_open(arena);
    Messages *messages = messages_open(arena, sources);
    Tree *tree = tree_open(arena, symbols, sources);
    Model *model = model_open(arena, load_files(arena, world, sources, tree, messages, request), symbols, messages);
    return plan_build(arena, world, sources, model, (PlanRequest){.scope = PLAN_NAMED});
}

static bool says(const Program *program, StepId id, const char *words) {
    ObjectId object = program->steps.at[id].owner;
    Text form = object ? model_name(program->model, form_of(program->model, program->objects.at[object].form)->name) : (Text){0};
    size_t length = strlen(words);
    for (uint32_t k = 0; k + length <= form.length; k++) {
        if (memcmp(form.at + k, words, length) == 0) return true;
    }
    return false;
}

static uint32_t constants_of_parts(const Program *program, uint32_t *varied) {
    uint32_t count = 0;
    for (StepId id = 1; id < program->steps.count; id++) {
        if (program->steps.at[id].kind != STEP_CONSTANT || !(says(program, id, "motor") || says(program, id, "gearhead") || says(program, id, "drive"))) continue;
        bool known = false;
        for (uint32_t i = 0; i < count; i++) known = known || varied[i] == program->steps.at[id].a;
        if (!known) varied[count++] = program->steps.at[id].a;
    }
    return count;
}

static void width_of_all(const Program *program, Range *range, const Evaluation *base, double *median, uint32_t *unbounded) {
    double *widths = malloc(program->steps.count * sizeof *widths);
    uint32_t count = 0;
    *unbounded = 0;
    for (uint32_t i = 1; i < program->conditions.count; i++) {
        const Condition *condition = &program->conditions.at[i];
        if (condition->kind != CONDITION_COMPARE || base->values[condition->left].state != COMPUTED_NUMBER) continue;
        RangeValue value = range_step(range, condition->left);
        if (!(value.high - value.low > 0)) continue;
        if (!isfinite(value.high - value.low)) ++*unbounded;
        else widths[count++] = (value.high - value.low) / fmax(fabs(base->values[condition->left].number), 1e-30);
    }
    for (uint32_t i = 1; i < count; i++) {
        for (uint32_t k = i; k > 0 && widths[k - 1] > widths[k]; k--) {
            double swap = widths[k];
            widths[k] = widths[k - 1];
            widths[k - 1] = swap;
        }
    }
    *median = count ? widths[count / 2] : 0;
    free(widths);
}

static void measure(const char *path) {
    static const uint32_t pieces[] = {1, 8, 32};
    static const double reaches[] = {0, 0.01, 0.1, 0.3};
    Arena *arena = arena_open(no_memory, NULL);
    Program *program = program_of(arena, path);
    Evaluation *base = evaluate(arena, program);
    uint32_t *varied = ARENA_ARRAY(arena, uint32_t, program->constants.count), count = constants_of_parts(program, varied), judged = program->judged.count;
    double *lows = ARENA_ARRAY(arena, double, count), *highs = ARENA_ARRAY(arena, double, count);
    printf("%s\n", path);
    for (size_t p = 0; p < sizeof pieces / sizeof *pieces; p++) {
        double start = now();
        Range *range = range_open(arena, base, varied, count, pieces[p]);
        double opened = now() - start;
        printf("%u parts: %u of %u steps rest on %u constants; opened in %.2f ms\n", pieces[p], range_steps(range), program->steps.count, count, opened * 1e-6);
        for (size_t r = 0; r < sizeof reaches / sizeof *reaches; r++) {
            uint32_t verdicts[3] = {0}, unbounded;
            double median, all = 0, one = 0;
            for (uint32_t b = 0; b < BOXES; b++) {
                for (uint32_t i = 0; i < count; i++) {
                    double value = base->inputs[varied[i]], reach = reaches[r] * (1 - 1e-4 * (b % 7)) * fabs(value);
                    bool word = value == floor(value) && fabs(value) < 100;
                    lows[i] = word ? value : value - reach;
                    highs[i] = word ? value : value + reach;
                }
                if (reaches[r] == 0) lows[b % count] = highs[b % count] = lows[b % count] * (1 + 1e-9 * b);
                start = now();
                range_run(range, lows, highs, NULL);
                for (uint32_t k = 0; k < judged; k++) verdicts[range_judged(range, k).verdict]++;
                all += now() - start;
                if (b % 4) continue; /* and one value alone that moves */
                highs[b % count] *= 1.0001;
                if (highs[b % count] < lows[b % count]) highs[b % count] = lows[b % count];
                start = now();
                range_run(range, lows, highs, NULL);
                for (uint32_t k = 0; k < judged; k++) range_judged(range, k);
                one += 4 * (now() - start);
            }
            width_of_all(program, range, base, &median, &unbounded);
            printf("  reach %4.0f %%: a box %8.0f ns, %6.1f ns a step, %5.0f ns a judged; one value moved %7.0f ns; fails %5.1f holds %5.1f maybe %5.1f; median width %.2g, %u unbounded\n", 100 * reaches[r],
                   all / BOXES, all / BOXES / range_steps(range), all / BOXES / judged, one / BOXES, (double)verdicts[RANGE_FAILS] / BOXES, (double)verdicts[RANGE_HOLDS] / BOXES,
                   (double)verdicts[RANGE_MAYBE] / BOXES, median, unbounded);
        }
    }
    arena_close(arena);
}

int main(void) {
    measure("examples/jar-handler/lift.trn.md");
    measure("examples/jar-handler/carousel.trn.md");
    return 0;
}
