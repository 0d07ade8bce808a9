#include "base/world.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "given.h"

/* Each test works in a folder of its own, taken away at its end. */
typedef struct Folder {
    Arena *arena;
    World world;
    char path[64];
} Folder;

static Folder folder_open(void) {
    Folder folder = {given_arena(), world_of_system(), "/tmp/trunnion-unit-XXXXXX"};
    cr_assert_not_null(mkdtemp(folder.path));
    return folder;
}

static void folder_close(Folder *folder) {
    char command[100];
    snprintf(command, sizeof command, "rm -rf '%s'", folder->path);
    cr_assert_eq(system(command), 0);
    arena_close(folder->arena);
}

static Text in(Folder *folder, const char *name) {
    TextBuilder path = text_builder(folder->arena);
    text_add_string(&path, folder->path);
    text_add_char(&path, '/');
    text_add_string(&path, name);
    return text_built(&path);
}

static const char *string_in(Folder *folder, const char *name) { return text_zero_ended(folder->arena, in(folder, name)); }

static WorldResult put(Folder *folder, const char *name, Text bytes) {
    return folder->world.write(folder->world.context, in(folder, name), bytes);
}

static WorldResult get(Folder *folder, Text path, Text *bytes) {
    return folder->world.read(folder->world.context, folder->arena, path, bytes);
}

/* Names in the folder, hidden ones too. */
static unsigned count_files(Folder *folder) {
    char command[100], digits[20] = "";
    snprintf(command, sizeof command, "ls -A '%s' | wc -l", folder->path);
    FILE *pipe = popen(command, "r");
    cr_assert_not_null(pipe);
    cr_assert_not_null(fgets(digits, sizeof digits, pipe));
    pclose(pipe);
    return (unsigned)strtoul(digits, NULL, 10);
}

Test(world, reads_what_was_written) {
    Folder folder = folder_open();
    Text bytes;
    cr_assert_eq(put(&folder, "a", TEXT("one\0two\n")), WORLD_OK);
    cr_assert_eq(get(&folder, in(&folder, "a"), &bytes), WORLD_OK);
    cr_assert(text_equal(bytes, TEXT("one\0two\n")));
    cr_assert_eq(put(&folder, "a", TEXT("")), WORLD_OK);
    cr_assert_eq(get(&folder, in(&folder, "a"), &bytes), WORLD_OK);
    cr_assert_eq(bytes.length, 0u);
    cr_assert_eq(count_files(&folder), 1u, "no temporary file is left");
    folder_close(&folder);
}

Test(world, reads_big_files) {
    Folder folder = folder_open();
    enum { SIZE = 5000000 };
    char *big = arena_take(folder.arena, SIZE);
    uint64_t random = 3;
    for (size_t i = 0; i < SIZE; i++) big[i] = (char)given_random(&random);
    Text bytes;
    cr_assert_eq(put(&folder, "big", (Text){big, SIZE}), WORLD_OK);
    cr_assert_eq(get(&folder, in(&folder, "big"), &bytes), WORLD_OK);
    cr_assert(text_equal(bytes, (Text){big, SIZE}));
    folder_close(&folder);
}

/* The kernel's files say that they have no bytes. */
Test(world, reads_files_of_unknown_size) {
    Folder folder = folder_open();
    Text bytes;
    cr_assert_eq(get(&folder, TEXT("/proc/self/maps"), &bytes), WORLD_OK);
    cr_assert_gt(bytes.length, 100u);
    folder_close(&folder);
}

Test(world, says_why_a_file_cannot_be_read) {
    Folder folder = folder_open();
    Text bytes;
    cr_assert_eq(get(&folder, in(&folder, "none"), &bytes), WORLD_MISSING);
    cr_assert_eq(get(&folder, in(&folder, "none/none"), &bytes), WORLD_MISSING);
    cr_assert_eq(get(&folder, TEXT(""), &bytes), WORLD_MISSING);
    cr_assert_eq(get(&folder, TEXT("/dev/null\0x"), &bytes), WORLD_MISSING);
    cr_assert_eq(put(&folder, "a", TEXT("x")), WORLD_OK);
    cr_assert_eq(get(&folder, in(&folder, "a/b"), &bytes), WORLD_MISSING);
    cr_assert_eq(get(&folder, text_from(folder.path), &bytes), WORLD_NOT_FILE);
    cr_assert_eq(get(&folder, TEXT("/dev/null"), &bytes), WORLD_NOT_FILE);
    char *long_name = arena_take(folder.arena, 5000);
    memset(long_name, 'n', 5000);
    cr_assert_eq(get(&folder, (Text){long_name, 5000}, &bytes), WORLD_MISSING);
    cr_assert_eq(bytes.length, 0u);
    folder_close(&folder);
}

Test(world, a_pipe_without_a_writer_does_not_stop_us, .timeout = 5) {
    Folder folder = folder_open();
    Text bytes;
    cr_assert_eq(mkfifo(string_in(&folder, "pipe"), 0600), 0);
    cr_assert_eq(get(&folder, in(&folder, "pipe"), &bytes), WORLD_NOT_FILE);
    cr_assert_eq(put(&folder, "pipe", TEXT("x")), WORLD_NOT_FILE);
    folder_close(&folder);
}

Test(world, a_file_over_the_limit_is_not_read) {
    Folder folder = folder_open();
    Text bytes;
    cr_assert_eq(put(&folder, "huge", TEXT("x")), WORLD_OK);
    cr_assert_eq(truncate(string_in(&folder, "huge"), (off_t)WORLD_FILE_LIMIT + 1), 0);
    size_t before = arena_used(folder.arena);
    cr_assert_eq(get(&folder, in(&folder, "huge"), &bytes), WORLD_TOO_LARGE);
    cr_assert_lt(arena_used(folder.arena) - before, 1000u, "nor is memory taken for it");
    folder_close(&folder);
}

Test(world, permissions_are_respected) {
    if (geteuid() == 0) cr_skip_test("root may read and write everything");
    Folder folder = folder_open();
    Text bytes;
    cr_assert_eq(put(&folder, "a", TEXT("old")), WORLD_OK);
    cr_assert_eq(chmod(string_in(&folder, "a"), 0444), 0);
    cr_assert_eq(put(&folder, "a", TEXT("new")), WORLD_FORBIDDEN);
    cr_assert_eq(get(&folder, in(&folder, "a"), &bytes), WORLD_OK);
    cr_text(bytes, "old");
    cr_assert_eq(chmod(string_in(&folder, "a"), 0), 0);
    cr_assert_eq(get(&folder, in(&folder, "a"), &bytes), WORLD_FORBIDDEN);
    cr_assert_eq(chmod(folder.path, 0500), 0);
    cr_assert_eq(put(&folder, "b", TEXT("new")), WORLD_FORBIDDEN);
    cr_assert_eq(chmod(folder.path, 0700), 0);
    folder_close(&folder);
}

Test(world, writing_keeps_modes_and_links) {
    Folder folder = folder_open();
    Text bytes;
    struct stat status;
    cr_assert_eq(put(&folder, "a", TEXT("old")), WORLD_OK);
    cr_assert_eq(chmod(string_in(&folder, "a"), 0640), 0);
    cr_assert_eq(symlink("a", string_in(&folder, "link")), 0);
    cr_assert_eq(put(&folder, "link", TEXT("new")), WORLD_OK);
    cr_assert_eq(lstat(string_in(&folder, "link"), &status), 0);
    cr_assert(S_ISLNK(status.st_mode));
    cr_assert_eq(stat(string_in(&folder, "a"), &status), 0);
    cr_assert_eq(status.st_mode & 0777u, 0640u);
    cr_assert_eq(get(&folder, in(&folder, "a"), &bytes), WORLD_OK);
    cr_text(bytes, "new");
    folder_close(&folder);
}

Test(world, a_failed_write_leaves_nothing) {
    Folder folder = folder_open();
    cr_assert_eq(mkdir(string_in(&folder, "sub"), 0700), 0);
    cr_assert_eq(put(&folder, "sub", TEXT("x")), WORLD_NOT_FILE);
    cr_assert_eq(put(&folder, "none/a", TEXT("x")), WORLD_MISSING);
    cr_assert_eq(symlink("nowhere", string_in(&folder, "link")), 0);
    cr_assert_eq(put(&folder, "link", TEXT("x")), WORLD_MISSING);
    cr_assert_eq(folder.world.write(folder.world.context, TEXT(""), TEXT("x")), WORLD_MISSING);
    cr_assert_eq(folder.world.write(folder.world.context, TEXT("/dev/null"), TEXT("x")), WORLD_NOT_FILE);
    cr_assert_eq(count_files(&folder), 2u);
    folder_close(&folder);
}

Test(world, lists_by_bytes) {
    Folder folder = folder_open();
    const char *names[] = {"b.trn", "a.trn", "B.trn", "c.trn.md", ".hidden.trn", "a-b.trn", "trn"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) cr_assert_eq(put(&folder, names[i], TEXT("")), WORLD_OK);
    Text *paths, slash = in(&folder, "");
    uint32_t count;
    World world = folder.world;
    cr_assert_eq(world.list(world.context, folder.arena, text_from(folder.path), TEXT(".trn"), &paths, &count), WORLD_OK);
    cr_assert_eq(count, 4u);
    cr_assert(text_equal(paths[0], in(&folder, "B.trn")));
    cr_assert(text_equal(paths[1], in(&folder, "a-b.trn")));
    cr_assert(text_equal(paths[2], in(&folder, "a.trn")));
    cr_assert(text_equal(paths[3], in(&folder, "b.trn")));
    cr_assert_eq(world.list(world.context, folder.arena, slash, TEXT(".md"), &paths, &count), WORLD_OK);
    cr_assert_eq(count, 1u);
    cr_assert(text_equal(paths[0], in(&folder, "c.trn.md")), "no second slash");
    cr_assert_eq(world.list(world.context, folder.arena, in(&folder, "none"), TEXT(".md"), &paths, &count), WORLD_MISSING);
    cr_assert_eq(count, 0u);
    cr_assert_eq(world.list(world.context, folder.arena, in(&folder, "a.trn"), TEXT(""), &paths, &count), WORLD_MISSING);
    folder_close(&folder);
}

Test(world, lists_the_current_folder_without_a_prefix) {
    Folder folder = folder_open();
    cr_assert_eq(put(&folder, "a.trn", TEXT("")), WORLD_OK);
    cr_assert_eq(chdir(folder.path), 0);
    Text *paths;
    uint32_t count;
    cr_assert_eq(folder.world.list(folder.world.context, folder.arena, TEXT(""), TEXT(".trn"), &paths, &count), WORLD_OK);
    cr_assert_eq(count, 1u);
    cr_text(paths[0], "a.trn");
    cr_assert_eq(chdir("/"), 0);
    folder_close(&folder);
}

Test(world, resolves_links) {
    Folder folder = folder_open();
    Text real, direct;
    World world = folder.world;
    cr_assert_eq(put(&folder, "a", TEXT("")), WORLD_OK);
    cr_assert_eq(symlink("a", string_in(&folder, "link")), 0);
    cr_assert_eq(symlink("loop", string_in(&folder, "loop")), 0);
    cr_assert_eq(world.resolve(world.context, folder.arena, in(&folder, "a"), &direct), WORLD_OK);
    cr_assert_eq(world.resolve(world.context, folder.arena, in(&folder, "./link"), &real), WORLD_OK);
    cr_assert(text_equal(real, direct));
    cr_assert_eq(world.resolve(world.context, folder.arena, in(&folder, "none"), &real), WORLD_MISSING);
    cr_assert_eq(world.resolve(world.context, folder.arena, in(&folder, "loop"), &real), WORLD_FAILED);
    cr_assert_eq(real.length, 0u);
    folder_close(&folder);
}

Test(world, prints_all_and_notices_a_closed_stream) {
    Folder folder = folder_open();
    World world = folder.world;
    int kept = dup(2), file = open(string_in(&folder, "out"), O_WRONLY | O_CREAT, 0600);
    cr_assert(kept >= 0 && file >= 0);
    cr_assert_eq(dup2(file, 2), 2);
    WorldResult good = world.print(world.context, 2, TEXT("two words\n"));
    close(2);
    WorldResult bad = world.print(world.context, 2, TEXT("lost"));
    cr_assert_eq(dup2(kept, 2), 2);
    close(file);
    close(kept);
    Text bytes;
    cr_assert_eq(good, WORLD_OK);
    cr_assert_eq(bad, WORLD_FAILED);
    cr_assert_eq(get(&folder, in(&folder, "out"), &bytes), WORLD_OK);
    cr_text(bytes, "two words\n");
    folder_close(&folder);
}

Test(world, a_full_disk_is_a_failure) {
    int full = open("/dev/full", O_WRONLY);
    if (full < 0) cr_skip_test("no /dev/full here");
    World world = world_of_system();
    int kept = dup(1);
    cr_assert_eq(dup2(full, 1), 1);
    WorldResult result = world.print(world.context, 1, TEXT("lost"));
    cr_assert_eq(dup2(kept, 1), 1);
    close(kept);
    close(full);
    cr_assert_eq(result, WORLD_FAILED);
}

Test(world, every_result_has_words) {
    for (int i = WORLD_OK; i <= WORLD_FAILED; i++) cr_assert_gt(world_reason((WorldResult)i).length, 5u);
    cr_text(world_reason(WORLD_MISSING), "is not there");
}
