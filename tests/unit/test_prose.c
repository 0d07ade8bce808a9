#include "text/prose.h"

#include <string.h>

#include "given.h"
#include "text/literate.h"

static Text program(void *context, const Source *source, uint32_t block) {
    (void)context;
    Span span = source->blocks.at[block];
    Text parts[] = {text_trim(text_slice(source->bytes, span.start - source->base, span.end - source->base))};
    return text_fill(context, TEXT("<x>{0}</x>"), parts, 1);
}

static Prose prose_of(Arena *arena, const char *bytes) {
    Sources *sources = sources_open(arena);
    Span fault;
    source_add(sources, TEXT("before.trn"), TEXT("before.trn"), TEXT("--"), SOURCE_NAMED);
    Source *source = source_add(sources, TEXT("a.trn.md"), TEXT("a.trn.md"), text_from(bytes), SOURCE_NAMED);
    literate_split(arena, source, &fault);
    return prose_render(arena, source, TEXT("1:"), program, arena);
}

static Text html_of(Arena *arena, const char *bytes) { return prose_of(arena, bytes).html; }

Test(prose, program_text_is_set_by_the_caller) {
    Arena *arena = given_arena();
    cr_text(html_of(arena, "a\n\n```trunnion\none\n```\n\nb\n\n~~~trunnion part\ntwo\n~~~\n\n```\nthree\n```\n"),
            "<p>a</p>\n<x>one</x>\n<p>b</p>\n<x>two</x>\n<pre><code>three\n</code></pre>\n");
    cr_text(html_of(arena, "```trunnion\n```\n\n```trunnion\nx\n```\n"), "<x></x>\n<x>x</x>\n");
    arena_close(arena);
}

Test(prose, a_block_that_is_not_program_text_stays_a_block) {
    Arena *arena = given_arena();
    cr_text(html_of(arena, "> ```trunnion\n> a\n> ```\n\n```trunnion\nb\n```\n"),
            "<blockquote>\n<pre><code class=\"language-trunnion\">a\n</code></pre>\n</blockquote>\n<x>b</x>\n");
    cr_text(html_of(arena, "```trunnions\nb\n```\n"), "<pre><code class=\"language-trunnions\">b\n</code></pre>\n");
    arena_close(arena);
}

Test(prose, links_may_be_defined_anywhere) {
    Arena *arena = given_arena();
    cr_text(html_of(arena, "See [there][x].\n\n```trunnion\na\n```\n\n[x]: #lift.speed\n"),
            "<p>See <a href=\"#lift.speed\">there</a>.</p>\n<x>a</x>\n");
    arena_close(arena);
}

Test(prose, headings_are_anchors) {
    Arena *arena = given_arena();
    Prose prose = prose_of(arena, "# The *lift* `x`\n\nwords\n\nSecond\n------\n");
    cr_assert_eq(prose.headings.count, 2u);
    cr_text(prose.headings.at[0].text, "The lift x");
    cr_text(prose.headings.at[0].anchor, "1:1");
    cr_assert_eq(prose.headings.at[0].level, 1u);
    cr_text(prose.headings.at[1].anchor, "1:5");
    cr_assert_eq(prose.headings.at[1].level, 2u);
    cr_text(prose.html, "<h1><span id=\"1:1\"></span>The <em>lift</em> <code>x</code></h1>\n<p>words</p>\n"
                        "<h2><span id=\"1:5\"></span>Second</h2>\n");
    arena_close(arena);
}

Test(prose, pictures_become_links) {
    Arena *arena = given_arena();
    cr_text(html_of(arena, "![side view](a.png)"), "<p><a href=\"a.png\">side view</a></p>\n");
    cr_text(html_of(arena, "![](a.png)"), "<p><a href=\"a.png\">a.png</a></p>\n");
    cr_text(html_of(arena, "[![a *b*](a.png)](#c)"), "<p><a href=\"#c\">a <em>b</em></a></p>\n");
    cr_text(html_of(arena, "![a ![b](b.png) c](a.png)"), "<p><a href=\"a.png\">a b c</a></p>\n");
    cr_text(html_of(arena, "![a [b](b.png) c](a.png)"), "<p>a <a href=\"b.png\">b</a> c</p>\n");
    cr_text(html_of(arena, "![x](data:image/png;base64,AA==)"),
            "<p><img src=\"data:image/png;base64,AA==\" alt=\"x\" /></p>\n");
    arena_close(arena);
}

Test(prose, nothing_of_the_author_runs) {
    Arena *arena = given_arena();
    cr_text(html_of(arena, "<script>a()</script>\n\n[a](javascript:b) <i onclick=\"c\">d</i>\n"),
            "<!-- raw HTML omitted -->\n<p><a href=\"\">a</a> <!-- raw HTML omitted -->d<!-- raw HTML omitted --></p>\n");
    arena_close(arena);
}

Test(prose, odd_files_end_well) {
    Arena *arena = given_arena();
    cr_text(html_of(arena, ""), "");
    cr_text(html_of(arena, "```trunnion\nnever closed"), "<x>never closed</x>\n");
    cr_text(html_of(arena, "a\r\rb\r\r```trunnion\rx\r```\rc"), "<p>a</p>\n<p>b</p>\n<x>x</x>\n<p>c</p>\n");
    TextBuilder deep = text_builder(arena);
    for (int i = 0; i < 20000; i++) text_add_string(&deep, "![");
    for (int i = 0; i < 20000; i++) text_add_string(&deep, "](a)");
    cr_assert(html_of(arena, text_zero_ended(arena, text_built(&deep))).length > 0);
    arena_close(arena);
}
