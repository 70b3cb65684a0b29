/* How fast a study of surge variants of the demonstration site is: beside the same variants solved
 * one by one with nothing around them (site in memory, steady answer, surge), and on two threads.
 * A measurement, no test:
 *   cmake --build build --target bench_study && build/bench_study [--full | COUNT]
 * --full: 10,000 variants, an hour or more; else COUNT, or 24. Processor time does not see a thread
 * that waits, the wall's time sees what else the machine does: both are told. */
#include "io/door/door.h"
#include "io/door/variants.h"
#include "solver/study/sweep.h"
#include "tests/bench/measure.h"

#include <stdlib.h>
#include <string.h>

static const char study_text[] =
    "\nstudy:\n"
    "  vary:\n"
    "    water.temperature: 4 .. 24 degC\n"
    "    header.level: 13.0 .. 14.2 m\n"
    "    lift-1.speed: 2700 .. 2900 rpm\n"
    "    spring delivery.type: [spring cone, ball, swing flap, dual plate]\n"
    "  combine: latin hypercube\n"
    "  samples: %d\n"
    "  seed: 5\n"
    "  measures: [slam head of spring delivery, highest share, lowest margin]\n";

struct job {
    const char *path;
    int count;
    int workers; /* 0: one by one with nothing around */
};

enum { PROCESSOR, WALL, KEPT };

static double wall(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* The case with the study below it. */
static bool read_case(const struct job *job, struct variants *variants, struct arena *arena)
{
    struct faults faults;
    struct site *site = NULL;
    enum { ROOM = 100000 };
    char *text = arena_take(arena, ROOM, 1);
    FILE *file = fopen(job->path, "r");
    faults_init(&faults, arena);
    if (!text || !file) {
        return false;
    }
    const size_t length = fread(text, 1, ROOM - sizeof study_text - 20, file);
    (void)fclose(file);
    (void)snprintf(text + length, ROOM - length, study_text, job->count);
    return read_site_text(job->path, text, strlen(text), arena, &site, &faults) &&
           variants_init(variants, site, arena);
}

static bool solve_bare(struct variants *variants, int index, double value[])
{
    struct failure failure = {0};
    struct steady steady;
    struct surge surge = {0};
    struct row row;
    struct arena *arena = arena_new();
    row_init(&row);
    const struct site *site = variants_site(variants, index, arena, &row, &failure);
    if (!site) {
        arena_free(arena);
        return false;
    }
    const double start = measure_seconds();
    struct steady_solver *solver = steady_solver_new(site->network, &failure);
    const bool is_good =
        solver && steady_init(&steady, site->network, arena, &failure) &&
        steady_solve(solver, site->network, &site->water, &steady_defaults, &steady, &failure) &&
        surge_run_plan(site, site->network, &steady, &surge_defaults, &surge, arena, &failure);
    steady_solver_free(solver);
    value[PROCESSOR] += measure_seconds() - start;
    arena_free(arena);
    return is_good;
}

static bool keep(void *user, int variant, const struct row *row)
{
    (void)variant;
    *(double *)user += row->status == ROW_DONE ? 1.0 : 0.0;
    return true;
}

static bool measure(void *what, double value[MEASURE_VALUES])
{
    const struct job *job = what;
    struct variants variants;
    struct failure failure = {0};
    bool is_good = true;
    bool is_whole = false;
    struct arena *arena = arena_new();
    if (!arena || !read_case(job, &variants, arena)) {
        return false;
    }
    const double start = measure_seconds();
    const double wall_start = wall();
    if (job->workers == 0) {
        for (int i = 0; i < job->count && is_good; i++) {
            is_good = solve_bare(&variants, i, value);
        }
    } else {
        const struct study *study = &variants.case_study.study;
        const struct sweep sweep = {.worker_count = job->workers,
                                    .count = variants.count,
                                    .runs = study->runs,
                                    .measure_count = study->measure_count,
                                    .measures = study->measures,
                                    .site = variants_site,
                                    .keep = keep,
                                    .site_user = &variants,
                                    .keep_user = &value[KEPT]};
        is_good = sweep_run(&sweep, &is_whole, &failure) && is_whole;
        value[PROCESSOR] = measure_seconds() - start;
    }
    value[WALL] = wall() - wall_start;
    variants_clear(&variants);
    arena_free(arena);
    return is_good;
}

static void tell(int count, const double bare[], const double one[], const double two[])
{
    printf("study of %d surge variants: %.0f with an answer; one by one %.2f s, one thread %.2f s, "
           "two threads %.2f s of processor; one thread %.2f s, two %.2f s of the wall\n",
           count, one[KEPT], bare[PROCESSOR], one[PROCESSOR], two[PROCESSOR], one[WALL], two[WALL]);
    measure_row("a study of surges of 20 s, a core", count / one[PROCESSOR], "variants/s",
                "one by one, nothing around", one[PROCESSOR] / bare[PROCESSOR], WISH_AT_MOST, 1.1);
    measure_row("  two threads, by the wall", count / two[WALL], "variants/s", "twice one thread",
                one[WALL] / (2.0 * two[WALL]), WISH_AT_LEAST, 0.95);
    measure_row("  two threads, by the processor", count / two[PROCESSOR], "variants/s",
                "one thread", one[PROCESSOR] / two[PROCESSOR], WISH_AT_LEAST, 0.95);
}

int main(int argc, char **argv)
{
    const bool is_full = argc > 1 && strcmp(argv[1], "--full") == 0;
    struct job job = {SOURCE_DIR "/cases/alder-beck.yaml", 24, 0};
    double value[3][MEASURE_VALUES] = {{0.0}};
    double memory = 0.0;
    job.count = is_full ? 10000 : argc > 1 ? (int)strtol(argv[1], NULL, 10) : job.count;
    if (job.count < 1) {
        (void)fprintf(stderr, "usage: bench_study [--full | COUNT]\n");
        return 2;
    }
    for (job.workers = 0; job.workers < 3; job.workers++) {
        if (!measure_apart(measure, &job, value[job.workers], &memory)) {
            (void)fprintf(stderr, "bench_study: no answer\n");
            return 1;
        }
    }
    tell(job.count, value[0], value[1], value[2]);
    return 0;
}
