#include "text/prose.h"

#include <stdlib.h>
#include <string.h>

#include "text/commonmark.h"
#include "text/link.h"

typedef struct Render {
    Arena *arena;
    const Source *source;
    Text prefix;
    ProseProgram *program;
    void *context;
    uint32_t block;  /* the next block that no node has taken */
    uint32_t line;   /* of `offset`, as cmark counts: from 1 */
    size_t offset;   /* in the bytes: where that line begins */
    int depth;       /* of links and pictures inside each other */
    uint32_t links, links_before; /* links met; the same when the outermost picture began */
    Prose prose;
} Render;

/* Where a line begins. Lines are asked for in rising order, so the whole file is walked once. */
static size_t line_offset(Render *render, int wanted) {
    Text bytes = render->source->bytes;
    for (; render->line < (uint32_t)wanted && render->offset < bytes.length; render->line++)
        render->offset = commonmark_next_line(bytes, render->offset);
    return render->offset;
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

static Text heading_anchor(Render *render, uint64_t line) {
    TextBuilder anchor = text_builder(render->arena);
    text_add(&anchor, render->prefix);
    text_add_count(&anchor, line);
    return text_built(&anchor);
}

/* A link to a heading of the same file, by the name that forges give it, leads to the id that it has on this page. */
static void aim_link(Render *render, cmark_node *link) {
    Text address = text_from(cmark_node_get_url(link));
    if (address.length < 2 || address.at[0] != '#') return;
    const ProseAnchor *anchor = link_anchor(render->source->links, text_slice(address, 1, address.length));
    if (anchor == NULL || anchor->line == 0) return;
    Text to = heading_anchor(render, anchor->line);
    cmark_node_set_url(link, text_zero_ended(render->arena, text_fill(render->arena, TEXT("#{0}"), &to, 1)));
}

static void set_heading(Render *render, cmark_node *node) {
    TextBuilder words = text_builder(render->arena), html = text_builder(render->arena);
    Text anchor = heading_anchor(render, (uint64_t)cmark_node_get_start_line(node));
    commonmark_words(&words, node);
    text_add_string(&html, "<span id=\"");
    text_add(&html, anchor);
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
                               .anchor = anchor});
}

/* Leaves only the words of a picture. */
static void drop_picture(cmark_node *node) {
    cmark_node *child;
    while ((child = cmark_node_first_child(node)) != NULL)
        if (!cmark_node_insert_before(node, child)) break;
    cmark_node_unlink(node);
    cmark_node_free(node);
}

/* A picture beside the file would be lost with it, and one in the network must not be asked for: a link says where it is.
 * Pictures inside the text itself (data:) stay. */
static void set_picture(cmark_node *node, bool alone) {
    const char *address = cmark_node_get_url(node);
    if (address == NULL) address = "";
    if (alone && strncmp(address, "data:image/", 11) == 0) return;
    cmark_node *link = alone ? cmark_node_new(CMARK_NODE_LINK) : NULL;
    if (link == NULL || !cmark_node_insert_before(node, link)) { /* links do not nest */
        if (link != NULL) cmark_node_free(link);
        drop_picture(node);
        return;
    }
    cmark_node_set_url(link, address);
    for (cmark_node *child; (child = cmark_node_first_child(node)) != NULL;)
        if (!cmark_node_append_child(link, child)) break;
    if (cmark_node_first_child(link) == NULL) {
        cmark_node *words = cmark_node_new(CMARK_NODE_TEXT);
        cmark_node_set_literal(words, address);
        if (!cmark_node_append_child(link, words)) cmark_node_free(words);
    }
    cmark_node_unlink(node);
    cmark_node_free(node);
}

/* Pictures and links inside each other: only the outermost can become a link, and only when there is none inside. */
static void meet_link(Render *render, cmark_node *node, cmark_node_type type, bool enter) {
    if (type == CMARK_NODE_LINK) {
        if (enter) aim_link(render, node);
        render->depth += enter ? 1 : -1;
        render->links++;
    } else if (enter) {
        if (render->depth++ == 0) render->links_before = render->links;
    } else {
        render->depth--;
        set_picture(node, render->depth == 0 && render->links == render->links_before);
    }
}

Prose prose_render(Arena *arena, const Source *source, Text prefix, ProseProgram *program, void *context) {
    Render render = {.arena = arena, .source = source, .prefix = prefix, .program = program, .context = context, .line = 1};
    cmark_node *root = commonmark_parse(arena, source->bytes, CMARK_OPT_VALIDATE_UTF8);
    cmark_iter *iter = cmark_iter_new(root);
    cmark_event_type event;
    while ((event = cmark_iter_next(iter)) != CMARK_EVENT_DONE) {
        cmark_node *node = cmark_iter_get_node(iter);
        cmark_node_type type = cmark_node_get_type(node);
        /* The iterator has already gone past a leaf, or past a node that it leaves: both may be changed. */
        if (type == CMARK_NODE_CODE_BLOCK && commonmark_is_program(node)) set_program(&render, node);
        else if (type == CMARK_NODE_HEADING && event == CMARK_EVENT_EXIT) set_heading(&render, node);
        else if (type == CMARK_NODE_IMAGE || type == CMARK_NODE_LINK)
            meet_link(&render, node, type, event == CMARK_EVENT_ENTER);
    }
    cmark_iter_free(iter);
    char *html = cmark_render_html(root, CMARK_OPT_DEFAULT, NULL);
    render.prose.html = text_copy(arena, text_from(html));
    free(html);
    cmark_node_free(root);
    return render.prose;
}
