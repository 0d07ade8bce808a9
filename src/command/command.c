#include "command/command.h"

#include "base/date.h"
#include "command/requote.h"
#include "pipeline.h"
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
    Text output, today;
    const ReportFormat *format;
    Stage dump;
    PlanScope scope;
} Request;

typedef struct Session {
    Arena *arena;
    const World *world;
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

static bool refuse(const Session *session, const char *pattern, Text a, Text b) {
    const Text arguments[2] = {a, b};
    TextBuilder out = text_builder(session->arena);
    text_add_string(&out, "trunnion: ");
    text_add(&out, text_fill(session->arena, text_from(pattern), arguments, 2));
    text_add_string(&out, "\nTry: trunnion --help\n");
    print(session, 2, text_built(&out));
    return false;
}

static bool takes(CommandId command, ChoiceKind choice) {
    char letter = command == COMMAND_VERIFY ? 'v' : command == COMMAND_REPORT ? 'r' : 'q';
    for (const char *c = choice_rows[choice].commands; *c; c++) {
        if (*c == letter) return true;
    }
    return false;
}

static bool read_format(const Session *session, Request *request, Text value) {
    TextBuilder names = text_builder(session->arena);
    for (const ReportFormat *row = report_formats; row->name != NULL; row++) {
        if (text_is(value, row->name)) {
            request->format = row;
            return true;
        }
        if (row != report_formats) text_add_string(&names, ", ");
        text_add_string(&names, row->name);
    }
    return refuse(session, "there is no report format {0}; there are: {1}", value, text_built(&names));
}

static bool read_choice(const Session *session, Request *request, ChoiceKind choice, Text value) {
    switch (choice) {
    case CHOICE_ACCEPT:
        if (text_is(value, "open")) request->policy.accept_open = true;
        else if (text_is(value, "at-risk")) request->policy.accept_at_risk = true;
        else return refuse(session, "--accept takes open or at-risk, not {0}", value, value);
        return true;
    case CHOICE_LIBRARY: VECTOR_PUSH(session->arena, &request->libraries, value); return true;
    case CHOICE_FORMAT: return read_format(session, request, value);
    case CHOICE_ON:
        request->today = value;
        return date_read(value) != 0 || refuse(session, "--on takes a date such as 2027-03-31, not {0}", value, value);
    case CHOICE_OUTPUT: request->output = value; return true;
    case CHOICE_DUMP:
        if (text_is(value, "tree")) request->dump = STAGE_TREE;
        else if (text_is(value, "plan")) request->dump = STAGE_PLAN;
        else if (text_is(value, "values")) request->dump = STAGE_VALUES;
        else if (text_is(value, "findings")) request->dump = STAGE_FINDINGS;
        else return refuse(session, "--dump takes tree, plan, values or findings, not {0}", value, value);
        return true;
    case CHOICE_ALL_FORMS: request->scope = PLAN_ALL; return true;
    case CHOICE_NONE:
    case CHOICE_COUNT: break;
    }
    return false;
}

static bool read_option(const Session *session, Request *request, const Text *arguments, uint32_t count, uint32_t *i) {
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
        if (!takes(request->command, (ChoiceKind)c)) return refuse(session, "{0} has no use with {1}", name, text_from(command_rows[request->command].name));
        bool wants = row->value[0] != '\0';
        if (!wants && equals < word.length) return refuse(session, "{0} takes no value", name, name);
        if (wants && equals == word.length) {
            if (*i + 1 >= count) return refuse(session, "{0} needs a value: {1}", name, text_from(row->value));
            value = arguments[++*i];
        }
        return read_choice(session, request, (ChoiceKind)c, value);
    }
    return refuse(session, "there is no option {0}", name, name);
}

static bool read_request(const Session *session, Request *request, const Text *arguments, uint32_t count) {
    for (int c = 1; c < COMMAND_COUNT; c++) {
        if (text_is(arguments[1], command_rows[c].name)) request->command = (CommandId)c;
    }
    if (request->command == COMMAND_NONE) return refuse(session, "there is no command {0}; there are: verify, report, requote", arguments[1], arguments[1]);
    bool options = true;
    for (uint32_t i = 2; i < count; i++) {
        if (options && text_is(arguments[i], "--")) options = false;
        else if (options && arguments[i].length > 1 && arguments[i].at[0] == '-') {
            if (!read_option(session, request, arguments, count, &i)) return false;
        } else VECTOR_PUSH(session->arena, &request->files, arguments[i]);
    }
    if (request->files.count == 0) return refuse(session, "{0} needs a FILE", text_from(command_rows[request->command].name), (Text){0});
    if (request->command == COMMAND_REPORT && request->output.length == 0) {
        return refuse(session, "report needs --output PATH ('-' for the standard output)", (Text){0}, (Text){0});
    }
    return true;
}

/* ---- running ----------------------------------------------------------------------------------------------------- */

static const ReportFormat *format_of(const Request *request) {
    if (request->format != NULL) return request->format;
    for (const ReportFormat *row = report_formats; row->name != NULL; row++) {
        if (text_ends(request->output, text_from(row->ending))) return row;
    }
    return report_formats;
}

static int write_report(const Session *session, const Request *request, const Result *result) {
    Text document = format_of(request)->write(session->arena, result);
    if (text_is(request->output, "-")) return print(session, 1, document);
    WorldResult written = session->world->write(session->world->context, request->output, document);
    if (written == WORLD_OK) return 0;
    const Text parts[2] = {request->output, world_reason(written)};
    print(session, 2, text_fill(session->arena, TEXT("trunnion: the report was not written: {0} {1}\n"), parts, 2));
    return 3;
}

int command_run(Arena *arena, const World *world, const Text *arguments, uint32_t count) {
    const Session session = {arena, world};
    Request request = {0};
    if (count > 1 && (text_is(arguments[1], "--help") || text_is(arguments[1], "-h"))) return print(&session, 1, help_text(arena));
    if (count > 1 && text_is(arguments[1], "--version")) return print(&session, 1, TEXT("trunnion " TRUNNION_VERSION "\n"));
    if (count < 2) {
        print(&session, 2, help_text(arena));
        return 2;
    }
    if (!read_request(&session, &request, arguments, count)) return 2;
    LoadRequest load = {request.files.at, request.files.count, request.libraries.at, request.libraries.count};
    Check check = pipeline_check(arena, world, load, request.scope, request.today, request.dump);
    if (request.command == COMMAND_REQUOTE) return requote_files(arena, world, check.result);
    int printed = print(&session, 2, messages_render(arena, check.messages));
    int done = 0;
    if (request.command == COMMAND_REPORT) done = write_report(&session, &request, check.result);
    else done = print(&session, 1, request.dump != STAGE_NONE ? check.dump : report_verdicts(arena, check.result));
    if (printed != 0 || done != 0) return 3;
    return result_status(check.result, request.policy);
}
