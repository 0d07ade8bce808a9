/* Ranges of a mould for several of its cards: what each card comes to lies in them. Facts that only some cards state, words, and
 * the question whether a fact is stated are part of it. */
#include <glob.h>

#include "plan/mould.h"
#include "range_check.h"

typedef struct CardLibrary {
    Arena *arena;
    World world;
    Sources *sources;
    Messages *messages;
    Model *model;
    Cards *cards;
} CardLibrary;

static void open_cards(CardLibrary *library) {
    glob_t found;
    library->arena = given_arena();
    library->world = world_of_system();
    library->sources = sources_open(library->arena);
    library->messages = messages_open(library->arena, library->sources);
    Symbols *symbols = symbols_open(library->arena);
    cr_assert_eq(glob("examples/jar-handler/parts/*.trn", 0, NULL, &found), 0);
    Text *paths = ARENA_ARRAY(library->arena, Text, found.gl_pathc);
    for (size_t i = 0; i < found.gl_pathc; i++) paths[i] = text_copy(library->arena, text_from(found.gl_pathv[i]));
    Tree *tree = tree_open(library->arena, symbols, library->sources);
    LoadRequest request = {.paths = paths, .path_count = (uint32_t)found.gl_pathc};
    Loaded *loaded = load_files(library->arena, &library->world, library->sources, tree, library->messages, request);
    globfree(&found);
    library->model = model_open(library->arena, loaded, symbols, library->messages);
    VECTOR(NodeId) cards = {0};
    for (uint32_t f = 0; f < loaded->files.count; f++) {
        if (loaded->files.at[f].source->origin != SOURCE_NAMED) continue;
        for (NodeId item = loaded->files.at[f].first_item; item != 0; item = tree_node(tree, item)->next) {
            if (tree_node(tree, item)->kind == NODE_FILLED) VECTOR_PUSH(library->arena, &cards, item);
        }
    }
    library->cards = cards_gather(library->arena, library->model, cards.at, cards.count);
}

typedef struct CardBox {
    uint32_t *varied, count;
    double *lows, *highs;
    uint8_t *flags;
} CardBox;

static CardBox box_of_places(Arena *arena, const Program *program) {
    uint32_t count = program->place_facts.count;
    CardBox box = {ARENA_ARRAY(arena, uint32_t, count), count, ARENA_ARRAY(arena, double, count), ARENA_ARRAY(arena, double, count), arena_take(arena, count)};
    for (uint32_t i = 0; i < count; i++) box.varied[i] = program->place_facts.at[i].constant;
    return box;
}

/* The hull of the facts of some cards. */
static void enclose(const Program *program, const CardGroup *group, const uint32_t *cards, uint32_t card_count, CardBox *box) {
    for (uint32_t i = 0; i < box->count; i++) {
        const double *values = group->facts.at[program->place_facts.at[i].fact].values;
        box->lows[i] = INFINITY;
        box->highs[i] = -INFINITY;
        box->flags[i] = 0;
        for (uint32_t k = 0; k < card_count; k++) {
            double value = values[cards[k]];
            box->flags[i] |= isnan(value) ? RANGE_UNKNOWN : RANGE_NUMBER;
            if (isnan(value)) continue;
            box->lows[i] = fmin(box->lows[i], value);
            box->highs[i] = fmax(box->highs[i], value);
        }
    }
}

static void try_cards(CardLibrary *library, const CardGroup *group, RangeCheck *check, uint64_t *state) {
    Program *program = mould_of_cards(library->arena, &library->world, library->sources, library->model, group);
    cr_assert_not_null(program);
    CardBox box = box_of_places(library->arena, program);
    Judge judge = {.program = program, .model = program->model, .messages = library->messages};
    double *inputs = ARENA_ARRAY(library->arena, double, program->constants.count);
    for (uint32_t i = 0; i < program->constants.count; i++) inputs[i] = program->constants.at[i].nominal;
    check->program = program;
    check->range = range_open(library->arena, evaluate(library->arena, program), box.varied, box.count, 4);
    for (int b = 0; b < 12; b++) {
        uint32_t cards[4], count = 1 + (uint32_t)(given_random(state) % 4);
        for (uint32_t k = 0; k < count; k++) cards[k] = (uint32_t)(given_random(state) % group->count);
        enclose(program, group, cards, count, &box);
        range_run(check->range, box.lows, box.highs, box.flags);
        for (uint32_t k = 0; k < count; k++) {
            Arena *scratch = given_arena();
            mould_fill(program, inputs, 1, cards[k]);
            for (uint32_t i = 0; i < program->constants.count; i++) program->constants.at[i].nominal = inputs[i];
            check->member = evaluate(scratch, program);
            judge.arena = scratch;
            range_check_conditions(check, &judge);
            range_check_steps(check);
            arena_close(scratch);
        }
    }
}

Test(range_cards, every_card_lies_in_the_box_of_several) {
    CardLibrary library = {0};
    uint64_t state = 88172645463325252u;
    open_cards(&library);
    RangeCheck check = {.what = "cards of the jar handler"};
    for (uint32_t g = 0; g < library.cards->groups.count; g++) try_cards(&library, library.cards->groups.at[g], &check, &state);
    cr_assert(library.cards->groups.count > 5 && check.numbers > 10000 && check.absent > 1000);
    for (int i = 0; i < 3; i++) cr_assert(check.verdicts[i] > 0, "verdict %d is never given", i);
    arena_close(library.arena);
}
