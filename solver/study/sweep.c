#include "solver/study/sweep.h"

#include "solver/workers.h"

#include <stdlib.h>

struct work {
    const struct sweep *sweep;
    int worker_count;
    struct variant_bench **benches; /* [worker_count] */
    struct workers_lock site_lock;  /* for sweep->site */
    struct workers_lock lock;       /* for sweep->keep and what stands below */
    bool is_stopped;
    bool is_failed;
    struct failure failure; /* the first */
};

static bool goes_on(struct work *work)
{
    workers_lock_take(&work->lock);
    const bool is_going = !work->is_stopped && !work->is_failed;
    workers_lock_give(&work->lock);
    return is_going;
}

static bool solve(struct work *work, int variant, struct arena *arena, struct row *row,
                  struct failure *failure)
{
    const struct sweep *sweep = work->sweep;
    workers_lock_take(&work->site_lock);
    const struct site *site = sweep->site(sweep->site_user, variant, arena, row, failure);
    workers_lock_give(&work->site_lock);
    if (!site) {
        return failure->kind == FAILURE_NONE;
    }
    return variant_solve(work->benches[workers_mine()], site, sweep->runs, sweep->measure_count,
                         sweep->measures, arena, row, failure);
}

static void work_variant(struct work *work, int variant)
{
    struct failure failure = {0};
    struct row row;
    if (!goes_on(work)) {
        return;
    }
    row_init(&row);
    struct arena *arena = arena_new();
    const bool is_good = arena ? solve(work, variant, arena, &row, &failure)
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

static bool set_up(struct work *work, struct failure *failure)
{
    work->worker_count = workers_count();
    work->benches = calloc((size_t)work->worker_count, sizeof(struct variant_bench *));
    if (!work->benches) {
        return fail_memory(failure, "the workers of the study");
    }
    for (int i = 0; i < work->worker_count; i++) {
        work->benches[i] = variant_bench_new(failure);
        if (!work->benches[i]) {
            return false;
        }
    }
    return true;
}

static void clear(struct work *work)
{
    for (int i = 0; work->benches && i < work->worker_count; i++) {
        variant_bench_free(work->benches[i]);
    }
    free(work->benches);
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
#pragma omp parallel for schedule(dynamic, 1) num_threads(work.worker_count)
        for (int i = 0; i < sweep->count; i++) {
            if (!sweep->is_done || !sweep->is_done[i]) {
                work_variant(&work, i);
            }
        }
        if (work.is_failed) {
            *failure = work.failure;
        }
    }
    *is_whole = is_set_up && !work.is_stopped && !work.is_failed;
    clear(&work);
    return is_set_up && !work.is_failed;
}
