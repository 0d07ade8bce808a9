#include "report/plain.h"

#include "report/layout.h"
#include "report/report.h"
#include "report/wording.h"

void plain_finding(TextBuilder *out, const Result *result, const Finding *finding, Text name, uint32_t indent) {
    Arena *arena = out->arena;
    TextBuilder line = text_builder(arena);
    Text figures = wording_figures(arena, finding), margin = wording_margin(arena, finding);
    text_add(&line, name);
    text_add_string(&line, name.length > 0 ? ", " : "");
    text_add(&line, wording_verdict(arena, finding));
    if (figures.length > 0) {
        text_add_string(&line, finding->found.length > 0 || finding->verdict == VERDICT_MET ? ": " : ", ");
        text_add(&line, figures);
    }
    if (margin.length > 0) {
        text_add_string(&line, "; margin ");
        text_add(&line, margin);
    }
    text_add_repeat(out, ' ', indent);
    layout_wrap(out, text_built(&line), indent, indent + 4, PLAIN_WIDTH);
    if (finding->text.length > 0) {
        text_add_repeat(out, ' ', indent + 4);
        layout_wrap(out, finding->text, indent + 4, indent + 4, PLAIN_WIDTH);
    }
    TextVector told = wording_case(arena, result, finding);
    for (uint32_t i = 0; i < told.count; i++) {
        text_add_repeat(out, ' ', indent + 4);
        layout_wrap(out, told.at[i], indent + 4, indent + 6, PLAIN_WIDTH);
    }
}

void plain_attention(TextBuilder *out, const Outline *outline) {
    IndexVector first = wording_attention(out->arena, outline->result);
    if (first.count == 0) return;
    text_add_string(out, "To be looked at first\n\n");
    for (uint32_t i = 0; i < first.count; i++) {
        const Finding *finding = &outline->result->findings.at[first.at[i]];
        plain_finding(out, outline->result, finding, finding->id, 2);
    }
    text_add_char(out, '\n');
}

Text report_text(Arena *arena, const Result *result) {
    TextBuilder out = text_builder(arena);
    const Outline *outline = outline_of(arena, result);
    layout_heading(&out, wording_title(arena, result), '=');
    text_add_char(&out, '\n');
    layout_wrap(&out, wording_sum(arena, result), 0, 0, PLAIN_WIDTH);
    text_add_string(&out, "A verdict of this program is not a safety validation; see the last part.\n\n");
    plain_attention(&out, outline);
    plain_documents(&out, outline);
    plain_tables(&out, outline);
    return text_built(&out);
}
