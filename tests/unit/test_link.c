#include "text/link.h"

#include <string.h>

#include "given.h"
#include "text/literate.h"

typedef struct Found {
    Sources *sources;
    Source *source;
} Found;

static Found found_in(Arena *arena, Text bytes) {
    Found found = {.sources = sources_open(arena)};
    Span fault;
    source_add(found.sources, TEXT("before.trn"), TEXT("before.trn"), TEXT("12345"), SOURCE_NAMED); /* bases are not 1 */
    found.source = source_add(found.sources, TEXT("a.trn.md"), TEXT("a.trn.md"), bytes, SOURCE_NAMED);
    literate_split(arena, found.source, &fault);
    return found;
}

/* Each link: its words, its bytes in the file, its target and that as it stands in the file, and all of it. */
static Text links_of(Arena *arena, Text bytes) {
    Found found = found_in(arena, bytes);
    TextBuilder out = text_builder(arena);
    for (uint32_t i = 0; i < found.source->links->list.count; i++) {
        const ProseLink *link = &found.source->links->list.at[i];
        Text parts[5] = {link->words, link->located ? source_text(found.sources, link->span) : TEXT("?"), link->target,
                         source_text(found.sources, link->target_span), source_text(found.sources, link->whole)};
        text_add(&out, text_fill(arena, TEXT("<{0}|{1}|{2}|{3}|{4}>"), parts, 5));
    }
    return text_built(&out);
}

#define LINKS(bytes, expected) cr_text(links_of(arena, TEXT(bytes)), expected)

Test(link, words_and_target_are_found) {
    Arena *arena = given_arena();
    LINKS("It is [3 mm](#a.b) long.\n", "<3 mm|3 mm|a.b|a.b|[3 mm](#a.b)>");
    LINKS("[3 mm](<#a.b>) [4 mm]( #c 'title' )\n", "<3 mm|3 mm|a.b|a.b|[3 mm](<#a.b>)><4 mm|4 mm|c|c|>");
    LINKS("[a](b.md) [c](https://x.y/#z) [d]() ![e](#f) [g](#)\n", "<g|g|||[g](#)>");
    arena_close(arena);
}

Test(link, stands_in_any_kind_of_block) {
    Arena *arena = given_arena();
    LINKS("# Head [1 s](#a)\n\nSet [2 s](#b)\nover [3 s](#c)\n===\n",
          "<1 s|1 s|a|a|[1 s](#a)><2 s|2 s|b|b|[2 s](#b)><3 s|3 s|c|c|[3 s](#c)>");
    LINKS("- [1 s](#a)\n      [2 s](#b)\n[3 s](#c)\n  1. x\n     [4 s](#d)\n\n> [5 s](#e)\n>    > [6 s](#f)\n> > [7 s](#g)\n",
          "<1 s|1 s|a|a|[1 s](#a)><2 s|2 s|b|b|[2 s](#b)><3 s|3 s|c|c|[3 s](#c)><4 s|4 s|d|d|[4 s](#d)><5 s|5 s|e|e|[5 s](#e)>"
          "<6 s|6 s|f|f|[6 s](#f)><7 s|7 s|g|g|[7 s](#g)>");
    LINKS("x\n\n| a [1 s](#a) | [2 s](#b) |\n|---|---|\n| \\| [3 s](#c) [4 s](#d) | µ [5 s](#e) |\n| | [6 s](#f)\n",
          "<1 s|1 s|a|a|[1 s](#a)><2 s|2 s|b|b|[2 s](#b)><3 s|3 s|c|c|[3 s](#c)><4 s|4 s|d|d|[4 s](#d)><5 s|5 s|e|e|[5 s](#e)>"
          "<6 s|6 s|f|f|[6 s](#f)>");
    LINKS("Here [1 s](#a)\nand [2 s](#a)\n| x [3 s](#a) | [4 s](#b) |\n|:--|---|\n| [5 s](#c) | [6 s](#d) |\n",
          "<1 s|1 s|a|a|[1 s](#a)><2 s|2 s|a|a|[2 s](#a)><3 s|3 s|a|a|[3 s](#a)><4 s|4 s|b|b|[4 s](#b)><5 s|5 s|c|c|[5 s](#c)>"
          "<6 s|6 s|d|d|[6 s](#d)>");
    LINKS("x\n| [3 s](#a) |\n|---|\n\nThen [5 s](#c)\n", "<3 s|3 s|a|a|[3 s](#a)><5 s|5 s|c|c|[5 s](#c)>");
    arena_close(arena);
}

Test(link, line_ends_and_marks_at_the_beginning_do_not_matter) {
    Arena *arena = given_arena();
    LINKS("a [1 s](#a)\r\nµ [2\r\n s](#b) and\r\n [3 s](#c)\r\n", "<1 s|1 s|a|a|[1 s](#a)><2 s|2\r\n s|b|b|[2\r\n s](#b)><3 s|3 s|c|c|[3 s](#c)>");
    LINKS("a [1 s](#a)\rb [2 s](#b)\r\rc [3 s](#c)", "<1 s|1 s|a|a|[1 s](#a)><2 s|2 s|b|b|[2 s](#b)><3 s|3 s|c|c|[3 s](#c)>");
    LINKS("\xEF\xBB\xBF[1 s](#a)\n", "<1 s|1 s|a|a|[1 s](#a)>");
    LINKS("-\t[1 s](#a)\n\t[2 s](#b)\n", "<1 s|1 s|a|a|[1 s](#a)><2 s|2 s|b|b|[2 s](#b)>");
    arena_close(arena);
}

Test(link, what_only_looks_like_one_is_passed_over) {
    Arena *arena = given_arena();
    LINKS("`[1 s](#a)` [1 s](#a)\n", "<1 s|1 s|a|a|[1 s](#a)>");
    cr_text(links_of(arena, TEXT("``x ` [1 s](#a)`` \\[1 s](#a) [1 s](#a) ` <!-- [1 s](#a) --> [1 s](#a)\n")),
            "<1 s|1 s|a|a|[1 s](#a)><1 s|1 s|a|a|[1 s](#a)>");
    Found found = found_in(arena, TEXT("`[1 s](#a)` [1 s](#a)\n"));
    cr_assert_eq(found.source->links->list.at[0].span.start - found.source->base, 13);
    LINKS("[x [1 s](#a) y](#b)\n", "<1 s|1 s|a|a|[1 s](#a)>");
    LINKS("[[1 s](#a)\n[ ] [2 s](#b)]\n", "<1 s|1 s|a|a|[1 s](#a)><2 s|2 s|b|b|[2 s](#b)>");
    LINKS("    [1 s](#a)\n\n```\n[2 s](#b)\n```\n\n<p>\n[3 s](#c)\n</p>\n", "");
    LINKS("| `` | x |\n|---|---|\n| ` | ` [1 s](#a) |\n", "<1 s|1 s|a|a|[1 s](#a)>");
    arena_close(arena);
}

Test(link, markup_and_other_spellings_are_undone) {
    Arena *arena = given_arena();
    LINKS("[**3** *mm*](#a) **[4 mm](#b)**\n", "<3 mm|**3** *mm*|a|a|[**3** *mm*](#a)><4 mm|4 mm|b|b|[4 mm](#b)>");
    LINKS("[3&nbsp;mm](#a)\n", "<3\xC2\xA0mm|3&nbsp;mm|a|a|[3&nbsp;mm](#a)>");
    LINKS("[met](#U%C2%A71.2) [a](#x%2) [b](#x\\_y)\n", "<met|met|U§1.2||[met](#U%C2%A71.2)><a|a|x%2|x%2|[a](#x%2)><b|b|x_y||>");
    LINKS("[3 mm][x] [4 mm] [y][] [5\\_mm][x]\n\n[x]: #a.b\n[4 mm]: #c\n[y]: #d\n",
          "<3 mm|3 mm|a.b||><4 mm|4 mm|c||><y|y|d||><5_mm|5\\_mm|a.b||>");
    arena_close(arena);
}

Test(link, headings_are_named_as_forges_name_them) {
    Arena *arena = given_arena();
    Found found = found_in(arena, TEXT("# How it *moves*\n\n## Motor, brake & drive\n\n## How it moves\n\n### Größe_2 (Ω)\n\nHow it moves\n---\n\n"
                                       "<a id=\"by-hand\"></a> <a class=\"x\" name=\"z\">\n\n#\n\n# ÀB\n"));
    static const struct {
        const char *name;
        int line;
    } expected[] = {{"how-it-moves", 1}, {"motor-brake--drive", 3}, {"how-it-moves-1", 5}, {"größe_2-ω", 7},
                    {"how-it-moves-2", 9}, {"by-hand", 0}, {"z", 0}, {"àb", 16}};
    cr_assert_eq(found.source->links->anchors.count, sizeof expected / sizeof expected[0]);
    for (unsigned i = 0; i < sizeof expected / sizeof expected[0]; i++) {
        const ProseAnchor *anchor = link_anchor(found.source->links, text_from(expected[i].name));
        cr_assert(anchor != NULL, "%s is not there", expected[i].name);
        cr_assert_eq(anchor->line, (uint32_t)expected[i].line, "%s", expected[i].name);
    }
    cr_assert(link_anchor(found.source->links, TEXT("How it moves")) == NULL);
    cr_assert(link_anchor(NULL, TEXT("x")) == NULL);
    cr_assert(link_anchor(found_in(arena, TEXT("no heading")).source->links, TEXT("no-heading")) == NULL);
    arena_close(arena);
}

/* Wherever a link is put, its words are found where they are. */
Test(link, places_are_right_in_texts_at_random) {
    static const char *const pieces[] = {"x ", "\n", "\n\n", "`", "``", "[", "]", "(", ")", "\\", "*", "**", "> ", "- ", "  ", "1. ", "| ", "|---|\n",
                                         "# ", "µ", "!", "<", "<!-- ", "-->", "&amp;", "\t", "\r\n", "[1 s](#a)", "[1 s](#b)", "[2 s](#a)", "[a]: #c\n"};
    Arena *arena = given_arena();
    uint64_t state = 7;
    unsigned located = 0, all = 0;
    for (int round = 0; round < 20000; round++) {
        TextBuilder bytes = text_builder(arena);
        for (uint64_t n = given_random(&state) % 30; n > 0; n--)
            text_add_string(&bytes, pieces[given_random(&state) % (sizeof pieces / sizeof pieces[0])]);
        Found found = found_in(arena, text_built(&bytes));
        uint32_t before = 0;
        for (uint32_t i = 0; i < found.source->links->list.count; i++) {
            const ProseLink *link = &found.source->links->list.at[i];
            all++;
            cr_assert(link->span.start >= found.source->base && link->span.end <= found.source->base + bytes.length);
            if (!link->located) continue;
            located++;
            cr_assert(link->span.start > before, "%.*s", (int)bytes.length, bytes.at);
            before = link->span.start;
            Text raw = source_text(found.sources, link->span);
            cr_assert_eq(found.source->bytes.at[link->span.start - found.source->base - 1], '[');
            if (link->target_span.start) cr_assert(text_equal(source_text(found.sources, link->target_span), link->target));
            if (text_is(link->words, "1 s")) cr_assert(memchr(raw.at, '1', raw.length) != NULL);
        }
    }
    cr_assert_gt(all, 1000u);
    cr_assert_gt(located * 1000, all * 995, "%u of %u", located, all);
    arena_close(arena);
}
