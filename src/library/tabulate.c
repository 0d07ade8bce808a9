#include "library/tabulate.h"

#include <string.h>

#include "syntax/written.h"
#include "text/csv.h"

typedef VECTOR(NodeId) CardVector;

/* The cards of one form. */
typedef struct Group {
    Symbol form;
    FormId id;
    CardVector cards;
} Group;

typedef struct ColumnPlan {
    const Member *member; /* NULL: no card states it */
    bool is_text;
    bool stated;
    Symbol unit; /* of the head; 0: none */
    Text written_unit;
    bool point;
} ColumnPlan;

typedef struct Tabulator {
    Arena *arena;
    Arena *cells; /* for one card, cleared again and again */
    Model *model;
    Tree *tree;
    Tabulated *result;
    VECTOR(Group) groups;
    Map group_of; /* symbol of a form -> index + 1 */
} Tabulator;

/* ---- cells ------------------------------------------------------------------------------------------------------- */

/* A text stands in its cell as it is, if it cannot be taken for something else there. */
static Text text_cell(const Tabulator *tabulator, NodeId value) {
    Arena *arena = tabulator->cells;
    const Node *node = tree_node(tabulator->tree, value);
    if (node->kind == NODE_TEXT && !(node->flags & NODE_IN_PARENTHESES)) {
        Text text = tree_text(tabulator->tree, arena, value), trimmed = text_trim(text);
        bool plain = trimmed.length > 0 && trimmed.at[0] != '"' && trimmed.at[0] != '=';
        return plain ? text : written_text(arena, text);
    }
    Text written = written_value(tabulator->tree, arena, value);
    if (written.length == 0 || written.at[0] == '"') return written;
    return text_fill(arena, TEXT("={0}"), &written, 1);
}

static Text cell_of(const Tabulator *tabulator, const ColumnPlan *column, NodeId value) {
    Text text;
    if (column->unit && written_under_unit(tabulator->tree, tabulator->cells, value, column->unit, column->point, &text)) return text;
    return column->is_text ? text_cell(tabulator, value) : written_value(tabulator->tree, tabulator->cells, value);
}

/* ---- columns ----------------------------------------------------------------------------------------------------- */

/* If the unit of any number can head the column, it is that of the first. 0: the value begins with none. */
static NodeId first_number(const Tree *tree, NodeId value) {
    const Node *node = tree_node(tree, value);
    while (node->kind == NODE_LIST || node->kind == NODE_BOUNDED) node = tree_node(tree, value = node->a);
    return node->kind == NODE_NUMBER ? value : 0;
}

static bool is_point(const Tabulator *tabulator, Symbol unit) {
    UnitId id = vocabulary_known_unit(tabulator->model->vocabulary, unit);
    return id != 0 && unit_of(tabulator->model->vocabulary, id)->is_point;
}

/* False after reporting what could not come back. */
static bool plan_field(Tabulator *tabulator, FormId id, const Node *field, ColumnPlan *columns, NodeId *stated) {
    Model *model = tabulator->model;
    const Form *form = form_of(model, id);
    uint32_t slot = form_slot(model, id, field->name);
    Text name = model_name(model, field->name);
    if (slot == UINT32_MAX) {
        SAY(model->messages, UNKNOWN_FIELD, field->span, model_name(model, form->name), name, form_advice(model, form, field->name));
        return false;
    }
    const Member *member = &form->members.at[slot];
    if (member->class == NODE_LET) {
        SAY(model->messages, DERIVED_STATED, field->span, name, model_name(model, form->name));
        return false;
    }
    if (stated[slot] != 0) {
        SAY(model->messages, FIELD_TWICE, field->span, name, message_place(model->messages, tree_node(model->tree, stated[slot])->span.start));
        return false;
    }
    stated[slot] = field->a;
    ColumnPlan *column = &columns[slot];
    NodeId number = first_number(tabulator->tree, field->a);
    if (!column->stated) {
        *column = (ColumnPlan){.member = member, .stated = true, .is_text = member->type.class == TYPE_TEXT};
        if (member->type.class == TYPE_QUANTITY && number != 0) {
            column->unit = tree_node(tabulator->tree, number)->name;
            column->written_unit = written_unit(tabulator->tree, tabulator->arena, number);
            column->point = column->unit != 0 && is_point(tabulator, column->unit);
        }
    }
    Text under;
    if (column->unit && !written_under_unit(tabulator->tree, tabulator->cells, field->a, column->unit, column->point, &under)) column->unit = 0;
    return true;
}

static void add_head(const Tabulator *tabulator, TextBuilder *out, const ColumnPlan *column) {
    const Model *model = tabulator->model;
    Text parts[3] = {model_name(model, column->member->name), column->written_unit, {0}};
    if (text_is(parts[0], "name") || text_is(parts[0], "title")) parts[2] = TEXT(".");
    csv_add(out, text_fill(tabulator->arena, column->unit ? TEXT("{2}{0} [{1}]") : TEXT("{2}{0}"), parts, 3));
}

/* ---- a table ----------------------------------------------------------------------------------------------------- */

/* The values of a card, by slot. */
static void find_values(const Tabulator *tabulator, FormId form, NodeId card, NodeId *stated, uint32_t slots) {
    memset(stated, 0, slots * sizeof *stated);
    for (NodeId id = tree_fields(tabulator->tree, card); id != 0; id = tree_node(tabulator->tree, id)->next) {
        const Node *field = tree_node(tabulator->tree, id);
        uint32_t slot = field->kind == NODE_FIELD ? form_slot(tabulator->model, form, field->name) : UINT32_MAX;
        if (slot < slots) stated[slot] = field->a;
    }
}

static void add_card(const Tabulator *tabulator, TextBuilder *out, const ColumnPlan *columns, const NodeId *stated, uint32_t slots, NodeId card, bool titled) {
    const Tree *tree = tabulator->tree;
    const Model *model = tabulator->model;
    csv_add(out, model_name(model, tree_node(tree, card)->name));
    if (titled) {
        text_add_char(out, ',');
        csv_add(out, tree_title(tree, tabulator->cells, card));
    }
    for (uint32_t i = 0; i < slots; i++) {
        if (!columns[i].stated) continue;
        text_add_char(out, ',');
        if (stated[i] != 0) csv_add(out, cell_of(tabulator, &columns[i], stated[i]));
    }
    text_add_char(out, '\n');
}

static void add_table(Tabulator *tabulator, const Group *group) {
    Model *model = tabulator->model;
    uint32_t slots = form_of(model, group->id)->members.count;
    ColumnPlan *columns = ARENA_ARRAY(tabulator->arena, ColumnPlan, slots);
    NodeId *stated = ARENA_ARRAY(tabulator->arena, NodeId, slots);
    bool titled = false;
    for (uint32_t i = 0; i < group->cards.count; i++) {
        memset(stated, 0, slots * sizeof *stated);
        titled = titled || tree_title_node(tabulator->tree, group->cards.at[i]) != 0;
        for (NodeId id = tree_fields(tabulator->tree, group->cards.at[i]); id != 0; id = tree_node(tabulator->tree, id)->next) {
            const Node *field = tree_node(tabulator->tree, id);
            if (field->kind == NODE_FIELD) plan_field(tabulator, group->id, field, columns, stated);
        }
        arena_clear(tabulator->cells);
    }
    TabulatedTable table = {.form = model_name(model, group->form), .cards = group->cards.count, .columns = 1 + titled};
    TextBuilder out = text_builder(tabulator->arena);
    text_add_string(&out, titled ? "name,title" : "name");
    for (uint32_t i = 0; i < slots; i++) {
        if (!columns[i].stated) continue;
        table.columns++;
        text_add_char(&out, ',');
        add_head(tabulator, &out, &columns[i]);
    }
    text_add_char(&out, '\n');
    for (uint32_t i = 0; i < group->cards.count; i++) {
        find_values(tabulator, group->id, group->cards.at[i], stated, slots);
        add_card(tabulator, &out, columns, stated, slots, group->cards.at[i], titled);
        arena_clear(tabulator->cells);
    }
    table.bytes = text_built(&out);
    VECTOR_PUSH(tabulator->arena, &tabulator->result->tables, table);
}

/* ---- all files --------------------------------------------------------------------------------------------------- */

static void take_card(Tabulator *tabulator, NodeId card) {
    Model *model = tabulator->model;
    const Node *form = tree_node(tabulator->tree, tree_node(tabulator->tree, card)->a);
    uint32_t index = map_get(&tabulator->group_of, form->name, 0);
    if (index == 0) {
        Group group = {.form = form->name, .id = model_form(model, form->name)};
        VECTOR_PUSH(tabulator->arena, &tabulator->groups, group);
        index = tabulator->groups.count;
        map_set(&tabulator->group_of, form->name, index);
        if (group.id != 0) form_of(model, group.id);
    }
    if (tabulator->groups.at[index - 1].id == 0) {
        Nearest nearest = nearest_to(model->symbols, form->name);
        for (uint32_t i = 1; i < model->forms.count; i++) nearest_try(&nearest, model->forms.at[i].name);
        SAY(model->messages, UNKNOWN_FORM, form->span, model_name(model, form->name), model_advice(model, form->name, nearest_found(&nearest)));
    }
    VECTOR_PUSH(tabulator->arena, &tabulator->groups.at[index - 1].cards, card);
}

static void take_use(Tabulator *tabulator, const Node *use) {
    const Loaded *loaded = tabulator->model->loaded;
    if (use->b != 0 || use->a == 0) return;
    TabulatedUse found = {.path = tree_text(tabulator->tree, tabulator->arena, use->a)};
    for (uint32_t i = 0; i < tabulator->result->uses.count; i++) {
        if (text_equal(tabulator->result->uses.at[i].path, found.path)) return;
    }
    Text parts[1] = {found.path}, standard = text_fill(tabulator->arena, TEXT("stdlib/{0}"), parts, 1), below = text_fill(tabulator->arena, TEXT("/{0}"), parts, 1);
    for (uint32_t i = 0; i < loaded->files.count; i++) {
        const Source *source = loaded->files.at[i].source;
        if (source->origin == SOURCE_STANDARD && text_equal(source->path, standard)) found.standard = true;
        if (source->origin == SOURCE_NAMED && (text_equal(source->path, found.path) || text_ends(source->path, below))) return;
    }
    VECTOR_PUSH(tabulator->arena, &tabulator->result->uses, found);
}

static void take_rest(Tabulator *tabulator, NodeKind kind) {
    static const TabulatedRest words[NODE_KIND_COUNT] = {
        [NODE_FORM] = {"forms", "form", 0},       [NODE_CHOICE] = {"choices", "choice", 0},  [NODE_KIND] = {"kinds", "kind", 0},
        [NODE_UNIT] = {"units", "unit", 0},       [NODE_PREFIX] = {"prefixes", "prefix", 0}, [NODE_CYCLE] = {"cycles", "cycle", 0},
        [NODE_SOURCE] = {"sources", "source", 0}, [NODE_REQUIREMENT] = {"requirements", "requirement", 0},
        [NODE_CONCESSION] = {"concessions", "concession", 0},
    };
    if (words[kind].word == NULL) return;
    for (uint32_t i = 0; i < tabulator->result->rest.count; i++) {
        TabulatedRest *rest = &tabulator->result->rest.at[i];
        if (rest->word != words[kind].word) continue;
        rest->count++;
        return;
    }
    VECTOR_PUSH(tabulator->arena, &tabulator->result->rest, (TabulatedRest){words[kind].words, words[kind].word, 1});
}

Tabulated *tabulate_cards(Arena *arena, Model *model) {
    Tabulator tabulator = {.arena = arena, .cells = arena_open_beside(arena), .model = model, .tree = model->tree, .result = ARENA_NEW(arena, Tabulated), .group_of = map_open(arena)};
    for (uint32_t i = 0; i < model->loaded->files.count; i++) {
        const LoadedFile *file = &model->loaded->files.at[i];
        if (file->source->origin != SOURCE_NAMED) continue;
        for (NodeId item = file->first_item; item != 0; item = tree_node(model->tree, item)->next) {
            const Node *node = tree_node(model->tree, item);
            if (node->kind == NODE_FILLED) take_card(&tabulator, item);
            else if (node->kind == NODE_USE) take_use(&tabulator, node);
            else take_rest(&tabulator, (NodeKind)node->kind);
        }
    }
    for (uint32_t i = 0; i < tabulator.groups.count; i++) {
        if (tabulator.groups.at[i].id != 0) add_table(&tabulator, &tabulator.groups.at[i]);
    }
    arena_close(tabulator.cells);
    return tabulator.result;
}
