/* How values came to be: closed forms, one instant, what is named and what is not, and nothing when nobody asks. */
#include <stdio.h>
#include <stdlib.h>

#include "given_check.h"
#include "verdict/account.h"

static const Account *answer_of(GivenCheck *check, const char *text, const char *path, uint32_t depth) {
    given_explained(check, given_arena(), text, path, depth);
    cr_assert_gt(check->result->answers.count, 0u, "there is no answer to %s", path);
    return check->result->answers.at[0];
}

static const Account *below(const Account *account, const char *path) {
    for (uint32_t i = 0; i < account->rests_on.count; i++) {
        if (text_is(account->rests_on.at[i]->path, path)) return account->rests_on.at[i];
    }
    cr_assert_fail("%s is not told below %.*s", path, (int)account->path.length, account->path.at);
    return NULL;
}

static const char *const CRANE = "cycle haul { move 2 m in 4 s by cycloidal as up  hold 1 s as stay  move -2 m in 4 s by cycloidal as down }\n"
                                 "form crane \"A crane\" {\n"
                                 "  given motion : cycle of length\n"
                                 "  given mass   : mass = 5 kg ± 10 %\n"
                                 "  given pull   : acceleration = 10 m/s²\n"
                                 "  let force    : force = mass * (motion.acceleration + pull) \"Pull of the rope\" cites \"Newton\"\n"
                                 "  let power    : power = force * motion.speed\n"
                                 "  let worst    : power = peak(power)\n"
                                 "}\n"
                                 "crane c { motion = haul }\n"
                                 "requirement C-1 \"Strong rope\" { shall c.force <= 60 N  from none \"a test\" }\n";

/* 2π · 2 m / (4 s)² = 0.7854 m/s², at a quarter of the move. */
Test(why, a_signal_is_told_at_its_peak) {
    GivenCheck check;
    const Account *force = answer_of(&check, CRANE, "c.force", 2);
    given_no_errors(&check);
    cr_text(force->there, "53.93 N");
    cr_text(force->extreme, "peak");
    cr_text(force->instant, "at 1 s of haul, in up");
    cr_text(force->title, "Pull of the rope");
    cr_text(force->cites, "Newton");
    cr_assert_eq(force->lines.count, 1u);
    cr_text(force->lines.at[0].formula, "mass * (motion.acceleration + pull)");
    cr_text(force->lines.at[0].numbers, "5 kg * (0.7854 m/s² + 10 m/s²)");
    cr_text(below(force, "c.mass")->bounds, "4.5 kg to 5.5 kg");
    const Account *acceleration = below(force, "haul.acceleration");
    cr_text(acceleration->written, "motion.acceleration");
    cr_text(acceleration->lines.at[1].numbers, "2 m * 6.283 / (4 s) ^ 2");
    arena_close(check.arena);
}

/* All that a formula names is told at the instant of the formula, not at its own peak. */
Test(why, the_instant_goes_down) {
    GivenCheck check;
    const Account *power = answer_of(&check, CRANE, "c.power", 1);
    const Account *force = below(power, "c.force");
    cr_assert_eq(force->there.length, 0u);
    cr_assert_eq(force->instant.length, 0u, "the same instant is not told twice");
    double at_instant = strtod(text_zero_ended(check.arena, force->value), NULL), speed = strtod(text_zero_ended(check.arena, below(power, "haul.speed")->value), NULL);
    double peak = strtod(text_zero_ended(check.arena, power->there), NULL);
    cr_assert_lt(at_instant, 53.9);
    cr_assert_float_eq(at_instant * speed / 1000, peak, 0.001 * peak + 1e-9);
    arena_close(check.arena);
}

Test(why, a_peak_changes_the_instant) {
    GivenCheck check;
    const Account *worst = answer_of(&check, CRANE, "c.worst", 1);
    cr_assert_eq(worst->instant.length, 0u);
    const Account *power = below(worst, "c.power");
    cr_text(power->extreme, "peak");
    cr_text(power->value, "50.3 W");
    arena_close(check.arena);
}

Test(why, depth_ends_the_telling_but_not_the_names) {
    GivenCheck check;
    const Account *force = answer_of(&check, CRANE, "c.force", 0);
    cr_assert_eq(force->rests_on.count, 0u);
    cr_assert_eq(force->names.count, 3u);
    cr_text(force->names.at[0]->path, "c.mass");
    cr_text(force->names.at[0]->value, "5 kg");
    arena_close(check.arena);
}

Test(why, a_requirement_is_told_where_it_is_tightest) {
    GivenCheck check;
    const Account *rope = answer_of(&check, CRANE, "C-1", 1);
    cr_assert_not_null(rope->finding);
    cr_text(rope->lines.at[0].label, "shall");
    cr_text(rope->lines.at[0].numbers, "53.93 N <= 60 N");
    cr_text(rope->lines.at[0].instant, "at 1 s of haul, in up");
    cr_text(below(rope, "c.force")->value, "53.93 N");
    arena_close(check.arena);
}

Test(why, nothing_is_kept_when_nobody_asks) {
    GivenCheck check;
    given_check_text(&check, given_arena(), CRANE);
    cr_assert_eq(check.program->resolutions.count, 1u);
    cr_assert_eq(check.result->answers.count, 0u);
    for (uint32_t i = 0; i < check.result->values.count; i++) cr_assert_null(check.result->values.at[i].account);
    arena_close(check.arena);
}

/* Of a report, each value that has a formula opens, the facts of cycles as well. */
Test(why, every_value_of_a_report_is_accounted_for) {
    GivenCheck check;
    given_explained(&check, given_arena(), CRANE, NULL, 0);
    given_no_errors(&check);
    uint32_t opened = 0;
    for (uint32_t i = 0; i < check.result->values.count; i++) {
        const Value *value = &check.result->values.at[i];
        if (value->formula.length == 0 && !text_starts(value->path, TEXT("haul."))) continue;
        if (text_is(value->path, "c.motion")) continue; /* a cycle */
        cr_assert_not_null(value->account, "%.*s", (int)value->path.length, value->path.at);
        cr_assert_eq(value->account->rests_on.count, 0u);
        opened++;
    }
    cr_assert_geq(opened, 8u);
    cr_assert_not_null(given_finding(&check, "C-1")->account);
    arena_close(check.arena);
}

/* A comment in a formula does not get between its parts, neither beside the value nor where it opens. */
Test(why, a_formula_is_told_without_its_comments) {
    GivenCheck check;
    given_explained(&check, given_arena(),
                    "form box \"A box\" { given a : length  given b : length\n"
                    "  let s : length = a -- the \"long side\n"
                    "                   + b }\n"
                    "box q { a = 10 mm  b = 2 mm }\n",
                    NULL, 0);
    given_no_errors(&check);
    uint32_t met = 0;
    for (uint32_t i = 0; i < check.result->values.count; i++) {
        const Value *value = &check.result->values.at[i];
        if (!text_is(value->path, "q.s")) continue;
        cr_text(value->formula, "a + b");
        cr_text(value->account->lines.at[0].formula, "a + b");
        met++;
    }
    cr_assert_eq(met, 1u);
    arena_close(check.arena);
}

Test(why, an_unknown_path_has_a_near_one) {
    GivenCheck check;
    given_explained(&check, given_arena(), CRANE, "c.forse", 1);
    cr_assert_eq(check.result->answers.count, 0u);
    cr_text(check.result->near, "c.force");
    cr_assert_eq(check.messages->errors, 0u);
    arena_close(check.arena);
    given_explained(&check, given_arena(), CRANE, "..", 1);
    cr_assert_eq(check.result->answers.count, 0u);
    arena_close(check.arena);
}

/* A chain of values, each of which names the one before twice: told once each, not in every way that leads there. */
Test(why, cost_grows_with_what_there_is) {
    enum { LINKS = 60 };
    Arena *arena = given_arena();
    TextBuilder text = text_builder(arena);
    text_add_string(&text, "form chain \"A chain\" {\n  let v0 : number = 1\n");
    for (int i = 1; i <= LINKS; i++) {
        char line[80];
        snprintf(line, sizeof line, "  let v%d : number = (v%d + v%d * 1) / 2\n", i, i - 1, i > 1 ? i - 2 : 0);
        text_add_string(&text, line);
    }
    text_add_string(&text, "}\nchain c { }\n");
    GivenCheck check;
    const Account *last = answer_of(&check, text_zero_ended(arena, text_built(&text)), "c.v60", 99);
    uint32_t told = 0, depth = 0;
    for (const Account *at = last; at->rests_on.count > 0; at = at->rests_on.at[0], depth++) told += at->rests_on.count;
    cr_assert_eq(depth, (uint32_t)LINKS);
    cr_assert_leq(told, 2u * LINKS);
    arena_close(check.arena);
    arena_close(arena);
}
