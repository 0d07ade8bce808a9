#include "command/pairings.h"

#include "report/pairing.h"

static const char *const formats[] = {"text", "csv", "html"};
static const char *const endings[] = {".txt", ".csv", ".html"};
enum { FORMATS = sizeof formats / sizeof *formats };

bool pairings_read_format(PairingsAsked *asked, Text value, const char **due) {
    for (int i = 0; i < FORMATS; i++) {
        if (text_is(value, formats[i])) asked->format = formats[i];
    }
    *due = "text, csv or html";
    return asked->format != NULL && text_is(value, asked->format);
}

bool pairings_read_reasons(PairingsAsked *asked, Text value, const char **due) {
    *due = "ROW,COLUMN or all";
    if (text_is(value, "all")) {
        asked->all_reasons = true;
        return true;
    }
    size_t comma = 0;
    while (comma < value.length && value.at[comma] != ',') comma++;
    asked->request.row = text_trim(text_slice(value, 0, comma));
    asked->request.column = text_trim(text_slice(value, comma + 1, value.length));
    return asked->request.row.length > 0 && asked->request.column.length > 0;
}

static const char *format_of(const PairingsAsked *asked, Text output) {
    if (asked->format != NULL) return asked->format;
    for (int i = 0; i < FORMATS; i++) {
        if (text_ends(output, text_from(endings[i]))) return formats[i];
    }
    return formats[0];
}

PairingsAnswer pairings_answer(Arena *arena, const World *world, LoadRequest load, PairingsAsked *asked, Text output) {
    Text format = text_from(format_of(asked, output));
    asked->request.wheres = asked->wheres.at;
    asked->request.where_count = asked->wheres.count;
    asked->request.reasons = asked->all_reasons || !text_is(format, "text");
    PairingCheck check = pipeline_pairings(arena, world, load, &asked->request);
    PairingsAnswer answer = {check.messages, check.sources, {0}};
    if (check.pairings->tables.count == 0) return answer;
    if (text_is(format, "csv")) answer.document = pairing_csv(arena, check.pairings);
    else if (text_is(format, "html")) answer.document = pairing_html(arena, check.pairings);
    else answer.document = pairing_text(arena, check.pairings, asked->all_reasons);
    return answer;
}
