#include "meaning/table.h"

#include "syntax/cell.h"
#include "text/csv.h"
#include "text/utf8.h"

typedef enum ColumnUse {
    COLUMN_LEFT_OUT, /* there is no such field, or it is there already; said */
    COLUMN_NAME,
    COLUMN_TITLE,
    COLUMN_FIELD,
    COLUMN_TEXT, /* a field that holds texts: its cells are texts as they stand */
    COLUMN_BROKEN /* of a field, but its unit is wrong; said */
} ColumnUse;

typedef struct Column {
    ColumnUse use;
    Symbol field;
    Symbol unit;      /* as in a NUMBER; 0: none */
    Text written_unit;
    Symbol tolerance; /* the unit of a tolerance without one: of °C it is K */
    Type type;
    Text head;
    Span span;
} Column;

typedef struct Table {
    Model *model;
    Tree *tree;
    LoadedFile *file;
    FormId form;
    NodeId form_name;
    Column *columns;
    uint32_t column_count, name_column, title_column;
    CellReader *cells;
    uint32_t row;    /* as spreadsheets count: the head is row 1 */
    Symbol card;     /* of this row */
    uint32_t faults; /* in rows */
    bool unread;     /* a column was left out: what seems to be missing in a card may have been there */
    bool lacking;    /* no column holds what every card has to say; said */
    const uint32_t *first_of_slot; /* of each field, the column that holds it; UINT32_MAX: none */
    NodeId last;
    bool packs; /* see tree_packs */
} Table;

/* ---- places ------------------------------------------------------------------------------------------------------ */

Text table_cell_name(Arena *arena, uint32_t column, uint32_t row) {
    char letters[8];
    size_t count = sizeof letters;
    for (uint32_t left = column + 1; left > 0; left = (left - 1) / 26) letters[--count] = (char)('A' + (left - 1) % 26);
    TextBuilder out = text_builder(arena);
    text_add(&out, (Text){letters + count, sizeof letters - count});
    if (row > 0) text_add_count(&out, row);
    return text_built(&out);
}

static Text column_name(const Table *table, uint32_t column) { return table_cell_name(table->model->arena, column, 0); }
static Text cell_name_here(const Table *table, uint32_t column) { return table_cell_name(table->model->arena, column, table->row); }

static Text count_text(const Table *table, uint32_t count, const char *word) {
    TextBuilder out = text_builder(table->model->arena);
    text_add_count(&out, count);
    text_add_string(&out, word);
    if (*word && count != 1) text_add_char(&out, 's');
    return text_built(&out);
}

/* Messages that were said since, of other stages too, say which cell they are about. */
static void add_cell(Table *table, uint32_t said, uint32_t column) {
    Messages *messages = table->model->messages;
    for (uint32_t i = said; i < messages->list.count; i++) {
        Message *message = &messages->list.at[i];
        const Column *of = &table->columns[column];
        Text parts[4] = {message->sentence, cell_name_here(table, column), of->head, model_name(table->model, table->card)};
        Text pattern = of->use == COLUMN_NAME ? TEXT("{0}, in cell {1}")
                       : table->row == 1      ? TEXT("{0}, in the head of column {1}")
                                              : TEXT("{0}, in cell {1}: {2} of {3}");
        if (table->row == 1) parts[1] = column_name(table, column);
        message->sentence = text_fill(table->model->arena, pattern, parts, 4);
    }
}

/* ---- the head ---------------------------------------------------------------------------------------------------- */

static void leave_out(Table *table, Column *column, ColumnUse use) {
    column->use = use;
    table->unread = true;
}

/* Parts `field [unit]`; false after reporting. */
static bool read_head(Table *table, uint32_t number, Text *unit) {
    Column *column = &table->columns[number];
    Text text = text_trim(column->head), bad;
    size_t open = 0;
    while (open < text.length && text.at[open] != '[') open++;
    bool bracket = open < text.length;
    Text field = text_trim(text_slice(text, 0, open));
    *unit = bracket ? text_trim(text_slice(text, open + 1, text.length - 1)) : (Text){0};
    const char *fault = text.length == 0 ? "it is empty" : bracket && (text.at[text.length - 1] != ']' || unit->length == 0) ? "its unit does not stand in brackets" : NULL;
    column->head = field;
    bool own = !text_starts(field, TEXT("."));
    if (own && text_is(field, "name")) column->use = COLUMN_NAME;
    else if (own && text_is(field, "title")) column->use = COLUMN_TITLE;
    else {
        column->field = fault ? 0 : cell_name(table->tree, own ? field : text_slice(field, 1, field.length), &bad);
        if (column->field == 0 && fault == NULL) fault = "it is no name";
        column->use = COLUMN_FIELD;
    }
    if (fault == NULL && bracket && column->use != COLUMN_FIELD) fault = "it has a unit";
    if (fault == NULL) return true;
    SAY(table->model->messages, TABLE_HEAD, column->span, column_name(table, number), text_from(fault));
    leave_out(table, column, COLUMN_LEFT_OUT);
    return false;
}

/* Whether another column before this one says the same. */
static bool is_twice(Table *table, uint32_t number, uint32_t *first) {
    Column *column = &table->columns[number];
    if (*first == UINT32_MAX) {
        *first = number;
        return false;
    }
    SAY(table->model->messages, TABLE_COLUMN_TWICE, column->span, column_name(table, *first), column_name(table, number), column->head);
    column->use = COLUMN_LEFT_OUT;
    return true;
}

static void say_unit(Table *table, uint32_t number, Text is) {
    Model *model = table->model;
    Column *column = &table->columns[number];
    Text due = type_due(model, model->arena, column->type, model_name(model, column->field)), advice = TEXT("Leave the unit out.");
    if (column->type.class == TYPE_QUANTITY) {
        const Kind *kind = kind_of(model->vocabulary, column->type.kind);
        Text parts[2] = {column->head, model_name(model, unit_of(model->vocabulary, kind_usual_unit(kind))->text)};
        advice = text_fill(model->arena, parts[1].length ? TEXT("Right would be, for example: {0} [{1}]") : TEXT("Leave the unit out."), parts, 2);
    }
    SAY(model->messages, TABLE_UNIT, column->span, column_name(table, number), is, due, advice);
    leave_out(table, column, COLUMN_BROKEN);
}

/* The unit of a tolerance without one: of a temperature it is a difference. */
static Symbol tolerance_unit(Model *model, UnitId unit) {
    const Unit *record = unit_of(model->vocabulary, unit);
    return record->is_point && record->factor == 1 ? symbol_of(model->symbols, TEXT("K")) : record->text;
}

static void read_unit(Table *table, uint32_t number, Text text) {
    Model *model = table->model;
    Column *column = &table->columns[number];
    uint32_t said = model->messages->list.count;
    if (text.length > SYNTAX_NAME_LIMIT) text = text_slice(text, 0, SYNTAX_NAME_LIMIT);
    Symbol symbol = symbol_of(model->symbols, utf8_normal(model->arena, text));
    UnitId unit = vocabulary_unit(model->vocabulary, symbol, column->span);
    add_cell(table, said, number);
    if (unit == 0) {
        leave_out(table, column, COLUMN_BROKEN);
        return;
    }
    column->unit = symbol;
    column->written_unit = text_copy(model->arena, text);
    column->tolerance = tolerance_unit(model, unit);
    if (column->type.class == TYPE_BROKEN) return;
    bool fits = column->type.class == TYPE_QUANTITY && measure_fits(model->vocabulary, measure_of_unit(model->vocabulary, unit), column->type.kind) == FIT_YES;
    if (!fits) say_unit(table, number, text_fill(model->arena, TEXT("in {0}"), &text, 1));
}

static void read_column(Table *table, uint32_t number, uint32_t *first_of_slot) {
    Model *model = table->model;
    Column *column = &table->columns[number];
    Text unit;
    if (!read_head(table, number, &unit)) return;
    if (column->use == COLUMN_NAME) {
        is_twice(table, number, &table->name_column);
        return;
    }
    if (column->use == COLUMN_TITLE) {
        is_twice(table, number, &table->title_column);
        return;
    }
    const Form *form = form_of(model, table->form);
    uint32_t slot = form_slot(model, table->form, column->field);
    if (slot == UINT32_MAX) {
        leave_out(table, column, COLUMN_LEFT_OUT);
        if (!form_is_whole(model, table->form)) return; /* it may have been there */
        SAY(model->messages, TABLE_COLUMN, column->span, column_name(table, number), column->head, model_name(model, form->name),
            form_advice(model, form, column->field));
        return;
    }
    if (form->members.at[slot].class == NODE_LET) {
        column->use = COLUMN_LEFT_OUT;
        SAY(model->messages, TABLE_DERIVED, column->span, column_name(table, number), column->head, model_name(model, form->name));
        return;
    }
    if (is_twice(table, number, &first_of_slot[slot])) return;
    column->type = form->members.at[slot].type;
    if (column->type.class == TYPE_TEXT) column->use = COLUMN_TEXT;
    if (unit.length > 0) read_unit(table, number, unit);
}

static bool is_named(const CsvRecord *record) {
    for (uint32_t i = 0; i < record->count; i++) {
        Text head = text_trim(record->fields[i].text);
        bool torn = head.length > 4 && head.at[4] == '\t';
        if (!torn && text_starts(head, TEXT("name")) && text_is(text_trim(text_slice(head, 0, 5)), "name")) return true;
    }
    return false;
}

/* What to do about a head without names: perhaps the whole of it is one cell. */
static Text advice_on_names(const CsvRecord *record) {
    Text head = record->fields[0].text;
    bool semicolons = false, tabs = false;
    for (size_t i = 0; record->count == 1 && i < head.length; i++) {
        semicolons = semicolons || head.at[i] == ';';
        tabs = tabs || head.at[i] == '\t';
    }
    if (tabs) return TEXT("The cells seem to be parted by tabs: save the table with commas between them.");
    if (semicolons) return TEXT("The cells seem to be parted by semicolons: save the table with commas between them, and with decimal points.");
    return TEXT("Call the column that holds the names of the things: name");
}

/* What every card has to say and no column holds, is said once, and not of each row. In a head with mistakes it may be one of
 * them. */
static void say_lacking(Table *table) {
    Model *model = table->model;
    const Form *form = form_of(model, table->form);
    if (table->unread || !form_is_whole(model, table->form)) return;
    for (uint32_t slot = 0; slot < form->members.count; slot++) {
        const Member *member = &form->members.at[slot];
        if (member->class != NODE_GIVEN || member->formula != 0 || table->first_of_slot[slot] != UINT32_MAX) continue;
        table->lacking = true;
        Text name = model_name(model, member->name);
        SAY(model->messages, TABLE_LACKING, table->columns[0].span, name, type_which(model, model->arena, member->type, name),
            model_name(model, form->name), type_example(model, model->arena, member->type, TEXT("1")));
    }
}

static bool read_columns(Table *table, const CsvRecord *record) {
    Model *model = table->model;
    Source *source = table->file->source;
    uint32_t slots = form_of(model, table->form)->members.count;
    uint32_t *first_of_slot = ARENA_ARRAY(model->arena, uint32_t, slots);
    for (uint32_t i = 0; i < slots; i++) first_of_slot[i] = UINT32_MAX;
    table->name_column = table->title_column = UINT32_MAX;
    table->column_count = record->count;
    table->columns = ARENA_ARRAY(model->arena, Column, record->count);
    table->row = 1;
    if (!is_named(record)) {
        SAY(model->messages, TABLE_NO_NAMES, record->span, advice_on_names(record));
        return false;
    }
    Text *units = ARENA_ARRAY(model->arena, Text, record->count), *tolerances = ARENA_ARRAY(model->arena, Text, record->count);
    for (uint32_t i = 0; i < record->count; i++) {
        table->columns[i].head = text_copy(model->arena, record->fields[i].text);
        table->columns[i].span = record->fields[i].span;
        read_column(table, i, first_of_slot);
        if (table->columns[i].unit == 0) continue;
        units[i] = table->columns[i].written_unit;
        tolerances[i] = table->columns[i].tolerance == table->columns[i].unit ? units[i] : model_name(model, table->columns[i].tolerance);
    }
    table->first_of_slot = first_of_slot;
    source->table = ARENA_NEW(model->arena, SourceTable);
    source->table->units = units;
    source->table->tolerances = tolerances;
    source->table->column_count = record->count;
    return table->name_column != UINT32_MAX;
}

/* ---- cells ------------------------------------------------------------------------------------------------------- */

/* What is in the quotes of the table, and without blanks around it; *span: where it stands. */
static Text cell_text(const CsvField *field, Span *span) {
    const char *at = field->text.at;
    size_t start = 0, end = field->text.length;
    bool quoted = field->span.end - field->span.start > field->text.length;
    while (start < end && (at[start] == ' ' || at[start] == '\t' || at[start] == '\r' || at[start] == '\n')) start++;
    while (end > start && (at[end - 1] == ' ' || at[end - 1] == '\t' || at[end - 1] == '\r' || at[end - 1] == '\n')) end--;
    span->start = field->span.start + (uint32_t)start + quoted;
    span->end = field->span.end - (uint32_t)(field->text.length - end) - quoted;
    return (Text){at + start, end - start};
}

static void add_unit(Tree *tree, NodeId value, const Column *column) {
    for (NodeId id = value; id != 0; id = tree_node(tree, id)->next) {
        Node *node = tree_node(tree, id);
        if (node->kind == NODE_NUMBER && node->name == 0) node->name = column->unit;
        if (node->kind == NODE_LIST) add_unit(tree, node->a, column);
        if (node->kind != NODE_BOUNDED) continue;
        bool between = node->op == BOUNDS_BETWEEN;
        NodeId parts[3] = {node->a, node->b, node->c};
        for (int i = 0; i < 3; i++) {
            Node *part = parts[i] ? tree_node(tree, parts[i]) : NULL;
            if (part && part->name == 0) part->name = i == 0 || between ? column->unit : column->tolerance;
        }
    }
}

/* On one line, and not too long. */
static Text shown(const Table *table, Text text) {
    TextBuilder out = text_builder(table->model->arena);
    for (size_t i = 0; i < text.length; i++) {
        bool blank = text.at[i] == '\n' || text.at[i] == '\r' || text.at[i] == ' ';
        if (!blank) text_add_char(&out, text.at[i]);
        else if (out.length > 0 && out.at[out.length - 1] != ' ') text_add_char(&out, ' ');
    }
    Text line = utf8_visible(table->model->arena, text_built(&out)), first = utf8_first(line, 60);
    return first.length < line.length ? text_fill(table->model->arena, TEXT("{0}…"), &first, 1) : line;
}

static NodeId read_language(Table *table, uint32_t number, Text text, Span span) {
    Column *column = &table->columns[number];
    Model *model = table->model;
    uint32_t said = model->messages->list.count;
    bool fault;
    NodeId value = cell_read(table->cells, text, span, &fault);
    if (value == 0 && !fault) {
        Text example = {0};
        if (column->unit) example = TEXT("a number, such as 8.2 or 8.2 ± 8 %");
        else if (!column->type.several && column->type.class != TYPE_BROKEN) example = type_example(model, model->arena, column->type, TEXT("1"));
        SAY(model->messages, TABLE_CELL, span, shown(table, text), example.length ? example : TEXT("a value as in a part card"));
        fault = true;
    }
    if (fault) add_cell(table, said, number);
    table->faults += fault;
    if (value != 0 && column->unit) add_unit(table->tree, value, column);
    return value;
}

/* A number without a unit where one is due: said once, of the column. */
static bool lacks_unit(const Table *table, const Column *column) {
    const Model *model = table->model;
    if (column->unit || column->type.class != TYPE_QUANTITY) return false;
    return measure_fits(model->vocabulary, measure_of_unit(model->vocabulary, 0), column->type.kind) != FIT_YES;
}

static NodeId read_value(Table *table, uint32_t number, const CsvField *field) {
    Column *column = &table->columns[number];
    Tree *tree = table->tree;
    Span span;
    Text text = cell_text(field, &span);
    if (text.length == 0) return 0;
    NodeId value = 0;
    double plain;
    if (column->use == COLUMN_TEXT && text.at[0] != '"' && text.at[0] != '=') {
        bool quoted = field->span.end - field->span.start > field->text.length;
        value = tree_add(tree, NODE_TEXT, quoted ? field->span : span);
        tree_node(tree, value)->op = TEXT_CELL;
    } else if (column->use == COLUMN_TEXT && text.at[0] == '=') {
        value = read_language(table, number, text_slice(text, 1, text.length), (Span){span.start + 1, span.end});
    } else if (column->use == COLUMN_FIELD && cell_number(text, &plain)) {
        if (lacks_unit(table, column)) say_unit(table, number, TEXT("without a unit"));
        value = tree_add(tree, NODE_NUMBER, span);
        tree_node(tree, value)->number = plain;
        tree_node(tree, value)->name = column->unit;
    } else if (column->use != COLUMN_BROKEN) {
        value = read_language(table, number, text, span);
    }
    if (value == 0 || column->use == COLUMN_BROKEN) value = tree_add(tree, NODE_BROKEN, span);
    NodeId id = tree_add(tree, NODE_FIELD, span);
    tree_node(tree, id)->name = column->field;
    tree_node(tree, id)->a = value;
    return id;
}

/* ---- rows -------------------------------------------------------------------------------------------------------- */

static NodeId read_title(const Table *table, const CsvField *field) {
    Span span;
    Text text = cell_text(field, &span);
    if (text.length == 0) return 0;
    if (field->span.end - field->span.start > field->text.length) span = field->span;
    NodeId bytes = tree_add(table->tree, NODE_TEXT, span);
    tree_node(table->tree, bytes)->op = TEXT_CELL;
    if (table->packs) return bytes;
    NodeId title = tree_add(table->tree, NODE_OPTION, span);
    tree_node(table->tree, title)->op = OPTION_TITLE;
    tree_node(table->tree, title)->a = bytes;
    return title;
}

/* The symbol of the row's name; 0 after saying what is wrong with it. */
static Symbol read_name(Table *table, const CsvRecord *record, bool fits, Span *span) {
    Model *model = table->model;
    Text form = model_name(model, form_of(model, table->form)->name), bad, advice = {0};
    if (record->count <= table->name_column) return 0;
    const CsvField *field = &record->fields[table->name_column];
    Text text = cell_text(field, span);
    Symbol name = cell_name(table->tree, text, &bad);
    if (name != 0 || !fits) return name; /* where a cell is missing, it may be this one */
    table->faults++;
    if (text.length == 0) {
        SAY(model->messages, TABLE_NAME_EMPTY, record->span, count_text(table, table->row, ""), form, cell_name_here(table, table->name_column));
    } else {
        bad = text_is(bad, " ") ? TEXT("a space") : utf8_visible(model->arena, bad);
        advice = TEXT("A name has letters, digits, _ and inner hyphens, begins with a letter, and is no reserved word.");
        Text parts[2] = {advice, bad};
        if (bad.length > 0) advice = text_fill(model->arena, TEXT("{0} It cannot hold {1}."), parts, 2);
        SAY(model->messages, TABLE_NAME, *span, utf8_first(utf8_visible(model->arena, text), 60), form, cell_name_here(table, table->name_column), advice);
    }
    return 0;
}

static void read_cells(Table *table, const CsvRecord *record, NodeId card) {
    NodeId last = 0;
    for (uint32_t i = 0; i < record->count; i++) {
        ColumnUse use = table->columns[i].use;
        if (i == table->title_column) tree_node(table->tree, card)->c = read_title(table, &record->fields[i]);
        if (use != COLUMN_FIELD && use != COLUMN_TEXT && use != COLUMN_BROKEN) continue;
        NodeId field = read_value(table, i, &record->fields[i]);
        if (field == 0) continue;
        NodeId run = table->packs ? tree_pack(table->tree, last, field) : 0;
        if (run != 0 && run == last) continue;
        if (run != 0) field = run;
        if (last) tree_node(table->tree, last)->next = field;
        else tree_node(table->tree, card)->b = field;
        last = field;
    }
}

static void read_row(Table *table, const CsvRecord *record) {
    Model *model = table->model;
    Span span = record->span;
    bool fits = record->count == table->column_count;
    table->card = read_name(table, record, fits, &span);
    VECTOR_PUSH(model->arena, &table->file->source->table->rows, record->span.start);
    if (!fits) {
        Text name = model_name(model, table->card);
        table->faults++;
        SAY(model->messages, TABLE_WIDTH, record->span, count_text(table, table->row, ""),
            table->card ? text_fill(model->arena, TEXT(" ({0})"), &name, 1) : name, count_text(table, record->count, " cell"),
            count_text(table, table->column_count, ""));
    }
    if (table->card == 0) {
        model->unread = true; /* what nobody has declared may be this */
        return;
    }
    NodeId card = tree_add(table->tree, NODE_FILLED, span);
    tree_node(table->tree, card)->name = table->card;
    tree_node(table->tree, card)->a = table->form_name;
    if (fits) read_cells(table, record, card);
    if (!fits || table->unread || table->lacking) tree_node(table->tree, card)->flags |= NODE_INCOMPLETE;
    if (table->last) tree_node(table->tree, table->last)->next = card;
    else table->file->first_item = card;
    table->last = card;
    uint32_t said = model->messages->list.count;
    if (!model_declare(model, card)) add_cell(table, said, table->name_column);
}

/* ---- a table ----------------------------------------------------------------------------------------------------- */

static bool find_form(Table *table) {
    Model *model = table->model;
    const Node *name = tree_node(model->tree, table->form_name);
    table->form = model_form(model, name->name);
    if (table->form != 0) {
        form_of(model, table->form);
        return true;
    }
    Nearest nearest = nearest_to(model->symbols, name->name);
    for (uint32_t i = 1; i < model->forms.count; i++) nearest_try(&nearest, model->forms.at[i].name);
    SAY(model->messages, UNKNOWN_FORM, name->span, model_name(model, name->name), model_advice(model, name->name, nearest_found(&nearest)));
    return false;
}

static void say_torn(Table *table, CsvFault fault, Span span) {
    Text row = count_text(table, table->row, "");
    table->faults++;
    table->model->unread = true;
    SAY(table->model->messages, DATA_TORN, span,
        text_fill(table->model->arena, fault == CSV_UNCLOSED ? TEXT("this quoted cell never ends, in row {0}") : TEXT("a quote stands where none can, in row {0}"), &row, 1),
        fault == CSV_UNCLOSED ? TEXT("Close it; a quote within a quoted cell is doubled.")
                              : TEXT("A cell that has a quote in it stands in quotes, and the quote is doubled: \"5 3/4\"\"\""));
}

static bool read_first_row(Table *table, CsvReader *reader) {
    Model *model = table->model;
    Source *source = table->file->source;
    CsvRecord record;
    CsvFault fault;
    Span span, use = tree_node(model->tree, tree_node(model->tree, table->file->use)->a)->span;
    if (csv_next(reader, &record, &fault, &span)) {
        if (record.count <= TABLE_COLUMN_LIMIT) return read_columns(table, &record);
        SAY(model->messages, TABLE_SIZE, use, source->path, TEXT("has too many columns"), count_text(table, TABLE_COLUMN_LIMIT, ""));
    } else if (fault != CSV_FINE) {
        table->row = 1;
        say_torn(table, fault, span);
    } else {
        SAY(model->messages, TABLE_SIZE, use, source->path, TEXT("is empty"), count_text(table, TABLE_COLUMN_LIMIT, ""));
    }
    return false;
}

void table_read(Model *model, LoadedFile *file) {
    const Node *use = tree_node(model->tree, file->use);
    Table table = {.model = model, .tree = model->tree, .file = file, .form_name = use->b, .packs = tree_packs(model->tree, file->source)};
    Arena *scratch = arena_open_beside(model->arena);
    CsvReader *reader = csv_open(model->arena, scratch, file->source);
    CsvRecord record;
    CsvFault fault = CSV_FINE;
    Span span = {0, 0};
    if (find_form(&table) && read_first_row(&table, reader)) {
        table.cells = cell_open(model->tree, file->source, model->messages);
        while (table.faults < SYNTAX_ERROR_LIMIT && fault != CSV_UNCLOSED) {
            bool read = csv_next(reader, &record, &fault, &span);
            if (!read && fault == CSV_FINE) break;
            table.row++;
            if (!read) say_torn(&table, fault, span);
            else if (!csv_is_empty(&record)) {
                if (file->source->table->rows.count == 0) say_lacking(&table);
                read_row(&table, &record);
            }
        }
        Text most = count_text(&table, SYNTAX_ERROR_LIMIT, "");
        if (table.faults >= SYNTAX_ERROR_LIMIT) SAY(model->messages, TOO_MANY_ERRORS, record.span, most, file->source->path);
        model->unread = model->unread || table.faults >= SYNTAX_ERROR_LIMIT;
    } else {
        model->unread = true;
    }
    arena_close(scratch);
}
