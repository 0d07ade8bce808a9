/* Concessions: permission to keep a violation, by whom, why, until when (ISO 9000). And requirements that others refine. */
#include "base/date.h"
#include "verdict/judge.h"

static const Node *node_of(const Judge *judge, NodeId id) { return tree_node(judge->model->tree, id); }

static Text option_text(Judge *judge, const Node *node, OptionKind kind) {
    NodeId option = tree_option(judge->model->tree, node->c, kind);
    return option && node_of(judge, option)->a ? tree_text(judge->model->tree, judge->arena, node_of(judge, option)->a) : (Text){0};
}

static Span option_span(Judge *judge, const Node *node, OptionKind kind) {
    NodeId option = tree_option(judge->model->tree, node->c, kind);
    return option && node_of(judge, option)->a ? node_of(judge, node_of(judge, option)->a)->span : node->span;
}

static void note_findings(Judge *judge) {
    judge->by_id = map_open(judge->arena);
    for (uint32_t i = judge->result->findings.count; i-- > 0;) { /* of two of one name the first is meant */
        const Finding *finding = &judge->result->findings.at[i];
        if (!finding->advice) map_set(&judge->by_id, symbol_of(judge->model->symbols, finding->id), i);
    }
}

static Finding *finding_by_id(Judge *judge, Text id) {
    uint32_t index = map_get(&judge->by_id, symbol_of(judge->model->symbols, id), UINT32_MAX);
    return index != UINT32_MAX ? &judge->result->findings.at[index] : NULL;
}

/* ---- concessions ------------------------------------------------------------------------------------------------- */

static bool is_complete(Judge *judge, const Node *node, const Concession *concession) {
    static const struct {
        OptionKind kind;
        const char *word;
    } due[] = {{OPTION_COVERS, "what it covers: covers …"}, {OPTION_BY, "who gave it: by \"…\""},
               {OPTION_BECAUSE, "its reason: because \"…\""}, {OPTION_UNTIL, "when it lapses: until \"2027-03-31\""}};
    bool complete = true;
    TextBuilder missing = text_builder(judge->arena);
    for (unsigned i = 0; i < sizeof due / sizeof due[0]; i++) {
        if (tree_option(judge->model->tree, node->c, due[i].kind)) continue;
        if (!complete) text_add(&missing, TEXT("; nor "));
        text_add_string(&missing, due[i].word);
        complete = false;
    }
    if (!complete && !(node->flags & NODE_INCOMPLETE)) SAY(judge->messages, CONCESSION_INCOMPLETE, place_of_item(judge, node), concession->id, text_built(&missing));
    return complete;
}

static void cover(Judge *judge, Concession *concession, NodeId path, bool in_force) {
    Text id = source_text(judge->result->sources, node_of(judge, path)->span);
    Finding *finding = finding_by_id(judge, id);
    if (finding == NULL) {
        Nearest nearest = nearest_to(judge->model->symbols, symbol_of(judge->model->symbols, id));
        for (uint32_t i = 0; i < judge->result->findings.count; i++) {
            nearest_try(&nearest, symbol_of(judge->model->symbols, judge->result->findings.at[i].id));
        }
        SAY(judge->messages, CONCESSION_COVERS, node_of(judge, path)->span, id, nearest_found(&nearest));
        return;
    }
    VECTOR_PUSH(judge->arena, &concession->covers, id);
    VECTOR_PUSH(judge->arena, &concession->cover_spans, node_of(judge, path)->span);
    finding->concession = concession->id;
    finding->conceding = in_force;
}

/* Whether it is open because a part is still to be chosen: the concession may be for what will be chosen. */
static bool waits_for_choice(const Judge *judge, const Finding *finding) {
    for (uint32_t i = 0; finding->verdict == VERDICT_OPEN && i < finding->missing.count; i++) {
        for (uint32_t k = 0; k < judge->program->opens.count; k++) {
            if (text_equal(finding->missing.at[i], judge->program->opens.at[k].path)) return true;
        }
    }
    return false;
}

/* Whether a concession is needed shows when all is judged and refined. */
static void say_needless(Judge *judge, Concession *concession) {
    if (judge->result->nominal_only) return; /* it may be the bounds that need it */
    for (uint32_t i = 0; i < concession->covers.count; i++) {
        const Finding *finding = finding_by_id(judge, concession->covers.at[i]);
        bool needed = finding == NULL || finding->verdict == VERDICT_NOT_MET || finding->verdict == VERDICT_AT_RISK || finding->verdict == VERDICT_CONCEDED;
        if (needed || waits_for_choice(judge, finding)) continue;
        concession->needless = true;
        SAY(judge->messages, CONCESSION_NEEDLESS, concession->cover_spans.at[i], concession->id, finding->id, verdict_word(finding->verdict));
    }
}

static void take_concession(Judge *judge, NodeId item, uint32_t today) {
    const Node *node = node_of(judge, item);
    Concession concession = {.id = model_name(judge->model, node->name), .span = node->span};
    concession.text = tree_title(judge->model->tree, judge->arena, item);
    concession.by = option_text(judge, node, OPTION_BY);
    concession.because = option_text(judge, node, OPTION_BECAUSE);
    concession.until = option_text(judge, node, OPTION_UNTIL);
    bool complete = is_complete(judge, node, &concession);
    uint32_t until = date_read(concession.until);
    if (concession.until.length > 0 && until == 0) {
        SAY(judge->messages, DATE_WRONG, option_span(judge, node, OPTION_UNTIL), concession.until);
        complete = false;
    }
    concession.lapsed = until != 0 && today > until;
    if (concession.lapsed) SAY(judge->messages, CONCESSION_LAPSED, option_span(judge, node, OPTION_UNTIL), concession.id, concession.until, judge->today);
    NodeId covers = tree_option(judge->model->tree, node->c, OPTION_COVERS);
    NodeId path = covers ? node_of(judge, covers)->a : 0;
    for (; path != 0; path = node_of(judge, path)->next) cover(judge, &concession, path, complete && !concession.lapsed);
    VECTOR_PUSH(judge->arena, &judge->result->concessions, concession);
}

static void read_concessions(Judge *judge, Text today) {
    const Loaded *loaded = judge->model->loaded;
    uint32_t date = 0;
    for (uint32_t f = 0; f < loaded->files.count; f++) {
        if (loaded->files.at[f].source->origin != SOURCE_NAMED) continue;
        for (NodeId item = loaded->files.at[f].first_item; item != 0; item = node_of(judge, item)->next) {
            if (node_of(judge, item)->kind != NODE_CONCESSION) continue;
            if (date == 0) { /* the clock is asked only where something can lapse */
                judge->today = today.length > 0 ? today : judge->world->today(judge->world->context, judge->arena);
                date = date_read(judge->today);
            }
            take_concession(judge, item, date);
        }
    }
    judge->result->judged_on = judge->today;
}

/* ---- refinement -------------------------------------------------------------------------------------------------- */

static const uint8_t gravity[VERDICT_COUNT] = {[VERDICT_MET] = 0, [VERDICT_CONCEDED] = 1, [VERDICT_AT_RISK] = 2, [VERDICT_OPEN] = 3, [VERDICT_NOT_MET] = 4};

/* A parent is no better than the worst of those that refine it. */
static void take_over(Judge *judge, Finding *parent, const Finding *child) {
    VECTOR_PUSH(judge->arena, &parent->refined_by, child->id);
    if (gravity[child->verdict] <= gravity[parent->verdict]) return;
    parent->verdict = child->verdict;
    Text parts[2] = {child->id, verdict_word(child->verdict)};
    parent->reason = text_fill(judge->arena, TEXT("{0}, which refines it, is {1}"), parts, 2);
}

/* Whether the way up from `start` comes back to it. `passed` remembers ways that are known to end, by the finding where they were
 * begun plus one: each is gone once. */
static bool leads_back(Judge *judge, const Finding *start, uint32_t *passed, bool *ends) {
    const Finding *first = judge->result->findings.at;
    uint32_t mark = (uint32_t)(start - first) + 1;
    const Finding *at = start;
    while (at != NULL && !ends[at - first] && passed[at - first] != mark) {
        passed[at - first] = mark;
        at = at->refines.length > 0 ? finding_by_id(judge, at->refines) : NULL;
    }
    if (at != NULL && !ends[at - first]) return at == start; /* or another circle, further up */
    for (at = start; at != NULL && !ends[at - first]; at = at->refines.length > 0 ? finding_by_id(judge, at->refines) : NULL) ends[at - first] = true;
    return false;
}

/* Lists of the findings that refine each one, in their order; by index plus one, 0: none. */
typedef struct Family {
    uint32_t *parent, *first_child, *next, *waiting; /* waiting: children that are not done */
} Family;

static Family find_family(Judge *judge) {
    uint32_t count = judge->result->findings.count;
    Family family = {ARENA_ARRAY(judge->arena, uint32_t, count), ARENA_ARRAY(judge->arena, uint32_t, count), ARENA_ARRAY(judge->arena, uint32_t, count),
                     ARENA_ARRAY(judge->arena, uint32_t, count)};
    for (uint32_t i = count; i-- > 0;) {
        const Finding *child = &judge->result->findings.at[i];
        const Finding *parent = child->refines.length > 0 ? finding_by_id(judge, child->refines) : NULL;
        if (parent == NULL) continue;
        uint32_t above = (uint32_t)(parent - judge->result->findings.at);
        family.parent[i] = above + 1;
        family.next[i] = family.first_child[above];
        family.first_child[above] = i + 1;
        family.waiting[above]++;
    }
    return family;
}

/* Each when those that refine it are done: what it takes over from them, then what is conceded of it. */
static void refine_all(Judge *judge) {
    Family family = find_family(judge);
    for (uint32_t i = 0; i < judge->result->findings.count; i++) {
        uint32_t at = i;
        while (family.waiting[at] == 0) {
            family.waiting[at] = UINT32_MAX; /* done */
            Finding *finding = &judge->result->findings.at[at];
            for (uint32_t child = family.first_child[at]; child != 0; child = family.next[child - 1]) {
                take_over(judge, finding, &judge->result->findings.at[child - 1]);
            }
            if (finding->conceding && (finding->verdict == VERDICT_NOT_MET || finding->verdict == VERDICT_AT_RISK)) finding->verdict = VERDICT_CONCEDED;
            if (family.parent[at] == 0) break;
            at = family.parent[at] - 1;
            family.waiting[at]--;
        }
    }
}

static void check_refinements(Judge *judge) {
    uint32_t *passed = ARENA_ARRAY(judge->arena, uint32_t, judge->result->findings.count);
    bool *ends = ARENA_ARRAY(judge->arena, bool, judge->result->findings.count);
    for (uint32_t i = 0; i < judge->result->findings.count; i++) {
        Finding *finding = &judge->result->findings.at[i];
        if (finding->refines.length == 0) continue;
        const Finding *parent = finding_by_id(judge, finding->refines);
        if (parent == NULL || parent->kind != FINDING_REQUIREMENT) {
            Nearest nearest = nearest_to(judge->model->symbols, symbol_of(judge->model->symbols, finding->refines));
            for (uint32_t k = 0; k < judge->result->findings.count; k++) {
                const Finding *other = &judge->result->findings.at[k];
                if (other->kind == FINDING_REQUIREMENT && other != finding) nearest_try(&nearest, symbol_of(judge->model->symbols, other->id));
            }
            Text best = nearest_found(&nearest);
            SAY(judge->messages, REFINES_WHAT, finding->refines_span, finding->refines,
                best.length ? text_fill(judge->arena, TEXT("Did you mean {0}?"), &best, 1) : TEXT("Name a requirement of the same check."));
            finding->refines = (Text){0};
        } else if (leads_back(judge, finding, passed, ends)) {
            Text parts[2] = {finding->id, finding->refines};
            bool self = text_equal(parts[0], parts[1]);
            SAY(judge->messages, REFINES_CIRCLE, finding->refines_span,
                text_fill(judge->arena, self ? TEXT("{0} refines itself") : TEXT("{0} and {1} refine one another in a circle"), parts, 2));
            finding->refines = (Text){0};
        }
    }
}

void concede_and_refine(Judge *judge, Text today) {
    note_findings(judge);
    read_concessions(judge, today);
    check_refinements(judge);
    refine_all(judge);
    for (uint32_t i = 0; i < judge->result->concessions.count; i++) say_needless(judge, &judge->result->concessions.at[i]);
}
