#define _XOPEN_SOURCE 700

#include "base/world.h"

#include <assert.h>
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "base/vector.h"

static WorldResult result_of(int error) {
    switch (error) {
        case ENOENT:
        case ENOTDIR:
        case ENAMETOOLONG: return WORLD_MISSING;
        case EACCES:
        case EPERM:
        case EROFS: return WORLD_FORBIDDEN;
        case EISDIR:
        case ENXIO:
        case ENODEV: return WORLD_NOT_FILE;
        case EFBIG:
        case EOVERFLOW: return WORLD_TOO_LARGE;
        default: return WORLD_FAILED;
    }
}

/* A path with a zero byte inside names nothing. */
static bool can_be_path(Text path) { return path.length && !memchr(path.at, 0, path.length); }

/* ---- reading ---- */

/* Reads to the end, also when the file grows or its size was not known beforehand (files of the kernel say 0). One zero
 * byte follows the text. */
static WorldResult read_all(int file, size_t expected, Arena *arena, Text *bytes) {
    size_t room = expected + 1, length = 0;
    char *at = arena_take_raw(arena, room);
    for (;;) {
        ssize_t got = read(file, at + length, room - length);
        if (got < 0 && errno == EINTR) continue;
        if (got < 0) return result_of(errno);
        if (got == 0) break;
        length += (size_t)got;
        if (length > WORLD_FILE_LIMIT) return WORLD_TOO_LARGE;
        if (length < room) continue;
        at = arena_grow(arena, at, room, 2 * room + 4096);
        room = 2 * room + 4096;
    }
    at[length] = '\0';
    *bytes = (Text){at, length};
    return WORLD_OK;
}

static WorldResult system_read(void *context, Arena *arena, Text path, Text *bytes) {
    (void)context;
    *bytes = (Text){NULL, 0};
    if (!can_be_path(path)) return WORLD_MISSING;
    /* Not blocking: a pipe without a writer must not stop us before we can see that it is one. */
    int file = open(text_zero_ended(arena, path), O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NONBLOCK);
    if (file < 0) return result_of(errno);
    struct stat status;
    WorldResult result;
    if (fstat(file, &status) != 0) {
        result = result_of(errno);
    } else if (!S_ISREG(status.st_mode)) {
        result = WORLD_NOT_FILE;
    } else if (status.st_size > WORLD_FILE_LIMIT) {
        result = WORLD_TOO_LARGE;
    } else {
        result = read_all(file, (size_t)status.st_size, arena, bytes);
    }
    close(file);
    return result;
}

/* ---- listing ---- */

static int compare_paths(const void *a, const void *b) { return text_compare(*(const Text *)a, *(const Text *)b); }

static Text path_in(Arena *arena, Text folder, Text name) {
    TextBuilder path = text_builder(arena);
    text_add(&path, folder);
    if (folder.length && folder.at[folder.length - 1] != '/') text_add_char(&path, '/');
    text_add(&path, name);
    return text_built(&path);
}

/* Names that begin with a dot are hidden, here as in a shell's pattern. */
static WorldResult system_list(void *context, Arena *arena, Text folder, Text ending, Text **paths, uint32_t *count) {
    (void)context;
    *paths = NULL;
    *count = 0;
    if (folder.length && !can_be_path(folder)) return WORLD_MISSING;
    DIR *handle = opendir(folder.length ? text_zero_ended(arena, folder) : ".");
    if (!handle) return result_of(errno);
    VECTOR(Text) found = {0};
    WorldResult result = WORLD_OK;
    for (;;) {
        errno = 0;
        const struct dirent *entry = readdir(handle);
        if (!entry) {
            if (errno) result = result_of(errno);
            break;
        }
        Text name = text_from(entry->d_name);
        if (name.at[0] == '.' || !text_ends(name, ending)) continue;
        VECTOR_PUSH(arena, &found, path_in(arena, folder, name));
    }
    closedir(handle);
    if (result != WORLD_OK) return result;
    if (found.count) qsort(found.at, found.count, sizeof *found.at, compare_paths);
    *paths = found.at;
    *count = found.count;
    return WORLD_OK;
}

/* ---- writing ---- */

static WorldResult write_all(int file, Text bytes) {
    size_t done = 0;
    while (done < bytes.length) {
        ssize_t put = write(file, bytes.at + done, bytes.length - done);
        if (put >= 0) {
            done += (size_t)put;
        } else if (errno == EAGAIN || errno == EWOULDBLOCK) { /* a stream somebody else set not to block */
            struct pollfd ready = {.fd = file, .events = POLLOUT};
            if (poll(&ready, 1, -1) < 0 && errno != EINTR) return WORLD_FAILED;
        } else if (errno != EINTR) {
            return result_of(errno);
        }
    }
    return WORLD_OK;
}

/* A new file beside `path`, hidden; its name into `name`. */
static int open_temporary(const char *path, char *name, size_t room, mode_t mode) {
    const char *slash = strrchr(path, '/');
    int folder = slash ? (int)(slash - path) + 1 : 0;
    for (int attempt = 0; attempt < 100; attempt++) {
        int length = snprintf(name, room, "%.*s.trunnion-%ld-%d.part", folder, path, (long)getpid(), attempt);
        if (length < 0 || (size_t)length >= room) break;
        int file = open(name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, mode);
        if (file >= 0 || errno != EEXIST) return file;
    }
    errno = EEXIST;
    return -1;
}

/* `path` is free of links. `old` is the mode of the file that stands there, 0 when there is none. */
static WorldResult replace(const char *path, mode_t old, Text bytes) {
    size_t room = strlen(path) + 64;
    char *name = malloc(room);
    if (!name) return WORLD_FAILED;
    int file = open_temporary(path, name, room, 0666);
    if (file < 0) {
        WorldResult result = result_of(errno);
        free(name);
        return result;
    }
    WorldResult result = write_all(file, bytes);
    if (result == WORLD_OK && old && fchmod(file, old & 07777) != 0) result = result_of(errno);
    if (result == WORLD_OK && fsync(file) != 0) result = result_of(errno);
    if (close(file) != 0 && result == WORLD_OK) result = result_of(errno);
    if (result == WORLD_OK && rename(name, path) != 0) result = result_of(errno);
    if (result != WORLD_OK) unlink(name);
    free(name);
    return result;
}

static WorldResult write_at(const char *path, Text bytes) {
    struct stat status;
    if (stat(path, &status) != 0) {
        if (errno != ENOENT) return result_of(errno);
        if (lstat(path, &status) == 0) return WORLD_MISSING; /* a link to nothing */
        return replace(path, 0, bytes);
    }
    if (!S_ISREG(status.st_mode)) return WORLD_NOT_FILE;
    if (access(path, W_OK) != 0) return result_of(errno); /* a rename would pass over a file that may not be written */
    char *real = realpath(path, NULL);                    /* a link stays a link */
    if (!real) return result_of(errno);
    WorldResult result = replace(real, status.st_mode, bytes);
    free(real);
    return result;
}

static WorldResult system_write(void *context, Text path, Text bytes) {
    (void)context;
    if (!can_be_path(path)) return WORLD_MISSING;
    char *zero_ended = malloc(path.length + 1);
    if (!zero_ended) return WORLD_FAILED;
    memcpy(zero_ended, path.at, path.length);
    zero_ended[path.length] = '\0';
    WorldResult result = write_at(zero_ended, bytes);
    free(zero_ended);
    return result;
}

/* ---- the rest ---- */

static WorldResult system_resolve(void *context, Arena *arena, Text path, Text *real) {
    (void)context;
    *real = (Text){NULL, 0};
    if (!can_be_path(path)) return WORLD_MISSING;
    char *found = realpath(text_zero_ended(arena, path), NULL);
    if (!found) return result_of(errno);
    *real = text_copy(arena, text_from(found));
    free(found);
    return WORLD_OK;
}

static WorldResult system_print(void *context, int stream, Text bytes) {
    (void)context;
    assert(stream == 1 || stream == 2);
    return write_all(stream, bytes);
}

static Text system_today(void *context, Arena *arena) {
    (void)context;
    time_t now = time(NULL);
    struct tm parts;
    char *date = arena_take(arena, 16);
    if (now == (time_t)-1 || gmtime_r(&now, &parts) == NULL || strftime(date, 16, "%Y-%m-%d", &parts) == 0) return (Text){0};
    return text_from(date);
}

static bool system_is_terminal(void *context, int stream) {
    (void)context;
    return isatty(stream) == 1;
}

static double system_seconds(void *context) {
    (void)context;
    struct timespec now;
    if (clock_gettime(CLOCK_MONOTONIC, &now) != 0) return 0;
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static sigset_t end_signals(void) {
    sigset_t set;
    sigemptyset(&set);
    sigaddset(&set, SIGINT);
    sigaddset(&set, SIGTERM);
    return set;
}

/* Held back and looked for, not caught: so there is no handler, and nothing global that it would have to write to. */
static void system_hold_end(void *context, bool hold) {
    (void)context;
    sigset_t set = end_signals();
    sigprocmask(hold ? SIG_BLOCK : SIG_UNBLOCK, &set, NULL);
}

static bool system_end_asked(void *context) {
    (void)context;
    sigset_t pending, set = end_signals();
    const struct timespec at_once = {0, 0};
    if (sigpending(&pending) != 0 || (!sigismember(&pending, SIGINT) && !sigismember(&pending, SIGTERM))) return false;
    while (sigtimedwait(&set, NULL, &at_once) > 0) {}
    return true;
}

World world_of_system(void) {
    return (World){
        .read = system_read,
        .list = system_list,
        .write = system_write,
        .resolve = system_resolve,
        .print = system_print,
        .today = system_today,
        .is_terminal = system_is_terminal,
        .seconds = system_seconds,
        .hold_end = system_hold_end,
        .end_asked = system_end_asked,
    };
}

Text world_reason(WorldResult result) {
    switch (result) {
        case WORLD_OK: break;
        case WORLD_MISSING: return TEXT("is not there");
        case WORLD_FORBIDDEN: return TEXT("may not be read or written");
        case WORLD_NOT_FILE: return TEXT("is not a file");
        case WORLD_TOO_LARGE: return TEXT("is larger than 1 GiB");
        case WORLD_FAILED: return TEXT("cannot be read or written");
    }
    return TEXT("is fine");
}
