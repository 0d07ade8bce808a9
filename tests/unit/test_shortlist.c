#include "command/shortlist.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command/command.h"
#include "given.h"

/* A world of one specification and one library in memory, with a clock of its own. */
typedef struct Shop {
    Arena *arena;
    Text paths[2], bytes[2];
    TextBuilder out, err;
    uint32_t writes, reads;
    bool changes;   /* the specification is another when it is read again */
    bool terminal;
    double now;     /* s; every question takes a tenth */
    int end_after;  /* questions until somebody wants the program to end; 0: nobody does */
    bool held;
} Shop;

static int file_at(const Shop *shop, Text path) { return text_equal(path, shop->paths[0]) ? 0 : text_equal(path, shop->paths[1]) ? 1 : -1; }

static WorldResult read_file(void *context, Arena *arena, Text path, Text *bytes) {
    Shop *shop = context;
    int at = file_at(shop, path);
    if (at < 0) return WORLD_MISSING;
    *bytes = text_copy(arena, shop->bytes[at]);
    if (at == 0 && shop->reads++ > 0 && shop->changes) bytes->length--;
    return WORLD_OK;
}

static WorldResult list_files(void *context, Arena *arena, Text folder, Text ending, Text **paths, uint32_t *count) {
    (void)context, (void)arena, (void)folder, (void)ending;
    *paths = NULL;
    *count = 0;
    return WORLD_OK;
}

static WorldResult write_file(void *context, Text path, Text bytes) {
    Shop *shop = context;
    shop->bytes[file_at(shop, path)] = text_copy(shop->arena, bytes);
    shop->writes++;
    return WORLD_OK;
}

static WorldResult resolve(void *context, Arena *arena, Text path, Text *real) {
    *real = text_is(path, ".") ? TEXT("/") : text_fill(arena, TEXT("/{0}"), &path, 1);
    return text_is(path, ".") || file_at(context, path) >= 0 ? WORLD_OK : WORLD_MISSING;
}

static WorldResult print(void *context, int stream, Text bytes) {
    Shop *shop = context;
    text_add(stream == 1 ? &shop->out : &shop->err, bytes);
    return WORLD_OK;
}

static Text today(void *context, Arena *arena) {
    (void)context, (void)arena;
    return TEXT("2026-11-25");
}

static bool is_terminal(void *context, int stream) { return stream == 2 && ((Shop *)context)->terminal; }
static double seconds(void *context) { return ((Shop *)context)->now += 0.1; }
static void hold_end(void *context, bool hold) { ((Shop *)context)->held = hold; }

static bool end_asked(void *context) {
    Shop *shop = context;
    cr_assert(shop->held || shop->end_after <= 0, "asked for what is not held back");
    return shop->end_after > 0 && --shop->end_after == 0;
}

static int shortlist(Shop *shop, uint32_t count, const char *const *words) {
    World world = {shop, read_file, list_files, write_file, resolve, print, today, is_terminal, seconds, hold_end, end_asked};
    Text arguments[12] = {TEXT("trunnion"), TEXT("shortlist"), shop->paths[0], TEXT("lift")};
    for (uint32_t i = 0; i < count; i++) arguments[4 + i] = text_from(words[i]);
    shop->out = text_builder(shop->arena);
    shop->err = text_builder(shop->arena);
    shop->reads = 0;
    int status = command_run(shop->arena, &world, arguments, 4 + count);
    cr_assert(!shop->held, "signals are held back after the end");
    return status;
}
#define SHORTLIST(shop, ...) shortlist((shop), sizeof((const char *const[]){__VA_ARGS__}) / sizeof(char *), (const char *const[]){__VA_ARGS__})

#define FORMS                                                                                            \
    "form motor { given torque : torque  maybe mass : mass }\n"                                          \
    "form gear  { given ratio : ratio  given limit : torque }\n"                                         \
    "form lift  { given motor : motor  given gear : gear  given load : torque\n"                         \
    "  rule torque \"t\" { shall load <= motor.torque * gear.ratio  cites \"c\" }\n"                     \
    "  rule limit  \"l\" { shall load <= gear.limit  cites \"c\" } }\n"

static Shop open_shop(Arena *arena, const char *specification, const char *library) {
    return (Shop){.arena = arena, .paths = {TEXT("s.trn"), TEXT("parts.trn")}, .bytes = {text_from(specification), text_from(library)}};
}

#define PARTS                                                                                            \
    FORMS "motor Finch { torque = 1 N·m }\nmotor Heron { torque = 2 N·m }\n"                             \
          "gear Marsh { ratio = 10  limit = 12 N·m }\ngear Pond { ratio = 20  limit = 40 N·m }\n"
#define LIFT "use \"parts.trn\"\r\n-- Größe\r\nlift lift { motor = any motor  load = 9 N·m\tgear = any gear where (ratio > 1) }\r\n"

static bool has(Text text, const char *part) {
    size_t length = strlen(part);
    for (size_t i = 0; i + length <= text.length; i++)
        if (memcmp(text.at + i, part, length) == 0) return true;
    return false;
}

Test(shortlist, writes_the_bytes_of_the_slots_and_no_others) {
    Arena *arena = given_arena();
    Shop shop = open_shop(arena, LIFT, PARTS);
    cr_assert_eq(SHORTLIST(&shop, "--write", "--pick", "2"), 0, "%.*s", (int)shop.err.length, shop.err.at);
    cr_text(shop.bytes[0], "use \"parts.trn\"\r\n-- Größe\r\nlift lift { motor = Finch  load = 9 N·m\tgear = Pond }\r\n");
    cr_text(shop.bytes[1], PARTS);
    cr_assert_eq(shop.writes, 1u);
    arena_close(arena);
}

Test(shortlist, leaves_a_file_alone_that_has_changed) {
    Arena *arena = given_arena();
    Shop shop = open_shop(arena, LIFT, PARTS);
    shop.changes = true;
    cr_assert_eq(SHORTLIST(&shop, "--write"), 3);
    cr_assert_eq(shop.writes, 0u);
    cr_text(text_built(&shop.err), "s.trn: error: the choice was not written: the file has changed while the search went on (not-written)\n  Search again.\n");
    arena_close(arena);
}

Test(shortlist, does_not_write_into_a_library) {
    Arena *arena = given_arena();
    Shop shop = open_shop(arena, "use \"parts.trn\"\nlift lift { motor = Finch  gear = Pond  load = 9 N·m }\n", PARTS
                          "form pair { given gear : gear }\npair two { gear = any gear }\n");
    shop.bytes[0] = TEXT("use \"parts.trn\"\nform held { given pair : pair }\nheld lift { pair = two }\n");
    cr_assert_eq(SHORTLIST(&shop, "--write"), 3, "%.*s", (int)shop.err.length, shop.err.at);
    cr_assert_eq(shop.writes, 0u);
    cr_assert(has(text_built(&shop.err), "two.gear stands in a library"));
    arena_close(arena);
}

Test(shortlist, what_was_found_before_the_end_is_told_and_not_written) {
    Arena *arena = given_arena();
    for (int after = 1; after < 9; after++) {
        Shop shop = open_shop(arena, LIFT, PARTS);
        shop.end_after = after;
        cr_assert_eq(SHORTLIST(&shop, "--write"), 2, "after %d", after);
        cr_assert_eq(shop.writes, 0u);
        cr_assert(has(text_built(&shop.out), "STOPPED"), "after %d: %.*s", after, (int)shop.out.length, shop.out.at);
        cr_assert(has(text_built(&shop.err), "the search was stopped"));
        if (after == 6) cr_assert(has(text_built(&shop.out), "after 1 of 4 sets"), "%.*s", (int)shop.out.length, shop.out.at);
        shop.end_after = after;
        cr_assert_eq(SHORTLIST(&shop, "--most", "3"), 1);
    }
    arena_close(arena);
}

Test(shortlist, one_line_tells_how_far_it_has_come) {
    Arena *arena = given_arena();
    TextBuilder many = text_builder(arena);
    text_add_string(&many, PARTS);
    for (int i = 0; i < 20; i++) {
        char line[64];
        snprintf(line, sizeof line, "motor Rail-%d { torque = 3 N·m }\n", i);
        text_add_string(&many, line);
    }
    Shop shop = open_shop(arena, LIFT, "");
    shop.bytes[1] = text_built(&many);
    cr_assert_eq(SHORTLIST(&shop, "--most", "1"), 0);
    cr_text(text_built(&shop.err), "");
    shop.terminal = true;
    cr_assert_eq(SHORTLIST(&shop, "--most", "1"), 0);
    Text told = text_built(&shop.err);
    cr_assert(text_starts(told, TEXT("\r9 of 24 cards\r11 of 24 cards")), "%.*s", (int)told.length, told.at);
    cr_assert(has(told, " of 44 sets"));
    cr_assert(text_ends(told, TEXT(" \r")), "the line is taken away");
    for (size_t i = 0; i < told.length; i++) cr_assert_neq(told.at[i], '\n');
    arena_close(arena);
}

/* ---- against sums done here -------------------------------------------------------------------------------------- */

typedef struct Pair {
    int motor, gear;
    double margin;
} Pair;

static int by_margin(const void *a, const void *b) {
    const Pair *x = a, *y = b;
    if (x->margin != y->margin) return x->margin > y->margin ? -1 : 1;
    if (x->motor != y->motor) return x->motor - y->motor;
    return x->gear - y->gear;
}

Test(shortlist, all_sets_that_work_in_their_order) {
    Arena *arena = given_arena();
    uint64_t state = 11;
    for (int round = 0; round < 40; round++) {
        enum { MOST = 6 };
        int motors = 1 + (int)(given_random(&state) % MOST), gears = 1 + (int)(given_random(&state) % MOST), load = 1 + (int)(given_random(&state) % 400);
        int torque[MOST], ratio[MOST], limit[MOST];
        TextBuilder library = text_builder(arena), wanted = text_builder(arena);
        char line[160];
        text_add_string(&library, FORMS);
        for (int i = 0; i < motors; i++) {
            torque[i] = 1 + (int)(given_random(&state) % 40);
            snprintf(line, sizeof line, "motor m-%d { torque = %d N·m }\n", i, torque[i]);
            text_add_string(&library, line);
        }
        for (int i = 0; i < gears; i++) {
            ratio[i] = 1 + (int)(given_random(&state) % 20);
            limit[i] = 1 + (int)(given_random(&state) % 500);
            snprintf(line, sizeof line, "gear g-%d { ratio = %d  limit = %d N·m }\n", i, ratio[i], limit[i]);
            text_add_string(&library, line);
        }
        Pair pairs[MOST * MOST];
        int count = 0;
        for (int m = 0; m < motors; m++) {
            for (int g = 0; g < gears; g++) {
                if (ratio[g] == 7 || load > torque[m] * ratio[g] || load > limit[g]) continue;
                double a = (torque[m] * ratio[g] - load) / (double)(torque[m] * ratio[g]), b = (limit[g] - load) / (double)limit[g];
                pairs[count++] = (Pair){m, g, a < b ? a : b};
            }
        }
        qsort(pairs, (size_t)count, sizeof *pairs, by_margin);
        for (int i = 0; i < count; i++) {
            snprintf(line, sizeof line, "%d,m-%d,g-%d,", i + 1, pairs[i].motor, pairs[i].gear);
            text_add_string(&wanted, line);
        }
        snprintf(line, sizeof line, "use \"parts.trn\"\nlift lift { load = %d N·m  motor = any motor  gear = any gear where ratio != 7 }\n", load);
        Shop shop = open_shop(arena, line, "");
        shop.bytes[1] = text_built(&library);
        cr_assert_eq(SHORTLIST(&shop, "--format", "csv", "--most", "9999", round % 2 ? "--nominal" : "--on", round % 2 ? "--by" : "2026-11-25", round % 2 ? "margin" : "--by=margin"),
                     count > 0 ? 0 : 1, "%.*s", (int)shop.err.length, shop.err.at);
        TextBuilder found = text_builder(arena); /* the first three fields of each line after the first */
        int commas = -100;
        for (size_t i = 0; i < shop.out.length; i++) {
            char c = shop.out.at[i];
            if (commas >= 0 && commas < 3) text_add_char(&found, c);
            if (c == ',') commas++;
            if (c == '\n') commas = 0;
        }
        Text is = text_built(&found), due = text_built(&wanted);
        cr_assert(text_equal(is, due), "round %d: is [%.*s] not [%.*s]\n%.*s", round, (int)is.length, is.at, (int)due.length, due.at, (int)library.length, library.at);
    }
    arena_close(arena);
}
