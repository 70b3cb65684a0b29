/* Workers: how many threads share a job, and which of them asks. One thread without OpenMP. */
#ifndef SOLVER_WORKERS_H
#define SOLVER_WORKERS_H

#ifdef _OPENMP
#include <omp.h>
#endif

/* Threads a parallel loop started now would have, at least 1. */
static inline int workers_count(void)
{
#ifdef _OPENMP
    return omp_get_max_threads();
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

#endif
