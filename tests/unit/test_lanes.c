/* Moulds and lanes: for each card of the demo's library, and for the same cards with figures put wrong at random, what the
 * lanes say of every condition is what the card's own check says; and the mould, run card by card, says the same. */
#include <glob.h>
#include <math.h>
#include <stdlib.h>

#include "compute/lanes.h"
#include "given.h"
#include "plan/mould.h"
#include "verdict/judge.h"

typedef struct Library {
    Arena *arena;
    World world;
    Sources *sources;
    Symbols *symbols;
    Messages *messages;
    Model *model;
    VECTOR(NodeId) cards;
} Library;

/* Standard library, and the parts of the jar handler. */
static void open_library(Library *library) {
    glob_t found;
    library->arena = given_arena();
    library->world = world_of_system();
    library->sources = sources_open(library->arena);
    library->symbols = symbols_open(library->arena);
    library->messages = messages_open(library->arena, library->sources);
    cr_assert_eq(glob("examples/jar-handler/parts/*.trn", 0, NULL, &found), 0);
    Text *paths = ARENA_ARRAY(library->arena, Text, found.gl_pathc);
    for (size_t i = 0; i < found.gl_pathc; i++) paths[i] = text_copy(library->arena, text_from(found.gl_pathv[i]));
    Tree *tree = tree_open(library->arena, library->symbols, library->sources);
    LoadRequest request = {.paths = paths, .path_count = (uint32_t)found.gl_pathc};
    Loaded *loaded = load_files(library->arena, &library->world, library->sources, tree, library->messages, request);
    globfree(&found);
    library->model = model_open(library->arena, loaded, library->symbols, library->messages);
    for (uint32_t f = 0; f < loaded->files.count; f++) {
        if (loaded->files.at[f].source->origin != SOURCE_NAMED) continue;
        for (NodeId item = loaded->files.at[f].first_item; item != 0; item = tree_node(tree, item)->next) {
            if (tree_node(tree, item)->kind == NODE_FILLED) VECTOR_PUSH(library->arena, &library->cards, item);
        }
    }
    cr_assert_eq(library->messages->errors, 0u);
}

static uint64_t id_of(Library *library, Text path, Text name) {
    Text parts[2] = {path, name};
    return symbol_of(library->symbols, text_fill(library->arena, TEXT("{0}.{1}"), parts, 2));
}

/* Every finding of the whole library's own check, by its name; agreements and rules of one card have different names. */
static Map check_each(Library *library) {
    Program *program = plan_build(library->arena, &library->world, library->sources, library->model, (PlanRequest){.scope = PLAN_NAMED});
    Evaluation *evaluation = evaluate(library->arena, program);
    JudgeOptions options = {.nominal_only = true, .verdicts_only = true};
    Result *result = judge_all(library->arena, &library->world, evaluation, library->messages, options);
    Map verdicts = map_open(library->arena);
    for (uint32_t i = 0; i < result->findings.count; i++) {
        const Finding *finding = &result->findings.at[i];
        uint64_t key = (uint64_t)symbol_of(library->symbols, finding->id) << 1 | finding->advice;
        map_set(&verdicts, key, (uint32_t)finding->verdict);
    }
    return verdicts;
}

static uint64_t key_of(Library *library, const Program *program, const Judged *judged, NodeId card) {
    const Tree *tree = library->model->tree;
    Text name = model_name(library->model, tree_node(tree, judged->node)->name);
    (void)program;
    return id_of(library, model_name(library->model, tree_node(tree, card)->name), name) << 1 | judged->advice;
}

static LaneState expected_state(uint32_t verdict, LaneState found) {
    switch (verdict) {
    case VERDICT_MET: return LANE_HOLDS;
    case VERDICT_NOT_MET: return LANE_FAILS;
    case VERDICT_OPEN: return found == LANE_UNCOMPUTED ? LANE_UNCOMPUTED : LANE_UNKNOWN;
    default: return LANE_IDLE;
    }
}

Test(lanes, say_of_each_card_what_its_own_check_says) {
    Library library = {0};
    open_library(&library);
    Map verdicts = check_each(&library);
    Cards *cards = cards_gather(library.arena, library.model, library.cards.at, library.cards.count);
    uint32_t compared = 0, groups = 0;
    for (uint32_t g = 0; g < cards->groups.count; g++) {
        const CardGroup *group = cards->groups.at[g];
        Program *program = mould_of_cards(library.arena, &library.world, library.sources, library.model, group);
        cr_assert_not_null(program, "%.*s", (int)model_name(library.model, library.model->forms.at[group->form].name).length, model_name(library.model, library.model->forms.at[group->form].name).at);
        Lanes *lanes = lanes_open(library.arena, evaluate(library.arena, program));
        cr_assert_not_null(lanes);
        groups++;
        for (uint32_t first = 0; first < group->count; first += LANE_COUNT) {
            uint32_t count = group->count - first < LANE_COUNT ? group->count - first : LANE_COUNT;
            lanes_put_row(lanes, 1, first, count);
            lanes_run(lanes);
            for (uint32_t j = 0; j < program->judged.count; j++) {
                const Judged *judged = &program->judged.at[j];
                if (judged->kind == JUDGED_CAUTION || program->objects.at[judged->object].place == 0) continue;
                uint8_t states[LANE_COUNT];
                lanes_judge(lanes, j, states);
                for (uint32_t i = 0; i < count; i++) {
                    uint64_t key = key_of(&library, program, judged, group->cards[first + i]);
                    uint32_t verdict = map_get(&verdicts, key, VERDICT_COUNT);
                    cr_assert_eq(states[i], expected_state(verdict, (LaneState)states[i]), "%.*s: %d, and by itself %u",
                                 (int)symbol_text(library.symbols, (Symbol)(key >> 1)).length, symbol_text(library.symbols, (Symbol)(key >> 1)).at, states[i], verdict);
                    compared++;
                }
            }
        }
    }
    cr_assert_geq(compared, 300u, "only %u", compared);
    cr_assert_geq(groups, 8u);
    cr_assert_eq(cards->odd.count, 0u);
    arena_close(library.arena);
}

/* The mould as the judge sees it, with these inputs. */
static LaneState state_by_itself(Arena *arena, Library *library, Program *program, const Judged *judged, Evaluation *evaluation) {
    Judge judge = {.arena = arena, .program = program, .model = library->model, .evaluation = evaluation, .silent = true};
    const Computed *when = judged->when ? &evaluation->values[judged->when] : NULL;
    if (judged->kind == JUDGED_AGREEMENT) {
        StepId formula = program->objects.at[judged->object].slots[judged->slot].agreement;
        if (evaluation->values[formula].state == COMPUTED_UNKNOWN) return LANE_IDLE;
    }
    if (when && when->state == COMPUTED_NUMBER && when->number == 0) return LANE_IDLE;
    if (when && when->state != COMPUTED_NUMBER) return when->state == COMPUTED_UNKNOWN ? LANE_UNKNOWN : LANE_UNCOMPUTED;
    switch (judge_condition(&judge, judged->shall).state) {
    case OUTCOME_HOLDS: return LANE_HOLDS;
    case OUTCOME_FAILS: return LANE_FAILS;
    case OUTCOME_UNKNOWN: return LANE_UNKNOWN;
    case OUTCOME_UNCOMPUTED: break;
    }
    return LANE_UNCOMPUTED;
}

Test(lanes, run_as_the_program_does_with_figures_put_wrong) {
    static const double factors[] = {10, 0.1, -1, 0, 1e3, 1.04, 0.5, 1e200};
    Library library = {0};
    open_library(&library);
    Cards *cards = cards_gather(library.arena, library.model, library.cards.at, library.cards.count);
    uint64_t random = 20261125;
    uint32_t seen[5] = {0};
    for (uint32_t g = 0; g < cards->groups.count; g++) {
        const CardGroup *group = cards->groups.at[g];
        for (int round = 0; round < 6; round++) {
            /* Half of the figures of a round stay, some are put wrong, some are left out. */
            for (uint32_t f = 0; f < group->facts.count; f++) {
                double *values = (double *)group->facts.at[f].values;
                const Member *member = &library.model->forms.at[group->form].members.at[group->facts.at[f].slot];
                bool optional = member->class == NODE_MAYBE || member->formula != 0;
                if (optional && group->facts.at[f].word == CARD_WHOLE) group->facts.at[f].everywhere = false;
                bool number = library.model->forms.at[group->form].members.at[group->facts.at[f].slot].type.class == TYPE_QUANTITY;
                for (uint32_t i = 0; i < group->count; i++) {
                    uint64_t draw = given_random(&random) % 40;
                    if (number && draw < 8) values[i] *= factors[draw];
                    else if (!group->facts.at[f].everywhere && (draw == 8 || draw == 9) && group->facts.at[f].word == CARD_WHOLE) values[i] = NAN;
                }
            }
            Program *program = mould_of_cards(library.arena, &library.world, library.sources, library.model, group);
            Evaluation *base = evaluate(library.arena, program);
            Lanes *lanes = lanes_open(library.arena, base);
            double *inputs = ARENA_ARRAY(library.arena, double, program->constants.count);
            for (uint32_t c = 0; c < program->constants.count; c++) inputs[c] = program->constants.at[c].nominal;
            uint32_t count = group->count < LANE_COUNT ? group->count : LANE_COUNT;
            for (uint32_t i = 0; i < count; i++) lanes_put(lanes, i, 1, i);
            lanes_run(lanes);
            StepId *cone = ARENA_ARRAY(library.arena, StepId, program->steps.count);
            for (StepId id = 1; id < program->steps.count; id++) cone[id - 1] = id;
            Variation *variation = variation_open(library.arena, base);
            Arena *values = arena_open_beside(library.arena);
            variation_take(variation, values, cone, program->steps.count - 1);
            for (uint32_t i = 0; i < count; i++) {
                mould_fill(program, inputs, 1, i);
                variation_run(variation, inputs);
                for (uint32_t j = 0; j < program->judged.count; j++) {
                    const Judged *judged = &program->judged.at[j];
                    uint8_t states[LANE_COUNT];
                    if (judged->kind == JUDGED_CAUTION) continue;
                    lanes_judge(lanes, j, states);
                    LaneState alone = state_by_itself(library.arena, &library, program, judged, variation->now);
                    cr_assert_eq(states[i], alone, "group %u round %d card %u condition %u: %d, and alone %d", g, round, i, j, states[i], alone);
                    seen[alone]++;
                }
            }
            arena_close(values);
        }
    }
    for (int s = 0; s < 5; s++) { /* the rules of cards ask first what is stated: hardly any is unknown */
        if (s != LANE_UNKNOWN) cr_assert_geq(seen[s], 20u, "state %d only %u times", s, seen[s]);
    }
    arena_close(library.arena);
}
