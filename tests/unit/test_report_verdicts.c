#include "report/report.h"

#include <math.h>

#include "given.h"
#include "report_check.h"
#include "report_demo.h"
#include "text/utf8.h"

Test(report_verdicts, an_empty_result_has_nothing_to_judge) {
    Arena *arena = given_arena();
    cr_text(report_verdicts(arena, demo_empty(arena)), "nothing to judge\n");
    Result bare = {0};
    cr_text(report_verdicts(arena, &bare), "nothing to judge\n");
    arena_close(arena);
}

Test(report_verdicts, what_holds_is_short_and_trouble_stands_out) {
    Arena *arena = given_arena();
    Result *result = demo_empty(arena);
    Finding *f = demo_finding(result, FINDING_REQUIREMENT, VERDICT_MET, "A-1", "The tray arrives in time");
    f->found = TEXT("1.40 s");
    f->limit = TEXT("at most 1.5 s");
    f->margin = TEXT("6.7 %");
    f->margin_absolute = TEXT("0.10 s");
    f->margin_share = 0.067;
    f->unsourced = TEXT("house rule");
    f = demo_finding(result, FINDING_RULE, VERDICT_MET, "lift.speed", "Not too fast");
    f->found = TEXT("45.7 rev/s");
    f->limit = TEXT("at most 167 rev/s");
    f->margin = TEXT("73 %");
    f->margin_share = 0.73;
    f = demo_finding(result, FINDING_RULE, VERDICT_OPEN, "lift.life", "Lives long");
    f->reason = TEXT("The rating is not stated.");
    f->missing = demo_list(arena, "lift.rating", NULL, NULL);
    f = demo_finding(result, FINDING_RULE, VERDICT_MET, "lift.heat", "Cool");
    cr_text(report_verdicts(arena, result),
            "Requirements\n"
            "\n"
            "  met       6.7 %  A-1  The tray arrives in time\n"
            "                        1.40 s, at most 1.5 s; margin 0.10 s\n"
            "\n"
            "lift\n"
            "\n"
            "  met        73 %  speed  45.7 rev/s ≤ 167 rev/s  Not too fast\n"
            "\n"
            "OPEN               lift.life  Lives long\n"
            "                              The rating is not stated.\n"
            "                              missing: lift.rating\n"
            "\n"
            "  met              heat                           Cool\n"
            "\n"
            "3 met, 1 open; smallest margin 6.7 % (A-1)\n");
    arena_close(arena);
}

Test(report_verdicts, every_verdict_has_its_word) {
    Arena *arena = given_arena();
    Text out = report_verdicts(arena, demo_jar_handler(arena));
    cr_assert(check_holds(out, "\nNOT MET    -2.9 %    -15 %  LIFT-4"));
    cr_assert(check_holds(out, "\nAT RISK     1.8 %   -1.4 %  lift.current"));
    cr_assert(check_holds(out, "\nOPEN                        LIFT-3"));
    cr_assert(check_holds(out, "\n  conceded   -6 %    -10 %  LIFT-6"));
    cr_assert(check_holds(out, "\n  met       6.7 %           LIFT-1"));
    cr_assert(check_holds(out, "\n  advice    -66 %           lift.inertia-ratio"));
    cr_assert(check_holds(out, "2 cautions apply; the report shows each at its place."));
    cr_assert(check_holds(out, "URS §2.6 is covered by no requirement"));
    cr_assert(check_holds(out, "LIFT-6 names no clause it comes from"));
    cr_assert(!check_holds(out, "\n\n\n"));
    cr_widest(out, 100u);
    arena_close(arena);
}

Test(report_verdicts, bounds_have_a_column_and_what_eats_the_margin_stands_beneath) {
    Arena *arena = given_arena();
    Result *result = demo_empty(arena);
    Finding *f = demo_finding(result, FINDING_REQUIREMENT, VERDICT_AT_RISK, "A-1", "It heats");
    result->bounded = 2;
    f->found = TEXT("72 W");
    f->limit = TEXT("at least 70 W");
    f->margin = TEXT("2.9 %");
    f->bounded_inputs = 1;
    f->worst_found = TEXT("55 W");
    f->worst_limit = TEXT("at least 70 W");
    f->worst_margin = TEXT("-21 %");
    f->worst_margin_absolute = TEXT("-15 W");
    f->worst_share = -0.21;
    f->unsourced = TEXT("house rule");
    f->likely_margin = TEXT("-17 %");
    Eater eater = {.path = TEXT("pad.supply"), .nominal = TEXT("24 V"), .worst = TEXT("21.6 V"), .share = TEXT("80 %"), .turning = TEXT("23.7 V")};
    VECTOR_PUSH(arena, &f->eaters, eater);
    f = demo_finding(result, FINDING_RULE, VERDICT_MET, "pad.cool", "It stays cool");
    f->found = TEXT("40 °C");
    f->limit = TEXT("at most 60 °C");
    f->margin = f->margin_absolute = TEXT("20 K");
    f->bounded_inputs = 1;
    f->worst_margin = f->worst_margin_absolute = TEXT("7 K");
    f->worst_share = NAN;
    cr_text(report_verdicts(arena, result),
            "           margin    worst\n"
            "Requirements\n"
            "\n"
            "AT RISK     2.9 %    -21 %  A-1  It heats\n"
            "                                 72 W, at least 70 W\n"
            "                                 worst case -21 % (-15 W): 55 W, at least 70 W\n"
            "                                   80 % by pad.supply, from 24 V to 21.6 V; turns at\n"
            "                                     23.7 V\n"
            "                                 root sum of squares, if the inputs vary independently:\n"
            "                                   -17 %\n"
            "\n"
            "pad\n"
            "\n"
            "  met        20 K      7 K  cool  40 °C ≤ 60 °C  It stays cool\n"
            "\n"
            "1 met, 1 at risk\n");
    arena_close(arena);
}

Test(report_verdicts, concessions_and_refinements_are_named) {
    Arena *arena = given_arena();
    Result *result = demo_jar_handler(arena);
    Text out = report_verdicts(arena, result);
    cr_assert(check_holds(out, "conceded by the user's quality manager until"));
    cr_assert(check_holds(out, "2027-03-31 (C-1)"));
    cr_assert(check_holds(out, "refined by LIFT-2\n"));
    cr_assert(check_holds(out, "refines LIFT-1\n"));
    cr_assert(check_holds(out, "100 % by lift.load.friction, from 4 N to"));
    result->concessions.at[0].lapsed = true;
    out = report_verdicts(arena, result);
    cr_assert(check_holds(out, "the concession C-1 lapsed on 2027-03-31"));
    arena_close(arena);
}

Test(report_verdicts, the_smallest_margin_is_that_of_the_worst_case) {
    Arena *arena = given_arena();
    Result *result = demo_empty(arena);
    Finding *f = demo_finding(result, FINDING_REQUIREMENT, VERDICT_MET, "A-1", "");
    f->margin = TEXT("5 %");
    f->margin_share = 0.05;
    f = demo_finding(result, FINDING_REQUIREMENT, VERDICT_MET, "A-2", "");
    f->margin = TEXT("9 %");
    f->margin_share = 0.09;
    f->bounded_inputs = 1;
    f->worst_margin = TEXT("3 %");
    f->worst_share = 0.03;
    f = demo_finding(result, FINDING_REQUIREMENT, VERDICT_AT_RISK, "A-3", "");
    f->margin = TEXT("1 %");
    f->margin_share = 0.01;
    f->bounded_inputs = 1;
    f->worst_share = -0.01;
    result->bounded = 2;
    cr_assert(check_holds(report_verdicts(arena, result), "smallest worst margin 3 % (A-2)\n"));
    arena_close(arena);
}

Test(report_verdicts, the_last_line_is_the_sum) {
    Arena *arena = given_arena();
    Result *result = demo_empty(arena);
    result->count[VERDICT_MET] = 34;
    result->count[VERDICT_NOT_MET] = 1;
    result->count[VERDICT_OPEN] = 2;
    Finding *f = demo_finding(result, FINDING_RULE, VERDICT_MET, "lift.voltage", "");
    result->count[VERDICT_MET] = 34;
    f->margin = TEXT("3.1 %");
    f->margin_share = 0.031;
    f = demo_finding(result, FINDING_RULE, VERDICT_MET, "lift.wide", "");
    result->count[VERDICT_MET] = 34;
    f->margin = TEXT("12 K");
    f->margin_share = NAN; /* no number: never the smallest */
    f = demo_finding(result, FINDING_RULE, VERDICT_NOT_MET, "lift.bad", "");
    result->count[VERDICT_NOT_MET] = 1;
    f->margin = TEXT("-8 %");
    f->margin_share = -0.08; /* not met is said already */
    cr_assert(text_ends(report_verdicts(arena, result),
                        TEXT("\n34 met, 1 not met, 2 open; smallest margin 3.1 % (lift.voltage)\n")));
    arena_close(arena);
}

Test(report_verdicts, errors_in_the_specification_are_mentioned) {
    Arena *arena = given_arena();
    Result *result = demo_empty(arena);
    ((Messages *)(uintptr_t)result->messages)->errors = 2;
    cr_assert(check_holds(report_verdicts(arena, result), "The specification has 2 errors;"));
    arena_close(arena);
}

Test(report_verdicts, hostile_and_endless_texts_stay_in_their_lines) {
    Arena *arena = given_arena();
    Result *result = demo_empty(arena);
    TextBuilder endless = text_builder(arena);
    for (int i = 0; i < 500; i++) text_add_string(&endless, i % 7 ? "種子 bank " : "seed ");
    Finding *f = demo_finding(result, FINDING_RULE, VERDICT_MET, "lift.long", "");
    f->text = text_built(&endless);
    f = demo_finding(result, FINDING_REQUIREMENT, VERDICT_NOT_MET, "A-1", "");
    f->text = f->reason = f->instant = text_built(&endless);
    f = demo_finding(result, FINDING_RULE, VERDICT_NOT_MET, "no-dot", "\x1B]0;title\x07 \n\n\nNOT MET");
    f = demo_finding(result, FINDING_RULE, VERDICT_MET, "", "\xFF\xFE");
    Text out = report_verdicts(arena, result);
    cr_widest(out, 100u);
    cr_assert(!check_holds(out, "\x1B"));
    cr_assert(!check_holds(out, "\nNOT MET\n"));
    arena_close(arena);
}
