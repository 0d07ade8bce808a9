#include "library/audit_words.h"

#include <math.h>

#include "verdict/judge.h"

static const Node *node_of(const Audit *audit, NodeId id) { return tree_node(audit->model->tree, id); }

Text audit_form_name(const Audit *audit, FormId form) {
    return form == 0 ? TEXT("unknown form") : model_name(audit->model, audit->model->forms.at[form].name);
}

static Place place_of(const Audit *audit, uint32_t position) { return source_place(audit->model->tree->sources, position); }

/* The name of a card stands behind its form's: its own line, where the two are apart. */
Text audit_card_place(const Audit *audit, NodeId card, Text *path, uint32_t *line) {
    const Node *node = node_of(audit, card);
    Place place = place_of(audit, node->span.start);
    *path = place.source ? place.source->path : (Text){0};
    *line = place.line;
    return model_name(audit->model, node->name);
}

/* The FIELD of a filled-in form that states a member; 0: none does. */
static NodeId field_of(const Audit *audit, NodeId filled, FormId form, uint32_t slot) {
    if (slot == UINT32_MAX || filled == 0) return 0;
    Symbol name = form_of(audit->model, form)->members.at[slot].name;
    for (NodeId id = tree_fields(audit->model->tree, filled); id != 0; id = node_of(audit, id)->next) {
        if (node_of(audit, id)->kind == NODE_FIELD && node_of(audit, id)->name == name) return id;
    }
    return 0;
}

/* Where a form is written inside a card: "seat.inner."; found by going down to it. */
static bool path_inside_card(Arena *arena, const Audit *audit, NodeId at, NodeId wanted, unsigned depth, Text *path) {
    if (at == wanted) return true;
    if (depth > 2 * SYNTAX_DEPTH_LIMIT) return false;
    const Node *node = node_of(audit, at);
    NodeId list = node->kind == NODE_FILLED ? tree_fields(audit->model->tree, at) : node->kind == NODE_LIST ? node->a : 0;
    for (NodeId id = list; id != 0; id = node_of(audit, id)->next) {
        const Node *one = node_of(audit, id);
        bool field = one->kind == NODE_FIELD;
        if (!path_inside_card(arena, audit, field ? one->a : id, wanted, depth + 1, path)) continue;
        Text parts[2] = {model_name(audit->model, field ? one->name : 0), *path};
        if (field) *path = text_fill(arena, TEXT("{0}.{1}"), parts, 2);
        return true;
    }
    return false;
}

static Text one_line(Arena *arena, Text text) {
    TextBuilder out = text_builder(arena);
    bool space = false;
    for (size_t i = 0; i < text.length; i++) {
        char c = text.at[i];
        bool white = c == ' ' || c == '\t' || c == '\r' || c == '\n';
        if (!white && space && out.length > 0) text_add_char(&out, ' ');
        if (!white) text_add_char(&out, c);
        space = white;
    }
    return text_built(&out);
}

static Text written(Arena *arena, const Audit *audit, NodeId node) {
    return one_line(arena, source_text(audit->model->tree->sources, node_of(audit, node)->span));
}

/* The value of a field as it stands on the card; in a table its unit stands in the head of the column. */
static Text value_as_written(Arena *arena, const Audit *audit, NodeId field) {
    const Node *value = node_of(audit, node_of(audit, field)->a);
    Text parts[2] = {written(arena, audit, node_of(audit, field)->a), {0}};
    if (value->kind != NODE_NUMBER || value->name == 0) return parts[0];
    parts[1] = symbol_text(audit->model->symbols, value->name);
    return text_ends(parts[0], parts[1]) ? parts[0] : text_fill(arena, TEXT("{0} {1}"), parts, 2);
}

static Text option_text(Arena *arena, const Audit *audit, NodeId declaration, OptionKind kind) {
    NodeId option = tree_option(audit->model->tree, node_of(audit, declaration)->c, kind);
    return option && node_of(audit, option)->a ? tree_text(audit->model->tree, arena, node_of(audit, option)->a) : (Text){0};
}

/* The unit in which a field is written, else that of the member; 0: by size. */
static UnitId unit_for(const Audit *audit, NodeId field, const Member *member) {
    NodeId value = field ? node_of(audit, field)->a : 0;
    const Node *node = value ? node_of(audit, value) : NULL;
    if (node != NULL && node->kind == NODE_BOUNDED) node = node_of(audit, node->c ? node->c : node->a);
    if (node != NULL && node->kind == NODE_NUMBER && node->name != 0) return vocabulary_known_unit(audit->model->vocabulary, node->name);
    return member->shown;
}

static Text spell(Arena *arena, const Audit *audit, double number, Measure measure, UnitId unit) {
    measure.written = false;
    return spell_value(audit->model->vocabulary, arena, number, measure, unit, SPELL_DIGITS);
}

static Measure measure_of(const Audit *audit, const Member *member) {
    return member->type.class == TYPE_QUANTITY ? measure_of_kind(audit->model->vocabulary, member->type.kind) : measure_number();
}

/* ---- how far off ---------------------------------------------------------------------------------------------------- */

/* "12 % too much", "10 times too little". */
static Text difference_words(Arena *arena, double found, double due) {
    double ratio = found / due;
    if (!isfinite(ratio) || ratio == 0) return (Text){0};
    if (ratio < 0) return TEXT("of the other sign");
    bool times = ratio >= 2 || ratio <= 0.5;
    Text number = times ? spell_number(arena, ratio > 1 ? ratio : 1 / ratio, 3) : spell_share(arena, fabs(ratio - 1));
    Text parts[2] = {number, ratio > 1 ? TEXT("much") : TEXT("little")};
    return text_fill(arena, times ? TEXT("{0} times too {1}") : TEXT("{0} too {1}"), parts, 2);
}

static Text slip_words(Arena *arena, const Audit *audit, const Slip *slip) {
    Symbols *symbols = audit->model->symbols;
    Text parts[2] = {spell_number(arena, slip->times >= 1 ? slip->times : 1 / slip->times, 3),
                     slip->unit ? symbol_text(symbols, unit_of(audit->model->vocabulary, slip->unit)->text) : (Text){0}};
    bool large = slip->times >= 1;
    switch (slip->kind) {
    case SLIP_POINT: return text_fill(arena, large ? TEXT("the decimal point, {0} times too much") : TEXT("the decimal point, {0} times too little"), parts, 1);
    case SLIP_PREFIX:
        if (slip->unit) return text_fill(arena, TEXT("the unit, {1} instead"), parts, 2);
        return text_fill(arena, large ? TEXT("a prefix of the unit, {0} times too much") : TEXT("a prefix of the unit, {0} times too little"), parts, 1);
    case SLIP_UNIT: return text_fill(arena, TEXT("the unit, {1} instead"), parts, 2);
    case SLIP_RECIPROCAL: return TEXT("the reciprocal, as if rpm/V were V/rpm");
    case SLIP_DIGITS: return TEXT("two digits exchanged");
    case SLIP_TURN: return TEXT("a turn taken for a radian (2π)");
    case SLIP_CURRENT:
        parts[0] = text_from(slip->root);
        return text_fill(arena, TEXT("another current or voltage, amplitude for effective value or line for phase ({0})"), parts, 1);
    case SLIP_NONE: break;
    }
    return (Text){0};
}

/* ---- sentences ------------------------------------------------------------------------------------------------------ */

static void fill_agreement(Arena *arena, const Audit *audit, const AuditFinding *finding, AuditWords *words) {
    const Member *member = &form_of(audit->model, finding->form)->members.at[finding->slot];
    Measure measure = measure_of(audit, member);
    NodeId field = field_of(audit, finding->filled, finding->form, finding->slot);
    UnitId unit = unit_for(audit, field, member);
    words->found = field ? value_as_written(arena, audit, field) : spell(arena, audit, finding->found, measure, unit);
    words->due = spell(arena, audit, finding->limit, measure, unit);
    words->differ = isfinite(finding->found / finding->limit) ? spell_share(arena, fabs(finding->found / finding->limit - 1)) : (Text){0};
    Text parts[4] = {words->found, words->due, {0}, written(arena, audit, member->within)};
    if (measure.point || finding->allowed_is_amount) words->differ = (Text){0};
    else parts[2] = difference_words(arena, finding->found, finding->limit);
    words->brief = text_fill(arena, TEXT("{0}, where the others give {1}"), parts, 2);
    TextBuilder sentence = text_builder(arena);
    text_add(&sentence, text_fill(arena, parts[2].length ? TEXT("{0}, where the others give {1}: {2}, {3} allowed") : TEXT("{0}, where the others give {1}; {3} allowed"), parts, 4));
    words->slip = slip_words(arena, audit, &finding->slip);
    if (finding->alone) {
        if (words->slip.length == 0) words->slip = TEXT("this figure");
        text_add_string(&sentence, "; likely ");
        text_add(&sentence, words->slip);
    }
    words->sentence = text_built(&sentence);
}

static void fill_culprit(Arena *arena, const Audit *audit, const AuditFinding *finding, AuditWords *words) {
    const Member *member = &form_of(audit->model, finding->form)->members.at[finding->slot];
    NodeId field = field_of(audit, finding->filled, finding->form, finding->slot);
    UnitId unit = unit_for(audit, field, member);
    words->found = field ? value_as_written(arena, audit, field) : (Text){0};
    words->due = spell(arena, audit, finding->limit, finding->leaf.measure, unit);
    if (finding->slip.kind == SLIP_UNIT) {
        words->due = spell(arena, audit, finding->limit, finding->leaf.measure, finding->slip.unit);
    }
    words->slip = slip_words(arena, audit, &finding->slip);
    TextBuilder count = text_builder(arena);
    text_add_count(&count, finding->mends);
    Text parts[4] = {words->found, words->due, text_built(&count), words->slip};
    const char *pattern = !finding->alone ? "{0} may be the wrong figure: {1} would agree"
                          : finding->mends == 1 ? "{0} is likely the wrong figure: {1} would agree"
                          : finding->mends == 2 ? "{0} is likely the wrong figure: {1} would settle both findings" : "{0} is likely the wrong figure: {1} would settle all {2} findings";
    TextBuilder sentence = text_builder(arena);
    text_add(&sentence, text_fill(arena, text_from(pattern), parts, 4));
    if (words->slip.length > 0) text_add(&sentence, text_fill(arena, TEXT(" ({3})"), parts, 4));
    words->sentence = text_built(&sentence);
}

static Text side_words(Arena *arena, const Audit *audit, const Condition *leaf, double number) {
    if (isnan(number)) return (Text){0};
    if (leaf->truths) return number != 0 ? TEXT("yes") : TEXT("no");
    if (leaf->choice == 0) return spell(arena, audit, number, leaf->measure, leaf->unit);
    const Choice *choice = choice_of(audit->model, leaf->choice);
    return number >= 0 && number < choice->words.count ? model_name(audit->model, choice->words.at[(uint32_t)number].name) : (Text){0};
}

static void fill_rule(Arena *arena, const Audit *audit, const AuditFinding *finding, AuditWords *words) {
    Condition leaf = finding->leaf;
    if (leaf.kind == CONDITION_COMPARE && leaf.unit == 0 && leaf.choice == 0 && !leaf.truths) {
        leaf.unit = spell_unit(audit->model->vocabulary, finding->limit != 0 ? finding->limit : finding->found, leaf.measure);
    }
    words->found = leaf.kind == CONDITION_COMPARE ? side_words(arena, audit, &leaf, finding->found) : (Text){0};
    Text due = leaf.kind == CONDITION_COMPARE ? side_words(arena, audit, &leaf, finding->limit) : (Text){0};
    words->due = words_of_limit(arena, (SignalCompare)leaf.compare, due);
    Text parts[3] = {tree_title(audit->model->tree, arena, finding->node), words->found, words->due};
    const char *pattern = words->found.length == 0 ? "{0}? No" : words->due.length == 0 ? "{0}? No: {1}" : "{0}? No: {1}, {2}";
    words->sentence = text_fill(arena, text_from(pattern), parts, 3);
}

static void fill_validity(Arena *arena, const Audit *audit, const AuditFinding *finding, AuditWords *words) {
    const Member *member = &form_of(audit->model, finding->form)->members.at[finding->slot];
    NodeId field = field_of(audit, finding->filled, finding->form, finding->slot);
    const Node *option = node_of(audit, finding->node);
    const Node *after = option->next ? node_of(audit, option->next) : NULL;
    Text valid = after != NULL && after->op == OPTION_VALID ? tree_text(audit->model->tree, arena, after->a) : (Text){0};
    if (field) words->found = value_as_written(arena, audit, field);
    else if (!isnan(finding->found)) words->found = spell(arena, audit, finding->found, measure_of(audit, member), member->shown);
    words->due = written(arena, audit, option->a);
    Text parts[3] = {words->found, words->due, valid};
    TextBuilder sentence = text_builder(arena);
    text_add(&sentence, text_fill(arena, words->found.length ? TEXT("{0} cannot be: it needs {1}") : TEXT("it cannot be: it needs {1}"), parts, 3));
    if (valid.length > 0) text_add(&sentence, text_fill(arena, TEXT(" ({2})"), parts, 3));
    words->sentence = text_built(&sentence);
}

static void fill_no_value(Arena *arena, const Audit *audit, const AuditFinding *finding, AuditWords *words) {
    enum { FORMULA_MOST = 60 }; /* bytes */
    NodeId formula = finding->slot != UINT32_MAX ? form_of(audit->model, finding->form)->members.at[finding->slot].formula : 0;
    Text parts[2] = {text_from(failure_sentence(finding->failure)), formula ? written(arena, audit, formula) : (Text){0}};
    bool short_one = parts[1].length > 0 && parts[1].length <= FORMULA_MOST;
    words->sentence = text_fill(arena, short_one ? TEXT("no value, {0} in {1}") : TEXT("no value, {0}"), parts, 2);
}

AuditWords audit_words(Arena *arena, const Audit *audit, const AuditFinding *finding) {
    static const char *const kinds[] = {[AUDIT_CULPRIT] = "culprit", [AUDIT_AGREEMENT] = "agreement", [AUDIT_RULE] = "rule",
                                        [AUDIT_VALIDITY] = "validity", [AUDIT_NO_VALUE] = "no value", [AUDIT_REMARK] = "remark"};
    const char *kind = finding->kind == AUDIT_CULPRIT && !finding->alone ? "suspect" : kinds[finding->kind];
    FormId form = model_form(audit->model, node_of(audit, node_of(audit, finding->card)->a)->name);
    AuditWords words = {.kind = text_from(kind), .form = audit_form_name(audit, form)};
    words.card = audit_card_place(audit, finding->card, &words.path, &words.card_line);
    words.line = place_of(audit, finding->place).line;
    Text inside = {0};
    if (finding->filled != finding->card) path_inside_card(arena, audit, finding->card, finding->filled, 0, &inside);
    bool rule = finding->slot == UINT32_MAX;
    Text parts[2] = {inside, model_name(audit->model, rule ? node_of(audit, finding->node)->name : form_of(audit->model, finding->form)->members.at[finding->slot].name)};
    words.name = text_fill(arena, TEXT("{0}{1}"), parts, 2);
    switch (finding->kind) {
    case AUDIT_CULPRIT: fill_culprit(arena, audit, finding, &words); break;
    case AUDIT_AGREEMENT: fill_agreement(arena, audit, finding, &words); break;
    case AUDIT_RULE:
    case AUDIT_REMARK: fill_rule(arena, audit, finding, &words); break;
    case AUDIT_VALIDITY: fill_validity(arena, audit, finding, &words); break;
    case AUDIT_NO_VALUE: fill_no_value(arena, audit, finding, &words); break;
    }
    NodeId declared = rule ? finding->node : form_of(audit->model, finding->form)->members.at[finding->slot].node;
    if (finding->kind != AUDIT_CULPRIT) words.cites = option_text(arena, audit, declared, OPTION_CITES);
    return words;
}

/* ---- what is left out ----------------------------------------------------------------------------------------------- */

static void add_name(TextBuilder *out, Text name) {
    if (out->length > 0) text_add_string(out, ", ");
    text_add(out, name);
}

AuditMissingWords audit_missing_words(Arena *arena, const Audit *audit, const AuditMissing *missing) {
    const Form *form = form_of(audit->model, missing->form);
    const Member *member = &form->members.at[missing->slot];
    AuditMissingWords words = {.form = audit_form_name(audit, missing->form), .name = model_name(audit->model, member->name)};
    words.title = option_text(arena, audit, member->node, OPTION_DOC);
    TextBuilder values = text_builder(arena), rules = text_builder(arena);
    for (uint32_t i = 0; i < missing->unlocks.count; i++) {
        const AuditUnlocked *one = &missing->unlocks.at[i];
        bool rule = one->slot == UINT32_MAX;
        if (one->cards == 0) continue;
        add_name(rule ? &rules : &values, model_name(audit->model, rule ? node_of(audit, one->rule)->name : form->members.at[one->slot].name));
        words.rule_count += rule;
        words.value_count += !rule;
    }
    TextBuilder pairs = text_builder(arena);
    for (uint32_t i = 0; i < missing->pairs.count; i++) add_name(&pairs, missing->pairs.at[i]);
    words.pairs = text_built(&pairs);
    words.values = text_built(&values);
    words.rules = text_built(&rules);
    return words;
}
