/* The audit: the short cut for cards that are in order finds what looking at every card finds; slips. */
#include <glob.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "given.h"
#include "library/audit_words.h"

typedef struct Given {
    Arena *arena;
    World world;
    Sources *sources;
    Symbols *symbols;
    Messages *messages;
    Model *model;
} Given;

static Text spoilt; /* the text that stands for the library */

static WorldResult read_spoilt(void *context, Arena *arena, Text path, Text *bytes) {
    (void)context;
    (void)path;
    *bytes = text_copy(arena, spoilt);
    return WORLD_OK;
}

static WorldResult resolve_spoilt(void *context, Arena *arena, Text path, Text *real) {
    (void)context;
    *real = text_copy(arena, path);
    return text_is(path, "spoilt.trn") || text_is(path, ".") ? WORLD_OK : WORLD_MISSING;
}

static Audit *audit(Given *given, bool one_by_one) {
    given->arena = given_arena();
    given->world = world_of_system();
    given->world.read = read_spoilt;
    given->world.resolve = resolve_spoilt;
    given->sources = sources_open(given->arena);
    given->symbols = symbols_open(given->arena);
    given->messages = messages_open(given->arena, given->sources);
    Tree *tree = tree_open(given->arena, given->symbols, given->sources);
    Text path = TEXT("spoilt.trn");
    LoadRequest request = {.paths = &path, .path_count = 1};
    Loaded *loaded = load_files(given->arena, &given->world, given->sources, tree, given->messages, request);
    given->model = model_open(given->arena, loaded, given->symbols, given->messages);
    return audit_cards(given->arena, &given->world, given->sources, given->model, (AuditRequest){.one_by_one = one_by_one});
}

/* The motors, encoders and gearheads of the demo in one text; `use` first. */
static Text demo(Arena *arena) {
    glob_t found;
    cr_assert_eq(glob("examples/jar-handler/parts/*.trn", 0, NULL, &found), 0);
    World world = world_of_system();
    TextBuilder all = text_builder(arena);
    for (size_t i = 0; i < found.gl_pathc; i++) {
        Text bytes;
        cr_assert_eq(world.read(world.context, arena, text_from(found.gl_pathv[i]), &bytes), WORLD_OK);
        text_add(&all, bytes);
        text_add_char(&all, '\n');
    }
    globfree(&found);
    return text_built(&all);
}

/* Some figures get a digit more, or lose their point. */
static Text spoil(Arena *arena, Text text, uint64_t *state, unsigned one_in) {
    TextBuilder out = text_builder(arena);
    for (size_t i = 0; i < text.length; i++) {
        text_add_char(&out, text.at[i]);
        bool digit = text.at[i] >= '0' && text.at[i] <= '9', last = i + 1 < text.length && text.at[i + 1] == ' ';
        size_t line = i;
        while (line > 0 && text.at[line - 1] != '\n') line--;
        if (digit && last && text.at[line] == ' ' && given_random(state) % one_in == 0) text_add_char(&out, '0');
    }
    return text_built(&out);
}

Test(audit, finds_with_the_short_cut_what_it_finds_card_by_card) {
    Arena *arena = given_arena();
    uint64_t state = 20261125;
    Text whole = demo(arena);
    uint32_t findings = 0, clean = 0;
    for (int round = 0; round < 40; round++) {
        spoilt = round == 0 ? whole : spoil(arena, whole, &state, 4u << round % 5);
        Given quick = {0}, slow = {0};
        Audit *a = audit(&quick, false), *b = audit(&slow, true);
        cr_assert_eq(a->cards, b->cards);
        cr_assert_eq(a->findings.count, b->findings.count);
        cr_assert_eq(a->missing.count, b->missing.count);
        cr_assert_eq(quick.messages->list.count, slow.messages->list.count);
        for (uint32_t i = 0; i < a->findings.count; i++) {
            AuditWords x = audit_words(quick.arena, a, &a->findings.at[i]), y = audit_words(slow.arena, b, &b->findings.at[i]);
            cr_assert_eq(x.line, y.line);
            cr_assert(text_equal(x.name, y.name) && text_equal(x.sentence, y.sentence) && text_equal(x.card, y.card));
        }
        for (uint32_t i = 0; i < a->missing.count; i++) {
            cr_assert_eq(a->missing.at[i].cards, b->missing.at[i].cards);
            cr_assert_eq(a->missing.at[i].worth, b->missing.at[i].worth);
        }
        for (uint32_t i = 0; i < a->forms.count; i++) clean += a->forms.at[i].clean;
        if (round == 0) cr_assert_eq(a->findings.count, 0u);
        findings += a->findings.count;
        arena_close(quick.arena);
        arena_close(slow.arena);
    }
    cr_assert_gt(findings, 100u, "%u findings are too few to tell", findings);
    cr_assert_gt(clean, 100u, "%u clean cards are too few to tell", clean);
    arena_close(arena);
}

/* `number` in `unit` where `right` (in that unit) is due: the first slip that is thought of. */
static Slip first_slip(Given *given, const char *digits, const char *unit, const char *kind, double right) {
    Vocabulary *vocabulary = given->model->vocabulary;
    Written written = {.number = strtod(digits, NULL), .digits = text_from(digits)};
    written.unit = vocabulary_known_unit(vocabulary, symbol_of(given->symbols, text_from(unit)));
    written.kind = vocabulary_kind(vocabulary, symbol_of(given->symbols, text_from(kind)));
    cr_assert(written.unit != 0 && written.kind != 0, "%s, %s", unit, kind);
    written.measure = measure_of_kind(vocabulary, written.kind);
    Slip slips[SLIP_MOST];
    double si = right * unit_of(vocabulary, written.unit)->factor;
    uint32_t count = slips_of(vocabulary, given->symbols, given->arena, &written, si, slips);
    for (uint32_t i = 0; i < count; i++) cr_assert_float_eq(slip_value(vocabulary, &written, &slips[i]) / si, 1, 0.3);
    return count > 0 ? slips[0] : (Slip){0};
}

Test(audit, knows_how_misprints_come_about) {
    Given given = {0};
    spoilt = TEXT("-- nothing\n");
    audit(&given, false);
    cr_assert_eq(first_slip(&given, "46.2", "A", "current", 4.62).kind, SLIP_POINT);
    cr_assert_eq(first_slip(&given, "115", "N·m", "torque", 0.115).kind, SLIP_PREFIX);
    Slip slip = first_slip(&given, "115", "N·m", "torque", 0.115);
    cr_text(symbol_text(given.symbols, unit_of(given.model->vocabulary, slip.unit)->text), "mN·m");
    cr_assert_eq(first_slip(&given, "9030", "rad/s", "angular-velocity", 945.6).kind, SLIP_UNIT); /* 9030 rpm is 945.6 rad/s */
    cr_assert_eq(first_slip(&given, "0.00264", "rpm/V", "speed-constant", 379).kind, SLIP_RECIPROCAL);
    cr_assert_eq(first_slip(&given, "8.39", "Ω", "resistance", 8.93).kind, SLIP_DIGITS);
    cr_assert_eq(first_slip(&given, "2.83", "A", "current", 2).kind, SLIP_CURRENT); /* 2 · √2 */
    cr_assert_eq(first_slip(&given, "2.83", "mm", "length", 2).kind, SLIP_NONE); /* no current in a length */
    cr_assert_eq(first_slip(&given, "3.3", "A", "current", 2).kind, SLIP_NONE);
    cr_assert_eq(first_slip(&given, "0", "A", "current", 2).kind, SLIP_NONE);
    cr_assert_eq(first_slip(&given, "5", "A", "current", -2).kind, SLIP_NONE);
    arena_close(given.arena);
}
