/* The stages together: a check leaves nothing behind. */
#include <stdio.h>

#include "given.h"
#include "pipeline.h"

#if defined(__SANITIZE_ADDRESS__)
enum { WATCHED = 1 };
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
enum { WATCHED = 1 };
#else
enum { WATCHED = 0 };
#endif
#else
enum { WATCHED = 0 };
#endif

/* Pages that the process has mapped; 0 where the system does not tell. */
static long mapped(void) {
    FILE *file = fopen("/proc/self/statm", "r");
    long pages = 0;
    if (!file) return 0;
    if (fscanf(file, "%ld", &pages) != 1) pages = 0;
    fclose(file);
    return pages;
}

static size_t check_once(void) {
    Arena *arena = given_arena();
    World world = world_of_system();
    Text named = TEXT("examples/first-axis/4-axis.trn.md");
    LoadRequest request = {.paths = &named, .path_count = 1};
    Check check = pipeline_check(arena, &world, request, (PlanRequest){.scope = PLAN_NAMED}, (JudgeOptions){.today = TEXT("2026-11-02")}, STAGE_NONE);
    cr_assert(check.result->findings.count > 20, "it was a whole axis");
    size_t used = arena_used(arena);
    arena_close(arena);
    return used;
}

/* One check takes more than the slack allowed here, so that one whose memory is kept would show. */
Test(pipeline, does_not_grow) {
    size_t used = check_once();
    for (int i = 0; i < 4; i++) cr_assert(check_once() == used, "the same check takes the same memory");
    long before = mapped();
    for (int i = 0; i < 20; i++) check_once();
    long after = mapped(), slack = 64;
    cr_assert(used > 4 * 4096 * (size_t)slack, "a check is large against the slack: %zu bytes", used);
    if (WATCHED) return; /* the sanitizer keeps freed memory for a while, and counts leaks itself */
    cr_assert(after - before <= slack, "grew by %ld pages in 20 checks", after - before);
}
