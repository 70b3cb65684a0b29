/* How fast a study of surge variants of the demonstration site is. A measurement, no test:
 *   cmake --build build --target bench_study && build/bench_study [--full | COUNT]
 * --full: 10,000 variants, a quarter of an hour on two quiet cores; else COUNT, or 120.
 *
 * Each variant is run for 6 s, as `choose` of that case is: the pumps stop at 0.5 s, every valve
 * has shut for the first time by 2 s, the main (0.3 s from end to end) is crossed twenty times.
 * Some are run for the case's own 20 s too, and it is told whether that changes any of their
 * measures.
 *
 * All variants are worked off by two threads, block by block. In some blocks spread over the run
 * the same variants are also solved
 *   one by one with nothing around (site in memory, steady answer, surge): what they cost at least;
 *   by the study on one thread: twice its wall is what two threads can give on a quiet machine;
 *   by two processes at once that share nothing, half of the block each: what two threads can give
 *     on this machine now, whatever else it does and whether its cores are whole ones or not.
 * The four ways go in one order and the next time in the other, so that a machine that grows slower
 * or quicker favours none. Of the blocks' ratios the middle one is told. Processor time does not
 * see a thread that waits, the wall's time sees what else the machine does: both are told. */
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

static const double DURATION = 6.0; /* s */
static const double SAME = 1e-9;    /* share by which a measure may differ and be the same */
enum { FULL = 10000, SHORT = 120, BLOCK = 100, SAMPLES = 5, CHECKED = 8 };

/* The variants, and for how long each is run. */
struct bench {
    struct variants variants;
    double duration; /* s; 0: as the case has it */
    struct arena *arena;
    bool *is_done; /* [count] all but those in question */
    double kept;   /* rows with an answer */
};

struct times {
    double processor;
    double wall;
};

/* One block measured in every way. */
struct sample {
    struct times bare;
    struct times one;
    struct times two;
    struct times apart; /* two processes */
};

static struct times now(void)
{
    struct timespec wall;
    (void)clock_gettime(CLOCK_MONOTONIC, &wall);
    return (struct times){measure_seconds(), (double)wall.tv_sec + 1e-9 * (double)wall.tv_nsec};
}

static struct times since(struct times start)
{
    const struct times end = now();
    return (struct times){end.processor - start.processor, end.wall - start.wall};
}

/* The case with the study below it. */
static bool read_case(const char *path, int count, struct bench *bench)
{
    struct faults faults;
    struct site *site = NULL;
    enum { ROOM = 100000 };
    char *text = arena_take(bench->arena, ROOM, 1);
    FILE *file = fopen(path, "r");
    faults_init(&faults, bench->arena);
    if (!text || !file) {
        return false;
    }
    const size_t length = fread(text, 1, ROOM - sizeof study_text - 20, file);
    (void)fclose(file);
    (void)snprintf(text + length, ROOM - length, study_text, count);
    bench->is_done = arena_take(bench->arena, (size_t)count, sizeof *bench->is_done);
    return bench->is_done &&
           read_site_text(path, text, strlen(text), bench->arena, &site, &faults) &&
           variants_init(&bench->variants, site, bench->arena);
}

/* The shape of sweep.site. */
static const struct site *make_site(void *user, int variant, struct arena *arena, struct row *row,
                                    struct failure *failure)
{
    struct bench *bench = user;
    const struct site *site = variants_site(&bench->variants, variant, arena, row, failure);
    struct site *shorter = site ? arena_take(arena, 1, sizeof *shorter) : NULL;
    if (shorter) {
        *shorter = *site;
        shorter->surge.duration = bench->duration > 0.0 ? bench->duration : site->surge.duration;
    }
    return shorter;
}

static bool keep(void *user, int variant, const struct row *row)
{
    struct bench *bench = user;
    (void)variant;
    bench->kept += row->status == ROW_DONE ? 1.0 : 0.0;
    return true;
}

static void choose_variants(struct bench *bench, int first, int end, int stride)
{
    for (int i = 0; i < bench->variants.count; i++) {
        bench->is_done[i] = i < first || i >= end || (i - first) % stride != 0;
    }
}

/* Works off what is not done. */
static bool sweep(struct bench *bench, int workers)
{
    const struct study *study = &bench->variants.case_study.study;
    const struct sweep work = {.worker_count = workers,
                               .count = bench->variants.count,
                               .is_done = bench->is_done,
                               .runs = study->runs,
                               .measure_count = study->measure_count,
                               .measures = study->measures,
                               .site = make_site,
                               .keep = keep,
                               .site_user = bench,
                               .keep_user = bench};
    struct failure failure = {0};
    bool is_whole = false;
    return sweep_run(&work, &is_whole, &failure) && is_whole;
}

/* --- the ways to measure one block --- */

static bool solve_bare(struct bench *bench, int index, double *seconds)
{
    struct failure failure = {0};
    struct steady steady;
    struct surge surge = {0};
    struct row row;
    struct arena *arena = arena_new();
    row_init(&row);
    const struct site *site = make_site(bench, index, arena, &row, &failure);
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
    *seconds += measure_seconds() - start;
    arena_free(arena);
    return is_good;
}

static bool measure_bare(struct bench *bench, int first, int end, struct times *times)
{
    const struct times start = now();
    double seconds = 0.0;
    bool is_good = true;
    for (int i = first; i < end && is_good; i++) {
        is_good = solve_bare(bench, i, &seconds);
    }
    *times = since(start);
    times->processor = seconds;
    return is_good;
}

static bool measure_threads(struct bench *bench, int first, int end, int workers,
                            struct times *times)
{
    choose_variants(bench, first, end, 1);
    const struct times start = now();
    const bool is_good = sweep(bench, workers);
    *times = since(start);
    return is_good;
}

/* Only the wall's time. The processes are forked before any is let go. */
static bool measure_processes(struct bench *bench, int first, int end, struct times *times)
{
    enum { PROCESSES = 2 };
    pid_t child[PROCESSES];
    bool is_good = true;
    (void)fflush(stdout);
    const struct times start = now();
    for (int k = 0; k < PROCESSES; k++) {
        child[k] = fork();
        if (child[k] == 0) {
            choose_variants(bench, first + k, end, PROCESSES);
            _exit(sweep(bench, 1) ? 0 : 1);
        }
    }
    for (int k = 0; k < PROCESSES; k++) {
        int status = 1;
        is_good =
            child[k] > 0 && waitpid(child[k], &status, 0) == child[k] && status == 0 && is_good;
    }
    *times = since(start);
    return is_good;
}

/* --- whether the shorter run says the same --- */

static bool measure_row_of(struct bench *bench, int variant, double duration, struct row *row)
{
    struct failure failure = {0};
    const struct study *study = &bench->variants.case_study.study;
    struct arena *arena = arena_new();
    struct variant_bench *worker = variant_bench_new(&failure);
    bench->duration = duration;
    row_init(row);
    const struct site *site = make_site(bench, variant, arena, row, &failure);
    const bool is_good = site && worker &&
                         variant_solve(worker, site, study->runs, study->measure_count,
                                       study->measures, arena, row, &failure);
    bench->duration = DURATION;
    variant_bench_free(worker);
    arena_free(arena);
    return is_good;
}

static bool compare_durations(struct bench *bench, int count)
{
    int same = 0;
    double most = 0.0;
    for (int i = 0; i < count; i++) {
        struct row shorter;
        struct row longer;
        if (!measure_row_of(bench, i, DURATION, &shorter) ||
            !measure_row_of(bench, i, 0.0, &longer)) {
            return false;
        }
        bool is_same = true;
        for (int k = 0; k < bench->variants.case_study.study.measure_count; k++) {
            const double change = fabs(shorter.value[k] / longer.value[k] - 1.0);
            is_same = is_same && change <= SAME;
            most = fmax(most, change);
        }
        same += is_same;
    }
    printf("%d of %d variants have the same measures after %g s as after the case's own time, the "
           "others to %.2g %%\n",
           same, count, DURATION, 100.0 * most);
    return true;
}

/* --- the whole --- */

static int compare_numbers(const void *left, const void *right)
{
    const double *a = left;
    const double *b = right;
    return (*a > *b) - (*a < *b);
}

static double middle(int count, double values[])
{
    qsort(values, (size_t)count, sizeof *values, compare_numbers);
    return count % 2 ? values[count / 2] : 0.5 * (values[count / 2 - 1] + values[count / 2]);
}

static void tell(const struct bench *bench, struct times all, int sample_count,
                 const struct sample samples[])
{
    double around[SAMPLES];
    double one[SAMPLES];
    double apart[SAMPLES];
    const int count = bench->variants.count;
    for (int i = 0; i < sample_count; i++) {
        const struct sample *sample = &samples[i];
        around[i] = sample->one.processor / sample->bare.processor;
        one[i] = sample->one.wall / (2.0 * sample->two.wall);
        apart[i] = sample->apart.wall / sample->two.wall;
        printf("  sample %d: one by one %.2f s, one thread %.2f s, two %.2f s of processor; one "
               "thread %.2f s, two %.2f s, two processes %.2f s of the wall\n",
               i + 1, sample->bare.processor, sample->one.processor, sample->two.processor,
               sample->one.wall, sample->two.wall, sample->apart.wall);
    }
    printf("study of %d surge variants of %g s on two threads: %.0f with an answer, %.1f s of the "
           "wall, %.1f s of processor\n",
           count, DURATION, bench->kept, all.wall, all.processor);
    measure_row("a study of surges of 6 s, a core", count / all.processor, "variants/s",
                "one by one, nothing around", middle(sample_count, around), WISH_AT_MOST, 1.1);
    measure_row("  two threads, by the wall", count / all.wall, "variants/s",
                "two processes that share nothing", middle(sample_count, apart), WISH_AT_LEAST,
                0.95);
    measure_row("  the same (quiet machine only)", count / all.wall, "variants/s",
                "twice one thread", middle(sample_count, one), WISH_AT_LEAST, 0.95);
}

/* One block in every way, or by two threads alone. */
static bool measure_block(struct bench *bench, int first, int end, bool is_sampled,
                          bool is_reversed, struct sample *here)
{
    enum { WAYS = 4 };
    for (int k = 0; k < WAYS; k++) {
        const int way = is_reversed ? WAYS - 1 - k : k;
        const double kept = bench->kept;
        const bool is_good = way == 0      ? measure_threads(bench, first, end, 2, &here->two)
                             : !is_sampled ? true
                             : way == 1    ? measure_processes(bench, first, end, &here->apart)
                             : way == 2    ? measure_threads(bench, first, end, 1, &here->one)
                                           : measure_bare(bench, first, end, &here->bare);
        if (!is_good) {
            return false;
        }
        bench->kept = way == 0 ? bench->kept : kept;
    }
    return true;
}

/* All blocks by two threads, some in every way. */
static bool measure_all(struct bench *bench)
{
    struct sample samples[SAMPLES];
    struct times all = {0.0, 0.0};
    const int count = bench->variants.count;
    const int share = (count + SAMPLES - 1) / SAMPLES;
    const int block = share < BLOCK ? share : BLOCK;
    const int blocks = (count + block - 1) / block;
    int sample_count = 0;
    for (int i = 0; i < blocks; i++) {
        const int first = i * block;
        const int end = first + block < count ? first + block : count;
        const bool is_sampled = i * SAMPLES >= sample_count * blocks && sample_count < SAMPLES;
        struct sample here = {0};
        if (!measure_block(bench, first, end, is_sampled, sample_count % 2 == 1, &here)) {
            return false;
        }
        all.processor += here.two.processor;
        all.wall += here.two.wall;
        if (is_sampled) {
            samples[sample_count++] = here;
        }
        if (blocks > SAMPLES && (i + 1) % 10 == 0) {
            printf("%d of %d variants, %.0f s\n", end, count, all.wall);
            (void)fflush(stdout);
        }
    }
    tell(bench, all, sample_count, samples);
    return true;
}

int main(int argc, char **argv)
{
    const bool is_full = argc > 1 && strcmp(argv[1], "--full") == 0;
    const int count = is_full ? FULL : argc > 1 ? (int)strtol(argv[1], NULL, 10) : SHORT;
    if (count < 1) {
        (void)fprintf(stderr, "usage: bench_study [--full | COUNT]\n");
        return 2;
    }
    struct bench bench = {.duration = DURATION, .arena = arena_new()};
    const bool is_good =
        bench.arena && read_case(SOURCE_DIR "/cases/alder-beck.yaml", count, &bench) &&
        compare_durations(&bench, count < CHECKED ? count : CHECKED) && measure_all(&bench);
    variants_clear(&bench.variants);
    arena_free(bench.arena);
    if (!is_good) {
        (void)fprintf(stderr, "bench_study: no answer\n");
    }
    return is_good ? 0 : 1;
}
