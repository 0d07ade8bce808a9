#include "report/report.h"

#include "given.h"
#include "report_check.h"
#include "report_demo.h"

Test(report_html, is_well_formed_and_every_link_leads_somewhere) {
    Arena *arena = given_arena();
    Result *result = demo_jar_handler(arena);
    Text html = report_html(arena, result);
    Text near = {0};
    const char *wrong = check_html(arena, html, &near);
    /* The author's own link to #sources has no such heading: that is the author's, and the compiler says so elsewhere. */
    cr_assert(wrong == NULL || text_is(near, "sources"), "%s near [%.*s]", wrong, (int)near.length, near.at);
    arena_close(arena);
}

Test(report_html, an_empty_result_is_a_whole_page) {
    Arena *arena = given_arena();
    Text html = report_html(arena, demo_empty(arena));
    cr_html(arena, html);
    cr_assert(check_holds(html, "not a safety validation"));
    Result bare = {0};
    cr_html(arena, report_html(arena, &bare));
    arena_close(arena);
}

Test(report_html, asks_nothing_of_the_network) {
    Arena *arena = given_arena();
    Text html = report_html(arena, demo_jar_handler(arena));
    static const char *const NOT[] = {"http:", "https:", "//", "<script", "<link", "@import", "url(", "src=", "<iframe"};
    for (size_t i = 0; i < sizeof NOT / sizeof *NOT; i++) cr_assert(!check_holds(html, NOT[i]), "%s", NOT[i]);
    arena_close(arena);
}

Test(report_html, every_value_requirement_rule_and_clause_is_an_anchor) {
    Arena *arena = given_arena();
    Result *result = demo_jar_handler(arena);
    Text html = report_html(arena, result);
    for (uint32_t i = 0; i < result->values.count; i++) {
        Text parts[] = {result->values.at[i].path};
        cr_assert(check_holds(html, text_zero_ended(arena, text_fill(arena, TEXT(" id=\"{0}\""), parts, 1))), "%.*s",
                  (int)parts[0].length, parts[0].at);
    }
    for (uint32_t i = 0; i < result->findings.count; i++) {
        Text parts[] = {result->findings.at[i].anchor};
        cr_assert(check_holds(html, text_zero_ended(arena, text_fill(arena, TEXT(" id=\"{0}\""), parts, 1))), "%.*s",
                  (int)parts[0].length, parts[0].at);
    }
    for (uint32_t i = 0; i < result->clauses.count; i++) {
        Text parts[] = {result->clauses.at[i].source, result->clauses.at[i].id};
        cr_assert(check_holds(html, text_zero_ended(arena, text_fill(arena, TEXT(" id=\"{0}{1}\""), parts, 2))));
    }
    cr_assert(check_holds(html, "<a href=\"#lift.screw.speed.peak\">45.7 rev/s</a>"), "a quoted figure is a link");
    arena_close(arena);
}

static const char HOSTILE[] = "</title><script>alert(1)</script>\"'><img src=x onerror=y>&amp;\x1B\x00\xFF\xE2\x80\xAE";

Test(report_html, hostile_texts_are_only_text) {
    Arena *arena = given_arena();
    Result *result = demo_empty(arena);
    Text hostile = {HOSTILE, sizeof HOSTILE - 1};
    Source *source = demo_source(result, "</style>\"<b>.trn.md",
                                 "# <script>x</script> & \"y\"\n\n<script>raw()</script>\n\n[run](javascript:alert(1)) "
                                 "![p](http://example.org/p.png) <b onclick=\"x\">b</b>\n\n"
                                 "```trunnion\nscrew s \"</code><script>\" { -- </div> & \"\n  lead = x * 2\n  shall a < b\n```\n");
    Span span = demo_span(source, "screw s", 0);
    VECTOR_PUSH(arena, &result->things, (Thing){.path = hostile, .form = hostile, .title = hostile, .span = span, .value_count = 2});
    Value *value = demo_value(result, "s.speed", "1", "x", span);
    value->path = value->shown = value->formula = value->cites = value->title = hostile;
    value = demo_value(result, "s.lead", "1", NULL, demo_span(source, "lead", 0));
    value->path = value->shown = hostile;
    for (int v = 0; v < VERDICT_COUNT; v++) {
        for (int kind = 0; kind < 3; kind++) {
            Finding *f = demo_finding(result, (FindingKind)kind, (Verdict)v, "x", "");
            f->id = f->anchor = f->text = f->found = f->limit = f->margin = f->margin_absolute = f->instant = f->reason = hostile;
            f->unsourced = f->method = f->evidence = f->cites = f->because = f->worst_margin = f->worst_reason = hostile;
            f->missing = f->decides = f->parts = f->refined_by = (TextVector){&hostile, 1, 1};
            f->reading = f->digest = f->concession = f->refines = f->worst_found = f->worst_limit = f->likely_margin = hostile;
            f->worst_instant = f->worst_margin_absolute = hostile;
            f->bounded_inputs = 1;
            Eater eater = {hostile, hostile, hostile, hostile, hostile, true};
            VECTOR_PUSH(arena, &f->eaters, eater);
            VECTOR_PUSH(arena, &f->eaters, eater);
            f->span = f->shall_span = span;
        }
    }
    VECTOR_PUSH(arena, &result->clauses,
                (Clause){.source = hostile, .source_title = hostile, .id = hostile, .text = hostile, .demanded = true, .span = span,
                         .requirements = {&hostile, 1, 1}});
    VECTOR_PUSH(arena, &result->clauses, (Clause){.source = hostile, .id = hostile, .left_out = hostile});
    result->bounded = 1;
    result->judged_on = hostile;
    VECTOR_PUSH(arena, &result->concessions,
                (Concession){hostile, hostile, hostile, hostile, hostile, {&hostile, 1, 1}, .lapsed = true, .needless = true, .span = span});
    VECTOR_PUSH(arena, &result->cautions, (Caution){.id = hostile, .text = hostile, .cites = hostile, .span = span});
    message_add((Messages *)(uintptr_t)result->messages, (MessageId)0, span, (Text[]){hostile, hostile}, 2);
    Text html = report_html(arena, result);
    cr_html(arena, html);
    cr_assert(!check_holds(html, "<script"));
    cr_assert(!check_holds(html, "<img"));
    cr_assert(!check_holds(html, "javascript:"));
    cr_assert(check_holds(html, "<a href=\"http://example.org/p.png\">p</a>"), "a picture becomes a link");
    arena_close(arena);
}

Test(report_html, bounds_concessions_and_evidence_have_their_tables) {
    Arena *arena = given_arena();
    Result *result = demo_jar_handler(arena);
    Text html = report_html(arena, result);
    static const char *const PARTS[] = {
        "<th scope=\"col\">Worst margin</th>", "<td data-label=\"Worst margin\">-15 %<span class=\"title\">-3.5 V</span></td>",
        "<h2 id=\"part:margins\">What eats the margin</h2>", "<td data-label=\"Share of the loss\">62 %</td>",
        "<td data-label=\"The verdict turns at\">1.98 Ω</td>", "5.2 N <small>between its bounds</small>",
        "By root sum of squares, if the inputs vary independently: -8.4 %", "judged on 2026-11-02",
        "<th scope=\"row\" id=\"C-1\">C-1<span class=\"title\">Coarser than asked for</span></th><td data-label=\"Covers\"><a href=\"#LIFT-6\">LIFT-6</a></td>",
        "<td data-label=\"Until\">2027-03-31</td>", "Refined by <a href=\"#LIFT-2\">LIFT-2</a>",
        "magnitude &quot;error&quot; within 0.002 mm", "<span class=\"title digest\">sha256:5f70bf18"};
    for (size_t i = 0; i < sizeof PARTS / sizeof *PARTS; i++) cr_assert(check_holds(html, PARTS[i]), "no %s", PARTS[i]);
    result->concessions.at[0].lapsed = true;
    cr_assert(check_holds(report_html(arena, result), "2027-03-31 <b>lapsed</b>"));
    result->bounded = 0;
    result->concessions.count = 0;
    html = report_html(arena, result);
    cr_assert(!check_holds(html, "part:margins") && !check_holds(html, "part:concessions") && !check_holds(html, ">Worst margin<"));
    arena_close(arena);
}

Test(report_html, a_finding_stands_behind_its_own_line) {
    Arena *arena = given_arena();
    Text html = report_html(arena, demo_jar_handler(arena));
    cr_assert(check_holds(html, "length     = 2 * 160 mm + 95 mm</span></code>\n<div class=\"note\"><p class=\"value\" "
                                "id=\"lift.screw.length\">= 415 mm</p></div>"));
    cr_assert(check_holds(html, "<span id=\"lift.load.slope\"></span><span class=\"text\">  slope    = 90 °</span></code>\n<code>"));
    cr_assert(check_holds(html, "&lt;= 1.5 s</span></code>\n<div class=\"note\"><div class=\"finding met\" id=\"LIFT-1\"><p>"
                                "<span class=\"verdict met\">met</span>: 1.40 s, at most 1.5 s; margin 6.7 % (0.10 s)</p><p>Refined by LIFT-2</p></div>"));
    cr_assert_eq(check_count(html, "<b>Caution.</b>"), 2u, "at their place");
    cr_assert_eq(check_count(html, "draws in fingers"), 2u, "at its place and in the list");
    arena_close(arena);
}

Test(report_html, verdicts_are_words) {
    Arena *arena = given_arena();
    Text html = report_html(arena, demo_jar_handler(arena));
    static const char *const WORDS[] = {"met\">met<", "risk\">at risk<", "not\">not met<", "open\">open<", "conceded\">conceded<",
                                        "advice\">advice, not met<"};
    for (size_t i = 0; i < sizeof WORDS / sizeof *WORDS; i++) cr_assert(check_holds(html, WORDS[i]), "%s", WORDS[i]);
    cr_assert_eq(check_count(html, "<table class="), check_count(html, "<caption>"), "each of our tables has a caption");
    cr_assert_eq(check_count(html, "<html lang=\"en\">"), 1u);
    arena_close(arena);
}

Test(report_html, program_text_in_a_list_and_after_crlf_is_found) {
    Arena *arena = given_arena();
    Result *result = demo_empty(arena);
    Source *source = demo_source(result, "a.trn.md", "- item\r\n\r\n  ```trunnion\r\n  a = b * 2\r\n  ```\r\n\r\n```\r\nnot ours\r\n```\r\n");
    demo_value(result, "a", "4 mm", NULL, demo_span(source, "a = b * 2", 0));
    Source *plain = demo_source(result, "b.trn", "c = d * 3");
    demo_value(result, "c", "9 mm", NULL, demo_span(plain, "c = d", 0));
    Text html = report_html(arena, result);
    cr_html(arena, html);
    cr_assert(check_holds(html, ">4</span><span class=\"text\">  a = b * 2</span></code>\n<div class=\"note\"><p class=\"value\" id=\"a\">= 4 mm</p>"));
    cr_assert(check_holds(html, "<p class=\"value\" id=\"c\">= 9 mm</p>"));
    cr_assert(check_holds(html, "<pre><code>not ours"));
    arena_close(arena);
}

Test(report_html, a_part_of_a_library_can_be_linked_to) {
    Arena *arena = given_arena();
    Result *result = demo_empty(arena);
    Finding *f = demo_finding(result, FINDING_REQUIREMENT, VERDICT_MET, "A-1", "");
    f->parts = demo_list(arena, "Rook-38-24", "Wren-5", "nobody");
    f->decides = demo_list(arena, "Wren-5.current", NULL, NULL);
    demo_value(result, "Wren-5.current", "5 A", NULL, (Span){0, 0});
    demo_finding(result, FINDING_RULE, VERDICT_MET, "Rook-38-24.heat", "");
    VECTOR_PUSH(arena, &result->things, (Thing){.path = TEXT("Rook-38-24"), .form = TEXT("motor")});
    VECTOR_PUSH(arena, &result->things, (Thing){.path = TEXT("Wren-5"), .form = TEXT("drive"), .value_count = 1});
    Text html = report_html(arena, result);
    cr_html(arena, html);
    cr_assert(check_holds(html, "in <a href=\"#Rook-38-24\">Rook-38-24</a>, <a href=\"#Wren-5\">Wren-5</a>, nobody</span>"));
    cr_assert(check_holds(html, "<details id=\"Wren-5\">"));
    arena_close(arena);
}

Test(report_html, defaults_and_sums_are_put_in_words) {
    Arena *arena = given_arena();
    Result *result = demo_jar_handler(arena);
    Source *source = demo_source(result, "more.trn", "brake b {\n}\n");
    demo_value(result, "b.reserve", "2", "2", demo_span(source, "brake", 0));
    demo_value(result, "b.gravity", "9.807 m/s²", "9.80665 m/s²", demo_span(source, "brake", 0));
    demo_value(result, "b.torque", "1 N·m", "2 * weight", demo_span(source, "brake", 0));
    Text html = report_html(arena, result);
    cr_assert(check_holds(html, "<td>2</td><td>by default</td>"));
    cr_assert(check_holds(html, "<td>9.807 m/s²</td><td>by default 9.80665 m/s²</td>"));
    cr_assert(check_holds(html, "<td>1 N·m</td><td><code>2 * weight</code></td>"));
    cr_assert(check_holds(html, ">5 rules: 2 met, 1 at risk, 1 not met, 1 recommendation not followed</a>"));
    cr_assert(check_holds(html, ">1 rule, met</a>"));
    cr_assert(check_holds(html, "<dt>Recommendations</dt><dd>1: 1 not followed</dd>"));
    cr_assert(check_holds(html, "<dt>Requirements</dt><dd>6: 3 met, 1 not met, 1 open, 1 conceded</dd>"));
    arena_close(arena);
}

Test(report_html, is_the_same_each_time) {
    Arena *arena = given_arena(), *other = given_arena();
    cr_assert(text_equal(report_html(arena, demo_jar_handler(arena)), report_html(other, demo_jar_handler(other))));
    arena_close(arena);
    arena_close(other);
}

Test(report_html, a_large_result_stays_linear) {
    Arena *arena = given_arena();
    Result *result = demo_empty(arena);
    TextBuilder program = text_builder(arena);
    enum { COUNT = 20000 };
    text_add_string(&program, "# Many\n\n```trunnion\n");
    for (int i = 0; i < COUNT; i++) text_add_string(&program, "a = b * 2\n");
    text_add_string(&program, "```\n");
    Source *source = demo_source(result, "a.trn.md", text_zero_ended(arena, text_built(&program)));
    for (uint32_t i = 0; i < COUNT; i++) {
        uint32_t start = source->blocks.at[0].start + 10 * i;
        char *path = (char *)arena_take(arena, 24);
        snprintf(path, 24, "thing-%u.a", i);
        demo_value(result, path, "2 mm", NULL, (Span){start, start + 9});
        Finding *f = demo_finding(result, FINDING_RULE, i % 2 ? VERDICT_MET : VERDICT_OPEN, path, "title");
        f->span = (Span){start, start + 9};
    }
    Text html = report_html(arena, result);
    cr_assert_eq(check_count(html, ">= 2 mm</p>"), (unsigned)COUNT);
    cr_assert(html.length < 40u * 1000 * 1000);
    cr_assert(report_text(arena, result).length < 20u * 1000 * 1000);
    cr_assert(report_verdicts(arena, result).length < 20u * 1000 * 1000);
    arena_close(arena);
}

Test(report_formats, are_a_table_with_an_end) {
    cr_assert_str_eq(report_formats[0].name, "html");
    cr_assert_str_eq(report_formats[0].ending, ".html");
    cr_assert_eq(report_formats[0].write, report_html);
    cr_assert_str_eq(report_formats[1].name, "text");
    cr_assert_eq(report_formats[1].write, report_text);
    cr_assert_null(report_formats[2].name);
}
