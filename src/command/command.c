#include "command/command.h"

#include "base/date.h"
#include "command/pairings.h"
#include "command/requote.h"
#include "command/shortlist.h"
#include "command/tabulate.h"
#include "pipeline.h"
#include "report/audit.h"
#include "report/report.h"

typedef enum CommandId {
    COMMAND_NONE,
#define COMMAND(id, name, follows, purpose) COMMAND_##id,
#include "command/command.def"
#undef COMMAND
    COMMAND_COUNT
} CommandId;

typedef struct CommandRow {
    const char *name, *follows, *purpose;
} CommandRow;

static const CommandRow command_rows[] = {
    {"", "", ""},
#define COMMAND(id, name, follows, purpose) {name, follows, purpose},
#include "command/command.def"
#undef COMMAND
};

typedef enum ChoiceKind {
    CHOICE_NONE,
#define CHOICE(id, name, value, commands, purpose) CHOICE_##id,
#include "command/option.def"
#undef CHOICE
    CHOICE_COUNT
} ChoiceKind;

typedef struct ChoiceRow {
    const char *name, *value, *commands, *purpose;
} ChoiceRow;

static const ChoiceRow choice_rows[] = {
    {"", "", "", ""},
#define CHOICE(id, name, value, commands, purpose) {name, value, commands, purpose},
#include "command/option.def"
#undef CHOICE
};

typedef VECTOR(Text) TextList;

typedef struct Request {
    CommandId command;
    TextList files, libraries;
    VerdictPolicy policy;
    Text output;
    JudgeOptions judging;
    const ReportFormat *format;
    Stage dump;
    PlanRequest plan;
    ShortlistOrder choice;
    AuditRequest audit;
    enum { TABLE_UNSAID, TABLE_TEXT, TABLE_CSV } table; /* shape of an audit */
    PairingsAsked pairings;
} Request;

typedef struct Session {
    Arena *arena;
    const World *world;
    Messages *messages; /* about the command line, and the report's file */
} Session;

static int print(const Session *session, int stream, Text text) {
    return text.length == 0 || session->world->print(session->world->context, stream, text) == WORLD_OK ? 0 : 3;
}

/* ---- help -------------------------------------------------------------------------------------------------------- */

static void add_padded(TextBuilder *out, Text text, size_t width) {
    text_add(out, text);
    text_add_repeat(out, ' ', text.length < width ? width - text.length : 1);
}

static Text help_text(Arena *arena) {
    TextBuilder out = text_builder(arena);
    text_add_string(&out, "Trunnion checks what a machine axis must do against the parts that do it.\n\n");
    for (int i = 1; i < COMMAND_COUNT; i++) {
        text_add_string(&out, "  trunnion ");
        text_add_string(&out, command_rows[i].name);
        text_add_char(&out, ' ');
        text_add_string(&out, command_rows[i].follows);
        text_add_string(&out, "\n      ");
        text_add_string(&out, command_rows[i].purpose);
        text_add_char(&out, '\n');
    }
    text_add_string(&out, "  trunnion --help | --version\n\nOptions\n");
    for (int i = 1; i < CHOICE_COUNT; i++) {
        TextBuilder name = text_builder(arena);
        text_add_string(&name, choice_rows[i].name);
        text_add_char(&name, ' ');
        text_add_string(&name, choice_rows[i].value);
        text_add_string(&out, "  ");
        add_padded(&out, text_built(&name), 22);
        text_add_string(&out, choice_rows[i].purpose);
        text_add_char(&out, '\n');
    }
    text_add_string(&out, "\nFILE is a specification (NAME.trn.md) or a library (NAME.trn).\n"
                          "Exit status: 0 every requirement and rule is met or accepted; 1 one is not met, at risk or open;\n"
                          "2 the specification or the command line is wrong; 3 a file, the memory or the disk failed.\n");
    return text_built(&out);
}

/* ---- reading the arguments --------------------------------------------------------------------------------------- */

static bool takes(CommandId command, ChoiceKind choice) {
    static const char letters[COMMAND_COUNT] = {[COMMAND_VERIFY] = 'v', [COMMAND_REPORT] = 'r', [COMMAND_REQUOTE] = 'q', [COMMAND_WHY] = 'w', [COMMAND_AUDIT] = 'a', [COMMAND_PAIRINGS] = 'p', [COMMAND_SHORTLIST] = 's', [COMMAND_TABULATE] = 't'};
    char letter = letters[command];
    for (const char *c = choice_rows[choice].commands; *c; c++) {
        if (*c == letter) return true;
    }
    return false;
}

/* "Did you mean --output?", else `otherwise`. */
static Text meant(const Session *session, Text word, const char *const *names, int count, const char *otherwise) {
    Text best = {0};
    unsigned least = word.length < 5 ? 2 : 4;
    for (int i = 0; i < count; i++) {
        unsigned distance = least > 0 ? text_distance(word, text_from(names[i]), least - 1) : least;
        if (distance < least) least = distance, best = text_from(names[i]);
    }
    return best.length ? text_fill(session->arena, TEXT("Did you mean {0}?"), &best, 1) : text_from(otherwise);
}

static void say_unknown_command(const Session *session, Text word) {
    const char *names[COMMAND_COUNT];
    for (int i = 1; i < COMMAND_COUNT; i++) names[i - 1] = command_rows[i].name;
    SAY(session->messages, COMMAND_UNKNOWN, ((Span){0, 0}), word, meant(session, word, names, COMMAND_COUNT - 1, "There are: verify, report, requote, why, audit, pairings, shortlist, tabulate. trunnion --help says more."));
}

static void say_unknown_option(const Session *session, CommandId command, Text word) {
    const char *names[CHOICE_COUNT];
    int count = 0;
    for (int i = 1; i < CHOICE_COUNT; i++) {
        if (takes(command, (ChoiceKind)i)) names[count++] = choice_rows[i].name;
    }
    SAY(session->messages, OPTION_UNKNOWN, ((Span){0, 0}), word, meant(session, word, names, count, "trunnion --help lists them."));
}

static void say_value(const Session *session, ChoiceKind choice, const char *due, Text value) {
    SAY(session->messages, OPTION_VALUE, ((Span){0, 0}), text_from(choice_rows[choice].name), text_from(due), value.length ? value : TEXT("nothing"));
}

static void read_format(const Session *session, Request *request, Text value) {
    if (request->command == COMMAND_SHORTLIST) {
        request->choice.csv = text_is(value, "csv");
        if (!request->choice.csv && !text_is(value, "text")) say_value(session, CHOICE_FORMAT, "text or csv", value);
        return;
    }
    if (request->command == COMMAND_AUDIT) {
        request->table = text_is(value, "text") ? TABLE_TEXT : text_is(value, "csv") ? TABLE_CSV : TABLE_UNSAID;
        if (request->table == TABLE_UNSAID) say_value(session, CHOICE_FORMAT, "text or csv", value);
        return;
    }
    const char *due;
    if (request->command == COMMAND_PAIRINGS) {
        if (!pairings_read_format(&request->pairings, value, &due)) say_value(session, CHOICE_FORMAT, due, value);
        return;
    }
    TextBuilder names = text_builder(session->arena);
    for (const ReportFormat *row = report_formats; row->name != NULL; row++) {
        if (text_is(value, row->name)) {
            request->format = row;
            return;
        }
        if (row != report_formats) text_add_string(&names, " or ");
        text_add_string(&names, row->name);
    }
    say_value(session, CHOICE_FORMAT, text_zero_ended(session->arena, text_built(&names)), value);
}

/* A whole number of at most four digits, not nought. */
static uint32_t read_count(const Session *session, ChoiceKind choice, Text value) {
    uint32_t count = 0;
    bool fine = value.length > 0 && value.length <= 4;
    for (size_t i = 0; fine && i < value.length; i++) {
        fine = value.at[i] >= '0' && value.at[i] <= '9';
        count = 10 * count + (uint32_t)(value.at[i] - '0');
    }
    if (!fine || count == 0) say_value(session, choice, "a number from 1 to 9999", value);
    return fine ? count : 0;
}

/* One digit or two. */
static void read_depth(const Session *session, Request *request, Text value) {
    uint32_t depth = 0;
    bool fine = value.length > 0 && value.length <= 2;
    for (size_t i = 0; fine && i < value.length; i++) {
        fine = value.at[i] >= '0' && value.at[i] <= '9';
        depth = 10 * depth + (uint32_t)(value.at[i] - '0');
    }
    if (fine) request->plan.depth = depth;
    else say_value(session, CHOICE_DEPTH, "a number from 0 to 99", value);
}

static void read_choice(const Session *session, Request *request, ChoiceKind choice, Text value) {
    switch (choice) {
    case CHOICE_ACCEPT:
        if (text_is(value, "open")) request->policy.accept_open = true;
        else if (text_is(value, "at-risk")) request->policy.accept_at_risk = true;
        else say_value(session, choice, "open or at-risk", value);
        break;
    case CHOICE_LIBRARY: VECTOR_PUSH(session->arena, &request->libraries, value); break;
    case CHOICE_FORMAT: read_format(session, request, value); break;
    case CHOICE_ON:
        request->judging.today = value;
        if (date_read(value) == 0) say_value(session, choice, "a date such as 2027-03-31", value);
        break;
    case CHOICE_OUTPUT: request->output = value; break;
    case CHOICE_DUMP:
        if (text_is(value, "tree")) request->dump = STAGE_TREE;
        else if (text_is(value, "plan")) request->dump = STAGE_PLAN;
        else if (text_is(value, "values")) request->dump = STAGE_VALUES;
        else if (text_is(value, "findings")) request->dump = STAGE_FINDINGS;
        else say_value(session, choice, "tree, plan, values or findings", value);
        break;
    case CHOICE_NOMINAL: request->judging.nominal_only = true; break;
    case CHOICE_DEPTH: read_depth(session, request, value); break;
    case CHOICE_BY: request->choice.request.by = value; break;
    case CHOICE_MOST: request->choice.request.most = read_count(session, choice, value); break;
    case CHOICE_WRITE: request->choice.write = true; break;
    case CHOICE_PICK: request->choice.pick = read_count(session, choice, value); break;
    case CHOICE_ALL_FORMS: request->plan.scope = PLAN_ALL; break;
    case CHOICE_MISSING: request->audit.list_missing = true; break;
    case CHOICE_WHERE: VECTOR_PUSH(session->arena, &request->pairings.wheres, value); break;
    case CHOICE_FORM: request->pairings.request.form = value; break;
    case CHOICE_REASONS: {
        const char *due;
        if (!pairings_read_reasons(&request->pairings, value, &due)) say_value(session, choice, due, value);
        break;
    }
    case CHOICE_NONE:
    case CHOICE_COUNT: break;
    }
}

static void read_option(const Session *session, Request *request, const Text *arguments, uint32_t count, uint32_t *i) {
    Text word = arguments[*i], name = word, value = {0};
    size_t equals = 0;
    while (equals < word.length && word.at[equals] != '=') equals++;
    if (equals < word.length) {
        name = text_slice(word, 0, equals);
        value = text_slice(word, equals + 1, word.length);
    }
    for (int c = 1; c < CHOICE_COUNT; c++) {
        const ChoiceRow *row = &choice_rows[c];
        if (!text_is(name, row->name)) continue;
        bool wants = row->value[0] != '\0';
        if (wants && equals == word.length && *i + 1 < count) value = arguments[++*i];
        if (!takes(request->command, (ChoiceKind)c)) {
            SAY(session->messages, OPTION_USELESS, ((Span){0, 0}), name, text_from(command_rows[request->command].name));
        } else if (!wants && equals < word.length) {
            say_value(session, (ChoiceKind)c, "no value", value);
        } else if (wants && value.length == 0) {
            say_value(session, (ChoiceKind)c, row->value, value);
        } else {
            read_choice(session, request, (ChoiceKind)c, value);
        }
        return;
    }
    say_unknown_option(session, request->command, name);
}

/* The last word is the thing whose slots are to be filled. */
static void take_axis(const Session *session, Request *request) {
    ShortlistOrder *order = &request->choice;
    if (request->files.count > 1) order->request.axis = request->files.at[--request->files.count];
    else if (request->files.count == 1) SAY(session->messages, NO_AXIS, ((Span){0, 0}), TEXT(""));
    if (order->pick > 0 && !order->write) {
        SAY(session->messages, OPTION_USELESS, ((Span){0, 0}), TEXT("--pick"), TEXT("shortlist without --write"))->advice = TEXT("Add --write, or leave it out.");
    }
    if (order->pick == 0) order->pick = 1;
    if (order->request.most == 0) order->request.most = 10;
    order->request.today = request->judging.today;
    order->request.nominal_only = request->judging.nominal_only;
}

/* The last word is the path that is asked about. */
static void take_path(const Session *session, Request *request) {
    request->plan.explained = true;
    if (request->files.count > 1) request->plan.path = request->files.at[--request->files.count];
    if (request->files.count > 0 && request->plan.path.length == 0) SAY(session->messages, NO_PATH, ((Span){0, 0}), TEXT(""));
}

/* False after reporting all that is wrong. */
static bool read_request(const Session *session, Request *request, const Text *arguments, uint32_t count) {
    for (int c = 1; c < COMMAND_COUNT; c++) {
        if (text_is(arguments[1], command_rows[c].name)) request->command = (CommandId)c;
    }
    if (request->command == COMMAND_NONE) {
        say_unknown_command(session, arguments[1]);
        return false;
    }
    bool options = true;
    for (uint32_t i = 2; i < count; i++) {
        if (options && text_is(arguments[i], "--")) options = false;
        else if (options && arguments[i].length > 1 && arguments[i].at[0] == '-') read_option(session, request, arguments, count, &i);
        else VECTOR_PUSH(session->arena, &request->files, arguments[i]);
    }
    bool report = request->command == COMMAND_REPORT, told = request->output.length > 0 || session->messages->errors > 0;
    bool why = request->command == COMMAND_WHY;
    request->plan.explained = report;
    if (why) take_path(session, request);
    if (request->command == COMMAND_SHORTLIST) take_axis(session, request);
    if (request->files.count == 0) {
        SAY(session->messages, NO_FILE, ((Span){0, 0}), text_from(command_rows[request->command].name),
            report ? TEXT("lift.trn.md --output lift.html") : why ? TEXT("lift.trn.md lift.speed.peak")
            : request->command == COMMAND_SHORTLIST ? TEXT("lift.trn.md lift")
            : request->command == COMMAND_TABULATE ? TEXT("motors.trn --output tables")
            : request->command == COMMAND_AUDIT || request->command == COMMAND_PAIRINGS ? TEXT("motors.trn") : TEXT("lift.trn.md"));
    }
    if (request->command == COMMAND_TABULATE && !told) SAY(session->messages, NO_FOLDER, ((Span){0, 0}), TEXT(""));
    if (report && !told) SAY(session->messages, NO_OUTPUT, ((Span){0, 0}), TEXT(""));
    return session->messages->errors == 0;
}

/* ---- running ----------------------------------------------------------------------------------------------------- */

static const ReportFormat *format_of(const Request *request) {
    if (request->format != NULL) return request->format;
    for (const ReportFormat *row = report_formats; row->name != NULL; row++) {
        if (text_ends(request->output, text_from(row->ending))) return row;
    }
    return report_formats;
}

/* A slip of the pen must not cost the specification: report lift.trn.md --output lift.trn.md. */
static bool is_checked_file(const Session *session, Text path, const Sources *sources) {
    Text real;
    if (session->world->resolve(session->world->context, session->arena, path, &real) != WORLD_OK) return false;
    for (uint32_t i = 0; i < sources->list.count; i++) {
        if (text_equal(sources->list.at[i]->real, real)) return true;
    }
    return false;
}

/* The document to where --output says. */
static int write_document(const Session *session, const Request *request, const Sources *sources, Text document) {
    if (!text_is(request->output, "-") && is_checked_file(session, request->output, sources)) {
        SAY(session->messages, NOT_WRITTEN, ((Span){0, 0}), TEXT("it is one of the files that are checked"), TEXT("Give the report a name of its own."),
            TEXT("the report"))->path = request->output;
        print(session, 2, messages_render(session->arena, session->messages));
        return 3;
    }
    if (text_is(request->output, "-")) return print(session, 1, document);
    WorldResult written = session->world->write(session->world->context, request->output, document);
    if (written == WORLD_OK) return 0;
    Text advice = written == WORLD_MISSING     ? TEXT("Make its folder first.")
                  : written == WORLD_FORBIDDEN ? TEXT("Check the permissions of the folder.")
                                               : TEXT("");
    Text reason = world_reason(written), it = text_fill(session->arena, TEXT("it {0}"), &reason, 1);
    SAY(session->messages, NOT_WRITTEN, ((Span){0, 0}), written == WORLD_MISSING ? TEXT("its folder is not there") : it, advice, TEXT("the report"))->path = request->output;
    print(session, 2, messages_render(session->arena, session->messages));
    return 3;
}

static int write_report(const Session *session, const Request *request, const Result *result) {
    return write_document(session, request, result->sources, format_of(request)->write(session->arena, result));
}

static int run_audit(const Session *session, Request *request, LoadRequest load) {
    AuditCheck check = pipeline_audit(session->arena, session->world, load, request->audit);
    if (request->output.length == 0) request->output = TEXT("-");
    bool csv = request->table == TABLE_CSV || (request->table == TABLE_UNSAID && text_ends(request->output, TEXT(".csv")));
    Text document = (csv ? report_audit_csv : report_audit)(session->arena, check.audit, request->audit.list_missing);
    int printed = print(session, 2, messages_render(session->arena, check.messages));
    if (printed != 0 || write_document(session, request, check.sources, document) != 0) return 3;
    return audit_status(check.audit);
}

/* A table is an answer, not a check: only mistakes count against it. */
static int write_pairings(const Session *session, Request *request, LoadRequest load) {
    PairingsAnswer answer = pairings_answer(session->arena, session->world, load, &request->pairings, request->output);
    int printed = print(session, 2, messages_render(session->arena, answer.messages)), done = 0;
    if (answer.document.length > 0 && request->output.length > 0) done = write_document(session, request, answer.sources, answer.document);
    else done = print(session, 1, answer.document);
    if (printed != 0 || done != 0 || answer.messages->machine_errors > 0) return 3;
    return answer.messages->errors > 0 ? 2 : 0;
}

/* The answer; or that nothing is called so, and what is. */
static int write_why(const Session *session, const Request *request, const Result *result) {
    if (result->answers.count > 0) {
        int printed = print(session, 1, report_why(session->arena, result));
        return printed != 0 ? printed : result->messages->errors > 0 ? 2 : 0;
    }
    Text advice = result->near.length > 0 ? text_fill(session->arena, TEXT("Did you mean {0}?"), &result->near, 1) : (Text){0};
    SAY(session->messages, PATH_UNKNOWN, ((Span){0, 0}), request->plan.path, advice);
    int printed = print(session, 2, messages_render(session->arena, session->messages));
    return printed != 0 ? printed : 2;
}

int command_run(Arena *arena, const World *world, const Text *arguments, uint32_t count) {
    const Session session = {arena, world, messages_open(arena, NULL)};
    Request request = {.plan = {.depth = 2}};
    if (count > 1 && (text_is(arguments[1], "--help") || text_is(arguments[1], "-h"))) return print(&session, 1, help_text(arena));
    if (count > 1 && text_is(arguments[1], "--version")) return print(&session, 1, TEXT("trunnion " TRUNNION_VERSION "\n"));
    if (count < 2) {
        print(&session, 2, help_text(arena));
        return 2;
    }
    if (!read_request(&session, &request, arguments, count)) {
        print(&session, 2, messages_render(arena, session.messages));
        return 2;
    }
    LoadRequest load = {.paths = request.files.at, .path_count = request.files.count, .libraries = request.libraries.at, .library_count = request.libraries.count};
    if (request.command == COMMAND_AUDIT) return run_audit(&session, &request, load);
    if (request.command == COMMAND_TABULATE) return tabulate_files(arena, world, load, request.output);
    if (request.command == COMMAND_PAIRINGS) return write_pairings(&session, &request, load);
    if (request.command == COMMAND_SHORTLIST) return shortlist_command(arena, world, load, request.choice);
    request.judging.verdicts_only = request.command == COMMAND_VERIFY && request.dump != STAGE_VALUES;
    Check check = pipeline_check(arena, world, load, request.plan, request.judging, request.dump);
    if (request.command == COMMAND_REQUOTE) return requote_files(arena, world, check.result);
    int printed = print(&session, 2, messages_render(arena, check.messages));
    int done = 0;
    if (request.command == COMMAND_WHY) return printed != 0 ? 3 : write_why(&session, &request, check.result);
    if (request.command == COMMAND_REPORT) done = write_report(&session, &request, check.result);
    else done = print(&session, 1, request.dump != STAGE_NONE ? check.dump : report_verdicts(arena, check.result));
    if (printed != 0 || done != 0) return 3;
    return result_status(check.result, request.policy);
}
