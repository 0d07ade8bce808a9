/* Cards of one form side by side: which of them are well? On two threads when there are many. */
#include <pthread.h>
#include <string.h>

#include "compute/lanes.h"
#include "library/audit_card.h"
#include "plan/mould.h"

enum {
    GROUP_LEAST = 4,      /* cards; of fewer, each is looked at by itself */
    THREAD_LEAST = 4096,  /* cards for each thread */
    AT_ONCE = 32768       /* cards whose facts are in columns at a time */
};

typedef struct Share {
    Lanes *lanes;
    const Program *program;
    const CardGroup *group;
    uint32_t first, end; /* cards */
    FormId *well;
} Share;

/* Rules of other parts that a card names are told there. */
static bool belongs(const Program *program, ObjectId id) {
    while (program->objects.at[id].parent != 0) id = program->objects.at[id].parent;
    return program->objects.at[id].place != 0;
}

static void look_at_block(const Share *share, uint32_t first, uint32_t count) {
    uint8_t troubled[LANE_COUNT], states[LANE_COUNT];
    lanes_put_row(share->lanes, 1, first, count);
    lanes_run(share->lanes);
    lanes_uncomputed(share->lanes, share->program->places.at[1].object, troubled);
    for (uint32_t j = 0; j < share->program->judged.count; j++) {
        const Judged *judged = &share->program->judged.at[j];
        if (judged->kind == JUDGED_CAUTION || !belongs(share->program, judged->object)) continue;
        lanes_judge(share->lanes, j, states);
        for (uint32_t i = 0; i < LANE_COUNT; i++) troubled[i] |= states[i] < LANE_UNKNOWN;
    }
    for (uint32_t i = 0; i < count; i++) {
        if (!troubled[i]) share->well[share->group->positions[first + i]] = share->group->form;
    }
}

static void *look_at_share(void *context) {
    const Share *share = context;
    for (uint32_t first = share->first; first < share->end; first += LANE_COUNT) {
        look_at_block(share, first, share->end - first < LANE_COUNT ? share->end - first : LANE_COUNT);
    }
    return NULL;
}

static void look_at_group(Arena *arena, const World *world, Sources *sources, Model *model, const CardGroup *group, FormId *well) {
    Program *program = mould_of_cards(arena, world, sources, model, group);
    if (program == NULL) return;
    for (ObjectId id = 1; id < program->objects.count; id++) { /* written inside the card: looked at by itself */
        if (program->objects.at[id].parent != 0) return;
    }
    const Evaluation *base = evaluate(arena, program);
    uint32_t half = group->count / 2 / LANE_COUNT * LANE_COUNT;
    bool two = half >= THREAD_LEAST;
    Share shares[2] = {{lanes_open(arena, base), program, group, 0, two ? half : group->count, well},
                       {two ? lanes_open(arena, base) : NULL, program, group, half, group->count, well}};
    pthread_t helper;
    if (shares[0].lanes == NULL) return;
    bool helped = two && pthread_create(&helper, NULL, look_at_share, &shares[1]) == 0;
    look_at_share(&shares[0]);
    if (helped) pthread_join(helper, NULL);
    else if (two) look_at_share(&shares[1]);
}

FormId *cards_that_are_well(Arena *arena, const World *world, Sources *sources, Model *model, const AuditList *list) {
    FormId *well = ARENA_ARRAY(arena, FormId, list->count);
    Arena *scratch = arena_open_beside(arena);
    for (uint32_t first = 0; first < list->count; first += AT_ONCE) {
        uint32_t count = list->count - first < AT_ONCE ? list->count - first : AT_ONCE;
        Cards *cards = cards_gather(scratch, model, list->at + first, count);
        for (uint32_t g = 0; g < cards->groups.count; g++) {
            if (cards->groups.at[g]->count >= GROUP_LEAST) look_at_group(scratch, world, sources, model, cards->groups.at[g], well + first);
        }
        arena_clear(scratch);
    }
    arena_close(scratch);
    return well;
}
