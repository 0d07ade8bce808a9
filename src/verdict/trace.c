/* Where requirements come from, how they are shown, and what is not covered. */
#include "base/digest.h"
#include "verdict/judge.h"

static const char *const methods[] = {"analysis", "inspection", "demonstration", "test"};

static const Node *node_of(const Judge *judge, NodeId id) { return tree_node(judge->model->tree, id); }

static Text text_of_option(Judge *judge, NodeId options, OptionKind kind) {
    NodeId option = tree_option(judge->model->tree, options, kind);
    return option && node_of(judge, option)->a ? tree_text(judge->model->tree, judge->arena, node_of(judge, option)->a) : (Text){0};
}

static Text clause_id(Judge *judge, const Node *clause) {
    Text id = model_name(judge->model, clause->name);
    return text_fill(judge->arena, TEXT("§{0}"), &id, 1);
}

/* ---- sources ----------------------------------------------------------------------------------------------------- */

static uint64_t clause_key(Judge *judge, Symbol source, Text id) { return (uint64_t)source << 32 | symbol_of(judge->model->symbols, id); }

/* NULL: the source has none of that number. */
static Clause *clause_named(Judge *judge, Symbol source, Text id) {
    uint32_t place = map_get(&judge->clauses, clause_key(judge, source, id), 0);
    return place != 0 ? &judge->result->clauses.at[place - 1] : NULL;
}

static void trace_source(Judge *judge, NodeId source, bool demanded) {
    const Node *node = node_of(judge, source);
    Text name = model_name(judge->model, node->name), title = tree_title(judge->model->tree, judge->arena, source);
    for (NodeId id = node->b; id != 0; id = node_of(judge, id)->next) {
        const Node *written = node_of(judge, id);
        if (written->kind != NODE_CLAUSE) continue;
        Clause clause = {.source = name, .source_title = title, .id = clause_id(judge, written), .demanded = demanded, .span = written->span};
        if (written->a != 0) clause.text = tree_text(judge->model->tree, judge->arena, written->a);
        clause.left_out = text_of_option(judge, written->c, OPTION_LEFT_OUT);
        const Clause *before = clause_named(judge, node->name, clause.id);
        if (before != NULL) {
            SAY(judge->messages, DECLARED_TWICE, written->span, clause.id, message_place(judge->messages, before->span.start));
            continue;
        }
        VECTOR_PUSH(judge->arena, &judge->result->clauses, clause);
        map_set(&judge->clauses, clause_key(judge, node->name, clause.id), judge->result->clauses.count);
    }
}

void trace_sources(Judge *judge) {
    const Loaded *loaded = judge->model->loaded;
    judge->clauses = map_open(judge->arena);
    for (uint32_t f = 0; f < loaded->files.count; f++) {
        bool demanded = loaded->files.at[f].source->origin == SOURCE_NAMED;
        for (NodeId item = loaded->files.at[f].first_item; item != 0; item = node_of(judge, item)->next) {
            const Node *node = node_of(judge, item);
            if (node->kind == NODE_SOURCE && model_thing(judge->model, node->name) == item) trace_source(judge, item, demanded);
        }
    }
}

static Text source_list(Judge *judge) {
    TextBuilder list = text_builder(judge->arena);
    Text last = {0};
    for (uint32_t i = 0, shown = 0; i < judge->result->clauses.count && shown < 8; i++) {
        if (text_equal(judge->result->clauses.at[i].source, last)) continue;
        last = judge->result->clauses.at[i].source;
        if (shown++ > 0) text_add(&list, TEXT(", "));
        text_add(&list, last);
    }
    return text_built(&list);
}

static void say_unknown_source(Judge *judge, const Node *from) {
    Nearest nearest = nearest_to(judge->model->symbols, from->name);
    for (uint32_t i = 0; i < judge->result->clauses.count; i++) {
        nearest_try(&nearest, symbol_of(judge->model->symbols, judge->result->clauses.at[i].source));
    }
    Text name = model_name(judge->model, from->name), best = nearest_found(&nearest), all = source_list(judge);
    Text advice = best.length  ? text_fill(judge->arena, TEXT("Did you mean {0}?"), &best, 1)
                  : all.length ? text_fill(judge->arena, TEXT("The sources are: {0}"), &all, 1)
                               : TEXT("A source is declared with its clauses: source NAME { §1 \"…\" }");
    Span span = {from->span.start, from->span.start + (uint32_t)name.length};
    SAY(judge->messages, UNKNOWN_SOURCE, span, name, advice);
}

/* "Did you mean §1.2?" */
static Text nearest_clause(Judge *judge, Text source, Text wanted) {
    Text best = {0};
    unsigned distance = 2;
    for (uint32_t i = 0; i < judge->result->clauses.count && distance > 0; i++) {
        const Clause *clause = &judge->result->clauses.at[i];
        unsigned this = text_equal(clause->source, source) ? text_distance(wanted, clause->id, distance - 1) : distance;
        if (this < distance) distance = this, best = clause->id;
    }
    if (best.length == 0) return TEXT("Add the clause to the source, or name another.");
    return text_fill(judge->arena, TEXT("Did you mean {0}?"), &best, 1);
}

static void trace_from(Judge *judge, Finding *finding, const Node *from) {
    NodeId source = model_thing(judge->model, from->name);
    if (source == 0 || node_of(judge, source)->kind != NODE_SOURCE) {
        say_unknown_source(judge, from);
        judge->untraced = true;
        return;
    }
    Text name = model_name(judge->model, from->name);
    for (NodeId id = from->a; id != 0; id = node_of(judge, id)->next) {
        const Node *written = node_of(judge, id);
        Text wanted = clause_id(judge, written), parts[2] = {name, wanted};
        Clause *found = clause_named(judge, from->name, wanted);
        if (found == NULL && node_of(judge, source)->flags & NODE_INCOMPLETE) continue; /* it may have been there */
        if (found == NULL) {
            SAY(judge->messages, UNKNOWN_CLAUSE, written->span, name, wanted, nearest_clause(judge, name, wanted));
            judge->untraced = true;
            continue;
        }
        if (found->left_out.length > 0) {
            SAY(judge->messages, CLAUSE_LEFT_OUT, written->span, name, wanted, message_place(judge->messages, found->span.start));
        }
        VECTOR_PUSH(judge->arena, &found->requirements, finding->id);
        VECTOR_PUSH(judge->arena, &finding->clauses, text_fill(judge->arena, TEXT("{0} {1}"), parts, 2));
    }
}

/* ---- requirements ------------------------------------------------------------------------------------------------ */

Span place_of_item(Judge *judge, const Node *node) {
    Text text = source_text(judge->result->sources, node->span);
    size_t end = 0;
    while (end < text.length && text.at[end] != '{' && text.at[end] != '\n') end++;
    while (end > 1 && (text.at[end - 1] == ' ' || text.at[end - 1] == '\r')) end--;
    return (Span){node->span.start, node->span.start + (uint32_t)end};
}

static bool method_is_known(Text method) {
    for (unsigned i = 0; i < sizeof methods / sizeof methods[0]; i++) {
        if (text_is(method, methods[i])) return true;
    }
    return false;
}

/* largest "deviation" within 0.02 mm */
static Text words_of_reading(Judge *judge, NodeId options) {
    NodeId reading = tree_option(judge->model->tree, options, OPTION_READING), within = tree_option(judge->model->tree, options, OPTION_WITHIN);
    if (reading == 0) return (Text){0};
    Text parts[3] = {model_name(judge->model, node_of(judge, reading)->name), text_of_option(judge, options, OPTION_READING)};
    if (within == 0) return text_fill(judge->arena, TEXT("{0} \"{1}\""), parts, 2);
    parts[2] = source_text(judge->result->sources, node_of(judge, node_of(judge, within)->a)->span);
    return text_fill(judge->arena, TEXT("{0} \"{1}\" within {2}"), parts, 3);
}

static void trace_method(Judge *judge, Finding *finding, const Node *node) {
    NodeId option = tree_option(judge->model->tree, node->c, OPTION_METHOD);
    finding->method = option ? model_name(judge->model, node_of(judge, option)->name) : TEXT("analysis");
    if (!method_is_known(finding->method)) {
        SAY(judge->messages, UNKNOWN_METHOD, node_of(judge, option)->span, finding->method);
        finding->method = TEXT("analysis");
        return;
    }
    bool analysis = text_is(finding->method, "analysis");
    bool shall = tree_option(judge->model->tree, node->c, OPTION_SHALL) || tree_option(judge->model->tree, node->c, OPTION_SHOULD);
    if (analysis && !shall && !judge->misdirected && !map_get(&judge->refined, node->name, 0) && !(node->flags & NODE_INCOMPLETE)) SAY(judge->messages, ANALYSIS_WITHOUT_SHALL, place_of_item(judge, node), finding->id);
    finding->evidence = text_of_option(judge, node->c, OPTION_EVIDENCE);
    finding->digest = text_of_option(judge, node->c, OPTION_DIGEST);
    finding->reading = words_of_reading(judge, node->c);
}

/* digest "sha256:…": the file is the one that was looked at. */
static void check_digest(Judge *judge, const Node *node, Text path) {
    NodeId option = tree_option(judge->model->tree, node->c, OPTION_DIGEST);
    Text bytes, pinned = text_of_option(judge, node->c, OPTION_DIGEST);
    if (option == 0 || judge->world->read(judge->world->context, judge->arena, path, &bytes) != WORLD_OK) return;
    Text hex = digest_sha256(judge->arena, bytes), now = text_fill(judge->arena, TEXT("sha256:{0}"), &hex, 1);
    if (!text_equal(now, pinned)) SAY(judge->messages, DIGEST_DIFFERS, node_of(judge, node_of(judge, option)->a)->span, path, now);
}

/* Inspection, demonstration and test are shown by a file that must exist, beside the specification or below it. */
static void trace_evidence(Judge *judge, Finding *finding, const Node *node) {
    if (text_is(finding->method, "analysis")) return;
    if (finding->evidence.length == 0) {
        finding->reason = TEXT("its evidence is not there yet: no file is named");
        if (finding->verdict == VERDICT_MET) finding->verdict = VERDICT_OPEN;
        return;
    }
    const Source *source = source_of(judge->result->sources, node->span.start);
    Text folder = path_folder(source->path), tidy, path, real;
    NodeId option = tree_option(judge->model->tree, node->c, OPTION_EVIDENCE);
    Span span = node_of(judge, node_of(judge, option)->a)->span;
    bool absolute = finding->evidence.at[0] == '/';
    if (absolute || !path_tidy(judge->arena, finding->evidence, &tidy)) {
        SAY(judge->messages, EVIDENCE_PATH, span, finding->evidence);
        if (finding->verdict == VERDICT_MET) finding->verdict = VERDICT_OPEN;
        return;
    }
    path = path_join(judge->arena, folder, tidy);
    check_digest(judge, node, path);
    if (judge->world->resolve(judge->world->context, judge->arena, path, &real) != WORLD_OK) {
        finding->reason = text_fill(judge->arena, TEXT("its evidence is missing: there is no file {0}"), &tidy, 1);
        if (finding->verdict == VERDICT_MET) finding->verdict = VERDICT_OPEN;
    }
}

void trace_requirement(Judge *judge, Finding *finding, NodeId requirement) {
    const Node *node = node_of(judge, requirement);
    finding->because = text_of_option(judge, node->c, OPTION_BECAUSE);
    finding->cites = text_of_option(judge, node->c, OPTION_CITES);
    finding->unsourced = text_of_option(judge, node->c, OPTION_FROM_NONE);
    NodeId refines = tree_option(judge->model->tree, node->c, OPTION_REFINES);
    if (refines != 0) {
        finding->refines = model_name(judge->model, node_of(judge, refines)->name);
        finding->refines_span = node_of(judge, refines)->span;
    }
    bool from = refines != 0; /* its source is that of the one it refines */
    for (NodeId id = node->c; id != 0; id = node_of(judge, id)->next) {
        if (node_of(judge, id)->op != OPTION_FROM) continue;
        from = true;
        trace_from(judge, finding, node_of(judge, id));
    }
    if (!from && !(node->flags & NODE_INCOMPLETE) && tree_option(judge->model->tree, node->c, OPTION_FROM_NONE) == 0) {
        SAY(judge->messages, REQUIREMENT_UNSOURCED, place_of_item(judge, node), finding->id);
    }
    trace_method(judge, finding, node);
    trace_evidence(judge, finding, node);
}
