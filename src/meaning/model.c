#include "meaning/model.h"

#include "meaning/table.h"
#include "text/standard.h"

/* ---- names ------------------------------------------------------------------------------------------------------- */

Text model_name(const Model *model, Symbol name) { return symbol_text(model->symbols, name); }

Nearest nearest_to(const Symbols *symbols, Symbol wanted) {
    Text text = symbol_text(symbols, wanted);
    unsigned limit = text.length <= 3 ? 1 : text.length <= 7 ? 2 : 3;
    return (Nearest){symbols, text, {0}, limit + 1};
}

void nearest_try(Nearest *nearest, Symbol candidate) {
    Text text = symbol_text(nearest->symbols, candidate);
    if (nearest->distance == 0 || text_equal(text, nearest->wanted)) return;
    unsigned distance = text_distance(nearest->wanted, text, nearest->distance - 1);
    if (distance < nearest->distance && distance < text.length) {
        nearest->distance = distance;
        nearest->best = text;
    }
}

Text nearest_found(const Nearest *nearest) { return nearest->best; }

FormId model_form(const Model *model, Symbol name) {
    uint32_t found = map_get(&model->types, name, 0);
    return found & MODEL_CHOICE ? 0 : found;
}

NodeId model_thing(const Model *model, Symbol name) { return name < model->things.count ? model->things.at[name] : 0; }

const Choice *choice_of(const Model *model, ChoiceId choice) { return &model->choices.at[choice]; }

uint32_t choice_word(const Choice *choice, Symbol name) {
    for (uint32_t i = 0; i < choice->words.count; i++) {
        if (choice->words.at[i].name == name) return i;
    }
    return UINT32_MAX;
}

uint32_t form_slot(const Model *model, FormId form, Symbol name) {
    return map_get(&model->slots, (uint64_t)form << 32 | name, UINT32_MAX);
}

uint32_t form_slot_again(const Model *model, SlotMemo *memo, FormId form, Symbol name) {
    uint32_t i = (name ^ form << 4) % SLOT_MEMO;
    if (memo->at[i].form == form && memo->at[i].name == name) return memo->at[i].slot;
    memo->at[i].form = form;
    memo->at[i].name = name;
    return memo->at[i].slot = form_slot(model, form, name);
}

bool form_is_whole(Model *model, FormId form) {
    for (int depth = 0; form != 0 && depth < FORM_DEPTH_LIMIT; depth++) {
        const Form *one = form_of(model, form);
        const Node *node = tree_node(model->tree, one->node);
        if (node->flags & NODE_INCOMPLETE || (node->a != 0 && one->base == 0)) return false;
        form = one->base;
    }
    return true;
}

bool form_descends(Model *model, FormId form, FormId ancestor) {
    for (int depth = 0; form != 0 && depth < FORM_DEPTH_LIMIT; depth++) {
        if (form == ancestor) return true;
        form = form_of(model, form)->base;
    }
    return false;
}

Text type_words(const Model *model, Arena *arena, Type type) {
    Text name = {0}, pattern = TEXT("{0}");
    switch (type.class) {
    case TYPE_BROKEN: return TEXT("something unreadable");
    case TYPE_QUANTITY:
        name = measure_words(model->vocabulary, arena, measure_of_kind(model->vocabulary, type.kind));
        break;
    case TYPE_TRUTH: return TEXT("yes or no");
    case TYPE_TEXT: return TEXT("a text");
    case TYPE_CHOICE:
        name = model_name(model, choice_of(model, type.choice)->name);
        pattern = TEXT("a word of {0}");
        break;
    case TYPE_FORM:
        name = model_name(model, model->forms.at[type.form].name);
        pattern = TEXT("a filled-in {0}");
        break;
    case TYPE_CYCLE_OF:
        name = model_name(model, kind_of(model->vocabulary, type.kind)->name);
        pattern = TEXT("a cycle of {0}");
        break;
    case TYPE_TABLE_OF:
        name = model_name(model, kind_of(model->vocabulary, type.kind)->name);
        pattern = TEXT("a table of {0}");
        break;
    }
    return text_fill(arena, pattern, &name, 1);
}

static bool is_own_word(Text name, Text words) {
    words = text_slice(words, text_starts(words, TEXT("an ")) ? 3 : text_starts(words, TEXT("a ")) ? 2 : 0, words.length);
    if (words.length != name.length) return false;
    for (size_t i = 0; i < name.length; i++) {
        if (name.at[i] != words.at[i] && !(name.at[i] == '-' && words.at[i] == ' ')) return false;
    }
    return true;
}

Text type_due(const Model *model, Arena *arena, Type type, Text name) {
    Text parts[2] = {name, type_words(model, arena, type)};
    return text_fill(arena, is_own_word(name, parts[1]) ? TEXT("{1} is due") : TEXT("{0} is {1}"), parts, 2);
}

Text type_which(const Model *model, Arena *arena, Type type, Text name) {
    Text words = type_words(model, arena, type);
    return is_own_word(name, words) ? (Text){0} : text_fill(arena, TEXT(", which is {0}"), &words, 1);
}

Text type_example(const Model *model, Arena *arena, Type type, Text number) {
    Text name;
    switch (type.class) {
    case TYPE_QUANTITY: return kind_example(model->vocabulary, arena, type.kind, number);
    case TYPE_TRUTH: return TEXT("yes");
    case TYPE_TEXT: return TEXT("\"…\"");
    case TYPE_CHOICE: return choice_of(model, type.choice)->words.count ? model_name(model, choice_of(model, type.choice)->words.at[0].name) : (Text){0};
    case TYPE_FORM: name = model_name(model, model->forms.at[type.form].name); return text_fill(arena, TEXT("{0} {{ … }"), &name, 1);
    case TYPE_TABLE_OF: {
        Text parts[2] = {kind_example(model->vocabulary, arena, type.key_kind, TEXT("1")), kind_example(model->vocabulary, arena, type.kind, TEXT("1"))};
        Text more[2] = {kind_example(model->vocabulary, arena, type.key_kind, TEXT("2")), kind_example(model->vocabulary, arena, type.kind, TEXT("3"))};
        Text all[4] = {parts[0], parts[1], more[0], more[1]};
        return text_fill(arena, TEXT("table {{ {0}: {1}; {2}: {3} }"), all, 4);
    }
    case TYPE_CYCLE_OF: return TEXT("the name of a cycle");
    case TYPE_BROKEN: break;
    }
    return (Text){0};
}

/* ---- unknown forms and types ------------------------------------------------------------------------------------- */

/* The file of the standard library that declares a form or choice of this name; empty when none does. */
static Text standard_home(const Model *model, Symbol name) {
    static const char *const words[] = {"\nform {0} ", "\nchoice {0} "};
    Text parts[1] = {model_name(model, name)};
    for (unsigned i = 0; i < standard_file_count; i++) {
        Text bytes = {standard_files[i].bytes, standard_files[i].length};
        for (unsigned w = 0; w < 2; w++) {
            Text wanted = text_fill(model->arena, text_from(words[w]), parts, 1);
            for (size_t at = 0; at + wanted.length <= bytes.length; at++) {
                if (bytes.at[at] == '\n' && text_starts(text_slice(bytes, at, bytes.length), wanted)) return text_from(standard_files[i].name);
            }
        }
    }
    return (Text){0};
}

Text model_advice(Model *model, Symbol wanted, Text nearest) {
    enum { SEARCHES = 50 }; /* in the whole library; then only what is near by */
    Text home = model->searches < SEARCHES ? standard_home(model, wanted) : (Text){0};
    model->searches++;
    if (home.length > 0) return text_fill(model->arena, TEXT("It is declared in the standard library: use \"{0}\""), &home, 1);
    return nearest.length ? text_fill(model->arena, TEXT("Did you mean {0}?"), &nearest, 1) : (Text){0};
}

Text form_advice(const Model *model, const Form *form, Symbol wanted) {
    enum { MOST = 12 };
    Nearest nearest = nearest_to(model->symbols, wanted);
    TextBuilder list = text_builder(model->arena);
    uint32_t count = 0;
    for (uint32_t i = 0; i < form->members.count; i++) {
        Text name = model_name(model, form->members.at[i].name);
        if (form->members.at[i].class == NODE_LET) continue;
        nearest_try(&nearest, form->members.at[i].name);
        if (count++ >= MOST) continue;
        text_add(&list, count > 1 ? TEXT(", ") : TEXT("Its fields are: "));
        text_add(&list, name);
    }
    if (count > MOST) text_add(&list, TEXT(", …"));
    Text best = nearest_found(&nearest);
    return best.length ? text_fill(model->arena, TEXT("Did you mean {0}?"), &best, 1) : text_built(&list);
}

/* ---- collecting -------------------------------------------------------------------------------------------------- */

/* False after saying that the name is taken; `before`: by which. */
static bool is_free(Model *model, Symbol name, NodeId node, NodeId before) {
    if (before == 0) return true;
    SAY(model->messages, DECLARED_TWICE, tree_node(model->tree, node)->span, model_name(model, name),
        message_place(model->messages, tree_node(model->tree, before)->span.start));
    return false;
}

static NodeId type_node(const Model *model, Symbol name) {
    uint32_t found = map_get(&model->types, name, 0);
    if (found & MODEL_CHOICE) return model->choices.at[found & ~MODEL_CHOICE].node;
    return found ? model->forms.at[found].node : 0;
}

static void collect_choice(Model *model, NodeId node) {
    const Node *declaration = tree_node(model->tree, node);
    Choice choice = {.name = declaration->name, .node = node};
    for (NodeId word = declaration->a; word != 0; word = tree_node(model->tree, word)->next) {
        const Node *written = tree_node(model->tree, word);
        uint32_t twin = choice_word(&choice, written->name);
        if (twin != UINT32_MAX) {
            SAY(model->messages, DECLARED_TWICE, written->span, model_name(model, written->name),
                message_place(model->messages, tree_node(model->tree, choice.words.at[twin].node)->span.start));
            continue;
        }
        VECTOR_PUSH(model->arena, &choice.words, (Word){written->name, word});
    }
    uint32_t id = model->choices.count;
    VECTOR_PUSH(model->arena, &model->choices, choice);
    if (is_free(model, choice.name, node, type_node(model, choice.name))) map_set(&model->types, choice.name, id | MODEL_CHOICE);
}

bool model_declare(Model *model, NodeId thing) {
    Symbol name = tree_node(model->tree, thing)->name;
    if (!is_free(model, name, thing, model_thing(model, name))) return false;
    while (model->things.count <= name) VECTOR_PUSH(model->arena, &model->things, 0);
    model->things.at[name] = thing;
    return true;
}

static void collect_item(Model *model, NodeId item) {
    const Node *node = tree_node(model->tree, item);
    switch ((NodeKind)node->kind) {
    case NODE_UNIT:
    case NODE_PREFIX:
    case NODE_KIND: vocabulary_declare(model->vocabulary, item); break;
    case NODE_CHOICE: collect_choice(model, item); break;
    case NODE_FORM: {
        uint32_t id = model->forms.count;
        VECTOR_PUSH(model->arena, &model->forms, (Form){.name = node->name, .node = item});
        if (is_free(model, node->name, item, type_node(model, node->name))) map_set(&model->types, node->name, id);
        break;
    }
    case NODE_BROKEN: model->unread = true; break;
    case NODE_FILLED:
    case NODE_CYCLE:
    case NODE_SOURCE:
    case NODE_REQUIREMENT:
    case NODE_CONCESSION:
        model_declare(model, item);
        break;
    default: break;
    }
}

Model *model_open(Arena *arena, Loaded *loaded, Symbols *symbols, Messages *messages) {
    Model *model = ARENA_NEW(arena, Model);
    model->arena = arena;
    model->symbols = symbols;
    model->loaded = loaded;
    model->tree = loaded->tree;
    model->messages = messages;
    model->vocabulary = vocabulary_open(arena, symbols, loaded->tree, messages);
    model->types = map_open(arena);
    model->slots = map_open(arena);
    VECTOR_PUSH(arena, &model->forms, (Form){0});
    VECTOR_PUSH(arena, &model->choices, (Choice){0});
    for (uint32_t i = 0; i < loaded->files.count; i++) {
        for (NodeId item = loaded->files.at[i].first_item; item != 0; item = tree_node(model->tree, item)->next) {
            collect_item(model, item);
        }
    }
    vocabulary_finish(model->vocabulary);
    for (uint32_t i = 0; i < loaded->files.count; i++) {
        if (loaded->files.at[i].use != 0) table_read(model, &loaded->files.at[i]);
    }
    return model;
}

/* ---- resolving a form -------------------------------------------------------------------------------------------- */

static void say_unknown_type(Model *model, Span span, Symbol name) {
    Nearest nearest = nearest_to(model->symbols, name);
    for (uint32_t i = 1; i < model->forms.count; i++) nearest_try(&nearest, model->forms.at[i].name);
    for (uint32_t i = 1; i < model->choices.count; i++) nearest_try(&nearest, model->choices.at[i].name);
    for (KindId i = 1; i <= vocabulary_kind_count(model->vocabulary); i++) {
        nearest_try(&nearest, kind_of(model->vocabulary, i)->name);
    }
    span.end = span.start + (uint32_t)model_name(model, name).length; /* without `several` */
    SAY(model->messages, UNKNOWN_TYPE, span, model_name(model, name), model_advice(model, name, nearest_found(&nearest)));
}

/* Of a type in several words (cycle of length): the place of the first that is this name. */
static Span span_of_word(const Model *model, Span span, Symbol name) {
    Text text = source_text(model->tree->sources, span), word = model_name(model, name);
    for (size_t i = 1; i + word.length <= text.length; i++) {
        if (text.at[i - 1] != ' ' || !text_starts(text_slice(text, i, text.length), word)) continue;
        return (Span){span.start + (uint32_t)i, span.start + (uint32_t)(i + word.length)};
    }
    return span;
}

static KindId resolve_kind(Model *model, Span span, Symbol name) {
    KindId kind = vocabulary_kind(model->vocabulary, name);
    if (kind == 0) {
        span = span_of_word(model, span, name);
        Nearest nearest = nearest_to(model->symbols, name);
        for (KindId i = 1; i <= vocabulary_kind_count(model->vocabulary); i++) {
            nearest_try(&nearest, kind_of(model->vocabulary, i)->name);
        }
        SAY(model->messages, UNKNOWN_KIND, span, model_name(model, name), nearest_found(&nearest));
    }
    return kind;
}

static Type resolve_type(Model *model, NodeId id) {
    const Node *node = tree_node(model->tree, id);
    Type type = {.several = (node->flags & TYPE_SEVERAL) != 0};
    if (node->op == TYPE_CYCLE || node->op == TYPE_TABLE) {
        type.class = node->op == TYPE_CYCLE ? TYPE_CYCLE_OF : TYPE_TABLE_OF;
        type.kind = resolve_kind(model, node->span, node->name);
        if (node->op == TYPE_TABLE && node->a != 0) {
            const Node *key = tree_node(model->tree, node->a);
            type.key_kind = resolve_kind(model, key->span, key->name);
            if (type.key_kind == 0) type.class = TYPE_BROKEN;
        }
        if (type.kind == 0) type.class = TYPE_BROKEN;
        return type;
    }
    Text name = model_name(model, node->name);
    if (text_is(name, "truth")) type.class = TYPE_TRUTH;
    else if (text_is(name, "text")) type.class = TYPE_TEXT;
    else {
        uint32_t found = map_get(&model->types, node->name, 0);
        if (found & MODEL_CHOICE) {
            type.class = TYPE_CHOICE;
            type.choice = found & ~MODEL_CHOICE;
        } else if (found != 0) {
            type.class = TYPE_FORM;
            type.form = found;
        } else {
            type.kind = vocabulary_kind(model->vocabulary, node->name);
            if (type.kind != 0) type.class = TYPE_QUANTITY;
            else say_unknown_type(model, node->span, node->name);
        }
    }
    return type;
}

static bool same_type(const Type *a, const Type *b) {
    return a->class == b->class && a->several == b->several && a->kind == b->kind && a->key_kind == b->key_kind &&
           a->form == b->form && a->choice == b->choice;
}

static Text type_or_several(const Model *model, Type type) {
    Text words = type_words(model, model->arena, type);
    return type.several ? text_fill(model->arena, TEXT("several, each {0},"), &words, 1) : words;
}

static NodeId option_value(const Model *model, const Node *node, OptionKind kind) {
    NodeId option = tree_option(model->tree, node->c, kind);
    return option ? tree_node(model->tree, option)->a : 0;
}

/* Once for each form, at the first one that it cannot have: what is left out would not be judged. */
static void say_too_many_members(Model *model, Form *form, const Node *member) {
    if (form->full) return;
    form->full = true;
    TextBuilder limit = text_builder(model->arena);
    text_add_count(&limit, FORM_MEMBER_LIMIT);
    SAY(model->messages, TOO_MANY_MEMBERS, member->span, model_name(model, form->name), text_built(&limit));
}

static void resolve_member(Model *model, FormId id, NodeId member_id) {
    const Node *node = tree_node(model->tree, member_id);
    Member member = {.name = node->name, .class = (NodeKind)node->kind, .node = member_id, .owner = id, .formula = node->b};
    if (node->a != 0) member.type = resolve_type(model, node->a);
    NodeId shown = tree_option(model->tree, node->c, OPTION_SHOWN);
    if (shown != 0) {
        const Node *option = tree_node(model->tree, shown);
        member.shown = vocabulary_unit(model->vocabulary, option->name, option->span);
        if (member.shown && member.type.class == TYPE_QUANTITY) {
            Measure measure = measure_of_unit(model->vocabulary, member.shown);
            if (measure_fits(model->vocabulary, measure, member.type.kind) != FIT_YES) {
                UnitId usual = kind_usual_unit(kind_of(model->vocabulary, member.type.kind));
                SAY(model->messages, SHOWN_UNIT, vocabulary_name_span(model->vocabulary, option->span, option->name),
                    model_name(model, node->name), type_words(model, model->arena, member.type), model_name(model, option->name),
                    model_name(model, unit_of(model->vocabulary, usual)->text));
                member.shown = 0;
            }
        }
    }
    member.within = option_value(model, node, OPTION_WITHIN);
    member.varies = option_value(model, node, OPTION_VARIES);
    member.settles = option_value(model, node, OPTION_SETTLES);
    Form *form = &model->forms.at[id];
    uint32_t slot = form_slot(model, id, node->name);
    if (slot == UINT32_MAX) {
        if (form->members.count >= FORM_MEMBER_LIMIT) {
            say_too_many_members(model, form, node);
            return;
        }
        map_set(&model->slots, (uint64_t)id << 32 | node->name, form->members.count);
        VECTOR_PUSH(model->arena, &form->members, member);
        return;
    }
    Member *before = &form->members.at[slot];
    if (before->owner == id) {
        SAY(model->messages, DECLARED_TWICE, node->span, model_name(model, node->name),
            message_place(model->messages, tree_node(model->tree, before->node)->span.start));
        return;
    }
    bool narrower = member.type.class == TYPE_FORM && before->type.class == TYPE_FORM && !member.type.several &&
                    !before->type.several && form_descends(model, member.type.form, before->type.form);
    form = &model->forms.at[id];
    before = &form->members.at[slot];
    if (!narrower && member.type.class != TYPE_BROKEN && before->type.class != TYPE_BROKEN && !same_type(&member.type, &before->type)) {
        SAY(model->messages, MEMBER_TYPE_CHANGED, node->span, model_name(model, node->name),
            type_or_several(model, before->type), model_name(model, model->forms.at[before->owner].name),
            type_or_several(model, member.type));
        return;
    }
    if (before->class == NODE_LET && member.class != NODE_LET) {
        SAY(model->messages, DERIVED_MADE_GIVEN, node->span, model_name(model, node->name),
            model_name(model, model->forms.at[before->owner].name));
        return;
    }
    *before = member;
}

static void resolve_rule(Model *model, FormId id, NodeId node_id, bool caution) {
    Form *form = &model->forms.at[id];
    const Node *node = tree_node(model->tree, node_id);
    uint32_t count = caution ? form->cautions.count : form->rules.count;
    FormRule *rules = caution ? form->cautions.at : form->rules.at;
    for (uint32_t i = 0; i < count; i++) {
        if (tree_node(model->tree, rules[i].node)->name != node->name) continue;
        if (rules[i].owner == id) {
            SAY(model->messages, DECLARED_TWICE, node->span, model_name(model, node->name),
                message_place(model->messages, tree_node(model->tree, rules[i].node)->span.start));
        } else {
            rules[i] = (FormRule){node_id, id};
        }
        return;
    }
    if (caution) VECTOR_PUSH(model->arena, &form->cautions, (FormRule){node_id, id});
    else VECTOR_PUSH(model->arena, &form->rules, (FormRule){node_id, id});
}

static void inherit(Model *model, FormId id, FormId base) {
    const Form *from = form_of(model, base);
    if (from->state != FORM_RESOLVED) return; /* a circle, already said */
    Form *form = &model->forms.at[id];
    from = &model->forms.at[base];
    form->base = base;
    for (uint32_t i = 0; i < from->members.count; i++) {
        map_set(&model->slots, (uint64_t)id << 32 | from->members.at[i].name, i);
        VECTOR_PUSH(model->arena, &form->members, from->members.at[i]);
    }
    for (uint32_t i = 0; i < from->rules.count; i++) VECTOR_PUSH(model->arena, &form->rules, from->rules.at[i]);
    for (uint32_t i = 0; i < from->cautions.count; i++) VECTOR_PUSH(model->arena, &form->cautions, from->cautions.at[i]);
}

static unsigned form_depth(const Model *model, FormId form) {
    unsigned depth = 0;
    while (form != 0 && depth <= FORM_DEPTH_LIMIT) form = model->forms.at[form].base, depth++;
    return depth;
}

const Form *form_of(Model *model, FormId id) {
    Form *form = &model->forms.at[id];
    if (form->state == FORM_RESOLVED || form->state == FORM_RESOLVING) return form;
    form->state = FORM_RESOLVING;
    const Node *node = tree_node(model->tree, form->node);
    if (node->a != 0) {
        const Node *base_node = tree_node(model->tree, node->a);
        FormId base = model_form(model, base_node->name);
        if (base == 0) {
            Nearest nearest = nearest_to(model->symbols, base_node->name);
            for (uint32_t i = 1; i < model->forms.count; i++) nearest_try(&nearest, model->forms.at[i].name);
            SAY(model->messages, UNKNOWN_FORM, base_node->span, model_name(model, base_node->name),
                model_advice(model, base_node->name, nearest_found(&nearest)));
        } else if (model->forms.at[base].state == FORM_RESOLVING || form_depth(model, base) >= FORM_DEPTH_LIMIT) {
            bool deep = model->forms.at[base].state != FORM_RESOLVING;
            Text parts[2] = {model_name(model, base_node->name), model_name(model, model->forms.at[id].name)};
            Text pattern = deep ? TEXT("{0}, which lies 50 forms deep already") : base == id ? TEXT("itself") : TEXT("{0}, which builds on {1}");
            SAY(model->messages, FORM_CIRCLE, base_node->span, parts[1], text_fill(model->arena, pattern, parts, 2));
        } else {
            inherit(model, id, base);
        }
    }
    for (NodeId member = node->b; member != 0; member = tree_node(model->tree, member)->next) {
        switch ((NodeKind)tree_node(model->tree, member)->kind) {
        case NODE_GIVEN:
        case NODE_MAYBE:
        case NODE_LET: resolve_member(model, id, member); break;
        case NODE_RULE: resolve_rule(model, id, member, false); break;
        case NODE_CAUTION: resolve_rule(model, id, member, true); break;
        default: break;
        }
    }
    model->forms.at[id].state = FORM_RESOLVED;
    return &model->forms.at[id];
}
