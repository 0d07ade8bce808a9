#include "pipeline.h"

#include "verdict/judge.h"

static Text dump_tree(Arena *arena, const Loaded *loaded) {
    TextBuilder out = text_builder(arena);
    for (uint32_t i = 0; i < loaded->files.count; i++) {
        if (loaded->files.at[i].source->origin == SOURCE_NAMED) text_add(&out, tree_dump(loaded->tree, arena, loaded->files.at[i].first_item));
    }
    return text_built(&out);
}

static Text dump_values(Arena *arena, const Result *result) {
    TextBuilder out = text_builder(arena);
    for (uint32_t i = 0; i < result->values.count; i++) {
        if (result->values.at[i].quoted) continue;
        text_add(&out, result->values.at[i].path);
        text_add(&out, TEXT(" = "));
        text_add(&out, result->values.at[i].shown);
        text_add_char(&out, '\n');
    }
    return text_built(&out);
}

static Text dump_findings(Arena *arena, const Result *result) {
    TextBuilder out = text_builder(arena);
    for (uint32_t i = 0; i < result->findings.count; i++) {
        const Finding *finding = &result->findings.at[i];
        Text parts[3] = {finding->id, verdict_word(finding->verdict), finding->exact};
        text_add(&out, text_fill(arena, finding->exact.length ? TEXT("{0}: {1}, {2}") : TEXT("{0}: {1}"), parts, 3));
        if (finding->worst_exact.length) text_add(&out, text_fill(arena, TEXT(", worst {0}"), &finding->worst_exact, 1));
        text_add_char(&out, '\n');
    }
    return text_built(&out);
}

/* What every request begins with: the files, read, and what they refer to. */
typedef struct Opened {
    Sources *sources;
    Messages *messages;
    Loaded *loaded;
    Model *model;
} Opened;

static Opened open_files(Arena *arena, const World *world, LoadRequest request) {
    Opened opened = {.sources = sources_open(arena)};
    Symbols *symbols = symbols_open(arena);
    opened.messages = messages_open(arena, opened.sources);
    Tree *tree = tree_open(arena, symbols, opened.sources);
    opened.loaded = load_files(arena, world, opened.sources, tree, opened.messages, request);
    opened.model = model_open(arena, opened.loaded, symbols, opened.messages);
    return opened;
}

Check pipeline_check(Arena *arena, const World *world, LoadRequest request, PlanRequest plan, JudgeOptions options, Stage dump) {
    Opened opened = open_files(arena, world, request);
    Check check = {.messages = opened.messages};
    Judge *judge = judge_open(arena, world, opened.model, check.messages, options);
    Settled settled = {0};
    if (options.verdicts_only && !plan.explained && dump == STAGE_NONE) { /* nobody asks for more than verdicts */
        settle_alike(judge, opened.sources, &settled);
        plan.settled = &settled.items;
        plan.reached = settled.reached.at;
        plan.reached_count = settled.reached.count;
    }
    Program *program = plan_build(arena, world, opened.sources, opened.model, plan);
    Evaluation *evaluation = evaluate(arena, program);
    check.result = judge_rest(judge, evaluation, options);
    if (dump == STAGE_TREE) check.dump = dump_tree(arena, opened.loaded);
    if (dump == STAGE_PLAN) check.dump = program_dump(arena, program);
    if (dump == STAGE_FINDINGS) check.dump = dump_findings(arena, check.result);
    if (dump == STAGE_VALUES) check.dump = dump_values(arena, check.result);
    return check;
}

AuditCheck pipeline_audit(Arena *arena, const World *world, LoadRequest request, AuditRequest audit) {
    request.cards = true;
    Opened opened = open_files(arena, world, request);
    return (AuditCheck){.messages = opened.messages, .sources = opened.sources, .audit = audit_cards(arena, world, opened.sources, opened.model, audit)};
}

PairingCheck pipeline_pairings(Arena *arena, const World *world, LoadRequest request, const PairingRequest *pairing) {
    request.standard = TEXT("pairings.trn");
    request.cards = true;
    Opened opened = open_files(arena, world, request);
    return (PairingCheck){opened.messages, opened.sources, pairings_judge(arena, world, opened.sources, opened.model, pairing)};
}

ChoiceCheck pipeline_choose(Arena *arena, const World *world, LoadRequest request, ShortlistRequest choice) {
    Opened opened = open_files(arena, world, request);
    return (ChoiceCheck){.messages = opened.messages, .list = shortlist_find(arena, world, opened.sources, opened.model, choice)};
}

TabulateCheck pipeline_tabulate(Arena *arena, const World *world, LoadRequest request) {
    Opened opened = open_files(arena, world, request);
    return (TabulateCheck){opened.messages, opened.sources, tabulate_cards(arena, opened.model)};
}
