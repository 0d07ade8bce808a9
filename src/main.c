/* The program: the real world, an arena, and the command line. */
#include <stdlib.h>
#include <unistd.h>

#include "command/command.h"

static void exhausted(void *context) {
    static const char words[] = "trunnion: the machine has no more memory\n";
    (void)context;
    ssize_t written = write(2, words, sizeof words - 1);
    (void)written;
    _exit(3);
}

int main(int count, char **arguments) {
    Arena *arena = arena_open(exhausted, NULL);
    World world = world_of_system();
    Text *texts = ARENA_ARRAY(arena, Text, count > 0 ? (size_t)count : 1);
    for (int i = 0; i < count; i++) texts[i] = text_from(arguments[i]);
    int status = command_run(arena, &world, texts, count > 0 ? (uint32_t)count : 0);
    arena_close(arena);
    return status;
}
