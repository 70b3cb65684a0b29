/* What the measuring programs share: clocks, memory, a child process for each measurement, so that
 * none finds a heap that another one warmed or filled, and the rows of the one table that
 * scripts/bench makes of them. */
#ifndef TESTS_BENCH_MEASURE_H
#define TESTS_BENCH_MEASURE_H

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { MEASURE_VALUES = 10 };

/* Seconds of the processor, so that other work on the machine counts less. */
static inline double measure_seconds(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* The most memory this process has had at once, MiB. */
static inline double measure_peak(void)
{
    struct rusage usage;
    (void)getrusage(RUSAGE_SELF, &usage);
    return (double)usage.ru_maxrss / 1024.0;
}

/* Something to be measured: true when it went well; its numbers in `value`. */
typedef bool measure_task(void *what, double value[MEASURE_VALUES]);

/* Does the task in a child process. `memory` becomes what its peak rose by, MiB. */
static inline bool measure_apart(measure_task *task, void *what, double value[MEASURE_VALUES],
                                 double *memory)
{
    double told[MEASURE_VALUES + 1] = {0.0};
    int ends[2];
    (void)fflush(stdout);
    if (pipe(ends) != 0) {
        return false;
    }
    const pid_t child = fork();
    if (child == 0) {
        const double before = measure_peak();
        const bool is_good = task(what, told);
        told[MEASURE_VALUES] = measure_peak() - before;
        const bool is_told = write(ends[1], told, sizeof told) == (ssize_t)sizeof told;
        _exit(is_good && is_told ? 0 : 1);
    }
    (void)close(ends[1]);
    const bool is_read = read(ends[0], told, sizeof told) == (ssize_t)sizeof told;
    (void)close(ends[0]);
    int status = 1;
    if (child < 0 || waitpid(child, &status, 0) != child || status != 0 || !is_read) {
        return false;
    }
    for (int i = 0; i < MEASURE_VALUES; i++) {
        value[i] = told[i];
    }
    *memory = told[MEASURE_VALUES];
    return true;
}

/* One of several programs that are measured by turns. */
struct measure_turn {
    measure_task *task;
    void *what;
    double *value; /* [MEASURE_VALUES] of each number the least */
    double memory; /* MiB, the least */
};

/* All of them by turns, each in a process of its own, some times over: a slow minute of the machine
 * is met by all. Of each number the least counts, which other work on the machine disturbed least.
 */
static inline bool measure_turns(int times, int count, struct measure_turn turn[count])
{
    for (int i = 0; i < times; i++) {
        for (int k = 0; k < count; k++) {
            double next[MEASURE_VALUES];
            double size = 0.0;
            if (!measure_apart(turn[k].task, turn[k].what, next, &size)) {
                return false;
            }
            for (int v = 0; v < MEASURE_VALUES; v++) {
                turn[k].value[v] = i == 0 ? next[v] : fmin(turn[k].value[v], next[v]);
            }
            turn[k].memory = i == 0 ? size : fmin(turn[k].memory, size);
        }
    }
    return true;
}

/* The same of one alone. */
static inline bool measure_best(int times, measure_task *task, void *what,
                                double value[MEASURE_VALUES], double *memory)
{
    struct measure_turn turn = {task, what, value, 0.0};
    const bool is_good = measure_turns(times, 1, &turn);
    *memory = turn.memory;
    return is_good;
}

enum wish { WISH_NONE, WISH_AT_MOST, WISH_AT_LEAST };

/* One row of the table. `ratio` is the number that is judged; `beside` says what it is a ratio to,
 * or that it is the measured number itself. */
static inline void measure_row(const char *what, double measured, const char *unit,
                               const char *beside, double ratio, enum wish wish, double limit)
{
    static const char *const signs[] = {"", "<=", ">="};
    char wanted[32] = "-";
    const char *judged = "-";
    if (wish != WISH_NONE) {
        (void)snprintf(wanted, sizeof wanted, "%s %.3g", signs[wish], limit);
        judged = (wish == WISH_AT_MOST ? ratio <= limit : ratio >= limit) ? "met" : "missed";
    }
    printf("row\t%s\t%.3g %s\t%s\t%.2f\t%s\t%s\n", what, measured, unit, beside, ratio, wanted,
           judged);
}

#endif
