/* What the links of the prose lead to: values, compiled as a requirement would name them; requirements, rules, things, clauses
 * and headings, which only have to be there. */
#include "plan/build.h"
#include "quantity/figure.h"
#include "text/link.h"
#include "text/utf8.h"

enum { PATH_PARTS_MOST = 40, SEARCHES_MOST = 200, HEADINGS_MOST = 500 };

static Symbol part_symbol(Builder *builder, Text part) {
    return symbol_of(builder->model->symbols, utf8_normal(builder->arena, part));
}

static Span target_span(const ProseLink *link) { return link->target_span.start ? link->target_span : link->span; }

/* ---- what is not there --------------------------------------------------------------------------------------------- */

static bool is_verdict_word(Text words) {
    static const char *const verdicts[] = {"met", "at risk", "not met", "open", "conceded"};
    for (unsigned i = 0; i < sizeof verdicts / sizeof verdicts[0]; i++)
        if (text_is(words, verdicts[i])) return true;
    return false;
}

static Text nearest_name(Builder *builder, const ProseLinks *links, Text target) {
    Model *model = builder->model;
    Nearest nearest = nearest_to(model->symbols, part_symbol(builder, target));
    for (Symbol name = 1; name < model->things.count; name++)
        if (model->things.at[name] != 0) nearest_try(&nearest, name);
    Text best = nearest_found(&nearest);
    for (uint32_t i = 0; best.length == 0 && i < links->anchors.count && i < HEADINGS_MOST; i++)
        if (text_distance(target, links->anchors.at[i].name, 2) <= 2) best = links->anchors.at[i].name;
    return best.length ? text_fill(builder->arena, TEXT("Did you mean #{0}?"), &best, 1) : best;
}

static void say_nowhere(Builder *builder, const ProseLink *link, bool dotted, Text advice) {
    Figure figure;
    if (builder->model->unread) return; /* it may be in what could not be read */
    bool quoted = is_verdict_word(link->words);
    if (!quoted && figure_read(link->words, &figure) && !figure.glued) {
        Symbol unit = figure.unit.length ? part_symbol(builder, figure.unit) : 0;
        quoted = dotted || (unit != 0 && vocabulary_known_unit(builder->model->vocabulary, unit) != 0);
    }
    if (quoted) SAY(builder->messages, FIGURE_PATH, target_span(link), link->words, link->target, advice);
    else SAY(builder->messages, LINK_NOWHERE, target_span(link), link->target, advice);
}

/* ---- paths --------------------------------------------------------------------------------------------------------- */

/* LIFT-URS§1.2 */
static bool is_clause(Builder *builder, Text target) {
    size_t sign = 0;
    while (sign < target.length && !text_starts(text_slice(target, sign, target.length), TEXT("§"))) sign++;
    if (sign == target.length) return false;
    NodeId source = model_thing(builder->model, part_symbol(builder, text_slice(target, 0, sign)));
    if (source == 0 || tree_node(builder->tree, source)->kind != NODE_SOURCE) return false;
    Symbol wanted = part_symbol(builder, text_slice(target, sign + sizeof "§" - 1, target.length));
    for (NodeId id = tree_node(builder->tree, source)->b; id != 0; id = tree_node(builder->tree, id)->next) {
        const Node *node = tree_node(builder->tree, id);
        if (node->kind == NODE_CLAUSE && node->name == wanted) return true;
    }
    return false;
}

static bool has_rule(Builder *builder, FormId id, Symbol name) {
    const Form *form = form_of(builder->model, id);
    for (uint32_t i = 0; i < form->rules.count; i++)
        if (tree_node(builder->tree, form->rules.at[i].node)->name == name) return true;
    for (uint32_t i = 0; i < form->cautions.count; i++)
        if (tree_node(builder->tree, form->cautions.at[i].node)->name == name) return true;
    return false;
}

/* The path as the tree would hold it, and its part before the last dot in *owner; 0 when it cannot be a path. */
static NodeId path_node(Builder *builder, const ProseLink *link, NodeId *owner, Symbol *last) {
    Text target = link->target;
    NodeId node = 0;
    size_t start = 0, parts = 0;
    for (size_t i = 0; i <= target.length; i++) {
        if (i < target.length && target.at[i] != '.') continue;
        if (i == start || ++parts > PATH_PARTS_MOST) return 0;
        NodeId next = tree_add(builder->tree, node ? NODE_MEMBER : NODE_NAME, target_span(link));
        *last = tree_node(builder->tree, next)->name = part_symbol(builder, text_slice(target, start, i));
        tree_node(builder->tree, next)->a = node;
        *owner = node;
        node = next;
        start = i + 1;
    }
    return node;
}

/* A path with a dot: a value or a rule. */
static void compile_path(Builder *builder, const ProseLink *link) {
    const Scope top = {SCOPE_TOP, 0, UINT32_MAX};
    NodeId owner = 0;
    Symbol last = 0;
    NodeId node = path_node(builder, link, &owner, &last);
    uint32_t said = builder->messages->list.count;
    Quote quote = {.link = link, .path = link->target};
    Operand of = owner ? compile_expression(builder, top, owner, NULL) : operand_broken();
    bool rule = of.class == OPERAND_OBJECT && of.object && has_rule(builder, builder->program->objects.at[of.object].form, last);
    if (of.class == OPERAND_OBJECT && of.object) {
        const Object *object = &builder->program->objects.at[of.object];
        uint32_t slot = form_slot(builder->model, object->form, last);
        if (slot != UINT32_MAX) {
            quote.stated = object->slots[slot].stated;
            quote.shown = form_of(builder->model, object->form)->members.at[slot].shown;
            rule = false;
        }
    }
    if (of.class != OPERAND_BROKEN && !rule) quote.operand = compile_expression(builder, top, node, NULL);
    if (quote.operand.class == OPERAND_BROKEN && !rule) {
        bool told = builder->messages->list.count > said;
        Text advice = told ? builder->messages->list.at[said].advice : (Text){0};
        messages_take_back(builder->messages, said, target_span(link).start);
        if (told || node == 0) say_nowhere(builder, link, true, advice);
        return;
    }
    if (!rule) quote.words = operand_words(builder, quote.operand);
    NodeId thing = owner;
    while (tree_node(builder->tree, thing)->kind == NODE_MEMBER) thing = tree_node(builder->tree, thing)->a;
    thing = model_thing(builder->model, tree_node(builder->tree, thing)->name);
    if (thing) quote.thing = tree_node(builder->tree, thing)->span;
    VECTOR_PUSH(builder->arena, &builder->program->quotes, quote);
}

/* ---- links --------------------------------------------------------------------------------------------------------- */

static bool has_dot(Text target) {
    for (size_t i = 0; i < target.length; i++)
        if (target.at[i] == '.') return true;
    return false;
}

/* The advice of a requirement or rule has an anchor of its own in the reports: LIFT-4.advice */
static bool is_advice(Builder *builder, Text target) {
    if (!text_ends(target, TEXT(".advice"))) return false;
    NodeId thing = model_thing(builder->model, part_symbol(builder, text_slice(target, 0, target.length - sizeof ".advice" + 1)));
    return thing != 0 && tree_node(builder->tree, thing)->kind == NODE_REQUIREMENT;
}

/* `searches` counts the names for which a near one was looked for. */
static void compile_link(Builder *builder, const ProseLinks *links, const ProseLink *link, uint32_t *searches) {
    Text target = link->target;
    if (target.length == 0 || text_is(target, "top") || link_anchor(links, target) != NULL) return;
    NodeId thing = model_thing(builder->model, part_symbol(builder, target));
    if (thing != 0) {
        if (tree_node(builder->tree, thing)->kind != NODE_REQUIREMENT) return;
        Quote quote = {.link = link, .path = target, .thing = tree_node(builder->tree, thing)->span};
        VECTOR_PUSH(builder->arena, &builder->program->quotes, quote);
    } else if (is_clause(builder, target) || is_advice(builder, target)) {
        return;
    } else if (has_dot(target)) {
        compile_path(builder, link);
    } else {
        say_nowhere(builder, link, false, ++*searches <= SEARCHES_MOST ? nearest_name(builder, links, target) : (Text){0});
    }
}

void compile_quotes(Builder *builder) {
    ObjectId known = builder->program->objects.count;
    uint32_t searches = 0;
    const Loaded *loaded = builder->model->loaded;
    for (uint32_t f = 0; f < loaded->files.count; f++) {
        const Source *source = loaded->files.at[f].source;
        if (source->origin != SOURCE_NAMED || source->links == NULL) continue;
        for (uint32_t i = 0; i < source->links->list.count; i++) compile_link(builder, source->links, &source->links->list.at[i], &searches);
    }
    /* A part that only the prose speaks of is not used for anything. */
    for (ObjectId id = known; id < builder->program->objects.count; id++) builder->program->objects.at[id].in_use = false;
}
