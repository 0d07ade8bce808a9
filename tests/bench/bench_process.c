/* What a whole process costs:  bench_process RUNS PROGRAM ARGUMENTS…
 *
 * Starts the program RUNS times, one after the other, and prints the median and the smallest wall time in milliseconds, the
 * smallest processor time in milliseconds (of all its threads together) and the largest memory in kB.
 * Ends with 1 when the program could not be run or its exit status changed from run to run. */
#include <errno.h>
#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>

/* Its declaration is left to the user by POSIX. */
extern char **environ;

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

/* Processor time of all children so far; the memory is that of the largest, in kB. */
static double children_ms(long *memory)
{
    struct rusage usage;
    getrusage(RUSAGE_CHILDREN, &usage);
    *memory = usage.ru_maxrss;
    return (double)(usage.ru_utime.tv_sec + usage.ru_stime.tv_sec) * 1e3 + (double)(usage.ru_utime.tv_usec + usage.ru_stime.tv_usec) / 1e3;
}

int main(int count, char **arguments)
{
    size_t runs = count > 2 ? strtoul(arguments[1], NULL, 10) : 0;
    double *took = runs ? malloc(runs * sizeof *took) : NULL;
    if (!took) {
        fprintf(stderr, "usage: bench_process RUNS PROGRAM ARGUMENTS...\n");
        return 2;
    }
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 0, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&actions, 2, "/dev/null", O_WRONLY, 0);
    int first = 0;
    long memory = 0;
    double least_worked = 1e300, worked_before = children_ms(&memory);
    for (size_t i = 0; i < runs; i++) {
        double begun = now_ms();
        pid_t child;
        int status = 0;
        int fault = posix_spawn(&child, arguments[2], &actions, NULL, arguments + 2, environ);
        if (fault || waitpid(child, &status, 0) != child) {
            fprintf(stderr, "bench_process: cannot run %s: %s\n", arguments[2], strerror(fault ? fault : errno));
            return 1;
        }
        took[i] = now_ms() - begun;
        double worked = children_ms(&memory);
        if (worked - worked_before < least_worked) least_worked = worked - worked_before;
        worked_before = worked;
        if (i == 0) first = status;
        if (status != first || !WIFEXITED(status)) {
            fprintf(stderr, "bench_process: %s ended with status %d, then with %d\n", arguments[2], first, status);
            return 1;
        }
    }
    posix_spawn_file_actions_destroy(&actions);
    qsort(took, runs, sizeof *took, by_size);
    printf("%.3f %.3f %.3f %ld\n", took[runs / 2], took[0], least_worked, memory);
    free(took);
    return 0;
}
