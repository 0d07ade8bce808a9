/* Runs a program on torn copies of a file:  torn PROGRAM FILE COUNT SEED KEEP
 *
 * A third of the COUNT copies is cut off at places spread evenly over the file; the others have bytes changed, lost,
 * doubled or put in, by a fixed sequence of random numbers. Each copy takes FILE's place, so that what the file uses is
 * still found beside it. The program must end by itself within 10 s with a status from 0 to 3. A copy on which it does
 * not is kept as KEEP-N. FILE is put back at the end. Prints "N passed, N failed". */
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { PATIENCE = 10 /* s */, KEEP_AT_MOST = 20, INSERTED_AT_MOST = 64 };

/* Its declaration is left to the user by POSIX. */
extern char **environ;

typedef struct Bytes {
    unsigned char *at;
    size_t length;
} Bytes;

static void die(const char *what, const char *path)
{
    fprintf(stderr, "torn: %s %s: %s\n", what, path, strerror(errno));
    exit(2);
}

static Bytes read_whole(const char *path)
{
    FILE *file = fopen(path, "rb");
    if (!file || fseek(file, 0, SEEK_END) != 0) die("cannot read", path);
    long size = ftell(file);
    if (size < 0) die("cannot read", path);
    rewind(file);
    Bytes bytes = {malloc((size_t)size + 1), (size_t)size};
    if (!bytes.at || fread(bytes.at, 1, bytes.length, file) != bytes.length) die("cannot read", path);
    fclose(file);
    return bytes;
}

static void write_whole(const char *path, Bytes bytes)
{
    FILE *file = fopen(path, "wb");
    if (!file || fwrite(bytes.at, 1, bytes.length, file) != bytes.length || fclose(file) != 0) die("cannot write", path);
}

/* splitmix64: the same numbers on every machine. */
static uint64_t random_next(uint64_t *state)
{
    uint64_t z = *state += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static size_t random_below(uint64_t *state, size_t limit)
{
    return limit ? (size_t)(random_next(state) % limit) : 0;
}

/* Replaces `lost` bytes at `place` by `put`. `copy` has room for INSERTED_AT_MOST more bytes each time. */
static void splice(Bytes *copy, size_t place, size_t lost, const void *put, size_t length)
{
    memmove(copy->at + place + length, copy->at + place + lost, copy->length - place - lost);
    memcpy(copy->at + place, put, length);
    copy->length = copy->length - lost + length;
}

static const char *const scraps[] = {
    "{",  "}",    "(",    ")",  "\"",       "--",    "§",         "§9.9",   "=",     "..",   ".",   ",",     ";",
    ":",  "±",    "1e999", "0", "-",        "to",    "if ",       "then ",  "else ", "^",    " at", "any",   "\n",
    "\r", "\t",   "```\n", ">", "form ",    "rule ", "requirement ", "use \"", "|",  "](#",  "0/0", "cycle ", "\xff",
    "\xc3", "\xe2\x80\xae", "µ", "1e-400 m", "table {", "several", "settles from ", "yes", "not ", "* 1e308", "let ", " in ",
};

static void change(Bytes *copy, uint64_t *state)
{
    size_t place = random_below(state, copy->length + 1);
    size_t rest = copy->length - place;
    size_t some = 1 + random_below(state, INSERTED_AT_MOST);
    if (some > rest) some = rest;
    switch (random_below(state, 5)) {
    case 0: { /* another byte */
        unsigned char byte = (unsigned char)random_next(state);
        splice(copy, place, rest ? 1 : 0, &byte, 1);
        break;
    }
    case 1: /* lost bytes */
        splice(copy, place, some, "", 0);
        break;
    case 2: { /* doubled bytes */
        unsigned char run[INSERTED_AT_MOST];
        memcpy(run, copy->at + place, some);
        splice(copy, place, 0, run, some);
        break;
    }
    case 3: /* a zero byte */
        splice(copy, place, 0, "", 1);
        break;
    default: { /* a scrap of the language where it does not belong */
        const char *scrap = scraps[random_below(state, sizeof scraps / sizeof *scraps)];
        splice(copy, place, 0, scrap, strlen(scrap));
    }
    }
}

/* The status as the shell tells it; 124 when the program had to be stopped. */
static int run(const char *program, const char *file, const sigset_t *child_ended)
{
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 0, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&actions, 2, "torn.err", O_WRONLY | O_CREAT | O_TRUNC, 0600);
    char *arguments[] = {(char *)(uintptr_t)program, (char *)(uintptr_t) "verify", (char *)(uintptr_t)file, NULL};
    pid_t child;
    int fault = posix_spawn(&child, program, &actions, NULL, arguments, environ);
    posix_spawn_file_actions_destroy(&actions);
    if (fault) {
        errno = fault;
        die("cannot run", program);
    }

    struct timespec begun, now, left = {PATIENCE, 0};
    clock_gettime(CLOCK_MONOTONIC, &begun);
    int status;
    for (;;) {
        pid_t ended = waitpid(child, &status, WNOHANG);
        if (ended == child) return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
        clock_gettime(CLOCK_MONOTONIC, &now);
        left.tv_sec = PATIENCE - (now.tv_sec - begun.tv_sec);
        if (left.tv_sec <= 0) break;
        sigtimedwait(child_ended, NULL, &left);
    }
    kill(child, SIGKILL);
    waitpid(child, &status, 0);
    return 124;
}

static void show_complaint(void)
{
    FILE *file = fopen("torn.err", "rb");
    char line[400];
    for (int shown = 0; file && shown < 12 && fgets(line, sizeof line, file);)
        if (strstr(line, "ERROR:") || strstr(line, "runtime error") || strstr(line, "ssertion") || strstr(line, "    #"))
            printf("    %s", line), shown++;
    if (file) fclose(file);
}

int main(int count, char **arguments)
{
    if (count != 6) {
        fprintf(stderr, "usage: torn PROGRAM FILE COUNT SEED KEEP\n");
        return 2;
    }
    const char *program = arguments[1], *file = arguments[2], *keep = arguments[5];
    unsigned copies = (unsigned)strtoul(arguments[3], NULL, 10);
    uint64_t state = strtoull(arguments[4], NULL, 10);
    sigset_t child_ended;
    sigemptyset(&child_ended);
    sigaddset(&child_ended, SIGCHLD);
    sigprocmask(SIG_BLOCK, &child_ended, NULL);

    Bytes whole = read_whole(file);
    enum { CHANGES_AT_MOST = 8 };
    Bytes copy = {malloc(whole.length + CHANGES_AT_MOST * INSERTED_AT_MOST + 1), 0};
    if (!copy.at) die("no memory for", file);
    unsigned passed = 0, failed = 0, cuts = copies / 3;
    for (unsigned i = 0; i < copies; i++) {
        memcpy(copy.at, whole.at, whole.length);
        copy.length = whole.length;
        if (i < cuts)
            copy.length = (size_t)((double)whole.length * i / cuts);
        else
            for (size_t changes = 1 + random_below(&state, CHANGES_AT_MOST); changes; changes--) change(&copy, &state);
        write_whole(file, copy);
        int status = run(program, file, &child_ended);
        if (status <= 3) {
            passed++;
            continue;
        }
        printf("%s, copy %u: %s %d", file, i, status == 124 ? "not done after 10 s, status" : "exit status", status);
        if (++failed <= KEEP_AT_MOST) {
            char path[4096];
            snprintf(path, sizeof path, "%s-%u", keep, i);
            write_whole(path, copy);
            printf(", kept as %s", path);
        }
        printf("\n");
        show_complaint();
    }
    write_whole(file, whole);
    printf("%u passed, %u failed\n", passed, failed);
    free(copy.at);
    free(whole.at);
    return failed || !passed;
}
