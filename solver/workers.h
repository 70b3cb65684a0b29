/* Workers: how many threads share a job, and which of them asks. One thread without OpenMP. */
#ifndef SOLVER_WORKERS_H
#define SOLVER_WORKERS_H

#ifdef _OPENMP
#include <omp.h>
#endif

/* More than any machine at hand; what OpenMP lays on the stack for each of 100,000 threads, which
 * OMP_NUM_THREADS may ask for, is more than a stack holds. */
enum { WORKERS_MOST = 1024 };

/* Threads that a parallel loop is given, at least 1. */
static inline int workers_count(void)
{
#ifdef _OPENMP
    const int count = omp_get_max_threads();
    return count < WORKERS_MOST ? count : WORKERS_MOST;
#else
    return 1;
#endif
}

/* Threads that a job of its own may have: one if it is itself a part of a parallel loop. */
static inline int workers_free(void)
{
#ifdef _OPENMP
    return omp_in_parallel() ? 1 : workers_count();
#else
    return 1;
#endif
}

/* Threads of the parallel region that asks. */
static inline int workers_here(void)
{
#ifdef _OPENMP
    return omp_get_num_threads();
#else
    return 1;
#endif
}

/* Number of the asking thread inside a parallel loop, from 0. */
static inline int workers_mine(void)
{
#ifdef _OPENMP
    return omp_get_thread_num();
#else
    return 0;
#endif
}

/* A lock that lives in the job: `omp critical` would make a writable global of its own. */
struct workers_lock {
#ifdef _OPENMP
    omp_lock_t lock;
#else
    char none; /* one thread needs no lock */
#endif
};

static inline void workers_lock_init(struct workers_lock *lock)
{
#ifdef _OPENMP
    omp_init_lock(&lock->lock);
#else
    lock->none = 0;
#endif
}

static inline void workers_lock_clear(struct workers_lock *lock)
{
#ifdef _OPENMP
    omp_destroy_lock(&lock->lock);
#else
    lock->none = 0;
#endif
}

static inline void workers_lock_take(struct workers_lock *lock)
{
#ifdef _OPENMP
    omp_set_lock(&lock->lock);
#else
    lock->none = 1;
#endif
}

static inline void workers_lock_give(struct workers_lock *lock)
{
#ifdef _OPENMP
    omp_unset_lock(&lock->lock);
#else
    lock->none = 0;
#endif
}

#endif
