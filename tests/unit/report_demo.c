#include "report_demo.h"

#include <math.h>
#include <string.h>

#include "text/literate.h"

Result *demo_empty(Arena *arena) {
    Result *result = ARENA_NEW(arena, Result);
    Sources *sources = sources_open(arena);
    result->arena = arena;
    result->sources = sources;
    result->messages = messages_open(arena, sources);
    return result;
}

Source *demo_source(Result *result, const char *path, const char *bytes) {
    Sources *sources = (Sources *)(uintptr_t)result->sources;
    Source *source = source_add(sources, text_from(path), text_from(path), text_from(bytes), SOURCE_NAMED);
    Span fault;
    if (source->literate) literate_split(result->arena, source, &fault);
    return source;
}

Span demo_span(const Source *source, const char *words, unsigned nth) {
    size_t length = strlen(words);
    for (size_t i = 0; i + length <= source->bytes.length; i++)
        if (memcmp(source->bytes.at + i, words, length) == 0 && nth-- == 0)
            return (Span){source->base + (uint32_t)i, source->base + (uint32_t)(i + length)};
    return (Span){0, 0};
}

TextVector demo_list(Arena *arena, const char *a, const char *b, const char *c) {
    TextVector list = {0};
    if (a) VECTOR_PUSH(arena, &list, text_from(a));
    if (b) VECTOR_PUSH(arena, &list, text_from(b));
    if (c) VECTOR_PUSH(arena, &list, text_from(c));
    return list;
}

Finding *demo_finding(Result *result, FindingKind kind, Verdict verdict, const char *id, const char *text) {
    Finding finding = {.kind = kind, .verdict = verdict};
    finding.id = finding.anchor = text_from(id);
    finding.text = text_from(text);
    finding.margin_share = NAN;
    VECTOR_PUSH(result->arena, &result->findings, finding);
    result->count[verdict]++;
    return &result->findings.at[result->findings.count - 1];
}

Value *demo_value(Result *result, const char *path, const char *shown, const char *formula, Span span) {
    Value value = {.span = span, .declared = span};
    value.path = text_from(path);
    value.shown = text_from(shown);
    value.formula = text_from(formula);
    value.stated = formula == NULL;
    value.unknown = strcmp(shown, "unknown") == 0;
    VECTOR_PUSH(result->arena, &result->values, value);
    return &result->values.at[result->values.count - 1];
}

static const char SPECIFICATION[] =
    "# Jar lift of the cold store\n"
    "\n"
    "The seed bank keeps its jars in drawers at −20 °C. The lift takes one jar at a time from the carousel in the\n"
    "anteroom to the drawer that stands open, and waits there while the drawer's shutter is open. What it must do is\n"
    "written in the [user requirements](#sources); this document says how it is built, and proves it.\n"
    "\n"
    "| | jar with seed | empty jar |\n"
    "| --- | ---: | ---: |\n"
    "| mass | 1.30 kg | 0.42 kg |\n"
    "| height | 180 mm | 180 mm |\n"
    "\n"
    "```trunnion\n"
    "use \"parts/rook.trn\"\n"
    "\n"
    "source URS \"User requirements, jar handling, issue C\" {\n"
    "  §2.1 \"The tray reaches the cold drawer within 1.5 s of leaving the carousel.\"\n"
    "  §2.2 \"Seed is never shaken: acceleration stays below 2.5 m/s².\"\n"
    "  §2.3 \"A full tray stays where it is when power fails.\"\n"
    "  §2.4 \"The lift can be cleaned with 70 % ethanol.\"\n"
    "  §2.5 \"Jars are counted.\"  left out \"the carousel counts them\"\n"
    "  §2.6 \"Noise in the anteroom stays below 55 dB(A).\"\n"
    "}\n"
    "```\n"
    "\n"
    "## The movement\n"
    "\n"
    "One exchange brings a jar in and leaves with an empty tray. Both moves follow a cycloid, so that the seed is not\n"
    "shaken. In the middle of the stroke the screw turns at [45.7 rev/s](#lift.screw.speed.peak), and the motor\n"
    "gives at most [61 mN·m](#lift.motor.torque.peak).\n"
    "\n"
    "```trunnion\n"
    "cycle exchange \"One jar in, one tray out\" {\n"
    "  move  320 mm in 1.40 s by cycloidal\n"
    "  hold  2.0 s\n"
    "  move -320 mm in 1.40 s by cycloidal { payload = 0 kg }   -- the jar stays behind\n"
    "  hold  5.2 s\n"
    "}\n"
    "\n"
    "slide lift.load \"Tray with one jar\" {\n"
    "  mass     = tray.mass + jar.mass\n"
    "  slope    = 90 °\n"
    "  friction = 4 N ± 30 %\n"
    "  motion   = exchange\n"
    "}\n"
    "\n"
    "screw lift.screw \"Ball screw 8 × 10\" {\n"
    "  lead       = 10 mm/rev\n"
    "  diameter   = 8 mm\n"
    "  length     = 2 * 160 mm + 95 mm\n"
    "  efficiency = 90 %\n"
    "}\n"
    "\n"
    "axis lift \"Lift from carousel to drawer\" {\n"
    "  load    = lift.load\n"
    "  screw   = lift.screw\n"
    "  motor   = Rook-38-24\n"
    "  drive   = Wren-5\n"
    "  ambient = -20 °C to 25 °C\n"
    "}\n"
    "```\n"
    "\n"
    "## What must hold\n"
    "\n"
    "> The shutter of the drawer closes by itself. A tray that comes late is caught by it.\n"
    "\n"
    "```trunnion\n"
    "requirement LIFT-1 \"The tray reaches the cold drawer within 1.5 s of leaving the carousel\" {\n"
    "  shall   exchange.first.duration <= 1.5 s\n"
    "  from    URS §2.1\n"
    "  method  analysis\n"
    "  because \"The drawer's shutter closes after 1.5 s.\"\n"
    "}\n"
    "\n"
    "requirement LIFT-2 \"Seed is not shaken\" {\n"
    "  shall   lift.load.acceleration <= 2.5 m/s²\n"
    "  from    URS §2.2\n"
    "  method  analysis\n"
    "}\n"
    "\n"
    "requirement LIFT-3 \"A full tray stays where it is when power fails\" {\n"
    "  shall   lift.brake.torque >= 2 * lift.screw.holding-torque\n"
    "  from    URS §2.3\n"
    "  method  analysis\n"
    "}\n"
    "\n"
    "requirement LIFT-4 \"The supply reaches what the motor needs at every instant\" {\n"
    "  shall   lift.motor.voltage <= supply.voltage\n"
    "  from    none \"follows from the choice of the supply in the cabinet\"\n"
    "  method  analysis\n"
    "}\n"
    "\n"
    "requirement LIFT-5 \"The lift can be cleaned with 70 % ethanol\" {\n"
    "  from     URS §2.4\n"
    "  method   inspection\n"
    "  evidence \"evidence/cleaning-trial.md\"\n"
    "}\n"
    "\n"
    "requirement LIFT-6 \"The tray stands still within 0.05 mm\" {\n"
    "  shall   lift.position-error <= 0.05 mm\n"
    "  method  test\n"
    "}\n"
    "```\n";

static void add_things(Result *result, const Source *source) {
    static const struct { const char *path, *form, *title, *header; uint32_t first, count; } THINGS[] = {
        {"exchange", "cycle", "One jar in, one tray out", "cycle exchange", 0, 2},
        {"lift.load", "slide", "Tray with one jar", "slide lift.load", 2, 7},
        {"lift.screw", "screw", "Ball screw 8 × 10", "screw lift.screw", 9, 8},
        {"lift", "axis", "Lift from carousel to drawer", "axis lift \"", 17, 4},
    };
    for (size_t i = 0; i < sizeof THINGS / sizeof *THINGS; i++) {
        Thing thing = {.span = demo_span(source, THINGS[i].header, 0), .first_value = THINGS[i].first,
                       .value_count = THINGS[i].count};
        thing.path = text_from(THINGS[i].path);
        thing.form = text_from(THINGS[i].form);
        thing.title = text_from(THINGS[i].title);
        VECTOR_PUSH(result->arena, &result->things, thing);
    }
}

static void add_values(Result *result, const Source *source) {
    Span cycle = demo_span(source, "cycle exchange", 0), load = demo_span(source, "slide lift.load", 0),
         screw = demo_span(source, "screw lift.screw", 0), axis = demo_span(source, "axis lift \"", 0);
    Value *value;
    demo_value(result, "exchange.duration", "10.0 s", "first.duration + second.duration + …", cycle);
    demo_value(result, "exchange.first.duration", "1.40 s", "1.40 s", cycle);
    demo_value(result, "lift.load.mass", "2.15 kg", NULL, demo_span(source, "mass     = tray.mass + jar.mass", 0));
    demo_value(result, "lift.load.slope", "90°", NULL, demo_span(source, "slope    = 90 °", 0));
    demo_value(result, "lift.load.friction", "4 N ± 30 %", NULL, demo_span(source, "friction = 4 N ± 30 %", 0));
    value = demo_value(result, "lift.load.speed", "-457 mm/s to 457 mm/s", "derivative(motion.position)", load);
    value->is_signal = true;
    value = demo_value(result, "lift.load.acceleration", "-1.03 m/s² to 1.03 m/s²", "derivative(speed)", load);
    value->is_signal = true;
    value->title = TEXT("Acceleration along the slide");
    value = demo_value(result, "lift.load.force", "17.9 N to 27.3 N",
                       "mass * acceleration + mass * gravity * sin(slope) + friction * sign(speed)", load);
    value->is_signal = true;
    value->cites = TEXT("Newton's second law; Coulomb friction");
    demo_value(result, "lift.load.weight", "21.1 N", "mass * gravity", load);
    demo_value(result, "lift.screw.lead", "10 mm/rev", NULL, demo_span(source, "lead       = 10 mm/rev", 0));
    demo_value(result, "lift.screw.length", "415 mm", NULL, demo_span(source, "length     = 2 * 160 mm + 95 mm", 0));
    demo_value(result, "lift.screw.efficiency", "0.9", NULL, demo_span(source, "efficiency = 90 %", 0));
    demo_value(result, "lift.screw.speed.peak", "45.7 rev/s", "peak(load.speed / lead)", screw);
    value = demo_value(result, "lift.screw.critical-speed", "138 rev/s", "shape-factor * diameter / length^2", screw);
    value->cites = TEXT("Dunkerley's formula for a slender rotating shaft, fixed and supported ends");
    demo_value(result, "lift.screw.holding-torque", "30.2 mN·m", "load.weight * lead * efficiency", screw);
    value = demo_value(result, "lift.screw.torque", "21.4 mN·m to 48.3 mN·m", "load.force * lead / efficiency", screw);
    value->is_signal = true;
    demo_value(result, "lift.screw.life", "unknown", "(dynamic-rating / force)^3 * 10^6 rev", screw)->unknown = true;
    demo_value(result, "lift.ambient", "-20 °C to 25 °C", NULL, demo_span(source, "ambient = -20 °C to 25 °C", 0));
    demo_value(result, "lift.motor.torque.peak", "61 mN·m", "peak(screw.torque + inertia * acceleration)", axis);
    value = demo_value(result, "lift.motor.winding-temperature", "71.3 °C", "settles from ambient", axis);
    value->cites = TEXT("two-body thermal model, common practice");
    value = demo_value(result, "lift.motor.voltage", "-18.2 V to 24.7 V", "resistance * current + speed / speed-constant", axis);
    value->is_signal = true;
    value = demo_value(result, "Rook-38-24.resistance", "1.32 Ω ± 8 %", NULL, (Span){0, 0});
    value->title = TEXT("Terminal resistance at the reference temperature");
    demo_value(result, "Rook-38-24.torque-constant", "38.2 mN·m/A", NULL, (Span){0, 0});
    demo_value(result, "Rook-38-24.stall-torque", "695 mN·m", "torque-constant * nominal-voltage / resistance", (Span){0, 0});
    demo_value(result, "supply.voltage", "24 V +5/-10 %", NULL, (Span){0, 0});
}

static void figures(Finding *finding, const char *found, const char *limit, const char *margin, const char *absolute,
                    double share) {
    finding->found = text_from(found);
    finding->limit = text_from(limit);
    finding->margin = text_from(margin);
    finding->margin_absolute = text_from(absolute);
    finding->margin_share = share;
}

static void add_eater(Arena *arena, Finding *finding, Eater eater) { VECTOR_PUSH(arena, &finding->eaters, eater); }

static void bounds(Result *result, Finding *finding, const char *found, const char *limit, const char *margin, const char *absolute, double share) {
    finding->bounded_inputs = 2;
    finding->worst_found = text_from(found);
    finding->worst_limit = text_from(limit);
    finding->worst_margin = text_from(margin);
    finding->worst_margin_absolute = text_from(absolute);
    finding->worst_share = share;
    result->bounded++;
}

static Finding *requirement(Result *result, const Source *source, Verdict verdict, const char *id, const char *text,
                            const char *shall) {
    char header[64] = "requirement ";
    Finding *finding = demo_finding(result, FINDING_REQUIREMENT, verdict, id, text);
    finding->span = demo_span(source, strcat(header, id), 0);
    if (shall) finding->shall_span = demo_span(source, shall, 0);
    finding->condition = text_from(shall);
    finding->method = TEXT("analysis");
    return finding;
}

static void add_requirements(Result *result, const Source *source) {
    Arena *arena = result->arena;
    Finding *f = requirement(result, source, VERDICT_MET, "LIFT-1",
                             "The tray reaches the cold drawer within 1.5 s of leaving the carousel",
                             "exchange.first.duration <= 1.5 s");
    figures(f, "1.40 s", "at most 1.5 s", "6.7 %", "0.10 s", 0.067);
    f->because = TEXT("The drawer's shutter closes after 1.5 s.");
    f->clauses = demo_list(arena, "URS §2.1", NULL, NULL);
    f->decides = demo_list(arena, "exchange.first.duration", NULL, NULL);
    f->parts = demo_list(arena, "exchange", NULL, NULL);
    f->refined_by = demo_list(arena, "LIFT-2", NULL, NULL);
    f = requirement(result, source, VERDICT_MET, "LIFT-2", "Seed is not shaken", "lift.load.acceleration <= 2.5 m/s²");
    figures(f, "1.03 m/s²", "at most 2.5 m/s²", "59 %", "1.47 m/s²", 0.59);
    f->instant = TEXT("at 0.350 s, in move 1 of exchange");
    f->refines = TEXT("LIFT-1");
    f->clauses = demo_list(arena, "URS §2.2", NULL, NULL);
    f->decides = demo_list(arena, "lift.load.acceleration", "exchange.first.duration", NULL);
    f->parts = demo_list(arena, "lift.load", "exchange", NULL);
    f = requirement(result, source, VERDICT_OPEN, "LIFT-3", "A full tray stays where it is when power fails",
                    "lift.brake.torque >= 2 * lift.screw.holding-torque");
    f->limit = TEXT("at least 60.4 mN·m");
    f->reason = TEXT("No brake is stated, so its torque is not known.");
    f->missing = demo_list(arena, "lift.brake.torque", NULL, NULL);
    f->clauses = demo_list(arena, "URS §2.3", NULL, NULL);
    f->decides = demo_list(arena, "lift.screw.holding-torque", "lift.load.weight", NULL);
    f->parts = demo_list(arena, "lift.screw", "lift.load", NULL);
    f = requirement(result, source, VERDICT_NOT_MET, "LIFT-4", "The supply reaches what the motor needs at every instant",
                    "lift.motor.voltage <= supply.voltage");
    figures(f, "24.7 V", "at most 24 V", "-2.9 %", "-0.7 V", -0.029);
    f->instant = TEXT("at 0.700 s, in move 1 of exchange");
    f->reason = TEXT("The motor needs more voltage at its highest speed than the supply gives.");
    bounds(result, f, "26.3 V", "at most 22.8 V", "-15 %", "-3.5 V", -0.15);
    add_eater(arena, f, (Eater){.path = TEXT("Rook-38-24.resistance"), .nominal = TEXT("2.1 Ω"), .worst = TEXT("2.27 Ω"), .share = TEXT("62 %"), .turning = TEXT("1.98 Ω")});
    add_eater(arena, f, (Eater){.path = TEXT("supply.voltage"), .nominal = TEXT("24 V"), .worst = TEXT("22.8 V"), .share = TEXT("38 %")});
    f->likely_margin = TEXT("-8.4 %");
    f->unsourced = TEXT("follows from the choice of the supply in the cabinet");
    f->decides = demo_list(arena, "lift.motor.voltage", "Rook-38-24.resistance", "lift.screw.speed.peak");
    f->parts = demo_list(arena, "lift.motor", "supply", NULL);
    f = requirement(result, source, VERDICT_MET, "LIFT-5", "The lift can be cleaned with 70 % ethanol", NULL);
    f->method = TEXT("inspection");
    f->evidence = TEXT("evidence/cleaning-trial.md");
    f->clauses = demo_list(arena, "URS §2.4", NULL, NULL);
    f = requirement(result, source, VERDICT_CONCEDED, "LIFT-6", "The tray stands still within 0.05 mm",
                    "lift.position-error <= 0.05 mm");
    figures(f, "0.053 mm", "at most 0.05 mm", "-6 %", "-0.003 mm", -0.06);
    f->method = TEXT("test");
    f->evidence = TEXT("evidence/stops.csv");
    f->reading = TEXT("magnitude \"error\" within 0.002 mm");
    f->digest = TEXT("sha256:5f70bf18a086007016e948b04aed3b82103a36bea41755b6cddfaf10ace3c6ef");
    f->concession = TEXT("C-1");
    bounds(result, f, "0.055 mm", "at most 0.05 mm", "-10 %", "-0.005 mm", -0.10);
    add_eater(result->arena, f, (Eater){.path = TEXT("measured"), .nominal = TEXT("0.053 mm"), .worst = TEXT("0.055 mm"), .share = TEXT("100 %")});
    Concession concession = {.id = TEXT("C-1"), .text = TEXT("Coarser than asked for"), .by = TEXT("the user's quality manager"),
                             .because = TEXT("The encoder is changed in the next series."), .until = TEXT("2027-03-31")};
    concession.covers = demo_list(result->arena, "LIFT-6", NULL, NULL);
    VECTOR_PUSH(result->arena, &result->concessions, concession);
    result->judged_on = TEXT("2026-11-02");
}

static void add_rules(Result *result, const Source *source) {
    static const struct { Verdict verdict; const char *id, *text, *found, *limit, *margin, *absolute; double share; const char *cites; } RULES[] = {
        {VERDICT_MET, "lift.load.moves", "The load moves at least once in its cycle", NULL, NULL, NULL, NULL, 0, "common practice"},
        {VERDICT_MET, "lift.screw.critical-speed-limit", "The screw stays clear of its critical speed", "45.7 rev/s", "at most 110 rev/s", "58 %", "64.3 rev/s", 0.58, "common practice: 80 % of the critical speed"},
        {VERDICT_MET, "lift.screw.buckling", "The screw does not buckle", "27.3 N", "at most 2.11 kN", "99 %", "2.08 kN", 0.99, "Euler's column formula, with a factor of 5"},
        {VERDICT_OPEN, "lift.screw.life-limit", "The screw outlives the machine", NULL, "at least 20,000 h", NULL, NULL, 0, "ISO 3408-5"},
        {VERDICT_MET, "lift.winding-temperature", "The winding stays below what its insulation stands", "71.3 °C", "at most 125 °C", "53.7 K", NULL, NAN, "IEC 60034-1, thermal class"},
        {VERDICT_AT_RISK, "lift.current", "The drive gives the peak current", "4.91 A", "at most 5 A", "1.8 %", "0.09 A", 0.018, "the drive's card"},
        {VERDICT_MET, "lift.speed", "The motor is not driven beyond its speed", "45.7 rev/s", "at most 167 rev/s", "73 %", "121 rev/s", 0.73, "the motor's card"},
        {VERDICT_NOT_MET, "lift.falls-without-brake", "A load that can fall is held when torque is removed", NULL, "held by a brake or a screw that holds itself", NULL, NULL, NAN, "IEC 61800-5-2, safe torque off"},
        {VERDICT_MET, "Rook-38-24.speed-constant", "Speed constant agrees with the torque constant", "250 rpm/V", "250 rpm/V ± 3 %", "2.9 %", "7.3 rpm/V", 0.97, "conservation of energy"},
    };
    for (size_t i = 0; i < sizeof RULES / sizeof *RULES; i++) {
        Finding *f = demo_finding(result, i == 8 ? FINDING_AGREEMENT : FINDING_RULE, RULES[i].verdict, RULES[i].id, RULES[i].text);
        figures(f, RULES[i].found, RULES[i].limit, RULES[i].margin, RULES[i].absolute, RULES[i].margin ? RULES[i].share : NAN);
        f->cites = text_from(RULES[i].cites);
        f->span = demo_span(source, i < 1 ? "slide lift.load" : i < 4 ? "screw lift.screw" : i < 8 ? "axis lift \"" : "?!", 0);
    }
    Finding *f = &result->findings.at[result->findings.count - 2];
    f->reason = TEXT("The axis carries weight, the screw does not hold itself, and no brake is stated: with torque off, the tray falls.");
    f->decides = demo_list(result->arena, "lift.load.slope", "lift.screw.efficiency", NULL);
    f = &result->findings.at[result->findings.count - 4];
    bounds(result, f, "5.07 A", "at most 5 A", "-1.4 %", "-0.07 A", -0.014);
    add_eater(result->arena, f, (Eater){.path = TEXT("lift.load.friction"), .nominal = TEXT("4 N"), .worst = TEXT("5.2 N"), .share = TEXT("100 %"), .turning = TEXT("4.7 N"), .inside = true});
    f->likely_margin = TEXT("-1.4 %");
    f->instant = TEXT("at 0.412 s, in move 1 of exchange");
    f->decides = demo_list(result->arena, "lift.load.friction", "lift.screw.efficiency", NULL);
    f = &result->findings.at[result->findings.count - 6];
    f->missing = demo_list(result->arena, "lift.screw.dynamic-rating", NULL, NULL);
    f->reason = TEXT("The life cannot be found without the dynamic load rating of the nut.");
    f = demo_finding(result, FINDING_RULE, VERDICT_NOT_MET, "lift.inertia-ratio", "Load inertia is near to the rotor's");
    figures(f, "8.3", "at most 5", "-66 %", "-3.3", -0.66);
    f->advice = true;
    f->span = demo_span(source, "axis lift \"", 0);
    f->cites = TEXT("common practice, for stiff axes with fast control");
    result->count[VERDICT_NOT_MET]--;
    result->advice_not_met = 1;
    result->not_applicable = 3;
}

static void add_clauses(Result *result, const Source *source) {
    static const struct { const char *id, *text, *left_out, *requirement; } CLAUSES[] = {
        {"§2.1", "The tray reaches the cold drawer within 1.5 s of leaving the carousel.", NULL, "LIFT-1"},
        {"§2.2", "Seed is never shaken: acceleration stays below 2.5 m/s².", NULL, "LIFT-2"},
        {"§2.3", "A full tray stays where it is when power fails.", NULL, "LIFT-3"},
        {"§2.4", "The lift can be cleaned with 70 % ethanol.", NULL, "LIFT-5"},
        {"§2.5", "Jars are counted.", "the carousel counts them", NULL},
        {"§2.6", "Noise in the anteroom stays below 55 dB(A).", NULL, NULL},
    };
    for (size_t i = 0; i < sizeof CLAUSES / sizeof *CLAUSES; i++) {
        Clause clause = {.demanded = true, .span = demo_span(source, CLAUSES[i].id, 0)};
        clause.source = TEXT("URS");
        clause.source_title = TEXT("User requirements, jar handling, issue C");
        clause.id = text_from(CLAUSES[i].id);
        clause.text = text_from(CLAUSES[i].text);
        clause.left_out = text_from(CLAUSES[i].left_out);
        clause.requirements = demo_list(result->arena, CLAUSES[i].requirement, i == 1 ? "LIFT-1" : NULL, NULL);
        VECTOR_PUSH(result->arena, &result->clauses, clause);
    }
}

Result *demo_jar_handler(Arena *arena) {
    Result *result = demo_empty(arena);
    Source *source = demo_source(result, "lift.trn.md", SPECIFICATION);
    add_things(result, source);
    add_values(result, source);
    add_requirements(result, source);
    add_rules(result, source);
    add_clauses(result, source);
    VECTOR_PUSH(arena, &result->cautions,
                (Caution){.id = TEXT("lift.falling-load"),
                          .text = TEXT("The tray hangs on this axis. With torque removed it can fall, and crush what is below it; "
                                       "a brake alone does not make work beneath it safe."),
                          .cites = TEXT("ISO 12100, 6.2.5"),
                          .span = demo_span(source, "axis lift \"", 0)});
    VECTOR_PUSH(arena, &result->cautions,
                (Caution){.id = TEXT("lift.screw.pinch"),
                          .text = TEXT("A turning screw draws in fingers, hair and cloth."),
                          .cites = TEXT("ISO 12100, annex B"),
                          .span = demo_span(source, "screw lift.screw", 0)});
    return result;
}
