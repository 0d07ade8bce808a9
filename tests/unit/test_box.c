/* The quick search finds what trying every set finds: on small libraries drawn at random, whose cards state now this and now that,
 * of several forms, some by a formula, some with a mistake. */
#include <math.h>
#include <stdio.h>

#include "choose/shortlist.h"
#include "given_check.h"

typedef struct Drawn {
    uint64_t state;
    TextBuilder text;
} Drawn;

static unsigned draw(Drawn *drawn, unsigned count) { return (unsigned)(given_random(&drawn->state) % count); }

/* Between two values, spread by ratio; three digits. */
static double between(Drawn *drawn, double low, double high) {
    double share = (double)(given_random(&drawn->state) >> 11) / 9007199254740992.0;
    return low * pow(high / low, share);
}

static void add(Drawn *drawn, const char *format, double value) {
    char line[200];
    snprintf(line, sizeof line, format, value);
    text_add_string(&drawn->text, line);
}

static void draw_motor(Drawn *drawn, unsigned number) {
    bool brushless = draw(drawn, 3) == 0;
    double k = between(drawn, 0.006, 0.06), r = between(drawn, 0.3, 9), i0 = between(drawn, 0.005, 0.1);
    add(drawn, brushless ? "brushless-motor Plover-%.0f { pole-pairs = 4 hall-switches = yes" : "dc-motor Plover-%.0f {", number);
    add(drawn, " nominal-voltage = 24 V resistance = %.3g Ω", r);
    if (draw(drawn, 12) == 0) add(drawn, " torque-constant = 2 * %.3g mN·m/A", k * 500);
    else add(drawn, " torque-constant = %.3g mN·m/A", k * 1e3);
    if (draw(drawn, 3)) add(drawn, " no-load-current = %.3g mA", i0 * 1e3);
    if (draw(drawn, 3) == 0) add(drawn, " speed-constant = %.3g rpm/V", 60 / (2 * 3.14159265358979 * k) * (draw(drawn, 8) ? 1 : 10));
    if (draw(drawn, 2)) add(drawn, " inductance = %.3g mH", between(drawn, 0.02, 1));
    if (draw(drawn, 2)) add(drawn, " diameter = %.3g mm", between(drawn, 16, 34));
    if (draw(drawn, 2)) add(drawn, " mass = %.3g g", between(drawn, 40, 300));
    if (!brushless && draw(drawn, 2)) text_add_string(&drawn->text, draw(drawn, 2) ? " brushes = graphite" : " brushes = precious-metal");
    add(drawn, " rotor-inertia = %.3g g·cm²", between(drawn, 2, 60));
    add(drawn, " maximum-speed = %.3g rpm", between(drawn, 5000, 20000));
    add(drawn, " winding-to-housing = %.3g K/W", between(drawn, 1, 8));
    add(drawn, " housing-to-ambient = %.3g K/W", between(drawn, 4, 20));
    add(drawn, " winding-time-constant = %.3g s housing-time-constant = 700 s", between(drawn, 5, 40));
    add(drawn, " greatest-winding-temperature = %.0f °C", draw(drawn, 2) ? 125 : 100);
    if (draw(drawn, 25) == 0) text_add_string(&drawn->text, " colour = 3 mm");
    text_add_string(&drawn->text, " }\n");
}

static void draw_gearhead(Drawn *drawn, unsigned number) {
    add(drawn, "gearhead Fen-%.0f {", number);
    add(drawn, " ratio = %.3g", between(drawn, 3, 30));
    add(drawn, " stages = %.0f", draw(drawn, 2) + 1);
    add(drawn, " efficiency = %.3g %%", between(drawn, 70, 95));
    double torque = between(drawn, 0.3, 6);
    add(drawn, " continuous-torque = %.3g N·m", torque);
    add(drawn, " intermittent-torque = %.3g N·m", 1.5 * torque);
    add(drawn, " continuous-input-speed = %.3g rpm", between(drawn, 6000, 14000));
    if (draw(drawn, 2)) text_add_string(&drawn->text, " intermittent-input-speed = 15000 rpm");
    add(drawn, " inertia = %.3g g·cm²", between(drawn, 0.3, 5));
    add(drawn, " backlash = %.3g deg", between(drawn, 0.2, 2));
    if (draw(drawn, 2)) add(drawn, " diameter = %.3g mm", between(drawn, 16, 40));
    if (draw(drawn, 2)) add(drawn, " mass = %.3g g", between(drawn, 40, 300));
    text_add_string(&drawn->text, " }\n");
}

static void draw_drive(Drawn *drawn, unsigned number) {
    static const char *const types[] = {"brushed", "brushless", "brushed, brushless"};
    add(drawn, "drive Finch-%.0f { motor-types = ", number);
    text_add_string(&drawn->text, types[draw(drawn, 3)]);
    add(drawn, " lowest-supply = 10 V highest-supply = %.0f V", draw(drawn, 5) ? 48 : 24);
    double current = between(drawn, 0.8, 10);
    add(drawn, " continuous-current = %.3g A", current);
    add(drawn, " peak-current = %.3g A peak-time = 3 s", 2 * current);
    if (draw(drawn, 2)) add(drawn, " switching-frequency = %.3g kHz", between(drawn, 20, 90));
    if (draw(drawn, 3) == 0) text_add_string(&drawn->text, " derating = table { 20 °C: 100 %; 60 °C: 40 % }");
    if (draw(drawn, 2)) text_add_string(&drawn->text, " buses = CANopen, EtherCAT");
    text_add_string(&drawn->text, " safety-functions = STO feedback-types = hall-switches, incremental feedback-interfaces = switch-signals, quadrature }\n");
}

static Text draw_specification(Arena *arena, uint64_t seed) {
    Drawn drawn = {seed * 77773 + 1, text_builder(arena)};
    text_add_string(&drawn.text, "use \"axis.trn\"\nuse \"transmissions.trn\"\n");
    unsigned motors = 3 + draw(&drawn, 9), gearheads = 2 + draw(&drawn, 5), drives = 1 + draw(&drawn, 4);
    for (unsigned i = 0; i < motors; i++) draw_motor(&drawn, i);
    for (unsigned i = 0; i < gearheads; i++) draw_gearhead(&drawn, i);
    for (unsigned i = 0; i < drives; i++) draw_drive(&drawn, i);
    add(&drawn, "cycle passing { move 300 mm in %.3g s", between(&drawn, 0.4, 1.5));
    text_add_string(&drawn.text, draw(&drawn, 2) ? " by cycloidal" : "");
    text_add_string(&drawn.text, " hold 1 s move -300 mm in 1 s hold 1 s }\n");
    add(&drawn, "slide pane { motion = passing mass = %.3g kg guide-friction = 6 N }\n", between(&drawn, 0.5, 6));
    text_add_string(&drawn.text, "belt-drive belt { load = pane tooth-pitch = 3 mm pulley-teeth = 24 pulley-inertia = 54 g·cm² own-inertia = 54 g·cm² efficiency = 95 % }\n"
                                 "gearhead-stage gear { load = belt gearhead = any gearhead where ratio <= 25 }\n"
                                 "supply Rowan-24 { voltage = 24 V continuous-current = 20 A takes-back = yes }\n"
                                 "axis hatch { stage = gear motor = any motor drive = any drive supply = Rowan-24 ambient = 30 °C }\n"
                                 "requirement H-1 \"It is not heard\" { shall peak(hatch.speed) <= 9000 rpm from none \"a test\" }\n");
    if (draw(&drawn, 2)) add(&drawn, "requirement H-2 \"It takes little\" { shall mean(hatch.supply-power) <= %.3g W from none \"a test\" }\n", between(&drawn, 3, 30));
    if (draw(&drawn, 2)) text_add_string(&drawn.text, "requirement H-3 \"It is light\" { shall hatch.motor.mass <= 200 g from none \"a test\" }\n");
    if (draw(&drawn, 2)) text_add_string(&drawn.text, "requirement H-4 \"It stays cool\" { shall peak(hatch.housing-temperature) <= 70 °C from none \"a test\" }\n"
                                                      "concession C-1 \"A hot housing\" { covers H-4 by \"a test\" because \"a test\" until \"2031-01-01\" }\n");
    return text_built(&drawn.text);
}

static Shortlist *find(GivenCheck *check, Text text, ShortlistWay way, const char *by) {
    Arena *arena = check->arena;
    Sources *sources = sources_open(arena);
    Symbols *symbols = symbols_open(arena);
    Messages *messages = messages_open(arena, sources);
    Tree *tree = tree_open(arena, symbols, sources);
    GivenFile *files = ARENA_ARRAY(arena, GivenFile, 2);
    files[0] = (GivenFile){"x.trn", text_zero_ended(arena, text)};
    check->files = files;
    check->world = given_world(check);
    Text path = TEXT("x.trn");
    LoadRequest load = {.paths = &path, .path_count = 1};
    Model *model = model_open(arena, load_files(arena, &check->world, sources, tree, messages, load), symbols, messages);
    ShortlistRequest request = {.axis = TEXT("hatch"), .by = text_from(by), .most = 1000, .nominal_only = true, .today = TEXT("2026-11-02"), .way = way};
    return shortlist_find(arena, &check->world, sources, model, request);
}

static uint32_t compare(const Shortlist *plain, const Shortlist *quick, uint64_t seed) {
    cr_assert_eq(plain->working, quick->working, "seed %llu: %llu sets work, and by boxes %llu", (unsigned long long)seed, (unsigned long long)plain->working, (unsigned long long)quick->working);
    cr_assert_eq(plain->best.count, quick->best.count);
    for (uint32_t k = 0; k < plain->best.count; k++) {
        const ShortlistSet *a = &plain->best.at[k], *b = &quick->best.at[k];
        for (uint32_t i = 0; i < plain->slots.count; i++) {
            cr_assert(text_equal(a->parts[i], b->parts[i]), "seed %llu, place %u: %.*s and %.*s", (unsigned long long)seed, k, (int)a->parts[i].length, a->parts[i].at, (int)b->parts[i].length, b->parts[i].at);
        }
        cr_assert(text_equal(a->margin_shown, b->margin_shown) && text_equal(a->tightest, b->tightest), "seed %llu, place %u", (unsigned long long)seed, k);
        cr_assert_eq(a->remarks.count, b->remarks.count);
    }
    uint64_t missed = 0;
    for (uint32_t i = 0; i < quick->misses.count; i++) missed += quick->misses.at[i].count;
    cr_assert_eq(quick->all, quick->working + missed, "seed %llu: every set works or falls to one thing: %llu, %llu, %llu", (unsigned long long)seed,
                 (unsigned long long)quick->all, (unsigned long long)quick->working, (unsigned long long)missed);
    cr_assert_eq(quick->done, quick->all);
    return plain->best.count;
}

Test(box, finds_what_trying_every_set_finds) {
    uint32_t working = 0, with_some = 0;
    for (uint64_t seed = 1; seed <= 60; seed++) {
        Arena *arena = given_arena();
        Text text = draw_specification(arena, seed);
        GivenCheck plain = {.arena = arena}, quick = {.arena = arena};
        const char *by = seed % 3 == 0 ? "mass" : seed % 3 == 1 ? "margin" : "peak(supply-power)";
        uint32_t found = compare(find(&plain, text, SHORTLIST_ONE_BY_ONE, by), find(&quick, text, SHORTLIST_BY_BOXES, by), seed);
        working += found;
        with_some += found > 0;
        arena_close(arena);
    }
    cr_assert_geq(working, 50u, "only %u sets worked", working);
    cr_assert_geq(with_some, 10u, "only %u libraries had sets that work", with_some);
}
