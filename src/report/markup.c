#include "report/markup.h"

#include "report/clean.h"
#include "report/wording.h"

void markup_add(Page *page, const char *markup) { text_add_string(page->out, markup); }

static void add_escaped(TextBuilder *out, Text fit) {
    size_t from = 0;
    for (size_t i = 0; i < fit.length; i++) {
        const char *instead = NULL;
        switch (fit.at[i]) {
        case '&': instead = "&amp;"; break;
        case '<': instead = "&lt;"; break;
        case '>': instead = "&gt;"; break;
        case '"': instead = "&quot;"; break;
        case '\'': instead = "&#39;"; break;
        default: continue;
        }
        text_add(out, text_slice(fit, from, i));
        text_add_string(out, instead);
        from = i + 1;
    }
    text_add(out, text_slice(fit, from, fit.length));
}

void markup_text(Page *page, Text text) { add_escaped(page->out, clean_line(page->arena, text)); }

static Text id_of(Arena *arena, Text name) {
    TextBuilder id = text_builder(arena);
    Text fit = clean_line(arena, name);
    for (size_t i = 0; i < fit.length; i++)
        if (fit.at[i] != ' ') text_add_char(&id, fit.at[i]);
    return text_built(&id);
}

bool markup_has_id(Page *page, Text name) {
    Text id = id_of(page->arena, name);
    return id.length == 0 || symbol_find(page->used, id) != 0;
}

void markup_id(Page *page, Text name) {
    if (markup_has_id(page, name)) return;
    Text id = id_of(page->arena, name);
    symbol_of(page->used, id);
    markup_add(page, " id=\"");
    add_escaped(page->out, id);
    markup_add(page, "\"");
}

void markup_link(Page *page, Text name, Text text) {
    Text id = id_of(page->arena, name);
    markup_add(page, "<a href=\"#");
    for (size_t i = 0; i < id.length; i++) {
        if (id.at[i] == '%') markup_add(page, "%25");
        else add_escaped(page->out, text_slice(id, i, i + 1));
    }
    markup_add(page, "\">");
    markup_text(page, text);
    markup_add(page, "</a>");
}

void markup_name(Page *page, Text name) {
    const Outline *outline = page->outline;
    if (outline_value(outline, name) != OUTLINE_NONE || outline_finding(outline, name) != OUTLINE_NONE ||
        outline_thing(outline, name) != OUTLINE_NONE)
        markup_link(page, name, name);
    else
        markup_text(page, name);
}

void markup_names(Page *page, const TextVector *names) {
    for (uint32_t i = 0; i < names->count; i++) {
        if (i > 0) markup_add(page, ", ");
        markup_name(page, names->at[i]);
    }
}

void markup_element(Page *page, const char *open, Text text) {
    if (text.length == 0) return;
    Text tag = text_from(open);
    size_t end = 0;
    while (end < tag.length && tag.at[end] != ' ') end++;
    markup_add(page, "<");
    markup_add(page, open);
    markup_add(page, ">");
    markup_text(page, text);
    markup_add(page, "</");
    text_add(page->out, text_slice(tag, 0, end));
    markup_add(page, ">");
}

const char *markup_verdict_class(const Finding *finding) {
    if (finding->advice && finding->verdict != VERDICT_MET) return "advice";
    switch (finding->verdict) {
    case VERDICT_MET: return "met";
    case VERDICT_AT_RISK: return "risk";
    case VERDICT_NOT_MET: return "not";
    case VERDICT_OPEN: return "open";
    case VERDICT_CONCEDED: return "conceded";
    case VERDICT_COUNT: break;
    }
    return "open";
}

void markup_verdict(Page *page, const Finding *finding) {
    markup_add(page, "<span class=\"verdict ");
    markup_add(page, markup_verdict_class(finding));
    markup_add(page, "\">");
    markup_text(page, wording_verdict(page->arena, finding));
    markup_add(page, "</span>");
}
