/* What the worst cases of the demo cost: everything found within bounds, over judging at the nominal values alone. */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "pipeline.h"
#include "verdict/judge.h"

enum { RUNS = 7 };

static void no_memory(void *context) {
    (void)context;
    exit(3);
}

static double now(void) {
    struct timespec time;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time); /* others may be working here too */
    return 1e3 * (double)time.tv_sec + 1e-6 * (double)time.tv_nsec;
}

typedef struct Cost {
    double nominal, all; /* ms, the least of all runs */
    uint32_t findings, bounded;
} Cost;

static double judged_in(const char *path, bool nominal_only, Cost *cost) {
    Arena *arena = arena_open(no_memory, NULL);
    World world = world_of_system();
    Text named = text_from(path);
    LoadRequest request = {.paths = &named, .path_count = 1};
    Sources *sources = sources_open(arena);
    Symbols *symbols = symbols_open(arena);
    Messages *messages = messages_open(arena, sources);
    Tree *tree = tree_open(arena, symbols, sources);
    Model *model = model_open(arena, load_files(arena, &world, sources, tree, messages, request), symbols, messages);
    Program *program = plan_build(arena, &world, sources, model, (PlanRequest){.scope = PLAN_NAMED});
    double start = now();
    Evaluation *evaluation = evaluate(arena, program);
    Result *result = judge_all(arena, &world, evaluation, messages, (JudgeOptions){.today = TEXT("2026-11-02"), .nominal_only = nominal_only});
    double took = now() - start;
    cost->findings = result->findings.count;
    if (!nominal_only) cost->bounded = result->bounded;
    arena_close(arena);
    return took;
}

static Cost cost_of(const char *path) {
    Cost cost = {1e9, 1e9, 0, 0};
    for (int run = 0; run < RUNS; run++) {
        double nominal = judged_in(path, true, &cost), all = judged_in(path, false, &cost);
        if (nominal < cost.nominal) cost.nominal = nominal;
        if (all < cost.all) cost.all = all;
    }
    return cost;
}

int main(void) {
    static const char *const paths[] = {"lift", "carousel", "hatch", "gripper", "nozzle", "dish", "lift-warm", "supply"};
    double whole = 0;
    printf("%-24s %9s %9s %11s %12s\n", "worst cases", "findings", "bounded", "nominal ms", "in bounds ms");
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        char path[80];
        snprintf(path, sizeof path, "examples/jar-handler/%s.trn.md", paths[i]);
        FILE *there = fopen(path, "r");
        if (there == NULL) continue;
        fclose(there);
        Cost cost = cost_of(path);
        printf("%-24s %9u %9u %11.2f %12.2f\n", paths[i], cost.findings, cost.bounded, cost.nominal, cost.all);
        whole = cost.all;
    }
    printf("the whole demo (%s), nominal, gradients, corners and every verdict: %.1f ms\n", paths[sizeof paths / sizeof *paths - 1], whole);
    return 0;
}
