/* How fast part libraries are read:  bench_reading [CARDS]
 *
 * Makes a library of part cards in memory (123,000 cards of 12 fields, about 50 MB, unless told otherwise) and prints
 * the medians of five runs in processor time: tokens alone, and tokens with the whole tree. */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "syntax/lexer.h"

enum { RUNS = 5 };

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now); /* others may be working here too */
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* "x.y" with digits that differ from card to card. */
static void add_value(TextBuilder *out, const char *name, unsigned card, unsigned span, const char *unit)
{
    text_add_string(out, "  ");
    text_add_string(out, name);
    text_add_string(out, " = ");
    text_add_count(out, card % span + 1);
    text_add_char(out, '.');
    text_add_count(out, card * 7 % 10);
    text_add_char(out, ' ');
    text_add_string(out, unit);
    text_add_char(out, '\n');
}

static void add_card(TextBuilder *out, unsigned card)
{
    text_add_string(out, "dc-motor Rook-");
    text_add_count(out, 100000 + card);
    text_add_string(out, " \"Motor with graphite brushes\" {\n");
    add_value(out, "diameter", card, 60, "mm");
    add_value(out, "nominal-voltage", card, 48, "V");
    add_value(out, "resistance", card, 30, "Ω ± 8 %");
    add_value(out, "inductance", card, 900, "mH");
    add_value(out, "torque-constant", card, 99, "mN·m/A");
    add_value(out, "no-load-current", card, 400, "mA");
    add_value(out, "rated-current", card, 12, "A");
    add_value(out, "rotor-inertia", card, 200, "g·cm²");
    add_value(out, "winding-resistance-to-housing", card, 9, "K/W");
    add_value(out, "winding-time-constant", card, 50, "s");
    add_value(out, "speed-limit", card, 12000, "rev/min");
    add_value(out, "mass", card, 900, "g");
    text_add_string(out, "}\n");
}

typedef struct Result {
    double seconds;
    uint32_t count; /* tokens or nodes */
    size_t memory;
} Result;

static Result read_once(Text library, bool with_tree)
{
    Arena *arena = arena_open(NULL, NULL);
    Sources *sources = sources_open(arena);
    Source *source = source_add(sources, TEXT("library.trn"), TEXT("library.trn"), library, SOURCE_NAMED);
    Messages *messages = messages_open(arena, sources);
    Tree *tree = tree_open(arena, symbols_open(arena), sources);
    Result result = {0, 0, 0};
    double begun = now_s();
    if (with_tree) {
        syntax_read(tree, source, messages);
        result.count = tree->count;
    } else {
        Lexer *lexer = ARENA_NEW(arena, Lexer);
        Token token;
        lexer_open(lexer, tree, source, messages);
        while (lexer_next(lexer, &token) != TOKEN_END) result.count++;
    }
    result.seconds = now_s() - begun;
    result.memory = arena_used(arena);
    if (messages->list.count) {
        fprintf(stderr, "bench_reading: the library has %u mistakes\n", messages->list.count);
        exit(1);
    }
    arena_close(arena);
    return result;
}

static void measure(const char *what, Text library, unsigned cards, bool with_tree)
{
    double seconds[RUNS];
    Result result = {0, 0, 0};
    for (int i = 0; i < RUNS; i++) {
        result = read_once(library, with_tree);
        seconds[i] = result.seconds;
    }
    qsort(seconds, RUNS, sizeof *seconds, by_size);
    double median = seconds[RUNS / 2];
    printf("%-10s %7.3f s  %6.1f MB/s (best %6.1f)  %9.0f cards/s  %9u %s  %5.1f ns each  %6.1f MB\n", what, median,
           (double)library.length / 1e6 / median, (double)library.length / 1e6 / seconds[0], cards / median, result.count,
           with_tree ? "nodes" : "tokens", median * 1e9 / result.count, (double)result.memory / 1e6);
}

int main(int count, char **arguments)
{
    unsigned cards = count > 1 ? (unsigned)strtoul(arguments[1], NULL, 10) : 123000;
    Arena *arena = arena_open(NULL, NULL);
    TextBuilder out = text_builder(arena);
    for (unsigned card = 0; card < cards; card++) add_card(&out, card);
    Text library = text_built(&out);
    printf("%u cards, %.1f MB\n", cards, (double)library.length / 1e6);
    measure("tokens", library, cards, false);
    measure("tree", library, cards, true);
    arena_close(arena);
    return 0;
}
