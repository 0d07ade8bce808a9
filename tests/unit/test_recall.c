/* Values and gradients that are recalled, against the same program run by itself at the same inputs: equal to the last bit. */
#include "compute/recall.h"

#include <string.h>

#include "given_check.h"
#include "given_random_axis.h"

typedef struct Recalling {
    Arena *arena;
    Program *program;
    const Evaluation *base;
    StepId *cone; /* all that rests on bounds */
    uint32_t cone_count;
    Variation *variation;
    Gradient *gradient, *alone;
    Arena *values, *tangents;
    uint64_t random;
    uint32_t runs, compared, slopes;
} Recalling;

static void open_recalling(Recalling *r, Arena *arena, Program *program, const Evaluation *base) {
    *r = (Recalling){.arena = arena, .program = program, .base = base, .random = 20261125};
    r->cone = ARENA_ARRAY(arena, StepId, program->steps.count);
    for (StepId id = 1; id < program->steps.count; id++) {
        if (base->bounded[id]) r->cone[r->cone_count++] = id;
    }
    r->values = arena_open_beside(arena);
    r->tangents = arena_open_beside(arena);
    r->variation = variation_open(arena, base);
    variation_recall(r->variation, arena, r->values);
    r->gradient = gradient_open(arena, program);
    gradient_recall(r->gradient, r->tangents);
    r->alone = gradient_open(arena, program);
}

static void close_recalling(Recalling *r) {
    gradient_release(r->gradient);
    arena_close(r->values);
    arena_close(r->tangents);
}

static bool same_number(double a, double b) { return memcmp(&a, &b, sizeof a) == 0; }

static bool same_signal(Signal a, Signal b) {
    if (a.count != b.count) return false;
    for (uint32_t i = 0; i < a.count; i++) {
        const Piece *x = &a.pieces[i], *y = &b.pieces[i];
        if (!same_number(x->start, y->start) || !same_number(x->end, y->end) || x->size != y->size || x->void_reason != y->void_reason) return false;
        for (uint32_t k = 0; k < x->size; k++) {
            if (!same_number(x->values[k], y->values[k])) return false;
        }
    }
    return true;
}

static bool same_value(const Computed *a, const Computed *b) {
    if (a->state != b->state) return false;
    if (a->state == COMPUTED_NUMBER) return same_number(a->number, b->number);
    if (a->state == COMPUTED_FAILED) return a->failure == b->failure && a->origin == b->origin;
    return a->state != COMPUTED_SIGNAL || same_signal(a->signal, b->signal);
}

/* Few places for each input and few inputs that move at a time, so that most of it comes again. */
static void move_some(Recalling *r, double *inputs) {
    for (uint32_t c = 1; c < r->program->constants.count; c++) {
        const Constant *constant = &r->program->constants.at[c];
        if (!(constant->low < constant->high) || given_random(&r->random) % 4 != 0) continue;
        const double places[3] = {constant->low, constant->nominal, constant->high};
        inputs[c] = places[given_random(&r->random) % 3];
    }
}

/* The whole program at these inputs, from nothing. */
static Evaluation *run_alone(Recalling *r, Arena *arena, const double *inputs) {
    double *nominal = ARENA_ARRAY(arena, double, r->program->constants.count);
    for (uint32_t c = 0; c < r->program->constants.count; c++) {
        nominal[c] = r->program->constants.at[c].nominal;
        r->program->constants.at[c].nominal = inputs[c];
    }
    Evaluation *evaluation = evaluate(arena, r->program);
    for (uint32_t c = 0; c < r->program->constants.count; c++) r->program->constants.at[c].nominal = nominal[c];
    return evaluation;
}

static const char *told(const Recalling *r, StepId id) {
    static char text[200];
    Text formula = source_text(r->program->model->tree->sources, r->program->steps.at[id].span);
    snprintf(text, sizeof text, "step %u (%s) of [%.100s]", id, step_name((StepKind)r->program->steps.at[id].kind), text_zero_ended(r->arena, formula));
    return text;
}

/* Two runs from one moment to the next share what is kept, as two conditions do. */
static void compare_gradients(Recalling *r, Arena *arena, StepId input) {
    const Evaluation *now = r->variation->now;
    Evaluation plain = *now;
    plain.recall = NULL;
    gradient_begin(r->gradient, arena);
    gradient_begin(r->alone, arena);
    gradient_run(r->gradient, arena, now, r->cone, r->cone_count, input, 1);
    gradient_run(r->alone, arena, &plain, r->cone, r->cone_count, input, 1);
    for (uint32_t i = 0; i < r->cone_count; i++) {
        StepId id = r->cone[i];
        bool one = r->gradient->depends[id], other = r->alone->depends[id];
        cr_assert_eq(one, other, "%s: rests on input %u or not", told(r, id), input);
        if (!one || r->alone->tangents[id].later || r->gradient->tangents[id].later) continue; /* nobody asked for its course */
        const Tangent *x = &r->gradient->tangents[id], *y = &r->alone->tangents[id];
        cr_assert(same_value(&x->value, &y->value), "%s: derivative %.17g, and by itself %.17g", told(r, id), x->value.number, y->value.number);
        cr_assert_eq(x->mover_count, y->mover_count, "%s", told(r, id));
        r->slopes++;
    }
    gradient_release(r->alone);
    gradient_release(r->gradient);
}

static void compare_at(Recalling *r, const double *inputs, bool slopes) {
    Arena *arena = arena_open_beside(r->arena);
    variation_run(r->variation, inputs);
    Evaluation *alone = run_alone(r, arena, inputs);
    for (uint32_t i = 0; i < r->cone_count; i++) {
        StepId id = r->cone[i];
        const Computed *found = &r->variation->now->values[id], *expected = &alone->values[id];
        cr_assert(same_value(found, expected), "run %u, %s: %.17g, and by itself %.17g", r->runs, told(r, id), found->number, expected->number);
        r->compared++;
    }
    for (uint32_t k = 0; slopes && k < 3; k++) {
        StepId id = r->cone[given_random(&r->random) % r->cone_count];
        while (r->program->steps.at[id].kind != STEP_CONSTANT) id = r->cone[given_random(&r->random) % r->cone_count];
        compare_gradients(r, arena, id);
    }
    r->runs++;
    arena_close(arena);
}

/* Cone after cone, as condition after condition. */
static void compare_many(Recalling *r, uint32_t cones, uint32_t places, bool slopes) {
    double *inputs = ARENA_ARRAY(r->arena, double, r->program->constants.count);
    if (r->cone_count == 0) return;
    for (uint32_t i = 0; i < cones; i++) {
        for (uint32_t c = 0; c < r->program->constants.count; c++) inputs[c] = r->program->constants.at[c].nominal;
        variation_take(r->variation, r->values, r->cone, r->cone_count);
        for (uint32_t k = 0; k < places; k++) {
            move_some(r, inputs);
            compare_at(r, inputs, slopes);
        }
        variation_release(r->variation);
    }
}

/* Loops in loops with signals in them, and what is used of them outside; running values that no formula uses, a formula that does not use its running value; a table. */
static const char nested[] =
    "cycle walk { move 100 mm in 1 s ± 0.05 s by cycloidal  hold 0.4 s  move -100 mm in 0.8 s by trapezoidal  hold 0.3 s }\n"
    "form chain {\n"
    "  given load : ratio   given rise : ratio   given cool : ratio   given aside : ratio   given other : ratio\n"
    "  given curve : table of ratio over ratio\n"
    "  let travel : ratio = walk.position / 100 mm\n"
    "  let heat   : ratio = 1 + load / 10 + 0.1 * mean(warm) + 0.05 * flow settles from 1\n"
    "  let warm   : ratio = heat * travel / cool\n"
    "  let apart  : ratio = heat * aside * travel\n"
    "  let flow   : ratio = 0.2 * flow + 0.1 * rms(stream) settles from 0.5\n"
    "  let stream : ratio = flow * rise * travel + 0.1 * heat\n"
    "  let lone   : ratio = curve at (other / 2) settles from 3\n"
    "  let shifted : ratio = lone * travel\n"
    "  let out    : ratio = peak(apart + warm * stream) + mean(shifted) + rms(travel * (curve at other)) + rms(flow * travel)\n"
    "}\n"
    "chain one {\n"
    "  load = 10 ± 2  rise = 1.2 ± 0.1  cool = 3 ± 0.5  aside = 2 ± 0.4  other = 1.5 ± 0.3\n"
    "  curve = table { 0.5: 1; 2: 3; 4: 2 }\n"
    "}\n"
    "requirement settled { from none \"a test\" shall one.out <= 100 and one.apart <= 100 and one.stream <= 100 }\n";

Test(recall, knows_loops_within_loops) {
    GivenCheck check;
    Arena *arena = given_arena();
    Recalling r;
    given_check_text(&check, arena, nested);
    cr_assert_eq(check.messages->errors, 0u);
    open_recalling(&r, arena, check.program, check.evaluation);
    compare_many(&r, 10, 60, true);
    cr_assert_geq(r.compared, 5000u);
    close_recalling(&r);
    arena_close(arena);
}

Test(recall, gives_what_random_specifications_give_by_themselves) {
    uint32_t compared = 0, slopes = 0;
    for (uint64_t seed = 1; seed <= 150; seed++) {
        GivenCheck check;
        Arena *arena = given_arena();
        Recalling r;
        given_check_text(&check, arena, random_axis(arena, seed, false));
        open_recalling(&r, arena, check.program, check.evaluation);
        compare_many(&r, 3, 12, true);
        compared += r.compared;
        slopes += r.slopes;
        close_recalling(&r);
        arena_close(arena);
    }
    cr_assert_geq(compared, 50000u, "%u", compared);
    cr_assert_geq(slopes, 20000u, "%u", slopes);
}

/* So many places that all that is known is thrown away on the way, more than once. */
Test(recall, begins_anew_when_it_is_full) {
    GivenCheck check = {.arena = given_arena()};
    Recalling r;
    given_check_path(&check, "examples/jar-handler/nozzle.trn.md");
    open_recalling(&r, check.arena, check.program, check.evaluation);
    uint32_t forgotten = 0, kept = 0;
    for (int part = 0; part < 40; part++) {
        compare_many(&r, 1, 8, part % 8 == 0);
        uint32_t now = r.variation->now->recall->kept.count;
        forgotten += now < kept;
        kept = now;
    }
    cr_assert_geq(forgotten, 2u, "%u", forgotten);
    cr_assert_geq(r.compared, 50000u, "%u", r.compared);
    close_recalling(&r);
    arena_close(check.arena);
}
