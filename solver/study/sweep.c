#include "solver/study/sweep.h"

#include "solver/study/hand_out.h"
#include "solver/workers.h"

#include <stdlib.h>
#include <time.h>

/* How long a worker with nothing to do sleeps, and how often others are heard: short beside the
 * milliseconds and seconds of a variant, long beside the microseconds of looking. */
static const struct timespec nap = {0, 500000};

struct work {
    const struct sweep *sweep;
    int worker_count;
    struct variant_bench **benches; /* [worker_count] */
    struct workers_lock site_lock;  /* for sweep->site */
    struct workers_lock lock;       /* for next, keep and serve, and what stands below */
    struct arena *arena;
    struct hand_out hand_out; /* when there is no sweep->next */
    bool is_stopped;
    bool is_failed;
    struct failure failure; /* the first */
};

static int next(struct work *work)
{
    int variant = SWEEP_OVER;
    workers_lock_take(&work->lock);
    if (!work->is_stopped && !work->is_failed) {
        variant = work->sweep->next ? work->sweep->next(work->sweep->next_user)
                                    : hand_out_take(&work->hand_out, 0);
    }
    workers_lock_give(&work->lock);
    return variant;
}

static bool solve(struct work *work, int worker, int variant, struct arena *arena, struct row *row,
                  struct failure *failure)
{
    const struct sweep *sweep = work->sweep;
    workers_lock_take(&work->site_lock);
    const struct site *site = sweep->site(sweep->site_user, variant, arena, row, failure);
    workers_lock_give(&work->site_lock);
    if (!site) {
        return failure->kind == FAILURE_NONE;
    }
    return variant_solve(work->benches[worker], site, sweep->runs, sweep->measure_count,
                         sweep->measures, arena, row, failure);
}

static void work_variant(struct work *work, int worker, int variant)
{
    struct failure failure = {0};
    struct row row;
    row_init(&row);
    struct arena *arena = arena_new();
    const bool is_good = arena ? solve(work, worker, variant, arena, &row, &failure)
                               : fail_memory(&failure, "a variant of the study");
    workers_lock_take(&work->lock);
    if (is_good) {
        work->is_stopped =
            !work->sweep->keep(work->sweep->keep_user, variant, &row) || work->is_stopped;
    } else if (!work->is_failed) {
        work->is_failed = true;
        work->failure = failure;
    }
    workers_lock_give(&work->lock);
    arena_free(arena);
}

/* Works off one variant; false: no more will come. */
static bool work_next(struct work *work, int worker)
{
    const int variant = next(work);
    if (variant == SWEEP_WAIT) {
        (void)nanosleep(&nap, NULL);
    } else if (variant != SWEEP_OVER) {
        work_variant(work, worker, variant);
    }
    return variant != SWEEP_OVER;
}

static bool serve(struct work *work)
{
    workers_lock_take(&work->lock);
    const bool goes_on = !work->is_failed && work->sweep->serve(work->sweep->serve_user);
    workers_lock_give(&work->lock);
    return goes_on;
}

/* What one thread of `count` does. With others to be heard the first one hears them; when it is
 * alone it works in between. */
static void take_part(struct work *work, int thread, int count)
{
    const bool serves = work->sweep->serve && thread == 0;
    const bool works = !serves || count == 1;
    const int worker = work->sweep->serve && count > 1 ? thread - 1 : thread;
    bool is_served = !serves;
    bool is_worked = !works;
    while (!is_served || !is_worked) {
        is_served = is_served || !serve(work);
        is_worked = is_worked || !work_next(work, worker);
        if (is_worked && !is_served) {
            (void)nanosleep(&nap, NULL);
        }
    }
}

static bool set_up(struct work *work, struct failure *failure)
{
    const struct sweep *sweep = work->sweep;
    work->worker_count = sweep->worker_count > 0 ? sweep->worker_count : workers_count();
    work->arena = arena_new();
    work->benches = calloc((size_t)work->worker_count, sizeof(struct variant_bench *));
    if (!work->benches || !work->arena) {
        return fail_memory(failure, "the workers of the study");
    }
    for (int i = 0; i < work->worker_count; i++) {
        work->benches[i] = variant_bench_new(failure);
        if (!work->benches[i]) {
            return false;
        }
    }
    return hand_out_init(&work->hand_out, sweep->count, sweep->is_done, work->arena, failure);
}

static void clear(struct work *work)
{
    for (int i = 0; work->benches && i < work->worker_count; i++) {
        variant_bench_free(work->benches[i]);
    }
    free(work->benches);
    arena_free(work->arena);
    workers_lock_clear(&work->site_lock);
    workers_lock_clear(&work->lock);
}

bool sweep_run(const struct sweep *sweep, bool *is_whole, struct failure *failure)
{
    struct work work = {.sweep = sweep};
    workers_lock_init(&work.site_lock);
    workers_lock_init(&work.lock);
    const bool is_set_up = set_up(&work, failure);
    if (is_set_up) {
#pragma omp parallel num_threads(work.worker_count + (sweep->serve ? 1 : 0))
        {
            take_part(&work, workers_mine(), workers_here());
        }
        if (work.is_failed) {
            *failure = work.failure;
        }
    }
    *is_whole = is_set_up && !work.is_stopped && !work.is_failed;
    clear(&work);
    return is_set_up && !work.is_failed;
}
