#include "text/csv.h"

#include "given_syntax.h"

/* All fields, each in angles, a line for each record; then the fault, if there is one. */
static Text shown(GivenText *given) {
    TextBuilder out = text_builder(given->arena);
    Csv csv = csv_read(given->arena, given->source);
    for (uint32_t r = 0; r < csv.records.count; r++) {
        for (uint32_t i = 0; i < csv.records.at[r].count; i++) {
            text_add_char(&out, '<');
            text_add(&out, csv.records.at[r].fields[i].text);
            text_add_char(&out, '>');
        }
        text_add_char(&out, '|');
    }
    if (csv.fault != CSV_FINE) {
        text_add_string(&out, csv.fault == CSV_UNCLOSED ? " unclosed at " : " quote at ");
        text_add_count(&out, csv.fault_span.start - given->source->base);
    }
    return text_built(&out);
}

static void check(const char *bytes, const char *expected) {
    GivenText given = given_text(bytes);
    cr_text(shown(&given), expected);
    given_end(&given);
}

Test(csv, records_and_fields) {
    check("", "");
    check("a", "<a>|");
    check("a,b\nc,d\n", "<a><b>|<c><d>|");
    check("a,b\r\nc,d", "<a><b>|<c><d>|");
    check("a,\n,b\n,\n", "<a><>|<><b>|<><>|");
    check(" a , b \n\n\n", "< a >< b >|");
    check("\xEF\xBB\xBF" "a\n\nb\n", "<a>|<>|<b>|");
    check("a\rb\n", "<a\rb>|"); /* a carriage return alone ends nothing */
}

Test(csv, quotes) {
    check("\"a,b\",\"c\"\"d\",\"\"\n", "<a,b><c\"d><>|");
    check("\"two\nlines\",x\r\n\"two\r\nlines\",y\n", "<two\nlines><x>|<two\r\nlines><y>|");
    check("\"\"\"\"\"\"\n", "<\"\">|");
    check("a\n\"b\nc", "<a>| unclosed at 2");
    check("a\n\"b\"c\n", "<a>| quote at 5");
    check("a\nb\"c\n", "<a>| quote at 3");
    check("\"a\"\"", " unclosed at 0");
}

Test(csv, spans_hold_the_quotes) {
    GivenText given = given_text("a,\"b\"\"c\"\nd\n");
    Csv csv = csv_read(given.arena, given.source);
    cr_text(source_text(given.sources, csv.records.at[0].fields[1].span), "\"b\"\"c\"");
    cr_text(source_text(given.sources, csv.records.at[0].span), "a,\"b\"\"c\"");
    cr_text(source_text(given.sources, csv.records.at[1].span), "d");
    given_end(&given);
}

Test(csv, one_by_one_and_on_behind_a_stray_quote) {
    GivenText given = given_text("a,\"b\"\"c\"\nd\"e,f\n\"g\"\"\",h\n\n\"i\nj");
    Arena *scratch = given_arena();
    CsvReader *reader = csv_open(given.arena, scratch, given.source);
    CsvRecord record;
    CsvFault fault;
    Span span;
    cr_assert(csv_next(reader, &record, &fault, &span));
    cr_text(record.fields[1].text, "b\"c");
    cr_assert_not(csv_next(reader, &record, &fault, &span));
    cr_assert_eq(fault, CSV_QUOTE);
    cr_assert(csv_next(reader, &record, &fault, &span));
    cr_text(record.fields[0].text, "g\"");
    cr_assert(csv_next(reader, &record, &fault, &span));
    cr_assert(csv_is_empty(&record));
    cr_assert_not(csv_next(reader, &record, &fault, &span));
    cr_assert_eq(fault, CSV_UNCLOSED);
    arena_close(scratch);
    given_end(&given);
}
