/* How long a whole command takes from nothing, beside another program that is small and links a
 * like set of libraries; both in turn, so that what else the machine does meets both.
 *     bench_start PROGRAM CASE */
#include "tests/bench/measure.h"

#include <fcntl.h>
#include <stdlib.h>

enum { TIMES = 40, COMMANDS = 2 };

struct cost {
    double wall;      /* s */
    double processor; /* s */
};

static double seconds_of(struct timeval time)
{
    return (double)time.tv_sec + 1e-6 * (double)time.tv_usec;
}

static bool run(char *const words[], struct cost *cost)
{
    struct timespec begun;
    struct timespec ended;
    struct rusage before;
    struct rusage after;
    int status = 1;
    (void)getrusage(RUSAGE_CHILDREN, &before);
    (void)clock_gettime(CLOCK_MONOTONIC, &begun);
    const pid_t child = fork();
    if (child == 0) {
        const int nowhere = open("/dev/null", O_WRONLY);
        (void)dup2(nowhere, STDOUT_FILENO);
        (void)dup2(nowhere, STDERR_FILENO);
        (void)execvp(words[0], words);
        _exit(127);
    }
    const bool is_done = child > 0 && waitpid(child, &status, 0) == child && status == 0;
    (void)clock_gettime(CLOCK_MONOTONIC, &ended);
    (void)getrusage(RUSAGE_CHILDREN, &after);
    cost->wall =
        (double)(ended.tv_sec - begun.tv_sec) + 1e-9 * (double)(ended.tv_nsec - begun.tv_nsec);
    cost->processor = seconds_of(after.ru_utime) + seconds_of(after.ru_stime) -
                      seconds_of(before.ru_utime) - seconds_of(before.ru_stime);
    return is_done;
}

int main(int count, char *argument[])
{
    if (count != 3) {
        (void)fputs("usage: bench_start PROGRAM CASE\n", stderr);
        return 2;
    }
    char steady[] = "steady";
    char peer[] = "h5dump";
    char version[] = "--version";
    char *const commands[COMMANDS][4] = {{argument[1], steady, argument[2], NULL},
                                         {peer, version, NULL, NULL}};
    struct cost least[COMMANDS] = {{1e9, 1e9}, {1e9, 1e9}};
    for (int i = 0; i < TIMES; i++) {
        for (int k = 0; k < COMMANDS; k++) {
            struct cost cost;
            if (!run(commands[k], &cost)) {
                printf("cold start: '%s' could not be run\n", commands[k][0]);
                return 1;
            }
            least[k].wall = fmin(least[k].wall, cost.wall);
            least[k].processor = fmin(least[k].processor, cost.processor);
        }
    }
    printf("cold start, least of %d: steady %.1f ms of the wall, %.1f ms of the processor; h5dump "
           "--version %.1f, %.1f ms\n",
           TIMES, 1e3 * least[0].wall, 1e3 * least[0].processor, 1e3 * least[1].wall,
           1e3 * least[1].processor);
    measure_row("cold start of steady", 1e3 * least[0].wall, "ms", "(milliseconds)",
                1e3 * least[0].wall, WISH_AT_MOST, 50.0);
    measure_row("  the same", 1e3 * least[0].wall, "ms", "h5dump --version",
                least[0].wall / least[1].wall, WISH_AT_MOST, 3.0);
    return 0;
}
