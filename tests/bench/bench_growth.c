/* Whether memory grows when one process checks again and again:  bench_growth [FILE [RUNS]]
 *
 * Verifies the file within its bounds, then audits its cards, each time in an arena of its own, and prints the memory that the
 * process has in use (resident) after 5 runs and after all of them. */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>
#include <unistd.h>

#include "pipeline.h"

static void no_memory(void *context) {
    (void)context;
    exit(3);
}

static double now_ms(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return 1e3 * (double)now.tv_sec + 1e-6 * (double)now.tv_nsec;
}

/* kB; 0 where the system does not tell. */
static long resident(void) {
    FILE *file = fopen("/proc/self/statm", "r");
    long whole = 0, pages = 0;
    if (!file) return 0;
    if (fscanf(file, "%ld %ld", &whole, &pages) != 2) pages = 0;
    fclose(file);
    return pages * (sysconf(_SC_PAGESIZE) / 1024);
}

static size_t verify(const char *path) {
    Arena *arena = arena_open(no_memory, NULL);
    World world = world_of_system();
    Text named = text_from(path);
    LoadRequest request = {.paths = &named, .path_count = 1};
    pipeline_check(arena, &world, request, (PlanRequest){.scope = PLAN_NAMED}, (JudgeOptions){.today = TEXT("2026-11-02")}, STAGE_NONE);
    size_t used = arena_used(arena);
    arena_close(arena);
    return used;
}

static size_t audit(const char *path) {
    Arena *arena = arena_open(no_memory, NULL);
    World world = world_of_system();
    Text named = text_from(path);
    LoadRequest request = {.paths = &named, .path_count = 1};
    pipeline_audit(arena, &world, request, (AuditRequest){0});
    size_t used = arena_used(arena);
    arena_close(arena);
    return used;
}

static void measure(const char *what, const char *path, size_t (*check)(const char *), int runs) {
    long early = 0, late = 0;
    size_t used = 0;
    double begun = now_ms();
    for (int run = 1; run <= runs; run++) {
        used = check(path);
        if (run == 5) early = resident();
    }
    double took = now_ms() - begun;
    late = resident();
    printf("%-8s %6.2f ms each, %8.0f kB in its arena; process after 5 runs %7ld kB, after %d %7ld kB: %+ld kB\n", what, took / runs, (double)used / 1024,
           early, runs, late, late - early);
}

int main(int count, char **arguments) {
    const char *path = count > 1 ? arguments[1] : "examples/jar-handler/lift.trn.md";
    const char *library = count > 1 ? arguments[1] : "examples/jar-handler/parts/rook-motors.trn";
    int runs = count > 2 ? atoi(arguments[2]) : 50;
    if (runs < 5) runs = 5;
    measure("verify", path, verify, runs);
    measure("audit", library, audit, runs);
    return 0;
}
