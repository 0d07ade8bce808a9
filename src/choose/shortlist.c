/* From the question to the list: what it is ranked by, what no choice changes, the search, and the worst cases of the best. */
#include "choose/shortlist.h"

#include <math.h>
#include <stdlib.h>

#include "choose/choice.h"
#include "verdict/judge.h"

/* ---- what it is ranked by ---------------------------------------------------------------------------------------- */

/* "lift.motor.mass + lift.brake.mass": over the slots whose form has such a field; empty when none has. */
static Text sum_of_facts(Choosing *choice, Text fact) {
    Model *model = choice->model;
    Symbol name = symbol_find(model->symbols, fact);
    TextBuilder sum = text_builder(choice->arena);
    for (uint32_t i = 0; name != 0 && i < choice->slots.count; i++) {
        form_of(model, choice->slots.at[i].form);
        if (form_slot(model, choice->slots.at[i].form, name) == UINT32_MAX) continue;
        if (sum.length > 0) text_add(&sum, TEXT(" + "));
        text_add(&sum, choice->list->slots.at[i].path);
        text_add_char(&sum, '.');
        text_add(&sum, fact);
    }
    return text_built(&sum);
}

/* The expression as the field of a thing in a file of its own, of which messages show the expression alone. */
static NodeId read_expression(Choosing *choice, Text expression) {
    Model *model = choice->model;
    const Text before = TEXT("choice-of choice-of {\n  by = ");
    Text parts[2] = {before, expression}, bytes = text_fill(choice->arena, TEXT("{0}{1}\n}\n"), parts, 2);
    uint32_t said = model->messages->list.count, errors = model->messages->errors;
    Source *source = source_add(choice->sources, TEXT("--by"), TEXT("--by"), bytes, SOURCE_USED);
    if (source == NULL) return 0;
    NodeId item = syntax_read(model->tree, source, model->messages);
    const Node *node = item ? tree_node(model->tree, item) : NULL;
    NodeId field = node && node->kind == NODE_FILLED && node->next == 0 ? tree_fields(model->tree, item) : 0;
    bool one = field != 0 && tree_node(model->tree, field)->next == 0 && tree_node(model->tree, field)->kind == NODE_FIELD;
    source_narrow(source, before.length, expression.length);
    Span span = {source->base, source->base + (uint32_t)expression.length};
    bool fine = model->messages->errors == errors;
    if (fine && one) return tree_node(model->tree, field)->a;
    if (!fine && messages_inside(model->messages, said, span)) return 0;
    messages_take_back(model->messages, said, 0); /* they speak of what was put around the words */
    SAY(model->messages, RANKED_BY, span, expression, TEXT("no single value"));
    return 0;
}

static void read_by(Choosing *choice) {
    static const char *const facts[] = {"mass", "length", "cost"};
    Text by = text_trim(choice->request.by), sum = {0};
    choice->list->by = by.length ? by : TEXT("margin");
    choice->list->by_margin = text_is(choice->list->by, "margin");
    if (choice->list->by_margin) return;
    for (unsigned i = 0; i < sizeof facts / sizeof facts[0]; i++) {
        if (text_is(by, facts[i])) sum = sum_of_facts(choice, by);
    }
    if (text_is(by, "power")) by = TEXT("maximum(supply-power)");
    choice->ranked = read_expression(choice, sum.length > 0 ? sum : by);
    choice->list->found = choice->ranked != 0;
    if (sum.length == 0) choice->ranked_of = symbol_find(choice->model->symbols, choice->request.axis);
}

/* ---- what no choice changes -------------------------------------------------------------------------------------- */

/* Whether it is open because of a slot of the axis, or (`any`) of any slot. */
static bool rests_on_slot(const Choosing *choice, const Program *program, const Finding *finding, bool any) {
    if (finding->verdict != VERDICT_OPEN) return false;
    for (uint32_t k = 0; k < finding->missing.count; k++) {
        for (uint32_t i = 0; i < choice->list->slots.count; i++) {
            if (text_equal(finding->missing.at[k], choice->list->slots.at[i].path)) return true;
        }
        for (uint32_t i = 0; any && i < program->opens.count; i++) {
            if (text_equal(finding->missing.at[k], program->opens.at[i].path)) return true;
        }
    }
    return false;
}

/* The specification as it stands, with everything that is wrong with it said. */
static void judge_base(Choosing *choice) {
    Model *model = choice->model;
    PlanRequest plan = {.bare = true, .ranked = choice->ranked, .ranked_of = choice->ranked_of};
    Program *program = plan_build(choice->arena, choice->world, choice->sources, model, plan);
    Evaluation *evaluation = evaluate(choice->arena, program);
    JudgeOptions options = {.today = choice->request.today, .nominal_only = choice->request.nominal_only, .choosing = true, .verdicts_only = true};
    Result *result = judge_all(choice->arena, choice->world, evaluation, model->messages, options);
    choice->list->base = result;
    choice->list->found = choice->ranked == 0 || program->ranked.class != OPERAND_BROKEN;
    choice->fixed = map_open(choice->arena);
    for (uint32_t i = 0; i < result->findings.count; i++) {
        const Finding *finding = &result->findings.at[i];
        if (finding->advice || choice_is_of_card(choice, finding) || rests_on_slot(choice, program, finding, false)) continue;
        map_set(&choice->fixed, symbol_of(model->symbols, finding->id), 1);
        bool fine = finding->verdict == VERDICT_MET || finding->verdict == VERDICT_CONCEDED;
        if (!fine && !rests_on_slot(choice, program, finding, true)) VECTOR_PUSH(choice->arena, &choice->list->fixed, *finding);
    }
}

/* ---- the best of those that work --------------------------------------------------------------------------------- */

static int compare_numbers(double a, double b) { /* smallest first, none last */
    if (isnan(a) || isnan(b)) return isnan(a) - isnan(b);
    return (a > b) - (a < b);
}

static int by_rank(const void *a, const void *b) {
    const Working *x = a, *y = b;
    int order = compare_numbers(x->criterion, y->criterion);
    if (order == 0) order = compare_numbers(-x->margin, -y->margin);
    if (order == 0) order = (x->unheeded > y->unheeded) - (x->unheeded < y->unheeded);
    return order != 0 ? order : (x->set > y->set) - (x->set < y->set);
}

static ShortlistSet set_of(Choosing *choice, const Score *score) {
    ShortlistSet set = {.parts = choice_parts(choice), .margin = score->margin, .criterion = score->criterion, .violation = NAN};
    const Finding *tightest = score->tightest;
    if (tightest) {
        set.margin_shown = text_copy(choice->arena, tightest->bounded_inputs > 0 ? tightest->worst_margin : tightest->margin);
        set.tightest = text_copy(choice->arena, choice_name(choice, choice->slots.count, tightest));
    }
    set.criterion_shown = text_copy(choice->arena, score->criterion_shown);
    for (uint32_t i = 0; i < score->result->findings.count; i++) {
        const Finding *finding = &score->result->findings.at[i];
        if (choice_unheeded(finding) && choice_decides(choice, choice->slots.count, finding)) VECTOR_PUSH(choice->arena, &set.remarks, text_copy(choice->arena, choice_name(choice, choice->slots.count, finding)));
    }
    return set;
}

/* Into its place among the best; sets that are equal stay in the order in which they come. */
static void keep(Choosing *choice, ShortlistSet set) {
    Shortlist *list = choice->list;
    uint32_t at = list->best.count;
    while (list->by_margin && at > 0 && compare_numbers(-set.margin, -list->best.at[at - 1].margin) < 0) at--;
    if (at >= choice->request.most) return;
    if (list->best.count < choice->request.most) VECTOR_PUSH(choice->arena, &list->best, set);
    for (uint32_t i = list->best.count - 1; i > at; i--) list->best.at[i] = list->best.at[i - 1];
    list->best.at[at] = set;
}

/* Whether none of those that follow can come among the best: a worst margin is never larger than a nominal one. */
static bool is_settled(const Choosing *choice, const Working *next) {
    const Shortlist *list = choice->list;
    if (list->best.count < choice->request.most) return false;
    if (!list->by_margin || choice->request.nominal_only) return true;
    return compare_numbers(-list->best.at[list->best.count - 1].margin, -next->margin) <= 0;
}

static void settle(Choosing *choice, const WorkingVector *working) {
    Shortlist *list = choice->list;
    Tally tally = tally_open(choice, &list->misses);
    for (uint32_t i = 0; i < list->misses.count; i++) map_set(&tally.known, symbol_of(choice->model->symbols, list->misses.at[i].id), i + 1);
    for (uint32_t i = 0; i < working->count && !is_settled(choice, &working->at[i]); i++) {
        bool on = choice->request.progress == NULL || choice->request.progress(choice->request.context, "sets over their bounds", i, working->count);
        if (!on) {
            list->partial = true;
            return;
        }
        choice_take(choice, working->at[i].set);
        Score score = choice_score(choice, choice->slots.count, choice->request.nominal_only);
        list->looked++;
        list->waiting = score.waiting;
        list->bounded = list->bounded || score.result->bounded > 0;
        if (score.works) {
            list->held++;
            keep(choice, set_of(choice, &score));
        } else {
            tally_add(choice, &tally, &score, choice->slots.count, choice_words(choice));
            nearest_add(choice, &score);
        }
    }
}

/* ---- all of it --------------------------------------------------------------------------------------------------- */

void choice_say_too_many(Choosing *choice, Text sets, uint64_t most) {
    TextBuilder limit = text_builder(choice->arena);
    text_add_count(&limit, most);
    SAY(choice->model->messages, SETS_MANY, ((Span){0, 0}), sets, text_built(&limit));
    choice->list->found = false;
}

static bool is_too_large(Choosing *choice) {
    if (choice->list->all <= SHORTLIST_SET_LIMIT) return false;
    TextBuilder count = text_builder(choice->arena);
    text_add_count(&count, choice->list->all);
    Text sets = choice->list->all == UINT64_MAX ? TEXT("more sets than can be counted") : text_fill(choice->arena, TEXT("{0} sets"), (const Text[]){text_built(&count)}, 1);
    choice_say_too_many(choice, sets, SHORTLIST_SET_LIMIT);
    return true;
}

static bool is_by_boxes(const Choosing *choice) {
    if (choice->request.way != SHORTLIST_BY_SIZE) return choice->request.way == SHORTLIST_BY_BOXES;
    uint64_t cards = 0;
    for (uint32_t i = 0; i < choice->slots.count; i++) cards += choice->slots.at[i].cards.count;
    return choice->list->offered > SHORTLIST_FEW || choice->list->offered + cards > SHORTLIST_FEW;
}

Shortlist *shortlist_find(Arena *arena, const World *world, Sources *sources, Model *model, ShortlistRequest request) {
    Choosing choice = {.arena = arena, .world = world, .sources = sources, .model = model, .request = request};
    choice.list = ARENA_NEW(arena, Shortlist);
    *choice.list = (Shortlist){.arena = arena, .axis = request.axis, .nominal_only = request.nominal_only};
    choice.for_set = arena_open_beside(arena);
    choice.list->found = choice_open(&choice);
    if (choice.list->found) read_by(&choice);
    if (choice.list->found) judge_base(&choice);
    if (choice.list->found) {
        WorkingVector working = {0};
        choice.errors = choice_score(&choice, 0, true).errors;
        choice.list->offered = choice_size(&choice);
        if (is_by_boxes(&choice)) {
            choice_search_boxes(&choice, &working);
        } else {
            choice_sift(&choice);
            choice.list->all = choice.list->partial ? 0 : choice_size(&choice);
            if (!is_too_large(&choice)) choice_search(&choice, &working);
        }
        if (working.count > 0) qsort(working.at, working.count, sizeof *working.at, by_rank);
        for (uint32_t i = 0; i < working.count; i++) choice.list->unranked += choice.ranked != 0 && isnan(working.at[i].criterion);
        settle(&choice, &working);
        tally_sort(&choice.list->misses);
    }
    arena_close(choice.for_set);
    return choice.list;
}

int shortlist_status(const Shortlist *shortlist, const Messages *messages) {
    if (messages->machine_errors > 0) return 3;
    if (messages->errors > 0) return 2;
    return shortlist->best.count == 0 || shortlist->fixed.count > 0 || shortlist->partial ? 1 : 0;
}
