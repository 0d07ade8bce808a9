/* Quoted figures: links of the prose whose words are a value or a verdict. They are compared with what was found, and where they
 * are stale the result says what would be right, and which bytes of the file would have to change.
 *
 * A link quotes when its words begin like a number and it leads to a quantity; when they are the word of a verdict and it leads
 * to something judged; when they are words of the choice, yes or no, or a text in quotation marks, and it leads to such. All
 * others are plain links. */
#include <math.h>
#include <string.h>

#include "quantity/figure.h"
#include "text/link.h"
#include "text/utf8.h"
#include "verdict/judge.h"

static const double steady = 1e-12; /* a signal that changes by less, of its size, stays the same */

typedef struct Check {
    Judge *judge;
    const Quote *quote;
    const ProseLink *link;
    Map findings; /* symbol of an id -> index + 1 */
} Check;

/* ---- what is wrong ------------------------------------------------------------------------------------------------- */

static Text text_of(const Check *check, Span span) { return source_text(check->judge->result->sources, span); }

/* How many bytes of the file, from its beginning, read as this text; 0 when they do not. A space of the text may be the end of
 * a line, with the mark of a quotation before the next. */
static size_t reads_as(Text raw, Text text) {
    size_t i = 0;
    for (size_t k = 0; k < text.length; k++) {
        size_t from = i;
        if (text.at[k] != ' ') {
            if (i == raw.length || raw.at[i] != text.at[k]) return 0;
            i++;
            continue;
        }
        while (i < raw.length && (raw.at[i] == ' ' || raw.at[i] == '\t' || raw.at[i] == '\r' || raw.at[i] == '\n' || (i > from && raw.at[i] == '>'))) i++;
        if (i == from) return 0;
    }
    return i;
}

/* Where `part` stands in the bytes of the link; nowhere when it is not there as it is. An entity before it, or in it, would
 * be another spelling of what is looked for. */
static Span span_of(const Check *check, Text part) {
    Text raw = text_of(check, check->link->span);
    if (!check->link->located) return (Span){0, 0};
    for (size_t i = 0; i < raw.length && raw.at[i] != '&'; i++) {
        size_t length = reads_as(text_slice(raw, i, raw.length), part);
        if (length == 0) continue;
        if (memchr(raw.at + i, '&', length) != NULL) break;
        uint32_t start = check->link->span.start + (uint32_t)i;
        return (Span){start, start + (uint32_t)length};
    }
    return (Span){0, 0};
}

/* As it has to be written so that CommonMark reads it. */
static Text escaped(Judge *judge, Text text) {
    TextBuilder out = text_builder(judge->arena);
    for (size_t i = 0; i < text.length; i++) {
        if (strchr("\\`*_[]<>&|#", text.at[i]) != NULL && text.at[i] != '\0') text_add_char(&out, '\\');
        text_add_char(&out, text.at[i]);
    }
    return text_built(&out);
}

/* `old` is the part of the link's words that would become `now`. */
static void say_stale(const Check *check, Text is, Text old, Text now) {
    Judge *judge = check->judge;
    Text words = check->link->words, raw = text_of(check, check->link->span), written = escaped(judge, now);
    size_t at = (size_t)(old.at - words.at);
    Text parts[3] = {text_slice(words, 0, at), now, text_slice(words, at + old.length, words.length)};
    Text right = text_fill(judge->arena, TEXT("{0}{1}{2}"), parts, 3);
    Span span = span_of(check, old);
    if (written.length != now.length && memchr(raw.at, '`', raw.length) != NULL) span.start = 0; /* code knows no escapes */
    SAY(judge->messages, STALE_FIGURE, check->link->span, words, check->quote->path, is, right,
        span.start ? TEXT("; trunnion requote writes it") : (Text){0});
    if (span.start != 0) VECTOR_PUSH(judge->arena, &judge->result->requotes, (Requote){check->link->span, span, written});
}

static void say_kind(const Check *check, Text what, Text is) {
    Text right = spell_operand(check->judge, check->quote->operand, check->quote->shown);
    SAY(check->judge->messages, FIGURE_KIND, check->link->span, what, is, check->quote->path, check->quote->words, right);
}

static void say_open(const Check *check, StepId step) {
    Judge *judge = check->judge;
    Text reason, advice = TEXT("Supply it, or take the link away.");
    if (judge->evaluation->values[step].state == COMPUTED_FAILED) {
        bool finding = false;
        reason = explain_failure(judge, step, &finding);
        if (!finding) return; /* an error that has been said */
        advice = TEXT("Mend that, or take the link away.");
    } else {
        TextVector missing = {0};
        missing_facts(judge, step, &missing);
        reason = missing.count == 0 ? TEXT("a fact is missing") : text_fill(judge->arena, TEXT("{0} is not stated"), missing.at, 1);
    }
    SAY(judge->messages, FIGURE_OPEN, check->link->span, check->link->words, check->quote->path, reason, advice);
}

/* Whether a value is there, as one number; else it is said why not. A signal that stays the same is one. */
static bool has_number(const Check *check, StepId step, double *number) {
    const Computed *computed = &check->judge->evaluation->values[step];
    if (computed->state == COMPUTED_NUMBER) {
        *number = computed->number;
        return true;
    }
    if (computed->state == COMPUTED_SIGNAL) {
        Extreme low = signal_minimum(computed->signal), high = signal_maximum(computed->signal);
        *number = high.value;
        if (low.fault == VOID_NONE && high.fault == VOID_NONE && fabs(high.value - low.value) <= steady * fabs(high.value)) return true;
        SAY(check->judge->messages, FIGURE_SIGNAL, check->link->span, check->quote->path, check->link->words);
        return false;
    }
    say_open(check, step);
    return false;
}

/* ---- numbers ------------------------------------------------------------------------------------------------------- */

static Symbol unit_symbol(Judge *judge, Text unit) {
    return unit.length ? symbol_of(judge->model->symbols, utf8_normal(judge->arena, unit)) : 0;
}

/* Whether a value of this measure can be told in the unit; unit 0: as a bare number. */
static Fit unit_fits(Vocabulary *vocabulary, Measure value, UnitId unit) {
    Measure written = measure_of_unit(vocabulary, unit), common;
    if (value.kind) return measure_fits(vocabulary, written, value.kind);
    return measure_meet(vocabulary, OPERATOR_EQUAL, value, written, &common);
}

/* The unit written, checked against the value's kind; false after saying what is wrong. */
static bool read_unit(const Check *check, const Figure *figure, UnitId *unit) {
    Judge *judge = check->judge;
    Vocabulary *vocabulary = judge->model->vocabulary;
    Measure value = check->quote->operand.measure;
    bool number = dimension_is_number(value.dimension) && !value.point;
    Symbol symbol = unit_symbol(judge, figure->unit);
    *unit = symbol ? vocabulary_known_unit(vocabulary, symbol) : 0;
    bool sign = text_starts(figure->unit, TEXT("‰")) || text_starts(figure->unit, TEXT("°")); /* no word begins so */
    if (*unit == 0 && number && !sign) return true; /* "10 jars": the word after the number is a word */
    Text parts[2] = {figure->number, figure->unit};
    Text shown = text_fill(judge->arena, symbol ? TEXT("{0} {1}") : TEXT("{0}"), parts, 2);
    if (*unit == 0 && symbol) {
        Span span = span_of(check, figure->unit);
        vocabulary_unit(vocabulary, symbol, span.start ? span : check->link->span);
        return false;
    }
    if (unit_fits(vocabulary, value, *unit) == FIT_YES && (*unit != 0 || number)) return true;
    say_kind(check, shown, measure_words(vocabulary, judge->arena, measure_of_unit(vocabulary, *unit)));
    return false;
}

/* Without any white space, in normal form: for comparing what is written in two places. */
static Text squeezed(Judge *judge, Text text) {
    TextBuilder out = text_builder(judge->arena);
    for (size_t i = 0; i < text.length; i++) {
        Text rest = text_slice(text, i, text.length);
        if (text_starts(rest, TEXT("\xC2\xA0"))) i += 1;
        else if (text_starts(rest, TEXT("\xE2\x80\xAF")) || text_starts(rest, TEXT("\xE2\x80\x89"))) i += 2;
        else if (text_starts(rest, TEXT("+-"))) text_add(&out, TEXT("±")), i += 1;
        else if (text_starts(rest, TEXT("\xE2\x88\x92"))) text_add_char(&out, '-'), i += 2;
        else if (text.at[i] != ' ' && text.at[i] != '\t' && text.at[i] != '\n' && text.at[i] != '\r') text_add_char(&out, text.at[i]);
    }
    return utf8_normal(judge->arena, text_built(&out));
}

static bool is_tolerance(Text rest) {
    return text_starts(rest, TEXT("±")) || text_starts(rest, TEXT("+-")) || text_starts(rest, TEXT("+")) || text_starts(rest, TEXT("to "));
}

/* A value with its bounds is quoted as it is stated. */
static void check_bounds(const Check *check) {
    Judge *judge = check->judge;
    const Node *stated = check->quote->stated ? tree_node(judge->model->tree, check->quote->stated) : NULL;
    if (stated == NULL || stated->kind != NODE_BOUNDED) {
        SAY(judge->messages, FIGURE_UNREAD, check->link->span, check->link->words, TEXT("only a value that is stated with bounds has them to quote"),
            spell_operand(judge, check->quote->operand, check->quote->shown), check->quote->path);
        return;
    }
    Text words = check->link->words, is = source_text(judge->result->sources, stated->span);
    if (!text_equal(squeezed(judge, words), squeezed(judge, is))) say_stale(check, is, words, is);
}

/* "320mm" is a figure of a length, and "3D" and "2nd" are words. */
static bool is_glued_unit(const Check *check, const Figure *figure) {
    Vocabulary *vocabulary = check->judge->model->vocabulary;
    UnitId unit = vocabulary_known_unit(vocabulary, unit_symbol(check->judge, figure->unit));
    return unit != 0 && unit_fits(vocabulary, check->quote->operand.measure, unit) == FIT_YES;
}

static void check_number(const Check *check, const Figure *figure) {
    Judge *judge = check->judge;
    const Operand *operand = &check->quote->operand;
    UnitId unit = 0;
    if (figure->glued && !is_glued_unit(check, figure)) return;
    if (figure->comma) {
        Text shown = spell_operand(judge, *operand, check->quote->shown);
        SAY(judge->messages, FIGURE_UNREAD, check->link->span, check->link->words, TEXT("numbers have a decimal point and no commas"), shown, check->quote->path);
        return;
    }
    double number = 0;
    if (!has_number(check, operand->step, &number) || !read_unit(check, figure, &unit)) return;
    if (is_tolerance(figure->rest)) {
        check_bounds(check);
        return;
    }
    Text name = figure->unit;
    if (unit != 0) number = number_in(unit_of(judge->model->vocabulary, unit), number, operand->measure.point);
    else name = (Text){0};
    if (figure_agrees(judge->arena, figure, number)) return;
    Text now = figure_spell(judge->arena, figure, number), parts[2] = {now, name};
    say_stale(check, text_fill(judge->arena, name.length ? TEXT("{0} {1}") : TEXT("{0}"), parts, 2), figure->number, now);
}

/* ---- words --------------------------------------------------------------------------------------------------------- */

/* The first letter large, where it was. */
static Text in_manner_of(Judge *judge, Text word, Text old) {
    if (word.length == 0 || old.length == 0 || old.at[0] < 'A' || old.at[0] > 'Z' || word.at[0] < 'a' || word.at[0] > 'z') return word;
    TextBuilder out = text_builder(judge->arena);
    text_add_char(&out, (char)(word.at[0] - 'a' + 'A'));
    text_add(&out, text_slice(word, 1, word.length));
    return text_built(&out);
}

static bool says(Judge *judge, Text words, Text word) { return text_equal(words, word) || text_equal(words, in_manner_of(judge, word, words)); }

static bool is_verdict(Judge *judge, Text words) {
    for (int v = 0; v < VERDICT_COUNT; v++)
        if (says(judge, words, verdict_word((Verdict)v))) return true;
    return false;
}

static void check_verdict(const Check *check, const Finding *finding) {
    Text words = check->link->words, is = verdict_word(finding->verdict);
    bool bounds = says(check->judge, words, verdict_word(VERDICT_AT_RISK)) || says(check->judge, words, verdict_word(VERDICT_CONCEDED));
    if (check->judge->result->nominal_only && bounds && finding->verdict == VERDICT_MET) return; /* what it says of them is not looked at */
    if (!says(check->judge, words, is)) say_stale(check, is, words, in_manner_of(check->judge, is, words));
}

static void check_truth(const Check *check) {
    Judge *judge = check->judge;
    Text words = check->link->words;
    if (!says(judge, words, TEXT("yes")) && !says(judge, words, TEXT("no"))) return;
    double truth = 0;
    if (!has_number(check, check->quote->operand.step, &truth)) return;
    Text is = truth != 0 ? TEXT("yes") : TEXT("no");
    if (!says(judge, words, is)) say_stale(check, is, words, in_manner_of(judge, is, words));
}

static bool is_word_of(Judge *judge, ChoiceId choice, Text word) {
    Symbol symbol = symbol_find(judge->model->symbols, utf8_normal(judge->arena, word));
    return symbol != 0 && choice_word(choice_of(judge->model, choice), symbol) != UINT32_MAX;
}

static void check_word(const Check *check) {
    Text words = check->link->words, is = spell_operand(check->judge, check->quote->operand, 0);
    double word;
    if (!is_word_of(check->judge, check->quote->operand.choice, words) || !has_number(check, check->quote->operand.step, &word)) return;
    if (!text_equal(words, is)) say_stale(check, is, words, is);
}

/* The next of "STO, SBC and SS1"; false behind the last. */
static bool next_word(Text *rest, Text *word) {
    if (rest->length == 0) return false;
    size_t end = 0, behind = 0;
    for (; end < rest->length; end++) {
        Text here = text_slice(*rest, end, rest->length);
        if (rest->at[end] == ',') behind = end + 1;
        else if (text_starts(here, TEXT(" and "))) behind = end + 5;
        if (behind > 0) break;
    }
    *word = text_trim(text_slice(*rest, 0, end));
    *rest = behind > 0 ? text_slice(*rest, behind, rest->length) : (Text){0};
    return true;
}

/* Several words: each that is quoted must be among them. */
static void check_several(const Check *check) {
    Judge *judge = check->judge;
    const Operand *several = &check->quote->operand;
    if (several->missing || several->count == 0 || several->several[0].class != OPERAND_WORD) return;
    Text words = check->link->words, rest = words, word;
    while (next_word(&rest, &word))
        if (!is_word_of(judge, several->several[0].choice, word)) return;
    for (rest = words; next_word(&rest, &word);) {
        bool among = false;
        for (uint32_t i = 0; i < several->count; i++) among = among || text_equal(word, spell_operand(judge, several->several[i], 0));
        if (among) continue;
        Text is = spell_operand(judge, *several, 0);
        say_stale(check, is, words, is);
        return;
    }
}

static void check_text(const Check *check) {
    static const char *const marks[][2] = {{"\"", "\""}, {"“", "”"}, {"„", "“"}, {"«", "»"}, {"‘", "’"}, {"'", "'"}};
    Judge *judge = check->judge;
    Text words = check->link->words, is = check->quote->operand.text;
    for (unsigned i = 0; i < sizeof marks / sizeof marks[0]; i++) {
        Text open = text_from(marks[i][0]), close = text_from(marks[i][1]);
        if (words.length < open.length + close.length || !text_starts(words, open) || !text_ends(words, close)) continue;
        Text inside = text_slice(words, open.length, words.length - close.length);
        if (check->quote->operand.missing)
            SAY(judge->messages, FIGURE_OPEN, check->link->span, words, check->quote->path, TEXT("it is not stated"), TEXT("Supply it, or take the link away."));
        else if (!text_equal(inside, is)) say_stale(check, is, inside, is);
        return;
    }
}

/* ---- all of them --------------------------------------------------------------------------------------------------- */

static const Finding *finding_of(const Check *check, Text id) {
    Symbol symbol = symbol_find(check->judge->model->symbols, id);
    uint32_t index = symbol ? map_get(&check->findings, symbol, 0) : 0;
    return index ? &check->judge->result->findings.at[index - 1] : NULL;
}

static void check_quote(const Check *check) {
    Judge *judge = check->judge;
    Figure figure;
    if (is_verdict(judge, check->link->words)) {
        const Finding *finding = finding_of(check, check->quote->path);
        if (finding) {
            check_verdict(check, finding);
            return;
        }
        if (check->quote->operand.class == OPERAND_BROKEN) {
            SAY(judge->messages, FIGURE_OPEN, check->link->span, check->link->words, check->quote->path, TEXT("it does not apply"), TEXT("Say that, or take the link away."));
            return;
        }
    }
    bool number = figure_read(check->link->words, &figure);
    switch (check->quote->operand.class) {
    case OPERAND_VALUE:
        if (number) check_number(check, &figure);
        break;
    case OPERAND_TRUTH: check_truth(check); break;
    case OPERAND_WORD: check_word(check); break;
    case OPERAND_TEXT: check_text(check); break;
    case OPERAND_SEVERAL: check_several(check); break;
    default: break;
    }
}

/* A quoted value is on the page, wherever its path leads through. */
static void list_quoted(Judge *judge, Map *listed, const Quote *quote) {
    OperandClass class = quote->operand.class;
    if (class != OPERAND_VALUE && class != OPERAND_TRUTH && class != OPERAND_WORD && class != OPERAND_TEXT) return;
    Symbol path = symbol_of(judge->model->symbols, quote->path);
    if (map_get(listed, path, 0)) return;
    map_set(listed, path, 1);
    Value value = {.path = quote->path, .span = quote->thing, .declared = quote->thing, .quoted = true};
    value.shown = spell_operand(judge, quote->operand, quote->shown);
    const Computed *computed = quote->operand.step ? &judge->evaluation->values[quote->operand.step] : NULL;
    value.is_signal = computed && computed->state == COMPUTED_SIGNAL;
    value.unknown = quote->operand.missing || (computed && computed->state == COMPUTED_UNKNOWN);
    VECTOR_PUSH(judge->arena, &judge->result->values, value);
}

void judge_quotes(Judge *judge) {
    const Program *program = judge->program;
    if (program->quotes.count == 0) return;
    Check check = {.judge = judge, .findings = map_open(judge->arena)};
    Map listed = map_open(judge->arena);
    for (uint32_t i = 0; i < judge->result->values.count; i++) map_set(&listed, symbol_of(judge->model->symbols, judge->result->values.at[i].path), 1);
    for (uint32_t i = 0; i < judge->result->findings.count; i++) {
        const Finding *finding = &judge->result->findings.at[i];
        Symbol id = symbol_of(judge->model->symbols, finding->id);
        if (!finding->advice || !map_get(&check.findings, id, 0)) map_set(&check.findings, id, i + 1);
    }
    for (uint32_t i = 0; i < program->quotes.count; i++) {
        check.quote = &program->quotes.at[i];
        check.link = check.quote->link;
        list_quoted(judge, &listed, check.quote);
        check_quote(&check);
    }
}
