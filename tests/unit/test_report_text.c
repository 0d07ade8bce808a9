#include "report/report.h"

#include "given.h"
#include "report_check.h"
#include "report_demo.h"
#include "text/utf8.h"

Test(report_text, findings_stand_beside_and_beneath_their_lines) {
    Arena *arena = given_arena();
    Text out = report_text(arena, demo_jar_handler(arena));
    cr_assert(check_holds(out, "\n   40    mass     = tray.mass + jar.mass                = 2.15 kg\n"));
    cr_assert(check_holds(out, "\n   41    slope    = 90 °\n   42"), "a literal is not repeated");
    cr_assert(check_holds(out, "\n   49    length     = 2 * 160 mm + 95 mm                = 415 mm\n"));
    cr_assert(check_holds(out, "\n         | holding-torque = 30.2 mN·m   from load.weight * lead * efficiency\n"));
    cr_assert(check_holds(out, "   68    shall   exchange.first.duration <= 1.5 s\n"
                               "         | met: 1.40 s, at most 1.5 s; margin 6.7 % (0.10 s)\n         |   Refined by LIFT-2\n   69"));
    cr_assert(check_holds(out, "\n   21    §2.6 \"Noise in the anteroom stays below 55 dB(A).\"           not covered\n"));
    cr_assert(check_holds(out, "         | Caution: A turning screw draws in fingers, hair and cloth.\n"));
    cr_assert(!check_holds(out, "```"), "fences are left out");
    arena_close(arena);
}

Test(report_text, has_all_parts_and_keeps_to_its_width) {
    Arena *arena = given_arena();
    Text out = report_text(arena, demo_jar_handler(arena));
    static const char *const PARTS[] = {
        "Jar lift of the cold store\n==========================\n", "\nTo be looked at first\n", "\nClauses and requirements\n",
        "\nWhat is not covered, and what is left out\n", "\nRules and agreements by thing\n", "\nValues from libraries\n",
        "\nCautions\n", "\nWhat the calculation does not cover\n", "A verdict of this program is not a safety validation.",
        "URS §2.5 is left out: the carousel counts them", "Decided by lift.motor.voltage", "evidence/cleaning-trial.md",
        "3 rules do not apply here", "\nWhat eats the margin\n", "62 % by Rook-38-24.resistance, from 2.1 Ω to 2.27 Ω; turns at 1.98 Ω",
        "By root sum of squares, if the inputs vary independently: -8.4 %", "\nConcessions\n\nJudged on 2026-11-02\n",
        "Given by the user's quality manager", "In force until 2027-03-31", "Refined by LIFT-2", "Refines LIFT-1",
        "Measured: magnitude \"error\" within 0.002 mm", "Pinned by sha256:5f70bf18", "nothing was extrapolated"};
    for (size_t i = 0; i < sizeof PARTS / sizeof *PARTS; i++) cr_assert(check_holds(out, PARTS[i]), "no %s", PARTS[i]);
    cr_widest(out, 100u);
    arena_close(arena);
}

Test(report_text, every_line_of_the_author_is_there) {
    Arena *arena = given_arena();
    Result *result = demo_empty(arena);
    demo_source(result, "a.trn.md", "# Title\n\n| a | b |\n| - | - |\n\n    indented\n\n~~~\nnot ours\n~~~\n\n```trunnion\nuse \"b\"\n\n-- last\n```\nend");
    demo_source(result, "b.trn", "use \"c\"\r\n-- plain");
    Text out = report_text(arena, result);
    cr_assert(check_holds(out, "# Title\n\n| a | b |\n| - | - |\n\n    indented\n\n~~~\nnot ours\n~~~\n\n"
                               "   13  use \"b\"\n   14\n   15  -- last\nend\n"));
    cr_assert(check_holds(out, "    1  use \"c\"\n    2  -- plain\n"));
    arena_close(arena);
}

Test(report_text, long_prose_is_set_anew_and_short_prose_is_not) {
    Arena *arena = given_arena();
    Result *result = demo_empty(arena);
    demo_source(result, "a.trn.md",
                "Short lines\nstay as they are.\n\n"
                "A line that is so long that nobody would want to read it on a page of one hundred columns, and that is why it\n"
                "flows into the next.\n");
    Text out = report_text(arena, result);
    cr_assert(check_holds(out, "Short lines\nstay as they are.\n"));
    cr_assert(check_holds(out, "columns, and that\nis why it flows into the next.\n"));
    arena_close(arena);
}

Test(report_text, messages_come_last) {
    Arena *arena = given_arena();
    Result *result = demo_empty(arena);
    Source *source = demo_source(result, "a.trn", "use \"c\"\n");
    Message *message = message_add((Messages *)(uintptr_t)result->messages, (MessageId)0, demo_span(source, "use", 0), NULL, 0);
    message->sentence = TEXT("the library is not there");
    Text out = report_text(arena, result);
    cr_assert(check_holds(out, "\nMessages\n"));
    cr_assert(check_holds(out, "the library is not there"));
    arena_close(arena);
}

Test(report_text, is_the_same_each_time) {
    Arena *arena = given_arena(), *other = given_arena();
    Text once = report_text(arena, demo_jar_handler(arena)), again = report_text(other, demo_jar_handler(other));
    cr_assert(text_equal(once, again));
    arena_close(arena);
    arena_close(other);
}

Test(report_text, a_long_line_of_program_text_goes_on_further_in) {
    Arena *arena = given_arena();
    Result *result = demo_empty(arena);
    TextBuilder line = text_builder(arena);
    text_add_string(&line, "  because \"");
    for (int i = 0; i < 30; i++) text_add_string(&line, "種子 grows  ");
    text_add_string(&line, "\"\n");
    for (int i = 0; i < 150; i++) text_add_char(&line, 'x');
    demo_source(result, "a.trn", text_zero_ended(arena, text_built(&line)));
    Text out = report_text(arena, result);
    cr_assert(check_holds(out, "    1    because \"種子 grows  種子 grows"));
    cr_assert(check_holds(out, "\n             種子 grows  種子") || check_holds(out, "\n             grows  種子"));
    cr_assert_eq(check_count(out, "種子"), 30u);
    cr_assert(check_holds(out, "\n    2  xxxxx"), "one word stays whole");
    arena_close(arena);
}

Test(report_text, endless_lines_take_no_endless_time) {
    Arena *arena = given_arena();
    Result *result = demo_empty(arena);
    TextBuilder line = text_builder(arena);
    enum { COUNT = 50000 };
    for (int i = 0; i < COUNT; i++) text_add_string(&line, "a = b * 2  ");
    Source *source = demo_source(result, "a.trn", text_zero_ended(arena, text_built(&line)));
    for (uint32_t i = 0; i < COUNT; i++) {
        uint32_t start = source->base + 11 * i;
        demo_value(result, "a", "2 mm", NULL, (Span){start, start + 9});
    }
    cr_assert_eq(check_count(report_text(arena, result), "= 2 mm\n"), (unsigned)COUNT);
    cr_assert_eq(check_count(report_html(arena, result), ">= 2 mm</p>"), (unsigned)COUNT);
    arena_close(arena);
}
