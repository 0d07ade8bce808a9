#include "text/prose.h"

#include <cmark-gfm-core-extensions.h>
#include <cmark-gfm.h>
#include <stdlib.h>
#include <string.h>

typedef struct Render {
    Arena *arena;
    const Source *source;
    Text prefix;
    ProseProgram *program;
    void *context;
    uint32_t block;  /* the next block that no node has taken */
    uint32_t line;   /* of `offset`, as cmark counts: from 1 */
    size_t offset;   /* in the bytes: where that line begins */
    Prose prose;
} Render;

static cmark_node *parse(const Source *source) {
    cmark_gfm_core_extensions_ensure_registered();
    cmark_parser *parser = cmark_parser_new(CMARK_OPT_VALIDATE_UTF8);
    cmark_syntax_extension *table = cmark_find_syntax_extension("table");
    if (table != NULL) cmark_parser_attach_syntax_extension(parser, table);
    if (source->bytes.length > 0) cmark_parser_feed(parser, source->bytes.at, source->bytes.length);
    cmark_node *root = cmark_parser_finish(parser);
    cmark_parser_free(parser);
    return root;
}

/* Where a line begins. Lines are asked for in rising order, so the whole file is walked once. A line ends as
 * CommonMark says: with LF, CR LF or CR. */
static size_t line_offset(Render *render, int wanted) {
    Text bytes = render->source->bytes;
    while (render->line < (uint32_t)wanted && render->offset < bytes.length) {
        char c = bytes.at[render->offset++];
        if (c == '\r' && render->offset < bytes.length && bytes.at[render->offset] == '\n') c = bytes.at[render->offset++];
        if (c == '\n' || c == '\r') render->line++;
    }
    return render->offset;
}

static bool is_program(cmark_node *node) {
    const char *info = cmark_node_get_fence_info(node);
    static const char NAME[] = "trunnion";
    size_t length = sizeof NAME - 1;
    if (info == NULL || strncmp(info, NAME, length) != 0) return false;
    return info[length] == '\0' || info[length] == ' ' || info[length] == '\t';
}

/* Puts markup of our own in the place of a node, or in front of a heading's text. */
static cmark_node *own_node(Arena *arena, cmark_node_type type, Text html) {
    cmark_node *node = cmark_node_new(type);
    if (!cmark_node_set_on_enter(node, text_zero_ended(arena, html))) {
        cmark_node_free(node);
        return NULL;
    }
    return node;
}

static void set_program(Render *render, cmark_node *node) {
    const Source *source = render->source;
    size_t from = line_offset(render, cmark_node_get_start_line(node));
    size_t to = line_offset(render, cmark_node_get_end_line(node) + 1);
    const SpanVector *blocks = &source->blocks;
    while (render->block < blocks->count && blocks->at[render->block].start - source->base < from) render->block++;
    if (render->block == blocks->count || blocks->at[render->block].start - source->base > to) return;
    Text html = render->program(render->context, source, render->block++);
    cmark_node *own = own_node(render->arena, CMARK_NODE_CUSTOM_BLOCK, html);
    if (own == NULL) return;
    if (cmark_node_replace(node, own)) cmark_node_free(node);
    else cmark_node_free(own);
}

static void add_words(TextBuilder *words, cmark_node *node) {
    cmark_iter *iter = cmark_iter_new(node);
    while (cmark_iter_next(iter) != CMARK_EVENT_DONE) {
        cmark_node *inner = cmark_iter_get_node(iter);
        cmark_node_type type = cmark_node_get_type(inner);
        if (cmark_iter_get_event_type(iter) != CMARK_EVENT_ENTER) continue;
        if (type == CMARK_NODE_TEXT || type == CMARK_NODE_CODE) text_add_string(words, cmark_node_get_literal(inner));
        else if (type == CMARK_NODE_SOFTBREAK || type == CMARK_NODE_LINEBREAK) text_add_char(words, ' ');
    }
    cmark_iter_free(iter);
}

static void set_heading(Render *render, cmark_node *node) {
    TextBuilder anchor = text_builder(render->arena), words = text_builder(render->arena),
                html = text_builder(render->arena);
    text_add(&anchor, render->prefix);
    text_add_count(&anchor, (uint64_t)cmark_node_get_start_line(node));
    add_words(&words, node);
    text_add_string(&html, "<span id=\"");
    text_add(&html, text_built(&anchor));
    text_add_string(&html, "\"></span>");
    cmark_node *own = own_node(render->arena, CMARK_NODE_CUSTOM_INLINE, text_built(&html));
    if (own == NULL) return;
    if (!cmark_node_prepend_child(node, own)) {
        cmark_node_free(own);
        return;
    }
    VECTOR_PUSH(render->arena, &render->prose.headings,
                (ProseHeading){.level = (uint32_t)cmark_node_get_heading_level(node),
                               .text = text_built(&words),
                               .anchor = text_built(&anchor)});
}

/* A picture beside the file would be lost with it, and one in the network must not be asked for: a link says where it is.
 * Pictures inside the text itself (data:) stay. */
static void set_picture(cmark_node *node) {
    const char *address = cmark_node_get_url(node);
    if (address != NULL && strncmp(address, "data:image/", 11) == 0) return;
    cmark_node *link = cmark_node_new(CMARK_NODE_LINK), *child;
    bool within_link = false;
    for (cmark_node *up = cmark_node_parent(node); up != NULL; up = cmark_node_parent(up))
        if (cmark_node_get_type(up) == CMARK_NODE_LINK) within_link = true;
    if (within_link || !cmark_node_insert_before(node, link)) { /* links do not nest: keep the words alone */
        cmark_node_free(link);
        while ((child = cmark_node_first_child(node)) != NULL)
            if (!cmark_node_insert_before(node, child)) break;
        cmark_node_unlink(node);
        cmark_node_free(node);
        return;
    }
    cmark_node_set_url(link, address != NULL ? address : "");
    while ((child = cmark_node_first_child(node)) != NULL)
        if (!cmark_node_append_child(link, child)) break;
    if (cmark_node_first_child(link) == NULL && address != NULL) {
        cmark_node *words = cmark_node_new(CMARK_NODE_TEXT);
        cmark_node_set_literal(words, address);
        if (!cmark_node_append_child(link, words)) cmark_node_free(words);
    }
    cmark_node_unlink(node);
    cmark_node_free(node);
}

Prose prose_render(Arena *arena, const Source *source, Text prefix, ProseProgram *program, void *context) {
    Render render = {.arena = arena, .source = source, .prefix = prefix, .program = program, .context = context, .line = 1};
    cmark_node *root = parse(source);
    cmark_iter *iter = cmark_iter_new(root);
    cmark_event_type event;
    while ((event = cmark_iter_next(iter)) != CMARK_EVENT_DONE) {
        cmark_node *node = cmark_iter_get_node(iter);
        cmark_node_type type = cmark_node_get_type(node);
        /* The iterator has already gone past a leaf, or past a node that it leaves: both may be changed. */
        if (type == CMARK_NODE_CODE_BLOCK && is_program(node)) set_program(&render, node);
        else if (type == CMARK_NODE_HEADING && event == CMARK_EVENT_EXIT) set_heading(&render, node);
        else if (type == CMARK_NODE_IMAGE && event == CMARK_EVENT_EXIT) set_picture(node);
    }
    cmark_iter_free(iter);
    char *html = cmark_render_html(root, CMARK_OPT_DEFAULT, NULL);
    render.prose.html = text_copy(arena, text_from(html));
    free(html);
    cmark_node_free(root);
    return render.prose;
}
