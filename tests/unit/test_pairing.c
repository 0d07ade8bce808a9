/* Pairs of cards: verdicts side by side are those of every pair by itself; conditions from the command line. */
#include <glob.h>

#include "given.h"
#include "library/pairing.h"
#include "meaning/condition.h"
#include "pipeline.h"

/* ---- side by side ------------------------------------------------------------------------------------------------- */

static Text library; /* the text that stands for the libraries */

static WorldResult read_library(void *context, Arena *arena, Text path, Text *bytes) {
    (void)context;
    (void)path;
    *bytes = text_copy(arena, library);
    return WORLD_OK;
}

static WorldResult resolve_library(void *context, Arena *arena, Text path, Text *real) {
    (void)context;
    *real = text_copy(arena, path);
    return text_is(path, "library.trn") || text_is(path, ".") ? WORLD_OK : WORLD_MISSING;
}

static PairingCheck pairings(Arena *arena, bool reasons) {
    World world = world_of_system();
    world.read = read_library;
    world.resolve = resolve_library;
    Text path = TEXT("library.trn");
    const PairingRequest request = {.reasons = reasons};
    return pipeline_pairings(arena, &world, (LoadRequest){.paths = &path, .path_count = 1}, &request);
}

static Text demo(Arena *arena) {
    glob_t found;
    cr_assert_eq(glob("examples/jar-handler/parts/*.trn", 0, NULL, &found), 0);
    World world = world_of_system();
    TextBuilder all = text_builder(arena);
    for (size_t i = 0; i < found.gl_pathc; i++) {
        Text bytes;
        cr_assert_eq(world.read(world.context, arena, text_from(found.gl_pathv[i]), &bytes), WORLD_OK);
        text_add(&all, bytes);
    }
    globfree(&found);
    return text_built(&all);
}

/* Some figures get a digit more or become 0, some lines vanish. */
static Text spoil(Arena *arena, Text text, uint64_t *state, unsigned one_in) {
    TextBuilder out = text_builder(arena);
    for (size_t start = 0; start < text.length;) {
        size_t end = start;
        while (end < text.length && text.at[end] != '\n') end++;
        Text line = text_slice(text, start, end + 1);
        bool field = line.length > 2 && line.at[0] == ' ';
        uint64_t luck = field ? given_random(state) % one_in : 1;
        uint64_t how = given_random(state) % 3;
        size_t number = 0;
        while (number < line.length && !(line.at[number] >= '0' && line.at[number] <= '9')) number++;
        if (luck != 0) text_add(&out, line);
        else if (how == 0 && number < line.length) {
            text_add(&out, text_slice(line, 0, number));
            text_add_string(&out, number > 0 && line.at[number - 1] == ' ' ? "9" : "");
            text_add(&out, text_slice(line, number, line.length));
        }
        start = end + 1;
    }
    return text_built(&out);
}

Test(pairing, judges_side_by_side_what_it_judges_pair_by_pair) {
    Arena *kept = given_arena();
    uint64_t state = 20261125;
    Text whole = demo(kept);
    uint32_t judged[PAIR_VERDICT_COUNT] = {0}, mistakes = 0;
    for (int round = 0; round < 30; round++) {
        Arena *arena = given_arena();
        library = round == 0 ? whole : spoil(arena, whole, &state, 16u << round % 5);
        PairingCheck quick = pairings(arena, false), slow = pairings(arena, true);
        cr_assert_eq(quick.messages->errors, slow.messages->errors);
        cr_assert_eq(quick.pairings->tables.count, slow.pairings->tables.count);
        for (uint32_t t = 0; t < quick.pairings->tables.count; t++) {
            const PairTable *a = &quick.pairings->tables.at[t], *b = &slow.pairings->tables.at[t];
            cr_assert_eq(a->rows.count, b->rows.count);
            cr_assert_eq(a->columns.count, b->columns.count);
            for (uint32_t i = 0; i < a->rows.count * a->columns.count; i++) {
                cr_assert_eq(a->pairs[i].verdict, b->pairs[i].verdict, "round %d, table %u, pair %u", round, t, i);
                judged[a->pairs[i].verdict]++;
            }
        }
        mistakes += quick.messages->errors > 0;
        arena_close(arena);
    }
    for (int v = 0; v < PAIR_VERDICT_COUNT; v++) cr_assert_gt(judged[v], 500u, "verdict %d", v);
    cr_assert_gt(mistakes, 5u);
    arena_close(kept);
}

/* ---- conditions of the command line ------------------------------------------------------------------------------- */

typedef struct Typed {
    Arena *arena;
    Sources *sources;
    Messages *messages;
    Tree *tree;
    NodeId node;
} Typed;

static Typed typed(const char *words) {
    Typed typed = {.arena = given_arena()};
    typed.sources = sources_open(typed.arena);
    typed.messages = messages_open(typed.arena, typed.sources);
    typed.tree = tree_open(typed.arena, symbols_open(typed.arena), typed.sources);
    source_add(typed.sources, TEXT("before.trn"), TEXT("before.trn"), TEXT("-- a file that was read before\n"), SOURCE_NAMED);
    typed.node = condition_read(typed.arena, typed.sources, typed.tree, typed.messages, TEXT("--where"), text_from(words));
    source_add(typed.sources, TEXT("after.trn"), TEXT("after.trn"), TEXT("-- and one after\n"), SOURCE_NAMED);
    return typed;
}

Test(pairing, conditions_have_their_places_in_what_was_typed) {
    Typed fine = typed("motor.diameter <= 24 mm");
    cr_assert_neq(fine.node, 0u);
    cr_assert_eq(fine.messages->list.count, 0u);
    const Node *node = tree_node(fine.tree, fine.node);
    cr_assert_eq(node->kind, NODE_BINARY);
    cr_text(source_text(fine.sources, node->span), "motor.diameter <= 24 mm");
    cr_text(source_text(fine.sources, tree_node(fine.tree, node->b)->span), "24 mm");
    Place place = source_place(fine.sources, tree_node(fine.tree, node->b)->span.start);
    cr_text(place.source->path, "--where");
    cr_assert_eq(place.line, 1u);
    cr_assert_eq(place.column, 19u);
    cr_text(place.source->bytes, "motor.diameter <= 24 mm");
    arena_close(fine.arena);
}

Test(pairing, what_is_not_one_condition_is_refused_once) {
    static const char *const wrong[] = {"", " ", "}", "a }", "a } requirement b { shall c", "a shall b", "a should b", "a from none \"x\"", "(a", "a <", "a <= ",
                                        "-- a", "\"a", "a b", "a\n}\nform x { given y : z", "a method test", "1 <", "{", "a = b = c", ")", "when a"};
    for (unsigned i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        Typed given = typed(wrong[i]);
        cr_assert_eq(given.node, 0u, "%s", wrong[i]);
        cr_assert_geq(given.messages->errors, 1u, "%s", wrong[i]);
        cr_assert_leq(given.messages->errors, 2u, "%s", wrong[i]);
        for (uint32_t m = 0; m < given.messages->list.count; m++) {
            Span span = given.messages->list.at[m].span;
            if (span.start != 0) cr_text(source_place(given.sources, span.start).source->path, "--where");
        }
        cr_assert_gt(messages_render(given.arena, given.messages).length, 0u);
        arena_close(given.arena);
    }
}
