#include "given_syntax.h"

#include <locale.h>

static void check(const char *text, const char *dump, const char *said)
{
    GivenText given = given_text(text);
    given_read(&given);
    cr_text(given_dump(&given), dump);
    cr_text(messages_render(given.arena, given.messages), said);
    given_end(&given);
}

static void check_right(const char *text, const char *dump) { check(text, dump, ""); }

/* How often a message was given. */
static unsigned times_said(const GivenText *given, MessageId id)
{
    unsigned times = 0;
    for (uint32_t i = 0; i < given->messages->list.count; i++) times += given->messages->list.at[i].id == id;
    return times;
}

Test(syntax, nodes_are_small) { cr_assert_eq(sizeof(Node), 32u); }

Test(syntax, chain_shares_its_middle)
{
    GivenText given = given_text("requirement A { shall a <= x <= b }\n");
    given_read(&given);
    NodeId shall = tree_option(given.tree, tree_node(given.tree, given.items)->c, OPTION_SHALL);
    const Node *chain = tree_node(given.tree, tree_node(given.tree, shall)->a);
    cr_assert_eq(chain->kind, NODE_CHAIN);
    cr_assert_eq(tree_node(given.tree, chain->a)->b, tree_node(given.tree, chain->b)->a);
    given_end(&given);
}

Test(syntax, spans_say_where)
{
    GivenText given = given_text("axis lift \"up\" { reach = (a + b) * c.d - 5 mm ± 2 % }\n");
    given_read(&given);
    const Node *axis = tree_node(given.tree, given.items), *field = tree_node(given.tree, axis->b);
    const Node *minus = tree_node(given.tree, field->a), *times = tree_node(given.tree, minus->a);
    cr_text(source_text(given.sources, axis->span), "lift");
    cr_text(source_text(given.sources, field->span), "reach");
    cr_text(source_text(given.sources, minus->span), "(a + b) * c.d - 5 mm ± 2 %");
    cr_text(source_text(given.sources, tree_node(given.tree, times->a)->span), "(a + b)");
    cr_text(source_text(given.sources, tree_node(given.tree, times->b)->span), "c.d");
    cr_text(source_text(given.sources, tree_node(given.tree, minus->b)->span), "5 mm ± 2 %");
    cr_text(tree_title(given.tree, given.arena, given.items), "up");
    given_end(&given);
}

Test(syntax, texts_lose_their_quotes)
{
    GivenText given = given_text("use \"a \\\"b\\\" \\\\ c\" -- remark\n  \" d\"\nuse \"\"\n");
    given_read(&given);
    cr_text(tree_text(given.tree, given.arena, tree_node(given.tree, given.items)->a), "a \"b\" \\ c d");
    cr_text(tree_text(given.tree, given.arena, tree_node(given.tree, tree_node(given.tree, given.items)->next)->a), "");
    cr_text(tree_text(given.tree, given.arena, 0), "");
    given_end(&given);
}

Test(syntax, words_of_the_language_can_be_names)
{
    check_right("axis shown {\n  unit = kind\n  form = given.rule\n  nominal = 5\n  table = also\n}\nform point { let use : ratio = move }\n",
                "filled shown\n  name axis\n  field unit\n    name kind\n  field form\n    member rule\n      name given\n"
                "  field nominal\n    number 5\n  field table\n    name also\n"
                "form point\n  let use\n    type ratio\n    name move\n");
}

Test(syntax, in_is_told_apart)
{
    check_right("kind x in in\nform f { let a : y in in = b in c }\ncycle c {\n  move 5 in in 3 s { on = a in b }\n}\n",
                "kind x\n  number 1 in\nform f\n  let a\n    type y\n    binary in\n      name b\n      name c\n    option shown in\n"
                "cycle c\n  segment move\n    number 5 in\n    option in\n      number 3 s\n    field on\n      binary in\n"
                "        name a\n        name b\n");
}

Test(syntax, letters_of_one_name_are_one)
{
    GivenText given = given_text("axis gr\u00F6\u00DFe { \u00B5 = gro\u0308\u00DFe \u03BC = 5 \u2126 x = 3 \u03A9 }\n");
    given_read(&given);
    cr_text(given_dump(&given), "filled gr\u00F6\u00DFe\n  name axis\n  field \u03BC\n    name gr\u00F6\u00DFe\n  field \u03BC\n    number 5 \u03A9\n"
                                "  field x\n    number 3 \u03A9\n");
    cr_text(messages_render(given.arena, given.messages), "");
    given_end(&given);
}

Test(syntax, line_ends_do_not_matter)
{
    static const char *const texts[] = {"axis a {\n  b = 5 mm\n}\n", "axis a {\r\n\tb = 5 mm\r\n}", "axis a { b = 5 mm }",
                                        "\xEF\xBB\xBF\naxis a{b=5 mm}-- remark", "\n\n--\naxis\na\n{\nb\n=\n5 mm\n}"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        check_right(texts[i], "filled a\n  name axis\n  field b\n    number 5 mm\n");
}

/* Cuts a text into two blocks, with something in between that is not to be read, at every line end. */
Test(syntax, items_go_on_from_block_to_block)
{
    const char *text = "axis a {\n  b = f(c,\n    5 mm)\n  d = \"x\"\n\"y\"\n}\nunit m, \nn = 5\n";
    GivenText whole = given_text(text);
    given_read(&whole);
    for (size_t cut = 0; text[cut]; cut++) {
        if (text[cut] != '\n') continue;
        TextBuilder torn = text_builder(whole.arena);
        text_add(&torn, (Text){text, cut + 1});
        text_add_string(&torn, "```\nwhat is this?\n");
        size_t second = text_built(&torn).length;
        text_add_string(&torn, text + cut + 1);
        Text bytes = text_built(&torn);
        GivenText given = given_bytes("a.trn.md", bytes.at, bytes.length);
        uint32_t base = given.source->base;
        VECTOR_PUSH(given.arena, &given.source->blocks, ((Span){base, base + (uint32_t)cut + 1}));
        VECTOR_PUSH(given.arena, &given.source->blocks, ((Span){base + (uint32_t)second, base + (uint32_t)bytes.length}));
        given_read(&given);
        cr_assert(text_equal(given_dump(&given), given_dump(&whole)), "cut at %zu", cut);
        cr_assert_eq(given.messages->list.count, 0u, "cut at %zu", cut);
        given_end(&given);
    }
    given_end(&whole);
}

Test(syntax, literate_file_without_blocks_has_no_program)
{
    GivenText given = given_bytes("a.trn.md", "# Title\n", 8);
    given_read(&given);
    cr_text(messages_render(given.arena, given.messages),
            "a.trn.md: error: there is no program text in this file (no-program)\n"
            "  Program text stands in blocks that begin with a line ```trunnion.\n");
    given_end(&given);
}

Test(syntax, unread_text_leaves_the_rest)
{
    check("axis a {\n  b = @\n  c = 5\n}\n", "filled a\n  name axis\n  field b\n    broken\n  field c\n    number 5\n",
          "a.trn:2.7-2.7: error: '@' means nothing here (stray-character)\n    b = \u00AB@\u00BB\n");
    check("axis a {\n  b = 5 mm 7\n  c = 5\n}\n", "filled a\n  name axis\n  field b\n    broken\n  field c\n    number 5\n",
          "a.trn:2.12-2.12: error: an operator or a new line is due after '5 mm', and this is '7' (unexpected)\n"
          "    b = 5 mm \u00AB7\u00BB\n");
    check("axis a {\n  b 5 mm\n  c = 5\n}\n", "filled a incomplete\n  name axis\n  field c\n    number 5\n",
          "a.trn:2.5-2.8: error: '=' is due after 'b', and this is '5 mm' (unexpected)\n    b \u00AB5 mm\u00BB\n");
}

/* ---- limits ---- */

/* `count` times `before`, then `middle`, then as often `after`. */
static Text nested(Arena *arena, const char *start, unsigned count, const char *before, const char *middle, const char *after, const char *end)
{
    TextBuilder text = text_builder(arena);
    text_add_string(&text, start);
    for (unsigned i = 0; i < count; i++) text_add_string(&text, before);
    text_add_string(&text, middle);
    for (unsigned i = 0; i < count; i++) text_add_string(&text, after);
    text_add_string(&text, end);
    return text_built(&text);
}

static void check_depth(const char *before, const char *middle, const char *after)
{
    Arena *arena = given_arena();
    static const struct {
        unsigned count, messages;
    } cases[] = {{60, 0}, {260, 1}, {20000, 1}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Text text = nested(arena, "axis a {\n  x = ", cases[i].count, before, middle, after, "\n  y = 5\n}\ncycle last { hold 1 s }\n");
        GivenText given = given_bytes("a.trn", text.at, text.length);
        given_read(&given);
        cr_expect_eq(times_said(&given, MESSAGE_NESTING_TOO_DEEP), cases[i].messages, "%u times %s", cases[i].count, before);
        cr_expect_eq(given.messages->list.count, cases[i].messages, "%u times %s", cases[i].count, before);
        cr_expect(text_ends(given_dump(&given), TEXT("  field y\n    number 5\ncycle last\n  segment hold\n    number 1 s\n")),
                  "%u times %s", cases[i].count, before);
        given_end(&given);
    }
    arena_close(arena);
}

Test(syntax_limits, nesting_in_parentheses) { check_depth("(", "1", ")"); }
Test(syntax_limits, nesting_in_calls) { check_depth("f(1, ", "1", ")"); }
Test(syntax_limits, nesting_in_braces) { check_depth("a {\n b = ", "1", "\n}"); }
Test(syntax_limits, nesting_in_tables) { check_depth("(a + ", "1", ")"); }
Test(syntax_limits, signs) { check_depth("- ", "a", ""); }
Test(syntax_limits, powers) { check_depth("a ^ ", "a", ""); }
Test(syntax_limits, sums) { check_depth("a + ", "a", ""); }
Test(syntax_limits, negations) { check_depth("not ", "a", ""); }
Test(syntax_limits, conditions) { check_depth("if a then b else ", "a", ""); }
Test(syntax_limits, paths) { check_depth("a.", "a", ""); }

Test(syntax_limits, long_names_and_units)
{
    static const char *const starts[] = {"axis ", "axis a { b = 5 ", "axis \u00FC"};
    for (size_t i = 0; i < 3; i++) {
        for (unsigned length = 250; length < 261; length++) {
            Arena *arena = given_arena();
            Text text = nested(arena, starts[i], length, "x", i == 1 ? " }" : " { }", "", "\n");
            GivenText given = given_bytes("a.trn", text.at, text.length);
            given_read(&given);
            unsigned bytes = length + (i == 2 ? 2 : 0);
            cr_expect_eq(given.messages->list.count, bytes > SYNTAX_NAME_LIMIT ? 1u : 0u, "%u bytes after %s", length, starts[i]);
            cr_expect_eq(times_said(&given, MESSAGE_NAME_TOO_LONG), given.messages->list.count);
            given_end(&given);
            arena_close(arena);
        }
    }
}

Test(syntax_limits, many_mistakes_end_with_one_message)
{
    Arena *arena = given_arena();
    Text text = nested(arena, "axis a {\n", 1000, "  b = @\n", "}\n", "", "");
    GivenText given = given_bytes("a.trn", text.at, text.length);
    given_read(&given);
    cr_assert_eq(times_said(&given, MESSAGE_STRAY_CHARACTER), (unsigned)SYNTAX_ERROR_LIMIT);
    cr_assert_eq(times_said(&given, MESSAGE_TOO_MANY_ERRORS), 1u);
    cr_assert_eq(given.messages->list.count, SYNTAX_ERROR_LIMIT + 1u);
    const Message *last = &given.messages->list.at[given.messages->list.count - 1];
    cr_text(last->sentence, "after 100 mistakes the rest of a.trn is not read");
    given_end(&given);
    arena_close(arena);
}

Test(syntax_limits, many_items_are_read_in_linear_time)
{
    Arena *arena = given_arena();
    Text text = nested(arena, "", 50000, "axis a { b = \"x\" \"y\" }\n", "use \"x\"", " \"x\"", "\n");
    GivenText given = given_bytes("a.trn", text.at, text.length);
    given_read(&given);
    cr_assert_eq(given.messages->list.count, 0u);
    cr_assert(given.tree->count > 250000);
    given_end(&given);
    arena_close(arena);
}

/* ---- anything at all ---- */

static const char seed_text[] =
    "use \"a\"\nunit m \"metre\" base length prefixes\nkind torque in N\u00B7m/rad also N\u00B7m shown mN\u00B7m, N\u00B7m\n"
    "choice lid { shut \"a\" ajar }\nform a : b \"c\" {\n  given x : torque in mN\u00B7m = 5 N\u00B7m within 3 % \"doc\"\n"
    "  let y : ratio = if a in b then -x ^ 2 else f(x, 3 mm) / (a.b - 1)\n  rule r \"s\" { when a shall 0 < b <= c cites \"d\" }\n}\n"
    "a thing \"t\" {\n  x = 8.2 \u03A9 \u00B1 8 %, 24 V +5/-10 %\n  t = table { 40 \u00B0C: 100 %; 60 \u00B0C: 55 % }\n  m = a { n = yes }\n}\n"
    "cycle c progressive {\n  move 320 mm in 1.40 s by d (e = 1) as f { g = 2 }\n  hold 2 s\n  run 5 m/s for 3 s speed 1 m/s\n}\n"
    "source S { \u00A71.1 \"t\" left out \"u\" }\nrequirement R \"r\" {\n  shall a <= b\n  from S \u00A71.1\n  method test\n}\n";

static const char *const pieces[] = {"{", "}", "(", ")", "\"", "=", "\n", " in ", "5 mm", "-4", "--", "\u00B1", "\u00A7", "if ", "unit ", "given x : ",
                                     "table {", ";", ":", ",", ".", "\xC2", "\xE2\x89", "\xFF", "+5/-10 %", "1e400", "not ", "^", "\n}\n",
                                     "cycle x {", "or ", "\r", "\u00FC", "\u00B0", "also ", "rule x \"y\" {", "5", "e"};

static size_t mutate(char *bytes, size_t length, size_t room, uint64_t *state)
{
    size_t at = length ? given_random(state) % length : 0, size;
    const char *piece = pieces[given_random(state) % (sizeof pieces / sizeof *pieces)];
    switch (given_random(state) % 4) {
        case 0:
            size = given_random(state) % 24;
            if (size > length - at) size = length - at;
            memmove(bytes + at, bytes + at + size, length - at - size);
            return length - size;
        case 1:
            if (length) bytes[at] = (char)given_random(state);
            return length;
        case 2:
            size = given_random(state) % 40;
            if (size > length - at || length + size > room) return length;
            memmove(bytes + at + size, bytes + at, length - at);
            return length + size;
        default:
            size = strlen(piece);
            if (length + size > room) return length;
            memmove(bytes + at + size, bytes + at, length - at);
            memcpy(bytes + at, piece, size);
            return length + size;
    }
}

Test(syntax, the_text_for_torn_copies_is_right)
{
    GivenText given = given_text(seed_text);
    given_read(&given);
    cr_text(messages_render(given.arena, given.messages), "");
    given_end(&given);
}

Test(syntax, torn_texts_are_read_to_their_end)
{
    enum { ROOM = 4096, ROUNDS = 3000 };
    uint64_t state = 88172645463325252u;
    static char bytes[ROOM];
    for (unsigned round = 0; round < ROUNDS; round++) {
        size_t length = sizeof seed_text - 1;
        memcpy(bytes, seed_text, length);
        for (uint64_t changes = 1 + given_random(&state) % 10; changes; changes--) length = mutate(bytes, length, ROOM, &state);
        GivenText given = given_bytes("a.trn", bytes, length);
        given_read(&given);
        given_dump(&given);
        messages_render(given.arena, given.messages);
        cr_assert(given.messages->list.count <= SYNTAX_ERROR_LIMIT + 2u, "round %u", round);
        given_end(&given);
    }
}

Test(syntax, every_beginning_of_a_text_is_read)
{
    for (size_t length = 0; length < sizeof seed_text; length++) {
        GivenText given = given_bytes("a.trn", seed_text, length);
        given_read(&given);
        given_dump(&given);
        messages_render(given.arena, given.messages);
        given_end(&given);
    }
}

Test(syntax, files_share_one_tree)
{
    GivenText given = given_text("axis a { b = 5 }\n");
    given_read(&given);
    Source *other = source_add(given.sources, TEXT("b.trn"), TEXT("b.trn"), TEXT("axis c { b = ( }\n"), SOURCE_USED);
    Source *third = source_add(given.sources, TEXT("c.trn"), TEXT("c.trn"), TEXT("axis d { b = 7 }\n"), SOURCE_USED);
    NodeId second = syntax_read(given.tree, other, given.messages), last = syntax_read(given.tree, third, given.messages);
    cr_text(given_dump(&given), "filled a\n  name axis\n  field b\n    number 5\n");
    cr_text(tree_dump(given.tree, given.arena, second), "filled c\n  name axis\n  field b\n    broken\n");
    cr_text(tree_dump(given.tree, given.arena, last), "filled d\n  name axis\n  field b\n    number 7\n");
    cr_assert_eq(given.messages->list.count, 1u);
    given_end(&given);
}

Test(syntax, numbers_do_not_depend_on_the_locale)
{
    static const char *const locales[] = {"de_DE.UTF-8", "fr_FR.UTF-8", "C"};
    for (size_t i = 0; i < 3; i++) {
        setlocale(LC_ALL, locales[i]);
        check_right("axis a {\nb = 0.1234567890123456789\nc = 1.5e-300\nd = 12345.678\n}\n",
                    "filled a\n  name axis\n  field b\n    number 0.12345678901234568\n  field c\n    number 1.5e-300\n"
                    "  field d\n    number 12345.678\n");
    }
}
